//! How many fields of the picture are lost: at one sample with all its cases, over a lap; and the reserve.
//!
//! Everything that a verdict stands on asks [`Fading`], nobody the fading distribution itself. What a person is told about one
//! instant ([`outage`], [`fade_margin`]) is Rice fading about its K-factor.

use std::cell::OnceCell;

use super::crowd_cells::CrowdCases;
use crate::rf::fading;
use crate::rf::fading::channel::{Channel, FieldLosses, Fields, PLACES};
use crate::rf::fading::score::{QUIET, near_score_of_share};
use crate::units::{Db, Seconds};

use ports::{MOST_PORTS, PortPlaces};

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
    /// It listens to the port whose mean over a field was better; see `ports::odds_power`.
    #[default]
    Slow,
    /// It takes the better one at every moment.
    Fast,
}

/// What fades at each sample of a lap.
///
/// A sample has one or more cases (those of the crowd, each with one or more tilts); a case has a channel for each port. A field
/// is lost when the level at what the receiver listens to is under the threshold for more than a quarter of it; a picture that
/// freezes is lost for a stated number of fields more.
#[derive(Clone, Debug, Default)]
pub struct Fading {
    selection: Selection,
    ports: usize,
    /// Fields for which a picture stands still after one that is lost.
    frozen: f64,
    /// Length of the lap in fields.
    lap: f64,
    /// Case after case, each port after port: those that are kept prepared for every threshold.
    prepared: Vec<Fields>,
    /// How the ports of each of these cases lie to each other, made when first asked for.
    heard: Vec<OnceCell<PortPlaces>>,
    /// The cases behind them, prepared anew each time.
    bare: Vec<Channel>,
    samples: Vec<Sample>,
}

/// So many channels are kept prepared, at 1 to 4 kB each; further ones take 0.13 kB and more time. A lap of 400 samples has some
/// thousands.
const PREPARED: usize = 24_000;

/// The ports of a case, prepared.
#[derive(Clone, Copy, Debug)]
struct Case<'a> {
    ports: &'a [Fields],
    places: &'a OnceCell<PortPlaces>,
}

/// Memory for a case that is not kept prepared.
#[derive(Clone, Debug, Default)]
struct Prepared {
    ports: Vec<Fields>,
    places: OnceCell<PortPlaces>,
}

/// Sets how a receiver weighs the ports of a case.
fn weigh(selection: Selection, ports: &mut [Fields]) {
    if selection == Selection::Slow && ports.len() > 1 {
        let power = ports::odds_power(ports);
        ports.iter_mut().for_each(|port| port.weigh_by(power));
    }
}

/// A sample of the lap.
#[derive(Clone, Copy, Debug)]
struct Sample {
    /// Its first case.
    start: usize,
    crowd: CrowdCases,
    tilts: usize,
    /// Share of the lap's time.
    weight: f64,
}

impl Sample {
    fn cases(&self) -> usize {
        self.crowd.count() * self.tilts
    }

    /// How likely one of its cases is.
    fn share(&self, case: usize) -> f64 {
        self.crowd.share(case / self.tilts) / self.tilts as f64
    }

    /// Number of one of its cases in the lap.
    fn case(&self, case: usize) -> usize {
        self.start + case
    }
}

/// Where a search starts: a drop and the share that is lost there.
#[derive(Clone, Copy, Debug)]
struct Start {
    guess: f64,
    lost: f64,
}

/// Where a search ended: a drop, and how fast the logarithm of the lost share rises there, per decibel, if that is known.
#[derive(Clone, Copy, Debug)]
struct Found {
    drop: Db,
    slope: Option<f64>,
}

/// A lap with every level lowered, or raised, to where the target is just met.
#[derive(Clone, Debug)]
pub struct Limit {
    /// By how much they are lowered.
    pub reserve: Db,
    /// Share of fields that each sample loses there, or within [`SMALL_STEP`] of there.
    pub lost: Vec<f64>,
}

/// Farther apart than so many decibels two lost shares tell nothing of the slope between them.
const NEARBY: f64 = 3.0;

/// How fast the logarithm of the lost share rises between two drops with their logarithms, where it is about straight.
fn local_slope((before, value_before): (f64, f64), (now, value): (f64, f64)) -> Option<f64> {
    let (run, rise) = (now - before, value - value_before);
    (run.abs() < NEARBY && rise.abs() < 2.0 && rise / run > 0.0).then(|| rise / run)
}

/// A coarse search is content with an answer that is near by so many decibels.
const COARSE_STEP: f64 = 0.3;

/// Over a step of so many decibels the slope next to it, or of an eighth of the samples, holds to within a twentieth.
const SMALL_STEP: f64 = 0.08;

/// A lap of so many samples is searched coarsely first, with about half as many of them, or every sixteenth.
const COARSE_FROM: usize = 128;
const COARSE: usize = COARSE_FROM / 2;

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

impl Loss {
    fn add(&mut self, weight: f64, other: Self) {
        self.under += weight * other.under;
        self.lost += weight * other.lost;
    }
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
        // Cases are kept whole or not at all.
        let is_first = (self.prepared.len() + self.bare.len()).is_multiple_of(self.ports);
        let is_full = !self.bare.is_empty() || is_first && self.prepared.len() + self.ports > PREPARED;
        if is_full { self.bare.push(*channel) } else { self.prepared.push(channel.fields()) }
    }

    /// Channels of all cases.
    fn channels(&self) -> impl Iterator<Item = &Channel> {
        self.prepared.iter().map(Fields::channel).chain(&self.bare)
    }

    /// Ends a sample with such cases of the crowd; `weight` is its share of the lap's time.
    pub fn end_sample(&mut self, crowd: &CrowdCases, weight: f64) {
        let start = self.samples.last().map_or(0, |sample| sample.start + sample.cases());
        let all = (self.prepared.len() + self.bare.len()) / self.ports;
        let cases = all - start;
        debug_assert!(cases.is_multiple_of(crowd.count()), "every case of the crowd has the same tilts");
        let kept = self.prepared.len() / self.ports;
        for case in start..kept {
            weigh(self.selection, &mut self.prepared[case * self.ports..][..self.ports]);
        }
        self.heard.resize_with(kept, OnceCell::new);
        self.samples.push(Sample { start, crowd: *crowd, tilts: (cases / crowd.count()).max(1), weight });
    }

    /// Number of samples.
    pub fn len(&self) -> usize {
        self.samples.len()
    }

    /// Whether there are no samples.
    pub fn is_empty(&self) -> bool {
        self.samples.is_empty()
    }

    /// A case of the lap, port after port.
    fn case<'a>(&'a self, case: usize, memory: &'a mut Prepared) -> Case<'a> {
        let most = self.ports.min(MOST_PORTS);
        let start = case * self.ports;
        if let Some(places) = self.heard.get(case) {
            return Case { ports: &self.prepared[start..][..most], places };
        }
        memory.ports.clear();
        memory.ports.extend(self.bare[start - self.prepared.len()..][..self.ports].iter().map(Channel::fields));
        weigh(self.selection, &mut memory.ports);
        memory.places = OnceCell::new();
        Case { ports: &memory.ports[..most], places: &memory.places }
    }

    /// What a sample loses when every level drops by `drop`.
    pub fn loss(&self, sample: usize, drop: Db) -> Loss {
        self.loss_higher(&self.samples[sample], Threshold::of(drop), &mut Default::default())
    }

    fn loss_higher(&self, sample: &Sample, threshold: Threshold, (nodes, memory): &mut (Nodes, Prepared)) -> Loss {
        let mut sum = Loss::default();
        for case in 0..sample.cases() {
            if nodes.fill(self.selection, self.case(sample.case(case), memory), threshold) {
                sum.add(sample.share(case), nodes.mean());
            }
        }
        sum
    }

    /// What a sample loses with no drop; and, port after port, the share of time in which one port alone would be under the
    /// threshold.
    pub fn loss_of_ports(&self, sample: usize, ports: &mut Vec<f64>) -> Loss {
        let sample = &self.samples[sample];
        ports.clear();
        ports.resize(self.ports, 0.0);
        let (mut sum, mut nodes, mut memory) = (Loss::default(), Nodes::default(), Prepared::default());
        for case in 0..sample.cases() {
            let share = sample.share(case);
            let heard = self.case(sample.case(case), &mut memory);
            if nodes.fill(self.selection, heard, Threshold::of(Db(0.0))) {
                sum.add(share, nodes.mean());
            }
            for (port, (under, fields)) in ports.iter_mut().zip(heard.ports).enumerate() {
                *under += share * nodes.port_under(port, fields);
            }
        }
        sum
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
        let mut nodes = Default::default();
        let lost_at = |sample: &Sample| sample.weight * self.loss_higher(sample, threshold, &mut nodes).lost;
        self.samples.iter().map(lost_at).sum::<f64>().clamp(0.0, 1.0)
    }

    /// The same from every so many samples, each standing for its neighbours, and a picture that does not freeze: for a share
    /// that no verdict stands on.
    pub fn lost_share_by(&self, stride: usize, drop: Db) -> f64 {
        let threshold = Threshold::of(drop);
        let (mut lost, mut time, mut nodes) = (0.0, 0.0, Default::default());
        for sample in self.samples.iter().step_by(stride.max(1)) {
            lost += sample.weight * self.loss_higher(sample, threshold, &mut nodes).lost;
            time += sample.weight;
        }
        if time > 0.0 { (lost / time).clamp(0.0, 1.0) } else { 1.0 }
    }

    /// The largest drop of every level that keeps the picture share at `target` or above; negative if levels must rise.
    ///
    /// `target` lies in (0, 1), ends excluded. The answer is exact to about 1e-4 dB, of laps of [`COARSE_FROM`] samples and more
    /// to about 5e-3 dB, and held within [`RESERVE_RANGE`].
    pub fn reserve(&self, target: f64) -> Db {
        self.limit(target, None).reserve
    }

    /// The same with what is lost there; for who knows the lost share with no drop, if anybody does.
    pub fn limit(&self, target: f64, lost: Option<f64>) -> Limit {
        if self.frozen == 0.0
            && self.len() >= COARSE_FROM
            && let Some(limit) = self.limit_of_many(target)
        {
            return limit;
        }
        let lost = lost.unwrap_or_else(|| self.lost_share(Db(0.0)));
        let found = self.search(target, Start { guess: 0.0, lost }, RESERVE_STEP, &|drop| self.lost_share(Db(drop)));
        Limit { reserve: found.drop, lost: self.lost_at(found.drop) }
    }

    /// What each sample loses when every level drops by `drop`.
    fn lost_at(&self, drop: Db) -> Vec<f64> {
        let (threshold, mut nodes) = (Threshold::of(drop), Default::default());
        self.samples.iter().map(|sample| self.loss_higher(sample, threshold, &mut nodes).lost).collect()
    }

    /// The limit of a lap with many samples: a few of them tell about where it lies and how steep the lost share is there, four
    /// times as many nearly, at a part of the price; then all of them are asked until the last step is a small one. `None` where
    /// that leads nowhere.
    fn limit_of_many(&self, target: f64) -> Option<Limit> {
        let wanted = libm::log(1.0 - target);
        let stride = (self.len() / COARSE).clamp(2, 16);
        let coarse = |drop: f64| self.lost_share_by(stride, Db(drop));
        let excess = |share: f64| libm::log(share.max(1e-300)) - wanted;
        let start = Start { guess: 0.0, lost: coarse(0.0) };
        let Found { drop: Db(mut drop), mut slope } = self.search(target, start, COARSE_STEP, &coarse);
        if stride >= 8 {
            let step = -excess(self.lost_share_by(stride / 4, Db(drop))) / slope.unwrap_or(FREE_SLOPE);
            drop += step.clamp(-NEARBY, NEARBY);
        }
        let mut last: Option<(f64, f64)> = None;
        for _ in 0..4 {
            if drop.abs() >= RESERVE_RANGE.0 - 1.0 {
                return None;
            }
            let lost = self.lost_at(Db(drop));
            let share: f64 = self.samples.iter().zip(&lost).map(|(sample, lost)| sample.weight * lost).sum();
            let value = excess(share);
            if let Some(last) = last {
                slope = local_slope(last, (drop, value));
            }
            let step = -value / slope.unwrap_or(FREE_SLOPE);
            if step.is_nan() || step.abs() >= NEARBY {
                return None;
            }
            // The slope of a few samples is only nearly that of all.
            let small = if last.is_some() { SMALL_STEP } else { 0.4 * SMALL_STEP };
            if slope.is_some() && step.abs() < small {
                return Some(Limit { reserve: Db(drop + step), lost });
            }
            last = Some((drop, value));
            drop += step;
        }
        None
    }

    /// Looks for the drop at which the lost share is the wanted one, to within `fine` decibels.
    fn search(&self, target: f64, start: Start, fine: f64, lost_share: &dyn Fn(f64) -> f64) -> Found {
        // The logarithm of the lost share is nearly straight in decibels, and the lost share never falls as levels
        // drop: a bracketed secant converges in a few steps.
        let wanted = libm::log(1.0 - target);
        let excess = |lost: f64| libm::log(lost.max(1e-300)) - wanted;
        let (least, most) = (-RESERVE_RANGE.0, RESERVE_RANGE.0);
        let (mut low, mut high) = (least, most);
        let (mut at_low, mut at_high) = (f64::NAN, f64::NAN);
        let (mut guess, mut value, mut last) = (start.guess, excess(start.lost), 0.0);
        let (mut slope, mut found_before) = (None, None);
        for step in 0..200 {
            // Half the weight of an end that stays twice (the Illinois rule).
            if value <= 0.0 {
                at_high *= if last < 0.0 { 0.5 } else { 1.0 };
                (low, at_low) = (guess, value);
            } else {
                at_low *= if last > 0.0 { 0.5 } else { 1.0 };
                (high, at_high) = (guess, value);
            }
            slope = found_before.and_then(|before| local_slope(before, (guess, value)));
            found_before = Some((guess, value));
            if value.abs() < NEAR_ENOUGH || high - low < RESERVE_STEP {
                break;
            }
            if high - low < STRAIGHT.max(fine) && !at_low.is_nan() && !at_high.is_nan() {
                // So near to each other they are joined by a straight line.
                return Found { drop: Db((low - at_low * (high - low) / (at_high - at_low)).clamp(low, high)), slope };
            }
            if let Some(rise) = slope.filter(|&rise| fine > RESERVE_STEP && value.abs() < fine * rise) {
                return Found { drop: Db(guess - value / rise), slope };
            }
            last = value;
            if step == 0 && value.abs() > FAR {
                guess = self.first_guess();
                value = excess(lost_share(guess));
                continue;
            }
            // Outward until the answer is between two known points: as far as it lies where levels fade freely, and more
            // each time.
            let outward = (value.abs() / FREE_SLOPE).max(1.0) * f64::from(1 << (step / 2).min(6));
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
        Found { drop: Db(if value.abs() < NEAR_ENOUGH { guess } else { low }), slope }
    }

    /// Where a search begins that has far to go: a drop that leaves the least mean of the lap 3 dB over the threshold.
    fn first_guess(&self) -> f64 {
        let (mut best, mut least) = (0.0_f64, f64::INFINITY);
        for (number, channel) in self.channels().enumerate() {
            best = best.max(channel.mean());
            if (number + 1).is_multiple_of(self.ports) {
                least = least.min(std::mem::take(&mut best));
            }
        }
        if least.is_finite() && least > 0.0 {
            (Db::from_ratio(least).0 - 3.0).clamp(-RESERVE_RANGE.0 + 1.0, RESERVE_RANGE.0 - 1.0)
        } else {
            0.0
        }
    }
}

mod ports;
mod recovery;

/// What a port loses at a place of its own.
fn loss_of(losses: &FieldLosses, place: usize) -> Loss {
    Loss { under: losses.under[place], lost: losses.lost[place] }
}

/// What a case loses at each place of its phase; memory that is used again from case to case.
#[derive(Clone, Debug)]
struct Nodes {
    count: usize,
    shares: [f64; PLACES],
    losses: [Loss; PLACES],
    /// What each port loses by itself, at its own places.
    ports: [FieldLosses; MOST_PORTS],
}

impl Default for Nodes {
    fn default() -> Self {
        Self {
            count: 0,
            shares: [0.0; PLACES],
            losses: [Loss::default(); PLACES],
            ports: [const { FieldLosses::NONE }; MOST_PORTS],
        }
    }
}

impl Nodes {
    /// Works a case out; `false` where nothing is lost.
    fn fill(&mut self, selection: Selection, case: Case<'_>, threshold: Threshold) -> bool {
        let ports = case.ports;
        let mut any = false;
        for (port, losses) in ports.iter().zip(&mut self.ports) {
            any |= port.losses((threshold.0, threshold.1), losses);
        }
        if !any {
            self.count = 0;
            return false;
        }
        if let [port] = ports {
            self.fill_one(port);
            return true;
        }
        let places = case.places.get_or_init(|| PortPlaces::of(ports));
        match selection {
            Selection::Slow => self.fill_slow(ports, places, threshold),
            Selection::Fast => self.fill_fast(ports, places),
        }
        true
    }

    fn iter(&self) -> impl Iterator<Item = (f64, Loss)> + '_ {
        self.shares.iter().copied().zip(self.losses.iter().copied()).take(self.count)
    }

    fn fill_one(&mut self, port: &Fields) {
        self.count = port.count();
        for place in 0..self.count {
            self.shares[place] = port.share(place);
            self.losses[place] = loss_of(&self.ports[0], place);
        }
    }

    /// Each port for itself, weighed by how likely it is listened to.
    ///
    /// Where a fade outlasts a field, the mean over the field before tells of it, and the receiver leaves the port that fades:
    /// so far as fades do, it loses only what all ports lose.
    fn fill_slow(&mut self, ports: &[Fields], places: &PortPlaces, threshold: Threshold) {
        let reference = &ports[places.reference()];
        self.count = reference.count();
        let lasting = ports.iter().any(Fields::fades_last);
        let apart: [Loss; MOST_PORTS] = places.apart(ports, &self.ports);
        let half = 1.0 / places.sides() as f64;
        for place in 0..self.count {
            self.shares[place] = reference.share(place);
            self.losses[place] = Loss::default();
            // Odds that what is lost goes on, port after port; the same on either side.
            let mut on = [0.0; MOST_PORTS];
            let mut is_known = false;
            for side in 0..places.sides() {
                let (mut sum, mut under, mut ways, mut likely) = (Loss::default(), 1.0, 0.0, 0.0);
                for (port, losses) in self.ports.iter().enumerate().take(ports.len()) {
                    let at = places.at(port, side, place);
                    let loss = at.of(losses, &apart[port]);
                    sum.add(at.odds, loss);
                    if lasting {
                        under *= loss.under;
                    }
                }
                if sum.under <= 0.0 {
                    continue;
                }
                if lasting && sum.lost > 1e-12 {
                    for (port, losses) in self.ports.iter().enumerate().take(ports.len()) {
                        if !is_known {
                            on[port] = ports[port].going_on(place.min(ports[port].count() - 1), threshold.0);
                        }
                        let at = places.at(port, side, place);
                        let loss = at.of(losses, &apart[port]);
                        ways += come_up(loss.under);
                        likely += at.odds * loss.lost * on[port];
                    }
                    is_known = true;
                    let foreseen = likely / sum.lost;
                    if foreseen > 0.01 {
                        let joint = lost_together(reference, place, under, ways);
                        sum.lost += foreseen * (joint.min(sum.lost) - sum.lost);
                        sum.under += foreseen * (under - sum.under);
                    }
                }
                self.losses[place].add(half, sum);
            }
        }
    }

    /// All ports at once under the threshold: what they share, the phase between the two waves, is the same at each but for
    /// its mean; what is scattered differs.
    fn fill_fast(&mut self, ports: &[Fields], places: &PortPlaces) {
        let reference = &ports[places.reference()];
        self.count = reference.count();
        let apart: [Loss; MOST_PORTS] = places.apart(ports, &self.ports);
        let half = 1.0 / places.sides() as f64;
        for place in 0..self.count {
            self.shares[place] = reference.share(place);
            self.losses[place] = Loss::default();
            for side in 0..places.sides() {
                let mut under = 1.0;
                for (port, losses) in self.ports.iter().enumerate().take(ports.len()) {
                    under *= places.at(port, side, place).of(losses, &apart[port]).under;
                }
                if under <= 0.0 {
                    continue;
                }
                let come_up =
                    |port: usize| come_up(places.at(port, side, place).of(&self.ports[port], &apart[port]).under);
                let ways = (0..ports.len()).map(come_up).sum();
                self.losses[place].add(half, Loss { under, lost: lost_together(reference, place, under, ways) });
            }
        }
    }

    fn mean(&self) -> Loss {
        let mut sum = Loss::default();
        for (share, loss) in self.iter() {
            sum.add(share, loss);
        }
        sum
    }

    /// Share of time in which one port of the case alone would be under the threshold.
    fn port_under(&self, port: usize, fields: &Fields) -> f64 {
        let under = &self.ports[port].under;
        under.iter().enumerate().take(fields.count()).map(|(place, under)| fields.share(place) * under).sum()
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
