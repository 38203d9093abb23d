//! What the worker answered so far: the last good report, the one before it, and everything asked for on the side.
//!
//! Pure, and driven by what was asked and what came back; [`crate::page::evaluation`] does the asking.

use std::rc::Rc;

use crate::link::report::{Explanation, HandComparison, Report};
use crate::page::jobs::{Answer, Event, JobNumber};
use crate::page::{moved, parcel};
use crate::plan::document::Plan;

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
    /// The report as JSON.
    Sheet,
}

/// Which plan a report was asked for, and what had been done to it.
#[derive(Clone, Debug, PartialEq)]
pub struct AskedLap {
    /// The plan.
    pub plan: Rc<Plan>,
    /// Its revision.
    pub revision: u64,
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
    /// The report as JSON, for saving; taken away by [`Happened::SheetSaved`].
    pub sheet: Option<Rc<str>>,
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
    /// The report was saved as a file.
    SheetSaved,
}

impl Results {
    /// Whether a question of this kind is on its way: the report (`lap`), the comparison and the sheet are shown as such.
    pub fn waits_for_lap(&self) -> bool {
        self.asked.iter().any(|(_, asked)| matches!(asked, Asked::Lap(_)))
    }

    /// Whether a three-way comparison is on its way.
    pub fn waits_for_hands(&self) -> bool {
        self.asked.iter().any(|(_, asked)| matches!(asked, Asked::Hands { .. }))
    }

    /// Whether the report as JSON is on its way.
    pub fn waits_for_sheet(&self) -> bool {
        self.asked.iter().any(|(_, asked)| matches!(asked, Asked::Sheet))
    }

    /// The results after something happened.
    pub fn after(&self, happened: Happened) -> Self {
        let mut after = self.clone();
        match happened {
            Happened::Asked(number, asked) => after.asked.push((number, asked)),
            Happened::SheetSaved => after.sheet = None,
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
        let unreadable = |error: serde_json::Error| format!("The calculation's answer could not be read ({error}).");
        match asked {
            Asked::Lap(asked) => self.accept_report(asked, parcel::unpack(answer)?),
            Asked::Instant { .. } => {
                self.explanation = Some(Rc::new(serde_json::from_str(&answer.text).map_err(unreadable)?));
            }
            Asked::Hands { revision } => {
                let comparison = Rc::new(serde_json::from_str(&answer.text).map_err(unreadable)?);
                self.compared = Some(Compared { comparison, revision });
            }
            Asked::Sheet => self.sheet = Some(Rc::from(answer.text)),
        }
        Ok(())
    }

    fn accept_report(&mut self, asked: AskedLap, report: Report) {
        let AskedLap { plan, revision, step, label, entry } = asked;
        if let Some(last) = &self.last {
            if last.revision > revision {
                return;
            }
            // The moves of one drag are compared with where the drag began.
            if last.step != step {
                self.ghost = Some(last.report.clone());
            }
        }
        let report = Rc::new(report);
        self.moved = self.ghost.as_ref().and_then(|ghost| moved::sentence(&label, ghost, &report, &plan, entry));
        self.last = Some(Judged { report, plan, revision, step });
    }
}
