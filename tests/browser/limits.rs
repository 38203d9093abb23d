//! A plan at every limit on the page: verdicts come one by one, nothing of the plan before stays, and the rest can be given up.

use std::path::Path;
use std::time::Instant;

use lapmargin::plan::save;
use lapmargin::rf::random::Random;

use crate::limit_plans::{self, Size};
use crate::visit;

#[tokio::test]
async fn the_first_verdict_of_a_plan_at_the_limits_comes_soon_and_the_rest_can_be_given_up() {
    let Some(visit) = visit::open("").await else { return };
    visit.flown().await;
    let mut random = Random::new(1);
    let mut next = || random.uniform();
    let size = Size { side_m: 60.0 + 200.0 * next(), ..Size::FULL };
    let plan = limit_plans::plan(&size, &mut next);
    let file = Path::new(env!("CARGO_TARGET_TMPDIR")).join("at-the-limit.json");
    std::fs::write(&file, save(&plan)).expect("a file can be written");
    visit.click("#plans-summary").await;
    visit.find("#plan-file").await.send_keys(file.to_string_lossy()).await.expect("the browser takes the file");
    visit.text_when("#verdict-15", |name| name.contains("Pilot 16")).await;
    let start = Instant::now();
    // Nothing of the demo is said of this plan.
    assert_eq!(visit.script("return document.querySelectorAll('.verdict-word').length").await, 0);
    visit.text_when("#waiting", |said| said.contains("of 16")).await;
    visit
        .script_when("return document.querySelectorAll('.verdict-word').length", |count| count.as_u64() > Some(0))
        .await;
    let first = start.elapsed();
    assert!(first.as_secs() < 30, "the first verdict after {first:?}");
    visit.script("document.querySelector('#give-up').click()").await;
    visit.text_when("#failure", |said| said.starts_with("Given up")).await;
    visit.gone("#waiting").await;
    let judged = visit.script("return document.querySelectorAll('.verdict-word').length").await;
    assert!((1..16).contains(&judged.as_u64().expect("a count")), "{judged}: what was judged stays");
    assert_eq!(visit.console_errors().await, [""; 0]);
    // For whoever asks how long it took: `--nocapture`.
    eprintln!("first verdict of a plan at the limits after {:.1} s", first.as_secs_f64());
}
