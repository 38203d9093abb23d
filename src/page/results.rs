//! What the worker answered so far: the last good report, the one before it, and everything asked for on the side.
//!
//! Pure, and driven by what was asked and what came back; [`crate::evaluation`] does the asking.

use std::rc::Rc;

use crate::in_time::{InTime, Wish};
use crate::jobs::{Answer, Event, JobNumber};
use crate::link::report::{Explanation, HandComparison, Report};
use crate::plan::document::Plan;
use crate::{moved, parcel};

/// A question that is on its way.
#[derive(Clone, Debug, PartialEq)]
pub enum Asked {
    /// The report on a plan.
    Lap(AskedLap),
    /// One instant of the plan with this revision.
    Instant {
        /// Revision of the plan.
        revision: u64,
    },
    /// The three-way comparison of the plan with this revision.
    Hands {
        /// Revision of the plan.
        revision: u64,
    },
}

/// Which plan a report was asked for, and what had been done to it.
#[derive(Clone, Debug, PartialEq)]
pub struct AskedLap {
    /// The plan.
    pub plan: Rc<Plan>,
    /// Its revision.
    pub revision: u64,
    /// The revision at which it came onto the desk.
    pub opened: u64,
    /// The revision at which its last step of undo began.
    pub step: u64,
    /// What that step did.
    pub label: Rc<str>,
    /// The chosen entry.
    pub entry: usize,
}

impl Asked {
    /// Whether two questions are of one kind, so that the later one replaces the earlier.
    fn same_kind(&self, other: &Self) -> bool {
        std::mem::discriminant(self) == std::mem::discriminant(other)
    }
}

/// A report and the plan it judges.
#[derive(Clone, Debug, PartialEq)]
pub struct Judged {
    /// The report.
    pub report: Rc<Report>,
    /// The plan.
    pub plan: Rc<Plan>,
    /// The plan's revision.
    pub revision: u64,
    /// The revision at which it came onto the desk.
    pub opened: u64,
    step: u64,
}

/// A three-way comparison and the revision it is about.
#[derive(Clone, Debug, PartialEq)]
pub struct Compared {
    /// The comparison.
    pub comparison: Rc<HandComparison>,
    /// Revision of the plan it compares.
    pub revision: u64,
}

/// Everything the worker answered.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Results {
    /// The last good report.
    pub last: Option<Judged>,
    /// The report from before the last step, while its lap is worth comparing.
    pub ghost: Option<Rc<Report>>,
    /// What the last step moved.
    pub moved: Option<String>,
    /// The last explained instant.
    pub explanation: Option<Rc<Explanation>>,
    /// The last three-way comparison.
    pub compared: Option<Compared>,
    /// Laps in time of the plan that the last report judges, once it rests.
    pub in_time: InTime,
    /// Why the last question has no answer.
    pub failure: Option<String>,
    asked: Vec<(JobNumber, Asked)>,
}

/// What happened on the line to the worker.
#[derive(Clone, Debug, PartialEq)]
pub enum Happened {
    /// A question went out.
    Asked(JobNumber, Asked),
    /// The worker was heard.
    Heard(Event),
    /// The plan of the last report has not changed for a while.
    Rested,
    /// Laps of an entry went out to be flown.
    Sent(JobNumber, usize),
    /// The worker that flies laps was heard.
    Flown(Event),
    /// More laps of an entry are wanted.
    MoreLaps(usize),
}

impl Results {
    /// Whether a question of this kind is on its way: the report (`lap`) and the comparison are shown as such.
    pub fn waits_for_lap(&self) -> bool {
        self.asked.iter().any(|(_, asked)| matches!(asked, Asked::Lap(_)))
    }

    /// Whether a three-way comparison is on its way.
    pub fn waits_for_hands(&self) -> bool {
        self.asked.iter().any(|(_, asked)| matches!(asked, Asked::Hands { .. }))
    }

    /// What laps in time need next, if the last report is that on the plan with this revision; nothing otherwise.
    pub fn in_time_wish(&self, revision: u64, chosen: usize) -> Option<Wish> {
        self.last.as_ref().filter(|last| last.revision == revision).and_then(|_| self.in_time.wish(revision, chosen))
    }

    /// The results after something happened.
    pub fn after(&self, happened: Happened) -> Self {
        let mut after = self.clone();
        match happened {
            Happened::Asked(number, asked) => after.asked.push((number, asked)),
            Happened::Rested => {
                if let Some(last) = &self.last {
                    after.in_time = InTime::at_rest(last.revision, last.report.entries.iter().map(|entry| entry.index));
                }
            }
            Happened::Sent(number, entry) => after.in_time.sent(number, entry),
            Happened::Flown(event) => {
                if let Err(why) = after.in_time.heard(event) {
                    after.failure = Some(why);
                }
            }
            Happened::MoreLaps(entry) => after.in_time.want_more(entry),
            Happened::Heard(Event::Failed { job, why }) => {
                // A job that nobody remembers failed before it was noted down; its reason is still worth telling.
                after.take(job);
                after.failure = Some(why);
            }
            Happened::Heard(Event::Answered { job, answer }) => {
                if let Some(asked) = after.take(job) {
                    match after.accept(asked, answer) {
                        Ok(()) => after.failure = None,
                        Err(why) => after.failure = Some(why),
                    }
                }
            }
        }
        after
    }

    /// Takes a question off the list, and with it those of its kind that it has overtaken.
    fn take(&mut self, number: JobNumber) -> Option<Asked> {
        let place = self.asked.iter().position(|(asked, _)| *asked == number)?;
        let (_, asked) = self.asked.remove(place);
        self.asked.retain(|(other, kind)| *other > number || !kind.same_kind(&asked));
        Some(asked)
    }

    fn accept(&mut self, asked: Asked, answer: Answer) -> Result<(), String> {
        match asked {
            Asked::Lap(asked) => self.accept_report(asked, parcel::unpack(answer)?),
            Asked::Instant { .. } => {
                self.explanation = Some(Rc::new(parcel::unpack(answer)?));
            }
            Asked::Hands { revision } => {
                let comparison = Rc::new(parcel::unpack(answer)?);
                self.compared = Some(Compared { comparison, revision });
            }
        }
        Ok(())
    }

    fn accept_report(&mut self, asked: AskedLap, report: Report) {
        let AskedLap { plan, revision, opened, step, label, entry } = asked;
        if let Some(last) = &self.last {
            if last.revision > revision {
                return;
            }
            // The moves of one drag are compared with where the drag began; another plan is compared with nothing.
            if last.step != step {
                self.ghost = (last.opened == opened).then(|| last.report.clone());
            }
        }
        let report = Rc::new(report);
        self.moved = self.ghost.as_ref().and_then(|ghost| moved::sentence(&label, ghost, &report, &plan, entry));
        self.last = Some(Judged { report, plan, revision, opened, step });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::in_time::{Flight, STEP};
    use crate::link::report::Verdict;
    use crate::plan::demo;
    use crate::sample_report;

    fn lap(revision: u64, step: u64) -> Asked {
        let (plan, label) = (Rc::new(demo()), Rc::from("Hand turned"));
        Asked::Lap(AskedLap { plan, revision, opened: 0, step, label, entry: 0 })
    }

    fn answered(job: u64, margin_db: f64) -> Happened {
        let report = sample_report::report(&demo(), margin_db, Verdict::Thin);
        Happened::Heard(Event::Answered { job: JobNumber(job), answer: parcel::pack(report) })
    }

    fn reserve(results: &Results) -> Option<f64> {
        results.last.as_ref().map(|last| last.report.entries[0].reserve_db)
    }

    fn first() -> Results {
        Results::default().after(Happened::Asked(JobNumber(1), lap(0, 0))).after(answered(1, 5.0))
    }

    #[test]
    fn the_report_before_a_step_stays_as_a_ghost_and_the_sentence_says_what_moved() {
        assert!(first().ghost.is_none() && first().moved.is_none());
        let results = first().after(Happened::Asked(JobNumber(2), lap(1, 1))).after(answered(2, -6.0));
        assert_eq!(results.ghost.as_ref().map(|ghost| ghost.entries[0].reserve_db), Some(5.0));
        assert!(results.moved.as_ref().is_some_and(|moved| moved.starts_with("Hand turned: −11.0")), "{results:?}");
    }

    #[test]
    fn all_moves_of_a_drag_are_compared_with_where_it_began() {
        let results = first()
            .after(Happened::Asked(JobNumber(2), lap(1, 1)))
            .after(answered(2, 4.0))
            .after(Happened::Asked(JobNumber(3), lap(2, 1)))
            .after(answered(3, 3.0));
        assert_eq!(reserve(&results), Some(3.0));
        assert_eq!(results.ghost.as_ref().map(|ghost| ghost.entries[0].reserve_db), Some(5.0));
    }

    #[test]
    fn another_plan_is_compared_with_nothing() {
        let Asked::Lap(other) = lap(1, 1) else { unreachable!("it asks for a lap") };
        let results = first()
            .after(Happened::Asked(JobNumber(2), Asked::Lap(AskedLap { opened: 1, ..other })))
            .after(answered(2, -6.0));
        assert_eq!((reserve(&results), results.ghost, results.moved), (Some(-6.0), None, None));
    }

    #[test]
    fn an_answer_nobody_asked_for_or_overtaken_changes_nothing() {
        assert_eq!(first().after(answered(9, 0.0)), first());
        // A later answer takes the earlier question with it.
        let results = first()
            .after(Happened::Asked(JobNumber(2), lap(1, 1)))
            .after(Happened::Asked(JobNumber(3), lap(2, 2)))
            .after(answered(3, 1.0));
        assert!(!results.waits_for_lap());
        assert_eq!(reserve(&results.after(answered(2, 9.0))), Some(1.0));
    }

    #[test]
    fn a_failure_is_told_and_the_last_good_report_stays() {
        let failed = Happened::Heard(Event::Failed { job: JobNumber(2), why: "It broke off.".to_owned() });
        let results = first().after(Happened::Asked(JobNumber(2), lap(1, 1))).after(failed);
        assert_eq!(results.failure.as_deref(), Some("It broke off."));
        assert_eq!(reserve(&results), Some(5.0));
        let nonsense = Happened::Heard(Event::Answered { job: JobNumber(3), answer: Answer::default() });
        let results = results.after(Happened::Asked(JobNumber(3), lap(2, 2))).after(nonsense);
        assert!(results.failure.is_some() && reserve(&results) == Some(5.0));
        let results = results.after(Happened::Asked(JobNumber(4), lap(3, 3))).after(answered(4, 2.0));
        assert_eq!(results.failure, None);
    }

    #[test]
    fn laps_in_time_begin_when_the_plan_rests_and_are_those_of_the_last_report() {
        assert_eq!(Results::default().in_time_wish(0, 2), None, "there is no report yet");
        assert_eq!(first().in_time_wish(0, 2), Some(Wish::Rest(0)));
        assert_eq!(first().in_time_wish(1, 2), None, "the plan has changed since");
        let results = first().after(Happened::Rested);
        let first_flight = Flight { revision: 0, entry: 2, laps: STEP };
        assert_eq!(results.in_time_wish(0, 2), Some(Wish::Fly(first_flight)));
        let results = results.after(Happened::Sent(JobNumber(1), 2));
        assert_eq!(results.in_time_wish(0, 2), None);
        assert_eq!(results.in_time_wish(1, 2), None);
        let failed = Event::Failed { job: JobNumber(1), why: "It broke off.".to_owned() };
        assert_eq!(results.after(Happened::Flown(failed)).failure.as_deref(), Some("It broke off."));
        assert_eq!(Results::default().after(Happened::Rested), Results::default());
    }
}
