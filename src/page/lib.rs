//! The browser page: components, the document's state, storage, and the worker that computes.
//!
//! What needs a browser is compiled for it alone; the rest also compiles natively, where it is tested. No physics here:
//! the page shows reports, formats numbers in one place ([`format`]) and sends edits to one reducer ([`state`]).
//! The core's modules stand beside it under their own names, so that a path reads the same in the page as below it.
//!
//! `index.html` opens `start.js?page=…&wasm=…`, which opens a program and its `main`. The worker is opened under the
//! address of the very same `start.js`, so one file starts one program twice, and `main` asks which of the two it is.
//! Names of built files carry hashes, which is why they stand in the address; inline scripts are forbidden by the
//! page's policy, which is why there is none.
//!
//! The page has two workers, and as many as the device has cores while a map is shown. One judges the lap, explains
//! instants and compares hands; the other simulates laps of a plan that has not changed for 0.4 s ([`in_time`]), a few
//! per job, so that a changed plan waits for no more than one job. A map is cut into shares, coarse cells first.
//! [`jobs`] decides which job goes to the worker and whose answer a message is, `bridge` carries that out in the
//! browser, `worker` answers. Answers travel as numbers, columns and text; JSON is for what a person keeps.

pub use lapmargin::{course, link, plan, rf, site, units};

pub mod address;
#[cfg(target_arch = "wasm32")]
mod app;
pub mod bench;
#[cfg(target_arch = "wasm32")]
pub mod bridge;
#[cfg(target_arch = "wasm32")]
mod canvas;
pub mod carriage;
pub mod caution_words;
#[cfg(target_arch = "wasm32")]
mod cautions;
pub mod change_sentence;
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
mod menus;
#[cfg(target_arch = "wasm32")]
mod message;
#[cfg(target_arch = "wasm32")]
mod motion;
#[cfg(target_arch = "wasm32")]
mod new_plan;
pub mod notes;
#[cfg(target_arch = "wasm32")]
mod own_style;
pub mod pages;
pub mod parcel;
pub mod parts;
#[cfg(target_arch = "wasm32")]
mod pilots;
#[cfg(target_arch = "wasm32")]
mod pilots_pictures;
pub mod plans;
pub mod preferences;
pub mod requests;
pub mod results;
#[cfg(target_arch = "wasm32")]
mod safety;
#[cfg(test)]
mod sample_report;
#[cfg(target_arch = "wasm32")]
mod settings;
pub mod sheet;
pub mod state;
pub mod steps;
pub mod storage;
pub mod underlay;
#[cfg(target_arch = "wasm32")]
mod undo_keys;
#[cfg(target_arch = "wasm32")]
mod verdict_notes;
#[cfg(target_arch = "wasm32")]
pub mod verdicts;
pub mod window;
pub mod wording;
pub mod worker;

#[cfg(target_arch = "wasm32")]
pub use app::App;
