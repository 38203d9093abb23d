//! Typical values of generic kit, for menus and for "I don't know".
//!
//! A typical value comes with a band: the true value is taken to lie anywhere in value ± band with even chance, so its
//! standard deviation is band/√3 (rectangular distribution, JCGM 100:2008, 4.3.7). That is how a value nobody knows
//! widens the confidence of a verdict.

mod resolve;

pub use resolve::{
    ResolvedAntenna, ResolvedReceiver, measured_cut, measured_rows, resolve_antenna, resolve_feed, resolve_frame_loss,
    resolve_receiver,
};

use super::document::{AntennaKind, AntennaKit, Radio};
use super::limits;
use crate::rf::absorption::Vegetation;
use crate::rf::material::Material;
use crate::units::{Db, Dbi, Hertz, Radians, Watts};

/// What is written where a value has no publication behind it.
pub const COMMON_PRACTICE: &str = "common practice, no source";

/// A value to start from, and how far off it may be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Typical {
    /// The value.
    pub value: f64,
    /// Half the width of the interval in which the true value lies.
    pub band: f64,
    /// Its unit as printed.
    pub unit: &'static str,
    /// Where it comes from.
    pub source: &'static str,
}

impl Typical {
    const fn new(value: f64, band: f64, unit: &'static str, source: &'static str) -> Self {
        Self { value, band, unit, source }
    }

    /// The value with its unit, for what is shown.
    pub fn text(&self) -> String {
        let space = if self.unit.is_empty() || self.unit == "°" { "" } else { " " };
        format!("{} ± {}{space}{}", self.value, self.band, self.unit)
    }

    /// Standard deviation of the value, in its unit: band/√3.
    pub fn sigma(&self) -> f64 {
        self.band / 3.0_f64.sqrt()
    }
}

/// A typical value that stands in for one that nobody knew.
#[derive(Clone, Debug, PartialEq)]
pub struct Assumed {
    /// What it is, in words that fit "... is taken as".
    pub what: String,
    /// The value.
    pub value: f64,
    /// Half the width of the interval in which the true value lies.
    pub band: f64,
    /// Its unit as printed.
    pub unit: &'static str,
    /// Where it comes from.
    pub source: &'static str,
    /// The standard deviation that it adds to the margin: band/√3 where the value shifts every margin by itself (gain,
    /// noise figure, carrier-to-noise ratio). Zero where it shapes a pattern or an ellipse; what those do depends on
    /// the place, and the caveat stands beside the verdict instead.
    pub sigma: Db,
}

impl Assumed {
    fn new(what: impl Into<String>, typical: Typical, shifts_margin: bool) -> Self {
        let Typical { value, band, unit, source } = typical;
        let sigma = Db(if shifts_margin { typical.sigma() } else { 0.0 });
        Self { what: what.into(), value, band, unit, source, sigma }
    }
}

impl std::fmt::Display for Assumed {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self { what, value, band, unit, source, .. } = self;
        let typical = Typical { value: *value, band: *band, unit, source };
        write!(formatter, "{what} is taken as {} ({source})", typical.text())
    }
}

/// What values that nobody knew add to the margin's standard deviation: they are independent, so their squares add.
pub fn unknown_sigma<'a>(assumed: impl IntoIterator<Item = &'a Assumed>) -> Db {
    let sum: f64 = assumed.into_iter().map(|assumed| assumed.sigma.0 * assumed.sigma.0).sum();
    Db(sum.sqrt())
}

/// The name of a kind of antenna, as the trade calls it.
pub const fn kind_name(kind: AntennaKind) -> &'static str {
    match kind {
        AntennaKind::Dipole => "half-wave dipole",
        AntennaKind::Whip => "short whip",
        AntennaKind::CircularOmni => "circular omni",
        AntennaKind::CircularPatch => "circular patch",
        AntennaKind::LinearPatch => "linear patch",
        AntennaKind::Helix => "axial-mode helix",
    }
}

/// A noun with the article that it takes: "a short whip", "an axial-mode helix".
pub fn with_article(noun: &str) -> String {
    let article = if noun.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
    format!("{article} {noun}")
}

/// The typical numbers of a kind of antenna; `None` where the kind has no such number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KindTypicals {
    /// Peak gain, both polarizations together.
    pub gain_dbi: Typical,
    /// Axial ratio where it radiates best.
    pub axial_ratio_db: Option<Typical>,
    /// Half-power beamwidth.
    pub beamwidth_deg: Option<Typical>,
    /// Front-to-back ratio, or depth of the null overhead of an omni.
    pub rejection_db: Option<Typical>,
}

const fn practice(value: f64, band: f64, unit: &'static str) -> Typical {
    Typical::new(value, band, unit, COMMON_PRACTICE)
}

const PATCH_GAIN: Typical = practice(7.0, 1.5, "dBi");
const HELIX_GAIN: Typical = practice(10.0, 2.0, "dBi");
const FRONT_TO_BACK: Typical = practice(12.0, 3.0, "dB");
/// A wire antenna's directivity is exact; only its losses are a matter of practice.
const DIPOLE_GAIN: Typical =
    Typical::new(1.8, 0.4, "dBi", "2.15 dBi of the half-wave dipole less losses; common practice, no source");
const WHIP_GAIN: Typical =
    Typical::new(0.8, 1.0, "dBi", "1.76 dBi of the short dipole less losses; common practice, no source");
const HELIX_AXIAL_RATIO: Typical = Typical::new(
    1.0,
    0.3,
    "dB",
    "axial ratio (2N+1)/2N of an axial-mode helix of N turns, handbook formula (from memory)",
);
/// The typical numbers of a kind. The beamwidth is the one at the typical gain; with another gain,
/// [`typical_beamwidth`] gives another.
pub fn typical_antenna(kind: AntennaKind) -> KindTypicals {
    let at = |gain_dbi: Typical| typical_beamwidth(kind, Dbi(gain_dbi.value));
    match kind {
        AntennaKind::Dipole => {
            KindTypicals { gain_dbi: DIPOLE_GAIN, axial_ratio_db: None, beamwidth_deg: None, rejection_db: None }
        }
        AntennaKind::Whip => {
            KindTypicals { gain_dbi: WHIP_GAIN, axial_ratio_db: None, beamwidth_deg: None, rejection_db: None }
        }
        AntennaKind::CircularOmni => KindTypicals {
            gain_dbi: practice(1.5, 0.7, "dBi"),
            axial_ratio_db: Some(practice(2.0, 1.0, "dB")),
            beamwidth_deg: None,
            rejection_db: Some(practice(15.0, 5.0, "dB")),
        },
        AntennaKind::CircularPatch => KindTypicals {
            gain_dbi: PATCH_GAIN,
            axial_ratio_db: Some(practice(2.0, 1.0, "dB")),
            beamwidth_deg: at(PATCH_GAIN),
            rejection_db: Some(FRONT_TO_BACK),
        },
        AntennaKind::LinearPatch => KindTypicals {
            gain_dbi: PATCH_GAIN,
            axial_ratio_db: None,
            beamwidth_deg: at(PATCH_GAIN),
            rejection_db: Some(FRONT_TO_BACK),
        },
        AntennaKind::Helix => KindTypicals {
            gain_dbi: HELIX_GAIN,
            axial_ratio_db: Some(HELIX_AXIAL_RATIO),
            beamwidth_deg: at(HELIX_GAIN),
            rejection_db: Some(FRONT_TO_BACK),
        },
    }
}

/// Whether antennas of the kind have a hand.
pub const fn has_hand(kind: AntennaKind) -> bool {
    matches!(kind, AntennaKind::CircularOmni | AntennaKind::CircularPatch | AntennaKind::Helix)
}

/// Whether antennas of the kind look one way, so that they have a beamwidth and a back.
pub const fn is_directional(kind: AntennaKind) -> bool {
    matches!(kind, AntennaKind::CircularPatch | AntennaKind::LinearPatch | AntennaKind::Helix)
}

/// Every kind, for menus.
pub const ANTENNA_KINDS: [AntennaKind; 6] = [
    AntennaKind::CircularOmni,
    AntennaKind::CircularPatch,
    AntennaKind::Helix,
    AntennaKind::Dipole,
    AntennaKind::Whip,
    AntennaKind::LinearPatch,
];

/// How far the gain of a patch lies below the directivity of its main beam: losses and what it radiates backward.
/// Common practice, no source.
const PATCH_SHORTFALL: Db = Db(2.0);
/// How far the gain of a helix lies below Kraus' directivity. Common practice, no source (1 to 3 dB).
const HELIX_SHORTFALL: Db = Db(2.0);
/// How far the beamwidth of an antenna of a given gain differs from the formula's. Common practice, no source.
const BEAMWIDTH_BAND: f64 = 10.0;

/// The beamwidth that usually goes with a gain; `None` for kinds without a beam.
///
/// Patches: a beam `cosⁿ` has a directivity of `2(n+1)`, and half its power at `arccos(0.5^(1/n))` off the axis. Helices:
/// Kraus' `52/(C √(N S))` degrees with his directivity `12 C² N S` (from memory).
pub fn typical_beamwidth(kind: AntennaKind, gain: Dbi) -> Option<Typical> {
    let (degrees, source) = match kind {
        AntennaKind::CircularPatch | AntennaKind::LinearPatch => {
            // Below n = 1 the beam is wider than any patch's, and the range ends there.
            let exponent = ((gain + PATCH_SHORTFALL).ratio() / 2.0 - 1.0).max(1.0);
            let half = Radians(libm::acos(libm::pow(0.5, 1.0 / exponent)));
            (2.0 * half.degrees().0, "that of a cosine-power beam of this gain; common practice, no source")
        }
        AntennaKind::Helix => {
            let directivity = (gain + HELIX_SHORTFALL).ratio();
            (
                52.0 * (12.0 / directivity).sqrt(),
                "that of an axial-mode helix of this gain, handbook formula (from memory)",
            )
        }
        AntennaKind::Dipole | AntennaKind::Whip | AntennaKind::CircularOmni => return None,
    };
    let value = degrees.clamp(limits::BEAMWIDTH_DEG.min, limits::BEAMWIDTH_DEG.max).round();
    Some(Typical::new(value, BEAMWIDTH_BAND, "°", source))
}

/// Noise figure of a receiver.
pub const NOISE_FIGURE_DB: Typical = practice(8.0, 2.0, "dB");
/// Carrier-to-noise ratio at which a conventional frequency demodulator starts to break up. The threshold near 10 dB is
/// from memory; extended ones hold to 6 or 8 dB.
pub const ANALOGUE_REQUIRED_CN_DB: Typical =
    Typical::new(10.0, 2.0, "dB", "threshold of frequency demodulation (from memory); common practice, no source");
/// Carrier-to-noise ratio of a good analogue picture; shown beside the verdict, never used for it.
pub const ANALOGUE_GOOD_CN: Db = Db(18.0);
/// Carrier-to-noise ratio at the cliff of a digital picture: the robust modes hold to about 8 dB, fast ones need 16 dB.
pub const DIGITAL_REQUIRED_CN_DB: Typical = practice(12.0, 4.0, "dB");
/// How long a digital picture stays frozen after a break.
pub const DIGITAL_FREEZE_S: Typical = practice(0.5, 0.3, "s");
/// Bandwidth of an analogue picture: Carson's rule with 8 MHz peak-to-peak deviation and 5 MHz of video.
pub const ANALOGUE_BANDWIDTH: Hertz = Hertz(18e6);
/// Bandwidth of a digital picture.
pub const DIGITAL_BANDWIDTH: Hertz = Hertz(20e6);
/// Sensitivity that is often printed for analogue receivers, for a usable picture.
pub const SENSITIVITY_DBM: Typical = practice(-87.0, 3.0, "dBm");

/// How far a transmitter's power may be from the stated one, either way, decibels. Common practice, no source (1 to 3 dB).
pub const POWER_TOLERANCE_DB: f64 = 1.5;
/// How far an antenna's gain may be from the stated one, either way, decibels. Common practice, no source (1 to 3 dB).
pub const GAIN_TOLERANCE_DB: f64 = 1.0;
/// How far a power or gain may be from what somebody measured, either way, decibels. Common practice, no source.
pub const MEASURED_TOLERANCE_DB: f64 = 0.5;

/// How far the flown line keeps from spectators and seats unless the plan says otherwise, level. What small events keep
/// behind a net; without one much more. Common practice, no source; local rules decide.
pub const KEEP_AWAY_M: f64 = 5.0;

/// How far a power may be from what a radio states.
pub fn power_tolerance(radio: &Radio) -> Tolerance {
    Tolerance::of(if radio.power_is_measured { MEASURED_TOLERANCE_DB } else { POWER_TOLERANCE_DB })
}

/// How far a gain may be from what an antenna's kit states or its table says; `None` where nobody stated one and a typical
/// value stands in with a band of its own. Never wider than that band: who states a gain knows no less than who does not.
pub fn gain_tolerance(kit: &AntennaKit) -> Option<Tolerance> {
    let is_measured = kit.table.is_some() || kit.gain_is_measured;
    let is_stated = kit.table.is_some() || kit.gain_dbi.is_some();
    let band = if is_measured { MEASURED_TOLERANCE_DB } else { GAIN_TOLERANCE_DB };
    is_stated.then(|| Tolerance::of(band.min(typical_antenna(kit.kind).gain_dbi.band)))
}

/// How far a stated value may be off; not at all by default.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Tolerance {
    /// Half the width of the interval in which the true value lies.
    pub band: Db,
}

impl Tolerance {
    const fn of(band: f64) -> Self {
        Self { band: Db(band) }
    }

    /// Its standard deviation: band/√3, as of a [`Typical`] value.
    pub fn sigma(self) -> Db {
        Db(self.band.0 / 3.0_f64.sqrt())
    }
}

/// Loss through the aircraft's own frame, in the cone below the antenna's foot.
pub const FRAME_LOSS_DB: Typical = practice(6.0, 3.0, "dB");
/// Shadow of the wearer's own head: nothing up to [`HEAD_CLEAR_DEG`] off the facing, this much from [`HEAD_FULL_DEG`].
pub const HEAD_LOSS_DB: Typical = practice(12.0, 4.0, "dB");
/// Up to this angle off the facing, the head of the wearer is not in the way. Common practice, no source.
pub const HEAD_CLEAR_DEG: f64 = 95.0;
/// From this angle off the facing, the whole head is in the way. Common practice, no source.
pub const HEAD_FULL_DEG: f64 = 140.0;

/// Conducted powers that are often printed on transmitters. What is printed and what leaves the connector differ;
/// whether it is allowed is a matter of local rules.
pub const PRINTED_POWERS: [Watts; 6] = [Watts(0.01), Watts(0.025), Watts(0.1), Watts(0.2), Watts(0.4), Watts(0.8)];

/// A menu item of a number: its name and value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Choice {
    /// What it is called.
    pub name: &'static str,
    /// Its value, in the unit of the list it stands in.
    pub value: f64,
}

/// Attenuation of tree crowns at a carrier, dB/m ([`Vegetation`] gives the sources).
pub fn crown_losses(carrier: Hertz) -> [Choice; 3] {
    let choice = |name, vegetation: Vegetation| Choice { name, value: vegetation.specific_attenuation(carrier) };
    [
        choice("bare or sparse", Vegetation::Sparse),
        choice("woodland in leaf", Vegetation::Woodland),
        choice("dense single crown", Vegetation::Dense),
    ]
}

/// Density of standing people, per square metre. Common practice, no source.
pub const CROWD_DENSITY_PER_M2: [Choice; 3] = [
    Choice { name: "scattered", value: 0.2 },
    Choice { name: "standing loosely", value: 0.8 },
    Choice { name: "close together", value: 2.0 },
];

/// How thick a wall of this material usually is. Common practice, no source.
pub const fn typical_thickness(material: Material) -> Typical {
    let (millimetres, band) = match material {
        Material::Concrete => (200.0, 60.0),
        Material::Brick => (220.0, 110.0),
        Material::Plasterboard => (12.5, 3.0),
        Material::Wood => (20.0, 8.0),
        Material::Glass => (6.0, 2.0),
        Material::CeilingBoard => (12.0, 4.0),
        Material::Chipboard => (18.0, 4.0),
        Material::Plywood => (12.0, 4.0),
        Material::Marble => (30.0, 10.0),
        Material::Floorboard => (22.0, 6.0),
        Material::VinylTile => (3.0, 1.0),
        Material::CarpetTile => (7.0, 2.0),
        Material::AsphaltConcrete => (60.0, 20.0),
        Material::Metal => (1.0, 0.5),
        Material::VeryDryGround | Material::MediumDryGround | Material::WetGround => (500.0, 300.0),
    };
    practice(millimetres / 1000.0, band / 1000.0, "m")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Dbm;

    #[test]
    fn every_typical_value_and_its_band_may_stand_in_a_plan() {
        for kind in ANTENNA_KINDS {
            let typical = typical_antenna(kind);
            let checks = [
                (Some(typical.gain_dbi), limits::GAIN_DBI),
                (typical.axial_ratio_db, limits::AXIAL_RATIO_DB),
                (typical.beamwidth_deg, limits::BEAMWIDTH_DEG),
                (typical.rejection_db, limits::REJECTION_DB),
            ];
            for (typical, range) in checks {
                if let Some(Typical { value, band, .. }) = typical {
                    assert!(range.contains(value - band) && range.contains(value + band), "{kind:?} {value} {band}");
                }
            }
            assert_eq!(typical.axial_ratio_db.is_some(), has_hand(kind));
        }
        for material in Material::ALL {
            let Typical { value, band, .. } = typical_thickness(material);
            assert!(limits::WALL_THICKNESS_M.contains(value - band) && limits::WALL_THICKNESS_M.contains(value + band));
        }
        for carrier in [limits::CHANNEL_HZ.min, limits::CHANNEL_HZ.max] {
            let losses = crown_losses(Hertz(carrier));
            assert!(losses.iter().all(|loss| limits::CROWN_LOSS_DB_PER_M.contains(loss.value)));
        }
        for power in PRINTED_POWERS {
            assert!(limits::POWER_DBM.contains(Dbm::from_watts(power).0));
        }
    }

    #[test]
    fn a_beam_is_as_wide_as_its_gain_asks_for() {
        // cos² has 7.782 dBi and 90°, cos⁴ 10.000 dBi and 65.53°, computed by two independent ways.
        let patch =
            |directivity: f64| typical_beamwidth(AntennaKind::CircularPatch, Dbi(directivity) - PATCH_SHORTFALL);
        assert_eq!(patch(7.782).map(|typical| typical.value), Some(90.0));
        assert_eq!(patch(10.0).map(|typical| typical.value), Some(66.0));
        // Kraus' example: 16 turns of 0.25 wavelengths, 26° and 16.8 dBi.
        let helix = typical_beamwidth(AntennaKind::Helix, Dbi(16.812) - HELIX_SHORTFALL);
        assert_eq!(helix.map(|typical| typical.value), Some(26.0));
        assert_eq!(typical_beamwidth(AntennaKind::Whip, Dbi(1.0)), None);
    }

    #[test]
    fn a_band_counts_as_its_rectangular_standard_deviation() {
        // JCGM 100:2008, 4.3.7: half width a gives a/√3.
        assert!((practice(0.0, 3.0_f64.sqrt(), "dB").sigma() - 1.0).abs() < 1e-15);
        assert_eq!(NOISE_FIGURE_DB.text(), "8 ± 2 dB");
    }
}
