//! Tilting a phone tilts the sender's antenna; where there is nothing to tilt, sliders do.

use std::cell::Cell;
use std::rc::Rc;

use gloo::events::EventListener;
use js_sys::{Function, Promise, Reflect};
use wasm_bindgen::{JsCast, JsValue};
use wasm_bindgen_futures::JsFuture;
use yew::prelude::*;

use super::held;
use crate::bench::wave::dials::{Dial, slider};
use crate::elements::{button, note};
use crate::format::fixed;
use crate::link::pair::PairLink;
use crate::units::Degrees;

/// Properties of [`TiltPanel`].
#[derive(Clone, PartialEq, Properties)]
pub struct TiltPanelProps {
    /// The link on the bench.
    pub link: Rc<PairLink>,
    /// Called with the link after a tilt.
    pub on_change: Callback<PairLink>,
}

/// Where the device's own sense of its attitude stands with us.
#[derive(Clone, Copy, PartialEq)]
enum Sense {
    /// Not asked for.
    Off,
    /// Asked for; nothing has come yet.
    Asked,
    /// It tells.
    On,
    /// The person or the browser said no, or there is none.
    Refused,
}

/// A property of the window.
fn of_window(name: &str) -> Option<JsValue> {
    Reflect::get(&gloo::utils::window(), &name.into()).ok().filter(JsValue::is_truthy)
}

/// Asks for permission where the browser wants that; whether it was given.
async fn permission() -> bool {
    let Some(kind) = of_window("DeviceOrientationEvent") else { return false };
    let ask = Reflect::get(&kind, &"requestPermission".into()).ok().and_then(|ask| ask.dyn_into::<Function>().ok());
    // Without a question there is nobody to say no.
    let Some(ask) = ask else { return true };
    let Some(answer) = ask.call0(&kind).ok().and_then(|promise| promise.dyn_into::<Promise>().ok()) else {
        return false;
    };
    JsFuture::from(answer).await.is_ok_and(|answer| answer.as_string().as_deref() == Some("granted"))
}

/// An angle out of an event, in degrees.
fn angle(event: &Event, name: &str) -> Option<f64> {
    Reflect::get(event, &name.into()).ok()?.as_f64().filter(|angle| angle.is_finite())
}

/// Buttons and sliders for the attitude of the sender's antenna.
#[component]
pub fn TiltPanel(props: &TiltPanelProps) -> Html {
    let sense = use_state(|| Sense::Off);
    // The listener lives longer than one drawing; it looks up the newest link here.
    let newest = use_mut_ref(|| props.link.clone());
    *newest.borrow_mut() = props.link.clone();
    {
        let (newest, on_change, state) = (newest.clone(), props.on_change.clone(), sense.setter());
        let listens = matches!(*sense, Sense::Asked | Sense::On);
        use_effect_with(listens, move |listens| {
            let leaning = Cell::new(None);
            let listener = listens.then(|| {
                EventListener::new(&gloo::utils::window(), "deviceorientation", move |event| {
                    let (Some(beta), Some(gamma)) = (angle(event, "beta"), angle(event, "gamma")) else {
                        return state.set(Sense::Refused);
                    };
                    state.set(Sense::On);
                    let [bank, back] = held([Degrees(beta), Degrees(gamma)]);
                    // As it is held at first counts as not leaning: few hold a screen upright.
                    let first = leaning.get().unwrap_or(back);
                    leaning.set(Some(first));
                    let link = newest.borrow().clone();
                    // Whole degrees: a hand is never still.
                    let turned = tilted(&link, (back - first).0.round(), bank.0.round());
                    if turned != *link {
                        on_change.emit(turned);
                    }
                })
            });
            move || drop(listener)
        });
    }
    let ask = {
        let sense = sense.setter();
        Callback::from(move |_: MouseEvent| {
            let sense = sense.clone();
            sense.set(Sense::Asked);
            wasm_bindgen_futures::spawn_local(async move {
                if !permission().await {
                    sense.set(Sense::Refused);
                }
            });
        })
    };
    let halt = {
        let sense = sense.setter();
        Callback::from(move |_: MouseEvent| sense.set(Sense::Off))
    };
    let said = match *sense {
        Sense::Off => "",
        Sense::Asked => "Waiting for this device to tell how it is held: some cannot.",
        Sense::On => "This device tells how it is held: bank it like an aircraft.",
        Sense::Refused => "This device does not tell how it is held. The sliders do the same.",
    };
    let transmitter = &props.link.transmitter;
    let dial = |id, label, value: f64, turns: fn(&PairLink, f64) -> PairLink| {
        let (link, on_change) = (props.link.clone(), props.on_change.clone());
        let figure = format!("{}°", fixed(value, 0));
        let on = Callback::from(move |value: f64| {
            if !value.is_nan() {
                on_change.emit(turns(&link, value));
            }
        });
        slider(Dial { id, label, scale: [-90.0, 90.0, 1.0], value, figure }, on)
    };
    html! {
        <section class="tilt" aria-labelledby="tilt-heading">
            <h3 id="tilt-heading">{ "Bank and tilt the sender" }</h3>
            <div class="wave-dials">
                { dial("tilt-bank", "Bank", transmitter.turn_deg, |link, value| tilted(link, link.transmitter.tilt_deg, value)) }
                { dial("tilt-back", "Lean back", transmitter.tilt_deg, |link, value| tilted(link, value, link.transmitter.turn_deg)) }
            </div>
            if matches!(*sense, Sense::Asked | Sense::On) {
                { button("tilt-device", "Stop following this device", None, halt) }
            } else {
                { button("tilt-device", "Follow how this device is held", None, ask) }
            }
            <p id="tilt-said" class="field-note" role="status">{ said }</p>
            { note("Nothing of it leaves this device.") }
        </section>
    }
}

/// The link with the sender leaning back and turned about the line by so many degrees, each kept to a half turn.
fn tilted(link: &PairLink, tilt_deg: f64, turn_deg: f64) -> PairLink {
    let mut tilted = link.clone();
    (tilted.transmitter.tilt_deg, tilted.transmitter.turn_deg) =
        (tilt_deg.clamp(-180.0, 180.0), turn_deg.clamp(-180.0, 180.0));
    tilted
}
