//! The map of the site on the course, driven by keys and read by pointer.

use lapmargin::link::Evaluator;
use lapmargin::link::map::{MapHand, MapRequest, Quantity};
use lapmargin::plan::demo;
use lapmargin::rf::polarization::Hand;
use thirtyfour::prelude::*;

use crate::visit::{self, Visit};

const SAID: &str = ".map [role='status']";
const READING: &str = ".map-reading";

async fn press(visit: &Visit, id: &str, keys: impl IntoIterator<Item = Key>) {
    for key in keys {
        visit.press(&format!("#{id}"), key).await;
    }
}

async fn said_when(visit: &Visit, holds: &str) {
    let script = format!("return document.querySelector(\"{SAID}\")?.textContent.replaceAll('\u{a0}', ' ') ?? ''");
    visit.script_when(&script, |text| text.as_str().is_some_and(|text| text.contains(holds))).await;
}

/// Opens the page with the map switched on and complete.
async fn open_map() -> Option<Visit> {
    let visit = visit::open("").await?;
    switch_on(&visit).await;
    Some(visit)
}

/// Switches the map on and waits until it is complete.
pub async fn switch_on(visit: &Visit) {
    visit.text_when("#map-switch", |text| text == "Map of the site").await;
    press(visit, "map-switch", [Key::Enter]).await;
    said_when(visit, "Map complete").await;
}

/// The core's own numbers in cell order, for the first entry.
fn core_values(change: impl Fn(MapRequest) -> MapRequest) -> (usize, Vec<Option<f64>>) {
    let plan = demo();
    let mut map = Evaluator::default().map(&plan, &change(MapRequest::usual(&plan, 0))).expect("the demo has a map");
    while map.step(usize::MAX).is_pending() {}
    (map.grid().columns, map.values().to_vec())
}

/// A number as a reading of the page gives it: "12.3 m east, 4.5 m north: 18.8 dB: 6 dB or more".
fn number(reading: &str) -> f64 {
    let value = reading.split(": ").nth(1).and_then(|part| part.split_whitespace().next()).unwrap_or_default();
    value.replace('\u{2212}', "-").parse().unwrap_or_else(|_| panic!("no number in {reading}"))
}

#[tokio::test]
async fn the_cross_reads_what_the_core_computes() {
    let Some(visit) = open_map().await else { return };
    read_the_map(&visit).await;
}

/// Reads the map, which is on, by keyboard.
pub async fn read_the_map(visit: &Visit) {
    let (columns, values) = core_values(|request| request);
    let rows = values.len() / columns;
    // From the middle: two cells east, eight north.
    press(visit, "map-cursor", [Key::Right, Key::Right]).await;
    visit.press_with("#map-cursor", Key::Shift, Key::Up).await;
    let cell = (rows / 2 + 8) * columns + columns / 2 + 2;
    let expected = values[cell].expect("the place is in the open");
    let reading = visit.text_when(READING, |text| text.contains("dB")).await;
    assert!((number(&reading) - expected).abs() <= 0.05 + 1e-9, "{reading}, the core says {expected}");
    // Those who do not see it hear the same.
    said_when(visit, &reading).await;

    // The margin with a left-hand antenna, chosen by keyboard.
    press(visit, "map-quantity", [Key::Down]).await;
    press(visit, "map-hand", [Key::Down, Key::Down]).await;
    let hand = MapHand::Turned(Some(Hand::Left));
    let (_, values) = core_values(|request| MapRequest { quantity: Quantity::Margin, hand, ..request });
    let expected = values[cell].expect("the place is in the open");
    visit.text_when(READING, |text| text.contains("dB") && (number(text) - expected).abs() <= 0.05 + 1e-9).await;
}

#[tokio::test]
async fn the_pointer_reads_the_map_and_the_walls_have_no_number() {
    let Some(visit) = open_map().await else { return };
    let svg = visit.find(".course-drawing").await;
    svg.scroll_into_view().await.expect("it can be seen");
    // Past the middle of the drawing, then over the hall in the north.
    visit.driver.action_chain().move_to_element_center(&svg).perform().await.expect("the pointer moves");
    let open = visit.text_when(READING, |text| text.contains("dB")).await;
    assert!(open.contains(" east, ") && open.contains(" north: "), "{open}");
    let rect = svg.rect().await.expect("it has a place");
    let up = -(rect.height * 0.42) as i64;
    visit.driver.action_chain().move_by_offset(0, up).perform().await.expect("the pointer moves");
    visit.text_when(READING, |text| text.contains("no value")).await;
}

#[tokio::test]
async fn a_changed_plan_makes_a_new_map_and_a_switched_off_one_goes() {
    let Some(visit) = open_map().await else { return };
    let area = "document.querySelector('.map-areas')?.innerHTML ?? ''";
    let before = visit.script(&format!("return {area}")).await;
    assert!(before.as_str().is_some_and(|areas| areas.contains("<path")), "there are hatched places");
    // The first entry's transmitter is set to a tenth of its power.
    visit.type_over("#ask-power", "2").await;
    visit.press("#ask-power", Key::Enter).await;
    visit
        .script_when(&format!("return [{area}, document.querySelector('.map-areas.is-stale') === null]"), |seen| {
            seen[1] == true && seen[0].as_str().is_some_and(|now| !now.is_empty()) && seen[0] != before
        })
        .await;
    press(&visit, "map-switch", [Key::Enter]).await;
    visit.gone(".map-areas, .map-lines, #map-cursor").await;
    assert_eq!(visit.console_errors().await, Vec::<String>::new());
}

#[tokio::test]
async fn a_map_that_is_stopped_stays_as_it_is_until_it_is_asked_for() {
    let Some(visit) = visit::open("").await else { return };
    visit.text_when("#map-switch", |text| text == "Map of the site").await;
    // Pressed as soon as it is there: a person cannot be sure to be in time, a script is.
    let script = "new MutationObserver((_, all) => { const stop = document.getElementById('map-stop'); \
                  if (stop) { all.disconnect(); stop.click(); } }).observe(document.body, { childList: true, subtree: true })";
    visit.script(script).await;
    press(&visit, "map-switch", [Key::Enter]).await;
    said_when(&visit, "The map was stopped").await;
    press(&visit, "map-again", [Key::Enter]).await;
    said_when(&visit, "Map complete").await;
}
