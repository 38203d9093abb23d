//! Two ends joined: an instant, a lap, a verdict and its reasons.
//!
//! The modules in layers, with what they offer. Each uses only modules that are named before it; `cargo xtask lint` holds
//! that there is no circle.
//!
//! 1. What everything speaks of.
//!    - [`effort`]: [`Effort`], how thoroughly a plan is evaluated
//!    - [`progress`]: [`progress::Progress`], how far what is done in steps has come
//!    - [`finding`]: [`finding::SafetyFinding`] and [`finding::SharedChannel`], what a report says of safety and shared channels
//!    - [`report`]: [`report::Report`] and all that it holds, [`report::Explanation`], [`report::Notice`]
//!    - [`stage`](mod@stage): results that are kept until what they read changes
//!    - [`end`]: [`end::End`], an antenna turned into the world, with what shades it
//!    - [`cautions`]: what to go through before anyone flies
//!    - [`side_view`](mod@side_view): a sight line from the side, with the room that its first zone has
//! 2. From the plan.
//!    - [`flight`]: [`flight::Flight`], the lap that all entries fly
//!    - [`place`]: [`place::Place`], the site with its crowd and its names; [`place::Met`], what a path meets there
//! 3. [`paths`]: what the way does to a wave, [`paths::Carried`], and how phases and scatter mix, [`paths::Mixing`]
//! 4. [`kit`]: [`kit::Kit`], an entry's radio side with one choice of hands; [`wideband`]: delays, and pictures that average
//!    over a channel
//! 5. [`hear`]: one instant at one port: [`hear::Heard`], mean power, K-factor and cases
//! 6. [`outage`](mod@outage): how often the picture is lost, in one case and over a lap; [`outage::Fading`] and the reserve
//! 7. [`receiver`]: [`receiver::ReceiverPorts`], what a receiver makes of its ports, slow or fast
//! 8. What is made of it.
//!    - [`verdict`](mod@verdict): the verdict for a reserve, its confidence, the worst stretch
//!    - [`stages`], [`explain`]: an instant taken apart, in words
//!    - [`lap`]: a lap's columns, its share of picture and its reserve
//!    - [`cause`](mod@cause): why the worst place is the worst
//!    - `judge_entry`: all of that for one entry, with the hands that do worst
//!    - [`safety`], [`same_channel`]: where the line comes too near to people and things, and who shares a channel
//! 9. Of its own.
//!    - [`wander`], [`track`], [`flown`], [`breakups`]: the lap as time passes, simulated many times
//!    - [`map`]: what a receiver makes of every place of the site
//!    - [`pair`]: one link by itself, as it stands on a bench
//!    - [`picture`]: what a screen shows of it, as an illustration
//!    - [`arbiter`]: what simulated laps say beside a verdict; [`allowed`]: what is sent beside the picked limit
//! 10. [`evaluator`]: [`Evaluator`], the stages in order, each kept until what it reads changes; [`work`]: what would take too long
//! 11. [`sheet`]: the report written out
//!
//! ```
//! use lapmargin::link::{Effort, Evaluator};
//! let plan = lapmargin::plan::demo::demo();
//! let report = Evaluator::default().report(&plan, Effort::FULL);
//! assert_eq!(report.entries.len(), plan.entries.len());
//! ```

pub mod allowed;
pub mod arbiter;
pub mod breakups;
pub mod cause;
pub mod cautions;
pub mod crowd_cells;
pub mod effort;
pub mod end;
pub mod evaluator;
pub mod explain;
pub mod finding;
pub mod flight;
pub mod flown;
pub mod hear;
mod judge_entry;
pub mod kit;
pub mod lap;
pub mod map;
pub mod outage;
pub mod pair;
pub mod paths;
pub mod picture;
pub mod place;
pub mod progress;
pub mod receiver;
pub mod report;
pub mod safety;
pub mod same_channel;
pub mod sheet;
pub mod side_view;
pub mod stage;
pub mod stages;
pub mod track;
pub mod verdict;
pub mod wander;
pub mod wideband;
pub mod work;

pub use effort::Effort;
pub use evaluator::{Evaluator, ExplainError};
