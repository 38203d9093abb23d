//! Turns what a form hands over into an edit of the chosen entry or its receiver.

use std::rc::Rc;

use yew::Callback;

use super::parts;
use super::state::Action;
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

impl Editor {
    /// Changes the video transmitter of the entry. `label` says what that does: "Hand turned".
    pub fn radio<T: 'static>(&self, label: &'static str, change: impl Fn(&mut Radio, T) + 'static) -> Callback<T> {
        self.entry(label, move |entry, value| {
            if let Some(radio) = parts::video_radio_mut(entry) {
                change(radio, value);
            }
        })
    }

    /// Changes the entry.
    pub fn entry<T: 'static>(&self, label: &'static str, change: impl Fn(&mut Entry, T) + 'static) -> Callback<T> {
        let index = self.entry;
        self.edit(label, move |plan, value| {
            let mut entry = plan.entries.get(index)?.clone();
            change(&mut entry, value);
            Some(Edit::Entry(index, entry))
        })
    }

    /// Changes the receiver that follows the entry.
    pub fn receiver<T: 'static>(
        &self,
        label: &'static str,
        change: impl Fn(&mut Receiver, T) + 'static,
    ) -> Callback<T> {
        let entry = self.entry;
        self.edit(label, move |plan, value| {
            let index = parts::receiver_of(plan, entry)?;
            let mut receiver = plan.receivers.get(index)?.clone();
            change(&mut receiver, value);
            Some(Edit::Receiver(index, receiver))
        })
    }

    /// Changes the site, its obstacles apart.
    pub fn site<T: 'static>(&self, label: &'static str, change: impl Fn(&mut SitePlan, T) + 'static) -> Callback<T> {
        self.edit(label, move |plan, value| {
            let mut site = plan.site.clone();
            change(&mut site, value);
            Some(Edit::Site(site))
        })
    }

    /// Changes how the course is flown.
    pub fn course<T: 'static>(
        &self,
        label: &'static str,
        change: impl Fn(&mut CoursePlan, T) + 'static,
    ) -> Callback<T> {
        self.edit(label, move |plan, value| {
            let mut course = plan.course.clone();
            change(&mut course, value);
            Some(Edit::Course(course))
        })
    }

    /// Changes the targets.
    pub fn targets<T: 'static>(&self, label: &'static str, change: impl Fn(&mut Targets, T) + 'static) -> Callback<T> {
        self.edit(label, move |plan, value| {
            let mut targets = plan.targets.clone();
            change(&mut targets, value);
            Some(Edit::Targets(targets))
        })
    }

    /// Changes the rules.
    pub fn rules<T: 'static>(&self, label: &'static str, change: impl Fn(&mut Rules, T) + 'static) -> Callback<T> {
        self.edit(label, move |plan, value| {
            let mut rules = plan.rules.clone();
            change(&mut rules, value);
            Some(Edit::Rules(rules))
        })
    }

    fn edit<T: 'static>(&self, label: &'static str, make: impl Fn(&Plan, T) -> Option<Edit> + 'static) -> Callback<T> {
        let (plan, dispatch) = (self.plan.clone(), self.dispatch.clone());
        Callback::from(move |value| {
            if let Some(edit) = make(&plan, value) {
                dispatch.emit(Action::Edit { edit, label: label.to_owned(), merge: None });
            }
        })
    }
}
