//! The flight line: coloured and patterned by the chosen entry's margin, with its worst stretch and the ghost of the
//! last verdict.

use std::rc::Rc;

use yew::prelude::*;

use crate::link::report::Report;

use super::frame::Frame;
use super::ink;
use super::lap_columns::{classes, entry_report, stretch_samples};
use super::margin_class::{MarginClass, Wanted, closed_strokes};
use super::marks::{bars, beside, chevrons};
use super::path_text::{PathText, Point};
use super::same_report;

/// Properties of [`FlightLine`] and [`GhostLine`].
#[derive(Clone, Properties)]
pub struct FlightLineProps {
    /// The report.
    pub report: Rc<Report>,
    /// The chosen entry's position in the plan.
    pub entry: usize,
    /// What counts as good enough.
    pub wanted: Wanted,
    /// Where it is drawn.
    pub frame: Frame,
}

impl PartialEq for FlightLineProps {
    fn eq(&self, other: &Self) -> bool {
        self.entry == other.entry
            && self.wanted == other.wanted
            && self.frame == other.frame
            && same_report(&self.report, &other.report)
    }
}

/// The flight line as it is.
#[component]
pub fn FlightLine(props: &FlightLineProps) -> Html {
    let FlightLineProps { report, entry, wanted, frame } = props;
    let points = places(report, frame);
    let Some(entry) = entry_report(report, *entry) else {
        return ink::path("course-line is-unjudged", closed(&points));
    };
    let strokes = closed_strokes(&points, &classes(entry, *wanted));
    let lines = MarginClass::ALL.into_iter().map(|class| {
        let mut path = PathText::new();
        let mut barred = String::new();
        for stroke in strokes.iter().filter(|stroke| stroke.class == class) {
            path.polyline(&stroke.points);
            if class == MarginClass::Below {
                barred.push_str(&bars(&stroke.points, 7.0, 5.0));
            }
        }
        flight_line(class, path.text(), barred)
    });
    let worst = stretch_samples(&report.lap, entry.worst.start_m, entry.worst.length_m);
    let worst: Vec<Point> = worst.into_iter().filter_map(|sample| points.get(sample).copied()).collect();
    let mut drawn = Vec::new();
    if worst.len() > 1 {
        drawn.push(ink::path("course-worst", PathText::new().polyline(&worst).text()));
        drawn.push(ink::path("course-worst-edge", worst_bracket(&worst)));
    }
    drawn.extend(lines);
    drawn.push(ink::path("course-way", chevrons(&points, 90.0, 5.0)));
    ink::unspoken("course-flight", drawn)
}

/// A piece of the line in the look of its class; bars only where the class has some.
pub fn flight_line(class: MarginClass, line: String, bars: String) -> Html {
    let drawn = vec![ink::path("", line), ink::path("is-bars", bars)];
    ink::group(format!("course-line is-{}", class.suffix()), drawn)
}

/// The flight line of the last verdict, faint.
#[component]
pub fn GhostLine(props: &FlightLineProps) -> Html {
    ink::unspoken("", vec![ink::path("course-ghost", closed(&places(&props.report, &props.frame)))])
}

/// A bracket along the right side of the worst stretch, with a foot at each end.
fn worst_bracket(worst: &[Point]) -> String {
    let (near, far) = (beside(worst, 6.0), beside(worst, 12.0));
    let mut path = PathText::new();
    path.move_to(near[0]);
    for point in &far {
        path.line_to(*point);
    }
    path.line_to(near[near.len() - 1]);
    path.text()
}

fn places(report: &Report, frame: &Frame) -> Vec<Point> {
    report.lap.x_m.iter().zip(&report.lap.y_m).map(|(east, north)| frame.place(*east, *north)).collect()
}

fn closed(points: &[Point]) -> String {
    PathText::new().polygon(points).text()
}
