//! Free-space loss against published forms and computed tables.

use lapmargin::rf::free_space::{basic_transmission_loss, field_factor, wavelength};
use lapmargin::units::{Dbi, Dbm, Hertz, Metres};

/// Computed from ITU-R P.525-5 eq. (5) with two independent programs; three decimals printed. Carrier in MHz, wavelength in
/// millimetres, loss in dB at 1, 10, 50, 100, 300 and 1000 m.
const TABLE: [(f64, f64, [f64; 6]); 6] = [
    (868.0, 345.383, [31.218, 51.218, 65.198, 71.218, 80.761, 91.218]),
    (1280.0, 234.213, [34.592, 54.592, 68.571, 74.592, 84.134, 94.592]),
    (2440.0, 122.866, [40.196, 60.196, 74.175, 80.196, 89.738, 100.196]),
    (5658.0, 52.986, [47.501, 67.501, 81.480, 87.501, 97.043, 107.501]),
    (5800.0, 51.688, [47.716, 67.716, 81.696, 87.716, 97.259, 107.716]),
    (5917.0, 50.666, [47.890, 67.890, 81.869, 87.890, 97.432, 107.890]),
];

#[test]
fn losses_match_the_table() {
    for (megahertz, millimetres, losses) in TABLE {
        let carrier = Hertz::from_megahertz(megahertz);
        assert!((wavelength(carrier).0 * 1000.0 - millimetres).abs() < 0.000_6, "{megahertz}");
        for (distance, expected) in [1.0, 10.0, 50.0, 100.0, 300.0, 1000.0].into_iter().zip(losses) {
            let got = basic_transmission_loss(Metres(distance), carrier);
            assert!((got.0 - expected).abs() < 0.000_6, "{megahertz} MHz {distance} m: {got} {expected}");
            let of_field = -20.0 * libm::log10(field_factor(Metres(distance), carrier));
            assert!((of_field - expected).abs() < 0.000_6, "{megahertz} MHz {distance} m: {of_field} {expected}");
        }
    }
}

#[test]
fn losses_match_the_printed_forms() {
    // ITU-R P.525-5 eq. (6) prints 32.4 for 1 MHz and 1 km; exactly 32.44778. 10 GHz over 10 km: 132.4478 (printed in a
    // signal-processing library's documentation, and computed).
    for (frequency, distance, expected) in [(1e6, 1e3, 32.44778), (1e9, 1e3, 92.44778), (10e9, 10e3, 132.4478)] {
        let got = basic_transmission_loss(Metres(distance), Hertz(frequency));
        // 1 MHz over 1 km is 3.3 wavelengths, so the clamp does not act.
        assert!((got.0 - expected).abs() < 0.000_06, "{got} {expected}");
    }
}

#[test]
fn levels_of_worked_examples() {
    // Computed: 14 dBm EIRP over 50 m and 23 dBm over 300 m at 5.8 GHz into 0 dBi.
    for (eirp, distance, expected) in [(14.0, 50.0, -67.696), (23.0, 300.0, -74.259)] {
        let level = Dbm(eirp) - basic_transmission_loss(Metres(distance), Hertz(5.8e9)) + Dbi(0.0);
        assert!((level.0 - expected).abs() < 0.000_6, "{level}");
    }
}
