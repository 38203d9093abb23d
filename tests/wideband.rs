//! Delay spread against the delays of an independent ray tracer: `tests/reference/room_paths.csv`. That our own tracer finds
//! the same lengths is checked in `room_paths.rs`.

use std::collections::BTreeMap;

use lapmargin::link::paths::CarriedPath;
use lapmargin::link::wideband::delay_spread;
use lapmargin::rf::Vec3;
use nalgebra::Matrix3;
use num_complex::Complex64;

/// Paths of one geometry: length, delay and power of a vertical wave to a vertical antenna.
type Delays = BTreeMap<String, Vec<(f64, f64, f64)>>;

fn delays() -> Delays {
    let mut reader =
        csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(include_str!("reference/room_paths.csv").as_bytes());
    let mut delays = Delays::new();
    for row in reader.deserialize() {
        let row: BTreeMap<String, String> = row.expect("the row has every column");
        let number = |column: &str| row[column].parse::<f64>().expect("a number");
        let power = number("g_vv_re") * number("g_vv_re") + number("g_vv_im") * number("g_vv_im");
        let path = (number("length_m"), number("delay_s"), power);
        delays.entry(row["geometry_id"].clone()).or_default().push(path);
    }
    delays
}

#[test]
fn rooms_spread_as_the_tracers_delays_do() {
    let delays = delays();
    let mut widest = 0.0_f64;
    for (geometry, paths) in &delays {
        let carried: Vec<CarriedPath> = paths
            .iter()
            .enumerate()
            .map(|(traced, &(length, ..))| CarriedPath {
                depart: Vec3::x(),
                arrive: Vec3::x(),
                transfer: Matrix3::from_diagonal_element(Complex64::new(1.0, 0.0)),
                length,
                obstruction: 1.0,
                traced,
            })
            .collect();
        let powers: Vec<f64> = paths.iter().map(|&(.., power)| power).collect();
        // Another way to the same number: over all pairs, without a mean.
        let total: f64 = powers.iter().sum();
        let mut square = 0.0;
        for (index, &(_, first, p)) in paths.iter().enumerate() {
            for &(_, second, q) in &paths[index + 1..] {
                square += p * q * (first - second) * (first - second) / (total * total);
            }
        }
        let (got, expected) = (delay_spread(&carried, &powers).0, square.sqrt());
        // Lengths of the file hold to 2e-6 m, its delays to the same share.
        assert!((got - expected).abs() < 2e-14, "{geometry}: {got:e}, not {expected:e}");
        widest = widest.max(got);
    }
    assert!(delays.len() >= 20 && (5e-9..100e-9).contains(&widest), "{} {widest:e}", delays.len());
}
