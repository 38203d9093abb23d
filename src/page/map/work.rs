//! Keeps a map up to date with the plan, in as many workers as the machine has cores.

use std::cell::RefCell;
use std::rc::{Rc, Weak};

use gloo::timers::callback::Timeout;
use yew::prelude::*;

use crate::bridge::Bridge;
use crate::carriage::WrittenPlan;
use crate::device;
use crate::drawing::frame::Frame;
use crate::format::DisplayUnits;
use crate::jobs::{Event, JobNumber};
use crate::kept::kept;
use crate::plan::document::Plan;
use crate::requests::Request;
use crate::site::BounceOrder;

use super::choice::{MapChoice, Subject};
use super::layer::{self, MapAreas, MapLayerProps, MapLines};
use super::panel;
use super::picture::MapPicture;
use super::survey::Survey;

/// Most workers: each takes some megabytes, and a map has little work for more.
const MOST_WORKERS: usize = 8;
/// So long a plan rests after a change before the map is computed anew, in milliseconds.
const REST_MS: u32 = 350;
/// A picture from before a change gives way to one of this stride or finer, not to a blurred one.
const FINE_ENOUGH: usize = 2;

/// The map as the page shows it, and what can be done with it.
#[derive(Clone)]
pub struct MapWork {
    /// What is shown; `None` while the map is switched off.
    pub choice: UseStateHandle<Option<MapChoice>>,
    /// The cell that a person looks at, and whether they went there by keys.
    pub looked: UseStateHandle<Option<(usize, bool)>>,
    /// What is drawn, if there is anything.
    pub picture: Option<Rc<MapPicture>>,
    /// Whether it is one from before the last change.
    pub is_stale: bool,
    /// How it goes.
    pub state: MapState,
    /// Stops it.
    pub on_stop: Callback<()>,
    /// Begins anew.
    pub on_again: Callback<()>,
}

/// How the computation goes.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum MapState {
    /// Nothing was asked for yet.
    #[default]
    Waiting,
    /// So many cells of so many are there.
    Running(usize, usize),
    /// All are there.
    Done,
    /// A person stopped it.
    Stopped,
    /// It cannot be computed, for this reason.
    Failed(String),
}

/// The workers and what they are at.
#[derive(Default)]
struct Crew {
    bridges: Vec<Bridge>,
    survey: Option<Survey>,
    /// The job of each worker; none while it has nothing to do that counts.
    jobs: Vec<Option<JobNumber>>,
    /// The plan of the survey, written out.
    plan: Option<WrittenPlan>,
    picture: Option<Rc<MapPicture>>,
    state: MapState,
}

/// The map of a plan for the receiver of an entry.
#[hook]
pub fn use_map(plan: &Rc<Plan>, entry: usize, bounces: BounceOrder) -> MapWork {
    let choice = use_state_eq(|| None::<MapChoice>);
    let looked = use_state_eq(|| None);
    let crew = use_mut_ref(Crew::default);
    let redraw = use_force_update();
    let subject = choice.map(|choice| Subject { plan: plan.clone(), entry, choice, bounces });
    let begin = {
        let (crew, redraw) = (crew.clone(), redraw.clone());
        move |subject: Subject| begin(&crew, subject, &redraw)
    };
    use_effect_with(subject.clone(), {
        let (crew, begin) = (crew.clone(), begin.clone());
        move |subject| {
            crew.borrow_mut().stop(MapState::Waiting);
            let timer = subject.clone().map(|subject| {
                let is_changed = crew.borrow().picture.as_ref().is_some_and(|last| {
                    !Rc::ptr_eq(&last.subject.plan, &subject.plan) && last.subject.choice == subject.choice
                });
                Timeout::new(if is_changed { REST_MS } else { 0 }, move || begin(subject))
            });
            move || drop(timer)
        }
    });
    let on_stop = {
        let (crew, redraw) = (crew.clone(), redraw);
        Callback::from(move |()| {
            crew.borrow_mut().stop(MapState::Stopped);
            redraw.force_update();
        })
    };
    let on_again = {
        let subject = subject.clone();
        Callback::from(move |()| subject.iter().cloned().for_each(&begin))
    };
    let crew = crew.borrow();
    let picture = crew.picture.clone().filter(|_| subject.is_some());
    let is_stale = picture.as_ref().is_some_and(|picture| Some(&picture.subject) != subject.as_ref());
    MapWork { choice, looked, picture, is_stale, state: crew.state.clone(), on_stop, on_again }
}

impl MapWork {
    /// The areas, to lie under what stands on the site.
    pub fn areas(&self, frame: Frame) -> Option<Html> {
        self.layer(frame).map(kept::<MapAreas>)
    }

    /// The lines, to lie above it.
    pub fn lines(&self, frame: Frame) -> Option<Html> {
        self.layer(frame).map(kept::<MapLines>)
    }

    /// The cross that is moved by keys.
    pub fn cursor(&self, frame: &Frame) -> Option<Html> {
        self.picture.as_ref().map(|picture| layer::cursor(picture, frame, &self.looked))
    }

    /// The fields, the key and the readings.
    pub fn panel(&self, plan: &Plan, units: DisplayUnits) -> Html {
        panel::panel(self, plan, units)
    }

    /// Reads the map at a point of the site, east and north in metres.
    pub fn look_at(&self, [east, north]: [f64; 2]) {
        if let Some(picture) = &self.picture {
            self.looked.set(picture.grid().cell_at(east, north).map(|cell| (cell, false)));
        }
    }

    fn layer(&self, frame: Frame) -> Option<MapLayerProps> {
        let picture = self.picture.clone()?;
        Some(MapLayerProps { picture, frame, is_stale: self.is_stale })
    }
}

impl Crew {
    /// What is on its way no longer counts. A part that a worker is at takes some tens of milliseconds at most, so that
    /// it is let finish.
    fn stop(&mut self, state: MapState) {
        self.jobs.fill(None);
        self.survey = None;
        self.state = state;
    }
}

fn begin(crew: &Rc<RefCell<Crew>>, subject: Subject, redraw: &UseForceUpdateHandle) {
    {
        let mut held = crew.borrow_mut();
        if held.bridges.is_empty() {
            held.bridges = (0..device::cores().clamp(1, MOST_WORKERS))
                .map(|worker| {
                    // The crew holds the bridges, not the bridges the crew.
                    let (crew, redraw) = (Rc::downgrade(crew), redraw.clone());
                    Bridge::new(move |event| heard(&crew, worker, event, &redraw))
                })
                .collect();
        }
        let workers = held.bridges.len();
        held.stop(MapState::Waiting);
        held.jobs = vec![None; workers];
        held.plan = Some(WrittenPlan::of(&subject.plan));
        match Survey::new(subject, workers) {
            Ok(survey) => {
                held.state = MapState::Running(0, survey.progress().1);
                held.survey = Some(survey);
            }
            Err(why) => held.state = MapState::Failed(format!("There is no map: {why}.")),
        }
    }
    let workers = crew.borrow().bridges.len();
    (0..workers).for_each(|worker| send_next(crew, worker));
    redraw.force_update();
}

/// Hands a worker the next part of its share.
fn send_next(crew: &Rc<RefCell<Crew>>, worker: usize) {
    let next = {
        let mut held = crew.borrow_mut();
        let Crew { survey, bridges, plan, .. } = &mut *held;
        survey.as_mut().zip(plan.as_ref()).and_then(|(survey, plan)| {
            let job = Request::Map(survey.next(worker)?).job(plan, survey.subject().bounces);
            Some((bridges[worker].clone(), job))
        })
    };
    // The crew is not held while the bridge is at work: it may have something to say at once.
    let job = next.map(|(bridge, job)| bridge.post(job));
    if let Some(place) = crew.borrow_mut().jobs.get_mut(worker) {
        *place = job;
    }
}

fn heard(crew: &Weak<RefCell<Crew>>, worker: usize, event: Event, redraw: &UseForceUpdateHandle) {
    let Some(crew) = crew.upgrade() else { return };
    match event {
        Event::Failed { why, .. } => {
            let mut held = crew.borrow_mut();
            if held.survey.is_some() {
                held.stop(MapState::Failed(why));
            }
        }
        // Parts of a map are answers of their own.
        Event::SoFar { .. } => {}
        Event::Answered { job, answer } => {
            let mut held = crew.borrow_mut();
            if held.jobs.get(worker).copied().flatten() != Some(job) {
                return;
            }
            let Crew { survey, picture, state, .. } = &mut *held;
            let Some(survey) = survey else { return };
            let complete = survey.take(worker, &answer);
            let (done, of) = survey.progress();
            *state = if survey.is_done() { MapState::Done } else { MapState::Running(done, of) };
            if let Some(stride) = complete {
                let is_older = picture.as_ref().is_some_and(|picture| picture.subject != *survey.subject());
                if !is_older || stride <= FINE_ENOUGH {
                    *picture = Some(Rc::new(MapPicture::new(survey, stride)));
                }
            }
            drop(held);
            send_next(&crew, worker);
        }
    }
    redraw.force_update();
}
