//! What an ordinary place of some kind scatters, beyond what anyone drew.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::rf::antenna::PartialGains;
use crate::units::{Db, Hertz, Metres};

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

    /// By how much the mean path without line of sight is weaker than the one with it, over this distance: at least zero.
    ///
    /// Street or square: UMi street canyon; between taller blocks: UMa; village, and open field for want of a class of its
    /// own: RMa with its usual 20 m of street and 5 m of buildings; hall: InH; works hall: InF with dense clutter and low ends.
    /// Terminals at 1.5 m, stations as high as the scenario has them. Distances outside a formula's range, and beyond its
    /// breakpoint, count as the nearest inside: the difference has no meaning there.
    ///
    /// Source: 3GPP TR 38.901, table 7.4.1-1 (second-hand: transcriptions in public simulators, and from memory).
    pub fn blocked_excess(self, distance: Metres, frequency: Hertz) -> Db {
        let ghz = frequency.0 / 1e9;
        let carrier = libm::log10(ghz);
        let within = |least: f64, most: f64| libm::log10(distance.0.clamp(least, most));
        let (lit, blocked) = match self {
            Surroundings::StreetOrSquare => {
                let d = within(10.0, 340.0);
                (32.4 + 21.0 * d + 20.0 * carrier, 22.4 + 35.3 * d + 21.3 * carrier)
            }
            Surroundings::TallBlocks => {
                let d = within(10.0, 920.0);
                (28.0 + 22.0 * d + 20.0 * carrier, 13.54 + 39.08 * d + 20.0 * carrier)
            }
            Surroundings::Village | Surroundings::OpenField => {
                let d = within(10.0, 5000.0);
                let (street, houses, station, terminal) = (20.0, 5.0, 35.0, 1.5);
                let roofs = libm::pow(houses, 1.72);
                let lit = 20.0 * (libm::log10(40.0 * std::f64::consts::PI * ghz / 3.0) + d)
                    + (0.03 * roofs).min(10.0) * d
                    - (0.044 * roofs).min(14.77)
                    + 0.002 * libm::log10(houses) * distance.0.clamp(10.0, 5000.0);
                let log = libm::log10(station);
                let low = libm::log10(11.75 * terminal);
                let ratio = houses / station;
                let blocked = 161.04 - 7.1 * libm::log10(street) + 7.5 * libm::log10(houses)
                    - (24.37 - 3.7 * ratio * ratio) * log
                    + (43.42 - 3.1 * log) * (d - 3.0)
                    + 20.0 * carrier
                    - (3.2 * low * low - 4.97);
                (lit, blocked)
            }
            Surroundings::Hall => {
                let d = within(1.0, 150.0);
                (32.4 + 17.3 * d + 20.0 * carrier, 17.3 + 38.3 * d + 24.9 * carrier)
            }
            Surroundings::MetalHall => {
                let d = within(1.0, 600.0);
                let sparse = 33.0 + 25.5 * d + 20.0 * carrier;
                (31.84 + 21.5 * d + 19.0 * carrier, (18.6 + 35.7 * d + 20.0 * carrier).max(sparse))
            }
        };
        Db((blocked - lit).max(0.0))
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

/// How much of the surroundings is behind buildings where so much is lost to them, a loss of the direct path: nothing up to
/// 10 dB, all from 20 dB on. Common practice, no source: line of sight or none is a matter of yes and no in the standard.
pub fn behind_buildings(loss: Db) -> f64 {
    ((loss.0 - 10.0) / 10.0).clamp(0.0, 1.0)
}

/// Scattered power over that of free space, between isotropic ends of equal polarization, with `k` the Rice factor in line of
/// sight as a ratio. Behind buildings (`behind`, from 0 to 1) all that arrives together is as weak as a path without line of
/// sight (`excess`, see [`Surroundings::blocked_excess`]), and never more than in the open.
pub fn scatter_share(k: f64, behind: f64, excess: Db) -> f64 {
    let open = 1.0 / k;
    if behind == 0.0 {
        return open;
    }
    (1.0 - behind) * open + behind * open.min((-excess).ratio())
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

    /// Worked out by hand from 3GPP TR 38.901, table 7.4.1-1, at 5.8 GHz (log 0.76343).
    #[test]
    fn without_line_of_sight_a_path_is_as_weak_as_the_table_says() {
        let near = |kind: Surroundings, metres: f64, expected: f64| {
            let got = kind.blocked_excess(Metres(metres), Hertz(5.8e9)).0;
            assert!((got - expected).abs() < 0.01, "{kind} at {metres} m: {got} not {expected}");
        };
        // 22.4 + 59.974 + 16.261 - (32.4 + 35.678 + 15.269).
        near(Surroundings::StreetOrSquare, 50.0, 15.288);
        near(Surroundings::StreetOrSquare, 100.0, 19.592);
        // 13.54 - 28 + 17.08 log 100.
        near(Surroundings::TallBlocks, 100.0, 19.70);
        // 84.540 - 81.873.
        near(Surroundings::Village, 50.0, 2.667);
        // 17.3 - 32.4 + 21 log 30 + 4.9 log 5.8.
        near(Surroundings::Hall, 30.0, 19.661);
        // 18.6 - 31.84 + 14.2 log 50 + log 5.8.
        near(Surroundings::MetalHall, 50.0, 11.649);
        // 33 + 25.5 log 5 + 20 log 5.8 is more than 18.6 + 35.7 log 5 + 20 log 5.8.
        near(Surroundings::MetalHall, 5.0, 4.719);
    }

    #[test]
    fn the_excess_neither_jumps_nor_falls_with_distance() {
        for kind in Surroundings::ALL {
            let mut before = kind.blocked_excess(Metres(0.0), Hertz(5.8e9)).0;
            assert!(before >= 0.0);
            for step in 1..40_000 {
                let now = kind.blocked_excess(Metres(f64::from(step) * 0.05), Hertz(5.8e9)).0;
                assert!((-1e-9..0.5).contains(&(now - before)), "{kind} at step {step}: {before} to {now}");
                before = now;
            }
        }
    }

    #[test]
    fn scatter_falls_from_ten_to_twenty_decibels_behind_buildings_and_no_farther() {
        let share =
            |loss: f64| Db::from_ratio(scatter_share(Db(9.0).ratio(), behind_buildings(Db(loss)), Db(15.288))).0;
        assert!((share(10.0) + 9.0).abs() < 1e-9 && (share(0.0) + 9.0).abs() < 1e-9);
        assert!((share(20.0) + 15.288).abs() < 1e-9 && (share(60.0) + 15.288).abs() < 1e-9);
        // Half way: the mean of the two powers, (0.12589 + 0.02959) / 2.
        assert!((share(15.0) + 11.094).abs() < 1e-3, "{}", share(15.0));
        // A path that is hardly weaker without line of sight leaves the scatter as it is.
        let open = scatter_share(Db(9.0).ratio(), 1.0, Db(5.0));
        assert_eq!(open, 1.0 / Db(9.0).ratio());
        for step in 0..4000 {
            let loss = f64::from(step) * 0.01;
            assert!((share(loss) - share(loss + 0.01)).abs() < 0.05, "{loss}");
        }
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
