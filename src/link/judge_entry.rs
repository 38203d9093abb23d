//! One entry judged: every choice of hands heard, the worst reported, its worst stretch explained.

use super::cause::{Witness, cause};
use super::explain::Moment;
use super::flight::Flight;
use super::kit::{self, Kit};
use super::lap::{CarriedLap, Goal, HeardLap, hear_lap, hear_pad};
use super::paths::{Carried, Geometry, Mixing};
use super::place::Place;
use super::report::{Cause, EntryReport, Notice, PadReport, Stretch};
use super::stage::Weighed;
use super::stages::Stages;
use super::verdict::{Run, confidence, order, worst_run};
use crate::plan::document::Plan;
use crate::units::{Db, Metres, Seconds};

/// Standard deviation of the position on the start pad: an aircraft on its feet.
pub const PAD_SIGMA: Metres = Metres(0.02);

/// An outage this short does not end a weak stretch: fades come and go within half a metre.
const BRIDGE: Metres = Metres(0.5);

/// Instants of the worst stretch that are taken apart to find its cause.
const WITNESSES: usize = 12;

/// An entry's report with the kit (the hands) it was made with.
#[derive(Clone, Debug)]
pub struct Judged {
    /// The kit whose hands gave the worst reserve.
    pub kit: Kit,
    /// The report.
    pub report: EntryReport,
}

impl Weighed for Result<Judged, Notice> {
    fn bytes(&self) -> usize {
        // Five columns of a port, three and a number of a receiver.
        self.as_ref().map_or(0, |judged| judged.report.together.lost.len() * (25 + 40 * judged.report.ports.len()))
    }
}

/// What is known of an entry before any antenna of its is chosen: the results of the stages that come first.
#[derive(Clone, Copy)]
pub struct Prepared<'a> {
    /// The lap that all entries fly.
    pub flight: &'a Flight,
    /// The site.
    pub place: &'a Place,
    /// The traced paths to the entry's seat.
    pub geometry: &'a Geometry,
    /// The same at its carrier: one item per sample, and the start pad's behind them.
    pub carried: &'a [Carried],
    /// How phases and scatter mix there.
    pub mixing: &'a Mixing,
}

impl<'a> Prepared<'a> {
    /// One sample, heard with a kit.
    pub fn moment(&self, sample: usize, kit: &'a Kit) -> Moment<'a> {
        Moment { carried: &self.carried[sample], pose: &self.flight.poses[sample], kit, mixing: self.mixing }
    }

    /// The paths of the lap, and those of the start pad.
    fn lap_and_pad(&self) -> Result<(&'a [Carried], &'a Carried), Notice> {
        let (pad, lap) =
            self.carried.split_last().ok_or_else(|| Notice::blocking("course", "the lap has no samples"))?;
        Ok((lap, pad))
    }
}

/// Judges entry `index` of the plan. Who the entry is and who shares its channel, whoever keeps the report fills in.
///
/// # Errors
/// A blocking notice when the kit cannot be built.
pub fn judge(plan: &Plan, index: usize, prepared: &Prepared<'_>) -> Result<Judged, Notice> {
    let (lap, pad) = prepared.lap_and_pad()?;
    let (goal, flight) = (Goal::of(plan), prepared.flight);
    let lap = CarriedLap {
        carried: lap,
        poses: &flight.poses,
        mixing: prepared.mixing,
        shadowing: kit::shadowing(plan),
        duration: Seconds(flight.columns.duration_s),
    };
    let cases = hear_all_hands(plan, index, &lap, &goal)?;
    let hand_cases = cases.iter().map(|(kit, heard)| heard.hand_case(kit)).collect();
    let worst = cases.into_iter().min_by(|(_, one), (_, two)| one.reserve.0.total_cmp(&two.reserve.0));
    let (kit, heard) =
        worst.ok_or_else(|| Notice::blocking(format!("entries[{index}]"), "no choice of hands is possible"))?;

    let run = worst_stretch(&heard, flight);
    let (cause, cause_gain) = cause_of(&run, &kit, &heard, prepared, &goal);
    let sigma = sigma_there(&run, &kit, &heard);
    let report = EntryReport {
        index,
        id: String::new(),
        name: String::new(),
        receiver: String::new(),
        verdict: heard.verdict,
        picture_share: heard.picture_share,
        under_share: heard.under_share,
        good_share: heard.good_share,
        reserve_db: heard.reserve.0,
        confidence: confidence(heard.reserve, sigma),
        sigma_db: sigma.0,
        margin_p1_db: heard.margin_p1.0,
        cause,
        cause_gain_db: cause_gain.0,
        worst: stretch(&run, &heard, flight),
        frequency_hz: kit.frequency.0,
        power_dbm: kit.power.0,
        peak_gain_dbi: kit.transmitter.peak_gain().0,
        eirp_dbm: kit.eirp().0,
        threshold_dbm: kit.threshold.0,
        good_threshold_dbm: kit.good_threshold.0,
        pad: pad_report(pad, &kit, prepared)
            .ok_or_else(|| Notice::blocking(format!("entries[{index}]"), "the receiver has no port"))?,
        ports: heard.ports,
        together: heard.together,
        hand_cases,
        same_channel: Vec::new(),
        caveats: kit.remarks(),
    };
    Ok(Judged { kit, report })
}

/// The lap with every choice of hands that the plan leaves open.
fn hear_all_hands(
    plan: &Plan,
    index: usize,
    lap: &CarriedLap<'_>,
    goal: &Goal,
) -> Result<Vec<(Kit, HeardLap)>, Notice> {
    let hear = |hands| {
        let kit = kit::kit(plan, index, hands)?;
        let heard = hear_lap(lap, &kit, goal);
        Ok((kit, heard))
    };
    kit::hand_choices(plan, index)?.into_iter().map(hear).collect()
}

/// Standard deviation of the levels in a run: shadowing there, unknown kit and tolerances of stated kit.
fn sigma_there(run: &Run, kit: &Kit, heard: &HeardLap) -> Db {
    let sigmas = &heard.together.sigma_db;
    let shadowing = run.samples(sigmas.len()).map(|sample| sigmas[sample]).sum::<f64>() / run.count.max(1) as f64;
    Db((shadowing * shadowing + kit.kit_variance_db2()).sqrt())
}

fn pad_report(pad: &Carried, kit: &Kit, prepared: &Prepared<'_>) -> Option<PadReport> {
    hear_pad(pad, &prepared.flight.pad_pose, kit, &Mixing { line_sigma: PAD_SIGMA.0, ..*prepared.mixing })
}

/// Where the lap would fail first: the lost fields with every level lowered (or raised) to where the target is just met.
fn worst_stretch(heard: &HeardLap, flight: &Flight) -> Run {
    let step = flight.columns.length_m / heard.lost_at_limit.len().max(1) as f64;
    let bridge = (BRIDGE.0 / step.max(1e-6)).ceil() as usize;
    worst_run(&heard.lost_at_limit, bridge).unwrap_or(Run { first: 0, count: 0, worst: 0 })
}

fn stretch(run: &Run, heard: &HeardLap, flight: &Flight) -> Stretch {
    let columns = &flight.columns;
    let samples = columns.distance_m.len().max(1);
    let step = columns.length_m / samples as f64;
    let middle = (columns.distance_m[run.first] + step * run.count as f64 / 2.0) % columns.length_m;
    let gates = &columns.gate_distance_m;
    let after_gate = gates.iter().rposition(|&distance| distance <= middle).unwrap_or(gates.len().saturating_sub(1));
    let lost: f64 = run.samples(samples).map(|sample| heard.together.lost[sample]).sum();
    Stretch {
        start_m: columns.distance_m[run.first],
        length_m: step * run.count as f64,
        after_gate,
        before_gate: (after_gate + 1) % gates.len().max(1),
        worst_sample: run.worst,
        lost: lost / run.count.max(1) as f64,
    }
}

/// Why the worst stretch is the worst, and what its removal gains.
fn cause_of(run: &Run, kit: &Kit, heard: &HeardLap, prepared: &Prepared<'_>, goal: &Goal) -> (Cause, Db) {
    let witnesses = witnesses(run, kit, heard, prepared);
    if witnesses.is_empty() {
        return (Cause::Range, Db(0.0));
    }
    cause(&witnesses, prepared.mixing, goal.allowed_loss())
}

fn witnesses(run: &Run, kit: &Kit, heard: &HeardLap, prepared: &Prepared<'_>) -> Vec<Witness> {
    let place = prepared.place;
    let lap = &prepared.carried[..heard.together.port.len()];
    let tuned = place.scene.tuned(kit.frequency).ok();
    let mut look = prepared.geometry.look(place, prepared.flight);
    let median_free_space = median(lap.iter().map(|carried| carried.free_space));
    let samples: Vec<usize> = run.samples(lap.len()).collect();
    let stride = samples.len().div_ceil(WITNESSES).max(1);
    let mut witness = |&sample: &usize| {
        let port = usize::from(heard.together.port[sample]);
        let instant = prepared.moment(sample, kit);
        let heard_port = instant.hear(port);
        let stages = Stages::of(instant.carried, &heard_port.sender, &heard_port.port, &heard_port.heard)?;
        let obstacle = tuned.as_ref().and_then(|tuned| place.most_in_the_way(tuned, look.at(sample)));
        Some(Witness {
            stages,
            heard: heard_port.heard,
            transmit_peak: kit.transmitter.peak_gain().ratio(),
            receive_peak: kit.ports[port].antenna.peak_gain().ratio(),
            receiver_aims: kit.ports[port].aims,
            median_free_space,
            obstacle,
        })
    };
    samples.iter().step_by(stride).filter_map(&mut witness).collect()
}

fn median(values: impl Iterator<Item = f64>) -> f64 {
    let values: Vec<f64> = values.collect();
    order(&values).get(values.len() / 2).map_or(0.0, |&middle| values[middle])
}
