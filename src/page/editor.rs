//! Turns what a form hands over into an edit of the chosen entry or its receiver.

use std::rc::Rc;

use yew::Callback;

use super::parts;
use super::state::Action;
use crate::link::kit;
use crate::plan::document::{CoursePlan, Entry, Plan, Radio, Receiver, Rules, SitePlan, Targets};
use crate::plan::edit::Edit;

/// Edits of one entry and of the plan round it.
#[derive(Clone, PartialEq)]
pub struct Editor {
    /// The plan.
    pub plan: Rc<Plan>,
    /// Position of the entry.
    pub entry: usize,
    /// Where edits go.
    pub dispatch: Callback<Action>,
}

/// What a value that was typed or chosen does to a part of the plan.
type Change<P, T> = Box<dyn Fn(&mut P, T)>;

/// A part of the plan that forms change: how to take it out of a plan, and the edit that puts it back.
///
/// `entry` is the position of the entry whose form it is.
trait FormPart: Sized + 'static {
    fn of(plan: &Plan, entry: usize) -> Option<Self>;
    fn edit(self, plan: &Plan, entry: usize) -> Option<Edit>;
}

impl FormPart for Entry {
    fn of(plan: &Plan, entry: usize) -> Option<Self> {
        plan.entries.get(entry).cloned()
    }

    fn edit(self, _: &Plan, entry: usize) -> Option<Edit> {
        Some(Edit::Entry(entry, self))
    }
}

impl FormPart for Receiver {
    fn of(plan: &Plan, entry: usize) -> Option<Self> {
        plan.receivers.get(parts::receiver_of(plan, entry)?).cloned()
    }

    fn edit(self, plan: &Plan, entry: usize) -> Option<Edit> {
        Some(Edit::Receiver(parts::receiver_of(plan, entry)?, self))
    }
}

impl FormPart for SitePlan {
    fn of(plan: &Plan, _: usize) -> Option<Self> {
        Some(plan.site.clone())
    }

    fn edit(self, _: &Plan, _: usize) -> Option<Edit> {
        Some(Edit::Site(self))
    }
}

impl FormPart for CoursePlan {
    fn of(plan: &Plan, _: usize) -> Option<Self> {
        Some(plan.course.clone())
    }

    fn edit(self, _: &Plan, _: usize) -> Option<Edit> {
        Some(Edit::Course(self))
    }
}

impl FormPart for Targets {
    fn of(plan: &Plan, _: usize) -> Option<Self> {
        Some(plan.targets.clone())
    }

    fn edit(self, _: &Plan, _: usize) -> Option<Edit> {
        Some(Edit::Targets(self))
    }
}

impl FormPart for Rules {
    fn of(plan: &Plan, _: usize) -> Option<Self> {
        Some(plan.rules.clone())
    }

    fn edit(self, _: &Plan, _: usize) -> Option<Edit> {
        Some(Edit::Rules(self))
    }
}

impl Editor {
    /// Changes the video transmitter of the entry. `label` says what that does: "Hand turned".
    pub fn radio<T: 'static>(&self, label: &'static str, change: impl Fn(&mut Radio, T) + 'static) -> Callback<T> {
        self.entry(label, move |entry, value| {
            if let Some(radio) = kit::video_radio_mut(entry) {
                change(radio, value);
            }
        })
    }

    /// Changes the entry.
    pub fn entry<T: 'static>(&self, label: &'static str, change: impl Fn(&mut Entry, T) + 'static) -> Callback<T> {
        self.part(label, Box::new(change))
    }

    /// Changes the receiver that follows the entry.
    pub fn receiver<T: 'static>(
        &self,
        label: &'static str,
        change: impl Fn(&mut Receiver, T) + 'static,
    ) -> Callback<T> {
        self.part(label, Box::new(change))
    }

    /// Changes the site, its obstacles apart.
    pub fn site<T: 'static>(&self, label: &'static str, change: impl Fn(&mut SitePlan, T) + 'static) -> Callback<T> {
        self.part(label, Box::new(change))
    }

    /// Changes how the course is flown.
    pub fn course<T: 'static>(
        &self,
        label: &'static str,
        change: impl Fn(&mut CoursePlan, T) + 'static,
    ) -> Callback<T> {
        self.part(label, Box::new(change))
    }

    /// Changes the targets.
    pub fn targets<T: 'static>(&self, label: &'static str, change: impl Fn(&mut Targets, T) + 'static) -> Callback<T> {
        self.part(label, Box::new(change))
    }

    /// Changes the rules.
    pub fn rules<T: 'static>(&self, label: &'static str, change: impl Fn(&mut Rules, T) + 'static) -> Callback<T> {
        self.part(label, Box::new(change))
    }

    /// The change is boxed, so that this is compiled once for a part and a kind of value, and not for every field.
    fn part<P: FormPart, T: 'static>(&self, label: &'static str, change: Change<P, T>) -> Callback<T> {
        let Self { plan, entry, dispatch } = self.clone();
        Callback::from(move |value| {
            let Some(mut part) = P::of(&plan, entry) else { return };
            change(&mut part, value);
            if let Some(edit) = part.edit(&plan, entry) {
                dispatch.emit(Action::Edit { edit, label: label.to_owned(), merge: None });
            }
        })
    }
}
