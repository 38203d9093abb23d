//! The strip: the course unrolled by distance, with a cursor to walk along it.

use std::cell::Cell;
use std::rc::Rc;

use web_sys::{Element, SvgElement};
use yew::prelude::*;

use crate::format::{self, DisplayUnits, Measure, fixed};
use crate::in_time::EntryLaps;
use crate::kept::kept;
use crate::link::report::{EntryReport, Report};
use crate::link::sheet::cause_words;
use crate::plan::document::Plan;
use crate::state::Action;
use crate::window::use_room;
use crate::wording;

use super::drawing_props::DrawingProps;
use super::flight_line::flight_line;
use super::frame_throttle::FrameThrottle;
use super::ink;
use super::lap_columns::{area, classes, curve, entry_report, gates_around, in_use, level_range, sample_at};
use super::margin_class::{MarginClass, Wanted, runs};
use super::path_text::{PathText, at};
use super::ruler::{round_step, ticks};
use super::strip_layout::{StripLayout, fitting_labels, held_within, text_width};
use super::strip_rows;
use super::width::use_width;
use super::{same_optional_report, same_report};

/// How far the page keys move the cursor along the line, in metres.
const PAGE_M: f64 = 5.0;

/// Properties of [`Strip`].
#[derive(Clone, Properties, PartialEq)]
pub struct StripProps {
    /// As for every drawing.
    pub drawing: DrawingProps,
    /// Laps in time of the chosen entry, of the plan as it is.
    pub flown: Option<EntryLaps>,
    /// Called when more laps are wanted.
    pub on_more: Callback<()>,
}

/// The strip of the chosen entry.
#[component]
pub fn Strip(props: &StripProps) -> Html {
    let units = use_context::<DisplayUnits>().unwrap_or_default();
    let sheet = use_node_ref();
    let width = use_width(&sheet);
    let levels = use_room().levels_height();
    let StripProps { drawing, flown, on_more } = props;
    let DrawingProps { plan, report, ghost, view, dispatch, .. } = drawing;
    let spread = use_state(|| false);
    let onchange = {
        let spread = spread.clone();
        Callback::from(move |_: yew::Event| spread.set(!*spread))
    };
    let judged = report.as_ref().and_then(|report| Some((report, entry_report(report, view.entry)?)));
    let drawn = judged.filter(|_| width > 0.0).map(|(report, entry)| {
        let ghost = ghost.as_ref().filter(|ghost| entry_report(ghost, view.entry).is_some());
        let layout =
            layout([width, levels], report, entry, ghost.and_then(|ghost| entry_report(ghost, view.entry)), *spread);
        let lap = &report.lap;
        let sample = view.cursor.min(lap.distance_m.len().saturating_sub(1));
        html! {
            <>
                <svg class="strip-drawing" role="group" aria-label={format!("Levels of {} along the lap", entry.name)}
                    viewBox={format!("0 0 {} {}", at(layout.width), at(layout.height))}
                    width={at(layout.width)} height={at(layout.height)}>
                    { kept::<Curves>(StripCurvesProps {
                        plan: plan.clone(),
                        report: report.clone(),
                        ghost: ghost.cloned(),
                        flown: flown.clone(),
                        entry: view.entry,
                        layout,
                        units,
                    }) }
                    { kept::<Cursor>(CursorProps {
                        report: report.clone(),
                        entry: view.entry,
                        sample,
                        layout,
                        spoken: spoken(plan, report, entry, sample, units).into(),
                        dispatch: dispatch.clone(),
                    }) }
                </svg>
                <p class="strip-reading">{ reading(plan, report, entry, sample, &layout, units) }</p>
                <label class="strip-choice">
                    <input id="show-spread" type="checkbox" checked={*spread} {onchange} />
                    { "Spread of delays" }
                </label>
                { strip_rows::said(flown.as_ref(), units, on_more) }
            </>
        }
    });
    let missing = match report {
        None => "The lap is being computed.",
        Some(_) => "This entry cannot be judged yet; the notes on the plan say why.",
    };
    html! {
        <div class="strip">
            <div class="strip-sheet" ref={sheet}>
                if let Some(drawn) = drawn {
                    { drawn }
                } else {
                    <p class="strip-missing">{ missing }</p>
                }
            </div>
        </div>
    }
}

fn layout(
    [width, levels]: [f64; 2],
    report: &Report,
    entry: &EntryReport,
    ghost: Option<&EntryReport>,
    with_spread: bool,
) -> StripLayout {
    let columns = entry.ports.iter().chain(ghost.iter().flat_map(|ghost| &ghost.ports));
    let columns = columns.map(|port| port.level_dbm.as_slice());
    let range = level_range(entry.threshold_dbm, entry.good_threshold_dbm, columns);
    let widest = || in_use(entry, |port| &port.delay_spread_ns).into_iter().fold(0.0, f64::max);
    StripLayout::new(width, levels, report.lap.length_m, range, with_spread.then(widest))
}

/// What stands at the cursor, in numbers.
fn reading(
    plan: &Plan,
    report: &Report,
    entry: &EntryReport,
    sample: usize,
    layout: &StripLayout,
    units: DisplayUnits,
) -> Html {
    let lap = &report.lap;
    let value = |column: &[f64]| column.get(sample).copied().unwrap_or(0.0);
    let margin = value(&in_use(entry, |port| &port.margin_db));
    let outage = value(&entry.together.outage);
    // What falls short is said beside the number that does.
    let wanted = Wanted::of(&plan.targets);
    let margin_short = if margin < wanted.reserve_db {
        format!(", wanted {}", format::decibels(wanted.reserve_db))
    } else {
        String::new()
    };
    let outage_short = if outage > wanted.outage {
        format!(", at most {} wanted", Measure::Share.text(wanted.outage, units))
    } else {
        String::new()
    };
    let pair = |name: &'static str, text: String| {
        html! { <span class="strip-figure"><span class="strip-figure-name">{ name }</span>{ text }</span> }
    };
    html! {
        <>
            { pair("at", format!("{}, {}", format::length(value(&lap.distance_m), units), format::seconds(value(&lap.time_s)))) }
            { pair("", between(plan, report, sample)) }
            { pair("level", format::level(value(&in_use(entry, |port| &port.level_dbm)))) }
            { pair("margin", format!("{}{margin_short}", format::decibel_change(margin))) }
            if layout.spread.is_some() {
                { pair("delays spread by", format!("{} ns", fixed(value(&in_use(entry, |port| &port.delay_spread_ns)), 1))) }
            }
            { pair("outage", format!("{}{outage_short}", Measure::Share.text(outage, units))) }
            if entry.ports.len() > 1 {
                { pair("port in use", (entry.together.port.get(sample).map_or(0, |port| usize::from(*port)) + 1).to_string()) }
            }
        </>
    }
}

fn spoken(plan: &Plan, report: &Report, entry: &EntryReport, sample: usize, units: DisplayUnits) -> String {
    let distance = report.lap.distance_m.get(sample).copied().unwrap_or(0.0);
    let margin = in_use(entry, |port| &port.margin_db).get(sample).copied().unwrap_or(0.0);
    format!(
        "{} {}, {}, margin {} decibels, outage {} percent",
        fixed(Measure::Length.shown(distance, units), 1),
        Measure::Length.spoken_unit(units),
        between(plan, report, sample),
        fixed(margin, 1),
        fixed(entry.together.outage.get(sample).copied().unwrap_or(0.0) * 100.0, 1),
    )
}

fn between(plan: &Plan, report: &Report, sample: usize) -> String {
    let distance = report.lap.distance_m.get(sample).copied().unwrap_or(0.0);
    match gates_around(&report.lap, distance) {
        Some((before, after)) if before == after => format!("near {}", wording::gate(&plan.course.gates, before)),
        Some((before, after)) => format!(
            "between {} and {}",
            wording::gate(&plan.course.gates, before),
            wording::gate(&plan.course.gates, after)
        ),
        None => String::new(),
    }
}

#[derive(Clone, Properties)]
struct StripCurvesProps {
    plan: Rc<Plan>,
    report: Rc<Report>,
    ghost: Option<Rc<Report>>,
    flown: Option<EntryLaps>,
    entry: usize,
    layout: StripLayout,
    units: DisplayUnits,
}

impl PartialEq for StripCurvesProps {
    /// Moving the cursor changes none of these, so the curves are not drawn again.
    fn eq(&self, other: &Self) -> bool {
        same_report(&self.report, &other.report)
            && same_optional_report(self.ghost.as_ref(), other.ghost.as_ref())
            && self.flown == other.flown
            && self.entry == other.entry
            && (self.layout, self.units) == (other.layout, other.units)
            && self.plan.course.gates == other.plan.course.gates
            && self.plan.targets == other.plan.targets
    }
}

/// Everything on the strip but the cursor.
#[component]
fn Curves(props: &StripCurvesProps) -> Html {
    let StripCurvesProps { plan, report, ghost, flown, entry, layout, units } = props;
    let Some(judged) = entry_report(report, *entry) else { return html! {} };
    let ghost = ghost.as_ref().and_then(|ghost| Some((ghost, entry_report(ghost, *entry)?)));
    let ghost = ghost.map(|(ghost, old)| {
        curve(&ghost.lap.distance_m, &in_use(old, |port| &port.level_dbm), layout.along, layout.level)
    });
    ink::unspoken(
        "",
        vec![
            axes(layout, *units),
            outage(layout, report, judged),
            class_band(layout, report, &classes(judged, Wanted::of(&plan.targets))),
            strip_rows::breakups(layout, flown.as_ref()),
            strip_rows::delay_spread(layout, report, judged),
            levels(layout, report, judged),
            ink::path("strip-ghost", ghost.unwrap_or_default()),
            ink::group("", thresholds(layout, judged).into()),
            gate_ticks(layout, plan, report),
            worst(layout, plan, judged),
        ],
    )
}

fn axes(layout: &StripLayout, units: DisplayUnits) -> Html {
    let (left, right) = (layout.along.at_least, layout.along.at_most);
    let (top, bottom) = (layout.level.at_most, layout.level.at_least);
    let per_unit = Measure::Length.kept(1.0, units);
    let length = layout.along.most / per_unit;
    let step = round_step(length / ((right - left) / 70.0).max(1.0));
    let levels = ticks(layout.level.least, layout.level.most, 10.0);
    let across = |class: &'static str, y: f64| ink::line(class, [left, y], [right, y]);
    let title = |words: &'static str, y: f64| ink::text("is-title", [2.0, y], words);
    let mut drawn = vec![
        title("dBm", top - 6.0),
        ink::line("", [left, top], [left, bottom]),
        across("", bottom),
        title("outage", layout.outage.at_most + 8.0),
        ink::text("is-level", [left - 6.0, layout.outage.at_least], "0"),
        across("", layout.outage.at_least),
        title(Measure::Length.unit(units), layout.distance_row),
    ];
    for level in levels {
        let y = layout.level.place(level);
        drawn.push(across("is-grid", y));
        drawn.push(ink::text("is-level", [left - 6.0, y + 4.0], fixed(level, 0)));
    }
    for distance in ticks(0.0, length, step) {
        let x = layout.along.place(distance * per_unit);
        drawn.push(ink::text("is-distance", [x, layout.distance_row], fixed(distance, 0)));
    }
    ink::group("strip-axes", drawn)
}

fn outage(layout: &StripLayout, report: &Report, entry: &EntryReport) -> Html {
    let zeros = vec![0.0; entry.together.outage.len()];
    let filled = area(&report.lap.distance_m, &zeros, &entry.together.outage, layout.along, layout.outage);
    let line = curve(&report.lap.distance_m, &entry.together.outage, layout.along, layout.outage);
    ink::group("strip-outage", vec![ink::path("is-filled", filled), ink::path("is-line", line)])
}

fn class_band(layout: &StripLayout, report: &Report, classes: &[MarginClass]) -> Html {
    let distances = &report.lap.distance_m;
    // A sample stands for the line halfway to its neighbours.
    let edge =
        |index: usize| match index.checked_sub(1).and_then(|before| distances.get(before)).zip(distances.get(index)) {
            Some((before, after)) => layout.along.place((before + after) / 2.0),
            None if index == 0 => layout.along.at_least,
            None => layout.along.at_most,
        };
    let (top, height) = (layout.band_top, layout.band_height);
    let middle = top + height / 2.0;
    let runs = runs(classes).into_iter().map(|run| {
        let (from, to) = (edge(run.start), edge(run.end));
        let mut bars = PathText::new();
        if run.class == MarginClass::Below {
            for x in ticks(from + 2.0, to - 1.0, 5.0) {
                bars.polyline(&[[x, top], [x, top + height]]);
            }
        }
        let line = PathText::new().polyline(&[[from, middle], [to, middle]]).text();
        flight_line(run.class, line, bars.text())
    });
    ink::group("strip-band", runs.collect())
}

fn levels(layout: &StripLayout, report: &Report, entry: &EntryReport) -> Html {
    let distances = &report.lap.distance_m;
    let used = in_use(entry, |port| &port.level_dbm);
    let band = |sign: f64| -> Vec<f64> {
        used.iter().zip(&entry.together.sigma_db).map(|(level, sigma)| level + sign * sigma).collect()
    };
    let line =
        |class: &'static str, column: &[f64]| ink::path(class, curve(distances, column, layout.along, layout.level));
    let mut drawn =
        vec![ink::path("strip-sigma", area(distances, &band(-1.0), &band(1.0), layout.along, layout.level))];
    for (index, port) in entry.ports.iter().enumerate() {
        let used = port.level_dbm.iter().zip(&entry.together.port);
        let mine: Vec<f64> =
            used.map(|(level, used)| if usize::from(*used) == index { *level } else { f64::NAN }).collect();
        let class = format!("strip-port is-port-{}", index % 4);
        drawn.push(ink::group(class, vec![line("is-all", &port.level_dbm), line("is-used", &mine)]));
    }
    ink::group("strip-levels", drawn)
}

fn thresholds(layout: &StripLayout, entry: &EntryReport) -> [Html; 2] {
    let (left, right) = (layout.along.at_least, layout.along.at_most);
    let line = |class: &'static str, level: f64, words: &str, beside: f64| {
        let y = layout.level.place_within(level);
        let text = format!("{words} {}", format::level(level));
        ink::group(class, vec![ink::line("", [left, y], [right, y]), ink::text("", [right - 4.0, y + beside], text)])
    };
    [
        line("strip-threshold is-good", entry.good_threshold_dbm, "good picture", -4.0),
        line("strip-threshold is-usable", entry.threshold_dbm, "threshold", 13.0),
    ]
}

fn gate_ticks(layout: &StripLayout, plan: &Plan, report: &Report) -> Html {
    let gates = &report.lap.gate_distance_m;
    // The lap ends at the gate where it began.
    let mut places: Vec<f64> = gates.iter().map(|distance| layout.along.place(*distance)).collect();
    let mut short: Vec<String> = (1..=gates.len()).map(|number| number.to_string()).collect();
    let mut long: Vec<String> = (0..gates.len())
        .map(|index| match plan.course.gates.get(index) {
            Some(gate) if !gate.name.trim().is_empty() => gate.name.clone(),
            _ => (index + 1).to_string(),
        })
        .collect();
    if let (Some(first), Some(name)) = (short.first().cloned(), long.first().cloned()) {
        places.push(layout.along.at_most);
        short.push(first);
        long.push(name);
    }
    let shown = fitting_labels(&places, &long, &short);
    let mut drawn = Vec::new();
    for (&x, label) in places.iter().zip(shown) {
        drawn.push(ink::line("", [x, layout.outage.at_most], [x, layout.level.at_least + 4.0]));
        if let Some(label) = label {
            let x = held_within(x, text_width(&label), 0.0, layout.width);
            drawn.push(ink::text("", [x, layout.gate_row], label));
        }
    }
    ink::group("strip-gates", drawn)
}

fn worst(layout: &StripLayout, plan: &Plan, entry: &EntryReport) -> Html {
    let length = layout.along.most;
    let start = entry.worst.start_m.clamp(0.0, length);
    let end = start + entry.worst.length_m.clamp(0.0, length);
    let y = layout.worst_row;
    let mut bracket = PathText::new();
    // A stretch that runs over the end of the lap goes on at its start.
    let pieces = if end > length { vec![(start, length), (0.0, end - length)] } else { vec![(start, end)] };
    for (from, to) in &pieces {
        let (from, to) = (layout.along.place(*from), layout.along.place(*to).max(layout.along.place(*from) + 3.0));
        bracket.polyline(&[[from, y - 5.0], [from, y], [to, y], [to, y - 5.0]]);
    }
    let longest = pieces
        .iter()
        .copied()
        .fold((0.0, 0.0), |best, piece| if piece.1 - piece.0 > best.1 - best.0 { piece } else { best });
    let middle = layout.along.place((longest.0 + longest.1) / 2.0);
    let cause = cause_words(&entry.cause, plan);
    let full = format!("weakest: {}", wording::cause_with_gain(entry, plan));
    let text = if text_width(&full) < layout.width - 20.0 { full } else { format!("weakest: {cause}") };
    let x = held_within(middle, text_width(&text), 4.0, layout.width - 4.0);
    ink::group("strip-worst", vec![ink::path("", bracket.text()), ink::text("", [x, y + 14.0], text)])
}

#[derive(Clone, Properties)]
struct CursorProps {
    report: Rc<Report>,
    entry: usize,
    sample: usize,
    layout: StripLayout,
    spoken: AttrValue,
    dispatch: Callback<Action>,
}

impl PartialEq for CursorProps {
    fn eq(&self, other: &Self) -> bool {
        same_report(&self.report, &other.report)
            && (self.entry, self.sample, self.layout) == (other.entry, other.sample, other.layout)
            && self.spoken == other.spoken
            && self.dispatch == other.dispatch
    }
}

/// The cursor: a slider over the lap. The whole plot can be tapped or drawn along.
#[component]
fn Cursor(props: &CursorProps) -> Html {
    let CursorProps { report, entry, sample, layout, spoken, dispatch } = props;
    let slider = use_node_ref();
    let plot = use_node_ref();
    let held = use_mut_ref(|| None::<i32>);
    let wanted = use_mut_ref(|| Rc::new(Cell::new(0usize)));
    let throttle = use_mut_ref(FrameThrottle::default);
    let lap = &report.lap;
    let count = lap.distance_m.len();
    if count == 0 {
        return html! {};
    }
    let distance = lap.distance_m[*sample];
    let x = layout.along.place(distance);
    let level = entry_report(report, *entry)
        .and_then(|judged| in_use(judged, |port| &port.level_dbm).get(*sample).copied())
        .unwrap_or(layout.level.least);
    let y = layout.level.place_within(level);

    let go = {
        let (report, layout, dispatch, plot) = (report.clone(), *layout, dispatch.clone(), plot.clone());
        let (wanted, throttle) = (wanted.borrow().clone(), throttle.borrow().clone());
        move |event: &PointerEvent| {
            let Some(plot) = plot.cast::<Element>() else { return };
            let shown = plot.get_bounding_client_rect();
            if shown.width() > 0.0 {
                let share = (f64::from(event.client_x()) - shown.left()) / shown.width();
                // The end of the lap is its beginning; pointing at the end means the last sample.
                let most = report.lap.distance_m[report.lap.distance_m.len() - 1];
                wanted.set(sample_at(&report.lap, (share * layout.along.most).clamp(0.0, most)));
                let (wanted, dispatch) = (wanted.clone(), dispatch.clone());
                throttle.before_next_frame(move || dispatch.emit(Action::Cursor(wanted.get())));
            }
        }
    };
    let onpointerdown = {
        let (go, held, slider, plot) = (go.clone(), held.clone(), slider.clone(), plot.clone());
        Callback::from(move |event: PointerEvent| {
            if event.button() != 0 {
                return;
            }
            if let Some(plot) = plot.cast::<Element>() {
                // Without capture the drag ends at the plot's edge.
                let _ = plot.set_pointer_capture(event.pointer_id());
            }
            if let Some(slider) = slider.cast::<SvgElement>() {
                let _ = slider.focus();
            }
            // Otherwise the browser moves the focus away from the slider again.
            event.prevent_default();
            *held.borrow_mut() = Some(event.pointer_id());
            go(&event);
        })
    };
    let onpointermove = {
        let held = held.clone();
        Callback::from(move |event: PointerEvent| {
            if *held.borrow() == Some(event.pointer_id()) {
                go(&event);
            }
        })
    };
    let onpointerup = Callback::from(move |_: PointerEvent| *held.borrow_mut() = None);
    let onkeydown = {
        let (report, dispatch, sample) = (report.clone(), dispatch.clone(), *sample);
        Callback::from(move |event: KeyboardEvent| {
            let lap = &report.lap;
            let last = lap.distance_m.len() - 1;
            let page =
                |way: f64| sample_at(lap, (lap.distance_m[sample] + way * PAGE_M).clamp(0.0, lap.distance_m[last]));
            let next = match event.key().as_str() {
                "ArrowRight" | "ArrowUp" => (sample + 1).min(last),
                "ArrowLeft" | "ArrowDown" => sample.saturating_sub(1),
                "PageUp" => page(1.0),
                "PageDown" => page(-1.0),
                "Home" => 0,
                "End" => last,
                _ => return,
            };
            event.prevent_default();
            dispatch.emit(Action::Cursor(next));
        })
    };
    let (left, right) = (layout.along.at_least, layout.along.at_most);
    html! {
        <>
            <rect class="strip-plot" ref={plot} x={at(left)} y={at(layout.outage.at_most)} width={at(right - left)}
                height={at(layout.level.at_least - layout.outage.at_most)} {onpointerdown} {onpointermove}
                onpointerup={onpointerup.clone()} onpointercancel={onpointerup} />
            <g class="strip-cursor" ref={slider} role="slider" tabindex="0" aria-label="Place on the lap"
                aria-valuemin="0" aria-valuemax={fixed(lap.length_m, 1)} aria-valuenow={format!("{distance:.1}")}
                aria-valuetext={spoken.clone()} {onkeydown}>
                { ink::line("", [x, layout.outage.at_most - 6.0], [x, layout.level.at_least]) }
                { ink::path("is-knob", PathText::new().polygon(&[[x - 7.0, layout.outage.at_most - 16.0],
                    [x + 7.0, layout.outage.at_most - 16.0], [x, layout.outage.at_most - 5.0]]).text()) }
                { ink::circle("is-level", [x, y], 4.5) }
            </g>
        </>
    }
}
