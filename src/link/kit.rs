//! The radio side of an entry with one choice of hands, ready to compute with.

use nalgebra::Rotation3;

use crate::plan::document::{Entry, Picture, Placement, Plan, Purpose, Receiver, Seat, StatedHand, Switching};
use crate::plan::presets::{self, Assumed};
use crate::rf::Vec3;
use crate::rf::antenna::Antenna;
use crate::rf::polarization::Hand;
use crate::units::{Db, Dbm, Hertz};

/// An entry's kit, with every unknown value filled in and every unknown hand decided.
#[derive(Clone, Debug)]
pub struct Kit {
    /// Transmitting antenna.
    pub transmitter: Antenna,
    /// From the antenna's frame to the aircraft's body.
    pub mounting: Rotation3<f64>,
    /// Loss through the aircraft's own frame.
    pub frame_loss: Db,
    /// Conducted power.
    pub power: Dbm,
    /// Loss of the transmitter's feed line.
    pub transmit_feed_loss: Db,
    /// Carrier.
    pub frequency: Hertz,
    /// Inputs of the receiver.
    pub ports: Vec<PortKit>,
    /// The face of whoever wears the receiver.
    pub worn_facing: Option<Vec3>,
    /// Level below which a line or frame is lost.
    pub threshold: Dbm,
    /// Level of a good picture.
    pub good_threshold: Dbm,
    /// How ports are chosen.
    pub switching: Switching,
    /// The kind of picture.
    pub picture: PictureKind,
    /// Values that stand in for unknown ones.
    pub assumed: Vec<Assumed>,
    /// What models say about the numbers they were given.
    pub caveats: Vec<String>,
}

/// One input.
#[derive(Clone, Debug)]
pub struct PortKit {
    /// Its antenna.
    pub antenna: Antenna,
    /// From the antenna's frame to the world.
    pub to_world: Rotation3<f64>,
    /// Loss of its feed line.
    pub feed_loss: Db,
    /// Whether the antenna looks one way.
    pub aims: bool,
    /// Whether its hand was unknown.
    pub hand_was_unknown: bool,
}

/// The kind of picture, for the fading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PictureKind {
    /// Narrow-band: each line by itself.
    Analogue,
    /// Averaged over the channel.
    Digital {
        /// Bandwidth of the channel.
        bandwidth: Hertz,
    },
}
