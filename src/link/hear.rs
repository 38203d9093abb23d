//! One instant of one link: what arrives, how strong it is on average, and how much it fades.
//!
//! Mean power of the paths `i` with amplitudes `a_i` (partially coherent, see [`Mixing`]):
//! `Σ|a_i|² + 2 Re Σ_{i<j} a_i a_j* exp(-s_ij²/2) + diffuse`, each product summed over the combinations of hands whose
//! phases are unknown. K is the strongest path over the other paths plus the diffuse power.

use nalgebra::Matrix3;
use num_complex::Complex64;

use super::end::End;
use super::report::K_RANGE_DB;
use crate::rf::fading::diffuse_gain;
use crate::rf::{ComplexVec3, Vec3};
use crate::units::Db;

/// A path at one frequency, between two places, before any antenna is chosen.
#[derive(Clone, Debug)]
pub struct CarriedPath {
    /// Unit direction in which the wave leaves the transmitter.
    pub depart: Vec3,
    /// Unit direction in which it travels when it reaches the receiver.
    pub arrive: Vec3,
    /// From the field vector radiated to the field vector that arrives: `(λ/4πd) e^{-jkd}` times the product of
    /// interaction matrices times the amplitude that obstructions leave.
    pub transfer: Matrix3<Complex64>,
    /// Length, in metres.
    pub length: f64,
    /// Power that obstructions leave, people apart (1 when nothing is near).
    pub obstruction: f64,
}

/// All paths of an instant at one frequency, before any antenna is chosen.
#[derive(Clone, Debug, Default)]
pub struct Carried {
    /// The direct path first, then the bounces.
    pub paths: Vec<CarriedPath>,
    /// Free-space power gain of the direct distance between isotropic ends, `(λ/4πd)²`; obstructions do not lower it.
    pub free_space: f64,
    /// Amplitudes that people leave: draw after draw, each with one amplitude per path. Empty when nobody is near.
    pub people: Vec<f64>,
}

impl Carried {
    /// The number of draws of the crowd that matter here; at least one.
    pub fn draws(&self) -> usize {
        if self.people.is_empty() { 1 } else { self.people.len() / self.paths.len().max(1) }
    }

    /// Mean over the draws of the power that people leave on a path.
    pub fn people_factor(&self, path: usize) -> f64 {
        if self.people.is_empty() {
            return 1.0;
        }
        let each = self.people.chunks_exact(self.paths.len());
        let draws = each.len() as f64;
        each.map(|amplitudes| amplitudes[path] * amplitudes[path]).sum::<f64>() / draws
    }
}

/// How the phases of paths and the scatter mix.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mixing {
    /// Wavenumber, rad/m.
    pub wavenumber: f64,
    /// Standard deviation of the flown position, in metres; zero gives the exact coherent sum.
    pub line_sigma: f64,
    /// K-factor of the surroundings between isotropic ends, as a power ratio.
    pub surroundings_k: f64,
    /// Cross-polarization ratio of the scatter.
    pub xpr: Db,
}

/// What one port hears at one instant, as ratios to the transmitter's power at its antenna.
#[derive(Clone, Debug, Default)]
pub struct Heard {
    /// Mean power, over fading and over the draws of the crowd.
    pub mean: f64,
    /// Strongest path over the rest, from the powers averaged over the draws.
    pub k: f64,
    /// Power of the direct path alone, averaged over the draws.
    pub direct: f64,
    /// Diffuse power.
    pub diffuse: f64,
    /// Per draw of the crowd: mean power and K.
    pub draws: Vec<(f64, f64)>,
    /// Power of each path alone, averaged over the draws.
    pub paths: Vec<f64>,
}

/// The transmitter's side of an instant: shared by all ports that hear it.
#[derive(Clone, Debug, Default)]
pub struct Sent {
    /// Per path, the one or two vectors that arrive and add in power.
    arriving: Vec<[ComplexVec3; 2]>,
    parts: usize,
    /// Per pair of paths `i < j`, the coherence `exp(-s_ij²/2)`; row after row.
    coherence: Vec<f64>,
}

/// Below this coherence a pair of paths adds in power only; `exp(-40)`.
const NO_COHERENCE: f64 = 40.0;

impl Sent {
    /// Sends from `end` over every path of `carried`, reusing this value's memory.
    pub fn send(&mut self, carried: &Carried, end: &End<'_>, mixing: &Mixing) {
        self.arriving.clear();
        self.coherence.clear();
        self.parts = if end.antenna.tilt_is_unknown() { 2 } else { 1 };
        for path in &carried.paths {
            let fields = end.fields(&path.depart);
            let mut arriving = [ComplexVec3::zeros(); 2];
            for (part, field) in fields.parts().iter().enumerate() {
                arriving[part] = path.transfer * field;
            }
            self.arriving.push(arriving);
        }
        let phase = mixing.wavenumber * mixing.line_sigma;
        for (index, first) in carried.paths.iter().enumerate() {
            for second in &carried.paths[index + 1..] {
                let exponent = 0.5 * phase * phase * (first.depart - second.depart).norm_squared();
                self.coherence.push(if exponent > NO_COHERENCE { 0.0 } else { libm::exp(-exponent) });
            }
        }
    }

    /// What a port hears of it, reusing the memory of `heard`.
    pub fn hear(
        &self,
        carried: &Carried,
        sender: &End<'_>,
        port: &End<'_>,
        mixing: &Mixing,
        work: &mut Work,
        heard: &mut Heard,
    ) {
        let count = carried.paths.len();
        work.amplitudes.clear();
        for (path, arriving) in carried.paths.iter().zip(&self.arriving) {
            let fields = port.fields(&-path.arrive);
            let mut amplitudes = [Complex64::new(0.0, 0.0); 4];
            for (receive, vector) in fields.parts().iter().enumerate() {
                for (part, field) in arriving[..self.parts].iter().enumerate() {
                    // Unconjugated: the receiving vector is the one the antenna would radiate toward the sender.
                    amplitudes[2 * receive + part] = vector.x * field.x + vector.y * field.y + vector.z * field.z;
                }
            }
            work.amplitudes.push(amplitudes);
        }
        let sent_gains = sender.mean_partial_gains();
        heard.diffuse = carried.free_space / mixing.surroundings_k
            * diffuse_gain(&sent_gains, &port.mean_partial_gains(), mixing.xpr);

        // Powers and interference terms do not depend on the draw: people only scale the amplitudes.
        work.products.clear();
        let mut coherence = self.coherence.iter();
        for first in 0..count {
            for second in first..count {
                let sum: f64 = work.amplitudes[first]
                    .iter()
                    .zip(&work.amplitudes[second])
                    .map(|(a, b)| a.re * b.re + a.im * b.im)
                    .sum();
                let weight = if first == second { 1.0 } else { 2.0 * coherence.next().copied().unwrap_or(0.0) };
                work.products.push(sum * weight);
            }
        }

        heard.draws.clear();
        heard.paths.clear();
        heard.paths.resize(count, 0.0);
        let draws = carried.draws();
        let (mut mean, mut direct) = (0.0, 0.0);
        for draw in 0..draws {
            let people = carried.people.get(draw * count..(draw + 1) * count);
            let factor = |path: usize| people.map_or(1.0, |amplitudes| amplitudes[path]);
            let (mut specular, mut powers, mut strongest) = (0.0, 0.0, 0.0_f64);
            let mut products = work.products.iter();
            for first in 0..count {
                for second in first..count {
                    let product = products.next().copied().unwrap_or(0.0);
                    if product == 0.0 {
                        continue;
                    }
                    let scaled = product * factor(first) * factor(second);
                    specular += scaled;
                    if first == second {
                        powers += scaled;
                        strongest = strongest.max(scaled);
                        heard.paths[first] += scaled;
                        if first == 0 {
                            direct += scaled;
                        }
                    }
                }
            }
            // The sum is positive semidefinite; rounding may leave a complete cancellation a hair below zero.
            let power = specular.max(0.0) + heard.diffuse;
            mean += power;
            heard.draws.push((power, k_of(strongest, powers + heard.diffuse)));
        }
        let scale = 1.0 / draws as f64;
        heard.mean = mean * scale;
        heard.direct = direct * scale;
        heard.paths.iter_mut().for_each(|power| *power *= scale);
        let strongest = heard.paths.iter().copied().fold(0.0, f64::max);
        heard.k = k_of(strongest, heard.paths.iter().sum::<f64>() + heard.diffuse);
    }
}

/// Memory that [`Sent::hear`] reuses.
#[derive(Clone, Debug, Default)]
pub struct Work {
    amplitudes: Vec<[Complex64; 4]>,
    products: Vec<f64>,
}

/// Strongest over the rest of `all`, held within [`K_RANGE_DB`] so that it stays finite.
fn k_of(strongest: f64, all: f64) -> f64 {
    let rest = all - strongest;
    let (least, most) = (1e-6, 1e6);
    debug_assert_eq!((Db(K_RANGE_DB.0).ratio() * 1e6).round(), 1.0);
    if strongest <= 0.0 {
        least
    } else if rest <= strongest * least {
        most
    } else {
        (strongest / rest).clamp(least, most)
    }
}
