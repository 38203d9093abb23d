//! The drawn scatter: how often it fades and for how long, with and without a direct wave beside it.

use std::f64::consts::TAU;

use crate::reference_table::{check, read};
use lapmargin::rf::fading::scatter::Scatter;
use lapmargin::rf::random::Random;
use lapmargin::rf::{Vec3, phasor};
use lapmargin::units::Db;

/// Walks per Rice factor, each one draw of the scatter.
const WALKS: usize = 600;
/// Length of a walk in wavelengths, that is in periods of the greatest Doppler shift.
const LENGTH: usize = 16;
/// Places per wavelength: the shortest mean fade of the table, 0.04 wavelengths, has ten of them, so that fewer than one
/// crossing in five hundred hides between two places.
const PLACES: usize = 256;

/// What was counted under one threshold, walk by walk.
#[derive(Default)]
struct Count {
    crossings: Vec<f64>,
    under: Vec<f64>,
}

/// Mean and its standard error.
fn mean(values: &[f64]) -> (f64, f64) {
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let variance = values.iter().map(|value| (value - mean) * (value - mean)).sum::<f64>() / (count - 1.0);
    (mean, (variance / count).sqrt())
}

/// Walks through the scatter beside a direct wave; the seed is fixed.
fn walk(k: f64, direct_doppler: f64, margins: &[f64]) -> Vec<Count> {
    let mut random = Random::new(20_260);
    let thresholds: Vec<f64> = margins.iter().map(|&margin| Db(-margin).ratio()).collect();
    let (direct, scattered) = ((k / (k + 1.0)).sqrt(), (1.0 / (k + 1.0)).sqrt());
    let mut counts: Vec<Count> = margins.iter().map(|_| Count::default()).collect();
    for _ in 0..WALKS {
        // In wavelengths, so that the greatest Doppler shift is one per unit of length.
        let scatter = Scatter::draw(&mut random, TAU, 1);
        let step = scatter.phases(&Vec3::new(1.0 / PLACES as f64, 0.0, 0.0));
        let mut phases = scatter.phases(&Vec3::zeros());
        let (mut wave, turn) = (random.phasor() * direct, phasor(TAU * direct_doppler / PLACES as f64));
        let mut powers = Vec::with_capacity(LENGTH * PLACES);
        for _ in 0..LENGTH * PLACES {
            powers.push((wave + scatter.field(0, &phases) * scattered).norm_sqr());
            phases.turn(&step);
            wave *= turn;
        }
        for (threshold, count) in thresholds.iter().zip(&mut counts) {
            let crossings = powers.windows(2).filter(|pair| pair[0] >= *threshold && pair[1] < *threshold).count();
            count.crossings.push(crossings as f64 / LENGTH as f64);
            let under = powers.iter().filter(|power| **power < *threshold).count();
            count.under.push(under as f64 / powers.len() as f64);
        }
    }
    counts
}

/// The margins of the table.
const MARGINS: [f64; 8] = [-2.0, 0.0, 2.0, 5.0, 7.0, 10.0, 15.0, 20.0];

#[test]
fn crossings_and_fades_are_those_of_another_simulation() {
    let table = read("rice_lcr.csv", include_str!("reference/rice_lcr.csv"));
    // One set of walks serves all margins of a factor and a shift.
    let mut walked: Vec<((f64, f64), Vec<Count>)> = Vec::new();
    check(&table, 46, |row, found| {
        let key = (row.number("k_db"), row.number("los_doppler_over_fd"));
        if walked.iter().all(|(known, _)| *known != key) {
            walked.push((key, walk(Db(key.0).ratio(), key.1, &MARGINS)));
        }
        let counts = &walked.iter().find(|(known, _)| *known == key).expect("it was walked just now").1;
        let margin = MARGINS.iter().position(|margin| *margin == row.number("margin_db")).expect("a known margin");
        let count = &counts[margin];
        let (rate, rate_error) = mean(&count.crossings);
        let (under, under_error) = mean(&count.under);
        let duration = under / rate;
        // Of a ratio of two means: the spread of `under - duration × crossings`.
        let rest: Vec<f64> =
            count.under.iter().zip(&count.crossings).map(|(under, crossings)| under - duration * crossings).collect();
        let duration_error = mean(&rest).1 / rate;
        let within = |ours: f64, theirs: f64| 4.0 * (ours * ours + theirs * theirs).sqrt();
        found.near("rate", rate, row.number("lcr_per_doppler_period"), within(rate_error, row.number("lcr_std_error")));
        found.near(
            "duration",
            duration,
            row.number("afd_doppler_periods"),
            within(duration_error, row.number("afd_std_error")),
        );
        found.near(
            "outage",
            under,
            row.number("outage_simulated"),
            within(under_error, row.number("outage_std_error")),
        );
        // The tolerances themselves are worth something: a tenth at the rarest, mostly a few hundredths.
        found.between("tolerance of the rate, as a share", within(rate_error, 0.0) / rate, 0.0, 0.35);
    });
}
