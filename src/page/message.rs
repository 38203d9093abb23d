//! What window and worker say to each other, as the plain values that the browser copies between them.
//!
//! A job travels as `[number, kind, text]`; an answer as `[number, text, columns]`, where the columns are typed arrays
//! whose memory moves over instead of being copied; a refusal as `[number, sentence]`; and `"ready"` says that the
//! worker listens. A job number is an f64 on the way: exact up to 2^53 jobs.

use js_sys::{Array, Float64Array};
use wasm_bindgen::{JsCast, JsValue};

use super::jobs::{Answer, Job, JobNumber};

/// A message from the worker.
pub enum FromWorker {
    /// It listens.
    Ready,
    /// It is done with a job.
    Done(JobNumber, Result<Answer, String>),
}

/// The worker's first words.
pub fn ready() -> JsValue {
    JsValue::from_str("ready")
}

/// A job on its way to the worker.
pub fn from_job(number: JobNumber, job: &Job) -> JsValue {
    Array::of3(&(number.0 as f64).into(), &job.kind.as_str().into(), &job.text.as_str().into()).into()
}

/// A job as it arrived; `None` for anything else.
pub fn to_job(message: &JsValue) -> Option<(JobNumber, Job)> {
    let parts = message.dyn_ref::<Array>()?;
    let number = JobNumber(parts.get(0).as_f64()? as u64);
    Some((number, Job { kind: parts.get(1).as_string()?, text: parts.get(2).as_string()? }))
}

/// The worker's outcome on its way to the window, and the memory that moves with it.
pub fn from_outcome(number: JobNumber, outcome: &Result<Answer, String>) -> (JsValue, Array) {
    let moved = Array::new();
    let number = JsValue::from(number.0 as f64);
    let message = match outcome {
        Err(sentence) => Array::of2(&number, &sentence.as_str().into()),
        Ok(answer) => {
            let columns = Array::new();
            for column in &answer.columns {
                let typed = Float64Array::from(column.as_slice());
                moved.push(&typed.buffer());
                columns.push(&typed);
            }
            Array::of3(&number, &answer.text.as_str().into(), &columns)
        }
    };
    (message.into(), moved)
}

/// A message from the worker as it arrived; `None` for anything else.
pub fn to_from_worker(message: &JsValue) -> Option<FromWorker> {
    if *message == ready() {
        return Some(FromWorker::Ready);
    }
    let parts = message.dyn_ref::<Array>()?;
    let number = JobNumber(parts.get(0).as_f64()? as u64);
    let text = parts.get(1).as_string()?;
    let outcome = match parts.length() {
        2 => Err(text),
        _ => {
            let columns = parts.get(2).dyn_into::<Array>().ok()?;
            let columns = columns
                .iter()
                .map(|column| Some(column.dyn_into::<Float64Array>().ok()?.to_vec()))
                .collect::<Option<_>>();
            Ok(Answer { text, columns: columns? })
        }
    };
    Some(FromWorker::Done(number, outcome))
}
