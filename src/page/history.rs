//! What can be taken back and made again.

use std::rc::Rc;

/// Steps kept. A plan of 20 entries takes some ten kilobytes, so that a whole history stays in a few megabytes.
pub const STEPS: usize = 200;

/// What was there on the other side of a change, and what is noted of the change.
#[derive(Clone, Debug, PartialEq)]
pub struct HistoryStep<T, N> {
    /// What was there.
    pub value: Rc<T>,
    /// What is noted of the change.
    pub note: N,
}

/// Changes that were made, and changes that were taken back.
#[derive(Clone, Debug, PartialEq)]
pub struct History<T, N = ()> {
    past: Vec<HistoryStep<T, N>>,
    future: Vec<HistoryStep<T, N>>,
}

impl<T, N> Default for History<T, N> {
    fn default() -> Self {
        Self { past: Vec::new(), future: Vec::new() }
    }
}

impl<T, N: Clone> History<T, N> {
    /// Changes that were made and changes that were taken back, each list from the nearest to the farthest.
    pub fn of(mut past: Vec<HistoryStep<T, N>>, mut future: Vec<HistoryStep<T, N>>) -> Self {
        past.reverse();
        future.reverse();
        Self { past, future }
    }

    /// Changes that were made, the last one first.
    pub fn past(&self) -> impl Iterator<Item = &HistoryStep<T, N>> {
        self.past.iter().rev()
    }

    /// Changes that were taken back, the last one first.
    pub fn future(&self) -> impl Iterator<Item = &HistoryStep<T, N>> {
        self.future.iter().rev()
    }

    /// Keeps what was there before a change. What was taken back before can no longer be made again.
    pub fn keep(&mut self, before: Rc<T>, note: N) {
        self.past.push(HistoryStep { value: before, note });
        if self.past.len() > STEPS {
            self.past.remove(0);
        }
        self.future.clear();
    }

    /// The change that would be taken back, if there is one.
    pub fn last(&self) -> Option<&HistoryStep<T, N>> {
        self.past.last()
    }

    /// The change that would be made again, if there is one.
    pub fn next(&self) -> Option<&HistoryStep<T, N>> {
        self.future.last()
    }

    /// Forgets the last change: it came to nothing.
    pub fn forget_last(&mut self) {
        self.past.pop();
    }

    /// Takes the last change back: what was there before it. `now` is kept to be made again.
    pub fn undo(&mut self, now: Rc<T>) -> Option<HistoryStep<T, N>> {
        let step = self.past.pop()?;
        self.future.push(HistoryStep { value: now, note: step.note.clone() });
        Some(step)
    }

    /// Makes the change again that was taken back last: what was there after it. `now` is kept to be taken back.
    pub fn redo(&mut self, now: Rc<T>) -> Option<HistoryStep<T, N>> {
        let step = self.future.pop()?;
        self.past.push(HistoryStep { value: now, note: step.note.clone() });
        Some(step)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_made_can_be_taken_back_and_made_again_up_to_an_end() {
        let mut history = History::default();
        for number in 0..STEPS + 3 {
            history.keep(Rc::new(number), format!("from {number}"));
        }
        let mut now = Rc::new(STEPS + 3);
        while let Some(step) = history.undo(now.clone()) {
            assert_eq!((*step.value + 1, step.note), (*now, format!("from {}", *now - 1)));
            now = step.value;
        }
        assert_eq!(*now, 3);
        while let Some(step) = history.redo(now.clone()) {
            assert_eq!((*step.value, step.note), (*now + 1, format!("from {now}")));
            now = step.value;
        }
        assert_eq!(*now, STEPS + 3);
        history.undo(now.clone());
        history.keep(now.clone(), "another".to_owned());
        assert_eq!(history.next(), None);
        assert_eq!(history.redo(now), None);
    }
}
