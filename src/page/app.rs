//! The whole page: the desk with the course, the verdicts, and the pages of the panel beside or below them.

use yew::prelude::*;

use super::circumstances::{Circumstances, CircumstancesProps};
use super::drawing::{
    CourseDrawing, DrawingProps, GateList, GateListProps, Ladder, LadderProps, PartFields, PartFieldsProps, Side,
    Strip, StripProps,
};
use super::editor::Editor;
use super::elements::button;
use super::equipment::{Equipment, EquipmentProps};
use super::evaluation::{Evaluation, use_evaluation};
use super::flying::{FlyLap, FlyLapProps};
use super::format::{DisplayUnits, PowerUnit};
use super::hands::{Hands, HandsProps};
use super::kept::kept;
use super::masthead::{Masthead, MastheadProps};
use super::menus::use_menus;
use super::pages::{self, Page, tabs, use_links, use_page};
use super::pilots::{Pilots, PilotsProps};
use super::plans::desk_plans::{self, Plans, use_plans};
use super::preferences::Preferences;
use super::results::Results;
use super::safety;
use super::settings::use_look;
use super::state::{Action, Desk};
use super::underlay;
use super::undo_keys::{UndoKey, use_undo_keys};
use super::verdict_notes::{VerdictNotes, VerdictNotesProps};
use super::verdicts::{self, Verdicts, VerdictsProps};
use super::window::use_room;
use super::{cautions, notes, storage};
use crate::link::report::Report;

/// The page.
#[component]
pub fn App() -> Html {
    let begun = use_memo((), |()| desk_plans::begin());
    let preferences = use_state(storage::kept_preferences);
    let desk = use_reducer(|| {
        let mut desk = Desk::new(begun.plan.clone());
        desk.document = desk.document.with_steps(begun.steps());
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
    use_bounces(*preferences, &dispatch);
    use_begun_preferences(&preferences, &plans);
    let on_undo_key = use_callback((), {
        let dispatch = dispatch.clone();
        move |key, ()| dispatch.emit(if key == UndoKey::Undo { Action::Undo } else { Action::Redo })
    });
    use_undo_keys(&on_undo_key);
    use_pictures_of(&plans);
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
    let (page, open) = use_page();
    let on_link = use_links(&open);
    let is_wide = use_room().is_wide;
    use_menus();
    let kept_as = plans.keeper().on_desk().map(|id| AttrValue::from(id.to_owned())).unwrap_or_default();
    let drawing = drawing(&desk, &evaluation.results, kept_as, dispatch.clone());
    let sheet = course_sections(&desk, &evaluation, &drawing);
    let panel = panel(page, &open, &desk, &evaluation, &drawing, on_power_unit);
    // What is seen in one column comes in that order to the keyboard, too; the keys keep what is moved.
    let (before, after) = if is_wide { (panel, sheet) } else { (sheet, panel) };
    html! {
        <ContextProvider<DisplayUnits> context={preferences.units}>
            <div class="app" onclick={on_link}>
                <a class="skip" href="#verdicts-heading">{ "To the verdicts" }</a>
                <a class="skip" href="#equipment-heading">{ "To the kit and the hand" }</a>
                { kept::<Masthead>(MastheadProps {
                    document: desk.document.clone(),
                    slim: verdicts::slim(&desk.document.plan, drawing.report.as_deref(), drawing.ghost.as_deref(), desk.view.entry),
                    dispatch,
                    preferences: *preferences,
                    on_preferences,
                    plans,
                }) }
                <main class="desk">
                    { verdict_section(&desk, &evaluation, &drawing) }
                    { before }
                    { after }
                </main>
            </div>
        </ContextProvider<DisplayUnits>>
    }
}

/// What every drawing is given.
fn drawing(desk: &Desk, results: &Results, kept_as: AttrValue, dispatch: Callback<Action>) -> DrawingProps {
    let (plan, view) = (desk.document.plan.clone(), desk.view);
    let explained = results.explanation.clone();
    DrawingProps {
        plan,
        kept_as,
        report: results.last.as_ref().map(|last| last.report.clone()),
        ghost: results.ghost.clone(),
        explanation: explained.filter(|explained| (explained.entry, explained.port) == (view.entry, view.port)),
        bounces: desk.document.bounces,
        rejected: desk.document.rejected.clone(),
        view,
        dispatch,
    }
}

/// Whether the picture holds: the verdicts, and what there is to say of them.
fn verdict_section(desk: &Desk, evaluation: &Evaluation, drawing: &DrawingProps) -> Html {
    let results = &evaluation.results;
    let DrawingProps { plan, report, view, dispatch, .. } = drawing;
    let revision = desk.document.revision;
    html! {
        <section key="verdicts" class="desk-verdicts" aria-labelledby="verdicts-heading" aria-busy={results.waits_for_lap().to_string()}>
            <div class="desk-head">
                <h2 id="verdicts-heading" tabindex="-1">
                    { "Does the picture hold?" }<span class="alone">{ "other pilots’ transmitters not counted" }</span>
                </h2>
                { safety_links(report.as_deref()) }
            </div>
            { kept::<Verdicts>(VerdictsProps {
                plan: plan.clone(),
                report: report.clone(),
                ghost: drawing.ghost.clone(),
                flown: (0..plan.entries.len())
                    .map(|entry| results.in_time.line(revision, entry, plan, report.as_deref()))
                    .collect(),
                view: *view,
                dispatch: dispatch.clone(),
            }) }
            <div class="desk-said" role="status" aria-live="polite">
                if let Some((job, judged)) = results.under_way() {
                    // The style sheet shows it after a second; a change that is judged sooner says nothing.
                    <p key={job.0} id="waiting" class="waiting" aria-live="off">
                        { format!("Judging the pilots: {judged} of {}… ", plan.entries.len()) }
                        { button("give-up", "Give up", None, evaluation.give_up.reform(|_| ())) }
                    </p>
                }
                if let Some(moved) = &results.moved {
                    <p id="moved" class="moved">{ moved }</p>
                } else if desk.document.rejected.is_none() && results.failure.is_none() {
                    <p class="field-note">{ "What a change does to the verdicts is said here." }</p>
                }
                if let Some(report) = report {
                    <p class="unseen">{ notes::tally(report) }</p>
                }
                if let Some(problem) = &desk.document.rejected {
                    <p id="rejected" class="problem">{ format!("Not changed: {problem}.") }</p>
                }
                if let Some(failure) = &results.failure {
                    <p id="failure" class="problem">{ failure }</p>
                    { button("try-again", "Try again", None, evaluation.try_again.reform(|_| ())) }
                }
            </div>
        </section>
    }
}

/// Where to read on about safety: where the line comes too near, and what to go through before anyone flies.
fn safety_links(report: Option<&Report>) -> Html {
    let count = report.map_or(0, |report| report.safety.len());
    let places = if count == 1 { "place" } else { "places" };
    html! {
        <>
            if count > 0 {
                <a class="button is-danger" href="#safety-heading"
                    aria-label={format!("Too near: {count} {places} where the line comes too near")}>
                    { format!("△ Too near: {count}") }
                </a>
            }
            <a class="button" href="#before-heading">{ "Before you fly" }</a>
        </>
    }
}

/// The course from above and unrolled.
fn course_sections(desk: &Desk, evaluation: &Evaluation, drawing: &DrawingProps) -> Html {
    let DrawingProps { plan, report, view, dispatch, .. } = drawing;
    html! {
        <div key="sheet" class="desk-sheet">
            <section class="desk-course" aria-labelledby="course-heading">
                <h2 id="course-heading" class="unseen" tabindex="-1">{ "The course from above" }</h2>
                { kept::<CourseDrawing>(drawing.clone()) }
            </section>
            <section class="desk-strip" aria-labelledby="strip-heading">
                <h2 id="strip-heading" class="unseen">{ "The course unrolled" }</h2>
                if let Some(report) = report {
                    { kept::<FlyLap>(FlyLapProps {
                        plan: plan.clone(),
                        report: report.clone(),
                        cursor: view.cursor,
                        dispatch: dispatch.clone(),
                    }) }
                }
                { kept::<Strip>(StripProps {
                    drawing: drawing.clone(),
                    flown: evaluation.results.in_time.of(desk.document.revision, view.entry).cloned(),
                    on_more: evaluation.fly_more.clone(),
                }) }
            </section>
        </div>
    }
}

/// What the chosen entry's verdict rests on, and the pages: its kit, its link at the cursor, the yard, the rules.
fn panel(
    page: Page,
    open: &Callback<Page>,
    desk: &Desk,
    evaluation: &Evaluation,
    drawing: &DrawingProps,
    on_power_unit: Callback<PowerUnit>,
) -> Html {
    let DrawingProps { plan, report, view, dispatch, .. } = drawing;
    let editor = Editor { plan: plan.clone(), entry: view.entry, dispatch: dispatch.clone() };
    let name: AttrValue = plan.entries.get(view.entry).map_or_else(String::new, |entry| entry.name.clone()).into();
    let inside = |this: Page| match this {
        Page::Kit => kit_sections(&name, &editor, desk, evaluation, drawing, on_power_unit.clone()),
        Page::Link => link_sections(&name, drawing),
        Page::Yard => html! {
            <>
                { part_sections(drawing) }
                { kept::<Circumstances>(CircumstancesProps { editor: editor.clone() }) }
            </>
        },
        Page::Rules => html! {
            <>
                if let Some(report) = report {
                    { safety::list(report) }
                }
                { cautions::power_limit(&editor) }
                { cautions::before_you_fly() }
            </>
        },
    };
    html! {
        <div key="panel" class="desk-panel">
            if let Some(report) = report {
                { kept::<VerdictNotes>(VerdictNotesProps {
                    plan: plan.clone(),
                    report: report.clone(),
                    entry: view.entry,
                }) }
            }
            { tabs(page, open) }
            { for Page::ALL.into_iter().map(|this| pages::page(this, page, inside(this))) }
        </div>
    }
}

/// The gates, and the picked part with its fields.
fn part_sections(drawing: &DrawingProps) -> Html {
    let DrawingProps { plan, view, dispatch, .. } = drawing;
    html! {
        <>
            { kept::<GateList>(GateListProps {
                plan: plan.clone(),
                selected: view.selected,
                dispatch: dispatch.clone(),
            }) }
            <section class="desk-part" aria-labelledby="part-heading">
                <h2 id="part-heading" tabindex="-1">{ "Selected on the drawing" }</h2>
                { kept::<PartFields>(PartFieldsProps { plan: plan.clone(), view: *view, dispatch: dispatch.clone() }) }
            </section>
        </>
    }
}

/// The chosen entry's kit, and the hands compared on it.
fn kit_sections(
    name: &AttrValue,
    editor: &Editor,
    desk: &Desk,
    evaluation: &Evaluation,
    drawing: &DrawingProps,
    on_power_unit: Callback<PowerUnit>,
) -> Html {
    let DrawingProps { report, view, .. } = drawing;
    let results = &evaluation.results;
    let compared = results.compared.clone().filter(|compared| compared.comparison.entry == view.entry);
    html! {
        <>
            <section class="desk-equipment" aria-labelledby="equipment-heading">
                <h2 id="equipment-heading" tabindex="-1">{ format!("{name}’s equipment") }</h2>
                { kept::<Equipment>(EquipmentProps { editor: editor.clone(), report: report.clone(), on_power_unit }) }
            </section>
            { kept::<Hands>(HandsProps {
                name: name.clone(),
                is_old: compared.as_ref().is_some_and(|compared| compared.revision != desk.document.revision),
                comparison: compared.map(|compared| compared.comparison),
                is_waiting: results.waits_for_hands(),
                report: report.clone(),
                on_compare: evaluation.compare_hands.clone(),
            }) }
            <section class="desk-pilots" aria-labelledby="pilots-heading">
                <h2 id="pilots-heading" tabindex="-1">{ "Who flies" }</h2>
                { kept::<Pilots>(PilotsProps {
                    plan: drawing.plan.clone(),
                    entry: view.entry,
                    dispatch: drawing.dispatch.clone(),
                }) }
            </section>
        </>
    }
}

/// How the chosen entry's level comes about at the cursor, and the line of sight there.
fn link_sections(name: &AttrValue, drawing: &DrawingProps) -> Html {
    let DrawingProps { report, explanation, view, dispatch, .. } = drawing;
    html! {
        <>
            <section class="desk-ladder" aria-labelledby="ladder-heading">
                <h2 id="ladder-heading">{ format!("Link budget: {name}") }</h2>
                { kept::<Ladder>(LadderProps {
                    explanation: explanation.clone(),
                    report: report.clone(),
                    view: *view,
                    dispatch: dispatch.clone(),
                }) }
            </section>
            <section class="desk-side" aria-labelledby="side-heading">
                <h2 id="side-heading">{ "Line of sight, side view" }</h2>
                { kept::<Side>(drawing.clone()) }
            </section>
        </>
    }
}

/// Follows paths with as many bounces as the person prefers.
#[hook]
fn use_bounces(preferences: Preferences, dispatch: &Callback<Action>) {
    let dispatch = dispatch.clone();
    use_effect_with(preferences.bounce_order(), move |bounces| dispatch.emit(Action::Bounces(*bounces)));
}

/// Forgets the pictures under drawings whose plans are gone, once a visit.
#[hook]
fn use_pictures_of(plans: &Plans) {
    let keeper = plans.keeper();
    let kept: Vec<String> = keeper.list().into_iter().map(|listed| listed.id).collect();
    // Where the list cannot be read, nobody knows whose pictures they are.
    let is_known = keeper.not_kept().is_none() && !kept.is_empty();
    use_effect_with((), move |()| {
        if is_known {
            underlay::only(&kept);
        }
    });
}

/// Notes at the beginning of a visit that a browser without plans needs not be told what changed for kept ones.
#[hook]
fn use_begun_preferences(preferences: &UseStateHandle<Preferences>, plans: &Plans) {
    let begun = preferences.after_beginning(plans.keeper().had_plans());
    let changed = (begun != **preferences).then(|| preferences.setter());
    use_effect_with((), move |()| {
        if let Some(preferences) = changed {
            preferences.set(begun);
        }
    });
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

/// Puts the cursor on the worst place of the chosen entry once for each plan, when its first report arrives.
#[hook]
fn use_first_cursor(results: &Results, dispatch: &Callback<Action>) {
    let last = results.last.as_ref();
    let worst = last.and_then(|last| last.report.entries.first()).map(|entry| entry.worst.worst_sample);
    let dispatch = dispatch.clone();
    use_effect_with(worst.and(last.map(|last| last.opened)), move |_| {
        if let Some(worst) = worst {
            dispatch.emit(Action::Cursor(worst));
        }
    });
}
