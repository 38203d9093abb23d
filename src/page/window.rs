//! How much room the window gives the desk.

/// The window, as far as the desk asks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Room {
    /// Whether the panel stands beside the course; the style sheets ask the same.
    pub is_wide: bool,
    width: f64,
    height: f64,
}

/// What the head of the page and, in one column, the bar with the tabs take of the height, in pixels.
const HEAD: f64 = 56.0;
const BAR: f64 = 56.0;
/// What else stands above and below course and strip, in pixels: gaps, and the line with the numbers at the cursor.
const ROUND: f64 = 68.0;
/// Height of the strip without its levels, in pixels.
const STRIP: f64 = 150.0;
/// However low the window, the course may be so high, in pixels.
const LEAST_COURSE: f64 = 200.0;

impl Room {
    /// A window of so many pixels.
    pub fn new(is_wide: bool, width: f64, height: f64) -> Self {
        Self { is_wide, width, height }
    }

    /// The room after a change of the window. A phone's bars come and go while its page is scrolled; that is none.
    #[must_use]
    pub fn after(self, changed: Self) -> Self {
        let is_scrolled = !changed.is_wide && changed.is_wide == self.is_wide && changed.width == self.width;
        if is_scrolled { self } else { changed }
    }

    /// The most that the course may take of the height, in pixels. Beside the panel the strip has to stand under it.
    pub fn course_height(self) -> f64 {
        let taken = if self.is_wide { HEAD + ROUND + STRIP + self.levels_height() } else { HEAD + BAR };
        (self.height - taken).max(LEAST_COURSE)
    }

    /// How high the levels of the strip are, in pixels.
    pub fn levels_height(self) -> f64 {
        if self.is_wide { (80.0 + (self.height - 720.0) * 0.4).clamp(80.0, 160.0) } else { 130.0 }
    }
}

#[cfg(target_arch = "wasm32")]
pub use browser::{is_wide, use_room};

#[cfg(target_arch = "wasm32")]
mod browser {
    use gloo::events::EventListener;
    use gloo::utils::window;
    use yew::prelude::*;

    use super::Room;

    /// Whether the panel stands beside the course at this moment.
    pub fn is_wide() -> bool {
        window().match_media("(min-width: 62rem)").ok().flatten().is_some_and(|list| list.matches())
    }

    fn room() -> Room {
        let pixels = |side: Result<wasm_bindgen::JsValue, _>| side.ok().and_then(|side| side.as_f64());
        let (width, height) = (pixels(window().inner_width()), pixels(window().inner_height()));
        Room::new(is_wide(), width.unwrap_or(1440.0), height.unwrap_or(900.0))
    }

    /// The room that the window gives, kept up to date.
    #[hook]
    pub fn use_room() -> Room {
        let known = use_state_eq(room);
        let latest = use_mut_ref(room);
        let setter = known.setter();
        use_effect_with((), move |()| {
            let listener = EventListener::new(&window(), "resize", move |_| {
                let changed = latest.borrow().after(room());
                *latest.borrow_mut() = changed;
                setter.set(changed);
            });
            move || drop(listener)
        });
        *known
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn course_and_strip_stand_under_each_other_in_every_wide_window() {
        for height in [720.0, 800.0, 900.0, 1200.0] {
            let room = Room::new(true, 1440.0, height);
            let strip = STRIP + room.levels_height();
            assert!(HEAD + ROUND + room.course_height() + strip <= height + 1e-9, "{height}");
        }
        assert_eq!(Room::new(true, 1000.0, 300.0).course_height(), LEAST_COURSE);
    }

    #[test]
    fn a_phone_that_is_scrolled_keeps_its_drawing_and_one_that_is_turned_does_not() {
        let upright = Room::new(false, 390.0, 844.0);
        assert_eq!(upright.after(Room::new(false, 390.0, 780.0)), upright);
        let turned = Room::new(false, 844.0, 390.0);
        assert_eq!(upright.after(turned), turned);
        assert!(turned.course_height() < 290.0);
        let desk = Room::new(true, 1440.0, 900.0);
        assert_eq!(desk.after(Room::new(true, 1440.0, 720.0)), Room::new(true, 1440.0, 720.0));
    }
}
