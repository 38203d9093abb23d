//! The report written out: JSON with every sample's budget, rows of CSV, and a sheet for a terminal.

use std::fmt::Write as _;

use serde::Serialize;

use super::allowed::standing;
use super::arbiter::{self, spare_words};
use super::breakups::{BreakupPlace, Breakups, number_words};
use super::cautions::{BEFORE_YOU_FLY, WHO_DECIDES};
use super::effort::Effort;
use super::evaluator::Evaluator;
use super::finding::{SafetyFinding, SharedChannel};
use super::report::{
    BudgetLine, Cause, EntryReport, HandCase, LapColumns, Notice, PadReport, Report, Stretch, Verdict,
};
use crate::plan::document::Plan;
use crate::rf::power_rule::licence_caution;
use crate::units::{Db, Hertz};

/// Value of `format` in the JSON report.
pub const REPORT_FORMAT: &str = "lapmargin-report";
/// Version of the JSON report; what changed in each stands in `docs/report.md`.
pub const REPORT_VERSION: u32 = 3;

/// The whole report as JSON, every sample with its budget, every entry with so many laps in time (none for 0). The schema
/// is described in `docs/report.md`; floats round-trip exactly.
pub fn json(plan: &Plan, evaluator: &mut Evaluator, effort: Effort, laps: u32) -> Result<String, serde_json::Error> {
    let report = evaluator.report(plan, effort);
    let mut flown = evaluator.breakups(plan, &report, effort, laps).into_iter();
    let written = |entry| written_entry(plan, evaluator, effort, &report, entry, flown.next());
    let entries = report.entries.iter().map(written).collect();
    serde_json::to_string(&WrittenReport {
        format: REPORT_FORMAT,
        version: REPORT_VERSION,
        plan: &plan.name,
        alone_in_the_air: true,
        bounces: report.bounces,
        lap: &report.lap,
        entries,
        safety: &report.safety,
        notices: &report.notices,
    })
}

fn written_entry<'a>(
    plan: &Plan,
    evaluator: &mut Evaluator,
    effort: Effort,
    report: &'a Report,
    entry: &'a EntryReport,
    laps_in_time: Option<Breakups>,
) -> WrittenEntry<'a> {
    let ports = entry
        .ports
        .iter()
        .enumerate()
        .map(|(port, columns)| {
            let budgets = evaluator.budgets(plan, entry.index, port, effort);
            let samples = budgets
                .into_iter()
                .enumerate()
                .map(|(sample, budget)| WrittenSample {
                    time_s: report.lap.time_s[sample],
                    distance_m: report.lap.distance_m[sample],
                    position_m: [report.lap.x_m[sample], report.lap.y_m[sample], report.lap.height_m[sample]],
                    level_dbm: columns.level_dbm[sample],
                    margin_db: columns.margin_db[sample],
                    k_db: columns.k_db[sample],
                    outage: columns.outage[sample],
                    delay_spread_ns: columns.delay_spread_ns[sample],
                    budget,
                })
                .collect();
            WrittenPort { samples }
        })
        .collect();
    WrittenEntry {
        id: &entry.id,
        name: &entry.name,
        receiver: &entry.receiver,
        verdict: entry.verdict,
        picture_share: entry.picture_share,
        good_share: entry.good_share,
        reserve_db: entry.reserve_db,
        confidence: entry.confidence,
        sigma_db: entry.sigma_db,
        margin_p1_db: entry.margin_p1_db,
        cause: &entry.cause,
        cause_gain_db: entry.cause_gain_db,
        worst: &entry.worst,
        frequency_hz: entry.frequency_hz,
        power_dbm: entry.power_dbm,
        peak_gain_dbi: entry.peak_gain_dbi,
        eirp_dbm: entry.eirp_dbm,
        threshold_dbm: entry.threshold_dbm,
        good_threshold_dbm: entry.good_threshold_dbm,
        pad: &entry.pad,
        hand_cases: &entry.hand_cases,
        same_channel: &entry.same_channel,
        caveats: &entry.caveats,
        port_in_use: &entry.together.port,
        outage: &entry.together.outage,
        shadowing_db: &entry.together.sigma_db,
        laps_in_time,
        ports,
    }
}

#[derive(Serialize)]
struct WrittenReport<'a> {
    format: &'static str,
    version: u32,
    plan: &'a str,
    alone_in_the_air: bool,
    bounces: u8,
    lap: &'a LapColumns,
    entries: Vec<WrittenEntry<'a>>,
    safety: &'a [SafetyFinding],
    notices: &'a [Notice],
}

#[derive(Serialize)]
struct WrittenEntry<'a> {
    id: &'a str,
    name: &'a str,
    receiver: &'a str,
    verdict: Verdict,
    picture_share: f64,
    good_share: f64,
    reserve_db: f64,
    confidence: f64,
    sigma_db: f64,
    margin_p1_db: f64,
    cause: &'a Cause,
    cause_gain_db: f64,
    worst: &'a Stretch,
    frequency_hz: f64,
    power_dbm: f64,
    peak_gain_dbi: f64,
    eirp_dbm: f64,
    threshold_dbm: f64,
    good_threshold_dbm: f64,
    pad: &'a PadReport,
    hand_cases: &'a [HandCase],
    same_channel: &'a [SharedChannel],
    caveats: &'a [String],
    port_in_use: &'a [u8],
    outage: &'a [f64],
    shadowing_db: &'a [f64],
    #[serde(skip_serializing_if = "Option::is_none")]
    laps_in_time: Option<Breakups>,
    ports: Vec<WrittenPort>,
}

#[derive(Serialize)]
struct WrittenPort {
    samples: Vec<WrittenSample>,
}

#[derive(Serialize)]
struct WrittenSample {
    time_s: f64,
    distance_m: f64,
    position_m: [f64; 3],
    level_dbm: f64,
    margin_db: f64,
    k_db: f64,
    outage: f64,
    delay_spread_ns: f64,
    budget: Vec<BudgetLine>,
}

/// One row per entry, port (from 1) and sample, with a header; RFC 4180, lines end in CR LF. Milliseconds, centimetres and
/// hundredths of a decibel: no digits that nobody can mean. The JSON report has them all.
pub fn csv(report: &Report) -> String {
    let mut text = String::from(
        "entry,port,time_s,distance_m,x_m,y_m,height_m,level_dbm,margin_db,k_db,outage,in_use,shadowing_db,delay_spread_ns\r\n",
    );
    let lap = &report.lap;
    for entry in &report.entries {
        let name = quoted(&entry.name);
        for (port, columns) in entry.ports.iter().enumerate() {
            for sample in 0..lap.time_s.len() {
                // Writing to a String cannot fail.
                let _ = write!(
                    text,
                    "{name},{},{:.3},{:.2},{:.2},{:.2},{:.2},{:.2},{:.2},{:.2},{:.3e},{},{:.2},{:.2}\r\n",
                    port + 1,
                    lap.time_s[sample],
                    lap.distance_m[sample],
                    lap.x_m[sample],
                    lap.y_m[sample],
                    lap.height_m[sample],
                    columns.level_dbm[sample],
                    columns.margin_db[sample],
                    columns.k_db[sample],
                    columns.outage[sample],
                    u8::from(usize::from(entry.together.port[sample]) == port),
                    entry.together.sigma_db[sample],
                    columns.delay_spread_ns[sample],
                );
            }
        }
    }
    text
}

/// A field of CSV: quoted when it must be. A spreadsheet would run a name that begins like a formula; an apostrophe
/// before it keeps it text.
pub fn quoted(field: &str) -> String {
    let field =
        if field.starts_with(['=', '+', '-', '@', '\t', '\r']) { format!("'{field}") } else { field.to_owned() };
    if field.contains(['"', ',', '\n', '\r']) { format!("\"{}\"", field.replace('"', "\"\"")) } else { field }
}

/// The cause in plain words; the plan knows the obstacles' names.
pub fn cause_words(cause: &Cause, plan: &Plan) -> String {
    match cause {
        Cause::CrossHand => "the hands of the antennas do not match".to_owned(),
        Cause::PatternNull => "weak direction of the aircraft's antenna".to_owned(),
        Cause::OffAim => "outside the receiving antenna's beam".to_owned(),
        Cause::OwnHead => "the pilot faces away: the head is in the way".to_owned(),
        Cause::OwnFrame => "the aircraft's own frame is in the way".to_owned(),
        Cause::ObstructedBy { obstacle } => format!("{} is in the way", obstacle_name(plan, obstacle)),
        Cause::People => "people are in the way".to_owned(),
        Cause::Range => "distance".to_owned(),
        Cause::Scatter => "bounces and scatter make the level rise and fall".to_owned(),
    }
}

/// The cause of the weakest stretch, and what there is to gain: "people are in the way (fixing it gains 3.1 dB)". Nobody
/// mends a distance, so that is compared with the lap's middle one.
fn cause_with_gain(entry: &EntryReport, plan: &Plan) -> String {
    let words = cause_words(&entry.cause, plan);
    match entry.cause_gain_db {
        gain if entry.cause == Cause::Range => format!("{words}; {gain:+.1} dB at mid-lap distance"),
        gain if gain >= 0.05 => format!("{words} (fixing it gains {gain:.1} dB)"),
        _ => words,
    }
}

/// A probability in whole per cent, never rounded to certainty.
pub fn confidence_words(confidence: f64) -> String {
    if confidence > 0.99 {
        "> 99 %".to_owned()
    } else if confidence < 0.01 {
        "< 1 %".to_owned()
    } else {
        format!("{:.0} %", 100.0 * confidence)
    }
}

/// The name of an obstacle of the plan, or its id when there is none.
pub fn obstacle_name(plan: &Plan, id: &str) -> String {
    plan.site
        .obstacles
        .iter()
        .find(|obstacle| obstacle.id == id)
        .map_or_else(|| id.to_owned(), |obstacle| obstacle.name.clone())
}

/// A sheet to read in a terminal. `flown` has the laps in time of every entry of the report, or nothing.
pub fn sheet(plan: &Plan, report: &Report, flown: &[Breakups]) -> String {
    let mut text = String::new();
    let gates = &plan.course.gates;
    let gate = |index: usize| gates.get(index).map_or("?", |gate| gate.name.as_str());
    let _ = writeln!(text, "{}", printable(&plan.name));
    let _ = writeln!(
        text,
        "Lap {:.1} m in {:.1} s; target: a picture in {:.1} % of fields with {:.1} dB in reserve. Other pilots' transmitters not counted.\n",
        report.lap.length_m,
        report.lap.duration_s,
        100.0 * plan.targets.picture_share,
        plan.targets.wanted_reserve_db
    );
    for (number, entry) in report.entries.iter().enumerate() {
        let _ = writeln!(
            text,
            "{:<18} {:<7} {:.0} MHz",
            printable(&entry.name),
            entry.verdict.word(),
            entry.frequency_hz / 1e6
        );
        let _ = writeln!(
            text,
            "    picture in {:.2} % of fields, {}; {} chance it holds",
            100.0 * entry.picture_share,
            spare_words(entry.reserve_db, Some(entry.sigma_db)),
            confidence_words(entry.confidence),
        );
        let _ = writeln!(
            text,
            "    good picture for {:.2} % of the lap; 99 % of the lap has at least {:+.1} dB of margin",
            100.0 * entry.good_share,
            entry.margin_p1_db
        );
        let _ = writeln!(
            text,
            "    weakest from {:.0} m for {:.0} m, between {} and {}: {}",
            entry.worst.start_m,
            entry.worst.length_m,
            printable(gate(entry.worst.after_gate)),
            printable(gate(entry.worst.before_gate)),
            printable(&cause_with_gain(entry, plan))
        );
        if let Some(flown) = flown.get(number) {
            let _ = writeln!(
                text,
                "    {}; about {} of {} fields lost per lap",
                flown.sentence(),
                number_words(flown.lost_fields()),
                flown.field_bad.len()
            );
            let _ = writeln!(text, "    in simulated laps {}", arbiter::reserve_words(flown));
            if let Some(said) = arbiter::sentence(entry, flown, Db(plan.targets.wanted_reserve_db)) {
                let _ = writeln!(text, "    {said}");
            }
            let places = flown.places.iter().take(3).filter(|place| place.per_lap > 0.0);
            for BreakupPlace { start_m, end_m, per_lap } in places {
                let _ =
                    writeln!(text, "        from {start_m:.0} m to {end_m:.0} m: {} per lap", number_words(*per_lap));
            }
        }
        for case in entry.hand_cases.iter().filter(|_| entry.hand_cases.len() > 1) {
            let name = |hand: Option<crate::rf::polarization::Hand>| hand.map_or("linear", |hand| hand.name());
            let _ = writeln!(
                text,
                "    if aircraft {} and receiver {}: {} ({})",
                name(case.transmitter),
                name(case.ports),
                case.verdict.word(),
                spare_words(case.reserve_db, None)
            );
        }
        for caveat in &entry.caveats {
            let _ = writeln!(text, "    note: {}", printable(caveat));
        }
        if let Some(caution) = licence_caution(Hertz(entry.frequency_hz)) {
            let _ = writeln!(text, "    {caution}");
        }
        for shared in &entry.same_channel {
            let _ = writeln!(text, "    {}", printable(&shared.sentence));
        }
        let _ =
            writeln!(text, "    radiates up to {:.1} dBm EIRP; {}\n", entry.eirp_dbm, standing(plan, entry).words());
    }
    if !report.safety.is_empty() {
        let _ = writeln!(text, "Where the line comes too near");
        for finding in &report.safety {
            let _ = writeln!(text, "- {}", printable(&finding.sentence));
        }
        let _ = writeln!(text);
    }
    if !report.entries.is_empty() {
        let _ = writeln!(text, "Before you fly. {WHO_DECIDES}");
        for sentence in BEFORE_YOU_FLY {
            let _ = writeln!(text, "- {sentence}");
        }
    }
    for notice in &report.notices {
        let _ = writeln!(text, "{}: {}", notice.path, printable(&notice.text));
    }
    text
}

/// Text of a plan without control characters, which a terminal would obey.
fn printable(text: &str) -> String {
    text.chars().map(|character| if character.is_control() { '\u{fffd}' } else { character }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::demo;

    #[test]
    fn a_name_in_csv_stays_one_field_and_runs_nothing() {
        assert_eq!(quoted("Linnet"), "Linnet");
        assert_eq!(quoted("a,\"b\""), "\"a,\"\"b\"\"\"");
        assert_eq!(quoted("=1+1"), "'=1+1");
    }

    #[test]
    fn ports_of_the_csv_count_from_one() {
        let report = Evaluator::default().report(&demo(), Effort::FULL);
        let text = csv(&report);
        let ports: std::collections::BTreeSet<&str> =
            text.lines().skip(1).filter_map(|row| row.split(',').nth(1)).collect();
        assert_eq!(ports.into_iter().collect::<Vec<_>>(), ["1", "2"]);
    }

    #[test]
    fn a_name_cannot_command_the_terminal() {
        assert_eq!(printable("a\u{1b}[2J\u{7}b"), "a\u{fffd}[2J\u{fffd}b");
    }
}
