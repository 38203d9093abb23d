//! The ladder of one instant as power ratios: from the transmitter's antenna to the mean power at the receiver's.

use super::end::{End, norm_sqr};
use super::hear::Heard;
use super::outage::fade_margin;
use super::paths::Carried;
use super::report::K_RANGE;
use crate::rf::polarization::split_hands;
use crate::units::Db;

/// No stage is shown as costing more than this; what a deeper null takes is made up by the other paths' stage.
pub const STAGE_FLOOR: f64 = 1e-9;

/// The stages of the direct path and what the other paths make of it; their product is the mean power.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stages {
    /// Total gain of the transmitting antenna toward the receiver.
    pub transmit_antenna: f64,
    /// What the aircraft's frame leaves.
    pub own_frame: f64,
    /// Free space between isotropic ends.
    pub free_space: f64,
    /// What obstacles leave.
    pub obstruction: f64,
    /// What people leave, averaged over the draws.
    pub people: f64,
    /// Polarization efficiency, averaged over unknown tilts.
    pub polarization: f64,
    /// Total gain of the receiving antenna toward the transmitter.
    pub receive_antenna: f64,
    /// What the wearer's head leaves.
    pub own_head: f64,
    /// Mean power over the power of the direct path.
    pub other_paths: f64,
}

impl Stages {
    /// Takes an instant apart. `heard` must come from the same `carried` and ends; `carried` has a direct path.
    pub fn of(carried: &Carried, sender: &End<'_>, port: &End<'_>, heard: &Heard) -> Option<Self> {
        let direct = carried.paths.first()?;
        let toward_sender = -direct.arrive;
        let transmit_antenna = norm_sqr(&sender.unshaded_field(&direct.depart)).max(STAGE_FLOOR);
        let receive_antenna = norm_sqr(&port.unshaded_field(&toward_sender)).max(STAGE_FLOOR);
        let own_frame = (-sender.shade.loss_toward(&direct.depart)).ratio();
        let own_head = (-port.shade.loss_toward(&toward_sender)).ratio();
        let free_space = carried.free_space;
        let obstruction = direct.obstruction.max(STAGE_FLOOR);
        let people = carried.people_factor(0).max(STAGE_FLOOR);
        let without_hands =
            transmit_antenna * own_frame * free_space * obstruction * people * receive_antenna * own_head;
        let polarization = (heard.direct / without_hands).clamp(STAGE_FLOOR, 1.0);
        Some(Self {
            transmit_antenna,
            own_frame,
            free_space,
            obstruction,
            people,
            polarization,
            receive_antenna,
            own_head,
            other_paths: heard.mean / (without_hands * polarization),
        })
    }
}

/// Least and most of the direct path's polarization efficiency over the unknown tilts of both ends; `None` when the tilts
/// of both are known.
pub fn tilt_spread(carried: &Carried, sender: &End<'_>, port: &End<'_>) -> Option<(Db, Db)> {
    if !sender.antenna.tilt_is_unknown() && !port.antenna.tilt_is_unknown() {
        return None;
    }
    let direct = carried.paths.first()?;
    let sent = sender.unshaded_field(&direct.depart);
    let back = -direct.arrive;
    let received = port.unshaded_field(&back);
    let power = norm_sqr(&sent) * norm_sqr(&received);
    if power <= 0.0 {
        return None;
    }
    let (sent_right, sent_left) = split_hands(&sent, &direct.depart);
    let (received_right, received_left) = split_hands(&received, &back);
    // On a straight path right meets right and left meets left: two products whose relative phase is unknown.
    let right = (norm_sqr(&sent_right) * norm_sqr(&received_right)).sqrt();
    let left = (norm_sqr(&sent_left) * norm_sqr(&received_left)).sqrt();
    let least = (right - left) * (right - left) / power;
    let most = (right + left) * (right + left) / power;
    Some((Db::from_ratio(least.max(STAGE_FLOOR)), Db::from_ratio(most.clamp(STAGE_FLOOR, 1.0))))
}

/// How much the margin left after fading would grow at this instant if the direct path were `gain` times stronger.
///
/// The margin after fading is the margin of the mean power less the fade margin that the K-factor asks for at the
/// outage `allowed`: a stronger direct path raises the mean and steadies it.
/// `fade_margin_now` is the fade margin of `heard.k` at that outage, which every question about one instant shares.
pub fn gain_after_fading(heard: &Heard, gain: f64, allowed: f64, fade_margin_now: Db) -> Db {
    let others: f64 = heard.paths.iter().skip(1).sum();
    let strongest_other = heard.paths.iter().skip(1).copied().fold(0.0, f64::max);
    let k_with = |direct: f64| {
        let strongest = direct.max(strongest_other);
        strongest / (direct + others + heard.diffuse - strongest).max(strongest * K_RANGE.0)
    };
    let direct = heard.direct * gain;
    let mean = (heard.mean - heard.direct + direct).max(1e-300);
    // What coherent paths add to the specular power is taken to grow with it.
    let (now, then) = (k_with(heard.direct), k_with(direct));
    let k = if now > 0.0 { heard.k * then / now } else { then };
    let after = fade_margin(k, allowed);
    Db::from_ratio(mean / heard.mean.max(1e-300)) - after + fade_margin_now
}
