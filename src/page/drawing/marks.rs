//! The drawing's inked marks: gates, arrows, bars across a line, beams, and the curled arrow of a hand.

use super::frame::direction;
use super::path_text::{PathText, Point};

/// A point at a distance from another along a heading.
pub fn along(from: Point, heading_deg: f64, distance: f64) -> Point {
    let [x, y] = direction(heading_deg);
    [from[0] + distance * x, from[1] + distance * y]
}

/// A gate from above: a bar across its heading with a foot at each end.
pub fn gate(centre: Point, heading_deg: f64, half_width: f64) -> String {
    let mut path = PathText::new();
    for side in [-90.0, 90.0] {
        let end = along(centre, heading_deg + side, half_width);
        path.polyline(&[centre, end]);
        path.polyline(&[along(end, heading_deg, 3.0), along(end, heading_deg + 180.0, 3.0)]);
    }
    path.text()
}

/// An arrow from a point along a heading: shaft and open head.
pub fn arrow(from: Point, heading_deg: f64, length: f64, head: f64) -> String {
    let tip = along(from, heading_deg, length);
    let mut path = PathText::new();
    path.polyline(&[from, tip]);
    path.polyline(&[along(tip, heading_deg + 150.0, head), tip, along(tip, heading_deg - 150.0, head)]);
    path.text()
}

/// A filled arrow head whose tip is at a point.
pub fn arrow_head(tip: Point, heading_deg: f64, size: f64) -> String {
    let mut path = PathText::new();
    path.polygon(&[tip, along(tip, heading_deg + 155.0, size), along(tip, heading_deg - 155.0, size)]);
    path.text()
}

/// The mark of a hand: an arrow curled about a point. A right-hand wave, seen along its way, turns clockwise (IEEE Std
/// 145), and so does its arrow.
pub fn curl(centre: Point, radius: f64, clockwise: bool) -> String {
    // The arc starts to the lower left or right, leaves a gap at the bottom, and is mirrored for the other hand.
    let turn = if clockwise { 1.0 } else { -1.0 };
    let start = along(centre, turn * 215.0, radius);
    let end = along(centre, turn * 130.0, radius);
    let mut path = PathText::new();
    path.move_to(start).arc_to(radius, true, clockwise, end);
    let ahead = turn * (130.0 + 80.0);
    path.polyline(&[along(end, ahead + 150.0, radius * 0.75), end, along(end, ahead - 150.0, radius * 0.75)]);
    path.text()
}

/// Strokes across a line at equal distances, so that it reads as barred without its colour.
pub fn bars(line: &[Point], spacing: f64, half_length: f64) -> String {
    let mut path = PathText::new();
    for [centre, along_line] in walk(line, spacing, spacing / 2.0) {
        let across = [-along_line[1] * half_length, along_line[0] * half_length];
        path.move_to([centre[0] + across[0], centre[1] + across[1]]);
        path.line_to([centre[0] - across[0], centre[1] - across[1]]);
    }
    path.text()
}

/// Small open arrow heads along a line, pointing the way it runs.
pub fn chevrons(line: &[Point], spacing: f64, size: f64) -> String {
    let mut path = PathText::new();
    for [tip, [x, y]] in walk(line, spacing, spacing / 2.0) {
        let back = [tip[0] - x * size, tip[1] - y * size];
        let side = [-y * size * 0.7, x * size * 0.7];
        path.polyline(&[[back[0] + side[0], back[1] + side[1]], tip, [back[0] - side[0], back[1] - side[1]]]);
    }
    path.text()
}

/// Points at equal distances along a line, each with the unit vector of the line there. A spacing that is no positive
/// number gives none.
pub fn walk(line: &[Point], spacing: f64, first: f64) -> Vec<[Point; 2]> {
    let mut places = Vec::new();
    if spacing.is_nan() || spacing <= 0.0 {
        return places;
    }
    let mut wait = first;
    for pair in line.windows(2) {
        let [from, to] = [pair[0], pair[1]];
        let length = libm::hypot(to[0] - from[0], to[1] - from[1]);
        if !(length > 0.0 && length.is_finite()) {
            continue;
        }
        let unit = [(to[0] - from[0]) / length, (to[1] - from[1]) / length];
        while wait <= length {
            places.push([[from[0] + unit[0] * wait, from[1] + unit[1] * wait], unit]);
            wait += spacing;
        }
        wait -= length;
    }
    places
}

/// A line moved sideways, to the right of the way it runs for a positive distance: the bracket beside a stretch.
pub fn beside(line: &[Point], distance: f64) -> Vec<Point> {
    (0..line.len())
        .map(|index| {
            let from = line[index.saturating_sub(1)];
            let to = line[(index + 1).min(line.len() - 1)];
            let length = libm::hypot(to[0] - from[0], to[1] - from[1]);
            if length > 0.0 {
                let right = [-(to[1] - from[1]) / length, (to[0] - from[0]) / length];
                [line[index][0] + right[0] * distance, line[index][1] + right[1] * distance]
            } else {
                line[index]
            }
        })
        .collect()
}

/// The half-power beam of an antenna as a sector: two edges and the arc between them. A beam all round, or an unknown
/// one, is a circle.
pub fn beam(centre: Point, heading_deg: f64, beamwidth_deg: Option<f64>, radius: f64) -> String {
    let mut path = PathText::new();
    match beamwidth_deg {
        Some(width) if width > 0.0 && width < 360.0 => {
            let [from, to] = [-0.5, 0.5].map(|half| along(centre, heading_deg + half * width, radius));
            path.move_to(centre).line_to(from).arc_to(radius, width > 180.0, true, to).close();
        }
        _ => {
            let [up, down] = [0.0, 180.0].map(|turn| along(centre, turn, radius));
            path.move_to(up).arc_to(radius, true, true, down).arc_to(radius, true, true, up).close();
        }
    }
    path.text()
}

/// A seat: a chair from above, its open side the way it faces.
pub fn seat(centre: Point, facing_deg: f64, size: f64) -> String {
    let corner = |turn: f64, far: f64| along(centre, facing_deg + turn, size * far);
    let mut path = PathText::new();
    path.polyline(&[corner(-40.0, 1.0), corner(-140.0, 1.0), corner(140.0, 1.0), corner(40.0, 1.0)]);
    path.text()
}

/// The letter of a warning by its position; after the alphabet there is none.
pub fn letter(index: usize) -> String {
    let letter = u8::try_from(index).ok().filter(|index| *index < 26).map(|index| char::from(b'A' + index));
    letter.map_or_else(|| "+".to_owned(), String::from)
}

/// An aircraft from above: four arms with a rotor disc each, the nose along its heading.
pub fn aircraft(centre: Point, heading_deg: f64, size: f64) -> String {
    let mut path = PathText::new();
    for arm in [45.0, 135.0, 225.0, 315.0] {
        let rotor = along(centre, heading_deg + arm, size);
        path.polyline(&[centre, rotor]);
        let [near, far] = [0.0, 180.0].map(|turn| along(rotor, turn, size * 0.45));
        path.move_to(near).arc_to(size * 0.45, true, true, far).arc_to(size * 0.45, true, true, near).close();
    }
    path.polyline(&[centre, along(centre, heading_deg, size)]);
    path.text()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bars_keep_their_distance_round_a_corner() {
        let line = [[0.0, 0.0], [10.0, 0.0], [10.0, 10.0]];
        let places = walk(&line, 4.0, 2.0);
        let centres: Vec<_> = places.iter().map(|place| place[0]).collect();
        assert_eq!(centres, [[2.0, 0.0], [6.0, 0.0], [10.0, 0.0], [10.0, 4.0], [10.0, 8.0]]);
        assert_eq!(bars(&line[..2], 10.0, 2.0), "M5 2L5 -2");
    }

    #[test]
    fn nothing_is_walked_without_a_line_or_a_spacing() {
        assert!(walk(&[[0.0, 0.0]], 1.0, 0.0).is_empty());
        assert!(walk(&[[0.0, 0.0], [0.0, 0.0]], 1.0, 0.0).is_empty());
        assert!(walk(&[[0.0, 0.0], [1.0, 0.0]], f64::NAN, 0.0).is_empty());
        assert!(walk(&[[0.0, 0.0], [1.0, 0.0]], 0.0, 0.0).is_empty());
    }

    #[test]
    fn a_beam_is_a_sector_and_an_omni_a_circle() {
        // 90 degrees wide, looking north from the origin: edges to the north-west and north-east.
        assert_eq!(beam([0.0, 0.0], 0.0, Some(90.0), 10.0), "M0 0L-7.1 -7.1A10 10 0 0 1 7.1 -7.1Z");
        assert!(beam([0.0, 0.0], 0.0, None, 10.0).starts_with("M0 -10A10 10"));
    }

    #[test]
    fn hands_curl_opposite_ways_and_are_mirror_images() {
        let [right, left] = [true, false].map(|clockwise| curl([0.0, 0.0], 10.0, clockwise));
        assert!(right.contains(" 0 1 1 ") && left.contains(" 0 1 0 "), "{right} {left}");
        assert_ne!(right, left);
    }

    #[test]
    fn every_warning_has_a_letter_as_long_as_there_are_some() {
        assert_eq!([0, 1, 25, 26, 400].map(letter), ["A", "B", "Z", "+", "+"]);
    }

    #[test]
    fn beside_a_line_means_to_its_right() {
        // Running east on the screen, the right side is down.
        assert_eq!(beside(&[[0.0, 0.0], [10.0, 0.0]], 3.0), [[0.0, 3.0], [10.0, 3.0]]);
        assert!(beside(&[], 3.0).is_empty());
    }
}
