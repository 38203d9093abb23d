//! Styles that come with a program of its own, so that a visit to the planner does not load them.

use wasm_bindgen::prelude::*;

// web-sys does not know that style sheets can be made.
#[wasm_bindgen]
extern "C" {
    #[wasm_bindgen(js_name = CSSStyleSheet)]
    type StyleSheet;
    #[wasm_bindgen(constructor, js_class = "CSSStyleSheet")]
    fn new() -> StyleSheet;
    #[wasm_bindgen(method, js_name = replaceSync)]
    fn replace_sync(this: &StyleSheet, text: &str);
}

/// Puts styles on the page, after those that it has by links and in the place of what was put on before.
pub fn apply(text: &str) {
    let sheet = StyleSheet::new();
    sheet.replace_sync(text);
    let sheets = js_sys::Array::of1(&sheet);
    let document = gloo::utils::document();
    // Every browser that runs the program has it (all since 2023); one that had not would show the page plain.
    let _ = js_sys::Reflect::set(&document, &"adoptedStyleSheets".into(), &sheets);
}
