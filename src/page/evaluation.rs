//! Asks the worker about the plan on the desk, and keeps what it answers.

use std::rc::Rc;

use gloo::timers::callback::Timeout;
use yew::prelude::*;

use super::bridge::Bridge;
use super::carriage::WrittenPlan;
use super::in_time::{LapsJob, Wish};
use super::requests::Request;
use super::results::{Asked, AskedLap, Happened, Results};
use super::state::Desk;
use crate::site::BounceOrder;

impl Reducible for Results {
    type Action = Happened;

    fn reduce(self: Rc<Self>, happened: Happened) -> Rc<Self> {
        Rc::new(self.after(happened))
    }
}

/// What the page knows from the worker, and the questions that are asked on demand.
#[derive(Clone, PartialEq)]
pub struct Evaluation {
    /// What the worker answered about the plan on the desk.
    pub results: Rc<Results>,
    /// Asks for the three-way comparison of the chosen entry.
    pub compare_hands: Callback<()>,
    /// Asks for more laps in time of the chosen entry.
    pub fly_more: Callback<()>,
    /// Asks again for what has failed.
    pub try_again: Callback<()>,
    /// Gives up the report that is on its way.
    pub give_up: Callback<()>,
}

/// How long a plan has to stay as it is before its laps are flown, in milliseconds: longer than the pauses of a drag.
const REST_MS: u32 = 400;

/// Keeps the report up to date with the plan and the explanation with the cursor, and flies laps of a plan at rest.
#[hook]
pub fn use_evaluation(desk: &Desk) -> Evaluation {
    let results = use_reducer(Results::default);
    // Laps in time have a worker of their own, so that nothing else waits for them.
    let bridges = use_memo((), |()| {
        let (heard, flown) = (results.dispatcher(), results.dispatcher());
        [
            Bridge::new(move |event| heard.dispatch(Happened::Heard(event))),
            Bridge::new(move |event| flown.dispatch(Happened::Flown(event))),
        ]
    });

    let document = &desk.document;
    let view = desk.view;
    let plan = use_memo(document.revision, |_| WrittenPlan::of(&document.plan));
    let asking = Asking { bridges, results: results.dispatcher(), plan, bounces: document.bounces };
    let attempt = results.attempt;

    use_effect_with((document.revision, attempt), {
        let asking = asking.clone();
        let lap = AskedLap {
            plan: document.plan.clone(),
            revision: document.revision,
            opened: document.opened,
            step: document.step,
            label: document.label.clone(),
            entry: view.entry,
        };
        move |_| asking.ask(Request::Lap, Asked::Lap(lap))
    });

    let last_sample = results.last.as_ref().map(|last| last.report.lap.time_s.len().saturating_sub(1));
    let instant = last_sample.map(|last| (document.revision, attempt, view.entry, view.port, view.cursor.min(last)));
    use_effect_with(instant, {
        let asking = asking.clone();
        move |instant| {
            if let Some((revision, _, entry, port, sample)) = *instant {
                asking.ask(Request::Instant { entry, port, sample }, Asked::Instant { revision });
            }
        }
    });

    use_effect_with(results.in_time_wish(document.revision, view.entry), {
        let asking = asking.clone();
        move |wish| {
            let rest = match *wish {
                Some(Wish::Rest(_)) => {
                    let results = asking.results.clone();
                    Some(Timeout::new(REST_MS, move || results.dispatch(Happened::Rested)))
                }
                Some(Wish::Fly(LapsJob { entry, laps, .. })) => {
                    let number =
                        asking.bridges[1].post(Request::Breakups { entry, laps }.job(&asking.plan, asking.bounces));
                    asking.results.dispatch(Happened::Sent(number, entry));
                    None
                }
                None => None,
            };
            move || drop(rest)
        }
    });

    let give_up = {
        let (asking, job) = (asking.clone(), results.under_way());
        Callback::from(move |()| {
            if let Some((number, _)) = job {
                asking.bridges[0].cancel(number);
                asking.results.dispatch(Happened::GaveUp);
            }
        })
    };
    let compare_hands = {
        let (revision, entry) = (document.revision, view.entry);
        Callback::from(move |()| asking.ask(Request::Hands { entry }, Asked::Hands { revision }))
    };
    let fly_more = {
        let (results, entry) = (results.dispatcher(), view.entry);
        Callback::from(move |()| results.dispatch(Happened::MoreLaps(entry)))
    };
    let try_again = {
        let results = results.dispatcher();
        Callback::from(move |()| results.dispatch(Happened::Again))
    };
    Evaluation { results: Rc::new(results.on_desk(document.opened)), compare_hands, fly_more, try_again, give_up }
}

/// The lines to the workers, the list of what was asked over the first, and what it is about.
#[derive(Clone)]
struct Asking {
    bridges: Rc<[Bridge; 2]>,
    results: UseReducerDispatcher<Results>,
    plan: Rc<WrittenPlan>,
    bounces: BounceOrder,
}

impl Asking {
    fn ask(&self, request: Request, asked: Asked) {
        let number = self.bridges[0].post(request.job(&self.plan, self.bounces));
        self.results.dispatch(Happened::Asked(number, asked));
    }
}
