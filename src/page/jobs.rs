//! Jobs for the worker: which one goes next, and which one an answer belongs to.
//!
//! [`Queue`] decides and the bridge acts: the queue takes what happened and returns [`Step`]s, so all of
//! it is tested without a browser.
//!
//! The worker gets one job at a time. A job that waits is replaced by a newer one of the same kind, so that a dragged
//! gate never piles up work; the one in progress is finished and its answer told, so that the page keeps moving under
//! a long drag. Answers therefore arrive in the order of their numbers within a kind, and an answer to anything but the
//! job in progress is dropped.

use std::collections::VecDeque;

/// Counts the jobs of one queue, from 1; never used twice.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct JobNumber(pub u64);

/// Work for the worker.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Job {
    /// What to do; [`crate::worker::answer`] lists the kinds.
    pub kind: String,
    /// What to do it to, such as a plan as JSON text.
    pub text: String,
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
    Send(JobNumber, Job),
    /// Tell the page.
    Tell(Event),
}

/// What the worker is doing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Worker {
    /// There is none.
    #[default]
    Absent,
    /// It has not said yet that it listens.
    Starting,
    /// It waits for a job.
    Idle,
    /// It works on this one.
    Busy(JobNumber),
}

/// The jobs of one worker.
#[derive(Debug, Default)]
pub struct Queue {
    worker: Worker,
    waiting: VecDeque<(JobNumber, Job)>,
    last: u64,
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
        if self.worker != Worker::Busy(number) {
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

    /// The worker is done with a job: an answer, or a sentence why there is none.
    pub fn answered(&mut self, job: JobNumber, outcome: Result<Answer, String>) -> Vec<Step> {
        if self.worker != Worker::Busy(job) {
            return Vec::new();
        }
        self.worker = Worker::Idle;
        let event = match outcome {
            Ok(answer) => Event::Answered { job, answer },
            Err(why) => Event::Failed { job, why },
        };
        let mut steps = vec![Step::Tell(event)];
        steps.extend(self.advance());
        steps
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
            Worker::Busy(job) => {
                steps.push(fail(job, format!("The calculation broke off ({cause}) and can be tried again.")));
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

    fn advance(&mut self) -> Vec<Step> {
        if self.waiting.is_empty() {
            return Vec::new();
        }
        match self.worker {
            Worker::Absent => {
                self.worker = Worker::Starting;
                vec![Step::Start]
            }
            Worker::Idle => self.waiting.pop_front().map_or_else(Vec::new, |(number, job)| {
                self.worker = Worker::Busy(number);
                vec![Step::Send(number, job)]
            }),
            Worker::Starting | Worker::Busy(_) => Vec::new(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn job(kind: &str, text: &str) -> Job {
        Job { kind: kind.into(), text: text.into() }
    }

    fn answer(text: &str) -> Answer {
        Answer { text: text.into(), columns: Vec::new() }
    }

    /// A queue whose worker is busy with job 1, kind "lap", text "a".
    fn busy() -> Queue {
        let mut queue = Queue::default();
        assert_eq!(queue.post(job("lap", "a")), (JobNumber(1), vec![Step::Start]));
        assert_eq!(queue.ready(), [Step::Send(JobNumber(1), job("lap", "a"))]);
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
        assert_eq!(after_first[1..], [Step::Send(JobNumber(3), job("map", "m"))]);
        let after_second = queue.answered(JobNumber(3), Ok(Answer::default()));
        assert_eq!(after_second[1..], [Step::Send(JobNumber(4), job("lap", "c"))]);
        assert_eq!(queue.answered(JobNumber(4), Ok(Answer::default())).len(), 1, "nothing is left to send");
    }

    #[test]
    fn a_refused_job_fails_with_the_workers_sentence() {
        let told = Event::Failed { job: JobNumber(1), why: "No gates.".into() };
        assert_eq!(busy().answered(JobNumber(1), Err("No gates.".into())), [Step::Tell(told)]);
    }

    #[test]
    fn a_breakdown_fails_the_job_in_progress_and_a_new_worker_takes_the_rest() {
        let mut queue = busy();
        queue.post(job("lap", "b"));
        let steps = queue.broke("unreachable");
        assert!(matches!(&steps[..], [Step::Stop, Step::Tell(Event::Failed { job: JobNumber(1), why }), Step::Start]
            if why.contains("unreachable")));
        assert_eq!(queue.answered(JobNumber(1), Ok(Answer::default())), [], "an answer from the broken worker");
        assert_eq!(queue.ready(), [Step::Send(JobNumber(2), job("lap", "b"))]);
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
        assert_eq!(queue.ready(), [Step::Send(kept, job("lap", "b"))]);
        assert_eq!(queue.cancel(kept), [Step::Stop], "without work there is no need for a worker");
    }
}
