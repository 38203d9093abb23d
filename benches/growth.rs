//! How the time of a lap grows with the number of obstacles: 10, 30, 100 and 300 at the density of the demo, so that more of
//! them make a larger fair and not a tighter one. Prints the exponent of the fitted power of their number.

use std::time::Instant;

use lapmargin::link::{Effort, Evaluator};
use lapmargin::plan::demo::demo;
use lapmargin::plan::document::{BlockShape, Obstacle, ObstacleShape, Plan, TreeShape, WallShape};
use lapmargin::rf::material::Material;
use lapmargin::site::BounceOrder;

const COUNTS: [usize; 4] = [10, 30, 100, 300];
/// Bound of the exponent.
const MOST: f64 = 1.3;
/// The least of so many runs is taken: what else the machine does only adds.
const RUNS: usize = 15;
/// Side of the square that one obstacle has to itself, metres: the demo has 12 on 44 m by 28 m.
const ROOM: f64 = 10.0;

#[allow(clippy::print_stdout, reason = "a table is what this program is for")]
fn main() {
    println!(
        "\n{:<34} {:>8} {:>8} {:>8} {:>8} {:>10}",
        "ms per lap of one entry, obstacles:", 10, 30, 100, 300, "exponent"
    );
    for order in BounceOrder::ALL {
        let times = COUNTS.map(|count| lap_ms(&fair(count), Effort::FULL.with_bounces(order)));
        let exponent = fitted_exponent(&times);
        let verdict = if exponent < MOST { "holds" } else { "does not hold" };
        print!("{:<34}", format!("up to {} bounces", order.most_bounces()));
        times.iter().for_each(|time| print!(" {time:>8.2}"));
        println!(" {exponent:>10.2}  below {MOST}: {verdict}");
    }
}

/// The demo's lap, first entry and seat among other obstacles: stalls, fences, houses and trees round its middle, a grid
/// filled from the inside out.
fn fair(count: usize) -> Plan {
    let mut plan = demo();
    plan.entries.truncate(1);
    let middle = [plan.site.width_m / 2.0, plan.site.depth_m / 2.0];
    let side = (count as f64).sqrt() * ROOM;
    let columns = (count as f64).sqrt().ceil() as usize;
    plan.site.obstacles = (0..count)
        .map(|number| {
            // Off the grid and turned by fixed, uneven steps: parallel rows would bounce more than a fair does.
            let uneven = |step: f64| (number as f64 * step).fract() - 0.5;
            let place = |index: usize, middle: f64, step: f64| {
                middle - side / 2.0 + (index as f64 + 0.5 + 0.5 * uneven(step)) * ROOM
            };
            let centre_m = [place(number % columns, middle[0], 0.618), place(number / columns, middle[1], 0.755)];
            obstacle(number, centre_m, 90.0 * uneven(0.414))
        })
        .collect();
    plan
}

fn obstacle(number: usize, centre_m: [f64; 2], turn_deg: f64) -> Obstacle {
    let block = |size_m, height_m, thickness_m, material| BlockShape {
        centre_m,
        size_m,
        turn_deg,
        height_m,
        thickness_m,
        material,
    };
    let shape = match number % 10 {
        0..=5 => ObstacleShape::Stall(block([3.2, 2.4], 2.1, 0.018, Material::Plywood)),
        6 => ObstacleShape::Building(block([7.0, 5.0], 7.0, 0.22, Material::Brick)),
        7 | 8 => ObstacleShape::Wall(WallShape {
            from_m: [centre_m[0] - 3.0, centre_m[1] - 1.0],
            to_m: [centre_m[0] + 3.0, centre_m[1] + 1.0],
            height_m: 2.0,
            thickness_m: 0.02,
            material: Material::Wood,
        }),
        _ => ObstacleShape::Tree(TreeShape { centre_m, radius_m: 2.0, base_m: 2.0, height_m: 6.0, loss_db_per_m: 1.2 }),
    };
    Obstacle { id: format!("o{number}"), name: format!("Obstacle {number}"), shape }
}

fn lap_ms(plan: &Plan, effort: Effort) -> f64 {
    let mut least = f64::INFINITY;
    for _ in 0..RUNS {
        let start = Instant::now();
        let report = Evaluator::default().report(plan, effort);
        least = least.min(start.elapsed().as_secs_f64() * 1000.0);
        assert_eq!(report.entries.len(), 1, "the seat is free and the entry is judged: {:?}", report.notices);
    }
    least
}

/// Slope of the straight line through the logarithms, by least squares.
fn fitted_exponent(times: &[f64; COUNTS.len()]) -> f64 {
    let points = COUNTS.iter().zip(times).map(|(&count, &time)| (libm::log(count as f64), libm::log(time)));
    let number = COUNTS.len() as f64;
    let (x, y) = points.clone().fold((0.0, 0.0), |(x, y), point| (x + point.0 / number, y + point.1 / number));
    let (above, below) = points.fold((0.0, 0.0), |(above, below), point| {
        let (right, up) = (point.0 - x, point.1 - y);
        (above + right * up, below + right * right)
    });
    above / below
}
