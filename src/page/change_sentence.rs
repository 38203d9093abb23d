//! What a change moved: the last verdict against the new one, as a short sentence.

use crate::link::report::{EntryReport, Report};
use crate::plan::document::Plan;
use crate::{format, wording};

/// Changes below this are not told: they would read as 0.0 dB.
const TOLD_DB: f64 = 0.05;

/// What moved between two reports for the chosen entry, as a sentence that starts with what was done.
///
/// `label` says what was done ("Hand turned"). Where both laps have the same samples, the gate whose margin moved most is
/// named; otherwise the reserves are compared. Other entries are named when their verdict changed. `None` when the entry
/// is in neither report.
pub fn sentence(label: &str, before: &Report, after: &Report, plan: &Plan, chosen: usize) -> Option<String> {
    let id = plan.entries.get(chosen).map(|entry| entry.id.as_str())?;
    let pair = pair(before, after, id);
    let mut parts = Vec::new();
    match pair {
        Some((old, new)) => {
            parts.extend(at_a_gate(before, after, old, new, plan).or_else(|| in_reserve(old, new)));
            if old.verdict != new.verdict {
                parts.push(format!("now {}", new.verdict.word()));
            }
        }
        None => parts.push(match after.entries.iter().any(|entry| entry.id == id) {
            true => "can be judged now".to_owned(),
            false => "cannot be judged".to_owned(),
        }),
    }
    for entry in after.entries.iter().filter(|entry| entry.id != id) {
        let old = before.entries.iter().find(|old| old.id == entry.id);
        if old.is_some_and(|old| old.verdict != entry.verdict) {
            parts.push(format!("{} now {}", entry.name, entry.verdict.word()));
        }
    }
    if parts.is_empty() {
        parts.push(of_another(before, after, id).unwrap_or_else(|| "nothing moved".to_owned()));
    }
    let label = if label.is_empty() { "Changed" } else { label };
    Some(format!("{label}: {}.", parts.join(", ")))
}

/// The other entry whose reserve moved most, and by how much.
fn of_another(before: &Report, after: &Report, chosen: &str) -> Option<String> {
    let mut told = None;
    let mut most = TOLD_DB;
    for entry in after.entries.iter().filter(|entry| entry.id != chosen) {
        let old = before.entries.iter().find(|old| old.id == entry.id);
        let change = old.map_or(0.0, |old| entry.reserve_db - old.reserve_db);
        if change.abs() >= most {
            most = change.abs();
            told = Some(format!("{} of reserve for {}", format::decibel_change(change), entry.name));
        }
    }
    told
}

fn pair<'a>(before: &'a Report, after: &'a Report, id: &str) -> Option<(&'a EntryReport, &'a EntryReport)> {
    let find = |report: &'a Report| report.entries.iter().find(|entry| entry.id == id);
    Some((find(before)?, find(after)?))
}

/// The gate at which the margin of the port in use moved most.
fn at_a_gate(before: &Report, after: &Report, old: &EntryReport, new: &EntryReport, plan: &Plan) -> Option<String> {
    if before.lap.distance_m != after.lap.distance_m {
        return None;
    }
    let changes = after.lap.gate_distance_m.iter().enumerate().filter_map(|(gate, distance)| {
        let sample = nearest(&after.lap.distance_m, *distance)?;
        Some((gate, margin(new, sample)? - margin(old, sample)?))
    });
    let (gate, change) = changes.max_by(|left, right| left.1.abs().total_cmp(&right.1.abs()))?;
    (change.abs() >= TOLD_DB)
        .then(|| format!("{} at {}", format::decibel_change(change), wording::gate(&plan.course.gates, gate)))
}

fn in_reserve(old: &EntryReport, new: &EntryReport) -> Option<String> {
    let change = new.reserve_db - old.reserve_db;
    (change.abs() >= TOLD_DB).then(|| format!("{} of reserve", format::decibel_change(change)))
}

/// Margin of the port in use at a sample.
pub fn margin(entry: &EntryReport, sample: usize) -> Option<f64> {
    let port = usize::from(*entry.together.port.get(sample)?);
    entry.ports.get(port)?.margin_db.get(sample).copied()
}

/// The sample nearest to a distance along the line; `None` without samples.
fn nearest(distances: &[f64], distance: f64) -> Option<usize> {
    let off = |sample: &usize| (distances[*sample] - distance).abs();
    (0..distances.len()).min_by(|left, right| off(left).total_cmp(&off(right)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::link::report::Verdict;
    use crate::plan::demo;
    use crate::sample_report;

    fn plan() -> Plan {
        let mut plan = demo();
        for (index, gate) in plan.course.gates.iter_mut().enumerate() {
            gate.name = format!("Gate {}", index + 1);
        }
        plan
    }

    #[test]
    fn a_turned_hand_names_the_gate_that_moved_most() {
        let plan = plan();
        let before = sample_report::report(&plan, 2.0, Verdict::Short);
        let mut after = sample_report::report(&plan, 2.0, Verdict::Short);
        after.entries[0].ports[0].margin_db[3] = 13.0;
        after.entries[0].ports[0].margin_db[4] = -1.0;
        after.entries[0].verdict = Verdict::Thin;
        let sentence = sentence("Hand turned", &before, &after, &plan, 0).unwrap();
        assert_eq!(sentence, "Hand turned: +11.0\u{a0}dB at gate 4, now thin.");
    }

    #[test]
    fn only_the_port_in_use_counts() {
        let plan = plan();
        let before = sample_report::report(&plan, 2.0, Verdict::Clear);
        let mut after = sample_report::report(&plan, 2.0, Verdict::Clear);
        after.entries[0].ports[1].margin_db[3] = -20.0;
        assert_eq!(sentence("Aim changed", &before, &after, &plan, 0).unwrap(), "Aim changed: nothing moved.");
        after.entries[0].together.port[3] = 1;
        let told = sentence("Aim changed", &before, &after, &plan, 0).unwrap();
        assert_eq!(told, "Aim changed: −22.0\u{a0}dB at gate 4.");
    }

    #[test]
    fn another_lap_is_compared_by_its_reserve_and_other_entries_by_their_verdict() {
        let plan = plan();
        let before = sample_report::report(&plan, 2.0, Verdict::Clear);
        let mut after = sample_report::report(&plan, -1.5, Verdict::Clear);
        after.lap.distance_m[2] += 1.0;
        after.entries[1].verdict = Verdict::Short;
        let told = sentence("Gate moved", &before, &after, &plan, 0).unwrap();
        assert_eq!(told, format!("Gate moved: −3.5\u{a0}dB of reserve, {} now short.", plan.entries[1].name));
    }

    #[test]
    fn what_moves_another_entry_alone_is_told_of_that_one() {
        let plan = plan();
        let before = sample_report::report(&plan, 2.0, Verdict::Clear);
        let mut after = sample_report::report(&plan, 2.0, Verdict::Clear);
        (after.entries[1].reserve_db, after.entries[2].reserve_db) = (2.5, 0.5);
        let told = sentence("Kit for all", &before, &after, &plan, 0).unwrap();
        assert_eq!(told, format!("Kit for all: −1.5\u{a0}dB of reserve for {}.", plan.entries[2].name));
    }

    #[test]
    fn an_entry_that_cannot_be_judged_is_said_so() {
        let plan = plan();
        let before = sample_report::report(&plan, 2.0, Verdict::Clear);
        let mut after = sample_report::report(&plan, 2.0, Verdict::Clear);
        after.entries.remove(0);
        assert_eq!(sentence("", &before, &after, &plan, 0).unwrap(), "Changed: cannot be judged.");
        assert_eq!(sentence("", &before, &after, &plan, 99), None);
    }
}
