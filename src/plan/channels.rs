//! The lettered channel tables that racing video uses around 5.8 GHz.
//!
//! Common practice, no source: six independent public tables agree on these carriers. The letters are the trade's and
//! no standard's. Whether a channel may be used at all is a matter of local rules; several lie outside the bands that
//! most countries leave open.

use std::fmt;

use crate::units::Hertz;

/// Eight carriers under one letter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Band {
    /// The letter.
    pub letter: char,
    /// The carriers of channels 1 to 8, in megahertz.
    pub megahertz: [u16; 8],
}

/// The five bands. The one with the widest even spacing comes first, so that a carrier that has two names is called by
/// the more useful one.
pub const BANDS: [Band; 5] = [
    Band { letter: 'R', megahertz: [5658, 5695, 5732, 5769, 5806, 5843, 5880, 5917] },
    Band { letter: 'F', megahertz: [5740, 5760, 5780, 5800, 5820, 5840, 5860, 5880] },
    Band { letter: 'A', megahertz: [5865, 5845, 5825, 5805, 5785, 5765, 5745, 5725] },
    Band { letter: 'B', megahertz: [5733, 5752, 5771, 5790, 5809, 5828, 5847, 5866] },
    Band { letter: 'E', megahertz: [5705, 5685, 5665, 5645, 5885, 5905, 5925, 5945] },
];

/// A carrier by its name in the tables.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Channel {
    /// Letter of the band.
    pub letter: char,
    /// Number in the band, 1 to 8.
    pub number: u8,
    /// The carrier.
    pub carrier: Hertz,
}

impl fmt::Display for Channel {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(formatter, "{}{}", self.letter, self.number)
    }
}

/// All forty channels, band by band; one carrier stands there under two names.
pub fn channels() -> impl Iterator<Item = Channel> {
    BANDS.iter().flat_map(|band| {
        band.megahertz.iter().zip(1..).map(|(megahertz, number)| Channel {
            letter: band.letter,
            number,
            carrier: Hertz::from_megahertz(f64::from(*megahertz)),
        })
    })
}

/// The channel with this carrier, if the tables have it to the kilohertz.
pub fn channel_at(carrier: Hertz) -> Option<Channel> {
    channels().find(|channel| (channel.carrier.0 - carrier.0).abs() < 1e3)
}

/// The channel of this name, for example `R1`; letters of either case.
pub fn channel_named(name: &str) -> Option<Channel> {
    channels().find(|channel| channel.to_string().eq_ignore_ascii_case(name.trim()))
}

/// A frequency as people read it: megahertz first, the tables' name in brackets where there is one.
pub fn frequency_text(carrier: Hertz) -> String {
    match channel_at(carrier) {
        Some(channel) => format!("{} MHz ({channel})", carrier.megahertz()),
        None => format!("{} MHz", carrier.megahertz()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thirty_nine_carriers_have_forty_names() {
        let mut carriers: Vec<u64> = channels().map(|channel| channel.carrier.0 as u64).collect();
        assert_eq!(carriers.len(), 40);
        carriers.sort_unstable();
        carriers.dedup();
        assert_eq!((carriers.len(), carriers[0], carriers[38]), (39, 5_645_000_000, 5_945_000_000));
    }

    #[test]
    fn names_and_carriers_lead_to_each_other() {
        for channel in channels() {
            assert_eq!(channel_named(&channel.to_string()), Some(channel));
            assert_eq!(channel_at(channel.carrier).map(|found| found.carrier), Some(channel.carrier));
        }
        // 5880 MHz has two names; the band with the wider spacing wins.
        assert_eq!(channel_at(Hertz(5.88e9)).map(|channel| channel.to_string()), Some("R7".to_owned()));
        assert_eq!(channel_named(" r1 ").map(|channel| channel.carrier), Some(Hertz(5.658e9)));
        assert_eq!(channel_named("R9"), None);
    }

    #[test]
    fn a_frequency_off_the_tables_has_no_name() {
        assert_eq!(frequency_text(Hertz(5.658e9)), "5658 MHz (R1)");
        assert_eq!(frequency_text(Hertz(5.659e9)), "5659 MHz");
        assert_eq!(channel_at(Hertz(f64::NAN)), None);
    }
}
