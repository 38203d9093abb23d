//! The sight line from a seat to a point of the lap, seen from the side: what stands in its upright plane, and how much
//! room the first Fresnel zone has.
//!
//! It shows the plane alone. What stands beside the line and reaches into the zone from there is weighed in the
//! evaluation, but not seen here.

use crate::plan::convert;
use crate::plan::document::Plan;
use crate::rf::diffraction::fresnel_radius;
use crate::rf::free_space::wavelength;
use crate::site::{Cut, PlanPoint, section};
use crate::units::{Hertz, Metres};

/// The share of the first zone's radius that has to be free for a path to count as unobstructed: ITU-R P.526-16,
/// sections 2.3 and 2.5; ITU-R P.530-19, section 2.2.2.
pub const FREE_SHARE: f64 = 0.6;
/// A clearance is not stated finer than within this many radii of the zone.
const MOST_CLEARANCE: f64 = 9.99;
/// Points of the zone's outline; with fewer it has corners on the screen.
const POINTS: usize = 49;
/// Points of an obstacle's edge at which the clearance is looked for, its ends among them.
const LOOKS: usize = 17;

/// The sight line from the side. Distances run level from the seat, heights count from the ground.
#[derive(Clone, Debug, PartialEq)]
pub struct SideView {
    /// Level distance to the aircraft.
    pub length_m: f64,
    /// Height of the line at the seat and at the aircraft.
    pub ends_m: [f64; 2],
    /// What the plane cuts, by where it begins.
    pub cuts: Vec<SideCut>,
    /// The first Fresnel zone: distance, height of the line, how far the zone reaches above and below it; from the seat to
    /// the aircraft.
    pub zone_m: Vec<[f64; 3]>,
}

/// What the plane cuts of an obstacle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SideCut {
    /// Position of the obstacle in the plan.
    pub obstacle: usize,
    /// From where to where.
    pub span_m: [f64; 2],
    /// Lower and upper edge.
    pub heights_m: [f64; 2],
    /// Least distance of the line from it in radii of the first zone there; negative where the line runs into it. Held
    /// within ten radii.
    pub clearance: f64,
}

impl SideCut {
    /// Whether it reaches into the part of the zone that should be free.
    pub fn is_near(&self) -> bool {
        self.clearance < FREE_SHARE
    }
}

/// The side view from a seat to a point of the site, `[east, north, height]` in metres, at a carrier. `None` if there is
/// no such seat, or if the point is straight above it.
pub fn side_view(plan: &Plan, seat: usize, point_m: [f64; 3], carrier: Hertz) -> Option<SideView> {
    let from = convert::seat_position(plan.seats.get(seat)?);
    let [east, north, height] = point_m;
    let to = PlanPoint::new(east, north);
    let length = (to - from.xy()).norm();
    let rise = height - from.z;
    let wavelength = wavelength(carrier);
    if !(length > 0.1 && rise.is_finite() && wavelength.0.is_finite()) {
        return None;
    }
    let slant = libm::hypot(length, rise) / length;
    let line = |along: f64| from.z + rise * along / length;
    // How far the zone reaches up and down: its radius is measured across the line, which is shorter where the line is
    // steep. At the very ends the zone is a point, and a share of it no number.
    let radius = |along: f64| {
        let along = along.clamp(length * 1e-4, length * (1.0 - 1e-4));
        slant * fresnel_radius(1, Metres(along * slant), Metres((length - along) * slant), wavelength).0
    };
    let zone_m = (0..POINTS).map(|index| {
        let along = length * index as f64 / (POINTS - 1) as f64;
        [along, line(along), if index == 0 || index == POINTS - 1 { 0.0 } else { radius(along) }]
    });
    let cuts = section(&convert::site(&plan.site), &from.xy(), &to).into_iter().map(|cut: Cut| {
        let (start, end, base, top) = (cut.start.0, cut.end.0, cut.base.0, cut.top.0);
        let looks = (0..LOOKS).map(|index| start + (end - start) * index as f64 / (LOOKS - 1) as f64);
        let clearance = looks.map(|along| gap(line(along), base, top) / radius(along)).fold(f64::INFINITY, f64::min);
        SideCut {
            obstacle: cut.obstacle,
            span_m: [start, end],
            heights_m: [base, top],
            clearance: clearance.clamp(-MOST_CLEARANCE, MOST_CLEARANCE),
        }
    });
    Some(SideView { length_m: length, ends_m: [from.z, height], cuts: cuts.collect(), zone_m: zone_m.collect() })
}

/// How far a height is outside what reaches from base to top; negative inside, as far as to the nearer free edge. What
/// stands on the ground has no free lower edge.
fn gap(height: f64, base: f64, top: f64) -> f64 {
    let above = height - top;
    if base <= 0.0 { above } else { above.max(base - height) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::document::{CanopyShape, Obstacle, ObstacleShape, WallShape};
    use crate::plan::fresh::{self, NewSite};
    use crate::rf::fading::Surroundings;
    use crate::rf::material::Material;

    const CARRIER: Hertz = Hertz(5.8e9);

    /// A seat at (5, 5), 1.5 m high, on an open field, and what stands there.
    fn plan(shapes: Vec<ObstacleShape>) -> Plan {
        let (surroundings, ground) = (Surroundings::OpenField, Material::MediumDryGround);
        let site = NewSite { name: "Field".into(), width_m: 60.0, depth_m: 40.0, surroundings, ground };
        let mut plan = fresh::plan(&site).unwrap();
        let seat = &mut plan.seats[0];
        (seat.x_m, seat.y_m, seat.height_m) = (5.0, 5.0, 1.5);
        let obstacle = |(index, shape)| Obstacle { id: format!("o{index}"), name: format!("O{index}"), shape };
        plan.site.obstacles = shapes.into_iter().enumerate().map(obstacle).collect();
        plan
    }

    fn wall(east: f64, height_m: f64) -> ObstacleShape {
        ObstacleShape::Wall(WallShape {
            from_m: [east, 0.0],
            to_m: [east, 10.0],
            height_m,
            thickness_m: 0.02,
            material: Material::Wood,
        })
    }

    #[track_caller]
    fn near(got: f64, expected: f64, within: f64) {
        assert!((got - expected).abs() <= within, "{got} is not {expected}");
    }

    #[test]
    fn the_zone_has_the_published_radius_and_closes_at_the_ends() {
        // ITU-R P.526-16, eq. (2): 550 sqrt(d1 d2 / ((d1 + d2) f)) metres, d in km and f in MHz.
        let view = side_view(&plan(Vec::new()), 0, [25.0, 5.0, 1.5], CARRIER).unwrap();
        let [along, line, radius] = view.zone_m[POINTS / 2];
        let published = 550.0 * (0.01_f64 * 0.01 / (0.02 * 5800.0)).sqrt();
        // Its constant has two figures, so at best one part in a hundred and ten.
        near(radius, published, 0.009 * published);
        // In the middle the radius is half the mean of wavelength and length.
        near(radius, 0.5 * (299_792_458.0 / CARRIER.0 * 20.0_f64).sqrt(), 1e-9);
        assert_eq!((along, line), (10.0, 1.5));
        assert_eq!((view.zone_m[0], view.zone_m[POINTS - 1]), ([0.0, 1.5, 0.0], [20.0, 1.5, 0.0]));
        assert_eq!((view.length_m, view.ends_m, view.cuts.len()), (20.0, [1.5, 1.5], 0));
    }

    #[test]
    fn clearance_counts_in_radii_of_the_zone() {
        // 0.5 m under the line, in the middle of 20 m, where the radius is 0.508 m.
        let view = side_view(&plan(vec![wall(15.0, 1.0), wall(10.0, 2.0)]), 0, [25.0, 5.0, 1.5], CARRIER).unwrap();
        let [tall, low] = view.cuts[..] else { panic!("two walls are cut: {view:?}") };
        near(low.clearance, 0.5 / 0.5084, 0.002);
        assert!(!low.is_near());
        // 0.5 m into the line at a quarter of the way: the radius is smaller by the root of three quarters.
        near(tall.clearance, -0.5 / (0.5084 * 0.75_f64.sqrt()), 0.002);
        assert!(tall.is_near() && tall.obstacle == 1);
        near(tall.span_m[0], 4.99, 1e-9);
    }

    #[test]
    fn a_steep_line_is_nearer_to_an_edge_under_it_than_the_height_says() {
        // 20 m away and 20 m up; an edge half a metre under the middle of the line (and a centimetre before it, half the
        // wall's thickness) is 0.49/√2 m from it, and the radius there is ½ √(λ 20√2).
        let wall = wall(15.0, 11.0);
        let view = side_view(&plan(vec![wall]), 0, [25.0, 5.0, 21.5], CARRIER).unwrap();
        let radius = 0.5 * (299_792_458.0 / CARRIER.0 * 20.0 * 2.0_f64.sqrt()).sqrt();
        near(view.cuts[0].clearance, 0.49 / 2.0_f64.sqrt() / radius, 1e-3);
        near(view.zone_m[POINTS / 2][2], radius * 2.0_f64.sqrt(), 1e-9);
    }

    #[test]
    fn a_rising_line_passes_the_far_edge_of_a_roof_higher() {
        let canopy = |base_m, height_m| {
            let (centre_m, size_m) = ([15.0, 5.0], [4.0, 4.0]);
            ObstacleShape::Canopy(CanopyShape { centre_m, size_m, turn_deg: 0.0, base_m, height_m })
        };
        // The line rises from 1.5 to 5.5 m over 20 m: under the roof it is at 3.1 to 3.9 m.
        let view = |shape| side_view(&plan(vec![shape]), 0, [25.0, 5.0, 5.5], CARRIER).unwrap().cuts[0];
        assert!(view(canopy(2.0, 2.5)).clearance > 1.0);
        assert!(view(canopy(5.0, 6.0)).clearance > 1.0);
        // It runs right into the middle of this one.
        let inside = view(canopy(3.3, 3.7));
        assert!(inside.clearance < 0.0 && inside.clearance > -0.5, "{inside:?}");
        assert_eq!(inside.heights_m, [3.3, 3.7]);
        assert_eq!(inside.span_m, [8.0, 12.0]);
    }

    #[test]
    fn a_line_without_length_and_a_seat_that_is_not_there_have_no_side() {
        assert_eq!(side_view(&plan(Vec::new()), 0, [5.0, 5.0, 9.0], CARRIER), None);
        assert_eq!(side_view(&plan(Vec::new()), 1, [25.0, 5.0, 1.5], CARRIER), None);
        assert_eq!(side_view(&plan(Vec::new()), 0, [25.0, 5.0, f64::NAN], CARRIER), None);
        assert_eq!(side_view(&plan(Vec::new()), 0, [25.0, 5.0, 1.5], Hertz(0.0)), None);
        // Under a roof the seat itself stands inside what is cut; the share stays a number.
        let view = side_view(&plan(vec![wall(5.0, 3.0)]), 0, [25.0, 5.0, 1.5], CARRIER).unwrap();
        assert_eq!(view.cuts[0].clearance, -MOST_CLEARANCE);
    }
}
