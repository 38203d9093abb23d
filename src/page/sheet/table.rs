//! The lap of an entry as a table for other programs.

use std::fmt::Write;

use crate::link::report::{EntryReport, LapColumns};

/// One row per sample, with a heading that names quantities and units; RFC 4180, lines end in CR LF.
///
/// Ports are counted from 1, as on the sheet. Centimetres, milliseconds and hundredths of a decibel are written, and four
/// digits of a share: no digits that nobody can mean. No text of the plan stands in it, so nothing in it can be taken for a
/// formula.
pub fn csv(lap: &LapColumns, entry: &EntryReport) -> String {
    let mut text = String::from("distance_m,time_s,east_m,north_m,height_m");
    // Writing to a string cannot fail.
    for port in 1..=entry.ports.len() {
        let _ = write!(text, ",port_{port}_level_dbm,port_{port}_margin_db,port_{port}_k_db,port_{port}_outage_share");
    }
    text.push_str(",threshold_dbm,port_in_use,outage_share\r\n");
    for sample in 0..lap.distance_m.len() {
        let place = [&lap.distance_m, &lap.time_s, &lap.x_m, &lap.y_m, &lap.height_m];
        for (index, column) in place.into_iter().enumerate() {
            let decimals = if index == 1 { 3 } else { 2 };
            let _ = write!(text, "{:.decimals$},", column[sample]);
        }
        for port in &entry.ports {
            let [level, margin, k] = [&port.level_dbm, &port.margin_db, &port.k_db].map(|column| column[sample]);
            let _ = write!(text, "{level:.2},{margin:.2},{k:.2},{:.3e},", port.outage[sample]);
        }
        let together = &entry.together;
        let _ = write!(
            text,
            "{:.2},{},{:.3e}\r\n",
            entry.threshold_dbm,
            u32::from(together.port[sample]) + 1,
            together.outage[sample]
        );
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::link::{Effort, Evaluator};
    use crate::plan::demo;

    #[test]
    fn rows_are_the_report() {
        let report = Evaluator::default().report(&demo(), Effort::FULL);
        let (lap, entry) = (&report.lap, &report.entries[2]);
        let text = csv(lap, entry);
        let mut lines = text.split("\r\n");
        let heading: Vec<&str> = lines.next().unwrap().split(',').collect();
        let column = |name: &str| heading.iter().position(|field| *field == name).unwrap();
        let rows: Vec<Vec<f64>> = lines
            .filter(|line| !line.is_empty())
            .map(|line| line.split(',').map(|field| field.parse().unwrap()).collect())
            .collect();
        assert_eq!(rows.len(), lap.distance_m.len());
        for (sample, row) in rows.iter().enumerate() {
            assert_eq!(row.len(), heading.len());
            let expected = [
                ("distance_m", lap.distance_m[sample]),
                ("time_s", lap.time_s[sample]),
                ("east_m", lap.x_m[sample]),
                ("north_m", lap.y_m[sample]),
                ("height_m", lap.height_m[sample]),
                ("port_1_level_dbm", entry.ports[0].level_dbm[sample]),
                ("port_1_margin_db", entry.ports[0].margin_db[sample]),
                ("port_2_k_db", entry.ports[1].k_db[sample]),
                ("port_2_outage_share", entry.ports[1].outage[sample]),
                ("threshold_dbm", entry.threshold_dbm),
                ("port_in_use", f64::from(entry.together.port[sample]) + 1.0),
                ("outage_share", entry.together.outage[sample]),
            ];
            for (name, value) in expected {
                // Half of the last digit that is written.
                let off = match name {
                    "time_s" => 0.000_5,
                    "outage_share" | "port_2_outage_share" => 0.000_5 * value,
                    _ => 0.005,
                };
                let got = row[column(name)];
                assert!((got - value).abs() <= off + 1e-12, "{name} of sample {sample}: {got}, not {value}");
            }
        }
    }
}
