//! Fields of the forms: a number with its unit and range, a choice from a list, a choice of a few.
//!
//! A wrong number stays where it was typed, with a sentence beside it; the plan keeps the last good one.

use yew::prelude::*;

use super::draft::Draft;
use super::format::{DisplayUnits, Measure};
use crate::plan::limits::Range;
use crate::plan::presets::{COMMON_PRACTICE, Tolerance, Typical};

/// Properties of [`NumberField`].
#[derive(Properties, PartialEq)]
pub struct NumberFieldProps {
    /// Id of the input, unique on the page.
    pub id: AttrValue,
    /// Label.
    pub label: AttrValue,
    /// What is measured: unit, scale, decimals.
    pub measure: Measure,
    /// The plan's value; `None` when it is not known.
    pub value: Option<f64>,
    /// The plan's range.
    pub range: Range,
    /// What stands in when the value is not known; a field without it must have a value.
    #[prop_or_default]
    pub stand_in: Option<Typical>,
    /// A sentence under the field.
    #[prop_or_default]
    pub hint: AttrValue,
    /// Whether somebody measured the value, and how it is said that they did; nothing for fields of which it is not asked.
    #[prop_or_default]
    pub measured: Option<Measured>,
    /// Called with a good new value, `None` for "I don't know".
    pub on_commit: Callback<Option<f64>>,
}

/// The answer "measured" to a field: a value that is known better than a stated one.
#[derive(Clone, PartialEq)]
pub struct Measured {
    /// Whether it was measured.
    pub is_measured: bool,
    /// How far the value may be off as it stands, either way.
    pub tolerance: Tolerance,
    /// Called with another answer.
    pub on_change: Callback<bool>,
}

/// A number with label, unit and range. Enter or leaving the field hands the number over; arrow up and down change it.
#[component]
pub fn NumberField(props: &NumberFieldProps) -> Html {
    let units = use_context::<DisplayUnits>().unwrap_or_default();
    let draft = use_state(|| None::<Draft>);
    let NumberFieldProps { id, measure, value, range, stand_in, on_commit, .. } = props;
    let (measure, range, value) = (*measure, *range, *value);
    let optional = stand_in.is_some();
    // Nobody measures what nobody knows.
    let measured = props.measured.as_ref().filter(|_| value.is_some());

    let draft_now = (*draft).clone().filter(|draft| draft.holds(value, units));
    let kept_text = value.map(|value| measure.field_text(value, units)).unwrap_or_default();
    let text = draft_now.as_ref().map_or_else(|| kept_text.clone(), |draft| draft.text.clone());
    let problem = draft_now.as_ref().and_then(|draft| draft.read(measure, range, units, optional).err());

    let oninput = {
        let draft = draft.clone();
        Callback::from(move |event: InputEvent| {
            let input: web_sys::HtmlInputElement = event.target_unchecked_into();
            draft.set(Some(Draft { text: input.value(), over: value, units }));
        })
    };
    let commit = {
        let (draft, on_commit) = (draft.clone(), on_commit.clone());
        move |text: String| {
            let typed = Draft { text, over: value, units };
            match typed.read(measure, range, units, optional) {
                Ok(read) => {
                    draft.set(None);
                    if read != value {
                        on_commit.emit(read);
                    }
                }
                Err(_) => draft.set(Some(typed)),
            }
        }
    };
    let onchange = {
        let commit = commit.clone();
        let kept_text = kept_text.clone();
        let draft = draft.clone();
        Callback::from(move |event: Event| {
            let input: web_sys::HtmlInputElement = event.target_unchecked_into();
            // Text put back to what it was is no change, whatever rounding the shown number went through.
            if input.value() == kept_text { draft.set(None) } else { commit(input.value()) }
        })
    };
    let onkeydown = {
        let shown = value.or(stand_in.as_ref().map(|typical| typical.value));
        Callback::from(move |event: KeyboardEvent| {
            let direction = match event.key().as_str() {
                "ArrowUp" => 1.0,
                "ArrowDown" => -1.0,
                _ => return,
            };
            event.prevent_default();
            if let Some(shown) = shown {
                let next = measure.shown(shown, units) + direction * measure.step(units);
                let next = measure.kept(next, units);
                let next = if next.is_nan() { range.min } else { next.clamp(range.min, range.max) };
                commit(measure.field_text(next, units));
            }
        })
    };
    let on_unknown = {
        let (draft, on_commit) = (draft.clone(), on_commit.clone());
        let typical = stand_in.as_ref().map(|typical| typical.value);
        Callback::from(move |event: Event| {
            let input: web_sys::HtmlInputElement = event.target_unchecked_into();
            draft.set(None);
            on_commit.emit(if input.checked() { None } else { typical });
        })
    };

    let note_id = format!("{id}-note");
    let wrong_id = format!("{id}-wrong");
    let typical = stand_in.as_ref().filter(|_| value.is_none());
    let has_note = typical.is_some() || !props.hint.is_empty();
    let described = match (&problem, has_note) {
        (Some(_), true) => Some(format!("{wrong_id} {note_id}")),
        (Some(_), false) => Some(wrong_id.clone()),
        (None, true) => Some(note_id.clone()),
        (None, false) => None,
    };
    html! {
        <div class={classes!("field", problem.is_some().then_some("is-wrong"))}>
            <label class="field-label" for={id.clone()}>{ &props.label }</label>
            <span class="field-entry">
                <input id={id.clone()} class="field-number" type="text" inputmode="decimal" autocomplete="off"
                    value={text} placeholder={typical.map(|typical| measure.field_text(typical.value, units))}
                    aria-invalid={problem.is_some().then_some("true")} aria-describedby={described}
                    {oninput} {onchange} {onkeydown} />
                <span class="field-unit" aria-hidden="true">{ measure.unit(units) }</span>
                <span class="unseen">{ measure.spoken_unit(units) }</span>
            </span>
            if optional {
                <label class="field-unknown">
                    <input id={format!("{id}-unknown")} type="checkbox" checked={value.is_none()} onchange={on_unknown} />
                    { "I don’t know" }
                </label>
            }
            if let Some(measured) = measured {
                <label class="field-unknown">
                    <input id={format!("{id}-measured")} type="checkbox" checked={measured.is_measured}
                        onchange={measured.on_change.reform(|event: Event| {
                            event.target_unchecked_into::<web_sys::HtmlInputElement>().checked()
                        })} />
                    { "Measured" }
                    <span class="field-tolerance">{ format!(" ± {}\u{a0}dB", measured.tolerance.band.0) }</span>
                </label>
            }
            if let Some(problem) = &problem {
                <p id={wrong_id} class="field-wrong" role="alert">{ problem.to_string() }</p>
            }
            if has_note {
                <p id={note_id} class="field-note">
                    if let Some(typical) = typical {
                        { format!("Using a typical {} ± {} ({}). ", measure.field_text(typical.value, units),
                            measure.text(typical.band, units), typical.source.replace(COMMON_PRACTICE, "rule of thumb")) }
                    }
                    { &props.hint }
                </p>
            }
        </div>
    }
}

/// Properties of [`ChoiceField`].
#[derive(Properties, PartialEq)]
pub struct ChoiceFieldProps {
    /// Id of the list, unique on the page.
    pub id: AttrValue,
    /// Label.
    pub label: AttrValue,
    /// What can be chosen.
    pub options: Vec<AttrValue>,
    /// What is chosen; `None` when it is none of the options.
    pub chosen: Option<usize>,
    /// A sentence under the field.
    #[prop_or_default]
    pub hint: AttrValue,
    /// Called with the position of what was chosen.
    pub on_choose: Callback<usize>,
}

/// A choice from a list.
#[component]
pub fn ChoiceField(props: &ChoiceFieldProps) -> Html {
    let onchange = {
        let on_choose = props.on_choose.clone();
        Callback::from(move |event: Event| {
            let list: web_sys::HtmlSelectElement = event.target_unchecked_into();
            // No choice is -1.
            if let Ok(index) = usize::try_from(list.selected_index()) {
                on_choose.emit(index);
            }
        })
    };
    let list = use_node_ref();
    {
        // The attribute `selected` of an option says what is chosen when the list is drawn first, before effects run; afterwards
        // the list itself must be told.
        let (list, chosen) = (list.clone(), props.chosen);
        use_effect(move || {
            if let Some(list) = list.cast::<web_sys::HtmlSelectElement>() {
                list.set_selected_index(chosen.and_then(|index| i32::try_from(index).ok()).unwrap_or(-1));
            }
        });
    }
    let note_id = format!("{}-note", props.id);
    let described = (!props.hint.is_empty()).then(|| note_id.clone());
    html! {
        <div class="field">
            <label class="field-label" for={props.id.clone()}>{ &props.label }</label>
            <select ref={list} id={props.id.clone()} class="field-list" aria-describedby={described} {onchange}>
                { for props.options.iter().enumerate().map(|(index, option)| html! {
                    <option key={index} selected={props.chosen == Some(index)}>{ option }</option>
                }) }
            </select>
            if !props.hint.is_empty() {
                <p id={note_id} class="field-note">{ &props.hint }</p>
            }
        </div>
    }
}

/// Properties of [`FewField`].
#[derive(Properties, PartialEq)]
pub struct FewFieldProps {
    /// Name of the group, unique on the page; the choices' ids are the name, a hyphen and their position.
    pub name: AttrValue,
    /// What is chosen here.
    pub legend: AttrValue,
    /// What can be chosen.
    pub options: Vec<AttrValue>,
    /// What is chosen.
    pub chosen: Option<usize>,
    /// A sentence under the choices.
    #[prop_or_default]
    pub hint: AttrValue,
    /// Called with the position of what was chosen.
    pub on_choose: Callback<usize>,
}

/// A choice of a few that are all in sight.
#[component]
pub fn FewField(props: &FewFieldProps) -> Html {
    html! {
        <fieldset class="few">
            <legend class="field-label">{ &props.legend }</legend>
            <div class="few-row">
                { for props.options.iter().enumerate().map(|(index, option)| {
                    let on_choose = props.on_choose.clone();
                    html! {
                        <label key={index} class="few-one">
                            <input id={format!("{}-{index}", props.name)} type="radio" name={props.name.clone()}
                                checked={props.chosen == Some(index)} onchange={move |_: Event| on_choose.emit(index)} />
                            <span>{ option }</span>
                        </label>
                    }
                }) }
            </div>
            if !props.hint.is_empty() {
                <p class="field-note">{ &props.hint }</p>
            }
        </fieldset>
    }
}

/// Properties of [`TextField`].
#[derive(Properties, PartialEq)]
pub struct TextFieldProps {
    /// Id of the input, unique on the page.
    pub id: AttrValue,
    /// Label.
    pub label: AttrValue,
    /// The text.
    pub value: AttrValue,
    /// The most characters.
    pub longest: usize,
    /// Called with the new text.
    pub on_commit: Callback<String>,
}

/// A line of text, handed over on Enter or on leaving the field.
#[component]
pub fn TextField(props: &TextFieldProps) -> Html {
    let onchange = {
        let on_commit = props.on_commit.clone();
        Callback::from(move |event: Event| {
            let input: web_sys::HtmlInputElement = event.target_unchecked_into();
            on_commit.emit(input.value());
        })
    };
    html! {
        <div class="field">
            <label class="field-label" for={props.id.clone()}>{ &props.label }</label>
            <input id={props.id.clone()} class="field-text" type="text" autocomplete="off"
                maxlength={props.longest.to_string()} value={props.value.clone()} {onchange} />
        </div>
    }
}
