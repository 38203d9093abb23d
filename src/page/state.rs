//! What the page holds: the plan with its history, and what the person is looking at. One reducer, with undo.
//!
//! Everything here is pure and is tested natively; only the one `impl` that hands the reducer to the browser framework
//! is left to the wasm build.

use std::rc::Rc;

use crate::drawing::group::{PartSet, picked};
use crate::history::{History, HistoryStep};
use crate::plan::check::PlanProblem;
use crate::plan::document::Plan;
use crate::plan::edit::{self, Edit};
use crate::plan::part::Part;
use crate::site::BounceOrder;
use crate::steps::{Step, Steps};
use crate::wording;

/// What the person is looking at. It is no part of the plan and has no history.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct View {
    /// The picked part, if any: the one that has grips and fields.
    pub selected: Option<Part>,
    /// What is picked together with it.
    pub also: PartSet,
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
    /// Put another plan on the desk, with a history of its own. Whoever sends this has seen to it that the plan from before
    /// is kept; see [`crate::plans`].
    Open(Box<Plan>),
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
    /// Follow paths with up to so many bounces.
    Bounces(BounceOrder),
    /// Pick a part alone, or none.
    Select(Option<Part>),
    /// Pick a part together with what is picked, or let go of it.
    Toggle(Part),
    /// Pick these parts together, and no others.
    Pick(PartSet),
}

/// What is noted of a change.
#[derive(Clone, Debug, PartialEq)]
struct ChangeNote {
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
    /// The revision at which the plan came onto the desk.
    pub opened: u64,
    /// What the last change did: "Hand turned"; empty at the start.
    pub label: Rc<str>,
    /// How often the paths that are followed may bounce. It is how the plan is computed and no part of it; a change counts as
    /// a revision, and has no history.
    pub bounces: BounceOrder,
    /// Why the last edit was turned down, until the next one is not.
    pub rejected: Option<PlanProblem>,
    history: History<Plan, ChangeNote>,
}

impl Document {
    /// A plan without history.
    pub fn new(plan: Rc<Plan>) -> Self {
        let (label, history, bounces) = (Rc::from(""), History::default(), BounceOrder::Single);
        Self { plan, revision: 0, step: 0, opened: 0, label, bounces, rejected: None, history }
    }

    /// The same plan with the steps of an earlier visit.
    #[must_use]
    pub fn with_steps(self, steps: Steps) -> Self {
        let kept = |list: Vec<Step>| {
            let step = |Step { plan, label }| HistoryStep { value: plan, note: ChangeNote { label, merge: None } };
            list.into_iter().map(step).collect()
        };
        Self { history: History::of(kept(steps.past), kept(steps.future)), ..self }
    }

    /// The steps that can be taken back and made again.
    pub fn steps(&self) -> Steps {
        let step =
            |one: &HistoryStep<Plan, ChangeNote>| Step { plan: one.value.clone(), label: one.note.label.clone() };
        Steps { past: self.history.past().map(step).collect(), future: self.history.future().map(step).collect() }
    }

    /// What undo would take back, if anything.
    pub fn undo_label(&self) -> Option<Rc<str>> {
        self.history.last().map(|step| step.note.label.clone())
    }

    /// What redo would do again, if anything.
    pub fn redo_label(&self) -> Option<Rc<str>> {
        self.history.next().map(|step| step.note.label.clone())
    }

    fn changed(&self, plan: Plan, label: &str, merge: Option<u32>) -> Self {
        let label: Rc<str> = Rc::from(label);
        let mut history = self.history.clone();
        // A merged move keeps the plan from before the whole drag.
        let last =
            history.last().filter(|last| merge.is_some() && last.note.merge == merge && history.next().is_none());
        let (goes_on, is_back) = (last.is_some(), last.is_some_and(|last| *last.value == plan));
        if !goes_on {
            history.keep(self.plan.clone(), ChangeNote { label: label.clone(), merge });
        } else if is_back {
            // A drag that was given up ends where it began; nothing is left to take back.
            history.forget_last();
        }
        let step = if goes_on { self.step } else { self.revision + 1 };
        self.next(Rc::new(plan), step, label, history)
    }

    fn undone(&self) -> Option<Self> {
        let mut history = self.history.clone();
        let HistoryStep { value, note } = history.undo(self.plan.clone())?;
        let label = Rc::from(format!("Undone ({})", wording::with_first(&note.label, char::to_ascii_lowercase)));
        Some(self.next(value, self.revision + 1, label, history))
    }

    fn redone(&self) -> Option<Self> {
        let mut history = self.history.clone();
        let HistoryStep { value, note } = history.redo(self.plan.clone())?;
        Some(self.next(value, self.revision + 1, note.label, history))
    }

    fn next(&self, plan: Rc<Plan>, step: u64, label: Rc<str>, history: History<Plan, ChangeNote>) -> Self {
        let (revision, opened, bounces) = (self.revision + 1, self.opened, self.bounces);
        Self { plan, revision, step, opened, label, bounces, rejected: None, history }
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
            Action::Open(plan) => {
                let revision = self.document.revision + 1;
                let document = Document::new(Rc::new((**plan).clone()));
                Self {
                    document: Document {
                        revision,
                        step: revision,
                        opened: revision,
                        bounces: self.document.bounces,
                        ..document
                    },
                    view: View::default(),
                }
            }
            Action::Undo => self.with_document(self.document.undone()?),
            Action::Redo => self.with_document(self.document.redone()?),
            Action::Choose(entry) => self.with_view(View { entry: *entry, ..self.view }),
            Action::Port(port) => self.with_view(View { port: *port, ..self.view }),
            Action::Cursor(cursor) => self.with_view(View { cursor: *cursor, ..self.view }),
            Action::Bounces(bounces) if *bounces == self.document.bounces => return None,
            Action::Bounces(bounces) => {
                let mut document = self.document.clone();
                document.revision += 1;
                document.step = document.revision;
                document.bounces = *bounces;
                document.label = Rc::from("Other reflections followed");
                Self { document, view: self.view }
            }
            Action::Select(selected) => {
                self.with_view(View { selected: *selected, also: PartSet::default(), ..self.view })
            }
            Action::Toggle(part) => {
                let mut picked = PartSet::of(picked(&self.document.plan, self.view));
                let is_in = picked.has(*part);
                picked.put(*part, !is_in);
                let selected = if is_in { self.view.selected.filter(|selected| selected != part) } else { Some(*part) };
                self.picking(picked, selected)
            }
            Action::Pick(picked) => self.picking(*picked, None),
        };
        (after != *self).then_some(after)
    }

    fn with_rejected(&self, rejected: Option<PlanProblem>) -> Self {
        let mut after = self.clone();
        after.document.rejected = rejected;
        after
    }

    fn with_document(&self, document: Document) -> Self {
        let entry = followed(&self.document.plan, &document.plan, self.view.entry);
        // Where parts came or went, numbers mean others.
        let is_same = |part: Part| part.listed(&self.document.plan) == part.listed(&document.plan);
        let is_same = [Part::Gate(0), Part::Seat(0), Part::Obstacle(0)].into_iter().all(is_same);
        let also = if is_same { self.view.also } else { PartSet::default() };
        let view = within(View { entry, also, ..self.view }, &document.plan);
        Self { document, view }
    }

    /// With these parts picked, and one of them before the others.
    fn picking(&self, mut also: PartSet, first: Option<Part>) -> Self {
        let selected = first.or_else(|| also.within(&self.document.plan).first().copied());
        selected.into_iter().for_each(|part| also.put(part, false));
        self.with_view(View { selected, also, ..self.view })
    }

    fn with_view(&self, view: View) -> Self {
        Self { document: self.document.clone(), view: within(view, &self.document.plan) }
    }
}

/// Position of the chosen pilot in a changed plan: one who came is chosen, and one who moved is followed.
fn followed(before: &Plan, after: &Plan, chosen: usize) -> usize {
    let place = |plan: &Plan, id: &str| plan.entries.iter().position(|entry| entry.id == id);
    let came = after.entries.iter().position(|entry| place(before, &entry.id).is_none());
    let stays = before.entries.get(chosen).and_then(|entry| place(after, &entry.id));
    came.filter(|_| after.entries.len() > before.entries.len()).or(stays).unwrap_or(chosen)
}

/// The view with everything in it that the plan no longer has put back to what it has.
fn within(view: View, plan: &Plan) -> View {
    let entry = view.entry.min(plan.entries.len().saturating_sub(1));
    let ports = plan
        .entries
        .get(entry)
        .and_then(|chosen| plan.receivers.iter().find(|receiver| receiver.id == chosen.receiver))
        .map_or(1, |receiver| receiver.ports.len());
    let selected = view.selected.filter(|selected| selected.is_in(plan));
    let also = if view.also.is_empty() { view.also } else { PartSet::of(view.also.within(plan)) };
    View { selected, also, entry, port: view.port.min(ports.saturating_sub(1)), cursor: view.cursor }
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::history::STEPS;
    use crate::plan::demo;
    use crate::plan::pilots::PilotEdit;

    fn desk() -> Desk {
        Desk::new(Rc::new(demo()))
    }

    fn rename(name: &str, merge: Option<u32>) -> Action {
        Action::Edit { edit: Edit::Name(name.to_owned()), label: "Plan renamed".to_owned(), merge }
    }

    fn after(desk: Desk, actions: &[Action]) -> Desk {
        actions.iter().fold(desk, |desk, action| desk.after(action).unwrap_or(desk))
    }

    #[test]
    fn undo_and_redo_go_back_and_forth_and_never_repeat_a_revision() {
        let first = after(desk(), &[rename("One", None), rename("Two", None)]);
        assert_eq!(first.document.undo_label().as_deref(), Some("Plan renamed"));
        let back = after(first.clone(), &[Action::Undo]);
        assert_eq!(back.document.plan.name, "One");
        assert_eq!(&*back.document.label, "Undone (plan renamed)");
        let again = after(back.clone(), &[Action::Redo]);
        assert_eq!(again.document.plan, first.document.plan);
        assert!(first.document.revision < back.document.revision && back.document.revision < again.document.revision);
        let all_back = after(again, &[Action::Undo, Action::Undo, Action::Undo]);
        assert_eq!(*all_back.document.plan, demo());
        assert_eq!(all_back.after(&Action::Undo), None);
    }

    #[test]
    fn steps_of_an_earlier_visit_are_undone_and_done_again() {
        let worked = after(desk(), &[rename("One", None), rename("Two", None), rename("Three", None), Action::Undo]);
        let again = Desk {
            document: Document::new(worked.document.plan.clone()).with_steps(worked.document.steps()),
            view: View::default(),
        };
        assert_eq!(after(again.clone(), &[Action::Redo]).document.plan.name, "Three");
        assert_eq!(*after(again, &[Action::Undo, Action::Undo]).document.plan, demo());
    }

    #[test]
    fn the_moves_of_one_drag_are_one_step() {
        let dragged = after(desk(), &[rename("a", Some(7)), rename("b", Some(7)), rename("c", Some(7))]);
        assert_eq!(dragged.document.revision, 3);
        assert_eq!(dragged.document.step, 1);
        assert_eq!(*after(dragged.clone(), &[Action::Undo]).document.plan, demo());
        let twice = after(dragged, &[rename("d", Some(8)), Action::Undo]);
        assert_eq!(twice.document.plan.name, "c");
        // Going on with a drag after an undo must not swallow what was undone.
        let after_undo =
            after(desk(), &[rename("a", Some(7)), rename("x", Some(8)), Action::Undo, rename("b", Some(7))]);
        assert_eq!(after(after_undo, &[Action::Undo]).document.plan.name, "a");
    }

    #[test]
    fn a_drag_that_was_given_up_is_no_step() {
        let name = demo().name;
        let given_up = after(desk(), &[rename("a", Some(7)), rename(&name, Some(7))]);
        assert_eq!(*given_up.document.plan, demo());
        assert_eq!(given_up.document.undo_label(), None);
        // What was done before it can still be taken back.
        let later = after(desk(), &[rename("x", None), rename("y", Some(8)), rename("x", Some(8)), Action::Undo]);
        assert_eq!(*later.document.plan, demo());
    }

    #[test]
    fn a_new_edit_forgets_what_was_undone() {
        let desk = after(desk(), &[rename("One", None), Action::Undo, rename("Two", None)]);
        assert_eq!(desk.document.redo_label(), None);
        assert_eq!(desk.after(&Action::Redo), None);
    }

    #[test]
    fn a_bad_edit_is_turned_down_with_its_reason_and_a_good_one_clears_it() {
        let bad = after(desk(), &[rename("", None)]);
        assert_eq!(*bad.document.plan, demo());
        assert_eq!(bad.document.revision, 0);
        assert!(bad.document.rejected.as_ref().is_some_and(|problem| problem.path == "name"));
        assert_eq!(after(bad, &[rename("One", None)]).document.rejected, None);
    }

    #[test]
    fn what_changes_nothing_is_no_step() {
        let name = demo().name;
        assert_eq!(desk().after(&rename(&name, None)), None);
        assert_eq!(desk().after(&Action::Choose(0)), None);
    }

    #[test]
    fn history_has_an_end() {
        let mut desk = desk();
        for round in 0..STEPS + 5 {
            desk = after(desk, &[rename(&format!("name {round}"), None)]);
        }
        for _ in 0..STEPS {
            desk = desk.after(&Action::Undo).expect("within the history");
        }
        assert_eq!(desk.after(&Action::Undo), None);
        assert_eq!(desk.document.plan.name, "name 4");
    }

    #[test]
    fn the_view_never_points_beyond_the_plan() {
        let count = demo().entries.len();
        let desk = after(desk(), &[Action::Choose(99), Action::Port(99), Action::Select(Some(Part::Gate(99)))]);
        assert_eq!(desk.view.entry, count - 1);
        assert!(desk.view.port < 99);
        assert_eq!(desk.view.selected, None);
        let picked = after(desk, &[Action::Select(Some(Part::Seat(1))), Action::Choose(1)]);
        assert_eq!((picked.view.entry, picked.view.selected), (1, Some(Part::Seat(1))));
        let mut smaller = demo();
        smaller.entries.truncate(1);
        smaller.seats.truncate(1);
        let picked = Desk { document: Document::new(Rc::new(smaller)), ..picked };
        let smaller = after(picked, &[Action::Cursor(1)]);
        assert_eq!((smaller.view.entry, smaller.view.selected), (0, None));
    }

    #[test]
    fn parts_are_picked_together_until_others_come_or_go() {
        let [gate, seat, stall] = [Part::Gate(1), Part::Seat(0), Part::Obstacle(2)];
        let both = after(desk(), &[Action::Select(Some(gate)), Action::Toggle(stall), Action::Toggle(seat)]);
        assert_eq!((both.view.selected, picked(&demo(), both.view)), (Some(seat), vec![gate, seat, stall]));
        let fewer = after(both.clone(), &[Action::Toggle(seat)]);
        assert_eq!((fewer.view.selected, picked(&demo(), fewer.view)), (Some(gate), vec![gate, stall]));
        let renamed = after(both.clone(), &[rename("One", None)]);
        assert_eq!(picked(&demo(), renamed.view).len(), 3);
        let delete = Action::Edit { edit: Edit::Delete(Part::Seat(3)), label: "Seat deleted".to_owned(), merge: None };
        let gone = after(both.clone(), &[delete]);
        assert!(gone.view.also.is_empty() && gone.view.selected == Some(seat));
        assert_eq!(after(both, &[Action::Select(None)]).view, View::default());
        let all = after(desk(), &[Action::Pick(PartSet::of(Part::all(&demo())))]);
        assert_eq!(picked(&demo(), all.view), Part::all(&demo()));
    }

    #[test]
    fn a_pilot_who_comes_is_chosen_and_one_who_moves_is_followed() {
        let pilots = |edit| Action::Edit { edit: Edit::Pilots(edit), label: "Pilots".to_owned(), merge: None };
        let added = after(desk(), &[Action::Choose(1), pilots(PilotEdit::Add(1))]);
        assert_eq!(added.view.entry, 4);
        let moved = after(added.clone(), &[pilots(PilotEdit::Reorder { from: 4, to: 0 })]);
        assert_eq!(moved.view.entry, 0);
        assert_eq!(after(moved, &[Action::Undo]).view.entry, 4);
        let removed = after(added, &[Action::Choose(1), pilots(PilotEdit::Remove(1))]);
        assert_eq!((removed.view.entry, removed.document.plan.entries.len()), (1, 4));
        assert_eq!(after(removed, &[Action::Choose(3), Action::Undo]).view.entry, 1);
        let refused = after(desk(), &[pilots(PilotEdit::Remove(9))]);
        assert!(refused.document.rejected.is_some());
    }

    #[test]
    fn a_plan_that_is_opened_has_a_history_of_its_own() {
        let worked = after(desk(), &[rename("One", None), Action::Choose(2)]);
        let mut other = demo();
        other.name = "Another".to_owned();
        let opened = after(worked.clone(), &[Action::Open(Box::new(other.clone()))]);
        assert_eq!((&*opened.document.plan, opened.document.undo_label()), (&other, None));
        assert_eq!(opened.view, View::default());
        assert!(opened.document.revision > worked.document.revision);
        assert_eq!(opened.document.opened, opened.document.revision);
        let renamed = after(opened.clone(), &[rename("Two", None)]);
        assert_eq!(renamed.document.opened, opened.document.opened);
    }
}
