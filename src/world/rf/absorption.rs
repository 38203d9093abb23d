//! What plants, cloth and people take from a wave.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::units::{Db, Hertz, Metres};

/// Loss through the dry fabric of a canopy or a banner. Common practice, no source.
pub const CANOPY_DRY: Db = Db(0.3);
/// Loss through the wet fabric of a canopy or a banner. Common practice, no source.
pub const CANOPY_WET: Db = Db(2.0);

/// The most that vegetation takes: beyond, the wave that goes around or over carries more. Common practice, from memory
/// (25 to 30 dB).
pub const VEGETATION_SATURATION: Db = Db(30.0);

/// Width of a person seen as a screen. Source: 3GPP TR 38.901, table 7.6.4.2-5.
pub const PERSON_WIDTH: Metres = Metres(0.3);
/// Height of a person seen as a screen. Source: 3GPP TR 38.901, table 7.6.4.2-5.
pub const PERSON_HEIGHT: Metres = Metres(1.7);

/// How dense the leaves and twigs are.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Vegetation {
    /// Bare or sparse.
    Sparse,
    /// As an ordinary wood.
    Woodland,
    /// Dense leaf, such as a single tree in summer or a thick hedge.
    Dense,
}

impl Vegetation {
    /// Every density, the thinnest first.
    pub const ALL: [Vegetation; 3] = [Vegetation::Sparse, Vegetation::Woodland, Vegetation::Dense];

    /// Loss per metre, in dB/m, in proportion to the frequency.
    ///
    /// At 5.8 GHz 0.5, 1.2 and 3 dB/m. Source: woodland after ITU-R P.833-10, figure 2, whose line rises as
    /// 0.2 dB/m per gigahertz above 1 GHz; dense after table 8 there (0.9 to 3.2 dB/m for canopies in leaf at 3.5 GHz);
    /// sparse is common practice. Polarization matters little above 1 GHz.
    pub fn specific_attenuation(self, frequency: Hertz) -> f64 {
        let at_reference = match self {
            Vegetation::Sparse => 0.5,
            Vegetation::Woodland => 1.2,
            Vegetation::Dense => 3.0,
        };
        at_reference * frequency.0 / 5.8e9
    }

    /// Loss over a depth of these plants: [`vegetation_loss`] with this density and [`VEGETATION_SATURATION`].
    pub fn loss(self, depth: Metres, frequency: Hertz) -> Db {
        vegetation_loss(depth, self.specific_attenuation(frequency), VEGETATION_SATURATION)
    }
}

impl fmt::Display for Vegetation {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.pad(match self {
            Vegetation::Sparse => "bare or sparse",
            Vegetation::Woodland => "woodland",
            Vegetation::Dense => "dense leaf",
        })
    }
}

/// Loss of a path through vegetation: `A_m (1 - exp(-d γ / A_m))`, which is `γ d` for short paths and `A_m` for long ones.
///
/// `specific_attenuation` is γ in dB/m. A depth below zero counts as none. Source: ITU-R P.833-10, annex 1, eq. (1).
pub fn vegetation_loss(depth: Metres, specific_attenuation: f64, saturation: Db) -> Db {
    Db(-saturation.0 * libm::expm1(-depth.0.max(0.0) * specific_attenuation / saturation.0))
}

/// Loss through a wood by Weissberger's fit, for comparison: `0.45 f^0.284 d` up to 14 m, `1.33 f^0.284 d^0.588` to 400 m,
/// gigahertz and metres. Not for single trees. Source: second-hand copies of the formula.
pub fn weissberger_loss(depth: Metres, frequency: Hertz) -> Db {
    let rising = libm::pow(frequency.0 / 1e9, 0.284);
    let d = depth.0.max(0.0);
    Db(if d < 14.0 { 0.45 * rising * d } else { 1.33 * rising * libm::pow(d, 0.588) })
}

/// Loss through a wood by the early ITU formula, for comparison: `0.2 f^0.3 d^0.6` below 400 m, megahertz and metres. Too
/// high within the first metres. Source: second-hand copies of the formula.
pub fn early_itu_vegetation_loss(depth: Metres, frequency: Hertz) -> Db {
    Db(0.2 * libm::pow(frequency.megahertz(), 0.3) * libm::pow(depth.0.max(0.0), 0.6))
}

/// A vertical rectangle facing the ray, by its edges in metres from the point where the ray crosses its plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FacingScreen {
    /// Lower edge; negative when the ray passes above it.
    pub bottom: f64,
    /// Upper edge; positive when the ray passes below it.
    pub top: f64,
    /// Edge on one side.
    pub left: f64,
    /// Edge on the other side, greater than `left`.
    pub right: f64,
}

/// The field left behind a screen, as an amplitude factor between 0 and 1: `1 - (F_h1+F_h2)(F_w1+F_w2)` with
/// `F = ± atan((π/2) √((π/λ)(D1+D2-r)))/π`, positive for an edge beyond which the ray would have to move to get clear.
///
/// `d1`, `d2` run from the screen to the ends along the ray; below zero they count as zero. An average without the
/// interference between edges: several screens multiply. Source: 3GPP TR 38.901, section 7.6.4.2, blockage model B,
/// eq. (7.6-29) and (7.6-30), for the direct ray.
pub fn facing_screen_factor(screen: FacingScreen, d1: f64, d2: f64, wavelength: f64) -> f64 {
    let (d1, d2) = (d1.max(0.0), d2.max(0.0));
    let scale = std::f64::consts::FRAC_PI_2 * (std::f64::consts::PI / wavelength).sqrt();
    // D - d as a quotient, which does not cancel for small offsets.
    let detour = |offset: f64| {
        let square = offset * offset;
        if square == 0.0 {
            return 0.0;
        }
        let root = (square / ((d1 * d1 + square).sqrt() + d1) + square / ((d2 * d2 + square).sqrt() + d2)).sqrt();
        if offset < 0.0 { -scale * root } else { scale * root }
    };
    // The sum of both edges' angles is one arc tangent of two: atan a - atan b = atan2(a - b, 1 + ab) for a ≥ b.
    let angle = |upper: f64, lower: f64| libm::atan2((upper - lower).max(0.0), 1.0 + upper * lower);
    let height = angle(detour(screen.top), detour(screen.bottom));
    let width = angle(detour(screen.right), detour(screen.left));
    1.0 - height * width * (std::f64::consts::FRAC_1_PI * std::f64::consts::FRAC_1_PI)
}

/// The field left behind a person standing near a ray, as an amplitude factor between 0 and 1.
///
/// `offset_across` is how far the person's middle stands to the side of the ray, `height_above_top` how far above the top of
/// the head the ray passes (negative through the body), `d1` and `d2` the distances from the person to the ends; all in
/// metres, for inner loops. Source and limits: [`facing_screen_factor`] with a person of [`PERSON_WIDTH`] by
/// [`PERSON_HEIGHT`] on the ground.
pub fn person_screen_factor(offset_across: f64, height_above_top: f64, d1: f64, d2: f64, wavelength: f64) -> f64 {
    let screen = FacingScreen {
        bottom: -height_above_top - PERSON_HEIGHT.0,
        top: -height_above_top,
        left: offset_across - PERSON_WIDTH.0 / 2.0,
        right: offset_across + PERSON_WIDTH.0 / 2.0,
    };
    facing_screen_factor(screen, d1, d2, wavelength)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_person_only_takes_and_reads_the_same_from_both_ends(
            offset in -5.0..5.0f64, height in -3.0..3.0f64, d1 in prop_oneof![Just(0.0), 0.01..80.0f64],
            d2 in 0.01..80.0f64,
        ) {
            let factor = person_screen_factor(offset, height, d1, d2, 0.0517);
            prop_assert!((0.0..=1.0).contains(&factor), "{factor}");
            prop_assert!((factor - person_screen_factor(-offset, height, d2, d1, 0.0517)).abs() < 1e-14);
        }

        #[test]
        fn plants_take_more_the_deeper_they_are_and_never_more_than_the_cap(
            depth in 0.0..300.0f64, step in 0.0..20.0f64,
        ) {
            for kind in Vegetation::ALL {
                let (less, more) =
                    (kind.loss(Metres(depth), Hertz(5.8e9)), kind.loss(Metres(depth + step), Hertz(5.8e9)));
                prop_assert!(Db(0.0) <= less && less <= more && more <= VEGETATION_SATURATION);
            }
        }
    }

    #[test]
    fn a_short_way_through_plants_is_the_plain_product() {
        let loss = Vegetation::Woodland.loss(Metres(0.01), Hertz(5.8e9));
        assert!((loss.0 - 0.012).abs() < 1e-5);
        assert_eq!(vegetation_loss(Metres(-1.0), 1.0, Db(30.0)), Db(0.0));
    }
}
