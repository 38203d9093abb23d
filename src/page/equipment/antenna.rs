//! An antenna: its kind, its hand, and the numbers that a maker's sheet may state.

use yew::prelude::*;

use crate::drawing::ink::mark;
use crate::elements::button;
use crate::fields::{ChoiceField, FewField, Measured, NumberField};
use crate::format::Measure;
use crate::plan::document::{AntennaKind, AntennaKit, StatedHand};
use crate::plan::{limits, presets};
use crate::wording;

/// The hands in the order in which they are offered.
const HANDS: [StatedHand; 3] = [StatedHand::Right, StatedHand::Left, StatedHand::Unknown];

/// The same place with an antenna of another kind: the hand stays, the numbers go, as they were those of the old one.
pub fn of_kind(kit: &AntennaKit, kind: AntennaKind) -> AntennaKit {
    AntennaKit::of_kind(kind, kit.hand)
}

/// A choice of kind.
pub fn kind_field(id: String, label: String, kind: AntennaKind, on_choose: Callback<AntennaKind>) -> Html {
    let options: Vec<AttrValue> =
        presets::ANTENNA_KINDS.iter().map(|kind| AttrValue::from(wording::antenna_kind(*kind))).collect();
    let chosen = presets::ANTENNA_KINDS.iter().position(|one| *one == kind);
    let on_choose = Callback::from(move |index: usize| {
        if let Some(kind) = presets::ANTENNA_KINDS.get(index) {
            on_choose.emit(*kind);
        }
    });
    html! { <ChoiceField {id} {label} {options} {chosen} {on_choose} /> }
}

/// A choice of hand; for a linear antenna a sentence that it has none.
pub fn hand_field(
    name: String,
    legend: String,
    kind: AntennaKind,
    hand: StatedHand,
    on_choose: Callback<StatedHand>,
) -> Html {
    if !presets::has_hand(kind) {
        return html! { <p class="field-note hand-none">{ "Linear: it has no hand." }</p> };
    }
    let options: Vec<AttrValue> = HANDS.iter().map(|hand| AttrValue::from(wording::stated_hand(*hand))).collect();
    let chosen = HANDS.iter().position(|one| *one == hand);
    let on_choose = Callback::from(move |index: usize| {
        if let Some(hand) = HANDS.get(index) {
            on_choose.emit(*hand);
        }
    });
    html! { <FewField {name} {legend} {options} {chosen} {on_choose} /> }
}

/// The numbers of an antenna, each of which may be unknown; with a measured table, that there is one, as it stands for them.
/// `bench` is the address of the bench with this antenna, where tables are read and drawn.
pub fn fields(id: &str, antenna: &AntennaKit, on_change: &Callback<AntennaKit>, bench: Option<String>) -> Html {
    let typical = presets::typical_antenna(antenna.kind);
    let set = |change: fn(&mut AntennaKit, Option<f64>)| {
        let (antenna, on_change) = (antenna.clone(), on_change.clone());
        Callback::from(move |value| {
            let mut changed = antenna.clone();
            change(&mut changed, value);
            on_change.emit(changed);
        })
    };
    if let Some(table) = &antenna.table {
        let onclick = set(|antenna, _| antenna.table = None).reform(|_: MouseEvent| None);
        let rows = format!("Measured table, {} rows", table.len());
        let mut parts = vec![mark("p", &["id"], vec![format!("{id}-table").into()], vec![rows.into()])];
        parts.push(button("", "Remove the table", None, onclick));
        parts.extend(bench.map(|href| mark("a", &["href"], vec![href.into()], vec!["Open on the bench".into()])));
        return mark("div", &["class"], vec!["field".into()], parts);
    }
    // The bench asks for no band, and its address has no room for the answer.
    let measured = presets::gain_tolerance(antenna).filter(|_| bench.is_some()).map(|tolerance| Measured {
        is_measured: antenna.gain_is_measured,
        tolerance,
        on_change: {
            let (antenna, on_change) = (antenna.clone(), on_change.clone());
            Callback::from(move |gain_is_measured| {
                on_change.emit(AntennaKit { gain_is_measured, ..antenna.clone() });
            })
        },
    });
    html! {
        <>
            <NumberField id={format!("{id}-gain")} label="Peak gain" measure={Measure::Gain}
                value={antenna.gain_dbi} range={limits::GAIN_DBI} stand_in={typical.gain_dbi} {measured}
                on_commit={set(|antenna, value| {
                    antenna.gain_dbi = value;
                    antenna.gain_is_measured &= value.is_some();
                })} />
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
                    label={if presets::is_directional(antenna.kind) { "Front-to-back ratio" } else { "Overhead null depth" }}
                    measure={Measure::Ratio} value={antenna.rejection_db} range={limits::REJECTION_DB} {stand_in}
                    on_commit={set(|antenna, value| antenna.rejection_db = value)} />
            }
        </>
    }
}
