//! What the ports of a receiver hear at the same places of a phase that they share.
//!
//! Two ports of a receiver hear the same two waves with the same phase between them but for its mean, which depends on their
//! antennas: where one has its deepest fade, the other may have none. So everything is told at the places of one port, the
//! reference; a phase that far from the deepest fade lies on the one side of it or on the other, and the other ports are
//! ahead of it by a fixed angle.

use super::{HYSTERESIS, Loss, Threshold};
use crate::rf::fading::channel::{Fields, NODES, PLACES};
use crate::rf::fading::score::{QUIET, share_of_score};

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

/// Ports that a receiver can have.
const MOST_PORTS: usize = 8;

/// One port of a receiver at a threshold.
pub(super) struct PortScore<'a> {
    pub fields: &'a Fields,
    /// Whether it loses anything.
    pub is_lost: bool,
    /// What it loses at each of its own places.
    losses: [Loss; PLACES],
    phase: PortPhase,
}

/// How a port's places lie to those of the reference.
#[derive(Clone, Copy, Debug, PartialEq)]
enum PortPhase {
    Same,
    /// So many radians ahead.
    Ahead(f64),
    /// Not at all: it is the same at each.
    Apart(AtPlace),
}

/// A port at a place.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct AtPlace {
    pub loss: Loss,
    /// The odds that a slow receiver listens to it.
    pub odds: f64,
}

/// All ports of a receiver.
pub(super) struct PortScores<'a> {
    ports: [Option<PortScore<'a>>; MOST_PORTS],
    reference: usize,
    turned: bool,
}

impl<'a> PortScores<'a> {
    /// The ports at a threshold; `None` for none, or for more than a receiver has.
    pub fn of(ports: &'a [Fields], threshold: Threshold) -> Option<Self> {
        if ports.is_empty() || ports.len() > MOST_PORTS {
            return None;
        }
        let most = ports.iter().map(Fields::count).max()?;
        let reference = ports.iter().position(|port| port.count() == most)?;
        let mut turned = false;
        let mut all = [const { None }; MOST_PORTS];
        for (slot, fields) in all.iter_mut().zip(ports) {
            let mut scores = [0.0; PLACES];
            let is_lost = fields.scores((threshold.0, threshold.1), &mut scores);
            let mut losses = [Loss::default(); PLACES];
            if is_lost {
                for (place, &score) in scores.iter().enumerate().take(fields.count()) {
                    if score > QUIET {
                        losses[place] = Loss { under: share_of_score(score), lost: fields.lost(place, score) };
                    }
                }
            }
            let phase = if std::ptr::eq(fields, &ports[reference]) || most != NODES && fields.count() == most {
                PortPhase::Same
            } else {
                match ports[reference].ahead(fields) {
                    Some(ahead) if ahead.abs() < SAME_PHASE => PortPhase::Same,
                    Some(ahead) => PortPhase::Ahead(ahead),
                    None => PortPhase::Apart(apart(fields, &losses)),
                }
            };
            turned |= matches!(phase, PortPhase::Ahead(_));
            *slot = Some(PortScore { fields, is_lost, losses, phase });
        }
        Some(Self { ports: all, reference, turned })
    }

    /// Number of the port whose places count.
    pub fn reference(&self) -> usize {
        self.reference
    }

    /// The ports.
    pub fn iter(&self) -> impl Iterator<Item = &PortScore<'a>> {
        self.ports.iter().flatten()
    }

    /// The sides of the deepest fade that have to be told apart.
    pub fn sides(&self) -> &'static [f64] {
        if self.turned { &[1.0, -1.0] } else { &[1.0] }
    }
}

/// A port whose phase has nothing to do with the reference's.
fn apart(fields: &Fields, losses: &[Loss; PLACES]) -> AtPlace {
    let mut sum = Loss::default();
    for (place, loss) in losses.iter().enumerate().take(fields.count()) {
        sum.under += fields.share(place) * loss.under;
        sum.lost += fields.share(place) * loss.lost;
    }
    AtPlace { loss: sum, odds: fields.mean_odds() }
}

impl PortScore<'_> {
    /// The port at a place of the reference, on one side of its deepest fade.
    pub fn at(&self, place: usize, side: f64) -> AtPlace {
        match self.phase {
            PortPhase::Same => AtPlace { loss: self.losses[place], odds: self.fields.odds(place) },
            PortPhase::Apart(all) => all,
            PortPhase::Ahead(ahead) => {
                let (before, part) = Fields::place_ahead(place, side * ahead);
                let (here, next) = (self.losses[before], self.losses[before + 1]);
                let odds = |place| self.fields.odds(place);
                AtPlace {
                    loss: Loss {
                        under: here.under + (next.under - here.under) * part,
                        lost: here.lost + (next.lost - here.lost) * part,
                    },
                    odds: odds(before) + (odds(before + 1) - odds(before)) * part,
                }
            }
        }
    }
}
