//! The promises that are counted in instructions, which no neighbour on the machine changes.
//!
//! `cargo bench --bench instructions` runs itself once for each promise under Valgrind's instruction counter, where that is
//! installed, takes off what a program costs that does nothing, and prints what is left beside its bound.

#![allow(clippy::print_stdout, reason = "a table for whoever asked for it")]

use std::process::Command;

use lapmargin::link::map::{MapRequest, Quantity};
use lapmargin::link::{Effort, Evaluator};
use lapmargin::plan::demo::demo;
use lapmargin::site::BounceOrder;

/// What is counted, and how many million instructions it may take.
struct Measure {
    name: &'static str,
    what: &'static str,
    /// In millions.
    bound: Option<f64>,
    run: fn(),
}

const NOTHING: &str = "nothing";

const MEASURES: [Measure; 6] = [
    Measure {
        name: "demo",
        what: "the demo judged from nothing",
        bound: Some(60.0),
        run: || judge(BounceOrder::Single),
    },
    Measure {
        name: "two-bounces",
        what: "the same with two bounces",
        bound: Some(160.0),
        run: || judge(BounceOrder::Double),
    },
    Measure { name: "hand-turned", what: "the demo and a hand turned", bound: None, run: hand_turned },
    Measure { name: "map", what: "map of reserves, 160 x 100 cells", bound: Some(500.0), run: map },
    Measure { name: "one-lap", what: "one simulated lap of an entry, prepared", bound: None, run: || laps(1) },
    Measure { name: "eleven-laps", what: "eleven of them", bound: None, run: || laps(11) },
];

fn judge(bounces: BounceOrder) {
    std::hint::black_box(Evaluator::default().report(&demo(), Effort::FULL.with_bounces(bounces)));
}

fn hand_turned() {
    let (mut plan, mut evaluator) = (demo(), Evaluator::default());
    std::hint::black_box(evaluator.report(&plan, Effort::FULL));
    let antenna = &mut plan.entries[0].radios[0].antenna;
    antenna.hand = lapmargin::plan::document::StatedHand::Left;
    std::hint::black_box(evaluator.report(&plan, Effort::FULL));
}

fn map() {
    let plan = demo();
    let request = MapRequest { quantity: Quantity::Reserve, ..MapRequest::usual(&plan, 0) };
    let Ok(mut map) = Evaluator::default().map(&plan, &request) else { return };
    while map.step(1000).is_pending() {}
    std::hint::black_box(map);
}

fn laps(count: u32) {
    let Ok(mut laps) = Evaluator::default().laps_in_time(&demo(), 0, Effort::FULL, 0..u32::MAX) else { return };
    std::hint::black_box(laps.step(count));
}

fn main() {
    let asked = std::env::args().skip(1).find(|word| !word.starts_with("--"));
    match asked {
        Some(name) => {
            if let Some(measure) = MEASURES.iter().find(|measure| measure.name == name) {
                (measure.run)();
            }
        }
        None => print_all(),
    }
}

fn print_all() {
    let Some(idle) = counted(NOTHING) else {
        println!("SKIPPED  instructions: Valgrind is not installed");
        return;
    };
    let of = |measure: &Measure| counted(measure.name).map_or(f64::NAN, |all| (all - idle) / 1e6);
    println!("{:44} {:>10} {:>8}", "million instructions", "counted", "bound");
    let mut counts = Vec::new();
    for measure in &MEASURES {
        let count = of(measure);
        counts.push(count);
        print_row(measure.what, count, measure.bound);
    }
    if let [.., one, eleven] = counts[..] {
        print_row("a simulated lap of one entry", (eleven - one) / 10.0, Some(4.0));
    }
}

fn print_row(what: &str, count: f64, bound: Option<f64>) {
    let bound =
        bound.map_or_else(String::new, |bound| format!("{bound:8.0}{}", if count > bound { "  over" } else { "" }));
    println!("{what:44} {count:10.1} {bound}");
}

/// Instructions of this program when asked for a measure; `None` where nobody can count.
fn counted(name: &str) -> Option<f64> {
    let itself = std::env::current_exe().ok()?;
    let output = Command::new("valgrind")
        .args(["--tool=callgrind", "--callgrind-out-file=/dev/null"])
        .arg(itself)
        .arg(name)
        .output()
        .ok()?;
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    said.lines().find_map(|line| line.split("Collected :").nth(1)).and_then(|count| count.trim().parse().ok())
}
