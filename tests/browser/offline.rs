//! The page without a network, and the change from one version to the next.

use std::path::{Path, PathBuf};
use std::time::Duration;

use serde_json::Value;
use thirtyfour::prelude::*;

use crate::visit::{self, Visit};

const VERDICT: &str = "#verdict-0 .verdict-word";

/// A copy of the built page that a test may change; `None`, with a line that says so, where it keeps nothing.
pub fn copy_of_the_page(name: &str) -> Option<PathBuf> {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).expect("a folder can be made");
    for entry in std::fs::read_dir(visit::dist()).into_iter().flatten().flatten() {
        std::fs::copy(entry.path(), folder.join(entry.file_name())).expect("a file can be copied");
    }
    let keeper = std::fs::read_to_string(folder.join("offline.js")).unwrap_or_default();
    if keeper.contains("const FILES = {};") {
        // `trunk build` by itself makes a page for working on, which keeps nothing on purpose.
        #[allow(clippy::print_stdout, reason = "how a test says that it was skipped")]
        {
            println!("SKIPPED for want of a page built by `cargo xtask dist`");
        }
        return None;
    }
    Some(folder)
}

async fn kept(visit: &Visit) {
    visit.text_when(VERDICT, |text| !text.is_empty()).await;
    edition_when(visit, "kept").await;
}

async fn edition_when(visit: &Visit, edition: &str) {
    visit.script_when("return document.documentElement.dataset.edition ?? null", |said| said == edition).await;
}

/// What an asynchronous script comes to.
async fn outcome(visit: &Visit, script: &str) -> Value {
    let script =
        format!("const done = arguments[0]; (async () => {{ {script} }})().then(done, error => done(String(error)));");
    visit.driver.execute_async(&script, Vec::new()).await.expect("the script runs").json().clone()
}

/// Looks for a new version, and waits until that came to something.
const LOOK: &str = "const registration = await navigator.serviceWorker.getRegistration();
    await registration.update();
    const coming = registration.installing;
    if (coming) await new Promise(settled => coming.addEventListener('statechange', settled));
    return coming?.state ?? registration.waiting?.state ?? null;";
/// The stores, and which version of start.js the page gets.
const STORES: &str = "return (await caches.keys()).length";
const START: &str = "return (await (await fetch('start.js')).text()).includes('second edition')";

#[tokio::test]
async fn the_page_opens_and_computes_with_the_host_gone() {
    let Some(folder) = copy_of_the_page("offline") else { return };
    let Some(mut visit) = visit::open_from(folder, "").await else { return };
    work_without_a_host(&mut visit).await;
}

/// Has the page kept, takes the host away, opens the page again in several ways and computes something.
pub async fn work_without_a_host(visit: &mut Visit) {
    kept(visit).await;
    visit.reload().await;
    kept(visit).await;
    visit.requests().await;
    visit.host.stop();
    let gone = "try { await fetch('no-such-file'); return 'answered' } catch { return 'gone' }";
    assert_eq!(outcome(visit, gone).await, "gone");

    // By reload, by its folder and by its file; then something has to be computed.
    visit.reload().await;
    for tail in ["#view=desk", "index.html"] {
        visit.go(tail).await;
        visit.text_when(VERDICT, |text| !text.is_empty()).await;
    }
    let before = visit.text_when("#eirp", |text| text.contains("EIRP")).await;
    visit.type_over("#ask-power", "200").await;
    visit.press("#ask-power", Key::Enter).await;
    visit.text_when("#eirp", |text| text != before).await;
    let requests = visit.requests().await;
    assert_eq!(visit.foreign(&requests), [""; 0]);
}

#[tokio::test]
async fn a_reload_past_what_is_kept_still_says_that_it_is() {
    let Some(folder) = copy_of_the_page("offline-past") else { return };
    let Some(visit) = visit::open_from(folder, "").await else { return };
    kept(&visit).await;
    visit.script("window.isOld = true").await;
    visit.send("Page.reload", serde_json::json!({"ignoreCache": true})).await;
    visit.script_when("return window.isOld !== true", |is_new| *is_new == true).await;
    kept(&visit).await;
    assert_eq!(visit.script("return navigator.serviceWorker.controller").await, Value::Null);
}

#[tokio::test]
async fn it_can_be_installed() {
    let Some(visit) = visit::open("").await else { return };
    visit.text_when(VERDICT, |text| !text.is_empty()).await;
    let found = visit.send("Page.getAppManifest", serde_json::json!({})).await;
    assert_eq!(found["errors"], serde_json::json!([]), "{found}");
    let text = found["data"].as_str().expect("the manifest was read");
    let manifest: Value = serde_json::from_str(text).expect("it is JSON");
    for icon in manifest["icons"].as_array().expect("it has icons") {
        let load = format!("return (await fetch('{}')).headers.get('content-type')", icon["src"].as_str().unwrap());
        assert_eq!(outcome(&visit, &load).await, icon["type"]);
    }
    assert_eq!((&manifest["start_url"], &manifest["scope"]), (&Value::from("./"), &Value::from("./")));
}

#[tokio::test]
async fn an_update_is_used_whole_or_not_at_all() {
    let Some(folder) = copy_of_the_page("update") else { return };
    let Some(visit) = visit::open_from(folder.clone(), "").await else { return };
    kept(&visit).await;
    visit.reload().await;
    kept(&visit).await;

    // Half of a new version is on the host: its list, and a file that is not the one in the list.
    let start = std::fs::read_to_string(folder.join("start.js")).unwrap();
    let keeper = std::fs::read_to_string(folder.join("offline.js")).unwrap();
    let changed = format!("{start}// second edition\n");
    let digest = |text: &str| {
        let bytes = serde_json::to_string(text).unwrap();
        format!(
            "const bytes = new TextEncoder().encode({bytes});
            const digest = new Uint8Array(await crypto.subtle.digest('SHA-256', bytes));
            return Array.from(digest, byte => byte.toString(16).padStart(2, '0')).join('').slice(0, 32)"
        )
    };
    let (old, new) = (outcome(&visit, &digest(&start)).await, outcome(&visit, &digest(&changed)).await);
    let (old, new) = (old.as_str().unwrap(), new.as_str().unwrap());
    assert!(keeper.contains(old), "the list names the file's SHA-256");
    let version = keeper.split("PREFIX + \"").nth(1).and_then(|rest| rest.split('"').next()).expect("it has a version");
    let next = keeper.replace(old, new).replace(version, "0123456789abcdef");
    std::fs::write(folder.join("offline.js"), &next).unwrap();
    assert_eq!(outcome(&visit, LOOK).await, "redundant");
    assert_eq!((outcome(&visit, STORES).await, outcome(&visit, START).await), (1.into(), false.into()));
    edition_when(&visit, "kept").await;

    // Now it is there in full; the page in use stays what it is until somebody says so.
    std::fs::write(folder.join("start.js"), &changed).unwrap();
    assert_eq!(outcome(&visit, LOOK).await, "installed");
    let said = visit.text_when("#edition", |text| text.contains("A new version of this page is ready.")).await;
    assert!(said.contains("Use it now"), "{said}");
    visit.reload().await;
    visit.text_when("#edition", |text| !text.is_empty()).await;
    assert_eq!((outcome(&visit, STORES).await, outcome(&visit, START).await), (2.into(), false.into()));

    // Not while another tab runs the old one.
    let first = visit.driver.window().await.unwrap();
    let second = visit.driver.new_tab().await.unwrap();
    visit.driver.switch_to_window(second).await.unwrap();
    visit.go("").await;
    visit.text_when(VERDICT, |text| !text.is_empty()).await;
    visit.driver.switch_to_window(first.clone()).await.unwrap();
    visit.click("#edition-use").await;
    visit.text_when("#edition", |text| text.contains("other tabs")).await;
    assert_eq!(outcome(&visit, START).await, false);

    for window in visit.driver.windows().await.unwrap() {
        if window != first {
            visit.driver.switch_to_window(window).await.unwrap();
            visit.driver.close_window().await.unwrap();
        }
    }
    visit.driver.switch_to_window(first).await.unwrap();
    // A tab that was closed may be counted for a moment longer.
    let press = "document.getElementById('edition-use')?.click(); return document.querySelectorAll('#edition').length";
    visit.script_when(press, |left| *left == 0).await;
    kept(&visit).await;
    assert_eq!((outcome(&visit, STORES).await, outcome(&visit, START).await), (1.into(), true.into()));
}

#[tokio::test]
async fn a_page_that_is_worked_on_clears_away_what_was_kept() {
    let Some(folder) = copy_of_the_page("worked-on") else { return };
    let Some(visit) = visit::open_from(folder.clone(), "").await else { return };
    kept(&visit).await;
    visit.reload().await;
    kept(&visit).await;
    let source = std::fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("src/page/offline.js")).unwrap();
    std::fs::write(folder.join("offline.js"), source).unwrap();
    visit.reload().await;
    let left = "const done = arguments[0]; caches.keys().then(keys => navigator.serviceWorker.getRegistrations()
        .then(all => done(keys.length + all.length)))";
    for _ in 0..100 {
        if visit.driver.execute_async(left, Vec::new()).await.is_ok_and(|count| *count.json() == 0) {
            visit.text_when(VERDICT, |text| !text.is_empty()).await;
            return;
        }
        tokio::time::sleep(Duration::from_millis(100)).await;
    }
    panic!("something is still kept");
}
