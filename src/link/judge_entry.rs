//! One entry judged: every choice of hands heard, the worst reported, its worst stretch explained.

use super::carry::{self, Geometry};
use super::cause::{Witness, cause};
use super::evaluator::Place;
use super::explain::Moment;
use super::flight::Flight;
use super::hear::{Carried, Mixing};
use super::judge::{Run, confidence, order, worst_run};
use super::kit::{self, Kit};
use super::lap::{Goal, Heardlap, hear_lap, hear_pad};
use super::report::{Cause, EntryReport, Notice, Stretch};
use super::stages::Stages;
use crate::plan::document::Plan;
use crate::units::{Db, Metres};

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

/// Judges entry `index` of the plan. `carried` has one item per sample and the start pad's behind them.
///
/// # Errors
/// A blocking notice when the kit cannot be built.
#[allow(
    clippy::too_many_arguments,
    reason = "each is a stage's result, and a struct of them would only rename the list"
)]
pub fn judge(
    plan: &Plan,
    index: usize,
    flight: &Flight,
    place: &Place,
    geometry: &Geometry,
    carried: &[Carried],
    mixing: &Mixing,
    goal: &Goal,
) -> Result<Judged, Notice> {
    let (shadowing, poses) = (kit::shadowing(plan), &flight.poses);
    let Some((pad, lap)) = carried.split_last() else {
        return Err(Notice::blocking("course", "the lap has no samples"));
    };
    let mut cases: Vec<(Kit, Heardlap)> = kit::hand_choices(plan, index)?
        .into_iter()
        .map(|hands| {
            let kit = kit::kit(plan, index, hands)?;
            let heard = hear_lap(lap, poses, &kit, mixing, shadowing, goal);
            Ok((kit, heard))
        })
        .collect::<Result<_, Notice>>()?;
    let hand_cases = cases.iter().map(|(kit, heard)| heard.hand_case(kit)).collect();
    let worst_case = (0..cases.len())
        .min_by(|&a, &b| cases[a].1.reserve.0.total_cmp(&cases[b].1.reserve.0))
        .ok_or_else(|| Notice::blocking(format!("entries[{index}]"), "no choice of hands is possible"))?;
    let (kit, heard) = cases.swap_remove(worst_case);

    let run = worst_stretch(&heard, flight);
    let witnesses = witnesses(&run, &kit, &heard, lap, flight, place, geometry, mixing);
    let (cause, cause_gain) = if witnesses.is_empty() {
        (Cause::Range, Db(0.0))
    } else {
        cause(&witnesses, mixing, 1.0 - goal.picture_share)
    };
    let sigma_there =
        run.samples(lap.len()).map(|sample| heard.together.sigma_db[sample]).sum::<f64>() / run.count.max(1) as f64;
    let sigma_all = Db((sigma_there * sigma_there + kit.kit_variance_db2()).sqrt());
    let pad_report = hear_pad(pad, &flight.pad_pose, &kit, &Mixing { line_sigma: PAD_SIGMA.0, ..*mixing })
        .ok_or_else(|| Notice::blocking(format!("entries[{index}]"), "the receiver has no port"))?;
    let report = EntryReport {
        index,
        id: String::new(),
        name: String::new(),
        receiver: String::new(),
        verdict: heard.verdict,
        picture_share: heard.picture_share,
        good_share: heard.good_share,
        reserve_db: heard.reserve.0,
        confidence: confidence(heard.reserve, sigma_all),
        sigma_db: sigma_all.0,
        margin_p1_db: heard.margin_p1.0,
        cause,
        cause_gain_db: cause_gain.0,
        worst: stretch(&run, &heard, flight),
        frequency_hz: kit.frequency.0,
        eirp_dbm: kit.eirp().0,
        threshold_dbm: kit.threshold.0,
        good_threshold_dbm: kit.good_threshold.0,
        ports: heard.ports,
        together: heard.together,
        pad: pad_report,
        hand_cases,
        caveats: kit.remarks(),
    };
    Ok(Judged { kit, report })
}

/// Where the lap would fail first: the outages with every level lowered (or raised) to where the target is just met.
fn worst_stretch(heard: &Heardlap, flight: &Flight) -> Run {
    let at_the_limit: Vec<f64> =
        (0..heard.fading.len()).map(|sample| heard.fading.outage(sample, heard.reserve)).collect();
    let step = flight.columns.length_m / at_the_limit.len().max(1) as f64;
    let bridge = (BRIDGE.0 / step.max(1e-6)).ceil() as usize;
    worst_run(&at_the_limit, bridge).unwrap_or(Run { first: 0, count: 0, worst: 0 })
}

fn stretch(run: &Run, heard: &Heardlap, flight: &Flight) -> Stretch {
    let columns = &flight.columns;
    let samples = columns.distance_m.len().max(1);
    let step = columns.length_m / samples as f64;
    let middle = (columns.distance_m[run.first] + step * run.count as f64 / 2.0) % columns.length_m;
    let gates = &columns.gate_distance_m;
    let after_gate = gates.iter().rposition(|&distance| distance <= middle).unwrap_or(gates.len().saturating_sub(1));
    let outage: f64 = run.samples(samples).map(|sample| heard.together.outage[sample]).sum();
    Stretch {
        start_m: columns.distance_m[run.first],
        length_m: step * run.count as f64,
        after_gate,
        before_gate: (after_gate + 1) % gates.len().max(1),
        worst_sample: run.worst,
        outage: outage / run.count.max(1) as f64,
    }
}

#[allow(clippy::too_many_arguments, reason = "see `judge`")]
fn witnesses(
    run: &Run,
    kit: &Kit,
    heard: &Heardlap,
    lap: &[Carried],
    flight: &Flight,
    place: &Place,
    geometry: &Geometry,
    mixing: &Mixing,
) -> Vec<Witness> {
    let tuned = place.scene.tuned(kit.frequency).ok();
    let median_free_space = median(lap.iter().map(|carried| carried.free_space));
    let samples: Vec<usize> = run.samples(lap.len()).collect();
    let stride = samples.len().div_ceil(WITNESSES).max(1);
    samples
        .iter()
        .step_by(stride)
        .filter_map(|&sample| {
            let port = usize::from(heard.together.port[sample]);
            let instant = Moment { carried: &lap[sample], pose: &flight.poses[sample], kit, mixing };
            let heardport = instant.hear(port);
            let stages = Stages::of(instant.carried, &heardport.sender, &heardport.port, &heardport.heard)?;
            let obstacle = tuned
                .as_ref()
                .and_then(|tuned| carry::most_in_the_way(tuned, &geometry.paths[sample]))
                .and_then(|obstacle| place.ids.get(usize::from(obstacle)).cloned());
            Some(Witness {
                stages,
                heard: heardport.heard,
                transmit_peak: kit.transmitter.peak_gain().ratio(),
                receive_peak: kit.ports[port].antenna.peak_gain().ratio(),
                receiver_aims: kit.ports[port].aims,
                median_free_space,
                obstacle,
            })
        })
        .collect()
}

fn median(values: impl Iterator<Item = f64>) -> f64 {
    let values: Vec<f64> = values.collect();
    order(&values).get(values.len() / 2).map_or(0.0, |&middle| values[middle])
}
