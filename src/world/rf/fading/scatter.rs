//! Scatter as a field in space: plane waves from all round the horizontal, through which an antenna moves.
//!
//! The field at a place `p` is `Σ c_n e^{jk u_n·p}` with directions `u_n` evenly round the horizontal, the first drawn, and
//! independent normal amplitudes `c_n`. Over many draws it is exactly complex normal at every place whatever the number
//! of waves, and its slope along a horizontal line has exactly the variance of Clarke's model (`k²/2` from three
//! directions on), so that outages and crossing rates are those of the closed forms. Its correlation over a distance `d`
//! follows Clarke's `J0(kd)` up to about as many radians as there are waves. Sources: Clarke's model and Rice's formula,
//! from memory; checked against `tests/reference/rice_lcr.csv` in `tests/scatter.rs`.

use std::f64::consts::PI;

use num_complex::Complex64;

use crate::rf::random::Random;
use crate::rf::{Vec3, phasor};

/// Half the number of waves: each direction is drawn together with the opposite one, because their phasors are conjugates.
/// 32 waves in all: the field keeps Clarke's correlation over five wavelengths. Four times as many change no number of
/// breakups by more than its own 90 % interval after 600 laps.
pub const PAIRS: usize = 16;

/// Pairs that are summed together: as many as the registers of a processor hold.
const TOGETHER: usize = 4;

/// One draw of the scatter for several antennas that move together. Each antenna has amplitudes of its own (about half a
/// wavelength apart or of another polarization, scattered fields are independent); its mean power is 1.
#[derive(Clone, Debug)]
pub struct Scatter {
    /// `k u_n`, rad/m: east and north.
    east: [f64; PAIRS],
    north: [f64; PAIRS],
    antennas: Vec<Amplitudes>,
}

/// What an antenna takes of each pair: the factors of the cosine and of the sine of the phase.
#[derive(Clone, Debug)]
struct Amplitudes {
    cosine_re: [f64; PAIRS],
    cosine_im: [f64; PAIRS],
    sine_re: [f64; PAIRS],
    sine_im: [f64; PAIRS],
}

/// The phases of all pairs at a place, or the turns of a step between two places.
#[derive(Clone, Copy, Debug)]
pub struct Phases {
    re: [f64; PAIRS],
    im: [f64; PAIRS],
}

impl Scatter {
    /// Draws the scatter at a wavenumber, rad/m, for a number of antennas.
    pub fn draw(random: &mut Random, wavenumber: f64, antennas: usize) -> Self {
        let first = PI * random.uniform();
        let (mut east, mut north) = ([0.0; PAIRS], [0.0; PAIRS]);
        for (pair, (east, north)) in east.iter_mut().zip(&mut north).enumerate() {
            let (sine, cosine) = libm::sincos(first + PI * pair as f64 / PAIRS as f64);
            (*east, *north) = (wavenumber * cosine, wavenumber * sine);
        }
        // c₊e^{jφ} + c₋e^{-jφ} = (c₊+c₋) cos φ + j(c₊-c₋) sin φ: sum and difference of independent normal numbers are
        // again independent and normal.
        let share = (1.0 / PAIRS as f64).sqrt();
        let amplitudes = |random: &mut Random| {
            let mut drawn = Amplitudes {
                cosine_re: [0.0; PAIRS],
                cosine_im: [0.0; PAIRS],
                sine_re: [0.0; PAIRS],
                sine_im: [0.0; PAIRS],
            };
            for pair in 0..PAIRS {
                let (cosine, sine) = (random.normal() * share, random.normal() * share);
                (drawn.cosine_re[pair], drawn.cosine_im[pair]) = (cosine.re, cosine.im);
                (drawn.sine_re[pair], drawn.sine_im[pair]) = (sine.re, sine.im);
            }
            drawn
        };
        Self { east, north, antennas: (0..antennas).map(|_| amplitudes(random)).collect() }
    }

    /// The phases at a place, or the turns of a step; metres.
    pub fn phases(&self, place: &Vec3) -> Phases {
        let mut phases = Phases { re: [0.0; PAIRS], im: [0.0; PAIRS] };
        for pair in 0..PAIRS {
            let turn = phasor(self.east[pair] * place.x + self.north[pair] * place.y);
            (phases.re[pair], phases.im[pair]) = (turn.re, turn.im);
        }
        phases
    }

    /// Adds to `sums` what an antenna takes up at as many places evenly along a straight way: the first where the phases are
    /// `first`, each next a `step` on. `weight` is the amplitude of the scatter there, and how much it grows from place to
    /// place.
    ///
    /// Along a straight way each pair is a sinusoid: from two places on, `x_{m+1} = 2 cos δ · x_m - x_{m-1}` with the step's
    /// turn `δ`. Rounding grows with the number of places over `sin δ`, by some 10⁻¹² after hundreds of small steps.
    pub fn add_along(
        &self,
        antenna: usize,
        first: &Phases,
        step: &Phases,
        weight: (f64, f64),
        work: &mut Vec<[f64; 2]>,
        sums: &mut [Complex64],
    ) {
        work.clear();
        work.resize(sums.len(), [0.0; 2]);
        let taken = &self.antennas[antenna];
        for group in (0..PAIRS).step_by(TOGETHER) {
            let (mut now, mut next) = ([[0.0; 2]; TOGETHER], [[0.0; 2]; TOGETHER]);
            let mut turn = [[0.0; 2]; TOGETHER];
            for (slot, pair) in (group..group + TOGETHER).enumerate() {
                let at = |cosine: f64, sine: f64| {
                    [
                        taken.cosine_re[pair] * cosine + taken.sine_re[pair] * sine,
                        taken.cosine_im[pair] * cosine + taken.sine_im[pair] * sine,
                    ]
                };
                let (re, im, step_re, step_im) = (first.re[pair], first.im[pair], step.re[pair], step.im[pair]);
                now[slot] = at(re, im);
                next[slot] = at(re * step_re - im * step_im, re * step_im + im * step_re);
                turn[slot] = [2.0 * step_re; 2];
            }
            for sum in work.iter_mut() {
                for slot in 0..TOGETHER {
                    let after =
                        [turn[slot][0] * next[slot][0] - now[slot][0], turn[slot][1] * next[slot][1] - now[slot][1]];
                    sum[0] += now[slot][0];
                    sum[1] += now[slot][1];
                    now[slot] = next[slot];
                    next[slot] = after;
                }
            }
        }
        let (mut amplitude, more) = weight;
        for (sum, field) in sums.iter_mut().zip(work.iter()) {
            sum.re += amplitude * field[0];
            sum.im += amplitude * field[1];
            amplitude += more;
        }
    }

    /// The field that an antenna takes up where the phases are these; mean power 1 over many draws.
    pub fn field(&self, antenna: usize, phases: &Phases) -> Complex64 {
        let amplitudes = &self.antennas[antenna];
        let (mut re, mut im) = (0.0, 0.0);
        for pair in 0..PAIRS {
            let (cosine, sine) = (phases.re[pair], phases.im[pair]);
            re += amplitudes.cosine_re[pair] * cosine + amplitudes.sine_re[pair] * sine;
            im += amplitudes.cosine_im[pair] * cosine + amplitudes.sine_im[pair] * sine;
        }
        Complex64::new(re, im)
    }
}

impl Phases {
    /// Goes on by a step.
    pub fn turn(&mut self, step: &Phases) {
        for pair in 0..PAIRS {
            let (re, im) = (self.re[pair], self.im[pair]);
            self.re[pair] = re * step.re[pair] - im * step.im[pair];
            self.im[pair] = re * step.im[pair] + im * step.re[pair];
        }
    }

    /// So many steps at once.
    pub fn times(&self, count: usize) -> Phases {
        let (mut left, mut power) = (count, *self);
        let mut product = Phases { re: [1.0; PAIRS], im: [0.0; PAIRS] };
        while left > 0 {
            if left % 2 == 1 {
                product.turn(&power);
            }
            left /= 2;
            if left > 0 {
                let once = power;
                power.turn(&once);
            }
        }
        product
    }

    /// The step back.
    pub fn reversed(&self) -> Phases {
        Phases { re: self.re, im: self.im.map(|im| -im) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_lead_where_the_place_is() {
        let scatter = Scatter::draw(&mut Random::new(1), 121.6, 2);
        let (start, step) = (Vec3::new(3.0, -2.0, 1.0), Vec3::new(0.004, -0.003, 0.002));
        let (mut walked, turn) = (scatter.phases(&start), scatter.phases(&step));
        for _ in 0..1000 {
            walked.turn(&turn);
        }
        let direct = scatter.phases(&(start + step * 1000.0));
        for antenna in 0..2 {
            assert!((scatter.field(antenna, &walked) - scatter.field(antenna, &direct)).norm_sqr() < 1e-18);
        }
        walked.turn(&turn.reversed());
        let before = scatter.phases(&(start + step * 999.0));
        assert!((scatter.field(0, &walked) - scatter.field(0, &before)).norm_sqr() < 1e-18);
    }

    #[test]
    fn along_a_straight_way_the_field_is_that_of_every_place() {
        let scatter = Scatter::draw(&mut Random::new(3), 121.6, 2);
        for (step, count) in [(Vec3::new(0.007, -0.006, 0.002), 40), (Vec3::new(1e-6, 2e-5, 0.0), 500)] {
            let start = Vec3::new(-3.0, 12.0, 1.0);
            let (first, turn) = (scatter.phases(&start), scatter.phases(&step));
            let mut sums = vec![Complex64::new(1.0, -2.0); count];
            scatter.add_along(1, &first, &turn, (0.5, 0.01), &mut Vec::new(), &mut sums);
            for (place, sum) in sums.iter().enumerate() {
                let exact = scatter.field(1, &scatter.phases(&(start + step * place as f64)));
                let expected = Complex64::new(1.0, -2.0) + exact * (0.5 + 0.01 * place as f64);
                assert!((sum - expected).norm_sqr().sqrt() < 1e-9, "{count}: {place}");
            }
            let end = scatter.phases(&(start + step * count as f64));
            let mut walked = first;
            walked.turn(&turn.times(count));
            assert!((scatter.field(0, &walked) - scatter.field(0, &end)).norm_sqr().sqrt() < 1e-9);
        }
    }

    #[test]
    fn antennas_are_independent_and_have_unit_power() {
        let mut random = Random::new(2);
        let (mut power, mut product, count) = (0.0, Complex64::new(0.0, 0.0), 20_000.0);
        for _ in 0..20_000 {
            let scatter = Scatter::draw(&mut random, 100.0, 2);
            let phases = scatter.phases(&Vec3::new(7.0, 3.0, 0.0));
            let (first, second) = (scatter.field(0, &phases), scatter.field(1, &phases));
            power += first.norm_sqr() / count;
            product += first * second.conj() / count;
        }
        // Standard error of both: 1/√20000.
        assert!((power - 1.0).abs() < 4.0 * 0.0071, "{power}");
        assert!(product.norm_sqr().sqrt() < 4.0 * 0.0071, "{product}");
    }
}
