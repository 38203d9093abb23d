//! The worker's end of the line: takes a job, computes, answers.

use super::jobs::Answer;
use super::parcel;
use super::requests::Request;
use crate::link::{self, Effort};
use crate::plan;

/// Answers one job, or says in a sentence why it cannot.
///
/// The text of every job is a line of numbers and the plan, see [`Request`].
///
/// | kind | answer |
/// |---|---|
/// | `lap` | the report, its columns apart; [`parcel::unpack`] puts it together |
/// | `instant` | the [`Explanation`](crate::link::report::Explanation) as JSON |
/// | `hands` | the [`HandComparison`](crate::link::report::HandComparison) as JSON |
/// | `sheet` | the whole report as JSON, as the native command prints it |
///
/// # Errors
///
/// A kind that is not in the table, or a text that is not what its kind expects.
pub fn answer(kind: &str, text: &str) -> Result<Answer, String> {
    let (request, plan) = Request::read(kind, text)?;
    let plan = plan::load(plan).map_err(|error| format!("The plan could not be computed: {error}."))?;
    match request {
        Request::Lap => parcel::pack(link::evaluate(&plan, Effort::Full)),
        Request::Instant { entry, port, sample } => {
            let explanation = link::explain(&plan, entry, port, sample).map_err(|error| format!("{error}."))?;
            written(&explanation)
        }
        Request::Hands { entry } => {
            let comparison = link::compare_hands(&plan, entry).map_err(|error| format!("{error}."))?;
            written(&comparison)
        }
        Request::Sheet => Ok(Answer { text: link::report_json(&plan), columns: Vec::new() }),
    }
}

fn written(value: &impl serde::Serialize) -> Result<Answer, String> {
    let text = serde_json::to_string(value).map_err(|error| format!("The answer could not be written ({error})."))?;
    Ok(Answer { text, columns: Vec::new() })
}

/// Listens for jobs and answers them, one after the other. Called once, when the program wakes up in a worker.
#[cfg(target_arch = "wasm32")]
pub fn start() {
    use super::{measure, message};
    use wasm_bindgen::JsCast;
    use wasm_bindgen::closure::Closure;
    use web_sys::{DedicatedWorkerGlobalScope, MessageEvent};

    let scope: DedicatedWorkerGlobalScope = js_sys::global().unchecked_into();
    let answering = scope.clone();
    let clock = scope.performance();
    let now_ms = move || clock.as_ref().map_or(0.0, web_sys::Performance::now);
    let on_message = Closure::<dyn FnMut(MessageEvent)>::new(move |event: MessageEvent| {
        // Only the bridge writes here, and it writes jobs.
        let Some((number, job)) = message::to_job(&event.data()) else { return };
        let outcome = match job.kind.as_str() {
            measure::KIND => measure::answer(&job.text, &now_ms),
            kind => answer(kind, &job.text),
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
    use crate::link::report::{Explanation, HandComparison};

    #[test]
    fn every_request_about_the_demo_plan_is_answered() {
        let plan = plan::demo();
        let ask = |request: Request| {
            let job = request.job(&plan);
            answer(&job.kind, &job.text).unwrap()
        };
        let report = parcel::unpack(ask(Request::Lap)).unwrap();
        assert_eq!(report, link::evaluate(&plan, Effort::Full));
        let instant: Explanation =
            serde_json::from_str(&ask(Request::Instant { entry: 1, port: 1, sample: 40 }).text).unwrap();
        assert_eq!((instant.entry, instant.port, instant.sample), (1, 1, 40));
        let hands: HandComparison = serde_json::from_str(&ask(Request::Hands { entry: 2 }).text).unwrap();
        assert_eq!((hands.entry, hands.rows.len()), (2, 3));
        assert_eq!(ask(Request::Sheet).text, link::report_json(&plan));
    }

    #[test]
    fn what_cannot_be_answered_is_refused_in_a_sentence() {
        let beyond = Request::Instant { entry: 99, port: 0, sample: 0 }.job(&plan::demo());
        for (kind, text) in [("lunch", ""), ("lap", "\n{}"), ("instant", "0 0\n{}"), ("instant", beyond.text.as_str())] {
            let sentence = answer(kind, text).unwrap_err();
            assert!(sentence.ends_with('.'), "{sentence}");
        }
    }
}
