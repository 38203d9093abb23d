//! Head of the page: the plan's name, undo and redo, the list of plans, saving, look and units, and what is to be said about
//! plans.

use yew::prelude::*;

use super::address;
use super::elements::button;
use super::files;
use super::kept::kept;
use super::new_plan::{NewPlan, NewPlanProps};
use super::plans::desk_plans::Plans;
use super::plans::keeper::PlanWish;
use super::plans::notice::Source;
use super::plans::notices::notices;
use super::plans::sheet::{PlanSheet, PlanSheetProps};
use super::preferences::{Preferences, VERDICTS_COUNT_FIELDS};
use super::settings::settings;
use super::state::{Action, Document};
use crate::plan::edit::Edit;
use crate::plan::{limits, load, plan_link};

/// Properties of [`Masthead`].
#[derive(Properties, PartialEq)]
pub struct MastheadProps {
    /// The plan and its history.
    pub document: Document,
    /// The chosen entry's verdict in brief, for where the verdicts are out of sight.
    pub slim: Html,
    /// Where edits go.
    pub dispatch: Callback<Action>,
    /// What the person prefers.
    pub preferences: Preferences,
    /// Called with what they prefer now.
    pub on_preferences: Callback<Preferences>,
    /// The plans of this browser.
    pub plans: Plans,
}

/// The head of the page.
#[component]
pub fn Masthead(props: &MastheadProps) -> Html {
    let MastheadProps { document, slim, dispatch, preferences, on_preferences, plans } = props;
    let is_open = use_state_eq(|| false);
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
        let (plan, refused, on) = (document.plan.clone(), refused.setter(), plans.on.clone());
        Callback::from(move |_: MouseEvent| {
            let saved = files::save(&files::file_name(&plan.name, ".json"), &load::save(&plan));
            if saved.is_ok() {
                on.emit(PlanWish::Filed);
            }
            refused.set(saved.err());
        })
    };
    let on_told = {
        let told = Preferences { knows_fields: true, ..*preferences };
        on_preferences.reform(move |_: MouseEvent| told)
    };
    // The address is made when it is followed; a plan too long for one is what the sheet takes by itself, as it lies on the
    // desk. The sheet opens beside the desk, which keeps its steps of undo.
    let on_sheet = {
        let plan = document.plan.clone();
        Callback::from(move |event: MouseEvent| {
            let link: web_sys::HtmlAnchorElement = event.target_unchecked_into();
            link.set_href(&address::of_sheet(plan_link::write(&plan).ok().as_deref()));
        })
    };
    let on_menu = {
        let is_open = is_open.clone();
        move |_: MouseEvent| is_open.set(!*is_open)
    };
    let said = |label: &Option<std::rc::Rc<str>>, verb: &str| match label {
        Some(label) => format!("{verb}: {label}"),
        None => format!("Nothing to {}", verb.to_ascii_lowercase()),
    };
    html! {
        <header class="masthead">
            <div class="masthead-title">
                <h1>{ "Lapmargin" }</h1>
                <label class="unseen" for="plan-name">{ "Name of the plan" }</label>
                <input id="plan-name" class="masthead-name" type="text" autocomplete="off"
                    maxlength={limits::NAME.max.to_string()} value={document.plan.name.clone()} onchange={on_name} />
            </div>
            { slim.clone() }
            <div class="masthead-tools">
                <button type="button" id="undo" class="button" disabled={undo.is_none()} title={said(&undo, "Undo")}
                    onclick={dispatch.reform(|_: MouseEvent| Action::Undo)}>{ "Undo" }</button>
                // Where there is no room for a row of buttons, this one unfolds them.
                <button type="button" id="menu" class="button" aria-expanded={is_open.to_string()} aria-controls="masthead-more"
                    onclick={on_menu}>{ "Menu" }</button>
                <div id="masthead-more" class={classes!("masthead-more", is_open.then_some("is-open"))}>
                    <button type="button" id="redo" class="button" disabled={redo.is_none()} title={said(&redo, "Redo")}
                        onclick={dispatch.reform(|_: MouseEvent| Action::Redo)}>{ "Redo" }</button>
                    { kept::<NewPlan>(NewPlanProps {
                        on_begin: plans.on.reform(|plan| PlanWish::Take(Source::Page, Ok(Box::new(plan)))),
                    }) }
                    { kept::<PlanSheet>(PlanSheetProps { plans: plans.clone(), document: document.clone() }) }
                    <a id="sheet-link" class="button" href={address::of_sheet(None)} target="_blank" onclick={on_sheet}>{ "Print and export" }</a>
                    { button("save-plan", "Save plan", None, on_save_plan.clone()) }
                    { settings(*preferences, on_preferences, true) }
                </div>
            </div>
            <div class="masthead-said" role="status">
                if preferences.asks_to_tell(plans.keeper().had_plans()) {
                    <p id="fields-told" class="moved plans-notice">
                        { VERDICTS_COUNT_FIELDS }{ " " }{ button("", "Close", Some("Close: what changed".to_owned()), on_told) }
                    </p>
                }
                { for notices(plans, &on_save_plan, &refused.setter()) }
                if let Some(problem) = &*refused {
                    <p class="problem">{ problem }</p>
                }
            </div>
        </header>
    }
}
