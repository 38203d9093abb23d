//! What obstacles leave of a path: published and computed screen values through the whole obstruction, and the properties
//! that any site must have.

use lapmargin::rf::Vec3;
use lapmargin::rf::diffraction::{LIT_MAXIMUM, knife_edge_field, screen_field};
use lapmargin::rf::material::Material;
use lapmargin::site::{
    BounceOrder, Building, Canopy, FABRIC_WET, Ground, Layer, Obstacle, Panel, Paths, PlanPoint, Scene, Site, Tree,
    TunedScene, Wall, Way,
};
use lapmargin::units::{Db, Hertz, Metres};
use proptest::prelude::*;

const CARRIER: Hertz = Hertz(5.8e9);

fn scene(obstacles: Vec<Obstacle>) -> Scene {
    prepared(obstacles, Hertz(5.6e9))
}

fn prepared(obstacles: Vec<Obstacle>, lowest: Hertz) -> Scene {
    let ground = Ground { material: Material::MediumDryGround, roughness: Metres(0.0) };
    Scene::new(&Site { ground, obstacles }, lowest).expect("the site is possible")
}

fn metal() -> Layer {
    Layer { material: Material::Metal, thickness: Metres(0.01) }
}

fn tuned(scene: &Scene) -> TunedScene<'_> {
    scene.tuned(CARRIER).expect("the materials have properties at the carrier")
}

/// Loss of the direct path, dB.
fn loss(scene: &Scene, from: Vec3, to: Vec3) -> f64 {
    -20.0 * libm::log10(amplitude(scene, &from, &to))
}

fn amplitude(scene: &Scene, from: &Vec3, to: &Vec3) -> f64 {
    direct(&tuned(scene), from, to, &mut Paths::new())
}

fn direct(carrier: &TunedScene, from: &Vec3, to: &Vec3, paths: &mut Paths) -> f64 {
    carrier.scene().trace(from, to, BounceOrder::Direct, paths);
    carrier.path_amplitude(&paths.get(0).expect("the ends are apart"))
}

/// The height at which the ray of the checks below runs: high enough for any screen to stand above ground.
const RAY: f64 = 20.0;

fn ends(distance: f64) -> (Vec3, Vec3) {
    (Vec3::new(0.0, 0.0, RAY), Vec3::new(distance, 0.0, RAY))
}

/// A free metal rectangle across the ray, edges relative to the ray.
fn rectangle(at: f64, x: (f64, f64), z: (f64, f64)) -> Obstacle {
    Obstacle::Panel(Panel {
        corner: Vec3::new(at, x.0, RAY + z.0),
        side: Vec3::new(0.0, x.1 - x.0, 0.0),
        other_side: Vec3::new(0.0, 0.0, z.1 - z.0),
        layer: metal(),
    })
}

/// A metal wall across the ray, from the ground to `top` above the ray.
fn wall(at: f64, x: (f64, f64), top: f64) -> Obstacle {
    Obstacle::Wall(Wall {
        from: PlanPoint::new(at, x.0),
        to: PlanPoint::new(at, x.1),
        base: Metres(0.0),
        top: Metres(RAY + top),
        layer: metal(),
    })
}

fn block(from: (f64, f64), to: (f64, f64), height: f64, layer: Layer) -> Obstacle {
    let footprint = vec![
        PlanPoint::new(from.0, from.1),
        PlanPoint::new(to.0, from.1),
        PlanPoint::new(to.0, to.1),
        PlanPoint::new(from.0, to.1),
    ];
    Obstacle::Building(Building { footprint, height: Metres(height), layer })
}

/// Wide enough for its side edges not to matter.
const WIDE: (f64, f64) = (-4900.0, 4900.0);

#[test]
fn rectangular_screens_lose_what_the_aperture_integral_says() {
    // Rectangular screens by ITU-R P.526-16, section 5.2, computed with scipy's Fresnel integrals and within 0.02 dB of a
    // two-dimensional Kirchhoff integral; 5.8 GHz. Edges relative to the ray (x, z) and distances to the ends, metres.
    let checks = [
        ((-0.15, 0.15), (-1.2, 0.5), 5.0, 45.0, 4.312),
        ((-0.15, 0.15), (-1.5, 0.2), 25.0, 25.0, 1.185),
        ((-3.0, 3.0), (-1.2, 1.8), 25.0, 25.0, 19.579),
        ((-2.4, 2.4), (-1.0, 0.4), 10.0, 40.0, 9.482),
    ];
    for (x, z, before, after, expected) in checks {
        let (from, to) = ends(before + after);
        let scene = scene(vec![rectangle(before, x, z)]);
        for (from, to) in [(from, to), (to, from)] {
            let got = loss(&scene, from, to);
            assert!((got - expected).abs() < 0.01, "{x:?} {z:?} {before}/{after}: {got} not {expected}");
        }
    }
}

#[test]
fn a_wide_wall_is_a_single_edge() {
    // Single edge, exact: ITU-R P.526-16, eq. (30), computed with scipy and mpmath.
    let checks = [
        (0.0, 6.0206),
        (0.5, 10.2338),
        (1.0, 13.8641),
        (1.5, 16.7773),
        (2.0, 19.0910),
        (3.0, 22.5218),
        (5.0, 26.9362),
        (-0.25, 3.8701),
        (-0.5, 1.8586),
        (-0.78, -0.0111),
        (-1.0, -1.0010),
        (-1.2247, -1.3681),
        (-2.0, 0.7366),
    ];
    let (from, to) = ends(50.0);
    let wavelength = 299_792_458.0 / CARRIER.0;
    for (nu, expected) in checks {
        let height = nu / (2.0 / wavelength * (2.0 / 25.0f64)).sqrt();
        let got = loss(&scene(vec![wall(25.0, WIDE, height)]), from, to);
        assert!((got - expected).abs() < 0.01, "nu {nu}: {got} not {expected}");
    }
}

#[test]
fn a_wall_on_the_ground_is_a_screen_without_a_lower_edge() {
    let (from, to) = ends(30.0);
    let wavelength = 299_792_458.0 / CARRIER.0;
    for (x, top) in [((-3.0, 2.0), 0.8), ((0.3, 4.0), 1.5), ((-0.2, 0.2), 0.1), ((-6.0, -0.1), -0.2)] {
        let scale = (2.0 / wavelength * (1.0f64 / 12.0 + 1.0 / 18.0)).sqrt();
        let field = screen_field(x.0 * scale, x.1 * scale, f64::NEG_INFINITY, top * scale);
        let expected = field.norm_sqr().sqrt().min(LIT_MAXIMUM);
        let got = amplitude(&scene(vec![wall(12.0, x, top)]), &from, &to);
        assert!((got - expected).abs() < 1e-9, "{x:?} {top}: {got} not {expected}");
    }
}

/// Two edges, 5.8 GHz: a, b, c, heights above the ray, form (ii) of ITU-R P.526-16, section 4.3, and the exact double
/// integral, dB.
const TWO_EDGES: [(f64, f64, f64, [f64; 2], f64, f64); 7] = [
    (10.0, 10.0, 30.0, [1.0, 1.0], 29.415, 28.273),
    (10.0, 20.0, 20.0, [1.5, 1.2], 36.267, 35.198),
    (20.0, 5.0, 25.0, [1.0, 1.0], 24.734, 23.917),
    (15.0, 2.0, 33.0, [1.5, 1.5], 27.535, 27.403),
    (10.0, 30.0, 10.0, [2.0, 2.0], 47.949, 47.508),
    (10.0, 10.0, 30.0, [0.4, 0.4], 19.026, 18.215),
    (10.0, 20.0, 20.0, [0.0, 0.0], 10.047, 9.981),
];

#[test]
fn two_wide_walls_lose_what_two_edges_do() {
    for (a, b, c, heights, by_form, exact) in TWO_EDGES {
        let (from, to) = ends(a + b + c);
        let scene = scene(vec![wall(a, WIDE, heights[0]), wall(a + b, WIDE, heights[1])]);
        let got = loss(&scene, from, to);
        // Form (ii) is stated to be within 1.2 dB of the exact integral; where two edges are of about the same depth the
        // cascade is a mean of both ways to call one of them the main one, which may differ by as much again.
        assert!((got - exact).abs() < 2.0, "{a} {b} {c} {heights:?}: {got}, form (ii) {by_form}, exact {exact}");
    }
}

#[test]
fn a_deep_building_loses_what_its_two_edges_do() {
    for (a, b, c, heights, by_form, exact) in TWO_EDGES {
        if heights[0] != heights[1] {
            continue;
        }
        let (from, to) = ends(a + b + c);
        let building = block((a, WIDE.0), (a + b, WIDE.1), RAY + heights[0], metal());
        let got = loss(&scene(vec![building]), from, to);
        assert!((got - exact).abs() < 1.3, "{a} {b} {c} {heights:?}: {got}, form (ii) {by_form}, exact {exact}");
    }
}

#[test]
fn a_building_without_depth_is_a_wall() {
    let (from, to) = ends(50.0);
    for top in [-0.5, -0.1, 0.0, 0.1, 0.5, 2.0] {
        let thin = loss(&scene(vec![block((20.0, -2.0), (20.05, 2.0), RAY + top, metal())]), from, to);
        let flat = loss(&scene(vec![wall(20.025, (-2.0, 2.0), top)]), from, to);
        assert!((thin - flat).abs() < 0.5, "{top}: {thin} and {flat}");
    }
}

#[test]
fn what_goes_through_a_wall_adds_to_what_goes_over_it() {
    let (from, to) = ends(50.0);
    let brick = Layer { material: Material::Brick, thickness: Metres(0.22) };
    let tall = |layer: Layer| {
        Obstacle::Wall(Wall {
            from: PlanPoint::new(25.0, -800.0),
            to: PlanPoint::new(25.0, 800.0),
            base: Metres(0.0),
            top: Metres(RAY + 40.0),
            layer,
        })
    };
    // Deep behind the wall only what goes through counts: 220 mm of brick, averaged over its interference. The mean power
    // of a slab lies between its extremes, for brick about the one-way loss of the two faces and the bulk: with a face
    // reflecting 9.67 dB (0.108) and 26.09 dB/m of bulk, (1-0.108)²·0.2666 = 0.212, 6.73 dB.
    let got = loss(&scene(vec![tall(brick.clone())]), from, to);
    assert!((got - 6.73).abs() < 0.1, "{got}");
    let shadow_of = |scene: &Scene| {
        let mut paths = Paths::new();
        scene.trace(&from, &to, BounceOrder::Direct, &mut paths);
        let path = paths.get(0).expect("the ends are apart");
        tuned(scene).shadow(&path.obstructions[0])
    };
    assert_eq!(shadow_of(&scene(vec![tall(brick)])).way, Way::Through);
    let over = shadow_of(&scene(vec![wall(25.0, WIDE, 1.0)]));
    assert_eq!(over.way, Way::Over);
    // nu = sqrt 2 times the height in first Fresnel radii; F1 is 0.8038 m half way on 50 m.
    assert!((over.clearance + 1.0 / 0.8038).abs() < 1e-3, "{}", over.clearance);
    assert_eq!(shadow_of(&scene(vec![wall(25.0, (-0.2, 30.0), 8.0)])).way, Way::Round);
    let clear = shadow_of(&scene(vec![wall(25.0, WIDE, -1.2)]));
    assert_eq!(clear.way, Way::Clear);
    assert!((clear.clearance - 1.2 / 0.8038).abs() < 1e-3);
}

#[test]
fn foliage_costs_by_the_metre_and_fabric_by_the_passage() {
    let tree = Obstacle::Tree(Tree {
        centre: PlanPoint::new(10.0, 0.0),
        radius: Metres(2.0),
        base: Metres(15.0),
        top: Metres(25.0),
        loss_per_metre: Db(1.16),
        most_loss: Db(52.16),
    });
    let (from, to) = ends(50.0);
    // 4 m in ITU-R P.833-10 annex 1 eq. (1) with γ = 1.16 dB/m, A_m = 52.16 dB: 52.16 (1 - exp(-4·1.16/52.16)).
    let expected = 52.16 * (1.0 - libm::exp(-4.0 * 1.16 / 52.16));
    assert!((loss(&scene(vec![tree.clone()]), from, to) - expected).abs() < 1e-9);

    let canopy = Obstacle::Canopy(Canopy {
        footprint: [(20., -3.), (26., -3.), (26., 3.), (20., 3.)].map(|(x, y)| PlanPoint::new(x, y)).to_vec(),
        base: Metres(2.2),
        top: Metres(2.9),
        loss: FABRIC_WET,
    });
    let canopy = scene(vec![canopy]);
    let under = loss(&canopy, Vec3::new(0.0, 0.0, 1.5), Vec3::new(50.0, 0.0, 1.5));
    let over = loss(&canopy, Vec3::new(0.0, 0.0, 3.5), Vec3::new(50.0, 0.0, 3.5));
    let into = loss(&canopy, Vec3::new(0.0, 0.0, 9.0), Vec3::new(23.5, 0.0, 1.3));
    let plumb = loss(&canopy, Vec3::new(23.0, 0.0, 9.0), Vec3::new(23.0, 0.0, 1.3));
    assert_eq!((under, over), (0.0, 0.0));
    assert!((into - 2.0).abs() < 1e-9 && (plumb - 2.0).abs() < 1e-9, "{into} {plumb}");
}

/// Largest jump of the direct path's loss over a sweep, dB, and the place of it. Wherever the loss changes much over a step
/// the step is halved again and again toward the greater change: what is continuous fades away, a jump stays.
fn largest_jump(scene: &Scene, steps: u32, ends: impl Fn(f64) -> (Vec3, Vec3)) -> (f64, f64) {
    let (carrier, mut paths) = (tuned(scene), Paths::new());
    let mut at = |share: f64| {
        let (from, to) = ends(share);
        let loss = -20.0 * libm::log10(direct(&carrier, &from, &to, &mut paths));
        assert!(loss.is_finite(), "{share}: {loss}");
        loss
    };
    let mut largest = (0.0, 0.0);
    let mut before = (0.0, at(0.0));
    for step in 1..=steps {
        let share = f64::from(step) / f64::from(steps);
        let here = (share, at(share));
        if (here.1 - before.1).abs() > 0.1 {
            let (mut low, mut high) = (before, here);
            for _ in 0..30 {
                let middle = (low.0 + high.0) / 2.0;
                let middle = (middle, at(middle));
                if (middle.1 - low.1).abs() > (high.1 - middle.1).abs() {
                    high = middle;
                } else {
                    low = middle;
                }
            }
            let jump = (high.1 - low.1).abs();
            if jump > largest.0 {
                largest = (jump, share);
            }
        }
        before = here;
    }
    largest
}

fn brick() -> Layer {
    Layer { material: Material::Brick, thickness: Metres(0.22) }
}

#[test]
fn nothing_jumps_while_a_path_sweeps_past_obstacles() {
    let hall: Vec<PlanPoint> =
        [(20., 2.), (32., 2.), (32., 12.), (28., 12.), (28., 6.), (24., 6.), (24., 12.), (20., 12.)]
            .map(|(x, y)| PlanPoint::new(x, y))
            .to_vec();
    let sites: Vec<(&str, Vec<Obstacle>)> = vec![
        (
            "wall",
            vec![Obstacle::Wall(Wall {
                from: PlanPoint::new(18.0, -3.0),
                to: PlanPoint::new(24.0, 4.0),
                base: Metres(0.0),
                top: Metres(2.5),
                layer: brick(),
            })],
        ),
        (
            "hanging wall",
            vec![Obstacle::Wall(Wall {
                from: PlanPoint::new(18.0, -3.0),
                to: PlanPoint::new(24.0, 4.0),
                base: Metres(1.5),
                top: Metres(2.5),
                layer: metal(),
            })],
        ),
        ("stall", vec![block((18.0, -2.0), (21.0, 2.0), 2.6, brick())]),
        ("metal stall", vec![block((18.0, -2.0), (21.0, 2.0), 2.6, metal())]),
        (
            "hall with a yard",
            vec![Obstacle::Building(Building { footprint: hall, height: Metres(4.0), layer: brick() })],
        ),
        (
            "three stalls",
            vec![
                block((12.0, -2.0), (14.0, 1.0), 2.4, metal()),
                block((20.0, -1.0), (23.0, 3.0), 2.8, brick()),
                block((30.0, -4.0), (33.0, 0.5), 2.2, metal()),
            ],
        ),
        (
            "tree and canopy",
            vec![
                Obstacle::Tree(Tree {
                    centre: PlanPoint::new(15.0, 0.0),
                    radius: Metres(2.0),
                    base: Metres(1.5),
                    top: Metres(5.0),
                    loss_per_metre: Db(1.2),
                    most_loss: Db(30.0),
                }),
                Obstacle::Canopy(Canopy {
                    footprint: [(20., -3.), (26., -3.), (26., 3.), (20., 3.)]
                        .map(|(x, y)| PlanPoint::new(x, y))
                        .to_vec(),
                    base: Metres(2.2),
                    top: Metres(2.9),
                    loss: FABRIC_WET,
                }),
            ],
        ),
    ];
    for (name, obstacles) in sites {
        let scene = scene(obstacles);
        // Sideways, turning, rising, and an end that flies along behind and past the obstacles, a few centimetres per step.
        type Sweep = fn(f64) -> (Vec3, Vec3);
        let sweeps: [(&str, Sweep); 4] = [
            ("aside", |s| (Vec3::new(0.0, -9.0 + 18.0 * s, 1.4), Vec3::new(45.0, -8.0 + 19.0 * s, 1.9))),
            ("turning", |s| (Vec3::new(0.0, 0.3, 1.4), Vec3::new(45.0, -20.0 + 40.0 * s, 2.1))),
            ("rising", |s| (Vec3::new(0.0, 0.3, 1.3), Vec3::new(45.0, 0.9, 0.5 + 9.0 * s))),
            ("flying over", |s| (Vec3::new(0.0, 0.4, 1.3), Vec3::new(8.0 + 30.0 * s, -5.0 + 9.0 * s, 5.5))),
        ];
        for (sweep, ends) in sweeps {
            let (jump, share) = largest_jump(&scene, 1500, ends);
            assert!(jump < 0.01, "{name}, {sweep}: {jump} dB at {share}");
        }
    }
}

/// Any obstacle of a yard about the origin; ends are drawn from a wider ring, so that they do not touch it.
fn obstacles() -> impl Strategy<Value = Obstacle> {
    let layers =
        prop_oneof![Just(brick()), Just(metal()), Just(Layer { material: Material::Wood, thickness: Metres(0.02) })];
    let place = (-12.0..12.0f64, -12.0..12.0f64);
    let size = (0.3..6.0f64, 0.3..6.0f64);
    (place, size, 0.3..6.0f64, 0.0..std::f64::consts::TAU, 0..6, layers).prop_map(
        |((x, y), (width, depth), height, turn, kind, layer)| {
            let centre = PlanPoint::new(x, y);
            let (sine, cosine) = libm::sincos(turn);
            let at = |along: f64, across: f64| {
                centre + PlanPoint::new(along * cosine - across * sine, along * sine + across * cosine)
            };
            match kind {
                0 => Obstacle::Wall(Wall {
                    from: at(-width, 0.0),
                    to: at(width, 0.0),
                    base: Metres(0.0),
                    top: Metres(height),
                    layer,
                }),
                1 => Obstacle::Wall(Wall {
                    from: at(-width, 0.0),
                    to: at(width, 0.0),
                    base: Metres(height / 2.0),
                    top: Metres(height),
                    layer,
                }),
                2 => Obstacle::Building(Building {
                    footprint: vec![at(-width, -depth), at(width, -depth), at(width, depth), at(-width, depth)],
                    height: Metres(height),
                    layer,
                }),
                3 => Obstacle::Building(Building {
                    footprint: vec![
                        at(-width, -depth),
                        at(width, -depth),
                        at(width, 0.0),
                        at(0.0, 0.0),
                        at(0.0, depth),
                        at(-width, depth),
                    ],
                    height: Metres(height),
                    layer,
                }),
                4 => Obstacle::Tree(Tree {
                    centre,
                    radius: Metres(width / 2.0),
                    base: Metres(height / 3.0),
                    top: Metres(height),
                    loss_per_metre: Db(1.2),
                    most_loss: Db(30.0),
                }),
                _ => Obstacle::Panel(Panel {
                    corner: Vec3::new(x, y, height),
                    side: Vec3::new(width * cosine, width * sine, 0.0),
                    other_side: Vec3::new(-depth * sine * 0.6, depth * cosine * 0.6, depth * 0.8),
                    layer,
                }),
            }
        },
    )
}

fn mirrored(obstacle: &Obstacle) -> Obstacle {
    let plan = |point: &PlanPoint| PlanPoint::new(-point.x, point.y);
    let space = |point: &Vec3| Vec3::new(-point.x, point.y, point.z);
    match obstacle.clone() {
        Obstacle::Wall(wall) => Obstacle::Wall(Wall { from: plan(&wall.from), to: plan(&wall.to), ..wall }),
        Obstacle::Building(building) => {
            Obstacle::Building(Building { footprint: building.footprint.iter().map(plan).collect(), ..building })
        }
        Obstacle::Tree(tree) => Obstacle::Tree(Tree { centre: plan(&tree.centre), ..tree }),
        Obstacle::Panel(panel) => Obstacle::Panel(Panel {
            corner: space(&panel.corner),
            side: space(&panel.side),
            other_side: space(&panel.other_side),
            ..panel
        }),
        other => other,
    }
}

/// A point on a ring about the yard.
fn ring() -> impl Strategy<Value = Vec3> {
    (0.0..std::f64::consts::TAU, 22.0..30.0f64, 0.2..9.0f64).prop_map(|(turn, radius, height)| {
        let (sine, cosine) = libm::sincos(turn);
        Vec3::new(radius * cosine, radius * sine, height)
    })
}

/// Any point of the yard, on the ground and far up as well.
fn anywhere() -> impl Strategy<Value = Vec3> {
    let height = prop_oneof![0.01..9.0f64, Just(0.0), Just(1.0), 30.0..300.0f64];
    let plan = prop_oneof![-14.0..14.0f64, Just(0.0), Just(5.0)];
    (plan.clone(), plan, height).prop_map(|(x, y, z)| Vec3::new(x, y, z))
}

/// Length and amplitude of every path, by what it bounces off.
fn all_paths(scene: &Scene, from: &Vec3, to: &Vec3) -> Vec<(Option<Option<u16>>, f64, f64)> {
    let mut paths = Paths::new();
    scene.trace(from, to, BounceOrder::Single, &mut paths);
    let tuned = tuned(scene);
    paths
        .iter()
        // A scene for lower carriers lists bounces that are nothing at this one.
        .filter(|path| tuned.faces_amplitude(path) > 0.0)
        .map(|path| (path.bounces.first().map(|bounce| bounce.obstacle), path.length, tuned.path_amplitude(&path)))
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn swapping_the_ends_changes_no_length_and_no_loss(
        site in prop::collection::vec(obstacles(), 0..7), from in ring(), to in ring(),
    ) {
        let scene = scene(site);
        let (there, back) = (all_paths(&scene, &from, &to), all_paths(&scene, &to, &from));
        prop_assert_eq!(there.len(), back.len());
        for (one, two) in there.iter().zip(&back) {
            prop_assert_eq!(one.0, two.0);
            prop_assert!((one.1 - two.1).abs() < 1e-9);
            prop_assert!((one.2 - two.2).abs() < 1e-6, "{one:?} {two:?}");
        }
    }

    #[test]
    fn a_mirrored_site_has_the_same_losses(
        site in prop::collection::vec(obstacles(), 0..7), from in ring(), to in ring(),
    ) {
        let other_site = site.iter().map(mirrored).collect();
        let mirror = |point: &Vec3| Vec3::new(-point.x, point.y, point.z);
        let here = all_paths(&scene(site), &from, &to);
        let mut there = all_paths(&scene(other_site), &mirror(&from), &mirror(&to));
        prop_assert_eq!(here.len(), there.len());
        for one in &here {
            // The faces of one building may come in another order.
            let index = there.iter().position(|two| two.0 == one.0 && (one.1 - two.1).abs() < 1e-9
                && (one.2 - two.2).abs() < 1e-6);
            prop_assert!(index.is_some(), "{:?} is not among {:?}", one, there);
            there.swap_remove(index.unwrap_or_default());
        }
    }

    #[test]
    fn obstacles_never_lift_a_path_above_the_lit_maximum_nor_break_the_numbers(
        site in prop::collection::vec(obstacles(), 0..9), from in anywhere(), to in anywhere(),
    ) {
        let scene = scene(site);
        for (_, length, amplitude) in all_paths(&scene, &from, &to) {
            prop_assert!(length.is_finite() && (0.0..=LIT_MAXIMUM).contains(&amplitude), "{length} {amplitude}");
        }
        let mut paths = Paths::new();
        scene.trace(&from, &to, BounceOrder::Single, &mut paths);
        for path in paths.iter() {
            for obstruction in path.obstructions {
                let shadow = tuned(&scene).shadow(obstruction);
                prop_assert!(!shadow.loss.0.is_nan() && shadow.clearance.is_finite(), "{shadow:?}");
            }
        }
    }

    #[test]
    fn what_is_left_out_for_being_far_has_no_effect(
        site in prop::collection::vec(obstacles(), 0..7), from in ring(), to in ring(),
    ) {
        // Prepared for a carrier of 100 MHz the scene looks at obstacles seven times as far from the path.
        let near = all_paths(&scene(site.clone()), &from, &to);
        let far = all_paths(&prepared(site, Hertz(1e8)), &from, &to);
        prop_assert_eq!(near.len(), far.len());
        for (one, other) in near.iter().zip(&far) {
            prop_assert_eq!((one.0, one.1), (other.0, other.1));
            // Right at the rim the taper is a rounding error away from zero, on either side.
            prop_assert!((one.2 - other.2).abs() < 1e-12, "{one:?} {other:?}");
        }
    }

    #[test]
    fn a_small_step_is_a_small_change(
        site in prop::collection::vec(obstacles(), 1..5), from in ring(), to in ring(),
        step in (-1.0..1.0f64, -1.0..1.0f64, -1.0..1.0f64),
    ) {
        let scene = scene(site);
        // A tenth of a millimetre, less than a hundredth of any Fresnel radius here.
        let moved = to + Vec3::new(step.0, step.1, step.2) * 1e-4;
        let (here, there) = (amplitude(&scene, &from, &to), amplitude(&scene, &from, &moved));
        prop_assert!((here - there).abs() < 0.02, "{here} {there}");
    }
}

#[test]
fn the_ripple_beside_an_edge_ends_within_three_fresnel_radii() {
    let (from, to) = ends(50.0);
    // F1 is 0.8038 m half way.
    let at = |clearance: f64| amplitude(&scene(vec![wall(25.0, WIDE, -clearance * 0.8038)]), &from, &to);
    assert_eq!(at(3.01), 1.0);
    let field = knife_edge_field(-std::f64::consts::SQRT_2 * 1.5).norm_sqr().sqrt();
    assert!((at(1.5) - field).abs() < 1e-4);
    assert!((at(2.7) - 1.0).abs() > 1e-4);
}
