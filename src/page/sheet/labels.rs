//! Letters of a drawing that keep out of each other's way.

use super::figure::LETTERS;
use crate::drawing::path_text::Point;

/// Width of a letter on average, in pixels, on the wide side: what is kept free must be enough in any typeface.
const LETTER_WIDTH: f64 = 6.8;

/// A rectangle by its middle and its sides.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Space {
    /// Its middle.
    pub middle: Point,
    /// Its width and height.
    pub sides: [f64; 2],
}

impl Space {
    /// What a line of letters about a point needs.
    pub fn of_letters(middle: Point, words: &str) -> Self {
        Self { middle, sides: [words.chars().count() as f64 * LETTER_WIDTH + 4.0, LETTERS + 3.0] }
    }

    /// The same turned by a quarter.
    #[must_use]
    pub fn turned(self) -> Self {
        Self { sides: [self.sides[1], self.sides[0]], ..self }
    }

    /// Whether it has ground in common with another.
    pub fn meets(&self, other: &Self) -> bool {
        (0..2).all(|axis| 2.0 * (self.middle[axis] - other.middle[axis]).abs() < self.sides[axis] + other.sides[axis])
    }

    fn is_within(&self, [width, height]: [f64; 2]) -> bool {
        let most = [width, height];
        (0..2).all(|axis| {
            let half = self.sides[axis] / 2.0;
            self.middle[axis] >= half && self.middle[axis] + half <= most[axis]
        })
    }
}

/// What of a drawing is taken.
pub struct Labels {
    sides: [f64; 2],
    taken: Vec<Space>,
}

impl Labels {
    /// Nothing yet of a drawing so wide and high.
    pub fn on(sides: [f64; 2]) -> Self {
        Self { sides, taken: Vec::new() }
    }

    /// Takes a space, free or not.
    pub fn take(&mut self, space: Space) {
        self.taken.push(space);
    }

    /// Takes the first of some spaces that is free and on the drawing; says which it was.
    pub fn first_free(&mut self, spaces: impl IntoIterator<Item = Space>) -> Option<Space> {
        let is_free = |space: &Space| space.is_within(self.sides) && !self.taken.iter().any(|taken| taken.meets(space));
        let found = spaces.into_iter().find(is_free)?;
        self.take(found);
        Some(found)
    }

    /// The same; where all are taken, the first is taken again, moved onto the drawing: better crowded than left out.
    pub fn first_free_or_first(&mut self, spaces: &[Space]) -> Option<Space> {
        self.first_free(spaces.iter().copied()).or_else(|| {
            let mut first = *spaces.first()?;
            for axis in 0..2 {
                let half = first.sides[axis] / 2.0;
                first.middle[axis] = first.middle[axis].min(self.sides[axis] - half).max(half);
            }
            self.take(first);
            Some(first)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_keep_apart_and_on_the_drawing() {
        let mut labels = Labels::on([100.0, 60.0]);
        let at = |x, y| Space { middle: [x, y], sides: [20.0, 10.0] };
        assert_eq!(labels.first_free([at(5.0, 30.0), at(50.0, 30.0)]), Some(at(50.0, 30.0)));
        assert_eq!(labels.first_free([at(60.0, 35.0), at(60.0, 41.0)]), Some(at(60.0, 41.0)));
        assert_eq!(labels.first_free([at(50.0, 30.0)]), None);
        assert_eq!(labels.first_free_or_first(&[at(50.0, 30.0)]), Some(at(50.0, 30.0)));
        assert_eq!(labels.first_free_or_first(&[at(-40.0, 70.0)]), Some(at(10.0, 55.0)));
        assert_eq!(labels.first_free_or_first(&[]), None);
    }

    #[test]
    fn a_turned_label_stands_upright() {
        let space = Space::of_letters([0.0, 0.0], "Pear barn");
        assert!(space.sides[0] > 60.0 && space.sides[1] < 16.0);
        assert_eq!(space.turned().sides, [space.sides[1], space.sides[0]]);
    }
}
