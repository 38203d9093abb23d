//! How often and how long a level fades.

use crate::reference_table::{check, check_printed, read};
use lapmargin::rf::SPEED_OF_LIGHT;
use lapmargin::rf::fading::{average_fade_duration, level_crossing_rate, maximum_doppler, rice_outage};
use lapmargin::units::{Db, Hertz, Metres, MetresPerSecond};

#[test]
fn every_row_of_the_simulation() {
    let table = read("rice_lcr.csv", include_str!("reference/rice_lcr.csv"));
    let (mut still, mut shifted) = (0, 0);
    check(&table, 46, |row, found| {
        let (k, margin) = (Db(row.number("k_db")).ratio(), Db(row.number("margin_db")));
        let rate = level_crossing_rate(k, margin, Hertz(1.0)).0;
        let duration = average_fade_duration(k, margin, Hertz(1.0)).0;
        let (simulated, simulated_duration) = (row.number("lcr_per_doppler_period"), row.number("afd_doppler_periods"));
        found.near(
            "outage",
            rice_outage(k, margin),
            row.number("outage_simulated"),
            4.0 * row.number("outage_std_error"),
        );
        if row.number("los_doppler_over_fd") == 0.0 {
            still += 1;
            found.near("rate", rate, simulated, 4.0 * row.number("lcr_std_error"));
            found.near("duration", duration, simulated_duration, 4.0 * row.number("afd_std_error"));
        } else {
            // A direct wave with a shift of its own: the formula does not cover it, and fades come more often and shorter.
            shifted += 1;
            found.between("rate, as a ratio", simulated / rate, 1.1, 2.2);
            found.between("duration, as a ratio", duration / simulated_duration, 1.1, 2.2);
        }
    });
    assert!(still > 30 && shifted >= 2, "{still} {shifted}");
}

#[test]
fn rates_and_durations_at_printed_factors() {
    // Computed from Rice's formula and checked by simulation to 2 %: per unit of Doppler, at 0, 3, 10, 20 dB.
    let printed = [
        (f64::NEG_INFINITY, [0.922137, 1.07505, 0.717233, 0.248169], [0.685495, 0.366672, 0.132680, 0.0400944]),
        (3.0, [0.728233, 0.664773, 0.234084, 0.0607218], [0.803811, 0.438130, 0.197395, 0.0680645]),
        (6.0, [0.717790, 0.541229, 0.0845150, 0.0120048], [0.787219, 0.395796, 0.194814, 0.0832282]),
        (10.0, [0.711443, 0.316706, 0.00477399, 8.25729e-5], [0.763371, 0.315276, 0.154735, 0.0943522]),
    ];
    check_printed("crossing rates", &printed, |&(k_db, rates, durations), found| {
        let k = Db(k_db).ratio();
        for (index, margin) in [0.0, 3.0, 10.0, 20.0].into_iter().enumerate() {
            found.relative("rate", level_crossing_rate(k, Db(margin), Hertz(1.0)).0, rates[index], 5e-6);
            found.relative("duration", average_fade_duration(k, Db(margin), Hertz(1.0)).0, durations[index], 5e-6);
        }
    });
}

#[test]
fn doppler_shifts_at_printed_speeds() {
    let printed = [(5.8e9, 10.0, 193.47), (5.8e9, 20.0, 386.93), (5.8e9, 30.0, 580.40), (2.44e9, 30.0, 244.17)];
    check_printed("Doppler", &printed, |&(carrier, speed, shift), found| {
        let wavelength = Metres(SPEED_OF_LIGHT / carrier);
        found.near("shift", maximum_doppler(MetresPerSecond(speed), wavelength).0, shift, 5.1e-3);
    });
    // All scattered, 10 dB, 20 m/s at 5.8 GHz: 277.5 fades a second of 0.343 ms each.
    let doppler = maximum_doppler(MetresPerSecond(20.0), Metres(SPEED_OF_LIGHT / 5.8e9));
    assert!((level_crossing_rate(0.0, Db(10.0), doppler).0 - 277.5).abs() < 0.051);
    assert!((average_fade_duration(0.0, Db(10.0), doppler).0 - 0.343e-3).abs() < 0.51e-6);
}

#[test]
fn without_a_direct_wave_the_closed_forms_hold() {
    for margin in [-10.0, 0.0, 7.0, 30.0] {
        let rho = Db(-margin).amplitude();
        let root = (2.0 * std::f64::consts::PI).sqrt();
        let rate = root * rho * libm::exp(-rho * rho);
        let duration = libm::expm1(rho * rho) / (rho * root);
        assert!((level_crossing_rate(0.0, Db(margin), Hertz(1.0)).0 / rate - 1.0).abs() < 1e-12);
        assert!((average_fade_duration(0.0, Db(margin), Hertz(1.0)).0 / duration - 1.0).abs() < 1e-12);
    }
}
