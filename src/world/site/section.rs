//! An upright cut through the site along a line: what stands in the plane, from where to where, and how high.

use super::obstacle::{Layer, Obstacle, Panel, PlanPoint, Site, Wall};
use super::outline::cross;
use crate::rf::Vec3;
use crate::rf::material::Material;
use crate::units::Metres;

/// How thick a barrier is drawn, metres: about its rails.
const BAR: f64 = 0.04;

/// What the plane cuts of one obstacle. An outline with inner corners may be cut in several pieces.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cut {
    /// Index of the obstacle in [`Site::obstacles`].
    pub obstacle: usize,
    /// Level distance from the near end of the line to where the cut begins, at least zero.
    pub start: Metres,
    /// The same to where it ends, at most the length of the line.
    pub end: Metres,
    /// Lower edge above ground.
    pub base: Metres,
    /// Upper edge above ground.
    pub top: Metres,
}

/// Everything that the upright plane over a line cuts between its two ends, by where it begins. Empty where the ends are
/// one point. A wall along the line is not cut: the line runs beside it or in it, which no section shows.
pub fn section(site: &Site, from: &PlanPoint, to: &PlanPoint) -> Vec<Cut> {
    let length = (to - from).norm();
    let mut cuts = Vec::new();
    if length <= 0.0 {
        return cuts;
    }
    let line = Line { from: *from, way: (to - from) / length };
    for (index, obstacle) in site.obstacles.iter().enumerate() {
        let mut keep = |spans: &[(f64, f64)], base: Metres, top: Metres| {
            let within = spans.iter().map(|(start, end)| (start.max(0.0), end.min(length)));
            cuts.extend(within.filter(|(start, end)| start <= end).map(|(start, end)| Cut {
                obstacle: index,
                start: Metres(start),
                end: Metres(end),
                base,
                top,
            }));
        };
        match obstacle {
            Obstacle::Wall(wall) => {
                keep(&line.through_wall(wall).map_or(Vec::new(), |span| vec![span]), wall.base, wall.top)
            }
            Obstacle::Panel(panel) => {
                if let Some((span, [base, top])) = line.through_panel(panel) {
                    keep(&[span], Metres(base), Metres(top));
                }
            }
            Obstacle::Building(building) | Obstacle::Stall(building) => {
                keep(&line.through(&building.footprint), Metres(0.0), building.height);
            }
            Obstacle::Canopy(canopy) => keep(&line.through(&canopy.footprint), canopy.base, canopy.top),
            Obstacle::Crowd(crowd) => keep(&line.through(&crowd.footprint), Metres(0.0), crowd.head_height),
            Obstacle::Barrier(barrier) => {
                let layer = Layer { material: Material::Metal, thickness: Metres(BAR) };
                let wall = Wall { from: barrier.from, to: barrier.to, base: Metres(0.0), top: barrier.top, layer };
                keep(&line.through_wall(&wall).map_or(Vec::new(), |span| vec![span]), Metres(0.0), barrier.top);
            }
            // Too thin to be seen in a section.
            Obstacle::Frame(_) => {}
            Obstacle::Tree(tree) => {
                let centre = tree.centre - line.from;
                let (along, aside) = (line.way.dot(&centre), cross(&line.way, &centre));
                let half = tree.radius.0 * tree.radius.0 - aside * aside;
                if half > 0.0 {
                    keep(&[(along - half.sqrt(), along + half.sqrt())], tree.base, tree.top);
                }
            }
        }
    }
    cuts.sort_by(|one, other| one.start.0.total_cmp(&other.start.0));
    cuts
}

/// A line in plan without ends.
struct Line {
    from: PlanPoint,
    /// A unit vector.
    way: PlanPoint,
}

impl Line {
    /// How far along the line it meets the segment between two points, and the sine of the angle between the two.
    fn meets(&self, a: &PlanPoint, b: &PlanPoint) -> Option<(f64, f64)> {
        let (left_a, left_b) = (cross(&self.way, &(a - self.from)), cross(&self.way, &(b - self.from)));
        // A corner on the line belongs to one of its two sides.
        if (left_a > 0.0) == (left_b > 0.0) {
            return None;
        }
        let share = left_a / (left_a - left_b);
        let sine = (left_b - left_a).abs() / (b - a).norm();
        Some((self.way.dot(&(a + (b - a) * share - self.from)), sine))
    }

    /// From where to where the line runs inside an outline.
    fn through(&self, corners: &[PlanPoint]) -> Vec<(f64, f64)> {
        let sides = (0..corners.len()).map(|index| (&corners[index], &corners[(index + 1) % corners.len()]));
        let mut places: Vec<f64> = sides.filter_map(|(a, b)| self.meets(a, b)).map(|(along, _)| along).collect();
        places.sort_by(f64::total_cmp);
        places.chunks_exact(2).map(|pair| (pair[0], pair[1])).collect()
    }

    /// The line's way through a wall's thickness, held to the wall's own length where it grazes.
    fn through_wall(&self, wall: &Wall) -> Option<(f64, f64)> {
        let (along, sine) = self.meets(&wall.from, &wall.to)?;
        let half = (wall.layer.thickness.0 / sine).min((wall.to - wall.from).norm()) / 2.0;
        Some((along - half, along + half))
    }

    /// The stretch and the heights of a panel in the upright plane.
    fn through_panel(&self, panel: &Panel) -> Option<((f64, f64), [f64; 2])> {
        let corners = [
            panel.corner,
            panel.corner + panel.side,
            panel.corner + panel.side + panel.other_side,
            panel.corner + panel.other_side,
        ];
        let aside = |point: &Vec3| cross(&self.way, &(point.xy() - self.from));
        let mut ends = Vec::new();
        for (index, a) in corners.iter().enumerate() {
            let b = &corners[(index + 1) % 4];
            let (left_a, left_b) = (aside(a), aside(b));
            if (left_a > 0.0) != (left_b > 0.0) {
                ends.push(a + (b - a) * (left_a / (left_a - left_b)));
            }
        }
        let [one, other] = ends[..] else { return None };
        let along = |point: &Vec3| self.way.dot(&(point.xy() - self.from));
        let (first, second) = (along(&one), along(&other));
        Some(((first.min(second), first.max(second)), [one.z.min(other.z), one.z.max(other.z)]))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::site::{Building, Canopy, Crowd, FABRIC_DRY, Ground, Layer, Tree};
    use crate::units::Db;

    fn site(obstacles: Vec<Obstacle>) -> Site {
        Site { ground: Ground { material: Material::Concrete, roughness: Metres(0.0) }, obstacles }
    }

    fn layer(thickness: f64) -> Layer {
        Layer { material: Material::Wood, thickness: Metres(thickness) }
    }

    /// A rectangle with its sides along the axes.
    fn rectangle(west: f64, south: f64, east: f64, north: f64) -> Vec<PlanPoint> {
        [(west, south), (east, south), (east, north), (west, north)].map(|(x, y)| PlanPoint::new(x, y)).to_vec()
    }

    /// What a line from (0, 0) to (20, 0) cuts of one obstacle: start, end, base, top.
    #[track_caller]
    fn cut(obstacle: Obstacle, expected: &[[f64; 4]]) {
        obstacle.check().expect("a possible obstacle");
        let cuts = section(&site(vec![obstacle]), &PlanPoint::new(0.0, 0.0), &PlanPoint::new(20.0, 0.0));
        assert_eq!(cuts.len(), expected.len(), "{cuts:?}");
        for (cut, expected) in cuts.iter().zip(expected) {
            let got = [cut.start.0, cut.end.0, cut.base.0, cut.top.0];
            assert!(
                got.iter().zip(expected).all(|(got, expected)| (got - expected).abs() < 1e-9),
                "{cut:?} {expected:?}"
            );
        }
    }

    fn wall(from: [f64; 2], to: [f64; 2]) -> Obstacle {
        let [from, to] = [from, to].map(PlanPoint::from);
        Obstacle::Wall(Wall { from, to, base: Metres(0.5), top: Metres(2.0), layer: layer(0.2) })
    }

    #[test]
    fn a_wall_is_cut_through_its_thickness() {
        cut(wall([5.0, -3.0], [5.0, 3.0]), &[[4.9, 5.1, 0.5, 2.0]]);
        // At 45 degrees it is longer by the root of two.
        let half = 0.1 * 2.0_f64.sqrt();
        cut(wall([4.0, -1.0], [6.0, 1.0]), &[[5.0 - half, 5.0 + half, 0.5, 2.0]]);
        cut(wall([5.0, 0.5], [5.0, 3.0]), &[]);
        cut(wall([25.0, -3.0], [25.0, 3.0]), &[]);
        cut(wall([5.0, 0.0], [9.0, 0.0]), &[]);
    }

    #[test]
    fn a_footprint_is_cut_from_side_to_side_and_only_between_the_ends() {
        let building = |footprint| Obstacle::Building(Building { footprint, height: Metres(6.0), layer: layer(0.2) });
        cut(building(rectangle(3.0, -1.0, 7.0, 2.0)), &[[3.0, 7.0, 0.0, 6.0]]);
        cut(building(rectangle(-3.0, -1.0, 7.0, 2.0)), &[[0.0, 7.0, 0.0, 6.0]]);
        cut(building(rectangle(18.0, -1.0, 27.0, 2.0)), &[[18.0, 20.0, 0.0, 6.0]]);
        cut(building(rectangle(3.0, 0.1, 7.0, 2.0)), &[]);
        // A U is cut twice.
        let outline =
            [(3.0, -1.0), (9.0, -1.0), (9.0, 2.0), (7.0, 2.0), (7.0, -0.5), (5.0, -0.5), (5.0, 2.0), (3.0, 2.0)];
        let outline = outline.map(|(x, y)| PlanPoint::new(x, y)).to_vec();
        cut(building(outline), &[[3.0, 5.0, 0.0, 6.0], [7.0, 9.0, 0.0, 6.0]]);
    }

    #[test]
    fn roofs_crowns_and_crowds_have_their_own_heights() {
        let footprint = rectangle(1.0, -2.0, 4.0, 1.0);
        let (base, top) = (Metres(2.1), Metres(3.0));
        cut(
            Obstacle::Canopy(Canopy { footprint: footprint.clone(), base, top, loss: FABRIC_DRY }),
            &[[1.0, 4.0, 2.1, 3.0]],
        );
        cut(Obstacle::Crowd(Crowd { footprint, density: 1.0, head_height: Metres(1.7) }), &[[1.0, 4.0, 0.0, 1.7]]);
        let tree = |north| {
            let centre = PlanPoint::new(10.0, north);
            let (loss_per_metre, most_loss) = (Db(1.2), Db(20.0));
            Obstacle::Tree(Tree { centre, radius: Metres(2.5), base, top: Metres(7.0), loss_per_metre, most_loss })
        };
        // Three, four, five: a chord 1.5 m from the centre of a circle of 2.5 m is 4 m long.
        cut(tree(1.5), &[[8.0, 12.0, 2.1, 7.0]]);
        cut(tree(2.6), &[]);
    }

    #[test]
    fn a_leaning_panel_is_cut_along_its_slope() {
        let panel = Panel {
            corner: Vec3::new(5.0, -1.0, 1.0),
            side: Vec3::new(0.0, 2.0, 0.0),
            other_side: Vec3::new(1.0, 0.0, 2.0),
            layer: layer(0.02),
        };
        cut(Obstacle::Panel(panel), &[[5.0, 6.0, 1.0, 3.0]]);
    }

    #[test]
    fn the_cut_is_the_same_from_the_other_end() {
        let obstacles = vec![wall([5.0, -3.0], [6.0, 3.0]), wall([15.0, 3.0], [12.0, -3.0])];
        let (from, to) = (PlanPoint::new(0.0, 0.3), PlanPoint::new(20.0, -0.7));
        let there = section(&site(obstacles.clone()), &from, &to);
        let mut back = section(&site(obstacles), &to, &from);
        back.reverse();
        let length = (to - from).norm();
        assert_eq!(there.len(), 2);
        for (one, other) in there.iter().zip(&back) {
            assert_eq!(one.obstacle, other.obstacle);
            assert!((one.start.0 - (length - other.end.0)).abs() < 1e-9);
        }
        assert_eq!(section(&site(Vec::new()), &from, &from), []);
    }
}
