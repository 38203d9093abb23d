//! The table mode: an unattended screen that shows one demonstration after the other until somebody takes over.

use gloo::events::EventListener;
use gloo::timers::callback::Interval;
use yew::prelude::*;

use super::{EACH_S, SHOWS, figures};
use crate::bench::picture::{PictureView, PictureViewProps, reception};
use crate::bench::wave::{Dialled, WaveEnd, WaveView, WaveViewProps};
use crate::kept::kept;
use crate::link::pair::hearing::hear;
use crate::link::pair::{PairLink, Side, beside};
use crate::units::Hertz;

/// Properties of [`Table`].
#[derive(Clone, PartialEq, Properties)]
pub struct TableProps {
    /// Called with the link that is shown when somebody takes over.
    pub on_leave: Callback<PairLink>,
}

/// The whole screen: words, two figures, wave and picture of one demonstration after the other.
#[component]
pub fn Table(props: &TableProps) -> Html {
    let at = use_state(|| 0);
    let link = use_memo(*at, |at| (SHOWS[*at].link)());
    let heard = use_memo(*at, |at| hear(&(SHOWS[*at].link)()).ok());
    {
        let at = at.clone();
        use_effect_with(*at, move |now| {
            let next = (now + 1) % SHOWS.len();
            let turn = Interval::new(1000 * EACH_S, move || at.set(next));
            move || drop(turn)
        });
    }
    {
        let (link, on_leave) = (link.clone(), props.on_leave.clone());
        use_effect_with(*at, move |_| {
            let window = gloo::utils::window();
            let listeners = ["pointerdown", "keydown"].map(|event| {
                let (link, on_leave) = (link.clone(), on_leave.clone());
                EventListener::new(&window, event, move |_| on_leave.emit((*link).clone()))
            });
            move || drop(listeners)
        });
    }
    let show = &SHOWS[*at];
    let Some(report) = &*heard else { return Html::default() };
    let [sender, receiver] = Side::ALL.map(|side| WaveEnd::of(&link, report, side));
    let wave = WaveViewProps {
        sender,
        receiver,
        wall: beside::wall(&link),
        frequency: Hertz(link.frequency_hz),
        on_dial: Callback::from(|_: Dialled| ()),
    };
    html! {
        <main id="table" class="table" aria-labelledby="table-heading">
            <header>
                <h1 id="table-heading">{ show.name }</h1>
                <p id="table-place">{ format!("{} of {}", *at + 1, SHOWS.len()) }</p>
            </header>
            <div class="table-words" aria-live="polite">
                { for show.sentences.iter().map(|sentence| html! { <p>{ *sentence }</p> }) }
            </div>
            <dl class="table-figures">
                { for figures(&link, report).into_iter().map(|(name, figure)| html! {
                    <div key={name}><dd class="table-figure">{ figure }</dd><dt>{ name }</dt></div>
                }) }
            </dl>
            <div class="table-seen">
                { kept::<WaveView>(wave) }
                { kept::<PictureView>(PictureViewProps { reception: reception(&link, report) }) }
            </div>
            <p id="table-hint" class="table-hint">{ "Touch the screen or press a key to try it yourself. The picture is an illustration." }</p>
        </main>
    }
}

/// Asks for the whole screen; where it is refused the table mode fills the window.
pub fn ask_for_whole_screen() {
    if let Some(root) = gloo::utils::document().document_element() {
        // Refused is answered by a promise or an error; both leave things as they are.
        let _ = root.request_fullscreen();
    }
}
