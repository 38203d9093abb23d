//! The margins of all fields of many laps, counted: how far the signal may drop until too few fields show a picture.
//!
//! The share of fields with a picture, were every level `x` decibels lower, is the share whose picture margin
//! ([`FlownLap::picture_margins`](crate::link::flown::FlownLap::picture_margins)) is `x` or more, freezes included. So the
//! simulated reserve is a quantile of these margins. They are kept as whole numbers per [`STEP`], which add up in any order.

use super::interval;
use crate::units::Db;

/// Margins below are counted as this one; a reserve of so little means "this or less".
pub const LEAST: Db = Db(-80.0);

/// Margins from here on are counted just below; a reserve of so much means "this or more".
pub const MOST: Db = Db(80.0);

/// Width of a step of the count: a reserve is read off to a part of it, as if a step's margins were spread evenly over it.
pub const STEP: Db = Db(0.01);

/// Steps in a decibel.
const PER_DECIBEL: f64 = 100.0;

/// Steps between two edges at which the laps' differences are counted, half a decibel: an interval's end lies between two.
const STEPS_PER_EDGE: usize = 50;

const STEPS: usize = 16_000;
const EDGES: usize = STEPS / STEPS_PER_EDGE;

/// What was counted. Sums of whole numbers.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Margins {
    laps: u64,
    fields: u64,
    /// Fields whose margin lies in each step.
    counts: Vec<u64>,
    /// For the upper edge of every [`STEPS_PER_EDGE`] steps, the sum over laps of the square of a lap's number of fields
    /// below it.
    squares: Vec<u64>,
}

/// How far the wanted signal may drop, decibels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reserve {
    /// The largest drop with which the share of fields with a picture is still what is wanted; negative if levels must rise.
    pub reserve: f64,
    /// Lower end of its 90 % interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

impl Default for Margins {
    fn default() -> Self {
        Self { laps: 0, fields: 0, counts: vec![0; STEPS], squares: vec![0; EDGES] }
    }
}

impl Margins {
    /// Counts the fields of a lap.
    pub fn count(&mut self, margins: &[f64]) {
        let mut below = [0_u64; EDGES];
        for &margin in margins {
            // A margin of exactly zero is no loss, and stands in the first step above.
            let step = ((margin - LEAST.0) * PER_DECIBEL).floor().clamp(0.0, (STEPS - 1) as f64) as usize;
            self.counts[step] += 1;
            below[step / STEPS_PER_EDGE] += 1;
        }
        let mut sum = 0;
        for (squares, below) in self.squares.iter_mut().zip(below) {
            sum += below;
            *squares += sum * sum;
        }
        self.laps += 1;
        self.fields += margins.len() as u64;
    }

    /// Adds what was counted in other laps.
    pub fn add(&mut self, other: &Margins) {
        self.laps += other.laps;
        self.fields += other.fields;
        self.counts.iter_mut().zip(&other.counts).for_each(|(ours, theirs)| *ours += theirs);
        self.squares.iter_mut().zip(&other.squares).for_each(|(ours, theirs)| *ours += theirs);
    }

    /// How far the signal may drop with a share of `wanted_share` (0 to 1) of all fields still showing a picture.
    ///
    /// The interval is that of the drop at which the mean number of fields without a picture per lap is what may be: its
    /// lower end is the drop up to which the interval of that mean ([`interval::of_mean`]) stays below it, its upper end
    /// the one from which it stays above. Laps are what is independent, not fields. Without laps, nothing is known: zero
    /// and the whole range.
    pub fn reserve(&self, wanted_share: f64) -> Reserve {
        if self.fields == 0 {
            return Reserve { reserve: 0.0, low: LEAST.0, high: MOST.0 };
        }
        // A share that no binary number holds must not lose a whole field.
        let may_be_lost = ((1.0 - wanted_share) * self.fields as f64 + 1e-6).floor() as u64;
        let reserve = self.margin_above(may_be_lost);
        let per_lap = self.fields as f64 / self.laps as f64;
        let most = (1.0 - wanted_share) * per_lap;
        let mut below = Vec::with_capacity(EDGES);
        self.counts.chunks_exact(STEPS_PER_EDGE).fold(0, |sum, counts| {
            let sum = sum + counts.iter().sum::<u64>();
            below.push(sum);
            sum
        });
        // Both ends of the interval of the mean at an edge; -1 is the lower end of the range.
        let mean = |edge: usize| match edge {
            0 => (0.0, 0.0),
            edge => interval::of_mean(self.laps, below[edge - 1], self.squares[edge - 1], per_lap),
        };
        let level = |edge: f64| LEAST.0 + edge * STEPS_PER_EDGE as f64 / PER_DECIBEL;
        let between =
            |edge: usize, one: f64, two: f64| level(edge as f64 + ((most - one) / (two - one)).clamp(0.0, 1.0));
        let nearest = (((reserve - LEAST.0) * PER_DECIBEL) as usize / STEPS_PER_EDGE).min(EDGES - 1);
        // Down from the reserve to where even the upper end is few enough, and up to where the lower end is too many.
        let (mut edge, mut above) = (nearest, mean(nearest + 1).1);
        let low = loop {
            let upper = mean(edge).1;
            if upper <= most || edge == 0 {
                break between(edge, upper, above);
            }
            (edge, above) = (edge - 1, upper);
        };
        let (mut edge, mut under) = (nearest + 1, mean(nearest).0);
        let high = loop {
            let lower = mean(edge).0;
            if lower > most {
                break between(edge - 1, under, lower);
            }
            if edge == EDGES {
                break MOST.0;
            }
            (edge, under) = (edge + 1, lower);
        };
        Reserve { reserve, low: low.min(reserve), high: high.max(reserve) }
    }

    /// The margin with so many fields below it.
    fn margin_above(&self, count: u64) -> f64 {
        let mut below = 0;
        for (step, &here) in self.counts.iter().enumerate() {
            if below + here > count {
                // The step's margins stand evenly in it, and so does the one after `count` others.
                let within = ((count - below) as f64 + 0.5) / here as f64;
                return LEAST.0 + (step as f64 + within) / PER_DECIBEL;
            }
            below += here;
        }
        MOST.0
    }
}

#[cfg(test)]
mod tests {
    use super::super::CONFIDENCE;
    use super::*;
    use crate::rf::random::Random;

    fn of(laps: &[&[f64]]) -> Margins {
        let mut margins = Margins::default();
        laps.iter().for_each(|lap| margins.count(lap));
        margins
    }

    #[test]
    fn the_reserve_is_the_margin_of_the_first_field_that_may_not_be_lost() {
        let lap: Vec<f64> = (0..200).map(|field| 5.0 + 0.1 * f64::from(field)).collect();
        let margins = of(&[&lap]);
        // One in a hundred of 200 fields: the third is the first that may not be lost.
        for (share, reserve) in [(0.99, 5.2), (0.9, 7.0), (1.0, 5.0), (0.992, 5.1)] {
            assert!(
                (margins.reserve(share).reserve - reserve).abs() <= STEP.0,
                "{share}: {:?}",
                margins.reserve(share)
            );
        }
        assert_eq!(of(&[&[-500.0; 10]]).reserve(0.99).reserve.floor(), LEAST.0);
        assert_eq!(of(&[&[500.0; 10]]).reserve(0.99).reserve.ceil(), MOST.0);
        assert_eq!(Margins::default().reserve(0.99), Reserve { reserve: 0.0, low: LEAST.0, high: MOST.0 });
        assert_eq!(STEP.0 * STEPS as f64, MOST.0 - LEAST.0);
        assert_eq!(STEP.0 * PER_DECIBEL, 1.0);
    }

    #[test]
    fn zero_is_no_loss_and_a_hair_less_is_one() {
        // Half of the fields may be lost, and these are: the other half's margin decides.
        for (margin, least) in [(0.0, 0.0), (-1e-9, -0.01)] {
            let reserve = of(&[&[-9.0, margin]]).reserve(0.5).reserve;
            assert!(reserve > least && reserve < least + STEP.0, "{margin}: {reserve}");
        }
    }

    #[test]
    fn counts_add_up_in_any_order() {
        let laps: [&[f64]; 3] = [&[1.0, 2.0, -70.0], &[3.0, 3.0, 3.0], &[-1.0, 90.0, 0.004]];
        let (mut one, mut two) = (of(&laps[2..]), of(&laps[..1]));
        two.add(&of(&laps[1..2]));
        one.add(&two);
        assert_eq!(one, of(&laps));
        assert_eq!(one.reserve(0.5), of(&[laps[1], laps[2], laps[0]]).reserve(0.5));
    }

    /// A lap of 400 fields: a level of its own, and fades that last ten fields and reach down as Rayleigh's do.
    fn faded(random: &mut Random, spread: f64) -> Vec<f64> {
        let lap = spread * random.normal().re;
        (0..40)
            .flat_map(|_| {
                let fade = Db::from_ratio(random.normal().norm_sqr()).0;
                [20.0 + lap + fade; 10]
            })
            .collect()
    }

    #[test]
    fn nine_of_ten_intervals_hold_the_reserve_whether_laps_differ_or_not() {
        for spread in [0.0, 1.0, 3.0] {
            let mut random = Random::new(31);
            let mut all = Margins::default();
            (0..20_000).for_each(|_| all.count(&faded(&mut random, spread)));
            let truth = all.reserve(0.99).reserve;
            let (sets, laps) = (500, 64);
            let (mut held, mut width, mut beside) = (0, 0.0, 0.0);
            for _ in 0..sets {
                let mut margins = Margins::default();
                (0..laps).for_each(|_| margins.count(&faded(&mut random, spread)));
                let told = margins.reserve(0.99);
                assert!(told.low <= told.reserve && told.reserve <= told.high);
                held += u32::from((told.low..=told.high).contains(&truth));
                width += (told.high - told.low) / f64::from(sets);
                beside += (told.reserve - truth) / f64::from(sets);
            }
            let share = f64::from(held) / f64::from(sets);
            // Of 500 sets, one part in 75 is a standard error.
            assert!(share > CONFIDENCE - 0.04 && share < 0.98, "{spread}: {share}");
            assert!(width < 4.0 && beside.abs() < 0.1, "{spread}: {width} dB wide, {beside} dB beside");
        }
    }
}
