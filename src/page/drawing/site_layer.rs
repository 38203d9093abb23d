//! The site under everything else: paper, grid marks, and what stands on it as hatches with names.

use std::rc::Rc;

use yew::prelude::*;

use crate::format::{DisplayUnits, Measure, fixed};
use crate::plan::document::Plan;

use super::frame::Frame;
use super::ink;
use super::names::site_names;
use super::outline::{Hatch, outline};
use super::path_text::{PathText, Point, at};
use super::ruler::{round_below, round_step, ticks};

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
    let obstacles = props
        .plan
        .site
        .obstacles
        .iter()
        .map(|obstacle| hatched(Hatch::of_shape(&obstacle.shape), outline(&obstacle.shape, frame)));
    let names = site_names(&props.plan, frame).into_iter().map(|name| {
        let [x, y] = name.place;
        let turn = if name.turned { format!("rotate(-90 {} {})", at(x), at(y - 4.0)) } else { String::new() };
        ink::mark("g", &["transform"], vec![turn.into()], vec![ink::text("course-name", name.place, name.text)])
    });
    let ([left, right], [top, bottom]) = (frame.across(), frame.down());
    let [x, y, width, height] = frame.site_rectangle();
    // Where all of the site is in sight, marks at its edge may reach beyond it.
    let is_whole = left <= x && x + width <= right && top <= y && y + height <= bottom;
    let [clip_x, clip_y, clip_width, clip_height] =
        if is_whole { [0.0, 0.0, frame.width, frame.height] } else { [left, top, right - left, bottom - top] };
    let clip = |id: &'static str, corner: Point, sides: Point| {
        ink::mark("clipPath", &["id"], vec![id.into()], vec![ink::rectangle("", corner, sides)])
    };
    let within = |clip: &'static str, parts: Vec<Html>| ink::mark("g", &["clip-path"], vec![clip.into()], parts);
    let sight = ([left, top], [right - left, bottom - top]);
    let mut defined = vec![
        clip("course-clip", [clip_x, clip_y], [clip_width, clip_height]),
        clip("course-site-clip", sight.0, sight.1),
    ];
    defined.extend(Hatch::ALL.into_iter().map(|hatch| pattern(hatch, [x, y])));
    let mut on_site = vec![ink::rectangle("course-border", [x, y], [width, height])];
    on_site.extend(names);
    let cut = if is_whole { Html::default() } else { ink::rectangle("course-border is-cut", sight.0, sight.1) };
    ink::group(
        "course-site",
        vec![
            ink::mark("defs", &[], Vec::new(), defined),
            grid(frame, props.units),
            within("url(#course-site-clip)", obstacles.collect()),
            within("url(#course-clip)", on_site),
            cut,
            north_arrow([left, bottom]),
            scale_bar(frame, [left, bottom], props.units),
        ],
    )
}

/// An obstacle with its hatch.
pub fn hatched(hatch: Hatch, outline: String) -> Html {
    let id = hatch.id();
    let values = vec![format!("course-obstacle {id}").into(), format!("url(#{id})").into(), outline.into()];
    ink::mark("path", &["class", "fill", "d"], values, Vec::new())
}

/// A hatch as a pattern that lies still on the site; the key uses the same ones.
fn pattern(hatch: Hatch, [x, y]: Point) -> Html {
    let tile = hatch.tile();
    let lies = format!("translate({} {}) rotate({})", at(x), at(y), tile.turn_deg);
    ink::mark(
        "pattern",
        &["id", "width", "height", "patternUnits", "patternTransform"],
        vec![hatch.id().into(), at(tile.width).into(), at(tile.height).into(), "userSpaceOnUse".into(), lies.into()],
        vec![
            ink::rectangle("hatch-ground", [0.0; 2], [tile.width, tile.height]),
            ink::path(format!("hatch-strokes {}", hatch.id()), tile.strokes),
        ],
    )
}

/// Crosses on the site and numbers along its west and south edges.
fn grid(frame: &Frame, units: DisplayUnits) -> Html {
    let per_unit = Measure::Length.kept(1.0, units);
    let step = round_step(64.0 / frame.length(per_unit));
    let [easts, norths] = frame.in_sight_m().map(|[least, most]| ticks(least / per_unit, most / per_unit, step));
    let ([left, _], [_, bottom]) = (frame.across(), frame.down());
    let mut crosses = PathText::new();
    for east in &easts {
        for north in &norths {
            let [x, y] = frame.place(east * per_unit, north * per_unit);
            crosses.polyline(&[[x - 4.0, y], [x + 4.0, y]]).polyline(&[[x, y - 4.0], [x, y + 4.0]]);
        }
    }
    let decimals = usize::from(step < 1.0);
    let mut marks = vec![ink::path("", crosses.text())];
    for east in easts {
        let [x, _] = frame.place(east * per_unit, 0.0);
        marks.push(ink::text("is-east", [x, bottom + 14.0], fixed(east, decimals)));
    }
    for north in norths {
        let [_, y] = frame.place(0.0, north * per_unit);
        marks.push(ink::text("is-north", [left - 6.0, y + 4.0], fixed(north, decimals)));
    }
    ink::unspoken("course-grid", marks)
}

fn north_arrow([left, bottom]: Point) -> Html {
    let (x, foot) = (left + 10.0, bottom + 44.0);
    let mut half = PathText::new();
    half.polygon(&[[x, foot - 26.0], [x + 6.0, foot], [x, foot - 6.0]]);
    let mut whole = PathText::new();
    whole.polygon(&[[x, foot - 26.0], [x + 6.0, foot], [x, foot - 6.0], [x - 6.0, foot]]);
    ink::group(
        "course-north",
        vec![
            ink::title("North is up"),
            ink::path("is-outline", whole.text()),
            ink::path("is-inked", half.text()),
            ink::text("", [x + 12.0, foot - 12.0], "N"),
        ],
    )
}

/// A bar of round length, inked in alternate fifths or halves.
fn scale_bar(frame: &Frame, [left, bottom]: Point, units: DisplayUnits) -> Html {
    let per_unit = Measure::Length.kept(1.0, units);
    let length = round_below((frame.width * 0.4).min(240.0) / frame.length(per_unit));
    let (left, top) = (left + 56.0, bottom + 24.0);
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
    let under = |along: f64, words: String| ink::text("", [left + along, top + 18.0], words);
    ink::group(
        "course-scale",
        vec![
            ink::title(format!("Scale: the bar is {} {unit} long", number(length))),
            ink::rectangle("", [left, top], [width, 5.0]),
            ink::path("", inked.text()),
            under(0.0, "0".to_owned()),
            under(width / 2.0, half),
            under(width, format!("{}\u{a0}{unit}", number(length))),
        ],
    )
}
