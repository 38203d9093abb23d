//! A free place for one more chair: beside the last one, in the open, and off the flown line.

use super::convert;
use super::document::{ObstacleShape, Plan, Seat};
use super::shape::hundredths;
use crate::units::Metres;

/// How far a chair keeps from the flown line and from the start pad if it can, in plan, in metres. An aircraft that leaves
/// the line by so little is at the pilots before anybody moves: it is no safety distance, which local rules set. Common
/// practice, no source.
const OFF_THE_LINE_M: f64 = 2.0;
/// The same on a site without such a place.
const HARDLY_OFF_THE_LINE_M: f64 = 0.6;
/// Chairs stand no closer, in metres: shoulder to shoulder (common practice, no source).
const ELBOW_ROOM_M: f64 = 0.6;
/// How far a chair keeps from walls, people and trunks, in metres.
const OFF_OBSTACLES_M: f64 = 0.4;
/// How far a chair keeps from the border of the site, in metres.
const OFF_THE_BORDER_M: f64 = 0.2;
/// Chairs of a new row stand so far apart, in metres.
pub const ROW_M: f64 = 1.5;
/// The flown line is looked at so often, in metres.
const LINE_STEP_M: f64 = 0.5;

/// The nearest free place to the last seat, in its row before a row behind; `None` on a site that has none.
///
/// It is on the same side of walls as the last seat if there is such a place: a barrier is there to keep people and aircraft
/// apart. It is on the site, outside every obstacle but canopies and crowns, which one sits under, not on another seat, and off
/// the flown line and the pad. Without seats the row begins in the middle of the south side.
pub fn free_place(plan: &Plan) -> Option<[f64; 2]> {
    let sides = [plan.site.width_m, plan.site.depth_m];
    let (from, facing_deg) = plan
        .seats
        .last()
        .map_or(([sides[0] / 2.0, sides[1] * 0.06], 0.0), |last| ([last.x_m, last.y_m], last.facing_deg));
    let line = flown(plan);
    let row = beside(from, facing_deg, spacing(&plan.seats));
    let ways = [(OFF_THE_LINE_M, true), (OFF_THE_LINE_M, false), (HARDLY_OFF_THE_LINE_M, false)];
    ways.into_iter().find_map(|(off_m, on_this_side)| {
        let is_free = |place: &[f64; 2]| {
            is_free(plan, &line, *place, off_m) && !(on_this_side && is_walled_off(plan, from, *place))
        };
        row.iter().copied().find(is_free).or_else(|| nearest_of_all(from, sides, is_free))
    })
}

/// Whether nothing stands or flies at a place.
fn is_free(plan: &Plan, line: &[[f64; 2]], place: [f64; 2], off_m: f64) -> bool {
    let apart = |other: [f64; 2]| libm::hypot(place[0] - other[0], place[1] - other[1]);
    let sides = [plan.site.width_m, plan.site.depth_m];
    let is_on_site = (0..2).all(|axis| (OFF_THE_BORDER_M..=sides[axis] - OFF_THE_BORDER_M).contains(&place[axis]));
    is_on_site
        && plan.seats.iter().all(|seat| apart([seat.x_m, seat.y_m]) >= ELBOW_ROOM_M)
        && plan.site.obstacles.iter().all(|obstacle| match &obstacle.shape {
            ObstacleShape::Canopy(_) => true,
            ObstacleShape::Tree(tree) => apart(tree.centre_m) >= OFF_OBSTACLES_M,
            shape => !shape.is_near(place, OFF_OBSTACLES_M),
        })
        && apart([plan.course.pad.x_m, plan.course.pad.y_m]) >= off_m
        && line.iter().all(|point| apart(*point) >= off_m)
}

/// Whether a wall, a building or a stall stands between two places.
fn is_walled_off(plan: &Plan, from: [f64; 2], to: [f64; 2]) -> bool {
    let is_wall = |shape: &ObstacleShape| {
        matches!(shape, ObstacleShape::Wall(_) | ObstacleShape::Building(_) | ObstacleShape::Stall(_))
    };
    let walls = || plan.site.obstacles.iter().map(|obstacle| &obstacle.shape).filter(|shape| is_wall(shape));
    // Steps shorter than the band about the thinnest wall.
    let steps = (libm::hypot(to[0] - from[0], to[1] - from[1]) / 0.15) as usize + 1;
    (1..steps).any(|step| {
        let share = step as f64 / steps as f64;
        let point = [0, 1].map(|axis| from[axis] + (to[axis] - from[axis]) * share);
        walls().any(|shape| shape.is_near(point, 0.1))
    })
}

/// How far apart the last two seats are, if they are neighbours in a row; else as in a new row.
fn spacing(seats: &[Seat]) -> f64 {
    let last = seats.len().checked_sub(2).and_then(|first| seats.get(first..));
    let apart = last.map_or(0.0, |pair| libm::hypot(pair[1].x_m - pair[0].x_m, pair[1].y_m - pair[0].y_m));
    if (ELBOW_ROOM_M..=2.0 * ROW_M).contains(&apart) { apart } else { ROW_M }
}

/// Places in the row of a seat, to its right and left in turn, and in rows behind it.
fn beside(from: [f64; 2], facing_deg: f64, apart: f64) -> Vec<[f64; 2]> {
    let (sine, cosine) = libm::sincos(facing_deg.to_radians());
    let mut places = Vec::new();
    for row in 0..4 {
        for step in 0..24 {
            for side in [1.0, -1.0] {
                // Clockwise from north: forward is (sine, cosine), to the right is (cosine, -sine).
                let (right, back) = (side * f64::from(step) * apart, f64::from(row) * ROW_M);
                let place = [right * cosine - back * sine, -right * sine - back * cosine];
                places.push([0, 1].map(|axis| hundredths(from[axis] + place[axis])));
            }
        }
    }
    places
}

/// The nearest free place of a grid over the whole site.
fn nearest_of_all(from: [f64; 2], sides: [f64; 2], is_free: impl Fn(&[f64; 2]) -> bool) -> Option<[f64; 2]> {
    const STEPS: u32 = 32;
    let along = |axis: usize, step: u32| hundredths(sides[axis] * (f64::from(step) + 0.5) / f64::from(STEPS));
    let mut best = None;
    let mut least = f64::INFINITY;
    for spot in 0..STEPS * STEPS {
        let place = [along(0, spot % STEPS), along(1, spot / STEPS)];
        let apart = libm::hypot(place[0] - from[0], place[1] - from[1]);
        if apart < least && is_free(&place) {
            (best, least) = (Some(place), apart);
        }
    }
    best
}

/// Points of the flown line in plan; the ways between the gates where the line folds.
fn flown(plan: &Plan) -> Vec<[f64; 2]> {
    if let Ok(line) = convert::flight_line(&plan.course) {
        // No longer than a lap may be: ten thousand points.
        let steps = (line.length().0 / LINE_STEP_M) as usize + 1;
        let points = (0..steps).map(|step| line.at(Metres(step as f64 * LINE_STEP_M)).position);
        return points.map(|point| [point.x, point.y]).collect();
    }
    let gates = &plan.course.gates;
    let ways = gates.iter().zip(gates.iter().cycle().skip(1));
    ways.flat_map(|(from, to)| {
        let steps = (libm::hypot(to.x_m - from.x_m, to.y_m - from.y_m) / LINE_STEP_M) as usize + 1;
        (0..steps).map(move |step| {
            let share = step as f64 / steps as f64;
            [from.x_m + (to.x_m - from.x_m) * share, from.y_m + (to.y_m - from.y_m) * share]
        })
    })
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::demo::demo;

    #[test]
    fn the_next_chair_of_a_row_stands_at_its_end() {
        let mut plan = demo();
        plan.site.obstacles.clear();
        plan.seats.truncate(2);
        for (index, seat) in plan.seats.iter_mut().enumerate() {
            (seat.x_m, seat.y_m, seat.facing_deg) = (4.0 + 1.2 * index as f64, 1.0, 0.0);
        }
        assert_eq!(free_place(&plan), Some([6.4, 1.0]));
        // Looking south, the right hand is to the west; there the first one sits, and its other side comes after it.
        plan.seats[1].facing_deg = 180.0;
        assert_eq!(free_place(&plan), Some([6.4, 1.0]));
    }

    #[test]
    fn a_chair_stays_on_its_side_of_a_barrier() {
        // The demo's last seat stands between the border and the barrier, which runs from west to east at 2.8 m.
        let plan = demo();
        let place = free_place(&plan).unwrap();
        assert!(place[1] < 2.8, "{place:?}");
        assert!(!is_walled_off(&plan, [21.0, 0.4], place) && is_walled_off(&plan, [21.0, 0.4], [21.0, 4.0]));
    }

    #[test]
    fn a_full_site_has_no_place() {
        let mut plan = demo();
        let crowd = plan.site.obstacles.iter_mut().find_map(|obstacle| match &mut obstacle.shape {
            ObstacleShape::Crowd(crowd) => Some(crowd),
            _ => None,
        });
        let crowd = crowd.expect("the demo has a crowd");
        (crowd.centre_m, crowd.size_m) = ([22.0, 14.0], [60.0, 40.0]);
        assert_eq!(free_place(&plan), None);
    }
}
