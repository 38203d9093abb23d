//! Equipment of the chosen entry: three questions first, then everything.

mod aircraft;
mod antenna;
mod channel;
mod feed;
mod picture;
mod ports;
mod questions;
mod receiver;

use std::rc::Rc;

use yew::prelude::*;

use super::editor::Editor;
use super::format::PowerUnit;
use super::parts;
use super::state::{Action, View};
use crate::link::report::Report;
use crate::plan::document::Plan;

/// Properties of [`Equipment`].
#[derive(Properties, PartialEq)]
pub struct EquipmentProps {
    /// The plan.
    pub plan: Rc<Plan>,
    /// The last good report, for the radiated power.
    pub report: Option<Rc<Report>>,
    /// Which entry is chosen.
    pub view: View,
    /// Where edits go.
    pub dispatch: Callback<Action>,
    /// Called when the person wants powers in the other unit.
    pub on_power_unit: Callback<PowerUnit>,
}

/// The forms of the chosen entry.
#[component]
pub fn Equipment(props: &EquipmentProps) -> Html {
    let EquipmentProps { plan, report, view, dispatch, on_power_unit } = props;
    let Some(entry) = plan.entries.get(view.entry) else {
        return html! { <p>{ "The plan has no entries." }</p> };
    };
    let editor = Editor { plan: plan.clone(), entry: view.entry, dispatch: dispatch.clone() };
    let radio = parts::video_radio(entry).cloned();
    let receiver = parts::receiver_of(plan, view.entry).and_then(|index| plan.receivers.get(index)).cloned();
    let judged = report.as_ref().and_then(|report| report.entries.iter().find(|judged| judged.id == entry.id)).cloned();
    html! {
        // A field remembers what was typed into it; another entry has other fields.
        <div class="equipment" key={entry.id.clone()}>
            <questions::Questions editor={editor.clone()} radio={radio.clone()} receiver={receiver.clone()}
                judged={judged} on_power_unit={on_power_unit.clone()} />
            <details class="more" id="equipment-more">
                <summary><h3>{ format!("Everything else about {}", entry.name) }</h3></summary>
                <channel::ChannelForm editor={editor.clone()} name={entry.name.clone()} carrier_hz={entry.channel_hz} />
                if let Some(radio) = radio {
                    <aircraft::AircraftForm editor={editor.clone()} {radio} />
                }
                if let Some(receiver) = receiver {
                    <receiver::ReceiverForm {editor} {receiver} />
                }
            </details>
        </div>
    }
}
