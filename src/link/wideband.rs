//! A channel that is wide against what the paths' delays differ by: delay spread, and what is left of interference.

use std::f64::consts::PI;

use super::paths::CarriedPath;
use crate::rf::SPEED_OF_LIGHT;
use crate::units::{Hertz, Metres, Seconds};

/// Root-mean-square spread of the paths' delays, weighted by their powers; zero for no power at all.
///
/// `powers` has one item per path. Only paths that were traced count: the scatter that no one drew has no delay of its
/// own here, as in [`super::hear`].
pub fn delay_spread(paths: &[CarriedPath], powers: &[f64]) -> Seconds {
    let total: f64 = powers.iter().sum();
    if total <= 0.0 {
        return Seconds(0.0);
    }
    let mean_of = |what: &dyn Fn(f64) -> f64| -> f64 {
        paths.iter().zip(powers).map(|(path, power)| what(path.length) * power).sum::<f64>() / total
    };
    let mean = mean_of(&|length| length);
    // About the mean, not the difference of squares, in which nearly equal lengths would cancel.
    Seconds(mean_of(&|length| (length - mean) * (length - mean)).sqrt() / SPEED_OF_LIGHT)
}

/// `sinc(Bτ)`: what is left of the interference of two paths whose lengths differ by so much, averaged over a flat channel.
pub fn channel_coherence(bandwidth: Hertz, detour: Metres) -> f64 {
    let turns = PI * bandwidth.0 * detour.0 / SPEED_OF_LIGHT;
    if turns.abs() < 1e-6 { 1.0 } else { libm::sin(turns) / turns }
}

#[cfg(test)]
mod tests {
    use nalgebra::Matrix3;
    use num_complex::Complex64;

    use super::*;
    use crate::rf::Vec3;

    fn paths(lengths: &[f64]) -> Vec<CarriedPath> {
        lengths
            .iter()
            .enumerate()
            .map(|(traced, &length)| CarriedPath {
                depart: Vec3::x(),
                arrive: Vec3::x(),
                transfer: Matrix3::from_diagonal_element(Complex64::new(1.0, 0.0)),
                length,
                obstruction: 1.0,
                traced,
            })
            .collect()
    }

    #[test]
    fn two_paths_spread_as_worked_out_by_hand() {
        // Delays of 100 and 160 ns with powers 4 to 1: mean 112 ns, √(0.8·12² + 0.2·48²) = 24 ns.
        let lengths = [100e-9 * SPEED_OF_LIGHT, 160e-9 * SPEED_OF_LIGHT];
        let spread = delay_spread(&paths(&lengths), &[4e-9, 1e-9]);
        assert!((spread.0 - 24e-9).abs() < 1e-20, "{spread}");
    }

    #[test]
    fn one_path_and_no_power_spread_nothing() {
        assert_eq!(delay_spread(&paths(&[37.3]), &[1e-9]), Seconds(0.0));
        assert_eq!(delay_spread(&paths(&[37.3, 40.0]), &[0.0, 0.0]), Seconds(0.0));
        assert_eq!(delay_spread(&[], &[]), Seconds(0.0));
        // A nanometre of detour keeps its digits.
        let spread = delay_spread(&paths(&[100.0, 100.0 + 2e-9]), &[1.0, 1.0]).0 * SPEED_OF_LIGHT;
        assert!((spread - 1e-9).abs() < 2e-14, "{spread}");
    }

    #[test]
    fn a_channel_as_wide_as_one_over_the_delay_averages_the_interference_away() {
        assert_eq!(channel_coherence(Hertz(20e6), Metres(0.0)), 1.0);
        assert!(channel_coherence(Hertz(20e6), Metres(SPEED_OF_LIGHT / 20e6)).abs() < 1e-15);
        assert!((channel_coherence(Hertz(20e6), Metres(-SPEED_OF_LIGHT / 40e6)) - 2.0 / PI).abs() < 1e-15);
    }
}
