//! How a plan comes to a worker: whole once, then as what changed of it, and by its name alone while it stays the same.
//!
//! A plan's name is the fingerprint of all its values. Whoever sends one knows what the worker was sent before; the worker
//! puts the text together, reads it once and holds it to its name. One that does not hold what it is supposed to says so and
//! gets the whole plan ([`crate::jobs`]).

use std::rc::Rc;

use crate::link::stage::{Key, key};
use crate::plan::document::Plan;
use crate::plan::load;

/// A plan written out for workers.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WrittenPlan {
    name: Key,
    text: Rc<str>,
}

/// What a worker is sent of a plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SentPlan {
    /// Nothing but the name: it holds the plan.
    Named(Key),
    /// All of it.
    Whole(Key, Rc<str>),
    /// What differs from the one that it holds.
    Changed {
        /// The plan's name.
        name: Key,
        /// The name of the one that it holds.
        from: Key,
        /// So many bytes at the beginning of that one's text stay.
        start: usize,
        /// So many bytes at its end stay.
        end: usize,
        /// What stands between them now.
        between: String,
    },
}

/// The plan that a worker holds.
#[derive(Clone, Debug)]
pub struct HeldPlan {
    name: Key,
    text: String,
    plan: Plan,
}

/// Why a worker has no plan to work on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoPlan {
    /// It does not hold what it is supposed to hold, and needs the whole plan.
    NotHeld,
    /// The text is no plan, for this reason.
    NotRead(String),
}

impl WrittenPlan {
    /// Writes a plan out.
    pub fn of(plan: &Plan) -> Self {
        Self { name: key(plan, &[]), text: load::compact(plan).into() }
    }

    /// The whole plan, for a worker of which nothing is known.
    pub fn whole(&self) -> SentPlan {
        SentPlan::Whole(self.name, self.text.clone())
    }

    /// As little as it takes for a worker that holds another plan, or this one.
    pub fn after(&self, held: &Self) -> SentPlan {
        if held.name == self.name {
            return SentPlan::Named(self.name);
        }
        let (old, new) = (held.text.as_bytes(), self.text.as_bytes());
        let mut start = old.iter().zip(new).take_while(|(old, new)| old == new).count();
        // A letter of several bytes that differs in its last one travels as a whole.
        while !self.text.is_char_boundary(start) {
            start -= 1;
        }
        let most = old.len().min(new.len()) - start;
        let mut end = old.iter().rev().zip(new.iter().rev()).take(most).take_while(|(old, new)| old == new).count();
        while !self.text.is_char_boundary(new.len() - end) {
            end -= 1;
        }
        let between = self.text[start..new.len() - end].to_owned();
        SentPlan::Changed { name: self.name, from: held.name, start, end, between }
    }
}

impl HeldPlan {
    /// The plan that a worker holds once it was sent this; what it held before stays if that leads to none.
    ///
    /// # Errors
    /// [`NoPlan`].
    pub fn receive(held: &mut Option<Self>, sent: SentPlan) -> Result<&Plan, NoPlan> {
        let before = held.as_ref();
        let arrived = match sent {
            SentPlan::Named(name) => {
                let is_held = before.is_some_and(|held| held.name == name);
                if is_held { None } else { return Err(NoPlan::NotHeld) }
            }
            SentPlan::Whole(name, text) => {
                let plan = load::reread(&text).map_err(|why| NoPlan::NotRead(why.to_string()))?;
                Some(Self { name, text: text.as_ref().to_owned(), plan })
            }
            SentPlan::Changed { name, from, start, end, between } => {
                let parts = before.filter(|held| held.name == from).and_then(|held| {
                    let last = held.text.len().checked_sub(end).filter(|last| start <= *last)?;
                    Some([held.text.get(..start)?, &between, held.text.get(last..)?])
                });
                let text = parts.ok_or(NoPlan::NotHeld)?.concat();
                let plan = load::reread(&text).map_err(|_| NoPlan::NotHeld)?;
                Some(Self { name, text, plan })
            }
        };
        if let Some(arrived) = arrived {
            if key(&arrived.plan, &[]) != arrived.name {
                return Err(NoPlan::NotHeld);
            }
            *held = Some(arrived);
        }
        held.as_ref().map(|held| &held.plan).ok_or(NoPlan::NotHeld)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::demo;

    fn written(change: impl FnOnce(&mut Plan)) -> (Plan, WrittenPlan) {
        let mut plan = demo();
        change(&mut plan);
        let written = WrittenPlan::of(&plan);
        (plan, written)
    }

    #[test]
    fn a_plan_travels_whole_then_by_what_changed_then_by_name() {
        let (first, sent_first) = written(|_| {});
        let (second, sent_second) = written(|plan| plan.course.gates[2].x_m += 0.25);
        let mut held = None;
        assert_eq!(HeldPlan::receive(&mut held, sent_first.whole()).unwrap(), &first);
        let change = sent_second.after(&sent_first);
        assert!(matches!(&change, SentPlan::Changed { between, .. } if between.len() < 10), "{change:?}");
        assert_eq!(HeldPlan::receive(&mut held, change).unwrap(), &second);
        let named = sent_second.after(&sent_second);
        assert_eq!(named, SentPlan::Named(sent_second.name));
        assert_eq!(HeldPlan::receive(&mut held, named).unwrap(), &second);
        assert_eq!(HeldPlan::receive(&mut held, sent_first.after(&sent_second)).unwrap(), &first);
    }

    /// What a cursor step, a share of a map and a move of a drag weigh: two names of 32 letters, two numbers, and what changed.
    #[test]
    fn what_is_known_does_not_travel() {
        let (_, first) = written(|_| {});
        let (_, moved) =
            written(|plan| (plan.course.gates[2].x_m, plan.course.gates[2].y_m) = (20.123_456_789, 11.987_654_321));
        let bytes = |sent: SentPlan| match sent {
            SentPlan::Named(name) => name.to_string().len(),
            SentPlan::Whole(name, text) => name.to_string().len() + text.len(),
            SentPlan::Changed { name, from, between, .. } => {
                name.to_string().len() + from.to_string().len() + 2 * size_of::<f64>() + between.len()
            }
        };
        let weights = [first.whole(), first.after(&first), moved.after(&first)].map(bytes);
        assert!(weights[0] > 7_000 && weights[1] == 32 && weights[2] < 130, "{weights:?}");
    }

    #[test]
    fn any_change_arrives_bit_for_bit() {
        let changes: [fn(&mut Plan); 10] = [
            |_| {},
            |plan| plan.name = "\u{e9}".into(),
            |plan| plan.name = "\u{e8}".into(),
            |plan| plan.name = "\u{128}\u{1F985}\u{1F984}\"\\".into(),
            |plan| plan.name = "\u{128}\u{1F984}\"\\".into(),
            |plan| plan.course.gates.truncate(3),
            |plan| plan.entries.clear(),
            |plan| plan.seed += 1,
            |plan| plan.course.gates[0].x_m = -0.0,
            |plan| plan.course.gates[0].x_m = 0.1 + 0.2,
        ];
        let all = changes.map(written);
        for (_, before) in &all {
            for (plan, after) in &all {
                let mut held = None;
                HeldPlan::receive(&mut held, before.whole()).unwrap();
                let arrived = HeldPlan::receive(&mut held, after.after(before)).unwrap();
                assert_eq!(WrittenPlan::of(arrived), *after);
                assert_eq!(arrived, plan);
            }
        }
    }

    #[test]
    fn a_worker_that_does_not_hold_what_it_is_supposed_to_says_so_and_keeps_what_it_has() {
        let (first, sent_first) = written(|_| {});
        let (_, sent_second) = written(|plan| plan.seed = 2);
        let (_, sent_third) = written(|plan| plan.seed = 3);
        let mut held = None;
        for sent in [sent_second.after(&sent_second), sent_second.after(&sent_first)] {
            assert_eq!(HeldPlan::receive(&mut held, sent), Err(NoPlan::NotHeld), "it holds nothing");
        }
        HeldPlan::receive(&mut held, sent_first.whole()).unwrap();
        let SentPlan::Changed { name, from, start, end, between } = sent_second.after(&sent_first) else {
            panic!("the seed changed")
        };
        let spoilt = |start: usize, end: usize, between: &str| SentPlan::Changed {
            name,
            from,
            start,
            end,
            between: between.to_owned(),
        };
        for sent in [
            sent_second.after(&sent_second),
            sent_third.after(&sent_second),
            spoilt(start, end, "7"),
            spoilt(start, end, "}"),
            spoilt(usize::MAX, end, &between),
            spoilt(start, usize::MAX, &between),
            spoilt(start, start, &between),
            SentPlan::Whole(name, sent_third.text.clone()),
        ] {
            assert_eq!(HeldPlan::receive(&mut held, sent.clone()), Err(NoPlan::NotHeld), "{sent:?}");
        }
        assert_eq!(HeldPlan::receive(&mut held, sent_first.after(&sent_first)).unwrap(), &first);
        assert!(HeldPlan::receive(&mut held, spoilt(start, end, &between)).is_ok());
        let no_plan = SentPlan::Whole(name, "{}".into());
        assert!(matches!(HeldPlan::receive(&mut held, no_plan), Err(NoPlan::NotRead(why)) if why.contains("missing")));
    }
}
