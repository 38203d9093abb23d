//! A picture of a site plan under the drawing, from the person's own disk. It stays in this browser: it is no part of the
//! plan, its file or its link.

#[cfg(target_arch = "wasm32")]
mod lay;
#[cfg(target_arch = "wasm32")]
mod panel;
pub mod placing;

#[cfg(target_arch = "wasm32")]
pub use lay::{Laid, Underlay, only, use_underlay};
#[cfg(target_arch = "wasm32")]
pub use panel::panel;
