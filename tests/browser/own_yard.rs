//! A measured run: from an empty page to the verdicts of a whole yard, with every action counted.

use std::time::Instant;

use thirtyfour::Key;

use crate::visit;
use crate::yard::Hand;

/// What it may take: clicks, drags, taps and keys, and one for each field that is typed.
const FEWER_THAN: usize = 45;

#[tokio::test]
#[allow(clippy::print_stdout, reason = "the time is told, not held against a bound: it is the machine's")]
async fn a_yard_of_ones_own_takes_few_actions_from_nothing_to_four_verdicts() {
    let Some(visit) = visit::open("").await else { return };
    let start = Instant::now();
    let mut hand = Hand { visit: &visit, site_m: [30.0, 20.0], actions: 0 };
    // How large, and how many fly; Tab goes from field to field.
    hand.click("#new-plan summary").await;
    hand.click("#new-width").await;
    for text in ["30", "20", "4"] {
        hand.type_on(text).await;
    }
    hand.click("#new-begin").await;
    visit.text_when("#verdict-3", |text| text.contains("Entry 4")).await;
    visit.attribute_when("[data-part='gate-1']", "aria-label", |label| label.contains("15 metres east")).await;
    // Two buildings, three stalls, a crowd.
    hand.click("#add-building").await;
    hand.drag([0.5, 16.5], [12.0, 19.5]).await;
    hand.drag([25.0, 13.0], [29.5, 19.5]).await;
    hand.click("#add-stall").await;
    for [east, north] in [[7.0, 11.0], [15.0, 10.5], [19.0, 12.5]] {
        hand.tap(east, north).await;
    }
    hand.click("#add-crowd").await;
    hand.drag([1.0, 0.5], [8.0, 2.5]).await;
    hand.key(Key::Escape).await;
    // Six gates: two that are there go elsewhere, four come after them, and all look along the way.
    hand.drag([15.0, 7.0], [8.0, 6.0]).await;
    hand.drag([15.0, 14.0], [23.0, 5.5]).await;
    hand.click("#add-gate").await;
    for [east, north] in [[27.0, 9.5], [22.0, 15.5], [14.0, 14.5], [3.0, 12.0]] {
        hand.tap(east, north).await;
    }
    hand.key(Key::Escape).await;
    hand.click("#page-yard-tab").await;
    hand.click("#gates summary").await;
    hand.click("#align").await;
    hand.click("#page-kit-tab").await;
    // What is known of the first one's kit is so for all of them.
    for known in ["#ask-port-0-hand-0", "#ask-port-1-hand-0", "#ask-aircraft-hand-0"] {
        hand.click(known).await;
    }
    hand.click("#kit-all").await;
    hand.click("#verdict-3").await;

    for entry in 0..4 {
        let verdict = visit.text_when(&format!("#verdict-{entry} .verdict-word"), |text| !text.is_empty()).await;
        assert!(["clear", "thin", "short"].iter().any(|word| verdict.contains(word)), "{verdict}");
    }
    visit.text_when("#moved", |text| text.starts_with("Kit of Entry 1 for all")).await;
    let minutes = start.elapsed().as_secs_f64() / 60.0;
    println!("{} actions, {minutes:.1} minutes of the machine", hand.actions);
    assert!(hand.actions < FEWER_THAN, "{} actions", hand.actions);
    for (part, name) in [
        ("obstacle-1", "Building 2"),
        ("obstacle-4", "Stall 3"),
        ("obstacle-5", "Crowd 1"),
        ("gate-5", "Gate 6"),
        ("seat-3", "Seat 4"),
    ] {
        visit.attribute_when(&format!("[data-part='{part}']"), "aria-label", |label| label.starts_with(name)).await;
    }
    visit.shot("own-yard").await;
    // Its link is short enough for the code on the sheet.
    visit.click("#plans-summary").await;
    visit.text_when("#plans", |text| text.contains("It is short enough for a QR code")).await;
    visit.go("#view=sheet").await;
    visit.reload().await;
    visit.find(".sheet-link .sheet-code").await;
    assert_eq!(visit.console_errors().await, [""; 0]);
}
