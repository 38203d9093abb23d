//! From a reserve to a verdict and its confidence, and the worst stretch of a lap.

use super::report::Verdict;
use crate::units::Db;

/// The verdict for a reserve, given the wanted reserve.
pub fn verdict(reserve: Db, wanted: Db) -> Verdict {
    if reserve.0 < 0.0 {
        Verdict::Short
    } else if reserve < wanted {
        Verdict::Thin
    } else {
        Verdict::Clear
    }
}

/// Φ(reserve / sigma): the probability that the verdict's reserve survives a normal error of the levels.
///
/// A sigma of zero gives 0, ½ or 1.
pub fn confidence(reserve: Db, sigma: Db) -> f64 {
    if sigma.0 <= 0.0 {
        return if reserve.0 > 0.0 {
            1.0
        } else if reserve.0 < 0.0 {
            0.0
        } else {
            0.5
        };
    }
    0.5 * libm::erfc(-reserve.0 / (sigma.0 * std::f64::consts::SQRT_2))
}

/// The positions of values from the least to the greatest; equal ones keep their order. The only sort of floats below the
/// page: each kind of sort would travel to the browser by itself.
pub fn order(values: &[f64]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|&a, &b| values[a].total_cmp(&values[b]));
    order
}

/// The value below which a share `quantile` of the weight lies; values and weights of equal length, not empty.
pub fn weighted_quantile(values: &[f64], weights: &[f64], quantile: f64) -> f64 {
    let order = order(values);
    let total: f64 = weights.iter().sum();
    let mut below = 0.0;
    for &index in &order {
        below += weights[index];
        if below >= quantile * total {
            return values[index];
        }
    }
    order.last().map_or(f64::NAN, |&index| values[index])
}

/// A run of samples round the worst one, possibly over the start of the lap.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// First sample.
    pub first: usize,
    /// Number of samples.
    pub count: usize,
    /// The sample with the highest outage.
    pub worst: usize,
}

impl Run {
    /// The samples of the run, in order, each below `of`.
    pub fn samples(&self, of: usize) -> impl Iterator<Item = usize> + use<> {
        let first = self.first;
        (0..self.count).map(move |step| (first + step) % of)
    }
}

/// The worst run of a closed lap: round the highest outage, as long as the outage stays above a quarter of it.
///
/// A gap of up to `bridge` samples does not end the run: fading pattern and plain line of sight alternate quickly.
pub fn worst_run(outage: &[f64], bridge: usize) -> Option<Run> {
    let worst = (0..outage.len()).max_by(|&a, &b| outage[a].total_cmp(&outage[b]).then(b.cmp(&a)))?;
    let limit = 0.25 * outage[worst];
    let count = outage.len();
    let reach = |forward: bool| {
        let (mut last, mut gap) = (0, 0);
        for step in 1..count {
            let sample = if forward { (worst + step) % count } else { (worst + count - step) % count };
            if outage[sample] >= limit {
                (last, gap) = (step, 0);
            } else {
                gap += 1;
                if gap > bridge {
                    break;
                }
            }
        }
        last
    };
    let (back, ahead) = (reach(false), reach(true));
    if back + ahead + 1 >= count {
        return Some(Run { first: 0, count, worst });
    }
    Some(Run { first: (worst + count - back) % count, count: back + ahead + 1, worst })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verdicts_change_at_zero_and_at_the_wanted_reserve() {
        assert_eq!(verdict(Db(-1e-9), Db(6.0)), Verdict::Short);
        assert_eq!(verdict(Db(0.0), Db(6.0)), Verdict::Thin);
        assert_eq!(verdict(Db(6.0), Db(6.0)), Verdict::Clear);
    }

    #[test]
    fn confidence_is_the_normal_distribution() {
        // Φ(1) = 0.841345 (tables of the normal distribution).
        assert!((confidence(Db(4.0), Db(4.0)) - 0.841_344_746_068_543).abs() < 1e-12);
        assert_eq!(confidence(Db(0.0), Db(4.0)), 0.5);
        assert_eq!(confidence(Db(1.0), Db(0.0)), 1.0);
    }

    #[test]
    fn the_worst_run_reaches_over_the_start_of_the_lap() {
        let run = worst_run(&[0.9, 0.8, 0.0, 0.0, 0.0, 0.0, 0.5, 1.0], 0).expect("not empty");
        assert_eq!(run, Run { first: 6, count: 4, worst: 7 });
        assert_eq!(run.samples(8).collect::<Vec<_>>(), [6, 7, 0, 1]);
        assert_eq!(worst_run(&[], 0), None);
        assert_eq!(worst_run(&[0.0; 5], 0).map(|run| run.count), Some(5));
    }

    #[test]
    fn a_quantile_counts_time_not_samples() {
        assert_eq!(weighted_quantile(&[5.0, 1.0, 3.0], &[0.5, 0.1, 0.4], 0.2), 3.0);
        assert_eq!(weighted_quantile(&[5.0, 1.0], &[1.0, 1.0], 0.01), 1.0);
    }
}
