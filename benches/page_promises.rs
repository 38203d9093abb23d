//! What a person waits for on the built page: the first verdict, and a frame while something is dragged.

use std::time::Duration;

use serde_json::{Value, json};
use thirtyfour::prelude::*;

use crate::visit::Visit;

/// From the address to verdicts, milliseconds, bound included.
pub const FIRST_VERDICT_MS: f64 = 1500.0;
/// From a pointer event to the end of the frame that shows it.
pub const FRAME_MS: f64 = 50.0;
/// From the last move of a drag to the verdicts of the whole lap: every move asks for all of it, so letting go asks for nothing.
pub const RELEASE_MS: f64 = 150.0;

/// Loads of the page for the first verdict.
const LOADS: usize = 9;
/// Drags, each with a release.
const DRAGS: usize = 5;
/// Moves of a drag.
const MOVES: i64 = 30;
/// Pixels of a move: more than the tenth of a metre to which places are rounded.
const STEP: i64 = 4;
/// Pixels of the last move of a drag, there and back in turn.
const LAST_STEP: i64 = 25;
/// A gate's handle, and what it is drawn at.
const HANDLE: &str = "[data-part='gate-1'] .is-area";

/// Notes, inside the page, how long after each event the frame with the gate's new place was painted, and when the whole
/// lap was last judged. A task posted from a frame runs when the frame is done. Events count from their own time stamps,
/// so that waiting for a busy page is part of the time; a move that leaves the gate where it was is not counted.
const WATCH: &str = r#"
const place = () => document.querySelector("[data-part='gate-1']").getAttribute("aria-label");
window.watched = { moves: [], last: 0, judged: 0, place: place() };
addEventListener("pointermove", event => {
  const began = watched.last = event.timeStamp;
  requestAnimationFrame(() => { const channel = new MessageChannel();
    channel.port1.onmessage = () => {
      if (place() !== watched.place) { watched.place = place(); watched.moves.push(performance.now() - began); }
    };
    channel.port2.postMessage(0); });
}, true);
const verdicts = document.querySelector(".desk-verdicts");
new MutationObserver(() => { if (verdicts.ariaBusy === "false") watched.judged = performance.now(); })
  .observe(verdicts, { attributeFilter: ["aria-busy"] });
"#;

/// The times of the page, each list in milliseconds.
pub struct PageTimes {
    /// What the browser says that it is.
    pub browser: String,
    /// From navigation to verdicts, one per load.
    pub first_verdict: Vec<f64>,
    /// From each pointer move that changed the plan to the end of its frame.
    pub frames: Vec<f64>,
    /// From the last pointer move to the verdicts of the whole lap, one per drag; NaN where they did not come.
    pub release: Vec<f64>,
}

/// Visits the page and takes the times.
pub async fn measure(visit: &Visit) -> PageTimes {
    let version = ask(visit, "Browser.getVersion").await;
    let mut first_verdict = Vec::new();
    for _ in 0..LOADS {
        // A plain page in between: going to the same address would only move within it.
        visit.driver.goto("about:blank").await.expect("a blank page opens");
        ask(visit, "Network.clearBrowserCache").await;
        visit.go("").await;
        first_verdict.push(loop {
            let now = script(visit, "return document.querySelector('.verdict-word') ? performance.now() : null").await;
            if let Some(now) = now.as_f64() {
                break now;
            }
        });
    }
    visit.text_when(".ladder-where", |text| text.contains("after gate")).await;
    script(visit, WATCH).await;
    let mut release = Vec::new();
    for drag in 0..DRAGS {
        release.push(drag_once(visit, if drag % 2 == 0 { LAST_STEP } else { -LAST_STEP }).await);
    }
    let frames = script(visit, "return watched.moves").await;
    PageTimes {
        browser: version["product"].as_str().unwrap_or("a browser that does not tell its name").to_owned(),
        first_verdict,
        frames: frames.as_array().into_iter().flatten().filter_map(Value::as_f64).collect(),
        release,
    }
}

/// Drags the gate there and back and lets go after a last, long move; returns how long after it the lap was judged.
async fn drag_once(visit: &Visit, last_step: i64) -> f64 {
    let handle = visit.driver.find(By::Css(HANDLE)).await.expect("the gate has a handle");
    let mut chain = visit.driver.action_chain().click_and_hold_element(&handle);
    for step in 0..MOVES {
        // Within a metre or two, so that the course stays one that can be flown.
        let sideways = if (step / 5) % 2 == 0 { STEP } else { -STEP };
        chain = chain.move_by_offset(sideways, 0);
    }
    chain.move_by_offset(last_step, 0).release().perform().await.expect("the mouse can drag");
    tokio::time::sleep(Duration::from_millis(1500)).await;
    let watched = script(visit, "return watched").await;
    let number = |name: &str| watched[name].as_f64().unwrap_or(f64::NAN);
    let waited = number("judged") - number("last");
    if waited > 0.0 { waited } else { f64::NAN }
}

async fn ask(visit: &Visit, command: &str) -> Value {
    visit.driver.cdp().send_raw(command, json!({})).await.expect("the browser knows this command")
}

async fn script(visit: &Visit, text: &str) -> Value {
    visit.driver.execute(text, Vec::new()).await.expect("the page runs a script of the driver").json().clone()
}

/// A time at a share of sorted times; NaN of none.
pub fn at_share(times: &[f64], share: f64) -> f64 {
    let mut sorted = times.to_vec();
    sorted.sort_by(f64::total_cmp);
    let place = (share * sorted.len() as f64).ceil() as usize;
    sorted.get(place.saturating_sub(1)).copied().unwrap_or(f64::NAN)
}
