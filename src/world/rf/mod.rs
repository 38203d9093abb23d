//! The physics of one wave: it knows no course, no plan and no page.
//!
//! # Conventions, fixed here for the whole project
//!
//! - SI inside, decibels at the edges.
//! - Time factor `e^{+jωt}`; a wave that travels a distance `d` carries `e^{-jkd}`; a lossy dielectric is
//!   `ε = ε' - jε''` with `ε'' ≥ 0`.
//! - Hands are those of IEEE Std 145: looking along the direction of travel, a right-hand wave turns clockwise. With
//!   `x × y` = direction of travel, right hand = `(x - jy)/√2`, left hand = `(x + jy)/√2`.
//! - A receiving antenna is described by the field it would *radiate* toward the arriving wave's origin; the voltage is
//!   the unconjugated dot product of the two vectors in one frame.
//! - TE = electric field across the plane of incidence, TM = in it; at normal incidence `R_TM = -R_TE`, at grazing both
//!   go to -1 (ITU-R P.2040).
//! - World frame: x east, y north, z up, ground at z = 0. Antenna frame: z is the axis of dipoles, whips and
//!   omnis; patches and helices look along +x with z up.
//!
//! # The modules, each with what it offers
//!
//! This module itself offers what all of them speak of: [`Vec3`], [`ComplexVec3`], [`SPEED_OF_LIGHT`], [`phasor`],
//! [`complex_sqrt`].
//!
//! - [`free_space`]: wavelength and spreading loss: [`free_space::field_factor`], [`free_space::basic_transmission_loss`]
//! - [`polarization`]: hands, axial ratio, what one ellipse takes of another: [`polarization::Hand`],
//!   [`polarization::Jones`], [`polarization::Ellipse`], [`polarization::efficiency`]
//! - [`antenna`]: patterns with polarization, ideal and measured: [`antenna::Antenna`], [`antenna::AntennaModel`],
//!   [`antenna::MeasuredCut`]
//! - [`feed`]: cables and connectors: [`feed::FeedLine`], [`feed::mismatch_loss`]
//! - [`material`]: what walls and grounds are made of: [`material::Material`], [`material::Permittivity`]
//! - [`reflection`]: coefficients of half-spaces and slabs: [`reflection::half_space`], [`reflection::slab_averaged`],
//!   [`reflection::reflection_matrix`]
//! - [`diffraction`]: edges and first zones: [`diffraction::knife_edge_loss`], [`diffraction::fresnel_radius`]
//! - [`absorption`]: leaves, cloth and people: [`absorption::vegetation_loss`], [`absorption::person_screen_factor`]
//! - [`fading`]: the Rice channel, its outage and its scatter: [`fading::rice_outage`], [`fading::fade_margin`],
//!   [`fading::scatter`]
//! - [`noise`]: noise and thresholds of receivers: [`noise::thermal_noise`], [`noise::threshold`]
//! - [`exposure`] and [`power_rule`]: radiated power against guide distances and rules: [`exposure::eirp`],
//!   [`exposure::exposure_distance`], [`power_rule::PowerRule`]
//! - [`random`]: draws that anyone can repeat: [`random::Random`], [`random::seed_of`]
//! - [`wave`]: a wave between two antennas taken apart, beside a wall: [`wave::meet`]

pub mod absorption;
pub mod antenna;
pub mod diffraction;
pub mod exposure;
pub mod fading;
pub mod feed;
pub mod free_space;
pub mod material;
pub mod noise;
pub mod polarization;
pub mod power_rule;
pub mod random;
pub mod reflection;
pub mod wave;

use nalgebra::Vector3;
use num_complex::Complex64;

/// A point or direction in a right-handed Cartesian frame; metres, or a pure direction.
pub type Vec3 = Vector3<f64>;
/// A complex field vector in a Cartesian frame.
pub type ComplexVec3 = Vector3<Complex64>;

/// Speed of light in vacuum, m/s (exact, SI).
pub const SPEED_OF_LIGHT: f64 = 299_792_458.0;

/// The unit phasor `e^{j angle}`, by `libm`, so that it has the same bits on every platform.
pub fn phasor(angle: f64) -> Complex64 {
    let (sine, cosine) = libm::sincos(angle);
    Complex64::new(cosine, sine)
}

/// The principal square root (real part ≥ 0), with square roots and divisions only, so that it has the same bits on
/// every platform.
pub fn complex_sqrt(value: Complex64) -> Complex64 {
    let modulus = value.norm_sqr().sqrt();
    if modulus == 0.0 {
        return Complex64::new(0.0, 0.0);
    }
    // The half whose sum does not cancel is computed by the root, the other by division.
    if value.re >= 0.0 {
        let re = ((modulus + value.re) / 2.0).sqrt();
        Complex64::new(re, value.im / (2.0 * re))
    } else {
        let im = ((modulus - value.re) / 2.0).sqrt();
        let im = if value.im < 0.0 { -im } else { im };
        Complex64::new(value.im / (2.0 * im), im)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_square_root_squares_back_on_every_quadrant() {
        for (re, im) in [(4.0, 0.0), (-4.0, 0.0), (-4.0, -1e-9), (3.0, -7.0), (-3.0, 7.0), (1e-12, 1e6), (0.0, 0.0)] {
            let value = Complex64::new(re, im);
            let root = complex_sqrt(value);
            assert!(root.re >= 0.0);
            assert!((root * root - value).norm_sqr() <= 1e-24 * value.norm_sqr().max(1e-30), "{value} {root}");
        }
    }
}
