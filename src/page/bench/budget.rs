//! The budget of the link: the staircase, each stage with its reason, formula and source, and the figures beside it.

use std::rc::Rc;

use yew::prelude::*;

use super::figures::{Figure, figures, is_always_shown, reason, step_id, step_name};
use crate::drawing::ladder_steps::{ShownStep, shown_steps};
use crate::drawing::width::use_width;
use crate::drawing::{stages, staircase};
use crate::elements::note;
use crate::format::{self, DisplayUnits, Measure, fixed, signed};
use crate::link::pair::hearing::PairReport;
use crate::link::report::{BudgetLine, Term};

/// Properties of [`Budget`].
#[derive(Properties, PartialEq)]
pub struct BudgetProps {
    /// The link heard.
    pub report: Rc<PairReport>,
}

/// The budget and the figures.
#[component]
pub fn Budget(props: &BudgetProps) -> Html {
    let units = use_context::<DisplayUnits>().unwrap_or_default();
    let sheet = use_node_ref();
    let width = use_width(&sheet);
    let report = &props.report;
    let explained = &report.explanation;
    let gains: Vec<f64> = explained.budget.iter().map(|line| line.gain_db).collect();
    let steps = shown_steps(&gains, explained.level_dbm, explained.margin_db);
    let shown =
        explained.budget.iter().zip(&steps).filter(|(line, step)| is_always_shown(line.term) || step.gain() != 0);
    let (lines, steps): (Vec<BudgetLine>, Vec<ShownStep>) = shown.map(|(line, step)| (line.clone(), *step)).unzip();
    html! {
        <div class="bench-budget ladder" ref={sheet}>
            if width > 0.0 && !steps.is_empty() {
                { staircase(&lines, &steps, width) }
            }
            <table class="ladder-table">
                <caption class="unseen">{ "Stages from the transmitter to the margin" }</caption>
                <thead>
                    <tr>
                        <th scope="col" class="is-stage">{ "Stage" }</th>
                        <th scope="col" class="is-figure">{ "Gain, dB" }</th>
                        <th scope="col" class="is-figure">{ "Level after, dBm" }</th>
                    </tr>
                </thead>
                { for lines.iter().zip(&steps).enumerate().map(|(index, (line, step))| row(index, line, *step)) }
            </table>
            <h3>{ "Fade margin" }</h3>
            { fading(report, units) }
            <h3>{ "Every other figure" }</h3>
            <dl class="bench-figures">
                { for figures(report, units).iter().map(figure) }
            </dl>
            if !report.remarks.is_empty() {
                <h3>{ "Assumptions" }</h3>
                <ul class="bench-remarks">{ for report.remarks.iter().map(|remark| html! { <li>{ remark }</li> }) }</ul>
            }
        </div>
    }
}

/// Margin, level, outage: what a person looks for first. One instant gets no verdict of a lap, so it has words of its own.
pub fn headline(report: &PairReport, units: DisplayUnits) -> Html {
    let explained = &report.explanation;
    let (class, word, meaning) = match explained.margin_db {
        margin if margin < 0.0 => ("is-short", "too weak", "below what the picture needs"),
        margin if margin < report.fading[1].here.0 => {
            ("is-thin", "close", "above it, but fading takes more than one line in a hundred")
        }
        _ => ("is-clear", "enough", "above what the picture needs, fading included (one line in a hundred)"),
    };
    html! {
        <div class="bench-headline" role="status">
            <p class={classes!("bench-margin", class)}>
                <span id="bench-margin">{ format::decibel_change(explained.margin_db) }</span>
                <span class="bench-margin-word">{ word }</span>
                <span class="bench-margin-meaning">{ format!("margin: {meaning}") }</span>
            </p>
            <dl>
                <div><dt>{ "Level" }</dt><dd id="bench-level">{ format::level(explained.level_dbm) }</dd></div>
                <div><dt>{ "Needed" }</dt><dd id="bench-threshold">{ format::level(report.threshold.0) }</dd></div>
                <div><dt>{ "Outage" }</dt><dd id="bench-outage">{ Measure::Share.text(explained.outage, units) }</dd></div>
            </dl>
        </div>
    }
}

fn row(index: usize, line: &BudgetLine, step: ShownStep) -> Html {
    let why = stages::why(line.term);
    let is_margin = line.term == Term::Threshold;
    let tenths = |tenths: i64| fixed(tenths as f64 / 10.0, 1);
    let signed_tenths = |tenths: i64| signed(tenths as f64 / 10.0, 1);
    let after = if is_margin { format!("margin {} dB", signed_tenths(step.after)) } else { tenths(step.after) };
    html! {
        <tbody id={step_id(line.term)} class={classes!((step.gain() == 0).then_some("is-nothing"), is_margin.then_some("is-margin"))}>
            <tr>
                <th scope="row" class="is-stage">
                    <span class="ladder-number" aria-hidden="true">{ index + 1 }</span>
                    { step_name(line.term) }
                </th>
                <td class="is-figure">{ signed_tenths(step.gain()) }</td>
                <td class="is-figure">{ after }</td>
            </tr>
            <tr>
                <td colspan="3" class="ladder-more">
                    <details class="ladder-why">
                        <summary>{ reason(&line.reason) }{ " " }<span class="ladder-why-word">{ "why" }</span></summary>
                        <p class="ladder-formula">{ why.formula }</p>
                        <p>{ reason(why.meaning) }</p>
                        <p class="ladder-source">{ format!("Source: {}", reason(why.source)) }</p>
                    </details>
                </td>
            </tr>
        </tbody>
    }
}

fn fading(report: &PairReport, units: DisplayUnits) -> Html {
    html! {
        <>
            <table class="bench-table" id="bench-fading">
                <caption class="unseen">{ "Fade margins by the share of lines that may be lost" }</caption>
                <thead>
                    <tr>
                        <th scope="col">{ "Lines lost" }</th>
                        <th scope="col" class="figure">{ "Fade margin here, dB" }</th>
                        <th scope="col" class="figure">{ "without a direct path (Rayleigh), dB" }</th>
                    </tr>
                </thead>
                <tbody>
                    { for report.fading.iter().map(|row| html! {
                        <tr>
                            <th scope="row">{ Measure::Share.text(row.outage, units) }</th>
                            <td class="figure">{ fixed(row.here.0, 1) }</td>
                            <td class="figure">{ fixed(row.rayleigh.0, 1) }</td>
                        </tr>
                    }) }
                </tbody>
            </table>
            { note("The margin that the mean level needs above the threshold, by the Rice distribution with this link’s K (Marcum Q₁, from memory, checked against an independent library); without a direct path every tenth costs 10 dB: −10 log₁₀(−ln(1 − p)).") }
        </>
    }
}

fn figure(figure: &Figure) -> Html {
    html! {
        <div>
            <dt>
                <details class="ladder-why">
                    <summary>{ figure.name }{ " " }<span class="ladder-why-word">{ "why" }</span></summary>
                    <p class="ladder-formula">{ figure.formula }</p>
                    <p class="ladder-source">{ format!("Source: {}", figure.source) }</p>
                </details>
            </dt>
            <dd id={figure.id}>{ &figure.value }</dd>
        </div>
    }
}
