//! The picture against what its model states.

use super::analogue::{BURST, SYNC};
use super::*;
use crate::rf::noise::fm_gain;

const ANALOGUE: Standard = Standard::Analogue { bandwidth: Hertz(18e6) };
const DIGITAL: Standard = Standard::Digital { required: Db(12.0), freeze: Seconds(0.5) };

fn reception(carrier_to_noise: f64, k: f64, standard: Standard) -> Reception {
    Reception {
        carrier_to_noise: Db(carrier_to_noise),
        k,
        speed: MetresPerSecond(15.0),
        frequency: Hertz(5.8e9),
        standard,
    }
}

/// Mean square difference of two pictures in all three colours, over the square of the full swing.
fn difference(first: &[u8], second: &[u8]) -> f64 {
    let square = |(first, second): (&u8, &u8)| (f64::from(*first) - f64::from(*second)) / 255.0;
    let sum: f64 = first.iter().zip(second).map(square).map(|difference| difference * difference).sum();
    sum / (3 * WIDTH * HEIGHT) as f64
}

/// Some fields at a reception, and the same without any noise.
fn fields(reception: &Reception, seed: u64, count: usize) -> Vec<(Vec<u8>, Vec<u8>, Shown)> {
    let clean = Reception { carrier_to_noise: Db(200.0), k: f64::INFINITY, ..*reception };
    let (mut seen, mut sent) = (ReceiverScreen::new(seed), ReceiverScreen::new(seed));
    let draw = |screen: &mut ReceiverScreen, reception: &Reception| {
        let mut pixels = vec![0; BYTES];
        let shown = screen.field(reception, FIELD, &mut pixels);
        (pixels, shown)
    };
    (0..count)
        .map(|_| {
            let (seen, shown) = draw(&mut seen, reception);
            (seen, draw(&mut sent, &clean).0, shown)
        })
        .collect()
}

#[test]
fn the_same_seed_draws_the_same_bits_and_another_one_does_not() {
    for standard in [ANALOGUE, DIGITAL] {
        let at = reception(11.5, 8.0, standard);
        assert!(fields(&at, 7, 6) == fields(&at, 7, 6));
        assert!(fields(&at, 7, 6) != fields(&at, 8, 6));
    }
}

/// Without colour (whose own noise comes on top) and on mid greys, where nothing is cut off.
#[test]
fn the_noise_is_that_of_the_formula() {
    for carrier_to_noise in [13.0, 16.0, 20.0, 26.0] {
        let (mut sum, mut count) = (0.0, 0.0);
        for (seen, sent, _) in fields(&reception(carrier_to_noise, f64::INFINITY, ANALOGUE), 3, 12) {
            for y in 8..HEIGHT - 8 {
                for x in 8..WIDTH - 8 {
                    let at = |picture: &[u8], x: usize| -> Option<f64> {
                        let pixel = &picture[(y * WIDTH + x) * 4..][..3];
                        let weights = [0.299, 0.587, 0.114];
                        let is_mid = pixel.iter().all(|&channel| (60..196).contains(&channel));
                        is_mid.then(|| {
                            weights.iter().zip(pixel).map(|(weight, &channel)| weight * f64::from(channel)).sum()
                        })
                    };
                    // Only where the picture is even, so that a line's shaking does not count as noise.
                    let here = at(&sent, x);
                    let is_even = (x - 2..=x + 2)
                        .all(|x| at(&sent, x).zip(here).is_some_and(|(there, here)| (there - here).abs() < 2.0));
                    if let (true, Some(here)) = (is_even, here) {
                        let pixel = &seen[(y * WIDTH + x) * 4..][..3];
                        let value: f64 = [0.299, 0.587, 0.114].iter().zip(pixel).map(|(w, &c)| w * f64::from(c)).sum();
                        sum += (value - here) * (value - here);
                        count += 1.0;
                    }
                }
            }
        }
        let gain = fm_gain(analogue::DEVIATION, analogue::TOP_FREQUENCY, Hertz(18e6));
        let luminance = 1.0 / (Db(carrier_to_noise) + gain).ratio();
        // The three colours carry independent blotches of the same size; brightness weighs them.
        let blotches = 0.299 * 0.299 + 0.587 * 0.587 + 0.114 * 0.114;
        let expected = luminance * (1.0 + blotches) * 255.0 * 255.0;
        // Whole steps: cutting each channel to a byte adds 1/12 of a step and takes half a one off.
        let measured = sum / count - 0.25;
        println!("{carrier_to_noise} dB: {measured:.2} for {expected:.2} from {count} pixels");
        assert!((measured / expected - 1.0).abs() < 0.06, "{carrier_to_noise} dB: {measured} {expected} {count}");
        assert!(count > 50_000.0);
    }
}

/// Clicks by Rice's rates against carrier and noise simulated: noise of a flat band `B` drawn as a sum of waves, clicks
/// counted where the sum of carrier and noise crosses the negative real axis.
#[test]
fn clicks_are_as_frequent_as_a_simulated_discriminator_counts() {
    let bandwidth = Hertz(18e6);
    let mut random = Random::new(11);
    for (decibels, off) in [(2.0, 0.0), (5.0, 0.0), (5.0, 4e6)] {
        let ratio = Db(decibels).ratio();
        let sigma = (1.0 / (ratio * 128.0)).sqrt();
        let (steps, per_second) = (400_000, 20.0 * bandwidth.0);
        let (mut clicks, mut time) = (0.0, 0.0);
        // Several draws of 128 waves each, in frames that turn along with the carrier.
        for _ in 0..4 {
            let waves: Vec<(Complex64, Complex64)> = (0..128)
                .map(|wave| {
                    let place = (f64::from(wave) + random.uniform()) / 128.0 - 0.5;
                    let turn = std::f64::consts::TAU * (place * bandwidth.0 - off) / per_second;
                    (random.normal() * sigma, crate::rf::phasor(turn))
                })
                .collect();
            let mut waves = waves;
            let mut before = Complex64::new(1.0, 0.0);
            for _ in 0..steps / 4 {
                let mut sum = Complex64::new(1.0, 0.0);
                for (wave, turn) in &mut waves {
                    *wave *= *turn;
                    sum += *wave;
                }
                if sum.re < 0.0 && before.re < 0.0 && (sum.im < 0.0) != (before.im < 0.0) {
                    clicks += 1.0;
                }
                before = sum;
                time += 1.0 / per_second;
            }
        }
        let expected = click_rate(ratio, bandwidth, Hertz(off)).iter().map(|rate| rate.0).sum::<f64>() * time;
        println!("{decibels} dB, {off} Hz off: {clicks} clicks for {expected:.1}");
        // A count of independent events: four standard errors.
        assert!((clicks - expected).abs() < 4.0 * expected.sqrt() + 0.05 * expected, "{decibels}: {clicks} {expected}");
    }
}

#[test]
fn a_weaker_carrier_never_makes_a_better_picture() {
    for k in [f64::INFINITY, 10.0, 0.0] {
        let mut before = 0.0;
        for carrier_to_noise in [40.0, 30.0, 24.0, 18.0, 14.0, 11.0, 8.0, 5.0, 2.0, -3.0] {
            let drawn = fields(&reception(carrier_to_noise, k, ANALOGUE), 5, 10);
            let mean = drawn.iter().map(|(seen, sent, _)| difference(seen, sent)).sum::<f64>() / 10.0;
            assert!(mean > before, "{carrier_to_noise} dB, K {k}: {mean} after {before}");
            before = mean;
        }
        assert!(before > 0.1, "{before}");
    }
    let mut before = LineQuality::at(1e4, Hertz(18e6));
    for tenths in (-200..400).rev() {
        let line = LineQuality::at(Db(f64::from(tenths) / 10.0).ratio(), Hertz(18e6));
        assert!(line.signal <= before.signal && line.clicks >= before.clicks);
        before = line;
    }
    let nothing = LineQuality::at(0.0, Hertz(18e6));
    assert!(nothing.signal == 0.0 && nothing.noise == 0.0 && nothing.clicks.is_finite());
}

#[test]
fn lines_hold_above_their_limit_and_fall_below_it() {
    let torn = |carrier_to_noise: f64| {
        let drawn = fields(&reception(carrier_to_noise, f64::INFINITY, ANALOGUE), 2, 4);
        drawn.iter().map(|(_, _, shown)| shown.torn).sum::<f64>() / 4.0
    };
    assert_eq!((torn(SYNC.0 + 0.1), torn(SYNC.0 - 0.1)), (0.0, 1.0));
    // Colour: no channel differs from another without it.
    let is_grey = |carrier_to_noise: f64| {
        let (seen, ..) = fields(&reception(carrier_to_noise, f64::INFINITY, ANALOGUE), 2, 1).remove(0);
        seen.chunks_exact(4).all(|pixel| pixel[0] == pixel[1] && pixel[1] == pixel[2])
    };
    assert!(is_grey(BURST.0 - 0.1) && !is_grey(BURST.0 + 0.1));
}

#[test]
fn fades_keep_the_mean_and_follow_the_outage_of_rice() {
    let (mut screen, mut pixels) = (ReceiverScreen::new(21), vec![0; BYTES]);
    let at = reception(10.0, 4.0, ANALOGUE);
    let (mut mean, mut under, count) = (0.0, 0.0, 500);
    for _ in 0..count {
        screen.field(&at, FIELD, &mut pixels);
        mean += screen.lines.iter().sum::<f64>() / (HEIGHT * count) as f64;
        under += screen.lines.iter().filter(|&&line| line < Db(5.0).ratio()).count() as f64 / (HEIGHT * count) as f64;
    }
    // One draw of 32 waves in all: its own mean strays from 1 by a few per cent of the scatter.
    assert!((mean / Db(10.0).ratio() - 1.0).abs() < 0.15, "{mean}");
    let outage = crate::rf::fading::rice_outage(4.0, Db(5.0));
    assert!((under / outage - 1.0).abs() < 0.5, "{under} {outage}");
}

#[test]
fn frames_are_lost_as_the_curve_says_and_stand_as_long_as_stated() {
    assert!((frame_loss(Db(0.0)) - 0.01).abs() < 1e-6);
    assert!((frame_loss(Db(-1.0)) - 0.5).abs() < 1e-12);
    assert!(frame_loss(Db(3.0)) < 1e-12 && frame_loss(Db(-4.0)) > 1.0 - 1e-9);
    let frozen = |carrier_to_noise: f64| {
        let drawn = fields(&reception(carrier_to_noise, f64::INFINITY, DIGITAL), 9, 200);
        drawn.iter().filter(|(_, _, shown)| shown.is_frozen).count()
    };
    assert_eq!((frozen(16.0), frozen(8.0)), (0, 200));
    // A single lost frame: it and the 25 frames of half a second after it show the picture from before.
    let (mut screen, mut pixels) = (ReceiverScreen::new(1), vec![0; BYTES]);
    let good = reception(30.0, f64::INFINITY, DIGITAL);
    screen.field(&good, FIELD, &mut pixels);
    let before = pixels.clone();
    let mut still = 0;
    let mut shown = screen.field(&reception(0.0, f64::INFINITY, DIGITAL), FIELD, &mut pixels);
    while shown.is_frozen {
        assert!(pixels == before);
        still += 1;
        shown = screen.field(&good, FIELD, &mut pixels);
    }
    assert_eq!(still, 26);
    assert!(pixels != before, "the wheel has turned meanwhile");
}

#[test]
fn damaged_blocks_show_near_the_cliff_only() {
    let torn = |carrier_to_noise: f64| {
        let drawn = fields(&reception(carrier_to_noise, f64::INFINITY, DIGITAL), 4, 100);
        drawn.iter().map(|(_, _, shown)| shown.torn).sum::<f64>()
    };
    assert!(torn(12.3) > 1.0);
    assert_eq!(torn(15.0), 0.0);
}

#[test]
fn a_clean_picture_is_the_card_and_moves() {
    for standard in [ANALOGUE, DIGITAL] {
        let drawn = fields(&reception(200.0, f64::INFINITY, standard), 1, 2);
        let (first, _, _) = &drawn[0];
        let mut card = card::Card::new();
        card.turn(0.0);
        let furthest = first
            .chunks_exact(4)
            .zip(card.pixels())
            .flat_map(|(pixel, colour)| colour.iter().zip(pixel).map(|(sent, seen)| sent.abs_diff(*seen)))
            .max();
        assert!(furthest <= Some(1), "{furthest:?}");
        assert!(difference(first, &drawn[1].0) > 1e-5, "the wheel turns");
    }
}

#[test]
fn odd_receptions_draw_something() {
    let (mut screen, mut pixels) = (ReceiverScreen::new(0), vec![0; BYTES]);
    for carrier_to_noise in [f64::NEG_INFINITY, -400.0, 400.0, f64::NAN] {
        for k in [f64::NAN, -1.0, 0.0, f64::INFINITY] {
            for standard in [ANALOGUE, DIGITAL] {
                screen.field(
                    &Reception { speed: MetresPerSecond(0.0), ..reception(carrier_to_noise, k, standard) },
                    FIELD,
                    &mut pixels,
                );
            }
        }
    }
}

#[test]
fn a_margin_is_counted_from_what_the_picture_needs() {
    let at = |picture: &Picture| Reception::at_margin(Db(5.0), 4.0, MetresPerSecond(15.0), Hertz(5.8e9), picture);
    let analogue = at(&Picture::Analogue { bandwidth_hz: 18e6, required_cn_db: None });
    assert_eq!((analogue.carrier_to_noise, analogue.standard), (Db(15.0), ANALOGUE));
    let digital = at(&Picture::Digital { bandwidth_hz: 20e6, required_cn_db: Some(9.0), freeze_s: 0.5 });
    let expected = Standard::Digital { required: Db(9.0), freeze: Seconds(0.5) };
    assert_eq!((digital.carrier_to_noise, digital.standard), (Db(14.0), expected));
}

#[test]
fn what_is_not_drawn_counts_for_a_picture_that_stands_still() {
    let frozen = |fields: u32, count: usize| {
        let (mut screen, mut pixels) = (ReceiverScreen::new(3), vec![0; BYTES]);
        let standard = Standard::Digital { required: Db(12.0), freeze: Seconds(0.3) };
        let at = reception(12.0, f64::INFINITY, standard);
        let passed = FIELD * f64::from(fields);
        let frozen = (0..count).filter(|_| screen.field(&at, passed, &mut pixels).is_frozen).count();
        frozen as f64 / count as f64
    };
    // A field stands still when any of the last 16 frames was lost, and one in a hundred is, however rarely one looks.
    let expected = 1.0 - libm::pow(0.99, 16.0);
    for (fields, count) in [(1, 3000), (4, 750)] {
        let share = frozen(fields, count);
        // 3000 frames hold some 190 independent looks: a standard error of 0.026.
        assert!((share - expected).abs() < 0.08, "{fields}: {share} {expected}");
    }
}

#[test]
fn the_reception_on_a_lap_is_that_of_the_port_in_use() {
    let plan = crate::plan::demo::demo();
    let report = crate::link::Evaluator::default().report(&plan, crate::link::Effort::FULL);
    for entry in &report.entries {
        let sample = report.lap.time_s.len() / 3;
        let at = Reception::on_lap(&plan, &report, entry, sample).unwrap();
        let port = &entry.ports[usize::from(entry.together.port[sample])];
        let Standard::Analogue { .. } = at.standard else { panic!("the demo flies analogue pictures") };
        assert!((at.carrier_to_noise.0 - port.margin_db[sample] - 10.0).abs() < 1e-9, "10 dB are needed");
        assert!((Db::from_ratio(at.k).0 - port.k_db[sample]).abs() < 1e-9);
        assert_eq!(Reception::on_lap(&plan, &report, entry, usize::MAX), None);
    }
}
