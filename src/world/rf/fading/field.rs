//! Fields of a picture: short stretches of time that are lost when more than a quarter of one is under the threshold.
//!
//! In a field so short that nothing moves, a field is lost as often as the level is under its threshold; in one so long that
//! all fades come by, it is lost when the outage is above a quarter, and never otherwise. In between it depends on how
//! often the level fades within the field. [`lost_score`] reads that from a table (`field_table.rs`) over the score of the
//! outage (see [`super::score`]), the K-factor and how the wave and what is scattered move against each other
//! ([`Motion`]); the table was made by simulation (`tests/reference/README.md` says how) and is checked against another one
//! in `tests/reference/field_loss.csv`.

use std::sync::OnceLock;

use super::field_table::{PERIODS, SCATTERED_SHARES, SCORES, SHIFTS, lost_scores};

/// The part of a field that may be under the threshold without it being lost.
pub const LOST_PART: f64 = 0.25;

/// How what is scattered moves against the steady wave in one field.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Motion {
    /// Doppler periods in a field, of scatter that comes from all round: `√2` times the standard deviation of the scattered waves'
    /// frequencies times the length of the field. Zero or more.
    pub periods: f64,
    /// The steady wave's frequency against the mean of the scattered ones, over the greatest Doppler shift: 0 to 1.
    pub shift: f64,
}

impl Motion {
    /// From the variance of the scattered waves' frequencies and the steady wave's distance from their mean, both in periods per
    /// field (the variance in its square).
    pub fn new(variance: f64, offset: f64) -> Self {
        let (variance, offset) = (variance.max(0.0), offset.abs());
        let periods = (2.0 * variance).sqrt();
        if offset <= periods {
            return Self { periods, shift: if periods > 0.0 { offset / periods } else { 0.0 } };
        }
        // A few waves of nearly one frequency: as much motion in all, spread as the table has it.
        let all = variance + offset * offset;
        Self { periods: (all / 1.5).sqrt(), shift: 1.0 }
    }

    /// Periods by which scatter and wave move against each other in all: the root-mean-square frequency.
    pub fn mean_square(&self) -> f64 {
        self.periods * self.periods * (0.5 + self.shift * self.shift)
    }
}

/// The first score of an outage in the table, and scores per unit.
const FIRST_SCORE: f64 = -4.25;
const PER_SCORE: f64 = 4.0;

/// The scores of one motion, by what is scattered and by the score of the outage.
type Block = [[f64; SCORES]; SCATTERED_SHARES.len()];

/// The table as numbers that need no conversion.
fn scores() -> &'static [Block] {
    static TABLE: OnceLock<Vec<Block>> = OnceLock::new();
    TABLE.get_or_init(|| {
        let scores = lost_scores();
        let score = |place: usize| f64::from(scores[place]) * 1e-3;
        let start = |block: usize, row: usize| (block * SCATTERED_SHARES.len() + row) * SCORES;
        let block = |block| std::array::from_fn(|row| std::array::from_fn(|column| score(start(block, row) + column)));
        (0..PERIODS.len() * SHIFTS.len()).map(block).collect()
    })
}

/// The cells of the table that belong to one motion, found once for all outages and K-factors.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct FieldLoss {
    /// The four blocks of the table that lie around it, and their shares.
    blocks: [usize; 4],
    shares: [f64; 4],
    /// How much of the outage's own score stands beside the table, for fields in which nothing moves.
    still: f64,
}

impl FieldLoss {
    /// For a motion.
    pub fn of(motion: &Motion) -> Self {
        let periods = motion.periods.max(0.0);
        // Below the least motion of the table toward none at all, where a field is lost as often as the level is under.
        let (still, row, part) = if periods < PERIODS[0] {
            (1.0 - periods / PERIODS[0], 0, 0.0)
        } else {
            let last = PERIODS.len() - 1;
            let row = PERIODS[1..last].iter().take_while(|&&limit| periods >= limit).count();
            // Straight in the square root of the periods: nearly as good as in their logarithm, and cheap.
            let (from, to) = (PERIODS[row].sqrt(), PERIODS[row + 1].sqrt());
            (0.0, row, ((periods.sqrt() - from) / (to - from)).min(2.0))
        };
        let squared = motion.shift.clamp(0.0, 1.0) * motion.shift.clamp(0.0, 1.0);
        let place = SHIFTS[1..SHIFTS.len() - 1].iter().take_while(|&&shift| squared >= shift * shift).count();
        let (from, to) = (SHIFTS[place] * SHIFTS[place], SHIFTS[place + 1] * SHIFTS[place + 1]);
        let shift = (squared - from) / (to - from);
        let block = |row: usize, place: usize| row * SHIFTS.len() + place;
        Self {
            blocks: [
                block(row, place),
                block(row, place + 1),
                block((row + 1).min(PERIODS.len() - 1), place),
                block((row + 1).min(PERIODS.len() - 1), place + 1),
            ],
            shares: [(1.0 - part) * (1.0 - shift), (1.0 - part) * shift, part * (1.0 - shift), part * shift],
            still,
        }
    }

    /// The score of the probability that a field is lost. `outage` is the score of the outage, `scattered` what is scattered
    /// over the whole mean power, `1/(K+1)`, 0 to 1.
    pub fn lost_score(&self, outage: f64, scattered: f64) -> f64 {
        self.lost_score_at(outage, &ScatteredPlace::of(scattered))
    }

    /// The same for a place found before.
    pub fn lost_score_at(&self, outage: f64, place: &ScatteredPlace) -> f64 {
        let along = (outage - FIRST_SCORE) * PER_SCORE;
        let column = (along.max(0.0) as usize).min(SCORES - 2);
        let share = along - column as f64;
        let (table, row) = (scores(), place.row.min(SCATTERED_SHARES.len() - 2));
        let (mut here, mut next) = ([0.0; 2], [0.0; 2]);
        for (&block, weight) in self.blocks.iter().zip(self.shares) {
            let (cells, below) = (&table[block][row], &table[block][row + 1]);
            here[0] += weight * cells[column];
            here[1] += weight * cells[column + 1];
            next[0] += weight * below[column];
            next[1] += weight * below[column + 1];
        }
        let low = here[0] + (next[0] - here[0]) * place.part;
        let high = here[1] + (next[1] - here[1]) * place.part;
        self.still * outage + (1.0 - self.still) * (low + (high - low) * share)
    }
}

/// Where a scattered share lies among the rows of the table.
#[derive(Clone, Copy, Debug, Default)]
pub struct ScatteredPlace {
    row: usize,
    part: f64,
}

impl ScatteredPlace {
    /// The place of what is scattered over the whole mean power, `1/(K+1)`, 0 to 1.
    pub fn of(scattered: f64) -> Self {
        let root = scattered.clamp(0.0, 1.0).sqrt();
        let rows = SCATTERED_SHARES.len();
        let row = SCATTERED_SHARES[1..rows - 1].iter().take_while(|&&share| root >= share).count();
        let part = (root - SCATTERED_SHARES[row]) / (SCATTERED_SHARES[row + 1] - SCATTERED_SHARES[row]);
        Self { row, part }
    }
}
