//! Where a measured antenna lies in its polar plot: gain and axial ratio round the antenna's axis, which points up.

use crate::drawing::path_text::{PathText, Point};
use crate::plan::document::MeasuredNumbers;
use crate::rf::antenna::MeasuredCut;
use crate::units::Degrees;

/// Side of the drawing, in pixels.
pub const SIDE: f64 = 320.0;
const MIDDLE: f64 = SIDE / 2.0;
const RADIUS: f64 = 128.0;
/// Rings, from the inmost to the rim.
const RINGS: usize = 3;
/// From ring to ring in gain, decibels.
const GAIN_STEP: f64 = 10.0;
/// From ring to ring in axial ratio, decibels; the middle is 0 dB.
const RATIO_STEP: f64 = 5.0;
/// Angle at which the figures of the rings stand, degrees: between two spokes.
const FIGURES_AT: f64 = 135.0;
/// Angle between two places of a drawn curve, degrees.
const CURVE_STEP: f64 = 1.0;

/// A ring with what it stands for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ring {
    /// Its radius.
    pub radius: f64,
    /// Gain on it, dBi.
    pub gain_dbi: f64,
    /// Axial ratio on it, dB.
    pub axial_ratio_db: f64,
}

/// A plot.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Polar {
    /// Gain on the rim, dBi.
    rim_dbi: f64,
}

impl Polar {
    /// A plot whose rim is the next five decibels from the peak on.
    pub fn new(cut: &MeasuredCut) -> Self {
        Self { rim_dbi: ((cut.peak().1.0 - 1e-6) / 5.0).ceil() * 5.0 }
    }

    /// The middle of the drawing.
    pub fn middle() -> Point {
        [MIDDLE, MIDDLE]
    }

    /// Rings from the inmost to the rim.
    pub fn rings(&self) -> [Ring; RINGS] {
        std::array::from_fn(|index| {
            let number = (index + 1) as f64;
            Ring {
                radius: RADIUS * number / RINGS as f64,
                gain_dbi: self.rim_dbi - GAIN_STEP * (RINGS - 1 - index) as f64,
                axial_ratio_db: RATIO_STEP * number,
            }
        })
    }

    /// The ends of the spokes with their angles, every 30°.
    pub fn spokes() -> impl Iterator<Item = (f64, Point)> {
        (-5..=6).map(|index| (30.0 * f64::from(index), at(30.0 * f64::from(index), RADIUS)))
    }

    /// Where a spoke's angle is written.
    pub fn spoke_label(angle: f64) -> Point {
        let [x, y] = at(angle, RADIUS + 16.0);
        // Letters stand on their foot.
        [x, y + 4.0]
    }

    /// Where the figures of a ring are written: gain below to the left, axial ratio below to the right, as hardly any antenna
    /// sends much backward.
    pub fn figures(ring: &Ring) -> [Point; 2] {
        [-FIGURES_AT, FIGURES_AT].map(|angle| {
            let [x, y] = at(angle, ring.radius);
            [x, y + 3.5]
        })
    }

    /// How far from the middle a gain lies; what is fainter than the innermost lies in the middle.
    pub fn gain_radius(&self, gain_dbi: f64) -> f64 {
        let span = GAIN_STEP * RINGS as f64;
        RADIUS * ((gain_dbi - self.rim_dbi + span) / span).clamp(0.0, 1.0)
    }

    /// How far from the middle an axial ratio lies; larger ones lie on the rim.
    pub fn ratio_radius(axial_ratio_db: f64) -> f64 {
        RADIUS * (axial_ratio_db / (RATIO_STEP * RINGS as f64)).clamp(0.0, 1.0)
    }

    /// Where a row of the table lies, by its gain, on the side on which it was measured.
    pub fn row(&self, row: &MeasuredNumbers) -> Point {
        at(row[0], self.gain_radius(row[1]))
    }

    /// The gain over the measured angles of both sides, as the text of an SVG path.
    pub fn gain_line(&self, cut: &MeasuredCut) -> String {
        let (from, to) = cut.reach();
        both_sides(from.0, to.0, |angle| self.gain_radius(cut.at(Degrees(angle)).0.0))
    }

    /// The gain that stands in where nobody measured; empty where somebody did.
    pub fn held_line(&self, cut: &MeasuredCut) -> String {
        let (from, to) = cut.reach();
        let radius = |angle: f64| self.gain_radius(cut.at(Degrees(angle)).0.0);
        both_sides(0.0, from.0, radius) + &both_sides(to.0, 180.0, radius)
    }

    /// The axial ratio over the measured angles of both sides.
    pub fn ratio_line(cut: &MeasuredCut) -> String {
        let (from, to) = cut.reach();
        both_sides(from.0, to.0, |angle| Self::ratio_radius(cut.at(Degrees(angle)).1.0))
    }
}

/// A place at an angle from the top, clockwise, and a distance from the middle.
fn at(angle: f64, radius: f64) -> Point {
    let (sine, cosine) = libm::sincos(angle.to_radians());
    [MIDDLE + radius * sine, MIDDLE - radius * cosine]
}

/// A curve between two angles, once to the right and once to the left; empty between equal angles.
fn both_sides(from: f64, to: f64, radius: impl Fn(f64) -> f64) -> String {
    let mut path = PathText::new();
    if to > from {
        let count = ((to - from) / CURVE_STEP).ceil().max(1.0);
        for side in [1.0, -1.0] {
            let place = |number: u32| {
                let angle = from + (to - from) * f64::from(number) / count;
                at(side * angle, radius(angle))
            };
            path.polyline(&(0..=count as u32).map(place).collect::<Vec<_>>());
        }
    }
    path.text()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::antenna_csv::{EXAMPLE, read};
    use crate::plan::document::AntennaKind;

    fn example() -> (Vec<MeasuredNumbers>, MeasuredCut) {
        let table = read(EXAMPLE, AntennaKind::CircularPatch).unwrap();
        (table.rows, table.cut)
    }

    #[test]
    fn rings_hold_the_peak_and_stand_for_round_decibels() {
        let (rows, cut) = example();
        let plot = Polar::new(&cut);
        let rings = plot.rings();
        assert_eq!(rings.map(|ring| ring.gain_dbi), [-10.0, 0.0, 10.0]);
        assert_eq!(rings.map(|ring| ring.axial_ratio_db), [5.0, 10.0, 15.0]);
        for ring in rings {
            assert!((plot.gain_radius(ring.gain_dbi) - ring.radius).abs() < 1e-9);
            assert!((Polar::ratio_radius(ring.axial_ratio_db) - ring.radius).abs() < 1e-9);
        }
        assert_eq!((plot.gain_radius(-60.0), Polar::ratio_radius(60.0)), (0.0, RADIUS));
        for row in &rows {
            let [x, y] = plot.row(row);
            let off = libm::hypot(x - MIDDLE, y - MIDDLE);
            assert!(off <= RADIUS && (off - plot.gain_radius(row[1])).abs() < 1e-9);
        }
        // A peak on a ring of five decibels lies on the rim.
        let even = "angle_deg,gain_dbi,axial_ratio_db\n0,5,1\n60,-3,1\n180,-9,1\n";
        assert_eq!(Polar::new(&read(even, AntennaKind::Helix).unwrap().cut).rings()[2].gain_dbi, 5.0);
    }

    #[test]
    fn the_axis_points_up_and_positive_angles_lie_to_the_right() {
        let (_, cut) = example();
        let plot = Polar::new(&cut);
        let near =
            |got: Point, wanted: Point| assert!(libm::hypot(got[0] - wanted[0], got[1] - wanted[1]) < 1e-9, "{got:?}");
        near(plot.row(&[0.0, 10.0, 0.0]), [MIDDLE, MIDDLE - RADIUS]);
        near(plot.row(&[90.0, 10.0, 0.0]), [MIDDLE + RADIUS, MIDDLE]);
        near(plot.row(&[270.0, 10.0, 0.0]), plot.row(&[-90.0, 10.0, 0.0]));
        assert_eq!(Polar::spokes().count(), 12);
    }

    #[test]
    fn what_nobody_measured_is_another_line() {
        let (_, whole) = example();
        let plot = Polar::new(&whole);
        assert_eq!(plot.held_line(&whole), "");
        assert_eq!(plot.gain_line(&whole).matches('M').count(), 2);
        let part = "angle_deg,gain_dbi,axial_ratio_db\n20,-8,1\n90,2,1\n160,-9,1\n";
        let part = read(part, AntennaKind::CircularOmni).unwrap().cut;
        let plot = Polar::new(&part);
        assert_eq!(plot.held_line(&part).matches('M').count(), 4);
        assert_eq!(Polar::ratio_line(&part).matches('M').count(), 2);
    }
}
