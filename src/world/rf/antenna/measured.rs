//! Antennas as somebody measured them: gain and axial ratio at some angles from the antenna's axis.
//!
//! A table holds one cut, and the pattern is taken to look the same all round the axis. [`MeasuredCut`] makes of it a
//! curve from 0° to 180°:
//!
//! - *Two sides* (angles from -180° to 180° or from 0° to 360°): where both were measured, the mean of their powers, hand
//!   by hand. That is the even part of the pattern's power, which is all that a pattern round its axis can keep.
//! - *Between rows* the amplitude, and the ratio of the weaker hand's amplitude to the stronger one's, run straight: exact
//!   at rows, continuous, and nowhere outside what the two rows say. A field is smooth in angle, also through a null where
//!   its decibels are not, so that for rows `h` apart the amplitude is off by `h²/8` times its second derivative at most.
//! - *Where nobody measured*, the gain falls within [`HELD_RAMP`] to the least of the table and stays there, with the last
//!   axial ratio: an antenna is not taken to do better there than it was seen to do at its worst. Toward the look of an
//!   antenna that looks ahead, a gap of at most [`AHEAD_REACH`]'s first end, the last row is held as it is.
//! - *Hands*: from the axial ratio `r` (amplitudes), the weaker hand has `(r - 1)/(r + 1)` of the stronger one's amplitude.
//!   A table does not say which hand is the stronger; the antenna's own is taken to be, at every angle. Of a linear antenna,
//!   the axial ratio is not computed with: which way its slim ellipse turns nobody says, and above 20 dB that is less than
//!   one per cent of the power.
//!
//! Phases over the pattern are not known; as in every other model they are the same everywhere.

mod curve;

use std::ops::RangeInclusive;
use std::sync::Arc;

use self::curve::{CurveKnot, between, circle, farthest, folded, hold};
use super::revolution::polar_and_azimuthal;
use crate::rf::Vec3;
use crate::rf::polarization::Hand;
use crate::units::{Db, Dbi, Degrees, Radians};

/// How many rows a table may have: three are a shape, 361 are both sides degree by degree.
pub const MEASURED_ROWS: RangeInclusive<usize> = 3..=361;
/// Angles of a table; either from -180° to 180° or from 0° to 360°.
pub const MEASURED_ANGLE: RangeInclusive<Degrees> = Degrees(-180.0)..=Degrees(360.0);
/// Gains of a table; below lies the noise of whoever measured.
pub const MEASURED_GAIN: RangeInclusive<Dbi> = Dbi(-60.0)..=Dbi(20.0);
/// Peak gains of a table, as for every antenna of a plan.
pub const MEASURED_PEAK: RangeInclusive<Dbi> = Dbi(-10.0)..=Dbi(20.0);
/// Axial ratios of a table. 60 dB is as linear as anything measured.
pub const MEASURED_AXIAL_RATIO: RangeInclusive<Db> = Db(0.0)..=Db(60.0);
/// Angles that are nearer to each other are one angle.
pub const MEASURED_STEP: Degrees = Degrees(0.01);
/// An antenna that looks ahead has to be measured from at most the first of these angles to at least the second: its best
/// direction and the fall of its beam. What lies behind is faint.
pub const AHEAD_REACH: (Degrees, Degrees) = (Degrees(5.0), Degrees(60.0));
/// The same for an antenna that stands: all of its sides, up to its nulls over the tip and under the foot.
pub const TIP_REACH: (Degrees, Degrees) = (Degrees(30.0), Degrees(150.0));
/// Within this angle beyond the last row the gain falls to the least of the table.
pub const HELD_RAMP: Degrees = Degrees(10.0);
/// The two sides are compared where the antenna is at most this far below its best: in a null a degree's shift is ten
/// decibels that carry no power.
pub const SIDES_WINDOW: Db = Db(10.0);
/// Steps of the energy's integral. Simpson's rule over a degree is exact to nine digits here.
const ENERGY_STEP: Degrees = Degrees(1.0);

/// One row of a table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeasuredRow {
    /// Angle from the antenna's axis; the other side below 0° or above 180°.
    pub angle: Degrees,
    /// Power gain at that angle, both polarizations together.
    pub gain: Dbi,
    /// Axial ratio at that angle.
    pub axial_ratio: Db,
}

/// What the angles of a table are counted from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MeasuredAxis {
    /// The antenna's look, +x: patches and helices.
    Ahead,
    /// The antenna's tip, +z: dipoles, whips and omnis.
    Tip,
}

/// A column of a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MeasuredColumn {
    /// The angle.
    Angle,
    /// The gain.
    Gain,
    /// The axial ratio.
    AxialRatio,
}

/// Why a table is no pattern. Rows are counted from 0, in the order in which they were given.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{}: allowed are {}", self.found(), self.allowed())]
pub enum MeasuredError {
    /// See [`MEASURED_ROWS`].
    Rows {
        /// How many there are.
        got: usize,
    },
    /// A number outside its range, or none.
    Number {
        /// Which row.
        row: usize,
        /// Which column.
        column: MeasuredColumn,
        /// What stands there.
        got: f64,
    },
    /// An angle that an earlier row has; see [`MEASURED_STEP`].
    Twice {
        /// The later row.
        row: usize,
        /// The earlier row.
        first: usize,
        /// The angle.
        angle: Degrees,
    },
    /// Angles below 0° and above 180° in one table.
    BothWays {
        /// A row above 180°.
        row: usize,
        /// Its angle.
        angle: Degrees,
    },
    /// Too little of the pattern was measured; see [`AHEAD_REACH`] and [`TIP_REACH`].
    Reach {
        /// What the angles are counted from.
        axis: MeasuredAxis,
        /// The least angle from the axis.
        from: Degrees,
        /// The greatest.
        to: Degrees,
    },
    /// The greatest gain is no antenna's; see [`MEASURED_PEAK`].
    Peak {
        /// The greatest gain.
        got: Dbi,
    },
}

impl MeasuredError {
    /// The row that it is about, if it is about one.
    pub fn row(&self) -> Option<usize> {
        match *self {
            Self::Number { row, .. } | Self::Twice { row, .. } | Self::BothWays { row, .. } => Some(row),
            Self::Rows { .. } | Self::Reach { .. } | Self::Peak { .. } => None,
        }
    }

    /// What stands there, in words.
    pub fn found(&self) -> String {
        let (what, got, unit) = match *self {
            Self::Rows { got } => return format!("{got} rows"),
            Self::Reach { from, to, .. } => return format!("a table from {}° to {}°", from.0, to.0),
            Self::Number { column: MeasuredColumn::Angle, got, .. } => ("an angle of ", got, "°"),
            Self::Number { column: MeasuredColumn::Gain, got, .. } => ("a gain of ", got, " dBi"),
            Self::Number { column: MeasuredColumn::AxialRatio, got, .. } => ("an axial ratio of ", got, " dB"),
            Self::Twice { angle, .. } => ("once more the angle ", angle.0, "°"),
            Self::BothWays { angle, .. } => ("beside angles below 0° an angle of ", angle.0, "°"),
            Self::Peak { got } => ("a greatest gain of ", got.0, " dBi"),
        };
        format!("{what}{got}{unit}")
    }

    /// What may stand there, in words.
    pub fn allowed(&self) -> String {
        let (least, most, unit) = match self {
            Self::Twice { .. } => return format!("angles at least {}° apart", MEASURED_STEP.0),
            Self::Reach { axis, .. } => {
                let (from, to) = axis.reach();
                return format!("tables from at most {}° to at least {}° for this kind of antenna", from.0, to.0);
            }
            Self::Rows { .. } => (*MEASURED_ROWS.start() as f64, *MEASURED_ROWS.end() as f64, " rows"),
            Self::BothWays { .. } => (MEASURED_ANGLE.start().0, 180.0, "°, or 0 to 360°"),
            Self::Number { column: MeasuredColumn::Angle, .. } => {
                (MEASURED_ANGLE.start().0, MEASURED_ANGLE.end().0, "°")
            }
            Self::Number { column: MeasuredColumn::Gain, .. } => {
                (MEASURED_GAIN.start().0, MEASURED_GAIN.end().0, " dBi")
            }
            Self::Number { column: MeasuredColumn::AxialRatio, .. } => {
                (MEASURED_AXIAL_RATIO.start().0, MEASURED_AXIAL_RATIO.end().0, " dB")
            }
            Self::Peak { .. } => (MEASURED_PEAK.start().0, MEASURED_PEAK.end().0, " dBi"),
        };
        format!("{least} to {most}{unit}")
    }
}

impl MeasuredAxis {
    /// The angles that have to be measured: from at most the first to at least the second.
    pub const fn reach(self) -> (Degrees, Degrees) {
        match self {
            Self::Ahead => AHEAD_REACH,
            Self::Tip => TIP_REACH,
        }
    }
}

/// How far the two sides of a table are apart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SideDifference {
    /// The greatest difference of gain at one angle, where the antenna is within [`SIDES_WINDOW`] of its best.
    pub greatest: Db,
    /// Where.
    pub at: Degrees,
}

/// The curve of a table from 0° to 180° off the antenna's axis. It is cheap to clone.
#[derive(Clone, Debug, PartialEq)]
pub struct MeasuredCut {
    axis: MeasuredAxis,
    /// From 0° to 180°, at rising angles.
    knots: Arc<[CurveKnot]>,
    from: Degrees,
    to: Degrees,
}

/// A measured antenna.
#[derive(Clone, Debug, PartialEq)]
pub struct MeasuredPattern {
    /// Its hand; `None` for a linear one. A linear one that looks ahead has its field upright, another one along its axis.
    pub hand: Option<Hand>,
    /// Its curve.
    pub cut: MeasuredCut,
}

impl MeasuredCut {
    /// Makes the curve of a table, whose rows may stand in any order.
    ///
    /// # Errors
    /// [`MeasuredError`]; not-a-number is outside every range.
    pub fn new(axis: MeasuredAxis, rows: &[MeasuredRow]) -> Result<Self, MeasuredError> {
        let circle = circle(rows)?;
        let mut knots = folded(&circle);
        let (from, to) = (knots[0].angle, knots[knots.len() - 1].angle);
        let (at_most, at_least) = axis.reach();
        let (from, to) = (Degrees(from), Degrees(to));
        if from > at_most || to < at_least {
            return Err(MeasuredError::Reach { axis, from, to });
        }
        hold(axis, &mut knots);
        let cut = Self { axis, knots: knots.into(), from, to };
        let peak = cut.peak().1;
        // The way to an amplitude and back may cost the last bit.
        if !(MEASURED_PEAK.start().0 - 1e-9..=MEASURED_PEAK.end().0 + 1e-9).contains(&peak.0) {
            return Err(MeasuredError::Peak { got: Dbi((peak.0 * 1e6).round() / 1e6) });
        }
        Ok(cut)
    }

    /// What its angles are counted from.
    pub fn axis(&self) -> MeasuredAxis {
        self.axis
    }

    /// The least and the greatest angle from the axis that were measured; outside, the curve is held.
    pub fn reach(&self) -> (Degrees, Degrees) {
        (self.from, self.to)
    }

    /// How far the two sides of a table are apart; `None` where one side alone was measured.
    ///
    /// # Errors
    /// [`MeasuredError`] for rows that are no table.
    pub fn sides(rows: &[MeasuredRow]) -> Result<Option<SideDifference>, MeasuredError> {
        Ok(farthest(&circle(rows)?))
    }

    /// The greatest gain, and the angle of it.
    pub fn peak(&self) -> (Degrees, Dbi) {
        let best = self
            .knots
            .iter()
            .fold(self.knots[0], |best, knot| if knot.amplitude > best.amplitude { *knot } else { best });
        (Degrees(best.angle), Dbi::from_ratio(best.amplitude * best.amplitude))
    }

    /// The least gain of the table, which holds where nobody measured.
    pub fn least_gain(&self) -> Dbi {
        let least = self.knots.iter().map(|knot| knot.amplitude).fold(f64::INFINITY, f64::min);
        Dbi::from_ratio(least * least)
    }

    /// The least axial ratio where the gain is at most 3 dB below its best.
    pub fn least_axial_ratio_of_the_beam(&self) -> Db {
        let half = self.peak().1 - Db(3.0);
        let of_beam = self.knots.iter().filter(|knot| Dbi::from_ratio(knot.amplitude * knot.amplitude) >= half);
        axial_ratio(of_beam.map(|knot| knot.cross).fold(1.0, f64::min))
    }

    /// Gain and axial ratio at an angle from the axis, 0° to 180°; beyond, as at the end.
    pub fn at(&self, angle: Degrees) -> (Dbi, Db) {
        let (amplitude, cross) = between(&self.knots, angle.0);
        (Dbi::from_ratio(amplitude * amplitude), axial_ratio(cross))
    }

    /// Mean power gain over the sphere: ∫ G(θ) sin θ dθ / 2.
    pub(super) fn mean_gain(&self) -> f64 {
        let mut sum = 0.0;
        for pair in self.knots.windows(2) {
            let width = pair[1].angle - pair[0].angle;
            let steps = (width / ENERGY_STEP.0).ceil().max(1.0);
            let (from, step) = (Degrees(pair[0].angle).radians().0, Degrees(width / steps).radians().0);
            let value = |number: f64| {
                let share = number / steps;
                let amplitude = pair[0].amplitude + share * (pair[1].amplitude - pair[0].amplitude);
                amplitude * amplitude * libm::sin(from + number * step)
            };
            for number in 0..steps as u32 {
                let number = f64::from(number);
                sum += step / 6.0 * (value(number) + 4.0 * value(number + 0.5) + value(number + 1.0));
            }
        }
        0.5 * sum
    }

    /// Real and imaginary part of the field into a direction; `sign` is that of the hand, `None` for a linear antenna.
    ///
    /// The stronger component lies where the models of the same kind have it: along the polar unit vector, or upright.
    pub(super) fn parts(&self, sign: Option<f64>, direction: &Vec3) -> (Vec3, Vec3) {
        let (along, squared) = match self.axis {
            MeasuredAxis::Ahead => (direction.x, direction.y * direction.y + direction.z * direction.z),
            MeasuredAxis::Tip => (direction.z, direction.x * direction.x + direction.y * direction.y),
        };
        let (amplitude, cross) = between(&self.knots, Radians(libm::atan2(squared.sqrt(), along)).degrees().0);
        // With major × minor = outward, right hand is `minor - j major` for one that looks ahead (y, z) and
        // `major - j minor` for one that stands (polar, azimuthal).
        let (major, minor) = match self.axis {
            MeasuredAxis::Ahead => upright_and_level(direction, squared),
            MeasuredAxis::Tip => polar_and_azimuthal(direction),
        };
        let Some(sign) = sign else { return (major * amplitude, Vec3::zeros()) };
        let scale = amplitude / (2.0 * (1.0 + cross * cross)).sqrt();
        let (major, minor) = (major * (scale * (1.0 + cross)), minor * (scale * (1.0 - cross)));
        match self.axis {
            MeasuredAxis::Ahead => (minor, major * -sign),
            MeasuredAxis::Tip => (major, minor * -sign),
        }
    }
}

/// The axial ratio that goes with a ratio of hands, up to the end of [`MEASURED_AXIAL_RATIO`].
fn axial_ratio(cross: f64) -> Db {
    let ratio = Db(20.0 * libm::log10((1.0 + cross) / (1.0 - cross).max(1e-9)));
    Db(ratio.0.min(MEASURED_AXIAL_RATIO.end().0))
}

/// The upright and the level unit vector across a direction, carried there from straight ahead along a great circle, so
/// that both are smooth all over the front; straight behind, the limit from the x-z plane. `squared` is y² + z².
///
/// Source: the third definition of cross polarization (Ludwig, from memory).
fn upright_and_level(direction: &Vec3, squared: f64) -> (Vec3, Vec3) {
    let (x, y, z) = (direction.x, direction.y, direction.z);
    if x < 0.0 && squared < 1e-18 {
        return (-Vec3::z(), Vec3::y());
    }
    // 1/(1 + x), by what does not cancel.
    let inverse = if x < 0.0 { (1.0 - x) / squared } else { 1.0 / (1.0 + x) };
    (Vec3::new(-z, -y * z * inverse, 1.0 - z * z * inverse), Vec3::new(-y, 1.0 - y * y * inverse, -y * z * inverse))
}

#[cfg(test)]
mod tests;
