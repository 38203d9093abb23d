//! A small invented report on the demo plan, for the tests of what the page makes of one.

use crate::link::report::{
    Cause, EntryReport, HandCase, LapColumns, Notice, PadReport, PortColumns, Report, Stretch, Together, Verdict,
};
use crate::plan::document::Plan;

/// A report with one sample per gate, in which every margin is `margin_db` and every entry has the same verdict.
pub(crate) fn report(plan: &Plan, margin_db: f64, verdict: Verdict) -> Report {
    let count = plan.course.gates.len();
    let column = |value: f64| vec![value; count];
    let distance_m: Vec<f64> = (0..count).map(|gate| 10.0 * gate as f64).collect();
    let port = || PortColumns {
        level_dbm: column(margin_db - 85.0),
        margin_db: column(margin_db),
        k_db: column(6.0),
        outage: column(0.01),
        delay_spread_ns: column(8.0),
    };
    let entry = |(index, entry): (usize, &crate::plan::document::Entry)| EntryReport {
        index,
        id: entry.id.clone(),
        name: entry.name.clone(),
        receiver: entry.receiver.clone(),
        verdict,
        picture_share: 0.99,
        under_share: 0.01,
        good_share: 0.9,
        reserve_db: margin_db,
        confidence: 0.9,
        sigma_db: 4.0,
        margin_p1_db: margin_db,
        cause: Cause::OffAim,
        cause_gain_db: 5.0,
        worst: Stretch { start_m: 12.0, length_m: 4.0, after_gate: 1, before_gate: 2, worst_sample: 1, lost: 0.2 },
        frequency_hz: entry.channel_hz,
        power_dbm: 12.0,
        peak_gain_dbi: 1.5,
        eirp_dbm: 13.5,
        threshold_dbm: -85.0,
        good_threshold_dbm: -77.0,
        ports: vec![port(), port()],
        together: Together { port: vec![0; count], outage: column(0.01), lost: column(0.01), sigma_db: column(4.0) },
        pad: PadReport { level_dbm: -60.0, margin_db: 25.0, k_db: 3.0, outage: 0.0 },
        hand_cases: vec![HandCase {
            transmitter: None,
            ports: None,
            verdict,
            reserve_db: margin_db,
            picture_share: 0.99,
        }],
        same_channel: Vec::new(),
        caveats: Vec::new(),
    };
    Report {
        bounces: 1,
        lap: LapColumns {
            time_s: distance_m.iter().map(|distance| distance / 8.0).collect(),
            weight_s: column(1.25),
            distance_m: distance_m.clone(),
            x_m: column(3.0),
            y_m: column(4.0),
            height_m: column(2.0),
            speed_m_per_s: column(8.0),
            tilt_deg: column(30.0),
            gate_distance_m: distance_m,
            length_m: 10.0 * count as f64,
            duration_s: 1.25 * count as f64,
        },
        entries: plan.entries.iter().enumerate().map(entry).collect(),
        safety: Vec::new(),
        notices: vec![Notice { path: "site".to_owned(), text: "Wet canopies.".to_owned(), blocks: false }],
    }
}
