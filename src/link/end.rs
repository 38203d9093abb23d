//! One end of a link: an antenna somewhere, turned somehow, with what shades it.

use nalgebra::Rotation3;

use crate::plan::presets::{HEAD_CLEAR_DEG, HEAD_FULL_DEG, HEAD_LOSS_DB};
use crate::rf::antenna::{Antenna, PartialGains};
use crate::rf::polarization::split_hands;
use crate::rf::{ComplexVec3, Vec3};
use crate::units::{Db, Degrees, Radians};

/// An antenna turned into the world, with the losses that depend on the direction alone.
#[derive(Clone, Debug)]
pub struct End<'a> {
    /// The antenna.
    pub antenna: &'a Antenna,
    /// From the antenna's frame to the world.
    pub to_world: Rotation3<f64>,
    /// What shades it.
    pub shade: Shade,
}

/// A loss that depends on the direction seen from an end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shade {
    /// Nothing.
    Free,
    /// The aircraft's own frame.
    Frame(FrameShade),
    /// The wearer's own head.
    Head(HeadShade),
}

/// The cone of directions in which an aircraft's own frame stands before its antenna.
///
/// Full loss inside the cone's core, none outside its rim, and decibels in proportion to the cosine in between, so that
/// nothing jumps when the aircraft turns. Loss of 6 dB: common practice, no source (docs/model.md section 13: "airframe shadowing
/// 3-10 dB"); the cone's width is a choice of this model.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FrameShade {
    /// Unit axis of the cone in the world, from the antenna through the frame.
    pub axis: Vec3,
    /// Loss in the core.
    pub loss: Db,
}

impl FrameShade {
    /// Cosine of the half angle of the core: 40°.
    pub const CORE_COSINE: f64 = 0.766_044_443_118_978;
    /// Cosine of the half angle of the rim: 60°.
    pub const RIM_COSINE: f64 = 0.5;

    /// The loss toward a unit direction, zero or more.
    pub fn loss_toward(&self, direction: &Vec3) -> Db {
        let cosine = self.axis.dot(direction);
        let share = ((cosine - Self::RIM_COSINE) / (Self::CORE_COSINE - Self::RIM_COSINE)).clamp(0.0, 1.0);
        self.loss * share
    }
}

/// The shadow of the head that wears the receiver.
///
/// None up to 95° off the facing, 12 dB from 140°, decibels in proportion to the angle in between. Common practice, no
/// source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeadShade {
    /// Unit direction of the face.
    pub facing: Vec3,
}

impl HeadShade {
    /// Up to this angle off the facing the head costs nothing.
    pub const FROM: Degrees = Degrees(HEAD_CLEAR_DEG);
    /// From this angle on it costs all of [`HeadShade::MOST`].
    pub const TO: Degrees = Degrees(HEAD_FULL_DEG);
    /// The most a head costs.
    pub const MOST: Db = Db(HEAD_LOSS_DB.value);

    /// The loss toward a unit direction, zero or more.
    pub fn loss_toward(&self, direction: &Vec3) -> Db {
        let cosine = self.facing.dot(direction);
        // Most directions lie in front: no angle is needed for them. The bound is cos 95° rounded toward the front.
        if cosine > -0.087 {
            return Db(0.0);
        }
        let angle = Radians(libm::acos(cosine.max(-1.0))).degrees();
        let share = ((angle - Self::FROM) / (Self::TO - Self::FROM)).clamp(0.0, 1.0);
        Self::MOST * share
    }
}

impl Shade {
    /// The loss toward a unit direction, zero or more.
    pub fn loss_toward(&self, direction: &Vec3) -> Db {
        match self {
            Self::Free => Db(0.0),
            Self::Frame(frame) => frame.loss_toward(direction),
            Self::Head(head) => head.loss_toward(direction),
        }
    }
}

/// The field vectors of an end toward one direction, in the world, shade included.
///
/// A circular antenna's ellipse has an unknown tilt, so that its two hands have an unknown phase between them: they are
/// kept apart and added in power. A linear antenna's vector stays whole.
#[derive(Clone, Copy, Debug)]
pub struct FieldVectors {
    vectors: [ComplexVec3; 2],
    count: usize,
}

impl FieldVectors {
    /// The vectors that add in power.
    pub fn parts(&self) -> &[ComplexVec3] {
        &self.vectors[..self.count]
    }

    /// Total power gain toward the direction, shade included.
    pub fn power(&self) -> f64 {
        self.parts().iter().map(norm_sqr).sum()
    }
}

impl End<'_> {
    /// The field toward the unit `direction`, that points away from this end.
    pub fn fields(&self, direction: &Vec3) -> FieldVectors {
        let field = self.unshaded_field(direction);
        let loss = self.shade.loss_toward(direction);
        let field = if loss.0 == 0.0 { field } else { field.map(|component| component * (-loss).amplitude()) };
        if self.antenna.tilt_is_unknown() {
            let (right, left) = split_hands(&field, direction);
            FieldVectors { vectors: [right, left], count: 2 }
        } else {
            FieldVectors { vectors: [field, ComplexVec3::zeros()], count: 1 }
        }
    }

    /// The antenna's own field toward the unit `direction`, in the world, without shade.
    pub fn unshaded_field(&self, direction: &Vec3) -> ComplexVec3 {
        let local = self.antenna.field(&self.to_world.inverse_transform_vector(direction));
        rotate(&self.to_world, &local)
    }

    /// Mean over all directions of the gain in the world's vertical and horizontal polarization.
    pub fn mean_partial_gains(&self) -> PartialGains {
        self.antenna.mean_partial_gains_under(&self.to_world.inverse_transform_vector(&Vec3::z()))
    }
}

/// |v|² of a complex vector.
pub fn norm_sqr(vector: &ComplexVec3) -> f64 {
    vector.x.norm_sqr() + vector.y.norm_sqr() + vector.z.norm_sqr()
}

/// A real rotation of a complex vector.
fn rotate(rotation: &Rotation3<f64>, vector: &ComplexVec3) -> ComplexVec3 {
    let m = rotation.matrix();
    let row = |i: usize| vector.x * m[(i, 0)] + vector.y * m[(i, 1)] + vector.z * m[(i, 2)];
    ComplexVec3::new(row(0), row(1), row(2))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_head_costs_nothing_in_front_and_twelve_decibels_behind() {
        let head = HeadShade { facing: Vec3::x() };
        let toward = |degrees: f64| {
            let (sine, cosine) = libm::sincos(Degrees(degrees).radians().0);
            head.loss_toward(&Vec3::new(cosine, sine, 0.0)).0
        };
        assert_eq!(toward(0.0), 0.0);
        assert_eq!(toward(95.0).abs(), 0.0);
        assert!((toward(117.5) - 6.0).abs() < 1e-9, "half way is half the decibels");
        assert!((toward(140.0) - 12.0).abs() < 1e-9);
        assert_eq!(toward(180.0), 12.0);
    }

    #[test]
    fn a_frame_shades_its_cone_without_a_jump() {
        let frame = FrameShade { axis: -Vec3::z(), loss: Db(6.0) };
        assert_eq!(frame.loss_toward(&-Vec3::z()), Db(6.0));
        assert_eq!(frame.loss_toward(&Vec3::x()), Db(0.0));
        let mut last = 6.0;
        for step in 0..=900 {
            let (sine, cosine) = libm::sincos(Degrees(f64::from(step) * 0.1).radians().0);
            let now = frame.loss_toward(&Vec3::new(sine, 0.0, -cosine)).0;
            assert!((last - now).abs() < 0.05 && now <= last + 1e-12);
            last = now;
        }
    }
}
