//! One piece of the flight line: a quintic between two gates, and the choice of its second derivatives.

use crate::rf::Vec3;

/// Position and the first two derivatives by the piece's parameter.
#[derive(Clone, Copy, Debug)]
pub(super) struct Derivatives {
    pub position: Vec3,
    pub first: Vec3,
    pub second: Vec3,
}

/// A quintic over the parameter 0 to 1; `span` is the length it is expected to have, so that the speed along the
/// parameter, divided by `span`, is about one.
#[derive(Clone, Debug)]
pub(super) struct Piece {
    coefficients: [Vec3; 6],
    pub span: f64,
}

/// One end of a piece: position, first and second derivative by length.
#[derive(Clone, Copy, Debug)]
pub(super) struct PieceEnd {
    pub position: Vec3,
    pub direction: Vec3,
    pub bend: Vec3,
}

impl Piece {
    /// The quintic that has these two ends (Hermite interpolation; the coefficients follow from the six conditions).
    pub fn between(from: &PieceEnd, to: &PieceEnd, span: f64) -> Self {
        let chord = to.position - from.position;
        let (v0, v1) = (from.direction * span, to.direction * span);
        let (a0, a1) = (from.bend * (span * span), to.bend * (span * span));
        Self {
            coefficients: [
                from.position,
                v0,
                a0 * 0.5,
                chord * 10.0 - v0 * 6.0 - v1 * 4.0 - a0 * 1.5 + a1 * 0.5,
                chord * -15.0 + v0 * 8.0 + v1 * 7.0 + a0 * 1.5 - a1,
                (chord * 2.0 - v0 - v1) * 3.0 - (a0 - a1) * 0.5,
            ],
            span,
        }
    }

    /// Position and derivatives by the parameter at `u`, 0 to 1.
    pub fn at(&self, u: f64) -> Derivatives {
        let [c0, c1, c2, c3, c4, c5] = &self.coefficients;
        Derivatives {
            position: ((((c5 * u + c4) * u + c3) * u + c2) * u + c1) * u + c0,
            first: (((c5 * (5.0 * u) + c4 * 4.0) * u + c3 * 3.0) * u + c2 * 2.0) * u + c1,
            second: ((c5 * (20.0 * u) + c4 * 12.0) * u + c3 * 6.0) * u + c2 * 2.0,
        }
    }

    /// Length per unit of the parameter at `u`.
    pub fn speed(&self, u: f64) -> f64 {
        let [_, c1, c2, c3, c4, c5] = &self.coefficients;
        ((((c5 * (5.0 * u) + c4 * 4.0) * u + c3 * 3.0) * u + c2 * 2.0) * u + c1).norm()
    }

    /// Length between two parameters: five-point Gauss-Legendre rule, exact for polynomials of degree nine. Nodes and
    /// weights are those of the Legendre polynomial of degree five, `0, ±√(5 ∓ 2√(10/7))/3`, from memory; the weights
    /// add up to two and the lengths of a circle and of a straight line check them.
    pub fn length(&self, from: f64, to: f64) -> f64 {
        const INNER: (f64, f64) = (0.538_469_310_105_683_1, 0.478_628_670_499_366_47);
        const OUTER: (f64, f64) = (0.906_179_845_938_664, 0.236_926_885_056_189_08);
        const MIDDLE_WEIGHT: f64 = 0.568_888_888_888_888_9;
        let (middle, half) = ((from + to) * 0.5, (to - from) * 0.5);
        let mut sum = MIDDLE_WEIGHT * self.speed(middle);
        for (node, weight) in [INNER, OUTER] {
            sum += weight * (self.speed(middle - half * node) + self.speed(middle + half * node));
        }
        sum * half
    }
}

/// The length a smooth line between two gates is expected to have: that of a circular arc when both directions make
/// the same angle with the chord, the mean of the two arcs otherwise.
pub(super) fn expected_length(chord: &Vec3, from: &Vec3, to: &Vec3) -> f64 {
    // Beyond this angle the arc over its chord grows without bound, while a line of twice to three times the chord is
    // already long enough to swing round (common practice, no source).
    const WIDEST: f64 = 2.2;
    let arc_over_chord = |direction: &Vec3| {
        let angle = libm::atan2(direction.cross(chord).norm(), direction.dot(chord)).min(WIDEST);
        if angle < 1e-4 { 1.0 + angle * angle / 6.0 } else { angle / libm::sin(angle) }
    };
    chord.norm() * 0.5 * (arc_over_chord(from) + arc_over_chord(to))
}

/// Second derivatives at every gate of the closed line, `spans[i]` leading from end `i` to the next.
///
/// In plan they are the ones that make the third derivative continuous as well: equal third derivatives of the two
/// quintics that meet at a gate give one equation per gate,
/// `9 a_i (1/h₋ + 1/h₊) - 3 a_{i-1}/h₋ - 3 a_{i+1}/h₊ = J₊ - J₋`, where `J` are the terms that do not hold second
/// derivatives. The system is diagonally dominant by three to one, so forty rounds of Jacobi iteration leave an error of
/// 3⁻⁴⁰ ≈ 10⁻¹⁹.
///
/// In height they are held between zero and the smaller of the two that a cubic on either side would have, and are zero
/// where those differ in sign. The line is level at a gate, so its slope on a piece is `u(1-u)(a(1-u) + bu + cu(1-u))`
/// with `c = 30Δ - 2.5(a + b)`; with `a` and `b` between 0 and 6Δ no term changes sign and the height runs
/// monotonically from gate to gate: the line never dips under the lower one or rises over the higher one.
pub(super) fn bends(ends: &[PieceEnd], spans: &[f64]) -> Vec<Vec3> {
    const ROUNDS: usize = 40;
    let count = ends.len();
    let neighbours = |i: usize| ((i + count - 1) % count, (i + 1) % count);
    let right_side: Vec<Vec3> = (0..count)
        .map(|i| {
            let (before, after) = neighbours(i);
            let (left, right) = (spans[before], spans[i]);
            let direction = ends[i].direction;
            let jerk_right = (ends[after].position - ends[i].position) * (60.0 / (right * right * right))
                - (direction * 36.0 + ends[after].direction * 24.0) / (right * right);
            let jerk_left = (ends[i].position - ends[before].position) * (60.0 / (left * left * left))
                - (ends[before].direction * 24.0 + direction * 36.0) / (left * left);
            jerk_right - jerk_left
        })
        .collect();
    let mut current = vec![Vec3::zeros(); count];
    let mut next = current.clone();
    for _ in 0..ROUNDS {
        for i in 0..count {
            let (before, after) = neighbours(i);
            let (left, right) = (3.0 / spans[before], 3.0 / spans[i]);
            next[i] = (right_side[i] + current[before] * left + current[after] * right) / (3.0 * (left + right));
        }
        std::mem::swap(&mut current, &mut next);
    }
    for i in 0..count {
        let (before, after) = neighbours(i);
        let left = 6.0 * (ends[before].position.z - ends[i].position.z) / (spans[before] * spans[before]);
        let right = 6.0 * (ends[after].position.z - ends[i].position.z) / (spans[i] * spans[i]);
        current[i].z = if left > 0.0 && right > 0.0 {
            current[i].z.clamp(0.0, left.min(right))
        } else if left < 0.0 && right < 0.0 {
            current[i].z.clamp(left.max(right), 0.0)
        } else {
            0.0
        };
    }
    current
}

#[cfg(test)]
mod tests {
    use super::*;

    fn end(position: [f64; 3], direction: [f64; 3], bend: [f64; 3]) -> PieceEnd {
        PieceEnd { position: position.into(), direction: direction.into(), bend: bend.into() }
    }

    #[test]
    fn a_piece_has_the_ends_it_was_given() {
        let (from, to) =
            (end([1., 2., 3.], [0., 1., 0.], [0.2, 0., 0.1]), end([4., 7., 2.], [1., 0., 0.], [0., -0.3, 0.]));
        let span = 6.5;
        let piece = Piece::between(&from, &to, span);
        for (u, wanted) in [(0.0, from), (1.0, to)] {
            let got = piece.at(u);
            assert!((got.position - wanted.position).norm() < 1e-13);
            assert!((got.first / span - wanted.direction).norm() < 1e-13);
            assert!((got.second / (span * span) - wanted.bend).norm() < 1e-13);
            assert!((piece.speed(u) - got.first.norm()).abs() < 1e-13);
        }
    }

    #[test]
    fn a_straight_piece_is_as_long_as_its_chord() {
        let (from, to) = (end([0., 0., 1.], [0.6, 0.8, 0.], [0.; 3]), end([6., 8., 1.], [0.6, 0.8, 0.], [0.; 3]));
        let chord = to.position - from.position;
        let span = expected_length(&chord, &from.direction, &to.direction);
        assert!((span - 10.0).abs() < 1e-12);
        assert!((Piece::between(&from, &to, span).length(0.0, 1.0) - 10.0).abs() < 1e-12);
    }

    #[test]
    fn the_expected_length_of_a_half_circle_is_that_of_the_arc() {
        let got = expected_length(&Vec3::new(4.0, 0.0, 0.0), &Vec3::y(), &-Vec3::y());
        assert!((got - 2.0 * std::f64::consts::PI).abs() < 1e-12);
    }
}
