//! One place of a map: what a receiver makes of an aircraft that hovers there.

use nalgebra::Rotation3;

use super::{MapError, MapHand, MapRequest, Quantity};
use crate::link::kit::{self, Hands, Kit};
use crate::link::lap::Goal;
use crate::link::outage::{RESERVE_RANGE, fade_margin};
use crate::link::paths::{self, Carried, Mixing};
use crate::link::place::Place;
use crate::link::receiver::{Cases, Hearing, PortCase, ReceiverPorts, aircraft_end};
use crate::plan::convert;
use crate::plan::document::Plan;
use crate::rf::Vec3;
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
    hearing: Hearing,
    /// The cases of all ports.
    cases: Vec<PortCase>,
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
        Ok(Self {
            request: *request,
            kits,
            frequency,
            faint: paths::faint(&mixing),
            mixing,
            allowed: goal.allowed_outage(),
            receiver: convert::seat_position(seat),
            paths: Paths::new(),
            carried: Carried::default(),
            hearing: Hearing::default(),
            cases: Vec::new(),
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
        self.carried = paths::carry(place, tuned, &self.paths, self.faint);
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
        let (receiver, sender) = (ReceiverPorts::of(kit), aircraft_end(kit, &Rotation3::identity()));
        let quantity = self.request.quantity;
        if matches!(quantity, Quantity::Margin | Quantity::HandMatters) {
            self.hearing.hear_means(&receiver, &sender, &self.carried, &self.mixing);
            return self.hearing.best_port(&receiver).1.0;
        }
        self.hearing.hear(&receiver, &sender, &self.carried, &self.mixing);
        let (usual, _) = self.hearing.best_port(&receiver);
        self.cases.clear();
        self.hearing.push_cases(&receiver, &mut self.cases);
        let cases = Cases::new(&self.cases, receiver.ports());
        if quantity == Quantity::Reserve && !receiver.is_fast() && cases.count() == 1 {
            // The usual place, with one port in use, nobody near and hands that match, needs no search.
            let heard = cases.at(usual, 0);
            let reserve = (heard.margin - fade_margin(heard.case.k, self.allowed)).0;
            return reserve.clamp(-RESERVE_RANGE.0, RESERVE_RANGE.0);
        }
        let mut fading = receiver.fading();
        receiver.fade(&cases, usual, 1.0, &mut [(&mut fading, Db(0.0))]);
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
