//! Probabilities as scores: the number of standard deviations at which a normal variable has that probability.
//!
//! The score of an outage is nearly straight in decibels where the outage itself runs over many powers of ten, so that
//! tables of scores can be coarse. Everything here is tabulated once from the exact functions of this folder and then
//! interpolated; the error is below 0.02 dB of margin for scores between -4 and 4 (`tests/field_loss.rs`).

use std::sync::OnceLock;

use super::outage_pair;
use crate::units::Db;

/// Scores beyond this either way count as never and always.
pub const CERTAIN: f64 = 6.0;

/// The probability of a score: the normal distribution Φ, interpolated from a table; its error is below 2e-6.
pub fn share_of_score(score: f64) -> f64 {
    const PER_STEP: f64 = 128.0;
    const STEPS: usize = (2.0 * CERTAIN * PER_STEP) as usize;
    static TABLE: OnceLock<Vec<f64>> = OnceLock::new();
    let table = TABLE.get_or_init(|| {
        let share = |step: usize| {
            let score = step as f64 / PER_STEP - CERTAIN;
            0.5 * libm::erfc(-score * std::f64::consts::FRAC_1_SQRT_2)
        };
        (0..=STEPS + 1).map(share).collect()
    });
    if score.is_nan() || score >= CERTAIN {
        return 1.0;
    }
    let place = (score + CERTAIN) * PER_STEP;
    if place <= 0.0 {
        return 0.0;
    }
    let step = place as usize;
    table[step] + (table[step + 1] - table[step]) * (place - step as f64)
}

/// The score of a probability, held within ±[`CERTAIN`]: the inverse of the normal distribution.
///
/// Rational approximation, relative error below 1.2e-9. Source: Abramowitz and Stegun section 26.2 for the form of the tails;
/// the coefficients are a published minimax fit, from memory, and are checked against `erfc` in the tests beside.
pub fn score_of_share(share: f64) -> f64 {
    const NEAR: f64 = 0.02425;
    if share.is_nan() || share >= 1.0 {
        return CERTAIN;
    }
    if share <= 0.0 {
        return -CERTAIN;
    }
    let score = if share < NEAR {
        tail(share)
    } else if share > 1.0 - NEAR {
        -tail(1.0 - share)
    } else {
        let from_half = share - 0.5;
        let square = from_half * from_half;
        let above = polynomial(
            &[
                -39.696_830_286_653_8,
                220.946_098_424_521,
                -275.928_510_446_969,
                138.357_751_867_269,
                -30.664_798_066_147_2,
                2.506_628_277_459_24,
            ],
            square,
        );
        let below = polynomial(
            &[
                -54.476_098_798_224_1,
                161.585_836_858_041,
                -155.698_979_859_887,
                66.801_311_887_719_7,
                -13.280_681_552_885_7,
                1.0,
            ],
            square,
        );
        from_half * above / below
    };
    score.clamp(-CERTAIN, CERTAIN)
}

/// The score of a probability, as [`score_of_share`] but from a table: its error is below 5e-4.
pub fn near_score_of_share(share: f64) -> f64 {
    /// Steps per octave, as bits of the mantissa.
    const BITS: u32 = 5;
    const PER_OCTAVE: usize = 1 << BITS;
    /// Below two to the minus this there is no table.
    const OCTAVES: usize = 26;
    static TABLE: OnceLock<Vec<f64>> = OnceLock::new();
    if share > 0.5 {
        return -near_score_of_share(1.0 - share);
    }
    let bits = share.to_bits();
    let octave = (bits >> 52) as usize;
    let first = 1022 - OCTAVES;
    if octave < first {
        // Also what is not a number by rounding, or below zero.
        return -CERTAIN;
    }
    let table = TABLE.get_or_init(|| {
        let share = |step: usize| {
            let octave = first + step / PER_OCTAVE;
            f64::from_bits(((octave as u64) << 52) | ((step % PER_OCTAVE) as u64) << (52 - BITS))
        };
        (0..=(OCTAVES + 1) * PER_OCTAVE).map(|step| score_of_share(share(step))).collect()
    });
    let place = ((bits >> (52 - BITS)) as usize) - first * PER_OCTAVE;
    let part = (bits & ((1 << (52 - BITS)) - 1)) as f64 * (1.0 / (1_u64 << (52 - BITS)) as f64);
    match table.get(place..place + 2) {
        Some(&[here, next]) => here + (next - here) * part,
        _ => score_of_share(share),
    }
}

/// The score of a small probability.
fn tail(share: f64) -> f64 {
    let root = (-2.0 * libm::log(share)).sqrt();
    let above = polynomial(
        &[
            -0.007_784_894_002_430_29,
            -0.322_396_458_041_136,
            -2.400_758_277_161_84,
            -2.549_732_539_343_73,
            4.374_664_141_464_97,
            2.938_163_982_698_78,
        ],
        root,
    );
    let below = polynomial(
        &[0.007_784_695_709_041_46, 0.322_467_129_070_04, 2.445_134_137_143, 3.754_408_661_907_42, 1.0],
        root,
    );
    above / below
}

fn polynomial(coefficients: &[f64], at: f64) -> f64 {
    coefficients.iter().fold(0.0, |sum, coefficient| sum * at + coefficient)
}

/// Scores of Rice outages, tabulated over `√(2K)` and the logarithm of threshold over mean power.
#[derive(Debug)]
pub struct OutageScores {
    /// For each logarithm of threshold over mean power the scores of all `√(2K)`, with that of the second row before the
    /// first: they are even.
    columns: Vec<[f64; Self::ROWS + 1]>,
    /// For each row, the logarithm of threshold over mean power up to which an outage counts as none, and as next to none.
    quiet: Vec<[f64; 2]>,
}

/// Outages of this score (2 in a million) and less are none, wherever many of them are summed.
pub const QUIET: f64 = -4.6;

/// The same for outages that hold for a hundredth of all cases (2 in ten thousand).
pub const NEARLY_QUIET: f64 = -3.5;

impl OutageScores {
    /// Steps per unit of `√(2K)`, rows, and steps per neper of power, columns.
    const PER_ROW: f64 = 2.0;
    const ROWS: usize = 23;
    const PER_COLUMN: f64 = 5.0;
    const COLUMNS: usize = 64;
    /// Logarithm of threshold over mean power in the first column: 43 dB of margin.
    const FIRST_COLUMN: f64 = -10.0;
    /// From this `√(2K)` on the amplitude is as good as normal.
    const NORMAL_FROM: f64 = 10.0;

    /// The table, made at the first call.
    pub fn table() -> &'static Self {
        static TABLE: OnceLock<OutageScores> = OnceLock::new();
        TABLE.get_or_init(|| {
            let score = |row: usize, column: usize| {
                let amplitude = row as f64 / Self::PER_ROW;
                let ratio = Self::FIRST_COLUMN + column as f64 / Self::PER_COLUMN;
                let margin = Db(-ratio * 10.0 * std::f64::consts::LOG10_E);
                let (below, above) = outage_pair(0.5 * amplitude * amplitude, margin);
                // Each tail has its own digits.
                if below < 0.5 { wide_score(below) } else { -wide_score(above) }
            };
            let column = |column| {
                let mut cells = [0.0; Self::ROWS + 1];
                cells[1..].iter_mut().enumerate().for_each(|(row, cell)| *cell = score(row, column));
                cells[0] = cells[2];
                cells
            };
            let mut table = Self { columns: (0..Self::COLUMNS).map(column).collect(), quiet: Vec::new() };
            table.quiet = (0..Self::ROWS)
                .map(|row| [QUIET, NEARLY_QUIET].map(|score| table.reached_in_row(row, score)))
                .collect();
            table
        })
    }

    fn reached_in_row(&self, row: usize, wanted: f64) -> f64 {
        let cells: Vec<f64> = self.columns.iter().map(|column| column[row + 1]).collect();
        let column = cells.iter().take_while(|&&score| score < wanted).count().clamp(1, Self::COLUMNS - 1) - 1;
        // Below the first column along its slope.
        let part = (wanted - cells[column]) / (cells[column + 1] - cells[column]);
        Self::FIRST_COLUMN + (column as f64 + part) / Self::PER_COLUMN
    }

    /// The logarithm of threshold over mean power up to which the outage of a Rice channel counts as none ([`QUIET`]), or as
    /// next to none ([`NEARLY_QUIET`]).
    pub fn quiet_until(&self, amplitude: f64, nearly: bool) -> f64 {
        if amplitude >= Self::NORMAL_FROM {
            let squared = amplitude * amplitude;
            return 2.0
                * libm::log(
                    ((squared + 1.0).sqrt() + if nearly { NEARLY_QUIET } else { QUIET }) / (squared + 2.0).sqrt(),
                );
        }
        let across = amplitude * Self::PER_ROW;
        let row = across as usize;
        let (here, next) = (self.quiet[row][usize::from(nearly)], self.quiet[row + 1][usize::from(nearly)]);
        here + (next - here) * (across - row as f64)
    }

    /// The score of the outage of a Rice channel. `amplitude` is `√(2K)`, zero or more; `ratio` the natural logarithm of the
    /// threshold over the mean power, direct and scattered together.
    pub fn score(&self, amplitude: f64, ratio: f64) -> f64 {
        self.score_at(&AmplitudePlace::of(amplitude), ratio)
    }

    /// The same for a place found before.
    #[inline]
    pub fn score_at(&self, place: &AmplitudePlace, ratio: f64) -> f64 {
        if place.row == AmplitudePlace::NORMAL {
            // Rice amplitudes about √(X²+1) with standard deviation 1: within 0.015 of the score for |score| below 4.
            let squared = place.part;
            return libm::exp(0.5 * ratio.min(20.0)) * (squared + 2.0).sqrt() - (squared + 1.0).sqrt();
        }
        let along = (ratio - Self::FIRST_COLUMN) * Self::PER_COLUMN;
        let column = (along.max(0.0) as usize).min(Self::COLUMNS - 2);
        let share = along - column as f64;
        // A parabola through three rows, or the mean of the two that meet between the middle ones.
        let part = place.part;
        let bend = 0.25 * part * (1.0 - part);
        let weights = [-bend, 1.0 - part + bend, part + bend, -bend];
        let row = place.row.min(Self::ROWS - 3);
        let (low, high) = (&self.columns[column][row..row + 4], &self.columns[column + 1][row..row + 4]);
        let mut sums = [0.0; 2];
        for ((weight, low), high) in weights.iter().zip(low).zip(high) {
            sums[0] += weight * low;
            sums[1] += weight * high;
        }
        sums[0] + (sums[1] - sums[0]) * share
    }
}

/// Where an amplitude `√(2K)` lies among the rows of [`OutageScores`].
#[derive(Clone, Copy, Debug, Default)]
pub struct AmplitudePlace {
    row: usize,
    /// Part of a row; the square of the amplitude beyond the last.
    part: f64,
}

impl AmplitudePlace {
    const NORMAL: usize = usize::MAX;

    /// The place of an amplitude, zero or more.
    pub fn of(amplitude: f64) -> Self {
        if amplitude >= OutageScores::NORMAL_FROM {
            return Self { row: Self::NORMAL, part: amplitude * amplitude };
        }
        let across = amplitude * OutageScores::PER_ROW;
        let row = (across as usize).min(OutageScores::ROWS - 3);
        Self { row, part: across - row as f64 }
    }
}

/// The score of a probability below a half, for the table: also where it is so small that no verdict asks for it.
fn wide_score(share: f64) -> f64 {
    if share < 1e-250 { -34.0 } else { tail_or_middle(share) }
}

fn tail_or_middle(share: f64) -> f64 {
    // One step of Halley's method on the approximation is exact to rounding; far tails keep their relative digits.
    let score = if share < 0.02425 { tail(share) } else { score_of_share(share) };
    let error = 0.5 * libm::erfc(-score * std::f64::consts::FRAC_1_SQRT_2) - share;
    let density = libm::exp(-0.5 * score * score) / (2.0 * std::f64::consts::PI).sqrt();
    if density < 1e-280 {
        return score;
    }
    let step = error / density;
    score - step / (1.0 + 0.5 * score * step)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rf::fading::rice_outage;

    #[test]
    fn scores_and_shares_are_inverse() {
        for step in -550..=550 {
            let score = f64::from(step) * 0.01;
            let share = 0.5 * libm::erfc(-score * std::f64::consts::FRAC_1_SQRT_2);
            assert!((score_of_share(share) - score).abs() < 1e-6 * (1.0 + score * score), "{score}");
            assert!((share_of_score(score) - share).abs() < 2e-6, "{score}");
            if score.abs() < 5.0 {
                assert!((near_score_of_share(share) - score).abs() < 5e-4, "{score}");
            }
        }
        assert_eq!(share_of_score(-7.0), 0.0);
        assert_eq!(share_of_score(7.0), 1.0);
        assert_eq!(share_of_score(f64::NAN), 1.0);
        assert_eq!(score_of_share(0.0), -CERTAIN);
        assert_eq!(score_of_share(1.0), CERTAIN);
    }

    #[test]
    fn tabulated_outages_agree_with_the_exact_ones_within_two_hundredths_of_a_decibel() {
        let table = OutageScores::table();
        for amplitude_step in 0..60 {
            let amplitude = 0.23 * f64::from(amplitude_step);
            for ratio_step in 0..90 {
                let ratio = -9.5 + 0.131 * f64::from(ratio_step);
                let margin = |ratio: f64| Db(-ratio * 10.0 * std::f64::consts::LOG10_E);
                let exact = |ratio: f64| score_of_share(rice_outage(0.5 * amplitude * amplitude, margin(ratio)));
                let score = exact(ratio);
                if score.abs() > 4.0 {
                    continue;
                }
                let slope = (exact(ratio + 1e-3) - exact(ratio - 1e-3)) / (margin(-2e-3).0);
                let error = (table.score(amplitude, ratio) - score) / slope;
                assert!(error.abs() < 0.025, "√(2K) {amplitude}, {}: off by {error} dB", margin(ratio));
            }
        }
    }
}
