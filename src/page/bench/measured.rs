//! The measured table of an antenna on the bench: taken from a file, drawn, and put into words.

use web_sys::HtmlInputElement;
use yew::prelude::*;

use super::polar::{Polar, SIDE};
use super::table_words::{Outcome, facts};
use crate::drawing::ink;
use crate::elements::{button, note};
use crate::files;
use crate::format::{fixed, signed};
use crate::link::pair::Side;
use crate::plan::antenna_csv::EXAMPLE;
use crate::plan::document::{AntennaKit, MeasuredNumbers};
use crate::plan::limits;
use crate::plan::presets::{self, measured_cut};
use crate::rf::antenna::MeasuredCut;

/// Properties of [`MeasuredPanel`].
#[derive(Properties, PartialEq)]
pub struct MeasuredPanelProps {
    /// Whose antenna it is.
    pub side: Side,
    /// The antenna.
    pub antenna: AntennaKit,
    /// Called with the antenna as it should be.
    pub on_change: Callback<AntennaKit>,
}

/// File, plot and words.
#[component]
pub fn MeasuredPanel(props: &MeasuredPanelProps) -> Html {
    let MeasuredPanelProps { side, antenna, on_change } = props;
    let outcome = use_state(|| None::<Outcome>);
    let id = format!("bench-{}-csv", side.word());
    let on_file = {
        let (antenna, on_change, outcome) = (antenna.clone(), on_change.clone(), outcome.setter());
        Callback::from(move |event: Event| {
            let input: HtmlInputElement = event.target_unchecked_into();
            let file = input.files().and_then(|files| files.get(0));
            // The same file can be chosen again.
            input.set_value("");
            let Some(file) = file else { return };
            let name = file.name();
            if file.size() > limits::ANTENNA_CSV_BYTES as f64 {
                return outcome.set(Some(Outcome::too_large(&name, file.size())));
            }
            let (antenna, on_change, outcome) = (antenna.clone(), on_change.clone(), outcome.clone());
            files::read(&file, move |text| {
                let (said, rows) = Outcome::of(&name, text, antenna.kind);
                outcome.set(Some(said));
                if rows.is_some() {
                    on_change.emit(AntennaKit { table: rows, ..antenna.clone() });
                }
            });
        })
    };
    let on_example = {
        let outcome = outcome.setter();
        Callback::from(move |_: MouseEvent| {
            if let Err(why) = files::save_as("antenna-example.csv", EXAMPLE, "text/csv") {
                outcome.set(Some(Outcome::unsaved(why)));
            }
        })
    };
    let shown = antenna.table.as_ref().and_then(|rows| Some((rows, measured_cut(antenna.kind, rows).ok()?)));
    html! {
        <details class="more measured" id={id.clone()} open={antenna.table.is_some()}>
            <summary>{ "Measured table" }</summary>
            <div class="field">
                <label class="field-label" for={format!("{id}-file")}>
                    { "CSV file with the columns angle_deg, gain_dbi, axial_ratio_db" }
                </label>
                <input id={format!("{id}-file")} type="file" accept=".csv,.txt,.tsv,text/csv,text/plain" onchange={on_file} />
                { note(if presets::is_directional(antenna.kind) {
                    "Angles from its look: 0 to 180°, or both sides. It stays on this device, and goes into links and plans that you pass on."
                } else {
                    "Angles from its tip: 90° is level all round. It stays on this device, and goes into links and plans that you pass on."
                }) }
            </div>
            <div class="bench-buttons">{ button("", "Save an example", None, on_example) }</div>
            <div role="status">{ for outcome.as_ref().map(|outcome| said(&id, outcome)) }</div>
            { for shown.map(|(rows, cut)| drawn(&id, antenna, rows, &cut)) }
        </details>
    }
}

/// What came of a file.
fn said(id: &str, outcome: &Outcome) -> Html {
    let class = if outcome.is_taken { "field-note" } else { "field-wrong" };
    html! {
        <div id={format!("{id}-said")} class="measured-said">
            <p {class}>{ &outcome.said }</p>
            <ul class="bench-remarks">{ for outcome.points.iter().map(|point| html! { <li>{ point }</li> }) }</ul>
        </div>
    }
}

/// The plot with its key, the facts, and every row.
fn drawn(id: &str, antenna: &AntennaKit, rows: &[MeasuredNumbers], cut: &MeasuredCut) -> Html {
    let facts = facts(antenna, rows, cut);
    html! {
        <>
            { plot(&facts.join(". "), rows, cut) }
            { key(!Polar::new(cut).held_line(cut).is_empty()) }
            <ul id={format!("{id}-facts")} class="bench-remarks">{ for facts.iter().map(|fact| html! { <li>{ fact }</li> }) }</ul>
            <details class="more">
                <summary>{ "Every row" }</summary>
                <table class="bench-table">
                    <thead><tr><th scope="col">{ "Angle, °" }</th><th scope="col">{ "Gain, dBi" }</th><th scope="col">{ "Axial ratio, dB" }</th></tr></thead>
                    <tbody>
                        { for rows.iter().map(|[angle, gain, ratio]| html! {
                            <tr>
                                <th scope="row">{ number(*angle) }</th>
                                <td class="is-figure">{ number(*gain) }</td>
                                <td class="is-figure">{ number(*ratio) }</td>
                            </tr>
                        }) }
                    </tbody>
                </table>
            </details>
        </>
    }
}

/// A number of a table with the decimals that it has.
fn number(value: f64) -> String {
    value.to_string().replace('-', "−")
}

fn plot(words: &str, rows: &[MeasuredNumbers], cut: &MeasuredCut) -> Html {
    let plot = Polar::new(cut);
    let middle = Polar::middle();
    let mut parts = Vec::new();
    for (angle, end) in Polar::spokes() {
        parts.push(ink::line("polar-rule", middle, end));
        let class = if angle == 0.0 || angle == 180.0 { "polar-angle is-axis" } else { "polar-angle" };
        parts.push(ink::text(class, Polar::spoke_label(angle), format!("{}°", fixed(angle, 0))));
    }
    for ring in plot.rings() {
        parts.push(ink::circle("polar-rule", middle, ring.radius));
    }
    let lines = [
        ("polar-ratio", Polar::ratio_line(cut)),
        ("polar-held", plot.held_line(cut)),
        ("polar-gain", plot.gain_line(cut)),
    ];
    parts.extend(lines.map(|(class, line)| ink::path(class, line)));
    parts.extend(rows.iter().map(|row| ink::circle("polar-row", plot.row(row), 2.2)));
    // The scales lie over the curves, so that they can be read.
    for ring in plot.rings() {
        let [at_gain, at_ratio] = Polar::figures(&ring);
        parts.push(ink::text("polar-scale is-gain", at_gain, format!("{} dBi", signed(ring.gain_dbi, 0))));
        parts.push(ink::text("polar-scale is-ratio", at_ratio, format!("{} dB", fixed(ring.axial_ratio_db, 0))));
    }
    ink::sheet("polar", [SIDE, SIDE], &format!("Polar plot of gain and axial ratio. {words}"), parts)
}

/// What the lines are.
fn key(is_held: bool) -> Html {
    let mut lines = vec![
        ("polar-gain", "gain, 10 dB from ring to ring"),
        ("polar-ratio", "axial ratio, 5 dB from ring to ring; 15 dB and more on the rim"),
    ];
    if is_held {
        lines.push(("polar-held", "gain taken where nobody measured"));
    }
    html! {
        <ul class="polar-key">
            { for lines.into_iter().map(|(class, words)| html! {
                <li>
                    { ink::mark("svg", &["class", "aria-hidden", "viewBox"], vec!["polar-sample".into(), "true".into(), "0 0 36 10".into()],
                        vec![ink::path(class, "M1 5L35 5")]) }
                    <span>{ words }</span>
                </li>
            }) }
            <li>
                { ink::mark("svg", &["class", "aria-hidden", "viewBox"], vec!["polar-sample".into(), "true".into(), "0 0 36 10".into()],
                    vec![ink::circle("polar-row", [18.0, 5.0], 2.5)]) }
                <span>{ "a row as it was measured" }</span>
            </li>
        </ul>
    }
}
