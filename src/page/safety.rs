//! Where the flown line comes too near to people and things, said beside the verdicts at once.
//!
//! The report says what and where; here each gets a letter in a triangle, the same in the list and on the drawing.

use yew::prelude::*;

use crate::drawing::marks::letter;
use crate::drawing::safety_layer::triangle;
use crate::link::finding::Danger;
use crate::link::report::Report;

/// The findings of a report, the worst first; nothing where there are none.
pub fn list(report: &Report) -> Html {
    if report.safety.is_empty() {
        return html! {};
    }
    html! {
        <section id="safety" class="safety" aria-labelledby="safety-heading">
            <h2 id="safety-heading" tabindex="-1">{ "The line comes too near" }</h2>
            <ul class="safety-list">
                { for report.safety.iter().enumerate().map(|(index, finding)| {
                    let is_grave = finding.danger >= Danger::OverPeople;
                    html! {
                        <li key={index}>
                            <svg class="safety-sample" viewBox="0 0 26 24" width="26" height="24" role="img"
                                aria-label={format!("{} on the drawing:", letter(index))}>
                                { triangle([13.0, 14.0], index) }
                            </svg>
                            if is_grave { <strong>{ &finding.sentence }</strong> } else { <span>{ &finding.sentence }</span> }
                        </li>
                    }
                }) }
            </ul>
        </section>
    }
}
