//! What the page asks of the worker, and how that is written on a job.
//!
//! A job's text is a few numbers: how often paths may bounce, then positions in the plan. The plan travels beside it
//! ([`crate::carriage`]). Both ends of the line use this module, so the two cannot drift apart.

use crate::carriage::WrittenPlan;
use crate::jobs::Job;
use crate::link::breakups::MOST_LAPS;
use crate::map::choice::{MapChoice, MapPart};
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
    pub fn job(self, plan: &WrittenPlan, bounces: BounceOrder) -> Job {
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
        let text = format!("{} {numbers}", bounces.most_bounces());
        Job { kind: self.kind().to_owned(), text, plan: Some(plan.clone()) }
    }

    /// Reads a job: the request, and the bounces that paths may have.
    ///
    /// # Errors
    /// A sentence when the kind is unknown or the numbers do not fit it.
    pub fn read(kind: &str, text: &str) -> Result<(Self, BounceOrder), String> {
        let numbers: Vec<usize> = text
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
        Ok((request, bounces))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::demo;

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
            let job = request.job(&WrittenPlan::of(&plan), BounceOrder::Double);
            assert_eq!(Request::read(&job.kind, &job.text), Ok((request, BounceOrder::Double)));
            assert_eq!(job.plan, Some(WrittenPlan::of(&plan)));
        }
    }

    #[test]
    fn what_makes_no_sense_is_refused_in_a_sentence() {
        for (kind, text) in [
            ("lunch", "1"),
            ("lap", ""),
            ("instant", "1 1 2"),
            ("hands", "1 x"),
            ("lap", "1 1"),
            ("lap", "3"),
            ("map", "1 0 9 0 1 0 1 0 1"),
        ] {
            let why = Request::read(kind, text).unwrap_err();
            assert!(why.ends_with('.'), "{why}");
        }
    }
}
