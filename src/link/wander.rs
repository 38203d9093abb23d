//! How a flown line strays from the drawn one: slowly, and never the same twice.
//!
//! Each coordinate's offset is a stationary normal process along the line with the plan's standard deviation and the
//! correlation `exp(-s²/2l²)` at a distance `s`, `l` = [`CORRELATION`]. The line is closed, so the process is a sum of
//! harmonics of the lap with normal amplitudes, exactly normal at every place; the offset is the same at the lap's end and
//! start.

use std::f64::consts::{SQRT_2, TAU};

use num_complex::Complex64;

use crate::rf::random::Random;
use crate::rf::{Vec3, phasor};
use crate::units::Metres;

/// Distance along the line over which an offset keeps its sign. Our choice, no source: about half the way from one gate to
/// the next, because a pilot steers back to the line at every gate. How often a picture breaks up depends on it, since a
/// fade of the drawn paths lasts as long as the offset: with 2 m the demo's weaker entries at less power break up 5 to 50 %
/// less often, with 10 m up to 15 % more often; the share of lost fields hardly moves.
pub const CORRELATION: Metres = Metres(5.0);

/// Harmonics beyond this many standard deviations of the spectrum are left out: a three-hundredth of a per cent of the
/// power.
const SPECTRUM_WIDTH: f64 = 4.0;

/// A lap's harmonics, prepared once.
#[derive(Clone, Debug)]
pub struct Wander {
    /// `e^{j2πi/n}` for every sample `i`.
    turns: Vec<Complex64>,
    /// Amplitude of each harmonic in metres, from the constant one on.
    amplitudes: Vec<f64>,
    /// Radians per metre of the first harmonic.
    first: f64,
}

/// Where one sample of a lap is flown, as seen from where it is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Offset {
    /// Metres.
    pub place: Vec3,
    /// Change of it per metre along the line.
    pub slope: Vec3,
}

impl Wander {
    /// For a closed lap of this length with so many evenly spaced samples; `sigma` per coordinate, zero or more.
    pub fn new(length: Metres, samples: usize, sigma: Metres) -> Self {
        let first = TAU / length.0.max(1e-3);
        let turns = (0..samples).map(|sample| phasor(TAU * sample as f64 / samples as f64)).collect();
        let step = first * CORRELATION.0;
        // More harmonics than the samples can carry would only repeat lower ones.
        let highest = ((SPECTRUM_WIDTH / step) as usize).min(samples.saturating_sub(1) / 2);
        let weight = |harmonic: usize| {
            let width = step * harmonic as f64;
            libm::exp(-0.5 * width * width) * if harmonic == 0 { 1.0 } else { 2.0 }
        };
        let total: f64 = (0..=highest).map(weight).sum();
        let amplitudes = (0..=highest).map(|harmonic| sigma.0 * (weight(harmonic) / total).sqrt()).collect();
        Self { turns, amplitudes, first }
    }

    /// Draws the offsets of all samples of a lap into `offsets`, which is emptied first.
    pub fn draw(&self, random: &mut Random, offsets: &mut Vec<Offset>) {
        offsets.clear();
        offsets.resize(self.turns.len(), Offset { place: Vec3::zeros(), slope: Vec3::zeros() });
        for axis in 0..3 {
            for (harmonic, amplitude) in self.amplitudes.iter().enumerate() {
                // Both parts of standard deviation 1.
                let drawn = random.normal() * (SQRT_2 * amplitude);
                let slope = self.first * harmonic as f64;
                let mut index = 0;
                for offset in offsets.iter_mut() {
                    let turn = self.turns[index];
                    offset.place[axis] += drawn.re * turn.re + drawn.im * turn.im;
                    offset.slope[axis] += (drawn.im * turn.re - drawn.re * turn.im) * slope;
                    index = (index + harmonic) % self.turns.len();
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn offsets_have_the_stated_deviation_and_correlation_at_every_place() {
        let (length, samples) = (Metres(80.0), 160);
        let wander = Wander::new(length, samples, Metres(0.3));
        let mut random = Random::new(5);
        let mut offsets = Vec::new();
        let laps = 8000;
        // Products of the offset at one place with that at distances of 0, 2.5, 5 and 10 m, over the end of the lap.
        let (start, steps) = (150, [0, 5, 10, 20]);
        let mut products = [0.0; 4];
        for _ in 0..laps {
            wander.draw(&mut random, &mut offsets);
            for axis in 0..3 {
                for (product, step) in products.iter_mut().zip(steps) {
                    *product += offsets[start].place[axis] * offsets[(start + step) % samples].place[axis];
                }
            }
        }
        for (product, step) in products.iter().zip(steps) {
            let distance = 0.5 * f64::from(step as u32);
            let got = product / f64::from(3 * laps) / (0.3 * 0.3);
            let expected = libm::exp(-0.5 * distance * distance / (CORRELATION.0 * CORRELATION.0));
            // Standard error √(1+ρ²)/√24000 at most 0.0092.
            assert!((got - expected).abs() < 4.0 * 0.0092, "at {distance} m: {got}, not {expected}");
        }
    }

    #[test]
    fn slopes_are_the_change_of_the_offset() {
        let wander = Wander::new(Metres(60.0), 600, Metres(0.3));
        let mut offsets = Vec::new();
        wander.draw(&mut Random::new(6), &mut offsets);
        for sample in 0..600 {
            let (before, after) = (offsets[(sample + 599) % 600].place, offsets[(sample + 1) % 600].place);
            assert!(((after - before) / 0.2 - offsets[sample].slope).norm() < 1e-3);
        }
    }

    #[test]
    fn no_deviation_means_the_drawn_line_and_a_tiny_lap_is_fine() {
        let mut offsets = Vec::new();
        Wander::new(Metres(60.0), 100, Metres(0.0)).draw(&mut Random::new(6), &mut offsets);
        assert!(offsets.len() == 100 && offsets.iter().all(|offset| offset.place == Vec3::zeros()));
        Wander::new(Metres(1.0), 1, Metres(0.3)).draw(&mut Random::new(6), &mut offsets);
        assert!(offsets[0].place.norm() > 0.0 && offsets[0].slope == Vec3::zeros());
    }
}
