//! What an obstacle puts in a path's way, as geometry without a frequency.

use super::obstacle::ObstacleKind;

/// One obstacle on or near a leg of a path. What it costs depends on the frequency: see
/// [`TunedScene::shadow`](super::TunedScene::shadow).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Obstruction {
    /// Index of the obstacle in [`Site::obstacles`](super::Site::obstacles).
    pub obstacle: u16,
    /// Its kind.
    pub kind: ObstacleKind,
    /// The leg of the path that it stands on: 0 before the first bounce.
    pub leg: u8,
    /// Obstructions of one run are weighed together: a leg, or both legs of a ground bounce, which lie in one upright
    /// plane.
    pub(super) run: u8,
    /// Length of the whole path.
    pub(super) total: f64,
    pub(super) effect: Effect,
}

/// How it obstructs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Effect {
    /// An opaque outline with ways round it, and a wall or two to go through.
    Screen(Screen),
    /// Metres of foliage on the way, what they cost in dB, and how far the leg passes by at which point.
    Foliage { loss: f64, gap: Edge },
    /// A narrow or open thing: the field loses the covered share of what would pass its rectangle.
    Strip(Strip),
    /// Fabric on the way: its loss in dB, and how far the leg passes by at which point.
    Fabric { loss: f64, gap: Edge },
}

/// A rectangle across the ray, in Fresnel measure, of which a share is covered.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Strip {
    pub sides: (f64, f64),
    /// Minus infinity for the lower end of what stands on the ground.
    pub ends: (f64, f64),
    pub covered: f64,
}

/// An edge: how far it stands from the ray, and where along the whole path.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Edge {
    pub offset: f64,
    pub at: f64,
    /// The offset in Fresnel measure, `offset √(1/d1 + 1/d2)`: times `√(2/λ)` it is the diffraction parameter.
    pub measure: f64,
}

/// The outline of an obstacle as the ray sees it; across the ray, left edge below right, bottom below top, each with its
/// own place along the path.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Screen {
    /// The side edges, in Fresnel measure.
    pub low: f64,
    pub high: f64,
    /// Minus infinity for what stands on the ground.
    pub bottom: Edge,
    /// The top where the ray goes in, and where it comes out; the same for a thin wall.
    pub entry: Edge,
    pub exit: Edge,
    /// The top beside the ray, as high as it counts there.
    pub shoulder: Edge,
    /// What it is made of, see [`Scene::layers`](super::Scene::layers).
    pub layer: u16,
    /// How many walls a wave through it has to pass, and the cosine of its incidence on them.
    pub walls: u8,
    pub cosines: [f64; 2],
}

impl Effect {
    /// Screens first, by their place on the path; the rest behind them.
    pub(super) fn rank(&self) -> f64 {
        match self {
            Effect::Screen(screen) => screen.entry.at + screen.exit.at,
            Effect::Foliage { .. } | Effect::Fabric { .. } | Effect::Strip(_) => f64::INFINITY,
        }
    }
}
