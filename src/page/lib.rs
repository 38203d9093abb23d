//! The browser page: components, the document's state, storage, and the worker that computes.
//!
//! What needs a browser is compiled for it alone; the rest also compiles natively, where it is tested. No physics here:
//! the page shows reports, formats numbers in one place ([`format`]) and sends edits to one reducer ([`state`]).
//! The core's modules stand beside it under their own names, so that a path reads the same in the page as below it.

pub use lapmargin::{course, link, plan, rf, site, stored_fields, stored_words, units};

pub mod address;
#[cfg(target_arch = "wasm32")]
mod app;
pub mod bench;
#[cfg(target_arch = "wasm32")]
pub mod bridge;
#[cfg(target_arch = "wasm32")]
mod canvas;
pub mod caution_words;
#[cfg(target_arch = "wasm32")]
mod cautions;
#[cfg(target_arch = "wasm32")]
mod circumstances;
#[cfg(target_arch = "wasm32")]
mod device;
pub mod draft;
pub mod drawing;
#[cfg(target_arch = "wasm32")]
mod editor;
#[cfg(target_arch = "wasm32")]
mod elements;
#[cfg(target_arch = "wasm32")]
mod equipment;
#[cfg(target_arch = "wasm32")]
mod evaluation;
#[cfg(target_arch = "wasm32")]
pub mod fields;
pub mod files;
pub mod flying;
pub mod format;
pub mod hand_plot;
#[cfg(target_arch = "wasm32")]
mod hands;
pub mod history;
pub mod in_time;
pub mod jobs;
#[cfg(target_arch = "wasm32")]
pub mod kept;
pub mod map;
#[cfg(target_arch = "wasm32")]
mod masthead;
pub mod measure;
#[cfg(target_arch = "wasm32")]
mod message;
#[cfg(target_arch = "wasm32")]
mod motion;
pub mod moved;
#[cfg(target_arch = "wasm32")]
mod new_plan;
pub mod notes;
#[cfg(target_arch = "wasm32")]
mod own_style;
pub mod parcel;
pub mod parts;
#[cfg(target_arch = "wasm32")]
mod pilots_pictures;
pub mod plans;
pub mod preferences;
pub mod requests;
pub mod results;
#[cfg(test)]
mod sample_report;
#[cfg(target_arch = "wasm32")]
mod settings;
pub mod sheet;
pub mod state;
pub mod storage;
pub mod underlay;
#[cfg(target_arch = "wasm32")]
mod undo_keys;
#[cfg(target_arch = "wasm32")]
mod verdict_notes;
#[cfg(target_arch = "wasm32")]
pub mod verdicts;
pub mod wording;
pub mod worker;

#[cfg(target_arch = "wasm32")]
pub use app::App;
