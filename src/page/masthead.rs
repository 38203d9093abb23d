//! Head of the page: the plan's name, undo and redo, saving, look and units, and what the browser did not keep.

use yew::prelude::*;

use super::files;
use super::preferences::Preferences;
use super::settings::Settings;
use super::state::{Action, Document};
use super::storage::{NotKept, Unreadable};
use crate::plan::edit::Edit;
use crate::plan::{limits, load};

/// Properties of [`Masthead`].
#[derive(Properties, PartialEq)]
pub struct MastheadProps {
    /// The plan and its history.
    pub document: Document,
    /// Where edits go.
    pub dispatch: Callback<Action>,
    /// What the person prefers.
    pub preferences: Preferences,
    /// Called with what they prefer now.
    pub on_preferences: Callback<Preferences>,
    /// A kept text that could not be read.
    pub unreadable: Option<Unreadable>,
    /// Why the plan was not kept for the next visit.
    pub not_kept: Option<NotKept>,
    /// Why a file could not be saved.
    pub file_problem: Option<String>,
    /// Whether the report is being written.
    pub is_saving: bool,
    /// Asks for the report as a file.
    pub on_save_report: Callback<()>,
}

/// The head of the page.
#[component]
pub fn Masthead(props: &MastheadProps) -> Html {
    let MastheadProps {
        document,
        dispatch,
        preferences,
        on_preferences,
        unreadable,
        not_kept,
        file_problem,
        is_saving,
        on_save_report,
    } = props;
    let refused = use_state(|| None::<String>);
    let (undo, redo) = (document.undo_label(), document.redo_label());
    let on_name = dispatch.reform(|event: Event| {
        let input: web_sys::HtmlInputElement = event.target_unchecked_into();
        Action::Edit {
            edit: Edit::Name(input.value().trim().to_owned()),
            label: "Plan renamed".to_owned(),
            merge: None,
        }
    });
    let on_save_plan = {
        let (plan, refused) = (document.plan.clone(), refused.setter());
        Callback::from(move |_: MouseEvent| {
            refused.set(files::save(&files::file_name(&plan.name, ".json"), &load::save(&plan)).err());
        })
    };
    let said = |label: &Option<std::rc::Rc<str>>, verb: &str| match label {
        Some(label) => format!("{verb}: {label}"),
        None => format!("{verb}: nothing"),
    };
    html! {
        <header class="masthead">
            <div class="masthead-title">
                <h1>{ "Lapmargin" }</h1>
                <label class="unseen" for="plan-name">{ "Name of the plan" }</label>
                <input id="plan-name" class="masthead-name" type="text" autocomplete="off"
                    maxlength={limits::NAME.max.to_string()} value={document.plan.name.clone()} onchange={on_name} />
            </div>
            <div class="masthead-tools">
                <button type="button" id="undo" class="button" disabled={undo.is_none()} title={said(&undo, "Take back")}
                    onclick={dispatch.reform(|_: MouseEvent| Action::Undo)}>{ "Undo" }</button>
                <button type="button" id="redo" class="button" disabled={redo.is_none()} title={said(&redo, "Do again")}
                    onclick={dispatch.reform(|_: MouseEvent| Action::Redo)}>{ "Redo" }</button>
                <button type="button" id="save-plan" class="button" onclick={on_save_plan}>{ "Save plan" }</button>
                <button type="button" id="save-report" class="button" disabled={*is_saving}
                    onclick={on_save_report.reform(|_: MouseEvent| ())}>
                    { if *is_saving { "Writing…" } else { "Save report" } }
                </button>
                <Settings preferences={*preferences} on_change={on_preferences.clone()} />
            </div>
            <div class="masthead-said" role="status">
                if let Some(why) = not_kept {
                    <p id="not-kept" class="problem">{ why.to_string() }</p>
                }
                if let Some(unreadable) = unreadable {
                    { unreadable_notice(unreadable, &refused) }
                }
                if let Some(problem) = file_problem.as_ref().or(refused.as_ref()) {
                    <p class="problem">{ problem }</p>
                }
            </div>
        </header>
    }
}

fn unreadable_notice(unreadable: &Unreadable, refused: &UseStateHandle<Option<String>>) -> Html {
    let (text, refused) = (unreadable.text.clone(), refused.setter());
    let onclick = Callback::from(move |_: MouseEvent| refused.set(files::save("unreadable-plan.json", &text).err()));
    html! {
        <p id="unreadable" class="problem">
            { format!("The plan of your last visit could not be read, so this is the demo plan. {} ", unreadable.why) }
            <button type="button" class="button" {onclick}>{ "Save its text" }</button>
        </p>
    }
}
