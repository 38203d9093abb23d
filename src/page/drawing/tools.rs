//! Buttons round the drawing: what to add above it, what is picked and how much is in sight below it.

use yew::prelude::*;

use crate::fields::ChoiceField;
use crate::plan::fresh::Kind;
use crate::plan::part::Part;
use crate::state::Action;

use super::course_gestures::{CourseGestures, Mode};
use super::part;
use super::viewport::{STEP, Viewport};

/// One button for every kind that can be added, whether things come to rest by themselves, and how much is in sight.
pub fn above(gestures: &CourseGestures, snaps: &UseStateHandle<bool>) -> Html {
    let on_snaps = {
        let snaps = snaps.clone();
        Callback::from(move |_: MouseEvent| snaps.set(!*snaps))
    };
    let zoom = |id: &'static str, sign: &'static str, words: &'static str, disabled: bool, act: fn(&CourseGestures)| {
        let gestures = gestures.clone();
        html! {
            <button type="button" {id} class="button" aria-label={words} title={words} {disabled}
                onclick={move |_: MouseEvent| act(&gestures)}>{ sign }</button>
        }
    };
    let is_whole = gestures.viewport.is_whole();
    html! {
        <div class="course-above">
            <div class="course-add" role="group" aria-label="Add to the site">
                { for Kind::ALL.into_iter().map(|kind| {
                    let gestures = gestures.clone();
                    let id = format!("add-{}", kind.name().to_ascii_lowercase());
                    let is_chosen = *gestures.mode == Mode::Add(kind);
                    // A click without a pointer comes from the keyboard.
                    let onclick = Callback::from(move |event: MouseEvent| gestures.choose(kind, event.detail() == 0));
                    toggle(&id, kind.name(), is_chosen, onclick)
                }) }
            </div>
            <div class="course-zoom" role="group" aria-label="Part of the site in sight">
                { toggle("snap", "Snap", **snaps, on_snaps) }
                { zoom("zoom-out", "−", "Show more of the site", is_whole, |gestures| gestures.zoom(1.0 / STEP)) }
                { zoom("zoom-in", "+", "Enlarge", false, |gestures| gestures.zoom(STEP)) }
                { zoom("zoom-whole", "Fit", "Fit the whole site", is_whole, |gestures| gestures.see(|_, _| Viewport::default())) }
            </div>
        </div>
    }
}

/// A button that is pressed or not.
fn toggle(id: &str, label: &str, is_pressed: bool, onclick: Callback<MouseEvent>) -> Html {
    html! {
        <button type="button" class="button" id={(!id.is_empty()).then(|| id.to_owned())} aria-pressed={if is_pressed { "true" } else { "false" }} {onclick}>
            { label }
        </button>
    }
}

/// What the next tap does, over the drawing; nothing while taps pick.
pub fn hint(gestures: &CourseGestures) -> Html {
    let text = match *gestures.mode {
        Mode::Pick => return html! {},
        Mode::Place => "Tap where it goes.",
        Mode::Mark => "Tap the two ends of a distance that you know, or drag along it.",
        Mode::Push => "Tap a spot of the picture and then where it belongs, or drag it there.",
        Mode::Add(Kind::Wall) if gestures.sketch.is_some() => "Tap where it ends, and on for the next wall.",
        Mode::Add(Kind::Wall) => "Tap where the wall begins, or drag it from end to end.",
        Mode::Add(Kind::Gate) => "Tap gate after gate; drag to say which way one is flown.",
        Mode::Add(Kind::Seat) => "Tap where the seat goes; drag to say which way it faces.",
        Mode::Add(Kind::Tree) => "Tap where the trunk is; drag to say how wide the crown is.",
        Mode::Add(Kind::Barrier) => "Drag it from end to end, or tap for the usual length.",
        Mode::Add(_) => "Drag from corner to corner, or tap for the usual size.",
    };
    let ends = if matches!(*gestures.mode, Mode::Add(_)) { " The tool stays until Escape or its button." } else { "" };
    html! { <p class="course-hint" role="status">{ text }{ ends }</p> }
}

/// What is picked, and moving it by tapping. `here` is what lies under the last tap.
pub fn below(gestures: &CourseGestures, here: &[Part]) -> Html {
    let plan = &gestures.plan;
    let picked = gestures.selected;
    let parts = Part::all(plan);
    let names: Vec<AttrValue> =
        std::iter::once("none".into()).chain(parts.iter().map(|item| part::name(plan, *item).into())).collect();
    // The first line of the list is "none".
    let chosen = parts.iter().position(|item| picked == Some(*item)).map_or(0, |index| index + 1);
    let on_pick = gestures
        .dispatch
        .reform(move |line: usize| Action::Select(line.checked_sub(1).and_then(|index| parts.get(index).copied())));
    let is_placing = *gestures.mode == Mode::Place;
    let on_placing = {
        let mode = gestures.mode.clone();
        move |_: MouseEvent| mode.set(if is_placing { Mode::Pick } else { Mode::Place })
    };
    html! {
        <div class="course-tools">
            <div class="course-pick">
                <ChoiceField id="course-pick" label="Selected" options={names} chosen={Some(chosen)} on_choose={on_pick} />
            </div>
            // Always there, so that picking a part does not push the drawing about under the pointer.
            <button type="button" class="button course-placing" disabled={picked.is_none()}
                aria-pressed={if is_placing { "true" } else { "false" }} onclick={on_placing}>{ "Move by tapping" }</button>
            <a class="button course-measures" href="#part-heading">{ "Edit" }</a>
            if here.len() > 1 {
                <div class="course-here" role="group" aria-label="Also at this place">
                    <span>{ "Here:" }</span>
                    { for here.iter().map(|&item| {
                        let onclick = gestures.dispatch.reform(move |_: MouseEvent| Action::Select(Some(item)));
                        toggle("", &part::name(plan, item), picked == Some(item), onclick)
                    }) }
                </div>
            }
        </div>
    }
}
