//! The plan: the document that a person edits, from its stored text to what the lower layers compute with.
//!
//! In reading order:
//!
//! - [`document`]: the types, as plain data
//! - [`limits`]: the range of every number and the size of every list, with reasons
//! - [`check`]: everything a plan says that cannot be, as problems with path, value and what is allowed
//! - [`load`](mod@load): from text to plan and back; a stored plan with a problem is refused with its reason
//! - [`plan_link`]: a plan carried in an address
//! - `reader`: JSON into these types, with the path of whatever is refused
//! - `json_text`: JSON set out in lines
//! - [`edit`]: changes of one part, refused if they make a problem
//! - [`part`]: what stands on the site, each with what the plan says of it
//! - [`layout`]: parts that come, go and change places
//! - [`pilots`]: the same for pilots with their receivers and seats
//! - `chair`: where one more chair may stand
//! - `shape`: what the kinds of obstacle have in common when they are drawn
//! - [`fresh`]: what a new plan and a new part look like
//! - [`presets`]: typical values of generic kit, and from "I don't know" to numbers with bands
//! - [`antenna_csv`]: a measured antenna from a table of comma-separated values
//! - [`channels`]: the lettered channel tables
//! - [`demo`](mod@demo): the plan that the page opens with
//! - [`convert`]: the inputs of course and site, and the turns of antennas

pub mod antenna_csv;
mod chair;
pub mod channels;
pub mod check;
pub mod convert;
pub mod demo;
pub mod document;
pub mod edit;
pub mod fresh;
mod json_text;
pub mod layout;
pub mod limits;
pub mod load;
pub mod part;
pub mod pilots;
pub mod plan_link;
pub mod presets;
mod reader;
pub mod shape;

pub use demo::demo;
pub use load::{load, save};
