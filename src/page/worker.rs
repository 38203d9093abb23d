//! The worker's end of the line: takes a job, computes, answers.

use super::jobs::Answer;

/// Answers one job, or says in a sentence why it cannot.
///
/// | kind | text | answer |
/// |---|---|---|
/// | `decibels` | power ratios, separated by spaces | one column: the ratios in decibels |
///
/// # Errors
///
/// A kind that is not in the table, or a text that is not what its kind expects.
pub fn answer(kind: &str, text: &str) -> Result<Answer, String> {
    match kind {
        "decibels" => decibels(text),
        _ => Err(format!("The worker does not know how to do \"{kind}\".")),
    }
}

fn decibels(text: &str) -> Result<Answer, String> {
    let column = text
        .split_whitespace()
        .map(|word| match word.parse::<f64>() {
            Ok(ratio) if ratio > 0.0 && ratio.is_finite() => Ok(10.0 * libm::log10(ratio)),
            _ => Err(format!("\"{word}\" is not a power ratio greater than zero.")),
        })
        .collect::<Result<_, _>>()?;
    Ok(Answer { text: String::new(), columns: vec![column] })
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

    #[test]
    fn ratios_become_decibels_in_order() {
        let answer = answer("decibels", "100 1\n0.001").unwrap();
        assert_eq!(answer.columns, [[20.0, 0.0, -30.0]]);
    }

    #[test]
    fn what_cannot_be_answered_is_refused_in_a_sentence() {
        for (kind, text, named) in [
            ("decibels", "2 -1", "\"-1\""),
            ("decibels", "inf", "\"inf\""),
            ("decibels", "x", "\"x\""),
            ("lunch", "", "lunch"),
        ] {
            let sentence = answer(kind, text).unwrap_err();
            assert!(sentence.contains(named) && sentence.ends_with('.'), "{sentence}");
        }
    }
}
