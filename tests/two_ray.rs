//! Direct wave and ground bounce: world vectors against a ray tracer, a closed sum and a wire solver.

use crate::reference_table::{check, read};
use lapmargin::rf::reflection::{Coefficients, half_space, reflection_matrix};
use lapmargin::rf::{ComplexVec3, SPEED_OF_LIGHT, Vec3, phasor};
use lapmargin::units::Degrees;
use num_complex::Complex64;
use std::f64::consts::{FRAC_1_SQRT_2, PI};

/// The electric constant, F/m.
const EPSILON_0: f64 = 8.854_187_812_8e-12;

fn decibels(power: f64) -> f64 {
    10.0 * libm::log10(power)
}

/// What an antenna radiates into an outward direction, in the basis of the polar and the azimuthal unit vector.
type Pattern = fn(polar_sine: f64) -> [Complex64; 2];

const ONE: Complex64 = Complex64::new(1.0, 0.0);
const ZERO: Complex64 = Complex64::new(0.0, 0.0);
const VERTICAL: Pattern = |_| [ONE, ZERO];
const HORIZONTAL: Pattern = |_| [ZERO, ONE];
const RIGHT: Pattern = |_| [ONE * FRAC_1_SQRT_2, Complex64::new(0.0, -FRAC_1_SQRT_2)];
const LEFT: Pattern = |_| [ONE * FRAC_1_SQRT_2, Complex64::new(0.0, FRAC_1_SQRT_2)];
const SHORT_DIPOLE: Pattern = |polar_sine| [ONE * (1.5f64.sqrt() * polar_sine), ZERO];

fn radiated(pattern: Pattern, outward: &Vec3) -> ComplexVec3 {
    let flat = libm::hypot(outward.x, outward.y);
    let azimuthal = Vec3::new(-outward.y / flat, outward.x / flat, 0.0);
    let polar = azimuthal.cross(outward);
    let [along_polar, along_azimuthal] = pattern(flat);
    polar.map(|part| along_polar * part) + azimuthal.map(|part| along_azimuthal * part)
}

/// Received over transmitted power by both ways over a half-space, in decibels.
fn two_ray(tx: Pattern, rx: Pattern, heights: [f64; 2], distance: f64, eps: Complex64, frequency: f64) -> f64 {
    let wavelength = SPEED_OF_LIGHT / frequency;
    let (from, to) = (Vec3::new(0.0, 0.0, heights[0]), Vec3::new(distance, 0.0, heights[1]));
    let image = Vec3::new(distance, 0.0, -heights[1]);
    let carried = |length: f64| phasor(-2.0 * PI / wavelength * length) * (wavelength / (4.0 * PI * length));
    let unconjugated = |a: ComplexVec3, b: ComplexVec3| a.x * b.x + a.y * b.y + a.z * b.z;

    let direct = to - from;
    let direct_length = direct.dot(&direct).sqrt();
    let along = direct / direct_length;
    let mut sum = unconjugated(radiated(rx, &-along), radiated(tx, &along)) * carried(direct_length);

    let bounced = image - from;
    let length = bounced.dot(&bounced).sqrt();
    let down = bounced / length;
    let up = Vec3::new(down.x, down.y, -down.z);
    let matrix = reflection_matrix(&down, &Vec3::z(), half_space(eps, down.z));
    sum += unconjugated(radiated(rx, &-up), matrix * radiated(tx, &down)) * carried(length);
    decibels(sum.norm_sqr())
}

#[test]
fn every_row_of_the_table() {
    let table = read("two_ray.csv", include_str!("reference/two_ray.csv"));
    let mut deep = 0;
    check(&table, 216, |row, found| {
        let frequency = row.number("freq_hz");
        // The table rounds the permittivity more than the conductivity it follows from.
        let loss = row.number("conductivity_s_per_m") / (2.0 * PI * frequency * EPSILON_0);
        let eps = Complex64::new(row.number("eps_re"), -loss);
        let (heights, distance) = ([row.number("tx_height_m"), row.number("rx_height_m")], row.number("distance_m"));
        let free_space = row.number("free_space_db");
        for (case, tx, rx) in [
            ("vv", VERTICAL, VERTICAL),
            ("hh", HORIZONTAL, HORIZONTAL),
            ("rr", RIGHT, RIGHT),
            ("rl", RIGHT, LEFT),
            ("vdip", SHORT_DIPOLE, SHORT_DIPOLE),
        ] {
            let got = two_ray(tx, rx, heights, distance, eps, frequency);
            found.near(&format!("{case}, closed sum"), got, row.number(&format!("{case}_image_db")), 1e-5);
            // The tracer works in single precision: its error is 1.3e-4 of the free-space amplitude, which is below 0.01 dB
            // down to 18 dB under free space.
            if got > free_space - 18.0 {
                found.near(&format!("{case}, traced"), got, row.number(&format!("{case}_traced_db")), 0.01);
            } else {
                deep += 1;
            }
        }
        let slant = libm::hypot(distance, heights[1] - heights[0]);
        let expected = 20.0 * libm::log10(SPEED_OF_LIGHT / frequency / (4.0 * PI * slant));
        found.near("free space", free_space, expected, 1e-5);
    });
    assert!(deep < 216, "hardly any row would have been compared with the tracer");
}

#[test]
fn a_short_dipole_over_ground_as_the_wire_solver_sees_it() {
    // Two wavelengths up; the wire solver's ground cases, to 0.15 dB above -10 dBi (small ground loss, induced current).
    let table = read("dipole_nec.csv", include_str!("reference/dipole_nec.csv"));
    let mut compared = 0;
    let dry = Complex64::new(12.582, -0.614406 / (2.0 * PI * 5.8e9 * EPSILON_0));
    check(&table, 319, |row, found| {
        let conducting = match row.text("case") {
            "short_vertical_pec_h2" => true,
            "short_vertical_dry_h2" => false,
            _ => return,
        };
        let elevation = Degrees(90.0 - row.number("theta_deg")).radians().0;
        let (sine, cosine) = libm::sincos(elevation);
        let reflected = if conducting { Coefficients::CONDUCTOR.tm } else { half_space(dry, sine).tm };
        let both = 1.0 + reflected * phasor(-2.0 * 2.0 * PI * 2.0 * sine);
        let got = decibels(1.5 * cosine * cosine * both.norm_sqr());
        if row.number("gain_theta_dbi") > -10.0 {
            compared += 1;
            found.near("gain", got, row.number("gain_theta_dbi"), 0.15);
        }
    });
    assert!(compared > 60, "{compared}");
}

#[test]
fn circular_waves_over_medium_dry_ground() {
    // Computed at 5.8 GHz, right to right, isotropic patterns: level over free space with the exact phase, 0.01 dB, and the
    // ripple's ends.
    let eps = lapmargin::rf::material::Material::MediumDryGround
        .permittivity(lapmargin::units::Hertz(5.8e9))
        .expect("inside the range")
        .value;
    let printed = [
        ([1.5, 1.5], 50.0, 3.43, -1.93, -15.65, 2.46, 5.10, -13.97),
        ([2.0, 1.0], 30.0, 5.71, -3.07, -12.33, 4.40, 4.61, -10.44),
        ([3.0, 2.0], 20.0, 14.04, -6.72, -7.78, 2.98, 3.21, -5.16),
        ([5.0, 2.0], 20.0, 19.29, -8.80, -6.69, 1.49, 2.58, -3.69),
    ];
    crate::reference_table::check_printed(
        "two-ray",
        &printed,
        |&(heights, distance, grazing, same, opposite, over, top, dip), found| {
            let rise = heights[0] + heights[1];
            let (direct, bounced) = (libm::hypot(distance, heights[0] - heights[1]), libm::hypot(distance, rise));
            let sine = rise / bounced;
            let face = half_space(eps, sine);
            found.near("grazing angle", libm::asin(sine).to_degrees(), grazing, 5.1e-3);
            found.near("same hand", decibels(face.same_hand().norm_sqr()), same, 5.1e-3);
            found.near("opposite hand", decibels(face.opposite_hand().norm_sqr()), opposite, 5.1e-3);
            let share = face.same_hand() * (direct / bounced);
            let wave_number = 2.0 * PI * 5.8e9 / SPEED_OF_LIGHT;
            let sum = 1.0 + share * phasor(-wave_number * (bounced - direct));
            found.near("over free space", decibels(sum.norm_sqr()), over, 5.1e-3);
            let size = share.norm_sqr().sqrt();
            found.near("greatest", 20.0 * libm::log10(1.0 + size), top, 5.1e-3);
            found.near("least", 20.0 * libm::log10(1.0 - size), dip, 5.1e-3);
            // And the same by world vectors.
            let whole = two_ray(RIGHT, RIGHT, heights, distance, eps, 5.8e9);
            let free = 20.0 * libm::log10(SPEED_OF_LIGHT / 5.8e9 / (4.0 * PI * direct));
            found.near("world vectors", whole - free, decibels(sum.norm_sqr()), 1e-9);
        },
    );
}
