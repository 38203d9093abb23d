//! Paths of a site: where bounces lie, what a face may bounce, limits with metal, and what a site refuses.

use lapmargin::rf::material::Material;
use lapmargin::rf::{ComplexVec3, Vec3};
use lapmargin::site::{
    BounceOrder, Building, Crowd, CrowdDraws, DENSEST_CROWD, Ground, Layer, MOST_OBSTACLES, Obstacle, ObstacleFault,
    ObstacleKind, PERSON_HEIGHT, Paths, PlanPoint, Scene, Site, SiteError, SlabModel, Surface, TracedPath, Wall,
};
use lapmargin::units::{Hertz, Metres};
use num_complex::Complex64;
use proptest::prelude::*;

const CARRIER: Hertz = Hertz(5.8e9);

fn ground(material: Material) -> Ground {
    Ground { material, roughness: Metres(0.0) }
}

fn build(ground: Ground, obstacles: Vec<Obstacle>) -> Result<Scene, SiteError> {
    Scene::new(&Site { ground, obstacles }, Hertz(5.6e9))
}

fn scene(obstacles: Vec<Obstacle>) -> Scene {
    build(ground(Material::MediumDryGround), obstacles).expect("the site is possible")
}

fn layer(material: Material) -> Layer {
    Layer { material, thickness: Metres(0.1) }
}

fn wall(from: (f64, f64), to: (f64, f64), top: f64, material: Material) -> Obstacle {
    Obstacle::Wall(Wall {
        from: PlanPoint::new(from.0, from.1),
        to: PlanPoint::new(to.0, to.1),
        base: Metres(0.0),
        top: Metres(top),
        layer: layer(material),
    })
}

fn building(corners: &[(f64, f64)], height: f64) -> Obstacle {
    Obstacle::Building(Building {
        footprint: corners.iter().map(|&(x, y)| PlanPoint::new(x, y)).collect(),
        height: Metres(height),
        layer: layer(Material::Brick),
    })
}

fn trace(scene: &Scene, from: Vec3, to: Vec3) -> Paths {
    let mut paths = Paths::new();
    scene.trace(&from, &to, BounceOrder::Single, &mut paths);
    paths
}

#[test]
fn the_ground_bounce_has_the_length_of_the_mirror_image() {
    let paths = trace(&scene(vec![]), Vec3::new(0.0, 0.0, 2.0), Vec3::new(30.0, 0.0, 1.0));
    assert_eq!(paths.len(), 2);
    let bounce = paths.get(1).expect("the ground bounces");
    // Heights 2 m and 1 m, 30 m apart: lengths √(30² + 1²) and √(30² + 3²); the bounce lies at two thirds.
    assert!((bounce.length - 909.0f64.sqrt()).abs() < 1e-12);
    assert!((paths.get(0).expect("a direct path").length - 901.0f64.sqrt()).abs() < 1e-12);
    assert!((bounce.bounces[0].point - Vec3::new(20.0, 0.0, 0.0)).norm() < 1e-12);
    assert!((bounce.bounces[0].cos_incidence - 3.0 / 909.0f64.sqrt()).abs() < 1e-12);
    assert_eq!((bounce.bounces[0].face, bounce.bounces[0].layer, bounce.bounces[0].obstacle), (0, 0, None));
    assert_eq!(bounce.bounces[0].normal, Vec3::z());
}

#[test]
fn a_wall_bounces_on_both_sides_and_only_within_its_outline() {
    let site = scene(vec![wall((-5.0, 4.0), (5.0, 4.0), 3.0, Material::Brick)]);
    let count = |from: (f64, f64, f64), to: (f64, f64, f64)| {
        trace(&site, Vec3::new(from.0, from.1, from.2), Vec3::new(to.0, to.1, to.2))
            .iter()
            .filter(TracedPath::is_of_rays)
            .count()
    };
    assert_eq!(count((-3.0, 0.0, 1.0), (3.0, 1.0, 2.0)), 3);
    assert_eq!(count((-3.0, 8.0, 1.0), (3.0, 7.0, 2.0)), 3);
    // On either side of it, in front of a part that is not there, and above its top.
    assert_eq!(count((-3.0, 0.0, 1.0), (3.0, 7.0, 2.0)), 2);
    assert_eq!(count((7.0, 0.0, 1.0), (9.0, 1.0, 2.0)), 2);
    assert_eq!(count((-3.0, 0.0, 4.0), (3.0, 1.0, 5.0)), 2);
}

#[test]
fn a_building_bounces_from_outside_only_whichever_way_its_corners_run() {
    let corners = [(-5.0, 4.0), (5.0, 4.0), (5.0, 9.0), (-5.0, 9.0)];
    let mut backwards = corners;
    backwards.reverse();
    for corners in [corners, backwards] {
        let site = scene(vec![building(&corners, 3.0)]);
        assert_eq!(site.face_count(), 5);
        let paths = trace(&site, Vec3::new(-3.0, 0.0, 1.0), Vec3::new(3.0, 1.0, 2.0));
        assert_eq!(paths.len(), 3);
        let bounce = paths.get(2).expect("the near wall bounces").bounces[0];
        assert!((bounce.normal - Vec3::new(0.0, -1.0, 0.0)).norm() < 1e-12 && bounce.obstacle == Some(0));
        // Both above: the roof bounces and the walls do not.
        let above = trace(&site, Vec3::new(-3.0, 6.0, 5.0), Vec3::new(3.0, 7.0, 4.0));
        assert_eq!(above.get(2).expect("the roof bounces").bounces[0].normal, Vec3::z());
        // Both inside: no wall is hit from outside.
        assert_eq!(trace(&site, Vec3::new(-3.0, 6.0, 1.0), Vec3::new(3.0, 7.0, 2.0)).len(), 2);
        assert_eq!(site.inside(&Vec3::new(0.0, 6.0, 1.0)), Some(0));
        assert_eq!(site.inside(&Vec3::new(0.0, 6.0, 3.5)), None);
        assert_eq!(site.inside(&Vec3::new(0.0, 3.0, 1.0)), None);
    }
}

#[test]
fn a_wing_of_the_same_building_hides_a_bounce_in_its_yard() {
    // An angle: the bounce off the inner face x = 2 is free from (6, 5), but from (6, -5) the lower arm stands between.
    let site = scene(vec![building(&[(0., 0.), (10., 0.), (10., 2.), (2., 2.), (2., 10.), (0., 10.)], 6.0)]);
    let off_inner = |from: Vec3, to: Vec3| {
        trace(&site, from, to).iter().any(|path| {
            path.bounces.iter().any(|bounce| bounce.obstacle == Some(0) && (bounce.normal - Vec3::x()).norm() < 1e-9)
        })
    };
    assert!(off_inner(Vec3::new(6.0, 5.0, 1.0), Vec3::new(6.0, 8.0, 2.0)));
    assert!(!off_inner(Vec3::new(6.0, -5.0, 1.0), Vec3::new(6.0, 12.0, 2.0)));
}

#[test]
fn metal_turns_the_hand_over_whatever_the_angle() {
    // A perfect conductor: R_te = -1, R_tm = +1 (limit of the Fresnel coefficients), so a right-hand wave comes back as a
    // left-hand one of the same power. Metal of ITU-R P.2040 at 5.8 GHz reflects all but 0.002 dB at normal incidence; at
    // grazing its TM part loses a little more.
    let site = build(ground(Material::Metal), vec![wall((-50.0, 6.0), (50.0, 6.0), 9.0, Material::Metal)])
        .expect("the site is possible");
    let carrier = site.tuned(CARRIER).expect("metal has properties at the carrier");
    for x in [0.5, 4.0, 12.0, 40.0] {
        let paths = trace(&site, Vec3::new(0.0, 0.0, 2.0), Vec3::new(x, 1.0, 1.2));
        assert_eq!(paths.len(), 3);
        for path in paths.iter().skip(1) {
            let matrix = carrier.interaction(&path, SlabModel::Exact);
            let across = |direction: &Vec3| {
                let first = direction.cross(&Vec3::new(0.3, -0.5, 0.8)).normalize();
                (first, direction.cross(&first))
            };
            // (e1 - j e2)/√2 with e1 × e2 along the travel is right hand.
            let hand = |direction: &Vec3, sign: f64| -> ComplexVec3 {
                let (first, second) = across(direction);
                first.zip_map(&second, |a, b| Complex64::new(a, sign * b) * std::f64::consts::FRAC_1_SQRT_2)
            };
            let arrived = matrix * hand(&path.depart, -1.0);
            let part = |sign: f64| hand(&path.arrive, sign).map(|value| value.conj()).dot(&arrived).norm_sqr();
            assert!(part(-1.0) < 1e-4, "same hand: {}", part(-1.0));
            assert!((part(1.0) - 1.0).abs() < 2e-2, "opposite hand: {}", part(1.0));
        }
    }
}

#[test]
fn the_direct_path_keeps_the_field() {
    let site = scene(vec![]);
    let carrier = site.tuned(CARRIER).expect("the ground has properties at the carrier");
    let mut paths = Paths::new();
    site.trace(&Vec3::new(0.0, 0.0, 2.0), &Vec3::new(9.0, 1.0, 1.2), BounceOrder::Direct, &mut paths);
    assert_eq!(paths.len(), 1);
    let direct = paths.get(0).expect("a direct path");
    assert_eq!(carrier.interaction(&direct, SlabModel::Averaged), nalgebra::Matrix3::identity());
    assert_eq!(carrier.path_amplitude(&direct), 1.0);
    assert_eq!(direct.points().count(), 2);
}

#[test]
fn a_rough_ground_bounces_less() {
    let rough = Ground { material: Material::MediumDryGround, roughness: Metres(0.02) };
    let (smooth, rough) = (scene(vec![]), build(rough, vec![]).expect("the site is possible"));
    let cosine = libm::sin(10.0f64.to_radians());
    let (smooth, rough) = [smooth, rough]
        .map(|scene| {
            scene.tuned(CARRIER).expect("the ground has properties at the carrier").reflection(
                0,
                cosine,
                SlabModel::Averaged,
            )
        })
        .into();
    // Ament's factor, computed: 2 cm at 10 degrees grazing and 5.8 GHz is 0.7002.
    assert!(((rough.te / smooth.te).norm_sqr().sqrt() - 0.7002).abs() < 1e-4);
    assert!(((rough.tm / smooth.tm).norm_sqr().sqrt() - 0.7002).abs() < 1e-4);
}

#[test]
fn ends_that_coincide_or_are_no_numbers_have_no_paths() {
    let site = scene(vec![wall((-5.0, 4.0), (5.0, 4.0), 3.0, Material::Brick)]);
    let place = Vec3::new(1.0, 2.0, 1.5);
    assert!(trace(&site, place, place).is_empty());
    assert!(trace(&site, place, Vec3::new(f64::NAN, 0.0, 1.0)).is_empty());
    assert!(trace(&site, place, Vec3::new(f64::INFINITY, 0.0, 1.0)).is_empty());
    // Below ground there is no ground bounce.
    assert!(
        trace(&site, place, Vec3::new(3.0, 0.0, -1.0))
            .iter()
            .all(|path| path.bounces.iter().all(|bounce| bounce.obstacle.is_some()))
    );
}

#[test]
fn impossible_sites_are_refused_with_the_obstacle_at_fault() {
    let fault = |obstacle: Obstacle| match build(
        ground(Material::Concrete),
        vec![wall((0., 0.), (1., 0.), 2.0, Material::Wood), obstacle],
    ) {
        Err(SiteError::Obstacle { obstacle: 1, fault }) => fault,
        other => panic!("{other:?}"),
    };
    assert_eq!(fault(wall((2.0, 3.0), (2.0, 3.0), 2.0, Material::Wood)), ObstacleFault::ShortSide { got: 0.0 });
    assert_eq!(
        fault(wall((2.0, 3.0), (4.0, 3.0), 0.0, Material::Wood)),
        ObstacleFault::Heights { base: 0.0, top: 0.0 }
    );
    assert_eq!(
        fault(building(&[(0., 0.), (4., 4.), (4., 0.), (0., 4.)], 3.0)),
        ObstacleFault::SelfCrossing { first: 0, second: 2 }
    );
    let Obstacle::Wall(mut thin) = wall((0., 0.), (1., 0.), 2.0, Material::Wood) else { unreachable!() };
    thin.layer.thickness = Metres(0.0);
    assert_eq!(fault(Obstacle::Wall(thin)), ObstacleFault::Thickness { got: 0.0 });
    let crowd = |density: f64| {
        let footprint = [(0., 0.), (4., 0.), (4., 4.)].map(|(x, y)| PlanPoint::new(x, y)).to_vec();
        Obstacle::Crowd(Crowd { footprint, density, head_height: PERSON_HEIGHT })
    };
    assert!(matches!(fault(crowd(DENSEST_CROWD * 1.01)), ObstacleFault::Density { .. }));
    assert!(build(ground(Material::Concrete), vec![crowd(DENSEST_CROWD)]).is_ok());

    let many = vec![wall((0., 0.), (1., 0.), 2.0, Material::Wood); MOST_OBSTACLES + 1];
    assert_eq!(
        build(ground(Material::Concrete), many).err(),
        Some(SiteError::TooManyObstacles { got: MOST_OBSTACLES + 1 })
    );
    let uneven = Ground { material: Material::Concrete, roughness: Metres(-0.1) };
    let error = build(uneven, vec![]).expect_err("the ground is impossible");
    assert_eq!(error.to_string(), "a ground roughness of -0.1 m is outside 0 to 1 m");
    assert!(matches!(
        Scene::new(&Site { ground: ground(Material::Concrete), obstacles: vec![] }, Hertz(0.0)),
        Err(SiteError::Carrier { .. })
    ));
}

#[test]
fn surfaces_and_kinds_can_be_asked_for() {
    let brick = building(&[(0., 0.), (4., 0.), (4., 4.), (0., 4.)], 3.0);
    let site = scene(vec![brick.clone(), wall((8., 0.), (9., 0.), 2.0, Material::Brick), brick]);
    // Ground, and the one kind of wall that all three share.
    assert_eq!(site.layers().len(), 2);
    assert_eq!(site.layers()[1], Surface::Slab(layer(Material::Brick)));
    assert_eq!((site.kind(1), site.kind(3)), (Some(ObstacleKind::Wall), None));
}

#[test]
fn people_dim_a_path_through_a_crowd_and_no_other() {
    let footprint = [(10., -3.), (20., -3.), (20., 3.), (10., 3.)].map(|(x, y)| PlanPoint::new(x, y)).to_vec();
    let site = scene(vec![Obstacle::Crowd(Crowd { footprint, density: 1.0, head_height: PERSON_HEIGHT })]);
    let draws = CrowdDraws::new(&site, 3, 16);
    let wavelength = site.tuned(CARRIER).expect("the ground has properties").wavelength();
    let mut amplitudes = Vec::new();
    let low = trace(&site, Vec3::new(0.0, 0.0, 1.25), Vec3::new(30.0, 0.5, 1.3));
    draws.amplitudes(&low, (0..low.len()).map(|number| (number, false)), wavelength, &mut amplitudes);
    assert_eq!(amplitudes.len(), 16 * low.len());
    assert!(amplitudes.iter().all(|amplitude| (0.0..=1.0).contains(amplitude)));
    let mean = amplitudes.chunks(low.len()).map(|draw| draw[0] * draw[0]).sum::<f64>() / 16.0;
    // Ten metres of crowd, a person's width of the ray in three of them: several decibels, not a wall.
    assert!(mean < 0.7 && mean > 0.01, "{mean}");
    let aside = trace(&site, Vec3::new(0.0, 8.0, 1.25), Vec3::new(30.0, 8.0, 1.3));
    draws.amplitudes(&aside, (0..aside.len()).map(|number| (number, false)), wavelength, &mut amplitudes);
    assert!(amplitudes.is_empty() && !draws.touches(&aside.get(0).expect("a direct path"), wavelength));
}

proptest! {
    #[test]
    fn a_bounce_obeys_the_mirror_law(
        from in (-20.0..20.0f64, -20.0..20.0f64, 0.1..10.0f64), to in (-20.0..20.0f64, -20.0..20.0f64, 0.1..10.0f64),
        turn in 0.0..std::f64::consts::TAU,
    ) {
        let (sine, cosine) = libm::sincos(turn);
        let site = scene(vec![
            wall((-9.0 * cosine, -9.0 * sine), (9.0 * cosine, 9.0 * sine), 6.0, Material::Brick),
            building(&[(10., 2.), (14., 3.), (13., 7.), (9., 6.)], 4.0),
        ]);
        let (from, to) = (Vec3::new(from.0, from.1, from.2), Vec3::new(to.0, to.1, to.2));
        for path in trace(&site, from, to).iter() {
            let points: Vec<Vec3> = path.points().collect();
            prop_assert!((path.depart - (points[1] - points[0]).normalize()).norm() < 1e-6);
            let last = points.len() - 1;
            prop_assert!((path.arrive - (points[last] - points[last - 1]).normalize()).norm() < 1e-6);
            for bounce in path.bounces {
                let turned = bounce.incoming - bounce.normal * (2.0 * bounce.incoming.dot(&bounce.normal));
                prop_assert!((turned - path.arrive).norm() < 1e-9);
                prop_assert!((bounce.incoming.dot(&bounce.normal) + bounce.cos_incidence).abs() < 1e-9);
                // Fermat: the bounce is the shortest way by this face.
                let along = bounce.normal.cross(&Vec3::new(0.31, 0.52, -0.2)).normalize();
                for step in [along * 0.01, along * -0.01] {
                    let other = bounce.point + step;
                    prop_assert!((other - from).norm() + (to - other).norm() >= path.length - 1e-9);
                }
            }
        }
    }
}
