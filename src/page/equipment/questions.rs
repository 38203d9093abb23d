//! The three questions that decide most: what the goggles have, what the aircraft has, and how much power.

use yew::prelude::*;

use super::antenna::{HandField, KindField};
use crate::link::report::EntryReport;
use crate::page::cautions::PowerCaution;
use crate::page::editor::Editor;
use crate::page::fields::{FewField, NumberField};
use crate::page::format::{DisplayUnits, Measure, PowerUnit};
use crate::plan::document::{AntennaKind, Radio, Receiver, StatedHand};
use crate::plan::limits;

/// Properties of [`Questions`].
#[derive(Properties, PartialEq)]
pub struct QuestionsProps {
    /// Where edits go.
    pub editor: Editor,
    /// The entry's video transmitter.
    pub radio: Option<Radio>,
    /// The receiver that follows it.
    pub receiver: Option<Receiver>,
    /// The entry's report.
    pub judged: Option<EntryReport>,
    /// Called when the person wants powers in the other unit.
    pub on_power_unit: Callback<PowerUnit>,
}

/// The three questions.
#[component]
pub fn Questions(props: &QuestionsProps) -> Html {
    let units = use_context::<DisplayUnits>().unwrap_or_default();
    let QuestionsProps { editor, radio, receiver, judged, on_power_unit } = props;
    let to_unit = on_power_unit.reform(|index| if index == 0 { PowerUnit::Milliwatts } else { PowerUnit::Dbm });
    html! {
        <ol class="questions">
            <li class="question">
                <h3>{ "What antennas do the goggles have, and which hand?" }</h3>
                if let Some(receiver) = receiver {
                    { for receiver.ports.iter().enumerate().map(|(port, kit)| {
                        let on_kind = editor.receiver("Receiving antenna changed", move |receiver, kind: AntennaKind| {
                            if let Some(port) = receiver.ports.get_mut(port) {
                                port.antenna = super::antenna::of_kind(&port.antenna, kind);
                            }
                        });
                        let on_hand = editor.receiver("Receiving hand changed", move |receiver, hand: StatedHand| {
                            if let Some(port) = receiver.ports.get_mut(port) {
                                port.antenna.hand = hand;
                            }
                        });
                        html! {
                            <div class="question-row" key={port}>
                                <KindField id={format!("ask-port-{port}-kind")} label={format!("Port {}", port + 1)}
                                    kind={kit.antenna.kind} on_choose={on_kind} />
                                <HandField name={format!("ask-port-{port}-hand")} legend={format!("Hand of port {}", port + 1)}
                                    kind={kit.antenna.kind} hand={kit.antenna.hand} on_choose={on_hand} />
                            </div>
                        }
                    }) }
                    <p class="field-note">
                        { "If nobody says, both hands are judged and the worse is shown. A test against an antenna of known hand settles it." }
                    </p>
                }
            </li>
            if let Some(radio) = radio {
                <li class="question">
                    <h3>{ "Which hand is on the aircraft?" }</h3>
                    <div class="question-row">
                        <KindField id="ask-aircraft-kind" label="Antenna" kind={radio.antenna.kind}
                            on_choose={editor.radio("Aircraft’s antenna changed", |radio, kind| {
                                radio.antenna = super::antenna::of_kind(&radio.antenna, kind);
                            })} />
                        <HandField name="ask-aircraft-hand" legend="Hand" kind={radio.antenna.kind}
                            hand={radio.antenna.hand}
                            on_choose={on_aircraft_hand(editor)} />
                    </div>
                </li>
                <li class="question">
                    <h3>{ "What power leaves the connector?" }</h3>
                    <div class="question-row">
                        <NumberField id="ask-power" label="Conducted power" measure={Measure::Power}
                            value={Some(radio.power_dbm)} range={limits::POWER_DBM}
                            on_commit={editor.radio("Power changed", |radio, power: Option<f64>| {
                                radio.power_dbm = power.unwrap_or(radio.power_dbm);
                            })} />
                        <FewField name="ask-power-unit" legend="Unit" options={vec!["mW".into(), "dBm".into()]}
                            chosen={Some(usize::from(units.power == PowerUnit::Dbm))} on_choose={to_unit} />
                    </div>
                    <PowerCaution editor={editor.clone()} judged={judged.clone()} />
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
