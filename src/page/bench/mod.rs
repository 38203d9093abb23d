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
//!
//! It reads the plan on the desk from the store and never writes there: an antenna goes back as a plan link, which the
//! planner puts into its list beside the plan it came from. Its styles come with it.
//!
//! What is seen here has its physics below the page: `rf::wave` follows one wave between two antennas, hand by hand,
//! past a wall; [`wave`] says where that stands on paper at a phase, and its component writes it into the drawing's
//! attributes before each frame, past the components' own rendering. `link::picture` draws what a screen shows: pure,
//! seeded, a millisecond a field. A demonstration is a link with words; its test holds that the link does what the
//! words say.

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
