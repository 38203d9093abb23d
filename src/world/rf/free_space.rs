//! Loss and field of a wave in free space.

use super::SPEED_OF_LIGHT;
use crate::units::{Db, Hertz, Metres};

const FOUR_PI: f64 = 4.0 * std::f64::consts::PI;

/// Wavelength in vacuum. `frequency` is greater than zero; zero gives infinity.
pub fn wavelength(frequency: Hertz) -> Metres {
    Metres(SPEED_OF_LIGHT / frequency.0)
}

/// Wavenumber `k = 2π/λ` in radians per metre.
pub fn wavenumber(frequency: Hertz) -> f64 {
    std::f64::consts::TAU * frequency.0 / SPEED_OF_LIGHT
}

/// Field of a path of unit antennas relative to the transmitter, `λ/(4πd)`, without its phase.
///
/// The square is the power ratio between isotropic antennas. Distances under one wavelength count as one wavelength:
/// nearer than that the antennas are in each other's near field, and the formula would promise more power than was sent.
/// Source: ITU-R P.525-5, eq. (5), as a field ratio.
pub fn field_factor(distance: Metres, frequency: Hertz) -> f64 {
    let wavelength = wavelength(frequency).0;
    wavelength / (FOUR_PI * distance.0.max(wavelength))
}

/// Basic transmission loss of free space between isotropic antennas, `20 log10(4πd/λ)`.
///
/// Distances under one wavelength count as one wavelength, so that the loss is never below 21.98 dB
/// (see [`field_factor`]). Source: ITU-R P.525-5, eq. (5). Checked in `tests/free_space.rs`.
pub fn basic_transmission_loss(distance: Metres, frequency: Hertz) -> Db {
    Db(-20.0 * libm::log10(field_factor(distance, frequency)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_loss_never_falls_under_that_of_one_wavelength() {
        let frequency = Hertz(5.8e9);
        let limit = basic_transmission_loss(wavelength(frequency), frequency);
        assert!((limit.0 - 20.0 * 1.099_209_864_022_090_3).abs() < 1e-9, "{limit}");
        for distance in [0.0, 1e-9, 0.05, -3.0] {
            assert_eq!(basic_transmission_loss(Metres(distance), frequency), limit);
        }
    }

    #[test]
    fn the_wavenumber_turns_once_per_wavelength() {
        let frequency = Hertz(2.44e9);
        let turn = wavenumber(frequency) * wavelength(frequency).0;
        assert!((turn - std::f64::consts::TAU).abs() < 1e-12);
    }
}
