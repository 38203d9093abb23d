//! Edits of a plan: each replaces one whole part, or adds, takes away or moves one in its list, so that an edit is plain
//! data, can be kept and can be undone.

use super::check::{self, PlanProblem};
use super::document::{CoursePlan, Entry, Plan, Receiver, Rules, SitePlan, Targets};
use super::layout;
use super::part::{Part, PlacedPart};
use super::pilots::{self, PilotEdit};

/// A change of one part of a plan. Indices are positions in the plan's lists.
#[derive(Clone, Debug, PartialEq)]
pub enum Edit {
    /// Another name for the plan.
    Name(String),
    /// A gate, a seat, an obstacle or the start pad as it should be.
    Part(PlacedPart),
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
    /// One part more, at its position in its list, or at the end of a shorter one; a pad takes the place of the one that is
    /// there. See [`fresh::part`](super::fresh::part) and [`layout::duplicate`].
    Add(PlacedPart),
    /// One part less; the pad stays. Receivers of a seat go to the nearest other seat: [`layout::left_behind`] says which.
    Delete(Part),
    /// A gate at another position of the flight order.
    Reorder {
        /// Where it is.
        from: usize,
        /// Where it is then.
        to: usize,
    },
    /// Every gate turned along the way from the gate before it to the gate after it.
    Align,
    /// Pilots with their receivers and seats.
    Pilots(PilotEdit),
    /// Several at once, in this order: one that cannot be refuses them all.
    Several(Vec<Edit>),
}

/// The changed plan.
///
/// # Errors
/// The first problem the changed plan would have, or an index that names nothing; the plan given is untouched.
pub fn apply(plan: &Plan, edit: &Edit) -> Result<Plan, PlanProblem> {
    let mut changed = plan.clone();
    change(&mut changed, edit)?;
    checked(changed)
}

/// A changed plan with the version that it needs. What changes a plan in one way only comes here by itself and leaves every
/// other edit out of its program.
///
/// # Errors
/// Its first problem.
pub fn checked(mut changed: Plan) -> Result<Plan, PlanProblem> {
    changed.version = changed.lowest_version();
    match check::problems(&changed).into_iter().next() {
        Some(problem) => Err(problem),
        None => Ok(changed),
    }
}

/// Makes an edit in a plan whose problems are looked for afterwards.
fn change(plan: &mut Plan, edit: &Edit) -> Result<(), PlanProblem> {
    match edit {
        Edit::Name(name) => plan.name.clone_from(name),
        Edit::Part(PlacedPart::Gate(index, gate)) => {
            replace(&mut plan.course.gates, "course.gates", *index, gate)?;
        }
        Edit::Part(PlacedPart::Seat(index, seat)) => replace(&mut plan.seats, "seats", *index, seat)?,
        Edit::Part(PlacedPart::Obstacle(index, obstacle)) => {
            replace(&mut plan.site.obstacles, "site.obstacles", *index, obstacle)?;
        }
        Edit::Part(PlacedPart::Pad(pad)) => plan.course.pad = pad.clone(),
        Edit::Receiver(index, receiver) => replace(&mut plan.receivers, "receivers", *index, receiver)?,
        Edit::Entry(index, entry) => replace(&mut plan.entries, "entries", *index, entry)?,
        Edit::Site(site) => {
            let obstacles = std::mem::take(&mut plan.site.obstacles);
            plan.site = SitePlan { obstacles, ..site.clone() };
        }
        Edit::Course(course) => {
            let gates = std::mem::take(&mut plan.course.gates);
            let pad = plan.course.pad.clone();
            plan.course = CoursePlan { gates, pad, ..course.clone() };
        }
        Edit::Targets(targets) => plan.targets = targets.clone(),
        Edit::Rules(rules) => plan.rules = rules.clone(),
        Edit::Add(part) => layout::add(plan, part),
        Edit::Delete(part) => layout::delete(plan, *part)?,
        Edit::Reorder { from, to } => layout::reorder(plan, *from, *to)?,
        Edit::Align => layout::align(plan),
        Edit::Pilots(edit) => pilots::apply(plan, edit)?,
        Edit::Several(edits) => edits.iter().try_for_each(|edit| change(plan, edit))?,
    }
    Ok(())
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::demo::demo;
    use crate::plan::limits;

    /// The edit does exactly what `change` does by hand, and nothing else.
    #[track_caller]
    fn applied(edit: &Edit, change: impl FnOnce(&mut Plan)) {
        let plan = demo();
        let mut expected = plan.clone();
        change(&mut expected);
        assert_ne!(expected, plan, "an edit that changes nothing tests nothing");
        assert_eq!(apply(&plan, edit), Ok(expected));
        assert_eq!(plan, demo(), "the plan given is left alone");
    }

    /// The edit is refused for what stands at `path`.
    #[track_caller]
    fn refused(edit: &Edit, path: &str) {
        let problem = apply(&demo(), edit).unwrap_err();
        assert_eq!(problem.path, path, "{problem}");
        assert!(!problem.said.is_empty() && problem.to_string().ends_with(&format!("({path})")), "{problem}");
    }

    #[test]
    fn a_name_is_replaced_or_refused() {
        applied(&Edit::Name("Second try".into()), |plan| plan.name = "Second try".into());
        refused(&Edit::Name(String::new()), "name");
        refused(&Edit::Name("two\nlines".into()), "name");
        refused(&Edit::Name("x".repeat(limits::NAME.max + 1)), "name");
    }

    #[test]
    fn a_gate_is_replaced_or_refused() {
        let mut gate = demo().course.gates[2].clone();
        gate.height_m = 3.0;
        applied(&Edit::Part(PlacedPart::Gate(2, gate.clone())), |plan| plan.course.gates[2].height_m = 3.0);
        refused(&Edit::Part(PlacedPart::Gate(7, gate.clone())), "course.gates");
        refused(&Edit::Part(PlacedPart::Gate(1, gate.clone())), "course.gates[2].id");
        gate.x_m = f64::NAN;
        refused(&Edit::Part(PlacedPart::Gate(2, gate.clone())), "course.gates[2].x_m");
        (gate.x_m, gate.y_m) = (24.0, 26.5);
        refused(&Edit::Part(PlacedPart::Gate(2, gate)), "course.gates[2]");
    }

    #[test]
    fn the_pad_is_replaced_or_refused() {
        let mut pad = demo().course.pad;
        pad.x_m = 21.0;
        applied(&Edit::Part(PlacedPart::Pad(pad.clone())), |plan| plan.course.pad.x_m = 21.0);
        pad.x_m = -1.0;
        refused(&Edit::Part(PlacedPart::Pad(pad)), "course.pad.x_m");
    }

    #[test]
    fn a_seat_is_replaced_or_refused() {
        let mut seat = demo().seats[0].clone();
        seat.facing_deg = -30.0;
        applied(&Edit::Part(PlacedPart::Seat(0, seat.clone())), |plan| plan.seats[0].facing_deg = -30.0);
        refused(&Edit::Part(PlacedPart::Seat(4, seat.clone())), "seats");
        seat.id = "elsewhere".into();
        refused(&Edit::Part(PlacedPart::Seat(0, seat)), "receivers[0].seat");
    }

    #[test]
    fn an_obstacle_is_replaced_or_refused() {
        let plan = demo();
        let mut obstacle = plan.site.obstacles[0].clone();
        obstacle.name = "Mill".into();
        applied(&Edit::Part(PlacedPart::Obstacle(0, obstacle.clone())), |plan| {
            plan.site.obstacles[0].name = "Mill".into()
        });
        refused(&Edit::Part(PlacedPart::Obstacle(12, obstacle.clone())), "site.obstacles");
        if let crate::plan::document::ObstacleShape::Building(block) = &mut obstacle.shape {
            block.thickness_m = 0.0;
        }
        refused(&Edit::Part(PlacedPart::Obstacle(0, obstacle)), "site.obstacles[0].shape.building.thickness_m");
    }

    #[test]
    fn a_receiver_is_replaced_or_refused() {
        let mut receiver = demo().receivers[1].clone();
        receiver.ports.truncate(1);
        applied(&Edit::Receiver(1, receiver.clone()), |plan| plan.receivers[1].ports.truncate(1));
        refused(&Edit::Receiver(4, receiver.clone()), "receivers");
        receiver.ports.clear();
        refused(&Edit::Receiver(1, receiver), "receivers[1].ports");
    }

    #[test]
    fn an_entry_is_replaced_or_refused() {
        let mut entry = demo().entries[3].clone();
        entry.radios[0].power_dbm = 14.0;
        applied(&Edit::Entry(3, entry.clone()), |plan| plan.entries[3].radios[0].power_dbm = 14.0);
        refused(&Edit::Entry(4, entry.clone()), "entries");
        entry.radios[0].power_dbm = 60.0;
        let problem = apply(&demo(), &Edit::Entry(3, entry.clone())).unwrap_err();
        assert_eq!(
            problem.to_string(),
            "Bramble, transmitter power: 60 dBm; must be -30 to 40 dBm (entries[3].radios[0].power_dbm)"
        );
        entry.radios.clear();
        refused(&Edit::Entry(3, entry), "entries[3].radios");
    }

    #[test]
    fn the_site_is_replaced_but_for_its_obstacles() {
        let mut site = SitePlan { obstacles: Vec::new(), wet: true, ..demo().site };
        applied(&Edit::Site(site.clone()), |plan| plan.site.wet = true);
        site.width_m = 20.0;
        refused(&Edit::Site(site), "course.gates[3].x_m");
    }

    #[test]
    fn the_course_is_replaced_but_for_gates_and_pad() {
        let mut course = CoursePlan { gates: Vec::new(), step_m: 0.5, ..demo().course };
        course.pad.x_m = 1e9;
        applied(&Edit::Course(course.clone()), |plan| plan.course.step_m = 0.5);
        course.step_m = 0.0;
        refused(&Edit::Course(course), "course.step_m");
    }

    #[test]
    fn targets_and_rules_are_replaced_or_refused() {
        let mut targets = demo().targets;
        targets.picture_share = 0.9;
        applied(&Edit::Targets(targets.clone()), |plan| plan.targets.picture_share = 0.9);
        targets.picture_share = 1.0;
        refused(&Edit::Targets(targets), "targets.picture_share");

        let mut rules = Rules::default();
        applied(&Edit::Rules(rules.clone()), |plan| plan.rules = Rules::default());
        rules.eirp_limit_dbm = Some(f64::INFINITY);
        refused(&Edit::Rules(rules), "rules.eirp_limit_dbm");
    }
}
