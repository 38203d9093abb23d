//! Several parts that are picked together: moved, doubled, copied and taken away as one, each in one step of undo.

use crate::plan::document::Plan;
use crate::plan::edit::{Edit, apply};
use crate::plan::layout;
use crate::plan::limits;
use crate::plan::part::{Part, PlacedPart};
use crate::plan::shape::hundredths;
use crate::state::{Action, View};

use super::part;

/// Words of a [`PartSet`]: enough for every list at its limit, and the pad.
const WORDS: usize = (limits::GATES.max + limits::SEATS.max + limits::OBSTACLES.max + 1).div_ceil(64);

/// Parts of a plan as a set that is copied like a number.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct PartSet([u64; WORDS]);

impl PartSet {
    /// These parts; those beyond the limits of a plan are left out.
    pub fn of(parts: impl IntoIterator<Item = Part>) -> Self {
        let mut set = Self::default();
        parts.into_iter().for_each(|part| set.put(part, true));
        set
    }

    /// Whether a part belongs to it.
    pub fn has(&self, part: Part) -> bool {
        let (word, bit) = place(part);
        self.0.get(word).is_some_and(|word| word & bit != 0)
    }

    /// Whether nothing belongs to it.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// Puts a part in, or takes it out.
    pub fn put(&mut self, part: Part, is_in: bool) {
        let (word, bit) = place(part);
        if let Some(word) = self.0.get_mut(word) {
            *word = if is_in { *word | bit } else { *word & !bit };
        }
    }

    /// Those of its parts that a plan has.
    pub fn within(self, plan: &Plan) -> Vec<Part> {
        Part::all(plan).into_iter().filter(|part| self.has(*part)).collect()
    }
}

/// Where a part stands in a set: word and bit.
fn place(part: Part) -> (usize, u64) {
    let seats = limits::GATES.max;
    let obstacles = seats + limits::SEATS.max;
    let number = match part {
        Part::Gate(index) if index < seats => index,
        Part::Seat(index) if index < limits::SEATS.max => seats + index,
        Part::Obstacle(index) if index < limits::OBSTACLES.max => obstacles + index,
        Part::Pad => obstacles + limits::OBSTACLES.max,
        _ => usize::MAX,
    };
    (number / 64, 1 << (number % 64))
}

/// Everything that is picked, in the plan's order.
pub fn picked(plan: &Plan, view: View) -> Vec<Part> {
    let mut set = view.also;
    view.selected.into_iter().for_each(|part| set.put(part, true));
    set.within(plan)
}

/// The edit that moves parts by metres east and north, as far as all of them stay where they may stand: their distances from
/// each other stay.
pub fn moved(plan: &Plan, parts: &[Part], by_m: [f64; 2]) -> Edit {
    let placed: Vec<PlacedPart> = parts.iter().filter_map(|part| PlacedPart::of(plan, *part)).collect();
    let sides = [plan.site.width_m, plan.site.depth_m];
    let by = [0, 1].map(|axis| {
        placed.iter().fold(hundredths(by_m[axis]), |by, one| {
            let beyond = if one.shape().is_some() { limits::OBSTACLE_BEYOND_M } else { 0.0 };
            let at = one.pose().place_m[axis];
            by.clamp((-beyond - at).min(0.0), (sides[axis] + beyond - at).max(0.0))
        })
    });
    let put = |mut one: PlacedPart| {
        let at = one.pose().place_m;
        one.put([0, 1].map(|axis| hundredths(at[axis] + by[axis])));
        Edit::Part(one)
    };
    Edit::Several(placed.into_iter().map(put).collect())
}

/// The edit that takes parts away; the pad stays. `None` where nothing is left to take.
pub fn deleted(parts: &[Part]) -> Option<Edit> {
    // From the ends of the lists, so that the numbers of the others hold.
    let edits: Vec<Edit> =
        parts.iter().rev().filter(|part| **part != Part::Pad).map(|part| Edit::Delete(*part)).collect();
    (!edits.is_empty()).then_some(Edit::Several(edits))
}

/// The edit that puts twins of parts into a plan, beside where those stand, and which parts they are then. Their distances
/// from each other are those of the others. `None` without any.
pub fn pasted(plan: &Plan, copied: &[PlacedPart]) -> Option<(Edit, PartSet)> {
    let beside = [1.0, 2.0, 3.0, 5.0, 8.0].into_iter().flat_map(|far| {
        [[far, -far], [-far, -far], [far, far], [-far, far], [far, 0.0], [-far, 0.0], [0.0, far], [0.0, -far]]
    });
    let mut ways = beside.map(|by| layout::twins(plan, copied, by));
    let edit = |twins: &Vec<PlacedPart>| Edit::Several(twins.iter().cloned().map(Edit::Add).collect());
    // Where no way does, the first is refused with its reason.
    let first = ways.next()?;
    let fits = |twins: &Vec<PlacedPart>| apply(plan, &edit(twins)).is_ok();
    let twins = if fits(&first) { first } else { ways.find(fits).unwrap_or(first) };
    (!twins.is_empty()).then(|| (edit(&twins), PartSet::of(twins.iter().map(PlacedPart::part))))
}

/// An edit of several parts as an action; `what` is what was done: "moved".
pub fn action(plan: &Plan, parts: &[Part], what: &str, edit: Edit, merge: Option<u32>) -> Action {
    let label = match parts {
        [only] => part::done(plan, *only, what),
        _ => format!("{} parts {what}", parts.len()),
    };
    Action::Edit { edit, label, merge }
}

/// The actions that put twins into the plan and pick them.
pub fn paste(plan: &Plan, copied: &[PlacedPart], what: &str) -> Vec<Action> {
    let Some((edit, twins)) = pasted(plan, copied) else { return Vec::new() };
    let parts: Vec<Part> = copied.iter().map(PlacedPart::part).collect();
    vec![action(plan, &parts, what, edit, None), Action::Pick(twins)]
}

/// The parts as they stand, to be put in again elsewhere; the pad is left out.
pub fn copied(plan: &Plan, parts: &[Part]) -> Vec<PlacedPart> {
    parts.iter().filter(|part| **part != Part::Pad).filter_map(|part| PlacedPart::of(plan, *part)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::check::problems;
    use crate::plan::demo::demo;

    #[test]
    fn a_set_holds_every_part_of_the_largest_plan() {
        let gates = (0..limits::GATES.max).map(Part::Gate);
        let seats = (0..limits::SEATS.max).map(Part::Seat);
        let all: Vec<Part> =
            gates.chain(seats).chain((0..limits::OBSTACLES.max).map(Part::Obstacle)).chain([Part::Pad]).collect();
        for (index, part) in all.iter().enumerate() {
            let set = PartSet::of([*part]);
            assert!(all.iter().enumerate().all(|(other, part)| set.has(*part) == (other == index)), "{part:?}");
        }
        let beyond = [Part::Gate(limits::GATES.max), Part::Seat(99), Part::Obstacle(usize::MAX)];
        assert!(PartSet::of(beyond).is_empty());
        let mut set = PartSet::of(all.iter().copied());
        assert_eq!(set.within(&demo()), Part::all(&demo()));
        all.iter().for_each(|part| set.put(*part, false));
        assert!(set.is_empty());
    }

    #[test]
    fn a_group_keeps_its_distances_and_stays_on_the_site() {
        let plan = demo();
        let parts = [Part::Seat(0), Part::Seat(1), Part::Seat(2)];
        let places = |plan: &Plan| parts.map(|part| part::pose(plan, part).unwrap().place_m);
        for by in [[0.3, 0.2], [-1e6, 0.1], [0.5, 1e6], [f64::INFINITY, f64::NEG_INFINITY]] {
            let Edit::Several(edits) = moved(&plan, &parts, by) else { panic!("several") };
            let after = edits.iter().fold(plan.clone(), |mut plan, edit| {
                let Edit::Part(PlacedPart::Seat(index, seat)) = edit else { panic!("a seat") };
                plan.seats[*index] = seat.clone();
                plan
            });
            let (before, after) = (places(&plan), places(&after));
            for index in 0..3 {
                for axis in 0..2 {
                    let [was, is] = [&before, &after].map(|places| places[index][axis] - places[0][axis]);
                    assert!((was - is).abs() < 1e-9, "{before:?} {after:?}");
                }
                assert!((0.0..=44.0).contains(&after[index][0]) && (0.0..=28.0).contains(&after[index][1]));
            }
        }
    }

    #[test]
    fn groups_come_and_go_as_one() {
        let plan = demo();
        let parts = [Part::Gate(5), Part::Gate(6), Part::Seat(1), Part::Obstacle(2), Part::Obstacle(5)];
        let (edit, twins) = pasted(&plan, &copied(&plan, &parts)).unwrap();
        let more = apply(&plan, &edit).unwrap_or_else(|problem| panic!("{problem}"));
        assert_eq!(problems(&more), []);
        let twins = twins.within(&more);
        assert_eq!(twins.len(), parts.len());
        for (one, twin) in parts.iter().zip(&twins) {
            let [was, is] = [part::pose(&plan, *one), part::pose(&more, *twin)].map(|pose| pose.unwrap().place_m);
            let first = [part::pose(&plan, parts[0]), part::pose(&more, twins[0])].map(|pose| pose.unwrap().place_m);
            for axis in 0..2 {
                assert!(((is[axis] - was[axis]) - (first[1][axis] - first[0][axis])).abs() < 0.011);
            }
        }
        assert_eq!(apply(&more, &deleted(&twins).unwrap()), Ok(plan.clone()));
        let less = apply(&plan, &deleted(&parts).unwrap()).unwrap();
        assert_eq!(Part::all(&less).len(), Part::all(&plan).len() - parts.len());
        assert_eq!(deleted(&[Part::Pad]), None);
        assert_eq!(pasted(&plan, &[]), None);
    }
}
