//! The browser page: components, the document's state, storage, and the worker that computes.
//!
//! What needs a browser is compiled for it alone; the rest also compiles natively, where it is tested. No physics here:
//! the page shows reports, formats numbers in one place ([`format`]) and sends edits to one reducer ([`state`]).

#[cfg(target_arch = "wasm32")]
mod app;
#[cfg(target_arch = "wasm32")]
pub mod bridge;
#[cfg(target_arch = "wasm32")]
mod cautions;
#[cfg(target_arch = "wasm32")]
mod circumstances;
pub mod draft;
pub mod drawing;
#[cfg(target_arch = "wasm32")]
mod editor;
#[cfg(target_arch = "wasm32")]
mod equipment;
#[cfg(target_arch = "wasm32")]
mod evaluation;
#[cfg(target_arch = "wasm32")]
pub mod fields;
pub mod files;
pub mod format;
pub mod hand_plot;
#[cfg(target_arch = "wasm32")]
mod hands;
pub mod jobs;
#[cfg(target_arch = "wasm32")]
mod masthead;
pub mod measure;
#[cfg(target_arch = "wasm32")]
mod message;
pub mod moved;
pub mod notes;
pub mod parcel;
pub mod parts;
pub mod preferences;
pub mod requests;
pub mod results;
#[cfg(test)]
mod sample_report;
#[cfg(target_arch = "wasm32")]
mod settings;
pub mod state;
pub mod storage;
#[cfg(target_arch = "wasm32")]
mod verdict_notes;
#[cfg(target_arch = "wasm32")]
pub mod verdicts;
pub mod wording;
pub mod worker;

#[cfg(target_arch = "wasm32")]
pub use app::App;
