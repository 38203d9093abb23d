//! Course: see the crate documentation.
