//! What the browser keeps for the next visit: the plan and the preferences.
//!
//! A browser may refuse to keep anything, or be full. Both are said on the page. A kept plan that cannot be read is put
//! aside under a key of its own, so that its text is not lost, and the page opens with the demo plan.

use crate::plan::document::Plan;

/// The kept plan.
#[cfg(target_arch = "wasm32")]
const PLAN: &str = "lapmargin.plan";
/// The text of a kept plan that could not be read.
#[cfg(target_arch = "wasm32")]
const UNREADABLE: &str = "lapmargin.plan-unreadable";
/// The preferences.
#[cfg(target_arch = "wasm32")]
const PREFERENCES: &str = "lapmargin.preferences";

/// What the page opens with.
#[derive(Clone, Debug, PartialEq)]
pub struct Opened {
    /// The plan on the desk.
    pub plan: Plan,
    /// A kept text that could not be read, and why.
    pub unreadable: Option<Unreadable>,
}

/// A kept text that is no plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unreadable {
    /// The text.
    pub text: String,
    /// Why it could not be read, as a sentence.
    pub why: String,
}

/// The plan to open with, given what was kept.
pub fn opened(kept: Option<String>, read: impl Fn(&str) -> Result<Plan, String>, demo: impl Fn() -> Plan) -> Opened {
    let Some(text) = kept else { return Opened { plan: demo(), unreadable: None } };
    match read(&text) {
        Ok(plan) => Opened { plan, unreadable: None },
        Err(why) => Opened { plan: demo(), unreadable: Some(Unreadable { text, why }) },
    }
}

/// Why something was not kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotKept {
    /// The browser keeps nothing for this page.
    #[error("This browser does not let the page keep anything. Save the plan as a file before you leave.")]
    Denied,
    /// There is no room left, or the browser otherwise refused this one.
    #[error("The browser has no room left to keep the plan. Save it as a file before you leave.")]
    Full,
}

#[cfg(target_arch = "wasm32")]
pub use browser::{keep_plan, keep_preferences, kept_plan, kept_preferences};

#[cfg(target_arch = "wasm32")]
mod browser {
    use super::{NotKept, Opened, PLAN, PREFERENCES, UNREADABLE, opened};
    use crate::page::preferences::{self, Preferences};
    use crate::plan::document::Plan;
    use crate::plan::{demo, load};

    /// The browser's storage; `None` where it is denied.
    fn storage() -> Option<web_sys::Storage> {
        web_sys::window()?.local_storage().ok()?
    }

    fn kept(key: &str) -> Option<String> {
        storage()?.get_item(key).ok()?
    }

    fn keep(key: &str, text: &str) -> Result<(), NotKept> {
        storage().ok_or(NotKept::Denied)?.set_item(key, text).map_err(|_| NotKept::Full)
    }

    /// The plan of the last visit, or the demo plan. A text that could not be read is put aside.
    pub fn kept_plan() -> Opened {
        let opened = opened(kept(PLAN), |text| load::load(text).map_err(|error| error.to_string()), demo::demo);
        if let Some(unreadable) = &opened.unreadable {
            // Where even this is refused, the text is still on the page for saving as a file.
            let _ = keep(UNREADABLE, &unreadable.text);
        }
        opened
    }

    /// Keeps the plan for the next visit.
    ///
    /// # Errors
    /// [`NotKept`] when the browser refuses.
    pub fn keep_plan(plan: &Plan) -> Result<(), NotKept> {
        keep(PLAN, &load::save(plan))
    }

    /// The preferences of the last visit.
    pub fn kept_preferences() -> Preferences {
        preferences::read(kept(PREFERENCES).as_deref())
    }

    /// Keeps the preferences for the next visit.
    ///
    /// # Errors
    /// [`NotKept`] when the browser refuses.
    pub fn keep_preferences(preferences: Preferences) -> Result<(), NotKept> {
        keep(PREFERENCES, &serde_json::to_string(&preferences).unwrap_or_default())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::{demo, load};

    fn read(text: &str) -> Result<Plan, String> {
        load::load(text).map_err(|error| error.to_string())
    }

    #[test]
    fn a_kept_plan_comes_back_and_nothing_kept_is_the_demo() {
        let mut plan = demo::demo();
        plan.name = "Another evening".to_owned();
        assert_eq!(opened(Some(load::save(&plan)), read, demo::demo), Opened { plan, unreadable: None });
        assert_eq!(opened(None, read, demo::demo), Opened { plan: demo::demo(), unreadable: None });
    }

    #[test]
    fn a_text_that_is_no_plan_stays_in_hand_with_its_reason() {
        let opened = opened(Some("{\"format\":".to_owned()), read, demo::demo);
        assert_eq!(opened.plan, demo::demo());
        let unreadable = opened.unreadable.expect("it cannot be read");
        assert_eq!(unreadable.text, "{\"format\":");
        assert!(!unreadable.why.is_empty());
    }
}
