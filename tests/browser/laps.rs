//! Laps in time on the page: flown by themselves, to the last digit as the core flies them, and more of them on request.

use lapmargin::link::arbiter;
use lapmargin::link::breakups::{Breakups, USUAL_LAPS};
use lapmargin::link::{Effort, Evaluator};
use lapmargin::plan::document::Plan;
use thirtyfour::prelude::*;

use crate::visit;

fn flown(plan: &Plan, entry: usize, laps: u32) -> Breakups {
    Evaluator::default().fly_on(plan, entry, Effort::FULL, laps).expect("the demo's entries can be judged")
}

#[tokio::test]
async fn laps_of_every_entry_are_flown_by_themselves_as_the_core_flies_them() {
    let Some(visit) = visit::open("").await else { return };
    let demo = lapmargin::plan::demo();
    for entry in 0..demo.entries.len() {
        let flown = flown(&demo, entry, USUAL_LAPS);
        visit.press(&format!("#verdict-{entry}"), " ").await;
        visit.text_when(&format!("#verdict-{entry} .verdict-flown"), |text| text == flown.sentence()).await;
        let reserve = format!("in simulated laps {}", arbiter::reserve_words(&flown));
        visit.text_when(&format!("#verdict-{entry} .verdict-simulated"), |text| text == reserve).await;
    }
    assert_eq!(visit.console_errors().await, [""; 0]);
}

#[tokio::test]
async fn a_weak_entry_shows_where_it_breaks_up_and_more_laps_narrow_it_down_by_keyboard() {
    let Some(visit) = visit::open("").await else { return };
    visit.text_when("#verdict-2 .verdict-word", |text| !text.is_empty()).await;
    visit.press("#verdict-2", " ").await;
    visit.text_when("#equipment-heading", |text| text.starts_with("Moth")).await;
    visit.press_with("#ask-power", Key::Control, "a").await;
    visit.press("#ask-power", "1").await;
    visit.press("#ask-power", Key::Enter + "").await;
    let mut plan = lapmargin::plan::demo();
    plan.entries[2].radios[0].power_dbm = 0.0;
    let few = flown(&plan, 2, USUAL_LAPS);
    assert!(few.per_lap > 1.0, "a milliwatt was meant to be too little");
    let said = visit.text_when("#flown", |text| text.contains(&few.sentence()[1..])).await;
    assert!(!said.contains("seed") && said.matches(" per lap.").count() == 4, "{said}");
    visit.text_when("#verdict-2 .verdict-flown", |text| text == few.sentence()).await;
    visit.attribute_when(".strip-breakups path", "d", |bars| bars.matches('M').count() > 20).await;

    visit.press("#fly-more", Key::Enter + "").await;
    let many = flown(&plan, 2, 4 * USUAL_LAPS);
    visit.text_when("#flown", |text| text.contains(&many.sentence()[1..])).await;
    let focused = visit.driver.active_element().await.expect("something has the focus");
    assert_eq!(focused.id().await.expect("it can be asked").as_deref(), Some("fly-more"), "the button keeps the focus");
    assert!(many.high - many.low < few.high - few.low);
    assert_eq!(visit.console_errors().await, [""; 0]);
}

#[tokio::test]
async fn the_spread_of_delays_is_a_row_for_who_wants_it() {
    let Some(visit) = visit::open("").await else { return };
    visit.text_when(".strip-reading", |text| text.contains("margin") && !text.contains("ns")).await;
    visit.press("#show-spread", " ").await;
    let reading = visit.text_when(".strip-reading", |text| text.contains("delays spread by")).await;
    assert!(reading.contains(" ns"), "{reading}");
    visit.find(".strip-spread path").await;
    visit.press("#show-spread", " ").await;
    visit.text_when(".strip-reading", |text| !text.contains("delays")).await;
}
