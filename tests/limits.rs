//! Plans at and near the limits of what a plan may hold: judged or refused with what to change, and never with a number that is
//! none.

use lapmargin::link::map::{MapRequest, Quantity};
use lapmargin::link::report::Report;
use lapmargin::link::{Effort, Evaluator, work};
use lapmargin::plan::check::problems;
use lapmargin::plan::document::Plan;
use lapmargin::rf::random::Random;
use lapmargin::site::BounceOrder;

use crate::limit_plans::{self, Size};

/// A plan of this size with fewer samples than it might have: the tests are not optimised.
fn seeded(seed: u64, samples: usize) -> Plan {
    let mut random = Random::new(seed);
    let mut next = || random.uniform();
    let drawn = Size::drawn(&mut next);
    limit_plans::plan(&Size { samples: samples.min(drawn.samples), ..drawn }, &mut next)
}

fn is_whole(report: &Report) -> bool {
    report.entries.iter().all(|entry| {
        let numbers = [entry.reserve_db, entry.picture_share, entry.confidence, entry.sigma_db, entry.margin_p1_db];
        let columns = entry.ports.iter().flat_map(|port| [&port.level_dbm, &port.margin_db, &port.k_db, &port.outage]);
        let together = [&entry.together.outage, &entry.together.lost, &entry.together.sigma_db];
        numbers.iter().all(|number| number.is_finite())
            && columns.chain(together).flatten().all(|number| number.is_finite())
            && (0.0..=1.0).contains(&entry.picture_share)
    })
}

#[test]
fn seeded_plans_near_the_limits_are_valid_and_computed_without_a_number_that_is_none() {
    for seed in 0..24 {
        let mut plan = seeded(seed, 60);
        assert_eq!(problems(&plan), [], "seed {seed}");
        plan.entries.truncate(2);
        let effort = Effort::FULL.with_bounces(BounceOrder::ALL[seed as usize % 2]);
        let mut evaluator = Evaluator::default();
        let report = evaluator.report(&plan, effort);
        let refused: Vec<_> = report.notices.iter().filter(|notice| notice.blocks).collect();
        assert_eq!(report.entries.len() + refused.len(), plan.entries.len(), "seed {seed}: {refused:?}");
        assert!(is_whole(&report), "seed {seed}");
        for entry in &report.entries {
            let explained = evaluator.explain(&plan, entry.index, 0, 7, effort).expect("it was judged");
            assert!(explained.level_dbm.is_finite() && explained.budget.iter().all(|line| line.gain_db.is_finite()));
        }
        let request = MapRequest { cells: 100, quantity: Quantity::Outage, ..MapRequest::usual(&plan, 0) };
        let mut map = evaluator.map(&plan, &request).expect("it can be mapped");
        while map.step(50).is_pending() {}
        assert!(map.values().iter().flatten().all(|value| value.is_finite()), "seed {seed}");
    }
}

#[test]
fn what_would_take_too_long_is_refused_with_a_course_step_that_does() {
    let mut random = Random::new(3);
    let mut plan = limit_plans::plan(&Size { side_m: 100.0, ..Size::FULL }, &mut || random.uniform());
    plan.entries.truncate(1);
    let effort = Effort::FULL.with_bounces(BounceOrder::Double);
    let start = std::time::Instant::now();
    let report = Evaluator::default().report(&plan, effort);
    // Twelve instants of four thousand were looked at.
    assert!(start.elapsed().as_secs() < 60);
    let notice = report.notices.iter().find(|notice| notice.blocks).expect("it is too much");
    assert_eq!((notice.path.as_str(), report.entries.len()), (work::PATH, 0));
    let (_, after) = notice.text.split_once(" to ").expect("a step that will do");
    let step: f64 = after.split(' ').next().and_then(|word| word.parse().ok()).expect("a number");
    assert!(step > plan.course.step_m, "{}", notice.text);
}
