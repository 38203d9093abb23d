//! Fields and nudge buttons for the picked part.

use std::borrow::Cow;
use std::rc::Rc;

use yew::prelude::*;

use crate::fields::{ChoiceField, NumberField, TextField};
use crate::plan::document::{ObstacleShape, Plan};
use crate::plan::edit::Edit;
use crate::plan::fresh::FRAME;
use crate::plan::part::{Part, PlacedPart};
use crate::plan::{layout, limits};
use crate::rf::material::Material;
use crate::state::{Action, View};

use super::grips::Grip;
use super::group;
use super::handle_gestures::{new_merge, nudge};
use super::handles::id_of;
use super::part;
use super::part_numbers::numbers;

/// Properties of [`PartFields`].
#[derive(Clone, Properties)]
pub struct PartFieldsProps {
    /// The plan.
    pub plan: Rc<Plan>,
    /// What the person looks at.
    pub view: View,
    /// Called with what the person does.
    pub dispatch: Callback<Action>,
}

impl PartialEq for PartFieldsProps {
    fn eq(&self, other: &Self) -> bool {
        Rc::ptr_eq(&self.plan, &other.plan)
            && (self.view.selected, self.view.also) == (other.view.selected, other.view.also)
            && self.dispatch == other.dispatch
    }
}

/// Everything about the picked part that can be typed.
#[component]
pub fn PartFields(props: &PartFieldsProps) -> Html {
    let PartFieldsProps { plan, view, dispatch } = props;
    let Some(placed) = view.selected.and_then(|picked| PlacedPart::of(plan, picked)) else {
        return html! {
            <div class="parts">
                <p class="parts-none">{ "Select a gate, a seat, the start pad or an obstacle on the course to see its measures." }</p>
            </div>
        };
    };
    let picked = placed.part();
    if !view.also.is_empty() {
        return together(plan, &group::picked(plan, *view), dispatch);
    }
    html! {
        <div class="parts">
            <h3>{ part::name(plan, picked) }</h3>
            <div class="parts-acts">
                { nudges(plan, picked, placed.pose().turn_deg.is_some(), dispatch) }
                { coming_and_going(plan, picked, dispatch) }
            </div>
            // Another part's fields are other fields, not the same ones with other numbers.
            <div class="parts-fields" key={id_of(picked, Grip::Move)}>{ fields(plan, &placed, dispatch) }</div>
        </div>
    }
}

/// Buttons for several parts that are picked together.
fn together(plan: &Rc<Plan>, parts: &[Part], dispatch: &Callback<Action>) -> Html {
    let on_double = {
        let (plan, copied, dispatch) = (plan.clone(), group::copied(plan, parts), dispatch.clone());
        move |_: MouseEvent| {
            group::paste(&plan, &copied, "duplicated").into_iter().for_each(|action| dispatch.emit(action));
        }
    };
    let on_delete = {
        let (plan, parts, dispatch) = (plan.clone(), parts.to_vec(), dispatch.clone());
        move |_: MouseEvent| {
            let edit = group::deleted(&parts).into_iter();
            edit.for_each(|edit| dispatch.emit(group::action(&plan, &parts, "deleted", edit, None)));
        }
    };
    html! {
        <div class="parts">
            <h3 id="parts-together">{ format!("{} parts", parts.len()) }</h3>
            <div class="parts-go">
                <button type="button" id="part-double" class="button" onclick={on_double}>{ "Duplicate" }</button>
                <button type="button" id="part-delete" class="button" onclick={on_delete}>{ "Delete" }</button>
            </div>
            <p class="field-note">{ "Drag one of them, or press the arrow keys on it, to move all." }</p>
        </div>
    }
}

/// Buttons that move a part a little and turn it, for those who neither drag nor type.
fn nudges(plan: &Rc<Plan>, picked: Part, turns: bool, dispatch: &Callback<Action>) -> Html {
    let button = |words: &'static str, sign: &'static str, place: &'static str, by_m: [f64; 2], by_deg: f64| {
        let (plan, dispatch) = (plan.clone(), dispatch.clone());
        let onclick = move |event: MouseEvent| {
            let by_m = if event.shift_key() { by_m.map(|metres| metres * 10.0) } else { by_m };
            if let Some(action) = nudge(&plan, picked, by_m, by_deg, new_merge()) {
                dispatch.emit(action);
            }
        };
        html! { <button type="button" class={classes!("button", "parts-nudge", place)} aria-label={words} title={words} {onclick}>{ sign }</button> }
    };
    let step = part::NUDGE_M;
    html! {
        <div class="parts-nudges" role="group" aria-label="Move a little">
            { button("0.1 m to the north", "↑", "is-north", [0.0, step], 0.0) }
            { button("0.1 m to the west", "←", "is-west", [-step, 0.0], 0.0) }
            { button("0.1 m to the east", "→", "is-east", [step, 0.0], 0.0) }
            { button("0.1 m to the south", "↓", "is-south", [0.0, -step], 0.0) }
            if turns {
                { button("5 degrees to the left", "↺", "is-left", [0.0, 0.0], -part::TURN_DEG) }
                { button("5 degrees to the right", "↻", "is-right", [0.0, 0.0], part::TURN_DEG) }
            }
        </div>
    }
}

/// Buttons that double the picked part and take it away.
fn coming_and_going(plan: &Rc<Plan>, picked: Part, dispatch: &Callback<Action>) -> Html {
    if picked == Part::Pad {
        return html! {};
    }
    let on_double = {
        let (plan, dispatch) = (plan.clone(), dispatch.clone());
        move |_: MouseEvent| {
            let twin = layout::duplicate(&plan, picked).map(part::addition);
            twin.into_iter().flatten().for_each(|action| dispatch.emit(action));
        }
    };
    let on_delete = {
        let (plan, dispatch) = (plan.clone(), dispatch.clone());
        move |_: MouseEvent| part::deletion(&plan, picked).into_iter().for_each(|action| dispatch.emit(action))
    };
    html! {
        <div class="parts-go">
            <button type="button" id="part-double" class="button" onclick={on_double}>{ "Duplicate" }</button>
            <button type="button" id="part-delete" class="button" onclick={on_delete}>{ "Delete" }</button>
            if let Some(left) = layout::left_behind(plan, picked) {
                <p class="field-note">{ format!("If it is deleted, {left}.") }</p>
            }
        </div>
    }
}

/// Name, material and numbers of the picked part, as far as it has them.
fn fields(plan: &Plan, placed: &PlacedPart, dispatch: &Callback<Action>) -> Html {
    let fields = PartEdits { called: part::name(plan, placed.part()), placed, dispatch };
    let name = placed.clone().name_mut().cloned().map(|name| {
        let on_commit = fields.on_change(|part, typed: String| {
            part.name_mut().into_iter().for_each(|name| name.clone_from(&typed));
            "renamed".into()
        });
        html! { <TextField id="part-name" label="Name" value={name} longest={limits::NAME.max} {on_commit} /> }
    });
    let frame = if let PlacedPart::Gate(_, gate) = placed { Some(gate.frame.is_some()) } else { None };
    let frame = frame.map(|is_metal| {
        let on_choose = fields.on_change(|part, chosen: usize| {
            let PlacedPart::Gate(_, gate) = part else { return "unchanged".into() };
            gate.frame = (chosen == 1).then(|| gate.frame.take().unwrap_or(FRAME));
            if chosen == 1 { "framed in metal".into() } else { "without metal".into() }
        });
        let options: Vec<AttrValue> = vec!["Fabric, foam or plastic".into(), "Metal".into()];
        html! { <ChoiceField id="part-frame" label="Frame" {options} chosen={Some(usize::from(is_metal))} {on_choose} /> }
    });
    let walls = placed.clone().shape_mut().and_then(ObstacleShape::walls_mut).map(|(material, _)| *material);
    let material = walls.map(|made_of| {
        let on_choose = fields.on_change(|part, chosen: usize| {
            let walls = part.shape_mut().and_then(ObstacleShape::walls_mut);
            let Some(((material, _), &other)) = walls.zip(MATERIALS.get(chosen)) else { return "unchanged".into() };
            *material = other;
            format!("made of {other}").into()
        });
        let options: Vec<AttrValue> = MATERIALS.iter().map(|material| AttrValue::from(material.to_string())).collect();
        let chosen = MATERIALS.iter().position(|candidate| *candidate == made_of);
        html! { <ChoiceField id="part-material" label="Material" {options} {chosen} {on_choose} /> }
    });
    let numbers = numbers(plan, placed).into_iter().map(|number| {
        let (id, label, measure) = (format!("part-{}", number.id), number.label, number.measure);
        let (value, range) = (number.value(placed), number.range);
        let on_commit = fields.on_change(move |part, typed: Option<f64>| {
            // These numbers are never unknown.
            typed.into_iter().for_each(|value| number.set(part, value));
            number.done.into()
        });
        html! { <NumberField {id} {label} {measure} {value} {range} {on_commit} /> }
    });
    html! {
        <>
            { for name }
            { for material }
            { for frame }
            { for numbers }
        </>
    }
}

/// What the fields of a part have in common.
struct PartEdits<'a> {
    called: String,
    placed: &'a PlacedPart,
    dispatch: &'a Callback<Action>,
}

impl PartEdits<'_> {
    /// Where a field hands over what was typed or chosen; `change` puts that into the part and says what it did: "moved".
    fn on_change<T: 'static>(&self, change: impl Fn(&mut PlacedPart, T) -> Cow<'static, str> + 'static) -> Callback<T> {
        let (called, placed, dispatch) = (self.called.clone(), self.placed.clone(), self.dispatch.clone());
        Callback::from(move |given: T| {
            let mut changed = placed.clone();
            let done = change(&mut changed, given);
            dispatch.emit(Action::Edit { edit: Edit::Part(changed), label: format!("{called} {done}"), merge: None });
        })
    }
}

/// What walls can be made of, commonest first.
const MATERIALS: [Material; 11] = [
    Material::Brick,
    Material::Concrete,
    Material::Wood,
    Material::Plywood,
    Material::Chipboard,
    Material::Metal,
    Material::Glass,
    Material::Plasterboard,
    Material::CeilingBoard,
    Material::Marble,
    Material::AsphaltConcrete,
];
