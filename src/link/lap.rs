//! A lap of one entry with one choice of hands: columns, shares, reserve.

use nalgebra::Rotation3;

use super::end::{End, FrameShade, HeadShade, Shade};
use super::fast;
use super::hear::{Carried, Case, Ear, Heard, Mixing, Sent, Work};
use super::judge::{Fading, verdict, weighted_quantile};
use super::kit::{Kit, PictureKind};
use super::report::{FLOOR_DBM, HandCase, PadReport, PortColumns, Together, Verdict};
use super::wideband::delay_spread;
use crate::plan::document::Switching;
use crate::rf::Vec3;
use crate::rf::fading::rice_outage;
use crate::units::{Db, Dbm, Hertz};

/// A receiver that listens to the better port changes over when the other is better by this much. Common practice, no
/// source. (It decides every 20 ms, about a sample of the lap.)
pub const SWITCHING_HYSTERESIS: Db = Db(2.0);

/// With the direct path blocked by more than this, shadowing is that of no line of sight.
pub const BLOCKED: Db = Db(10.0);

/// A place of the aircraft: what of it matters to the radio.
#[derive(Clone, Debug)]
pub struct Pose {
    /// From the aircraft's body to the world.
    pub attitude: Rotation3<f64>,
    /// Share of the lap's time, 0 to 1.
    pub weight: f64,
}

/// A lap as one entry with one choice of hands hears it.
#[derive(Clone, Debug)]
pub struct Heardlap {
    /// Per port.
    pub ports: Vec<PortColumns>,
    /// Together.
    pub together: Together,
    /// What fades, for further questions.
    pub fading: Fading,
    /// Share of the lap with a picture.
    pub picture_share: f64,
    /// Share with a good picture.
    pub good_share: f64,
    /// Reserve.
    pub reserve: Db,
    /// Verdict.
    pub verdict: Verdict,
    /// 1st percentile of the margin of the port in use.
    pub margin_p1: Db,
}

/// What the judgement is measured by.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Goal {
    /// Wanted share of the lap with a picture, in (0, 1).
    pub picture_share: f64,
    /// Wanted reserve.
    pub reserve: Db,
}

/// The transmitting end on an aircraft in a pose.
pub fn aircraft_end<'a>(kit: &'a Kit, attitude: &Rotation3<f64>) -> End<'a> {
    let to_world = attitude * kit.mounting;
    let axis = -(to_world * Vec3::z());
    let shade =
        if kit.frame_loss.0 > 0.0 { Shade::Frame(FrameShade { axis, loss: kit.frame_loss }) } else { Shade::Free };
    End { antenna: &kit.transmitter, to_world, shade }
}

/// The receiving end of a port.
pub fn port_end(kit: &Kit, port: usize) -> End<'_> {
    let port = &kit.ports[port];
    let shade = kit.worn_facing.map_or(Shade::Free, |facing| Shade::Head(HeadShade { facing }));
    End { antenna: &port.antenna, to_world: port.to_world, shade }
}

/// Level at a port's receiver for a power ratio at its antenna.
pub fn level(kit: &Kit, port: usize, mean: f64) -> Dbm {
    let level = kit.power - kit.transmit_feed_loss + Db::from_ratio(mean) - kit.ports[port].feed_loss;
    Dbm(level.0.max(FLOOR_DBM))
}

/// Hears a whole lap. `carried` and `poses` have one item per sample; `shadowing` is the standard deviation in line of
/// sight and with the direct path blocked.
pub fn hear_lap(
    carried: &[Carried],
    poses: &[Pose],
    kit: &Kit,
    mixing: &Mixing,
    shadowing: (Db, Db),
    goal: &Goal,
) -> Heardlap {
    let ports = kit.ports.len();
    let mut listening = Listening::new(kit, carried.len());
    let ends: Vec<_> = (0..ports).map(|port| (ear(kit, port), port_end(kit, port))).collect();
    let mut heard = vec![Heard::default(); ports];
    let (mut sent, mut work) = (Sent::default(), Work::default());
    let fast = kit.switching == Switching::Fast && ports > 1;
    // What a fast receiver needs to know of the cases, in the same order, and that of one of them.
    let (mut held, mut branches): (Vec<Case>, Vec<Case>) = (Vec::new(), Vec::new());
    let blocked_below = (-BLOCKED).ratio();
    // Cases of one port after the other, sample after sample, their outages, and where those of each port of each sample
    // begin.
    let (mut cases, mut outages) = (Vec::with_capacity(carried.len() * ports), Vec::new());
    let mut starts = Vec::with_capacity(carried.len() * ports + 1);
    for (instant, pose) in carried.iter().zip(poses) {
        let sender = aircraft_end(kit, &pose.attitude);
        sent.send(instant, &sender, mixing);
        sent.hear_all(instant, &ends, &mut work, &mut heard);
        for (port, heard) in heard.iter().enumerate() {
            let start = cases.len();
            starts.push(start);
            push_fading_cases(kit, port, heard, &mut cases);
            if fast {
                held.extend_from_slice(&heard.cases);
            }
            outages.extend(cases[start..].iter().map(|&(k, margin)| rice_outage(k, margin)));
            listening.push(port, kit, instant, heard, &outages[start..]);
        }
        let blocked =
            instant.paths.first().is_some_and(|direct| direct.obstruction * instant.people_factor(0) < blocked_below);
        listening.together.sigma_db.push(if blocked { shadowing.1.0 } else { shadowing.0.0 });
    }
    starts.push(cases.len());
    listening.choose_ports(kit);

    let mut fading = Fading::with_branches(if fast { ports } else { 1 });
    let mut good = Fading::with_branches(if fast { ports } else { 1 });
    let to_good = kit.good_threshold - kit.threshold;
    let mut lost = 0.0;
    for (sample, (starts, pose)) in starts.windows(ports + 1).step_by(ports.max(1)).zip(poses).enumerate() {
        let chosen = usize::from(listening.together.port[sample]);
        let count = starts[chosen + 1] - starts[chosen];
        let mut outage = 0.0;
        for case in 0..count {
            if fast {
                branches.clear();
                branches.extend((0..ports).map(|port| held[starts[port] + case]));
                let both = &mut [(&mut fading, Db(0.0)), (&mut good, to_good)];
                fast::push_case(both, kit, &branches, 1.0 / count as f64);
            } else {
                let port = port_in_case(ports, chosen, |port| cases[starts[port] + case].1);
                let (k, margin): (f64, Db) = cases[starts[port] + case];
                fading.push_term(k, margin);
                good.push_term(k, margin - to_good);
                outage += outages[starts[port] + case] / count as f64;
            }
        }
        fading.end_sample(pose.weight);
        good.end_sample(pose.weight);
        if fast {
            outage = fading.outage(sample, Db(0.0));
        }
        listening.together.outage.push(outage);
        lost += pose.weight * outage;
    }
    let margins: Vec<f64> = (0..carried.len())
        .map(|sample| listening.columns[usize::from(listening.together.port[sample])].margin_db[sample])
        .collect();
    let weights: Vec<f64> = poses.iter().map(|pose| pose.weight).collect();
    let reserve = fading.reserve_from(goal.picture_share, lost);
    Heardlap {
        picture_share: 1.0 - lost.clamp(0.0, 1.0),
        good_share: 1.0 - good.lost_share(Db(0.0)),
        reserve,
        verdict: verdict(reserve, goal.reserve),
        margin_p1: Db(weighted_quantile(&margins, &weights, 0.01)),
        ports: listening.columns,
        together: listening.together,
        fading,
    }
}

/// The same for a single pose, reported by its best port.
pub fn hear_pad(carried: &Carried, pose: &Pose, kit: &Kit, mixing: &Mixing) -> Option<PadReport> {
    let sender = aircraft_end(kit, &pose.attitude);
    let (mut sent, mut work, mut heard) = (Sent::default(), Work::default(), Heard::default());
    sent.send(carried, &sender, mixing);
    let mut cases = Vec::new();
    (0..kit.ports.len())
        .map(|port| {
            let end = [(ear(kit, port), port_end(kit, port))];
            sent.hear_all(carried, &end, &mut work, std::slice::from_mut(&mut heard));
            fading_cases(kit, port, &heard, &mut cases);
            let level = level(kit, port, heard.mean);
            PadReport {
                level_dbm: level.0,
                margin_db: (level - kit.threshold).0,
                k_db: Db::from_ratio(heard.k).0,
                outage: mean_outage(&cases),
            }
        })
        .max_by(|a, b| a.margin_db.total_cmp(&b.margin_db))
}

/// How a port of a kit listens.
pub fn ear(kit: &Kit, port: usize) -> Ear {
    let channel = match kit.picture {
        PictureKind::Analogue => Hertz(0.0),
        PictureKind::Digital { bandwidth, .. } => bandwidth,
    };
    Ear { channel, port }
}

/// K and margin of every case of a port at an instant, as the kind of picture sees them.
pub fn fading_cases(kit: &Kit, port: usize, heard: &Heard, cases: &mut Vec<(f64, Db)>) {
    cases.clear();
    push_fading_cases(kit, port, heard, cases);
}

/// The port that a slow receiver listens to in one case, given the one that it listens to on the whole: it hears the local
/// mean, people and tilts included, and changes over as [`SWITCHING_HYSTERESIS`] says. `margin` is that of a port.
pub fn port_in_case(ports: usize, usual: usize, margin: impl Fn(usize) -> Db) -> usize {
    let best = (0..ports).max_by(|&a, &b| margin(a).0.total_cmp(&margin(b).0)).unwrap_or(usual);
    if margin(best) > margin(usual) + SWITCHING_HYSTERESIS { best } else { usual }
}

fn push_fading_cases(kit: &Kit, port: usize, heard: &Heard, cases: &mut Vec<(f64, Db)>) {
    cases.extend(heard.cases.iter().map(|case| (case.k, level(kit, port, case.mean) - kit.threshold)));
}

/// Mean outage of the cases.
pub fn mean_outage(cases: &[(f64, Db)]) -> f64 {
    cases.iter().map(|&(k, margin)| rice_outage(k, margin)).sum::<f64>() / cases.len().max(1) as f64
}

/// Columns being filled.
struct Listening {
    columns: Vec<PortColumns>,
    together: Together,
}

impl Listening {
    fn new(kit: &Kit, samples: usize) -> Self {
        let column = || Vec::with_capacity(samples);
        let columns = kit
            .ports
            .iter()
            .map(|_| PortColumns {
                level_dbm: column(),
                margin_db: column(),
                k_db: column(),
                outage: column(),
                delay_spread_ns: column(),
            })
            .collect();
        Self { columns, together: Together { port: Vec::with_capacity(samples), outage: column(), sigma_db: column() } }
    }

    fn push(&mut self, port: usize, kit: &Kit, carried: &Carried, heard: &Heard, outages: &[f64]) {
        let level = level(kit, port, heard.mean);
        let columns = &mut self.columns[port];
        columns.level_dbm.push(level.0);
        columns.margin_db.push((level - kit.threshold).0);
        columns.k_db.push(Db::from_ratio(heard.k).0);
        columns.outage.push(outages.iter().sum::<f64>() / outages.len().max(1) as f64);
        columns.delay_spread_ns.push(delay_spread(&carried.paths, &heard.paths).0 * 1e9);
    }

    /// The port in use: the better local mean, held until another is better by the hysteresis. The lap is closed, so
    /// that it starts with the port that it ends with.
    fn choose_ports(&mut self, kit: &Kit) {
        let samples = self.columns.first().map_or(0, |column| column.level_dbm.len());
        let best = |sample: usize| {
            (0..self.columns.len())
                .max_by(|&a, &b| self.margin(a, sample).total_cmp(&self.margin(b, sample)).then(b.cmp(&a)))
                .unwrap_or(0)
        };
        let hysteresis = if kit.switching == Switching::Fast { 0.0 } else { SWITCHING_HYSTERESIS.0 };
        let mut chosen = Vec::with_capacity(samples);
        let mut port = if samples > 0 { best(0) } else { 0 };
        for round in 0..2 {
            for sample in 0..samples {
                let better = best(sample);
                if self.margin(better, sample) > self.margin(port, sample) + hysteresis {
                    port = better;
                }
                if round == 1 {
                    chosen.push(u8::try_from(port).unwrap_or(u8::MAX));
                }
            }
        }
        self.together.port = chosen;
    }

    fn margin(&self, port: usize, sample: usize) -> f64 {
        self.columns[port].margin_db[sample]
    }
}

impl Heardlap {
    /// The summary of this choice of hands.
    pub fn hand_case(&self, kit: &Kit) -> HandCase {
        HandCase {
            transmitter: kit.transmitter.hand(),
            ports: kit.judged_port_hand(),
            verdict: self.verdict,
            reserve_db: self.reserve.0,
            picture_share: self.picture_share,
        }
    }
}
