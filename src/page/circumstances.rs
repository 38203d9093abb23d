//! How the course is flown, where, and what counts as good enough.

use yew::prelude::*;

use super::cautions::caution;
use super::editor::Editor;
use super::fields::{ChoiceField, FewField, NumberField};
use super::format::Measure;
use super::wording;
use crate::plan::document::PacePlan;
use crate::plan::{limits, presets};
use crate::rf::fading::Surroundings;
use crate::rf::material::Material;

/// Properties of [`Circumstances`].
#[derive(Properties, PartialEq)]
pub struct CircumstancesProps {
    /// Where edits go.
    pub editor: Editor,
}

/// Speed, site and targets.
#[component]
pub fn Circumstances(props: &CircumstancesProps) -> Html {
    let editor = &props.editor;
    html! {
        <section class="circumstances" aria-labelledby="circumstances-heading">
            <h2 id="circumstances-heading">{ "Speed, site and targets" }</h2>
            { pace(editor) }
            { place(editor) }
            { targets(editor) }
        </section>
    }
}

fn pace(editor: &Editor) -> Html {
    let course = &editor.plan.course;
    let on_kind = editor.course("Pace changed", |course, index: usize| {
        course.pace = match index {
            0 => PacePlan::LapTime { lap_time_s: 30.0 },
            _ => PacePlan::Limits { top_speed_m_per_s: 12.0, sideways_m_per_s2: 10.0, forward_m_per_s2: 6.0 },
        };
    });
    html! {
        <section class="form-part">
            <h3>{ "Speed" }</h3>
            <div class="form-fields">
                <FewField name="pace-kind" legend="Given by" options={vec!["lap time".into(), "what the aircraft can do".into()]}
                    chosen={Some(usize::from(matches!(course.pace, PacePlan::Limits { .. })))} on_choose={on_kind} />
                { match course.pace {
                    PacePlan::LapTime { lap_time_s } => html! {
                        <NumberField id="pace-lap-time" label="Lap time" measure={Measure::Time} value={Some(lap_time_s)}
                            range={limits::LAP_TIME_S}
                            on_commit={editor.course("Lap time changed", move |course, time: Option<f64>| {
                                course.pace = PacePlan::LapTime { lap_time_s: time.unwrap_or(lap_time_s) };
                            })} />
                    },
                    PacePlan::Limits { top_speed_m_per_s, sideways_m_per_s2, forward_m_per_s2 } => html! {
                        <>
                            <NumberField id="pace-top-speed" label="Top speed" measure={Measure::Speed}
                                value={Some(top_speed_m_per_s)} range={limits::TOP_SPEED_M_PER_S}
                                on_commit={editor.course("Top speed changed", move |course, speed: Option<f64>| {
                                    let top_speed_m_per_s = speed.unwrap_or(top_speed_m_per_s);
                                    course.pace = PacePlan::Limits { top_speed_m_per_s, sideways_m_per_s2, forward_m_per_s2 };
                                })} />
                            <NumberField id="pace-sideways" label="Sideways acceleration" measure={Measure::Acceleration}
                                value={Some(sideways_m_per_s2)} range={limits::SIDEWAYS_M_PER_S2}
                                on_commit={editor.course("Sideways acceleration changed", move |course, value: Option<f64>| {
                                    let sideways_m_per_s2 = value.unwrap_or(sideways_m_per_s2);
                                    course.pace = PacePlan::Limits { top_speed_m_per_s, sideways_m_per_s2, forward_m_per_s2 };
                                })} />
                            <NumberField id="pace-forward" label="Speeding up and braking" measure={Measure::Acceleration}
                                value={Some(forward_m_per_s2)} range={limits::FORWARD_M_PER_S2}
                                on_commit={editor.course("Acceleration changed", move |course, value: Option<f64>| {
                                    let forward_m_per_s2 = value.unwrap_or(forward_m_per_s2);
                                    course.pace = PacePlan::Limits { top_speed_m_per_s, sideways_m_per_s2, forward_m_per_s2 };
                                })} />
                        </>
                    },
                } }
            </div>
        </section>
    }
}

fn place(editor: &Editor) -> Html {
    let site = &editor.plan.site;
    let classes: Vec<AttrValue> =
        Surroundings::ALL.iter().map(|class| AttrValue::from(wording::surroundings(*class))).collect();
    let grounds: Vec<AttrValue> = Material::GROUNDS.iter().map(|ground| AttrValue::from(ground.to_string())).collect();
    html! {
        <section class="form-part">
            <h3>{ "Site" }</h3>
            <div class="form-fields">
                <NumberField id="place-width" label="West to east" measure={Measure::Length} value={Some(site.width_m)}
                    range={limits::SITE_SIDE_M}
                    on_commit={editor.site("Site resized", |site, value: Option<f64>| site.width_m = value.unwrap_or(site.width_m))} />
                <NumberField id="place-depth" label="South to north" measure={Measure::Length} value={Some(site.depth_m)}
                    range={limits::SITE_SIDE_M}
                    on_commit={editor.site("Site resized", |site, value: Option<f64>| site.depth_m = value.unwrap_or(site.depth_m))} />
                <ChoiceField id="place-surroundings" label="Surroundings" options={classes}
                    chosen={Surroundings::ALL.iter().position(|class| *class == site.surroundings)}
                    hint="Scatter from things not drawn."
                    on_choose={editor.site("Surroundings changed", |site, index: usize| {
                        site.surroundings = Surroundings::ALL.get(index).copied().unwrap_or(site.surroundings);
                    })} />
                <ChoiceField id="place-ground" label="Ground" options={grounds}
                    chosen={Material::GROUNDS.iter().position(|ground| *ground == site.ground)}
                    on_choose={editor.site("Ground changed", |site, index: usize| {
                        site.ground = Material::GROUNDS.get(index).copied().unwrap_or(site.ground);
                    })} />
                <NumberField id="place-roughness" label="Roughness of the ground" measure={Measure::FineLength}
                    value={Some(site.roughness_m)} range={limits::ROUGHNESS_M}
                    on_commit={editor.site("Roughness changed", |site, value: Option<f64>| {
                        site.roughness_m = value.unwrap_or(site.roughness_m);
                    })} />
                <FewField name="place-weather" legend="Canopies" options={vec!["dry".into(), "wet".into()]}
                    chosen={Some(usize::from(site.wet))}
                    on_choose={editor.site("Weather changed", |site, index: usize| site.wet = index == 1)} />
            </div>
            { caution("People and propellers", html! {
                "Gates and flight line keep clear of the crowd: a net, or room enough for an aircraft that has lost control. Nobody stands under the line."
            }) }
        </section>
    }
}

fn targets(editor: &Editor) -> Html {
    let (targets, rules) = (&editor.plan.targets, &editor.plan.rules);
    html! {
        <section class="form-part">
            <h3>{ "Targets" }</h3>
            <div class="form-fields">
                <NumberField id="target-share" label="Fields with a picture" measure={Measure::Share}
                    value={Some(targets.picture_share)} range={limits::PICTURE_SHARE}
                    hint="A field is 20 ms of picture; lost and frozen ones count against this."
                    on_commit={editor.targets("Target changed", |targets, value: Option<f64>| {
                        targets.picture_share = value.unwrap_or(targets.picture_share);
                    })} />
                <NumberField id="target-reserve" label="Wanted reserve" measure={Measure::Ratio}
                    value={Some(targets.wanted_reserve_db)} range={limits::WANTED_RESERVE_DB}
                    hint="Clear at or above this; thin from 0; short below 0. Common practice, no source."
                    on_commit={editor.targets("Wanted reserve changed", |targets, value: Option<f64>| {
                        targets.wanted_reserve_db = value.unwrap_or(targets.wanted_reserve_db);
                    })} />
                <NumberField id="target-keep-away" label="Distance to keep from people" measure={Measure::Length}
                    value={Some(rules.keep_away_m.unwrap_or(presets::KEEP_AWAY_M))} range={limits::KEEP_AWAY_M}
                    hint="From the flown line to spectators and seats, level. 5 m is what small events keep behind a net; without one keep much more. Common practice, no source: local rules decide."
                    on_commit={editor.rules("Distance to keep changed", |rules, value: Option<f64>| {
                        rules.keep_away_m = value.filter(|metres| (metres - presets::KEEP_AWAY_M).abs() > 1e-6);
                    })} />
            </div>
        </section>
    }
}
