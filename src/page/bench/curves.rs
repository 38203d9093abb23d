//! The curves of the link: matched, crossed and the other sort of polarization in one drawing and one table.

use std::rc::Rc;

use wasm_bindgen::JsCast;
use yew::prelude::*;

use super::curve_sheet::{CurveSheet, HEIGHT, PLACES, along_words, place_of, shown, value_text};
use crate::drawing::path_text::at;
use crate::drawing::width::use_width;
use crate::elements::note;
use crate::fields::FewField;
use crate::format::{self, DisplayUnits, Measure, fixed, signed};
use crate::link::pair::PairLink;
use crate::link::pair::sweep::{Along, Sweep, SweptAntenna, sweep};
use crate::plan::presets::has_hand;

/// Every so many places of a sweep make a row of the table.
const EVERY: usize = 10;

/// Properties of [`Curves`].
#[derive(Properties, PartialEq)]
pub struct CurvesProps {
    /// The link.
    pub link: Rc<PairLink>,
    /// What the curves go along.
    pub along: Along,
    /// Called with what they should go along.
    pub on_along: Callback<Along>,
}

/// The curves, with a cursor that pointer and keys move.
#[component]
pub fn Curves(props: &CurvesProps) -> Html {
    let units = use_context::<DisplayUnits>().unwrap_or_default();
    let sheet_node = use_node_ref();
    let width = use_width(&sheet_node);
    let CurvesProps { link, along, on_along } = props;
    let swept = use_memo((link.clone(), *along), |(link, along)| sweep(link, *along, PLACES).ok());
    // The cursor belongs to one link and one way along it; a new one begins at the link's own place.
    let cursor = use_state(|| None::<(Along, usize)>);
    let choose = {
        let on_along = on_along.clone();
        Callback::from(move |index: usize| {
            if let Some(along) = Along::ALL.get(index) {
                on_along.emit(*along);
            }
        })
    };
    let own = along.number().get(link);
    let missing = own.is_none();
    let drawn = swept.as_ref().as_ref().filter(|_| !missing).map(|swept| {
        let own_place = place_of(swept, own.unwrap_or_default());
        let place = cursor.filter(|(of, _)| of == along).map_or(own_place, |(_, place)| place.min(PLACES - 1));
        let set = {
            let (cursor, along) = (cursor.setter(), *along);
            Callback::from(move |place: usize| cursor.set(Some((along, place))))
        };
        html! {
            <>
                { drawing(swept, width, place, own.unwrap_or_default(), units, &set) }
                { reading(swept, link, place, units, &set) }
                { table(swept, link, units) }
            </>
        }
    });
    html! {
        <div class="bench-curves" ref={sheet_node}>
            <FewField name="bench-along" legend="Margin along"
                options={Along::ALL.map(|along| AttrValue::from(along_words(along))).to_vec()}
                chosen={Along::ALL.iter().position(|one| one == along)} on_choose={choose} />
            { drawn.unwrap_or_else(|| note(if missing {
                "Put an obstacle in the way first."
            } else {
                "The curves follow when the link can be computed."
            })) }
        </div>
    }
}

/// What a curve shows, in words.
fn case_words(case: SweptAntenna, link: &PairLink) -> &'static str {
    match (case, has_hand(link.receiver.antenna.kind)) {
        (SweptAntenna::Matched, true) => "same hand",
        (SweptAntenna::Crossed, true) => "opposite hand",
        (SweptAntenna::OtherSort, true) => "linear transmitter",
        (SweptAntenna::Matched, false) => "linear, parallel",
        (SweptAntenna::Crossed, false) => "linear, turned by 90°",
        (SweptAntenna::OtherSort, false) => "circular transmitter",
    }
}

/// Class of a curve: it decides accent and line pattern.
const CLASSES: [&str; 3] = ["is-matched", "is-crossed", "is-other"];

fn drawing(swept: &Sweep, width: f64, place: usize, own: f64, units: DisplayUnits, set: &Callback<usize>) -> Html {
    if width <= 0.0 {
        return html! {};
    }
    let sheet = CurveSheet::new(swept, width);
    let ((left, right), (top, bottom)) = (sheet.sides(), sheet.ends());
    let cursor_x = sheet.x(swept.at[place]);
    let on_pointer = {
        let (sheet, set) = (sheet.clone(), set.clone());
        let at: Vec<f64> = swept.at.clone();
        Callback::from(move |event: PointerEvent| {
            let drawn = event.current_target().and_then(|target| target.dyn_into::<web_sys::Element>().ok());
            let Some(drawn) = drawn else { return };
            let x = f64::from(event.client_x()) - drawn.get_bounding_client_rect().left();
            let off = |place: &usize| (sheet.x(at[*place]) - x).abs();
            if let Some(place) = (0..at.len()).min_by(|a, b| off(a).total_cmp(&off(b))) {
                set.emit(place);
            }
        })
    };
    let label = format!("Margin along the {}; the table below says the same", along_words(swept.along));
    html! {
        <svg class="bench-plot" role="img" aria-label={label} viewBox={format!("0 0 {} {}", at(width), at(HEIGHT))}
            width={at(width)} height={at(HEIGHT)} onpointermove={on_pointer.clone()} onpointerdown={on_pointer}>
            <g class="bench-axis">
                { for sheet.margins().iter().map(|margin| {
                    let y = sheet.y(*margin);
                    html! {
                        <>
                            <line x1={at(left)} x2={at(right)} y1={at(y)} y2={at(y)} class={(*margin == 0.0).then_some("is-threshold")} />
                            <text class="is-side" x={at(left - 6.0)} y={at(y + 4.0)}>{ signed(*margin, 0) }</text>
                        </>
                    }
                }) }
                { for sheet.values().iter().map(|value| {
                    let x = sheet.x(*value);
                    html! {
                        <>
                            <line x1={at(x)} x2={at(x)} y1={at(bottom)} y2={at(bottom + 4.0)} />
                            <text x={at(x)} y={at(bottom + 17.0)}>{ tick_text(swept.along, *value, units) }</text>
                        </>
                    }
                }) }
                <text class="is-title" x="2" y="10">{ "margin, dB" }</text>
                <text class="is-unit" x={at(right)} y={at(bottom + 31.0)}>
                    { format!("{}, {}", along_words(swept.along), shown(swept.along, own, units).1) }
                </text>
            </g>
            <line class="bench-own" x1={at(sheet.x(own))} x2={at(sheet.x(own))} y1={at(top)} y2={at(bottom)} />
            { for CLASSES.iter().enumerate().map(|(case, class)| html! {
                <path key={case} class={classes!("bench-curve", *class)} d={sheet.line(swept, case)} />
            }) }
            <line class="bench-cursor" x1={at(cursor_x)} x2={at(cursor_x)} y1={at(top)} y2={at(bottom)} />
            { for CLASSES.iter().zip(&swept.curves).enumerate().filter_map(|(case, (class, curve))| {
                let y = sheet.y(curve[place]?.margin_db);
                // A circle, a square and a triangle, so that no colour is needed to tell them apart.
                Some(match case {
                    0 => html! { <circle class={classes!("bench-dot", *class)} cx={at(cursor_x)} cy={at(y)} r="4" /> },
                    1 => html! { <rect class={classes!("bench-dot", *class)} x={at(cursor_x - 3.5)} y={at(y - 3.5)} width="7" height="7" /> },
                    _ => {
                        let d = format!("M{} {}l4.5 8h-9Z", at(cursor_x), at(y - 5.0));
                        html! { <path class={classes!("bench-dot", *class)} {d} /> }
                    }
                })
            }) }
        </svg>
    }
}

fn tick_text(along: Along, value: f64, units: DisplayUnits) -> String {
    let (number, _) = shown(along, value, units);
    if number.contains('.') { number.trim_end_matches('0').trim_end_matches('.').to_owned() } else { number }
}

/// The values at the cursor, and the slider that moves it.
fn reading(swept: &Sweep, link: &PairLink, place: usize, units: DisplayUnits, set: &Callback<usize>) -> Html {
    let value = value_text(swept.along, swept.at[place], units);
    let oninput = set.reform(|event: InputEvent| {
        let slider: web_sys::HtmlInputElement = event.target_unchecked_into();
        slider.value().parse::<usize>().unwrap_or(0).min(PLACES - 1)
    });
    html! {
        <>
            <label class="bench-slide">
                <span class="field-label">{ format!("Read at {value}") }</span>
                <input id="bench-cursor" type="range" min="0" max={(PLACES - 1).to_string()} value={place.to_string()}
                    aria-valuetext={value} {oninput} />
            </label>
            <ul class="bench-readings">
                { for SweptAntenna::ALL.into_iter().zip(&swept.curves).zip(CLASSES).map(|((case, curve), class)| html! {
                    <li key={class} class={class}>
                        <svg width="46" height="14" aria-hidden="true"><path class={classes!("bench-curve", class)} d="M2 7H44" /></svg>
                        <span>{ case_words(case, link) }</span>
                        <b>{ curve[place].map_or_else(|| "—".to_owned(), |point| format::decibel_change(point.margin_db)) }</b>
                        <span class="bench-lost">{ curve[place].map_or_else(String::new, |point| {
                            format!("{} of lines lost", Measure::Share.text(point.outage, units))
                        }) }</span>
                    </li>
                }) }
            </ul>
        </>
    }
}

fn table(swept: &Sweep, link: &PairLink, units: DisplayUnits) -> Html {
    html! {
        <details class="more" id="bench-numbers">
            <summary><h3>{ "The same in numbers" }</h3></summary>
            <table class="bench-table">
                <caption class="unseen">{ format!("Margin and share of lines lost along the {}", along_words(swept.along)) }</caption>
                <thead>
                    <tr>
                        <th scope="col">{ with_capital(along_words(swept.along)) }</th>
                        { for SweptAntenna::ALL.map(|case| html! {
                            <th scope="col" class="figure">{ format!("{}: margin, dB (lost)", case_words(case, link)) }</th>
                        }) }
                    </tr>
                </thead>
                <tbody>
                    { for (0..swept.at.len()).step_by(EVERY).map(|place| html! {
                        <tr key={place}>
                            <th scope="row">{ value_text(swept.along, swept.at[place], units) }</th>
                            { for swept.curves.iter().map(|curve| html! {
                                <td class="figure">{ curve[place].map_or_else(|| "—".to_owned(), |point| {
                                    format!("{} ({}\u{a0}%)", signed(point.margin_db, 1), fixed(100.0 * point.outage, 1))
                                }) }</td>
                            }) }
                        </tr>
                    }) }
                </tbody>
            </table>
        </details>
    }
}

fn with_capital(text: &str) -> String {
    crate::wording::with_first(text, char::to_ascii_uppercase)
}
