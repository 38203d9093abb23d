//! The lap that all entries fly: places, attitudes and columns.

use nalgebra::Rotation3;

use super::report::{LapColumns, Notice};
use super::stage::Weighed;
use crate::course::{self, AttitudeModel};
use crate::plan::convert;
use crate::plan::document::CoursePlan;
use crate::rf::Vec3;
use crate::units::{Metres, Radians};

/// A pose of the aircraft: what of it matters to the radio.
#[derive(Clone, Debug)]
pub struct SamplePose {
    /// From the aircraft's body to the world.
    pub attitude: Rotation3<f64>,
    /// Its velocity, m/s.
    pub velocity: Vec3,
    /// Share of the lap's time, 0 to 1.
    pub weight: f64,
}

/// A lap, and the start pad as a place of its own.
#[derive(Clone, Debug)]
pub struct Flight {
    /// The lap as the report shows it.
    pub columns: LapColumns,
    /// Where the aircraft is at each sample.
    pub places: Vec<Vec3>,
    /// Its velocity there, m/s.
    pub velocities: Vec<Vec3>,
    /// How it lies there.
    pub poses: Vec<SamplePose>,
    /// Where it stands on the pad.
    pub pad_place: Vec3,
    /// How it stands there.
    pub pad_pose: SamplePose,
    /// What makes the lap hard to believe.
    pub notices: Vec<Notice>,
}

impl Weighed for Result<Flight, Notice> {}

/// Flies the course of a plan once.
///
/// # Errors
/// A blocking notice with the reason when there is no line through the gates or no lap along it.
pub fn fly(plan: &CoursePlan) -> Result<Flight, Notice> {
    let refused = |error: course::CourseError| Notice::blocking("course", error.to_string());
    let line = convert::flight_line(plan).map_err(refused)?;
    let attitude = AttitudeModel { drag_per_metre: plan.drag_per_m };
    let lap = course::lap(&line, convert::pace(&plan.pace), attitude, Metres(plan.step_m)).map_err(refused)?;
    let pad = convert::pad_pose(&plan.pad);
    let mut columns = LapColumns {
        gate_distance_m: lap.gate_distances.iter().map(|distance| distance.0).collect(),
        length_m: lap.length.0,
        duration_s: lap.duration.0,
        ..LapColumns::default()
    };
    let mut poses = Vec::with_capacity(lap.samples.len());
    for sample in &lap.samples {
        columns.time_s.push(sample.time.0);
        columns.weight_s.push(sample.duration.0);
        columns.distance_m.push(sample.distance.0);
        columns.x_m.push(sample.position.x);
        columns.y_m.push(sample.position.y);
        columns.height_m.push(sample.position.z);
        columns.speed_m_per_s.push(sample.velocity.norm());
        let thrust_up = sample.attitude.matrix()[(2, 2)].clamp(-1.0, 1.0);
        columns.tilt_deg.push(Radians(libm::acos(thrust_up)).degrees().0);
        poses.push(SamplePose {
            attitude: sample.attitude,
            velocity: sample.velocity,
            weight: sample.duration / lap.duration,
        });
    }
    Ok(Flight {
        columns,
        places: lap.samples.iter().map(|sample| sample.position).collect(),
        velocities: lap.samples.iter().map(|sample| sample.velocity).collect(),
        poses,
        pad_place: pad.position,
        pad_pose: SamplePose { attitude: pad.attitude, velocity: Vec3::zeros(), weight: 1.0 },
        notices: lap.caveats.iter().map(|caveat| Notice::remark("course", caveat.to_string())).collect(),
    })
}
