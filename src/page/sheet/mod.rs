//! The sheet to print and take along, as a program of its own: opened as `#view=sheet&plan=…`.
//!
//! What stands on it ([`content`]), its codes for phones ([`card`], [`qr`]), the drawing ([`course`]) and the files ([`figure`], [`table`]) are made natively, too,
//! and tested there; `view` shows them.

pub mod card;
pub mod checks;
pub mod content;
pub mod course;
pub mod figure;
pub mod labels;
#[cfg(target_arch = "wasm32")]
mod laps;
#[cfg(target_arch = "wasm32")]
mod leaf;
pub mod mark;
pub mod paper;
pub mod qr;
#[cfg(target_arch = "wasm32")]
mod saving;
pub mod source;
#[cfg(target_arch = "wasm32")]
mod style;
pub mod table;
#[cfg(target_arch = "wasm32")]
mod view;

#[cfg(target_arch = "wasm32")]
pub use view::start;
