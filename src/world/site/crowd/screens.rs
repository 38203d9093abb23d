//! What people leave of the legs of a path: each person is a screen.

use std::f64::consts::{FRAC_1_PI, FRAC_PI_2, PI};

use crate::rf::Vec3;
use crate::rf::absorption::PERSON_WIDTH;
use crate::site::obstacle::PlanPoint;
use crate::site::outline::cross;
use crate::site::trace::TracedPath;

/// A person fades out of a path between so many first Fresnel radii of clearance: the standard's formula tends to no loss
/// only slowly, and always as a loss, where the exact field swings about free space from 0.55 on. 0.6 is where ITU-R P.526
/// and P.530 call a path free.
const CLEAR_FROM: f64 = 0.6;
const CLEAR_AT: f64 = 1.2;

/// Nobody stands closer to an antenna than the first, metres in plan; from the second on people count fully. Common
/// practice, no source: pilots keep elbow room, and the formula has no meaning nearer.
const ELBOW_ROOM: (f64, f64) = (0.3, 0.6);

/// A line in plan with the legs that run above it. The ground bounce lies in the plane of the direct path: whoever stands
/// near the one stands near the other, and is looked for once.
#[derive(Debug)]
pub(super) struct Sightline {
    pub origin: PlanPoint,
    pub heading: PlanPoint,
    pub plan_length: f64,
    legs: [Leg; 3],
    count: usize,
}

/// One leg, over part of the line in plan.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Leg {
    /// Which of the paths it belongs to.
    pub path: usize,
    from: f64,
    to: f64,
    /// Height above the origin, as if the leg began there, and its rise per metre in plan.
    pub height: f64,
    pub slope: f64,
    /// Metres of leg per metre in plan.
    stretch: f64,
    /// Length of the path up to above the origin, as if the leg began there.
    ahead: f64,
    total: f64,
}

impl Sightline {
    fn new(from: &Vec3, to: &Vec3) -> Self {
        let plan = to.xy() - from.xy();
        // A plumb leg passes nobody sideways; a heading of a nanometre keeps the arithmetic finite.
        let plan_length = plan.norm_squared().sqrt().max(1e-9);
        Self { origin: from.xy(), heading: plan / plan_length, plan_length, legs: [Leg::default(); 3], count: 0 }
    }

    fn add(&mut self, path: usize, from: &Vec3, to: &Vec3, ahead: f64, total: f64) {
        let (start, end) = (self.along(&from.xy()), self.along(&to.xy()));
        let plan_length = (end - start).max(1e-9);
        let slope = (to.z - from.z) / plan_length;
        let stretch = (to - from).norm_squared().sqrt() / plan_length;
        self.legs[self.count] = Leg {
            path,
            from: start,
            to: start + plan_length,
            height: from.z - slope * start,
            slope,
            stretch,
            ahead: ahead - stretch * start,
            total,
        };
        self.count += 1;
    }

    fn along(&self, place: &PlanPoint) -> f64 {
        self.heading.dot(&(place - self.origin))
    }

    /// The legs above the line.
    pub fn legs(&self) -> &[Leg] {
        &self.legs[..self.count]
    }

    /// What one person leaves of the amplitude of each leg that they matter to.
    pub fn person(&self, place: &PlanPoint, head_height: f64, wavelength: f64, mut left: impl FnMut(usize, f64)) {
        let relative = place - self.origin;
        let (along, aside) = (self.heading.dot(&relative), cross(&self.heading, &relative).abs());
        for leg in self.legs() {
            if let Some(factor) = leg.person(along, aside, head_height, wavelength) {
                left(leg.path, factor);
            }
        }
    }
}

/// Visits the lines of a path, and of the ground bounce in the same plane.
pub(super) fn each_line(
    path: &TracedPath,
    number: usize,
    ground: Option<(&TracedPath, usize)>,
    mut visit: impl FnMut(&Sightline),
) {
    let mut ahead = 0.0;
    for (from, to) in path.points().zip(path.points().skip(1)) {
        let mut line = Sightline::new(&from, &to);
        line.add(number, &from, &to, ahead, path.length);
        ahead += (to - from).norm_squared().sqrt();
        if let Some((path, number)) = ground {
            let mut ahead = 0.0;
            for (from, to) in path.points().zip(path.points().skip(1)) {
                line.add(number, &from, &to, ahead, path.length);
                ahead += (to - from).norm_squared().sqrt();
            }
        }
        visit(&line);
    }
}

/// Whether a path is the ground bounce under the direct path.
pub(super) fn is_under_direct(path: &TracedPath) -> bool {
    matches!(path.bounces, [bounce] if bounce.obstacle.is_none())
}

/// Distance within which a person can matter to a path, metres.
pub(super) fn room(length: f64, wavelength: f64) -> f64 {
    CLEAR_AT * (wavelength * length).sqrt() / 2.0 + PERSON_WIDTH.0 / 2.0
}

impl Leg {
    /// The part of a stretch of the line over which the leg runs no higher than `limit`.
    pub fn part_below(&self, limit: f64, (from, to): (f64, f64)) -> Option<(f64, f64)> {
        let (from, to) = (from.max(self.from), to.min(self.to));
        if from > to { None } else { below(self.height, self.slope, limit, (from, to)) }
    }

    pub fn lowest(&self) -> f64 {
        (self.height + self.slope * self.from).min(self.height + self.slope * self.to)
    }

    /// As [`room`], for a part of the leg.
    pub fn room_between(&self, (from, to): (f64, f64), wavelength: f64) -> f64 {
        let (from, to) = (self.ahead + from * self.stretch, self.ahead + to * self.stretch);
        let widest = (self.total / 2.0).clamp(from, to.max(from));
        CLEAR_AT * (wavelength * widest * (self.total - widest).max(0.0) / self.total).sqrt() + PERSON_WIDTH.0 / 2.0
    }

    /// What a person so far along and aside leaves of the amplitude; none when the person does not matter.
    fn person(&self, along: f64, aside: f64, head_height: f64, wavelength: f64) -> Option<f64> {
        if along < self.from || along > self.to {
            return None;
        }
        let before = self.ahead + along * self.stretch;
        let after = self.total - before;
        let half = PERSON_WIDTH.0 / 2.0;
        let free_aside = (aside - half).max(0.0);
        let height = self.height + self.slope * along;
        let free_above = (height - head_height).max(0.0);
        // Squares of the clearance and of the radius of the first Fresnel zone there.
        let free = free_aside * free_aside + free_above * free_above;
        let fresnel = wavelength * before * after / self.total;
        if free >= CLEAR_AT * CLEAR_AT * fresnel {
            return None;
        }
        let mut share = 1.0;
        if free > CLEAR_FROM * CLEAR_FROM * fresnel {
            share = (CLEAR_AT - (free / fresnel).sqrt()) / (CLEAR_AT - CLEAR_FROM);
        }
        let near = before.min(after);
        if near < ELBOW_ROOM.1 {
            share *= ((near - ELBOW_ROOM.0) / (ELBOW_ROOM.1 - ELBOW_ROOM.0)).max(0.0);
            if share <= 0.0 {
                return None;
            }
        }
        // (π/2) √((π/λ) x² (1/d1 + 1/d2)/2): the detour of the standard's formula for x small against d.
        let scale = FRAC_PI_2 * (FRAC_PI_2 / fresnel).sqrt();
        let width = angle(scale * (aside - half), scale * (aside + half));
        let tall = angle(-scale * height, scale * (head_height - height));
        Some(1.0 - share * width * tall * (FRAC_1_PI * FRAC_1_PI))
    }
}

/// The part of a range in which `start + slope · s` is at most `limit`.
pub(super) fn below(start: f64, slope: f64, limit: f64, (from, to): (f64, f64)) -> Option<(f64, f64)> {
    let (first, last) = (start + slope * from, start + slope * to);
    if first > limit && last > limit {
        return None;
    }
    let meets = || ((limit - start) / slope).clamp(from, to);
    if first > limit {
        Some((meets(), to))
    } else if last > limit {
        Some((from, meets()))
    } else {
        Some((from, to))
    }
}

/// `atan upper - atan lower` for `upper ≥ lower`, within 1.2e-5: far finer than anybody knows a crowd, and several times as
/// fast as two exact arc tangents.
///
/// It is the angle of the point `(1 + upper · lower, upper - lower)`; polynomial for the arc tangent by Abramowitz and
/// Stegun, 4.4.47, from memory, checked below.
fn angle(lower: f64, upper: f64) -> f64 {
    let (along, up) = (1.0 + upper * lower, upper - lower);
    let size = along.abs();
    let steep = up > size;
    let y = if steep { size / up } else { up / size.max(f64::MIN_POSITIVE) };
    let z = y * y;
    let inner = y * (0.999_866_0 + z * (-0.330_299_5 + z * (0.180_141_0 + z * (-0.085_133_0 + z * 0.020_835_1))));
    let acute = if steep { FRAC_PI_2 - inner } else { inner };
    if along < 0.0 { PI - acute } else { acute }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rf::absorption::person_screen_factor;
    use crate::site::PERSON_HEIGHT;

    const WAVELENGTH: f64 = 0.0517;

    #[test]
    fn a_person_costs_what_the_standard_says() {
        // Against the formula of 3GPP TR 38.901, section 7.6.4.2, with its detours in full; cut short they are a few
        // hundredths of a decibel off where the person stands within a metre or two of an end.
        for (z, before, after, aside) in [
            (1.0, 25.0, 25.0, 0.0),
            (1.5, 5.0, 45.0, 0.0),
            (1.2, 5.0, 45.0, 0.2),
            (1.5, 1.0, 49.0, 0.05),
            (1.65, 0.7, 9.0, 0.1),
        ] {
            let (from, to) = (Vec3::new(0.0, 0.0, z), Vec3::new(before + after, 0.0, z));
            let mut line = Sightline::new(&from, &to);
            line.add(0, &from, &to, 0.0, before + after);
            let mut got = 1.0;
            line.person(&PlanPoint::new(before, aside), PERSON_HEIGHT.0, WAVELENGTH, |_, factor| got *= factor);
            assert!(got < 1.0, "it stands near");
            let exact = person_screen_factor(aside, z - PERSON_HEIGHT.0, before, after, WAVELENGTH);
            assert!((20.0 * libm::log10(got / exact)).abs() < 0.1, "{z} {before}/{after} {aside}: {got} not {exact}");
        }
    }

    #[test]
    fn an_angle_is_the_difference_of_two_arc_tangents() {
        for step in -400..=400 {
            for width in [0.0, 1e-3, 0.3, 1.0, 7.0, 90.0] {
                let lower = f64::from(step) * 0.05;
                let exact = libm::atan(lower + width) - libm::atan(lower);
                assert!((angle(lower, lower + width) - exact).abs() < 1.2e-5, "{lower} and {width}");
            }
        }
        assert_eq!(angle(0.0, 0.0), 0.0);
    }
}
