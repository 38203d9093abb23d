//! One seeded lap in time: the level at every port field by field, and the fields that are lost.
//!
//! A lap draws what nobody knows: how the line is strayed from ([`super::wander`]), the scatter that no one drew
//! ([`crate::rf::fading::scatter`], independent from port to port), one of the crowd's draws, and the phases between the two
//! hands of each circular antenna. The drawn paths reach all ports with the phases of one place. Levels are then sums of
//! amplitudes, instant by instant; nothing is averaged but what a digital picture averages over its channel.
//!
//! A lap is closed: the last field's neighbour is the first. Scatter and line close too, so that nothing jumps there.

#[cfg(test)]
mod tests;

use std::ops::Range;

use num_complex::Complex64;

use super::kit::PictureKind;
use super::receiver::SWITCHING_HYSTERESIS;
use super::track::{Joint, Reach, Track};
use super::wander::Offset;
use crate::plan::document::Switching;
use crate::rf::fading::scatter::{Phases, Scatter};
use crate::rf::random::Random;
use crate::rf::{Vec3, phasor};
use crate::units::Db;

/// A field is bad, a digital frame lost, when more than one part in this many of it is under the threshold. So a field has a
/// margin of its own, the level that all but this part of it exceeds, less the threshold; bad is what has less than zero.
pub const BAD_PART: f64 = 4.0;

/// The least margin that is told, in decibels: nothing at all is received.
pub const LEAST_MARGIN: Db = Db(-300.0);

/// What a field of a lap looks like.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Field {
    /// As it should.
    Good,
    /// More than a quarter of it is under the threshold.
    Bad,
    /// A digital picture still stands after a lost frame.
    Frozen,
}

/// A flown lap.
#[derive(Clone, Debug, Default)]
pub struct FlownLap {
    /// Its fields in order.
    pub fields: Vec<Field>,
    /// The margin of every field at what the receiver listened to, in decibels. Which port that is does not depend on the
    /// threshold: were every level lower by some decibels, so would be every margin.
    pub margins: Vec<f64>,
    /// The margin of the picture in every field: a digital one that stands still for some fields after a lost one has the
    /// least margin of these and of its own. A field is good when this is zero or more.
    pub picture_margins: Vec<f64>,
    /// Whether the picture stands still where a field is bad: a digital one does.
    pub freezes: bool,
    /// Share of its time with the level under the threshold at what the receiver listened to.
    pub under: f64,
}

/// The level in one field at one port, or at the best of all where the receiver switches within a field.
#[derive(Clone, Copy, Debug, Default)]
struct Level {
    /// Seconds counted.
    time: f64,
    /// Of these, seconds under the threshold.
    under: f64,
    /// Sum of power over threshold times seconds.
    power: f64,
}

/// The powers over the threshold at every instant of the lap that one port hears, or the best of all.
#[derive(Clone, Debug, Default)]
struct Powers {
    /// Instant after instant.
    instants: Vec<f64>,
    /// One field's powers and their instants' lengths, in order of power.
    sorted: Vec<(f64, f64)>,
}

/// What flying needs memory for; kept from lap to lap.
#[derive(Clone, Debug, Default)]
pub struct Memory {
    drawn: Drawn,
    instants: Instants,
    levels: Vec<Level>,
    /// Listener after listener.
    powers: Vec<Powers>,
    standing: Vec<usize>,
}

/// What a lap has drawn.
#[derive(Clone, Debug, Default)]
struct Drawn {
    /// Of every sample; empty when the line is flown exactly.
    offsets: Vec<Offset>,
    /// Where each sample's strands begin.
    starts: Vec<usize>,
    /// Per strand and port, with this lap's people and tilts.
    amplitudes: Vec<Complex64>,
    /// Per strand, radians and radians per second.
    phases: Vec<(f64, f64)>,
}

/// What is heard on the way round.
#[derive(Clone, Debug, Default)]
struct Instants {
    /// Phasors of one path between two samples.
    turns: Vec<Complex64>,
    /// The scatter between two samples.
    scattered: Vec<[f64; 2]>,
    /// Sum of all fields, port after port, each for the whole lap.
    sums: Vec<Vec<Complex64>>,
    /// For a digital picture, the field of every path and of the scatter between two samples: path after path.
    rows: Vec<Complex64>,
    /// And what averaging over the channel takes from the power of their sum, port after port, each for the whole lap.
    taken: Vec<Vec<f64>>,
}

const NOTHING: Complex64 = Complex64::new(0.0, 0.0);

/// Flies one lap. The same seed gives the same lap, bit for bit, whatever was flown before.
pub fn fly(track: &Track, seed: u64, memory: &mut Memory, lap: &mut FlownLap) {
    let mut random = Random::new(seed);
    memory.drawn.draw(track, &mut random);
    let scatter = Scatter::draw(&mut random, track.wavenumber, track.ports);
    walk(track, &scatter, memory);
    let Memory { levels, powers, standing, .. } = memory;
    look(track, levels, |port, field| powers[port].exceeded(track, field), standing, lap);
}

impl Drawn {
    /// Draws the lap's crowd, tilts and line, and sets every strand's amplitudes and phases.
    fn draw(&mut self, track: &Track, random: &mut Random) {
        let crowd = random.below(track.draws);
        let sender_tilt = random.phasor();
        let port_tilts: Vec<Complex64> = (0..track.ports).map(|_| random.phasor()).collect();
        match &track.wander {
            Some(wander) => wander.draw(random, &mut self.offsets),
            None => self.offsets.clear(),
        }
        let spacing = track.length / track.knots.len().max(1) as f64;
        self.starts.clear();
        self.amplitudes.clear();
        self.phases.clear();
        for (index, knot) in track.knots.iter().enumerate() {
            self.starts.push(self.phases.len());
            let count = knot.strands.len();
            let people = knot.people.get(crowd * count..(crowd + 1) * count);
            let (place, velocity) = self.offsets.get(index).map_or((Vec3::zeros(), knot.velocity), |offset| {
                // A slope counts metres of the line; a second is so many of them.
                let pace = spacing / track.reaches[index].duration.max(1e-9);
                (offset.place, knot.velocity + offset.slope * pace)
            });
            for (number, strand) in knot.strands.iter().enumerate() {
                let ahead = strand.depart.dot(&place) - strand.length;
                self.phases.push((track.wavenumber * ahead, track.wavenumber * strand.depart.dot(&velocity)));
                let left = people.map_or(1.0, |people| people[number]);
                for (parts, tilt) in strand.amplitudes.iter().zip(&port_tilts) {
                    let first = parts[0] + parts[1] * sender_tilt;
                    let second = parts[2] + parts[3] * sender_tilt;
                    self.amplitudes.push((first + second * tilt) * left);
                }
            }
        }
    }

    /// Where a sample is flown.
    fn place(&self, track: &Track, sample: usize) -> Vec3 {
        self.offsets.get(sample).map_or(Vec3::zeros(), |offset| offset.place) + track.knots[sample].place
    }
}

impl Instants {
    /// Begins a lap.
    fn begin(&mut self, ports: usize) {
        self.sums.resize_with(ports, Vec::new);
        self.taken.resize_with(ports, Vec::new);
        self.sums.iter_mut().for_each(Vec::clear);
        self.taken.iter_mut().for_each(Vec::clear);
    }

    /// Hears all instants from sample `from` to sample `to`, behind those before. `waves` are the scatter's phases at the one
    /// and then at the other.
    fn hear(
        &mut self,
        track: &Track,
        scatter: &Scatter,
        drawn: &Drawn,
        (from, to): (usize, usize),
        waves: &mut Phases,
    ) {
        let reach = &track.reaches[from];
        let (count, ports) = (reach.instants, track.ports);
        let begins = self.sums.first().map_or(0, Vec::len);
        self.sums.iter_mut().for_each(|sums| sums.resize(begins + count, NOTHING));
        let strand = |sample: usize, strand: usize| drawn.starts[sample] + strand;
        let ends = |joint: &Joint| match *joint {
            Joint::Through(one, two) => (Some(strand(from, one)), Some(strand(to, two))),
            Joint::Ends(one) => (Some(strand(from, one)), None),
            Joint::Begins(two) => (None, Some(strand(to, two))),
        };
        let amplitude = |port: usize, strand: Option<usize>| {
            strand.map_or(NOTHING, |strand| drawn.amplitudes[strand * ports + port])
        };
        let averages = track.averages();
        let rows = reach.joints.len() + 1;
        self.rows.clear();
        if averages {
            self.rows.resize(ports * rows * count, NOTHING);
        }
        for (number, joint) in reach.joints.iter().enumerate() {
            let (one, two) = ends(joint);
            let heard = self.turn(drawn, reach, one, two);
            let turns = &self.turns[heard.clone()];
            for (port, sums) in self.sums.iter_mut().enumerate() {
                let start = amplitude(port, one.or(two));
                let slope = (amplitude(port, two.or(one)) - start) / count as f64;
                let mut now = start + slope * (heard.start as f64 + 0.5);
                for (sum, turn) in sums[begins..][heard.clone()].iter_mut().zip(turns) {
                    *sum += now * turn;
                    now += slope;
                }
                if averages {
                    let row = &mut self.rows[(port * rows + number) * count..][..count];
                    let mut now = start + slope * (heard.start as f64 + 0.5);
                    for (value, turn) in row[heard.clone()].iter_mut().zip(turns) {
                        *value = now * turn;
                        now += slope;
                    }
                }
            }
        }
        let way = drawn.place(track, to) - drawn.place(track, from);
        let half = scatter.phases(&(way / (2 * count) as f64));
        let step = half.times(2);
        waves.turn(&half);
        let each = 1.0 / count as f64;
        for (port, sums) in self.sums.iter_mut().enumerate() {
            let (start, end) = (track.knots[from].scatter[port], track.knots[to].scatter[port]);
            let weight = (start + (end - start) * 0.5 * each, (end - start) * each);
            let sums = &mut sums[begins..];
            if averages {
                let row = &mut self.rows[(port * rows + rows - 1) * count..][..count];
                scatter.add_along(port, waves, &step, weight, &mut self.scattered, row);
                sums.iter_mut().zip(row).for_each(|(sum, value)| *sum += *value);
            } else {
                scatter.add_along(port, waves, &step, weight, &mut self.scattered, sums);
            }
        }
        waves.turn(&step.times(count));
        waves.turn(&half.reversed());
        if averages {
            for (rows, taken) in self.rows.chunks_exact(rows * count).zip(&mut self.taken) {
                taken.resize(begins + count, 0.0);
                interference(rows, &reach.apart, &mut taken[begins..]);
            }
        }
    }

    /// Sets the phasors of one path, which is there at the one end, the other or both, and says at which instants it is.
    fn turn(&mut self, drawn: &Drawn, reach: &Reach, one: Option<usize>, two: Option<usize>) -> Range<usize> {
        let count = reach.instants;
        let at = |strand: usize| {
            let (phase, rate) = drawn.phases[strand];
            (phase, rate * reach.duration)
        };
        // Phase at the start, slope there and half the curvature, per reach.
        let (start, slope, bend, heard) = match (one.map(at), two.map(at)) {
            (Some((first, rate)), Some((last, rate_then))) => {
                let bend = 0.5 * (rate_then - rate);
                (first, last - first - bend, bend, 0..count)
            }
            (Some((first, rate)), None) => (first, rate, 0.0, 0..count / 2),
            (None, Some((last, rate))) => (last - rate, rate, 0.0, count / 2..count),
            (None, None) => return 0..0,
        };
        let each = 1.0 / count as f64;
        let (slope, bend) = (slope * each, bend * each * each);
        // At instant m the phase is start + slope (m + ½) + bend (m + ½)²: each step turns by slope + bend (2m + 2).
        let first = heard.start as f64;
        let mut turn = phasor(start + slope * (first + 0.5) + bend * (first + 0.5) * (first + 0.5));
        let mut step = phasor(slope + bend * (2.0 * first + 2.0));
        let more = phasor(2.0 * bend);
        self.turns.resize(count, NOTHING);
        for place in &mut self.turns[heard.clone()] {
            *place = turn;
            turn *= step;
            step *= more;
        }
        heard
    }

    /// The powers that a port hears all round the lap, those between two instants too where amplitudes are not averaged over
    /// a channel.
    fn powers(&self, port: usize, averages: bool, powers: &mut Vec<f64>) {
        powers.clear();
        let sums = &self.sums[port];
        if averages {
            let taken = self.taken[port].iter();
            return powers.extend(sums.iter().zip(taken).map(|(sum, taken)| sum.norm_sqr() - taken));
        }
        let count = sums.len();
        let mut pair = |[before, one, two, after]: [Complex64; 4]| {
            powers.push(one.norm_sqr());
            powers.push(((one + two) * NEAR + (before + after) * FAR).norm_sqr());
        };
        // The lap is closed.
        let closed = |instant: usize| sums[(instant + count - 1) % count];
        if count > 0 {
            pair([0, 1, 2, 3].map(closed));
        }
        sums.windows(4).for_each(|four| pair([four[0], four[1], four[2], four[3]]));
        for instant in 1.max(count.saturating_sub(2))..count {
            pair([0, 1, 2, 3].map(|step| closed(instant + step)));
        }
    }
}

/// What the two next and the two farther instants count for an amplitude half way between two: waves that stand, and those
/// that turn by a fifth between two instants, come out right, and those between to 1.7 %. From `a + b = ½` and
/// `2a cos 36° + 2b cos 108° = 1` follows `a = (3 + √5) / 4√5`.
const NEAR: f64 = 0.585_410_196_624_968_5;
const FAR: f64 = 0.5 - NEAR;

/// Twice the interference of every pair of rows, each by as much as averaging over the channel takes of it.
fn interference(rows: &[Complex64], apart: &[f64], taken: &mut [f64]) {
    let count = taken.len();
    let mut apart = apart.iter();
    for (number, first) in rows.chunks_exact(count).enumerate() {
        for (second, &apart) in rows.chunks_exact(count).skip(number + 1).zip(apart.by_ref()) {
            for ((taken, a), b) in taken.iter_mut().zip(first).zip(second) {
                *taken += 2.0 * apart * (a.re * b.re + a.im * b.im);
            }
        }
    }
}

impl Powers {
    /// The level in a field.
    fn level(&self, track: &Track, field: usize) -> Level {
        let mut level = Level::default();
        let instants = track.field_starts[field]..track.field_starts[field + 1];
        for (&power, &each) in self.instants[instants.clone()].iter().zip(&track.instants[instants]) {
            level.time += each;
            level.power += power * each;
            level.under += if power < 1.0 { each } else { 0.0 };
        }
        level
    }

    /// The power that all but one part in [`BAD_PART`] of a field exceeds; none for a field without an instant.
    ///
    /// Each instant stands for the middle of its own share of the field's time, in order of power; between two of them the
    /// power runs straight. For a level that rises or falls evenly that is exact however few the instants.
    fn exceeded(&mut self, track: &Track, field: usize) -> Option<f64> {
        let instants = track.field_starts[field]..track.field_starts[field + 1];
        self.sorted.clear();
        self.sorted
            .extend(self.instants[instants.clone()].iter().copied().zip(track.instants[instants].iter().copied()));
        self.sorted.sort_unstable_by(|(a, _), (b, _)| a.total_cmp(b));
        let wanted = self.sorted.iter().map(|(_, each)| each).sum::<f64>() / BAD_PART;
        let mut passed = 0.0;
        let mut before: Option<(f64, f64)> = None;
        for &(power, each) in &self.sorted {
            let middle = passed + 0.5 * each;
            if middle >= wanted {
                return Some(
                    before.map_or(power, |(least, place)| {
                        least + (power - least) * ((wanted - place) / (middle - place))
                    }),
                );
            }
            passed += each;
            before = Some((power, middle));
        }
        before.map(|(power, _)| power)
    }
}

/// Goes through the lap instant by instant and notes the powers and the levels of all fields.
fn walk(track: &Track, scatter: &Scatter, memory: &mut Memory) {
    let Memory { drawn, instants, levels, powers, .. } = memory;
    let fast = track.listener.switching == Switching::Fast;
    let listeners = if fast { 1 } else { track.ports };
    levels.clear();
    levels.resize(listeners * track.fields, Level::default());
    powers.resize_with(track.ports, Powers::default);
    if track.knots.is_empty() {
        return;
    }
    instants.begin(track.ports);
    let mut waves = scatter.phases(&drawn.place(track, 0));
    for from in 0..track.reaches.len() {
        instants.hear(track, scatter, drawn, (from, (from + 1) % track.knots.len()), &mut waves);
    }
    let averages = track.averages();
    for (port, powers) in powers.iter_mut().enumerate() {
        instants.powers(port, averages, &mut powers.instants);
    }
    if fast && let Some((best, others)) = powers.split_first_mut() {
        for other in others {
            best.instants.iter_mut().zip(&other.instants).for_each(|(best, power)| *best = best.max(*power));
        }
    }
    for (powers, levels) in powers.iter().zip(levels.chunks_exact_mut(track.fields)) {
        for (field, level) in levels.iter_mut().enumerate() {
            *level = powers.level(track, field);
        }
    }
}

/// What the receiver makes of the levels; `exceeded` is the power that most of a field exceeds, by port and field.
fn look(
    track: &Track,
    levels: &[Level],
    mut exceeded: impl FnMut(usize, usize) -> Option<f64>,
    standing: &mut Vec<usize>,
    lap: &mut FlownLap,
) {
    let (fields, listeners) = (track.fields, levels.len() / track.fields);
    let mean = |port: usize, field: usize| {
        let level = levels[port * fields + field];
        level.power / level.time.max(1e-12)
    };
    let better = |field: usize| {
        (0..listeners).max_by(|&a, &b| mean(a, field).total_cmp(&mean(b, field)).then(b.cmp(&a))).unwrap_or(0)
    };
    let hysteresis = SWITCHING_HYSTERESIS.ratio();
    let (mut time, mut under) = (0.0, 0.0);
    lap.margins.clear();
    // Twice round: the second lap begins with the port with which the first ended.
    let mut port = better(fields - 1);
    for round in 0..2 {
        for field in 0..fields {
            // Decided on the field before.
            let before = if field == 0 { fields - 1 } else { field - 1 };
            let best = better(before);
            if mean(best, before) > mean(port, before) * hysteresis {
                port = best;
            }
            if round == 1 {
                let level = levels[port * fields + field];
                time += level.time;
                under += level.under;
                // Where samples are so sparse that a field has no instant, it is as the one before.
                let margin = exceeded(port, field).map(margin).or(lap.margins.last().copied());
                lap.margins.push(margin.unwrap_or(0.0));
            }
        }
    }
    lap.under = under / f64::max(time, 1e-12);
    lap.freezes = matches!(track.listener.picture, PictureKind::Digital { .. });
    let stands = match track.listener.picture {
        PictureKind::Analogue => 0,
        PictureKind::Digital { freeze, .. } => (freeze.0 / track.field().0).ceil().min(fields as f64) as usize,
    };
    least_of_the_last(&lap.margins, stands, standing, &mut lap.picture_margins);
    let seen = |(&margin, &picture): (&f64, &f64)| match (margin < 0.0, picture < 0.0) {
        (true, _) => Field::Bad,
        (false, true) => Field::Frozen,
        (false, false) => Field::Good,
    };
    lap.fields.clear();
    lap.fields.extend(lap.margins.iter().zip(&lap.picture_margins).map(seen));
}

/// A power over the threshold as a margin in decibels.
fn margin(power: f64) -> f64 {
    // What averaging over a channel leaves can be a rounding error below nothing.
    if power > LEAST_MARGIN.ratio() { Db::from_ratio(power).0 } else { LEAST_MARGIN.0 }
}

/// The least of each number of a closed row and the `before` numbers before it. `candidates` is memory.
fn least_of_the_last(row: &[f64], before: usize, candidates: &mut Vec<usize>, least: &mut Vec<f64>) {
    least.clear();
    if before == 0 {
        return least.extend_from_slice(row);
    }
    let count = row.len();
    candidates.clear();
    // Those candidates are left, in order, behind which no number is as small; the first is the least.
    let mut first = 0;
    for step in 0..2 * count {
        let value = row[step % count];
        while candidates.len() > first && candidates.last().is_some_and(|&last| row[last % count] >= value) {
            candidates.pop();
        }
        candidates.push(step);
        if candidates[first] + before < step {
            first += 1;
        }
        if step >= count {
            least.push(row[candidates[first] % count]);
        }
    }
}
