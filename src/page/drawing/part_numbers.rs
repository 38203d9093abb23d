//! The numbers of a part that can be typed: what each is called, its range, and where in the part it is.

use crate::format::Measure;
use crate::plan::document::{CrowdShape, GateFrame, ObstacleShape, Plan, TreeShape};
use crate::plan::limits::{self, Range};
use crate::plan::part::PlacedPart;
use crate::plan::shape::hundredths;

/// Where in a part a number is; `None` in parts that do not have it.
type At = fn(&mut PlacedPart) -> Option<&mut f64>;

/// A number of a part.
pub struct Number {
    /// Id of its field, unique among those of one part.
    pub id: &'static str,
    /// Its label.
    pub label: &'static str,
    /// What is measured.
    pub measure: Measure,
    /// What is allowed.
    pub range: Range,
    /// What a change of it does to the part, as the end of a sentence: "moved".
    pub done: &'static str,
    at: At,
}

impl Number {
    /// Its value in a part; `None` if the part does not have it.
    pub fn value(&self, part: &PlacedPart) -> Option<f64> {
        (self.at)(&mut part.clone()).copied()
    }

    /// Puts another value into a part. The centre of an obstacle comes to whole centimetres.
    pub fn set(&self, part: &mut PlacedPart, value: f64) {
        let is_centre = part.shape().is_some() && matches!(self.id, "east" | "north");
        if let Some(number) = (self.at)(part) {
            *number = if is_centre { hundredths(value) } else { value };
        }
    }
}

/// Every number of a part, in the order of its form.
pub fn numbers(plan: &Plan, part: &PlacedPart) -> Vec<Number> {
    let mut list = match part {
        PlacedPart::Gate(..) => {
            let height = ("Height of its centre", Measure::Length, limits::GATE_HEIGHT_M);
            let mut list = point(plan, height, "Flown toward, clockwise from north");
            list.extend(of_frames());
            list
        }
        PlacedPart::Seat(..) => {
            let height = ("Height of the receiving antennas", Measure::Length, limits::SEAT_HEIGHT_M);
            point(plan, height, "Facing, clockwise from north")
        }
        PlacedPart::Pad(_) => {
            let height = ("Height of the aircraft’s antenna", Measure::FineLength, limits::PAD_HEIGHT_M);
            point(plan, height, "Start heading, clockwise from north")
        }
        PlacedPart::Obstacle(..) => of_obstacles(plan),
    };
    list.retain(|number| number.value(part).is_some());
    list
}

/// The numbers of what has no extent.
fn point(plan: &Plan, height: (&'static str, Measure, Range), heading: &'static str) -> Vec<Number> {
    let on_site = |extent_m| Range { min: 0.0, max: extent_m, unit: "m" };
    let number = |id, (label, measure, range), done, at: At| Number { id, label, measure, range, done, at };
    let [east, north] = [on_site(plan.site.width_m), on_site(plan.site.depth_m)];
    vec![
        number("east", ("East", Measure::Length, east), "moved", |part| part.point_mut().map(|[east, ..]| east)),
        number("north", ("North", Measure::Length, north), "moved", |part| {
            part.point_mut().map(|[_, north, ..]| north)
        }),
        number("height", height, "raised or lowered", |part| part.point_mut().map(|[_, _, height, _]| height)),
        number("heading", (heading, Measure::Angle, limits::TURN_DEG), "turned", |part| {
            part.point_mut().map(|[.., turn]| turn)
        }),
    ]
}

/// The numbers of a gate's frame.
fn of_frames() -> [Number; 3] {
    let number = |id, label, measure, range, at: At| Number { id, label, measure, range, done: "changed", at };
    let (opening, tube) = (limits::GATE_OPENING_M, limits::FRAME_TUBE_M);
    [
        number("opening-width", "Width of the opening", Measure::Length, opening, |part| {
            Some(&mut frame(part)?.opening_m[0])
        }),
        number("opening-height", "Height of the opening", Measure::Length, opening, |part| {
            Some(&mut frame(part)?.opening_m[1])
        }),
        number("tube", "Width of the tubes", Measure::FineLength, tube, |part| Some(&mut frame(part)?.tube_m)),
    ]
}

fn frame(part: &mut PlacedPart) -> Option<&mut GateFrame> {
    if let PlacedPart::Gate(_, gate) = part { gate.frame.as_mut() } else { None }
}

/// The numbers of all kinds of obstacle.
fn of_obstacles(plan: &Plan) -> Vec<Number> {
    // Obstacles may stand beyond the border.
    let near_site =
        |extent_m| Range { min: -limits::OBSTACLE_BEYOND_M, max: extent_m + limits::OBSTACLE_BEYOND_M, unit: "m" };
    let number = |id, label, measure, range, at: At| Number { id, label, measure, range, done: "changed", at };
    let length = |id, label, range, at: At| number(id, label, Measure::Length, range, at);
    let [east, north] = [near_site(plan.site.width_m), near_site(plan.site.depth_m)];
    let (side, base) = (limits::OBSTACLE_SIDE_M, limits::BASE_HEIGHT_M);
    let turn = ("turn", "Turned clockwise", Measure::Angle, limits::TURN_DEG);
    let thickness = ("thickness", "Thickness of the wall", Measure::FineLength, limits::WALL_THICKNESS_M);
    let loss = ("loss", "Loss in the crown", Measure::Attenuation, limits::CROWN_LOSS_DB_PER_M);
    let covered = ("covered", "Covered by its bars", Measure::Share, limits::COVERED_SHARE);
    let density = ("density", "People", Measure::Density, limits::CROWD_DENSITY_PER_M2);
    vec![
        length("from-east", "One end, east", east, |part| Some(&mut ends(part)?[0][0])),
        length("from-north", "One end, north", north, |part| Some(&mut ends(part)?[0][1])),
        length("to-east", "Other end, east", east, |part| Some(&mut ends(part)?[1][0])),
        length("to-north", "Other end, north", north, |part| Some(&mut ends(part)?[1][1])),
        length("east", "Centre, east", east, |part| Some(&mut part.shape_mut()?.centre_mut()?[0])),
        length("north", "Centre, north", north, |part| Some(&mut part.shape_mut()?.centre_mut()?[1])),
        length("width", "Side along east", side, |part| Some(&mut part.shape_mut()?.rectangle_mut()?.1[0])),
        length("depth", "Side along north", side, |part| Some(&mut part.shape_mut()?.rectangle_mut()?.1[1])),
        number(turn.0, turn.1, turn.2, turn.3, |part| Some(part.shape_mut()?.rectangle_mut()?.2)),
        length("radius", "Radius of the crown", limits::CROWN_RADIUS_M, |part| Some(&mut tree(part)?.radius_m)),
        length("base", "Height where the crown begins", base, |part| Some(&mut tree(part)?.base_m)),
        length("base", "Lower edge of the fabric", base, |part| match part.shape_mut()? {
            ObstacleShape::Canopy(canopy) => Some(&mut canopy.base_m),
            _ => None,
        }),
        length("top", "Height", limits::OBSTACLE_HEIGHT_M, |part| part.shape_mut()?.height_mut()),
        number(thickness.0, thickness.1, thickness.2, thickness.3, |part| Some(part.shape_mut()?.walls_mut()?.1)),
        number(loss.0, loss.1, loss.2, loss.3, |part| Some(&mut tree(part)?.loss_db_per_m)),
        number(covered.0, covered.1, covered.2, covered.3, |part| match part.shape_mut()? {
            ObstacleShape::Barrier(barrier) => Some(&mut barrier.covered_share),
            _ => None,
        }),
        length("heads", "Height of the heads", limits::HEAD_HEIGHT_M, |part| Some(&mut crowd(part)?.head_height_m)),
        number(density.0, density.1, density.2, density.3, |part| Some(&mut crowd(part)?.density_per_m2)),
    ]
}

fn ends(part: &mut PlacedPart) -> Option<[&mut [f64; 2]; 2]> {
    part.shape_mut()?.ends_mut()
}

fn tree(part: &mut PlacedPart) -> Option<&mut TreeShape> {
    if let ObstacleShape::Tree(tree) = part.shape_mut()? { Some(tree) } else { None }
}

fn crowd(part: &mut PlacedPart) -> Option<&mut CrowdShape> {
    if let ObstacleShape::Crowd(crowd) = part.shape_mut()? { Some(crowd) } else { None }
}

#[cfg(test)]
mod tests {
    use std::collections::{BTreeMap, BTreeSet};

    use super::*;
    use crate::plan::demo::demo;
    use crate::plan::fresh::{self, Kind};
    use crate::plan::part::Part;

    /// One part of every kind, by the name of the kind.
    fn kinds(plan: &Plan) -> BTreeMap<&'static str, PlacedPart> {
        let fresh = Kind::ALL.into_iter().map(|kind| (kind.name(), fresh::part(plan, kind, [6.0, 5.5], None)));
        let mut framed = fresh::part(plan, Kind::Gate, [6.0, 5.5], None);
        if let PlacedPart::Gate(_, gate) = &mut framed {
            gate.frame = Some(fresh::FRAME);
        }
        let pad = PlacedPart::of(plan, Part::Pad).expect("there is always a pad");
        fresh.chain([("Framed gate", framed), ("Pad", pad)]).collect()
    }

    #[test]
    fn every_kind_of_part_has_its_numbers() {
        let plan = demo();
        let block = ["east", "north", "width", "depth", "turn", "top", "thickness"];
        let point = ["east", "north", "height", "heading"];
        for (kind, part) in kinds(&plan) {
            let ids: Vec<&str> = numbers(&plan, &part).iter().map(|number| number.id).collect();
            let expected: &[&str] = match kind {
                "Wall" => &["from-east", "from-north", "to-east", "to-north", "top", "thickness"],
                "Barrier" => &["from-east", "from-north", "to-east", "to-north", "top", "covered"],
                "Framed gate" => &["east", "north", "height", "heading", "opening-width", "opening-height", "tube"],
                "Building" | "Stall" => &block,
                "Canopy" => &["east", "north", "width", "depth", "turn", "base", "top"],
                "Tree" => &["east", "north", "radius", "base", "top", "loss"],
                "Crowd" => &["east", "north", "width", "depth", "turn", "heads", "density"],
                _ => &point,
            };
            assert_eq!(ids, expected, "{kind}");
        }
    }

    #[test]
    fn a_number_that_is_set_is_set_and_no_other() {
        let plan = demo();
        for (kind, part) in kinds(&plan) {
            let numbers = numbers(&plan, &part);
            let labels: BTreeSet<&str> = numbers.iter().map(|number| number.label).collect();
            assert_eq!(labels.len(), numbers.len(), "{kind}");
            for (index, number) in numbers.iter().enumerate() {
                let value = (number.range.min + number.range.max) / 2.0;
                let mut changed = part.clone();
                number.set(&mut changed, value);
                for (other_index, other) in numbers.iter().enumerate() {
                    let expected = if other_index == index { Some(value) } else { other.value(&part) };
                    let got = other.value(&changed);
                    let near = got.zip(expected).is_some_and(|(got, expected)| (got - expected).abs() < 0.006);
                    assert!(near, "{kind}: {} after {} was set", other.id, number.id);
                }
            }
        }
    }
}
