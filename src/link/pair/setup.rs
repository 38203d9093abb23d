//! A link set up: its site, its kit, where its ends are and how they are turned.
//!
//! The transmitter stands at the origin, the receiver due east of it; a lap's own conversions do the rest.

use nalgebra::{Matrix3, Rotation3};

use super::{PairEnd, PairError, PairLink, PairObstacle, PairObstacleKind, Side};
use crate::link::flight::SamplePose;
use crate::link::kit::{Kit, PictureKind, PortKit, Tolerances};
use crate::link::paths::{self, Carried, Mixing};
use crate::link::place::{Met, Place};
use crate::plan::convert;
use crate::plan::document::{
    BlockShape, Obstacle, ObstacleShape, Picture, SitePlan, StatedHand, Switching, TreeShape, WallShape,
};
use crate::plan::presets::{self, ResolvedReceiver};
use crate::rf::fading::Surroundings;
use crate::rf::material::Material;
use crate::rf::polarization::Hand;
use crate::rf::{Vec3, free_space};
use crate::site::{BounceOrder, CrowdDraws, Paths, Pruned, Scene, SiteError, TunedScene};
use crate::units::{Db, Dbm, Degrees, Hertz, Radians, Seconds};

/// The heading of the line in the site, clockwise from north.
const LINE_HEADING_DEG: f64 = 90.0;

/// The kit of a link, its antennas worked out. They depend on neither places nor carrier, so one kit serves a whole sweep.
#[derive(Clone, Debug)]
pub(super) struct PairKit {
    pub kit: Kit,
    pub receiver: ResolvedReceiver,
}

impl PairKit {
    /// Works the kit of a checked link out.
    pub fn new(link: &PairLink) -> Result<Self, PairError> {
        let (mut assumed, mut caveats) = (Vec::new(), Vec::new());
        let mut antenna = |side: Side| {
            let end = link.end(side);
            let hand = if end.antenna.hand == StatedHand::Left { Hand::Left } else { Hand::Right };
            let resolved = presets::resolve_antenna(&end.antenna, hand)
                .map_err(|error| PairError::Unfit(format!("the {}'s antenna: {error}", side.word())))?;
            assumed.extend(resolved.assumed);
            caveats.extend(resolved.remarks);
            Ok::<_, PairError>(resolved.antenna)
        };
        let (transmitter, at_port) = (antenna(Side::Transmitter)?, antenna(Side::Receiver)?);
        let receiver = presets::resolve_receiver(&link.picture, &link.noise);
        assumed.extend(receiver.assumed.iter().cloned());
        let picture = match link.picture {
            Picture::Analogue { .. } => PictureKind::Analogue,
            Picture::Digital { freeze_s, .. } => {
                PictureKind::Digital { bandwidth: receiver.bandwidth, freeze: Seconds(freeze_s) }
            }
        };
        let port = PortKit {
            antenna: at_port,
            to_world: Rotation3::identity(),
            feed_loss: Db(0.0),
            aims: presets::is_directional(link.receiver.antenna.kind),
            hand_was_unknown: false,
        };
        let kit = Kit {
            transmitter,
            mounting: Rotation3::identity(),
            frame_loss: Db(link.frame_loss_db),
            power: Dbm(link.power_dbm),
            transmit_feed_loss: Db(0.0),
            frequency: Hertz(link.frequency_hz),
            ports: vec![port],
            worn_facing: None,
            threshold: receiver.threshold,
            good_threshold: receiver.good_threshold,
            switching: Switching::Slow,
            picture,
            // No lap, no confidence: nobody asks which end they are of.
            assumed,
            assumed_of_transmitter: 0,
            tolerances: Tolerances::default(),
            caveats,
        };
        let mut set_up = Self { kit, receiver };
        set_up.turn(link);
        for feed in [&link.transmitter.feed, &link.receiver.feed] {
            set_up.kit.assumed.extend(presets::resolve_feed(feed, set_up.kit.frequency).1);
        }
        Ok(set_up)
    }

    /// Turns the ends as the link says and tunes the feeds to its carrier; antennas and receiver stay.
    pub fn turn(&mut self, link: &PairLink) {
        let frequency = Hertz(link.frequency_hz);
        self.kit.frequency = frequency;
        self.kit.transmit_feed_loss = presets::resolve_feed(&link.transmitter.feed, frequency).0;
        self.kit.mounting = attitude(&link.transmitter, link, Side::Transmitter);
        if let Some(port) = self.kit.ports.first_mut() {
            port.feed_loss = presets::resolve_feed(&link.receiver.feed, frequency).0;
            port.to_world = attitude(&link.receiver, link, Side::Receiver);
        }
        self.kit.worn_facing = link.wearer_off_deg.map(|off| {
            // Level, as a face is; the transmitter is due west and north is right of that.
            let (sine, cosine) = libm::sincos(Degrees(off).radians().0);
            Vec3::new(-cosine, sine, 0.0)
        });
    }
}

/// How an upright level aircraft lies: the kit's mounting holds all the turns of a link.
pub(super) fn pose() -> SamplePose {
    SamplePose { attitude: Rotation3::identity(), velocity: Vec3::zeros(), weight: 1.0 }
}

/// Where an end is.
pub(super) fn place_of(link: &PairLink, side: Side) -> Vec3 {
    match side {
        Side::Transmitter => Vec3::new(0.0, 0.0, link.transmitter.height_m),
        Side::Receiver => Vec3::new(link.distance_m, 0.0, link.receiver.height_m),
    }
}

/// How phases and scatter mix, as on a plan's site.
pub(super) fn mixing(link: &PairLink) -> Mixing {
    let class = |stated: Option<f64>, of_class: fn(Surroundings) -> Db| {
        stated.map(Db).or_else(|| link.surroundings.map(of_class))
    };
    Mixing {
        wavenumber: free_space::wavenumber(Hertz(link.frequency_hz)),
        line_sigma: link.line_sigma_m,
        // Without surroundings nothing is scattered: the direct path is infinitely stronger.
        surroundings_k: match link.surroundings {
            None => f64::INFINITY,
            Some(_) => class(link.scatter_k_db, |class| class.k()).map_or(f64::INFINITY, Db::ratio),
        },
        surroundings: link.surroundings,
        xpr: class(link.scatter_xpr_db, |class| class.xpr()).unwrap_or(Db(0.0)),
    }
}

/// The site of a link.
pub(super) struct Yard {
    place: Place,
    bounces: BounceOrder,
}

/// The paths of a link at its carrier.
pub(super) struct Traced {
    pub carried: Carried,
    pub paths: Paths,
}

impl Yard {
    /// Sets the site up.
    pub fn new(link: &PairLink) -> Result<Self, PairError> {
        let unfit = |error: SiteError| PairError::Unfit(error.to_string());
        let scene = Scene::new(&convert::site(&site(link)), Hertz(link.frequency_hz)).map_err(unfit)?;
        let crowd = CrowdDraws::new(&scene, 0, 0);
        let name = link.obstacle.as_ref().map(|obstacle| obstacle_name(obstacle.kind).to_owned());
        let place = Place { scene, crowd, names: name.into_iter().collect(), ids: vec![String::new()] };
        let bounces = if link.ground.is_some() { BounceOrder::Single } else { BounceOrder::Direct };
        for side in Side::ALL {
            if place.scene.inside(&place_of(link, side)).is_some() {
                return Err(PairError::Inside(side));
            }
        }
        Ok(Self { place, bounces })
    }

    /// The site at the link's carrier.
    pub fn tuned(&self, link: &PairLink) -> Result<TunedScene<'_>, PairError> {
        self.place.scene.tuned(Hertz(link.frequency_hz)).map_err(|error| PairError::Unfit(error.to_string()))
    }

    /// Finds the paths and carries them.
    pub fn trace(&self, link: &PairLink, tuned: &TunedScene<'_>, mixing: &Mixing) -> Traced {
        let images = self.place.scene.images(&place_of(link, Side::Receiver), self.bounces);
        let mut paths = Paths::new();
        images.trace(&place_of(link, Side::Transmitter), &mut paths);
        let carried = paths::carry(&self.place, tuned, &paths, paths::faint(mixing));
        Traced { carried, paths }
    }

    /// What each path met on its way.
    pub fn met(&self, tuned: &TunedScene<'_>, traced: &Traced) -> (Vec<Met>, Pruned) {
        (traced.paths.iter().map(|path| self.place.met(tuned, &path)).collect(), traced.paths.pruned())
    }
}

/// What an obstacle is called.
pub fn obstacle_name(kind: PairObstacleKind) -> &'static str {
    match kind {
        PairObstacleKind::Wall => "The wall",
        PairObstacleKind::Block => "The block",
        PairObstacleKind::Tree => "The tree",
    }
}

fn site(link: &PairLink) -> SitePlan {
    let class = link.surroundings.unwrap_or(Surroundings::OpenField);
    SitePlan {
        width_m: link.distance_m,
        depth_m: link.distance_m,
        ground: link.ground.unwrap_or(Material::MediumDryGround),
        roughness_m: link.roughness_m,
        surroundings: class,
        k_db: None,
        xpr_db: None,
        shadowing_db: None,
        wet: false,
        obstacles: link.obstacle.iter().map(shape).collect(),
    }
}

fn shape(obstacle: &PairObstacle) -> Obstacle {
    let centre_m = [obstacle.distance_m, -obstacle.aside_m];
    let shape = match obstacle.kind {
        PairObstacleKind::Wall => {
            // Across the line, turned clockwise from above: the end on the right goes toward the transmitter.
            let (sine, cosine) = libm::sincos(Degrees(obstacle.turn_deg).radians().0);
            let half = [-sine * obstacle.width_m / 2.0, -cosine * obstacle.width_m / 2.0];
            ObstacleShape::Wall(WallShape {
                from_m: [centre_m[0] - half[0], centre_m[1] - half[1]],
                to_m: [centre_m[0] + half[0], centre_m[1] + half[1]],
                height_m: obstacle.height_m,
                thickness_m: obstacle.thickness_m,
                material: obstacle.material,
            })
        }
        PairObstacleKind::Block => ObstacleShape::Building(BlockShape {
            centre_m,
            // A plan counts a turn from north, and the depth of a block lies along the line.
            size_m: [obstacle.width_m, obstacle.depth_m],
            turn_deg: obstacle.turn_deg + LINE_HEADING_DEG,
            height_m: obstacle.height_m,
            thickness_m: obstacle.thickness_m,
            material: obstacle.material,
        }),
        PairObstacleKind::Tree => ObstacleShape::Tree(TreeShape {
            centre_m,
            radius_m: obstacle.width_m / 2.0,
            base_m: obstacle.base_m,
            height_m: obstacle.height_m,
            loss_db_per_m: obstacle.loss_db_per_m,
        }),
    };
    Obstacle { id: "o".to_owned(), name: obstacle_name(obstacle.kind).to_owned(), shape }
}

/// The level frame of an end (x toward the other end, z up) and how far the other end is above it.
fn level_frame(link: &PairLink, side: Side) -> (Matrix3<f64>, f64) {
    let (sign, rise) = match side {
        Side::Transmitter => (1.0, link.receiver.height_m - link.transmitter.height_m),
        Side::Receiver => (-1.0, link.transmitter.height_m - link.receiver.height_m),
    };
    (Matrix3::new(sign, 0.0, 0.0, 0.0, sign, 0.0, 0.0, 0.0, 1.0), libm::atan2(rise, link.distance_m))
}

/// From the frame of an end's antenna to the site.
fn attitude(end: &PairEnd, link: &PairLink, side: Side) -> Rotation3<f64> {
    let radians = |degrees: f64| Degrees(degrees).radians().0;
    let (level, rise) = level_frame(link, side);
    // The turn is about the line: lower the line to level, turn about x, raise it again; then comes the tilt.
    let raised = about_y(-rise) * about_x(radians(end.turn_deg)) * about_y(rise - radians(end.tilt_deg));
    Rotation3::from_matrix_unchecked(level * raised * about_z(-radians(end.aside_deg)))
}

/// The turn, tilt and aside that give an antenna of this attitude, in degrees: the inverse of what a link does with them.
/// Where the tilt leaves one of the others open, aside is zero.
pub(super) fn angles(attitude: &Rotation3<f64>, link: &PairLink, side: Side) -> (f64, f64, f64) {
    let (level, rise) = level_frame(link, side);
    // about_x(turn) * about_y(rise - tilt) * about_z(-aside)
    let m = about_y(rise) * level.transpose() * attitude.matrix();
    let middle = libm::asin(m[(0, 2)].clamp(-1.0, 1.0));
    let level_part = m[(0, 0)] * m[(0, 0)] + m[(0, 1)] * m[(0, 1)];
    let (turn, aside) = if level_part < 1e-20 {
        (libm::atan2(m[(2, 1)], m[(1, 1)]), 0.0)
    } else {
        (libm::atan2(-m[(1, 2)], m[(2, 2)]), libm::atan2(m[(0, 1)], m[(0, 0)]))
    };
    let degrees = |radians: f64| Radians(radians).degrees().0;
    (degrees(turn), degrees(rise - middle), degrees(aside))
}

fn about_x(angle: f64) -> Matrix3<f64> {
    let (sine, cosine) = libm::sincos(angle);
    Matrix3::new(1.0, 0.0, 0.0, 0.0, cosine, -sine, 0.0, sine, cosine)
}

fn about_y(angle: f64) -> Matrix3<f64> {
    let (sine, cosine) = libm::sincos(angle);
    Matrix3::new(cosine, 0.0, sine, 0.0, 1.0, 0.0, -sine, 0.0, cosine)
}

pub(super) fn about_z(angle: f64) -> Matrix3<f64> {
    let (sine, cosine) = libm::sincos(angle);
    Matrix3::new(cosine, -sine, 0.0, sine, cosine, 0.0, 0.0, 0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tilt_leans_back_a_turn_is_clockwise_and_aside_is_to_the_right() {
        let flat = PairLink { transmitter: PairEnd::default(), receiver: PairEnd::default(), ..PairLink::default() };
        for (side, forward) in [(Side::Transmitter, Vec3::x()), (Side::Receiver, -Vec3::x())] {
            let right = forward.cross(&Vec3::z());
            let turned = |turn_deg, tilt_deg, aside_deg| {
                attitude(&PairEnd { turn_deg, tilt_deg, aside_deg, ..PairEnd::default() }, &flat, side)
            };
            let is = |got: Vec3, wanted: Vec3| assert!((got - wanted).norm() < 1e-12, "{side:?}: {got} {wanted}");
            is(turned(0.0, 0.0, 0.0) * Vec3::x(), forward);
            is(turned(0.0, 90.0, 0.0) * Vec3::x(), Vec3::z());
            is(turned(0.0, 90.0, 0.0) * Vec3::z(), -forward);
            is(turned(90.0, 0.0, 0.0) * Vec3::z(), right);
            is(turned(0.0, 0.0, 90.0) * Vec3::x(), right);
        }
    }

    #[test]
    fn the_angles_of_an_attitude_give_it_back() {
        for (turn_deg, tilt_deg, aside_deg) in
            [(20.0, -35.0, 110.0), (-170.0, 40.0, -3.0), (0.0, 0.0, 0.0), (75.0, 12.0, 180.0)]
        {
            for side in Side::ALL {
                let mut link = PairLink { distance_m: 11.0, ..PairLink::default() };
                *link.end_mut(side) = PairEnd { height_m: 4.0, turn_deg, tilt_deg, aside_deg, ..PairEnd::default() };
                let wanted = attitude(link.end(side), &link, side);
                let (turn_deg, tilt_deg, aside_deg) = angles(&wanted, &link, side);
                let end = PairEnd { turn_deg, tilt_deg, aside_deg, ..link.end(side).clone() };
                let difference = attitude(&end, &link, side).matrix() - wanted.matrix();
                assert!(difference.norm() < 1e-12, "{side:?} {turn_deg} {tilt_deg} {aside_deg}");
            }
        }
    }
}
