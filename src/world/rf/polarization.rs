//! Polarization of a wave: Jones vectors, ellipses, hands, and what one antenna hears of another.
//!
//! Hands and the time factor are fixed in [`crate::rf`]. A [`Jones`] vector is written in the *travel frame* of its
//! wave: `x × y` = direction of travel. Seen from the other end of the path a tilt changes its sign; a hand does not
//! change.

use num_complex::Complex64;
use serde::{Deserialize, Serialize};

use super::{ComplexVec3, Vec3};
use crate::units::{Db, Degrees, Radians};

/// Minor over major axis below which an ellipse counts as a line and has no hand. It stands for 180 dB of axial ratio:
/// far beyond any antenna, and well above the rounding of a double.
const LINE: f64 = 1e-9;

/// Sense of rotation of a circular or elliptical wave, after IEEE Std 145: right = clockwise, looking along the travel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Hand {
    /// Clockwise seen from behind the wave.
    Right,
    /// Counter-clockwise seen from behind the wave.
    Left,
}

impl Hand {
    /// The other hand.
    pub fn opposite(self) -> Self {
        match self {
            Hand::Right => Hand::Left,
            Hand::Left => Hand::Right,
        }
    }

    /// The hand as an English word, as written in plans and reports.
    pub fn name(self) -> &'static str {
        match self {
            Hand::Right => "right",
            Hand::Left => "left",
        }
    }

    /// +1 for right, -1 for left: the sign that formulas call `h`.
    pub fn sign(self) -> f64 {
        match self {
            Hand::Right => 1.0,
            Hand::Left => -1.0,
        }
    }
}

impl std::fmt::Display for Hand {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        formatter.write_str(self.name())
    }
}

/// What is wrong with a description of a polarization.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PolarizationError {
    /// An axial ratio is a major over a minor axis, so it is never under 0 dB.
    #[error("an axial ratio of {got} is not possible: it is 0 dB for a circle and grows to infinity for a line")]
    AxialRatio {
        /// What was given.
        got: Db,
    },
    /// The tilt is not a finite angle.
    #[error("a tilt of {got} is not a finite angle")]
    Tilt {
        /// What was given.
        got: Degrees,
    },
}

/// A transversal complex field in the travel frame of its wave (`x × y` = direction of travel), any unit of field.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Jones {
    /// Component along the first axis.
    pub x: Complex64,
    /// Component along the second axis.
    pub y: Complex64,
}

impl Jones {
    /// The unit circular state of a hand: right `(1, -j)/√2`, left `(1, +j)/√2`.
    pub fn circular(hand: Hand) -> Self {
        let half = std::f64::consts::FRAC_1_SQRT_2;
        Self { x: Complex64::new(half, 0.0), y: Complex64::new(0.0, -hand.sign() * half) }
    }

    /// The unit linear state at a tilt from `x` toward `y`.
    pub fn linear(tilt: Degrees) -> Self {
        let (sine, cosine) = libm::sincos(tilt.radians().0);
        Self { x: Complex64::new(cosine, 0.0), y: Complex64::new(sine, 0.0) }
    }

    /// The right-hand and the left-hand component, `E_R = (x + jy)/√2`, `E_L = (x - jy)/√2`.
    pub fn hands(&self) -> (Complex64, Complex64) {
        let half = std::f64::consts::FRAC_1_SQRT_2;
        let turned = Complex64::new(-self.y.im, self.y.re);
        ((self.x + turned) * half, (self.x - turned) * half)
    }

    /// Sum of the squared components.
    pub fn power(&self) -> f64 {
        self.x.norm_sqr() + self.y.norm_sqr()
    }

    /// The ellipse that the field's tip draws; `None` for a field of zero, which has none.
    ///
    /// Minor axes under 1e-9 of the major one count as zero: the state is then linear and without a hand.
    pub fn ellipse(&self) -> Option<Ellipse> {
        let (right, left) = self.hands();
        let (right_size, left_size) = (right.norm_sqr().sqrt(), left.norm_sqr().sqrt());
        let major = right_size + left_size;
        if !(major > 0.0 && major.is_finite()) {
            return None;
        }
        // `|E_R| - |E_L|` loses digits when the two are alike; `|E_R|² - |E_L|² = -2 Im(x* y)` over their sum does not.
        let minor_signed = 2.0 * (self.x.im * self.y.re - self.x.re * self.y.im) / major;
        let inverse_ratio = (minor_signed / major).clamp(-1.0, 1.0);
        let cross = right * left.conj();
        // A circle has no axis: its tilt is reported as zero rather than as rounding noise.
        let tilt = if inverse_ratio.abs() > 1.0 - 1e-14 {
            Degrees(0.0)
        } else {
            Degrees(Radians(libm::atan2(cross.im, cross.re) / 2.0).degrees().0)
        };
        if inverse_ratio.abs() < LINE {
            return Some(Ellipse { hand: None, axial_ratio: Db(f64::INFINITY), tilt });
        }
        let hand = if inverse_ratio > 0.0 { Hand::Right } else { Hand::Left };
        // Adding zero turns the -0 of a perfect circle into 0.
        let axial_ratio = Db(-20.0 * libm::log10(inverse_ratio.abs()) + 0.0);
        Some(Ellipse { hand: Some(hand), axial_ratio, tilt })
    }
}

/// The polarization ellipse of a wave in its travel frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ellipse {
    /// Sense of rotation; `None` for a linear wave.
    pub hand: Option<Hand>,
    /// Major over minor axis as a field ratio in decibels: 0 for a circle, infinite for a line.
    pub axial_ratio: Db,
    /// Direction of the major axis, from `x` toward `y`, in (-90°, 90°] when computed by this module. Without meaning
    /// for a circle.
    pub tilt: Degrees,
}

impl Ellipse {
    /// An ellipse of a hand; an infinite axial ratio makes it linear and drops the hand.
    ///
    /// # Errors
    /// [`PolarizationError`] when the axial ratio is negative or not a number, or the tilt is not finite.
    pub fn new(hand: Hand, axial_ratio: Db, tilt: Degrees) -> Result<Self, PolarizationError> {
        if axial_ratio.0.is_nan() || axial_ratio.0 < 0.0 {
            return Err(PolarizationError::AxialRatio { got: axial_ratio });
        }
        if !tilt.0.is_finite() {
            return Err(PolarizationError::Tilt { got: tilt });
        }
        let hand = if axial_ratio.0.is_finite() { Some(hand) } else { None };
        Ok(Self { hand, axial_ratio, tilt })
    }

    /// A perfect circle of a hand.
    pub fn circular(hand: Hand) -> Self {
        Self { hand: Some(hand), axial_ratio: Db(0.0), tilt: Degrees(0.0) }
    }

    /// A line at a tilt from `x` toward `y`.
    pub fn linear(tilt: Degrees) -> Self {
        Self { hand: None, axial_ratio: Db(f64::INFINITY), tilt }
    }

    /// Minor over major axis with the sign of the hand: +1 right circle, 0 line, -1 left circle.
    pub fn signed_inverse_ratio(&self) -> f64 {
        self.hand.map_or(0.0, |hand| hand.sign() * (-self.axial_ratio).amplitude())
    }

    /// The unit Jones vector of this ellipse: `(1, -jq)` turned by the tilt and normalised, `q` the signed inverse
    /// axial ratio.
    pub fn jones(&self) -> Jones {
        let inverse_ratio = self.signed_inverse_ratio();
        let scale = 1.0 / (1.0 + inverse_ratio * inverse_ratio).sqrt();
        let (sine, cosine) = libm::sincos(self.tilt.radians().0);
        Jones {
            x: Complex64::new(cosine, inverse_ratio * sine) * scale,
            y: Complex64::new(sine, -inverse_ratio * cosine) * scale,
        }
    }

    /// Share of the power that is in the right-hand component, 0 to 1.
    pub fn right_hand_share(&self) -> f64 {
        let inverse_ratio = self.signed_inverse_ratio();
        (1.0 + inverse_ratio) * (1.0 + inverse_ratio) / (2.0 * (1.0 + inverse_ratio * inverse_ratio))
    }
}

/// Power that an antenna takes from a wave, as a share of what it would take from a wave matched to it, 0 to 1.
///
/// Both are wave states in *one* travel frame: `best_received` is the wave that the antenna receives best. It is the
/// conjugated inner product; two vectors in space, one per end, take the unconjugated one (see [`crate::rf`]). A zero
/// vector couples nothing.
pub fn coupling(wave: &Jones, best_received: &Jones) -> f64 {
    let power = wave.power() * best_received.power();
    if power == 0.0 {
        return 0.0;
    }
    let inner = wave.x * best_received.x.conj() + wave.y * best_received.y.conj();
    (inner.norm_sqr() / power).clamp(0.0, 1.0)
}

/// The two terms of the closed form below that do not depend on the tilts: the mean, and the height of the swing.
fn mean_and_swing(first: f64, second: f64) -> (f64, f64) {
    let scale = 1.0 / ((1.0 + first * first) * (1.0 + second * second));
    let mean = 0.5 + 2.0 * first * second * scale;
    (mean, 0.5 * (1.0 - first * first) * (1.0 - second * second) * scale)
}

/// [`coupling`] of two ellipses in one travel frame, in closed form.
///
/// `p = 1/2 + [4 s1 s2 + (s1²-1)(s2²-1) cos 2Δτ] / [2 (s1²+1)(s2²+1)]`, `s` = signed axial ratio; written here with
/// `1/s`, so that a line is a number. Source: textbook form, carried alike by two public antenna codes. Checked against
/// `tests/reference/polarisation_mismatch.csv`.
pub fn efficiency(wave: &Ellipse, best_received: &Ellipse) -> f64 {
    let (mean, swing) = mean_and_swing(wave.signed_inverse_ratio(), best_received.signed_inverse_ratio());
    let turn = (wave.tilt - best_received.tilt).radians().0;
    (mean + swing * libm::cos(2.0 * turn)).clamp(0.0, 1.0)
}

/// What two ellipses of unknown tilt may couple: shares of power, 0 to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// At the worst relative tilt.
    pub least: f64,
    /// Exact mean over all relative tilts.
    pub mean: f64,
    /// At the best relative tilt.
    pub most: f64,
}

impl Spread {
    /// The spread over all relative tilts of two ellipses; their own tilts are ignored.
    ///
    /// The mean equals the sum of the products of the two right-hand and of the two left-hand shares.
    pub fn over_unknown_tilts(first: &Ellipse, second: &Ellipse) -> Self {
        let (mean, swing) = mean_and_swing(first.signed_inverse_ratio(), second.signed_inverse_ratio());
        Self { least: (mean - swing).clamp(0.0, 1.0), mean, most: (mean + swing).clamp(0.0, 1.0) }
    }
}

/// Cross-polar discrimination of one antenna against pure circular waves: how far it hears the other hand below its own,
/// `20 log10((r+1)/(r-1))`. Infinite for a perfect circle, zero for a line. `axial_ratio` is 0 dB or more.
pub fn cross_polar_discrimination(axial_ratio: Db) -> Db {
    let inverse_ratio = (-axial_ratio).amplitude();
    // expm1 keeps the digits of a nearly perfect circle.
    let gap = -libm::expm1(-axial_ratio.0 * (std::f64::consts::LN_10 / 20.0));
    Db(20.0 * libm::log10((1.0 + inverse_ratio) / gap))
}

/// Axial ratio of an antenna with this cross-polar discrimination; the inverse of [`cross_polar_discrimination`].
/// `discrimination` is 0 dB or more; 0 dB gives an infinite axial ratio.
pub fn axial_ratio_of_discrimination(discrimination: Db) -> Db {
    let leak = (-discrimination).amplitude();
    let gap = -libm::expm1(-discrimination.0 * (std::f64::consts::LN_10 / 20.0));
    Db(20.0 * libm::log10((1.0 + leak) / gap))
}

/// Isolation between two antennas of opposite hands at the worst relative tilt of their ellipses.
///
/// It is much less than either antenna's discrimination: two of 3 dB axial ratio isolate by 9.6 dB, though each alone
/// keeps 15.3 dB against a pure wave.
pub fn worst_isolation(first_axial_ratio: Db, second_axial_ratio: Db) -> Db {
    let first = (-first_axial_ratio).amplitude();
    let second = -(-second_axial_ratio).amplitude();
    let (mean, swing) = mean_and_swing(first, second);
    Db(-10.0 * libm::log10((mean + swing).clamp(0.0, 1.0)))
}

/// `direction × field`, the cross product of a real and a complex vector.
fn cross(direction: &Vec3, field: &ComplexVec3) -> ComplexVec3 {
    ComplexVec3::new(
        field.z * direction.y - field.y * direction.z,
        field.x * direction.z - field.z * direction.x,
        field.y * direction.x - field.x * direction.y,
    )
}

/// The right-hand and left-hand parts of a field vector that travels along the unit vector `direction`; they add up to
/// `field`.
///
/// `F_R = (F - j k × F)/2`, `F_L = (F + j k × F)/2`: for a right-hand wave `k × F = jF`. The field is transversal.
pub fn split_hands(field: &ComplexVec3, direction: &Vec3) -> (ComplexVec3, ComplexVec3) {
    let turned = cross(direction, field).map(|value| Complex64::new(-value.im, value.re) * 0.5);
    let half = field.map(|value| value * 0.5);
    (half - turned, half + turned)
}

/// The axes of the travel frame used on arrival: `x` horizontal, `y` upward, `x × y` = `direction` (unit).
///
/// Facing the arriving wave, `x` points to the right. For a vertical direction `x` points to east.
pub fn travel_frame(direction: &Vec3) -> (Vec3, Vec3) {
    let level = direction.x * direction.x + direction.y * direction.y;
    let horizontal = if level > 1e-24 {
        let scale = 1.0 / level.sqrt();
        Vec3::new(-direction.y * scale, direction.x * scale, 0.0)
    } else {
        Vec3::new(1.0, 0.0, 0.0)
    };
    (horizontal, direction.cross(&horizontal))
}

/// Ellipse of a field vector that travels along the unit vector `direction`, in the frame of [`travel_frame`]: the tilt
/// is measured from horizontal, counter-clockwise for someone who faces the arriving wave. `None` for a field of zero.
pub fn ellipse_of(field: &ComplexVec3, direction: &Vec3) -> Option<Ellipse> {
    let (horizontal, upward) = travel_frame(direction);
    let along = |axis: &Vec3| field.x * axis.x + field.y * axis.y + field.z * axis.z;
    Jones { x: along(&horizontal), y: along(&upward) }.ellipse()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_circle_is_all_of_one_hand() {
        for hand in [Hand::Right, Hand::Left] {
            let (right, left) = Jones::circular(hand).hands();
            let (own, other) = if hand == Hand::Right { (right, left) } else { (left, right) };
            assert!((own.norm_sqr() - 1.0).abs() < 1e-15 && other.norm_sqr() < 1e-30);
            let ellipse = Jones::circular(hand).ellipse().unwrap();
            assert_eq!(ellipse.hand, Some(hand));
            assert!(ellipse.axial_ratio.0.abs() < 1e-12);
        }
    }

    #[test]
    fn zero_and_lines_have_no_hand() {
        assert_eq!(Jones { x: Complex64::new(0.0, 0.0), y: Complex64::new(0.0, 0.0) }.ellipse(), None);
        let line = Jones::linear(Degrees(25.0)).ellipse().unwrap();
        assert_eq!(line.hand, None);
        assert_eq!(line.axial_ratio, Db(f64::INFINITY));
        assert!((line.tilt.0 - 25.0).abs() < 1e-12);
    }

    #[test]
    fn splitting_agrees_with_the_jones_components() {
        // Travel along z: the world's x and y are the travel frame.
        let jones = Ellipse::new(Hand::Left, Db(4.0), Degrees(33.0)).unwrap().jones();
        let field = ComplexVec3::new(jones.x, jones.y, Complex64::new(0.0, 0.0));
        let (right, left) = split_hands(&field, &Vec3::new(0.0, 0.0, 1.0));
        let (right_part, left_part) = jones.hands();
        let power = |vector: &ComplexVec3| vector.iter().map(|value| value.norm_sqr()).sum::<f64>();
        assert!((power(&right) - right_part.norm_sqr()).abs() < 1e-15);
        assert!((power(&left) - left_part.norm_sqr()).abs() < 1e-15);
        assert!(power(&(right + left - field)) < 1e-30);
    }

    #[test]
    fn impossible_ellipses_are_refused() {
        assert!(Ellipse::new(Hand::Right, Db(-0.1), Degrees(0.0)).is_err());
        assert!(Ellipse::new(Hand::Right, Db(f64::NAN), Degrees(0.0)).is_err());
        assert!(Ellipse::new(Hand::Right, Db(1.0), Degrees(f64::NAN)).is_err());
        assert_eq!(Ellipse::new(Hand::Right, Db(f64::INFINITY), Degrees(5.0)).unwrap(), Ellipse::linear(Degrees(5.0)));
    }
}
