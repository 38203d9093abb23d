//! Two ends joined: an instant, a lap, a verdict and its reasons.
//!
//! In reading order:
//!
//! - [`report`]: what an evaluation says
//! - [`end`]: an antenna turned into the world, with what shades it
//! - [`hear`]: one instant: mean power, K-factor, draws of the crowd
//! - [`stages`], [`explain`]: the same instant taken apart, in words
//! - [`lap`], [`judge`]: a lap's columns, its share of picture and its reserve
//! - [`cautions`]: what to go through before anyone flies
//! - [`cause`]: why the worst place is the worst
//! - [`kit`], [`flight`], [`carry`]: from the plan to what the stages read
//! - [`evaluator`]: the stages, each kept until what it reads changes
//! - [`track`], [`wander`], [`flown`], [`breakups`]: the lap as time passes, flown many times
//! - [`wideband`]: delays, and pictures that average over a channel
//! - [`map`]: what a receiver makes of every place of the site
//! - [`pair`]: one link by itself, as it stands on a bench
//! - [`picture`]: what a screen shows of it, as an illustration
//! - [`progress`]: how far what is done in steps has come
//! - [`sheet`]: the report written out
//! - [`side_view`](mod@side_view): a sight line from the side, with the room that its first zone has
//!
//! ```
//! use lapmargin::link::{Effort, Evaluator};
//! let plan = lapmargin::plan::demo::demo();
//! let report = Evaluator::default().report(&plan, Effort::FULL);
//! assert_eq!(report.entries.len(), plan.entries.len());
//! ```

pub mod breakups;
pub mod carry;
pub mod cause;
pub mod cautions;
pub mod end;
pub mod evaluator;
pub mod explain;
mod fast;
pub mod flight;
pub mod flown;
pub mod hear;
pub mod judge;
mod judge_entry;
pub mod kit;
pub mod lap;
pub mod map;
pub mod pair;
pub mod picture;
pub mod progress;
pub mod report;
pub mod sheet;
pub mod side_view;
pub mod stage;
pub mod stages;
pub mod track;
pub mod wander;
pub mod wideband;

pub use evaluator::{Effort, Evaluator, ExplainError};
