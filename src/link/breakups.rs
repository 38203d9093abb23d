//! Many laps in time: how often the picture breaks up, where, and how sure that is.
//!
//! [`LapsInTime`] is a value that is flown step by step. Each lap has a seed of its own, made of the plan's, the entry's id
//! and the lap's number, and all that is kept of it are whole numbers ([`Tally`]): the result is the same, bit for bit,
//! for any size of step and any number of workers that fly a share each.
//!
//! ```
//! use lapmargin::link::{Effort, Evaluator};
//! let plan = lapmargin::plan::demo::demo();
//! let mut laps = Evaluator::default().laps_in_time(&plan, 0, Effort::FULL, 0..8)?;
//! while laps.step(3).is_pending() {}
//! let breakups = laps.breakups();
//! assert_eq!(breakups.laps, 8);
//! assert!(breakups.low <= breakups.per_lap && breakups.per_lap <= breakups.high);
//! # Ok::<(), lapmargin::link::report::Notice>(())
//! ```

mod interval;
pub mod margins;
#[cfg(test)]
mod tests;

use std::ops::Range;

use serde::Serialize;

use margins::Margins;

use super::flown::{Field, FlownLap, Memory, fly};
use super::progress::Progress;
use super::track::{FIELD, Track};
use super::verdict::order;
use crate::rf::random::seed_of;
use crate::units::Seconds;

/// A run of bad fields this long is a breakup.
pub const BREAKUP: Seconds = Seconds(0.2);

/// Laps that are flown unless somebody asks for another number: a breakup that happens once in 21 laps is seen with 95 %
/// probability.
pub const USUAL_LAPS: u32 = 64;

/// The most laps that can be asked for.
pub const MOST_LAPS: u32 = 100_000;

/// The share of intervals like [`Breakups::low`] to [`Breakups::high`] that hold the true mean.
pub const CONFIDENCE: f64 = 0.9;

/// What was counted in some laps of one entry. Sums of whole numbers: tallies of different laps add up in any order.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// Laps.
    pub laps: u64,
    /// Breakups.
    pub breakups: u64,
    /// Sum of the squares of the laps' numbers of breakups.
    pub squares: u64,
    /// Sum of the laps' shares of time under the threshold, each rounded to a billionth.
    pub under: u64,
    /// Laps in which each field was under the threshold for more than a quarter of its time.
    pub lost: Vec<u64>,
    /// Laps in which each field was frozen, lost fields of a digital picture included; zero for an analogue one.
    pub frozen: Vec<u64>,
    /// Laps in which each field was part of a breakup.
    pub broken: Vec<u64>,
    /// Laps in which a breakup had its middle in each field.
    pub middles: Vec<u64>,
    /// The margins of the picture in all fields.
    pub margins: Margins,
}

/// What laps in time say about an entry.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Breakups {
    /// Laps flown.
    pub laps: u32,
    /// The plan's seed, which all laps' seeds are made of.
    pub seed: u32,
    /// Mean number of breakups in a lap: runs of bad fields of [`BREAKUP`] or longer.
    pub per_lap: f64,
    /// Lower end of its 90 % interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Expected share of fields that are neither lost nor frozen.
    pub picture_share: f64,
    /// How far the wanted signal may drop all round the lap with [`Self::picture_share`] still meeting the plan's target,
    /// decibels; negative if it must rise. Between [`margins::LEAST`] and [`margins::MOST`].
    pub reserve_db: f64,
    /// Lower end of its 90 % interval, which covers the draws of the laps alone.
    pub reserve_low_db: f64,
    /// Upper end.
    pub reserve_high_db: f64,
    /// Expected share of fields that are lost: under the threshold for more than a quarter of their time.
    pub lost_share: f64,
    /// Expected share of the lap for which a digital picture stands still, lost frames and recovery together; zero for an
    /// analogue picture, which does not freeze.
    pub frozen_share: f64,
    /// Expected share of the lap's time under the threshold: what [`super::report::EntryReport::picture_share`] leaves,
    /// flown instead of worked out.
    pub under_share: f64,
    /// Length of a field.
    pub field_s: f64,
    /// Where they happen, the most frequent first.
    pub places: Vec<BreakupPlace>,
    /// Distance along the line of every field's middle.
    pub field_distance_m: Vec<f64>,
    /// Probability that the field is bad: lost, or frozen.
    pub field_bad: Vec<f64>,
    /// Probability that the field is part of a breakup.
    pub field_in_breakup: Vec<f64>,
}

/// A stretch of the lap in which breakups happened.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct BreakupPlace {
    /// Where it starts along the line.
    pub start_m: f64,
    /// Where it ends; less than the start when it runs over the lap's end.
    pub end_m: f64,
    /// Mean number of breakups per lap with their middle in it.
    pub per_lap: f64,
}

/// Laps of one entry, flown or to be flown.
#[derive(Clone, Debug)]
pub struct LapsInTime {
    track: Track,
    wanted_share: f64,
    seed: u32,
    entry: u64,
    laps: Range<u32>,
    next: u32,
    tally: Tally,
    memory: Memory,
    lap: FlownLap,
}

impl LapsInTime {
    /// The laps with these numbers on a track; none of them is flown yet. `entry` tells the laps of different entries
    /// apart; `wanted_share` is the share of fields that have to show a picture, 0 to 1.
    pub fn new(track: Track, wanted_share: f64, seed: u32, entry: &str, laps: Range<u32>) -> Self {
        let letters: Vec<u64> = entry.bytes().map(u64::from).collect();
        Self {
            tally: Tally::of(track.fields()),
            track,
            wanted_share,
            seed,
            entry: seed_of(&letters),
            next: laps.start,
            laps,
            memory: Memory::default(),
            lap: FlownLap::default(),
        }
    }

    /// Flies up to so many laps more, at least one.
    pub fn step(&mut self, budget: u32) -> Progress {
        let until = self.next.saturating_add(budget.max(1)).min(self.laps.end);
        for number in self.next..until {
            let seed = seed_of(&[u64::from(self.seed), self.entry, u64::from(number)]);
            fly(&self.track, seed, &mut self.memory, &mut self.lap);
            self.tally.count(&self.lap);
        }
        self.next = self.next.max(until);
        self.progress()
    }

    /// How far it has come.
    pub fn progress(&self) -> Progress {
        let laps = |until: u32| until.saturating_sub(self.laps.start) as usize;
        Progress { done: laps(self.next), of: laps(self.laps.end) }
    }

    /// What was counted so far.
    pub fn tally(&self) -> &Tally {
        &self.tally
    }

    /// What the laps flown so far say.
    pub fn breakups(&self) -> Breakups {
        self.tally.breakups(self.track.field_distances(), self.track.field(), self.wanted_share, self.seed)
    }

    /// The track.
    pub fn track(&self) -> &Track {
        &self.track
    }
}

impl Tally {
    /// Nothing counted yet, in laps of so many fields.
    pub fn of(fields: usize) -> Self {
        let column = || vec![0; fields];
        Self { lost: column(), frozen: column(), broken: column(), middles: column(), ..Self::default() }
    }

    /// Counts a lap with as many fields as the tally has.
    pub fn count(&mut self, lap: &FlownLap) {
        let bad = |index: usize| lap.fields[index] != Field::Good;
        for (index, field) in lap.fields.iter().enumerate() {
            self.lost[index] += u64::from(*field == Field::Bad);
            self.frozen[index] += u64::from(lap.freezes && *field != Field::Good);
        }
        let least = (BREAKUP.0 / FIELD.0).round() as usize;
        let mut count = 0;
        for (first, length) in runs(lap.fields.len(), bad) {
            if length < least {
                continue;
            }
            count += 1;
            (first..first + length).for_each(|index| self.broken[index % lap.fields.len()] += 1);
            self.middles[(first + length / 2) % lap.fields.len()] += 1;
        }
        self.laps += 1;
        self.breakups += count;
        self.squares += count * count;
        self.under += (lap.under * 1e9).round() as u64;
        self.margins.count(&lap.picture_margins);
    }

    /// Adds what was counted in other laps of the same track.
    pub fn add(&mut self, other: &Tally) {
        self.laps += other.laps;
        self.breakups += other.breakups;
        self.squares += other.squares;
        self.under += other.under;
        self.margins.add(&other.margins);
        let columns = [
            (&mut self.lost, &other.lost),
            (&mut self.frozen, &other.frozen),
            (&mut self.broken, &other.broken),
            (&mut self.middles, &other.middles),
        ];
        for (ours, theirs) in columns {
            ours.iter_mut().zip(theirs).for_each(|(ours, theirs)| *ours += theirs);
        }
    }

    /// What the counts say. `distances` has one item per field; `wanted_share` as for [`LapsInTime::new`].
    pub fn breakups(&self, distances: Vec<f64>, field: Seconds, wanted_share: f64, seed: u32) -> Breakups {
        let laps = self.laps.max(1) as f64;
        let share = |counts: &[u64]| counts.iter().sum::<u64>() as f64 / (laps * counts.len().max(1) as f64);
        let room = self.lost.len() as f64 * FIELD.0 / BREAKUP.0;
        let (low, high) = interval::of_mean(self.laps, self.breakups, self.squares, room);
        let reserve = self.margins.reserve(wanted_share);
        let without = |(&lost, &frozen): (&u64, &u64)| lost.max(frozen);
        let bad: Vec<u64> = self.lost.iter().zip(&self.frozen).map(without).collect();
        Breakups {
            laps: u32::try_from(self.laps).unwrap_or(u32::MAX),
            seed,
            per_lap: self.breakups as f64 / laps,
            low,
            high,
            picture_share: 1.0 - share(&bad),
            reserve_db: reserve.reserve,
            reserve_low_db: reserve.low,
            reserve_high_db: reserve.high,
            lost_share: share(&self.lost),
            frozen_share: share(&self.frozen),
            under_share: self.under as f64 * 1e-9 / laps,
            field_s: field.0,
            places: self.places(&distances),
            field_bad: bad.iter().map(|&count| count as f64 / laps).collect(),
            field_in_breakup: self.broken.iter().map(|&count| count as f64 / laps).collect(),
            field_distance_m: distances,
        }
    }

    /// The stretches in which breakups happened, the most frequent first.
    fn places(&self, distances: &[f64]) -> Vec<BreakupPlace> {
        let fields = self.broken.len();
        let laps = self.laps.max(1) as f64;
        let places: Vec<BreakupPlace> = runs(fields, |index| self.broken[index] > 0)
            .into_iter()
            .map(|(first, length)| BreakupPlace {
                start_m: distances[first],
                end_m: distances[(first + length - 1) % fields],
                per_lap: (first..first + length).map(|index| self.middles[index % fields]).sum::<u64>() as f64 / laps,
            })
            .collect();
        let rareness: Vec<f64> = places.iter().map(|place| -place.per_lap).collect();
        order(&rareness).into_iter().map(|place| places[place]).collect()
    }
}

impl Breakups {
    /// The number of breakups in plain words: "breaks up about 0.3 times a lap (0.1 to 0.6; 64 laps)".
    pub fn sentence(&self) -> String {
        let Self { laps, per_lap, low, high, .. } = self;
        let (high, plural) = (number_words(*high), if *laps == 1 { "" } else { "s" });
        if *per_lap == 0.0 {
            return format!("no breakup in {laps} lap{plural} (at most {high} a lap)");
        }
        format!(
            "breaks up about {} times a lap ({} to {high}; {laps} lap{plural})",
            number_words(*per_lap),
            number_words(*low)
        )
    }

    /// Expected number of lost fields in a lap.
    pub fn lost_fields(&self) -> f64 {
        self.lost_share * self.field_bad.len() as f64
    }
}

/// A mean number per lap with as many digits as it deserves.
pub fn number_words(number: f64) -> String {
    if number == 0.0 {
        return "0".to_owned();
    }
    // What the next shorter form would round to is already its business.
    let decimals = [9.95, 0.095, 0.0095, 0.00095].iter().take_while(|&&least| number < least).count();
    format!("{number:.decimals$}")
}

/// The runs of a closed row in which something holds: where each begins and how long it is. One that holds all round
/// begins at 0.
fn runs(count: usize, holds: impl Fn(usize) -> bool) -> Vec<(usize, usize)> {
    let Some(gap) = (0..count).find(|&index| !holds(index)) else {
        return if count > 0 { vec![(0, count)] } else { Vec::new() };
    };
    let mut runs = Vec::new();
    let mut length = 0;
    // From behind a gap once round to the gap again, where every run has ended.
    for step in 1..=count {
        let index = (gap + step) % count;
        if holds(index) {
            length += 1;
        } else if length > 0 {
            runs.push(((gap + step - length) % count, length));
            length = 0;
        }
    }
    runs
}
