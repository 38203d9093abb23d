//! How much of the site is in sight: how far it is enlarged, and what is in the middle. It is no part of the plan and
//! has no history.

use super::frame::Frame;
use super::path_text::Point;

/// The most that the site is enlarged, in pixels per metre: a hand's breadth is then as wide as a finger.
const MOST_SCALE: f64 = 400.0;
/// How much a key or a button enlarges.
pub const STEP: f64 = 1.4;
/// How far an arrow key goes, in pixels.
pub const STRIDE: f64 = 60.0;

/// What is in sight.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Viewport {
    /// How many times as large as when the whole site is in sight; at least one.
    pub zoom: f64,
    /// What is in the middle, as shares of the site from the west and from the south, from zero to one.
    pub middle: [f64; 2],
}

impl Default for Viewport {
    /// The whole site.
    fn default() -> Self {
        Self { zoom: 1.0, middle: [0.5; 2] }
    }
}

impl Viewport {
    /// Whether the whole site is in sight.
    pub fn is_whole(self) -> bool {
        self.zoom <= 1.0
    }

    /// Enlarged by a factor, with what is at a place of the drawing staying there as long as the middle stays on the
    /// site. `fit` is the frame of the whole site.
    #[must_use]
    pub fn zoomed(self, fit: &Frame, place: Point, factor: f64) -> Self {
        let most = (MOST_SCALE / fit.scale).max(1.0);
        let zoom = (self.zoom * factor).clamp(1.0, most);
        if zoom.is_nan() || zoom <= 1.0 {
            return Self::default();
        }
        let [east, north] = fit.seen(self).site_point(place);
        let pointed = [east / fit.site_width_m, north / fit.site_depth_m];
        let kept = self.zoom / zoom;
        let middle = [0, 1].map(|axis| (pointed[axis] + (self.middle[axis] - pointed[axis]) * kept).clamp(0.0, 1.0));
        Self { zoom, middle }
    }

    /// Moved by pixels to the right and down, as a hand moves a sheet of paper. The whole site does not move.
    #[must_use]
    pub fn panned(self, fit: &Frame, [right, down]: Point) -> Self {
        if self.is_whole() {
            return self;
        }
        let scale = fit.scale * self.zoom;
        let [east, north] = self.middle;
        let middle = [east - right / (scale * fit.site_width_m), north + down / (scale * fit.site_depth_m)];
        Self { middle: middle.map(|share| share.clamp(0.0, 1.0)), ..self }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fit() -> Frame {
        Frame::fit(860.0, 500.0, 44.0, 28.0)
    }

    #[track_caller]
    fn near(one: Point, other: Point) {
        assert!((one[0] - other[0]).abs() < 1e-6 && (one[1] - other[1]).abs() < 1e-6, "{one:?} {other:?}");
    }

    #[test]
    fn what_is_under_the_pointer_stays_there() {
        for spot in [[0.0, 0.0], [44.0, 28.0], [12.0, 4.5]] {
            let place = fit().place(spot[0], spot[1]);
            let mut viewport = Viewport::default();
            for factor in [1.4, 2.0, 0.8, 3.0, 0.5] {
                let before = fit().seen(viewport).site_point(place);
                viewport = viewport.zoomed(&fit(), place, factor);
                near(fit().seen(viewport).site_point(place), before);
                near(before, spot);
            }
        }
    }

    #[test]
    fn all_the_way_out_is_the_whole_site_and_all_the_way_in_has_an_end() {
        let place = fit().place(40.0, 20.0);
        let close = Viewport::default().zoomed(&fit(), place, 4.0);
        assert_eq!(close.zoomed(&fit(), [10.0, 10.0], 0.01), Viewport::default());
        assert_eq!(fit().seen(Viewport::default()), fit());
        let closest = close.zoomed(&fit(), place, 1e9);
        assert!((fit().seen(closest).scale - MOST_SCALE).abs() < 1e-9);
        assert_eq!(close.zoomed(&fit(), place, f64::NAN), Viewport::default());
    }

    #[test]
    fn paper_follows_the_hand_and_stays_in_sight() {
        let close = Viewport::default().zoomed(&fit(), fit().place(22.0, 14.0), 4.0);
        let before = fit().seen(close).place(20.0, 12.0);
        let after = fit().seen(close.panned(&fit(), [30.0, -12.0])).place(20.0, 12.0);
        near(after, [before[0] + 30.0, before[1] - 12.0]);
        let far = close.panned(&fit(), [1e9, 1e9]);
        assert_eq!(far.middle, [0.0, 1.0]);
        assert_eq!(Viewport::default().panned(&fit(), [30.0, 30.0]), Viewport::default());
    }
}
