//! Units, radio waves, courses and sites: the layers below the plan. The crate `lapmargin` shows them under its own name.

#[path = "../course/mod.rs"]
pub mod course;
#[path = "../rf/mod.rs"]
pub mod rf;
#[path = "../site/mod.rs"]
pub mod site;
#[path = "../units.rs"]
pub mod units;
