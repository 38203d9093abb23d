//! The whole chain from a site to what a port hears, against the two-ray table.
//!
//! Nothing here repeats a formula: site traces, the link carries and hears. With a line flown exactly (sigma 0) and no
//! scatter the mean power is the coherent sum, which independent programs computed (`tests/reference/README.md`).

use crate::reference_table::{check, read};
use lapmargin::link::end::{End, Shade};
use lapmargin::link::hear::{Ear, Heard, Sent, Work};
use lapmargin::link::paths::{Carried, Mixing, carry_paths};
use lapmargin::rf::Vec3;
use lapmargin::rf::antenna::{Antenna, AntennaModel};
use lapmargin::rf::free_space::wavenumber;
use lapmargin::rf::material::Material;
use lapmargin::rf::polarization::{Hand, Jones};
use lapmargin::site::{BounceOrder, Ground, Paths, Scene, Site, SlabModel};
use lapmargin::units::{Db, Hertz, Metres};
use nalgebra::Rotation3;
use num_complex::Complex64;

const ONE: Complex64 = Complex64::new(1.0, 0.0);
const ZERO: Complex64 = Complex64::new(0.0, 0.0);

fn antenna(state: &str) -> Antenna {
    let model = match state {
        "vertical" => AntennaModel::Isotropic(Jones { x: ONE, y: ZERO }),
        "horizontal" => AntennaModel::Isotropic(Jones { x: ZERO, y: ONE }),
        "right" => AntennaModel::Isotropic(Jones::circular(Hand::Right)),
        "left" => AntennaModel::Isotropic(Jones::circular(Hand::Left)),
        "whip" => AntennaModel::short_whip(),
        other => panic!("no such antenna: {other}"),
    };
    Antenna::new(model).expect("its numbers are in range")
}

fn heard(carried: &Carried, frequency: Hertz, sender: &str, port: &str, line_sigma: f64) -> f64 {
    let (sender, port) = (antenna(sender), antenna(port));
    let end = |antenna| End { antenna, to_world: Rotation3::identity(), shade: Shade::Free };
    let mixing = Mixing {
        wavenumber: wavenumber(frequency),
        line_sigma,
        surroundings_k: 1e30,
        surroundings: None,
        xpr: Db(9.0),
    };
    let (mut sent, mut work, mut heard) = (Sent::default(), Work::default(), Heard::default());
    sent.send(carried, (&end(&sender), &Vec3::zeros()), &mixing);
    sent.hear(carried, &end(&port), &Ear::PLAIN, &mut work, &mut heard);
    Db::from_ratio(heard.mean).0
}

fn ground(name: &str) -> Option<Material> {
    match name {
        "concrete" => Some(Material::Concrete),
        "medium_dry_ground" => Some(Material::MediumDryGround),
        "very_dry_ground" => Some(Material::VeryDryGround),
        "wet_ground" => Some(Material::WetGround),
        "asphalt_concrete" => Some(Material::AsphaltConcrete),
        "metal" => Some(Material::Metal),
        _ => None,
    }
}

#[test]
fn a_port_over_the_ground_hears_the_two_ray_table() {
    let table = read("two_ray.csv", include_str!("reference/two_ray.csv"));
    check(&table, 216, |row, found| {
        let frequency = Hertz(row.number("freq_hz"));
        let material = ground(row.text("ground")).expect("every ground of the table is known");
        let site = Site { ground: Ground { material, roughness: Metres(0.0) }, obstacles: Vec::new() };
        let scene = Scene::new(&site, frequency).expect("an empty site");
        let from = Vec3::new(0.0, 0.0, row.number("tx_height_m"));
        let to = Vec3::new(row.number("distance_m"), 0.0, row.number("rx_height_m"));
        let mut paths = Paths::new();
        scene.trace(&from, &to, BounceOrder::Single, &mut paths);
        let carried = carry_paths(&scene.tuned(frequency).expect("a known material"), &paths, SlabModel::Averaged, 0.0);
        // The table's permittivities are rounded to five digits, which moves deep fades; elsewhere it agrees to 1e-5 dB.
        let free_space = row.number("free_space_db");
        for (column, sender, port) in [
            ("vv_image_db", "vertical", "vertical"),
            ("hh_image_db", "horizontal", "horizontal"),
            ("rr_image_db", "right", "right"),
            ("rl_image_db", "right", "left"),
            ("vdip_image_db", "whip", "whip"),
        ] {
            let expected = row.number(column);
            let depth = (free_space - expected).max(0.0);
            found.near(
                column,
                heard(&carried, frequency, sender, port, 0.0),
                expected,
                1e-5 + 1e-4 * Db(depth).amplitude(),
            );
        }
    });
}

/// docs/model.md section 2.3 (two-ray check over medium dry ground, 5.8 GHz, right to right, isotropic): field against free
/// space, and the height of maxima and depth of minima as the phase runs. An unsteady line gives the sum of powers.
#[test]
fn a_wobbling_line_adds_the_bounce_in_power_and_a_steady_one_in_field() {
    let frequency = Hertz(5.8e9);
    let site =
        Site { ground: Ground { material: Material::MediumDryGround, roughness: Metres(0.0) }, obstacles: Vec::new() };
    let scene = Scene::new(&site, frequency).expect("an empty site");
    for ([tx, rx, distance], field, [most, least]) in [
        ([1.5, 1.5, 50.0], 2.46, [5.10, -13.97]),
        ([2.0, 1.0, 30.0], 4.40, [4.61, -10.44]),
        ([3.0, 2.0, 20.0], 2.98, [3.21, -5.16]),
        ([5.0, 2.0, 20.0], 1.49, [2.58, -3.69]),
    ] {
        let mut paths = Paths::new();
        scene.trace(&Vec3::new(0.0, 0.0, tx), &Vec3::new(distance, 0.0, rx), BounceOrder::Single, &mut paths);
        let carried = carry_paths(&scene.tuned(frequency).expect("a known material"), &paths, SlabModel::Averaged, 0.0);
        let over_free_space =
            |sigma| heard(&carried, frequency, "right", "right", sigma) - Db::from_ratio(carried.free_space).0;
        assert!((over_free_space(0.0) - field).abs() < 0.005 + 1e-9, "{} instead of {field}", over_free_space(0.0));
        // Maximum (1 + r)² and minimum (1 - r)² of the ripple give the power sum 1 + r² as their mean.
        let (high, low) = (Db(most).amplitude(), Db(least).amplitude());
        let power_sum = Db::from_ratio((high * high + low * low) / 2.0).0;
        assert!((over_free_space(30.0) - power_sum).abs() < 0.01, "{} instead of {power_sum}", over_free_space(30.0));
    }
}
