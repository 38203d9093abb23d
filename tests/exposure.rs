//! Radiated power, exposure limits and distances against published limits and computed tables.

use lapmargin::rf::exposure::{
    Exposed, ExposureStandard, Reflection, eirp, eirp_of_erp, eirp_of_field_strength, exposure_distance,
    field_strength, icnirp_local_limit, power_density,
};
use lapmargin::rf::power_rule::{Emission, PRESETS, PowerLimit, RuleVerdict, check, preset};
use lapmargin::units::{Db, Dbi, Dbm, Hertz, Metres, Watts, WattsPerSquareMetre};
use proptest::prelude::*;

/// Computed: radiated power in watts, distance to 10 and to 50 W/m², to 10 with the field doubled, density at 1 m.
#[test]
fn distances_match_the_table() {
    for (watts, ten, fifty, doubled, density) in [
        (0.025, 0.0141, 0.0063, 0.0282, 1.989e-3),
        (0.2, 0.0399, 0.0178, 0.0798, 1.592e-2),
        (1.0, 0.0892, 0.0399, 0.1784, 7.958e-2),
        (4.0, 0.1784, 0.0798, 0.3568, 4.0 * 7.957_7e-2),
    ] {
        let level = Dbm::from_watts(Watts(watts));
        let distance = |limit, reflection| exposure_distance(level, WattsPerSquareMetre(limit), reflection).computed.0;
        assert!((distance(10.0, Reflection::None) - ten).abs() < 0.000_051);
        assert!((distance(50.0, Reflection::None) - fifty).abs() < 0.000_051);
        assert!((distance(10.0, Reflection::DoubledField) - doubled).abs() < 0.000_11);
        assert!((power_density(level, Metres(1.0)).0 / density - 1.0).abs() < 4e-4);
    }
}

/// Computed: 1 W at 10 m, 25 mW at 3 m.
#[test]
fn fields_match_their_examples() {
    for (watts, distance, density, field) in [(1.0, 10.0, 7.957_75e-4, 0.547_72), (0.025, 3.0, 2.210_49e-4, 0.288_68)] {
        let level = Dbm::from_watts(Watts(watts));
        assert!((power_density(level, Metres(distance)).0 / density - 1.0).abs() < 1e-5);
        // The example uses the rounded 30 for Z0/4π, which is 0.035 % of field too much.
        assert!((field_strength(level, Metres(distance)) / field - 1.0).abs() < 5e-4);
    }
}

/// ICNIRP 2020 reference levels and 47 CFR 1.1310 (both second-hand), in W/m².
#[test]
fn limits_match_the_standards() {
    use Exposed::{GeneralPublic, Occupational};
    use ExposureStandard::{Cfr47Part1, Icnirp2020};
    for (standard, exposed, megahertz, expected) in [
        (Icnirp2020, GeneralPublic, 868.0, 4.34),
        (Icnirp2020, GeneralPublic, 915.0, 4.575),
        (Icnirp2020, Occupational, 868.0, 21.7),
        (Icnirp2020, GeneralPublic, 2440.0, 10.0),
        (Icnirp2020, GeneralPublic, 5800.0, 10.0),
        (Icnirp2020, Occupational, 5800.0, 50.0),
        (Cfr47Part1, GeneralPublic, 868.0, 5.787),
        (Cfr47Part1, GeneralPublic, 915.0, 6.10),
        (Cfr47Part1, GeneralPublic, 5800.0, 10.0),
        (Cfr47Part1, Occupational, 900.0, 30.0),
        (Cfr47Part1, Occupational, 5800.0, 50.0),
    ] {
        let got = standard.limit(exposed, Hertz::from_megahertz(megahertz)).unwrap().0;
        assert!((got - expected).abs() < 0.000_51, "{standard:?} {exposed:?} {megahertz}: {got}");
    }
    for (megahertz, expected, tolerance) in [(868.0, 19.52, 0.005_1), (5800.0, 40.0, 1e-12)] {
        let got = icnirp_local_limit(GeneralPublic, Hertz::from_megahertz(megahertz)).unwrap().0;
        assert!((got - expected).abs() < tolerance, "{megahertz}: {got}");
    }
    assert!(icnirp_local_limit(GeneralPublic, Hertz(100e6)).is_err());
}

#[test]
fn radiated_power_adds_up() {
    assert_eq!(eirp(Dbm(14.0), Db(0.5), Dbi(2.0)), Dbm(15.5));
    // 25 and 500 mW against a dipole: 16.13 and 29.14 dBm.
    assert!((eirp_of_erp(Dbm::from_watts(Watts(0.025))).0 - 16.13).abs() < 0.005_1);
    assert!((eirp_of_erp(Dbm::from_watts(Watts(0.5))).0 - 29.14).abs() < 0.005_1);
    // 47 CFR 15.249: 50 mV/m and, for harmonics, 500 µV/m at 3 m.
    assert!((eirp_of_field_strength(0.05, Metres(3.0)).0 + 1.249).abs() < 0.000_51);
    assert!((eirp_of_field_strength(0.000_5, Metres(3.0)).0 + 41.25).abs() < 0.005_1);
}

/// Carriers of the five trade bands, in MHz (common practice; six public tables agree).
const BANDS: [(char, [f64; 8]); 5] = [
    ('A', [5865.0, 5845.0, 5825.0, 5805.0, 5785.0, 5765.0, 5745.0, 5725.0]),
    ('B', [5733.0, 5752.0, 5771.0, 5790.0, 5809.0, 5828.0, 5847.0, 5866.0]),
    ('E', [5705.0, 5685.0, 5665.0, 5645.0, 5885.0, 5905.0, 5925.0, 5945.0]),
    ('F', [5740.0, 5760.0, 5780.0, 5800.0, 5820.0, 5840.0, 5860.0, 5880.0]),
    ('R', [5658.0, 5695.0, 5732.0, 5769.0, 5806.0, 5843.0, 5880.0, 5917.0]),
];

fn held(rule: &str, bandwidth: f64) -> String {
    let rule = preset(rule).expect("a preset");
    let mut names = Vec::new();
    for (letter, carriers) in BANDS {
        for (index, carrier) in carriers.iter().enumerate() {
            if rule.holds(Hertz::from_megahertz(*carrier), Hertz::from_megahertz(bandwidth)) {
                names.push(format!("{letter}{}", index + 1));
            }
        }
    }
    names.join(" ")
}

/// Counted by hand from the channel table.
#[test]
fn channels_lie_in_their_bands() {
    assert_eq!(
        held("eu-5725-5875", 0.0),
        "A1 A2 A3 A4 A5 A6 A7 A8 B1 B2 B3 B4 B5 B6 B7 B8 F1 F2 F3 F4 F5 F6 F7 R3 R4 R5 R6"
    );
    assert_eq!(held("eu-5725-5875", 18.0), "A1 A2 A3 A4 A5 A6 A7 B2 B3 B4 B5 B6 B7 B8 F1 F2 F3 F4 F5 F6 F7 R4 R5 R6");
    assert_eq!(
        held("amateur-5650-5850", 0.0),
        "A2 A3 A4 A5 A6 A7 A8 B1 B2 B3 B4 B5 B6 B7 E1 E2 E3 F1 F2 F3 F4 F5 F6 R1 R2 R3 R4 R5 R6"
    );
}

proptest! {
    #[test]
    fn a_rule_is_broken_exactly_above_its_limits(level in -40.0..60.0f64, gain in -5.0..15.0f64, pick in 0..PRESETS.len()) {
        let rule = &PRESETS[pick];
        let sent = Emission {
            conducted: Dbm(level),
            peak_gain: Dbi(gain),
            eirp: Dbm(level + gain),
            carrier: Hertz(0.5 * (rule.from.0 + rule.to.0)),
            bandwidth: Hertz(0.0),
            is_digital: true,
        };
        // How far each power is above its limit, worked out here: the conducted one may need less gain.
        let radiated = rule.limit.eirp().map(|limit| level + gain - limit.0);
        let conducted = match rule.limit {
            PowerLimit::Conducted { most, free_gain } => Some(level + (gain - free_gain.0).max(0.0) - most.0),
            PowerLimit::Transmitter(most) => Some(level - most.0),
            _ => None,
        };
        let near = |got: Option<Db>, over: Option<f64>| match (got, over.filter(|over| *over > 0.0)) {
            (Some(got), Some(over)) => (got.0 - over).abs() < 1e-8,
            (got, over) => got.is_none() && over.is_none(),
        };
        let room = radiated.map(|over| -over.max(conducted.unwrap_or(over)));
        match check(&sent, rule) {
            RuleVerdict::NotBounded => prop_assert!(radiated.is_none() && conducted.is_some_and(|over| over <= 0.0)),
            RuleVerdict::Within(got) => prop_assert!(room.is_some_and(|room| room >= 0.0 && (room - got.0).abs() < 1e-8)),
            RuleVerdict::Above { conducted: one, radiated: other } => {
                prop_assert!(one.is_some() || other.is_some());
                prop_assert!(near(one, conducted) && near(other, radiated), "{one:?} {other:?}");
            }
            verdict => prop_assert!(false, "{verdict:?}"),
        }
        let analogue = Emission { is_digital: false, ..sent };
        prop_assert_eq!(check(&analogue, rule) == RuleVerdict::OtherModulation, rule.digital_alone);
    }

    #[test]
    fn more_power_never_needs_less_distance(level in -20.0..50.0f64, more in 0.0..10.0f64) {
        let limit = WattsPerSquareMetre(10.0);
        let near = exposure_distance(Dbm(level), limit, Reflection::None);
        let far = exposure_distance(Dbm(level + more), limit, Reflection::None);
        prop_assert!(near.computed <= far.computed && near.advised <= far.advised);
        prop_assert!(near.computed <= near.advised);
    }
}
