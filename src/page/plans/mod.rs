//! Plans that last: kept in the browser as they are changed, opened from files and links, passed on.
//!
//! - [`record`]: a kept plan as it lies in the store
//! - [`keeper`]: which plan is on the desk, and that none is lost, also between tabs
//! - [`notice`]: what is said about plans
//! - `desk_plans`: joins these to the browser; `sheet` and `notices` show them
//!
//! Texts are kept under keys, in memory where the browser refuses. Whatever puts another plan on the desk sends a wish
//! and never opens it by itself: so the plan from before is kept, and the new one gets a place of its own in the list.

#[cfg(target_arch = "wasm32")]
pub mod desk_plans;
pub mod keeper;
pub mod notice;
#[cfg(target_arch = "wasm32")]
pub mod notices;
pub mod record;
#[cfg(target_arch = "wasm32")]
pub mod sheet;
