//! The flight line, its pace and its attitude against closed forms, and what must hold for every course.

use std::f64::consts::{PI, TAU};

use lapmargin::course::{
    ACCELERATION, AttitudeModel, CourseCaveat, CourseError, FlightLine, GATE_COUNT, GATE_HEIGHT, GatePose, LAP_TIME,
    Lap, Limits, MAX_LENGTH, MAX_SAMPLES, MIN_GATE_SPACING, PLAUSIBLE_ACCELERATION, Pace, STANDARD_GRAVITY, STEP,
    TOP_SPEED, heading_direction, lap,
};
use lapmargin::rf::Vec3;
use lapmargin::units::{Metres, MetresPerSecond, MetresPerSecondSquared, Radians, Seconds};
use nalgebra::{Matrix3, Rotation3};
use proptest::prelude::*;

const NO_DRAG: AttitudeModel = AttitudeModel { drag_per_metre: 0.0 };

fn gate(x: f64, y: f64, z: f64, heading_degrees: f64) -> GatePose {
    GatePose { centre: Vec3::new(x, y, z), heading: Radians(heading_degrees.to_radians()) }
}

/// Gates on a level circle round the origin, flown clockwise as seen from above.
fn circle(radius: f64, count: usize) -> Vec<GatePose> {
    (0..count)
        .map(|i| {
            let bearing = TAU * i as f64 / count as f64;
            GatePose {
                centre: heading_direction(Radians(bearing)) * radius + Vec3::new(0.0, 0.0, 2.0),
                heading: Radians(bearing + PI / 2.0),
            }
        })
        .collect()
}

/// A small course with a hairpin, a climb and a drop.
fn yard() -> Vec<GatePose> {
    vec![
        gate(4.0, 6.0, 1.5, 0.0),
        gate(6.0, 20.0, 1.5, 40.0),
        gate(20.0, 24.0, 4.5, 90.0),
        gate(36.0, 20.0, 2.0, 160.0),
        gate(28.0, 12.0, 1.5, 265.0),
        gate(20.0, 8.0, 1.5, 200.0),
        gate(13.0, 3.0, 2.5, 285.0),
    ]
}

fn line(gates: &[GatePose]) -> FlightLine {
    FlightLine::through(gates).expect("a course that can be flown")
}

fn fly(gates: &[GatePose], pace: Pace, attitude: AttitudeModel, step: f64) -> Lap {
    lap(&line(gates), pace, attitude, Metres(step)).expect("a lap that can be flown")
}

#[test]
fn a_circle_has_its_length_and_curvature() {
    // The error falls with the fourth power of the angle between gates.
    let radius = 12.0;
    for (count, tolerance) in [(6, 2e-2), (12, 1e-3), (24, 6e-5), (48, 4e-6)] {
        let line = line(&circle(radius, count));
        assert!((line.length().0 / (TAU * radius) - 1.0).abs() < tolerance, "{count} gates: {}", line.length());
        for step in 0..1000 {
            let point = line.at(line.length() * (f64::from(step) / 1000.0));
            let ratio = point.curvature.norm() * radius;
            assert!((ratio - 1.0).abs() < tolerance, "{count} gates, {step}: {ratio}");
            assert!((point.direction.norm() - 1.0).abs() < 1e-12);
            assert!(point.direction.dot(&point.curvature).abs() < 1e-12);
        }
    }
}

#[test]
fn a_banked_turn_leans_as_the_closed_form_says() {
    // Coordinated turn: tan(bank) = v²/(r g), from the balance of forces; no drag.
    let (radius, speed) = (12.0, 9.0);
    let wanted = speed * speed / (radius * STANDARD_GRAVITY);
    let pace = Pace::LapTime(Seconds(TAU * radius / speed));
    let lap = fly(&circle(radius, 48), pace, NO_DRAG, 0.3);
    for sample in &lap.samples {
        let up = sample.attitude * Vec3::z();
        let tangent = (up.x * up.x + up.y * up.y).sqrt() / up.z;
        assert!((tangent / wanted - 1.0).abs() < 1e-4, "{tangent} instead of {wanted}");
        // Toward the centre, which lies to the right of clockwise flight: the left side goes up.
        let inward = -Vec3::new(sample.position.x, sample.position.y, 0.0).normalize();
        assert!((up - inward * up.dot(&inward) - Vec3::z() * up.z).norm() < 1e-3);
        assert!((sample.attitude * Vec3::y()).z > 0.0);
        assert!((sample.attitude * Vec3::x() - sample.velocity.normalize()).norm() < 1e-3);
    }
}

#[test]
fn the_line_passes_every_gate_along_its_heading() {
    for gates in [yard(), circle(8.0, 5), vec![gate(0.0, 0.0, 1.0, 0.0), gate(6.0, 0.0, 1.0, 180.0)]] {
        let line = line(&gates);
        assert_eq!(line.gate_distances()[0], Metres(0.0));
        for (gate, &distance) in gates.iter().zip(line.gate_distances()) {
            let before = line.at(distance - Metres(1e-10));
            for point in [before, line.at(distance)] {
                assert!((point.position - gate.centre).norm() < 1e-9, "{point:?} {gate:?}");
                assert!((point.direction - heading_direction(gate.heading)).norm() < 1e-9, "{point:?} {gate:?}");
            }
        }
    }
}

#[test]
fn two_opposite_gates_make_two_half_circles_nearly() {
    let line = line(&[gate(0.0, 0.0, 1.0, 0.0), gate(6.0, 0.0, 1.0, 180.0)]);
    assert!((line.length().0 / (TAU * 3.0) - 1.0).abs() < 0.03, "{}", line.length());
}

#[test]
fn direction_and_curvature_are_continuous_all_round() {
    let line = line(&yard());
    let near = Metres(1e-7);
    let places = (0..2000).map(|i| line.length() * (f64::from(i) / 2000.0)).chain(line.gate_distances().to_vec());
    for distance in places {
        let (before, after) = (line.at(distance - near), line.at(distance + near));
        assert!((before.position - after.position).norm() < 3e-7, "{distance}");
        assert!((before.direction - after.direction).norm() < 1e-6, "{distance}");
        assert!((before.curvature - after.curvature).norm() < 1e-5, "{distance}");
    }
}

#[test]
fn distance_along_the_line_is_its_length() {
    // A second way to the same number: the sum of ever shorter chords, whose error falls with their square.
    let line = line(&yard());
    let chords = |count: u32| -> f64 {
        (0..count)
            .map(|i| {
                let place = |i: u32| line.at(line.length() * (f64::from(i) / f64::from(count))).position;
                (place(i + 1) - place(i)).norm()
            })
            .sum()
    };
    let (coarse, fine) = (chords(4000), chords(8000));
    let extrapolated = fine + (fine - coarse) / 3.0;
    assert!((extrapolated - line.length().0).abs() < 1e-7, "{extrapolated} {}", line.length());
}

#[test]
fn velocity_and_acceleration_are_the_derivatives_of_position() {
    let lap = fly(&yard(), Pace::LapTime(Seconds(14.0)), NO_DRAG, 0.02);
    let samples = &lap.samples;
    for window in samples.windows(3).skip(1) {
        let [before, here, after] = window else { unreachable!("windows of three") };
        let span = after.time.0 - before.time.0;
        assert!(((after.position - before.position) / span - here.velocity).norm() < 0.02, "{here:?}");
        assert!(((after.velocity - before.velocity) / span - here.acceleration).norm() < 0.2, "{here:?}");
    }
}

#[test]
fn attitude_turns_smoothly() {
    // Half the step, half the turn: a jump of attitude anywhere would stay as large.
    let largest = |step: f64| {
        let lap = fly(&yard(), Pace::Limits(Limits::default()), AttitudeModel::default(), step);
        let next = lap.samples.iter().cycle().skip(1);
        lap.samples.iter().zip(next).map(|(a, b)| a.attitude.rotation_to(&b.attitude).angle()).fold(0.0, f64::max)
    };
    let (coarse, fine) = (largest(0.05), largest(0.025));
    assert!(coarse < 0.15, "{coarse} rad within 5 cm");
    assert!(fine < 0.55 * coarse, "{fine} rad within 2.5 cm, {coarse} rad within 5 cm");
}

#[test]
fn the_lap_time_asked_for_is_flown_and_the_shares_add_up() {
    for seconds in [6.0, 14.0, 60.0] {
        for step in [0.05, 0.3, 1.7] {
            let lap = fly(&yard(), Pace::LapTime(Seconds(seconds)), AttitudeModel::default(), step);
            assert!((lap.duration.0 - seconds).abs() < 1e-9 * seconds);
            let sum: Seconds = lap.samples.iter().map(|sample| sample.duration).sum();
            assert!((sum.0 - lap.duration.0).abs() < 1e-9 * seconds);
            let spacing = lap.length / lap.samples.len() as f64;
            assert!(
                spacing.0 <= step && (spacing * (lap.samples.len() as f64 / (lap.samples.len() - 1) as f64)).0 > step
            );
            for pair in lap.samples.windows(2) {
                assert!(pair[1].time > pair[0].time);
                assert!((pair[1].distance - pair[0].distance - spacing).0.abs() < 1e-9);
            }
            assert_eq!(lap.samples[0].time, Seconds(0.0));
        }
    }
}

#[test]
fn no_limit_is_exceeded() {
    for (top, sideways, along) in [(18.0, 20.0, 8.0), (60.0, 15.0, 30.0), (5.0, 50.0, 1.0), (30.0, 3.0, 0.5)] {
        let limits = Limits {
            top_speed: MetresPerSecond(top),
            sideways_acceleration: MetresPerSecondSquared(sideways),
            forward_acceleration: MetresPerSecondSquared(along),
        };
        let mut fastest: f64 = 0.0;
        for step in [0.04, 0.3] {
            let lap = fly(&yard(), Pace::Limits(limits), AttitudeModel::default(), step);
            for sample in &lap.samples {
                let speed = sample.velocity.norm();
                let direction = sample.velocity / speed;
                let forward = sample.acceleration.dot(&direction);
                let across = (sample.acceleration - direction * forward).norm();
                assert!(speed <= top * (1.0 + 1e-9));
                assert!(forward.abs() <= along * (1.0 + 1e-9), "{forward}");
                assert!(across <= sideways * (1.0 + 1e-9), "{across}");
                fastest = fastest.max((speed / top).max(forward.abs() / along).max(across / sideways));
            }
        }
        assert!(fastest > 0.9, "the limits are used: {fastest}");
    }
}

#[test]
fn the_height_stays_between_the_heights_of_the_two_gates() {
    let line = line(&yard());
    for i in 0..5000 {
        let distance = line.length() * (f64::from(i) / 5000.0);
        let (before, after) = line.between_gates(distance);
        let (one, other) = (line.gates()[before].centre.z, line.gates()[after].centre.z);
        let height = line.at(distance).position.z;
        assert!(height >= one.min(other) - 1e-9 && height <= one.max(other) + 1e-9, "{height} at {distance}");
    }
}

#[test]
fn a_place_lies_between_two_gates_and_wraps_round() {
    let lap = fly(&yard(), Pace::LapTime(Seconds(14.0)), AttitudeModel::default(), 0.3);
    assert_eq!(lap.between_gates(Metres(0.0)), (0, 1));
    assert_eq!(lap.between_gates(lap.gate_distances[3]), (3, 4));
    assert_eq!(lap.between_gates(lap.gate_distances[3] - Metres(0.01)), (2, 3));
    assert_eq!(lap.between_gates(lap.length - Metres(0.01)), (6, 0));
    assert_eq!(lap.between_gates(lap.length + Metres(0.01)), (0, 1));
    assert_eq!(lap.between_gates(Metres(-0.01)), (6, 0));
    assert_eq!(lap.between_gates(Metres(f64::NAN)), (0, 1));
}

#[test]
fn a_lap_too_fast_to_believe_says_so() {
    let slow = fly(&yard(), Pace::LapTime(Seconds(20.0)), AttitudeModel::default(), 0.3);
    assert_eq!(slow.caveats, []);
    let fast = fly(&yard(), Pace::LapTime(Seconds(2.0)), AttitudeModel::default(), 0.3);
    let acceleration = fast.caveats.iter().find_map(|caveat| match caveat {
        CourseCaveat::Acceleration { needed, .. } => Some(*needed),
        _ => None,
    });
    assert!(acceleration.expect("a caveat") > PLAUSIBLE_ACCELERATION);
    assert!(fast.caveats.iter().any(|caveat| matches!(caveat, CourseCaveat::Speed { .. })));
}

#[test]
fn a_turn_on_less_than_the_aircraft_says_where() {
    let gates = [gate(0.0, 0.0, 1.0, 0.0), gate(0.5, 0.0, 1.0, 180.0), gate(10.0, -20.0, 1.0, 90.0)];
    let lap = fly(&gates, Pace::LapTime(Seconds(10.0)), AttitudeModel::default(), 0.1);
    let found =
        lap.caveats.iter().any(|caveat| matches!(caveat, CourseCaveat::TightTurn { radius, .. } if radius.0 < 0.3));
    assert!(found, "{:?}", lap.caveats);
}

#[track_caller]
fn check_error(gates: &[GatePose], wanted: &[&str]) -> CourseError {
    let error = FlightLine::through(gates).expect_err("refused");
    let message = error.to_string();
    for part in wanted {
        assert!(message.contains(part), "{message:?} lacks {part:?}");
    }
    error
}

#[test]
fn a_refused_course_names_the_gate_and_the_range() {
    let changed = |index: usize, pose: GatePose| {
        let mut gates = yard();
        gates[index] = pose;
        gates
    };
    let (low, high) = (GATE_HEIGHT.start().to_string(), GATE_HEIGHT.end().to_string());
    for height in [0.0, -3.0, 0.199, 120.1, f64::NAN, f64::INFINITY] {
        check_error(&changed(2, gate(20.0, 24.0, height, 90.0)), &["gate 3", &low, &high]);
    }
    assert!(FlightLine::through(&changed(2, gate(20.0, 24.0, 0.2, 90.0))).is_ok());
    assert!(FlightLine::through(&changed(2, gate(20.0, 24.0, 120.0, 90.0))).is_ok());
    check_error(&changed(0, gate(f64::NAN, 24.0, 1.0, 90.0)), &["gate 1", "east", "-5000 m", "5000 m"]);
    check_error(&changed(6, gate(0.0, 5001.0, 1.0, 90.0)), &["gate 7", "north", "5001 m"]);
    check_error(&changed(4, gate(32.0, 12.0, 1.0, f64::INFINITY)), &["gate 5", "finite"]);
    let spacing = MIN_GATE_SPACING.to_string();
    let error = check_error(&changed(6, gate(4.0, 6.1, 1.5, 0.0)), &["gates 7 and 1", "0.10 m", &spacing]);
    assert!(matches!(error, CourseError::GatesTooClose { gate: 6, next: 0, .. }));
    check_error(&yard()[..1], &["1 gates", "2 to 64"]);
    check_error(&circle(50.0, GATE_COUNT.end() + 1), &["65 gates", "2 to 64"]);
    assert!(FlightLine::through(&circle(50.0, *GATE_COUNT.end())).is_ok());
    check_error(&circle(4000.0, 12), &[&MAX_LENGTH.to_string()]);
    // Straight behind one another and flown the same way: no smooth line leads back.
    check_error(&[gate(0.0, 0.0, 1.0, 0.0), gate(0.0, 9.0, 1.0, 0.0)], &["gates 2 and 1", "doubles back"]);
}

#[test]
fn a_refused_lap_names_the_range() {
    let line = line(&yard());
    let model = AttitudeModel::default();
    let good = Pace::LapTime(Seconds(14.0));
    let check = |pace: Pace, model: AttitudeModel, step: f64, wanted: &[String]| {
        let message = lap(&line, pace, model, Metres(step)).expect_err("refused").to_string();
        for part in wanted {
            assert!(message.contains(part.as_str()), "{message:?} lacks {part:?}");
        }
    };
    for step in [0.0, -1.0, 0.0099, 10.1, f64::NAN] {
        check(good, model, step, &[STEP.start().to_string(), STEP.end().to_string()]);
    }
    for seconds in [0.0, 0.49, 1801.0, f64::NAN, f64::INFINITY] {
        check(Pace::LapTime(Seconds(seconds)), model, 0.3, &[LAP_TIME.start().to_string(), LAP_TIME.end().to_string()]);
    }
    for drag in [-0.1, 1.1, f64::NAN] {
        check(good, AttitudeModel { drag_per_metre: drag }, 0.3, &["0 to 1 1/m".to_string()]);
    }
    let limits = Limits::default();
    let top = Pace::Limits(Limits { top_speed: MetresPerSecond(0.0), ..limits });
    check(top, model, 0.3, &[TOP_SPEED.start().to_string(), TOP_SPEED.end().to_string()]);
    let sideways = Pace::Limits(Limits { sideways_acceleration: MetresPerSecondSquared(201.0), ..limits });
    check(sideways, model, 0.3, &["sideways".to_string(), ACCELERATION.end().to_string()]);
    let forward = Pace::Limits(Limits { forward_acceleration: MetresPerSecondSquared(f64::NAN), ..limits });
    check(forward, model, 0.3, &["forward".to_string(), ACCELERATION.start().to_string()]);
    let long = FlightLine::through(&circle(300.0, 24)).expect("a course that can be flown");
    let message = lap(&long, good, model, *STEP.start()).expect_err("refused").to_string();
    assert!(message.contains(&MAX_SAMPLES.to_string()), "{message}");
}

/// Gates round a ring, each moved and turned at random: courses as people draw them.
fn drawn() -> impl Strategy<Value = Vec<GatePose>> {
    prop::collection::vec((8.0..25.0f64, -0.2..0.2f64, 0.5..6.0f64, -0.7..0.7f64), 3..9).prop_map(|gates| {
        let count = gates.len() as f64;
        let pose = |(i, (radius, shift, height, turn)): (usize, (f64, f64, f64, f64))| {
            let bearing = (i as f64 + shift) * TAU / count;
            GatePose {
                centre: heading_direction(Radians(bearing)) * radius + Vec3::new(0.0, 0.0, height),
                heading: Radians(bearing + PI / 2.0 + turn),
            }
        };
        gates.into_iter().enumerate().map(pose).collect()
    })
}

/// Gates anywhere, biased to places and headings that line up.
fn wild() -> impl Strategy<Value = Vec<GatePose>> {
    let coordinate =
        prop_oneof![3 => -60.0..60.0f64, 2 => (-4..4i32).prop_map(|i| f64::from(i) * 3.0), 1 => -6000.0..6000.0f64];
    let height = prop_oneof![4 => 0.1..8.0f64, 2 => Just(1.0), 1 => -1.0..130.0f64];
    let heading = prop_oneof![2 => -400.0..400.0f64, 2 => (0..8i32).prop_map(|i| f64::from(i) * 45.0)];
    prop::collection::vec((coordinate.clone(), coordinate, height, heading), 2..10)
        .prop_map(|gates| gates.into_iter().map(|(x, y, z, heading)| gate(x, y, z, heading)).collect())
}

/// `image` maps the first lap's world onto the second's; `body` does the same to the body frame.
fn check_image(one: &Lap, other: &Lap, image: &Matrix3<f64>, body: &Matrix3<f64>) -> Result<(), TestCaseError> {
    prop_assert_eq!(one.samples.len(), other.samples.len());
    prop_assert!((one.duration - other.duration).0.abs() < 1e-6);
    for (a, b) in one.samples.iter().zip(&other.samples) {
        prop_assert!((a.time - b.time).0.abs() < 1e-6);
        prop_assert!((image * a.position - b.position).norm() < 1e-6);
        prop_assert!((image * a.velocity - b.velocity).norm() < 1e-5);
        prop_assert!((image * a.acceleration - b.acceleration).norm() < 1e-3);
        let wanted = image * a.attitude.matrix() * body;
        prop_assert!((wanted - b.attitude.matrix()).norm() < 1e-3);
    }
    Ok(())
}

fn image_of(gates: &[GatePose], image: &Matrix3<f64>, heading: impl Fn(f64) -> f64) -> Vec<GatePose> {
    gates
        .iter()
        .map(|gate| GatePose { centre: image * gate.centre, heading: Radians(heading(gate.heading.0)) })
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig {
        rng_seed: proptest::test_runner::RngSeed::Fixed(0x6c61_706d),
        failure_persistence: None,
        cases: 64,
        ..ProptestConfig::default()
    })]

    #[test]
    fn a_mirrored_course_gives_the_mirrored_lap(gates in drawn()) {
        let mirror = Matrix3::from_diagonal(&Vec3::new(-1.0, 1.0, 1.0));
        let left_to_right = Matrix3::from_diagonal(&Vec3::new(1.0, -1.0, 1.0));
        let pace = Pace::Limits(Limits::default());
        let mirrored = image_of(&gates, &mirror, |heading| -heading);
        if let (Ok(one), Ok(other)) = (FlightLine::through(&gates), FlightLine::through(&mirrored)) {
            let fly = |line| lap(line, pace, AttitudeModel::default(), Metres(0.31)).expect("within the limits");
            check_image(&fly(&one), &fly(&other), &mirror, &left_to_right)?;
        }
    }

    #[test]
    fn a_rotated_course_gives_the_rotated_lap(gates in drawn(), angle in -7.0..7.0f64) {
        // Clockwise from above, as headings run.
        let turn = Rotation3::from_axis_angle(&Vec3::z_axis(), -angle).into_inner();
        let pace = Pace::LapTime(Seconds(12.0));
        let rotated = image_of(&gates, &turn, |heading| heading + angle);
        if let (Ok(one), Ok(other)) = (FlightLine::through(&gates), FlightLine::through(&rotated)) {
            let fly = |line| lap(line, pace, AttitudeModel::default(), Metres(0.31)).expect("within the limits");
            let (one, other) = (fly(&one), fly(&other));
            // The number of samples may differ by one where the length is a whole number of steps to the last bit.
            prop_assume!(one.samples.len() == other.samples.len());
            check_image(&one, &other, &turn, &Matrix3::identity())?;
        }
    }

    #[test]
    fn courses_as_people_draw_them_can_be_flown(gates in drawn()) {
        prop_assert!(FlightLine::through(&gates).is_ok(), "{:?}", FlightLine::through(&gates).err());
    }

    #[test]
    fn no_gates_give_a_panic_or_a_number_that_is_none(gates in wild(), step in 0.05..12.0f64, limited: bool) {
        let Ok(line) = FlightLine::through(&gates) else { return Ok(()) };
        let pace = if limited { Pace::Limits(Limits::default()) } else { Pace::LapTime(Seconds(30.0)) };
        let Ok(lap) = lap(&line, pace, AttitudeModel::default(), Metres(step)) else { return Ok(()) };
        let lowest = gates.iter().map(|gate| gate.centre.z).fold(f64::INFINITY, f64::min);
        let mut sum = 0.0;
        for sample in &lap.samples {
            let numbers = [sample.time.0, sample.distance.0, sample.duration.0];
            prop_assert!(numbers.iter().all(|number| number.is_finite() && *number >= 0.0), "{:?}", sample);
            prop_assert!(sample.duration.0 > 0.0);
            for vector in [sample.position, sample.velocity, sample.acceleration] {
                prop_assert!(vector.iter().all(|number| number.is_finite()), "{:?}", sample);
            }
            let matrix = sample.attitude.matrix();
            prop_assert!((matrix * matrix.transpose() - Matrix3::identity()).norm() < 1e-9, "{:?}", sample);
            prop_assert!(sample.position.z >= lowest - 1e-9, "{:?}", sample);
            sum += sample.duration.0;
        }
        prop_assert!((sum / lap.duration.0 - 1.0).abs() < 1e-9);
    }
}
