//! Jobs for the worker: which one goes next, and which one an answer belongs to.
//!
//! [`Queue`] decides and the bridge acts: the queue takes what happened and returns [`Step`]s, so all of
//! it is tested without a browser.
//!
//! The worker gets one job at a time. A job that waits is replaced by a newer one of the same kind, so that a dragged
//! gate never piles up work; the one in progress is finished and its answer told, so that the page keeps moving under
//! a long drag. Answers therefore arrive in the order of their numbers within a kind, and an answer to anything but the
//! job in progress is dropped.
//!
//! A job names the plan that it is about, and the queue knows which one the worker holds: it sends what is missing
//! ([`crate::carriage`]). A worker that does not answer for [`PATIENCE`] ticks of a clock is given up as one that broke down.

use std::collections::VecDeque;

use crate::carriage::{SentPlan, WrittenPlan};

/// What keeps the time of a worker at work ticks so often, in milliseconds.
pub const TICK_MS: u32 = 10_000;
/// A worker that has not answered a job after more ticks is given up: two minutes, several times what the largest plan
/// takes. Ticks are counted, not hours: a device that slept all night has ticked once.
pub const PATIENCE: u32 = 12;

/// Counts the jobs of one queue, from 1; never used twice.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct JobNumber(pub u64);

/// Work for the worker.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Job {
    /// What to do; [`crate::worker::answer`] lists the kinds.
    pub kind: String,
    /// The details, in words of its kind.
    pub text: String,
    /// The plan that it is about, if it is about one.
    pub plan: Option<WrittenPlan>,
}

/// A job as the worker gets it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Errand {
    /// What to do.
    pub kind: String,
    /// The details.
    pub text: String,
    /// What the worker is missing of the plan, at least its name.
    pub plan: Option<SentPlan>,
}

/// Why the worker has no answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoAnswer {
    /// It does not hold the plan and wants all of it.
    NoPlan,
    /// For a reason, as a sentence to show.
    Because(String),
}

/// What the worker found.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Answer {
    /// What is not a column of numbers; its form depends on the kind of job.
    pub text: String,
    /// Columns of numbers, which travel as typed arrays and arrive bit for bit.
    pub columns: Vec<Vec<f64>>,
}

/// What became of a job. A job that was replaced or cancelled is not heard of again.
#[derive(Clone, Debug, PartialEq)]
pub enum Event {
    /// The worker answered.
    Answered {
        /// The job.
        job: JobNumber,
        /// What the worker found.
        answer: Answer,
    },
    /// The worker answered in part, and goes on.
    SoFar {
        /// The job.
        job: JobNumber,
        /// What the worker found so far.
        answer: Answer,
    },
    /// There will be no answer.
    Failed {
        /// The job.
        job: JobNumber,
        /// Why, as a sentence to show.
        why: String,
    },
}

/// What the bridge has to do next.
#[derive(Clone, Debug, PartialEq)]
pub enum Step {
    /// Start a worker.
    Start,
    /// Stop the worker, whatever it is doing.
    Stop,
    /// Give the worker this job.
    Send(JobNumber, Errand),
    /// Tell the page.
    Tell(Event),
}

/// What the worker is doing.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
enum Worker {
    /// There is none.
    #[default]
    Absent,
    /// It has not said yet that it listens.
    Starting,
    /// It waits for a job.
    Idle,
    /// It works on this one.
    Busy {
        /// The job's number.
        number: JobNumber,
        /// The job.
        job: Job,
        /// Whether all of its plan went with it, if it has one.
        got_all: bool,
    },
}

/// The jobs of one worker.
#[derive(Debug, Default)]
pub struct Queue {
    worker: Worker,
    waiting: VecDeque<(JobNumber, Job)>,
    last: u64,
    /// The plan that the worker holds.
    held: Option<WrittenPlan>,
    /// Ticks since the worker was started or given its job.
    ticks: u32,
}

impl Queue {
    /// Takes a job. A waiting job of the same kind is dropped for it.
    pub fn post(&mut self, job: Job) -> (JobNumber, Vec<Step>) {
        self.last += 1;
        let number = JobNumber(self.last);
        self.waiting.retain(|(_, waiting)| waiting.kind != job.kind);
        self.waiting.push_back((number, job));
        (number, self.advance())
    }

    /// Forgets a job. If the worker is busy with it, the worker is stopped, since nothing else interrupts it.
    pub fn cancel(&mut self, number: JobNumber) -> Vec<Step> {
        self.waiting.retain(|(waiting, _)| *waiting != number);
        if !self.is_busy_with(number) {
            return Vec::new();
        }
        self.worker = Worker::Absent;
        let mut steps = vec![Step::Stop];
        steps.extend(self.advance());
        steps
    }

    /// The worker says that it listens.
    pub fn ready(&mut self) -> Vec<Step> {
        if self.worker == Worker::Starting {
            self.worker = Worker::Idle;
        }
        self.advance()
    }

    /// The worker is done with a job: an answer, or why there is none. One that does not hold the plan gets the job once
    /// more, with all of the plan.
    pub fn answered(&mut self, job: JobNumber, outcome: Result<Answer, NoAnswer>) -> Vec<Step> {
        if !self.is_busy_with(job) {
            return Vec::new();
        }
        let before = std::mem::replace(&mut self.worker, Worker::Idle);
        let event = match (outcome, before) {
            (Ok(answer), _) => Event::Answered { job, answer },
            (Err(NoAnswer::Because(why)), _) => Event::Failed { job, why },
            (Err(NoAnswer::NoPlan), Worker::Busy { number, job, got_all: false }) => {
                self.held = None;
                return vec![self.send(number, job)];
            }
            (Err(NoAnswer::NoPlan), _) => {
                self.held = None;
                Event::Failed { job, why: "The plan did not reach the calculation whole.".to_owned() }
            }
        };
        let mut steps = vec![Step::Tell(event)];
        steps.extend(self.advance());
        steps
    }

    /// The worker has a part of an answer, and is at work: its time begins anew.
    pub fn so_far(&mut self, job: JobNumber, answer: Answer) -> Vec<Step> {
        if !self.is_busy_with(job) {
            return Vec::new();
        }
        self.ticks = 0;
        vec![Step::Tell(Event::SoFar { job, answer })]
    }

    /// The worker broke down; `cause` is what the browser said of it, possibly nothing.
    ///
    /// The job in progress fails and the rest goes to a new worker. A worker that breaks down before it ever listened
    /// would do so again: then all waiting jobs fail, and the next job tries anew.
    pub fn broke(&mut self, cause: &str) -> Vec<Step> {
        let cause = if cause.is_empty() { "no cause given" } else { cause };
        let mut steps = vec![Step::Stop];
        let fail = |job, why: String| Step::Tell(Event::Failed { job, why });
        match std::mem::take(&mut self.worker) {
            Worker::Absent => return Vec::new(),
            Worker::Busy { number, .. } => {
                steps.push(fail(number, format!("The calculation broke off ({cause}) and can be tried again.")));
            }
            Worker::Idle => {}
            Worker::Starting => steps.extend(
                self.waiting
                    .drain(..)
                    .map(|(job, _)| fail(job, format!("The calculation could not be started ({cause})."))),
            ),
        }
        steps.extend(self.advance());
        steps
    }

    /// Whether somebody waits for the worker, so that its time has to be kept.
    pub fn is_waiting(&self) -> bool {
        matches!(self.worker, Worker::Starting | Worker::Busy { .. })
    }

    /// The clock ticked. A worker that has been at it for too long is given up.
    pub fn tick(&mut self) -> Vec<Step> {
        if !self.is_waiting() {
            return Vec::new();
        }
        self.ticks += 1;
        if self.ticks <= PATIENCE {
            return Vec::new();
        }
        self.broke(&format!("no answer for {} s", TICK_MS / 1000 * PATIENCE))
    }

    fn is_busy_with(&self, job: JobNumber) -> bool {
        matches!(self.worker, Worker::Busy { number, .. } if number == job)
    }

    /// Gives the worker a job, with what it is missing of the plan.
    fn send(&mut self, number: JobNumber, job: Job) -> Step {
        let plan = job.plan.as_ref().map(|plan| match &self.held {
            Some(held) => plan.after(held),
            None => plan.whole(),
        });
        let got_all = matches!(plan, None | Some(SentPlan::Whole(..)));
        if job.plan.is_some() {
            self.held.clone_from(&job.plan);
        }
        let errand = Errand { kind: job.kind.clone(), text: job.text.clone(), plan };
        self.ticks = 0;
        self.worker = Worker::Busy { number, job, got_all };
        Step::Send(number, errand)
    }

    fn advance(&mut self) -> Vec<Step> {
        if self.waiting.is_empty() {
            return Vec::new();
        }
        match self.worker {
            Worker::Absent => {
                self.worker = Worker::Starting;
                self.held = None;
                self.ticks = 0;
                vec![Step::Start]
            }
            Worker::Idle => match self.waiting.pop_front() {
                Some((number, job)) => vec![self.send(number, job)],
                None => Vec::new(),
            },
            Worker::Starting | Worker::Busy { .. } => Vec::new(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::carriage::HeldPlan;
    use crate::plan::demo;
    use crate::plan::document::Plan;

    fn job(kind: &str, text: &str) -> Job {
        Job { kind: kind.into(), text: text.into(), plan: None }
    }

    fn errand(kind: &str, text: &str) -> Errand {
        Errand { kind: kind.into(), text: text.into(), plan: None }
    }

    /// The demo plan with another seed.
    fn plan(seed: u32) -> WrittenPlan {
        WrittenPlan::of(&Plan { seed, ..demo() })
    }

    fn about(kind: &str, seed: u32) -> Job {
        Job { plan: Some(plan(seed)), ..job(kind, "") }
    }

    /// What the last of some steps sends of the plan.
    fn sent(steps: &[Step]) -> Option<SentPlan> {
        let Some(Step::Send(_, errand)) = steps.last() else { panic!("{steps:?}") };
        errand.plan.clone()
    }

    fn answer(text: &str) -> Answer {
        Answer { text: text.into(), columns: Vec::new() }
    }

    /// A queue whose worker is busy with job 1, kind "lap", text "a".
    fn busy() -> Queue {
        let mut queue = Queue::default();
        assert_eq!(queue.post(job("lap", "a")), (JobNumber(1), vec![Step::Start]));
        assert_eq!(queue.ready(), [Step::Send(JobNumber(1), errand("lap", "a"))]);
        queue
    }

    #[test]
    fn a_job_waits_until_the_worker_listens_and_is_answered_by_number() {
        let mut queue = busy();
        assert_eq!(queue.answered(JobNumber(7), Ok(answer("x"))), [], "an answer to a job that nobody sent");
        let told = Event::Answered { job: JobNumber(1), answer: answer("y") };
        assert_eq!(queue.answered(JobNumber(1), Ok(answer("y"))), [Step::Tell(told)]);
        assert_eq!(queue.answered(JobNumber(1), Ok(answer("y"))), [], "the same answer twice");
    }

    #[test]
    fn a_newer_job_replaces_a_waiting_one_of_its_kind_only() {
        let mut queue = busy();
        for (kind, text) in [("lap", "b"), ("map", "m"), ("lap", "c")] {
            assert_eq!(queue.post(job(kind, text)).1, []);
        }
        let after_first = queue.answered(JobNumber(1), Ok(Answer::default()));
        assert_eq!(after_first[1..], [Step::Send(JobNumber(3), errand("map", "m"))]);
        let after_second = queue.answered(JobNumber(3), Ok(Answer::default()));
        assert_eq!(after_second[1..], [Step::Send(JobNumber(4), errand("lap", "c"))]);
        assert_eq!(queue.answered(JobNumber(4), Ok(Answer::default())).len(), 1, "nothing is left to send");
    }

    #[test]
    fn a_part_of_an_answer_is_told_and_gives_the_worker_time() {
        let mut queue = busy();
        (0..PATIENCE).for_each(|_| assert_eq!(queue.tick(), []));
        let told = Event::SoFar { job: JobNumber(1), answer: answer("y") };
        assert_eq!(queue.so_far(JobNumber(1), answer("y")), [Step::Tell(told)]);
        assert_eq!(queue.so_far(JobNumber(2), answer("y")), []);
        (0..PATIENCE).for_each(|_| assert_eq!(queue.tick(), []));
        assert!(!queue.tick().is_empty());
    }

    #[test]
    fn a_refused_job_fails_with_the_workers_sentence() {
        let told = Event::Failed { job: JobNumber(1), why: "No gates.".into() };
        assert_eq!(busy().answered(JobNumber(1), Err(NoAnswer::Because("No gates.".into()))), [Step::Tell(told)]);
    }

    #[test]
    fn a_breakdown_fails_the_job_in_progress_and_a_new_worker_takes_the_rest() {
        let mut queue = busy();
        queue.post(job("lap", "b"));
        let steps = queue.broke("unreachable");
        assert!(matches!(&steps[..], [Step::Stop, Step::Tell(Event::Failed { job: JobNumber(1), why }), Step::Start]
            if why.contains("unreachable")));
        assert_eq!(queue.answered(JobNumber(1), Ok(Answer::default())), [], "an answer from the broken worker");
        assert_eq!(queue.ready(), [Step::Send(JobNumber(2), errand("lap", "b"))]);
    }

    #[test]
    fn a_worker_that_cannot_start_is_not_started_for_ever() {
        let mut queue = Queue::default();
        queue.post(job("lap", "a"));
        queue.post(job("map", "m"));
        let steps = queue.broke("");
        assert!(matches!(&steps[..], [Step::Stop, Step::Tell(_), Step::Tell(_)]), "{steps:?}");
        assert_eq!(queue.broke(""), [], "there is no worker to break");
        assert_eq!(queue.post(job("lap", "b")), (JobNumber(3), vec![Step::Start]));
    }

    #[test]
    fn cancelling_stops_the_worker_only_for_the_job_in_progress() {
        let mut queue = busy();
        let (waiting, _) = queue.post(job("map", "m"));
        let (kept, _) = queue.post(job("lap", "b"));
        assert_eq!(queue.cancel(waiting), []);
        assert_eq!(queue.cancel(JobNumber(1)), [Step::Stop, Step::Start]);
        assert_eq!(queue.ready(), [Step::Send(kept, errand("lap", "b"))]);
        assert_eq!(queue.cancel(kept), [Step::Stop], "without work there is no need for a worker");
    }

    #[test]
    fn a_plan_is_sent_once_and_then_what_changed_of_it() {
        let mut queue = Queue::default();
        queue.post(about("lap", 1));
        assert_eq!(sent(&queue.ready()), Some(plan(1).whole()));
        queue.post(about("instant", 1));
        let steps = queue.answered(JobNumber(1), Ok(Answer::default()));
        assert_eq!(sent(&steps), Some(plan(1).after(&plan(1))));
        queue.post(job("measure", "0"));
        assert_eq!(sent(&queue.answered(JobNumber(2), Ok(Answer::default()))), None);
        queue.post(about("lap", 2));
        let steps = queue.answered(JobNumber(3), Ok(Answer::default()));
        assert_eq!(sent(&steps), Some(plan(2).after(&plan(1))));
        // A refused job leaves the plan with the worker.
        queue.post(about("lap", 2));
        let steps = queue.answered(JobNumber(4), Err(NoAnswer::Because("No gates.".into())));
        assert_eq!(sent(&steps), Some(plan(2).after(&plan(2))));
    }

    #[test]
    fn a_new_worker_gets_the_whole_plan() {
        let first = || {
            let mut queue = Queue::default();
            queue.post(about("lap", 1));
            queue.ready();
            queue.post(about("instant", 1));
            queue
        };
        let [mut broken, mut cancelled] = [first(), first()];
        broken.broke("unreachable");
        cancelled.cancel(JobNumber(1));
        for mut queue in [broken, cancelled] {
            assert_eq!(sent(&queue.ready()), Some(plan(1).whole()));
        }
    }

    #[test]
    fn a_worker_without_the_plan_gets_all_of_it_once_and_the_job_is_not_lost() {
        let mut queue = Queue::default();
        queue.post(about("lap", 1));
        queue.ready();
        queue.post(about("instant", 2));
        queue.answered(JobNumber(1), Ok(Answer::default()));
        let steps = queue.answered(JobNumber(2), Err(NoAnswer::NoPlan));
        assert_eq!(steps.len(), 1, "nobody is told: {steps:?}");
        assert_eq!(sent(&steps), Some(plan(2).whole()));
        queue.post(about("hands", 2));
        let steps = queue.answered(JobNumber(2), Err(NoAnswer::NoPlan));
        assert!(
            matches!(&steps[0], Step::Tell(Event::Failed { job: JobNumber(2), why }) if why.ends_with("whole.")),
            "it is not asked for ever: {steps:?}"
        );
        assert_eq!(sent(&steps), Some(plan(2).whole()), "nobody knows what the worker holds");
    }

    /// Moves of a drag, cursor steps, restarts and workers that forget, in any order: each answered job was worked on with its
    /// own plan, and every job is answered, replaced or told to have failed.
    #[test]
    fn whatever_happens_each_job_is_done_with_its_own_plan() {
        let seeds = |round: usize| (round * round * 7 % 5) as u32;
        let (mut queue, mut worker) = (Queue::default(), None::<HeldPlan>);
        let (mut asked, mut answered, mut failed) = (Vec::new(), 0, 0);
        let mut steps = VecDeque::new();
        for round in 0..400 {
            let kind = ["lap", "instant", "hands"][round * 5 % 3];
            let (number, next) = queue.post(about(kind, seeds(round)));
            asked.retain(|(_, other, _)| *other != kind);
            asked.push((number, kind, seeds(round)));
            steps.extend(next);
            while let Some(step) = steps.pop_front() {
                match step {
                    Step::Start => steps.extend(queue.ready()),
                    Step::Stop => worker = None,
                    Step::Tell(Event::SoFar { .. }) => unreachable!("nobody tells parts here"),
                    Step::Tell(Event::Answered { job, .. }) => {
                        answered += 1;
                        asked.retain(|(number, ..)| *number != job);
                    }
                    Step::Tell(Event::Failed { job, .. }) => {
                        failed += 1;
                        asked.retain(|(number, ..)| *number != job);
                    }
                    Step::Send(number, errand) => {
                        if round % 7 == 3 {
                            // It lost its memory without anybody noticing.
                            worker = None;
                        }
                        if round % 11 == 5 {
                            steps.extend(queue.broke("out of memory"));
                            continue;
                        }
                        let outcome = match HeldPlan::receive(&mut worker, errand.plan.unwrap()) {
                            Ok(plan) => {
                                let seed = asked.iter().find(|(asked, ..)| *asked == number).map(|(.., seed)| *seed);
                                assert_eq!(Some(plan.seed), seed, "{number:?}");
                                Ok(Answer::default())
                            }
                            Err(_) => Err(NoAnswer::NoPlan),
                        };
                        steps.extend(queue.answered(number, outcome));
                    }
                }
            }
            assert_eq!(asked, [], "in round {round}");
        }
        assert_eq!((answered, failed), (400 - 36, 36));
    }

    #[test]
    fn a_worker_that_does_not_answer_is_given_up_in_a_sentence() {
        let mut queue = busy();
        queue.post(job("map", "m"));
        for _ in 0..PATIENCE {
            assert_eq!(queue.tick(), []);
        }
        let steps = queue.tick();
        assert!(
            matches!(&steps[..], [Step::Stop, Step::Tell(Event::Failed { job: JobNumber(1), why }), Step::Start]
            if why.contains("no answer for 120 s") && why.ends_with('.')),
            "{steps:?}"
        );
        // The new one has all of the time again, to start and for every job.
        for _ in 0..PATIENCE {
            assert_eq!(queue.tick(), []);
        }
        assert_eq!(queue.ready(), [Step::Send(JobNumber(2), errand("map", "m"))]);
        for _ in 0..PATIENCE {
            assert_eq!(queue.tick(), []);
        }
        queue.answered(JobNumber(2), Ok(Answer::default()));
        assert!(!queue.is_waiting());
        for _ in 0..2 * PATIENCE {
            assert_eq!(queue.tick(), [], "nobody waits for it");
        }
    }

    #[test]
    fn a_worker_that_never_listens_is_given_up_too() {
        let mut queue = Queue::default();
        queue.post(job("lap", "a"));
        for _ in 0..PATIENCE {
            assert_eq!(queue.tick(), []);
        }
        assert!(matches!(&queue.tick()[..], [Step::Stop, Step::Tell(Event::Failed { .. })]));
        assert!(!queue.is_waiting());
    }
}
