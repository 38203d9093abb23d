//! What a person does to a handle: drags it, presses keys on it, taps it.
//!
//! A drag sends one edit for each frame of the screen, all with one merge number, so that it is one step of undo.
//! Escape puts the part back. The shift key lets a dragged part rest anywhere.

use std::cell::RefCell;
use std::rc::Rc;
use std::sync::atomic::{AtomicU32, Ordering};

use wasm_bindgen::JsCast;
use web_sys::{Element, SvgElement};
use yew::prelude::*;

use crate::plan::document::Plan;
use crate::plan::edit::Edit;
use crate::plan::part::Part;
use crate::state::Action;

use super::frame::Frame;
use super::frame_throttle::FrameThrottle;
use super::grips::{Grip, dragged, grips, held_m};
use super::group;
use super::handles::{HandlesProps, id_of};
use super::part;
use super::path_text::Point;
use super::snap::Rest;
use super::steady::Steady;

/// A drag starts only after the pointer moved so far, in pixels; below that it is a tap.
pub const TAP: f64 = 4.0;

/// A browser sends the click of a tap within so many milliseconds.
const CLICK_MS: f64 = 400.0;

/// Numbers of drags and of bursts of key presses. They start far from the numbers that forms count from zero.
static NEXT_MERGE: AtomicU32 = AtomicU32::new(1 << 31);

/// A number that no other drag has: edits that share it make one step of undo.
pub fn new_merge() -> u32 {
    NEXT_MERGE.fetch_add(1, Ordering::Relaxed)
}

/// What happened on a handle.
pub enum Gesture {
    /// A pointer went down.
    Press(PointerEvent),
    /// It moved.
    Move(PointerEvent),
    /// It went up, or was taken away.
    Release(PointerEvent),
    /// A key was pressed.
    Key(KeyboardEvent),
    /// A tap.
    Click(MouseEvent),
    /// The focus came.
    Focus,
}

/// Where gestures go: part, what of it, and what happened.
pub type OnGesture = Callback<(Part, Grip, Gesture)>;

/// A drag that is under way.
struct Drag {
    part: Part,
    grip: Grip,
    pointer: i32,
    is_touch: bool,
    merge: u32,
    /// The plan before the drag.
    before: Rc<Plan>,
    rest: Rest,
    /// Where the pointer went down, on the drawing, and where it is.
    from: Point,
    now: Point,
    /// Where what is held was.
    foot: Point,
    /// Whether it went further than a tap.
    moved: bool,
    /// Whether it rests only where it is let go.
    freely: bool,
    /// Lines on which it rests now.
    lines: [Option<f64>; 2],
}

/// What the gestures need between two of them.
#[derive(Default)]
pub struct HeldHandle {
    /// What the handles were last drawn with.
    pub props: Option<HandlesProps>,
    drag: Option<Drag>,
    throttle: FrameThrottle,
    /// Merge number of a key that is held down.
    keys: Option<u32>,
    /// Whether the click that follows belongs to a drag.
    was_drag: bool,
    /// Until when a click belongs to a tap on the ground, in milliseconds of the page.
    quiet_until: f64,
    /// What keeps its height while something is held.
    steady: Steady,
}

impl HeldHandle {
    /// Whether something is held.
    pub fn is_busy(&self) -> bool {
        self.drag.is_some()
    }

    /// The click of a tap that ended at this time, in milliseconds of the page, picks nothing.
    pub fn pass_over_click(&mut self, ended_ms: f64) {
        self.quiet_until = ended_ms + CLICK_MS;
    }

    /// Lines, east and north, on which what is dragged rests now, and where the finger is that hides it.
    pub fn shown(&self) -> ([Option<f64>; 2], Option<Point>) {
        match self.drag.as_ref().filter(|drag| drag.moved) {
            Some(drag) => (drag.lines, drag.is_touch.then_some(drag.now)),
            None => ([None; 2], None),
        }
    }
}

/// Takes a gesture.
pub fn gestured(hold: &Rc<RefCell<HeldHandle>>, part: Part, grip: Grip, gesture: Gesture) {
    let Some(props) = hold.borrow().props.clone() else { return };
    match gesture {
        Gesture::Click(event) => {
            let is_other = {
                let mut held = hold.borrow_mut();
                std::mem::take(&mut held.was_drag) || event.time_stamp() < held.quiet_until
            };
            if !is_other && grip == Grip::Move {
                if event.shift_key() {
                    props.dispatch.emit(Action::Toggle(part));
                    return;
                }
                props.dispatch.emit(Action::Select(Some(part)));
                let place = pointer_place(&props, &event);
                let reach = if is_coarse() { 22.0 } else { 12.0 };
                props.on_here.emit(part::under(&props.plan, &props.frame, place, reach));
            }
        }
        Gesture::Press(event) => press(hold, &props, part, grip, &event),
        Gesture::Move(event) => {
            let mut held = hold.borrow_mut();
            let throttle = held.throttle.clone();
            let Some(drag) = held.drag.as_mut().filter(|drag| drag.pointer == event.pointer_id()) else { return };
            drag.now = pointer_place(&props, &event);
            drag.freely = event.shift_key();
            drag.moved |= libm::hypot(drag.now[0] - drag.from[0], drag.now[1] - drag.from[1]) > TAP;
            if drag.moved {
                let hold = hold.clone();
                throttle.before_next_frame(move || send_drag(&hold));
            }
        }
        Gesture::Release(event) => {
            if hold.borrow().drag.as_ref().is_some_and(|drag| drag.pointer == event.pointer_id()) {
                send_drag(hold);
                let ended = hold.borrow_mut().drag.take().is_some_and(|drag| drag.moved);
                hold.borrow_mut().was_drag = ended;
                let_go(hold, &props);
                if ended {
                    say_place(hold, part);
                }
            }
        }
        Gesture::Key(event) => key_pressed(hold, &props, part, grip, &event),
        Gesture::Focus => {}
    }
}

/// Whether the page is used by finger.
fn is_coarse() -> bool {
    let asked = web_sys::window().and_then(|window| window.match_media("(pointer: coarse)").ok().flatten());
    asked.is_some_and(|list| list.matches())
}

fn press(hold: &Rc<RefCell<HeldHandle>>, props: &HandlesProps, part: Part, grip: Grip, event: &PointerEvent) {
    if event.button() != 0 || hold.borrow().drag.is_some() {
        return;
    }
    hold.borrow_mut().was_drag = false;
    // A finger may want to scroll the page: its first tap only picks.
    let picked = props.selected == Some(part);
    if event.pointer_type() == "touch" && !picked {
        return;
    }
    let Some(pose) = part::pose(&props.plan, part) else { return };
    let foot = match grip {
        Grip::Move => props.frame.place(pose.place_m[0], pose.place_m[1]),
        _ => {
            let placed = grips(&props.plan, part, &props.frame).into_iter().find(|placed| placed.grip == grip);
            let Some(placed) = placed else { return };
            if grip == Grip::Turn { placed.place } else { placed.foot }
        }
    };
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
    hold.borrow_mut().steady = Steady::hold();
    hold.borrow_mut().drag = Some(Drag {
        part,
        grip,
        pointer: event.pointer_id(),
        is_touch: event.pointer_type() == "touch",
        merge: new_merge(),
        before: props.plan.clone(),
        rest: Rest::of(&props.plan, Some(part), props.units, props.frame.scale),
        from,
        now: from,
        foot,
        moved: false,
        freely: false,
        lines: [None; 2],
    });
    // With shift the click that follows picks it together with the others.
    if !picked && !event.shift_key() && !props.also.has(part) {
        props.dispatch.emit(Action::Select(Some(part)));
    }
}

/// What is picked, if a part is one of several that are.
fn group_of(props: &HandlesProps, part: Part) -> Option<Vec<Part>> {
    let mut set = props.also;
    props.selected.into_iter().for_each(|selected| set.put(selected, true));
    (!props.also.is_empty() && set.has(part)).then(|| set.within(&props.plan))
}

/// Sends where the drag is now, if it is still under way.
fn send_drag(hold: &Rc<RefCell<HeldHandle>>) {
    let sent = {
        let mut held = hold.borrow_mut();
        let HeldHandle { props: Some(props), drag: Some(drag), .. } = &mut *held else { return };
        if !drag.moved {
            return;
        }
        let by = [drag.now[0] - drag.from[0], drag.now[1] - drag.from[1]];
        let to = held_m(&props.frame, drag.foot, by);
        let rest = (props.snaps && !drag.freely).then_some(&drag.rest);
        let group = group_of(props, drag.part).filter(|_| drag.grip == Grip::Move);
        dragged(&drag.before, drag.part, drag.grip, to, rest).map(|(edit, rested)| {
            drag.lines = rested.lines;
            let action = match (&edit, group, part::pose(&drag.before, drag.part)) {
                // The others go as far as the one that is held.
                (Edit::Part(placed), Some(group), Some(was)) => {
                    let is = placed.pose().place_m;
                    let by = [is[0] - was.place_m[0], is[1] - was.place_m[1]];
                    group::action(
                        &props.plan,
                        &group,
                        "moved",
                        group::moved(&drag.before, &group, by),
                        Some(drag.merge),
                    )
                }
                _ => action(&props.plan, drag.part, done(drag.grip), edit, drag.merge),
            };
            (props.dispatch.clone(), action)
        })
    };
    // The reducer may render at once and come back here; nothing may be borrowed then.
    if let Some((dispatch, action)) = sent {
        dispatch.emit(action);
    }
}

fn done(grip: Grip) -> &'static str {
    match grip {
        Grip::Move => "moved",
        Grip::Turn => "turned",
        Grip::Corner(_) => "resized",
    }
}

fn key_pressed(hold: &Rc<RefCell<HeldHandle>>, props: &HandlesProps, part: Part, grip: Grip, event: &KeyboardEvent) {
    if event.ctrl_key() || event.alt_key() || event.meta_key() {
        return;
    }
    let is_arrow = event.key().starts_with("Arrow");
    if grip == Grip::Move && props.selected != Some(part) && (is_arrow || ["Home", "End"].contains(&&*event.key())) {
        // With shift they are the drawing's, which moves under them.
        if !event.shift_key() {
            event.prevent_default();
            event.stop_propagation();
            walk(props, part, &event.key());
        }
        return;
    }
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
            let alone = if event.shift_key() { Action::Toggle(part) } else { Action::Select(Some(part)) };
            props.dispatch.emit(alone);
            return;
        }
        "Delete" | "Backspace" => {
            event.prevent_default();
            // All that is picked goes by the key on the drawing.
            if group_of(props, part).is_none() {
                event.stop_propagation();
                part::deletion(&props.plan, part).into_iter().for_each(|action| props.dispatch.emit(action));
            }
            return;
        }
        "Escape" => {
            if !give_up(hold) {
                props.dispatch.emit(Action::Select(None));
            }
            return;
        }
        _ => return,
    };
    event.prevent_default();
    event.stop_propagation();
    // While a key is held down its steps are one step of undo.
    let merge = hold.borrow().keys.filter(|_| event.repeat()).unwrap_or_else(new_merge);
    hold.borrow_mut().keys = Some(merge);
    if let Some(group) = group_of(props, part).filter(|_| grip == Grip::Move && by_deg == 0.0) {
        let edit = group::moved(&props.plan, &group, [to_east, to_north]);
        props.dispatch.emit(group::action(&props.plan, &group, "moved", edit, Some(merge)));
        say_place(hold, part);
        return;
    }
    let nudged = match grip {
        Grip::Corner(corner) => part::corner_m(&props.plan, part, corner).and_then(|[east, north]| {
            let edit = part::pulled(&props.plan, part, corner, [east + to_east, north + to_north])?;
            Some(action(&props.plan, part, done(grip), edit, merge))
        }),
        // On the knob every arrow turns.
        Grip::Turn if by_deg == 0.0 => {
            let turn = if to_east > 0.0 || to_north < 0.0 { turn } else { -turn };
            nudge(&props.plan, part, [0.0; 2], turn, merge)
        }
        _ => nudge(&props.plan, part, [to_east, to_north], by_deg, merge),
    };
    let Some(nudged) = nudged else { return };
    props.dispatch.emit(Action::Select(Some(part)));
    props.dispatch.emit(nudged);
    say_place(hold, part);
}

/// Takes the focus on to another part, as far as they go.
fn walk(props: &HandlesProps, part: Part, key: &str) {
    let parts = in_walking_order(&props.plan);
    let place = parts.iter().position(|other| *other == part).unwrap_or(0);
    let next = match key {
        "ArrowRight" | "ArrowDown" => place + 1,
        "ArrowLeft" | "ArrowUp" => place.saturating_sub(1),
        "End" => parts.len(),
        _ => 0,
    };
    let Some(next) = parts.get(next.min(parts.len().saturating_sub(1))) else { return };
    let handle = format!("[data-part='{}']", id_of(*next, Grip::Move));
    let found = props.svg.cast::<Element>().and_then(|svg| svg.query_selector(&handle).ok().flatten());
    if let Some(handle) = found.and_then(|found| found.dyn_into::<SvgElement>().ok()) {
        // What cannot take it leaves it where it was.
        let _ = handle.focus();
    }
}

/// The parts as the arrow keys come to them: gates in flight order first.
pub fn in_walking_order(plan: &Plan) -> Vec<Part> {
    let mut parts = Part::all(plan);
    parts.sort_by_key(|part| walking_rank(*part));
    parts
}

/// The later the keys come to a kind, the higher.
pub fn walking_rank(part: Part) -> u8 {
    match part {
        Part::Gate(_) => 0,
        Part::Seat(_) => 1,
        Part::Pad => 2,
        Part::Obstacle(_) => 3,
    }
}

/// The action that moves a part by metres east and north, and turns it.
pub fn nudge(plan: &Plan, part: Part, by_m: [f64; 2], by_deg: f64, merge: u32) -> Option<Action> {
    let pose = part::pose(plan, part)?;
    if by_deg != 0.0 {
        let edit = part::turned(plan, part, pose.turn_deg? + by_deg)?;
        return Some(action(plan, part, "turned", edit, merge));
    }
    let edit = part::moved(plan, part, [pose.place_m[0] + by_m[0], pose.place_m[1] + by_m[1]])?;
    Some(action(plan, part, "moved", edit, merge))
}

/// An edit of a part as an action of its own drag or burst of keys.
fn action(plan: &Plan, part: Part, what: &str, edit: Edit, merge: u32) -> Action {
    Action::Edit { edit, label: part::done(plan, part, what), merge: Some(merge) }
}

/// Ends a drag with the part back where it was. Whether there was one.
pub fn give_up(hold: &Rc<RefCell<HeldHandle>>) -> bool {
    let Some(props) = hold.borrow().props.clone() else { return false };
    let Some(drag) = hold.borrow_mut().drag.take() else { return false };
    let_go(hold, &props);
    let group = group_of(&props, drag.part).unwrap_or_else(|| vec![drag.part]);
    let before = Edit::Several(group.iter().filter_map(|part| part::as_in(&drag.before, *part)).collect());
    if let Some(edit) = Some(before).filter(|_| drag.moved) {
        props.dispatch.emit(action(&props.plan, drag.part, "left where it was", edit, drag.merge));
    }
    true
}

/// Lets what kept its height change it again.
fn let_go(hold: &Rc<RefCell<HeldHandle>>, props: &HandlesProps) {
    std::mem::take(&mut hold.borrow_mut().steady).let_go(props.svg.cast::<Element>().as_ref());
}

/// Says where a part is, once the plan that came of it is here.
fn say_place(hold: &Rc<RefCell<HeldHandle>>, part: Part) {
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
fn pointer_place(props: &HandlesProps, event: &MouseEvent) -> Point {
    let Some(svg) = props.svg.cast::<Element>() else { return [0.0, 0.0] };
    place_on(&svg, &props.frame, event)
}

/// A place of the window on a drawing.
pub fn place_on(svg: &Element, frame: &Frame, event: &MouseEvent) -> Point {
    let shown = svg.get_bounding_client_rect();
    let shrink = if shown.width() > 0.0 { frame.width / shown.width() } else { 1.0 };
    [(f64::from(event.client_x()) - shown.left()) * shrink, (f64::from(event.client_y()) - shown.top()) * shrink]
}
