//! Where the flown line comes too near to people and things: marks on the drawing.

use std::rc::Rc;

use yew::prelude::*;

use crate::link::report::Report;

use super::frame::Frame;
use super::marks::letter;
use super::path_text::{PathText, Point};
use super::{ink, same_report};

/// How far a mark stands from the place that it marks, in pixels: right and up.
const BESIDE: Point = [17.0, -19.0];
/// From the middle of a triangle to its corners, in pixels.
const SIZE: f64 = 12.0;

/// A triangle with its letter.
pub fn triangle([x, y]: Point, index: usize) -> Html {
    let corners = [[x, y - SIZE], [x + SIZE, y + 0.75 * SIZE], [x - SIZE, y + 0.75 * SIZE]];
    let mut path = PathText::new();
    path.polygon(&corners);
    ink::group("safety-mark", vec![ink::path("", path.text()), ink::text("", [x, y + 6.5], letter(index))])
}

/// Properties of [`SafetyLayer`].
#[derive(Clone, Properties)]
pub struct SafetyLayerProps {
    /// The report.
    pub report: Rc<Report>,
    /// Where it is drawn.
    pub frame: Frame,
}

impl PartialEq for SafetyLayerProps {
    fn eq(&self, other: &Self) -> bool {
        self.frame == other.frame && same_report(&self.report, &other.report)
    }
}

/// The findings on the drawing: a dot on the line, and beside it the triangle with the letter.
#[component]
pub fn SafetyLayer(props: &SafetyLayerProps) -> Html {
    let SafetyLayerProps { report, frame } = props;
    let marks = report.safety.iter().enumerate().map(|(index, finding)| {
        let place = frame.place(finding.x_m, finding.y_m);
        // Within the drawing, whichever side that takes.
        let side = |axis: usize, most: f64| {
            let wanted = place[axis] + BESIDE[axis];
            if (SIZE..=most - SIZE).contains(&wanted) { wanted } else { place[axis] - BESIDE[axis] }
        };
        let at = [side(0, frame.width), side(1, frame.height)];
        let drawn = vec![
            ink::title(finding.sentence.clone()),
            ink::line("safety-leader", place, at),
            ink::circle("safety-place", place, 4.0),
            triangle(at, index),
        ];
        ink::group("", drawn)
    });
    ink::unspoken("course-safety", marks.collect())
}
