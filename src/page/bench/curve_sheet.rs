//! Where the curves of a sweep lie in their drawing: axes, lines, the place under a pointer.

use crate::drawing::path_text::{PathText, Point};
use crate::drawing::ruler::{Scale, round_step, ticks};
use crate::format::{DisplayUnits, LengthUnit, fixed};
use crate::link::pair::sweep::{Along, Sweep};
use crate::units::Metres;

/// Height of the drawing, in pixels.
pub const HEIGHT: f64 = 260.0;
/// Places of a sweep.
pub const PLACES: usize = 121;
const LEFT: f64 = 46.0;
const RIGHT: f64 = 12.0;
const TOP: f64 = 16.0;
const BOTTOM: f64 = HEIGHT - 34.0;

/// The drawing of a sweep.
#[derive(Clone, Debug, PartialEq)]
pub struct CurveSheet {
    across: Scale,
    up: Scale,
    logarithmic: bool,
}

impl CurveSheet {
    /// Lays a sweep out in a drawing of this width.
    pub fn new(sweep: &Sweep, width: f64) -> Self {
        let logarithmic = sweep.along.is_logarithmic();
        let value = |at: f64| if logarithmic { libm::log10(at) } else { at };
        let (from, to) = (sweep.at.first().copied().unwrap_or(1.0), sweep.at.last().copied().unwrap_or(2.0));
        let margins = sweep.curves.iter().flatten().flatten().map(|point| point.margin_db);
        // The threshold is always in sight; a null deeper than 40 dB under it is drawn on the lower edge.
        let (least, most) =
            margins.fold((-5.0_f64, 5.0_f64), |(least, most), margin| (least.min(margin), most.max(margin)));
        let across =
            Scale { least: value(from), most: value(to), at_least: LEFT, at_most: (width - RIGHT).max(LEFT + 1.0) };
        let up = Scale {
            least: (least.max(-40.0) / 10.0).floor() * 10.0,
            most: (most / 10.0).ceil() * 10.0,
            at_least: BOTTOM,
            at_most: TOP,
        };
        Self { across, up, logarithmic }
    }

    /// Where a value of the number that changes lies, held within the drawing.
    pub fn x(&self, at: f64) -> f64 {
        self.across.place_within(if self.logarithmic { libm::log10(at) } else { at })
    }

    /// Where a margin lies, held within the drawing.
    pub fn y(&self, margin_db: f64) -> f64 {
        self.up.place_within(margin_db)
    }

    /// Left and right end of the drawing.
    pub fn sides(&self) -> (f64, f64) {
        (self.across.at_least, self.across.at_most)
    }

    /// Upper and lower end of the drawing.
    pub fn ends(&self) -> (f64, f64) {
        (TOP, BOTTOM)
    }

    /// The margins that are written at the side.
    pub fn margins(&self) -> Vec<f64> {
        let step = round_step((self.up.most - self.up.least) / 7.0).max(5.0);
        ticks(self.up.least, self.up.most, step)
    }

    /// The values that are written below.
    pub fn values(&self) -> Vec<f64> {
        if !self.logarithmic {
            return ticks(
                self.across.least,
                self.across.most,
                round_step((self.across.most - self.across.least) / 8.0),
            );
        }
        let decades = (self.across.least.floor() as i32)..=(self.across.most.ceil() as i32);
        let values =
            decades.flat_map(|decade| [1.0, 2.0, 5.0].map(|factor| factor * libm::pow(10.0, f64::from(decade))));
        values
            .filter(|value| (self.across.least - 1e-9..=self.across.most + 1e-9).contains(&libm::log10(*value)))
            .collect()
    }

    /// A curve of a sweep as the text of an SVG path; open where nothing could be computed.
    pub fn line(&self, sweep: &Sweep, case: usize) -> String {
        let mut path = PathText::new();
        let mut run: Vec<Point> = Vec::new();
        let points = sweep.curves.get(case).map(Vec::as_slice).unwrap_or_default();
        for (at, point) in sweep.at.iter().zip(points) {
            match point {
                Some(point) => run.push([self.x(*at), self.y(point.margin_db)]),
                None => {
                    path.polyline(&run);
                    run.clear();
                }
            }
        }
        path.polyline(&run);
        path.text()
    }

    /// The place of a sweep nearest to an x of the drawing.
    pub fn nearest(&self, sweep: &Sweep, x: f64) -> usize {
        let off = |place: &usize| (self.x(sweep.at[*place]) - x).abs();
        (0..sweep.at.len()).min_by(|a, b| off(a).total_cmp(&off(b))).unwrap_or(0)
    }
}

/// The place of a sweep nearest to the link's own value.
pub fn place_of(sweep: &Sweep, value: f64) -> usize {
    let value_of = |at: f64| if sweep.along.is_logarithmic() { libm::log10(at) } else { at };
    let off = |place: &usize| (value_of(sweep.at[*place]) - value_of(value)).abs();
    (0..sweep.at.len()).min_by(|a, b| off(a).total_cmp(&off(b))).unwrap_or(0)
}

/// A value of the number that changes as text with its unit.
pub fn value_text(along: Along, value: f64, units: DisplayUnits) -> String {
    let (number, unit) = shown(along, value, units);
    let space = if unit == "°" { "" } else { "\u{a0}" };
    format!("{number}{space}{unit}")
}

/// A value of the number that changes, and its unit.
pub fn shown(along: Along, value: f64, units: DisplayUnits) -> (String, &'static str) {
    match (along, units.length) {
        (Along::Frequency, _) => (fixed(value / 1e6, 0), "MHz"),
        (Along::Tilt, _) => (fixed(value, 0), "°"),
        (_, LengthUnit::Feet) => (fixed(Metres(value).feet(), 1), "ft"),
        (_, LengthUnit::Metres) => {
            // Small lengths need their hundredths, large ones would only be noisy with them.
            (fixed(value, if value < 10.0 { 2 } else { 1 }), "m")
        }
    }
}

/// What the curves go along, in words.
pub fn along_words(along: Along) -> &'static str {
    match along {
        Along::Distance => "distance",
        Along::Frequency => "frequency",
        Along::Tilt => "tilt of the transmitter’s antenna",
        Along::ObstacleHeight => "height of the obstacle",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::link::pair::{PairLink, PairObstacle, sweep};

    #[test]
    fn axes_hold_their_ends_and_a_pointer_finds_its_place() {
        let link = PairLink { obstacle: Some(PairObstacle::default()), ..PairLink::default() };
        for along in Along::ALL {
            let swept = sweep::sweep(&link, along, PLACES).unwrap();
            let sheet = CurveSheet::new(&swept, 640.0);
            let (left, right) = sheet.sides();
            assert!((sheet.x(swept.at[0]) - left).abs() < 1e-9 && (sheet.x(swept.at[PLACES - 1]) - right).abs() < 1e-9);
            for place in 0..PLACES {
                assert_eq!(sheet.nearest(&swept, sheet.x(swept.at[place])), place);
                assert_eq!(place_of(&swept, swept.at[place]), place);
            }
            let values = sheet.values();
            assert!((3..=14).contains(&values.len()), "{along:?} {values:?}");
            assert!(sheet.margins().contains(&0.0), "{:?}", sheet.margins());
            for case in 0..3 {
                assert!(sheet.line(&swept, case).starts_with('M'));
            }
            assert_eq!(sheet.line(&swept, 3), "");
        }
    }

    #[test]
    fn a_gap_lifts_the_pen() {
        let mut swept = sweep::sweep(&PairLink::default(), Along::Tilt, 9).unwrap();
        swept.curves[0][4] = None;
        let sheet = CurveSheet::new(&swept, 300.0);
        assert_eq!(sheet.line(&swept, 0).matches('M').count(), 2);
        assert_eq!(sheet.line(&swept, 1).matches('M').count(), 1);
    }

    #[test]
    fn values_are_written_in_the_units_of_the_person() {
        let metres = DisplayUnits::default();
        let feet = DisplayUnits { length: LengthUnit::Feet, ..metres };
        assert_eq!(value_text(Along::Distance, 30.48, metres), "30.5\u{a0}m");
        assert_eq!(value_text(Along::Distance, 30.48, feet), "100.0\u{a0}ft");
        assert_eq!(value_text(Along::Tilt, -45.0, feet), "−45°");
        assert_eq!(value_text(Along::Frequency, 5.8e9, feet), "5800\u{a0}MHz");
    }
}
