//! Menus of the page close on Escape, on a press elsewhere, and when another is opened.

use gloo::events::EventListener;
use gloo::utils::document;
use wasm_bindgen::JsCast;
use web_sys::{Element, HtmlElement};
use yew::prelude::*;

/// What is folded out over the page: the sheets of the head of the page, innermost last, and on a phone the menu they are in.
const OPEN: &str = ".settings[open], #menu[aria-expanded='true']";

/// Closes menus.
#[hook]
pub fn use_menus() {
    use_effect_with((), |()| {
        let on_key = EventListener::new(&document(), "keydown", |event| {
            let is_escape = event.dyn_ref::<web_sys::KeyboardEvent>().is_some_and(|event| event.key() == "Escape");
            let open = if is_escape { open() } else { Vec::new() };
            if let Some(innermost) = open.last() {
                close(innermost);
                let opener = innermost.query_selector("summary").ok().flatten().unwrap_or_else(|| innermost.clone());
                // Without the focus the page goes on where it was.
                let _ = opener.dyn_ref::<HtmlElement>().map(HtmlElement::focus);
            }
        });
        let on_press = EventListener::new(&document(), "pointerdown", |event| {
            let pressed = event.target().and_then(|target| target.dyn_into::<Element>().ok());
            for menu in open() {
                // The phone's menu is the button; what it shows stands beside it.
                let inside = if menu.id() == "menu" { menu.parent_element() } else { Some(menu.clone()) };
                if !inside.is_some_and(|inside| inside.contains(pressed.as_deref())) {
                    close(&menu);
                }
            }
        });
        move || drop((on_key, on_press))
    });
}

fn open() -> Vec<Element> {
    let found = document().query_selector_all(OPEN).ok();
    let found = found.iter().flat_map(|found| (0..found.length()).filter_map(|index| found.item(index)));
    found.filter_map(|node| node.dyn_into::<Element>().ok()).collect()
}

fn close(menu: &Element) {
    match menu.dyn_ref::<HtmlElement>() {
        Some(button) if menu.id() == "menu" => button.click(),
        // What cannot be closed stays open, for everyone to see.
        _ => drop(menu.remove_attribute("open")),
    }
}
