//! How thoroughly a plan is evaluated.

use crate::site::BounceOrder;

/// How thoroughly a lap is sampled and traced.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Effort {
    /// The plan's step is taken this many times over, at least once.
    pub every: u32,
    /// How often a path may bounce.
    pub bounces: BounceOrder,
}

impl Effort {
    /// Every sample, with up to one bounce.
    pub const FULL: Effort = Effort { every: 1, bounces: BounceOrder::Single };
    /// Every fourth sample: enough while something is being dragged.
    pub const DRAG: Effort = Effort { every: 4, ..Self::FULL };

    /// The same with another number of bounces.
    pub const fn with_bounces(self, bounces: BounceOrder) -> Self {
        Self { bounces, ..self }
    }
}
