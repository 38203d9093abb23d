//! The ladder's numbers as they are shown: tenths of a decibel that add up.

/// A step of the ladder in tenths of a decibel, as shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ShownStep {
    /// The level before the step; zero before the first.
    pub before: i64,
    /// The level after the step; the margin after the last.
    pub after: i64,
}

impl ShownStep {
    /// The gain of the step: always exactly the difference of the two shown levels.
    pub fn gain(self) -> i64 {
        self.after - self.before
    }
}

/// The steps of a budget as shown. Each level is rounded once and gains are differences of rounded levels, so the shown
/// gains sum to the shown margin, and a shown gain is off its exact value by less than a tenth. The last two levels are
/// the instant's level and margin themselves, so that they read the same here as elsewhere on the page.
pub fn shown_steps(gains_db: &[f64], level_dbm: f64, margin_db: f64) -> Vec<ShownStep> {
    let mut exact = 0.0;
    let mut before = 0;
    let count = gains_db.len();
    gains_db
        .iter()
        .enumerate()
        .map(|(index, gain)| {
            exact += gain;
            let level = match count - index {
                1 => margin_db,
                2 => level_dbm,
                _ => exact,
            };
            let step = ShownStep { before, after: tenths(level) };
            before = step.after;
            step
        })
        .collect()
}

/// A number of decibels in tenths, rounded exactly as the page writes numbers with one decimal. What is no number counts
/// as zero.
pub fn tenths(value: f64) -> i64 {
    if !value.is_finite() {
        return 0;
    }
    // Formatting rounds the exact binary value; multiplying by ten first would round twice and now and then differ.
    format!("{value:.1}").replace('.', "").parse().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shown_gains_add_up_to_the_shown_margin() {
        // A fixed linear congruential sequence (multiplier and increment from memory) gives awkward fractions.
        let mut state: u32 = 7;
        for _ in 0..500 {
            let gains: Vec<f64> = (0..13)
                .map(|_| {
                    state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                    f64::from(state >> 8) / f64::from(1 << 24) * 40.0 - 20.0
                })
                .collect();
            let margin: f64 = gains.iter().sum();
            let level: f64 = gains[..12].iter().sum();
            let steps = shown_steps(&gains, level, margin);
            assert_eq!(steps.iter().map(|step| step.gain()).sum::<i64>(), tenths(margin));
            assert!(steps.windows(2).all(|pair| pair[0].after == pair[1].before));
            for (step, gain) in steps.iter().zip(&gains) {
                assert!((step.gain() as f64 / 10.0 - gain).abs() < 0.1 + 1e-9);
            }
        }
    }

    #[test]
    fn the_last_levels_are_the_ones_shown_elsewhere() {
        let steps = shown_steps(&[12.0, -80.04, 88.0], -68.04, 19.96);
        assert_eq!(steps[1].after, -680);
        assert_eq!(steps[2], ShownStep { before: -680, after: 200 });
        assert!(shown_steps(&[], 0.0, 0.0).is_empty());
    }
}
