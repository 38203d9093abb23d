//! The gates in flight order, to be picked and put in another order by drag or by buttons.

use std::rc::Rc;

use wasm_bindgen::JsCast;
use web_sys::Element;
use yew::prelude::*;

use crate::plan::document::Plan;
use crate::plan::edit::Edit;
use crate::plan::part::Part;
use crate::state::Action;

use super::part;

/// Properties of [`GateList`].
#[derive(Clone, Properties)]
pub struct GateListProps {
    /// The plan.
    pub plan: Rc<Plan>,
    /// The picked part.
    pub selected: Option<Part>,
    /// Called with what the person does.
    pub dispatch: Callback<Action>,
}

impl PartialEq for GateListProps {
    fn eq(&self, other: &Self) -> bool {
        self.plan.course.gates == other.plan.course.gates && self.selected == other.selected
    }
}

/// A row that is dragged: its gate, and where the pointer and the rows were when it was taken.
#[derive(Clone, Copy, PartialEq)]
struct DraggedRow {
    from: usize,
    to: usize,
    client_y: i32,
    row_height: f64,
}

/// The list.
#[component]
pub fn GateList(props: &GateListProps) -> Html {
    let GateListProps { plan, selected, dispatch } = props;
    let taken = use_state_eq(|| None::<DraggedRow>);
    let count = plan.course.gates.len();
    let reorder = {
        let (plan, dispatch) = (plan.clone(), dispatch.clone());
        Callback::from(move |(from, to): (usize, usize)| {
            if from == to || to >= count {
                return;
            }
            let label = format!("{} put at position {}", part::name(&plan, Part::Gate(from)), to + 1);
            dispatch.emit(Action::Edit { edit: Edit::Reorder { from, to }, label, merge: None });
            dispatch.emit(Action::Select(Some(Part::Gate(to))));
        })
    };
    let rows = plan.course.gates.iter().enumerate().map(|(index, gate)| {
        let name = part::name(plan, Part::Gate(index));
        let onpointerdown = {
            let taken = taken.clone();
            move |event: PointerEvent| {
                let Some(grip) = event.target().and_then(|target| target.dyn_into::<Element>().ok()) else { return };
                // Without capture the drag ends at the grip's edge, which is a nuisance but no error.
                let _ = grip.set_pointer_capture(event.pointer_id());
                let row = grip.closest("li").ok().flatten();
                let row_height = row.map_or(1.0, |row| row.get_bounding_client_rect().height()).max(1.0);
                taken.set(Some(DraggedRow { from: index, to: index, client_y: event.client_y(), row_height }));
            }
        };
        let onpointermove = {
            let taken = taken.clone();
            move |event: PointerEvent| {
                let Some(now) = *taken else { return };
                let rows = (f64::from(event.client_y() - now.client_y) / now.row_height).round();
                let to = (now.from as f64 + rows).clamp(0.0, count as f64 - 1.0) as usize;
                taken.set(Some(DraggedRow { to, ..now }));
            }
        };
        let onpointerup = {
            let (taken, reorder) = (taken.clone(), reorder.clone());
            move |_: PointerEvent| {
                if let Some(now) = *taken {
                    taken.set(None);
                    reorder.emit((now.from, now.to));
                }
            }
        };
        let onpointercancel = {
            let taken = taken.clone();
            move |_: PointerEvent| taken.set(None)
        };
        let shift = |words: &str, sign: &'static str, to: Option<usize>| {
            let reorder = reorder.clone();
            html! {
                <button type="button" class="button" aria-label={format!("{name} {words}")} disabled={to.is_none()}
                    onclick={move |_: MouseEvent| to.into_iter().for_each(|to| reorder.emit((index, to)))}>{ sign }</button>
            }
        };
        let mark = (*taken).and_then(|now| match index {
            _ if index == now.from => Some("is-held"),
            _ if index == now.to => Some(if now.to > now.from { "is-goal-after" } else { "is-goal-before" }),
            _ => None,
        });
        html! {
            <li key={gate.id.clone()} class={classes!("gates-row", mark)}>
                <span class="gates-grip" aria-hidden="true" {onpointerdown} {onpointermove} {onpointerup} {onpointercancel}>{ "⠿" }</span>
                <button type="button" class="gates-name" aria-pressed={(*selected == Some(Part::Gate(index))).to_string()}
                    onclick={dispatch.reform(move |_: MouseEvent| Action::Select(Some(Part::Gate(index))))}>{ &name }</button>
                { shift("earlier", "↑", index.checked_sub(1)) }
                { shift("later", "↓", Some(index + 1).filter(|to| *to < count)) }
            </li>
        }
    });
    let on_align = dispatch.reform(|_: MouseEvent| Action::Edit {
        edit: Edit::Align,
        label: "Gates pointed along the course".to_owned(),
        merge: None,
    });
    html! {
        <details class="more gates" id="gates">
            <summary>{ format!("The {count} gates in flight order") }</summary>
            <ol class="gates-list">{ for rows }</ol>
            <button type="button" id="align" class="button" onclick={on_align}>{ "Point all gates along the course" }</button>
        </details>
    }
}
