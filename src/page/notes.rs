//! What a verdict rests on, in sentences: hands that are not marked, the start pad, kit taken as typical.

use crate::link::report::{EntryReport, HandCase, Notice, Report, Verdict};
use crate::plan::document::{Plan, StatedHand};
use crate::plan::presets;
use crate::{format, parts, wording};

/// What each choice of the unknown hands would give; empty when every hand is known.
pub fn unknown_hands(entry: &EntryReport, plan: &Plan) -> Vec<String> {
    let Some(known) = plan.entries.get(entry.index) else { return Vec::new() };
    let is_open =
        |kit: &crate::plan::document::AntennaKit| kit.hand == StatedHand::Unknown && presets::has_hand(kit.kind);
    let aircraft = parts::video_radio(known).is_some_and(|radio| is_open(&radio.antenna));
    let receiver = parts::receiver_of(plan, entry.index).and_then(|index| plan.receivers.get(index));
    let goggles = receiver.is_some_and(|receiver| receiver.ports.iter().any(|port| is_open(&port.antenna)));
    if !(aircraft || goggles) || entry.hand_cases.len() < 2 {
        return Vec::new();
    }
    entry.hand_cases.iter().map(|case| hand_case(case, aircraft, goggles)).collect()
}

fn hand_case(case: &HandCase, aircraft: bool, goggles: bool) -> String {
    let mut ends = Vec::new();
    if aircraft {
        ends.push(format!("the aircraft’s antenna is {}", wording::hand(case.transmitter)));
    }
    if goggles {
        ends.push(format!("the goggles’ antennas are {}", wording::hand(case.ports)));
    }
    format!("If {}: {}, {}.", ends.join(" and "), case.verdict.word(), format::spare(case.reserve_db, None))
}

/// Figures that stand beside the verdict and never make it.
pub fn beside(entry: &EntryReport) -> Vec<String> {
    vec![
        format!("Good picture for {} of the lap.", format::share(entry.good_share)),
        format!("99 % of the lap has at least {} of margin.", format::decibel_change(entry.margin_p1_db)),
        format!("On the start pad: {} of margin.", format::decibel_change(entry.pad.margin_db)),
        format!("A usable picture needs {}.", format::level(entry.threshold_dbm)),
    ]
}

/// What was taken for granted about the kit, each a sentence.
pub fn caveats(entry: &EntryReport) -> Vec<String> {
    entry.caveats.iter().map(|caveat| sentence(caveat)).collect()
}

/// A notice as a sentence, with the part of the plan it speaks of.
pub fn notice(notice: &Notice) -> String {
    sentence(&format!("{}: {}", notice.path, notice.text))
}

/// A phrase with a capital at its start and a full stop at its end.
fn sentence(phrase: &str) -> String {
    let mut sentence = wording::with_first(phrase.trim(), char::to_ascii_uppercase);
    if !sentence.ends_with(['.', '!', '?']) {
        sentence.push('.');
    }
    sentence
}

/// What kept entries from being judged, and what to know about the plan as a whole: the blocking ones first.
pub fn notices(report: &Report) -> Vec<&Notice> {
    let (mut blocking, other): (Vec<&Notice>, Vec<&Notice>) = report.notices.iter().partition(|notice| notice.blocks);
    blocking.extend(other);
    blocking
}

/// How many entries got which verdict, as a sentence for those who do not see the chips.
pub fn tally(report: &Report) -> String {
    let count = |verdict| report.entries.iter().filter(|entry| entry.verdict == verdict).count();
    let entries = match report.entries.len() {
        1 => "1 entry".to_owned(),
        count => format!("{count} entries"),
    };
    let warned = match report.safety.len() {
        0 => String::new(),
        1 => " The line comes too near in 1 place.".to_owned(),
        count => format!(" The line comes too near in {count} places."),
    };
    format!(
        "{entries} judged, other pilots’ transmitters not counted: {} clear, {} thin, {} short.{warned}",
        count(Verdict::Clear),
        count(Verdict::Thin),
        count(Verdict::Short)
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::demo;
    use crate::rf::polarization::Hand;
    use crate::sample_report;

    fn cases() -> Vec<HandCase> {
        let case = |transmitter, reserve_db, verdict| HandCase {
            transmitter: Some(transmitter),
            ports: Some(Hand::Right),
            verdict,
            reserve_db,
            picture_share: 0.9,
        };
        vec![case(Hand::Right, 8.0, Verdict::Clear), case(Hand::Left, -3.0, Verdict::Short)]
    }

    #[test]
    fn only_what_nobody_says_is_told() {
        let mut plan = demo();
        let mut report = sample_report::report(&plan, 3.0, Verdict::Thin);
        report.entries[0].hand_cases = cases();
        assert_eq!(unknown_hands(&report.entries[0], &plan), Vec::<String>::new());
        plan.entries[0].radios[0].antenna.hand = StatedHand::Unknown;
        assert_eq!(
            unknown_hands(&report.entries[0], &plan),
            [
                "If the aircraft’s antenna is right hand: clear, 8.0\u{a0}dB to spare.",
                "If the aircraft’s antenna is left hand: short, 3.0\u{a0}dB too little.",
            ]
        );
    }

    #[test]
    fn phrases_of_the_core_become_sentences() {
        let mut entry = sample_report::report(&demo(), 3.0, Verdict::Thin).entries.remove(0);
        entry.caveats = vec!["the gain is taken as 2 dBi".to_owned(), "Done.".to_owned()];
        assert_eq!(caveats(&entry), ["The gain is taken as 2 dBi.", "Done."]);
        assert_eq!(notice(&Notice::remark("course", "a tight turn")), "Course: a tight turn.");
    }

    #[test]
    fn what_blocks_is_told_first() {
        let mut report = sample_report::report(&demo(), 3.0, Verdict::Thin);
        report.notices.push(Notice::blocking("entries[3]", "it has no seat"));
        let told = notices(&report);
        assert_eq!(told.len(), 2);
        assert!(told[0].blocks && !told[1].blocks);
    }

    #[test]
    fn one_entry_is_said_as_one() {
        let plan = demo();
        let mut report = sample_report::report(&plan, 3.0, Verdict::Thin);
        assert!(tally(&report).starts_with("4 entries judged"));
        report.entries.truncate(1);
        assert!(tally(&report).starts_with("1 entry judged") && tally(&report).ends_with("1 thin, 0 short."));
    }
}
