//! Fine sweeps of the numbers of a plan: where nothing real changes, no reserve jumps; where physics has a direction, so has the
//! reserve. A search for better plans would otherwise rank noise.

use crate::seeded_plans::seeded_plan;
use lapmargin::link::{Effort, Evaluator};
use lapmargin::plan::demo::demo;
use lapmargin::plan::document::{ObstacleShape, Plan};

/// No reserve moves by more than this from one step of a sweep to the next, decibels.
const JUMP: f64 = 0.1;

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

const NUMBERS: [Number; 10] = [
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
    number("step", 0.002, |plan, by| plan.course.step_m += by, None),
];

/// Hops that are more than the worst of a sweep's jumps.
struct Jump {
    what: String,
    size: f64,
}

/// Sweeps every number of a plan; returns the largest hop of every sweep.
fn sweep(name: &str, plan: &Plan, jumps: &mut Vec<Jump>) {
    let mut evaluator = Evaluator::default();
    for number in &NUMBERS {
        let mut before: Option<Vec<f64>> = None;
        for step in 0..=STEPS {
            let mut changed = plan.clone();
            (number.add)(&mut changed, number.step * f64::from(step));
            let report = evaluator.report(&changed, Effort::FULL);
            let reserves: Vec<f64> = report.entries.iter().map(|entry| entry.reserve_db).collect();
            assert_eq!(reserves.len(), plan.entries.len(), "{name}, {}: every entry is judged", number.name);
            if let Some(before) = before {
                for (entry, (now, before)) in plan.entries.iter().zip(reserves.iter().zip(&before)) {
                    let what = format!("{name}, {}, {} at step {step}: {before} then {now}", number.name, entry.name);
                    if let Some(direction) = number.direction {
                        assert!(direction * (now - before) >= -0.01, "{what}");
                    }
                    jumps.push(Jump { what, size: (now - before).abs() });
                }
            }
            before = Some(reserves);
        }
    }
}

/// The plan with fewer samples and pilots: what jumps does so in any of them.
fn lighter(mut plan: Plan, entries: usize) -> Plan {
    plan.entries.truncate(entries);
    plan.course.step_m = 0.8;
    plan
}

fn hold(name: &str, plan: &Plan) {
    let mut jumps = Vec::new();
    sweep(name, plan, &mut jumps);
    let high: Vec<&str> = jumps.iter().filter(|jump| jump.size > JUMP).map(|jump| jump.what.as_str()).collect();
    assert!(high.is_empty(), "{} of {} steps jump:\n{}", high.len(), jumps.len(), high.join("\n"));
}

#[test]
fn nothing_jumps_in_the_demo() {
    hold("demo", &lighter(demo(), 4));
}

#[test]
fn nothing_jumps_in_five_seeded_yards() {
    for seed in [1, 2, 3, 4, 5] {
        hold(&format!("yard {seed}"), &lighter(seeded_plan(seed).plan, 2));
    }
}
