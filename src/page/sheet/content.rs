//! What stands on the sheet, in words: made from a plan and its report, shown by `super::leaf`.

use super::checks;
use super::course::{entry_letter, seat_tag};
use super::mark;
use crate::caution_words::{exposure_sentence, standing_words};
use crate::drawing::lap_columns::{entry_report, in_use, sample_at};
use crate::format::{self, DisplayUnits};
use crate::link::allowed::{Standing, standing};
use crate::link::arbiter;
use crate::link::breakups::Breakups;
use crate::link::report::{EntryReport, Report, Verdict};
use crate::plan::channels::frequency_text;
use crate::plan::document::{AntennaKit, Entry, Placement, Plan, Port, Seat, StatedHand};
use crate::plan::presets::{has_hand, is_directional};
use crate::plan::save;
use crate::rf::power_rule::{RuleVerdict, licence_caution};
use crate::units::{Db, Dbm, Hertz};
use crate::{parts, wording};

/// The sheet in words.
#[derive(Clone, Debug, PartialEq)]
pub struct Content {
    /// Name of the plan.
    pub name: String,
    /// Its mark, see [`mark`](mod@mark).
    pub mark: String,
    /// Lap and targets.
    pub lap: String,
    /// What gates and seats are called.
    pub places: String,
    /// One item per entry of the plan.
    pub entries: Vec<EntryContent>,
    /// The distance to keep from the antenna that needs most; nothing when no entry was judged.
    pub exposure: String,
    /// Where the line comes too near to people and things, the worst first.
    pub safety: Vec<String>,
    /// What kept the plan from being judged, and what is to be known about it as a whole.
    pub notices: Vec<String>,
}

/// The most warnings of places that stand on the sheet; how many more there are is said.
const MOST_WARNINGS: usize = 1;

/// An entry on the sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct EntryContent {
    /// Position in the plan.
    pub index: usize,
    /// Its letter on the drawing.
    pub letter: char,
    /// Its name.
    pub name: String,
    /// The verdict, if there is one.
    pub verdict: Option<Verdict>,
    /// The verdict with its figures, or why there is none.
    pub figures: String,
    /// Channel and power.
    pub air: String,
    /// Radiated power against the picked rule.
    pub radiated: String,
    /// Whether that is above the limit.
    pub is_above_limit: bool,
    /// Who else is on its channel; empty when nobody is.
    pub same_channel: String,
    /// The antenna on the aircraft.
    pub aircraft: String,
    /// Where it is received, with what, and how that is aimed.
    pub seat: String,
    /// The worst place by the numbers of its gates, and why; empty without a verdict.
    pub worst: String,
    /// What to look at on the spot; empty without a verdict.
    pub check: String,
    /// Where a level is to be read, and what was computed there.
    pub readings: Vec<Reading>,
}

/// A blank box and what stands before it.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// Where.
    pub place: String,
    /// The computed level; empty where there is none.
    pub expected: String,
}

/// What laps in time say of an entry.
#[derive(Clone, Debug, PartialEq)]
pub struct LapWords {
    /// Breakups with their interval, and the reserve where it says another verdict.
    pub full: String,
    /// The same where entries stand close: without intervals.
    pub brief: String,
}

impl LapWords {
    /// Of an entry that was flown.
    pub fn of(plan: &Plan, judged: &EntryReport, said: &Breakups) -> Self {
        let breakups = said.sentence();
        let arbiter = arbiter::sentence(judged, said, Db(plan.targets.wanted_reserve_db));
        let reserve = arbiter::spare_words(said.reserve_db, None);
        let brief = breakups.split_once(" (").map_or(breakups.as_str(), |(brief, _)| brief);
        Self {
            brief: if arbiter.is_some() { format!("{brief}, there {reserve}") } else { brief.to_owned() },
            full: if arbiter.is_some() { format!("{breakups}; there {reserve}") } else { breakups.clone() },
        }
    }

    /// What there is to say instead.
    pub fn plain(said: String) -> Self {
        Self { brief: said.clone(), full: said }
    }
}

impl Content {
    /// The sheet of a plan and its report.
    pub fn of(plan: &Plan, report: &Report, units: DisplayUnits) -> Self {
        let entries = plan.entries.iter().enumerate().map(|(index, entry)| {
            let judged = entry_report(report, index);
            entry_content(plan, report, index, entry, judged, units)
        });
        let strongest = report.entries.iter().max_by(|one, other| one.eirp_dbm.total_cmp(&other.eirp_dbm));
        let notices =
            report.notices.iter().map(|notice| format!("{}: {}.", notice.path, notice.text.trim_end_matches('.')));
        Self {
            name: plan.name.clone(),
            mark: mark::mark(&save(plan)),
            lap: lap_sentence(plan, report, units),
            places: places(plan),
            entries: entries.collect(),
            exposure: strongest.map_or_else(String::new, |entry| {
                exposure_sentence(Dbm(entry.eirp_dbm), Hertz(entry.frequency_hz), units)
            }),
            safety: warnings(report),
            notices: notices.collect(),
        }
    }
}

fn warnings(report: &Report) -> Vec<String> {
    let mut said: Vec<String> =
        report.safety.iter().take(MOST_WARNINGS).map(|finding| finding.sentence.clone()).collect();
    if let Some(last) = said.last_mut().filter(|_| report.safety.len() > MOST_WARNINGS) {
        last.push_str(&format!(" {} more such places: planner’s page.", report.safety.len() - MOST_WARNINGS));
    }
    said
}

fn lap_sentence(plan: &Plan, report: &Report, units: DisplayUnits) -> String {
    let targets = format!(
        "Wanted: a picture in {} of fields, {} in reserve. Other pilots’ transmitters not counted.",
        format::share(plan.targets.picture_share),
        format::decibels(plan.targets.wanted_reserve_db)
    );
    if report.lap.distance_m.is_empty() {
        return targets;
    }
    let (length, time) = (format::length(report.lap.length_m, units), format::seconds(report.lap.duration_s));
    format!("Lap {length} in {time}. {targets}")
}

/// What the numbers on the drawing stand for.
fn places(plan: &Plan) -> String {
    let gates: Vec<String> =
        plan.course.gates.iter().enumerate().map(|(index, gate)| format!("{} {}", index + 1, gate.name)).collect();
    let seats: Vec<String> =
        plan.seats.iter().enumerate().map(|(index, seat)| format!("{} {}", seat_tag(index), seat.name)).collect();
    let kits = plan.receivers.iter().flat_map(|receiver| receiver.ports.iter().map(|port| &port.antenna));
    let mut kits = kits.chain(plan.entries.iter().filter_map(|entry| Some(&parts::video_radio(entry)?.antenna)));
    let is_open = kits.any(|kit| kit.hand == StatedHand::Unknown && has_hand(kit.kind));
    let hands = if is_open { " Hand unknown: the worse one counts." } else { "" };
    format!(
        "Gates: {}. Seats: {}. Letters: weakest stretches. Boxes: level computed and level read, in dBm. Headings from north.{hands} Mark: {}.",
        gates.join(", "),
        seats.join(", "),
        mark::HOW
    )
}

fn entry_content(
    plan: &Plan,
    report: &Report,
    index: usize,
    entry: &Entry,
    judged: Option<&EntryReport>,
    units: DisplayUnits,
) -> EntryContent {
    let radio = parts::video_radio(entry);
    let frequency = frequency_text(Hertz(entry.channel_hz));
    let air = match radio {
        Some(radio) => format!("{frequency}, {}", format::power(radio.power_dbm, units)),
        None => format!("{frequency}, no video transmitter"),
    };
    let aircraft = radio.map_or_else(String::new, |radio| antenna_words(&radio.antenna));
    let (radiated, is_above_limit) = judged.map_or_else(Default::default, |judged| radiated(judged, plan));
    let own = format!("entries[{index}]");
    let why = report.notices.iter().find(|notice| notice.path.starts_with(&own)).or(report.notices.first());
    EntryContent {
        index,
        letter: entry_letter(index),
        name: entry.name.clone(),
        verdict: judged.map(|judged| judged.verdict),
        figures: match (judged, why) {
            (Some(judged), _) => format!(
                "picture in {} of fields, {}, {} chance it holds",
                format::share(judged.picture_share),
                format::spare(judged.reserve_db, Some(judged.sigma_db)),
                format::confidence(judged.confidence)
            ),
            (None, Some(notice)) => format!("not judged: {}", notice.text),
            (None, None) => "not judged".to_owned(),
        },
        air,
        radiated,
        is_above_limit,
        same_channel: judged.map_or_else(String::new, |judged| same_channel(judged, plan)),
        aircraft,
        seat: seat_words(plan, index, units),
        worst: judged.map_or_else(String::new, |judged| worst_words(judged, plan, units)),
        check: judged.map_or_else(String::new, |judged| checks::on_site(&judged.cause, plan)),
        readings: judged.map_or_else(Vec::new, |judged| readings(report, judged)),
    }
}

/// Whose channels meet the entry's, by name.
fn same_channel(judged: &EntryReport, plan: &Plan) -> String {
    let name = |id: &str| plan.entries.iter().find(|entry| entry.id == id).map_or("", |entry| entry.name.as_str());
    let names: Vec<&str> = judged.same_channel.iter().map(|shared| name(&shared.entry)).collect();
    if names.is_empty() { String::new() } else { format!("Channel meets that of {}.", names.join(", ")) }
}

/// The radiated power against the picked rule, and whether it is above.
fn radiated(judged: &EntryReport, plan: &Plan) -> (String, bool) {
    let radiated = format!("EIRP {}", format::level(judged.eirp_dbm));
    let licence = match licence_caution(Hertz(judged.frequency_hz)) {
        Some(_) => format!("; {} MHz may need a licence", judged.frequency_hz / 1e6),
        None => String::new(),
    };
    let standing = standing(plan, judged);
    // Where a licence decides, what one's own limit says there need not be said, too.
    let words = match standing {
        Standing::OwnElsewhere => String::new(),
        standing if standing.is_above() => format!(", {}", standing_words(standing)),
        Standing::NoLimit | Standing::WithinOwn(_) | Standing::Rule(RuleVerdict::Within(_)) => {
            format!(", {}", standing_words(standing))
        }
        standing => format!("; {}", standing_words(standing)),
    };
    (format!("{radiated}{words}{licence}"), standing.is_above())
}

/// The worst stretch by the numbers of its gates, and why it is the worst.
fn worst_words(judged: &EntryReport, plan: &Plan, units: DisplayUnits) -> String {
    let [after, before] = [judged.worst.after_gate, judged.worst.before_gate].map(|gate| gate + 1);
    let place = if after == before { format!("at gate {after}") } else { format!("from gate {after} to {before}") };
    let length = format::length(judged.worst.length_m, units);
    format!("Weakest {length} {place}: {}.", wording::cause_with_gain(judged, plan))
}

/// Kind and hand; with a hand it goes without saying that an antenna is circular.
fn antenna_words(antenna: &AntennaKit) -> String {
    let measured = if antenna.table.is_some() { ", measured" } else { "" };
    let kind = wording::antenna_kind(antenna.kind);
    if !has_hand(antenna.kind) {
        return format!("{kind}{measured}");
    }
    let kind = kind.trim_start_matches("circular ").trim_end_matches(" (circular)");
    match antenna.hand {
        StatedHand::Right | StatedHand::Left => {
            format!("{}-hand {kind}{measured}", wording::stated_hand(antenna.hand))
        }
        StatedHand::Unknown => format!("{kind}{measured}, hand unknown"),
    }
}

fn seat_words(plan: &Plan, entry: usize, units: DisplayUnits) -> String {
    let receiver = parts::receiver_of(plan, entry).map(|index| &plan.receivers[index]);
    let seat = receiver.and_then(|receiver| plan.seats.iter().position(|seat| seat.id == receiver.seat));
    let (Some(receiver), Some(seat)) = (receiver, seat) else { return "no seat".to_owned() };
    let (tag, seat) = (seat_tag(seat), &plan.seats[seat]);
    let ports: Vec<String> =
        receiver.ports.iter().enumerate().map(|(index, port)| port_words(index, port, seat)).collect();
    let worn = match receiver.place {
        Placement::Worn => "worn",
        Placement::Standing => "standing",
    };
    format!(
        "{tag}, {worn}, {} up, faces {}: {}",
        format::short_length(seat.height_m, units),
        heading(seat.facing_deg),
        ports.join(", ")
    )
}

/// A port with the aim of its antenna; one that looks all round has none, but may lean.
fn port_words(index: usize, port: &Port, seat: &Seat) -> String {
    let lean = match port.aim_up_deg {
        up if up.abs() < 0.5 => String::new(),
        up if up > 0.0 => format!(" {}° up", format::fixed(up, 0)),
        down => format!(" {}° down", format::fixed(-down, 0)),
    };
    let lean_after = if lean.is_empty() { String::new() } else { format!(",{lean}") };
    let aim = if is_directional(port.antenna.kind) {
        format!(", heading {}{lean_after}", heading(seat.facing_deg + port.aim_off_deg))
    } else if lean.is_empty() {
        String::new()
    } else {
        format!(", leaning{lean}")
    };
    format!("port {}: {}{aim}", index + 1, antenna_words(&port.antenna))
}

/// A heading from 0 to 359 degrees.
fn heading(degrees: f64) -> String {
    format!("{}°", format::fixed(degrees.round().rem_euclid(360.0), 0))
}

/// The pad, and the gates at both ends of the weakest stretch.
fn readings(report: &Report, judged: &EntryReport) -> Vec<Reading> {
    let levels = in_use(judged, |port| &port.level_dbm);
    let pad = Reading { place: "pad".to_owned(), expected: format::fixed(judged.pad.level_dbm, 1) };
    let at_gate = |gate: usize| {
        let distance = report.lap.gate_distance_m.get(gate)?;
        let level = levels.get(sample_at(&report.lap, *distance))?;
        Some(Reading { place: format!("gate {}", gate + 1), expected: format::fixed(*level, 1) })
    };
    let (after, before) = (judged.worst.after_gate, judged.worst.before_gate);
    let gates = [Some(after), (before != after).then_some(before)];
    std::iter::once(pad).chain(gates.into_iter().flatten().filter_map(at_gate)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::link::allowed::rule_source;
    use crate::link::{Effort, Evaluator};
    use crate::plan::demo;
    use crate::plan::document::Rules;
    use crate::rf::power_rule;

    fn demo_sheet() -> (Plan, Report, Content) {
        let plan = demo();
        let report = Evaluator::default().report(&plan, Effort::FULL);
        let content = Content::of(&plan, &report, DisplayUnits::default());
        (plan, report, content)
    }

    #[test]
    fn the_demo_says_what_the_report_says() {
        let (plan, report, content) = demo_sheet();
        assert_eq!(content.entries.len(), plan.entries.len());
        for (entry, judged) in content.entries.iter().zip(&report.entries) {
            assert_eq!((entry.verdict, entry.name.as_str()), (Some(judged.verdict), judged.name.as_str()));
            assert!(entry.figures.contains(&format::share(judged.picture_share)), "{}", entry.figures);
            assert!(
                entry.figures.contains(&format::spare(judged.reserve_db, Some(judged.sigma_db))),
                "{}",
                entry.figures
            );
            assert_eq!(entry.check, checks::on_site(&judged.cause, &plan));
            assert!(entry.worst.contains(&wording::cause_with_gain(judged, &plan)), "{}", entry.worst);
            assert_eq!(entry.readings[0].expected, format::fixed(judged.pad.level_dbm, 1));
            assert_eq!(entry.readings.len(), 3);
        }
        assert!(content.notices.is_empty(), "{:?}", content.notices);
        assert!(
            content.lap.contains("102.1\u{a0}m") && content.lap.contains("transmitters not counted"),
            "{}",
            content.lap
        );
        assert!(content.exposure.starts_with("Keep at least"), "{}", content.exposure);
    }

    #[test]
    fn kit_is_written_out_in_full() {
        let (_, _, content) = demo_sheet();
        let moth = &content.entries[2];
        assert_eq!((moth.letter, moth.air.as_str()), ('C', "5843 MHz (R6), 6.31\u{a0}mW (8.0\u{a0}dBm)"));
        assert_eq!(moth.aircraft, "left-hand omni");
        assert_eq!(
            moth.seat,
            "S3, worn, 1.25\u{a0}m up, faces 40°: port 1: right-hand patch, heading 40°, 10° up, port 2: right-hand omni"
        );
        assert!(moth.radiated.ends_with("dB below the limit") && !moth.is_above_limit, "{}", moth.radiated);
        assert_eq!(content.entries[1].aircraft, "dipole (linear)");
        assert!(content.places.starts_with("Gates: 1 Start gate, 2 Loft gate"), "{}", content.places);
    }

    #[test]
    fn nothing_is_called_allowed_beside_a_channel_that_no_rule_covers() {
        let (mut plan, mut report, content) = demo_sheet();
        assert!(
            content.entries[0].radiated.ends_with("5658 MHz may need a licence"),
            "{}",
            content.entries[0].radiated
        );
        plan.rules.eirp_limit_dbm = None;
        let said = |plan: &Plan, report: &Report, entry: usize| radiated(&report.entries[entry], plan).0;
        assert!(said(&plan, &report, 0).ends_with("no limit chosen; 5658 MHz may need a licence"));
        assert!(said(&plan, &report, 1).ends_with("no limit chosen"));
        // A rule for another band.
        let rule = power_rule::PRESETS.iter().find(|rule| rule.id == "eu-2400-short-range").unwrap();
        plan.rules = Rules { eirp_limit_dbm: Some(40.0), source: rule_source(rule), ..Rules::default() };
        assert!(said(&plan, &report, 1).ends_with("the chosen rule does not cover this channel"));
        plan.rules.source.clear();
        report.entries[0].eirp_dbm = 41.0;
        assert!(said(&plan, &report, 0).ends_with("1.0\u{a0}dB above the limit; 5658 MHz may need a licence"));
    }

    #[test]
    fn gate_levels_are_those_of_the_port_in_use() {
        let (_, report, content) = demo_sheet();
        let judged = &report.entries[0];
        let gate = judged.worst.after_gate;
        let sample = sample_at(&report.lap, report.lap.gate_distance_m[gate]);
        let port = &judged.ports[usize::from(judged.together.port[sample])];
        let expected =
            Reading { place: format!("gate {}", gate + 1), expected: format::fixed(port.level_dbm[sample], 1) };
        assert_eq!(content.entries[0].readings[1], expected);
    }

    #[test]
    fn what_cannot_be_judged_says_why() {
        let mut plan = demo();
        plan.entries[1].receiver = "nobody".to_owned();
        plan.entries[0].radios[0].antenna.hand = StatedHand::Unknown;
        plan.receivers[0].ports[0].aim_up_deg = -5.0;
        plan.receivers[0].ports[1].aim_up_deg = 20.0;
        let report = Evaluator::default().report(&plan, Effort::FULL);
        let content = Content::of(&plan, &report, DisplayUnits::default());
        let [first, second, ..] = &content.entries[..] else { panic!("entries are missing") };
        assert!(second.verdict.is_none() && second.figures.starts_with("not judged: "), "{}", second.figures);
        assert_eq!((second.seat.as_str(), second.worst.as_str(), second.readings.len()), ("no seat", "", 0));
        assert_eq!(first.aircraft, "omni, hand unknown");
        assert!(first.seat.contains("5° down") && first.seat.contains("leaning 20° up"), "{}", first.seat);
    }
}
