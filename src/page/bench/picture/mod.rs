//! The picture that a receiver makes of a link, live on a canvas: an illustration with its model in words.

#[cfg(target_arch = "wasm32")]
mod view;

#[cfg(target_arch = "wasm32")]
pub use view::{PictureView, PictureViewProps};

use crate::format::decibels;
use crate::link::pair::PairLink;
use crate::link::pair::hearing::PairReport;
use crate::link::picture::{Reception, Standard};
use crate::units::{Db, Hertz, MetresPerSecond};

/// What arrives over a link that has been heard.
pub fn reception(link: &PairLink, report: &PairReport) -> Reception {
    Reception::at_margin(
        Db(report.explanation.margin_db),
        Db(report.explanation.k_db).ratio(),
        MetresPerSecond(link.speed_m_per_s),
        Hertz(link.frequency_hz),
        &link.picture,
    )
}

/// What the picture shows, in a few words.
pub fn caption(reception: &Reception) -> String {
    let kind = match reception.standard {
        Standard::Analogue { .. } => "Analogue picture",
        Standard::Digital { .. } => "Digital picture",
    };
    // Beyond 80 dB a ratio says no more than that there is no noise.
    let ratio = decibels(reception.carrier_to_noise.0.clamp(-40.0, 80.0));
    let fading = Db::from_ratio(reception.k).0;
    let fading = match fading {
        fading if fading > 40.0 => "no fading".to_owned(),
        fading if fading < -20.0 => "fading without a direct wave".to_owned(),
        fading => format!("fading with K {}", decibels(fading)),
    };
    format!("{kind} at a carrier-to-noise ratio of {ratio}, {fading}")
}

/// The model, in words.
pub fn model(reception: &Reception) -> &'static str {
    match reception.standard {
        Standard::Analogue { .. } => {
            "An illustration, not a measurement. Each line has its own level by Rice’s fading at the stated speed. Its snow \
             follows the noise of a discriminator (8 MHz deviation, 5 MHz video, no de-emphasis); below the threshold near \
             10 dB come clicks at Rice’s rates, colour goes under 6 dB and lines tear under 4 dB (common practice, no source)."
        }
        Standard::Digital { .. } => {
            "An illustration, not a measurement. The level is averaged over a frame of 20 ms. One frame in a hundred is lost at \
             the required ratio, half of them 1 dB below; a lost frame leaves the last picture standing for the stated time. \
             Damaged slices show within 1 dB above (a curve of our own: steep, as coded transmissions are)."
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::link::pair::hearing::hear;

    #[test]
    fn the_reception_is_the_links_own_ratio() {
        let link = PairLink::default();
        let report = hear(&link).unwrap();
        let reception = reception(&link, &report);
        let expected = report.carrier_to_noise.expect("a noise figure is stated");
        assert!((reception.carrier_to_noise - expected).0.abs() < 1e-9);
        assert_eq!(reception.speed.0, 15.0);
    }

    #[test]
    fn a_caption_says_what_kind_of_picture_at_what_ratio() {
        let link = PairLink::default();
        let mut reception = reception(&link, &hear(&link).unwrap());
        reception.carrier_to_noise = Db(12.34);
        reception.k = 10.0;
        assert_eq!(
            caption(&reception),
            "Analogue picture at a carrier-to-noise ratio of 12.3\u{a0}dB, fading with K 10.0\u{a0}dB"
        );
        assert!(caption(&Reception { k: f64::INFINITY, ..reception }).ends_with("no fading"));
        assert!(caption(&Reception { k: 0.0, ..reception }).ends_with("without a direct wave"));
    }
}
