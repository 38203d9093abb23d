//! What an ordinary place of some kind scatters, beyond what anyone drew.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::rf::antenna::PartialGains;
use crate::units::Db;

/// Spread of the level from place to place when the direct path is blocked.
/// Source: 3GPP TR 38.901, the non-line-of-sight rows of table 7.5-6, about 8 dB in round figures.
pub const NON_LINE_OF_SIGHT_SIGMA: Db = Db(8.0);

/// The kind of place, after the scenarios of 3GPP TR 38.901.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Surroundings {
    /// An open field.
    OpenField,
    /// A village or the edge of a town.
    Village,
    /// A street or a square.
    StreetOrSquare,
    /// Between taller blocks.
    TallBlocks,
    /// A hall or a large room.
    Hall,
    /// A works hall with much metal.
    MetalHall,
}

/// K, its spread, XPR, shadowing spread, source.
struct Class {
    k: f64,
    k_sigma: f64,
    xpr: f64,
    shadowing: f64,
    source: &'static str,
}

impl Surroundings {
    /// Every kind, the most open first.
    pub const ALL: [Surroundings; 6] = [
        Surroundings::OpenField,
        Surroundings::Village,
        Surroundings::StreetOrSquare,
        Surroundings::TallBlocks,
        Surroundings::Hall,
        Surroundings::MetalHall,
    ];

    const fn class(self) -> Class {
        match self {
            Surroundings::OpenField => Class {
                k: 15.0,
                // No source gives a spread for an open field; that of the class next to it.
                k_sigma: 4.0,
                xpr: 12.0,
                shadowing: 2.0,
                source: "common practice, no source; XPR as RMa",
            },
            Surroundings::Village => Class {
                k: 7.0,
                k_sigma: 4.0,
                xpr: 12.0,
                shadowing: 4.0,
                source: "3GPP TR 38.901, table 7.5-6, RMa line of sight, near the transmitter",
            },
            Surroundings::StreetOrSquare => Class {
                k: 9.0,
                k_sigma: 5.0,
                xpr: 9.0,
                shadowing: 4.0,
                source: "3GPP TR 38.901, table 7.5-6, UMi street canyon line of sight",
            },
            Surroundings::TallBlocks => Class {
                k: 9.0,
                k_sigma: 3.5,
                xpr: 8.0,
                shadowing: 4.0,
                source: "3GPP TR 38.901, table 7.5-6, UMa line of sight",
            },
            Surroundings::Hall => Class {
                k: 7.0,
                k_sigma: 4.0,
                xpr: 11.0,
                shadowing: 3.0,
                source: "3GPP TR 38.901, table 7.5-6, InH office line of sight",
            },
            Surroundings::MetalHall => Class {
                k: 7.0,
                k_sigma: 8.0,
                xpr: 12.0,
                shadowing: 4.0,
                source: "3GPP TR 38.901, table 7.5-6, InF line of sight",
            },
        }
    }

    /// Typical Rice factor of antennas without direction or hand: direct over scattered power.
    pub fn k(self) -> Db {
        Db(self.class().k)
    }

    /// Standard deviation of the Rice factor from place to place, in decibels.
    pub fn k_sigma(self) -> Db {
        Db(self.class().k_sigma)
    }

    /// Cross-polarization ratio of the scattered waves: how much more of a scattered wave keeps its polarization than
    /// changes to the other one.
    pub fn xpr(self) -> Db {
        Db(self.class().xpr)
    }

    /// Standard deviation of the level from place to place with the direct path free.
    pub fn shadowing_sigma(self) -> Db {
        Db(self.class().shadowing)
    }

    /// Standard deviation of the level from place to place with the direct path blocked.
    pub fn blocked_sigma(self) -> Db {
        NON_LINE_OF_SIGHT_SIGMA
    }

    /// Where the numbers come from, as a phrase for the reader.
    pub fn source(self) -> &'static str {
        self.class().source
    }
}

impl fmt::Display for Surroundings {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.pad(match self {
            Surroundings::OpenField => "open field",
            Surroundings::Village => "village or edge of town",
            Surroundings::StreetOrSquare => "street or square",
            Surroundings::TallBlocks => "between taller blocks",
            Surroundings::Hall => "hall or room",
            Surroundings::MetalHall => "works hall with much metal",
        })
    }
}

/// What a pair of antennas catches of scattered waves, with the product of two isotropic, equally polarized antennas as
/// the unit: `v v' + h h' + (v h' + h v') / XPR`, with each end's mean partial gains over the directions of scatter.
///
/// Follows from independent random phases on the four polarimetric terms of each scattered wave. Two circular antennas get
/// `(1 + 1/XPR)/2` of the product of their gains whatever their hands: a wrong hand loses the direct path, not the scatter.
/// Source: 3GPP TR 38.901, the channel matrix of section 7.5, averaged over its phases.
pub fn diffuse_gain(transmitting: &PartialGains, receiving: &PartialGains, xpr: Db) -> f64 {
    let kept = transmitting.vertical * receiving.vertical + transmitting.horizontal * receiving.horizontal;
    let crossed = transmitting.vertical * receiving.horizontal + transmitting.horizontal * receiving.vertical;
    kept + crossed / xpr.ratio()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn circular_antennas_share_the_scatter_whatever_their_hand() {
        let circular = PartialGains { vertical: 0.5, horizontal: 0.5 };
        let vertical = PartialGains { vertical: 1.0, horizontal: 0.0 };
        let horizontal = PartialGains { vertical: 0.0, horizontal: 1.0 };
        let xpr = Db(10.0);
        assert!((diffuse_gain(&circular, &circular, xpr) - 0.55).abs() < 1e-15);
        assert!((diffuse_gain(&circular, &vertical, xpr) - 0.55).abs() < 1e-15);
        assert!((diffuse_gain(&vertical, &vertical, xpr) - 1.0).abs() < 1e-15);
        assert!((diffuse_gain(&vertical, &horizontal, xpr) - 0.1).abs() < 1e-15);
        // Without any preference of the scatter, any two antennas get the product of their gains, here one.
        assert!((diffuse_gain(&circular, &horizontal, Db(0.0)) - 1.0).abs() < 1e-15);
    }

    #[test]
    fn every_kind_has_a_source_and_a_stored_name() {
        for kind in Surroundings::ALL {
            assert!(kind.source().contains("source") || kind.source().contains("38.901"));
            let stored = serde_json::to_string(&kind).unwrap();
            assert_eq!(serde_json::from_str::<Surroundings>(&stored).unwrap(), kind);
        }
        assert_eq!(serde_json::to_string(&Surroundings::MetalHall).unwrap(), "\"metal_hall\"");
    }
}
