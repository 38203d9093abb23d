//! Course, strip and ladder under mouse, finger and keyboard.

use std::time::{Duration, Instant};

use thirtyfour::prelude::*;
use thirtyfour::{Key, TypingData};

use crate::visit::{self, Visit};

/// How long the page may take to follow; generous, since a shared machine may be slow.
const PATIENCE: Duration = Duration::from_secs(20);

const CURSOR: &str = ".strip-cursor";
const GATE_TWO: &str = "[data-part='gate-1']";

/// Waits for an attribute that satisfies `holds` and returns it; fails with the last one seen.
async fn attribute_when(visit: &Visit, css: &str, name: &str, holds: impl Fn(&str) -> bool) -> String {
    let start = Instant::now();
    let mut seen = String::from("no such element");
    while start.elapsed() < PATIENCE {
        if let Ok(element) = visit.driver.find(By::Css(css)).await
            && let Ok(Some(value)) = element.attr(name).await
        {
            if holds(&value) {
                return value;
            }
            seen = value;
        }
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
    panic!("`{name}` of `{css}` is still: {seen}\nthe console says: {:#?}", visit.console_errors().await);
}

/// Presses a key while another is held down.
async fn press_with(visit: &Visit, css: &str, held: Key, key: impl Into<TypingData>) {
    script(visit, &format!("document.querySelector(\"{css}\").focus()")).await;
    let chain = visit.driver.action_chain().key_down(held.clone()).send_keys(key).key_up(held);
    chain.perform().await.expect("keys can be pressed");
}

async fn script(visit: &Visit, text: &str) {
    visit.driver.execute(text, Vec::new()).await.expect("the script runs");
}

/// Types keys with the focus on an element.
async fn press(visit: &Visit, css: &str, keys: impl Into<TypingData>) {
    script(visit, &format!("document.querySelector(\"{css}\").focus()")).await;
    visit.driver.action_chain().send_keys(keys).perform().await.expect("keys can be pressed");
}

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
    attribute_when(visit, css, "aria-label", |label| label.contains("metres east")).await
}

#[tokio::test]
async fn the_cursor_walks_by_keyboard_and_takes_the_ladder_along() {
    let Some(visit) = visit::open("").await else { return };
    attribute_when(&visit, CURSOR, "aria-valuenow", |_| true).await;
    visit.text_when(".ladder-where", |text| text.contains("after gate 1")).await;

    press(&visit, CURSOR, Key::Home).await;
    attribute_when(&visit, CURSOR, "aria-valuenow", |now| now == "0.0").await;
    press(&visit, CURSOR, Key::Right).await;
    let step = attribute_when(&visit, CURSOR, "aria-valuenow", |now| now != "0.0").await;
    press(&visit, CURSOR, Key::PageUp).await;
    let page = attribute_when(&visit, CURSOR, "aria-valuenow", |now| *now != *step).await;
    let page: f64 = page.parse().expect("a distance");
    assert!((page - step.parse::<f64>().expect("a distance") - 5.0).abs() < 0.5, "from {step} to {page}");

    let said = attribute_when(&visit, CURSOR, "aria-valuetext", |text| text.contains("between gate 1")).await;
    for word in ["metres", "margin", "decibels", "outage", "percent"] {
        assert!(said.contains(word), "{said}");
    }
    let place = format!("{page:.1}");
    visit.text_when(".ladder-where", |text| text.starts_with(&place)).await;

    press(&visit, CURSOR, Key::End).await;
    let most = attribute_when(&visit, CURSOR, "aria-valuemax", |_| true).await;
    let most: f64 = most.parse().expect("a distance");
    attribute_when(&visit, CURSOR, "aria-valuenow", |now| now.parse::<f64>().is_ok_and(|now| most - now < 2.0)).await;
    assert_eq!(visit.console_errors().await, [""; 0]);
}

#[tokio::test]
async fn the_cursor_follows_the_mouse_along_the_strip() {
    let Some(visit) = visit::open("").await else { return };
    let most = attribute_when(&visit, CURSOR, "aria-valuemax", |_| true).await;
    let most: f64 = most.parse().expect("a distance");
    let plot = visit.driver.find(By::Css(".strip-plot")).await.expect("the strip has a plot");
    let near = |wanted: f64| move |now: &str| now.parse::<f64>().is_ok_and(|now| (now - wanted).abs() < 1.0);
    let held = visit.driver.action_chain().click_and_hold_element(&plot);
    held.perform().await.expect("the mouse can be pressed");
    attribute_when(&visit, CURSOR, "aria-valuenow", near(most / 2.0)).await;
    // Held, it follows; let go, it stays.
    let width = plot.rect().await.expect("the plot has a size").width;
    let quarter = (width / 4.0).round() as i64;
    visit.driver.action_chain().move_by_offset(quarter, 0).perform().await.expect("the mouse can move");
    attribute_when(&visit, CURSOR, "aria-valuenow", near(most * 0.75)).await;
    let released = visit.driver.action_chain().release().move_by_offset(-quarter, 0);
    released.perform().await.expect("the mouse can be released");
    tokio::time::sleep(Duration::from_millis(100)).await;
    attribute_when(&visit, CURSOR, "aria-valuenow", near(most * 0.75)).await;
}

#[tokio::test]
async fn the_shown_gains_add_up_to_the_shown_margin() {
    let Some(visit) = visit::open("").await else { return };
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
    let before = label_of(&visit, GATE_TWO).await;
    let handle = visit.driver.find(By::Css(format!("{GATE_TWO} .is-area"))).await.expect("the gate has a handle");
    let chain = visit.driver.action_chain().click_and_hold_element(&handle);
    let chain = (0..6).fold(chain, |chain, _| chain.move_by_offset(6, -4));
    chain.release().perform().await.expect("the mouse can drag");

    let after = attribute_when(&visit, GATE_TWO, "aria-label", |label| label != before).await;
    let ([east, north], [east_before, north_before]) = (place(&after), place(&before));
    assert!(east > east_before + 0.5 && north > north_before + 0.3, "from {before} to {after}");
    // It was picked on the way, and the form beside the drawing shows it.
    attribute_when(&visit, GATE_TWO, "aria-pressed", |pressed| pressed == "true").await;
    attribute_when(&visit, "#part-east", "id", |_| true).await;

    press_with(&visit, GATE_TWO, Key::Control, "z").await;
    attribute_when(&visit, GATE_TWO, "aria-label", |label| label == before).await;
    assert_eq!(visit.console_errors().await, [""; 0]);
}

#[tokio::test]
async fn escape_takes_a_drag_back_while_it_lasts() {
    let Some(visit) = visit::open("").await else { return };
    let before = label_of(&visit, GATE_TWO).await;
    let handle = visit.driver.find(By::Css(format!("{GATE_TWO} .is-area"))).await.expect("the gate has a handle");
    let held =
        visit.driver.action_chain().click_and_hold_element(&handle).move_by_offset(20, -10).move_by_offset(5, -5);
    held.perform().await.expect("the mouse can drag");
    attribute_when(&visit, GATE_TWO, "aria-label", |label| label != before).await;
    visit.driver.action_chain().send_keys(Key::Escape).perform().await.expect("keys can be pressed");
    attribute_when(&visit, GATE_TWO, "aria-label", |label| label == before).await;
    let moved_on = visit.driver.action_chain().move_by_offset(10, 10).release();
    moved_on.perform().await.expect("the mouse can be released");
    tokio::time::sleep(Duration::from_millis(100)).await;
    assert_eq!(label_of(&visit, GATE_TWO).await, before);
    let undo = visit.driver.find(By::Css("#undo")).await.expect("there is an undo button");
    assert!(!undo.is_enabled().await.expect("a button is enabled or not"), "nothing is left to take back");
}

#[tokio::test]
async fn arrow_keys_move_a_gate_and_brackets_turn_it() {
    let Some(visit) = visit::open("").await else { return };
    let before = label_of(&visit, GATE_TWO).await;
    let [east, north] = place(&before);
    press(&visit, GATE_TWO, Key::Right).await;
    let moved = attribute_when(&visit, GATE_TWO, "aria-label", |label| label != before).await;
    assert!((place(&moved)[0] - east - 0.1).abs() < 1e-9 && (place(&moved)[1] - north).abs() < 1e-9, "{moved}");
    press_with(&visit, GATE_TWO, Key::Shift, Key::Up).await;
    let further = attribute_when(&visit, GATE_TWO, "aria-label", |label| label != moved).await;
    assert!((place(&further)[1] - north - 1.0).abs() < 1e-9, "{further}");
    press(&visit, GATE_TWO, "]").await;
    let turned = attribute_when(&visit, GATE_TWO, "aria-label", |label| label != further).await;
    assert!(turned.ends_with("heading 5 degrees"), "{turned}");
}

#[tokio::test]
async fn a_picked_part_goes_where_the_drawing_is_tapped() {
    let Some(visit) = visit::open("").await else { return };
    let before = label_of(&visit, GATE_TWO).await;
    press(&visit, GATE_TWO, Key::Enter).await;
    attribute_when(&visit, GATE_TWO, "aria-pressed", |pressed| pressed == "true").await;
    visit.driver.find(By::Css(".course-placing")).await.expect("there is a button").click().await.expect("a click");
    let gate = visit.driver.find(By::Css("[data-part='gate-2'] .is-area")).await.expect("gate 3 is drawn");
    let there = place(&label_of(&visit, "[data-part='gate-2']").await);
    let tap = visit.driver.action_chain().move_to_element_with_offset(&gate, 40, 40).click();
    tap.perform().await.expect("the mouse can click");
    let after = place(&attribute_when(&visit, GATE_TWO, "aria-label", |label| label != before).await);
    assert!(after[0] > there[0] && after[1] < there[1], "{after:?} is to the south-east of {there:?}");
}

#[tokio::test]
async fn a_height_typed_wrong_gets_a_sentence_and_the_gate_keeps_its_own() {
    let Some(visit) = visit::open("").await else { return };
    label_of(&visit, GATE_TWO).await;
    press(&visit, GATE_TWO, Key::Enter).await;
    attribute_when(&visit, "#part-height", "id", |_| true).await;
    let field = visit.driver.find(By::Css("#part-height")).await.expect("a gate has a height");
    let kept = field.prop("value").await.expect("a value").expect("a value");
    script(&visit, "document.querySelector('#part-height').select()").await;
    field.send_keys("900" + Key::Enter).await.expect("keys can be pressed");
    let sentence = visit.text_when("#part-height-wrong", |text| !text.is_empty()).await;
    assert!(sentence.contains("900 is outside"), "{sentence}");
    press(&visit, GATE_TWO, Key::Right).await;
    tokio::time::sleep(Duration::from_millis(100)).await;
    script(&visit, "document.querySelector('#part-height').select()").await;
    field.send_keys("2,5" + Key::Enter).await.expect("keys can be pressed");
    let start = Instant::now();
    while field.prop("value").await.expect("a value").as_deref() != Some("2.5") {
        assert!(start.elapsed() < PATIENCE, "a decimal comma is read; it was {kept}");
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
}
