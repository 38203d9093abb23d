//! The width that the page gives a drawing.

use wasm_bindgen::JsCast;
use wasm_bindgen::closure::Closure;
use web_sys::{Element, ResizeObserver};
use yew::prelude::*;

/// The inner width of an element in pixels, kept up to date; zero until it is on the page.
#[hook]
pub fn use_width(node: &NodeRef) -> f64 {
    let width = use_state_eq(|| 0.0);
    let (node, setter) = (node.clone(), width.setter());
    use_effect_with((), move |()| {
        let watch = node.cast::<Element>().and_then(|element| {
            setter.set(f64::from(element.client_width()));
            let watched = element.clone();
            let changed = Closure::<dyn FnMut()>::new(move || setter.set(f64::from(watched.client_width())));
            let observer = ResizeObserver::new(changed.as_ref().unchecked_ref()).ok()?;
            observer.observe(&element);
            // The closure must live as long as the observer may call it.
            Some((observer, changed))
        });
        move || {
            if let Some((observer, _changed)) = watch {
                observer.disconnect();
            }
        }
    });
    *width
}
