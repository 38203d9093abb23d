//! What a course cannot be, and what it can be but hardly is in the air.

use super::attitude::DRAG_PER_METRE;
use super::lap::{MAX_SAMPLES, STEP};
use super::line::{GATE_COORDINATE, GATE_COUNT, GATE_HEIGHT, MAX_LENGTH, MIN_GATE_SPACING};
use super::pace::{ACCELERATION, LAP_TIME, TOP_SPEED};
use crate::units::{Metres, MetresPerSecond, MetresPerSecondSquared, Seconds};

/// Acceleration above which a lap is called implausible: about five times gravity held over a turn (common practice,
/// no source).
pub const PLAUSIBLE_ACCELERATION: MetresPerSecondSquared = MetresPerSecondSquared(50.0);

/// Speed above which a lap is called implausible for a small racing aircraft (common practice, no source).
pub const PLAUSIBLE_SPEED: MetresPerSecond = MetresPerSecond(50.0);

/// Radius of a turn below which the line is called implausible: about the aircraft's own size (common practice, no
/// source).
pub const PLAUSIBLE_RADIUS: Metres = Metres(0.3);

/// Why there is no flight line or no lap. Gates are counted from zero in the fields and from one in the messages.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum CourseError {
    /// Too few gates for a closed line, or more than [`GATE_COUNT`] allows.
    #[error("a course of {got} gates is outside {} to {} gates", GATE_COUNT.start(), GATE_COUNT.end())]
    GateCount {
        /// How many gates were given.
        got: usize,
    },
    /// A gate lies too far from the origin, or nowhere.
    #[error(
        "gate {}: a position {got} {direction} is outside {} to {}",
        gate + 1, GATE_COORDINATE.start(), GATE_COORDINATE.end()
    )]
    GatePosition {
        /// Which gate, from zero.
        gate: usize,
        /// The coordinate that is out of range.
        got: Metres,
        /// Which coordinate: `east` or `north`.
        direction: &'static str,
    },
    /// A gate's centre is at or under the ground, or too high.
    #[error("gate {}: a height of {got} is outside {} to {}", gate + 1, GATE_HEIGHT.start(), GATE_HEIGHT.end())]
    GateHeight {
        /// Which gate, from zero.
        gate: usize,
        /// The height of its centre.
        got: Metres,
    },
    /// A gate's heading is not a number or not finite.
    #[error("gate {}: its heading is not a finite angle", gate + 1)]
    GateHeading {
        /// Which gate, from zero.
        gate: usize,
    },
    /// Two gates that follow each other stand in one place.
    #[error("gates {} and {} are {got:.2} apart, at least {MIN_GATE_SPACING} are needed", gate + 1, next + 1)]
    GatesTooClose {
        /// The earlier gate, from zero.
        gate: usize,
        /// The gate after it, from zero.
        next: usize,
        /// The distance between their centres.
        got: Metres,
    },
    /// The smooth line would have to stop and turn on the spot.
    #[error(
        "between gates {} and {} the line doubles back on itself: turn one of them, or move it aside",
        gate + 1, next + 1
    )]
    Fold {
        /// The gate before the fold, from zero.
        gate: usize,
        /// The gate after it, from zero.
        next: usize,
    },
    /// The line is longer than [`MAX_LENGTH`].
    #[error("a flight line of {got:.0} is longer than the {MAX_LENGTH} allowed")]
    TooLong {
        /// The length of the line.
        got: Metres,
    },
    /// The distance between samples is outside [`STEP`].
    #[error("a sample step of {got} is outside {} to {}", STEP.start(), STEP.end())]
    Step {
        /// The step asked for.
        got: Metres,
    },
    /// The step would give more samples than [`MAX_SAMPLES`].
    #[error("a step of {step} gives more than the {MAX_SAMPLES} samples allowed on {length:.0}: take a longer step")]
    SampleCount {
        /// The step asked for.
        step: Metres,
        /// The length of the line.
        length: Metres,
    },
    /// The lap time is outside [`LAP_TIME`].
    #[error("a lap time of {got} is outside {} to {}", LAP_TIME.start(), LAP_TIME.end())]
    LapTime {
        /// The lap time asked for.
        got: Seconds,
    },
    /// The top speed is outside [`TOP_SPEED`].
    #[error("a top speed of {got} is outside {} to {}", TOP_SPEED.start(), TOP_SPEED.end())]
    TopSpeed {
        /// The speed asked for.
        got: MetresPerSecond,
    },
    /// An acceleration limit is outside [`ACCELERATION`].
    #[error("a {direction} acceleration of {got} is outside {} to {}", ACCELERATION.start(), ACCELERATION.end())]
    Acceleration {
        /// The acceleration asked for.
        got: MetresPerSecondSquared,
        /// Which one: `sideways` or `forward`.
        direction: &'static str,
    },
    /// The drag is outside [`DRAG_PER_METRE`].
    #[error("a drag of {got} 1/m is outside {} to {} 1/m", DRAG_PER_METRE.start(), DRAG_PER_METRE.end())]
    Drag {
        /// The drag asked for, 1/m.
        got: f64,
    },
}

/// What was computed but hardly flies. Each is said once a lap, for the worst place.
#[derive(Clone, Debug, PartialEq)]
pub enum CourseCaveat {
    /// The lap needs an acceleration above [`PLAUSIBLE_ACCELERATION`].
    Acceleration {
        /// Where, along the lap.
        at: Metres,
        /// The acceleration needed there, gravity and drag not counted.
        needed: MetresPerSecondSquared,
    },
    /// The lap needs a speed above [`PLAUSIBLE_SPEED`].
    Speed {
        /// Where, along the lap.
        at: Metres,
        /// The speed there.
        needed: MetresPerSecond,
    },
    /// The line turns on a radius below [`PLAUSIBLE_RADIUS`]. It is seen at places a tenth of a metre apart at most, so
    /// the tip of a very sharp turn may be sharper still.
    TightTurn {
        /// Where, along the lap.
        at: Metres,
        /// The radius there.
        radius: Metres,
    },
}

impl std::fmt::Display for CourseCaveat {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Acceleration { at, needed } => write!(
                formatter,
                "at {at:.0} the lap needs {needed:.0}, more than {PLAUSIBLE_ACCELERATION:.0}: a longer lap time or a wider turn helps"
            ),
            Self::Speed { at, needed } => {
                write!(formatter, "at {at:.0} the lap needs {needed:.0}, more than {PLAUSIBLE_SPEED:.0}")
            }
            Self::TightTurn { at, radius } => {
                write!(formatter, "at {at:.0} the line turns on a radius of {radius:.2}: turn or move a gate there")
            }
        }
    }
}
