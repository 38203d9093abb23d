//! An antenna: its kind, its hand, and the numbers that a maker's sheet may state.

use yew::prelude::*;

use crate::page::fields::{ChoiceField, FewField, NumberField};
use crate::page::format::Measure;
use crate::page::wording;
use crate::plan::document::{AntennaKind, AntennaKit, StatedHand};
use crate::plan::{limits, presets};

/// The hands in the order in which they are offered.
const HANDS: [StatedHand; 3] = [StatedHand::Right, StatedHand::Left, StatedHand::Unknown];

/// The same place with an antenna of another kind: the hand stays, the numbers go, as they were those of the old one.
pub fn of_kind(kit: &AntennaKit, kind: AntennaKind) -> AntennaKit {
    AntennaKit { kind, hand: kit.hand, gain_dbi: None, axial_ratio_db: None, beamwidth_deg: None, rejection_db: None }
}

/// Properties of [`KindField`].
#[derive(Properties, PartialEq)]
pub struct KindFieldProps {
    /// Id of the list.
    pub id: AttrValue,
    /// Label.
    pub label: AttrValue,
    /// The kind.
    pub kind: AntennaKind,
    /// Called with the chosen kind.
    pub on_choose: Callback<AntennaKind>,
}

/// A choice of kind.
#[component]
pub fn KindField(props: &KindFieldProps) -> Html {
    let options: Vec<AttrValue> =
        presets::ANTENNA_KINDS.iter().map(|kind| AttrValue::from(wording::antenna_kind(*kind))).collect();
    let chosen = presets::ANTENNA_KINDS.iter().position(|kind| *kind == props.kind);
    let on_choose = props.on_choose.clone();
    let on_choose = Callback::from(move |index: usize| {
        if let Some(kind) = presets::ANTENNA_KINDS.get(index) {
            on_choose.emit(*kind);
        }
    });
    html! { <ChoiceField id={props.id.clone()} label={props.label.clone()} {options} {chosen} {on_choose} /> }
}

/// Properties of [`HandField`].
#[derive(Properties, PartialEq)]
pub struct HandFieldProps {
    /// Name of the group.
    pub name: AttrValue,
    /// What it is the hand of.
    pub legend: AttrValue,
    /// Kind of the antenna: linear ones have no hand.
    pub kind: AntennaKind,
    /// The hand.
    pub hand: StatedHand,
    /// Called with the chosen hand.
    pub on_choose: Callback<StatedHand>,
}

/// A choice of hand; for a linear antenna a sentence that it has none.
#[component]
pub fn HandField(props: &HandFieldProps) -> Html {
    if !presets::has_hand(props.kind) {
        return html! { <p class="field-note hand-none">{ "Linear: it has no hand." }</p> };
    }
    let options: Vec<AttrValue> = HANDS.iter().map(|hand| AttrValue::from(wording::stated_hand(*hand))).collect();
    let chosen = HANDS.iter().position(|hand| *hand == props.hand);
    let on_choose = props.on_choose.clone();
    let on_choose = Callback::from(move |index: usize| {
        if let Some(hand) = HANDS.get(index) {
            on_choose.emit(*hand);
        }
    });
    html! { <FewField name={props.name.clone()} legend={props.legend.clone()} {options} {chosen} {on_choose} /> }
}

/// Properties of [`AntennaForm`].
#[derive(Properties, PartialEq)]
pub struct AntennaFormProps {
    /// Start of the fields' ids.
    pub id: AttrValue,
    /// The antenna.
    pub antenna: AntennaKit,
    /// Called with the antenna as it should be.
    pub on_change: Callback<AntennaKit>,
}

/// The numbers of an antenna, each of which may be unknown.
#[component]
pub fn AntennaForm(props: &AntennaFormProps) -> Html {
    let AntennaFormProps { id, antenna, on_change } = props;
    let typical = presets::typical_antenna(antenna.kind);
    let set = |change: fn(&mut AntennaKit, Option<f64>)| {
        let (antenna, on_change) = (antenna.clone(), on_change.clone());
        Callback::from(move |value| {
            let mut changed = antenna.clone();
            change(&mut changed, value);
            on_change.emit(changed);
        })
    };
    html! {
        <>
            <NumberField id={format!("{id}-gain")} label="Peak gain" measure={Measure::Gain}
                value={antenna.gain_dbi} range={limits::GAIN_DBI} stand_in={typical.gain_dbi}
                on_commit={set(|antenna, value| antenna.gain_dbi = value)} />
            if let Some(stand_in) = typical.axial_ratio_db {
                <NumberField id={format!("{id}-axial-ratio")} label="Axial ratio" measure={Measure::Ratio}
                    value={antenna.axial_ratio_db} range={limits::AXIAL_RATIO_DB} {stand_in}
                    hint="0 dB is a perfect circle; the larger, the more of the other hand it sends and hears."
                    on_commit={set(|antenna, value| antenna.axial_ratio_db = value)} />
            }
            if let Some(stand_in) = typical.beamwidth_deg {
                <NumberField id={format!("{id}-beamwidth")} label="Beamwidth, half power" measure={Measure::Angle}
                    value={antenna.beamwidth_deg} range={limits::BEAMWIDTH_DEG} {stand_in}
                    on_commit={set(|antenna, value| antenna.beamwidth_deg = value)} />
            }
            if let Some(stand_in) = typical.rejection_db {
                <NumberField id={format!("{id}-rejection")}
                    label={if wording::is_directional(antenna.kind) { "Front to back" } else { "Depth of the null overhead" }}
                    measure={Measure::Ratio} value={antenna.rejection_db} range={limits::REJECTION_DB} {stand_in}
                    on_commit={set(|antenna, value| antenna.rejection_db = value)} />
            }
        </>
    }
}
