//! What can be taken hold of on the course: by mouse, by finger, and by keyboard.
//!
//! A drag sends one edit for each frame of the screen, all with one merge number, so that it is one step of undo.
//! Escape puts the part back. Arrow keys move a part by a tenth of a metre, with shift by a metre; the bracket keys turn
//! it.

use std::cell::RefCell;
use std::rc::Rc;
use std::sync::atomic::{AtomicU32, Ordering};

use wasm_bindgen::JsCast;
use web_sys::{Element, SvgElement};
use yew::prelude::*;

use crate::page::format::DisplayUnits;
use crate::page::state::{Action, Selection};
use crate::plan::document::Plan;
use crate::plan::edit::Edit;

use super::frame::{Frame, heading_deg};
use super::frame_throttle::FrameThrottle;
use super::marks::along;
use super::outline::outline;
use super::part::{self, Pose};
use super::path_text::{Point, at};

/// A drag starts only after the pointer moved so far, in pixels; below that it is a tap.
const TAP: f64 = 4.0;
/// Distance of the turning knob from its part, in pixels.
const KNOB: f64 = 40.0;

/// Numbers of drags and of bursts of key presses. They start far from the numbers that forms count from zero.
static NEXT_MERGE: AtomicU32 = AtomicU32::new(1 << 31);

/// A number that no other drag has: edits that share it make one step of undo.
pub fn new_merge() -> u32 {
    NEXT_MERGE.fetch_add(1, Ordering::Relaxed)
}

/// What a handle does to its part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Grip {
    Move,
    Turn,
}

/// What happened on a handle.
enum Gesture {
    Press(PointerEvent),
    Move(PointerEvent),
    Release(PointerEvent),
    Key(KeyboardEvent),
    Click,
}

/// A drag that is under way.
struct Drag {
    part: Selection,
    grip: Grip,
    pointer: i32,
    merge: u32,
    /// The plan before the drag.
    before: Rc<Plan>,
    /// Where the pointer went down, on the drawing.
    from: Point,
    /// Where it is.
    now: Point,
    /// From the pointer to the part's place.
    offset: Point,
    /// Whether it went further than a tap.
    moved: bool,
}

/// Properties of [`Handles`].
#[derive(Clone, Properties)]
pub struct HandlesProps {
    /// The plan.
    pub plan: Rc<Plan>,
    /// The picked part.
    pub selected: Option<Selection>,
    /// Where things are.
    pub frame: Frame,
    /// Units of what is said.
    pub units: DisplayUnits,
    /// The drawing, for the place of a pointer on it.
    pub svg: NodeRef,
    /// Called with what the person does.
    pub dispatch: Callback<Action>,
    /// Called with a sentence when a part came to rest somewhere else.
    pub say: Callback<String>,
}

impl PartialEq for HandlesProps {
    fn eq(&self, other: &Self) -> bool {
        Rc::ptr_eq(&self.plan, &other.plan)
            && (self.selected, self.frame, self.units) == (other.selected, other.frame, other.units)
            && self.dispatch == other.dispatch
            && self.say == other.say
    }
}

/// Handles of every part, and a turning knob for the picked one.
#[component]
pub fn Handles(props: &HandlesProps) -> Html {
    let hold = use_mut_ref(Hold::default);
    *hold.borrow_mut() = Hold { props: Some(props.clone()), ..hold.take() };
    let on_gesture = use_callback((), move |(part, grip, gesture), ()| gestured(&hold, part, grip, gesture));

    let HandlesProps { plan, selected, frame, units, .. } = props;
    let gates = (0..plan.course.gates.len()).map(Selection::Gate);
    let seats = (0..plan.seats.len()).map(Selection::Seat);
    let obstacles = (0..plan.site.obstacles.len()).map(Selection::Obstacle);
    // Later handles lie above earlier ones: what is small above what is large, gates in flight order for the tab key.
    let parts = obstacles.chain([Selection::Pad]).chain(seats).chain(gates);
    let handles = parts.filter_map(|item| {
        let pose = part::pose(plan, item)?;
        let shape = match item {
            Selection::Obstacle(index) => Some(AttrValue::from(outline(&plan.site.obstacles[index].shape, frame))),
            _ => None,
        };
        Some(html! {
            <Handle key={key(item, Grip::Move)} part={item} grip={Grip::Move} shape={shape}
                place={Place(frame.place(pose.place_m[0], pose.place_m[1]))} label={part::spoken(plan, item, *units)}
                selected={*selected == Some(item)} on_gesture={on_gesture.clone()} />
        })
    });
    let picked = selected.and_then(|item| Some((item, part::pose(plan, item)?)));
    html! {
        <g class="course-handles">
            { for handles }
            if let Some((item, pose)) = picked {
                { knob(plan, item, pose, frame, &on_gesture) }
                { place_label(pose, frame, *units) }
            }
        </g>
    }
}

fn knob(plan: &Plan, item: Selection, pose: Pose, frame: &Frame, on_gesture: &OnGesture) -> Html {
    let Some(turn) = pose.turn_deg else { return html! {} };
    let centre = frame.place(pose.place_m[0], pose.place_m[1]);
    let place = along(centre, turn, KNOB);
    let [near, far] = [14.0, KNOB - 6.0].map(|distance| along(centre, turn, distance));
    html! {
        <g key="knob" class="course-knob">
            <line x1={at(near[0])} y1={at(near[1])} x2={at(far[0])} y2={at(far[1])} />
            <Handle part={item} grip={Grip::Turn} place={Place(place)} selected={true}
                label={format!("Turn {}", part::name(plan, item))} on_gesture={on_gesture.clone()} />
        </g>
    }
}

/// Where the picked part is, written beside it.
fn place_label(pose: Pose, frame: &Frame, units: DisplayUnits) -> Html {
    let [x, y] = frame.place(pose.place_m[0], pose.place_m[1]);
    let text = part::short_place(pose, units);
    // Half the text's width at about seven pixels a letter keeps it on the drawing.
    let half = text.chars().count() as f64 * 3.5 + 4.0;
    let x = x.clamp(half, (frame.width - half).max(half));
    // Above the part, or below it where there is no room above.
    let y = if y < 60.0 { y + 56.0 } else { y - 48.0 };
    html! {
        <text key="place" class="course-place" x={at(x)} y={at(y)} aria-hidden="true">{ text }</text>
    }
}

type OnGesture = Callback<(Selection, Grip, Gesture)>;

/// What the gestures need between two of them.
#[derive(Default)]
struct Hold {
    props: Option<HandlesProps>,
    drag: Option<Drag>,
    throttle: FrameThrottle,
    /// Merge number of a key that is held down.
    keys: Option<u32>,
}

fn gestured(hold: &Rc<RefCell<Hold>>, part: Selection, grip: Grip, gesture: Gesture) {
    let Some(props) = hold.borrow().props.clone() else { return };
    match gesture {
        Gesture::Click => props.dispatch.emit(Action::Select(Some(part))),
        Gesture::Press(event) => press(hold, &props, part, grip, &event),
        Gesture::Move(event) => {
            let mut held = hold.borrow_mut();
            let throttle = held.throttle.clone();
            let Some(drag) = held.drag.as_mut().filter(|drag| drag.pointer == event.pointer_id()) else { return };
            drag.now = pointer_place(&props, &event);
            drag.moved |= libm::hypot(drag.now[0] - drag.from[0], drag.now[1] - drag.from[1]) > TAP;
            if drag.moved {
                let hold = hold.clone();
                throttle.before_next_frame(move || send_drag(&hold));
            }
        }
        Gesture::Release(event) => {
            if hold.borrow().drag.as_ref().is_some_and(|drag| drag.pointer == event.pointer_id()) {
                send_drag(hold);
                let ended = hold.borrow_mut().drag.take();
                if ended.is_some_and(|drag| drag.moved) {
                    say_place(hold, part);
                }
            }
        }
        Gesture::Key(event) => key_pressed(hold, &props, part, &event),
    }
}

fn press(hold: &Rc<RefCell<Hold>>, props: &HandlesProps, part: Selection, grip: Grip, event: &PointerEvent) {
    if event.button() != 0 || hold.borrow().drag.is_some() {
        return;
    }
    // A finger on a large obstacle may want to scroll the page: the first tap only picks the obstacle.
    let picked = props.selected == Some(part);
    if event.pointer_type() == "touch" && !picked && matches!(part, Selection::Obstacle(_)) {
        return;
    }
    let Some(pose) = part::pose(&props.plan, part) else { return };
    // The target is the area of the handle; events are heard at the root of the page, which is no help here.
    if let Some(area) = event.target().and_then(|target| target.dyn_into::<Element>().ok()) {
        // Without capture the drag ends at the handle's edge, which is a nuisance but no error; the same for focus.
        let _ = area.set_pointer_capture(event.pointer_id());
        if let Some(handle) =
            area.closest("[tabindex]").ok().flatten().and_then(|found| found.dyn_into::<SvgElement>().ok())
        {
            let _ = handle.focus();
        }
    }
    let from = pointer_place(props, event);
    let centre = props.frame.place(pose.place_m[0], pose.place_m[1]);
    hold.borrow_mut().drag = Some(Drag {
        part,
        grip,
        pointer: event.pointer_id(),
        merge: new_merge(),
        before: props.plan.clone(),
        from,
        now: from,
        offset: [centre[0] - from[0], centre[1] - from[1]],
        moved: false,
    });
    if !picked {
        props.dispatch.emit(Action::Select(Some(part)));
    }
}

/// Sends where the drag is now, if it is still under way.
fn send_drag(hold: &Rc<RefCell<Hold>>) {
    let sent = {
        let held = hold.borrow();
        let (Some(props), Some(drag)) = (&held.props, &held.drag) else { return };
        if !drag.moved {
            return;
        }
        let edit = match drag.grip {
            Grip::Move => {
                let place = [drag.now[0] + drag.offset[0], drag.now[1] + drag.offset[1]];
                let to = props.frame.site_point_within(place).map(|metres| (metres * 10.0).round() / 10.0);
                part::moved(&drag.before, drag.part, to)
            }
            Grip::Turn => part::pose(&drag.before, drag.part).and_then(|pose| {
                let centre = props.frame.place(pose.place_m[0], pose.place_m[1]);
                let heading = heading_deg([drag.now[0] - centre[0], drag.now[1] - centre[1]]).round();
                part::turned(&drag.before, drag.part, heading)
            }),
        };
        let what = if drag.grip == Grip::Move { "moved" } else { "turned" };
        edit.map(|edit| (props.dispatch.clone(), action(&props.plan, drag.part, what, edit, drag.merge)))
    };
    // The reducer may render at once and come back here; nothing may be borrowed then.
    if let Some((dispatch, action)) = sent {
        dispatch.emit(action);
    }
}

fn key_pressed(hold: &Rc<RefCell<Hold>>, props: &HandlesProps, part: Selection, event: &KeyboardEvent) {
    let step = if event.shift_key() { part::LONG_NUDGE_M } else { part::NUDGE_M };
    let turn = if event.shift_key() { part::FINE_TURN_DEG } else { part::TURN_DEG };
    let (to_east, to_north, by_deg) = match event.key().as_str() {
        "ArrowRight" => (step, 0.0, 0.0),
        "ArrowLeft" => (-step, 0.0, 0.0),
        "ArrowUp" => (0.0, step, 0.0),
        "ArrowDown" => (0.0, -step, 0.0),
        "]" | "}" => (0.0, 0.0, turn),
        "[" | "{" => (0.0, 0.0, -turn),
        "Enter" | " " => {
            event.prevent_default();
            props.dispatch.emit(Action::Select(Some(part)));
            return;
        }
        "Escape" => {
            give_up(hold, props);
            return;
        }
        _ => return,
    };
    if event.ctrl_key() || event.alt_key() || event.meta_key() {
        return;
    }
    event.prevent_default();
    event.stop_propagation();
    // While a key is held down its steps are one step of undo.
    let merge = hold.borrow().keys.filter(|_| event.repeat()).unwrap_or_else(new_merge);
    hold.borrow_mut().keys = Some(merge);
    let Some(nudged) = nudge(&props.plan, part, [to_east, to_north], by_deg, merge) else { return };
    props.dispatch.emit(Action::Select(Some(part)));
    props.dispatch.emit(nudged);
    say_place(hold, part);
}

/// The action that moves a part by metres east and north, and turns it.
pub fn nudge(plan: &Plan, part: Selection, by_m: [f64; 2], by_deg: f64, merge: u32) -> Option<Action> {
    let pose = part::pose(plan, part)?;
    if by_deg != 0.0 {
        let edit = part::turned(plan, part, pose.turn_deg? + by_deg)?;
        return Some(action(plan, part, "turned", edit, merge));
    }
    let edit = part::moved(plan, part, [pose.place_m[0] + by_m[0], pose.place_m[1] + by_m[1]])?;
    Some(action(plan, part, "moved", edit, merge))
}

fn action(plan: &Plan, part: Selection, what: &str, edit: Edit, merge: u32) -> Action {
    Action::Edit { edit, label: part::done(plan, part, what), merge: Some(merge) }
}

/// Ends a drag with the part back where it was; without a drag, nothing is picked any more.
fn give_up(hold: &Rc<RefCell<Hold>>, props: &HandlesProps) {
    match hold.borrow_mut().drag.take() {
        Some(drag) if drag.moved => {
            if let Some(edit) = part::as_in(&drag.before, drag.part) {
                props.dispatch.emit(action(&props.plan, drag.part, "left where it was", edit, drag.merge));
            }
        }
        Some(_) => {}
        None => props.dispatch.emit(Action::Select(None)),
    }
}

/// Says where a part is, once the plan that came of it is here.
fn say_place(hold: &Rc<RefCell<Hold>>, part: Selection) {
    let hold = hold.clone();
    gloo::timers::callback::Timeout::new(SETTLE_MS, move || {
        let said =
            hold.borrow().props.as_ref().map(|props| (props.say.clone(), part::spoken(&props.plan, part, props.units)));
        if let Some((say, text)) = said {
            say.emit(text);
        }
    })
    .forget();
}

/// Time for the plan to come back from the reducer before its place is said.
const SETTLE_MS: u32 = 80;

/// The place of a pointer on the drawing, whatever size it is shown at.
fn pointer_place(props: &HandlesProps, event: &PointerEvent) -> Point {
    let Some(svg) = props.svg.cast::<Element>() else { return [0.0, 0.0] };
    place_on(&svg, &props.frame, event.client_x(), event.client_y())
}

/// A place of the window on a drawing.
pub fn place_on(svg: &Element, frame: &Frame, client_x: i32, client_y: i32) -> Point {
    let shown = svg.get_bounding_client_rect();
    let shrink = if shown.width() > 0.0 { frame.width / shown.width() } else { 1.0 };
    [(f64::from(client_x) - shown.left()) * shrink, (f64::from(client_y) - shown.top()) * shrink]
}

fn key(part: Selection, grip: Grip) -> String {
    format!("{part:?}-{grip:?}")
}

/// A place on the drawing, as a property.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Place(Point);

#[derive(Clone, Properties, PartialEq)]
struct HandleProps {
    part: Selection,
    grip: Grip,
    place: Place,
    /// Outline for what is large; otherwise a disc.
    #[prop_or_default]
    shape: Option<AttrValue>,
    label: AttrValue,
    selected: bool,
    on_gesture: OnGesture,
}

/// One thing to take hold of. Its own component, so that a drag renders only the handle that moves.
#[component]
fn Handle(props: &HandleProps) -> Html {
    let HandleProps { part, grip, place: Place([x, y]), shape, label, selected, on_gesture } = props;
    let on = |make: fn(PointerEvent) -> Gesture| {
        let (part, grip) = (*part, *grip);
        on_gesture.reform(move |event| (part, grip, make(event)))
    };
    let (part, grip) = (*part, *grip);
    let onkeydown = on_gesture.reform(move |event| (part, grip, Gesture::Key(event)));
    let onclick = on_gesture.reform(move |_: MouseEvent| (part, grip, Gesture::Click));
    let kind = match (part, grip) {
        (_, Grip::Turn) => "is-knob",
        (Selection::Gate(_), _) => "is-gate",
        (Selection::Seat(_), _) => "is-seat",
        (Selection::Obstacle(_), _) => "is-obstacle",
        _ => "is-pad",
    };
    html! {
        <g class={classes!("course-handle", kind, selected.then_some("is-selected"))} role="button" tabindex="0"
            aria-label={label} aria-pressed={(grip == Grip::Move).then_some(if *selected { "true" } else { "false" })}
            data-part={id_of(part, grip)}
            onpointerdown={on(Gesture::Press)} onpointermove={on(Gesture::Move)} onpointerup={on(Gesture::Release)}
            onpointercancel={on(Gesture::Release)} {onkeydown} {onclick}>
            if let Some(outline) = shape {
                <path class="is-area" d={outline} />
            } else {
                <circle class="is-ring" cx={at(*x)} cy={at(*y)} r={if grip == Grip::Turn { "6" } else { "15" }} />
                <circle class="is-area" cx={at(*x)} cy={at(*y)} r="17" />
            }
        </g>
    }
}

/// A short name of a handle for tests and style: "gate-2", "seat-0-turn".
fn id_of(part: Selection, grip: Grip) -> String {
    let turn = if grip == Grip::Turn { "-turn" } else { "" };
    match part {
        Selection::Entry(index) => format!("entry-{index}{turn}"),
        Selection::Gate(index) => format!("gate-{index}{turn}"),
        Selection::Seat(index) => format!("seat-{index}{turn}"),
        Selection::Obstacle(index) => format!("obstacle-{index}{turn}"),
        Selection::Pad => format!("pad{turn}"),
    }
}
