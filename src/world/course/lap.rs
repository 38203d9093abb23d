//! One lap of the flight line, sampled evenly in distance.

use std::ops::RangeInclusive;

use nalgebra::Rotation3;

use super::attitude::AttitudeModel;
use super::error::{CourseCaveat, CourseError, PLAUSIBLE_ACCELERATION, PLAUSIBLE_RADIUS, PLAUSIBLE_SPEED};
use super::heading_direction;
use super::line::{FlightLine, LinePoint, between_gates};
use super::pace::{Pace, durations};
use crate::rf::Vec3;
use crate::units::{Metres, MetresPerSecond, MetresPerSecondSquared, Seconds};

/// Distances between samples that can be asked for.
pub const STEP: RangeInclusive<Metres> = Metres(0.01)..=Metres(10.0);

/// Most samples of a lap: the longest line allowed at a quarter of a metre. Every later stage costs time and memory per
/// sample and seat.
pub const MAX_SAMPLES: usize = 20_000;

/// The speed is worked out at nodes no further apart than this, metres, whatever the samples' step: well below the
/// shortest turn.
const NODE_SPACING: f64 = 0.1;

/// The aircraft at one instant of the lap.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LapSample {
    /// Time since the first gate.
    pub time: Seconds,
    /// Distance along the line since the first gate.
    pub distance: Metres,
    /// The share of the lap that this sample stands for: from half way (in time) after the sample before to half way
    /// before the one after. The shares add up to the lap's duration.
    pub duration: Seconds,
    /// Where, metres.
    pub position: Vec3,
    /// Velocity, m/s.
    pub velocity: Vec3,
    /// Acceleration, m/s², gravity not counted.
    pub acceleration: Vec3,
    /// From the body frame (x forward, y left, z along the thrust) to the world.
    pub attitude: Rotation3<f64>,
}

/// One lap, from the first gate round to just before it.
#[derive(Clone, Debug, PartialEq)]
pub struct Lap {
    /// In order of time, evenly spaced in distance; the first at the first gate.
    pub samples: Vec<LapSample>,
    /// Distance of every gate along the line; the first is zero.
    pub gate_distances: Vec<Metres>,
    /// Length of the lap.
    pub length: Metres,
    /// Time of the lap.
    pub duration: Seconds,
    /// What makes the lap hard to believe, if anything does.
    pub caveats: Vec<CourseCaveat>,
}

impl Lap {
    /// The gates before and after a distance, as [`FlightLine::between_gates`].
    pub fn between_gates(&self, distance: Metres) -> (usize, usize) {
        between_gates(&self.gate_distances, self.length, distance)
    }
}

/// Flies the line once at the given pace, sampled at about `step`: the length is divided evenly into the least number of
/// steps that are no longer than `step`.
///
/// Where a lap needs more than an aircraft plausibly does, it is computed all the same and [`Lap::caveats`] says so.
///
/// # Errors
/// [`CourseError::Step`], [`CourseError::SampleCount`], and for the pace and the attitude
/// [`CourseError::LapTime`], [`CourseError::TopSpeed`], [`CourseError::Acceleration`], [`CourseError::Drag`].
pub fn lap(line: &FlightLine, pace: Pace, attitude: AttitudeModel, step: Metres) -> Result<Lap, CourseError> {
    if !STEP.contains(&step) {
        return Err(CourseError::Step { got: step });
    }
    pace.check()?;
    attitude.check()?;
    let length = line.length();
    // Both lie in ranges that make the quotient finite and small.
    let count = (length / step).ceil().max(1.0) as usize;
    if count > MAX_SAMPLES {
        return Err(CourseError::SampleCount { step, length });
    }
    let refinement = (length.0 / count as f64 / NODE_SPACING).ceil().max(1.0) as usize;
    let nodes = count * refinement;
    let spacing = length.0 / nodes as f64;

    let mut curvatures = Vec::with_capacity(nodes);
    let mut points: Vec<LinePoint> = Vec::with_capacity(count);
    line.walk(nodes, |point| {
        if curvatures.len() % refinement == 0 {
            points.push(point);
        }
        curvatures.push(point.curvature.norm());
    });
    let squares = pace.squared_speeds(&curvatures, spacing);
    let forward = |node: usize| (squares[(node + 1) % nodes] - squares[(node + nodes - 1) % nodes]) / (4.0 * spacing);

    // Time at every sample, and once more at the end of the lap.
    let mut times = Vec::with_capacity(count + 1);
    let mut time = 0.0;
    for (node, duration) in durations(&squares, spacing).enumerate() {
        if node % refinement == 0 {
            times.push(time);
        }
        time += duration;
    }
    let whole = time;
    times.push(whole);

    let mut nose = heading_direction(line.gates()[0].heading);
    let mut samples = Vec::with_capacity(count);
    for (index, point) in points.iter().enumerate() {
        let node = index * refinement;
        let velocity = point.direction * squares[node].sqrt();
        let acceleration = point.direction * forward(node) + point.curvature * squares[node];
        let rotation = attitude.attitude(&velocity, &acceleration, &nose);
        nose = rotation * Vec3::x();
        let before = if index == 0 { times[count - 1] - whole } else { times[index - 1] };
        samples.push(LapSample {
            time: Seconds(times[index]),
            distance: Metres(length.0 * (node as f64 / nodes as f64)),
            duration: Seconds((times[index + 1] - before) * 0.5),
            position: point.position,
            velocity,
            acceleration,
            attitude: rotation,
        });
    }
    let caveats = caveats(&curvatures, &squares, forward, spacing);
    Ok(Lap { samples, gate_distances: line.gate_distances().to_vec(), length, duration: Seconds(whole), caveats })
}

/// The worst node of each kind, where it is beyond what is plausible.
fn caveats(curvatures: &[f64], squares: &[f64], forward: impl Fn(usize) -> f64, spacing: f64) -> Vec<CourseCaveat> {
    let (mut tightest, mut fastest, mut hardest) = ((0, 0.0), (0, 0.0), (0, 0.0));
    for (node, (&curvature, &square)) in curvatures.iter().zip(squares).enumerate() {
        let (across, along) = (square * curvature, forward(node));
        let squared_acceleration = across * across + along * along;
        for (worst, value) in [(&mut tightest, curvature), (&mut fastest, square), (&mut hardest, squared_acceleration)]
        {
            if value > worst.1 {
                *worst = (node, value);
            }
        }
    }
    let at = |node: usize| Metres(node as f64 * spacing);
    let mut caveats = Vec::new();
    let needed = MetresPerSecondSquared(hardest.1.sqrt());
    if needed > PLAUSIBLE_ACCELERATION {
        caveats.push(CourseCaveat::Acceleration { at: at(hardest.0), needed });
    }
    let needed = MetresPerSecond(fastest.1.sqrt());
    if needed > PLAUSIBLE_SPEED {
        caveats.push(CourseCaveat::Speed { at: at(fastest.0), needed });
    }
    if tightest.1 * PLAUSIBLE_RADIUS.0 > 1.0 {
        caveats.push(CourseCaveat::TightTurn { at: at(tightest.0), radius: Metres(1.0 / tightest.1) });
    }
    caveats
}
