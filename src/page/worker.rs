//! The worker's end of the line: takes a job, computes, answers.

use super::carriage::{HeldPlan, NoPlan};
use super::jobs::{Answer, Errand, NoAnswer};
use super::map::choice::MapPart;
use super::parcel;
use super::requests::Request;
use crate::link::map::MapError;
use crate::link::report::Report;
use crate::link::{Effort, Evaluator};
use crate::plan::document::Plan;
use crate::site::BounceOrder;

/// Parts of an answer are told no more often than this, in milliseconds: an answer that comes soon comes whole.
#[cfg(target_arch = "wasm32")]
const PART_MS: f64 = 500.0;

/// What a worker keeps from job to job.
#[derive(Debug, Default)]
pub struct Worker {
    /// The plan of the last job.
    held: Option<HeldPlan>,
    /// What the next job can use again.
    evaluator: Evaluator,
}

impl Worker {
    /// Answers one job, and of a report tells `so_far` what there is before every entry but the first; or says why it cannot: it does not hold the plan, or for a reason in a sentence.
    ///
    /// The text of every job is a few numbers, see [`Request`]; the plan comes as [`crate::carriage`] says.
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
    /// A kind that is not in the table, a text that is not what its kind expects, a plan that is not there.
    pub fn answer(&mut self, errand: Errand, so_far: &mut dyn FnMut(&Report)) -> Result<Answer, NoAnswer> {
        let Self { held, evaluator } = self;
        let Errand { kind, text, plan } = errand;
        // The plan is taken in whatever becomes of the job: the window counts on it.
        let sent = plan.ok_or(NoAnswer::NoPlan)?;
        let plan = HeldPlan::receive(held, sent).map_err(|why| match why {
            NoPlan::NotHeld => NoAnswer::NoPlan,
            NoPlan::NotRead(why) => NoAnswer::Because(format!("The plan could not be computed: {why}.")),
        })?;
        answer(evaluator, plan, (&kind, &text), so_far).map_err(NoAnswer::Because)
    }
}

fn answer(
    evaluator: &mut Evaluator,
    plan: &Plan,
    (kind, text): (&str, &str),
    so_far: &mut dyn FnMut(&Report),
) -> Result<Answer, String> {
    let (request, bounces) = Request::read(kind, text)?;
    let effort = Effort::FULL.with_bounces(bounces);
    match request {
        Request::Lap => Ok(parcel::pack(evaluator.report_by_steps(plan, effort, so_far))),
        Request::Instant { entry, port, sample } => {
            let explanation = evaluator.explain(plan, entry, port, sample, effort);
            Ok(parcel::pack(explanation.map_err(|why| format!("The instant could not be explained: {why}."))?))
        }
        Request::Hands { entry } => {
            let comparison = evaluator.compare_hands(plan, entry, effort);
            Ok(parcel::pack(comparison.map_err(|why| format!("The hands could not be compared: {}.", why.text))?))
        }
        Request::Breakups { entry, laps } => {
            let flown = evaluator.fly_on(plan, entry, effort, laps);
            Ok(parcel::pack(flown.map_err(|why| format!("The laps could not be simulated: {}.", why.text))?))
        }
        Request::Map(part) => {
            map_part(evaluator, plan, &part, bounces).map_err(|why| format!("There is no map: {why}."))
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
    let worker = RefCell::new(Worker::default());
    let on_message = Closure::<dyn FnMut(MessageEvent)>::new(move |event: MessageEvent| {
        // Only the bridge writes here, and it writes jobs.
        let Some((number, errand)) = message::to_errand(&event.data()) else { return };
        let outcome = match errand.kind.as_str() {
            measure::KIND => measure::answer(&errand.text, &now_ms).map_err(NoAnswer::Because),
            _ => {
                let mut told = now_ms();
                worker.borrow_mut().answer(errand, &mut |report| {
                    if now_ms() - told > PART_MS {
                        told = now_ms();
                        let (part, moved) = message::from_part(number, parcel::pack(report.clone()));
                        // The whole answer comes anyway.
                        let _ = answering.post_message_with_transfer(&part, &moved);
                    }
                })
            }
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
    use crate::carriage::WrittenPlan;
    use crate::jobs::{Event, Job, Queue, Step};
    use crate::link::breakups::Breakups;
    use crate::link::report::{Explanation, HandComparison};
    use crate::plan;
    use crate::site::BounceOrder;

    /// What a worker answers to a job that goes through a queue.
    fn ask(queue: &mut Queue, worker: &mut Worker, job: Job) -> Result<Answer, String> {
        let (_, mut steps) = queue.post(job);
        loop {
            steps = match steps.pop() {
                Some(Step::Start) => queue.ready(),
                Some(Step::Send(number, errand)) => queue.answered(number, worker.answer(errand, &mut |_| {})),
                Some(Step::Tell(Event::Answered { answer, .. })) => return Ok(answer),
                Some(Step::Tell(Event::Failed { why, .. })) => return Err(why),
                other => panic!("{other:?}"),
            };
        }
    }

    #[test]
    fn every_request_about_the_demo_plan_is_answered_as_the_core_answers() {
        let plan = plan::demo();
        let (mut queue, mut worker) = (Queue::default(), Worker::default());
        let mut ask = |request: Request| {
            ask(&mut queue, &mut worker, request.job(&WrittenPlan::of(&plan), BounceOrder::Single)).unwrap()
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
        let (mut queue, mut worker) = (Queue::default(), Worker::default());
        let plan = WrittenPlan::of(&plan::demo());
        let job = |kind: &str, text: &str| Job { kind: kind.into(), text: text.into(), plan: Some(plan.clone()) };
        let refused = [
            job("lunch", "1"),
            job("lap", "x"),
            job("instant", "1 0 0"),
            Request::Instant { entry: 99, port: 0, sample: 0 }.job(&plan, BounceOrder::Single),
            Request::Hands { entry: 99 }.job(&plan, BounceOrder::Single),
            Job { plan: None, ..job("lap", "1") },
        ];
        for job in refused {
            let sentence = ask(&mut queue, &mut worker, job).unwrap_err();
            assert!(sentence.ends_with('.'), "{sentence}");
        }
        assert!(ask(&mut queue, &mut worker, Request::Lap.job(&plan, BounceOrder::Single)).is_ok());
    }

    #[test]
    fn a_worker_that_lost_its_plan_is_asked_again_and_answers() {
        let (mut queue, mut worker) = (Queue::default(), Worker::default());
        let plan = plan::demo();
        let mut weaker = plan.clone();
        weaker.entries[0].radios[0].power_dbm -= 3.0;
        let [plan, weaker] = [&plan, &weaker].map(WrittenPlan::of);
        let job = |plan: &WrittenPlan| Request::Hands { entry: 0 }.job(plan, BounceOrder::Direct);
        let first = ask(&mut queue, &mut worker, job(&plan)).unwrap();
        for next in [&plan, &weaker] {
            worker = Worker::default();
            let again = ask(&mut queue, &mut worker, job(next)).unwrap();
            assert_eq!(again == first, next == &plan);
        }
    }
}
