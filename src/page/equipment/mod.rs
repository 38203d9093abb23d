//! Equipment of the chosen entry: three questions first, then everything.

mod aircraft;
pub mod antenna;
mod channel;
pub mod feed;
mod picture;
mod ports;
mod questions;
mod receiver;

use std::rc::Rc;

use yew::prelude::*;

use super::editor::Editor;
use super::format::{DisplayUnits, PowerUnit};
use super::parts;
use crate::link::report::Report;

/// Properties of [`Equipment`].
#[derive(Properties, PartialEq)]
pub struct EquipmentProps {
    /// Where edits of the chosen entry go.
    pub editor: Editor,
    /// The last good report, for the radiated power.
    pub report: Option<Rc<Report>>,
    /// Called when the person wants powers in the other unit.
    pub on_power_unit: Callback<PowerUnit>,
}

/// The forms of the chosen entry.
#[component]
pub fn Equipment(props: &EquipmentProps) -> Html {
    let units = use_context::<DisplayUnits>().unwrap_or_default();
    let EquipmentProps { editor, report, on_power_unit } = props;
    let plan = &editor.plan;
    let Some(entry) = plan.entries.get(editor.entry) else {
        return html! { <p>{ "The plan has no entries." }</p> };
    };
    let radio = parts::video_radio(entry);
    let receiver = parts::receiver_of(plan, editor.entry).and_then(|index| plan.receivers.get(index));
    let judged = report.as_ref().and_then(|report| report.entries.iter().find(|judged| judged.id == entry.id));
    html! {
        // A field remembers what was typed into it; another entry has other fields.
        <div class="equipment" key={entry.id.clone()}>
            { questions::questions(editor, radio, receiver, judged, on_power_unit, units) }
            <details class="more" id="equipment-more">
                <summary><h3>{ format!("Everything else about {}", entry.name) }</h3></summary>
                { channel::form(editor, entry) }
                { for radio.map(|radio| aircraft::form(editor, radio)) }
                { for receiver.map(|receiver| receiver::form(editor, receiver)) }
            </details>
        </div>
    }
}
