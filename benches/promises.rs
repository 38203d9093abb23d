//! The promises of `docs/promises.md`, measured: one bench per promise.

use lapmargin::link::map::{MapRequest, Quantity};
use lapmargin::link::paths::carry_paths;
use lapmargin::link::{Effort, Evaluator};
use lapmargin::plan::convert;
use lapmargin::plan::demo::demo;
use lapmargin::plan::document::StatedHand;
use lapmargin::rf::Vec3;
use lapmargin::site::{BounceOrder, Paths, Scene, SlabModel};
use lapmargin::units::Hertz;

fn main() {
    divan::main();
}

/// The whole demo from nothing: 4 entries, 2 ports, every sample, direct, ground and one wall bounce. Promise: 15 ms.
#[divan::bench]
fn demo_cold(bencher: divan::Bencher) {
    let plan = demo();
    bencher.bench_local(|| Evaluator::default().report(&plan, Effort::FULL));
}

/// The same with up to two bounces. Promise: 40 ms.
#[divan::bench]
fn demo_cold_two_bounces(bencher: divan::Bencher) {
    let (plan, effort) = (demo(), Effort::FULL.with_bounces(BounceOrder::Double));
    bencher.bench_local(|| Evaluator::default().report(&plan, effort));
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

/// A gate dragged: everything traced anew.
#[divan::bench]
fn drag_step(bencher: divan::Bencher) {
    let (mut plan, mut evaluator) = (demo(), Evaluator::default());
    bencher.bench_local(|| {
        plan.course.gates[2].x_m += 0.001;
        evaluator.report(&plan, Effort::FULL)
    });
}

/// One lap of one entry flown in time, everything else kept. Promise: 64 laps of all entries in less than a second.
#[divan::bench]
fn lap_in_time(bencher: divan::Bencher) {
    let mut laps =
        Evaluator::default().laps_in_time(&demo(), 0, Effort::FULL, 0..u32::MAX).expect("the demo can be judged");
    bencher.bench_local(|| laps.step(1));
}

/// One instant explained, everything else kept.
#[divan::bench]
fn explain(bencher: divan::Bencher) {
    let (plan, mut evaluator) = (demo(), Evaluator::default());
    evaluator.report(&plan, Effort::FULL);
    bencher.bench_local(|| evaluator.explain(&plan, 0, 0, 200, Effort::FULL));
}

/// One lap of one entry from nothing, by the number of bounces.
#[divan::bench(args = [0, 1, 2])]
fn lap_of_one_entry(bencher: divan::Bencher, bounces: usize) {
    let mut plan = demo();
    plan.entries.truncate(1);
    let effort = Effort::FULL.with_bounces(BounceOrder::ALL[bounces]);
    bencher.bench_local(|| Evaluator::default().report(&plan, effort));
}

/// Paths found and weighed per second at one seat of the demo, by the number of bounces: geometry, obstruction, and the
/// field matrix at one carrier.
#[divan::bench(args = [0, 1, 2])]
fn paths_found(bencher: divan::Bencher, bounces: usize) {
    let (plan, carrier) = (demo(), Hertz(5.8e9));
    let lap = convert::lap(&plan.course).expect("the demo is flown");
    let scene = Scene::new(&convert::site(&plan.site), carrier).expect("the demo's site is possible");
    let tuned = scene.tuned(carrier).expect("its materials have properties at the carrier");
    let seat = &plan.seats[0];
    let images = scene.images(&Vec3::new(seat.x_m, seat.y_m, seat.height_m), BounceOrder::ALL[bounces]);
    let mut paths = Paths::new();
    let mut all = |weigh: bool| -> usize {
        let found = |from: &Vec3| {
            images.trace(from, &mut paths);
            if weigh {
                divan::black_box(carry_paths(&tuned, &paths, SlabModel::Averaged, 0.0));
            }
            paths.len()
        };
        lap.samples.iter().map(|sample| &sample.position).map(found).sum()
    };
    let count = all(false);
    bencher.counter(divan::counter::ItemsCount::new(count)).bench_local(|| all(true));
}

/// A map of the usual size for one receiver, everything prepared anew; one thread does it all. Promise: 300 ms in a worker.
#[divan::bench(args = [Quantity::Margin, Quantity::Outage, Quantity::Reserve, Quantity::HandMatters], sample_count = 20)]
fn map(bencher: divan::Bencher, quantity: Quantity) {
    let plan = demo();
    let request = MapRequest { quantity, ..MapRequest::usual(&plan, 2) };
    bencher.bench_local(|| {
        let mut map = Evaluator::default().map(&plan, &request).expect("the demo can be mapped");
        while map.step(1000).is_pending() {}
        map
    });
}
