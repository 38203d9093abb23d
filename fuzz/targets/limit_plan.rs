//! A valid plan at or near the limits, made of the bytes: it is judged, mapped and explained, or refused with a sentence; never with
//! a number that is none.
#![no_main]

use lapmargin::link::map::{MapRequest, Quantity};
use lapmargin::link::{Effort, Evaluator};
use lapmargin::plan::check::problems;
use lapmargin::site::BounceOrder;
use libfuzzer_sys::fuzz_target;

#[path = "../../tests/limit_plans.rs"]
mod limit_plans;

use limit_plans::Size;

/// Samples and entries of a plan: what bounds the time of one run.
const BUDGET: (usize, usize) = (60, 2);

fuzz_target!(|bytes: &[u8]| {
    let mut words = bytes.chunks(2);
    let mut spent = 0_u32;
    // Beyond the bytes a fixed, uneven sequence.
    let mut next = || match words.next() {
        Some(word) => f64::from(u16::from_le_bytes([word[0], *word.get(1).unwrap_or(&0)])) / 65536.0,
        None => {
            spent += 1;
            (f64::from(spent) * 0.618_033_988_749_895).fract()
        }
    };
    let drawn = Size::drawn(&mut next);
    let size = Size { samples: drawn.samples.min(BUDGET.0), ..drawn };
    let mut plan = limit_plans::plan(&size, &mut next);
    assert_eq!(problems(&plan), []);
    plan.entries.truncate(BUDGET.1);
    let effort = Effort::FULL.with_bounces(if next() < 0.3 { BounceOrder::Double } else { BounceOrder::Single });
    let mut evaluator = Evaluator::default();
    let report = evaluator.report(&plan, effort);
    let refused = report.notices.iter().filter(|notice| notice.blocks);
    assert_eq!(report.entries.len() + refused.inspect(|notice| assert!(notice.text.len() > 10)).count(), plan.entries.len());
    for entry in &report.entries {
        assert!(entry.reserve_db.is_finite() && (0.0..=1.0).contains(&entry.picture_share) && entry.sigma_db.is_finite());
        for port in &entry.ports {
            let columns = [&port.level_dbm, &port.margin_db, &port.k_db, &port.outage];
            assert!(columns.into_iter().flatten().all(|number| number.is_finite()));
        }
        let explained = evaluator.explain(&plan, entry.index, 0, 3, effort).expect("it was judged");
        assert!(explained.level_dbm.is_finite() && explained.budget.iter().all(|line| line.gain_db.is_finite()));
    }
    let request = MapRequest { cells: 100, quantity: Quantity::Outage, ..MapRequest::usual(&plan, 0) };
    if let Ok(mut map) = evaluator.map(&plan, &request) {
        while map.step(50).is_pending() {}
        assert!(map.values().iter().flatten().all(|value| value.is_finite()));
    }
});
