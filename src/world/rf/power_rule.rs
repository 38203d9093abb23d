//! Rules on radiated power, as presets to start from.
//!
//! A preset is what somebody read about a rule, with how well it was read. It is no legal advice: rules change, differ by
//! country and carry conditions that are not kept here. Whoever transmits checks the local rules, and where a licence is
//! needed, its holder decides.

use std::ops::RangeInclusive;

use crate::units::{Db, Dbi, Dbm, Hertz};

/// How a rule states its limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PowerLimit {
    /// Equivalent isotropically radiated power.
    Eirp(Dbm),
    /// Effective radiated power, against a half-wave dipole; 2.15 dB less than EIRP.
    Erp(Dbm),
    /// A field strength in volts per metre at a distance in metres.
    FieldStrength {
        /// Volts per metre.
        volts_per_metre: f64,
        /// At this distance, in metres.
        distance_m: f64,
    },
    /// Power of the transmitter, peak envelope, whatever the antenna.
    Transmitter(Dbm),
    /// Conducted power, which falls by as much as the antenna's gain is above `free_gain`. At most the sum of both is
    /// radiated.
    Conducted {
        /// Conducted power with an antenna of `free_gain` or less.
        most: Dbm,
        /// The gain up to which the conducted power need not fall.
        free_gain: Dbi,
    },
}

impl PowerLimit {
    /// The limit as EIRP; `None` where the rule does not bound radiated power.
    pub fn eirp(self) -> Option<Dbm> {
        match self {
            Self::Eirp(limit) => Some(limit),
            Self::Erp(limit) => Some(super::exposure::eirp_of_erp(limit)),
            Self::FieldStrength { volts_per_metre, distance_m } => {
                Some(super::exposure::eirp_of_field_strength(volts_per_metre, crate::units::Metres(distance_m)))
            }
            Self::Conducted { most, free_gain } => Some(most + free_gain),
            Self::Transmitter(_) => None,
        }
    }

    /// The limit of the conducted power with an antenna of this peak gain; `None` where the rule bounds none.
    ///
    /// Source: 47 CFR 15.247(b)(4), the conducted power falls by the decibels that the gain is above 6 dBi (second-hand).
    /// The exception for fixed point-to-point links, 15.247(c)(1), never holds for an aircraft.
    pub fn conducted(self, peak_gain: Dbi) -> Option<Dbm> {
        match self {
            Self::Conducted { most, free_gain } => Some(most - Db((peak_gain - free_gain).0.max(0.0))),
            Self::Transmitter(most) => Some(most),
            Self::Eirp(_) | Self::Erp(_) | Self::FieldStrength { .. } => None,
        }
    }
}

/// How well a rule was read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RuleReading {
    /// A copy of the rule's own text.
    OwnText,
    /// Documents that cite it.
    SecondHand,
    /// From memory.
    Memory,
}

/// One preset.
#[derive(Clone, Debug, PartialEq)]
pub struct PowerRule {
    /// Short stable name for plans and links.
    pub id: &'static str,
    /// Whose rule for what.
    pub title: &'static str,
    /// Where it is written.
    pub source: &'static str,
    /// How well it was read.
    pub reading: RuleReading,
    /// Lower band edge.
    pub from: Hertz,
    /// Upper band edge.
    pub to: Hertz,
    /// The limit.
    pub limit: PowerLimit,
    /// Conditions that the numbers do not show; empty when none were read.
    pub condition: &'static str,
    /// Whether only a licence holder may use it.
    pub licence: bool,
    /// Whether it covers digital emissions alone (digital modulation, hopping), so that analogue video has no limit in it.
    pub digital_alone: bool,
}

impl PowerRule {
    /// The band of the rule.
    pub fn band(&self) -> RangeInclusive<Hertz> {
        self.from..=self.to
    }

    /// Whether a whole channel of this bandwidth lies in the band. A bandwidth of zero asks about the carrier alone.
    pub fn holds(&self, carrier: Hertz, bandwidth: Hertz) -> bool {
        let half = bandwidth / 2.0;
        self.from <= carrier - half && carrier + half <= self.to
    }
}

/// What to say of a carrier that lies in no licence-free range of [`PRESETS`]; `None` where one covers it.
///
/// It speaks of the ranges that are listed, not of the law: whoever transmits checks the local rules.
pub fn licence_caution(carrier: Hertz) -> Option<String> {
    let is_free = PRESETS.iter().any(|rule| !rule.licence && rule.holds(carrier, Hertz(0.0)));
    let is_amateur = PRESETS.iter().any(|rule| rule.licence && rule.holds(carrier, Hertz(0.0)));
    let megahertz = carrier.0 / 1e6;
    match (is_free, is_amateur) {
        (true, _) => None,
        (false, true) => Some(format!(
            "{megahertz} MHz is outside every licence-free range listed here; it may need an amateur licence."
        )),
        (false, false) => {
            Some(format!("{megahertz} MHz is outside every range listed here; ask who may transmit there."))
        }
    }
}

/// What a transmitter sends, as rules ask about it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Emission {
    /// Conducted power at the transmitter's connector.
    pub conducted: Dbm,
    /// Peak gain of its antenna.
    pub peak_gain: Dbi,
    /// What is radiated: conducted power less feed loss plus peak gain.
    pub eirp: Dbm,
    /// Carrier.
    pub carrier: Hertz,
    /// Width of the channel.
    pub bandwidth: Hertz,
    /// Whether its modulation is digital.
    pub is_digital: bool,
}

/// What a comparison with a rule says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum RuleVerdict {
    /// The channel does not lie whole within the rule's band: its limits say nothing.
    OtherBand,
    /// The rule covers digital emissions alone, and this one is analogue: its limits say nothing.
    OtherModulation,
    /// Within all limits; the least room to one of them (zero or more).
    Within(Db),
    /// Above a limit.
    Above {
        /// How far the conducted power is above its limit, if it is.
        conducted: Option<Db>,
        /// How far the radiated power is above its limit, if it is.
        radiated: Option<Db>,
    },
    /// The rule does not bound radiated power; the licence decides.
    NotBounded,
}

/// Holds an emission against a rule: first whether the rule covers it, then conducted and radiated power, each against
/// its own limit. A nanodecibel of rounding does not count as above.
pub fn check(emission: &Emission, rule: &PowerRule) -> RuleVerdict {
    if !rule.holds(emission.carrier, emission.bandwidth) {
        return RuleVerdict::OtherBand;
    }
    if rule.digital_alone && !emission.is_digital {
        return RuleVerdict::OtherModulation;
    }
    let conducted = rule.limit.conducted(emission.peak_gain).map(|limit| limit - emission.conducted);
    let radiated = rule.limit.eirp().map(|limit| limit - emission.eirp);
    let above = |room: Option<Db>| room.filter(|room| room.0 < -1e-9).map(|room| -room);
    match (above(conducted), above(radiated)) {
        (None, None) => match (radiated, conducted) {
            (None, _) => RuleVerdict::NotBounded,
            (Some(room), other) => RuleVerdict::Within(Db(room.0.min(other.unwrap_or(room).0).max(0.0))),
        },
        (conducted, radiated) => RuleVerdict::Above { conducted, radiated },
    }
}

/// `10 log10(25)`: 25 mW in dBm.
const TWENTY_FIVE_MILLIWATTS: Dbm = Dbm(13.979_400_086_720_377);
/// 500 mW in dBm.
const HALF_A_WATT: Dbm = Dbm(26.989_700_043_360_187);

/// 47 CFR 15.247(b)(3) and (b)(4): 1 W conducted with at most 6 dBi, less by every decibel of gain above (second-hand).
const DIGITAL_WATT: PowerLimit = PowerLimit::Conducted { most: Dbm(30.0), free_gain: Dbi(6.0) };
const DIGITAL_WATT_CONDITION: &str = "1 W conducted with at most 6 dBi, less by every decibel of gain above that; analogue frequency modulation is not covered (from memory)";

/// The presets, by band and then by authority.
pub static PRESETS: [PowerRule; 14] = [
    PowerRule {
        id: "eu-5725-5875",
        title: "Europe: non-specific short-range devices, 5725 to 5875 MHz",
        source: "ERC/REC 70-03 Annex 1; EN 300 440; EU Decision 2006/771/EC as amended, band 61",
        reading: RuleReading::SecondHand,
        from: Hertz(5725e6),
        to: Hertz(5875e6),
        limit: PowerLimit::Eirp(TWENTY_FIVE_MILLIWATTS),
        condition: "",
        licence: false,
        digital_alone: false,
    },
    PowerRule {
        id: "us-249-5725",
        title: "United States: 47 CFR 15.249, 5725 to 5875 MHz",
        source: "47 CFR 15.249",
        reading: RuleReading::OwnText,
        from: Hertz(5725e6),
        to: Hertz(5875e6),
        limit: PowerLimit::FieldStrength { volts_per_metre: 0.05, distance_m: 3.0 },
        condition: "harmonics at most 500 microvolts per metre",
        licence: false,
        digital_alone: false,
    },
    PowerRule {
        id: "us-247-5725",
        title: "United States: 47 CFR 15.247, 5725 to 5850 MHz, digital modulation or hopping",
        source: "47 CFR 15.247",
        reading: RuleReading::SecondHand,
        from: Hertz(5725e6),
        to: Hertz(5850e6),
        limit: DIGITAL_WATT,
        condition: DIGITAL_WATT_CONDITION,
        licence: false,
        digital_alone: true,
    },
    PowerRule {
        id: "amateur-5650-5925",
        title: "Amateur service, 5650 to 5925 MHz (ITU Region 2)",
        source: "47 CFR 97.301",
        reading: RuleReading::OwnText,
        from: Hertz(5650e6),
        to: Hertz(5925e6),
        limit: PowerLimit::Transmitter(Dbm(61.760_912_590_556_81)),
        condition: "needs an amateur licence, whose holder decides; secondary user; the power limit of 1500 W is from memory",
        licence: true,
        digital_alone: false,
    },
    PowerRule {
        id: "amateur-5650-5850",
        title: "Amateur service, 5650 to 5850 MHz (ITU Regions 1 and 3)",
        source: "47 CFR 97.301; one European national regulation for the power",
        reading: RuleReading::SecondHand,
        from: Hertz(5650e6),
        to: Hertz(5850e6),
        limit: PowerLimit::Transmitter(Dbm(53.010_299_956_639_81)),
        condition: "needs an amateur licence, whose holder decides; secondary user; 200 W peak envelope in one national regulation",
        licence: true,
        digital_alone: false,
    },
    PowerRule {
        id: "eu-2400-data",
        title: "Europe: wideband data, 2400 to 2483.5 MHz",
        source: "EN 300 328",
        reading: RuleReading::SecondHand,
        from: Hertz(2400e6),
        to: Hertz(2483.5e6),
        limit: PowerLimit::Eirp(Dbm(20.0)),
        condition: "100 mW in 100 kHz when hopping, 10 mW per MHz otherwise; analogue frequency modulation is not covered (from memory)",
        licence: false,
        digital_alone: true,
    },
    PowerRule {
        id: "eu-2400-short-range",
        title: "Europe: non-specific short-range devices, 2400 to 2483.5 MHz",
        source: "ERC/REC 70-03 Annex 1",
        reading: RuleReading::Memory,
        from: Hertz(2400e6),
        to: Hertz(2483.5e6),
        limit: PowerLimit::Eirp(Dbm(10.0)),
        condition: "",
        licence: false,
        digital_alone: false,
    },
    PowerRule {
        id: "us-249-2400",
        title: "United States: 47 CFR 15.249, 2400 to 2483.5 MHz",
        source: "47 CFR 15.249",
        reading: RuleReading::OwnText,
        from: Hertz(2400e6),
        to: Hertz(2483.5e6),
        limit: PowerLimit::FieldStrength { volts_per_metre: 0.05, distance_m: 3.0 },
        condition: "harmonics at most 500 microvolts per metre",
        licence: false,
        digital_alone: false,
    },
    PowerRule {
        id: "us-247-2400",
        title: "United States: 47 CFR 15.247, 2400 to 2483.5 MHz, digital modulation or hopping",
        source: "47 CFR 15.247",
        reading: RuleReading::SecondHand,
        from: Hertz(2400e6),
        to: Hertz(2483.5e6),
        limit: DIGITAL_WATT,
        condition: DIGITAL_WATT_CONDITION,
        licence: false,
        digital_alone: true,
    },
    PowerRule {
        id: "us-249-902",
        title: "United States: 47 CFR 15.249, 902 to 928 MHz",
        source: "47 CFR 15.249",
        reading: RuleReading::OwnText,
        from: Hertz(902e6),
        to: Hertz(928e6),
        limit: PowerLimit::FieldStrength { volts_per_metre: 0.05, distance_m: 3.0 },
        condition: "harmonics at most 500 microvolts per metre",
        licence: false,
        digital_alone: false,
    },
    PowerRule {
        id: "eu-868-0",
        title: "Europe: 868.0 to 868.6 MHz",
        source: "ERC/REC 70-03 Annex 1",
        reading: RuleReading::SecondHand,
        from: Hertz(868e6),
        to: Hertz(868.6e6),
        limit: PowerLimit::Erp(TWENTY_FIVE_MILLIWATTS),
        condition: "at most 1 % of the time",
        licence: false,
        digital_alone: false,
    },
    PowerRule {
        id: "eu-868-7",
        title: "Europe: 868.7 to 869.2 MHz",
        source: "ERC/REC 70-03 Annex 1",
        reading: RuleReading::SecondHand,
        from: Hertz(868.7e6),
        to: Hertz(869.2e6),
        limit: PowerLimit::Erp(TWENTY_FIVE_MILLIWATTS),
        condition: "at most 0.1 % of the time",
        licence: false,
        digital_alone: false,
    },
    PowerRule {
        id: "eu-869-4",
        title: "Europe: 869.4 to 869.65 MHz",
        source: "ERC/REC 70-03 Annex 1",
        reading: RuleReading::SecondHand,
        from: Hertz(869.4e6),
        to: Hertz(869.65e6),
        limit: PowerLimit::Erp(HALF_A_WATT),
        condition: "at most 10 % of the time",
        licence: false,
        digital_alone: false,
    },
    PowerRule {
        id: "eu-869-7",
        title: "Europe: 869.7 to 870.0 MHz",
        source: "ERC/REC 70-03 Annex 1",
        reading: RuleReading::SecondHand,
        from: Hertz(869.7e6),
        to: Hertz(870e6),
        limit: PowerLimit::Erp(TWENTY_FIVE_MILLIWATTS),
        condition: "at most 1 % of the time; 5 mW without that limit",
        licence: false,
        digital_alone: false,
    },
];

/// The preset of this name.
pub fn preset(id: &str) -> Option<&'static PowerRule> {
    PRESETS.iter().find(|rule| rule.id == id)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_carrier_outside_every_licence_free_range_is_said() {
        // 5658 MHz lies in the amateur band alone, 5740 in a short-range band, 5945 in none of the table.
        let said = |megahertz| licence_caution(Hertz::from_megahertz(megahertz));
        assert!(said(5658.0).is_some_and(|text| text.starts_with("5658 MHz is outside every licence-free range")));
        assert_eq!(said(5740.0), None);
        assert!(said(5945.0).is_some_and(|text| text.contains("outside every range")));
    }

    #[test]
    fn every_preset_is_found_by_its_name_and_no_two_share_one() {
        for rule in &PRESETS {
            assert_eq!(preset(rule.id), Some(rule));
            assert_eq!(PRESETS.iter().filter(|other| other.id == rule.id).count(), 1);
            assert!(rule.from < rule.to && !rule.source.is_empty());
            assert_eq!(rule.licence, rule.limit.eirp().is_none(), "a rule without a radiated limit needs a licence");
        }
        assert_eq!(preset("nowhere"), None);
    }

    fn sent(conducted: f64, gain: f64, megahertz: f64, is_digital: bool) -> Emission {
        Emission {
            conducted: Dbm(conducted),
            peak_gain: Dbi(gain),
            eirp: Dbm(conducted + gain),
            carrier: Hertz::from_megahertz(megahertz),
            bandwidth: Hertz(18e6),
            is_digital,
        }
    }

    #[test]
    fn a_power_at_the_limit_is_within_it() {
        let rule = preset("eu-5725-5875").unwrap();
        let at = |power: f64| check(&sent(power, 0.0, 5800.0, false), rule);
        assert!(matches!(at(13.979_400_086_720_377), RuleVerdict::Within(_)));
        assert!(
            matches!(at(14.0), RuleVerdict::Above { radiated: Some(over), conducted: None } if (over.0 - 0.0206).abs() < 1e-4)
        );
        let amateur = preset("amateur-5650-5925").unwrap();
        assert_eq!(check(&sent(60.0, 0.0, 5800.0, false), amateur), RuleVerdict::NotBounded);
        // 1500 W are 61.76 dBm.
        assert!(matches!(
            check(&sent(62.0, 0.0, 5800.0, false), amateur),
            RuleVerdict::Above { conducted: Some(over), radiated: None } if (over.0 - 0.239).abs() < 1e-3
        ));
    }

    /// 47 CFR 15.247(b)(3) and (b)(4), by hand: 30 dBm conducted up to 6 dBi; 28 dBm with 8 dBi.
    #[test]
    fn conducted_power_falls_by_the_gain_above_six() {
        let rule = preset("us-247-5725").unwrap();
        assert_eq!(rule.limit.eirp(), Some(Dbm(36.0)));
        for (gain, limit) in [(0.0, 30.0), (6.0, 30.0), (8.0, 28.0), (12.5, 23.5)] {
            assert_eq!(rule.limit.conducted(Dbi(gain)), Some(Dbm(limit)));
        }
        let at = |power, gain| check(&sent(power, gain, 5800.0, true), rule);
        assert_eq!(at(29.0, 6.0), RuleVerdict::Within(Db(1.0)));
        // Little gain: conducted power is above while the radiated power is not.
        assert_eq!(at(31.0, 0.0), RuleVerdict::Above { conducted: Some(Db(1.0)), radiated: None });
        assert_eq!(at(31.0, 8.0), RuleVerdict::Above { conducted: Some(Db(3.0)), radiated: Some(Db(3.0)) });
        // A lossy feed lowers what is radiated and not what is conducted.
        let lossy = Emission { eirp: Dbm(35.0), ..sent(29.0, 8.0, 5800.0, true) };
        assert_eq!(check(&lossy, rule), RuleVerdict::Above { conducted: Some(Db(1.0)), radiated: None });
    }

    #[test]
    fn limits_say_nothing_of_what_a_rule_does_not_cover() {
        let digital = preset("us-247-5725").unwrap();
        assert_eq!(check(&sent(0.0, 0.0, 5800.0, false), digital), RuleVerdict::OtherModulation);
        // 5845 MHz lies within 5725 to 5850 MHz, an 18 MHz channel about it does not.
        assert_eq!(check(&sent(0.0, 0.0, 5845.0, true), digital), RuleVerdict::OtherBand);
        assert_eq!(check(&sent(0.0, 0.0, 5880.0, false), preset("amateur-5650-5850").unwrap()), RuleVerdict::OtherBand);
    }
}
