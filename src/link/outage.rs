//! How often the picture is lost: of one fade, of a sample with all its cases, of a lap; and the reserve.
//!
//! Everything that a verdict stands on asks [`outage`] and [`fade_margin`], nobody the fading distribution itself.

use crate::rf::fading;
use crate::units::Db;

/// Probability that the picture is lost while the level fades with a K-factor (a power ratio) about a mean that lies
/// `margin` above the threshold.
pub fn outage(k: f64, margin: Db) -> f64 {
    fading::rice_outage(k, margin)
}

/// The margin whose [`outage`] is the given one, in (0, 1), at a K-factor.
pub fn fade_margin(k: f64, outage: f64) -> Db {
    fading::fade_margin(k, outage)
}

/// The search for the reserve looks no further than this either way.
pub const RESERVE_RANGE: Db = Db(150.0);

/// A reserve is as exact as this, decibels.
const RESERVE_STEP: f64 = 1e-9;

/// A lost share whose logarithm is this near to the wanted one's is the wanted one: steeper than a fade by itself, no
/// reserve is off by more than [`RESERVE_STEP`] for it.
const NEAR_ENOUGH: f64 = 1e-10;

/// Farther than this in the logarithm of the lost share nothing is straight.
const FAR: f64 = 10.0;

/// How fast the logarithm of the lost share rises with the drop where levels fade freely, per decibel: tenfold in 10 dB.
const FREE_SLOPE: f64 = std::f64::consts::LN_10 / 10.0;

/// What fades at each sample of a lap: margins and K-factors of what the receiver listens to.
///
/// A sample has one or more cases (draws of the crowd, tilts), equally likely unless said otherwise; a case has one
/// branch (a port) or several of which the best counts at every moment (a fast receiver). The picture is lost when all
/// branches of a case are out.
#[derive(Clone, Debug, Default)]
pub struct Fading {
    /// K as a power ratio, and margin of the mean power over the threshold in dB.
    terms: Vec<(f64, f64)>,
    /// Branches per case.
    branches: usize,
    /// Probability of each case; empty when those of a sample are equally likely.
    likely: Vec<f64>,
    /// Where each sample's terms end.
    ends: Vec<usize>,
    /// Time each sample stands for; sums to one.
    weights: Vec<f64>,
}

impl Fading {
    /// No samples yet; `branches` per case, at least one.
    pub fn with_branches(branches: usize) -> Self {
        Self { branches: branches.max(1), ..Self::default() }
    }

    /// Adds one branch of one case of the sample that is being built: K as a power ratio, margin over the threshold.
    pub fn push_term(&mut self, k: f64, margin: Db) {
        self.terms.push((k, margin.0));
    }

    /// Says how likely the case is whose branches were just added; said of every case or of none. Those of a sample sum to
    /// one.
    pub fn weigh_case(&mut self, probability: f64) {
        self.likely.push(probability);
    }

    /// Ends a sample; `weight` is its share of the lap's time.
    pub fn end_sample(&mut self, weight: f64) {
        self.ends.push(self.terms.len());
        self.weights.push(weight);
    }

    /// Number of samples.
    pub fn len(&self) -> usize {
        self.ends.len()
    }

    /// Whether there are no samples.
    pub fn is_empty(&self) -> bool {
        self.ends.is_empty()
    }

    /// Probability that the picture is lost at a sample when every level drops by `drop`.
    pub fn outage(&self, sample: usize, drop: Db) -> f64 {
        let start = if sample == 0 { 0 } else { self.ends[sample - 1] };
        let terms = &self.terms[start..self.ends[sample]];
        let lost = terms
            .chunks(self.branches)
            .map(|case| case.iter().map(|&(k, margin)| outage(k, Db(margin - drop.0))).product::<f64>());
        if self.likely.is_empty() {
            return lost.sum::<f64>() / (terms.len() / self.branches).max(1) as f64;
        }
        lost.zip(&self.likely[start / self.branches..]).map(|(lost, likely)| lost * likely).sum()
    }

    /// Share of the lap's time without a picture when every level drops by `drop`; 1 for an empty lap.
    pub fn lost_share(&self, drop: Db) -> f64 {
        if self.is_empty() {
            return 1.0;
        }
        let lost: f64 =
            self.weights.iter().enumerate().map(|(sample, weight)| weight * self.outage(sample, drop)).sum();
        lost.clamp(0.0, 1.0)
    }

    /// The largest drop of every level that keeps the picture share at `target` or above; negative if levels must rise.
    ///
    /// `target` lies in (0, 1), ends excluded. The answer is exact to about 1e-9 dB, and held within
    /// [`RESERVE_RANGE`].
    pub fn reserve(&self, target: f64) -> Db {
        self.reserve_from(target, self.lost_share(Db(0.0)))
    }

    /// The same for who knows the lost share with no drop.
    pub fn reserve_from(&self, target: f64, lost: f64) -> Db {
        // The logarithm of the lost share is nearly straight in decibels, and the lost share never falls as levels
        // drop: a bracketed secant converges in a few steps.
        let wanted = libm::log(1.0 - target);
        let excess = |lost: f64| libm::log(lost.max(1e-300)) - wanted;
        let (least, most) = (-RESERVE_RANGE.0, RESERVE_RANGE.0);
        let (mut low, mut high) = (least, most);
        let (mut at_low, mut at_high) = (f64::NAN, f64::NAN);
        let (mut guess, mut value, mut last) = (0.0, excess(lost), 0.0);
        for step in 0..200 {
            // Half the weight of an end that stays twice (the Illinois rule).
            if value <= 0.0 {
                at_high *= if last < 0.0 { 0.5 } else { 1.0 };
                (low, at_low) = (guess, value);
            } else {
                at_low *= if last > 0.0 { 0.5 } else { 1.0 };
                (high, at_high) = (guess, value);
            }
            if value.abs() < NEAR_ENOUGH {
                // From above the target is all but met.
                return Db(if value > 0.0 { (guess - RESERVE_STEP).max(least) } else { guess });
            }
            if high - low < RESERVE_STEP {
                break;
            }
            last = value;
            if step == 0 && value.abs() > FAR {
                guess = self.first_guess();
                value = excess(self.lost_share(Db(guess)));
                continue;
            }
            // Outward until the answer is between two known points: as far as it lies where levels fade freely, and more
            // each time.
            let outward = (value.abs() / FREE_SLOPE).max(1.0) * f64::from(1 << (step / 2).min(6));
            guess = if at_low.is_nan() {
                (guess - outward).max(least)
            } else if at_high.is_nan() {
                (guess + outward).min(most)
            } else if step % 8 == 7 || at_low < -300.0 {
                0.5 * (low + high)
            } else {
                (low - at_low * (high - low) / (at_high - at_low)).clamp(low, high)
            };
            if (guess == low && !at_low.is_nan()) || (guess == high && !at_high.is_nan()) {
                // At an end of the range there is no farther one.
                break;
            }
            value = excess(self.lost_share(Db(guess)));
        }
        // The lower end keeps the target, or is that of the range.
        Db(low)
    }

    /// Where a search begins that has far to go: a drop that leaves the least margin of the lap at 3 dB.
    fn first_guess(&self) -> f64 {
        let least = self.terms.iter().map(|&(_, margin)| margin).fold(f64::INFINITY, f64::min);
        if least.is_finite() { (least - 3.0).clamp(-RESERVE_RANGE.0 + 1.0, RESERVE_RANGE.0 - 1.0) } else { 0.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn steady(k: f64, margins: &[f64]) -> Fading {
        let mut fading = Fading::with_branches(1);
        for &margin in margins {
            fading.push_term(k, Db(margin));
            fading.end_sample(1.0 / margins.len() as f64);
        }
        fading
    }

    #[test]
    fn the_reserve_of_a_rayleigh_link_is_margin_less_the_textbook_fade_margin() {
        // docs/model.md section 7: Rayleigh, 1 % outage at a margin of 19.978 dB.
        let reserve = steady(0.0, &[30.0; 7]).reserve(0.99);
        assert!((reserve.0 - (30.0 - 19.978)).abs() < 5e-4, "{reserve}");
    }

    #[test]
    fn a_drop_by_the_reserve_meets_the_target_exactly() {
        for margins in [vec![3.0, 25.0, 40.0], vec![-60.0, -10.0], vec![90.0; 4], vec![12.0, 12.5, 60.0, -3.0]] {
            for k in [0.0, 1.0, 31.6, 1e6] {
                for target in [0.5, 0.99, 0.9999] {
                    let fading = steady(k, &margins);
                    let share = 1.0 - fading.lost_share(fading.reserve(target));
                    assert!((share - target).abs() < 1e-6, "{margins:?} K {k}: {share} instead of {target}");
                }
            }
        }
    }

    #[test]
    fn two_branches_are_out_together_less_often_than_one() {
        let mut both = Fading::with_branches(2);
        both.push_term(0.0, Db(10.0));
        both.push_term(0.0, Db(10.0));
        both.end_sample(1.0);
        // docs/model.md section 7: two equal Rayleigh branches at 10 dB: 9.056e-3.
        assert!((both.lost_share(Db(0.0)) - 9.056e-3).abs() < 5e-7);
    }

    #[test]
    fn cases_average_in_outage_not_in_decibels() {
        let mut fading = Fading::with_branches(1);
        fading.push_term(1e6, Db(20.0));
        fading.push_term(1e6, Db(-20.0));
        fading.end_sample(1.0);
        assert!((fading.lost_share(Db(0.0)) - 0.5).abs() < 1e-9);
    }
}
