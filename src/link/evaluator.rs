//! The staged evaluation of a plan, each stage kept by a fingerprint of what it reads.
//!
//! `geometry` (place and lap, no frequency, no antenna) → `carried` (one frequency) → `heard` (one kit, one choice of
//! hands) → report. A turned hand traces nothing; a new channel traces nothing either.

use std::cell::RefCell;
use std::ops::Range;
use std::rc::Rc;

use super::breakups::{Breakups, LapsInTime};
use super::effort::Effort;
use super::flight::{self, Flight};
use super::judge_entry::{self, Judged, Prepared};
use super::kit;
use super::map::{Map, MapError, MapRequest};
use super::paths::{self, Carried, Geometry, Mixing};
use super::place::{Met, Place, lowest_carrier};
use super::report::{BudgetLine, EntryReport, Explanation, HandComparison, HandComparisonRow, Notice, Report};
use super::safety;
use super::same_channel::shared_channels;
use super::stage::{Key, Stage, Weighed, key};
use super::track::Track;
use super::work;
use crate::plan::convert;
use crate::plan::document::{Gate, Plan};
use crate::rf::polarization::Hand;
use crate::units::{Hertz, MetresPerSecond};

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

/// Evaluates plans and keeps what can be used again.
#[derive(Debug)]
pub struct Evaluator {
    flights: Stage<Result<Flight, Notice>>,
    places: Stage<Result<Place, Notice>>,
    geometries: Stage<Result<Geometry, Notice>>,
    carried: Stage<Vec<Carried>>,
    judged: Stage<Result<Judged, Notice>>,
    /// Laps in time go on where they were left.
    flown: Stage<RefCell<LapsInTime>>,
}

impl Default for Evaluator {
    fn default() -> Self {
        // A plan of 16 entries on 8 seats fits, with the version before it for undo and for dragging back and forth.
        Self {
            flights: Stage::keeping(3),
            places: Stage::keeping(3),
            geometries: Stage::keeping(16).within(KEPT_BYTES),
            carried: Stage::keeping(32).within(KEPT_BYTES),
            judged: Stage::keeping(96).within(KEPT_BYTES),
            // Entries are flown one after the other.
            flown: Stage::keeping(2),
        }
    }
}

impl Weighed for RefCell<LapsInTime> {}

/// Results of one stage that together take more bytes are not kept: all that a plan of usual size makes is far less.
const KEPT_BYTES: usize = 64 << 20;

/// A lap in time takes no more bytes.
const MOST_TRACK_BYTES: usize = 96 << 20;

/// What all entries share.
struct Ground {
    effort: Effort,
    flight: Rc<Result<Flight, Notice>>,
    flight_key: Key,
    place: Rc<Result<Place, Notice>>,
    place_key: Key,
}

/// An entry ready to be heard.
struct Ready {
    geometry: Rc<Result<Geometry, Notice>>,
    carried: Rc<Vec<Carried>>,
    judged_key: Key,
    mixing: Mixing,
}

/// What the stages gave for an entry.
struct EntryStages<'a> {
    prepared: Prepared<'a>,
    judged: &'a Judged,
    judged_key: Key,
}

impl Evaluator {
    /// Judges every entry of a plan, alone in the air.
    ///
    /// What cannot be computed is left out and said in [`Report::notices`]. The plan should have passed
    /// [`crate::plan::check`]; one that has not gives notices or odd numbers, never a panic.
    pub fn report(&mut self, plan: &Plan, effort: Effort) -> Report {
        self.report_by_steps(plan, effort, &mut |_| {})
    }

    /// The same, which tells what there is so far before every entry but the first.
    pub fn report_by_steps(&mut self, plan: &Plan, effort: Effort, so_far: &mut dyn FnMut(&Report)) -> Report {
        let ground = self.ground(plan, effort);
        let mut notices = Vec::new();
        let flight = match &*ground.flight {
            Ok(flight) => flight,
            Err(notice) => {
                return Report { notices: vec![notice.clone()], ..Report::empty(effort) };
            }
        };
        notices.extend(flight.notices.iter().cloned());
        let safety = safety::findings(plan, flight);
        if let Err(notice) = &*ground.place {
            notices.push(notice.clone());
            return Report { lap: flight.columns.clone(), safety, notices, ..Report::empty(effort) };
        }
        let mut report = Report { lap: flight.columns.clone(), safety, notices, ..Report::empty(effort) };
        for (index, entry) in plan.entries.iter().enumerate() {
            if index > 0 {
                so_far(&report);
            }
            match self.entry(plan, &ground, index) {
                Ok(judged) => report.entries.push(judged),
                // What is said of the course would be said of no one.
                Err(notice) if notice.path == work::PATH => {
                    let text = format!("{}: {}", entry.name, notice.text);
                    report.notices.push(Notice { text, ..notice });
                }
                Err(notice) => report.notices.push(notice),
            }
        }
        report
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
        let ground = self.ground(plan, effort);
        self.with_entry(plan, &ground, entry, |at| {
            let EntryStages { prepared, judged: Judged { kit, .. }, .. } = at;
            let Prepared { flight, place, geometry, .. } = prepared;
            let ports = kit.ports.len();
            if port >= ports {
                return Err(ExplainError::Port { got: port, count: ports });
            }
            let count = flight.poses.len();
            if sample >= count {
                return Err(ExplainError::Sample { got: sample, count });
            }
            let speed = MetresPerSecond(flight.columns.speed_m_per_s[sample]);
            let mut look = geometry.look(place, flight);
            let paths = look.at(sample);
            let met: Vec<Met> = place
                .scene
                .tuned(kit.frequency)
                .map_or_else(|_| Vec::new(), |tuned| paths.iter().map(|path| place.met(&tuned, &path)).collect());
            let pruned = paths.pruned();
            Ok(prepared.moment(sample, kit).explain((entry, port, sample), speed, &met, pruned))
        })
        .map_err(|notice| ExplainError::Entry { entry, why: notice.text })?
    }

    /// The ladder of every sample of a port, in order; empty for what does not exist or could not be judged.
    pub fn budgets(&mut self, plan: &Plan, entry: usize, port: usize, effort: Effort) -> Vec<Vec<BudgetLine>> {
        let ground = self.ground(plan, effort);
        self.with_entry(plan, &ground, entry, |at| {
            let EntryStages { prepared, judged: Judged { kit, .. }, .. } = at;
            let Prepared { flight, place, geometry, .. } = prepared;
            let (true, Ok(tuned)) = (port < kit.ports.len(), place.scene.tuned(kit.frequency)) else {
                return Vec::new();
            };
            let mut look = geometry.look(place, flight);
            let budget = |sample: usize| {
                let instant = prepared.moment(sample, kit);
                let direct = look.at(sample).get(0);
                let met = direct.map(|path| place.met(&tuned, &path)).unwrap_or_default();
                instant.budget(port, &instant.hear(port), &met)
            };
            (0..flight.poses.len()).map(budget).collect()
        })
        .unwrap_or_default()
    }

    /// Laps of an entry in time, with the hands that its report shows: those with these numbers, none of them flown yet.
    ///
    /// # Errors
    /// What keeps the entry from being judged.
    pub fn laps_in_time(
        &mut self,
        plan: &Plan,
        entry: usize,
        effort: Effort,
        laps: Range<u32>,
    ) -> Result<LapsInTime, Notice> {
        let ground = self.ground(plan, effort);
        self.with_entry(plan, &ground, entry, |at| {
            let Prepared { flight, place, geometry, carried, mixing, .. } = at.prepared;
            if Track::bytes(carried, at.judged.kit.ports.len()) > MOST_TRACK_BYTES {
                return Err(Notice::blocking(
                    work::PATH,
                    "the lap has too many samples to simulate: raise the course step",
                ));
            }
            let track = Track::of((place, flight), geometry, carried, &at.judged.kit, mixing);
            Ok(LapsInTime::new(track, plan.targets.picture_share, plan.seed, &plan.entries[entry].id, laps))
        })?
    }

    /// The first laps in time of an entry, at least so many. Asked again about the same entry, unchanged, it flies only what
    /// is missing: a long flight in short steps.
    ///
    /// # Errors
    /// What keeps the entry from being judged.
    pub fn fly_on(&mut self, plan: &Plan, entry: usize, effort: Effort, laps: u32) -> Result<Breakups, Notice> {
        let ground = self.ground(plan, effort);
        let reads = self.with_entry(plan, &ground, entry, |at| at.judged_key)?;
        let reads = key(&(plan.seed, &plan.entries[entry].id), &[reads]);
        let flown = match self.flown.find(reads) {
            Some(flown) => flown,
            None => {
                let laps = RefCell::new(self.laps_in_time(plan, entry, effort, 0..u32::MAX)?);
                self.flown.get(reads, || laps)
            }
        };
        let mut flown = flown.borrow_mut();
        let missing = laps.saturating_sub(flown.tally().laps as u32);
        if missing > 0 {
            flown.step(missing);
        }
        Ok(flown.breakups())
    }

    /// The first so many laps in time of every entry of a report of this effort, in its order; nothing for no laps.
    pub fn breakups(&mut self, plan: &Plan, report: &Report, effort: Effort, laps: u32) -> Vec<Breakups> {
        let flown = report.entries.iter().filter(|_| laps > 0).map_while(|entry| {
            let mut flown = self.laps_in_time(plan, entry.index, effort, 0..laps).ok()?;
            flown.step(laps);
            Some(flown.breakups())
        });
        flown.collect()
    }

    /// A map of the site for one entry's receiver, to be computed step by step; the course may be one that cannot be flown.
    ///
    /// # Errors
    /// [`MapError`].
    pub fn map(&mut self, plan: &Plan, request: &MapRequest) -> Result<Map, MapError> {
        let (place, _) = self.place(plan);
        Map::new(plan, request, place)
    }

    /// How many results each stage has made so far, from flight to judgement: what changes really recomputed.
    pub fn made(&self) -> [usize; 5] {
        [self.flights.made(), self.places.made(), self.geometries.made(), self.carried.made(), self.judged.made()]
    }

    /// Takes an entry through every stage and looks at what they gave.
    fn with_entry<T>(
        &mut self,
        plan: &Plan,
        ground: &Ground,
        index: usize,
        look: impl FnOnce(EntryStages<'_>) -> T,
    ) -> Result<T, Notice> {
        let flight = ground.flight.as_ref().as_ref().map_err(Notice::clone)?;
        let place = ground.place.as_ref().as_ref().map_err(Notice::clone)?;
        let ready = self.ready(plan, ground, flight, place, index)?;
        let geometry = ready.geometry.as_ref().as_ref().map_err(Notice::clone)?;
        let prepared = Prepared { flight, place, geometry, carried: &ready.carried, mixing: &ready.mixing };
        let judged_key = ready.judged_key;
        let judged = self.judged.get(judged_key, || judge_entry::judge(plan, index, &prepared));
        let judged = judged.as_ref().as_ref().map_err(Notice::clone)?;
        Ok(look(EntryStages { prepared, judged, judged_key }))
    }

    fn ground(&mut self, plan: &Plan, effort: Effort) -> Ground {
        let flight_key = key(&plan.course, &[]);
        let flight = self.flights.get(flight_key, || flight::fly(&plan.course));
        let (place, place_key) = self.place(plan);
        Ground { effort, flight, flight_key, place, place_key }
    }

    fn place(&mut self, plan: &Plan) -> (Rc<Result<Place, Notice>>, Key) {
        let site = &plan.site;
        let framed: Vec<&Gate> = plan.course.gates.iter().filter(|gate| gate.frame.is_some()).collect();
        let key = key(
            &(lowest_carrier(plan), &site.ground, site.roughness_m, site.wet, (&site.obstacles, framed), plan.seed),
            &[],
        );
        (self.places.get(key, || Place::of(plan)), key)
    }

    fn entry(&mut self, plan: &Plan, ground: &Ground, index: usize) -> Result<EntryReport, Notice> {
        let mut report = self.with_entry(plan, ground, index, |at| at.judged.report.clone())?;
        let entry = &plan.entries[index];
        report.index = index;
        report.id.clone_from(&entry.id);
        report.name.clone_from(&entry.name);
        report.receiver.clone_from(&entry.receiver);
        report.same_channel = shared_channels(plan, index);
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
        let (receiver, seat) = kit::seating(plan, index, entry)?;
        let at = convert::seat_position(seat);
        let bounces = ground.effort.bounces;
        let reads = (bounces.most_bounces(), seat.x_m, seat.y_m, seat.height_m);
        let geometry_key = key(&reads, &[ground.flight_key, ground.place_key]);
        let frequency = Hertz(entry.channel_hz);
        let mixing = kit::mixing(plan, frequency);
        let carried_key = key(&(entry.channel_hz, mixing.surroundings_k), &[geometry_key]);
        // A seat's place is in the carried paths' key already; its facing is not.
        let judged_key = key(
            &(
                &entry.radios,
                (&receiver.place, &receiver.ports, &receiver.switching, &receiver.picture, &receiver.noise),
                seat.facing_deg,
                &plan.targets,
                (plan.site.surroundings, plan.site.k_db, plan.site.xpr_db, plan.site.shadowing_db),
                plan.course.line_sigma_m,
            ),
            &[carried_key],
        );
        // What was judged once may be judged.
        if self.judged.find(judged_key).is_none() {
            let hands = kit::hand_choices(plan, index)?;
            let kit = kit::kit(plan, index, hands[0])?;
            work::allow(plan, (place, flight), &place.scene.images(&at, bounces), (&kit, hands.len()), &mixing)?;
        }
        let geometry = self.geometries.get(geometry_key, || {
            paths::trace_lap(place, flight, &at, bounces)
                .map_err(|why| Notice::blocking(format!("seats[{}]", seat.id), why))
        });
        let traced = geometry.as_ref().as_ref().map_err(Notice::clone)?;
        let carried = self.carried.get(carried_key, || paths::carry_lap((place, flight), traced, frequency, &mixing));
        Ok(Ready { carried, judged_key, mixing, geometry })
    }
}
