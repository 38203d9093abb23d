//! The closed flight line through the gates, by distance.

use std::ops::RangeInclusive;

use super::error::CourseError;
use super::heading_direction;
use super::piece::{Piece, PieceEnd, bends, expected_length};
use crate::rf::Vec3;
use crate::units::{Metres, Radians};

/// How many gates a course may have. Two make the shortest loop; 64 are several times the largest course in use
/// (common practice, no source) and keep every table small.
pub const GATE_COUNT: RangeInclusive<usize> = 2..=64;

/// How far east or north of the origin a gate may stand: beyond what any racing video link covers.
pub const GATE_COORDINATE: RangeInclusive<Metres> = Metres(-5000.0)..=Metres(5000.0);

/// Heights of a gate's centre. The flight line stays between the heights of its gates, so this is also the least and the
/// greatest height of a line.
pub const GATE_HEIGHT: RangeInclusive<Metres> = Metres(0.2)..=Metres(120.0);

/// Least distance between two gates that follow each other: about half a small gate's opening.
pub const MIN_GATE_SPACING: Metres = Metres(0.5);

/// Greatest length of a lap: more than a small racing battery flies (common practice, no source).
pub const MAX_LENGTH: Metres = Metres(5000.0);

/// Least speed along the parameter, over the expected one, before the line is said to fold: on a good line it stays near
/// one, and at a fold it is zero.
const MIN_PARAMETER_SPEED: f64 = 0.02;

/// Parts of a piece whose lengths are tabled.
const PARTS: usize = 24;

/// A gate, flown through at its centre.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GatePose {
    /// The centre of the opening, metres: within [`GATE_COORDINATE`], z within [`GATE_HEIGHT`].
    pub centre: Vec3,
    /// Direction of flight through the gate, clockwise from north; any finite angle.
    pub heading: Radians,
}

/// A place on the flight line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LinePoint {
    /// Where it is, metres.
    pub position: Vec3,
    /// Unit vector of flight.
    pub direction: Vec3,
    /// Toward the centre of the turn, at right angles to `direction`; its length is one over the radius, 1/m.
    pub curvature: Vec3,
}

#[derive(Clone, Copy, Debug)]
struct Mark {
    /// Length from the first gate.
    distance: f64,
    /// Length per unit of the piece's own parameter, on the piece that begins or lies here.
    speed: f64,
}

/// A closed smooth line through gates in order: each is passed at its centre along its heading, and direction and
/// curvature are continuous everywhere, the closing included. In height it is monotone from gate to gate.
#[derive(Clone, Debug)]
pub struct FlightLine {
    gates: Vec<GatePose>,
    pieces: Vec<Piece>,
    /// `PARTS + 1` marks per piece, its two ends included.
    marks: Vec<Mark>,
    gate_distances: Vec<Metres>,
    length: Metres,
}

impl FlightLine {
    /// The line through the gates in order and back to the first.
    ///
    /// # Errors
    /// [`CourseError::GateCount`], [`CourseError::GatePosition`], [`CourseError::GateHeight`],
    /// [`CourseError::GateHeading`] and [`CourseError::GatesTooClose`] for gates outside the ranges of this module;
    /// [`CourseError::Fold`] when the line would have to turn on the spot (a gate straight behind another one and flown
    /// the same way); [`CourseError::TooLong`].
    pub fn through(gates: &[GatePose]) -> Result<Self, CourseError> {
        check(gates)?;
        let count = gates.len();
        let mut ends: Vec<PieceEnd> = gates
            .iter()
            .map(|gate| PieceEnd {
                position: gate.centre,
                direction: heading_direction(gate.heading),
                bend: Vec3::zeros(),
            })
            .collect();
        let spans: Vec<f64> = (0..count)
            .map(|i| {
                let (from, to) = (&ends[i], &ends[(i + 1) % count]);
                expected_length(&(to.position - from.position), &from.direction, &to.direction)
            })
            .collect();
        let chosen = bends(&ends, &spans);
        for (end, bend) in ends.iter_mut().zip(chosen) {
            end.bend = bend;
        }
        let pieces: Vec<Piece> =
            (0..count).map(|i| Piece::between(&ends[i], &ends[(i + 1) % count], spans[i])).collect();

        let mut marks = Vec::with_capacity(count * (PARTS + 1));
        let mut gate_distances = Vec::with_capacity(count);
        let mut distance = 0.0;
        for (gate, piece) in pieces.iter().enumerate() {
            gate_distances.push(Metres(distance));
            for part in 0..=PARTS {
                if part > 0 {
                    distance += piece.length(parameter(part - 1), parameter(part));
                }
                let speed = piece.speed(parameter(part));
                let between = piece.speed((part as f64 + 0.5).min(PARTS as f64) / PARTS as f64);
                if speed.min(between) < MIN_PARAMETER_SPEED * piece.span {
                    return Err(CourseError::Fold { gate, next: (gate + 1) % count });
                }
                marks.push(Mark { distance, speed });
            }
        }
        if distance > MAX_LENGTH.0 {
            return Err(CourseError::TooLong { got: Metres(distance) });
        }
        Ok(Self { gates: gates.to_vec(), pieces, marks, gate_distances, length: Metres(distance) })
    }

    /// The gates it was drawn through, in order.
    pub fn gates(&self) -> &[GatePose] {
        &self.gates
    }

    /// Length of one lap.
    pub fn length(&self) -> Metres {
        self.length
    }

    /// Distance of every gate along the line; the first is zero.
    pub fn gate_distances(&self) -> &[Metres] {
        &self.gate_distances
    }

    /// The gates before and after a distance along the line, from zero; at a gate that gate is the one before. Distances
    /// beyond a lap wrap round; one that is not finite counts as zero.
    pub fn between_gates(&self, distance: Metres) -> (usize, usize) {
        between_gates(&self.gate_distances, self.length, distance)
    }

    /// The place at a distance along the line from the first gate. Distances beyond a lap wrap round; one that is not
    /// finite counts as zero.
    pub fn at(&self, distance: Metres) -> LinePoint {
        let distance = wrapped(distance, self.length);
        let gate = between_gates(&self.gate_distances, self.length, Metres(distance)).0;
        let marks = &self.marks[gate * (PARTS + 1)..(gate + 1) * (PARTS + 1)];
        let part = marks[1..PARTS].partition_point(|mark| mark.distance <= distance);
        self.on_part(gate, part, distance)
    }

    /// Calls `visit` with the place at `count` equal steps of distance, the first at the first gate, in order. The same
    /// places as [`FlightLine::at`], without a search for each.
    pub(super) fn walk(&self, count: usize, mut visit: impl FnMut(LinePoint)) {
        let (mut gate, mut part) = (0, 0);
        for step in 0..count {
            let distance = self.length.0 * (step as f64 / count as f64);
            while distance >= self.marks[gate * (PARTS + 1) + part + 1].distance {
                if part + 1 < PARTS {
                    part += 1;
                } else if gate + 1 < self.pieces.len() {
                    (gate, part) = (gate + 1, 0);
                } else {
                    break;
                }
            }
            visit(self.on_part(gate, part, distance));
        }
    }

    /// The place at a distance that lies on the given part of the given piece.
    fn on_part(&self, gate: usize, part: usize, distance: f64) -> LinePoint {
        // A tenth of a nanometre: far below anything a wave sees, far above rounding on a lap of kilometres.
        const TOLERANCE: f64 = 1e-10;
        const ROUNDS: usize = 8;
        let piece = &self.pieces[gate];
        let from = self.marks[gate * (PARTS + 1) + part];
        let to = self.marks[gate * (PARTS + 1) + part + 1];
        let (low, high) = (parameter(part), parameter(part + 1));
        // The inverse function's cubic through both ends gives the guess, Newton's steps the rest.
        let whole = to.distance - from.distance;
        let along = distance - from.distance;
        let share = (along / whole).clamp(0.0, 1.0);
        let (start, finish) = (whole / (from.speed * (high - low)), whole / (to.speed * (high - low)));
        let rest = 1.0 - share;
        let blend = share * (share * (share * (start + finish - 2.0) + 3.0 - 2.0 * start - finish) + start);
        let mut u = low + (high - low) * blend.clamp(0.0, 1.0);
        if share > 0.0 && rest > 0.0 {
            for _ in 0..ROUNDS {
                let error = piece.length(low, u) - along;
                if error.abs() < TOLERANCE {
                    break;
                }
                u = (u - error / piece.speed(u)).clamp(low, high);
            }
        }
        let here = piece.at(u);
        // Not zero: `through` refused lines that fold, and the floor catches what lies between its marks.
        let speed = here.first.norm().max(MIN_PARAMETER_SPEED * 1e-3 * piece.span);
        let direction = here.first / speed;
        let curvature = (here.second - direction * here.second.dot(&direction)) / (speed * speed);
        LinePoint { position: here.position, direction, curvature }
    }
}

/// The piece's parameter at the beginning of a part.
fn parameter(part: usize) -> f64 {
    part as f64 / PARTS as f64
}

fn wrapped(distance: Metres, length: Metres) -> f64 {
    let wrapped = distance.0.rem_euclid(length.0);
    if wrapped < length.0 { wrapped } else { 0.0 }
}

/// See [`FlightLine::between_gates`]; `gate_distances` ascend from zero.
pub(super) fn between_gates(gate_distances: &[Metres], length: Metres, distance: Metres) -> (usize, usize) {
    let distance = wrapped(distance, length);
    let before = gate_distances.partition_point(|gate| gate.0 <= distance).saturating_sub(1);
    (before, (before + 1) % gate_distances.len())
}

fn check(gates: &[GatePose]) -> Result<(), CourseError> {
    let count = gates.len();
    if !GATE_COUNT.contains(&count) {
        return Err(CourseError::GateCount { got: count });
    }
    for (gate, pose) in gates.iter().enumerate() {
        for (got, direction) in [(Metres(pose.centre.x), "east"), (Metres(pose.centre.y), "north")] {
            if !GATE_COORDINATE.contains(&got) {
                return Err(CourseError::GatePosition { gate, got, direction });
            }
        }
        let got = Metres(pose.centre.z);
        if !GATE_HEIGHT.contains(&got) {
            return Err(CourseError::GateHeight { gate, got });
        }
        if !pose.heading.0.is_finite() {
            return Err(CourseError::GateHeading { gate });
        }
    }
    for gate in 0..count {
        let next = (gate + 1) % count;
        let got = Metres((gates[next].centre - gates[gate].centre).norm());
        if got < MIN_GATE_SPACING {
            return Err(CourseError::GatesTooClose { gate, next, got });
        }
    }
    Ok(())
}
