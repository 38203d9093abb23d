//! How many fields of the picture are lost: at one sample with all its cases, over a lap; and the reserve.
//!
//! Everything that a verdict stands on asks [`Fading`], nobody the fading distribution itself. What a person is told about one
//! instant ([`outage`], [`fade_margin`]) is Rice fading about its K-factor.

use crate::rf::fading;
use crate::rf::fading::channel::{Channel, Fields, PLACES};
use crate::rf::fading::score::{QUIET, near_score_of_share, share_of_score};
use crate::units::{Db, Seconds};

use ports::PortScores;

/// Length of a field of the picture: the interlaced picture of 50 fields a second. A digital picture's frame is taken to
/// be as long. (60 fields a second, or other frames, would be as good a choice.)
pub const FIELD: Seconds = Seconds(0.02);

/// A receiver that listens to the better port changes over when another was better by this much in the field before. Common
/// practice, no source.
pub const HYSTERESIS: Db = Db(2.0);

/// Probability that the level is under the threshold while it fades with a K-factor (a power ratio) about a mean that lies
/// `margin` above the threshold.
pub fn outage(k: f64, margin: Db) -> f64 {
    fading::rice_outage(k, margin)
}

/// The margin whose [`outage`] is the given one, in (0, 1), at a K-factor.
pub fn fade_margin(k: f64, outage: f64) -> Db {
    fading::fade_margin(k, outage)
}

/// The search for the reserve looks no further than this either way.
pub const RESERVE_RANGE: Db = Db(150.0);

/// A reserve is as exact as this, decibels.
const RESERVE_STEP: f64 = 1e-5;

/// A lost share whose logarithm is this near to the wanted one's is the wanted one: where levels fade freely that is a
/// twenty-thousandth of a decibel.
const NEAR_ENOUGH: f64 = 1e-5;

/// Over so few decibels the logarithm of the lost share is a straight line: a hundredth of its slope's change over them.
const STRAIGHT: f64 = 0.1;

/// Farther than this in the logarithm of the lost share nothing is straight.
const FAR: f64 = 10.0;

/// How fast the logarithm of the lost share rises with the drop where levels fade freely, per decibel: tenfold in 10 dB.
const FREE_SLOPE: f64 = std::f64::consts::LN_10 / 10.0;

/// How a receiver takes its ports.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Selection {
    /// It listens to the port whose mean over a field was better; see [`odds`].
    #[default]
    Slow,
    /// It takes the better one at every moment.
    Fast,
}

/// What fades at each sample of a lap.
///
/// A sample has one or more cases (draws of the crowd, each with one or more tilts), equally likely; a case has a channel for
/// each port. A field is lost when the level at what the receiver listens to is under the threshold for more than a quarter of
/// it; a picture that freezes is lost for a stated number of fields more.
#[derive(Clone, Debug, Default)]
pub struct Fading {
    selection: Selection,
    ports: usize,
    /// Fields for which a picture stands still after one that is lost.
    frozen: f64,
    /// Length of the lap in fields.
    lap: f64,
    /// Case after case, each port after port.
    channels: Vec<Fields>,
    samples: Vec<Sample>,
}

/// A sample of the lap.
#[derive(Clone, Copy, Debug)]
struct Sample {
    /// Its first channel.
    start: usize,
    draws: usize,
    tilts: usize,
    /// Share of the lap's time.
    weight: f64,
}

/// Where a search starts: a drop and the share that is lost there.
#[derive(Clone, Copy, Debug)]
struct Start {
    guess: f64,
    lost: f64,
    /// Whether the answer is known to be near.
    is_near: bool,
}

/// A lap of so many samples is searched coarsely first.
const COARSE_FROM: usize = 128;

/// A threshold over its own power, and the logarithm of that.
#[derive(Clone, Copy, Debug)]
struct Threshold(f64, f64);

impl Threshold {
    /// With every level so much lower.
    fn of(drop: Db) -> Self {
        Self(drop.ratio(), drop.0 * (std::f64::consts::LN_10 / 10.0))
    }
}

/// What a sample loses.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Loss {
    /// Share of time under the threshold.
    pub under: f64,
    /// Share of fields that are lost; those in which a picture stands still do not count here.
    pub lost: f64,
}

impl Fading {
    /// No samples yet, of so many ports, at least one; the lap lasts `duration`, and a lost field stops the picture for `frozen`
    /// more.
    pub fn new(selection: Selection, ports: usize, duration: Seconds, frozen: Seconds) -> Self {
        Self {
            selection,
            ports: ports.max(1),
            frozen: (frozen.0 / FIELD.0).ceil().max(0.0),
            lap: (duration.0 / FIELD.0).max(1.0),
            ..Self::default()
        }
    }

    /// Adds a channel, in units of its threshold: ports of a case after each other, and cases of the sample that is being
    /// built.
    pub fn push(&mut self, channel: &Channel) {
        self.channels.push(channel.fields());
    }

    /// Ends a sample whose cases are so many draws of the crowd; `weight` is its share of the lap's time.
    pub fn end_sample(&mut self, draws: usize, weight: f64) {
        let start = self.samples.last().map_or(0, |sample| sample.start + sample.draws * sample.tilts * self.ports);
        let cases = (self.channels.len() - start) / self.ports;
        let draws = draws.clamp(1, cases.max(1));
        if self.selection == Selection::Slow && self.ports > 1 {
            for case in self.channels[start..].chunks_exact_mut(self.ports) {
                let power = ports::odds_power(case);
                case.iter_mut().for_each(|port| port.weigh_by(power));
            }
        }
        self.samples.push(Sample { start, draws, tilts: cases / draws, weight });
    }

    /// Number of samples.
    pub fn len(&self) -> usize {
        self.samples.len()
    }

    /// Whether there are no samples.
    pub fn is_empty(&self) -> bool {
        self.samples.is_empty()
    }

    /// The channels of one case, port after port.
    fn case(&self, sample: &Sample, case: usize) -> &[Fields] {
        &self.channels[sample.start + case * self.ports..][..self.ports]
    }

    /// What a sample loses when every level drops by `drop`.
    pub fn loss(&self, sample: usize, drop: Db) -> Loss {
        self.loss_higher(&self.samples[sample], Threshold::of(drop))
    }

    fn loss_higher(&self, sample: &Sample, threshold: Threshold) -> Loss {
        let cases = sample.draws * sample.tilts;
        let (mut under, mut lost) = (0.0, 0.0);
        let mut nodes = Nodes::default();
        for case in 0..cases {
            if nodes.fill(self.selection, self.case(sample, case), threshold) {
                for (share, loss) in nodes.iter() {
                    under += share * loss.under;
                    lost += share * loss.lost;
                }
            }
        }
        Loss { under: under / cases.max(1) as f64, lost: lost / cases.max(1) as f64 }
    }

    /// Share of time in which one port alone would be under the threshold at a sample.
    pub fn port_under(&self, sample: usize, port: usize) -> f64 {
        let sample = &self.samples[sample];
        let cases = sample.draws * sample.tilts;
        (0..cases).map(|case| self.case(sample, case)[port].under(1.0)).sum::<f64>() / cases.max(1) as f64
    }

    /// Whether a lost field stops the picture for a while.
    pub fn freezes(&self) -> bool {
        self.frozen > 0.0
    }

    /// Share of fields that are lost or frozen when every level drops by `drop`; 1 for an empty lap.
    pub fn lost_share(&self, drop: Db) -> f64 {
        if self.is_empty() {
            return 1.0;
        }
        let threshold = Threshold::of(drop);
        if self.frozen > 0.0 {
            return recovery::lost_share(self, threshold).clamp(0.0, 1.0);
        }
        let lost: f64 =
            self.samples.iter().map(|sample| sample.weight * self.loss_higher(sample, threshold).lost).sum();
        lost.clamp(0.0, 1.0)
    }

    /// The same from every so many samples, each standing for its neighbours, and a picture that does not freeze: for a share
    /// that no verdict stands on.
    pub fn lost_share_by(&self, stride: usize, drop: Db) -> f64 {
        let threshold = Threshold::of(drop);
        let (mut lost, mut time) = (0.0, 0.0);
        for sample in self.samples.iter().step_by(stride.max(1)) {
            lost += sample.weight * self.loss_higher(sample, threshold).lost;
            time += sample.weight;
        }
        if time > 0.0 { (lost / time).clamp(0.0, 1.0) } else { 1.0 }
    }

    /// The largest drop of every level that keeps the picture share at `target` or above; negative if levels must rise.
    ///
    /// `target` lies in (0, 1), ends excluded. The answer is exact to about 1e-4 dB, and held within
    /// [`RESERVE_RANGE`].
    pub fn reserve(&self, target: f64) -> Db {
        self.reserve_from(target, self.lost_share(Db(0.0)))
    }

    /// The same for who knows the lost share with no drop.
    pub fn reserve_from(&self, target: f64, lost: f64) -> Db {
        let mut start = Start { guess: 0.0, lost, is_near: false };
        if self.frozen == 0.0 && self.len() >= COARSE_FROM {
            // Every eighth sample tells where the answer lies, at an eighth of the price.
            let coarse = |drop: f64| self.lost_share_by(8, Db(drop));
            let near = self.search(target, Start { guess: 0.0, lost: coarse(0.0), is_near: false }, &coarse);
            if near.0.abs() < RESERVE_RANGE.0 - 1.0 {
                start = Start { guess: near.0, lost: self.lost_share(near), is_near: true };
            }
        }
        self.search(target, start, &|drop| self.lost_share(Db(drop)))
    }

    fn search(&self, target: f64, start: Start, lost_share: &dyn Fn(f64) -> f64) -> Db {
        // The logarithm of the lost share is nearly straight in decibels, and the lost share never falls as levels
        // drop: a bracketed secant converges in a few steps.
        let wanted = libm::log(1.0 - target);
        let excess = |lost: f64| libm::log(lost.max(1e-300)) - wanted;
        let (least, most) = (-RESERVE_RANGE.0, RESERVE_RANGE.0);
        let (mut low, mut high) = (least, most);
        let (mut at_low, mut at_high) = (f64::NAN, f64::NAN);
        let (mut guess, mut value, mut last) = (start.guess, excess(start.lost), 0.0);
        for step in 0..200 {
            // Half the weight of an end that stays twice (the Illinois rule).
            if value <= 0.0 {
                at_high *= if last < 0.0 { 0.5 } else { 1.0 };
                (low, at_low) = (guess, value);
            } else {
                at_low *= if last > 0.0 { 0.5 } else { 1.0 };
                (high, at_high) = (guess, value);
            }
            if value.abs() < NEAR_ENOUGH || high - low < RESERVE_STEP {
                break;
            }
            if high - low < STRAIGHT && !at_low.is_nan() && !at_high.is_nan() {
                // So near to each other they are joined by a straight line.
                return Db((low - at_low * (high - low) / (at_high - at_low)).clamp(low, high));
            }
            last = value;
            if step == 0 && value.abs() > FAR {
                guess = self.first_guess();
                value = excess(lost_share(guess));
                continue;
            }
            // Outward until the answer is between two known points: as far as it lies where levels fade freely, and more
            // each time.
            let sure = if start.is_near { 1.2 } else { f64::from(1 << (step / 2).min(6)) };
            let outward = (value.abs() / FREE_SLOPE).max(if start.is_near { 0.02 } else { 1.0 }) * sure;
            guess = if at_low.is_nan() {
                (guess - outward).max(least)
            } else if at_high.is_nan() {
                (guess + outward).min(most)
            } else if step % 8 == 7 || at_low < -300.0 {
                0.5 * (low + high)
            } else {
                (low - at_low * (high - low) / (at_high - at_low)).clamp(low, high)
            };
            if (guess == low && !at_low.is_nan()) || (guess == high && !at_high.is_nan()) {
                // At an end of the range there is no farther one.
                break;
            }
            value = excess(lost_share(guess));
        }
        if value.abs() < NEAR_ENOUGH { Db(guess) } else { Db(low) }
    }

    /// Where a search begins that has far to go: a drop that leaves the least mean of the lap 3 dB over the threshold.
    fn first_guess(&self) -> f64 {
        let cases = self.channels.chunks_exact(self.ports);
        let best = |case: &[Fields]| case.iter().map(|port| port.channel().mean()).fold(0.0, f64::max);
        let least = cases.map(best).fold(f64::INFINITY, f64::min);
        if least.is_finite() && least > 0.0 {
            (Db::from_ratio(least).0 - 3.0).clamp(-RESERVE_RANGE.0 + 1.0, RESERVE_RANGE.0 - 1.0)
        } else {
            0.0
        }
    }
}

mod ports;
mod recovery;

/// What a case loses at each place of its phase.
#[derive(Clone, Copy, Debug)]
struct Nodes {
    count: usize,
    shares: [f64; PLACES],
    losses: [Loss; PLACES],
}

impl Default for Nodes {
    fn default() -> Self {
        Self { count: 0, shares: [0.0; PLACES], losses: [Loss::default(); PLACES] }
    }
}

impl Nodes {
    /// Works a case out; `false` where nothing is lost.
    fn fill(&mut self, selection: Selection, ports: &[Fields], threshold: Threshold) -> bool {
        if let [port] = ports {
            return self.fill_one(port, threshold);
        }
        match selection {
            Selection::Slow => self.fill_slow(ports, threshold),
            Selection::Fast => self.fill_fast(ports, threshold),
        }
    }

    fn iter(&self) -> impl Iterator<Item = (f64, Loss)> + '_ {
        self.shares.iter().copied().zip(self.losses.iter().copied()).take(self.count)
    }

    fn fill_one(&mut self, port: &Fields, threshold: Threshold) -> bool {
        let mut scores = [0.0; PLACES];
        if !port.scores((threshold.0, threshold.1), &mut scores) {
            return false;
        }
        self.count = port.count();
        for (place, &score) in scores.iter().enumerate().take(self.count) {
            self.shares[place] = port.share(place);
            self.losses[place] = Loss { under: share_of_score(score), lost: port.lost(place, score) };
        }
        true
    }

    /// Each port for itself, weighed by how likely it is listened to.
    ///
    /// Where a fade outlasts a field, the mean over the field before tells of it, and the receiver leaves the port that fades:
    /// so far as fades do, it loses only what all ports lose.
    fn fill_slow(&mut self, ports: &[Fields], threshold: Threshold) -> bool {
        let Some(heard) = PortScores::of(ports, threshold) else { return false };
        if !heard.iter().any(|port| port.is_lost) {
            return false;
        }
        let most = heard.reference();
        self.count = ports[most].count();
        for place in 0..self.count {
            self.shares[place] = ports[most].share(place);
            self.losses[place] = Loss::default();
        }
        let sides = heard.sides();
        for &side in sides {
            for place in 0..self.count {
                let (mut sum, mut total) = (Loss::default(), 0.0);
                let (mut under, mut ways, mut likely) = (1.0, 0.0, 0.0);
                for port in heard.iter() {
                    let at = port.at(place, side);
                    total += at.odds;
                    sum.under += at.odds * at.loss.under;
                    sum.lost += at.odds * at.loss.lost;
                    under *= at.loss.under;
                    ways += come_up(at.loss.under);
                    likely +=
                        at.odds * at.loss.lost * port.fields.going_on(place.min(port.fields.count() - 1), threshold.0);
                }
                if total <= 0.0 || sum.under <= 0.0 {
                    continue;
                }
                let foreseen = if sum.lost > 0.0 { likely / sum.lost } else { 0.0 };
                let all = 1.0 / total;
                let (mut lost, mut out) = (sum.lost * all, sum.under * all);
                if foreseen > 0.01 {
                    let joint = lost_together(&ports[most], place, under, ways);
                    lost += foreseen * (joint.min(lost) - lost);
                    out += foreseen * (under - out);
                }
                self.losses[place].under += out / sides.len() as f64;
                self.losses[place].lost += lost / sides.len() as f64;
            }
        }
        true
    }

    /// All ports at once under the threshold: what they share, the phase between the two waves, is the same at each but for
    /// its mean; what is scattered differs.
    fn fill_fast(&mut self, ports: &[Fields], threshold: Threshold) -> bool {
        let Some(heard) = PortScores::of(ports, threshold) else { return false };
        if !heard.iter().all(|port| port.is_lost) {
            return false;
        }
        let most = heard.reference();
        self.count = ports[most].count();
        let sides = heard.sides();
        for place in 0..self.count {
            self.shares[place] = ports[most].share(place);
            let mut sum = Loss::default();
            for &side in sides {
                let (mut under, mut ways) = (1.0, 0.0);
                for port in heard.iter() {
                    let share = port.at(place, side).loss.under;
                    under *= share;
                    ways += come_up(share);
                }
                sum.under += under / sides.len() as f64;
                sum.lost += lost_together(&ports[most], place, under, ways) / sides.len() as f64;
            }
            self.losses[place] = sum;
        }
        true
    }

    fn mean(&self) -> Loss {
        let mut sum = Loss::default();
        for (share, loss) in self.iter() {
            sum.under += share * loss.under;
            sum.lost += share * loss.lost;
        }
        sum
    }
}

/// How soon a port comes up again that is under the threshold for this share of the time, in units of its motion: a fade lasts
/// as the square root of how likely it is (Rice's formulas without a steady wave), and one that is always there for ever.
fn come_up(under: f64) -> f64 {
    if under > 0.0 { (1.0 - under) / under.sqrt() } else { 0.0 }
}

/// Probability that a field is lost whose level is under the threshold for this share of the time at all ports together;
/// `ways` is the sum of how soon each comes up ([`come_up`]). A fade of them all lasts longer than one of a single port that is as
/// seldom under: a field sees less of its motion.
fn lost_together(port: &Fields, place: usize, under: f64, ways: f64) -> f64 {
    let score = near_score_of_share(under);
    if score <= QUIET {
        return 0.0;
    }
    let motion = (ways * under.sqrt()).clamp(0.1, 1.0);
    port.lost_of_several(place.min(port.count() - 1), score, motion)
}

#[cfg(test)]
mod tests;
