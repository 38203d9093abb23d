//! Edits of a plan: each replaces one whole part, so that an edit is plain data, can be kept and can be undone.

use super::check::{self, PlanProblem};
use super::document::{CoursePlan, Entry, Gate, Obstacle, Pad, Plan, Receiver, Rules, Seat, SitePlan, Targets};

/// A change of one part of a plan. Indices are positions in the plan's lists.
#[derive(Clone, Debug, PartialEq)]
pub enum Edit {
    /// Another name for the plan.
    Name(String),
    /// A gate as it should be.
    Gate(usize, Gate),
    /// The start pad as it should be.
    Pad(Pad),
    /// A seat as it should be.
    Seat(usize, Seat),
    /// An obstacle as it should be.
    Obstacle(usize, Obstacle),
    /// A receiver as it should be.
    Receiver(usize, Receiver),
    /// An entry as it should be.
    Entry(usize, Entry),
    /// Everything of the site but its obstacles, which are taken over from the plan.
    Site(SitePlan),
    /// Everything of the course but gates and pad, which are taken over from the plan.
    Course(CoursePlan),
    /// Targets as they should be.
    Targets(Targets),
    /// Rules as they should be.
    Rules(Rules),
}

/// The plan with one part replaced.
///
/// # Errors
/// The first problem the changed plan would have, or an index that names nothing; the plan given is untouched.
pub fn apply(plan: &Plan, edit: &Edit) -> Result<Plan, PlanProblem> {
    let mut changed = plan.clone();
    match edit {
        Edit::Name(name) => changed.name.clone_from(name),
        Edit::Gate(index, gate) => replace(&mut changed.course.gates, "course.gates", *index, gate)?,
        Edit::Pad(pad) => changed.course.pad = pad.clone(),
        Edit::Seat(index, seat) => replace(&mut changed.seats, "seats", *index, seat)?,
        Edit::Obstacle(index, obstacle) => replace(&mut changed.site.obstacles, "site.obstacles", *index, obstacle)?,
        Edit::Receiver(index, receiver) => replace(&mut changed.receivers, "receivers", *index, receiver)?,
        Edit::Entry(index, entry) => replace(&mut changed.entries, "entries", *index, entry)?,
        Edit::Site(site) => {
            let obstacles = std::mem::take(&mut changed.site.obstacles);
            changed.site = SitePlan { obstacles, ..site.clone() };
        }
        Edit::Course(course) => {
            let gates = std::mem::take(&mut changed.course.gates);
            let pad = changed.course.pad.clone();
            changed.course = CoursePlan { gates, pad, ..course.clone() };
        }
        Edit::Targets(targets) => changed.targets = targets.clone(),
        Edit::Rules(rules) => changed.rules = rules.clone(),
    }
    match check::problems(&changed).into_iter().next() {
        Some(problem) => Err(problem),
        None => Ok(changed),
    }
}

fn replace<T: Clone>(list: &mut [T], path: &str, index: usize, value: &T) -> Result<(), PlanProblem> {
    let count = list.len();
    match list.get_mut(index) {
        Some(place) => {
            *place = value.clone();
            Ok(())
        }
        None => Err(PlanProblem::missing_index(path, index, count)),
    }
}
