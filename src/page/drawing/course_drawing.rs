//! The course from above, to scale.

use std::cell::RefCell;
use std::rc::Rc;

use gloo::events::{EventListener, EventListenerOptions};
use web_sys::Element;
use yew::prelude::*;

use crate::format::DisplayUnits;
use crate::kept::kept;
use crate::link::report::Report;
use crate::map::use_map;
use crate::plan::check::PlanProblem;
use crate::plan::document::Plan;
use crate::plan::part::Part;
use crate::underlay::placing::Placing;
use crate::underlay::{Laid, panel, use_underlay};
use crate::window::use_room;

use super::course_gestures::{CourseGestures, Fingers, Mode};
use super::drawing_props::DrawingProps;
use super::flight_line::{FlightLine, FlightLineProps, GhostLine};
use super::frame::Frame;
use super::group::picked;
use super::handle_gestures::HeldHandle;
use super::handles::{Handles, HandlesProps, label};
use super::ink;
use super::instant_layer::{AircraftLayer, AircraftLayerProps, PathLayer, PathLayerProps};
use super::key::{CourseKey, CourseKeyProps};
use super::keys;
use super::lap_columns::entry_report;
use super::margin_class::Wanted;
use super::part;
use super::path_text::at;
use super::place_layer::{PlaceLayer, PlaceLayerProps};
use super::safety_layer::{SafetyLayer, SafetyLayerProps};
use super::site_layer::{SiteLayer, SiteLayerProps};
use super::tools;
use super::viewport::Viewport;
use super::width::use_width;

/// The course from above: site, flight line, gates, seats, and the paths at the cursor.
#[component]
pub fn CourseDrawing(props: &DrawingProps) -> Html {
    let units = use_context::<DisplayUnits>().unwrap_or_default();
    let sheet = use_node_ref();
    let svg = use_node_ref();
    let width = use_width(&sheet);
    let room = use_room();
    let snaps = use_state_eq(|| true);
    let here = use_state_eq(Vec::new);
    let said = use_state_eq(String::new);
    let say = use_callback(said.setter(), |text: String, said| said.set(text));
    let on_here = use_callback(here.setter(), |parts: Vec<Part>, here| here.set(parts));
    let hold = use_mut_ref(HeldHandle::default);
    use_held_still(&sheet, &hold);
    let DrawingProps { plan, kept_as, report, ghost, explanation, bounces, rejected, view, dispatch } = props;
    let underlay = use_underlay(kept_as, &plan.name, [plan.site.width_m, plan.site.depth_m]);
    let gestures = CourseGestures {
        plan: plan.clone(),
        selected: view.selected.filter(|selected| part::pose(plan, *selected).is_some()),
        picked: picked(plan, *view),
        copied: use_mut_ref(Vec::new),
        fit: Frame::closely(width, room.course_height(), plan.site.width_m, plan.site.depth_m),
        units,
        snaps: *snaps,
        svg: svg.clone(),
        viewport: use_state_eq(Viewport::default),
        mode: use_state_eq(Mode::default),
        sketch: use_state_eq(|| None),
        hold: hold.clone(),
        fingers: use_mut_ref(Fingers::default),
        underlay: underlay.clone(),
        dispatch: dispatch.clone(),
    };
    let frame = gestures.frame();
    let map = use_map(plan, view.entry, *bounces);
    let on_look = {
        let (gestures, map) = (gestures.clone(), map.clone());
        move |event: PointerEvent| map.look_at(frame.site_point(gestures.place(&event)))
    };
    let on_line = {
        let gestures = gestures.clone();
        Callback::from(move |is_known: bool| {
            gestures.sketch.set(None);
            gestures.mode.set(if is_known { Mode::Mark } else { Mode::Push });
        })
    };
    let on = |act: fn(&CourseGestures, &PointerEvent)| {
        let gestures = gestures.clone();
        move |event: PointerEvent| act(&gestures, &event)
    };
    let onwheel = {
        let gestures = gestures.clone();
        move |event: WheelEvent| gestures.wheel(&event)
    };
    let onkeydown = {
        let gestures = gestures.clone();
        move |event: KeyboardEvent| gestures.key(&event)
    };
    let onfocusin = {
        let gestures = gestures.clone();
        move |event: FocusEvent| gestures.show_focused(&event)
    };
    let is_close = (!gestures.viewport.is_whole()).then_some("is-close");
    let is_placing = (*gestures.mode != Mode::Pick).then_some("is-placing");
    let wanted = Wanted::of(&plan.targets);
    html! {
        <div class="course">
            { tools::above(&gestures, &snaps) }
            <div class="course-sheet" ref={sheet} onpointermove={map.picture.is_some().then(|| Callback::from(on_look))}>
                if width > 0.0 {
                    <svg class={classes!("course-drawing", is_placing, is_close)} ref={svg.clone()} role="group" tabindex="-1"
                        aria-label={summary(plan, report.as_deref(), view.entry)}
                        viewBox={format!("0 0 {} {}", at(frame.width), at(frame.height))}
                        width={at(frame.width)} height={at(frame.height)} {onwheel} {onkeydown} {onfocusin}
                        onpointerdown={on(CourseGestures::press)} onpointermove={on(CourseGestures::moved)} onpointerup={on(CourseGestures::release)}
                        onpointercancel={on(CourseGestures::release)}>
                        <g id="course-all">
                            { for underlay.memory().laid.iter().filter(|laid| laid.lies.is_shown).map(|laid| picture(laid, &frame)) }
                            <g clip-path="url(#course-clip)">{ map.areas(frame) }</g>
                            { kept::<SiteLayer>(SiteLayerProps { plan: plan.clone(), frame, units }) }
                            <g clip-path="url(#course-clip)">
                                { map.lines(frame) }
                                if let Some(ghost) = ghost {
                                    { kept::<GhostLine>(FlightLineProps { report: ghost.clone(), entry: view.entry, wanted, frame }) }
                                }
                                if let Some(report) = report {
                                    { kept::<FlightLine>(FlightLineProps { report: report.clone(), entry: view.entry, wanted, frame }) }
                                }
                                { kept::<PathLayer>(PathLayerProps { explanation: explanation.clone(), entry: view.entry, frame }) }
                                { kept::<PlaceLayer>(PlaceLayerProps {
                                    plan: plan.clone(),
                                    entry: view.entry,
                                    selected: view.selected,
                                    frame,
                                }) }
                                if let Some(report) = report {
                                    { kept::<AircraftLayer>(AircraftLayerProps { report: report.clone(), cursor: view.cursor, frame }) }
                                }
                                if let Some(report) = report {
                                    { kept::<SafetyLayer>(SafetyLayerProps { report: report.clone(), frame }) }
                                }
                            </g>
                        </g>
                        <g clip-path={is_close.map(|_| "url(#course-clip)")}>
                            { kept::<Handles>(HandlesProps {
                                plan: plan.clone(),
                                selected: view.selected,
                                also: view.also,
                                frame,
                                units,
                                snaps: *snaps,
                                svg: svg.clone(),
                                hold,
                                dispatch: dispatch.clone(),
                                say,
                                on_here,
                            }) }
                            { map.cursor(&frame) }
                            { for rejected.as_ref().map(|problem| refusal(plan, problem, &frame)) }
                        </g>
                        if is_placing.is_some() {
                            // Above everything, so that the tap goes to the ground and not to what stands on it.
                            <rect class="course-ground" width={at(frame.width)} height={at(frame.height)} />
                        }
                        { gestures.preview() }
                    </svg>
                }
                { tools::hint(&gestures) }
            </div>
            { tools::below(&gestures, &here) }
            { map.panel(plan, units) }
            <p class="unseen" role="status">{ &*said }</p>
            { kept::<CourseKey>(CourseKeyProps { plan: plan.clone() }) }
            { keys::list() }
            { panel(&underlay, on_line) }
        </div>
    }
}

/// Keeps the page from scrolling along with a finger that holds a part. Browsers look at the `touch-action` of the whole
/// drawing only, not at that of a part of it.
#[hook]
fn use_held_still(sheet: &NodeRef, hold: &Rc<RefCell<HeldHandle>>) {
    let (sheet, hold) = (sheet.clone(), hold.clone());
    use_effect_with((), move |()| {
        let options = EventListenerOptions::enable_prevent_default();
        let listener = sheet.cast::<Element>().map(|sheet| {
            EventListener::new_with_options(&sheet, "touchmove", options, move |event| {
                if hold.borrow().is_busy() {
                    event.prevent_default();
                }
            })
        });
        move || drop(listener)
    });
}

/// The picture under the drawing.
fn picture(laid: &Laid, frame: &Frame) -> Html {
    let Placing { width_m, corner_m: [east, north], opacity, .. } = laid.lies;
    let depth_m = laid.lies.depth_m();
    let [x, y] = frame.place(east, north + depth_m);
    let [width, height] = [width_m, depth_m].map(|side| at(frame.length(side)).into());
    let names = &["href", "x", "y", "width", "height", "opacity", "preserveAspectRatio"];
    let values = vec![
        laid.address.clone(),
        at(x).into(),
        at(y).into(),
        width,
        height,
        opacity.to_string().into(),
        "none".into(),
    ];
    let image = ink::mark("image", names, values, Vec::new());
    ink::mark("g", &["clip-path"], vec!["url(#course-site-clip)".into()], vec![image])
}

/// What was turned down, in a few words beside the part that it is about; the whole sentence stands above the drawing.
fn refusal(plan: &Plan, problem: &PlanProblem, frame: &Frame) -> Html {
    let Some(pose) = Part::at_path(&problem.path).and_then(|about| part::pose(plan, about)) else { return html! {} };
    let [x, y] = frame.place(pose.place_m[0], pose.place_m[1]);
    let words = problem.said.split(';').next().unwrap_or_default().replace(": inside ", " is inside ");
    ink::group("course-refused", vec![label(frame, [x, y + 34.0], words)])
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
        Some(judged) => format!("{site}. {} is {}.", judged.name, judged.verdict.word()),
        None => format!("{site}."),
    }
}
