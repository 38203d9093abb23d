//! Legs of a path, seen in the upright plane that holds them, and how outlines look from there.

use super::{LEAST_DISTANCE, LEAST_PLAN_LENGTH, SHOULDER_SLOPE};
use crate::rf::Vec3;
use crate::site::index::Corridor;
use crate::site::obstacle::PlanPoint;
use crate::site::obstruction::Edge;
use crate::site::outline::cross;
use crate::site::scene::Body;

/// A straight piece of a path.
#[derive(Clone, Copy, Debug)]
pub(in crate::site) struct Leg {
    pub(in crate::site) from: Vec3,
    pub(in crate::site) to: Vec3,
    pub(in crate::site) length: f64,
    /// Length of the path before it.
    pub(in crate::site) ahead: f64,
    /// Length of the whole path.
    pub(in crate::site) total: f64,
    pub(in crate::site) number: u8,
}

impl Leg {
    pub(in crate::site) fn whole(from: &Vec3, to: &Vec3, length: f64) -> Self {
        Self { from: *from, to: *to, length, ahead: 0.0, total: length, number: 0 }
    }

    /// The first leg of a path that ends in `corner`.
    pub(in crate::site) fn first(from: &Vec3, corner: &Vec3, length: f64, total: f64) -> Self {
        Self { from: *from, to: *corner, length, ahead: 0.0, total, number: 0 }
    }

    /// The leg after this one, so long.
    pub(in crate::site) fn next(&self, to: &Vec3, length: f64) -> Self {
        let ahead = self.ahead + self.length;
        Self { from: self.to, to: *to, length, ahead, total: self.total, number: self.number + 1 }
    }

    /// The last leg of the path, from the end of this one.
    pub(in crate::site) fn last(&self, to: &Vec3) -> Self {
        self.next(to, self.total - (self.ahead + self.length))
    }

    /// Whether it runs through the inside of an upright prism over a convex outline; touching it does not count.
    pub(in crate::site) fn passes_through(&self, corners: &[PlanPoint], base: f64, top: f64) -> bool {
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

/// More than rounding can make of a one.
const ROUNDING: f64 = 1.0 + 1e-9;

/// The lesser of two numbers; the library's own asks about what is none, at three times the price.
fn lesser(one: f64, other: f64) -> f64 {
    if other < one { other } else { one }
}

/// The greater of two numbers, as [`lesser`].
fn greater(one: f64, other: f64) -> f64 {
    if other > one { other } else { one }
}

/// `√(1/d1 + 1/d2)` at a distance along a path.
pub(in crate::site) fn scale(at: f64, total: f64) -> f64 {
    let (before, after) = (greater(at, LEAST_DISTANCE), greater(total - at, LEAST_DISTANCE));
    ((before + after) / (before * after)).sqrt()
}

/// A leg, or both legs of a ground bounce, seen in the upright plane that holds it.
#[derive(Clone, Copy, Debug)]
pub(in crate::site) struct Run {
    pub(super) origin: PlanPoint,
    pub(super) heading: PlanPoint,
    pub(super) plan_length: f64,
    /// Path length per plan length.
    pub(super) stretch: f64,
    pub(super) start_height: f64,
    /// Rise per plan length; with `folded` the height is the magnitude.
    pub(super) slope: f64,
    pub(super) folded: bool,
    pub(super) cosine: f64,
    pub(super) lowest: f64,
    pub(super) highest: f64,
    pub(super) ahead: f64,
    pub(super) total: f64,
    pub(super) number: u8,
}

impl Run {
    pub(in crate::site) fn straight(leg: &Leg) -> Self {
        let run = Self::between(&leg.from, &leg.to, leg.length, false);
        Self { ahead: leg.ahead, total: leg.total, number: leg.number, ..run }
    }

    /// The legs before and after a ground bounce: straight in plan, its height folded at the ground.
    pub(in crate::site) fn folded(before: &Leg, after: &Leg) -> Self {
        let (from, to) = (&before.from, &after.to);
        let image = Vec3::new(to.x, to.y, -to.z);
        let run = Self::between(from, &image, before.length + after.length, true);
        Self {
            lowest: 0.0,
            highest: from.z.max(to.z),
            ahead: before.ahead,
            total: before.total,
            number: before.number,
            ..run
        }
    }

    pub(super) fn between(from: &Vec3, to: &Vec3, length: f64, folded: bool) -> Self {
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

    pub(super) fn height(&self, along: f64) -> f64 {
        let height = self.start_height + self.slope * along;
        if self.folded { height.abs() } else { height }
    }

    /// Where a body has to reach to matter within `reach` metres of the ray.
    pub(super) fn corridor(&self, reach: f64) -> Corridor {
        Corridor {
            origin: self.origin,
            heading: self.heading,
            length: self.plan_length,
            room: reach,
            cosine: self.cosine,
            lowest: self.lowest,
            highest: self.highest,
        }
    }

    /// Whether all corners of an outline stand on one side of the ray, so far that its side edge has `least` or more of
    /// Fresnel measure wherever the ray passes it; or all behind an end. Looks at less than [`Run::sight`] and sees no edge.
    pub(super) fn passes_by(&self, corners: &[PlanPoint], least: f64) -> bool {
        let (mut left, mut right) = (f64::INFINITY, f64::NEG_INFINITY);
        let (mut first, mut last) = (f64::INFINITY, f64::NEG_INFINITY);
        for corner in corners {
            let (along, aside) = self.place(corner);
            (left, right) = (lesser(left, aside), greater(right, aside));
            (first, last) = (lesser(first, along), greater(last, along));
        }
        if last < 0.0 || first > self.plan_length {
            return true;
        }
        let nearest = greater(left, -right);
        if nearest <= 0.0 {
            return false;
        }
        // The zone is widest in the middle of the path, or as near to it as the outline comes.
        let [first, last] =
            [greater(first, 0.0), lesser(last, self.plan_length)].map(|at| self.ahead + at * self.stretch);
        let widest = lesser(greater(self.total / 2.0, first), last);
        let (before, after) = (greater(widest, LEAST_DISTANCE), greater(self.total - widest, LEAST_DISTANCE));
        nearest * nearest * (before + after) > ROUNDING * least * least * (before * after)
    }

    /// `√(1/d1 + 1/d2)` at a distance along the path: times an offset it is the diffraction parameter at any frequency,
    /// but for a factor.
    pub(super) fn scale(&self, at: f64) -> f64 {
        scale(at, self.total)
    }

    /// A convex outline (or a wall's two corners) as seen along the ray; none when all of it is behind an end.
    pub(super) fn sight(&self, corners: &[PlanPoint], top: f64) -> Option<Sight> {
        let mut sight = Sight::nothing();
        let mut crossed = Crossed::nowhere();
        let mut before = self.place(&corners[corners.len() - 1]);
        for corner in corners {
            let here = self.place(corner);
            if here.0 >= 0.0 && here.0 <= self.plan_length {
                sight.widen(self, here.1, here.0, top);
            }
            for border in [0.0, self.plan_length] {
                if (before.0 < border) != (here.0 < border) {
                    let share = (border - before.0) / (here.0 - before.0);
                    sight.widen(self, before.1 + share * (here.1 - before.1), border, top);
                }
            }
            crossed.by(before, here);
            before = here;
        }
        sight.crossing = crossed.within(self.plan_length);
        (sight.low <= sight.high).then_some(sight)
    }

    /// Where the ray goes through a convex outline, as in [`Run::sight`].
    pub(super) fn crossing(&self, corners: &[PlanPoint]) -> Option<(f64, f64)> {
        let mut crossed = Crossed::nowhere();
        let mut before = self.place(&corners[corners.len() - 1]);
        for corner in corners {
            let here = self.place(corner);
            crossed.by(before, here);
            before = here;
        }
        crossed.within(self.plan_length)
    }

    /// How far along the ray and how far to the left of it a corner stands.
    fn place(&self, corner: &PlanPoint) -> (f64, f64) {
        let relative = corner - self.origin;
        (self.heading.dot(&relative), cross(&self.heading, &relative))
    }

    /// The upper (or lower) edge at a place in plan, seen across the ray.
    pub(super) fn edge(&self, height: f64, along: f64) -> Edge {
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
    pub(super) fn leg(&self, along: f64) -> u8 {
        u8::from(self.folded && self.start_height + self.slope * along < 0.0) + self.number
    }
}

/// Where the line of a ray crosses the sides of an outline.
struct Crossed {
    first: f64,
    last: f64,
}

impl Crossed {
    fn nowhere() -> Self {
        Self { first: f64::INFINITY, last: f64::NEG_INFINITY }
    }

    /// The side between two corners.
    fn by(&mut self, before: (f64, f64), here: (f64, f64)) {
        if (before.1 < 0.0) != (here.1 < 0.0) {
            let along = before.0 + (here.0 - before.0) * before.1 / (before.1 - here.1);
            self.first = lesser(self.first, along);
            self.last = greater(self.last, along);
        }
    }

    /// The part between the ends of a ray of this length in plan.
    fn within(&self, length: f64) -> Option<(f64, f64)> {
        (self.last >= 0.0 && self.first <= length).then(|| (self.first.max(0.0), self.last.min(length)))
    }
}

/// How wide an outline is about the ray, where the ray goes through it, and how high it stands beside the ray.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sight {
    /// The side edges, in Fresnel measure.
    pub(super) low: f64,
    pub(super) high: f64,
    pub(super) crossing: Option<(f64, f64)>,
    pub(super) shoulder: Shoulder,
}

/// The corner whose top reaches highest toward the ray: each measure aside counts as [`SHOULDER_SLOPE`] measures down.
#[derive(Clone, Copy, Debug)]
pub(super) struct Shoulder {
    pub(super) reach: f64,
    pub(super) at: f64,
    pub(super) along: f64,
}

impl Sight {
    pub(super) fn nothing() -> Self {
        Self {
            low: f64::INFINITY,
            high: f64::NEG_INFINITY,
            crossing: None,
            shoulder: Shoulder { reach: f64::NEG_INFINITY, at: 0.0, along: 0.0 },
        }
    }

    pub(super) fn widen(&mut self, run: &Run, aside: f64, along: f64, top: f64) {
        let at = run.ahead + along * run.stretch;
        let measure = aside * run.scale(at);
        self.low = lesser(self.low, measure);
        self.high = greater(self.high, measure);
        let edge = run.edge(top, along);
        let reach = edge.measure - SHOULDER_SLOPE * measure.abs();
        if reach > self.shoulder.reach || self.shoulder.reach == f64::NEG_INFINITY {
            self.shoulder = Shoulder { reach, at: edge.at, along };
        }
    }

    /// Whether the side that is nearer to the ray has more than `least` of Fresnel measure.
    pub(super) fn is_clear(&self, least: f64) -> bool {
        greater(self.low, -self.high) > ROUNDING * least
    }

    /// Two pieces of one outline that hide behind each other, or touch, are one.
    pub(super) fn joins(&self, other: &Sight) -> bool {
        self.low <= other.high && other.low <= self.high
    }

    pub(super) fn join(&mut self, other: &Sight) {
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
    pub(super) fn shoulder(&self, run: &Run) -> Edge {
        let nearest = self.low.max(-self.high).max(0.0);
        let reach = self.shoulder.reach + SHOULDER_SLOPE * nearest;
        Edge { offset: reach / run.scale(self.shoulder.at), at: self.shoulder.at, measure: reach }
    }
}

impl Run {
    /// Half the length in plan that the ray's line has in common with the circle about a body.
    pub(super) fn half_chord(&self, body: &Body) -> f64 {
        let aside = cross(&self.heading, &(body.centre - self.origin));
        (body.radius * body.radius - aside * aside).max(0.0).sqrt()
    }

    /// Length of ray between two places in plan and between base and top of a body, weighted with a trapezoid that rises
    /// from the base and falls to the top over `fringe` metres (at most half the height).
    pub(super) fn filled(&self, from: f64, to: f64, body: &Body, fringe: f64) -> f64 {
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
    pub(super) fn gap(&self, body: &Body, inside: bool) -> Edge {
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
