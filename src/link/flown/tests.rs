use std::f64::consts::{PI, TAU};

use super::*;
use crate::link::track::{Knot, Listener, Strand};
use crate::units::{Hertz, Metres, Seconds};

const WAVENUMBER: f64 = TAU / 0.05;
const RADIUS: f64 = 12.0;
const SPEED: f64 = 10.0;

/// Where the aircraft is on its circle, and how fast.
fn flown(time: f64) -> (Vec3, Vec3) {
    let (sine, cosine) = libm::sincos(time * SPEED / RADIUS);
    (Vec3::new(RADIUS * cosine, RADIUS * sine, 2.0), Vec3::new(-SPEED * sine, SPEED * cosine, 0.0))
}

/// A circle flown at constant speed, heard over one path to each of some places, with an amplitude each.
fn circle(step: f64, sigma: f64, ends: &[(Vec3, f64)], picture: PictureKind) -> Track {
    let duration = TAU * RADIUS / SPEED;
    let count = (TAU * RADIUS / step).round() as usize;
    let knots = (0..count).map(|sample| {
        let time = duration * sample as f64 / count as f64;
        let (place, velocity) = flown(time);
        let strand = |(number, (end, amplitude)): (usize, &(Vec3, f64))| Strand {
            faces: vec![number as u16],
            depart: (end - place).normalize(),
            length: (end - place).norm(),
            amplitudes: vec![[Complex64::new(*amplitude, 0.0), NOTHING, NOTHING, NOTHING]],
        };
        Knot {
            time: Seconds(time),
            place,
            velocity,
            strands: ends.iter().enumerate().map(strand).collect(),
            scatter: vec![0.0],
            people: Vec::new(),
        }
    });
    Track::new(
        knots.collect(),
        Seconds(duration),
        Metres(TAU * RADIUS),
        WAVENUMBER,
        Metres(sigma),
        Listener { switching: Switching::Slow, picture },
    )
}

const ENDS: [(Vec3, f64); 3] =
    [(Vec3::new(30.0, 5.0, 1.5), 1.0), (Vec3::new(30.0, 5.0, -1.5), 0.6), (Vec3::new(-40.0, 25.0, 1.5), 0.3)];

#[test]
fn on_the_drawn_line_the_sum_is_that_of_the_true_lengths_between_the_samples_too() {
    for (step, tolerance) in [(0.25, 2e-3), (0.5, 1e-2)] {
        let track = circle(step, 0.0, &ENDS, PictureKind::Analogue);
        let mut random = Random::new(1);
        let scatter = Scatter::draw(&mut random, WAVENUMBER, 1);
        let (mut drawn, mut instants) = (Drawn::default(), Instants::default());
        drawn.draw(&track, &mut random);
        let mut waves = scatter.phases(&drawn.place(&track, 0));
        instants.begin(1);
        for from in 0..track.reaches.len() {
            instants.hear(&track, &scatter, &drawn, (from, (from + 1) % track.knots.len()), &mut waves);
        }
        let mut powers = Vec::new();
        instants.powers(0, false, &mut powers);
        let mut worst = 0.0_f64;
        let mut between = 0.0_f64;
        let mut instant = 0;
        for (from, reach) in track.reaches.iter().enumerate() {
            let exact = |gone: f64| -> Complex64 {
                let (place, _) = flown(track.knots[from].time.0 + gone / reach.instants as f64 * reach.duration);
                ENDS.iter().map(|(end, amplitude)| phasor(-WAVENUMBER * (end - place).norm()) * *amplitude).sum()
            };
            for number in 0..reach.instants {
                let (here, after) = (exact(number as f64 + 0.5), exact(number as f64 + 1.0));
                worst = worst.max((instants.sums[0][instant] - here).norm_sqr().sqrt());
                assert_eq!(powers[2 * instant], instants.sums[0][instant].norm_sqr());
                between = between.max((powers[2 * instant + 1].sqrt() - after.norm_sqr().sqrt()).abs());
                instant += 1;
            }
        }
        assert_eq!(powers.len(), 2 * instant);
        // Amplitudes of 1.9 together, each to 1.7 %.
        assert!(between < 0.017 * 1.9 + tolerance, "{step}: {between} between two instants");
        assert!(worst < tolerance, "{step}: {worst}");
    }
}

/// Mean over laps of the power of every field.
fn mean_powers(track: &Track, laps: u64) -> Vec<f64> {
    let (mut memory, mut lap) = (Memory::default(), FlownLap::default());
    let mut sums = vec![0.0; track.fields];
    for seed in 0..laps {
        fly(track, seed, &mut memory, &mut lap);
        for (sum, level) in sums.iter_mut().zip(&memory.levels) {
            *sum += level.power / level.time / laps as f64;
        }
    }
    sums
}

#[test]
fn over_many_laps_the_mean_power_is_the_partly_coherent_sum() {
    // A line strayed from so little that the ground bounce's phase hardly turns, and the wall's washes out.
    let sigma = 0.01;
    let track = circle(0.25, sigma, &ENDS, PictureKind::Analogue);
    let got = mean_powers(&track, 600);
    let field = track.field().0;
    let (mut differs, mut coherent) = (0.0_f64, 0.0_f64);
    for (index, got) in got.iter().enumerate() {
        // The formula of `hear`, averaged over the field.
        let (mut expected, mut powers, parts) = (0.0, 0.0, 50);
        for part in 0..parts {
            let (place, _) = flown((index as f64 + (f64::from(part) + 0.5) / f64::from(parts)) * field);
            for (number, (end, amplitude)) in ENDS.iter().enumerate() {
                powers += amplitude * amplitude / f64::from(parts);
                for (other, other_amplitude) in &ENDS[number + 1..] {
                    let (ours, theirs) = (end - place, other - place);
                    let apart = WAVENUMBER * sigma * (ours.normalize() - theirs.normalize()).norm();
                    let phase = WAVENUMBER * (ours.norm() - theirs.norm());
                    expected += 2.0 * amplitude * other_amplitude * libm::cos(phase) * libm::exp(-0.5 * apart * apart)
                        / f64::from(parts);
                }
            }
        }
        differs = differs.max((got - expected - powers).abs());
        coherent = coherent.max(expected.abs());
    }
    // Of the mean of 600 laps whose power varies by less than 1: 0.04; the largest of 377 fields stays below 4 times that.
    assert!(differs < 0.16, "{differs}");
    assert!(coherent > 0.5, "the bounces were meant to add in phase somewhere: {coherent}");
}

#[test]
fn a_channel_wider_than_the_delays_takes_their_interference_away() {
    // Two paths with 20 m of detour in channels of two widths: the power over the channel is
    // p₁ + p₂ + 2√(p₁p₂) sinc(Bτ) cos φ, and under 1 for a share acos(..)/π of all phases.
    let ends = [(Vec3::new(500.0, 0.0, 2.0), 0.9), (Vec3::new(-520.0, 0.0, 2.0), 0.5)];
    for bandwidth in [1e3, 6e6, 20e6] {
        let picture = PictureKind::Digital { bandwidth: Hertz(bandwidth), freeze: Seconds(0.0) };
        let track = circle(0.25, 0.3, &ends, picture);
        let (mut memory, mut lap) = (Memory::default(), FlownLap::default());
        let shares: Vec<f64> = (0..60)
            .map(|seed| {
                fly(&track, seed, &mut memory, &mut lap);
                lap.under
            })
            .collect();
        let mean = shares.iter().sum::<f64>() / 60.0;
        // The detour changes along the circle, by up to 44 m: the mean of the closed form over it.
        let mut expected = 0.0;
        for knot in &track.knots {
            let detour = knot.strands[0].length - knot.strands[1].length;
            let turns = PI * bandwidth * detour / crate::rf::SPEED_OF_LIGHT;
            let sinc = if turns.abs() < 1e-9 { 1.0 } else { libm::sin(turns) / turns };
            let cosine = (1.0 - 0.81 - 0.25) / (2.0 * 0.45 * sinc.abs());
            expected += (1.0 - libm::acos(cosine.clamp(-1.0, 1.0)) / PI) / track.knots.len() as f64;
        }
        let error = (shares.iter().map(|share| (share - mean) * (share - mean)).sum::<f64>() / 59.0 / 60.0).sqrt();
        assert!((mean - expected).abs() < 3.0 * error.max(1e-4), "{bandwidth}: {mean} ± {error}, not {expected}");
    }
}

#[test]
fn a_path_that_ends_counts_half_the_way() {
    let mut track = circle(0.25, 0.0, &[(ENDS[0].0, 1.5)], PictureKind::Analogue);
    let mut knots = std::mem::take(&mut track.knots);
    for knot in &mut knots[100..200] {
        knot.strands.clear();
    }
    let knots_count = knots.len();
    let listener = track.listener;
    let track = Track::new(knots, Seconds(track.duration), Metres(track.length), WAVENUMBER, Metres(0.0), listener);
    let (mut memory, mut lap) = (Memory::default(), FlownLap::default());
    fly(&track, 3, &mut memory, &mut lap);
    let expected = 100.0 / knots_count as f64;
    assert!((lap.under - expected).abs() < 1e-3, "{} not {expected}", lap.under);
}

/// Levels of two ports in units of the threshold, one per field, each field either whole or bad.
fn levels(ports: &[&[f64]]) -> Vec<Level> {
    let level = |&power: &f64| Level { time: 0.02, under: if power < 1.0 { 0.02 } else { 0.0 }, power: 0.02 * power };
    ports.iter().flat_map(|port| port.iter().map(level)).collect()
}

fn seen(ports: &[&[f64]], picture: PictureKind) -> String {
    let fields = ports[0].len();
    let track = Track { fields, duration: 0.02 * fields as f64, ..circle(5.0, 0.0, &ENDS, picture) };
    let mut lap = FlownLap::default();
    look(&track, &levels(ports), |port, field| Some(ports[port][field]), &mut Vec::new(), &mut lap);
    let letter = |field: &Field| match field {
        Field::Good => '.',
        Field::Bad => 'x',
        Field::Frozen => '*',
    };
    lap.fields.iter().map(letter).collect()
}

#[test]
fn a_slow_receiver_changes_over_a_field_late_and_only_for_two_decibels() {
    let steady = [1.4; 6];
    assert_eq!(seen(&[&[9.0, 9.0, 0.1, 0.1, 9.0, 9.0], &steady], PictureKind::Analogue), "..x...");
    // 1.4 is 1.9 dB more than 0.9.
    assert_eq!(seen(&[&[9.0, 9.0, 0.9, 0.9, 0.9, 9.0], &steady], PictureKind::Analogue), "..xxx.");
    assert_eq!(seen(&[&[0.1; 6], &[0.2; 6]], PictureKind::Analogue), "xxxxxx");
}

#[test]
fn a_digital_picture_stands_for_the_stated_time_after_each_lost_frame_and_over_the_end_of_the_lap() {
    let freeze = |seconds: f64| PictureKind::Digital { bandwidth: Hertz(2e7), freeze: Seconds(seconds) };
    let level = [5.0, 5.0, 0.5, 5.0, 0.5, 5.0, 5.0, 5.0, 5.0, 0.5];
    assert_eq!(seen(&[&level], freeze(0.05)), "**x*x***.x");
    assert_eq!(seen(&[&level], freeze(0.0)), "..x.x....x");
    assert_eq!(seen(&[&level], freeze(9.0)), "**x*x****x");
    assert_eq!(seen(&[&level], PictureKind::Analogue), "..x.x....x");
}

#[test]
fn a_field_s_margin_is_the_level_that_three_quarters_of_it_exceed() {
    let mut track = circle(5.0, 0.0, &ENDS, PictureKind::Analogue);
    (track.fields, track.field_starts) = (1, vec![0, 0]);
    // A level that rises evenly, seen at few instants and at many: a quarter of the way up, in whatever order.
    for count in [2, 4, 7, 30] {
        let rising: Vec<f64> = (0..count).map(|instant| 1.0 + (f64::from(instant) + 0.5) / f64::from(count)).collect();
        let turned = rising.iter().rev().copied().collect();
        for instants in [rising, turned] {
            (track.field_starts[1], track.instants) = (count as usize, vec![0.02 / f64::from(count); count as usize]);
            let exceeded = Powers { instants, sorted: Vec::new() }.exceeded(&track, 0).unwrap();
            assert!((exceeded - 1.25).abs() < 1e-12, "{count}: {exceeded}");
        }
    }
    // Instants count by their length: the first quarter of the time is at 2, the rest at 3 and more.
    (track.field_starts[1], track.instants) = (3, vec![2.0, 1.0, 1.0]);
    let mut powers = Powers { instants: vec![3.0, 9.0, 2.0], sorted: Vec::new() };
    // The middles are at 1/8 and 1/2 of the time.
    assert_eq!(powers.exceeded(&track, 0), Some(2.0 + 1.0 / 3.0));
    powers.instants = vec![0.5, 9.0, 2.0];
    assert_eq!(powers.exceeded(&track, 0), Some(0.5), "below the middle of the least there is nothing less");
    track.field_starts[1] = 0;
    assert_eq!(powers.exceeded(&track, 0), None);
}

#[test]
fn levels_lowered_all_round_lower_every_margin_as_much() {
    let drop = 7.0;
    let strong = circle(0.25, 0.3, &ENDS, PictureKind::Analogue);
    let mut weak = strong.clone();
    for knot in &mut weak.knots {
        for strand in &mut knot.strands {
            strand.amplitudes.iter_mut().flatten().for_each(|amplitude| *amplitude *= Db(-drop).amplitude());
        }
    }
    let (mut memory, mut before, mut after) = (Memory::default(), FlownLap::default(), FlownLap::default());
    fly(&strong, 4, &mut memory, &mut before);
    fly(&weak, 4, &mut memory, &mut after);
    assert_eq!(before.margins.len(), strong.fields);
    for ((before, after), field) in before.margins.iter().zip(&after.margins).zip(&after.fields) {
        assert!((before - drop - after).abs() < 1e-9, "{before} {after}");
        assert_eq!(*field == Field::Bad, *after < 0.0);
    }
    let count = |lap: &FlownLap| lap.fields.iter().filter(|field| **field == Field::Bad).count();
    assert!(count(&before) > 0 && count(&after) > count(&before));
}

#[test]
fn a_standing_picture_has_the_least_margin_since_it_began_to_stand() {
    let mut random = Random::new(8);
    let row: Vec<f64> = (0..57).map(|_| (random.uniform() * 20.0).floor()).collect();
    let (mut least, mut memory) = (Vec::new(), Vec::new());
    for before in [0, 1, 2, 9, 56, 57] {
        least_of_the_last(&row, before, &mut memory, &mut least);
        for (index, least) in least.iter().enumerate() {
            let expected = (0..=before).map(|back| row[(index + 57 - back) % 57]).fold(f64::INFINITY, f64::min);
            assert_eq!(*least, expected, "{before} at {index}");
        }
    }
}

#[test]
fn nothing_received_is_the_least_margin() {
    assert_eq!((margin(0.0), margin(-1e-20), margin(1.0)), (LEAST_MARGIN.0, LEAST_MARGIN.0, 0.0));
    assert!((margin(100.0) - 20.0).abs() < 1e-12);
}
