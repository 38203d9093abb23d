//! The built page in a real browser. `cargo xtask test` builds the page and runs these; by hand, after `trunk build`:
//! `cargo test --test browser`.
//!
//! A new test is an `async fn` under `#[tokio::test]` that begins with `let Some(visit) = visit::open("").await else { return };`
//! and talks to `visit.driver`. Where there is no browser or no built page, that line reports the test as skipped.

mod desk;
mod drawing;
mod opening;
mod static_host;
mod visit;
