//! From the rows of a table to the curve of a pattern: checked, folded over the axis, held where nobody measured.

use super::{
    HELD_RAMP, MEASURED_ANGLE, MEASURED_AXIAL_RATIO, MEASURED_GAIN, MEASURED_ROWS, MEASURED_STEP, MeasuredAxis,
    MeasuredColumn, MeasuredError, MeasuredRow, SIDES_WINDOW, SideDifference,
};
use crate::units::{Db, Degrees};

/// A place on the curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct CurveKnot {
    /// Angle from the axis, degrees; below zero on the other side.
    pub angle: f64,
    /// Root of the power gain.
    pub amplitude: f64,
    /// Amplitude of the weaker hand over that of the stronger one, 0 to 1.
    pub cross: f64,
}

/// Amplitude and ratio of hands at an angle: straight between the knots, held beyond the ends.
// Asked in several places; written out in each of them it would cost the page a kilobyte.
#[inline(never)]
pub(super) fn between(knots: &[CurveKnot], angle: f64) -> (f64, f64) {
    let after = knots.partition_point(|knot| knot.angle < angle);
    let (Some(next), Some(before)) = (knots.get(after), after.checked_sub(1).map(|before| &knots[before])) else {
        let end = &knots[after.min(knots.len() - 1)];
        return (end.amplitude, end.cross);
    };
    let share = (angle - before.angle) / (next.angle - before.angle);
    let mix = |from: f64, to: f64| from + share * (to - from);
    (mix(before.amplitude, next.amplitude), mix(before.cross, next.cross))
}

/// The checked rows round the whole circle, by their angles from -180° to 180°.
pub(super) fn circle(rows: &[MeasuredRow]) -> Result<Vec<CurveKnot>, MeasuredError> {
    if !MEASURED_ROWS.contains(&rows.len()) {
        return Err(MeasuredError::Rows { got: rows.len() });
    }
    let mut knots: Vec<CurveKnot> = Vec::with_capacity(rows.len());
    let mut below_zero = false;
    for (row, measured) in rows.iter().enumerate() {
        let MeasuredRow { angle, gain, axial_ratio } = *measured;
        for (column, got, (least, most)) in [
            (MeasuredColumn::Angle, angle.0, (MEASURED_ANGLE.start().0, MEASURED_ANGLE.end().0)),
            (MeasuredColumn::Gain, gain.0, (MEASURED_GAIN.start().0, MEASURED_GAIN.end().0)),
            (MeasuredColumn::AxialRatio, axial_ratio.0, (MEASURED_AXIAL_RATIO.start().0, MEASURED_AXIAL_RATIO.end().0)),
        ] {
            if !(least <= got && got <= most) {
                return Err(MeasuredError::Number { row, column, got });
            }
        }
        below_zero |= angle.0 < 0.0;
        // A little less than the step, as the difference of two decimal numbers is hardly ever exact.
        let is_it = |earlier: &MeasuredRow| (earlier.angle.0 - angle.0).abs() < 0.99 * MEASURED_STEP.0;
        if let Some(first) = rows[..row].iter().position(is_it) {
            return Err(MeasuredError::Twice { row, first, angle });
        }
        let ratio = axial_ratio.amplitude();
        let mut knot = CurveKnot {
            angle: if angle.0 > 180.0 { angle.0 - 360.0 } else { angle.0 },
            amplitude: gain.db().amplitude(),
            cross: (ratio - 1.0) / (ratio + 1.0),
        };
        // Rows mostly come in order and then go in at the end. A library sort of a type of its own costs the page 2 kB.
        let mut place = knots.iter().rposition(|before| before.angle <= knot.angle).map_or(0, |before| before + 1);
        if place > 0 && knots[place - 1].angle == knot.angle {
            // 0° and 360° are two rows of one direction.
            place -= 1;
            knot = mean(knots.remove(place), knot);
        }
        knots.insert(place, knot);
    }
    match rows.iter().position(|row| below_zero && row.angle.0 > 180.0) {
        Some(row) => Err(MeasuredError::BothWays { row, angle: rows[row].angle }),
        None => Ok(knots),
    }
}

/// The mean of the powers of two places at one angle, hand by hand.
fn mean(one: CurveKnot, other: CurveKnot) -> CurveKnot {
    let stronger = |knot: CurveKnot| knot.amplitude * knot.amplitude / (1.0 + knot.cross * knot.cross);
    let (same, same_of_other) = (stronger(one), stronger(other));
    let (sum, weaker) =
        (same + same_of_other, same * one.cross * one.cross + same_of_other * other.cross * other.cross);
    CurveKnot { angle: one.angle, amplitude: (0.5 * (sum + weaker)).sqrt(), cross: (weaker / sum).sqrt() }
}

/// Half the least step: rows of the two sides that are as near as that are rows of one angle.
const APART: f64 = MEASURED_STEP.0 / 2.0;

/// The right and the left side of the circle at an angle, each if it was measured there.
fn sides_at(circle: &[CurveKnot], angle: f64) -> [Option<CurveKnot>; 2] {
    let (least, most) = (circle[0].angle - APART, circle[circle.len() - 1].angle + APART);
    [angle, -angle].map(|side| {
        let (amplitude, cross) = between(circle, side);
        (least <= side && side <= most).then_some(CurveKnot { angle, amplitude, cross })
    })
}

/// Both sides of the circle as one curve.
pub(super) fn folded(circle: &[CurveKnot]) -> Vec<CurveKnot> {
    let mut knots: Vec<CurveKnot> = Vec::with_capacity(circle.len() + 4);
    for row in circle {
        let angle = row.angle.abs();
        let place = knots.iter().rposition(|before| before.angle <= angle + APART).map_or(0, |before| before + 1);
        if place > 0 && knots[place - 1].angle >= angle - APART {
            continue;
        }
        let knot = match sides_at(circle, angle) {
            [Some(right), Some(left)] => mean(right, left),
            [Some(one), None] | [None, Some(one)] => one,
            [None, None] => *row,
        };
        knots.insert(place, knot);
    }
    knots
}

/// Where the two sides of the circle are farthest apart; `None` where only one was measured.
pub(super) fn farthest(circle: &[CurveKnot]) -> Option<SideDifference> {
    let curve = folded(circle);
    let peak = curve.iter().map(|knot| knot.amplitude).fold(0.0, f64::max);
    let in_window =
        curve.iter().filter(|knot| knot.angle > 0.0 && knot.amplitude >= peak * (-SIDES_WINDOW).amplitude());
    let apart = in_window.filter_map(|knot| {
        let [Some(right), Some(left)] = sides_at(circle, knot.angle) else { return None };
        let greatest = Db(2.0 * Db::from_ratio(right.amplitude / left.amplitude).0.abs());
        Some(SideDifference { greatest, at: Degrees(knot.angle) })
    });
    apart.reduce(|most, next| if next.greatest > most.greatest { next } else { most })
}

/// Adds what holds where nobody measured, so that the curve reaches from 0° to 180°.
pub(super) fn hold(axis: MeasuredAxis, knots: &mut Vec<CurveKnot>) {
    let least = knots.iter().map(|knot| knot.amplitude).fold(f64::INFINITY, f64::min);
    let (first, last) = (knots[0], knots[knots.len() - 1]);
    let before = if axis == MeasuredAxis::Ahead { first.amplitude } else { least };
    // The nearest first: each goes in at its end of the curve.
    for (end, angle, amplitude) in [
        (first, (first.angle - HELD_RAMP.0).max(0.0), before),
        (first, 0.0, before),
        (last, (last.angle + HELD_RAMP.0).min(180.0), least),
        (last, 180.0, least),
    ] {
        let place = if end == first { 0 } else { knots.len() };
        if angle < knots[0].angle || angle > knots[knots.len() - 1].angle {
            knots.insert(place, CurveKnot { angle, amplitude, cross: end.cross });
        }
    }
}
