//! Means of a pattern over the whole sphere.

use super::model::SHORT_DIPOLE_DIRECTIVITY;
use crate::rf::Vec3;

/// Mean power gains over the sphere in the two components of the world; ratios, zero or more.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PartialGains {
    /// In the polar (vertical) component.
    pub vertical: f64,
    /// In the azimuthal (horizontal) component.
    pub horizontal: f64,
}

/// Rings of the quadrature, half of them mirrored.
const RINGS: usize = 16;
/// Directions on each ring: twice the rings, so that the cells near the equator are square and the jump of the vertical
/// component round the zenith averages out.
const SPOKES: usize = 2 * RINGS;
/// Squared cosines of the tilt at which the vertical part is integrated: 0, 1/4, ... 1.
const KNOTS: usize = 5;

/// Polynomial in the squared cosine of the tilt, lowest power first.
type Polynomial = [f64; KNOTS];

/// Mean gain over the sphere, and its vertical part as a function of the world's vertical in the antenna frame.
///
/// The vertical part is an even function of that direction and nearly band-limited: in the squared cosine `s` of the
/// angle to z a polynomial of degree 4 holds it, once with the vertical in the x-z plane and once in the y-z plane;
/// between these planes it runs with the squared cosine of the azimuth.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct SphereMeans {
    efficiency: f64,
    toward_x: Polynomial,
    toward_y: Polynomial,
}

/// Gauss-Legendre nodes and weights on [-1, 1]; the weights add up to 2.
fn gauss_legendre() -> [(f64, f64); RINGS] {
    let count = RINGS as f64;
    let mut nodes = [(0.0, 0.0); RINGS];
    for index in 0..RINGS / 2 {
        // Newton's method from the usual cosine guess; four steps reach the last bit.
        let mut node = libm::cos(std::f64::consts::PI * (index as f64 + 0.75) / (count + 0.5));
        let mut slope = 1.0;
        for _ in 0..5 {
            let (mut before, mut value) = (1.0, node);
            for order in 2..=RINGS {
                let order = order as f64;
                (before, value) = (value, ((2.0 * order - 1.0) * node * value - (order - 1.0) * before) / order);
            }
            slope = count * (node * value - before) / (node * node - 1.0);
            node -= value / slope;
        }
        let weight = 2.0 / ((1.0 - node * node) * slope * slope);
        nodes[index] = (node, weight);
        nodes[RINGS - 1 - index] = (-node, weight);
    }
    nodes
}

/// The polynomial of degree 4 through values at s = 0, 1/4, 1/2, 3/4, 1, by Newton's forward differences.
fn through(values: [f64; KNOTS]) -> Polynomial {
    let mut differences = values;
    for order in 1..KNOTS {
        for index in (order..KNOTS).rev() {
            differences[index] -= differences[index - 1];
        }
    }
    // Σ Δ_k t(t-1)...(t-k+1)/k! with t = 4 s, multiplied out.
    let mut polynomial = [0.0; KNOTS];
    let mut basis = [0.0; KNOTS];
    basis[0] = 1.0;
    let mut factorial = 1.0;
    for (order, difference) in differences.iter().enumerate() {
        for (coefficient, part) in polynomial.iter_mut().zip(basis) {
            *coefficient += difference * part / factorial;
        }
        let shift = order as f64;
        let mut next = [0.0; KNOTS];
        for index in 0..KNOTS {
            next[index] -= shift * basis[index];
            if index + 1 < KNOTS {
                next[index + 1] += 4.0 * basis[index];
            }
        }
        basis = next;
        factorial *= shift + 1.0;
    }
    polynomial
}

fn value_at(polynomial: &Polynomial, s: f64) -> f64 {
    polynomial.iter().rev().fold(0.0, |value, coefficient| value * s + coefficient)
}

/// What one direction adds to the vertical part: `along` is the direction's component along the vertical, `real` and
/// `imaginary` are those of the field.
fn vertical_part(power: f64, along: f64, real: f64, imaginary: f64) -> f64 {
    let room = 1.0 - along * along;
    // Straight up there is no vertical component; half of the power is the mean round the point.
    if room < 1e-9 { 0.5 * power } else { (real * real + imaginary * imaginary) / room }
}

/// Roots of the squared cosines at the knots. Read backward they are the sines.
fn knot_cosines() -> [f64; KNOTS] {
    std::array::from_fn(|knot| (knot as f64 / (KNOTS - 1) as f64).sqrt())
}

/// Sine and cosine of a spoke. Spokes lie half a step off the axes, so that mirror images of spokes are spokes.
fn spoke(index: usize) -> (f64, f64) {
    libm::sincos(std::f64::consts::TAU * (index as f64 + 0.5) / SPOKES as f64)
}

impl SphereMeans {
    /// Integrates a pattern that looks the same from every side of the z axis, given by the real and imaginary part of its
    /// field. It is asked once per ring only; the vertical goes round instead.
    pub(super) fn of_revolution(parts: impl Fn(&Vec3) -> (Vec3, Vec3)) -> Self {
        let cosines = knot_cosines();
        let spokes: [(f64, f64); SPOKES] = std::array::from_fn(spoke);
        let mut efficiency = 0.0;
        let mut vertical = [0.0; KNOTS];
        for (cosine, ring_weight) in gauss_legendre() {
            let direction = Vec3::new((1.0 - cosine * cosine).sqrt(), 0.0, cosine);
            let (real, imaginary) = parts(&direction);
            let power = real.norm_squared() + imaginary.norm_squared();
            efficiency += 0.5 * ring_weight * power;
            let weight = ring_weight / (2.0 * SPOKES as f64);
            for (sine_spoke, cosine_spoke) in spokes {
                for knot in 0..KNOTS {
                    let across = cosines[KNOTS - 1 - knot];
                    let up = Vec3::new(across * cosine_spoke, across * sine_spoke, cosines[knot]);
                    vertical[knot] +=
                        weight * vertical_part(power, up.dot(&direction), up.dot(&real), up.dot(&imaginary));
                }
            }
        }
        let polynomial = through(vertical);
        Self { efficiency, toward_x: polynomial, toward_y: polynomial }
    }

    /// Integrates a pattern round the x axis whose real and whose imaginary part are each their own mirror image, up to
    /// sign, in the x-y and in the x-z plane. A quarter of the sphere is asked; the mirrored verticals stand for the rest.
    pub(super) fn of_beam(parts: impl Fn(&Vec3) -> (Vec3, Vec3)) -> Self {
        let cosines = knot_cosines();
        let spokes: [(f64, f64); SPOKES / 4] = std::array::from_fn(spoke);
        let mut efficiency = 0.0;
        let mut toward_x = [0.0; KNOTS];
        let mut toward_y = [0.0; KNOTS];
        for (cosine, ring_weight) in gauss_legendre() {
            let sine = (1.0 - cosine * cosine).sqrt();
            // Four quarters; two mirrored verticals share each.
            let weight = ring_weight * 2.0 / SPOKES as f64;
            for (sine_spoke, cosine_spoke) in spokes {
                let direction = Vec3::new(cosine, sine * cosine_spoke, sine * sine_spoke);
                let (real, imaginary) = parts(&direction);
                let power = real.norm_squared() + imaginary.norm_squared();
                efficiency += weight * power;
                for knot in 0..KNOTS {
                    let across = cosines[KNOTS - 1 - knot];
                    for up_z in [cosines[knot], -cosines[knot]] {
                        let part = |level: fn(&Vec3) -> f64| {
                            let toward = |vector: &Vec3| across * level(vector) + up_z * vector.z;
                            vertical_part(power, toward(&direction), toward(&real), toward(&imaginary))
                        };
                        toward_x[knot] += 0.5 * weight * part(|vector| vector.x);
                        toward_y[knot] += 0.5 * weight * part(|vector| vector.y);
                    }
                }
            }
        }
        Self { efficiency, toward_x: through(toward_x), toward_y: through(toward_y) }
    }

    /// The short dipole in closed form: with the axis at `s = cos²` from the vertical, the vertical part is
    /// `(1 + 3 s)/4` of the whole. `gain` is the peak gain.
    pub(super) fn of_short_dipole(gain: f64) -> Self {
        let efficiency = gain / SHORT_DIPOLE_DIRECTIVITY;
        let mut line = [0.0; KNOTS];
        line[0] = 0.25 * efficiency;
        line[1] = 0.75 * efficiency;
        Self { efficiency, toward_x: line, toward_y: line }
    }

    /// A pattern of ellipses whose tilt is unknown: the mean over the tilt has half of the power in either component, in
    /// every direction and under every attitude.
    pub(super) fn of_unknown_tilt(efficiency: f64) -> Self {
        let mut half = [0.0; KNOTS];
        half[0] = 0.5 * efficiency;
        Self { efficiency, toward_x: half, toward_y: half }
    }

    /// The same shares of another mean, for one that is known better.
    pub(super) fn with_efficiency(self, efficiency: f64) -> Self {
        let scale = efficiency / self.efficiency;
        let scaled = |polynomial: Polynomial| polynomial.map(|coefficient| coefficient * scale);
        Self { efficiency, toward_x: scaled(self.toward_x), toward_y: scaled(self.toward_y) }
    }

    /// Mean power gain over the sphere.
    pub(super) fn efficiency(&self) -> f64 {
        self.efficiency
    }

    /// The two parts, with the world's unit vertical in the antenna frame.
    pub(super) fn partial_gains(&self, up: &Vec3) -> PartialGains {
        let s = (up.z * up.z).clamp(0.0, 1.0);
        let level = up.x * up.x + up.y * up.y;
        let share_x = if level > 1e-18 { up.x * up.x / level } else { 1.0 };
        let vertical = share_x * value_at(&self.toward_x, s) + (1.0 - share_x) * value_at(&self.toward_y, s);
        let vertical = vertical.clamp(0.0, self.efficiency);
        PartialGains { vertical, horizontal: self.efficiency - vertical }
    }
}
