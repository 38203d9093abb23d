//! Laps in time against the closed forms of fading, and what holds of them whatever is flown.

use std::f64::consts::TAU;

use lapmargin::link::breakups::margins::STEP;
use lapmargin::link::breakups::{Breakups, LapsInTime, Tally, USUAL_LAPS};
use lapmargin::link::flown::{Field, FlownLap, Memory, fly};
use lapmargin::link::kit::PictureKind;
use lapmargin::link::track::{Knot, Listener, Strand, Track};
use lapmargin::link::{Effort, Evaluator};
use lapmargin::plan::demo::demo;
use lapmargin::plan::document::{Picture, Plan, Switching};
use lapmargin::rf::Vec3;
use lapmargin::rf::fading::{Branch, fast_selection_outage, rice_outage, slow_selection_outage};
use lapmargin::units::{Db, Metres, Seconds};
use num_complex::Complex64;

const WAVELENGTH: f64 = 0.0517;
const RADIUS: f64 = 16.0;
const SPEED: f64 = 12.0;

/// A circle flown at constant speed, heard over one steady path by ports with these Rice factors and margins.
fn circle(branches: &[Branch], switching: Switching) -> Track {
    let (duration, count) = (TAU * RADIUS / SPEED, 400);
    let seat = Vec3::new(70.0, 10.0, 1.5);
    let knots = (0..count).map(|sample| {
        let turn = TAU * f64::from(sample) / f64::from(count);
        let (sine, cosine) = libm::sincos(turn);
        let place = Vec3::new(RADIUS * cosine, RADIUS * sine, 2.5);
        let amplitude = |branch: &Branch| {
            let direct = (branch.k / (branch.k + 1.0)).sqrt() * branch.margin.amplitude();
            let nothing = Complex64::new(0.0, 0.0);
            [Complex64::new(direct, 0.0), nothing, nothing, nothing]
        };
        let scatter = |branch: &Branch| (1.0 / (branch.k + 1.0)).sqrt() * branch.margin.amplitude();
        Knot {
            time: Seconds(duration * f64::from(sample) / f64::from(count)),
            place,
            velocity: Vec3::new(-SPEED * sine, SPEED * cosine, 0.0),
            strands: vec![Strand {
                faces: Vec::new(),
                depart: (seat - place).normalize(),
                length: (seat - place).norm(),
                amplitudes: branches.iter().map(amplitude).collect(),
            }],
            scatter: branches.iter().map(scatter).collect(),
            people: Vec::new(),
        }
    });
    Track::new(
        knots.collect(),
        Seconds(duration),
        Metres(TAU * RADIUS),
        TAU / WAVELENGTH,
        Metres(0.3),
        Listener { switching, picture: PictureKind::Analogue },
    )
}

/// Share of time under the threshold over so many laps, with its standard error from the laps' differences. Laps are
/// independent. Seeds 0, 1, 2, ...
fn share_under(track: &Track, laps: u64) -> (f64, f64) {
    let (mut memory, mut lap) = (Memory::default(), FlownLap::default());
    let shares: Vec<f64> = (0..laps)
        .map(|seed| {
            fly(track, seed, &mut memory, &mut lap);
            lap.under
        })
        .collect();
    mean_and_error(&shares)
}

/// The mean of what independent laps gave, and its standard error.
fn mean_and_error(shares: &[f64]) -> (f64, f64) {
    let count = shares.len() as f64;
    let mean = shares.iter().sum::<f64>() / count;
    let variance = shares.iter().map(|share| (share - mean) * (share - mean)).sum::<f64>() / (count - 1.0);
    (mean, (variance / count).sqrt())
}

fn branch(k_db: f64, margin: f64) -> Branch {
    Branch { k: Db(k_db).ratio(), margin: Db(margin) }
}

/// Within three standard errors, which are themselves small against what is checked.
#[track_caller]
fn agrees(what: &str, track: &Track, laps: u64, expected: f64) {
    let (share, error) = share_under(track, laps);
    assert!(error < 0.07 * expected, "{what}: {share} ± {error} says too little about {expected}");
    assert!((share - expected).abs() < 3.0 * error, "{what}: {share} ± {error}, not {expected}");
}

// 100 laps have some 200 000 instants, about one in ten of them independent of its neighbours: an outage of 1 % is then
// known to about 2 to 5 %.

#[test]
fn one_port_is_out_as_rice_and_rayleigh_say() {
    for (k_db, margin, laps) in [
        (f64::NEG_INFINITY, 3.0, 60),
        (f64::NEG_INFINITY, 10.0, 80),
        (f64::NEG_INFINITY, 20.0, 200),
        (3.0, 6.0, 80),
        (9.0, 6.0, 100),
        (9.0, 10.0, 200),
        (12.0, -3.0, 60),
    ] {
        let branch = branch(k_db, margin);
        let expected = rice_outage(branch.k, branch.margin);
        agrees(&format!("K {k_db} dB, {margin} dB"), &circle(&[branch], Switching::Slow), laps, expected);
    }
}

#[test]
fn a_slow_receiver_is_out_as_the_better_port_is() {
    for (poor, good) in [
        (branch(f64::NEG_INFINITY, 0.0), branch(f64::NEG_INFINITY, 10.0)),
        (branch(9.0, -4.0), branch(3.0, 8.0)),
        (branch(f64::NEG_INFINITY, 3.0), branch(9.0, 9.0)),
    ] {
        for ports in [[poor, good], [good, poor]] {
            let expected = slow_selection_outage(&ports);
            agrees(&format!("{ports:?}"), &circle(&ports, Switching::Slow), 120, expected);
        }
    }
}

#[test]
fn a_slow_receiver_between_equal_ports_gains_little_from_the_second() {
    // No closed form: within a field the mean still sways, and a port that sways down by 2 dB is left.
    let port = branch(f64::NEG_INFINITY, 8.0);
    let (share, error) = share_under(&circle(&[port, port], Switching::Slow), 120);
    let alone = rice_outage(port.k, port.margin);
    assert!(share < alone + 3.0 * error && share > 0.7 * alone, "{share} ± {error}, alone {alone}");
}

#[test]
fn a_fast_receiver_is_out_when_both_ports_are() {
    for ports in [
        [branch(f64::NEG_INFINITY, 8.0), branch(f64::NEG_INFINITY, 8.0)],
        [branch(f64::NEG_INFINITY, 3.0), branch(6.0, 6.0)],
        [branch(3.0, 5.0), branch(3.0, 2.0)],
    ] {
        let expected = fast_selection_outage(&ports);
        agrees(&format!("{ports:?}"), &circle(&ports, Switching::Fast), 200, expected);
    }
}

/// A lap in which everything is under, or nothing.
#[test]
fn a_steady_level_is_lost_or_kept_all_round() {
    let (mut memory, mut lap) = (Memory::default(), FlownLap::default());
    for (margin, under, field) in [(1.0, 0.0, Field::Good), (-1.0, 1.0, Field::Bad)] {
        fly(&circle(&[branch(90.0, margin)], Switching::Slow), 5, &mut memory, &mut lap);
        assert_eq!(lap.under, under);
        assert!(lap.fields.len() == 419 && lap.fields.iter().all(|seen| *seen == field));
    }
}

/// The demo with everybody's power changed: weak enough, pictures break up.
fn demo_with(power: f64) -> Plan {
    let mut plan = demo();
    for entry in &mut plan.entries {
        entry.radios[0].power_dbm += power;
    }
    plan
}

fn laps(plan: &Plan, entry: usize, numbers: std::ops::Range<u32>) -> LapsInTime {
    Evaluator::default().laps_in_time(plan, entry, Effort::FULL, numbers).expect("the entry can be judged")
}

fn flown(plan: &Plan, entry: usize, count: u32) -> Breakups {
    let mut laps = laps(plan, entry, 0..count);
    laps.step(count);
    laps.breakups()
}

#[test]
fn any_size_of_step_and_any_share_of_the_work_gives_the_same_bits() {
    let plan = demo_with(-15.0);
    let whole = flown(&plan, 2, 12);
    assert!(whole.per_lap > 0.0, "something has to be counted");
    for step in [1, 5, 40] {
        let mut laps = laps(&plan, 2, 0..12);
        let mut steps = 0;
        while laps.step(step).is_pending() {
            steps += 1;
        }
        assert_eq!(steps, (12 - 1) / step as usize);
        assert_eq!(laps.breakups(), whole);
    }
    // Two workers, the later laps first, and each with memory of its own.
    let (mut early, mut late) = (laps(&plan, 2, 0..5), laps(&plan, 2, 5..12));
    late.step(7);
    early.step(2);
    let mut tally = Tally::of(early.track().fields());
    tally.add(late.tally());
    early.step(3);
    tally.add(early.tally());
    assert_eq!(
        tally.breakups(early.track().field_distances(), early.track().field(), plan.targets.picture_share, plan.seed),
        whole
    );
    // Before its end, a computation says what the first laps alone would.
    let mut begun = laps(&plan, 2, 0..12);
    begun.step(5);
    assert_eq!(begun.breakups(), flown(&plan, 2, 5));
    assert_ne!(begun.breakups(), whole);
}

#[test]
fn a_flight_goes_on_where_it_was_left_and_begins_anew_when_the_entry_changes() {
    let (mut plan, mut evaluator) = (demo_with(-15.0), Evaluator::default());
    for laps in [2, 5, 9] {
        assert_eq!(evaluator.fly_on(&plan, 2, Effort::FULL, laps).expect("it can be judged"), flown(&plan, 2, laps));
    }
    let said = evaluator.fly_on(&plan, 2, Effort::FULL, 4).expect("it can be judged");
    assert_eq!(said.laps, 9, "what was flown is not forgotten");
    plan.entries[2].radios[0].power_dbm += 1.0;
    assert_eq!(evaluator.fly_on(&plan, 2, Effort::FULL, 4).expect("it can be judged"), flown(&plan, 2, 4));
    plan.seed += 1;
    assert_eq!(evaluator.fly_on(&plan, 2, Effort::FULL, 4).expect("it can be judged"), flown(&plan, 2, 4));
    plan.entries[2].receiver = "nobody's".into();
    assert!(evaluator.fly_on(&plan, 2, Effort::FULL, 4).is_err());
    assert!(evaluator.fly_on(&plan, 99, Effort::FULL, 4).is_err());
}

#[test]
fn another_seed_gives_other_laps_and_other_entries_have_laps_of_their_own() {
    let plan = demo_with(-15.0);
    let first = flown(&plan, 2, 4);
    let reseeded = Plan { seed: plan.seed + 1, ..plan.clone() };
    assert_ne!(flown(&reseeded, 2, 4).field_bad, first.field_bad);
    let mut twin = plan.clone();
    twin.entries.push(plan.entries[2].clone());
    twin.entries[4].id = "twin".into();
    assert_ne!(flown(&twin, 4, 4).field_bad, first.field_bad);
    assert_eq!(flown(&twin, 2, 4), first, "a fifth pilot changes nothing of the third's laps");
}

/// Share of the time of so many laps of a plan under the threshold, with its standard error from the laps' differences.
fn plan_share_under(plan: &Plan, entry: usize, count: u32) -> (f64, f64) {
    let mut laps = laps(plan, entry, 0..count);
    let mut before = 0.0;
    let shares: Vec<f64> = (1..=count)
        .map(|number| {
            laps.step(1);
            let sum = laps.breakups().under_share * f64::from(number);
            let share = sum - before;
            before = sum;
            share
        })
        .collect();
    mean_and_error(&shares)
}

#[test]
fn flown_laps_are_under_for_the_share_that_was_worked_out() {
    // Not the same model: the closed form takes all paths but the strongest for scatter. Over 1000 laps the four entries of
    // the demo are under for 0.94 ± 0.04, 1.20 ± 0.02, 1.17 ± 0.01 and 1.03 ± 0.01 of what it says: that is the fifth. The
    // rest is what 260 laps leave open.
    const MODEL: f64 = 0.2;
    let plan = demo();
    let report = Evaluator::default().report(&plan, Effort::FULL);
    for entry in &report.entries {
        let expected = entry.under_share;
        let (share, error) = plan_share_under(&plan, entry.index, 260);
        assert!(error < 0.08 * expected, "{}: {share} ± {error} says too little about {expected}", entry.name);
        let allowed = MODEL * expected + 3.0 * error;
        assert!((share - expected).abs() < allowed, "{}: {share} ± {error}, not {expected}", entry.name);
    }
}

#[test]
fn more_power_never_costs_a_field() {
    // The same seeds, every level raised: the ports chosen stay the same.
    let mut before = vec![1.0; 500];
    for power in [-24.0, -18.0, -12.0, -6.0, 0.0] {
        let flown = flown(&demo_with(power), 3, 6);
        assert!(flown.field_bad.iter().zip(&before).all(|(now, before)| now <= before), "at {power} dB");
        before = flown.field_bad;
    }
}

#[test]
fn the_reserve_is_the_drop_that_leaves_just_the_wanted_share() {
    let mut plan = demo_with(0.0);
    for freeze in [None, Some(0.0), Some(0.3)] {
        if let Some(freeze_s) = freeze {
            plan.receivers[2].picture = Picture::Digital { bandwidth_hz: 20e6, required_cn_db: None, freeze_s };
        }
        let wanted = plan.targets.picture_share;
        let first = flown(&plan, 2, 12);
        assert!(first.reserve_low_db < first.reserve_db && first.reserve_db < first.reserve_high_db);
        let lowered = |drop: f64| {
            let mut lower = plan.clone();
            lower.entries[2].radios[0].power_dbm -= drop;
            flown(&lower, 2, 12)
        };
        // Laps with the same draws, flown again: one step of the count less, and one more.
        let (less, more) = (lowered(first.reserve_db - STEP.0), lowered(first.reserve_db + STEP.0));
        assert!(less.picture_share >= wanted, "{freeze:?}: {}", less.picture_share);
        assert!(more.picture_share < wanted, "{freeze:?}: {}", more.picture_share);
        assert!((less.reserve_db - STEP.0).abs() < 0.011 && (more.reserve_db + STEP.0).abs() < 0.011, "{freeze:?}");
        assert!(1.0 - less.lost_share >= less.picture_share);
    }
}

#[test]
fn breakups_are_told_where_the_report_finds_the_lap_weak() {
    let plan = demo_with(-12.0);
    let report = Evaluator::default().report(&plan, Effort::FULL);
    let entry = &report.entries[2];
    let flown = flown(&plan, 2, USUAL_LAPS);
    assert!(flown.per_lap > 0.3 && flown.low < flown.per_lap && flown.per_lap < flown.high, "{}", flown.sentence());
    let sum: f64 = flown.places.iter().map(|place| place.per_lap).sum();
    assert!((sum - flown.per_lap).abs() < 1e-12, "every breakup has a place");
    // Outage at the sample nearest to a field, where breakups are likely and where there are none.
    let outage_at = |distance: f64| {
        let nearest = |a: &usize, b: &usize| {
            let gap = |sample: usize| (report.lap.distance_m[sample] - distance).abs();
            gap(*a).total_cmp(&gap(*b))
        };
        entry.together.outage[(0..report.lap.distance_m.len()).min_by(nearest).expect("a lap has samples")]
    };
    let mean = |wanted: &dyn Fn(f64) -> bool| {
        let outages: Vec<f64> = flown
            .field_distance_m
            .iter()
            .zip(&flown.field_in_breakup)
            .filter(|(_, probability)| wanted(**probability))
            .map(|(distance, _)| outage_at(*distance))
            .collect();
        outages.iter().sum::<f64>() / outages.len() as f64
    };
    let (there, elsewhere) = (mean(&|probability| probability > 0.05), mean(&|probability| probability == 0.0));
    assert!(there > 0.25 && elsewhere < 0.5 * there, "{there} where it breaks up, {elsewhere} elsewhere");
}

#[test]
fn a_digital_picture_stands_longer_than_it_is_lost() {
    let mut plan = demo_with(-3.0);
    let with_freeze = |plan: &mut Plan, seconds: f64| {
        for receiver in &mut plan.receivers {
            receiver.picture = Picture::Digital { bandwidth_hz: 20e6, required_cn_db: None, freeze_s: seconds };
        }
        flown(plan, 2, 16)
    };
    let (none, short, long) = (with_freeze(&mut plan, 0.0), with_freeze(&mut plan, 0.1), with_freeze(&mut plan, 0.5));
    assert!(none.lost_share > 0.0);
    assert_eq!(none.frozen_share, none.lost_share);
    assert_eq!((short.lost_share, long.lost_share), (none.lost_share, none.lost_share));
    assert!(none.frozen_share < short.frozen_share && short.frozen_share < long.frozen_share);
    assert!(long.per_lap > 0.0, "half a second of standing still is a breakup");
    assert_eq!(flown(&demo_with(-3.0), 2, 16).frozen_share, 0.0, "snow does not freeze");
}

#[test]
fn fields_fill_the_lap_in_order() {
    let laps = laps(&demo(), 0, 0..1);
    let track = laps.track();
    let distances = track.field_distances();
    assert_eq!(distances.len(), track.fields());
    assert!((track.field().0 - 0.02).abs() < 0.02 * 0.5 / track.fields() as f64 * 1.01);
    assert!(distances.windows(2).all(|pair| pair[0] < pair[1]));
    let length = Evaluator::default().report(&demo(), Effort::FULL).lap.length_m;
    assert!(distances[0] > 0.0 && distances[distances.len() - 1] < length);
    assert!(distances[distances.len() - 1] > length - 1.0);
}
