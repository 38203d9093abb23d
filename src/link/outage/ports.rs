//! What the ports of a receiver hear at the same places of a phase that they share.
//!
//! Two ports of a receiver hear the same two waves with the same phase between them but for its mean, which depends on their
//! antennas: where one has its deepest fade, the other may have none. So everything is told at the places of one port, the
//! reference; a phase that far from the deepest fade lies on the one side of it or on the other, and the other ports are
//! ahead of it by a fixed angle.

use super::{HYSTERESIS, Loss, loss_of};
use crate::rf::fading::channel::{FieldLosses, Fields, NODES, PLACES};

/// The odds of two ports are at most this power of their means over a field. Where these means hardly scatter, it depends on
/// the past which port a receiver listens to within its hysteresis; a step there would make reserves jump with an aim.
const MOST_POWER: f64 = 6.5;

/// The power of ports' means over a field that a slow receiver's odds go by.
///
/// It compares what it measured in the field before, which scatters by as much as the fades of a field leave, and changes over when
/// another port was better by the hysteresis: a chain of two states, whose odds are those of changing the one way over those
/// of changing the other. The power is their slope where both ports are equal.
pub(super) fn odds_power(ports: &[Fields]) -> f64 {
    let variance = 2.0 * ports.iter().map(Fields::mean_variance).sum::<f64>() / ports.len().max(1) as f64;
    let deviation = variance.sqrt().max(0.1);
    let beyond = HYSTERESIS.0 / deviation;
    // The normal distribution's density over its tail, by a hyperbola through its value at zero and its asymptote.
    let hazard = 0.5 * (beyond + (beyond * beyond + 8.0 / std::f64::consts::PI).sqrt());
    (20.0 * std::f64::consts::LOG10_E * hazard / deviation).min(MOST_POWER)
}

/// Phases of two ports that are nearer to each other than this are the same: a third of the arcs in which they are counted.
const SAME_PHASE: f64 = 0.1;

/// Ports that a receiver can have; more are not heard.
pub(super) const MOST_PORTS: usize = 4;

/// How the ports of a receiver lie to each other in a case: what of them does not depend on the threshold.
#[derive(Clone, Debug)]
pub(super) struct PortPlaces {
    reference: usize,
    /// Sides of the deepest fade that have to be told apart.
    sides: usize,
    /// Ports, and places of the reference.
    ports: usize,
    count: usize,
    /// Side after side, place after place of the reference, port after port.
    at: Vec<AtPlace>,
}

/// Where a port is when the reference is at a place.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct AtPlace {
    /// The place before and how far it is to the next; [`AtPlace::APART`] for a port whose phase has nothing to do with the
    /// reference's.
    before: usize,
    part: f64,
    /// How likely a slow receiver listens to it.
    pub odds: f64,
}

impl AtPlace {
    const APART: usize = usize::MAX;

    /// What the port loses there, of what it loses at each of its own places and at all of them together.
    pub fn of(&self, losses: &FieldLosses, apart: &Loss) -> Loss {
        if self.before == Self::APART {
            return *apart;
        }
        let here = loss_of(losses, self.before);
        if self.part == 0.0 {
            return here;
        }
        let next = loss_of(losses, self.before + 1);
        Loss {
            under: here.under + (next.under - here.under) * self.part,
            lost: here.lost + (next.lost - here.lost) * self.part,
        }
    }
}

/// How a port's places lie to those of the reference.
#[derive(Clone, Copy, Debug, PartialEq)]
enum PortPhase {
    Same,
    /// So many radians ahead.
    Ahead(f64),
    /// Not at all: it is the same at each.
    Apart,
}

impl PortPhase {
    fn of(port: &Fields, reference: &Fields) -> Self {
        if std::ptr::eq(port, reference) || reference.count() != NODES && port.count() == reference.count() {
            return Self::Same;
        }
        match reference.ahead(port) {
            Some(ahead) if ahead.abs() < SAME_PHASE => Self::Same,
            Some(ahead) => Self::Ahead(ahead),
            None => Self::Apart,
        }
    }

    /// The port at a place of the reference, with the odds at its own places.
    fn at(self, odds: &[f64; PLACES], place: usize, side: f64) -> AtPlace {
        match self {
            Self::Same => AtPlace { before: place, part: 0.0, odds: odds[place] },
            Self::Apart => AtPlace { before: AtPlace::APART, part: 0.0, odds: odds[0] },
            Self::Ahead(ahead) => {
                let (before, part) = Fields::place_ahead(place, side * ahead);
                let (here, next) = (odds[before], odds[before + 1]);
                AtPlace { before, part, odds: here + (next - here) * part }
            }
        }
    }
}

impl PortPlaces {
    /// Of the ports of a case, one to [`MOST_PORTS`].
    pub fn of(ports: &[Fields]) -> Self {
        let most = ports.iter().map(Fields::count).max().unwrap_or(0);
        let reference = ports.iter().position(|port| port.count() == most).unwrap_or(0);
        let mut phases = [(PortPhase::Apart, [0.0; PLACES]); MOST_PORTS];
        for (slot, port) in phases.iter_mut().zip(ports) {
            slot.0 = PortPhase::of(port, &ports[reference]);
            if slot.0 == PortPhase::Apart { slot.1[0] = port.mean_odds() } else { port.odds(&mut slot.1) }
        }
        let phases = &phases[..ports.len()];
        let turned = phases.iter().any(|(phase, _)| matches!(phase, PortPhase::Ahead(_)));
        let sides: &[f64] = if turned { &[1.0, -1.0] } else { &[1.0] };
        let mut all = Self { reference, sides: sides.len(), ports: ports.len(), count: most, at: Vec::new() };
        all.at.reserve_exact(sides.len() * most * ports.len());
        for &side in sides {
            for place in 0..most {
                let first = all.at.len();
                all.at.extend(phases.iter().map(|(phase, odds)| phase.at(odds, place, side)));
                let total: f64 = all.at[first..].iter().map(|at| at.odds).sum();
                for at in &mut all.at[first..] {
                    at.odds = if total > 0.0 { at.odds / total } else { 0.0 };
                }
            }
        }
        all
    }

    /// Number of the port whose places count.
    pub fn reference(&self) -> usize {
        self.reference
    }

    /// The sides of the deepest fade that have to be told apart: one or two.
    pub fn sides(&self) -> usize {
        self.sides
    }

    /// Where a port is at a place of the reference, on one side of its deepest fade.
    pub fn at(&self, port: usize, side: usize, place: usize) -> &AtPlace {
        &self.at[(side * self.count + place) * self.ports + port]
    }

    /// For ports whose phase has nothing to do with the reference's, what they lose at all of their places together.
    pub fn apart(&self, ports: &[Fields], losses: &[FieldLosses; MOST_PORTS]) -> [Loss; MOST_PORTS] {
        let mut apart = [Loss::default(); MOST_PORTS];
        for (port, fields) in ports.iter().enumerate() {
            if self.at(port, 0, 0).before == AtPlace::APART {
                for place in 0..fields.count() {
                    apart[port].add(fields.share(place), loss_of(&losses[port], place));
                }
            }
        }
        apart
    }
}
