//! What stands on the site, as plain input: ground, walls, buildings, canopies, trees, crowd areas, panels.
//!
//! Nothing here is prepared for tracing; [`Scene::new`](super::Scene::new) checks every value and builds the fast form.

use nalgebra::Vector2;

use crate::rf::Vec3;
use crate::rf::absorption;
pub use crate::rf::absorption::PERSON_HEIGHT;
use crate::rf::material::Material;
use crate::units::{Db, Metres};

/// A point of the plan: x east, y north, metres.
pub type PlanPoint = Vector2<f64>;

/// The place: its ground and everything that stands on it.
#[derive(Clone, Debug, PartialEq)]
pub struct Site {
    /// The ground, the plane z = 0, without end.
    pub ground: Ground,
    /// What stands on it. Paths and obstructions name an obstacle by its index here.
    pub obstacles: Vec<Obstacle>,
}

/// The ground: a half-space below z = 0.
#[derive(Clone, Debug, PartialEq)]
pub struct Ground {
    /// What it is made of.
    pub material: Material,
    /// Root-mean-square height of its unevenness, at least zero; it weakens the steeper bounces.
    pub roughness: Metres,
}

/// A layer of one material: a wall, a pane, a board.
#[derive(Clone, Debug, PartialEq)]
pub struct Layer {
    /// What it is made of.
    pub material: Material,
    /// How thick it is, greater than zero.
    pub thickness: Metres,
}

/// Something that bounces, blocks or dampens waves.
#[derive(Clone, Debug, PartialEq)]
pub enum Obstacle {
    /// A thin upright wall; bounces on both sides.
    Wall(Wall),
    /// A flat rectangle of any orientation; bounces on both sides.
    Panel(Panel),
    /// A closed building; bounces on its walls and its roof, from outside.
    Building(Building),
    /// A stall, a van, a container: as a building, but the surroundings go on behind it.
    Stall(Building),
    /// An open-sided fabric roof; it only costs a little where a path goes through the fabric.
    Canopy(Canopy),
    /// A tree; its crown dampens.
    Tree(Tree),
    /// An area where people stand.
    Crowd(Crowd),
    /// A barrier of bars, a fence of mesh: hides a share of what would pass it.
    Barrier(Barrier),
    /// The frame of a gate: two uprights and a bar across their tops.
    Frame(Frame),
}

/// A thin upright wall from one plan point to another.
#[derive(Clone, Debug, PartialEq)]
pub struct Wall {
    /// One end in plan.
    pub from: PlanPoint,
    /// The other end in plan.
    pub to: PlanPoint,
    /// Height of its lower edge above ground; zero for a wall that stands on the ground.
    pub base: Metres,
    /// Height of its upper edge above ground, greater than `base`.
    pub top: Metres,
    /// Its material and thickness.
    pub layer: Layer,
}

/// A flat rectangle of any orientation, spanned by two sides from one corner.
#[derive(Clone, Debug, PartialEq)]
pub struct Panel {
    /// One corner.
    pub corner: Vec3,
    /// From that corner to a neighbouring one.
    pub side: Vec3,
    /// From that corner to the other neighbouring one, at right angles to `side`.
    pub other_side: Vec3,
    /// Its material and thickness.
    pub layer: Layer,
}

/// A closed prism on the ground: a building, a stall with walls, a container.
#[derive(Clone, Debug, PartialEq)]
pub struct Building {
    /// The corners of its outline in order, either way round, without repeating the first. It may have inner corners but
    /// must not cross itself.
    pub footprint: Vec<PlanPoint>,
    /// Its height above ground, greater than zero.
    pub height: Metres,
    /// Its walls (and roof): material and thickness.
    pub layer: Layer,
}

/// An open-sided fabric roof between two heights.
#[derive(Clone, Debug, PartialEq)]
pub struct Canopy {
    /// The corners of its outline in order, as for a [`Building`].
    pub footprint: Vec<PlanPoint>,
    /// Height of the lower side of the fabric above ground (the eaves).
    pub base: Metres,
    /// Height of its highest point, greater than `base`.
    pub top: Metres,
    /// What one passage through the fabric costs: [`FABRIC_DRY`] or [`FABRIC_WET`] unless known better.
    pub loss: Db,
}

/// Loss of one passage through dry fabric. Common practice, no source.
pub const FABRIC_DRY: Db = absorption::CANOPY_DRY;
/// Loss of one passage through wet fabric. Common practice, no source.
pub const FABRIC_WET: Db = absorption::CANOPY_WET;

/// A tree whose crown is an upright cylinder; the trunk is left out, being thin beside a Fresnel zone.
#[derive(Clone, Debug, PartialEq)]
pub struct Tree {
    /// Where it stands.
    pub centre: PlanPoint,
    /// Radius of the crown, greater than zero.
    pub radius: Metres,
    /// Height of the crown's lower end above ground.
    pub base: Metres,
    /// Height of the crown's upper end above ground, greater than `base`.
    pub top: Metres,
    /// Loss of one metre of crown at the carrier in use; see [`absorption::Vegetation`] for typical values.
    pub loss_per_metre: Db,
    /// The loss that a deep crown approaches: energy goes round it. [`absorption::VEGETATION_SATURATION`] unless known
    /// better.
    pub most_loss: Db,
}

/// An area where people stand, at random places.
#[derive(Clone, Debug, PartialEq)]
pub struct Crowd {
    /// The corners of its outline in order, as for a [`Building`].
    pub footprint: Vec<PlanPoint>,
    /// People per square metre, at least zero.
    pub density: f64,
    /// How tall the people are; TR 38.901 (table 7.6.4.2-5) uses [`PERSON_HEIGHT`].
    pub head_height: Metres,
}

/// A straight barrier of upright bars that stands on the ground, as it holds back spectators.
#[derive(Clone, Debug, PartialEq)]
pub struct Barrier {
    /// One end in plan.
    pub from: PlanPoint,
    /// The other end in plan.
    pub to: PlanPoint,
    /// Height of its upper edge above ground.
    pub top: Metres,
    /// Share of its area that is metal, from 0 to 1. That share of the field does not pass (Babinet's principle with the
    /// bars' mean, as long as they are many to a Fresnel zone); what they throw back is left out.
    pub covered: f64,
}

/// A frame of metal tube: two uprights on the ground and a bar across.
#[derive(Clone, Debug, PartialEq)]
pub struct Frame {
    /// Foot of one upright.
    pub from: PlanPoint,
    /// Foot of the other.
    pub to: PlanPoint,
    /// Height of the middle of the bar.
    pub top: Metres,
    /// Width of the tubes.
    pub tube: Metres,
}

/// Most obstacles of one site: many times what a hand-drawn yard holds, and still seconds for a lap.
pub const MOST_OBSTACLES: usize = 440;
/// Most corners of one outline: a hand-drawn building has four to twelve.
pub const MOST_CORNERS: usize = 32;
/// Farthest coordinate from the origin and greatest height, metres: beyond it a flat ground is no longer true.
pub const FARTHEST: f64 = 5_000.0;
/// Shortest side of a wall, panel or outline, metres: about a wavelength, below which ray optics says nothing.
pub const SHORTEST_SIDE: f64 = 0.05;
/// Most people of all crowd areas together on average: a festival ground; the memory of the draws grows with it.
pub const MOST_PEOPLE: f64 = 20_000.0;
/// Densest crowd, people per square metre: above about six nobody can stand safely (common practice, no source).
pub const DENSEST_CROWD: f64 = 6.0;
/// Roughest ground, metres root-mean-square: above it there is no specular bounce to speak of at the carriers in use.
pub const ROUGHEST_GROUND: f64 = 1.0;

/// Why a site cannot be built.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SiteError {
    /// More obstacles than [`MOST_OBSTACLES`].
    #[error("{got} obstacles are more than {MOST_OBSTACLES}")]
    TooManyObstacles {
        /// How many there were.
        got: usize,
    },
    /// The ground is rougher than [`ROUGHEST_GROUND`], or its roughness is negative or not a number.
    #[error("a ground roughness of {got} m is outside 0 to {ROUGHEST_GROUND} m")]
    Roughness {
        /// The value.
        got: f64,
    },
    /// The carrier for which the scene is prepared is not a positive number.
    #[error("a lowest carrier of {got} Hz is not above zero")]
    Carrier {
        /// The value.
        got: f64,
    },
    /// The crowd areas hold more people than [`MOST_PEOPLE`].
    #[error("crowd areas for {got} people hold more than {MOST_PEOPLE}")]
    TooManyPeople {
        /// How many people stand there on average.
        got: f64,
    },
    /// One obstacle is impossible.
    #[error("obstacle {obstacle}: {fault}")]
    Obstacle {
        /// Its index in [`Site::obstacles`].
        obstacle: usize,
        /// What is wrong with it.
        fault: ObstacleFault,
    },
}

/// What is wrong with one obstacle.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ObstacleFault {
    /// A coordinate or height is not a number or farther than [`FARTHEST`].
    #[error("a coordinate of {got} m is farther than {FARTHEST} m from the origin")]
    Coordinate {
        /// The value.
        got: f64,
    },
    /// A side is shorter than [`SHORTEST_SIDE`].
    #[error("a side of {got} m is shorter than {SHORTEST_SIDE} m")]
    ShortSide {
        /// Its length.
        got: f64,
    },
    /// The upper edge is not above the lower edge, or the lower one is below ground.
    #[error("heights from {base} m to {top} m must rise from at least 0 m by at least {SHORTEST_SIDE} m")]
    Heights {
        /// The lower edge.
        base: f64,
        /// The upper edge.
        top: f64,
    },
    /// A thickness is not above zero.
    #[error("a thickness of {got} m is not above zero")]
    Thickness {
        /// The value.
        got: f64,
    },
    /// An outline has fewer than three corners or more than [`MOST_CORNERS`].
    #[error("an outline of {got} corners is outside 3 to {MOST_CORNERS}")]
    Corners {
        /// How many corners there were.
        got: usize,
    },
    /// Two sides of an outline cross or touch.
    #[error("the outline crosses itself: side {first} meets side {second}")]
    SelfCrossing {
        /// Index of the corner where the one side starts.
        first: usize,
        /// Index of the corner where the other side starts.
        second: usize,
    },
    /// The sides of a panel are not at right angles.
    #[error("the sides of a panel are not at right angles: the cosine between them is {got}")]
    Skewed {
        /// Cosine of the angle between them.
        got: f64,
    },
    /// A loss is negative or not a number.
    #[error("a loss of {got} dB is below zero")]
    Loss {
        /// The value.
        got: f64,
    },
    /// A share of covered area is outside zero to one.
    #[error("a covered share of {got} is outside 0 to 1")]
    Covered {
        /// The share.
        got: f64,
    },
    /// A crowd density is outside zero to [`DENSEST_CROWD`].
    #[error("a crowd of {got} people per square metre is outside 0 to {DENSEST_CROWD}")]
    Density {
        /// The value.
        got: f64,
    },
}

/// Kind of an obstacle, without its measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum ObstacleKind {
    /// See [`Obstacle::Wall`].
    Wall,
    /// See [`Obstacle::Panel`].
    Panel,
    /// See [`Obstacle::Building`].
    Building,
    /// See [`Obstacle::Stall`].
    Stall,
    /// See [`Obstacle::Canopy`].
    Canopy,
    /// See [`Obstacle::Tree`].
    Tree,
    /// See [`Obstacle::Crowd`].
    Crowd,
    /// See [`Obstacle::Barrier`].
    Barrier,
    /// See [`Obstacle::Frame`].
    Frame,
}

impl Obstacle {
    /// Its kind.
    pub fn kind(&self) -> ObstacleKind {
        match self {
            Obstacle::Wall(_) => ObstacleKind::Wall,
            Obstacle::Panel(_) => ObstacleKind::Panel,
            Obstacle::Building(_) => ObstacleKind::Building,
            Obstacle::Stall(_) => ObstacleKind::Stall,
            Obstacle::Canopy(_) => ObstacleKind::Canopy,
            Obstacle::Tree(_) => ObstacleKind::Tree,
            Obstacle::Crowd(_) => ObstacleKind::Crowd,
            Obstacle::Barrier(_) => ObstacleKind::Barrier,
            Obstacle::Frame(_) => ObstacleKind::Frame,
        }
    }

    /// Checks every measure of this obstacle.
    ///
    /// # Errors
    /// The first [`ObstacleFault`] found.
    pub fn check(&self) -> Result<(), ObstacleFault> {
        match self {
            Obstacle::Wall(wall) => {
                coordinates(wall.from.iter().chain(wall.to.iter()))?;
                side((wall.to - wall.from).norm())?;
                heights(wall.base, wall.top)?;
                layer(&wall.layer)
            }
            Obstacle::Panel(panel) => {
                let far = panel.corner + panel.side + panel.other_side;
                coordinates(
                    panel.corner.iter().chain(panel.side.iter()).chain(panel.other_side.iter()).chain(far.iter()),
                )?;
                side(panel.side.norm())?;
                side(panel.other_side.norm())?;
                let cosine = panel.side.normalize().dot(&panel.other_side.normalize());
                // A corner typed to the millimetre on a side of one metre is off by 1e-3.
                if cosine.abs() > 2e-3 {
                    return Err(ObstacleFault::Skewed { got: cosine });
                }
                layer(&panel.layer)
            }
            Obstacle::Building(building) | Obstacle::Stall(building) => {
                outline(&building.footprint)?;
                heights(Metres(0.0), building.height)?;
                layer(&building.layer)
            }
            Obstacle::Canopy(canopy) => {
                outline(&canopy.footprint)?;
                heights(canopy.base, canopy.top)?;
                loss(canopy.loss)
            }
            Obstacle::Tree(tree) => {
                coordinates(tree.centre.iter().chain([&tree.radius.0]))?;
                side(tree.radius.0)?;
                heights(tree.base, tree.top)?;
                loss(tree.loss_per_metre)?;
                loss(tree.most_loss)
            }
            Obstacle::Crowd(crowd) => {
                outline(&crowd.footprint)?;
                heights(Metres(0.0), crowd.head_height)?;
                if !(0.0..=DENSEST_CROWD).contains(&crowd.density) {
                    return Err(ObstacleFault::Density { got: crowd.density });
                }
                Ok(())
            }
            Obstacle::Barrier(barrier) => {
                coordinates(barrier.from.iter().chain(barrier.to.iter()))?;
                side((barrier.to - barrier.from).norm())?;
                heights(Metres(0.0), barrier.top)?;
                if !(0.0..=1.0).contains(&barrier.covered) {
                    return Err(ObstacleFault::Covered { got: barrier.covered });
                }
                Ok(())
            }
            Obstacle::Frame(frame) => {
                coordinates(frame.from.iter().chain(frame.to.iter()))?;
                side((frame.to - frame.from).norm())?;
                heights(Metres(0.0), frame.top)?;
                thickness(frame.tube)
            }
        }
    }
}

fn coordinates<'a>(values: impl IntoIterator<Item = &'a f64>) -> Result<(), ObstacleFault> {
    match values.into_iter().find(|value| !(-FARTHEST..=FARTHEST).contains(*value)) {
        Some(&got) => Err(ObstacleFault::Coordinate { got }),
        None => Ok(()),
    }
}

fn side(length: f64) -> Result<(), ObstacleFault> {
    if length >= SHORTEST_SIDE { Ok(()) } else { Err(ObstacleFault::ShortSide { got: length }) }
}

fn heights(base: Metres, top: Metres) -> Result<(), ObstacleFault> {
    coordinates([&base.0, &top.0])?;
    if base.0 >= 0.0 && top.0 - base.0 >= SHORTEST_SIDE {
        Ok(())
    } else {
        Err(ObstacleFault::Heights { base: base.0, top: top.0 })
    }
}

fn layer(layer: &Layer) -> Result<(), ObstacleFault> {
    thickness(layer.thickness)
}

fn thickness(thickness: Metres) -> Result<(), ObstacleFault> {
    if thickness.0 > 0.0 && thickness.0 <= FARTHEST {
        Ok(())
    } else {
        Err(ObstacleFault::Thickness { got: thickness.0 })
    }
}

fn loss(loss: Db) -> Result<(), ObstacleFault> {
    if loss.0 >= 0.0 { Ok(()) } else { Err(ObstacleFault::Loss { got: loss.0 }) }
}

fn outline(corners: &[PlanPoint]) -> Result<(), ObstacleFault> {
    let count = corners.len();
    if !(3..=MOST_CORNERS).contains(&count) {
        return Err(ObstacleFault::Corners { got: count });
    }
    coordinates(corners.iter().flat_map(|corner| corner.iter()))?;
    for index in 0..count {
        side((corners[(index + 1) % count] - corners[index]).norm())?;
    }
    match super::outline::first_crossing(corners) {
        Some((first, second)) => Err(ObstacleFault::SelfCrossing { first, second }),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn crowd(corners: &[(f64, f64)]) -> Obstacle {
        Obstacle::Crowd(Crowd {
            footprint: corners.iter().map(|&(x, y)| PlanPoint::new(x, y)).collect(),
            density: 1.0,
            head_height: PERSON_HEIGHT,
        })
    }

    #[test]
    fn an_outline_may_have_inner_corners_but_not_cross_itself() {
        assert_eq!(crowd(&[(0., 0.), (4., 0.), (4., 4.), (2., 1.), (0., 4.)]).check(), Ok(()));
        let bow = crowd(&[(0., 0.), (4., 4.), (4., 0.), (0., 4.)]);
        assert_eq!(bow.check(), Err(ObstacleFault::SelfCrossing { first: 0, second: 2 }));
        assert_eq!(crowd(&[(0., 0.), (4., 0.)]).check(), Err(ObstacleFault::Corners { got: 2 }));
        // A spike without area: the way back lies on the way there.
        assert!(matches!(crowd(&[(0., 0.), (4., 0.), (2., 0.)]).check(), Err(ObstacleFault::SelfCrossing { .. })));
    }

    #[test]
    fn values_that_are_not_numbers_are_refused() {
        assert!(matches!(crowd(&[(0., 0.), (4., f64::NAN), (4., 4.)]).check(), Err(ObstacleFault::Coordinate { .. })));
        assert!(matches!(
            crowd(&[(0., 0.), (f64::INFINITY, 0.), (4., 4.)]).check(),
            Err(ObstacleFault::Coordinate { .. })
        ));
    }
}
