//! Course: gates, the closed flight line through them, the speed along it, the aircraft's attitude, and the samples of
//! a lap. It takes plain inputs and knows neither a plan nor a radio.
//!
//! World frame as in [`crate::rf`]: x east, y north, z up, ground at z = 0. Headings run clockwise from north, so the
//! heading `h` points along `(sin h, cos h, 0)`. The aircraft's body frame has x forward, y left and z along the
//! thrust.
//!
//! Gates are counted from zero in values and from one in messages, as people count them.

mod attitude;
mod error;
mod lap;
mod line;
mod pace;
mod piece;

pub use attitude::{AttitudeModel, DRAG_PER_METRE, Pose, STANDARD_GRAVITY};
pub use error::{CourseCaveat, CourseError, PLAUSIBLE_ACCELERATION, PLAUSIBLE_RADIUS, PLAUSIBLE_SPEED};
pub use lap::{Lap, LapSample, MAX_SAMPLES, STEP, lap};
pub use line::{
    FlightLine, GATE_COORDINATE, GATE_COUNT, GATE_HEIGHT, GatePose, LinePoint, MAX_LENGTH, MIN_GATE_SPACING,
};
pub use pace::{ACCELERATION, LAP_TIME, Limits, Pace, TOP_SPEED};

use crate::rf::Vec3;
use crate::units::Radians;

/// The unit vector of a heading, clockwise from north: `(sin h, cos h, 0)`.
pub fn heading_direction(heading: Radians) -> Vec3 {
    let (sine, cosine) = libm::sincos(heading.0);
    Vec3::new(sine, cosine, 0.0)
}
