//! Noise, thresholds and picture numbers against computed tables.

use lapmargin::rf::noise::{
    ReceiverStage, carson_bandwidth, cascade_noise_figure, fm_gain, picture_grade, thermal_noise, threshold,
};
use lapmargin::units::{Db, Hertz};

/// Computed from k (SI) and 290 K: bandwidth in MHz, noise at 0, 6 and 10 dB noise figure, in dBm, three decimals.
#[test]
fn thermal_noise_matches_the_table() {
    assert!((thermal_noise(Hertz(1.0), Db(0.0)).0 + 173.975).abs() < 0.000_51);
    for (megahertz, plain, six, ten) in [
        (1.0, -113.975, -107.975, -103.975),
        (8.0, -104.944, -98.944, -94.944),
        (18.0, -101.422, -95.422, -91.422),
        (20.0, -100.965, -94.965, -90.965),
        (27.0, -99.662, -93.662, -89.662),
    ] {
        for (figure, expected) in [(0.0, plain), (6.0, six), (10.0, ten)] {
            let got = thermal_noise(Hertz::from_megahertz(megahertz), Db(figure));
            assert!((got.0 - expected).abs() < 0.000_51, "{megahertz} {figure}: {got}");
        }
    }
    let limit = threshold(Hertz::from_megahertz(18.0), Db(6.0), Db(10.0));
    assert!((limit.0 + 85.422).abs() < 0.000_51);
}

/// Computed: 2 dB with 15 dB of gain in front of 8 dB.
#[test]
fn a_cascade_matches_its_example() {
    let first = ReceiverStage { noise_figure: Db(2.0), gain: Db(15.0) };
    let second = ReceiverStage { noise_figure: Db(8.0), gain: Db(0.0) };
    assert!((cascade_noise_figure(&[first, second]).0 - 2.437).abs() < 0.000_51);
}

/// Carson's rule by its own arithmetic: peak-to-peak deviation, top frequency and bandwidth, all in MHz.
#[test]
fn bandwidths_match_the_table() {
    for (deviation, top, expected) in
        [(6.0, 5.0, 16.0), (8.0, 5.0, 18.0), (8.0, 6.5, 21.0), (10.0, 5.0, 20.0), (7.0, 4.2, 15.4)]
    {
        let got = carson_bandwidth(Hertz::from_megahertz(deviation), Hertz::from_megahertz(top));
        assert!((got.megahertz() - expected).abs() < 1e-9);
    }
}

/// Computed from the derived formula, three decimals; a signal simulation gave 31.80 dB at a carrier-to-noise ratio of
/// 20 dB for the first row (formula: 31.78 dB with 20 MHz).
#[test]
fn fm_gains_match_the_table() {
    for (deviation, top, bandwidth, expected) in [
        (8.0, 5.0, 18.0, 11.319),
        (8.0, 5.0, 20.0, 11.776),
        (6.0, 5.0, 18.0, 8.820),
        (10.0, 5.0, 20.0, 13.714),
        (8.0, 4.2, 18.0, 13.590),
    ] {
        let megahertz = Hertz::from_megahertz;
        let got = fm_gain(megahertz(deviation), megahertz(top), megahertz(bandwidth));
        assert!((got.0 - expected).abs() < 0.000_51, "{deviation} {top} {bandwidth}: {got}");
    }
}

/// A cable-television measuring note (second-hand): signal-to-noise ratio behind each grade; then the resulting grades
/// for carrier-to-noise ratios, computed.
#[test]
fn grades_match_the_tables() {
    for (grade, ratio) in [(5.0, 45.5), (4.0, 36.6), (3.0, 29.9), (2.0, 25.4), (1.0, 23.1)] {
        assert!((picture_grade(Db(ratio)) - grade).abs() < 0.02, "{ratio}: {}", picture_grade(Db(ratio)));
    }
    let gain = fm_gain(Hertz(8e6), Hertz(5e6), Hertz(20e6));
    for (carrier_to_noise, grade) in [(10.0, 1.0), (15.0, 2.36), (20.0, 3.32), (25.0, 4.02), (30.0, 4.61)] {
        let got = picture_grade(Db(carrier_to_noise) + gain);
        assert!((got - grade).abs() < 0.005_1, "{carrier_to_noise}: {got}");
    }
}
