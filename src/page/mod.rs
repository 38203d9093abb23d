//! Page: see the crate documentation.
