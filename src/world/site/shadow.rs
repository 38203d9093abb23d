//! The geometry of obstruction: how each body looks from a ray that passes it.
//!
//! Walls and buildings are seen as upright screens. Each corner of the outline stands at its own distance along the ray,
//! and the screen's two side edges are the corners that reach farthest into (or stay nearest to) the ray in Fresnel
//! measure, `x √(1/d1 + 1/d2)`. That is the rectangular screen of the standards for a thin wall across the ray, and it
//! stays continuous while an edge, or an end of the path, passes by. The part of an outline behind an end is cut off.
//!
//! Distances along the ray are those of the whole unfolded path, not of the leg, so that a shadow does not sharpen toward
//! a bounce.

mod run;

use super::obstacle::PlanPoint;
use super::obstruction::{Edge, Effect, Obstruction, Screen, Strip};
use super::outline::cross;
use super::scene::{Body, Face, Scene, Shape};
use super::strip;
use crate::rf::Vec3;
use crate::rf::absorption::vegetation_loss;
use crate::units::{Db, Metres};

pub(super) use run::{Leg, scale};
use run::{Run, Sight};

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

impl Scene {
    /// Adds what obstructs the legs of a path that bounces off `faces` between them. What a leg bounces off does not obstruct
    /// it.
    pub(super) fn obstruct(&self, legs: &[Leg], faces: &[&Face], out: &mut Vec<Obstruction>) {
        let body = |number: Option<usize>| number.and_then(|number| faces.get(number)).and_then(|face| face.body);
        let mut number = 0;
        while let Some(leg) = legs.get(number) {
            let start = out.len();
            let before = body(number.checked_sub(1));
            // The two legs of a ground bounce are straight in plan, and one run.
            let folded = faces.get(number).filter(|face| face.body.is_none()).and(legs.get(number + 1));
            let run_number = leg.number;
            if let Some(after) = folded {
                let skip = [before, body(Some(number + 1))];
                self.obstruct_upright(&Run::folded(leg, after), skip, out);
                self.obstruct_straight(leg, run_number, skip, out);
                self.obstruct_straight(after, run_number, skip, out);
                number += 2;
            } else {
                let skip = [before, body(Some(number))];
                self.obstruct_upright(&Run::straight(leg), skip, out);
                self.obstruct_straight(leg, run_number, skip, out);
                number += 1;
            }
            in_order(&mut out[start..]);
        }
    }

    /// Distance from a path of this length beyond which nothing has an effect.
    pub(super) fn reach(&self, total: f64) -> f64 {
        FARTHEST_CLEARANCE * self.half_root_wavelength * total.sqrt()
    }

    fn obstruct_upright(&self, run: &Run, skip: [Option<u16>; 2], out: &mut Vec<Obstruction>) {
        let reach = self.reach(run.total);
        let least = FARTHEST_CLEARANCE * 2.0 * self.half_root_wavelength;
        self.uprights.each_near(&run.corridor(reach), |index| {
            let body = &self.bodies[usize::from(index)];
            let Shape::Upright { outline, pieces, .. } = &body.shape else { return };
            if skip.contains(&Some(index)) || run.passes_by(self.range(*outline), least) {
                return;
            }
            if let [piece] = pieces[..] {
                // Cut off behind the ends, it may turn out to be far away after all.
                let sight = run.sight(self.range(piece), body.top).filter(|sight| !sight.is_clear(least));
                out.extend(sight.and_then(|sight| self.screen(run, body, &sight)));
            } else {
                self.screens_of_pieces(run, body, pieces, out);
            }
        });
    }

    /// As one or several screens a body whose outline has inner corners.
    fn screens_of_pieces(&self, run: &Run, body: &Body, pieces: &[(u32, u32)], out: &mut Vec<Obstruction>) {
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
        out.extend(sights[..count].iter().filter_map(|sight| self.screen(run, body, sight)));
    }

    /// An upright body, or a part of it, as a screen.
    fn screen(&self, run: &Run, body: &Body, sight: &Sight) -> Option<Obstruction> {
        let Shape::Upright { outline, layer, walls, .. } = body.shape else { return None };
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
            layer,
            walls,
            cosines: incidence(self.range(outline), &run.heading).map(|cosine| cosine * run.cosine),
        };
        Some(Obstruction {
            obstacle: body.obstacle,
            kind: body.kind,
            leg: run.leg((entry + exit) / 2.0),
            run: run.number,
            total: run.total,
            effect: Effect::Screen(screen),
        })
    }

    /// Adds what needs a straight leg: crowns, fabric, panels.
    fn obstruct_straight(&self, leg: &Leg, run_number: u8, skip: [Option<u16>; 2], out: &mut Vec<Obstruction>) {
        let run = Run::straight(leg);
        let reach = self.reach(leg.total);
        let least = FARTHEST_CLEARANCE * 2.0 * self.half_root_wavelength;
        let near = |strip: &Strip| !strip.is_clear(least);
        self.others.each_near(&run.corridor(reach), |index| {
            let body = &self.bodies[usize::from(index)];
            if skip.contains(&Some(index)) {
                return;
            }
            let effect = match &body.shape {
                Shape::Upright { .. } => None,
                Shape::Flat { face, layer } => pierced(leg, &self.faces[usize::from(*face)], *layer),
                Shape::Bars { face, covered } => strip::bars(leg, face, *covered).filter(near).map(Effect::Strip),
                Shape::Tube { from, to, width } => strip::tube(leg, from, to, *width).filter(near).map(Effect::Strip),
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
                        .filter_map(|&piece| run.crossing(self.range(piece)))
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
        });
    }
}

/// A panel as a screen about the point where the leg pierces its plane; none when it does not.
fn pierced(leg: &Leg, face: &Face, layer: u16) -> Option<Effect> {
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
        layer,
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
    // By insertion: there are a handful, and the library's sort is a large program to send to a phone.
    let key = |obstruction: &Obstruction| (obstruction.effect.rank(), obstruction.obstacle);
    for end in 1..obstructions.len() {
        let mut place = end;
        while place > 0 && key(&obstructions[place]) < key(&obstructions[place - 1]) {
            obstructions.swap(place, place - 1);
            place -= 1;
        }
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
