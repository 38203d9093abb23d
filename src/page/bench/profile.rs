//! The link from the side: ends, line, first Fresnel zone and what stands in it, heights drawn larger than lengths.

use crate::drawing::path_text::{PathText, Point};
use crate::drawing::ruler::Scale;
use crate::link::pair::{PairLink, PairObstacle, PairObstacleKind};
use crate::rf::diffraction::fresnel_radius;
use crate::rf::free_space::wavelength;
use crate::units::{Hertz, Metres};

/// Height of the drawing, in pixels.
pub const HEIGHT: f64 = 170.0;
const SIDE: f64 = 34.0;
const TOP: f64 = 18.0;
/// Where the ground lies.
pub const GROUND: f64 = HEIGHT - 30.0;
/// Steps of the outline of the Fresnel zone.
const STEPS: usize = 40;

/// The parts of the drawing, in its pixels.
#[derive(Clone, Debug, PartialEq)]
pub struct Profile {
    /// The transmitting antenna.
    pub transmitter: Point,
    /// The receiving antenna.
    pub receiver: Point,
    /// Outline of the first Fresnel zone.
    pub zone: String,
    /// The obstacle: left, top, width, height.
    pub obstacle: Option<[f64; 4]>,
    /// How many times larger heights are drawn than lengths.
    pub raised: f64,
}

/// Lays a link out in a drawing of this width.
pub fn profile(link: &PairLink, width: f64) -> Profile {
    let highest = [link.transmitter.height_m, link.receiver.height_m]
        .into_iter()
        .chain(link.obstacle.as_ref().map(|obstacle| obstacle.height_m))
        .fold(0.5, f64::max);
    let along = Scale { least: 0.0, most: link.distance_m, at_least: SIDE, at_most: (width - SIDE).max(SIDE + 1.0) };
    let up = Scale { least: 0.0, most: highest * 1.15, at_least: GROUND, at_most: TOP };
    let place = |at: f64, height: f64| [along.place(at), up.place(height)];
    let (sent, received) = (link.transmitter.height_m, link.receiver.height_m);
    let wave = wavelength(Hertz(link.frequency_hz));
    let edge = |step: usize, sign: f64| {
        let at = link.distance_m * step as f64 / STEPS as f64;
        let radius = fresnel_radius(1, Metres(at), Metres(link.distance_m - at), wave).0;
        let line = sent + (received - sent) * at / link.distance_m;
        place(at, (line + sign * radius).max(0.0))
    };
    let upper = (0..=STEPS).map(|step| edge(step, 1.0));
    let lower = (0..=STEPS).rev().map(|step| edge(step, -1.0));
    let outline: Vec<Point> = upper.chain(lower).collect();
    let per_metre = |scale: &Scale| (scale.at_most - scale.at_least).abs() / (scale.most - scale.least);
    Profile {
        transmitter: place(0.0, sent),
        receiver: place(link.distance_m, received),
        zone: PathText::new().polygon(&outline).text(),
        obstacle: link.obstacle.as_ref().and_then(|obstacle| shape(obstacle, &along, &up)),
        raised: per_metre(&up) / per_metre(&along),
    }
}

fn shape(obstacle: &PairObstacle, along: &Scale, up: &Scale) -> Option<[f64; 4]> {
    let deep = match obstacle.kind {
        PairObstacleKind::Wall => obstacle.thickness_m,
        PairObstacleKind::Block => obstacle.depth_m,
        PairObstacleKind::Tree => obstacle.width_m,
    };
    let base = if obstacle.kind == PairObstacleKind::Tree { obstacle.base_m } else { 0.0 };
    let (left, right) =
        (along.place_within(obstacle.distance_m - deep / 2.0), along.place_within(obstacle.distance_m + deep / 2.0));
    // Beyond an end there is nothing to draw.
    let is_between = obstacle.distance_m + deep / 2.0 > along.least && obstacle.distance_m - deep / 2.0 < along.most;
    let (top, bottom) = (up.place(obstacle.height_m), up.place(base));
    is_between.then(|| [left, top, (right - left).max(3.0), (bottom - top).max(1.0)])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_profile_stands_within_its_drawing() {
        let link = PairLink { obstacle: Some(PairObstacle::default()), ..PairLink::default() };
        let drawn = profile(&link, 600.0);
        assert_eq!((drawn.transmitter[0], drawn.receiver[0]), (34.0, 566.0));
        assert!(drawn.transmitter[1] < drawn.receiver[1], "3 m is drawn above 1.5 m");
        let [left, top, width, height] = drawn.obstacle.unwrap();
        assert!((left - 298.0).abs() < 4.0 && top > 18.0 && (top + height - GROUND).abs() < 1e-9 && width >= 3.0);
        assert!(drawn.raised > 1.0 && drawn.zone.ends_with('Z'));
        let beyond = PairObstacle { distance_m: 60.0, ..PairObstacle::default() };
        assert_eq!(profile(&PairLink { obstacle: Some(beyond), ..link }, 600.0).obstacle, None);
    }
}
