//! Special functions against values of 40 digits.

use crate::reference_table::{check, check_printed, read};
use lapmargin::rf::diffraction::fresnel_integrals;
use lapmargin::rf::fading::{bessel_i0_scaled, bessel_i1_scaled, marcum_q1, one_minus_marcum_q1};

#[test]
fn every_function_agrees_to_thirteen_digits() {
    let table = read("special.csv", include_str!("reference/special.csv"));
    check(&table, 141, |row, found| {
        let (first, second) = (row.number("arg1"), row.number("arg2"));
        let got = match row.text("function") {
            "i0_scaled" => bessel_i0_scaled(first),
            "i1_scaled" => bessel_i1_scaled(first),
            // Not ours, but the outage of a steady channel stands on it.
            "erfc" => libm::erfc(first),
            "fresnel_c" => fresnel_integrals(first).0,
            "fresnel_s" => fresnel_integrals(first).1,
            "marcum_q1" => marcum_q1(first, second),
            "one_minus_marcum_q1" => one_minus_marcum_q1(first, second),
            other => panic!("the table has a function {other} that is not checked"),
        };
        found.relative(row.text("function"), got, row.number("value"), 1e-13);
    });
}

#[test]
fn fresnel_integrals_are_odd_and_end_at_one_half() {
    for x in [0.0, 1e-300, 0.3, 1.0, 1.999, 2.0, 3.7, 4.0, 50.0, 1e5, 1e9, f64::INFINITY] {
        let ((c, s), (negative_c, negative_s)) = (fresnel_integrals(x), fresnel_integrals(-x));
        assert_eq!((c, s), (-negative_c, -negative_s), "{x}");
    }
    assert_eq!(fresnel_integrals(f64::INFINITY), (0.5, 0.5));
}

#[test]
fn fresnel_integrals_have_no_step_where_their_pieces_meet() {
    for seam in [1.0, 2.0, 4.0] {
        let below = fresnel_integrals(seam - f64::EPSILON);
        let above = fresnel_integrals(seam);
        assert!((below.0 - above.0).abs() < 2e-15 && (below.1 - above.1).abs() < 2e-15, "{below:?} {above:?}");
    }
}

/// The twelve-term series of ITU-R P.526-16, eq. (8), coefficients from its section 2.7.
fn boersma_series(nu: f64) -> (f64, f64) {
    const A: [f64; 12] = [
        1.595769140,
        -0.000001702,
        -6.808568854,
        -0.000576361,
        6.920691902,
        -0.016898657,
        -3.050485660,
        -0.075752419,
        0.850663781,
        -0.025639041,
        -0.150230960,
        0.034404779,
    ];
    const B: [f64; 12] = [
        -0.000000033,
        4.255387524,
        -0.000092810,
        -7.780020400,
        -0.009520895,
        5.075161298,
        -0.138341947,
        -1.363729124,
        -0.403349276,
        0.702222016,
        -0.216195929,
        0.019547031,
    ];
    const C: [f64; 12] = [
        0.0,
        -0.024933975,
        0.000003936,
        0.005770956,
        0.000689892,
        -0.009497136,
        0.011948809,
        -0.006748873,
        0.000246420,
        0.002102967,
        -0.001217930,
        0.000233939,
    ];
    const D: [f64; 12] = [
        0.199471140,
        0.000000023,
        -0.009351341,
        0.000023006,
        0.004851466,
        0.001903218,
        -0.017122914,
        0.029064067,
        -0.027928955,
        0.016497308,
        -0.005598515,
        0.000838386,
    ];
    let x = std::f64::consts::FRAC_PI_2 * nu * nu;
    let (sine, cosine) = libm::sincos(x);
    let horner = |table: &[f64; 12], y: f64| table.iter().rev().fold(0.0, |sum, term| sum * y + term);
    let (re, im, root, offset) = if x < 4.0 {
        (horner(&A, x / 4.0), -horner(&B, x / 4.0), (x / 4.0).sqrt(), 0.0)
    } else {
        (horner(&C, 4.0 / x), -horner(&D, 4.0 / x), (4.0 / x).sqrt(), 0.5)
    };
    (offset + root * (cosine * re - sine * im), offset + root * (cosine * im + sine * re))
}

#[test]
fn the_recommendations_own_series_agrees_to_its_nine_digits() {
    for step in 0..2000 {
        let nu = f64::from(step) * 0.01;
        let ((c, s), (series_c, series_s)) = (fresnel_integrals(nu), boersma_series(nu));
        assert!((c - series_c).abs() < 4e-9 && (s - series_s).abs() < 4e-9, "{nu}: {c} {series_c} {s} {series_s}");
    }
    // Computed with 16 digits beside the recommendation's coefficients; printed with six.
    let printed =
        [(0.5, 0.492344, 0.064732), (1.0, 0.779893, 0.438259), (2.0, 0.488253, 0.343416), (5.0, 0.563631, 0.499191)];
    check_printed("Fresnel integrals", &printed, |&(x, c, s), found| {
        found.near("C", fresnel_integrals(x).0, c, 5e-7);
        found.near("S", fresnel_integrals(x).1, s, 5.1e-7);
    });
}

#[test]
fn marcum_function_at_printed_points() {
    // Computed three ways (noncentral chi-square, Rice distribution, quadrature); nine decimals.
    let printed = [
        (0.0, 1.0, 0.606530660),
        (1.0, 1.0, 0.732879804),
        (1.0, 2.0, 0.269012060),
        (2.0, 1.0, 0.918107696),
        (2.0, 3.0, 0.214362088),
        (3.0, 1.0, 0.989170550),
        (5.0, 4.0, 0.867049795),
        (8.0, 4.0, 0.999978163),
    ];
    check_printed("Q1", &printed, |&(a, b, q), found| {
        found.near("Q1", marcum_q1(a, b), q, 5.1e-10);
        found.near("1 - Q1", one_minus_marcum_q1(a, b), 1.0 - q, 5.1e-10);
    });
}
