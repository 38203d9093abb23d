//! The budget of a link, and what else there is to say about it.

use super::setup::{PairKit, Traced, Yard, mixing, pose};
use super::{PairError, PairLink, Side};
use crate::link::end::{End, norm_sqr};
use crate::link::explain::Moment;
use crate::link::receiver::{aircraft_end, port_end};
use crate::link::report::{Explanation, Term};
use crate::link::stages::STAGE_FLOOR;
use crate::rf::fading::fade_margin;
use crate::rf::polarization::{Ellipse, Hand, ellipse_of};
use crate::rf::{Vec3, diffraction, free_space, noise};
use crate::site::{TunedScene, Way};
use crate::units::{Db, Dbi, Dbm, Hertz, Metres, MetresPerSecond};

/// Outages for which the fade margin is told: one line in ten, in a hundred, in a thousand.
pub const OUTAGES: [f64; 3] = [0.1, 0.01, 0.001];

/// A link heard.
#[derive(Clone, Debug, PartialEq)]
pub struct PairReport {
    /// The budget, the paths and the fading, as a lap's instant is explained.
    pub explanation: Explanation,
    /// Free-space basic transmission loss of the direct path.
    pub free_space_loss: Db,
    /// Length of the direct path.
    pub length: Metres,
    /// Wavelength.
    pub wavelength: Metres,
    /// Radiated power: conducted power less feed loss plus peak gain.
    pub eirp: Dbm,
    /// The transmitting end.
    pub transmitter: EndReport,
    /// The receiving end.
    pub receiver: EndReport,
    /// Polarization efficiency of the direct path, the mean over unknown tilts.
    pub polarization: Db,
    /// What the obstacle does to the direct path; `None` without one.
    pub obstacle: Option<ObstacleReport>,
    /// Noise in the receiver's bandwidth; `None` when a sensitivity was stated instead.
    pub noise: Option<Dbm>,
    /// Level less noise.
    pub carrier_to_noise: Option<Db>,
    /// The level that the picture needs.
    pub threshold: Dbm,
    /// The level of a good picture.
    pub good_threshold: Dbm,
    /// The fading, for each of [`OUTAGES`].
    pub fading: [FadeRow; 3],
    /// What had to be taken for values that nobody stated, and what does not fit together.
    pub remarks: Vec<String>,
}

/// One end as the other sees it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EndReport {
    /// Gain toward the other end, both polarizations together.
    pub gain: Dbi,
    /// Peak gain.
    pub peak_gain: Dbi,
    /// The wave that it sends toward the other end, for a receiver the one it would send, as seen along its own travel.
    /// `None` in an exact null.
    pub ellipse: Option<Ellipse>,
    /// Whether nobody knows the tilt of that ellipse; then `ellipse` shows one of the possible ones.
    pub tilt_is_unknown: bool,
    /// The antenna's hand; `None` when it is linear.
    pub hand: Option<Hand>,
}

/// What an obstacle does to the direct path.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ObstacleReport {
    /// First Fresnel radius where the obstacle stands; `None` beyond an end.
    pub fresnel_radius: Option<Metres>,
    /// Free space between line and obstacle in first Fresnel radii, negative when it is cut; `None` when it stands far off.
    pub clearance: Option<f64>,
    /// What it costs.
    pub loss: Db,
    /// The way that carries most of what is left.
    pub way: Way,
    /// Height of its top above the line.
    pub over_the_line: Metres,
    /// The same as a diffraction parameter, for an endless edge; `None` beyond an end.
    pub nu: Option<f64>,
    /// What one endless opaque edge of this height would cost.
    pub edge_loss: Option<Db>,
}

/// What has to be kept in hand against fading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FadeRow {
    /// The share of time that may be lost.
    pub outage: f64,
    /// How far the mean has to be above the threshold with this link's K-factor.
    pub here: Db,
    /// The same without any direct path (Rayleigh).
    pub rayleigh: Db,
}

/// Hears a link.
///
/// # Errors
/// [`PairError`].
pub fn hear(link: &PairLink) -> Result<PairReport, PairError> {
    link.check()?;
    let pair_kit = PairKit::new(link)?;
    let yard = Yard::new(link)?;
    let tuned = yard.tuned(link)?;
    let (mixing, pose) = (mixing(link), pose());
    let traced = yard.trace(link, &tuned, &mixing);
    let kit = &pair_kit.kit;
    let moment = Moment { carried: &traced.carried, pose: &pose, kit, mixing: &mixing };
    let (met, pruned) = yard.met(&tuned, &traced);
    let explanation = moment.explain((0, 0, 0), MetresPerSecond(link.speed_m_per_s), &met, pruned);
    let nothing = || PairError::Unfit("the two antennas stand in one place".to_owned());
    let direct = traced.carried.paths.first().ok_or_else(nothing)?;
    let (sender, port) = (aircraft_end(kit, &pose.attitude), port_end(kit, 0));
    let (transmitter, receiver) = (end_report(&sender, &direct.depart), end_report(&port, &-direct.arrive));
    let noise = pair_kit.receiver.noise_figure.map(|figure| noise::thermal_noise(pair_kit.receiver.bandwidth, figure));
    let frequency = Hertz(link.frequency_hz);
    let k = Db(explanation.k_db).ratio();
    let polarization =
        explanation.budget.iter().find(|line| line.term == Term::Polarization).map_or(0.0, |line| line.gain_db);
    Ok(PairReport {
        free_space_loss: free_space::basic_transmission_loss(Metres(direct.length), frequency),
        length: Metres(direct.length),
        wavelength: free_space::wavelength(frequency),
        eirp: kit.eirp(),
        transmitter,
        receiver,
        polarization: Db(polarization),
        obstacle: obstacle(link, &traced, &tuned),
        noise,
        carrier_to_noise: noise.map(|noise| Dbm(explanation.level_dbm) - noise),
        threshold: kit.threshold,
        good_threshold: kit.good_threshold,
        fading: OUTAGES.map(|outage| FadeRow {
            outage,
            here: fade_margin(k, outage),
            rayleigh: fade_margin(0.0, outage),
        }),
        remarks: kit.remarks(),
        explanation,
    })
}

fn end_report(end: &End<'_>, toward: &Vec3) -> EndReport {
    let field = end.unshaded_field(toward);
    EndReport {
        // A gain is told down to what no one could measure; below stands the null itself.
        gain: Dbi::from_ratio(norm_sqr(&field).max(STAGE_FLOOR)),
        peak_gain: end.antenna.peak_gain(),
        ellipse: ellipse_of(&field, toward),
        tilt_is_unknown: end.antenna.tilt_is_unknown(),
        hand: end.antenna.hand(),
    }
}

fn obstacle(link: &PairLink, traced: &Traced, tuned: &TunedScene<'_>) -> Option<ObstacleReport> {
    let obstacle = link.obstacle.as_ref()?;
    let (sent, received) = (link.transmitter.height_m, link.receiver.height_m);
    let shadow = traced.paths.get(0).and_then(|direct| direct.obstructions.first().map(|found| tuned.shadow(found)));
    let along = obstacle.distance_m;
    let line = sent + (received - sent) * along / link.distance_m;
    let over_the_line = Metres(obstacle.height_m - line);
    let (to_tx, to_rx) = (Metres(along), Metres(link.distance_m - along));
    let between = to_tx.0 > 0.0 && to_rx.0 > 0.0;
    let wavelength = tuned.wavelength();
    let nu = between.then(|| diffraction::nu_from_height(over_the_line, to_tx, to_rx, wavelength));
    Some(ObstacleReport {
        fresnel_radius: between.then(|| diffraction::fresnel_radius(1, to_tx, to_rx, wavelength)),
        clearance: shadow.map(|shadow| shadow.clearance),
        loss: shadow.map_or(Db(0.0), |shadow| shadow.loss),
        way: shadow.map_or(Way::Clear, |shadow| shadow.way),
        over_the_line,
        nu,
        edge_loss: nu.map(diffraction::knife_edge_loss),
    })
}

impl PairReport {
    /// One of the ends.
    pub fn end(&self, side: Side) -> &EndReport {
        match side {
            Side::Transmitter => &self.transmitter,
            Side::Receiver => &self.receiver,
        }
    }
}
