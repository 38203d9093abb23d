//! The plan document: what a person edits, as plain data.
//!
//! Lengths are metres, angles degrees, headings clockwise from north; `x_m` runs east and `y_m` north from the south-west
//! corner of the site, heights count from the ground. An absent or `null` kit value means "I don't know": a stated
//! typical value stands in for it ([`crate::plan::presets`]) and widens the band. Enums are externally tagged, so that
//! an error inside one still has its whole path.

use serde::{Deserialize, Serialize};

use crate::rf::fading::Surroundings;
use crate::rf::feed::FeedLine;
use crate::rf::material::Material;
use crate::rf::polarization::Hand;

/// The value of `format` in every plan.
pub const FORMAT: &str = "lapmargin-plan";
/// The newest version this build reads.
pub const VERSION: u32 = 3;
/// The version of a plan without anything that came later.
pub const FIRST_VERSION: u32 = 1;
/// The version that brought measured tables of antennas ([`AntennaKit::table`]).
pub const VERSION_WITH_TABLES: u32 = 2;
/// The version that brought measured powers and gains ([`Radio::power_is_measured`], [`AntennaKit::gain_is_measured`]) and a
/// distance to keep of the plan's own ([`Rules::keep_away_m`]), frames of gates and barriers.
pub const VERSION_WITH_FRAMES_AND_TOLERANCES: u32 = 3;

/// Whether a mark that is left out of a stored plan is not set.
fn is_not(mark: &bool) -> bool {
    !mark
}

/// The whole plan: a site, a course through it, and who flies with what.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Plan {
    /// Always [`FORMAT`].
    pub format: String,
    /// The lowest that holds what the plan uses ([`Plan::lowest_version`]), so that older builds read what they can.
    pub version: u32,
    /// The name people know the plan by.
    pub name: String,
    /// Free text.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// The place.
    pub site: SitePlan,
    /// The course through it.
    pub course: CoursePlan,
    /// Where people or receivers sit.
    pub seats: Vec<Seat>,
    /// What receives.
    pub receivers: Vec<Receiver>,
    /// Who flies.
    pub entries: Vec<Entry>,
    /// What the person must not exceed.
    pub rules: Rules,
    /// What counts as good enough.
    pub targets: Targets,
    /// Seed of every random draw (where the people of a crowd stand).
    pub seed: u32,
}

/// The place around the course.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SitePlan {
    /// Extent to the east.
    pub width_m: f64,
    /// Extent to the north.
    pub depth_m: f64,
    /// What the ground is made of.
    pub ground: Material,
    /// Root-mean-square roughness of the ground.
    pub roughness_m: f64,
    /// The class of the surroundings: how much scatter that no one drew.
    pub surroundings: Surroundings,
    /// Scatter: the K-factor, if the class's mean is not to be used.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub k_db: Option<f64>,
    /// Scatter: the cross-polarization ratio, if the class's mean is not to be used.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub xpr_db: Option<f64>,
    /// Shadowing: standard deviation, if the class's is not to be used.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shadowing_db: Option<f64>,
    /// Whether canopies are wet.
    #[serde(default)]
    pub wet: bool,
    /// Walls, buildings, stalls, trees and crowd.
    pub obstacles: Vec<Obstacle>,
}

/// Something that stands on the site.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Obstacle {
    /// Short stable id, unique in the plan's obstacles.
    pub id: String,
    /// Name shown to people.
    pub name: String,
    /// What it is.
    pub shape: ObstacleShape,
}

/// The kinds of obstacle and their measures.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
pub enum ObstacleShape {
    /// A free-standing straight wall, fence or board.
    Wall(WallShape),
    /// A building with a flat roof; reflects from its outer walls.
    Building(BlockShape),
    /// A market stall or van: like a building, usually thin-walled.
    Stall(BlockShape),
    /// A fabric roof on posts; open below.
    Canopy(CanopyShape),
    /// A tree's crown.
    Tree(TreeShape),
    /// An area with standing people.
    Crowd(CrowdShape),
    /// A barrier of steel bars, as it holds back spectators.
    Barrier(BarrierShape),
}

/// A straight vertical face.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WallShape {
    /// One end.
    pub from_m: [f64; 2],
    /// The other end.
    pub to_m: [f64; 2],
    /// Height of the top.
    pub height_m: f64,
    /// Thickness.
    pub thickness_m: f64,
    /// Material.
    pub material: Material,
}

/// A block: a rectangle in plan, turned about its centre.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BlockShape {
    /// Centre in plan.
    pub centre_m: [f64; 2],
    /// Sides before turning: along east, along north.
    pub size_m: [f64; 2],
    /// Turn about the centre, clockwise.
    pub turn_deg: f64,
    /// Height of the top.
    pub height_m: f64,
    /// Thickness of its outer walls.
    pub thickness_m: f64,
    /// Material of its outer walls.
    pub material: Material,
}

/// A fabric roof.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CanopyShape {
    /// Centre in plan.
    pub centre_m: [f64; 2],
    /// Sides before turning: along east, along north.
    pub size_m: [f64; 2],
    /// Turn about the centre, clockwise.
    pub turn_deg: f64,
    /// Height of the lower edge of the fabric.
    pub base_m: f64,
    /// Height of the top.
    pub height_m: f64,
}

/// A tree's crown as an upright cylinder.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TreeShape {
    /// Trunk in plan.
    pub centre_m: [f64; 2],
    /// Radius of the crown.
    pub radius_m: f64,
    /// Height where the crown begins.
    pub base_m: f64,
    /// Height of the top.
    pub height_m: f64,
    /// Specific attenuation of the crown.
    pub loss_db_per_m: f64,
}

/// An area with standing people, as a rectangle.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CrowdShape {
    /// Centre in plan.
    pub centre_m: [f64; 2],
    /// Sides before turning: along east, along north.
    pub size_m: [f64; 2],
    /// Turn about the centre, clockwise.
    pub turn_deg: f64,
    /// Height of the heads.
    pub head_height_m: f64,
    /// People per square metre.
    pub density_per_m2: f64,
}

/// A straight barrier of upright bars.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BarrierShape {
    /// One end.
    pub from_m: [f64; 2],
    /// The other end.
    pub to_m: [f64; 2],
    /// Height of the top.
    pub height_m: f64,
    /// Share of its area that bars cover.
    pub covered_share: f64,
}

/// The course: gates in order, and how it is flown.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CoursePlan {
    /// Gates in the order they are flown; the line closes from the last to the first.
    pub gates: Vec<Gate>,
    /// How fast.
    pub pace: PacePlan,
    /// Quadratic drag of the aircraft: deceleration over the square of the speed.
    pub drag_per_m: f64,
    /// Distance between samples along the line.
    pub step_m: f64,
    /// How exactly the line is flown: standard deviation of the position.
    pub line_sigma_m: f64,
    /// Where the aircraft stand before the start.
    pub pad: Pad,
}

/// A gate.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Gate {
    /// Short stable id.
    pub id: String,
    /// Name shown to people.
    pub name: String,
    /// Centre, east.
    pub x_m: f64,
    /// Centre, north.
    pub y_m: f64,
    /// Centre above ground.
    pub height_m: f64,
    /// Direction in which it is flown.
    pub heading_deg: f64,
    /// Its frame, if that is of metal; none for fabric, foam or plastic, which waves hardly notice.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub frame: Option<GateFrame>,
}

/// The metal frame of a gate: two uprights on the ground and a bar across them, about an opening whose middle is the gate's.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GateFrame {
    /// Clear width and height of the opening.
    pub opening_m: [f64; 2],
    /// Width of the tubes.
    pub tube_m: f64,
}

/// How fast the course is flown.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
pub enum PacePlan {
    /// By the time a lap takes.
    LapTime {
        /// The lap time.
        lap_time_s: f64,
    },
    /// By what the aircraft and its pilot can do.
    Limits {
        /// Top speed.
        top_speed_m_per_s: f64,
        /// Sideways acceleration.
        sideways_m_per_s2: f64,
        /// Acceleration and braking along the line.
        forward_m_per_s2: f64,
    },
}

/// The start pad.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pad {
    /// East.
    pub x_m: f64,
    /// North.
    pub y_m: f64,
    /// Height of the aircraft's antenna above ground.
    pub height_m: f64,
    /// Where the noses point.
    pub heading_deg: f64,
}

/// A place to sit or to put a receiver.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Seat {
    /// Short stable id.
    pub id: String,
    /// Name shown to people.
    pub name: String,
    /// East.
    pub x_m: f64,
    /// North.
    pub y_m: f64,
    /// Height of the receiving antennas above ground.
    pub height_m: f64,
    /// Where the person or the box looks.
    pub facing_deg: f64,
}

/// Goggles, a ground box or a screen.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Receiver {
    /// Short stable id.
    pub id: String,
    /// Name shown to people.
    pub name: String,
    /// Id of the seat it is at.
    pub seat: String,
    /// Worn on a head, or standing free.
    pub place: Placement,
    /// Its inputs, one or more.
    pub ports: Vec<Port>,
    /// How it chooses between ports.
    #[serde(default)]
    pub switching: Switching,
    /// The kind of picture.
    pub picture: Picture,
    /// How sensitive it is.
    pub noise: ReceiverNoise,
}

/// Worn on a head, or standing free.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Placement {
    /// On a pilot's head: the head shadows what comes from behind.
    Worn,
    /// On a stand, a table or a mast.
    Standing,
}

/// How a receiver with several ports chooses between them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Switching {
    /// Listens to the port with the better local mean.
    #[default]
    Slow,
    /// Switches within a line, below one millisecond.
    Fast,
}

/// One input of a receiver.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Port {
    /// Its antenna.
    pub antenna: AntennaKit,
    /// The feed line between antenna and input.
    pub feed: Feed,
    /// Turn of the antenna away from the seat's facing, clockwise.
    pub aim_off_deg: f64,
    /// Elevation of the antenna's look.
    pub aim_up_deg: f64,
}

/// An antenna as a person knows it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AntennaKit {
    /// What it is.
    pub kind: AntennaKind,
    /// Which hand it is; ignored for linear kinds.
    pub hand: StatedHand,
    /// Peak gain.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gain_dbi: Option<f64>,
    /// Whether somebody measured the stated gain, so that it is known better than a printed one.
    #[serde(default, skip_serializing_if = "is_not")]
    pub gain_is_measured: bool,
    /// Axial ratio where it radiates best; circular kinds only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub axial_ratio_db: Option<f64>,
    /// Half-power beamwidth; patches and helices only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub beamwidth_deg: Option<f64>,
    /// Front-to-back ratio of patches and helices; depth of the null overhead of a circular omni.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rejection_db: Option<f64>,
    /// What somebody measured, in rows of angle from the antenna's axis (degrees), gain (dBi) and axial ratio (dB);
    /// [`crate::rf::antenna::MeasuredCut`] says what they mean. Where it stands, the numbers above are not used.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub table: Option<Vec<MeasuredNumbers>>,
}

/// A row of [`AntennaKit::table`].
pub type MeasuredNumbers = [f64; 3];

impl AntennaKit {
    /// A kind of antenna of which nothing more than a hand is known.
    pub const fn of_kind(kind: AntennaKind, hand: StatedHand) -> Self {
        Self {
            kind,
            hand,
            gain_dbi: None,
            gain_is_measured: false,
            axial_ratio_db: None,
            beamwidth_deg: None,
            rejection_db: None,
            table: None,
        }
    }
}

impl Plan {
    /// Rows of all measured tables together.
    pub fn table_rows(&self) -> usize {
        self.antennas().map(|antenna| antenna.table.as_ref().map_or(0, Vec::len)).sum()
    }

    /// Every antenna, those of receivers first.
    fn antennas(&self) -> impl Iterator<Item = &AntennaKit> {
        let received = self.receivers.iter().flat_map(|receiver| receiver.ports.iter().map(|port| &port.antenna));
        let sent = self.entries.iter().flat_map(|entry| entry.radios.iter().map(|radio| &radio.antenna));
        received.chain(sent)
    }

    /// Whether it states something that came with [`VERSION_WITH_FRAMES_AND_TOLERANCES`].
    fn has_tolerances(&self) -> bool {
        let mut radios = self.entries.iter().flat_map(|entry| &entry.radios);
        self.rules.keep_away_m.is_some()
            || radios.any(|radio| radio.power_is_measured)
            || self.antennas().any(|antenna| antenna.gain_is_measured)
    }

    /// The lowest version that holds what the plan uses.
    pub fn lowest_version(&self) -> u32 {
        if self.has_tolerances() || self.has_frames_or_barriers() {
            VERSION_WITH_FRAMES_AND_TOLERANCES
        } else if self.table_rows() > 0 {
            VERSION_WITH_TABLES
        } else {
            FIRST_VERSION
        }
    }

    fn has_frames_or_barriers(&self) -> bool {
        self.course.gates.iter().any(|gate| gate.frame.is_some())
            || self.site.obstacles.iter().any(|obstacle| matches!(obstacle.shape, ObstacleShape::Barrier(_)))
    }
}

/// The kinds of antenna.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AntennaKind {
    /// Linear: a half-wave dipole.
    Dipole,
    /// Linear: a short whip.
    Whip,
    /// Circular: one hand all round the horizon.
    CircularOmni,
    /// Circular: a patch.
    CircularPatch,
    /// Linear: a patch, electric field upright.
    LinearPatch,
    /// Circular: an axial-mode helix.
    Helix,
}

/// Which hand, as far as is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum StatedHand {
    /// Right-hand circular.
    Right,
    /// Left-hand circular.
    Left,
    /// Nobody says: both are judged and the worse is shown.
    Unknown,
}

impl StatedHand {
    /// The hands to be judged: the stated one, or both.
    pub const fn cases(self) -> &'static [Hand] {
        match self {
            Self::Right => &[Hand::Right],
            Self::Left => &[Hand::Left],
            Self::Unknown => &[Hand::Right, Hand::Left],
        }
    }
}

impl From<Hand> for StatedHand {
    fn from(hand: Hand) -> Self {
        match hand {
            Hand::Right => Self::Right,
            Hand::Left => Self::Left,
        }
    }
}

/// A feed line.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Feed {
    /// The cable.
    pub line: FeedLine,
    /// Its length; zero for an antenna straight on the connector.
    pub length_m: f64,
    /// Pairs of connectors in the run.
    pub connectors: u8,
}

/// What sort of picture a receiver makes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
pub enum Picture {
    /// Frequency-modulated analogue video: snow first, then nothing.
    Analogue {
        /// Receiver bandwidth.
        bandwidth_hz: f64,
        /// Carrier-to-noise ratio below which a line of the picture is lost.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        required_cn_db: Option<f64>,
    },
    /// Digital video: perfect, then frozen.
    Digital {
        /// Receiver bandwidth.
        bandwidth_hz: f64,
        /// Carrier-to-noise ratio of the cliff.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        required_cn_db: Option<f64>,
        /// How long the picture stays frozen after a break.
        freeze_s: f64,
    },
}

/// How sensitive a receiver is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
pub enum ReceiverNoise {
    /// From its noise figure and the picture's bandwidth and carrier-to-noise ratio.
    NoiseFigure {
        /// The noise figure.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        noise_figure_db: Option<f64>,
    },
    /// The weakest level with a usable picture, as measured or printed.
    Sensitivity {
        /// That level.
        level_dbm: f64,
    },
}

/// One pilot in the race.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// Short stable id.
    pub id: String,
    /// The pilot's or the aircraft's name.
    pub name: String,
    /// Id of the receiver that follows it.
    pub receiver: String,
    /// Carrier of the video channel.
    pub channel_hz: f64,
    /// The aircraft's radios; one of them is the video transmitter.
    pub radios: Vec<Radio>,
}

/// A radio on the aircraft.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Radio {
    /// What it is for.
    pub purpose: Purpose,
    /// Conducted power at the connector.
    pub power_dbm: f64,
    /// Whether somebody measured that power, so that it is known better than a printed one.
    #[serde(default, skip_serializing_if = "is_not")]
    pub power_is_measured: bool,
    /// Between connector and antenna.
    pub feed: Feed,
    /// Its antenna.
    pub antenna: AntennaKit,
    /// How the antenna stands on the aircraft.
    pub mounting: Mounting,
}

/// What a radio is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Purpose {
    /// Sends the picture down.
    Video,
}

/// How an antenna stands on the aircraft.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mounting {
    /// Leaning back from the thrust axis, toward the tail.
    pub lean_back_deg: f64,
    /// Leaning to the right.
    pub lean_right_deg: f64,
    /// Loss through the aircraft's own frame, in the cone below the antenna's foot.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub frame_loss_db: Option<f64>,
}

/// What the person must not exceed, as they chose it; local rules decide.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rules {
    /// The most radiated power (EIRP) allowed, if a rule was picked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub eirp_limit_dbm: Option<f64>,
    /// Where that limit comes from, in the person's words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub source: String,
    /// How far the flown line keeps from spectators and seats, level; [`crate::plan::presets::KEEP_AWAY_M`] if not stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub keep_away_m: Option<f64>,
}

/// What counts as good enough.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Targets {
    /// Share of the lap with a picture, 0 to 1.
    pub picture_share: f64,
    /// Reserve above which an entry is called clear.
    pub wanted_reserve_db: f64,
}
