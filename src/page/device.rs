//! What the browser does for the page beyond showing it, where it does: not every one has these, and none has them on an
//! address without encryption.

use js_sys::{Array, Function, Object, Reflect};
use wasm_bindgen::{JsCast, JsValue};

/// A property, if the object has it.
pub fn part(of: &JsValue, name: &str) -> Option<JsValue> {
    Reflect::get(of, &name.into()).ok().filter(JsValue::is_truthy)
}

fn navigator() -> Option<JsValue> {
    part(&web_sys::window()?.into(), "navigator")
}

/// Calls a method, where there is one.
pub fn call(of: &JsValue, method: &str, arguments: &Array) -> Option<JsValue> {
    part(of, method)?.dyn_ref::<Function>()?.apply(of, arguments).ok()
}

/// Calls a method that gives a promise, and lets that be kept or broken in its own time.
fn ask(of: &JsValue, method: &str, argument: &JsValue) {
    if let Some(promise) = call(of, method, &Array::of1(argument)) {
        // A person may say no; that is an answer, not an error. The function that makes objects takes it and does no more.
        if let Some(taken) = web_sys::window().and_then(|window| part(&window.into(), "Object")) {
            call(&promise, "catch", &Array::of1(&taken));
        }
    }
}

/// Asks the browser not to make room at the expense of this page's plans.
pub fn ask_to_keep_plans() {
    if let Some(storage) = navigator().and_then(|navigator| part(&navigator, "storage")) {
        ask(&storage, "persist", &JsValue::UNDEFINED);
    }
}

/// How many cores the browser admits to; one where it does not say.
pub fn cores() -> usize {
    let cores = navigator().and_then(|navigator| part(&navigator, "hardwareConcurrency")?.as_f64());
    // A small whole number.
    cores.map_or(1, |cores| cores as usize)
}

/// Whether the device has a sheet through which things are passed on.
pub fn can_share() -> bool {
    navigator().is_some_and(|navigator| part(&navigator, "share").is_some())
}

/// Passes an address on through the device's own sheet.
pub fn share(title: &str, address: &str) {
    let what = Object::new();
    for (name, value) in [("title", title), ("url", address)] {
        // A new object takes every property.
        let _ = Reflect::set(&what, &name.into(), &value.into());
    }
    if let Some(navigator) = navigator() {
        ask(&navigator, "share", &what);
    }
}
