//! Diffraction at a straight edge, around a rectangular screen, and over several edges.
//!
//! Source throughout: ITU-R P.526-16 (11/2025). Fields have the time factor of [`crate::rf`], so the shadowed field
//! lags as `e^{-jπν²/2}`; the recommendation's own equation (75) is the conjugate.

mod edges;
mod fresnel;
mod screen;

use num_complex::Complex64;

use crate::units::{Db, Metres};

pub use edges::{
    ProfileEdge, SimilarEdges, TwoEdges, cascade_loss, second_edge_excess, stretched_string, two_edges_dominant,
    two_edges_similar,
};
pub use fresnel::fresnel_integrals;
pub use screen::{aperture_field, screen_field, screen_loss};

/// The greatest field, relative to free space, that a single straight edge ever causes: just clear of the edge, at
/// [`LIT_MAXIMUM_NU`]. Computed with 30 digits from the field's closed form. An obstacle in the open cannot be
/// counted on for more.
pub const LIT_MAXIMUM: f64 = 1.170_659_181_701_963;

/// The diffraction parameter at which [`LIT_MAXIMUM`] is reached.
pub const LIT_MAXIMUM_NU: f64 = -1.217_198_250_744_315;

/// The diffraction parameter at which the field of a single edge is that of free space for the first time, coming from
/// the shadow. [`shadow_loss`] is zero from there on.
pub const FIRST_FULL_FIELD_NU: f64 = -0.778_021_694_735;

/// Radius of the `n`-th Fresnel ellipsoid at an obstacle, `√(n λ d1 d2 / (d1 + d2))`.
///
/// `to_tx` and `to_rx` run along the direct line; at either end the radius is zero. Source: ITU-R P.526-16, eq. (2).
pub fn fresnel_radius(n: u32, to_tx: Metres, to_rx: Metres, wavelength: Metres) -> Metres {
    let (d1, d2) = (to_tx.0.max(0.0), to_rx.0.max(0.0));
    let sum = d1 + d2;
    if sum > 0.0 { Metres((f64::from(n) * wavelength.0 * d1 * d2 / sum).sqrt()) } else { Metres(0.0) }
}

/// Free height between the ray and an edge, as a fraction of the first Fresnel radius there: positive when the ray
/// passes clear, zero when it grazes, negative in the shadow. Equal to `-ν/√2`.
///
/// Above about 0.6 a path counts as free (ITU-R P.526-16, sections 2.3 and 2.5; ITU-R P.530-19, section 2.2.2).
pub fn clearance_fraction(nu: f64) -> f64 {
    -nu * std::f64::consts::FRAC_1_SQRT_2
}

/// The diffraction parameter `ν = h √((2/λ)(1/d1 + 1/d2))` of an edge `height` above the ray (negative: below it).
///
/// Distances along the ray, both greater than zero; at an end the parameter grows without limit, and an edge exactly on
/// the ray has 0 everywhere. Good for angles below about 12 degrees, else see [`nu_from_detour`].
/// Source: ITU-R P.526-16, eq. (26).
pub fn nu_from_height(height: Metres, to_tx: Metres, to_rx: Metres, wavelength: Metres) -> f64 {
    nu_of(height.0, to_tx.0, to_rx.0, wavelength.0)
}

/// As [`nu_from_height`], for inner loops: all in metres.
fn nu_of(h: f64, d1: f64, d2: f64, wavelength: f64) -> f64 {
    if h == 0.0 {
        return 0.0;
    }
    h * (2.0 / wavelength * (1.0 / d1.max(0.0) + 1.0 / d2.max(0.0))).sqrt()
}

/// The diffraction parameter from the detour over the edge: `±2 √((r1 + r2 - r)/λ)`, positive when the edge shadows the
/// ray. `detour` is `r1 + r2 - r`; a negative one, which only rounding can cause, counts as zero.
///
/// Holds at steep angles as well. Source: the form of ITU-R P.526-16, eq. (80).
pub fn nu_from_detour(detour: Metres, shadowed: bool, wavelength: Metres) -> f64 {
    let nu = 2.0 * (detour.0.max(0.0) / wavelength.0).sqrt();
    if shadowed { nu } else { -nu }
}

/// The field behind a straight edge relative to free space, `(1+j)/2 ∫_ν^∞ e^{-jπt²/2} dt`: amplitude and phase.
///
/// One half at `ν = 0`, towards one for `ν → -∞` with a ripple of at most [`LIT_MAXIMUM`], towards zero for `ν → +∞`.
/// Keeps its relative accuracy in the deep shadow. Source: ITU-R P.526-16, eq. (6) to (8) and (30). Checked against
/// `tests/reference/knife_edge.csv`.
pub fn knife_edge_field(nu: f64) -> Complex64 {
    let size = nu.abs();
    let shadowed = if size < 1e8 {
        let (f, g) = fresnel::auxiliary(size);
        let (sine, cosine) = fresnel::half_pi_sincos(size * size);
        // (1+j)/2 (g - jf) e^{-jt}
        Complex64::new((g + f) / 2.0, (g - f) / 2.0) * Complex64::new(cosine, -sine)
    } else {
        Complex64::new(0.0, 0.0)
    };
    if nu < 0.0 { 1.0 - shadowed } else { shadowed }
}

/// Loss behind a straight edge, exact: `-20 log |field|`. Negative (a gain of up to 1.37 dB) where the ray passes clear;
/// infinite for an infinite parameter. Source: ITU-R P.526-16, eq. (30).
pub fn knife_edge_loss(nu: f64) -> Db {
    Db(-10.0 * libm::log10(knife_edge_power(nu)))
}

/// `|field|²` of a single edge; in the shadow without any phase.
fn knife_edge_power(nu: f64) -> f64 {
    if nu >= 0.0 {
        let (f, g) = fresnel::auxiliary(nu);
        (f * f + g * g) / 2.0
    } else {
        knife_edge_field(nu).norm_sqr()
    }
}

/// Loss behind a straight edge by the usual approximation `6.9 + 20 log(√((ν-0.1)²+1) + ν - 0.1)`, zero for `ν ≤ -0.78`.
///
/// Within 0.12 dB of the exact loss above its limit. Source: ITU-R P.526-16, eq. (31). Checked against
/// `tests/reference/knife_edge.csv`.
pub fn knife_edge_loss_approximate(nu: f64) -> Db {
    if nu <= -0.78 {
        return Db(0.0);
    }
    let shifted = nu - 0.1;
    Db(6.9 + 20.0 * libm::log10((shifted * shifted + 1.0).sqrt() + shifted))
}

/// The exact loss of a straight edge as long as it is one: from the deep shadow down to the first full field, and zero
/// for everything clearer than [`FIRST_FULL_FIELD_NU`]. Never negative, rising with `ν`, continuous: for sums of losses,
/// where the lit side's ripple has no meaning.
pub fn shadow_loss(nu: f64) -> Db {
    if nu <= FIRST_FULL_FIELD_NU { Db(0.0) } else { Db(knife_edge_loss(nu).0.max(0.0)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_lit_maximum_is_the_greatest_field_there_is() {
        let greatest =
            (-200_000..=0).map(|step| knife_edge_field(f64::from(step) * 1e-4).norm_sqr().sqrt()).fold(0.0, f64::max);
        assert!(greatest <= LIT_MAXIMUM && greatest > LIT_MAXIMUM - 1e-7, "{greatest}");
        assert!((knife_edge_field(LIT_MAXIMUM_NU).norm_sqr().sqrt() - LIT_MAXIMUM).abs() < 1e-14);
        assert!(knife_edge_loss(FIRST_FULL_FIELD_NU).0.abs() < 1e-10);
    }

    #[test]
    fn the_field_is_that_of_the_fresnel_integrals() {
        for step in -2000..=2000 {
            let nu = f64::from(step) * 0.005;
            let (c, s) = fresnel_integrals(nu);
            let expected = Complex64::new(0.5, 0.5) * Complex64::new(0.5 - c, s - 0.5);
            assert!((knife_edge_field(nu) - expected).norm_sqr() < 1e-29, "{nu}");
            let loss = knife_edge_loss(nu).0;
            assert!((loss + 10.0 * libm::log10(expected.norm_sqr())).abs() < 1e-9, "{nu}");
        }
    }

    #[test]
    fn the_shadow_loss_rises_and_has_no_step() {
        let mut before = 0.0;
        for step in -30_000..=30_000 {
            let loss = shadow_loss(f64::from(step) * 1e-3).0;
            assert!(loss >= before && loss - before < 0.012, "{step}: {before} {loss}");
            before = loss;
        }
    }

    #[test]
    fn parameters_at_the_ends_are_limits_not_nonsense() {
        let wavelength = Metres(0.05);
        assert_eq!(nu_from_height(Metres(0.0), Metres(0.0), Metres(10.0), wavelength), 0.0);
        assert_eq!(nu_from_height(Metres(-1.0), Metres(0.0), Metres(10.0), wavelength), f64::NEG_INFINITY);
        assert_eq!(knife_edge_field(f64::INFINITY).norm_sqr(), 0.0);
        assert_eq!(knife_edge_field(f64::NEG_INFINITY), Complex64::new(1.0, 0.0));
        assert_eq!(knife_edge_loss(f64::INFINITY), Db(f64::INFINITY));
        assert_eq!(nu_from_detour(Metres(-1e-18), true, wavelength), 0.0);
        assert_eq!(fresnel_radius(1, Metres(0.0), Metres(0.0), wavelength), Metres(0.0));
    }
}
