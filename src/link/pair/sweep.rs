//! A link along one of its numbers: matched, crossed and with the other sort of polarization, side by side.

use super::number::{self, PairNumber};
use super::setup::{PairKit, Yard, mixing, pose};
use super::{PairError, PairLink};
use crate::link::explain::Moment;
use crate::link::{kit, receiver};
use crate::plan::document::StatedHand;
use crate::plan::limits;
use crate::plan::presets::has_hand;
use crate::rf::polarization::Hand;
use crate::units::Db;

/// What a sweep goes along.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Along {
    /// Distance of the two ends.
    Distance,
    /// Carrier.
    Frequency,
    /// Tilt of the transmitter's antenna.
    Tilt,
    /// Height of the obstacle.
    ObstacleHeight,
}

impl Along {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Distance, Self::Frequency, Self::Tilt, Self::ObstacleHeight];

    /// The number that changes.
    pub fn number(self) -> PairNumber {
        match self {
            Self::Distance => PairNumber::Distance,
            Self::Frequency => PairNumber::Frequency,
            Self::Tilt => PairNumber::TransmitTilt,
            Self::ObstacleHeight => PairNumber::ObstacleHeight,
        }
    }

    /// Whether equal ratios lie equally far apart.
    pub fn is_logarithmic(self) -> bool {
        self == Self::Distance
    }

    /// From where to where, for a link.
    pub fn extent(self, link: &PairLink) -> (f64, f64) {
        match self {
            Self::Distance => {
                (number::DISTANCE_M.min.max(1.0), (link.distance_m * 4.0).clamp(100.0, number::DISTANCE_M.max))
            }
            Self::Frequency => (limits::CHANNEL_HZ.min, limits::CHANNEL_HZ.max),
            Self::Tilt => (-90.0, 90.0),
            Self::ObstacleHeight => {
                let highest = link.transmitter.height_m.max(link.receiver.height_m);
                let drawn = link.obstacle.as_ref().map_or(0.0, |obstacle| obstacle.height_m);
                let base = link.obstacle.as_ref().map_or(0.0, |obstacle| obstacle.base_m);
                let least = limits::OBSTACLE_HEIGHT_M.min.max(match &link.obstacle {
                    Some(obstacle) if obstacle.kind == super::PairObstacleKind::Tree => base + 0.1,
                    _ => 0.0,
                });
                (least, (2.0 * highest).max(drawn * 1.25).clamp(least + 1.0, limits::OBSTACLE_HEIGHT_M.max))
            }
        }
    }
}

/// The transmitter's antenna as a sweep compares it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SweptAntenna {
    /// As the receiver's: the same hand, or linear and parallel.
    Matched,
    /// The opposite hand, or linear and turned by a right angle.
    Crossed,
    /// The other sort: linear for a circular receiver, circular for a linear one.
    OtherSort,
}

impl SweptAntenna {
    /// All of them, in the order of [`Sweep::curves`].
    pub const ALL: [Self; 3] = [Self::Matched, Self::Crossed, Self::OtherSort];

    /// The link with the transmitter's antenna so.
    ///
    /// An antenna that has to become another sort becomes the typical one of that sort ([`kit::turn`]).
    pub fn of(self, link: &PairLink) -> PairLink {
        let mut link = link.clone();
        let at_receiver = &link.receiver.antenna;
        let hand = match at_receiver.hand {
            _ if !has_hand(at_receiver.kind) => None,
            StatedHand::Left => Some(Hand::Left),
            StatedHand::Right | StatedHand::Unknown => Some(Hand::Right),
        };
        let (wanted, turn_deg) = match (self, hand) {
            (Self::Matched, Some(hand)) => (Some(hand), link.transmitter.turn_deg),
            (Self::Crossed, Some(hand)) => (Some(hand.opposite()), link.transmitter.turn_deg),
            (Self::OtherSort, Some(_)) => (None, link.transmitter.turn_deg),
            // Each counts its turn clockwise as it sees the other: opposite turns are parallel.
            (Self::Matched, None) => (None, -link.receiver.turn_deg),
            (Self::Crossed, None) => {
                let turned = 90.0 - link.receiver.turn_deg;
                (None, if turned > 180.0 { turned - 360.0 } else { turned })
            }
            (Self::OtherSort, None) => (Some(Hand::Right), link.transmitter.turn_deg),
        };
        kit::turn(&mut link.transmitter.antenna, wanted);
        link.transmitter.turn_deg = turn_deg;
        link
    }
}

/// One place of a curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CurvePoint {
    /// Level.
    pub level_dbm: f64,
    /// Margin.
    pub margin_db: f64,
    /// Outage by fading.
    pub outage: f64,
}

/// A link along one of its numbers.
#[derive(Clone, Debug, PartialEq)]
pub struct Sweep {
    /// Which number.
    pub along: Along,
    /// Its values, rising.
    pub at: Vec<f64>,
    /// A curve for each [`SweptAntenna`]; `None` where the link cannot be computed.
    pub curves: [Vec<Option<CurvePoint>>; 3],
}

/// Fewest places of a sweep.
const FEWEST: usize = 2;

/// Sweeps a link in so many steps, at least two places.
///
/// # Errors
/// [`PairError`] when the link itself cannot be computed; places that cannot are left open.
pub fn sweep(link: &PairLink, along: Along, places: usize) -> Result<Sweep, PairError> {
    link.check()?;
    let places = places.max(FEWEST);
    let (from, to) = along.extent(link);
    let at: Vec<f64> = (0..places)
        .map(|place| {
            let share = place as f64 / (places - 1) as f64;
            match place {
                // The ends are what was asked for, whatever rounding makes of them.
                0 => from,
                _ if place + 1 == places => to,
                _ if along.is_logarithmic() => from * libm::pow(to / from, share),
                _ => from + (to - from) * share,
            }
        })
        .collect();
    let curve = |case: SweptAntenna| -> Result<Vec<Option<CurvePoint>>, PairError> {
        let mut link = case.of(link);
        let mut pair_kit = PairKit::new(&link)?;
        Ok(at.iter().map(|&value| point(&mut link, &mut pair_kit, along.number(), value).ok()).collect())
    };
    let curves = [curve(SweptAntenna::Matched)?, curve(SweptAntenna::Crossed)?, curve(SweptAntenna::OtherSort)?];
    Ok(Sweep { along, at, curves })
}

fn point(link: &mut PairLink, pair_kit: &mut PairKit, number: PairNumber, value: f64) -> Result<CurvePoint, PairError> {
    // A link without an obstacle has no height to change.
    if number.get(link).is_some() {
        number.set(link, Some(value))?;
    }
    pair_kit.turn(link);
    let yard = Yard::new(link)?;
    let tuned = yard.tuned(link)?;
    let (mixing, pose) = (mixing(link), pose());
    let traced = yard.trace(link, &tuned, &mixing);
    let moment = Moment { carried: &traced.carried, pose: &pose, kit: &pair_kit.kit, mixing: &mixing };
    let heard = moment.hear(0).heard;
    let level = receiver::level(&pair_kit.kit, 0, heard.mean);
    let margin: Db = level - pair_kit.kit.threshold;
    let outage = receiver::port_outage(&pair_kit.kit, 0, &heard);
    Ok(CurvePoint { level_dbm: level.0, margin_db: margin.0, outage })
}
