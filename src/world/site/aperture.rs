//! How much of a wave a face has room for: the face as an opening between one end and the mirror image of the other.
//!
//! A plane without ends bounces like a mirror. A face with edges hands on what an opening of its outline would let
//! through on the unfolded path, ITU-R P.526-16, section 5.2: all of it where every edge is some Fresnel radii away from
//! the mirror point, half the amplitude with the mirror point on an edge, and a rest that soon fades when it lies beside
//! the face. So nothing jumps as an end passes an edge.
//!
//! Edges are measured by the way round them, `ν = 2 √(detour/λ)` (section 5.2, eq. 80, and section 4.1), not by their
//! offset: at grazing incidence a zone reaches past the ends of the path, where an offset says nothing.
//!
//! Of the field through the opening its *size* counts. Its phase is that of the way over the edge and turns many times
//! from one sample of a lap to the next, while a path is told by the length over its mirror point.

use num_complex::Complex64;

use super::obstacle::PlanPoint;
use super::outline;
use super::scene::{Face, Scene};
use super::tuned::smooth_step;
use crate::rf::Vec3;
use crate::rf::diffraction::{LIT_MAXIMUM, knife_edge_field};

/// From this clearance of an edge on, in first Fresnel radii (`ν/√2`), its ripple fades out where the mirror point lies on
/// the face, and the rest of the bounce where it lies beside it and 22 dB are gone already.
const FADE_START: f64 = 2.0;

/// From this clearance on there is no ripple and no bounce; the bounce passes 30 dB half way.
const FADE_END: f64 = 3.0;

/// The edges of a face about the mirror point of a path, in Fresnel measure (`ν = measure √(2/λ)`), each pair in rising
/// order: an edge at zero holds the mirror point. Infinite for edges too far to matter, and where there is none.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Aperture {
    along: (f64, f64),
    across: (f64, f64),
    /// The nearest side of an outline that is no rectangle; below zero inside.
    rim: f64,
    /// What is kept of the amplitude beside a face that hands the wave on to another.
    kept: f64,
}

/// A point as a face sees it: along and across, and how far in front of the plane.
#[derive(Clone, Copy, Debug)]
pub(super) struct Seen {
    pub along: f64,
    pub across: f64,
    pub distance: f64,
}

/// Two points on either side of a face's plane, the straight way between them, and how far from it an edge still matters.
#[derive(Clone, Copy, Debug)]
struct Straight {
    length: f64,
    /// `4 (e - a)(e - b)` of an edge at `e` beyond the ends `a` and `b` that no detour of interest reaches.
    room: f64,
    /// Distances of the two points from the plane.
    near: f64,
    far: f64,
}

impl Aperture {
    /// A face without ends.
    const ENDLESS: Self = Self {
        along: (f64::NEG_INFINITY, f64::INFINITY),
        across: (f64::NEG_INFINITY, f64::INFINITY),
        rim: f64::NEG_INFINITY,
        kept: 1.0,
    };

    /// The same where the mirror point, here, may lie no farther than `room` beside the face's rectangle: the amplitude
    /// fades over the outer half of it. None beyond.
    pub(super) fn within(self, room: f64, face: &Face, mirror_point: &Vec3) -> Option<Self> {
        let left = |axis: &Vec3, (low, high): (f64, f64)| {
            let here = axis.dot(mirror_point);
            smooth_step(2.0 - 2.0 * (low - here).max(here - high) / room)
        };
        let kept = left(&face.along, face.along_range) * left(&face.across, face.across_range);
        (kept > 0.0).then_some(Self { kept, ..self })
    }

    /// The factor on the amplitude of a bounce, with `root = √(2/λ)`: 1 for a face that is much larger than its Fresnel
    /// zone, at most the lit maximum of a single edge. Several edges at the right distances could focus 5 dB; a face would
    /// have to be flat and straight to a small part of a wavelength for that.
    pub(super) fn amplitude(&self, root: f64) -> f64 {
        if *self == Self::ENDLESS {
            return 1.0;
        }
        let mut power = opening_power(self.along, root) * opening_power(self.across, root);
        if self.rim != f64::NEG_INFINITY {
            power = power.min(edge_field(self.rim * root).norm_sqr());
        }
        power.sqrt().min(LIT_MAXIMUM) * self.kept
    }

    /// Whether the mirror point lies on the face: a bounce of ray optics.
    pub fn holds_mirror_point(&self) -> bool {
        let inside = |(low, high): (f64, f64)| low <= 0.0 && high >= 0.0;
        inside(self.along) && inside(self.across) && self.rim <= 0.0
    }
}

impl Scene {
    /// A face between a point in front of it and an image behind it, `length` apart and both as the face sees them; none
    /// when nothing comes of it.
    pub(super) fn aperture(&self, face: &Face, from: &Seen, image: &Seen, length: f64) -> Option<Aperture> {
        let most = FADE_END * 2.0 * self.half_root_wavelength;
        // A way round that is so much longer has the greatest measure.
        let detour = most * most / 2.0;
        let straight =
            Straight { length, room: detour * (2.0 * length + detour), near: from.distance, far: image.distance };
        let along = straight.pair(face.along_range, face.closed, (from.along, image.along), most)?;
        let across = straight.pair(face.across_range, (face.stands, false), (from.across, image.across), most)?;
        let mut aperture = Aperture { along, across, ..Aperture::ENDLESS };
        if let Some(range) = face.outline {
            aperture.rim = straight.rim(face, self.range(range), from, image);
            if aperture.rim >= most {
                return None;
            }
        }
        Some(aperture)
    }
}

impl Straight {
    /// The measures of two opposite edges; none when the mirror point is too far beside them.
    fn pair(&self, edges: (f64, f64), closed: (bool, bool), ends: (f64, f64), most: f64) -> Option<(f64, f64)> {
        let low = self.edge(edges.0, ends);
        if low >= most || (closed.0 && low > 0.0) {
            return None;
        }
        let high = self.edge(edges.1, ends);
        if high <= -most || (closed.1 && high < 0.0) {
            return None;
        }
        Some((if closed.0 { f64::NEG_INFINITY } else { low }, if closed.1 { f64::INFINITY } else { high }))
    }

    /// The measure of an endless edge across `ends`, the places of the two points along the face.
    fn edge(&self, edge: f64, ends: (f64, f64)) -> f64 {
        let (one, two) = (edge - ends.0, edge - ends.1);
        // Beyond both ends by so much that all ways of interest, an ellipsoid, stay clear of it.
        if one * two > 0.0 && 4.0 * one * two > self.room {
            return if one > 0.0 { f64::INFINITY } else { f64::NEG_INFINITY };
        }
        // In the plane across the edge: how far the two points are from it, and the corner that the way makes there.
        let product = ((one * one + self.near * self.near) * (two * two + self.far * self.far)).sqrt();
        let cosine = one * two - self.near * self.far;
        let side = one * self.far + two * self.near;
        // `(ρ1 + ρ2)² - ρ²` of the straight way ρ, written so that it keeps its digits where it is small.
        let squares = if cosine < 0.0 { 2.0 * side * side / (product - cosine) } else { 2.0 * (product + cosine) };
        let detour = squares / ((self.length * self.length + squares).sqrt() + self.length);
        (2.0 * detour).sqrt().copysign(side)
    }

    /// The measure of the nearest side of an outline about the mirror point; below zero inside. Near the mirror point the
    /// detour goes by the square of the offset as it is seen across the way.
    fn rim(&self, face: &Face, corners: &[PlanPoint], from: &Seen, image: &Seen) -> f64 {
        let share = self.near / (self.near + self.far);
        let between = |one: f64, two: f64| one + (two - one) * share;
        let (along, across) = (between(from.along, image.along), between(from.across, image.across));
        let tilt = [(image.along - from.along) / self.length, (image.across - from.across) / self.length];
        // Half of this is the product of two offsets, each without its part along the way.
        let seen = |one: [f64; 2], two: [f64; 2]| {
            one[0] * two[0] + one[1] * two[1]
                - (one[0] * tilt[0] + one[1] * tilt[1]) * (two[0] * tilt[0] + two[1] * tilt[1])
        };
        let place = |corner: &PlanPoint| [face.along.xy().dot(corner) - along, face.across.xy().dot(corner) - across];
        let mut nearest = f64::INFINITY;
        let mut before = place(&corners[corners.len() - 1]);
        for corner in corners {
            let here = place(corner);
            let side = [here[0] - before[0], here[1] - before[1]];
            let share = (-seen(before, side) / seen(side, side)).clamp(0.0, 1.0);
            let foot = [before[0] + side[0] * share, before[1] + side[1] * share];
            nearest = nearest.min(seen(foot, foot));
            before = here;
        }
        let (before, after) = (self.length * share, self.length * (1.0 - share));
        let measure = (nearest.max(0.0) * (before + after) / (before * after)).sqrt();
        let point = face.along.xy() * along + face.across.xy() * across;
        if outline::contains(corners, &point) { -measure } else { measure }
    }
}

/// Power through a slit between two edges.
fn opening_power((low, high): (f64, f64), root: f64) -> f64 {
    if low == f64::NEG_INFINITY && high == f64::INFINITY {
        return 1.0;
    }
    (edge_field(low * root) - edge_field(high * root)).norm_sqr()
}

/// The field beyond a straight edge, without what is far from it.
fn edge_field(nu: f64) -> Complex64 {
    let clearance = nu.abs() * std::f64::consts::FRAC_1_SQRT_2;
    let kept = smooth_step((FADE_END - clearance) / (FADE_END - FADE_START));
    let without_edge = if nu < 0.0 { 1.0 } else { 0.0 };
    if kept == 0.0 {
        return Complex64::new(without_edge, 0.0);
    }
    knife_edge_field(nu) * kept + without_edge * (1.0 - kept)
}

#[cfg(test)]
mod tests {
    use super::super::{
        BounceOrder, Building, Ground, Layer, Obstacle, Panel, Paths, Site, TracedPath, TunedScene, Wall,
    };
    use super::*;
    use crate::rf::SPEED_OF_LIGHT;
    use crate::rf::material::Material;
    use crate::units::{Hertz, Metres};

    const CARRIER: Hertz = Hertz(5.8e9);
    const WAVELENGTH: f64 = SPEED_OF_LIGHT / CARRIER.0;

    fn metal() -> Layer {
        Layer { material: Material::Metal, thickness: Metres(0.01) }
    }

    fn scene(obstacles: Vec<Obstacle>) -> Scene {
        let ground = Ground { material: Material::MediumDryGround, roughness: Metres(0.0) };
        Scene::new(&Site { ground, obstacles }, CARRIER).expect("the site is possible")
    }

    /// A wall along x in the plane y = 0.
    fn wall(from: f64, to: f64, base: f64, top: f64) -> Obstacle {
        let (from, to) = (PlanPoint::new(from, 0.0), PlanPoint::new(to, 0.0));
        Obstacle::Wall(Wall { from, to, base: Metres(base), top: Metres(top), layer: metal() })
    }

    /// A panel in the plane y = 0.
    fn panel(x: (f64, f64), z: (f64, f64)) -> Obstacle {
        let corner = Vec3::new(x.0, 0.0, z.0);
        let (side, other_side) = (Vec3::new(x.1 - x.0, 0.0, 0.0), Vec3::new(0.0, 0.0, z.1 - z.0));
        Obstacle::Panel(Panel { corner, side, other_side, layer: metal() })
    }

    fn off_obstacles(tuned: &TunedScene<'_>, from: Vec3, to: Vec3, mut each: impl FnMut(&TracedPath<'_>, f64)) {
        let mut paths = Paths::new();
        tuned.scene().trace(&from, &to, BounceOrder::Single, &mut paths);
        for path in paths.iter().filter(|path| path.bounces.iter().any(|bounce| bounce.obstacle.is_some())) {
            each(&path, tuned.faces_amplitude(&path));
        }
    }

    fn amplitude(scene: &Scene, from: Vec3, to: Vec3) -> f64 {
        let tuned = scene.tuned(CARRIER).expect("metal has properties at the carrier");
        let mut sum = 0.0;
        off_obstacles(&tuned, from, to, |_, amplitude| sum += amplitude);
        sum
    }

    /// How far from the mirror point in the middle of a straight way of 2 x 25 m an edge has ν = 1.
    fn unit() -> f64 {
        1.0 / (2.0 / WAVELENGTH * (2.0 / 25.0)).sqrt()
    }

    /// One edge near: the loss of a knife edge, ITU-R P.526-16, eq. (30), as in `tests/reference/knife_edge.csv`.
    #[test]
    fn beside_one_edge_a_face_hands_on_what_a_knife_edge_does() {
        for (nu, loss) in
            [(-2.0, 0.7366), (-1.0, -1.0010), (-0.5, 1.8586), (0.0, 6.0206), (1.0, 13.8641), (2.0, 19.0910)]
        {
            let end = -nu * unit();
            let got = amplitude(
                &scene(vec![wall(-40.0, end, 0.0, 80.0)]),
                Vec3::new(0.0, 25.0, 40.0),
                Vec3::new(0.0, 25.02, 40.0),
            );
            let got = -20.0 * libm::log10(got);
            // 25.02 m for 25 m, and the way round an edge is a little shorter than its square says.
            assert!((got - loss).abs() < 5e-3, "{nu}: {got} not {loss}");
        }
    }

    /// A square of one unit of ν: |C + jS| of 0.5 twice, C(0.5) = 0.492344 and S(0.5) = 0.064732 (ITU-R P.526-16, eq. 7 and
    /// 75; tables of the Fresnel integrals): 2 (0.492344² + 0.064732²) = 0.493185.
    #[test]
    fn a_face_smaller_than_its_zone_bounces_in_part() {
        let half = 0.5 * unit();
        let site = scene(vec![panel((-half, half), (40.0 - half, 40.0 + half))]);
        let got = amplitude(&site, Vec3::new(0.0, 25.0, 40.0), Vec3::new(0.0, 25.02, 40.0));
        assert!((got - 0.493185).abs() < 1e-3, "{got}");
        // At 1.2 of ν either way it would focus 1.34 times each way: held at the lit maximum of an edge.
        let half = 1.2 * unit();
        let site = scene(vec![panel((-half, half), (40.0 - half, 40.0 + half))]);
        let got = amplitude(&site, Vec3::new(0.0, 25.0, 40.0), Vec3::new(0.0, 25.02, 40.0));
        assert_eq!(got, LIT_MAXIMUM);
    }

    /// Against the integral over the face itself: `(j/λ) ∫∫ e^{-jk(s + t)} cos θ / (s t) dA` over the mirror's field
    /// `e^{-jkr}/r` (Kirchhoff's, as the source of ITU-R P.526-16, section 5.2).
    #[test]
    fn an_oblique_face_hands_on_what_the_integral_over_it_says() {
        let (from, to) = (Vec3::new(-7.0, 9.0, 3.2), Vec3::new(12.0, 14.0, 5.0));
        let image = Vec3::new(to.x, -to.y, to.z);
        let mirror = from + (image - from) * (9.0 / 23.0);
        let cosine = 23.0 / (image - from).norm();
        let k = std::f64::consts::TAU / WAVELENGTH;
        for (west, east, down, up) in
            [(0.5, 0.6, 0.4, 0.5), (0.2, 1.5, 1.2, 0.1), (-0.2, 1.1, 0.7, 0.9), (0.1, 0.15, 0.3, 0.9)]
        {
            let (x, z) = ((mirror.x - west, mirror.x + east), (mirror.z - down, mirror.z + up));
            let steps = 400;
            let mut field = Complex64::new(0.0, 0.0);
            let (width, height) = ((x.1 - x.0) / f64::from(steps), (z.1 - z.0) / f64::from(steps));
            for column in 0..steps {
                for row in 0..steps {
                    let at =
                        Vec3::new(x.0 + width * (f64::from(column) + 0.5), 0.0, z.0 + height * (f64::from(row) + 0.5));
                    let (s, t) = ((at - from).norm(), (at - to).norm());
                    field += crate::rf::phasor(-k * (s + t)) / (s * t);
                }
            }
            let exact = field.norm_sqr().sqrt() * width * height * cosine / WAVELENGTH * (image - from).norm();
            let got = amplitude(&scene(vec![panel(x, z)]), from, to);
            // The two directions of a slanting way are not quite apart.
            assert!((got - exact.min(LIT_MAXIMUM)).abs() < 0.04, "{west} {east} {down} {up}: {got} not {exact}");
        }
    }

    /// Flown past both ends, over the top, and over a roof with an oblique outline.
    #[test]
    fn nothing_jumps_as_an_aircraft_passes_an_edge() {
        let corners = [(0., 0.), (7., 1.), (9., 5.), (4., 8.), (-1., 5.)].map(|(x, y)| PlanPoint::new(x, y));
        let roofed = Building { footprint: corners.to_vec(), height: Metres(3.0), layer: metal() };
        let site = scene(vec![
            wall(-3.0, 4.0, 0.0, 3.0),
            Obstacle::Building(Building {
                footprint: roofed.footprint.iter().map(|corner| corner + PlanPoint::new(0.0, 12.0)).collect(),
                ..roofed
            }),
        ]);
        let tuned = site.tuned(CARRIER).expect("metal has properties at the carrier");
        let sweeps = [
            (Vec3::new(-20.0, -6.0, 1.5), Vec3::new(20.0, -6.0, 1.5), Vec3::new(1.0, -9.0, 1.6)),
            (Vec3::new(0.0, -6.0, 0.4), Vec3::new(0.0, -6.0, 9.0), Vec3::new(2.0, -9.0, 2.0)),
            (Vec3::new(-20.0, -0.5, 1.5), Vec3::new(20.0, -0.4, 1.5), Vec3::new(15.0, -0.3, 1.6)),
            (Vec3::new(-15.0, 10.0, 6.0), Vec3::new(25.0, 22.0, 6.0), Vec3::new(3.0, 9.0, 7.0)),
        ];
        for (start, end, seat) in sweeps {
            let steps = ((end - start).norm() / 0.005) as u32;
            let (mut before, mut most) = (None, 0.0f64);
            for step in 0..=steps {
                let from = start + (end - start) * (f64::from(step) / f64::from(steps));
                // Against a direct wave of the same size, all powers added.
                let mut power = 1.0;
                off_obstacles(&tuned, from, seat, |path, amplitude| {
                    let spread = (seat - from).norm() / path.length;
                    let left = amplitude * spread * tuned.path_amplitude(path);
                    power += left * left;
                });
                let level = 10.0 * libm::log10(power);
                if let Some(before) = before {
                    let jump: f64 = level - before;
                    assert!(jump.abs() < 0.1, "{from:?} to {seat:?}: {jump} dB");
                }
                (before, most) = (Some(level), most.max(level));
            }
            assert!(most > 0.2, "something bounces: {most}");
        }
    }

    #[test]
    fn on_an_edge_half_the_amplitude_is_left_and_far_beside_nothing() {
        let site = scene(vec![wall(-30.0, 0.0, 0.0, 80.0)]);
        let at = |x: f64| amplitude(&site, Vec3::new(x, 12.0, 40.0), Vec3::new(x, 9.0, 41.0));
        assert!((at(0.0) - 0.5).abs() < 1e-3, "{}", at(0.0));
        assert_eq!((at(3.0), at(-3.0)), (0.0, 1.0));
        let radius = (WAVELENGTH * 12.0 * 9.0 / 21.0).sqrt();
        assert!(at(2.5 * radius) < 0.033 && at(2.5 * radius) > 0.02, "half way about 30 dB are gone");
    }

    #[test]
    fn the_foot_of_a_wall_is_no_edge() {
        let low = |base: f64| {
            amplitude(&scene(vec![wall(-30.0, 30.0, base, 9.0)]), Vec3::new(0.0, 25.0, 0.3), Vec3::new(1.0, 20.0, 0.3))
        };
        assert_eq!(low(0.0), 1.0);
        assert!((low(0.3) - 0.5).abs() < 1e-3);
    }
}
