//! Link: see the crate documentation.
