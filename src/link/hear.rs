//! One instant of one link: what arrives, how strong it is on average, and how much it fades.
//!
//! Mean power of the paths `i` with amplitudes `a_i` (partially coherent, see [`Mixing`]):
//! `Σ|a_i|² + 2 Re Σ_{i<j} a_i a_j* exp(-s_ij²/2) + diffuse`, each product summed over the combinations of hands whose
//! phases are unknown.
//!
//! What does not fade is the mean of the field: beside the strongest path `s`, a path whose phase against it wanders by
//! `s_is` keeps `γ_i = exp(-s_is²/2)` of its amplitude in the mean, so that the specular power is `S = |Σ γ_i a_i|²` and
//! `K = S / (mean - S)`. Where phases are washed out that is the strongest path over the rest; where a line is flown to a
//! hair, or distances are large, a ground bounce is part of the mean and does not fade a second time. (The phases are
//! normal, the rest is taken as Rayleigh: the definition of K applied to a sum with normal phases.)
//!
//! Where the unknown tilts of two ellipses matter, they are an unknown like the places of people: the outage is averaged
//! over them, in cases, not the level.

use num_complex::Complex64;

use super::crowd_cells::CrowdCases;
use super::end::End;
use super::outage::FIELD;
use super::paths::{Carried, Mixing};
use super::report::K_RANGE;
use super::wideband::channel_coherence;
use crate::rf::antenna::PartialGains;
use crate::rf::fading::channel::Channel;
use crate::rf::fading::diffuse_gain;
use crate::rf::fading::field::Motion;
use crate::rf::{ComplexVec3, Vec3};
use crate::units::{Db, Hertz, Metres};

const NOTHING: Complex64 = Complex64::new(0.0, 0.0);

/// What one port hears at one instant, as ratios to the transmitter's power at its antenna.
#[derive(Clone, Debug, Default)]
pub struct Heard {
    /// Mean power, over fading and over the draws of the crowd.
    pub mean: f64,
    /// Specular power over the rest, from the powers averaged over draws and tilts.
    pub k: f64,
    /// Power of the direct path alone, averaged over the draws.
    pub direct: f64,
    /// Diffuse power.
    pub diffuse: f64,
    /// Cases: those of the crowd one after the other, each tilt after tilt where tilts are kept apart.
    pub cases: Vec<Case>,
    /// How likely each case of the crowd is; its tilts are equally likely.
    pub crowd: CrowdCases,
    /// The amplitude of every path, people apart.
    pub amplitudes: Vec<Parts>,
    /// How much tilts change the power, at the draw where they do most: its variance over the square of its mean.
    swing: f64,
    /// Power of each path alone, averaged over the draws.
    pub paths: Vec<f64>,
}

/// How a port listens.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ear {
    /// Bandwidth over which the picture averages power; zero for one that does not.
    pub channel: Hertz,
    /// Number of the port: tilts of different ports are independent.
    pub port: usize,
}

impl Ear {
    /// The only port of a receiver whose picture does not average.
    pub const PLAIN: Self = Self { channel: Hertz(0.0), port: 0 };
}

/// Points of the two unknown tilts, each of which makes one case. Point `k` is at `(2k+1)π/8` for the sender, and at `g` times
/// that for a port. With an even `g` sum and difference of the two take all eight values, and so does the port's own with
/// an odd one where the sender's is known, so that the mean power is exact.
const TILTS: usize = 8;

/// `g` of port after port: the sums `1 + g` of the first ones differ in size, so that they do not fade at the same points.
const PORT_STEPS: [u32; 4] = [2, 6, 4, 2];

/// `g` of port after port where the sender's tilt is known.
const LONE_PORT_STEPS: [u32; 4] = [1, 3, 5, 7];

/// Cosine and sine of `π/8`.
const FIRST_TILT: Complex64 = Complex64::new(0.923_879_532_511_286_7, 0.382_683_432_365_089_8);

/// Tilts that change the power by no more than this, as a standard deviation over the mean, are one case: outage is as
/// good as straight over so little.
const SAME_TILT: f64 = 0.1;

/// The transmitter's side of an instant: shared by all ports that hear it.
#[derive(Clone, Debug, Default)]
pub struct Sent {
    /// Per path, the one or two vectors that arrive and add in power.
    arriving: Vec<[ComplexVec3; 2]>,
    parts: usize,
    /// The pairs of paths that are coherent at all, each with `exp(-s_ij²/2)`.
    coherent: Vec<(usize, usize, f64)>,
    /// The same of every pair, as [`pair_place`] orders them; zero where they are not.
    coherence: Vec<f64>,
    /// What the sender puts into scatter, the scattered power between isotropic ends, and its cross-polarization ratio.
    scatter: Option<(PartialGains, f64, Db)>,
    /// Doppler shift of each path, and the greatest of the scatter (which comes from round the horizontal), in periods per
    /// field.
    shifts: Vec<f64>,
    greatest: f64,
}

/// Below this coherence a pair of paths adds in power only; `exp(-40)`.
const NO_COHERENCE: f64 = 40.0;

impl Heard {
    /// How likely a case is.
    pub fn share(&self, case: usize) -> f64 {
        let tilts = (self.cases.len() / self.crowd.count()).max(1);
        self.crowd.share((case / tilts).min(self.crowd.count() - 1)) / tilts as f64
    }
}

impl Sent {
    /// Sends from `end`, which moves at `velocity` in m/s, over every path of `carried`, reusing this value's memory.
    pub fn send(&mut self, carried: &Carried, (end, velocity): (&End<'_>, &Vec3), mixing: &Mixing) {
        let per_metre = mixing.wavenumber * FIELD.0 / std::f64::consts::TAU;
        self.shifts.clear();
        self.shifts.extend(carried.paths.iter().map(|path| per_metre * path.depart.dot(velocity)));
        self.greatest = per_metre * velocity.xy().norm();
        self.arriving.clear();
        self.coherent.clear();
        self.coherence.clear();
        self.parts = if end.antenna.tilt_is_unknown() { 2 } else { 1 };
        let scattered = carried.free_space * mixing.scatter_share(carried);
        self.scatter = Some((end.mean_partial_gains(), scattered, mixing.xpr));
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
            for (other, second) in carried.paths.iter().enumerate().skip(index + 1) {
                let exponent = 0.5 * phase * phase * (first.depart - second.depart).norm_squared();
                let coherence = if exponent <= NO_COHERENCE { libm::exp(-exponent) } else { 0.0 };
                self.coherence.push(coherence);
                if exponent <= NO_COHERENCE {
                    self.coherent.push((index, other, coherence));
                }
            }
        }
    }

    /// What the ports of a receiver hear of it, reusing the memory of `heard`. Tilts are kept apart at all ports or at none.
    pub fn hear_all(&self, carried: &Carried, ports: &[(Ear, End<'_>)], work: &mut Work, heard: &mut [Heard]) {
        for ((ear, end), heard) in ports.iter().zip(heard.iter_mut()) {
            self.hear(carried, end, ear, work, heard);
        }
        if !heard.iter().any(|heard| heard.swing > SAME_TILT * SAME_TILT) {
            return;
        }
        for ((ear, _), heard) in ports.iter().zip(heard) {
            work.tilt(&heard.amplitudes, ear, self.parts > 1);
            work.widen(carried, ear.channel);
            heard.cases.clear();
            let count = carried.paths.len();
            for draw in 0..carried.people_cases() {
                for tilt in 0..TILTS {
                    let amplitudes = &work.tilted[tilt * count..(tilt + 1) * count];
                    let fields = behind_people(carried, draw, amplitudes, &mut work.fields);
                    heard.cases.push(self.case(fields, heard.diffuse, &work.wide));
                }
            }
        }
    }

    /// What a port hears of it with the mean of all tilts, reusing the memory of `heard`.
    pub fn hear(&self, carried: &Carried, port: &End<'_>, ear: &Ear, work: &mut Work, heard: &mut Heard) {
        heard.amplitudes.clear();
        for (path, arriving) in carried.paths.iter().zip(&self.arriving) {
            let mut amplitudes = [NOTHING; 4];
            for (receive, vector) in port.fields(&-path.arrive).parts().iter().enumerate() {
                for (part, field) in arriving[..self.parts].iter().enumerate() {
                    // Unconjugated: the receiving vector is the one the antenna would radiate toward the sender.
                    amplitudes[2 * receive + part] = vector.x * field.x + vector.y * field.y + vector.z * field.z;
                }
            }
            heard.amplitudes.push(amplitudes);
        }
        heard.diffuse = self
            .scatter
            .map_or(0.0, |(gains, scattered, xpr)| scattered * diffuse_gain(&gains, &port.mean_partial_gains(), xpr));
        let powers = heard.amplitudes.iter().enumerate();
        heard.paths.clear();
        heard.paths.extend(powers.map(|(path, parts)| power_of(parts) * carried.people_factor(path)));
        heard.direct = heard.paths.first().copied().unwrap_or(0.0);
        heard.cases.clear();
        heard.swing = 0.0;
        work.widen(carried, ear.channel);
        let (mut mean, mut specular) = (0.0, 0.0);
        for draw in 0..carried.people_cases() {
            let fields = behind_people(carried, draw, &heard.amplitudes, &mut work.fields);
            let case = self.case(fields, heard.diffuse, &work.wide);
            let share = carried.crowd.share(draw);
            mean += share * case.mean;
            specular += share * case.steady;
            heard.swing = heard.swing.max(self.swing(fields) / (case.mean * case.mean));
            heard.cases.push(case);
        }
        heard.mean = mean;
        heard.crowd = carried.crowd;
        heard.k = k_of(specular, mean);
    }

    /// What fades of fields that arrive together; `wide` is what a wide channel leaves of each pair's interference.
    fn case(&self, fields: &[Parts], diffuse: f64, wide: &[f64]) -> Case {
        let (mut powers, mut strongest, mut most) = (0.0, 0, 0.0);
        for (path, field) in fields.iter().enumerate() {
            let power = power_of(field);
            powers += power;
            if power > most {
                (strongest, most) = (path, power);
            }
        }
        let mut interference = 0.0;
        let mut steady = fields.get(strongest).copied().unwrap_or_default();
        for &(first, second, coherence) in &self.coherent {
            let (one, two) = (&fields[first], &fields[second]);
            let pairs = one.iter().zip(two);
            interference += 2.0 * coherence * pairs.map(|(one, two)| one.re * two.re + one.im * two.im).sum::<f64>();
            let other = match strongest {
                path if path == first => two,
                path if path == second => one,
                _ => continue,
            };
            steady.iter_mut().zip(other).for_each(|(sum, part)| *sum += part * coherence);
        }
        // The sum is positive semidefinite; rounding may leave a complete cancellation a hair below zero.
        let paths = (powers + interference).max(0.0);
        let (mean, steady) = (paths + diffuse, power_of(&steady).min(paths));
        Case { mean, steady, k: k_of(steady, mean), channel: self.channel(fields, strongest, diffuse, wide) }
    }

    /// The strongest path with the next one as two waves, and what all others make of them.
    fn channel(&self, fields: &[Parts], strongest: usize, diffuse: f64, wide: &[f64]) -> Channel {
        let (mut next, mut most) = (None, 0.0);
        for (path, field) in fields.iter().enumerate().filter(|&(path, _)| path != strongest) {
            let power = power_of(field);
            if power > most {
                (next, most) = (Some(path), power);
            }
        }
        let mut wave = fields.get(strongest).copied().unwrap_or_default();
        let at = self.shifts.get(strongest).copied().unwrap_or(0.0);
        // What is scattered: its power, and the first two moments of its frequency.
        let (mut rest, mut sum, mut squares, mut steady) =
            (diffuse, 0.0, diffuse * 0.5 * self.greatest * self.greatest, 0.0);
        for (path, field) in fields.iter().enumerate() {
            if path == strongest || Some(path) == next {
                continue;
            }
            let (coherence, kept) = (self.coherence(strongest, path), kept(wide, fields.len(), strongest, path));
            wave.iter_mut().zip(field).for_each(|(sum, part)| *sum += part * (coherence * kept));
            let power = power_of(field);
            let scattered = power * kept * kept * (1.0 - coherence * coherence);
            steady += power * (1.0 - kept * kept);
            rest += scattered;
            sum += scattered * self.shifts[path];
            squares += scattered * self.shifts[path] * self.shifts[path];
        }
        let mean = if rest > 0.0 { sum / rest } else { 0.0 };
        let variance = if rest > 0.0 { squares / rest - mean * mean } else { 0.0 };
        let one_wave = Channel::of_one_wave(power_of(&wave), rest, Motion::new(variance, at - mean));
        let mut channel = Channel { steady, ..one_wave };
        if let Some(next) = next {
            let kept = kept(wide, fields.len(), strongest, next);
            let product: Complex64 =
                wave.iter().zip(&fields[next]).map(|(one, two)| one * two.conj()).sum::<Complex64>() * kept;
            channel.second = most * kept * kept;
            channel.steady += most * (1.0 - kept * kept);
            channel.cross = product.norm_sqr().sqrt();
            if channel.cross > 0.0 {
                // Counted from the path with the lower number, whichever is the stronger at this port.
                let sign = if strongest < next { 1.0 } else { -1.0 };
                (channel.cosine, channel.sine) = (product.re / channel.cross, sign * product.im / channel.cross);
            }
            channel.pair = 1 + (strongest.min(next) * fields.len() + strongest.max(next)) as u32;
            channel.turns = (at - self.shifts[next]).abs();
            // A sample stands for about a field's way, on which the phase turns: it is known no better than that.
            let arc = std::f64::consts::TAU * channel.turns;
            let coherence = self.coherence(strongest, next);
            if coherence > 0.0 {
                channel.coherence = coherence * libm::exp(-(arc * arc / 24.0).min(NO_COHERENCE));
            }
        }
        channel
    }

    /// Coherence of a pair of paths.
    fn coherence(&self, one: usize, two: usize) -> f64 {
        self.coherence.get(pair_place(self.shifts.len(), one, two)).copied().unwrap_or(0.0)
    }

    /// Variance of the power over all tilts.
    fn swing(&self, fields: &[Parts]) -> f64 {
        let mut turning = [NOTHING; 4];
        let mut add = |of_pair: Parts, share: f64| {
            turning.iter_mut().zip(of_pair).for_each(|(sum, product)| *sum += product * share);
        };
        for field in fields {
            add(products(field, field), 1.0);
        }
        for &(first, second, coherence) in &self.coherent {
            add(products(&fields[first], &fields[second]), coherence);
            add(products(&fields[second], &fields[first]), coherence);
        }
        2.0 * power_of(&turning)
    }
}

/// The products that turn with the sender's tilt, with the port's, with the sum and with the difference of the two.
fn products(one: &Parts, two: &Parts) -> Parts {
    let of = |first: usize, second: usize| one[first] * two[second].conj();
    [of(0, 1) + of(2, 3), of(0, 2) + of(1, 3), of(0, 3), of(1, 2)]
}

/// What fades in one case.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Case {
    /// Mean power.
    pub mean: f64,
    /// Power that does not fade.
    pub steady: f64,
    /// K: what does not fade over the rest.
    pub k: f64,
    /// How it fades, as the picture sees it, in the same unit.
    pub channel: Channel,
}

/// Where a pair of so many different paths stands among all pairs: those of the first path, then those of the next.
fn pair_place(paths: usize, one: usize, two: usize) -> usize {
    let (first, second) = (one.min(two), one.max(two));
    first * (2 * paths - first - 1) / 2 + second - first - 1
}

/// What a wide channel leaves of the interference of two of so many paths.
fn kept(wide: &[f64], paths: usize, one: usize, two: usize) -> f64 {
    wide.get(pair_place(paths, one, two)).copied().unwrap_or(1.0)
}

/// An amplitude in up to four parts, receiving part after receiving part, each with two sending parts, with an unknown
/// phase between them. Those that there are not are zero.
pub type Parts = [Complex64; 4];

/// Memory that [`Sent::hear`] reuses.
#[derive(Clone, Debug, Default)]
pub struct Work {
    /// The amplitudes of all paths, tilt after tilt.
    tilted: Vec<Parts>,
    /// The fields of one draw of the crowd.
    fields: Vec<Parts>,
    /// What the channel's width leaves of the interference of each pair of paths; empty for a picture that does not average.
    wide: Vec<f64>,
}

impl Work {
    /// Adds the parts up for each of the tilts.
    fn tilt(&mut self, amplitudes: &[Parts], ear: &Ear, is_sent_unknown: bool) {
        self.tilted.clear();
        // Tilts are counted from the one at which the strongest path is strongest: they then lie in pairs on both sides of
        // its deepest fade.
        let strongest = amplitudes.iter().max_by(|one, two| power_of(one).total_cmp(&power_of(two)));
        let parts = strongest.copied().unwrap_or_default();
        let [of_sender, of_port, of_sum, _] = products(&parts, &parts);
        // The port's tilt turns what is left over the sender's; of the difference the sign is the other way.
        let of_difference = parts[2] * parts[1].conj();
        let candidates = [(of_sum, NOTHING), (of_difference, NOTHING), (of_sender, NOTHING), (NOTHING, of_port)];
        let size = |(sender, port): &(Complex64, Complex64)| sender.norm_sqr() + port.norm_sqr();
        let most = candidates.iter().max_by(|one, two| size(one).total_cmp(&size(two)));
        let (mut sender, mut port) = most.map_or((NOTHING, NOTHING), |&most| most);
        for tilt in [&mut sender, &mut port] {
            let size = tilt.norm_sqr().sqrt();
            *tilt = if size > 0.0 { *tilt / size } else { Complex64::new(1.0, 0.0) };
        }
        let steps = if is_sent_unknown { PORT_STEPS } else { LONE_PORT_STEPS };
        let half = (1..steps[ear.port % steps.len()]).fold(FIRST_TILT, |turn, _| turn * FIRST_TILT);
        sender *= FIRST_TILT;
        port *= half;
        let (step, turn) = (FIRST_TILT * FIRST_TILT, half * half);
        for _ in 0..TILTS {
            let sum = |parts: &Parts| parts[0] + sender * parts[1] + port * (parts[2] + sender * parts[3]);
            self.tilted.extend(amplitudes.iter().map(|parts| [sum(parts), NOTHING, NOTHING, NOTHING]));
            sender *= step;
            port *= turn;
        }
    }

    /// What the channel leaves of each pair's interference.
    fn widen(&mut self, carried: &Carried, channel: Hertz) {
        self.wide.clear();
        if channel.0 <= 0.0 {
            return;
        }
        for (first, one) in carried.paths.iter().enumerate() {
            let detours = carried.paths[first + 1..].iter().map(|two| Metres(one.length - two.length));
            self.wide.extend(detours.map(|detour| channel_coherence(channel, detour)));
        }
    }
}

/// Amplitudes as a draw of the crowd leaves them.
fn behind_people<'a>(
    carried: &Carried,
    draw: usize,
    amplitudes: &'a [Parts],
    memory: &'a mut Vec<Parts>,
) -> &'a [Parts] {
    let count = amplitudes.len();
    let Some(people) = carried.people.get(draw * count..(draw + 1) * count) else { return amplitudes };
    memory.clear();
    memory.extend(amplitudes.iter().zip(people).map(|(parts, &left)| parts.map(|part| part * left)));
    memory
}

fn power_of(parts: &Parts) -> f64 {
    parts.iter().map(Complex64::norm_sqr).sum()
}

/// What does not fade over the rest of `all`, held within [`K_RANGE`] so that it stays finite.
pub(super) fn k_of(specular: f64, all: f64) -> f64 {
    let rest = all - specular;
    let (least, most) = K_RANGE;
    if specular <= 0.0 {
        least
    } else if rest <= specular * least {
        most
    } else {
        (specular / rest).clamp(least, most)
    }
}
