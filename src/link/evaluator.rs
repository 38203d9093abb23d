//! The staged evaluation of a plan, each stage kept by a fingerprint of what it reads.
//!
//! `geometry` (place and lap, no frequency, no antenna) → `carried` (one frequency) → `heard` (one kit, one choice of
//! hands) → report. A turned hand traces nothing; a new channel traces nothing either.

use std::rc::Rc;

use super::carry::{self, Geometry};
use super::explain::Moment;
use super::flight::{self, Flight};
use super::hear::{Carried, Mixing};
use super::judge_entry::{self, Judged};
use super::kit::{self, Kit};
use super::lap::Goal;
use super::report::{BudgetLine, EntryReport, Explanation, HandComparison, HandComparisonRow, Notice, Report};
use super::stage::{Key, Stage, key};
use crate::plan::convert;
use crate::plan::document::Plan;
use crate::rf::Vec3;
use crate::rf::polarization::Hand;
use crate::site::{CrowdDraws, Scene};
use crate::units::{Db, Hertz, MetresPerSecond};

/// How thoroughly a lap is sampled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Effort {
    /// The plan's step is taken this many times over, at least once.
    pub every: u32,
}

impl Effort {
    /// Every sample.
    pub const FULL: Effort = Effort { every: 1 };
    /// Every fourth sample: enough while something is being dragged.
    pub const DRAG: Effort = Effort { every: 4 };
}

/// Draws of the crowd that outage is averaged over. With 16, the share of the lap's outage that stands on the crowd has a
/// relative standard error of at most a quarter of one draw's spread.
pub const CROWD_DRAWS: usize = 16;

/// Why an instant cannot be explained.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ExplainError {
    /// The entry could not be judged, or does not exist.
    #[error("entry {entry} could not be judged: {why}")]
    Entry {
        /// Index of the entry.
        entry: usize,
        /// Why.
        why: String,
    },
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
}

/// The carrier a scene is prepared for when no entry names one.
const LOWEST_CARRIER: Hertz = Hertz(5.6e9);

/// A scene with its crowd.
#[derive(Debug)]
pub struct Place {
    /// The prepared site.
    pub scene: Scene,
    /// The draws of its crowd.
    pub crowd: CrowdDraws,
    /// Names of its obstacles, in order.
    pub names: Vec<String>,
    /// Ids of its obstacles, in order.
    pub ids: Vec<String>,
}

/// Evaluates plans and keeps what can be used again.
#[derive(Debug)]
pub struct Evaluator {
    flights: Stage<Result<Flight, Notice>>,
    places: Stage<Result<Place, Notice>>,
    geometries: Stage<Result<Geometry, Notice>>,
    carried: Stage<Vec<Carried>>,
    judged: Stage<Result<Judged, Notice>>,
}

impl Default for Evaluator {
    fn default() -> Self {
        // A plan of 16 entries on 8 seats fits, with the version before it for undo and for dragging back and forth.
        Self {
            flights: Stage::keeping(3),
            places: Stage::keeping(3),
            geometries: Stage::keeping(16),
            carried: Stage::keeping(32),
            judged: Stage::keeping(96),
        }
    }
}

/// What all entries share.
struct Ground {
    flight: Rc<Result<Flight, Notice>>,
    flight_key: Key,
    place: Rc<Result<Place, Notice>>,
    place_key: Key,
}

/// An entry ready to be heard.
struct Ready {
    geometry: Rc<Result<Geometry, Notice>>,
    carried: Rc<Vec<Carried>>,
    carried_key: Key,
    mixing: Mixing,
}

impl Evaluator {
    /// Judges every entry of a plan, alone in the air.
    ///
    /// What cannot be computed is left out and said in [`Report::notices`]. The plan should have passed
    /// [`crate::plan::check`]; one that has not gives notices or odd numbers, never a panic.
    pub fn report(&mut self, plan: &Plan, effort: Effort) -> Report {
        let ground = self.ground(plan, effort);
        let mut notices = Vec::new();
        let flight = match &*ground.flight {
            Ok(flight) => flight,
            Err(notice) => {
                return Report { lap: Default::default(), entries: Vec::new(), notices: vec![notice.clone()] };
            }
        };
        notices.extend(flight.notices.iter().cloned());
        if let Err(notice) = &*ground.place {
            notices.push(notice.clone());
            return Report { lap: flight.columns.clone(), entries: Vec::new(), notices };
        }
        let mut entries = Vec::new();
        for index in 0..plan.entries.len() {
            match self.entry(plan, &ground, index) {
                Ok(report) => entries.push(report),
                Err(notice) => notices.push(notice),
            }
        }
        Report { lap: flight.columns.clone(), entries, notices }
    }

    /// How an entry would do with a right-hand, a left-hand and a linear antenna on the aircraft, all else as it is.
    ///
    /// The circular ones are the entry's own antenna, or a typical circular omni if it is linear; the linear one is the
    /// entry's own, or a half-wave dipole.
    ///
    /// # Errors
    /// What keeps the entry from being judged.
    pub fn compare_hands(&mut self, plan: &Plan, entry: usize, effort: Effort) -> Result<HandComparison, Notice> {
        let mut rows = Vec::new();
        for hand in [Some(Hand::Right), Some(Hand::Left), None] {
            let mut changed = plan.clone();
            let Some(radio) = changed.entries.get_mut(entry).and_then(kit::video_radio_mut) else {
                return Err(Notice::blocking(
                    format!("entries[{entry}]"),
                    "there is no such entry with a video transmitter",
                ));
            };
            kit::turn(&mut radio.antenna, hand);
            let ground = self.ground(&changed, effort);
            let report = self.entry(&changed, &ground, entry)?;
            rows.push(HandComparisonRow {
                hand,
                verdict: report.verdict,
                picture_share: report.picture_share,
                reserve_db: report.reserve_db,
                margin_p1_db: report.margin_p1_db,
                outage: report.together.outage,
            });
        }
        Ok(HandComparison { entry, rows })
    }

    /// One instant of one port of an entry, with the hands that its report shows.
    ///
    /// # Errors
    /// [`ExplainError`] for what does not exist or could not be judged.
    pub fn explain(
        &mut self,
        plan: &Plan,
        entry: usize,
        port: usize,
        sample: usize,
        effort: Effort,
    ) -> Result<Explanation, ExplainError> {
        self.with_entry(plan, entry, effort, |flight, place, ready, geometry, kit| {
            check_port(kit, port)?;
            let count = flight.poses.len();
            if sample >= count {
                return Err(ExplainError::Sample { got: sample, count });
            }
            let instant =
                Moment { carried: &ready.carried[sample], pose: &flight.poses[sample], kit, mixing: &ready.mixing };
            let speed = MetresPerSecond(flight.columns.speed_m_per_s[sample]);
            let met = carry::met(place, &geometry.paths[sample], kit.frequency);
            Ok(instant.explain((entry, port, sample), speed, &met))
        })
    }

    /// The ladder of every sample of a port, in order; empty for what does not exist or could not be judged.
    pub fn budgets(&mut self, plan: &Plan, entry: usize, port: usize, effort: Effort) -> Vec<Vec<BudgetLine>> {
        self.with_entry(plan, entry, effort, |flight, place, ready, geometry, kit| {
            check_port(kit, port)?;
            let tuned = place
                .scene
                .tuned(kit.frequency)
                .map_err(|error| ExplainError::Entry { entry, why: error.to_string() })?;
            Ok(flight
                .poses
                .iter()
                .enumerate()
                .map(|(sample, pose)| {
                    let instant = Moment { carried: &ready.carried[sample], pose, kit, mixing: &ready.mixing };
                    let met = carry::met_direct(place, &tuned, &geometry.paths[sample]);
                    instant.budget(port, &instant.hear(port), &met)
                })
                .collect())
        })
        .unwrap_or_default()
    }

    /// How many results each stage has made so far, from flight to judgement: what changes really recomputed.
    pub fn made(&self) -> [usize; 5] {
        [self.flights.made(), self.places.made(), self.geometries.made(), self.carried.made(), self.judged.made()]
    }

    fn with_entry<T>(
        &mut self,
        plan: &Plan,
        entry: usize,
        effort: Effort,
        with: impl FnOnce(&Flight, &Place, &Ready, &Geometry, &Kit) -> Result<T, ExplainError>,
    ) -> Result<T, ExplainError> {
        let because = |notice: &Notice| ExplainError::Entry { entry, why: notice.text.clone() };
        let ground = self.ground(plan, effort);
        let (flight, place) = match (&*ground.flight, &*ground.place) {
            (Ok(flight), Ok(place)) => (flight, place),
            (Err(notice), _) | (_, Err(notice)) => return Err(because(notice)),
        };
        let ready = self.ready(plan, &ground, flight, place, entry).map_err(|notice| because(&notice))?;
        let judged = self.judge(plan, &ground, flight, place, &ready, entry);
        let judged = judged.as_ref().as_ref().map_err(because)?;
        let geometry = ready.geometry.as_ref().as_ref().map_err(because)?;
        with(flight, place, &ready, geometry, &judged.kit)
    }

    fn ground(&mut self, plan: &Plan, effort: Effort) -> Ground {
        let flight_key = key(&(&plan.course, effort.every), &[]);
        let flight = self.flights.get(flight_key, || flight::fly(&plan.course, effort));
        let site = &plan.site;
        let lowest = plan.entries.iter().map(|entry| entry.channel_hz).fold(f64::INFINITY, f64::min);
        let place_key = key(
            &(
                lowest.is_finite().then_some(lowest),
                &site.ground,
                site.roughness_m,
                site.wet,
                &site.obstacles,
                plan.seed,
            ),
            &[],
        );
        let place = self.places.get(place_key, || place(plan));
        Ground { flight, flight_key, place, place_key }
    }

    fn entry(&mut self, plan: &Plan, ground: &Ground, index: usize) -> Result<EntryReport, Notice> {
        let flight = ground.flight.as_ref().as_ref().map_err(Notice::clone)?;
        let place = ground.place.as_ref().as_ref().map_err(Notice::clone)?;
        let ready = self.ready(plan, ground, flight, place, index)?;
        let judged = self.judge(plan, ground, flight, place, &ready, index);
        let judged = judged.as_ref().as_ref().map_err(Notice::clone)?;
        let entry = &plan.entries[index];
        let mut report = judged.report.clone();
        report.index = index;
        report.id.clone_from(&entry.id);
        report.name.clone_from(&entry.name);
        report.receiver.clone_from(&entry.receiver);
        Ok(report)
    }

    fn ready(
        &mut self,
        plan: &Plan,
        ground: &Ground,
        flight: &Flight,
        place: &Place,
        index: usize,
    ) -> Result<Ready, Notice> {
        let entry = plan
            .entries
            .get(index)
            .ok_or_else(|| Notice::blocking(format!("entries[{index}]"), "there is no such entry"))?;
        let (_, seat) = kit::seating(plan, index, entry)?;
        let at = Vec3::new(seat.x_m, seat.y_m, seat.height_m);
        let geometry_key = key(&[seat.x_m, seat.y_m, seat.height_m], &[ground.flight_key, ground.place_key]);
        let geometry = self.geometries.get(geometry_key, || {
            carry::trace_lap(place, flight, &at).map_err(|why| Notice::blocking(format!("seats[{}]", seat.id), why))
        });
        let traced = geometry.as_ref().as_ref().map_err(Notice::clone)?;
        let frequency = Hertz(entry.channel_hz);
        let carried_key = key(&entry.channel_hz, &[geometry_key]);
        let carried = self.carried.get(carried_key, || carry::carry_lap(place, traced, frequency));
        Ok(Ready { carried, carried_key, mixing: kit::mixing(plan, frequency), geometry })
    }

    fn judge(
        &mut self,
        plan: &Plan,
        ground: &Ground,
        flight: &Flight,
        place: &Place,
        ready: &Ready,
        index: usize,
    ) -> Rc<Result<Judged, Notice>> {
        let _ = ground;
        let entry = &plan.entries[index];
        // A seat's place is in the carried paths' key already; its facing is not.
        let reads = match kit::seating(plan, index, entry) {
            Ok((receiver, seat)) => key(
                &(
                    &entry.radios,
                    (&receiver.place, &receiver.ports, &receiver.switching, &receiver.picture, &receiver.noise),
                    seat.facing_deg,
                    &plan.targets,
                    (plan.site.surroundings, plan.site.k_db, plan.site.xpr_db, plan.site.shadowing_db),
                    plan.course.line_sigma_m,
                ),
                &[ready.carried_key],
            ),
            Err(notice) => return Rc::new(Err(notice)),
        };
        self.judged.get(reads, || {
            let goal = Goal { picture_share: plan.targets.picture_share, reserve: Db(plan.targets.wanted_reserve_db) };
            let geometry = ready.geometry.as_ref().as_ref().map_err(Notice::clone)?;
            judge_entry::judge(plan, index, flight, place, geometry, &ready.carried, &ready.mixing, &goal)
        })
    }
}

fn check_port(kit: &Kit, port: usize) -> Result<(), ExplainError> {
    if port < kit.ports.len() { Ok(()) } else { Err(ExplainError::Port { got: port, count: kit.ports.len() }) }
}

fn place(plan: &Plan) -> Result<Place, Notice> {
    let lowest = plan.entries.iter().map(|entry| entry.channel_hz).fold(f64::INFINITY, f64::min);
    let lowest = if lowest.is_finite() { lowest } else { LOWEST_CARRIER.0 };
    let scene = Scene::new(&convert::site(&plan.site), Hertz(lowest))
        .map_err(|error| Notice::blocking("site", error.to_string()))?;
    let crowd = CrowdDraws::new(&scene, u64::from(plan.seed), CROWD_DRAWS);
    let obstacles = &plan.site.obstacles;
    Ok(Place {
        scene,
        crowd,
        names: obstacles.iter().map(|obstacle| obstacle.name.clone()).collect(),
        ids: obstacles.iter().map(|obstacle| obstacle.id.clone()).collect(),
    })
}
