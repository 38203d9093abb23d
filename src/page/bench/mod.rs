//! The bench: one link by itself, its wave, its picture, and five short demonstrations; a program of its own.
//!
//! - [`state`]: the link on the bench with its history, and its address
//! - [`plans`]: a link out of the plan on the desk, an antenna back into it
//! - [`figures`]: every figure beside the budget, with formula and source
//! - [`curve_sheet`], [`profile`]: where curves and the link's side view lie in their drawings
//! - [`polar`], [`table_words`]: a measured antenna as a plot and in words
//! - [`wave`]: the wave between the antennas, drawn as it travels
//! - [`picture`]: what the receiver's screen shows of it
//! - [`shows`]: five demonstrations, the table mode, and the tilt of a phone
//! - `app` shows them, with `link_form`, `measured`, `budget` and `curves`

#[cfg(target_arch = "wasm32")]
mod app;
#[cfg(target_arch = "wasm32")]
mod budget;
pub mod curve_sheet;
#[cfg(target_arch = "wasm32")]
mod curves;
pub mod figures;
#[cfg(target_arch = "wasm32")]
mod link_form;
#[cfg(target_arch = "wasm32")]
mod measured;
pub mod picture;
pub mod plans;
pub mod polar;
pub mod profile;
pub mod shows;
pub mod state;
pub mod table_words;
pub mod wave;

#[cfg(target_arch = "wasm32")]
pub use app::start;
