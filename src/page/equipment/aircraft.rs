//! The aircraft's end: feed line, antenna, how it is mounted.

use yew::prelude::*;

use super::{antenna, feed};
use crate::cautions::caution;
use crate::editor::Editor;
use crate::fields::NumberField;
use crate::format::Measure;
use crate::plan::document::Radio;
use crate::plan::{limits, presets};

/// Everything about the aircraft's video transmitter that the three questions leave out.
pub fn form(editor: &Editor, radio: &Radio) -> Html {
    html! {
        <section class="form-part">
            <h4>{ "On the aircraft" }</h4>
            <div class="form-fields">
                { feed::fields("aircraft-feed", &radio.feed, &editor.radio("Feed line changed", |radio, feed| radio.feed = feed)) }
                { antenna::fields("aircraft", &radio.antenna,
                    &editor.radio("Aircraft’s antenna changed", |radio, antenna| radio.antenna = antenna),
                    Some(format!("#view=bench&entry={}&sample=0", editor.entry))) }
                <NumberField id="aircraft-lean-back" label="Antenna tilt, backward" measure={Measure::Angle}
                    value={Some(radio.mounting.lean_back_deg)} range={limits::LEAN_DEG}
                    hint="From the thrust axis toward the tail: in fast flight the aircraft pitches forward, and an antenna that leans back stands up."
                    on_commit={editor.radio("Mounting changed", |radio, lean: Option<f64>| {
                        radio.mounting.lean_back_deg = lean.unwrap_or(radio.mounting.lean_back_deg);
                    })} />
                <NumberField id="aircraft-lean-right" label="Antenna tilt, to the right" measure={Measure::Angle}
                    value={Some(radio.mounting.lean_right_deg)} range={limits::LEAN_DEG}
                    on_commit={editor.radio("Mounting changed", |radio, lean: Option<f64>| {
                        radio.mounting.lean_right_deg = lean.unwrap_or(radio.mounting.lean_right_deg);
                    })} />
                <NumberField id="aircraft-frame-loss" label="Loss through its own frame" measure={Measure::Ratio}
                    value={radio.mounting.frame_loss_db} range={limits::FRAME_LOSS_DB} stand_in={presets::FRAME_LOSS_DB}
                    hint="In the cone below the antenna’s foot: battery, carbon and motors."
                    on_commit={editor.radio("Frame loss changed", |radio, loss| radio.mounting.frame_loss_db = loss)} />
            </div>
            { caution("Control comes before the picture", html! {
                "The control link must outlast the video. Set what the aircraft does when control is lost, and try it with the propellers off."
            }) }
        </section>
    }
}
