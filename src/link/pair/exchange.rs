//! A link out of a plan's lap, and an antenna back into the plan.

use nalgebra::Rotation3;

use super::hearing;
use super::setup::{about_z, angles};
use super::{PairEnd, PairError, PairLink, PairObstacle, PairObstacleKind, Side};
use crate::link::flight;
use crate::link::kit::{self, Kit};
use crate::link::place::CROWD_DRAWS;
use crate::link::receiver::{aircraft_end, port_end};
use crate::link::report::Notice;
use crate::plan::check::PlanProblem;
use crate::plan::convert;
use crate::plan::document::{
    AntennaKind, AntennaKit, BlockShape, Feed, Obstacle, ObstacleShape, Placement, Plan, Purpose, StatedHand,
};
use crate::plan::edit;
use crate::plan::presets::has_hand;
use crate::rf::Vec3;
use crate::rf::polarization::Hand;
use crate::site::{BounceOrder, CrowdDraws, Obstruction, Paths, Scene, TracedPath};
use crate::units::{Degrees, Hertz, Radians};

/// A link taken out of a lap.
#[derive(Clone, Debug, PartialEq)]
pub struct TakenLink {
    /// The link.
    pub link: PairLink,
    /// What of the lap's instant a bench has no place for.
    pub left_behind: Vec<LeftBehind>,
}

/// Something that a lap knows and a bench does not.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LeftBehind {
    /// Bounces off what stands about; on a bench only the ground and the obstacle itself bounce.
    Bounces(usize),
    /// More obstacles near the direct path, by name; the one that takes most came along.
    Obstacles(Vec<String>),
    /// The obstacle that takes most, by name: it is a roof of fabric or a crowd, which a bench has not.
    Soft(String),
    /// The hand of an antenna is unknown; the one with the lower level came along.
    HandOf(Side),
}

/// Why an instant cannot be taken.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum TakeError {
    /// The plan cannot be computed there.
    #[error("{}", .0.text)]
    Plan(Notice),
    /// There is no such port.
    #[error("there is no port {got}; this receiver has {count}")]
    Port {
        /// The port asked for.
        got: usize,
        /// How many there are.
        count: usize,
    },
    /// There is no such sample.
    #[error("there is no sample {got}; this lap has {count}")]
    Sample {
        /// The sample asked for.
        got: usize,
        /// How many there are.
        count: usize,
    },
    /// It is no link for a bench.
    #[error(transparent)]
    Link(#[from] PairError),
}

impl From<Notice> for TakeError {
    fn from(notice: Notice) -> Self {
        Self::Plan(notice)
    }
}

/// The link of an entry's port at a sample of the lap.
///
/// Places, attitudes, kit, ground, surroundings and the obstacle that takes most of the direct path come along, so that
/// budget and fading agree with those of [`crate::link::Evaluator::explain`] wherever nothing is left behind.
///
/// # Errors
/// [`TakeError`].
pub fn take(plan: &Plan, entry: usize, port: usize, sample: usize) -> Result<TakenLink, TakeError> {
    let choices = kit::hand_choices(plan, entry)?;
    let flight = flight::fly(&plan.course)?;
    let (Some(at), Some(pose)) = (flight.places.get(sample), flight.poses.get(sample)) else {
        return Err(TakeError::Sample { got: sample, count: flight.poses.len() });
    };
    let instant = AtSample { plan, entry, port, at: *at, attitude: pose.attitude };
    let (obstacle, mut left_behind) = instant.obstacle()?;
    let mut worst: Option<(f64, PairLink)> = None;
    for hands in &choices {
        let kit = kit::kit(plan, entry, *hands)?;
        if port >= kit.ports.len() {
            return Err(TakeError::Port { got: port, count: kit.ports.len() });
        }
        let mut link = instant.link(&kit)?;
        link.obstacle.clone_from(&obstacle);
        link.speed_m_per_s = flight.columns.speed_m_per_s.get(sample).copied().unwrap_or(0.0);
        let level = hearing::hear(&link)?.explanation.level_dbm;
        if worst.as_ref().is_none_or(|(least, _)| level < *least) {
            worst = Some((level, link));
        }
    }
    let (_, link) = worst.ok_or(TakeError::Port { got: port, count: 0 })?;
    left_behind.extend(instant.unknown_hands()?);
    Ok(TakenLink { link, left_behind })
}

/// The plan with the antenna of one end of a bench: the aircraft's own for the transmitter, the port's for the receiver.
///
/// # Errors
/// What would be wrong with the changed plan; the plan given is untouched.
pub fn put(plan: &Plan, entry: usize, port: usize, side: Side, antenna: &AntennaKit) -> Result<Plan, PlanProblem> {
    let missing = || PlanProblem::missing_index("entries", entry, plan.entries.len());
    let mut changed = plan.clone();
    let chosen = changed.entries.get_mut(entry).ok_or_else(missing)?;
    match side {
        Side::Transmitter => kit::video_radio_mut(chosen).ok_or_else(missing)?.antenna = antenna.clone(),
        Side::Receiver => {
            let (id, count) = (&chosen.receiver, plan.receivers.len());
            let receiver = changed.receivers.iter_mut().find(|receiver| receiver.id == *id);
            let receiver = receiver.ok_or_else(|| PlanProblem::missing_index("receivers", 0, count))?;
            let count = receiver.ports.len();
            let at = receiver.ports.get_mut(port);
            at.ok_or_else(|| PlanProblem::missing_index("ports", port, count))?.antenna = antenna.clone();
        }
    }
    edit::checked(changed)
}

/// An obstacle that changes the direct path by less, in decibels, is left behind without a word.
const WORTH_A_WORD: f64 = 0.05;

/// An instant of a lap.
struct AtSample<'a> {
    plan: &'a Plan,
    entry: usize,
    port: usize,
    /// Where the aircraft is.
    at: Vec3,
    /// How it lies.
    attitude: Rotation3<f64>,
}

impl AtSample<'_> {
    fn seat(&self) -> Result<Vec3, Notice> {
        let (_, seat) = kit::seating(self.plan, self.entry, &self.plan.entries[self.entry])?;
        Ok(convert::seat_position(seat))
    }

    /// From the site to the frame of the line: how far it is turned from east, counter-clockwise.
    fn line_angle(&self, seat: &Vec3) -> f64 {
        let along = seat - self.at;
        libm::atan2(along.y, along.x)
    }

    /// The link without what stands in its way.
    fn link(&self, kit: &Kit) -> Result<PairLink, Notice> {
        let (plan, entry) = (self.plan, &self.plan.entries[self.entry]);
        let (receiver, _) = kit::seating(plan, self.entry, entry)?;
        let seat = self.seat()?;
        let along = seat - self.at;
        let radio = entry.radios.iter().find(|radio| radio.purpose == Purpose::Video);
        let radio = radio.ok_or_else(|| Notice::blocking("radios", "an entry needs a video transmitter"))?;
        let port = &receiver.ports[self.port];
        let mut link = PairLink {
            distance_m: (along.x * along.x + along.y * along.y).sqrt(),
            frequency_hz: entry.channel_hz,
            power_dbm: radio.power_dbm,
            transmitter: end(&radio.antenna, &radio.feed, self.at.z, kit.transmitter.hand()),
            receiver: end(&port.antenna, &port.feed, seat.z, kit.ports[self.port].antenna.hand()),
            frame_loss_db: kit.frame_loss.0,
            wearer_off_deg: None,
            ground: Some(plan.site.ground),
            roughness_m: plan.site.roughness_m,
            surroundings: Some(plan.site.surroundings),
            scatter_k_db: plan.site.k_db,
            scatter_xpr_db: plan.site.xpr_db,
            line_sigma_m: plan.course.line_sigma_m,
            speed_m_per_s: 0.0,
            obstacle: None,
            picture: receiver.picture.clone(),
            noise: receiver.noise.clone(),
        };
        if let (Placement::Worn, Some(facing)) = (receiver.place, kit.worn_facing) {
            let (across, toward) = (along.y * facing.x - along.x * facing.y, -along.x * facing.x - along.y * facing.y);
            link.wearer_off_deg = Some(Radians(libm::atan2(-across, toward)).degrees().0);
        }
        let to_line = Rotation3::from_matrix_unchecked(about_z(-self.line_angle(&seat)));
        let aircraft = aircraft_end(kit, &self.attitude).to_world;
        let at_port = port_end(kit, self.port).to_world;
        for (side, attitude) in [(Side::Transmitter, aircraft), (Side::Receiver, at_port)] {
            let (turn_deg, tilt_deg, aside_deg) = angles(&(to_line * attitude), &link, side);
            let end = link.end_mut(side);
            (end.turn_deg, end.tilt_deg, end.aside_deg) = (turn_deg, tilt_deg, aside_deg);
            // What is the same all round has no aim to speak of.
            if matches!(end.antenna.kind, AntennaKind::Dipole | AntennaKind::Whip | AntennaKind::CircularOmni) {
                end.aside_deg = 0.0;
            }
        }
        Ok(link)
    }

    /// The obstacle that takes most of the direct path as a bench shows it, and what has to be left behind.
    fn obstacle(&self) -> Result<(Option<PairObstacle>, Vec<LeftBehind>), TakeError> {
        let (plan, seat) = (self.plan, self.seat()?);
        let blocked = |error: &dyn std::fmt::Display| TakeError::Plan(Notice::blocking("site", error.to_string()));
        let carrier = Hertz(plan.entries[self.entry].channel_hz);
        let scene = Scene::new(&convert::site(&plan.site), carrier).map_err(|error| blocked(&error))?;
        let tuned = scene.tuned(carrier).map_err(|error| blocked(&error))?;
        let mut paths = Paths::new();
        scene.trace(&self.at, &seat, BounceOrder::Single, &mut paths);
        let mut left = Vec::new();
        // An edge beside the line may also gain a little, so the size counts and not the sign.
        let size = |found: &Obstruction| tuned.shadow(found).loss.0.abs();
        let most_of = |path: &TracedPath<'_>| {
            let near = path.obstructions.iter().filter(|found| size(found) > 0.0);
            near.max_by(|a, b| size(a).total_cmp(&size(b))).map(|found| found.obstacle)
        };
        // Where nothing changes the direct path, what stands near the ground bounce comes along.
        let by_the_ground = |path: &TracedPath<'_>| path.bounces.iter().all(|bounce| bounce.obstacle.is_none());
        let most = paths.iter().filter(by_the_ground).find_map(|path| most_of(&path));
        let obstacle_of = |index: u16| plan.site.obstacles.get(usize::from(index));
        let mut taken = None;
        if let Some(obstacle) = most.and_then(obstacle_of) {
            taken = self.on_the_line(obstacle, &seat);
            if taken.is_none() {
                left.push(LeftBehind::Soft(obstacle.name.clone()));
            }
        }
        let mut others: Vec<String> = Vec::new();
        for found in paths.get(0).iter().flat_map(|direct| direct.obstructions) {
            let matters = Some(found.obstacle) != most && size(found) > WORTH_A_WORD;
            if let Some(obstacle) = obstacle_of(found.obstacle).filter(|_| matters) {
                others.push(obstacle.name.clone());
            }
        }
        // Who of a crowd stands near is drawn; nobody near, nothing is left behind.
        let mut people = Vec::new();
        let draws = CrowdDraws::new(&scene, u64::from(plan.seed), CROWD_DRAWS);
        draws.amplitudes(&paths, (0..paths.len()).map(|number| (number, false)), tuned.wavelength(), &mut people);
        let is_crowd = |item: &&Obstacle| !people.is_empty() && matches!(item.shape, ObstacleShape::Crowd(_));
        others.extend(plan.site.obstacles.iter().filter(is_crowd).map(|crowd| crowd.name.clone()));
        others.dedup();
        if !others.is_empty() {
            left.push(LeftBehind::Obstacles(others));
        }
        let off_others = |path: &TracedPath<'_>| {
            path.bounces.iter().any(|bounce| bounce.obstacle.is_some() && bounce.obstacle != most)
        };
        let bounces = paths.iter().filter(off_others).count();
        if bounces > 0 {
            left.push(LeftBehind::Bounces(bounces));
        }
        Ok((taken, left))
    }

    /// An obstacle of the plan in the frame of the line; `None` for what a bench has not.
    fn on_the_line(&self, obstacle: &Obstacle, seat: &Vec3) -> Option<PairObstacle> {
        let (sine, cosine) = libm::sincos(self.line_angle(seat));
        let along_and_aside = |centre: [f64; 2]| {
            let (east, north) = (centre[0] - self.at.x, centre[1] - self.at.y);
            (east * cosine + north * sine, east * sine - north * cosine)
        };
        // A heading in the plan less that of the line.
        let line_heading_deg = 90.0 - Radians(self.line_angle(seat)).degrees().0;
        let usual = PairObstacle::default();
        match &obstacle.shape {
            ObstacleShape::Wall(wall) => {
                let middle = [(wall.from_m[0] + wall.to_m[0]) / 2.0, (wall.from_m[1] + wall.to_m[1]) / 2.0];
                let (distance_m, aside_m) = along_and_aside(middle);
                let side = [wall.to_m[0] - wall.from_m[0], wall.to_m[1] - wall.from_m[1]];
                // On a bench a wall without a turn runs to the right of the line.
                let heading_deg = Radians(libm::atan2(side[0], side[1])).degrees().0;
                Some(PairObstacle {
                    kind: PairObstacleKind::Wall,
                    distance_m,
                    aside_m,
                    width_m: (side[0] * side[0] + side[1] * side[1]).sqrt(),
                    turn_deg: within_half_a_turn(heading_deg - line_heading_deg - 90.0),
                    height_m: wall.height_m,
                    material: wall.material,
                    thickness_m: wall.thickness_m,
                    ..usual
                })
            }
            ObstacleShape::Building(block) | ObstacleShape::Stall(block) => {
                let BlockShape { centre_m, size_m, turn_deg, height_m, thickness_m, material } = *block;
                let (distance_m, aside_m) = along_and_aside(centre_m);
                Some(PairObstacle {
                    kind: PairObstacleKind::Block,
                    distance_m,
                    aside_m,
                    width_m: size_m[0],
                    depth_m: size_m[1],
                    turn_deg: within_half_a_turn(turn_deg - line_heading_deg),
                    height_m,
                    material,
                    thickness_m,
                    ..usual
                })
            }
            ObstacleShape::Tree(tree) => {
                let (distance_m, aside_m) = along_and_aside(tree.centre_m);
                Some(PairObstacle {
                    kind: PairObstacleKind::Tree,
                    distance_m,
                    aside_m,
                    width_m: 2.0 * tree.radius_m,
                    height_m: tree.height_m,
                    base_m: tree.base_m,
                    loss_db_per_m: tree.loss_db_per_m,
                    ..usual
                })
            }
            ObstacleShape::Canopy(_) | ObstacleShape::Crowd(_) | ObstacleShape::Barrier(_) => None,
        }
    }

    /// The ends whose hands the plan leaves open.
    fn unknown_hands(&self) -> Result<Vec<LeftBehind>, Notice> {
        let entry = &self.plan.entries[self.entry];
        let (receiver, _) = kit::seating(self.plan, self.entry, entry)?;
        let radio = entry.radios.iter().find(|radio| radio.purpose == Purpose::Video);
        let at = [
            (Side::Transmitter, radio.map(|radio| &radio.antenna)),
            (Side::Receiver, receiver.ports.get(self.port).map(|port| &port.antenna)),
        ];
        let is_unknown = |antenna: &&AntennaKit| has_hand(antenna.kind) && antenna.hand == StatedHand::Unknown;
        Ok(at
            .into_iter()
            .filter(|(_, antenna)| antenna.as_ref().is_some_and(is_unknown))
            .map(|(side, _)| LeftBehind::HandOf(side))
            .collect())
    }
}

fn end(antenna: &AntennaKit, feed: &Feed, height_m: f64, hand: Option<Hand>) -> PairEnd {
    let hand = hand.map_or(antenna.hand, StatedHand::from);
    PairEnd { antenna: AntennaKit { hand, ..antenna.clone() }, feed: feed.clone(), height_m, ..PairEnd::default() }
}

/// The same direction within -180° and 180°.
fn within_half_a_turn(degrees: f64) -> f64 {
    let turns = (degrees / 360.0 + 0.5).floor();
    Degrees(degrees - 360.0 * turns).0.clamp(-180.0, 180.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::link::{Effort, Evaluator};
    use crate::plan::demo::demo;

    /// The demo plan with nothing but one obstacle.
    fn bare(obstacle: Option<usize>) -> Plan {
        let mut plan = demo();
        let all = std::mem::take(&mut plan.site.obstacles);
        plan.site.obstacles = obstacle.and_then(|index| all.get(index).cloned()).into_iter().collect();
        plan
    }

    #[test]
    fn a_link_taken_out_of_a_lap_has_the_laps_budget() {
        let obstacles = demo().site.obstacles.len();
        let solid: Vec<usize> = (0..obstacles)
            .filter(|&index| {
                !matches!(demo().site.obstacles[index].shape, ObstacleShape::Canopy(_) | ObstacleShape::Crowd(_))
            })
            .collect();
        let (mut compared, mut with_obstacle) = (0, 0);
        for obstacle in solid.into_iter().map(Some).chain([None]) {
            let plan = bare(obstacle);
            let mut evaluator = Evaluator::default();
            let samples = evaluator.report(&plan, Effort::FULL).lap.time_s.len();
            for entry in 0..plan.entries.len() {
                for sample in (entry..samples).step_by(23) {
                    let taken = take(&plan, entry, 0, sample).unwrap();
                    // Where the hand is unknown, the report shows the worse lap and a bench the worse instant.
                    if !taken.left_behind.is_empty() {
                        continue;
                    }
                    with_obstacle += usize::from(taken.link.obstacle.is_some());
                    let there = evaluator.explain(&plan, entry, 0, sample, Effort::FULL).unwrap();
                    let here = hearing::hear(&taken.link).unwrap().explanation;
                    for (line, wanted) in here.budget.iter().zip(&there.budget) {
                        assert!(
                            (line.gain_db - wanted.gain_db).abs() < 1e-6,
                            "{obstacle:?} {entry} {sample} {:?}: {} {}",
                            line.term,
                            line.gain_db,
                            wanted.gain_db
                        );
                    }
                    assert!((here.k_db - there.k_db).abs() < 1e-6);
                    // On a lap a sample stands for some way, on which the phase between two waves turns; on a bench it rests.
                    let apart = (here.outage - there.outage).abs();
                    assert!(
                        apart < 0.15 * there.outage + 3e-6,
                        "{} on a bench, {} on a lap",
                        here.outage,
                        there.outage
                    );
                    assert!((here.fades_per_s - there.fades_per_s).abs() < 1e-6 * (1.0 + there.fades_per_s));
                    compared += 1;
                }
            }
        }
        assert!(compared > 100 && with_obstacle > 20, "{compared} {with_obstacle}");
    }

    #[test]
    fn what_a_bench_has_no_place_for_is_said() {
        let plan = demo();
        let mut said = 0;
        for sample in (0..200).step_by(10) {
            for entry in 0..plan.entries.len() {
                said += take(&plan, entry, 0, sample).unwrap().left_behind.len();
            }
        }
        assert!(said > 0);
        assert!(matches!(take(&plan, 0, 9, 0), Err(TakeError::Port { got: 9, .. })));
        assert!(matches!(take(&plan, 0, 0, 99_999), Err(TakeError::Sample { got: 99_999, .. })));
        assert!(matches!(take(&plan, 99, 0, 0), Err(TakeError::Plan(_))));
    }

    #[test]
    fn an_antenna_goes_into_the_plan_and_changes_nothing_else() {
        let plan = demo();
        let antenna = AntennaKit { gain_dbi: Some(3.25), ..PairEnd::default().antenna };
        for side in Side::ALL {
            let mut changed = put(&plan, 0, 0, side, &antenna).unwrap();
            assert_ne!(changed, plan);
            match side {
                Side::Transmitter => changed.entries[0] = plan.entries[0].clone(),
                Side::Receiver => changed.receivers.clone_from(&plan.receivers),
            }
            assert_eq!(changed, plan);
        }
        assert!(put(&plan, 99, 0, Side::Transmitter, &antenna).is_err());
        assert!(put(&plan, 0, 99, Side::Receiver, &antenna).is_err());
        let absurd = AntennaKit { gain_dbi: Some(99.0), ..antenna };
        assert!(put(&plan, 0, 0, Side::Transmitter, &absurd).is_err());
    }
}
