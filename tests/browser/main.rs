//! The built page in a real browser. `cargo xtask test` builds the page and runs these; by hand, after `trunk build`:
//! `cargo test --test browser`.
//!
//! A new test is an `async fn` under `#[tokio::test]` that begins with `let Some(visit) = visit::open("").await else { return };`
//! and talks to `visit.driver`. Where there is no browser or no built page, that line reports the test as skipped.

<<<<<<< HEAD
mod desk;
=======
mod drawing;
>>>>>>> 7bf1be0 (Try the drawings under mouse and keyboard; give the ladder's reasons the whole width)
mod opening;
mod static_host;
mod visit;
