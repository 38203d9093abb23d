//! Theme and units.

use yew::prelude::*;

use super::fields::FewField;
use super::format::{LengthUnit, PowerUnit};
use super::preferences::{Preferences, Theme};

/// Properties of [`Settings`].
#[derive(Properties, PartialEq)]
pub struct SettingsProps {
    /// What the person prefers.
    pub preferences: Preferences,
    /// Called with what they prefer now.
    pub on_change: Callback<Preferences>,
}

/// Theme and units, folded away.
#[component]
pub fn Settings(props: &SettingsProps) -> Html {
    let preferences = props.preferences;
    let set = |change: fn(&mut Preferences, usize)| {
        let on_change = props.on_change.clone();
        Callback::from(move |index: usize| {
            let mut changed = preferences;
            change(&mut changed, index);
            on_change.emit(changed);
        })
    };
    html! {
        <details class="settings" id="settings">
            <summary class="button">{ "Look and units" }</summary>
            <div class="settings-sheet">
                <FewField name="theme" legend="Drawn on"
                    options={Theme::ALL.map(|theme| AttrValue::from(theme.name())).to_vec()}
                    chosen={Theme::ALL.iter().position(|theme| *theme == preferences.theme)}
                    on_choose={set(|preferences, index| {
                        preferences.theme = Theme::ALL.get(index).copied().unwrap_or_default();
                    })} />
                <FewField name="length-unit" legend="Lengths" options={vec!["metres".into(), "feet".into()]}
                    chosen={Some(usize::from(preferences.units.length == LengthUnit::Feet))}
                    on_choose={set(|preferences, index| {
                        preferences.units.length = if index == 0 { LengthUnit::Metres } else { LengthUnit::Feet };
                    })} />
                <FewField name="power-unit" legend="Powers" options={vec!["mW".into(), "dBm".into()]}
                    chosen={Some(usize::from(preferences.units.power == PowerUnit::Dbm))}
                    on_choose={set(|preferences, index| {
                        preferences.units.power = if index == 0 { PowerUnit::Milliwatts } else { PowerUnit::Dbm };
                    })} />
            </div>
        </details>
    }
}
