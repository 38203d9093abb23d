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

use std::cell::OnceCell;
use std::f64::consts::{PI, TAU};
use std::sync::OnceLock;

use super::field::{FieldLoss, Motion, ScatteredPlace};
use super::score::{AmplitudePlace, CERTAIN, OutageScores, QUIET, near_score_of_share, share_of_score};

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
    /// Cosine and sine of the mean phase between them.
    pub cosine: f64,
    /// See there.
    pub sine: f64,
    /// Which two waves they are: at channels of one receiver with the same number the phase is the same but for its mean.
    pub pair: u32,
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

    /// How much of a window of angles from opposition lies in an arc, on either side of it and however often round.
    fn overlap(&self, arc: usize, from: f64, to: f64) -> f64 {
        let until = |angle: f64| {
            let round = (angle / TAU).floor();
            let (low, high) = (self.edges[arc], self.edges[arc + 1]);
            let within = |angle: f64| (angle.min(high) - low).max(0.0);
            let rest = angle - round * TAU;
            let back = (high - low) - within(TAU - rest);
            2.0 * (high - low) * round + within(rest.min(PI)) + if rest > PI { back } else { 0.0 }
        };
        until(to) - until(from)
    }
}

/// For arcs of many lengths, how much of the field that has its middle in each of [`Phases`] sees each of them.
struct Arcs {
    /// Seen arc by seen arc, by the arc of the middle.
    seen: Vec<[[f64; NODES]; NODES]>,
}

impl Arcs {
    /// Arcs per doubling, and doublings from [`POINT`] to beyond [`ALL_ROUND`].
    const PER_DOUBLING: f64 = 4.0;
    const COUNT: usize = 35;

    fn table() -> &'static Self {
        static TABLE: OnceLock<Arcs> = OnceLock::new();
        TABLE.get_or_init(|| {
            let phases = Phases::table();
            let seen = |index: usize| {
                let arc = TAU * POINT * libm::exp2(index as f64 / Self::PER_DOUBLING);
                std::array::from_fn(|seen| {
                    std::array::from_fn(|middle| {
                        let middle = 0.5 * (phases.edges[middle] + phases.edges[middle + 1]);
                        phases.overlap(seen, middle - 0.5 * arc, middle + 0.5 * arc) / arc
                    })
                })
            };
            Self { seen: (0..Self::COUNT).map(seen).collect() }
        })
    }

    /// What a field sees of each arc, its own arc lying where [`Arcs::around`] says.
    fn at((index, part): (usize, f64)) -> [[f64; NODES]; NODES] {
        let seen = &Self::table().seen;
        let (first, second) = (&seen[index], &seen[index + 1]);
        std::array::from_fn(|arc| {
            std::array::from_fn(|place| first[arc][place] + (second[arc][place] - first[arc][place]) * part)
        })
    }

    /// The two arcs of the table next to one, and how far it is from the first to the second.
    fn around(arc: f64) -> (usize, f64) {
        let place = (libm::log2(arc / (TAU * POINT)) * Self::PER_DOUBLING).max(0.0);
        let index = (place as usize).min(Self::COUNT - 2);
        (index, (place - index as f64).min(1.0))
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

/// What does not depend on the threshold.
#[derive(Clone, Debug, Default)]
struct Ready {
    places: [ReadyPlace; PLACES],
    /// What the arc of a field sees of each arc of the table, by the arc of its middle: see [`Arcs`].
    seen: [[f64; NODES]; NODES],
}

/// The same of a place.
#[derive(Clone, Copy, Debug, Default)]
struct ReadyPlace {
    amplitude: AmplitudePlace,
    /// Logarithm of the mean power of waves and scatter.
    mean: f64,
    scattered: ScatteredPlace,
}

/// From this much of [`Fields::turned`] on the phase hardly changes the mean over a field: by a fiftieth of the waves' amplitudes.
const ROUND: f64 = 0.9996;

/// A share below this is not worth looking further: a hundred-thousandth of the least that a picture may lose.
const NEXT_TO_NOTHING: f64 = 1e-8;

/// What a channel loses at each of its places: memory that is used again.
#[derive(Clone, Copy, Debug)]
pub struct FieldLosses {
    /// Share of time under the threshold.
    pub under: [f64; PLACES],
    /// Share of fields that are lost.
    pub lost: [f64; PLACES],
}

impl FieldLosses {
    /// Nothing is lost.
    pub const NONE: Self = Self { under: [0.0; PLACES], lost: [0.0; PLACES] };

    fn clear(&mut self, count: usize) {
        self.under[..count].fill(0.0);
        self.lost[..count].fill(0.0);
    }
}

/// The phases of a channel and how it fades about them, made once for all thresholds.
#[derive(Clone, Debug)]
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
    /// Where it lies in [`Arcs`].
    around: (usize, f64),
    odds_power: f64,
    /// The logarithm of the threshold, less what does not fade, up to which nothing is lost anywhere.
    quiet_until: f64,
    /// Made at the first threshold at which anything is lost.
    ready: OnceCell<Box<Ready>>,
}

impl Channel {
    /// One wave and scatter, which move against each other in a field: a Rice channel.
    pub fn of_one_wave(first: f64, rest: f64, motion: Motion) -> Self {
        Self {
            first,
            second: 0.0,
            cross: 0.0,
            cosine: 1.0,
            sine: 0.0,
            pair: 0,
            coherence: 0.0,
            rest,
            steady: 0.0,
            motion,
            turns: 0.0,
        }
    }

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
        let loss = FieldLoss::of(&motion);
        let around = if arc > 0.0 { Arcs::around(arc) } else { (0, 0.0) };
        let mut fields = Fields {
            channel: *self,
            motion,
            loss,
            count,
            places,
            rest,
            scattered,
            turned,
            arc,
            around,
            odds_power: 1.0,
            quiet_until: 0.0,
            ready: OnceCell::new(),
        };
        // The deepest fade comes first, unless the phase is known: then it may be any.
        let deepest = if count == 1 || count == NODES { 0..1 } else { 0..count };
        fields.quiet_until = deepest
            .map(|place| {
                let waves = fields.waves(place);
                OutageScores::table().quiet_until((2.0 * waves / rest).sqrt(), count == NODES) + libm::log(waves + rest)
            })
            .fold(f64::INFINITY, f64::min);
        fields
    }

    /// Sets the places of the phase and returns how many they are.
    fn place(&self, places: &mut [(f64, f64); PLACES]) -> usize {
        let phases = Phases::table();
        let sharp = ((self.coherence - Phases::SHARP) / Phases::BLEND).clamp(0.0, 1.0);
        let arcs = if sharp < 1.0 {
            let shares = if self.coherence > 0.02 { phases.shares(self.cosine, self.coherence) } else { phases.shares };
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
    fn local_mean(&self, place: usize) -> f64 {
        let Channel { first, second, cross, steady, .. } = self.channel;
        let kept = (1.0 - self.turned).max(0.0).sqrt();
        (first + second + 2.0 * cross * self.places[place].0 * kept).max(0.0) + self.rest + steady
    }

    /// The power of the mean over a field at each place that [`Fields::weigh_by`] asks for.
    pub fn odds(&self, odds: &mut [f64; PLACES]) {
        if self.turned > ROUND {
            // The mean is as good as the same everywhere.
            let local = self.channel.first + self.channel.second + self.rest + self.channel.steady;
            odds[..self.count].fill(libm::exp(self.odds_power * libm::log(local.max(1e-30))));
            return;
        }
        for (place, odds) in odds.iter_mut().enumerate().take(self.count) {
            *odds = libm::exp(self.odds_power * libm::log(self.local_mean(place).max(1e-30)));
        }
    }

    /// The same of the mean over all places.
    pub fn mean_odds(&self) -> f64 {
        libm::exp(self.odds_power * libm::log(self.channel.mean().max(1e-30)))
    }

    /// Sets the power of the mean over a field that [`Fields::odds`] are; before they are asked for.
    pub fn weigh_by(&mut self, power: f64) {
        self.odds_power = power;
    }

    /// Variance of the mean over a field, in square decibels.
    ///
    /// Of the power of a Rice channel, `(2K+1)/(K+1)²` of its square, divided among the independent fades of a field; decibels
    /// by their slope, held at the 5.6 dB of a Rayleigh level.
    pub fn mean_variance(&self) -> f64 {
        let k = (self.channel.first + self.channel.second) / self.scattered;
        let share = (2.0 * k + 1.0) / ((k + 1.0) * (k + 1.0));
        let fades = (1.0 + 16.0 * self.motion.mean_square()).sqrt();
        let per_decibel = 10.0 * std::f64::consts::LOG10_E;
        (per_decibel * per_decibel * share / fades).min(31.0)
    }

    /// From what is lost at each place in a field to what is lost in each of so many fields, over which the phase turns on.
    pub fn smear(&self, losses: &mut [f64; NODES], fields: f64) {
        let turns = self.channel.turns * fields;
        if self.count != NODES || turns < 2.0 * POINT {
            return;
        }
        let seen = Arcs::at(Arcs::around(TAU * turns.min(ALL_ROUND)));
        let mut smeared = [0.0; NODES];
        for (&lost, seen) in losses.iter().zip(&seen) {
            for (sum, seen) in smeared.iter_mut().zip(seen) {
                *sum += lost * seen;
            }
        }
        *losses = smeared;
    }

    /// Share of fields at a place.
    pub fn share(&self, place: usize) -> f64 {
        self.places[place].1
    }

    fn ready(&self) -> &Ready {
        self.ready.get_or_init(|| {
            let mut ready = Box::new(Ready::default());
            for (place, ready) in ready.places.iter_mut().enumerate().take(self.count) {
                let waves = self.waves(place);
                *ready = ReadyPlace {
                    amplitude: AmplitudePlace::of((2.0 * waves / self.rest).sqrt()),
                    mean: libm::log(waves + self.rest),
                    scattered: ScatteredPlace::of(self.scattered_share(place)),
                };
            }
            if self.arc > 0.0 && self.count >= NODES && self.arc <= ALL_ROUND * TAU {
                ready.seen = Arcs::at(self.around);
            }
            ready
        })
    }

    /// What counts as scattered in a field at a place, over the mean power: `1/(K+1)`.
    fn scattered_share(&self, place: usize) -> f64 {
        let Channel { first, .. } = self.channel;
        let waves = self.waves(place) * (1.0 - self.turned) + first * self.turned;
        self.scattered / (self.scattered + waves)
    }

    /// What is under the threshold and what is lost at each place, with the threshold at so many times its own power, whose
    /// logarithm is given, too; `false` where nothing is.
    pub fn losses(&self, (threshold, logarithm): (f64, f64), losses: &mut FieldLosses) -> bool {
        losses.clear(self.count);
        let logarithm = if self.channel.steady > 0.0 {
            let faded = threshold - self.channel.steady;
            if faded <= 0.0 {
                return false;
            }
            libm::log(faded)
        } else {
            logarithm
        };
        if logarithm <= self.quiet_until {
            return false;
        }
        let (table, ready) = (OutageScores::table(), self.ready());
        let mut scores = [-CERTAIN; PLACES];
        // At places in order, fades are less deep from one to the next.
        let in_order = self.count == NODES;
        let mut some = self.count;
        for (place, (score, ready)) in scores.iter_mut().zip(&ready.places).enumerate().take(self.count) {
            *score = table.score_at(&ready.amplitude, logarithm - ready.mean);
            if *score > QUIET {
                losses.under[place] = share_of_score(*score);
            } else if in_order {
                some = place;
                break;
            }
        }
        if self.arc > 0.0 && self.count >= NODES {
            self.average(some.min(NODES), losses, &mut scores);
            some = self.count;
        }
        if in_order && self.arc > ALL_ROUND * TAU {
            // The same at each place but for what is left of the second wave's amplitude: a tenth at most.
            losses.lost[..NODES].fill(self.lost(NODES / 2, scores[0]));
            return true;
        }
        for (place, &score) in scores.iter().enumerate().take(some) {
            losses.lost[place] = self.lost(place, score);
            if in_order && losses.lost[place] < NEXT_TO_NOTHING {
                break;
            }
        }
        true
    }

    /// From what is under the threshold at instants, in the first `some` arcs of the table, to its mean over the arc that a
    /// field sees, and its scores.
    fn average(&self, some: usize, losses: &mut FieldLosses, scores: &mut [f64; PLACES]) {
        let mut means = [0.0; NODES];
        if self.arc > ALL_ROUND * TAU {
            let mean = losses.under.iter().zip(&Phases::table().shares).map(|(share, arc)| share * arc).sum();
            losses.under[..NODES].fill(mean);
            scores[..NODES].fill(near_score_of_share(mean));
            return;
        }
        for (&under, seen) in losses.under[..some].iter().zip(&self.ready().seen) {
            for (mean, seen) in means.iter_mut().zip(seen) {
                *mean += under * seen;
            }
        }
        losses.under[..NODES].copy_from_slice(&means);
        for (score, &mean) in scores.iter_mut().zip(&means) {
            *score = near_score_of_share(mean);
            if self.count == NODES && *score <= QUIET {
                // And so on from here.
                break;
            }
        }
    }

    /// Probability that a field is lost at a place where the outage that it sees has this score.
    fn lost(&self, place: usize, score: f64) -> f64 {
        if score <= QUIET {
            return 0.0;
        }
        share_of_score(self.loss.lost_score_at(score, &self.ready().places[place].scattered))
    }

    /// The same for a receiver that takes the best of several ports at every moment, of which this one is the best: together
    /// they come up above the threshold so many times as often in a field.
    pub fn lost_of_several(&self, place: usize, score: f64, ways: f64) -> f64 {
        if score <= QUIET {
            return 0.0;
        }
        let motion = Motion { periods: self.motion.periods * ways, ..self.motion };
        share_of_score(FieldLoss::of(&motion).lost_score_at(score, &self.ready().places[place].scattered))
    }

    /// Whether any fade outlasts a field.
    pub fn fades_last(&self) -> bool {
        TAU * TAU * self.motion.mean_square() <= 10.0
    }

    /// How likely a field is lost after one that was, at a place: the share of fades that outlast a field.
    ///
    /// From the field before, in which waves and scatter all but cancelled, what is scattered keeps `ρ` of itself and is
    /// otherwise drawn anew: a Rayleigh level of what is new, in which the steady waves have `1-ρ` of their amplitude.
    pub fn going_on(&self, place: usize, threshold: f64) -> f64 {
        if !self.fades_last() {
            return 0.0;
        }
        let squared = TAU * TAU * self.motion.mean_square();
        let likeness = libm::exp(-0.5 * squared);
        let changed = 1.0 - likeness;
        let fresh = self.scattered * changed * (1.0 + likeness) + self.waves(place) * changed * changed;
        let faded = (threshold - self.channel.steady).max(0.0);
        if faded > 40.0 * fresh { 1.0 } else { -libm::expm1(-faded / fresh) }
    }

    /// How far the phase between the two waves of another channel of the receiver is ahead of this one's, radians; `None`
    /// where it does not follow from it.
    pub fn ahead(&self, other: &Fields) -> Option<f64> {
        if self.count != NODES || other.count != NODES || self.channel.pair != other.channel.pair {
            return None;
        }
        let (one, two) = (&self.channel, &other.channel);
        let (re, im) = (one.cosine * two.cosine + one.sine * two.sine, one.cosine * two.sine - one.sine * two.cosine);
        Some(libm::atan2(im, re))
    }

    /// Where among the places a phase lies that is `ahead` of the one at `place`, on one side of the deepest fade or the other:
    /// the place before it and the part of the way to the next.
    pub fn place_ahead(place: usize, ahead: f64) -> (usize, f64) {
        let phases = Phases::table();
        let angle = 0.5 * (phases.edges[place] + phases.edges[place + 1]) + ahead;
        let angle = (angle - TAU * (angle / TAU).round()).abs();
        let along = (NODES as f64 * (angle / PI).sqrt() - 0.5).clamp(0.0, (NODES - 1) as f64);
        let before = (along as usize).min(NODES - 2);
        (before, along - before as f64)
    }

    /// Share of time under the threshold, with the threshold at so many times its own power.
    pub fn under(&self, threshold: f64) -> f64 {
        self.shares(threshold).0
    }

    /// Shares of time under the threshold and of fields that are lost, with the threshold at so many times its own power.
    pub fn shares(&self, threshold: f64) -> (f64, f64) {
        let mut losses = FieldLosses::NONE;
        if threshold <= 0.0 || !self.losses((threshold, libm::log(threshold)), &mut losses) {
            return (0.0, 0.0);
        }
        let (mut under, mut lost) = (0.0, 0.0);
        for place in 0..self.count {
            under += self.share(place) * losses.under[place];
            lost += self.share(place) * losses.lost[place];
        }
        (under, lost)
    }
}
