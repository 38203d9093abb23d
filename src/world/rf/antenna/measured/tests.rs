use proptest::prelude::*;

use super::*;
use crate::rf::antenna::{Antenna, AntennaCaveat, AntennaModel};

fn row(angle: f64, gain: f64, axial_ratio: f64) -> MeasuredRow {
    MeasuredRow { angle: Degrees(angle), gain: Dbi(gain), axial_ratio: Db(axial_ratio) }
}

fn ahead(rows: &[(f64, f64, f64)]) -> Result<MeasuredCut, MeasuredError> {
    cut(MeasuredAxis::Ahead, rows)
}

fn cut(axis: MeasuredAxis, rows: &[(f64, f64, f64)]) -> Result<MeasuredCut, MeasuredError> {
    let rows: Vec<_> = rows.iter().map(|(angle, gain, ratio)| row(*angle, *gain, *ratio)).collect();
    MeasuredCut::new(axis, &rows)
}

fn apart(rows: &[(f64, f64, f64)]) -> Option<SideDifference> {
    let rows: Vec<_> = rows.iter().map(|(angle, gain, ratio)| row(*angle, *gain, *ratio)).collect();
    MeasuredCut::sides(&rows).unwrap()
}

fn antenna(hand: Option<Hand>, cut: &MeasuredCut) -> Antenna {
    Antenna::new(AntennaModel::Measured(MeasuredPattern { hand, cut: cut.clone() })).unwrap()
}

const BEAM: [(f64, f64, f64); 5] =
    [(0.0, 8.0, 1.0), (30.0, 6.0, 2.0), (60.0, 1.0, 4.0), (120.0, -9.0, 9.0), (180.0, -6.0, 60.0)];

#[test]
fn rows_come_back_exactly_and_every_place_between_lies_between() {
    let curve = ahead(&BEAM).unwrap();
    for (angle, gain, ratio) in BEAM {
        let (got, got_ratio) = curve.at(Degrees(angle));
        assert!((got.0 - gain).abs() < 1e-9, "{angle}: {got}");
        assert!((got_ratio.0 - ratio).abs() < 1e-6, "{angle}: {got_ratio}");
    }
    assert_eq!(curve.reach(), (Degrees(0.0), Degrees(180.0)));
    assert_eq!((curve.peak().0, apart(&BEAM)), (Degrees(0.0), None));
    assert!((curve.peak().1.0 - 8.0).abs() < 1e-9 && (curve.least_gain().0 + 9.0).abs() < 1e-9);
    for pair in BEAM.windows(2) {
        let mut before = curve.at(Degrees(pair[0].0));
        for step in 1..=100 {
            let angle = pair[0].0 + (pair[1].0 - pair[0].0) * f64::from(step) / 100.0;
            let now = curve.at(Degrees(angle));
            let rises = |least: f64, most: f64, from: f64, to: f64| (to - from) * (most - least).signum() >= -1e-9;
            assert!(rises(pair[0].1, pair[1].1, before.0.0, now.0.0), "gain at {angle}");
            assert!(rises(pair[0].2, pair[1].2, before.1.0, now.1.0), "axial ratio at {angle}");
            before = now;
        }
    }
}

#[test]
fn the_field_has_the_gain_the_ratio_and_the_hand_of_the_table() {
    use crate::rf::polarization::ellipse_of;
    for axis in [MeasuredAxis::Ahead, MeasuredAxis::Tip] {
        let curve = cut(axis, &BEAM).unwrap();
        for hand in [Some(Hand::Right), Some(Hand::Left), None] {
            let antenna = antenna(hand, &curve);
            assert_eq!((antenna.hand(), antenna.tilt_is_unknown()), (hand, hand.is_some()));
            for zenith in 0..=36_i32 {
                for azimuth in [0.0, 33.0, 90.0, 180.0, 261.0_f64] {
                    let (sine, cosine) = libm::sincos(f64::from(5 * zenith).to_radians());
                    let (sine_azimuth, cosine_azimuth) = libm::sincos(azimuth.to_radians());
                    let direction = Vec3::new(sine * cosine_azimuth, sine * sine_azimuth, cosine);
                    let along = if axis == MeasuredAxis::Ahead { direction.x } else { direction.z };
                    let (gain, ratio) = curve.at(Degrees(libm::acos(along.clamp(-1.0, 1.0)).to_degrees()));
                    assert!((Dbi::from_ratio(antenna.gain(&direction)) - gain).0.abs() < 1e-6, "{axis:?} {direction}");
                    let ellipse = ellipse_of(&antenna.field(&direction), &direction).unwrap();
                    match hand {
                        None => assert!(ellipse.axial_ratio.0 > 200.0),
                        // At 60 dB and more no hand is left to speak of.
                        Some(_) if ratio.0 > 59.0 => assert!(ellipse.axial_ratio.0 > 55.0),
                        Some(hand) => {
                            assert_eq!(ellipse.hand, Some(hand), "{axis:?} {direction}");
                            assert!(
                                (ellipse.axial_ratio - ratio).0.abs() < 1e-3 * (1.0 + ratio.0),
                                "{axis:?} {direction}"
                            );
                        }
                    }
                }
            }
        }
    }
}

/// Check table of docs/model.md: axial ratios of 1, 2, 3, 6 and 20 dB keep the hands 24.8, 18.8, 15.3, 9.6 and 1.7 dB
/// apart.
#[test]
fn the_cross_hand_is_as_faint_as_the_axial_ratio_says() {
    use crate::rf::polarization::{cross_polar_discrimination, split_hands};
    for ratio in [1.0, 2.0, 3.0, 6.0, 20.0] {
        let curve = ahead(&[(0.0, 7.0, ratio), (30.0, 5.0, ratio), (90.0, -8.0, ratio)]).unwrap();
        let (right, left) = split_hands(&antenna(Some(Hand::Right), &curve).field(&Vec3::x()), &Vec3::x());
        let power = |field: &crate::rf::ComplexVec3| field.iter().map(|part| part.norm_sqr()).sum::<f64>();
        let apart = Db::from_ratio(power(&right) / power(&left));
        assert!((apart - cross_polar_discrimination(Db(ratio))).0.abs() < 1e-9, "{ratio}: {apart}");
    }
}

#[test]
fn both_sides_are_averaged_in_power_and_told_apart() {
    let both = [(-90.0, -10.0, 3.0), (-30.0, 3.0, 3.0), (0.0, 7.0, 1.0), (30.0, 6.0, 3.0), (90.0, -4.0, 3.0)];
    let round = both.map(|(angle, gain, ratio)| (if angle < 0.0 { angle + 360.0 } else { angle }, gain, ratio));
    for rows in [both, round] {
        let curve = ahead(&rows).unwrap();
        let mean = |one: f64, two: f64| Dbi::from_ratio(0.5 * (Dbi(one).ratio() + Dbi(two).ratio())).0;
        assert!((curve.at(Degrees(30.0)).0.0 - mean(3.0, 6.0)).abs() < 1e-9);
        assert!((curve.at(Degrees(90.0)).0.0 - mean(-10.0, -4.0)).abs() < 1e-9);
        assert!((curve.at(Degrees(0.0)).0.0 - 7.0).abs() < 1e-9, "straight ahead belongs to both");
        assert!((curve.at(Degrees(30.0)).1.0 - 3.0).abs() < 1e-9, "the same ratio on both sides is kept");
        // At 90° the sides are 6 dB apart, but 13 dB below the best.
        let sides = apart(&rows).unwrap();
        assert!((sides.greatest.0 - 3.0).abs() < 1e-9 && sides.at == Degrees(30.0), "{sides:?}");
    }
    // Mirrored rows are the same antenna, whichever side they are on.
    let left = ahead(&[(-60.0, 1.0, 2.0), (-30.0, 5.0, 2.0), (0.0, 8.0, 1.0)]).unwrap();
    let right = ahead(&[(60.0, 1.0, 2.0), (30.0, 5.0, 2.0), (0.0, 8.0, 1.0)]).unwrap();
    assert_eq!(left.at(Degrees(45.0)), right.at(Degrees(45.0)));
    assert_eq!(apart(&[(-60.0, 1.0, 2.0), (-30.0, 5.0, 2.0), (0.0, 8.0, 1.0)]), None);
}

#[test]
fn one_row_of_the_other_side_does_not_stand_for_all_of_it() {
    let rows = [(-10.0, 4.0, 1.0), (0.0, 8.0, 1.0), (10.0, 7.0, 1.0), (60.0, 0.0, 3.0), (180.0, -9.0, 9.0)];
    let curve = ahead(&rows).unwrap();
    assert!((curve.at(Degrees(60.0)).0.0 - 0.0).abs() < 1e-9, "nobody measured the other side there");
    assert!((apart(&rows).unwrap().greatest.0 - 3.0).abs() < 1e-9);
}

#[test]
fn where_nobody_measured_the_least_gain_holds_and_is_said() {
    let curve = ahead(&[(0.0, 8.0, 1.0), (40.0, -5.0, 6.0), (60.0, 1.0, 4.0)]).unwrap();
    for (angle, gain) in [(60.0, 1.0), (70.0, -5.0), (130.0, -5.0), (180.0, -5.0)] {
        assert!((curve.at(Degrees(angle)).0.0 - gain).abs() < 1e-9, "{angle}");
    }
    assert!(curve.at(Degrees(65.0)).0.0 < 1.0 && curve.at(Degrees(65.0)).0.0 > -5.0);
    assert!((curve.at(Degrees(150.0)).1.0 - 4.0).abs() < 1e-9);
    let caveats = antenna(Some(Hand::Right), &curve).caveats();
    let [AntennaCaveat::HeldBeyond { angle, behind: true, gain }] = caveats[..] else { panic!("{caveats:?}") };
    assert!(angle == Degrees(60.0) && (gain.0 + 5.0).abs() < 1e-9);
    let said = caveats[0].to_string();
    assert_eq!(said, "nobody measured beyond 60°: -5.0 dBi is taken there, the least of the table");

    let standing = cut(MeasuredAxis::Tip, &[(20.0, -8.0, 9.0), (90.0, 2.0, 1.0), (155.0, -6.0, 8.0)]).unwrap();
    assert!((standing.at(Degrees(0.0)).0.0 + 8.0).abs() < 1e-9 && (standing.at(Degrees(180.0)).0.0 + 8.0).abs() < 1e-9);
    assert_eq!(antenna(Some(Hand::Right), &standing).caveats().len(), 2);
    // Toward its look a beam does not fall.
    let beam = ahead(&[(4.0, 8.0, 1.0), (40.0, -5.0, 6.0), (180.0, -15.0, 4.0)]).unwrap();
    assert!((beam.at(Degrees(0.0)).0.0 - 8.0).abs() < 1e-9);
    assert_eq!(antenna(Some(Hand::Right), &beam).caveats(), []);
}

#[test]
fn the_energy_is_that_of_closed_forms_and_too_much_of_it_is_said() {
    let even = cut(MeasuredAxis::Tip, &[(0.0, 0.0, 3.0), (90.0, 0.0, 3.0), (180.0, 0.0, 3.0)]).unwrap();
    assert!((even.mean_gain() - 1.0).abs() < 1e-9, "{}", even.mean_gain());
    // A tent of amplitude θ/π: ∫ (θ/π)² sin θ dθ / 2 = (1 - 4/π²)/2.
    let pi = std::f64::consts::PI;
    let tent = (1..=360).map(f64::from).map(|half| row(half / 2.0, 20.0 * libm::log10(half / 360.0), 0.0));
    let tent = MeasuredCut::new(MeasuredAxis::Ahead, &tent.collect::<Vec<_>>()).unwrap();
    assert!((tent.mean_gain() - 0.5 * (1.0 - 4.0 / (pi * pi))).abs() < 1e-6, "{}", tent.mean_gain());
    for (gain, is_said) in [(0.9, false), (1.1, true)] {
        let rows = [0.0, 90.0, 180.0].map(|angle| (angle, gain, 2.0));
        let antenna = antenna(Some(Hand::Right), &cut(MeasuredAxis::Tip, &rows).unwrap());
        let said =
            antenna.caveats().iter().any(|caveat| matches!(caveat, AntennaCaveat::GainExceedsDirectivity { .. }));
        assert_eq!(said, is_said, "{gain}");
    }
}

#[test]
fn what_is_no_table_is_refused_by_row_and_column() {
    let with = |index: usize, row: (f64, f64, f64)| {
        let mut rows = BEAM;
        rows[index] = row;
        ahead(&rows)
    };
    for (row, column, got) in [
        ((-180.1, 0.0, 1.0), MeasuredColumn::Angle, -180.1),
        ((360.1, 0.0, 1.0), MeasuredColumn::Angle, 360.1),
        ((f64::INFINITY, 0.0, 1.0), MeasuredColumn::Angle, f64::INFINITY),
        ((70.0, 20.1, 1.0), MeasuredColumn::Gain, 20.1),
        ((70.0, -60.1, 1.0), MeasuredColumn::Gain, -60.1),
        ((70.0, 0.0, -0.1), MeasuredColumn::AxialRatio, -0.1),
        ((70.0, 0.0, 60.1), MeasuredColumn::AxialRatio, 60.1),
    ] {
        assert_eq!(with(3, row), Err(MeasuredError::Number { row: 3, column, got }));
    }
    for row in [(f64::NAN, 0.0, 1.0), (70.0, f64::NAN, 1.0), (70.0, 0.0, f64::NAN)] {
        assert!(matches!(with(2, row), Err(MeasuredError::Number { row: 2, .. })));
    }
    assert_eq!(with(4, (30.0, 0.0, 1.0)), Err(MeasuredError::Twice { row: 4, first: 1, angle: Degrees(30.0) }));
    assert!(with(4, (30.01, 0.0, 1.0)).is_ok() && with(4, (30.005, 0.0, 1.0)).is_err());
    let mixed = ahead(&[(-30.0, 5.0, 1.0), (0.0, 8.0, 1.0), (60.0, 0.0, 1.0), (330.0, 5.0, 1.0)]);
    assert_eq!(mixed, Err(MeasuredError::BothWays { row: 3, angle: Degrees(330.0) }));
    assert_eq!(ahead(&BEAM[..2]), Err(MeasuredError::Rows { got: 2 }));
    let many: Vec<_> = (0..362).map(|index| (f64::from(index) / 2.0, 0.0, 1.0)).collect();
    assert_eq!(ahead(&many), Err(MeasuredError::Rows { got: 362 }));
    assert!(ahead(&many[..361]).is_ok());
    let narrow = ahead(&[(0.0, 8.0, 1.0), (10.0, 8.0, 1.0), (59.0, 1.0, 1.0)]).unwrap_err();
    assert_eq!(
        narrow.to_string(),
        "a table from 0° to 59°: allowed are tables from at most 5° to at least 60° for this kind of antenna"
    );
    assert!(matches!(cut(MeasuredAxis::Tip, &BEAM[1..4]), Err(MeasuredError::Reach { .. })));
    let faint = ahead(&[(0.0, -10.5, 1.0), (30.0, -12.0, 1.0), (60.0, -20.0, 1.0)]).unwrap_err();
    assert_eq!(faint.to_string(), "a greatest gain of -10.5 dBi: allowed are -10 to 20 dBi");
    assert!(ahead(&[(0.0, 20.0, 1.0), (30.0, -12.0, 1.0), (60.0, -20.0, 1.0)]).is_ok());
    assert!(ahead(&[(0.0, -10.0, 1.0), (30.0, -12.0, 1.0), (60.0, -20.0, 1.0)]).is_ok());
}

/// Rows in any order and of any roughness, on one side or both.
fn any_rows() -> impl Strategy<Value = Vec<MeasuredRow>> {
    let angle = prop_oneof![-180.0..=180.0_f64, 0.0..=360.0_f64, Just(0.0), Just(180.0), Just(-180.0), Just(360.0)];
    let of_row = (angle, -60.0..=20.0_f64, prop_oneof![0.0..=60.0_f64, Just(0.0), Just(60.0)]);
    proptest::collection::vec(
        of_row.prop_map(|(angle, gain, ratio)| row((angle * 100.0).round() / 100.0, gain, ratio)),
        3..60,
    )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, ..ProptestConfig::default() })]

    #[test]
    fn every_table_that_is_taken_gives_finite_fields_within_its_own_gains(
        rows in any_rows(), is_ahead in any::<bool>(), zenith in 0.0..=180.0_f64, azimuth in 0.0..360.0_f64,
    ) {
        let axis = if is_ahead { MeasuredAxis::Ahead } else { MeasuredAxis::Tip };
        let Ok(curve) = MeasuredCut::new(axis, &rows) else { return Ok(()) };
        let gains = rows.iter().map(|row| row.gain.0);
        let (least, most) = gains.fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), gain| (least.min(gain), most.max(gain)));
        let (sine, cosine) = libm::sincos(zenith.to_radians());
        let (sine_azimuth, cosine_azimuth) = libm::sincos(azimuth.to_radians());
        let direction = Vec3::new(sine * cosine_azimuth, sine * sine_azimuth, cosine);
        for hand in [None, Some(Hand::Right), Some(Hand::Left)] {
            let antenna = antenna(hand, &curve);
            for direction in [direction, Vec3::x(), -Vec3::x(), Vec3::z(), -Vec3::z()] {
                let gain = Dbi::from_ratio(antenna.gain(&direction)).0;
                prop_assert!(gain >= least - 1e-6 && gain <= most + 1e-6, "{gain} {least} {most}");
                let field = antenna.field(&direction);
                let along = field.x * direction.x + field.y * direction.y + field.z * direction.z;
                prop_assert!(along.norm_sqr() < 1e-24 * (1.0 + antenna.gain(&direction)));
            }
            let efficiency = antenna.efficiency();
            prop_assert!(efficiency > 0.0 && efficiency <= Dbi(most).ratio() * (1.0 + 1e-9));
            let shares = antenna.mean_partial_gains_under(&direction);
            prop_assert!(shares.vertical >= 0.0 && shares.horizontal >= 0.0);
            prop_assert!((shares.vertical + shares.horizontal - efficiency).abs() < 1e-9 * efficiency);
            prop_assert!(antenna.caveats().iter().all(|caveat| !caveat.to_string().contains("NaN")));
        }
        // The order of the rows does not matter, nor does the side that comes first.
        let mut backward = rows.clone();
        backward.reverse();
        prop_assert_eq!(MeasuredCut::new(axis, &backward), Ok(curve.clone()));
        // The curve has no steps, whatever the table has: rows are 0.01 degrees apart at least.
        let step = 1e-7;
        let amplitude = |angle: f64| curve.at(Degrees(angle)).0.db().amplitude();
        prop_assert!((amplitude(zenith) - amplitude(zenith + step)).abs() < 20.0 * step / 0.005);
    }
}
