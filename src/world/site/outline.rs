//! Outlines in plan: whether they cross themselves, what lies inside, and their convex pieces.

use super::obstacle::PlanPoint;

/// The z component of the cross product of two plan vectors.
pub(super) fn cross(first: &PlanPoint, second: &PlanPoint) -> f64 {
    first.x * second.y - first.y * second.x
}

/// Area enclosed, positive when the corners run counter-clockwise seen from above.
pub(super) fn signed_area(corners: &[PlanPoint]) -> f64 {
    let mut twice = 0.0;
    for (index, corner) in corners.iter().enumerate() {
        twice += cross(corner, &corners[(index + 1) % corners.len()]);
    }
    twice / 2.0
}

/// Whether a point lies inside an outline (even-odd rule; points on the border may count either way).
pub(super) fn contains(corners: &[PlanPoint], point: &PlanPoint) -> bool {
    let mut inside = false;
    let mut before = corners[corners.len() - 1];
    for &corner in corners {
        if (corner.y > point.y) != (before.y > point.y) {
            let share = (point.y - corner.y) / (before.y - corner.y);
            if point.x < corner.x + share * (before.x - corner.x) {
                inside = !inside;
            }
        }
        before = corner;
    }
    inside
}

/// Sign of the turn from `first` over `second` to `third`, with a dead band of rounding errors.
fn turn(first: &PlanPoint, second: &PlanPoint, third: &PlanPoint) -> i8 {
    let (one, two) = (second - first, third - first);
    let value = cross(&one, &two);
    let noise = 1e-12 * (one.norm() * two.norm() + 1e-12);
    if value > noise {
        1
    } else if value < -noise {
        -1
    } else {
        0
    }
}

/// Whether `point`, known to be in line with the segment, lies on it.
fn between(from: &PlanPoint, to: &PlanPoint, point: &PlanPoint) -> bool {
    (point - from).dot(&(point - to)) <= 0.0
}

/// Whether two closed segments share a point.
fn segments_meet(a: &PlanPoint, b: &PlanPoint, c: &PlanPoint, d: &PlanPoint) -> bool {
    let (abc, abd, cda, cdb) = (turn(a, b, c), turn(a, b, d), turn(c, d, a), turn(c, d, b));
    if abc * abd < 0 && cda * cdb < 0 {
        return true;
    }
    (abc == 0 && between(a, b, c))
        || (abd == 0 && between(a, b, d))
        || (cda == 0 && between(c, d, a))
        || (cdb == 0 && between(c, d, b))
}

/// The first two sides that meet where they should not, by the index of the corner at which each starts.
pub(super) fn first_crossing(corners: &[PlanPoint]) -> Option<(usize, usize)> {
    let count = corners.len();
    for first in 0..count {
        let (a, b) = (&corners[first], &corners[(first + 1) % count]);
        for second in first + 1..count {
            let (c, d) = (&corners[second], &corners[(second + 1) % count]);
            // Neighbours share a corner; they may not fold back onto each other.
            let meets = if second == first + 1 {
                turn(a, b, d) == 0 && (d - b).dot(&(a - b)) > 0.0
            } else if (second + 1) % count == first {
                turn(c, d, b) == 0 && (b - a).dot(&(c - a)) > 0.0
            } else {
                segments_meet(a, b, c, d)
            };
            if meets {
                return Some((first, second));
            }
        }
    }
    None
}

/// Whether every corner of a counter-clockwise outline turns left or runs straight on.
pub(super) fn is_convex(corners: &[PlanPoint]) -> bool {
    let count = corners.len();
    (0..count).all(|index| turn(&corners[index], &corners[(index + 1) % count], &corners[(index + 2) % count]) >= 0)
}

/// Convex pieces of a counter-clockwise outline: itself when it is convex, else its triangles (ear clipping).
pub(super) fn convex_pieces(corners: &[PlanPoint]) -> Vec<Vec<PlanPoint>> {
    if is_convex(corners) {
        return vec![corners.to_vec()];
    }
    let mut rest = corners.to_vec();
    let mut pieces = Vec::with_capacity(corners.len() - 2);
    while rest.len() > 3 {
        let count = rest.len();
        let ear = (0..count).find(|&index| {
            let (a, b, c) = (&rest[(index + count - 1) % count], &rest[index], &rest[(index + 1) % count]);
            turn(a, b, c) > 0
                && rest.iter().all(|point| {
                    point == a
                        || point == b
                        || point == c
                        || turn(a, b, point) < 0
                        || turn(b, c, point) < 0
                        || turn(c, a, point) < 0
                })
        });
        // Every simple outline has an ear; rounding could hide one in a sliver, and then any corner does as well.
        let ear = ear.unwrap_or(0);
        let count = rest.len();
        let (a, b, c) = (rest[(ear + count - 1) % count], rest[ear], rest[(ear + 1) % count]);
        if turn(&a, &b, &c) > 0 {
            pieces.push(vec![a, b, c]);
        }
        rest.remove(ear);
    }
    pieces.push(rest);
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points(list: &[(f64, f64)]) -> Vec<PlanPoint> {
        list.iter().map(|&(x, y)| PlanPoint::new(x, y)).collect()
    }

    #[test]
    fn the_pieces_of_an_angled_outline_are_convex_and_fill_it() {
        let hall = points(&[(0., 0.), (10., 0.), (10., 8.), (7., 8.), (7., 3.), (3., 3.), (3., 8.), (0., 8.)]);
        let pieces = convex_pieces(&hall);
        assert!(pieces.len() > 1);
        let sum: f64 = pieces.iter().map(|piece| signed_area(piece)).sum();
        assert!((sum - signed_area(&hall)).abs() < 1e-12);
        assert!(pieces.iter().all(|piece| is_convex(piece)));
        assert!(contains(&hall, &PlanPoint::new(1.0, 7.0)) && !contains(&hall, &PlanPoint::new(5.0, 7.0)));
    }

    #[test]
    fn a_convex_outline_is_its_own_piece() {
        let square = points(&[(0., 0.), (1., 0.), (1., 1.), (0., 1.)]);
        assert_eq!(convex_pieces(&square), vec![square]);
    }
}
