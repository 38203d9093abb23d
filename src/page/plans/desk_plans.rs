//! Joins the keeper of plans to the browser: its stores, its address, its other tabs, files dropped on the page.

use std::cell::{Cell, RefCell};
use std::rc::Rc;

use gloo::events::{EventListener, EventListenerOptions};
use wasm_bindgen::{JsCast, JsValue};
use yew::prelude::*;

use super::keeper::{Comes, Keeper, PlanWish, VisitMoment};
use super::notice::{Refused, Source};
use crate::plan::document::Plan;
use crate::plan::edit::Edit;
use crate::plan::plan_link;
use crate::state::{Action, Desk};
use crate::steps::{Packed, Steps};
use crate::storage::{Backed, Browser, Store};
use crate::{address, device, files};

/// The plans of this browser, for components.
#[derive(Clone)]
pub struct Plans {
    keeper: Rc<RefCell<Keeper>>,
    version: u64,
    /// Where wishes go.
    pub on: Callback<PlanWish>,
}

impl PartialEq for Plans {
    fn eq(&self, other: &Self) -> bool {
        self.version == other.version
    }
}

impl Plans {
    /// The keeper, to be asked.
    pub fn keeper(&self) -> std::cell::Ref<'_, Keeper> {
        self.keeper.borrow()
    }
}

/// A visit's plans and the plan it begins with.
pub struct Begun {
    keeper: Rc<RefCell<Keeper>>,
    /// Grows when there is something else to show.
    version: Rc<Cell<u64>>,
    /// The plan for the desk.
    pub plan: Rc<Plan>,
}

/// Key of the steps of undo, in the tab's own store.
const STEPS: &str = "lapmargin.steps";

impl Begun {
    /// The steps that this tab had with the plan before it was loaded again.
    pub fn steps(&self) -> Steps {
        let text = Browser::Tab.get(STEPS).unwrap_or_default();
        Steps::read(&text, self.keeper.borrow().on_desk().unwrap_or_default())
    }
}

/// Begins a visit.
pub fn begin() -> Begun {
    let carried = carried();
    let is_carried = carried.is_some();
    let (store, tab) = (Backed::new(Box::new(Browser::Visits)), Backed::new(Box::new(Browser::Tab)));
    let (keeper, plan) = Keeper::begin(store, tab, carried, &moment());
    if is_carried && keeper.not_kept().is_none() {
        clear_address();
    }
    Begun { keeper: Rc::new(RefCell::new(keeper)), version: Rc::default(), plan: Rc::new(plan) }
}

/// The plans, and the desk kept in step with them. Part of the page itself, which is never taken away.
#[hook]
pub fn use_plans(begun: &Begun, desk: &UseReducerHandle<Desk>) -> Plans {
    let force = use_force_update();
    let joined = use_memo((), |()| {
        let (keeper, version) = (begun.keeper.clone(), begun.version.clone());
        let joined = Rc::new(Joined { keeper, version, desk: desk.dispatcher(), force, step: Cell::new(0) });
        joined.listen();
        joined
    });
    use_effect_with(desk.document.revision, {
        let (joined, plan, step) = (joined.clone(), desk.document.plan.clone(), desk.document.step);
        move |_| joined.changed(&plan, step)
    });
    let packed = use_mut_ref(Packed::new);
    use_effect_with(desk.document.step, {
        let (keeper, document) = (begun.keeper.clone(), desk.document.clone());
        move |_| {
            if document.revision == 0 {
                // As it was kept.
                return;
            }
            let text = document.steps().text(keeper.borrow().on_desk().unwrap_or_default(), &mut packed.borrow_mut());
            // A tab that keeps nothing, or is full, forgets its steps with the visit.
            if Browser::Tab.set(STEPS, &text).is_err() {
                Browser::Tab.remove(STEPS);
            }
        }
    });
    let joined = (*joined).clone();
    let on = Callback::from(move |wish: PlanWish| joined.wish(wish));
    Plans { keeper: begun.keeper.clone(), version: begun.version.get(), on }
}

/// Keeper and desk.
struct Joined {
    keeper: Rc<RefCell<Keeper>>,
    version: Rc<Cell<u64>>,
    desk: UseReducerDispatcher<Desk>,
    force: UseForceUpdateHandle,
    /// The step of undo that is on show.
    step: Cell<u64>,
}

/// What is done about an event from outside.
type Act = fn(&Rc<Joined>, &Event);

impl Joined {
    fn show(&self) {
        self.version.set(self.version.get() + 1);
        self.force.force_update();
    }

    fn wish(&self, wish: PlanWish) {
        if !matches!(wish, PlanWish::Filed | PlanWish::Dismiss) {
            fold();
        }
        let comes = self.keeper.borrow_mut().wish(wish, &moment());
        match comes {
            Some(Comes::Plan(plan)) => self.desk.dispatch(Action::Open(plan)),
            Some(Comes::Name(name)) => self.rename(name),
            None => {}
        }
        self.show();
    }

    fn rename(&self, name: String) {
        self.desk.dispatch(Action::Edit { edit: Edit::Name(name), label: "Kept as a copy".to_owned(), merge: None });
    }

    fn changed(&self, plan: &Plan, step: u64) {
        let name = self.keeper.borrow_mut().changed(plan, step, &moment());
        if self.keeper.borrow_mut().has_become_work() {
            device::ask_to_keep_plans();
        }
        // A drag changes the plan with every move; the head of the page is not drawn again for each of them.
        if step != self.step.replace(step) || name.is_some() {
            self.show();
        }
        if let Some(name) = name {
            self.rename(name);
        }
    }

    /// Follows what happens to the page from outside.
    fn listen(self: &Rc<Self>) {
        let acts: [(&'static str, Act); 6] = [
            // start.js tells what it keeps for use without a network.
            ("edition", |joined, _| joined.show()),
            ("storage", |joined, event| {
                let Some(event) = event.dyn_ref::<web_sys::StorageEvent>() else { return };
                let (key, value) = (event.key().unwrap_or_default(), event.new_value());
                joined.keeper.borrow_mut().stirred(&key, value.as_deref());
                joined.show();
            }),
            ("hashchange", |joined, _| {
                if let Some(carried) = carried() {
                    joined.wish(PlanWish::Take(Source::Link, carried));
                    if joined.keeper.borrow().not_kept().is_none() {
                        clear_address();
                    }
                }
            }),
            ("beforeunload", |joined, event| {
                // The browser asks whether to leave; the words are its own.
                if joined.keeper.borrow().not_kept().is_some() {
                    event.prevent_default();
                }
            }),
            ("dragover", |_, event| {
                if dropped(event).is_some() {
                    event.prevent_default();
                }
            }),
            ("drop", |joined, event| {
                let Some(files) = dropped(event) else { return };
                event.prevent_default();
                if let Some(file) = files.get(0) {
                    let joined = joined.clone();
                    take(&file, Callback::from(move |wish| joined.wish(wish)));
                }
            }),
        ];
        let window = web_sys::window().expect("the page runs in a window");
        for (event, act) in acts {
            let joined = self.clone();
            let options = EventListenerOptions::enable_prevent_default();
            EventListener::new_with_options(&window, event, options, move |event| act(&joined, event)).forget();
        }
    }
}

/// The files that are dragged over the page, or dropped there; parts of the drawing are moved without them.
fn dropped(event: &Event) -> Option<web_sys::FileList> {
    let data = event.dyn_ref::<web_sys::DragEvent>()?.data_transfer()?;
    data.types().includes(&"Files".into(), 0).then(|| data.files())?
}

/// Reads a file and wishes for its plan.
pub fn take(file: &web_sys::File, on: Callback<PlanWish>) {
    let name = file.name();
    files::read(file, move |text| {
        let refused = |why| Refused { why, text: String::new() };
        let plan = text.map_err(refused).and_then(Refused::unless_read).map(Box::new);
        on.emit(PlanWish::Take(Source::File(name.clone()), plan));
    });
}

/// Folds the list of plans, which lies over what there is to say, and puts the keyboard on what unfolds it.
fn fold() {
    let document = gloo::utils::document();
    let Some(list) = document.get_element_by_id("plans").filter(|list| list.has_attribute("open")) else { return };
    let summary = document.get_element_by_id("plans-summary");
    // Both are there and can do this; if not, the list stays as it is.
    let _ = list.remove_attribute("open");
    let _ = summary.and_then(|summary| Some(summary.dyn_into::<web_sys::HtmlElement>().ok()?.focus()));
}

/// The plan that the page's address carries, if it does.
fn carried() -> Option<Result<Box<Plan>, Refused>> {
    let fragment = web_sys::window()?.location().hash().ok().filter(|fragment| address::is_for_desk(fragment))?;
    Some(Refused::unless_carried(plan_link::carried(&fragment, "plan")?).map(Box::new))
}

/// Takes the plan out of the address once it is kept: loading the page again must not bring back what it was.
fn clear_address() {
    let clear = || {
        let window = web_sys::window()?;
        let address = window.location().pathname().ok()?;
        window.history().ok()?.replace_state_with_url(&JsValue::NULL, "", Some(&address)).ok()
    };
    // If it stays, the same plan is found in the list.
    let _ = clear();
}

fn moment() -> VisitMoment {
    // Some 50 bits of chance: two plans of one browser do not meet in them.
    let chance = js_sys::Math::random() * 1e15;
    VisitMoment { now_ms: js_sys::Date::now() as u64, fresh: format!("{:x}", chance as u64) }
}
