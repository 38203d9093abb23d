use super::*;
use crate::link::{Effort, Evaluator};
use crate::plan::demo::demo;
use crate::plan::document::{Obstacle, ObstacleShape, Plan, WallShape};
use crate::rf::material::Material;
use crate::site::BounceOrder;

/// A wall across the demo's course.
fn wall(id: &str, from_m: [f64; 2], to_m: [f64; 2]) -> Obstacle {
    let shape = WallShape { from_m, to_m, height_m: 5.0, thickness_m: 0.2, material: Material::Brick };
    Obstacle { id: id.into(), name: id.into(), shape: ObstacleShape::Wall(shape) }
}

/// The demo's course between two walls that are alike in all but their place.
fn between_like_walls() -> Plan {
    let mut plan = demo();
    let (width, depth) = (plan.site.width_m, plan.site.depth_m);
    plan.site.obstacles = vec![
        wall("north", [0.0, depth - 1.0], [width, depth - 1.0]),
        wall("south", [0.0, 1.0], [width, 1.0]),
        wall("half", [0.0, depth - 3.0], [0.5 * width, depth - 3.0]),
    ];
    plan
}

fn track(plan: &Plan, bounces: BounceOrder) -> Track {
    let effort = Effort::FULL.with_bounces(bounces);
    Evaluator::default().laps_in_time(plan, 0, effort, 0..0).expect("the entry can be judged").track().clone()
}

#[test]
fn like_walls_are_not_taken_for_each_other() {
    for bounces in [BounceOrder::Single, BounceOrder::Double] {
        let track = track(&between_like_walls(), bounces);
        let most = track.knots.iter().map(|knot| knot.strands.len()).max();
        assert!(most >= Some(4), "direct, ground and two walls at least: {most:?}");
        for (index, reach) in track.reaches.iter().enumerate() {
            let (from, to) = (&track.knots[index], &track.knots[(index + 1) % track.knots.len()]);
            let way = (to.place - from.place).norm();
            let (mut left, mut reached) = (vec![0; from.strands.len()], vec![0; to.strands.len()]);
            for joint in &reach.joints {
                match *joint {
                    Joint::Through(one, two) => {
                        left[one] += 1;
                        reached[two] += 1;
                        // A path cannot become longer than by the way flown.
                        let longer = (from.strands[one].length - to.strands[two].length).abs();
                        assert!(longer <= way * (1.0 + 1e-9), "{bounces:?}, sample {index}: {longer} m of {way} m");
                    }
                    Joint::Ends(one) => left[one] += 1,
                    Joint::Begins(two) => reached[two] += 1,
                }
            }
            let once = |counts: &[i32]| counts.iter().all(|&count| count == 1);
            assert!(once(&left) && once(&reached), "{bounces:?}, sample {index}: {left:?} {reached:?}");
        }
    }
}

#[test]
fn instants_fill_the_lap_and_every_field_has_some() {
    let track = track(&demo(), BounceOrder::Single);
    assert_eq!((track.field_starts.len(), track.field_starts[0]), (track.fields + 1, 0));
    assert_eq!(track.field_starts.last(), Some(&track.instants.len()));
    assert!((track.instants.iter().sum::<f64>() - track.duration).abs() < 1e-9);
    let counts: Vec<usize> = track.field_starts.windows(2).map(|pair| pair[1] - pair[0]).collect();
    // Rounded up in every reach, and a part of one more at either end.
    assert!(counts.iter().all(|&count| count >= INSTANTS_PER_FIELD as usize - 1), "{counts:?}");
    // A field begins between the instant before and its own first: to half of what one stands for. The first of all begins
    // half its own length after the lap does, the last stands as far across its end.
    let time = |instant: usize| 0.5 * track.instants[0] + track.instants[..instant].iter().sum::<f64>();
    for (field, &start) in track.field_starts.iter().enumerate().take(track.fields).skip(1) {
        let begins = field as f64 * track.field().0;
        let most = 0.51 * track.instants[start].max(track.instants[start - 1]);
        assert!((time(start) - begins).abs() < most, "{field}: {} {begins}", time(start));
    }
}
