//! The whole page: the desk with the drawing on the left, verdicts, ladder and forms on the right.

use gloo::events::EventListener;
use wasm_bindgen::JsCast;
use yew::prelude::*;

use super::circumstances::{Circumstances, CircumstancesProps};
use super::drawing::{
    CourseDrawing, DrawingProps, GateList, GateListProps, Ladder, LadderProps, PartFields, PartFieldsProps, Side,
    Strip, StripProps,
};
use super::editor::Editor;
use super::elements::button;
use super::equipment::{Equipment, EquipmentProps};
use super::evaluation::use_evaluation;
use super::flying::{FlyLap, FlyLapProps};
use super::format::{DisplayUnits, PowerUnit};
use super::hands::{Hands, HandsProps};
use super::kept::kept;
use super::masthead::{Masthead, MastheadProps};
use super::plans::desk_plans::{self, use_plans};
use super::preferences::Preferences;
use super::settings::use_look;
use super::state::{Action, Desk, Selection};
use super::underlay;
use super::verdict_notes::{VerdictNotes, VerdictNotesProps};
use super::verdicts::{self, Verdicts, VerdictsProps};
use super::{cautions, storage};

/// The page.
#[component]
pub fn App() -> Html {
    let begun = use_memo((), |()| desk_plans::begin());
    let preferences = use_state(storage::kept_preferences);
    let desk = use_reducer(|| {
        let mut desk = Desk::new(begun.plan.clone());
        desk.document.bounces = preferences.bounce_order();
        desk
    });
    let dispatch = {
        let desk = desk.dispatcher();
        use_callback((), move |action: Action, ()| desk.dispatch(action))
    };
    let evaluation = use_evaluation(&desk);
    let plans = use_plans(&begun, &desk);
    use_kept_preferences(*preferences);
    use_look(*preferences);
    use_effect_with(preferences.bounce_order(), {
        let dispatch = dispatch.clone();
        move |bounces| dispatch.emit(Action::Bounces(*bounces))
    });
    use_undo_keys(&dispatch);
    use_effect_with((), {
        let keeper = plans.keeper();
        let kept: Vec<String> = keeper.list().into_iter().map(|listed| listed.id).collect();
        // Where the list cannot be read, nobody knows whose pictures they are.
        let is_known = keeper.not_kept().is_none() && !kept.is_empty();
        move |()| {
            if is_known {
                underlay::only(&kept);
            }
        }
    });
    use_first_cursor(&evaluation.results, &dispatch);

    let on_preferences = {
        let preferences = preferences.setter();
        use_callback((), move |changed: Preferences, ()| preferences.set(changed))
    };
    let on_power_unit = {
        let preferences = preferences.clone();
        Callback::from(move |power: PowerUnit| {
            let units = DisplayUnits { power, ..preferences.units };
            preferences.set(Preferences { units, ..*preferences });
        })
    };

    let plan = desk.document.plan.clone();
    let (view, revision) = (desk.view, desk.document.revision);
    let results = &evaluation.results;
    let report = results.last.as_ref().map(|last| last.report.clone());
    let ghost = results.ghost.clone();
    let explanation = results
        .explanation
        .clone()
        .filter(|explanation| explanation.entry == view.entry && explanation.port == view.port);
    let editor = Editor { plan: plan.clone(), entry: view.entry, dispatch: dispatch.clone() };
    let chosen_name = plan.entries.get(view.entry).map_or_else(String::new, |entry| entry.name.clone());
    let compared = results.compared.clone().filter(|compared| compared.comparison.entry == view.entry);
    let is_old = compared.as_ref().is_some_and(|compared| compared.revision != desk.document.revision);
    let has_part = matches!(view.selected, Some(part) if !matches!(part, Selection::Entry(_)));

    let kept_as = plans.keeper().on_desk().map(|id| AttrValue::from(id.to_owned())).unwrap_or_default();
    let drawing = DrawingProps {
        plan: plan.clone(),
        kept_as,
        report: report.clone(),
        ghost: ghost.clone(),
        explanation: explanation.clone(),
        bounces: desk.document.bounces,
        view,
        dispatch: dispatch.clone(),
    };
    html! {
        <ContextProvider<DisplayUnits> context={preferences.units}>
            <a class="skip" href="#verdicts-heading">{ "To the verdicts" }</a>
            { kept::<Masthead>(MastheadProps {
                document: desk.document.clone(),
                dispatch: dispatch.clone(),
                preferences: *preferences,
                on_preferences,
                plans,
            }) }
            <main class="desk">
                <section class="desk-verdicts" aria-labelledby="verdicts-heading" aria-busy={results.waits_for_lap().to_string()}>
                    <h2 id="verdicts-heading" tabindex="-1">
                        { "Does the picture hold?" }<span class="alone">{ "each alone in the air" }</span>
                    </h2>
                    { kept::<Verdicts>(VerdictsProps {
                        plan: plan.clone(),
                        report: report.clone(),
                        ghost: ghost.clone(),
                        flown: (0..plan.entries.len()).map(|entry| results.in_time.line(revision, entry)).collect(),
                        view,
                        dispatch: dispatch.clone(),
                    }) }
                    <div class="desk-said" role="status" aria-live="polite">
                        if let Some(moved) = &results.moved {
                            <p id="moved" class="moved">{ moved }</p>
                        }
                        if let Some(report) = &report {
                            <p class="unseen">{ verdicts::tally(report) }</p>
                        }
                        if let Some(problem) = &desk.document.rejected {
                            <p id="rejected" class="problem">{ format!("Not changed: {problem}.") }</p>
                        }
                        if let Some(failure) = &results.failure {
                            <p id="failure" class="problem">{ failure }</p>
                            { button("try-again", "Try again", None, evaluation.try_again.reform(|_| ())) }
                        }
                    </div>
                    if let Some(report) = &report {
                        { kept::<VerdictNotes>(VerdictNotesProps {
                            plan: plan.clone(),
                            report: report.clone(),
                            entry: view.entry,
                        }) }
                    }
                </section>
                <div class="desk-sheet">
                    <section class="desk-course" aria-labelledby="course-heading">
                        <h2 id="course-heading" class="unseen">{ "The course from above" }</h2>
                        { kept::<CourseDrawing>(drawing.clone()) }
                    </section>
                    <section class="desk-strip" aria-labelledby="strip-heading">
                        <h2 id="strip-heading" class="unseen">{ "The course unrolled" }</h2>
                        if let Some(report) = &report {
                            { kept::<FlyLap>(FlyLapProps {
                                plan: plan.clone(),
                                report: report.clone(),
                                cursor: view.cursor,
                                dispatch: dispatch.clone(),
                            }) }
                        }
                        { kept::<Strip>(StripProps {
                            drawing: drawing.clone(),
                            flown: results.in_time.of(revision, view.entry).cloned(),
                            on_more: evaluation.fly_more.clone(),
                        }) }
                    </section>
                </div>
                <div class="desk-forms">
                    { kept::<GateList>(GateListProps {
                        plan: plan.clone(),
                        selected: view.selected,
                        dispatch: dispatch.clone(),
                    }) }
                    if has_part {
                        <section class="desk-part" aria-labelledby="part-heading">
                            <h2 id="part-heading">{ "Picked on the drawing" }</h2>
                            { kept::<PartFields>(PartFieldsProps { plan: plan.clone(), view, dispatch: dispatch.clone() }) }
                        </section>
                    }
                    <section class="desk-ladder" aria-labelledby="ladder-heading">
                        <h2 id="ladder-heading">{ format!("From transmitter to margin: {chosen_name}") }</h2>
                        { kept::<Ladder>(LadderProps { explanation, report: report.clone(), view, dispatch: dispatch.clone() }) }
                    </section>
                    <section class="desk-side" aria-labelledby="side-heading">
                        <h2 id="side-heading">{ "The sight line from the side" }</h2>
                        { kept::<Side>(drawing) }
                    </section>
                    <section class="desk-equipment" aria-labelledby="equipment-heading">
                        <h2 id="equipment-heading">{ format!("Equipment of {chosen_name}") }</h2>
                        { kept::<Equipment>(EquipmentProps { editor: editor.clone(), report: report.clone(), on_power_unit }) }
                    </section>
                    { kept::<Hands>(HandsProps {
                        name: chosen_name.into(),
                        comparison: compared.map(|compared| compared.comparison),
                        is_old,
                        is_waiting: results.waits_for_hands(),
                        report: report.clone(),
                        on_compare: evaluation.compare_hands.clone(),
                    }) }
                    { kept::<Circumstances>(CircumstancesProps { editor }) }
                    { cautions::before_you_fly() }
                </div>
            </main>
        </ContextProvider<DisplayUnits>>
    }
}

/// Keeps the preferences for the next visit.
#[hook]
fn use_kept_preferences(preferences: Preferences) {
    let is_first = use_mut_ref(|| true);
    use_effect_with(preferences, move |preferences| {
        if !std::mem::take(&mut *is_first.borrow_mut()) {
            storage::keep_preferences(*preferences);
        }
    });
}

/// Undo and redo by the usual keys, unless a text is being typed: there they belong to the text.
#[hook]
fn use_undo_keys(dispatch: &Callback<Action>) {
    let dispatch = dispatch.clone();
    use_effect_with((), move |()| {
        let listener = EventListener::new_with_options(
            &gloo::utils::document(),
            "keydown",
            gloo::events::EventListenerOptions::enable_prevent_default(),
            move |event| {
                let Some(key) = event.dyn_ref::<web_sys::KeyboardEvent>() else { return };
                let typing = event
                    .target()
                    .and_then(|target| target.dyn_into::<web_sys::HtmlInputElement>().ok())
                    .is_some_and(|input| input.type_() == "text");
                if typing || !(key.ctrl_key() || key.meta_key()) || key.alt_key() {
                    return;
                }
                let action = match (key.key().as_str(), key.shift_key()) {
                    ("z", false) => Action::Undo,
                    ("z" | "Z", true) | ("y", false) => Action::Redo,
                    _ => return,
                };
                event.prevent_default();
                dispatch.emit(action);
            },
        );
        move || drop(listener)
    });
}

/// Puts the cursor on the worst place of the chosen entry once for each plan, when its first report arrives.
#[hook]
fn use_first_cursor(results: &super::results::Results, dispatch: &Callback<Action>) {
    let last = results.last.as_ref();
    let worst = last.and_then(|last| last.report.entries.first()).map(|entry| entry.worst.worst_sample);
    let dispatch = dispatch.clone();
    use_effect_with(worst.and(last.map(|last| last.opened)), move |_| {
        if let Some(worst) = worst {
            dispatch.emit(Action::Cursor(worst));
        }
    });
}
