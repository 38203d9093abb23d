//! Who flies: pilots added, copied, removed and put in another order, and kit that goes from one to others.

use std::rc::Rc;

use yew::prelude::*;

use super::elements::button;
use super::state::Action;
use crate::plan::document::Plan;
use crate::plan::edit::Edit;
use crate::plan::pilots::{PilotEdit, told};

/// Properties of [`Pilots`].
#[derive(Properties, PartialEq)]
pub struct PilotsProps {
    /// The plan.
    pub plan: Rc<Plan>,
    /// The chosen pilot.
    pub entry: usize,
    /// Where edits go.
    pub dispatch: Callback<Action>,
}

/// The action that makes a change of the pilots.
pub fn change(plan: &Plan, edit: PilotEdit) -> Action {
    Action::Edit { label: told(plan, &edit), edit: Edit::Pilots(edit), merge: None }
}

/// Buttons for the chosen pilot, under the list of verdicts.
#[component]
pub fn Pilots(props: &PilotsProps) -> Html {
    let PilotsProps { plan, entry: chosen, dispatch } = props;
    let chosen = *chosen;
    // Whose kit goes to whom, while that is chosen; ids, as pilots come and go.
    let ticked = use_state_eq(Vec::<String>::new);
    let act = |edit: PilotEdit| {
        let plan = plan.clone();
        dispatch.reform(move |_: MouseEvent| change(&plan, edit.clone()))
    };
    let add = button("pilot-add", "Add a pilot", None, act(PilotEdit::Add(chosen)));
    let Some(pilot) = plan.entries.get(chosen) else {
        return html! { <div class="pilots">{ add }</div> };
    };
    let count = plan.entries.len();
    let spoken = |what: &str| Some(format!("{what} {}", pilot.name));
    // At an end of the list the button stays, and with it the focus of whoever pressed it.
    let shift = |id: &'static str, label: &'static str, to: Option<usize>| {
        let onclick = to.map_or_else(Callback::noop, |to| act(PilotEdit::Reorder { from: chosen, to }));
        html! {
            <button type="button" {id} class="button" aria-label={format!("{label}: {}", pilot.name)}
                aria-disabled={to.is_none().to_string()} {onclick}>{ label }</button>
        }
    };
    let others: Vec<usize> = (0..count).filter(|index| *index != chosen).collect();
    let tick = |id: &str| {
        let (ticked, id) = (ticked.clone(), id.to_owned());
        Callback::from(move |_: Event| {
            let mut now = (*ticked).clone();
            match now.iter().position(|other| *other == id) {
                Some(place) => drop(now.remove(place)),
                None => now.push(id.clone()),
            }
            ticked.set(now);
        })
    };
    let to: Vec<usize> = others.iter().copied().filter(|index| ticked.contains(&plan.entries[*index].id)).collect();
    let has_target = !to.is_empty();
    let on_copy = act(PilotEdit::Kit { of: chosen, to });
    let on_copy = Callback::from(move |event: MouseEvent| {
        if has_target {
            on_copy.emit(event);
        }
    });
    html! {
        <div class="pilots">
            <div class="pilots-acts" role="group" aria-label={format!("Pilots; chosen: {}", pilot.name)}>
                { add }
                { button("pilot-copy", "Copy", spoken("Copy"), act(PilotEdit::Copy(chosen))) }
                { button("pilot-remove", "Remove", spoken("Remove"), act(PilotEdit::Remove(chosen))) }
                { shift("pilot-up", "Up", chosen.checked_sub(1)) }
                { shift("pilot-down", "Down", Some(chosen + 1).filter(|to| *to < count)) }
                if count > 1 {
                    { button("kit-all", "Same kit for all", Some(format!("Same kit for all: that of {}", pilot.name)),
                        act(PilotEdit::Kit { of: chosen, to: others.clone() })) }
                }
            </div>
            if count > 1 {
                <details class="more" id="kit-some">
                    <summary>{ format!("Copy {}’s kit to…", pilot.name) }</summary>
                    <fieldset class="pilots-to">
                        <legend class="field-note">{ "Aircraft and receiver go over; names, channels and seats stay." }</legend>
                        { for others.iter().map(|index| {
                            let other = &plan.entries[*index];
                            html! {
                                <label key={other.id.clone()} class="field-unknown">
                                    <input type="checkbox" checked={ticked.contains(&other.id)} onchange={tick(&other.id)} />
                                    { &other.name }
                                </label>
                            }
                        }) }
                        <button type="button" id="kit-copy" class="button" aria-disabled={(!has_target).to_string()} onclick={on_copy}>
                            { "Copy the kit" }
                        </button>
                    </fieldset>
                </details>
            }
        </div>
    }
}
