//! Lapmargin plans the radio side of a small-drone race before anyone flies.
//!
//! The modules in reading order; each uses only those above it:
//!
//! - [`units`]: decibels, levels, frequencies and lengths that cannot be mixed up
//! - [`rf`]: the physics of one wave; usable alone
//! - [`course`]: gates, the flight line through them, attitude, samples of a lap
//! - [`site`]: ground, walls, stalls, trees and crowd, and the paths between two points
//! - [`packing`]: text made small for an address
//! - [`plan`]: the document that a person edits
//! - [`link`]: two ends together: an instant, a lap, a verdict and its reasons
//! - `page`, a package of its own: the browser page

pub use lapmargin_world::{course, rf, site, units};

pub mod link;
pub mod packing;
pub mod plan;

/// The example of `docs/model.md` runs with the tests of the documentation.
#[cfg(doctest)]
#[doc = include_str!("../docs/model.md")]
pub struct Model;
