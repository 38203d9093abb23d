//! The promises of the README, measured: one bench per promise.

use lapmargin::link::{Effort, Evaluator};
use lapmargin::plan::demo::demo;
use lapmargin::plan::document::StatedHand;

fn main() {
    divan::main();
}

/// The whole demo from nothing: 4 entries, 2 ports, every sample, direct, ground and one wall bounce. Promise: 15 ms.
#[divan::bench]
fn demo_cold(bencher: divan::Bencher) {
    let plan = demo();
    bencher.bench_local(|| Evaluator::default().report(&plan, Effort::FULL));
}

/// The demo after an entry's hand was turned: traces nothing.
#[divan::bench]
fn demo_hand_turned(bencher: divan::Bencher) {
    let (mut plan, mut evaluator) = (demo(), Evaluator::default());
    evaluator.report(&plan, Effort::FULL);
    let mut turn = 0.0;
    bencher.bench_local(|| {
        turn += 0.001;
        let radio = &mut plan.entries[0].radios[0];
        radio.antenna.hand = StatedHand::Left;
        radio.power_dbm = 12.0 + turn;
        evaluator.report(&plan, Effort::FULL)
    });
}

/// A gate dragged: every fourth sample, everything traced anew.
#[divan::bench]
fn drag_step(bencher: divan::Bencher) {
    let (mut plan, mut evaluator) = (demo(), Evaluator::default());
    bencher.bench_local(|| {
        plan.course.gates[2].x_m += 0.001;
        evaluator.report(&plan, Effort::DRAG)
    });
}

/// One instant explained, everything else kept.
#[divan::bench]
fn explain(bencher: divan::Bencher) {
    let (plan, mut evaluator) = (demo(), Evaluator::default());
    evaluator.report(&plan, Effort::FULL);
    bencher.bench_local(|| evaluator.explain(&plan, 0, 0, 200, Effort::FULL));
}
