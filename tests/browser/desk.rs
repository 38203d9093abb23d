//! What a person does at the desk, and that the page then says what the core says.

use lapmargin::link::report::{HandComparison, Report, Verdict};
use lapmargin::link::{Effort, Evaluator};
use lapmargin::plan::document::{Plan, StatedHand};
use lapmargin::plan::plan_link;
use lapmargin_page::format;
use thirtyfour::prelude::*;

use crate::visit::{self, Visit};

pub fn word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Clear => "clear",
        Verdict::Thin => "thin",
        Verdict::Short => "short",
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

/// Chooses an entry and turns its aircraft's hand to that of `plan`; returns the selector of the chip's verdict.
async fn turn_hand(visit: &Visit, entry: usize, plan: &Plan) -> String {
    let chip = format!("#verdict-{entry} .verdict-word");
    visit.page("kit").await;
    visit.text_when(&chip, |text| !text.is_empty()).await;
    visit.click(&format!("#verdict-{entry}")).await;
    let hand = place(plan.entries[entry].radios[0].antenna.hand);
    visit.click(&format!("#ask-aircraft-hand-{hand}")).await;
    chip
}

async fn value(visit: &Visit, css: &str) -> String {
    visit.find(css).await.value().await.expect("a field has a value").unwrap_or_default()
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

    visit.click("#undo").await;
    visit.text_when(&chip, |text| text == word(before)).await;
    visit.click("#redo").await;
    visit.text_when(&chip, |text| text == word(after)).await;
    visit.driver.action_chain().key_down(Key::Control).send_keys("z").key_up(Key::Control).perform().await.unwrap();
    visit.text_when(&chip, |text| text == word(before)).await;
    assert_eq!(visit.console_errors().await, [""; 0]);
}

#[tokio::test]
async fn a_reload_keeps_the_plan() {
    let Some(visit) = visit::open("").await else { return };
    turn_and_reload(&visit).await;
}

/// Turns a hand, loads the page anew and finds it turned.
pub async fn turn_and_reload(visit: &Visit) {
    let (entry, plan, before, after) = a_telling_turn();
    let chip = turn_hand(visit, entry, &plan).await;
    visit.text_when(&chip, |text| text == word(after)).await;
    visit.reload().await;
    visit.text_when(&chip, |text| text == word(after)).await;
    // What was done before can still be undone.
    visit.click("#undo").await;
    visit.text_when(&chip, |text| text == word(before)).await;
    visit.reload().await;
    visit.click("#redo").await;
    visit.text_when(&chip, |text| text == word(after)).await;
}

#[tokio::test]
async fn a_list_is_drawn_with_what_is_chosen() {
    let Some(visit) = visit::open("").await else { return };
    visit.text_when("#eirp", |text| text.contains("EIRP")).await;
    // What a list shows before the page has told it anything.
    let others = "return [...document.querySelectorAll('.field-list')].filter(list =>
        [...list.options].some((option, index) => option.defaultSelected !== (index === list.selectedIndex))
    ).map(list => list.id)";
    let others = visit.script(others).await;
    assert_eq!(others, serde_json::json!([]));
}

#[tokio::test]
async fn a_bad_value_shows_its_sentence_and_changes_nothing() {
    let Some(visit) = visit::open("").await else { return };
    let eirp = visit.text_when("#eirp", |text| text.contains("EIRP")).await;
    visit.type_over("#ask-power", "12.x").await;
    let wrong = visit.text_when("#ask-power-wrong", |text| !text.is_empty()).await;
    assert!(wrong.contains("12.x") && wrong.contains("not a number"), "{wrong}");
    visit.attribute_when("#ask-power", "aria-invalid", |invalid| invalid == "true").await;
    let described = |ids: &str| ids.split(' ').any(|id| id == "ask-power-wrong");
    visit.attribute_when("#ask-power", "aria-describedby", described).await;

    visit.type_over("#ask-power", "999999").await;
    visit.press("#ask-power", Key::Enter).await;
    let wrong = visit.text_when("#ask-power-wrong", |text| text.contains("outside")).await;
    assert!(wrong.contains("mW"), "{wrong}");
    assert_eq!(value(&visit, "#ask-power").await, "999999", "what was typed stays");
    assert_eq!(visit.text_when("#eirp", |_| true).await, eirp, "the last good result stays");
    assert!(visit.has("#undo:disabled").await);
}

#[tokio::test]
async fn a_power_that_somebody_measured_narrows_the_band_by_keyboard() {
    let Some(visit) = visit::open("").await else { return };
    let mut plan = lapmargin::plan::demo();
    let spare = |plan: &Plan| {
        let judged = Evaluator::default().report(plan, Effort::FULL).entries.remove(0);
        // As a browser tells a text: every space is one.
        format::spare(judged.reserve_db, Some(judged.sigma_db)).replace('\u{a0}', " ")
    };
    let stated = spare(&plan);
    plan.entries[0].radios[0].power_is_measured = true;
    let measured = spare(&plan);
    assert_ne!(stated, measured);
    visit.text_when("#verdict-0 .verdict-figures", |text| text.contains(&stated)).await;
    visit.press("#ask-power-measured", " ").await;
    visit.text_when("#verdict-0 .verdict-figures", |text| text.contains(&measured)).await;
    visit.click("#ask-power-measured").await;
    visit.text_when("#verdict-0 .verdict-figures", |text| text.contains(&stated)).await;
}

#[tokio::test]
async fn a_chair_on_the_line_and_a_shared_channel_are_said_at_once() {
    let mut plan = lapmargin::plan::demo();
    (plan.seats[0].x_m, plan.seats[0].y_m, plan.seats[0].height_m) = (14.4, 7.2, 2.2);
    plan.entries[1].channel_hz = plan.entries[0].channel_hz;
    let report = Evaluator::default().report(&plan, Effort::FULL);
    let tail = format!("#view=desk&plan={}", plan_link::write(&plan).expect("the link holds it"));
    let Some(visit) = visit::open(&tail).await else { return };
    visit.page("rules").await;
    visit.text_when("#safety strong", |text| text == report.safety[0].sentence).await;
    assert!(report.safety[0].sentence.contains("the chair of Linnet"));
    assert_eq!(visit.count("#safety li").await, report.safety.len() as u64);
    assert_eq!(visit.count(".course-safety .safety-mark").await, report.safety.len() as u64);
    for entry in [0, 1] {
        let shared = &report.entries[entry].same_channel[0].sentence;
        visit.text_when(&format!("#verdict-{entry} .verdict-shared"), |text| text == shared).await;
    }
}

#[tokio::test]
async fn a_decimal_comma_is_accepted() {
    let Some(visit) = visit::open("").await else { return };
    let before = visit.text_when("#eirp", |text| text.contains("EIRP")).await;
    visit.type_over("#ask-power", "25,5").await;
    visit.press("#ask-power", Key::Enter).await;
    visit.text_when("#eirp", |text| text != before).await;
    visit.script_when("return document.getElementById('ask-power').value", |value| value == "25.5").await;
    assert!(!visit.has("#ask-power-wrong").await);
}

#[tokio::test]
async fn a_hand_that_nobody_says_is_judged_both_ways() {
    let Some(visit) = visit::open("").await else { return };
    visit.text_when("#verdict-0 .verdict-word", |text| !text.is_empty()).await;
    visit.click("#ask-aircraft-hand-2").await;
    let cases = visit.text_when("#unknown-hands", |text| text.contains("left hand")).await;
    assert!(cases.contains("right hand") && cases.contains("dB to"), "{cases}");
    let mut plan = lapmargin::plan::demo();
    plan.entries[0].radios[0].antenna.hand = StatedHand::Unknown;
    let report = Evaluator::default().report(&plan, Effort::FULL);
    visit.text_when("#verdict-0 .verdict-word", |text| text == word(verdict_of(&report, 0))).await;
}

#[tokio::test]
async fn the_three_hands_are_compared_on_request_as_the_core_compares_them() {
    let Some(visit) = visit::open("").await else { return };
    visit.text_when("#verdict-0 .verdict-word", |text| !text.is_empty()).await;
    visit.click("#hands-compare").await;
    let expected: HandComparison = Evaluator::default()
        .compare_hands(&lapmargin::plan::demo(), 0, Effort::FULL)
        .expect("the demo's first entry can be compared");
    for (index, row) in expected.rows.iter().enumerate() {
        let cell = format!(".hands-table tbody tr:nth-child({}) td", index + 1);
        visit.text_when(&cell, |text| text == word(row.verdict)).await;
    }
    assert_eq!(visit.count(".hand-plot polyline").await, 3);
}

#[tokio::test]
async fn entries_are_chosen_by_keyboard() {
    let Some(visit) = visit::open("").await else { return };
    visit.text_when("#verdict-0 .verdict-word", |text| !text.is_empty()).await;
    visit.press("#verdict-0", Key::Down).await;
    let name = &lapmargin::plan::demo().entries[1].name;
    visit.text_when("#equipment-heading", |text| text.contains(name.as_str())).await;
    visit.script_when("return document.activeElement.id", |id| id == "verdict-1").await;
}

#[tokio::test]
async fn a_phone_needs_no_sideways_scrolling() {
    let Some(visit) = visit::open("").await else { return };
    visit.text_when("#verdict-0 .verdict-word", |text| !text.is_empty()).await;
    for (width, height) in [(1440, 900), (390, 844), (360, 740), (320, 640), (844, 390)] {
        visit.view(width, height).await;
        for page in ["kit", "link", "yard", "rules"] {
            visit.page(page).await;
            let wide = visit.script("return document.documentElement.scrollWidth").await;
            assert!(wide.as_u64().is_some_and(|wide| wide <= u64::from(width)), "{wide} of {width}, {page}");
        }
    }
}

#[tokio::test]
async fn in_full_sun_the_page_is_black_on_white_and_the_screen_may_stay_awake() {
    let Some(visit) = visit::open("").await else { return };
    visit.click("#settings summary").await;
    visit.choose("theme", 3).await;
    let colours = "const look = getComputedStyle(document.body); return look.color + ' on ' + look.backgroundColor";
    visit.script_when(colours, |seen| seen == "rgb(0, 0, 0) on rgb(255, 255, 255)").await;
    // A browser without a screen may refuse; then the page says so.
    visit.choose("awake", 1).await;
    let answer = "const note = document.getElementById('awake-refused');
        return [document.documentElement.dataset.awake, getComputedStyle(note).display !== 'none']";
    visit
        .script_when(answer, |seen| {
            *seen == serde_json::json!(["asked", false]) || *seen == serde_json::json!(["refused", true])
        })
        .await;
    visit.reload().await;
    visit.script_when(colours, |seen| seen == "rgb(0, 0, 0) on rgb(255, 255, 255)").await;
}
