//! The course from above, to scale.

use web_sys::Element;
use yew::prelude::*;

use crate::link::report::Report;
use crate::page::fields::ChoiceField;
use crate::page::format::DisplayUnits;
use crate::page::state::Action;
use crate::page::wording;
use crate::plan::document::Plan;

use super::drawing_props::DrawingProps;
use super::flight_line::{FlightLine, GhostLine};
use super::frame::Frame;
use super::handles::{Handles, new_merge, place_on};
use super::instant_layer::{AircraftLayer, PathLayer};
use super::key::CourseKey;
use super::lap_columns::entry_report;
use super::margin_class::Wanted;
use super::part;
use super::path_text::at;
use super::place_layer::PlaceLayer;
use super::site_layer::SiteLayer;
use super::width::use_width;

/// What the strip, the key and the head of the page take of the window's height, in pixels. The drawing leaves so much
/// room if it can: whoever walks along the strip wants to see the aircraft move.
const ROOM_BELOW: f64 = 404.0;
/// However low the window, the drawing may be so high, in pixels.
const LEAST_MOST_HEIGHT: f64 = 340.0;

/// The course from above: site, flight line, gates, seats, and the paths at the cursor.
#[component]
pub fn CourseDrawing(props: &DrawingProps) -> Html {
    let units = use_context::<DisplayUnits>().unwrap_or_default();
    let sheet = use_node_ref();
    let svg = use_node_ref();
    let width = use_width(&sheet);
    let placing = use_state_eq(|| false);
    let said = use_state_eq(String::new);
    let say = use_callback(said.setter(), |text: String, said| said.set(text));
    let DrawingProps { plan, report, ghost, explanation, view, dispatch } = props;
    let frame = Frame::fit(width, most_height(), plan.site.width_m, plan.site.depth_m);

    let on_ground = {
        let (plan, svg, dispatch, placing, selected) =
            (plan.clone(), svg.clone(), dispatch.clone(), placing.clone(), view.selected);
        Callback::from(move |event: MouseEvent| {
            let Some(element) = svg.cast::<Element>() else { return };
            match selected.filter(|_| *placing) {
                Some(picked) => {
                    let place = frame.site_point_within(place_on(&element, &frame, event.client_x(), event.client_y()));
                    let to = place.map(|metres| (metres * 10.0).round() / 10.0);
                    if let Some(edit) = part::moved(&plan, picked, to) {
                        let label = part::done(&plan, picked, "moved");
                        dispatch.emit(Action::Edit { edit, label, merge: Some(new_merge()) });
                    }
                    placing.set(false);
                }
                None => dispatch.emit(Action::Select(None)),
            }
        })
    };
    let picked = view.selected.filter(|selected| part::pose(plan, *selected).is_some());
    let parts = part::all(plan);
    let names: Vec<AttrValue> =
        std::iter::once("nothing".into()).chain(parts.iter().map(|item| part::name(plan, *item).into())).collect();
    // The first line of the list is "nothing".
    let chosen = parts.iter().position(|item| picked == Some(*item)).map_or(0, |index| index + 1);
    let on_pick = {
        let dispatch = dispatch.clone();
        Callback::from(move |line: usize| {
            let part = line.checked_sub(1).and_then(|index| parts.get(index).copied());
            dispatch.emit(Action::Select(part));
        })
    };
    let on_placing = {
        let placing = placing.clone();
        Callback::from(move |_: MouseEvent| placing.set(!*placing))
    };
    let wanted = Wanted::of(&plan.targets);
    html! {
        <div class="course">
            <div class="course-sheet" ref={sheet}>
                if width > 0.0 {
                    <svg class={classes!("course-drawing", placing.then_some("is-placing"))} ref={svg.clone()}
                        role="group" aria-label={summary(plan, report.as_deref(), view.entry)}
                        viewBox={format!("0 0 {} {}", at(frame.width), at(frame.height))}
                        width={at(frame.width)} height={at(frame.height)}>
                        <SiteLayer plan={plan.clone()} {frame} {units} />
                        <rect class="course-ground" x={at(frame.site_left())} y={at(frame.site_top())}
                            width={at(frame.length(frame.site_width_m))} height={at(frame.length(frame.site_depth_m))}
                            onclick={on_ground.clone()} />
                        if let Some(ghost) = ghost {
                            <GhostLine report={ghost.clone()} entry={view.entry} {wanted} {frame} />
                        }
                        if let Some(report) = report {
                            <FlightLine report={report.clone()} entry={view.entry} {wanted} {frame} />
                        }
                        <PathLayer explanation={explanation.clone()} entry={view.entry} {frame} />
                        <PlaceLayer plan={plan.clone()} entry={view.entry} selected={view.selected} {frame} />
                        if let Some(report) = report {
                            <AircraftLayer report={report.clone()} cursor={view.cursor} {frame} />
                        }
                        <Handles plan={plan.clone()} selected={view.selected} {frame} {units} svg={svg.clone()}
                            dispatch={dispatch.clone()} {say} />
                        if *placing {
                            // Above everything, so that the tap goes to the ground and not to what stands on it.
                            <rect class="course-ground is-placing" width={at(frame.width)} height={at(frame.height)}
                                onclick={on_ground} />
                        }
                    </svg>
                }
            </div>
            <div class="course-tools">
                <div class="course-pick">
                    <ChoiceField id="course-pick" label="Picked" options={names} chosen={Some(chosen)} on_choose={on_pick} />
                </div>
                // Always there, so that picking a part does not push the drawing about under the pointer.
                <button type="button" class="button course-placing" disabled={picked.is_none()}
                    aria-pressed={if *placing { "true" } else { "false" }} onclick={on_placing}>
                    { if *placing { "Now tap where it goes" } else { "Move by tapping" } }
                </button>
                <p class="unseen" role="status">{ &*said }</p>
            </div>
            <CourseKey plan={plan.clone()} />
        </div>
    }
}

/// The most height of the drawing in this window.
fn most_height() -> f64 {
    let window = web_sys::window().and_then(|window| window.inner_height().ok()).and_then(|height| height.as_f64());
    (window.unwrap_or(900.0) - ROOM_BELOW).max(LEAST_MOST_HEIGHT)
}

/// The drawing in a sentence, for those who do not see it.
fn summary(plan: &Plan, report: Option<&Report>, entry: usize) -> String {
    let site = format!(
        "Course of {} gates on a site of {} by {} metres",
        plan.course.gates.len(),
        plan.site.width_m,
        plan.site.depth_m
    );
    match report.and_then(|report| entry_report(report, entry)) {
        Some(judged) => format!("{site}. {} is {}.", judged.name, wording::verdict(judged.verdict)),
        None => format!("{site}."),
    }
}
