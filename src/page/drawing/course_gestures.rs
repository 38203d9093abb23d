//! What a person does on the drawing itself: looks about, adds parts, taps where a picked part goes.
//!
//! One finger on open ground pans an enlarged drawing, two fingers pinch it, the wheel enlarges about the pointer. With
//! a kind chosen to add, a tap puts one where it is, and a drag says how long or which way.

use std::cell::RefCell;
use std::rc::Rc;

use wasm_bindgen::JsCast;
use web_sys::Element;
use yew::prelude::*;

use crate::format::DisplayUnits;
use crate::plan::document::{ObstacleShape, Plan};
use crate::plan::fresh::{self, Kind};
use crate::plan::part::{Part, PlacedPart};
use crate::plan::shape::tenths;
use crate::state::Action;
use crate::underlay::Underlay;

use super::frame::Frame;
use super::group::{self, PartSet};
use super::handle_gestures::{HeldHandle, TAP, give_up, new_merge, place_on};
use super::handles::{guides, label, lens};
use super::ink;
use super::keys;
use super::marks;
use super::outline::outline;
use super::part;
use super::path_text::{PathText, Point, at};
use super::snap::{Rest, Rested};
use super::viewport::{self, Viewport};

/// What a tap on the drawing does.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Mode {
    /// It picks what is there.
    #[default]
    Pick,
    /// The picked part goes there.
    Place,
    /// A new part comes there.
    Add(Kind),
    /// A line begins or ends there, over a known distance of the picture under the drawing.
    Mark,
    /// A line begins or ends there, along which that picture is pushed.
    Push,
}

impl Mode {
    /// What a tap or a drag draws: a part, or a line of no kind; `None` while it draws nothing.
    fn draws(self) -> Option<Option<Kind>> {
        match self {
            Self::Pick | Self::Place => None,
            Self::Add(kind) => Some(Some(kind)),
            Self::Mark | Self::Push => Some(None),
        }
    }
}

/// A part that is being added.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sketch {
    /// Where it begins.
    from: [f64; 2],
    /// Where the pointer is, and on which lines that rests.
    to: Rested,
    /// Where a finger hides the drawing.
    finger: Option<Point>,
    /// Whether it is a wall that goes on from the last tap.
    goes_on: bool,
}

/// What the gestures work with, as of the last time the drawing was drawn.
#[derive(Clone)]
pub struct CourseGestures {
    /// The plan.
    pub plan: Rc<Plan>,
    /// The picked part.
    pub selected: Option<Part>,
    /// Everything that is picked.
    pub picked: Vec<Part>,
    /// What was copied.
    pub copied: Rc<RefCell<Vec<PlacedPart>>>,
    /// The frame of the whole site.
    pub fit: Frame,
    /// Units of the grid.
    pub units: DisplayUnits,
    /// Whether new parts come to rest by themselves.
    pub snaps: bool,
    /// The drawing.
    pub svg: NodeRef,
    /// What is in sight.
    pub viewport: UseStateHandle<Viewport>,
    /// What a tap does.
    pub mode: UseStateHandle<Mode>,
    /// What is being added.
    pub sketch: UseStateHandle<Option<Sketch>>,
    /// What the handles remember.
    pub hold: Rc<RefCell<HeldHandle>>,
    /// What the ground remembers.
    pub fingers: Rc<RefCell<Fingers>>,
    /// The picture under the drawing.
    pub underlay: Underlay,
    /// Called with what the person does.
    pub dispatch: Callback<Action>,
}

/// Pointers that are down.
#[derive(Default)]
pub struct Fingers {
    down: Vec<(i32, Point)>,
    /// Where the first went down.
    from: Point,
    /// Whether they went further than a tap.
    moved: bool,
    /// Whether the first went down on a handle.
    on_handle: bool,
    /// The viewport as it was last asked for; what is drawn may be a frame behind.
    viewport: Viewport,
}

impl CourseGestures {
    /// The frame of what is in sight.
    pub fn frame(&self) -> Frame {
        self.fit.seen(*self.viewport)
    }

    /// Where on the drawing a pointer is.
    pub fn place(&self, event: &MouseEvent) -> Point {
        self.svg.cast::<Element>().map_or([0.0; 2], |svg| place_on(&svg, &self.fit, event))
    }

    /// A pointer went down.
    pub fn press(&self, event: &PointerEvent) {
        if event.button() != 0 {
            return;
        }
        let place = self.place(event);
        let target = event.target().and_then(|target| target.dyn_into::<Element>().ok());
        let on_handle = target.as_ref().is_some_and(|area| area.closest(".course-handle").ok().flatten().is_some());
        let count = {
            let mut fingers = self.fingers.borrow_mut();
            fingers.down.retain(|(pointer, _)| *pointer != event.pointer_id());
            fingers.down.push((event.pointer_id(), place));
            if fingers.down.len() == 1 {
                (fingers.from, fingers.moved, fingers.on_handle) = (place, false, on_handle);
            }
            fingers.down.len()
        };
        if count > 1 {
            // The first finger was the beginning of a pinch.
            give_up(&self.hold);
            self.sketch.set(None);
            return;
        }
        if self.hold.borrow().is_busy() {
            return;
        }
        if let Some(kind) = self.mode.draws() {
            let before = (*self.sketch).filter(|sketch| sketch.goes_on);
            let from = before.map(|sketch| sketch.from);
            let to = self.rest(kind, from, place, event.shift_key());
            let finger = (event.pointer_type() == "touch").then_some(place);
            let from = from.unwrap_or(to.place_m);
            self.sketch.set(Some(Sketch { from, to, finger, goes_on: before.is_some() }));
        }
        if *self.mode == Mode::Pick && event.shift_key() && !on_handle {
            // The first corner of a box.
            let place_m = self.frame().site_point(place);
            let to = Rested { place_m, lines: [None; 2] };
            self.sketch.set(Some(Sketch { from: place_m, to, finger: None, goes_on: false }));
        }
        // Without capture the gesture ends at the drawing's edge, which is a nuisance but no error.
        if let Some(svg) = self.svg.cast::<Element>().filter(|_| !on_handle) {
            let _ = svg.set_pointer_capture(event.pointer_id());
        }
    }

    /// A pointer moved.
    pub fn moved(&self, event: &PointerEvent) {
        let place = self.place(event);
        let mut fingers = self.fingers.borrow_mut();
        let Some(index) = fingers.down.iter().position(|(pointer, _)| *pointer == event.pointer_id()) else {
            drop(fingers);
            // A wall that goes on follows the mouse.
            if let (Some(kind), Some(sketch)) = (self.mode.draws(), *self.sketch) {
                self.sketch
                    .set(Some(Sketch { to: self.rest(kind, Some(sketch.from), place, event.shift_key()), ..sketch }));
            }
            return;
        };
        let before = std::mem::replace(&mut fingers.down[index].1, place);
        let by = [place[0] - before[0], place[1] - before[1]];
        let from = fingers.from;
        fingers.moved |= libm::hypot(place[0] - from[0], place[1] - from[1]) > TAP;
        if fingers.down.len() > 1 {
            let other = fingers.down[usize::from(index == 0)].1;
            let apart = |one: Point| libm::hypot(one[0] - other[0], one[1] - other[1]).max(1.0);
            let middle = |one: Point| [(one[0] + other[0]) / 2.0, (one[1] + other[1]) / 2.0];
            fingers.moved = true;
            drop(fingers);
            self.see(|viewport, fit| {
                let zoomed = viewport.zoomed(fit, middle(before), apart(place) / apart(before));
                zoomed.panned(fit, [by[0] / 2.0, by[1] / 2.0])
            });
        } else if let (Some(kind), Some(sketch)) = (self.mode.draws(), *self.sketch) {
            let to = self.rest(kind, Some(sketch.from), place, event.shift_key());
            self.sketch.set(Some(Sketch { to, finger: sketch.finger.map(|_| place), ..sketch }));
        } else if let (Mode::Pick, Some(sketch)) = (*self.mode, *self.sketch) {
            let to = Rested { place_m: self.frame().site_point(place), lines: [None; 2] };
            self.sketch.set(Some(Sketch { to, ..sketch }));
        } else if fingers.moved && !self.hold.borrow().is_busy() {
            drop(fingers);
            self.see(|viewport, fit| viewport.panned(fit, by));
        }
    }

    /// A pointer went up, or was taken away by the browser.
    pub fn release(&self, event: &PointerEvent) {
        let (alone, moved, on_handle) = {
            let mut fingers = self.fingers.borrow_mut();
            let count = fingers.down.len();
            fingers.down.retain(|(pointer, _)| *pointer != event.pointer_id());
            (count == 1 && fingers.down.is_empty(), fingers.moved, fingers.on_handle)
        };
        if event.type_() != "pointerup" {
            self.sketch.set(None);
            return;
        }
        if !alone {
            return;
        }
        if *self.mode != Mode::Pick {
            // The click that follows finds what lies under the new part.
            self.hold.borrow_mut().pass_over_click(event.time_stamp());
        }
        match *self.mode {
            Mode::Pick if self.sketch.is_some() => {
                self.pick_in_box();
                self.sketch.set(None);
            }
            Mode::Pick if !moved && !on_handle => self.dispatch.emit(Action::Select(None)),
            Mode::Place if !moved => {
                if let Some(picked) = self.selected {
                    let [east, north] = self.frame().site_point(self.place(event));
                    if let Some(edit) = part::moved(&self.plan, picked, [east, north].map(tenths)) {
                        let label = part::done(&self.plan, picked, "moved");
                        self.dispatch.emit(Action::Edit { edit, label, merge: Some(new_merge()) });
                    }
                }
                self.mode.set(Mode::Pick);
            }
            Mode::Pick | Mode::Place => {}
            mode => {
                if let Some(kind) = mode.draws() {
                    self.let_go(kind, moved);
                }
            }
        }
    }

    /// Picks what has its middle in the box that was drawn.
    fn pick_in_box(&self) {
        let Some(Sketch { from, to, .. }) = *self.sketch else { return };
        let is_in =
            |place: [f64; 2]| (0..2).all(|axis| (place[axis] - from[axis]) * (place[axis] - to.place_m[axis]) <= 0.0);
        let parts = Part::all(&self.plan).into_iter();
        let found = parts.filter(|item| part::pose(&self.plan, *item).is_some_and(|pose| is_in(pose.place_m)));
        self.dispatch.emit(Action::Pick(PartSet::of(found)));
    }

    /// Keys with Control for all that is picked. Whether it was one.
    fn key_for_picked(&self, key: &str) -> bool {
        let done = match key {
            "a" => vec![Action::Pick(PartSet::of(Part::all(&self.plan)))],
            "c" | "x" => {
                self.copied.replace(group::copied(&self.plan, &self.picked));
                if key == "x" { self.deletion() } else { Vec::new() }
            }
            "v" => group::paste(&self.plan, &self.copied.borrow(), "pasted"),
            "d" => group::paste(&self.plan, &group::copied(&self.plan, &self.picked), "duplicated"),
            _ => return false,
        };
        done.into_iter().for_each(|action| self.dispatch.emit(action));
        true
    }

    /// What takes away all that is picked.
    fn deletion(&self) -> Vec<Action> {
        match self.picked[..] {
            [only] => part::deletion(&self.plan, only).into_iter().collect(),
            _ => {
                let edit = group::deleted(&self.picked).into_iter();
                edit.map(|edit| group::action(&self.plan, &self.picked, "deleted", edit, None)).collect()
            }
        }
    }

    /// Ends the sketch: with a part, or with the beginning of a wall.
    fn let_go(&self, kind: Option<Kind>, dragged: bool) {
        let Some(sketch) = *self.sketch else { return };
        let apart = libm::hypot(sketch.to.place_m[0] - sketch.from[0], sketch.to.place_m[1] - sketch.from[1]);
        let other = (apart > 0.05 && (dragged || sketch.goes_on)).then_some(sketch.to.place_m);
        if matches!(kind, None | Some(Kind::Wall)) && other.is_none() {
            // The first tap of a wall or a line; a second one at the same place ends it.
            self.sketch.set((!sketch.goes_on).then_some(Sketch { goes_on: true, finger: None, ..sketch }));
            return;
        }
        let Some(kind) = kind else {
            let line_m = [sketch.from, sketch.to.place_m];
            let lies = self.underlay.memory().laid.as_ref().map(|laid| laid.lies);
            match (*self.mode, lies) {
                (Mode::Mark, _) => self.underlay.mark(line_m),
                (_, Some(lies)) => self.underlay.place(lies.shifted(line_m)),
                _ => {}
            }
            self.sketch.set(None);
            self.mode.set(Mode::Pick);
            return;
        };
        self.add(fresh::part(&self.plan, kind, sketch.from, other));
        // Every kind stays in hand until Escape, its button, or another kind. Taps go on where a wall ended; a dragged wall is
        // done.
        let goes_on = kind == Kind::Wall && sketch.goes_on && !dragged;
        self.sketch.set(goes_on.then_some(Sketch { from: sketch.to.place_m, finger: None, ..sketch }));
    }

    fn add(&self, new: PlacedPart) {
        part::addition(new).into_iter().for_each(|action| self.dispatch.emit(action));
    }

    /// A kind was chosen to add. By keyboard one comes near the middle of what is in sight, and is picked; with a pointer
    /// the place follows. Choosing it again ends adding.
    pub fn choose(&self, kind: Kind, by_keyboard: bool) {
        self.sketch.set(None);
        if *self.mode == Mode::Add(kind) {
            self.mode.set(Mode::Pick);
        } else if by_keyboard {
            self.mode.set(Mode::Pick);
            let [easts, norths] = self.frame().in_sight_m();
            let middle = [(easts[0] + easts[1]) / 2.0, (norths[0] + norths[1]) / 2.0];
            let rest = Rest::of(&self.plan, None, self.units, f64::INFINITY);
            self.add(fresh::part_near(&self.plan, kind, rest.place(middle, &[[0.0; 2]]).place_m));
            focus_later("g.course-handle.is-selected[aria-pressed]");
        } else {
            self.mode.set(Mode::Add(kind));
        }
    }

    /// Where a pointer on the drawing comes to rest.
    fn rest(&self, kind: Option<Kind>, from: Option<[f64; 2]>, place: Point, freely: bool) -> Rested {
        let frame = self.frame();
        let place_m = frame.site_point(place);
        // A line over a picture goes by what is seen there.
        if !self.snaps || freely || kind.is_none() {
            return Rested { place_m, lines: [None; 2] };
        }
        let rest = Rest::of(&self.plan, None, self.units, frame.scale);
        match from.filter(|_| kind == Some(Kind::Wall)) {
            Some(from) => rest.end(from, place_m),
            None => rest.place(place_m, &[[0.0; 2]]),
        }
    }

    /// The wheel turned over the drawing.
    pub fn wheel(&self, event: &WheelEvent) {
        let lines = if event.delta_mode() == WheelEvent::DOM_DELTA_PIXEL { 1.0 } else { 30.0 };
        let factor = libm::exp(-event.delta_y() * lines / 400.0);
        // Beyond the whole site the wheel is the page's.
        if factor < 1.0 && self.viewport.is_whole() && !event.ctrl_key() {
            return;
        }
        event.prevent_default();
        let place = self.place(event);
        self.see(|viewport, fit| viewport.zoomed(fit, place, factor.clamp(0.2, 5.0)));
    }

    /// Shows more or less, or another part, of the site.
    pub fn see(&self, change: impl FnOnce(Viewport, &Frame) -> Viewport) {
        let mut fingers = self.fingers.borrow_mut();
        fingers.viewport = change(fingers.viewport, &self.fit);
        self.viewport.set(fingers.viewport);
    }

    /// Enlarges about the picked part, or else about the middle.
    pub fn zoom(&self, factor: f64) {
        let frame = self.frame();
        let picked = self.selected.and_then(|picked| part::pose(&self.plan, picked));
        let place = match picked {
            Some(pose) => frame.place(pose.place_m[0], pose.place_m[1]),
            None => [frame.width / 2.0, frame.height / 2.0],
        };
        self.see(|viewport, fit| viewport.zoomed(fit, place, factor));
    }

    /// A key was pressed on the drawing, and no handle took it.
    pub fn key(&self, event: &KeyboardEvent) {
        if (event.ctrl_key() || event.meta_key()) && !event.alt_key() && self.key_for_picked(&event.key()) {
            event.prevent_default();
            return;
        }
        if event.ctrl_key() || event.alt_key() || event.meta_key() {
            return;
        }
        let stride = viewport::STRIDE;
        let pan = |by| self.see(|viewport, fit| viewport.panned(fit, by));
        match event.key().as_str() {
            "+" | "=" => self.zoom(viewport::STEP),
            "-" => self.zoom(1.0 / viewport::STEP),
            "0" => self.see(|_, _| Viewport::default()),
            "ArrowLeft" => pan([stride, 0.0]),
            "ArrowRight" => pan([-stride, 0.0]),
            "ArrowUp" => pan([0.0, stride]),
            "ArrowDown" => pan([0.0, -stride]),
            "Delete" | "Backspace" => self.deletion().into_iter().for_each(|action| self.dispatch.emit(action)),
            "?" => keys::open(),
            "Escape" => {
                if self.sketch.is_some() {
                    self.sketch.set(None);
                } else if *self.mode != Mode::Pick {
                    self.mode.set(Mode::Pick);
                } else {
                    self.dispatch.emit(Action::Select(None));
                }
            }
            _ => return,
        }
        event.prevent_default();
    }

    /// Brings a part that the keys came to into sight.
    pub fn show_focused(&self, event: &FocusEvent) {
        let focused = event.target().and_then(|target| target.dyn_into::<Element>().ok());
        let focused = focused.filter(|focused| focused.has_attribute("data-part"));
        let Some(area) = focused.and_then(|handle| handle.query_selector(".is-area").ok().flatten()) else { return };
        let Some(svg) = self.svg.cast::<Element>() else { return };
        let (area, shown) = (area.get_bounding_client_rect(), svg.get_bounding_client_rect());
        let middle = [area.left() + area.width() / 2.0 - shown.left(), area.top() + area.height() / 2.0 - shown.top()];
        let (frame, [x, y]) = (self.frame(), middle);
        let ([left, right], [top, bottom]) = (frame.across(), frame.down());
        if !(left..=right).contains(&x) || !(top..=bottom).contains(&y) {
            let by = [(left + right) / 2.0 - x, (top + bottom) / 2.0 - y];
            self.see(|viewport, fit| viewport.panned(fit, by));
        }
    }

    /// What is being added, as far as it goes.
    pub fn preview(&self) -> Html {
        let Some(sketch) = *self.sketch else { return html! {} };
        let frame = self.frame();
        let Some(kind) = self.mode.draws() else {
            let [one, other] = [sketch.from, sketch.to.place_m].map(|[east, north]| frame.place(east, north));
            let corner = [one[0].min(other[0]), one[1].min(other[1])];
            let sides = [(one[0] - other[0]).abs(), (one[1] - other[1]).abs()];
            return ink::unspoken("course-sketch", vec![ink::rectangle("is-box", corner, sides)]);
        };
        let other = (sketch.to.place_m != sketch.from).then_some(sketch.to.place_m);
        let start = frame.place(sketch.from[0], sketch.from[1]);
        let [x, y] = frame.place(sketch.to.place_m[0], sketch.to.place_m[1]);
        let part = kind.map(|kind| fresh::part(&self.plan, kind, sketch.from, other));
        let (shape, text) = match part {
            None => (PathText::new().polyline(&[start, [x, y]]).text(), String::new()),
            Some(part) => self.sketched(part, other, start, [x, y]),
        };
        html! {
            <g class="course-sketch" aria-hidden="true">
                { guides(&frame, sketch.to.lines) }
                <path d={shape} />
                <circle cx={at(x)} cy={at(y)} r="4" />
                { for sketch.finger.map(|finger| lens(&frame, finger)) }
                { label(&frame, [x, y - 18.0], text) }
            </g>
        }
    }

    /// A part that is being added: its outline or sign, and how long it is. Without another end a wall is a cross.
    fn sketched(&self, part: PlacedPart, other: Option<[f64; 2]>, start: Point, [x, y]: Point) -> (String, String) {
        let frame = self.frame();
        let is_bare_wall = matches!(part.shape(), Some(ObstacleShape::Wall(_))) && other.is_none();
        match (part.shape(), part.pose().turn_deg) {
            (Some(shape), _) if !is_bare_wall => (outline(shape, &frame), part::shape_lengths(shape, self.units)),
            (None, Some(turn)) => (marks::arrow(start, turn, 22.0, 7.0), String::new()),
            _ => {
                let mut cross = PathText::new();
                cross.polyline(&[[x - 7.0, y], [x + 7.0, y]]).polyline(&[[x, y - 7.0], [x, y + 7.0]]);
                (cross.text(), String::new())
            }
        }
    }
}

/// Puts the focus on what a selector finds, once the page has followed.
pub fn focus_later(selector: &'static str) {
    let focus = move || {
        let found = gloo::utils::document().query_selector(selector).ok().flatten();
        if let Some(found) = found.and_then(|found| found.dyn_into::<web_sys::SvgElement>().ok()) {
            let _ = found.focus();
        }
    };
    gloo::timers::callback::Timeout::new(60, focus).forget();
}
