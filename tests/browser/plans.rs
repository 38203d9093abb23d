//! Plans that last: kept, several of them, from files and links, in a full browser and in two tabs.

use lapmargin::plan::document::{Plan, StatedHand};
use lapmargin::plan::{self, plan_link};
use thirtyfour::prelude::*;

use crate::visit::{self, Visit};

const FIRST_VERDICT: &str = "#verdict-0 .verdict-word";

async fn ready(visit: &Visit) {
    visit.text_when(FIRST_VERDICT, |text| !text.is_empty()).await;
}

/// Presses a button by its label.
async fn press(visit: &Visit, label: &str) {
    visit.click_on(By::XPath(format!("//button[normalize-space()='{label}' or @aria-label='{label}']"))).await;
}

async fn rename(visit: &Visit, name: &str) {
    type_name(visit, name).await;
    name_when(visit, name).await;
}

async fn type_name(visit: &Visit, name: &str) {
    visit.menu().await;
    visit.type_over("#plan-name", name).await;
    visit.press("#plan-name", Key::Enter).await;
}

async fn name_when(visit: &Visit, name: &str) {
    visit.script_when("return document.getElementById('plan-name').value", |value| value == name).await;
}

/// Waits until these are the names in the list of plans, which is unfolded for it.
async fn names_are<const N: usize>(visit: &Visit, wanted: [&str; N]) {
    unfold(visit).await;
    let names = "return Array.from(document.querySelectorAll('.plans-name'), name => name.textContent)";
    visit.script_when(names, |seen| *seen == serde_json::json!(wanted.as_slice())).await;
}

async fn unfold(visit: &Visit) {
    visit.menu().await;
    if !visit.has("#plans .settings-sheet").await {
        visit.click("#plans-summary").await;
        visit.find("#plans .settings-sheet").await;
    }
}

/// Chooses a file of this text in the list of plans.
async fn choose_file(visit: &Visit, name: &str, text: &str) {
    let file = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::write(&file, text).expect("a file can be written");
    unfold(visit).await;
    let input = visit.find("#plan-file").await;
    input.send_keys(file.to_string_lossy().into_owned()).await.expect("the browser takes the file");
}

fn named(name: &str) -> Plan {
    Plan { name: name.to_owned(), ..plan::demo() }
}

/// What the page would save when `press` is done, instead of being asked where to.
async fn saved_by(visit: &Visit, css: &str) -> String {
    let watch = "const make = URL.createObjectURL; window.saved = null;
        URL.createObjectURL = blob => { window.saved = blob; return make.call(URL, blob); }; return null";
    visit.script(watch).await;
    visit.click(css).await;
    let read = "const done = arguments[0];
        const look = () => window.saved ? window.saved.text().then(done) : setTimeout(look, 20); look();";
    let saved = visit.driver.execute_async(read, Vec::new()).await.expect("something is saved");
    saved.json().as_str().expect("a file is text").to_owned()
}

#[tokio::test]
async fn several_plans_are_kept_opened_duplicated_deleted_and_put_back() {
    let Some(visit) = visit::open("").await else { return };
    ready(&visit).await;
    names_are(&visit, []).await;
    rename(&visit, "One").await;
    press(&visit, "Duplicate One").await;
    name_when(&visit, "One (2)").await;
    rename(&visit, "Two").await;
    names_are(&visit, ["Two", "One"]).await;

    visit.reload().await;
    ready(&visit).await;
    name_when(&visit, "Two").await;
    unfold(&visit).await;
    press(&visit, "Delete Two").await;
    name_when(&visit, "One").await;
    assert_eq!(visit.script("return document.activeElement.id").await, "plans-summary");
    press(&visit, "Put it back").await;
    name_when(&visit, "Two").await;
    names_are(&visit, ["Two", "One"]).await;

    // By keyboard.
    visit.script("document.querySelectorAll('.plans-open')[1].focus()").await;
    visit.driver.action_chain().send_keys(Key::Enter).perform().await.unwrap();
    name_when(&visit, "One").await;
    ready(&visit).await;
    assert_eq!(visit.console_errors().await, [""; 0]);
    let requests = visit.requests().await;
    assert_eq!(visit.foreign(&requests), [""; 0]);
}

#[tokio::test]
async fn what_changed_for_kept_plans_is_said_once() {
    let Some(visit) = visit::open("").await else { return };
    ready(&visit).await;
    assert!(!visit.has("#fields-told").await, "a newcomer has no plans from before");
    rename(&visit, "Mine").await;
    visit.reload().await;
    ready(&visit).await;
    assert!(!visit.has("#fields-told").await, "this plan is not from before");

    // As a build from before left it: a plan, and preferences that know nothing of fields.
    let before =
        "localStorage.setItem('lapmargin.preferences', JSON.stringify({theme: 'dark', bounces: 1})); return null";
    visit.script(before).await;
    visit.reload().await;
    let said = visit.text_when("[role='status'] > #fields-told", |text| text.contains("fields")).await;
    assert!(said.contains("“broken” is now called “short”. Reserves of kept plans may differ."), "{said}");
    visit.reload().await;
    ready(&visit).await;
    visit.text_when("#fields-told", |text| text == said).await;
    let button = visit.find("#fields-told button").await;
    assert_eq!(button.attr("aria-label").await.expect("it is there").as_deref(), Some("Close: what changed"));
    visit.press("#fields-told button", Key::Enter).await;
    visit.script_when("return document.getElementById('fields-told')", |left| left.is_null()).await;
    visit.reload().await;
    ready(&visit).await;
    assert!(!visit.has("#fields-told").await, "once is enough");
    assert_eq!(visit.script("return document.documentElement.dataset.theme").await, "dark", "what was preferred stays");
    assert_eq!(visit.console_errors().await, [""; 0]);
}

#[tokio::test]
async fn before_you_fly_is_one_step_from_the_verdicts() {
    let Some(visit) = visit::open("").await else { return };
    ready(&visit).await;
    visit.press(".desk-verdicts a[href='#before-heading']", Key::Enter).await;
    let in_sight = "const place = document.getElementById('before-heading').getBoundingClientRect();
        return document.activeElement.id + (place.top >= 0 && place.bottom <= innerHeight ? ', in sight' : '')";
    visit.script_when(in_sight, |seen| seen == "before-heading, in sight").await;
    ready(&visit).await;
}

#[tokio::test]
async fn a_file_is_opened_beside_what_was_there_and_saved_as_it_came() {
    let Some(visit) = visit::open("").await else { return };
    ready(&visit).await;
    rename(&visit, "Mine").await;
    let text = plan::save(&named("From a friend"));
    choose_file(&visit, "friend.json", &text).await;
    name_when(&visit, "From a friend").await;
    let said = visit.text_when("#plans-notice", |text| text.contains("friend.json")).await;
    assert!(said.contains("Your previous plan is still in the list."), "{said}");
    names_are(&visit, ["From a friend", "Mine"]).await;
    assert!(visit.has("#undo:disabled").await, "an opened plan has a history of its own");
    assert_eq!(saved_by(&visit, "#save-plan").await, text);
}

#[tokio::test]
async fn a_file_dropped_on_the_page_is_opened() {
    let Some(visit) = visit::open("").await else { return };
    ready(&visit).await;
    let drop = "const data = new DataTransfer();
        data.items.add(new File([arguments[0]], 'dropped.json', {type: 'application/json'}));
        for (const kind of ['dragover', 'drop'])
            document.querySelector('main').dispatchEvent(new DragEvent(kind, {dataTransfer: data, bubbles: true, cancelable: true}));";
    visit.driver.execute(drop, vec![plan::save(&named("Dropped")).into()]).await.unwrap();
    name_when(&visit, "Dropped").await;
}

#[tokio::test]
async fn what_is_no_plan_is_refused_with_its_reason_and_its_text_in_hand() {
    let Some(visit) = visit::open("").await else { return };
    refuse_what_is_no_plan(&visit).await;
}

/// Offers files that are no plans.
pub async fn refuse_what_is_no_plan(visit: &Visit) {
    ready(visit).await;
    let newer = plan::save(&plan::demo()).replace("\"version\": 1", "\"version\": 99");
    let broken = "{\"format\": \"lapmargin-plan\", \"version\": 1, \"name\": <b>";
    for (name, text, reason) in
        [("newer.json", newer.as_str(), "has version 99"), ("broken.json", broken, "line 1, column 5")]
    {
        choose_file(visit, name, text).await;
        let said = visit.text_when("#plans-notice", |said| said.contains(name)).await;
        assert!(said.contains(reason), "{said}");
        assert_eq!(saved_by(visit, "#save-text").await, text);
    }
    name_when(visit, &plan::demo().name).await;
    // One that is too large is not even read.
    choose_file(visit, "large.json", &" ".repeat(plan::limits::TEXT_BYTES + 1)).await;
    let said = visit.text_when("#plans-notice", |said| said.contains("large.json")).await;
    assert!(said.contains("at most 1000000"), "{said}");
    names_are(visit, []).await;
}

#[tokio::test]
async fn a_kept_plan_of_a_newer_version_stays_and_is_said() {
    let Some(visit) = visit::open("").await else { return };
    ready(&visit).await;
    rename(&visit, "Mine").await;
    let newer = "const key = Object.keys(localStorage).find(key => key.startsWith('lapmargin.plan.'));
        localStorage.setItem(key, localStorage.getItem(key).replace('\"version\": 1', '\"version\": 7')); return null";
    visit.script(newer).await;
    visit.reload().await;
    ready(&visit).await;
    visit.text_when("#plans-notice", |said| said.contains("has version 7") && said.contains("stays in the list")).await;
    name_when(&visit, &plan::demo().name).await;
    assert!(saved_by(&visit, "#save-text").await.contains("\"version\": 7"));
    names_are(&visit, ["Mine"]).await;
}

/// A plan whose first verdict differs from the demo's, and that verdict.
pub fn telling() -> (Plan, &'static str) {
    use lapmargin::link::report::Verdict;
    use lapmargin::link::{Effort, Evaluator};
    let mut evaluator = Evaluator::default();
    let mut verdict = |plan: &Plan| match evaluator.report(plan, Effort::FULL).entries[0].verdict {
        Verdict::Clear => "clear",
        Verdict::Thin => "thin",
        Verdict::Short => "short",
    };
    let before = verdict(&plan::demo());
    let mut plan = named("Sent by link");
    let antenna = &mut plan.entries[0].radios[0].antenna;
    antenna.hand = if antenna.hand == StatedHand::Right { StatedHand::Left } else { StatedHand::Right };
    plan.entries[0].radios[0].power_dbm = -10.0;
    let after = verdict(&plan);
    assert_ne!(before, after, "the link would tell nothing");
    (plan, after)
}

#[tokio::test]
async fn a_plan_link_opens_the_same_verdict_beside_what_was_there() {
    let Some(visit) = visit::open("").await else { return };
    ready(&visit).await;
    rename(&visit, "Mine").await;
    let (plan, verdict) = telling();
    // Typed over the address of the open page, the browser only tells that the part behind # has changed.
    let link = format!("#view=desk&plan={}", plan_link::write(&plan).unwrap());
    visit.go(&link).await;
    name_when(&visit, "Sent by link").await;
    visit.text_when(FIRST_VERDICT, |text| text == verdict).await;
    names_are(&visit, ["Sent by link", "Mine"]).await;
    assert_eq!(visit.script("return location.hash").await, "", "loading again must not bring back what it was");

    // The page writes the same link.
    let shown = visit.script("return document.getElementById('plan-link').value").await;
    assert_eq!(shown, format!("{}{}{link}", visit.origin, crate::static_host::FOLDER));

    // A fresh browser.
    let Some(other) = visit::open(&link).await else { return };
    other.text_when(FIRST_VERDICT, |text| text == verdict).await;
    name_when(&other, "Sent by link").await;
    names_are(&other, ["Sent by link"]).await;
    let requests = other.requests().await;
    assert!(requests.iter().all(|address| !address.split('#').next().unwrap().contains("plan=")), "{requests:#?}");
    assert_eq!(other.foreign(&requests), [""; 0]);
}

#[tokio::test]
async fn a_broken_link_is_refused_with_its_reason() {
    let value = plan_link::write(&plan::demo()).unwrap();
    let Some(visit) = visit::open(&format!("#view=desk&plan={}", &value[..60])).await else { return };
    ready(&visit).await;
    visit.text_when("#plans-notice", |said| said.contains("damaged")).await;
    name_when(&visit, &plan::demo().name).await;
}

#[tokio::test]
async fn a_browser_without_room_says_so_and_works_on() {
    let Some(visit) = visit::open("").await else { return };
    work_without_room(&visit).await;
}

/// Fills what the browser keeps, works on, and makes room again.
pub async fn work_without_room(visit: &Visit) {
    ready(visit).await;
    rename(visit, "Kept").await;
    let fill = "let size = 1 << 20, count = 0;
        while (size) { try { localStorage.setItem('filler' + count, 'x'.repeat(size)); count++; } catch { size >>= 1; } }
        return count";
    assert!(visit.script(fill).await.as_u64().is_some_and(|count| count > 0));
    choose_file(visit, "another.json", &plan::save(&named("Another"))).await;
    name_when(visit, "Another").await;
    visit.text_when("#not-kept", |said| said.contains("no room left")).await;
    visit.text_when(FIRST_VERDICT, |text| !text.is_empty()).await;
    rename(visit, "Another, changed").await;
    press_open(visit, "Kept").await;
    press_open(visit, "Another, changed").await;
    assert_eq!(saved_by(visit, "#save-plan").await, plan::save(&named("Another, changed")));

    // With room again, the next change is kept.
    visit.script("Object.keys(localStorage).filter(key => key.startsWith('filler')).forEach(key => localStorage.removeItem(key)); return null").await;
    rename(visit, "Another, kept").await;
    visit.gone("#not-kept").await;
    visit.reload().await;
    ready(visit).await;
    name_when(visit, "Another, kept").await;
}

/// Opens a plan of the list.
async fn press_open(visit: &Visit, name: &str) {
    unfold(visit).await;
    let row = format!("//button[contains(@class, 'plans-open')][span[normalize-space()='{name}']]");
    visit.click_on(By::XPath(row)).await;
    name_when(visit, name).await;
}

#[tokio::test]
async fn two_tabs_on_one_plan_both_keep_what_they_did() {
    let Some(visit) = visit::open("").await else { return };
    ready(&visit).await;
    rename(&visit, "Shared").await;
    let first = visit.driver.window().await.unwrap();
    let second = visit.driver.new_tab().await.unwrap();
    visit.driver.switch_to_window(second.clone()).await.unwrap();
    visit.go("").await;
    ready(&visit).await;
    rename(&visit, "Theirs").await;

    visit.driver.switch_to_window(first.clone()).await.unwrap();
    visit.text_when("#plans-notice", |said| said.contains("Another tab has changed this plan.")).await;
    type_name(&visit, "Mine").await;
    name_when(&visit, "Mine (2)").await;
    names_are(&visit, ["Mine (2)", "Theirs"]).await;

    visit.driver.switch_to_window(second.clone()).await.unwrap();
    assert!(!visit.has("#plans-notice").await, "its plan is as it was");
    press_open(&visit, "Mine (2)").await;
    rename(&visit, "Ours").await;
    visit.driver.switch_to_window(first.clone()).await.unwrap();
    visit.text_when("#plans-notice", |said| said.contains("Another tab has changed this plan.")).await;
    press(&visit, "Show theirs").await;
    name_when(&visit, "Ours").await;

    // Deleted elsewhere, kept here.
    unfold(&visit).await;
    visit.driver.switch_to_window(second).await.unwrap();
    unfold(&visit).await;
    press(&visit, "Delete Ours").await;
    visit.driver.switch_to_window(first).await.unwrap();
    visit.text_when("#plans-notice", |said| said.contains("Another tab has deleted this plan.")).await;
    press(&visit, "Keep it").await;
    names_are(&visit, ["Ours", "Theirs"]).await;
}

#[tokio::test]
async fn after_real_work_a_file_is_recommended() {
    let Some(visit) = visit::open("").await else { return };
    ready(&visit).await;
    for round in 0..12 {
        assert!(!visit.has("#file-hint").await, "too early: {round}");
        rename(&visit, &format!("Round {round}")).await;
    }
    visit.text_when("#file-hint", |said| said.contains("A file outlasts that")).await;
    saved_by(&visit, "#save-plan").await;
    visit.gone("#file-hint").await;
}

#[tokio::test]
async fn names_of_plans_are_text_everywhere() {
    let name = "<img src=x onerror=\"window.ran = 1\"><b>bold";
    let link = plan_link::write(&named(name)).unwrap();
    let Some(visit) = visit::open(&format!("#plan={link}")).await else { return };
    ready(&visit).await;
    name_when(&visit, name).await;
    names_are(&visit, [name]).await;
    visit.text_when("#plans-notice", |said| said.contains(name)).await;
    assert_eq!(
        visit.script("return [window.ran ?? null, document.querySelectorAll('img').length]").await.to_string(),
        "[null,0]"
    );
}

#[tokio::test]
async fn the_list_fits_a_phone() {
    let Some(visit) = visit::open("").await else { return };
    ready(&visit).await;
    rename(&visit, "Yard behind the mill, second evening, with the long straight").await;
    press_demo(&visit).await;
    unfold(&visit).await;
    for (width, height) in [(1440, 900), (390, 844)] {
        visit.view(width, height).await;
        visit.menu().await;
        for scheme in ["light", "dark"] {
            visit.prefer("prefers-color-scheme", scheme).await;
            visit.shot(&format!("plans-{width}x{height}-{scheme}")).await;
        }
        let wide = visit.script("return document.documentElement.scrollWidth").await;
        assert!(wide.as_u64().is_some_and(|wide| wide <= u64::from(width)), "{wide} of {width}");
        let small = "return Array.from(document.querySelectorAll('#plans button, #plans summary, #plans input, #plans-notice button'))
            .map(item => item.getBoundingClientRect()).filter(box => box.height < 24 || box.width < 24).length";
        assert_eq!(visit.script(small).await, 0, "targets are at least 24 px");
    }
}

async fn press_demo(visit: &Visit) {
    unfold(visit).await;
    press(visit, "The demo plan").await;
    name_when(visit, &plan::demo().name).await;
}
