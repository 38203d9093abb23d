//! The browser page: it shows reports, formats numbers, and sends edits. No physics here.

pub mod draft;
pub mod format;
pub mod moved;
pub mod preferences;
pub mod state;
pub mod storage;
pub mod wording;
