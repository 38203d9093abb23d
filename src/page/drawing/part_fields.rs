//! Fields and nudge buttons for the picked part.

use std::rc::Rc;

use yew::prelude::*;

use crate::fields::{ChoiceField, NumberField, TextField};
use crate::format::Measure;
use crate::plan::document::{BlockShape, Gate, Obstacle, ObstacleShape, Pad, Plan, Seat, TreeShape, WallShape};
use crate::plan::edit::Edit;
use crate::plan::layout;
use crate::plan::limits::{self, Range};
use crate::rf::material::Material;
use crate::state::{Action, Selection, View};

use super::grips::Grip;
use super::handles::id_of;
use super::hold::{new_merge, nudge};
use super::part;

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
            && self.view.selected == other.view.selected
            && self.dispatch == other.dispatch
    }
}

/// Everything about the picked part that can be typed.
#[component]
pub fn PartFields(props: &PartFieldsProps) -> Html {
    let PartFieldsProps { plan, view, dispatch } = props;
    let picked = view.selected.filter(|selected| part::pose(plan, *selected).is_some());
    let Some(picked) = picked else {
        return html! {
            <div class="parts">
                <p class="parts-none">{ "Pick a gate, a seat, the start pad or an obstacle on the course to see its measures." }</p>
            </div>
        };
    };
    let fields = match picked {
        Selection::Entry(_) => html! {},
        Selection::Gate(index) => {
            plan.course.gates.get(index).map(|gate| gate_fields(plan, index, gate, dispatch)).unwrap_or_default()
        }
        Selection::Seat(index) => {
            plan.seats.get(index).map(|seat| seat_fields(plan, index, seat, dispatch)).unwrap_or_default()
        }
        Selection::Pad => pad_fields(plan, &plan.course.pad, dispatch),
        Selection::Obstacle(index) => plan
            .site
            .obstacles
            .get(index)
            .map(|obstacle| obstacle_fields(plan, index, obstacle, dispatch))
            .unwrap_or_default(),
    };
    let turns = part::pose(plan, picked).is_some_and(|pose| pose.turn_deg.is_some());
    html! {
        <div class="parts">
            <h3>{ part::name(plan, picked) }</h3>
            <div class="parts-acts">
                { nudges(plan, picked, turns, dispatch) }
                { coming_and_going(plan, picked, dispatch) }
            </div>
            // Another part's fields are other fields, not the same ones with other numbers.
            <div class="parts-fields" key={id_of(picked, Grip::Move)}>{ fields }</div>
        </div>
    }
}

/// Buttons that move a part a little and turn it, for those who neither drag nor type.
fn nudges(plan: &Rc<Plan>, picked: Selection, turns: bool, dispatch: &Callback<Action>) -> Html {
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
fn coming_and_going(plan: &Rc<Plan>, picked: Selection, dispatch: &Callback<Action>) -> Html {
    let Some(item) = part::item(picked) else { return html! {} };
    let on_double = {
        let (plan, dispatch) = (plan.clone(), dispatch.clone());
        move |_: MouseEvent| {
            let twin = layout::duplicate(&plan, item).map(|twin| part::addition(&plan, twin));
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
            if let Some(left) = layout::left_behind(plan, item) {
                <p class="field-note">{ format!("If it is deleted, {left}.") }</p>
            }
        </div>
    }
}

/// A number of a part: how it is called and kept, and how the changed part becomes an edit.
struct Number {
    id: &'static str,
    label: &'static str,
    measure: Measure,
    value: f64,
    range: Range,
}

fn number(field: Number, on_commit: Callback<Option<f64>>) -> Html {
    html! {
        <NumberField id={format!("part-{}", field.id)} label={field.label} measure={field.measure} value={Some(field.value)}
            range={field.range} {on_commit} />
    }
}

/// The callback of a field: what the typed number makes of the part, as an edit.
fn edits<T: Clone + 'static>(
    dispatch: &Callback<Action>,
    label: String,
    part: &T,
    set: fn(&mut T, f64),
    edit: impl Fn(T) -> Edit + 'static,
) -> Callback<Option<f64>> {
    let (dispatch, part) = (dispatch.clone(), part.clone());
    Callback::from(move |typed: Option<f64>| {
        // These numbers are never unknown.
        let Some(value) = typed else { return };
        let mut changed = part.clone();
        set(&mut changed, value);
        dispatch.emit(Action::Edit { edit: edit(changed), label: label.clone(), merge: None });
    })
}

fn renames<T: Clone + 'static>(
    dispatch: &Callback<Action>,
    label: String,
    part: &T,
    set: fn(&mut T, String),
    edit: impl Fn(T) -> Edit + 'static,
) -> Callback<String> {
    let (dispatch, part) = (dispatch.clone(), part.clone());
    Callback::from(move |name: String| {
        let mut changed = part.clone();
        set(&mut changed, name);
        dispatch.emit(Action::Edit { edit: edit(changed), label: label.clone(), merge: None });
    })
}

/// Places on the site, eastward or northward.
fn on_site(extent_m: f64) -> Range {
    Range { min: 0.0, max: extent_m, unit: "m" }
}

/// Places of obstacles, which may stand beyond the border.
fn near_site(extent_m: f64) -> Range {
    Range { min: -limits::OBSTACLE_BEYOND_M, max: extent_m + limits::OBSTACLE_BEYOND_M, unit: "m" }
}

fn gate_fields(plan: &Plan, index: usize, gate: &Gate, dispatch: &Callback<Action>) -> Html {
    let name = part::name(plan, Selection::Gate(index));
    let field = |id, label, measure, value, range, what: &str, set: fn(&mut Gate, f64)| {
        let edit = edits(dispatch, format!("{name} {what}"), gate, set, move |gate| Edit::Gate(index, gate));
        number(Number { id, label, measure, value, range }, edit)
    };
    let renamed = renames(
        dispatch,
        format!("{name} renamed"),
        gate,
        |gate, name| gate.name = name,
        move |gate| Edit::Gate(index, gate),
    );
    html! {
        <>
            <TextField id="part-name" label="Name" value={gate.name.clone()} longest={limits::NAME.max} on_commit={renamed} />
            { field("east", "East", Measure::Length, gate.x_m, on_site(plan.site.width_m), "moved", |gate, value| gate.x_m = value) }
            { field("north", "North", Measure::Length, gate.y_m, on_site(plan.site.depth_m), "moved", |gate, value| gate.y_m = value) }
            { field("height", "Height of its centre", Measure::Length, gate.height_m, limits::GATE_HEIGHT_M, "raised or lowered",
                |gate, value| gate.height_m = value) }
            { field("heading", "Flown toward, clockwise from north", Measure::Angle, gate.heading_deg, limits::TURN_DEG, "turned",
                |gate, value| gate.heading_deg = value) }
        </>
    }
}

fn seat_fields(plan: &Plan, index: usize, seat: &Seat, dispatch: &Callback<Action>) -> Html {
    let name = part::name(plan, Selection::Seat(index));
    let field = |id, label, measure, value, range, what: &str, set: fn(&mut Seat, f64)| {
        let edit = edits(dispatch, format!("{name} {what}"), seat, set, move |seat| Edit::Seat(index, seat));
        number(Number { id, label, measure, value, range }, edit)
    };
    let renamed = renames(
        dispatch,
        format!("{name} renamed"),
        seat,
        |seat, name| seat.name = name,
        move |seat| Edit::Seat(index, seat),
    );
    html! {
        <>
            <TextField id="part-name" label="Name" value={seat.name.clone()} longest={limits::NAME.max} on_commit={renamed} />
            { field("east", "East", Measure::Length, seat.x_m, on_site(plan.site.width_m), "moved", |seat, value| seat.x_m = value) }
            { field("north", "North", Measure::Length, seat.y_m, on_site(plan.site.depth_m), "moved", |seat, value| seat.y_m = value) }
            { field("height", "Height of the receiving antennas", Measure::Length, seat.height_m, limits::SEAT_HEIGHT_M,
                "raised or lowered", |seat, value| seat.height_m = value) }
            { field("heading", "Facing, clockwise from north", Measure::Angle, seat.facing_deg, limits::TURN_DEG, "turned",
                |seat, value| seat.facing_deg = value) }
        </>
    }
}

fn pad_fields(plan: &Plan, pad: &Pad, dispatch: &Callback<Action>) -> Html {
    let field = |id, label, measure, value, range, what: &str, set: fn(&mut Pad, f64)| {
        number(
            Number { id, label, measure, value, range },
            edits(dispatch, format!("Start pad {what}"), pad, set, Edit::Pad),
        )
    };
    html! {
        <>
            { field("east", "East", Measure::Length, pad.x_m, on_site(plan.site.width_m), "moved", |pad, value| pad.x_m = value) }
            { field("north", "North", Measure::Length, pad.y_m, on_site(plan.site.depth_m), "moved", |pad, value| pad.y_m = value) }
            { field("height", "Height of the aircraft’s antenna", Measure::FineLength, pad.height_m, limits::PAD_HEIGHT_M,
                "raised or lowered", |pad, value| pad.height_m = value) }
            { field("heading", "Noses toward, clockwise from north", Measure::Angle, pad.heading_deg, limits::TURN_DEG, "turned",
                |pad, value| pad.heading_deg = value) }
        </>
    }
}

fn obstacle_fields(plan: &Plan, index: usize, obstacle: &Obstacle, dispatch: &Callback<Action>) -> Html {
    let make = move |obstacle| Edit::Obstacle(index, obstacle);
    let renamed =
        renames(dispatch, format!("{} renamed", obstacle.name), obstacle, |obstacle, name| obstacle.name = name, make);
    let material = match &obstacle.shape {
        ObstacleShape::Wall(wall) => Some(wall.material),
        ObstacleShape::Building(block) | ObstacleShape::Stall(block) => Some(block.material),
        ObstacleShape::Canopy(_) | ObstacleShape::Tree(_) | ObstacleShape::Crowd(_) => None,
    };
    html! {
        <>
            <TextField id="part-name" label="Name" value={obstacle.name.clone()} longest={limits::NAME.max} on_commit={renamed} />
            if let Some(material) = material {
                { material_field(index, obstacle, material, dispatch) }
            }
            { for measures(plan, obstacle).into_iter().map(|(field, set)| {
                number(field, edits(dispatch, format!("{} changed", obstacle.name), obstacle, set, make))
            }) }
        </>
    }
}

fn material_field(index: usize, obstacle: &Obstacle, material: Material, dispatch: &Callback<Action>) -> Html {
    let on_choose = {
        let (obstacle, dispatch) = (obstacle.clone(), dispatch.clone());
        Callback::from(move |chosen: usize| {
            let Some(material) = MATERIALS.get(chosen).copied() else { return };
            let mut changed = obstacle.clone();
            match &mut changed.shape {
                ObstacleShape::Wall(wall) => wall.material = material,
                ObstacleShape::Building(block) | ObstacleShape::Stall(block) => block.material = material,
                ObstacleShape::Canopy(_) | ObstacleShape::Tree(_) | ObstacleShape::Crowd(_) => {}
            }
            let label = format!("{} made of {}", changed.name, material);
            dispatch.emit(Action::Edit { edit: Edit::Obstacle(index, changed), label, merge: None });
        })
    };
    let options: Vec<AttrValue> = MATERIALS.iter().map(|material| AttrValue::from(material.to_string())).collect();
    let chosen = MATERIALS.iter().position(|candidate| *candidate == material);
    html! { <ChoiceField id="part-material" label="Material" {options} {chosen} {on_choose} /> }
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

type Measured = (Number, fn(&mut Obstacle, f64));

/// Every measure of an obstacle with what sets it.
fn measures(plan: &Plan, obstacle: &Obstacle) -> Vec<Measured> {
    let [east, north] = [near_site(plan.site.width_m), near_site(plan.site.depth_m)];
    let number = |id, label, measure, value, range| Number { id, label, measure, value, range };
    let length = |id, label, value, range| number(id, label, Measure::Length, value, range);
    let mut list: Vec<Measured> = Vec::new();
    if let ObstacleShape::Wall(wall) = &obstacle.shape {
        list.push((length("from-east", "One end, east", wall.from_m[0], east), |item, value| {
            wall_of(item, |wall| wall.from_m[0] = value)
        }));
        list.push((length("from-north", "One end, north", wall.from_m[1], north), |item, value| {
            wall_of(item, |wall| wall.from_m[1] = value)
        }));
        list.push((length("to-east", "Other end, east", wall.to_m[0], east), |item, value| {
            wall_of(item, |wall| wall.to_m[0] = value)
        }));
        list.push((length("to-north", "Other end, north", wall.to_m[1], north), |item, value| {
            wall_of(item, |wall| wall.to_m[1] = value)
        }));
    } else {
        let centre = obstacle.shape.centre_m();
        list.push((length("east", "Centre, east", centre[0], east), |item, value| {
            let [_, north] = item.shape.centre_m();
            item.shape.put([value, north]);
        }));
        list.push((length("north", "Centre, north", centre[1], north), |item, value| {
            let [east, _] = item.shape.centre_m();
            item.shape.put([east, value]);
        }));
    }
    if let Some((_, size, turn)) = obstacle.shape.rectangle() {
        list.push((length("width", "Side along east", size[0], limits::OBSTACLE_SIDE_M), |item, value| {
            item.shape.rectangle_mut().into_iter().for_each(|(_, size, _)| size[0] = value);
        }));
        list.push((length("depth", "Side along north", size[1], limits::OBSTACLE_SIDE_M), |item, value| {
            item.shape.rectangle_mut().into_iter().for_each(|(_, size, _)| size[1] = value);
        }));
        list.push((number("turn", "Turned clockwise", Measure::Angle, turn, limits::TURN_DEG), |item, value| {
            item.shape.turn(value);
        }));
    }
    let thickness =
        |value| number("thickness", "Thickness of the wall", Measure::FineLength, value, limits::WALL_THICKNESS_M);
    let top = |value| length("top", "Height", value, limits::OBSTACLE_HEIGHT_M);
    match &obstacle.shape {
        ObstacleShape::Wall(wall) => {
            list.push((top(wall.height_m), |item, value| wall_of(item, |wall| wall.height_m = value)));
            list.push((thickness(wall.thickness_m), |item, value| wall_of(item, |wall| wall.thickness_m = value)));
        }
        ObstacleShape::Building(block) | ObstacleShape::Stall(block) => {
            list.push((top(block.height_m), |item, value| block_of(item, |block| block.height_m = value)));
            list.push((thickness(block.thickness_m), |item, value| block_of(item, |block| block.thickness_m = value)));
        }
        ObstacleShape::Canopy(canopy) => {
            list.push((
                length("base", "Lower edge of the fabric", canopy.base_m, limits::BASE_HEIGHT_M),
                |item, value| {
                    if let ObstacleShape::Canopy(canopy) = &mut item.shape {
                        canopy.base_m = value
                    }
                },
            ));
            list.push((top(canopy.height_m), |item, value| {
                if let ObstacleShape::Canopy(canopy) = &mut item.shape {
                    canopy.height_m = value
                }
            }));
        }
        ObstacleShape::Tree(tree) => {
            list.push((
                length("radius", "Radius of the crown", tree.radius_m, limits::CROWN_RADIUS_M),
                |item, value| tree_of(item, |tree| tree.radius_m = value),
            ));
            list.push((
                length("base", "Height where the crown begins", tree.base_m, limits::BASE_HEIGHT_M),
                |item, value| tree_of(item, |tree| tree.base_m = value),
            ));
            list.push((top(tree.height_m), |item, value| tree_of(item, |tree| tree.height_m = value)));
            let range = limits::CROWN_LOSS_DB_PER_M;
            list.push((
                number("loss", "Loss in the crown", Measure::Attenuation, tree.loss_db_per_m, range),
                |item, value| tree_of(item, |tree| tree.loss_db_per_m = value),
            ));
        }
        ObstacleShape::Crowd(crowd) => {
            list.push((
                length("heads", "Height of the heads", crowd.head_height_m, limits::HEAD_HEIGHT_M),
                |item, value| {
                    if let ObstacleShape::Crowd(crowd) = &mut item.shape {
                        crowd.head_height_m = value
                    }
                },
            ));
            let range = limits::CROWD_DENSITY_PER_M2;
            list.push((number("density", "People", Measure::Density, crowd.density_per_m2, range), |item, value| {
                if let ObstacleShape::Crowd(crowd) = &mut item.shape {
                    crowd.density_per_m2 = value
                }
            }));
        }
    }
    list
}

fn tree_of(obstacle: &mut Obstacle, change: impl FnOnce(&mut TreeShape)) {
    if let ObstacleShape::Tree(tree) = &mut obstacle.shape {
        change(tree);
    }
}

fn wall_of(obstacle: &mut Obstacle, change: impl FnOnce(&mut WallShape)) {
    if let ObstacleShape::Wall(wall) = &mut obstacle.shape {
        change(wall);
    }
}

fn block_of(obstacle: &mut Obstacle, change: impl FnOnce(&mut BlockShape)) {
    if let ObstacleShape::Building(block) | ObstacleShape::Stall(block) = &mut obstacle.shape {
        change(block);
    }
}
