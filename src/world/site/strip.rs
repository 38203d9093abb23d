//! Tubes of a gate's frame, and barriers of bars: rectangles across the ray that hide a share of the field.

use super::obstruction::Strip;
use super::scene::Face;
use super::shadow::{Leg, scale};
use crate::rf::Vec3;

/// A tube this nearly along the ray (square of the sine between them) is seen end on, a point.
const END_ON: f64 = 1e-6;

/// A barrier about the point where the leg pierces its plane; none when it does not.
pub(super) fn bars(leg: &Leg, face: &Face, covered: f64) -> Option<Strip> {
    let near = face.normal.dot(&leg.from) - face.offset;
    let far = face.normal.dot(&leg.to) - face.offset;
    if near * far >= 0.0 {
        return None;
    }
    let share = near / (near - far);
    let point = leg.from + (leg.to - leg.from) * share;
    let direction = (leg.to - leg.from) / leg.length;
    let scale = scale(leg.ahead + leg.length * share, leg.total);
    let measure = |axis: &Vec3, (low, high): (f64, f64)| {
        let tilt = axis.dot(&direction);
        let across = (1.0 - tilt * tilt).max(0.0).sqrt() * scale;
        let here = axis.dot(&point);
        ((low - here) * across, (high - here) * across)
    };
    let (_, top) = measure(&face.across, face.across_range);
    Some(Strip { sides: measure(&face.along, face.along_range), ends: (f64::NEG_INFINITY, top), covered })
}

/// A tube as the strip that faces the ray where they are nearest; none when that is behind an end of the leg.
pub(super) fn tube(leg: &Leg, from: &Vec3, to: &Vec3, width: f64) -> Option<Strip> {
    let direction = (leg.to - leg.from) / leg.length;
    let (axis, length) = ((to - from).normalize(), (to - from).norm());
    let between = direction.dot(&axis);
    let apart = 1.0 - between * between;
    if apart < END_ON {
        return None;
    }
    let reach = from - leg.from;
    let (along_ray, along_tube) = (reach.dot(&direction), reach.dot(&axis));
    let at = (along_ray - between * along_tube) / apart;
    if at <= 0.0 || at >= leg.length {
        return None;
    }
    let sine = apart.sqrt();
    let place = (between * along_ray - along_tube) / apart;
    let offset = reach.dot(&direction.cross(&axis)) / sine;
    let scale = scale(leg.ahead + at, leg.total);
    let foot = if from.z > 0.0 { -place * sine * scale } else { f64::NEG_INFINITY };
    Some(Strip {
        sides: ((offset - width / 2.0) * scale, (offset + width / 2.0) * scale),
        ends: (foot, (length - place) * sine * scale),
        covered: 1.0,
    })
}

impl Strip {
    /// Free space between the ray and the strip, in Fresnel measure; negative when it is hit, then by how far the ray would
    /// have to move.
    pub(super) fn clearance(&self) -> f64 {
        let beside = |(low, high): (f64, f64)| low.max(-high);
        let (aside, beyond) = (beside(self.sides), beside(self.ends));
        if aside <= 0.0 && beyond <= 0.0 {
            return aside.max(beyond);
        }
        let (aside, beyond) = (aside.max(0.0), beyond.max(0.0));
        (aside * aside + beyond * beyond).sqrt()
    }

    /// Whether it is farther from the ray than this measure.
    pub(super) fn is_clear(&self, least: f64) -> bool {
        self.clearance() > least
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Barrier, BounceOrder, Frame, Ground, Obstacle, Paths, PlanPoint, Scene, Site, Way};
    use super::*;
    use crate::rf::material::Material;
    use crate::units::{Hertz, Metres};

    const CARRIER: Hertz = Hertz(5.8e9);

    fn scene(obstacle: Obstacle) -> Scene {
        let ground = Ground { material: Material::MediumDryGround, roughness: Metres(0.0) };
        Scene::new(&Site { ground, obstacles: vec![obstacle] }, CARRIER).expect("the site is possible")
    }

    /// 4 cm of tube; its uprights stand at x = 25 and y = 0 and 3.
    fn frame() -> Obstacle {
        let (from, to) = (PlanPoint::new(25.0, 0.0), PlanPoint::new(25.0, 3.0));
        Obstacle::Frame(Frame { from, to, top: Metres(3.0), tube: Metres(0.04) })
    }

    fn barrier(covered: f64) -> Obstacle {
        let (from, to) = (PlanPoint::new(25.0, -40.0), PlanPoint::new(25.0, 40.0));
        Obstacle::Barrier(Barrier { from, to, top: Metres(1.1), covered })
    }

    /// Loss of the direct path, dB.
    fn loss(scene: &Scene, from: Vec3, to: Vec3) -> f64 {
        let tuned = scene.tuned(CARRIER).expect("the ground has properties at the carrier");
        let mut paths = Paths::new();
        scene.trace(&from, &to, BounceOrder::Direct, &mut paths);
        -20.0 * libm::log10(tuned.path_amplitude(&paths.get(0).expect("the ends are apart")))
    }

    /// Half way of 50 m: ν = 0.02 √(2/0.051688 · 2/25) = 0.035186 on either side, and for so small a one C(ν) = ν and S(ν) =
    /// 0. The field that is left is 1 - (1 - j) ν, its power 0.964814² + 0.035186² = 0.932104 (ITU-R P.526-16, eq. 75 and 89).
    #[test]
    fn a_tube_in_the_way_costs_what_a_narrow_screen_does() {
        let site = scene(frame());
        // High enough above the foot, which is no edge, and far enough below the bar.
        let tall = Obstacle::Frame(Frame {
            from: PlanPoint::new(25.0, 0.0),
            to: PlanPoint::new(25.0, 30.0),
            top: Metres(60.0),
            tube: Metres(0.04),
        });
        let got = loss(&scene(tall), Vec3::new(0.0, 0.0, 30.0), Vec3::new(50.0, 0.0, 30.0));
        // Its ends, 30 m off, still ripple by 1/(π ν √2) of what it hides: 0.002 dB.
        assert!((got - 0.3054).abs() < 3e-3, "{got}");
        // Close to an end the same tube is wider against the zone.
        let near = loss(&site, Vec3::new(24.0, 0.0, 1.4), Vec3::new(50.0, 0.0, 1.4));
        assert!(near > 0.8, "{near}");
        // In the middle of the gate nothing is in the way of who looks along the line.
        assert!(loss(&site, Vec3::new(25.0, 1.5, 1.5), Vec3::new(60.0, 2.0, 1.5)).abs() < 1e-9);
    }

    /// Far below the top of a barrier that covers a fifth, four fifths of the field are left: 1.938 dB; a wall without gaps
    /// leaves nothing, and one without bars everything.
    #[test]
    fn bars_let_the_share_pass_that_they_leave_open() {
        let deep = |covered: f64| {
            let high = Obstacle::Barrier(Barrier {
                from: PlanPoint::new(25.0, -400.0),
                to: PlanPoint::new(25.0, 400.0),
                top: Metres(900.0),
                covered,
            });
            loss(&scene(high), Vec3::new(20.0, 0.0, 10.0), Vec3::new(30.0, 0.0, 10.0))
        };
        assert!((deep(0.2) - 1.9382).abs() < 0.02, "{}", deep(0.2));
        assert!(deep(0.0).abs() < 1e-12 && deep(1.0) > 40.0);
        let on_edge = loss(&scene(barrier(0.2)), Vec3::new(0.0, 0.0, 1.1), Vec3::new(50.0, 0.0, 1.1));
        // On its upper edge: 1 - 0.2/2; its ends, 40 m off, ripple by 0.003 of what it hides.
        assert!((on_edge - 0.9151).abs() < 5e-3, "{on_edge}");
    }

    #[test]
    fn nothing_jumps_on_the_way_past_bars_and_tubes() {
        for site in [scene(frame()), scene(barrier(0.25))] {
            let seat = Vec3::new(60.0, 1.0, 1.5);
            for (start, end) in [
                (Vec3::new(10.0, -6.0, 1.2), Vec3::new(10.0, 9.0, 1.2)),
                (Vec3::new(20.0, 1.5, 0.3), Vec3::new(22.0, 1.5, 7.0)),
                (Vec3::new(15.0, 1.5, 1.6), Vec3::new(35.0, 1.5, 1.6)),
            ] {
                let mut before = None;
                for step in 0..=4000 {
                    let from = start + (end - start) * (f64::from(step) / 4000.0);
                    let now = loss(&site, from, seat);
                    if let Some(before) = before {
                        let jump: f64 = now - before;
                        assert!(jump.abs() < 0.1, "{from:?}: {jump} dB");
                    }
                    before = Some(now);
                }
            }
        }
    }

    #[test]
    fn a_tube_tells_how_it_is_passed() {
        let site = scene(frame());
        let tuned = site.tuned(CARRIER).expect("the ground has properties at the carrier");
        let mut paths = Paths::new();
        let mut way = |y: f64| {
            site.trace(&Vec3::new(0.0, y, 1.5), &Vec3::new(50.0, y, 1.5), BounceOrder::Direct, &mut paths);
            let found = paths.get(0).expect("the ends are apart").obstructions.first().map(|found| tuned.shadow(found));
            found.map(|shadow| shadow.way)
        };
        assert_eq!((way(0.0), way(0.6), way(-5.0)), (Some(Way::Round), Some(Way::Clear), None));
    }
}
