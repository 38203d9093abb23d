//! A report on its way from the worker to the page: its columns travel as typed arrays, the rest as JSON.
//!
//! A report of four entries holds some 13 000 numbers. As text they would be written and read again digit by digit at
//! every move of a drag; as columns they are handed over whole, bit for bit.

use crate::link::report::Report;
use crate::page::jobs::Answer;

/// Takes a report apart for the journey.
///
/// # Errors
/// A sentence when the rest cannot be written as JSON, which needs a number that is not finite outside the columns.
pub fn pack(mut report: Report) -> Result<Answer, String> {
    let mut columns = Vec::new();
    each_column(&mut report, |column| columns.push(std::mem::take(column)));
    for entry in &mut report.entries {
        let ports = std::mem::take(&mut entry.together.port);
        columns.push(ports.into_iter().map(f64::from).collect());
    }
    let text =
        serde_json::to_string(&report).map_err(|error| format!("The report could not be passed on ({error})."))?;
    Ok(Answer { text, columns })
}

/// Puts a report together again.
///
/// # Errors
/// A sentence when the text is no report or the columns do not match it.
pub fn unpack(answer: Answer) -> Result<Report, String> {
    let mut report: Report = serde_json::from_str(&answer.text)
        .map_err(|error| format!("The calculation's answer could not be read ({error})."))?;
    let mut columns = answer.columns.into_iter();
    let mut missing = false;
    let mut next = || {
        let column = columns.next();
        missing |= column.is_none();
        column.unwrap_or_default()
    };
    each_column(&mut report, |column| *column = next());
    for entry in &mut report.entries {
        // Ports are counted in small whole numbers; the cast gives back what was packed.
        entry.together.port = next().into_iter().map(|port| port as u8).collect();
    }
    if missing || columns.next().is_some() {
        return Err("The calculation's answer came without all its columns.".to_owned());
    }
    Ok(report)
}

/// Every column of floats in a report, always in the same order.
fn each_column(report: &mut Report, mut visit: impl FnMut(&mut Vec<f64>)) {
    let lap = &mut report.lap;
    for column in [
        &mut lap.time_s,
        &mut lap.weight_s,
        &mut lap.distance_m,
        &mut lap.x_m,
        &mut lap.y_m,
        &mut lap.height_m,
        &mut lap.speed_m_per_s,
        &mut lap.tilt_deg,
        &mut lap.gate_distance_m,
    ] {
        visit(column);
    }
    for entry in &mut report.entries {
        for port in &mut entry.ports {
            for column in [&mut port.level_dbm, &mut port.margin_db, &mut port.k_db, &mut port.outage] {
                visit(column);
            }
        }
        visit(&mut entry.together.outage);
        visit(&mut entry.together.sigma_db);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::link::report::Verdict;
    use crate::page::sample_report;
    use crate::plan::demo;

    fn sample() -> Report {
        let mut report = sample_report::report(&demo(), 3.0, Verdict::Thin);
        // Numbers that text would have to write out in full.
        report.entries[1].ports[1].k_db[2] = 0.1 + 0.2;
        report.lap.x_m[0] = -0.0;
        report.entries[0].together.port[1] = 1;
        report
    }

    #[test]
    fn a_report_arrives_as_it_left() {
        let packed = pack(sample()).unwrap();
        assert!(packed.text.len() < 8_000, "the columns do not travel as text: {} bytes", packed.text.len());
        let arrived = unpack(packed).unwrap();
        assert_eq!(arrived, sample());
        assert!(arrived.lap.x_m[0].is_sign_negative());
    }

    #[test]
    fn a_missing_or_surplus_column_is_noticed() {
        let mut short = pack(sample()).unwrap();
        short.columns.pop();
        assert!(unpack(short).unwrap_err().contains("columns"));
        let mut long = pack(sample()).unwrap();
        long.columns.push(Vec::new());
        assert!(unpack(long).unwrap_err().contains("columns"));
        assert!(unpack(Answer::default()).unwrap_err().contains("could not be read"));
    }
}
