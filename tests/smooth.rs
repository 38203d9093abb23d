//! Fine sweeps of the numbers of a plan: where nothing real changes, no reserve jumps; where physics has a direction, so has the
//! reserve. A search for better plans would otherwise rank noise.

use crate::seeded_plans::seeded_plan;
use lapmargin::link::{Effort, Evaluator};
use lapmargin::plan::demo::demo;
use lapmargin::plan::document::{ObstacleShape, Picture, Plan, Receiver};

/// No reserve jumps by more than this, decibels.
const JUMP: f64 = 0.1;

/// Nor that of a picture which freezes by more than this, with samples as far apart as here: it remembers from sample to sample in
/// which phase two waves are, as long as there are two, and a second wave that fades away ends that at one sample at a time.
const FROZEN_JUMP: f64 = 0.2;

/// How far the reserve of an entry may jump.
fn most(plan: &Plan, entry: usize) -> f64 {
    let follows = |receiver: &&Receiver| receiver.id == plan.entries[entry].receiver;
    match plan.receivers.iter().find(follows).map(|receiver| &receiver.picture) {
        Some(Picture::Digital { freeze_s, .. }) if *freeze_s > 0.0 => FROZEN_JUMP,
        _ => JUMP,
    }
}

/// Steps of a sweep.
const STEPS: u32 = 10;

/// A number of a plan.
struct Number {
    name: &'static str,
    step: f64,
    add: fn(&mut Plan, f64),
    /// Whether more of it can never help (or, for a negative one, never harm).
    direction: Option<f64>,
}

const fn number(name: &'static str, step: f64, add: fn(&mut Plan, f64), direction: Option<f64>) -> Number {
    Number { name, step, add, direction }
}

/// The first receiver's ports, all turned alike.
fn ports(plan: &mut Plan, change: impl Fn(&mut lapmargin::plan::document::Port)) {
    plan.receivers.iter_mut().for_each(|receiver| receiver.ports.iter_mut().for_each(&change));
}

const NUMBERS: [Number; 9] = [
    number("aim off", 0.2, |plan, by| ports(plan, |port| port.aim_off_deg += by), None),
    number("aim up", 0.2, |plan, by| ports(plan, |port| port.aim_up_deg += by), None),
    number("seat to the east", 0.01, |plan, by| plan.seats.iter_mut().for_each(|seat| seat.x_m += by), None),
    number("seat's height", 0.01, |plan, by| plan.seats.iter_mut().for_each(|seat| seat.height_m += by), None),
    number("gates' height", 0.01, |plan, by| plan.course.gates.iter_mut().for_each(|gate| gate.height_m += by), None),
    number(
        "power",
        0.05,
        |plan, by| plan.entries.iter_mut().for_each(|entry| entry.radios[0].power_dbm += by),
        Some(1.0),
    ),
    number(
        "axial ratio",
        0.05,
        |plan, by| {
            for entry in &mut plan.entries {
                let antenna = &mut entry.radios[0].antenna;
                antenna.axial_ratio_db = Some(antenna.axial_ratio_db.unwrap_or(1.5) + by);
            }
        },
        None,
    ),
    number(
        "people",
        0.01,
        |plan, by| {
            for obstacle in &mut plan.site.obstacles {
                if let ObstacleShape::Crowd(crowd) = &mut obstacle.shape {
                    crowd.density_per_m2 += by;
                }
            }
        },
        Some(-1.0),
    ),
    number("line's spread", 0.002, |plan, by| plan.course.line_sigma_m += by, None),
];

/// A step that moves a reserve by more than [`JUMP`] is parted into so many: a slope becomes as many small steps, however steep
/// (an obstacle that enters a line has one), and a jump stays.
const PARTS: u32 = 8;

/// Sweeps a number of a plan and says where reserves jump.
fn sweep(name: &str, plan: &Plan, number: &Number, jumps: &mut Vec<String>) {
    let mut evaluator = Evaluator::default();
    let mut reserves = |by: f64| {
        let mut changed = plan.clone();
        (number.add)(&mut changed, by);
        let report = evaluator.report(&changed, Effort::FULL);
        assert_eq!(report.entries.len(), plan.entries.len(), "{name}, {}: every entry is judged", number.name);
        report.entries.iter().map(|entry| entry.reserve_db).collect::<Vec<f64>>()
    };
    let mut before = reserves(0.0);
    for step in 1..=STEPS {
        let now = reserves(number.step * f64::from(step));
        let mut far = false;
        for (entry, (now, before)) in plan.entries.iter().zip(now.iter().zip(&before)) {
            far |= (now - before).abs() > JUMP;
            let is_right = number.direction.is_none_or(|direction| direction * (now - before) >= -0.01);
            assert!(is_right, "{name}, {}, {} at step {step}: {before} then {now}", number.name, entry.name);
        }
        if far {
            let mut last = before;
            for part in 1..=PARTS {
                let at = f64::from(step - 1) + f64::from(part) / f64::from(PARTS);
                let here = reserves(number.step * at);
                for (index, (here, last)) in here.iter().zip(&last).enumerate() {
                    if (here - last).abs() > most(plan, index) {
                        let entry = &plan.entries[index].name;
                        jumps.push(format!("{name}, {}, {entry} at {at}: {last} then {here}", number.name));
                    }
                }
                last = here;
            }
        }
        before = now;
    }
}

/// The plan with fewer samples and pilots: what jumps does so in any of them.
fn lighter(mut plan: Plan, entries: usize) -> Plan {
    plan.entries.truncate(entries);
    plan.course.step_m = 0.8;
    plan
}

fn hold(name: &str, plan: &Plan, numbers: &[Number]) {
    let mut jumps = Vec::new();
    numbers.iter().for_each(|number| sweep(name, plan, number, &mut jumps));
    assert!(jumps.is_empty(), "reserves jump:\n{}", jumps.join("\n"));
}

#[test]
fn nothing_jumps_in_the_demo() {
    hold("demo", &lighter(demo(), 4), &NUMBERS);
}

#[test]
fn nothing_jumps_in_five_seeded_yards() {
    for seed in [1, 2, 3, 4, 5] {
        hold(&format!("yard {seed}"), &lighter(seeded_plan(seed).plan, 2), &NUMBERS);
    }
}

/// Ripples of the wave behind edges are as short as the distance between samples, so that samples a little elsewhere see others:
/// that is as good as it gets with so few, and less than the width of any band.
#[test]
fn the_distance_between_samples_matters_little() {
    let with_step = |step_m: f64| {
        let mut plan = demo();
        plan.entries.truncate(2);
        plan.course.step_m = step_m;
        let report = Evaluator::default().report(&plan, Effort::FULL);
        report.entries.iter().map(|entry| entry.reserve_db).collect::<Vec<f64>>()
    };
    let fine = with_step(0.06);
    for step in 0..=STEPS {
        let step_m = demo().course.step_m + 0.002 * f64::from(step);
        for (coarse, fine) in with_step(step_m).iter().zip(&fine) {
            assert!((coarse - fine).abs() < 0.15, "{step_m} m: {coarse} instead of {fine}");
        }
    }
}
