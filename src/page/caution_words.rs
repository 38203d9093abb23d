//! What the cautions say: the same words on the desk and on paper.

use super::format::{self, DisplayUnits};
pub use crate::link::cautions::{BEFORE_YOU_FLY, WHO_DECIDES};
use crate::parts;
use crate::plan::document::{Picture, Plan};
use crate::rf::exposure::{self, Exposed, ExposureStandard, Reflection};
use crate::rf::power_rule::{self, PowerRule};
use crate::units::{Dbm, Hertz};

/// How far to keep from an antenna while it transmits.
pub fn exposure_sentence(eirp: Dbm, carrier: Hertz, units: DisplayUnits) -> String {
    let limit = ExposureStandard::Icnirp2020.limit(Exposed::GeneralPublic, carrier);
    match limit {
        Ok(limit) => {
            let distance = exposure::exposure_distance(eirp, limit, Reflection::DoubledField);
            format!(
                "Keep at least {} from the antenna while it transmits: guide distance, ICNIRP 2020, general public, reflection allowed for; not verified: read the guidelines.",
                format::short_length(distance.advised.0, units)
            )
        }
        Err(why) => format!("No distance to keep is known here: {why}."),
    }
}

/// How a plan remembers which rule was picked.
pub fn rule_source(rule: &PowerRule) -> String {
    format!("{} ({})", rule.title, rule.source)
}

/// Whether an entry's channel lies, at least in part, outside the frequencies of the rule that was picked. Its limit says
/// nothing there; a limit that somebody typed has no frequencies to be outside of.
pub fn is_outside_of_rule(plan: &Plan, entry: usize) -> bool {
    let rule = power_rule::PRESETS.iter().find(|rule| rule_source(rule) == plan.rules.source);
    let carrier = Hertz(plan.entries.get(entry).map_or(0.0, |entry| entry.channel_hz));
    rule.is_some_and(|rule| !rule.holds(carrier, bandwidth(plan, entry)))
}

/// The width of an entry's channel.
fn bandwidth(plan: &Plan, entry: usize) -> Hertz {
    let receiver = parts::receiver_of(plan, entry).and_then(|index| plan.receivers.get(index));
    Hertz(receiver.map_or(0.0, |receiver| match receiver.picture {
        Picture::Analogue { bandwidth_hz, .. } | Picture::Digital { bandwidth_hz, .. } => bandwidth_hz,
    }))
}
