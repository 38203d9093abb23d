//! Parts that come, go and change places: gates, seats and obstacles as items of the plan's lists.
//!
//! Ids stay unique, gates that are called by their number keep being called by it, and a receiver whose seat goes finds
//! another one. What none of that can mend is refused when the edit is [applied](super::edit::apply).

use super::check::PlanProblem;
use super::document::{Gate, Plan, Seat};
use super::limits;
use super::part::{Part, PlacedPart};
use super::shape::hundredths;

/// Puts a part into its list, at the end where its position lies beyond that; a pad takes the place of the one that is
/// there.
pub(super) fn add(plan: &mut Plan, part: &PlacedPart) {
    fn insert<T: Clone>(list: &mut Vec<T>, position: usize, item: &T) {
        list.insert(position.min(list.len()), item.clone());
    }
    match part {
        PlacedPart::Gate(position, gate) => {
            rearranged(&mut plan.course.gates, |gates| insert(gates, *position, gate));
        }
        PlacedPart::Seat(position, seat) => insert(&mut plan.seats, *position, seat),
        PlacedPart::Obstacle(position, obstacle) => insert(&mut plan.site.obstacles, *position, obstacle),
        PlacedPart::Pad(pad) => plan.course.pad = pad.clone(),
    }
}

/// Takes a part out of its list. Receivers of a seat go to the nearest other seat.
///
/// # Errors
/// The pad, an index that names nothing, or the only seat while receivers need it.
pub(super) fn delete(plan: &mut Plan, part: Part) -> Result<(), PlanProblem> {
    if let Some((path, index, count)) = part.listed(plan).filter(|(_, index, count)| index >= count) {
        return Err(PlanProblem::missing_index(path, index, count));
    }
    match part {
        Part::Gate(index) => rearranged(&mut plan.course.gates, |gates| drop(gates.remove(index))),
        Part::Obstacle(index) => drop(plan.site.obstacles.remove(index)),
        Part::Seat(index) => {
            let heir = nearest_other_seat(plan, index).map(|heir| plan.seats[heir].id.clone());
            let gone = plan.seats.remove(index);
            for receiver in plan.receivers.iter_mut().filter(|receiver| receiver.seat == gone.id) {
                let Some(heir) = &heir else {
                    let said = format!("the last seat cannot be deleted while {} uses it", receiver.name);
                    return Err(PlanProblem::new(format!("seats[{index}]"), said));
                };
                receiver.seat.clone_from(heir);
            }
        }
        Part::Pad => return Err(PlanProblem::new("course.pad", "the start pad has a place and cannot be taken away")),
    }
    Ok(())
}

/// Gives a gate another position in the flight order.
///
/// # Errors
/// An index that names nothing.
pub(super) fn reorder(plan: &mut Plan, from: usize, to: usize) -> Result<(), PlanProblem> {
    let gates = &mut plan.course.gates;
    if let Some(wrong) = [from, to].into_iter().find(|index| *index >= gates.len()) {
        return Err(PlanProblem::missing_index("course.gates", wrong, gates.len()));
    }
    rearranged(gates, |gates| {
        let gate = gates.remove(from);
        gates.insert(to, gate);
    });
    Ok(())
}

/// Turns every gate along the way from the gate before it to the gate after it. Where those two stand at one place, as
/// on a course of two gates, a gate stays as it is.
pub(super) fn align(plan: &mut Plan) {
    let gates = &mut plan.course.gates;
    for index in 0..gates.len() {
        // The places of the others stay, so that the order of turning does not matter.
        if let Some(heading) = along_the_way(gates, index) {
            gates[index].heading_deg = heading;
        }
    }
}

/// The heading of the way from the gate before a gate to the gate after it; `None` where those stand at one place.
fn along_the_way(gates: &[Gate], index: usize) -> Option<f64> {
    let count = gates.len();
    let (before, after) = (&gates[(index + count - 1) % count], &gates[(index + 1) % count]);
    heading([before.x_m, before.y_m], [after.x_m, after.y_m])
}

/// What goes elsewhere when a part is deleted, as the end of a sentence: "Goggles 1 and Goggles 2 go to Bench"; `None`
/// when nothing does.
pub fn left_behind(plan: &Plan, part: Part) -> Option<String> {
    let Part::Seat(index) = part else { return None };
    let gone = plan.seats.get(index)?;
    let heir = &plan.seats[nearest_other_seat(plan, index)?];
    let names: Vec<&str> = plan
        .receivers
        .iter()
        .filter(|receiver| receiver.seat == gone.id)
        .map(|receiver| receiver.name.as_str())
        .collect();
    let verb = if names.len() == 1 { "goes" } else { "go" };
    (!names.is_empty()).then(|| format!("{} {verb} to {}", names.join(", "), heir.name))
}

/// A second one of a part, a little beside it: for gates right after it in the flight order. `None` for the pad and for
/// what the plan does not have.
pub fn duplicate(plan: &Plan, part: Part) -> Option<PlacedPart> {
    let site = &plan.site;
    let mut twin = PlacedPart::of(plan, part).filter(|_| part != Part::Pad)?;
    renew(plan, &mut twin);
    if let (Part::Gate(before), PlacedPart::Gate(index, gate)) = (part, &mut twin) {
        *index = before + 1;
        if plain_number(&gate.name).is_some() && plain_number(&plan.course.gates[before].name) == Some(*index) {
            gate.name = gate_name(*index);
        }
    }
    let step = |from: f64, by: f64, most: f64| if (0.0..=most).contains(&(from + by)) { from + by } else { from - by };
    let [east, north] = twin.pose().place_m;
    twin.put([step(east, BESIDE_M, site.width_m), step(north, -BESIDE_M, site.depth_m)]);
    Some(twin)
}

/// Twins of parts, all of them shifted by so many metres, to be added in this order at the ends of their lists. The parts
/// may be of another plan.
pub fn twins(plan: &Plan, parts: &[PlacedPart], by_m: [f64; 2]) -> Vec<PlacedPart> {
    // What is new for one is taken for the next.
    let mut scratch = plan.clone();
    let made = parts.iter().filter(|part| part.part() != Part::Pad).map(|part| {
        let mut twin = part.clone();
        renew(&scratch, &mut twin);
        let [east, north] = twin.pose().place_m;
        twin.put([hundredths(east + by_m[0]), hundredths(north + by_m[1])]);
        add(&mut scratch, &twin);
        twin
    });
    made.collect()
}

/// Gives a part an id and a name that the plan does not have, and the place at the end of its list.
fn renew(plan: &Plan, part: &mut PlacedPart) {
    match part {
        PlacedPart::Gate(index, gate) => {
            let gates = &plan.course.gates;
            *index = gates.len();
            gate.id = unique_id(gates.iter().map(|gate| gate.id.as_str()), "gate");
            gate.name = match plain_number(&gate.name) {
                Some(_) => gate_name(*index),
                None => next_name(gates.iter().map(|gate| gate.name.as_str()), &gate.name),
            };
        }
        PlacedPart::Seat(index, seat) => {
            seat.id = unique_id(plan.seats.iter().map(|seat| seat.id.as_str()), "seat");
            seat.name = next_name(plan.seats.iter().map(|seat| seat.name.as_str()), &seat.name);
            *index = plan.seats.len();
        }
        PlacedPart::Obstacle(index, obstacle) => {
            let obstacles = &plan.site.obstacles;
            obstacle.id = unique_id(obstacles.iter().map(|obstacle| obstacle.id.as_str()), "part");
            obstacle.name = next_name(obstacles.iter().map(|obstacle| obstacle.name.as_str()), &obstacle.name);
            *index = obstacles.len();
        }
        PlacedPart::Pad(_) => {}
    }
}

/// How far beside the first the second one stands, along either axis, in metres.
const BESIDE_M: f64 = 1.0;

/// The heading from one point toward another, from 0 up to 360 degrees; `None` where they are one.
pub fn heading(from: [f64; 2], to: [f64; 2]) -> Option<f64> {
    let (east, north) = (to[0] - from[0], to[1] - from[1]);
    let degrees = libm::atan2(east, north).to_degrees().rem_euclid(360.0);
    (libm::hypot(east, north) > 1e-6).then(|| degrees.round() % 360.0)
}

/// The first of `stem-1`, `stem-2`, ... that is not taken.
pub(super) fn unique_id<'a>(taken: impl Iterator<Item = &'a str>, stem: &str) -> String {
    first_free(&taken.collect::<Vec<_>>(), &format!("{stem}-"))
}

/// The name with the first number that makes it new: "Stall 2" after "Stall" or "Stall 1", and "Stall 1" after nothing.
pub(super) fn next_name<'a>(taken: impl Iterator<Item = &'a str>, name: &str) -> String {
    let stem = name.trim_end_matches(|letter: char| letter.is_ascii_digit()).trim_end();
    // Room for the number, however long the name was.
    let stem: String = stem.chars().take(limits::NAME.max - 5).collect();
    let first = format!("{stem} 1");
    // A name without a number stands for the first.
    let taken: Vec<&str> = taken.map(|name| if name == stem { &first } else { name }).collect();
    first_free(&taken, &format!("{stem} "))
}

/// The stem with the first number that makes it new. It is looked for once, when a part comes: no need for an index.
fn first_free(taken: &[&str], stem: &str) -> String {
    let mut number = 1;
    loop {
        let made = format!("{stem}{number}");
        if !taken.contains(&made.as_str()) {
            return made;
        }
        number += 1;
    }
}

/// The seat that is nearest to another one.
fn nearest_other_seat(plan: &Plan, index: usize) -> Option<usize> {
    let gone = &plan.seats[index];
    let distance = |seat: &Seat| libm::hypot(seat.x_m - gone.x_m, seat.y_m - gone.y_m);
    let others = (0..plan.seats.len()).filter(|other| *other != index);
    others.min_by(|one, other| distance(&plan.seats[*one]).total_cmp(&distance(&plan.seats[*other])))
}

/// Changes the list of the gates. Those that are called by their number get the number of their new position, and those
/// that looked along the old way look along the new one; a new gate looks as it was told to.
fn rearranged(gates: &mut Vec<Gate>, change: impl FnOnce(&mut Vec<Gate>)) {
    let looks = |gates: &[Gate], index: usize| along_the_way(gates, index) == Some(gates[index].heading_deg);
    let along: Vec<String> =
        (0..gates.len()).filter(|index| looks(gates, *index)).map(|index| gates[index].id.clone()).collect();
    for (index, gate) in gates.iter_mut().enumerate() {
        if plain_number(&gate.name) == Some(index + 1) {
            gate.name.clear();
        }
    }
    change(gates);
    for index in 0..gates.len() {
        if gates[index].name.is_empty() {
            gates[index].name = gate_name(index);
        }
        if let Some(heading) = along_the_way(gates, index).filter(|_| along.contains(&gates[index].id)) {
            gates[index].heading_deg = heading;
        }
    }
}

/// What a gate without a name of its own is called.
pub(super) fn gate_name(index: usize) -> String {
    format!("Gate {}", index + 1)
}

fn plain_number(name: &str) -> Option<usize> {
    name.strip_prefix("Gate ")?.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::check;
    use crate::plan::demo::demo;
    use crate::plan::edit::{Edit, apply};
    use crate::plan::fresh::{self, Kind};

    fn numbered() -> Plan {
        let mut plan = demo();
        for (index, gate) in plan.course.gates.iter_mut().enumerate() {
            gate.name = gate_name(index);
        }
        plan
    }

    #[test]
    fn ids_and_names_are_new() {
        assert_eq!(unique_id(["wall-1", "wall-3"].into_iter(), "wall"), "wall-2");
        assert_eq!(next_name(["Stall", "Stall 2"].into_iter(), "Stall 2"), "Stall 3");
        assert_eq!(next_name(["Mill"].into_iter(), "Mill"), "Mill 2");
        let long = "x".repeat(limits::NAME.max);
        assert!(limits::NAME.contains(next_name([long.as_str()].into_iter(), &long).chars().count()));
    }

    #[test]
    fn every_part_can_be_doubled_and_taken_away_again() {
        let plan = demo();
        for part in Part::all(&plan).into_iter().filter(|part| *part != Part::Pad) {
            let twin = duplicate(&plan, part).expect("the demo has the part");
            let new = twin.part();
            // A twin of a building may stand where a gate is; then the edit is refused as a whole.
            let Ok(doubled) = apply(&plan, &Edit::Add(twin)) else { continue };
            assert_eq!(apply(&doubled, &Edit::Delete(new)), Ok(plan.clone()), "{part:?}");
        }
        assert_eq!(duplicate(&plan, Part::Seat(9)), None);
        assert_eq!(duplicate(&plan, Part::Pad), None);
        assert_eq!(apply(&plan, &Edit::Delete(Part::Pad)).unwrap_err().path, "course.pad");
        assert_eq!(apply(&plan, &Edit::Delete(Part::Seat(9))).unwrap_err().path, "seats");
    }

    #[test]
    fn what_was_added_has_an_id_of_its_own_and_the_plan_holds() {
        let mut plan = demo();
        for (round, kind) in Kind::ALL.into_iter().cycle().take(24).enumerate() {
            let place = [5.0 + round as f64 * 1.3, 11.0 + (round % 3) as f64 * 0.7];
            if let Ok(changed) = apply(&plan, &Edit::Add(fresh::part(&plan, kind, place, None))) {
                plan = changed;
            }
        }
        assert_eq!(check::problems(&plan), []);
        assert!(plan.site.obstacles.len() > 20 && plan.course.gates.len() > 7 && plan.seats.len() > 4);
    }

    #[test]
    fn receivers_of_a_seat_that_goes_move_to_the_nearest_one_and_that_is_said() {
        let plan = demo();
        assert_eq!(left_behind(&plan, Part::Seat(0)).as_deref(), Some("Goggles 1 goes to Pilots' bench, middle"));
        let changed = apply(&plan, &Edit::Delete(Part::Seat(0))).unwrap();
        assert_eq!(changed.receivers[0].seat, "middle");
        assert_eq!(
            left_behind(&changed, Part::Seat(0)).as_deref(),
            Some("Goggles 1, Goggles 2 go to Pilots' bench, right")
        );
        assert_eq!(left_behind(&plan, Part::Gate(0)), None);
    }

    #[test]
    fn the_only_seat_stays_as_long_as_somebody_needs_it() {
        let mut plan = demo();
        for _ in 0..3 {
            plan = apply(&plan, &Edit::Delete(Part::Seat(0))).unwrap();
        }
        let problem = apply(&plan, &Edit::Delete(Part::Seat(0))).unwrap_err();
        assert_eq!(problem.said, "the last seat cannot be deleted while Goggles 1 uses it");
        plan.entries.clear();
        plan.receivers.clear();
        assert!(apply(&plan, &Edit::Delete(Part::Seat(0))).unwrap().seats.is_empty());
    }

    #[test]
    fn gates_called_by_their_number_are_so_in_any_order() {
        let plan = numbered();
        let ids = |plan: &Plan| plan.course.gates.iter().map(|gate| gate.id.clone()).collect::<Vec<_>>();
        let names = |plan: &Plan| plan.course.gates.iter().map(|gate| gate.name.clone()).collect::<Vec<_>>();
        let moved = apply(&plan, &Edit::Reorder { from: 1, to: 3 }).unwrap();
        assert_eq!(ids(&moved)[..4], ["start", "barn-west", "bridge", "loft-gate"]);
        assert_eq!(names(&moved), names(&plan));
        let back = apply(&moved, &Edit::Reorder { from: 3, to: 1 }).unwrap();
        assert_eq!((ids(&back), names(&back)), (ids(&plan), names(&plan)));
        let fewer = apply(&plan, &Edit::Delete(Part::Gate(0))).unwrap();
        assert_eq!(names(&fewer), names(&plan)[..6]);
        // A name of its own stays.
        let named = apply(&demo(), &Edit::Reorder { from: 0, to: 6 }).unwrap();
        assert_eq!(named.course.gates[6].name, "Start gate");
        assert!(apply(&plan, &Edit::Reorder { from: 0, to: 7 }).is_err());
    }

    #[test]
    fn a_gate_that_comes_turns_the_neighbours_that_looked_along_the_way() {
        let mut plan = apply(&demo(), &Edit::Align).unwrap();
        plan.course.gates[0].heading_deg = 10.0;
        let PlacedPart::Gate(_, gate) = fresh::part(&plan, Kind::Gate, [20.0, 20.0], None) else { panic!("a gate") };
        let added = apply(&plan, &Edit::Add(PlacedPart::Gate(7, gate))).unwrap();
        let expected = apply(&added, &Edit::Align).unwrap();
        for (index, (got, along)) in added.course.gates.iter().zip(&expected.course.gates).enumerate() {
            // The first gate had a heading of its own.
            let heading = if index == 0 { 10.0 } else { along.heading_deg };
            assert_eq!(got.heading_deg, heading, "gate {index}");
        }
    }

    #[test]
    fn a_course_keeps_two_gates() {
        let mut plan = demo();
        for _ in 0..5 {
            plan = apply(&plan, &Edit::Delete(Part::Gate(2))).unwrap();
        }
        assert_eq!(apply(&plan, &Edit::Delete(Part::Gate(0))).unwrap_err().path, "course.gates");
        assert!(apply(&plan, &Edit::Delete(Part::Gate(2))).is_err());
    }

    #[test]
    fn gates_turn_along_the_way() {
        let mut plan = demo();
        for (gate, place) in plan.course.gates.iter_mut().zip([[10.0, 6.0], [10.0, 10.0], [16.0, 10.0], [16.0, 6.0]]) {
            [gate.x_m, gate.y_m] = place;
            gate.heading_deg = 17.0;
        }
        plan.course.gates.truncate(4);
        let headings: Vec<f64> =
            apply(&plan, &Edit::Align).unwrap().course.gates.iter().map(|gate| gate.heading_deg).collect();
        // West to north to east to south, a square flown clockwise: each corner is cut at 45 degrees, by 6 m to 4 m.
        assert_eq!(headings, [304.0, 56.0, 124.0, 236.0]);
        plan.course.gates.truncate(2);
        assert_eq!(apply(&plan, &Edit::Align), Ok(plan.clone()));
    }
}
