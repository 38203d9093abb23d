//! What a person prefers about the page itself: theme and units. No part of a plan.

use serde::{Deserialize, Serialize};

use super::format::DisplayUnits;

/// Light or dark.
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
}

impl Theme {
    /// The themes in the order in which they are offered.
    pub const ALL: [Theme; 3] = [Theme::System, Theme::Light, Theme::Dark];

    /// The name shown to people.
    pub fn name(self) -> &'static str {
        match self {
            Self::System => "as the system",
            Self::Light => "paper",
            Self::Dark => "slate",
        }
    }

    /// The value of `data-theme` on the document; `None` takes the attribute away.
    pub fn attribute(self) -> Option<&'static str> {
        match self {
            Self::System => None,
            Self::Light => Some("light"),
            Self::Dark => Some("dark"),
        }
    }
}

/// What a person prefers.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Preferences {
    /// Light or dark.
    pub theme: Theme,
    /// Metres or feet, milliwatts or dBm.
    pub units: DisplayUnits,
}

/// Stored preferences, or the usual ones where there are none that can be read: nobody loses work with them.
pub fn read(text: Option<&str>) -> Preferences {
    text.and_then(|text| serde_json::from_str(text).ok()).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::page::format::{LengthUnit, PowerUnit};

    #[test]
    fn preferences_come_back_and_nonsense_is_the_usual() {
        let wanted =
            Preferences { theme: Theme::Dark, units: DisplayUnits { length: LengthUnit::Feet, power: PowerUnit::Dbm } };
        let text = serde_json::to_string(&wanted).unwrap();
        assert_eq!(read(Some(&text)), wanted);
        for text in [None, Some(""), Some("{\"theme\":\"plaid\"}"), Some("[]")] {
            assert_eq!(read(text), Preferences::default());
        }
    }
}
