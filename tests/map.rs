//! Maps of a site: their numbers against a lap's own evaluation and against closed forms, and what must hold for any.

use lapmargin::link::flight::{self, SamplePose};
use lapmargin::link::lap::{CarriedLap, Goal, HeardLap, hear_lap};
use lapmargin::link::map::{Map, MapError, MapHand, MapRequest, Quantity};
use lapmargin::link::place::{CROWD_DRAWS, Place};
use lapmargin::link::{Effort, Evaluator, kit, paths};
use lapmargin::plan::demo::demo;
use lapmargin::plan::document::{
    AntennaKind, AntennaKit, Obstacle, ObstacleShape, Placement, Plan, StatedHand, Switching, WallShape,
};
use lapmargin::plan::{convert, limits};
use lapmargin::rf::free_space::{basic_transmission_loss, wavenumber};
use lapmargin::rf::material::Material;
use lapmargin::rf::polarization::Hand;
use lapmargin::rf::{Vec3, phasor};
use lapmargin::site::{BounceOrder, CrowdDraws, Paths, Scene};
use lapmargin::units::{Db, Hertz, Metres, Seconds};
use nalgebra::Rotation3;

fn whole(plan: &Plan, request: &MapRequest) -> Map {
    let mut map = Evaluator::default().map(plan, request).expect("the plan can be mapped");
    while map.step(1000).is_pending() {}
    map
}

/// What a lap that stays at one place says of it, with every choice of hands, and how many draws of the crowd matter there:
/// nothing of the map's own is used.
fn hovering(plan: &Plan, entry: usize, at: &Vec3, bounces: BounceOrder) -> (Vec<HeardLap>, usize) {
    let lowest = plan.entries.iter().map(|entry| entry.channel_hz).fold(f64::INFINITY, f64::min);
    let scene = Scene::new(&convert::site(&plan.site), Hertz(lowest)).expect("the demo's site");
    let place = Place {
        crowd: CrowdDraws::new(&scene, u64::from(plan.seed), CROWD_DRAWS),
        scene,
        names: Vec::new(),
        ids: Vec::new(),
    };
    let frequency = Hertz(plan.entries[entry].channel_hz);
    let (_, seat) = kit::seating(plan, entry, &plan.entries[entry]).expect("a seat");
    let mut traced = Paths::new();
    place.scene.trace(at, &convert::seat_position(seat), bounces, &mut traced);
    let mixing = kit::mixing(plan, frequency);
    let tuned = place.scene.tuned(frequency).expect("its materials have properties there");
    let carried = [paths::carry(&place, &tuned, &traced, paths::faint(&mixing))];
    // At the lap's mean speed, halfway between away from the seat and to the left of that.
    let flight = flight::fly(&plan.course).expect("the demo's lap");
    let speed = flight.columns.length_m / flight.columns.duration_s;
    let away = (at - convert::seat_position(seat)).xy().normalize();
    let velocity = Vec3::new(away.x - away.y, away.x + away.y, 0.0) * (speed * std::f64::consts::FRAC_1_SQRT_2);
    let poses = [SamplePose { attitude: Rotation3::identity(), velocity, weight: 1.0 }];
    let shadowing = kit::shadowing(plan);
    let lap = CarriedLap { carried: &carried, poses: &poses, mixing: &mixing, shadowing, duration: Seconds(10.0) };
    let laps = kit::hand_choices(plan, entry).expect("a kit").into_iter().map(|hands| {
        let kit = kit::kit(plan, entry, hands).expect("a kit");
        hear_lap(&lap, &kit, &Goal::of(plan))
    });
    (laps.collect(), carried[0].people_cases())
}

#[test]
fn a_cell_is_what_a_lap_that_stays_there_would_be() {
    let mut plan = demo();
    plan.entries[1].radios[0].antenna.hand = StatedHand::Unknown;
    let fast = plan.entries[3].receiver.clone();
    plan.receivers.iter_mut().filter(|receiver| receiver.id == fast).for_each(|receiver| {
        receiver.switching = Switching::Fast;
    });
    let (mut compared, mut crowded) = (0, 0);
    for entry in 0..plan.entries.len() {
        for (quantity, bounces) in [
            (Quantity::Margin, BounceOrder::Single),
            (Quantity::Outage, BounceOrder::Double),
            (Quantity::Reserve, BounceOrder::Single),
        ] {
            let request =
                MapRequest { quantity, cells: 100, bounces, height: Metres(2.1), ..MapRequest::usual(&plan, entry) };
            let map = whole(&plan, &request);
            for (cell, value) in map.values().iter().enumerate() {
                let Some(value) = *value else { continue };
                let (east, north) = map.grid().centre(cell);
                let (laps, draws) = hovering(&plan, entry, &Vec3::new(east, north, 2.1), bounces);
                let of = |lap: &HeardLap| match quantity {
                    Quantity::Margin => lap.margin_p1.0,
                    Quantity::Outage => lap.together.outage[0],
                    _ => lap.reserve.0,
                };
                let worst = laps.iter().map(of).reduce(|a, b| match quantity {
                    Quantity::Outage => a.max(b),
                    _ => a.min(b),
                });
                let worst = worst.expect("an entry has a kit");
                let near = if quantity == Quantity::Margin { 0.0 } else { 1e-9 };
                assert!((value - worst).abs() <= near, "{entry} {quantity:?} cell {cell}: {value}, a lap says {worst}");
                compared += 1;
                crowded += usize::from(draws > 1);
            }
        }
    }
    assert!(compared > 900 && crowded > 100, "{compared} {crowded}");
}

#[test]
fn the_numbers_do_not_depend_on_steps_or_on_who_computes_them() {
    let plan = demo();
    for quantity in [Quantity::Reserve, Quantity::HandMatters] {
        let request = MapRequest { quantity, cells: 900, ..MapRequest::usual(&plan, 2) };
        let at_once = whole(&plan, &request);
        let bits = |values: &[Option<f64>]| -> Vec<Option<u64>> {
            values.iter().map(|value| value.map(f64::to_bits)).collect()
        };
        for budget in [1, 7, usize::MAX] {
            let mut map = Evaluator::default().map(&plan, &request).unwrap();
            let mut steps = 0;
            while map.step(budget).is_pending() {
                steps += 1;
                assert_eq!(map.progress().done, (steps * budget).min(map.grid().cells()));
            }
            assert_eq!(bits(map.values()), bits(at_once.values()), "steps of {budget}");
        }
        for workers in [2, 5] {
            let mut together = vec![None; at_once.grid().cells()];
            let mut times = vec![0; at_once.grid().cells()];
            for worker in 0..workers {
                // Each begins anew for every hundred cells, as the page's workers do.
                let mut skip = 0;
                loop {
                    let mut map = Evaluator::default().map(&plan, &request).unwrap();
                    map.take_share(worker, workers, skip);
                    let progress = map.step(100);
                    for &cell in &map.order()[skip..progress.done] {
                        together[cell as usize] = map.values()[cell as usize];
                        times[cell as usize] += 1;
                    }
                    skip = progress.done;
                    if !progress.is_pending() {
                        break;
                    }
                }
            }
            assert!(times.iter().all(|&times| times == 1), "each cell once");
            assert_eq!(bits(&together), bits(at_once.values()), "{workers} workers");
        }
    }
}

/// A bare field with upright whips at both ends, flown exactly and without scatter.
fn bare_field(ground: Material, seat_height: f64) -> Plan {
    let mut plan = demo();
    let whip = AntennaKit::of_kind(AntennaKind::Whip, StatedHand::Unknown);
    plan.site.obstacles.clear();
    plan.site.ground = ground;
    plan.site.roughness_m = 0.0;
    plan.site.k_db = Some(300.0);
    plan.course.line_sigma_m = 0.0;
    plan.entries.truncate(1);
    let entry = &mut plan.entries[0];
    entry.radios[0].antenna = whip.clone();
    entry.radios[0].mounting.lean_back_deg = 0.0;
    entry.radios[0].mounting.lean_right_deg = 0.0;
    entry.radios[0].mounting.frame_loss_db = Some(0.0);
    let receiver = plan.receivers.iter_mut().find(|receiver| receiver.id == entry.receiver).expect("a receiver");
    receiver.place = Placement::Standing;
    receiver.ports.truncate(1);
    receiver.ports[0].antenna = whip;
    receiver.ports[0].aim_up_deg = 0.0;
    plan.seats.iter_mut().for_each(|seat| seat.height_m = seat_height);
    plan
}

/// Margin less antenna gains at the horizon, of a map of [`bare_field`], with the distance on the ground to the receiver.
fn path_gains(plan: &Plan, height: f64, bounces: BounceOrder) -> Vec<(f64, f64)> {
    let request = MapRequest {
        quantity: Quantity::Margin,
        cells: 400,
        height: Metres(height),
        bounces,
        ..MapRequest::usual(plan, 0)
    };
    let map = whole(plan, &request);
    let kit = kit::kit(plan, 0, kit::hand_choices(plan, 0).expect("a kit")[0]).expect("a kit");
    let gains = kit.transmitter.peak_gain() + kit.ports[0].antenna.peak_gain().db();
    let losses = kit.transmit_feed_loss + kit.ports[0].feed_loss;
    let there = kit.power + gains.db() - losses - kit.threshold;
    let receiver = map.receiver();
    map.values()
        .iter()
        .enumerate()
        .map(|(cell, value)| {
            let (east, north) = map.grid().centre(cell);
            let distance = libm::hypot(east - receiver.0, north - receiver.1);
            (distance, value.expect("nothing is in the way") - there.0)
        })
        .collect()
}

#[test]
fn at_the_receivers_height_the_direct_path_is_free_space() {
    let plan = bare_field(Material::MediumDryGround, 2.0);
    for (distance, gain) in path_gains(&plan, 2.0, BounceOrder::Direct) {
        // ITU-R P.525: the whips stand broadside everywhere.
        let loss = basic_transmission_loss(Metres(distance), Hertz(plan.entries[0].channel_hz));
        assert!((gain + loss.0).abs() < 1e-9, "{gain} dB at {distance} m, free space {loss}");
    }
}

#[test]
fn over_metal_the_map_is_the_closed_form_of_two_rays() {
    let (seat, height) = (1.7, 2.4);
    let plan = bare_field(Material::Metal, seat);
    let frequency = Hertz(plan.entries[0].channel_hz);
    let k = wavenumber(frequency);
    let mut deepest = 0.0_f64;
    for (ground_distance, gain) in path_gains(&plan, height, BounceOrder::Single) {
        // A short upright whip has the field of a dipole moment, sin(zenith angle), and its image in a perfect mirror
        // stands the same way up (any text on antennas over ground).
        let ray = |rise: f64| {
            let length = (ground_distance * ground_distance + rise * rise).sqrt();
            let sine = ground_distance / length;
            phasor(-k * length) * (sine * sine / length)
        };
        let sum = (ray(height - seat) + ray(height + seat)) * ground_distance;
        let expected = sum.norm_sqr().sqrt();
        deepest = deepest.min(expected);
        // The whips' field at one metre is a(1 m) = 1 / 2k. What is left is the metal's finite conductivity.
        let field = Db(gain).amplitude() * 2.0 * k * ground_distance;
        assert!((field - expected).abs() < 0.03, "{field} at {ground_distance} m, two rays {expected}");
    }
    assert!(deepest < 0.5, "the cells lie on lobes and in nulls, down to {deepest}");
}

fn hand_map(plan: &Plan) -> Map {
    let request = MapRequest { quantity: Quantity::HandMatters, cells: 2000, ..MapRequest::usual(plan, 0) };
    whole(plan, &request)
}

#[test]
fn the_hand_matters_in_the_open_and_hardly_before_a_great_metal_wall() {
    // Steep bounces off metal turn the hand over: before the wall the crossed antenna hears the wall's image about as
    // well as the matched one hears the aircraft. In the open nothing but the antennas' axial ratios, scatter and a
    // grazing ground bounce, which keeps its hand, fill the crossed one.
    let mut plan = demo();
    plan.site.obstacles.clear();
    let (_, seat) = kit::seating(&plan, 0, &plan.entries[0]).unwrap();
    let (east, north) = (seat.x_m, seat.y_m);
    // The map's part straight before the seat, where both antennas and nobody's head face each other.
    let facing = convert::seat_facing(seat);
    let mean = |plan: &Plan| {
        let map = hand_map(plan);
        let values: Vec<f64> = map
            .values()
            .iter()
            .enumerate()
            .filter_map(|(cell, value)| {
                let (x, y) = map.grid().centre(cell);
                let (along, aside) =
                    ((x - east) * facing.x + (y - north) * facing.y, (y - north) * facing.x - (x - east) * facing.y);
                ((8.0..9.5).contains(&along) && aside.abs() < 2.0).then_some(*value)?
            })
            .collect();
        assert!(values.len() > 10);
        values.iter().sum::<f64>() / values.len() as f64
    };
    let open = mean(&plan);
    let (at, side) = (10.0, 20.0);
    let corner = |aside: f64| [east + at * facing.x - aside * facing.y, north + at * facing.y + aside * facing.x];
    plan.site.obstacles.push(Obstacle {
        id: "wall".into(),
        name: "Metal hoarding".into(),
        shape: ObstacleShape::Wall(WallShape {
            from_m: corner(-side),
            to_m: corner(side),
            height_m: 6.0,
            thickness_m: 0.002,
            material: Material::Metal,
        }),
    });
    let before_wall = mean(&plan);
    assert!(open > 8.0, "{open} dB in the open");
    assert!(before_wall.abs() < 4.0, "{before_wall} dB before the wall");
}

#[test]
fn turned_hands_are_those_of_the_comparison() {
    let plan = demo();
    let moth = plan.entries.iter().position(|entry| entry.name == "Moth").unwrap();
    let of = |hand| {
        let request = MapRequest { hand, cells: 100, quantity: Quantity::Margin, ..MapRequest::usual(&plan, moth) };
        whole(&plan, &request).values().to_vec()
    };
    // Moth flies a left hand before right-hand goggles.
    let (stated, left, right) =
        (of(MapHand::AsStated), of(MapHand::Turned(Some(Hand::Left))), of(MapHand::Turned(Some(Hand::Right))));
    assert_eq!(stated, left);
    let gain: f64 = right.iter().zip(&left).filter_map(|(right, left)| Some((*right)? - (*left)?)).sum();
    assert!(gain > 0.0);
    let matters = MapRequest { quantity: Quantity::HandMatters, cells: 100, ..MapRequest::usual(&plan, moth) };
    for ((right, left), matters) in right.iter().zip(&left).zip(whole(&plan, &matters).values()) {
        assert_eq!(*matters, right.zip(*left).map(|(right, left)| right - left));
    }
}

#[test]
fn there_is_no_value_in_a_building_and_none_on_the_antenna() {
    let plan = demo();
    let request = MapRequest { cells: 4000, height: Metres(1.0), ..MapRequest::usual(&plan, 0) };
    let mut map = whole(&plan, &request);
    let scene = Scene::new(&convert::site(&plan.site), Hertz(5.6e9)).unwrap();
    let mut blocked = 0;
    for (cell, value) in map.values().iter().enumerate() {
        let (east, north) = map.grid().centre(cell);
        assert_eq!(value.is_none(), scene.inside(&Vec3::new(east, north, 1.0)).is_some(), "{east} {north}");
        assert!(value.is_none_or(f64::is_finite));
        blocked += usize::from(value.is_none());
    }
    assert!(blocked > 100);
    let receiver = map.receiver();
    assert!(map.values_at(&[receiver])[0].is_some(), "the seat is higher than the aircraft");
    let seat_height = kit::seating(&plan, 0, &plan.entries[0]).unwrap().1.height_m;
    let request = MapRequest { height: Metres(seat_height), ..request };
    assert_eq!(Evaluator::default().map(&plan, &request).unwrap().values_at(&[receiver]), [None]);
}

#[test]
fn what_cannot_be_mapped_is_refused_in_a_sentence() {
    let plan = demo();
    let usual = MapRequest::usual(&plan, 0);
    let refused = |plan: &Plan, request: MapRequest| Evaluator::default().map(plan, &request).unwrap_err();
    assert_eq!(refused(&plan, MapRequest { entry: 9, ..usual }), MapError::Entry { got: 9, count: 4 });
    for got in [0, 99, 250_001, usize::MAX] {
        assert_eq!(refused(&plan, MapRequest { cells: got, ..usual }), MapError::Cells { got });
    }
    for height in [limits::GATE_HEIGHT_M.min.next_down(), 60.1, f64::NAN, f64::INFINITY] {
        let error = refused(&plan, MapRequest { height: Metres(height), ..usual });
        assert!(error.to_string().ends_with("is outside 0.2 m to 60 m"), "{error}");
    }
    let mut linear = plan.clone();
    for port in linear.receivers.iter_mut().flat_map(|receiver| &mut receiver.ports) {
        port.antenna.kind = AntennaKind::Dipole;
    }
    assert_eq!(refused(&linear, MapRequest { quantity: Quantity::HandMatters, ..usual }), MapError::NoHand);
    let mut walled = plan.clone();
    let hall = walled.site.obstacles.iter().find_map(|obstacle| match &obstacle.shape {
        ObstacleShape::Building(block) => Some(block.centre_m),
        _ => None,
    });
    let [x, y] = hall.unwrap();
    walled.seats.iter_mut().for_each(|seat| (seat.x_m, seat.y_m) = (x, y));
    assert!(refused(&walled, usual).to_string().contains("stands inside"));
    let mut nowhere = plan.clone();
    nowhere.site.width_m = f64::NAN;
    assert!(matches!(refused(&nowhere, usual), MapError::Site { .. }));
}

#[test]
fn a_course_that_cannot_be_flown_does_not_keep_a_site_from_being_mapped() {
    let mut plan = demo();
    let first = (plan.course.gates[0].x_m, plan.course.gates[0].y_m);
    plan.course.gates.iter_mut().for_each(|gate| (gate.x_m, gate.y_m) = first);
    assert!(Evaluator::default().report(&plan, Effort::FULL).entries.is_empty());
    let map = whole(&plan, &MapRequest { cells: 100, ..MapRequest::usual(&plan, 0) });
    assert!(map.values().iter().flatten().count() > 50);
}

/// An empty folder with the demo plan in it. Tests run side by side, so each has a folder of its own.
fn folder_with_the_demo(name: &str) -> std::path::PathBuf {
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).expect("a folder for tests");
    std::fs::write(folder.join("map-demo.json"), lapmargin::plan::load::save(&demo())).expect("a folder for tests");
    folder
}

/// Runs the command on the demo plan; returns whether it went well, what it printed and what it complained of.
fn command(folder: &std::path::Path, arguments: &[&str]) -> (bool, String, String) {
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_lapmargin"))
        .args(["map", "map-demo.json"])
        .args(arguments)
        .current_dir(folder)
        .output()
        .expect("the command runs");
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (output.status.success(), text(&output.stdout), text(&output.stderr))
}

#[test]
fn the_command_writes_the_same_numbers_and_a_picture() {
    let folder = folder_with_the_demo("map-written");
    let (good, said, complained) = command(
        &folder,
        &["--entry", "Moth", "--out", "map.csv", "--quantity", "margin", "--cells", "400", "--height", "2"],
    );
    assert!(good, "{complained}");
    assert!(said.starts_with("Moth, margin at 2 m, hand as stated: "), "{said}");
    let written = std::fs::read_to_string(folder.join("map.csv")).expect("the command wrote a table");
    let rows: Vec<&str> = written.lines().filter(|line| !line.starts_with('#')).collect();
    let plan = demo();
    let request =
        MapRequest { quantity: Quantity::Margin, cells: 400, height: Metres(2.0), ..MapRequest::usual(&plan, 2) };
    let map = whole(&plan, &request);
    assert_eq!((rows[0], rows.len()), ("east_m,north_m,margin_db", 1 + map.grid().cells()));
    for (row, value) in rows[1..].iter().zip(map.values()) {
        let last = row.rsplit(',').next().expect("a row has columns");
        // Hundredths of a decibel are written.
        let off = last.parse::<f64>().ok().zip(*value).map(|(written, value)| (written - value).abs());
        assert_eq!((off.is_some(), off.is_none_or(|off| off <= 0.005 + 1e-12)), (value.is_some(), true), "{row}");
    }
    let (good, _, complained) =
        command(&folder, &["--entry", "Linnet", "--out", "map.PNG", "--quantity", "hand", "--cells", "900"]);
    assert!(good, "{complained}");
    let file = std::fs::File::open(folder.join("map.PNG")).expect("the command wrote a picture");
    let mut reader = png::Decoder::new(std::io::BufReader::new(file)).read_info().expect("it is a picture");
    let mut pixels = vec![0; reader.output_buffer_size().expect("a small one")];
    reader.next_frame(&mut pixels).expect("all of it is there");
    let inked = pixels.iter().filter(|&&grey| grey == 0).count();
    assert!((0.02..0.5).contains(&(inked as f64 / pixels.len() as f64)), "{inked} of {}", pixels.len());
}

#[test]
fn the_command_refuses_in_a_sentence() {
    let folder = folder_with_the_demo("map-refused");
    for (arguments, part) in [
        (["--entry", "Moth", "--out", "map.svg"], "written as .csv or .png"),
        (["--entry", "Nobody", "--out", "map.csv"], "there are Linnet, Tansy, Moth, Bramble"),
        (["--entry", "Moth", "--out", "nowhere/map.csv"], "nowhere/map.csv"),
    ] {
        let (good, _, complained) = command(&folder, &arguments);
        assert!(!good && complained.contains(part), "{complained}");
    }
    let (good, _, complained) = command(&folder, &["--entry", "Moth", "--out", "map.csv", "--height", "99"]);
    assert!(!good && complained.contains("a height of 99 m is outside 0.2 m to 60 m"), "{complained}");
}
