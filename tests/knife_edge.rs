//! A single straight edge against exact fields and the recommendation's approximation.

use crate::reference_table::{check, check_printed, read};
use lapmargin::rf::SPEED_OF_LIGHT;
use lapmargin::rf::diffraction::{
    clearance_fraction, fresnel_radius, knife_edge_field, knife_edge_loss, knife_edge_loss_approximate, nu_from_detour,
    nu_from_height,
};
use lapmargin::units::Metres;

fn wavelength(megahertz: f64) -> Metres {
    Metres(SPEED_OF_LIGHT / (megahertz * 1e6))
}

#[test]
fn every_row_of_the_table() {
    let table = read("knife_edge.csv", include_str!("reference/knife_edge.csv"));
    check(&table, 125, |row, found| {
        let nu = row.number("nu");
        let field = knife_edge_field(nu);
        found.near("field, real", field.re, row.number("gain_re"), 1e-10);
        found.near("field, imaginary", field.im, row.number("gain_im"), 1e-10);
        found.near("exact loss", knife_edge_loss(nu).0, row.number("loss_exact_db"), 1e-9);
        // The table's source works in single steps of a longer formula; its README states 1e-4 dB.
        found.near("approximation", knife_edge_loss_approximate(nu).0, row.number("loss_p526_approx_db"), 1e-3);
    });
}

#[test]
fn losses_at_printed_parameters() {
    // Exact: computed twice; approximation: ITU-R P.526-16, eq. (31), below its limit zero. Four decimals.
    let printed = [
        (-3.0, -0.4439, 0.0),
        (-2.0, 0.7366, 0.0),
        (-1.2247, -1.3681, 0.0),
        (-1.0, -1.0010, 0.0),
        (-0.78, -0.0111, 0.0),
        (-0.5, 1.8586, 1.9592),
        (-0.25, 3.8701, 3.9188),
        (0.0, 6.0206, 6.0329),
        (0.5, 10.2338, 10.2878),
        (1.0, 13.8641, 13.9257),
        (1.5, 16.7773, 16.7844),
        (2.0, 19.0910, 19.0429),
        (2.4, 20.6182, 20.5393),
        (3.0, 22.5218, 22.4160),
        (5.0, 26.9362, 26.8136),
        (10.0, 32.9535, 32.8554),
    ];
    check_printed("single edge", &printed, |&(nu, exact, approximate), found| {
        found.near("exact", knife_edge_loss(nu).0, exact, 5.1e-5);
        found.near("approximate", knife_edge_loss_approximate(nu).0, approximate, 5.1e-5);
    });
}

#[test]
fn the_approximation_keeps_its_stated_distance() {
    // Largest differences as computed beside ITU-R P.526-16, eq. (31): 0.106 dB up to 3, 0.123 dB up to 10.
    for step in -779..10_000 {
        let nu = f64::from(step) * 1e-3;
        let difference = (knife_edge_loss_approximate(nu).0 - knife_edge_loss(nu).0).abs();
        assert!(difference < if nu <= 3.0 { 0.1065 } else { 0.1235 }, "{nu}: {difference}");
    }
}

#[test]
fn fresnel_radii_at_printed_places() {
    // Middle of the path, metres, computed from ITU-R P.526-16, eq. (2); four decimals.
    let distances = [10.0, 25.0, 50.0, 100.0, 300.0];
    let printed = [
        (5800.0, [0.3595, 0.5684, 0.8038, 1.1368, 1.9689]),
        (2440.0, [0.5542, 0.8763, 1.2393, 1.7526, 3.0356]),
        (868.0, [0.9292, 1.4692, 2.0778, 2.9385, 5.0896]),
    ];
    check_printed("first Fresnel radius", &printed, |&(megahertz, radii), found| {
        for (distance, radius) in distances.iter().zip(radii) {
            let half = Metres(distance / 2.0);
            found.near("mid-path", fresnel_radius(1, half, half, wavelength(megahertz)).0, radius, 5.1e-5);
            // The practical form, ITU-R P.530-19, eq. (3), gigahertz and kilometres, three digits.
            let practical = 17.3 * (distance / 4.0 / 1e3 / (megahertz / 1e3)).sqrt();
            found.relative("practical form", practical, radius, 2e-3);
        }
    });
    let near_end = |end: f64| fresnel_radius(1, Metres(end), Metres(50.0 - end), wavelength(5800.0)).0;
    assert!((near_end(5.0) - 0.4823).abs() < 5.1e-5);
    assert!((near_end(1.0) - 0.2251).abs() < 5.1e-5);
    let (one, four) = (fresnel_radius(1, Metres(5.0), Metres(45.0), wavelength(5800.0)), near_end(5.0));
    assert!((fresnel_radius(4, Metres(5.0), Metres(45.0), wavelength(5800.0)).0 - 2.0 * one.0).abs() < 1e-12);
    assert_eq!(one.0, four);
}

#[test]
fn the_parameter_agrees_by_height_and_by_detour() {
    // 5.8 GHz; computed by the four forms of ITU-R P.526-16, eq. (26) to (29).
    let printed = [
        (0.5, 25.0, 25.0, 0.8797, 13.125, 13.057),
        (1.0, 10.0, 40.0, 2.1992, 19.817, f64::NAN),
        (-0.34, 25.0, 25.0, -0.5982, 1.244, 1.143),
        (0.1, 1.0, 49.0, 0.6284, 11.299, f64::NAN),
    ];
    check_printed("parameter", &printed, |&(height, d1, d2, nu, approximate, exact), found| {
        let by_height = nu_from_height(Metres(height), Metres(d1), Metres(d2), wavelength(5800.0));
        found.near("by height", by_height, nu, 5.1e-5);
        found.near("approximate loss", knife_edge_loss_approximate(by_height).0, approximate, 5.1e-4);
        if !exact.is_nan() {
            found.near("exact loss", knife_edge_loss(by_height).0, exact, 5.1e-4);
        }
        let detour = libm::hypot(d1, height) - d1 + (libm::hypot(d2, height) - d2);
        let by_detour = nu_from_detour(Metres(detour), height > 0.0, wavelength(5800.0));
        // Equal for small angles: the next term is a quarter of the angle's square.
        found.relative("by detour", by_detour, by_height, (height / d1) * (height / d1) / 4.0);
        let radius = fresnel_radius(1, Metres(d1), Metres(d2), wavelength(5800.0)).0;
        found.near("clearance", clearance_fraction(by_height), -height / radius, 1e-12);
    });
}

#[test]
fn six_tenths_of_the_first_zone_are_as_good_as_free() {
    // ITU-R P.530-19, section 2.2.2, and ITU-R P.526-16, sections 2.3 and 2.5; losses computed from eq. (30).
    let at_clearance = |fraction: f64| knife_edge_loss(-fraction * std::f64::consts::SQRT_2).0;
    assert!((at_clearance(0.6) + 0.374).abs() < 5.1e-4);
    assert!((at_clearance(1.0) + 1.025).abs() < 5.1e-4);
    assert!((at_clearance(0.0) - 6.0206).abs() < 5.1e-5);
    assert!(at_clearance(0.550).abs() < 0.005);
}
