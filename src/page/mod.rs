//! The browser page: it shows reports, formats numbers, and sends edits. No physics here.

pub mod state;
