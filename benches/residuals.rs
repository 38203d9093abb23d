//! How far the closed form's reserve lies from that of simulated laps, over seeded plans, by group.
//!
//! `cargo bench --bench residuals -- [PLANS] [LAPS] [FIRST SEED] [each]`; with `each`, every entry is printed.

#![allow(clippy::print_stdout, reason = "a table for whoever asked for it")]

#[path = "../tests/seeded_plans.rs"]
mod seeded_plans;

use std::collections::BTreeMap;

use lapmargin::link::{Effort, Evaluator};
use seeded_plans::seeded_plan;

fn main() {
    let words: Vec<String> = std::env::args().skip(1).filter(|word| !word.starts_with("--")).collect();
    let number = |index: usize, usual: u32| words.get(index).and_then(|word| word.parse().ok()).unwrap_or(usual);
    let (plans, laps, first) = (number(0, 300), number(1, 100), number(2, 1));
    let each = words.iter().any(|word| word == "each");
    let mut groups: BTreeMap<String, Vec<f64>> = BTreeMap::new();
    let mut beyond = 0;
    for seed in first..first + plans {
        let seeded = seeded_plan(u64::from(seed));
        let mut evaluator = Evaluator::default();
        let report = evaluator.report(&seeded.plan, Effort::FULL);
        let flown = evaluator.breakups(&seeded.plan, &report, Effort::FULL, laps);
        for (entry, flown) in report.entries.iter().zip(flown) {
            if entry.reserve_db.abs() > 70.0 || flown.reserve_db.abs() > 70.0 {
                beyond += 1;
                continue;
            }
            let residual = entry.reserve_db - flown.reserve_db;
            let words = || seeded.words.iter().chain(&seeded.entries[entry.index]);
            if each {
                println!(
                    "{residual:+6.2} = {:+6.2} - {:+6.2} ({:+.2} to {:+.2})  seed {seed} entry {}: {}",
                    entry.reserve_db,
                    flown.reserve_db,
                    flown.reserve_low_db,
                    flown.reserve_high_db,
                    entry.index,
                    words().cloned().collect::<Vec<_>>().join(", ")
                );
            }
            for word in words().map(String::as_str).chain(["all"]) {
                groups.entry(word.to_owned()).or_default().push(residual);
            }
        }
    }
    println!(
        "{:24} {:>5} {:>7} {:>7} {:>7} {:>7} {:>7} {:>8}",
        "group", "count", "median", "5 %", "95 %", "least", "most", "<= 1 dB"
    );
    for (group, mut residuals) in groups {
        residuals.sort_by(f64::total_cmp);
        let at = |share: f64| residuals[((residuals.len() - 1) as f64 * share).round() as usize];
        let near = residuals.iter().filter(|residual| residual.abs() <= 1.0).count() as f64 / residuals.len() as f64;
        println!(
            "{group:24} {:5} {:+7.2} {:+7.2} {:+7.2} {:+7.2} {:+7.2} {:7.1}%",
            residuals.len(),
            at(0.5),
            at(0.05),
            at(0.95),
            at(0.0),
            at(1.0),
            100.0 * near
        );
    }
    println!("{beyond} entries with a reserve beyond 70 dB either way are left out");
}
