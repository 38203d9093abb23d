//! Electrical properties of building materials and of the ground.
//!
//! Source: ITU-R P.2040-4 (09/2025), table 3 and the equations above it: the real part of the relative permittivity is
//! `a f^b`, the conductivity `c f^d` in S/m, with `f` in gigahertz. Editions differ: in P.2040-1 (07/2015) concrete,
//! brick, plasterboard, glass and ceiling board have other numbers, and 200 mm of concrete lose 7 dB less at 5.8 GHz.

use std::fmt;
use std::ops::RangeInclusive;

use num_complex::Complex64;
use serde::{Deserialize, Serialize};

use crate::units::Hertz;

/// Frequencies at which a permittivity is computed at all; inside, each material has its own validated range
/// ([`Material::validity`]). Outside, the power laws of the table say nothing.
pub const COMPUTABLE: RangeInclusive<Hertz> = Hertz(1e6)..=Hertz(1e12);

/// `1 / (2 π ε0)` for a frequency in gigahertz: the imaginary part of the permittivity is this times the conductivity
/// over the frequency. The recommendation prints 17.98; exact with `ε0` = 8.854 187 8128e-12 F/m.
const CONDUCTIVITY_FACTOR: f64 = 1e-9 / (2.0 * std::f64::consts::PI * 8.854_187_812_8e-12);

/// A material of ITU-R P.2040-4, table 3.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Material {
    /// Concrete.
    Concrete,
    /// Brick.
    Brick,
    /// Plasterboard.
    Plasterboard,
    /// Wood.
    Wood,
    /// Window glass without a metal coating.
    Glass,
    /// Ceiling board.
    CeilingBoard,
    /// Chipboard.
    Chipboard,
    /// Plywood.
    Plywood,
    /// Marble.
    Marble,
    /// Floorboard; validated at 50 GHz and above only.
    Floorboard,
    /// Vinyl tile.
    VinylTile,
    /// Carpet tile.
    CarpetTile,
    /// Asphalt concrete.
    AsphaltConcrete,
    /// Metal; for this purpose a perfect conductor.
    Metal,
    /// Very dry ground.
    VeryDryGround,
    /// Medium dry ground.
    MediumDryGround,
    /// Wet ground.
    WetGround,
}

/// One row of the table: `a`, `b`, `c`, `d` and the validated range in gigahertz.
struct Row {
    a: f64,
    b: f64,
    c: f64,
    d: f64,
    from: f64,
    to: f64,
}

const fn row(a: f64, b: f64, c: f64, d: f64, from: f64, to: f64) -> Row {
    Row { a, b, c, d, from, to }
}

/// A relative permittivity `ε' - jε''`, and what to tell the reader about it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Permittivity {
    /// The relative permittivity; the imaginary part is zero or negative.
    pub value: Complex64,
    /// Set when the frequency is outside the range in which the source validated the material.
    pub caveat: Option<MaterialCaveat>,
}

/// A permittivity extrapolated beyond the range its source states.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error(
    "{material} at {:.0} MHz is extrapolated: the source states it from {:.0} to {:.0} MHz",
    frequency.megahertz(),
    material.validity().start().megahertz(),
    material.validity().end().megahertz()
)]
pub struct MaterialCaveat {
    /// The material.
    pub material: Material,
    /// The frequency it was asked for.
    pub frequency: Hertz,
}

/// Why no permittivity can be computed.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum MaterialError {
    /// The frequency is outside [`COMPUTABLE`], or not a number.
    #[error(
        "a frequency of {got} is outside {} to {}, where materials have properties",
        COMPUTABLE.start(),
        COMPUTABLE.end()
    )]
    Frequency {
        /// The frequency asked for.
        got: Hertz,
    },
}

impl Material {
    /// Every material, in the order of the table.
    pub const ALL: [Material; 17] = [
        Material::Concrete,
        Material::Brick,
        Material::Plasterboard,
        Material::Wood,
        Material::Glass,
        Material::CeilingBoard,
        Material::Chipboard,
        Material::Plywood,
        Material::Marble,
        Material::Floorboard,
        Material::VinylTile,
        Material::CarpetTile,
        Material::AsphaltConcrete,
        Material::Metal,
        Material::VeryDryGround,
        Material::MediumDryGround,
        Material::WetGround,
    ];

    /// The materials that can lie underfoot, the natural grounds first.
    pub const GROUNDS: [Material; 5] = [
        Material::VeryDryGround,
        Material::MediumDryGround,
        Material::WetGround,
        Material::AsphaltConcrete,
        Material::Concrete,
    ];

    const fn row(self) -> Row {
        match self {
            Material::Concrete => row(5.24, 0.0, 0.0462, 0.7822, 1.0, 100.0),
            Material::Brick => row(3.91, 0.0, 0.0238, 0.16, 1.0, 40.0),
            Material::Plasterboard => row(2.73, 0.0, 0.0085, 0.9395, 1.0, 100.0),
            Material::Wood => row(1.99, 0.0, 0.0047, 1.0718, 0.001, 100.0),
            Material::Glass => row(6.31, 0.0, 0.0036, 1.3394, 0.1, 100.0),
            Material::CeilingBoard => row(1.48, 0.0, 0.0011, 1.0750, 1.0, 100.0),
            Material::Chipboard => row(2.58, 0.0, 0.0217, 0.7800, 1.0, 100.0),
            Material::Plywood => row(2.71, 0.0, 0.33, 0.0, 1.0, 40.0),
            Material::Marble => row(7.074, 0.0, 0.0055, 0.9262, 1.0, 60.0),
            Material::Floorboard => row(3.66, 0.0, 0.0044, 1.3515, 50.0, 100.0),
            Material::VinylTile => row(3.62, 0.0, 0.0051, 0.8422, 1.0, 40.0),
            Material::CarpetTile => row(2.08, 0.0, 0.0009, 0.8200, 1.0, 40.0),
            Material::AsphaltConcrete => row(4.83, 0.0, 0.0108, 1.3969, 1.0, 40.0),
            Material::Metal => row(1.0, 0.0, 1e7, 0.0, 1.0, 100.0),
            Material::VeryDryGround => row(3.0, 0.0, 0.000_15, 2.52, 1.0, 10.0),
            Material::MediumDryGround => row(15.0, -0.1, 0.035, 1.63, 1.0, 10.0),
            Material::WetGround => row(30.0, -0.4, 0.15, 1.30, 1.0, 10.0),
        }
    }

    /// The frequencies for which the source states this material, ends included.
    pub fn validity(self) -> RangeInclusive<Hertz> {
        let row = self.row();
        Hertz(row.from * 1e9)..=Hertz(row.to * 1e9)
    }

    /// The caveat to show at this frequency, if it is outside [`Material::validity`].
    pub fn caveat(self, frequency: Hertz) -> Option<MaterialCaveat> {
        (!self.validity().contains(&frequency)).then_some(MaterialCaveat { material: self, frequency })
    }

    /// Conductivity in siemens per metre.
    ///
    /// # Errors
    /// When the frequency is outside [`COMPUTABLE`].
    pub fn conductivity(self, frequency: Hertz) -> Result<f64, MaterialError> {
        let gigahertz = checked(frequency)?;
        let row = self.row();
        Ok(power_law(row.c, row.d, gigahertz))
    }

    /// Relative permittivity `ε' - jε''` (time factor `e^{+jωt}`), with a caveat when the table is extrapolated.
    ///
    /// # Errors
    /// When the frequency is outside [`COMPUTABLE`].
    pub fn permittivity(self, frequency: Hertz) -> Result<Permittivity, MaterialError> {
        let gigahertz = checked(frequency)?;
        let row = self.row();
        let lossy = CONDUCTIVITY_FACTOR * power_law(row.c, row.d, gigahertz) / gigahertz;
        Ok(Permittivity {
            value: Complex64::new(power_law(row.a, row.b, gigahertz), -lossy),
            caveat: self.caveat(frequency),
        })
    }
}

fn checked(frequency: Hertz) -> Result<f64, MaterialError> {
    if COMPUTABLE.contains(&frequency) {
        Ok(frequency.0 / 1e9)
    } else {
        Err(MaterialError::Frequency { got: frequency })
    }
}

fn power_law(factor: f64, exponent: f64, gigahertz: f64) -> f64 {
    if exponent == 0.0 { factor } else { factor * libm::pow(gigahertz, exponent) }
}

impl fmt::Display for Material {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.pad(match self {
            Material::Concrete => "concrete",
            Material::Brick => "brick",
            Material::Plasterboard => "plasterboard",
            Material::Wood => "wood",
            Material::Glass => "glass",
            Material::CeilingBoard => "ceiling board",
            Material::Chipboard => "chipboard",
            Material::Plywood => "plywood",
            Material::Marble => "marble",
            Material::Floorboard => "floorboard",
            Material::VinylTile => "vinyl tile",
            Material::CarpetTile => "carpet tile",
            Material::AsphaltConcrete => "asphalt",
            Material::Metal => "metal",
            Material::VeryDryGround => "very dry ground",
            Material::MediumDryGround => "medium dry ground",
            Material::WetGround => "wet ground",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_range_ends_belong_and_beyond_comes_a_caveat() {
        for material in Material::ALL {
            let (from, to) = (*material.validity().start(), *material.validity().end());
            assert!(material.permittivity(from).unwrap().caveat.is_none());
            assert!(material.permittivity(to).unwrap().caveat.is_none());
            let beyond = material.permittivity(to * 1.001).unwrap();
            assert_eq!(beyond.caveat, Some(MaterialCaveat { material, frequency: to * 1.001 }));
        }
        let text = Material::Floorboard.caveat(Hertz(5.8e9)).unwrap().to_string();
        assert_eq!(text, "floorboard at 5800 MHz is extrapolated: the source states it from 50000 to 100000 MHz");
    }

    #[test]
    fn every_material_is_passive_wherever_it_is_computed() {
        for material in Material::ALL {
            for exponent in 6..=12 {
                let frequency = Hertz(libm::pow(10.0, f64::from(exponent)));
                let value = material.permittivity(frequency).unwrap().value;
                assert!(value.re > 0.0 && value.im <= 0.0, "{material} {frequency} {value}");
            }
        }
    }

    #[test]
    fn a_frequency_that_is_none_is_refused() {
        for bad in [0.0, -1.0, f64::NAN, f64::INFINITY, 0.999e6] {
            assert!(matches!(Material::Brick.permittivity(Hertz(bad)), Err(MaterialError::Frequency { .. })));
        }
    }

    #[test]
    fn stored_names_are_plain() {
        assert_eq!(serde_json::to_string(&Material::MediumDryGround).unwrap(), "\"medium_dry_ground\"");
    }
}
