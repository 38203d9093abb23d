//! The whole page: the desk with the drawing on the left, verdicts, ladder and forms on the right.

use std::rc::Rc;

use gloo::events::EventListener;
use wasm_bindgen::JsCast;
use yew::prelude::*;

use super::circumstances::Circumstances;
use super::drawing::{CourseDrawing, Ladder, PartFields, Strip};
use super::editor::Editor;
use super::equipment::Equipment;
use super::evaluation::use_evaluation;
use super::format::{DisplayUnits, PowerUnit};
use super::hands::Hands;
use super::masthead::Masthead;
use super::preferences::Preferences;
use super::results::Happened;
use super::state::{Action, Desk, Selection};
use super::verdict_notes::VerdictNotes;
use super::verdicts::{self, Verdicts};
use super::{cautions, files, storage};

/// The page.
#[component]
pub fn App() -> Html {
    let opened = use_memo((), |()| storage::kept_plan());
    let desk = use_reducer(|| Desk::new(Rc::new(opened.plan.clone())));
    let preferences = use_state(storage::kept_preferences);
    let dispatch = {
        let desk = desk.dispatcher();
        use_callback((), move |action: Action, ()| desk.dispatch(action))
    };
    let evaluation = use_evaluation(&desk);
    let not_kept = use_keeping(&desk, *preferences);
    use_theme(*preferences);
    use_undo_keys(&dispatch);
    use_first_cursor(&evaluation.results, &dispatch);
    let file_problem = use_saved_sheet(&evaluation.results, &desk.document.plan.name);

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
    let view = desk.view;
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

    html! {
        <ContextProvider<DisplayUnits> context={preferences.units}>
            <a class="skip" href="#verdicts-heading">{ "To the verdicts" }</a>
            <Masthead document={desk.document.clone()} dispatch={dispatch.clone()} preferences={*preferences}
                {on_preferences} unreadable={opened.unreadable.clone()} not_kept={*not_kept}
                file_problem={(*file_problem).clone()} is_saving={results.waits_for_sheet()}
                on_save_report={evaluation.ask_for_sheet.clone()} />
            <main class="desk">
                <section class="desk-verdicts" aria-labelledby="verdicts-heading" aria-busy={results.waits_for_lap().to_string()}>
                    <h2 id="verdicts-heading" tabindex="-1">
                        { "Does the picture hold?" }<span class="alone">{ "each alone in the air" }</span>
                    </h2>
                    <Verdicts plan={plan.clone()} report={report.clone()} ghost={ghost.clone()} {view} dispatch={dispatch.clone()} />
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
                        }
                    </div>
                    if let Some(report) = &report {
                        <VerdictNotes plan={plan.clone()} report={report.clone()} entry={view.entry} />
                    }
                </section>
                <div class="desk-sheet">
                    <section class="desk-course" aria-labelledby="course-heading">
                        <h2 id="course-heading" class="unseen">{ "The course from above" }</h2>
                        <CourseDrawing plan={plan.clone()} report={report.clone()} ghost={ghost.clone()}
                            explanation={explanation.clone()} {view} dispatch={dispatch.clone()} />
                    </section>
                    <section class="desk-strip" aria-labelledby="strip-heading">
                        <h2 id="strip-heading" class="unseen">{ "The course unrolled" }</h2>
                        <Strip plan={plan.clone()} report={report.clone()} ghost={ghost.clone()}
                            explanation={explanation.clone()} {view} dispatch={dispatch.clone()} />
                    </section>
                </div>
                <div class="desk-forms">
                    if has_part {
                        <section class="desk-part" aria-labelledby="part-heading">
                            <h2 id="part-heading">{ "Picked on the drawing" }</h2>
                            <PartFields plan={plan.clone()} {view} dispatch={dispatch.clone()} />
                        </section>
                    }
                    <section class="desk-ladder" aria-labelledby="ladder-heading">
                        <h2 id="ladder-heading">{ format!("From transmitter to margin: {chosen_name}") }</h2>
                        <Ladder {explanation} report={report.clone()} {view} dispatch={dispatch.clone()} />
                    </section>
                    <section class="desk-equipment" aria-labelledby="equipment-heading">
                        <h2 id="equipment-heading">{ format!("Equipment of {chosen_name}") }</h2>
                        <Equipment plan={plan.clone()} report={report.clone()} {view} dispatch={dispatch.clone()} {on_power_unit} />
                    </section>
                    <Hands name={chosen_name} comparison={compared.map(|compared| compared.comparison)} {is_old}
                        is_waiting={results.waits_for_hands()} report={report.clone()} on_compare={evaluation.compare_hands.clone()} />
                    <Circumstances {editor} />
                    { cautions::before_you_fly() }
                </div>
            </main>
        </ContextProvider<DisplayUnits>>
    }
}

/// Keeps plan and preferences for the next visit; says when the browser refuses.
#[hook]
fn use_keeping(desk: &Desk, preferences: Preferences) -> UseStateHandle<Option<storage::NotKept>> {
    let not_kept = use_state(|| None);
    {
        let (plan, not_kept) = (desk.document.plan.clone(), not_kept.setter());
        use_effect_with(desk.document.revision, move |revision| {
            // What was opened is kept already, or is the demo plan, which needs no keeping.
            if *revision > 0 {
                not_kept.set(storage::keep_plan(&plan).err());
            }
        });
    }
    {
        let not_kept = not_kept.setter();
        let is_first = use_mut_ref(|| true);
        use_effect_with(preferences, move |preferences| {
            if !std::mem::take(&mut *is_first.borrow_mut())
                && let Err(why) = storage::keep_preferences(*preferences)
            {
                not_kept.set(Some(why));
            }
        });
    }
    not_kept
}

/// Puts the theme on the document, where the style sheets look for it.
#[hook]
fn use_theme(preferences: Preferences) {
    use_effect_with(preferences.theme, |theme| {
        let root = gloo::utils::document().document_element();
        if let Some(root) = root {
            // Neither can fail for a constant name and value.
            let _ = match theme.attribute() {
                Some(theme) => root.set_attribute("data-theme", theme),
                None => root.remove_attribute("data-theme"),
            };
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

/// Puts the cursor on the worst place of the chosen entry once, when the first report arrives.
#[hook]
fn use_first_cursor(results: &super::results::Results, dispatch: &Callback<Action>) {
    let worst =
        results.last.as_ref().and_then(|last| last.report.entries.first()).map(|entry| entry.worst.worst_sample);
    let dispatch = dispatch.clone();
    use_effect_with(worst.is_some(), move |_| {
        if let Some(worst) = worst {
            dispatch.emit(Action::Cursor(worst));
        }
    });
}

/// Saves the report as a file when the worker has written it; holds why it could not be saved.
#[hook]
fn use_saved_sheet(
    results: &UseReducerHandle<super::results::Results>,
    plan_name: &str,
) -> UseStateHandle<Option<String>> {
    let problem = use_state(|| None);
    let name = files::file_name(plan_name, ".report.json");
    let (dispatcher, set_problem) = (results.dispatcher(), problem.setter());
    use_effect_with(results.sheet.clone(), move |sheet| {
        if let Some(sheet) = sheet {
            set_problem.set(files::save(&name, sheet).err());
            dispatcher.dispatch(Happened::SheetSaved);
        }
    });
    problem
}
