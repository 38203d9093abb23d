//! The plan document: what loads, what is refused and in which words, and that nothing is lost on the way.

#![allow(clippy::unwrap_used, reason = "a test may stop where it is surprised")]

use lapmargin::course::CourseError;
use lapmargin::plan::check::problems;
use lapmargin::plan::document::{
    AntennaKind, AntennaKit, BarrierShape, BlockShape, CanopyShape, CrowdShape, Entry, Feed, Gate, GateFrame, Mounting,
    Obstacle, ObstacleShape, PacePlan, Picture, Placement, Plan, Port, Purpose, Radio, Receiver, ReceiverNoise, Seat,
    StatedHand, Switching, TreeShape, VERSION, WallShape,
};
use lapmargin::plan::edit::{self, Edit};
use lapmargin::plan::limits::{self, Range};
use lapmargin::plan::load::LoadError;
use lapmargin::plan::pilots::{PilotEdit, told};
use lapmargin::plan::plan_link::PlanLinkError;
use lapmargin::plan::{convert, demo, load, plan_link, presets, save};
use lapmargin::rf::fading::Surroundings;
use lapmargin::rf::feed::FeedLine;
use lapmargin::rf::material::Material;
use lapmargin::site::Scene;
use lapmargin::units::Hertz;
use proptest::collection::vec;
use proptest::option;
use proptest::prelude::*;
use proptest::sample::select;
use proptest::test_runner::RngSeed;
use serde_json::{Value, json};

mod refusals;

/// A number field of the demo plan: its path, its range, and how to set it.
type NumberField = (&'static str, Range, fn(&mut Plan, f64));

macro_rules! fields {
    ($($path:literal, $range:expr, $plan:ident => $place:expr;)*) => {
        vec![$(($path, $range, |$plan: &mut Plan, value: f64| $place = value)),*]
    };
}

/// Every number of the document, where the demo plan or [`everything`] has it.
fn number_fields() -> Vec<NumberField> {
    use limits::*;
    fields! {
        "site.width_m", SITE_SIDE_M, plan => plan.site.width_m;
        "site.depth_m", SITE_SIDE_M, plan => plan.site.depth_m;
        "site.roughness_m", ROUGHNESS_M, plan => plan.site.roughness_m;
        "site.k_db", SCATTER_K_DB, plan => *plan.site.k_db.as_mut().unwrap();
        "site.xpr_db", SCATTER_XPR_DB, plan => *plan.site.xpr_db.as_mut().unwrap();
        "site.shadowing_db", SHADOWING_DB, plan => *plan.site.shadowing_db.as_mut().unwrap();
        "site.obstacles[0].shape.building.height_m", OBSTACLE_HEIGHT_M, plan => building(plan).height_m;
        "site.obstacles[0].shape.building.size_m[0]", OBSTACLE_SIDE_M, plan => building(plan).size_m[0];
        "site.obstacles[0].shape.building.size_m[1]", OBSTACLE_SIDE_M, plan => building(plan).size_m[1];
        "site.obstacles[0].shape.building.turn_deg", TURN_DEG, plan => building(plan).turn_deg;
        "site.obstacles[0].shape.building.thickness_m", WALL_THICKNESS_M, plan => building(plan).thickness_m;
        "site.obstacles[7].shape.wall.height_m", OBSTACLE_HEIGHT_M, plan => wall(plan).height_m;
        "site.obstacles[7].shape.wall.thickness_m", WALL_THICKNESS_M, plan => wall(plan).thickness_m;
        "site.obstacles[9].shape.canopy.base_m", BASE_HEIGHT_M, plan => canopy(plan).base_m;
        "site.obstacles[9].shape.canopy.height_m", OBSTACLE_HEIGHT_M, plan => canopy(plan).height_m;
        "site.obstacles[10].shape.tree.radius_m", CROWN_RADIUS_M, plan => tree(plan).radius_m;
        "site.obstacles[10].shape.tree.loss_db_per_m", CROWN_LOSS_DB_PER_M, plan => tree(plan).loss_db_per_m;
        "site.obstacles[11].shape.crowd.head_height_m", HEAD_HEIGHT_M, plan => crowd(plan).head_height_m;
        "site.obstacles[11].shape.crowd.density_per_m2", CROWD_DENSITY_PER_M2, plan => crowd(plan).density_per_m2;
        "course.gates[3].height_m", GATE_HEIGHT_M, plan => plan.course.gates[3].height_m;
        "course.gates[3].heading_deg", TURN_DEG, plan => plan.course.gates[3].heading_deg;
        "course.gates[3].frame.opening_m[0]", GATE_OPENING_M, plan => frame(plan).opening_m[0];
        "course.gates[3].frame.opening_m[1]", GATE_OPENING_M, plan => frame(plan).opening_m[1];
        "course.gates[3].frame.tube_m", FRAME_TUBE_M, plan => frame(plan).tube_m;
        "site.obstacles[12].shape.barrier.height_m", OBSTACLE_HEIGHT_M, plan => barrier(plan).height_m;
        "site.obstacles[12].shape.barrier.covered_share", COVERED_SHARE, plan => barrier(plan).covered_share;
        "course.pace.limits.top_speed_m_per_s", TOP_SPEED_M_PER_S, plan => *pace(plan)[0];
        "course.pace.limits.sideways_m_per_s2", SIDEWAYS_M_PER_S2, plan => *pace(plan)[1];
        "course.pace.limits.forward_m_per_s2", FORWARD_M_PER_S2, plan => *pace(plan)[2];
        "course.drag_per_m", DRAG_PER_M, plan => plan.course.drag_per_m;
        "course.step_m", STEP_M, plan => plan.course.step_m;
        "course.line_sigma_m", LINE_SIGMA_M, plan => plan.course.line_sigma_m;
        "course.pad.height_m", PAD_HEIGHT_M, plan => plan.course.pad.height_m;
        "course.pad.heading_deg", TURN_DEG, plan => plan.course.pad.heading_deg;
        "seats[1].height_m", SEAT_HEIGHT_M, plan => plan.seats[1].height_m;
        "seats[1].facing_deg", TURN_DEG, plan => plan.seats[1].facing_deg;
        "receivers[0].ports[0].aim_off_deg", AIM_OFF_DEG, plan => plan.receivers[0].ports[0].aim_off_deg;
        "receivers[0].ports[0].aim_up_deg", AIM_UP_DEG, plan => plan.receivers[0].ports[0].aim_up_deg;
        "receivers[0].ports[0].feed.length_m", FEED_LENGTH_M, plan => plan.receivers[0].ports[0].feed.length_m;
        "receivers[0].ports[0].antenna.gain_dbi", GAIN_DBI, plan => *kit(plan).gain_dbi.as_mut().unwrap();
        "receivers[0].ports[0].antenna.axial_ratio_db", AXIAL_RATIO_DB,
            plan => *kit(plan).axial_ratio_db.as_mut().unwrap();
        "receivers[0].ports[0].antenna.beamwidth_deg", BEAMWIDTH_DEG,
            plan => *kit(plan).beamwidth_deg.as_mut().unwrap();
        "receivers[0].ports[0].antenna.rejection_db", REJECTION_DB, plan => *kit(plan).rejection_db.as_mut().unwrap();
        "receivers[0].picture.analogue.bandwidth_hz", BANDWIDTH_HZ, plan => *picture(plan, 0).0;
        "receivers[0].picture.analogue.required_cn_db", REQUIRED_CN_DB, plan => *picture(plan, 0).1;
        "receivers[1].picture.digital.freeze_s", FREEZE_S, plan => *picture(plan, 1).0;
        "receivers[0].noise.noise_figure.noise_figure_db", NOISE_FIGURE_DB, plan => *noise(plan, 0);
        "receivers[1].noise.sensitivity.level_dbm", SENSITIVITY_DBM, plan => *noise(plan, 1);
        "entries[2].channel_hz", CHANNEL_HZ, plan => plan.entries[2].channel_hz;
        "entries[2].radios[0].power_dbm", POWER_DBM, plan => plan.entries[2].radios[0].power_dbm;
        "entries[2].radios[0].mounting.lean_back_deg", LEAN_DEG, plan => mounting(plan).lean_back_deg;
        "entries[2].radios[0].mounting.lean_right_deg", LEAN_DEG, plan => mounting(plan).lean_right_deg;
        "entries[2].radios[0].mounting.frame_loss_db", FRAME_LOSS_DB,
            plan => *mounting(plan).frame_loss_db.as_mut().unwrap();
        "rules.eirp_limit_dbm", EIRP_LIMIT_DBM, plan => *plan.rules.eirp_limit_dbm.as_mut().unwrap();
        "rules.keep_away_m", KEEP_AWAY_M, plan => *plan.rules.keep_away_m.as_mut().unwrap();
        "targets.picture_share", PICTURE_SHARE, plan => plan.targets.picture_share;
        "targets.wanted_reserve_db", WANTED_RESERVE_DB, plan => plan.targets.wanted_reserve_db;
    }
}

fn building(plan: &mut Plan) -> &mut BlockShape {
    let ObstacleShape::Building(shape) = &mut plan.site.obstacles[0].shape else { panic!("the demo changed") };
    shape
}
fn wall(plan: &mut Plan) -> &mut WallShape {
    let ObstacleShape::Wall(shape) = &mut plan.site.obstacles[7].shape else { panic!("the demo changed") };
    shape
}
fn canopy(plan: &mut Plan) -> &mut CanopyShape {
    let ObstacleShape::Canopy(shape) = &mut plan.site.obstacles[9].shape else { panic!("the demo changed") };
    shape
}
fn tree(plan: &mut Plan) -> &mut TreeShape {
    let ObstacleShape::Tree(shape) = &mut plan.site.obstacles[10].shape else { panic!("the demo changed") };
    shape
}
fn crowd(plan: &mut Plan) -> &mut CrowdShape {
    let ObstacleShape::Crowd(shape) = &mut plan.site.obstacles[11].shape else { panic!("the demo changed") };
    shape
}
fn frame(plan: &mut Plan) -> &mut GateFrame {
    plan.course.gates[3].frame.as_mut().unwrap()
}
fn barrier(plan: &mut Plan) -> &mut BarrierShape {
    let ObstacleShape::Barrier(shape) = &mut plan.site.obstacles[12].shape else { panic!("the demo changed") };
    shape
}
fn pace(plan: &mut Plan) -> [&mut f64; 3] {
    let PacePlan::Limits { top_speed_m_per_s, sideways_m_per_s2, forward_m_per_s2 } = &mut plan.course.pace else {
        panic!("the demo changed")
    };
    [top_speed_m_per_s, sideways_m_per_s2, forward_m_per_s2]
}
fn kit(plan: &mut Plan) -> &mut AntennaKit {
    &mut plan.receivers[0].ports[0].antenna
}
fn mounting(plan: &mut Plan) -> &mut Mounting {
    &mut plan.entries[2].radios[0].mounting
}
fn picture(plan: &mut Plan, receiver: usize) -> (&mut f64, &mut f64) {
    match &mut plan.receivers[receiver].picture {
        Picture::Analogue { bandwidth_hz, required_cn_db } => (bandwidth_hz, required_cn_db.as_mut().unwrap()),
        Picture::Digital { freeze_s, bandwidth_hz, .. } => (freeze_s, bandwidth_hz),
    }
}
fn noise(plan: &mut Plan, receiver: usize) -> &mut f64 {
    match &mut plan.receivers[receiver].noise {
        ReceiverNoise::NoiseFigure { noise_figure_db } => noise_figure_db.as_mut().unwrap(),
        ReceiverNoise::Sensitivity { level_dbm } => level_dbm,
    }
}

/// The demo plan with every optional number filled in and one digital receiver with a stated sensitivity.
fn everything() -> Plan {
    let mut plan = demo();
    (plan.site.k_db, plan.site.xpr_db, plan.site.shadowing_db) = (Some(9.0), Some(8.0), Some(4.0));
    (plan.rules.eirp_limit_dbm, plan.rules.keep_away_m) = (Some(14.0), Some(4.0));
    *kit(&mut plan) = AntennaKit {
        kind: AntennaKind::CircularPatch,
        hand: StatedHand::Right,
        gain_dbi: Some(7.0),
        gain_is_measured: true,
        axial_ratio_db: Some(2.0),
        beamwidth_deg: Some(75.0),
        rejection_db: Some(12.0),
        table: Some(vec![[0.0, 7.0, 1.5], [45.0, 4.5, 2.0], [90.0, -6.0, 9.0]]),
    };
    plan.course.gates[3].frame = Some(GateFrame { opening_m: [1.8, 1.6], tube_m: 0.03 });
    plan.site.obstacles.push(Obstacle {
        id: "steel-bars".into(),
        name: "Steel bars".into(),
        shape: ObstacleShape::Barrier(BarrierShape {
            from_m: [3.0, 2.0],
            to_m: [5.5, 2.0],
            height_m: 1.1,
            covered_share: 0.2,
        }),
    });
    plan.version = VERSION;
    mounting(&mut plan).frame_loss_db = Some(6.0);
    plan.receivers[0].picture = Picture::Analogue { bandwidth_hz: 18e6, required_cn_db: Some(10.0) };
    plan.receivers[0].noise = ReceiverNoise::NoiseFigure { noise_figure_db: Some(8.0) };
    plan.receivers[1].picture = Picture::Digital { bandwidth_hz: 20e6, required_cn_db: None, freeze_s: 0.5 };
    plan.receivers[1].noise = ReceiverNoise::Sensitivity { level_dbm: -90.0 };
    plan
}

/// The part of a JSON document at a path as the messages write it.
fn at<'a>(document: &'a mut Value, path: &str) -> &'a mut Value {
    let pointer = format!("/{}", path.replace(['.', '['], "/").replace(']', ""));
    document.pointer_mut(&pointer).unwrap_or_else(|| panic!("nothing at {pointer}"))
}

/// The demo document with one change, as text.
fn changed(change: impl FnOnce(&mut Value)) -> String {
    let mut document: Value = serde_json::from_str(&save(&everything())).unwrap();
    change(&mut document);
    document.to_string()
}

#[test]
fn every_number_is_taken_to_both_ends_of_its_range_and_refused_outside() {
    let plan = everything();
    assert_eq!(problems(&plan), []);
    for (path, range, set) in number_fields() {
        let complaints = |value: f64| {
            let mut plan = plan.clone();
            set(&mut plan, value);
            problems(&plan)
                .into_iter()
                .filter(|problem| {
                    let said = problem.said.ends_with(&format!("; must be {range}"));
                    problem.path == path
                        && (said || path.ends_with("channel_hz") && problem.said.contains("is too low"))
                })
                .count()
        };
        for inside in [range.min, range.max] {
            assert_eq!(complaints(inside), 0, "{path} = {inside}");
            let mut plan = plan.clone();
            set(&mut plan, inside);
            if problems(&plan).is_empty() {
                taken_below(&plan);
            }
        }
        for outside in [range.min.next_down(), range.max.next_up(), f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            assert_eq!(complaints(outside), 1, "{path} = {outside}");
        }
    }
}

/// The layers below take what the plan says; a line that folds is theirs to tell.
#[track_caller]
fn taken_below(plan: &Plan) {
    let site = convert::site_with_frames(plan);
    Scene::new(&site, Hertz(limits::CHANNEL_HZ.min)).unwrap_or_else(|error| panic!("{error}"));
    match convert::lap(&plan.course) {
        Ok(_) | Err(CourseError::Fold { .. }) => {}
        Err(error) => panic!("{error}"),
    }
    for kit in plan.receivers.iter().flat_map(|receiver| receiver.ports.iter().map(|port| &port.antenna)) {
        for hand in kit.hand.cases() {
            presets::resolve_antenna(kit, *hand).unwrap();
        }
    }
}

/// Both passed once and then stopped every verdict.
#[test]
fn what_the_layers_below_refuse_is_refused_by_name() {
    let mut plan = demo();
    let base = canopy(&mut plan).base_m;
    canopy(&mut plan).height_m = base + 0.02;
    assert!(Scene::new(&convert::site(&plan.site), Hertz(5.8e9)).is_err());
    let [problem] = &problems(&plan)[..] else { panic!("one problem") };
    assert_eq!(problem.path, "site.obstacles[9].shape.canopy.height_m");
    let name = &plan.site.obstacles[9].name;
    let allowed = "must be at least 0.05 m above the lower edge at";
    assert!(problem.said.starts_with(&format!("{name}, height: ")) && problem.said.contains(allowed), "{problem}");
    canopy(&mut plan).height_m = base + 0.06;
    assert_eq!(problems(&plan), []);
    taken_below(&plan);

    let mut plan = demo();
    plan.site.obstacles.clear();
    (plan.site.width_m, plan.site.depth_m, plan.course.step_m) = (1000.0, 1000.0, 5.0);
    let gate = plan.course.gates[0].clone();
    let zigzag = |count: usize| -> Vec<Gate> {
        let place = |index: usize| (if index.is_multiple_of(2) { 5.0 } else { 980.0 }, 20.0 + 15.0 * index as f64);
        let gates = (0..count).map(|index| {
            let ((x_m, y_m), id) = (place(index), format!("gate-{index}"));
            Gate { id, x_m, y_m, heading_deg: 0.0, ..gate.clone() }
        });
        gates.collect()
    };
    plan.course.gates = zigzag(6);
    assert!(matches!(convert::lap(&plan.course), Err(CourseError::TooLong { .. })));
    let [problem] = &problems(&plan)[..] else { panic!("one problem") };
    assert_eq!(problem.path, "course.gates");
    assert!(
        problem.said.starts_with("course: a lap of ") && problem.said.ends_with("must be at most 5000 m"),
        "{problem}"
    );
    plan.course.gates = zigzag(2);
    (plan.course.gates[0].heading_deg, plan.course.gates[1].heading_deg) = (90.0, 270.0);
    assert_eq!(problems(&plan), []);
    taken_below(&plan);
}

#[test]
fn a_value_of_the_wrong_type_is_named_by_the_path_that_the_check_uses() {
    for (path, ..) in number_fields() {
        let text = changed(|document| *at(document, path) = json!("seven"));
        match load(&text) {
            Err(LoadError::Field { path: named, reason, .. }) => {
                assert_eq!(named, path);
                assert!(reason.contains("seven"), "{reason}");
            }
            other => panic!("{path}: {other:?}"),
        }
    }
}

#[test]
fn a_value_out_of_range_is_refused_with_path_value_and_range() {
    let text = changed(|document| *at(document, "entries[1].radios[0].power_dbm") = json!(60.0));
    let said = "Tansy, transmitter power: 60 dBm; must be -30 to 40 dBm (entries[1].radios[0].power_dbm)";
    assert_eq!(load(&text).unwrap_err().to_string(), said);
    let text = changed(|document| {
        *at(document, "entries[1].radios[0].power_dbm") = json!(60.0);
        *at(document, "seats[0].height_m") = json!(-1);
    });
    assert_eq!(
        load(&text).unwrap_err().to_string(),
        "Pilots' bench, left, height: -1 m; must be 0.1 to 40 m (seats[0].height_m) (and 1 more problem)"
    );
}

#[test]
fn an_unknown_field_is_named_with_its_place() {
    for (path, key) in [("", "colour"), ("site", "colour"), ("entries[3].radios[0]", "power_mw"), ("seats[2]", "z_m")] {
        let text = changed(|document| {
            let object = if path.is_empty() { document } else { at(document, path) };
            object.as_object_mut().unwrap().insert(key.to_owned(), json!(1));
        });
        let message = load(&text).unwrap_err().to_string();
        assert!(message.contains(&format!("unknown field `{key}`")), "{message}");
        assert!(message.starts_with(path), "{message}");
    }
}

#[test]
fn a_missing_field_is_named_with_its_place() {
    for (path, key) in [("course", "pad"), ("entries[0].radios[0].antenna", "kind"), ("seats[3]", "facing_deg")] {
        let text = changed(|document| {
            at(document, path).as_object_mut().unwrap().remove(key);
        });
        let message = load(&text).unwrap_err().to_string();
        assert!(message.contains(&format!("missing field `{key}`")), "{message}");
        assert!(message.starts_with(path), "{message}");
    }
}

#[test]
fn a_field_that_stands_twice_is_refused() {
    let text = save(&demo());
    for (once, twice) in [
        ("\"version\": 1,", "\"version\": 1, \"version\": 1,"),
        ("\"seed\": 1", "\"seed\": 1, \"seed\": 2"),
        ("\"step_m\":", "\"step_m\": 1.0, \"step_m\":"),
    ] {
        assert!(text.contains(once));
        let message = load(&text.replacen(once, twice, 1)).unwrap_err().to_string();
        assert!(message.contains("duplicate field"), "{message}");
    }
}

#[test]
fn an_unknown_kind_is_named_with_its_place() {
    let text = changed(|document| *at(document, "receivers[0].ports[1].antenna.kind") = json!("umbrella"));
    let message = load(&text).unwrap_err().to_string();
    assert!(
        message.starts_with("receivers[0].ports[1].antenna.kind")
            && message.contains("unknown value `umbrella`, known are `dipole`, "),
        "{message}"
    );

    let text = changed(|document| *at(document, "site.obstacles[4].shape") = json!({"hill": {}}));
    let message = load(&text).unwrap_err().to_string();
    assert!(message.starts_with("site.obstacles[4].shape") && message.contains("`hill`"), "{message}");

    let text = changed(|document| {
        let tree = at(document, "site.obstacles[10].shape.tree").clone();
        at(document, "site.obstacles[10].shape").as_object_mut().unwrap().insert("wall".into(), tree);
    });
    let message = load(&text).unwrap_err().to_string();
    assert!(message.starts_with("site.obstacles[10].shape") && message.contains("exactly one kind"), "{message}");
}

/// Every value and key of a document, by its JSON pointer.
fn pointers(value: &Value, pointer: &str, found: &mut Vec<String>) {
    found.push(pointer.to_owned());
    match value {
        Value::Array(items) => {
            items.iter().enumerate().for_each(|(index, item)| pointers(item, &format!("{pointer}/{index}"), found));
        }
        Value::Object(fields) => {
            fields.iter().for_each(|(key, field)| pointers(field, &format!("{pointer}/{key}"), found));
        }
        _ => {}
    }
}

/// A JSON pointer as a path: "/seats/2/height_m" is "seats[2].height_m".
fn dotted(pointer: &str) -> String {
    let mut path = String::new();
    for part in pointer.split('/').skip(1) {
        match part.parse::<usize>() {
            Ok(index) => path += &format!("[{index}]"),
            Err(_) if path.is_empty() => path += part,
            Err(_) => path += &format!(".{part}"),
        }
    }
    path
}

/// Checked against a general tracker of paths, at every value of a plan and with every kind of damage.
#[test]
fn whatever_is_refused_is_named_by_the_path_at_which_the_parser_was() {
    let whole: Value = serde_json::from_str(&save(&everything())).unwrap();
    let mut all = Vec::new();
    pointers(&whole, "", &mut all);
    let mut refused = 0;
    // A mark that no plan holds stands for what is put in its place, so that any text can be.
    let others = ["null", "-7", "1e999", "\"\\u0041\"", "\"\\ud800\"", "true", "[]", "[1, 2, 3]", "{}", "{\"x\": 1}"];
    for pointer in all.iter().filter(|pointer| !pointer.is_empty() && *pointer != "/format" && *pointer != "/version") {
        let mut marked = whole.clone();
        let original = std::mem::replace(marked.pointer_mut(pointer).unwrap(), json!("MARK")).to_string();
        let marked = serde_json::to_string_pretty(&marked).unwrap();
        let mut texts: Vec<String> = others.iter().map(|other| marked.replace("\"MARK\"", other)).collect();
        texts.push(marked.replace("\"MARK\"", &format!("{original}, \"\u{fc} \\\"x\": 1")));
        let key = pointer.rsplit('/').next().unwrap();
        texts.push(marked.replace("\"MARK\"", &format!("{original}, \"{key}\" : {original}")));
        texts.push(marked.replace(&format!("\"{key}\": \"MARK\""), &format!("\"{key} \": {original}")));
        for text in texts {
            let Err(LoadError::Field { path, .. }) = load(&text) else { continue };
            refused += 1;
            // The library takes a list for an object and looks into it; here a list is none, and that is all there is to say.
            let is_object = whole.pointer(pointer).is_some_and(Value::is_object);
            if is_object && ["[]", "[1, 2, 3]"].iter().any(|list| text == marked.replace("\"MARK\"", list)) {
                assert_eq!(path, dotted(pointer));
                continue;
            }
            let tracked = serde_path_to_error::deserialize::<_, Plan>(&mut serde_json::Deserializer::from_str(&text))
                .unwrap_err();
            let expected = tracked.path().to_string();
            let expected = if expected == "." { "the document" } else { &expected };
            assert_eq!(path, expected, "{}", tracked.inner());
        }
    }
    assert!(refused > 2_000, "{refused} refused");
}

#[test]
fn format_and_version_come_before_everything_else() {
    let text = r#"{"anything": [1, 2], "format": "shopping-list", "version": 7}"#;
    assert_eq!(load(text), Err(LoadError::OtherFormat { found: "\"shopping-list\"".into() }));
    assert_eq!(load("{}"), Err(LoadError::OtherFormat { found: "missing".into() }));
    let text = &format!(r#"{{"format": "lapmargin-plan", "version": {}, "moons": []}}"#, VERSION + 1);
    assert_eq!(load(text), Err(LoadError::OtherVersion { version: u64::from(VERSION) + 1 }));
    assert!(load(text).unwrap_err().to_string().contains("a newer build may read it"));
    let text = r#"{"format": "lapmargin-plan", "version": 0}"#;
    assert_eq!(load(text), Err(LoadError::OtherVersion { version: 0 }));
    for version in ["\"1\"", "-1", "1.5", "1e300"] {
        let text = format!(r#"{{"format": "lapmargin-plan", "version": {version}}}"#);
        assert!(matches!(load(&text), Err(LoadError::Field { path, .. }) if path == "version"), "{version}");
    }
    let message = load(r#"{"format": "lapmargin-plan"}"#).unwrap_err().to_string();
    assert!(message.contains("missing field"), "{message}");
}

#[test]
fn what_is_not_json_is_refused_with_its_place() {
    for text in ["{\"format\": ", "{\"format\": \"lapmargin-plan\", \"version\": 1} x", "{'a': 1}", "{1: 2}", "{"] {
        assert!(matches!(load(text), Err(LoadError::NotJson { .. })), "{text}: {:?}", load(text));
    }
    for text in ["", " \n\t", "\u{feff}"] {
        assert_eq!(load(text), Err(LoadError::Empty), "{text:?}");
    }
    let Err(LoadError::NotJson { line, .. }) = load(&save(&demo()).replacen("\"seats\": [", "\"seats\": [,", 1)) else {
        panic!("a stray comma was taken")
    };
    assert!(line > 100, "{line}");
    for text in ["[]", "1", "\"plan\"", "null", "hello", "<svg>", "\u{fffd}PNG\r\n"] {
        assert_eq!(load(text), Err(LoadError::NotAPlan), "{text}");
    }
}

#[test]
fn size_and_depth_are_refused_before_anything_is_built() {
    let text = " ".repeat(limits::TEXT_BYTES + 1);
    assert_eq!(load(&text), Err(LoadError::TooLong { bytes: limits::TEXT_BYTES + 1 }));
    assert_eq!(load(&text[1..]), Err(LoadError::Empty));
    for open in ["{\"a\":[", "{\"a\":"] {
        let deep = open.repeat(limits::TEXT_BYTES / open.len());
        assert_eq!(load(&deep), Err(LoadError::TooDeep { line: 1 }));
    }
    let in_string = format!("{{\"{}\\\"{}\": 1}}", "[".repeat(100), "{".repeat(100));
    let found = "missing".to_owned();
    assert_eq!(load(&in_string), Err(LoadError::OtherFormat { found }), "brackets in a string do not nest");
}

#[test]
fn lists_that_are_too_long_are_named_and_not_looked_into() {
    let mut plan = demo();
    let entry = Entry { id: String::new(), ..plan.entries[0].clone() };
    plan.entries = vec![entry; limits::ENTRIES.max + 1];
    let found = problems(&plan);
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].to_string(), "17 entries; must be at most 16 (entries)");
}

#[test]
fn what_does_not_fit_together_is_refused() {
    for (said, change) in [
        (
            "Goggles 2, seat: \"roof\" is not there; must be \"left\", \"middle\", \"right\", \"bollard\" (receivers[1].seat)",
            (|plan| plan.receivers[1].seat = "roof".into()) as fn(&mut Plan),
        ),
        (
            "Linnet, receiver: \"none\" is not there; must be \"goggles-1\", \"goggles-2\", \"goggles-3\", \"goggles-4\" (entries[0].receiver)",
            |plan| plan.entries[0].receiver = "none".into(),
        ),
        ("the id \"left\" is used twice (seats[3].id)", |plan| plan.seats[3].id = plan.seats[0].id.clone()),
        (
            "gate 1, id: \"two words\"; must be letters a to z, digits, hyphens and underscores (course.gates[0].id)",
            |plan| plan.course.gates[0].id = "two words".into(),
        ),
        ("Linnet: exactly one video transmitter is needed, not 0 (entries[0].radios)", |plan| {
            plan.entries[0].radios.clear()
        }),
        ("Linnet: exactly one video transmitter is needed, not 2 (entries[0].radios)", |plan| {
            let radio = plan.entries[0].radios[0].clone();
            plan.entries[0].radios.push(radio);
        }),
        ("Goggles 1: 0 ports; must be 1 to 4 (receivers[0].ports)", |plan| plan.receivers[0].ports.clear()),
        ("Barn gate east, north: 28.5 m; must be 0 to 28 m (course.gates[6].y_m)", |plan| {
            plan.course.gates[6].y_m = 28.5
        }),
        ("gates 2 and 3 are 0.40 m apart; minimum 0.5 m (course.gates[1])", |plan| {
            let gate = plan.course.gates[1].clone();
            plan.course.gates[2] = Gate { id: "other".into(), y_m: gate.y_m + 0.4, ..gate };
        }),
        ("Barrier gate: inside \"Pear barn\"; must be outside buildings and stalls (course.gates[4])", |plan| {
            (plan.course.gates[4].x_m, plan.course.gates[4].y_m) = (24.0, 26.5)
        }),
        ("Pilots' bench, right: inside \"Pear barn\"; must be outside buildings and stalls (seats[2])", |plan| {
            (plan.seats[2].x_m, plan.seats[2].y_m) = (24.0, 26.5)
        }),
        (
            "Pilots' canopy, height: 2.2 m; must be at least 0.05 m above the lower edge at 2.2 m (site.obstacles[9].shape.canopy.height_m)",
            |plan| canopy(plan).height_m = canopy(plan).base_m,
        ),
        ("Barrier, length: 0 m; must be 0.1 to 1000 m (site.obstacles[7].shape.wall.to_m)", |plan| {
            wall(plan).to_m = wall(plan).from_m
        }),
        ("Barrier, second end north: 1000 m; must be -50 to 78 m (site.obstacles[7].shape.wall.to_m[1])", |plan| {
            wall(plan).to_m[1] = 1000.0
        }),
        ("Pear barn, depth: 0 m; must be 0.1 to 1000 m (site.obstacles[0].shape.building.size_m[1])", |plan| {
            building(plan).size_m[1] = 0.0
        }),
        ("10000 people in all crowds together; must be at most 4000 (site.obstacles)", |plan| {
            (crowd(plan).size_m, crowd(plan).density_per_m2) = ([100.0, 100.0], 1.0)
        }),
        (
            "\\u{1b}[2J, name: a text with a line break or control character; must be one line (entries[0].name)",
            |plan| plan.entries[0].name = "\u{1b}[2J".into(),
        ),
        ("entry 1, name: 0 characters; must be 1 to 80 (entries[0].name)", |plan| plan.entries[0].name.clear()),
        ("Linnet, channel: 5800 Hz is too low; 5800 MHz is written 5800000000 (entries[0].channel_hz)", |plan| {
            plan.entries[0].channel_hz = 5800.0
        }),
        ("Linnet, channel: 5.8 Hz is too low; 5.8 GHz is written 5800000000 (entries[0].channel_hz)", |plan| {
            plan.entries[0].channel_hz = 5.8
        }),
        ("Linnet, channel: 2e10 Hz; must be 1e9 to 1e10 Hz (entries[0].channel_hz)", |plan| {
            plan.entries[0].channel_hz = 2e10
        }),
        (
            "Goggles 1, port 2 antenna gain: 33 dBi; must be -10 to 20 dBi (receivers[0].ports[1].antenna.gain_dbi)",
            |plan| plan.receivers[0].ports[1].antenna.gain_dbi = Some(33.0),
        ),
        ("Goggles 1, port 2 feed line length: -1 m; must be 0 to 50 m (receivers[0].ports[1].feed.length_m)", |plan| {
            plan.receivers[0].ports[1].feed.length_m = -1.0
        }),
        (
            "Linnet, transmitter antenna tilt backward: 100°; must be -90 to 90° (entries[0].radios[0].mounting.lean_back_deg)",
            |plan| plan.entries[0].radios[0].mounting.lean_back_deg = 100.0,
        ),
        ("start pad east: -1 m; must be 0 to 44 m (course.pad.x_m)", |plan| plan.course.pad.x_m = -1.0),
        ("name of the plan: 0 characters; must be 1 to 80 (name)", |plan| plan.name.clear()),
        ("course step: 5 m; must be 0.006 to 2.834 m on a course of this length (course.step_m)", |plan| {
            plan.course.gates.truncate(2);
            plan.course.step_m = 5.0;
        }),
    ] {
        let mut plan = demo();
        change(&mut plan);
        assert_eq!(problems(&plan).first().map(ToString::to_string).as_deref(), Some(said));
    }
}

#[test]
fn a_gate_above_a_roof_is_fine() {
    let mut plan = demo();
    let roof = building(&mut plan).height_m;
    let gate = &mut plan.course.gates[4];
    (gate.x_m, gate.y_m, gate.height_m) = (24.0, 26.5, roof + 1.0);
    assert_eq!(problems(&plan), []);
}

#[test]
fn a_byte_order_mark_is_skipped() {
    assert_eq!(load(&format!("\u{feff}{}", save(&demo()))), Ok(demo()));
}

// Properties.

/// A number in a range, its ends more often than chance would have them.
fn within(range: Range) -> impl Strategy<Value = f64> {
    prop_oneof![6 => range.min..=range.max, 1 => Just(range.min), 1 => Just(range.max)]
}

fn maybe(range: Range) -> impl Strategy<Value = Option<f64>> {
    option::of(within(range))
}

fn name() -> impl Strategy<Value = String> {
    prop_oneof!["[a-zäß\"\\\\ {}\\[\\]🚁]{1,20}", Just("x".repeat(limits::NAME.max))]
}

/// Sites of the generated plans are this large; gates stand in the western half, blocks in the eastern.
const SIDE: f64 = 200.0;

fn spot() -> impl Strategy<Value = [f64; 2]> {
    (140.0..SIDE, 0.0..SIDE).prop_map(|(x, y)| [x, y])
}

fn shape() -> impl Strategy<Value = ObstacleShape> {
    use limits::*;
    let material = || select(Material::ALL.to_vec());
    let sides = || (0.1..30.0, 0.1..30.0).prop_map(|(along, across)| [along, across]);
    let block = move || {
        (spot(), sides(), within(TURN_DEG), within(OBSTACLE_HEIGHT_M), within(WALL_THICKNESS_M), material()).prop_map(
            |(centre_m, size_m, turn_deg, height_m, thickness_m, material)| BlockShape {
                centre_m,
                size_m,
                turn_deg,
                height_m,
                thickness_m,
                material,
            },
        )
    };
    prop_oneof![
        (spot(), within(OBSTACLE_HEIGHT_M), within(WALL_THICKNESS_M), material()).prop_map(
            |(from_m, height_m, thickness_m, material)| {
                ObstacleShape::Wall(WallShape { from_m, to_m: [100.5, 3.25], height_m, thickness_m, material })
            }
        ),
        block().prop_map(ObstacleShape::Building),
        block().prop_map(ObstacleShape::Stall),
        (spot(), sides(), within(TURN_DEG), within(BASE_HEIGHT_M), 0.1..9.0).prop_map(
            |(centre_m, size_m, turn_deg, base_m, rise)| {
                ObstacleShape::Canopy(CanopyShape { centre_m, size_m, turn_deg, base_m, height_m: base_m + rise })
            }
        ),
        (spot(), within(CROWN_RADIUS_M), within(BASE_HEIGHT_M), 0.1..9.0, within(CROWN_LOSS_DB_PER_M)).prop_map(
            |(centre_m, radius_m, base_m, rise, loss_db_per_m)| {
                ObstacleShape::Tree(TreeShape { centre_m, radius_m, base_m, height_m: base_m + rise, loss_db_per_m })
            }
        ),
        (spot(), sides(), within(TURN_DEG), within(HEAD_HEIGHT_M), 0.0..0.5).prop_map(
            |(centre_m, size_m, turn_deg, head_height_m, density_per_m2)| {
                ObstacleShape::Crowd(CrowdShape { centre_m, size_m, turn_deg, head_height_m, density_per_m2 })
            }
        ),
        (spot(), within(OBSTACLE_HEIGHT_M), within(COVERED_SHARE)).prop_map(|(from_m, height_m, covered_share)| {
            ObstacleShape::Barrier(BarrierShape { from_m, to_m: [100.5, 3.25], height_m, covered_share })
        }),
    ]
}

fn antenna() -> impl Strategy<Value = AntennaKit> {
    use limits::*;
    let kind = select(presets::ANTENNA_KINDS.to_vec());
    let hand = select(vec![StatedHand::Right, StatedHand::Left, StatedHand::Unknown]);
    (kind, hand, maybe(GAIN_DBI), maybe(AXIAL_RATIO_DB), maybe(BEAMWIDTH_DEG), maybe(REJECTION_DB)).prop_map(
        |(kind, hand, gain_dbi, axial_ratio_db, beamwidth_deg, rejection_db)| AntennaKit {
            kind,
            hand,
            gain_dbi,
            gain_is_measured: false,
            axial_ratio_db,
            beamwidth_deg,
            rejection_db,
            table: None,
        },
    )
}

/// Some of them with a table that fits every kind.
fn antenna_or_table() -> impl Strategy<Value = AntennaKit> {
    let rows = vec((-60.0..=20.0_f64, 0.0..=60.0_f64), 3..20);
    (antenna(), option::weighted(0.2, rows)).prop_map(|(antenna, rows)| {
        let table = rows.map(|rows| {
            let step = 180.0 / (rows.len() - 1) as f64;
            let mut rows: Vec<_> =
                rows.iter().enumerate().map(|(index, (gain, ratio))| [step * index as f64, *gain, *ratio]).collect();
            rows[1][1] = 2.5;
            rows
        });
        AntennaKit {
            gain_is_measured: table.is_none() && antenna.gain_dbi.is_some_and(|gain| gain > 10.0),
            table,
            ..antenna
        }
    })
}

fn feed() -> impl Strategy<Value = Feed> {
    (select(FeedLine::ALL.to_vec()), within(limits::FEED_LENGTH_M), 0_u8..=10)
        .prop_map(|(line, length_m, connectors)| Feed { line, length_m, connectors })
}

fn receiver() -> impl Strategy<Value = Receiver> {
    use limits::*;
    let port = (antenna_or_table(), feed(), within(AIM_OFF_DEG), within(AIM_UP_DEG))
        .prop_map(|(antenna, feed, aim_off_deg, aim_up_deg)| Port { antenna, feed, aim_off_deg, aim_up_deg });
    let picture = (any::<bool>(), within(BANDWIDTH_HZ), maybe(REQUIRED_CN_DB), within(FREEZE_S)).prop_map(
        |(analogue, bandwidth_hz, required_cn_db, freeze_s)| {
            if analogue {
                Picture::Analogue { bandwidth_hz, required_cn_db }
            } else {
                Picture::Digital { bandwidth_hz, required_cn_db, freeze_s }
            }
        },
    );
    let noise = prop_oneof![
        maybe(NOISE_FIGURE_DB).prop_map(|noise_figure_db| ReceiverNoise::NoiseFigure { noise_figure_db }),
        within(SENSITIVITY_DBM).prop_map(|level_dbm| ReceiverNoise::Sensitivity { level_dbm }),
    ];
    let place = select(vec![Placement::Worn, Placement::Standing]);
    let switching = select(vec![Switching::Slow, Switching::Fast]);
    (name(), place, vec(port, 1..=4), switching, picture, noise).prop_map(
        |(name, place, ports, switching, picture, noise)| Receiver {
            id: String::new(),
            name,
            seat: "seat-0".into(),
            place,
            ports,
            switching,
            picture,
            noise,
        },
    )
}

fn entry() -> impl Strategy<Value = Entry> {
    use limits::*;
    let mounting = (within(LEAN_DEG), within(LEAN_DEG), maybe(FRAME_LOSS_DB)).prop_map(
        |(lean_back_deg, lean_right_deg, frame_loss_db)| Mounting { lean_back_deg, lean_right_deg, frame_loss_db },
    );
    (name(), within(CHANNEL_HZ), within(POWER_DBM), feed(), antenna_or_table(), mounting).prop_map(
        |(name, channel_hz, power_dbm, feed, antenna, mounting)| Entry {
            id: String::new(),
            name,
            receiver: "receiver-0".into(),
            channel_hz,
            radios: vec![Radio {
                purpose: Purpose::Video,
                power_dbm,
                power_is_measured: power_dbm > 30.0,
                feed,
                antenna,
                mounting,
            }],
        },
    )
}

/// Plans without problems, of any size that is allowed.
fn plan() -> impl Strategy<Value = Plan> {
    use limits::*;
    let opening = (within(GATE_OPENING_M), within(GATE_OPENING_M)).prop_map(|(width, height)| [width, height]);
    let frame = (opening, within(FRAME_TUBE_M)).prop_map(|(opening_m, tube_m)| GateFrame { opening_m, tube_m });
    let gate = (name(), within(GATE_HEIGHT_M), within(TURN_DEG), option::of(frame));
    let seat = (name(), 0.0..100.0, 0.0..SIDE, within(SEAT_HEIGHT_M), within(TURN_DEG));
    let pace = prop_oneof![
        within(LAP_TIME_S).prop_map(|lap_time_s| PacePlan::LapTime { lap_time_s }),
        (within(TOP_SPEED_M_PER_S), within(SIDEWAYS_M_PER_S2), within(FORWARD_M_PER_S2)).prop_map(
            |(top_speed_m_per_s, sideways_m_per_s2, forward_m_per_s2)| PacePlan::Limits {
                top_speed_m_per_s,
                sideways_m_per_s2,
                forward_m_per_s2,
            }
        ),
    ];
    let lists = (
        vec((name(), shape()), 0..=8),
        vec(gate, 3..=8),
        vec(seat, 1..=4),
        vec(receiver(), 1..=3),
        vec(entry(), 0..=3),
    );
    let site = (
        select(Material::ALL.to_vec()),
        within(ROUGHNESS_M),
        select(Surroundings::ALL.to_vec()),
        maybe(SCATTER_K_DB),
        maybe(SCATTER_XPR_DB),
        maybe(SHADOWING_DB),
        any::<bool>(),
    );
    let course = (pace, within(DRAG_PER_M), 0.5..1.0, within(LINE_SIGMA_M), within(PAD_HEIGHT_M), within(TURN_DEG));
    let rest = (maybe(EIRP_LIMIT_DBM), "[a-z .]{0,30}", within(PICTURE_SHARE), within(WANTED_RESERVE_DB), any::<u32>());
    (name(), "[a-z\n\t\"]{0,40}", lists, site, course, rest).prop_map(|(name, note, lists, site, course, rest)| {
        let (obstacles, gates, seats, receivers, entries) = lists;
        let mut plan = demo();
        (plan.name, plan.note) = (name, note);
        (plan.site.width_m, plan.site.depth_m) = (SIDE, SIDE);
        plan.site.ground = site.0;
        plan.site.roughness_m = site.1;
        plan.site.surroundings = site.2;
        (plan.site.k_db, plan.site.xpr_db, plan.site.shadowing_db, plan.site.wet) = (site.3, site.4, site.5, site.6);
        plan.site.obstacles = obstacles
            .into_iter()
            .enumerate()
            .map(|(index, (name, shape))| Obstacle { id: format!("obstacle-{index}"), name, shape })
            .collect();
        let count = gates.len() as f64;
        plan.course.gates = gates
            .into_iter()
            .enumerate()
            .map(|(index, (name, height_m, heading_deg, frame))| {
                let angle = index as f64 * std::f64::consts::TAU / count;
                let (x_m, y_m) = (50.0 + 40.0 * libm::sin(angle), 100.0 + 40.0 * libm::cos(angle));
                Gate { id: format!("gate-{index}"), name, x_m, y_m, height_m, heading_deg, frame }
            })
            .collect();
        (plan.course.pace, plan.course.drag_per_m, plan.course.step_m) = (course.0, course.1, course.2);
        (plan.course.line_sigma_m, plan.course.pad.height_m, plan.course.pad.heading_deg) =
            (course.3, course.4, course.5);
        plan.seats = seats
            .into_iter()
            .enumerate()
            .map(|(index, (name, x_m, y_m, height_m, facing_deg))| Seat {
                id: format!("seat-{index}"),
                name,
                x_m,
                y_m,
                height_m,
                facing_deg,
            })
            .collect();
        plan.receivers = receivers;
        plan.receivers.iter_mut().enumerate().for_each(|(index, item)| item.id = format!("receiver-{index}"));
        plan.entries = entries;
        plan.entries.iter_mut().enumerate().for_each(|(index, item)| item.id = format!("entry-{index}"));
        (plan.rules.eirp_limit_dbm, plan.rules.source) = (rest.0, rest.1);
        (plan.targets.picture_share, plan.targets.wanted_reserve_db, plan.seed) = (rest.2, rest.3, rest.4);
        plan.version = plan.lowest_version();
        plan
    })
}

/// The demo's text with some of its numbers, words or marks replaced by something else.
fn mutated() -> impl Strategy<Value = String> {
    let token = select(vec![
        "null",
        "-1",
        "1e999",
        "-0.0",
        "1e-320",
        "\"\"",
        "[]",
        "{}",
        "true",
        ",",
        "}",
        "]",
        "\"",
        "\\",
        "\u{0}",
        "ü",
        "123456789012345678901234567890",
        "0x10",
        "NaN",
        "\"right\"",
        "{\"wall\":1}",
        "",
    ]);
    vec((any::<prop::sample::Index>(), 0_usize..12, token), 1..6).prop_map(|edits| {
        let mut text: Vec<char> = save(&demo()).chars().collect();
        for (place, length, token) in edits {
            let start = place.index(text.len());
            let end = (start + length).min(text.len());
            text.splice(start..end, token.chars());
        }
        text.into_iter().collect()
    })
}

/// One number of the demo's text replaced.
fn other_number() -> impl Strategy<Value = String> {
    let number = prop_oneof![
        any::<f64>().prop_map(|value| value.to_string()),
        (-400..400_i32).prop_map(|power| format!("1e{power}")),
        select(vec!["null", "-0.0", "\"1\"", "[1]", "1E+3", "0", "-1"]).prop_map(str::to_owned),
    ];
    (any::<prop::sample::Index>(), number).prop_map(|(place, number)| {
        let text = save(&demo());
        let starts: Vec<usize> = text.match_indices(": ").map(|(at, _)| at + 2).collect();
        let start = starts[place.index(starts.len())];
        let end = start + text[start..].find([',', '\n']).expect("every value ends");
        format!("{}{number}{}", &text[..start], &text[end..])
    })
}

/// Whatever a text is, loading gives a plan that can be used, or says where and why it does not.
fn loads_or_says_why(text: &str) -> Result<(), TestCaseError> {
    match load(text) {
        Ok(plan) => {
            prop_assert_eq!(problems(&plan), vec![]);
            prop_assert_eq!(load(&save(&plan)), Ok(plan));
        }
        Err(error) => refusals::of_a_plan(text, &error)?,
    }
    Ok(())
}

/// The same cases on every run.
fn cases(cases: u32) -> ProptestConfig {
    ProptestConfig { cases, rng_seed: RngSeed::Fixed(20), failure_persistence: None, ..ProptestConfig::default() }
}

proptest! {
    #![proptest_config(cases(24))]

    #[test]
    fn a_plan_without_problems_converts(plan in plan()) {
        for obstacle in convert::site(&plan.site).obstacles {
            prop_assert_eq!(obstacle.check(), Ok(()));
        }
        for receiver in &plan.receivers {
            let resolved = presets::resolve_receiver(&receiver.picture, &receiver.noise);
            prop_assert!(resolved.threshold.0.is_finite() && resolved.good_threshold >= resolved.threshold);
            for port in &receiver.ports {
                for hand in port.antenna.hand.cases() {
                    let resolved = presets::resolve_antenna(&port.antenna, *hand).unwrap();
                    let expected = presets::has_hand(port.antenna.kind).then_some(*hand);
                    prop_assert_eq!(resolved.antenna.hand(), expected);
                    prop_assert!(presets::unknown_sigma(&resolved.assumed).0.is_finite());
                }
            }
        }
        // Any heading through any gate is allowed, and then the line may fold; nothing else may be wrong with it.
        match convert::lap(&plan.course) {
            Ok(lap) => prop_assert!(lap.samples.len() >= limits::LAP_SAMPLES.min),
            Err(error) => prop_assert!(matches!(error, CourseError::Fold { .. }), "{}", error),
        }
    }
}

proptest! {
    #![proptest_config(cases(300))]

    #[test]
    fn what_is_saved_loads_as_it_was(plan in plan()) {
        prop_assert_eq!(problems(&plan), vec![]);
        let text = save(&plan);
        let back = load(&text);
        prop_assert_eq!(back.as_ref(), Ok(&plan));
        // Equal numbers could still differ in their sign of zero; equal texts of shortest digits cannot.
        prop_assert_eq!(save(&back.unwrap()), text);
    }

    #[test]
    fn a_plan_link_brings_the_plan_back(plan in plan()) {
        let value = plan_link::write(&plan).unwrap();
        let back = plan_link::read(&value);
        prop_assert_eq!(back.as_ref(), Ok(&plan));
        prop_assert_eq!(save(&back.unwrap()), save(&plan));
        let address = format!("https://races.example/spring/#view=desk&plan={value}");
        prop_assert_eq!(plan_link::carried(&address, "plan"), Some(value.as_str()));
    }

    #[test]
    fn no_text_makes_a_plan_link_panic(text in prop_oneof![any::<String>(), "[12][A-Za-z0-9_-]{0,200}"]) {
        if let Err(error) = plan_link::read(&text) {
            refusals::of_a_link(&text, &error)?;
        }
    }

    #[test]
    fn no_damage_to_a_plan_link_opens_as_another_plan(at in any::<prop::sample::Index>(), letter in "[A-Za-z0-9_-]") {
        let mut value = plan_link::write(&demo()).unwrap();
        let at = at.index(value.len());
        value.replace_range(at..=at, &letter);
        match plan_link::read(&value) {
            Ok(plan) => prop_assert_eq!(plan, demo()),
            Err(error) => {
                prop_assert!(at == 0 || error == PlanLinkError::Damaged, "letter {}: {}", at, error);
                refusals::of_a_link(&value, &error)?;
            }
        }
    }

    #[test]
    fn no_text_makes_the_loader_panic(text in any::<String>()) {
        loads_or_says_why(&text)?;
    }

    #[test]
    fn no_damage_to_a_plan_makes_the_loader_panic(text in prop_oneof![mutated(), other_number()]) {
        loads_or_says_why(&text)?;
    }

    #[test]
    fn any_number_comes_back_bit_for_bit(bits in any::<u64>()) {
        let value = f64::from_bits(bits);
        prop_assume!(value.is_finite());
        let mut plan = demo();
        plan.site.width_m = value;
        let document: Value = serde_json::from_str(&save(&plan)).unwrap();
        prop_assert_eq!(document["site"]["width_m"].as_f64().map(f64::to_bits), Some(bits));
    }
}

#[test]
fn measured_values_and_a_distance_to_keep_are_of_the_third_version() {
    let mut plan = demo();
    assert_eq!(plan.lowest_version(), 1);
    plan.entries[0].radios[0].power_is_measured = true;
    assert_eq!(plan.lowest_version(), 3);
    plan.version = 3;
    let text = save(&plan);
    assert!(text.contains("\"power_is_measured\": true") && text.contains("\"version\": 3"));
    assert!(!text.contains("gain_is_measured") && !text.contains("keep_away_m"), "what is not said is not written");
    assert_eq!(load(&text).as_ref(), Ok(&plan));
    // The tick taken away again: an older build reads the plan.
    plan.entries[0].radios[0].power_is_measured = false;
    assert_eq!(plan.lowest_version(), 1);
    kit(&mut plan).gain_is_measured = true;
    assert_eq!(plan.lowest_version(), 3);
    kit(&mut plan).gain_is_measured = false;
    plan.rules.keep_away_m = Some(8.0);
    assert_eq!(plan.lowest_version(), 3);
    plan.version = 1;
    assert!(load(&save(&plan)).is_err_and(|why| why.to_string().contains("version: 1; must be 3 (version)")));
}

/// A change of the pilots, of a plan of any size: numbers within it, and some beyond.
fn pilot_edit() -> impl Strategy<Value = PilotEdit> {
    let at = || 0..limits::ENTRIES.max + 2;
    prop_oneof![
        at().prop_map(PilotEdit::Add),
        at().prop_map(PilotEdit::Copy),
        at().prop_map(PilotEdit::Remove),
        (at(), at()).prop_map(|(from, to)| PilotEdit::Reorder { from, to }),
        (at(), vec(at(), 0..4)).prop_map(|(of, to)| PilotEdit::Kit { of, to }),
        at().prop_map(PilotEdit::OwnReceiver),
        at().prop_map(PilotEdit::NewSeat),
        at().prop_map(PilotEdit::DropReceiver),
    ]
}

proptest! {
    #![proptest_config(cases(60))]

    #[test]
    fn pilots_come_and_go_and_the_plan_holds(mut plan in plan(), edits in vec(pilot_edit(), 1..12)) {
        for edit in edits {
            prop_assert!(!told(&plan, &edit).is_empty());
            match edit::apply(&plan, &Edit::Pilots(edit.clone())) {
                Ok(changed) => {
                    prop_assert_eq!(problems(&changed), vec![]);
                    let ids = |plan: &Plan| plan.entries.iter().map(|entry| entry.id.clone()).collect::<Vec<_>>();
                    let stays = ids(&plan).iter().filter(|id| ids(&changed).contains(id)).count();
                    let [before, after] = [plan.entries.len(), changed.entries.len()];
                    match edit {
                        PilotEdit::Add(_) | PilotEdit::Copy(_) => {
                            prop_assert_eq!((after, stays), (before + 1, before));
                            let seat = changed.seats.last().unwrap();
                            let near = |other: &&Seat| libm::hypot(other.x_m - seat.x_m, other.y_m - seat.y_m) < 0.59;
                            prop_assert_eq!(changed.seats.iter().filter(near).count(), 1, "chairs stand apart");
                        }
                        PilotEdit::Remove(_) => prop_assert_eq!((after, stays), (before - 1, before - 1)),
                        _ => prop_assert_eq!((after, stays), (before, before)),
                    }
                    plan = changed;
                }
                Err(problem) => prop_assert!(!problem.said.is_empty() && !problem.path.is_empty(), "{}", problem),
            }
        }
    }
}
