//! What the kinds of obstacle have in common when they are drawn: a centre, corners, a turn, and how they are put
//! somewhere else, turned and resized.
//!
//! Lengths come out in steps of a centimetre (the ends of a turned wall in millimetres) and turns in steps of a tenth of a
//! degree: nobody places a stall finer, and a plan's text stays short.

use super::convert::rectangle;
use super::document::{BarrierShape, ObstacleShape, WallShape};
use super::limits;
use crate::rf::material::Material;

impl ObstacleShape {
    /// Its centre in plan, in metres.
    pub fn centre_m(&self) -> [f64; 2] {
        match self {
            Self::Wall(WallShape { from_m, to_m, .. }) | Self::Barrier(BarrierShape { from_m, to_m, .. }) => {
                [0, 1].map(|axis| (from_m[axis] + to_m[axis]) / 2.0)
            }
            Self::Tree(tree) => tree.centre_m,
            Self::Building(block) | Self::Stall(block) => block.centre_m,
            Self::Canopy(canopy) => canopy.centre_m,
            Self::Crowd(crowd) => crowd.centre_m,
        }
    }

    /// The two ends of a wall or a barrier.
    pub fn ends_m(&self) -> Option<[[f64; 2]; 2]> {
        match self {
            Self::Wall(WallShape { from_m, to_m, .. }) | Self::Barrier(BarrierShape { from_m, to_m, .. }) => {
                Some([*from_m, *to_m])
            }
            _ => None,
        }
    }

    /// The same, to be changed.
    pub fn ends_mut(&mut self) -> Option<[&mut [f64; 2]; 2]> {
        match self {
            Self::Wall(WallShape { from_m, to_m, .. }) | Self::Barrier(BarrierShape { from_m, to_m, .. }) => {
                Some([from_m, to_m])
            }
            _ => None,
        }
    }

    /// Centre, sides before turning and turn of what is rectangular.
    pub fn rectangle(&self) -> Option<([f64; 2], [f64; 2], f64)> {
        match self {
            Self::Wall(_) | Self::Barrier(_) | Self::Tree(_) => None,
            Self::Building(block) | Self::Stall(block) => Some((block.centre_m, block.size_m, block.turn_deg)),
            Self::Canopy(canopy) => Some((canopy.centre_m, canopy.size_m, canopy.turn_deg)),
            Self::Crowd(crowd) => Some((crowd.centre_m, crowd.size_m, crowd.turn_deg)),
        }
    }

    /// The same, to be changed.
    pub fn rectangle_mut(&mut self) -> Option<(&mut [f64; 2], &mut [f64; 2], &mut f64)> {
        match self {
            Self::Wall(_) | Self::Barrier(_) | Self::Tree(_) => None,
            Self::Building(block) | Self::Stall(block) => {
                Some((&mut block.centre_m, &mut block.size_m, &mut block.turn_deg))
            }
            Self::Canopy(canopy) => Some((&mut canopy.centre_m, &mut canopy.size_m, &mut canopy.turn_deg)),
            Self::Crowd(crowd) => Some((&mut crowd.centre_m, &mut crowd.size_m, &mut crowd.turn_deg)),
        }
    }

    /// Its centre, to be changed; `None` for a wall or barrier, which has two ends instead.
    pub fn centre_mut(&mut self) -> Option<&mut [f64; 2]> {
        match self {
            Self::Tree(tree) => Some(&mut tree.centre_m),
            _ => self.rectangle_mut().map(|(centre, ..)| centre),
        }
    }

    /// Its upper edge in metres above the ground, to be changed; `None` for a crowd, which has heads instead.
    pub fn height_mut(&mut self) -> Option<&mut f64> {
        match self {
            Self::Wall(wall) => Some(&mut wall.height_m),
            Self::Barrier(barrier) => Some(&mut barrier.height_m),
            Self::Tree(tree) => Some(&mut tree.height_m),
            Self::Building(block) | Self::Stall(block) => Some(&mut block.height_m),
            Self::Canopy(canopy) => Some(&mut canopy.height_m),
            Self::Crowd(_) => None,
        }
    }

    /// What its walls are made of and their thickness in metres, to be changed; `None` for what has no walls.
    pub fn walls_mut(&mut self) -> Option<(&mut Material, &mut f64)> {
        match self {
            Self::Wall(wall) => Some((&mut wall.material, &mut wall.thickness_m)),
            Self::Building(block) | Self::Stall(block) => Some((&mut block.material, &mut block.thickness_m)),
            Self::Tree(_) | Self::Canopy(_) | Self::Crowd(_) | Self::Barrier(_) => None,
        }
    }

    /// Which way it is turned, clockwise from north: along a wall from its first end, or the turn of a rectangle; `None`
    /// for a tree.
    pub fn turn_deg(&self) -> Option<f64> {
        match self.ends_m() {
            Some([from, to]) => Some(libm::atan2(to[0] - from[0], to[1] - from[1]).to_degrees()),
            None => self.rectangle().map(|(_, _, turn)| turn),
        }
    }

    /// The points that can be taken hold of to resize it: a wall's ends, a rectangle's corners in order, and the
    /// easternmost point of a crown.
    pub fn corners_m(&self) -> Vec<[f64; 2]> {
        match self {
            Self::Wall(WallShape { from_m, to_m, .. }) | Self::Barrier(BarrierShape { from_m, to_m, .. }) => {
                vec![*from_m, *to_m]
            }
            Self::Tree(tree) => vec![[tree.centre_m[0] + tree.radius_m, tree.centre_m[1]]],
            _ => self.rectangle().map_or_else(Vec::new, |(centre, size, turn)| {
                rectangle(centre, size, turn).map(|corner| [corner.x, corner.y]).to_vec()
            }),
        }
    }

    /// Whether a point of the plan lies on it, or at most so far outside it.
    pub fn is_near(&self, point_m: [f64; 2], reach_m: f64) -> bool {
        let middle = self.centre_m();
        let (east, north) = (point_m[0] - middle[0], point_m[1] - middle[1]);
        let (size, turn) = match self {
            Self::Tree(tree) => return libm::hypot(east, north) <= tree.radius_m + reach_m,
            Self::Wall(WallShape { from_m, to_m, .. }) | Self::Barrier(BarrierShape { from_m, to_m, .. }) => {
                let length = libm::hypot(to_m[0] - from_m[0], to_m[1] - from_m[1]);
                let thickness = if let Self::Wall(wall) = self { wall.thickness_m } else { 0.0 };
                ([thickness, length], self.turn_deg().unwrap_or(0.0))
            }
            _ => self.rectangle().map_or(([0.0; 2], 0.0), |(_, size, turn)| (size, turn)),
        };
        let (sine, cosine) = libm::sincos(turn.to_radians());
        let own = [east * cosine - north * sine, east * sine + north * cosine];
        (0..2).all(|axis| own[axis].abs() <= size[axis] / 2.0 + reach_m)
    }

    /// Puts its centre somewhere else.
    pub fn put(&mut self, centre_m: [f64; 2]) {
        let before = self.centre_m();
        let centre_m = centre_m.map(hundredths);
        if let Some(ends) = self.ends_mut() {
            for end in ends {
                *end = [0, 1].map(|axis| hundredths(end[axis] + centre_m[axis] - before[axis]));
            }
        } else if let Some(centre) = self.centre_mut() {
            *centre = centre_m;
        }
    }

    /// Turns it about its centre; a tree stays as it is.
    pub fn turn(&mut self, turn_deg: f64) {
        let middle = self.centre_m();
        if let Some([from, to]) = self.ends_mut() {
            let half = libm::hypot(to[0] - from[0], to[1] - from[1]) / 2.0;
            let (sine, cosine) = libm::sincos(turn_deg.to_radians());
            // Ends on whole centimetres would turn a short wall by more than it was told to.
            let end =
                |along: f64| [middle[0] + along * sine, middle[1] + along * cosine].map(|place| rounded(place, 1e3));
            (*from, *to) = (end(-half), end(half));
        } else if let Some((.., turn)) = self.rectangle_mut() {
            *turn = turn_deg;
        }
    }

    /// Puts one of its [corners](Self::corners_m) somewhere else; the other end of a wall, the opposite corner of a
    /// rectangle and the trunk of a tree stay. Sides stay within what is allowed. A corner that it does not have changes
    /// nothing.
    pub fn pull(&mut self, corner: usize, to_m: [f64; 2]) {
        let corners = self.corners_m();
        let Some(&opposite) = corners.get((corner + 2) % 4) else {
            // Walls, barriers and trees.
            match (self, corner) {
                (Self::Tree(tree), 0) => {
                    let radius = libm::hypot(to_m[0] - tree.centre_m[0], to_m[1] - tree.centre_m[1]);
                    tree.radius_m = hundredths(radius.clamp(limits::CROWN_RADIUS_M.min, limits::CROWN_RADIUS_M.max));
                }
                (shape, 0 | 1) => {
                    if let Some(ends) = shape.ends_mut() {
                        *ends[corner] = to_m.map(hundredths);
                    }
                }
                _ => {}
            }
            return;
        };
        let Some((centre, size, turn)) = self.rectangle_mut().filter(|_| corner < 4) else { return };
        let (sine, cosine) = libm::sincos(turn.to_radians());
        let (east, north) = (to_m[0] - opposite[0], to_m[1] - opposite[1]);
        // On the rectangle's own axes: which way this corner lies from the opposite one, and how far it is now.
        let ways = [[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]][corner];
        let range = limits::OBSTACLE_SIDE_M;
        let reach = [east * cosine - north * sine, east * sine + north * cosine];
        let sides = [0, 1].map(|axis: usize| hundredths((reach[axis] * ways[axis]).clamp(range.min, range.max)));
        let [along, across] = [0, 1].map(|axis: usize| sides[axis] * ways[axis] / 2.0);
        *size = sides;
        *centre = [
            hundredths(opposite[0] + along * cosine + across * sine),
            hundredths(opposite[1] - along * sine + across * cosine),
        ];
    }
}

/// To the next tenth.
pub fn tenths(value: f64) -> f64 {
    rounded(value, 10.0)
}

/// To the next hundredth.
pub fn hundredths(value: f64) -> f64 {
    rounded(value, 100.0)
}

fn rounded(value: f64, parts: f64) -> f64 {
    // Adding zero turns a minus zero into a zero.
    (value * parts).round() / parts + 0.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::document::{BlockShape, TreeShape};

    fn wall() -> ObstacleShape {
        ObstacleShape::Wall(WallShape {
            from_m: [10.0, 10.0],
            to_m: [10.0, 16.0],
            height_m: 2.0,
            thickness_m: 0.1,
            material: Material::Wood,
        })
    }

    fn block(turn_deg: f64) -> ObstacleShape {
        ObstacleShape::Stall(BlockShape {
            centre_m: [10.0, 5.0],
            size_m: [4.0, 2.0],
            turn_deg,
            height_m: 2.0,
            thickness_m: 0.1,
            material: Material::Wood,
        })
    }

    fn tree() -> ObstacleShape {
        ObstacleShape::Tree(TreeShape {
            centre_m: [5.0, 5.0],
            radius_m: 2.0,
            base_m: 2.0,
            height_m: 7.0,
            loss_db_per_m: 1.2,
        })
    }

    #[test]
    fn a_wall_keeps_its_length_when_it_is_turned() {
        let mut shape = wall();
        assert_eq!(shape.turn_deg(), Some(0.0));
        shape.turn(90.0);
        assert_eq!(shape.corners_m(), [[7.0, 13.0], [13.0, 13.0]]);
        assert_eq!(shape.turn_deg(), Some(90.0));
        shape.put([0.0, 0.0]);
        assert_eq!(shape.corners_m(), [[-3.0, 0.0], [3.0, 0.0]]);
    }

    #[test]
    fn a_barrier_is_handled_like_a_wall() {
        let mut shape = ObstacleShape::Barrier(BarrierShape {
            from_m: [10.0, 10.0],
            to_m: [10.0, 12.5],
            height_m: 1.1,
            covered_share: 0.2,
        });
        assert!(shape.is_near([10.2, 11.0], 0.3) && !shape.is_near([10.5, 11.0], 0.3));
        shape.turn(90.0);
        assert_eq!((shape.corners_m(), shape.turn_deg()), (vec![[8.75, 11.25], [11.25, 11.25]], Some(90.0)));
        shape.put([0.0, 0.0]);
        shape.pull(1, [5.0, 0.0]);
        assert_eq!(shape.ends_m(), Some([[-1.25, 0.0], [5.0, 0.0]]));
        assert_eq!((shape.rectangle(), shape.walls_mut().is_none(), shape.height_mut()), (None, true, Some(&mut 1.1)));
    }

    #[test]
    fn a_point_is_on_a_shape_or_not() {
        assert!(wall().is_near([10.3, 15.9], 0.3) && !wall().is_near([10.3, 16.4], 0.3));
        assert!(tree().is_near([6.9, 5.0], 0.0) && !tree().is_near([6.9, 6.9], 0.3));
        // Turned by a quarter, its long side runs north.
        assert!(block(90.0).is_near([10.9, 6.9], 0.0) && !block(90.0).is_near([11.9, 5.0], 0.0));
        assert!(block(0.0).is_near([11.9, 5.0], 0.0));
        // Turned clockwise by 30 degrees, its east end lies to the south.
        assert!(block(30.0).is_near([11.7, 4.0], 0.0) && !block(30.0).is_near([11.7, 6.0], 0.0));
    }

    #[test]
    fn a_pulled_corner_leaves_the_opposite_one_where_it_is() {
        for turn in [0.0, 30.0, 90.0, 200.0] {
            for corner in 0..4 {
                let mut shape = block(turn);
                let before = shape.corners_m();
                let opposite = before[(corner + 2) % 4];
                // A metre further out from the opposite corner along the diagonal.
                let out = [0, 1].map(|axis| before[corner][axis] + (before[corner][axis] - opposite[axis]) / 4.0);
                shape.pull(corner, out);
                let after = shape.corners_m();
                let near = |one: [f64; 2], other: [f64; 2]| (0..2).all(|axis| (one[axis] - other[axis]).abs() < 0.011);
                assert!(near(after[corner], out), "{turn} {corner}: {after:?}");
                assert!(near(after[(corner + 2) % 4], opposite), "{turn} {corner}: {after:?}");
                assert_eq!(shape.rectangle().map(|(_, size, _)| size), Some([5.0, 2.5]));
            }
        }
    }

    #[test]
    fn nothing_is_pulled_inside_out_or_out_of_range() {
        let mut shape = block(0.0);
        shape.pull(2, [-50.0, -50.0]);
        assert_eq!(shape.rectangle().map(|(_, size, _)| size), Some([limits::OBSTACLE_SIDE_M.min; 2]));
        let mut shape = block(0.0);
        shape.pull(4, [0.0, 0.0]);
        assert_eq!(shape, block(0.0));
        let mut shape = tree();
        shape.pull(0, [5.0, 1000.0]);
        assert_eq!(shape.corners_m(), [[5.0 + limits::CROWN_RADIUS_M.max, 5.0]]);
        shape.pull(1, [5.0, 6.0]);
        shape.turn(20.0);
        assert_eq!((shape.turn_deg(), shape.centre_m()), (None, [5.0, 5.0]));
        let mut shape = wall();
        shape.pull(1, [12.0, 10.0]);
        shape.pull(2, [0.0, 0.0]);
        assert_eq!(shape.corners_m(), [[10.0, 10.0], [12.0, 10.0]]);
    }
}
