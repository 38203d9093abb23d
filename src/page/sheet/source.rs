//! The plan of the sheet: from the address, else the one last on the desk in this browser, else the demo.

use crate::plan::document::Plan;
use crate::plan::plan_link;
use crate::plans::keeper::{Keeper, VisitMoment};
use crate::plans::notice::Refused;
use crate::storage::Backed;

/// A plan for the sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct SheetSource {
    /// The plan.
    pub plan: Plan,
    /// The address of the planner with this plan on the desk, behind `#`.
    pub desk: String,
    /// What is to be said about where the plan comes from.
    pub note: Option<String>,
}

/// Finds the plan. The stores are left as they are, apart from this tab remembering what it took from them.
///
/// # Errors
/// Why the plan in the address cannot be read. Then no other is shown in its place: somebody would take it for theirs.
pub fn source(fragment: &str, store: Backed, tab: Backed) -> Result<SheetSource, String> {
    // Nothing is kept here, so neither the time nor chance is asked for.
    let (keeper, kept) = Keeper::begin(store, tab, None, &VisitMoment { now_ms: 0, fresh: String::new() });
    let Some(value) = plan_link::carried(fragment, "plan") else {
        let note = keeper.notice.as_ref().map(|notice| notice.sentence());
        return Ok(SheetSource { plan: kept, desk: "#view=desk".to_owned(), note });
    };
    let plan = Refused::unless_carried(value).map_err(|refused| {
        format!("The plan in this address cannot be read: {}.", refused.why.trim_end_matches('.'))
    })?;
    // A plan that lies on the desk anyway is not put there a second time.
    let desk = if plan == kept { "#view=desk".to_owned() } else { format!("#view=desk&plan={value}") };
    Ok(SheetSource { plan, desk, note: None })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::address;
    use crate::plan::demo;
    use crate::plans::keeper::PlanWish;
    use crate::plans::notice;
    use crate::storage::tests::SmallStore;

    fn backed(room: &SmallStore) -> Backed {
        Backed::new(Box::new(room.clone()))
    }

    fn named(name: &str) -> Plan {
        Plan { name: name.to_owned(), ..demo() }
    }

    #[test]
    fn the_address_comes_before_the_desk_and_the_desk_before_the_demo() {
        let (store, tab, other_tab) = (SmallStore::of(1 << 20), SmallStore::of(1 << 20), SmallStore::of(1 << 20));
        let found = |fragment: &str| source(fragment, backed(&store), backed(&other_tab)).unwrap();
        assert_eq!(found("#view=sheet").plan, demo());

        let moment = VisitMoment { now_ms: 1, fresh: "a".to_owned() };
        let (mut keeper, _) = Keeper::begin(backed(&store), backed(&tab), None, &moment);
        keeper.wish(PlanWish::Take(notice::Source::Page, Ok(Box::new(named("On the desk")))), &moment);
        assert_eq!(found("#view=sheet").plan.name, "On the desk");
        assert_eq!(found("#view=sheet").desk, "#view=desk");

        let value = plan_link::write(&named("In the address")).unwrap();
        let carried = found(&address::of_sheet(Some(&value)));
        assert_eq!(carried.plan.name, "In the address");
        assert_eq!(carried.desk, format!("#view=desk&plan={value}"));
        let same = plan_link::write(&named("On the desk")).unwrap();
        assert_eq!(found(&address::of_sheet(Some(&same))).desk, "#view=desk");
    }

    #[test]
    fn a_broken_address_is_said_and_nothing_is_shown_in_its_place() {
        let said = source("#view=sheet&plan=1zzz", backed(&SmallStore::of(1 << 20)), backed(&SmallStore::of(1 << 20)));
        assert!(
            said.as_ref().is_err_and(|why| why.starts_with("The plan in this address cannot be read: ")),
            "{said:?}"
        );
    }
}
