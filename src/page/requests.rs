//! What the page asks of the worker, and how that is written on a job.
//!
//! A job's text is a line of numbers (positions in the plan) followed by the plan as JSON. Both ends of the line use this
//! module, so the two cannot drift apart.

use crate::page::jobs::Job;
use crate::plan::document::Plan;

/// A request to the worker.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Request {
    /// The report on the whole plan.
    Lap,
    /// One instant explained.
    Instant {
        /// Position of the entry.
        entry: usize,
        /// Port of its receiver.
        port: usize,
        /// Sample of the lap.
        sample: usize,
    },
    /// An entry with each hand of its transmitting antenna.
    Hands {
        /// Position of the entry.
        entry: usize,
    },
    /// The report as JSON, every sample with its budget.
    Sheet,
}

impl Request {
    /// The kind of job; a waiting job is replaced by a newer one of the same kind.
    pub fn kind(self) -> &'static str {
        match self {
            Self::Lap => "lap",
            Self::Instant { .. } => "instant",
            Self::Hands { .. } => "hands",
            Self::Sheet => "sheet",
        }
    }

    /// The job that carries this request about a plan.
    pub fn job(self, plan: &Plan) -> Job {
        let numbers = match self {
            Self::Lap | Self::Sheet => String::new(),
            Self::Instant { entry, port, sample } => format!("{entry} {port} {sample}"),
            Self::Hands { entry } => entry.to_string(),
        };
        // A plan on the desk passed the check of edits, which lets no number through that JSON cannot write.
        let text = serde_json::to_string(plan).unwrap_or_default();
        Job { kind: self.kind().to_owned(), text: format!("{numbers}\n{text}") }
    }

    /// Reads a job: the request and the plan's text.
    ///
    /// # Errors
    /// A sentence when the kind is unknown or the numbers do not fit it.
    pub fn read<'a>(kind: &str, text: &'a str) -> Result<(Self, &'a str), String> {
        let (line, plan) = text.split_once('\n').unwrap_or(("", text));
        let numbers: Vec<usize> = line
            .split_whitespace()
            .map(|word| word.parse().map_err(|_| format!("“{word}” is not a position in a list.")))
            .collect::<Result<_, _>>()?;
        let request = match (kind, numbers.as_slice()) {
            ("lap", []) => Self::Lap,
            ("sheet", []) => Self::Sheet,
            ("instant", [entry, port, sample]) => Self::Instant { entry: *entry, port: *port, sample: *sample },
            ("hands", [entry]) => Self::Hands { entry: *entry },
            _ => return Err(format!("The worker does not know how to do “{kind}” with {} numbers.", numbers.len())),
        };
        Ok((request, plan))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::{demo, load};

    #[test]
    fn a_request_is_read_as_it_was_written() {
        let plan = demo();
        let requests = [
            Request::Lap,
            Request::Instant { entry: 2, port: 1, sample: 317 },
            Request::Hands { entry: 3 },
            Request::Sheet,
        ];
        for request in requests {
            let job = request.job(&plan);
            let (read, text) = Request::read(&job.kind, &job.text).unwrap();
            assert_eq!(read, request);
            assert_eq!(load(text).unwrap(), plan);
        }
    }

    #[test]
    fn what_makes_no_sense_is_refused_in_a_sentence() {
        for (kind, text) in [("lunch", "{}"), ("instant", "1 2\n{}"), ("hands", "x\n{}"), ("lap", "1\n{}")] {
            let why = Request::read(kind, text).unwrap_err();
            assert!(why.ends_with('.'), "{why}");
        }
    }
}
