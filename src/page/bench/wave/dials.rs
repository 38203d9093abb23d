//! The dials of the drawn wave.

use yew::prelude::*;

use super::{Dialled, USUAL_GRAZING, WALLS, WaveEnd};
use crate::elements::note;
use crate::fields::{FewField, FewFieldProps};
use crate::format::fixed;
use crate::kept::kept;
use crate::link::pair::Side;
use crate::rf::wave::{GRAZING, SideWall};
use crate::units::{Db, Degrees};

/// The greatest axial ratio of a dial; beyond it an ellipse looks like a line.
const MOST_AXIAL_RATIO: f64 = 20.0;

/// A dial: what it is called, where it stands, and what its figure reads.
pub struct Dial {
    /// Id of the input.
    pub id: &'static str,
    /// Label.
    pub label: &'static str,
    /// Lower end, upper end, step.
    pub scale: [f64; 3],
    /// Where it stands.
    pub value: f64,
    /// Its figure with the unit.
    pub figure: String,
}

/// A dial as a slider with a label and its figure.
pub fn slider(dial: Dial, on: Callback<f64>) -> Html {
    let Dial { id, label, scale, value, figure } = dial;
    let [min, max, step] = scale.map(|number| number.to_string());
    let oninput = Callback::from(move |event: InputEvent| {
        let input: web_sys::HtmlInputElement = event.target_unchecked_into();
        on.emit(input.value_as_number());
    });
    html! {
        <div class="dial">
            <label for={id}>{ label }</label>
            <input {id} type="range" {min} {max} {step} value={value.to_string()} aria-valuetext={figure.clone()} {oninput} />
            <output for={id}>{ figure }</output>
        </div>
    }
}

/// The dials of one antenna.
pub fn of_end(side: Side, of: &WaveEnd, on: &Callback<Dialled>) -> Html {
    let (legend, ids) = match side {
        Side::Transmitter => ("Sender", ["sender-axial-ratio", "sender-turn"]),
        Side::Receiver => ("Receiver", ["receiver-axial-ratio", "receiver-turn"]),
    };
    let ratio = of.axial_ratio.map(|ratio| {
        let figure = format!("{}\u{a0}dB", fixed(ratio.0, 1));
        let scale = [0.0, MOST_AXIAL_RATIO, 0.5];
        let on = on.reform(move |value| Dialled::AxialRatio(side, Db(value)));
        slider(Dial { id: ids[0], label: "Axial ratio", scale, value: ratio.0, figure }, on)
    });
    let turn = {
        let figure = format!("{}°", fixed(of.turn.0, 0));
        let on = on.reform(move |value| Dialled::Turn(side, Degrees(value)));
        slider(Dial { id: ids[1], label: "Turn", scale: [-90.0, 90.0, 1.0], value: of.turn.0, figure }, on)
    };
    html! {
        <fieldset class="wave-dials">
            <legend>{ legend }</legend>
            if let Some(ratio) = ratio {
                { ratio }
            } else if of.is_measured {
                { note("A measured antenna: its ellipse is the table’s.") }
            } else {
                { note("A linear antenna: its ellipse is a line.") }
            }
            { turn }
        </fieldset>
    }
}

/// The wall: which, and at what angle.
pub fn of_wall(wall: Option<SideWall>, on: &Callback<Dialled>) -> Html {
    let options = std::iter::once("None").chain(WALLS.map(|(_, name)| name)).map(AttrValue::from).collect();
    let chosen =
        wall.map_or(Some(0), |wall| WALLS.iter().position(|(material, _)| *material == wall.material).map(|at| at + 1));
    let grazing = wall.map_or(USUAL_GRAZING, |wall| wall.grazing);
    let on_choose = on.reform(move |at: usize| {
        let material = at.checked_sub(1).and_then(|at| WALLS.get(at));
        Dialled::Wall(material.map(|(material, _)| (*material, grazing)))
    });
    let (name, legend) = ("wave-wall".into(), "Wall beside the line".into());
    let choice =
        kept::<FewField>(FewFieldProps { name, legend, options, chosen, hint: AttrValue::default(), on_choose });
    let angle = wall.map(|wall| {
        let figure = format!("{}°", fixed(wall.grazing.0, 0));
        let scale = [GRAZING.start().0, GRAZING.end().0, 1.0];
        let on = on.reform(move |value| Dialled::Wall(Some((wall.material, Degrees(value)))));
        slider(
            Dial { id: "wave-grazing", label: "Angle between ray and wall", scale, value: wall.grazing.0, figure },
            on,
        )
    });
    html! { <div class="wave-dials">{ choice }{ angle }</div> }
}
