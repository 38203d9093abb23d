//! The rows of the strip that a lap in time and a wide channel add: where breakups happen, how far delays spread.

use yew::prelude::*;

use crate::format::{DisplayUnits, fixed};
use crate::in_time::{EntryLaps, sentences};
use crate::link::breakups::number_words;
use crate::link::report::{EntryReport, Report};

use super::ink;
use super::lap_columns::{bars, curve, in_use};
use super::strip_layout::{StripLayout, held_within, text_width};

/// Bars where the picture breaks up, as tall as it is likely, and how often beside the most frequent place.
pub fn breakups(layout: &StripLayout, flown: Option<&EntryLaps>) -> Html {
    let row = layout.breakups;
    let left = layout.along.at_least;
    let words = |text: String, x: f64, class: &'static str| ink::text(class, [x, row.at_least - 3.0], text);
    let said = flown.and_then(|flown| flown.said.as_ref());
    let mut drawn = vec![
        words("breakups".to_owned(), 2.0, "is-title"),
        ink::line("", [left, row.at_least], [layout.along.at_most, row.at_least]),
    ];
    if let Some(said) = said {
        drawn.push(ink::path("", bars(&said.field_distance_m, &said.field_in_breakup, layout.along, row)));
        drawn.push(match said.places.first() {
            None => words(format!("none in {} simulated laps", said.laps), left + 4.0, "is-none"),
            Some(place) => {
                let text = format!("{} per lap", number_words(place.per_lap));
                let beside = layout.along.place(place.end_m) + 6.0 + text_width(&text) / 2.0;
                let x = held_within(beside, text_width(&text), left, layout.along.at_most);
                words(text, x, "is-often")
            }
        });
    }
    ink::group("strip-breakups", drawn)
}

/// The spread of delays over the lap, on the layout's row for it.
pub fn delay_spread(layout: &StripLayout, report: &Report, entry: &EntryReport) -> Html {
    let Some(row) = layout.spread else { return html! {} };
    let (left, right) = (layout.along.at_least, layout.along.at_most);
    let column = in_use(entry, |port| &port.delay_spread_ns);
    ink::group(
        "strip-axes strip-spread",
        vec![
            ink::text("is-title", [2.0, row.at_least], "ns"),
            ink::text("is-level", [left - 6.0, row.at_most + 8.0], fixed(row.most, 0)),
            ink::line("", [left, row.at_least], [right, row.at_least]),
            ink::path("", curve(&report.lap.distance_m, &column, layout.along, row)),
        ],
    )
}

/// What laps in time say, in sentences, with how far they have come and a way to more of them.
pub fn said(flown: Option<&EntryLaps>, units: DisplayUnits, on_more: &Callback<()>) -> Html {
    let lines = flown.and_then(|flown| flown.said.as_ref()).map(|said| sentences(said, units));
    html! {
        <div id="flown" class="strip-flown">
            <p>{ lines.map_or_else(|| "Simulating laps…".to_owned(), |lines| lines.join(" ")) }</p>
            if let Some(flown) = flown {
                // It stays while laps are flown, so that whoever pressed it keeps the focus.
                <button type="button" id="fly-more" class="button" onclick={on_more.reform(|_: MouseEvent| ())}
                    aria-disabled={flown.more().is_none().to_string()}>
                    { match flown.more() {
                        Some(more) => format!("Simulate {more} laps in total"),
                        None => format!("{} of {} laps simulated", flown.laps(), flown.wanted),
                    } }
                </button>
            }
        </div>
    }
}
