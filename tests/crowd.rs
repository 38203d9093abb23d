//! A seat behind a crowd: nobody knows who stands where, so the answer may not hang on who was drawn.

use lapmargin::link::{Effort, Evaluator};
use lapmargin::plan::demo::demo;
use lapmargin::plan::document::{ObstacleShape, Plan};

/// One entry whose seat stands a metre behind a crowd, on an otherwise empty yard.
fn plan(width: f64, density: f64) -> Plan {
    let mut plan = demo();
    plan.entries.truncate(1);
    plan.site.obstacles.retain_mut(|obstacle| match &mut obstacle.shape {
        ObstacleShape::Crowd(crowd) => {
            crowd.centre_m = [12.0, 4.6];
            crowd.size_m = [width, 2.0];
            crowd.density_per_m2 = density;
            true
        }
        _ => false,
    });
    plan.course.step_m = 0.5;
    plan
}

fn reserve(plan: &Plan) -> f64 {
    Evaluator::default().report(plan, Effort::FULL).entries[0].reserve_db
}

#[test]
fn another_seed_moves_a_reserve_by_less_than_a_fifth_of_a_decibel() {
    for (width, density) in [(20.0, 0.8), (8.0, 1.0)] {
        let with_seed = |seed| reserve(&Plan { seed, ..plan(width, density) });
        let values: Vec<f64> = (0..40).map(with_seed).collect();
        let mean = values.iter().sum::<f64>() / 40.0;
        let spread = (values.iter().map(|value| (value - mean) * (value - mean)).sum::<f64>() / 39.0).sqrt();
        assert!(spread < 0.2, "{width} m wide, {density} per m²: {spread} dB about {mean} dB");
        // The crowd is worth several decibels: the sweep would prove nothing where it hardly matters.
        assert!(reserve(&plan(width, 0.0)) - mean > 5.0, "{mean}");
    }
}

#[test]
fn more_people_never_help() {
    for start in [0.3, 1.0, 2.0] {
        let mut before = f64::INFINITY;
        for step in 0..=40 {
            let density = start + 0.01 * f64::from(step);
            let got = reserve(&plan(20.0, density));
            assert!(got <= before + 0.01, "{density} per m²: {got} after {before}");
            assert!(step == 0 || got > before - 0.4, "{density} per m²: {got} after {before}");
            before = got;
        }
    }
}
