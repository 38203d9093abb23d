//! The receiver: where it is, its ports, how it chooses between them, its picture.

use yew::prelude::*;

use super::{picture, ports};
use crate::editor::Editor;
use crate::elements::button;
use crate::fields::{ChoiceField, FewField, TextField};
use crate::plan::document::{Placement, Receiver, Switching};
use crate::plan::limits;
use crate::plan::pilots::PilotEdit;
use crate::{parts, pilots};

/// Everything about the receiver that the three questions leave out.
pub fn form(editor: &Editor, receiver: &Receiver) -> Html {
    let plan = &editor.plan;
    let sharing = parts::sharing(plan, editor.entry);
    let receivers: Vec<AttrValue> =
        plan.receivers.iter().map(|receiver| AttrValue::from(receiver.name.clone())).collect();
    let receiver_ids: Vec<String> = plan.receivers.iter().map(|receiver| receiver.id.clone()).collect();
    let seats: Vec<AttrValue> = plan.seats.iter().map(|seat| AttrValue::from(seat.name.clone())).collect();
    let seat_ids: Vec<String> = plan.seats.iter().map(|seat| seat.id.clone()).collect();
    let act = |edit: PilotEdit| {
        let plan = plan.clone();
        editor.dispatch.reform(move |_: MouseEvent| pilots::change(&plan, edit.clone()))
    };
    let is_unused = |receiver: &Receiver| plan.entries.iter().all(|entry| entry.receiver != receiver.id);
    let unused = plan.receivers.iter().position(is_unused);
    html! {
        <section class="form-part">
            <h4>{ format!("Receiver: {}", receiver.name) }</h4>
            if !sharing.is_empty() {
                <p class="field-note">
                    { format!("It also follows {}: what changes here changes there too.", parts::listed(&sharing)) }
                </p>
            }
            <div class="receiver-acts">
                if !sharing.is_empty() {
                    { button("receiver-own", "A receiver of its own", None, act(PilotEdit::OwnReceiver(editor.entry))) }
                }
                { button("seat-new", "A new seat for it", None, act(PilotEdit::NewSeat(editor.entry))) }
                if let Some(unused) = unused {
                    <button type="button" id="receiver-drop" class="button" onclick={act(PilotEdit::DropReceiver(unused))}>
                        { format!("Remove {}, which nobody uses", plan.receivers[unused].name) }
                    </button>
                }
            </div>
            <div class="form-fields">
                <TextField id="receiver-name" label="Name" value={receiver.name.clone()} longest={limits::NAME.max}
                    on_commit={editor.receiver("Receiver renamed", |receiver, name: String| receiver.name = name.trim().to_owned())} />
                <ChoiceField id="receiver-which" label="Receiver" options={receivers}
                    chosen={parts::receiver_of(plan, editor.entry)}
                    on_choose={editor.entry("Receiver changed", move |entry, index: usize| {
                        if let Some(id) = receiver_ids.get(index) {
                            entry.receiver.clone_from(id);
                        }
                    })} />
                <ChoiceField id="receiver-seat" label="Seat" options={seats}
                    chosen={plan.seats.iter().position(|seat| seat.id == receiver.seat)}
                    hint="Select a seat on the drawing to move or turn it."
                    on_choose={editor.receiver("Seat changed", move |receiver, index: usize| {
                        if let Some(id) = seat_ids.get(index) {
                            receiver.seat.clone_from(id);
                        }
                    })} />
                <FewField name="receiver-place" legend="Where it is"
                    options={vec!["worn on the head".into(), "on a stand".into()]}
                    chosen={Some(usize::from(receiver.place == Placement::Standing))}
                    hint="Worn, the pilot’s own head shadows what comes from behind; pilots turn their heads little."
                    on_choose={editor.receiver("Placement changed", |receiver, index: usize| {
                        receiver.place = if index == 0 { Placement::Worn } else { Placement::Standing };
                    })} />
                <FewField name="receiver-switching" legend="Diversity switching"
                    options={vec!["slow".into(), "fast".into()]}
                    chosen={Some(usize::from(receiver.switching == Switching::Fast))}
                    hint="Slow listens to the port that is better on average. Fast switches within a line, below a millisecond: it helps against scatter, not against a bounce that both antennas share."
                    on_choose={editor.receiver("Switching changed", |receiver, index: usize| {
                        receiver.switching = if index == 0 { Switching::Slow } else { Switching::Fast };
                    })} />
            </div>
            { picture::fields(editor, receiver) }
            { ports::fields(editor, receiver) }
        </section>
    }
}
