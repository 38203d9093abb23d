//! What an evaluator keeps between plans is never taken for another plan's: every value of a plan is changed, one by one, and
//! an evaluator that has just judged the unchanged plan must then say, byte for byte, what a new one says.

#![allow(clippy::unwrap_used, reason = "a test may stop where it is surprised")]

use lapmargin::link::{Effort, Evaluator};
use lapmargin::plan::document::{
    AntennaKind, AntennaKit, BarrierShape, GateFrame, Obstacle, ObstacleShape, PacePlan, Picture, Plan, ReceiverNoise,
    StatedHand,
};
use lapmargin::plan::{demo, load};
use serde_json::{Value, json};

/// Two entries of the demo, few samples, and a number wherever a plan may have one.
fn whole_plan() -> Plan {
    let mut plan = demo();
    plan.course.step_m = 4.0;
    plan.entries.truncate(2);
    (plan.site.k_db, plan.site.xpr_db, plan.site.shadowing_db) = (Some(9.0), Some(8.0), Some(4.0));
    plan.rules.eirp_limit_dbm = Some(14.0);
    plan.rules.keep_away_m = Some(4.0);
    for entry in &mut plan.entries {
        entry.radios[0].mounting.frame_loss_db = Some(6.0);
        entry.radios[0].power_is_measured = true;
    }
    let receivers: Vec<String> = plan.entries.iter().map(|entry| entry.receiver.clone()).collect();
    plan.receivers.retain(|receiver| receivers.contains(&receiver.id));
    let receiver = &mut plan.receivers[0];
    receiver.picture = Picture::Digital { bandwidth_hz: 20e6, required_cn_db: Some(11.0), freeze_s: 0.5 };
    receiver.noise = ReceiverNoise::Sensitivity { level_dbm: -92.0 };
    receiver.ports[0].antenna = AntennaKit {
        kind: AntennaKind::CircularPatch,
        hand: StatedHand::Right,
        gain_dbi: Some(7.0),
        gain_is_measured: true,
        axial_ratio_db: Some(2.0),
        beamwidth_deg: Some(75.0),
        rejection_db: Some(12.0),
        table: None,
    };
    let receiver = &mut plan.receivers[1];
    receiver.picture = Picture::Analogue { bandwidth_hz: 18e6, required_cn_db: Some(10.0) };
    receiver.noise = ReceiverNoise::NoiseFigure { noise_figure_db: Some(8.0) };
    receiver.ports[0].antenna.table = Some(vec![[0.0, 7.0, 1.5], [90.0, -6.0, 9.0], [180.0, -12.0, 10.0]]);
    plan.course.gates[1].frame = Some(GateFrame { opening_m: [1.8, 1.6], tube_m: 0.03 });
    plan.site.obstacles.push(Obstacle {
        id: "steel-bars".into(),
        name: "Steel bars".into(),
        shape: ObstacleShape::Barrier(BarrierShape {
            from_m: [6.0, 4.0],
            to_m: [8.5, 4.0],
            height_m: 1.1,
            covered_share: 0.2,
        }),
    });
    plan.version = plan.lowest_version();
    plan
}

/// Everything that is said of a plan, as it would be written out.
fn said(evaluator: &mut Evaluator, plan: &Plan) -> String {
    let report = evaluator.report(plan, Effort::FULL);
    let mut said = serde_json::to_string(&report).unwrap();
    for entry in 0..plan.entries.len() {
        for port in 0..2 {
            match evaluator.explain(plan, entry, port, report.lap.time_s.len() / 3, Effort::FULL) {
                Ok(explained) => said += &serde_json::to_string(&explained).unwrap(),
                Err(why) => said += &why.to_string(),
            }
        }
        match evaluator.fly_on(plan, entry, Effort::FULL, 1) {
            Ok(flown) => said += &serde_json::to_string(&flown).unwrap(),
            Err(why) => said += &why.text,
        }
    }
    said
}

/// The places of all values that hold no others, as JSON pointers.
fn leaves(value: &Value, pointer: &str, found: &mut Vec<String>) {
    match value {
        Value::Array(items) => {
            items.iter().enumerate().for_each(|(index, item)| leaves(item, &format!("{pointer}/{index}"), found));
        }
        Value::Object(fields) => {
            fields.iter().for_each(|(key, field)| leaves(field, &format!("{pointer}/{key}"), found));
        }
        _ => found.push(pointer.to_owned()),
    }
}

/// What a value may become, the likeliest first.
fn others(value: &Value, words: &[Value]) -> Vec<Value> {
    match value {
        Value::Bool(yes) => vec![json!(!yes)],
        Value::Number(number) if number.is_f64() => {
            let number = number.as_f64().unwrap();
            [number + 0.017, number - 0.017, number * 1.003, number * 0.997].map(|other| json!(other)).to_vec()
        }
        Value::Number(number) => {
            let number = number.as_i64().unwrap();
            [number + 1, number - 1].map(|other| json!(other)).to_vec()
        }
        Value::String(text) => {
            // One of the document's own words if there is a choice of them, a longer text otherwise.
            let mut others: Vec<Value> = words.iter().filter(|word| *word != value).cloned().collect();
            others.push(json!(format!("{text}x")));
            others
        }
        _ => Vec::new(),
    }
}

/// Compares an evaluator that knows `plan` with a new one on every changed plan; returns how many there were and how many of
/// them say something else than `plan`.
fn every_change(plan: &Plan, is_of_interest: impl Fn(&str) -> bool) -> (usize, usize) {
    let document = serde_json::to_value(plan).unwrap();
    let mut places = Vec::new();
    leaves(&document, "", &mut places);
    let words: Vec<Value> = places.iter().map(|place| document.pointer(place).unwrap().clone()).collect();
    let words: Vec<Value> = words.into_iter().filter(Value::is_string).collect();
    let mut kept = Evaluator::default();
    let unchanged = said(&mut kept, plan);
    let (mut changes, mut telling) = (0, 0);
    for place in places.iter().filter(|place| is_of_interest(place)) {
        let original = document.pointer(place).unwrap();
        let changed = others(original, &words).into_iter().find_map(|other| {
            let mut document = document.clone();
            *document.pointer_mut(place).unwrap() = other;
            load(&document.to_string()).ok().filter(|changed| changed != plan)
        });
        let Some(changed) = changed else {
            assert!(!original.is_number() || place == "/version", "{place} could not be changed");
            continue;
        };
        assert_eq!(said(&mut kept, plan), unchanged, "before {place}");
        let fresh = said(&mut Evaluator::default(), &changed);
        assert!(said(&mut kept, &changed) == fresh, "{place} is missing from a key");
        changes += 1;
        telling += usize::from(fresh != unchanged);
    }
    (changes, telling)
}

#[test]
fn every_value_of_a_plan_is_in_the_keys_of_what_reads_it() {
    let plan = whole_plan();
    let (changes, telling) = every_change(&plan, |_| true);
    // What no entry here hears of: extents, rules, two chairs of the four, most names.
    println!("COUNT {changes} {telling}");
    assert!(changes > 250 && telling > 150, "{changes} changes, {telling} of them change what is said");
}

#[test]
fn the_time_of_a_lap_is_in_the_keys_too() {
    let mut plan = whole_plan();
    plan.course.pace = PacePlan::LapTime { lap_time_s: 30.0 };
    assert_eq!(every_change(&plan, |place| place.starts_with("/course/pace")), (1, 1));
}
