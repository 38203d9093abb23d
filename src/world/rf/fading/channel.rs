//! A level that fades in a field of a picture: two waves, what is scattered, and power that does not fade.
//!
//! The level is `|√first + √second e^{jφ} + s|² + steady`, with `s` complex normal of mean power `rest`. The phase `φ` between
//! the two waves has a mean and a spread, and turns by so much within a field: where it hardly turns (a ground bounce near grazing)
//! it is one value for all of a field, and the level a Rice channel about each of its values; where it turns round several
//! times (a wall at pace) all of its values come by within a field. Between the two a field sees an arc of phases. So the
//! outage is worked out at [`NODES`] phases, averaged over the arc that a field sees, and made a probability that the field is
//! lost at each place of the arc ([`super::field`]), which then is averaged.
//!
//! Two waves beside scatter instead of Rice fading alone: where the second is almost as strong as the first, Rice is up to
//! 7.6 dB optimistic (independent quadrature at an amplitude ratio of 0.95; see the tests).

use std::f64::consts::{PI, TAU};
use std::sync::OnceLock;

use super::field::{FieldLoss, Motion};
use super::score::{CERTAIN, OutageScores, score_of_share, share_of_score};

/// Phases at which a channel of two waves is worked out.
pub const NODES: usize = 10;

/// Terms of the series of a wrapped normal phase: the next is below 1e-4 up to [`Phases::SHARP`].
const TERMS: usize = 11;

/// Waves whose interference changes the level by less than this either way (0.04 dB) are one.
const ONE_WAVE: f64 = 0.01;

/// An arc below this many turns is a point, and above the second one all round.
const POINT: f64 = 0.01;
const ALL_ROUND: f64 = 3.0;

/// A fading level, in units of its threshold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Channel {
    /// Power of the stronger wave, with whatever keeps its phase to it.
    pub first: f64,
    /// Power of the other.
    pub second: f64,
    /// Mean product of their amplitudes at best, up to `√(first second)`: less where their polarizations differ.
    pub cross: f64,
    /// Cosine of the mean phase between them.
    pub cosine: f64,
    /// How well that phase is known: `exp(-σ²/2)` for a normal phase of standard deviation σ; 0 to 1.
    pub coherence: f64,
    /// Mean power of what is scattered.
    pub rest: f64,
    /// Power that does not fade, beside the waves (what a wide channel averages out).
    pub steady: f64,
    /// How scatter moves against the stronger wave in a field.
    pub motion: Motion,
    /// Turns of the phase between the two waves in a field, either way.
    pub turns: f64,
}

/// The phases at which channels are worked out: angles from the deepest fade, close together there.
struct Phases {
    /// Ends of the arcs, as angles from opposition.
    edges: [f64; NODES + 1],
    /// Mean cosine of the phase in each arc.
    cosines: [f64; NODES],
    /// Share of each arc of all angles.
    shares: [f64; NODES],
    /// For each term `n` of the series, what an arc has of `2 cos n φ`.
    terms: [[f64; NODES]; TERMS],
}

impl Phases {
    /// Above this coherence the phase is known to less than an arc.
    const SHARP: f64 = 0.93;
    /// Over this much of the coherence both ways are blended.
    const BLEND: f64 = 0.04;

    fn table() -> &'static Self {
        static TABLE: OnceLock<Phases> = OnceLock::new();
        TABLE.get_or_init(|| {
            let mut edges = [0.0; NODES + 1];
            for (index, edge) in edges.iter_mut().enumerate() {
                let place = index as f64 / NODES as f64;
                *edge = PI * place * place;
            }
            let width = |arc: usize| edges[arc + 1] - edges[arc];
            let sines = |times: f64, arc: usize| libm::sin(times * edges[arc + 1]) - libm::sin(times * edges[arc]);
            let mut terms = [[0.0; NODES]; TERMS];
            for (number, row) in terms.iter_mut().enumerate() {
                let times = number as f64 + 1.0;
                // cos n(π - ψ) = (-1)^n cos nψ
                let sign = if number % 2 == 0 { -1.0 } else { 1.0 };
                for (arc, term) in row.iter_mut().enumerate() {
                    *term = sign * 2.0 * sines(times, arc) / (times * PI);
                }
            }
            Self {
                cosines: std::array::from_fn(|arc| -sines(1.0, arc) / width(arc)),
                shares: std::array::from_fn(|arc| width(arc) / PI),
                edges,
                terms,
            }
        })
    }

    /// Shares of the arcs for a wrapped normal phase with this cosine of its mean and this coherence.
    fn shares(&self, cosine: f64, coherence: f64) -> [f64; NODES] {
        let mut shares = self.shares;
        let (mut before, mut now) = (1.0, cosine);
        // γ^{n²} by products: each is the one before times γ^{2n-1}.
        let (mut weight, mut more) = (coherence, coherence * coherence * coherence);
        for row in &self.terms {
            if weight < 1e-5 {
                break;
            }
            for (share, term) in shares.iter_mut().zip(row) {
                *share += weight * now * term;
            }
            (before, now) = (now, 2.0 * cosine * now - before);
            weight *= more;
            more *= coherence * coherence;
        }
        // What the series leaves below zero is less than its last term.
        shares.map(|share| share.max(0.0))
    }

    /// The running sum of a row over arcs, at an angle from opposition, over all angles.
    fn until(&self, sums: &[f64; NODES + 1], angle: f64) -> f64 {
        let round = (angle / TAU).floor();
        let (whole, angle) = (2.0 * sums[NODES] * round, angle - round * TAU);
        if angle > PI {
            return whole + 2.0 * sums[NODES] - self.until_half(sums, TAU - angle);
        }
        whole + self.until_half(sums, angle)
    }

    fn until_half(&self, sums: &[f64; NODES + 1], angle: f64) -> f64 {
        let arc = ((NODES as f64 * (angle / PI).max(0.0).sqrt()) as usize).min(NODES - 1);
        let part = (angle - self.edges[arc]) / (self.edges[arc + 1] - self.edges[arc]);
        sums[arc] + (sums[arc + 1] - sums[arc]) * part
    }
}

/// Places and weights of the normal distribution for five points (Gauss and Hermite, Abramowitz and Stegun table 25.10, for the
/// weight `exp(-x²/2)`).
const NORMAL_POINTS: [(f64, f64); 5] = [
    (-2.856_970_013_872_806, 0.011_257_411_327_720_69),
    (-1.355_626_179_974_266, 0.222_075_922_005_612_6),
    (0.0, 0.533_333_333_333_333_3),
    (1.355_626_179_974_266, 0.222_075_922_005_612_6),
    (2.856_970_013_872_806, 0.011_257_411_327_720_69),
];

/// The most places that a channel can have.
pub const PLACES: usize = NODES + NORMAL_POINTS.len();

/// The phases of a channel and how it fades about them, made once for all thresholds.
#[derive(Clone, Copy, Debug)]
pub struct Fields {
    channel: Channel,
    motion: Motion,
    loss: FieldLoss,
    count: usize,
    /// Cosine of the phase and share of each place; the first [`NODES`] lie in the arcs of [`Phases`] where there are so many.
    places: [(f64, f64); PLACES],
    /// What is scattered, at the least; and, as far as the second wave is all round in a field, with its power.
    rest: f64,
    scattered: f64,
    /// How much of the second wave's interference counts as scattered.
    turned: f64,
    arc: f64,
}

impl Channel {
    /// The same with all powers so many times as large.
    pub fn times(&self, factor: f64) -> Self {
        Self {
            first: self.first * factor,
            second: self.second * factor,
            cross: self.cross * factor,
            rest: self.rest * factor,
            steady: self.steady * factor,
            ..*self
        }
    }

    /// Mean power.
    pub fn mean(&self) -> f64 {
        self.first + self.second + self.rest + self.steady + 2.0 * self.cross * self.cosine * self.coherence
    }

    /// Prepares it for questions at any threshold.
    pub fn fields(&self) -> Fields {
        let waves = self.first + self.second;
        let rest = self.rest.max(1e-6 * waves).max(1e-30);
        let mut places = [(0.0, 0.0); PLACES];
        let count = if 2.0 * self.cross <= ONE_WAVE * (waves + rest + self.steady) {
            places[0] = (self.cosine * self.coherence, 1.0);
            1
        } else {
            self.place(&mut places)
        };
        let arc = if count == 1 || self.turns < POINT { 0.0 } else { TAU * self.turns };
        let sinc = if arc > 0.0 { libm::sin(0.5 * arc) / (0.5 * arc) } else { 1.0 };
        let turned = 1.0 - sinc * sinc;
        let second = self.cross * self.cross / self.first.max(1e-300) * turned;
        let scattered = rest + second;
        let squares = self.motion.mean_square() * rest + self.turns * self.turns * second;
        let motion = if second > 0.0 {
            let shift = self.motion.shift * rest / scattered;
            Motion { periods: (squares / scattered / (0.5 + shift * shift)).sqrt(), shift }
        } else {
            self.motion
        };
        Fields { channel: *self, motion, loss: FieldLoss::of(&motion), count, places, rest, scattered, turned, arc }
    }

    /// Sets the places of the phase and returns how many they are.
    fn place(&self, places: &mut [(f64, f64); PLACES]) -> usize {
        let phases = Phases::table();
        let sharp = ((self.coherence - Phases::SHARP) / Phases::BLEND).clamp(0.0, 1.0);
        let arcs = if sharp < 1.0 {
            let shares = if self.coherence > 0.02 {
                phases.shares(self.cosine, self.coherence)
            } else {
                phases.shares
            };
            let all: f64 = shares.iter().sum();
            for (place, (&cosine, share)) in places.iter_mut().zip(phases.cosines.iter().zip(shares)) {
                *place = (cosine, (1.0 - sharp) * share / all);
            }
            NODES
        } else {
            0
        };
        if sharp == 0.0 {
            return arcs;
        }
        let spread = (-2.0 * libm::log(self.coherence.min(1.0))).max(0.0).sqrt();
        let mean = libm::acos(self.cosine.clamp(-1.0, 1.0));
        for (place, (point, share)) in places[arcs..].iter_mut().zip(NORMAL_POINTS) {
            *place = (libm::cos(mean + spread * point), sharp * share);
        }
        arcs + NORMAL_POINTS.len()
    }
}

impl Fields {
    /// Number of places.
    pub fn count(&self) -> usize {
        self.count
    }

    /// The channel.
    pub fn channel(&self) -> &Channel {
        &self.channel
    }

    /// Power of the two waves at a place, at an instant.
    fn waves(&self, place: usize) -> f64 {
        let Channel { first, second, cross, .. } = self.channel;
        (first + second + 2.0 * cross * self.places[place].0).max(0.0)
    }

    /// Mean power over a field at a place.
    pub fn local_mean(&self, place: usize) -> f64 {
        let Channel { first, second, cross, steady, .. } = self.channel;
        let kept = (1.0 - self.turned).max(0.0).sqrt();
        (first + second + 2.0 * cross * self.places[place].0 * kept).max(0.0) + self.rest + steady
    }

    /// Share of fields at a place.
    pub fn share(&self, place: usize) -> f64 {
        self.places[place].1
    }

    /// Score of the outage at an instant at a place.
    fn score(&self, table: &OutageScores, place: usize, logarithm: f64) -> f64 {
        let waves = self.waves(place);
        table.score((2.0 * waves / self.rest).sqrt(), logarithm - libm::log(waves + self.rest))
    }

    /// What counts as scattered in a field at a place, over the mean power: `1/(K+1)`.
    fn scattered_share(&self, place: usize) -> f64 {
        let Channel { first, .. } = self.channel;
        let waves = self.waves(place) * (1.0 - self.turned) + first * self.turned;
        self.scattered / (self.scattered + waves)
    }

    /// Scores of the outage that a field sees at each place, with the threshold at so many times its own power; `None`
    /// where all are certain: then the level is under for ever (`true`) or never.
    pub fn scores(&self, threshold: f64, scores: &mut [f64; PLACES]) -> Result<(), bool> {
        let faded = threshold - self.channel.steady;
        if faded <= 0.0 {
            return Err(false);
        }
        let table = OutageScores::table();
        let logarithm = libm::log(faded);
        // The place of the deepest fade comes first.
        scores[0] = self.score(table, 0, logarithm);
        let arcs = if self.count >= NODES { NODES } else { 0 };
        if scores[0] < -CERTAIN && self.count == arcs.max(1) {
            return Err(false);
        }
        for (place, score) in scores.iter_mut().enumerate().take(self.count).skip(1) {
            *score = self.score(table, place, logarithm);
        }
        if self.arc > 0.0 && arcs > 0 {
            self.average(scores);
        }
        Ok(())
    }

    /// From scores at instants to those of the mean outage over the arc that a field sees, in the arcs of the table.
    fn average(&self, scores: &mut [f64; PLACES]) {
        let phases = Phases::table();
        let mut sums = [0.0; NODES + 1];
        for arc in 0..NODES {
            sums[arc + 1] = sums[arc] + share_of_score(scores[arc]) * phases.shares[arc];
        }
        if self.arc > ALL_ROUND * TAU {
            scores[..NODES].fill(score_of_share(sums[NODES]));
            return;
        }
        for (arc, score) in scores.iter_mut().take(NODES).enumerate() {
            let middle = 0.5 * (phases.edges[arc] + phases.edges[arc + 1]);
            let (from, to) = (middle - 0.5 * self.arc, middle + 0.5 * self.arc);
            let sum = phases.until(&sums, to) - phases.until(&sums, from);
            *score = score_of_share(sum * PI / self.arc);
        }
    }

    /// Probability that a field is lost at a place where the outage that it sees has this score.
    pub fn lost(&self, place: usize, score: f64) -> f64 {
        if score <= -CERTAIN {
            return 0.0;
        }
        share_of_score(self.loss.lost_score(score, self.scattered_share(place)))
    }

    /// The same for a receiver that takes the best of several ports at every moment, of which this one is the best: together
    /// they come up above the threshold so many times as often in a field.
    pub fn lost_of_several(&self, place: usize, score: f64, ways: f64) -> f64 {
        if score <= -CERTAIN {
            return 0.0;
        }
        let motion = Motion { periods: self.motion.periods * ways, ..self.motion };
        share_of_score(FieldLoss::of(&motion).lost_score(score, self.scattered_share(place)))
    }

    /// Shares of time under the threshold and of fields that are lost, with the threshold at so many times its own power.
    pub fn shares(&self, threshold: f64) -> (f64, f64) {
        let mut scores = [0.0; PLACES];
        if let Err(under) = self.scores(threshold, &mut scores) {
            let share = if under { 1.0 } else { 0.0 };
            return (share, share);
        }
        let (mut under, mut lost) = (0.0, 0.0);
        for (place, &score) in scores.iter().enumerate().take(self.count) {
            under += self.share(place) * share_of_score(score);
            lost += self.share(place) * self.lost(place, score);
        }
        (under, lost)
    }
}
