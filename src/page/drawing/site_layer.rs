//! The site under everything else: paper, grid marks, and what stands on it as hatches with names.

use std::rc::Rc;

use yew::prelude::*;

use crate::page::format::{DisplayUnits, Measure, fixed};
use crate::plan::document::{ObstacleShape, Plan};

use super::frame::Frame;
use super::outline::{Hatch, name_place, outline};
use super::path_text::{PathText, at};
use super::ruler::{round_below, round_step, ticks};
use super::strip_layout::{held_within, text_width};

/// From so many pixels a metre on there is room for every name.
const ROOMY: f64 = 12.0;

/// Properties of [`SiteLayer`].
#[derive(Clone, Properties)]
pub struct SiteLayerProps {
    /// The plan, of which the site is drawn.
    pub plan: Rc<Plan>,
    /// Where it is drawn.
    pub frame: Frame,
    /// Units of the grid.
    pub units: DisplayUnits,
}

impl PartialEq for SiteLayerProps {
    /// Moving a gate makes another plan with the same site, for which hatches need not be drawn again.
    fn eq(&self, other: &Self) -> bool {
        self.frame == other.frame && self.units == other.units && self.plan.site == other.plan.site
    }
}

/// The site: grid, hatches, names.
#[component]
pub fn SiteLayer(props: &SiteLayerProps) -> Html {
    let frame = &props.frame;
    let obstacles = props.plan.site.obstacles.iter().map(|obstacle| {
        let hatch = Hatch::of_shape(&obstacle.shape);
        html! {
            <path key={obstacle.id.clone()} class={classes!("course-obstacle", hatch.id())}
                fill={format!("url(#{})", hatch.id())} d={outline(&obstacle.shape, frame)} />
        }
    });
    let names = props.plan.site.obstacles.iter().map(|obstacle| {
        let ([x, y], [width, height]) = name_place(obstacle, frame);
        let long = text_width(&obstacle.name);
        // A name lies along its obstacle. Where the drawing is small, names that stick out are left to the fields.
        let turned = long > width && long <= height;
        let sticks_out = long > 1.6 * width.max(height);
        if sticks_out && frame.scale < ROOMY {
            return html! {};
        }
        // Seats stand under canopies; their names need the room, so a canopy's name goes above its edge.
        let y = if matches!(obstacle.shape, ObstacleShape::Canopy(_)) { y - height / 2.0 - 9.0 } else { y };
        let x = if turned { x } else { held_within(x, long, frame.site_left(), frame.site_right()) };
        let transform = turned.then(|| format!("rotate(-90 {} {})", at(x), at(y)));
        html! {
            <text key={obstacle.id.clone()} class="course-name" x={at(x)} y={at(y + 4.0)} {transform}>
                { &obstacle.name }
            </text>
        }
    });
    html! {
        <g class="course-site" clip-path="url(#course-clip)">
            <defs>
                <clipPath id="course-clip">
                    <rect x="0" y="0" width={at(frame.width)} height={at(frame.height)} />
                </clipPath>
                <clipPath id="course-site-clip">
                    <rect x={at(frame.site_left())} y={at(frame.site_top())} width={at(frame.length(frame.site_width_m))}
                        height={at(frame.length(frame.site_depth_m))} />
                </clipPath>
                { for Hatch::ALL.into_iter().map(pattern) }
            </defs>
            { grid(frame, props.units) }
            <g clip-path="url(#course-site-clip)">{ for obstacles }</g>
            <rect class="course-border" x={at(frame.site_left())} y={at(frame.site_top())}
                width={at(frame.length(frame.site_width_m))} height={at(frame.length(frame.site_depth_m))} />
            <g>{ for names }</g>
            { north_arrow(frame) }
            { scale_bar(frame, props.units) }
        </g>
    }
}

/// A hatch as a pattern; the key uses the same ones.
fn pattern(hatch: Hatch) -> Html {
    let tile = hatch.tile();
    html! {
        <pattern key={hatch.id()} id={hatch.id()} width={at(tile.width)} height={at(tile.height)}
            patternUnits="userSpaceOnUse" patternTransform={format!("rotate({})", tile.turn_deg)}>
            <rect class="hatch-ground" width={at(tile.width)} height={at(tile.height)} />
            <path class={classes!("hatch-strokes", hatch.id())} d={tile.strokes} />
        </pattern>
    }
}

/// Crosses on the site and numbers along its west and south edges.
fn grid(frame: &Frame, units: DisplayUnits) -> Html {
    let per_unit = Measure::Length.kept(1.0, units);
    let step = round_step(64.0 / frame.length(per_unit));
    let easts = ticks(0.0, frame.site_width_m / per_unit, step);
    let norths = ticks(0.0, frame.site_depth_m / per_unit, step);
    let mut crosses = PathText::new();
    for east in &easts {
        for north in &norths {
            let [x, y] = frame.place(east * per_unit, north * per_unit);
            crosses.polyline(&[[x - 4.0, y], [x + 4.0, y]]).polyline(&[[x, y - 4.0], [x, y + 4.0]]);
        }
    }
    let decimals = usize::from(step < 1.0);
    html! {
        <g class="course-grid" aria-hidden="true">
            <path d={crosses.text()} />
            { for easts.iter().map(|east| {
                let [x, y] = frame.place(east * per_unit, 0.0);
                html! { <text class="is-east" x={at(x)} y={at(y + 14.0)}>{ fixed(*east, decimals) }</text> }
            }) }
            { for norths.iter().map(|north| {
                let [x, y] = frame.place(0.0, north * per_unit);
                html! { <text class="is-north" x={at(x - 6.0)} y={at(y + 4.0)}>{ fixed(*north, decimals) }</text> }
            }) }
        </g>
    }
}

fn north_arrow(frame: &Frame) -> Html {
    let (x, foot) = (frame.site_left() + 10.0, frame.site_bottom() + 44.0);
    let mut half = PathText::new();
    half.polygon(&[[x, foot - 26.0], [x + 6.0, foot], [x, foot - 6.0]]);
    let mut whole = PathText::new();
    whole.polygon(&[[x, foot - 26.0], [x + 6.0, foot], [x, foot - 6.0], [x - 6.0, foot]]);
    html! {
        <g class="course-north">
            <title>{ "North is up" }</title>
            <path class="is-outline" d={whole.text()} />
            <path class="is-inked" d={half.text()} />
            <text x={at(x + 12.0)} y={at(foot - 12.0)}>{ "N" }</text>
        </g>
    }
}

/// A bar of round length, inked in alternate fifths or halves.
fn scale_bar(frame: &Frame, units: DisplayUnits) -> Html {
    let per_unit = Measure::Length.kept(1.0, units);
    let length = round_below((frame.width * 0.4).min(240.0) / frame.length(per_unit));
    let (left, top) = (frame.site_left() + 56.0, frame.site_bottom() + 24.0);
    let width = frame.length(length * per_unit);
    let mut inked = PathText::new();
    let parts = 4;
    for part in (0..parts).step_by(2) {
        let [from, to] = [part, part + 1].map(|index| left + width * f64::from(index) / f64::from(parts));
        inked.polygon(&[[from, top], [to, top], [to, top + 5.0], [from, top + 5.0]]);
    }
    let unit = Measure::Length.unit(units);
    let number = |value: f64| Measure::Count.field_text(value, units);
    let half = if length >= 2.0 { number(length / 2.0) } else { String::new() };
    html! {
        <g class="course-scale">
            <title>{ format!("Scale: the bar is {} {unit} long", number(length)) }</title>
            <rect x={at(left)} y={at(top)} width={at(width)} height="5" />
            <path d={inked.text()} />
            <text x={at(left)} y={at(top + 18.0)}>{ "0" }</text>
            <text x={at(left + width / 2.0)} y={at(top + 18.0)}>{ half }</text>
            <text x={at(left + width)} y={at(top + 18.0)}>{ format!("{}\u{a0}{unit}", number(length)) }</text>
        </g>
    }
}
