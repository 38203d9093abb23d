//! Where a dragged part comes to rest by itself: on the grid, in line with what is there already, at right angles to it.

use crate::format::{DisplayUnits, LengthUnit};
use crate::plan::document::Plan;
use crate::plan::layout::heading;
use crate::plan::part::{Part, PlacedPart};

/// How near to a line a part must come to be drawn to it, in pixels.
const REACH: f64 = 7.0;
/// How near to a direction, in degrees.
const REACH_DEG: f64 = 4.0;
/// Headings that a part turns to by itself are multiples of this, in degrees.
const TURN_STEP_DEG: f64 = 15.0;

/// The grid of a drawing: half a metre, or a foot.
pub fn grid_m(units: DisplayUnits) -> f64 {
    match units.length {
        LengthUnit::Metres => 0.5,
        LengthUnit::Feet => 0.3048,
    }
}

/// What there is to come to rest at.
#[derive(Clone, Debug, PartialEq)]
pub struct Rest {
    /// Lines east of the south-west corner, and lines north of it, in metres.
    lines: [Vec<f64>; 2],
    /// Directions of walls and sides, in degrees; right angles to them count too.
    turns: Vec<f64>,
    grid_m: f64,
    reach_m: f64,
}

/// A place with the lines to which it was drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rested {
    /// East and north, in metres.
    pub place_m: [f64; 2],
    /// The line east and the line north on which it came to rest, if any.
    pub lines: [Option<f64>; 2],
}

impl Rest {
    /// The grid, the borders, and the edges and centres of all parts but one.
    pub fn of(plan: &Plan, without: Option<Part>, units: DisplayUnits, pixels_per_metre: f64) -> Self {
        let mut lines = [vec![0.0, plan.site.width_m], vec![0.0, plan.site.depth_m]];
        let mut turns = vec![0.0];
        let mut take = |point: [f64; 2]| (0..2).for_each(|axis| lines[axis].push(point[axis]));
        for other in Part::all(plan).into_iter().filter(|other| Some(*other) != without) {
            let Some(placed) = PlacedPart::of(plan, other) else { continue };
            match placed.shape() {
                Some(shape) => {
                    shape.corners_m().into_iter().for_each(&mut take);
                    turns.extend(shape.turn_deg());
                }
                None => take(placed.pose().place_m),
            }
        }
        Self { lines, turns, grid_m: grid_m(units), reach_m: REACH / pixels_per_metre }
    }

    /// Where a part with these points, as offsets from its place in metres, comes to rest near a place: one of its points
    /// on a line nearby, otherwise its place on the grid.
    pub fn place(&self, place_m: [f64; 2], points_m: &[[f64; 2]]) -> Rested {
        let mut rested = Rested { place_m, lines: [None; 2] };
        for axis in 0..2 {
            let offsets = points_m.iter().map(|point| point[axis]);
            let nearest = offsets
                .flat_map(|offset| self.lines[axis].iter().map(move |line| (*line - offset, *line)))
                .min_by(|one, other| (one.0 - place_m[axis]).abs().total_cmp(&(other.0 - place_m[axis]).abs()));
            match nearest.filter(|(rest, _)| (rest - place_m[axis]).abs() <= self.reach_m) {
                Some((rest, line)) => (rested.place_m[axis], rested.lines[axis]) = (rest, Some(line)),
                None => rested.place_m[axis] = self.on_grid(place_m[axis]),
            }
        }
        rested
    }

    /// Where the far end of something that begins at a point comes to rest: along a wall or at right angles to one,
    /// with a length on the grid, where it nearly is so; otherwise as a single point.
    pub fn end(&self, from_m: [f64; 2], to_m: [f64; 2]) -> Rested {
        let free = self.place(to_m, &[[0.0; 2]]);
        let length = libm::hypot(to_m[0] - from_m[0], to_m[1] - from_m[1]);
        let turn = libm::atan2(to_m[0] - from_m[0], to_m[1] - from_m[1]).to_degrees();
        match self.direction(turn) {
            Some(turn) if length > self.grid_m => {
                let (sine, cosine) = libm::sincos(turn.to_radians());
                // Where the ray along the direction meets a line nearby, it ends there.
                let ends = free.lines.map(|line| line.is_some());
                let length = match ends {
                    [true, _] if sine.abs() > 0.1 => (free.place_m[0] - from_m[0]) / sine,
                    [_, true] if cosine.abs() > 0.1 => (free.place_m[1] - from_m[1]) / cosine,
                    _ => self.on_grid(length),
                };
                let place_m = [from_m[0] + length * sine, from_m[1] + length * cosine];
                let kept = |axis: usize| free.lines[axis].filter(|line| (line - place_m[axis]).abs() < 0.005);
                Rested { place_m, lines: [kept(0), kept(1)] }
            }
            _ => free,
        }
    }

    /// The heading at which a part comes to rest: along something or at right angles to it, or a round number.
    pub fn turn(&self, turn_deg: f64) -> f64 {
        self.direction(turn_deg).unwrap_or_else(|| {
            let round = (turn_deg / TURN_STEP_DEG).round() * TURN_STEP_DEG;
            if (round - turn_deg).abs() <= REACH_DEG { round } else { turn_deg.round() }
        })
    }

    /// The heading of a part at a place that looks to another one.
    pub fn look(&self, from_m: [f64; 2], to_m: [f64; 2]) -> Option<f64> {
        heading(from_m, to_m).map(|turn| self.turn(turn))
    }

    fn direction(&self, turn_deg: f64) -> Option<f64> {
        // How far it is to the nearest direction or right angle to it.
        let off = |turn: &f64| (turn_deg - turn + 45.0).rem_euclid(90.0) - 45.0;
        let nearest = self.turns.iter().map(off).min_by(|one, other| one.abs().total_cmp(&other.abs()))?;
        (nearest.abs() <= REACH_DEG).then_some(turn_deg - nearest)
    }

    fn on_grid(&self, metres: f64) -> f64 {
        (metres / self.grid_m).round() * self.grid_m
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::demo::demo;
    use crate::plan::document::{Obstacle, ObstacleShape, WallShape};
    use crate::rf::material::Material;

    /// The demo with one slanting wall and nothing else in the way, at ten pixels to a metre.
    fn rest() -> Rest {
        let mut plan = demo();
        plan.site.obstacles = vec![Obstacle {
            id: "w".into(),
            name: "Wall".into(),
            shape: ObstacleShape::Wall(WallShape {
                from_m: [10.2, 10.1],
                to_m: [20.2, 16.1],
                height_m: 2.0,
                thickness_m: 0.1,
                material: Material::Wood,
            }),
        }];
        plan.course.gates.clear();
        plan.seats.clear();
        Rest::of(&plan, Some(Part::Pad), DisplayUnits::default(), 10.0)
    }

    #[test]
    fn a_point_comes_to_rest_on_the_grid_or_on_an_edge() {
        let free = rest().place([33.37, 7.81], &[[0.0; 2]]);
        assert_eq!(free, Rested { place_m: [33.5, 8.0], lines: [None, None] });
        let edge = rest().place([10.7, 7.81], &[[0.0; 2]]);
        assert_eq!(edge, Rested { place_m: [10.2, 8.0], lines: [Some(10.2), None] });
        let border = rest().place([43.6, 27.4], &[[0.0; 2]]);
        assert_eq!(border.place_m, [44.0, 28.0]);
    }

    #[test]
    fn any_edge_of_a_part_may_come_to_rest() {
        // Two metres to either side: its west edge lies against the line at 20.2.
        let moved = rest().place([22.5, 5.1], &[[0.0; 2], [-2.0, 0.0], [2.0, 0.0]]);
        assert!((moved.place_m[0] - 22.2).abs() < 1e-9 && moved.lines[0] == Some(20.2));
        assert_eq!(moved.place_m[1], 5.0);
    }

    #[test]
    fn walls_meet_at_right_angles_also_where_nothing_runs_north() {
        // The wall there runs at atan(10/6); this one nearly at right angles to it.
        let turn = libm::atan2(10.0, 6.0).to_degrees();
        let ended = rest().end([30.0, 20.0], [33.0, 15.2]);
        let got = libm::atan2(ended.place_m[0] - 30.0, ended.place_m[1] - 20.0).to_degrees();
        assert!((got - (turn + 90.0)).abs() < 1e-9, "{got}");
        let length = libm::hypot(ended.place_m[0] - 30.0, ended.place_m[1] - 20.0);
        assert!((length - 5.5).abs() < 1e-9, "{length}");
        // Nearly north is north.
        assert_eq!(rest().end([30.0, 20.0], [30.1, 24.4]).place_m, [30.0, 24.5]);
        // Neither: just a point.
        assert_eq!(rest().end([30.0, 20.0], [33.0, 24.3]).place_m, [33.0, 24.5]);
        // An end that reaches a border ends there.
        assert_eq!(rest().end([30.0, 20.0], [30.1, 27.5]), Rested { place_m: [30.0, 28.0], lines: [None, Some(28.0)] });
    }

    #[test]
    fn headings_come_to_rest_at_round_numbers_and_right_angles() {
        assert_eq!(rest().turn(43.0), 45.0);
        assert_eq!(rest().turn(51.4), 51.0);
        let along = libm::atan2(10.0, 6.0).to_degrees();
        assert!((rest().turn(along + 181.0) - along - 180.0).abs() < 1e-9);
        assert_eq!(rest().look([5.0, 5.0], [5.0, 5.0]), None);
        assert_eq!(rest().look([5.0, 5.0], [9.0, 5.1]), Some(90.0));
    }
}
