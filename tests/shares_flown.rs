//! The reserve in closed form against that of simulated laps, where the closed form has to know what fades and what does not.
//!
//! The two share traced paths, antennas and thresholds, and nothing of the fading: the closed form has a channel for every
//! case and the probability that a field of it is lost, a simulated lap adds fields up at every instant, with a line, people, tilts
//! and scatter drawn for it. They agree within a decibel.

use lapmargin::link::{Effort, Evaluator};
use lapmargin::plan::demo;
use lapmargin::plan::document::{
    CrowdShape, Obstacle, ObstacleShape, Picture, Placement, Plan, ReceiverNoise, Switching,
};
use lapmargin::rf::fading::Surroundings;
use lapmargin::rf::material::Material;
use lapmargin::site::BounceOrder;

const LAPS: u32 = 200;

/// The demo's course and kit in an open field: nothing stands there, and no head is in the way.
fn open() -> Plan {
    let mut plan = demo();
    plan.site.obstacles.clear();
    plan.site.surroundings = Surroundings::OpenField;
    plan.site.ground = Material::MediumDryGround;
    plan.site.roughness_m = 0.01;
    plan.receivers.iter_mut().for_each(|receiver| receiver.place = Placement::Standing);
    plan
}

/// Largest difference of the two reserves.
const TOLERANCE: f64 = 1.0;

fn agree(what: &str, plan: &Plan, effort: Effort) {
    let mut evaluator = Evaluator::default();
    let report = evaluator.report(plan, effort);
    let flown = evaluator.breakups(plan, &report, effort, LAPS);
    assert_eq!(report.entries.len(), plan.entries.len(), "{what}");
    for (entry, flown) in report.entries.iter().zip(flown) {
        // What so few laps leave open is not the closed form's fault.
        let (low, high) = (flown.reserve_low_db - TOLERANCE, flown.reserve_high_db + TOLERANCE);
        assert!(flown.reserve_high_db - flown.reserve_low_db < 3.0, "{what}, {}: too few laps", entry.name);
        assert!(
            (low..high).contains(&entry.reserve_db),
            "{what}, {}: {} dB in closed form, {} dB simulated",
            entry.name,
            entry.reserve_db,
            flown.reserve_db
        );
    }
}

#[test]
fn a_ground_bounce_that_does_not_fade_is_no_scatter() {
    let mut plan = open();
    for gate in &mut plan.course.gates {
        (gate.x_m, gate.y_m, gate.height_m) = (gate.x_m * 5.0, gate.y_m * 5.0, 1.2);
    }
    (plan.site.width_m, plan.site.depth_m) = (plan.site.width_m * 5.0, plan.site.depth_m * 5.0);
    // A ground bounce whose phase wanders by a radian is no Rice channel: taken for one it promised up to 2.6 dB too much, and
    // for scatter as a whole 10 dB too little.
    agree("five times as large", &plan, Effort::FULL);
}

#[test]
fn unknown_tilts_are_an_unknown_of_the_outage() {
    let mut plan = open();
    plan.site.roughness_m = 0.15;
    agree("a rough field", &plan, Effort::FULL);
}

fn behind_a_crowd(picture: &Picture) -> Plan {
    let mut plan = open();
    plan.site.surroundings = Surroundings::StreetOrSquare;
    plan.site.obstacles.push(Obstacle {
        id: "crowd".into(),
        name: "Crowd".into(),
        shape: ObstacleShape::Crowd(CrowdShape {
            centre_m: [22.0, 5.0],
            size_m: [40.0, 2.0],
            turn_deg: 0.0,
            head_height_m: 1.7,
            density_per_m2: 2.0,
        }),
    });
    plan.course.gates.iter_mut().for_each(|gate| (gate.height_m, gate.y_m) = (1.4, gate.y_m + 4.0));
    plan.seats.iter_mut().for_each(|seat| seat.y_m = 2.0);
    for receiver in &mut plan.receivers {
        receiver.picture = picture.clone();
        receiver.noise = ReceiverNoise::Sensitivity { level_dbm: -81.42 };
    }
    plan
}

const ANALOGUE: Picture = Picture::Analogue { bandwidth_hz: 18e6, required_cn_db: Some(12.0) };

fn digital(bandwidth_hz: f64) -> Picture {
    Picture::Digital { bandwidth_hz, required_cn_db: Some(12.0), freeze_s: 0.0 }
}

#[test]
fn a_digital_picture_behind_people_fades_as_each_draw_of_them_does() {
    let direct = Effort::FULL.with_bounces(BounceOrder::Direct);
    agree("analogue", &behind_a_crowd(&ANALOGUE), direct);
    agree("digital", &behind_a_crowd(&digital(18e6)), direct);
}

#[test]
fn a_channel_that_averages_nothing_gains_nothing() {
    let mut plans = [ANALOGUE, digital(1e5)].map(|picture| behind_a_crowd(&picture));
    plans.iter_mut().for_each(|plan| plan.site.obstacles.clear());
    let [analogue, narrow] = plans.map(|plan| Evaluator::default().report(&plan, Effort::FULL));
    for (one, two) in analogue.entries.iter().zip(&narrow.entries) {
        assert!((one.reserve_db - two.reserve_db).abs() < 0.01, "{}: {} {}", one.name, one.reserve_db, two.reserve_db);
    }
}

#[test]
fn a_fast_receiver_cannot_leave_what_both_ports_share() {
    let mut plan = open();
    plan.receivers.iter_mut().for_each(|receiver| receiver.switching = Switching::Fast);
    agree("fast", &plan, Effort::FULL);
}
