//! How far a computation has come that is done step by step.

/// Parts done and parts in all: cells of a map, laps in time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// Parts done.
    pub done: usize,
    /// Parts in all.
    pub of: usize,
}

impl Progress {
    /// Whether there is more to do.
    pub fn is_pending(self) -> bool {
        self.done < self.of
    }
}
