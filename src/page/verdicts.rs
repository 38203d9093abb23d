//! Who keeps a picture: one chip per entry with word, sign and line pattern, and the reasons in a line.

use std::rc::Rc;

use yew::prelude::*;

use super::format::{self, DisplayUnits};
use super::in_time::SimulatedLine;
use super::state::{Action, View};
use super::wording;
use crate::link::report::{EntryReport, Report, Verdict};
use crate::plan::channels::frequency_text;
use crate::plan::document::{Entry, Plan};
use crate::units::Hertz;

/// Line patterns before they repeat; the style sheet has as many.
const PATTERNS: usize = 8;

/// Properties of [`Verdicts`].
#[derive(Properties, PartialEq)]
pub struct VerdictsProps {
    /// The plan.
    pub plan: Rc<Plan>,
    /// The last good report.
    pub report: Option<Rc<Report>>,
    /// The report from before the last step.
    pub ghost: Option<Rc<Report>>,
    /// What simulated laps say of each entry.
    pub flown: Vec<SimulatedLine>,
    /// Which entry is chosen.
    pub view: View,
    /// Where choices go.
    pub dispatch: Callback<Action>,
}

/// The chips of all entries. Click or Enter chooses one, arrow up and down go to the next.
#[component]
pub fn Verdicts(props: &VerdictsProps) -> Html {
    let units = use_context::<DisplayUnits>().unwrap_or_default();
    let list = use_node_ref();
    let VerdictsProps { plan, report, ghost, flown, view, dispatch } = props;
    let onkeydown = {
        let (list, dispatch) = (list.clone(), dispatch.clone());
        let (chosen, count) = (view.entry, plan.entries.len());
        Callback::from(move |event: KeyboardEvent| {
            let next = match event.key().as_str() {
                "ArrowDown" => chosen + 1,
                "ArrowUp" if chosen > 0 => chosen - 1,
                _ => return,
            };
            if next < count {
                event.prevent_default();
                dispatch.emit(Action::Choose(next));
                focus_chip(&list, next);
            }
        })
    };
    html! {
        <ol class="verdicts" ref={list} {onkeydown}>
            { for plan.entries.iter().enumerate().map(|(index, entry)| {
                let find = |report: &'_ Rc<Report>| report.entries.iter().find(|judged| judged.id == entry.id).cloned();
                let judged = report.as_ref().and_then(find);
                let before = ghost.as_ref().and_then(find);
                let onclick = dispatch.reform(move |_: MouseEvent| Action::Choose(index));
                html! {
                    <li key={entry.id.clone()}>
                        <button type="button" id={format!("verdict-{index}")}
                            class={classes!("verdict", judged.as_ref().map(|judged| wording::verdict_class(judged.verdict)))}
                            aria-pressed={(view.entry == index).to_string()}
                            tabindex={if view.entry == index { "0" } else { "-1" }} {onclick}>
                            { chip(index, entry, judged.as_ref(), before.as_ref(), plan, units) }
                            if judged.is_some() {
                                { simulated(flown.get(index)) }
                            }
                            if let Some(judged) = &judged {
                                { for judged.same_channel.iter().map(|shared| html! {
                                    <strong class="verdict-shared">{ &shared.sentence }</strong>
                                }) }
                            }
                        </button>
                    </li>
                }
            }) }
        </ol>
    }
}

/// Breakups and reserve of simulated laps; where they say something else than the verdict, what to believe.
fn simulated(line: Option<&SimulatedLine>) -> Html {
    let Some(SimulatedLine { breakups, reserve, arbiter }) = line else { return Html::default() };
    html! {
        <>
            <span class="verdict-flown">{ breakups }</span>
            <span class="verdict-simulated">{ reserve }</span>
            if let Some(arbiter) = arbiter {
                <strong class="verdict-arbiter">{ arbiter }</strong>
            }
        </>
    }
}

fn focus_chip(list: &NodeRef, index: usize) {
    let button = list
        .cast::<web_sys::Element>()
        .and_then(|list| list.query_selector(&format!("#verdict-{index}")).ok().flatten())
        .and_then(|element| wasm_bindgen::JsCast::dyn_into::<web_sys::HtmlElement>(element).ok());
    if let Some(button) = button {
        // A chip that cannot take the focus stays where it is; nothing is lost.
        let _ = button.focus();
    }
}

fn chip(
    index: usize,
    entry: &Entry,
    judged: Option<&EntryReport>,
    before: Option<&EntryReport>,
    plan: &Plan,
    units: DisplayUnits,
) -> Html {
    let head = html! {
        <>
            { entry_line(index) }
            <span class="verdict-name">
                { &entry.name }{ " " }
                <span class="verdict-channel">{ frequency_text(Hertz(entry.channel_hz)) }</span>
            </span>
        </>
    };
    let Some(judged) = judged else {
        return html! { <>{ head }<span class="verdict-line">{ "Not judged yet." }</span></> };
    };
    let was = before.filter(|before| before.verdict != judged.verdict);
    html! {
        <>
            { head }
            <span class="verdict-call">
                if let Some(was) = was {
                    <span class="verdict-was"><span class="unseen">{ "was " }</span>{ was.verdict.word() }</span>
                }
                <span class="verdict-word">{ sign(judged.verdict) }{ judged.verdict.word() }</span>
            </span>
            <span class="verdict-figures">
                <span><b>{ format::share(judged.picture_share) }</b>{ " of fields" }</span>
                <span><b>{ format::spare(judged.reserve_db, Some(judged.sigma_db)) }</b></span>
                <span>{ format!("{} chance it holds", format::confidence(judged.confidence)) }</span>
            </span>
            <span class="verdict-line">{ wording::worst_stretch(judged, plan, units) }</span>
        </>
    }
}

/// An entry's verdict in brief, leading to all of them.
pub fn slim(plan: &Plan, report: Option<&Report>, ghost: Option<&Report>, index: usize) -> Html {
    let Some(entry) = plan.entries.get(index) else { return Html::default() };
    let verdict = |report: Option<&Report>| {
        report?.entries.iter().find(|judged| judged.id == entry.id).map(|judged| (judged.verdict, judged.reserve_db))
    };
    let judged = verdict(report);
    let was = verdict(ghost).map(|(was, _)| was).filter(|was| judged.is_some_and(|(now, _)| now != *was));
    html! {
        <a class="slim" href="#verdicts-heading">
            <span class="slim-name">{ &entry.name }</span>{ " " }
            if let Some((verdict, reserve_db)) = judged {
                <span class={classes!("slim-call", wording::verdict_class(verdict))}>
                    { sign(verdict) }{ " " }{ verdict.word() }
                    if let Some(was) = was {
                        { format!(" (was {})", was.word()) }
                    }
                </span>
                { " " }<span class="slim-reserve">{ format::decibel_change(reserve_db) }</span>
            } else {
                <span class="slim-call">{ "not judged yet" }</span>
            }
        </a>
    }
}

/// The line pattern of an entry, as a sample.
pub fn entry_line(index: usize) -> Html {
    html! {
        <svg class={classes!("entry-line", format!("entry-{}", index % PATTERNS))} viewBox="0 0 36 8" width="36" height="8" aria-hidden="true">
            <line x1="1" y1="4" x2="35" y2="4" />
        </svg>
    }
}

/// The sign of a verdict: a full ring, a half-full one, a cross. It says the same as the word beside it.
pub fn sign(verdict: Verdict) -> Html {
    html! {
        <svg class={classes!("verdict-sign", wording::verdict_class(verdict))} viewBox="0 0 16 16" width="16" height="16" aria-hidden="true">
            { match verdict {
                Verdict::Clear => html! { <circle cx="8" cy="8" r="6" class="sign-full" /> },
                Verdict::Thin => html! {
                    <><circle cx="8" cy="8" r="6" class="sign-ring" /><path d="M8 2a6 6 0 0 0 0 12z" class="sign-full" /></>
                },
                Verdict::Short => html! { <path d="M3 3l10 10M13 3L3 13" class="sign-cross" /> },
            } }
        </svg>
    }
}
