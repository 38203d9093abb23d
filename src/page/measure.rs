//! How fast the core is, measured the same way natively and in the browser.
//!
//! Opened as `#view=measure`, the page shows these times instead of the plan: also on a phone. `cargo xtask bench` reads them
//! there and prints them beside the native ones. Each measure returns a number that depends on all of its work, so that
//! none of it is left out, and so that the two programs can be seen to agree to the last bit.

use crate::link::map::MapRequest;
use crate::link::report::Report;
use crate::link::verdict::order;
use crate::link::{Effort, Evaluator};
use crate::plan;
use crate::plan::document::StatedHand;
use crate::rf::phasor;

/// Something whose time is taken.
pub struct Timed {
    /// What it is, for the table.
    pub name: &'static str,
    /// Does it once; the result sums up the work.
    pub run: fn() -> f64,
}

/// What is measured, in the order of the table.
pub const MEASURES: [Timed; 5] = [
    Timed { name: "demo from nothing", run: demo_from_nothing },
    Timed { name: "demo, a gate moved", run: gate_moved },
    Timed { name: "demo, a hand turned", run: hand_turned },
    Timed { name: "100 000 phasors", run: phasors },
    Timed { name: "map 160 x 100", run: map },
];

/// The kind of job that takes the time of the measure whose position in [`MEASURES`] is the job's text.
pub const KIND: &str = "measure";

/// How long a measure is repeated, in milliseconds: long enough for the browser's compiler to finish and for a median.
const SPAN_MS: f64 = 1500.0;
/// The fewest repetitions of a slow measure.
const AT_LEAST: usize = 5;

/// What came of a measure.
#[derive(Clone, Debug, PartialEq)]
pub struct Times {
    /// The first run, before anything was warm, in milliseconds.
    pub first_ms: f64,
    /// The median of the later half of the runs, in milliseconds.
    pub median_ms: f64,
    /// What the measure returned.
    pub result: f64,
}

/// Repeats a measure by a clock that counts milliseconds.
pub fn time(measure: &Timed, now_ms: impl Fn() -> f64) -> Times {
    let start = now_ms();
    let mut runs = Vec::new();
    let mut result = 0.0;
    while runs.len() < AT_LEAST || now_ms() - start < SPAN_MS {
        let begin = now_ms();
        result = (measure.run)();
        runs.push(now_ms() - begin);
    }
    let late = runs.split_off(runs.len() / 2);
    let median_ms = late[order(&late)[late.len() / 2]];
    Times { first_ms: runs[0], median_ms, result }
}

/// The demo plan read and judged with nothing kept from before: every sample, direct, ground and one wall bounce.
fn demo_from_nothing() -> f64 {
    sum(&Evaluator::default().report(&plan::demo(), Effort::FULL))
}

/// What one step of a drag costs, all of it traced anew; the first judgement is part of the time, so subtract "demo from
/// nothing".
fn gate_moved() -> f64 {
    let (mut plan, mut evaluator) = (plan::demo(), Evaluator::default());
    let before = sum(&evaluator.report(&plan, Effort::FULL));
    plan.course.gates[2].x_m += 0.5;
    before + sum(&evaluator.report(&plan, Effort::FULL))
}

/// A hand turned after the demo was judged; the first judgement is part of the time, so subtract "demo from nothing".
fn hand_turned() -> f64 {
    let (mut plan, mut evaluator) = (plan::demo(), Evaluator::default());
    let before = sum(&evaluator.report(&plan, Effort::FULL));
    plan.entries[0].radios[0].antenna.hand = StatedHand::Left;
    before + sum(&evaluator.report(&plan, Effort::FULL))
}

/// A map of the demo for one receiver with the usual number of cells, from nothing, all by one worker.
fn map() -> f64 {
    let plan = plan::demo();
    let map = Evaluator::default().map(&plan, &MapRequest::usual(&plan, 2));
    map.map_or(f64::NAN, |mut map| {
        while map.step(1500).is_pending() {}
        map.values().iter().flatten().sum()
    })
}

/// A number that no level, margin or reserve can leave unchanged.
fn sum(report: &Report) -> f64 {
    let entries = report.entries.iter();
    entries.map(|entry| entry.reserve_db + entry.ports.iter().flat_map(|port| &port.level_dbm).sum::<f64>()).sum()
}

fn phasors() -> f64 {
    (0..100_000).map(|step| phasor(0.01 * f64::from(step)).re).sum()
}

/// Answers a job of this kind, in the worker.
///
/// # Errors
/// A sentence when the text is not the position of a measure.
pub fn answer(text: &str, now_ms: impl Fn() -> f64) -> Result<super::jobs::Answer, String> {
    let measure = text.parse().ok().and_then(|position: usize| MEASURES.get(position));
    let measure = measure.ok_or_else(|| format!("There is no measure at position “{text}”."))?;
    let Times { first_ms, median_ms, result } = time(measure, now_ms);
    Ok(super::jobs::Answer { text: measure.name.to_owned(), columns: vec![vec![first_ms, median_ms, result]] })
}

#[cfg(target_arch = "wasm32")]
mod sheet {
    use yew::prelude::*;

    use super::{KIND, MEASURES};
    use crate::bridge::Bridge;
    use crate::jobs::{Event, Job};

    /// The table of times. The worker takes them one after the other; each row appears as it is done.
    #[function_component]
    pub fn MeasureSheet() -> Html {
        let rows = use_state(Vec::<Result<(String, Vec<f64>), String>>::new);
        let bridge = use_memo((), |()| {
            let (rows, known) = (rows.setter(), std::cell::RefCell::new(Vec::new()));
            Bridge::new(move |event| {
                known.borrow_mut().push(match event {
                    Event::Answered { answer, .. } | Event::SoFar { answer, .. } => {
                        Ok((answer.text, answer.columns.concat()))
                    }
                    Event::Failed { why, .. } => Err(why),
                });
                rows.set(known.borrow().clone());
            })
        });
        // The queue keeps one waiting job of a kind, so the next is posted when the last is done.
        use_effect_with(rows.len(), move |done| {
            if *done < MEASURES.len() {
                bridge.post(Job { kind: KIND.into(), text: done.to_string(), plan: None });
            }
        });
        let row = |row: &Result<(String, Vec<f64>), String>| match row {
            Ok((name, values)) => html! {
                <tr>
                    <th scope="row">{ name }</th>
                    { for values.iter().take(2).map(|ms| html! { <td>{ format!("{ms:.3} ms") }</td> }) }
                    <td data-values={ values.iter().map(|value| format!("{:016x} ", value.to_bits())).collect::<String>() } />
                </tr>
            },
            Err(why) => html! { <tr><td colspan="4">{ why }</td></tr> },
        };
        html! {
            <main>
                <h1>{ "How fast this device computes" }</h1>
                <table class="measure" data-done={ (rows.len() == MEASURES.len()).to_string() }>
                    <thead><tr><th>{ "Measure" }</th><th>{ "First run" }</th><th>{ "Median" }</th><th /></tr></thead>
                    <tbody>{ for rows.iter().map(row) }</tbody>
                </table>
            </main>
        }
    }
}

#[cfg(target_arch = "wasm32")]
pub use sheet::MeasureSheet;

#[cfg(test)]
mod tests {
    use super::*;
    use std::cell::Cell;

    /// A clock that moves a quarter of the span each time it is read.
    fn clock() -> impl Fn() -> f64 {
        let now = Cell::new(0.0);
        move || now.replace(now.get() + SPAN_MS / 4.0)
    }

    #[test]
    fn a_slow_measure_is_still_repeated() {
        let answer = answer("0", clock()).unwrap();
        assert_eq!(answer.text, MEASURES[0].name);
        assert_eq!(answer.columns, [[SPAN_MS / 4.0, SPAN_MS / 4.0, (MEASURES[0].run)()]]);
    }

    #[test]
    fn an_unknown_measure_is_refused() {
        for text in ["1000", "-1", "", "x"] {
            assert!(answer(text, clock()).unwrap_err().contains(text));
        }
    }
}
