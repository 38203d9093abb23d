//! The ladder: one instant's budget from the transmitter to the margin, drawn and in words, and the paths behind it.

use std::rc::Rc;

use yew::prelude::*;

use crate::elements::note;
use crate::format::{self, DisplayUnits, Measure, fixed, signed};
use crate::link::report::{BudgetLine, Explanation, PathView, PrunedWays, Report, Term};
use crate::state::{Action, View};

use super::ink;
use super::instant_layer::{arrival_words, hand_mark, path_name};
use super::ladder_steps::{ShownStep, shown_steps};
use super::lap_columns::{entry_report, gates_around};
use super::path_text::PathText;
use super::ruler::{Scale, ticks};
use super::stages;
use super::width::use_width;
use super::{same_explanation, same_optional_report};

/// Properties of [`Ladder`].
#[derive(Clone, Properties)]
pub struct LadderProps {
    /// The cursor's instant.
    pub explanation: Option<Rc<Explanation>>,
    /// What is known about the plan.
    pub report: Option<Rc<Report>>,
    /// What the person looks at.
    pub view: View,
    /// Called with what the person does.
    pub dispatch: Callback<Action>,
}

impl PartialEq for LadderProps {
    fn eq(&self, other: &Self) -> bool {
        same_explanation(self.explanation.as_ref(), other.explanation.as_ref())
            && same_optional_report(self.report.as_ref(), other.report.as_ref())
            && self.view == other.view
            && self.dispatch == other.dispatch
    }
}

/// The ladder of the chosen entry and port at the cursor.
#[component]
pub fn Ladder(props: &LadderProps) -> Html {
    let units = use_context::<DisplayUnits>().unwrap_or_default();
    let sheet = use_node_ref();
    let width = use_width(&sheet);
    let LadderProps { explanation, report, view, dispatch } = props;
    let entry = report.as_ref().and_then(|report| entry_report(report, view.entry));
    let explained = explanation.as_ref().filter(|explained| explained.entry == view.entry);
    let ports = entry.map_or(0, |entry| entry.ports.len());
    let place = report.as_ref().zip(explained).and_then(|(report, explained)| place(report, explained, units));
    html! {
        <div class="ladder">
            <div class="ladder-head">
                if let Some(place) = place {
                    <p class="ladder-where">{ place }</p>
                    <a id="to-bench" class="button" href={format!("#view=bench&entry={}&port={}&sample={}", view.entry, view.port, view.cursor)}>
                        { "Open on the bench" }
                    </a>
                }
                if ports > 1 {
                    <div class="ladder-ports" role="group" aria-label="Port">
                        { for (0..ports).map(|port| {
                            let dispatch = dispatch.clone();
                            let in_use = entry.and_then(|entry| entry.together.port.get(view.cursor))
                                .is_some_and(|used| usize::from(*used) == port);
                            html! {
                                <button key={port} type="button" class="button" aria-pressed={if view.port == port { "true" } else { "false" }}
                                    onclick={move |_: MouseEvent| dispatch.emit(Action::Port(port))}>
                                    { format!("Port {}{}", port + 1, if in_use { ", in use" } else { "" }) }
                                </button>
                            }
                        }) }
                    </div>
                }
            </div>
            <div class="ladder-sheet" ref={sheet}>
                if let Some(explained) = explained {
                    { whole(explained, width, units) }
                } else {
                    <p class="ladder-missing">{ "Click the lap chart to see the link budget there." }</p>
                }
            </div>
        </div>
    }
}

fn place(report: &Report, explained: &Explanation, units: DisplayUnits) -> Option<String> {
    let lap = &report.lap;
    let distance = *lap.distance_m.get(explained.sample)?;
    let (before, after) = gates_around(lap, distance)?;
    let time = format::seconds(*lap.time_s.get(explained.sample)?);
    Some(format!(
        "{}, {time} after gate 1; from gate {} to gate {}",
        format::length(distance, units),
        before + 1,
        after + 1
    ))
}

fn whole(explained: &Explanation, width: f64, units: DisplayUnits) -> Html {
    let gains: Vec<f64> = explained.budget.iter().map(|line| line.gain_db).collect();
    let steps = shown_steps(&gains, explained.level_dbm, explained.margin_db);
    html! {
        <>
            if width > 0.0 && !steps.is_empty() {
                { staircase(&explained.budget, &steps, width) }
            }
            { table(&explained.budget, &steps) }
            <dl class="ladder-foot">
                <div><dt>{ "K-factor (steady over scattered signal)" }</dt><dd>{ format::decibels(explained.k_db) }</dd></div>
                <div><dt>{ "Outage by fading" }</dt><dd>{ Measure::Share.text(explained.outage, units) }</dd></div>
                <div>
                    <dt>{ "Fades below threshold (estimate; where the direct path moves too, 1.2 to 2 times as many)" }</dt>
                    <dd>{ format::fades(explained.fades_per_s, explained.fade_length_s) }</dd>
                </div>
                if let Some((least, most)) = explained.tilt_spread_db {
                    <div>
                        <dt>{ "Match of the polarizations over all tilts" }</dt>
                        <dd>{ format!("{} to {}", signed(least, 1), format::decibel_change(most)) }</dd>
                    </div>
                }
            </dl>
            { paths(explained, units) }
        </>
    }
}

/// The budget as a staircase over the scale of levels; `width` is that of the drawing, in pixels.
pub fn staircase(budget: &[BudgetLine], steps: &[ShownStep], width: f64) -> Html {
    let (left, right, top, bottom) = (40.0, 8.0, 14.0, 190.0);
    let wide = width >= 640.0;
    let column = (width - left - right) / steps.len() as f64;
    // Levels only: the last step ends at a margin, which is no level; it is drawn from the level down to the threshold.
    let levels = steps.iter().take(steps.len() - 1).map(|step| step.after as f64 / 10.0);
    let last = steps[steps.len() - 1];
    let threshold = last.before as f64 / 10.0 - last.after as f64 / 10.0;
    let (least, most) = levels
        .chain([threshold])
        .fold((f64::MAX, f64::MIN), |(least, most), level| (least.min(level), most.max(level)));
    let scale = Scale {
        least: (least / 20.0).floor() * 20.0,
        most: (most / 20.0).ceil() * 20.0,
        at_least: bottom,
        at_most: top,
    };
    let height = bottom + if wide { 34.0 } else { 22.0 };
    let threshold_place = scale.place(threshold);
    let across = |class: &'static str, y: f64| ink::line(class, [left, y], [width - right, y]);
    let mut axis = vec![ink::text("is-title", [2.0, 9.0], "dBm")];
    for level in ticks(scale.least, scale.most, 20.0) {
        let y = scale.place(level);
        axis.push(across("", y));
        axis.push(ink::text("", [left - 6.0, y + 4.0], fixed(level, 0)));
    }
    let mut drawn = vec![ink::group("ladder-axis", axis), across("ladder-threshold", threshold_place)];
    for (index, (line, step)) in budget.iter().zip(steps).enumerate() {
        let from = left + column * index as f64;
        let place = |tenths: i64| scale.place(tenths as f64 / 10.0);
        let is_margin = line.term == Term::Threshold;
        let (before, after) = match () {
            () if index == 0 => (scale.place(0.0_f64.clamp(scale.least, scale.most)), place(step.after)),
            () if is_margin => (threshold_place, place(step.before)),
            () => (place(step.before), place(step.after)),
        };
        let class = match () {
            () if is_margin && last.after < 0 => "ladder-step is-short",
            () if is_margin => "ladder-step is-margin",
            () if step.gain() < 0 => "ladder-step is-loss",
            () => "ladder-step is-gain",
        };
        let (upper, lower) = (before.min(after), before.max(after));
        let middle = from + column / 2.0;
        let mut carry = PathText::new();
        if index + 1 < steps.len() {
            carry.polyline(&[[from + column * 0.15, after], [from + column * 1.15, after]]);
        }
        let mut parts = vec![
            ink::path("is-carry", carry.text()),
            ink::rectangle("", [from + column * 0.15, upper], [column * 0.7, (lower - upper).max(1.5)]),
            ink::text("is-number", [middle, bottom + 16.0], (index + 1).to_string()),
        ];
        if column >= 31.0 && (step.gain() != 0 || is_margin) {
            let words = match () {
                () if is_margin => signed_tenths(last.after),
                () if index == 0 => tenths(step.after),
                () => gain(*step),
            };
            let y = if upper - 5.0 > top + 4.0 { upper - 5.0 } else { lower + 13.0 };
            parts.push(ink::text("", [middle, y], words));
        }
        if wide {
            parts.push(ink::text("is-name", [middle, bottom + 29.0], stages::short_name(line.term)));
        }
        drawn.push(ink::group(class, parts));
    }
    let words = "The level after each stage; the table below says the same";
    ink::sheet("ladder-drawing", [width, height], words, drawn)
}

fn table(budget: &[BudgetLine], steps: &[ShownStep]) -> Html {
    html! {
        <table class="ladder-table">
            <caption class="unseen">{ "Stages from the transmitter to the margin" }</caption>
            <thead>
                <tr>
                    <th scope="col" class="is-stage">{ "Stage" }</th>
                    <th scope="col" class="is-figure">{ "Gain, dB" }</th>
                    <th scope="col" class="is-figure">{ "Level after, dBm" }</th>
                </tr>
            </thead>
            { for budget.iter().zip(steps).enumerate().map(|(index, (line, step))| row(index, line, *step)) }
        </table>
    }
}

fn row(index: usize, line: &BudgetLine, step: ShownStep) -> Html {
    let why = stages::why(line.term);
    let is_margin = line.term == Term::Threshold;
    let after = if is_margin { format!("margin {} dB", signed_tenths(step.after)) } else { tenths(step.after) };
    html! {
        <tbody key={index} class={classes!((step.gain() == 0).then_some("is-nothing"), is_margin.then_some("is-margin"))}>
            <tr>
                <th scope="row" class="is-stage">
                    <span class="ladder-number" aria-hidden="true">{ index + 1 }</span>
                    { line.term.name() }
                </th>
                <td class="is-figure">{ gain(step) }</td>
                <td class="is-figure">{ after }</td>
            </tr>
            <tr>
                <td colspan="3" class="ladder-more">
                    <details class="ladder-why">
                        <summary>{ line.reason.replace(" -", " −") }{ " " }<span class="ladder-why-word">{ "why" }</span></summary>
                        <p class="ladder-formula">{ why.formula }</p>
                        <p>{ why.meaning }</p>
                        <p class="ladder-source">{ format!("Source: {}", why.source) }</p>
                    </details>
                </td>
            </tr>
        </tbody>
    }
}

fn paths(explained: &Explanation, units: DisplayUnits) -> Html {
    html! {
        <details class="more ladder-paths" id="paths">
            <summary><h3>{ "Paths of the wave" }</h3></summary>
            <ol>
                { for explained.paths.iter().enumerate().map(|(index, path)| html! {
                    <li key={index}>
                        <svg class="ladder-hand" width="24" height="24" viewBox="0 0 24 24" aria-hidden="true">
                            { hand_mark(path.hand, [12.0, 12.0]) }
                        </svg>
                        <span class="ladder-path-name">{ path_name(path) }</span>
                        <span class="ladder-path-level">{ format::level(path.level_dbm) }</span>
                        <span class="ladder-path-more">{ path_words(path, units) }</span>
                    </li>
                }) }
            </ol>
            { note(pruned_words(&explained.pruned)) }
        </details>
    }
}

/// What became of the ways of bouncing that gave no path.
fn pruned_words(pruned: &PrunedWays) -> String {
    let PrunedWays { out_of_sight, behind, beside, own_walls, faint } = *pruned;
    let counts = [
        (behind, "behind a surface"),
        (beside, "beside one"),
        (out_of_sight, "out of sight"),
        (own_walls, "into their own building"),
        (faint, "too faint"),
    ];
    let mut words = String::new();
    for (count, why) in counts {
        if count > 0 {
            words += if words.is_empty() { "Ways without a path: " } else { ", " };
            words += &format!("{count} {why}");
        }
    }
    words
}

/// Length, hand, and what stands on a path, as one line.
fn path_words(path: &PathView, units: DisplayUnits) -> String {
    let mut words = vec![format!("{} long", format::length(path.length_m, units)), arrival_words(path)];
    if path.obstruction_db >= 0.05 {
        let lost = format::decibels(path.obstruction_db);
        words.push(match &path.obstructed_by {
            Some(name) => format!("{lost} lost at {name}"),
            None => format!("{lost} lost on the way"),
        });
    }
    if let Some(clearance) = path.clearance {
        words.push(if clearance < 0.0 {
            format!("blocked by {} of the first Fresnel zone’s radius", fixed(-clearance, 1))
        } else {
            format!("clear by {} of the first Fresnel zone’s radius", fixed(clearance, 1))
        });
    }
    words.join(", ")
}

fn tenths(tenths: i64) -> String {
    fixed(tenths as f64 / 10.0, 1)
}

fn signed_tenths(tenths: i64) -> String {
    signed(tenths as f64 / 10.0, 1)
}

fn gain(step: ShownStep) -> String {
    signed_tenths(step.gain())
}
