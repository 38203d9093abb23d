//! A picked part of the plan as a thing that can be moved, turned and named.

use crate::format::{DisplayUnits, Measure};
use crate::plan::document::{ObstacleShape, Plan};
use crate::plan::edit::Edit;
use crate::plan::layout::left_behind;
use crate::plan::part::{Part, PartPose, PlacedPart};
use crate::plan::shape::{hundredths, tenths};
use crate::state::Action;
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

/// The pose of a part; `None` for what the plan does not have.
pub fn pose(plan: &Plan, part: Part) -> Option<PartPose> {
    PlacedPart::of(plan, part).map(|placed| placed.pose())
}

/// The edit that puts a part at a place, `[east, north]` in metres: held within the site and rounded to a centimetre.
pub fn moved(plan: &Plan, part: Part, to_m: [f64; 2]) -> Option<Edit> {
    let sides = [plan.site.width_m, plan.site.depth_m];
    let mut placed = PlacedPart::of(plan, part)?;
    placed.put([0, 1].map(|axis| hundredths(to_m[axis].clamp(0.0, sides[axis]))));
    Some(Edit::Part(placed))
}

/// The edit that turns a part to a heading, clockwise from north, rounded to a tenth of a degree; `None` for what has no
/// heading.
pub fn turned(plan: &Plan, part: Part, to_deg: f64) -> Option<Edit> {
    let mut placed = PlacedPart::of(plan, part)?;
    placed.pose().turn_deg?;
    placed.turn(tenths(to_deg.rem_euclid(360.0)) % 360.0);
    Some(Edit::Part(placed))
}

/// The edit that puts a corner of an obstacle, or an end of a wall, somewhere else: see
/// [`ObstacleShape::pull`](crate::plan::document::ObstacleShape::pull). `None` for what has no corners.
pub fn pulled(plan: &Plan, part: Part, corner: usize, to_m: [f64; 2]) -> Option<Edit> {
    let mut placed = PlacedPart::of(plan, part)?;
    placed.shape_mut()?.pull(corner, to_m);
    Some(Edit::Part(placed))
}

/// Where a corner of an obstacle is, in metres.
pub fn corner_m(plan: &Plan, part: Part, corner: usize) -> Option<[f64; 2]> {
    PlacedPart::of(plan, part)?.shape()?.corners_m().get(corner).copied()
}

/// The action that takes a part away; its label says what goes elsewhere. `None` for the pad, which stays.
pub fn deletion(plan: &Plan, part: Part) -> Option<Action> {
    let what = match left_behind(plan, part) {
        Some(left) => format!("deleted: {left}"),
        None => "deleted".to_owned(),
    };
    let label = done(plan, part, &what);
    (part != Part::Pad).then_some(Action::Edit { edit: Edit::Delete(part), label, merge: None })
}

/// The actions that put a new part into the plan and pick it.
pub fn addition(new: PlacedPart) -> [Action; 2] {
    let (label, part) = (format!("{} added", new.name()), new.part());
    [Action::Edit { edit: Edit::Add(new), label, merge: None }, Action::Select(Some(part))]
}

/// All parts that lie under a place of the drawing or within so many pixels of it, uppermost first.
pub fn under(plan: &Plan, frame: &Frame, place: Point, reach: f64) -> Vec<Part> {
    let place_m = frame.site_point(place);
    let reach_m = reach / frame.scale;
    let near = |part: &Part| {
        PlacedPart::of(plan, *part).is_some_and(|placed| match placed.shape() {
            Some(shape) => shape.is_near(place_m, reach_m / 2.0),
            None => {
                let [east, north] = placed.pose().place_m;
                libm::hypot(east - place_m[0], north - place_m[1]) <= reach_m
            }
        })
    };
    Part::all(plan).into_iter().filter(near).collect()
}

/// The edit that puts a part back to how it is in a plan; undoes a drag that was given up.
pub fn as_in(plan: &Plan, part: Part) -> Option<Edit> {
    PlacedPart::of(plan, part).map(Edit::Part)
}

/// What a part is called at the start of a sentence: "Gate 3 (Fountain)".
pub fn name(plan: &Plan, part: Part) -> String {
    match part {
        Part::Gate(index) => wording::with_first(&wording::gate(&plan.course.gates, index), char::to_ascii_uppercase),
        _ => PlacedPart::of(plan, part).map_or_else(String::new, |placed| placed.name().to_owned()),
    }
}

/// Where a part is, in a few words for the drawing: "12.0 m E, 4.5 m N, 90°".
pub fn short_place(pose: PartPose, units: DisplayUnits) -> String {
    let [east, north] = pose.place_m.map(|metres| Measure::Length.text(metres, units));
    match pose.turn_deg {
        Some(turn) => format!("{east} E, {north} N, {}", Measure::Angle.text(turn.rem_euclid(360.0), units)),
        None => format!("{east} E, {north} N"),
    }
}

/// How long a part is, in a few words for the drawing: "6.0 m long", "4.0 m × 2.4 m", "2.0 m radius"; `None` for points.
pub fn lengths(plan: &Plan, part: Part, units: DisplayUnits) -> Option<String> {
    PlacedPart::of(plan, part)?.shape().map(|shape| shape_lengths(shape, units))
}

/// The same of a shape.
pub fn shape_lengths(shape: &ObstacleShape, units: DisplayUnits) -> String {
    let text = |metres| Measure::Length.text(metres, units);
    match (shape, shape.rectangle()) {
        (ObstacleShape::Wall(_) | ObstacleShape::Barrier(_), _) => {
            let [from, to] = shape.ends_m().unwrap_or_default();
            format!("{} long", text(libm::hypot(to[0] - from[0], to[1] - from[1])))
        }
        (ObstacleShape::Tree(tree), _) => format!("{} radius", text(tree.radius_m)),
        (_, rectangle) => {
            let size = rectangle.map_or([0.0; 2], |(_, size, _)| size);
            format!("{} × {}", text(size[0]), text(size[1]))
        }
    }
}

/// A part with its place, as a screen reader says it: "Gate 3, 12 metres east, 4.5 metres north, heading 90 degrees".
pub fn spoken(plan: &Plan, part: Part, units: DisplayUnits) -> String {
    let name = name(plan, part);
    let Some(pose) = pose(plan, part) else { return name };
    let unit = Measure::Length.spoken_unit(units);
    let [east, north] = pose.place_m.map(|metres| Measure::Length.field_text(metres, units));
    let turn = pose.turn_deg.map_or_else(String::new, |turn| {
        let word = match part {
            Part::Seat(_) => "facing",
            Part::Obstacle(_) => "turned",
            _ => "heading",
        };
        format!(", {word} {} degrees", Measure::Angle.field_text(turn, units))
    });
    let has_frame = |gate: usize| plan.course.gates.get(gate).is_some_and(|gate| gate.frame.is_some());
    let frame = if matches!(part, Part::Gate(gate) if has_frame(gate)) { ", metal frame" } else { "" };
    format!("{name}, {east} {unit} east, {north} {unit} north{turn}{frame}")
}

/// What moving or turning a part is called in the list of steps: "Gate 3 moved".
pub fn done(plan: &Plan, part: Part, what: &str) -> String {
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
        for part in Part::all(&plan) {
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
        let [east, north] = pose(&plan, Part::Seat(1)).expect("the demo has it").place_m;
        let found = under(&plan, &frame, frame.place(east, north), 30.0);
        assert!(found.starts_with(&[Part::Seat(0), Part::Seat(1), Part::Seat(2)]), "{found:?}");
        assert!(matches!(found[3..], [Part::Obstacle(_)]), "{found:?}");
        assert_eq!(under(&plan, &frame, frame.place(23.0, 20.0), 12.0), []);
    }

    #[test]
    fn a_new_part_is_picked_and_a_deletion_says_what_goes_elsewhere() {
        let plan = demo();
        let [_, Action::Select(picked)] = addition(crate::plan::fresh::part(&plan, Kind::Wall, [5.0, 5.0], None))
        else {
            panic!("a new part is picked")
        };
        assert_eq!(picked, Some(Part::Obstacle(plan.site.obstacles.len())));
        let Some(Action::Edit { label, .. }) = deletion(&plan, Part::Seat(0)) else { panic!("seats can go") };
        assert_eq!(label, "Pilots' bench, left deleted: Goggles 1 goes to Pilots' bench, middle");
        assert_eq!(deletion(&plan, Part::Pad), None);
    }

    #[test]
    fn headings_stay_within_a_turn() {
        let plan = demo();
        for (to, heading) in [(365.0, 5.0), (-5.0, 355.0), (359.96, 0.0), (90.04, 90.0)] {
            let Some(Edit::Part(PlacedPart::Gate(0, gate))) = turned(&plan, Part::Gate(0), to) else {
                panic!("a gate turns")
            };
            assert_eq!(gate.heading_deg, heading);
        }
    }

    #[test]
    fn nothing_leaves_the_site_or_exists_twice() {
        let plan = demo();
        let Some(Edit::Part(PlacedPart::Pad(pad))) = moved(&plan, Part::Pad, [-3.0, 1e9]) else {
            panic!("a pad moves")
        };
        assert_eq!([pad.x_m, pad.y_m], [0.0, plan.site.depth_m]);
        assert_eq!(moved(&plan, Part::Gate(99), [1.0, 1.0]), None);
        assert_eq!(pose(&plan, Part::Seat(99)), None);
    }

    #[test]
    fn a_part_is_said_with_place_and_heading() {
        let mut plan = demo();
        let gate = &mut plan.course.gates[2];
        (gate.name, gate.x_m, gate.y_m, gate.heading_deg) = ("Gate 3".into(), 12.0, 4.5, 90.0);
        let said = spoken(&plan, Part::Gate(2), DisplayUnits::default());
        assert_eq!(said, "Gate 3, 12 metres east, 4.5 metres north, heading 90 degrees");
    }
}
