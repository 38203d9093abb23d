//! A lap of one entry with one choice of hands: columns, shares, reserve.

use super::flight::SamplePose;
use super::hear::Heard;
use super::kit::Kit;
use super::outage::Fading;
use super::paths::{Carried, Mixing};
use super::receiver::{Cases, Hearing, PortCase, ReceiverPorts, aircraft_end, level, port_outage};
use super::report::{HandCase, PadReport, PortColumns, Together, Verdict};
use super::verdict::{verdict, weighted_quantile};
use super::wideband::delay_spread;
use crate::plan::document::Plan;
use crate::units::Db;

/// With the direct path blocked by more than this, shadowing is that of no line of sight.
pub const BLOCKED: Db = Db(10.0);

/// Share of the lap's time with a lower margin than the one that a report names.
const LOW_MARGIN_SHARE: f64 = 0.01;

/// A lap between an aircraft and a receiver, before any antenna is chosen.
#[derive(Clone, Copy, Debug)]
pub struct CarriedLap<'a> {
    /// The paths of each sample.
    pub carried: &'a [Carried],
    /// How the aircraft lies at each sample.
    pub poses: &'a [SamplePose],
    /// How phases and scatter mix.
    pub mixing: &'a Mixing,
    /// Standard deviation of shadowing, in line of sight and with the direct path blocked.
    pub shadowing: (Db, Db),
}

/// A lap as one entry with one choice of hands hears it.
#[derive(Clone, Debug)]
pub struct HeardLap {
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

impl Goal {
    /// What a plan asks for.
    pub fn of(plan: &Plan) -> Self {
        Self { picture_share: plan.targets.picture_share, reserve: Db(plan.targets.wanted_reserve_db) }
    }

    /// The share of the lap that may pass without a picture.
    pub fn allowed_outage(&self) -> f64 {
        1.0 - self.picture_share
    }
}

/// Hears a whole lap.
pub fn hear_lap(lap: &CarriedLap<'_>, kit: &Kit, goal: &Goal) -> HeardLap {
    let receiver = ReceiverPorts::of(kit);
    let mut listening = Listening::new(&receiver, lap.carried.len());
    let mut hearing = Hearing::default();
    for (instant, pose) in lap.carried.iter().zip(lap.poses) {
        hearing.hear(&receiver, &aircraft_end(kit, &pose.attitude), instant, lap.mixing);
        listening.push(&hearing, instant, lap.shadowing);
    }
    listening.choose_ports();
    listening.judge(lap.poses, goal)
}

/// The same for a single pose, reported by its best port, each port heard by itself.
pub fn hear_pad(carried: &Carried, pose: &SamplePose, kit: &Kit, mixing: &Mixing) -> Option<PadReport> {
    let sender = aircraft_end(kit, &pose.attitude);
    let mut hearing = Hearing::default();
    (0..kit.ports.len())
        .map(|port| {
            let receiver = ReceiverPorts::of_port(kit, port);
            hearing.hear(&receiver, &sender, carried, mixing);
            let heard = &hearing.heard()[0];
            let margin = receiver.margin(port, heard);
            PadReport {
                level_dbm: level(kit, port, heard.mean).0,
                margin_db: margin.0,
                k_db: Db::from_ratio(heard.k).0,
                outage: port_outage(kit, port, heard),
            }
        })
        .max_by(|a, b| a.margin_db.total_cmp(&b.margin_db))
}

/// A lap while a receiver listens to it: columns being filled, and what fades at each sample until ports are chosen.
struct Listening<'a> {
    receiver: &'a ReceiverPorts<'a>,
    columns: Vec<PortColumns>,
    together: Together,
    /// The cases of every sample, sample after sample.
    cases: Vec<PortCase>,
    /// Their outages.
    outages: Vec<f64>,
    /// Where each sample's cases end.
    ends: Vec<usize>,
}

impl<'a> Listening<'a> {
    fn new(receiver: &'a ReceiverPorts<'a>, samples: usize) -> Self {
        let column = || Vec::with_capacity(samples);
        let columns = (0..receiver.ports())
            .map(|_| PortColumns {
                level_dbm: column(),
                margin_db: column(),
                k_db: column(),
                outage: column(),
                delay_spread_ns: column(),
            })
            .collect();
        let together = Together { port: Vec::with_capacity(samples), outage: column(), sigma_db: column() };
        let room = samples * receiver.ports();
        let (cases, outages, ends) = (Vec::with_capacity(room), column(), Vec::with_capacity(samples));
        Self { receiver, columns, together, cases, outages, ends }
    }

    /// Takes what is heard at the next sample down.
    fn push(&mut self, hearing: &Hearing, carried: &Carried, shadowing: (Db, Db)) {
        let start = self.cases.len();
        hearing.push_cases(self.receiver, &mut self.cases);
        self.outages.extend(self.cases[start..].iter().map(PortCase::outage));
        self.ends.push(self.cases.len());
        let count = Cases::new(&self.cases[start..], self.receiver.ports()).count();
        for (port, heard) in hearing.heard().iter().enumerate() {
            let first = start + port * count;
            let outage = self.outages[first..first + count].iter().sum::<f64>() / count.max(1) as f64;
            self.push_port(port, heard, carried, outage);
        }
        let blocked = carried
            .paths
            .first()
            .is_some_and(|direct| direct.obstruction * carried.people_factor(0) < (-BLOCKED).ratio());
        self.together.sigma_db.push(if blocked { shadowing.1.0 } else { shadowing.0.0 });
    }

    fn push_port(&mut self, port: usize, heard: &Heard, carried: &Carried, outage: f64) {
        let columns = &mut self.columns[port];
        columns.level_dbm.push(level(self.receiver.kit(), port, heard.mean).0);
        columns.margin_db.push(self.receiver.margin(port, heard).0);
        columns.k_db.push(Db::from_ratio(heard.k).0);
        columns.outage.push(outage);
        columns.delay_spread_ns.push(delay_spread(&carried.paths, &heard.paths).0 * 1e9);
    }

    /// The port in use: the better local mean, held until another is better by the hysteresis. The lap is closed, so
    /// that it starts with the port that it ends with.
    fn choose_ports(&mut self) {
        let samples = self.ends.len();
        let best = |sample: usize| {
            (0..self.columns.len())
                .max_by(|&a, &b| self.margin(a, sample).total_cmp(&self.margin(b, sample)).then(b.cmp(&a)))
                .unwrap_or(0)
        };
        let hysteresis = self.receiver.hysteresis().0;
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

    /// The cases of a sample and their outages.
    fn at(&self, sample: usize) -> (Cases<'_>, &[f64]) {
        let start = if sample == 0 { 0 } else { self.ends[sample - 1] };
        let range = start..self.ends[sample];
        (Cases::new(&self.cases[range.clone()], self.receiver.ports()), &self.outages[range])
    }

    /// Judges the lap with the ports chosen.
    fn judge(mut self, poses: &[SamplePose], goal: &Goal) -> HeardLap {
        let kit = self.receiver.kit();
        let to_good = kit.good_threshold - kit.threshold;
        let (mut fading, mut good) = (self.receiver.fading(), self.receiver.fading());
        let (mut lost, mut margins) = (0.0, Vec::with_capacity(poses.len()));
        for (sample, pose) in poses.iter().enumerate() {
            let usual = usize::from(self.together.port[sample]);
            let (cases, outages) = self.at(sample);
            let fadings = &mut [(&mut fading, Db(0.0)), (&mut good, to_good)];
            self.receiver.fade(&cases, usual, pose.weight, fadings);
            let outage = if self.receiver.is_fast() {
                fading.outage(sample, Db(0.0))
            } else {
                // The same by what is known already of each case at each port.
                let listened = |case| cases.position(self.receiver.port_in_case(&cases, case, usual), case);
                (0..cases.count()).map(|case| outages[listened(case)] / cases.count() as f64).sum()
            };
            margins.push(self.margin(usual, sample));
            self.together.outage.push(outage);
            lost += pose.weight * outage;
        }
        let weights: Vec<f64> = poses.iter().map(|pose| pose.weight).collect();
        let reserve = fading.reserve_from(goal.picture_share, lost);
        HeardLap {
            picture_share: 1.0 - lost.clamp(0.0, 1.0),
            good_share: 1.0 - good.lost_share(Db(0.0)),
            reserve,
            verdict: verdict(reserve, goal.reserve),
            margin_p1: Db(weighted_quantile(&margins, &weights, LOW_MARGIN_SHARE)),
            ports: self.columns,
            together: self.together,
            fading,
        }
    }
}

impl HeardLap {
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
