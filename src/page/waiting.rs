//! Verdicts that take long: how far they are, and a way to do without.

use gloo::timers::callback::Timeout;
use yew::prelude::*;

use super::elements::button;

/// Nothing is said of what is there sooner, in milliseconds.
const SOON_MS: u32 = 1000;

/// Properties of [`Waiting`].
#[derive(Properties, PartialEq)]
pub struct WaitingProps {
    /// Entries that are judged.
    pub judged: usize,
    /// Entries of the plan.
    pub of: usize,
    /// Called when a person wants no more of it.
    pub give_up: Callback<()>,
}

/// How many entries are judged, once it takes longer than a moment.
#[component]
pub fn Waiting(props: &WaitingProps) -> Html {
    let is_long = use_state(|| false);
    use_effect_with((), {
        let is_long = is_long.setter();
        move |()| {
            let timer = Timeout::new(SOON_MS, move || is_long.set(true));
            move || drop(timer)
        }
    });
    if !*is_long {
        return Html::default();
    }
    let WaitingProps { judged, of, give_up } = props;
    html! {
        <p id="waiting" aria-live="off">
            { format!("Judging the pilots: {judged} of {of}… ") }
            { button("give-up", "Give up", None, give_up.reform(|_| ())) }
        </p>
    }
}
