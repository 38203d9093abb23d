//! Antennas that look along +x: patches from the cavity model, panels of them, and the axial-mode helix.

use super::model::{AxialHelix, CircularPatch, LinearPatch};
use crate::rf::Vec3;
use crate::rf::polarization::Hand;
use crate::units::{Db, Degrees};

/// Cosine of the angle off the plate at which the front pattern is fully there; at its negative it is gone. A plate of
/// finite size does not cut the field off at its edge, so the two sides run into each other between 70° and 110°.
const EDGE: f64 = 0.35;

/// Half-power beamwidth of an axial-mode helix, `52/(C √(N S))` degrees; circumference and turn spacing in wavelengths.
/// Source: Kraus, as carried by a textbook's companion program.
pub fn kraus_beamwidth(circumference: f64, spacing: f64, turns: f64) -> Degrees {
    Degrees(52.0 / (circumference * (turns * spacing).sqrt()))
}

/// Directivity ratio of an axial-mode helix, `12 C² N S`; circumference and turn spacing in wavelengths.
///
/// Source: Kraus (revised). An older form has 15 in place of 12, 1 dB more; measured gains lie 1 to 3 dB below.
pub fn kraus_directivity(circumference: f64, spacing: f64, turns: f64) -> f64 {
    12.0 * circumference * circumference * turns * spacing
}

/// Axial ratio of an axial-mode helix on its axis, `(2N + 1)/(2N)`. Source: Kraus, as carried by a companion program.
pub fn kraus_axial_ratio(turns: f64) -> Db {
    Db(20.0 * libm::log10((2.0 * turns + 1.0) / (2.0 * turns)))
}

/// `sin x / x` from the sine already known.
fn sinc(sine: f64, angle: f64) -> f64 {
    if angle.abs() < 1e-9 { 1.0 } else { sine / angle }
}

/// What one element radiates, before the beam is narrowed.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Element {
    /// Two crossed cavity modes of a square patch; `half_side` is `k L_e / 2`.
    Patch { half_side: f64 },
    /// A Huygens source: the smooth circular beam of a travelling wave, without side lobes.
    Helix,
}

/// A beam along +x: an element times a smooth narrowing in front, a faint copy of the patch field behind.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Beam {
    element: Element,
    /// Front field is divided by `(1 + narrowing (1 - cos))²`.
    narrowing: f64,
    /// Field straight behind over field straight ahead.
    back: f64,
    /// Field of the mode along z, straight ahead.
    along_z: f64,
    /// Field of the mode along y, straight ahead.
    along_y: f64,
    /// Sign of the quadrature between the modes, `-h`; without meaning for a linear patch.
    quadrature: f64,
}

/// Amplitudes of two crossed fields whose powers add to 1 and whose ratio is the axial ratio.
fn unequal_pair(axial_ratio: Db) -> (f64, f64) {
    let inverse = (-axial_ratio).amplitude();
    let major = 1.0 / (1.0 + inverse * inverse).sqrt();
    (major, inverse * major)
}

fn quadrature(hand: Hand) -> f64 {
    -hand.sign()
}

/// Power of a square patch relative to straight ahead, mean of the two principal planes.
fn mean_cut(half_side: f64, sine: f64, cosine: f64) -> f64 {
    let angle = half_side * sine;
    let (sine_angle, cosine_angle) = libm::sincos(angle);
    let other = cosine * sinc(sine_angle, angle);
    0.5 * (cosine_angle * cosine_angle + other * other)
}

/// Size and narrowing of a patch that make its mean cut fall to one half at the edge of the beam.
///
/// A wide beam is a patch on a dielectric: the smaller the patch, the wider. The widest plain patch lies on air
/// (`k L_e / 2 = π/2`, 65.6°); narrower beams take more patches side by side, which the narrowing stands for.
fn fit_patch(beamwidth: Degrees) -> (f64, f64) {
    let (sine, cosine) = libm::sincos(beamwidth.radians().0 / 2.0);
    let largest = std::f64::consts::FRAC_PI_2;
    let of_largest = mean_cut(largest, sine, cosine);
    if of_largest >= 0.5 {
        return (largest, narrowing_to_half(of_largest, cosine));
    }
    let (mut small, mut large) = (0.0, largest);
    // 60 halvings leave nothing but rounding.
    for _ in 0..60 {
        let middle = 0.5 * (small + large);
        if mean_cut(middle, sine, cosine) > 0.5 {
            small = middle;
        } else {
            large = middle;
        }
    }
    (0.5 * (small + large), 0.0)
}

/// The narrowing that brings a power (at least one half) down to one half at this cosine.
fn narrowing_to_half(power: f64, cosine: f64) -> f64 {
    // (1 + b (1 - c))^4 = 2 power
    ((2.0 * power).sqrt().sqrt() - 1.0) / (1.0 - cosine)
}

impl Beam {
    pub(super) fn circular_patch(patch: &CircularPatch) -> Self {
        let (half_side, narrowing) = fit_patch(patch.beamwidth);
        let amplitude = patch.peak_gain.db().amplitude();
        let (major, minor) = unequal_pair(patch.axial_ratio);
        Self {
            element: Element::Patch { half_side },
            narrowing,
            back: (-patch.front_to_back).amplitude(),
            along_z: amplitude * major,
            along_y: amplitude * minor,
            quadrature: quadrature(patch.hand),
        }
    }

    pub(super) fn linear_patch(patch: &LinearPatch) -> Self {
        let (half_side, narrowing) = fit_patch(patch.beamwidth);
        Self {
            element: Element::Patch { half_side },
            narrowing,
            back: (-patch.front_to_back).amplitude(),
            along_z: patch.peak_gain.db().amplitude(),
            along_y: 0.0,
            quadrature: -1.0,
        }
    }

    pub(super) fn helix(helix: &AxialHelix) -> Self {
        let cosine = libm::cos(helix.beamwidth().radians().0 / 2.0);
        let element = 0.25 * (1.0 + cosine) * (1.0 + cosine);
        let (major, minor) = unequal_pair(helix.axial_ratio());
        let amplitude = helix.peak_gain().db().amplitude();
        Self {
            element: Element::Helix,
            narrowing: narrowing_to_half(element, cosine),
            back: (-helix.front_to_back).amplitude(),
            along_z: amplitude * major,
            along_y: amplitude * minor,
            quadrature: quadrature(helix.hand),
        }
    }

    pub(super) fn turn_hand(&mut self) {
        self.quadrature = -self.quadrature;
    }

    /// The y mode is the real part, the z mode the imaginary one: with y × z = ahead, right hand is `ŷ - jẑ`. A linear
    /// patch has only the z mode; its phase is the same everywhere and does not matter.
    ///
    /// A patch mode along `e` radiates `A [(r·x) e - (r·e) x]`, the magnetic currents of its two radiating edges. Behind
    /// the plate this very expression runs the other way, which turns the hand over, as it does behind real patches.
    pub(super) fn parts(&self, direction: &Vec3) -> (Vec3, Vec3) {
        let (x, y, z) = (direction.x, direction.y, direction.z);
        let ahead = if x >= EDGE {
            1.0
        } else if x <= -EDGE {
            0.0
        } else {
            let step = (x + EDGE) / (2.0 * EDGE);
            step * step * (3.0 - 2.0 * step)
        };
        let narrowed = 1.0 + self.narrowing * (1.0 - x);
        let front = ahead / (narrowed * narrowed);
        let behind = (1.0 - ahead) * self.back;
        // Modes across the direction: e turned out of y and z by the radiating edges.
        let edge_y = Vec3::new(-y, x, 0.0);
        let edge_z = Vec3::new(-z, 0.0, x);
        let (from_y, from_z) = match self.element {
            Element::Patch { half_side } => {
                let (angle_y, angle_z) = (half_side * y, half_side * z);
                let (sine_y, cosine_y) = libm::sincos(angle_y);
                let (sine_z, cosine_z) = libm::sincos(angle_z);
                let size = front + behind;
                (edge_y * (size * cosine_y * sinc(sine_z, angle_z)), edge_z * (size * cosine_z * sinc(sine_y, angle_y)))
            }
            Element::Helix => {
                // (1 + x) e - (r·e)(x̂ + r), halved: an electric and a magnetic dipole crossed.
                let half = 0.5 * front;
                let huygens_y = Vec3::new(-y * (1.0 + x), 1.0 + x - y * y, -y * z) * half;
                let huygens_z = Vec3::new(-z * (1.0 + x), -z * y, 1.0 + x - z * z) * half;
                (huygens_y + edge_y * behind, huygens_z + edge_z * behind)
            }
        };
        (from_y * self.along_y, from_z * (self.quadrature * self.along_z))
    }
}
