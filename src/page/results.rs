//! What the worker answered so far: the last good report, the one before it, and everything asked for on the side.
//!
//! Pure, and driven by what was asked and what came back; [`crate::evaluation`] does the asking.

use std::rc::Rc;

use crate::in_time::{InTime, Wish};
use crate::jobs::{Answer, Event, JobNumber};
use crate::link::report::{Explanation, HandComparison, Report};
use crate::plan::document::Plan;
use crate::{change_sentence, parcel};

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
pub struct ReportedPlan {
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
///
/// What is shown of it belongs to the plan on the desk ([`on_desk`](Self::on_desk)): a report may be one move of a drag behind
/// while the next is on its way, but a plan that could not be judged shows no older one.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Results {
    /// The last good report.
    pub last: Option<ReportedPlan>,
    /// The report from before the last step, while its lap is worth comparing.
    pub ghost: Option<Rc<Report>>,
    /// What the last step moved.
    pub moved: Option<String>,
    /// The last explained instant.
    pub explanation: Option<Rc<Explanation>>,
    /// The revision of the plan in which it was explained.
    explained: u64,
    /// The last three-way comparison.
    pub compared: Option<Compared>,
    /// Laps in time of the plan that the last report judges, once it rests.
    pub in_time: InTime,
    /// Why the last question has no answer.
    pub failure: Option<String>,
    /// How often a person wanted everything asked again.
    pub attempt: u32,
    /// Whether the last report that was asked for did not come.
    is_unjudged: bool,
    asked: Vec<(JobNumber, Asked)>,
    /// Questions that failed before they were noted down.
    failed_at_once: Vec<JobNumber>,
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
    /// What failed is to be tried again.
    Again,
    /// The report that is on its way is given up.
    GaveUp,
}

impl Results {
    /// Whether a question of this kind is on its way: the report (`lap`) and the comparison are shown as such.
    pub fn waits_for_lap(&self) -> bool {
        self.asked.iter().any(|(_, asked)| matches!(asked, Asked::Lap(_)))
    }

    /// The report that is on its way, and how many entries of its plan there are answers about.
    pub fn under_way(&self) -> Option<(JobNumber, usize)> {
        self.asked.iter().rev().find_map(|(number, asked)| {
            let Asked::Lap(AskedLap { revision, .. }) = asked else { return None };
            let last = self.last.as_ref().filter(|last| last.revision == *revision && !self.is_unjudged);
            Some((*number, last.map_or(0, |last| last.report.entries.len())))
        })
    }

    /// Whether a three-way comparison is on its way.
    pub fn waits_for_hands(&self) -> bool {
        self.asked.iter().any(|(_, asked)| matches!(asked, Asked::Hands { .. }))
    }

    /// What of this may stand beside the plan that came onto the desk at revision `opened`: nothing of another plan, and
    /// nothing of an earlier revision once the present one could not be judged.
    pub fn on_desk(&self, opened: u64) -> Self {
        let mut shown = self.clone();
        let fits = !self.is_unjudged && self.last.as_ref().is_some_and(|last| last.opened == opened);
        if !fits {
            (shown.last, shown.ghost, shown.moved) = (None, None, None);
        }
        if self.is_unjudged || self.explained < opened {
            shown.explanation = None;
        }
        shown.compared = shown.compared.filter(|compared| compared.revision >= opened);
        shown
    }

    /// What laps in time need next, if the last report is that on the plan with this revision; nothing otherwise.
    pub fn in_time_wish(&self, revision: u64, chosen: usize) -> Option<Wish> {
        let whole = self.last.as_ref().filter(|last| last.revision == revision && !self.waits_for_lap());
        whole.and_then(|_| self.in_time.wish(revision, chosen))
    }

    /// The results after something happened.
    pub fn after(&self, happened: Happened) -> Self {
        let mut after = self.clone();
        match happened {
            Happened::Asked(number, asked) => {
                let noted = after.failed_at_once.iter().position(|failed| *failed == number);
                after.asked.push((number, asked));
                if let Some(place) = noted {
                    after.failed_at_once.remove(place);
                    after.blank(number);
                }
            }
            Happened::Rested => {
                if let Some(last) = &self.last {
                    after.in_time = InTime::at_rest(last.revision, last.report.entries.iter().map(|entry| entry.index));
                }
            }
            Happened::Sent(number, entry) => after.in_time.sent(number, entry),
            Happened::Flown(event) => {
                if let Err(why) = after.in_time.heard(event) {
                    after.tell(why, false);
                }
            }
            Happened::MoreLaps(entry) => after.in_time.want_more(entry),
            Happened::Heard(Event::Failed { job, why }) => {
                // A job that nobody remembers failed before it was noted down; its reason is still worth telling.
                let asked = after.blank(job);
                if asked.is_none() {
                    after.failed_at_once.push(job);
                }
                after.tell(why, matches!(asked, Some(Asked::Lap(_))));
            }
            Happened::GaveUp => {
                if let Some((number, judged)) = after.under_way() {
                    after.take(number);
                    after.is_unjudged |= judged == 0;
                    after.tell("Given up; what is not judged yet can be tried again.".to_owned(), true);
                }
            }
            Happened::Heard(Event::SoFar { job, answer }) => {
                let asked = after.asked.iter().find(|(number, _)| *number == job).map(|(_, asked)| asked.clone());
                // The rest comes, or says what is wrong.
                let _ = asked.map(|asked| after.accept(asked, answer));
            }
            Happened::Again => {
                after.attempt += 1;
                after.failure = None;
                after.in_time = InTime::default();
            }
            Happened::Heard(Event::Answered { job, answer }) => {
                if let Some(asked) = after.take(job) {
                    let is_lap = matches!(asked, Asked::Lap(_));
                    match after.accept(asked, answer) {
                        // Why there are no verdicts stays until there are some.
                        Ok(()) if after.is_unjudged => {}
                        Ok(()) => after.failure = None,
                        Err(why) => {
                            after.is_unjudged |= is_lap;
                            after.tell(why, is_lap);
                        }
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

    /// Takes a question off the list that has no answer, and what an earlier one of its kind was answered off the page.
    fn blank(&mut self, number: JobNumber) -> Option<Asked> {
        let asked = self.take(number)?;
        match asked {
            Asked::Lap(_) => self.is_unjudged = true,
            // Answers come in order: what is there was explained of an earlier plan, or at another instant.
            Asked::Instant { .. } => self.explanation = None,
            Asked::Hands { .. } => {}
        }
        Some(asked)
    }

    /// Says why something has no answer. Why there are no verdicts at all comes first.
    fn tell(&mut self, why: String, is_lap: bool) {
        if is_lap || !self.is_unjudged || self.failure.is_none() {
            self.failure = Some(why);
        }
    }

    fn accept(&mut self, asked: Asked, answer: Answer) -> Result<(), String> {
        match asked {
            Asked::Lap(asked) => self.accept_report(asked, parcel::unpack(answer)?),
            Asked::Instant { revision } => {
                self.explanation = Some(Rc::new(parcel::unpack(answer)?));
                self.explained = revision;
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
        self.is_unjudged = false;
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
        self.moved =
            self.ghost.as_ref().and_then(|ghost| change_sentence::sentence(&label, ghost, &report, &plan, entry));
        self.last = Some(ReportedPlan { report, plan, revision, opened, step });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::in_time::{LapsJob, STEP};
    use crate::link::report::Verdict;
    use crate::link::{Effort, Evaluator};
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
    fn a_part_of_a_report_is_shown_while_the_rest_is_on_its_way_and_stays_when_that_is_given_up() {
        let part = |job: u64, entries: usize| {
            let mut report = sample_report::report(&demo(), 5.0, Verdict::Thin);
            report.entries.truncate(entries);
            Happened::Heard(Event::SoFar { job: JobNumber(job), answer: parcel::pack(report) })
        };
        let asked = Results::default().after(Happened::Asked(JobNumber(1), lap(7, 7)));
        assert_eq!(asked.under_way(), Some((JobNumber(1), 0)));
        let begun = asked.after(part(1, 1)).after(Happened::Rested);
        assert_eq!((begun.under_way(), reserve(&begun.on_desk(0))), (Some((JobNumber(1), 1)), Some(5.0)));
        assert_eq!(begun.in_time_wish(7, 0), None, "nothing is flown before all are judged");
        let given_up = begun.after(Happened::GaveUp);
        assert_eq!((given_up.under_way(), reserve(&given_up.on_desk(0))), (None, Some(5.0)));
        assert!(given_up.failure.is_some() && given_up.after(part(1, 1)) == given_up);
        // Given up before anything was judged, no earlier plan stays.
        let nothing = first().after(Happened::Asked(JobNumber(2), lap(1, 1))).after(Happened::GaveUp);
        assert_eq!(reserve(&nothing.on_desk(0)), None);
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

    fn failed(job: u64, why: &str) -> Happened {
        Happened::Heard(Event::Failed { job: JobNumber(job), why: why.to_owned() })
    }

    fn explained(job: u64) -> Happened {
        let explanation = Evaluator::default().explain(&demo(), 0, 0, 0, Effort::FULL).unwrap();
        Happened::Heard(Event::Answered { job: JobNumber(job), answer: parcel::pack(explanation) })
    }

    #[test]
    fn a_plan_that_could_not_be_judged_shows_no_earlier_one() {
        let first = first().after(Happened::Asked(JobNumber(2), Asked::Instant { revision: 0 })).after(explained(2));
        assert!(reserve(&first.on_desk(0)).is_some() && first.on_desk(0).explanation.is_some());
        let asked = first.after(Happened::Asked(JobNumber(3), lap(1, 1)));
        assert!(reserve(&asked.on_desk(0)).is_some(), "the lap before a move stays until the next is there");
        let results = asked.after(failed(3, "It broke off."));
        let blank = results.on_desk(0);
        assert_eq!((reserve(&blank), blank.ghost.clone(), blank.moved.clone()), (None, None, None));
        assert!(blank.explanation.is_none() && blank.failure.as_deref() == Some("It broke off."));
        // What else is answered or not in the meantime leaves the reason.
        let results = results
            .after(Happened::Asked(JobNumber(4), Asked::Instant { revision: 1 }))
            .after(explained(4))
            .after(Happened::Asked(JobNumber(5), Asked::Hands { revision: 1 }))
            .after(failed(5, "The hands could not be compared."));
        assert_eq!(results.failure.as_deref(), Some("It broke off."));
        let results = results.after(Happened::Again);
        assert_eq!((results.attempt, &results.failure, reserve(&results.on_desk(0))), (1, &None, None));
        let results = results.after(Happened::Asked(JobNumber(6), lap(1, 1))).after(answered(6, -6.0)).on_desk(0);
        assert_eq!((reserve(&results), results.failure), (Some(-6.0), None));
        assert!(results.moved.is_some(), "it is compared with the last good one");
        assert!(results.explanation.is_some());
    }

    #[test]
    fn a_report_that_arrives_in_pieces_is_none() {
        let nonsense = Happened::Heard(Event::Answered { job: JobNumber(2), answer: Answer::default() });
        let results = first().after(Happened::Asked(JobNumber(2), lap(1, 1))).after(nonsense);
        assert_eq!(reserve(&results.on_desk(0)), None);
    }

    #[test]
    fn another_plan_on_the_desk_takes_what_was_said_of_the_last_one_away() {
        let results =
            first().after(Happened::Asked(JobNumber(2), Asked::Instant { revision: 0 })).after(explained(2)).on_desk(1);
        assert!(results.last.is_none() && results.explanation.is_none());
    }

    #[test]
    fn an_instant_that_cannot_be_explained_shows_no_earlier_one() {
        let results = first()
            .after(Happened::Asked(JobNumber(2), Asked::Instant { revision: 0 }))
            .after(explained(2))
            .after(Happened::Asked(JobNumber(3), Asked::Instant { revision: 0 }))
            .after(failed(3, "The instant could not be explained."));
        assert!(results.explanation.is_none() && reserve(&results.on_desk(0)).is_some());
    }

    #[test]
    fn a_question_that_failed_before_it_was_noted_down_is_not_waited_for() {
        let results =
            first().after(failed(2, "It could not be started.")).after(Happened::Asked(JobNumber(2), lap(1, 1)));
        assert!(!results.waits_for_lap());
        assert_eq!(
            (reserve(&results.on_desk(0)), results.failure.as_deref()),
            (None, Some("It could not be started."))
        );
    }

    #[test]
    fn laps_in_time_that_failed_are_flown_again_when_somebody_asks() {
        let flown = Event::Failed { job: JobNumber(1), why: "It broke off.".to_owned() };
        let results =
            first().after(Happened::Rested).after(Happened::Sent(JobNumber(1), 2)).after(Happened::Flown(flown));
        assert_eq!(results.in_time_wish(0, 2), None, "not by itself");
        assert_eq!(results.after(Happened::Again).in_time_wish(0, 2), Some(Wish::Rest(0)));
    }

    #[test]
    fn laps_in_time_begin_when_the_plan_rests_and_are_those_of_the_last_report() {
        assert_eq!(Results::default().in_time_wish(0, 2), None, "there is no report yet");
        assert_eq!(first().in_time_wish(0, 2), Some(Wish::Rest(0)));
        assert_eq!(first().in_time_wish(1, 2), None, "the plan has changed since");
        let results = first().after(Happened::Rested);
        let first_flight = LapsJob { revision: 0, entry: 2, laps: STEP };
        assert_eq!(results.in_time_wish(0, 2), Some(Wish::Fly(first_flight)));
        let results = results.after(Happened::Sent(JobNumber(1), 2));
        assert_eq!(results.in_time_wish(0, 2), None);
        assert_eq!(results.in_time_wish(1, 2), None);
        let failed = Event::Failed { job: JobNumber(1), why: "It broke off.".to_owned() };
        assert_eq!(results.after(Happened::Flown(failed)).failure.as_deref(), Some("It broke off."));
        assert_eq!(Results::default().after(Happened::Rested), Results::default());
    }
}
