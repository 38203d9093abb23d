//! The browser page, see [`page`]. The core's modules stand beside it under their own names, so that a path reads the same
//! in the page as it does below it.

pub use lapmargin::{course, link, plan, rf, site, stored_fields, stored_words, units};

#[path = "mod.rs"]
pub mod page;
