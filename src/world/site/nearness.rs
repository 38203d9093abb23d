//! How near a point comes to what stands on the site: geometry alone, no waves.

use super::obstacle::{Obstacle, PlanPoint};
use super::outline::contains;
use crate::units::Metres;

/// What of an obstacle can be run into: an outline in plan between two heights.
#[derive(Clone, Debug)]
pub struct Solid {
    /// The corners of its outline; one is a point, two a straight wall.
    corners: Vec<PlanPoint>,
    /// How far it reaches beyond the outline: half a wall's thickness, a crown's radius.
    beyond: f64,
    /// Height of its lower end above ground.
    pub base: Metres,
    /// Height of its upper end above ground.
    pub top: Metres,
    /// Middle and radius of a circle about it in plan.
    about: (PlanPoint, f64),
}

impl Solid {
    /// Of an obstacle; a tree's is its crown, a gate frame's the bar across it.
    pub fn of(obstacle: &Obstacle) -> Self {
        match obstacle {
            Obstacle::Barrier(barrier) => Self::new(vec![barrier.from, barrier.to], 0.0, Metres(0.0), barrier.top),
            Obstacle::Frame(frame) => {
                let half = 0.5 * frame.tube.0;
                Self::new(vec![frame.from, frame.to], half, Metres(frame.top.0 - half), Metres(frame.top.0 + half))
            }
            Obstacle::Wall(wall) => {
                Self::new(vec![wall.from, wall.to], 0.5 * wall.layer.thickness.0, wall.base, wall.top)
            }
            Obstacle::Panel(panel) => {
                let corners = [
                    panel.corner,
                    panel.corner + panel.side,
                    panel.corner + panel.side + panel.other_side,
                    panel.corner + panel.other_side,
                ];
                let heights = corners.map(|corner| corner.z);
                let least = heights.into_iter().fold(f64::INFINITY, f64::min);
                let most = heights.into_iter().fold(f64::NEG_INFINITY, f64::max);
                let outline = corners.iter().map(|corner| PlanPoint::new(corner.x, corner.y)).collect();
                Self::new(outline, 0.5 * panel.layer.thickness.0, Metres(least), Metres(most))
            }
            Obstacle::Building(building) | Obstacle::Stall(building) => {
                Self::new(building.footprint.clone(), 0.0, Metres(0.0), building.height)
            }
            Obstacle::Canopy(canopy) => Self::new(canopy.footprint.clone(), 0.0, canopy.base, canopy.top),
            Obstacle::Tree(tree) => Self::new(vec![tree.centre], tree.radius.0, tree.base, tree.top),
            Obstacle::Crowd(crowd) => Self::new(crowd.footprint.clone(), 0.0, Metres(0.0), crowd.head_height),
        }
    }

    /// An upright post: a trunk, a person.
    pub fn post(at: PlanPoint, radius: Metres, top: Metres) -> Self {
        Self::new(vec![at], radius.0, Metres(0.0), top)
    }

    /// `corners` is not empty.
    fn new(corners: Vec<PlanPoint>, beyond: f64, base: Metres, top: Metres) -> Self {
        let middle = corners.iter().sum::<PlanPoint>() / corners.len().max(1) as f64;
        let radius = corners.iter().map(|corner| (corner - middle).norm()).fold(0.0, f64::max) + beyond;
        Self { corners, beyond, base, top, about: (middle, radius) }
    }

    /// Whether a point may be within so many metres of it, level; never wrong when it says no.
    pub fn may_be_within(&self, point: &PlanPoint, reach: Metres) -> bool {
        let (middle, radius) = self.about;
        (point - middle).norm_squared() <= (radius + reach.0) * (radius + reach.0)
    }

    /// How far a point is from it, level; zero over, under and in it.
    pub fn level_distance(&self, point: &PlanPoint) -> Metres {
        let count = self.corners.len();
        if count > 2 && contains(&self.corners, point) {
            return Metres(0.0);
        }
        let to_side = |index: usize| {
            let (from, to) = (self.corners[index], self.corners[(index + 1) % count]);
            let (along, out) = (to - from, point - from);
            let length = along.norm_squared();
            let share = if length > 0.0 { (out.dot(&along) / length).clamp(0.0, 1.0) } else { 0.0 };
            (out - along * share).norm()
        };
        let nearest = (0..count).map(to_side).fold(f64::INFINITY, f64::min);
        Metres((nearest - self.beyond).max(0.0))
    }

    /// How far a point at a height is above or below it; zero between its lower and its upper end.
    pub fn upright_distance(&self, height: Metres) -> Metres {
        Metres((self.base.0 - height.0).max(height.0 - self.top.0).max(0.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rf::material::Material;
    use crate::site::{Building, Layer, Wall};

    fn block() -> Solid {
        let corners = [(0.0, 0.0), (4.0, 0.0), (4.0, 2.0), (0.0, 2.0)];
        Solid::of(&Obstacle::Building(Building {
            footprint: corners.iter().map(|&(x, y)| PlanPoint::new(x, y)).collect(),
            height: Metres(3.0),
            layer: Layer { material: Material::Brick, thickness: Metres(0.2) },
        }))
    }

    #[test]
    fn a_block_is_as_far_as_its_nearest_side_or_corner() {
        let block = block();
        for (point, expected) in
            [((1.0, 1.0), 0.0), ((1.0, -1.5), 1.5), ((6.0, 1.0), 2.0), ((7.0, 6.0), 5.0), ((4.0, 2.0), 0.0)]
        {
            let point = PlanPoint::new(point.0, point.1);
            assert!((block.level_distance(&point).0 - expected).abs() < 1e-12, "{point:?}");
            // The circle about it never says no to what is within reach.
            assert!(block.may_be_within(&point, Metres(expected)));
        }
        assert!(!block.may_be_within(&PlanPoint::new(20.0, 1.0), Metres(5.0)));
        assert_eq!(block.upright_distance(Metres(2.0)).0, 0.0);
        assert_eq!(block.upright_distance(Metres(4.5)).0, 1.5);
    }

    #[test]
    fn a_wall_has_a_thickness_and_a_post_a_radius() {
        let wall = Solid::of(&Obstacle::Wall(Wall {
            from: PlanPoint::new(0.0, 0.0),
            to: PlanPoint::new(10.0, 0.0),
            base: Metres(1.0),
            top: Metres(2.0),
            layer: Layer { material: Material::Wood, thickness: Metres(0.2) },
        }));
        assert!((wall.level_distance(&PlanPoint::new(5.0, 1.0)).0 - 0.9).abs() < 1e-12);
        assert!((wall.level_distance(&PlanPoint::new(13.0, 4.0)).0 - 4.9).abs() < 1e-12);
        assert_eq!((wall.upright_distance(Metres(0.25)).0, wall.upright_distance(Metres(2.5)).0), (0.75, 0.5));
        let post = Solid::post(PlanPoint::new(0.0, 0.0), Metres(0.3), Metres(1.4));
        assert!((post.level_distance(&PlanPoint::new(0.0, 2.0)).0 - 1.7).abs() < 1e-12);
        assert_eq!(post.level_distance(&PlanPoint::new(0.1, 0.1)).0, 0.0);
    }
}
