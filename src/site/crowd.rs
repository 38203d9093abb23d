//! Crowd areas.
use super::obstacle::PlanPoint;
use super::outline;

/// A crowd area, prepared.
#[derive(Clone, Debug)]
pub(super) struct CrowdArea {
    pub obstacle: u16,
    pub corners: Vec<PlanPoint>,
    pub density: f64,
    pub head_height: f64,
}

impl CrowdArea {
    pub fn new(obstacle: u16, corners: Vec<PlanPoint>, density: f64, head_height: f64) -> Self {
        Self { obstacle, corners, density, head_height }
    }

    /// How many people stand here on average.
    pub fn people(&self) -> f64 {
        self.density * outline::signed_area(&self.corners).abs()
    }
}
