//! Theme, units, how far paths are followed, and whether the screen stays awake.

use yew::prelude::*;

use super::fields::FewField;
use super::format::{LengthUnit, PowerUnit};
use super::preferences::{Preferences, Theme};

/// All of them, folded away. The planner alone asks how many bounces are followed.
pub fn settings(preferences: Preferences, on_change: &Callback<Preferences>, asks_bounces: bool) -> Html {
    let set = |change: fn(&mut Preferences, usize)| {
        let on_change = on_change.clone();
        Callback::from(move |index: usize| {
            let mut changed = preferences;
            change(&mut changed, index);
            on_change.emit(changed);
        })
    };
    html! {
        <details class="settings" id="settings">
            <summary class="button">{ "Settings" }</summary>
            <div class="settings-sheet">
                <FewField name="theme" legend="Theme"
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
                if asks_bounces {
                    <FewField name="bounces" legend="Reflections followed" options={vec!["none".into(), "one".into(), "two".into()]}
                        chosen={Some(usize::from(preferences.bounce_order().most_bounces()))}
                        on_choose={set(|preferences, index| preferences.bounces = index as u8)} />
                }
                <FewField name="awake" legend="Screen" options={vec!["sleeps as usual".into(), "stays awake".into()]}
                    chosen={Some(usize::from(preferences.is_awake))}
                    on_choose={set(|preferences, index| preferences.is_awake = index == 1)} />
                // Shown by the style sheet when the browser refuses.
                <p id="awake-refused" class="problem">{ "This browser lets the screen sleep all the same." }</p>
            </div>
        </details>
    }
}

/// Puts the theme on the document, where the style sheets look for it, and whether the screen is to stay awake.
#[hook]
pub fn use_look(preferences: Preferences) {
    use_effect_with((preferences.theme, preferences.is_awake), |(theme, is_awake)| {
        let root = gloo::utils::document().document_element();
        if let Some(root) = root {
            // None of these can fail for a constant name and value.
            let _ = root.set_attribute("data-awake", if *is_awake { "asked" } else { "" });
            let _ = match theme.attribute() {
                Some(theme) => root.set_attribute("data-theme", theme),
                None => root.remove_attribute("data-theme"),
            };
        }
    });
}
