//! What is said about plans in the head of the page.

use yew::prelude::*;

use super::desk_plans::Plans;
use super::keeper::PlanWish;
use super::notice::PlansNotice;
use crate::elements::button;
use crate::files;

/// Everything there is to say about plans, each with what can be done about it.
///
/// `on_save` saves the plan on the desk as a file; `set_problem` is told what the browser refused.
pub fn notices(
    plans: &Plans,
    on_save: &Callback<MouseEvent>,
    set_problem: &UseStateSetter<Option<String>>,
) -> Vec<Html> {
    let keeper = plans.keeper();
    let mut said = Vec::new();
    if let Some(why) = keeper.not_kept() {
        said.push(notice("not-kept", true, why.to_string(), Vec::new()));
    }
    let edition = edition_state();
    if edition == "new" || edition == "others" {
        let more = match edition.as_str() {
            "new" => "It is used from the next visit on, or now; undo then begins anew.",
            _ => "It can be used once the other tabs with this page are closed.",
        };
        let text = format!("A new version of this page is ready. {more}");
        let on_use = Callback::from(|_: MouseEvent| {
            if let (Some(window), Ok(event)) = (web_sys::window(), web_sys::Event::new("edition-use")) {
                // Nobody can stop this event, and a page without a listener stays as it is.
                let _ = window.dispatch_event(&event);
            }
        });
        said.push(notice("edition", false, text, vec![button("edition-use", "Use it now", None, on_use)]));
    }
    if let Some(one) = &keeper.notice {
        said.push(notice("plans-notice", one.is_problem(), one.sentence(), ways(one, &plans.on, set_problem)));
        said.extend(one.text().map(|(_, text)| as_text(text)));
    }
    if keeper.recommends_a_file() && keeper.not_kept().is_none() {
        let ways = vec![
            button("", "Save plan", None, on_save.clone()),
            button("", "Not now", None, wishing(&plans.on, PlanWish::Filed)),
        ];
        let text = "A good deal of work is in this plan, and so far it is in this browser only. A file outlasts that.";
        said.push(notice("file-hint", false, text.to_owned(), ways));
    }
    said
}

fn notice(id: &'static str, is_problem: bool, text: String, ways: Vec<Html>) -> Html {
    let class = if is_problem { "problem plans-notice" } else { "moved plans-notice" };
    html! { <p {id} {class}>{ text }{ " " }{ for ways }</p> }
}

/// The text of what could not be opened, to be read and copied.
fn as_text(text: &str) -> Html {
    html! {
        <details>
            <summary>{ "Show its text" }</summary>
            <textarea id="unreadable-text" class="field-text" rows="8" readonly=true aria-label="Its text" value={text.to_owned()} />
        </details>
    }
}

/// What start.js says about this version of the page and the next; empty where there is nothing to say.
pub fn edition_state() -> String {
    let root = gloo::utils::document().document_element();
    root.and_then(|root| root.get_attribute("data-edition")).unwrap_or_default()
}

/// What can be done about a notice.
fn ways(one: &PlansNotice, on: &Callback<PlanWish>, set_problem: &UseStateSetter<Option<String>>) -> Vec<Html> {
    let mut ways = Vec::new();
    if let Some((name, text)) = one.text() {
        let (text, set_problem) = (text.to_owned(), set_problem.clone());
        let on_save = Callback::from(move |_: MouseEvent| set_problem.set(files::save(name, &text).err()));
        ways.push(button("save-text", "Save its text", None, on_save));
    }
    let wishes: &[(&str, PlanWish)] = match one {
        PlansNotice::Deleted { .. } => &[("Put it back", PlanWish::Restore)],
        PlansNotice::Removed => &[("Keep it", PlanWish::KeepMine)],
        PlansNotice::Elsewhere => &[("Show theirs", PlanWish::TakeTheirs), ("Keep mine as a copy", PlanWish::KeepMine)],
        _ => &[],
    };
    for (label, wish) in wishes.iter().chain([&("Close", PlanWish::Dismiss)]) {
        ways.push(button("", label, None, wishing(on, wish.clone())));
    }
    ways
}

/// Wishes for something when it is called.
pub fn wishing(on: &Callback<PlanWish>, wish: PlanWish) -> Callback<MouseEvent> {
    on.reform(move |_: MouseEvent| wish.clone())
}
