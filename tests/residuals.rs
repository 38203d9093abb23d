//! The reserve in closed form against that of simulated laps, over plans of every kind that are made of a seed. The bench of the
//! same name measures many more of them (`docs/promises.md`).

use crate::seeded_plans::seeded_plan;
use lapmargin::link::{Effort, Evaluator};

const LAPS: u32 = 60;

/// Difference that no entry may have beyond the interval that so few laps leave, and that most of them keep within.
const MOST: f64 = 2.5;
const USUAL: f64 = 1.0;

#[test]
fn closed_form_and_simulated_laps_agree_over_plans_of_every_kind() {
    let mut residuals = Vec::new();
    for seed in 1..=10 {
        let seeded = seeded_plan(seed);
        let mut plan = seeded.plan;
        // Two of the four pilots tell of the yard, at half the price.
        plan.entries.truncate(2);
        let mut evaluator = Evaluator::default();
        let report = evaluator.report(&plan, Effort::FULL);
        let flown = evaluator.breakups(&plan, &report, Effort::FULL, LAPS);
        assert_eq!((report.entries.len(), flown.len()), (2, 2), "seed {seed}");
        for (entry, flown) in report.entries.iter().zip(flown) {
            if entry.reserve_db.abs() > 70.0 || flown.reserve_db.abs() > 70.0 {
                continue;
            }
            let apart =
                (entry.reserve_db - flown.reserve_high_db).max(flown.reserve_low_db - entry.reserve_db).max(0.0);
            let words = seeded.words.iter().chain(&seeded.entries[entry.index]).cloned().collect::<Vec<_>>().join(", ");
            let what = format!(
                "seed {seed}, {} ({words}): {} closed, {} flown",
                entry.name, entry.reserve_db, flown.reserve_db
            );
            assert!(apart < MOST, "{what}");
            residuals.push((entry.reserve_db - flown.reserve_db, apart, what));
        }
    }
    assert!(residuals.len() >= 16, "{} entries are left to compare", residuals.len());
    residuals.sort_by(|one, other| one.0.total_cmp(&other.0));
    let median = residuals[residuals.len() / 2].0;
    assert!(median.abs() < 0.3, "half of them lie on one side of {median} dB");
    let near = residuals.iter().filter(|(_, apart, _)| *apart <= USUAL).count();
    let far: Vec<&str> =
        residuals.iter().filter(|(_, apart, _)| *apart > USUAL).map(|(.., what)| what.as_str()).collect();
    assert!(near * 20 >= residuals.len() * 19, "more than one in twenty is far off:\n{}", far.join("\n"));
}
