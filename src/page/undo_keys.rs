//! Undo and redo by the usual keys.

use gloo::events::{EventListener, EventListenerOptions};
use wasm_bindgen::JsCast;
use yew::prelude::*;

/// What the keys ask for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UndoKey {
    /// Take the last change back.
    Undo,
    /// Make it again.
    Redo,
}

/// Hands over what the keys ask for, unless a text is being typed: there they belong to the text.
#[hook]
pub fn use_undo_keys(on_key: &Callback<UndoKey>) {
    use_effect_with(on_key.clone(), |on_key| {
        let on_key = on_key.clone();
        let options = EventListenerOptions::enable_prevent_default();
        let listener = EventListener::new_with_options(&gloo::utils::document(), "keydown", options, move |event| {
            let Some(key) = event.dyn_ref::<web_sys::KeyboardEvent>() else { return };
            let is_typing = event
                .target()
                .and_then(|target| target.dyn_into::<web_sys::HtmlInputElement>().ok())
                .is_some_and(|input| input.type_() == "text");
            if is_typing || !(key.ctrl_key() || key.meta_key()) || key.alt_key() {
                return;
            }
            let asked = match (key.key().as_str(), key.shift_key()) {
                ("z", false) => UndoKey::Undo,
                ("z" | "Z", true) | ("y", false) => UndoKey::Redo,
                _ => return,
            };
            event.prevent_default();
            on_key.emit(asked);
        });
        move || drop(listener)
    });
}
