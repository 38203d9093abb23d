//! Two ends joined: an instant, a lap, a verdict and its reasons.
//!
//! In reading order:
//!
//! - [`report`]: what an evaluation says
//! - [`end`]: an antenna turned into the world, with what shades it
//! - [`hear`]: one instant: mean power, K-factor, draws of the crowd
//! - [`stages`], [`explain`]: the same instant taken apart, in words
//! - [`lap`], [`judge`]: a lap's columns, its share of picture and its reserve
//! - [`cause`]: why the worst place is the worst
//! - [`kit`], [`flight`], [`carry`]: from the plan to what the stages read
//! - [`evaluator`]: the stages, each kept until what it reads changes
//! - [`sheet`]: the report written out
//!
//! ```
//! use lapmargin::link::{Effort, Evaluator};
//! let plan = lapmargin::plan::demo::demo();
//! let report = Evaluator::default().report(&plan, Effort::FULL);
//! assert_eq!(report.entries.len(), plan.entries.len());
//! ```

pub mod carry;
pub mod cause;
pub mod end;
pub mod evaluator;
pub mod explain;
pub mod flight;
pub mod hear;
pub mod judge;
mod judge_entry;
pub mod kit;
pub mod lap;
pub mod report;
pub mod sheet;
pub mod stage;
pub mod stages;

pub use evaluator::{Effort, Evaluator, ExplainError};
