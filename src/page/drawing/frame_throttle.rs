//! No more than one piece of work for each frame of the screen.

use std::cell::Cell;
use std::rc::Rc;

use wasm_bindgen::JsCast;
use wasm_bindgen::closure::Closure;

/// Runs work before the next frame, once for each frame, however often it is asked.
#[derive(Clone, Default)]
pub struct FrameThrottle {
    waiting: Rc<Cell<bool>>,
}

impl FrameThrottle {
    /// Runs `work` before the next frame unless some is already waiting for it. `work` must look up itself what is
    /// newest; it is called once at most.
    pub fn before_next_frame(&self, work: impl FnOnce() + 'static) {
        if self.waiting.replace(true) {
            return;
        }
        let waiting = self.waiting.clone();
        let run = Closure::once_into_js(move || {
            waiting.set(false);
            work();
        });
        let asked = web_sys::window().and_then(|window| window.request_animation_frame(run.unchecked_ref()).ok());
        if asked.is_none() {
            self.waiting.set(false);
        }
    }
}
