use super::*;
use crate::rf::polarization::{Ellipse, ellipse_of, split_hands};
use crate::units::Degrees;

const RIGHT: Hand = Hand::Right;

fn omni(peak_gain: f64, axial_ratio: f64, null_depth: f64) -> Antenna {
    Antenna::new(AntennaModel::CircularOmni(CircularOmni {
        hand: RIGHT,
        peak_gain: Dbi(peak_gain),
        axial_ratio: Db(axial_ratio),
        null_depth: Db(null_depth),
    }))
    .unwrap()
}

fn patch(peak_gain: f64, beamwidth: f64, axial_ratio: f64, front_to_back: f64) -> Antenna {
    Antenna::new(AntennaModel::CircularPatch(CircularPatch {
        hand: RIGHT,
        peak_gain: Dbi(peak_gain),
        beamwidth: Degrees(beamwidth),
        axial_ratio: Db(axial_ratio),
        front_to_back: Db(front_to_back),
    }))
    .unwrap()
}

fn helix(turns: f64) -> Antenna {
    helix_of(HelixSize::Wound { turns, circumference: 1.0, pitch: Degrees(13.0), loss: Db(1.0) }).unwrap()
}

fn helix_of(size: HelixSize) -> Result<Antenna, AntennaError> {
    Antenna::new(AntennaModel::AxialHelix(AxialHelix { hand: RIGHT, size, front_to_back: Db(12.0) }))
}

fn linear_patch() -> Antenna {
    Antenna::new(AntennaModel::LinearPatch(LinearPatch {
        peak_gain: Dbi(7.0),
        beamwidth: Degrees(75.0),
        front_to_back: Db(12.0),
    }))
    .unwrap()
}

fn dipole() -> Antenna {
    Antenna::new(AntennaModel::half_wave_dipole()).unwrap()
}

fn whip() -> Antenna {
    Antenna::new(AntennaModel::ShortWhip { peak_gain: Dbi::from_ratio(1.5) - Db(0.5) }).unwrap()
}

fn isotropic(hand: Hand) -> Antenna {
    Antenna::new(AntennaModel::Isotropic(Jones::circular(hand))).unwrap()
}

fn every_kind() -> Vec<Antenna> {
    vec![
        isotropic(Hand::Left),
        dipole(),
        whip(),
        omni(1.8, 1.5, 15.0),
        omni(0.5, 3.0, 10.0),
        omni(3.0, 0.0, 30.0),
        patch(7.0, 75.0, 2.0, 12.0),
        patch(12.0, 35.0, 1.0, 18.0),
        patch(5.0, 110.0, 3.0, 10.0),
        linear_patch(),
        helix(4.0),
        helix_of(HelixSize::Stated { peak_gain: Dbi(9.0), beamwidth: Degrees(60.0), axial_ratio: Db(1.5) }).unwrap(),
        measured(&helix(4.0)),
        measured(&patch(7.0, 75.0, 2.0, 12.0)),
        measured(&linear_patch()),
        measured(&dipole()),
        measured(&omni(1.8, 1.5, 15.0)),
    ]
}

/// What a table of every 2 degrees in the x-z plane says of an antenna.
fn measured(antenna: &Antenna) -> Antenna {
    let is_beam = matches!(antenna.shape, Shape::Beam(_));
    let axis = if is_beam { MeasuredAxis::Ahead } else { MeasuredAxis::Tip };
    let rows: Vec<MeasuredRow> = (0..=90)
        .map(|step| {
            let angle = 2.0 * f64::from(step);
            let direction = if is_beam { direction(90.0 - angle, 0.0) } else { direction(angle, 0.0) };
            let ellipse = ellipse_of(&antenna.field(&direction), &direction);
            let axial_ratio = Db(ellipse.map_or(60.0, |ellipse| ellipse.axial_ratio.0.min(60.0)));
            MeasuredRow {
                angle: Degrees(angle),
                gain: Dbi(Dbi::from_ratio(antenna.gain(&direction)).0.max(-60.0)),
                axial_ratio,
            }
        })
        .collect();
    let cut = MeasuredCut::new(axis, &rows).unwrap();
    Antenna::new(AntennaModel::Measured(MeasuredPattern { hand: antenna.hand(), cut })).unwrap()
}

fn direction(zenith_degrees: f64, azimuth_degrees: f64) -> Vec3 {
    let (sine, cosine) = libm::sincos(zenith_degrees.to_radians());
    let (sine_azimuth, cosine_azimuth) = libm::sincos(azimuth_degrees.to_radians());
    Vec3::new(sine * cosine_azimuth, sine * sine_azimuth, cosine)
}

/// Directions on a grid that holds both poles, the axes and the seam of the azimuth.
fn grid() -> impl Iterator<Item = Vec3> {
    (0..=36).flat_map(|zenith| (0..36).map(move |azimuth| direction(5.0 * zenith as f64, 10.0 * azimuth as f64)))
}

/// A mean over the sphere that shares nothing with the one in the code: equal steps of height, fine, no clever nodes.
fn mean_over_sphere(value: impl Fn(&Vec3) -> f64) -> f64 {
    let (rings, spokes) = (400, 200);
    let mut sum = 0.0;
    for ring in 0..rings {
        let height: f64 = -1.0 + 2.0 * (ring as f64 + 0.5) / rings as f64;
        let sine = (1.0 - height * height).sqrt();
        for spoke in 0..spokes {
            let (y, x) = libm::sincos(std::f64::consts::TAU * (spoke as f64 + 0.25) / spokes as f64);
            sum += value(&Vec3::new(sine * x, sine * y, height));
        }
    }
    sum / (rings * spokes) as f64
}

#[test]
fn the_field_is_transversal_and_finite_everywhere() {
    let axes = [Vec3::x(), -Vec3::x(), Vec3::y(), -Vec3::y(), Vec3::z(), -Vec3::z()];
    for antenna in every_kind() {
        for direction in grid().chain(axes) {
            let field = antenna.field(&direction);
            let along = field.x * direction.x + field.y * direction.y + field.z * direction.z;
            assert!(along.norm_sqr() < 1e-28, "{:?} {direction:?}", antenna.model());
            let power: f64 = field.iter().map(|value| value.norm_sqr()).sum();
            assert!(power.is_finite() && (power - antenna.gain(&direction)).abs() < 1e-12 * (1.0 + power));
        }
    }
}

#[test]
fn the_peak_gain_is_reached_and_nowhere_exceeded() {
    for antenna in every_kind() {
        let highest = grid().map(|direction| antenna.gain(&direction)).fold(0.0, f64::max);
        let peak = antenna.peak_gain().ratio();
        assert!((highest / peak - 1.0).abs() < 1e-12, "{:?}: {highest} {peak}", antenna.model());
    }
}

#[test]
fn the_beam_is_half_as_strong_at_the_edge_of_its_width() {
    for width in [20.0, 35.0, 60.0, 65.0, 66.0, 75.0, 90.0, 119.0] {
        // A perfect circle: both planes are cut alike, so that the mean of them is the pattern.
        let antenna = patch(6.0, width, 0.0, 15.0);
        for edge in [direction(90.0, width / 2.0), direction(90.0 - width / 2.0, 0.0)] {
            let drop = antenna.gain(&edge) / antenna.peak_gain().ratio();
            assert!((drop - 0.5).abs() < 1e-9, "{width}: {drop}");
        }
    }
    let antenna = helix(5.0);
    let AntennaModel::AxialHelix(model) = antenna.model() else { unreachable!() };
    let drop = antenna.gain(&direction(90.0, model.beamwidth().0 / 2.0)) / antenna.peak_gain().ratio();
    assert!((drop - 0.5).abs() < 1e-3, "{drop}");
}

#[test]
fn front_to_back_and_null_depth_are_those_asked_for() {
    for antenna in [patch(7.0, 75.0, 2.0, 12.0), patch(12.0, 30.0, 1.0, 12.0), helix(4.0), linear_patch()] {
        let ratio = Db::from_ratio(antenna.gain(&Vec3::x()) / antenna.gain(&-Vec3::x()));
        assert!((ratio.0 - 12.0).abs() < 1e-9, "{ratio}");
    }
    let antenna = omni(2.0, 1.0, 14.0);
    for pole in [Vec3::z(), -Vec3::z()] {
        let depth = Db::from_ratio(antenna.peak_gain().ratio() / antenna.gain(&pole));
        assert!((depth.0 - 14.0).abs() < 1e-9, "{depth}");
    }
}

#[test]
fn a_patch_is_half_as_wide_as_the_textbook_table_says() {
    // Cavity model on an infinite plate, square patch: eps_eff 1.0 / 1.5 / 2.2 have half-power widths of
    // (60.00, 70.81), (75.52, 76.23), (95.74, 80.18) degrees in the E and the H plane (computed from the textbook form).
    for (eps_eff, across_e, across_h) in [(1.0f64, 60.00, 70.81), (1.5, 75.52, 76.23), (2.2, 95.74, 80.18)] {
        // A linear patch whose mean cut is that of this size: take the width where the mean falls to one half.
        let half_side = std::f64::consts::FRAC_PI_2 / eps_eff.sqrt();
        let mean = |width: f64| {
            let (sine, cosine) = libm::sincos(width.to_radians() / 2.0);
            let angle = half_side * sine;
            let (sine_angle, cosine_angle) = libm::sincos(angle);
            0.5 * (cosine_angle * cosine_angle + (cosine * sine_angle / angle) * (cosine * sine_angle / angle))
        };
        let (mut low, mut high) = (30.0, 120.0);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if mean(middle) > 0.5 { low = middle } else { high = middle }
        }
        let antenna = Antenna::new(AntennaModel::LinearPatch(LinearPatch {
            peak_gain: Dbi(7.0),
            beamwidth: Degrees(low),
            front_to_back: Db(20.0),
        }))
        .unwrap();
        let peak = antenna.peak_gain().ratio();
        // E along z: the E plane is x-z, the H plane x-y.
        let e_plane = antenna.gain(&direction(90.0 - across_e / 2.0, 0.0)) / peak;
        let h_plane = antenna.gain(&direction(90.0, across_h / 2.0)) / peak;
        // Half of the last printed digit of the widths.
        assert!((e_plane - 0.5).abs() < 2e-4 && (h_plane - 0.5).abs() < 2e-4, "{eps_eff}: {e_plane} {h_plane}");
    }
}

#[test]
fn axial_ratio_and_hand_are_nominal_in_the_main_direction() {
    for antenna in every_kind() {
        let ahead = Vec3::x();
        let ellipse = ellipse_of(&antenna.field(&ahead), &ahead).unwrap();
        assert_eq!(ellipse.hand, antenna.hand(), "{:?}", antenna.model());
        match antenna.axial_ratio() {
            Some(nominal) => assert!((ellipse.axial_ratio - nominal).0.abs() < 1e-6, "{:?}", antenna.model()),
            None => assert_eq!(ellipse.axial_ratio, Db(f64::INFINITY)),
        }
    }
}

#[test]
fn an_omni_keeps_its_hand_at_every_elevation_and_its_ellipse_flattens() {
    let antenna = omni(1.8, 1.0, 15.0);
    let mut before = 0.0;
    for zenith in (1..=90).rev() {
        let direction = direction(zenith as f64, 33.0);
        let ellipse = ellipse_of(&antenna.field(&direction), &direction).unwrap();
        assert_eq!(ellipse.hand, Some(RIGHT));
        assert!(ellipse.axial_ratio.0 >= before - 1e-9);
        before = ellipse.axial_ratio.0;
    }
    assert!((before - 4.1).abs() < 0.05, "{before}");
}

#[test]
fn a_patch_gets_more_elliptical_off_its_axis_and_turns_over_behind() {
    let antenna = patch(7.0, 90.0, 0.0, 12.0);
    let at = |azimuth| {
        let direction = direction(90.0, azimuth);
        ellipse_of(&antenna.field(&direction), &direction).unwrap()
    };
    assert!(at(0.0).axial_ratio.0 < 1e-6);
    assert!(at(30.0).axial_ratio.0 > 0.1 && at(30.0).axial_ratio.0 < at(60.0).axial_ratio.0);
    assert_eq!(at(30.0).hand, Some(Hand::Right));
    assert_eq!(at(180.0).hand, Some(Hand::Left));
}

#[test]
fn turning_the_hand_over_swaps_the_hands_and_nothing_else() {
    for antenna in every_kind() {
        let Some(hand) = antenna.hand() else {
            assert_eq!(antenna.with_hand(Hand::Left), antenna);
            continue;
        };
        let turned = antenna.with_hand(hand.opposite());
        assert_eq!(turned.hand(), Some(hand.opposite()));
        assert_eq!(turned, Antenna::new(turned.model().clone()).unwrap());
        assert_eq!(turned.with_hand(hand), antenna);
        for direction in grid() {
            let power = |vector: &ComplexVec3| vector.iter().map(|value| value.norm_sqr()).sum::<f64>();
            let (right, left) = split_hands(&antenna.field(&direction), &direction);
            let (turned_right, turned_left) = split_hands(&turned.field(&direction), &direction);
            assert!((power(&right) - power(&turned_left)).abs() < 1e-12);
            assert!((power(&left) - power(&turned_right)).abs() < 1e-12);
        }
    }
}

#[test]
fn the_integrals_agree_with_a_plain_fine_sum() {
    for antenna in every_kind() {
        let mean = mean_over_sphere(|direction| antenna.gain(direction));
        assert!((antenna.efficiency() - mean).abs() < 1e-3, "{:?}: {} {mean}", antenna.model(), antenna.efficiency());
    }
    assert!((dipole().efficiency() - 1.0).abs() < 1e-9);
    assert!((omni(2.0, 1.0, 20.0).efficiency() - 1.0).abs() < 1e-3);
}

#[test]
fn partial_gains_agree_with_a_plain_fine_sum_at_every_attitude() {
    for antenna in every_kind() {
        for tilt in [0.0, 10.0, 37.0, 60.0, 90.0, 130.0] {
            for azimuth in [0.0, 30.0, 90.0] {
                let up = direction(tilt, azimuth);
                let vertical = mean_over_sphere(|direction| {
                    let field = antenna.field(direction);
                    let along = up.dot(direction);
                    let part = field.x * up.x + field.y * up.y + field.z * up.z;
                    part.norm_sqr() / (1.0 - along * along).max(1e-12)
                });
                let got = antenna.mean_partial_gains_under(&up);
                let what = format!("{:?} {tilt} {azimuth}: {got:?} {vertical}", antenna.model());
                let allowed = match antenna.shape {
                    Shape::Beam(_) => 0.02,
                    // The mean over the tilt, which a drawn ellipse has but one of.
                    Shape::Measured { sign: Some(_), .. } => f64::INFINITY,
                    Shape::Measured { .. } => 0.02,
                    _ => 0.005,
                };
                assert!((got.vertical - vertical).abs() < allowed, "{what}");
                assert!((got.vertical + got.horizontal - antenna.efficiency()).abs() < 1e-12, "{what}");
                if azimuth == 0.0 {
                    let by_tilt = antenna.mean_partial_gains(Degrees(tilt).radians());
                    assert!((by_tilt.vertical - got.vertical).abs() < 1e-9);
                }
            }
        }
    }
}

#[test]
fn a_short_whip_shares_its_gain_as_algebra_says() {
    let efficiency = Db(-0.5).ratio();
    for tilt in [0.0f64, 33.0, 90.0] {
        let sine = libm::sin(tilt.to_radians());
        let got = whip().mean_partial_gains(Degrees(tilt).radians());
        assert!((got.horizontal - 0.75 * sine * sine * efficiency).abs() < 1e-12);
    }
}

#[test]
fn too_much_gain_for_the_shape_is_remarked_upon() {
    let caveats = patch(12.0, 75.0, 2.0, 12.0).caveats();
    assert!(
        matches!(caveats[..], [AntennaCaveat::GainExceedsDirectivity { gain, directivity }]
        if (gain.0 - 12.0).abs() < 1e-9 && directivity.0 > 6.0 && directivity.0 < 9.5),
        "{caveats:?}"
    );
    assert!(matches!(omni(5.0, 1.0, 15.0).caveats()[..], [AntennaCaveat::GainExceedsDirectivity { .. }]));
    for antenna in [dipole(), omni(1.8, 1.5, 15.0), patch(6.5, 75.0, 2.0, 12.0)] {
        assert_eq!(antenna.caveats(), [], "{:?}", antenna.directivity());
    }
    assert_eq!(whip().caveats(), [AntennaCaveat::CounterpoiseUnknown]);
}

#[test]
fn numbers_out_of_range_are_refused_by_name() {
    let whip = |gain| Antenna::new(AntennaModel::ShortWhip { peak_gain: Dbi(gain) });
    assert_eq!(whip(20.5), Err(AntennaError::PeakGain { got: Dbi(20.5) }));
    assert!(whip(20.0).is_ok() && whip(-15.0).is_ok() && whip(f64::NAN).is_err() && whip(-15.1).is_err());
    let message = whip(20.5).unwrap_err().to_string();
    assert_eq!(message, "a peak gain of 20.5 dBi is outside -15 dBi to 20 dBi");
    let wound = |turns, circumference, pitch, loss| {
        helix_of(HelixSize::Wound { turns, circumference, pitch: Degrees(pitch), loss: Db(loss) })
    };
    assert!(wound(5.0, 1.0, 13.0, 2.0).is_ok());
    assert_eq!(wound(2.9, 1.0, 13.0, 2.0), Err(AntennaError::Turns { got: 2.9 }));
    assert_eq!(wound(5.0, 1.2, 13.0, 2.0), Err(AntennaError::Circumference { got: 1.2 }));
    assert_eq!(wound(5.0, 1.0, 15.0, 2.0), Err(AntennaError::Pitch { got: Degrees(15.0) }));
    assert_eq!(wound(5.0, 1.0, 13.0, -0.1), Err(AntennaError::Loss { got: Db(-0.1) }));
    let deep = CircularOmni { hand: RIGHT, peak_gain: Dbi(2.0), axial_ratio: Db(1.0), null_depth: Db(41.0) };
    assert_eq!(Antenna::new(AntennaModel::CircularOmni(deep)), Err(AntennaError::NullDepth { got: Db(41.0) }));
    let built = |gain, width, ratio, back| {
        Antenna::new(AntennaModel::CircularPatch(CircularPatch {
            hand: RIGHT,
            peak_gain: Dbi(gain),
            beamwidth: Degrees(width),
            axial_ratio: Db(ratio),
            front_to_back: Db(back),
        }))
    };
    assert!(matches!(built(20.1, 70.0, 1.0, 10.0), Err(AntennaError::PeakGain { .. })));
    assert!(matches!(built(7.0, 19.9, 1.0, 10.0), Err(AntennaError::Beamwidth { .. })));
    assert!(matches!(built(7.0, 70.0, -0.1, 10.0), Err(AntennaError::AxialRatio { .. })));
    assert!(matches!(built(7.0, 70.0, f64::INFINITY, 10.0), Err(AntennaError::AxialRatio { .. })));
    assert!(matches!(built(7.0, 70.0, 1.0, 2.9), Err(AntennaError::FrontToBack { .. })));
    let zero = Ellipse::circular(RIGHT).jones();
    let zero = Jones { x: zero.x * 0.0, y: zero.y * 0.0 };
    assert_eq!(Antenna::new(AntennaModel::Isotropic(zero)), Err(AntennaError::State));
}
