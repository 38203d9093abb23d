//! How numbers are written and read on the page: all of it, and nowhere else.
//!
//! Written numbers use the minus sign (−), a decimal point and a fixed number of decimals, so that columns line up.
//! Read numbers may use a decimal comma, either minus sign and spaces between groups of digits.

use serde::{Deserialize, Serialize};

use crate::plan::limits::Range;
use crate::units::{Dbm, Hertz, Metres, Watts};

/// The unit in which lengths are shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LengthUnit {
    /// Metres.
    #[default]
    Metres,
    /// International feet.
    Feet,
}

/// The unit in which conducted and radiated powers are shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PowerUnit {
    /// Milliwatts.
    #[default]
    Milliwatts,
    /// Decibels above one milliwatt.
    Dbm,
}

/// The units that the person chose.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct DisplayUnits {
    /// For lengths and heights.
    pub length: LengthUnit,
    /// For powers; levels at a receiver are always in dBm.
    pub power: PowerUnit,
}

/// What a number measures: it decides unit, scale and decimals. Values are those of the plan document (metres,
/// degrees, dBm, hertz, shares of one).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measure {
    /// A ratio, in dB.
    Ratio,
    /// An antenna gain, in dBi.
    Gain,
    /// A power, kept in dBm, shown as the person chose.
    Power,
    /// A level at a receiver, in dBm.
    Level,
    /// A length, kept in metres, shown as the person chose.
    Length,
    /// A length of a few centimetres, such as a roughness.
    FineLength,
    /// An angle, in degrees.
    Angle,
    /// A frequency, kept in hertz, shown in MHz.
    Frequency,
    /// A time, in seconds.
    Time,
    /// A speed, in m/s.
    Speed,
    /// An acceleration, in m/s².
    Acceleration,
    /// A share of one, shown in percent.
    Share,
    /// A drag over the square of the speed, per metre.
    Drag,
    /// Persons per square metre.
    Density,
    /// A specific attenuation, in dB/m.
    Attenuation,
    /// A whole number.
    Count,
}

impl Measure {
    /// The unit as shown.
    pub fn unit(self, units: DisplayUnits) -> &'static str {
        match self {
            Self::Ratio => "dB",
            Self::Gain => "dBi",
            Self::Level => "dBm",
            Self::Power => match units.power {
                PowerUnit::Milliwatts => "mW",
                PowerUnit::Dbm => "dBm",
            },
            Self::Length | Self::FineLength => match units.length {
                LengthUnit::Metres => "m",
                LengthUnit::Feet => "ft",
            },
            Self::Angle => "°",
            Self::Frequency => "MHz",
            Self::Time => "s",
            Self::Speed => "m/s",
            Self::Acceleration => "m/s²",
            Self::Share => "%",
            Self::Drag => "1/m",
            Self::Density => "per m²",
            Self::Attenuation => "dB/m",
            Self::Count => "",
        }
    }

    /// The unit as a screen reader should say it.
    pub fn spoken_unit(self, units: DisplayUnits) -> &'static str {
        match self.unit(units) {
            "m" => "metres",
            "ft" => "feet",
            "°" => "degrees",
            "dB" => "decibels",
            "s" => "seconds",
            "mW" => "milliwatts",
            "MHz" => "megahertz",
            "%" => "percent",
            "m/s" => "metres per second",
            other => other,
        }
    }

    /// The number that stands before the unit for a value of the plan.
    pub fn shown(self, value: f64, units: DisplayUnits) -> f64 {
        match (self, units) {
            (Self::Power, DisplayUnits { power: PowerUnit::Milliwatts, .. }) => Dbm(value).to_watts().0 * 1e3,
            (Self::Length | Self::FineLength, DisplayUnits { length: LengthUnit::Feet, .. }) => Metres(value).feet(),
            (Self::Frequency, _) => Hertz(value).megahertz(),
            (Self::Share, _) => value * 100.0,
            _ => value,
        }
    }

    /// The value of the plan for a number that stands before the unit: the inverse of [`Measure::shown`].
    pub fn kept(self, number: f64, units: DisplayUnits) -> f64 {
        match (self, units) {
            (Self::Power, DisplayUnits { power: PowerUnit::Milliwatts, .. }) => Dbm::from_watts(Watts(number * 1e-3)).0,
            (Self::Length | Self::FineLength, DisplayUnits { length: LengthUnit::Feet, .. }) => {
                Metres::from_feet(number).0
            }
            (Self::Frequency, _) => Hertz::from_megahertz(number).0,
            (Self::Share, _) => number / 100.0,
            _ => number,
        }
    }

    /// The most decimals shown.
    pub fn decimals(self, units: DisplayUnits) -> usize {
        match self {
            Self::Ratio | Self::Gain | Self::Level | Self::Speed | Self::Acceleration | Self::Angle => 1,
            Self::Power => match units.power {
                PowerUnit::Milliwatts => 2,
                PowerUnit::Dbm => 1,
            },
            Self::Length | Self::Time | Self::Attenuation | Self::Density => 2,
            Self::FineLength | Self::Drag => 3,
            Self::Frequency | Self::Share => 2,
            Self::Count => 0,
        }
    }

    /// By how much an arrow key changes the shown number.
    pub fn step(self, units: DisplayUnits) -> f64 {
        match self {
            Self::Ratio | Self::Gain | Self::Level | Self::Frequency | Self::Count => 1.0,
            Self::Power => match units.power {
                PowerUnit::Milliwatts => 5.0,
                PowerUnit::Dbm => 1.0,
            },
            Self::Length => match units.length {
                LengthUnit::Metres => 0.25,
                LengthUnit::Feet => 1.0,
            },
            Self::FineLength | Self::Drag => 0.005,
            Self::Angle => 5.0,
            Self::Time | Self::Speed | Self::Acceleration => 0.5,
            Self::Share => 0.5,
            Self::Density | Self::Attenuation => 0.1,
        }
    }

    /// A value as it stands in a field: no more decimals than needed, no unit.
    pub fn field_text(self, value: f64, units: DisplayUnits) -> String {
        let text = fixed(self.shown(value, units), self.decimals(units));
        if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
    }

    /// A value with its unit, in running text.
    pub fn text(self, value: f64, units: DisplayUnits) -> String {
        let number = self.field_text(value, units);
        match self.unit(units) {
            "" => number,
            "°" => format!("{number}°"),
            unit => format!("{number}\u{a0}{unit}"),
        }
    }

    /// Reads a field.
    ///
    /// # Errors
    /// What is wrong with the text, with the range in the shown unit; see [`FieldProblem`].
    pub fn read(self, text: &str, range: Range, units: DisplayUnits) -> Result<f64, FieldProblem> {
        let number = parse_number(text, self.unit(units))?;
        if self == Self::Count && number.fract() != 0.0 {
            return Err(FieldProblem::NotWhole { got: text.trim().to_owned() });
        }
        let value = self.kept(number, units);
        // A limit as shown is rounded; whoever types it means the limit itself.
        let limit = |limit: f64| self.field_text(limit, units) == fixed_trimmed(number, self.decimals(units));
        if range.contains(value) {
            Ok(value)
        } else if limit(range.min) {
            Ok(range.min)
        } else if limit(range.max) {
            Ok(range.max)
        } else {
            Err(FieldProblem::OutOfRange {
                got: text.trim().to_owned(),
                least: self.field_text(range.min, units),
                most: self.text(range.max, units),
            })
        }
    }
}

/// Why the text in a field is no value.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum FieldProblem {
    /// Nothing is written.
    #[error("Write a number here.")]
    Empty,
    /// It is no number.
    #[error("“{got}” is not a number. Write digits, for example 12.5 or 12,5.")]
    NotANumber {
        /// The text.
        got: String,
    },
    /// A whole number is wanted.
    #[error("{got} is not a whole number.")]
    NotWhole {
        /// The text.
        got: String,
    },
    /// It is a number outside the range.
    #[error("{got} is outside {least} to {most}.")]
    OutOfRange {
        /// The text.
        got: String,
        /// The least allowed number.
        least: String,
        /// The greatest allowed number with the unit.
        most: String,
    },
}

/// The longest text that is tried as a number; no number that a person writes is longer.
const LONGEST_NUMBER: usize = 40;

/// Reads a number as people write it. A trailing `unit` is tolerated.
///
/// A single comma is a decimal comma; a number with both comma and point, or with several, is refused rather than
/// guessed at.
///
/// # Errors
/// [`FieldProblem::Empty`] or [`FieldProblem::NotANumber`].
pub fn parse_number(text: &str, unit: &str) -> Result<f64, FieldProblem> {
    let trimmed = text.trim();
    let number = if unit.is_empty() { trimmed } else { trimmed.strip_suffix(unit).unwrap_or(trimmed) };
    let plain: String = number
        .chars()
        .filter(|letter| !letter.is_whitespace() && *letter != '\u{202f}')
        .map(|letter| match letter {
            '−' | '–' => '-',
            ',' => '.',
            other => other,
        })
        .collect();
    if plain.is_empty() {
        return Err(FieldProblem::Empty);
    }
    let wrong = || FieldProblem::NotANumber { got: trimmed.chars().take(LONGEST_NUMBER).collect() };
    let readable = plain.len() <= LONGEST_NUMBER
        && plain.matches('.').count() <= 1
        && plain.chars().all(|letter| letter.is_ascii_digit() || "+-.".contains(letter));
    if !readable {
        return Err(wrong());
    }
    as_json_number(&plain)
        .and_then(|json| serde_json::from_str(&json).ok())
        .filter(|value: &f64| value.is_finite())
        .ok_or_else(wrong)
}

/// A plain decimal number in the stricter form that JSON asks for. The reader of plans then serves here too: the
/// standard library's would cost the page 8 kB on the wire.
fn as_json_number(plain: &str) -> Option<String> {
    let (sign, digits) = match plain.strip_prefix('-') {
        Some(digits) => ("-", digits),
        None => ("", plain.strip_prefix('+').unwrap_or(plain)),
    };
    let (whole, decimals) = digits.split_once('.').unwrap_or((digits, ""));
    if whole.is_empty() && decimals.is_empty() {
        return None;
    }
    let whole = whole.trim_start_matches('0');
    let whole = if whole.is_empty() { "0" } else { whole };
    let decimals = if decimals.is_empty() { "0" } else { decimals };
    Some(format!("{sign}{whole}.{decimals}"))
}

/// How often the level fades under its threshold and for how long.
pub fn fades(per_second: f64, seconds: f64) -> String {
    if per_second < 0.05 {
        "fewer than one in twenty seconds".to_owned()
    } else {
        let decimals = if per_second < 10.0 { 1 } else { 0 };
        format!("{} a second, {} ms each", fixed(per_second, decimals), fixed(seconds * 1e3, 1))
    }
}

/// A number with a fixed number of decimals, a true minus sign, and no negative zero.
pub fn fixed(value: f64, decimals: usize) -> String {
    let plain = format!("{value:.decimals$}");
    match plain.strip_prefix('-') {
        Some(size) if size.chars().all(|letter| letter == '0' || letter == '.') => size.to_owned(),
        Some(size) => format!("−{size}"),
        None => plain,
    }
}

fn fixed_trimmed(value: f64, decimals: usize) -> String {
    let text = fixed(value, decimals);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// A change: always with its sign, except zero.
pub fn signed(value: f64, decimals: usize) -> String {
    let text = fixed(value, decimals);
    let zero = text.chars().all(|letter| letter == '0' || letter == '.');
    if zero || text.starts_with('−') { text } else { format!("+{text}") }
}

/// A ratio in running text: "11.0 dB".
pub fn decibels(value: f64) -> String {
    format!("{}\u{a0}dB", fixed(value, 1))
}

/// A change in running text: "+11.0 dB".
pub fn decibel_change(value: f64) -> String {
    format!("{}\u{a0}dB", signed(value, 1))
}

/// A reserve in running text, with its band if there is one: "4.3 ± 4.0 dB to spare", "2.0 dB too little".
pub fn spare(reserve_db: f64, sigma_db: Option<f64>) -> String {
    let band = sigma_db.map_or_else(String::new, |sigma| format!("\u{a0}±\u{a0}{}", fixed(sigma, 1)));
    let words = if reserve_db < 0.0 { "too little" } else { "to spare" };
    format!("{}{band}\u{a0}dB {words}", fixed(reserve_db.abs(), 1))
}

/// A level in running text: "−71.3 dBm".
pub fn level(value: f64) -> String {
    format!("{}\u{a0}dBm", fixed(value, 1))
}

/// A share of one in percent, rounded *down* to a tenth: a share below its target never reads as the target, and only
/// a whole one reads 100 %.
pub fn share(value: f64) -> String {
    // The small addend undoes the representation error of shares that are whole tenths of a percent.
    let tenths = (value * 1000.0 + 1e-9).floor();
    format!("{}\u{a0}%", fixed(tenths / 10.0, 1))
}

/// A probability in whole percent, held off 0 and 100 unless it is exactly that.
pub fn confidence(value: f64) -> String {
    let percent = (value * 100.0).round();
    if percent >= 100.0 && value < 1.0 {
        "over 99\u{a0}%".to_owned()
    } else if percent <= 0.0 && value > 0.0 {
        "under 1\u{a0}%".to_owned()
    } else {
        format!("{}\u{a0}%", fixed(percent, 0))
    }
}

/// A length in running text, to a tenth of a metre or a whole foot.
pub fn length(metres: f64, units: DisplayUnits) -> String {
    match units.length {
        LengthUnit::Metres => format!("{}\u{a0}m", fixed(metres, 1)),
        LengthUnit::Feet => format!("{}\u{a0}ft", fixed(Metres(metres).feet(), 0)),
    }
}

/// A short length in running text, to a centimetre or a tenth of a foot.
pub fn short_length(metres: f64, units: DisplayUnits) -> String {
    match units.length {
        LengthUnit::Metres => format!("{}\u{a0}m", fixed(metres, 2)),
        LengthUnit::Feet => format!("{}\u{a0}ft", fixed(Metres(metres).feet(), 1)),
    }
}

/// The same, rounded up: a distance to keep is never shown shorter than it is.
pub fn short_length_up(metres: f64, units: DisplayUnits) -> String {
    // A billionth less undoes the representation error of whole centimetres.
    let up = |value: f64, per: f64| (value * per - 1e-9).ceil() / per;
    match units.length {
        LengthUnit::Metres => format!("{}\u{a0}m", fixed(up(metres, 100.0), 2)),
        LengthUnit::Feet => format!("{}\u{a0}ft", fixed(up(Metres(metres).feet(), 10.0), 1)),
    }
}

/// A power both ways: "16 mW (12.0 dBm)", the chosen unit first.
pub fn power(dbm: f64, units: DisplayUnits) -> String {
    let milliwatts = Dbm(dbm).to_watts().0 * 1e3;
    let decimals = if milliwatts < 10.0 { 2 } else { 0 };
    let in_milliwatts = format!("{}\u{a0}mW", fixed(milliwatts, decimals));
    match units.power {
        PowerUnit::Milliwatts => format!("{in_milliwatts} ({})", level(dbm)),
        PowerUnit::Dbm => format!("{} ({in_milliwatts})", level(dbm)),
    }
}

/// A time on the lap: "12.4 s".
pub fn seconds(value: f64) -> String {
    format!("{}\u{a0}s", fixed(value, 1))
}

/// A carrier in MHz, without decimals when it has none.
pub fn megahertz(hertz: f64) -> String {
    format!("{}\u{a0}MHz", fixed_trimmed(Hertz(hertz).megahertz(), 3))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reserve_is_said_as_what_is_left_or_missing() {
        assert_eq!(spare(4.26, Some(3.96)), "4.3\u{a0}±\u{a0}4.0\u{a0}dB to spare");
        assert_eq!(spare(-2.0, None), "2.0\u{a0}dB too little");
    }

    #[test]
    fn fades_are_told_by_their_number_and_length() {
        assert_eq!(fades(277.5, 0.000_343), "278 a second, 0.3 ms each");
        assert_eq!(fades(0.01, 0.001), "fewer than one in twenty seconds");
    }

    const METRIC: DisplayUnits = DisplayUnits { length: LengthUnit::Metres, power: PowerUnit::Milliwatts };
    const IN_FEET: DisplayUnits = DisplayUnits { length: LengthUnit::Feet, power: PowerUnit::Dbm };

    fn between(min: f64, max: f64) -> Range {
        Range { min, max, unit: "" }
    }

    #[test]
    fn a_decimal_comma_either_minus_and_spaces_are_read() {
        for (text, expected) in [
            ("12,5", 12.5),
            ("12.5", 12.5),
            (" -3 ", -3.0),
            ("−3,25", -3.25),
            ("+7", 7.0),
            ("5 760", 5760.0),
            ("5\u{202f}760", 5760.0),
            (",5", 0.5),
            ("5.", 5.0),
        ] {
            assert_eq!(parse_number(text, ""), Ok(expected), "{text:?}");
        }
        assert_eq!(parse_number("12,5 dB", "dB"), Ok(12.5));
    }

    #[test]
    fn what_is_no_number_is_refused_with_its_own_text() {
        for text in ["1,000.5", "1.2.3", "twelve", "inf", "NaN", "1e5", "--3", "-", ".", "5 dBm"] {
            let got = parse_number(text, "dB");
            assert_eq!(got, Err(FieldProblem::NotANumber { got: text.to_owned() }), "{text:?}");
        }
        assert_eq!(parse_number("  ", "dB"), Err(FieldProblem::Empty));
        assert_eq!(parse_number("dB", "dB"), Err(FieldProblem::Empty));
        let long = "9".repeat(400);
        assert!(
            matches!(parse_number(&long, ""), Err(FieldProblem::NotANumber { got }) if got.len() == LONGEST_NUMBER)
        );
    }

    #[test]
    fn a_range_is_said_in_the_shown_unit() {
        let problem = Measure::Length.read("200", between(0.0, 30.48), IN_FEET).expect_err("beyond 100 ft");
        assert_eq!(problem.to_string(), "200 is outside 0 to 100\u{a0}ft.");
        assert_eq!(Measure::Length.read("50", between(0.0, 30.48), IN_FEET), Ok(15.24));
        let problem = Measure::Count.read("1,5", between(0.0, 4.0), METRIC).expect_err("not whole");
        assert_eq!(problem.to_string(), "1,5 is not a whole number.");
    }

    #[test]
    fn a_limit_typed_as_it_is_shown_is_accepted() {
        // 30 dBm is a thousand milliwatts only up to rounding.
        assert_eq!(Measure::Power.read("1000", between(-10.0, 30.0), METRIC), Ok(30.0));
        assert_eq!(Measure::Power.read("0.1", between(-10.0, 30.0), METRIC), Ok(-10.0));
        assert!(Measure::Power.read("0", between(-10.0, 30.0), METRIC).is_err());
        assert!(Measure::Power.read("-5", between(-10.0, 30.0), METRIC).is_err());
    }

    #[test]
    fn milliwatts_and_decibels_are_one_power() {
        // 14 dBm is 25.12 mW by definition of the decibel.
        assert_eq!(Measure::Power.field_text(14.0, METRIC), "25.12");
        assert_eq!(Measure::Power.field_text(14.0, IN_FEET), "14");
        let kept = Measure::Power.read("25", between(-10.0, 30.0), METRIC).expect("in range");
        assert!((kept - 13.979_400_086_720_377).abs() < 1e-9, "{kept}");
        assert_eq!(power(14.0, METRIC), "25\u{a0}mW (14.0\u{a0}dBm)");
        assert_eq!(power(14.0, IN_FEET), "14.0\u{a0}dBm (25\u{a0}mW)");
    }

    #[test]
    fn shown_and_kept_are_inverse_for_every_measure() {
        let measures = [
            Measure::Ratio,
            Measure::Gain,
            Measure::Power,
            Measure::Level,
            Measure::Length,
            Measure::FineLength,
            Measure::Angle,
            Measure::Frequency,
            Measure::Time,
            Measure::Speed,
            Measure::Acceleration,
            Measure::Share,
            Measure::Drag,
            Measure::Density,
            Measure::Attenuation,
            Measure::Count,
        ];
        for units in [METRIC, IN_FEET] {
            for measure in measures {
                for value in [0.0, 0.37, 12.0] {
                    let back = measure.kept(measure.shown(value, units), units);
                    assert!((back - value).abs() < 1e-9, "{measure:?} {value} {back}");
                }
            }
        }
    }

    #[test]
    fn zero_has_no_sign_and_a_change_has_one() {
        assert_eq!(fixed(-0.04, 1), "0.0");
        assert_eq!(fixed(-0.06, 1), "−0.1");
        assert_eq!(signed(-0.04, 1), "0.0");
        assert_eq!(signed(0.02, 1), "0.0");
        assert_eq!(signed(11.0, 1), "+11.0");
        assert_eq!(signed(-3.25, 1), "−3.2");
    }

    #[test]
    fn a_share_never_reads_better_than_it_is() {
        assert_eq!(share(0.98999), "98.9\u{a0}%");
        assert_eq!(share(0.99), "99.0\u{a0}%");
        assert_eq!(share(0.999_999), "99.9\u{a0}%");
        assert_eq!(share(1.0), "100.0\u{a0}%");
        assert_eq!(confidence(0.9999), "over 99\u{a0}%");
        assert_eq!(confidence(0.0001), "under 1\u{a0}%");
        assert_eq!(confidence(0.84), "84\u{a0}%");
        assert_eq!(confidence(1.0), "100\u{a0}%");
    }

    #[test]
    fn a_field_shows_no_needless_zeros() {
        assert_eq!(Measure::Length.field_text(1.25, METRIC), "1.25");
        assert_eq!(Measure::Length.field_text(1.5, METRIC), "1.5");
        assert_eq!(Measure::Length.field_text(10.0, METRIC), "10");
        assert_eq!(Measure::Frequency.field_text(5.76e9, METRIC), "5760");
        assert_eq!(Measure::Share.field_text(0.99, METRIC), "99");
        assert_eq!(Measure::Angle.text(-30.0, METRIC), "−30°");
        assert_eq!(megahertz(5_658.5e6), "5658.5\u{a0}MHz");
    }
}
