//! Quantities with their units: ratios and levels in decibels, frequencies, lengths, powers and angles.
//!
//! A type has only the operators that make physical sense. A level plus a ratio is a level, the difference of two levels
//! is a ratio; two levels cannot be added, because signals add in watts ([`Dbm::power_sum`]):
//!
//! ```compile_fail
//! use lapmargin::units::Dbm;
//! let nonsense = Dbm(3.0) + Dbm(3.0);
//! ```
//!
//! ```
//! use lapmargin::units::{Db, Dbi, Dbm};
//! let level = Dbm(14.0) + Dbi(2.0) - Db(60.0);
//! assert_eq!(level, Dbm(-44.0));
//! assert_eq!(level - Dbm(-85.0), Db(41.0));
//! ```

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

use serde::{Deserialize, Serialize};

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $unit:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub f64);

        impl fmt::Display for $name {
            fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
                if let Some(precision) = formatter.precision() {
                    write!(formatter, concat!("{:.*} ", $unit), precision, self.0)
                } else {
                    write!(formatter, concat!("{} ", $unit), self.0)
                }
            }
        }
    };
}

macro_rules! linear {
    ($name:ident) => {
        impl Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }
        impl Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }
        impl Neg for $name {
            type Output = Self;
            fn neg(self) -> Self {
                Self(-self.0)
            }
        }
        impl AddAssign for $name {
            fn add_assign(&mut self, other: Self) {
                self.0 += other.0;
            }
        }
        impl SubAssign for $name {
            fn sub_assign(&mut self, other: Self) {
                self.0 -= other.0;
            }
        }
        impl Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self(self.0 * factor)
            }
        }
        impl Div<f64> for $name {
            type Output = Self;
            fn div(self, divisor: f64) -> Self {
                Self(self.0 / divisor)
            }
        }
        /// The pure ratio of two like quantities.
        impl Div for $name {
            type Output = f64;
            fn div(self, other: Self) -> f64 {
                self.0 / other.0
            }
        }
        impl Sum for $name {
            fn sum<I: Iterator<Item = Self>>(items: I) -> Self {
                items.fold(Self(0.0), Add::add)
            }
        }
    };
}

quantity!(
    /// A power ratio, in decibels. As a loss it is positive when it costs level.
    Db, "dB"
);
quantity!(
    /// A power level, in decibels above one milliwatt.
    Dbm, "dBm"
);
quantity!(
    /// An antenna's gain over an isotropic radiator of the same total power, in decibels, both polarizations together.
    Dbi, "dBi"
);
quantity!(
    /// A frequency or a bandwidth, in hertz.
    Hertz, "Hz"
);
quantity!(
    /// A length, in metres.
    Metres, "m"
);
quantity!(
    /// A power, in watts.
    Watts, "W"
);
quantity!(
    /// A power density, in watts per square metre.
    WattsPerSquareMetre, "W/m²"
);
quantity!(
    /// A duration, in seconds.
    Seconds, "s"
);
quantity!(
    /// A speed, in metres per second.
    MetresPerSecond, "m/s"
);
quantity!(
    /// An acceleration, in metres per second squared.
    MetresPerSecondSquared, "m/s²"
);
quantity!(
    /// An angle, in degrees.
    Degrees, "°"
);
quantity!(
    /// An angle, in radians.
    Radians, "rad"
);

linear!(Db);
linear!(Hertz);
linear!(Metres);
linear!(Watts);
linear!(WattsPerSquareMetre);
linear!(Seconds);
linear!(MetresPerSecond);
linear!(Degrees);
linear!(Radians);

impl Db {
    /// The decibels of a power ratio. Zero gives minus infinity, a negative ratio NaN.
    pub fn from_ratio(ratio: f64) -> Self {
        Self(10.0 * libm::log10(ratio))
    }

    /// The power ratio of these decibels.
    pub fn ratio(self) -> f64 {
        libm::exp(self.0 * (std::f64::consts::LN_10 / 10.0))
    }

    /// The amplitude (field) ratio of these decibels: the square root of [`Db::ratio`].
    pub fn amplitude(self) -> f64 {
        libm::exp(self.0 * (std::f64::consts::LN_10 / 20.0))
    }
}

impl Dbm {
    /// The level of a power; zero watts give minus infinity.
    pub fn from_watts(power: Watts) -> Self {
        Self(10.0 * libm::log10(power.0) + 30.0)
    }

    /// The power of this level.
    pub fn to_watts(self) -> Watts {
        Watts(Db(self.0 - 30.0).ratio())
    }

    /// The level of the sum of powers, for signals without a fixed phase between them.
    pub fn power_sum(levels: impl IntoIterator<Item = Dbm>) -> Self {
        Self::from_watts(levels.into_iter().map(Dbm::to_watts).sum())
    }
}

impl Dbi {
    /// The gain of a power gain ratio.
    pub fn from_ratio(ratio: f64) -> Self {
        Self(10.0 * libm::log10(ratio))
    }

    /// The power gain ratio.
    pub fn ratio(self) -> f64 {
        Db(self.0).ratio()
    }

    /// The gain as a plain power ratio in decibels.
    pub fn db(self) -> Db {
        Db(self.0)
    }
}

impl Add<Db> for Dbm {
    type Output = Dbm;
    fn add(self, ratio: Db) -> Dbm {
        Dbm(self.0 + ratio.0)
    }
}
impl Sub<Db> for Dbm {
    type Output = Dbm;
    fn sub(self, ratio: Db) -> Dbm {
        Dbm(self.0 - ratio.0)
    }
}
impl Add<Dbi> for Dbm {
    type Output = Dbm;
    fn add(self, gain: Dbi) -> Dbm {
        Dbm(self.0 + gain.0)
    }
}
/// Taking an antenna's gain off an EIRP.
impl Sub<Dbi> for Dbm {
    type Output = Dbm;
    fn sub(self, gain: Dbi) -> Dbm {
        Dbm(self.0 - gain.0)
    }
}
impl Sub for Dbm {
    type Output = Db;
    fn sub(self, other: Dbm) -> Db {
        Db(self.0 - other.0)
    }
}
impl Sub for Dbi {
    type Output = Db;
    fn sub(self, other: Dbi) -> Db {
        Db(self.0 - other.0)
    }
}
impl Sub<Db> for Dbi {
    type Output = Dbi;
    fn sub(self, ratio: Db) -> Dbi {
        Dbi(self.0 - ratio.0)
    }
}
impl Add<Db> for Dbi {
    type Output = Dbi;
    fn add(self, ratio: Db) -> Dbi {
        Dbi(self.0 + ratio.0)
    }
}

impl Degrees {
    /// The same angle in radians.
    pub fn radians(self) -> Radians {
        Radians(self.0 * (std::f64::consts::PI / 180.0))
    }
}

impl Radians {
    /// The same angle in degrees.
    pub fn degrees(self) -> Degrees {
        Degrees(self.0 * (180.0 / std::f64::consts::PI))
    }
}

impl Hertz {
    /// A frequency from its number of megahertz.
    pub fn from_megahertz(megahertz: f64) -> Self {
        Self(megahertz * 1e6)
    }

    /// The number of megahertz.
    pub fn megahertz(self) -> f64 {
        self.0 / 1e6
    }
}

impl Metres {
    /// A length from feet; one foot is 0.3048 m exactly (international foot).
    pub fn from_feet(feet: f64) -> Self {
        Self(feet * 0.3048)
    }

    /// The length in feet.
    pub fn feet(self) -> f64 {
        self.0 / 0.3048
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_level_and_its_power_agree_at_known_points() {
        // 0 dBm is one milliwatt and 14 dBm about 25.119 mW, by definition of the decibel.
        assert_eq!(Dbm::from_watts(Watts(0.001)), Dbm(0.0));
        assert!((Dbm(14.0).to_watts().0 - 0.025_118_864_315_095_8).abs() < 1e-15);
        assert_eq!(Dbm::from_watts(Watts(0.0)), Dbm(f64::NEG_INFINITY));
    }

    #[test]
    fn two_equal_powers_add_to_three_decibels_more() {
        let sum = Dbm::power_sum([Dbm(-70.0), Dbm(-70.0)]);
        assert!((sum.0 - (-70.0 + 3.010_299_956_639_812)).abs() < 1e-12, "{sum}");
    }

    #[test]
    fn amplitude_squared_is_the_power_ratio() {
        for decibels in [-200.0, -3.0, 0.0, 6.02, 90.0] {
            let (amplitude, ratio) = (Db(decibels).amplitude(), Db(decibels).ratio());
            assert!((amplitude * amplitude / ratio - 1.0).abs() < 1e-12);
            assert!((Db::from_ratio(ratio).0 - decibels).abs() < 1e-11);
        }
    }

    #[test]
    fn display_honours_the_asked_precision() {
        assert_eq!(format!("{:.1}", Dbm(-71.26)), "-71.3 dBm");
    }
}
