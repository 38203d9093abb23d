//! The cursor's instant: the aircraft, and the paths of its wave to the receiver.

use std::rc::Rc;

use yew::prelude::*;

use crate::format;
use crate::link::report::{Explanation, PathView, Report};
use crate::rf::polarization::Hand;
use crate::wording;

use super::frame::{Frame, heading_deg};
use super::ink;
use super::marks::{aircraft, along, beside, curl};
use super::path_text::{PathText, Point, at};
use super::{same_explanation, same_report};

/// The most paths that are drawn, strongest first; more would hide each other.
pub const MOST_PATHS: usize = 8;
/// Paths weaker than the strongest by more than this are left out, in dB.
const FAINTEST_DB: f64 = 40.0;
/// Stroke width of the strongest path, in pixels; one that is 40 dB weaker gets the least.
const WIDEST: f64 = 3.6;
const NARROWEST: f64 = 0.7;

/// Properties of [`AircraftLayer`].
#[derive(Clone, Properties)]
pub struct AircraftLayerProps {
    /// The report, for where the aircraft is.
    pub report: Rc<Report>,
    /// Sample of the cursor.
    pub cursor: usize,
    /// Where it is drawn.
    pub frame: Frame,
}

impl PartialEq for AircraftLayerProps {
    fn eq(&self, other: &Self) -> bool {
        (self.cursor, self.frame) == (other.cursor, other.frame) && same_report(&self.report, &other.report)
    }
}

/// The aircraft at the cursor.
#[component]
pub fn AircraftLayer(props: &AircraftLayerProps) -> Html {
    let AircraftLayerProps { report, cursor, frame } = props;
    let lap = &report.lap;
    let count = lap.x_m.len().min(lap.y_m.len());
    if count == 0 {
        return html! {};
    }
    let sample = (*cursor).min(count - 1);
    let place = |index: usize| frame.place(lap.x_m[index % count], lap.y_m[index % count]);
    let (here, ahead, behind) = (place(sample), place(sample + 1), place(sample + count - 1));
    let heading = heading_deg([ahead[0] - behind[0], ahead[1] - behind[1]]);
    ink::unspoken("course-aircraft", vec![ink::circle("", here, 14.0), ink::path("", aircraft(here, heading, 7.5))])
}

/// Properties of [`PathLayer`].
#[derive(Clone, Properties)]
pub struct PathLayerProps {
    /// The explained instant.
    pub explanation: Option<Rc<Explanation>>,
    /// The chosen entry.
    pub entry: usize,
    /// Where it is drawn.
    pub frame: Frame,
}

impl PartialEq for PathLayerProps {
    fn eq(&self, other: &Self) -> bool {
        (self.entry, self.frame) == (other.entry, other.frame)
            && same_explanation(self.explanation.as_ref(), other.explanation.as_ref())
    }
}

/// The paths of the wave at the cursor's instant.
#[component]
pub fn PathLayer(props: &PathLayerProps) -> Html {
    let explained = props.explanation.iter().filter(|explained| explained.entry == props.entry);
    ink::unspoken("course-paths", explained.flat_map(|explained| drawn_paths(&explained.paths, &props.frame)).collect())
}

fn drawn_paths(paths: &[PathView], frame: &Frame) -> Vec<Html> {
    let Some(strongest) = paths.first().map(|path| path.level_dbm) else { return Vec::new() };
    let shown = paths.iter().take(MOST_PATHS).filter(|path| strongest - path.level_dbm <= FAINTEST_DB);
    // The strongest is drawn last, on top.
    let mut drawn: Vec<Html> =
        shown.enumerate().map(|(index, path)| drawn_path(path, index, strongest, frame)).collect();
    drawn.reverse();
    drawn
}

fn drawn_path(path: &PathView, index: usize, strongest_dbm: f64, frame: &Frame) -> Html {
    let places: Vec<Point> = path.points_m.iter().map(|[east, north, _]| frame.place(*east, *north)).collect();
    // From above a ground bounce lies exactly under the direct path; a little to the side it can be seen.
    let sideways = if path.points_m.len() > 2 && on_the_ground(path) { 6.0 } else { 0.0 };
    let line = beside(&places, sideways);
    let width = WIDEST + (NARROWEST - WIDEST) * ((strongest_dbm - path.level_dbm) / FAINTEST_DB).clamp(0.0, 1.0);
    let bounces = line.iter().skip(1).take(line.len().saturating_sub(2)).zip(&path.points_m[1..]);
    let blocked = path.obstructed_by.is_some() && path.obstruction_db >= 1.0;
    let stroke = vec!["is-line".into(), PathText::new().polyline(&line).text().into(), at(width).into()];
    let mut drawn = vec![
        ink::title(format!("{}: {}", path_name(path), format::level(path.level_dbm))),
        ink::mark("path", &["class", "d", "stroke-width"], stroke, Vec::new()),
    ];
    for ([x, y], [_, _, height]) in bounces {
        drawn.push(if *height < 0.05 {
            ink::path("is-bounce", triangle([*x, *y]))
        } else {
            ink::rectangle("is-bounce", [x - 4.0, y - 4.0], [8.0; 2])
        });
    }
    drawn.push(arrival(path, &line, index));
    let direct = if path.via.is_empty() { " is-direct" } else { "" };
    let obstructed = if blocked { " is-obstructed" } else { "" };
    ink::group(format!("course-path{direct}{obstructed}"), drawn)
}

/// The hand on arrival, drawn on the last leg; further out for weaker paths, so that the marks do not cover each other.
fn arrival(path: &PathView, line: &[Point], index: usize) -> Html {
    let [.., from, to] = line else { return html! {} };
    let back = heading_deg([from[0] - to[0], from[1] - to[1]]);
    let leg = libm::hypot(from[0] - to[0], from[1] - to[1]);
    let out = (34.0 + 26.0 * index as f64).min(leg * 0.8);
    let centre = along(*to, back, out);
    hand_mark(path.hand, centre)
}

/// The mark of a hand about a point: a curled arrow with its letter, or a bar for a linear wave.
pub fn hand_mark(hand: Option<Hand>, centre: Point) -> Html {
    let [x, y] = centre;
    let mut bar = PathText::new();
    bar.polyline(&[[x, y - 7.0], [x, y + 7.0]]).polyline(&[[x - 3.0, y - 7.0], [x + 3.0, y - 7.0]]);
    bar.polyline(&[[x - 3.0, y + 7.0], [x + 3.0, y + 7.0]]);
    let (stroke, letter) = match hand {
        Some(Hand::Right) => (curl(centre, 8.0, true), "R"),
        Some(Hand::Left) => (curl(centre, 8.0, false), "L"),
        None => (bar.text(), ""),
    };
    let drawn =
        vec![ink::circle("is-ground", centre, 11.0), ink::path("", stroke), ink::text("", [x, y + 3.5], letter)];
    ink::group("course-hand", drawn)
}

/// What a path is called: "direct path", "by the ground", "by the wall of the archive".
pub fn path_name(path: &PathView) -> String {
    if path.via.is_empty() { "direct path".to_owned() } else { format!("by {}", path.via.join(", then ")) }
}

/// A path's hand and axial ratio on arrival: "right hand, axial ratio 2.1 dB".
pub fn arrival_words(path: &PathView) -> String {
    match path.hand {
        Some(_) => format!("{}, axial ratio {}", wording::hand(path.hand), format::decibels(path.axial_ratio_db)),
        None => wording::hand(None).to_owned(),
    }
}

fn on_the_ground(path: &PathView) -> bool {
    path.points_m[1..path.points_m.len() - 1].iter().all(|[_, _, height]| *height < 0.05)
}

fn triangle([x, y]: Point) -> String {
    let mut path = PathText::new();
    path.polygon(&[[x, y - 5.0], [x + 5.0, y + 4.0], [x - 5.0, y + 4.0]]);
    path.text()
}
