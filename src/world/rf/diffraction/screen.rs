//! A rectangular screen or opening across a ray.

use num_complex::Complex64;

use super::fresnel::fresnel_integrals;
use crate::units::Db;

/// The field through a rectangular opening in an otherwise opaque plane, relative to free space.
///
/// The four numbers are the diffraction parameters of the opening's edges, `ν = x √((2/λ)(1/d1 + 1/d2))`, with `x` measured
/// from the point where the ray pierces the plane, in one direction for the first pair and across it for the second, each
/// pair in rising order. Infinite edges are welcome: an opening without edges has 1, a half-plane the field of
/// [`super::knife_edge_field`]. Openings in one plane add.
///
/// Source: ITU-R P.526-16, section 5.2, eq. (75) and (77), conjugated to the time factor of [`crate::rf`].
pub fn aperture_field(nu_x1: f64, nu_x2: f64, nu_y1: f64, nu_y2: f64) -> Complex64 {
    let (left_c, left_s) = fresnel_integrals(nu_x1);
    let (right_c, right_s) = fresnel_integrals(nu_x2);
    let (lower_c, lower_s) = fresnel_integrals(nu_y1);
    let (upper_c, upper_s) = fresnel_integrals(nu_y2);
    let (cx, sx) = (right_c - left_c, right_s - left_s);
    let (cy, sy) = (upper_c - lower_c, upper_s - lower_s);
    Complex64::new(0.5 * (cx * sy + sx * cy), 0.5 * (cx * cy - sx * sy))
}

/// The field around an opaque rectangle standing free, relative to free space: one less the field through an opening of
/// the same outline. Edges as in [`aperture_field`]; a screen on the ground has its lower edge far below it.
///
/// The field can exceed one: at single points by the interference of several edges, in the open by no more than
/// [`super::LIT_MAXIMUM`] can be relied on. Source: ITU-R P.526-16, section 5.2, eq. (89).
pub fn screen_field(nu_x1: f64, nu_x2: f64, nu_y1: f64, nu_y2: f64) -> Complex64 {
    1.0 - aperture_field(nu_x1, nu_x2, nu_y1, nu_y2)
}

/// The loss around an opaque rectangle, `-20 log |screen_field|`; negative where interference gains, infinite where
/// the screen covers everything.
pub fn screen_loss(nu_x1: f64, nu_x2: f64, nu_y1: f64, nu_y2: f64) -> Db {
    Db(-10.0 * libm::log10(screen_field(nu_x1, nu_x2, nu_y1, nu_y2).norm_sqr()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rf::diffraction::knife_edge_field;

    const FAR: f64 = f64::INFINITY;

    #[test]
    fn without_edges_there_is_nothing_in_the_way() {
        assert_eq!(aperture_field(-FAR, FAR, -FAR, FAR), Complex64::new(1.0, 0.0));
        assert_eq!(screen_field(0.3, 0.3, -1.0, 2.0), Complex64::new(1.0, 0.0));
        assert_eq!(screen_loss(-FAR, FAR, -FAR, FAR), Db(f64::INFINITY));
    }

    #[test]
    fn a_half_plane_is_a_knife_edge_from_either_side() {
        for nu in [-7.0, -1.2, -0.3, 0.0, 0.4, 1.0, 3.0, 12.0] {
            let edge = knife_edge_field(nu);
            assert!((aperture_field(-FAR, FAR, nu, FAR) - edge).norm_sqr() < 1e-29);
            assert!((screen_field(-FAR, FAR, -FAR, nu) - edge).norm_sqr() < 1e-29);
            assert!((screen_field(-nu, FAR, -FAR, FAR) - edge).norm_sqr() < 1e-29);
        }
    }

    #[test]
    fn two_halves_of_a_screen_make_the_whole() {
        let whole = aperture_field(-1.0, 2.0, -3.0, 0.7);
        let parts = aperture_field(-1.0, 0.2, -3.0, 0.7) + aperture_field(0.2, 2.0, -3.0, 0.7);
        assert!((whole - parts).norm_sqr() < 1e-29);
    }
}
