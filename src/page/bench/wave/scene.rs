//! Where everything of the drawn wave stands at one phase: paths and points, in the drawing's pixels.
//!
//! The line from antenna to antenna runs to the right, up is up, and what is behind it is drawn to the upper right at half
//! its length. Distances along the ways and the size of the field have scales of their own, as fields are no lengths.

use std::f64::consts::TAU;

use crate::drawing::path_text::{PathText, Point};
use crate::rf::Vec3;
use crate::rf::wave::{Meeting, Wave};
use crate::units::Radians;

/// Wavelengths between the two drawn antennas.
pub const SEPARATION: f64 = 6.0;
/// Width of the drawing with a wall in it.
const WIDTH: f64 = 720.0;
/// Height that the straight line needs, half of it on either side.
const BAND: f64 = 170.0;
/// Pixels for a wavelength.
const SCALE: f64 = 82.0;
/// Pixels for the field of a wave of unit power.
const FIELD: f64 = 60.0;
/// Where the sender stands from the left.
const LEFT: f64 = 62.0;
/// How far to the right and upward a unit into the picture is drawn: half of it, at 35° (cosine and sine to four places).
const INTO: [f64; 2] = [0.5 * 0.8192, 0.5 * 0.5736];
/// Points for a wavelength of a curve.
const FINE: f64 = 20.0;
/// Steps of an ellipse.
const ROUND: usize = 48;

/// What is drawn of one leg of a wave.
#[derive(Clone, Debug, PartialEq)]
pub struct Leg {
    /// The tips of the field along the leg.
    pub curve: String,
    /// The field itself at every eighth of a wavelength.
    pub strokes: String,
}

/// An ellipse with the mark of its hand.
#[derive(Clone, Debug, PartialEq)]
pub struct Loop {
    /// The ellipse.
    pub outline: String,
    /// Two arrow heads that say which way it is gone round; empty for a line, which goes to and fro.
    pub heads: String,
}

/// The drawing of a meeting.
#[derive(Clone, Debug, PartialEq)]
pub struct WaveScene {
    meeting: Meeting,
    base: f64,
}

impl WaveScene {
    /// The drawing of what [`crate::rf::wave::meet`] found at [`SEPARATION`].
    pub fn new(meeting: Meeting) -> Self {
        let depth = meeting.bounce.as_ref().map_or(0.0, |bounce| bounce.at.y);
        Self { base: 0.5 * BAND + depth * INTO[1] * SCALE, meeting }
    }

    /// What is drawn.
    pub fn meeting(&self) -> &Meeting {
        &self.meeting
    }

    /// The view box.
    pub fn view_box(&self) -> String {
        let width = if self.meeting.bounce.is_some() { WIDTH } else { 2.0 * LEFT + SEPARATION * SCALE };
        format!("0 0 {width} {:.0}", self.base + 0.5 * BAND)
    }

    /// A point of the scene, in wavelengths, with a field there.
    fn on_paper(&self, place: &Vec3, field: &Vec3) -> Point {
        let at = place * SCALE + field * FIELD;
        [LEFT + at.x + INTO[0] * at.y, self.base - at.z - INTO[1] * at.y]
    }

    /// The place of the sender, and of the receiver.
    pub fn ends(&self) -> [Point; 2] {
        [0.0, SEPARATION].map(|x| self.on_paper(&(Vec3::x() * x), &Vec3::zeros()))
    }

    /// Where the wave meets the wall.
    pub fn wall_place(&self) -> Option<Point> {
        Some(self.on_paper(&self.meeting.bounce.as_ref()?.at, &Vec3::zeros()))
    }

    /// The outline of the piece of the wall around that place, and hatches on it.
    pub fn wall(&self) -> Option<[String; 2]> {
        let at = self.meeting.bounce.as_ref()?.at;
        let corner = |along: f64, up: f64| self.on_paper(&Vec3::new(at.x + along, at.y, up), &Vec3::zeros());
        let (half, up) = (1.4, 0.72);
        let outline = PathText::new()
            .polygon(&[corner(-half, -up), corner(half, -up), corner(half, up), corner(-half, up)])
            .text();
        let mut hatches = PathText::new();
        for step in 0..=12 {
            let along = -half + 2.0 * half * f64::from(step) / 12.0;
            hatches.move_to(corner(along, up)).line_to(corner(along + 0.12, up + 0.12));
        }
        Some([outline, hatches.text()])
    }

    /// The legs of all ways at a phase: the straight one, then to the wall and from it.
    pub fn legs(&self, phase: Radians) -> Vec<Leg> {
        let direct = &self.meeting.direct;
        let mut legs = vec![self.leg(&direct.wave, &Vec3::zeros(), direct.leg, phase)];
        if let Some(bounce) = &self.meeting.bounce {
            legs.push(self.leg(&bounce.before, &Vec3::zeros(), bounce.arrival.leg, phase));
            legs.push(self.leg(&bounce.arrival.wave, &bounce.at, bounce.arrival.leg, phase));
        }
        legs
    }

    fn leg(&self, wave: &Wave, from: &Vec3, length: f64, phase: Radians) -> Leg {
        let points = (length * FINE).ceil().max(2.0);
        let tip = |travelled: f64| self.on_paper(&(from + wave.direction * travelled), &wave.at(travelled, phase));
        let curve: Vec<Point> = (0..=points as u32).map(|point| tip(length * f64::from(point) / points)).collect();
        let mut strokes = PathText::new();
        for eighth in 0..=(length * 8.0) as u32 {
            let travelled = f64::from(eighth) / 8.0;
            let foot = self.on_paper(&(from + wave.direction * travelled), &Vec3::zeros());
            strokes.move_to(foot).line_to(tip(travelled));
        }
        Leg { curve: PathText::new().polyline(&curve).text(), strokes: strokes.text() }
    }

    /// The ellipse of the sent wave at the sender, of the straight wave at the receiver, and of the bounced one there.
    pub fn loops(&self) -> Vec<Loop> {
        let direct = &self.meeting.direct;
        let mut loops = vec![self.closed(&direct.wave, &Vec3::zeros(), 0.0)];
        let end = Vec3::x() * SEPARATION;
        loops.push(self.closed(&direct.wave, &end, direct.leg));
        if let Some(bounce) = &self.meeting.bounce {
            loops.push(self.closed(&bounce.arrival.wave, &end, bounce.arrival.leg));
        }
        loops
    }

    /// The tips that go round those ellipses, at a phase.
    pub fn tips(&self, phase: Radians) -> Vec<Point> {
        let direct = &self.meeting.direct;
        let end = Vec3::x() * SEPARATION;
        let mut tips = vec![self.on_paper(&Vec3::zeros(), &direct.wave.at(0.0, phase))];
        tips.push(self.on_paper(&end, &direct.wave.at(direct.leg, phase)));
        if let Some(bounce) = &self.meeting.bounce {
            tips.push(self.on_paper(&end, &bounce.arrival.wave.at(bounce.arrival.leg, phase)));
        }
        tips
    }

    fn closed(&self, wave: &Wave, at: &Vec3, travelled: f64) -> Loop {
        let has_hand = wave.ellipse().is_some_and(|ellipse| ellipse.hand.is_some());
        ring(has_hand, |phase| self.on_paper(at, &wave.at(travelled, phase)))
    }
}

/// Side of the square in which one ellipse is drawn by itself.
pub const FACE: f64 = 120.0;

/// An ellipse by itself, as someone sees it who stands behind the wave and looks along its travel. `size` is the pixels of
/// a field of unit power.
pub fn face(wave: &Wave, size: f64) -> Loop {
    let has_hand = wave.ellipse().is_some_and(|ellipse| ellipse.hand.is_some());
    ring(has_hand, |phase| face_tip(wave, size, phase))
}

/// How far the field of a wave reaches, against one of unit power on a line.
pub fn reach(wave: &Wave) -> f64 {
    let size = |step: usize| {
        let [right, up] = wave.from_behind(0.0, Radians(TAU * step as f64 / ROUND as f64));
        (right * right + up * up).sqrt()
    };
    (0..ROUND).map(size).fold(0.0, f64::max)
}

/// Where its tip is at a phase.
pub fn face_tip(wave: &Wave, size: f64, phase: Radians) -> Point {
    let [right, up] = wave.from_behind(0.0, phase);
    [0.5 * FACE + size * right, 0.5 * FACE - size * up]
}

fn ring(has_hand: bool, tip: impl Fn(Radians) -> Point) -> Loop {
    let at = |step: f64| tip(Radians(TAU * step / ROUND as f64));
    let points: Vec<Point> = (0..ROUND).map(|step| at(step as f64)).collect();
    let mut heads = PathText::new();
    if has_hand {
        for step in [0.0, ROUND as f64 / 2.0] {
            head(&mut heads, at(step), at(step + 0.5));
        }
    }
    Loop { outline: PathText::new().polygon(&points).text(), heads: heads.text() }
}

/// An arrow head at a point, pointing to where `next` lies. None where the two are one.
pub fn head(path: &mut PathText, at: Point, next: Point) {
    const LONG: f64 = 9.0;
    let [x, y] = [next[0] - at[0], next[1] - at[1]];
    let size = (x * x + y * y).sqrt();
    if size > 1e-3 {
        let [x, y] = [x / size * LONG, y / size * LONG];
        path.polygon(&[
            [at[0] + 0.6 * x, at[1] + 0.6 * y],
            [at[0] - 0.4 * x - 0.42 * y, at[1] - 0.4 * y + 0.42 * x],
            [at[0] - 0.4 * x + 0.42 * y, at[1] - 0.4 * y - 0.42 * x],
        ]);
    }
}

/// Side of the square in which the voltages are drawn.
pub const PHASORS: f64 = 200.0;
/// Pixels of a voltage of 1.
const VOLT: f64 = 74.0;

/// One arrow of the sum of voltages.
#[derive(Clone, Debug, PartialEq)]
pub struct Arrow {
    /// Where it comes from: "R" the right-hand part, "L" the left-hand part, "sum" both or all.
    pub letter: &'static str,
    /// Whether it came by way of the wall.
    pub is_bounced: bool,
    /// Shaft and head.
    pub path: String,
    /// Where its letter stands; `None` where the arrow is too short for one.
    pub at: Option<Point>,
}

/// The voltages head to tail: right and left of the straight wave, then of the bounced one, then the sum from the middle.
/// Their common phase says nothing; it is chosen so that the larger part of the straight wave points to the right.
pub fn phasors(meeting: &Meeting) -> Vec<Arrow> {
    let ways = [Some((&meeting.direct, false)), meeting.bounce.as_ref().map(|way| (&way.arrival, true))];
    let mut arrows = Vec::new();
    let mut from = [0.0, 0.0];
    for (way, is_bounced) in ways.into_iter().flatten() {
        let taken = way.taken.against(&meeting.direct.taken);
        for (letter, part) in [("R", taken.right), ("L", taken.left)] {
            let to = [from[0] + part.re, from[1] + part.im];
            arrows.push(arrow(letter, is_bounced, from, to));
            from = to;
        }
    }
    arrows.push(arrow("sum", false, [0.0, 0.0], from));
    arrows
}

fn arrow(letter: &'static str, is_bounced: bool, from: [f64; 2], to: [f64; 2]) -> Arrow {
    let on_plane = |[re, im]: [f64; 2]| [0.5 * PHASORS + VOLT * re, 0.5 * PHASORS - VOLT * im];
    let (from, to) = (on_plane(from), on_plane(to));
    let [x, y] = [to[0] - from[0], to[1] - from[1]];
    let size = (x * x + y * y).sqrt();
    let mut path = PathText::new();
    if size > 1.0 {
        path.move_to(from).line_to(to);
        head(&mut path, [to[0] - 0.6 * 9.0 * x / size, to[1] - 0.6 * 9.0 * y / size], to);
    }
    // The letter stands beside the middle; that of the sum on the other side.
    let side = if letter == "sum" { -13.0 } else { 11.0 };
    let at = [0.5 * (from[0] + to[0]) - y / size * side, 0.5 * (from[1] + to[1]) + x / size * side];
    Arrow { letter, is_bounced, path: path.text(), at: (size > 12.0).then_some(at) }
}

/// Radius of the circle on which the voltage of a wave lies that is wholly taken.
pub const WHOLE: f64 = VOLT;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rf::polarization::{Ellipse, Hand};
    use crate::rf::reflection::Coefficients;
    use crate::rf::wave::meet;
    use crate::units::Degrees;

    fn scene(hand: Hand, wall: Option<f64>) -> WaveScene {
        let wall = wall.map(|grazing| (Degrees(grazing), Coefficients::CONDUCTOR));
        let right = Ellipse::circular(Hand::Right);
        WaveScene::new(meet(&Ellipse::circular(hand), &right, SEPARATION, wall))
    }

    /// All numbers of a path, two by two.
    fn points(path: &str) -> Vec<Point> {
        let numbers: Vec<f64> = path
            .split(|letter: char| letter.is_ascii_alphabetic() || letter == ' ')
            .filter(|word| !word.is_empty())
            .map(|word| word.parse().unwrap())
            .collect();
        numbers.chunks_exact(2).map(|pair| [pair[0], pair[1]]).collect()
    }

    /// Twice the area on the screen, whose second axis points down: positive is clockwise to the eye.
    fn clockwise(points: &[Point]) -> f64 {
        points.iter().zip(points.iter().cycle().skip(1)).map(|(here, next)| here[0] * next[1] - here[1] * next[0]).sum()
    }

    #[test]
    fn right_is_clockwise_on_the_face_for_outline_tip_and_arrow() {
        for (hand, sign) in [(Hand::Right, 1.0), (Hand::Left, -1.0)] {
            let wave = Wave::of(&Ellipse::circular(hand), Vec3::x());
            let drawn = face(&wave, 50.0);
            assert!(sign * clockwise(&points(&drawn.outline)) > 1000.0);
            let tips: Vec<Point> = (0..8).map(|step| face_tip(&wave, 50.0, Radians(0.7 * f64::from(step)))).collect();
            assert!(sign * clockwise(&tips) > 0.0);
            // The head's point lies further round than its feet.
            let heads = points(&drawn.heads);
            let angle = |[x, y]: Point| libm::atan2(y - 0.5 * FACE, x - 0.5 * FACE);
            let feet = 0.5 * (angle(heads[1]) + angle(heads[2]));
            assert_eq!(heads.len(), 6);
            assert!(sign * libm::sin(angle(heads[0]) - feet) > 0.05, "{heads:?}");
        }
        let line = face(&Wave::of(&Ellipse::linear(Degrees(20.0)), Vec3::x()), 50.0);
        assert_eq!(line.heads, "");
    }

    #[test]
    fn a_wave_reaches_as_far_as_its_long_axis() {
        let reach_of = |ellipse: &Ellipse| reach(&Wave::of(ellipse, Vec3::x()));
        assert!((reach_of(&Ellipse::linear(Degrees(0.0))) - 1.0).abs() < 1e-9);
        assert!((reach_of(&Ellipse::circular(Hand::Left)) - std::f64::consts::FRAC_1_SQRT_2).abs() < 1e-9);
    }

    #[test]
    fn the_curve_moves_toward_the_receiver() {
        let scene = scene(Hand::Right, None);
        let crest = |phase: f64| {
            // The highest tip within the second wavelength.
            let curve = points(&scene.legs(Radians(phase))[0].curve);
            let one = &curve[FINE as usize..2 * FINE as usize];
            one.iter().min_by(|first, second| first[1].total_cmp(&second[1])).unwrap()[0]
        };
        assert!(crest(2.4) > crest(1.8) && crest(1.8) > crest(1.2), "{} {}", crest(1.2), crest(2.4));
    }

    #[test]
    fn everything_lies_in_the_view_box() {
        for wall in [None, Some(5.0), Some(30.0), Some(70.0)] {
            let scene = scene(Hand::Left, wall);
            let height: f64 = scene.view_box().rsplit(' ').next().unwrap().parse().unwrap();
            let mut paths: Vec<String> =
                scene.loops().into_iter().flat_map(|ring| [ring.outline, ring.heads]).collect();
            for phase in [0.0, 1.0, 2.5] {
                paths.extend(scene.legs(Radians(phase)).into_iter().flat_map(|leg| [leg.curve, leg.strokes]));
            }
            paths.extend(scene.wall().into_iter().flatten());
            assert_eq!(scene.legs(Radians(0.0)).len(), if wall.is_some() { 3 } else { 1 });
            for [x, y] in paths.iter().flat_map(|path| points(path)) {
                assert!((0.0..=WIDTH).contains(&x) && (-1.0..=height).contains(&y), "{wall:?}: {x} {y} of {height}");
            }
        }
    }

    #[test]
    fn tips_lie_on_their_loops() {
        let scene = scene(Hand::Right, Some(40.0));
        let loops = scene.loops();
        for step in [0, 7, 30] {
            let tips = scene.tips(Radians(TAU * f64::from(step) / ROUND as f64));
            assert_eq!(tips.len(), 3);
            for (tip, ring) in tips.iter().zip(&loops) {
                let near = |point: &Point| (point[0] - tip[0]).abs() < 0.11 && (point[1] - tip[1]).abs() < 0.11;
                assert!(points(&ring.outline).iter().any(near), "{step}");
            }
        }
    }

    #[test]
    fn arrows_lead_from_the_middle_to_the_sum() {
        let matched = phasors(scene(Hand::Right, None).meeting());
        let letters: Vec<&str> = matched.iter().map(|arrow| arrow.letter).collect();
        assert_eq!(letters, ["R", "L", "sum"]);
        assert!(matched[1].path.is_empty() && matched[1].at.is_none(), "a right-hand wave has no left part");
        let [from, to] = points(&matched[2].path)[..2] else { panic!("a shaft") };
        assert_eq!(from, [100.0, 100.0]);
        assert!((to[0] - from[0] - WHOLE).abs() < 0.2 && (to[1] - from[1]).abs() < 0.2);
        let crossed = phasors(scene(Hand::Left, None).meeting());
        assert!(crossed.iter().all(|arrow| arrow.path.is_empty()));
        assert_eq!(phasors(scene(Hand::Left, Some(40.0)).meeting()).len(), 5);
    }
}
