//! The place: ground, walls, buildings, canopies, trees and crowd, and the paths between two points of it.
//!
//! Plain inputs: it has never heard of a plan, an antenna or a lap. A [`Site`] is checked and prepared once into a
//! [`Scene`]; [`Scene::trace`] finds the paths between two points by geometry alone; a [`TunedScene`] says what bounces
//! and obstacles do to them at one carrier.
//!
//! ```
//! use lapmargin::rf::{Vec3, material::Material};
//! use lapmargin::site::{BounceOrder, Ground, Layer, Obstacle, Paths, PlanPoint, Scene, Site, SlabModel, Wall};
//! use lapmargin::units::{Hertz, Metres};
//!
//! let site = Site {
//!     ground: Ground { material: Material::MediumDryGround, roughness: Metres(0.0) },
//!     obstacles: vec![Obstacle::Wall(Wall {
//!         from: PlanPoint::new(-20.0, 6.0),
//!         to: PlanPoint::new(20.0, 6.0),
//!         base: Metres(0.0),
//!         top: Metres(4.0),
//!         layer: Layer { material: Material::Brick, thickness: Metres(0.22) },
//!     })],
//! };
//! let scene = Scene::new(&site, Hertz(5.6e9))?;
//! let carrier = scene.tuned(Hertz(5.8e9))?;
//! let mut paths = Paths::new();
//! scene.trace(&Vec3::new(0.0, 0.0, 1.3), &Vec3::new(15.0, 2.0, 2.5), BounceOrder::Single, &mut paths);
//! assert_eq!(paths.len(), 3); // direct, ground, wall
//! for path in paths.iter() {
//!     assert_eq!(carrier.path_amplitude(&path), 1.0); // nothing stands in the way
//!     assert!((carrier.faces_amplitude(&path) - 1.0).abs() < 0.1); // all faces are wide enough
//!     let _matrix = carrier.interaction(&path, SlabModel::Averaged);
//! }
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod aperture;
mod crowd;
mod images;
mod index;
mod nearness;
mod obstacle;
mod obstruction;
mod outline;
mod scene;
mod section;
mod shadow;
mod strip;
mod trace;
mod tuned;

pub use aperture::Aperture;
pub use crowd::CrowdDraws;
pub use images::Images;
pub use nearness::Solid;
pub use obstacle::{
    Barrier, Building, Canopy, Crowd, DENSEST_CROWD, FABRIC_DRY, FABRIC_WET, FARTHEST, Frame, Ground, Layer,
    MOST_CORNERS, MOST_OBSTACLES, MOST_PEOPLE, Obstacle, ObstacleFault, ObstacleKind, PERSON_HEIGHT, Panel, PlanPoint,
    ROUGHEST_GROUND, SHORTEST_SIDE, Site, SiteError, Tree, Wall,
};
pub use obstruction::Obstruction;
pub use scene::{Scene, Surface};
pub use section::{Cut, section};
pub use trace::{Bounce, BounceOrder, Paths, Pruned, SHORTEST_PATH, TracedPath};
pub use tuned::{Shadow, SlabModel, TunedScene, WIDEST_CLEARANCE, Way};
