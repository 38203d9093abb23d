//! How a side view lies on its drawing: distances to the right, heights up and as much larger as there is room.

use crate::link::side_view::SideView;

use super::path_text::Point;

/// Room round the section for numbers, in pixels.
const LEFT: f64 = 34.0;
const RIGHT: f64 = 26.0;
const TOP: f64 = 22.0;
const BOTTOM: f64 = 22.0;
/// Height of the section.
const HEIGHT: f64 = 190.0;
/// How many times heights may be as large as distances; round numbers, because the drawing states them.
const TIMES: [f64; 6] = [1.0, 2.0, 3.0, 4.0, 5.0, 10.0];

/// The placing of a side view.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SideLayout {
    /// Width of the drawing.
    pub width: f64,
    /// Height of the drawing.
    pub height: f64,
    /// How many times heights are as large as distances.
    pub times: f64,
    /// Greatest height in sight, in metres.
    pub top_m: f64,
    /// Pixels for a metre of distance.
    pub scale: f64,
}

impl SideLayout {
    /// The placing in a drawing of so many pixels' width. What towers far above the line is cut off.
    pub fn new(view: &SideView, width: f64) -> Self {
        let width = width.max(LEFT + RIGHT + 120.0);
        let scale = (width - LEFT - RIGHT) / view.length_m;
        let line = view.zone_m.iter().map(|[_, height, radius]| height + radius).fold(1.0, f64::max);
        let tallest = view.cuts.iter().map(|cut| cut.heights_m[1]).fold(line, f64::max);
        let wanted = 1.15 * tallest.min(2.0 * line);
        let times =
            TIMES.into_iter().rev().find(|times| wanted * scale * times <= HEIGHT - TOP - BOTTOM).unwrap_or(1.0);
        // No more empty sky than a line of text needs.
        let height = (TOP + BOTTOM + wanted * scale * times).min(HEIGHT);
        let top_m = (height - TOP - BOTTOM) / (scale * times);
        Self { width, height, times, top_m, scale }
    }

    /// The place of a distance and a height.
    pub fn place(&self, along_m: f64, height_m: f64) -> Point {
        [LEFT + along_m * self.scale, self.height - BOTTOM - height_m * self.scale * self.times]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::link::side_view::side_view;
    use crate::plan::demo::demo;
    use crate::units::Hertz;

    #[test]
    fn distances_are_to_scale_and_heights_a_round_number_of_times_as_large() {
        for (point, width) in [([42.0, 14.8, 2.8], 420.0), ([9.0, 4.0, 1.5], 800.0), ([24.0, 26.0, 40.0], 300.0)] {
            let view = side_view(&demo(), 0, point, Hertz(5.8e9)).expect("a seat and a distance");
            let layout = SideLayout::new(&view, width);
            let ([x, y], [right, up]) = (layout.place(0.0, 0.0), layout.place(1.0, 1.0));
            assert!(((y - up) / (right - x) - layout.times).abs() < 1e-9 && TIMES.contains(&layout.times));
            let [end, _] = layout.place(view.length_m, 0.0);
            assert!((end + RIGHT - layout.width).abs() < 1e-9);
            assert!(layout.height <= HEIGHT && layout.top_m > 0.0);
        }
    }
}
