//! What the cautions say: the same words on the desk and on paper.

use super::format::{self, DisplayUnits};
use crate::link::allowed::Standing;
pub use crate::link::cautions::{BEFORE_YOU_FLY, WHO_DECIDES};
use crate::rf::exposure::{self, Exposed, ExposureStandard, Reflection};
use crate::units::{Dbm, Hertz};

/// How far to keep from an antenna while it transmits.
pub fn exposure_sentence(eirp: Dbm, carrier: Hertz, units: DisplayUnits) -> String {
    let limit = ExposureStandard::Icnirp2020.limit(Exposed::GeneralPublic, carrier);
    match limit {
        Ok(limit) => {
            let distance = exposure::exposure_distance(eirp, limit, Reflection::DoubledField);
            format!(
                "Keep at least {} from the antenna while it transmits: guide distance, ICNIRP 2020, general public, reflection allowed for; not verified: read the guidelines.",
                format::short_length_up(distance.advised.0, units)
            )
        }
        Err(why) => format!("No distance to keep is known here: {why}."),
    }
}

/// How an entry's radiated power stands to the chosen limit, in the page's typography.
pub fn standing_words(standing: Standing) -> String {
    standing.words().replace(" dB", "\u{a0}dB")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_distance_to_keep_is_never_rounded_down() {
        // 36 dBm are 3.981 W: √(3.981/(4π·10)) = 0.17799 m, doubled by a reflection 0.35598 m.
        let metric = exposure_sentence(Dbm(36.0), Hertz(5.8e9), DisplayUnits::default());
        assert!(metric.starts_with("Keep at least 0.36\u{a0}m "), "{metric}");
        // 1 W: 0.17841 m with the field doubled is nearer than the nearest that is shown.
        let near = exposure_sentence(Dbm(30.0), Hertz(5.8e9), DisplayUnits::default());
        assert!(near.starts_with("Keep at least 0.20\u{a0}m "), "{near}");
        // 36.2 dBm are 4.1687 W: 0.36428 m, which would round to 0.36 m.
        let up = exposure_sentence(Dbm(36.2), Hertz(5.8e9), DisplayUnits::default());
        assert!(up.starts_with("Keep at least 0.37\u{a0}m "), "{up}");
    }
}
