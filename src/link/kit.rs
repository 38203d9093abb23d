//! The radio side of an entry with one choice of hands, ready to compute with.

use nalgebra::Rotation3;

use super::paths::Mixing;
use super::report::Notice;
use crate::plan::check::quoted;
use crate::plan::convert;
use crate::plan::document::{
    AntennaKind, AntennaKit, Entry, Feed, Placement, Plan, Purpose, Radio, Receiver, Seat, StatedHand, Switching,
};
use crate::plan::presets::{self, Assumed, COMMON_PRACTICE, Tolerance};
use crate::rf::antenna::Antenna;
use crate::rf::exposure::eirp;
use crate::rf::polarization::Hand;
use crate::rf::{Vec3, free_space};
use crate::units::{Db, Dbm, Hertz, Seconds};

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
    /// Values that stand in for unknown ones: first those of the transmitting end.
    pub assumed: Vec<Assumed>,
    /// How many of them are of the transmitting end.
    pub assumed_of_transmitter: usize,
    /// How far stated values may be off.
    pub tolerances: Tolerances,
    /// What models say about the numbers they were given.
    pub caveats: Vec<String>,
}

/// How far the stated power and the stated gains may be off; not at all by default, as where no band is asked for.
#[derive(Clone, Copy, Debug, Default)]
pub struct Tolerances {
    /// The conducted power.
    pub power: Tolerance,
    /// The gain of the transmitting antenna; `None` where a typical value stands in, with a band of its own.
    pub transmit_gain: Option<Tolerance>,
    /// The gain of a receiving antenna: the widest of the ports, of which only one is in use; `None` as above.
    pub receive_gain: Option<Tolerance>,
}

impl Tolerances {
    fn of(radio: &Radio, receiver: &Receiver) -> Self {
        let ports = receiver.ports.iter().filter_map(|port| presets::gain_tolerance(&port.antenna));
        Self {
            power: presets::power_tolerance(radio),
            transmit_gain: presets::gain_tolerance(&radio.antenna),
            receive_gain: ports.max_by(|one, other| one.band.0.total_cmp(&other.band.0)),
        }
    }

    /// Variance that they add to the margin, dB²: the values err independently.
    pub fn variance_db2(&self) -> f64 {
        let all = [Some(self.power), self.transmit_gain, self.receive_gain];
        all.into_iter().flatten().map(|tolerance| tolerance.sigma().0 * tolerance.sigma().0).sum()
    }

    /// All of them in a sentence; none where no band is asked for.
    fn remark(&self) -> Option<String> {
        let gain = |tolerance: Option<Tolerance>, whose: &str| {
            tolerance.map_or_else(String::new, |Tolerance { band }| format!(", {whose} antenna gain ± {} dB", band.0))
        };
        (self.power != Tolerance::default()).then(|| {
            format!(
                "stated values may be off: power ± {} dB{}{} ({COMMON_PRACTICE})",
                self.power.band.0,
                gain(self.transmit_gain, "aircraft's"),
                gain(self.receive_gain, "receiving"),
            )
        })
    }
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
        /// How long the picture stands still after a lost frame.
        freeze: Seconds,
    },
}

/// The hands that one hearing of an entry takes for granted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Hands {
    /// The transmitting antenna's, where its own is unknown.
    pub transmitter: Hand,
    /// The ports', where theirs is unknown: antennas of one pair of goggles are taken to be of one hand.
    pub ports: Hand,
}

/// Every combination of hands that an entry's unknown ones allow; one when none is unknown.
///
/// # Errors
/// A blocking notice when the entry has no receiver or no video transmitter.
pub fn hand_choices(plan: &Plan, index: usize) -> Result<Vec<Hands>, Notice> {
    let entry = entry(plan, index)?;
    let (receiver, _) = seating(plan, index, entry)?;
    let radio = video(index, entry)?;
    let unknown = |antenna: &AntennaKit| presets::has_hand(antenna.kind) && antenna.hand == StatedHand::Unknown;
    let cases = |is_unknown: bool| if is_unknown { StatedHand::Unknown.cases() } else { &[Hand::Right][..] };
    let transmitters = cases(unknown(&radio.antenna));
    let ports = cases(receiver.ports.iter().any(|port| unknown(&port.antenna)));
    Ok(transmitters
        .iter()
        .flat_map(|&transmitter| ports.iter().map(move |&ports| Hands { transmitter, ports }))
        .collect())
}

/// The kit of an entry with every unknown filled in and the unknown hands as given.
///
/// # Errors
/// A blocking notice that names the part which cannot be computed with.
pub fn kit(plan: &Plan, index: usize, hands: Hands) -> Result<Kit, Notice> {
    let entry = entry(plan, index)?;
    let (receiver, seat) = seating(plan, index, entry)?;
    let radio = video(index, entry)?;
    let frequency = Hertz(entry.channel_hz);
    let (mut assumed, mut caveats) = (Vec::new(), Vec::new());
    let mut antenna = |kit: &AntennaKit, unknown: Hand, path: String, assumed: &mut Vec<Assumed>| {
        let hand = match kit.hand {
            StatedHand::Right => Hand::Right,
            StatedHand::Left => Hand::Left,
            StatedHand::Unknown => unknown,
        };
        let resolved =
            presets::resolve_antenna(kit, hand).map_err(|error| Notice::blocking(path, error.to_string()))?;
        assumed.extend(resolved.assumed);
        caveats.extend(resolved.remarks);
        Ok::<Antenna, Notice>(resolved.antenna)
    };
    let feed = |feed: &Feed, assumed: &mut Vec<Assumed>| {
        let (loss, typical) = presets::resolve_feed(feed, frequency);
        assumed.extend(typical);
        loss
    };
    let path = format!("entries[{index}].radios[0].antenna");
    let transmitter = antenna(&radio.antenna, hands.transmitter, path, &mut assumed)?;
    let transmit_feed_loss = feed(&radio.feed, &mut assumed);
    let assumed_of_transmitter = assumed.len();
    let mut ports = Vec::with_capacity(receiver.ports.len());
    for (number, port) in receiver.ports.iter().enumerate() {
        ports.push(PortKit {
            antenna: antenna(
                &port.antenna,
                hands.ports,
                format!("receivers.{}.ports[{number}]", receiver.id),
                &mut assumed,
            )?,
            to_world: convert::port_attitude(seat, port),
            feed_loss: feed(&port.feed, &mut assumed),
            aims: presets::is_directional(port.antenna.kind),
            hand_was_unknown: presets::has_hand(port.antenna.kind) && port.antenna.hand == StatedHand::Unknown,
        });
    }
    if ports.is_empty() {
        return Err(Notice::blocking(format!("receivers.{}", receiver.id), "a receiver needs at least one port"));
    }
    let resolved = presets::resolve_receiver(&receiver.picture, &receiver.noise);
    assumed.extend(resolved.assumed);
    if let Some(freeze) = resolved.freeze {
        caveats.push(format!(
            "after each lost field the picture stays frozen for about {freeze}; frozen fields count like lost ones"
        ));
    }
    let (frame_loss, frame_assumed) = presets::resolve_frame_loss(&radio.mounting);
    assumed.extend(frame_assumed);
    Ok(Kit {
        transmitter,
        mounting: convert::mounting_attitude(&radio.mounting),
        frame_loss,
        power: Dbm(radio.power_dbm),
        transmit_feed_loss,
        frequency,
        ports,
        worn_facing: (receiver.place == Placement::Worn).then(|| convert::seat_facing(seat)),
        threshold: resolved.threshold,
        good_threshold: resolved.good_threshold,
        switching: receiver.switching,
        picture: match resolved.freeze {
            None => PictureKind::Analogue,
            Some(freeze) => PictureKind::Digital { bandwidth: resolved.bandwidth, freeze },
        },
        assumed,
        assumed_of_transmitter,
        tolerances: Tolerances::of(radio, receiver),
        caveats,
    })
}

impl Kit {
    /// Radiated power: conducted power less feed loss plus peak total gain.
    pub fn eirp(&self) -> Dbm {
        eirp(self.power, self.transmit_feed_loss, self.transmitter.peak_gain())
    }

    /// Variance that unknown kit and the tolerances of stated kit add to the margin, dB². Values taken for the same reason on several ports count once:
    /// only one port is in use. The two ends err independently, also with antennas of one kind.
    pub fn kit_variance_db2(&self) -> f64 {
        let (sent, received) = self.assumed.split_at(self.assumed_of_transmitter.min(self.assumed.len()));
        let once = received
            .iter()
            .enumerate()
            .filter(|(index, one)| received[..*index].iter().all(|other| other.what != one.what))
            .map(|(_, one)| one);
        let unknown: f64 = sent.iter().chain(once).map(|assumed| assumed.sigma.0 * assumed.sigma.0).sum();
        unknown + self.tolerances.variance_db2()
    }

    /// The hand that was judged at the ports: of those whose hand was unknown, or else of the first port that has one.
    pub fn judged_port_hand(&self) -> Option<Hand> {
        let unknown = self.ports.iter().find(|port| port.hand_was_unknown);
        unknown.and_then(|port| port.antenna.hand()).or_else(|| self.ports.iter().find_map(|port| port.antenna.hand()))
    }

    /// Everything to know about the kit, in sentences, each once.
    pub fn remarks(&self) -> Vec<String> {
        let mut remarks: Vec<String> = Vec::new();
        let assumed = self.assumed.iter().map(|Assumed { what, value, band, unit, source, .. }| {
            format!("{what} is taken as {value} ± {band} {unit} ({source})")
        });
        for remark in assumed.chain(self.tolerances.remark()).chain(self.caveats.iter().cloned()) {
            if !remarks.contains(&remark) {
                remarks.push(remark);
            }
        }
        remarks
    }
}

/// The receiver that follows an entry, and its seat.
///
/// # Errors
/// A blocking notice when a reference leads nowhere.
pub fn seating<'a>(plan: &'a Plan, index: usize, entry: &Entry) -> Result<(&'a Receiver, &'a Seat), Notice> {
    let receiver = plan.receivers.iter().find(|receiver| receiver.id == entry.receiver).ok_or_else(|| {
        Notice::blocking(
            format!("entries[{index}].receiver"),
            format!("there is no receiver {}", quoted(&entry.receiver)),
        )
    })?;
    let seat = plan.seats.iter().find(|seat| seat.id == receiver.seat).ok_or_else(|| {
        Notice::blocking(
            format!("receivers.{}.seat", receiver.id),
            format!("there is no seat {}", quoted(&receiver.seat)),
        )
    })?;
    Ok((receiver, seat))
}

/// How phases and scatter mix on a plan's site at a carrier.
pub fn mixing(plan: &Plan, frequency: Hertz) -> Mixing {
    let site = &plan.site;
    Mixing {
        wavenumber: free_space::wavenumber(frequency),
        line_sigma: plan.course.line_sigma_m,
        surroundings_k: site.k_db.map_or(site.surroundings.k(), Db).ratio(),
        surroundings: Some(site.surroundings),
        xpr: site.xpr_db.map_or(site.surroundings.xpr(), Db),
    }
}

/// Standard deviation of shadowing on a plan's site: in line of sight, and with the direct path blocked.
pub fn shadowing(plan: &Plan) -> (Db, Db) {
    let lit = plan.site.shadowing_db.map_or(plan.site.surroundings.shadowing_sigma(), Db);
    let blocked = plan.site.surroundings.blocked_sigma();
    (lit, if blocked > lit { blocked } else { lit })
}

/// The video transmitter of an entry, to change it.
pub fn video_radio_mut(entry: &mut Entry) -> Option<&mut Radio> {
    entry.radios.iter_mut().find(|radio| radio.purpose == Purpose::Video)
}

/// Turns an antenna to a hand, or to linear: its own kind where it can be, else the typical one of the other sort.
pub fn turn(antenna: &mut AntennaKit, hand: Option<Hand>) {
    match hand {
        Some(hand) if presets::has_hand(antenna.kind) => antenna.hand = hand.into(),
        Some(hand) => *antenna = AntennaKit::of_kind(AntennaKind::CircularOmni, hand.into()),
        None if presets::has_hand(antenna.kind) => {
            *antenna = AntennaKit::of_kind(AntennaKind::Dipole, StatedHand::Unknown);
        }
        None => {}
    }
}

fn entry(plan: &Plan, index: usize) -> Result<&Entry, Notice> {
    plan.entries.get(index).ok_or_else(|| Notice::blocking(format!("entries[{index}]"), "there is no such entry"))
}

fn video(index: usize, entry: &Entry) -> Result<&Radio, Notice> {
    entry
        .radios
        .iter()
        .find(|radio| radio.purpose == Purpose::Video)
        .ok_or_else(|| Notice::blocking(format!("entries[{index}].radios"), "an entry needs a video transmitter"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::demo;

    fn variance(plan: &Plan) -> f64 {
        let hands = hand_choices(plan, 0).expect("an entry")[0];
        kit(plan, 0, hands).expect("a kit").kit_variance_db2()
    }

    /// By hand: a band of ± b has the variance b²/3. The demo states everything: power ± 1.5, its omni ± 0.7 (no wider than
    /// what is taken for an omni that nobody knows), a patch and an omni at the goggles, of which the patch is off the most,
    /// ± 1.
    #[test]
    fn tolerances_of_stated_values_add_as_squares() {
        let mut plan = demo();
        assert!((variance(&plan) - (2.25 + 0.49 + 1.0) / 3.0).abs() < 1e-12);
        plan.entries[0].radios[0].power_is_measured = true;
        assert!((variance(&plan) - (0.25 + 0.49 + 1.0) / 3.0).abs() < 1e-12);
        plan.entries[0].radios[0].antenna.gain_is_measured = true;
        plan.receivers[0].ports.iter_mut().for_each(|port| port.antenna.gain_is_measured = true);
        assert!((variance(&plan) - (0.25 + 0.25 + 0.25) / 3.0).abs() < 1e-12);
        // Nobody knows the gain: the typical value's own band, ± 0.7, whatever was ticked.
        plan.entries[0].radios[0].antenna.gain_dbi = None;
        assert!((variance(&plan) - (0.25 + 0.49 + 0.25) / 3.0).abs() < 1e-12);
    }

    #[test]
    fn tolerances_are_said_with_the_rest_that_is_taken_for_granted() {
        let mut plan = demo();
        let remarks = |plan: &Plan| {
            let hands = hand_choices(plan, 0).expect("an entry")[0];
            kit(plan, 0, hands).expect("a kit").remarks()
        };
        assert_eq!(
            remarks(&plan),
            [
                "stated values may be off: power ± 1.5 dB, aircraft's antenna gain ± 0.7 dB, receiving antenna gain ± 1 dB (common practice, no source)"
            ]
        );
        plan.receivers[0].ports.iter_mut().for_each(|port| port.antenna.gain_dbi = None);
        assert!(!remarks(&plan).iter().any(|remark| remark.contains("receiving antenna")));
    }
}
