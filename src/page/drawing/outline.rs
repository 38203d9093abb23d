//! Outlines of obstacles from above, and the hatch that says what each is made of.

use crate::plan::document::{Obstacle, ObstacleShape};
use crate::rf::material::Material;

use super::frame::Frame;
use super::path_text::{PathText, Point};

/// Thin walls are drawn at least this thick, in pixels, so that their hatch is seen.
const LEAST_WALL: f64 = 5.0;

/// A barrier is a line with bars across it: how far apart and how long to each side, in pixels.
const BAR_SPACING: f64 = 6.0;
const BAR: f64 = 3.0;

/// The hatch of a material from above.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Hatch {
    /// Courses of bricks.
    Brick,
    /// Stipple with a few stones: concrete, stone, asphalt, earth.
    Stone,
    /// Grain: wood and boards made of it.
    Timber,
    /// Close pairs of slanting strokes.
    Metal,
    /// Groups of short slanting strokes.
    Glass,
    /// Wide slanting strokes: plasterboard and the like.
    Board,
    /// A loose weave.
    Fabric,
    /// Scallops.
    Foliage,
    /// Heads.
    Crowd,
}

/// One tile of a hatch; it repeats in both directions.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tile {
    /// Width in pixels.
    pub width: f64,
    /// Height in pixels.
    pub height: f64,
    /// Turn of the whole hatch, in degrees.
    pub turn_deg: f64,
    /// Its strokes, as an SVG path.
    pub strokes: &'static str,
}

impl Hatch {
    /// All hatches.
    pub const ALL: [Self; 9] = [
        Self::Brick,
        Self::Stone,
        Self::Timber,
        Self::Metal,
        Self::Glass,
        Self::Board,
        Self::Fabric,
        Self::Foliage,
        Self::Crowd,
    ];

    /// The hatch of a material.
    pub fn of(material: Material) -> Self {
        match material {
            Material::Brick => Self::Brick,
            Material::Concrete
            | Material::Marble
            | Material::AsphaltConcrete
            | Material::VeryDryGround
            | Material::MediumDryGround
            | Material::WetGround => Self::Stone,
            Material::Wood | Material::Chipboard | Material::Plywood | Material::Floorboard => Self::Timber,
            Material::Metal => Self::Metal,
            Material::Glass => Self::Glass,
            Material::Plasterboard | Material::CeilingBoard | Material::VinylTile | Material::CarpetTile => Self::Board,
        }
    }

    /// The hatch of an obstacle.
    pub fn of_shape(shape: &ObstacleShape) -> Self {
        match shape {
            ObstacleShape::Wall(wall) => Self::of(wall.material),
            ObstacleShape::Building(block) | ObstacleShape::Stall(block) => Self::of(block.material),
            ObstacleShape::Canopy(_) => Self::Fabric,
            ObstacleShape::Tree(_) => Self::Foliage,
            ObstacleShape::Crowd(_) => Self::Crowd,
            ObstacleShape::Barrier(_) => Self::Metal,
        }
    }

    /// Id of its pattern on the page.
    pub fn id(self) -> &'static str {
        match self {
            Self::Brick => "hatch-brick",
            Self::Stone => "hatch-stone",
            Self::Timber => "hatch-timber",
            Self::Metal => "hatch-metal",
            Self::Glass => "hatch-glass",
            Self::Board => "hatch-board",
            Self::Fabric => "hatch-fabric",
            Self::Foliage => "hatch-foliage",
            Self::Crowd => "hatch-crowd",
        }
    }

    /// What it stands for, for the key.
    pub fn words(self) -> &'static str {
        match self {
            Self::Brick => "brick",
            Self::Stone => "concrete, stone",
            Self::Timber => "wood",
            Self::Metal => "metal",
            Self::Glass => "glass",
            Self::Board => "board",
            Self::Fabric => "fabric",
            Self::Foliage => "foliage",
            Self::Crowd => "crowd",
        }
    }

    /// Its tile.
    pub fn tile(self) -> Tile {
        let tile = |width, height, turn_deg, strokes| Tile { width, height, turn_deg, strokes };
        match self {
            Self::Brick => tile(14.0, 10.0, 0.0, "M0 .5H14M0 5.5H14M3.5 .5V5.5M10.5 5.5V10.5"),
            Self::Stone => {
                tile(18.0, 16.0, 0.0, "M2 3h1M8 1.5h1M14 5h1M5 9h1M11 12h1M16 13h1M1.5 14h1M9 6l2.5 3h-4zM3 11.5h.8")
            }
            Self::Timber => tile(26.0, 12.0, 0.0, "M0 2H26M0 8H26M4 5H15M17 11H26M0 11H6"),
            Self::Metal => tile(8.0, 8.0, 45.0, "M1 0V8M3.5 0V8"),
            Self::Glass => tile(16.0, 16.0, 45.0, "M3 2V8M6 3V12M9 6V13"),
            Self::Board => tile(9.0, 9.0, 45.0, "M2 0V9"),
            Self::Fabric => tile(10.0, 10.0, 45.0, "M2 0V6M7 4V10M0 2H6M4 7H10"),
            Self::Foliage => tile(
                18.0,
                14.0,
                0.0,
                "M1 5.5a3 3 0 0 1 5.5-1.5a3 3 0 0 1 4 3M10 12.5a3 3 0 0 1 5.5-1.5M13.5 3.5a2 2 0 0 1 3-1.2M3 12.5a2 2 0 0 1 3-1",
            ),
            Self::Crowd => tile(
                20.0,
                18.0,
                0.0,
                "M2.5 4a1.8 1.8 0 1 0 3.6 0a1.8 1.8 0 1 0-3.6 0M11.5 2.8a1.8 1.8 0 1 0 3.6 0a1.8 1.8 0 1 0-3.6 0\
                 M7 10.5a1.8 1.8 0 1 0 3.6 0a1.8 1.8 0 1 0-3.6 0M15 11.5a1.8 1.8 0 1 0 3.6 0a1.8 1.8 0 1 0-3.6 0\
                 M1.5 15a1.8 1.8 0 1 0 3.6 0a1.8 1.8 0 1 0-3.6 0",
            ),
        }
    }
}

/// The outline of an obstacle as an SVG path on the drawing.
pub fn outline(shape: &ObstacleShape, frame: &Frame) -> String {
    let mut path = PathText::new();
    let place = |[east, north]: [f64; 2]| frame.place(east, north);
    let corners: Vec<Point> = shape.corners_m().into_iter().map(place).collect();
    match (shape, &corners[..]) {
        (ObstacleShape::Wall(wall), &[from, to]) => {
            path.polygon(&wall_corners(from, to, frame.length(wall.thickness_m).max(LEAST_WALL)));
        }
        (ObstacleShape::Barrier(_), &[from, to]) => {
            // A rail with a bar across every so often.
            path.polyline(&[from, to]);
            for [at, [x, y]] in super::marks::walk(&[from, to], BAR_SPACING, BAR_SPACING / 2.0) {
                path.polyline(&[[at[0] - y * BAR, at[1] + x * BAR], [at[0] + y * BAR, at[1] - x * BAR]]);
            }
        }
        (ObstacleShape::Tree(tree), _) => crown(&mut path, place(tree.centre_m), frame.length(tree.radius_m)),
        (_, corners) => {
            path.polygon(corners);
            if let (ObstacleShape::Canopy(_), &[first, second, third, fourth]) = (shape, corners) {
                // The ridges of the fabric roof.
                path.polyline(&[first, third]).polyline(&[second, fourth]);
            }
        }
    }
    path.text()
}

/// Where an obstacle's name goes: the middle of what of it lies on the site, and how wide and high that is, in pixels.
pub fn name_place(obstacle: &Obstacle, frame: &Frame) -> (Point, [f64; 2]) {
    let (mut least, mut most) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
    let mut take = |[east, north]: [f64; 2]| {
        let place = frame.place(east.clamp(0.0, frame.site_width_m), north.clamp(0.0, frame.site_depth_m));
        for axis in 0..2 {
            least[axis] = least[axis].min(place[axis]);
            most[axis] = most[axis].max(place[axis]);
        }
    };
    obstacle.shape.corners_m().into_iter().for_each(&mut take);
    if let ObstacleShape::Tree(tree) = &obstacle.shape {
        let [east, north] = tree.centre_m;
        [[east - tree.radius_m, north], [east, north - tree.radius_m], [east, north + tree.radius_m]]
            .into_iter()
            .for_each(&mut take);
    }
    ([(least[0] + most[0]) / 2.0, (least[1] + most[1]) / 2.0], [most[0] - least[0], most[1] - least[1]])
}

fn wall_corners(from: Point, to: Point, thickness: f64) -> [Point; 4] {
    let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
    let length = libm::hypot(dx, dy).max(f64::MIN_POSITIVE);
    let across = [-dy / length * thickness / 2.0, dx / length * thickness / 2.0];
    [
        [from[0] + across[0], from[1] + across[1]],
        [to[0] + across[0], to[1] + across[1]],
        [to[0] - across[0], to[1] - across[1]],
        [from[0] - across[0], from[1] - across[1]],
    ]
}

/// A crown from above: a ring of scallops.
fn crown(path: &mut PathText, centre: Point, radius: f64) {
    const SCALLOPS: usize = 12;
    let on_ring = |index: usize| super::marks::along(centre, 360.0 * index as f64 / SCALLOPS as f64, radius);
    path.move_to(on_ring(0));
    for index in 1..=SCALLOPS {
        path.arc_to(radius * 0.3, false, true, on_ring(index % SCALLOPS));
    }
    path.close();
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::document::{BlockShape, TreeShape};

    fn frame() -> Frame {
        Frame::fit(482.0, 900.0, 44.0, 28.0)
    }

    #[test]
    fn outlines_are_closed_and_names_stay_on_the_site() {
        let block = BlockShape {
            centre_m: [0.0, 14.0],
            size_m: [8.0, 30.0],
            turn_deg: 0.0,
            height_m: 9.0,
            thickness_m: 0.3,
            material: Material::Brick,
        };
        let shape = ObstacleShape::Building(block);
        assert!(outline(&shape, &frame()).ends_with('Z'));
        let obstacle = Obstacle { id: "b1".into(), name: "Archive".into(), shape };
        let (place, [width, height]) = name_place(&obstacle, &frame());
        assert_eq!(place, frame().place(2.0, 14.0));
        assert!((width - frame().length(4.0)).abs() < 1e-9 && (height - frame().length(28.0)).abs() < 1e-9);
    }

    #[test]
    fn a_tree_is_a_ring_of_scallops() {
        let tree = TreeShape { centre_m: [5.0, 5.0], radius_m: 2.0, base_m: 2.0, height_m: 7.0, loss_db_per_m: 1.2 };
        assert_eq!(outline(&ObstacleShape::Tree(tree), &frame()).matches('A').count(), 12);
    }

    #[test]
    fn hatches_have_names_of_their_own() {
        for (index, hatch) in Hatch::ALL.iter().enumerate() {
            assert!(Hatch::ALL[index + 1..].iter().all(|other| other.id() != hatch.id()));
        }
        for material in Material::ALL {
            assert!(Hatch::ALL.contains(&Hatch::of(material)));
        }
    }
}
