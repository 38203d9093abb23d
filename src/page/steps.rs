//! Steps of undo as text, so that a page that is loaded again still has them.
//!
//! Each step is a line: whether it lies behind or ahead, its label, and the plan on its other side as a plan link. The
//! newest come first and there is a bound, so that a full store costs the oldest steps and nothing else.

use std::rc::Rc;

use crate::plan::document::Plan;
use crate::plan::plan_link;

/// Steps that outlast a reload, behind and ahead together.
pub const KEPT: usize = 40;
/// Characters of all of them: a twentieth of what browsers commonly give a page for a tab.
pub const CHARACTERS: usize = 250_000;

/// What there was on the other side of a step, and what the step did.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// The plan.
    pub plan: Rc<Plan>,
    /// "Hand turned".
    pub label: Rc<str>,
}

/// Steps behind and ahead, each list from the nearest to the farthest.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Steps {
    /// What can be undone.
    pub past: Vec<Step>,
    /// What can be done again.
    pub future: Vec<Step>,
}

/// Packed plans that are likely to be needed again: those of the last time.
pub type Packed = Vec<(Rc<Plan>, String)>;

impl Steps {
    /// The steps as text, about the plan of this id. `packed` spares packing a plan twice.
    pub fn text(&self, id: &str, packed: &mut Packed) -> String {
        let mut lines = vec![id.to_owned()];
        let mut characters = id.len();
        let mut known: Packed = Vec::new();
        let nearest = |list: &[Step], most: usize, sign: char| -> Vec<(char, Step)> {
            list.iter().take(most).map(|step| (sign, step.clone())).collect()
        };
        let ahead = nearest(&self.future, KEPT / 4, '+');
        let behind = nearest(&self.past, KEPT - ahead.len(), '-');
        for (sign, Step { plan, label }) in ahead.into_iter().chain(behind) {
            let before = packed.iter().find(|(other, _)| Rc::ptr_eq(other, &plan)).map(|(_, link)| link.clone());
            let Some(link) = before.or_else(|| plan_link::write(&plan).ok()) else { break };
            characters += link.len() + label.len() + 3;
            if characters > CHARACTERS {
                break;
            }
            // A label has no line break, as the names in it have none.
            lines.push(format!("{sign}{link} {label}"));
            known.push((plan, link));
        }
        *packed = known;
        lines.join("\n")
    }

    /// The steps that a text holds about the plan of this id; none of another plan, and none beyond a line that cannot be read.
    pub fn read(text: &str, id: &str) -> Self {
        let mut steps = Self::default();
        let mut lines = text.lines();
        if id.is_empty() || lines.next() != Some(id) {
            return steps;
        }
        for line in lines.take(KEPT) {
            let list = match line.chars().next() {
                Some('-') => &mut steps.past,
                Some('+') => &mut steps.future,
                _ => break,
            };
            let Some((link, label)) = line[1..].split_once(' ') else { break };
            let Ok(plan) = plan_link::read(link) else { break };
            list.push(Step { plan: Rc::new(plan), label: Rc::from(label) });
        }
        steps
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::demo;

    fn step(number: usize) -> Step {
        let mut plan = demo();
        plan.name = format!("Plan {number}");
        Step { plan: Rc::new(plan), label: Rc::from(format!("Step {number}")) }
    }

    #[test]
    fn steps_come_back_for_their_own_plan_up_to_a_bound() {
        let steps = Steps { past: (0..60).map(step).collect(), future: (60..63).map(step).collect() };
        let mut packed = Vec::new();
        let text = steps.text("a1", &mut packed);
        assert!(text.len() < CHARACTERS && packed.len() == KEPT);
        assert_eq!(steps.text("a1", &mut packed), text);
        let read = Steps::read(&text, "a1");
        assert_eq!(read.future, steps.future);
        assert_eq!(read.past, steps.past[..KEPT - 3]);
        for other in ["a2", "", "a1 "] {
            assert_eq!(Steps::read(&text, other), Steps::default());
        }
        assert_eq!(Steps::read("\n-x y", ""), Steps::default());
    }

    #[test]
    fn a_damaged_text_gives_what_stands_before_the_damage() {
        let steps = Steps { past: (0..3).map(step).collect(), future: Vec::new() };
        let text = steps.text("a1", &mut Vec::new());
        let lines: Vec<&str> = text.lines().collect();
        for damaged in ["-2abc no plan", "-", "", "\u{fc}\u{fc}", "?2abc x"] {
            let text = [lines[0], lines[1], damaged, lines[3]].join("\n");
            assert_eq!(Steps::read(&text, "a1").past, steps.past[..1], "{damaged}");
        }
    }
}
