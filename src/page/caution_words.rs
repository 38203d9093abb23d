//! What the cautions say: the same words on the desk and on paper.

use super::format::{self, DisplayUnits};
pub use crate::link::cautions::{BEFORE_YOU_FLY, WHO_DECIDES};
use crate::link::report::EntryReport;
use crate::rf::exposure::{self, Exposed, ExposureStandard, Reflection};
use crate::units::{Dbm, Hertz};

/// How far to keep from an entry's antenna while it transmits.
pub fn exposure_sentence(judged: &EntryReport, units: DisplayUnits) -> String {
    let (eirp, carrier) = (Dbm(judged.eirp_dbm), Hertz(judged.frequency_hz));
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
