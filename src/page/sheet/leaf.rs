//! The paper itself, as it will be printed.

use std::rc::Rc;

use yew::prelude::*;

use super::card::PilotCard;
use super::content::{EntryContent, LapWords};
use super::course::{course, pattern_sample};
use super::laps::{JudgedPlan, LapSentences};
use super::paper::Paper;
use super::qr::{Code, CodeRoom};
use crate::caution_words::{BEFORE_YOU_FLY, WHO_DECIDES};
use crate::drawing::frame::Frame;
use crate::format::DisplayUnits;
use crate::plan::document::Plan;
use crate::verdicts::sign;
use crate::wording::with_first;

/// With more entries than this words stand closer, and the cautions beside the drawing instead of under it.
const FEW: usize = 4;
/// The least share of the width that the cautions then have.
const BESIDE: f64 = 0.45;
/// Height kept free, in pixels: a printer's letters may run a little wider than a screen's, and a line may break.
const SLACK: f64 = 18.0;
/// How much lower the drawing becomes at a time where the cautions beside it need more width, in pixels.
const STEP: f64 = 6.0;
/// By so much a height in whole pixels may be more than what it was meant to be.
const ROUNDED: f64 = 1.5;
/// The drawing is never lower than this, in pixels; where there is not even so much room, the sheet takes another page.
const LEAST_DRAWING: f64 = 180.0;

/// Properties of [`Leaf`].
#[derive(Properties)]
pub struct LeafProps {
    /// The plan.
    pub plan: Rc<Plan>,
    /// What was computed of it.
    pub judged: Rc<JudgedPlan>,
    /// What laps in time say so far.
    pub flown: LapSentences,
    /// What it is printed on.
    pub paper: Paper,
    /// Units of lengths.
    pub units: DisplayUnits,
    /// Called with whether one page is enough.
    pub on_fit: Callback<bool>,
}

impl PartialEq for LeafProps {
    fn eq(&self, other: &Self) -> bool {
        Rc::ptr_eq(&self.judged, &other.judged) && Rc::ptr_eq(&self.flown, &other.flown) && self.paper == other.paper
    }
}

/// The paper. The drawing takes what height the words leave.
#[component]
pub fn Leaf(props: &LeafProps) -> Html {
    let LeafProps { plan, judged, flown, paper, units, on_fit } = props;
    let content = &judged.content;
    let [width, height] = paper.room();
    let most_height = use_state_eq(|| height / 3.0);
    let is_dense = plan.entries.len() > FEW;
    // On this paper lines and boxes stand closer still: letters may be wide where a device has no others.
    let tight_on = use_state_eq(|| None);
    let is_tight = *tight_on == Some(*paper);
    let (all, top) = (use_node_ref(), use_node_ref());
    {
        let (all, top, most_height, on_fit) = (all.clone(), top.clone(), most_height.clone(), on_fit.clone());
        let (tight_on, paper) = (tight_on.setter(), *paper);
        let (now, ceiling) = ((paper, flown.len()), use_mut_ref(|| ((paper, flown.len()), f64::INFINITY)));
        use_effect(move || {
            let of = |node: &NodeRef| {
                node.cast::<web_sys::HtmlElement>().map_or(0.0, |part| f64::from(part.offset_height()))
            };
            let (all, top) = (of(&all), of(&top));
            let room = height - SLACK - all + top;
            let is_least = room < LEAST_DRAWING || *most_height <= LEAST_DRAWING;
            if all > height - SLACK && is_least && !is_tight {
                tight_on.set(Some(paper));
                return;
            }
            let mut ceiling = ceiling.borrow_mut();
            if ceiling.0 != now {
                *ceiling = (now, f64::INFINITY);
            }
            // The cautions beside the drawing may be the higher of the two: the lower it is, the wider they are.
            if top > room + ROUNDED {
                ceiling.1 = *most_height - STEP;
            }
            // Where it takes another page anyway, the drawing need not be small.
            let wanted = if room < LEAST_DRAWING { height / 3.0 } else { room.min(ceiling.1).max(LEAST_DRAWING) };
            most_height.set(wanted);
            on_fit.emit(all <= height);
        });
    }
    let link = judged.link.code.as_ref();
    let fit = |across: f64| Frame::fit(across, *most_height, plan.site.width_m, plan.site.depth_m);
    let frame = if is_dense {
        let beside = (width * BESIDE).ceil() + if link.is_some() { CodeRoom::LINK.side_pixels() } else { 0.0 };
        fit(fit(width).least_width().min(width - beside))
    } else {
        fit(width)
    };
    let drawing = course(plan, &judged.report, &frame, *units).shown();
    let link = link.map_or_else(Html::default, link_code);
    let places = html! { <p class="sheet-line">{ &content.places }</p> };
    // Where entries are many, all words flow about the drawing and the link.
    let beneath =
        html! { <>{ cautions(&content.exposure) }{ if is_dense { places.clone() } else { link.clone() } }</> };
    html! {
        <div class="sheet-scroll" tabindex="0" role="region" aria-label="The sheet">
            <article class={classes!("sheet-paper", paper.class(), is_dense.then_some("is-dense"), is_tight.then_some("is-tight"))}><div ref={all}>
                <header class="sheet-head">
                    <h2>{ &content.name }</h2>
                    <p class="sheet-date">{ "Mark " }<b id="plan-mark">{ &content.mark }</b>{ format!(", {}", judged.date) }</p>
                </header>
                <p class="sheet-line">{ &content.lap }</p>
                <div class="sheet-top" ref={top}>
                    if is_dense { { link.clone() } }
                    { drawing }
                    if is_dense { { beneath.clone() } }
                </div>
                if !is_dense { { places } }
                { for content.safety.iter().map(|warning| html! { <p class="sheet-warning">{ "\u{25b3} " }{ warning }</p> }) }
                { for content.notices.iter().map(|notice| html! { <p class="sheet-notice">{ notice }</p> }) }
                <ol class="sheet-entries">
                    { for content.entries.iter().zip(&judged.cards).map(|(entry, card)| {
                        let said = flown.iter().find(|(index, _)| *index == entry.index).map(|(_, said)| said);
                        entry_block(entry, card, said, is_dense)
                    }) }
                </ol>
                if !is_dense { <div class="sheet-foot">{ beneath }</div> }
            </div></article>
        </div>
    }
}

fn entry_block(entry: &EntryContent, card: &PilotCard, flown: Option<&LapWords>, is_dense: bool) -> Html {
    // Where entries stand close, all words are one run behind the name, and the interval of what laps say stays away.
    let (flown, laps) = match (is_dense, flown, entry.verdict) {
        (_, None, None) => (String::new(), String::new()),
        (true, said, _) => (String::new(), format!(", {}", said.map_or("simulating laps…", |said| &said.brief))),
        (false, said, _) => {
            let said = said.map_or("simulating laps", |said| &said.full);
            (format!("{}. ", with_first(said.trim_end_matches('…'), char::to_ascii_uppercase)), String::new())
        }
    };
    let figures = html! { <span class="sheet-figures">{ &entry.figures }{ laps }</span> };
    html! {
        <li class="sheet-entry" key={entry.index}>
            <div class="sheet-text">
                <div class="sheet-words">
                    <h3>
                        <span class="sheet-letter">{ entry.letter.to_string() }</span>
                        { pattern_sample(entry.index).shown() }
                        <span class="sheet-name">{ &entry.name }</span>
                        if let Some(verdict) = entry.verdict {
                            <span class="sheet-verdict">{ sign(verdict) }{ verdict.word() }</span>
                        }
                        if !is_dense { { figures.clone() } }
                    </h3>
                    <p>
                        if is_dense { { " " }{ figures }{ ". " } }
                        <b>{ &entry.air }</b>{ ", " }
                        if entry.is_above_limit { <b>{ &entry.radiated }</b> } else { { &entry.radiated } }
                        { format!(". Aircraft: {}. Seat {}.", entry.aircraft, entry.seat) }
                        if !entry.same_channel.is_empty() && !is_dense { <b>{ " " }{ &entry.same_channel }</b> }
                    </p>
                    if entry.verdict.is_some() {
                        <p>{ " " }{ &entry.worst }{ " " }{ flown }<b>{ "On site: " }</b>{ &entry.check }{ " " }</p>
                    }
                </div>
                <ul class="sheet-readings" aria-label={format!("Readings of {}", entry.name)}>
                    { for entry.readings.iter().map(|reading| html! {
                        <li>
                            <span>{ &reading.place }</span>
                            <span class="sheet-level">{ &reading.expected }</span>
                            <span class="sheet-box"></span>
                        </li>
                    }) }
                </ul>
            </div>
            { card.code.drawn(CodeRoom::CARD.side_mm(), &card.spoken()).shown() }
        </li>
    }
}

/// The plan's link for a phone.
fn link_code(code: &Code) -> Html {
    html! {
        <figure class="sheet-link">
            { code.drawn_small("QR code with the plan link").shown() }
            <figcaption>{ "The whole plan, as a link" }</figcaption>
        </figure>
    }
}

fn cautions(exposure: &str) -> Html {
    html! {
        <section class="sheet-cautions" aria-label="Before you fly">
            <h3>{ "Before you fly" }</h3>
            <ul>
                { for BEFORE_YOU_FLY.into_iter().map(|sentence| html! { <li>{ sentence }</li> }) }
                <li>{ format!("{exposure} {WHO_DECIDES}").trim().to_owned() }</li>
            </ul>
        </section>
    }
}
