//! Course, strip and ladder under mouse, finger and keyboard.

use std::time::Duration;

use thirtyfour::Key;
use thirtyfour::prelude::*;

use crate::visit::{self, Visit};

const CURSOR: &str = ".strip-cursor";
const GATE_TWO: &str = "[data-part='gate-1']";

/// The first two numbers of a handle's label: metres east and north.
fn place(label: &str) -> [f64; 2] {
    let number = |word: &str| {
        let before = label.split(&format!(" metres {word}")).next().expect("a split has a first part");
        let text = before.rsplit(' ').next().expect("a split has a last part");
        text.parse::<f64>().unwrap_or_else(|_| panic!("no number before metres {word} in {label}"))
    };
    [number("east"), number("north")]
}

async fn label_of(visit: &Visit, css: &str) -> String {
    visit.attribute_when(css, "aria-label", |label| label.contains("metres east")).await
}

#[tokio::test]
async fn the_cursor_walks_by_keyboard_and_takes_the_ladder_along() {
    let Some(visit) = visit::open("").await else { return };
    visit.attribute_when(CURSOR, "aria-valuenow", |_| true).await;
    visit.page("link").await;
    visit.text_when(".ladder-where", |text| text.contains("after gate 1")).await;

    visit.press(CURSOR, Key::Home).await;
    visit.attribute_when(CURSOR, "aria-valuenow", |now| now == "0.0").await;
    visit.press(CURSOR, Key::Right).await;
    let step = visit.attribute_when(CURSOR, "aria-valuenow", |now| now != "0.0").await;
    visit.press(CURSOR, Key::PageUp).await;
    let page = visit.attribute_when(CURSOR, "aria-valuenow", |now| *now != *step).await;
    let page: f64 = page.parse().expect("a distance");
    assert!((page - step.parse::<f64>().expect("a distance") - 5.0).abs() < 0.5, "from {step} to {page}");

    let said = visit.attribute_when(CURSOR, "aria-valuetext", |text| text.contains("between gate 1")).await;
    for word in ["metres", "margin", "decibels", "outage", "percent"] {
        assert!(said.contains(word), "{said}");
    }
    let place = format!("{page:.1}");
    visit.text_when(".ladder-where", |text| text.starts_with(&place)).await;

    visit.press(CURSOR, Key::End).await;
    let most = visit.attribute_when(CURSOR, "aria-valuemax", |_| true).await;
    let most: f64 = most.parse().expect("a distance");
    visit.attribute_when(CURSOR, "aria-valuenow", |now| now.parse::<f64>().is_ok_and(|now| most - now < 2.0)).await;
    assert_eq!(visit.console_errors().await, [""; 0]);
}

#[tokio::test]
async fn the_cursor_follows_the_mouse_along_the_strip() {
    let Some(visit) = visit::open("").await else { return };
    let most = visit.attribute_when(CURSOR, "aria-valuemax", |_| true).await;
    let most: f64 = most.parse().expect("a distance");
    let plot = visit.find(".strip-plot").await;
    visit.rests(".strip-plot").await;
    let near = |wanted: f64| move |now: &str| now.parse::<f64>().is_ok_and(|now| (now - wanted).abs() < 1.0);
    let held = visit.driver.action_chain().click_and_hold_element(&plot);
    held.perform().await.expect("the mouse can be pressed");
    visit.attribute_when(CURSOR, "aria-valuenow", near(most / 2.0)).await;
    // Held, it follows; let go, it stays.
    let width = plot.rect().await.expect("the plot has a size").width;
    let quarter = (width / 4.0).round() as i64;
    visit.driver.action_chain().move_by_offset(quarter, 0).perform().await.expect("the mouse can move");
    visit.attribute_when(CURSOR, "aria-valuenow", near(most * 0.75)).await;
    let released = visit.driver.action_chain().release().move_by_offset(-quarter, 0);
    released.perform().await.expect("the mouse can be released");
    tokio::time::sleep(Duration::from_millis(100)).await;
    visit.attribute_when(CURSOR, "aria-valuenow", near(most * 0.75)).await;
}

#[tokio::test]
async fn the_shown_gains_add_up_to_the_shown_margin() {
    let Some(visit) = visit::open("").await else { return };
    visit.page("link").await;
    visit.text_when(".ladder-table .is-margin td:last-child", |text| text.contains("dB")).await;
    let rows = visit.driver.find_all(By::Css(".ladder-table tbody tr:first-child")).await.expect("the ladder has rows");
    assert_eq!(rows.len(), 13);
    // Tenths as whole numbers: sums of them are exact.
    let tenths = |text: &str| {
        let digits: String = text.replace('−', "-").chars().filter(|letter| "-0123456789".contains(*letter)).collect();
        digits.parse::<i64>().unwrap_or_else(|_| panic!("{text} has one decimal"))
    };
    let mut sum = 0;
    for (index, row) in rows.iter().enumerate() {
        let cells = row.find_all(By::Css(".is-figure")).await.expect("a row has figures");
        sum += tenths(&cells[0].text().await.expect("a gain"));
        let after = tenths(&cells[1].text().await.expect("a level"));
        assert_eq!(sum, after, "after stage {}", index + 1);
    }
}

#[tokio::test]
async fn dragging_a_gate_is_one_step_of_undo() {
    let Some(visit) = visit::open("").await else { return };
    drag_and_undo(&visit).await;
}

/// Drags a gate, and takes that back by one step.
pub async fn drag_and_undo(visit: &Visit) {
    let before = label_of(visit, GATE_TWO).await;
    let handle = visit.find(&format!("{GATE_TWO} .is-area")).await;
    visit.rests(&format!("{GATE_TWO} .is-area")).await;
    let chain = visit.driver.action_chain().click_and_hold_element(&handle);
    let chain = (0..6).fold(chain, |chain, _| chain.move_by_offset(6, -4));
    chain.release().perform().await.expect("the mouse can drag");

    let after = visit.attribute_when(GATE_TWO, "aria-label", |label| label != before).await;
    let ([east, north], [east_before, north_before]) = (place(&after), place(&before));
    assert!(east > east_before + 0.5 && north > north_before + 0.3, "from {before} to {after}");
    // It was picked on the way, and the form beside the drawing shows it.
    visit.attribute_when(GATE_TWO, "aria-pressed", |pressed| pressed == "true").await;
    visit.click(".course-measures").await;
    visit.script_when("return document.getElementById('part-east')?.checkVisibility()", |seen| *seen == true).await;

    visit.press_with(GATE_TWO, Key::Control, "z").await;
    visit.attribute_when(GATE_TWO, "aria-label", |label| label == before).await;
    assert_eq!(visit.console_errors().await, [""; 0]);
}

#[tokio::test]
async fn escape_takes_a_drag_back_while_it_lasts() {
    let Some(visit) = visit::open("").await else { return };
    let before = label_of(&visit, GATE_TWO).await;
    let handle = visit.find(&format!("{GATE_TWO} .is-area")).await;
    visit.rests(&format!("{GATE_TWO} .is-area")).await;
    let held =
        visit.driver.action_chain().click_and_hold_element(&handle).move_by_offset(20, -10).move_by_offset(5, -5);
    held.perform().await.expect("the mouse can drag");
    visit.attribute_when(GATE_TWO, "aria-label", |label| label != before).await;
    visit.driver.action_chain().send_keys(Key::Escape).perform().await.expect("keys can be pressed");
    visit.attribute_when(GATE_TWO, "aria-label", |label| label == before).await;
    let moved_on = visit.driver.action_chain().move_by_offset(10, 10).release();
    moved_on.perform().await.expect("the mouse can be released");
    tokio::time::sleep(Duration::from_millis(100)).await;
    assert_eq!(label_of(&visit, GATE_TWO).await, before);
    assert!(visit.has("#undo:disabled").await, "nothing is left to take back");
}

#[tokio::test]
async fn arrow_keys_move_a_gate_and_brackets_turn_it() {
    let Some(visit) = visit::open("").await else { return };
    let before = label_of(&visit, GATE_TWO).await;
    let [east, north] = place(&before);
    // Before it is picked the arrows go from part to part.
    visit.press(GATE_TWO, Key::Right).await;
    let focus = "return document.activeElement.getAttribute('data-part')";
    visit.script_when(focus, |part| part == "gate-2").await;
    visit.press("[data-part='gate-2']", Key::Left).await;
    visit.script_when(focus, |part| part == "gate-1").await;
    assert_eq!(label_of(&visit, GATE_TWO).await, before);
    visit.press(GATE_TWO, Key::Enter).await;
    visit.attribute_when(GATE_TWO, "aria-pressed", |pressed| pressed == "true").await;
    visit.press(GATE_TWO, Key::Right).await;
    let moved = visit.attribute_when(GATE_TWO, "aria-label", |label| label != before).await;
    assert!((place(&moved)[0] - east - 0.1).abs() < 1e-9 && (place(&moved)[1] - north).abs() < 1e-9, "{moved}");
    visit.press_with(GATE_TWO, Key::Shift, Key::Up).await;
    let further = visit.attribute_when(GATE_TWO, "aria-label", |label| label != moved).await;
    assert!((place(&further)[1] - north - 1.0).abs() < 1e-9, "{further}");
    visit.press(GATE_TWO, "]").await;
    let turned = visit.attribute_when(GATE_TWO, "aria-label", |label| label != further).await;
    assert!(turned.ends_with("heading 5 degrees"), "{turned}");
}

#[tokio::test]
async fn a_picked_part_goes_where_the_drawing_is_tapped() {
    let Some(visit) = visit::open("").await else { return };
    let before = label_of(&visit, GATE_TWO).await;
    visit.press(GATE_TWO, Key::Enter).await;
    visit.attribute_when(GATE_TWO, "aria-pressed", |pressed| pressed == "true").await;
    visit.click(".course-placing").await;
    let gate = visit.find("[data-part='gate-2'] .is-area").await;
    let there = place(&label_of(&visit, "[data-part='gate-2']").await);
    let tap = visit.driver.action_chain().move_to_element_with_offset(&gate, 40, 40).click();
    tap.perform().await.expect("the mouse can click");
    let after = place(&visit.attribute_when(GATE_TWO, "aria-label", |label| label != before).await);
    assert!(after[0] > there[0] && after[1] < there[1], "{after:?} is to the south-east of {there:?}");
}

#[tokio::test]
async fn a_height_typed_wrong_gets_a_sentence_and_the_gate_keeps_its_own() {
    let Some(visit) = visit::open("").await else { return };
    label_of(&visit, GATE_TWO).await;
    visit.press(GATE_TWO, Key::Enter).await;
    visit.page("yard").await;
    visit.type_over("#part-height", "900").await;
    visit.press("#part-height", Key::Enter).await;
    let sentence = visit.text_when("#part-height-wrong", |text| !text.is_empty()).await;
    assert!(sentence.contains("900 is outside"), "{sentence}");
    let before = label_of(&visit, GATE_TWO).await;
    visit.press(GATE_TWO, Key::Right).await;
    visit.attribute_when(GATE_TWO, "aria-label", |label| label != before).await;
    visit.type_over("#part-height", "2,5").await;
    visit.press("#part-height", Key::Enter).await;
    // A decimal comma is read, and what was read is written with a point.
    visit.script_when("return document.getElementById('part-height').value", |value| value == "2.5").await;
    visit.gone("#part-height-wrong").await;
}
