//! How a report, an explained instant, a comparison of hands and laps in time travel.

use super::{Opened, Parcel, Travels, travels, travels_as_one_of};
use crate::link::breakups::{BreakupPlace, Breakups};
use crate::link::finding::{Danger, SafetyFinding, SharedChannel, Thing};
use crate::link::report::{
    BudgetLine, Cause, EntryReport, Explanation, HandCase, HandComparison, HandComparisonRow, LapColumns, Notice,
    PadReport, PathView, PortColumns, PrunedWays, Report, Stretch, Term, Together, Verdict,
};
use crate::rf::polarization::Hand;

travels!(Report { lap, bounces, entries, safety, notices });
travels!(SafetyFinding {
    danger,
    thing,
    id,
    distance_m,
    strays_m,
    x_m,
    y_m,
    height_m,
    at_m,
    gate,
    after_gate_m,
    sentence,
});
travels!(SharedChannel { entry, apart_hz, sentence });
travels!(Notice { path, text, blocks });
travels!(LapColumns {
    time_s,
    weight_s,
    distance_m,
    x_m,
    y_m,
    height_m,
    speed_m_per_s,
    tilt_deg,
    gate_distance_m,
    length_m,
    duration_s,
});
travels!(EntryReport {
    index,
    id,
    name,
    receiver,
    verdict,
    picture_share,
    under_share,
    good_share,
    reserve_db,
    confidence,
    sigma_db,
    margin_p1_db,
    cause,
    cause_gain_db,
    worst,
    frequency_hz,
    power_dbm,
    peak_gain_dbi,
    eirp_dbm,
    threshold_dbm,
    good_threshold_dbm,
    ports,
    together,
    pad,
    hand_cases,
    same_channel,
    caveats,
});
travels!(Stretch { start_m, length_m, after_gate, before_gate, worst_sample, lost });
travels!(PortColumns { level_dbm, margin_db, k_db, outage, delay_spread_ns });
travels!(Breakups {
    laps,
    seed,
    per_lap,
    low,
    high,
    picture_share,
    reserve_db,
    reserve_low_db,
    reserve_high_db,
    lost_share,
    frozen_share,
    under_share,
    field_s,
    places,
    field_distance_m,
    field_bad,
    field_in_breakup,
});
travels!(BreakupPlace { start_m, end_m, per_lap });
travels!(Together { port, outage, lost, sigma_db });
travels!(PadReport { level_dbm, margin_db, k_db, outage });
travels!(HandCase { transmitter, ports, verdict, reserve_db, picture_share });
travels!(Explanation {
    entry,
    port,
    sample,
    budget,
    level_dbm,
    margin_db,
    k_db,
    outage,
    fades_per_s,
    fade_length_s,
    tilt_spread_db,
    paths,
    pruned,
});
travels!(PrunedWays { out_of_sight, behind, beside, own_walls, faint });
travels!(BudgetLine { term, gain_db, reason });
travels!(PathView {
    via,
    points_m,
    length_m,
    level_dbm,
    obstruction_db,
    clearance,
    obstructed_by,
    hand,
    axial_ratio_db,
});
travels!(HandComparison { entry, rows });
travels!(HandComparisonRow { hand, verdict, picture_share, reserve_db, margin_p1_db, outage });

travels_as_one_of!(Verdict { Short, Thin, Clear });
travels_as_one_of!(Danger { NearPeople, IntoObstacle, OverPeople, IntoPeople });
travels_as_one_of!(Thing { Seat, Obstacle });
travels_as_one_of!(Hand { Right, Left });
travels_as_one_of!(Term {
    Power,
    TransmitFeed,
    TransmitAntenna,
    OwnFrame,
    FreeSpace,
    Obstruction,
    People,
    Polarization,
    ReceiveAntenna,
    OwnHead,
    ReceiveFeed,
    OtherPaths,
    Threshold,
});

/// The causes without data, by the number under which they travel, and one more for what an obstacle is behind.
const CAUSES: [Cause; 8] = [
    Cause::Range,
    Cause::CrossHand,
    Cause::PatternNull,
    Cause::OffAim,
    Cause::OwnHead,
    Cause::OwnFrame,
    Cause::People,
    Cause::Scatter,
];

impl Travels for Cause {
    fn pack(self, parcel: &mut Parcel) {
        match self {
            Cause::ObstructedBy { obstacle } => {
                CAUSES.len().pack(parcel);
                obstacle.pack(parcel);
            }
            other => CAUSES.iter().position(|cause| *cause == other).unwrap_or_default().pack(parcel),
        }
    }

    fn unpack(parcel: &mut Opened) -> Self {
        match CAUSES.get(usize::unpack(parcel)) {
            Some(cause) => cause.clone(),
            None => Cause::ObstructedBy { obstacle: String::unpack(parcel) },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::{pack, unpack};
    use super::*;
    use crate::link::{Effort, Evaluator};
    use crate::plan::demo;
    use crate::sample_report;

    fn sample() -> Report {
        let mut report = sample_report::report(&demo(), 3.0, Verdict::Thin);
        // Numbers that text would have to write out in full.
        report.entries[1].ports[1].k_db[2] = 0.1 + 0.2;
        report.lap.x_m[0] = -0.0;
        report.entries[0].together.port[1] = 1;
        report.notices.push(Notice::blocking("entries[3]", "it has no seat"));
        let shared =
            |entry: &str| SharedChannel { entry: entry.to_owned(), apart_hz: 5e6, sentence: "Too near.".to_owned() };
        report.entries[0].same_channel = vec![shared("tansy")];
        let finding = |danger, thing| SafetyFinding {
            danger,
            thing,
            id: "left".to_owned(),
            distance_m: 0.25,
            strays_m: 0.6,
            x_m: 4.0,
            y_m: 5.0,
            height_m: 2.0,
            at_m: 33.0,
            gate: 2,
            after_gate_m: -1.5,
            sentence: "The line passes.".to_owned(),
        };
        report.safety = vec![
            finding(Danger::IntoPeople, Thing::Seat),
            finding(Danger::OverPeople, Thing::Obstacle),
            finding(Danger::IntoObstacle, Thing::Obstacle),
            finding(Danger::NearPeople, Thing::Seat),
        ];
        report
    }

    #[test]
    fn a_report_arrives_as_it_left() {
        let packed = pack(sample());
        assert!(packed.text.len() < 1_200, "names do not travel: {} bytes", packed.text.len());
        let arrived: Report = unpack(packed).unwrap();
        assert_eq!(arrived, sample());
        assert!(arrived.lap.x_m[0].is_sign_negative());
    }

    #[test]
    fn every_cause_arrives_as_it_left() {
        // A cause that is not listed would arrive as another one.
        let number = |cause: &Cause| match cause {
            Cause::CrossHand => 0,
            Cause::PatternNull => 1,
            Cause::OffAim => 2,
            Cause::OwnHead => 3,
            Cause::OwnFrame => 4,
            Cause::ObstructedBy { .. } => 5,
            Cause::People => 6,
            Cause::Range => 7,
            Cause::Scatter => 8,
        };
        let behind = Cause::ObstructedBy { obstacle: "barn".to_owned() };
        let all: Vec<Cause> = CAUSES.into_iter().chain([behind]).collect();
        let arrived: Vec<Cause> = unpack(pack(all.clone())).unwrap();
        assert_eq!(arrived, all);
        let mut numbers: Vec<i32> = all.iter().map(number).collect();
        numbers.sort_unstable();
        assert_eq!(numbers, (0..9).collect::<Vec<_>>());
    }

    /// The terms of a budget: all there are, in order.
    fn demo_terms() -> Vec<Term> {
        let explained = Evaluator::default().explain(&demo(), 0, 0, 0, Effort::FULL).unwrap();
        explained.budget.iter().map(|line| line.term).collect()
    }

    #[test]
    fn every_term_verdict_and_hand_arrives_as_it_left() {
        let terms: Vec<Term> = demo_terms();
        assert_eq!(unpack::<Vec<Term>>(pack(terms.clone())).unwrap(), terms);
        let verdicts = vec![Verdict::Short, Verdict::Thin, Verdict::Clear];
        assert_eq!(unpack::<Vec<Verdict>>(pack(verdicts.clone())).unwrap(), verdicts);
        let hands = vec![Some(Hand::Right), Some(Hand::Left), None];
        assert_eq!(unpack::<Vec<Option<Hand>>>(pack(hands.clone())).unwrap(), hands);
    }
}
