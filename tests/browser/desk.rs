//! What a person does at the desk, and that the page then says what the core says.

use lapmargin::link::report::{HandComparison, Report, Verdict};
use lapmargin::link::{Effort, Evaluator, sheet};
use lapmargin::plan::document::{Plan, StatedHand};
use thirtyfour::prelude::*;

use crate::visit::{self, Visit};

fn word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Clear => "clear",
        Verdict::Thin => "thin",
        Verdict::Broken => "broken",
    }
}

fn turned(hand: StatedHand) -> StatedHand {
    match hand {
        StatedHand::Right => StatedHand::Left,
        StatedHand::Left | StatedHand::Unknown => StatedHand::Right,
    }
}

/// Position of a hand among the choices of the page.
fn place(hand: StatedHand) -> usize {
    match hand {
        StatedHand::Right => 0,
        StatedHand::Left => 1,
        StatedHand::Unknown => 2,
    }
}

fn verdict_of(report: &Report, entry: usize) -> Verdict {
    report.entries.iter().find(|judged| judged.index == entry).expect("the demo's entries can be judged").verdict
}

/// The demo plan with one aircraft's hand turned such that its verdict changes: entry, the plan, the verdicts.
fn a_telling_turn() -> (usize, Plan, Verdict, Verdict) {
    let demo = lapmargin::plan::demo();
    let mut evaluator = Evaluator::default();
    let before = evaluator.report(&demo, Effort::FULL);
    (0..demo.entries.len())
        .find_map(|entry| {
            let mut plan = demo.clone();
            let hand = &mut plan.entries[entry].radios[0].antenna.hand;
            *hand = turned(*hand);
            let after = verdict_of(&evaluator.report(&plan, Effort::FULL), entry);
            let was = verdict_of(&before, entry);
            (after != was).then_some((entry, plan, was, after))
        })
        .expect("turning a hand matters to some entry of the demo")
}

async fn click(visit: &Visit, css: &str) {
    let element = visit.driver.find(By::Css(css)).await.expect("the element is there");
    element.scroll_into_view().await.expect("it can be scrolled to");
    element.click().await.expect("it can be clicked");
}

/// Chooses an entry and turns its aircraft's hand to that of `plan`; returns the selector of the chip's verdict.
async fn turn_hand(visit: &Visit, entry: usize, plan: &Plan) -> String {
    let chip = format!("#verdict-{entry} .verdict-word");
    visit.text_when(&chip, |text| !text.is_empty()).await;
    click(visit, &format!("#verdict-{entry}")).await;
    let hand = place(plan.entries[entry].radios[0].antenna.hand);
    click(visit, &format!("#ask-aircraft-hand-{hand}")).await;
    chip
}

async fn type_over(visit: &Visit, css: &str, text: &str) {
    let field = visit.driver.find(By::Css(css)).await.expect("the field is there");
    field.scroll_into_view().await.expect("it can be scrolled to");
    field.send_keys(Key::Control + "a").await.expect("a field takes keys");
    field.send_keys(text).await.expect("a field takes keys");
}

async fn value(visit: &Visit, css: &str) -> String {
    let field = visit.driver.find(By::Css(css)).await.expect("the field is there");
    field.value().await.expect("a field has a value").unwrap_or_default()
}

async fn answer(visit: &Visit, script: &str) -> serde_json::Value {
    visit.driver.execute(script, Vec::new()).await.expect("the script runs").json().clone()
}

#[tokio::test]
async fn a_turned_hand_changes_the_verdict_as_the_core_says_and_undo_takes_it_back() {
    let Some(visit) = visit::open("").await else { return };
    let (entry, plan, before, after) = a_telling_turn();
    let chip = turn_hand(&visit, entry, &plan).await;
    visit.text_when(&chip, |text| text == word(after)).await;
    let moved = visit.text_when("#moved", |text| text.starts_with("Hand turned")).await;
    assert!(moved.contains("dB"), "{moved}");
    let was = visit.text_when(&format!("#verdict-{entry} .verdict-was"), |text| !text.is_empty()).await;
    assert!(was.ends_with(word(before)), "{was}");

    click(&visit, "#undo").await;
    visit.text_when(&chip, |text| text == word(before)).await;
    click(&visit, "#redo").await;
    visit.text_when(&chip, |text| text == word(after)).await;
    visit.driver.find(By::Css("body")).await.unwrap().send_keys(Key::Control + "z").await.unwrap();
    visit.text_when(&chip, |text| text == word(before)).await;
    assert_eq!(visit.console_errors().await, [""; 0]);
}

#[tokio::test]
async fn a_reload_keeps_the_plan() {
    let Some(visit) = visit::open("").await else { return };
    let (entry, plan, _, after) = a_telling_turn();
    let chip = turn_hand(&visit, entry, &plan).await;
    visit.text_when(&chip, |text| text == word(after)).await;
    visit.driver.refresh().await.unwrap();
    visit.text_when(&chip, |text| text == word(after)).await;
    let undo = visit.driver.find(By::Css("#undo")).await.unwrap();
    assert!(!undo.is_enabled().await.unwrap(), "a new visit has no history");
}

#[tokio::test]
async fn a_kept_text_that_is_no_plan_is_said_and_stays() {
    let Some(visit) = visit::open("").await else { return };
    visit.text_when("#verdict-0 .verdict-word", |text| !text.is_empty()).await;
    answer(&visit, r#"localStorage.setItem("lapmargin.plan", "{\"format\": 7"); return null"#).await;
    visit.driver.refresh().await.unwrap();
    let said = visit.text_when("#unreadable", |text| !text.is_empty()).await;
    assert!(said.contains("could not be read"), "{said}");
    assert_eq!(answer(&visit, r#"return localStorage.getItem("lapmargin.plan-unreadable")"#).await, "{\"format\": 7");
    visit.text_when("#verdict-0 .verdict-word", |text| !text.is_empty()).await;
}

#[tokio::test]
async fn a_bad_value_shows_its_sentence_and_changes_nothing() {
    let Some(visit) = visit::open("").await else { return };
    let eirp = visit.text_when("#eirp", |text| text.contains("EIRP")).await;
    type_over(&visit, "#ask-power", "12.x").await;
    let wrong = visit.text_when("#ask-power-wrong", |text| !text.is_empty()).await;
    assert!(wrong.contains("12.x") && wrong.contains("not a number"), "{wrong}");
    let field = visit.driver.find(By::Css("#ask-power")).await.unwrap();
    assert_eq!(field.attr("aria-invalid").await.unwrap().as_deref(), Some("true"));
    let described = field.attr("aria-describedby").await.unwrap().unwrap_or_default();
    assert!(described.split(' ').any(|id| id == "ask-power-wrong"), "{described}");

    type_over(&visit, "#ask-power", "999999").await;
    field.send_keys(Key::Enter + "").await.unwrap();
    let wrong = visit.text_when("#ask-power-wrong", |text| text.contains("outside")).await;
    assert!(wrong.contains("mW"), "{wrong}");
    assert_eq!(value(&visit, "#ask-power").await, "999999", "what was typed stays");
    assert_eq!(visit.text_when("#eirp", |_| true).await, eirp, "the last good result stays");
    let undo = visit.driver.find(By::Css("#undo")).await.unwrap();
    assert!(!undo.is_enabled().await.unwrap());
}

#[tokio::test]
async fn a_decimal_comma_is_accepted() {
    let Some(visit) = visit::open("").await else { return };
    let before = visit.text_when("#eirp", |text| text.contains("EIRP")).await;
    type_over(&visit, "#ask-power", "25,5").await;
    visit.driver.find(By::Css("#ask-power")).await.unwrap().send_keys(Key::Enter + "").await.unwrap();
    visit.text_when("#eirp", |text| text != before).await;
    assert_eq!(value(&visit, "#ask-power").await, "25.5");
    assert!(visit.driver.find(By::Css("#ask-power-wrong")).await.is_err());
}

#[tokio::test]
async fn a_hand_that_nobody_says_is_judged_both_ways() {
    let Some(visit) = visit::open("").await else { return };
    visit.text_when("#verdict-0 .verdict-word", |text| !text.is_empty()).await;
    click(&visit, "#ask-aircraft-hand-2").await;
    let cases = visit.text_when("#unknown-hands", |text| text.contains("left hand")).await;
    assert!(cases.contains("right hand") && cases.contains("reserve"), "{cases}");
    let mut plan = lapmargin::plan::demo();
    plan.entries[0].radios[0].antenna.hand = StatedHand::Unknown;
    let report = Evaluator::default().report(&plan, Effort::FULL);
    visit.text_when("#verdict-0 .verdict-word", |text| text == word(verdict_of(&report, 0))).await;
}

#[tokio::test]
async fn the_three_hands_are_compared_on_request_as_the_core_compares_them() {
    let Some(visit) = visit::open("").await else { return };
    visit.text_when("#verdict-0 .verdict-word", |text| !text.is_empty()).await;
    click(&visit, "#hands-compare").await;
    let expected: HandComparison = Evaluator::default()
        .compare_hands(&lapmargin::plan::demo(), 0, Effort::FULL)
        .expect("the demo's first entry can be compared");
    for (index, row) in expected.rows.iter().enumerate() {
        let cell = format!(".hands-table tbody tr:nth-child({}) td", index + 1);
        visit.text_when(&cell, |text| text == word(row.verdict)).await;
    }
    let lines = visit.driver.find_all(By::Css(".hand-plot polyline")).await.unwrap();
    assert_eq!(lines.len(), 3);
}

#[tokio::test]
async fn the_saved_report_is_the_cores_to_the_last_bit() {
    let Some(visit) = visit::open("").await else { return };
    visit.text_when("#verdict-0 .verdict-word", |text| !text.is_empty()).await;
    let watch = "const make = URL.createObjectURL; URL.createObjectURL = blob => { window.saved = blob; return make.call(URL, blob); };
        return null";
    answer(&visit, watch).await;
    click(&visit, "#save-report").await;
    let read = "const done = arguments[0];
        const look = () => window.saved ? window.saved.text().then(done) : setTimeout(look, 20);
        look();";
    let saved = visit.driver.execute_async(read, Vec::new()).await.expect("the report is saved");
    let saved = saved.json().as_str().expect("a report is text").to_owned();
    let expected = sheet::json(&lapmargin::plan::demo(), &mut Evaluator::default()).unwrap();
    assert!(saved == expected, "{} and {} bytes differ", saved.len(), expected.len());
}

#[tokio::test]
async fn entries_are_chosen_by_keyboard() {
    let Some(visit) = visit::open("").await else { return };
    visit.text_when("#verdict-0 .verdict-word", |text| !text.is_empty()).await;
    let first = visit.driver.find(By::Css("#verdict-0")).await.unwrap();
    first.focus().await.unwrap();
    first.send_keys(Key::Down + "").await.unwrap();
    let name = &lapmargin::plan::demo().entries[1].name;
    visit.text_when("#equipment-heading", |text| text.contains(name.as_str())).await;
    assert_eq!(answer(&visit, "return document.activeElement.id").await, "verdict-1");
}

#[tokio::test]
async fn a_phone_needs_no_sideways_scrolling_and_pictures_are_kept() {
    let Some(visit) = visit::open("").await else { return };
    visit.text_when("#verdict-0 .verdict-word", |text| !text.is_empty()).await;
    visit.text_when("#ladder-heading", |text| !text.is_empty()).await;
    for (width, height) in [(1440, 900), (390, 844)] {
        visit.view(width, height).await;
        for scheme in ["light", "dark"] {
            visit.prefer("prefers-color-scheme", scheme).await;
            visit.picture(&format!("desk-{width}x{height}-{scheme}")).await;
        }
        let wide = answer(&visit, "return document.documentElement.scrollWidth").await;
        assert!(wide.as_u64().is_some_and(|wide| wide <= u64::from(width)), "{wide} of {width}");
    }
}
