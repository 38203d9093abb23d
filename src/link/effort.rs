//! How thoroughly a plan is evaluated.

use crate::site::BounceOrder;

/// How thoroughly a lap is traced.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Effort {
    /// How often a path may bounce.
    pub bounces: BounceOrder,
}

impl Effort {
    /// Up to one bounce.
    pub const FULL: Effort = Effort { bounces: BounceOrder::Single };

    /// The same with another number of bounces.
    pub const fn with_bounces(self, bounces: BounceOrder) -> Self {
        Self { bounces }
    }
}
