//! The browser page: it shows reports, formats numbers, and sends edits. No physics here.
//!
//! What needs a browser is compiled for it alone; the rest also compiles natively, where it is tested.

#[cfg(target_arch = "wasm32")]
mod app;
#[cfg(target_arch = "wasm32")]
pub mod bridge;
pub mod jobs;
pub mod measure;
#[cfg(target_arch = "wasm32")]
mod message;
pub mod worker;

#[cfg(target_arch = "wasm32")]
pub use app::App;
