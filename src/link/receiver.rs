//! A receiver at one instant: what its ports hear, case by case, which of them it listens to, and what then fades.
//!
//! A *case* is one of the crowd's and, where tilts are kept apart, one of them; all ports of an instant have the
//! same cases in the same order. A *slow* receiver listens to the port with the better mean and is out when that one is; a
//! *fast* one changes over within a fade and is out when all of its ports are ([`super::outage`]).

use nalgebra::Rotation3;

use super::crowd_cells::CrowdCases;
use super::end::{End, FrameShade, HeadShade, Shade};
use super::hear::{Case, Ear, Heard, Sent, Work};
use super::kit::{Kit, PictureKind};
use super::outage::{Fading, Selection};
use super::paths::{Carried, Mixing};
use super::report::FLOOR_DBM;
use crate::plan::document::Switching;
use crate::rf::Vec3;
use crate::rf::fading::channel::Channel;
use crate::units::{Db, Dbm, Hertz, Seconds};

pub use super::outage::HYSTERESIS as SWITCHING_HYSTERESIS;

/// The transmitting end on an aircraft in a pose.
pub fn aircraft_end<'a>(kit: &'a Kit, attitude: &Rotation3<f64>) -> End<'a> {
    let to_world = attitude * kit.mounting;
    let axis = -(to_world * Vec3::z());
    let shade =
        if kit.frame_loss.0 > 0.0 { Shade::Frame(FrameShade { axis, loss: kit.frame_loss }) } else { Shade::Free };
    End { antenna: &kit.transmitter, to_world, shade }
}

/// The receiving end of a port.
pub fn port_end(kit: &Kit, port: usize) -> End<'_> {
    let port = &kit.ports[port];
    let shade = kit.worn_facing.map_or(Shade::Free, |facing| Shade::Head(HeadShade { facing }));
    End { antenna: &port.antenna, to_world: port.to_world, shade }
}

/// Level at a port's receiver for a power ratio at its antenna.
pub fn level(kit: &Kit, port: usize, mean: f64) -> Dbm {
    let level = kit.power - kit.transmit_feed_loss + Db::from_ratio(mean) - kit.ports[port].feed_loss;
    Dbm(level.0.max(FLOOR_DBM))
}

/// How a port of a kit listens.
fn ear(kit: &Kit, port: usize) -> Ear {
    let channel = match kit.picture {
        PictureKind::Analogue => Hertz(0.0),
        PictureKind::Digital { bandwidth, .. } => bandwidth,
    };
    Ear { channel, port }
}

/// One case of one port.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PortCase {
    /// What fades in it.
    pub case: Case,
    /// Mean level over the threshold.
    pub margin: Db,
}

impl PortCase {
    /// Probability that the level is under the threshold at an instant.
    pub fn outage(&self) -> f64 {
        self.channel().fields().under(1.0)
    }

    /// How it fades, in units of the threshold.
    pub fn channel(&self) -> Channel {
        self.case.channel.times(self.margin.ratio() / self.case.mean.max(1e-300))
    }
}

/// All cases of a port at an instant.
pub fn port_cases(kit: &Kit, port: usize, heard: &Heard) -> impl Iterator<Item = PortCase> {
    heard.cases.iter().map(move |&case| PortCase { case, margin: level(kit, port, case.mean) - kit.threshold })
}

/// Mean outage of a port over its cases.
pub fn port_outage(kit: &Kit, port: usize, heard: &Heard) -> f64 {
    port_cases(kit, port, heard).enumerate().map(|(number, case)| heard.share(number) * case.outage()).sum()
}

/// The receiving side of a kit: all of its ports, or one alone.
#[derive(Clone, Debug)]
pub struct ReceiverPorts<'a> {
    kit: &'a Kit,
    ports: Vec<(Ear, End<'a>)>,
}

impl<'a> ReceiverPorts<'a> {
    /// With all ports of a kit.
    pub fn of(kit: &'a Kit) -> Self {
        Self { kit, ports: (0..kit.ports.len()).map(|port| (ear(kit, port), port_end(kit, port))).collect() }
    }

    /// With one port of a kit alone, which keeps its number.
    pub fn of_port(kit: &'a Kit, port: usize) -> Self {
        Self { kit, ports: vec![(ear(kit, port), port_end(kit, port))] }
    }

    /// Its kit.
    pub fn kit(&self) -> &'a Kit {
        self.kit
    }

    /// Number of ports that hear.
    pub fn ports(&self) -> usize {
        self.ports.len()
    }

    /// Whether it changes over within a fade.
    pub fn is_fast(&self) -> bool {
        self.kit.switching == Switching::Fast && self.ports.len() > 1
    }

    /// An empty lap of what this receiver's samples fade like.
    pub fn fading(&self, duration: Seconds) -> Fading {
        let selection = if self.is_fast() { Selection::Fast } else { Selection::Slow };
        let frozen = match self.kit.picture {
            PictureKind::Analogue => Seconds(0.0),
            PictureKind::Digital { freeze, .. } => freeze,
        };
        Fading::new(selection, self.ports.len(), duration, frozen)
    }

    /// Mean level over the threshold at a port.
    pub fn margin(&self, port: usize, heard: &Heard) -> Db {
        level(self.kit, port, heard.mean) - self.kit.threshold
    }
}

/// What a receiver hears at an instant, with memory that is used again from one to the next.
#[derive(Clone, Debug, Default)]
pub struct Hearing {
    sent: Sent,
    work: Work,
    heard: Vec<Heard>,
}

impl Hearing {
    /// Hears an instant in cases; of a receiver with several ports, tilts are kept apart at all of them or at none.
    pub fn hear(
        &mut self,
        receiver: &ReceiverPorts<'_>,
        sender: (&End<'_>, &Vec3),
        carried: &Carried,
        mixing: &Mixing,
    ) {
        self.sent.send(carried, sender, mixing);
        self.heard.resize_with(receiver.ports.len(), Heard::default);
        self.sent.hear_all(carried, &receiver.ports, &mut self.work, &mut self.heard);
    }

    /// The same with the mean of all tilts: enough for levels.
    pub fn hear_means(
        &mut self,
        receiver: &ReceiverPorts<'_>,
        sender: (&End<'_>, &Vec3),
        carried: &Carried,
        mixing: &Mixing,
    ) {
        self.sent.send(carried, sender, mixing);
        self.heard.resize_with(receiver.ports.len(), Heard::default);
        for ((ear, end), heard) in receiver.ports.iter().zip(&mut self.heard) {
            self.sent.hear(carried, end, ear, &mut self.work, heard);
        }
    }

    /// What was heard, port after port.
    pub fn heard(&self) -> &[Heard] {
        &self.heard
    }

    /// What the last port heard, to keep; nothing where there is none.
    pub fn into_heard(mut self) -> Heard {
        self.heard.pop().unwrap_or_default()
    }

    /// The port with the best mean and its margin, for a receiver without a past; the first of equal ones.
    pub fn best_port(&self, receiver: &ReceiverPorts<'_>) -> (usize, Db) {
        let mut best = (0, Db(f64::NEG_INFINITY));
        for (port, heard) in self.heard.iter().enumerate() {
            let margin = receiver.margin(port, heard);
            if margin > best.1 {
                best = (port, margin);
            }
        }
        best
    }

    /// Adds what fades at this instant to a lap made by [`ReceiverPorts::fading`]; `weight` is its share of the lap's time.
    pub fn push_sample(&self, receiver: &ReceiverPorts<'_>, crowd: &CrowdCases, weight: f64, fading: &mut Fading) {
        let cases = self.heard.iter().map(|heard| heard.cases.len()).min().unwrap_or(0);
        for case in 0..cases {
            for ((ear, _), heard) in receiver.ports.iter().zip(&self.heard) {
                let case = heard.cases[case];
                let margin = level(receiver.kit, ear.port, case.mean) - receiver.kit.threshold;
                fading.push(&PortCase { case, margin }.channel());
            }
        }
        fading.end_sample(crowd, weight);
    }
}
