//! The Marcum function of first order and the modified Bessel functions, by our own code so that they have the same bits
//! everywhere.
//!
//! With `x = a²/2`, `y = b²/2`, `Q1(a, b)` is the probability that a Poisson number of mean `y` does not exceed one of mean
//! `x`. Both tails therefore are double sums of positive terms, in which nothing cancels; for large `√(xy)` the expansion
//! below takes their place. Checked against `tests/reference/special.csv`.

use std::f64::consts::PI;

/// `2√(xy)` from which the asymptotic expansion is used; there its ten terms leave less than 1e-14 of the result.
const EXPANSION_FROM: f64 = 60.0;

/// Terms of the Poisson sums: for `2√(xy) ≤ 60` the last needed lies below 130.
const MOST_TERMS: usize = 192;

/// `1/n`, so that the sums have no divisions in their chain of products.
const RECIPROCALS: [f64; MOST_TERMS] = {
    let mut table = [0.0; MOST_TERMS];
    let mut n = 1;
    while n < MOST_TERMS {
        table[n] = 1.0 / n as f64;
        n += 1;
    }
    table
};

/// Squared distance `(√x - √y)²` beyond which the smaller tail, at most `e` to the minus that, counts as zero.
const NEGLIGIBLE: f64 = 600.0;

/// `Q1(a, b) = ∫_b^∞ t e^{-(t²+a²)/2} I0(at) dt`; one for `b = 0`. Arguments without their sign.
pub fn marcum_q1(a: f64, b: f64) -> f64 {
    both(a, b).1
}

/// `1 - Q1(a, b)`, with its own digits when it is small.
pub fn one_minus_marcum_q1(a: f64, b: f64) -> f64 {
    both(a, b).0
}

fn both(a: f64, b: f64) -> (f64, f64) {
    let (a, b) = (a.abs(), b.abs());
    if a.is_infinite() || b.is_infinite() {
        return if b > a { (1.0, 0.0) } else { (0.0, 1.0) };
    }
    tails(a * a / 2.0, b * b / 2.0, (a - b) * std::f64::consts::FRAC_1_SQRT_2)
}

/// `(1 - Q1, Q1)` for `x = a²/2`, `y = b²/2` and `gap = √x - √y`. Whichever is small keeps its relative accuracy.
pub(super) fn tails(x: f64, y: f64, gap: f64) -> (f64, f64) {
    let exponent = gap * gap;
    if exponent > NEGLIGIBLE {
        return if gap > 0.0 { (0.0, 1.0) } else { (1.0, 0.0) };
    }
    let xi = 2.0 * (x * y).sqrt();
    if xi > EXPANSION_FROM {
        return if gap >= 0.0 {
            let below = far_tail(xi, (y / x).sqrt(), gap);
            (below, 1.0 - below)
        } else {
            let above = far_tail(xi, (y / x).sqrt(), gap);
            (1.0 - above, above)
        };
    }
    // The smaller tail; up to `y = x + 1` the lower one is at most about two thirds.
    if y < x + 1.0 {
        let below = more_than(x, y);
        (below, (1.0 - below).max(0.0))
    } else {
        let above = at_most(x, y);
        (1.0 - above, above)
    }
}

/// `Σ_{m≥1} p(m; y) Σ_{n<m} p(n; x)`: the Poisson number of mean `y` is the greater one.
fn more_than(x: f64, y: f64) -> f64 {
    let (mut of_y, mut of_x) = (libm::exp(-x - y), 1.0);
    let (mut cumulated, mut sum) = (0.0, 0.0);
    for reciprocal in &RECIPROCALS[1..] {
        of_y *= y * reciprocal;
        cumulated += of_x;
        of_x *= x * reciprocal;
        let term = of_y * cumulated;
        sum += term;
        // Past the largest term they fall at least geometrically; `of_y` alone decides, as `cumulated` is then near its
        // end. While the terms rise, none is this small beside their sum.
        if term < sum * 1e-17 {
            break;
        }
    }
    sum
}

/// `Σ_{n≥0} p(n; x) Σ_{m≤n} p(m; y)`: the Poisson number of mean `y` is not the greater one.
fn at_most(x: f64, y: f64) -> f64 {
    let (mut of_x, mut of_y) = (libm::exp(-x - y), 1.0);
    let (mut cumulated, mut sum) = (1.0, of_x);
    for reciprocal in &RECIPROCALS[1..] {
        of_x *= x * reciprocal;
        of_y *= y * reciprocal;
        cumulated += of_y;
        let term = of_x * cumulated;
        sum += term;
        if term < sum * 1e-17 {
            break;
        }
    }
    sum
}

/// `a_n(ν) = (4ν²-1)(4ν²-9)...(4ν²-(2n-1)²) / (n! 8ⁿ)` for ν = 0 and 1, with the alternating sign of the expansion
/// `I_ν(t) ~ e^t/√(2πt) Σ (-1)ⁿ a_n(ν) t⁻ⁿ`.
const fn bessel_expansion<const N: usize>(order: f64) -> [f64; N] {
    let mut table = [1.0; N];
    let mut n = 1;
    while n < N {
        let odd = 2.0 * n as f64 - 1.0;
        table[n] = -table[n - 1] * (4.0 * order * order - odd * odd) / (8.0 * n as f64);
        n += 1;
    }
    table
}

const TERMS: usize = 11;
const OF_I0: [f64; TERMS] = bessel_expansion(0.0);
const OF_I1: [f64; TERMS] = bessel_expansion(1.0);

/// The smaller tail for large `ξ = 2√(xy)`: `1 - Q1` for `ρ = √(y/x) ≤ 1`, else `Q1`.
///
/// Along a line of fixed `ρ` the derivative of `Q1` is `½ e^{-(σ+1)ξ} (I1(ξ) - ρ I0(ξ))`, `σ + 1 = (ρ + 1/ρ)/2`. Put the
/// Bessel functions' expansions in and integrate from `ξ` to infinity: `φ_n = ∫_ξ^∞ e^{-σt} t^{-n-1/2} dt` follows from
/// `φ_{n-1}` by parts, and `φ_0` is an error function of `√(σξ) = |√x - √y|`. Source: the method of Temme (1993), derived
/// anew here.
fn far_tail(xi: f64, rho: f64, gap: f64) -> f64 {
    let delta = gap.abs();
    let root_xi = xi.sqrt();
    let sigma = delta * delta / xi;
    let error = libm::erfc(delta);
    let bell = libm::exp(-delta * delta);
    // σ φ_0 = √(πσ) erfc δ; the first term's factor (1-ρ)/√σ is √(2ρ).
    let mut sigma_phi = PI.sqrt() * delta / root_xi * error;
    let mut inverse_power = root_xi;
    let mut sum = 0.0;
    for n in 1..TERMS {
        inverse_power /= xi;
        let phi = (bell * inverse_power - sigma_phi) / (n as f64 - 0.5);
        sum += (OF_I1[n] - rho * OF_I0[n]) * phi;
        sigma_phi = sigma * phi;
    }
    let sum = if gap < 0.0 { -sum } else { sum };
    (0.5 * rho.sqrt() * error + sum / (2.0 * (2.0 * PI).sqrt())).max(0.0)
}

/// From here the Bessel functions' expansion is used; below, their power series.
const BESSEL_EXPANSION_FROM: f64 = 30.0;

/// `e^{-|x|} I0(x)`, the modified Bessel function of order zero without its growth. One at zero.
pub fn bessel_i0_scaled(x: f64) -> f64 {
    let size = x.abs();
    if size < BESSEL_EXPANSION_FROM {
        let quarter = size * size / 4.0;
        let (mut term, mut sum) = (1.0, 1.0);
        for reciprocal in &RECIPROCALS[1..] {
            term *= quarter * (reciprocal * reciprocal);
            sum += term;
            if term < sum * 1e-17 {
                break;
            }
        }
        sum * libm::exp(-size)
    } else {
        expansion(&BESSEL_I0, size)
    }
}

/// `e^{-|x|} I1(x)`, the modified Bessel function of order one without its growth; odd.
pub fn bessel_i1_scaled(x: f64) -> f64 {
    let size = x.abs();
    let value = if size < BESSEL_EXPANSION_FROM {
        let quarter = size * size / 4.0;
        let (mut term, mut sum) = (1.0, 1.0);
        for pair in RECIPROCALS[1..].windows(2) {
            term *= quarter * (pair[0] * pair[1]);
            sum += term;
            if term < sum * 1e-17 {
                break;
            }
        }
        size / 2.0 * sum * libm::exp(-size)
    } else {
        expansion(&BESSEL_I1, size)
    };
    if x < 0.0 { -value } else { value }
}

const BESSEL_TERMS: usize = 20;
const BESSEL_I0: [f64; BESSEL_TERMS] = bessel_expansion(0.0);
const BESSEL_I1: [f64; BESSEL_TERMS] = bessel_expansion(1.0);

fn expansion(coefficients: &[f64; BESSEL_TERMS], x: f64) -> f64 {
    let inverse = 1.0 / x;
    coefficients.iter().rev().fold(0.0, |sum, coefficient| sum * inverse + coefficient) / (2.0 * PI * x).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sums_and_expansion_agree_where_they_meet() {
        for ratio in [0.5, 0.8, 0.97, 1.0, 1.02, 1.3, 1.9] {
            let at = |xi: f64| {
                let (x, y) = (xi / (2.0 * ratio), xi * ratio / 2.0);
                tails(x, y, x.sqrt() - y.sqrt())
            };
            let (below, above) = (at(EXPANSION_FROM * (1.0 - 1e-13)), at(EXPANSION_FROM * (1.0 + 1e-13)));
            assert!((below.0 / above.0 - 1.0).abs() < 2e-11, "{ratio}: {below:?} {above:?}");
            assert!((below.1 / above.1 - 1.0).abs() < 2e-11, "{ratio}: {below:?} {above:?}");
        }
        for bessel in [bessel_i0_scaled, bessel_i1_scaled] {
            let (below, above) = (bessel(BESSEL_EXPANSION_FROM * (1.0 - 1e-15)), bessel(BESSEL_EXPANSION_FROM));
            assert!((below / above - 1.0).abs() < 1e-13, "{below} {above}");
        }
    }

    #[test]
    fn on_the_diagonal_there_is_a_closed_form() {
        // Q1(a, a) = (1 + e^{-a²} I0(a²)) / 2.
        for a in [0.0, 0.3, 1.0, 4.0, 7.7, 7.8, 30.0, 1e4, 1e8] {
            let expected = (1.0 + bessel_i0_scaled(a * a)) / 2.0;
            assert!((marcum_q1(a, a) - expected).abs() < 1e-13, "{a}: {} {expected}", marcum_q1(a, a));
        }
        assert_eq!(marcum_q1(f64::INFINITY, 3.0), 1.0);
        assert_eq!(marcum_q1(3.0, f64::INFINITY), 0.0);
    }
}
