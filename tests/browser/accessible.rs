//! The page by the rules of accessibility that a program can check: WCAG 2.0 to 2.2, levels A and AA, and common practice,
//! by axe-core, in every view and state that matters, by day, by night and in full sun, wide and on a phone.

use std::fmt::Write;
use std::path::{Path, PathBuf};

use serde_json::{Value, json};

use crate::scenes::{self, Scene};
use crate::visit::{self, Visit};

/// Rules are named by what they belong to.
const TAGS: [&str; 7] = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22a", "wcag22aa", "best-practice"];
/// Those whose outcome another theme can change.
const OF_COLOUR: [&str; 2] = ["color-contrast", "link-in-text-block"];

/// The rules as a script; `None`, with a line that says so, where it was not fetched.
fn rules() -> Option<String> {
    let file: PathBuf = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/browser/node_modules/axe-core/axe.min.js");
    let text = std::fs::read_to_string(file).ok();
    #[allow(clippy::print_stdout, reason = "how a test says that it was skipped")]
    if text.is_none() {
        println!("SKIPPED for want of axe-core (`npm ci` in tests/browser)");
    }
    text
}

/// What is wrong with what is in sight in the theme that is on.
async fn faults(visit: &Visit, only: Value) -> Value {
    let run = format!(
        "return axe.run(document, {{ runOnly: {only}, resultTypes: ['violations'] }}).then(found => ({{
            ran: found.passes.concat(found.violations).map(rule => rule.id),
            unsure: found.incomplete.filter(rule => rule.id === 'color-contrast')
                .flatMap(rule => rule.nodes.map(node => node.target.join(' '))),
            wrong: found.violations.map(rule => ({{
                id: rule.id,
                nodes: rule.nodes.map(node => node.target.join(' ') + '\\n      ' + node.failureSummary.replaceAll('\\n', '\\n      ')),
            }})),
        }}))"
    );
    visit.script(&run).await
}

/// Holds every scene against the rules at one size of the window.
#[allow(clippy::print_stdout, reason = "what could not be judged is there to be read")]
async fn all_hold(list: &[Scene], width: u32, height: u32) {
    let Some(rules) = rules() else { return };
    let Some(visit) = visit::open("").await else { return };
    visit.view(width, height).await;
    // Nothing is in the middle of a movement when it is looked at.
    visit.prefer("prefers-reduced-motion", "reduce").await;
    let mut report = String::new();
    for scene in list {
        scene.set(&visit).await;
        visit.script(&rules).await;
        for theme in ["light", "dark", "sun"] {
            visit.script(&format!("document.documentElement.dataset.theme = '{theme}'")).await;
            let only = if theme == "light" {
                json!({"type": "tag", "values": TAGS})
            } else {
                json!({"type": "rule", "values": OF_COLOUR})
            };
            let found = faults(&visit, only).await;
            let ran = |rule: &str| found["ran"].as_array().is_some_and(|ran| ran.iter().any(|id| id == rule));
            assert!(ran("color-contrast"), "{scene:?}, {theme}: letters were looked at");
            assert!(
                theme != "light" || ran("target-size") || *scene == Scene::Table,
                "{scene:?}: targets were looked at"
            );
            for rule in found["wrong"].as_array().expect("a list") {
                for node in rule["nodes"].as_array().expect("a list") {
                    let node = node.as_str().unwrap_or_default();
                    writeln!(report, "{scene:?}, {theme}: {}\n    {node}", rule["id"]).expect("a text takes a line");
                }
            }
            for unsure in found["unsure"].as_array().expect("a list") {
                println!("{scene:?}, {theme}: contrast could not be judged: {unsure}");
            }
        }
    }
    assert!(report.is_empty(), "\n{report}");
}

#[tokio::test]
async fn what_is_wrong_is_found() {
    let Some(rules) = rules() else { return };
    let Some(visit) = visit::open("").await else { return };
    Scene::NoSheet.set(&visit).await;
    visit.script(&rules).await;
    let spoil = "document.querySelector('h1').style.color = '#ccc';
        document.querySelector('main').append(document.createElement('button'), document.createElement('img'))";
    visit.script(spoil).await;
    let found = faults(&visit, json!({"type": "tag", "values": TAGS})).await;
    let wrong: Vec<&str> =
        found["wrong"].as_array().expect("a list").iter().filter_map(|rule| rule["id"].as_str()).collect();
    for rule in ["button-name", "color-contrast", "image-alt"] {
        assert!(wrong.contains(&rule), "{wrong:?}");
    }
}

#[tokio::test]
async fn the_planner_wide() {
    all_hold(&scenes::PLANNER, 1440, 900).await;
}

#[tokio::test]
async fn the_planner_on_a_phone() {
    all_hold(&scenes::PLANNER, 390, 844).await;
}

#[tokio::test]
async fn bench_and_sheet_wide() {
    all_hold(&scenes::OTHERS, 1440, 900).await;
}

#[tokio::test]
async fn bench_and_sheet_on_a_phone() {
    all_hold(&scenes::OTHERS, 390, 844).await;
}
