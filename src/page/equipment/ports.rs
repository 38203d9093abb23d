//! The ports of a receiver: antenna, aim and feed line of each; one more, one less.

use yew::prelude::*;

use super::{antenna, feed};
use crate::editor::Editor;
use crate::fields::NumberField;
use crate::format::Measure;
use crate::plan::document::{AntennaKind, AntennaKit, Feed, Port, Receiver, StatedHand};
use crate::plan::limits;

/// One part of the form per port.
pub fn fields(editor: &Editor, receiver: &Receiver) -> Html {
    let count = receiver.ports.len();
    let on_add = editor.receiver("Port added", |receiver, _: MouseEvent| {
        // A second port usually looks like the first, turned elsewhere.
        if let Some(last) = receiver.ports.last().cloned() {
            receiver.ports.push(last);
        }
    });
    html! {
        <div class="ports">
            { for receiver.ports.iter().enumerate().map(|(index, port)| port_fields(editor, index, port, count)) }
            if count < limits::PORTS.max {
                <button type="button" id="port-add" class="button" onclick={on_add}>{ "Add a port like the last" }</button>
            } else {
                <p class="field-note">{ format!("A receiver has at most {} ports here.", limits::PORTS.max) }</p>
            }
        </div>
    }
}

fn port_fields(editor: &Editor, index: usize, port: &Port, count: usize) -> Html {
    let on_remove = editor.receiver("Port removed", move |receiver, _: MouseEvent| {
        if receiver.ports.len() > limits::PORTS.min && index < receiver.ports.len() {
            receiver.ports.remove(index);
        }
    });
    let id = format!("port-{index}");
    html! {
        <section class="port" key={index}>
            <h5>{ format!("Port {}", index + 1) }</h5>
            <div class="form-fields">
                { antenna::kind_field(format!("{id}-kind"), "Antenna".to_owned(), port.antenna.kind,
                    port_edit(editor, index, "Receiving antenna changed", |port, kind: AntennaKind| {
                        port.antenna = antenna::of_kind(&port.antenna, kind);
                    })) }
                { antenna::hand_field(format!("{id}-hand"), "Hand".to_owned(), port.antenna.kind, port.antenna.hand,
                    port_edit(editor, index, "Receiving hand changed", |port, hand: StatedHand| port.antenna.hand = hand)) }
                { antenna::fields(&id, &port.antenna,
                    &port_edit(editor, index, "Receiving antenna changed", |port, antenna: AntennaKit| port.antenna = antenna),
                    Some(format!("#view=bench&entry={}&port={index}&sample=0", editor.entry))) }
                <NumberField id={format!("{id}-aim-off")} label="Aim left or right of facing" measure={Measure::Angle}
                    value={Some(port.aim_off_deg)} range={limits::AIM_OFF_DEG} hint="Right is positive, left negative."
                    on_commit={port_edit(editor, index, "Aim changed", |port, aim: Option<f64>| {
                        port.aim_off_deg = aim.unwrap_or(port.aim_off_deg);
                    })} />
                <NumberField id={format!("{id}-aim-up")} label="Aim up" measure={Measure::Angle}
                    value={Some(port.aim_up_deg)} range={limits::AIM_UP_DEG}
                    on_commit={port_edit(editor, index, "Aim changed", |port, aim: Option<f64>| {
                        port.aim_up_deg = aim.unwrap_or(port.aim_up_deg);
                    })} />
                { feed::fields(&format!("{id}-feed"), &port.feed,
                    &port_edit(editor, index, "Feed line changed", |port, feed: Feed| port.feed = feed)) }
            </div>
            if count > limits::PORTS.min {
                <button type="button" id={format!("{id}-remove")} class="button" onclick={on_remove}>
                    { format!("Remove port {}", index + 1) }
                </button>
            }
        </section>
    }
}

fn port_edit<T: 'static>(
    editor: &Editor,
    index: usize,
    label: &'static str,
    change: impl Fn(&mut Port, T) + 'static,
) -> Callback<T> {
    editor.receiver(label, move |receiver, value| {
        if let Some(port) = receiver.ports.get_mut(index) {
            change(port, value);
        }
    })
}
