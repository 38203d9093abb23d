//! Laps in time: what was flown of the plan at rest, what to fly next, and how it is said.
//!
//! Pure; [`crate::evaluation`] sends what [`InTime::next`] asks for to a worker of its own, a few laps at a time.

use std::rc::Rc;

use super::format::{self, DisplayUnits};
use super::jobs::{Event, JobNumber};
use super::{parcel, wording};
use crate::link::arbiter;
use crate::link::breakups::{Breakups, USUAL_LAPS, number_words};
use crate::link::report::Report;
use crate::plan::document::Plan;
use crate::units::Db;

/// Laps of one job: some tens of milliseconds, so that a changed plan does not wait long for the worker.
pub const STEP: u32 = 16;

/// The most laps that a person can ask the page for.
pub const MOST: u32 = 4096;

/// How many of the places where breakups happen are told.
const TOLD_PLACES: usize = 3;

/// The laps in time of all entries of a plan at rest.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct InTime {
    /// Revision of the plan.
    revision: Option<u64>,
    /// One item per entry that is flown.
    entries: Vec<EntryLaps>,
    /// The job that is on its way.
    flying: Option<(JobNumber, usize)>,
}

/// An entry's laps.
#[derive(Clone, Debug, PartialEq)]
pub struct EntryLaps {
    /// Position of the entry in the plan.
    entry: usize,
    /// What the laps so far say.
    pub said: Option<Rc<Breakups>>,
    /// How many laps are wanted.
    pub wanted: u32,
}

/// What simulated laps say of an entry, beside its verdict.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SimulatedLine {
    /// How often the picture breaks up.
    pub breakups: String,
    /// Their reserve; empty until there are some.
    pub reserve: String,
    /// What to believe, where they say something else than the verdict.
    pub arbiter: Option<String>,
}

/// A job to be sent.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LapsJob {
    /// Revision of the plan that is flown.
    pub revision: u64,
    /// Position of the entry.
    pub entry: usize,
    /// The first so many laps.
    pub laps: u32,
}

/// What laps in time need next.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wish {
    /// That the plan with this revision stays as it is for a while.
    Rest(u64),
    /// That these laps are flown.
    Fly(LapsJob),
}

impl EntryLaps {
    /// How many laps have been flown.
    pub fn laps(&self) -> u32 {
        self.said.as_ref().map_or(0, |said| said.laps)
    }

    /// How many laps a person can ask for next; none while some are still missing, or when it is enough.
    pub fn more(&self) -> Option<u32> {
        (self.laps() >= self.wanted && self.wanted < MOST).then(|| (4 * self.wanted).min(MOST))
    }
}

impl InTime {
    /// Nothing flown yet of a plan that came to rest; `entries` are the positions of those that can be judged.
    pub fn at_rest(revision: u64, entries: impl Iterator<Item = usize>) -> Self {
        let flown = |entry| EntryLaps { entry, said: None, wanted: USUAL_LAPS };
        Self { revision: Some(revision), entries: entries.map(flown).collect(), flying: None }
    }

    /// An entry's laps of the plan with this revision.
    pub fn of(&self, revision: u64, entry: usize) -> Option<&EntryLaps> {
        self.entries.iter().find(|flown| self.revision == Some(revision) && flown.entry == entry)
    }

    /// An entry's line among the verdicts on the plan with this revision; `report` is the one on that plan, if it is there.
    pub fn line(&self, revision: u64, entry: usize, plan: &Plan, report: Option<&Report>) -> SimulatedLine {
        let Some(said) = self.of(revision, entry).and_then(|flown| flown.said.as_ref()) else {
            // Nothing is flown after a failure, which is told elsewhere.
            let is_over = self.revision == Some(revision) && self.entries.is_empty();
            let breakups = if is_over { String::new() } else { "simulating laps…".to_owned() };
            return SimulatedLine { breakups, ..SimulatedLine::default() };
        };
        let judged = report.and_then(|report| report.entries.iter().find(|judged| judged.index == entry));
        let wanted = Db(plan.targets.wanted_reserve_db);
        SimulatedLine {
            breakups: said.sentence(),
            reserve: format!("in simulated laps {}", arbiter::reserve_words(said)),
            arbiter: judged.and_then(|judged| arbiter::sentence(judged, said, wanted)),
        }
    }

    /// What is needed next for the plan with this revision, whose report is there.
    pub fn wish(&self, revision: u64, chosen: usize) -> Option<Wish> {
        if self.revision == Some(revision) { self.next(chosen).map(Wish::Fly) } else { Some(Wish::Rest(revision)) }
    }

    /// What to fly next: the chosen entry first. Nothing while a job is on its way.
    fn next(&self, chosen: usize) -> Option<LapsJob> {
        let missing = |flown: &&EntryLaps| flown.laps() < flown.wanted;
        let chosen = self.entries.iter().filter(missing).find(|flown| flown.entry == chosen);
        let flown = chosen.or_else(|| self.entries.iter().find(missing)).filter(|_| self.flying.is_none())?;
        Some(LapsJob { revision: self.revision?, entry: flown.entry, laps: (flown.laps() + STEP).min(flown.wanted) })
    }

    /// A job went out.
    pub fn sent(&mut self, job: JobNumber, entry: usize) {
        self.flying = Some((job, entry));
    }

    /// The worker was heard. What was asked about an earlier plan changes nothing.
    ///
    /// # Errors
    /// Why no more laps are flown, as a sentence.
    pub fn heard(&mut self, event: Event) -> Result<(), String> {
        let (Event::Answered { job, .. } | Event::SoFar { job, .. } | Event::Failed { job, .. }) = &event;
        if self.flying.is_some_and(|(flying, _)| flying != *job) {
            return Ok(());
        }
        let outcome = match event {
            Event::Answered { answer, .. } => {
                let Some((_, entry)) = self.flying.take() else { return Ok(()) };
                parcel::unpack(answer).map(|said: Breakups| {
                    let flown = self.entries.iter_mut().find(|flown| flown.entry == entry);
                    if let Some(flown) = flown {
                        flown.said = Some(Rc::new(said));
                    }
                })
            }
            Event::SoFar { .. } => Ok(()),
            // A job that nobody remembers failed before it was noted down.
            Event::Failed { why, .. } => Err(why),
        };
        if outcome.is_err() {
            // It would fail again.
            self.entries.clear();
        }
        outcome
    }

    /// More laps of an entry are wanted.
    pub fn want_more(&mut self, entry: usize) {
        if let Some(flown) = self.entries.iter_mut().find(|flown| flown.entry == entry) {
            flown.wanted = flown.more().unwrap_or(flown.wanted);
        }
    }
}

/// Everything that laps in time say about an entry, sentence by sentence.
pub fn sentences(said: &Breakups, units: DisplayUnits) -> Vec<String> {
    let mut sentences = vec![
        format!("{}.", wording::with_first(&said.sentence(), char::to_ascii_uppercase)),
        format!("In simulated laps {}.", arbiter::reserve_words(said)),
    ];
    for place in said.places.iter().filter(|place| place.per_lap > 0.0).take(TOLD_PLACES) {
        sentences.push(format!(
            "From {} to {}: {} per lap.",
            format::length(place.start_m, units),
            format::length(place.end_m, units),
            number_words(place.per_lap)
        ));
    }
    if said.frozen_share > 0.0 {
        sentences.push(format!("The picture is frozen for {} % of the lap.", number_words(100.0 * said.frozen_share)));
    }
    sentences.push(format!(
        "About {} of {} video fields are lost per lap.",
        number_words(said.lost_fields()),
        said.field_bad.len()
    ));
    sentences
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::jobs::Answer;
    use crate::link::breakups::BreakupPlace;
    use crate::link::report::Verdict;
    use crate::plan::demo;
    use crate::sample_report;

    fn said(laps: u32, per_lap: f64) -> Breakups {
        Breakups {
            laps,
            seed: 7,
            per_lap,
            low: 0.5 * per_lap,
            high: 2.0 * per_lap + 0.05,
            picture_share: 0.99,
            reserve_db: 0.0,
            reserve_low_db: -0.5,
            reserve_high_db: 0.5,
            lost_share: 0.01,
            frozen_share: 0.0,
            under_share: 0.02,
            field_s: 0.02,
            places: vec![BreakupPlace { start_m: 40.0, end_m: 52.5, per_lap }],
            field_distance_m: vec![0.5; 400],
            field_bad: vec![0.1; 400],
            field_in_breakup: vec![0.0; 400],
        }
    }

    fn answered(job: u64, laps: u32) -> Event {
        Event::Answered { job: JobNumber(job), answer: parcel::pack(said(laps, 0.3)) }
    }

    #[test]
    fn the_chosen_entry_is_flown_first_step_by_step_and_then_the_others() {
        let mut in_time = InTime::at_rest(5, [0, 2, 3].into_iter());
        let mut flights = Vec::new();
        let mut job = 0;
        while let Some(flight) = in_time.next(2) {
            job += 1;
            flights.push((flight.entry, flight.laps));
            in_time.sent(JobNumber(job), flight.entry);
            assert_eq!(in_time.next(2), None, "one job at a time");
            in_time.heard(answered(job, flight.laps)).unwrap();
        }
        let expected: Vec<(usize, u32)> =
            [2, 0, 3].iter().flat_map(|entry| [16, 32, 48, 64].map(|laps| (*entry, laps))).collect();
        assert_eq!(flights, expected);
        assert_eq!(in_time.of(5, 2).map(EntryLaps::laps), Some(64));
        assert_eq!((in_time.of(4, 2), in_time.of(5, 1)), (None, None));
        let (plan, mut report) = (demo(), sample_report::report(&demo(), 0.4, Verdict::Thin));
        let line = in_time.line(5, 3, &plan, Some(&report));
        assert_eq!(line.breakups, "about 0.3 breakups per lap (likely 0.1 to 0.7; 64 simulated laps)");
        assert_eq!(line.reserve, "in simulated laps 0.0 dB to spare (likely 0.5 too little to 0.5 to spare)");
        assert_eq!(line.arbiter, None);
        (report.entries[3].reserve_db, report.entries[3].verdict) = (-0.4, Verdict::Short);
        let line = in_time.line(5, 3, &plan, Some(&report));
        assert!(line.arbiter.is_some_and(|said| said.contains("too near to call")));
        assert_eq!(in_time.line(6, 3, &plan, Some(&report)).breakups, "simulating laps…");
    }

    #[test]
    fn more_laps_are_flown_when_somebody_asks_and_never_without_end() {
        let mut in_time = InTime::at_rest(1, std::iter::once(0));
        assert_eq!(in_time.of(1, 0).unwrap().more(), None, "the first ones are still missing");
        in_time.sent(JobNumber(1), 0);
        in_time.heard(answered(1, USUAL_LAPS)).unwrap();
        assert_eq!(in_time.next(0), None);
        assert_eq!(in_time.of(1, 0).unwrap().more(), Some(256));
        in_time.want_more(0);
        assert_eq!(in_time.next(0), Some(LapsJob { revision: 1, entry: 0, laps: 80 }));
        in_time.sent(JobNumber(2), 0);
        in_time.heard(answered(2, MOST)).unwrap();
        (0..9).for_each(|_| in_time.want_more(0));
        assert_eq!((in_time.next(0), in_time.of(1, 0).unwrap().more()), (None, None));
    }

    #[test]
    fn an_answer_about_an_earlier_plan_changes_nothing() {
        let mut in_time = InTime::at_rest(1, std::iter::once(0));
        in_time.sent(JobNumber(1), 0);
        let mut in_time = InTime::at_rest(2, std::iter::once(0));
        in_time.heard(answered(1, 16)).unwrap();
        assert_eq!(in_time.of(2, 0).unwrap().said, None);
        in_time.sent(JobNumber(2), 0);
        in_time.heard(answered(1, 16)).unwrap();
        in_time.heard(Event::Failed { job: JobNumber(1), why: "It broke off.".to_owned() }).unwrap();
        assert_eq!(in_time.of(2, 0).unwrap().said, None);
        in_time.heard(answered(2, 16)).unwrap();
        assert_eq!(in_time.of(2, 0).map(EntryLaps::laps), Some(16));
    }

    #[test]
    fn a_failure_is_told_once_and_nothing_more_is_tried() {
        for event in [
            Event::Failed { job: JobNumber(1), why: "It broke off.".to_owned() },
            Event::Answered { job: JobNumber(1), answer: Answer::default() },
        ] {
            let mut in_time = InTime::at_rest(1, [0, 1].into_iter());
            in_time.sent(JobNumber(1), 0);
            assert!(in_time.heard(event).unwrap_err().ends_with('.'));
            assert_eq!((in_time.next(0), in_time.line(1, 0, &demo(), None)), (None, SimulatedLine::default()));
        }
    }

    #[test]
    fn breakups_are_said_with_their_places() {
        let units = DisplayUnits::default();
        let sentences = sentences(&said(64, 0.3), units);
        assert_eq!(sentences[0], "About 0.3 breakups per lap (likely 0.1 to 0.7; 64 simulated laps).");
        assert!(sentences[1].starts_with("In simulated laps 0.0 dB to spare"), "{sentences:?}");
        assert_eq!(sentences[2], "From 40.0\u{a0}m to 52.5\u{a0}m: 0.3 per lap.");
        assert!(sentences[3].starts_with("About 4.0 of 400 video fields"), "{sentences:?}");
        let frozen = Breakups { frozen_share: 0.031, ..said(64, 0.0) };
        let sentences = super::sentences(&frozen, units);
        assert_eq!(sentences[0], "No breakup in 64 simulated laps (likely under 0.05 per lap).");
        assert_eq!(sentences[2], "The picture is frozen for 3.1 % of the lap.");
    }
}
