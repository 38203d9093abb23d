//! Tabs of one browser, their plans, and that none is lost.

use super::*;
use crate::plan::plan_link;
use crate::storage::Store;
use crate::storage::tests::SmallStore;

/// One browser: what it keeps, and a clock that ticks with every call.
struct Visitor {
    room: SmallStore,
    time: u64,
}

/// A tab with the plan on its desk.
struct Tab {
    keeper: Keeper,
    own: SmallStore,
    desk: Plan,
    step: u64,
}

impl Visitor {
    fn new() -> Self {
        Self { room: SmallStore::of(1_000_000), time: 0 }
    }

    fn moment(&mut self) -> VisitMoment {
        self.time += 1;
        VisitMoment { now_ms: self.time, fresh: format!("f{}", self.time) }
    }

    /// Opens a tab, or loads one again.
    fn tab(&mut self, own: SmallStore, carried: Option<&str>) -> Tab {
        let carried = carried.map(|value| Refused::unless_carried(value).map(Box::new));
        let (store, tab) = (Backed::new(Box::new(self.room.clone())), Backed::new(Box::new(own.clone())));
        let (keeper, desk) = Keeper::begin(store, tab, carried, &self.moment());
        Tab { keeper, own, desk, step: 0 }
    }

    fn new_tab(&mut self) -> Tab {
        self.tab(SmallStore::of(1000), None)
    }

    fn rename(&mut self, tab: &mut Tab, name: &str) {
        tab.desk.name = name.to_owned();
        tab.step += 1;
        if let Some(name) = tab.keeper.changed(&tab.desk, tab.step, &self.moment()) {
            tab.desk.name = name;
        }
    }

    fn wish(&mut self, tab: &mut Tab, wish: PlanWish) {
        match tab.keeper.wish(wish, &self.moment()) {
            Some(Comes::Plan(plan)) => tab.desk = *plan,
            Some(Comes::Name(name)) => tab.desk.name = name,
            None => {}
        }
    }

    /// What the browser tells a tab about the others.
    fn stir(&self, tab: &mut Tab) {
        let key = record::key(tab.keeper.on_desk().unwrap());
        tab.keeper.stirred(&key, self.room.kept.get(&key).as_deref());
    }
}

fn names(tab: &Tab) -> Vec<String> {
    tab.keeper.list().into_iter().map(|kept| kept.name).collect()
}

fn id(tab: &Tab, name: &str) -> String {
    tab.keeper.list().into_iter().find(|kept| kept.name == name).expect("it is in the list").id
}

#[test]
fn an_untouched_demo_is_not_kept_and_a_changed_one_is_there_again() {
    let mut visitor = Visitor::new();
    let mut tab = visitor.new_tab();
    let demo = tab.desk.name.clone();
    visitor.rename(&mut tab, &demo);
    assert_eq!((tab.desk.clone(), names(&tab)), (demo::demo(), vec![]));
    visitor.rename(&mut tab, "One");
    visitor.rename(&mut tab, "Two");
    assert_eq!(names(&tab), ["Two"]);
    assert_eq!(visitor.new_tab().desk, tab.desk);
    let again = visitor.tab(tab.own.clone(), None);
    assert_eq!((again.desk, again.keeper.notice), (tab.desk, None));
}

#[test]
fn nothing_is_lost_by_opening() {
    let mut visitor = Visitor::new();
    let mut tab = visitor.new_tab();
    visitor.rename(&mut tab, "Mine");
    let other = Plan { name: "From a file".to_owned(), ..demo::demo() };
    let from = Source::File("other.json".to_owned());
    visitor.wish(&mut tab, PlanWish::Take(from.clone(), Ok(Box::new(other.clone()))));
    assert_eq!((tab.desk.clone(), names(&tab)), (other.clone(), vec!["From a file".to_owned(), "Mine".to_owned()]));
    let said = tab.keeper.notice.as_ref().unwrap().sentence();
    assert!(said.contains("other.json") && said.contains("in the list"), "{said}");
    // The same file again is the same plan.
    visitor.wish(&mut tab, PlanWish::Take(from, Ok(Box::new(other))));
    assert_eq!(names(&tab).len(), 2);
    let mine = id(&tab, "Mine");
    visitor.wish(&mut tab, PlanWish::Open(mine));
    assert_eq!(tab.desk.name, "Mine");
    visitor.rename(&mut tab, "Mine again");
    assert_eq!(names(&tab), ["Mine again", "From a file"]);
}

#[test]
fn a_link_comes_onto_the_desk_beside_what_was_there() {
    let mut visitor = Visitor::new();
    let mut tab = visitor.new_tab();
    visitor.rename(&mut tab, "Mine");
    let linked = Plan { name: "Linked".to_owned(), ..demo::demo() };
    let value = plan_link::write(&linked).unwrap();
    let tab = visitor.tab(tab.own, Some(&value));
    assert_eq!((tab.desk.clone(), names(&tab)), (linked, vec!["Linked".to_owned(), "Mine".to_owned()]));
    let tab = visitor.tab(tab.own, Some(&value[..40]));
    assert_eq!(tab.desk.name, "Linked");
    let notice = tab.keeper.notice.unwrap();
    assert!(notice.sentence().contains("damaged"), "{}", notice.sentence());
    assert_eq!(notice.text().map(|(_, text)| text), Some(&value[..40]));
}

#[test]
fn a_newer_plan_stays_in_the_list_and_its_text_in_hand() {
    let mut visitor = Visitor::new();
    let mut tab = visitor.new_tab();
    visitor.rename(&mut tab, "Mine");
    let key = record::key(tab.keeper.on_desk().unwrap());
    let entry = visitor.room.kept.get(&key).unwrap().replace("\"version\": 1", "\"version\": 7");
    visitor.room.kept.set(&key, &entry).unwrap();
    let mut tab = visitor.new_tab();
    assert_eq!((tab.desk.clone(), names(&tab)), (demo::demo(), vec!["Mine".to_owned()]));
    let notice = tab.keeper.notice.clone().unwrap();
    assert!(notice.sentence().contains("has version 7"), "{}", notice.sentence());
    assert_eq!(notice.text().map(|(_, text)| text), Some(Record::read(&entry).text.as_str()));
    visitor.rename(&mut tab, "Another");
    assert_eq!(visitor.room.kept.get(&key), Some(entry), "what cannot be read is not written over");
}

#[test]
fn plans_from_before_are_those_that_a_visit_did_not_bring() {
    let mut visitor = Visitor::new();
    let link = plan_link::write(&demo::demo()).unwrap();
    let own = SmallStore::of(1000);
    let mut tab = visitor.tab(own.clone(), Some(&link));
    visitor.rename(&mut tab, "Mine");
    assert!(!tab.keeper.had_plans() && !tab.keeper.list().is_empty(), "the link's plan came with the visit");
    assert!(visitor.tab(own, None).keeper.had_plans());
}

#[test]
fn a_duplicate_has_a_name_of_its_own() {
    let mut visitor = Visitor::new();
    let mut tab = visitor.new_tab();
    visitor.rename(&mut tab, "Yard");
    for name in ["Yard (2)", "Yard (3)"] {
        let last = id(&tab, "Yard");
        visitor.wish(&mut tab, PlanWish::Duplicate(last));
        assert_eq!(tab.desk.name, name);
    }
    let long = "x".repeat(limits::NAME.max);
    visitor.rename(&mut tab, &long);
    let last = tab.keeper.on_desk().unwrap().to_owned();
    visitor.wish(&mut tab, PlanWish::Duplicate(last));
    assert!(tab.desk.name.ends_with(" (2)") && limits::NAME.contains(tab.desk.name.chars().count()));
    assert_eq!(load::load(&load::save(&tab.desk)), Ok(tab.desk.clone()));
}

#[test]
fn a_deleted_plan_can_be_put_back() {
    let mut visitor = Visitor::new();
    let mut tab = visitor.new_tab();
    visitor.rename(&mut tab, "One");
    visitor.wish(&mut tab, PlanWish::Take(Source::Page, Ok(Box::new(demo::demo()))));
    let (one, demo) = (id(&tab, "One"), id(&tab, &demo::demo().name));
    visitor.wish(&mut tab, PlanWish::Delete(one.clone()));
    assert_eq!((tab.desk.clone(), names(&tab).len()), (demo::demo(), 1));
    visitor.wish(&mut tab, PlanWish::Restore);
    assert_eq!((tab.desk.clone(), names(&tab).len()), (demo::demo(), 2));
    // The one on the desk makes way for the next, and comes back to the desk.
    visitor.wish(&mut tab, PlanWish::Delete(demo));
    assert_eq!(tab.desk.name, "One");
    visitor.wish(&mut tab, PlanWish::Restore);
    assert_eq!(tab.desk, demo::demo());
    for kept in tab.keeper.list() {
        visitor.wish(&mut tab, PlanWish::Delete(kept.id));
    }
    assert_eq!((tab.desk.clone(), tab.keeper.on_desk()), (demo::demo(), None));
}

#[test]
fn two_tabs_on_one_plan_both_keep_what_they_did() {
    let mut visitor = Visitor::new();
    let mut one = visitor.new_tab();
    visitor.rename(&mut one, "Shared");
    let mut other = visitor.new_tab();
    visitor.rename(&mut other, "Theirs");
    visitor.stir(&mut one);
    assert_eq!(one.keeper.notice, Some(PlansNotice::Elsewhere));
    visitor.stir(&mut other);
    assert_eq!(other.keeper.notice, None, "a tab's own writing is no news");
    // Without an answer, a further change goes on as a copy.
    visitor.rename(&mut one, "Mine");
    assert_eq!((one.desk.name.as_str(), names(&one)), ("Mine (2)", vec!["Mine (2)".to_owned(), "Theirs".to_owned()]));
    assert!(matches!(&one.keeper.notice, Some(PlansNotice::Copied { name }) if name == "Mine (2)"));
    visitor.rename(&mut other, "Theirs too");
    assert_eq!(names(&one), ["Theirs too", "Mine (2)"]);
}

#[test]
fn theirs_can_be_taken_or_mine_kept() {
    let mut visitor = Visitor::new();
    let mut one = visitor.new_tab();
    visitor.rename(&mut one, "Shared");
    let mut other = visitor.new_tab();
    visitor.rename(&mut other, "Theirs");
    visitor.stir(&mut one);
    visitor.wish(&mut one, PlanWish::TakeTheirs);
    assert_eq!((one.desk.name.as_str(), &one.keeper.notice), ("Theirs", &None));
    visitor.rename(&mut one, "Both");
    visitor.stir(&mut other);
    visitor.wish(&mut other, PlanWish::KeepMine);
    assert_eq!(
        (other.desk.name.as_str(), names(&other)),
        ("Theirs (2)", vec!["Theirs (2)".to_owned(), "Both".to_owned()])
    );
}

#[test]
fn a_plan_that_is_gone_is_said_and_kept_again() {
    let mut visitor = Visitor::new();
    let mut tab = visitor.new_tab();
    visitor.rename(&mut tab, "Mine");
    let key = record::key(tab.keeper.on_desk().unwrap());
    visitor.room.kept.remove(&key);
    visitor.stir(&mut tab);
    assert_eq!(tab.keeper.notice, Some(PlansNotice::Removed));
    visitor.wish(&mut tab, PlanWish::KeepMine);
    assert_eq!(names(&tab), ["Mine"]);
    visitor.room.kept.remove(&key);
    visitor.rename(&mut tab, "Mine still");
    assert_eq!((names(&tab), &tab.keeper.notice), (vec!["Mine still".to_owned()], &Some(PlansNotice::Again)));
    visitor.room.kept.remove(&key);
    let tab = visitor.tab(tab.own, None);
    assert_eq!((tab.desk, tab.keeper.notice), (demo::demo(), Some(PlansNotice::Gone)));
}

#[test]
fn a_full_browser_is_said_and_the_visit_goes_on() {
    let mut visitor = Visitor::new();
    let mut tab = visitor.new_tab();
    visitor.rename(&mut tab, "Kept");
    let kept = id(&tab, "Kept");
    visitor.room.bytes.set(0);
    visitor.rename(&mut tab, "Not kept");
    assert_eq!(tab.keeper.not_kept(), Some(NotKept::Full));
    visitor.wish(&mut tab, PlanWish::Take(Source::Page, Ok(Box::new(demo::demo()))));
    visitor.wish(&mut tab, PlanWish::Open(kept));
    assert_eq!((tab.desk.name.as_str(), names(&tab).len()), ("Not kept", 2));
    visitor.room.bytes.set(1_000_000);
    let demo = id(&tab, &demo::demo().name);
    visitor.wish(&mut tab, PlanWish::Delete(demo));
    assert_eq!((tab.keeper.not_kept(), visitor.new_tab().desk.name), (None, "Not kept".to_owned()));
}

#[test]
fn real_work_is_noticed_once_and_a_file_recommended_until_there_is_one() {
    let mut visitor = Visitor::new();
    let mut tab = visitor.new_tab();
    let mut became = 0;
    for round in 0..2 * REAL_WORK {
        assert_eq!(tab.keeper.recommends_a_file(), round >= REAL_WORK);
        visitor.rename(&mut tab, &format!("Name {round}"));
        became += u32::from(tab.keeper.has_become_work());
    }
    assert_eq!(became, 1);
    visitor.wish(&mut tab, PlanWish::Filed);
    assert!(!tab.keeper.recommends_a_file());
}
