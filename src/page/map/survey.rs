//! A map on its way through the workers: who does which cells next, and what has come back.
//!
//! Each worker takes a share of the cells of every level, coarse ones first, and gets them in parts that take some tens of
//! milliseconds: a part cannot be interrupted, and whatever is asked next waits for it.

use crate::jobs::Answer;
use crate::link::lap::Goal;
use crate::link::map::{Grid, MapError, STRIDES, USUAL_CELLS};
use crate::units::Db;

use super::choice::{MapPart, Subject};

/// Most cells of one part.
const PART: usize = 1500;

/// The cells of a map, as far as they are there.
#[derive(Clone, Debug)]
pub struct Survey {
    subject: Subject,
    grid: Grid,
    goal: Goal,
    values: Vec<Option<f64>>,
    shares: Vec<Share>,
    /// How many levels of [`STRIDES`] are complete.
    levels: usize,
}

/// What one worker does.
#[derive(Clone, Debug)]
struct Share {
    done: usize,
    /// Cells of the part that it has in hand.
    asked: usize,
    /// How many cells are done when a level of [`STRIDES`] is complete.
    ends: [usize; STRIDES.len()],
}

impl Survey {
    /// A map of which nothing is there yet, for so many workers (at least one).
    ///
    /// # Errors
    /// A site that cannot be mapped.
    pub fn new(subject: Subject, workers: usize) -> Result<Self, MapError> {
        let plan = &subject.plan;
        let grid = Grid::new(plan.site.width_m, plan.site.depth_m, USUAL_CELLS)?;
        let goal = Goal { picture_share: plan.targets.picture_share, reserve: Db(plan.targets.wanted_reserve_db) };
        let workers = workers.max(1);
        let share = |share| Share {
            done: 0,
            asked: 0,
            ends: std::array::from_fn(|level| grid.share_up_to(level, share, workers)),
        };
        let shares = (0..workers).map(share).collect();
        Ok(Self { values: vec![None; grid.cells()], shares, levels: 0, subject, grid, goal })
    }

    /// What it is a map of.
    pub fn subject(&self) -> &Subject {
        &self.subject
    }

    /// Its cells.
    pub fn grid(&self) -> &Grid {
        &self.grid
    }

    /// What its numbers are measured by.
    pub fn goal(&self) -> &Goal {
        &self.goal
    }

    /// The number of every cell, as far as it is there.
    pub fn values(&self) -> &[Option<f64>] {
        &self.values
    }

    /// The part that a worker has to do next; `None` when its share is done.
    pub fn next(&mut self, worker: usize) -> Option<MapPart> {
        let shares = self.shares.len();
        let share = self.shares.get_mut(worker)?;
        let end = share.ends.into_iter().find(|&end| end > share.done)?;
        share.asked = PART.min(end - share.done);
        let Subject { entry, choice, .. } = self.subject;
        Some(MapPart { entry, choice, share: worker, shares, skip: share.done, budget: share.asked })
    }

    /// Takes what a worker has done: a column of cells and one of their numbers. Returns the stride of the finest level
    /// that is complete now, if it was not before.
    pub fn take(&mut self, worker: usize, answer: &Answer) -> Option<usize> {
        let share = self.shares.get_mut(worker)?;
        share.done += std::mem::take(&mut share.asked);
        if let [cells, values] = &answer.columns[..] {
            for (&cell, &value) in cells.iter().zip(values) {
                // Cells are counted in small whole numbers.
                if let Some(place) = self.values.get_mut(cell as usize) {
                    *place = Some(value);
                }
            }
        }
        let is_complete = |level: &usize| self.shares.iter().all(|share| share.done >= share.ends[*level]);
        let levels = (0..STRIDES.len()).take_while(is_complete).count();
        let is_new = std::mem::replace(&mut self.levels, levels) < levels;
        is_new.then(|| STRIDES[levels - 1])
    }

    /// Cells that are done, of all.
    pub fn progress(&self) -> (usize, usize) {
        (self.shares.iter().map(|share| share.done).sum(), self.grid.cells())
    }

    /// Whether every cell is done.
    pub fn is_done(&self) -> bool {
        self.levels == STRIDES.len()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::carriage::WrittenPlan;
    use crate::jobs::{Errand, Job};
    use crate::link::Evaluator;
    use crate::map::choice::MapChoice;
    use crate::plan::demo;
    use crate::requests::Request;
    use crate::site::BounceOrder;
    use crate::worker::Worker;
    use std::rc::Rc;

    #[test]
    fn workers_together_make_the_map_that_one_evaluator_makes() {
        let plan = Rc::new(demo());
        let subject =
            Subject { bounces: BounceOrder::Single, choice: MapChoice::usual(&plan), plan: plan.clone(), entry: 2 };
        let mut survey = Survey::new(subject.clone(), 3).unwrap();
        let mut workers: Vec<Worker> = (0..3).map(|_| Worker::default()).collect();
        let written = WrittenPlan::of(&plan);
        let mut strides = Vec::new();
        // The second is twice as fast as the others.
        for worker in [0, 1, 1, 2].into_iter().cycle() {
            let Some(part) = survey.next(worker) else {
                if survey.is_done() {
                    break;
                }
                continue;
            };
            assert!(part.budget <= PART);
            let Job { kind, text, .. } = Request::Map(part).job(&written, BounceOrder::Single);
            let errand = Errand { kind, text, plan: Some(written.whole()) };
            let answer = workers[worker].answer(errand, &mut |_| {}).unwrap();
            strides.extend(survey.take(worker, &answer));
        }
        assert_eq!(strides, STRIDES, "each level is told once, coarse first");
        assert_eq!(survey.progress(), (survey.grid().cells(), survey.grid().cells()));
        let mut whole =
            Evaluator::default().map(&plan, &subject.choice.request(&plan, 2, BounceOrder::Single)).unwrap();
        while whole.step(usize::MAX).is_pending() {}
        assert_eq!(survey.values(), whole.values());
        assert_eq!((survey.grid(), survey.goal()), (whole.grid(), whole.goal()));
    }

    #[test]
    fn an_answer_that_makes_no_sense_harms_nothing() {
        let plan = Rc::new(demo());
        let subject = Subject { bounces: BounceOrder::Single, choice: MapChoice::usual(&plan), plan, entry: 0 };
        let mut survey = Survey::new(subject, 0).unwrap();
        let odd = Answer { text: String::new(), columns: vec![vec![1e12, f64::NAN, -3.0], vec![1.0]] };
        assert_eq!(survey.take(7, &odd), None);
        assert_eq!(survey.take(0, &odd), None);
        assert!(survey.values().iter().all(Option::is_none) && survey.progress().0 == 0);
    }
}
