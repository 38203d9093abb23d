//! The lap flown on the page, and paths with more bounces.

use thirtyfour::prelude::*;

use crate::visit;

/// Where the cursor stands, as it is told to those who do not see it.
async fn cursor(visit: &visit::Visit) -> String {
    visit.attribute_when("[role='slider']", "aria-valuenow", |_| true).await
}

#[tokio::test]
async fn the_lap_is_flown_until_it_is_halted() {
    let Some(visit) = visit::open("").await else { return };
    visit.text_when("#fly", |text| text.contains("Play lap")).await;
    let before = cursor(&visit).await;
    visit.press("#fly", Key::Enter).await;
    visit.text_when("#fly", |text| text == "Pause").await;
    let focused = visit.driver.active_element().await.expect("the page is open").id().await.expect("it is open");
    assert_eq!(focused.as_deref(), Some("fly"), "the next press halts");
    visit.attribute_when("[role='slider']", "aria-valuenow", |now| now != before).await;
    visit.press("#fly", Key::Enter).await;
    visit.text_when("#fly", |text| text.contains("Play lap")).await;
    let halted = cursor(&visit).await;
    tokio::time::sleep(std::time::Duration::from_millis(700)).await;
    assert_eq!(cursor(&visit).await, halted, "a halted aircraft stays where it is");
}

#[tokio::test]
async fn two_bounces_list_more_paths_than_one_and_none_but_one() {
    let Some(visit) = visit::open("").await else { return };
    visit.page("link").await;
    visit.click("#paths summary").await;
    visit.text_when(".ladder-paths", |text| text.contains("Ways without a path:")).await;
    let one = visit.count(".ladder-paths li").await;
    visit.click("#settings summary").await;
    for (choice, holds) in [(2, (one + 1)..u64::MAX), (0, 1..2)] {
        visit.choose("bounces", choice).await;
        let count = "return document.querySelectorAll('.ladder-paths li').length";
        visit.script_when(count, |found| found.as_u64().is_some_and(|found| holds.contains(&found))).await;
    }
}
