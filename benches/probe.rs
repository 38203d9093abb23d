#[path = "../tests/seeded_plans.rs"]
mod seeded_plans;
use lapmargin::link::{Effort, Evaluator};
use lapmargin::plan::document::Picture;
use seeded_plans::seeded_plan;
fn main() {
    let w: Vec<f64> = std::env::args().skip(1).filter_map(|w| w.parse().ok()).collect();
    let (seed, entry, drop) = (w[0] as u64, w[1] as usize, w[2]);
    let mut plan = seeded_plan(seed).plan;
    for e in &mut plan.entries { e.radios[0].power_dbm -= drop; }
    for r in &mut plan.receivers { if let Picture::Digital { freeze_s, .. } = &mut r.picture { if w.len() > 3 { *freeze_s = 0.0; } } }
    let mut ev = Evaluator::default();
    let report = ev.report(&plan, Effort::FULL);
    let flown = ev.breakups(&plan, &report, Effort::FULL, 60);
    let e = &report.entries[entry]; let f = &flown[entry];
    println!("under closed {:.5} simulated {:.5}; lost+frozen closed {:.5} sim {:.5}; lost closed {:.5} sim {:.5}; reserve {:.2} {:.2}", e.under_share, f.under_share, 1.0-e.picture_share, 1.0-f.picture_share,
      e.together.lost.iter().zip(&report.lap.weight_s).map(|(a,b)|a*b).sum::<f64>()/report.lap.duration_s, f.lost_share, e.reserve_db, f.reserve_db);
    // by tenth of lap
    let n = report.lap.distance_m.len();
    for t in 0..12 {
        let (a, b) = (report.lap.length_m * t as f64 / 12.0, report.lap.length_m * (t + 1) as f64 / 12.0);
        let idx: Vec<usize> = (0..n).filter(|&i| report.lap.distance_m[i] >= a && report.lap.distance_m[i] < b).collect();
        let mean = |v: &Vec<f64>| idx.iter().map(|&i| v[i] * report.lap.weight_s[i]).sum::<f64>() / idx.iter().map(|&i| report.lap.weight_s[i]).sum::<f64>();
        let fi: Vec<usize> = (0..f.field_bad.len()).filter(|&i| f.field_distance_m[i] >= a && f.field_distance_m[i] < b).collect();
        let fl = fi.iter().map(|&i| f.field_bad[i]).sum::<f64>() / fi.len().max(1) as f64;
        println!("  {a:6.1} m: under {:.5} lost {:.5} | sim lost/frozen {:.5}  margin {:?} k {:?}", mean(&e.together.outage), mean(&e.together.lost), fl,
          e.ports.iter().map(|p| (mean(&p.margin_db)*10.0).round()/10.0).collect::<Vec<_>>(), e.ports.iter().map(|p| (mean(&p.k_db)*10.0).round()/10.0).collect::<Vec<_>>());
    }
}
