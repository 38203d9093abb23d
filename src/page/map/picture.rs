//! What is drawn of a map: areas of the three classes, numbered contours, a few numbers in words.

use crate::drawing::frame::Frame;
use crate::drawing::path_text::PathText;
use crate::link::map::{
    Contour, Grid, Label, Summary, class, class_words, contour, labels, level_text, levels, limits, on_scale, summary,
    value_text,
};

use super::choice::Subject;
use super::survey::Survey;

/// A line shorter than this has no number, pixels; numbers are at least as far apart.
const ROOM: f64 = 46.0;
/// Pixels along a line from one number to the next.
const SPACING: f64 = 420.0;

/// A map, or a coarse one, ready to be drawn anywhere.
#[derive(Clone, Debug)]
pub struct MapPicture {
    /// What it is a map of.
    pub subject: Subject,
    /// Limits between the classes, on the scale.
    pub limits: [f64; 2],
    /// The map in a few numbers; `None` when no cell has one.
    pub summary: Option<Summary>,
    /// Numbered contours.
    pub contours: Vec<Contour>,
    /// Everything with a number, and what is at or above each limit.
    above: [Contour; 3],
    grid: Grid,
    stride: usize,
    values: Vec<Option<f64>>,
}

impl MapPicture {
    /// Draws every `stride`-th cell of a survey.
    pub fn new(survey: &Survey, stride: usize) -> Self {
        let (grid, quantity) = (*survey.grid(), survey.subject().choice.quantity);
        let limits = limits(quantity, survey.goal());
        let scaled: Vec<Option<f64>> =
            survey.values().iter().map(|value| value.map(|value| on_scale(quantity, value))).collect();
        let at = |level: f64| contour(&grid, stride, &scaled, level);
        let summary = summary(quantity, &limits, survey.values());
        let drawn = summary.map_or_else(Vec::new, |summary| {
            let ends = [summary.least, summary.most].map(|value| on_scale(quantity, value));
            levels(quantity, &limits, ends[0].min(ends[1]), ends[0].max(ends[1]))
        });
        Self {
            subject: survey.subject().clone(),
            contours: drawn.into_iter().map(at).collect(),
            above: [f64::NEG_INFINITY, limits[0], limits[1]].map(at),
            values: survey.values().to_vec(),
            limits,
            summary,
            grid,
            stride,
        }
    }

    /// The area of a class as the text of a path, to be filled by the even-odd rule.
    pub fn area(&self, class: usize, frame: &Frame) -> String {
        let mut path = PathText::new();
        for contour in self.above.iter().skip(class).take(2) {
            for outline in &contour.outlines {
                path.polygon(&on_drawing(outline, frame));
            }
        }
        path.text()
    }

    /// A contour as the text of a path.
    pub fn line(contour: &Contour, frame: &Frame) -> String {
        let mut path = PathText::new();
        for line in &contour.lines {
            path.polyline(&on_drawing(line, frame));
        }
        path.text()
    }

    /// Where the numbers of the contours stand.
    pub fn labels(&self, frame: &Frame) -> Vec<Label> {
        labels(&self.contours, ROOM / frame.scale, SPACING / frame.scale)
    }

    /// A contour's number.
    pub fn number(&self, level: f64) -> String {
        written(level_text(self.subject.choice.quantity, level))
    }

    /// Whether a contour parts two classes.
    pub fn is_limit(&self, level: f64) -> bool {
        self.limits.contains(&level)
    }

    /// The cells.
    pub fn grid(&self) -> &Grid {
        &self.grid
    }

    /// The number at a cell, or at the nearest one that is there already, with the words for its class.
    pub fn reading(&self, cell: usize) -> String {
        let (column, row) = (cell % self.grid.columns, cell / self.grid.columns);
        let nearest = row / self.stride * self.stride * self.grid.columns + column / self.stride * self.stride;
        let quantity = self.subject.choice.quantity;
        match self.values.get(nearest).copied().flatten() {
            Some(value) => {
                let words = class_words(quantity, &self.limits);
                let class = class(&self.limits, on_scale(quantity, value));
                format!("{}: {}", written(value_text(quantity, value)), words[class])
            }
            None => "no value".to_owned(),
        }
    }

    /// The least, the middle and the greatest number, in a sentence.
    pub fn in_words(&self) -> String {
        let quantity = self.subject.choice.quantity;
        match self.summary {
            Some(Summary { least, median, most, .. }) => {
                let [least, median, most] = [least, median, most].map(|value| written(value_text(quantity, value)));
                format!("From {least} to {most}; half the area is below {median}.")
            }
            None => "No place has a value.".to_owned(),
        }
    }
}

/// A number as the page writes it: with a minus sign.
fn written(number: String) -> String {
    number.replace('-', "\u{2212}")
}

fn on_drawing(points: &[(f64, f64)], frame: &Frame) -> Vec<[f64; 2]> {
    points.iter().map(|&(east, north)| frame.place(east, north)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::jobs::Answer;
    use crate::link::Evaluator;
    use crate::map::choice::MapChoice;
    use crate::plan::demo;
    use crate::site::BounceOrder;
    use std::rc::Rc;

    /// A survey of the demo with numbers that rise from west to east, one for each metre.
    fn slope() -> Survey {
        let plan = Rc::new(demo());
        let subject = Subject { bounces: BounceOrder::Single, choice: MapChoice::usual(&plan), plan, entry: 0 };
        let mut survey = Survey::new(subject, 1).unwrap();
        while let Some(part) = survey.next(0) {
            let cells = &survey.grid().share(0, 1)[part.skip..part.skip + part.budget];
            let columns = vec![
                cells.iter().map(|&cell| f64::from(cell)).collect(),
                cells.iter().map(|&cell| survey.grid().centre(cell as usize).0 - 10.0).collect(),
            ];
            survey.take(0, &Answer { text: String::new(), columns });
        }
        survey
    }

    #[test]
    fn areas_are_drawn_from_limit_to_limit() {
        let survey = slope();
        let (width, depth) = (survey.grid().width, survey.grid().depth);
        let frame = Frame::fit(900.0, 900.0, width, depth);
        for stride in [1, 4] {
            let picture = MapPicture::new(&survey, stride);
            // By the even-odd rule an outline inside another takes its area away.
            let area = |class: usize| {
                let text = picture.area(class, &frame);
                let rings = text.split('Z').filter(|ring| !ring.is_empty()).map(|ring| {
                    let points: Vec<[f64; 2]> = ring[1..]
                        .split('L')
                        .filter_map(|pair| pair.split_once(' '))
                        .map(|(x, y)| frame.site_point([x.parse().unwrap(), y.parse().unwrap()]))
                        .collect();
                    let next = points.iter().cycle().skip(1);
                    points.iter().zip(next).map(|(a, b)| a[0] * b[1] - b[0] * a[1]).sum::<f64>().abs() / 2.0
                });
                rings.reduce(|outer, inner| outer - inner).unwrap_or_default()
            };
            // Below 0 dB, 0 to 6 dB, above: 10 and 16 m from the west.
            for (class, metres) in [10.0, 6.0, width - 16.0].into_iter().enumerate() {
                assert!((area(class) - metres * depth).abs() < 1.5, "{class}: {} m²", area(class));
            }
            assert_eq!(
                picture.contours.iter().map(|contour| contour.level).collect::<Vec<_>>(),
                [0.0, 6.0, 20.0, 30.0]
            );
            assert!(picture.labels(&frame).len() >= 4);
            assert!(picture.is_limit(6.0) && !picture.is_limit(20.0));
        }
    }

    #[test]
    fn a_reading_says_the_number_and_its_class() {
        let survey = slope();
        let picture = MapPicture::new(&survey, 1);
        let cell = survey.grid().cell_at(12.1, 3.0).unwrap();
        let value = survey.values()[cell].unwrap();
        assert_eq!(picture.reading(cell), format!("{value:.1} dB: 0 to 6 dB"));
        assert_eq!(picture.reading(usize::MAX - 1), "no value");
        // A coarse map reads from the cell that it has.
        let coarse = MapPicture::new(&survey, 8);
        let (column, row) = (cell % survey.grid().columns, cell / survey.grid().columns);
        assert_eq!(coarse.reading(cell), picture.reading(row / 8 * 8 * survey.grid().columns + column / 8 * 8));
        assert!(picture.in_words().starts_with("From \u{2212}9."), "{}", picture.in_words());
    }

    #[test]
    fn the_demo_is_drawn_in_a_few_thousand_points() {
        let plan = Rc::new(demo());
        let subject = Subject { bounces: BounceOrder::Single, choice: MapChoice::usual(&plan), plan, entry: 2 };
        let mut map = Evaluator::default()
            .map(&subject.plan, &subject.choice.request(&subject.plan, 2, BounceOrder::Single))
            .unwrap();
        while map.step(usize::MAX).is_pending() {}
        let mut survey = Survey::new(subject, 1).unwrap();
        while survey.next(0).is_some() {
            let numbers: Vec<(f64, f64)> =
                map.values().iter().enumerate().filter_map(|(cell, value)| Some((cell as f64, (*value)?))).collect();
            let columns =
                vec![numbers.iter().map(|pair| pair.0).collect(), numbers.iter().map(|pair| pair.1).collect()];
            survey.take(0, &Answer { text: String::new(), columns });
        }
        let picture = MapPicture::new(&survey, 1);
        let frame = Frame::fit(900.0, 900.0, survey.grid().width, survey.grid().depth);
        let bytes: usize = (0..3).map(|class| picture.area(class, &frame).len()).sum();
        assert!((1000..200_000).contains(&bytes), "{bytes}");
        assert!(picture.summary.is_some_and(|summary| (summary.shares.iter().sum::<f64>() - 1.0).abs() < 1e-9));
    }
}
