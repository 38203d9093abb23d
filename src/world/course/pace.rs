//! How fast the line is flown.

use std::ops::RangeInclusive;

use super::error::CourseError;
use crate::units::{MetresPerSecond, MetresPerSecondSquared, Seconds};

/// Lap times that can be asked for: from below the shortest indoor lap to longer than a battery lasts.
pub const LAP_TIME: RangeInclusive<Seconds> = Seconds(0.5)..=Seconds(1800.0);

/// Top speeds that can be asked for; the upper end is beyond every racing aircraft (common practice, no source).
pub const TOP_SPEED: RangeInclusive<MetresPerSecond> = MetresPerSecond(0.1)..=MetresPerSecond(100.0);

/// Sideways and forward acceleration limits that can be asked for; the upper end is about twenty times gravity, beyond
/// every racing aircraft (common practice, no source).
pub const ACCELERATION: RangeInclusive<MetresPerSecondSquared> =
    MetresPerSecondSquared(0.1)..=MetresPerSecondSquared(200.0);

/// Distance over which the acceleration along the line swings from one value to another, metres: the aircraft must pitch
/// first, which takes a tenth of a second or two (common practice, no source).
const SWING: f64 = 1.5;

/// What the aircraft and its pilot can do.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Greatest speed, within [`TOP_SPEED`].
    pub top_speed: MetresPerSecond,
    /// Greatest acceleration across the line, speed squared times curvature, within [`ACCELERATION`].
    pub sideways_acceleration: MetresPerSecondSquared,
    /// Greatest acceleration along the line, speeding up or braking, within [`ACCELERATION`].
    pub forward_acceleration: MetresPerSecondSquared,
}

impl Default for Limits {
    /// A club pilot on a small course: 18 m/s, 20 m/s² across, 8 m/s² along (common practice, no source).
    fn default() -> Self {
        Self {
            top_speed: MetresPerSecond(18.0),
            sideways_acceleration: MetresPerSecondSquared(20.0),
            forward_acceleration: MetresPerSecondSquared(8.0),
        }
    }
}

/// How the speed along the line is chosen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Pace {
    /// One lap takes this long, within [`LAP_TIME`]: the speeds of the default [`Limits`], all scaled alike.
    LapTime(Seconds),
    /// As fast as the limits allow.
    Limits(Limits),
}

impl Pace {
    pub(super) fn check(&self) -> Result<(), CourseError> {
        match *self {
            Self::LapTime(got) if !LAP_TIME.contains(&got) => Err(CourseError::LapTime { got }),
            Self::LapTime(_) => Ok(()),
            Self::Limits(limits) => {
                let got = limits.top_speed;
                if !TOP_SPEED.contains(&got) {
                    return Err(CourseError::TopSpeed { got });
                }
                for (got, direction) in
                    [(limits.sideways_acceleration, "sideways"), (limits.forward_acceleration, "forward")]
                {
                    if !ACCELERATION.contains(&got) {
                        return Err(CourseError::Acceleration { got, direction });
                    }
                }
                Ok(())
            }
        }
    }

    /// Squared speed, m²/s², at nodes `spacing` metres apart round the closed line, from the curvature (1/m) there.
    pub(super) fn squared_speeds(&self, curvatures: &[f64], spacing: f64) -> Vec<f64> {
        match *self {
            Self::Limits(limits) => limits.squared_speeds(curvatures, spacing),
            Self::LapTime(wanted) => {
                let mut squares = Limits::default().squared_speeds(curvatures, spacing);
                let factor = durations(&squares, spacing).sum::<f64>() / wanted.0;
                squares.iter_mut().for_each(|square| *square *= factor * factor);
                squares
            }
        }
    }
}

impl Limits {
    /// The fastest profile within the limits whose acceleration along the line is continuous.
    ///
    /// First the classic two passes: the bound of top speed and turn at every node, then forward and backward round the
    /// closed line from its slowest node, so that the squared speed changes by no more than twice the acceleration times
    /// the distance. That profile's acceleration jumps. So take its moving minimum and then the moving mean over the same
    /// window: the mean of minima is nowhere above the profile itself and nowhere steeper, so every limit still holds,
    /// and its slope, twice the acceleration, is continuous.
    fn squared_speeds(&self, curvatures: &[f64], spacing: f64) -> Vec<f64> {
        let count = curvatures.len();
        let top = self.top_speed.0 * self.top_speed.0;
        let sideways = self.sideways_acceleration.0;
        // Multiplied out, so that no curvature divides by zero.
        let mut squares: Vec<f64> = curvatures
            .iter()
            .map(|curvature| if sideways < top * curvature { sideways / curvature } else { top })
            .collect();
        let rise = 2.0 * self.forward_acceleration.0 * spacing;
        let slowest = (0..count).fold(0, |best, node| if squares[node] < squares[best] { node } else { best });
        let mut last = squares[slowest];
        for node in (slowest..count).chain(0..slowest) {
            last = squares[node].min(last + rise);
            squares[node] = last;
        }
        for node in (0..=slowest).rev().chain((slowest + 1..count).rev()) {
            last = squares[node].min(last + rise);
            squares[node] = last;
        }
        let reach = ((SWING / 2.0 / spacing) as usize).min(count.saturating_sub(1) / 2);
        let minima = over_window(&squares, reach, |window| window.iter().copied().fold(f64::INFINITY, f64::min));
        let share = 1.0 / (2 * reach + 1) as f64;
        over_window(&minima, reach, |window| window.iter().sum::<f64>() * share)
    }
}

/// `reduce` of the `2 reach + 1` values round every value of a closed row.
fn over_window(row: &[f64], reach: usize, reduce: impl Fn(&[f64]) -> f64) -> Vec<f64> {
    let count = row.len();
    let mut unrolled = Vec::with_capacity(count + 2 * reach);
    unrolled.extend_from_slice(&row[count - reach..]);
    unrolled.extend_from_slice(row);
    unrolled.extend_from_slice(&row[..reach]);
    unrolled.windows(2 * reach + 1).map(reduce).collect()
}

/// Time from every node to the next round the closed line, seconds: the squared speed runs straight between nodes, so
/// the mean of the two speeds is exact.
pub(super) fn durations(squares: &[f64], spacing: f64) -> impl Iterator<Item = f64> {
    let first = squares[0].sqrt();
    let mut speed = first;
    squares[1..].iter().map(|square| square.sqrt()).chain(std::iter::once(first)).map(move |next| {
        let duration = 2.0 * spacing / (speed + next);
        speed = next;
        duration
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_sharp_turn_brakes_both_ways_round_the_closing() {
        let limits = Limits::default();
        let (count, spacing) = (1000, 0.1);
        for turn in [0, 3, 500, 999] {
            let mut curvatures = vec![0.0; count];
            curvatures[turn] = 2.0;
            let squares = limits.squared_speeds(&curvatures, spacing);
            assert!(squares[turn] <= 10.0 && squares[turn] > 9.9, "{}", squares[turn]);
            for (i, square) in squares.iter().enumerate() {
                let change = (squares[(i + 1) % count] - square) / spacing / 2.0;
                assert!(change.abs() <= limits.forward_acceleration.0 * (1.0 + 1e-9));
                assert!((square - squares[(2 * turn + count - i) % count]).abs() < 1e-9, "not the same both ways");
            }
            assert!((squares[(turn + 500) % count].sqrt() - 18.0).abs() < 1e-9, "top speed is reached");
        }
    }

    #[test]
    fn even_speed_takes_distance_over_speed() {
        let squares = vec![25.0; 40];
        assert!((durations(&squares, 0.5).sum::<f64>() - 4.0).abs() < 1e-12);
        assert_eq!(durations(&[25.0], 10.0).sum::<f64>(), 2.0);
    }
}
