//! The page enlarged to twice its size, on a window of 1440 by 900 and on one of 1280 by 1024, and to four times on the latter: all of it is still there,
//! none of it is cut off, and it scrolls in one direction only (WCAG 2.2, success criteria 1.4.4 and 1.4.10).

use std::fmt::Write;

use serde_json::Value;

use crate::scenes::{self, Scene};
use crate::visit;

/// Windows as they are seen by a page at 200 and at 400 per cent, in CSS pixels, with the dots of each.
const WINDOWS: [(u32, u32, u32); 3] = [(720, 450, 2), (640, 512, 2), (320, 256, 4)];

/// What a person has to find again in each view.
const NEEDED: [(Scene, &[&str]); 5] = [
    (
        Scene::Desk,
        &[
            "#plan-name",
            "#undo",
            "#redo",
            "#settings summary",
            "#plans-summary",
            "#new-plan summary",
            "#sheet-link",
            "#verdict-0",
            "#verdict-3",
            ".course-drawing",
            ".strip-cursor",
            "#fly",
            "#map-switch",
            "#add-wall",
            "#ask-power",
            "#eirp",
        ],
    ),
    (Scene::Link, &["#to-bench", ".ladder-table", ".side-drawing"]),
    (Scene::Gate, &["#part-name", "#part-height", "#part-delete"]),
    (
        Scene::Bench,
        &["#bench-d", "#undo", "#bench-margin", "#wave-pause", "#picture-pause", "#show-0", "#bench-cursor"],
    ),
    (Scene::Sheet, &["#paper", "#to-desk", "#save-svg", "#save-report", ".sheet-paper", ".sheet-verdict"]),
];

/// Everything that is too wide, cut off, or lies where nobody can scroll to.
pub const FAULTS: &str = "
    const faults = [];
    const page = document.scrollingElement;
    if (page.scrollWidth > innerWidth) faults.push(`the page is ${page.scrollWidth} wide in ${innerWidth}`);
    const name = it => it.tagName.toLowerCase() + (it.id ? '#' + it.id : '')
        + (it.classList.length ? '.' + [...it.classList].join('.') : '') + ' “' + it.textContent.trim().slice(0, 40) + '”';
    const clips = ['hidden', 'clip'];
    for (const it of document.querySelectorAll('body *')) {
        // The sheet is a picture of a sheet of paper, as wide as paper is, in a frame of its own that scrolls.
        if (it.closest('svg, canvas, .unseen, .sheet-scroll') || !it.checkVisibility()) continue;
        const look = getComputedStyle(it);
        if (it.tagName !== 'INPUT' && clips.includes(look.overflowX) && it.scrollWidth > it.clientWidth && it.clientWidth > 1)
            faults.push(`${name(it)} shows ${it.clientWidth} of ${it.scrollWidth}`);
        if (clips.includes(look.overflowY) && it.scrollHeight > it.clientHeight + 1 && it.clientHeight > 1)
            faults.push(`${name(it)} shows ${it.clientHeight} of ${it.scrollHeight} in height`);
        if (['auto', 'scroll'].includes(look.overflowX) && it.scrollWidth > it.clientWidth && it.clientWidth > 1)
            faults.push(`${name(it)} scrolls sideways: ${it.clientWidth} of ${it.scrollWidth}`);
        const box = it.getBoundingClientRect();
        if (box.width > 0 && (box.right > innerWidth + 1 || box.left < -1))
            faults.push(`${name(it)} lies from ${box.left} to ${box.right} of ${innerWidth}`);
    }
    return faults;";

async fn fits(list: &[Scene]) {
    let Some(visit) = visit::open("").await else { return };
    let mut report = String::new();
    for scene in list {
        for (index, (width, height, dots)) in WINDOWS.into_iter().enumerate() {
            visit.view_enlarged(width, height, dots).await;
            // What is set lies there for both windows; that it follows the window is part of the test.
            if index == 0 {
                scene.set(&visit).await;
            }
            visit.rests("body").await;
            // A phone makes its window wider where something does not fit.
            let across = visit.script("return innerWidth").await;
            if across != Value::from(width) {
                writeln!(report, "{scene:?} at {width}: the window grew to {across}").expect("a text takes a line");
            }
            let faults = visit.script(FAULTS).await;
            for fault in faults.as_array().expect("a list") {
                writeln!(report, "{scene:?} at {width}: {}", fault.as_str().unwrap_or_default())
                    .expect("a text takes a line");
            }
            if scenes::PLANNER.contains(scene) && *scene != Scene::Plans {
                visit.menu().await;
            }
            for css in NEEDED.iter().filter(|(of, _)| of == scene).flat_map(|(_, needed)| needed.iter()) {
                let seen =
                    format!("const it = document.querySelector(\"{css}\"); return it !== null && it.checkVisibility()");
                if visit.script(&seen).await != Value::Bool(true) {
                    writeln!(report, "{scene:?} at {width}: {css} is not there").expect("a text takes a line");
                }
            }
            visit.shot(&format!("enlarged-{scene:?}-{width}").to_lowercase()).await;
        }
    }
    assert!(report.is_empty(), "\n{report}");
}

#[tokio::test]
async fn the_planner_at_200_per_cent() {
    fits(&scenes::PLANNER).await;
}

#[tokio::test]
async fn bench_and_sheet_at_200_per_cent() {
    fits(&scenes::OTHERS).await;
}
