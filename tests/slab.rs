//! Slabs in air: interference inside, and what is left of a hand behind a wall.

use crate::reference_table::{check, check_printed, read};
use lapmargin::rf::material::Material;
use lapmargin::rf::reflection::{SlabCoefficients, slab, slab_averaged};
use lapmargin::units::{Degrees, Hertz, Metres};
use num_complex::Complex64;

fn cosine(degrees: f64) -> f64 {
    libm::cos(Degrees(degrees).radians().0)
}

fn decibels(value: Complex64) -> f64 {
    10.0 * libm::log10(value.norm_sqr())
}

fn phase(value: Complex64) -> f64 {
    libm::atan2(value.im, value.re).to_degrees()
}

fn wall(material: Material, millimetres: f64, gigahertz: f64, incidence: f64) -> SlabCoefficients {
    let frequency = Hertz(gigahertz * 1e9);
    let permittivity = material.permittivity(frequency).expect("a computable frequency").value;
    slab(permittivity, Metres(millimetres / 1e3), frequency, cosine(incidence))
}

#[test]
fn every_row_of_the_table() {
    let table = read("slab.csv", include_str!("reference/slab.csv"));
    check(&table, 246, |row, found| {
        let eps = Complex64::new(row.number("eps_re"), -row.number("eps_loss"));
        let (thickness, frequency) = (Metres(row.number("thickness_m")), Hertz(row.number("freq_hz")));
        let got = slab(eps, thickness, frequency, cosine(row.number("incidence_deg")));
        for (what, got) in [
            ("r_te", got.reflected.te),
            ("r_tm", got.reflected.tm),
            ("t_te", got.transmitted.te),
            ("t_tm", got.transmitted.tm),
        ] {
            found.near(what, got.re, row.number(&format!("{what}_re")), 1e-8);
            found.near(what, got.im, row.number(&format!("{what}_im")), 1e-8);
        }
        for (what, got) in [
            ("reflected_te", got.reflected.te),
            ("reflected_tm", got.reflected.tm),
            ("transmitted_te", got.transmitted.te),
            ("transmitted_tm", got.transmitted.tm),
        ] {
            found.near(what, got.norm_sqr(), row.number(what), 1e-8);
        }
    });
}

#[test]
fn walls_at_five_point_eight_gigahertz() {
    // Computed from ITU-R P.2040-4, eq. (43) and (44), equal to a thin-film library to 1e-9; three decimals, dB.
    use Material::{Brick, Chipboard, Concrete, Glass, Plasterboard, Plywood, Wood};
    let printed = [
        (Concrete, 100.0, 0.0, [-8.332, -14.443, -8.332, -14.443]),
        (Concrete, 200.0, 0.0, [-8.087, -27.535, -8.087, -27.535]),
        (Concrete, 200.0, 45.0, [-5.826, -30.034, -11.647, -28.021]),
        (Brick, 100.0, 0.0, [-7.092, -3.888, -7.092, -3.888]),
        (Brick, 100.0, 45.0, [-8.450, -4.206, -15.870, -3.043]),
        (Brick, 100.0, 70.0, [-2.504, -8.566, -16.329, -3.128]),
        (Brick, 220.0, 0.0, [-10.493, -6.598, -10.493, -6.598]),
        (Brick, 220.0, 45.0, [-6.486, -8.149, -13.429, -6.508]),
        (Plasterboard, 12.5, 0.0, [-11.059, -0.916, -11.059, -0.916]),
        (Plasterboard, 12.5, 45.0, [-5.941, -1.940, -14.720, -0.753]),
        (Wood, 20.0, 0.0, [-20.423, -0.810, -20.423, -0.810]),
        (Wood, 20.0, 70.0, [-5.130, -2.890, -13.218, -1.254]),
        (Glass, 4.0, 0.0, [-3.125, -3.067, -3.125, -3.067]),
        (Glass, 4.0, 45.0, [-1.795, -4.937, -5.830, -1.454]),
        (Glass, 6.0, 0.0, [-3.014, -3.198, -3.014, -3.198]),
        (Chipboard, 18.0, 0.0, [-15.653, -1.859, -15.653, -1.859]),
        (Plywood, 12.0, 0.0, [-10.902, -4.218, -10.902, -4.218]),
    ];
    check_printed("walls", &printed, |&(material, millimetres, incidence, expected), found| {
        let got = wall(material, millimetres, 5.8, incidence);
        let got = [got.reflected.te, got.transmitted.te, got.reflected.tm, got.transmitted.tm];
        for ((what, got), expected) in ["R_TE", "T_TE", "R_TM", "T_TM"].iter().zip(got).zip(expected) {
            found.near(what, decibels(got), expected, 5.1e-4);
        }
    });
}

#[test]
fn phases_of_a_brick_wall() {
    // Same source; degrees, two decimals.
    let (steep, slanted) = (wall(Material::Brick, 100.0, 5.8, 0.0), wall(Material::Brick, 100.0, 5.8, 45.0));
    let printed = [
        (steep.reflected.te, 163.02),
        (steep.reflected.tm, -16.98),
        (steep.transmitted.te, 65.66),
        (slanted.reflected.te, -154.38),
        (slanted.transmitted.te, 148.94),
        (slanted.reflected.tm, 29.05),
        (slanted.transmitted.tm, 152.86),
    ];
    check_printed("phases", &printed, |&(got, degrees), found| found.near("phase", phase(got), degrees, 5.1e-3));
    // Through the wall a right hand mostly stays one: same and opposite hand in dB.
    assert!((decibels(slanted.transmitted.same_hand()) + 3.61).abs() < 5.1e-3);
    assert!((decibels(slanted.transmitted.opposite_hand()) + 26.10).abs() < 5.1e-3);
}

#[test]
fn walls_in_other_bands() {
    // Same source, normal incidence: transmitted and reflected, dB.
    let printed = [
        (Material::Concrete, 200.0, 0.9, -7.453, -7.805),
        (Material::Concrete, 200.0, 2.44, -14.760, -7.737),
        (Material::Brick, 100.0, 2.44, -3.213, -9.089),
    ];
    check_printed("other bands", &printed, |&(material, millimetres, gigahertz, transmitted, reflected), found| {
        let got = wall(material, millimetres, gigahertz, 0.0);
        found.near("transmitted", decibels(got.transmitted.te), transmitted, 5.1e-4);
        found.near("reflected", decibels(got.reflected.te), reflected, 5.1e-4);
    });
}

#[test]
fn the_averaged_wall_is_the_mean_over_thicknesses_within_a_wavelength() {
    // An independent way to the same mean: many walls, thickness spread over one interference period. Without loss, because
    // a real wall's loss changes with its thickness while the average keeps it; with loss the mean is taken over the phase
    // beside the code.
    let frequency = Hertz(5.8e9);
    for (material, millimetres, incidence) in
        [(Material::Brick, 220.0, 30.0), (Material::Glass, 6.0, 60.0), (Material::Wood, 60.0, 75.0)]
    {
        let lossy = material.permittivity(frequency).expect("a computable frequency").value;
        let permittivity = Complex64::new(lossy.re, 0.0);
        let cosine = cosine(incidence);
        let q = lapmargin::rf::complex_sqrt(permittivity - (1.0 - cosine * cosine));
        let period = lapmargin::rf::SPEED_OF_LIGHT / frequency.0 / (2.0 * q.re);
        let steps = 400;
        let mut means = [0.0; 4];
        for step in 0..steps {
            let thickness = millimetres / 1e3 + period * ((f64::from(step) + 0.5) / f64::from(steps) - 0.5);
            let got = slab(permittivity, Metres(thickness), frequency, cosine);
            let all = [got.reflected.te, got.reflected.tm, got.transmitted.te, got.transmitted.tm];
            for (mean, value) in means.iter_mut().zip(all) {
                *mean += value.norm_sqr() / f64::from(steps);
            }
        }
        let got = slab_averaged(permittivity, Metres(millimetres / 1e3), frequency, cosine);
        let all = [got.reflected.te, got.reflected.tm, got.transmitted.te, got.transmitted.tm];
        for (mean, value) in means.iter().zip(all) {
            assert!((value.norm_sqr() - mean).abs() < 1e-12, "{material}: {value} {mean}");
        }
    }
}
