//! The parts that stand on a site: gates, seats, obstacles and the start pad, each with what the plan says of it.

use super::document::{Gate, Obstacle, ObstacleShape, Pad, Plan, Seat};

/// A part that stands on the site. Numbers are positions in the plan's lists.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Part {
    /// A gate.
    Gate(usize),
    /// A seat.
    Seat(usize),
    /// An obstacle.
    Obstacle(usize),
    /// The start pad, of which there is always one.
    Pad,
}

impl Part {
    /// Every part of a plan: gates in flight order, the pad, seats, obstacles.
    pub fn all(plan: &Plan) -> Vec<Self> {
        let gates = (0..plan.course.gates.len()).map(Self::Gate);
        let seats = (0..plan.seats.len()).map(Self::Seat);
        let obstacles = (0..plan.site.obstacles.len()).map(Self::Obstacle);
        gates.chain([Self::Pad]).chain(seats).chain(obstacles).collect()
    }

    /// Its list in a plan: the path, its position there, and how long the list is. `None` for the pad, which is in none.
    pub fn listed(self, plan: &Plan) -> Option<(&'static str, usize, usize)> {
        match self {
            Self::Gate(index) => Some(("course.gates", index, plan.course.gates.len())),
            Self::Seat(index) => Some(("seats", index, plan.seats.len())),
            Self::Obstacle(index) => Some(("site.obstacles", index, plan.site.obstacles.len())),
            Self::Pad => None,
        }
    }

    /// The part that a path of the document leads to or into: `course.gates[2].x_m`.
    pub fn at_path(path: &str) -> Option<Self> {
        if path.starts_with("course.pad") {
            return Some(Self::Pad);
        }
        let (list, rest) = path.split_once('[')?;
        let index = rest.split_once(']')?.0.parse().ok()?;
        match list {
            "course.gates" => Some(Self::Gate(index)),
            "seats" => Some(Self::Seat(index)),
            "site.obstacles" => Some(Self::Obstacle(index)),
            _ => None,
        }
    }

    /// Whether a plan has it.
    pub fn is_in(self, plan: &Plan) -> bool {
        self.listed(plan).is_none_or(|(_, index, count)| index < count)
    }
}

/// Where a part is and which way it looks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PartPose {
    /// East and north of the site's south-west corner, in metres.
    pub place_m: [f64; 2],
    /// Heading, facing or turn, in degrees clockwise from north; `None` for what has none.
    pub turn_deg: Option<f64>,
}

/// A part with everything that the plan says of it, and its position in the plan's list.
#[derive(Clone, Debug, PartialEq)]
pub enum PlacedPart {
    /// A gate; its position is that in the flight order.
    Gate(usize, Gate),
    /// A seat.
    Seat(usize, Seat),
    /// An obstacle.
    Obstacle(usize, Obstacle),
    /// The start pad.
    Pad(Pad),
}

impl PlacedPart {
    /// A part as it stands in a plan; `None` if the plan does not have it.
    pub fn of(plan: &Plan, part: Part) -> Option<Self> {
        Some(match part {
            Part::Gate(index) => Self::Gate(index, plan.course.gates.get(index)?.clone()),
            Part::Seat(index) => Self::Seat(index, plan.seats.get(index)?.clone()),
            Part::Obstacle(index) => Self::Obstacle(index, plan.site.obstacles.get(index)?.clone()),
            Part::Pad => Self::Pad(plan.course.pad.clone()),
        })
    }

    /// Which part it is.
    pub fn part(&self) -> Part {
        match *self {
            Self::Gate(index, _) => Part::Gate(index),
            Self::Seat(index, _) => Part::Seat(index),
            Self::Obstacle(index, _) => Part::Obstacle(index),
            Self::Pad(_) => Part::Pad,
        }
    }

    /// Its name; that of the pad is always the same.
    pub fn name(&self) -> &str {
        match self {
            Self::Gate(_, gate) => &gate.name,
            Self::Seat(_, seat) => &seat.name,
            Self::Obstacle(_, obstacle) => &obstacle.name,
            Self::Pad(_) => "Start pad",
        }
    }

    /// Its name, to be changed; `None` for the pad.
    pub fn name_mut(&mut self) -> Option<&mut String> {
        match self {
            Self::Gate(_, gate) => Some(&mut gate.name),
            Self::Seat(_, seat) => Some(&mut seat.name),
            Self::Obstacle(_, obstacle) => Some(&mut obstacle.name),
            Self::Pad(_) => None,
        }
    }

    /// The shape of an obstacle; `None` for what has no extent.
    pub fn shape(&self) -> Option<&ObstacleShape> {
        if let Self::Obstacle(_, obstacle) = self { Some(&obstacle.shape) } else { None }
    }

    /// The same, to be changed.
    pub fn shape_mut(&mut self) -> Option<&mut ObstacleShape> {
        if let Self::Obstacle(_, obstacle) = self { Some(&mut obstacle.shape) } else { None }
    }

    /// East, north, height (metres) and heading or facing (degrees) of what has no extent, to be changed; `None` for
    /// obstacles.
    pub fn point_mut(&mut self) -> Option<[&mut f64; 4]> {
        match self {
            Self::Gate(_, gate) => Some([&mut gate.x_m, &mut gate.y_m, &mut gate.height_m, &mut gate.heading_deg]),
            Self::Seat(_, seat) => Some([&mut seat.x_m, &mut seat.y_m, &mut seat.height_m, &mut seat.facing_deg]),
            Self::Pad(pad) => Some([&mut pad.x_m, &mut pad.y_m, &mut pad.height_m, &mut pad.heading_deg]),
            Self::Obstacle(..) => None,
        }
    }

    /// Where it is and which way it looks.
    pub fn pose(&self) -> PartPose {
        let (place_m, turn_deg) = match self {
            Self::Gate(_, gate) => ([gate.x_m, gate.y_m], Some(gate.heading_deg)),
            Self::Seat(_, seat) => ([seat.x_m, seat.y_m], Some(seat.facing_deg)),
            Self::Pad(pad) => ([pad.x_m, pad.y_m], Some(pad.heading_deg)),
            Self::Obstacle(_, obstacle) => (obstacle.shape.centre_m(), obstacle.shape.turn_deg()),
        };
        PartPose { place_m, turn_deg }
    }

    /// Puts it, or its centre, somewhere else.
    pub fn put(&mut self, place_m: [f64; 2]) {
        if let Some([east, north, ..]) = self.point_mut() {
            [*east, *north] = place_m;
        } else if let Some(shape) = self.shape_mut() {
            shape.put(place_m);
        }
    }

    /// Turns it, clockwise from north; a tree stays as it is.
    pub fn turn(&mut self, turn_deg: f64) {
        if let Some([.., turn]) = self.point_mut() {
            *turn = turn_deg;
        } else if let Some(shape) = self.shape_mut() {
            shape.turn(turn_deg);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::demo::demo;

    #[test]
    fn every_part_of_a_plan_is_found_and_nothing_beyond_its_lists() {
        let plan = demo();
        let parts = Part::all(&plan);
        assert_eq!(parts.len(), plan.course.gates.len() + 1 + plan.seats.len() + plan.site.obstacles.len());
        for part in parts {
            assert!(part.is_in(&plan));
            assert_eq!(PlacedPart::of(&plan, part).map(|placed| placed.part()), Some(part));
        }
        let beyond = [
            Part::Gate(plan.course.gates.len()),
            Part::Seat(plan.seats.len()),
            Part::Obstacle(plan.site.obstacles.len()),
        ];
        for part in beyond {
            assert!(!part.is_in(&plan) && PlacedPart::of(&plan, part).is_none(), "{part:?}");
        }
    }

    #[test]
    fn a_path_leads_to_its_part() {
        assert_eq!(Part::at_path("course.gates[2].x_m"), Some(Part::Gate(2)));
        assert_eq!(Part::at_path("seats[11]"), Some(Part::Seat(11)));
        assert_eq!(Part::at_path("site.obstacles[0].shape.wall.to_m"), Some(Part::Obstacle(0)));
        assert_eq!(Part::at_path("course.pad"), Some(Part::Pad));
        for elsewhere in ["", "course.step_m", "entries[0].name", "seats[x]", "seats["] {
            assert_eq!(Part::at_path(elsewhere), None, "{elsewhere}");
        }
    }

    #[test]
    fn a_part_goes_and_turns_where_it_is_told_to() {
        let plan = demo();
        for part in Part::all(&plan) {
            let mut placed = PlacedPart::of(&plan, part).expect("the demo has the part");
            let turns = placed.pose().turn_deg.is_some();
            placed.put([12.0, 7.0]);
            placed.turn(90.0);
            let PartPose { place_m, turn_deg } = placed.pose();
            // The ends of a wall lie on whole millimetres, its middle between them.
            assert!((place_m[0] - 12.0).abs() < 0.006 && (place_m[1] - 7.0).abs() < 0.006, "{part:?} {place_m:?}");
            assert_eq!(turn_deg.is_some(), turns);
            assert!(turn_deg.is_none_or(|turn| (turn - 90.0).abs() < 0.1), "{part:?} {turn_deg:?}");
            assert_eq!(placed.point_mut().is_some(), placed.shape().is_none());
        }
    }
}
