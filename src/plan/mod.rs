//! Plan: see the crate documentation.
