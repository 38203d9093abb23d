//! Plans made of a seed, of every kind that a verdict has to hold for: the demo's course and yard stretched, emptied, walled,
//! crowded, flown at other paces and heard with other kit.

use lapmargin::plan::demo::demo;
use lapmargin::plan::document::{
    AntennaKind, AntennaKit, CanopyShape, CrowdShape, Obstacle, ObstacleShape, PacePlan, Picture, Placement, Plan,
    StatedHand, Switching, WallShape,
};
use lapmargin::rf::fading::Surroundings;
use lapmargin::rf::material::Material;
use lapmargin::rf::random::{Random, seed_of};

/// A plan and the words of what is special in it, to group results by.
pub struct SeededPlan {
    pub plan: Plan,
    /// Words that hold for all entries.
    pub words: Vec<String>,
    /// Words of each entry.
    pub entries: Vec<Vec<String>>,
}

/// One of several, each as likely.
fn one_of<T: Clone>(random: &mut Random, from: &[T]) -> T {
    from[random.below(from.len())].clone()
}

fn between(random: &mut Random, least: f64, most: f64) -> f64 {
    least + (most - least) * random.uniform()
}

/// The plan of a seed.
pub fn seeded_plan(seed: u64) -> SeededPlan {
    let mut random = Random::new(seed_of(&[seed, 0x7961_7264]));
    let mut plan = demo();
    let mut words = Vec::new();
    plan.seed = u32::try_from(seed % 100_000).expect("below a hundred thousand");
    let scale = one_of(&mut random, &[0.8, 1.0, 1.0, 2.0, 5.0]);
    stretch(&mut plan, scale);
    words.push(format!("size {scale}"));
    words.push(furnish(&mut random, &mut plan, scale));
    let height = between(&mut random, 1.0, 3.5);
    plan.course.gates.iter_mut().for_each(|gate| gate.height_m = height);
    let speed = one_of(&mut random, &[0.7, 2.0, 4.0, 8.0, 12.0, 15.0, 25.0]);
    plan.course.pace = PacePlan::Limits { top_speed_m_per_s: speed, sideways_m_per_s2: 16.0, forward_m_per_s2: 8.0 };
    words.push(format!("pace {speed}"));
    plan.course.line_sigma_m = one_of(&mut random, &[0.0, 0.05, 0.15, 0.3, 0.3, 0.6]);
    words.push(format!("sigma {}", plan.course.line_sigma_m));
    plan.course.step_m *= scale.min(2.0);
    let band = one_of(&mut random, &[1.28e9, 2.41e9, 5.75e9, 5.75e9]);
    words.push(format!("band {:.1}", band / 1e9));
    plan.site.surroundings = one_of(
        &mut random,
        &[
            Surroundings::OpenField,
            Surroundings::Village,
            Surroundings::StreetOrSquare,
            Surroundings::TallBlocks,
            Surroundings::Hall,
            Surroundings::MetalHall,
        ],
    );
    words.push(format!("{:?}", plan.site.surroundings));
    let mut entries = Vec::new();
    for index in 0..plan.entries.len() {
        plan.entries[index].channel_hz = band + 40e6 * index as f64;
        entries.push(equip(&mut random, &mut plan, index));
    }
    SeededPlan { plan, words, entries }
}

/// Everything on the ground farther apart.
fn stretch(plan: &mut Plan, scale: f64) {
    plan.site.width_m *= scale;
    plan.site.depth_m *= scale;
    let place = |at: &mut [f64; 2]| at.iter_mut().for_each(|part| *part *= scale);
    for obstacle in &mut plan.site.obstacles {
        match &mut obstacle.shape {
            ObstacleShape::Wall(wall) => {
                place(&mut wall.from_m);
                place(&mut wall.to_m);
            }
            ObstacleShape::Barrier(barrier) => {
                place(&mut barrier.from_m);
                place(&mut barrier.to_m);
            }
            ObstacleShape::Building(block) | ObstacleShape::Stall(block) => place(&mut block.centre_m),
            ObstacleShape::Canopy(canopy) => place(&mut canopy.centre_m),
            ObstacleShape::Tree(tree) => place(&mut tree.centre_m),
            ObstacleShape::Crowd(crowd) => place(&mut crowd.centre_m),
        }
    }
    for gate in &mut plan.course.gates {
        gate.x_m *= scale;
        gate.y_m *= scale;
    }
    plan.course.pad.x_m *= scale;
    plan.course.pad.y_m *= scale;
    for seat in &mut plan.seats {
        seat.x_m *= scale;
        seat.y_m *= scale;
    }
}

/// What stands in the yard.
fn furnish(random: &mut Random, plan: &mut Plan, scale: f64) -> String {
    let obstacle = |id: &str, shape: ObstacleShape| Obstacle { id: id.to_owned(), name: id.to_owned(), shape };
    let wall = |id: &str, at: f64, material: Material| {
        obstacle(
            id,
            ObstacleShape::Wall(WallShape {
                from_m: [1.0, at * scale],
                to_m: [43.0 * scale, at * scale],
                height_m: 5.0,
                thickness_m: 0.2,
                material,
            }),
        )
    };
    let material = one_of(random, &[Material::Brick, Material::Concrete, Material::Metal]);
    match random.below(5) {
        0 => {
            plan.site.obstacles.clear();
            "yard open".to_owned()
        }
        1 => {
            plan.site.obstacles = vec![wall("north", 26.0, material)];
            "yard wall".to_owned()
        }
        2 => {
            plan.site.obstacles = vec![wall("north", 26.0, material), wall("south", 0.6, material)];
            "yard walls".to_owned()
        }
        3 => {
            let mut crowd = CrowdShape {
                centre_m: [20.0, 6.0],
                size_m: [24.0, 2.0],
                turn_deg: 0.0,
                head_height_m: 1.7,
                density_per_m2: between(random, 0.2, 2.0),
            };
            crowd.centre_m.iter_mut().for_each(|part| *part *= scale);
            let canopy = CanopyShape {
                centre_m: [9.0 * scale, 2.6 * scale],
                size_m: [6.0, 3.0],
                turn_deg: 0.0,
                base_m: 2.2,
                height_m: 2.9,
            };
            plan.site.obstacles =
                vec![obstacle("people", ObstacleShape::Crowd(crowd)), obstacle("roof", ObstacleShape::Canopy(canopy))];
            "yard crowd".to_owned()
        }
        _ => "yard demo".to_owned(),
    }
}

/// The kit of an entry, in words.
fn equip(random: &mut Random, plan: &mut Plan, index: usize) -> Vec<String> {
    let mut words = Vec::new();
    let kinds = [
        AntennaKind::CircularOmni,
        AntennaKind::CircularOmni,
        AntennaKind::CircularOmni,
        AntennaKind::Dipole,
        AntennaKind::Whip,
    ];
    let hands = [StatedHand::Right, StatedHand::Right, StatedHand::Left, StatedHand::Unknown];
    let (kind, hand) = (one_of(random, &kinds), one_of(random, &hands));
    plan.entries[index].radios[0].antenna = AntennaKit::of_kind(kind, hand);
    let receiver = plan.entries[index].receiver.clone();
    let Some(receiver) = plan.receivers.iter_mut().find(|other| other.id == receiver) else { return words };
    receiver.place = one_of(random, &[Placement::Worn, Placement::Standing]);
    let ports = 1 + random.below(4);
    let kinds = [
        AntennaKind::CircularPatch,
        AntennaKind::CircularPatch,
        AntennaKind::CircularOmni,
        AntennaKind::LinearPatch,
        AntennaKind::Helix,
        AntennaKind::Dipole,
    ];
    let first = receiver.ports[0].clone();
    receiver.ports = (0..ports)
        .map(|_| {
            let mut port = first.clone();
            let kind = one_of(random, &kinds);
            let hand = if random.below(5) == 0 { StatedHand::Left } else { StatedHand::Right };
            port.antenna = AntennaKit::of_kind(kind, hand);
            port.aim_off_deg = between(random, -60.0, 60.0);
            port.aim_up_deg = between(random, 0.0, 20.0);
            port
        })
        .collect();
    receiver.switching = one_of(random, &[Switching::Slow, Switching::Slow, Switching::Fast]);
    let circular = matches!(kind, AntennaKind::CircularOmni);
    words.push(
        match hand {
            _ if !circular => "linear",
            StatedHand::Right => "right",
            StatedHand::Left => "wrong hand",
            StatedHand::Unknown => "unknown hand",
        }
        .to_owned(),
    );
    words.push(format!("{ports} ports {:?}", receiver.switching));
    if random.below(3) == 0 {
        let width = one_of(random, &[5e6, 10e6, 20e6, 40e6]);
        let freeze_s = one_of(random, &[0.0, 0.1, 0.4]);
        receiver.picture = Picture::Digital { bandwidth_hz: width, required_cn_db: None, freeze_s };
        words.push(format!("digital freeze {freeze_s}"));
        words.push(format!("digital {:.0} MHz", width / 1e6));
    } else {
        words.push("analogue".to_owned());
    }
    words
}
