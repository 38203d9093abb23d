//! A picked part of the plan as a thing that can be moved, turned and named.

use crate::format::{DisplayUnits, Measure};
use crate::plan::document::{ObstacleShape, Plan};
use crate::plan::edit::Edit;
use crate::plan::layout::{NewPart, Part, left_behind};
use crate::plan::shape::{hundredths, tenths};
use crate::state::{Action, Selection};
use crate::wording;

use super::frame::Frame;
use super::path_text::Point;

/// How far a pressed arrow key or a nudge button moves a part, in metres.
pub const NUDGE_M: f64 = 0.1;
/// The same with the shift key.
pub const LONG_NUDGE_M: f64 = 1.0;
/// How far a key or a button turns a part, in degrees.
pub const TURN_DEG: f64 = 5.0;
/// The same with the shift key.
pub const FINE_TURN_DEG: f64 = 1.0;

/// Where a part is and which way it looks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pose {
    /// East and north, in metres.
    pub place_m: [f64; 2],
    /// Heading, facing or turn; `None` for what has none.
    pub turn_deg: Option<f64>,
}

/// Every part that has a place: gates in flight order, the pad, seats, obstacles.
pub fn all(plan: &Plan) -> Vec<Selection> {
    let gates = (0..plan.course.gates.len()).map(Selection::Gate);
    let seats = (0..plan.seats.len()).map(Selection::Seat);
    let obstacles = (0..plan.site.obstacles.len()).map(Selection::Obstacle);
    gates.chain([Selection::Pad]).chain(seats).chain(obstacles).collect()
}

/// The pose of a part; `None` for entries, which are nowhere on the site, and for what the plan does not have.
pub fn pose(plan: &Plan, part: Selection) -> Option<Pose> {
    match part {
        Selection::Entry(_) => None,
        Selection::Gate(index) => {
            let gate = plan.course.gates.get(index)?;
            Some(Pose { place_m: [gate.x_m, gate.y_m], turn_deg: Some(gate.heading_deg) })
        }
        Selection::Seat(index) => {
            let seat = plan.seats.get(index)?;
            Some(Pose { place_m: [seat.x_m, seat.y_m], turn_deg: Some(seat.facing_deg) })
        }
        Selection::Obstacle(index) => {
            let shape = &plan.site.obstacles.get(index)?.shape;
            Some(Pose { place_m: shape.centre_m(), turn_deg: shape.turn_deg() })
        }
        Selection::Pad => {
            let pad = &plan.course.pad;
            Some(Pose { place_m: [pad.x_m, pad.y_m], turn_deg: Some(pad.heading_deg) })
        }
    }
}

/// The edit that puts a part at a place, `[east, north]` in metres: held within the site and rounded to a centimetre.
pub fn moved(plan: &Plan, part: Selection, to_m: [f64; 2]) -> Option<Edit> {
    let place = [hundredths(to_m[0].clamp(0.0, plan.site.width_m)), hundredths(to_m[1].clamp(0.0, plan.site.depth_m))];
    match part {
        Selection::Entry(_) => None,
        Selection::Gate(index) => {
            let mut gate = plan.course.gates.get(index)?.clone();
            [gate.x_m, gate.y_m] = place;
            Some(Edit::Gate(index, gate))
        }
        Selection::Seat(index) => {
            let mut seat = plan.seats.get(index)?.clone();
            [seat.x_m, seat.y_m] = place;
            Some(Edit::Seat(index, seat))
        }
        Selection::Pad => {
            let mut pad = plan.course.pad.clone();
            [pad.x_m, pad.y_m] = place;
            Some(Edit::Pad(pad))
        }
        Selection::Obstacle(index) => {
            let mut obstacle = plan.site.obstacles.get(index)?.clone();
            obstacle.shape.put(place);
            Some(Edit::Obstacle(index, obstacle))
        }
    }
}

/// The edit that turns a part to a heading, clockwise from north, rounded to a tenth of a degree; `None` for what has no
/// heading.
pub fn turned(plan: &Plan, part: Selection, to_deg: f64) -> Option<Edit> {
    let heading = tenths(to_deg.rem_euclid(360.0)) % 360.0;
    match part {
        Selection::Entry(_) => None,
        Selection::Gate(index) => {
            let mut gate = plan.course.gates.get(index)?.clone();
            gate.heading_deg = heading;
            Some(Edit::Gate(index, gate))
        }
        Selection::Seat(index) => {
            let mut seat = plan.seats.get(index)?.clone();
            seat.facing_deg = heading;
            Some(Edit::Seat(index, seat))
        }
        Selection::Pad => {
            let mut pad = plan.course.pad.clone();
            pad.heading_deg = heading;
            Some(Edit::Pad(pad))
        }
        Selection::Obstacle(index) => {
            let mut obstacle = plan.site.obstacles.get(index)?.clone();
            obstacle.shape.turn_deg()?;
            obstacle.shape.turn(heading);
            Some(Edit::Obstacle(index, obstacle))
        }
    }
}

/// The edit that puts a corner of an obstacle, or an end of a wall, somewhere else: see
/// [`ObstacleShape::pull`](crate::plan::document::ObstacleShape::pull). `None` for what has no corners.
pub fn pulled(plan: &Plan, part: Selection, corner: usize, to_m: [f64; 2]) -> Option<Edit> {
    let Selection::Obstacle(index) = part else { return None };
    let mut obstacle = plan.site.obstacles.get(index)?.clone();
    obstacle.shape.pull(corner, to_m);
    Some(Edit::Obstacle(index, obstacle))
}

/// Where a corner of an obstacle is, in metres.
pub fn corner_m(plan: &Plan, part: Selection, corner: usize) -> Option<[f64; 2]> {
    let Selection::Obstacle(index) = part else { return None };
    plan.site.obstacles.get(index)?.shape.corners_m().get(corner).copied()
}

/// The action that takes a part away; its label says what goes elsewhere. `None` for what cannot be deleted.
pub fn deletion(plan: &Plan, part: Selection) -> Option<Action> {
    let gone = item(part)?;
    let what = match left_behind(plan, gone) {
        Some(left) => format!("deleted: {left}"),
        None => "deleted".to_owned(),
    };
    Some(Action::Edit { edit: Edit::Delete(gone), label: done(plan, part, &what), merge: None })
}

/// The actions that put a new part into the plan and pick it.
pub fn addition(plan: &Plan, new: NewPart) -> [Action; 2] {
    let (picked, name) = match &new {
        NewPart::Gate(position, gate) => (Selection::Gate(*position), &gate.name),
        NewPart::Seat(seat) => (Selection::Seat(plan.seats.len()), &seat.name),
        NewPart::Obstacle(obstacle) => (Selection::Obstacle(plan.site.obstacles.len()), &obstacle.name),
    };
    let label = format!("{name} added");
    [Action::Edit { edit: Edit::Add(new), label, merge: None }, Action::Select(Some(picked))]
}

/// All parts that lie under a place of the drawing or within so many pixels of it, uppermost first.
pub fn under(plan: &Plan, frame: &Frame, place: Point, reach: f64) -> Vec<Selection> {
    let place_m = frame.site_point(place);
    let reach_m = reach / frame.scale;
    let near = |part: &Selection| match *part {
        Selection::Obstacle(index) => plan.site.obstacles[index].shape.is_near(place_m, reach_m / 2.0),
        _ => pose(plan, *part)
            .is_some_and(|pose| libm::hypot(pose.place_m[0] - place_m[0], pose.place_m[1] - place_m[1]) <= reach_m),
    };
    all(plan).into_iter().filter(near).collect()
}

/// The part as one that can be doubled and deleted; `None` for entries and for the pad, of which there is always one.
pub fn item(part: Selection) -> Option<Part> {
    match part {
        Selection::Entry(_) | Selection::Pad => None,
        Selection::Gate(index) => Some(Part::Gate(index)),
        Selection::Seat(index) => Some(Part::Seat(index)),
        Selection::Obstacle(index) => Some(Part::Obstacle(index)),
    }
}

/// The edit that puts a part back to how it is in a plan; undoes a drag that was given up.
pub fn as_in(plan: &Plan, part: Selection) -> Option<Edit> {
    match part {
        Selection::Entry(_) => None,
        Selection::Gate(index) => Some(Edit::Gate(index, plan.course.gates.get(index)?.clone())),
        Selection::Seat(index) => Some(Edit::Seat(index, plan.seats.get(index)?.clone())),
        Selection::Obstacle(index) => Some(Edit::Obstacle(index, plan.site.obstacles.get(index)?.clone())),
        Selection::Pad => Some(Edit::Pad(plan.course.pad.clone())),
    }
}

/// What a part is called at the start of a sentence: "Gate 3 (Fountain)".
pub fn name(plan: &Plan, part: Selection) -> String {
    match part {
        Selection::Entry(index) => plan.entries.get(index).map_or("Entry", |entry| &entry.name).to_owned(),
        Selection::Gate(index) => {
            wording::with_first(&wording::gate(&plan.course.gates, index), char::to_ascii_uppercase)
        }
        Selection::Seat(index) => plan.seats.get(index).map_or("Seat", |seat| &seat.name).to_owned(),
        Selection::Obstacle(index) => {
            plan.site.obstacles.get(index).map_or("Obstacle", |obstacle| &obstacle.name).to_owned()
        }
        Selection::Pad => "Start pad".to_owned(),
    }
}

/// Where a part is, in a few words for the drawing: "12.0 m E, 4.5 m N, 90°".
pub fn short_place(pose: Pose, units: DisplayUnits) -> String {
    let [east, north] = pose.place_m.map(|metres| Measure::Length.text(metres, units));
    match pose.turn_deg {
        Some(turn) => format!("{east} E, {north} N, {}", Measure::Angle.text(turn.rem_euclid(360.0), units)),
        None => format!("{east} E, {north} N"),
    }
}

/// How long a part is, in a few words for the drawing: "6.0 m long", "4.0 m × 2.4 m", "2.0 m round"; `None` for points.
pub fn lengths(plan: &Plan, part: Selection, units: DisplayUnits) -> Option<String> {
    let Selection::Obstacle(index) = part else { return None };
    Some(shape_lengths(&plan.site.obstacles.get(index)?.shape, units))
}

/// The same of a shape.
pub fn shape_lengths(shape: &ObstacleShape, units: DisplayUnits) -> String {
    let text = |metres| Measure::Length.text(metres, units);
    match (shape, shape.rectangle()) {
        (ObstacleShape::Wall(wall), _) => {
            let length = libm::hypot(wall.to_m[0] - wall.from_m[0], wall.to_m[1] - wall.from_m[1]);
            format!("{} long", text(length))
        }
        (ObstacleShape::Tree(tree), _) => format!("{} round", text(tree.radius_m)),
        (_, rectangle) => {
            let size = rectangle.map_or([0.0; 2], |(_, size, _)| size);
            format!("{} × {}", text(size[0]), text(size[1]))
        }
    }
}

/// A part with its place, as a screen reader says it: "Gate 3, 12 metres east, 4.5 metres north, heading 90 degrees".
pub fn spoken(plan: &Plan, part: Selection, units: DisplayUnits) -> String {
    let name = name(plan, part);
    let Some(pose) = pose(plan, part) else { return name };
    let unit = Measure::Length.spoken_unit(units);
    let [east, north] = pose.place_m.map(|metres| Measure::Length.field_text(metres, units));
    let turn = pose.turn_deg.map_or_else(String::new, |turn| {
        let word = match part {
            Selection::Seat(_) => "facing",
            Selection::Obstacle(_) => "turned",
            _ => "heading",
        };
        format!(", {word} {} degrees", Measure::Angle.field_text(turn, units))
    });
    format!("{name}, {east} {unit} east, {north} {unit} north{turn}")
}

/// What moving or turning a part is called in the list of steps: "Gate 3 moved".
pub fn done(plan: &Plan, part: Selection, what: &str) -> String {
    format!("{} {what}", name(plan, part))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::demo::demo;
    use crate::plan::edit::apply;
    use crate::plan::fresh::Kind;

    #[test]
    fn every_part_can_be_moved_and_put_back() {
        let plan = demo();
        for part in all(&plan) {
            let before = pose(&plan, part).expect("the demo has the part");
            let to = [before.place_m[0].clamp(1.0, 40.0) + 0.1, before.place_m[1].clamp(1.0, 25.0)];
            let edit = moved(&plan, part, to).expect("a place on the site");
            // A building stands where another part may not be; only the rest must be allowed.
            if let Ok(changed) = apply(&plan, &edit) {
                let after = pose(&changed, part).expect("still there");
                assert!((0..2).all(|axis| (after.place_m[axis] - to[axis]).abs() < 0.011), "{part:?} {after:?}");
                let back = as_in(&plan, part).expect("the demo has the part");
                assert_eq!(apply(&changed, &back), Ok(plan.clone()));
            }
        }
    }

    #[test]
    fn a_tap_finds_everything_that_lies_there() {
        let plan = demo();
        let frame = Frame::fit(860.0, 600.0, 44.0, 28.0);
        // Three seats side by side under a canopy.
        let [east, north] = pose(&plan, Selection::Seat(1)).expect("the demo has it").place_m;
        let found = under(&plan, &frame, frame.place(east, north), 30.0);
        assert!(found.starts_with(&[Selection::Seat(0), Selection::Seat(1), Selection::Seat(2)]), "{found:?}");
        assert!(matches!(found[3..], [Selection::Obstacle(_)]), "{found:?}");
        assert_eq!(under(&plan, &frame, frame.place(23.0, 20.0), 12.0), []);
    }

    #[test]
    fn a_new_part_is_picked_and_a_deletion_says_what_goes_elsewhere() {
        let plan = demo();
        let [_, Action::Select(picked)] =
            addition(&plan, crate::plan::fresh::part(&plan, Kind::Wall, [5.0, 5.0], None))
        else {
            panic!("a new part is picked")
        };
        assert_eq!(picked, Some(Selection::Obstacle(plan.site.obstacles.len())));
        let Some(Action::Edit { label, .. }) = deletion(&plan, Selection::Seat(0)) else { panic!("seats can go") };
        assert_eq!(label, "Pilots' bench, left deleted: Goggles 1 goes to Pilots' bench, middle");
        assert_eq!(deletion(&plan, Selection::Pad), None);
    }

    #[test]
    fn headings_stay_within_a_turn() {
        let plan = demo();
        for (to, heading) in [(365.0, 5.0), (-5.0, 355.0), (359.96, 0.0), (90.04, 90.0)] {
            let Some(Edit::Gate(0, gate)) = turned(&plan, Selection::Gate(0), to) else { panic!("a gate turns") };
            assert_eq!(gate.heading_deg, heading);
        }
    }

    #[test]
    fn nothing_leaves_the_site_or_exists_twice() {
        let plan = demo();
        let Some(Edit::Pad(pad)) = moved(&plan, Selection::Pad, [-3.0, 1e9]) else { panic!("a pad moves") };
        assert_eq!([pad.x_m, pad.y_m], [0.0, plan.site.depth_m]);
        assert_eq!(moved(&plan, Selection::Gate(99), [1.0, 1.0]), None);
        assert_eq!(pose(&plan, Selection::Entry(0)), None);
    }

    #[test]
    fn a_part_is_said_with_place_and_heading() {
        let mut plan = demo();
        let gate = &mut plan.course.gates[2];
        (gate.name, gate.x_m, gate.y_m, gate.heading_deg) = ("Gate 3".into(), 12.0, 4.5, 90.0);
        let said = spoken(&plan, Selection::Gate(2), DisplayUnits::default());
        assert_eq!(said, "Gate 3, 12 metres east, 4.5 metres north, heading 90 degrees");
    }
}
