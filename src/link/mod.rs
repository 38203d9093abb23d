//! Link: see the crate documentation.

pub mod report;
