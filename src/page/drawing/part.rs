//! A picked part of the plan as a thing that can be moved, turned and named.

use crate::page::format::{DisplayUnits, Measure};
use crate::page::state::Selection;
use crate::plan::document::{ObstacleShape, Plan};
use crate::plan::edit::Edit;

use super::outline::centre_m;

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
            let turn_deg = match shape {
                ObstacleShape::Wall(wall) => {
                    let [east, north] = [wall.to_m[0] - wall.from_m[0], wall.to_m[1] - wall.from_m[1]];
                    Some(libm::atan2(east, north).to_degrees())
                }
                ObstacleShape::Building(block) | ObstacleShape::Stall(block) => Some(block.turn_deg),
                ObstacleShape::Canopy(canopy) => Some(canopy.turn_deg),
                ObstacleShape::Tree(_) => None,
                ObstacleShape::Crowd(crowd) => Some(crowd.turn_deg),
            };
            Some(Pose { place_m: centre_m(shape), turn_deg })
        }
        Selection::Pad => {
            let pad = &plan.course.pad;
            Some(Pose { place_m: [pad.x_m, pad.y_m], turn_deg: Some(pad.heading_deg) })
        }
    }
}

/// The edit that puts a part at a place, `[east, north]` in metres: held within the site and rounded to a centimetre.
pub fn moved(plan: &Plan, part: Selection, to_m: [f64; 2]) -> Option<Edit> {
    let place =
        [centimetres(to_m[0].clamp(0.0, plan.site.width_m)), centimetres(to_m[1].clamp(0.0, plan.site.depth_m))];
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
            match &mut obstacle.shape {
                ObstacleShape::Wall(wall) => {
                    let middle = [(wall.from_m[0] + wall.to_m[0]) / 2.0, (wall.from_m[1] + wall.to_m[1]) / 2.0];
                    for axis in 0..2 {
                        let shift = place[axis] - middle[axis];
                        wall.from_m[axis] = centimetres(wall.from_m[axis] + shift);
                        wall.to_m[axis] = centimetres(wall.to_m[axis] + shift);
                    }
                }
                ObstacleShape::Building(block) | ObstacleShape::Stall(block) => block.centre_m = place,
                ObstacleShape::Canopy(canopy) => canopy.centre_m = place,
                ObstacleShape::Tree(tree) => tree.centre_m = place,
                ObstacleShape::Crowd(crowd) => crowd.centre_m = place,
            }
            Some(Edit::Obstacle(index, obstacle))
        }
    }
}

/// The edit that turns a part to a heading, clockwise from north, rounded to a tenth of a degree; `None` for what has no
/// heading.
pub fn turned(plan: &Plan, part: Selection, to_deg: f64) -> Option<Edit> {
    let heading = (to_deg.rem_euclid(360.0) * 10.0).round() / 10.0 % 360.0;
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
            match &mut obstacle.shape {
                ObstacleShape::Wall(wall) => {
                    let middle = [(wall.from_m[0] + wall.to_m[0]) / 2.0, (wall.from_m[1] + wall.to_m[1]) / 2.0];
                    let half = libm::hypot(wall.to_m[0] - wall.from_m[0], wall.to_m[1] - wall.from_m[1]) / 2.0;
                    let (sine, cosine) = libm::sincos(heading.to_radians());
                    wall.from_m = [centimetres(middle[0] - half * sine), centimetres(middle[1] - half * cosine)];
                    wall.to_m = [centimetres(middle[0] + half * sine), centimetres(middle[1] + half * cosine)];
                }
                ObstacleShape::Building(block) | ObstacleShape::Stall(block) => block.turn_deg = heading,
                ObstacleShape::Canopy(canopy) => canopy.turn_deg = heading,
                ObstacleShape::Tree(_) => return None,
                ObstacleShape::Crowd(crowd) => crowd.turn_deg = heading,
            }
            Some(Edit::Obstacle(index, obstacle))
        }
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
            let text = crate::page::wording::gate(&plan.course.gates, index);
            let mut letters = text.chars();
            letters
                .next()
                .map_or_else(String::new, |first| std::iter::once(first.to_ascii_uppercase()).chain(letters).collect())
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
        Some(turn) => format!("{east} E, {north} N, {}", Measure::Angle.text(turn, units)),
        None => format!("{east} E, {north} N"),
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

fn centimetres(metres: f64) -> f64 {
    (metres * 100.0).round() / 100.0 + 0.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::demo::demo;
    use crate::plan::edit::apply;

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
    fn a_wall_keeps_its_length_when_it_is_turned() {
        use crate::plan::document::WallShape;
        use crate::rf::material::Material;
        let mut plan = demo();
        plan.site.obstacles[0].shape = ObstacleShape::Wall(WallShape {
            from_m: [10.0, 10.0],
            to_m: [10.0, 16.0],
            height_m: 2.0,
            thickness_m: 0.1,
            material: Material::Wood,
        });
        let Some(Edit::Obstacle(0, turned)) = turned(&plan, Selection::Obstacle(0), 90.0) else {
            panic!("a wall turns")
        };
        let ObstacleShape::Wall(wall) = turned.shape else { panic!("it stays a wall") };
        assert_eq!((wall.from_m, wall.to_m), ([7.0, 13.0], [13.0, 13.0]));
        assert_eq!(pose(&plan, Selection::Obstacle(0)).and_then(|pose| pose.turn_deg), Some(0.0));
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
