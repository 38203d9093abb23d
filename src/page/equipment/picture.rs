//! The picture of a receiver and how sensitive it is.

use yew::prelude::*;

use crate::editor::Editor;
use crate::fields::{FewField, NumberField};
use crate::format::Measure;
use crate::plan::document::{Picture, Receiver, ReceiverNoise};
use crate::plan::{limits, presets};

/// Analogue or digital, bandwidth, what it needs, and noise figure or sensitivity.
pub fn fields(editor: &Editor, receiver: &Receiver) -> Html {
    let (is_digital, bandwidth_hz, required) = match receiver.picture {
        Picture::Analogue { bandwidth_hz, required_cn_db } => (false, bandwidth_hz, required_cn_db),
        Picture::Digital { bandwidth_hz, required_cn_db, .. } => (true, bandwidth_hz, required_cn_db),
    };
    let freeze = match receiver.picture {
        Picture::Analogue { .. } => None,
        Picture::Digital { freeze_s, .. } => Some(freeze_s),
    };
    let is_stated = matches!(receiver.noise, ReceiverNoise::Sensitivity { .. });
    html! {
        <div class="form-fields">
            <FewField name="picture-kind" legend="Picture" options={vec!["analogue".into(), "digital".into()]}
                chosen={Some(usize::from(is_digital))}
                hint={if is_digital { "Perfect up to a cliff, then frozen for a while." } else { "Snow first, then nothing." }}
                on_choose={editor.receiver("Picture changed", |receiver, index: usize| receiver.picture = match index {
                    0 => Picture::Analogue { bandwidth_hz: presets::ANALOGUE_BANDWIDTH.0, required_cn_db: None },
                    _ => Picture::Digital {
                        bandwidth_hz: presets::DIGITAL_BANDWIDTH.0,
                        required_cn_db: None,
                        freeze_s: presets::DIGITAL_FREEZE_S.value,
                    },
                })} />
            <NumberField id="picture-bandwidth" label="Bandwidth" measure={Measure::Frequency} value={Some(bandwidth_hz)}
                range={limits::BANDWIDTH_HZ}
                on_commit={editor.receiver("Bandwidth changed", |receiver, value: Option<f64>| match &mut receiver.picture {
                    Picture::Analogue { bandwidth_hz, .. } | Picture::Digital { bandwidth_hz, .. } => {
                        *bandwidth_hz = value.unwrap_or(*bandwidth_hz);
                    }
                })} />
            <NumberField id="picture-required" label="Carrier over noise it needs" measure={Measure::Ratio} value={required}
                range={limits::REQUIRED_CN_DB}
                stand_in={if is_digital { presets::DIGITAL_REQUIRED_CN_DB } else { presets::ANALOGUE_REQUIRED_CN_DB }}
                on_commit={editor.receiver("Needed carrier over noise changed", |receiver, value| match &mut receiver.picture {
                    Picture::Analogue { required_cn_db, .. } | Picture::Digital { required_cn_db, .. } => *required_cn_db = value,
                })} />
            if let Some(freeze) = freeze {
                <NumberField id="picture-freeze" label="Stays frozen for" measure={Measure::Time} value={Some(freeze)}
                    range={limits::FREEZE_S}
                    on_commit={editor.receiver("Freeze changed", |receiver, value: Option<f64>| {
                        if let Picture::Digital { freeze_s, .. } = &mut receiver.picture {
                            *freeze_s = value.unwrap_or(*freeze_s);
                        }
                    })} />
            }
            <FewField name="noise-kind" legend="Sensitivity"
                options={vec!["from the noise figure".into(), "as stated".into()]}
                chosen={Some(usize::from(is_stated))}
                on_choose={editor.receiver("Sensitivity changed", |receiver, index: usize| receiver.noise = match index {
                    0 => ReceiverNoise::NoiseFigure { noise_figure_db: None },
                    _ => ReceiverNoise::Sensitivity { level_dbm: presets::SENSITIVITY_DBM.value },
                })} />
            { match receiver.noise {
                ReceiverNoise::NoiseFigure { noise_figure_db } => html! {
                    <NumberField id="noise-figure" label="Noise figure" measure={Measure::Ratio} value={noise_figure_db}
                        range={limits::NOISE_FIGURE_DB} stand_in={presets::NOISE_FIGURE_DB}
                        on_commit={editor.receiver("Noise figure changed", |receiver, value| {
                            receiver.noise = ReceiverNoise::NoiseFigure { noise_figure_db: value };
                        })} />
                },
                ReceiverNoise::Sensitivity { level_dbm } => html! {
                    <NumberField id="noise-sensitivity" label="Weakest usable level" measure={Measure::Level}
                        value={Some(level_dbm)} range={limits::SENSITIVITY_DBM}
                        on_commit={editor.receiver("Sensitivity changed", move |receiver, value: Option<f64>| {
                            receiver.noise = ReceiverNoise::Sensitivity { level_dbm: value.unwrap_or(level_dbm) };
                        })} />
                },
            } }
        </div>
    }
}
