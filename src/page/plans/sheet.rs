//! The list of plans, folded away in the head of the page, and the plan on the desk as a link to pass on.

use wasm_bindgen::{JsCast, JsValue};
use yew::prelude::*;

use super::desk_plans::{self, Plans};
use super::keeper::{Listed, PlanWish};
use super::notices::{self, wishing};
use crate::elements::{button, note};
use crate::plan::plan_link;
use crate::state::Document;
use crate::{address, device};

/// Properties of [`PlanSheet`].
#[derive(PartialEq, Properties)]
pub struct PlanSheetProps {
    /// The plans.
    pub plans: Plans,
    /// The plan on the desk.
    pub document: Document,
}

/// The list of plans, and passing one on.
#[component]
pub fn PlanSheet(props: &PlanSheetProps) -> Html {
    let PlanSheetProps { plans, document } = props;
    let is_open = use_state_eq(|| false);
    let copied = use_state_eq(|| false);
    let on_toggle = {
        let is_open = is_open.setter();
        Callback::from(move |event: Event| {
            let details: web_sys::Element = event.target_unchecked_into();
            is_open.set(details.has_attribute("open"));
        })
    };
    html! {
        <details class="settings plans" id="plans" ontoggle={on_toggle}>
            <summary class="button" id="plans-summary">{ "Plans" }</summary>
            if *is_open {
                <div class="settings-sheet">
                    { list(plans) }
                    { others(&plans.on) }
                    { pass_on(document, &copied) }
                </div>
            }
        </details>
    }
}

/// A part of the list's sheet.
fn part(id: &'static str, title: &'static str, inside: Vec<Html>) -> Html {
    html! {
        <section class="plans-part" aria-labelledby={id}>
            <h2 {id}>{ title }</h2>
            { for inside }
        </section>
    }
}

fn list(plans: &Plans) -> Html {
    let keeper = plans.keeper();
    let mut inside: Vec<Html> =
        keeper.list().iter().map(|kept| row(kept, keeper.on_desk() == Some(&kept.id), &plans.on)).collect();
    if inside.is_empty() {
        inside.push(note("None yet. Plans save themselves after the first change."));
    }
    inside.push(note(
        "They stay on this device, in this browser; a private window forgets them when it is closed. A plan is renamed at the \
         top of the page.",
    ));
    if notices::edition_state() == "kept" {
        inside.push(note("This page opens without a network, too."));
    } else if !gloo::utils::window().is_secure_context() {
        inside.push(note("This page came without HTTPS: it does not open without a network."));
    }
    part("plans-heading", "Plans in this browser", inside)
}

fn row(kept: &Listed, is_on_desk: bool, on: &Callback<PlanWish>) -> Html {
    let id = &kept.id;
    let spoken = |what: &str| Some(format!("{what} {}", kept.name));
    let when = format!("{}{}", when(kept.changed_ms), if is_on_desk { ", open" } else { "" });
    html! {
        <div key={id.clone()} class="plans-row">
            <button type="button" class="plans-open" aria-current={is_on_desk.then_some("true")}
                onclick={wishing(on, PlanWish::Open(id.clone()))}>
                <span class="plans-name">{ &kept.name }</span>
                <span class="plans-when">{ when }</span>
            </button>
            { button("", "Duplicate", spoken("Duplicate"), wishing(on, PlanWish::Duplicate(id.clone()))) }
            { button("", "Delete", spoken("Delete"), wishing(on, PlanWish::Delete(id.clone()))) }
        </div>
    }
}

/// Plans from elsewhere.
fn others(on: &Callback<PlanWish>) -> Html {
    let on_file = {
        let on = on.clone();
        Callback::from(move |event: Event| {
            let input: web_sys::HtmlInputElement = event.target_unchecked_into();
            if let Some(file) = input.files().and_then(|files| files.get(0)) {
                desk_plans::take(&file, on.clone());
            }
            // The same file, mended, can be chosen again.
            input.set_value("");
        })
    };
    let file = html! {
        <label class="field-label">
            { "Open a plan file, or drop it on the page" }
            <input id="plan-file" type="file" accept=".json,application/json" onchange={on_file} />
        </label>
    };
    part("plans-others", "From elsewhere", vec![file, button("", "The demo plan", None, wishing(on, PlanWish::Demo))])
}

fn pass_on(document: &Document, copied: &UseStateHandle<bool>) -> Html {
    let inside = match plan_link::write(&document.plan) {
        Ok(value) => link_fields(&document.plan.name, address::with_plan(&address::base(), &value), copied),
        Err(why) => vec![note(format!("It goes as a file: {why}."))],
    };
    part("plans-pass-on", "Share this plan", inside)
}

fn link_fields(name: &str, link: String, copied: &UseStateHandle<bool>) -> Vec<Html> {
    let on_copy = {
        let copied = copied.setter();
        Callback::from(move |_: MouseEvent| copied.set(copy("plan-link")))
    };
    let share = device::can_share().then(|| {
        let (name, link) = (name.to_owned(), link.clone());
        button("share-link", "Share…", None, Callback::from(move |_: MouseEvent| device::share(&name, &link)))
    });
    let code = if link.len() <= address::CODE_CHARACTERS {
        "It is short enough for a QR code: Print and export has it."
    } else {
        "Above 700 it is too long for a QR code: send the saved file, or share the link."
    };
    vec![
        html! {
            <label class="field-label">
                { format!("Plan link, {} characters", link.len()) }
                <input id="plan-link" class="field-text" type="text" readonly=true value={link} />
            </label>
        },
        button("copy-link", "Copy the link", None, on_copy),
        share.unwrap_or_default(),
        html! { <p role="status">{ if **copied { "Copied." } else { "" } }</p> },
        note(code),
        note(
            "The whole plan is in the link; it is never sent to a server. Where a program cuts long links, send the saved file.",
        ),
    ]
}

/// When something was changed, in this device's time: 2026-11-25 13:40.
pub fn when(changed_ms: u64) -> String {
    // Swedish writes dates the way the standard ISO 8601 does.
    let date = js_sys::Date::new(&JsValue::from_f64(changed_ms as f64)).to_locale_string("sv", &JsValue::UNDEFINED);
    String::from(date).chars().take(16).collect()
}

/// Marks a field's text and copies it; whether the browser did.
fn copy(id: &str) -> bool {
    let document = gloo::utils::document();
    if let Some(field) =
        document.get_element_by_id(id).and_then(|field| field.dyn_into::<web_sys::HtmlInputElement>().ok())
    {
        field.select();
    }
    document.dyn_into::<web_sys::HtmlDocument>().is_ok_and(|document| document.exec_command("copy").unwrap_or(false))
}
