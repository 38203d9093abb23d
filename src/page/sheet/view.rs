//! The sheet as it will be on paper, and above it what can be done with it.

use std::rc::Rc;

use gloo::events::EventListener;
use wasm_bindgen_futures::spawn_local;
use yew::prelude::*;

use super::course::course;
use super::figure::Element;
use super::laps::{JudgedPlan, use_judged};
use super::leaf::{Leaf, LeafProps};
use super::paper::Paper;
use super::source::{SheetSource, source};
use super::{saving, style, table};
use crate::address;
use crate::drawing::frame::Frame;
use crate::elements::button;
use crate::files;
use crate::format::DisplayUnits;
use crate::kept::{kept, open};
use crate::link::breakups::USUAL_LAPS;
use crate::link::sheet;
use crate::plan::document::Plan;
use crate::preferences::Preferences;
use crate::storage::{self, Backed, Browser};

/// Width and most height of the drawing in files, in pixels.
const FILE_SIDES: [f64; 2] = [1000.0, 1000.0];

/// Shows the sheet.
pub fn start() {
    let (window, document) = (gloo::utils::window(), gloo::utils::document());
    let preferences = storage::kept_preferences();
    if let (Some(root), Some(theme)) = (document.document_element(), preferences.theme.attribute()) {
        // Without it what surrounds the sheet looks as the system says.
        let _ = root.set_attribute("data-theme", theme);
    }
    let fragment = window.location().hash().unwrap_or_default();
    let (store, tab) = (Backed::new(Box::new(Browser::Visits)), Backed::new(Box::new(Browser::Tab)));
    let found = source(&fragment, store, tab);
    if let Ok(SheetSource { plan, .. }) = &found {
        // A browser proposes it as the name of a file that it prints to.
        document.set_title(&format!("{}, sheet", plan.name));
    }
    // Another plan in the address makes another sheet.
    EventListener::new(&window, "hashchange", |_| drop(gloo::utils::window().location().reload())).forget();
    match found {
        Ok(source) => open::<Sheet>(SheetProps { source, preferences }),
        Err(why) => {
            style::apply(Paper::A4);
            open::<Refusal>(RefusalProps { why });
        }
    }
}

/// Properties of [`Refusal`].
#[derive(PartialEq, Properties)]
struct RefusalProps {
    why: String,
}

/// Why there is no sheet.
#[component]
fn Refusal(props: &RefusalProps) -> Html {
    html! {
        <main class="sheet">
            <div class="sheet-tools">
                <h1>{ "Sheet to print" }</h1>
                <p class="problem" role="alert">{ &props.why }</p>
                <p><a id="to-desk" class="button" href="#view=desk">{ "To the planner" }</a></p>
            </div>
        </main>
    }
}

/// Properties of [`Sheet`].
#[derive(PartialEq, Properties)]
struct SheetProps {
    source: SheetSource,
    preferences: Preferences,
}

/// The sheet of a plan.
#[component]
fn Sheet(props: &SheetProps) -> Html {
    let SheetSource { plan, desk, note } = &props.source;
    let units = props.preferences.units;
    let plan = use_memo((), |()| plan.clone());
    let paper = use_state_eq(usual_paper);
    let (judged, flown) = use_judged(&plan, props.preferences);
    let is_one_page = use_state_eq(|| true);
    let refused = use_state_eq(|| None::<String>);
    use_effect_with(*paper, |paper| style::apply(*paper));
    let on_paper = {
        let paper = paper.setter();
        Callback::from(move |event: Event| {
            let select: web_sys::HtmlSelectElement = event.target_unchecked_into();
            if let Some(chosen) = usize::try_from(select.selected_index()).ok().and_then(|index| Paper::ALL.get(index))
            {
                paper.set(*chosen);
            }
        })
    };
    let on_fit = {
        let is_one_page = is_one_page.setter();
        Callback::from(move |fits| is_one_page.set(fits))
    };
    let of_laps = judged.as_ref().map_or(0, |judged| judged.report.entries.len());
    let waits = match &judged {
        None => "The plan is being judged. ".to_owned(),
        Some(_) if flown.len() < of_laps => {
            format!("Simulating laps: {} of {of_laps} entries are done. ", flown.len())
        }
        Some(_) => String::new(),
    };
    html! {
        <main class="sheet">
            <div class="sheet-tools">
                <h1>{ "Sheet to print" }</h1>
                <div class="sheet-row">
                    { button("print", "Print", None, Callback::from(|_| drop(gloo::utils::window().print()))) }
                    <label class="sheet-choice">
                        { "Paper" }
                        <select id="paper" onchange={on_paper}>
                            { for Paper::ALL.into_iter().map(|offered| html! {
                                <option selected={offered == *paper}>{ offered.title() }</option>
                            }) }
                        </select>
                    </label>
                    if let Some(judged) = &judged {
                        { kept::<Savers>(SaversProps { plan: plan.clone(), judged: judged.clone(), units, is_flown: flown.len() == of_laps, on_refused: refused.setter() }) }
                    }
                    <a id="to-desk" class="button" href={desk.clone()}>{ "Back to the planner" }</a>
                </div>
                <p id="sheet-said" role="status">
                    { waits }
                    if !*is_one_page { { "This plan does not fit on one page. " } }
                    { note.clone().unwrap_or_default() }
                </p>
                if let Some(why) = &*refused { <p class="problem" role="alert">{ why }</p> }
                if let Some(judged) = &judged { { codes(judged) } }
            </div>
            if let Some(judged) = judged {
                { kept::<Leaf>(LeafProps { plan: plan.clone(), judged, flown, paper: *paper, units, on_fit }) }
            }
        </main>
    }
}

/// What the QR codes say, for whoever has no phone at hand, or cannot see them.
fn codes(judged: &JudgedPlan) -> Html {
    let link = &judged.link;
    let length = link.address.len();
    let of_link = match (&link.code, length) {
        (Some(_), _) => format!("The plan link, {length} characters:"),
        (None, 0) => "No link holds this plan: it goes as a file.".to_owned(),
        (None, _) => format!(
            "The plan link has {length} characters, and a QR code on paper at most {}: pass the plan on as a file, or by the planner’s button to share it.",
            address::CODE_CHARACTERS
        ),
    };
    html! {
        <details id="codes" class="sheet-codes">
            <summary class="button">{ "What the QR codes say" }</summary>
            <ul>
                { for judged.cards.iter().map(|card| html! {
                    <li>
                        <pre>{ &card.text }</pre>
                        if card.is_shortened { <p>{ "Shortened, as a code has no room for more." }</p> }
                    </li>
                }) }
            </ul>
            <p>
                { of_link }{ " " }
                if link.code.is_some() { <a id="code-link" href={link.address.clone()}>{ &link.address }</a> }
            </p>
        </details>
    }
}

fn usual_paper() -> Paper {
    Paper::of_language(&gloo::utils::window().navigator().language().unwrap_or_default())
}

/// Properties of [`Savers`].
#[derive(Properties)]
struct SaversProps {
    plan: Rc<Plan>,
    judged: Rc<JudgedPlan>,
    units: DisplayUnits,
    /// Whether all laps in time are flown.
    is_flown: bool,
    /// Where it goes why a file was not saved.
    on_refused: UseStateSetter<Option<String>>,
}

impl PartialEq for SaversProps {
    fn eq(&self, other: &Self) -> bool {
        Rc::ptr_eq(&self.judged, &other.judged) && self.is_flown == other.is_flown
    }
}

/// What can be saved: the course, the lap of an entry, and the report.
#[component]
fn Savers(props: &SaversProps) -> Html {
    let SaversProps { plan, judged, units, is_flown, on_refused } = props;
    let chosen = use_state_eq(|| 0_usize);
    let on_svg = {
        let (plan, judged, units, on_refused) = (plan.clone(), judged.clone(), *units, on_refused.clone());
        Callback::from(move |_| {
            let (drawing, _) = drawing(&plan, &judged, units);
            let name = files::file_name(&plan.name, ".course.svg");
            on_refused.set(files::save_as(&name, &drawing.file(), "image/svg+xml").err());
        })
    };
    let on_png = {
        let (plan, judged, units, on_refused) = (plan.clone(), judged.clone(), *units, on_refused.clone());
        Callback::from(move |_| {
            let (drawing, sides) = drawing(&plan, &judged, units);
            let (name, on_refused) = (files::file_name(&plan.name, ".course.png"), on_refused.clone());
            spawn_local(async move {
                let made = saving::png(&drawing, sides).await;
                on_refused.set(files::save_blob(&name, made).err());
            });
        })
    };
    let on_report = {
        let (plan, judged, on_refused) = (plan.clone(), judged.clone(), on_refused.clone());
        Callback::from(move |_: MouseEvent| {
            let written = sheet::json(&plan, &mut judged.evaluator.borrow_mut(), judged.effort, USUAL_LAPS);
            let saved = written
                .map_err(|why| format!("The report could not be written: {why}."))
                .and_then(|text| files::save(&files::file_name(&plan.name, ".report.json"), &text));
            on_refused.set(saved.err());
        })
    };
    let on_entry = {
        let chosen = chosen.setter();
        Callback::from(move |event: Event| {
            let select: web_sys::HtmlSelectElement = event.target_unchecked_into();
            chosen.set(usize::try_from(select.selected_index()).unwrap_or(0));
        })
    };
    let on_csv = {
        let (plan, judged, chosen, on_refused) = (plan.clone(), judged.clone(), *chosen, on_refused.clone());
        Callback::from(move |_| {
            let Some(entry) = judged.report.entries.get(chosen) else { return };
            let name = files::file_name(&format!("{} {}", entry.name, plan.name), ".lap.csv");
            on_refused.set(files::save_as(&name, &table::csv(&judged.report.lap, entry), "text/csv").err());
        })
    };
    html! {
        <>
            { button("save-svg", "Course as SVG", None, on_svg) }
            { button("save-png", "Course as PNG", None, on_png) }
            if !judged.report.entries.is_empty() {
                <label class="sheet-choice">
                    { "Lap of" }
                    <select id="csv-entry" onchange={on_entry}>
                        { for judged.report.entries.iter().enumerate().map(|(index, entry)| html! {
                            <option selected={index == *chosen}>{ &entry.name }</option>
                        }) }
                    </select>
                </label>
                { button("save-csv", "as CSV", Some("as CSV, the chosen lap".to_owned()), on_csv) }
            }
            // Its laps are those of the sheet, which are flown a little at a time.
            <button type="button" id="save-report" class="button" disabled={!is_flown} onclick={on_report}>{ "Report as JSON" }</button>
        </>
    }
}

/// The drawing as it is saved, and its width and height.
fn drawing(plan: &Plan, judged: &JudgedPlan, units: DisplayUnits) -> (Element, [f64; 2]) {
    let frame = Frame::fit(FILE_SIDES[0], FILE_SIDES[1], plan.site.width_m, plan.site.depth_m);
    (course(plan, &judged.report, &frame, units), [frame.width, frame.height])
}
