//! A lap of one entry with one choice of hands: columns, shares, reserve.

use super::flight::SamplePose;
use super::hear::Heard;
use super::kit::Kit;
use super::outage::{FIELD, Fading, Limit};
use super::paths::{Carried, Mixing};
use super::receiver::{Hearing, ReceiverPorts, aircraft_end, level};
use super::report::{HandCase, PadReport, PortColumns, Together, Verdict};
use super::verdict::{verdict, weighted_quantile};
use super::wideband::delay_spread;
use crate::plan::document::Plan;
use crate::units::{Db, Seconds};

/// With the direct path blocked by more than this, shadowing is that of no line of sight.
pub const BLOCKED: Db = Db(10.0);

/// Share of the lap's time with a lower margin than the one that a report names.
const LOW_MARGIN_SHARE: f64 = 0.01;

/// The share of a good picture is read from every so many samples.
const GOOD_STRIDE: usize = 6;

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
    /// How long it takes.
    pub duration: Seconds,
}

/// A lap as one entry with one choice of hands hears it.
#[derive(Clone, Debug)]
pub struct HeardLap {
    /// Per port.
    pub ports: Vec<PortColumns>,
    /// Together.
    pub together: Together,
    /// Share of fields that each sample loses with every level lowered, or raised, to where the target is just met.
    pub lost_at_limit: Vec<f64>,
    /// Share of its fields with a picture.
    pub picture_share: f64,
    /// Share of its fields with a good picture.
    pub good_share: f64,
    /// Share of its time with the level under the threshold.
    pub under_share: f64,
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
    /// Wanted share of fields with a picture, in (0, 1).
    pub picture_share: f64,
    /// Wanted reserve.
    pub reserve: Db,
}

impl Goal {
    /// What a plan asks for.
    pub fn of(plan: &Plan) -> Self {
        Self { picture_share: plan.targets.picture_share, reserve: Db(plan.targets.wanted_reserve_db) }
    }

    /// The share of fields that may be without a picture.
    pub fn allowed_loss(&self) -> f64 {
        1.0 - self.picture_share
    }
}

/// Hears a whole lap.
pub fn hear_lap(lap: &CarriedLap<'_>, kit: &Kit, goal: &Goal) -> HeardLap {
    let receiver = ReceiverPorts::of(kit);
    let mut listening = Listening::new(&receiver, lap);
    let mut hearing = Hearing::default();
    for (instant, pose) in lap.carried.iter().zip(lap.poses) {
        let sender = aircraft_end(kit, &pose.attitude);
        hearing.hear(&receiver, (&sender, &pose.velocity), instant, lap.mixing);
        listening.push(&hearing, instant, pose.weight);
    }
    listening.judge(lap.poses, goal)
}

/// The same for a single pose, reported by its best port, each port heard by itself.
pub fn hear_pad(carried: &Carried, pose: &SamplePose, kit: &Kit, mixing: &Mixing) -> Option<PadReport> {
    let sender = aircraft_end(kit, &pose.attitude);
    let mut hearing = Hearing::default();
    (0..kit.ports.len())
        .map(|port| {
            let receiver = ReceiverPorts::of_port(kit, port);
            hearing.hear(&receiver, (&sender, &pose.velocity), carried, mixing);
            let mut fading = receiver.fading(FIELD);
            hearing.push_sample(&receiver, &carried.crowd, 1.0, &mut fading);
            let heard = &hearing.heard()[0];
            let margin = receiver.margin(port, heard);
            PadReport {
                level_dbm: level(kit, port, heard.mean).0,
                margin_db: margin.0,
                k_db: Db::from_ratio(heard.k).0,
                outage: fading.loss_of_ports(0, &mut Vec::new()).under,
            }
        })
        .max_by(|a, b| a.margin_db.total_cmp(&b.margin_db))
}

/// A lap while a receiver listens to it: columns being filled, and what fades at each sample.
struct Listening<'a> {
    receiver: &'a ReceiverPorts<'a>,
    shadowing: (Db, Db),
    columns: Vec<PortColumns>,
    together: Together,
    fading: Fading,
    /// Share of time in which each port alone is under the threshold at a sample.
    under: Vec<f64>,
}

impl<'a> Listening<'a> {
    fn new(receiver: &'a ReceiverPorts<'a>, lap: &CarriedLap<'_>) -> Self {
        let column = || Vec::with_capacity(lap.carried.len());
        let columns = (0..receiver.ports())
            .map(|_| PortColumns {
                level_dbm: column(),
                margin_db: column(),
                k_db: column(),
                outage: column(),
                delay_spread_ns: column(),
            })
            .collect();
        let together = Together {
            port: Vec::with_capacity(lap.carried.len()),
            outage: column(),
            lost: column(),
            sigma_db: column(),
        };
        Self {
            receiver,
            shadowing: lap.shadowing,
            columns,
            together,
            fading: receiver.fading(lap.duration),
            under: Vec::new(),
        }
    }

    /// Takes what is heard at the next sample down.
    fn push(&mut self, hearing: &Hearing, carried: &Carried, weight: f64) {
        let sample = self.fading.len();
        hearing.push_sample(self.receiver, &carried.crowd, weight, &mut self.fading);
        let loss = self.fading.loss_of_ports(sample, &mut self.under);
        for (port, heard) in hearing.heard().iter().enumerate() {
            self.push_port(port, heard, carried);
        }
        self.together.port.push(u8::try_from(hearing.best_port(self.receiver).0).unwrap_or(u8::MAX));
        self.together.outage.push(loss.under);
        self.together.lost.push(loss.lost);
        let blocked = carried
            .paths
            .first()
            .is_some_and(|direct| direct.obstruction * carried.people_factor(0) < (-BLOCKED).ratio());
        self.together.sigma_db.push(if blocked { self.shadowing.1.0 } else { self.shadowing.0.0 });
    }

    fn push_port(&mut self, port: usize, heard: &Heard, carried: &Carried) {
        let columns = &mut self.columns[port];
        columns.level_dbm.push(level(self.receiver.kit(), port, heard.mean).0);
        columns.margin_db.push(self.receiver.margin(port, heard).0);
        columns.k_db.push(Db::from_ratio(heard.k).0);
        columns.outage.push(self.under[port]);
        columns.delay_spread_ns.push(delay_spread(&carried.paths, &heard.paths).0 * 1e9);
    }

    /// Judges the lap.
    fn judge(self, poses: &[SamplePose], goal: &Goal) -> HeardLap {
        let kit = self.receiver.kit();
        let margin = |(sample, &port): (usize, &u8)| self.columns[usize::from(port)].margin_db[sample];
        let margins: Vec<f64> = self.together.port.iter().enumerate().map(margin).collect();
        let weights: Vec<f64> = poses.iter().map(|pose| pose.weight).collect();
        let lost = if self.fading.freezes() {
            self.fading.lost_share(Db(0.0))
        } else {
            self.together.lost.iter().zip(&weights).map(|(lost, weight)| lost * weight).sum()
        };
        let Limit { reserve, lost: lost_at_limit } = self.fading.limit(goal.picture_share, Some(lost));
        let to_good = kit.good_threshold - kit.threshold;
        // Weights sum to one but for their last digit, and a share is none below zero.
        let rest = |lost: f64| (1.0 - lost).clamp(0.0, 1.0);
        let picture_share = rest(lost);
        // A picture that is good until it is lost has no second threshold.
        let good_share = if to_good.0 > 0.0 {
            rest(self.fading.lost_share_by(GOOD_STRIDE, to_good)).min(picture_share)
        } else {
            picture_share
        };
        HeardLap {
            picture_share,
            good_share,
            under_share: self.together.outage.iter().zip(&weights).map(|(under, weight)| under * weight).sum(),
            reserve,
            verdict: verdict(reserve, goal.reserve),
            margin_p1: Db(weighted_quantile(&margins, &weights, LOW_MARGIN_SHARE)),
            ports: self.columns,
            together: self.together,
            lost_at_limit,
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
