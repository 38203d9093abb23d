//! Cautions, each where it belongs: radiated power and licence, exposure, propellers and people, batteries, control.

use yew::prelude::*;

use super::caution_words::{BEFORE_YOU_FLY, WHO_DECIDES, exposure_sentence, standing_words};
use super::editor::Editor;
use super::elements;
use super::fields::{ChoiceField, NumberField, TextField};
use super::format::{self, DisplayUnits, Measure};
use super::wording;
use crate::link::allowed::{self, rule_source};
use crate::link::report::EntryReport;
use crate::plan::limits;
use crate::rf::power_rule::{self, PowerRule, RuleReading};
use crate::units::{Dbm, Hertz};

/// A caution: a mark, a title, a sentence or two.
pub fn caution(title: &'static str, text: Html) -> Html {
    html! {
        <aside class="caution" aria-label={title}>
            <svg class="caution-mark" viewBox="0 0 16 16" width="16" height="16" aria-hidden="true">
                <path d="M8 1.5l6.8 12.5H1.2z M8 6v4 M8 11.6v.9" />
            </svg>
            <div>
                <p class="caution-title">{ title }</p>
                <div class="caution-text">{ text }</div>
            </div>
        </aside>
    }
}

/// The limit that radiated power is held against.
pub fn power_limit(editor: &Editor) -> Html {
    html! {
        <section class="power-limit" aria-labelledby="limit-heading">
            <h2 id="limit-heading" tabindex="-1">{ "Power limit" }</h2>
            { rule_fields(editor) }
            { elements::note(WHO_DECIDES) }
        </section>
    }
}

/// Radiated power against the rule that the person picked, and the distance to keep.
///
/// `judged` is the entry's report.
pub fn power_caution(editor: &Editor, judged: Option<&EntryReport>, units: DisplayUnits) -> Html {
    html! {
        <div class="power-caution">
            { caution("Radiated power and licence", html! {
                <>
                    if let Some(judged) = judged {
                        <p id="eirp" class="caution-figure">{ eirp_sentence(editor, judged, units) }</p>
                        if let Some(caution) = power_rule::licence_caution(Hertz(judged.frequency_hz)) {
                            <p id="licence"><strong>{ caution }</strong></p>
                        }
                        <p>{ exposure_sentence(Dbm(judged.eirp_dbm), Hertz(judged.frequency_hz), units) }</p>
                    }
                    <p>{ WHO_DECIDES }{ " " }<a href="#limit-heading">{ "Choose a power limit" }</a></p>
                </>
            }) }
        </div>
    }
}

/// The radiated power, and how it stands to the chosen limit, if that covers the channel at all.
fn eirp_sentence(editor: &Editor, judged: &EntryReport, units: DisplayUnits) -> Html {
    let standing = allowed::standing(&editor.plan, judged);
    let said = format!("Radiates {} (EIRP): {}.", format::power(judged.eirp_dbm, units), standing_words(standing));
    if standing.is_grave() {
        html! { <strong>{ said }</strong> }
    } else {
        html! { { said } }
    }
}

/// Which rule the person holds the power against.
fn rule_fields(editor: &Editor) -> Html {
    let rules = &editor.plan.rules;
    let carrier = Hertz(editor.plan.entries.get(editor.entry).map_or(0.0, |entry| entry.channel_hz));
    let is_picked = |rule: &PowerRule| rules.source == rule_source(rule);
    // Some rules bound the transmitter and not what is radiated: they have no EIRP to hold against.
    let offered: Vec<&PowerRule> =
        power_rule::PRESETS.iter().filter(|rule| is_offered(rule, carrier) || is_picked(rule)).collect();
    let own = offered.len() + 1;
    let preset = offered.iter().position(|rule| is_picked(rule));
    let chosen = match (rules.eirp_limit_dbm, preset) {
        (_, Some(index)) => index + 1,
        (None, None) => 0,
        (Some(_), None) => own,
    };
    let options: Vec<AttrValue> = std::iter::once(AttrValue::from("no limit chosen"))
        .chain(offered.iter().map(|rule| AttrValue::from(rule.title)))
        .chain(std::iter::once(AttrValue::from("a limit of my own")))
        .collect();
    let picked = preset.map(|index| offered[index]);
    let hint = picked.map_or_else(String::new, rule_note);
    let choices: Vec<(Option<f64>, String)> =
        offered.iter().map(|rule| (rule.limit.eirp().map(|limit| limit.0), rule_source(rule))).collect();
    let on_choose = editor.rules("Rule changed", move |rules, index: usize| {
        let picked = index.checked_sub(1).and_then(|index| choices.get(index));
        (rules.eirp_limit_dbm, rules.source) = match picked {
            Some(choice) => choice.clone(),
            None if index == own => (rules.eirp_limit_dbm.or(Some(FIRST_OWN_LIMIT_DBM)), String::new()),
            None => (None, String::new()),
        };
    });
    html! {
        <div class="form-fields">
            <ChoiceField id="rule-preset" label="Power limit" {options} chosen={Some(chosen)} {hint} {on_choose} />
            if chosen == own {
                <NumberField id="rule-limit" label="Maximum EIRP" measure={Measure::Power}
                    value={rules.eirp_limit_dbm} range={limits::EIRP_LIMIT_DBM}
                    on_commit={editor.rules("Limit changed", |rules, limit| rules.eirp_limit_dbm = limit)} />
                <TextField id="rule-source" label="Where it comes from" value={rules.source.clone()}
                    longest={limits::RULE_SOURCE.max}
                    on_commit={editor.rules("Source of the limit changed", |rules, source: String| rules.source = source)} />
            }
        </div>
    }
}

/// Whether a rule is worth choosing for a carrier: where its band holds that. Those that ask for a licence are offered a little
/// beyond their edges, too: whoever holds one shall find its rule, and that it does not cover the channel.
fn is_offered(rule: &PowerRule, carrier: Hertz) -> bool {
    const BEYOND: Hertz = Hertz(200e6);
    let beyond = if rule.licence { BEYOND } else { Hertz(0.0) };
    rule.from - beyond <= carrier && carrier <= rule.to + beyond
}

/// A limit to start from when the person types their own; any in the range would do.
const FIRST_OWN_LIMIT_DBM: f64 = 14.0;

/// Source of a rule, how well it was read, and its conditions.
fn rule_note(rule: &PowerRule) -> String {
    let reading = match rule.reading {
        RuleReading::OwnText => "read in a copy of the rule",
        RuleReading::SecondHand => "read second-hand. Not verified: read the rule itself",
        RuleReading::Memory => "from memory. Not verified: read the rule itself",
    };
    let condition = if rule.condition.is_empty() { String::new() } else { format!(" {}.", rule.condition) };
    let condition = wording::with_first(condition.trim_start(), char::to_ascii_uppercase);
    let condition = if condition.is_empty() { condition } else { format!(" {condition}") };
    format!("Source: {}, {reading}.{condition}", rule.source)
}

/// What to go through before anyone flies.
pub fn before_you_fly() -> Html {
    html! {
        <section class="before" aria-labelledby="before-heading">
            <h2 id="before-heading" tabindex="-1">{ "Before you fly" }</h2>
            <ul class="before-list">
                { for BEFORE_YOU_FLY.into_iter().map(|sentence| html! { <li>{ sentence }</li> }) }
            </ul>
        </section>
    }
}
