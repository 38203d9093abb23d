//! One link by itself, as it stands on a bench: two antennas, what is between them, and what comes of it.
//!
//! Nothing is computed here that a lap does not compute: the two ends, the ground and the obstacle become a site, an
//! aircraft's kit and a port, and the very stages of an instant ([`super::explain`]) take them apart.
//!
//! - [`beside`]: an obstacle that stands along the line, for the wave that bounces off it
//! - [`number`]: every number of a link with its range
//! - [`text`]: a link as a short text, for an address
//! - [`hearing`]: the budget of a link and what else there is to say about it
//! - [`sweep`]: the same along a distance, a frequency, a tilt or the height of the obstacle
//! - [`exchange`]: a link out of a plan's lap, and an antenna back into the plan
//!
//! ```
//! use lapmargin::link::pair::{PairLink, hearing};
//! let link = PairLink::default();
//! let heard = hearing::hear(&link)?;
//! let gains: f64 = heard.explanation.budget.iter().map(|line| line.gain_db).sum();
//! assert!((gains - heard.explanation.margin_db).abs() < 1e-9);
//! # Ok::<(), lapmargin::link::pair::PairError>(())
//! ```

pub mod beside;
pub mod exchange;
pub mod hearing;
pub mod number;
mod setup;
pub mod sweep;
pub mod text;

use crate::plan::document::{AntennaKind, AntennaKit, Feed, Picture, ReceiverNoise, StatedHand};
use crate::plan::limits::Range;
use crate::plan::presets::{ANALOGUE_BANDWIDTH, has_hand, measured_cut};
use crate::rf::antenna::MeasuredError;
use crate::rf::fading::Surroundings;
use crate::rf::feed::FeedLine;
use crate::rf::material::Material;
use number::PairNumber;

/// A link between two antennas that stand still.
///
/// The line runs from the transmitter to the receiver; *right* is right of it for someone who looks along it.
#[derive(Clone, Debug, PartialEq)]
pub struct PairLink {
    /// Distance along the ground between the two antennas.
    pub distance_m: f64,
    /// Carrier.
    pub frequency_hz: f64,
    /// Conducted power at the transmitter's connector.
    pub power_dbm: f64,
    /// The transmitting end.
    pub transmitter: PairEnd,
    /// The receiving end.
    pub receiver: PairEnd,
    /// Loss through a frame below the transmitting antenna's foot; zero where there is none.
    pub frame_loss_db: f64,
    /// By how much someone who wears the receiver looks past the transmitter, to the right; `None` when nobody wears it.
    pub wearer_off_deg: Option<f64>,
    /// What the ground is made of; `None` for empty space, where nothing bounces at all.
    pub ground: Option<Material>,
    /// Root-mean-square roughness of the ground.
    pub roughness_m: f64,
    /// The class of the surroundings, for their scatter; `None` for none.
    pub surroundings: Option<Surroundings>,
    /// K-factor of the scatter, if the class's is not to be used.
    pub scatter_k_db: Option<f64>,
    /// Cross-polarization ratio of the scatter, if the class's is not to be used.
    pub scatter_xpr_db: Option<f64>,
    /// How far the transmitter wavers about its place (standard deviation): zero on a stand, some 0.3 m in flight.
    pub line_sigma_m: f64,
    /// How fast the transmitter moves: for how often the level fades, and for nothing else.
    pub speed_m_per_s: f64,
    /// What stands between the ends.
    pub obstacle: Option<PairObstacle>,
    /// The kind of picture.
    pub picture: Picture,
    /// How sensitive the receiver is.
    pub noise: ReceiverNoise,
}

/// One end of a link.
///
/// An antenna with its angles at zero stands upright and looks level toward the other end. It is first turned `aside`
/// about its own axis, then tilted in the upright plane through both ends, then turned about the line between them.
#[derive(Clone, Debug, PartialEq)]
pub struct PairEnd {
    /// The antenna; one that has a hand must state it.
    pub antenna: AntennaKit,
    /// Between connector and antenna.
    pub feed: Feed,
    /// Height above ground.
    pub height_m: f64,
    /// Turn about the line, clockwise for someone who looks from this end to the other.
    pub turn_deg: f64,
    /// Tilt: leaning back from the other end, its look rising.
    pub tilt_deg: f64,
    /// Look past the other end, to the right.
    pub aside_deg: f64,
}

/// Something in the way.
#[derive(Clone, Debug, PartialEq)]
pub struct PairObstacle {
    /// What it is.
    pub kind: PairObstacleKind,
    /// How far along the line from the transmitter its middle stands.
    pub distance_m: f64,
    /// How far to the right of the line its middle stands.
    pub aside_m: f64,
    /// Extent across the line; of a tree, the diameter of its crown.
    pub width_m: f64,
    /// Extent along the line; of a block only.
    pub depth_m: f64,
    /// Turn about its middle, clockwise from above.
    pub turn_deg: f64,
    /// Height of its top.
    pub height_m: f64,
    /// Height where a crown begins; of a tree only.
    pub base_m: f64,
    /// What its walls are made of; not of a tree.
    pub material: Material,
    /// Thickness of its walls; not of a tree.
    pub thickness_m: f64,
    /// Attenuation of a crown; of a tree only.
    pub loss_db_per_m: f64,
}

/// What can stand in the way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PairObstacleKind {
    /// A wall, fence or board.
    Wall,
    /// A building, stall or van.
    Block,
    /// A tree's crown.
    Tree,
}

impl PairObstacleKind {
    /// Every kind, for menus.
    pub const ALL: [Self; 3] = [Self::Wall, Self::Block, Self::Tree];
}

/// One of the two ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// The transmitting end.
    Transmitter,
    /// The receiving end.
    Receiver,
}

impl Side {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Transmitter, Self::Receiver];

    /// Its word in a sentence.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Transmitter => "transmitter",
            Self::Receiver => "receiver",
        }
    }
}

/// Why a link cannot be computed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PairError {
    /// A number is outside its range, or is none.
    #[error("{} of {got} is outside {allowed}", .number.name())]
    Value {
        /// Which number.
        number: PairNumber,
        /// What it is.
        got: f64,
        /// What is allowed.
        allowed: Range,
    },
    /// A count of connectors is not whole.
    #[error("{} of {got} is no whole number", .number.name())]
    NotWhole {
        /// Which number.
        number: PairNumber,
        /// What it is.
        got: f64,
    },
    /// A circular antenna whose hand nobody says: a bench shows one hand at a time.
    #[error("the hand of the {}'s antenna must be right or left here", .0.word())]
    Hand(Side),
    /// The table of an antenna is none.
    #[error("the measured table of the {}'s antenna has {why}", .side.word())]
    Table {
        /// Whose.
        side: Side,
        /// Why.
        why: MeasuredError,
    },
    /// An end stands inside the obstacle.
    #[error("the {}'s antenna stands inside the obstacle: move one of them", .0.word())]
    Inside(Side),
    /// The numbers do not fit together in a way that no range tells.
    #[error("{0}")]
    Unfit(String),
}

impl Default for PairEnd {
    /// A right-hand circular omni on its connector at 1.5 m, upright.
    fn default() -> Self {
        Self {
            antenna: AntennaKit::of_kind(AntennaKind::CircularOmni, StatedHand::Right),
            feed: Feed { line: FeedLine::Micro113, length_m: 0.0, connectors: 1 },
            height_m: 1.5,
            turn_deg: 0.0,
            tilt_deg: 0.0,
            aside_deg: 0.0,
        }
    }
}

impl Default for PairObstacle {
    /// A brick wall of 4 m by 2.5 m across the middle of the usual link.
    fn default() -> Self {
        Self {
            kind: PairObstacleKind::Wall,
            distance_m: 15.0,
            aside_m: 0.0,
            width_m: 4.0,
            depth_m: 2.0,
            turn_deg: 0.0,
            height_m: 2.5,
            base_m: 1.0,
            material: Material::Brick,
            thickness_m: 0.22,
            loss_db_per_m: 1.2,
        }
    }
}

impl Default for PairLink {
    /// 25 mW at 5800 MHz over 30 m of an open field, from one right-hand omni to another.
    fn default() -> Self {
        Self {
            distance_m: 30.0,
            frequency_hz: 5.8e9,
            power_dbm: 14.0,
            transmitter: PairEnd { height_m: 3.0, ..PairEnd::default() },
            receiver: PairEnd::default(),
            frame_loss_db: 0.0,
            wearer_off_deg: None,
            ground: Some(Material::MediumDryGround),
            roughness_m: 0.01,
            surroundings: Some(Surroundings::OpenField),
            scatter_k_db: None,
            scatter_xpr_db: None,
            line_sigma_m: 0.3,
            speed_m_per_s: 15.0,
            obstacle: None,
            picture: Picture::Analogue { bandwidth_hz: ANALOGUE_BANDWIDTH.0, required_cn_db: None },
            noise: ReceiverNoise::NoiseFigure { noise_figure_db: None },
        }
    }
}

impl PairLink {
    /// One of its ends.
    pub fn end(&self, side: Side) -> &PairEnd {
        match side {
            Side::Transmitter => &self.transmitter,
            Side::Receiver => &self.receiver,
        }
    }

    /// One of its ends, to change it.
    pub fn end_mut(&mut self, side: Side) -> &mut PairEnd {
        match side {
            Side::Transmitter => &mut self.transmitter,
            Side::Receiver => &mut self.receiver,
        }
    }

    /// Checks every number, the hands and the tables.
    ///
    /// # Errors
    /// The first [`PairError`] found. Whether an end stands inside the obstacle shows only when the link is heard.
    pub fn check(&self) -> Result<(), PairError> {
        for number in PairNumber::ALL {
            if let Some(got) = number.get(self) {
                number.check(got)?;
            }
        }
        for side in Side::ALL {
            let antenna = &self.end(side).antenna;
            if has_hand(antenna.kind) && antenna.hand == StatedHand::Unknown {
                return Err(PairError::Hand(side));
            }
            if let Some(table) = &antenna.table {
                measured_cut(antenna.kind, table).map_err(|why| PairError::Table { side, why })?;
            }
        }
        Ok(())
    }
}
