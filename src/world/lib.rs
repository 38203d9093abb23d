//! Units, radio waves, courses and sites: the layers below the plan. The crate `lapmargin` shows them under its own name.

pub mod course;
pub mod rf;
pub mod site;
pub mod units;
