//! What the page asks of the worker, and how that is written on a job.
//!
//! A job's text is a line of numbers (how often paths may bounce, then positions in the plan) followed by the plan as JSON. Both ends of the line use this
//! module, so the two cannot drift apart.

use crate::jobs::Job;
use crate::link::breakups::MOST_LAPS;
use crate::map::choice::{MapChoice, MapPart};
use crate::plan::document::Plan;
use crate::site::BounceOrder;

/// A request to the worker.
#[derive(Clone, Copy, Debug, PartialEq)]
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
    /// Laps of an entry in time.
    Breakups {
        /// Position of the entry.
        entry: usize,
        /// The first so many laps, at least.
        laps: u32,
    },
    /// A part of a map.
    Map(MapPart),
}

impl Request {
    /// The kind of job; a waiting job is replaced by a newer one of the same kind.
    pub fn kind(self) -> &'static str {
        match self {
            Self::Lap => "lap",
            Self::Instant { .. } => "instant",
            Self::Hands { .. } => "hands",
            Self::Breakups { .. } => "breakups",
            Self::Map(_) => "map",
        }
    }

    /// The job that carries this request about a plan.
    pub fn job(self, plan: &Plan, bounces: BounceOrder) -> Job {
        // A plan on the desk passed the check of edits, which lets no number through that JSON cannot write.
        self.job_about(&serde_json::to_string(plan).unwrap_or_default(), bounces)
    }

    /// The same about a plan that is written out already.
    pub fn job_about(self, plan: &str, bounces: BounceOrder) -> Job {
        let numbers = match self {
            Self::Lap => String::new(),
            Self::Instant { entry, port, sample } => format!("{entry} {port} {sample}"),
            Self::Hands { entry } => entry.to_string(),
            Self::Breakups { entry, laps } => format!("{entry} {laps}"),
            Self::Map(MapPart { entry, choice, share, shares, skip, budget }) => {
                let [quantity, hand, height] = choice.numbers();
                format!("{entry} {quantity} {hand} {height} {share} {shares} {skip} {budget}")
            }
        };
        Job { kind: self.kind().to_owned(), text: format!("{} {numbers}\n{plan}", bounces.most_bounces()) }
    }

    /// Reads a job: the request, the bounces that paths may have, and the plan's text.
    ///
    /// # Errors
    /// A sentence when the kind is unknown or the numbers do not fit it.
    pub fn read<'a>(kind: &str, text: &'a str) -> Result<(Self, BounceOrder, &'a str), String> {
        let (line, plan) = text.split_once('\n').unwrap_or(("", text));
        let numbers: Vec<usize> = line
            .split_whitespace()
            .map(|word| word.parse().map_err(|_| format!("“{word}” is not a position in a list.")))
            .collect::<Result<_, _>>()?;
        let bounces = numbers.first().and_then(|&most| BounceOrder::ALL.get(most));
        let bounces = *bounces.ok_or("A job begins with the number of bounces, 0 to 2.")?;
        let request = match (kind, &numbers[1..]) {
            ("lap", []) => Self::Lap,
            ("instant", [entry, port, sample]) => Self::Instant { entry: *entry, port: *port, sample: *sample },
            ("hands", [entry]) => Self::Hands { entry: *entry },
            ("breakups", [entry, laps]) => {
                Self::Breakups { entry: *entry, laps: (*laps).min(MOST_LAPS as usize) as u32 }
            }
            ("map", &[entry, quantity, hand, height, share, shares, skip, budget]) => {
                let choice = MapChoice::of_numbers([quantity, hand, height]);
                let choice = choice.ok_or("The worker does not know this kind of map.")?;
                Self::Map(MapPart { entry, choice, share, shares, skip, budget })
            }
            _ => return Err(format!("The worker does not know how to do “{kind}” with {} numbers.", numbers.len())),
        };
        Ok((request, bounces, plan))
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
            Request::Breakups { entry: 1, laps: 48 },
            Request::Map(MapPart {
                entry: 3,
                choice: MapChoice::usual(&plan),
                share: 1,
                shares: 4,
                skip: 90,
                budget: 400,
            }),
        ];
        for request in requests {
            let job = request.job(&plan, BounceOrder::Double);
            let (read, bounces, text) = Request::read(&job.kind, &job.text).unwrap();
            assert_eq!((read, bounces), (request, BounceOrder::Double));
            assert_eq!(load(text).unwrap(), plan);
        }
    }

    #[test]
    fn what_makes_no_sense_is_refused_in_a_sentence() {
        for (kind, text) in [
            ("lunch", "{}"),
            ("instant", "1 1 2\n{}"),
            ("hands", "1 x\n{}"),
            ("lap", "1 1\n{}"),
            ("lap", "3\n{}"),
            ("map", "1 0 9 0 1 0 1 0 1\n{}"),
        ] {
            let why = Request::read(kind, text).unwrap_err();
            assert!(why.ends_with('.'), "{why}");
        }
    }
}
