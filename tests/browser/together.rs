//! Verdict and edit on one screen: the course and the verdicts always in sight, everything else on pages of one panel.

use std::fmt::Write;

use lapmargin::plan::{self, limits, plan_link};
use serde_json::{Value, json};
use thirtyfour::Key;

use crate::enlarged::FAULTS;
use crate::visit::{self, Visit};

/// Pages of the panel.
const PAGES: [&str; 4] = ["kit", "link", "yard", "rules"];

/// Whether every part of what matches lies within the window.
async fn in_sight(visit: &Visit, css: &str) -> bool {
    let script = format!(
        "const all = [...document.querySelectorAll({})];
        return all.length > 0 && all.every(it => {{
            const box = it.getBoundingClientRect();
            return it.checkVisibility() && box.top >= -0.5 && box.bottom <= innerHeight + 0.5 && box.left >= 0 && box.right <= innerWidth;
        }})",
        json!(css)
    );
    visit.script(&script).await == Value::Bool(true)
}

async fn number(visit: &Visit, script: &str) -> f64 {
    visit.script(script).await.as_f64().unwrap_or_else(|| panic!("{script} gives no number"))
}

#[tokio::test]
async fn course_strip_and_verdicts_stand_together() {
    let Some(visit) = visit::open("").await else { return };
    for (width, height, least) in [(1440, 900, 0.97), (1280, 720, 0.9), (1920, 1080, 0.8)] {
        visit.view(width, height).await;
        visit.flown().await;
        visit.rests(".strip-drawing").await;
        for css in [".verdict", ".course-sheet svg", ".strip-drawing", ".tab[role='tab']", "#undo"] {
            assert!(in_sight(&visit, css).await, "{css} at {width} by {height}");
        }
        let share = "return document.querySelector('.course-sheet svg').getBoundingClientRect().width
            / document.querySelector('.course-sheet').clientWidth";
        let share = number(&visit, share).await;
        assert!(share >= least, "the drawing takes {share} of its width at {width}");
        for page in PAGES {
            visit.page(page).await;
            let screens = format!("return document.getElementById('page-{page}').scrollHeight / innerHeight");
            let screens = number(&visit, &screens).await;
            // A lower window shows less at a time.
            let most = if height < 800 { 2.6 } else { 2.0 };
            assert!(screens <= most, "{page} is {screens} screens long at {width} by {height}");
            assert!(in_sight(&visit, ".verdict").await && in_sight(&visit, ".course-sheet svg").await, "{page}");
        }
        visit.shot(&format!("together-{width}x{height}")).await;
    }
}

#[tokio::test]
async fn tabs_go_by_arrow_keys_and_the_page_is_kept() {
    let Some(visit) = visit::open("").await else { return };
    visit.find("#page-kit-tab[aria-selected='true']").await;
    visit.press("#page-kit-tab", Key::Right).await;
    visit.script_when("return document.activeElement.id", |id| id == "page-link-tab").await;
    visit.find("#page-link-tab[aria-selected='true'][tabindex='0']").await;
    assert_eq!(visit.count(".tab[role='tab'][tabindex='0']").await, 1);
    let shown =
        "return [...document.querySelectorAll('.page')].filter(page => page.checkVisibility()).map(page => page.id)";
    assert_eq!(visit.script(shown).await, json!(["page-link"]));
    visit.press("#page-link-tab", Key::End).await;
    visit.script_when("return document.activeElement.id", |id| id == "page-rules-tab").await;
    visit.reload().await;
    visit.find("#page-rules-tab[aria-selected='true']").await;
    assert_eq!(visit.script(shown).await, json!(["page-rules"]));
    // What was typed on a page is there when one comes back to it.
    visit.page("kit").await;
    visit.type_over("#ask-power", "12.x").await;
    visit.page("link").await;
    visit.page("kit").await;
    visit.text_when("#ask-power-wrong", |text| text.contains("12.x")).await;
    assert_eq!(visit.console_errors().await, [""; 0]);
}

#[tokio::test]
async fn a_phone_shows_verdict_and_undo_while_the_hand_is_changed() {
    let Some(visit) = visit::open("").await else { return };
    visit.view(390, 844).await;
    visit.flown().await;
    // Verdict, where, the questions with the comparison; the ladder is on a page of its own.
    let order = "return ['.verdicts', '.course-drawing', '.strip-drawing', '.questions', '.hands']
        .map(css => document.querySelector(css).getBoundingClientRect().top)";
    let order = visit.script(order).await;
    let order: Vec<f64> = order.as_array().expect("a list").iter().filter_map(Value::as_f64).collect();
    assert!(order.len() == 5 && order.is_sorted(), "{order:?}");
    assert!(visit.script("return document.querySelector('.ladder').checkVisibility()").await == Value::Bool(false));
    let head = number(&visit, "return document.querySelector('.masthead').getBoundingClientRect().height").await;
    assert!(head <= 64.0, "the head is {head} px high");

    visit.click("#verdict-2").await;
    let before = visit.text_when(".slim", |text| text.contains("Moth")).await;
    visit.script("document.querySelector('.hands').scrollIntoView({ block: 'end' })").await;
    assert!(in_sight(&visit, ".slim").await && in_sight(&visit, "#undo").await);
    let other = "return document.querySelectorAll('#ask-aircraft-hand-0:checked').length";
    let other = if visit.script(other).await == json!(1) { "#ask-aircraft-hand-1" } else { "#ask-aircraft-hand-0" };
    visit.click(other).await;
    let after = visit.text_when(".slim", |text| text != before && text.contains("was ")).await;
    assert!(in_sight(&visit, ".slim").await, "{after}");
    assert!(in_sight(&visit, "#undo").await);
    visit.click("#undo").await;
    visit.text_when(".slim", |text| text.contains("short")).await;

    // From anywhere the course is one tap away.
    for page in PAGES {
        visit.page(page).await;
        visit
            .script_when(
                &format!("return document.getElementById('page-{page}').getBoundingClientRect().top < innerHeight / 2"),
                |seen| *seen == true,
            )
            .await;
        visit.click(".tabs-course").await;
        visit
            .script_when(
                "const box = document.querySelector('.course-drawing').getBoundingClientRect();
            return box.top >= 0 && box.bottom <= innerHeight",
                |seen| *seen == true,
            )
            .await;
    }
    assert_eq!(visit.console_errors().await, [""; 0]);
}

#[tokio::test]
async fn nothing_that_is_said_moves_the_drawing() {
    let Some(visit) = visit::open("").await else { return };
    for (width, height) in [(390, 844), (1280, 720)] {
        visit.view(width, height).await;
        visit.script("localStorage.clear()").await;
        visit.reload().await;
        visit.flown().await;
        visit.script("scrollTo(0, 0)").await;
        visit.rests(".course-drawing").await;
        let top = "return document.querySelector('.course-sheet svg').getBoundingClientRect().top + scrollY";
        let before = number(&visit, top).await;
        visit.press("[data-part='gate-1']", Key::Enter).await;
        visit.press_with("[data-part='gate-1']", Key::Shift, Key::Right).await;
        visit.text_when("#moved", |text| text.starts_with("Gate 2")).await;
        assert_eq!(number(&visit, top).await, before, "a change is said at {width}");
        visit.go("#view=desk&plan=1nonsense").await;
        visit.find("#plans-notice").await;
        visit.rests(".course-drawing").await;
        assert_eq!(number(&visit, top).await, before, "a notice at {width}");
        visit.go("#view=desk").await;
    }
}

#[tokio::test]
async fn the_hand_of_the_aircraft_is_few_tab_stops_away() {
    let Some(visit) = visit::open("").await else { return };
    visit.flown().await;
    for (width, most) in [(1440, 19), (390, 40)] {
        visit.view(width, 900).await;
        visit.script("document.activeElement.blur(); getSelection().removeAllRanges(); scrollTo(0, 0)").await;
        visit.script("document.querySelector('.skip').focus()").await;
        let mut stops = 1;
        while !visit
            .script("return document.activeElement.id.startsWith('ask-aircraft-hand')")
            .await
            .as_bool()
            .expect("yes or no")
        {
            stops += 1;
            assert!(stops <= most, "{stops} tab stops at {width}");
            visit.driver.action_chain().send_keys(Key::Tab).perform().await.expect("keys can be pressed");
        }
    }
    // One stop for all the parts of the drawing.
    assert_eq!(visit.count(".course-drawing [tabindex='0']").await, 1);
    visit.press("[data-part='gate-0']", Key::End).await;
    visit
        .script_when("return document.activeElement.dataset.part", |part| {
            part.as_str().is_some_and(|part| part.starts_with("obstacle-"))
        })
        .await;
    visit.press(".course-drawing [tabindex='0']", Key::Home).await;
    visit.script_when("return document.activeElement.dataset.part", |part| part == "gate-0").await;
    // The second link at the top of the page leads straight to the kit, whatever page was open.
    visit.page("rules").await;
    visit.press("a.skip[href='#equipment-heading']", Key::Enter).await;
    visit.script_when("return document.activeElement.id", |id| id == "equipment-heading").await;
    visit.find("#page-kit-tab[aria-selected='true']").await;
}

#[tokio::test]
async fn handles_say_how_they_are_moved() {
    let Some(visit) = visit::open("").await else { return };
    let gate = "[data-part='gate-1']";
    let before = visit.attribute_when(gate, "aria-description", |how| how.contains("Enter")).await;
    assert!(before.contains("tap"), "{before}");
    visit.press(gate, Key::Enter).await;
    visit.attribute_when(gate, "aria-description", |how| how.contains("arrow keys") && how.contains('[')).await;
    let title = "return document.querySelector(\"[data-part='gate-1-turn'] > title\").textContent";
    visit.script_when(title, |how| how.as_str().is_some_and(|how| how.contains("turn"))).await;
}

#[tokio::test]
async fn menus_close_on_escape_outside_and_for_each_other() {
    let Some(visit) = visit::open("").await else { return };
    visit.flown().await;
    visit.click("#settings summary").await;
    visit.find("#settings[open]").await;
    visit.driver.action_chain().send_keys(Key::Escape).perform().await.expect("keys can be pressed");
    visit.gone("#settings[open]").await;
    visit.script_when("return document.activeElement.parentElement.id", |id| id == "settings").await;
    visit.click("#settings summary").await;
    visit.find("#settings[open]").await;
    visit.click("#plans-summary").await;
    visit.find("#plans[open]").await;
    visit.gone("#settings[open]").await;
    // A press within leaves it open.
    visit.click("#plans-heading").await;
    assert!(visit.has("#plans[open]").await);
    visit.click("#verdict-1").await;
    visit.gone("#plans[open]").await;

    visit.view(390, 844).await;
    visit.menu().await;
    visit.click("#new-plan summary").await;
    visit.find("#new-plan[open]").await;
    visit.driver.action_chain().send_keys(Key::Escape).perform().await.expect("keys can be pressed");
    visit.gone("#new-plan[open]").await;
    visit.find("#menu[aria-expanded='true']").await;
    visit.driver.action_chain().send_keys(Key::Escape).perform().await.expect("keys can be pressed");
    visit.find("#menu[aria-expanded='false']").await;
    visit.menu().await;
    visit.page("kit").await;
    visit.find("#menu[aria-expanded='false']").await;
}

#[tokio::test]
async fn forced_colours_show_what_is_picked() {
    let Some(visit) = visit::open("").await else { return };
    visit.flown().await;
    visit.prefer("forced-colors", "active").await;
    visit.press("[data-part='gate-1']", Key::Enter).await;
    visit.find("[data-part='gate-1'][aria-pressed='true']").await;
    let looks = "const look = (css, name) => getComputedStyle(document.querySelector(css))[name];
        const other = (one, two, name) => look(one, name) !== look(two, name);
        return [
            matchMedia('(forced-colors: active)').matches,
            other(\"[data-part='gate-1'] .is-ring\", \"[data-part='gate-2'] .is-ring\", 'stroke'),
            other('#verdict-0', '#verdict-1', 'outlineStyle'),
            other('#page-kit-tab', '#page-link-tab', 'outlineStyle'),
            other('#snap', '#zoom-in', 'outlineStyle'),
            other('.course-line path', '.course-border', 'stroke') || look('.course-line path', 'stroke') !== look('body', 'backgroundColor'),
        ]";
    visit.script_when(looks, |seen| *seen == json!([true, true, true, true, true, true])).await;
    visit.shot("forced-colours").await;
}

#[tokio::test]
async fn names_without_a_space_do_not_burst_the_page() {
    let long = "W".repeat(limits::NAME.max);
    let mut plan = plan::demo();
    plan.name.clone_from(&long);
    plan.entries.iter_mut().for_each(|entry| entry.name.clone_from(&long));
    plan.course.gates.iter_mut().for_each(|gate| gate.name.clone_from(&long));
    plan.seats.iter_mut().for_each(|seat| seat.name.clone_from(&long));
    plan.receivers.iter_mut().for_each(|receiver| receiver.name.clone_from(&long));
    plan.site.obstacles.iter_mut().for_each(|obstacle| obstacle.name.clone_from(&long));
    let Some(visit) = visit::open(&format!("#view=desk&plan={}", plan_link::write(&plan).unwrap())).await else {
        return;
    };
    visit.flown().await;
    visit.press("[data-part='gate-1']", Key::Enter).await;
    let mut report = String::new();
    for (width, height) in [(1440, 900), (390, 844), (320, 640)] {
        visit.view(width, height).await;
        for page in PAGES {
            visit.page(page).await;
            visit.script("document.querySelectorAll('.page details').forEach(fold => { fold.open = true; })").await;
            visit.rests("body").await;
            for fault in visit.script(FAULTS).await.as_array().expect("a list") {
                // A name may be cut off with dots where all of it stands elsewhere.
                let fault = fault.as_str().unwrap_or_default();
                if !fault.starts_with("span.slim-name") {
                    writeln!(report, "{page} at {width}: {fault}").expect("a text takes a line");
                }
            }
        }
        visit.shot(&format!("long-names-{width}")).await;
    }
    assert!(report.is_empty(), "\n{report}");
}
