//! The keys of the drawing, listed under it.

use web_sys::HtmlElement;
use yew::prelude::*;

use wasm_bindgen::JsCast;

/// Keys and what they do.
const KEYS: [(&str, &str); 14] = [
    ("Tab", "from part to part"),
    ("Enter", "select the part; with Shift, together with the others"),
    ("Arrows", "move what is selected by 0.1 m, with Shift by 1 m; move the view if no part has the focus"),
    ("[ ]", "turn a part by 5°, with Shift by 1°"),
    ("Delete", "take away what is selected"),
    ("Ctrl A", "select everything"),
    ("Ctrl C, Ctrl X, Ctrl V", "copy, cut and paste what is selected, also into another plan"),
    ("Ctrl D", "duplicate what is selected"),
    ("Ctrl Z, Ctrl Y", "undo and redo"),
    ("+ − 0", "enlarge, show more, show all"),
    ("Escape", "put the tool down, or end a drag where it began"),
    ("Shift with a click", "select one more part"),
    ("Shift with a drag", "select what is in the box; while a part is dragged, no snapping"),
    ("?", "this list"),
];

/// The list, folded away.
pub fn list() -> Html {
    html! {
        <details class="more keys" id="keys">
            <summary>{ "Keys" }</summary>
            <dl class="keys-list">
                { for KEYS.iter().map(|(key, does)| html! { <div><dt>{ *key }</dt><dd>{ *does }</dd></div> }) }
            </dl>
        </details>
    }
}

/// Unfolds it and goes there.
pub fn open() {
    let Some(list) = gloo::utils::document().get_element_by_id("keys") else { return };
    // It is a list that unfolds, with a line to unfold it by; if not, it stays as it is.
    let _ = list.set_attribute("open", "");
    let line = list.query_selector("summary").ok().flatten().and_then(|line| line.dyn_into::<HtmlElement>().ok());
    let _ = line.map(|line| line.focus());
}
