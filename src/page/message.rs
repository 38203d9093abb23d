//! What window and worker say to each other, as the plain values that the browser copies between them.
//!
//! A job travels as `[number, kind, text]`, followed by the name of its plan if it has one, followed in turn by the plan's whole
//! text, or by what changed since another plan: its name, the bytes that stay at the beginning and at the end, and the text
//! between them. An answer travels as `[number, text, columns]`, where the columns are typed arrays whose memory moves over
//! instead of being copied; a part of an answer has a fourth item; a refusal as `[number, sentence]`, or as `[number]` where the worker does not hold the plan; and
//! `"ready"` says that the worker listens. A job number is an f64 on the way: exact up to 2^53 jobs.

use js_sys::{Array, Float64Array};
use wasm_bindgen::{JsCast, JsValue};

use super::carriage::SentPlan;
use super::jobs::{Answer, Errand, JobNumber, NoAnswer};
use crate::link::stage::Key;

/// A message from the worker.
pub enum FromWorker {
    /// It listens.
    Ready,
    /// It is done with a job.
    Done(JobNumber, Result<Answer, NoAnswer>),
    /// It has a part of an answer.
    SoFar(JobNumber, Answer),
}

/// The worker's first words.
pub fn ready() -> JsValue {
    JsValue::from_str("ready")
}

/// A job on its way to the worker.
pub fn from_errand(number: JobNumber, errand: &Errand) -> JsValue {
    let message = Array::of3(&(number.0 as f64).into(), &errand.kind.as_str().into(), &errand.text.as_str().into());
    let name = |name: &Key| JsValue::from(name.to_string());
    let parts = match &errand.plan {
        None => vec![],
        Some(SentPlan::Named(plan)) => vec![name(plan)],
        Some(SentPlan::Whole(plan, text)) => vec![name(plan), (&**text).into()],
        Some(SentPlan::Changed { name: plan, from, start, end, between }) => {
            vec![name(plan), name(from), (*start as f64).into(), (*end as f64).into(), between.as_str().into()]
        }
    };
    for part in parts {
        message.push(&part);
    }
    message.into()
}

/// A job as it arrived; `None` for anything else.
pub fn to_errand(message: &JsValue) -> Option<(JobNumber, Errand)> {
    let parts = message.dyn_ref::<Array>()?;
    let number = JobNumber(parts.get(0).as_f64()? as u64);
    let name = |place| Key::read(&parts.get(place).as_string()?);
    let plan = match parts.length() {
        3 => None,
        4 => Some(SentPlan::Named(name(3)?)),
        5 => Some(SentPlan::Whole(name(3)?, parts.get(4).as_string()?.into())),
        _ => Some(SentPlan::Changed {
            name: name(3)?,
            from: name(4)?,
            start: parts.get(5).as_f64()? as usize,
            end: parts.get(6).as_f64()? as usize,
            between: parts.get(7).as_string()?,
        }),
    };
    Some((number, Errand { kind: parts.get(1).as_string()?, text: parts.get(2).as_string()?, plan }))
}

/// The worker's outcome on its way to the window, and the memory that moves with it.
pub fn from_outcome(number: JobNumber, outcome: &Result<Answer, NoAnswer>) -> (JsValue, Array) {
    let moved = Array::new();
    let number = JsValue::from(number.0 as f64);
    let message = match outcome {
        Err(NoAnswer::NoPlan) => Array::of1(&number),
        Err(NoAnswer::Because(sentence)) => Array::of2(&number, &sentence.as_str().into()),
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

/// A part of an answer on its way to the window.
pub fn from_part(number: JobNumber, answer: Answer) -> (JsValue, Array) {
    let (message, moved) = from_outcome(number, &Ok(answer));
    message.unchecked_ref::<Array>().push(&JsValue::TRUE);
    (message, moved)
}

/// A message from the worker as it arrived; `None` for anything else.
pub fn to_from_worker(message: &JsValue) -> Option<FromWorker> {
    if *message == ready() {
        return Some(FromWorker::Ready);
    }
    let parts = message.dyn_ref::<Array>()?;
    let number = JobNumber(parts.get(0).as_f64()? as u64);
    let outcome = match parts.length() {
        1 => Err(NoAnswer::NoPlan),
        2 => Err(NoAnswer::Because(parts.get(1).as_string()?)),
        _ => {
            let text = parts.get(1).as_string()?;
            let columns = parts.get(2).dyn_into::<Array>().ok()?;
            let columns = columns
                .iter()
                .map(|column| Some(column.dyn_into::<Float64Array>().ok()?.to_vec()))
                .collect::<Option<_>>();
            let answer = Answer { text, columns: columns? };
            if parts.length() > 3 {
                return Some(FromWorker::SoFar(number, answer));
            }
            Ok(answer)
        }
    };
    Some(FromWorker::Done(number, outcome))
}
