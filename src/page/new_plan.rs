//! The beginning of a plan of one's own: how large the place is and what surrounds it.

use web_sys::Element;
use yew::prelude::*;

use super::fields::{ChoiceField, NumberField, TextField};
use super::format::Measure;
use super::wording;
use crate::plan::document::Plan;
use crate::plan::fresh::{self, NewSite};
use crate::plan::limits::{self, Range};
use crate::rf::fading::Surroundings;
use crate::rf::material::Material;

/// Properties of [`NewPlan`].
#[derive(Properties, PartialEq)]
pub struct NewPlanProps {
    /// Called with the plan that was begun.
    pub on_begin: Callback<Plan>,
}

/// How many pilots a plan begins with.
const PILOTS: Range = Range { min: 1.0, max: limits::ENTRIES.max as f64, unit: "pilots" };

/// A form, folded away, that begins a plan.
#[component]
pub fn NewPlan(props: &NewPlanProps) -> Html {
    let fold = use_node_ref();
    let refused = use_state_eq(String::new);
    let site = use_state(|| NewSite {
        name: "My yard".to_owned(),
        width_m: 40.0,
        depth_m: 25.0,
        surroundings: Surroundings::Village,
        ground: Material::MediumDryGround,
    });
    let pilots = use_state_eq(|| 1.0);
    let on_pilots = {
        let pilots = pilots.clone();
        Callback::from(move |count: Option<f64>| count.into_iter().for_each(|count| pilots.set(count)))
    };
    let set = |change: fn(&mut NewSite, f64)| {
        let site = site.clone();
        Callback::from(move |number: Option<f64>| {
            let mut changed = (*site).clone();
            number.into_iter().for_each(|number| change(&mut changed, number));
            site.set(changed);
        })
    };
    let choose = |change: fn(&mut NewSite, usize)| {
        let site = site.clone();
        Callback::from(move |index: usize| {
            let mut changed = (*site).clone();
            change(&mut changed, index);
            site.set(changed);
        })
    };
    let on_name = {
        let site = site.clone();
        Callback::from(move |name: String| site.set(NewSite { name: name.trim().to_owned(), ..(*site).clone() }))
    };
    let onclick = {
        let (site, fold, refused, on_begin) = (site.clone(), fold.clone(), refused.clone(), props.on_begin.clone());
        // The field lets only whole numbers within the limits through.
        let pilots = *pilots as usize;
        move |_: MouseEvent| match fresh::plan_for(&site, pilots) {
            Ok(plan) => {
                refused.set(String::new());
                // Folded away again; nothing is lost if it stays open.
                let _ = fold.cast::<Element>().map(|fold| fold.remove_attribute("open"));
                on_begin.emit(plan);
            }
            Err(problem) => refused.set(format!("Not created: {problem}.")),
        }
    };
    let names = |names: Vec<String>| names.into_iter().map(AttrValue::from).collect::<Vec<_>>();
    html! {
        <details class="settings" id="new-plan" ref={fold}>
            <summary class="button">{ "New plan" }</summary>
            <div class="settings-sheet new-plan">
                <TextField id="new-name" label="Name" value={site.name.clone()} longest={limits::NAME.max} on_commit={on_name} />
                <NumberField id="new-width" label="West to east" measure={Measure::Length} value={Some(site.width_m)}
                    range={limits::SITE_SIDE_M} on_commit={set(|site, width| site.width_m = width)} />
                <NumberField id="new-depth" label="South to north" measure={Measure::Length} value={Some(site.depth_m)}
                    range={limits::SITE_SIDE_M} on_commit={set(|site, depth| site.depth_m = depth)} />
                <NumberField id="new-pilots" label="Pilots" measure={Measure::Count} value={Some(*pilots)} range={PILOTS}
                    hint="Each with goggles, a seat and a channel. What is not known of their kit stays unknown, and is said beside the verdict."
                    on_commit={on_pilots} />
                <ChoiceField id="new-surroundings" label="Surroundings"
                    options={names(Surroundings::ALL.map(|class| wording::surroundings(class).to_owned()).to_vec())}
                    chosen={Surroundings::ALL.iter().position(|class| *class == site.surroundings)}
                    on_choose={choose(|site, index| site.surroundings = Surroundings::ALL.get(index).copied().unwrap_or(site.surroundings))} />
                <ChoiceField id="new-ground" label="Ground" options={names(Material::GROUNDS.map(|ground| ground.to_string()).to_vec())}
                    chosen={Material::GROUNDS.iter().position(|ground| *ground == site.ground)}
                    on_choose={choose(|site, index| site.ground = Material::GROUNDS.get(index).copied().unwrap_or(site.ground))} />
                <button type="button" id="new-begin" class="button" {onclick}>{ "Create plan" }</button>
                if !refused.is_empty() {
                    <p class="field-wrong" role="alert">{ &*refused }</p>
                }
            </div>
        </details>
    }
}
