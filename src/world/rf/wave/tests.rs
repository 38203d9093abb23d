//! Drawn waves against the conventions and closed forms of the modules they are made of.

use std::f64::consts::TAU;

use super::*;
use crate::rf::polarization::{Hand, efficiency};
use crate::rf::random::Random;

const CARRIER: Hertz = Hertz(5.8e9);

fn ellipse(hand: Hand, axial_ratio: f64, tilt: f64) -> Ellipse {
    Ellipse::new(hand, Db(axial_ratio), Degrees(tilt)).unwrap()
}

fn wall(material: Material, grazing: f64) -> Option<(Degrees, Coefficients)> {
    let wall = SideWall { material, thickness: Metres(0.2), grazing: Degrees(grazing) };
    Some((wall.grazing, wall.coefficients(CARRIER).unwrap()))
}

/// Twice the area that the field's tip sweeps in one period, positive when it turns counter-clockwise on paper with its
/// first axis to the right and its second upward.
fn swept(wave: &Wave, travelled: f64) -> f64 {
    let tip = |step: i32| wave.from_behind(travelled, Radians(TAU * f64::from(step) / 64.0));
    (0..64)
        .map(|step| {
            let ([x, y], [next_x, next_y]) = (tip(step), tip(step + 1));
            x * next_y - y * next_x
        })
        .sum()
}

/// IEEE Std 145 (the wording from memory, see the conventions of `rf`): right-hand is clockwise for someone who looks
/// along the direction of travel.
#[test]
fn a_right_hand_wave_is_drawn_clockwise_seen_along_its_travel() {
    let directions = [Vec3::x(), -Vec3::x(), Vec3::new(0.6, 0.8, 0.0), Vec3::new(-0.48, 0.6, 0.64), Vec3::z()];
    for direction in directions {
        for (axial_ratio, tilt) in [(0.0, 0.0), (3.0, 25.0), (12.0, -70.0)] {
            for travelled in [0.0, 0.3, 5.77] {
                let right = Wave::of(&ellipse(Hand::Right, axial_ratio, tilt), direction);
                let left = Wave::of(&ellipse(Hand::Left, axial_ratio, tilt), direction);
                assert!(swept(&right, travelled) < -0.1, "{direction:?} {axial_ratio} {tilt}");
                assert!(swept(&left, travelled) > 0.1, "{direction:?} {axial_ratio} {tilt}");
                // The same in space, without any frame: clockwise from behind is a right screw along the travel.
                let turn = right.at(travelled, Radians(1.0)).cross(&right.at(travelled, Radians(1.1)));
                assert!(turn.dot(&direction) > 0.0);
            }
        }
    }
}

#[test]
fn the_pattern_of_a_wave_moves_forward_and_keeps_its_shape() {
    let wave = Wave::of(&ellipse(Hand::Left, 4.0, 33.0), Vec3::new(0.6, 0.0, 0.8));
    for (travelled, phase, on) in [(0.0, 0.4, 0.25), (2.3, -1.0, 0.6)] {
        let here = wave.at(travelled, Radians(phase));
        let later = wave.at(travelled + on, Radians(phase + TAU * on));
        assert!((here - later).norm_squared() < 1e-24);
        assert!(here.dot(&wave.direction).abs() < 1e-12);
    }
    let seen = wave.ellipse().unwrap();
    assert_eq!(seen.hand, Some(Hand::Left));
    assert!((seen.axial_ratio.0 - 4.0).abs() < 1e-9 && (seen.tilt.0 - 33.0).abs() < 1e-9);
}

/// Against the closed form of the mismatch, which knows no vectors: a tilt seen from the other end changes its sign.
#[test]
fn what_is_taken_is_the_closed_form_of_the_mismatch() {
    let mut random = Random::new(5);
    for _ in 0..500 {
        let mut draw = || {
            let hand = if random.uniform() < 0.5 { Hand::Right } else { Hand::Left };
            ellipse(hand, 20.0 * random.uniform(), 180.0 * random.uniform() - 90.0)
        };
        let (sender, receiver) = (draw(), draw());
        let taken = meet(&sender, &receiver, 6.0, None).direct.taken.total().norm_sqr();
        let best = Ellipse { tilt: -receiver.tilt, ..receiver };
        assert!((taken - efficiency(&sender, &best)).abs() < 1e-12, "{sender:?} {receiver:?}");
    }
}

#[test]
fn each_hand_brings_its_part() {
    // A vertical line at the receiver takes each hand of a wave with half of its power (3.01 dB, see `polarization`).
    let upright = Ellipse::linear(Degrees(90.0));
    for hand in [Hand::Right, Hand::Left] {
        let taken = meet(&Ellipse::circular(hand), &upright, 4.0, None).direct.taken;
        let (own, other) = if hand == Hand::Right { (taken.right, taken.left) } else { (taken.left, taken.right) };
        assert!((own.norm_sqr() - 0.5).abs() < 1e-12 && other.norm_sqr() < 1e-24);
    }
    // Two lines slanted alike, each seen from its own back, stand across each other.
    let slanted = Ellipse::linear(Degrees(45.0));
    let taken = meet(&slanted, &slanted, 4.0, None).direct.taken;
    assert!(taken.total().norm_sqr() < 1e-24);
    assert!((taken.right.norm_sqr() - 0.25).abs() < 1e-12 && (taken.left.norm_sqr() - 0.25).abs() < 1e-12);
}

/// The hand changes where concrete's TM coefficient is least, at 23.55° (computed from ITU-R P.2040-4, eq. 37, by another
/// program).
#[test]
fn a_steep_bounce_turns_the_hand_over_and_a_grazing_one_does_not() {
    let right = Ellipse::circular(Hand::Right);
    let turned =
        |material, grazing| meet(&right, &right, 6.0, wall(material, grazing)).bounce.unwrap().is_turned_over();
    for grazing in [5.0, 10.0, 15.0, 23.0] {
        assert_eq!(turned(Material::Concrete, grazing), Some(false), "{grazing}");
    }
    for grazing in [24.0, 30.0, 45.0, 60.0, 70.0] {
        assert_eq!(turned(Material::Concrete, grazing), Some(true), "{grazing}");
    }
    for grazing in [5.0, 40.0, 70.0] {
        assert_eq!(turned(Material::Metal, grazing), Some(true), "{grazing}");
    }
    let upright = Ellipse::linear(Degrees(90.0));
    let bounce = meet(&upright, &right, 6.0, wall(Material::Metal, 40.0)).bounce.unwrap();
    assert_eq!(bounce.is_turned_over(), None, "a line has no hand to turn over");
}

#[test]
fn a_bounce_brings_what_the_wall_keeps_over_its_longer_way() {
    let (right, left) = (Ellipse::circular(Hand::Right), Ellipse::circular(Hand::Left));
    for grazing in [5.0, 20.0, 60.0] {
        let wall = wall(Material::Brick, grazing);
        let (_, coefficients) = wall.unwrap();
        let spread = libm::cos(Degrees(grazing).radians().0);
        let taken = |receiver: &Ellipse| meet(&right, receiver, 6.0, wall).bounce.unwrap().arrival.taken;
        let expected = coefficients.same_hand().norm_sqr() * spread * spread;
        assert!((taken(&right).right.norm_sqr() - expected).abs() < 1e-12);
        let expected = coefficients.opposite_hand().norm_sqr() * spread * spread;
        assert!((taken(&left).left.norm_sqr() - expected).abs() < 1e-12);
        // Both legs together are as long as the mirrored way, and meet where the wall is.
        let bounce = meet(&right, &right, 6.0, wall).bounce.unwrap();
        let there = bounce.at + bounce.arrival.wave.direction * bounce.arrival.leg;
        assert!((there - Vec3::x() * 6.0).norm_squared() < 1e-24);
    }
}

#[test]
fn the_sum_stays_between_its_ends_and_reaches_them() {
    let right = ellipse(Hand::Right, 2.0, 10.0);
    let (mut least, mut most) = (f64::INFINITY, 0.0_f64);
    for step in 0..2000 {
        let separation = 40.0 + f64::from(step) * 0.01;
        let meeting = meet(&right, &right, separation, wall(Material::Concrete, 20.0));
        let [low, high] = meeting.range();
        let level = meeting.total().norm_sqr();
        assert!(level >= low.ratio() - 1e-12 && level <= high.ratio() + 1e-12);
        (least, most) = (least.min(level / low.ratio()), most.max(level / high.ratio()));
    }
    assert!(least < 1.01 && most > 0.99, "{least} {most}");
    let [low, high] = meet(&right, &right, 6.0, None).range();
    assert_eq!(low, high);
}
