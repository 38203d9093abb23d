//! Radiated power and what it means for people near the antenna.
//!
//! The limits are those of two published standards for continuous exposure of the whole body. They are orientation for
//! planning, not a compliance assessment: local rules and whoever is responsible on the site decide.

use crate::units::{Db, Dbi, Dbm, Hertz, Metres, Watts, WattsPerSquareMetre};

const FOUR_PI: f64 = 4.0 * std::f64::consts::PI;

/// Impedance of free space, in ohms.
pub const FREE_SPACE_IMPEDANCE: f64 = 376.730_313_668;

/// The nearest distance that is ever shown. Nearer the far-field formula says nothing about a real antenna; 20 cm is the
/// usual border between portable and mobile equipment in United States rules (from memory).
pub const SHORTEST_DISTANCE: Metres = Metres(0.2);

/// Equivalent isotropically radiated power: conducted power less the feed loss plus the peak gain of both polarizations
/// together.
pub fn eirp(conducted: Dbm, feed_loss: Db, peak_gain: Dbi) -> Dbm {
    conducted - feed_loss + peak_gain
}

/// EIRP of a power stated as effective radiated power, which is measured against a half-wave dipole: 2.15 dB more.
pub fn eirp_of_erp(erp: Dbm) -> Dbm {
    erp + Db(2.15)
}

/// Power density in the far field, `EIRP/(4πd²)`. `distance` is greater than zero.
pub fn power_density(eirp: Dbm, distance: Metres) -> WattsPerSquareMetre {
    WattsPerSquareMetre(eirp.to_watts().0 / (FOUR_PI * distance.0 * distance.0))
}

/// Electric field in the far field in volts per metre (root mean square), `√(Z0 S)`.
pub fn field_strength(eirp: Dbm, distance: Metres) -> f64 {
    (FREE_SPACE_IMPEDANCE * power_density(eirp, distance).0).sqrt()
}

/// EIRP behind a field limit in volts per metre at a distance, `E² d² / 30`.
///
/// With the rounded 30 of the rules' own practice; with the exact impedance it is 0.003 dB more.
pub fn eirp_of_field_strength(volts_per_metre: f64, distance: Metres) -> Dbm {
    Dbm::from_watts(Watts(volts_per_metre * volts_per_metre * distance.0 * distance.0 / 30.0))
}

/// A published set of exposure limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ExposureStandard {
    /// ICNIRP guidelines of 2020, reference levels for the whole body.
    Icnirp2020,
    /// United States, 47 CFR 1.1310, maximum permissible exposure.
    Cfr47Part1,
}

/// Who is exposed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exposed {
    /// Anybody: spectators, pilots off duty.
    GeneralPublic,
    /// Trained people at work who know of the exposure.
    Occupational,
}

/// A carrier for which a standard's limits are not kept here.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("no limit is kept for a carrier of {got}: this standard is read from {from} to {to}")]
pub struct ExposureError {
    /// What was given.
    pub got: Hertz,
    /// Lowest carrier, included.
    pub from: Hertz,
    /// Highest carrier, included.
    pub to: Hertz,
}

impl ExposureStandard {
    /// The carriers for which [`ExposureStandard::limit`] answers, ends included.
    pub fn carriers(self) -> std::ops::RangeInclusive<Hertz> {
        match self {
            Self::Icnirp2020 => Hertz(400e6)..=Hertz(300e9),
            Self::Cfr47Part1 => Hertz(300e6)..=Hertz(100e9),
        }
    }

    /// Highest power density for continuous exposure of the whole body.
    ///
    /// Source: ICNIRP 2020 whole-body reference levels, f/200 and f/40 up to 2 GHz, then 10 and 50 W/m²; 47 CFR 1.1310,
    /// f/150 and f/30 up to 1.5 GHz, then 10 and 50 W/m² (f in MHz). Both read second-hand.
    ///
    /// # Errors
    /// [`ExposureError`] for a carrier outside [`ExposureStandard::carriers`].
    pub fn limit(self, exposed: Exposed, carrier: Hertz) -> Result<WattsPerSquareMetre, ExposureError> {
        let carriers = self.carriers();
        if !carriers.contains(&carrier) {
            return Err(ExposureError { got: carrier, from: *carriers.start(), to: *carriers.end() });
        }
        let (corner, slope) = match self {
            Self::Icnirp2020 => (2000.0, 200.0),
            Self::Cfr47Part1 => (1500.0, 150.0),
        };
        let public = carrier.megahertz().min(corner) / slope;
        Ok(WattsPerSquareMetre(match exposed {
            Exposed::GeneralPublic => public,
            Exposed::Occupational => 5.0 * public,
        }))
    }
}

/// Highest power density on a part of the body, averaged over 6 minutes, after ICNIRP 2020 (local reference levels):
/// `0.058 f^0.86` up to 2 GHz (f in MHz), 40 W/m² up to 6 GHz, `55/f^0.177` above (f in GHz); five times as much at work.
/// Source: second-hand, a copy of the table.
///
/// # Errors
/// [`ExposureError`] for a carrier outside 400 MHz to 300 GHz.
pub fn icnirp_local_limit(exposed: Exposed, carrier: Hertz) -> Result<WattsPerSquareMetre, ExposureError> {
    let carriers = ExposureStandard::Icnirp2020.carriers();
    if !carriers.contains(&carrier) {
        return Err(ExposureError { got: carrier, from: *carriers.start(), to: *carriers.end() });
    }
    let gigahertz = carrier.0 / 1e9;
    let (public, occupational) = if gigahertz <= 2.0 {
        let power = libm::pow(carrier.megahertz(), 0.86);
        (0.058 * power, 0.29 * power)
    } else if gigahertz <= 6.0 {
        (40.0, 200.0)
    } else {
        let power = libm::pow(gigahertz, 0.177);
        (55.0 / power, 275.0 / power)
    };
    Ok(WattsPerSquareMetre(match exposed {
        Exposed::GeneralPublic => public,
        Exposed::Occupational => occupational,
    }))
}

/// Whether a reflecting ground is reckoned with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reflection {
    /// Free space.
    None,
    /// The worst case over a reflecting ground: twice the field, four times the power density. Source: practice of the
    /// United States' bulletin on evaluating compliance (from memory).
    DoubledField,
}

/// The distance to keep, as computed and as shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ExposureDistance {
    /// By the far-field formula, however short.
    pub computed: Metres,
    /// Not under [`SHORTEST_DISTANCE`]: an orientation value.
    pub advised: Metres,
}

/// Distance at which the power density of an antenna falls to a limit, `√(EIRP/(4πS))`. `limit` is greater than zero.
pub fn exposure_distance(eirp: Dbm, limit: WattsPerSquareMetre, reflection: Reflection) -> ExposureDistance {
    let factor = match reflection {
        Reflection::None => 1.0,
        Reflection::DoubledField => 2.0,
    };
    let computed = Metres(factor * (eirp.to_watts().0 / (FOUR_PI * limit.0)).sqrt());
    ExposureDistance { computed, advised: Metres(computed.0.max(SHORTEST_DISTANCE.0)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_density_at_the_exposure_distance_is_the_limit() {
        let limit = ExposureStandard::Icnirp2020.limit(Exposed::GeneralPublic, Hertz(5.8e9)).unwrap();
        let distance = exposure_distance(Dbm(36.0), limit, Reflection::None).computed;
        assert!((power_density(Dbm(36.0), distance).0 - limit.0).abs() < 1e-9);
        assert!((field_strength(Dbm(36.0), distance) - 61.38).abs() < 0.01);
    }

    #[test]
    fn limits_are_kept_only_where_they_were_read() {
        for standard in [ExposureStandard::Icnirp2020, ExposureStandard::Cfr47Part1] {
            let carriers = standard.carriers();
            assert!(standard.limit(Exposed::GeneralPublic, *carriers.start()).is_ok());
            assert!(standard.limit(Exposed::GeneralPublic, *carriers.end()).is_ok());
            assert!(standard.limit(Exposed::GeneralPublic, *carriers.start() - Hertz(1.0)).is_err());
            assert!(standard.limit(Exposed::GeneralPublic, Hertz(f64::NAN)).is_err());
        }
    }

    #[test]
    fn the_shown_distance_never_enters_the_near_field() {
        let distance = exposure_distance(Dbm(14.0), WattsPerSquareMetre(10.0), Reflection::None);
        assert!(distance.computed.0 < 0.02);
        assert_eq!(distance.advised, SHORTEST_DISTANCE);
    }
}
