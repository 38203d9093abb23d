//! A plan's site prepared, with its crowd and its names, and what a path meets there, in words.

use super::report::Notice;
use super::stage::Weighed;
use crate::plan::convert;
use crate::plan::document::Plan;
use crate::rf::Vec3;
use crate::site::{CrowdDraws, Paths, Scene, TracedPath, TunedScene};
use crate::units::{Db, Hertz};

/// Draws of the crowd that outage is averaged over: so many that another seed moves the reserve of a seat close behind a
/// crowd by 0.15 dB (standard deviation, `tests/crowd.rs`).
pub const CROWD_DRAWS: usize = 96;

/// The carrier a scene is prepared for when no entry names one.
const LOWEST_CARRIER: Hertz = Hertz(5.6e9);

/// An obstacle outside the first Fresnel zone that costs less than this is not worth naming.
const NO_LOSS: Db = Db(0.05);

/// A scene with its crowd.
#[derive(Debug)]
pub struct Place {
    /// The prepared site.
    pub scene: Scene,
    /// The draws of its crowd.
    pub crowd: CrowdDraws,
    /// Names of its obstacles, in order, and behind them of the gates' frames.
    pub names: Vec<String>,
    /// Ids of its obstacles, in order; the gates' frames are none of the plan's.
    pub ids: Vec<String>,
}

impl Weighed for Result<Place, Notice> {}

/// What a path met on its way, in words: from the geometry stage, which knows names.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Met {
    /// What it bounced off.
    pub via: Vec<String>,
    /// Its corner points.
    pub points_m: Vec<[f64; 3]>,
    /// Least Fresnel clearance, in radii of the first zone; `None` when nothing is near.
    pub clearance: Option<f64>,
    /// What obstructs it most.
    pub obstructed_by: Option<String>,
}

/// The lowest carrier that an entry names.
pub fn lowest_carrier(plan: &Plan) -> Option<f64> {
    plan.entries.iter().map(|entry| entry.channel_hz).filter(|hertz| hertz.is_finite()).min_by(f64::total_cmp)
}

impl Place {
    /// Prepares the site of a plan for the carriers of its entries.
    ///
    /// # Errors
    /// A blocking notice when there is something on the site that cannot be.
    pub fn of(plan: &Plan) -> Result<Self, Notice> {
        let lowest = lowest_carrier(plan).map_or(LOWEST_CARRIER, Hertz);
        let scene = Scene::new(&convert::site_with_frames(plan), lowest)
            .map_err(|error| Notice::blocking("site", error.to_string()))?;
        let crowd = CrowdDraws::new(&scene, u64::from(plan.seed), CROWD_DRAWS);
        let obstacles = &plan.site.obstacles;
        let framed = plan.course.gates.iter().filter(|gate| gate.frame.is_some());
        let frames = framed.map(|gate| format!("the frame of {}", gate.name));
        Ok(Self {
            scene,
            crowd,
            names: obstacles.iter().map(|obstacle| obstacle.name.clone()).chain(frames).collect(),
            ids: obstacles.iter().map(|obstacle| obstacle.id.clone()).collect(),
        })
    }

    /// Refuses a seat inside a building.
    ///
    /// # Errors
    /// A sentence that names the building.
    pub fn in_the_open(&self, seat: &Vec3) -> Result<(), String> {
        let Some(obstacle) = self.scene.inside(seat) else { return Ok(()) };
        let name = self.names.get(usize::from(obstacle)).map_or("a building", String::as_str);
        Err(format!("this seat stands inside {name}: move it outside"))
    }

    /// What a path met on its way, in words; `tuned` is the place's scene at the carrier.
    pub fn met(&self, tuned: &TunedScene<'_>, path: &TracedPath<'_>) -> Met {
        let name = |obstacle: u16| self.names.get(usize::from(obstacle)).cloned().unwrap_or_default();
        let via =
            path.bounces.iter().map(|bounce| bounce.obstacle.map_or_else(|| "the ground".to_owned(), name)).collect();
        let mut worst: Option<(u16, f64, Db)> = None;
        for obstruction in path.obstructions {
            let shadow = tuned.shadow(obstruction);
            if shadow.loss.0.abs() < NO_LOSS.0 && shadow.clearance > 1.0 {
                continue;
            }
            if worst.is_none_or(|(_, clearance, loss)| (shadow.loss.0, -shadow.clearance) > (loss.0, -clearance)) {
                worst = Some((obstruction.obstacle, shadow.clearance, shadow.loss));
            }
        }
        Met {
            via,
            points_m: std::iter::once(path.from)
                .chain(path.bounces.iter().map(|bounce| self.scene.meeting_point(bounce)))
                .chain(std::iter::once(path.to))
                .map(|point| [point.x, point.y, point.z])
                .collect(),
            clearance: worst.map(|(_, clearance, _)| clearance),
            obstructed_by: worst.map(|(obstacle, ..)| name(obstacle)),
        }
    }

    /// Id of the obstacle that takes most of the direct path, if one takes anything.
    pub fn most_in_the_way(&self, tuned: &TunedScene<'_>, paths: &Paths) -> Option<String> {
        let direct = paths.get(0)?;
        direct
            .obstructions
            .iter()
            .map(|obstruction| (obstruction.obstacle, tuned.shadow(obstruction).loss.0))
            .filter(|&(_, loss)| loss > 0.0)
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .and_then(|(obstacle, _)| self.ids.get(usize::from(obstacle)).cloned())
    }
}
