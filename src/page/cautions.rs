//! Cautions, each where it belongs: radiated power and licence, exposure, propellers and people, batteries, control.

use yew::prelude::*;

use super::editor::Editor;
use super::fields::{ChoiceField, NumberField, TextField};
use super::format::{self, DisplayUnits, Measure};
use crate::link::report::EntryReport;
use crate::plan::document::Rules;
use crate::plan::presets::POWER_RULES;
use crate::plan::{limits, presets};
use crate::rf::exposure;
use crate::units::{Dbm, Hertz};

/// Properties of [`Caution`].
#[derive(Properties, PartialEq)]
pub struct CautionProps {
    /// What it is about.
    pub title: AttrValue,
    /// What to do.
    pub children: Html,
}

/// A caution: a mark, a title, a sentence or two.
#[component]
pub fn Caution(props: &CautionProps) -> Html {
    html! {
        <aside class="caution" aria-label={props.title.clone()}>
            <svg class="caution-mark" viewBox="0 0 16 16" width="16" height="16" aria-hidden="true">
                <path d="M8 1.5l6.8 12.5H1.2z M8 6v4 M8 11.6v.9" />
            </svg>
            <div>
                <p class="caution-title">{ &props.title }</p>
                <div class="caution-text">{ props.children.clone() }</div>
            </div>
        </aside>
    }
}

/// Properties of [`PowerCaution`].
#[derive(Properties, PartialEq)]
pub struct PowerCautionProps {
    /// Where edits go.
    pub editor: Editor,
    /// The entry's report.
    pub judged: Option<EntryReport>,
}

/// Radiated power against the rule that the person picked, and the distance to keep.
#[component]
pub fn PowerCaution(props: &PowerCautionProps) -> Html {
    let units = use_context::<DisplayUnits>().unwrap_or_default();
    let PowerCautionProps { editor, judged } = props;
    html! {
        <div class="power-caution">
            { rule_fields(editor) }
            <Caution title="Radiated power and licence">
                if let Some(judged) = judged {
                    <p id="eirp" class="caution-figure">{ eirp_sentence(judged, &editor.plan.rules, units) }</p>
                    <p>{ exposure_sentence(judged, units) }</p>
                }
                <p>{ "Check your local rules and what your licence covers; a licensed operator or the authority decides, not this page." }</p>
            </Caution>
        </div>
    }
}

/// The radiated power, and how it stands to the picked rule.
fn eirp_sentence(judged: &EntryReport, rules: &Rules, units: DisplayUnits) -> Html {
    let radiated = format!("Radiates {} (EIRP)", format::power(judged.eirp_dbm, units));
    match rules.eirp_limit_dbm {
        None => html! { { format!("{radiated}. No rule is picked to hold it against.") } },
        Some(limit) if judged.eirp_dbm > limit => html! {
            <strong>{ format!("{radiated}: {} above the limit you picked.", format::decibels(judged.eirp_dbm - limit)) }</strong>
        },
        Some(limit) => html! {
            { format!("{radiated}: {} below the limit you picked.", format::decibels(limit - judged.eirp_dbm)) }
        },
    }
}

fn exposure_sentence(judged: &EntryReport, units: DisplayUnits) -> String {
    let distance = exposure::public_distance(Dbm(judged.eirp_dbm), Hertz(judged.frequency_hz));
    format!(
        "Keep at least {} from the transmitting antenna (orientation value after ICNIRP 2020 and 47 CFR 1.1310, general public, ground reflection included).",
        format::short_length(distance.0, units)
    )
}

/// Which rule the person holds the power against.
fn rule_fields(editor: &Editor) -> Html {
    let rules = &editor.plan.rules;
    let preset = POWER_RULES
        .iter()
        .position(|rule| rules.eirp_limit_dbm == Some(rule.limit.0) && rules.source == rule_source(rule));
    let own = POWER_RULES.len() + 1;
    let chosen = match (rules.eirp_limit_dbm, preset) {
        (None, _) => 0,
        (Some(_), Some(index)) => index + 1,
        (Some(_), None) => own,
    };
    let options: Vec<AttrValue> = std::iter::once(AttrValue::from("no rule picked"))
        .chain(POWER_RULES.iter().map(|rule| AttrValue::from(rule.name)))
        .chain(std::iter::once(AttrValue::from("a limit of my own")))
        .collect();
    let on_choose = editor.rules("Rule changed", move |rules, index: usize| {
        let picked = index.checked_sub(1).and_then(|index| POWER_RULES.get(index));
        *rules = match picked {
            Some(rule) => Rules { eirp_limit_dbm: Some(rule.limit.0), source: rule_source(rule) },
            None if index == own => Rules {
                eirp_limit_dbm: Some(rules.eirp_limit_dbm.unwrap_or(POWER_RULES[0].limit.0)),
                source: String::new(),
            },
            None => Rules { eirp_limit_dbm: None, source: String::new() },
        };
    });
    let carrier = editor.plan.entries.get(editor.entry).map(|entry| Hertz(entry.channel_hz));
    let outside = preset
        .and_then(|index| POWER_RULES.get(index))
        .zip(carrier)
        .is_some_and(|(rule, carrier)| !(rule.from..=rule.to).contains(&carrier));
    html! {
        <div class="form-fields">
            <ChoiceField id="rule-preset" label="Limit to hold it against" {options} chosen={Some(chosen)} {on_choose}
                hint={if rules.source.is_empty() { String::new() } else { format!("Source: {}.", rules.source) }} />
            if chosen == own {
                <NumberField id="rule-limit" label="Most radiated power" measure={Measure::Power}
                    value={rules.eirp_limit_dbm} range={limits::EIRP_LIMIT_DBM}
                    on_commit={editor.rules("Limit changed", |rules, limit| rules.eirp_limit_dbm = limit)} />
                <TextField id="rule-source" label="Where it comes from" value={rules.source.clone()}
                    longest={limits::RULE_SOURCE.max}
                    on_commit={editor.rules("Source of the limit changed", |rules, source: String| rules.source = source)} />
            }
            if outside {
                <p class="field-note"><strong>{ "This entry’s carrier lies outside the frequencies of that rule." }</strong></p>
            }
        </div>
    }
}

fn rule_source(rule: &presets::PowerRule) -> String {
    rule.source.to_owned()
}

/// What to go through before anyone flies.
pub fn before_you_fly() -> Html {
    html! {
        <section class="before" aria-labelledby="before-heading">
            <h2 id="before-heading">{ "Before you fly" }</h2>
            <ul class="before-list">
                <li>{ "Ask whoever is responsible for the place and the airspace, and follow what they say. Local rules come before this plan." }</li>
                <li>{ "Check that channel and radiated power are allowed here, for you, with your licence." }</li>
                <li>{ "Keep everybody behind a net or far enough off, and never fly over people. Propellers stay off while anything is powered on a bench." }</li>
                <li>{ "Try the control link and what happens when it is lost, before the picture: control must outlast video." }</li>
                <li>{ "Look over batteries, charge them watched, carry them in something fireproof; a damaged one stays on the ground." }</li>
                <li>{ "Power one aircraft at a time in the pits, on its own channel, with its antenna screwed on." }</li>
                <li>{ "Walk the lap with one aircraft and the goggles and compare with this plan. A plan is a calculation, not a promise." }</li>
            </ul>
        </section>
    }
}
