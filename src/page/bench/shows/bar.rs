//! The row of demonstrations above the bench.

use std::rc::Rc;

use yew::prelude::*;

use super::{SHOWS, of};
use crate::elements::button;
use crate::link::pair::PairLink;

/// Properties of [`ShowBar`].
#[derive(Clone, PartialEq, Properties)]
pub struct ShowBarProps {
    /// The link on the bench.
    pub link: Rc<PairLink>,
    /// Called with the link of a demonstration.
    pub on_change: Callback<PairLink>,
    /// Called when the table mode is wanted.
    pub on_table: Callback<()>,
}

/// Buttons that prepare the five demonstrations, with the words of the one that is on.
#[component]
pub fn ShowBar(props: &ShowBarProps) -> Html {
    // The words stay while somebody tries what they say, until another demonstration is prepared.
    let told = use_state(|| None::<usize>);
    let now = of(&props.link);
    let shown = now.or(*told);
    let prepare = |at: usize| {
        let (told, on_change) = (told.setter(), props.on_change.clone());
        Callback::from(move |_: MouseEvent| {
            told.set(Some(at));
            on_change.emit((SHOWS[at].link)());
        })
    };
    html! {
        <section class="shows" aria-labelledby="shows-heading">
            <h2 id="shows-heading">{ "Five short demonstrations" }</h2>
            <div class="shows-row">
                { for SHOWS.iter().enumerate().map(|(at, show)| html! {
                    <button key={at} id={format!("show-{at}")} type="button" class="button" aria-pressed={(now == Some(at)).to_string()}
                        onclick={prepare(at)}>{ format!("{} {}", at + 1, show.name) }</button>
                }) }
                { button("table-mode", "Table mode", None, props.on_table.reform(|_| ())) }
            </div>
            <div id="show-words" class="shows-words" role="status">
                if let Some(show) = shown.and_then(|at| SHOWS.get(at)) {
                    <p>{ show.sentences.join(" ") }</p>
                    <p><b>{ "Try: " }</b>{ show.to_try }</p>
                }
            </div>
        </section>
    }
}
