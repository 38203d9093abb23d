//! What an evaluation says: verdicts, summaries, and a column of numbers per port and quantity.
//!
//! Columns are time-ordered over the lap's samples and all of the lap's length. Infinities never reach JSON: a column
//! value that would be infinite is clamped where it is made ([`FLOOR_DBM`], [`K_RANGE`]).

use serde::{Deserialize, Serialize};

use super::effort::Effort;
use super::finding::{SafetyFinding, SharedChannel};
use crate::rf::polarization::Hand;

/// Levels are never reported below this: far under any receiver's noise, and finite.
pub const FLOOR_DBM: f64 = -250.0;
/// K-factors are held within this range of power ratios, ±60 dB.
pub const K_RANGE: (f64, f64) = (1e-6, 1e6);

/// Everything an evaluation of a plan says. Verdicts are for each entry alone in the air.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Report {
    /// The lap that all entries fly.
    pub lap: LapColumns,
    /// The most bounces of a path that was followed.
    pub bounces: u8,
    /// One report per entry that could be judged, in the plan's order.
    pub entries: Vec<EntryReport>,
    /// Where the flown line comes too near to people and things, the worst first.
    pub safety: Vec<SafetyFinding>,
    /// What kept the rest from being judged, and what a person should know about the plan as a whole.
    pub notices: Vec<Notice>,
}

impl Report {
    /// Nothing judged yet, at this effort.
    pub fn empty(effort: Effort) -> Self {
        Self {
            lap: LapColumns::default(),
            bounces: effort.bounces.most_bounces(),
            entries: Vec::new(),
            safety: Vec::new(),
            notices: Vec::new(),
        }
    }
}

/// A sentence about a part of the plan.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Notice {
    /// Path of the part in the plan, for example `entries[2].radios[0]`.
    pub path: String,
    /// The sentence.
    pub text: String,
    /// Whether it keeps something from being judged.
    pub blocks: bool,
}

/// The lap in columns.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct LapColumns {
    /// Time since the first gate.
    pub time_s: Vec<f64>,
    /// Time that a sample stands for; the column sums to the lap's duration.
    pub weight_s: Vec<f64>,
    /// Distance along the line since the first gate.
    pub distance_m: Vec<f64>,
    /// East.
    pub x_m: Vec<f64>,
    /// North.
    pub y_m: Vec<f64>,
    /// Above ground.
    pub height_m: Vec<f64>,
    /// Speed.
    pub speed_m_per_s: Vec<f64>,
    /// Bank: the angle of the thrust axis from the vertical.
    pub tilt_deg: Vec<f64>,
    /// Distance of each gate along the line.
    pub gate_distance_m: Vec<f64>,
    /// Length of the lap.
    pub length_m: f64,
    /// Time of the lap.
    pub duration_s: f64,
}

/// The judgement of one entry.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// The picture does not hold.
    Short,
    /// It holds with less reserve than wanted.
    Thin,
    /// It holds with the wanted reserve.
    Clear,
}

impl Verdict {
    /// The verdict in a word.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Clear => "clear",
            Verdict::Thin => "thin",
            Verdict::Short => "short",
        }
    }
}

/// Why the worst place is the worst: the one stage whose removal gains most.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Cause {
    /// The hands do not match.
    CrossHand,
    /// The transmitting antenna sends little that way.
    PatternNull,
    /// The receiving antenna does not look that way.
    OffAim,
    /// The pilot's own head is in between.
    OwnHead,
    /// The aircraft's own frame is in between.
    OwnFrame,
    /// Something stands in between.
    ObstructedBy {
        /// The obstacle's id.
        obstacle: String,
    },
    /// People stand in between.
    People,
    /// It is far.
    Range,
    /// Bounces and scatter make the level rise and fall.
    Scatter,
}

/// What one entry can expect on its lap, alone in the air.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct EntryReport {
    /// Index of the entry in the plan.
    pub index: usize,
    /// Id of the entry.
    pub id: String,
    /// Name of the entry.
    pub name: String,
    /// Id of its receiver.
    pub receiver: String,
    /// The verdict.
    pub verdict: Verdict,
    /// Expected share of fields that are neither lost nor frozen, 0 to 1.
    pub picture_share: f64,
    /// Expected share of the lap's time with the level under the threshold, 0 to 1; shown beside, never the verdict.
    pub under_share: f64,
    /// The picture share at the higher carrier-to-noise ratio of a good picture; shown beside, never the verdict.
    pub good_share: f64,
    /// The largest drop of every level that still meets the target; negative if levels must rise.
    pub reserve_db: f64,
    /// Probability that the reserve survives shadowing, unknown kit and the tolerances of stated kit: Φ(reserve / sigma).
    pub confidence: f64,
    /// Standard deviation of the band: shadowing, unknown kit and the tolerances of stated kit together.
    pub sigma_db: f64,
    /// 1st percentile over the lap's time of the margin of the port in use.
    pub margin_p1_db: f64,
    /// Why the worst place is the worst.
    pub cause: Cause,
    /// What its removal would gain there.
    pub cause_gain_db: f64,
    /// The worst stretch.
    pub worst: Stretch,
    /// Carrier frequency.
    pub frequency_hz: f64,
    /// Conducted power at the transmitter's connector.
    pub power_dbm: f64,
    /// Peak gain of the transmitting antenna, both polarizations together.
    pub peak_gain_dbi: f64,
    /// Radiated power: conducted power less feed loss plus peak total gain.
    pub eirp_dbm: f64,
    /// Level below which a line or frame is lost.
    pub threshold_dbm: f64,
    /// Level of a good picture.
    pub good_threshold_dbm: f64,
    /// One column set per port.
    pub ports: Vec<PortColumns>,
    /// What the receiver makes of its ports together.
    pub together: Together,
    /// The same on the start pad.
    pub pad: PadReport,
    /// The hands that were judged; more than one when a hand is unknown. The worst is the one reported.
    pub hand_cases: Vec<HandCase>,
    /// Other entries whose channels meet this one's.
    pub same_channel: Vec<SharedChannel>,
    /// Caveats: unknown kit and its typical values, values outside a model's range.
    pub caveats: Vec<String>,
}

/// A stretch of the lap.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Stretch {
    /// Where it starts along the line.
    pub start_m: f64,
    /// How long it is.
    pub length_m: f64,
    /// Index of the gate before its middle.
    pub after_gate: usize,
    /// Index of the gate after its middle.
    pub before_gate: usize,
    /// Sample that loses most in it.
    pub worst_sample: usize,
    /// Mean share of its fields that are lost.
    pub lost: f64,
}

/// A port's lap.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct PortColumns {
    /// Local mean level.
    pub level_dbm: Vec<f64>,
    /// Level less threshold.
    pub margin_db: Vec<f64>,
    /// What does not fade over the rest of the mean power.
    pub k_db: Vec<f64>,
    /// Probability that fading takes the level under the threshold.
    pub outage: Vec<f64>,
    /// Root-mean-square spread of the traced paths' delays, weighted by power; the scatter that no one drew is left out.
    pub delay_spread_ns: Vec<f64>,
}

/// What a receiver makes of its ports.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Together {
    /// Port in use.
    pub port: Vec<u8>,
    /// Probability that the level at what it listens to is under the threshold.
    pub outage: Vec<f64>,
    /// Probability that a field is lost: under the threshold for more than a quarter of it.
    pub lost: Vec<f64>,
    /// Standard deviation of shadowing at the sample (more where the direct path is blocked).
    pub sigma_db: Vec<f64>,
}

/// The start pad.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PadReport {
    /// Level of the best port.
    pub level_dbm: f64,
    /// Its margin.
    pub margin_db: f64,
    /// Its K-factor.
    pub k_db: f64,
    /// Outage there.
    pub outage: f64,
}

/// A judged combination of hands.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HandCase {
    /// Hand of the transmitting antenna; `None` when it is linear.
    pub transmitter: Option<Hand>,
    /// Hand of the ports whose hand was unknown (or of all, when none was); `None` when they are linear.
    pub ports: Option<Hand>,
    /// Verdict with these hands.
    pub verdict: Verdict,
    /// Reserve with these hands.
    pub reserve_db: f64,
    /// Picture share with these hands.
    pub picture_share: f64,
}

/// One instant of one port, explained.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Explanation {
    /// Index of the entry in the plan.
    pub entry: usize,
    /// Port.
    pub port: usize,
    /// Sample of the lap.
    pub sample: usize,
    /// The ladder from transmitter to margin; the gains sum to the margin.
    pub budget: Vec<BudgetLine>,
    /// Local mean level.
    pub level_dbm: f64,
    /// Level less threshold.
    pub margin_db: f64,
    /// K-factor.
    pub k_db: f64,
    /// Outage of this port.
    pub outage: f64,
    /// How often the level falls under the threshold, per second: Rice's formula for even scatter (a direct path with
    /// Doppler of its own raises it 1.2 to 2 times). For explanation; no verdict stands on it.
    pub fades_per_s: f64,
    /// How long it stays there on average.
    pub fade_length_s: f64,
    /// Least and most of the direct path's polarization efficiency over the unknown tilts, in dB; `None` when both tilts
    /// are known.
    pub tilt_spread_db: Option<(f64, f64)>,
    /// The paths, strongest first.
    pub paths: Vec<PathView>,
    /// The ways of bouncing that gave no path.
    pub pruned: PrunedWays,
}

/// Ways of bouncing that were tried at an instant and gave no path, by reason.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct PrunedWays {
    /// The two surfaces cannot hand a wave on to the receiver, wherever the aircraft is.
    pub out_of_sight: u32,
    /// An end or the other bounce is behind a surface.
    pub behind: u32,
    /// The mirror point lies beside a surface.
    pub beside: u32,
    /// Another wing of the building that the wave bounces off stands in the way.
    pub own_walls: u32,
    /// What arrives is too weak to matter beside the scatter of the surroundings.
    pub faint: u32,
}

/// One stage of the budget.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BudgetLine {
    /// Which stage.
    pub term: Term,
    /// The level after the stage less the level before; the first is the power itself, the last minus the threshold.
    pub gain_db: f64,
    /// In plain words, with the numbers that made it.
    pub reason: String,
}

/// The stages of the ladder, in order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Term {
    /// Conducted power at the connector.
    Power,
    /// Feed line of the transmitter.
    TransmitFeed,
    /// Transmitting antenna's total gain in that direction.
    TransmitAntenna,
    /// The aircraft's own frame.
    OwnFrame,
    /// Free-space basic transmission loss of the direct path.
    FreeSpace,
    /// What stands in the direct path, people apart.
    Obstruction,
    /// People in the way.
    People,
    /// Polarization efficiency of the direct path.
    Polarization,
    /// Receiving antenna's total gain in that direction.
    ReceiveAntenna,
    /// The wearer's own head.
    OwnHead,
    /// Feed line of the receiver.
    ReceiveFeed,
    /// What bounces and scatter add to or take from the direct path.
    OtherPaths,
    /// Distance of the level from the threshold: minus the threshold.
    Threshold,
}

impl Term {
    /// The stage in plain words.
    pub fn name(self) -> &'static str {
        match self {
            Term::Power => "Power at the transmitter's connector",
            Term::TransmitFeed => "Feed line on the aircraft",
            Term::TransmitAntenna => "Antenna on the aircraft",
            Term::OwnFrame => "The aircraft's own frame",
            Term::FreeSpace => "Distance through free space",
            Term::Obstruction => "Obstacles in the direct path",
            Term::People => "People in the direct path",
            Term::Polarization => "Match of the polarizations",
            Term::ReceiveAntenna => "Antenna of the receiver",
            Term::OwnHead => "The wearer's own head",
            Term::ReceiveFeed => "Feed line of the receiver",
            Term::OtherPaths => "Bounces and scatter",
            Term::Threshold => "Level that the picture needs",
        }
    }
}

/// A path at an instant.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PathView {
    /// What it bounced off, in words; empty for the direct path.
    pub via: Vec<String>,
    /// Corner points from transmitter to receiver, `[x, y, z]` in metres.
    pub points_m: Vec<[f64; 3]>,
    /// Length.
    pub length_m: f64,
    /// Level that this path alone brings to the receiver.
    pub level_dbm: f64,
    /// Loss by obstructions on it, people included.
    pub obstruction_db: f64,
    /// Least Fresnel clearance on it, in radii of the first zone; negative when blocked, `None` when nothing is near.
    pub clearance: Option<f64>,
    /// What obstructs it most, by name.
    pub obstructed_by: Option<String>,
    /// Hand on arrival; `None` when linear.
    pub hand: Option<Hand>,
    /// Axial ratio on arrival, at most [`AXIAL_RATIO_CAP_DB`].
    pub axial_ratio_db: f64,
}

/// An axial ratio of a linear wave is infinite; reports stop here.
pub const AXIAL_RATIO_CAP_DB: f64 = 60.0;

/// How an entry would do with each hand of its transmitting antenna.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HandComparison {
    /// Index of the entry in the plan.
    pub entry: usize,
    /// Right hand, left hand, linear.
    pub rows: Vec<HandComparisonRow>,
}

/// One row of the comparison.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HandComparisonRow {
    /// Hand of the transmitting antenna; `None` for linear.
    pub hand: Option<Hand>,
    /// Verdict.
    pub verdict: Verdict,
    /// Picture share.
    pub picture_share: f64,
    /// Reserve.
    pub reserve_db: f64,
    /// 1st percentile of margin.
    pub margin_p1_db: f64,
    /// Outage of the receiver over the lap's samples.
    pub outage: Vec<f64>,
}

impl Notice {
    /// Something that keeps a part of the plan from being judged.
    pub fn blocking(path: impl Into<String>, text: impl Into<String>) -> Self {
        Self { path: path.into(), text: text.into(), blocks: true }
    }

    /// Something to know.
    pub fn remark(path: impl Into<String>, text: impl Into<String>) -> Self {
        Self { path: path.into(), text: text.into(), blocks: false }
    }
}
