//! What a person prefers about the page itself: theme and units. No part of a plan.

use serde::{Deserialize, Serialize};

use super::format::DisplayUnits;
use crate::link::Effort;
use crate::site::BounceOrder;

/// What the page is drawn on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Theme {
    /// As the system says.
    #[default]
    System,
    /// Ink on paper.
    Light,
    /// Chalk on slate.
    Dark,
    /// Black on white with heavier lines, for a screen in full sun.
    Sun,
}

impl Theme {
    /// The themes in the order in which they are offered.
    pub const ALL: [Theme; 4] = [Theme::System, Theme::Light, Theme::Dark, Theme::Sun];

    /// The name shown to people.
    pub fn name(self) -> &'static str {
        match self {
            Self::System => "automatic",
            Self::Light => "light",
            Self::Dark => "dark",
            Self::Sun => "high contrast for sun",
        }
    }

    /// The value of `data-theme` on the document; `None` takes the attribute away.
    pub fn attribute(self) -> Option<&'static str> {
        match self {
            Self::System => None,
            Self::Light => Some("light"),
            Self::Dark => Some("dark"),
            Self::Sun => Some("sun"),
        }
    }
}

/// What a person prefers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Preferences {
    /// Light or dark.
    pub theme: Theme,
    /// Metres or feet, milliwatts or dBm.
    pub units: DisplayUnits,
    /// How often the paths that are followed may bounce, 0 to 2; more counts as 2.
    pub bounces: u8,
    /// Whether the screen is to stay awake.
    pub is_awake: bool,
    /// Whether nobody needs to be told any more that verdicts count fields; see [`VERDICTS_COUNT_FIELDS`].
    pub knows_fields: bool,
}

/// What changed for plans that were kept before verdicts counted fields. It is said until somebody closes it, once.
pub const VERDICTS_COUNT_FIELDS: &str = "Verdicts now count lost fields of picture instead of time under the threshold; \
    “broken” is now called “short”. Reserves of kept plans may differ.";

impl Default for Preferences {
    fn default() -> Self {
        let bounces = Effort::FULL.bounces.most_bounces();
        Self { theme: Theme::default(), units: DisplayUnits::default(), bounces, is_awake: false, knows_fields: false }
    }
}

impl Preferences {
    /// Whether to say what changed for kept plans; `had_plans` is whether the visit began with some.
    pub fn asks_to_tell(&self, had_plans: bool) -> bool {
        had_plans && !self.knows_fields
    }

    /// The preferences with which a visit goes on. A browser without plans has none from before, and never will have.
    pub fn after_beginning(self, had_plans: bool) -> Self {
        Self { knows_fields: self.knows_fields || !had_plans, ..self }
    }

    /// The bounces that are followed.
    pub fn bounce_order(&self) -> BounceOrder {
        BounceOrder::ALL.get(usize::from(self.bounces)).copied().unwrap_or(BounceOrder::Double)
    }
}

/// Stored preferences, or the usual ones where there are none that can be read: nobody loses work with them.
pub fn read(text: Option<&str>) -> Preferences {
    text.and_then(|text| serde_json::from_str(text).ok()).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::format::{LengthUnit, PowerUnit};

    #[test]
    fn every_theme_comes_back() {
        for theme in Theme::ALL {
            let wanted = Preferences { theme, ..Preferences::default() };
            assert_eq!(read(Some(&serde_json::to_string(&wanted).unwrap())), wanted);
        }
    }

    #[test]
    fn what_changed_is_told_of_kept_plans_and_once() {
        // As a build from before kept them.
        let before = read(Some("{\"theme\":\"dark\",\"bounces\":2}"));
        assert!(before.asks_to_tell(true) && before.after_beginning(true).asks_to_tell(true));
        assert!(!Preferences { knows_fields: true, ..before }.asks_to_tell(true));
        let newcomer = read(None).after_beginning(false);
        assert!(!newcomer.asks_to_tell(false) && !newcomer.asks_to_tell(true), "their plans are not from before");
        assert_eq!(read(Some(&serde_json::to_string(&newcomer).unwrap())), newcomer);
    }

    #[test]
    fn preferences_come_back_and_nonsense_is_the_usual() {
        let wanted = Preferences {
            theme: Theme::Dark,
            units: DisplayUnits { length: LengthUnit::Feet, power: PowerUnit::Dbm },
            bounces: 2,
            is_awake: true,
            knows_fields: true,
        };
        let text = serde_json::to_string(&wanted).unwrap();
        assert_eq!(read(Some(&text)), wanted);
        for text in [None, Some(""), Some("{\"theme\":\"plaid\"}"), Some("[]")] {
            assert_eq!(read(text), Preferences::default());
        }
    }
}
