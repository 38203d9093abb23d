//! The picture of the plan on the desk: taken from a file, found again, placed and taken away.

use std::cell::RefCell;
use std::rc::Rc;

use gloo::events::EventListener;
use js_sys::{Array, Uint8Array};
use wasm_bindgen::{JsCast, JsValue};
use web_sys::{Blob, File, Url};
use yew::prelude::*;

use super::placing::{HEAD_BYTES, MarkedLine, Placing, dots};
use crate::device;

/// A picture that lies under the drawing.
#[derive(Clone)]
pub struct Laid {
    /// Address of the picture within this browser.
    pub address: AttrValue,
    /// How it lies.
    pub lies: Placing,
    picture: Blob,
}

/// What there is of a picture.
#[derive(Default)]
pub struct UnderlayState {
    /// The picture, if there is one.
    pub laid: Option<Laid>,
    /// A line that was drawn over a known distance.
    pub line_m: Option<MarkedLine>,
    /// What went wrong, if anything did.
    pub said: String,
    /// Whose picture it is, what people call that plan, and its site's sides.
    plan: String,
    name: String,
    site_m: [f64; 2],
}

/// The picture, for the drawing and for its panel.
#[derive(Clone)]
pub struct Underlay {
    memory: Rc<RefCell<UnderlayState>>,
    redraw: UseForceUpdateHandle,
}

/// The picture of a plan, by what the plan is kept as in this browser, its name and its site's sides.
#[hook]
pub fn use_underlay(plan: &AttrValue, name: &str, site_m: [f64; 2]) -> Underlay {
    let underlay = Underlay { memory: use_mut_ref(UnderlayState::default), redraw: use_force_update() };
    underlay.memory.borrow_mut().site_m = site_m;
    use_effect_with(plan.clone(), {
        let (underlay, name) = (underlay.clone(), name.to_owned());
        move |plan| {
            let listener = underlay.clone();
            let listener = EventListener::new(&gloo::utils::window(), "picture", move |_| listener.answered());
            underlay.begin(plan, name);
            move || drop(listener)
        }
    });
    underlay
}

impl Underlay {
    /// What there is of the picture.
    pub fn memory(&self) -> std::cell::Ref<'_, UnderlayState> {
        self.memory.borrow()
    }

    fn set(&self, change: impl FnOnce(&mut UnderlayState)) {
        change(&mut self.memory.borrow_mut());
        self.redraw.force_update();
    }

    /// Looks for the picture of another plan. One that is kept from its first change on takes its picture along.
    fn begin(&self, plan: &str, name: String) {
        let mut memory = self.memory.borrow_mut();
        let is_same = memory.plan.is_empty() && memory.laid.is_some() && memory.name == name;
        (memory.plan, memory.name) = (plan.to_owned(), name);
        drop(memory);
        if is_same {
            return self.keep();
        }
        self.lay(None);
        self.ask("find", &[]);
    }

    /// Hears what was found, or could not be kept.
    fn answered(&self) {
        let answer = pictures().and_then(|pictures| device::part(&pictures, "answer"));
        let part = |name: &str| device::part(answer.as_ref()?, name);
        // The desk may hold another plan by now.
        if part("id").and_then(|id| id.as_string()).unwrap_or_default() != self.memory.borrow().plan {
            return;
        }
        let Some(picture) = part("picture").map(|picture| picture.unchecked_into::<Blob>()) else {
            let said = "This browser does not keep the picture; it is there until the page closes.";
            return self.set(|memory| memory.said = said.to_owned());
        };
        if let Some(head) = part("head") {
            // Its size is known before anything is unpacked.
            return match dots(&head.unchecked_into::<Uint8Array>().to_vec(), picture.size() as usize) {
                Ok(_) => self.ask("redraw", &[picture.into()]),
                Err(why) => self.set(|memory| memory.said = format!("Not taken: {why}.")),
            };
        }
        if part("damaged").is_some() {
            let said = "Not taken: the browser cannot draw the picture; its file is damaged.";
            return self.set(|memory| memory.said = said.to_owned());
        }
        if let Some(dots) = part("dots") {
            let dots: Array = dots.unchecked_into();
            let side = |place| dots.get(place).as_f64().map_or(1, |dots| dots as u32);
            let lies = Placing::fitted([side(0), side(1)], self.memory.borrow().site_m);
            self.lay(Some((picture, lies)));
            self.keep();
        } else if let Some(lies) = part("lies").and_then(|text| Placing::read(&text.as_string()?)) {
            self.lay(Some((picture, lies)));
        }
    }

    fn lay(&self, picture: Option<(Blob, Placing)>) {
        let laid = picture.and_then(|(picture, lies)| {
            let address = Url::create_object_url_with_blob(&picture).ok()?.into();
            Some(Laid { address, lies, picture })
        });
        self.set(|memory| {
            if let Some(before) = std::mem::replace(&mut memory.laid, laid) {
                // What cannot be let go of goes with the page.
                let _ = Url::revoke_object_url(&before.address);
            }
            (memory.line_m, memory.said) = (None, String::new());
        });
    }

    /// Takes a file from the person's disk.
    pub fn take(&self, file: File) {
        self.ask("take", &[file.into(), HEAD_BYTES.into()]);
    }

    /// Lays it otherwise.
    pub fn place(&self, lies: Placing) {
        self.set(|memory| {
            memory.laid.iter_mut().for_each(|laid| laid.lies = lies);
            memory.line_m = None;
        });
        self.keep();
    }

    /// A line was drawn over a known distance.
    pub fn mark(&self, line_m: MarkedLine) {
        self.set(|memory| memory.line_m = Some(line_m));
    }

    /// Takes it away, from this browser too.
    pub fn remove(&self) {
        self.lay(None);
        self.ask("drop", &[]);
    }

    fn keep(&self) {
        let laid = self.memory.borrow().laid.clone();
        if let Some(laid) = laid {
            self.ask("keep", &[laid.picture.into(), laid.lies.text().into()]);
        }
    }

    /// Has something done about the plan's picture.
    fn ask(&self, act: &str, more: &[JsValue]) {
        let plan = JsValue::from(self.memory.borrow().plan.as_str());
        if let Some(pictures) = pictures() {
            device::call(&pictures, act, &std::iter::once(&plan).chain(more).collect());
        }
    }
}

/// What `pictures.js` gives the page.
fn pictures() -> Option<JsValue> {
    device::part(&js_sys::global(), "pictures")
}

/// Lets go of the pictures of all plans but these.
pub fn only(plans: &[String]) {
    let plans: Array = plans.iter().map(|plan| JsValue::from(plan.as_str())).collect();
    if let Some(pictures) = pictures() {
        device::call(&pictures, "only", &Array::of1(&plans));
    }
}
