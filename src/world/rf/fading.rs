//! Fading: a direct wave with scattered ones beside it, how often it fades, for how long, and what two antennas help.
//!
//! `k` is the Rice factor throughout: direct over scattered power as a plain ratio, from 0 (all scattered, Rayleigh) to
//! infinity (steady). `margin` is the *mean* power, direct and scattered together, over the threshold; it may be negative.
//! Every function is total for `k ≥ 0` and any margin; a negative `k` counts as zero.

pub mod channel;
pub mod field;
mod field_table;
mod marcum;
pub mod scatter;
pub mod score;
mod surroundings;

use std::f64::consts::{LN_10, PI};

use crate::units::{Db, Hertz, Metres, MetresPerSecond, Seconds};

pub use marcum::{bessel_i0_scaled, bessel_i1_scaled, marcum_q1, one_minus_marcum_q1};
pub use surroundings::{NON_LINE_OF_SIGHT_SIGMA, Surroundings, behind_buildings, diffuse_gain, scatter_share};

/// The Rice channel at one threshold: `x = K` and `y = (1+K) g`, with `g` the threshold over the mean power.
struct Threshold {
    x: f64,
    y: f64,
    /// `√x - √y`, without the cancellation that a large `K` would bring.
    gap: f64,
}

impl Threshold {
    fn new(k: f64, margin: Db) -> Self {
        let x = k.max(0.0);
        let half_nepers = -margin.0 * (LN_10 / 20.0);
        let amplitude = libm::exp(half_nepers);
        let y = (1.0 + x) * (amplitude * amplitude);
        let gap = if x < 1e4 {
            x.sqrt() - y.sqrt()
        } else {
            -x.sqrt() * libm::expm1(0.5 * libm::log1p(1.0 / x) + half_nepers)
        };
        Self { x, y, gap }
    }
}

/// Beyond this Rice factor a channel is taken as steady: the spread of its level is below a billionth of a decibel.
const STEADY: f64 = 1e21;

/// (outage, complement), each with its own relative accuracy.
fn outage_pair(k: f64, margin: Db) -> (f64, f64) {
    if k > STEADY || margin.0.is_infinite() {
        // A steady level is either above its threshold or below; on it, the limit of large `k`.
        return match margin.0.partial_cmp(&0.0) {
            Some(std::cmp::Ordering::Greater) => (0.0, 1.0),
            Some(std::cmp::Ordering::Equal) => (0.5, 0.5),
            _ => (1.0, 0.0),
        };
    }
    if margin.0.is_nan() || k.is_nan() {
        // A level that is not known is not one to fly on.
        return (1.0, 0.0);
    }
    let Threshold { x, y, gap } = Threshold::new(k, margin);
    marcum::tails(x, y, gap)
}

/// The probability that a Rice-fading level is below its threshold.
///
/// `1 - Q1(√(2K), √(2(1+K)g))` with `g` the threshold over the mean power. Relative error below 1e-11 for outages above
/// 1e-20, some digits below; less than 1e-260 counts as zero. An infinite `k` makes a step at margin 0; what is not a number has outage 1.
/// Source: the Rice distribution with the Marcum function, from memory; checked against `tests/reference/rice_outage.csv`.
pub fn rice_outage(k: f64, margin: Db) -> f64 {
    outage_pair(k, margin).0
}

/// The probability that the level is at or above its threshold: `1 - rice_outage`, with its own digits when it is small.
pub fn rice_availability(k: f64, margin: Db) -> f64 {
    outage_pair(k, margin).1
}

/// The margin that leaves this outage: the inverse of [`rice_outage`] in its second argument, to the
/// digits that the outage has.
///
/// An outage of zero or less needs an infinite margin, of one or more (or not a number) a margin of minus infinity.
/// A factor that is not a number needs an infinite margin.
pub fn fade_margin(k: f64, outage: f64) -> Db {
    if outage <= 0.0 || k.is_nan() {
        return Db(f64::INFINITY);
    }
    if outage.is_nan() || outage >= 1.0 {
        return Db(f64::NEG_INFINITY);
    }
    // The odds' logarithm is nearly straight in the margin at both ends, and each tail has its own digits.
    let wanted = libm::log(outage) - libm::log1p(-outage);
    let excess = |margin: f64| {
        let (below, above) = outage_pair(k, Db(margin));
        libm::log(below) - libm::log(above) - wanted
    };
    let (mut low, mut at_low) = (0.0, excess(0.0));
    let (mut high, mut at_high) = (low, at_low);
    let mut step = 4.0;
    // 4 dB doubled ten times is more than any margin that this arithmetic tells apart.
    for _ in 0..10 {
        if at_low >= 0.0 && at_high <= 0.0 {
            break;
        }
        if at_low < 0.0 {
            (high, at_high) = (low, at_low);
            low -= step;
            at_low = excess(low);
        } else {
            (low, at_low) = (high, at_high);
            high += step;
            at_high = excess(high);
        }
        step *= 2.0;
    }
    // The chord, with half the weight of an end that stays twice (the Illinois rule); the middle where a tail has no
    // logarithm.
    let mut last = 0.0;
    for _ in 0..200 {
        if high - low <= 1e-15 * low.abs().max(high.abs()) {
            break;
        }
        let chord = high - at_high * (high - low) / (at_high - at_low);
        let next = if chord > low && chord < high { chord } else { 0.5 * (low + high) };
        let at_next = excess(next);
        if at_next.abs() < 1e-13 {
            return Db(next);
        }
        if at_next > 0.0 {
            (low, at_low) = (next, at_next);
            if last > 0.0 {
                at_high *= 0.5;
            }
        } else {
            (high, at_high) = (next, at_next);
            if last < 0.0 {
                at_low *= 0.5;
            }
        }
        last = at_next;
    }
    Db(0.5 * (low + high))
}

/// The greatest Doppler shift of waves that a receiver or transmitter moving at this speed meets: speed over wavelength.
pub fn maximum_doppler(speed: MetresPerSecond, wavelength: Metres) -> Hertz {
    Hertz(speed.0 / wavelength.0)
}

/// How often per second the level falls through its threshold.
///
/// `√(2π(K+1)) f ρ exp(-K-(K+1)ρ²) I0(2ρ√(K(K+1)))` with `ρ² = g`. Holds for scatter from all sides in the horizontal plane
/// and a direct wave *without* Doppler shift; one with a shift of its own raises the rate, up to about twice.
/// Source: Rice's formula, from memory; checked against the simulation in `tests/reference/rice_lcr.csv`.
pub fn level_crossing_rate(k: f64, margin: Db, doppler: Hertz) -> Hertz {
    if !(0.0..=STEADY).contains(&k.max(0.0)) || !margin.0.is_finite() {
        return Hertz(0.0);
    }
    let Threshold { x, y, gap } = Threshold::new(k, margin);
    let bell = libm::exp(-gap * gap);
    // Far from the mean the exponential is zero long before the square root is infinite.
    if bell == 0.0 {
        return Hertz(0.0);
    }
    Hertz((2.0 * PI * y).sqrt() * doppler.0 * bell * bessel_i0_scaled(2.0 * (x * y).sqrt()))
}

/// The mean length of one fade: outage over [`level_crossing_rate`].
///
/// Infinite for a level that never comes up, zero for one that never goes down. Source and limits as there.
pub fn average_fade_duration(k: f64, margin: Db, doppler: Hertz) -> Seconds {
    let rate = level_crossing_rate(k, margin, doppler).0;
    let outage = rice_outage(k, margin);
    if rate > 0.0 {
        Seconds(outage / rate)
    } else if outage < 0.5 {
        Seconds(0.0)
    } else {
        Seconds(f64::INFINITY)
    }
}

/// One receiving branch of a diversity receiver.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Branch {
    /// Rice factor, a plain ratio.
    pub k: f64,
    /// Mean power over the threshold.
    pub margin: Db,
}

/// Outage of a receiver that switches within a fade: all branches below their thresholds at once, taken as independent.
///
/// Optimistic: independence needs about half a wavelength between antennas in rich scatter. Without a branch, one.
pub fn fast_selection_outage(branches: &[Branch]) -> f64 {
    branches.iter().map(|branch| rice_outage(branch.k, branch.margin)).product()
}

/// Outage of a receiver that follows the local mean, too slow for single fades: that of the branch with the greatest
/// margin, the first of equals. Without a branch, one.
pub fn slow_selection_outage(branches: &[Branch]) -> f64 {
    let mut best: Option<&Branch> = None;
    for branch in branches {
        if best.is_none_or(|best| branch.margin > best.margin) {
            best = Some(branch);
        }
    }
    best.map_or(1.0, |branch| rice_outage(branch.k, branch.margin))
}

/// Variance of the power of a Rice channel, with the mean power as the unit: `(2K+1)/(K+1)²`; 1 for `K = 0`, 0 for a
/// steady level. Follows from the moments of the distribution.
pub fn power_variance(k: f64) -> f64 {
    if k.is_infinite() {
        return 0.0;
    }
    let sum = k.max(0.0) + 1.0;
    (2.0 * sum - 1.0) / sum / sum
}

/// The Rice factor whose power has this variance (mean power as the unit): the inverse of [`power_variance`].
///
/// For a receiver that averages power over a wide channel: averaging lowers the variance, and the channel then fades like
/// one of this larger factor. A variance of one or more gives 0, of zero or less infinity.
pub fn equivalent_k(variance: f64) -> f64 {
    if variance <= 0.0 {
        return f64::INFINITY;
    }
    // 1 - variance = (K/(K+1))²
    let share = (1.0 - variance).max(0.0).sqrt();
    share * (1.0 + share) / variance
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn without_a_direct_wave_the_outage_is_the_exponential_law() {
        for margin in [-100.0, -10.0, 0.0, 3.0, 40.0, 100.0] {
            let expected = -libm::expm1(-Db(-margin).ratio());
            let got = rice_outage(0.0, Db(margin));
            assert!((got / expected - 1.0).abs() < 1e-13, "{margin}: {got} {expected}");
        }
    }

    #[test]
    fn a_steady_level_is_above_or_below() {
        for k in [1e12, 1e20, 1e22, f64::INFINITY] {
            assert_eq!(rice_outage(k, Db(0.01)), 0.0, "{k}");
            assert_eq!(rice_outage(k, Db(-0.01)), 1.0, "{k}");
            assert!((rice_outage(k, Db(0.0)) - 0.5).abs() < 1e-6, "{k}");
        }
        assert_eq!(rice_outage(f64::NAN, Db(10.0)), 1.0);
        assert_eq!(rice_outage(3.0, Db(f64::NAN)), 1.0);
        assert_eq!(rice_outage(3.0, Db(f64::INFINITY)), 0.0);
        assert_eq!(rice_outage(3.0, Db(f64::NEG_INFINITY)), 1.0);
    }

    #[test]
    fn a_fade_margin_is_a_number_or_a_limit() {
        assert_eq!(fade_margin(3.0, 0.0), Db(f64::INFINITY));
        assert_eq!(fade_margin(3.0, 1.0), Db(f64::NEG_INFINITY));
        assert_eq!(fade_margin(f64::NAN, 0.1), Db(f64::INFINITY));
        assert!(fade_margin(f64::INFINITY, 0.1).0.abs() < 1e-12);
        assert!((fade_margin(0.0, 1e-250).0 - 2500.0).abs() < 1e-6);
        assert!(fade_margin(100.0, 1e-290).0.is_finite());
    }

    #[test]
    fn the_power_variance_gives_its_factor_back() {
        for k in [0.0, 1e-6, 0.5, 3.0, 100.0, 1e8] {
            let back = equivalent_k(power_variance(k));
            assert!((back - k).abs() < 1e-7 * (1.0 + k), "{k} {back}");
        }
        assert_eq!(power_variance(0.0), 1.0);
        assert_eq!(power_variance(f64::INFINITY), 0.0);
        assert_eq!(equivalent_k(0.0), f64::INFINITY);
        assert_eq!(equivalent_k(1.5), 0.0);
    }

    #[test]
    fn selection_counts_all_or_the_better_one() {
        let (good, poor) = (Branch { k: 4.0, margin: Db(10.0) }, Branch { k: 0.0, margin: Db(3.0) });
        let outage = |branch: Branch| rice_outage(branch.k, branch.margin);
        assert_eq!(slow_selection_outage(&[poor, good]), outage(good));
        assert_eq!(fast_selection_outage(&[poor, good]), outage(poor) * outage(good));
        assert_eq!(fast_selection_outage(&[]), 1.0);
        assert_eq!(slow_selection_outage(&[]), 1.0);
    }

    #[test]
    fn rates_and_lengths_end_where_there_is_nothing_to_cross() {
        assert_eq!(level_crossing_rate(f64::INFINITY, Db(1.0), Hertz(100.0)), Hertz(0.0));
        assert_eq!(average_fade_duration(1e9, Db(20.0), Hertz(100.0)), Seconds(0.0));
        assert_eq!(average_fade_duration(3.0, Db(-60.0), Hertz(100.0)), Seconds(f64::INFINITY));
        assert_eq!(average_fade_duration(3.0, Db(f64::NEG_INFINITY), Hertz(100.0)), Seconds(f64::INFINITY));
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 3000, ..ProptestConfig::default() })]

        #[test]
        fn more_margin_never_means_more_outage(
            k_db in prop_oneof![-30.0..60.0f64, 11.0..17.0f64], margin in -30.0..60.0f64, step in 1e-4..3.0f64,
        ) {
            let k = Db(k_db).ratio();
            let (less, more) = (rice_outage(k, Db(margin)), rice_outage(k, Db(margin + step)));
            prop_assert!((0.0..=1.0).contains(&less));
            prop_assert!(more <= less * (1.0 + 1e-12), "{less} {more}");
            let sum = less + rice_availability(k, Db(margin));
            prop_assert!((sum - 1.0).abs() < 1e-12, "{sum}");
        }

        #[test]
        fn the_fade_margin_leaves_the_outage_it_was_asked_for(
            k_db in prop_oneof![-20.0..40.0f64, 40.0..150.0f64, Just(f64::NEG_INFINITY)],
            exponent in prop_oneof![-9.0..-0.01f64, -1e-9..-1e-12f64, -30.0..-9.0f64],
        ) {
            let (k, outage) = (Db(k_db).ratio(), libm::pow(10.0, exponent));
            let back = rice_outage(k, fade_margin(k, outage));
            prop_assert!((back / outage - 1.0).abs() < 1e-6, "{outage} {back}");
        }
    }
}
