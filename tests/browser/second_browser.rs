//! The page in a second browser engine: what a person relies on most, by the very steps that the other tests take.

use std::path::Path;

use lapmargin::plan::plan_link;
use thirtyfour::Key;
use thirtyfour::common::print::{PrintMargins, PrintPage, PrintParameters};

use crate::browsers::Browser;
use crate::visit::{self, Visit};
use crate::{bench, desk, drawing, map, offline, plans, sheet, yard};

/// ISO 216, in centimetres.
const A4_CM: [f64; 2] = [21.0, 29.7];

async fn open(tail: &str) -> Option<Visit> {
    visit::open_in(Browser::Firefox, visit::dist(), tail).await
}

#[tokio::test]
async fn a_yard_is_drawn_a_gate_dragged_and_the_plan_kept() {
    let Some(visit) = open("").await else { return };
    drawing::drag_and_undo(&visit).await;
    desk::turn_and_reload(&visit).await;
    yard::draw_a_yard(&visit).await;
    visit.shot("second-yard").await;
}

#[tokio::test]
async fn links_and_files_are_opened_or_refused_also_without_room_for_them() {
    let (plan, verdict) = plans::telling();
    let link = format!("#view=desk&plan={}", plan_link::write(&plan).expect("it fits into a link"));
    let Some(visit) = open(&link).await else { return };
    visit.text_when("#verdict-0 .verdict-word", |text| text == verdict).await;
    visit.script_when("return document.getElementById('plan-name').value", |name| *name == plan.name.as_str()).await;
    visit.script("localStorage.clear()").await;
    visit.go("#view=bench").await;
    visit.go("").await;
    plans::refuse_what_is_no_plan(&visit).await;
    plans::work_without_room(&visit).await;
}

#[tokio::test]
async fn the_host_may_be_gone() {
    let Some(folder) = offline::copy_of_the_page("offline-second") else { return };
    let Some(mut visit) = visit::open_in(Browser::Firefox, folder, "").await else { return };
    offline::work_without_a_host(&mut visit).await;
}

#[tokio::test]
async fn map_bench_and_sheet_say_what_the_core_says() {
    let Some(visit) = open("").await else { return };
    map::switch_on(&visit).await;
    map::read_the_map(&visit).await;
    visit.press("#map-switch", Key::Enter).await;
    bench::read_the_budget(&visit).await;
    visit.shot("second-bench").await;

    visit.go("#view=desk").await;
    visit.go(&sheet::tail(&sheet::eight())).await;
    sheet::complete(&visit).await;
    let [width, height] = A4_CM;
    let printed = visit.driver.print_page(PrintParameters {
        page: PrintPage { width, height },
        // The sheet has margins of its own.
        margin: PrintMargins { top: 0.0, bottom: 0.0, left: 0.0, right: 0.0 },
        shrink_to_fit: false,
        ..PrintParameters::default()
    });
    let pdf = printed.await.expect("the browser prints");
    let file = Path::new(env!("CARGO_TARGET_TMPDIR")).join("second-sheet.pdf");
    std::fs::write(file, &pdf).expect("a file can be written");
    assert_eq!(page_count(&pdf), 1);
}

/// How many pages a PDF has. This browser packs the objects of a page into streams (ISO 32000-1, 7.5.7).
fn page_count(pdf: &[u8]) -> usize {
    let mut text = String::from_utf8_lossy(pdf).into_owned();
    let begin = b"stream\n";
    for at in (0..pdf.len().saturating_sub(begin.len())).filter(|at| pdf[*at..].starts_with(begin)) {
        if let Ok(unpacked) = miniz_oxide::inflate::decompress_to_vec_zlib(&pdf[at + begin.len()..]) {
            text += &String::from_utf8_lossy(&unpacked);
        }
    }
    text.match_indices("/Type /Page").filter(|(at, found)| !text[at + found.len()..].starts_with('s')).count()
}
