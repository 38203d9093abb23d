//! What the page says about plans: sentences, and what a person can do about each.

use crate::plan::document::Plan;
use crate::plan::load;
use crate::plan::plan_link::{self, PlanLinkError};

/// Where a plan came from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Source {
    /// The list of kept plans.
    List,
    /// A file of this name.
    File(String),
    /// A plan link.
    Link,
    /// The page itself: the demo plan, or a new site.
    Page,
}

/// A text that is no plan, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refused {
    /// Why, as the loader says it.
    pub why: String,
    /// The text, for saving; empty where there is none.
    pub text: String,
}

impl Refused {
    /// Reads a text.
    ///
    /// # Errors
    /// The reason, with the text.
    pub fn unless_read(text: String) -> Result<Plan, Self> {
        load::load(&text).map_err(|why| Self { why: why.to_string(), text })
    }

    /// Reads a plan link's value.
    ///
    /// # Errors
    /// The reason, with the text that the link holds or, where it cannot be unpacked, the link itself.
    pub fn unless_carried(value: &str) -> Result<Plan, Self> {
        plan_link::read(value).map_err(|error| match error {
            PlanLinkError::Plan { reason, text } => Self { why: reason.to_string(), text },
            other => Self { why: other.to_string(), text: value.to_owned() },
        })
    }
}

/// Something to be said about plans, until it is read or the next thing happens.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PlansNotice {
    /// What should come onto the desk is no plan that this build can use.
    Refused(Source, Refused),
    /// A plan from elsewhere is on the desk.
    Taken {
        /// Where it came from.
        source: Source,
        /// Its name.
        name: String,
        /// Whether a plan of the list lay on the desk before.
        had_another: bool,
    },
    /// A plan was deleted.
    Deleted {
        /// Its name.
        name: String,
    },
    /// Another tab has changed the plan on the desk.
    Elsewhere,
    /// Another tab has deleted the plan on the desk.
    Removed,
    /// Both tabs have changed the plan; this one's goes on under another name.
    Copied {
        /// That name.
        name: String,
    },
    /// The plan on the desk was gone from the store and is kept again.
    Again,
    /// The plan that this tab had is gone from the store.
    Gone,
}

impl PlansNotice {
    /// What is said.
    pub fn sentence(&self) -> String {
        let still_there = "The open plan is as it was.";
        match self {
            Self::Refused(Source::List, Refused { why, .. }) => {
                format!("This plan cannot be opened: {why}. It stays in the list. {still_there}")
            }
            Self::Refused(Source::File(name), Refused { why, .. }) => {
                format!("The file {name} cannot be opened: {why}. {still_there}")
            }
            Self::Refused(_, Refused { why, .. }) => format!("The link cannot be opened: {why}. {still_there}"),
            Self::Taken { source, name, had_another } => {
                let from = match source {
                    Source::File(file) => format!(" from the file {file}"),
                    Source::Link => " from a link".to_owned(),
                    Source::List | Source::Page => String::new(),
                };
                let before = if *had_another { " Your previous plan is still in the list." } else { "" };
                format!("“{name}”{from} is open.{before}")
            }
            Self::Deleted { name } => format!("“{name}” is deleted."),
            Self::Elsewhere => "Another tab has changed this plan. What you see here is the version from before; if you change \
                it, it goes on as a plan of its own."
                .to_owned(),
            Self::Removed => "Another tab has deleted this plan. If you change it here, it is kept again.".to_owned(),
            Self::Copied { name } => {
                format!("Another tab has changed this plan too. Yours goes on as “{name}”; both are in the list.")
            }
            Self::Again => "This plan was no longer in the browser's storage. It is kept again.".to_owned(),
            Self::Gone => "The plan that was open here is no longer in this browser's storage: it was deleted in another tab, was \
                never kept, or the browser has made room. A file outlasts that."
                .to_owned(),
        }
    }

    /// The text that can be saved, with a name for its file.
    pub fn text(&self) -> Option<(&'static str, &str)> {
        match self {
            Self::Refused(_, Refused { text, .. }) if !text.is_empty() => Some(("unreadable-plan.json", text)),
            _ => None,
        }
    }

    /// Whether it is bad news.
    pub fn is_problem(&self) -> bool {
        matches!(self, Self::Refused(..) | Self::Gone)
    }
}
