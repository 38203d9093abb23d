//! What a person waits for on the built page: the first verdict, and a frame while something is dragged.

use std::time::Duration;

use serde_json::Value;
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
/// Moves of a drag.
const MOVES: i64 = 60;
/// A gate's handle, and what it is drawn at.
const HANDLE: &str = "[data-part='gate-1'] .is-area";

/// Notes, inside the page, when events came and when the frame after them was painted: a task posted from a frame runs
/// when the frame is done.
const WATCH: &str = r#"
window.watched = { moves: [], last: 0, judged: 0 };
addEventListener("pointermove", () => {
  const began = watched.last = performance.now();
  requestAnimationFrame(() => { const channel = new MessageChannel();
    channel.port1.onmessage = () => watched.moves.push(performance.now() - began); channel.port2.postMessage(0); });
}, true);

new MutationObserver(() => { watched.judged = performance.now(); })
  .observe(document.querySelector(".verdicts"), { subtree: true, childList: true, characterData: true, attributes: true });
"#;

/// The times of the page, each list in milliseconds.
pub struct PageTimes {
    /// From navigation to verdicts, one per load.
    pub first_verdict: Vec<f64>,
    /// From each pointer move to the end of its frame.
    pub frames: Vec<f64>,
    /// From the last pointer move to the last change of the verdicts.
    pub release: f64,
}

/// Visits the page and takes the times.
pub async fn measure(visit: &Visit) -> PageTimes {
    let mut first_verdict = Vec::new();
    for _ in 0..LOADS {
        // A plain page in between: going to the same address would only move within it.
        visit.driver.goto("about:blank").await.expect("a blank page opens");
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
    let handle = visit.driver.find(By::Css(HANDLE)).await.expect("the gate has a handle");
    let mut chain = visit.driver.action_chain().click_and_hold_element(&handle);
    for step in 0..MOVES {
        // Back and forth within a metre, so that the course stays one that can be flown; the last move is a long one, after
        // which the verdicts are other than before.
        let sideways = if step + 1 == MOVES {
            25
        } else if (step / 10) % 2 == 0 {
            1
        } else {
            -1
        };
        chain = chain.move_by_offset(sideways, 0);
    }
    chain.release().perform().await.expect("the mouse can drag");
    tokio::time::sleep(Duration::from_millis(1500)).await;
    let watched = script(visit, "return watched").await;
    let number = |name: &str| watched[name].as_f64().unwrap_or(f64::NAN);
    PageTimes {
        first_verdict,
        frames: watched["moves"].as_array().into_iter().flatten().filter_map(Value::as_f64).collect(),
        release: number("judged") - number("last"),
    }
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
