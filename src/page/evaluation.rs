//! Asks the worker about the plan on the desk, and keeps what it answers.

use std::rc::Rc;

use yew::prelude::*;

use super::bridge::Bridge;
use super::requests::Request;
use super::results::{Asked, AskedLap, Happened, Results};
use super::state::Desk;

impl Reducible for Results {
    type Action = Happened;

    fn reduce(self: Rc<Self>, happened: Happened) -> Rc<Self> {
        Rc::new(self.after(happened))
    }
}

/// What the page knows from the worker, and the questions that are asked on demand.
#[derive(Clone, PartialEq)]
pub struct Evaluation {
    /// What the worker answered.
    pub results: UseReducerHandle<Results>,
    /// Asks for the three-way comparison of the chosen entry.
    pub compare_hands: Callback<()>,
    /// Asks for the report as JSON.
    pub ask_for_sheet: Callback<()>,
}

/// Keeps the report up to date with the plan and the explanation with the cursor.
#[hook]
pub fn use_evaluation(desk: &Desk) -> Evaluation {
    let results = use_reducer(Results::default);
    let bridge = use_memo((), |()| {
        let results = results.dispatcher();
        Bridge::new(move |event| results.dispatch(Happened::Heard(event)))
    });

    let document = &desk.document;
    let view = desk.view;
    let asking = Asking { bridge: bridge.clone(), results: results.dispatcher() };

    use_effect_with(document.revision, {
        let asking = asking.clone();
        let lap = AskedLap {
            plan: document.plan.clone(),
            revision: document.revision,
            step: document.step,
            label: document.label.clone(),
            entry: view.entry,
        };
        move |_| {
            let plan = lap.plan.clone();
            asking.ask(Request::Lap, &plan, Asked::Lap(lap));
        }
    });

    let last_sample = results.last.as_ref().map(|last| last.report.lap.time_s.len().saturating_sub(1));
    let instant = last_sample.map(|last| (document.revision, view.entry, view.port, view.cursor.min(last)));
    use_effect_with(instant, {
        let asking = asking.clone();
        let plan = document.plan.clone();
        move |instant| {
            if let Some((revision, entry, port, sample)) = *instant {
                asking.ask(Request::Instant { entry, port, sample }, &plan, Asked::Instant { revision });
            }
        }
    });

    let compare_hands = {
        let asking = asking.clone();
        let (plan, revision, entry) = (document.plan.clone(), document.revision, view.entry);
        Callback::from(move |()| asking.ask(Request::Hands { entry }, &plan, Asked::Hands { revision }))
    };
    let ask_for_sheet = {
        let plan = document.plan.clone();
        Callback::from(move |()| asking.ask(Request::Sheet, &plan, Asked::Sheet))
    };
    Evaluation { results, compare_hands, ask_for_sheet }
}

/// The line to the worker and the list of what was asked over it.
#[derive(Clone)]
struct Asking {
    bridge: Rc<Bridge>,
    results: UseReducerDispatcher<Results>,
}

impl Asking {
    fn ask(&self, request: Request, plan: &crate::plan::document::Plan, asked: Asked) {
        let number = self.bridge.post(request.job(plan));
        self.results.dispatch(Happened::Asked(number, asked));
    }
}
