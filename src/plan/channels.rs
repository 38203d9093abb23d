//! The lettered channel tables that racing video uses around 5.8 GHz.
//!
//! Common practice, no source: six independent public tables agree on these carriers. The letters are the trade's and
//! no standard's. Whether a channel may be used at all is a matter of local rules; several lie outside the bands that
//! most countries leave open.

use std::fmt;

use super::limits;
use super::presets::ANALOGUE_BANDWIDTH;
use crate::rf::power_rule::PRESETS;
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

/// The channels that so many pilots begin with, in hertz. Up to four lie in a licence-free range with their whole width, up
/// to eight are of the band with the widest spacing, and beyond that each takes what is freest.
pub fn first_carriers(count: usize) -> Vec<f64> {
    let (wide, even) = (BANDS[0].megahertz, BANDS[1].megahertz);
    let chosen: Vec<u16> = match count {
        0 => Vec::new(),
        1 => vec![even[3]],
        2 => vec![even[0], even[6]],
        3 => vec![even[0], even[3], even[6]],
        4 => even.into_iter().step_by(2).collect(),
        5 => wide[1..6].to_vec(),
        6 => wide[1..7].to_vec(),
        _ => wide.into_iter().take(count).collect(),
    };
    let mut carriers: Vec<f64> = chosen.iter().map(|megahertz| f64::from(*megahertz) * 1e6).collect();
    while carriers.len() < count {
        carriers.push(free_carrier(&carriers, carriers[0]));
    }
    carriers
}

/// Carriers of the tables are this far apart at least before one without a licence is preferred: two analogue pictures side
/// by side disturb each other little (common practice, no source).
const APART_HZ: f64 = 25e6;
/// Steps off the tables, in hertz: those of the band with the widest spacing.
const STEP_HZ: f64 = 37e6;

/// A carrier as far as can be from those that are taken. In the tables' range it is one of the tables, in a licence-free
/// range if one there is far enough from the others; elsewhere it goes in steps from `like_hz`.
pub fn free_carrier(taken_hz: &[f64], like_hz: f64) -> f64 {
    let apart = |carrier: f64| taken_hz.iter().map(|taken| (taken - carrier).abs()).fold(f64::INFINITY, f64::min);
    if !(5.6e9..6e9).contains(&like_hz) {
        let steps = (1..=16).flat_map(|step| [f64::from(step), -f64::from(step)]).map(|step| like_hz + step * STEP_HZ);
        let mut free =
            steps.filter(|carrier| limits::CHANNEL_HZ.contains(*carrier) && apart(*carrier) >= STEP_HZ / 2.0);
        return free.next().unwrap_or(like_hz);
    }
    let farthest = |is_free: bool| {
        let may = channels().map(|channel| channel.carrier).filter(|at| !is_free || is_licence_free(*at));
        // The first of equals: the tables begin with the more useful band.
        may.fold(
            (like_hz, -1.0),
            |(best, most), at| if apart(at.0) > most { (at.0, apart(at.0)) } else { (best, most) },
        )
    };
    let (free, far) = farthest(true);
    if far >= APART_HZ { free } else { farthest(false).0 }
}

/// Whether a whole analogue channel lies in a licence-free range that is listed; local rules decide.
fn is_licence_free(carrier: Hertz) -> bool {
    PRESETS.iter().any(|rule| !rule.licence && rule.holds(carrier, ANALOGUE_BANDWIDTH))
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

    #[test]
    fn every_pilot_of_a_new_plan_has_a_channel_of_its_own() {
        for count in 0..=limits::ENTRIES.max {
            let mut carriers = first_carriers(count);
            assert_eq!(carriers.len(), count);
            if count <= 4 {
                assert!(carriers.iter().all(|carrier| is_licence_free(Hertz(*carrier))), "{carriers:?}");
            }
            carriers.sort_by(f64::total_cmp);
            let least = carriers.windows(2).map(|pair| pair[1] - pair[0]).fold(f64::INFINITY, f64::min);
            assert!(least >= if count <= 8 { 37e6 } else { 9e6 }, "{count}: {carriers:?}");
        }
    }

    #[test]
    fn a_free_carrier_is_far_from_all_others() {
        assert_eq!(free_carrier(&[5.8e9], 5.8e9), 5.866e9);
        assert_eq!(free_carrier(&[5.8e9, 5.866e9], 5.8e9), 5.74e9);
        assert_eq!(free_carrier(&[], 5.8e9), 5.769e9);
        // With four in the licence-free range the next one is outside it.
        assert_eq!(free_carrier(&first_carriers(4), 5.74e9), 5.645e9);
        assert_eq!(free_carrier(&[1.28e9], 1.28e9), 1.317e9);
        assert_eq!(free_carrier(&[1.28e9, 1.317e9], 1.28e9), 1.243e9);
        assert_eq!(free_carrier(&[f64::NAN], f64::NAN).to_bits(), f64::NAN.to_bits());
    }
}
