//! A measured antenna through the page: from a file to the bench, into a plan, and out of it again.

use std::path::Path;

use lapmargin::link::pair::{PairLink, Side, exchange, hearing, text};
use lapmargin::link::{Effort, Evaluator};
use lapmargin::plan::document::{AntennaKind, AntennaKit, StatedHand};
use lapmargin::plan::{antenna_csv, demo};
use lapmargin_page::format::decibel_change;
use thirtyfour::prelude::*;

use crate::desk::word;
use crate::visit::{self, Visit};

const FILE: &str = "#bench-transmitter-csv-file";
const SAID: &str = "#bench-transmitter-csv-said";
const MARGIN: &str = "#bench-margin";

/// The link that the tests begin with: a patch looks at the receiver from above.
fn patch_link() -> PairLink {
    let mut link = PairLink::default();
    link.transmitter.antenna = AntennaKit::of_kind(AntennaKind::CircularPatch, StatedHand::Right);
    link.transmitter.aside_deg = 25.0;
    link
}

/// The same with the example's table.
pub fn measured_link() -> PairLink {
    let mut link = patch_link();
    let table = antenna_csv::read(antenna_csv::EXAMPLE, AntennaKind::CircularPatch).expect("the example is a table");
    link.transmitter.antenna.table = Some(table.rows);
    link
}

/// The margin as the page shows it; the browser reads every space as the usual one.
fn margin_of(link: &PairLink) -> String {
    decibel_change(hearing::hear(link).expect("the link can be heard").explanation.margin_db).replace('\u{a0}', " ")
}

async fn show(visit: &Visit, link: &PairLink) {
    visit.go("#view=desk").await;
    visit.go(&format!("#view=bench&link={}", text::write(link))).await;
    let wanted = margin_of(link);
    visit.text_when(MARGIN, |text| text == wanted).await;
}

/// Chooses a file of these bytes for the transmitter's antenna.
async fn choose(visit: &Visit, test: &str, name: &str, bytes: &[u8]) {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("antenna-table-{test}"));
    std::fs::create_dir_all(&folder).expect("a folder can be made");
    let file = folder.join(name);
    std::fs::write(&file, bytes).expect("a file can be written");
    if !visit.has("#bench-transmitter-csv[open]").await {
        visit.click("#bench-transmitter-csv > summary").await;
    }
    let input = visit.driver.find(By::Css(FILE)).await.expect("a file can be chosen");
    input.send_keys(file.to_string_lossy().into_owned()).await.expect("the browser takes the file");
}

async fn content_when(visit: &Visit, css: &str, holds: impl Fn(&str) -> bool) {
    let script = format!("return document.querySelector('{css}')?.textContent ?? ''");
    visit.script_when(&script, |text| text.as_str().is_some_and(&holds)).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_table_is_read_drawn_and_computed_with_as_the_core_does() {
    let Some(visit) = visit::open("").await else { return };
    show(&visit, &patch_link()).await;
    let (before, after) = (margin_of(&patch_link()), margin_of(&measured_link()));
    assert_ne!(before, after, "a table that changes nothing tests nothing");
    choose(&visit, "read", "yard patch.csv", antenna_csv::EXAMPLE.as_bytes()).await;
    visit.text_when(MARGIN, |text| text == after).await;
    visit.text_when(SAID, |text| text.starts_with("Read 37 rows from \"yard patch.csv\".")).await;
    visit
        .text_when("#bench-transmitter-csv-facts", |text| {
            text.contains("37 rows from −180° to 180°")
                && text.contains("The two sides were measured up to 0.9 dB apart")
        })
        .await;
    visit.script_when("return document.querySelectorAll('.polar .polar-row').length", |count| *count == 37).await;
    visit.script_when("return document.querySelectorAll('.measured tbody tr').length", |count| *count == 37).await;
    content_when(&visit, "#bench-transmitter-table", |text| text.contains("Measured table")).await;
    assert!(!visit.has("#bench-transmitter-gain").await, "the numbers of the model are not used any more");

    // The address carries it, so that it is there after the page was loaded anew.
    let address = format!("#view=bench&link={}", text::write(&measured_link()));
    visit.script_when("return location.hash", |hash| hash.as_str() == Some(address.as_str())).await;
    visit.driver.refresh().await.expect("the page loads again");
    visit.text_when(MARGIN, |text| text == after).await;
    visit.script_when("return document.querySelectorAll('.polar .polar-row').length", |count| *count == 37).await;
    // Looked at by day, by night, in the sun and on a phone.
    for (name, scheme, width) in [("light", "light", 1440), ("dark", "dark", 1440), ("phone", "dark", 390)] {
        visit.prefer("prefers-color-scheme", scheme).await;
        visit.view(width, 900).await;
        let polar = visit.driver.find(By::Css(".polar")).await.expect("it is drawn");
        polar.scroll_into_view().await.expect("it can be scrolled to");
        visit.shot(&format!("antenna-table-{name}")).await;
    }
    visit.view(1440, 900).await;

    // Taken away by its button; undone; and an import is undone like anything else.
    visit.click("#bench-transmitter-table + button").await;
    visit.text_when(MARGIN, |text| text == before).await;
    visit.click("#undo").await;
    visit.text_when(MARGIN, |text| text == after).await;
    assert_eq!(visit.console_errors().await, Vec::<String>::new());
}

#[tokio::test(flavor = "multi_thread")]
async fn mistakes_are_told_by_line_and_the_antenna_stays() {
    let Some(visit) = visit::open("").await else { return };
    show(&visit, &measured_link()).await;
    let before = margin_of(&measured_link());
    let wrong = "angle_deg;gain_dbi;axial_ratio_db\n0;7,5;1\nten;6;2\n30;25;-1\n60;1\n";
    choose(&visit, "wrong", "wrong.csv", wrong.as_bytes()).await;
    let said = visit.text_when(SAID, |text| text.contains("\"wrong.csv\" was not taken")).await;
    for line in [
        "line 3, angle_deg: \"ten\"; must be a number from -180 to 360°",
        "line 4, gain_dbi: \"25\"; must be a number from -60 to 20 dBi",
        "line 4, axial_ratio_db: \"-1\"; must be a number from 0 to 60 dB or inf",
        "line 5, axial_ratio_db: nothing stands there; must be a number from 0 to 60 dB or inf",
    ] {
        assert!(said.contains(line), "{said}");
    }
    let binary: Vec<u8> = (0..=255).cycle().take(20_000).collect();
    choose(&visit, "wrong", "binary.csv", &binary).await;
    visit.text_when(SAID, |text| text.contains("a file that is not plain text")).await;
    choose(&visit, "wrong", "large.csv", &[b'0'; 300_000]).await;
    visit.text_when(SAID, |text| text.contains("a file of 300000 bytes; must be at most 200000")).await;
    let marked = "angle_deg,gain_dbi,axial_ratio_db\n<img src=x onerror=alert(1)>,1,1\n";
    choose(&visit, "wrong", "marked.csv", marked.as_bytes()).await;
    visit.text_when(SAID, |text| text.contains("<img src=x onerror=alert(1)>")).await;
    assert_eq!(
        visit.text_when(MARGIN, |text| !text.is_empty()).await,
        before,
        "the antenna from before is still there"
    );
    visit.script_when("return document.querySelectorAll('.polar .polar-row').length", |count| *count == 37).await;

    // Then the right file, by way of the same field.
    choose(&visit, "wrong", "right.csv", antenna_csv::EXAMPLE.replace("0,7.4,1.1", "0,9.4,1.1").as_bytes()).await;
    visit.text_when(SAID, |text| text.starts_with("Read 37 rows")).await;
    // And taken back: the table from before.
    visit.click("#undo").await;
    visit.text_when(MARGIN, |text| text == before).await;
    assert_eq!(visit.console_errors().await, Vec::<String>::new());
}

#[tokio::test(flavor = "multi_thread")]
async fn a_table_goes_into_a_plan_stays_there_and_is_removed_and_put_back() {
    let Some(visit) = visit::open("").await else { return };
    show(&visit, &measured_link()).await;
    visit.click("#put-transmitter").await;
    let antenna = measured_link().transmitter.antenna;
    let plan = exchange::put(&demo(), 0, 0, Side::Transmitter, &antenna).expect("it can stand there");
    let report = Evaluator::default().report(&plan, Effort::FULL);
    let first = report.entries.iter().find(|entry| entry.index == 0).expect("it is judged");
    let word = word(first.verdict);
    content_when(&visit, "#aircraft-table", |text| text == "Measured table, 37 rows").await;
    visit.text_when("#verdict-0 .verdict-word", |text| text == word).await;
    // The desk keeps it; from the desk its antenna goes to the bench as it is.
    visit.go("#view=desk").await;
    visit.driver.refresh().await.expect("the page loads again");
    content_when(&visit, "#aircraft-table", |text| text == "Measured table, 37 rows").await;
    visit.click("#equipment-more > summary").await;
    visit.click("#aircraft-table ~ a").await;
    visit.script_when("return document.querySelectorAll('.polar .polar-row').length", |count| *count == 37).await;
    visit.text_when("#bench-said", |text| text.starts_with("Taken from the lap of")).await;
    visit.click("#to-planner").await;
    content_when(&visit, "#aircraft-table", |text| text == "Measured table, 37 rows").await;
    visit.click("#equipment-more > summary").await;
    visit.click("#aircraft-table + button").await;
    visit.script_when("return document.getElementById('aircraft-gain') !== null", |found| *found == true).await;
    visit.click("#undo").await;
    content_when(&visit, "#aircraft-table", |text| text == "Measured table, 37 rows").await;
    assert_eq!(visit.console_errors().await, Vec::<String>::new());
}
