//! One link by itself against published tables, the planner's promise of its text, and hostile texts.

use lapmargin::link::pair::sweep::{Along, SweptAntenna, sweep};
use lapmargin::link::pair::text::{self, MOST_CHARACTERS};
use lapmargin::link::pair::{PairEnd, PairError, PairLink, PairObstacle, PairObstacleKind, hearing};
use lapmargin::link::report::Term;
use lapmargin::plan::document::{AntennaKind, StatedHand};
use lapmargin::rf::material::Material;
use lapmargin::units::Db;
use proptest::prelude::*;

/// Two antennas face to face in empty space: nothing bounces and nothing scatters.
fn empty_space() -> PairLink {
    PairLink {
        transmitter: PairEnd::default(),
        receiver: PairEnd::default(),
        ground: None,
        surroundings: None,
        ..PairLink::default()
    }
}

fn circular(end: &mut PairEnd, hand: StatedHand, axial_ratio_db: f64) {
    end.antenna.kind = AntennaKind::CircularOmni;
    end.antenna.hand = hand;
    end.antenna.axial_ratio_db = Some(axial_ratio_db);
}

fn spread(link: &PairLink) -> (f64, f64) {
    let (least, most) =
        hearing::hear(link).expect("a plain link").explanation.tilt_spread_db.expect("a tilt is unknown");
    (-most, -least)
}

/// Loss of one antenna of some axial ratio against a pure circular wave, and of two antennas over all tilts. Source: the
/// closed form of two ellipses, computed independently twice, as in docs/model.md (check tables 1 and 2).
#[test]
fn the_polarization_loss_table_against_axial_ratios() {
    for (axial_ratio, same, opposite) in [
        (0.5, 0.004, 30.82),
        (1.0, 0.014, 24.82),
        (2.0, 0.057, 18.87),
        (3.0, 0.125, 15.47),
        (6.0, 0.455, 10.02),
        (10.0, 1.038, 6.73),
        (20.0, 2.226, 3.97),
    ] {
        for (hand, loss, tolerance) in [(StatedHand::Right, same, 6e-4), (StatedHand::Left, opposite, 6e-3)] {
            let mut link = empty_space();
            circular(&mut link.transmitter, StatedHand::Right, axial_ratio);
            circular(&mut link.receiver, hand, 0.0);
            let got = -hearing::hear(&link).unwrap().polarization.0;
            assert!((got - loss).abs() < tolerance, "{axial_ratio} dB {hand:?}: {got} {loss}");
        }
    }
    let infinite = f64::INFINITY;
    for (first, second, same, opposite) in [
        (1.0, 1.0, (0.0000, 0.0574), (18.815, infinite)),
        (1.0, 2.0, (0.0140, 0.1285), (15.354, 24.935)),
        (1.0, 3.0, (0.0545, 0.2253), (12.962, 19.040)),
        (2.0, 2.0, (0.0000, 0.2283), (12.907, infinite)),
        (2.0, 3.0, (0.0133, 0.3538), (11.066, 25.160)),
        (3.0, 3.0, (0.0000, 0.5081), (9.570, infinite)),
        (3.0, 6.0, (0.1000, 1.0881), (6.544, 16.428)),
        (6.0, 6.0, (0.0000, 1.9259), (4.459, infinite)),
    ] {
        for (hand, (least, most), tolerance) in [(StatedHand::Right, same, 6e-5), (StatedHand::Left, opposite, 6e-4)] {
            let mut link = empty_space();
            circular(&mut link.transmitter, StatedHand::Right, first);
            circular(&mut link.receiver, hand, second);
            let (got_least, got_most) = spread(&link);
            assert!((got_least - least).abs() < tolerance, "{first} {second} {hand:?}: {got_least} {least}");
            let is_whole = most == infinite && got_most > 80.0;
            assert!(is_whole || (got_most - most).abs() < tolerance, "{first} {second} {hand:?}: {got_most} {most}");
        }
    }
    for (axial_ratio, least, most) in [(3.0, 1.7643, 4.7643), (1.0, 2.5390, 3.5390)] {
        let mut link = empty_space();
        circular(&mut link.transmitter, StatedHand::Left, axial_ratio);
        link.receiver.antenna.kind = AntennaKind::Dipole;
        let got = spread(&link);
        assert!((got.0 - least).abs() < 6e-5 && (got.1 - most).abs() < 6e-5, "{axial_ratio}: {got:?}");
    }
}

/// Two linear antennas, one turned about the line: `cos²`, with the values printed in docs/model.md.
#[test]
fn two_linear_antennas_lose_by_the_angle_between_them() {
    for (turn_deg, loss) in
        [(0.0, 0.0), (15.0, 0.3011), (30.0, 1.2494), (45.0, 3.0103), (60.0, 6.0206), (75.0, 11.7401)]
    {
        let mut link = empty_space();
        link.transmitter.antenna.kind = AntennaKind::Dipole;
        link.receiver.antenna.kind = AntennaKind::Dipole;
        link.transmitter.turn_deg = turn_deg;
        let heard = hearing::hear(&link).unwrap();
        assert!((heard.polarization.0 + loss).abs() < 6e-5, "{turn_deg}: {}", heard.polarization);
        assert_eq!(heard.explanation.tilt_spread_db, None);
    }
}

/// ITU-R P.525-5, eq. 5, at the distances and carriers of docs/model.md; 32.4 + 20 log f + 20 log d gives the same.
#[test]
fn free_space_of_the_worked_example() {
    for (megahertz, metres, loss) in [
        (1280.0, 1.0, 34.592),
        (2440.0, 10.0, 60.196),
        (5658.0, 50.0, 81.480),
        (5800.0, 50.0, 81.696),
        (5800.0, 100.0, 87.716),
        (5917.0, 1000.0, 107.890),
        (1000.0, 1000.0, 92.4478),
    ] {
        let link = PairLink { distance_m: metres, frequency_hz: megahertz * 1e6, ..empty_space() };
        let heard = hearing::hear(&link).unwrap();
        assert!((heard.free_space_loss.0 - loss).abs() < 6e-4, "{megahertz} {metres}: {}", heard.free_space_loss);
        let step = heard.explanation.budget.iter().find(|line| line.term == Term::FreeSpace).unwrap();
        assert!((step.gain_db + loss).abs() < 6e-4);
        // In empty space the other paths do nothing, and the ladder ends at the margin.
        let others = heard.explanation.budget.iter().find(|line| line.term == Term::OtherPaths).unwrap();
        assert!(others.gain_db.abs() < 1e-9, "{}", others.gain_db);
    }
}

/// The knife-edge table through the obstacle of a link: a metal wall far wider than a Fresnel zone. Beside an endless edge it
/// has two sides 500 m away, that change the field by less than 1 part in 1000. The model of an obstacle keeps the shadow and
/// the first ripple of an edge and dampens what lies further out: there the wall stays within the edge's own ripple.
#[test]
fn the_knife_edge_table_through_an_obstacle() {
    let table = crate::reference_table::read("knife_edge.csv", include_str!("reference/knife_edge.csv"));
    crate::reference_table::check(&table, 125, |row, findings| {
        let (nu, loss) = (row.number("nu"), row.number("loss_exact_db"));
        // 25 m from either end at 5.8 GHz: h = ν / √(2/λ · (1/25 + 1/25)).
        let wavelength = 299_792_458.0 / 5.8e9;
        let height = nu / (2.0 / wavelength * (2.0 / 25.0_f64)).sqrt();
        let mut link = PairLink { distance_m: 50.0, ..empty_space() };
        link.transmitter.height_m = 20.0;
        link.receiver.height_m = 20.0;
        link.obstacle = Some(PairObstacle {
            distance_m: 25.0,
            width_m: 1000.0,
            height_m: 20.0 + height,
            material: Material::Metal,
            thickness_m: 0.001,
            ..PairObstacle::default()
        });
        let obstacle = hearing::hear(&link).unwrap().obstacle.unwrap();
        let got_nu = obstacle.nu.unwrap();
        findings.near("the diffraction parameter", got_nu, nu, 1e-9);
        findings.near("an endless edge", obstacle.edge_loss.unwrap().0, loss, 1e-6);
        if nu >= -1.2 {
            // A steep way over the edge is longer than the small-angle form of the table knows.
            let longer = 20.0 * libm::log10(libm::hypot(height, 25.0) / 25.0);
            findings.near("the wall", obstacle.loss.0, loss, 0.06 + if nu > 3.0 { longer } else { 0.0 });
        } else {
            // The envelope of the ripple, P.526-16 §2.7: the first term of the asymptotic series, 1 / (π√2 |ν|).
            let ripple = -20.0 * libm::log10(1.0 - 1.0 / (std::f64::consts::PI * std::f64::consts::SQRT_2 * -nu));
            findings.near("the wall beside the ripple", obstacle.loss.0, 0.0, ripple);
        }
    });
}

/// Rayleigh fading: 9.773, 19.978 and 29.998 dB for an outage of a tenth, a hundredth and a thousandth (closed form
/// -10 log(-ln(1 - p)), as in docs/model.md): 10 dB for every decade.
#[test]
fn rayleigh_takes_ten_decibels_for_a_decade() {
    let rows = hearing::hear(&PairLink::default()).unwrap().fading;
    for (row, wanted) in rows.iter().zip([9.773, 19.978, 29.998]) {
        assert!((row.rayleigh.0 - wanted).abs() < 6e-4, "{row:?}");
        assert!(row.here < row.rayleigh);
    }
}

#[test]
fn a_sweep_passes_through_the_link_and_a_crossed_hand_lies_below() {
    let link = PairLink { obstacle: Some(PairObstacle::default()), ..PairLink::default() };
    for along in Along::ALL {
        let places = 61;
        let swept = sweep(&link, along, places).unwrap();
        assert_eq!((swept.at.len(), swept.along), (places, along));
        assert!(swept.at.windows(2).all(|pair| pair[0] < pair[1]), "{along:?}");
        assert_eq!((swept.at[0], swept.at[places - 1]), along.extent(&link));
        for (case, curve) in SweptAntenna::ALL.into_iter().zip(&swept.curves) {
            // Each place of a curve is the link heard there.
            for place in [7, 30, 55] {
                let mut there = case.of(&link);
                along.number().set(&mut there, Some(swept.at[place])).unwrap();
                let heard = hearing::hear(&there);
                let wanted = heard.ok().map(|heard| heard.explanation);
                assert_eq!(curve[place].map(|point| point.level_dbm), wanted.as_ref().map(|wanted| wanted.level_dbm));
                assert_eq!(curve[place].map(|point| point.outage), wanted.as_ref().map(|wanted| wanted.outage));
            }
        }
        let [matched, crossed, _] = &swept.curves;
        let (matched, crossed): (f64, f64) = (
            matched.iter().flatten().map(|point| point.margin_db).sum(),
            crossed.iter().flatten().map(|point| point.margin_db).sum(),
        );
        assert!(matched > crossed, "{along:?}");
    }
}

#[test]
fn linear_receivers_have_their_own_matched_and_crossed() {
    let mut link = empty_space();
    link.receiver.antenna.kind = AntennaKind::Dipole;
    link.receiver.turn_deg = 40.0;
    let loss = |case: SweptAntenna| -hearing::hear(&case.of(&link)).unwrap().polarization.0;
    assert!(loss(SweptAntenna::Matched).abs() < 1e-9, "{}", loss(SweptAntenna::Matched));
    assert!(loss(SweptAntenna::Crossed) > 60.0);
    let circular = loss(SweptAntenna::OtherSort);
    assert!((circular - 3.0103).abs() < 0.1, "{circular}");
}

#[test]
fn what_cannot_be_is_said() {
    let mut link = PairLink { distance_m: f64::NAN, ..PairLink::default() };
    let problem = hearing::hear(&link).unwrap_err();
    assert!(matches!(problem, PairError::Value { .. }));
    assert_eq!(problem.to_string(), "a distance of NaN is outside 0.5 to 2000 m");
    link = PairLink::default();
    link.receiver.antenna.hand = StatedHand::Unknown;
    assert_eq!(
        hearing::hear(&link).unwrap_err().to_string(),
        "the hand of the receiver's antenna must be right or left here"
    );
    let block = PairObstacle { kind: PairObstacleKind::Block, distance_m: 30.0, ..PairObstacle::default() };
    link = PairLink { obstacle: Some(block), ..PairLink::default() };
    assert!(matches!(hearing::hear(&link), Err(PairError::Inside(_))));
    let tree = PairObstacle { kind: PairObstacleKind::Tree, base_m: 9.0, ..PairObstacle::default() };
    link.obstacle = Some(tree);
    assert!(matches!(hearing::hear(&link), Err(PairError::Unfit(_))));
}

#[test]
fn the_usual_link_is_one_digit_and_a_changed_one_says_what_changed() {
    assert_eq!(text::write(&PairLink::default()), "1");
    let mut link = PairLink { distance_m: 35.5, ..PairLink::default() };
    link.receiver.antenna.hand = StatedHand::Left;
    link.obstacle = Some(PairObstacle { height_m: 1.75, ..PairObstacle::default() });
    assert_eq!(text::write(&link), "1~rw:left~o:wall~d:35.5~oh:1.75");
    assert_eq!(text::read("1~rw:left~o:wall~d:35.5~oh:1.75"), Ok(link));
    for (wrong, says) in [
        ("", "the link has the form \"\"; this page reads form 1"),
        ("2~d:1", "the link has the form \"2\"; this page reads form 1"),
        ("1~d", "\"d\" is no part of a link"),
        ("1~d:5~d:6", "\"d\" stands there twice"),
        ("1~d:far", "\"far\" is no number for a distance"),
        ("1~d:1e9", "a distance of 1000000000 is outside 0.5 to 2000 m"),
        ("1~d:NaN", "a distance of NaN is outside 0.5 to 2000 m"),
        ("1~tk:teapot", "\"tk:teapot\" is no part of a link"),
        ("1~zz:1", "\"zz:1\" is no part of a link"),
        ("1~rw:unknown", "the hand of the receiver's antenna must be right or left here"),
    ] {
        assert_eq!(text::read(wrong).unwrap_err().to_string(), says, "{wrong}");
    }
    let long = format!("1~d:{}", "1".repeat(MOST_CHARACTERS));
    assert!(text::read(&long).is_err());
}

/// A link with every number somewhere in its range, biased to the ends.
fn any_link() -> impl Strategy<Value = PairLink> {
    use lapmargin::link::pair::number::PairNumber;
    let number = prop_oneof![Just(0.0), Just(1.0), 0.0..1.0_f64];
    let count = PairNumber::ALL.len();
    (proptest::collection::vec((number, 0..4_u8), count), 0..6_usize, 0..3_usize, any::<[bool; 4]>()).prop_map(
        |(numbers, kind, obstacle, [left, is_empty, is_digital, has_obstacle])| {
            let mut link = PairLink::default();
            link.transmitter.antenna.kind = lapmargin::plan::presets::ANTENNA_KINDS[kind];
            link.receiver.antenna.kind = lapmargin::plan::presets::ANTENNA_KINDS[5 - kind];
            if left {
                link.receiver.antenna.hand = StatedHand::Left;
            }
            if is_empty {
                (link.ground, link.surroundings) = (None, None);
            }
            for (field, (share, chance)) in PairNumber::ALL.iter().zip(numbers) {
                let range = field.range();
                let value = (range.min + share * (range.max - range.min)).clamp(range.min, range.max);
                let is_count = matches!(field, PairNumber::TransmitConnectors | PairNumber::ReceiveConnectors);
                let is_of_others = match field {
                    PairNumber::Freeze => !is_digital,
                    PairNumber::Sensitivity => chance > 0,
                    field => field.key().starts_with('o') && !has_obstacle,
                };
                if !is_of_others && (chance > 0 || *field == PairNumber::Sensitivity) {
                    let value = if is_count { value.floor() } else { value };
                    field.set(&mut link, Some(value)).expect("within its range");
                }
            }
            if let Some(wall) = &mut link.obstacle {
                wall.kind = PairObstacleKind::ALL[obstacle];
            }
            link
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, rng_seed: proptest::test_runner::RngSeed::Fixed(5), ..ProptestConfig::default() })]

    #[test]
    fn a_link_comes_back_from_its_text_bit_for_bit(link in any_link()) {
        let written = text::write(&link);
        prop_assert!(written.len() <= MOST_CHARACTERS, "{}", written.len());
        prop_assert!(written.chars().all(|letter| letter.is_ascii_alphanumeric() || "~:.-_".contains(letter)), "{written}");
        prop_assert_eq!(text::read(&written), Ok(link));
    }

    #[test]
    fn whatever_keeps_its_ranges_is_heard_without_a_number_that_is_none(link in any_link()) {
        if let Ok(heard) = hearing::hear(&link) {
            let explained = &heard.explanation;
            let sum: f64 = explained.budget.iter().map(|line| line.gain_db).sum();
            prop_assert!((sum - explained.margin_db).abs() < 1e-6, "{sum} {}", explained.margin_db);
            prop_assert!((0.0..=1.0).contains(&explained.outage));
            prop_assert!(explained.k_db.is_finite() && heard.polarization <= Db(0.0));
            let gains = [heard.transmitter.gain.0, heard.receiver.gain.0, heard.free_space_loss.0];
            prop_assert!(gains.iter().all(|gain| gain.is_finite()), "{gains:?}");
        }
    }

    #[test]
    fn no_text_takes_the_reader_down(text in "\\PC*") {
        if let Ok(link) = text::read(&text) {
            prop_assert_eq!(link.check(), Ok(()));
        }
    }

    #[test]
    fn what_looks_like_a_link_is_read_or_refused(parts in proptest::collection::vec("(d|f|oh|ob|o|tk|rw|q|z|s|k|om|g):(none|wall|tree|left|digital-stated|brick|[-+0-9.e]{0,8})", 0..8)) {
        let text = format!("1~{}", parts.join("~"));
        if let Ok(link) = text::read(&text) {
            prop_assert_eq!(link.check(), Ok(()));
            prop_assert_eq!(text::read(&text::write(&link)), Ok(link));
        }
    }
}
