//! What an entry sends beside the limit that the plan picked.

use super::report::EntryReport;
use super::same_channel::bandwidth_hz;
use crate::plan::document::{Picture, Plan};
use crate::rf::power_rule::{self, Emission, PRESETS, PowerRule, RuleVerdict};
use crate::units::{Db, Dbi, Dbm, Hertz};

/// How an entry stands to the picked limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Standing {
    /// No limit was picked.
    NoLimit,
    /// A rule was picked, and this is what holding the entry against it says.
    Rule(RuleVerdict),
    /// A limit of the person's own, and the radiated power is above it by this much.
    AboveOwn(Db),
    /// A limit of the person's own, and this much room to it.
    WithinOwn(Db),
    /// Within a limit of the person's own, at a carrier that no licence-free range covers: it says little there.
    OwnElsewhere,
}

/// How a plan remembers which rule was picked.
pub fn rule_source(rule: &PowerRule) -> String {
    format!("{} ({})", rule.title, rule.source)
}

/// The rule that a plan picked; `None` where it picked none, or has a limit of its own.
pub fn picked_rule(plan: &Plan) -> Option<&'static PowerRule> {
    PRESETS.iter().find(|rule| rule_source(rule) == plan.rules.source)
}

/// What an entry of a plan sends.
pub fn emission(plan: &Plan, entry: &EntryReport) -> Emission {
    let receiver = plan.receivers.iter().find(|receiver| receiver.id == entry.receiver);
    Emission {
        conducted: Dbm(entry.power_dbm),
        peak_gain: Dbi(entry.peak_gain_dbi),
        eirp: Dbm(entry.eirp_dbm),
        carrier: Hertz(entry.frequency_hz),
        bandwidth: Hertz(bandwidth_hz(plan, entry.index)),
        is_digital: receiver.is_some_and(|receiver| matches!(receiver.picture, Picture::Digital { .. })),
    }
}

/// How an entry stands to the limit that the plan picked.
pub fn standing(plan: &Plan, entry: &EntryReport) -> Standing {
    if let Some(rule) = picked_rule(plan) {
        return Standing::Rule(power_rule::check(&emission(plan, entry), rule));
    }
    let Some(limit) = plan.rules.eirp_limit_dbm else { return Standing::NoLimit };
    let room = limit - entry.eirp_dbm;
    if room < 0.0 {
        Standing::AboveOwn(Db(-room))
    } else if power_rule::licence_caution(Hertz(entry.frequency_hz)).is_some() {
        Standing::OwnElsewhere
    } else {
        Standing::WithinOwn(Db(room))
    }
}

impl Standing {
    /// Whether the entry is above a limit.
    pub fn is_above(self) -> bool {
        matches!(self, Self::AboveOwn(_) | Self::Rule(RuleVerdict::Above { .. }))
    }

    /// Whether it is worth raising one's voice for: above a limit, or the rule says nothing.
    pub fn is_grave(self) -> bool {
        self.is_above() || matches!(self, Self::Rule(RuleVerdict::OtherBand | RuleVerdict::OtherModulation))
    }

    /// In words that follow "radiates up to 13.1 dBm EIRP".
    pub fn words(self) -> String {
        match self {
            Self::NoLimit => "no limit chosen".to_owned(),
            Self::Rule(RuleVerdict::OtherBand) => "the chosen rule does not cover this channel".to_owned(),
            Self::Rule(RuleVerdict::OtherModulation) => {
                "the chosen rule is for digital emissions and does not cover analogue video".to_owned()
            }
            Self::Rule(RuleVerdict::NotBounded) => {
                "the chosen rule bounds no radiated power; the licence and its holder decide".to_owned()
            }
            Self::Rule(RuleVerdict::Within(room)) | Self::WithinOwn(room) => {
                format!("{} below the limit", room_words(room))
            }
            Self::AboveOwn(over) | Self::Rule(RuleVerdict::Above { conducted: None, radiated: Some(over) }) => {
                format!("{} above the limit", over_words(over))
            }
            Self::Rule(RuleVerdict::Above { conducted, radiated }) => {
                let conducted = conducted.map(|over| format!("conducted power {} above its limit", over_words(over)));
                let radiated = radiated.map(|over| format!("radiated power {} above its limit", over_words(over)));
                [conducted, radiated].into_iter().flatten().collect::<Vec<_>>().join(", ")
            }
            Self::OwnElsewhere => "your own limit says little about this channel".to_owned(),
        }
    }
}

/// Decibels above a limit, rounded up: above is never "0.0 dB above".
fn over_words(over: Db) -> String {
    format!("{:.1} dB", (10.0 * over.0 - 1e-9).ceil() / 10.0)
}

/// Room to a limit, rounded down.
fn room_words(room: Db) -> String {
    format!("{:.1} dB", (10.0 * room.0 + 1e-9).floor() / 10.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::link::{Effort, Evaluator};
    use crate::plan::demo;
    use crate::plan::document::Rules;

    fn judged(plan: &Plan) -> Vec<EntryReport> {
        Evaluator::default().report(plan, Effort::FULL).entries
    }

    fn pick(plan: &mut Plan, id: &str) {
        let rule = power_rule::preset(id).expect("a preset");
        let eirp_limit_dbm = rule.limit.eirp().map(|limit| limit.0);
        plan.rules = Rules { eirp_limit_dbm, source: rule_source(rule), ..Rules::default() };
    }

    #[test]
    fn a_rule_for_digital_emissions_says_nothing_of_analogue_video() {
        let mut plan = demo();
        pick(&mut plan, "us-247-5725");
        // Tansy at 5732 MHz: its 18 MHz begin at 5723, below the band; Moth at 5843 MHz ends above it.
        plan.entries[1].channel_hz = 5.8e9;
        let entries = judged(&plan);
        assert_eq!(standing(&plan, &entries[1]), Standing::Rule(RuleVerdict::OtherModulation));
        assert_eq!(standing(&plan, &entries[2]), Standing::Rule(RuleVerdict::OtherBand));
        assert!(standing(&plan, &entries[1]).words().ends_with("does not cover analogue video"));
        plan.receivers[1].picture = Picture::Digital { bandwidth_hz: 20e6, required_cn_db: None, freeze_s: 0.3 };
        let entries = judged(&plan);
        // 30 dBm conducted leave 18 dB to 12 dBm; 36 dBm radiated leave more.
        assert!(
            matches!(standing(&plan, &entries[1]), Standing::Rule(RuleVerdict::Within(room)) if (room.0 - 18.0).abs() < 1e-9)
        );
        plan.entries[1].radios[0].power_dbm = 31.0;
        let said = standing(&plan, &judged(&plan)[1]);
        assert_eq!(said.words(), "conducted power 1.0 dB above its limit");
        assert!(said.is_above());
    }

    #[test]
    fn below_the_limit_is_said_of_no_carrier_that_nothing_covers() {
        let mut plan = demo();
        for (limit, id) in [(Some(60.0), None), (None, Some("eu-5725-5875")), (None, Some("amateur-5650-5925"))] {
            match id {
                Some(id) => pick(&mut plan, id),
                None => plan.rules = Rules { eirp_limit_dbm: limit, ..Rules::default() },
            }
            // Linnet at 5658 MHz lies in the amateur band alone.
            let words = standing(&plan, &judged(&plan)[0]).words();
            assert!(!words.contains("below"), "{words}");
        }
        plan.rules = Rules { eirp_limit_dbm: Some(60.0), ..Rules::default() };
        assert!(standing(&plan, &judged(&plan)[1]).words().ends_with("below the limit"));
    }

    #[test]
    fn what_is_above_never_reads_as_nothing_and_room_never_as_more() {
        assert_eq!(Standing::AboveOwn(Db(0.01)).words(), "0.1 dB above the limit");
        assert_eq!(Standing::AboveOwn(Db(0.3)).words(), "0.3 dB above the limit");
        assert_eq!(Standing::WithinOwn(Db(0.97)).words(), "0.9 dB below the limit");
        assert_eq!(Standing::WithinOwn(Db(0.3)).words(), "0.3 dB below the limit");
    }
}
