use super::*;
use crate::link::flight;
use crate::plan::demo;
use crate::plan::document::{CrowdShape, Obstacle, PacePlan, WallShape};
use crate::plan::edit::{Edit, apply};
use crate::plan::part::PlacedPart;
use crate::rf::material::Material;

/// A long oval of two gates in an empty yard, flown at 3 m, with one seat far off; 0.3 m of spread.
fn oval() -> Plan {
    let mut plan = demo();
    plan.site.obstacles.clear();
    plan.seats.truncate(1);
    plan.receivers.truncate(1);
    plan.entries.truncate(1);
    (plan.seats[0].x_m, plan.seats[0].y_m, plan.seats[0].height_m) = (1.0, 1.0, 1.2);
    plan.course.gates.truncate(2);
    for (gate, (north, heading)) in plan.course.gates.iter_mut().zip([(12.0, 90.0), (20.0, 270.0)]) {
        (gate.x_m, gate.y_m, gate.height_m, gate.heading_deg) = (22.0, north, 3.0, heading);
        gate.name = String::from("Gate");
    }
    plan.course.pace = PacePlan::LapTime { lap_time_s: 10.0 };
    plan
}

fn found(plan: &Plan) -> Vec<SafetyFinding> {
    findings(plan, &flight::fly(&plan.course).expect("it flies"))
}

fn crowd(centre_m: [f64; 2]) -> Obstacle {
    Obstacle {
        id: "crowd".to_owned(),
        name: "Crowd".to_owned(),
        shape: ObstacleShape::Crowd(CrowdShape {
            centre_m,
            size_m: [4.0, 2.0],
            turn_deg: 0.0,
            head_height_m: 1.7,
            density_per_m2: 1.0,
        }),
    }
}

fn wall(north: f64, height_m: f64) -> Obstacle {
    Obstacle {
        id: "wall".to_owned(),
        name: "Wall".to_owned(),
        shape: ObstacleShape::Wall(WallShape {
            from_m: [21.8, north],
            to_m: [22.2, north],
            height_m,
            thickness_m: 0.2,
            material: Material::Wood,
        }),
    }
}

#[test]
fn an_empty_yard_has_nothing_to_say() {
    assert_eq!(found(&oval()), []);
}

/// The line goes through (22, 12) at 3 m, by construction; a crowd's edge 4.5 m south of it is nearer than 5 m.
#[test]
fn people_nearer_than_the_distance_to_keep_are_found_with_their_place() {
    let mut plan = oval();
    plan.site.obstacles = vec![crowd([22.0, 6.5])];
    let said = found(&plan);
    assert_eq!(
        (said.len(), said[0].danger, said[0].thing, said[0].id.as_str()),
        (1, Danger::NearPeople, Thing::Obstacle, "crowd")
    );
    assert!((said[0].distance_m - 4.5).abs() < 0.02, "{said:?}");
    assert_eq!((said[0].gate, said[0].after_gate_m.abs() < 2.5), (0, true));
    assert!(said[0].sentence.contains("4.4 m from Crowd") || said[0].sentence.contains("4.5 m from Crowd"), "{said:?}");
    assert!(said[0].sentence.ends_with("people stand there; keep 5 m."), "{said:?}");
    // An aircraft strays by 0.6 m: 3.8 m are kept, 4 m are not.
    plan.rules.keep_away_m = Some(3.8);
    assert_eq!(found(&plan), []);
    plan.rules.keep_away_m = Some(4.0);
    assert_eq!(found(&plan).len(), 1);
    // A line that is flown exactly keeps them.
    plan.course.line_sigma_m = 0.0;
    assert_eq!(found(&plan), []);
}

#[test]
fn above_a_crowd_is_over_people_and_among_its_heads_is_into_them() {
    let mut plan = oval();
    plan.site.obstacles = vec![crowd([22.0, 12.0])];
    let said = found(&plan);
    assert_eq!((said[0].danger, said[0].distance_m), (Danger::OverPeople, 0.0));
    assert!(said[0].sentence.starts_with("The line passes 3.0 m up over Crowd, at gate 1"), "{said:?}");
    // Heads at 1.7 m, an aircraft of 0.2 m that strays by 0.6 m: 2.4 m is too low, however far above the heads it looks.
    for (height, danger) in [(2.4, Danger::IntoPeople), (2.6, Danger::OverPeople)] {
        plan.course.gates.iter_mut().for_each(|gate| gate.height_m = height);
        assert_eq!(found(&plan)[0].danger, danger, "{height}");
    }
}

#[test]
fn a_seat_on_the_line_is_the_worst_and_names_who_sits_there() {
    let mut plan = oval();
    plan.site.obstacles = vec![wall(12.4, 4.0)];
    (plan.seats[0].x_m, plan.seats[0].y_m) = (22.0, 11.2);
    plan.course.gates.iter_mut().for_each(|gate| gate.height_m = 1.3);
    let said = found(&plan);
    assert_eq!(said.iter().map(|found| found.danger).collect::<Vec<_>>(), [Danger::IntoPeople, Danger::IntoObstacle]);
    let seat = &said[0];
    assert_eq!((seat.thing, seat.id.as_str()), (Thing::Seat, "left"));
    // 0.8 m from the middle of the chair, and a person is 0.3 m from there to the side.
    assert!((seat.distance_m - 0.5).abs() < 0.02, "{seat:?}");
    assert!(
        seat.sentence.contains("from the chair of Linnet") && seat.sentence.contains("a person sits there"),
        "{seat:?}"
    );
    // A box on a stand is a thing, and nobody has to keep away from it.
    plan.receivers[0].place = Placement::Standing;
    let said = found(&plan);
    assert!(said.iter().all(|found| found.danger == Danger::IntoObstacle) && said.len() == 2, "{said:?}");
    plan.seats[0].y_m = 10.0;
    assert_eq!(found(&plan).len(), 1);
}

#[test]
fn a_wall_is_met_below_its_top_and_not_above() {
    let mut plan = oval();
    plan.site.obstacles = vec![wall(12.5, 3.5)];
    let said = found(&plan);
    assert_eq!((said.len(), said[0].danger), (1, Danger::IntoObstacle));
    // Half a metre to its middle, less half of its thickness.
    assert!((said[0].distance_m - 0.4).abs() < 0.03, "{said:?}");
    assert!(said[0].sentence.ends_with("an aircraft that strays by 0.6 m hits it."), "{said:?}");
    plan.site.obstacles = vec![wall(12.5, 2.0)];
    assert_eq!(found(&plan), [], "a metre above its top");
    plan.site.obstacles = vec![wall(16.0, 3.5)];
    assert_eq!(found(&plan), [], "between the two straights");
}

/// Coarse samples must not jump what stands between them.
#[test]
fn the_way_between_two_samples_is_looked_at() {
    let mut plan = oval();
    plan.site.obstacles = vec![crowd([22.0, 6.5]), wall(12.5, 3.5)];
    let fine = found(&plan);
    plan.course.step_m = 2.0;
    let coarse = found(&plan);
    assert_eq!(fine.len(), coarse.len());
    for (one, other) in fine.iter().zip(&coarse) {
        assert!(one.danger == other.danger && (one.distance_m - other.distance_m).abs() < 0.05, "{one:?} {other:?}");
    }
}

#[test]
fn a_place_is_told_by_the_nearest_gate_either_way_round() {
    assert_eq!(nearest_gate(&[0.0, 40.0], 100.0, 97.0), (0, -3.0));
    assert_eq!(nearest_gate(&[0.0, 40.0], 100.0, 43.0), (1, 3.0));
    let gates = demo().course.gates;
    assert_eq!(gate_words(&gates, 1), "gate 2 (Loft gate)");
    assert_eq!(gate_words(&gates, 30), "gate 31");
}

/// A chair may be dragged across the line: the plan is kept at every step, and the warning comes and goes.
#[test]
fn a_seat_on_the_line_is_warned_of_and_never_refused() {
    let plan = demo();
    let mut seat = plan.seats[0].clone();
    (seat.x_m, seat.y_m) = (14.4, 7.2);
    seat.height_m = 2.2;
    let dragged = apply(&plan, &Edit::Part(PlacedPart::Seat(0, seat))).expect("a drag does not stick");
    let worst = found(&dragged).remove(0);
    assert_eq!((worst.danger, worst.thing, worst.id.as_str()), (Danger::IntoPeople, Thing::Seat, "left"));
    assert!(worst.sentence.starts_with("The line runs into the chair of Linnet, at gate 1 (Start gate)"), "{worst:?}");
    assert!(found(&plan).iter().all(|found| found.danger == Danger::NearPeople), "{:?}", found(&plan));
}
