//! Why the worst place is the worst: the one stage whose removal gains most.

use super::hear::Heard;
use super::outage::fade_margin;
use super::paths::Mixing;
use super::report::Cause;
use super::stages::{Stages, gain_after_fading};
use crate::units::Db;

/// A gain below this is no cause: what remains is the distance.
pub const LEAST_GAIN: Db = Db(1.0);

/// A stage that takes less than this power ratio (0.004 dB) is not asked what it costs.
const NO_GAIN: f64 = 1.001;

/// One instant of the worst stretch, as the port in use hears it.
pub struct Witness {
    /// The ladder.
    pub stages: Stages,
    /// What is heard.
    pub heard: Heard,
    /// Peak total gain of the transmitting antenna, as a ratio.
    pub transmit_peak: f64,
    /// Peak total gain of the receiving antenna, as a ratio.
    pub receive_peak: f64,
    /// Whether the receiving antenna has a direction in which it looks.
    pub receiver_aims: bool,
    /// Free-space power gain at the lap's median distance.
    pub median_free_space: f64,
    /// Id of the obstacle that takes most, if one does.
    pub obstacle: Option<String>,
}

/// The candidates, apart from which obstacle it is.
#[derive(Clone, Copy, PartialEq)]
enum Stage {
    CrossHand,
    PatternNull,
    OffAim,
    OwnHead,
    OwnFrame,
    Obstruction,
    People,
    Range,
    Scatter,
}

const STAGES: [Stage; 9] = [
    Stage::CrossHand,
    Stage::PatternNull,
    Stage::OffAim,
    Stage::OwnHead,
    Stage::OwnFrame,
    Stage::Obstruction,
    Stage::People,
    Stage::Range,
    Stage::Scatter,
];

/// The cause of a stretch and the mean gain of margin after fading if it were removed.
///
/// `allowed` is the outage the target allows. Range is measured against the lap's own median distance: a course that is
/// too large everywhere has no worst place because of it. Scatter is measured against the surroundings' own K-factor.
pub fn cause(witnesses: &[Witness], mixing: &Mixing, allowed: f64) -> (Cause, Db) {
    let margins: Vec<Db> = witnesses.iter().map(|witness| fade_margin(witness.heard.k, allowed)).collect();
    let usual = fade_margin(mixing.surroundings_k, allowed);
    let mean_gain = |stage: Stage| {
        let sum: f64 = witnesses
            .iter()
            .zip(&margins)
            .map(|(witness, &now)| witness.gain_without(stage, allowed, now, usual).0)
            .sum();
        Db(sum / witnesses.len().max(1) as f64)
    };
    let mut best = (Stage::Range, Db(f64::NEG_INFINITY));
    for stage in STAGES {
        let gain = mean_gain(stage);
        if gain > best.1 {
            best = (stage, gain);
        }
    }
    if best.1 < LEAST_GAIN {
        let range = mean_gain(Stage::Range);
        return (Cause::Range, if range.0 > 0.0 { range } else { Db(0.0) });
    }
    let cause = match best.0 {
        Stage::CrossHand => Cause::CrossHand,
        Stage::PatternNull => Cause::PatternNull,
        Stage::OffAim => Cause::OffAim,
        Stage::OwnHead => Cause::OwnHead,
        Stage::OwnFrame => Cause::OwnFrame,
        Stage::Obstruction => {
            worst_obstacle(witnesses).map_or(Cause::Range, |obstacle| Cause::ObstructedBy { obstacle })
        }
        Stage::People => Cause::People,
        Stage::Range => Cause::Range,
        Stage::Scatter => Cause::Scatter,
    };
    (cause, best.1)
}

/// The obstacle that takes most at most of the instants, weighted by what obstacles take there.
fn worst_obstacle(witnesses: &[Witness]) -> Option<String> {
    let mut taken: Vec<(&str, f64)> = Vec::new();
    for witness in witnesses {
        if let Some(obstacle) = &witness.obstacle {
            let loss = -Db::from_ratio(witness.stages.obstruction).0;
            match taken.iter_mut().find(|(id, _)| id == obstacle) {
                Some((_, sum)) => *sum += loss,
                None => taken.push((obstacle, loss)),
            }
        }
    }
    taken.into_iter().max_by(|a, b| a.1.total_cmp(&b.1)).map(|(id, _)| id.to_owned())
}

impl Witness {
    /// Gain of margin after fading without a stage. `now` is the fade margin at this instant, `usual` that of the
    /// surroundings' own K-factor.
    fn gain_without(&self, stage: Stage, allowed: f64, now: Db, usual: Db) -> Db {
        let stages = &self.stages;
        let stronger = match stage {
            Stage::CrossHand => 1.0 / stages.polarization,
            Stage::PatternNull => self.transmit_peak / stages.transmit_antenna,
            Stage::OffAim if self.receiver_aims => self.receive_peak / stages.receive_antenna,
            Stage::OffAim => 1.0,
            Stage::OwnHead => 1.0 / stages.own_head,
            Stage::OwnFrame => 1.0 / stages.own_frame,
            Stage::Obstruction => 1.0 / stages.obstruction,
            Stage::People => 1.0 / stages.people,
            Stage::Range => self.median_free_space / stages.free_space,
            Stage::Scatter => return if now > usual { now - usual } else { Db(0.0) },
        };
        if stronger > NO_GAIN { gain_after_fading(&self.heard, stronger, allowed, now) } else { Db(0.0) }
    }
}
