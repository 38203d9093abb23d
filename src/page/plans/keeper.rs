//! Several plans in one browser, perhaps in several tabs: which one is on the desk, and that none is lost.
//!
//! Every change is kept at once. Opening something puts it into the list beside what was there. A tab remembers the mark
//! under which it last read or wrote its plan; where the store holds another mark, another tab has written since, and what
//! this tab has goes on under a name of its own. All of this is pure; [`super::desk_plans`] joins it to the browser.

use super::notice::{PlansNotice, Refused, Source};
use super::record::{self, Record};
use crate::plan::document::Plan;
use crate::plan::{demo, limits, load};
use crate::storage::{Backed, NotKept};

/// Changes after which a plan is real work: the browser is asked to keep it for good, and a file is recommended.
pub const REAL_WORK: u32 = 12;

/// Id of the plan on the desk: in the tab's store for this tab, in the common one for the next visit.
const ON_DESK: &str = "lapmargin.on-desk";

/// What the clock and chance give for one call.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct VisitMoment {
    /// Milliseconds since 1970.
    pub now_ms: u64,
    /// Letters and digits that were never given before.
    pub fresh: String,
}

/// What a person wants done with plans.
#[derive(Clone, Debug, PartialEq)]
pub enum PlanWish {
    /// Put a plan of the list on the desk.
    Open(String),
    /// Put a plan from elsewhere on the desk and into the list, or say why it is none.
    Take(Source, Result<Box<Plan>, Refused>),
    /// Put the demo plan on the desk and into the list.
    Demo,
    /// Put a second one like it on the desk and into the list.
    Duplicate(String),
    /// Take a plan off the list.
    Delete(String),
    /// Put the plan that was deleted last back.
    Restore,
    /// Of a plan that another tab has changed or deleted: keep what is on this desk.
    KeepMine,
    /// Of a plan that another tab has changed: put that on this desk.
    TakeTheirs,
    /// The plan on the desk was saved as a file, or nobody wants to be reminded of one for a while.
    Filed,
    /// A notice was read.
    Dismiss,
}

/// What comes of a wish on the desk.
#[derive(Clone, Debug, PartialEq)]
pub enum Comes {
    /// Another plan.
    Plan(Box<Plan>),
    /// The same plan under this name.
    Name(String),
}

/// A plan in the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Listed {
    /// Its id.
    pub id: String,
    /// Its name.
    pub name: String,
    /// When it was last changed, in milliseconds since 1970.
    pub changed_ms: u64,
}

/// What was deleted last.
struct Deleted {
    id: String,
    record: Record,
    was_on_desk: bool,
}

/// The plans of this browser as one tab sees them.
pub struct Keeper {
    store: Backed,
    tab: Backed,
    /// The plan on the desk, if it is in the list; the untouched demo plan is not.
    id: Option<String>,
    mark: String,
    /// The plan on the desk as it was last read or written.
    kept: Plan,
    deleted: Option<Deleted>,
    step: u64,
    unfiled: u32,
    worked: u32,
    /// What has to be said about plans.
    pub notice: Option<PlansNotice>,
    had_plans: bool,
}

impl Keeper {
    /// Begins a visit: with what the address carries, else the plan that this tab had, else that of the last visit, else
    /// the demo plan. Returns the plan for the desk, too.
    pub fn begin(
        store: Backed,
        tab: Backed,
        carried: Option<Result<Box<Plan>, Refused>>,
        moment: &VisitMoment,
    ) -> (Self, Plan) {
        let mut keeper = Self {
            store,
            tab,
            id: None,
            mark: String::new(),
            kept: demo::demo(),
            deleted: None,
            step: 0,
            unfiled: 0,
            worked: 0,
            notice: None,
            had_plans: false,
        };
        keeper.had_plans = keeper.store.keys().iter().any(|key| record::id(key).is_some());
        let had = keeper.tab.get(ON_DESK);
        let is_gone = had.as_ref().is_some_and(|id| keeper.record(id).is_none());
        let first = had.filter(|_| !is_gone).or_else(|| keeper.store.get(ON_DESK)).filter(|id| !id.is_empty());
        let mut plan = first.and_then(|id| keeper.opened(&id));
        if is_gone {
            keeper.notice = Some(PlansNotice::Gone);
            keeper.tab.remove(ON_DESK);
        }
        if let Some(carried) = carried
            && let Some(Comes::Plan(carried)) = keeper.wish(PlanWish::Take(Source::Link, carried), moment)
        {
            plan = Some(*carried);
        }
        let plan = plan.unwrap_or_else(demo::demo);
        (keeper, plan)
    }

    /// Id of the plan on the desk, if it is in the list.
    pub fn on_desk(&self) -> Option<&str> {
        self.id.as_deref()
    }

    /// Whether plans were kept when the visit began, before it added any.
    pub fn had_plans(&self) -> bool {
        self.had_plans
    }

    /// Why a plan is held in memory only, while one is.
    pub fn not_kept(&self) -> Option<NotKept> {
        self.store.not_kept()
    }

    /// All kept plans, the last changed first.
    pub fn list(&self) -> Vec<Listed> {
        let mut list: Vec<Listed> = Vec::new();
        for key in self.store.keys() {
            if let Some(id) = record::id(&key)
                && let Some(Record { name, changed_ms, .. }) = self.record(id)
            {
                // A few dozen at most: not worth a sorting program's bytes.
                let place = list.iter().take_while(|kept| kept.changed_ms > changed_ms).count();
                list.insert(place, Listed { id: id.to_owned(), name, changed_ms });
            }
        }
        list
    }

    /// Whether so much was done without a file that one is recommended.
    pub fn recommends_a_file(&self) -> bool {
        self.unfiled >= REAL_WORK
    }

    /// Whether this visit has just become real work; true once.
    pub fn has_become_work(&mut self) -> bool {
        let is_now = self.worked == REAL_WORK;
        self.worked += u32::from(is_now);
        is_now
    }

    /// Keeps the plan on the desk after a change; `step` is the change's step of undo. Returns the name that the plan
    /// has to take, where it goes on beside another tab's version.
    pub fn changed(&mut self, plan: &Plan, step: u64, moment: &VisitMoment) -> Option<String> {
        if *plan == self.kept {
            return None;
        }
        if step != self.step {
            (self.step, self.unfiled, self.worked) = (step, self.unfiled + 1, self.worked + 1);
        }
        let theirs = self.id.as_ref().map(|id| self.record(id).map(|record| record.mark));
        match theirs {
            Some(Some(mark)) if mark != self.mark => return Some(self.kept_beside(plan, moment)),
            Some(None) => self.notice = Some(PlansNotice::Again),
            _ => {}
        }
        let id = self.id.clone().unwrap_or_else(|| moment.fresh.clone());
        self.keep_as(id, plan, moment);
        None
    }

    /// Another tab wrote `entry` under `key`, or took it away.
    pub fn stirred(&mut self, key: &str, entry: Option<&str>) {
        if self.id.is_some() && record::id(key) == self.on_desk() {
            self.notice = Some(match entry {
                Some(entry) if Record::read(entry).mark == self.mark => return,
                Some(_) => PlansNotice::Elsewhere,
                None => PlansNotice::Removed,
            });
        }
    }

    /// Does what a person wants; returns what comes of it on the desk.
    pub fn wish(&mut self, wish: PlanWish, moment: &VisitMoment) -> Option<Comes> {
        self.notice = None;
        let plan = match wish {
            PlanWish::Open(id) => self.opened(&id)?,
            PlanWish::Take(source, Err(refused)) => {
                self.notice = Some(PlansNotice::Refused(source, refused));
                return None;
            }
            PlanWish::Demo => return self.wish(PlanWish::Take(Source::Page, Ok(Box::new(demo::demo()))), moment),
            PlanWish::Take(source, Ok(plan)) => {
                let had_another = self.id.is_some();
                let text = load::save(&plan);
                // The same link followed twice need not make two plans.
                let is_same = |kept: &Listed| self.record(&kept.id).is_some_and(|kept| kept.text == text);
                match self.list().into_iter().find(is_same) {
                    Some(kept) => drop(self.opened(&kept.id)),
                    None => self.keep_as(moment.fresh.clone(), &plan, moment),
                }
                self.notice = Some(PlansNotice::Taken { source, name: plan.name.clone(), had_another });
                *plan
            }
            PlanWish::Duplicate(id) => {
                let plan = self.opened(&id)?;
                let plan = Plan { name: self.free_name(&plan.name), ..plan };
                self.keep_as(moment.fresh.clone(), &plan, moment);
                plan
            }
            PlanWish::Delete(id) => {
                let record = self.record(&id)?;
                let was_on_desk = self.id.as_ref() == Some(&id);
                self.store.remove(&record::key(&id));
                self.notice = Some(PlansNotice::Deleted { name: record.name.clone() });
                self.deleted = Some(Deleted { id, record, was_on_desk });
                if !was_on_desk {
                    return None;
                }
                self.leave();
                // The next one that can be read comes onto the desk.
                self.list().into_iter().find_map(|next| self.loaded(&next.id).ok()).unwrap_or_else(|| {
                    self.kept = demo::demo();
                    demo::demo()
                })
            }
            PlanWish::Restore => {
                let Deleted { id, record, was_on_desk } = self.deleted.take()?;
                self.store.set(&record::key(&id), &record.entry());
                if !was_on_desk {
                    return None;
                }
                self.opened(&id)?
            }
            PlanWish::KeepMine => {
                let (id, plan) = (self.id.clone()?, self.kept.clone());
                if self.record(&id).is_none() {
                    self.keep_as(id, &plan, moment);
                    return None;
                }
                return Some(Comes::Name(self.kept_beside(&plan, moment)));
            }
            PlanWish::TakeTheirs => self.opened(&self.id.clone()?)?,
            PlanWish::Filed => {
                self.unfiled = 0;
                return None;
            }
            PlanWish::Dismiss => return None,
        };
        Some(Comes::Plan(Box::new(plan)))
    }

    /// Keeps the plan on the desk under a name and an id of its own; returns the name.
    fn kept_beside(&mut self, plan: &Plan, moment: &VisitMoment) -> String {
        let name = self.free_name(&plan.name);
        self.notice = Some(PlansNotice::Copied { name: name.clone() });
        self.keep_as(moment.fresh.clone(), &Plan { name: name.clone(), ..plan.clone() }, moment);
        name
    }

    fn record(&self, id: &str) -> Option<Record> {
        Some(Record::read(&self.store.get(&record::key(id))?))
    }

    /// Puts a plan of the list on the desk; where that cannot be, says why and leaves the desk as it is.
    fn opened(&mut self, id: &str) -> Option<Plan> {
        self.loaded(id).map_err(|refused| self.notice = Some(PlansNotice::Refused(Source::List, refused))).ok()
    }

    fn loaded(&mut self, id: &str) -> Result<Plan, Refused> {
        let gone = || Refused { why: "it is no longer in this browser's storage".to_owned(), text: String::new() };
        let record = self.record(id).ok_or_else(gone)?;
        let plan = Refused::unless_read(record.text)?;
        (self.id, self.mark, self.kept) = (Some(id.to_owned()), record.mark, plan.clone());
        self.remember(id);
        Ok(plan)
    }

    /// Writes the plan on the desk under an id.
    fn keep_as(&mut self, id: String, plan: &Plan, moment: &VisitMoment) {
        let VisitMoment { now_ms, fresh } = moment.clone();
        let record = Record { mark: fresh, changed_ms: now_ms, name: plan.name.clone(), text: load::save(plan) };
        self.store.set(&record::key(&id), &record.entry());
        if self.id.as_ref() != Some(&id) {
            self.remember(&id);
        }
        (self.id, self.mark, self.kept) = (Some(id), record.mark, plan.clone());
    }

    fn remember(&self, id: &str) {
        self.tab.set(ON_DESK, id);
        self.store.set(ON_DESK, id);
    }

    fn leave(&mut self) {
        self.id = None;
        self.tab.remove(ON_DESK);
        self.store.remove(ON_DESK);
    }

    /// The name with the first number behind it that no plan of the list has.
    fn free_name(&self, name: &str) -> String {
        let numbered = name.strip_suffix(')').and_then(|rest| rest.rsplit_once(" ("));
        let is_number = |number: &str| number.bytes().all(|byte| byte.is_ascii_digit());
        let stem = numbered.filter(|(_, number)| is_number(number)).map_or(name, |(stem, _)| stem);
        // Room for the number within the limit of a name.
        let stem: String = stem.chars().take(limits::NAME.max - 6).collect();
        let taken = self.list();
        let mut names = (2_u32..).map(|number| format!("{stem} ({number})"));
        names.find(|name| taken.iter().all(|kept| kept.name != *name)).unwrap_or(stem)
    }
}

#[cfg(test)]
mod tests;
