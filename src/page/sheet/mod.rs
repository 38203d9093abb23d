//! The sheet to print and take along, as a program of its own: opened as `#view=sheet&plan=…`.
//!
//! What stands on it ([`content`]), its codes for phones ([`card`], [`qr`]), the drawing ([`course`]) and the files ([`figure`], [`table`]) are made natively, too,
//! and tested there; `view` shows them.
//!
//! It takes the plan from the address, else the one that `plans::keeper` would put on the desk, judges it in the window
//! and simulates its laps a few at a time. The drawing is a tree of elements that carry their looks as attributes, so
//! that page, paper and file show the same thing, and names are text in all of them. The letters of a sheet must not
//! shrink, so nothing is scaled: `leaf` measures what the words take and gives the drawing the height that is left;
//! where even the least drawing leaves too little, lines and boxes stand closer (`is-tight`).
//!
//! A pilot's code holds at most 154 bytes (version 7), so it says how it is shortened, and begins with a word of ours,
//! so that a name cannot pass for an address. A block of eight is as high as such a code, 21.2 mm.

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
