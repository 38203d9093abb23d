//! The drawing under fingers: a tap picks, a drag moves what is picked, and whatever else a finger does scrolls the page.

use serde_json::{Value, json};

use crate::visit::{self, Visit};

/// Lets a finger go down (`touchStart`), move or go up.
async fn touch(visit: &Visit, kind: &str, at: Option<[f64; 2]>) {
    let points: Vec<Value> = at.iter().map(|[x, y]| json!({"x": x, "y": y, "id": 1})).collect();
    visit.send("Input.dispatchTouchEvent", json!({"type": kind, "touchPoints": points})).await;
}

async fn tap(visit: &Visit, at: [f64; 2]) {
    touch(visit, "touchStart", Some(at)).await;
    touch(visit, "touchEnd", None).await;
}

/// Moves a finger from one place to another, frame by frame.
async fn drag(visit: &Visit, from: [f64; 2], by: [f64; 2]) {
    touch(visit, "touchStart", Some(from)).await;
    for step in 1..=8 {
        let share = f64::from(step) / 8.0;
        touch(visit, "touchMove", Some([from[0] + by[0] * share, from[1] + by[1] * share])).await;
        visit.script("return new Promise(done => requestAnimationFrame(() => setTimeout(done, 40)))").await;
    }
}

/// The middle of a handle in the window.
async fn middle(visit: &Visit, part: &str) -> [f64; 2] {
    let area = format!("[data-part='{part}'] .is-area");
    visit.rests(&area).await;
    let script = format!(
        "const box = document.querySelector(\"{area}\").getBoundingClientRect();
        return [box.left + box.width / 2, box.top + box.height / 2]"
    );
    let found = visit.driver.execute(&script, Vec::new()).await.expect("the script runs");
    found.convert::<[f64; 2]>().expect("two numbers")
}

/// A phone with the drawing in the middle of its scrolled page, nothing kept from before.
async fn phone(visit: &Visit, anchor: &str) {
    visit.view(390, 700).await;
    visit.script("localStorage.clear(); sessionStorage.clear()").await;
    visit.reload().await;
    visit.flown().await;
    let scroll = format!(
        "document.documentElement.style.overflowAnchor = '{anchor}';
        document.querySelector('.course-drawing').scrollIntoView({{ block: 'center' }})"
    );
    visit.script(&scroll).await;
    visit.rests(".course-drawing").await;
    assert!(visit.script("return scrollY").await.as_f64().is_some_and(|down| down > 40.0), "the page is scrolled");
}

async fn top(visit: &Visit) -> f64 {
    let top = "return document.querySelector('.course-drawing').getBoundingClientRect().top";
    visit.script(top).await.as_f64().expect("a number")
}

async fn label(visit: &Visit, part: &str) -> String {
    visit.attribute_when(&format!("[data-part='{part}']"), "aria-label", |label| label.contains("metres east")).await
}

/// Metres east and north of a handle's label.
fn place(label: &str) -> [f64; 2] {
    let number = |word: &str| {
        let before = label.split(&format!(" metres {word}")).next().and_then(|text| text.rsplit(' ').next());
        before.and_then(|text| text.parse::<f64>().ok()).unwrap_or_else(|| panic!("no metres {word} in {label}"))
    };
    [number("east"), number("north")]
}

#[tokio::test]
async fn the_first_drag_puts_a_part_where_the_finger_leaves_it() {
    let Some(visit) = visit::open("").await else { return };
    for anchor in ["auto", "none"] {
        phone(&visit, anchor).await;
        visit.script("document.getElementById('snap').click()").await;
        visit.find("#snap[aria-pressed='false']").await;
        let before = place(&label(&visit, "gate-1").await);
        tap(&visit, middle(&visit, "gate-1").await).await;
        visit.find("[data-part='gate-1'][aria-pressed='true']").await;
        let (from, still) = (middle(&visit, "gate-1").await, top(&visit).await);
        drag(&visit, from, [48.0, -32.0]).await;
        // The verdicts of what is being dragged come while the finger is down, and move nothing.
        visit.text_when("#moved", |text| text.starts_with("Gate 2")).await;
        assert!((top(&visit).await - still).abs() < 0.6, "{anchor}: while it is held");
        touch(&visit, "touchEnd", None).await;
        visit.find("#undo:enabled").await;
        visit.flown().await;
        assert!((top(&visit).await - still).abs() < 0.6, "{anchor}: afterwards");
        let per_metre = "return document.querySelector('.course-border').getBoundingClientRect().width / 44";
        let per_metre = visit.script(per_metre).await.as_f64().expect("a number");
        let after = place(&label(&visit, "gate-1").await);
        for (axis, by) in [48.0, 32.0].into_iter().enumerate() {
            let off = after[axis] - before[axis] - by / per_metre;
            assert!(off.abs() < 0.2, "{anchor}: {off} m off, {before:?} to {after:?}");
        }
    }
    assert_eq!(visit.console_errors().await, [""; 0]);
}

#[tokio::test]
async fn a_swipe_that_begins_on_a_part_scrolls_and_moves_nothing() {
    let Some(visit) = visit::open("").await else { return };
    phone(&visit, "auto").await;
    for part in ["gate-5", "seat-1", "pad-0", "obstacle-0"] {
        visit.script("document.querySelector('.course-drawing').scrollIntoView({ block: 'center' })").await;
        let (at, before) = (middle(&visit, part).await, label(&visit, part).await);
        let down = visit.script("return scrollY").await.as_f64().expect("a number");
        drag(&visit, at, [0.0, -60.0]).await;
        touch(&visit, "touchEnd", None).await;
        visit.script_when("return scrollY", |now| now.as_f64().is_some_and(|now| now - down > 25.0)).await;
        assert_eq!(label(&visit, part).await, before, "{part}");
        assert!(visit.has("#undo:disabled").await, "{part}");
        assert!(!visit.has(".course-handle.is-selected").await, "{part}: a swipe picks nothing");
    }
}

#[tokio::test]
async fn a_tool_in_hand_places_and_does_not_pick() {
    let Some(visit) = visit::open("").await else { return };
    phone(&visit, "auto").await;
    visit.click("#add-stall").await;
    visit.find("#add-stall[aria-pressed='true']").await;
    visit.script("document.querySelector('.course-drawing').scrollIntoView({ block: 'center' })").await;
    let [x, y] = middle(&visit, "pad-0").await;
    tap(&visit, [x + 6.0, y - 4.0]).await;
    visit.attribute_when("[data-part='obstacle-12']", "aria-pressed", |pressed| pressed == "true").await;
    // The browser's own click comes after the finger; it must not pick what lies there.
    visit.flown().await;
    assert!(visit.has("[data-part='obstacle-12'][aria-pressed='true']").await, "the new stall is picked");
    assert!(visit.has("[data-part='pad-0'][aria-pressed='false']").await, "the pad is not");
    // The tool stays in hand until it is put down; the next tap picks again.
    assert!(visit.has("#add-stall[aria-pressed='true']").await);
    visit.click("#add-stall").await;
    visit.find("#add-stall[aria-pressed='false']").await;
    tap(&visit, middle(&visit, "gate-2").await).await;
    visit.find("[data-part='gate-2'][aria-pressed='true']").await;
}

#[tokio::test]
async fn a_phone_on_its_side_has_room_to_scroll_beside_the_drawing() {
    let Some(visit) = visit::open("").await else { return };
    visit.view(844, 390).await;
    visit.send("Emulation.setTouchEmulationEnabled", json!({"enabled": true})).await;
    visit.reload().await;
    visit.flown().await;
    // Enlarged, the drawing has all fingers that touch it.
    visit.click("#zoom-in").await;
    visit.find("#zoom-out:enabled").await;
    visit.script("document.querySelector('.course-drawing').scrollIntoView({ block: 'center' })").await;
    let room = "const box = document.querySelector('.course-drawing').getBoundingClientRect();
        return [innerWidth - box.right, box.height]";
    let found = visit.driver.execute(room, Vec::new()).await.expect("the script runs");
    let [beside, high] = found.convert::<[f64; 2]>().expect("two numbers");
    assert!(beside >= 60.0 && high < 300.0, "{beside} px beside the drawing, which is {high} px high");
    let down = visit.script("return scrollY").await.as_f64().expect("a number");
    drag(&visit, [844.0 - beside / 2.0, 250.0], [0.0, -90.0]).await;
    touch(&visit, "touchEnd", None).await;
    visit.script_when("return scrollY", |now| now.as_f64().is_some_and(|now| now - down > 40.0)).await;
}
