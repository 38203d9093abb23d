//! Names on the course that keep out of each other's way.

use crate::plan::document::{ObstacleShape, Plan};

use super::frame::Frame;
use super::outline::name_place;
use super::path_text::Point;
use super::strip_layout::{held_within, text_width};
use crate::sheet::labels::Space;

/// From so many pixels a metre on there is room for every name.
const ROOMY: f64 = 12.0;
/// How far names give way upward or downward, in pixels.
const WAYS: [f64; 5] = [0.0, -13.0, 13.0, -26.0, 26.0];

/// A name on the drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct Name {
    /// What is written.
    pub text: String,
    /// The middle of its base line.
    pub place: Point,
    /// Whether it runs upward.
    pub turned: bool,
}

impl Name {
    /// What it needs of the drawing.
    fn space(&self) -> Space {
        let [x, y] = self.place;
        let space = Space::of_letters([x, y - 4.0], &self.text);
        if self.turned { space.turned() } else { space }
    }

    /// Whether the name touches another.
    pub fn touches(&self, other: &Self) -> bool {
        self.space().meets(&other.space())
    }
}

/// The names of obstacles. Where the drawing is small, names that stick out, and names that find no room, are left to the
/// fields.
pub fn site_names(plan: &Plan, frame: &Frame) -> Vec<Name> {
    let ([left, right], [top, bottom]) = (frame.across(), frame.down());
    let mut names: Vec<Name> = Vec::new();
    for obstacle in &plan.site.obstacles {
        let ([x, y], [width, height]) = name_place(obstacle, frame);
        let long = text_width(&obstacle.name);
        // A name lies along its obstacle.
        let turned = long > width && long <= height;
        let sticks_out = long > 1.6 * width.max(height);
        // What is out of sight has its name there too, and not at the edge of what is in sight.
        let is_seen = x + width / 2.0 > left && x - width / 2.0 < right;
        let is_seen = is_seen && y + height / 2.0 > top && y - height / 2.0 < bottom;
        if !is_seen || (sticks_out && frame.scale < ROOMY) {
            continue;
        }
        // Seats stand under canopies; their names need the room, so a canopy's name goes above its edge.
        let y = if matches!(obstacle.shape, ObstacleShape::Canopy(_)) { y - height / 2.0 - 9.0 } else { y };
        let x = if turned { x } else { held_within(x, long, left, right) };
        let at = |way: f64| Name { text: obstacle.name.clone(), place: [x, y + 4.0 + way], turned };
        names.extend(free(WAYS.into_iter().map(at), &names));
    }
    names
}

/// The name of a seat: below it, or else above, or beside it; below it, too, where no place is free.
pub fn seat_name(text: &str, [x, y]: Point, taken: &[Name], frame: &Frame) -> Name {
    let long = text_width(text);
    let beside = long / 2.0 + 16.0;
    let ways = [[0.0, 24.0], [0.0, -18.0], [beside, 4.0], [-beside, 4.0], [0.0, 37.0], [0.0, -31.0]];
    let at = |[right, down]: Point| {
        let x = held_within(x + right, long, 4.0, frame.width - 4.0);
        Name { text: text.to_owned(), place: [x, y + down], turned: false }
    };
    free(ways.into_iter().map(at), taken).unwrap_or_else(|| at(ways[0]))
}

fn free(mut wanted: impl Iterator<Item = Name>, taken: &[Name]) -> Option<Name> {
    wanted.find(|name| taken.iter().all(|other| !name.touches(other)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::demo;

    #[test]
    fn no_name_of_the_demo_lies_on_another() {
        let plan = demo();
        for width in [358.0, 560.0, 720.0, 1100.0] {
            let frame = Frame::fit(width, 900.0, plan.site.width_m, plan.site.depth_m);
            let mut names = site_names(&plan, &frame);
            assert!(names.len() > 3, "{width}");
            for seat in &plan.seats {
                let name = seat_name(&seat.name, frame.place(seat.x_m, seat.y_m), &names, &frame);
                let apart = names.iter().all(|other| !name.touches(other));
                assert!(apart || width < 400.0, "{name:?} at {width}");
            }
            while let Some(name) = names.pop() {
                assert!(names.iter().all(|other| !name.touches(other)), "{name:?} at {width}");
            }
        }
    }

    #[test]
    fn a_turned_name_is_tall() {
        let name = |y: f64, turned: bool| Name { text: "Cider loft".to_owned(), place: [50.0, y], turned };
        assert!(name(90.0, true).touches(&name(60.0, false)));
        assert!(!name(90.0, true).touches(&name(30.0, false)) && !name(90.0, false).touches(&name(60.0, false)));
    }
}
