//! The geometry of obstruction: how each body looks from a ray that passes it.
//!
//! Walls and buildings are seen as upright screens. Each corner of the outline stands at its own distance along the ray,
//! and the screen's two side edges are the corners that reach farthest into (or stay nearest to) the ray in Fresnel
//! measure, `x √(1/d1 + 1/d2)`. That is the rectangular screen of the standards for a thin wall across the ray, and it
//! stays continuous while an edge, or an end of the path, passes by. The part of an outline behind an end is cut off.
//!
//! Distances along the ray are those of the whole unfolded path, not of the leg, so that a shadow does not sharpen toward
//! a bounce.

use super::obstacle::PlanPoint;
use super::obstruction::{Edge, Effect, Obstruction, Screen};
use super::outline::cross;
use super::scene::{Body, Face, Scene, Shape};
use crate::rf::Vec3;
use crate::rf::absorption::vegetation_loss;
use crate::units::{Db, Metres};

/// Beyond so many first Fresnel radii of clearance an obstacle has no effect; see [`super::tuned`] for the taper.
pub(super) const FARTHEST_CLEARANCE: f64 = 3.0;

/// Distances along the path are kept this far from its ends, metres, so that no division by zero can occur.
pub(super) const LEAST_DISTANCE: f64 = 1e-6;

/// Shortest leg in plan for which a heading exists, metres; a steeper one is taken to head east.
const LEAST_PLAN_LENGTH: f64 = 1e-9;

/// The foliage of a crown thins out toward its lower and upper end over so many metres (our own choice, half a metre), so
/// that a level path does not meet it all at once.
const CROWN_FRINGE: f64 = 0.5;

/// A path counts as through the fabric when it has so many metres of the space between eaves and top behind it.
const FABRIC_DEPTH: f64 = 0.5;

/// How fast the top of an outline counts for less the farther a corner stands aside of the ray: in diffraction parameters
/// down per diffraction parameter aside. One rectangle has to stand for a silhouette whose corners are at different
/// distances; the value (our own) only has to be large enough that far corners do not matter.
const SHOULDER_SLOPE: f64 = 2.0;

/// Most convex pieces of one outline: the triangles of the largest one.
const MOST_PIECES: usize = super::obstacle::MOST_CORNERS - 2;

/// A straight piece of a path.
#[derive(Clone, Copy, Debug)]
pub(super) struct Leg {
    pub from: Vec3,
    pub to: Vec3,
    pub length: f64,
    /// Length of the path before it.
    pub ahead: f64,
    /// Length of the whole path.
    pub total: f64,
    pub number: u8,
}

impl Leg {
    pub fn whole(from: &Vec3, to: &Vec3, length: f64) -> Self {
        Self { from: *from, to: *to, length, ahead: 0.0, total: length, number: 0 }
    }

    /// The first leg of a path that ends in `corner`.
    pub fn first(from: &Vec3, corner: &Vec3, length: f64, total: f64) -> Self {
        Self { from: *from, to: *corner, length, ahead: 0.0, total, number: 0 }
    }

    /// The last leg of the path, from the end of this one.
    pub fn last(&self, to: &Vec3) -> Self {
        let ahead = self.ahead + self.length;
        Self { from: self.to, to: *to, length: self.total - ahead, ahead, total: self.total, number: self.number + 1 }
    }

    /// Whether it runs through the inside of an upright prism over a convex outline; touching it does not count.
    pub fn passes_through(&self, corners: &[PlanPoint], base: f64, top: f64) -> bool {
        let run = Run::straight(self);
        let Some(sight) = run.sight(corners, top) else { return false };
        let Some((entry, exit)) = sight.crossing else { return false };
        // A leg that starts on a face of the outline touches it; a millimetre is more than rounding leaves.
        let (entry, exit) = (entry + 1e-3, exit - 1e-3);
        let lowest = run.height(entry).min(run.height(exit));
        let highest = run.height(entry).max(run.height(exit));
        exit > entry && lowest < top - 1e-3 && highest > base
    }
}

/// `√(1/d1 + 1/d2)` at a distance along a path.
fn scale(at: f64, total: f64) -> f64 {
    let (before, after) = (at.max(LEAST_DISTANCE), (total - at).max(LEAST_DISTANCE));
    ((before + after) / (before * after)).sqrt()
}

/// A leg, or both legs of a ground bounce, seen in the upright plane that holds it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Run {
    origin: PlanPoint,
    heading: PlanPoint,
    plan_length: f64,
    /// Path length per plan length.
    stretch: f64,
    start_height: f64,
    /// Rise per plan length; with `folded` the height is the magnitude.
    slope: f64,
    folded: bool,
    cosine: f64,
    lowest: f64,
    highest: f64,
    ahead: f64,
    total: f64,
    number: u8,
}

impl Run {
    pub fn straight(leg: &Leg) -> Self {
        let run = Self::between(&leg.from, &leg.to, leg.length, false);
        Self { ahead: leg.ahead, total: leg.total, number: leg.number, ..run }
    }

    /// A ground bounce: straight in plan, its height folded at the ground.
    pub fn folded(from: &Vec3, to: &Vec3, length: f64) -> Self {
        let run = Self::between(from, &Vec3::new(to.x, to.y, -to.z), length, true);
        Self { lowest: 0.0, highest: from.z.max(to.z), ..run }
    }

    fn between(from: &Vec3, to: &Vec3, length: f64, folded: bool) -> Self {
        let plan = to.xy() - from.xy();
        let plan_length = plan.norm_squared().sqrt();
        let (heading, plan_length) = if plan_length >= LEAST_PLAN_LENGTH {
            (plan / plan_length, plan_length)
        } else {
            (PlanPoint::new(1.0, 0.0), LEAST_PLAN_LENGTH)
        };
        Self {
            origin: from.xy(),
            heading,
            plan_length,
            stretch: length / plan_length,
            start_height: from.z,
            slope: (to.z - from.z) / plan_length,
            folded,
            cosine: (plan_length / length).min(1.0),
            lowest: from.z.min(to.z),
            highest: from.z.max(to.z),
            ahead: 0.0,
            total: length,
            number: 0,
        }
    }

    fn height(&self, along: f64) -> f64 {
        let height = self.start_height + self.slope * along;
        if self.folded { height.abs() } else { height }
    }

    /// Whether a body is too far away, in plan or in height, to matter within `reach` metres of the ray.
    fn misses(&self, body: &Body, reach: f64) -> bool {
        let centre = body.centre - self.origin;
        let (along, aside) = (self.heading.dot(&centre), cross(&self.heading, &centre));
        aside.abs() > body.radius + reach
            || along < -body.radius
            || along > self.plan_length + body.radius
            || (self.lowest - body.top) * self.cosine > reach
            || (body.base - self.highest) * self.cosine > reach
    }

    /// `√(1/d1 + 1/d2)` at a distance along the path: times an offset it is the diffraction parameter at any frequency,
    /// but for a factor.
    fn scale(&self, at: f64) -> f64 {
        scale(at, self.total)
    }

    /// A convex outline (or a wall's two corners) as seen along the ray; none when all of it is behind an end.
    fn sight(&self, corners: &[PlanPoint], top: f64) -> Option<Sight> {
        let mut sight = Sight::nothing();
        let (mut first_crossing, mut last_crossing) = (f64::INFINITY, f64::NEG_INFINITY);
        let place = |corner: &PlanPoint| {
            let relative = corner - self.origin;
            (self.heading.dot(&relative), cross(&self.heading, &relative))
        };
        let mut before = place(&corners[corners.len() - 1]);
        for corner in corners {
            let here = place(corner);
            if here.0 >= 0.0 && here.0 <= self.plan_length {
                sight.widen(self, here.1, here.0, top);
            }
            for border in [0.0, self.plan_length] {
                if (before.0 < border) != (here.0 < border) {
                    let share = (border - before.0) / (here.0 - before.0);
                    sight.widen(self, before.1 + share * (here.1 - before.1), border, top);
                }
            }
            if (before.1 < 0.0) != (here.1 < 0.0) {
                let along = before.0 + (here.0 - before.0) * before.1 / (before.1 - here.1);
                first_crossing = first_crossing.min(along);
                last_crossing = last_crossing.max(along);
            }
            before = here;
        }
        if last_crossing >= 0.0 && first_crossing <= self.plan_length {
            sight.crossing = Some((first_crossing.max(0.0), last_crossing.min(self.plan_length)));
        }
        (sight.low <= sight.high).then_some(sight)
    }

    /// The upper (or lower) edge at a place in plan, seen across the ray.
    fn edge(&self, height: f64, along: f64) -> Edge {
        let above = height - self.height(along);
        let offset = above * self.cosine;
        let at = self.ahead + along * self.stretch;
        if self.folded {
            return Edge { offset, at, measure: offset * self.scale(at) };
        }
        // On a steep ray the nearest point to the edge is farther on, or falls beyond the end: then the edge is clear.
        let at = at + above * self.slope * self.cosine;
        let length = self.plan_length * self.stretch;
        if offset < 0.0 && (at <= self.ahead || at >= self.ahead + length) {
            return Edge { offset: f64::NEG_INFINITY, at, measure: f64::NEG_INFINITY };
        }
        Edge { offset, at, measure: offset * self.scale(at) }
    }

    /// The leg on which a place in plan lies.
    fn leg(&self, along: f64) -> u8 {
        u8::from(self.folded && self.start_height + self.slope * along < 0.0) + self.number
    }
}

/// How wide an outline is about the ray, where the ray goes through it, and how high it stands beside the ray.
#[derive(Clone, Copy, Debug)]
struct Sight {
    /// The side edges, in Fresnel measure.
    low: f64,
    high: f64,
    crossing: Option<(f64, f64)>,
    shoulder: Shoulder,
}

/// The corner whose top reaches highest toward the ray: each measure aside counts as [`SHOULDER_SLOPE`] measures down.
#[derive(Clone, Copy, Debug)]
struct Shoulder {
    reach: f64,
    at: f64,
    along: f64,
}

impl Sight {
    fn nothing() -> Self {
        Self {
            low: f64::INFINITY,
            high: f64::NEG_INFINITY,
            crossing: None,
            shoulder: Shoulder { reach: f64::NEG_INFINITY, at: 0.0, along: 0.0 },
        }
    }

    fn widen(&mut self, run: &Run, aside: f64, along: f64, top: f64) {
        let scale = run.scale(run.ahead + along * run.stretch);
        let measure = aside * scale;
        self.low = self.low.min(measure);
        self.high = self.high.max(measure);
        let edge = run.edge(top, along);
        let reach = edge.measure - SHOULDER_SLOPE * measure.abs();
        if reach > self.shoulder.reach || self.shoulder.reach == f64::NEG_INFINITY {
            self.shoulder = Shoulder { reach, at: edge.at, along };
        }
    }

    /// Two pieces of one outline that hide behind each other, or touch, are one.
    fn joins(&self, other: &Sight) -> bool {
        self.low <= other.high && other.low <= self.high
    }

    fn join(&mut self, other: &Sight) {
        self.low = self.low.min(other.low);
        self.high = self.high.max(other.high);
        if other.shoulder.reach > self.shoulder.reach {
            self.shoulder = other.shoulder;
        }
        self.crossing = match (self.crossing, other.crossing) {
            (Some(one), Some(two)) => Some((one.0.min(two.0), one.1.max(two.1))),
            (one, two) => one.or(two),
        };
    }

    /// The highest top edge beside the ray, lowered for standing aside; measured from the nearest side of the outline.
    fn shoulder(&self, run: &Run) -> Edge {
        let nearest = self.low.max(-self.high).max(0.0);
        let reach = self.shoulder.reach + SHOULDER_SLOPE * nearest;
        Edge { offset: reach / run.scale(self.shoulder.at), at: self.shoulder.at, measure: reach }
    }
}

impl Scene {
    /// Adds what obstructs one leg. `skip` is the body that the leg bounces off.
    pub(super) fn obstruct(&self, leg: &Leg, skip: Option<u16>, out: &mut Vec<Obstruction>) {
        let start = out.len();
        self.obstruct_upright(&Run::straight(leg), skip, out);
        self.obstruct_straight(leg, leg.number, skip, out);
        in_order(&mut out[start..]);
    }

    /// Adds what obstructs the two legs of a ground bounce.
    pub(super) fn obstruct_ground_bounce(&self, first: &Leg, last: &Leg, out: &mut Vec<Obstruction>) {
        let start = out.len();
        self.obstruct_upright(&Run::folded(&first.from, &last.to, first.total), None, out);
        self.obstruct_straight(first, 0, None, out);
        self.obstruct_straight(last, 0, None, out);
        in_order(&mut out[start..]);
    }

    /// Distance from a path of this length beyond which nothing has an effect.
    pub(super) fn reach(&self, total: f64) -> f64 {
        FARTHEST_CLEARANCE * self.half_root_wavelength * total.sqrt()
    }

    fn obstruct_upright(&self, run: &Run, skip: Option<u16>, out: &mut Vec<Obstruction>) {
        let reach = self.reach(run.total);
        for (index, body) in self.bodies.iter().enumerate() {
            if skip == Some(index as u16) || run.misses(body, reach) {
                continue;
            }
            let Shape::Upright { outline, pieces, surface, walls } = &body.shape else { continue };
            let mut sights = [Sight::nothing(); MOST_PIECES];
            let mut count = 0;
            for &piece in pieces {
                let Some(mut sight) = run.sight(self.range(piece), body.top) else { continue };
                // Whatever it joins is taken up, and what that joins in turn: earlier ones are apart from each other.
                let mut kept = 0;
                for other in 0..count {
                    if sight.joins(&sights[other]) {
                        sight.join(&sights[other]);
                    } else {
                        sights[kept] = sights[other];
                        kept += 1;
                    }
                }
                sights[kept] = sight;
                count = kept + 1;
            }
            for sight in &sights[..count] {
                let shoulder = sight.shoulder(run);
                let beside = sight.shoulder.along;
                let (entry, exit) = sight.crossing.unwrap_or((beside, beside));
                let tops = match sight.crossing {
                    Some(_) => [run.edge(body.top, entry), run.edge(body.top, exit)],
                    None => [shoulder; 2],
                };
                let bottom = if body.base > 0.0 {
                    run.edge(body.base, entry)
                } else {
                    Edge { offset: f64::NEG_INFINITY, at: run.ahead + entry * run.stretch, measure: f64::NEG_INFINITY }
                };
                let screen = Screen {
                    low: sight.low,
                    high: sight.high,
                    bottom,
                    entry: tops[0],
                    exit: tops[1],
                    shoulder,
                    surface: *surface,
                    walls: *walls,
                    cosines: incidence(self.range(*outline), &run.heading).map(|cosine| cosine * run.cosine),
                };
                out.push(Obstruction {
                    obstacle: body.obstacle,
                    kind: body.kind,
                    leg: run.leg((entry + exit) / 2.0),
                    run: run.number,
                    total: run.total,
                    effect: Effect::Screen(screen),
                });
            }
        }
    }

    /// Adds what needs a straight leg: crowns, fabric, panels.
    fn obstruct_straight(&self, leg: &Leg, run_number: u8, skip: Option<u16>, out: &mut Vec<Obstruction>) {
        let run = Run::straight(leg);
        let reach = self.reach(leg.total);
        for (index, body) in self.bodies.iter().enumerate() {
            if matches!(body.shape, Shape::Upright { .. }) || skip == Some(index as u16) || run.misses(body, reach) {
                continue;
            }
            let effect = match &body.shape {
                Shape::Upright { .. } => None,
                Shape::Flat { face, surface } => pierced(leg, &self.faces[usize::from(*face)], *surface),
                Shape::Crown { per_metre, most } => {
                    let half_chord = run.half_chord(body);
                    let middle = run.heading.dot(&(body.centre - run.origin));
                    let inside = run.filled(middle - half_chord, middle + half_chord, body, CROWN_FRINGE);
                    let loss = if *most > 0.0 { vegetation_loss(Metres(inside), *per_metre, Db(*most)).0 } else { 0.0 };
                    Some(Effect::Foliage { loss, gap: run.gap(body, inside > 0.0) })
                }
                Shape::Fabric { pieces, loss } => {
                    let thickness = body.top - body.base;
                    let inside: f64 = pieces
                        .iter()
                        .filter_map(|&piece| run.sight(self.range(piece), body.top)?.crossing)
                        .map(|(entry, exit)| run.filled(entry, exit, body, thickness / 2.0))
                        .sum();
                    // A steep crossing leaves half the thickness behind, the mean of the weight; it counts fully.
                    let share = (inside / (thickness.min(FABRIC_DEPTH) / 2.0)).min(1.0);
                    Some(Effect::Fabric { loss: loss * share, gap: run.gap(body, inside > 0.0) })
                }
            };
            if let Some(effect) = effect {
                out.push(Obstruction {
                    obstacle: body.obstacle,
                    kind: body.kind,
                    leg: leg.number,
                    run: run_number,
                    total: leg.total,
                    effect,
                });
            }
        }
    }
}

impl Run {
    /// Half the length in plan that the ray's line has in common with the circle about a body.
    fn half_chord(&self, body: &Body) -> f64 {
        let aside = cross(&self.heading, &(body.centre - self.origin));
        (body.radius * body.radius - aside * aside).max(0.0).sqrt()
    }

    /// Length of ray between two places in plan and between base and top of a body, weighted with a trapezoid that rises
    /// from the base and falls to the top over `fringe` metres (at most half the height).
    fn filled(&self, from: f64, to: f64, body: &Body, fringe: f64) -> f64 {
        let (from, to) = (from.max(0.0), to.min(self.plan_length));
        if to <= from {
            return 0.0;
        }
        let fringe = fringe.min((body.top - body.base) / 2.0);
        // Integral of a ramp from 0 to 1 over the fringe; the trapezoid is one ramp less another.
        let ramp = |height: f64| {
            if height <= 0.0 {
                0.0
            } else if height < fringe {
                height * height / (2.0 * fringe)
            } else {
                height - fringe / 2.0
            }
        };
        let integral = |height: f64| ramp(height - body.base) - ramp(height - (body.top - fringe));
        let weight = |height: f64| {
            let rise = ((height - body.base) / fringe).clamp(0.0, 1.0);
            rise - ((height - (body.top - fringe)) / fringe).clamp(0.0, 1.0)
        };
        let (low, high) = (self.height(from), self.height(to));
        // A level ray has one weight all along; the quotient below would be rounding only.
        let mean = if (high - low).abs() > 1e-6 {
            (integral(high) - integral(low)) / (high - low)
        } else {
            weight((low + high) / 2.0)
        };
        mean * (to - from) * self.stretch
    }

    /// How far the ray passes the cylinder about a body, and where; negative inside.
    fn gap(&self, body: &Body, inside: bool) -> Edge {
        let centre = body.centre - self.origin;
        let along = self.heading.dot(&centre).clamp(0.0, self.plan_length);
        let aside = (centre - self.heading * along).norm_squared().sqrt();
        let height = self.height(along);
        let outside_plan = aside - body.radius;
        let outside_height = (body.base - height).max(height - body.top) * self.cosine;
        let offset = if inside {
            outside_plan.max(outside_height).min(0.0)
        } else {
            let (plan, height) = (outside_plan.max(0.0), outside_height.max(0.0));
            (plan * plan + height * height).sqrt()
        };
        let at = self.ahead + along * self.stretch;
        Edge { offset, at, measure: offset * self.scale(at) }
    }
}

/// A panel as a screen about the point where the leg pierces its plane; none when it does not.
fn pierced(leg: &Leg, face: &Face, surface: u16) -> Option<Effect> {
    let near = face.normal.dot(&leg.from) - face.offset;
    let far = face.normal.dot(&leg.to) - face.offset;
    if near * far >= 0.0 {
        return None;
    }
    let share = near / (near - far);
    let point = leg.from + (leg.to - leg.from) * share;
    let direction = (leg.to - leg.from) / leg.length;
    let at = leg.ahead + leg.length * share;
    let measure = |axis: &Vec3, (low, high): (f64, f64)| {
        let tilt = axis.dot(&direction);
        let across = (1.0 - tilt * tilt).max(0.0).sqrt();
        let here = axis.dot(&point);
        ((low - here) * across, (high - here) * across)
    };
    let along = measure(&face.along, face.along_range);
    let across = measure(&face.across, face.across_range);
    // The more upright side gives bottom and top, which matters for what is told and for what bends over it.
    let upright_along = face.along.z.abs() > face.across.z.abs();
    let (upright, level, rises) =
        if upright_along { (along, across, face.along.z >= 0.0) } else { (across, along, face.across.z >= 0.0) };
    let (bottom, top) = if rises { upright } else { (-upright.1, -upright.0) };
    let scale = scale(at, leg.total);
    let edge = |offset: f64| Edge { offset, at, measure: offset * scale };
    Some(Effect::Screen(Screen {
        low: level.0 * scale,
        high: level.1 * scale,
        bottom: edge(bottom),
        entry: edge(top),
        exit: edge(top),
        shoulder: edge(top),
        surface,
        walls: 1,
        cosines: [face.normal.dot(&direction).abs(); 2],
    }))
}

/// Cosine of incidence in plan on the walls where a ray of this heading goes in, and where it comes out: the mean over the
/// walls on either side, each by the width that it shows. It does not depend on which wall is hit, so that nothing jumps
/// when the ray slides round a corner.
fn incidence(corners: &[PlanPoint], heading: &PlanPoint) -> [f64; 2] {
    let (mut widths, mut sums) = ([0.0; 2], [0.0; 2]);
    let mut before = corners[corners.len() - 1];
    for &corner in corners {
        let side = corner - before;
        let shown = cross(&side, heading);
        let back = usize::from(shown < 0.0);
        widths[back] += shown.abs();
        sums[back] += shown * shown / side.norm_squared().sqrt();
        before = corner;
    }
    let mean = |index: usize| if widths[index] > 0.0 { (sums[index] / widths[index]).min(1.0) } else { 0.0 };
    [mean(0), mean(1)]
}

fn in_order(obstructions: &mut [Obstruction]) {
    if obstructions.len() > 1 {
        obstructions.sort_unstable_by(|one, two| {
            (one.effect.rank(), one.obstacle)
                .partial_cmp(&(two.effect.rank(), two.obstacle))
                .unwrap_or(std::cmp::Ordering::Equal)
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_outer_normals_look_away_from_the_ray_on_the_far_side() {
        let square = [(0., 0.), (4., 0.), (4., 2.), (0., 2.)].map(|(x, y)| PlanPoint::new(x, y));
        assert_eq!(incidence(&square, &PlanPoint::new(1.0, 0.0)), [1.0, 1.0]);
        let [front, back] = incidence(&square, &PlanPoint::new(0.6, 0.8));
        // Shown widths 4*0.8 and 2*0.6; mean of 0.8 and 0.6 by these.
        let expected = (3.2 * 0.8 + 1.2 * 0.6) / 4.4;
        assert!((front - expected).abs() < 1e-12 && (back - expected).abs() < 1e-12);
    }

    #[test]
    fn a_wall_across_the_ray_is_seen_in_its_width() {
        let leg = Leg::whole(&Vec3::new(0.0, 0.0, 1.2), &Vec3::new(50.0, 0.0, 1.2), 50.0);
        let wall = [PlanPoint::new(25.0, -3.0), PlanPoint::new(25.0, 2.0)];
        let sight = Run::straight(&leg).sight(&wall, 2.0).expect("it stands between the ends");
        let scale = (2.0f64 / 25.0).sqrt();
        assert_eq!((sight.low, sight.high, sight.crossing), (-3.0 * scale, 2.0 * scale, Some((25.0, 25.0))));
    }
}
