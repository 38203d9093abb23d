//! Plans at and near the limits of what a plan may hold, made of a stream of numbers: a seeded one in tests and measures, the
//! bytes of a fuzzer elsewhere. Every plan is valid, its line is free of obstacles, and its seats stand in the open.

use lapmargin::plan::convert;
use lapmargin::plan::demo::demo;
use lapmargin::plan::document::{
    AntennaKind, AntennaKit, BarrierShape, BlockShape, CanopyShape, CrowdShape, Gate, GateFrame, Obstacle,
    ObstacleShape, PacePlan, Picture, Placement, Plan, Seat, StatedHand, Switching, TreeShape, WallShape,
};
use lapmargin::plan::limits;
use lapmargin::rf::Vec3;
use lapmargin::rf::fading::Surroundings;
use lapmargin::rf::material::Material;

/// Numbers from 0 to below 1, one after the other.
pub type Stream<'a> = &'a mut dyn FnMut() -> f64;

/// How much a plan holds.
#[derive(Clone, Copy, Debug)]
pub struct Size {
    /// Length of either side of the site, metres.
    pub side_m: f64,
    pub obstacles: usize,
    pub gates: usize,
    pub entries: usize,
    /// Different places of receivers, at most as many as entries.
    pub seats: usize,
    pub ports: usize,
    /// About how many samples a lap has.
    pub samples: usize,
    /// People in all crowds together.
    pub people: f64,
}

impl Size {
    /// Everything that lengthens the work at its limit.
    pub const FULL: Self = Self {
        side_m: 160.0,
        obstacles: limits::OBSTACLES.max,
        gates: limits::GATES.max,
        entries: limits::ENTRIES.max,
        seats: limits::ENTRIES.max,
        ports: limits::PORTS.max,
        samples: 3_900,
        people: 3_900.0,
    };

    /// Each at its limit, near it, or anywhere below.
    pub fn drawn(next: Stream<'_>) -> Self {
        let mut count = |most: usize, least: usize| match next() {
            at if at < 0.3 => most,
            at if at < 0.5 => most - (next() * (most - least) as f64 / 10.0) as usize,
            _ => least + (next() * (most - least + 1) as f64) as usize,
        };
        let full = Self::FULL;
        let entries = count(full.entries, 1);
        Self {
            obstacles: count(full.obstacles, 0),
            gates: count(full.gates, 3),
            entries,
            seats: count(entries, 1),
            ports: count(full.ports, 1),
            samples: count(full.samples, 40),
            people: count(full.people as usize, 0) as f64,
            side_m: 30.0 + 220.0 * next(),
        }
    }
}

fn one_of<T: Clone>(next: Stream<'_>, from: &[T]) -> T {
    from[((next() * from.len() as f64) as usize).min(from.len() - 1)].clone()
}

fn between(next: Stream<'_>, least: f64, most: f64) -> f64 {
    least + (most - least) * next()
}

/// A plan of such a size.
pub fn plan(size: &Size, next: Stream<'_>) -> Plan {
    let mut plan = demo();
    plan.name = "At the limit".to_owned();
    plan.note.clear();
    plan.seed = (next() * 1e6) as u32;
    (plan.site.width_m, plan.site.depth_m) = (size.side_m, size.side_m);
    plan.site.surroundings = one_of(
        next,
        &[Surroundings::OpenField, Surroundings::Village, Surroundings::StreetOrSquare, Surroundings::MetalHall],
    );
    plan.site.k_db = one_of(next, &[None, None, None, Some(limits::SCATTER_K_DB.max)]);
    plan.site.ground = one_of(next, &[Material::MediumDryGround, Material::Concrete, Material::Metal]);
    fly(&mut plan, size, next);
    let line = line(&plan);
    seat(&mut plan, size, &line, next);
    furnish(&mut plan, size, &line, next);
    equip(&mut plan, size, next);
    plan.version = plan.lowest_version();
    plan
}

/// A course round the middle of the site, in and out: gates on a rosette, too flat to fold.
fn fly(plan: &mut Plan, size: &Size, next: Stream<'_>) {
    let middle = size.side_m / 2.0;
    let radius = 0.36 * size.side_m;
    let wave = between(next, 0.0, 0.12);
    let framed = next() < 0.5;
    let place = |turn: f64| {
        let away = radius * (1.0 + wave * libm::sin(5.0 * turn));
        [middle + away * libm::sin(turn), middle + away * libm::cos(turn)]
    };
    let step = std::f64::consts::TAU / size.gates as f64;
    plan.course.gates = (0..size.gates)
        .map(|index| {
            let turn = step * index as f64;
            let ([x_m, y_m], [x, y]) = (place(turn), place(turn + 0.01));
            Gate {
                id: format!("g{index}"),
                name: format!("Gate {}", index + 1),
                x_m,
                y_m,
                height_m: between(next, 1.5, 3.5),
                heading_deg: libm::atan2(x - x_m, y - y_m).to_degrees(),
                frame: (framed && size.side_m > 60.0).then_some(GateFrame { opening_m: [2.0, 1.8], tube_m: 0.03 }),
            }
        })
        .collect();
    let gates = &plan.course.gates;
    let round = |index: usize| {
        let (from, to) = (&gates[index], &gates[(index + 1) % gates.len()]);
        libm::hypot(to.x_m - from.x_m, to.y_m - from.y_m)
    };
    let length: f64 = (0..gates.len()).map(round).sum();
    let samples = (size.samples as f64).clamp(limits::LAP_SAMPLES.min as f64, limits::LAP_SAMPLES.max as f64);
    plan.course.step_m = (length / samples).clamp(limits::STEP_M.min, limits::STEP_M.max);
    plan.course.pace = PacePlan::Limits {
        top_speed_m_per_s: between(next, 5.0, 30.0),
        sideways_m_per_s2: 20.0,
        forward_m_per_s2: 10.0,
    };
    plan.course.line_sigma_m = one_of(next, &[0.0, 0.1, 0.3, 0.6]);
    (plan.course.pad.x_m, plan.course.pad.y_m) = (middle, middle + 0.2 * size.side_m);
}

/// The flown line, every few metres.
fn line(plan: &Plan) -> Vec<Vec3> {
    let lap = convert::lap(&plan.course).expect("the rosette does not fold");
    let every = (1.0 / plan.course.step_m).ceil() as usize;
    lap.samples.iter().step_by(every.max(1)).map(|sample| sample.position).collect()
}

fn clearance(line: &[Vec3], at: [f64; 2]) -> f64 {
    line.iter().map(|place| libm::hypot(place.x - at[0], place.y - at[1])).fold(f64::INFINITY, f64::min)
}

/// Seats in the middle and outside of the course.
fn seat(plan: &mut Plan, size: &Size, line: &[Vec3], next: Stream<'_>) {
    plan.seats = (0..size.seats.max(1))
        .map(|index| {
            let mut at = [0.0; 2];
            for _ in 0..20 {
                at = [between(next, 0.02, 0.98), between(next, 0.02, 0.98)].map(|part| part * size.side_m);
                if clearance(line, at) > 2.0 {
                    break;
                }
            }
            Seat {
                id: format!("s{index}"),
                name: format!("Seat {}", index + 1),
                x_m: at[0],
                y_m: at[1],
                height_m: between(next, 1.0, 2.5),
                facing_deg: between(next, 0.0, 360.0),
            }
        })
        .collect();
}

/// Obstacles wherever there is room beside the line and the seats; their sizes shrink where there is none.
fn furnish(plan: &mut Plan, size: &Size, line: &[Vec3], next: Stream<'_>) {
    let crowds = if size.people > 0.0 { size.obstacles.min(8) } else { 0 };
    let tall = between(next, 2.0, 12.0);
    // All alike, or of every kind.
    let only = next();
    let mut seats: Vec<[f64; 2]> = plan.seats.iter().map(|seat| [seat.x_m, seat.y_m]).collect();
    seats.push([plan.course.pad.x_m, plan.course.pad.y_m]);
    plan.site.obstacles.clear();
    for index in 0..size.obstacles {
        let (mut centre, mut room) = ([0.0; 2], 0.0);
        for _ in 0..12 {
            let at = [between(next, -0.1, 1.1), between(next, -0.1, 1.1)].map(|part| part * size.side_m);
            let free = |seat: &[f64; 2]| libm::hypot(seat[0] - at[0], seat[1] - at[1]) - 0.7;
            let near = seats.iter().map(free).fold(clearance(line, at) - 1.0, f64::min);
            if near > room {
                (centre, room) = (at, near);
            }
            if room > 3.0 {
                break;
            }
        }
        if room < 0.3 {
            continue;
        }
        let radius = room.min(between(next, 1.5, 6.0));
        let kind = if index < crowds {
            6
        } else if only < 0.4 {
            0
        } else {
            (next() * 6.0) as usize
        };
        let people = size.people / crowds.max(1) as f64;
        let shape = shape(kind, centre, radius, (tall, people), next);
        plan.site.obstacles.push(Obstacle { id: format!("o{index}"), name: format!("Thing {}", index + 1), shape });
    }
}

fn shape(kind: usize, centre_m: [f64; 2], radius: f64, (tall, people): (f64, f64), next: Stream<'_>) -> ObstacleShape {
    let turn_deg = between(next, -90.0, 90.0);
    // A rectangle within the circle.
    let size_m = [1.5 * radius, 1.2 * radius];
    let (sine, cosine) = libm::sincos(turn_deg.to_radians());
    let [from_m, to_m] = [-radius, radius].map(|along| [centre_m[0] + along * sine, centre_m[1] + along * cosine]);
    let material = one_of(next, &[Material::Brick, Material::Concrete, Material::Metal, Material::Wood]);
    let height_m = between(next, 0.5, 1.0) * tall;
    let block = |height_m| BlockShape { centre_m, size_m, turn_deg, height_m, thickness_m: 0.2, material };
    match kind {
        0 => ObstacleShape::Building(block(height_m)),
        1 => ObstacleShape::Stall(block(2.2)),
        2 => ObstacleShape::Wall(WallShape { from_m, to_m, height_m, thickness_m: 0.1, material }),
        3 => ObstacleShape::Canopy(CanopyShape { centre_m, size_m, turn_deg, base_m: 2.2, height_m: 2.9 }),
        4 => ObstacleShape::Tree(TreeShape {
            centre_m,
            radius_m: radius.clamp(0.2, 25.0),
            base_m: 1.0,
            height_m: 1.5 + height_m,
            loss_db_per_m: 1.0,
        }),
        5 => ObstacleShape::Barrier(BarrierShape { from_m, to_m, height_m: 1.1, covered_share: next() }),
        _ => ObstacleShape::Crowd(CrowdShape {
            centre_m,
            size_m,
            turn_deg,
            head_height_m: 1.7,
            density_per_m2: (people / (size_m[0] * size_m[1])).min(limits::CROWD_DENSITY_PER_M2.max),
        }),
    }
}

/// Entries, each with a receiver of its own.
fn equip(plan: &mut Plan, size: &Size, next: Stream<'_>) {
    let (receiver, entry) = (plan.receivers[0].clone(), plan.entries[0].clone());
    plan.receivers.clear();
    plan.entries.clear();
    for index in 0..size.entries {
        let mut receiver = receiver.clone();
        (receiver.id, receiver.name) = (format!("r{index}"), format!("Goggles {}", index + 1));
        receiver.seat = format!("s{}", index % size.seats.max(1));
        receiver.place = one_of(next, &[Placement::Worn, Placement::Standing]);
        receiver.switching = one_of(next, &[Switching::Slow, Switching::Slow, Switching::Fast]);
        let first = receiver.ports[0].clone();
        let hand = one_of(next, &[StatedHand::Right, StatedHand::Right, StatedHand::Unknown]);
        receiver.ports = (0..size.ports)
            .map(|_| {
                let mut port = first.clone();
                let kinds = [
                    AntennaKind::CircularPatch,
                    AntennaKind::CircularOmni,
                    AntennaKind::LinearPatch,
                    AntennaKind::Helix,
                    AntennaKind::Dipole,
                ];
                port.antenna = AntennaKit::of_kind(one_of(next, &kinds), hand);
                port.aim_off_deg = between(next, -60.0, 60.0);
                port.aim_up_deg = between(next, 0.0, 20.0);
                port
            })
            .collect();
        let freeze_s = one_of(next, &[0.0, 0.3]);
        if next() < 0.3 {
            receiver.picture = Picture::Digital { bandwidth_hz: 20e6, required_cn_db: None, freeze_s };
        }
        let mut entry = entry.clone();
        (entry.id, entry.name) = (format!("e{index}"), format!("Pilot {}", index + 1));
        entry.receiver.clone_from(&receiver.id);
        entry.channel_hz = one_of(next, &[1.28e9, 2.41e9, 5.65e9]) + 17e6 * index as f64;
        let kinds = [AntennaKind::CircularOmni, AntennaKind::CircularOmni, AntennaKind::Dipole, AntennaKind::Whip];
        let hands = [StatedHand::Right, StatedHand::Left, StatedHand::Unknown, StatedHand::Unknown];
        entry.radios[0].antenna = AntennaKit::of_kind(one_of(next, &kinds), one_of(next, &hands));
        entry.radios[0].power_dbm = between(next, 0.0, 30.0);
        plan.receivers.push(receiver);
        plan.entries.push(entry);
    }
}
