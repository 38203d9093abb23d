//! What the chosen entry's verdict rests on, and what to know about the plan as a whole.

use std::rc::Rc;

use yew::prelude::*;

use super::notes;
use crate::link::report::Report;
use crate::plan::document::Plan;

/// Properties of [`VerdictNotes`].
#[derive(Properties)]
pub struct VerdictNotesProps {
    /// The plan.
    pub plan: Rc<Plan>,
    /// The last good report.
    pub report: Rc<Report>,
    /// Position of the chosen entry.
    pub entry: usize,
}

impl PartialEq for VerdictNotesProps {
    fn eq(&self, other: &Self) -> bool {
        // Comparing thousands of numbers would cost more than writing the notes.
        Rc::ptr_eq(&self.plan, &other.plan) && Rc::ptr_eq(&self.report, &other.report) && self.entry == other.entry
    }
}

/// Notices of the plan, the unknown hands, and the rest folded away.
#[component]
pub fn VerdictNotes(props: &VerdictNotesProps) -> Html {
    let VerdictNotesProps { plan, report, entry } = props;
    let judged = report.entries.iter().find(|judged| judged.index == *entry);
    html! {
        <div class="notes">
            { for notes::notices(report).into_iter().enumerate().map(|(index, notice)| html! {
                <p key={index} class={classes!("notes-line", notice.blocks.then_some("problem"))}>
                    { notes::notice(notice) }
                </p>
            }) }
            if let Some(judged) = judged {
                { hands(&notes::unknown_hands(judged, plan)) }
                <details class="more" id="verdict-notes">
                    <summary>{ format!("Assumptions behind {}’s verdict", judged.name) }</summary>
                    <ul class="notes-list">
                        { for notes::beside(judged).into_iter().map(|line| html! { <li>{ line }</li> }) }
                        { for notes::caveats(judged).into_iter().map(|line| html! { <li>{ line }</li> }) }
                    </ul>
                </details>
            }
        </div>
    }
}

fn hands(lines: &[String]) -> Html {
    if lines.is_empty() {
        return html! {};
    }
    html! {
        <div id="unknown-hands" class="notes-hands">
            <ul class="notes-list">{ for lines.iter().map(|line| html! { <li>{ line }</li> }) }</ul>
            <p class="field-note">
                { "The worst counts. To settle it, propellers off: hold an antenna of known hand to the goggles a few steps away; with the same hand the picture stands clearly better than with the other." }
            </p>
        </div>
    }
}
