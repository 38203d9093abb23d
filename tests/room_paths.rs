//! Paths among walls against an independent ray tracer: up to two bounces in `tests/reference/room_paths.csv`, the sums in `room_totals.csv`; conventions and accuracy in `tests/reference/README.md`.

use std::collections::BTreeMap;

use lapmargin::rf::material::Material;
use lapmargin::rf::{SPEED_OF_LIGHT, Vec3, phasor};
use lapmargin::site::{
    BounceOrder, Ground, Layer, Obstacle, Panel, Paths, PlanPoint, Scene, Site, SlabModel, TracedPath, TunedScene, Wall,
};
use lapmargin::units::{Hertz, Metres};
use nalgebra::Matrix2;
use num_complex::Complex64;
use serde::Deserialize;

const CARRIER: Hertz = Hertz(5.8e9);
/// Accuracy of the file's gains, as a share of a path's largest entry.
const GAIN: f64 = 2e-3;
const LENGTH: f64 = 1e-5;
const DIRECTION: f64 = 1e-4;

#[derive(Deserialize)]
struct Rooms {
    scenes: BTreeMap<String, Vec<Quad>>,
}

#[derive(Deserialize)]
struct Quad {
    id: String,
    corners: [[f64; 3]; 4],
    material: Material,
    thickness_m: f64,
}

impl Quad {
    fn layer(&self) -> Layer {
        Layer { material: self.material, thickness: Metres(self.thickness_m) }
    }

    fn wall(&self) -> Obstacle {
        let [from, to, top, _] = self.corners;
        Obstacle::Wall(Wall {
            from: PlanPoint::new(from[0], from[1]),
            to: PlanPoint::new(to[0], to[1]),
            base: Metres(from[2]),
            top: Metres(top[2]),
            layer: self.layer(),
        })
    }

    fn panel(&self) -> Obstacle {
        let [corner, next, _, last] = self.corners.map(|corner| Vec3::from_row_slice(&corner));
        Obstacle::Panel(Panel { corner, side: next - corner, other_side: last - corner, layer: self.layer() })
    }
}

/// A room and the names of its obstacles.
fn room(quads: &[Quad], as_obstacle: fn(&Quad) -> Obstacle) -> (Scene, Vec<String>) {
    let ground = quads.iter().find(|quad| quad.id == "ground").expect("every room has a ground");
    let walls: Vec<&Quad> = quads.iter().filter(|quad| quad.id != "ground").collect();
    let site = Site {
        ground: Ground { material: ground.material, roughness: Metres(0.0) },
        obstacles: walls.iter().map(|quad| as_obstacle(quad)).collect(),
    };
    let names = walls.iter().map(|quad| quad.id.clone()).collect();
    (Scene::new(&site, CARRIER).expect("the room is possible"), names)
}

fn rooms(as_obstacle: fn(&Quad) -> Obstacle) -> BTreeMap<String, (Scene, Vec<String>)> {
    let rooms: Rooms = serde_json::from_str(include_str!("reference/room_scenes.json")).expect("the file is JSON");
    assert_eq!(rooms.scenes.len(), 3);
    rooms.scenes.iter().map(|(id, quads)| (id.clone(), room(quads, as_obstacle))).collect()
}

/// Theta and phi of the outward direction.
fn basis(outward: &Vec3) -> [Vec3; 2] {
    let phi = Vec3::new(-outward.y, outward.x, 0.0).normalize();
    [phi.cross(outward), phi]
}

/// `g_ab` of the file: from transmitted state b to received state a, without the carrier's phase.
fn gain(carrier: &TunedScene, path: &TracedPath) -> Matrix2<Complex64> {
    let matrix = carrier.interaction(path, SlabModel::Exact);
    let (sent, received) = (basis(&path.depart), basis(&-path.arrive));
    let size = carrier.wavelength().0 / (4.0 * std::f64::consts::PI * path.length);
    Matrix2::from_fn(|a, b| {
        let field = matrix * sent[b].map(Complex64::from);
        received[a].map(Complex64::from).dot(&field) * size
    })
}

/// Walls of the file are opaque, and its paths those of ray optics: a path that pierces a wall, or whose mirror point lies
/// beside its face, is not in it.
fn is_free(carrier: &TunedScene, path: &TracedPath) -> bool {
    path.is_of_rays() && path.obstructions.iter().all(|obstruction| carrier.shadow(obstruction).clearance >= 0.0)
}

/// The surfaces that a path bounces off, in order from the transmitting end.
fn surfaces(path: &TracedPath, names: &[String]) -> Vec<String> {
    let name = |obstacle: u16| names[usize::from(obstacle)].clone();
    path.bounces.iter().map(|bounce| bounce.obstacle.map_or("ground".to_owned(), name)).collect()
}

fn tabled_surfaces(row: &Row) -> Vec<String> {
    ["surface1", "surface2"].iter().map(|column| row[*column].clone()).filter(|name| !name.is_empty()).collect()
}

type Row = BTreeMap<String, String>;

fn rows(text: &str) -> Vec<Row> {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    let rows: Vec<Row> = reader.deserialize().map(|row| row.expect("the row has every column")).collect();
    assert!(!rows.is_empty());
    rows
}

fn number(row: &Row, column: &str) -> f64 {
    row[column].parse().unwrap_or_else(|_| panic!("{column} of {row:?} is a number"))
}

fn point(row: &Row, prefix: &str, suffix: &str) -> Vec3 {
    Vec3::new(
        number(row, &format!("{prefix}_x{suffix}")),
        number(row, &format!("{prefix}_y{suffix}")),
        number(row, &format!("{prefix}_z{suffix}")),
    )
}

fn tabled_gain(row: &Row) -> Matrix2<Complex64> {
    let entry = |name: &str| Complex64::new(number(row, &format!("g_{name}_re")), number(row, &format!("g_{name}_im")));
    Matrix2::new(entry("vv"), entry("vh"), entry("hv"), entry("hh"))
}

fn largest(matrix: &Matrix2<Complex64>) -> f64 {
    matrix.iter().map(|entry| entry.norm_sqr()).fold(0.0, f64::max).sqrt()
}

/// The rows of paths with up to so many bounces, by geometry.
fn geometries(most_bounces: f64) -> BTreeMap<String, Vec<Row>> {
    let mut geometries: BTreeMap<String, Vec<Row>> = BTreeMap::new();
    for row in rows(include_str!("reference/room_paths.csv")) {
        if number(&row, "order") <= most_bounces {
            geometries.entry(row["geometry_id"].clone()).or_default().push(row);
        }
    }
    geometries
}

#[track_caller]
fn check_paths(as_obstacle: fn(&Quad) -> Obstacle, order: BounceOrder, swapped: bool) {
    let rooms = rooms(as_obstacle);
    // 20 geometries with a direct path each, 54 paths of one bounce and 56 of two, counted in the file.
    let (most_bounces, count_column, total) =
        if order == BounceOrder::Double { (2.0, "n_paths_depth2", 130) } else { (1.0, "n_paths_depth1", 74) };
    let geometries = geometries(most_bounces);
    let mut paths = Paths::new();
    let mut checked = 0;
    for (id, rows) in &geometries {
        let (scene, names) = &rooms[&rows[0]["scene_id"]];
        let carrier = scene.tuned(CARRIER).expect("the materials have properties at the carrier");
        let (tx, rx) = (point(&rows[0], "tx", "_m"), point(&rows[0], "rx", "_m"));
        let (from, to) = if swapped { (rx, tx) } else { (tx, rx) };
        scene.trace(&from, &to, order, &mut paths);
        let found: Vec<TracedPath> = paths.iter().filter(|path| is_free(&carrier, path)).collect();
        assert_eq!(
            found.len(),
            rows.len(),
            "{id}: paths off {:?}",
            found.iter().map(|path| surfaces(path, names)).collect::<Vec<_>>()
        );
        assert_eq!(number(&rows[0], count_column) as usize, rows.len(), "{id}: the file lists all");
        for row in rows {
            let path = found
                .iter()
                .find(|path| {
                    let mut off = surfaces(path, names);
                    if swapped {
                        off.reverse();
                    }
                    off == tabled_surfaces(row)
                })
                .unwrap_or_else(|| panic!("{id}: no path off {:?}", tabled_surfaces(row)));
            let context = format!("{id} off {:?}", tabled_surfaces(row));
            let expected = number(row, "length_m");
            assert!((path.length - expected).abs() < LENGTH, "{context}: length {} not {expected}", path.length);
            let legs: f64 = path.points().zip(path.points().skip(1)).map(|(one, two)| (two - one).norm()).sum();
            assert!((legs - path.length).abs() < 1e-9, "{context}: the legs are {legs} long");
            let (leaving, arriving) = if swapped { (-path.arrive, path.depart) } else { (path.depart, -path.arrive) };
            assert!((leaving - point(row, "depart", "")).norm() < DIRECTION, "{context}: leaves by {leaving}");
            assert!((arriving - point(row, "toward_last", "")).norm() < DIRECTION, "{context}: comes from {arriving}");
            let gain = gain(&carrier, path);
            let gain = if swapped { gain.transpose() } else { gain };
            let expected = tabled_gain(row);
            let difference = largest(&(gain - expected)) / largest(&expected);
            assert!(difference < GAIN, "{context}: {gain} not {expected}, off by {difference}");
            checked += 1;
        }
    }
    assert_eq!(checked, total);
}

#[test]
fn walls_give_the_paths_of_an_independent_tracer() {
    check_paths(Quad::wall, BounceOrder::Single, false);
    check_paths(Quad::wall, BounceOrder::Double, false);
}

#[test]
fn panels_give_the_same_paths_as_walls() {
    check_paths(Quad::panel, BounceOrder::Double, false);
}

#[test]
fn swapped_ends_give_the_same_paths_backwards() {
    check_paths(Quad::wall, BounceOrder::Double, true);
}

/// What the file's sums are made of.
const STATES: [(&str, [Complex64; 2], [Complex64; 2]); 4] = {
    let zero = Complex64::new(0.0, 0.0);
    let one = Complex64::new(1.0, 0.0);
    let half = Complex64::new(std::f64::consts::FRAC_1_SQRT_2, 0.0);
    let right = [half, Complex64::new(0.0, -std::f64::consts::FRAC_1_SQRT_2)];
    let left = [half, Complex64::new(0.0, std::f64::consts::FRAC_1_SQRT_2)];
    // Name, received state, transmitted state; a column "rl" is right transmitted, left received.
    [("vv", [one, zero], [one, zero]), ("hh", [zero, one], [zero, one]), ("rr", right, right), ("rl", left, right)]
};

#[test]
fn sums_over_the_paths_agree_for_every_state() {
    let rooms = rooms(Quad::wall);
    let geometries = geometries(2.0);
    let mut paths = Paths::new();
    let mut checked = 0;
    for row in rows(include_str!("reference/room_totals.csv")) {
        let order = match row["max_depth"].as_str() {
            "0" => BounceOrder::Direct,
            "1" => BounceOrder::Single,
            "2" => BounceOrder::Double,
            other => panic!("no order {other:?}"),
        };
        let (scene, _) = &rooms[&row["scene_id"]];
        let carrier = scene.tuned(CARRIER).expect("the materials have properties at the carrier");
        let places = &geometries[&row["geometry_id"]];
        scene.trace(&point(&places[0], "tx", "_m"), &point(&places[0], "rx", "_m"), order, &mut paths);
        let found: Vec<TracedPath> = paths.iter().filter(|path| is_free(&carrier, path)).collect();
        assert_eq!(found.len() as f64, number(&row, "n_paths"), "{row:?}");
        let wave_number = 2.0 * std::f64::consts::PI * CARRIER.0 / SPEED_OF_LIGHT;
        for (name, received, sent) in STATES {
            let (mut field, mut power) = (Complex64::new(0.0, 0.0), 0.0);
            let (mut field_room, mut power_room) = (0.0, 0.0);
            for path in &found {
                let gain = gain(&carrier, path);
                let mut voltage = Complex64::new(0.0, 0.0);
                for (a, one) in received.iter().enumerate() {
                    for (b, other) in sent.iter().enumerate() {
                        voltage += one * gain[(a, b)] * other;
                    }
                }
                field += voltage * phasor(-wave_number * path.length);
                power += voltage.norm_sqr();
                let room = GAIN * largest(&gain);
                field_room += room;
                power_room += 2.0 * room * voltage.norm_sqr().sqrt() + room * room;
            }
            let coherent = libm::pow(10.0, number(&row, &format!("{name}_coherent_db")) / 20.0);
            let got = field.norm_sqr().sqrt();
            assert!((got - coherent).abs() <= field_room + 1e-12, "{name} of {row:?}: {got} not {coherent}");
            let powers = libm::pow(10.0, number(&row, &format!("{name}_powersum_db")) / 10.0);
            assert!((power - powers).abs() <= power_room + 1e-20, "{name} of {row:?}: {power} not {powers}");
            checked += 1;
        }
    }
    // Three depths of every geometry, four states each.
    assert_eq!(checked, 3 * 4 * geometries.len());
}
