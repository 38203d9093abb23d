//! One place of a map: what a receiver makes of an aircraft that flies about there, level and at the lap's mean speed.

use nalgebra::{Rotation3, Vector2};

use super::{MapError, MapHand, MapRequest, Quantity};
use crate::link::flight;
use crate::link::kit::{self, Hands, Kit};
use crate::link::lap::Goal;
use crate::link::paths::{self, Carried, Mixing};
use crate::link::place::Place;
use crate::link::receiver::{Hearing, ReceiverPorts, aircraft_end};
use crate::plan::convert;
use crate::plan::document::Plan;
use crate::rf::Vec3;
use crate::rf::polarization::Hand;
use crate::site::{Images, Paths, TunedScene};
use crate::units::{Db, Hertz, MetresPerSecond, Seconds};

/// How long the aircraft is taken to fly about a place: longer than any picture stands still.
const STAY: Seconds = Seconds(10.0);

/// Speed where a plan has no lap. Common practice, no source.
const USUAL_SPEED: MetresPerSecond = MetresPerSecond(10.0);

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
    /// Wanted picture share.
    wanted: f64,
    /// Mean speed of the lap, and the velocity at the place.
    speed: MetresPerSecond,
    velocity: Vec3,
    receiver: Vec3,
    paths: Paths,
    carried: Carried,
    hearing: Hearing,
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
            wanted: goal.picture_share,
            velocity: Vec3::zeros(),
            speed: mean_speed(plan),
            receiver: convert::seat_position(seat),
            paths: Paths::new(),
            carried: Carried::default(),
            hearing: Hearing::default(),
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
        // Halfway between toward the receiver and across: what its wave and the scatter do to each other lies between, too.
        let away = (at - self.receiver).xy();
        let away = if away.norm() > 1e-9 { away.normalize() } else { Vector2::x() };
        let heading = Vector2::new(away.x - away.y, away.x + away.y) * std::f64::consts::FRAC_1_SQRT_2;
        self.velocity = Vec3::new(heading.x, heading.y, 0.0) * self.speed.0;
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
            self.hearing.hear_means(&receiver, (&sender, &self.velocity), &self.carried, &self.mixing);
            return self.hearing.best_port(&receiver).1.0;
        }
        self.hearing.hear(&receiver, (&sender, &self.velocity), &self.carried, &self.mixing);
        let mut fading = receiver.fading(STAY);
        self.hearing.push_sample(&receiver, &self.carried.crowd, 1.0, &mut fading);
        match quantity {
            Quantity::Reserve => fading.reserve(self.wanted).0,
            _ => fading.loss(0, Db(0.0)).under,
        }
    }
}

/// Mean speed of the plan's lap; the pace of a club pilot where there is none.
fn mean_speed(plan: &Plan) -> MetresPerSecond {
    let flight = flight::fly(&plan.course).ok().map(|flight| flight.columns);
    flight.filter(|lap| lap.duration_s > 0.0).map_or(USUAL_SPEED, |lap| MetresPerSecond(lap.length_m / lap.duration_s))
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
