//! Measured tables of antennas: against the analytic patterns they are sampled from, and on their way through plan, plan link,
//! bench link and evaluation.

#![allow(clippy::unwrap_used, reason = "a test may stop where it is surprised")]

use lapmargin::link::pair::{PairLink, Side, exchange, hearing, text};
use lapmargin::link::{Effort, Evaluator};
use lapmargin::plan::document::{AntennaKind, AntennaKit, MeasuredNumbers, Plan, StatedHand, VERSION_WITH_TABLES};
use lapmargin::plan::edit::{Edit, apply};
use lapmargin::plan::load::LoadError;
use lapmargin::plan::presets::resolve_antenna;
use lapmargin::plan::{antenna_csv, check, demo, limits, load, plan_link, save};
use lapmargin::rf::antenna::{Antenna, MeasuredAxis, MeasuredCut, MeasuredRow};
use lapmargin::rf::polarization::{Hand, ellipse_of, split_hands};
use lapmargin::rf::{ComplexVec3, Vec3};
use lapmargin::units::{Db, Dbi, Degrees};

/// An antenna of typical numbers.
fn typical(kind: AntennaKind) -> Antenna {
    resolve_antenna(&AntennaKit::of_kind(kind, StatedHand::Right), Hand::Right).unwrap().antenna
}

fn looks_ahead(kind: AntennaKind) -> bool {
    matches!(kind, AntennaKind::CircularPatch | AntennaKind::LinearPatch | AntennaKind::Helix)
}

/// A direction of the cut that is sampled, at so many degrees from the axis.
fn direction(kind: AntennaKind, angle: f64) -> Vec3 {
    let (sine, cosine) = libm::sincos(angle.to_radians());
    if looks_ahead(kind) { Vec3::new(cosine, sine, 0.0) } else { Vec3::new(sine, 0.0, cosine) }
}

fn power(field: &ComplexVec3) -> f64 {
    field.iter().map(|part| part.norm_sqr()).sum()
}

/// Amplitude, and the weaker hand's over the stronger one's.
fn amplitude_and_cross(antenna: &Antenna, direction: &Vec3) -> (f64, f64) {
    let (right, left) = split_hands(&antenna.field(direction), direction);
    let (one, other) = (power(&right).sqrt(), power(&left).sqrt());
    (antenna.gain(direction).sqrt(), if one.max(other) > 0.0 { one.min(other) / one.max(other) } else { 0.0 })
}

fn sampled(kind: AntennaKind, antenna: &Antenna, step: f64) -> Vec<MeasuredNumbers> {
    let count = (180.0 / step).round() as i32;
    let row = |index: i32| {
        let angle = step * f64::from(index);
        let direction = direction(kind, angle);
        let ratio =
            ellipse_of(&antenna.field(&direction), &direction).map_or(60.0, |ellipse| ellipse.axial_ratio.0.min(60.0));
        [angle, Dbi::from_ratio(antenna.gain(&direction)).0.clamp(-60.0, 20.0), ratio]
    };
    (0..=count).map(row).collect()
}

fn cut(kind: AntennaKind, rows: &[MeasuredNumbers]) -> MeasuredCut {
    let axis = if looks_ahead(kind) { MeasuredAxis::Ahead } else { MeasuredAxis::Tip };
    let row = |&[angle, gain, ratio]: &MeasuredNumbers| MeasuredRow {
        angle: Degrees(angle),
        gain: Dbi(gain),
        axial_ratio: Db(ratio),
    };
    MeasuredCut::new(axis, &rows.iter().map(row).collect::<Vec<_>>()).unwrap()
}

/// A straight line through two values of a function is off by `h²/8` times the greatest second derivative between them at
/// most. The derivative is taken from the analytic pattern itself, in steps of a twentieth of a degree.
#[test]
fn a_sampled_pattern_is_as_near_to_its_antenna_as_straight_lines_can_be() {
    const FINE: f64 = 0.05;
    for kind in [
        AntennaKind::CircularPatch,
        AntennaKind::LinearPatch,
        AntennaKind::Helix,
        AntennaKind::Dipole,
        AntennaKind::CircularOmni,
    ] {
        let antenna = typical(kind);
        let at = |angle: f64| amplitude_and_cross(&antenna, &direction(kind, angle));
        let fine: Vec<(f64, f64)> = (0..=3600).map(|index| at(FINE * f64::from(index))).collect();
        // Where the stronger hand changes, or there is no wave, the ratio of the hands has a corner.
        let corner = (1..3600).filter(|&index| fine[index].0 < 1e-6 || fine[index].1 > 0.999);
        let corner: Vec<f64> = corner.map(|index| FINE * index as f64).collect();
        for step in [1.0, 5.0, 10.0] {
            let curve = cut(kind, &sampled(kind, &antenna, step));
            let mut worst = (0.0_f64, 0.0_f64);
            let mut compared = 0;
            let per_row = (step / FINE) as usize;
            for row in 0..(180.0 / step) as usize {
                let (from, to) = (row * per_row, (row + 1) * per_row);
                // Derivatives at the interval's own points and one beyond on either side.
                let second = |of: fn(&(f64, f64)) -> f64| {
                    let inner = from.max(1)..=to.min(3599);
                    let bend = inner.map(|i| (of(&fine[i - 1]) - 2.0 * of(&fine[i]) + of(&fine[i + 1])).abs());
                    bend.fold(0.0, f64::max) / (FINE * FINE)
                };
                let (bound, cross_bound) =
                    (step * step / 8.0 * second(|both| both.0), step * step / 8.0 * second(|both| both.1));
                let is_smooth = corner.iter().all(|at| *at < FINE * from as f64 - 0.1 || *at > FINE * to as f64 + 0.1);
                for (index, &(amplitude, cross)) in fine.iter().enumerate().take(to + 1).skip(from) {
                    let (gain, ratio) = curve.at(Degrees(FINE * index as f64));
                    let off = (gain.db().amplitude() - amplitude).abs();
                    // The least gain of a table is -60 dBi, an amplitude of a thousandth.
                    assert!(off <= 1.05 * bound + 1.1e-3, "{kind:?} {step} at {}: {off} {bound}", FINE * index as f64);
                    worst.0 = worst.0.max(off);
                    if is_smooth {
                        let got = (ratio.amplitude() - 1.0) / (ratio.amplitude() + 1.0);
                        // 60 dB are the most that a table says: 0.998.
                        let off = (got - cross).abs();
                        assert!(
                            off <= 1.05 * cross_bound + 2.1e-3,
                            "{kind:?} {step} at {}: {off}",
                            FINE * index as f64
                        );
                        worst.1 = worst.1.max(off);
                        compared += 1;
                    }
                }
            }
            println!("{kind:?} every {step}°: amplitude within {:.5}, ratio of hands within {:.5}", worst.0, worst.1);
            // The hands of a linear antenna are equal everywhere: nothing but corners.
            let has_hand = antenna.hand().is_some();
            assert!(!has_hand || compared > 2000, "{kind:?} {step}: the hands were compared at {compared} places");
        }
    }
}

/// Rows every five degrees are as good as the model, in the energy too: a lossless dipole has a mean gain of 1.
#[test]
fn the_energy_of_a_sampled_pattern_is_that_of_its_antenna() {
    // Behind it the helix is no figure of revolution; one cut is 1.4 % off.
    for (kind, uneven) in [(AntennaKind::Dipole, 0.0), (AntennaKind::CircularOmni, 0.0), (AntennaKind::Helix, 0.014)] {
        let antenna = typical(kind);
        for (step, allowed) in [(1.0, 5e-4), (5.0, 6e-3), (10.0, 2.5e-2)] {
            let kit = AntennaKit {
                table: Some(sampled(kind, &antenna, step)),
                ..AntennaKit::of_kind(kind, StatedHand::Right)
            };
            let measured = resolve_antenna(&kit, Hand::Right).unwrap();
            let off = (measured.antenna.efficiency() / antenna.efficiency() - 1.0).abs();
            assert!(off < allowed + uneven, "{kind:?} {step}: {off}");
            assert_eq!((measured.remarks, measured.assumed), (vec![], vec![]), "{kind:?}");
        }
    }
}

/// The example, measured on both sides, and a dipole.
fn tables() -> [(AntennaKind, Vec<MeasuredNumbers>); 2] {
    let example = antenna_csv::read(antenna_csv::EXAMPLE, AntennaKind::CircularPatch).unwrap().rows;
    [
        (AntennaKind::CircularPatch, example),
        (AntennaKind::Dipole, sampled(AntennaKind::Dipole, &typical(AntennaKind::Dipole), 7.5)),
    ]
}

fn measured_kit(kind: AntennaKind, rows: &[MeasuredNumbers]) -> AntennaKit {
    AntennaKit { table: Some(rows.to_vec()), ..AntennaKit::of_kind(kind, StatedHand::Left) }
}

/// The demo with a measured antenna on the first aircraft and at the first port.
fn plan_with_tables() -> Plan {
    let [(patch, example), (dipole, wire)] = tables();
    let mut plan = demo();
    plan.receivers[0].ports[0].antenna = measured_kit(patch, &example);
    let mut entry = plan.entries[0].clone();
    entry.radios[0].antenna = measured_kit(dipole, &wire);
    apply(&plan, &Edit::Entry(0, entry)).unwrap()
}

#[test]
fn a_plan_with_a_table_is_of_the_second_version_and_without_it_of_the_first() {
    let plan = plan_with_tables();
    assert_eq!((plan.version, demo().version), (VERSION_WITH_TABLES, 1));
    assert!(save(&demo()).contains("\"version\": 1"));
    let text = save(&plan);
    assert!(text.contains("\"version\": 2"));
    assert_eq!(load(&text).as_ref(), Ok(&plan));
    // The table taken away by an edit: an older build reads the plan again.
    let mut receiver = plan.receivers[0].clone();
    receiver.ports[0].antenna.table = None;
    let mut entry = plan.entries[0].clone();
    entry.radios[0].antenna.table = None;
    let without = apply(&apply(&plan, &Edit::Receiver(0, receiver)).unwrap(), &Edit::Entry(0, entry)).unwrap();
    assert_eq!(without.version, 1);
    // A version that promises more than the plan needs is read, and kept as low as can be.
    let higher = save(&demo()).replace("\"version\": 1", "\"version\": 2");
    assert_eq!(load(&higher), Ok(demo()));
    // One that promises less than the plan has was never written.
    let Err(LoadError::Problems(found)) = load(&text.replace("\"version\": 2", "\"version\": 1")) else {
        panic!("it was read")
    };
    assert_eq!(found[0].to_string(), "version: 1; must be 2 to 3 (version)");
}

#[test]
fn a_table_that_is_none_is_refused_by_its_path() {
    let refused = |change: fn(&mut Vec<MeasuredNumbers>)| {
        let mut plan = plan_with_tables();
        change(plan.receivers[0].ports[0].antenna.table.as_mut().unwrap());
        check::problems(&plan).iter().map(ToString::to_string).collect::<Vec<_>>()
    };
    let path = "receivers[0].ports[0].antenna.table";
    let who = "Goggles 1, port 1 antenna table";
    assert_eq!(
        refused(|table| table[3][1] = 21.0),
        [format!("{who} row 4: a gain of 21 dBi; must be -60 to 20 dBi ({path}[3])")]
    );
    assert_eq!(refused(|table| table[3][2] = f64::NAN).len(), 1);
    assert_eq!(refused(|table| table[5][0] = table[4][0])[0].find("once more the angle -140°"), Some(who.len() + 8));
    assert_eq!(refused(|table| table.truncate(2)), [format!("{who}: 2 rows; must be 3 to 361 rows ({path})")]);
    assert_eq!(refused(|table| table.retain(|row| row[0].abs() < 50.0)).len(), 1);
    let mut plan = plan_with_tables();
    let full: Vec<MeasuredNumbers> = (0..361).map(|row| [f64::from(row) / 2.0, 1.0, 2.0]).collect();
    for receiver in &mut plan.receivers {
        let port = receiver.ports[0].clone();
        receiver.ports = vec![port; 4];
        for port in &mut receiver.ports {
            port.antenna.table = Some(full.clone());
        }
    }
    let found = check::problems(&plan);
    assert_eq!(found[0].path, "antennas.table", "{found:?}");
    assert!(found[0].said.contains(&limits::TABLE_ROWS.max.to_string()));
}

/// The most that a plan may hold of them still fits a link and a file.
#[test]
fn the_largest_tables_fit_link_and_file() {
    let mut plan = demo();
    // Numbers that do not repeat, with two decimals: the worst that an import leaves.
    let full = |seed: u32| -> Vec<MeasuredNumbers> {
        let noise = |row: u32, salt: u32| f64::from((row + 17 * seed + salt).wrapping_mul(2_654_435_761) >> 19) / 819.2;
        let kept = |value: f64| (100.0 * value).round() / 100.0;
        (0..361).map(|row| [f64::from(row) - 180.0, kept(noise(row, 1) - 5.0), kept(noise(row, 7) * 3.0)]).collect()
    };
    let mut number = 0;
    for receiver in &mut plan.receivers {
        let port = receiver.ports[0].clone();
        receiver.ports = vec![port.clone(), port];
        for port in &mut receiver.ports {
            port.antenna = measured_kit(AntennaKind::CircularPatch, &full(number));
            number += 1;
        }
    }
    plan.version = plan.lowest_version();
    assert_eq!((check::problems(&plan), number), (vec![], 8));
    let value = plan_link::write(&plan).unwrap();
    assert_eq!(plan_link::read(&value).as_ref(), Ok(&plan));
    assert!(value.len() < limits::LINK_CHARACTERS, "{}", value.len());
    let text = save(&plan);
    assert!(text.len() < limits::TEXT_BYTES && load(&text).as_ref() == Ok(&plan), "{}", text.len());
}

#[test]
fn a_table_goes_through_a_benchs_address_and_back_into_the_plan() {
    let plan = plan_with_tables();
    let taken = exchange::take(&plan, 0, 0, 40).unwrap();
    assert_eq!(taken.link.transmitter.antenna, plan.entries[0].radios[0].antenna);
    assert_eq!(taken.link.receiver.antenna, plan.receivers[0].ports[0].antenna);
    let written = text::write(&taken.link);
    assert_eq!(text::read(&written).as_ref(), Ok(&taken.link));
    assert!(written.len() < 1200, "{}", written.len());
    let put = exchange::put(&demo(), 1, 0, Side::Receiver, &taken.link.receiver.antenna).unwrap();
    assert_eq!(put.version, VERSION_WITH_TABLES);
    for (broken, says) in [
        ("1~tm:", "the measured table of the transmitter's antenna cannot be read"),
        ("1~rm:!!", "the measured table of the receiver's antenna cannot be read"),
        ("1~rm:AAAA", "the measured table of the receiver's antenna cannot be read"),
    ] {
        assert_eq!(text::read(broken).unwrap_err().to_string(), says);
    }
    let tables = |rows: &str| text::read(&format!("1~tm:{}", lapmargin::packing::packed_text(rows)));
    assert!(tables("0,1,2;90,1,2;180,1,2").is_ok());
    assert!(tables("0,1;90,1,2;180,1,2").is_err() && tables("0,1,x;90,1,2;180,1,2").is_err());
    let unfit = tables("0,1,2;90,nan,2;180,1,2").unwrap_err().to_string();
    assert_eq!(
        unfit,
        "the measured table of the transmitter's antenna has a gain of NaN dBi: allowed are -60 to 20 dBi"
    );
    // A bomb of zeros: small in the address, large beyond it.
    assert!(tables(&"0".repeat(100_000)).is_err());
}

/// A table that was sampled from the model stands in for it, with and without a hand, over ground and past a head.
#[test]
fn a_link_with_sampled_tables_has_the_budget_of_the_models() {
    for kind in [AntennaKind::CircularOmni, AntennaKind::Dipole] {
        for hand in [StatedHand::Right, StatedHand::Left] {
            let mut modelled = PairLink::default();
            for side in Side::ALL {
                modelled.end_mut(side).antenna = AntennaKit::of_kind(kind, StatedHand::Right);
            }
            modelled.receiver.antenna.hand = hand;
            modelled.transmitter.tilt_deg = 20.0;
            let mut measured = modelled.clone();
            for side in Side::ALL {
                measured.end_mut(side).antenna.table = Some(sampled(kind, &typical(kind), 2.0));
            }
            let [modelled, measured] = [modelled, measured].map(|link| hearing::hear(&link).unwrap().explanation);
            for (one, other) in modelled.budget.iter().zip(&measured.budget) {
                // A crossed hand is as exact as the small ratio of the hands between two rows.
                assert!(
                    (one.gain_db - other.gain_db).abs() < 0.1,
                    "{kind:?} {hand:?} {:?}: {} {}",
                    one.term,
                    one.gain_db,
                    other.gain_db
                );
            }
            assert!((modelled.outage - measured.outage).abs() < 0.02);
        }
    }
}

#[test]
fn an_evaluation_follows_every_number_of_a_table() {
    let plan = plan_with_tables();
    let mut evaluator = Evaluator::default();
    let before = evaluator.report(&plan, Effort::FULL);
    let judged = |report: &lapmargin::link::report::Report| report.entries[0].reserve_db;
    assert!(before.entries.iter().all(|entry| entry.reserve_db.is_finite()));
    // Every gain of the aircraft's table 1 dB up: about 1 dB more reserve, and the radiated power with it.
    let mut louder = plan.clone();
    for row in louder.entries[0].radios[0].antenna.table.as_mut().unwrap() {
        row[1] += 1.0;
    }
    let after = evaluator.report(&louder, Effort::FULL);
    let gained = judged(&after) - judged(&before);
    assert!((gained - 1.0).abs() < 0.05, "{gained}");
    assert!((after.entries[0].eirp_dbm - before.entries[0].eirp_dbm - 1.0).abs() < 1e-6);
    // A single number of a single row, too: a fresh evaluator says the same as one that remembers.
    louder.receivers[0].ports[0].antenna.table.as_mut().unwrap()[18][1] -= 3.0;
    assert_eq!(evaluator.report(&louder, Effort::FULL), Evaluator::default().report(&louder, Effort::FULL));
    assert_ne!(evaluator.report(&louder, Effort::FULL), after);
}
