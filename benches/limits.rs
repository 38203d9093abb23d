//! Plans at the limits of what a plan may hold: how long the first verdict takes, how long all of them, and the most memory.
//!
//! `cargo bench --bench limits` measures some, each in a process of its own; `-- SEED BOUNCES` one of them, and `-- plan SEED` prints
//! it. Seeds below 100 are full plans, others near the limits.

#![allow(clippy::print_stdout, reason = "a table for whoever asked for it")]

use std::process::Command;
use std::time::Instant;

use lapmargin::link::{Effort, Evaluator};
use lapmargin::plan::check::problems;
use lapmargin::plan::document::Plan;
use lapmargin::plan::save;
use lapmargin::rf::random::Random;
use lapmargin::site::BounceOrder;

#[path = "../tests/limit_plans.rs"]
mod limit_plans;

use limit_plans::Size;

/// Plans that are measured, each with one and with two bounces.
const SEEDS: [u64; 12] = [0, 1, 2, 3, 4, 5, 100, 101, 102, 103, 104, 105];

fn seeded(seed: u64) -> Plan {
    let mut random = Random::new(seed);
    let mut next = || random.uniform();
    let size = if seed < 100 { Size { side_m: 60.0 + 200.0 * next(), ..Size::FULL } } else { Size::drawn(&mut next) };
    limit_plans::plan(&size, &mut next)
}

fn main() {
    let words: Vec<String> = std::env::args().skip(1).filter(|word| word != "--bench").collect();
    let number = |word: &String| word.parse().expect("a number");
    match &words[..] {
        [] => {
            println!("{:>5} {:>7} | obstacles, samples, entries, ports | first s | all s | MB", "seed", "bounces");
            for (seed, bounces) in SEEDS.into_iter().flat_map(|seed| [(seed, 1), (seed, 2)]) {
                let program = std::env::current_exe().expect("this program has a path");
                let words = [seed.to_string(), bounces.to_string()];
                let done = Command::new(program).args(words).status().expect("this program runs again");
                assert!(done.success());
            }
        }
        [word, seed] if word == "plan" => println!("{}", save(&seeded(number(seed)))),
        [seed, bounces] => measure(number(seed), number(bounces)),
        _ => println!("cargo bench --bench limits [-- [plan] SEED [BOUNCES]]"),
    }
}

fn measure(seed: u64, bounces: u64) {
    let plan = seeded(seed);
    assert_eq!(problems(&plan), [], "the plan is valid");
    let effort = Effort::FULL.with_bounces(BounceOrder::ALL[bounces as usize]);
    let (start, mut first) = (Instant::now(), None);
    let report = Evaluator::default().report_by_steps(&plan, effort, &mut |_| {
        first.get_or_insert(start.elapsed());
    });
    let all = start.elapsed();
    let why = report.notices.iter().find(|notice| notice.blocks).map(|notice| notice.text.as_str());
    println!(
        "{seed:>5} {bounces:>7} | {:>3} {:>4} {:>2} {} | {:>7.2} | {:>6.1} | {:>5.0} | {}",
        plan.site.obstacles.len(),
        report.lap.time_s.len(),
        plan.entries.len(),
        plan.receivers.first().map_or(0, |receiver| receiver.ports.len()),
        first.unwrap_or(all).as_secs_f64(),
        all.as_secs_f64(),
        peak_mb(),
        why.unwrap_or_default()
    );
}

/// The most memory that this process ever had, where the system tells.
fn peak_mb() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:")).unwrap_or_default();
    line.trim().trim_end_matches(" kB").parse::<f64>().unwrap_or(0.0) / 1024.0
}
