//! A picture of a site plan under the drawing, from the person's own disk. It stays in this browser: it is no part of the
//! plan, its file or its link.
//!
//! `placing` decides (which files are taken, before they are unpacked; how a picture lies) and is tested natively,
//! `lay` has `pictures.js` carry it out. That script is all there is of IndexedDB: it does what it is told under the id
//! of the plan, and answers by an event. Pictures of plans that have left the list go at the next start, so that a plan
//! that is put back still has its own.

#[cfg(target_arch = "wasm32")]
mod lay;
#[cfg(target_arch = "wasm32")]
mod panel;
pub mod placing;

#[cfg(target_arch = "wasm32")]
pub use lay::{Laid, Underlay, only, use_underlay};
#[cfg(target_arch = "wasm32")]
pub use panel::panel;
