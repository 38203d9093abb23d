//! The controls of the picture under the drawing.

use web_sys::HtmlInputElement;
use yew::prelude::*;

use super::lay::Underlay;
use super::placing::{CORNER_M, LENGTH_M, OPACITY, Placing, WIDTH_M, length_m};
use crate::elements::{button, note};
use crate::fields::NumberField;
use crate::format::Measure;

/// What a control does.
#[derive(Clone, Copy)]
enum Knob {
    Mark,
    Push,
    Show,
    Remove,
    Opacity,
    Length,
    Width,
    East,
    North,
}

/// The controls. `on_line` begins drawing a line: `true` over a known distance, `false` along which the picture moves.
pub fn panel(underlay: &Underlay, on_line: Callback<bool>) -> Html {
    let on_file = {
        let underlay = underlay.clone();
        Callback::from(move |event: Event| {
            let input: HtmlInputElement = event.target_unchecked_into();
            if let Some(file) = input.files().and_then(|files| files.get(0)) {
                underlay.take(file);
            }
            // The same file can be chosen again.
            input.set_value("");
        })
    };
    let memory = underlay.memory();
    html! {
        <details class="more" id="picture">
            <summary>{ "Picture under the drawing" }</summary>
            <div class="form-fields">
                <div class="field picture-file">
                    <label class="field-label" for="picture-file">{ "PNG or JPEG of a site plan, north up" }</label>
                    <input id="picture-file" type="file" accept="image/png,image/jpeg" onchange={on_file} />
                    { note("It stays in this browser: it is no part of the plan, its file or its link.") }
                </div>
                if let Some(laid) = &memory.laid {
                    { laid_fields(underlay, laid.lies, memory.line_m.map(length_m), on_line) }
                }
                if !memory.said.is_empty() {
                    <p class="field-wrong" role="alert">{ &memory.said }</p>
                }
            </div>
        </details>
    }
}

fn laid_fields(underlay: &Underlay, lies: Placing, marked_m: Option<f64>, on_line: Callback<bool>) -> Html {
    let on = {
        let underlay = underlay.clone();
        Callback::from(move |(knob, value): (Knob, f64)| {
            let [east, north] = lies.corner_m;
            let line_m = underlay.memory().line_m;
            let placed = match knob {
                Knob::Mark | Knob::Push => return on_line.emit(matches!(knob, Knob::Mark)),
                Knob::Remove => return underlay.remove(),
                Knob::Show => Some(Placing { is_shown: !lies.is_shown, ..lies }),
                Knob::Opacity => Some(Placing { opacity: value, ..lies }),
                Knob::Length => line_m.and_then(|line_m| lies.scaled(line_m, value)),
                Knob::Width => Some(Placing { width_m: value, ..lies }),
                Knob::East => Some(Placing { corner_m: [value, north], ..lies }),
                Knob::North => Some(Placing { corner_m: [east, value], ..lies }),
            };
            placed.into_iter().for_each(|placed| underlay.place(placed));
        })
    };
    let buttons = [
        ("picture-mark", "Mark a known distance", Knob::Mark),
        ("picture-push", "Move it by a line", Knob::Push),
        ("picture-show", if lies.is_shown { "Hide" } else { "Show" }, Knob::Show),
        ("picture-remove", "Remove", Knob::Remove),
    ];
    let [east, north] = lies.corner_m;
    let length = Measure::Length;
    let numbers = [
        ("picture-length", "Length of the marked line", length, marked_m, LENGTH_M, Knob::Length),
        ("picture-opacity", "Opacity", Measure::Share, Some(lies.opacity), OPACITY, Knob::Opacity),
        ("picture-width", "Width on the site", length, Some(lies.width_m), WIDTH_M, Knob::Width),
        ("picture-east", "West edge, east of the site’s", length, Some(east), CORNER_M, Knob::East),
        ("picture-north", "South edge, north of the site’s", length, Some(north), CORNER_M, Knob::North),
    ];
    html! {
        <>
            <div class="picture-acts">
                { for buttons.map(|(id, label, knob)| button(id, label, None, on.reform(move |_| (knob, 0.0)))) }
            </div>
            // Without a marked line there is nothing to ask about its length.
            { for numbers.into_iter().filter(|number| number.3.is_some()).map(|(id, label, measure, value, range, knob)| {
                let on = on.clone();
                let on_commit = Callback::from(move |value: Option<f64>| value.into_iter().for_each(|value| on.emit((knob, value))));
                html! { <NumberField key={id} {id} {label} {measure} {value} {range} {on_commit} /> }
            }) }
        </>
    }
}
