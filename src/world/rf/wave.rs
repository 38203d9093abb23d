//! A wave as it travels: its field at an instant, what an antenna takes of it hand by hand, and a wall beside its way.
//!
//! Made for drawings of one wave between two antennas, so lengths are in wavelengths and time is the phase `ωt`. The field
//! of a wave that has travelled `s` wavelengths is `Re[F e^{j(ωt - 2πs)}]`; hands, frames and the unconjugated product are
//! those of [`crate::rf`].
//!
//! ```
//! use lapmargin::rf::polarization::{Ellipse, Hand};
//! use lapmargin::rf::wave::meet;
//! let right = Ellipse::circular(Hand::Right);
//! let matched = meet(&right, &right, 6.0, None).direct.taken;
//! assert!((matched.total().norm_sqr() - 1.0).abs() < 1e-12);
//! let crossed = meet(&right, &Ellipse::circular(Hand::Left), 6.0, None).direct.taken;
//! assert!(crossed.total().norm_sqr() < 1e-12);
//! ```

#[cfg(test)]
mod tests;

use std::f64::consts::TAU;
use std::ops::RangeInclusive;

use num_complex::Complex64;

use super::material::{Material, MaterialError};
use super::polarization::{Ellipse, Jones, ellipse_of, split_hands, travel_frame};
use super::reflection::{Coefficients, mirror_direction, reflection_matrix, slab_averaged};
use super::{ComplexVec3, Vec3, phasor};
use crate::units::{Db, Degrees, Hertz, Metres, Radians};

/// Angles between ray and wall that [`meet`] takes: nearer to grazing the wall would stand inside the drawn wave, steeper
/// the bounce comes from so far away that it no longer counts.
pub const GRAZING: RangeInclusive<Degrees> = Degrees(5.0)..=Degrees(70.0);

/// A plane wave: its field where it sets out, and where it goes.
#[derive(Clone, Debug, PartialEq)]
pub struct Wave {
    /// The complex field vector where the wave sets out; transversal.
    pub field: ComplexVec3,
    /// Direction of travel, a unit vector.
    pub direction: Vec3,
}

impl Wave {
    /// The wave of unit power that an antenna of this ellipse sends in a direction (a unit vector). The ellipse's tilt is
    /// measured in [`travel_frame`]: from horizontal, clockwise for someone who looks along the travel.
    pub fn of(ellipse: &Ellipse, direction: Vec3) -> Self {
        let (horizontal, upward) = travel_frame(&direction);
        let Jones { x, y } = ellipse.jones();
        let field = ComplexVec3::from_fn(|axis, _| x * horizontal[axis] + y * upward[axis]);
        Self { field, direction }
    }

    /// The complex field after so many wavelengths.
    pub fn after(&self, travelled: f64) -> ComplexVec3 {
        let turn = phasor(-TAU * travelled);
        self.field.map(|value| value * turn)
    }

    /// The field that is there, after so many wavelengths and at the phase `ωt`.
    pub fn at(&self, travelled: f64, phase: Radians) -> Vec3 {
        let turn = phasor(phase.0 - TAU * travelled);
        self.field.map(|value| (value * turn).re)
    }

    /// The tip of the field for someone who stands behind the wave and looks along its travel: to the right, and upward.
    ///
    /// Seen so, a right-hand wave turns clockwise as the phase grows.
    pub fn from_behind(&self, travelled: f64, phase: Radians) -> [f64; 2] {
        let (horizontal, upward) = travel_frame(&self.direction);
        let field = self.at(travelled, phase);
        // The frame's horizontal axis points to the right for someone who faces the wave.
        [-field.dot(&horizontal), field.dot(&upward)]
    }

    /// The ellipse that the field draws; `None` for a field of zero.
    pub fn ellipse(&self) -> Option<Ellipse> {
        ellipse_of(&self.field, &self.direction)
    }
}

/// What an antenna takes of a wave, as voltages: one part for each hand. A part is 1 in size when all of a wave of unit
/// power is of that hand and the antenna is made for it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Taken {
    /// From the right-hand part of the wave.
    pub right: Complex64,
    /// From the left-hand part.
    pub left: Complex64,
}

impl Taken {
    /// What an antenna of this ellipse takes of a field that arrives along `direction`. The ellipse is that of the wave
    /// which the antenna would send back against it.
    pub fn of(antenna: &Ellipse, field: &ComplexVec3, direction: &Vec3) -> Self {
        let sent = Wave::of(antenna, -direction);
        let (right, left) = split_hands(field, direction);
        let product = |part: &ComplexVec3| (0..3).map(|axis| sent.field[axis] * part[axis]).sum();
        Self { right: product(&right), left: product(&left) }
    }

    /// The same with its phase counted from the larger part of `reference`, which so becomes real and positive. Unchanged
    /// where that is zero.
    pub fn against(&self, reference: &Taken) -> Self {
        let Taken { right, left } = reference;
        let larger = if left.norm_sqr() > right.norm_sqr() { left } else { right };
        let size = larger.norm_sqr().sqrt();
        if size == 0.0 {
            return *self;
        }
        let turn = larger.conj() / size;
        Self { right: self.right * turn, left: self.left * turn }
    }

    /// The voltage at the antenna's connector.
    pub fn total(&self) -> Complex64 {
        self.right + self.left
    }
}

/// A wall beside the two antennas.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SideWall {
    /// What it is made of.
    pub material: Material,
    /// How thick it is; what comes back from inside is averaged over its phase ([`slab_averaged`]).
    pub thickness: Metres,
    /// Angle between the ray and the wall, in [`GRAZING`].
    pub grazing: Degrees,
}

impl SideWall {
    /// Its coefficients for the two linear polarizations.
    ///
    /// # Errors
    /// [`MaterialError`] when the material has no permittivity at this frequency.
    pub fn coefficients(&self, frequency: Hertz) -> Result<Coefficients, MaterialError> {
        let permittivity = self.material.permittivity(frequency)?;
        Ok(slab_averaged(permittivity.value, self.thickness, frequency, libm::sin(self.grazing.radians().0)).reflected)
    }
}

/// One way of a wave from antenna to antenna.
#[derive(Clone, Debug, PartialEq)]
pub struct Arrival {
    /// The wave as it arrives, its field taken where its last leg begins.
    pub wave: Wave,
    /// Length of the last leg, in wavelengths.
    pub leg: f64,
    /// What the receiving antenna takes of it, against the direct wave's unit power; its phase is counted from that of the
    /// direct wave on arrival.
    pub taken: Taken,
}

/// A wave by way of the wall.
#[derive(Clone, Debug, PartialEq)]
pub struct WallBounce {
    /// The wave up to the wall; its leg is as long as the arriving one.
    pub before: Wave,
    /// The wave behind the bounce, weaker by what the wall keeps *and* by its longer way.
    pub arrival: Arrival,
    /// Where it meets the wall, in wavelengths.
    pub at: Vec3,
}

impl WallBounce {
    /// Whether the wall turned the hand of the wave over; `None` where one of the two waves has no hand.
    pub fn is_turned_over(&self) -> Option<bool> {
        let hand = |wave: &Wave| wave.ellipse().and_then(|ellipse| ellipse.hand);
        Some(hand(&self.before)? != hand(&self.arrival.wave)?)
    }
}

/// Two antennas that meet over one wave, and perhaps a second by way of a wall.
#[derive(Clone, Debug, PartialEq)]
pub struct Meeting {
    /// The wave on the straight line.
    pub direct: Arrival,
    /// The wave by way of the wall.
    pub bounce: Option<WallBounce>,
}

impl Meeting {
    /// The voltage of all waves together.
    pub fn total(&self) -> Complex64 {
        self.direct.taken.total()
            + self.bounce.as_ref().map_or_else(Complex64::default, |bounce| bounce.arrival.taken.total())
    }

    /// The fields of all ways where the receiver stands, as someone takes them who looks along the straight line: what of the
    /// bounced field points along that line is left out.
    pub fn together(&self) -> Wave {
        let mut field = self.direct.wave.after(self.direct.leg);
        if let Some(WallBounce { arrival, .. }) = &self.bounce {
            field += arrival.wave.after(arrival.leg);
        }
        field.x = Complex64::default();
        // Counted from the phase of the direct wave there.
        let turn = phasor(TAU * self.direct.leg);
        Wave { field: field.map(|value| value * turn), direction: Vec3::x() }
    }

    /// Least and greatest level of the sum, against a direct wave that is wholly taken, when the antennas are moved by a few
    /// centimetres: the two voltages against each other and with each other. Equal without a wall.
    pub fn range(&self) -> [Db; 2] {
        let size = |value: Complex64| value.norm_sqr().sqrt();
        let direct = size(self.direct.taken.total());
        let bounce = self.bounce.as_ref().map_or(0.0, |bounce| size(bounce.arrival.taken.total()));
        [direct - bounce, direct + bounce].map(|sum| Db::from_ratio(sum * sum))
    }
}

/// What happens between a sending and a receiving antenna `separation` wavelengths apart.
///
/// The sender stands at the origin, the receiver at `x = separation`, both in the plane `z = 0`; the wall stands upright
/// along the line, on the side of positive y, where the given angle puts it (kept within [`GRAZING`]), with these
/// coefficients. Each ellipse is that of the wave its antenna sends toward the other; toward the wall it is taken to be
/// the same, since a drawing of one wave knows no patterns.
pub fn meet(sender: &Ellipse, receiver: &Ellipse, separation: f64, wall: Option<(Degrees, Coefficients)>) -> Meeting {
    let direct = Wave::of(sender, Vec3::x());
    let taken = Taken::of(receiver, &direct.field, &direct.direction);
    let bounce = wall.map(|(grazing, coefficients)| {
        let grazing = grazing.0.clamp(GRAZING.start().0, GRAZING.end().0);
        let (sine, cosine) = libm::sincos(Degrees(grazing).radians().0);
        let leg = 0.5 * separation / cosine;
        let before = Wave::of(sender, Vec3::new(cosine, sine, 0.0));
        let normal = Vec3::y();
        // Fields fall with the length of the way: separation over two legs.
        let turned = reflection_matrix(&before.direction, &normal, coefficients) * before.after(leg);
        let wave =
            Wave { field: turned.map(|value| value * cosine), direction: mirror_direction(&before.direction, &normal) };
        let arriving = wave.after(leg - separation);
        let taken = Taken::of(receiver, &arriving, &wave.direction);
        let at = before.direction * leg;
        WallBounce { before, arrival: Arrival { wave, leg, taken }, at }
    });
    Meeting { direct: Arrival { wave: direct, leg: separation, taken }, bounce }
}
