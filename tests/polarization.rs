//! Polarization against an independent library's table, published numbers, and properties.

use lapmargin::rf::polarization::{
    Ellipse, Hand, Jones, Spread, axial_ratio_of_discrimination, coupling, cross_polar_discrimination, efficiency,
    ellipse_of, split_hands, travel_frame, worst_isolation,
};
use lapmargin::rf::{ComplexVec3, Vec3, phasor};
use lapmargin::units::{Db, Degrees};
use num_complex::Complex64;
use proptest::prelude::*;

fn ellipse(hand: &str, axial_ratio: f64, tilt: f64) -> Ellipse {
    match hand {
        "R" => Ellipse::new(Hand::Right, Db(axial_ratio), Degrees(tilt)).expect("a possible ellipse"),
        "L" => Ellipse::new(Hand::Left, Db(axial_ratio), Degrees(tilt)).expect("a possible ellipse"),
        "lin" => Ellipse::linear(Degrees(tilt)),
        other => panic!("no hand is called {other}"),
    }
}

/// Every row of `polarisation_mismatch.csv` (pypolar; good to 1e-12, tested to 1e-9), by the closed form and by the vectors.
#[test]
fn every_row_of_the_mismatch_table() {
    let text = include_str!("reference/polarisation_mismatch.csv");
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    let mut rows = 0;
    for record in reader.records() {
        let record = record.unwrap();
        let number = |column: usize| record[column].parse::<f64>().unwrap();
        let wave = ellipse(&record[1], number(0), number(2));
        let received = ellipse(&record[4], number(3), number(5));
        for (way, got, expected) in [
            ("closed form", efficiency(&wave, &received), number(6)),
            ("vectors", coupling(&wave.jones(), &received.jones()), number(6)),
            ("right share sent", wave.right_hand_share(), number(8)),
            ("right share received", received.right_hand_share(), number(9)),
            ("right share of the vector", wave.jones().hands().0.norm_sqr(), number(8)),
        ] {
            assert!((got - expected).abs() <= 1e-9, "{way} {record:?}: {got} {expected}");
        }
        let decibels = Db::from_ratio(efficiency(&wave, &received)).0.max(-300.0);
        if number(7) > -100.0 {
            assert!((decibels - number(7)).abs() < 1e-6, "{record:?}: {decibels}");
        }
        rows += 1;
    }
    assert_eq!(rows, 314);
}

fn loss(ratio: f64) -> f64 {
    -10.0 * libm::log10(ratio)
}

/// Computed two ways: discrimination of one antenna, and its loss against pure circular waves of either hand.
#[test]
fn one_antenna_against_pure_waves() {
    for (axial_ratio, discrimination, same, opposite) in [
        (0.5, 30.82, 0.004, 30.82),
        (1.0, 24.81, 0.014, 24.82),
        (2.0, 18.81, 0.057, 18.87),
        (3.0, 15.34, 0.125, 15.47),
        (6.0, 9.57, 0.455, 10.02),
        (10.0, 5.69, 1.038, 6.73),
        (20.0, 1.74, 2.226, 3.97),
    ] {
        let antenna = Ellipse::new(Hand::Right, Db(axial_ratio), Degrees(17.0)).unwrap();
        assert!((cross_polar_discrimination(Db(axial_ratio)).0 - discrimination).abs() < 0.005_1, "{axial_ratio}");
        assert!((loss(efficiency(&antenna, &Ellipse::circular(Hand::Right))) - same).abs() < 0.000_51, "{axial_ratio}");
        let against = loss(efficiency(&antenna, &Ellipse::circular(Hand::Left)));
        assert!((against - opposite).abs() < 0.005_1, "{axial_ratio}: {against}");
    }
    for (discrimination, axial_ratio) in
        [(10.0, 5.688), (15.0, 3.122), (20.0, 1.743), (25.0, 0.978), (30.0, 0.550), (40.0, 0.174)]
    {
        assert!((axial_ratio_of_discrimination(Db(discrimination)).0 - axial_ratio).abs() < 0.000_51);
    }
    assert_eq!(axial_ratio_of_discrimination(Db(0.0)), Db(f64::INFINITY));
    assert_eq!(cross_polar_discrimination(Db(0.0)), Db(f64::INFINITY));
}

/// Computed: least and greatest loss of two ellipses over their relative tilt, same hand, then opposite hands.
#[test]
fn two_ellipses_of_unknown_tilt() {
    let inf = f64::INFINITY;
    for (first, second, same_least, same_most, opposite_worst, opposite_best) in [
        (1.0, 1.0, 0.0, 0.0574, 18.815, inf),
        (1.0, 2.0, 0.0140, 0.1285, 15.354, 24.935),
        (1.0, 3.0, 0.0545, 0.2253, 12.962, 19.040),
        (2.0, 2.0, 0.0, 0.2283, 12.907, inf),
        (2.0, 3.0, 0.0133, 0.3538, 11.066, 25.160),
        (3.0, 3.0, 0.0, 0.5081, 9.570, inf),
        (3.0, 6.0, 0.1000, 1.0881, 6.544, 16.428),
        (6.0, 6.0, 0.0, 1.9259, 4.459, inf),
    ] {
        let right = |ratio| Ellipse::new(Hand::Right, Db(ratio), Degrees(0.0)).unwrap();
        let left = |ratio| Ellipse::new(Hand::Left, Db(ratio), Degrees(0.0)).unwrap();
        let same = Spread::over_unknown_tilts(&right(first), &right(second));
        let opposite = Spread::over_unknown_tilts(&right(first), &left(second));
        let what = format!("{first} {second}: {same:?} {opposite:?}");
        assert!((loss(same.most) - same_least).abs() < 0.000_051, "{what}");
        assert!((loss(same.least) - same_most).abs() < 0.000_051, "{what}");
        assert!((loss(opposite.most) - opposite_worst).abs() < 0.000_51, "{what}");
        if opposite_best.is_finite() {
            assert!((loss(opposite.least) - opposite_best).abs() < 0.000_51, "{what}");
        } else {
            assert!(opposite.least < 1e-15, "{what}");
        }
        assert!((worst_isolation(Db(first), Db(second)).0 - opposite_worst).abs() < 0.000_51, "{what}");
    }
    for (axial_ratio, least, most) in [(3.0, 1.7643, 4.7643), (1.0, 2.5390, 3.5390)] {
        let antenna = Ellipse::new(Hand::Left, Db(axial_ratio), Degrees(0.0)).unwrap();
        let spread = Spread::over_unknown_tilts(&antenna, &Ellipse::linear(Degrees(0.0)));
        assert!((loss(spread.most) - least).abs() < 0.000_051 && (loss(spread.least) - most).abs() < 0.000_051);
    }
    // Two antennas of 15, 20 and 25 dB discrimination each.
    for (discrimination, expected) in [(15.0, 9.250), (20.0, 14.066), (25.0, 19.007)] {
        let ratio = axial_ratio_of_discrimination(Db(discrimination));
        assert!((worst_isolation(ratio, ratio).0 - expected).abs() < 0.000_51);
    }
}

#[test]
fn lines_against_lines_and_circles() {
    // Computed from cos².
    for (tilt, expected) in [(15.0, 0.3011), (30.0, 1.2494), (45.0, 3.0103), (60.0, 6.0206), (75.0, 11.7401)] {
        let got = loss(efficiency(&Ellipse::linear(Degrees(20.0)), &Ellipse::linear(Degrees(20.0 + tilt))));
        assert!((got - expected).abs() < 0.000_051, "{tilt}: {got}");
        let circle = efficiency(&Ellipse::circular(Hand::Left), &Ellipse::linear(Degrees(tilt)));
        assert!((loss(circle) - 3.0103).abs() < 0.000_051);
    }
    assert_eq!(efficiency(&Ellipse::circular(Hand::Left), &Ellipse::circular(Hand::Right)), 0.0);
}

/// A textbook's worked example on antennas (its Example 2-17.1): a left-hand wave of axial ratio 4 at 15 degrees on an
/// antenna of the right hand, axial ratio 2, 45 degrees. Its companion code prints 0.44; exactly 0.444118.
#[test]
fn the_textbook_example() {
    let ratio = |value: f64| Db(20.0 * libm::log10(value));
    let wave = Ellipse::new(Hand::Left, ratio(4.0), Degrees(15.0)).unwrap();
    let antenna = Ellipse::new(Hand::Right, ratio(2.0), Degrees(45.0)).unwrap();
    let got = efficiency(&wave, &antenna);
    assert!((got - 0.444_118).abs() < 5e-7, "{got}");
}

/// Computed: axial ratio 3 dB, tilt 30 degrees, right hand.
#[test]
fn hands_of_one_ellipse() {
    let (right, left) = Ellipse::new(Hand::Right, Db(3.0), Degrees(30.0)).unwrap().jones().hands();
    assert!((right.norm_sqr().sqrt() - 0.98569).abs() < 5e-6 && (left.norm_sqr().sqrt() - 0.16855).abs() < 5e-6);
    // A toolbox's reference page: (x, y) = (2, 2) has left part 1.4142 - 1.4142j and right part 1.4142 + 1.4142j.
    let two = Complex64::new(2.0, 0.0);
    let (right, left) = Jones { x: two, y: two }.hands();
    let root = std::f64::consts::SQRT_2;
    assert!((right - Complex64::new(root, root)).norm_sqr() < 1e-24);
    assert!((left - Complex64::new(root, -root)).norm_sqr() < 1e-24);
}

fn field_of(jones: &Jones, direction: &Vec3) -> ComplexVec3 {
    let (horizontal, upward) = travel_frame(direction);
    horizontal.map(|axis| jones.x * axis) + upward.map(|axis| jones.y * axis)
}

fn power(field: &ComplexVec3) -> f64 {
    field.iter().map(|value| value.norm_sqr()).sum()
}

/// Received two ways: the antenna's own field toward the source without conjugation, or its best-received wave with it.
#[test]
fn two_vectors_in_space_couple_as_two_states_in_one_frame() {
    let travel = Vec3::new(0.48, -0.6, 0.64);
    let sent = Ellipse::new(Hand::Right, Db(2.5), Degrees(20.0)).unwrap();
    let antenna = Ellipse::new(Hand::Right, Db(4.0), Degrees(70.0)).unwrap();
    // The antenna radiates back along the path; its state is written in that direction's own frame. There the tilt is the
    // mirror image.
    let radiated = field_of(&antenna.jones(), &-travel);
    let wave = field_of(&sent.jones(), &travel);
    let voltage = wave.x * radiated.x + wave.y * radiated.y + wave.z * radiated.z;
    let mirrored = Ellipse::new(Hand::Right, Db(4.0), Degrees(180.0 - 70.0)).unwrap();
    assert!((voltage.norm_sqr() - efficiency(&sent, &mirrored)).abs() < 1e-12);
}

fn any_ellipse() -> impl Strategy<Value = Ellipse> {
    let ratio = prop_oneof![Just(0.0), Just(1e-6), 0.0..30.0f64, Just(120.0)];
    (prop::bool::ANY, ratio, -90.0..90.0f64, prop::num::u8::ANY).prop_map(|(right, ratio, tilt, pick)| {
        if pick < 16 {
            Ellipse::linear(Degrees(tilt))
        } else {
            Ellipse::new(if right { Hand::Right } else { Hand::Left }, Db(ratio), Degrees(tilt))
                .expect("a possible ellipse")
        }
    })
}

fn any_direction() -> impl Strategy<Value = Vec3> {
    (-1.0..=1.0f64, 0.0..std::f64::consts::TAU).prop_map(|(height, azimuth)| {
        let level = (1.0 - height * height).sqrt();
        Vec3::new(level * libm::cos(azimuth), level * libm::sin(azimuth), height)
    })
}

/// The same ellipse seen in a mirror.
fn mirrored(ellipse: &Ellipse) -> Ellipse {
    Ellipse {
        hand: ellipse.hand.map(Hand::opposite),
        axial_ratio: ellipse.axial_ratio,
        tilt: Degrees(180.0 - ellipse.tilt.0),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 512, ..ProptestConfig::default() })]

    #[test]
    fn coupling_is_a_share_and_goes_both_ways(first in any_ellipse(), second in any_ellipse()) {
        let forth = efficiency(&first, &second);
        prop_assert!((0.0..=1.0).contains(&forth));
        prop_assert!((forth - efficiency(&second, &first)).abs() < 1e-12);
        prop_assert!((forth - coupling(&first.jones(), &second.jones())).abs() < 1e-12);
        prop_assert!((efficiency(&first, &first) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn turning_both_or_mirroring_both_changes_nothing(
        first in any_ellipse(), second in any_ellipse(), turn in -360.0..360.0f64
    ) {
        let turned = |ellipse: &Ellipse| Ellipse { tilt: ellipse.tilt + Degrees(turn), ..*ellipse };
        let plain = efficiency(&first, &second);
        prop_assert!((plain - efficiency(&turned(&first), &turned(&second))).abs() < 1e-12);
        prop_assert!((plain - efficiency(&mirrored(&first), &mirrored(&second))).abs() < 1e-12);
    }

    #[test]
    fn an_ellipse_comes_back_from_its_vector(start in any_ellipse(), phase in 0.0..6.0f64, size in 1e-6..1e6f64) {
        let jones = start.jones();
        let factor = phasor(phase) * size;
        let back = Jones { x: jones.x * factor, y: jones.y * factor }.ellipse().unwrap();
        prop_assert_eq!(back.hand, start.hand);
        prop_assert!((efficiency(&start, &back) - 1.0).abs() < 1e-9);
        if start.axial_ratio.0.is_finite() {
            prop_assert!((back.axial_ratio - start.axial_ratio).0.abs() < 1e-6 * (1.0 + start.axial_ratio.0));
        }
        if start.axial_ratio.0 > 0.01 {
            let apart = (back.tilt.0 - start.tilt.0).rem_euclid(180.0);
            prop_assert!(apart.min(180.0 - apart) < 1e-6, "{} {}", back.tilt, start.tilt);
        }
    }

    #[test]
    fn the_spread_holds_every_tilt_and_its_mean_is_the_sum_over_hands(
        first in any_ellipse(), second in any_ellipse()
    ) {
        let spread = Spread::over_unknown_tilts(&first, &second);
        let mut sum = 0.0;
        for step in 0..36 {
            let turned = Ellipse { tilt: Degrees(5.0 * f64::from(step)), ..second };
            let got = efficiency(&first, &turned);
            prop_assert!(spread.least - 1e-12 <= got && got <= spread.most + 1e-12);
            sum += got / 36.0;
        }
        prop_assert!((sum - spread.mean).abs() < 1e-12);
        let (one, two) = (first.right_hand_share(), second.right_hand_share());
        prop_assert!((spread.mean - (one * two + (1.0 - one) * (1.0 - two))).abs() < 1e-12);
    }

    #[test]
    fn a_field_in_space_splits_into_its_hands(start in any_ellipse(), direction in any_direction()) {
        let field = field_of(&start.jones(), &direction);
        let (right, left) = split_hands(&field, &direction);
        prop_assert!(power(&(right + left - field)) < 1e-24);
        prop_assert!((power(&right) - start.right_hand_share()).abs() < 1e-12);
        prop_assert!((power(&left) + power(&right) - power(&field)).abs() < 1e-12);
        for (part, hand) in [(right, Hand::Right), (left, Hand::Left)] {
            if power(&part) > 1e-9 {
                let ellipse = ellipse_of(&part, &direction).unwrap();
                prop_assert_eq!(ellipse.hand, Some(hand));
                prop_assert!(ellipse.axial_ratio.0 < 1e-3, "{}", ellipse.axial_ratio);
            }
        }
        let back = ellipse_of(&field, &direction).unwrap();
        prop_assert!((efficiency(&back, &start) - 1.0).abs() < 1e-9);
    }

    #[test]
    fn discrimination_and_axial_ratio_undo_each_other(ratio in 1e-6..60.0f64) {
        let back = axial_ratio_of_discrimination(cross_polar_discrimination(Db(ratio)));
        prop_assert!((back.0 - ratio).abs() < 1e-9 * (1.0 + ratio * ratio), "{}", back);
    }
}
