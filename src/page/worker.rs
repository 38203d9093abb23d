//! The worker's end of the line: takes a job, computes, answers.

use super::jobs::Answer;
use super::map::choice::MapPart;
use super::parcel;
use super::requests::Request;
use crate::link::map::MapError;
use crate::link::{Effort, Evaluator};
use crate::plan;
use crate::plan::document::Plan;
use crate::site::BounceOrder;

/// Answers one job, or says in a sentence why it cannot. The evaluator keeps what the next job can use again.
///
/// The text of every job is a line of numbers and the plan, see [`Request`].
///
/// | kind | answer |
/// |---|---|
/// | `lap` | the [`Report`](crate::link::report::Report), in a [`parcel`] |
/// | `instant` | the [`Explanation`](crate::link::report::Explanation), in a parcel |
/// | `hands` | the [`HandComparison`](crate::link::report::HandComparison), in a parcel |
/// | `breakups` | the [`Breakups`](crate::link::breakups::Breakups) of laps in time, in a parcel |
/// | `map` | a column of cells and one of their numbers |
///
/// # Errors
///
/// A kind that is not in the table, or a text that is not what its kind expects.
pub fn answer(evaluator: &mut Evaluator, kind: &str, text: &str) -> Result<Answer, String> {
    let (request, bounces, plan) = Request::read(kind, text)?;
    let effort = Effort::FULL.with_bounces(bounces);
    let plan = plan::load(plan).map_err(|error| format!("The plan could not be computed: {error}."))?;
    match request {
        Request::Lap => Ok(parcel::pack(evaluator.report(&plan, effort))),
        Request::Instant { entry, port, sample } => {
            let explanation = evaluator.explain(&plan, entry, port, sample, effort);
            Ok(parcel::pack(explanation.map_err(|why| format!("The instant could not be explained: {why}."))?))
        }
        Request::Hands { entry } => {
            let comparison = evaluator.compare_hands(&plan, entry, effort);
            Ok(parcel::pack(comparison.map_err(|why| format!("The hands could not be compared: {}.", why.text))?))
        }
        Request::Breakups { entry, laps } => {
            let flown = evaluator.fly_on(&plan, entry, effort, laps);
            Ok(parcel::pack(flown.map_err(|why| format!("The laps could not be flown: {}.", why.text))?))
        }
        Request::Map(part) => {
            map_part(evaluator, &plan, &part, bounces).map_err(|why| format!("There is no map: {why}."))
        }
    }
}

/// The cells of a part that have a number, and the numbers.
fn map_part(evaluator: &mut Evaluator, plan: &Plan, part: &MapPart, bounces: BounceOrder) -> Result<Answer, MapError> {
    let mut map = evaluator.map(plan, &part.choice.request(plan, part.entry, bounces))?;
    map.take_share(part.share, part.shares, part.skip);
    let begun = map.progress().done;
    let done = map.step(part.budget).done;
    let mut columns = vec![Vec::new(), Vec::new()];
    for &cell in &map.order()[begun..done] {
        if let Some(value) = map.values()[cell as usize] {
            columns[0].push(f64::from(cell));
            columns[1].push(value);
        }
    }
    Ok(Answer { text: String::new(), columns })
}

/// Listens for jobs and answers them, one after the other. Called once, when the program wakes up in a worker.
#[cfg(target_arch = "wasm32")]
pub fn start() {
    use std::cell::RefCell;

    use super::{measure, message};
    use wasm_bindgen::JsCast;
    use wasm_bindgen::closure::Closure;
    use web_sys::{DedicatedWorkerGlobalScope, MessageEvent};

    let scope: DedicatedWorkerGlobalScope = js_sys::global().unchecked_into();
    let answering = scope.clone();
    let clock = scope.performance();
    let now_ms = move || clock.as_ref().map_or(0.0, web_sys::Performance::now);
    let evaluator = RefCell::new(Evaluator::default());
    let on_message = Closure::<dyn FnMut(MessageEvent)>::new(move |event: MessageEvent| {
        // Only the bridge writes here, and it writes jobs.
        let Some((number, job)) = message::to_job(&event.data()) else { return };
        let outcome = match job.kind.as_str() {
            measure::KIND => measure::answer(&job.text, &now_ms),
            kind => answer(&mut evaluator.borrow_mut(), kind, &job.text),
        };
        let (reply, moved) = message::from_outcome(number, &outcome);
        answering
            .post_message_with_transfer(&reply, &moved)
            .expect("a reply is made of text, numbers and memory of its own, all of which can be passed on");
    });
    scope.set_onmessage(Some(on_message.as_ref().unchecked_ref()));
    // The worker listens until it is stopped from outside.
    on_message.forget();
    scope.post_message(&message::ready()).expect("text can be passed on");
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::link::breakups::Breakups;
    use crate::link::report::{Explanation, HandComparison, Report};
    use crate::site::BounceOrder;

    #[test]
    fn every_request_about_the_demo_plan_is_answered_as_the_core_answers() {
        let plan = plan::demo();
        let mut evaluator = Evaluator::default();
        let mut ask = |request: Request| {
            let job = request.job(&plan, BounceOrder::Single);
            answer(&mut evaluator, &job.kind, &job.text).unwrap()
        };
        let core = &mut Evaluator::default();
        let report: Report = parcel::unpack(ask(Request::Lap)).unwrap();
        assert_eq!(report, core.report(&plan, Effort::FULL));
        let instant: Explanation = parcel::unpack(ask(Request::Instant { entry: 1, port: 1, sample: 40 })).unwrap();
        assert_eq!(instant, core.explain(&plan, 1, 1, 40, Effort::FULL).unwrap());
        let hands: HandComparison = parcel::unpack(ask(Request::Hands { entry: 2 })).unwrap();
        assert_eq!(hands, core.compare_hands(&plan, 2, Effort::FULL).unwrap());
        let flown: Breakups = parcel::unpack(ask(Request::Breakups { entry: 3, laps: 2 })).unwrap();
        assert_eq!(flown, core.fly_on(&plan, 3, Effort::FULL, 2).unwrap());
    }

    #[test]
    fn what_cannot_be_answered_is_refused_in_a_sentence() {
        let mut evaluator = Evaluator::default();
        let plan = plan::demo();
        let beyond = Request::Instant { entry: 99, port: 0, sample: 0 }.job(&plan, BounceOrder::Single).text;
        let nobody = Request::Hands { entry: 99 }.job(&plan, BounceOrder::Single).text;
        let refused: [(&str, &str); 5] =
            [("lunch", ""), ("lap", "1\n{}"), ("instant", "1 0 0\n{}"), ("instant", &beyond), ("hands", &nobody)];
        for (kind, text) in refused {
            let sentence = answer(&mut evaluator, kind, text).unwrap_err();
            assert!(sentence.ends_with('.'), "{sentence}");
        }
    }
}
