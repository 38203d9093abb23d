//! Below the drawing: what the map shows, how far it has come, its key, and the same in words.

use yew::prelude::*;

use crate::elements::{button, note};
use crate::fields::{ChoiceField, NumberField};
use crate::format::{DisplayUnits, Measure};
use crate::link::map::{Quantity, class_words, emphasis};
use crate::plan::document::Plan;
use crate::plan::limits;

use super::choice::{HANDS, MapChoice, QUANTITIES};
use super::picture::MapPicture;
use super::work::{MapState, MapWork};

/// The switch, and everything else while it is on.
pub fn panel(work: &MapWork, plan: &Plan, units: DisplayUnits) -> Html {
    let choice = *work.choice;
    let on_switch = {
        let (state, usual) = (work.choice.clone(), MapChoice::usual(plan));
        move |_: MouseEvent| state.set(if state.is_some() { None } else { Some(usual) })
    };
    html! {
        <div class="map">
            <button type="button" id="map-switch" class="button" aria-pressed={choice.is_some().to_string()} onclick={on_switch}>
                { "Map of the site" }
            </button>
            if let Some(choice) = choice {
                { fields(work, choice) }
                <div class="map-state">{ state(work) }</div>
                if let Some(picture) = &work.picture {
                    { key(work, picture) }
                    <p class="map-reading">{ reading(work, picture, units) }</p>
                }
                <p class="unseen" role="status">{ said(work, units) }</p>
            }
        </div>
    }
}

fn fields(work: &MapWork, choice: MapChoice) -> Html {
    let on = |change: fn(MapChoice, usize) -> MapChoice| {
        let state = work.choice.clone();
        Callback::from(move |index: usize| state.set(Some(change(choice, index))))
    };
    let on_height = {
        let state = work.choice.clone();
        move |height: Option<f64>| state.set(height.map(|height| choice.at_height(height)).or(Some(choice)))
    };
    let names = |names: [&'static str; 4]| -> Vec<AttrValue> { names.into_iter().map(AttrValue::from).collect() };
    html! {
        <div class="map-fields">
            <ChoiceField id="map-quantity" label="Shows" options={names(QUANTITIES.map(|(_, name)| name))}
                chosen={QUANTITIES.iter().position(|(quantity, _)| *quantity == choice.quantity)} hint={hint(choice.quantity)}
                on_choose={on(|choice, index| MapChoice {
                    quantity: QUANTITIES.get(index).map_or(choice.quantity, |(quantity, _)| *quantity),
                    ..choice
                })} />
            if choice.quantity != Quantity::HandMatters {
                <ChoiceField id="map-hand" label="Antenna on the aircraft" options={names(HANDS.map(|(_, name)| name))}
                    chosen={HANDS.iter().position(|(hand, _)| *hand == choice.hand)}
                    on_choose={on(|choice, index| MapChoice {
                        hand: HANDS.get(index).map_or(choice.hand, |(hand, _)| *hand),
                        ..choice
                    })} />
            }
            <NumberField id="map-height" label="Hovering at" measure={Measure::Length} value={Some(choice.height_m())}
                range={limits::GATE_HEIGHT_M} on_commit={on_height} />
        </div>
    }
}

fn hint(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::Reserve => "How far the level may drop at each point before it fails by itself.",
        Quantity::Margin => "Mean level less what a usable picture needs.",
        Quantity::Outage => "Share of the time for which fading takes the picture.",
        Quantity::HandMatters => "Margin with the matched hand on the aircraft less margin with the crossed one.",
    }
}

/// How it goes, and the button that stops it or begins anew.
fn state(work: &MapWork) -> Html {
    let pressed = |act: &Callback<()>| act.reform(|_: MouseEvent| ());
    let stale = work.is_stale.then(|| note("The map is from before the last change."));
    match &work.state {
        MapState::Running(done, of) => html! {
            <>
                <progress aria-label="Map computed" max={of.to_string()} value={done.to_string()} />
                { button("map-stop", "Stop", None, pressed(&work.on_stop)) }
                { stale }
            </>
        },
        MapState::Stopped => {
            html! { <>{ button("map-again", "Compute the map", None, pressed(&work.on_again)) }{ stale }</> }
        }
        MapState::Failed(why) => html! {
            <>
                <p id="map-problem" class="problem" role="alert">{ why }</p>
                { button("map-again", "Try again", None, pressed(&work.on_again)) }
            </>
        },
        MapState::Waiting | MapState::Done => stale.unwrap_or_default(),
    }
}

/// The classes with their hatches and shares of the area.
fn key(work: &MapWork, picture: &MapPicture) -> Html {
    let quantity = picture.subject.choice.quantity;
    let shares = picture.summary.map_or([0.0; 3], |summary| summary.shares);
    let rows = class_words(quantity, &picture.limits).into_iter().zip(shares).enumerate();
    html! {
        <>
            <ul class={classes!("course-key-list", "map-key", work.is_stale.then_some("is-stale"))} aria-label="Key to the map">
                { for rows.map(|(class, (words, share))| html! {
                    <li key={class}>
                        <svg class="course-key-sample" width="40" height="20" viewBox="0 0 40 20" aria-hidden="true">
                            <rect class={format!("map-area is-{}", emphasis(quantity, class))} x="1" y="1" width="38" height="18"
                                fill={fill(emphasis(quantity, class))} />
                        </svg>
                        { format!("{words}: {:.0}\u{a0}% of the area", 100.0 * share) }
                    </li>
                }) }
            </ul>
            { note(format!("{} The aircraft hovers level, its nose to the north, other pilots’ transmitters not counted.", picture.in_words())) }
        </>
    }
}

fn fill(emphasis: usize) -> String {
    if emphasis == 0 { "none".to_owned() } else { format!("url(#map-hatch-{emphasis})") }
}

/// What the map says under the pointer or the cursor.
fn reading(work: &MapWork, picture: &MapPicture, units: DisplayUnits) -> String {
    let Some((cell, _)) = *work.looked else {
        return "Point at the map for its values, or reach its cross with the tab key and move it with the arrow keys."
            .to_owned();
    };
    let place = picture.grid().centre(cell);
    let [east, north] = [place.0, place.1].map(|metres| Measure::Length.text((metres * 10.0).round() / 10.0, units));
    format!("{east} east, {north} north: {}", picture.reading(cell))
}

/// What a screen reader should say: the value where the keys went, or that the map is there.
fn said(work: &MapWork, units: DisplayUnits) -> String {
    match (&work.picture, *work.looked, &work.state) {
        (Some(picture), Some((_, true)), _) => reading(work, picture, units),
        (Some(picture), _, MapState::Done) => format!("Map complete. {}", picture.in_words()),
        (_, _, MapState::Stopped) => "The map was stopped.".to_owned(),
        _ => String::new(),
    }
}
