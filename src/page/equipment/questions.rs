//! The three questions that decide most: what the goggles have, what the aircraft has, and how much power.

use yew::prelude::*;

use super::antenna::{hand_field, kind_field, of_kind};
use crate::cautions::power_caution;
use crate::editor::Editor;
use crate::fields::{FewField, Measured, NumberField};
use crate::format::{DisplayUnits, Measure, PowerUnit};
use crate::link::report::EntryReport;
use crate::plan::document::{AntennaKind, Radio, Receiver, StatedHand};
use crate::plan::limits;
use crate::plan::presets::power_tolerance;

/// The three questions.
///
/// `judged` is the entry's report; `on_power_unit` is called when the person wants powers in the other unit.
pub fn questions(
    editor: &Editor,
    radio: Option<&Radio>,
    receiver: Option<&Receiver>,
    judged: Option<&EntryReport>,
    on_power_unit: &Callback<PowerUnit>,
    units: DisplayUnits,
) -> Html {
    let to_unit = on_power_unit.reform(|index| if index == 0 { PowerUnit::Milliwatts } else { PowerUnit::Dbm });
    html! {
        <ol class="questions">
            <li class="question">
                <h3>{ "What antennas do the goggles have, and which hand?" }</h3>
                if let Some(receiver) = receiver {
                    { for receiver.ports.iter().enumerate().map(|(port, kit)| {
                        let on_kind = editor.receiver("Receiving antenna changed", move |receiver, kind: AntennaKind| {
                            if let Some(port) = receiver.ports.get_mut(port) {
                                port.antenna = of_kind(&port.antenna, kind);
                            }
                        });
                        let on_hand = editor.receiver("Receiving hand changed", move |receiver, hand: StatedHand| {
                            if let Some(port) = receiver.ports.get_mut(port) {
                                port.antenna.hand = hand;
                            }
                        });
                        html! {
                            <div class="question-row" key={port}>
                                { kind_field(format!("ask-port-{port}-kind"), format!("Port {}", port + 1), kit.antenna.kind, on_kind) }
                                { hand_field(format!("ask-port-{port}-hand"), format!("Hand of port {}", port + 1),
                                    kit.antenna.kind, kit.antenna.hand, on_hand) }
                            </div>
                        }
                    }) }
                    <p class="field-note">
                        { "Not marked? Both hands are calculated; the worse counts. A test against an antenna of known hand, with the propellers off, settles it." }
                    </p>
                }
            </li>
            if let Some(radio) = radio {
                <li class="question">
                    <h3>{ "Which hand is on the aircraft?" }</h3>
                    <div class="question-row">
                        { kind_field("ask-aircraft-kind".to_owned(), "Antenna".to_owned(), radio.antenna.kind,
                            editor.radio("Aircraft’s antenna changed", |radio, kind| {
                                radio.antenna = of_kind(&radio.antenna, kind);
                            })) }
                        { hand_field("ask-aircraft-hand".to_owned(), "Hand".to_owned(), radio.antenna.kind, radio.antenna.hand,
                            on_aircraft_hand(editor)) }
                    </div>
                </li>
                <li class="question">
                    <h3>{ "What is the transmitter’s output power?" }</h3>
                    <div class="question-row">
                        <NumberField id="ask-power" label="Conducted power" measure={Measure::Power}
                            value={Some(radio.power_dbm)} range={limits::POWER_DBM}
                            measured={Measured {
                                is_measured: radio.power_is_measured,
                                tolerance: power_tolerance(radio),
                                on_change: editor.radio("Power measured or stated", |radio, is_measured| {
                                    radio.power_is_measured = is_measured;
                                }),
                            }}
                            on_commit={editor.radio("Power changed", |radio, power: Option<f64>| {
                                radio.power_dbm = power.unwrap_or(radio.power_dbm);
                            })} />
                        <FewField name="ask-power-unit" legend="Unit" options={vec!["mW".into(), "dBm".into()]}
                            chosen={Some(usize::from(units.power == PowerUnit::Dbm))} on_choose={to_unit} />
                    </div>
                    { power_caution(editor, judged, units) }
                </li>
            }
        </ol>
    }
}

/// A hand that nobody says any more was not turned.
fn on_aircraft_hand(editor: &Editor) -> Callback<StatedHand> {
    let turned = editor.radio("Hand turned", |radio, hand: StatedHand| radio.antenna.hand = hand);
    let left_open = editor.radio("Hand left open", |radio, hand: StatedHand| radio.antenna.hand = hand);
    Callback::from(move |hand| match hand {
        StatedHand::Right | StatedHand::Left => turned.emit(hand),
        StatedHand::Unknown => left_open.emit(hand),
    })
}
