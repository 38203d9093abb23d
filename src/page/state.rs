//! What the page holds: the plan with its history, and what the person is looking at. One reducer, with undo.
//!
//! Everything here is pure and is tested natively; only the one `impl` that hands the reducer to the browser framework
//! is left to the wasm build.

use std::rc::Rc;

use crate::plan::check::PlanProblem;
use crate::plan::document::Plan;
use crate::plan::edit::{self, Edit};

/// Steps kept for undo. A plan of 20 entries takes some ten kilobytes, so the whole history stays in a few megabytes.
pub const HISTORY: usize = 200;

/// A part of the plan that can be picked on the drawing. Numbers are positions in the plan's lists.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Selection {
    /// An entry.
    Entry(usize),
    /// A gate.
    Gate(usize),
    /// A seat.
    Seat(usize),
    /// An obstacle.
    Obstacle(usize),
    /// The start pad.
    Pad,
}

/// What the person is looking at. It is no part of the plan and has no history.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct View {
    /// The picked part, if any.
    pub selected: Option<Selection>,
    /// Position of the chosen entry in the plan.
    pub entry: usize,
    /// Port of the chosen entry's receiver that the ladder explains.
    pub port: usize,
    /// Sample of the lap at which the cursor stands. May lie beyond the end of a report of another course.
    pub cursor: usize,
}

/// Everything that a person can do to a [`Desk`].
#[derive(Clone, Debug, PartialEq)]
pub enum Action {
    /// Change a part of the plan.
    Edit {
        /// The change.
        edit: Edit,
        /// What it does, as it starts a sentence: "Hand turned".
        label: String,
        /// Edits one after the other with the same number make one step of undo: the moves of one drag.
        merge: Option<u32>,
    },
    /// Put another plan in place of this one; can be undone like an edit.
    Replace {
        /// The plan.
        plan: Box<Plan>,
        /// What it does: "Plan opened".
        label: String,
    },
    /// Take back the last step.
    Undo,
    /// Do the last undone step again.
    Redo,
    /// Choose an entry.
    Choose(usize),
    /// Choose the port that the ladder explains.
    Port(usize),
    /// Put the cursor on a sample of the lap.
    Cursor(usize),
    /// Pick a part, or none.
    Select(Option<Selection>),
}

/// A step of history: the plan on the other side of a change, and the change.
#[derive(Clone, Debug, PartialEq)]
struct Step {
    plan: Rc<Plan>,
    label: Rc<str>,
    merge: Option<u32>,
}

/// The plan and its history.
#[derive(Clone, Debug, PartialEq)]
pub struct Document {
    /// The plan as it is.
    pub plan: Rc<Plan>,
    /// Grows with every change of the plan, undo and redo included; never repeats within a session.
    pub revision: u64,
    /// The revision at which the last step of undo began: all moves of one drag share it.
    pub step: u64,
    /// What the last change did: "Hand turned"; empty at the start.
    pub label: Rc<str>,
    /// Why the last edit was turned down, until the next one is not.
    pub rejected: Option<PlanProblem>,
    past: Vec<Step>,
    future: Vec<Step>,
}

impl Document {
    /// A plan without history.
    pub fn new(plan: Rc<Plan>) -> Self {
        Self { plan, revision: 0, step: 0, label: Rc::from(""), rejected: None, past: Vec::new(), future: Vec::new() }
    }

    /// What undo would take back, if anything.
    pub fn undo_label(&self) -> Option<Rc<str>> {
        self.past.last().map(|step| step.label.clone())
    }

    /// What redo would do again, if anything.
    pub fn redo_label(&self) -> Option<Rc<str>> {
        self.future.last().map(|step| step.label.clone())
    }

    fn changed(&self, plan: Plan, label: &str, merge: Option<u32>) -> Self {
        let label: Rc<str> = Rc::from(label);
        let mut past = self.past.clone();
        // A merged move keeps the plan from before the whole drag.
        let goes_on = merge.is_some() && self.future.is_empty() && past.last().is_some_and(|last| last.merge == merge);
        if !goes_on {
            past.push(Step { plan: self.plan.clone(), label: label.clone(), merge });
            if past.len() > HISTORY {
                past.remove(0);
            }
        }
        let step = if goes_on { self.step } else { self.revision + 1 };
        self.next(Rc::new(plan), step, label, past, Vec::new())
    }

    fn undone(&self) -> Option<Self> {
        let mut past = self.past.clone();
        let step = past.pop()?;
        let mut future = self.future.clone();
        future.push(Step { plan: self.plan.clone(), label: step.label.clone(), merge: step.merge });
        let label = Rc::from(format!("Taken back ({})", lower_first(&step.label)));
        Some(self.next(step.plan, self.revision + 1, label, past, future))
    }

    fn redone(&self) -> Option<Self> {
        let mut future = self.future.clone();
        let step = future.pop()?;
        let mut past = self.past.clone();
        past.push(Step { plan: self.plan.clone(), label: step.label.clone(), merge: step.merge });
        Some(self.next(step.plan, self.revision + 1, step.label, past, future))
    }

    fn next(&self, plan: Rc<Plan>, step: u64, label: Rc<str>, past: Vec<Step>, future: Vec<Step>) -> Self {
        Self { plan, revision: self.revision + 1, step, label, rejected: None, past, future }
    }
}

/// The plan and what the person is looking at: the state of the page's one reducer.
#[derive(Clone, Debug, PartialEq)]
pub struct Desk {
    /// The plan and its history.
    pub document: Document,
    /// What the person is looking at.
    pub view: View,
}

impl Desk {
    /// A desk with a plan on it and its first entry chosen.
    pub fn new(plan: Rc<Plan>) -> Self {
        Self { document: Document::new(plan), view: View::default() }
    }

    /// The desk after an action, or `None` when the action changes nothing.
    pub fn after(&self, action: &Action) -> Option<Self> {
        let after = match action {
            Action::Edit { edit, label, merge } => match edit::apply(&self.document.plan, edit) {
                Ok(plan) if plan == *self.document.plan => self.with_rejected(None),
                Ok(plan) => self.with_document(self.document.changed(plan, label, *merge)),
                Err(problem) => self.with_rejected(Some(problem)),
            },
            Action::Replace { plan, .. } if **plan == *self.document.plan => self.with_rejected(None),
            Action::Replace { plan, label } => self.with_document(self.document.changed((**plan).clone(), label, None)),
            Action::Undo => self.with_document(self.document.undone()?),
            Action::Redo => self.with_document(self.document.redone()?),
            Action::Choose(entry) => self.with_view(View { entry: *entry, ..self.view }),
            Action::Port(port) => self.with_view(View { port: *port, ..self.view }),
            Action::Cursor(cursor) => self.with_view(View { cursor: *cursor, ..self.view }),
            Action::Select(selected) => {
                let entry = if let Some(Selection::Entry(entry)) = selected { *entry } else { self.view.entry };
                self.with_view(View { selected: *selected, entry, ..self.view })
            }
        };
        (after != *self).then_some(after)
    }

    fn with_rejected(&self, rejected: Option<PlanProblem>) -> Self {
        let mut after = self.clone();
        after.document.rejected = rejected;
        after
    }

    fn with_document(&self, document: Document) -> Self {
        let view = within(self.view, &document.plan);
        Self { document, view }
    }

    fn with_view(&self, view: View) -> Self {
        Self { document: self.document.clone(), view: within(view, &self.document.plan) }
    }
}

/// The view with everything in it that the plan no longer has put back to what it has.
fn within(view: View, plan: &Plan) -> View {
    let entry = view.entry.min(plan.entries.len().saturating_sub(1));
    let ports = plan
        .entries
        .get(entry)
        .and_then(|chosen| plan.receivers.iter().find(|receiver| receiver.id == chosen.receiver))
        .map_or(1, |receiver| receiver.ports.len());
    let selected = view.selected.filter(|selected| match *selected {
        Selection::Entry(index) => index < plan.entries.len(),
        Selection::Gate(index) => index < plan.course.gates.len(),
        Selection::Seat(index) => index < plan.seats.len(),
        Selection::Obstacle(index) => index < plan.site.obstacles.len(),
        Selection::Pad => true,
    });
    View { selected, entry, port: view.port.min(ports.saturating_sub(1)), cursor: view.cursor }
}

/// A label in the middle of a sentence.
fn lower_first(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

#[cfg(target_arch = "wasm32")]
impl yew::Reducible for Desk {
    type Action = Action;

    fn reduce(self: Rc<Self>, action: Action) -> Rc<Self> {
        match self.after(&action) {
            Some(after) => Rc::new(after),
            None => self,
        }
    }
}
