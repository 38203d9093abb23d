//! Elements that recur: written once, because each place that writes one out costs the page a few hundred bytes.

use yew::prelude::*;

/// A button; `id` may be empty. `spoken` is its name for those who do not see what it stands beside, if the label is not
/// enough; it begins with the label.
pub fn button(id: &'static str, label: &'static str, spoken: Option<String>, onclick: Callback<MouseEvent>) -> Html {
    let id = (!id.is_empty()).then_some(id);
    html! { <button type="button" {id} class="button" aria-label={spoken} {onclick}>{ label }</button> }
}

/// Something said in small type.
pub fn note(text: impl Into<AttrValue>) -> Html {
    let text: AttrValue = text.into();
    html! { <p class="field-note">{ text }</p> }
}
