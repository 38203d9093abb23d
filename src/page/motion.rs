//! What moves on the page: a step for each frame of the screen, until somebody wants it still.

use std::cell::Cell;
use std::rc::Rc;

use crate::drawing::FrameThrottle;

/// The longest time that a step makes up for: a hidden page gets no frames, and does not hurry afterwards.
const LONGEST_S: f64 = 0.25;

/// Something that moves; dropping it halts it.
pub struct Motion {
    step: Box<dyn Fn(f64)>,
    /// The screen's clock at the step before.
    before_ms: Cell<Option<f64>>,
    throttle: FrameThrottle,
}

impl Motion {
    /// Calls `step` before each frame with the seconds since the one before.
    pub fn start(step: impl Fn(f64) + 'static) -> Rc<Self> {
        let motion =
            Rc::new(Self { step: Box::new(step), before_ms: Cell::new(None), throttle: FrameThrottle::default() });
        Self::go_on(&motion);
        motion
    }

    fn go_on(this: &Rc<Self>) {
        let motion = Rc::downgrade(this);
        this.throttle.before_next_frame(move || {
            let Some(motion) = motion.upgrade() else { return };
            let clock = web_sys::window().and_then(|window| window.performance());
            let now_ms = clock.map_or(0.0, |clock| clock.now());
            let passed = motion.before_ms.replace(Some(now_ms)).map_or(0.0, |before| (now_ms - before) / 1000.0);
            (motion.step)(passed.clamp(0.0, LONGEST_S));
            Self::go_on(&motion);
        });
    }
}

/// Whether whoever uses this device wants no motion that they did not ask for.
pub fn prefers_stillness() -> bool {
    let asked = web_sys::window().and_then(|window| window.match_media("(prefers-reduced-motion: reduce)").ok());
    asked.flatten().is_some_and(|answer| answer.matches())
}
