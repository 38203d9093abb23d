//! The whole page.

use yew::prelude::*;

use super::bridge::Bridge;
use super::jobs::{Event, Job};

/// The page.
#[function_component]
pub fn App() -> Html {
    let answer = use_state(|| AttrValue::from("…"));
    let bridge = use_memo((), |()| {
        let answer = answer.setter();
        Bridge::new(move |event| {
            answer.set(match event {
                Event::Answered { answer, .. } => {
                    let decibels = answer.columns.concat();
                    decibels.iter().map(|value| format!("{value:.2} dB")).collect::<String>().into()
                }
                Event::Failed { why, .. } => why.into(),
            });
        })
    });
    use_effect_with((), move |()| {
        bridge.post(Job { kind: "decibels".into(), text: "2".into() });
    });
    html! {
        <main>
            <h1>{ "Lapmargin" }</h1>
            <p>{ "Twice the power is " }<output id="answer">{ &*answer }</output>{ " more." }</p>
        </main>
    }
}
