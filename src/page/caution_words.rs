//! What the cautions say: the same words on the desk and on paper.

use super::format::{self, DisplayUnits};
use crate::link::report::EntryReport;
use crate::rf::exposure::{self, Exposed, ExposureStandard, Reflection};
use crate::units::{Dbm, Hertz};

/// What to go through before anyone flies.
pub const BEFORE_YOU_FLY: [&str; 7] = [
    "Ask whoever is responsible for the place and the airspace, and follow what they say. Local rules come before this plan.",
    "Check that channel and radiated power are allowed here, for you, with your licence.",
    "Keep everybody behind a net or far enough off, and never fly over people. A pilot in goggles has a spotter. Propellers stay off while anything is powered on a bench.",
    "Try the control link and what happens when it is lost, before the picture: control must outlast video.",
    "Inspect batteries; never charge unattended; carry them in something fireproof; a damaged one stays on the ground.",
    "Power one aircraft at a time in the pits, on its own channel, with its antenna screwed on.",
    "Walk the lap with one aircraft, its propellers off, and the goggles, and compare with this plan. A plan is a calculation, not a promise.",
];

/// Who says whether a power may be radiated.
pub const WHO_DECIDES: &str =
    "Check your local rules and what your licence covers; a licensed operator or the authority decides, not this page.";

/// How far to keep from an entry's antenna while it transmits.
pub fn exposure_sentence(judged: &EntryReport, units: DisplayUnits) -> String {
    let (eirp, carrier) = (Dbm(judged.eirp_dbm), Hertz(judged.frequency_hz));
    let limit = ExposureStandard::Icnirp2020.limit(Exposed::GeneralPublic, carrier);
    match limit {
        Ok(limit) => {
            let distance = exposure::exposure_distance(eirp, limit, Reflection::DoubledField);
            format!(
                "Keep at least {} from the antenna while it transmits: guide distance, ICNIRP 2020, general public, reflection allowed for.",
                format::short_length(distance.advised.0, units)
            )
        }
        Err(why) => format!("No distance to keep is known here: {why}."),
    }
}
