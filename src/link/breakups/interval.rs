//! The interval of a mean number of rare things per lap.

use super::CONFIDENCE;

/// The 90 % interval of the mean number per lap, of which `laps` laps had `sum` together and the squares of whose numbers
/// add up to `squares`; a lap has room for `room` of them.
///
/// Breakups are rare and laps independent, so their sum is taken as a Poisson number, whose exact interval has ends that
/// are quantiles of the gamma distribution (Garwood's interval, from memory); where the laps' numbers vary by more than a
/// Poisson number would, the interval is that of a sum as many times smaller, scaled up again. It is never narrower than
/// Poisson's, which for laps that all break up alike is wider than it need be. It cannot know of what has not happened
/// yet: breakups that come several at a time and once in many laps may lie outside. Of no lap, all that a lap has room
/// for.
pub(super) fn of_mean(laps: u64, sum: u64, squares: u64, room: f64) -> (f64, f64) {
    if laps == 0 {
        return (0.0, room);
    }
    let (laps, sum, squares) = (laps as f64, sum as f64, squares as f64);
    let excess = if laps > 1.0 && sum > 0.0 {
        ((squares - sum * sum / laps) / (laps - 1.0) / (sum / laps)).max(1.0)
    } else {
        1.0
    };
    let tail = 0.5 * (1.0 - CONFIDENCE);
    let low = if sum > 0.0 { gamma_quantile(sum / excess, tail) } else { 0.0 };
    let high = gamma_quantile(sum / excess + 1.0, 1.0 - tail);
    (low * excess / laps, (high * excess / laps).min(room))
}

/// The number below which a gamma distributed number of this shape (scale 1) lies with this probability.
///
/// By halving, to 15 digits. `shape > 0`; `probability` in (0, 1), ends excluded.
fn gamma_quantile(shape: f64, probability: f64) -> f64 {
    let (mut low, mut high) = (0.0, shape + 20.0 * (shape.sqrt() + 1.0));
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if lower_gamma(shape, middle) < probability {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// The regularized lower incomplete gamma function, by its power series, which converges for every argument (Abramowitz
/// and Stegun, 6.5.29, from memory).
fn lower_gamma(shape: f64, x: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    let (mut term, mut sum, mut n) = (1.0, 1.0, 0.0);
    while term > sum * 1e-17 {
        n += 1.0;
        term *= x / (shape + n);
        sum += term;
    }
    sum * libm::exp(shape * libm::log(x) - x - libm::lgamma(shape + 1.0))
}

#[cfg(test)]
mod tests {
    use super::super::USUAL_LAPS;
    use super::*;
    use crate::rf::random::Random;

    #[test]
    fn the_interval_of_a_poisson_number_is_that_of_the_tables() {
        // 90 % limits for 0, 1, 5 and 30 counted (tables of Poisson confidence limits, from memory; the first two by
        // hand: -ln 0.05, -ln 0.95, and the root of e^{-x}(1+x) = 0.05).
        for (count, low, high) in [(0, 0.0, 2.9957), (1, 0.0513, 4.7439), (5, 1.9701, 10.5130), (30, 21.594, 40.691)] {
            let got = of_mean(100, count, count, 50.0);
            assert!((100.0 * got.0 - low).abs() < 6e-4 && (100.0 * got.1 - high).abs() < 6e-4, "{count}: {got:?}");
        }
        let one = of_mean(1, 3, 9, 50.0);
        assert!(one.0 < 3.0 && one.1 > 3.0);
        assert_eq!(of_mean(0, 0, 0, 44.0), (0.0, 44.0));
        // Many laps that break up often: still numbers, near the normal distribution's.
        let many = of_mean(100_000, 1_000_000, 11_000_000, 44.0);
        assert!((many.0 - (10.0 - 0.0164)).abs() < 1e-3 && (many.1 - (10.0 + 0.0164)).abs() < 1e-3, "{many:?}");
    }

    /// How often the interval holds the mean, over many sets of laps; the seed is fixed.
    fn coverage(laps: u64, mean: f64, mut draw: impl FnMut(&mut Random) -> u64) -> f64 {
        let mut random = Random::new(77);
        let sets = 2000;
        let held = (0..sets).filter(|_| {
            let (mut sum, mut squares) = (0, 0);
            for _ in 0..laps {
                let count = draw(&mut random);
                sum += count;
                squares += count * count;
            }
            let (low, high) = of_mean(laps, sum, squares, 500.0);
            (low..=high).contains(&mean)
        });
        held.count() as f64 / f64::from(sets)
    }

    #[test]
    fn nine_of_ten_intervals_hold_the_mean_when_laps_differ_too() {
        for mean in [0.02, 0.3, 2.0, 7.0] {
            let held = coverage(USUAL_LAPS.into(), mean, |random| random.poisson(mean) as u64);
            assert!(held >= CONFIDENCE - 0.02, "Poisson, {mean} a lap: {held}");
        }
        // A lap in five has a crowd that makes it break up three times on average, the others hardly ever.
        let mean = 0.2 * 3.0 + 0.8 * 0.05;
        let held = coverage(USUAL_LAPS.into(), mean, |random| {
            let now = if random.uniform() < 0.2 { 3.0 } else { 0.05 };
            random.poisson(now) as u64
        });
        assert!(held >= CONFIDENCE - 0.04, "laps that differ: {held}");
    }
}
