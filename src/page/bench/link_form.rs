//! The fields of the link: what a person states about it.

use std::rc::Rc;

use yew::prelude::*;

use super::measured::{MeasuredPanel, MeasuredPanelProps};
use crate::equipment::{antenna, feed};
use crate::fields::{ChoiceField, FewField, NumberField};
use crate::format::Measure;
use crate::kept::kept;
use crate::link::pair::number::PairNumber;
use crate::link::pair::{PairEnd, PairLink, PairObstacle, PairObstacleKind, Side};
use crate::plan::document::{AntennaKit, Feed, Picture, ReceiverNoise, StatedHand};
use crate::plan::presets::{self, Typical};
use crate::rf::fading::Surroundings;
use crate::rf::material::Material;
use crate::wording;

/// Properties of [`LinkForm`].
#[derive(Properties, PartialEq)]
pub struct LinkFormProps {
    /// The link.
    pub link: Rc<PairLink>,
    /// Called with the link as it should be.
    pub on_change: Callback<PairLink>,
}

/// All the fields.
#[component]
pub fn LinkForm(props: &LinkFormProps) -> Html {
    let form = Form { link: props.link.clone(), on_change: props.on_change.clone() };
    html! {
        <div class="bench-form">
            { form.line() }
            { form.end(Side::Transmitter) }
            { form.end(Side::Receiver) }
            { form.between() }
            { form.picture() }
        </div>
    }
}

#[derive(Clone)]
struct Form {
    link: Rc<PairLink>,
    on_change: Callback<PairLink>,
}

/// What is said about a field beside its value.
#[derive(Clone, Copy, Default)]
struct About {
    hint: &'static str,
    stand_in: Option<Typical>,
}

impl Form {
    /// A change of the link by what was typed or chosen. The change is a plain function, so that this is compiled once for
    /// a kind of value.
    fn set<T: 'static>(&self, change: fn(&mut PairLink, T)) -> Callback<T> {
        let Self { link, on_change } = self.clone();
        Callback::from(move |value| {
            let mut changed = (*link).clone();
            change(&mut changed, value);
            on_change.emit(changed);
        })
    }

    /// A change of one end.
    fn set_end<T: 'static>(&self, side: Side, change: fn(&mut PairEnd, T)) -> Callback<T> {
        let Self { link, on_change } = self.clone();
        Callback::from(move |value| {
            let mut changed = (*link).clone();
            change(changed.end_mut(side), value);
            on_change.emit(changed);
        })
    }

    /// A number of the link.
    fn number(&self, field: PairNumber, label: &'static str, measure: Measure, about: About) -> Html {
        let Self { link, on_change } = self.clone();
        let on_commit = Callback::from(move |value: Option<f64>| {
            let mut changed = (*link).clone();
            // The field of the page lets through what the range allows; a broken count is left as it was.
            if field.set(&mut changed, value).is_ok() {
                on_change.emit(changed);
            }
        });
        html! {
            <NumberField id={format!("bench-{}", field.key())} {label} {measure} value={field.get(&self.link)}
                range={field.range()} stand_in={about.stand_in} hint={about.hint} {on_commit} />
        }
    }

    fn plain(&self, field: PairNumber, label: &'static str, measure: Measure) -> Html {
        self.number(field, label, measure, About::default())
    }

    fn line(&self) -> Html {
        html! {
            <section class="form-part" aria-labelledby="bench-line">
                <h3 id="bench-line">{ "The line" }</h3>
                <div class="form-fields">
                    { self.plain(PairNumber::Distance, "Distance along the ground", Measure::Length) }
                    { self.plain(PairNumber::Frequency, "Carrier", Measure::Frequency) }
                    { self.number(PairNumber::Power, "Conducted power", Measure::Power, About {
                        hint: "What is allowed, local rules decide; a transmitter needs its antenna before it is switched on.",
                        stand_in: None,
                    }) }
                </div>
            </section>
        }
    }

    fn end(&self, side: Side) -> Html {
        let end = self.link.end(side);
        let is_transmitter = side == Side::Transmitter;
        let word = side.word();
        let kind = end.antenna.kind;
        let on_kind = self.set_end(side, |end, kind| end.antenna = antenna::of_kind(&end.antenna, kind));
        let on_hand = self.set_end(side, |end, index: usize| {
            end.antenna.hand = if index == 1 { StatedHand::Left } else { StatedHand::Right };
        });
        let on_antenna = self.set_end(side, |end, antenna: AntennaKit| end.antenna = antenna);
        let on_feed = self.set_end(side, |end, feed: Feed| end.feed = feed);
        let fields = if is_transmitter {
            [PairNumber::TransmitHeight, PairNumber::TransmitTilt, PairNumber::TransmitTurn, PairNumber::TransmitAside]
        } else {
            [PairNumber::ReceiveHeight, PairNumber::ReceiveTilt, PairNumber::ReceiveTurn, PairNumber::ReceiveAside]
        };
        let [height, tilt, turn, aside] = fields;
        html! {
            <section class="form-part" aria-labelledby={format!("bench-{word}-heading")} key={format!("{word}-{}", kind as u8)}>
                <h3 id={format!("bench-{word}-heading")}>
                    { if is_transmitter { "Transmitter’s antenna" } else { "Receiver’s antenna" } }
                </h3>
                <div class="form-fields">
                    { antenna::kind_field(format!("bench-{word}-kind"), "Kind".to_owned(), kind, on_kind) }
                    if presets::has_hand(kind) {
                        <FewField name={format!("bench-{word}-hand")} legend="Hand" options={vec!["right".into(), "left".into()]}
                            chosen={Some(usize::from(end.antenna.hand == StatedHand::Left))} on_choose={on_hand} />
                    }
                    { self.plain(height, "Height above ground", Measure::Length) }
                    { self.number(tilt, "Tilt", Measure::Angle, About {
                        hint: "Leaning back from the other end; a patch then looks up.", stand_in: None,
                    }) }
                    { self.number(turn, "Turn about the line", Measure::Angle, About {
                        hint: "Clockwise, looking to the other end.", stand_in: None,
                    }) }
                    if presets::is_directional(kind) {
                        { self.number(aside, "Aim past the other end", Measure::Angle, About {
                            hint: "To the right of it.", stand_in: None,
                        }) }
                    }
                    { antenna::fields(&format!("bench-{word}"), &end.antenna, &on_antenna, None) }
                </div>
                { kept::<MeasuredPanel>(MeasuredPanelProps { side, antenna: end.antenna.clone(), on_change: on_antenna }) }
                <details class="more">
                    <summary>{ if is_transmitter { "Its feed line, its frame, its motion" } else { "Its feed line, its wearer" } }</summary>
                    <div class="form-fields">
                        { feed::fields(&format!("bench-{word}-feed"), &end.feed, &on_feed) }
                        if is_transmitter {
                            { self.number(PairNumber::FrameLoss, "Loss through a frame below it", Measure::Ratio, About {
                                hint: "0 dB where there is none.", stand_in: None,
                            }) }
                            { self.number(PairNumber::LineSigma, "Position jitter", Measure::Length, About {
                                hint: "Some 0.3 m in flight; 0 on a stand, where every fringe of the ground shows.", stand_in: None,
                            }) }
                            { self.plain(PairNumber::Speed, "Speed", Measure::Speed) }
                        } else {
                            { self.wearer() }
                        }
                    </div>
                </details>
            </section>
        }
    }

    fn wearer(&self) -> Html {
        let is_worn = self.link.wearer_off_deg.is_some();
        html! {
            <>
                <FewField name="bench-worn" legend="Worn on a head" options={vec!["no".into(), "yes".into()]}
                    chosen={Some(usize::from(is_worn))}
                    on_choose={self.set(|link, index: usize| link.wearer_off_deg = (index == 1).then_some(0.0))} />
                if is_worn {
                    { self.plain(PairNumber::WearerOff, "Look past the transmitter", Measure::Angle) }
                }
            </>
        }
    }

    fn between(&self) -> Html {
        let link = &self.link;
        let none = std::iter::once(AttrValue::from("none: empty space"));
        let grounds = none.clone().chain(Material::GROUNDS.iter().map(|ground| AttrValue::from(ground.to_string())));
        let classes = none.chain(Surroundings::ALL.iter().map(|class| AttrValue::from(wording::surroundings(*class))));
        let kind = link.obstacle.as_ref().map(|obstacle| obstacle.kind);
        html! {
            <section class="form-part" aria-labelledby="bench-between">
                <h3 id="bench-between">{ "What is between and around" }</h3>
                <div class="form-fields">
                    <ChoiceField id="bench-ground" label="Ground" options={grounds.collect::<Vec<_>>()}
                        chosen={link.ground.map_or(Some(0), |ground| Material::GROUNDS.iter().position(|one| *one == ground).map(|index| index + 1))}
                        on_choose={self.set(|link, index: usize| {
                            link.ground = index.checked_sub(1).and_then(|index| Material::GROUNDS.get(index).copied());
                        })} />
                    if link.ground.is_some() {
                        { self.plain(PairNumber::Roughness, "Roughness of the ground", Measure::FineLength) }
                    }
                    <ChoiceField id="bench-surroundings" label="Surroundings" options={classes.collect::<Vec<_>>()}
                        chosen={link.surroundings.map_or(Some(0), |class| Surroundings::ALL.iter().position(|one| *one == class).map(|index| index + 1))}
                        hint="Scatter from things not drawn."
                        on_choose={self.set(|link, index: usize| {
                            link.surroundings = index.checked_sub(1).and_then(|index| Surroundings::ALL.get(index).copied());
                        })} />
                    <FewField name="bench-obstacle" legend="In the way"
                        options={vec!["nothing".into(), "a wall".into(), "a block".into(), "a tree".into()]}
                        chosen={Some(kind.and_then(|kind| PairObstacleKind::ALL.iter().position(|one| *one == kind)).map_or(0, |index| index + 1))}
                        on_choose={self.set(|link, index: usize| put_obstacle(link, index))} />
                    { for kind.map(|kind| self.obstacle(kind)) }
                </div>
            </section>
        }
    }

    fn obstacle(&self, kind: PairObstacleKind) -> Html {
        let materials: Vec<AttrValue> =
            Material::ALL.iter().map(|material| AttrValue::from(material.to_string())).collect();
        let made_of = self.link.obstacle.as_ref().map(|obstacle| obstacle.material);
        let is_tree = kind == PairObstacleKind::Tree;
        html! {
            <>
                { self.plain(PairNumber::ObstacleDistance, "From the transmitter", Measure::Length) }
                { self.plain(PairNumber::ObstacleHeight, "Its height", Measure::Length) }
                { self.plain(PairNumber::ObstacleWidth, if is_tree { "Width of the crown" } else { "Its width across the line" }, Measure::Length) }
                { self.number(PairNumber::ObstacleAside, "Its middle beside the line", Measure::Length, About {
                    hint: "To the right, looking to the receiver.", stand_in: None,
                }) }
                if is_tree {
                    { self.plain(PairNumber::ObstacleBase, "Where the crown begins", Measure::Length) }
                    { self.plain(PairNumber::ObstacleLoss, "Loss in the crown", Measure::Attenuation) }
                } else {
                    if kind == PairObstacleKind::Block {
                        { self.plain(PairNumber::ObstacleDepth, "Its depth along the line", Measure::Length) }
                    }
                    { self.plain(PairNumber::ObstacleTurn, "Its turn, clockwise from above", Measure::Angle) }
                    <ChoiceField id="bench-material" label="Made of" options={materials}
                        chosen={made_of.and_then(|made_of| Material::ALL.iter().position(|one| *one == made_of))}
                        on_choose={self.set(|link, index: usize| {
                            if let (Some(obstacle), Some(material)) = (&mut link.obstacle, Material::ALL.get(index)) {
                                obstacle.material = *material;
                                obstacle.thickness_m = presets::typical_thickness(*material).value;
                            }
                        })} />
                    { self.plain(PairNumber::ObstacleThickness, "Thickness of its walls", Measure::FineLength) }
                }
            </>
        }
    }

    fn picture(&self) -> Html {
        let is_digital = matches!(self.link.picture, Picture::Digital { .. });
        let is_stated = matches!(self.link.noise, ReceiverNoise::Sensitivity { .. });
        let needed = if is_digital { presets::DIGITAL_REQUIRED_CN_DB } else { presets::ANALOGUE_REQUIRED_CN_DB };
        html! {
            <section class="form-part" aria-labelledby="bench-picture">
                <h3 id="bench-picture">{ "Receiver and picture" }</h3>
                <div class="form-fields">
                    <FewField name="bench-picture-kind" legend="Picture" options={vec!["analogue".into(), "digital".into()]}
                        chosen={Some(usize::from(is_digital))}
                        on_choose={self.set(|link, index: usize| link.picture = match index {
                            0 => Picture::Analogue { bandwidth_hz: presets::ANALOGUE_BANDWIDTH.0, required_cn_db: None },
                            _ => Picture::Digital {
                                bandwidth_hz: presets::DIGITAL_BANDWIDTH.0,
                                required_cn_db: None,
                                freeze_s: presets::DIGITAL_FREEZE_S.value,
                            },
                        })} />
                    { self.plain(PairNumber::Bandwidth, "Bandwidth", Measure::Frequency) }
                    { self.number(PairNumber::RequiredCn, "Carrier over noise it needs", Measure::Ratio, About {
                        hint: "", stand_in: Some(needed),
                    }) }
                    <FewField name="bench-noise-kind" legend="Sensitivity"
                        options={vec!["from the noise figure".into(), "as stated".into()]}
                        chosen={Some(usize::from(is_stated))}
                        on_choose={self.set(|link, index: usize| link.noise = match index {
                            0 => ReceiverNoise::NoiseFigure { noise_figure_db: None },
                            _ => ReceiverNoise::Sensitivity { level_dbm: presets::SENSITIVITY_DBM.value },
                        })} />
                    if is_stated {
                        { self.plain(PairNumber::Sensitivity, "Weakest usable level", Measure::Level) }
                    } else {
                        { self.number(PairNumber::NoiseFigure, "Noise figure", Measure::Ratio, About {
                            hint: "", stand_in: Some(presets::NOISE_FIGURE_DB),
                        }) }
                    }
                </div>
            </section>
        }
    }
}

/// Puts an obstacle of a kind half way, or takes it away.
fn put_obstacle(link: &mut PairLink, index: usize) {
    let Some(kind) = index.checked_sub(1).and_then(|index| PairObstacleKind::ALL.get(index).copied()) else {
        link.obstacle = None;
        return;
    };
    let half = link.distance_m / 2.0;
    let obstacle = link.obstacle.get_or_insert_with(|| PairObstacle { distance_m: half, ..PairObstacle::default() });
    obstacle.kind = kind;
    if kind == PairObstacleKind::Tree && obstacle.height_m <= obstacle.base_m {
        obstacle.base_m = 0.0;
    }
}
