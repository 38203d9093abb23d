//! The map of the site on the course drawing: what the chosen entry's receiver makes of every place.
//!
//! [`choice`] is what a person chooses, [`survey`] the cells on their way through several workers, [`picture`] what is drawn of
//! them; all three are plain code with tests. The rest is built for the browser.

pub mod choice;
#[cfg(target_arch = "wasm32")]
mod layer;
#[cfg(target_arch = "wasm32")]
mod panel;
pub mod picture;
pub mod survey;
#[cfg(target_arch = "wasm32")]
mod work;

#[cfg(target_arch = "wasm32")]
pub use work::use_map;
