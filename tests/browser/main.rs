//! The built page in a real browser. `cargo xtask test` builds the page and runs these; by hand, after `cargo xtask dist`:
//! `cargo test --test browser`.
//!
//! A new test is an `async fn` under `#[tokio::test]` that begins with `let Some(visit) = visit::open("").await else { return };`
//! and talks to `visit.driver`. Where there is no browser or no built page, that line reports the test as skipped.

mod accessible;
mod antenna_table;
mod bench;
mod browsers;
mod desk;
mod drawing;
mod enlarged;
mod fingers;
mod flying;
mod laps;
#[allow(dead_code, reason = "other programs draw sizes, too")]
#[path = "../limit_plans.rs"]
mod limit_plans;
mod limits;
mod map;
mod offline;
mod opening;
mod own_yard;
mod picked;
mod picture;
mod pilots;
mod plans;
mod scenes;
mod second_browser;
mod sheet;
mod static_host;
mod together;
mod visit;
mod wave;
mod yard;
