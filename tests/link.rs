//! The link as a whole: the demo's verdicts and their causes, and what must hold for any plan.

use lapmargin::link::breakups::USUAL_LAPS;
use lapmargin::link::report::{Cause, Report, Verdict};
use lapmargin::link::{Effort, Evaluator, sheet};
use lapmargin::plan::check;
use lapmargin::plan::demo::demo;
use lapmargin::plan::document::{ObstacleShape, Picture, Plan, StatedHand, Switching};
use lapmargin::site::BounceOrder;
use proptest::prelude::*;

fn report(plan: &Plan) -> Report {
    Evaluator::default().report(plan, Effort::FULL)
}

/// The demo with fewer samples, for properties that hold at any step.
fn coarse_demo() -> Plan {
    let mut plan = demo();
    plan.course.step_m = 2.0;
    plan
}

#[test]
fn every_budget_sums_to_its_margin() {
    let plan = demo();
    let mut evaluator = Evaluator::default();
    let report = evaluator.report(&plan, Effort::FULL);
    assert_eq!(report.entries.len(), 4);
    for entry in &report.entries {
        for (port, columns) in entry.ports.iter().enumerate() {
            let budgets = evaluator.budgets(&plan, entry.index, port, Effort::FULL);
            assert_eq!(budgets.len(), columns.margin_db.len());
            for (budget, margin) in budgets.iter().zip(&columns.margin_db) {
                let sum: f64 = budget.iter().map(|line| line.gain_db).sum();
                assert!((sum - margin).abs() < 1e-9, "{}: {sum} is not {margin}", entry.name);
                assert!(budget.iter().all(|line| line.gain_db.is_finite() && !line.reason.is_empty()));
            }
        }
    }
}

#[test]
fn an_explanation_is_the_report_at_that_sample() {
    let plan = demo();
    let mut evaluator = Evaluator::default();
    let report = evaluator.report(&plan, Effort::FULL);
    for entry in &report.entries {
        for sample in [0, 57, 200, report.lap.time_s.len() - 1] {
            let explained = evaluator.explain(&plan, entry.index, 1, sample, Effort::FULL).unwrap();
            assert_eq!(explained.level_dbm, entry.ports[1].level_dbm[sample]);
            assert_eq!(explained.outage, entry.ports[1].outage[sample]);
            assert_eq!(explained.k_db, entry.ports[1].k_db[sample]);
            assert!(explained.paths.windows(2).all(|pair| pair[0].level_dbm >= pair[1].level_dbm));
            assert!(explained.paths.iter().any(|path| path.via.is_empty()), "the direct path is always there");
        }
    }
    assert!(evaluator.explain(&plan, 9, 0, 0, Effort::FULL).is_err());
    assert!(evaluator.explain(&plan, 0, 7, 0, Effort::FULL).is_err());
    assert!(evaluator.explain(&plan, 0, 0, 100_000, Effort::FULL).is_err());
}

#[test]
fn levels_lowered_by_the_reserve_just_meet_the_target() {
    let plan = demo();
    for entry in report(&plan).entries {
        let mut weaker = plan.clone();
        weaker.entries[entry.index].radios[0].power_dbm -= entry.reserve_db;
        let again = &report(&weaker).entries[entry.index];
        assert!(
            (again.picture_share - plan.targets.picture_share).abs() < 2e-5,
            "{}: {}",
            entry.name,
            again.picture_share
        );
        assert!(again.reserve_db.abs() < 5e-3, "{}", again.reserve_db);
    }
}

#[test]
fn the_demo_shows_one_honest_cause_each_and_no_verdict_on_the_edge() {
    let plan = demo();
    let report = report(&plan);
    let wanted = plan.targets.wanted_reserve_db;
    for entry in &report.entries {
        for limit in [0.0, wanted] {
            assert!((entry.reserve_db - limit).abs() > 0.3, "{} is within 0.3 dB of {limit}", entry.name);
        }
    }
    let of = |name: &str| report.entries.iter().find(|entry| entry.name == name).unwrap();
    assert_eq!(of("Linnet").verdict, Verdict::Clear);
    assert_eq!(of("Tansy").verdict, Verdict::Thin);
    assert_eq!(of("Moth").verdict, Verdict::Short);
    assert_eq!(of("Moth").cause, Cause::CrossHand);
    assert_eq!(of("Bramble").verdict, Verdict::Thin);
    assert_eq!(of("Bramble").cause, Cause::OwnHead);
}

#[test]
fn turning_the_wrong_hand_mends_one_entry_and_turning_the_chair_helps_the_other() {
    let mut plan = demo();
    let before = report(&plan);
    let place = |name: &str| plan.entries.iter().position(|entry| entry.name == name).unwrap();
    let (moth, bramble) = (place("Moth"), place("Bramble"));
    plan.entries[moth].radios[0].antenna.hand = StatedHand::Right;
    let receiver = plan.receivers.iter().find(|receiver| receiver.id == plan.entries[bramble].receiver).unwrap();
    let chair = plan.seats.iter().position(|seat| seat.id == receiver.seat).unwrap();
    plan.seats[chair].facing_deg = 10.0;
    let after = report(&plan);
    for (entry, from, to) in [(moth, Verdict::Short, Verdict::Thin), (bramble, Verdict::Thin, Verdict::Thin)] {
        assert_eq!((before.entries[entry].verdict, after.entries[entry].verdict), (from, to));
        let gain = after.entries[entry].reserve_db - before.entries[entry].reserve_db;
        assert!(gain > 2.5, "{}: {gain} dB", plan.entries[entry].name);
    }
}

#[test]
fn a_turned_hand_traces_nothing_and_a_new_channel_traces_nothing() {
    let mut plan = demo();
    let mut evaluator = Evaluator::default();
    evaluator.report(&plan, Effort::FULL);
    let [flights, places, geometries, carried, judged] = evaluator.made();
    plan.entries[0].radios[0].antenna.hand = StatedHand::Left;
    evaluator.report(&plan, Effort::FULL);
    assert_eq!(evaluator.made(), [flights, places, geometries, carried, judged + 1]);
    plan.entries[1].channel_hz += 1e6;
    evaluator.report(&plan, Effort::FULL);
    assert_eq!(evaluator.made(), [flights, places, geometries, carried + 1, judged + 2]);
    plan.seats[0].facing_deg += 5.0;
    evaluator.report(&plan, Effort::FULL);
    assert_eq!(evaluator.made()[2], geometries, "a turned seat traces nothing");
    plan.entries[0].name.push('!');
    let made = evaluator.made();
    assert!(evaluator.report(&plan, Effort::FULL).entries[0].name.ends_with('!'));
    assert_eq!(evaluator.made(), made, "a name changes no number");
}

#[test]
fn a_kept_result_is_the_same_as_a_new_one() {
    let mut plan = demo();
    let mut evaluator = Evaluator::default();
    for step in 0..5 {
        plan.entries[step % 4].radios[0].power_dbm += 0.5;
        plan.seats[0].x_m += 0.1;
        if step == 3 {
            plan.course.gates[1].height_m += 0.2;
        }
        assert_eq!(evaluator.report(&plan, Effort::FULL), report(&plan));
    }
}

#[test]
fn an_unknown_hand_is_judged_both_ways_and_the_worse_is_shown() {
    let plan = demo();
    let with = |hand: StatedHand| {
        let mut plan = plan.clone();
        plan.entries[0].radios[0].antenna.hand = hand;
        report(&plan).entries[0].clone()
    };
    let (right, left, unknown) = (with(StatedHand::Right), with(StatedHand::Left), with(StatedHand::Unknown));
    assert_eq!(unknown.hand_cases.len(), 2);
    assert_eq!(right.hand_cases.len(), 1);
    assert_eq!(unknown.reserve_db, right.reserve_db.min(left.reserve_db));
    let mut goggles = plan.clone();
    let receiver = goggles.receivers.iter_mut().find(|receiver| receiver.id == goggles.entries[0].receiver).unwrap();
    for port in &mut receiver.ports {
        port.antenna.hand = StatedHand::Unknown;
    }
    assert_eq!(report(&goggles).entries[0].hand_cases.len(), 2);
    goggles.entries[0].radios[0].antenna.hand = StatedHand::Unknown;
    assert_eq!(report(&goggles).entries[0].hand_cases.len(), 4);
}

#[test]
fn the_three_way_comparison_is_three_reports() {
    let plan = demo();
    let rows = Evaluator::default().compare_hands(&plan, 0, Effort::FULL).unwrap().rows;
    let mut left = plan.clone();
    left.entries[0].radios[0].antenna.hand = StatedHand::Left;
    assert_eq!(rows.len(), 3);
    assert_eq!(rows[0].reserve_db, report(&plan).entries[0].reserve_db);
    assert_eq!(rows[1].reserve_db, report(&left).entries[0].reserve_db);
    assert!(rows[0].reserve_db > rows[2].reserve_db && rows[2].reserve_db > rows[1].reserve_db);
    assert!(Evaluator::default().compare_hands(&plan, 17, Effort::FULL).is_err());
}

/// Whatever K and margin are, a level is crossed at most 1.1 times per Doppler period (docs/model.md section 7, table of crossing
/// rates: 1.075 for Rayleigh fading 3 dB below the mean), and a fade of a link that holds is shorter than the period between.
#[test]
fn fades_are_as_many_as_the_speed_makes_them() {
    let mut evaluator = Evaluator::default();
    let plan = demo();
    let report = evaluator.report(&plan, Effort::FULL);
    for sample in [10, 180, 260] {
        let explained = evaluator.explain(&plan, 2, 0, sample, Effort::FULL).unwrap();
        let periods = report.lap.speed_m_per_s[sample] * report.entries[2].frequency_hz / 299_792_458.0;
        let per_period = explained.fades_per_s / periods;
        assert!(per_period > 0.0 && per_period < 1.1, "sample {sample}: {per_period} fades per Doppler period");
        assert!(explained.fade_length_s < 1.0 / explained.fades_per_s, "sample {sample}");
    }
}

/// A digital picture averages over its channel: at the same threshold it is out no more often than a narrow-band one, and
/// more often than not less, since bounces that come late no longer cancel all of the channel.
#[test]
fn a_digital_picture_fades_less_and_falls_off_a_cliff() {
    let (bandwidth_hz, required_cn_db) = (20e6, Some(12.0));
    let with = |picture: Picture| {
        let mut plan = demo();
        plan.receivers.iter_mut().for_each(|receiver| receiver.picture = picture.clone());
        report(&plan)
    };
    let analogue = with(Picture::Analogue { bandwidth_hz, required_cn_db });
    let digital = with(Picture::Digital { bandwidth_hz, required_cn_db, freeze_s: 0.5 });
    let flowing = with(Picture::Digital { bandwidth_hz, required_cn_db, freeze_s: 0.0 });
    for (wide, narrow) in flowing.entries.iter().zip(&analogue.entries) {
        assert!(wide.reserve_db > narrow.reserve_db, "{}: {} {}", wide.name, wide.reserve_db, narrow.reserve_db);
    }
    for (wide, still) in flowing.entries.iter().zip(&digital.entries) {
        // Each lost field takes up to 25 more along: that costs what a share 26 times smaller would, and no more.
        let cost = wide.reserve_db - still.reserve_db;
        assert!((1.0..14.2).contains(&cost), "{}: a picture that freezes costs {cost} dB", wide.name);
    }
    for (wide, narrow) in digital.entries.iter().zip(&analogue.entries) {
        assert_eq!(wide.threshold_dbm, narrow.threshold_dbm);
        assert_eq!(wide.good_share, wide.picture_share, "a digital picture is good until it is lost");
        assert!(wide.caveats.iter().any(|caveat| caveat.contains("frozen for about 0.5 s")), "{:?}", wide.caveats);
        for (port, same) in wide.ports.iter().zip(&narrow.ports) {
            assert_eq!(port.level_dbm, same.level_dbm);
            assert!(port.outage.iter().zip(&same.outage).all(|(wide, narrow)| *wide <= narrow + 1e-4));
        }
    }
}

#[test]
fn a_fast_receiver_is_never_out_more_often_than_a_slow_one() {
    let slow = report(&demo());
    let mut plan = demo();
    plan.receivers.iter_mut().for_each(|receiver| receiver.switching = Switching::Fast);
    for (fast, slow) in report(&plan).entries.iter().zip(&slow.entries) {
        assert!(fast.picture_share >= slow.picture_share);
        assert!(fast.together.outage.iter().zip(&slow.together.outage).all(|(fast, slow)| fast <= &(slow + 1e-15)));
    }
}

#[test]
fn what_cannot_be_judged_is_said_and_the_rest_still_is() {
    let mut plan = demo();
    let building = plan.site.obstacles.iter().find_map(|obstacle| match &obstacle.shape {
        ObstacleShape::Building(block) => Some(block.centre_m),
        _ => None,
    });
    let [x, y] = building.expect("the demo has a building");
    (plan.seats[0].x_m, plan.seats[0].y_m) = (x, y);
    let report = report(&plan);
    let there = plan.seats[0].id.clone();
    let at_it: Vec<_> =
        plan.receivers.iter().filter(|receiver| receiver.seat == there).map(|receiver| &receiver.id).collect();
    let lost = plan.entries.iter().filter(|entry| at_it.contains(&&entry.receiver)).count();
    assert_eq!(report.entries.len(), plan.entries.len() - lost);
    assert_eq!(report.notices.iter().filter(|notice| notice.blocks).count(), lost);
}

/// The plan seen in a mirror that stands north to south, with every hand turned over. A crowd is drawn at random and has
/// no mirror image, so it is left out.
fn mirrored(plan: &Plan) -> Plan {
    let mut plan = plan.clone();
    let width = plan.site.width_m;
    let other = |hand: &mut StatedHand| {
        *hand = match *hand {
            StatedHand::Right => StatedHand::Left,
            StatedHand::Left => StatedHand::Right,
            StatedHand::Unknown => StatedHand::Unknown,
        }
    };
    for obstacle in &mut plan.site.obstacles {
        match &mut obstacle.shape {
            ObstacleShape::Wall(wall) => {
                (wall.from_m[0], wall.to_m[0]) = (width - wall.from_m[0], width - wall.to_m[0]);
            }
            ObstacleShape::Building(block) | ObstacleShape::Stall(block) => {
                block.centre_m[0] = width - block.centre_m[0];
                block.turn_deg = -block.turn_deg;
            }
            ObstacleShape::Canopy(canopy) => {
                canopy.centre_m[0] = width - canopy.centre_m[0];
                canopy.turn_deg = -canopy.turn_deg;
            }
            ObstacleShape::Tree(tree) => tree.centre_m[0] = width - tree.centre_m[0],
            ObstacleShape::Crowd(crowd) => crowd.centre_m[0] = width - crowd.centre_m[0],
            ObstacleShape::Barrier(barrier) => {
                (barrier.from_m[0], barrier.to_m[0]) = (width - barrier.from_m[0], width - barrier.to_m[0]);
            }
        }
    }
    for gate in &mut plan.course.gates {
        (gate.x_m, gate.heading_deg) = (width - gate.x_m, -gate.heading_deg);
    }
    let pad = &mut plan.course.pad;
    (pad.x_m, pad.heading_deg) = (width - pad.x_m, -pad.heading_deg);
    for seat in &mut plan.seats {
        (seat.x_m, seat.facing_deg) = (width - seat.x_m, -seat.facing_deg);
    }
    for port in plan.receivers.iter_mut().flat_map(|receiver| &mut receiver.ports) {
        port.aim_off_deg = -port.aim_off_deg;
        other(&mut port.antenna.hand);
    }
    for radio in plan.entries.iter_mut().flat_map(|entry| &mut entry.radios) {
        radio.mounting.lean_right_deg = -radio.mounting.lean_right_deg;
        other(&mut radio.antenna.hand);
    }
    plan
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn a_mirrored_site_with_swapped_hands_hears_the_same(
        lean in -40.0..40.0_f64, aim in -60.0..60.0_f64, facing in 0.0..360.0_f64, gate in 0..7_usize, turn in -20.0..20.0_f64,
    ) {
        let mut plan = coarse_demo();
        plan.site.obstacles.retain(|obstacle| !matches!(obstacle.shape, ObstacleShape::Crowd(_)));
        plan.entries[0].radios[0].mounting.lean_right_deg = lean;
        plan.receivers[0].ports[0].aim_off_deg = aim;
        plan.seats[0].facing_deg = facing;
        plan.course.gates[gate].heading_deg += turn;
        let twice = Effort::FULL.with_bounces(BounceOrder::Double);
        let [plain, mirror] = [&plan, &mirrored(&plan)].map(|plan| Evaluator::default().report(plan, twice));
        prop_assert_eq!(plain.entries.len(), mirror.entries.len());
        for (one, other) in plain.entries.iter().zip(&mirror.entries) {
            for (port, twin) in one.ports.iter().zip(&other.ports) {
                for (level, same) in port.level_dbm.iter().zip(&twin.level_dbm) {
                    prop_assert!((level - same).abs() < 1e-6, "{} against {}", level, same);
                }
            }
        }
    }

    #[test]
    fn any_plan_without_problems_is_judged_without_a_panic_or_a_nan(
        x in -2.0..46.0_f64, y in -2.0..30.0_f64, height in 0.1..12.0_f64, heading in -720.0..720.0_f64,
        power in -30.0..40.0_f64, seat_x in -2.0..46.0_f64, seat_y in -2.0..30.0_f64, sigma in prop::sample::select(vec![0.0, 0.3, 3.0]),
        gate in 0..7_usize, draws in 0..u32::MAX,
    ) {
        let mut plan = coarse_demo();
        let moved = &mut plan.course.gates[gate];
        (moved.x_m, moved.y_m, moved.height_m, moved.heading_deg) = (x, y, height, heading);
        (plan.seats[0].x_m, plan.seats[0].y_m) = (seat_x, seat_y);
        plan.entries[0].radios[0].power_dbm = power;
        plan.course.line_sigma_m = sigma;
        plan.seed = draws;
        let report = report(&plan);
        prop_assert_eq!(&report, &Evaluator::default().report(&plan, Effort::FULL), "the same every time");
        for entry in &report.entries {
            let numbers = [entry.picture_share, entry.good_share, entry.reserve_db, entry.confidence, entry.margin_p1_db];
            prop_assert!(numbers.iter().all(|number| number.is_finite()));
            prop_assert!((0.0..=1.0).contains(&entry.picture_share) && entry.good_share <= entry.picture_share + 1e-12);
            for port in &entry.ports {
                let columns = [&port.level_dbm, &port.margin_db, &port.k_db, &port.outage];
                prop_assert!(columns.iter().all(|column| column.iter().all(|value| value.is_finite())));
            }
        }
        if check::problems(&plan).is_empty() {
            let text = serde_json::to_string(&report).unwrap();
            prop_assert_eq!(serde_json::from_str::<Report>(&text).unwrap(), report, "the report survives JSON bit for bit");
        }
    }

    #[test]
    fn more_power_never_costs_picture(power in -10.0..30.0_f64, more in 0.0..10.0_f64) {
        let mut plan = coarse_demo();
        plan.entries[0].radios[0].power_dbm = power;
        let before = report(&plan).entries[0].clone();
        plan.entries[0].radios[0].power_dbm = power + more;
        let after = report(&plan).entries[0].clone();
        prop_assert!(after.picture_share >= before.picture_share - 1e-12);
        prop_assert!((after.reserve_db - before.reserve_db - more).abs() < 2e-3);
    }
}

/// A change of physics shows here as a readable difference. To accept one, write the new sheet into the file and say in
/// the commit which source moved it.
#[test]
fn the_demo_sheet_is_as_it_was() {
    let plan = demo();
    let mut evaluator = Evaluator::default();
    let report = evaluator.report(&plan, Effort::FULL);
    let now = sheet::sheet(&plan, &report, &evaluator.breakups(&plan, &report, Effort::FULL, USUAL_LAPS));
    let kept = include_str!("snapshots/demo_sheet.txt");
    assert!(now == kept, "the sheet changed; it now reads:\n{now}");
}
