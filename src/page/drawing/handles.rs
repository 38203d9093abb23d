//! What can be taken hold of on the course: by mouse, by finger, and by keyboard.
//!
//! Arrow keys go from part to part. A picked one they move by a tenth of a metre, with shift by a metre; the bracket keys
//! turn a part; Delete takes it away.
//! [`handle_gestures`](super::handle_gestures) says what the gestures do.

use std::cell::RefCell;
use std::rc::Rc;

use yew::prelude::*;

use crate::format::DisplayUnits;
use crate::kept::kept_as;
use crate::plan::document::Plan;
use crate::plan::part::{Part, PlacedPart};
use crate::state::Action;

use super::frame::Frame;
use super::grips::{Grip, PlacedGrip, grips};
use super::group::PartSet;
use super::handle_gestures::{Gesture, HeldHandle, OnGesture, gestured, in_walking_order, walking_rank};
use super::outline::outline;
use super::part;
use super::path_text::{PathText, Point, at};

/// Properties of [`Handles`].
#[derive(Clone, Properties)]
pub struct HandlesProps {
    /// The plan.
    pub plan: Rc<Plan>,
    /// The picked part.
    pub selected: Option<Part>,
    /// What is picked together with it.
    pub also: PartSet,
    /// Where things are.
    pub frame: Frame,
    /// Units of what is said.
    pub units: DisplayUnits,
    /// Whether dragged parts come to rest by themselves.
    pub snaps: bool,
    /// The drawing, for the place of a pointer on it.
    pub svg: NodeRef,
    /// What the gestures remember; the drawing asks it whether something is held.
    pub hold: Rc<RefCell<HeldHandle>>,
    /// Called with what the person does.
    pub dispatch: Callback<Action>,
    /// Called with a sentence when a part came to rest somewhere else.
    pub say: Callback<String>,
    /// Called with all parts that lie under a tap.
    pub on_here: Callback<Vec<Part>>,
}

impl PartialEq for HandlesProps {
    fn eq(&self, other: &Self) -> bool {
        Rc::ptr_eq(&self.plan, &other.plan)
            && (self.selected, self.also, self.frame, self.units, self.snaps)
                == (other.selected, other.also, other.frame, other.units, other.snaps)
            && self.dispatch == other.dispatch
            && self.say == other.say
    }
}

/// Handles of every part, grips for the picked one, and what helps while one is dragged.
#[component]
pub fn Handles(props: &HandlesProps) -> Html {
    let redraw = use_force_update();
    let hold = props.hold.clone();
    {
        let mut held = hold.borrow_mut();
        held.props = Some(props.clone());
    }
    let (lines, finger) = hold.borrow().shown();
    let was_at = use_state_eq(|| None::<Part>);
    let on_stop = was_at.setter();
    let on_gesture = use_callback((), move |(part, grip, gesture), ()| {
        // What helps while dragging goes when the drag ends, which changes no property.
        let ends = matches!(gesture, Gesture::Release(_));
        if matches!(gesture, Gesture::Focus) {
            return on_stop.set(Some(part));
        }
        gestured(&hold, part, grip, gesture);
        if ends {
            redraw.force_update();
        }
    });

    let HandlesProps { plan, selected, also, frame, units, .. } = props;
    let parts = in_walking_order(plan);
    // One part takes the tab key: the picked one, or else where the focus was; arrow keys go to the others.
    let was = was_at.filter(|part| part.is_in(plan));
    let stop = selected.or(was).or(parts.first().copied());
    let handle = |part, grip, place, shape, label: String| {
        let selected = *selected == Some(part) || grip == Grip::Move && also.has(part);
        let is_stop = grip != Grip::Move || stop == Some(part);
        let label = label.into();
        let props = HandleProps { part, grip, place, shape, label, selected, is_stop, on_gesture: on_gesture.clone() };
        kept_as::<Handle>(id_of(part, grip), props)
    };
    // Later handles lie above earlier ones: what is small above what is large.
    let mut above = parts.clone();
    above.sort_by_key(|part| std::cmp::Reverse(walking_rank(*part)));
    let handles = above.into_iter().filter_map(|item| {
        let placed = PlacedPart::of(plan, item)?;
        let shape = placed.shape().map(|shape| AttrValue::from(outline(shape, frame)));
        let [east, north] = placed.pose().place_m;
        let place = frame.place(east, north);
        Some(handle(item, Grip::Move, place, shape, part::spoken(plan, item, *units)))
    });
    let picked = selected.filter(|item| item.is_in(plan));
    html! {
        <g class="course-handles">
            { for handles }
            if let Some(item) = picked {
                { guides(frame, lines) }
                { for grips(plan, item, frame).into_iter().map(|PlacedGrip { grip, place, foot }| html! {
                    <g key={id_of(item, grip)} class="course-knob">
                        <line x1={at(foot[0])} y1={at(foot[1])} x2={at(place[0])} y2={at(place[1])} />
                        { handle(item, grip, place, None, grip_name(plan, item, grip)) }
                    </g>
                }) }
                { for finger.map(|finger| lens(frame, finger)) }
                { place_label(plan, item, frame, *units) }
            }
        </g>
    }
}

/// What a grip is called.
fn grip_name(plan: &Plan, part: Part, grip: Grip) -> String {
    let name = part::name(plan, part);
    match grip {
        Grip::Corner(index) => format!("Corner {} of {name}", index + 1),
        _ => format!("Turn {name}"),
    }
}

/// Lines right across the drawing on which something came to rest.
pub fn guides(frame: &Frame, [east, north]: [Option<f64>; 2]) -> Html {
    let ([left, right], [top, bottom]) = (frame.across(), frame.down());
    let mut path = PathText::new();
    if let Some(east) = east {
        let [x, _] = frame.place(east, 0.0);
        path.polyline(&[[x, top], [x, bottom]]);
    }
    if let Some(north) = north {
        let [_, y] = frame.place(0.0, north);
        path.polyline(&[[left, y], [right, y]]);
    }
    html! { <path class="course-guides" d={path.text()} /> }
}

/// What lies under a finger, enlarged, above it.
pub fn lens(frame: &Frame, [x, y]: Point) -> Html {
    const RADIUS: f64 = 52.0;
    const TIMES: f64 = 2.0;
    let centre_x = x.clamp(RADIUS, (frame.width - RADIUS).max(RADIUS));
    // Above the finger; where there is no room, beside it.
    let (centre_x, centre_y) = if y > 2.4 * RADIUS {
        (centre_x, y - 1.7 * RADIUS)
    } else if x > frame.width / 2.0 {
        (x - 2.0 * RADIUS, y.max(RADIUS))
    } else {
        (x + 2.0 * RADIUS, y.max(RADIUS))
    };
    let drawn = format!("translate({} {}) scale({TIMES})", at(centre_x - x * TIMES), at(centre_y - y * TIMES));
    let mut cross = PathText::new();
    cross.polyline(&[[centre_x - 9.0, centre_y], [centre_x + 9.0, centre_y]]);
    cross.polyline(&[[centre_x, centre_y - 9.0], [centre_x, centre_y + 9.0]]);
    let circle = |class: &'static str| {
        html! { <circle {class} cx={at(centre_x)} cy={at(centre_y)} r={at(RADIUS)} /> }
    };
    html! {
        <g class="course-lens" aria-hidden="true">
            <clipPath id="course-lens-clip">{ circle("") }</clipPath>
            { circle("is-ground") }
            <g clip-path="url(#course-lens-clip)"><use href="#course-all" transform={drawn} /></g>
            { circle("is-rim") }
            <path d={cross.text()} />
        </g>
    }
}

/// Where the picked part is and how long, written beside it.
fn place_label(plan: &Plan, part: Part, frame: &Frame, units: DisplayUnits) -> Html {
    let Some(pose) = part::pose(plan, part) else { return html! {} };
    let place = part::short_place(pose, units);
    let text = match part::lengths(plan, part, units) {
        Some(lengths) => format!("{lengths} · {place}"),
        None => place,
    };
    let [x, y] = frame.place(pose.place_m[0], pose.place_m[1]);
    // Above the part and its grips, or below them where there is no room above.
    let grips = grips(plan, part, frame);
    let top = grips.iter().map(|grip| grip.place[1]).fold(y - 36.0, f64::min);
    let bottom = grips.iter().map(|grip| grip.place[1]).fold(y + 36.0, f64::max);
    let y = if top < 34.0 { bottom + 24.0 } else { top - 14.0 };
    label(frame, [x, y], text)
}

/// A text on the drawing, kept within it.
pub fn label(frame: &Frame, [x, y]: Point, text: String) -> Html {
    // Half the text's width at about eight pixels a letter keeps it in sight.
    let half = text.chars().count() as f64 * 4.0 + 4.0;
    let [left, right] = frame.across();
    let x = x.clamp(left + half, (right - half).max(left + half));
    html! {
        <text class="course-place" x={at(x)} y={at(y.clamp(14.0, frame.height - 6.0))} aria-hidden="true">{ text }</text>
    }
}

#[derive(Clone, Properties, PartialEq)]
struct HandleProps {
    part: Part,
    grip: Grip,
    place: Point,
    /// Outline for what is large; otherwise a disc.
    shape: Option<AttrValue>,
    label: AttrValue,
    selected: bool,
    /// Whether the tab key comes to it.
    is_stop: bool,
    on_gesture: OnGesture,
}

/// One thing to take hold of. Its own component, so that a drag renders only the handle that moves.
#[component]
fn Handle(props: &HandleProps) -> Html {
    let HandleProps { part, grip, place: [x, y], shape, label, selected, is_stop, on_gesture } = props;
    let (part, grip) = (*part, *grip);
    let on = |make: fn(PointerEvent) -> Gesture| on_gesture.reform(move |event| (part, grip, make(event)));
    let onkeydown = on_gesture.reform(move |event| (part, grip, Gesture::Key(event)));
    let onclick = on_gesture.reform(move |event| (part, grip, Gesture::Click(event)));
    let onfocus = on_gesture.reform(move |_: FocusEvent| (part, grip, Gesture::Focus));
    let how = match grip {
        Grip::Move if *selected => "Drag to move it, or use the arrow keys; [ and ] turn it.",
        Grip::Move => {
            "Drag to move it. By finger or keys: tap it or press Enter first, then drag or use the arrow keys."
        }
        Grip::Turn => "Drag to turn it, or use the arrow keys.",
        Grip::Corner(_) => "Drag to resize it, or use the arrow keys.",
    };
    let (kind, radius) = match grip {
        Grip::Turn => ("is-knob".to_owned(), "6"),
        Grip::Corner(_) => ("is-knob is-corner".to_owned(), "5"),
        Grip::Move => (format!("is-{}", kind_and_number(part).0), "15"),
    };
    html! {
        <g class={classes!("course-handle", kind, selected.then_some("is-selected"))} role="button"
            tabindex={if *is_stop { "0" } else { "-1" }} aria-label={label} aria-description={how} aria-pressed={(grip == Grip::Move).then_some(if *selected { "true" } else { "false" })}
            data-part={id_of(part, grip)}
            onpointerdown={on(Gesture::Press)} onpointermove={on(Gesture::Move)} onpointerup={on(Gesture::Release)}
            onpointercancel={on(Gesture::Release)} {onkeydown} {onclick} {onfocus}>
            <title>{ how }</title>
            if let Some(outline) = shape {
                <path class="is-area" d={outline} />
            } else {
                <circle class="is-ring" cx={at(*x)} cy={at(*y)} r={radius} />
                <circle class="is-area" cx={at(*x)} cy={at(*y)} r={if grip == Grip::Move { "17" } else { "12" }} />
            }
        </g>
    }
}

/// A short name of a handle for tests and style: "gate-2", "seat-0-turn", "obstacle-1-corner-0".
pub fn id_of(part: Part, grip: Grip) -> String {
    let (kind, index) = kind_and_number(part);
    match grip {
        Grip::Move => format!("{kind}-{index}"),
        Grip::Turn => format!("{kind}-{index}-turn"),
        Grip::Corner(corner) => format!("{kind}-{index}-corner-{corner}"),
    }
}

fn kind_and_number(part: Part) -> (&'static str, usize) {
    match part {
        Part::Gate(index) => ("gate", index),
        Part::Seat(index) => ("seat", index),
        Part::Obstacle(index) => ("obstacle", index),
        Part::Pad => ("pad", 0),
    }
}
