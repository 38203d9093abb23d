//! Patterns that look the same from every side of the z axis: dipoles, the circular omni, the isotropic check.

use super::model::CircularOmni;
use crate::rf::Vec3;
use crate::rf::polarization::{Hand, Jones};

/// Squared sine of the angle to the axis below which a direction counts as on the axis.
const ON_AXIS: f64 = 1e-18;

/// Polar and azimuthal unit vectors of a direction; on the axis those of the x-z plane.
pub(super) fn polar_and_azimuthal(direction: &Vec3) -> (Vec3, Vec3) {
    let sine_squared = direction.x * direction.x + direction.y * direction.y;
    if sine_squared < ON_AXIS {
        return (Vec3::new(if direction.z < 0.0 { -1.0 } else { 1.0 }, 0.0, 0.0), Vec3::new(0.0, 1.0, 0.0));
    }
    let sine = sine_squared.sqrt();
    let (cosine_azimuth, sine_azimuth) = (direction.x / sine, direction.y / sine);
    (
        Vec3::new(direction.z * cosine_azimuth, direction.z * sine_azimuth, -sine),
        Vec3::new(-sine_azimuth, cosine_azimuth, 0.0),
    )
}

/// The same state everywhere, `x` along the polar and `y` along the azimuthal unit vector.
pub(super) fn isotropic(state: &Jones, direction: &Vec3) -> (Vec3, Vec3) {
    let (polar, azimuthal) = polar_and_azimuthal(direction);
    (polar * state.x.re + azimuthal * state.y.re, polar * state.x.im + azimuthal * state.y.im)
}

/// Field of a dipole much shorter than a wavelength: the part of the axis that is across the direction.
pub(super) fn short_dipole(amplitude: f64, direction: &Vec3) -> Vec3 {
    let (x, y, z) = (direction.x, direction.y, direction.z);
    Vec3::new(x * z, y * z, -(x * x + y * y)) * amplitude
}

/// Field of a thin half-wave dipole, `cos(π/2 cos θ)/sin θ` along the polar unit vector.
///
/// Source: textbook form; the dipole row of the closed-form pattern table. Checked against `tests/reference/dipole_nec.csv`.
pub(super) fn half_wave_dipole(amplitude: f64, direction: &Vec3) -> Vec3 {
    let sine_squared = direction.x * direction.x + direction.y * direction.y;
    // Over sin² θ, so that no root is needed: the vector below brings one sine back. Its limit on the axis is π/4.
    let shape = if sine_squared < 1e-8 {
        std::f64::consts::FRAC_PI_4
    } else {
        libm::cos(std::f64::consts::FRAC_PI_2 * direction.z) / sine_squared
    };
    short_dipole(amplitude * shape, direction)
}

/// How much of the horizontal component, relative to the vertical one, is gone at the axis. It makes the axial ratio grow
/// by 3.1 dB from the horizon to the axis; a wire solver finds 2.9 dB for four slanted dipoles on a circle
/// (`tests/reference/dipole_nec.csv`), and the trade reports growth above 45° (common practice, no source).
const HORIZONTAL_FADING: f64 = 0.3;

/// Mean over the sphere of `sin^n θ` for n = 1, 2, 4, 6: one over the directivities of these patterns.
/// Source: `√π Γ((n+2)/2) / (2 Γ((n+3)/2))`.
const MEAN_OF_SINE_POWER: [f64; 4] = [std::f64::consts::FRAC_PI_4, 2.0 / 3.0, 8.0 / 15.0, 16.0 / 35.0];

/// A circular omni: power `G [f + (1 - f) Σ w_n sin^n θ]` over both components, `f` = the dip over the axis.
///
/// The weights `w_n` of two neighbouring powers n of 1, 2, 4, 6 are chosen so that the directivity equals the nominal
/// gain; a smaller gain than sin θ would give counts as loss, a larger one than sin⁶ θ is impossible and shows as a caveat.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Omni {
    gain: f64,
    floor: f64,
    weights: [f64; 4],
    /// Horizontal over vertical field on the horizon.
    horizontal: f64,
    /// `-h`: the sign of the horizontal component's quadrature.
    quadrature: f64,
}

impl Omni {
    pub(super) fn new(omni: &CircularOmni) -> Self {
        let gain = omni.peak_gain.ratio();
        let floor = (-omni.null_depth).ratio();
        let wanted_mean = (1.0 / gain - floor) / (1.0 - floor);
        let mut weights = [0.0; 4];
        let flattest = MEAN_OF_SINE_POWER.len() - 1;
        if wanted_mean >= MEAN_OF_SINE_POWER[0] {
            weights[0] = 1.0;
        } else if wanted_mean <= MEAN_OF_SINE_POWER[flattest] {
            weights[flattest] = 1.0;
        } else {
            let upper = MEAN_OF_SINE_POWER.iter().position(|mean| *mean <= wanted_mean).unwrap_or(flattest);
            let (wider, flatter) = (MEAN_OF_SINE_POWER[upper - 1], MEAN_OF_SINE_POWER[upper]);
            weights[upper] = (wider - wanted_mean) / (wider - flatter);
            weights[upper - 1] = 1.0 - weights[upper];
        }
        // A gain under the widest pattern's directivity is a lossy antenna of that pattern, so `gain` scales all alike.
        Self {
            gain,
            floor,
            weights,
            horizontal: (-omni.axial_ratio).amplitude(),
            quadrature: -match omni.hand {
                Hand::Right => 1.0,
                Hand::Left => -1.0,
            },
        }
    }

    pub(super) fn turn_hand(&mut self) {
        self.quadrature = -self.quadrature;
    }

    /// Vertical component along the polar, horizontal one along the azimuthal unit vector, a quarter period apart: with
    /// polar × azimuthal = outward, right hand is `θ̂ - jφ̂`.
    pub(super) fn parts(&self, direction: &Vec3) -> (Vec3, Vec3) {
        let sine_squared = (direction.x * direction.x + direction.y * direction.y).min(1.0);
        let sine = sine_squared.sqrt();
        let [one, two, four, six] = self.weights;
        let mix = one * sine + sine_squared * (two + sine_squared * (four + sine_squared * six));
        let power = self.gain * (self.floor + (1.0 - self.floor) * mix);
        let ratio = self.horizontal * (1.0 - HORIZONTAL_FADING * direction.z * direction.z);
        let vertical = (power / (1.0 + ratio * ratio)).sqrt();
        let horizontal = self.quadrature * ratio * vertical;
        let (polar, azimuthal) = polar_and_azimuthal(direction);
        (polar * vertical, azimuthal * horizontal)
    }
}
