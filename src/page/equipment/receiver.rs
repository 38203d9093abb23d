//! The receiver: where it is, its ports, how it chooses between them, its picture.

use yew::prelude::*;

use super::{picture, ports};
use crate::editor::Editor;
use crate::fields::{ChoiceField, FewField};
use crate::parts;
use crate::plan::document::{Placement, Receiver, Switching};

/// Everything about the receiver that the three questions leave out.
pub fn form(editor: &Editor, receiver: &Receiver) -> Html {
    let plan = &editor.plan;
    let sharing = parts::sharing(plan, editor.entry);
    let receivers: Vec<AttrValue> =
        plan.receivers.iter().map(|receiver| AttrValue::from(receiver.name.clone())).collect();
    let receiver_ids: Vec<String> = plan.receivers.iter().map(|receiver| receiver.id.clone()).collect();
    let seats: Vec<AttrValue> = plan.seats.iter().map(|seat| AttrValue::from(seat.name.clone())).collect();
    let seat_ids: Vec<String> = plan.seats.iter().map(|seat| seat.id.clone()).collect();
    html! {
        <section class="form-part">
            <h4>{ format!("Receiver: {}", receiver.name) }</h4>
            if !sharing.is_empty() {
                <p class="field-note">
                    { format!("It also follows {}: what changes here changes there too.", parts::listed(&sharing)) }
                </p>
            }
            <div class="form-fields">
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
