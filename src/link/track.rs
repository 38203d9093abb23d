//! A lap made continuous: what one entry hears between the samples, ready to be flown many times.
//!
//! Between two samples an amplitude runs straight and a phase as a parabola through what both samples say: a path's length
//! and, from its direction of departure and the aircraft's velocity, how fast the length changes. So phases are exact at
//! the samples, and an offset from the drawn line turns them as locally plane waves: `k (depart · offset)`. A path is
//! known again at the next sample by the faces it bounces off; one that begins or ends counts up to half way (in
//! time), as the samples' own shares of the lap do.

#[cfg(test)]
mod tests;

use std::f64::consts::PI;

use num_complex::Complex64;

use super::flight::Flight;
use super::hear::{Ear, Heard, Sent, Work};
use super::kit::{Kit, PictureKind};
use super::paths::{Carried, Geometry, Mixing, people_draws};
use super::place::{CROWD_DRAWS, Place};
use super::receiver::{aircraft_end, level, port_end};
use super::wander::Wander;
use super::wideband::channel_coherence;
use crate::plan::document::Switching;
use crate::rf::free_space::wavelength;
use crate::rf::{Vec3, phasor};
use crate::units::{Hertz, Metres, Seconds};

pub use super::outage::FIELD;

/// Instants per wavelength flown at which the paths are summed. Waves from all sides change an amplitude no faster than once
/// in a wavelength; between two instants stands a third that is read off the amplitudes around ([`super::flown`]). The power
/// ripples up to twice in a wavelength, and so has five instants on its fastest ripple: at 20 m/s and 5.8 GHz (387 Hz of
/// Doppler shift, mean fades of 0.3 ms at 10 dB) one every 0.26 ms.
const INSTANTS_PER_WAVELENGTH: f64 = 5.0;

/// Fewest instants per field at which paths are summed, for slow flight. A quarter of a field is then two of them, and two
/// between.
const INSTANTS_PER_FIELD: f64 = 8.0;

/// A picture that averages over its channel has no amplitude that could be read off between two instants: its paths are
/// summed at so many times as many.
const AVERAGED_INSTANTS: f64 = 1.75;

/// Most instants between two samples, whatever the speed and the carrier.
const MOST_INSTANTS: f64 = 512.0;

/// A sample of a lap as one entry hears it. Amplitudes are in units of the amplitude that just meets the threshold.
#[derive(Clone, Debug)]
pub struct Knot {
    /// Time since the lap's start.
    pub time: Seconds,
    /// Where, metres.
    pub place: Vec3,
    /// Velocity, m/s.
    pub velocity: Vec3,
    /// The paths.
    pub strands: Vec<Strand>,
    /// Amplitude of the scatter that nobody drew, per port.
    pub scatter: Vec<f64>,
    /// Amplitudes that people leave, draw after draw, each with one amplitude per path; empty when nobody is near.
    pub people: Vec<f64>,
}

/// A path at a sample.
#[derive(Clone, Debug)]
pub struct Strand {
    /// The numbers of the faces it bounces off, in order: what tells it from the others.
    pub faces: Vec<u16>,
    /// Unit direction in which it leaves the aircraft.
    pub depart: Vec3,
    /// Length, metres.
    pub length: f64,
    /// Amplitude per port without the phase `e^{-jkL}` of its length: receiving part after receiving part, each with two
    /// sending parts, whose phases against each other nobody knows (see [`super::end::FieldVectors`]). Parts that there are not
    /// are zero.
    pub amplitudes: Vec<[Complex64; 4]>,
}

/// What listens to the lap.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Listener {
    /// How ports are chosen.
    pub switching: Switching,
    /// The kind of picture.
    pub picture: PictureKind,
}

/// A lap ready to be flown.
#[derive(Clone, Debug)]
pub struct Track {
    pub(super) wavenumber: f64,
    pub(super) listener: Listener,
    pub(super) ports: usize,
    pub(super) duration: f64,
    pub(super) length: f64,
    pub(super) fields: usize,
    pub(super) knots: Vec<Knot>,
    /// From each sample to the next; the last leads back to the first.
    pub(super) reaches: Vec<Reach>,
    /// Length of every instant of the lap, those between included, seconds.
    pub(super) instants: Vec<f64>,
    /// Where each field's instants begin, and behind the last field their number.
    pub(super) field_starts: Vec<usize>,
    /// Draws of the crowd.
    pub(super) draws: usize,
    /// None when the line is flown exactly.
    pub(super) wander: Option<Wander>,
}

/// The way from a sample to the next.
#[derive(Clone, Debug)]
pub(super) struct Reach {
    /// Seconds.
    pub duration: f64,
    /// Instants on it, at least one.
    pub instants: usize,
    pub joints: Vec<Joint>,
    /// For a picture that averages over a channel: `1 - sinc(Bτ)` of every pair of joints, the scatter being the last of
    /// them; row after row, without the diagonal. Empty otherwise.
    pub apart: Vec<f64>,
}

/// A path on the way from a sample to the next: its numbers at both ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Joint {
    Through(usize, usize),
    Ends(usize),
    Begins(usize),
}

impl Track {
    /// A closed lap from its samples, of which there is at least one, in order of time.
    ///
    /// `duration` is the lap's, longer than the last sample's time; `length` the line's; `line_sigma` the standard
    /// deviation of the flown position per coordinate. All samples have the same number of ports, at least one.
    pub fn new(
        knots: Vec<Knot>,
        duration: Seconds,
        length: Metres,
        wavenumber: f64,
        line_sigma: Metres,
        listener: Listener,
    ) -> Self {
        let fields = (duration.0 / FIELD.0).round().max(1.0);
        let field = duration.0 / fields;
        let channel = match listener.picture {
            PictureKind::Analogue => None,
            PictureKind::Digital { bandwidth, .. } => Some(bandwidth),
        };
        let density = if channel.is_some() { AVERAGED_INSTANTS } else { 1.0 };
        let reaches: Vec<Reach> = (0..knots.len())
            .map(|index| {
                let (from, to) = (&knots[index], &knots[(index + 1) % knots.len()]);
                let ends = if index + 1 == knots.len() { duration.0 } else { to.time.0 };
                let time = (ends - from.time.0).max(0.0);
                let by_way = (to.place - from.place).norm() * wavenumber / (2.0 * PI) * INSTANTS_PER_WAVELENGTH;
                let by_time = time / field * INSTANTS_PER_FIELD;
                let joints = joints(&from.strands, &to.strands);
                Reach {
                    duration: time,
                    instants: (by_way.max(by_time) * density).ceil().clamp(1.0, MOST_INSTANTS) as usize,
                    apart: channel.map_or_else(Vec::new, |channel| apart(from, to, &joints, channel)),
                    joints,
                }
            })
            .collect();
        let (instants, field_starts) = lay_out(&knots, &reaches, fields as usize, field, channel.is_none());
        Self {
            instants,
            field_starts,
            wavenumber,
            listener,
            ports: knots.first().map_or(0, |knot| knot.scatter.len()),
            duration: duration.0,
            length: length.0,
            fields: fields as usize,
            reaches,
            draws: knots.iter().map(|knot| knot.people.len() / knot.strands.len().max(1)).max().unwrap_or(0).max(1),
            wander: (line_sigma.0 > 0.0).then(|| Wander::new(length, knots.len(), line_sigma)),
            knots,
        }
    }

    /// About how many bytes such a lap takes for a receiver of so many ports.
    pub fn bytes(carried: &[Carried], ports: usize) -> usize {
        let of = |carried: &Carried| {
            let strand = size_of::<Strand>() + 16 + ports * size_of::<[Complex64; 4]>();
            let people = if carried.people.is_empty() { 0 } else { CROWD_DRAWS * size_of::<f64>() };
            let pairs = carried.paths.len() * size_of::<f64>() / 2;
            carried.paths.len() * (strand + people + pairs)
        };
        carried.iter().map(of).sum()
    }

    /// The lap of an entry at a place. `carried` has at least one item per sample of the flight.
    pub fn of(
        (place, flight): (&Place, &Flight),
        geometry: &Geometry,
        carried: &[Carried],
        kit: &Kit,
        mixing: &Mixing,
    ) -> Self {
        let ports: Vec<_> = (0..kit.ports.len()).map(|port| port_end(kit, port)).collect();
        // From a ratio to the transmitter's power to one to the threshold, as an amplitude.
        let scales: Vec<f64> =
            (0..kit.ports.len()).map(|port| (level(kit, port, 1.0) - kit.threshold).amplitude()).collect();
        let (mut sent, mut work, mut heard) = (Sent::default(), Work::default(), Heard::default());
        let mut look = geometry.look(place, flight);
        let samples = flight.poses.iter().zip(carried).enumerate();
        let knots = samples.map(|(sample, (pose, instant))| {
            let paths = look.at(sample);
            let sender = aircraft_end(kit, &pose.attitude);
            sent.send(instant, (&sender, &pose.velocity), mixing);
            let faces = |traced: usize| {
                paths.get(traced).map_or_else(Vec::new, |path| path.bounces.iter().map(|bounce| bounce.face).collect())
            };
            let mut strands: Vec<Strand> = instant
                .paths
                .iter()
                .map(|path| Strand {
                    faces: faces(path.traced),
                    depart: path.depart,
                    length: path.length,
                    amplitudes: Vec::with_capacity(ports.len()),
                })
                .collect();
            let mut scatter = Vec::with_capacity(ports.len());
            for (port, scale) in ports.iter().zip(&scales) {
                sent.hear(instant, port, &Ear::PLAIN, &mut work, &mut heard);
                scatter.push(heard.diffuse.sqrt() * scale);
                for (strand, amplitudes) in strands.iter_mut().zip(&heard.amplitudes) {
                    let back = phasor(mixing.wavenumber * strand.length) * *scale;
                    strand.amplitudes.push(amplitudes.map(|amplitude| amplitude * back));
                }
            }
            let mut people = Vec::new();
            people_draws(place, paths, instant, wavelength(kit.frequency), &mut people);
            Knot {
                time: Seconds(flight.columns.time_s[sample]),
                place: flight.places[sample],
                velocity: flight.velocities[sample],
                strands,
                scatter,
                people,
            }
        });
        Self::new(
            knots.collect(),
            Seconds(flight.columns.duration_s),
            Metres(flight.columns.length_m),
            mixing.wavenumber,
            Metres(mixing.line_sigma),
            Listener { switching: kit.switching, picture: kit.picture },
        )
    }

    /// Number of fields of a lap. A field is [`FIELD`] long, or a hair more or less, so that whole fields fill the lap.
    pub fn fields(&self) -> usize {
        self.fields
    }

    /// Whether the picture averages over a channel.
    pub(super) fn averages(&self) -> bool {
        matches!(self.listener.picture, PictureKind::Digital { .. })
    }

    /// Length of a field.
    pub fn field(&self) -> Seconds {
        Seconds(self.duration / self.fields as f64)
    }

    /// Distance along the line at the middle of every field.
    pub fn field_distances(&self) -> Vec<f64> {
        let field = self.field().0;
        let step = self.length / self.knots.len().max(1) as f64;
        let mut sample = 0;
        (0..self.fields)
            .map(|index| {
                let time = (index as f64 + 0.5) * field;
                while sample + 1 < self.knots.len() && self.knots[sample + 1].time.0 <= time {
                    sample += 1;
                }
                let gone = (time - self.knots[sample].time.0) / self.reaches[sample].duration.max(1e-9);
                step * (sample as f64 + gone.clamp(0.0, 1.0))
            })
            .collect()
    }
}

/// The length of every instant, and where each field's instants begin: an instant belongs to the field in which its middle
/// lies. With `between`, one more stands after each, half way to the next, and both are half as long.
fn lay_out(knots: &[Knot], reaches: &[Reach], fields: usize, field: f64, between: bool) -> (Vec<f64>, Vec<usize>) {
    let all = knots.iter().zip(reaches).flat_map(|(knot, reach)| {
        let each = reach.duration / reach.instants as f64;
        (0..reach.instants).map(move |instant| (knot.time.0 + (instant as f64 + 0.5) * each, each))
    });
    let (mut instants, mut starts) = (Vec::new(), vec![0]);
    let mut add = |middle: f64, length: f64| {
        while starts.len() < fields && middle >= field * starts.len() as f64 {
            starts.push(instants.len());
        }
        instants.push(length);
    };
    let mut all = all.peekable();
    // After the last comes the first, of which only the length matters.
    let first = all.peek().map_or(0.0, |(_, each)| *each);
    while let Some((middle, each)) = all.next() {
        if !between {
            add(middle, each);
            continue;
        }
        let next = all.peek().map_or(first, |(_, each)| *each);
        add(middle, 0.5 * each);
        add(middle + 0.5 * each, 0.25 * (each + next));
    }
    starts.resize(fields + 1, instants.len());
    (instants, starts)
}

/// The paths of two samples paired by what they bounce off.
fn joints(from: &[Strand], to: &[Strand]) -> Vec<Joint> {
    let find = |strands: &[Strand], wanted: &Strand| strands.iter().position(|strand| strand.faces == wanted.faces);
    let leaving = from.iter().enumerate().map(|(index, strand)| match find(to, strand) {
        Some(next) => Joint::Through(index, next),
        None => Joint::Ends(index),
    });
    let coming = to.iter().enumerate().filter(|(_, strand)| find(from, strand).is_none());
    leaving.chain(coming.map(|(index, _)| Joint::Begins(index))).collect()
}

/// `1 - sinc(Bτ)` for every pair: what averaging over the channel takes of their interference. The scatter, last, is taken
/// to arrive together with the strongest path, which is the cautious side.
fn apart(from: &Knot, to: &Knot, joints: &[Joint], channel: Hertz) -> Vec<f64> {
    let ends = |joint: &Joint| match *joint {
        Joint::Through(one, two) => (&from.strands[one], &to.strands[two]),
        Joint::Ends(one) => (&from.strands[one], &from.strands[one]),
        Joint::Begins(two) => (&to.strands[two], &to.strands[two]),
    };
    let power = |joint: &Joint| -> f64 { ends(joint).0.amplitudes.iter().flatten().map(Complex64::norm_sqr).sum() };
    let mut lengths: Vec<f64> = joints.iter().map(ends).map(|(one, two)| 0.5 * (one.length + two.length)).collect();
    let strongest = (0..joints.len()).max_by(|&a, &b| power(&joints[a]).total_cmp(&power(&joints[b])));
    lengths.push(strongest.map_or(0.0, |strongest| lengths[strongest]));
    let mut apart = Vec::with_capacity(lengths.len() * joints.len() / 2);
    for (index, first) in lengths.iter().enumerate() {
        for second in &lengths[index + 1..] {
            apart.push(1.0 - channel_coherence(channel, Metres(first - second)));
        }
    }
    apart
}
