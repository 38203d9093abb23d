//! How the aircraft leans.

use std::ops::RangeInclusive;

use nalgebra::{Matrix3, Rotation3};

use super::error::CourseError;
use super::heading_direction;
use crate::rf::Vec3;
use crate::units::Radians;

/// Standard gravity, m/s² (exact by definition, third General Conference on Weights and Measures, 1901; from memory).
pub const STANDARD_GRAVITY: f64 = 9.806_65;

/// Quadratic drags that can be asked for, 1/m. At the upper end an aircraft at 10 m/s would need ten times gravity
/// forward.
pub const DRAG_PER_METRE: RangeInclusive<f64> = 0.0..=1.0;

/// Below this share of gravity the thrust has no direction of its own and the aircraft is taken as upright.
const NO_THRUST: f64 = 1e-6;

/// A place and how a body is turned there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pose {
    /// Where, metres.
    pub position: Vec3,
    /// From the body frame (x forward, y left, z up through the body) to the world.
    pub attitude: Rotation3<f64>,
}

impl Pose {
    /// A level body at a heading, clockwise from north: an aircraft on its start pad.
    pub fn level(position: Vec3, heading: Radians) -> Self {
        let forward = heading_direction(heading);
        Self { position, attitude: frame(&forward, &Vec3::z()) }
    }
}

/// A multirotor that leans so that its thrust balances gravity, drag and the turn, and looks where it flies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AttitudeModel {
    /// Deceleration by drag over squared speed, 1/m, within [`DRAG_PER_METRE`]: the drag is `k |v| v`.
    pub drag_per_metre: f64,
}

impl Default for AttitudeModel {
    /// 0.02 1/m: 28° of lean at a steady 16 m/s (common practice, no source).
    fn default() -> Self {
        Self { drag_per_metre: 0.02 }
    }
}

impl AttitudeModel {
    pub(super) fn check(&self) -> Result<(), CourseError> {
        let got = self.drag_per_metre;
        if DRAG_PER_METRE.contains(&got) { Ok(()) } else { Err(CourseError::Drag { got }) }
    }

    /// From the body frame to the world, at a velocity (m/s) and an acceleration (m/s²).
    ///
    /// The body's z is the direction of `a + g z + k |v| v`; in free fall without drag there is no thrust, and it is
    /// upright. Its x is the direction of flight made perpendicular to that. In level flight this is the heading; the
    /// steeper the thrust and the flight lie along one line, the more the heading alone counts, so that a climb over a
    /// wall does not turn the nose backward while a dive through a vertical turn still follows the line. With no speed,
    /// or straight up, `nose_before` (any direction, usually the body's last x) takes its place.
    pub fn attitude(&self, velocity: &Vec3, acceleration: &Vec3, nose_before: &Vec3) -> Rotation3<f64> {
        let speed = velocity.norm();
        let thrust = acceleration + Vec3::new(0.0, 0.0, STANDARD_GRAVITY) + velocity * (self.drag_per_metre * speed);
        let size = thrust.norm();
        let up = if size > NO_THRUST * STANDARD_GRAVITY { thrust / size } else { Vec3::z() };
        if speed > 0.0 {
            let mut forward = velocity / speed;
            forward.z *= 1.0 - weight_of_heading(forward.dot(&up));
            if is_across(&forward, &up) {
                return frame(&forward, &up);
            }
        }
        if is_across(nose_before, &up) {
            return frame(nose_before, &up);
        }
        // At least one of two axes is well away from any third direction.
        frame(&if up.y.abs() < 0.8 { Vec3::y() } else { Vec3::x() }, &up)
    }
}

/// How much the heading alone counts, 0 to 1, from the cosine between thrust and flight: nothing from 60° on, all within
/// 30°, smooth between.
fn weight_of_heading(cosine: f64) -> f64 {
    let share = ((cosine * cosine - 0.25) / 0.5).clamp(0.0, 1.0);
    share * share * (3.0 - 2.0 * share)
}

/// Whether a direction has enough of it across `up` to say where the nose points.
fn is_across(direction: &Vec3, up: &Vec3) -> bool {
    (direction - up * direction.dot(up)).norm_squared() > 1e-12
}

/// The frame whose z is the unit vector `up` and whose x lies nearest to `forward`, which is not along `up`.
fn frame(forward: &Vec3, up: &Vec3) -> Rotation3<f64> {
    let left = up.cross(forward).normalize();
    Rotation3::from_matrix_unchecked(Matrix3::from_columns(&[left.cross(up), left, *up]))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn axes(rotation: &Rotation3<f64>) -> [Vec3; 3] {
        [rotation * Vec3::x(), rotation * Vec3::y(), rotation * Vec3::z()]
    }

    #[track_caller]
    fn check_axes(rotation: &Rotation3<f64>, wanted: [Vec3; 3]) {
        for (got, wanted) in axes(rotation).iter().zip(wanted) {
            assert!((got - wanted).norm() < 1e-12, "{got} instead of {wanted}");
        }
    }

    #[test]
    fn a_pad_facing_east_has_its_left_to_the_north() {
        let pose = Pose::level(Vec3::new(1.0, 2.0, 0.1), Radians(std::f64::consts::FRAC_PI_2));
        check_axes(&pose.attitude, [Vec3::x(), Vec3::y(), Vec3::z()]);
    }

    #[test]
    fn hovering_and_free_fall_stay_upright_with_the_nose_where_it_was() {
        let model = AttitudeModel::default();
        let upright = [Vec3::y(), -Vec3::x(), Vec3::z()];
        check_axes(&model.attitude(&Vec3::zeros(), &Vec3::zeros(), &Vec3::y()), upright);
        let falling = Vec3::new(0.0, 0.0, -STANDARD_GRAVITY);
        check_axes(&model.attitude(&Vec3::zeros(), &falling, &Vec3::y()), upright);
        check_axes(&AttitudeModel { drag_per_metre: 0.0 }.attitude(&Vec3::y(), &falling, &Vec3::x()), upright);
    }

    #[test]
    fn drag_tips_the_nose_down_by_its_share_of_gravity() {
        let speed = 16.0;
        let rotation = AttitudeModel::default().attitude(&Vec3::new(0.0, speed, 0.0), &Vec3::zeros(), &Vec3::x());
        let [forward, left, up] = axes(&rotation);
        assert!((up.y / up.z - 0.02 * speed * speed / STANDARD_GRAVITY).abs() < 1e-12);
        assert!(forward.z < 0.0 && (left + Vec3::x()).norm() < 1e-12);
    }

    #[test]
    fn a_push_over_a_wall_keeps_the_nose_ahead_and_a_vertical_turn_follows_the_line() {
        let model = AttitudeModel { drag_per_metre: 0.0 };
        // Nearly straight up, leaning ahead.
        let over = model.attitude(&Vec3::new(0.1, 0.0, 5.0), &Vec3::new(3.0, 0.0, -2.0), &Vec3::y());
        assert!((axes(&over)[1] - Vec3::y()).norm() < 1e-12);
        // Half way down a vertical half circle: the thrust points to its centre, the nose down.
        for sideways in [-0.3, 0.0, 0.3] {
            let down = model.attitude(&Vec3::new(sideways, 0.0, -5.0), &Vec3::new(-25.0, 0.0, 0.0), &Vec3::y());
            assert!(axes(&down)[0].z < -0.9);
            assert!((axes(&down)[1] + Vec3::y()).norm() < 1e-12);
        }
    }

    #[test]
    fn every_direction_gives_a_proper_rotation() {
        let model = AttitudeModel::default();
        let directions = [Vec3::zeros(), Vec3::x(), -Vec3::y(), Vec3::z(), -Vec3::z(), Vec3::new(1e-300, 0.0, 1.0)];
        for velocity in directions {
            for acceleration in directions {
                for before in directions {
                    let rotation = model.attitude(&(velocity * 9.0), &(acceleration * -STANDARD_GRAVITY), &before);
                    let matrix = rotation.matrix();
                    assert!((matrix * matrix.transpose() - Matrix3::identity()).norm() < 1e-12);
                    assert!((matrix.determinant() - 1.0).abs() < 1e-12);
                }
            }
        }
    }
}
