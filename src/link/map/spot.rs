//! One place of a map: what a receiver makes of an aircraft that hovers there.

use nalgebra::Rotation3;

use super::{MapError, MapHand, MapRequest, Quantity};
use crate::link::carry;
use crate::link::evaluator::Place;
use crate::link::fast;
use crate::link::hear::{Carried, Case, Heard, Mixing, Sent, Work};
use crate::link::judge::{Fading, RESERVE_RANGE};
use crate::link::kit::{self, Hands, Kit};
use crate::link::lap::{self, Goal};
use crate::plan::convert;
use crate::plan::document::{Plan, Switching};
use crate::rf::Vec3;
use crate::rf::fading::fade_margin;
use crate::rf::polarization::Hand;
use crate::site::{Images, Paths, TunedScene};
use crate::units::{Db, Hertz};

/// Everything that does not change from place to place, and the memory that is used again.
#[derive(Clone, Debug)]
pub(super) struct Spot {
    request: MapRequest,
    /// Every choice of hands that counts; for [`Quantity::HandMatters`] the matched one and the crossed one.
    kits: Vec<Kit>,
    frequency: Hertz,
    mixing: Mixing,
    /// Bounced paths with less power than this are left out, as they are in a lap.
    faint: f64,
    /// Outage that the target allows.
    allowed: f64,
    receiver: Vec3,
    paths: Paths,
    carried: Carried,
    sent: Sent,
    work: Work,
    /// What each port hears.
    heard: Vec<Heard>,
    /// K and margin of every draw of the crowd, for each port.
    cases: Vec<Vec<(f64, Db)>>,
}

impl Spot {
    pub fn new(plan: &Plan, request: &MapRequest, goal: &Goal) -> Result<Self, MapError> {
        let index = request.entry;
        let entry = plan.entries.get(index).ok_or(MapError::Entry { got: index, count: plan.entries.len() })?;
        let kits = match request.quantity {
            Quantity::HandMatters => both_hands(plan, index)?,
            Quantity::Margin | Quantity::Outage | Quantity::Reserve => stated_hands(plan, index, request.hand)?,
        };
        let (_, seat) = kit::seating(plan, index, entry)?;
        let frequency = Hertz(entry.channel_hz);
        let mixing = kit::mixing(plan, frequency);
        let ports = kits.first().map_or(0, |kit| kit.ports.len());
        Ok(Self {
            request: *request,
            kits,
            frequency,
            faint: carry::faint(&mixing),
            mixing,
            allowed: 1.0 - goal.picture_share,
            receiver: convert::seat_position(seat),
            paths: Paths::new(),
            carried: Carried::default(),
            sent: Sent::default(),
            work: Work::default(),
            heard: vec![Heard::default(); ports],
            cases: vec![Vec::new(); ports],
        })
    }

    pub fn receiver(&self) -> &Vec3 {
        &self.receiver
    }

    pub fn frequency(&self) -> Hertz {
        self.frequency
    }

    /// The number of the map at a place; `None` inside a building and on the receiving antenna itself.
    ///
    /// `images` are the receiver's.
    pub fn value(&mut self, place: &Place, tuned: &TunedScene<'_>, images: &Images<'_>, at: &Vec3) -> Option<f64> {
        if place.scene.inside(at).is_some() {
            return None;
        }
        images.trace(at, &mut self.paths);
        if self.paths.is_empty() {
            return None;
        }
        self.carried = carry::carry(place, tuned, &self.paths, self.faint);
        let mut values = [0.0_f64; 4];
        let count = self.kits.len().min(values.len());
        for (case, value) in values[..count].iter_mut().enumerate() {
            *value = self.of_case(case);
        }
        let values = values[..count].iter().copied();
        match self.request.quantity {
            // Nobody says which hand it is: the worse counts, as it does for the verdict.
            Quantity::Margin | Quantity::Reserve => values.reduce(f64::min),
            Quantity::Outage => values.reduce(f64::max),
            Quantity::HandMatters => values.reduce(|matched, crossed| matched - crossed),
        }
    }

    /// The quantity for one choice of hands; for the hand's own quantity its margin.
    fn of_case(&mut self, case: usize) -> f64 {
        let kit = &self.kits[case];
        let sender = lap::aircraft_end(kit, &Rotation3::identity());
        self.sent.send(&self.carried, &sender, &self.mixing);
        let mut best = (0, Db(f64::NEG_INFINITY));
        let ends: Vec<_> = (0..kit.ports.len()).map(|port| (lap::ear(kit, port), lap::port_end(kit, port))).collect();
        let quantity = self.request.quantity;
        let of_mean = matches!(quantity, Quantity::Margin | Quantity::HandMatters);
        if of_mean {
            for ((ear, end), heard) in ends.iter().zip(&mut self.heard) {
                self.sent.hear(&self.carried, end, ear, &mut self.work, heard);
            }
        } else {
            self.sent.hear_all(&self.carried, &ends, &mut self.work, &mut self.heard[..ends.len()]);
        }
        for port in 0..kit.ports.len() {
            let margin = lap::level(kit, port, self.heard[port].mean) - kit.threshold;
            if margin > best.1 {
                best = (port, margin);
            }
        }
        if of_mean {
            return best.1.0;
        }
        // A slow receiver listens to the better port and is out when that one is; a fast one when all are.
        let fast = kit.switching == Switching::Fast && kit.ports.len() > 1;
        let ports = kit.ports.len();
        for port in 0..ports {
            lap::fading_cases(kit, port, &self.heard[port], &mut self.cases[port]);
        }
        let cases = &self.cases[best.0];
        if let (Quantity::Reserve, false, &[(k, margin)]) = (quantity, fast, &cases[..]) {
            // The usual place, with one port in use, nobody near and hands that match, needs no search.
            let reserve = (margin - fade_margin(k, self.allowed)).0;
            return reserve.clamp(-RESERVE_RANGE.0, RESERVE_RANGE.0);
        }
        let mut fading = Fading::with_branches(if fast { ports } else { 1 });
        for case in 0..cases.len() {
            if fast {
                let branches: Vec<Case> = self.heard[..ports].iter().map(|heard| heard.cases[case]).collect();
                fast::push_case(&mut [(&mut fading, Db(0.0))], kit, &branches, 1.0 / cases.len() as f64);
            } else {
                let port = lap::port_in_case(ports, best.0, |port| self.cases[port][case].1);
                let (k, margin) = self.cases[port][case];
                fading.push_term(k, margin);
            }
        }
        fading.end_sample(1.0);
        match quantity {
            Quantity::Reserve => fading.reserve(1.0 - self.allowed).0,
            _ => fading.outage(0, Db(0.0)),
        }
    }
}

/// The kits for every choice of hands that the plan leaves open, with the aircraft's antenna turned as asked.
fn stated_hands(plan: &Plan, index: usize, hand: MapHand) -> Result<Vec<Kit>, MapError> {
    let turned = turned(plan, index, hand);
    let plan = turned.as_ref().unwrap_or(plan);
    let choices = kit::hand_choices(plan, index)?;
    Ok(choices.into_iter().map(|hands| kit::kit(plan, index, hands)).collect::<Result<_, _>>()?)
}

/// The kit with the aircraft's antenna of the ports' hand, then with the other hand. Ports of unknown hand are taken as
/// right-hand ones: what counts is whether the hands agree.
fn both_hands(plan: &Plan, index: usize) -> Result<Vec<Kit>, MapError> {
    let at_ports = |transmitter| Hands { transmitter, ports: Hand::Right };
    let ports = kit::kit(plan, index, at_ports(Hand::Right))?.judged_port_hand().ok_or(MapError::NoHand)?;
    let with = |hand| {
        let turned = turned(plan, index, MapHand::Turned(Some(hand)));
        kit::kit(turned.as_ref().unwrap_or(plan), index, at_ports(hand))
    };
    Ok(vec![with(ports)?, with(ports.opposite())?])
}

/// The plan with the aircraft's antenna turned; `None` when it stays as it is.
fn turned(plan: &Plan, index: usize, hand: MapHand) -> Option<Plan> {
    let MapHand::Turned(hand) = hand else { return None };
    let mut changed = plan.clone();
    let radio = changed.entries.get_mut(index).and_then(kit::video_radio_mut)?;
    kit::turn(&mut radio.antenna, hand);
    Some(changed)
}
