//! The measures of [`lapmargin_page::measure`], natively and in the built page's worker, side by side.

#[allow(dead_code, reason = "a bench knows one browser")]
#[path = "../tests/browser/browsers.rs"]
mod browsers;
mod page_promises;
#[allow(dead_code, reason = "a bench's host runs to the end")]
#[path = "../tests/browser/static_host.rs"]
mod static_host;
#[allow(dead_code, reason = "the browser tests do more on a visit than a bench does")]
#[path = "../tests/browser/visit.rs"]
mod visit;

use std::time::Instant;

use lapmargin_page::measure::{MEASURES, Times, time};
use thirtyfour::prelude::*;

#[tokio::main]
#[allow(clippy::print_stdout, reason = "a table is what this program is for")]
async fn main() {
    let start = Instant::now();
    let native: Vec<Times> =
        MEASURES.iter().map(|measure| time(measure, || start.elapsed().as_secs_f64() * 1000.0)).collect();
    let browser = in_browser().await;
    let page = match visit::open("").await {
        Some(visit) => Some(page_promises::measure(&visit).await),
        None => None,
    };

    println!("\n{:<28} {:>10} {:>10} {:>10} {:>10} {:>7}", "milliseconds", "native", "", "wasm", "", "wasm");
    println!("{:<28} {:>10} {:>10} {:>10} {:>10} {:>7}", "", "first", "median", "first", "median", "/native");
    for (position, (measure, native)) in MEASURES.iter().zip(&native).enumerate() {
        print!("{:<28} {:>10.3} {:>10.3}", measure.name, native.first_ms, native.median_ms);
        match browser.as_ref().map(|rows| &rows[position]) {
            Some(wasm) => {
                let agree = if wasm.result.to_bits() == native.result.to_bits() { "" } else { "  RESULTS DIFFER" };
                let ratio = wasm.median_ms / native.median_ms;
                println!(" {:>10.3} {:>10.3} {:>7.2}{agree}", wasm.first_ms, wasm.median_ms, ratio);
            }
            None => println!(" {:>10} {:>10} {:>7}", "-", "-", "-"),
        }
    }

    println!(
        "\n{:<44} {:>9} {:>9} {:>9} {:>9}",
        "promises; milliseconds unless said", "median", "95 %", "worst", "bound"
    );
    let row = |what: &str, times: &[f64], share: f64, bound: f64| {
        let [median, most, worst] = [0.5, 0.95, 1.0].map(|share| page_promises::at_share(times, share));
        let verdict = if page_promises::at_share(times, share) < bound { "holds" } else { "does not hold" };
        println!("{what:<44} {median:>9.2} {most:>9.2} {worst:>9.2} {bound:>9.1}  {verdict}");
    };
    row("native: demo from nothing, median", &[native[0].median_ms], 1.0, DEMO_MS);
    if let Some(wasm) = &browser {
        row("worker: map 160 x 100, one of them, median", &[wasm[MAP].median_ms], 1.0, MAP_MS);
        row("WebAssembly / native, demo from nothing", &[wasm[0].median_ms / native[0].median_ms], 1.0, RATIO);
    }
    if let Some(page) = &page {
        row("page: navigation to first verdict", &page.first_verdict, 1.0, page_promises::FIRST_VERDICT_MS);
        row("page: dragging, event to painted frame, 95 %", &page.frames, 0.95, page_promises::FRAME_MS);
        row("page: last move of a drag to the whole lap", &page.release, 1.0, page_promises::RELEASE_MS);
    }
    let browser = page.as_ref().map_or("no browser", |page| &page.browser);
    let moves = page.as_ref().map_or(0, |page| page.frames.len());
    println!("\nmeasured on {}, {browser}; {moves} moves that changed the plan", machine());
}

/// The bound of the demo plan from nothing, natively on one thread.
const DEMO_MS: f64 = 15.0;

/// The position of the map in [`MEASURES`], and the bound of its time in a single worker.
const MAP: usize = 4;
const MAP_MS: f64 = 300.0;

/// The bound of WebAssembly's time over the native one.
const RATIO: f64 = 1.6;

/// The machine in words: processor and cores, as far as the system tells.
fn machine() -> String {
    let told = std::fs::read_to_string("/proc/cpuinfo").unwrap_or_default();
    let model = told.lines().find_map(|line| line.strip_prefix("model name")).and_then(|rest| rest.split(": ").nth(1));
    let cores = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    format!("{}, {cores} cores", model.unwrap_or("a processor that does not tell its name"))
}

/// The times that the page shows; `None` where there is no page or no browser, which `visit` says.
async fn in_browser() -> Option<Vec<Times>> {
    let visit = visit::open("#view=measure").await?;
    // Every measure repeats for some seconds.
    for _ in 0..MEASURES.len() {
        tokio::time::sleep(std::time::Duration::from_secs(2)).await;
    }
    visit.text_when("table.measure[data-done='true']", |_| true).await;
    let mut rows = Vec::new();
    for cell in visit.driver.find_all(By::Css("[data-values]")).await.expect("the table has rows") {
        let bits = cell.attr("data-values").await.expect("the page is still open").unwrap_or_default();
        let value = |bits: &str| f64::from_bits(u64::from_str_radix(bits, 16).expect("the page writes bits in hex"));
        let values: Vec<f64> = bits.split_whitespace().map(value).collect();
        rows.push(Times { first_ms: values[0], median_ms: values[1], result: values[2] });
    }
    assert_eq!(rows.len(), MEASURES.len(), "a measure failed in the browser; open the page at #view=measure");
    Some(rows)
}
