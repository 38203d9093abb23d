//! Judges the plan of the sheet and flies its laps in time, in the window itself: a little at a time, so that the page
//! stays at hand.

use std::cell::RefCell;
use std::rc::Rc;

use gloo::timers::callback::Timeout;
use wasm_bindgen::JsValue;
use yew::prelude::*;

use super::card::{PilotCard, Stamp};
use super::content::{Content, LapWords};
use super::qr::{Code, CodeRoom};
use crate::address;
use crate::drawing::lap_columns::entry_report;
use crate::link::breakups::USUAL_LAPS;
use crate::link::report::{EntryReport, Report};
use crate::link::{Effort, Evaluator};
use crate::plan::document::Plan;
use crate::plan::plan_link;
use crate::preferences::Preferences;

/// Laps between two looks at what the person does: some milliseconds.
const LAPS_AT_ONCE: u32 = 4;

/// What was computed of the plan.
pub struct JudgedPlan {
    /// The report.
    pub report: Report,
    /// The sheet's words.
    pub content: Content,
    /// The day, in this device's time: 2026-11-25.
    pub date: String,
    /// One card per entry of the plan.
    pub cards: Vec<PilotCard>,
    /// The plan as a link.
    pub link: Link,
    /// How far paths were followed.
    pub effort: Effort,
    /// What was traced and flown, for the report as a file.
    pub evaluator: Rc<RefCell<Evaluator>>,
}

/// The plan as a link.
pub struct Link {
    /// The address; empty where no link holds the plan.
    pub address: String,
    /// The same for a phone, if it is short enough ([`address::CODE_CHARACTERS`]).
    pub code: Option<Code>,
}

impl Link {
    fn of(plan: &Plan) -> Self {
        let address =
            plan_link::write(plan).map_or_else(|_| String::new(), |value| address::with_plan(&address::base(), &value));
        let is_short = (1..=address::CODE_CHARACTERS).contains(&address.len());
        let code = is_short.then(|| Code::of(&address, CodeRoom::LINK)).flatten();
        Self { address, code }
    }
}

/// What laps in time say so far: the positions of entries in the plan, and the words of each, in the report's order.
pub type LapSentences = Rc<Vec<(usize, LapWords)>>;

/// Judges the plan once it can be seen that it is being judged, then flies.
#[hook]
pub fn use_judged(plan: &Rc<Plan>, preferences: Preferences) -> (Option<Rc<JudgedPlan>>, LapSentences) {
    let judged = use_state(|| None::<Rc<JudgedPlan>>);
    let flown = use_state(LapSentences::default);
    let (plan, setters) = (plan.clone(), (judged.setter(), flown.setter()));
    use_effect_with((), move |()| {
        Timeout::new(0, move || {
            let effort = Effort::FULL.with_bounces(preferences.bounce_order());
            let mut evaluator = Evaluator::default();
            let report = evaluator.report(&plan, effort);
            let content = Content::of(&plan, &report, preferences.units);
            let (date, link) = (today(), Link::of(&plan));
            let stamp = Stamp { mark: &content.mark, date: &date };
            let card = |index| PilotCard::of(&plan, index, entry_report(&report, index), stamp, preferences.units);
            let cards = (0..plan.entries.len()).map(card).collect();
            let entries = report.entries.clone();
            let evaluator = Rc::new(RefCell::new(evaluator));
            let judged = JudgedPlan { report, content, date, cards, link, effort, evaluator: evaluator.clone() };
            setters.0.set(Some(Rc::new(judged)));
            Rc::new(LapsOfPlan {
                plan,
                effort,
                judged: entries,
                evaluator,
                said: RefCell::default(),
                on_said: setters.1,
            })
            .fly(0, LAPS_AT_ONCE);
        })
        .forget();
    });
    ((*judged).clone(), (*flown).clone())
}

/// The day of printing.
fn today() -> String {
    // Swedish writes dates the way the standard ISO 8601 does.
    String::from(js_sys::Date::new_0().to_locale_date_string("sv", &JsValue::UNDEFINED))
}

struct LapsOfPlan {
    plan: Rc<Plan>,
    effort: Effort,
    /// The judged entries.
    judged: Vec<EntryReport>,
    evaluator: Rc<RefCell<Evaluator>>,
    said: RefCell<Vec<(usize, LapWords)>>,
    on_said: UseStateSetter<LapSentences>,
}

impl LapsOfPlan {
    /// Flies an entry until so many laps are flown, and then goes on.
    fn fly(self: Rc<Self>, position: usize, laps: u32) {
        let Some(entry) = self.judged.get(position).map(|judged| judged.index) else { return };
        let said = self.evaluator.borrow_mut().fly_on(&self.plan, entry, self.effort, laps);
        let (position, laps) = if laps < USUAL_LAPS && said.is_ok() {
            (position, (laps + LAPS_AT_ONCE).min(USUAL_LAPS))
        } else {
            let judged = self.judged.iter().find(|judged| judged.index == entry);
            let words = match (said, judged) {
                (Ok(said), Some(judged)) => LapWords::of(&self.plan, judged, &said),
                (Ok(said), None) => LapWords::plain(said.sentence()),
                (Err(notice), _) => LapWords::plain(notice.text),
            };
            self.said.borrow_mut().push((entry, words));
            self.on_said.set(Rc::new(self.said.borrow().clone()));
            (position + 1, LAPS_AT_ONCE)
        };
        Timeout::new(0, move || self.fly(position, laps)).forget();
    }
}
