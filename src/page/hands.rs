//! Which antenna goes on the aircraft? Right hand, left hand and linear side by side, on this receiver and this course.

use std::rc::Rc;

use yew::prelude::*;

use super::format::{self, DisplayUnits};
use super::hand_plot;
use super::kept::kept;
use super::{verdicts, wording};
use crate::link::report::{HandComparison, Report};

/// Properties of [`Hands`].
#[derive(Properties, PartialEq)]
pub struct HandsProps {
    /// Name of the chosen entry.
    pub name: AttrValue,
    /// The comparison of the chosen entry, if there is one.
    pub comparison: Option<Rc<HandComparison>>,
    /// Whether the plan changed since.
    pub is_old: bool,
    /// Whether one is being made.
    pub is_waiting: bool,
    /// The last good report: the lap along which the plot runs.
    pub report: Option<Rc<Report>>,
    /// Asks for a comparison.
    pub on_compare: Callback<()>,
}

/// The three-way comparison, on request.
#[component]
pub fn Hands(props: &HandsProps) -> Html {
    let HandsProps { name, comparison, is_old, is_waiting, report, on_compare } = props;
    let onclick = on_compare.reform(|_: MouseEvent| ());
    html! {
        <section class="hands" aria-labelledby="hands-heading">
            <h2 id="hands-heading">{ "Which hand goes on the aircraft?" }</h2>
            <p class="field-note">
                { format!("{name} with a right-hand, a left-hand and a linear antenna, everything else as it is.") }
            </p>
            <button type="button" id="hands-compare" class="button" disabled={*is_waiting} {onclick}>
                { if *is_waiting { "Comparing…" } else { "Compare right, left and linear" } }
            </button>
            <div role="status">
                if *is_old {
                    <p class="hands-old">{ "The plan has changed since: compare again." }</p>
                }
                if let Some(comparison) = comparison {
                    { table(comparison, *is_old) }
                    if let Some(report) = report {
                        { kept::<Plot>(PlotProps { comparison: comparison.clone(), report: report.clone() }) }
                    }
                }
            </div>
        </section>
    }
}

fn table(comparison: &HandComparison, is_old: bool) -> Html {
    html! {
        <table class={classes!("hands-table", is_old.then_some("is-old"))}>
            <thead>
                <tr>
                    <th scope="col">{ "Aircraft" }</th><th scope="col">{ "Verdict" }</th>
                    <th scope="col" class="figure">{ "Fields" }</th><th scope="col" class="figure">{ "Reserve" }</th>
                </tr>
            </thead>
            <tbody>
                { for comparison.rows.iter().enumerate().map(|(index, row)| html! {
                    <tr key={index}>
                        <th scope="row">{ line_sample(index) }{ wording::hand(row.hand) }</th>
                        <td class={wording::verdict_class(row.verdict)}>
                            { verdicts::sign(row.verdict) }{ row.verdict.word() }
                        </td>
                        <td class="figure">{ format::share(row.picture_share) }</td>
                        <td class="figure">{ format::decibel_change(row.reserve_db) }</td>
                    </tr>
                }) }
            </tbody>
        </table>
    }
}

fn line_sample(index: usize) -> Html {
    html! {
        <svg class={classes!("hand-line", format!("hand-{index}"))} viewBox="0 0 28 8" width="28" height="8" aria-hidden="true">
            <line x1="1" y1="4" x2="27" y2="4" />
        </svg>
    }
}

/// Properties of [`Plot`].
#[derive(Properties, PartialEq)]
struct PlotProps {
    comparison: Rc<HandComparison>,
    report: Rc<Report>,
}

/// Share of the picture that is lost along the lap, one line per hand.
#[component]
fn Plot(props: &PlotProps) -> Html {
    let units = use_context::<DisplayUnits>().unwrap_or_default();
    let PlotProps { comparison, report } = props;
    let lap = &report.lap;
    let length = lap.length_m;
    html! {
        <figure class="hand-plot">
            <svg viewBox={hand_plot::view_box()} role="img" aria-label="Share of the picture lost along the lap, for each hand">
                { for hand_plot::RULED.map(|share| html! {
                    <>
                        <line class="plot-rule" x1={hand_plot::LEFT.to_string()} x2={hand_plot::RIGHT.to_string()}
                            y1={hand_plot::height(share)} y2={hand_plot::height(share)} />
                        <text class="plot-label" x={(hand_plot::LEFT - 4.0).to_string()} y={hand_plot::height(share)}
                            text-anchor="end" dominant-baseline="middle">{ hand_plot::ruled_label(share) }</text>
                    </>
                }) }
                { for lap.gate_distance_m.iter().enumerate().map(|(gate, distance)| html! {
                    <>
                        <line class="plot-rule" x1={hand_plot::along(*distance, length)} x2={hand_plot::along(*distance, length)}
                            y1={hand_plot::height(0.0)} y2={hand_plot::tick_end()} />
                        <text class="plot-label" x={hand_plot::along(*distance, length)} y={hand_plot::tick_label()}
                            text-anchor="middle">{ gate + 1 }</text>
                    </>
                }) }
                { for comparison.rows.iter().enumerate().filter(|(_, row)| row.outage.len() == lap.distance_m.len()).map(|(index, row)| html! {
                    <polyline key={index} class={classes!("hand-line", format!("hand-{index}"))}
                        points={hand_plot::points(&lap.distance_m, &row.outage, length)} />
                }) }
            </svg>
            <figcaption>
                { format!("Share of the picture lost along the lap of {}, log scale; numbers below are gates.", format::length(length, units)) }
            </figcaption>
        </figure>
    }
}
