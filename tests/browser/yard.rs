//! A yard of one's own: from an empty page to a verdict, by pointer, by keyboard, by finger, near and far.

use thirtyfour::Key;

use crate::visit::{self, Visit};

/// What a person may need of pointer actions for a usable plan: a click, a tap or a drag is one.
const MOST_ACTIONS: usize = 40;

/// A hand on the mouse, which counts what it does.
pub struct Hand<'a> {
    /// Where it is.
    pub visit: &'a Visit,
    /// The sides of the site it draws on.
    pub site_m: [f64; 2],
    /// What it has done: a click, a tap, a drag or a key is one, and so is a field that was typed.
    pub actions: usize,
}

impl Hand<'_> {
    pub async fn click(&mut self, css: &str) {
        self.actions += 1;
        self.visit.click(css).await;
    }

    /// Clicks a place of the site.
    pub async fn tap(&mut self, east_m: f64, north_m: f64) {
        self.actions += 1;
        let [x, y] = self.window_place([east_m, north_m]).await;
        let chain = self.visit.driver.action_chain().move_to(x, y).click();
        chain.perform().await.expect("the mouse can click");
    }

    /// Drags from one place of the site to another.
    pub async fn drag(&mut self, from_m: [f64; 2], to_m: [f64; 2]) {
        self.actions += 1;
        let [from, to] = [self.window_place(from_m).await, self.window_place(to_m).await];
        let half = [(from[0] + to[0]) / 2, (from[1] + to[1]) / 2];
        let chain = self.visit.driver.action_chain().move_to(from[0], from[1]).click_and_hold();
        let chain = chain.move_to(half[0], half[1]).move_to(to[0], to[1]).release();
        chain.perform().await.expect("the mouse can drag");
    }

    /// Types over the field that has the focus, and goes on to the next.
    pub async fn type_on(&mut self, text: &str) {
        self.actions += 1;
        let all = self.visit.driver.action_chain().key_down(Key::Control).send_keys("a").key_up(Key::Control);
        all.send_keys(text).send_keys(Key::Tab).perform().await.expect("keys can be pressed");
    }

    /// Presses a key, wherever the focus is.
    pub async fn key(&mut self, key: Key) {
        self.actions += 1;
        self.visit.driver.action_chain().send_keys(key).perform().await.expect("keys can be pressed");
    }

    /// Where a place of the site is in the window, by the border as it is drawn.
    async fn window_place(&self, [east_m, north_m]: [f64; 2]) -> [i64; 2] {
        self.visit.rests(".course-border").await;
        let script = "const box = document.querySelector('.course-border').getBoundingClientRect();
            return [box.left, box.bottom, box.width, box.height];";
        let found = self.visit.driver.execute(script, Vec::new()).await.expect("the script runs");
        let [left, bottom, width, height] = found.convert::<[f64; 4]>().expect("a border has four numbers");
        let x = left + east_m / self.site_m[0] * width;
        let y = bottom - north_m / self.site_m[1] * height;
        [x.round() as i64, y.round() as i64]
    }
}

/// The yard that these tests draw.
const SITE_M: [f64; 2] = [36.0, 24.0];

/// Begins a plan of the yard's size; the sizes are typed.
async fn begin(hand: &mut Hand<'_>) {
    hand.click("#new-plan summary").await;
    for (field, size) in [("#new-width", SITE_M[0]), ("#new-depth", SITE_M[1])] {
        hand.click(field).await;
        hand.type_on(&size.to_string()).await;
    }
    hand.click("#new-begin").await;
    hand.visit.text_when("#verdict-0", |text| text.contains("Entry 1")).await;
    // The whole of the new site is drawn before anything is put on it.
    hand.visit.attribute_when("[data-part='gate-1']", "aria-label", |label| label.contains("18 metres east")).await;
}

#[tokio::test]
async fn from_an_empty_page_to_a_verdict_in_few_pointer_actions() {
    let Some(visit) = visit::open("").await else { return };
    draw_a_yard(&visit).await;
    visit.shot("yard").await;
}

/// Draws a yard with obstacles and gates by pointer and reads its verdict.
pub async fn draw_a_yard(visit: &Visit) {
    let mut hand = Hand { visit, site_m: SITE_M, actions: 0 };
    begin(&mut hand).await;
    // A house along the north side, two walls at a corner, three stalls, a crowd, a tree.
    hand.click("#add-building").await;
    hand.drag([0.0, 20.0], [20.0, 24.0]).await;
    hand.click("#add-wall").await;
    hand.tap(22.0, 2.0).await;
    hand.tap(34.0, 2.0).await;
    hand.tap(34.0, 10.0).await;
    hand.click("#add-stall").await;
    for (east, north) in [(9.0, 11.0), (16.0, 13.0), (27.0, 12.0)] {
        hand.tap(east, north).await;
    }
    hand.click("#add-crowd").await;
    hand.drag([23.0, 0.5], [33.0, 1.5]).await;
    hand.click("#add-tree").await;
    hand.tap(31.0, 20.0).await;
    // The tool stays in hand until its button is pressed again.
    hand.click("#add-tree").await;
    // Two gates that are there go elsewhere, three come after them, and all look along the way.
    hand.drag([18.0, 8.4], [10.0, 6.0]).await;
    hand.drag([18.0, 16.8], [30.0, 6.0]).await;
    hand.click("#add-gate").await;
    hand.tap(31.0, 15.0).await;
    hand.tap(20.0, 17.0).await;
    hand.tap(5.0, 15.0).await;
    hand.click("#add-gate").await;
    hand.click("#page-yard-tab").await;
    hand.click("#gates summary").await;
    hand.click("#align").await;
    // What is known about the kit.
    hand.click("#page-kit-tab").await;
    hand.click("#ask-aircraft-hand-0").await;
    hand.click("#verdict-0").await;

    let verdict = visit.text_when("#verdict-0 .verdict-word", |text| !text.is_empty()).await;
    assert!(["clear", "thin", "short"].iter().any(|word| verdict.contains(word)), "{verdict}");
    assert!(hand.actions <= MOST_ACTIONS, "{} pointer actions", hand.actions);
    for (part, name) in [
        ("obstacle-0", "Building 1"),
        ("obstacle-1", "Wall 1"),
        ("obstacle-2", "Wall 2"),
        ("obstacle-5", "Stall 3"),
        ("obstacle-6", "Crowd 1"),
        ("obstacle-7", "Tree 1"),
        ("gate-4", "Gate 5"),
    ] {
        visit.attribute_when(&format!("[data-part='{part}']"), "aria-label", |label| label.starts_with(name)).await;
    }
    visit
        .attribute_when("[data-part='gate-0']", "aria-label", |label| label.contains("10 metres east, 6 metres north"))
        .await;
    assert_eq!(visit.console_errors().await, [""; 0]);
}

#[tokio::test]
async fn a_wrong_drag_of_a_corner_is_taken_back() {
    let Some(visit) = visit::open("").await else { return };
    let mut hand = Hand { visit: &visit, site_m: SITE_M, actions: 0 };
    begin(&mut hand).await;
    hand.click("#add-building").await;
    hand.drag([4.0, 12.0], [10.0, 16.0]).await;
    hand.key(Key::Escape).await;
    let house = "[data-part='obstacle-0']";
    let before =
        visit.attribute_when(house, "aria-label", |label| label.contains("7 metres east, 14 metres north")).await;
    let corner = visit.find("[data-part='obstacle-0-corner-2'] .is-area").await;
    let drag =
        visit.driver.action_chain().click_and_hold_element(&corner).move_by_offset(40, -20).move_by_offset(20, -15);
    drag.release().perform().await.expect("the mouse can drag");
    visit.attribute_when(house, "aria-label", |label| label != before).await;
    let undone = visit.driver.action_chain().key_down(Key::Control).send_keys("z").key_up(Key::Control);
    undone.perform().await.expect("keys can be pressed");
    visit.attribute_when(house, "aria-label", |label| label == before).await;
}

#[tokio::test]
async fn a_wall_and_a_gate_come_and_go_by_keyboard_alone() {
    let Some(visit) = visit::open("").await else { return };
    visit.attribute_when("[data-part='gate-6']", "aria-label", |_| true).await;
    visit.press("#add-wall", Key::Enter).await;
    let wall = "[data-part='obstacle-12']";
    let there = visit
        .attribute_when(wall, "aria-label", |label| label.starts_with("Wall 1, 22 metres east, 14 metres north"))
        .await;
    // The focus goes to the new wall: the arrows move it, the brackets turn it.
    let focus = "return document.activeElement.getAttribute('data-part');";
    visit.script_when(focus, |part| part == "obstacle-12").await;
    let keys = visit.driver.action_chain().send_keys(Key::Down).send_keys("]");
    keys.perform().await.expect("keys can be pressed");
    let moved =
        visit.attribute_when(wall, "aria-label", |label| label != there && label.ends_with("turned 95 degrees")).await;
    assert!(moved.contains("13.9 metres north"), "{moved}");
    // One end of it by itself.
    visit.press("[data-part='obstacle-12-corner-1']", Key::Right + Key::Right).await;
    visit.attribute_when(wall, "aria-label", |label| label.contains("22.1 metres east")).await;

    visit.press("#add-gate", " ").await;
    visit
        .attribute_when("[data-part='gate-7']", "aria-label", |label| label.starts_with("Gate 8, 21 metres east"))
        .await;
    visit.press("[data-part='gate-7']", Key::Delete).await;
    visit.page("yard").await;
    visit.text_when("#gates summary", |text| text.contains("The 7 gates")).await;
    assert_eq!(visit.console_errors().await, [""; 0]);
}

#[tokio::test]
async fn gates_change_places_by_button_and_by_drag() {
    let Some(visit) = visit::open("").await else { return };
    visit.attribute_when("[data-part='gate-6']", "aria-label", |_| true).await;
    visit.page("yard").await;
    visit.click("#gates summary").await;
    let row = |index: usize| format!("#gates li:nth-child({index}) .gates-name");
    visit.text_when(&row(1), |text| text.contains("Start gate")).await;
    visit.press("#gates li:nth-child(1) .button:last-child", Key::Enter).await;
    visit.text_when(&row(2), |text| text.contains("Start gate")).await;
    // The focus went along with the gate.
    visit.driver.action_chain().send_keys(Key::Enter).perform().await.expect("keys can be pressed");
    visit.text_when(&row(3), |text| text.contains("Start gate")).await;
    // Laps flown anew write a line into every verdict above the list, which moves it; a person waits until it rests.
    visit.flown().await;
    let from = visit.find("#gates li:nth-child(3) .gates-grip").await;
    from.scroll_into_view().await.expect("it can be scrolled to");
    visit.rests("#gates li:nth-child(3) .gates-grip").await;
    let to = visit.find("#gates li:nth-child(1) .gates-grip").await;
    let drag = visit.driver.action_chain().click_and_hold_element(&from).move_to_element_center(&to).release();
    drag.perform().await.expect("the mouse can drag");
    visit.text_when(&row(1), |text| text.contains("Start gate")).await;
}

/// Where the middle of a handle is in the window.
async fn centre(visit: &Visit, css: &str) -> [f64; 2] {
    let script = format!(
        "const box = document.querySelector(\"{css} .is-area\").getBoundingClientRect();
        return [box.left + box.width / 2, box.top + box.height / 2];"
    );
    let found = visit.driver.execute(&script, Vec::new()).await.expect("the script runs");
    found.convert::<[f64; 2]>().expect("two numbers")
}

#[tokio::test]
async fn what_is_under_the_pointer_stays_there_when_the_wheel_turns() {
    let Some(visit) = visit::open("").await else { return };
    let gate = "[data-part='gate-2']";
    visit.flown().await;
    visit.rests(&format!("{gate} .is-area")).await;
    let before = centre(&visit, gate).await;
    // A pointer is on a whole pixel; what lies beside it moves away from it as everything grows.
    let pointer = before.map(f64::floor);
    let wide = centre(&visit, "[data-part='gate-3']").await[0] - before[0];
    let script = format!(
        "const area = document.querySelector(\"{gate} .is-area\");
        for (let turn = 0; turn < 4; turn++) area.dispatchEvent(new WheelEvent('wheel',
            {{ bubbles: true, cancelable: true, deltaY: -120, clientX: {}, clientY: {} }}));",
        pointer[0], pointer[1]
    );
    visit.driver.execute(&script, Vec::new()).await.expect("the script runs");
    // All four turns: e to the power of 4 times 120 / 400 (the tool's own scale).
    let apart =
        "const at = part => document.querySelector(`[data-part='${part}'] .is-area`).getBoundingClientRect().left;
        return at('gate-3') - at('gate-2');";
    visit.script_when(apart, |now| now.as_f64().is_some_and(|now| (now / wide - libm::exp(1.2)).abs() < 0.02)).await;
    let after = centre(&visit, gate).await;
    let grown = |axis: usize| pointer[axis] + (before[axis] - pointer[axis]) * libm::exp(1.2);
    let apart = libm::hypot(after[0] - grown(0), after[1] - grown(1));
    assert!(apart < 1.5, "{apart} pixels away");
    // Looking closer is no change of the plan.
    assert!(visit.has("#undo:disabled").await);
    // The drawing pans by arrow keys, and 0 shows all of it.
    visit.press(".course-sheet svg", Key::Right).await;
    let panned = format!(
        "const box = document.querySelector(\"{gate} .is-area\").getBoundingClientRect();
        return {} - box.left - box.width / 2;",
        after[0]
    );
    visit.script_when(&panned, |by| by.as_f64().is_some_and(|by| (by - 60.0).abs() < 1.5)).await;
    visit.press(".course-sheet svg", "0").await;
    visit.find("#zoom-whole:disabled").await;
    let again = centre(&visit, gate).await;
    assert!(libm::hypot(again[0] - before[0], again[1] - before[1]) < 1.5);
}

#[tokio::test]
async fn fingers_find_large_targets_and_a_list_where_parts_overlap() {
    let Some(visit) = visit::open("").await else { return };
    visit.view(390, 844).await;
    visit.go("").await;
    let seat = "[data-part='seat-1']";
    // The verdicts stand above the drawing; nothing moves any more once they are there.
    visit.flown().await;
    let script = "return [...document.querySelectorAll('circle.is-area')].map(area => area.getBoundingClientRect().width)
        .concat([...document.querySelectorAll('.course .button')].map(button => button.getBoundingClientRect().height));";
    let sizes = visit.driver.execute(script, Vec::new()).await.expect("the script runs");
    let sizes = sizes.convert::<Vec<f64>>().expect("numbers");
    assert!(sizes.len() > 20 && sizes.iter().all(|size| *size >= 43.9), "{sizes:?}");
    // Three seats lie side by side.
    let handle = visit.find(&format!("{seat} .is-area")).await;
    handle.scroll_into_view().await.expect("it can be scrolled to");
    visit.rests(&format!("{seat} .is-area")).await;
    let [x, y] = centre(&visit, seat).await.map(|place| place.round() as i64);
    visit.driver.action_chain().move_to(x, y).click().perform().await.expect("a click");
    let here = visit.text_when(".course-here", |text| text.contains("bench, middle")).await;
    assert!(here.contains("bench, left") && here.contains("bench, right"), "{here}");
}
