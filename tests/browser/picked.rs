//! Several parts at once: picked with shift, in a box or all together; moved, doubled, copied and taken away as one.

use serde_json::{Value, json};
use thirtyfour::Key;

use crate::visit::{self, Visit};
use crate::yard::Hand;

/// The demo's sides.
const SITE_M: [f64; 2] = [44.0, 28.0];

/// Which parts are picked, in the order of the drawing.
async fn picked_are(visit: &Visit, wanted: &[&str]) {
    let picked =
        "return [...document.querySelectorAll(\".course-handle[aria-pressed='true']\")].map(one => one.dataset.part)";
    visit.script_when(picked, |seen| *seen == json!(wanted)).await;
}

/// East and north of parts, as a screen reader says them.
async fn places(visit: &Visit, parts: &[&str]) -> Value {
    let script = format!(
        "return {}.map(part => document.querySelector(`[data-part='${{part}}']`).getAttribute('aria-label')
            .match(/[\\d.]+(?= metres)/g).map(Number))",
        json!(parts)
    );
    visit.script(&script).await
}

#[tokio::test]
async fn a_group_moves_keeps_its_distances_and_goes_by_keyboard_alone() {
    let Some(visit) = visit::open("").await else { return };
    visit.attribute_when("[data-part='gate-6']", "aria-label", |_| true).await;
    visit.page("yard").await;
    visit.press("[data-part='seat-0']", Key::Enter).await;
    visit.press_with("[data-part='seat-1']", Key::Shift, Key::Enter).await;
    picked_are(&visit, &["seat-0", "seat-1"]).await;
    visit.text_when("#parts-together", |text| text == "2 parts").await;
    let parts = ["seat-0", "seat-1"];
    let before = places(&visit, &parts).await;
    visit.press("[data-part='seat-1']", Key::Right + Key::Right).await;
    let east = |places: &Value, part: usize| places[part][0].as_f64().expect("a number");
    let label = format!("{} metres east", (east(&before, 0) * 10.0 + 2.0).round() / 10.0);
    visit.attribute_when("[data-part='seat-0']", "aria-label", |text| text.contains(&label)).await;
    let after = places(&visit, &parts).await;
    for part in 0..2 {
        assert!((east(&after, part) - east(&before, part) - 0.2).abs() < 1e-6, "{before} {after}");
    }
    // Twins of both, and away with them.
    visit.press_with("[data-part='seat-1']", Key::Control, "d").await;
    picked_are(&visit, &["seat-4", "seat-5"]).await;
    visit.press("[data-part='seat-5']", Key::Delete).await;
    visit.gone("[data-part='seat-4']").await;
    // All at once; the pad stays where everything else may go.
    visit.press_with(".course-sheet svg", Key::Control, "a").await;
    visit.text_when("#parts-together", |text| text == "24 parts").await;
    visit.press(".course-sheet svg", Key::Escape).await;
    picked_are(&visit, &[]).await;
    visit.press(".course-sheet svg", "?").await;
    visit.find("#keys[open]").await;
    assert_eq!(visit.console_errors().await, [""; 0]);
}

#[tokio::test]
async fn a_box_a_shift_click_and_a_drag_take_several_and_one_undo_takes_it_back() {
    let Some(visit) = visit::open("").await else { return };
    // Once laps are flown nothing moves any more.
    visit.flown().await;
    visit.page("yard").await;
    let seats = ["seat-0", "seat-1", "seat-2"];
    let before = places(&visit, &seats).await;
    let numbers = |values: &Value| {
        values
            .as_array()
            .expect("places")
            .iter()
            .map(|place| [place[0].as_f64().expect("east"), place[1].as_f64().expect("north")])
            .collect::<Vec<[f64; 2]>>()
    };
    let at = numbers(&before);
    let mut hand = Hand { visit: &visit, site_m: SITE_M, actions: 0 };
    let shift = |down: bool| {
        let chain = visit.driver.action_chain();
        if down { chain.key_down(Key::Shift) } else { chain.key_up(Key::Shift) }
    };
    shift(true).perform().await.expect("a key goes down");
    // From open ground beside the canopy, over the middles of the seats.
    hand.drag([13.2, 4.4], [6.9, 1.5]).await;
    shift(false).perform().await.expect("and up");
    visit.text_when("#parts-together", |text| text.contains("parts")).await;
    for seat in seats {
        visit.find(&format!("[data-part='{seat}'][aria-pressed='true']")).await;
    }
    // A click with shift lets go of one again.
    let canopies = "return [...document.querySelectorAll(\".course-handle.is-obstacle[aria-pressed='true']\")].map(one => one.dataset.part)";
    for part in visit.script(canopies).await.as_array().expect("a list") {
        let part = part.as_str().expect("a part");
        visit.press_with(&format!("[data-part='{part}']"), Key::Shift, Key::Enter).await;
    }
    picked_are(&visit, &seats).await;
    hand.drag(at[1], [at[1][0] + 1.0, at[1][1] + 1.0]).await;
    visit.script_when("return document.getElementById('undo').title", |title| *title == "Undo: 3 parts moved").await;
    visit.shot("picked").await;
    let after = numbers(&places(&visit, &seats).await);
    for part in 1..3 {
        for axis in 0..2 {
            let [was, is] = [&at, &after].map(|places| places[part][axis] - places[0][axis]);
            assert!((was - is).abs() < 0.011, "{at:?} {after:?}");
        }
    }
    assert!((after[0][0] - at[0][0]).abs() > 0.5, "{at:?} {after:?}");
    visit.click("#undo").await;
    visit.find("#undo:disabled").await;
    assert_eq!(places(&visit, &seats).await, before);
    assert_eq!(visit.console_errors().await, [""; 0]);
}
