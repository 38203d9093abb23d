//! One instant of one port in words and numbers: the ladder, the paths, the reasons.

use super::end::End;
use super::flight::SamplePose;
use super::hear::Heard;
use super::kit::Kit;
use super::paths::{Carried, Mixing};
use super::place::Met;
use super::receiver::{self, Hearing, ReceiverPorts};
use super::report::{AXIAL_RATIO_CAP_DB, BudgetLine, Explanation, PathView, PrunedWays, Term};
use super::stages::{Stages, tilt_spread};
use super::verdict::order;
use crate::rf::fading::{level_crossing_rate, maximum_doppler};
use crate::rf::free_space::wavelength;
use crate::rf::polarization::{Hand, ellipse_of};
use crate::rf::{ComplexVec3, Vec3};
use crate::site::Pruned;
use crate::units::{Db, MetresPerSecond, Radians};

/// Everything an explanation is made from.
#[derive(Clone, Copy, Debug)]
pub struct Moment<'a> {
    /// The paths at the entry's frequency.
    pub carried: &'a Carried,
    /// How the aircraft lies.
    pub pose: &'a SamplePose,
    /// The entry's kit.
    pub kit: &'a Kit,
    /// How phases and scatter mix.
    pub mixing: &'a Mixing,
}

/// An instant of one port, heard and taken apart.
pub struct HeardPort<'a> {
    /// The aircraft's end.
    pub sender: End<'a>,
    /// The port's end.
    pub port: End<'a>,
    /// What the port hears.
    pub heard: Heard,
}

impl<'a> Moment<'a> {
    /// Hears one port.
    pub fn hear(&self, port: usize) -> HeardPort<'a> {
        let (sender, receiver) =
            (receiver::aircraft_end(self.kit, &self.pose.attitude), ReceiverPorts::of_port(self.kit, port));
        let mut hearing = Hearing::default();
        hearing.hear(&receiver, (&sender, &self.pose.velocity), self.carried, self.mixing);
        HeardPort { sender, port: receiver::port_end(self.kit, port), heard: hearing.into_heard() }
    }

    /// The ladder from the transmitter to the margin; the gains sum to the margin of the level that [`receiver::level`] gives.
    /// Empty when there is no direct path (both ends at one point). `met` is that of the direct path.
    pub fn budget(&self, port: usize, heard_port: &HeardPort<'_>, met: &Met) -> Vec<BudgetLine> {
        let Some(stages) = Stages::of(self.carried, &heard_port.sender, &heard_port.port, &heard_port.heard) else {
            return Vec::new();
        };
        let kit = self.kit;
        let level = receiver::level(kit, port, heard_port.heard.mean);
        let db = |ratio: f64| Db::from_ratio(ratio).0;
        let mut lines = vec![
            (Term::Power, kit.power.0),
            (Term::TransmitFeed, -kit.transmit_feed_loss.0),
            (Term::TransmitAntenna, db(stages.transmit_antenna)),
            (Term::OwnFrame, db(stages.own_frame)),
            (Term::FreeSpace, db(stages.free_space)),
            (Term::Obstruction, db(stages.obstruction)),
            (Term::People, db(stages.people)),
            (Term::Polarization, db(stages.polarization)),
            (Term::ReceiveAntenna, db(stages.receive_antenna)),
            (Term::OwnHead, db(stages.own_head)),
            (Term::ReceiveFeed, -kit.ports[port].feed_loss.0),
        ];
        // What is left over is what the other paths do, so that the ladder always ends at the level.
        let direct_level: f64 = lines.iter().map(|&(_, gain)| gain).sum();
        lines.push((Term::OtherPaths, level.0 - direct_level));
        lines.push((Term::Threshold, -kit.threshold.0));
        lines
            .into_iter()
            .map(|(term, gain_db)| BudgetLine {
                term,
                gain_db,
                reason: self.reason(term, port, heard_port, &stages, met),
            })
            .collect()
    }

    /// The whole explanation. `met` has one item per traced path of the instant; `pruned` are the ways that gave none.
    ///
    /// `speed` is the aircraft's, for how often the level fades.
    pub fn explain(
        &self,
        indices: (usize, usize, usize),
        speed: MetresPerSecond,
        met: &[Met],
        pruned: Pruned,
    ) -> Explanation {
        let (entry, port, sample) = indices;
        let heard_port = self.hear(port);
        let level = receiver::level(self.kit, port, heard_port.heard.mean);
        let nothing = Met::default();
        let weakness: Vec<f64> = heard_port.heard.paths.iter().map(|power| -power).collect();
        let paths = order(&weakness)
            .into_iter()
            .map(|path| {
                self.path_view(path, port, &heard_port, met.get(self.carried.paths[path].traced).unwrap_or(&nothing))
            })
            .collect();
        let margin = level - self.kit.threshold;
        let doppler = maximum_doppler(speed, wavelength(self.kit.frequency));
        // Each case fades for itself; together they are under the threshold for the outage's share of the time.
        let cases = receiver::port_cases(self.kit, port, &heard_port.heard);
        let rates = cases.enumerate().map(|(number, case)| {
            heard_port.heard.share(number) * level_crossing_rate(case.case.k, case.margin, doppler).0
        });
        let rate: f64 = rates.sum();
        let outage = receiver::port_outage(self.kit, port, &heard_port.heard);
        let length = if rate > 0.0 { outage / rate } else { 0.0 };
        Explanation {
            fades_per_s: rate,
            fade_length_s: if length.is_finite() { length } else { 0.0 },
            entry,
            port,
            sample,
            budget: self.budget(port, &heard_port, met.first().unwrap_or(&nothing)),
            level_dbm: level.0,
            margin_db: margin.0,
            k_db: Db::from_ratio(heard_port.heard.k).0,
            outage,
            tilt_spread_db: tilt_spread(self.carried, &heard_port.sender, &heard_port.port)
                .map(|(least, most)| (least.0, most.0)),
            paths,
            pruned: PrunedWays {
                out_of_sight: pruned.out_of_sight,
                behind: pruned.behind,
                beside: pruned.beside,
                own_walls: pruned.own_walls,
                faint: self.carried.faint,
            },
        }
    }

    fn path_view(&self, index: usize, port: usize, heard_port: &HeardPort<'_>, met: &Met) -> PathView {
        let path = &self.carried.paths[index];
        // The wave with its hands at their nominal phase: enough for the hand and the axial ratio on arrival.
        let sent = heard_port.sender.unshaded_field(&path.depart);
        let arriving: ComplexVec3 = path.transfer * sent;
        let ellipse = ellipse_of(&arriving, &path.arrive);
        let obstruction = path.obstruction * self.carried.people_factor(index);
        PathView {
            via: met.via.clone(),
            points_m: met.points_m.clone(),
            length_m: path.length,
            level_dbm: receiver::level(self.kit, port, heard_port.heard.paths.get(index).copied().unwrap_or(0.0)).0,
            obstruction_db: 0.0 - Db::from_ratio(obstruction.max(1e-15)).0,
            clearance: met.clearance,
            obstructed_by: met.obstructed_by.clone(),
            hand: ellipse.and_then(|ellipse| ellipse.hand),
            axial_ratio_db: ellipse.map_or(AXIAL_RATIO_CAP_DB, |ellipse| ellipse.axial_ratio.0.min(AXIAL_RATIO_CAP_DB)),
        }
    }

    fn reason(&self, term: Term, port: usize, heard_port: &HeardPort<'_>, stages: &Stages, met: &Met) -> String {
        let kit = self.kit;
        let Some(direct) = self.carried.paths.first() else { return String::new() };
        let toward_sender = -direct.arrive;
        match term {
            Term::Power => format!("{:.1} at the connector, {:.1} mW.", kit.power, kit.power.to_watts().0 * 1e3),
            Term::TransmitFeed if kit.transmit_feed_loss.0 == 0.0 => "The antenna sits on the connector.".to_owned(),
            Term::TransmitFeed => "Cable and connectors on the aircraft.".to_owned(),
            Term::TransmitAntenna => off_axis("receiver", &heard_port.sender, &direct.depart),
            Term::OwnFrame if stages.own_frame == 1.0 => "The frame is not in the way.".to_owned(),
            Term::OwnFrame => "The aircraft's own frame is in the way.".to_owned(),
            Term::FreeSpace => format!("{:.1} m at {:.0} MHz.", direct.length, kit.frequency.megahertz()),
            Term::Obstruction => match (&met.obstructed_by, met.clearance) {
                (Some(name), Some(clearance)) if clearance < 0.0 => format!("{name} stands in the direct path."),
                (Some(name), Some(clearance)) => {
                    format!("{name} comes within {clearance:.1} first Fresnel radii of the direct path.")
                }
                _ => "Nothing stands near the direct path.".to_owned(),
            },
            Term::People if self.carried.people.is_empty() => "Nobody stands near any path.".to_owned(),
            Term::People => "People stand near; the mean over their possible places.".to_owned(),
            Term::Polarization => self.polarization_reason(stages, heard_port),
            Term::ReceiveAntenna if kit.ports[port].aims => {
                let boresight = heard_port.port.to_world * Vec3::x();
                format!(
                    "The aircraft is {:.0}° off this antenna's aim; at its best the antenna has {:.1}.",
                    angle(&boresight, &toward_sender),
                    heard_port.port.antenna.peak_gain()
                )
            }
            Term::ReceiveAntenna => off_axis("aircraft", &heard_port.port, &toward_sender),
            Term::OwnHead => match kit.worn_facing {
                None => "Nobody wears this receiver.".to_owned(),
                Some(facing) if stages.own_head == 1.0 => {
                    format!(
                        "The wearer looks {:.0}° past the aircraft: the head is not in the way.",
                        angle(&facing, &toward_sender)
                    )
                }
                Some(facing) => format!(
                    "The aircraft is {:.0}° off where the wearer looks: the head is in the way.",
                    angle(&facing, &toward_sender)
                ),
            },
            Term::ReceiveFeed if kit.ports[port].feed_loss.0 == 0.0 => "The antenna sits on the input.".to_owned(),
            Term::ReceiveFeed => "Cable and connectors at the receiver.".to_owned(),
            Term::OtherPaths => {
                let bounces = self.carried.paths.len().saturating_sub(1);
                let total = heard_port.heard.mean.max(1e-300);
                let scatter = 100.0 * heard_port.heard.diffuse / total;
                let plural = if bounces == 1 { "bounce" } else { "bounces" };
                let behind = if self.carried.behind > 0.0 { "; buildings in the way lower it" } else { "" };
                format!(
                    "{bounces} {plural} and the scatter of the surroundings; scatter makes {scatter:.0} % of the \
                     power{behind}."
                )
            }
            Term::Threshold => format!("What is above the {:.1} that a usable picture needs is margin.", kit.threshold),
        }
    }

    fn polarization_reason(&self, stages: &Stages, heard_port: &HeardPort<'_>) -> String {
        let name = |end: &End<'_>| match end.antenna.hand() {
            Some(Hand::Right) => "right-hand",
            Some(Hand::Left) => "left-hand",
            None => "linear",
        };
        let (sender, port) = (name(&heard_port.sender), name(&heard_port.port));
        let spread = tilt_spread(self.carried, &heard_port.sender, &heard_port.port)
            .map(|(least, most)| {
                format!(" Between {:.1} and {:.1} dB, as the tilts may be.", -most.0 + 0.0, -least.0 + 0.0)
            })
            .unwrap_or_default();
        let lost = 100.0 * (1.0 - stages.polarization);
        format!("A {sender} wave meets a {port} antenna: {lost:.0} % of the power is not taken up.{spread}")
    }
}

/// Where an antenna without an aim sees the other end, and its peak gain.
fn off_axis(other: &str, end: &End<'_>, toward: &Vec3) -> String {
    format!(
        "The {other} is seen {:.0}° off the antenna's axis; at its best the antenna has {:.1}.",
        angle(&(end.to_world * end.antenna.axis()), toward),
        end.antenna.peak_gain()
    )
}

/// Angle between two unit vectors, in degrees.
fn angle(a: &Vec3, b: &Vec3) -> f64 {
    Radians(libm::acos(a.dot(b).clamp(-1.0, 1.0))).degrees().0
}
