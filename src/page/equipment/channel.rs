//! The channel of an entry: megahertz first, the tables' letter and number in brackets.

use yew::prelude::*;

use crate::editor::Editor;
use crate::fields::{ChoiceField, NumberField, TextField};
use crate::format::Measure;
use crate::link::verdict::order;
use crate::plan::channels::{channels, frequency_text};
use crate::plan::document::Entry;
use crate::plan::limits;

/// Name and channel of the entry.
pub fn form(editor: &Editor, entry: &Entry) -> Html {
    let carrier_hz = entry.channel_hz;
    let tables: Vec<_> = channels().collect();
    let upward = order(&tables.iter().map(|channel| channel.carrier.0).collect::<Vec<_>>());
    let mut listed: Vec<_> = upward.into_iter().map(|position| tables[position]).collect();
    listed.dedup_by_key(|channel| channel.carrier.0.to_bits());
    let carriers: Vec<f64> = listed.iter().map(|channel| channel.carrier.0).collect();
    let own = AttrValue::from("another frequency");
    let options: Vec<AttrValue> = std::iter::once(own)
        .chain(listed.iter().map(|channel| AttrValue::from(frequency_text(channel.carrier))))
        .collect();
    // The tables' carriers are whole megahertz; a plan's may differ from them by a rounding.
    let chosen = carriers.iter().position(|carrier| (carrier - carrier_hz).abs() < 1e3).map_or(0, |index| index + 1);
    let on_choose = editor.entry("Channel changed", move |entry, index: usize| {
        if let Some(carrier) = index.checked_sub(1).and_then(|index| carriers.get(index)) {
            entry.channel_hz = *carrier;
        }
    });
    html! {
        <section class="form-part">
            <h4>{ "Name and channel" }</h4>
            <div class="form-fields">
                <TextField id="entry-name" label="Name" value={entry.name.clone()} longest={limits::NAME.max}
                    on_commit={editor.entry("Renamed", |entry, name: String| entry.name = name.trim().to_owned())} />
                <ChoiceField id="channel-listed" label="Channel" {options} chosen={Some(chosen)} {on_choose}
                    hint="Several of these lie outside what many countries leave open: check your local rules." />
                <NumberField id="channel-carrier" label="Carrier" measure={Measure::Frequency} value={Some(carrier_hz)}
                    range={limits::CHANNEL_HZ}
                    on_commit={editor.entry("Carrier changed", |entry, carrier: Option<f64>| {
                        entry.channel_hz = carrier.unwrap_or(entry.channel_hz);
                    })} />
            </div>
        </section>
    }
}
