//! What every drawing of the lap is given.

use std::rc::Rc;

use yew::prelude::*;

use crate::link::report::{Explanation, Report};
use crate::plan::check::PlanProblem;
use crate::plan::document::Plan;
use crate::site::BounceOrder;
use crate::state::{Action, View};

use super::{same_explanation, same_optional_report};

/// Properties of a drawing.
#[derive(Clone, Properties)]
pub struct DrawingProps {
    /// The plan.
    pub plan: Rc<Plan>,
    /// The name of the plan in this browser; empty where it is not kept.
    pub kept_as: AttrValue,
    /// What is known about it.
    pub report: Option<Rc<Report>>,
    /// What was known before the last change.
    pub ghost: Option<Rc<Report>>,
    /// The cursor's instant.
    pub explanation: Option<Rc<Explanation>>,
    /// How often paths bounce.
    pub bounces: BounceOrder,
    /// Why the last edit was turned down.
    pub rejected: Option<PlanProblem>,
    /// What the person looks at.
    pub view: View,
    /// Called with what the person does.
    pub dispatch: Callback<Action>,
}

impl PartialEq for DrawingProps {
    fn eq(&self, other: &Self) -> bool {
        Rc::ptr_eq(&self.plan, &other.plan)
            && self.kept_as == other.kept_as
            && same_optional_report(self.report.as_ref(), other.report.as_ref())
            && same_optional_report(self.ghost.as_ref(), other.ghost.as_ref())
            && same_explanation(self.explanation.as_ref(), other.explanation.as_ref())
            && self.rejected == other.rejected
            && (self.bounces, self.view) == (other.bounces, other.view)
            && self.dispatch == other.dispatch
    }
}
