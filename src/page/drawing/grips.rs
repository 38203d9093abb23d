//! What of a part can be taken hold of, where on the drawing, and what a drag of it makes of the plan.

use crate::plan::document::{ObstacleShape, Plan};
use crate::plan::edit::Edit;
use crate::plan::part::{Part, PlacedPart};

use super::frame::{Frame, heading_deg};
use super::marks::along;
use super::part;
use super::path_text::Point;
use super::snap::{Rest, Rested};

/// Least distance of the turning knob from its part's centre, in pixels.
const KNOB: f64 = 40.0;
/// The knob's distance from the edge of a larger part, and that of a corner's grip from the corner: a finger on it leaves
/// the middle of the part free.
const OUT: f64 = 26.0;
const CORNER_OUT: f64 = 13.0;

/// What a handle does to its part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Grip {
    /// Moves it.
    Move,
    /// Turns it.
    Turn,
    /// Moves one of its corners or ends.
    Corner(usize),
}

/// A grip of the picked part on the drawing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlacedGrip {
    /// What it does.
    pub grip: Grip,
    /// Where it is.
    pub place: Point,
    /// Where what it moves is.
    pub foot: Point,
}

/// The grips by which a picked part is turned and resized.
pub fn grips(plan: &Plan, part: Part, frame: &Frame) -> Vec<PlacedGrip> {
    let Some(placed) = PlacedPart::of(plan, part) else { return Vec::new() };
    let pose = placed.pose();
    let on_drawing = |[east, north]: [f64; 2]| frame.place(east, north);
    let centre = on_drawing(pose.place_m);
    let corners: Vec<Point> =
        placed.shape().map_or_else(Vec::new, ObstacleShape::corners_m).into_iter().map(on_drawing).collect();
    let mut grips: Vec<PlacedGrip> = corners
        .iter()
        .enumerate()
        .map(|(index, &foot)| {
            let outward = heading_deg([foot[0] - centre[0], foot[1] - centre[1]]);
            PlacedGrip { grip: Grip::Corner(index), place: along(foot, outward, CORNER_OUT), foot }
        })
        .collect();
    if let Some(turn) = pose.turn_deg {
        let way = along([0.0; 2], turn, 1.0);
        let reach = corners.iter().map(|corner| (corner[0] - centre[0]) * way[0] + (corner[1] - centre[1]) * way[1]);
        // A wall's knob stands beside it, as its end has a grip already.
        let is_wall = corners.len() == 2;
        let turn = if is_wall { turn - 90.0 } else { turn };
        let distance = if is_wall { KNOB } else { reach.fold(KNOB - OUT, f64::max) + OUT };
        grips.push(PlacedGrip {
            grip: Grip::Turn,
            place: along(centre, turn, distance),
            foot: along(centre, turn, 14.0),
        });
    }
    grips
}

/// Where a drag moves what is held, in metres on the site, before anything comes to rest: the foot of the grip when it
/// was taken, and by how much the pointer has moved since.
pub fn held_m(frame: &Frame, foot: Point, [right, down]: Point) -> [f64; 2] {
    frame.site_point([foot[0] + right, foot[1] + down])
}

/// The edit that a drag makes of the plan as it was before, and where the part came to rest. Without `rest`, it goes
/// exactly where it is held.
pub fn dragged(before: &Plan, part: Part, grip: Grip, to_m: [f64; 2], rest: Option<&Rest>) -> Option<(Edit, Rested)> {
    let free = Rested { place_m: to_m, lines: [None; 2] };
    let placed = PlacedPart::of(before, part)?;
    let (pose, shape) = (placed.pose(), placed.shape());
    Some(match grip {
        Grip::Move => {
            let corners = shape.map_or_else(Vec::new, ObstacleShape::corners_m);
            let offset = |corner: [f64; 2]| [corner[0] - pose.place_m[0], corner[1] - pose.place_m[1]];
            let points: Vec<[f64; 2]> = std::iter::once([0.0; 2]).chain(corners.into_iter().map(offset)).collect();
            let rested = rest.map_or(free, |rest| rest.place(to_m, &points));
            (part::moved(before, part, rested.place_m)?, rested)
        }
        Grip::Corner(corner) => {
            let corners = shape?.corners_m();
            let rested = match (rest, &corners[..]) {
                (Some(rest), [from, to]) => rest.end(if corner == 0 { *to } else { *from }, to_m),
                (Some(rest), _) => rest.place(to_m, &[[0.0; 2]]),
                (None, _) => free,
            };
            (part::pulled(before, part, corner, rested.place_m)?, rested)
        }
        Grip::Turn => {
            let [east, north] = [to_m[0] - pose.place_m[0], to_m[1] - pose.place_m[1]];
            // A wall or barrier is turned by a knob at its left side.
            let beside = if shape.is_some_and(|shape| shape.ends_m().is_some()) { 90.0 } else { 0.0 };
            let heading = libm::atan2(east, north).to_degrees() + beside;
            (part::turned(before, part, rest.map_or(heading, |rest| rest.turn(heading)))?, free)
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::format::DisplayUnits;
    use crate::plan::demo::demo;
    use crate::plan::edit::apply;

    fn frame() -> Frame {
        Frame::fit(860.0, 600.0, 44.0, 28.0)
    }

    /// Number of the barrier, a wall, and of the bread stall among the demo's obstacles.
    const WALL: Part = Part::Obstacle(7);
    const STALL: Part = Part::Obstacle(2);

    #[test]
    fn grips_keep_apart_from_each_other_and_from_the_middle() {
        let plan = demo();
        for part in Part::all(&plan) {
            let pose = part::pose(&plan, part).expect("the demo has the part");
            let centre = frame().place(pose.place_m[0], pose.place_m[1]);
            let places: Vec<Point> = grips(&plan, part, &frame()).iter().map(|grip| grip.place).collect();
            for (index, one) in places.iter().enumerate() {
                for other in places[index + 1..].iter().chain([&centre]) {
                    let apart = libm::hypot(one[0] - other[0], one[1] - other[1]);
                    assert!(apart > 24.0, "{part:?}: {apart} pixels");
                }
            }
        }
        assert_eq!(grips(&plan, Part::Gate(0), &frame()).len(), 1);
        assert_eq!(grips(&plan, STALL, &frame()).len(), 5);
        assert_eq!(grips(&plan, WALL, &frame()).len(), 3);
    }

    #[test]
    fn a_held_knob_leaves_a_part_as_it_is_until_it_moves() {
        let plan = demo();
        for part in [WALL, STALL, Part::Gate(2), Part::Seat(1), Part::Pad] {
            for grip in grips(&plan, part, &frame()) {
                let to = match grip.grip {
                    Grip::Turn => frame().site_point(grip.place),
                    _ => held_m(&frame(), grip.foot, [0.0; 2]),
                };
                let (edit, _) = dragged(&plan, part, grip.grip, to, None).expect("the demo has the part");
                assert_eq!(apply(&plan, &edit), Ok(plan.clone()), "{part:?} {grip:?}");
            }
        }
    }

    #[test]
    fn a_corner_comes_to_rest_in_line_with_the_stall_next_to_it() {
        let plan = demo();
        let rest = Rest::of(&plan, Some(STALL), DisplayUnits::default(), frame().scale);
        // The herb stall's east side is at 14.4.
        let (edit, rested) =
            dragged(&plan, STALL, Grip::Corner(1), [14.3, 15.6], Some(&rest)).expect("a stall has corners");
        assert_eq!(rested.lines[0], Some(14.4));
        let changed = apply(&plan, &edit).unwrap();
        let corner = changed.site.obstacles[2].shape.corners_m()[1];
        assert!((corner[0] - 14.4).abs() < 0.011, "{corner:?}");
        assert_eq!(dragged(&plan, Part::Gate(0), Grip::Corner(0), [1.0, 1.0], None), None);
    }
}
