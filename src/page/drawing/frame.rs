//! How the site lies on the drawing: metres east and north on the one side, pixels right and down on the other.

use super::path_text::Point;
use super::viewport::Viewport;

/// Room around the site for grid labels and the scale bar, in pixels.
const LEFT: f64 = 30.0;
const RIGHT: f64 = 18.0;
const TOP: f64 = 12.0;
const BOTTOM: f64 = 48.0;
/// The site is never drawn smaller than this, so that a narrow or unmeasured page still shows something.
const LEAST_SITE_WIDTH: f64 = 120.0;

/// The placing of a site on a drawing; north is up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    /// Width of the drawing.
    pub width: f64,
    /// Height of the drawing.
    pub height: f64,
    /// Extent of the site to the east, in metres.
    pub site_width_m: f64,
    /// Extent of the site to the north, in metres.
    pub site_depth_m: f64,
    /// Pixels per metre, the same in both directions.
    pub scale: f64,
    left: f64,
    top: f64,
}

impl Frame {
    /// The largest placing in a drawing of a given width and at most a given height. Sides of a site that are no
    /// positive numbers count as one metre.
    pub fn fit(width: f64, most_height: f64, site_width_m: f64, site_depth_m: f64) -> Self {
        let whole = |metres: f64| if metres.is_finite() && metres > 0.0 { metres } else { 1.0 };
        let (site_width_m, site_depth_m) = (whole(site_width_m), whole(site_depth_m));
        let width = if width.is_finite() { width.max(LEFT + RIGHT + LEAST_SITE_WIDTH) } else { 640.0 };
        let by_width = (width - LEFT - RIGHT) / site_width_m;
        let by_height = (most_height - TOP - BOTTOM).max(LEAST_SITE_WIDTH) / site_depth_m;
        let scale = by_width.min(by_height);
        let left = LEFT + (width - LEFT - RIGHT - site_width_m * scale) / 2.0;
        let height = (TOP + BOTTOM + site_depth_m * scale).ceil();
        Self { width, height, site_width_m, site_depth_m, scale, left, top: TOP }
    }

    /// The same with no room left beside the site: beside a drawing that is not as wide as the page, a finger scrolls.
    pub fn closely(width: f64, most_height: f64, site_width_m: f64, site_depth_m: f64) -> Self {
        let widest = Self::fit(width, most_height, site_width_m, site_depth_m);
        Self::fit(widest.least_width().min(widest.width), most_height, site_width_m, site_depth_m)
    }

    /// The width at which the site would be as large, with no room left beside it.
    pub fn least_width(&self) -> f64 {
        (LEFT + RIGHT + self.site_width_m * self.scale).ceil()
    }

    /// The same drawing with a part of the site enlarged. Lengths on the site grow, strokes and letters do not.
    #[must_use]
    pub fn seen(&self, viewport: Viewport) -> Self {
        if viewport.is_whole() {
            return *self;
        }
        let [x, y] = self.place(self.site_width_m / 2.0, self.site_depth_m / 2.0);
        let scale = self.scale * viewport.zoom;
        let left = x - viewport.middle[0] * self.site_width_m * scale;
        let top = y - (1.0 - viewport.middle[1]) * self.site_depth_m * scale;
        Self { scale, left, top, ..*self }
    }

    /// The place of a point of the site.
    pub fn place(&self, east_m: f64, north_m: f64) -> Point {
        [self.left + east_m * self.scale, self.top + (self.site_depth_m - north_m) * self.scale]
    }

    /// The point of the site, `[east, north]` in metres, at a place of the drawing; the inverse of [`Frame::place`].
    pub fn site_point(&self, [x, y]: Point) -> [f64; 2] {
        [(x - self.left) / self.scale, self.site_depth_m - (y - self.top) / self.scale]
    }

    /// The same, held within the site's borders.
    pub fn site_point_within(&self, place: Point) -> [f64; 2] {
        let [east, north] = self.site_point(place);
        [east.clamp(0.0, self.site_width_m), north.clamp(0.0, self.site_depth_m)]
    }

    /// A length in pixels.
    pub fn length(&self, metres: f64) -> f64 {
        metres * self.scale
    }

    /// Left and right edge of what of the site is in sight.
    pub fn across(&self) -> [f64; 2] {
        let right = self.left + self.site_width_m * self.scale;
        [self.left.max(LEFT), right.min(self.width - RIGHT)]
    }

    /// Upper (north) and lower (south) edge of what of the site is in sight.
    pub fn down(&self) -> [f64; 2] {
        let bottom = self.top + self.site_depth_m * self.scale;
        [self.top.max(TOP), bottom.min(self.height - BOTTOM)]
    }

    /// Least and most metres east, and least and most metres north, that are in sight.
    pub fn in_sight_m(&self) -> [[f64; 2]; 2] {
        let ([left, right], [top, bottom]) = (self.across(), self.down());
        let ([west, north], [east, south]) = (self.site_point([left, top]), self.site_point([right, bottom]));
        [[west, east], [south, north]]
    }

    /// The site's whole outline as an SVG rectangle: left, top, width, height.
    pub fn site_rectangle(&self) -> [f64; 4] {
        [self.left, self.top, self.length(self.site_width_m), self.length(self.site_depth_m)]
    }
}

/// The direction of a heading on the drawing, as a unit vector: 0 degrees is north and up, 90 degrees east and right.
pub fn direction(heading_deg: f64) -> Point {
    let (sine, cosine) = libm::sincos(heading_deg.to_radians());
    [sine, -cosine]
}

/// The heading of a direction on the drawing, from 0 up to 360 degrees.
pub fn heading_deg([x, y]: Point) -> f64 {
    libm::atan2(x, -y).to_degrees().rem_euclid(360.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_and_points_are_inverse_and_to_scale() {
        let frame = Frame::fit(860.0, 700.0, 44.0, 28.0);
        let [x, y] = frame.place(12.0, 4.5);
        let [east, north] = frame.site_point([x, y]);
        assert!((east - 12.0).abs() < 1e-9 && (north - 4.5).abs() < 1e-9);
        let [further, same] = frame.place(13.0, 4.5);
        assert!((further - x - frame.scale).abs() < 1e-9 && (same - y).abs() < 1e-9);
        // North is up.
        assert!(frame.place(12.0, 5.5)[1] < y);
        assert!(frame.across()[1] <= frame.width && frame.down()[1] < frame.height);
        assert_eq!(frame.in_sight_m().map(|range| range.map(f64::round)), [[0.0, 44.0], [0.0, 28.0]]);
    }

    #[test]
    fn a_tall_site_is_held_to_the_height_and_centred() {
        let frame = Frame::fit(900.0, 500.0, 10.0, 60.0);
        assert!(frame.height <= 501.0, "{}", frame.height);
        let spare = [frame.across()[0] - LEFT, frame.width - RIGHT - frame.across()[1]];
        assert!((spare[0] - spare[1]).abs() < 1e-9);
        let narrow = Frame::closely(900.0, 500.0, 10.0, 60.0);
        assert!((narrow.scale - frame.scale).abs() < 1e-9 && narrow.width < 200.0, "{narrow:?}");
    }

    #[test]
    fn headings_turn_clockwise_from_north() {
        for heading in [0.0, 37.0, 90.0, 180.0, 271.5] {
            assert!((heading_deg(direction(heading)) - heading).abs() < 1e-9);
        }
        assert!(direction(90.0)[0] > 0.999);
    }

    #[test]
    fn impossible_sizes_still_make_a_frame() {
        let frame = Frame::fit(f64::NAN, 10.0, 0.0, f64::INFINITY);
        assert!(frame.scale > 0.0 && frame.width.is_finite() && frame.height.is_finite());
    }
}
