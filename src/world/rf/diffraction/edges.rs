//! Loss over two and more edges in a row, and which of a profile's points are edges at all.

use super::{knife_edge_loss_approximate, nu_of, shadow_loss};
use crate::units::{Db, Metres};

/// A straight edge across the vertical plane of a path.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ProfileEdge {
    /// Distance from the transmitter along the direct line.
    pub distance: Metres,
    /// Height above the direct line from transmitter to receiver; negative below it.
    pub height: Metres,
}

/// Two edges that matter about equally, in the terms of the recommendation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SimilarEdges {
    /// Loss of the first edge on the path from the transmitter to the second edge.
    pub first: Db,
    /// Loss of the second edge on the path from the first edge to the receiver.
    pub second: Db,
    /// What the distance between the edges adds.
    pub spread: Db,
}

impl SimilarEdges {
    /// The three together.
    pub fn total(self) -> Db {
        self.first + self.second + self.spread
    }
}

/// Two edges of which one dominates, in the terms of the recommendation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TwoEdges {
    /// Loss of the main edge on the whole path.
    pub main: Db,
    /// Loss of the other edge on the path between the main edge and the end beyond it.
    pub second: Db,
    /// What is taken off again because the two are not independent.
    pub correction: Db,
}

impl TwoEdges {
    /// Main and second loss without the correction; never less than the main edge alone.
    pub fn total(self) -> Db {
        self.main + self.excess()
    }

    /// What the second edge adds to the main one; never negative.
    pub fn excess(self) -> Db {
        Db((self.second - self.correction).0.max(0.0))
    }
}

/// The loss of a single edge, in decibels, as one of the two forms in use.
type EdgeLoss = fn(f64) -> Db;

/// Two similar edges, form (i): the sum of both losses on their own parts of the path and
/// `10 log((a+b)(b+c) / (b(a+b+c)))`.
///
/// `a`, `b`, `c` run from transmitter to first edge, between the edges, and to the receiver, all greater than zero; the
/// heights are above the direct line. Valid when each loss exceeds about 15 dB: for close or low edges it overstates (and
/// grows without limit as `b` shrinks), see [`two_edges_dominant`]. Source: ITU-R P.526-16, section 4.3.
pub fn two_edges_similar(a: Metres, b: Metres, c: Metres, heights: [Metres; 2], wavelength: Metres) -> SimilarEdges {
    let (a, b, c, [h1, h2]) = (a.0, b.0, c.0, heights.map(|height| height.0));
    let first = nu_of(h1 - h2 * a / (a + b), a, b, wavelength.0);
    let second = nu_of(h2 - h1 * c / (b + c), b, c, wavelength.0);
    SimilarEdges {
        first: knife_edge_loss_approximate(first),
        second: knife_edge_loss_approximate(second),
        spread: Db::from_ratio((a + b) * (b + c) / (b * (a + b + c))),
    }
}

/// Two edges by the dominant-edge form (ii): the loss of the main edge on the whole path, that of the other above the
/// line from the main edge to the end beyond it, less
/// `Tc = [12 - 20 log(2 / (1 - α/π))] (q/p)^{2p}` with `tan α = √(b(a+b+c)/(ac))`.
///
/// `p` and `q` are the main and the other edge's parameters on the whole path; the main edge is the one with the larger.
/// Arguments as in [`two_edges_similar`], single losses by the approximation, as printed. Within 1.3 dB of the exact double
/// integral in every case of the reference table. When both edges graze, `q/p` counts as one; an edge below the ray while
/// the other is above takes no correction; with both below the ray the second is judged against the ray itself and the
/// correction mirrored, so that a flat roof sinking through the ray changes the loss without a step.
/// Source: ITU-R P.526-16, section 4.3; the rules for edges below the ray are our own.
pub fn two_edges_dominant(a: Metres, b: Metres, c: Metres, heights: [Metres; 2], wavelength: Metres) -> TwoEdges {
    let [h1, h2] = heights.map(|height| height.0);
    dominant([a.0, b.0, c.0], [h1, h2], wavelength.0, knife_edge_loss_approximate, 12.0)
}

/// What the less important of two edges adds to the loss of the more important one on its own; zero or more.
///
/// Form (ii) as in [`two_edges_dominant`], but with the exact single-edge loss ([`shadow_loss`]) and an exact constant, so
/// that two edges that merge become one: the excess goes to zero with `b`, and with either edge's height.
pub fn second_edge_excess(a: Metres, b: Metres, c: Metres, heights: [Metres; 2], wavelength: Metres) -> Db {
    excess([a.0, b.0, c.0], heights.map(|height| height.0), wavelength.0)
}

fn excess(spans: [f64; 3], heights: [f64; 2], wavelength: f64) -> Db {
    dominant(spans, heights, wavelength, shadow_loss, BOTH_GRAZING).excess()
}

/// Twice the exact loss of a grazing edge, `40 log 2`, where the recommendation prints 12.
const BOTH_GRAZING: f64 = 12.041_199_826_559_248;

fn dominant(spans: [f64; 3], heights: [f64; 2], wavelength: f64, loss: EdgeLoss, both_grazing: f64) -> TwoEdges {
    // Two edges in one plane, or an edge in the plane of an end, are the limit of a tiny distance.
    let total = spans.iter().map(|span| span.max(0.0)).sum::<f64>();
    let [a, b, c] = spans.map(|span| span.max(total * 1e-12).max(f64::MIN_POSITIVE));
    let nus = [nu_of(heights[0], a, b + c, wavelength), nu_of(heights[1], a + b, c, wavelength)];
    let (first_is_main, p, q) = if nus[0] >= nus[1] { (true, nus[0], nus[1]) } else { (false, nus[1], nus[0]) };
    // The line from the main edge to the end beyond the other; from the ray itself when the main edge is below it.
    let second_nu = if first_is_main {
        nu_of(heights[1] - heights[0].max(0.0) * c / (b + c), b, c, wavelength)
    } else {
        nu_of(heights[0] - heights[1].max(0.0) * a / (a + b), a, b, wavelength)
    };
    let second = loss(second_nu);
    let weight = if p == 0.0 && q == 0.0 {
        1.0
    } else if p > 0.0 && q > 0.0 {
        libm::pow(q / p, 2.0 * p)
    } else if p < 0.0 && q < 0.0 {
        libm::pow(p / q, -2.0 * q)
    } else {
        0.0
    };
    let correction = if weight == 0.0 || second.0 == 0.0 {
        0.0
    } else {
        let alpha = libm::atan((b * (a + b + c) / (a * c)).sqrt());
        weight * (both_grazing - 20.0 * libm::log10(2.0 / (1.0 - alpha / std::f64::consts::PI)))
    };
    TwoEdges { main: loss(p), second, correction: Db(correction) }
}

/// The points of a profile that a string stretched from its first to its last point would touch, ends excluded.
///
/// `profile` holds (distance, height) in metres, by rising distance; the indices of the touched points replace the content
/// of `touched`, whose memory is used again. A profile of fewer than three points has none. Points in line with the string
/// are not touched. Source: the construction of ITU-R P.526-16, section 4.4.
pub fn stretched_string(profile: &[(f64, f64)], touched: &mut Vec<usize>) {
    touched.clear();
    for (index, point) in profile.iter().enumerate() {
        // The upper hull: drop points under the line from the one before them to the new one.
        while let [.., before, last] = touched[..] {
            let (x0, y0) = profile[before];
            let (x1, y1) = profile[last];
            if (y1 - y0) * (point.0 - x0) > (point.1 - y0) * (x1 - x0) {
                break;
            }
            touched.pop();
        }
        touched.push(index);
    }
    touched.pop();
    if !touched.is_empty() {
        touched.remove(0);
    }
}

/// Loss over any number of edges in a row.
///
/// The edge with the largest parameter on the whole path counts fully; on either side of it the largest remaining edge
/// adds what form (ii) of [`two_edges_dominant`] leaves of it, and so on inwards; an edge between two that already count
/// adds the less of what it would beside either. One edge gives [`shadow_loss`], two give form (ii), merging edges become
/// one, and no edge lowers the loss. Beside the exact integral over three and four edges it overstates, by 0.7 to 3.4 dB in
/// the cases of `tests/diffraction_tables.rs`. `edges` by rising distance; `total` is the length of the path. For a profile of many
/// points keep only those of [`stretched_string`].
///
/// Source: ITU-R P.526-16, section 4.3, applied again to the parts; the recommendation's own cascade (section 4.4) adds
/// the term of form (i), which grows without limit for edges close together, as a stall's two walls are.
pub fn cascade_loss(total: Metres, edges: &[ProfileEdge], wavelength: Metres) -> Db {
    let start = ProfileEdge { distance: Metres(0.0), height: Metres(0.0) };
    let end = ProfileEdge { distance: total, height: Metres(0.0) };
    let Some(main) = largest(edges, start, end, wavelength.0) else {
        return Db(0.0);
    };
    let edge = edges[main];
    let nu = nu_of(edge.height.0, edge.distance.0, total.0 - edge.distance.0, wavelength.0);
    let (before, after) = (Bound { at: start, beyond: None }, Bound { at: end, beyond: None });
    shadow_loss(nu)
        + inner_excess(&edges[..main], before, Bound { at: edge, beyond: Some(end) }, wavelength.0)
        + inner_excess(&edges[main + 1..], Bound { at: edge, beyond: Some(start) }, after, wavelength.0)
}

/// One end of a stretch of the path: an end of the path itself, or an edge that already counts with the next point beyond.
#[derive(Clone, Copy)]
struct Bound {
    at: ProfileEdge,
    beyond: Option<ProfileEdge>,
}

/// Height of an edge above the line between two points.
fn above(edge: ProfileEdge, from: ProfileEdge, to: ProfileEdge) -> f64 {
    let span = (to.distance - from.distance).0;
    let along = if span > 0.0 { (edge.distance - from.distance).0 / span } else { 0.0 };
    edge.height.0 - from.height.0 - (to.height - from.height).0 * along
}

/// The edge with the largest parameter on the line between two points.
fn largest(edges: &[ProfileEdge], from: ProfileEdge, to: ProfileEdge, wavelength: f64) -> Option<usize> {
    let nu = |edge: &ProfileEdge| {
        let (d1, d2) = ((edge.distance - from.distance).0, (to.distance - edge.distance).0);
        nu_of(above(*edge, from, to), d1, d2, wavelength)
    };
    let mut best: Option<(usize, f64)> = None;
    for (index, edge) in edges.iter().enumerate() {
        let nu = nu(edge);
        if best.is_none_or(|(_, greatest)| nu > greatest) {
            best = Some((index, nu));
        }
    }
    best.map(|(index, _)| index)
}

/// What the edges between two bounds add.
fn inner_excess(edges: &[ProfileEdge], from: Bound, to: Bound, wavelength: f64) -> Db {
    let Some(next) = largest(edges, from.at, to.at, wavelength) else {
        return Db(0.0);
    };
    let edge = edges[next];
    let beside_to = to.beyond.map(|beyond| excess_among([from.at, edge, to.at, beyond], wavelength).0);
    let beside_from = from.beyond.map(|beyond| excess_among([beyond, from.at, edge, to.at], wavelength).0);
    // At least one of the bounds is an edge.
    let added = beside_to.into_iter().chain(beside_from).fold(f64::INFINITY, f64::min);
    Db(added)
        + inner_excess(&edges[..next], from, Bound { at: edge, beyond: Some(to.at) }, wavelength)
        + inner_excess(&edges[next + 1..], Bound { at: edge, beyond: Some(from.at) }, to, wavelength)
}

/// The excess of the less important of the two middle points on the path between the outer ones.
fn excess_among(points: [ProfileEdge; 4], wavelength: f64) -> Db {
    let [first, left, right, last] = points;
    let spans = [left.distance - first.distance, right.distance - left.distance, last.distance - right.distance];
    excess(spans.map(|span| span.0), [above(left, first, last), above(right, first, last)], wavelength)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const WAVELENGTH: Metres = Metres(0.051_688);

    #[test]
    fn the_string_touches_the_hull_only() {
        let mut touched = vec![99];
        stretched_string(&[(0.0, 2.0), (10.0, 3.0), (20.0, 3.2), (30.0, 6.0), (40.0, 1.0), (50.0, 1.0)], &mut touched);
        assert_eq!(touched, [3]);
        stretched_string(&[(0.0, 0.0), (10.0, 5.0), (20.0, 4.0), (30.0, 5.0), (40.0, 0.0)], &mut touched);
        assert_eq!(touched, [1, 3]);
        for profile in [&[][..], &[(0.0, 1.0)], &[(0.0, 1.0), (5.0, 1.0)], &[(0.0, 1.0), (2.0, 1.0), (5.0, 1.0)]] {
            stretched_string(profile, &mut touched);
            assert!(touched.is_empty(), "{profile:?}");
        }
    }

    #[test]
    fn a_cascade_of_one_or_two_is_the_simpler_formula() {
        let edge = |distance: f64, height: f64| ProfileEdge { distance: Metres(distance), height: Metres(height) };
        assert_eq!(cascade_loss(Metres(50.0), &[], WAVELENGTH), Db(0.0));
        let one = cascade_loss(Metres(50.0), &[edge(10.0, 1.0)], WAVELENGTH);
        assert_eq!(one, shadow_loss(nu_of(1.0, 10.0, 40.0, WAVELENGTH.0)));
        let both = cascade_loss(Metres(50.0), &[edge(10.0, 1.0), edge(20.0, 0.9)], WAVELENGTH);
        let excess =
            second_edge_excess(Metres(10.0), Metres(10.0), Metres(30.0), [Metres(1.0), Metres(0.9)], WAVELENGTH);
        assert!((both - one - excess).0.abs() < 1e-12);
    }

    #[test]
    fn a_flat_roof_passes_the_ray_without_a_step() {
        let at = |height: f64| {
            let heights = [Metres(height), Metres(height)];
            second_edge_excess(Metres(12.0), Metres(6.0), Metres(32.0), heights, WAVELENGTH).0
        };
        let mut before = at(-1.0);
        assert!(before.abs() < 1e-12);
        for step in -10_000..10_000 {
            let now = at(f64::from(step) * 1e-4);
            assert!((now - before).abs() < 0.02, "{step}: {before} {now}");
            before = now;
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 2000, ..ProptestConfig::default() })]

        #[test]
        fn two_edges_never_help_and_read_the_same_backwards(
            a in 0.0..60.0f64, b in prop_oneof![Just(0.0), 1e-9..1e-3, 0.0..60.0f64], c in 0.0..60.0f64,
            h1 in prop_oneof![Just(0.0), -3.0..3.0f64], h2 in prop_oneof![Just(0.0), -3.0..3.0f64],
        ) {
            let there = second_edge_excess(Metres(a), Metres(b), Metres(c), [Metres(h1), Metres(h2)], WAVELENGTH).0;
            let back = second_edge_excess(Metres(c), Metres(b), Metres(a), [Metres(h2), Metres(h1)], WAVELENGTH).0;
            prop_assert!(there >= 0.0 && there.is_finite());
            prop_assert!((there - back).abs() < 1e-6 * (1.0 + there), "{there} {back}");
        }

        #[test]
        fn two_edges_that_meet_become_one(a in 1.0..60.0f64, c in 1.0..60.0f64, h in -2.0..2.0f64) {
            let excess = |b: f64| {
                second_edge_excess(Metres(a), Metres(b), Metres(c), [Metres(h), Metres(h)], WAVELENGTH).0
            };
            // The excess goes as the root of the distance.
            prop_assert!(excess(1e-8) < 0.01, "{}", excess(1e-8));
            prop_assert!(excess(0.0) < 0.001, "{}", excess(0.0));
        }

        #[test]
        fn a_cascade_is_reciprocal_and_no_edge_lowers_it(
            spans in prop::collection::vec(0.5..10.0f64, 2..6), heights in prop::collection::vec(-1.0..2.0f64, 6),
        ) {
            let mut distance = 0.0;
            let mut edges = Vec::new();
            for (span, height) in spans.iter().zip(&heights) {
                distance += span;
                edges.push(ProfileEdge { distance: Metres(distance), height: Metres(*height) });
            }
            let total = distance + 5.0;
            let mut mirrored: Vec<ProfileEdge> =
                edges.iter().map(|edge| ProfileEdge { distance: Metres(total - edge.distance.0), ..*edge }).collect();
            mirrored.reverse();
            let there = cascade_loss(Metres(total), &edges, WAVELENGTH).0;
            let back = cascade_loss(Metres(total), &mirrored, WAVELENGTH).0;
            prop_assert!((there - back).abs() < 1e-9 * (1.0 + there), "{there} {back}");
            for edge in &edges {
                let alone = cascade_loss(Metres(total), &[*edge], WAVELENGTH).0;
                prop_assert!(there >= alone - 1e-12, "{there} {alone}");
            }
        }
    }
}
