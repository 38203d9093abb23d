//! Reflection from a half-space and from a slab, transmission through a slab.
//!
//! Source: ITU-R P.2040-4 (09/2025), equations (37), (43) and (44). Conventions (time factor, sign of the TM coefficient)
//! are those of [`crate::rf`]. Angles of incidence are measured from the surface's normal and given by their cosine,
//! which is what a tracer has at hand; the cosine is taken without its sign and never above one.

use nalgebra::Matrix3;
use num_complex::Complex64;

use super::{SPEED_OF_LIGHT, Vec3, complex_sqrt, phasor};
use crate::units::{Hertz, Metres};

/// A pair of field coefficients for the two linear polarizations.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coefficients {
    /// Electric field across the plane of incidence ("horizontal" over level ground).
    pub te: Complex64,
    /// Electric field in the plane of incidence ("vertical" over level ground).
    pub tm: Complex64,
}

/// What a slab in air sends back and lets through.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SlabCoefficients {
    /// Field reflected, at the front face.
    pub reflected: Coefficients,
    /// Field just behind the back face over the field at the front face on the same normal.
    pub transmitted: Coefficients,
}

impl Coefficients {
    /// Nothing comes back, or nothing passes.
    pub const ZERO: Self = Self { te: Complex64::new(0.0, 0.0), tm: Complex64::new(0.0, 0.0) };
    /// Everything passes unchanged.
    pub const UNITY: Self = Self { te: Complex64::new(1.0, 0.0), tm: Complex64::new(1.0, 0.0) };
    /// A perfectly conducting mirror.
    pub const CONDUCTOR: Self = Self { te: Complex64::new(-1.0, 0.0), tm: Complex64::new(1.0, 0.0) };

    /// The part of a circular wave that keeps its hand: `(R_te + R_tm) / 2`. At the pseudo-Brewster angle it about
    /// equals [`Coefficients::opposite_hand`]; nearer to grazing it is the larger one.
    pub fn same_hand(self) -> Complex64 {
        (self.te + self.tm) / 2.0
    }

    /// The part of a circular wave that comes back with the other hand: `(R_te - R_tm) / 2`.
    pub fn opposite_hand(self) -> Complex64 {
        (self.te - self.tm) / 2.0
    }

    /// Both coefficients times a factor, such as [`rough_surface_factor`].
    pub fn scaled(self, factor: f64) -> Self {
        Self { te: self.te * factor, tm: self.tm * factor }
    }
}

/// `√(ε - sin²θ)` with the imaginary part zero or negative, so that the wave inside decays.
fn normal_wave_number(permittivity: Complex64, cosine: f64) -> Complex64 {
    let root = complex_sqrt(permittivity - (1.0 - cosine * cosine));
    if root.im > 0.0 { -root } else { root }
}

/// The ratio, or `otherwise` where both parts vanish.
fn ratio_or(numerator: Complex64, denominator: Complex64, otherwise: Complex64) -> Complex64 {
    let size = denominator.norm_sqr();
    if size == 0.0 { otherwise } else { numerator * denominator.conj() / size }
}

fn interface(permittivity: Complex64, cosine: f64, q: Complex64) -> Coefficients {
    let zero = Complex64::new(0.0, 0.0);
    let cosine_inside = permittivity * cosine;
    Coefficients {
        te: ratio_or(cosine - q, cosine + q, zero),
        tm: ratio_or(cosine_inside - q, cosine_inside + q, zero),
    }
}

fn clamped(cos_incidence: f64) -> f64 {
    cos_incidence.abs().min(1.0)
}

/// Reflection of a plane wave in air from a half-space of relative permittivity `ε' - jε''`.
///
/// At normal incidence TM = -TE; at grazing incidence both are -1. Air itself (permittivity 1) reflects nothing at any
/// angle. Source: ITU-R P.2040-4, eq. (37). Checked against `tests/reference/fresnel_halfspace.csv`.
pub fn half_space(permittivity: Complex64, cos_incidence: f64) -> Coefficients {
    let cosine = clamped(cos_incidence);
    interface(permittivity, cosine, normal_wave_number(permittivity, cosine))
}

/// A slab's interface coefficients with what one crossing of the slab does to the wave.
struct Crossing {
    interface: Coefficients,
    /// `e^{-jq'}`; zero for metal and for thick lossy slabs.
    factor: Complex64,
}

fn crossing(permittivity: Complex64, thickness: Metres, frequency: Hertz, cosine: f64) -> Crossing {
    let q = normal_wave_number(permittivity, cosine);
    let electrical = 2.0 * std::f64::consts::PI * frequency.0 / SPEED_OF_LIGHT * thickness.0.max(0.0);
    let attenuation = libm::exp(q.im * electrical);
    let factor = if attenuation == 0.0 { Complex64::new(0.0, 0.0) } else { phasor(-q.re * electrical) * attenuation };
    Crossing { interface: interface(permittivity, cosine, q), factor }
}

/// Reflection from and transmission through a slab in air, its interference included.
///
/// The transmitted phase is that through the slab from face to face; for the excess over the air that the slab
/// displaces on a straight ray multiply by `e^{+jkd cos θ}`. A thickness of zero or less is no slab.
/// Source: ITU-R P.2040-4, eq. (43) and (44). Checked against `tests/reference/slab.csv`.
pub fn slab(permittivity: Complex64, thickness: Metres, frequency: Hertz, cos_incidence: f64) -> SlabCoefficients {
    let crossing = crossing(permittivity, thickness, frequency, clamped(cos_incidence));
    let round_trip = crossing.factor * crossing.factor;
    let one = |face: Complex64| {
        let squared = face * face;
        let denominator = 1.0 - squared * round_trip;
        // Both fractions are 0/0 only at grazing incidence on a lossless slab in resonance: a mirror in the limit.
        (
            ratio_or(face * (1.0 - round_trip), denominator, face),
            ratio_or((1.0 - squared) * crossing.factor, denominator, Complex64::new(0.0, 0.0)),
        )
    };
    let (reflected_te, transmitted_te) = one(crossing.interface.te);
    let (reflected_tm, transmitted_tm) = one(crossing.interface.tm);
    SlabCoefficients {
        reflected: Coefficients { te: reflected_te, tm: reflected_tm },
        transmitted: Coefficients { te: transmitted_te, tm: transmitted_tm },
    }
}

/// As [`slab`], averaged over the phase of the wave inside: for a wall whose thickness is known to a centimetre, not to
/// the millimetre that decides its interference.
///
/// With `R'` the coefficient of one face, `w = R'²`, `z = ρ e^{-jφ}` the round trip through the slab, the slab's
/// reflection is `R' (1 - (1-w) Σ wⁿ zⁿ⁺¹)`. Averaged over `φ` with `ρ` fixed, only terms of equal power of `z` remain:
///
/// - mean `|R|²` = `|R'|² (1 + |1-w|² ρ² / (1 - |w|² ρ²))`,
/// - mean `|T|²` = `|1-w|² ρ / (1 - |w|² ρ²)`,
/// - mean `R_te R_tm*` = `R'_te R'_tm* (1 + (1-w_te)(1-w_tm)* ρ² / (1 - w_te w_tm* ρ²))`, likewise for `T`.
///
/// The returned coefficients have the root of the mean power as magnitude. TE has the phase of `R'_te` (transmitted: no
/// phase), and TM stands to it as the mean product says, which keeps the mean share of either hand; the little that the
/// interference takes from the coherence between TE and TM is not modelled.
pub fn slab_averaged(
    permittivity: Complex64,
    thickness: Metres,
    frequency: Hertz,
    cos_incidence: f64,
) -> SlabCoefficients {
    let cosine = clamped(cos_incidence);
    let q = normal_wave_number(permittivity, cosine);
    let face = interface(permittivity, cosine, q);
    let electrical = 2.0 * std::f64::consts::PI * frequency.0 / SPEED_OF_LIGHT * thickness.0.max(0.0);
    let rho = libm::exp(2.0 * q.im * electrical);
    let rho_squared = rho * rho;
    let squared = Coefficients { te: face.te * face.te, tm: face.tm * face.tm };
    let entering = Coefficients { te: 1.0 - squared.te, tm: 1.0 - squared.tm };

    let powers = |face: Complex64, squared: Complex64, entering: Complex64| {
        let denominator = 1.0 - squared.norm_sqr() * rho_squared;
        let entered = entering.norm_sqr();
        // Lossless at grazing incidence: the face is a mirror and nothing enters.
        if denominator <= 0.0 {
            (face.norm_sqr(), 0.0)
        } else {
            (face.norm_sqr() * (1.0 + entered * rho_squared / denominator), entered * rho / denominator)
        }
    };
    let (reflected_te, transmitted_te) = powers(face.te, squared.te, entering.te);
    let (reflected_tm, transmitted_tm) = powers(face.tm, squared.tm, entering.tm);

    let crossed = entering.te * entering.tm.conj();
    let zero = Complex64::new(0.0, 0.0);
    let series = ratio_or(crossed, 1.0 - squared.te * squared.tm.conj() * rho_squared, zero);
    let reflected_product = face.te * face.tm.conj() * (1.0 + series * rho_squared);

    let reflected_phase = unit_or(face.te, Complex64::new(-1.0, 0.0));
    let one = Complex64::new(1.0, 0.0);
    SlabCoefficients {
        reflected: Coefficients {
            te: reflected_phase * reflected_te.sqrt(),
            tm: reflected_phase * unit_or(reflected_product.conj(), one) * reflected_tm.sqrt(),
        },
        transmitted: Coefficients {
            te: one * transmitted_te.sqrt(),
            tm: unit_or(series.conj(), one) * transmitted_tm.sqrt(),
        },
    }
}

/// The number over its magnitude, or `otherwise` for zero.
fn unit_or(value: Complex64, otherwise: Complex64) -> Complex64 {
    let magnitude = value.norm_sqr().sqrt();
    if magnitude > 0.0 { value / magnitude } else { otherwise }
}

/// The factor by which roughness lowers the mirror-like part of a reflection: `exp(-2 (k σ_h sin g)²)`.
///
/// `rms_height` is the standard deviation of the surface's height, `sin_grazing` the sine of the angle to the surface
/// (the cosine of incidence). One for a smooth surface. Source: Ament's formula with Rayleigh's roughness parameter, from
/// memory; what it takes away is scattered, not lost.
pub fn rough_surface_factor(rms_height: Metres, wavelength: Metres, sin_grazing: f64) -> f64 {
    let phase = 2.0 * std::f64::consts::PI / wavelength.0 * rms_height.0 * sin_grazing;
    libm::exp(-2.0 * phase * phase)
}

/// The direction after a mirror reflection; `normal` is a unit vector, on either side of the surface.
pub fn mirror_direction(direction: &Vec3, normal: &Vec3) -> Vec3 {
    direction - normal * (2.0 * direction.dot(normal))
}

/// Unit vector across the plane of incidence; at normal incidence any unit vector across the ray.
fn across_plane_of_incidence(direction: &Vec3, normal: &Vec3) -> Vec3 {
    let across = direction.cross(normal);
    let size = across.norm_squared();
    // Below this the cross product is mostly rounding; there TE and TM no longer differ but in sign.
    if size > 1e-20 {
        return across / size.sqrt();
    }
    let other = if direction.x.abs() < 0.6 { Vec3::x() } else { Vec3::y() };
    let across = direction.cross(&other);
    across / across.norm_squared().sqrt()
}

fn outer(te: Complex64, across: &Vec3, tm: Complex64, out: &Vec3, incident: &Vec3) -> Matrix3<Complex64> {
    Matrix3::from_fn(|row, column| te * (across[row] * across[column]) + tm * (out[row] * incident[column]))
}

/// The matrix that takes the incident field vector to the reflected one, both in world coordinates:
/// `R_te e_s e_sᵀ + R_tm e_pr e_piᵀ` with `e_s = k_i × n`, `e_pi = e_s × k_i`, `e_pr = e_s × k_r`.
///
/// `direction` (the incident ray's) and `normal` are unit vectors; either side of the surface will do. Continuous through
/// normal incidence for coefficients with `R_tm = -R_te` there.
pub fn reflection_matrix(direction: &Vec3, normal: &Vec3, coefficients: Coefficients) -> Matrix3<Complex64> {
    let across = across_plane_of_incidence(direction, normal);
    let incident = across.cross(direction);
    let reflected = across.cross(&mirror_direction(direction, normal));
    outer(coefficients.te, &across, coefficients.tm, &reflected, &incident)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::f64::consts::TAU;

    const LIMIT: f64 = 1.0 + 1e-12;

    fn permittivities() -> impl Strategy<Value = Complex64> {
        (1.0..80.0, prop_oneof![Just(0.0), 1e-6..1.0, 1.0..1e3, Just(3e7)])
            .prop_map(|(re, loss): (f64, f64)| Complex64::new(re, -loss))
    }

    fn cosines() -> impl Strategy<Value = f64> {
        prop_oneof![Just(0.0), Just(1.0), 0.0..1.0, 1e-9..1e-3]
    }

    /// The mean over the round trip's phase, taken numerically.
    fn mean_over_phase(face: Coefficients, rho: f64) -> (Coefficients, Coefficients, Complex64, Complex64) {
        let steps = 4096;
        let mut sums = [0.0; 4];
        let mut products = [Complex64::new(0.0, 0.0); 2];
        for step in 0..steps {
            let half = phasor(-std::f64::consts::PI * f64::from(step) / f64::from(steps)) * rho.sqrt();
            let at = |face: Complex64| {
                let (w, z) = (face * face, half * half);
                ((face * (1.0 - z)) / (1.0 - w * z), (1.0 - w) * half / (1.0 - w * z))
            };
            let ((r_te, t_te), (r_tm, t_tm)) = (at(face.te), at(face.tm));
            for (sum, value) in sums.iter_mut().zip([r_te, r_tm, t_te, t_tm]) {
                *sum += value.norm_sqr() / f64::from(steps);
            }
            products[0] += r_te * r_tm.conj() / f64::from(steps);
            products[1] += t_te * t_tm.conj() / f64::from(steps);
        }
        let pair = |te: f64, tm: f64| Coefficients { te: Complex64::new(te, 0.0), tm: Complex64::new(tm, 0.0) };
        (pair(sums[0], sums[1]), pair(sums[2], sums[3]), products[0], products[1])
    }

    #[test]
    fn the_averaged_slab_equals_the_numerical_mean_over_its_phase() {
        for (permittivity, thickness, cosine) in [
            (Complex64::new(3.91, -0.0977), 0.22, 0.7),
            (Complex64::new(5.24, -0.5663), 0.05, 0.2),
            (Complex64::new(2.73, -0.1374), 0.0125, 0.95),
            (Complex64::new(6.31, -0.1175), 0.004, 0.5),
            (Complex64::new(6.31, -0.1175), 0.004, 1.0),
        ] {
            let frequency = Hertz(5.8e9);
            let got = slab_averaged(permittivity, Metres(thickness), frequency, cosine);
            let rho = crossing(permittivity, Metres(thickness), frequency, cosine).factor.norm_sqr();
            let (reflected, transmitted, reflected_product, transmitted_product) =
                mean_over_phase(half_space(permittivity, cosine), rho);
            for (got, mean) in [
                (got.reflected.te, reflected.te),
                (got.reflected.tm, reflected.tm),
                (got.transmitted.te, transmitted.te),
                (got.transmitted.tm, transmitted.tm),
            ] {
                assert!((got.norm_sqr() - mean.re).abs() < 1e-12, "{permittivity} {cosine}: {got} {mean}");
            }
            for (pair, mean) in [(got.reflected, reflected_product), (got.transmitted, transmitted_product)] {
                let product = pair.te * pair.tm.conj();
                // Same direction in the complex plane; the magnitude may only be larger, by the coherence left out.
                let turned = product * mean.conj();
                assert!(turned.im.abs() < 1e-12 && turned.re > 0.0, "{permittivity} {cosine}: {product} {mean}");
                assert!(product.norm_sqr() >= mean.norm_sqr() * (1.0 - 1e-9));
            }
        }
    }

    #[test]
    fn a_thick_slab_is_a_half_space_and_a_thin_one_is_nothing() {
        let permittivity = Complex64::new(5.24, -0.5663);
        for cosine in [1.0, 0.5, 0.1] {
            let face = half_space(permittivity, cosine);
            for slab in [slab, slab_averaged] {
                let thick = slab(permittivity, Metres(20.0), Hertz(5.8e9), cosine);
                assert!((thick.reflected.te - face.te).norm_sqr() < 1e-24);
                assert!((thick.reflected.tm - face.tm).norm_sqr() < 1e-24);
                assert!(thick.transmitted.te.norm_sqr() < 1e-24);
            }
            let none = slab(permittivity, Metres(0.0), Hertz(5.8e9), cosine);
            assert_eq!(none.reflected.te.norm_sqr(), 0.0);
            assert!((none.transmitted.tm - 1.0).norm_sqr() < 1e-24);
        }
    }

    #[test]
    fn a_normal_bounce_does_not_depend_on_the_choice_of_plane() {
        let coefficients = half_space(Complex64::new(12.58, -1.9), 1.0);
        let down = -Vec3::z();
        let exact = reflection_matrix(&down, &Vec3::z(), coefficients);
        for angle in [0.0, 0.7, 2.1, 4.0] {
            let (sine, cosine) = libm::sincos(angle);
            let near = Vec3::new(cosine * 1e-8, sine * 1e-8, -1.0).normalize();
            let matrix = reflection_matrix(&near, &Vec3::z(), coefficients);
            assert!((matrix - exact).iter().all(|entry| entry.norm_sqr() < 1e-14), "{matrix}");
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 2000, ..ProptestConfig::default() })]

        #[test]
        fn nothing_gives_more_than_it_got(
            permittivity in permittivities(), cosine in cosines(), thickness in 0.0..0.5f64, frequency in 1e8..4e10f64,
        ) {
            let face = half_space(permittivity, cosine);
            prop_assert!(face.te.norm_sqr() <= LIMIT && face.tm.norm_sqr() <= LIMIT);
            for slab in [slab, slab_averaged] {
                let both = slab(permittivity, Metres(thickness), Hertz(frequency), cosine);
                let te = both.reflected.te.norm_sqr() + both.transmitted.te.norm_sqr();
                let tm = both.reflected.tm.norm_sqr() + both.transmitted.tm.norm_sqr();
                prop_assert!(te <= 1.0 + 1e-9 && tm <= 1.0 + 1e-9, "{te} {tm}");
            }
        }

        #[test]
        fn a_bounce_is_reciprocal_and_across_the_ray(
            permittivity in permittivities(), azimuth in 0.0..TAU, height in -1.0..1.0f64,
            normal_azimuth in 0.0..TAU, normal_height in -1.0..1.0f64,
        ) {
            let unit = |azimuth: f64, height: f64| {
                let (sine, cosine) = libm::sincos(azimuth);
                let flat = (1.0 - height * height).sqrt();
                Vec3::new(flat * cosine, flat * sine, height)
            };
            let (direction, normal) = (unit(azimuth, height), unit(normal_azimuth, normal_height));
            let coefficients = half_space(permittivity, direction.dot(&normal));
            let out = mirror_direction(&direction, &normal);
            let there = reflection_matrix(&direction, &normal, coefficients);
            let back = reflection_matrix(&-out, &normal, coefficients);
            prop_assert!((there - back.transpose()).iter().all(|entry| entry.norm_sqr() < 1e-18));
            let complex = |v: Vec3| v.map(|part| Complex64::new(part, 0.0));
            prop_assert!((there * complex(direction)).iter().all(|entry| entry.norm_sqr() < 1e-18));
            prop_assert!((there.transpose() * complex(out)).iter().all(|entry| entry.norm_sqr() < 1e-18));
        }
    }
}
