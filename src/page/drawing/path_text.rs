//! Text of SVG paths, short enough to be written again on every frame of a drag.

use std::fmt::Write;

/// A point of a drawing, in its pixels: to the right, down.
pub type Point = [f64; 2];

/// The `d` of an SVG path, written with a tenth of a pixel: finer than any screen, and a centimetre or less on the site.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PathText(String);

impl PathText {
    /// A path without a stroke.
    pub fn new() -> Self {
        Self::default()
    }

    /// Lifts the pen and puts it down at a point.
    pub fn move_to(&mut self, point: Point) -> &mut Self {
        self.command('M', &[point])
    }

    /// Draws a straight stroke to a point.
    pub fn line_to(&mut self, point: Point) -> &mut Self {
        self.command('L', &[point])
    }

    /// Draws a circular arc to a point; `clockwise` as seen on the screen, `long` for the longer of the two ways.
    pub fn arc_to(&mut self, radius: f64, long: bool, clockwise: bool, point: Point) -> &mut Self {
        let radius = tenth(radius);
        // Writing to a string cannot fail.
        let _ = write!(self.0, "A{radius} {radius} 0 {} {} ", u8::from(long), u8::from(clockwise));
        self.point(point);
        self
    }

    /// Joins the last point to where the pen was put down.
    pub fn close(&mut self) -> &mut Self {
        self.0.push('Z');
        self
    }

    /// Draws straight strokes through points, without joining the ends. No points, no stroke.
    pub fn polyline(&mut self, points: &[Point]) -> &mut Self {
        let Some((first, rest)) = points.split_first() else { return self };
        self.move_to(*first);
        for point in rest {
            self.line_to(*point);
        }
        self
    }

    /// Draws a closed outline through points.
    pub fn polygon(&mut self, corners: &[Point]) -> &mut Self {
        if corners.is_empty() { self } else { self.polyline(corners).close() }
    }

    /// The text.
    pub fn text(&self) -> String {
        self.0.clone()
    }

    fn command(&mut self, letter: char, points: &[Point]) -> &mut Self {
        self.0.push(letter);
        for (index, point) in points.iter().enumerate() {
            if index > 0 {
                self.0.push(' ');
            }
            self.point(*point);
        }
        self
    }

    fn point(&mut self, [x, y]: Point) {
        let _ = write!(self.0, "{} {}", tenth(x), tenth(y));
    }
}

/// A coordinate as it stands in an SVG attribute: tenths of a pixel, and no "-0".
pub fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0 + 0.0
}

/// A coordinate as the text of an SVG attribute.
pub fn at(value: f64) -> String {
    tenth(value).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn strokes_are_written_in_tenths() {
        let mut path = PathText::new();
        path.polyline(&[[0.04, -0.04], [10.06, 3.0]]).arc_to(2.0, true, false, [1.0, 2.5]).close();
        assert_eq!(path.text(), "M0 0L10.1 3A2 2 0 1 0 1 2.5Z");
    }

    #[test]
    fn no_points_make_no_path() {
        assert_eq!(PathText::new().polyline(&[]).polygon(&[]).text(), "");
    }
}
