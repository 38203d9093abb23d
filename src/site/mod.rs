//! Site: see the crate documentation.
