//! The kinds of antenna and the numbers that describe them, with the ranges that are accepted.

use std::ops::RangeInclusive;

use super::directive;
use super::measured::{MeasuredError, MeasuredPattern};
use crate::rf::polarization::{Hand, Jones};
use crate::units::{Db, Dbi, Degrees};

/// Nominal peak gains accepted. Below, an antenna is a dummy load; above, no antenna on a field has it.
pub const PEAK_GAIN: RangeInclusive<Dbi> = Dbi(-15.0)..=Dbi(20.0);
/// Half-power beamwidths of patches and stated helices accepted. Wider ones are not patches, narrower ones not carried to a race.
pub const BEAMWIDTH: RangeInclusive<Degrees> = Degrees(20.0)..=Degrees(120.0);
/// Nominal axial ratios of circular antennas accepted. Beyond, the antenna is better described as linear.
pub const AXIAL_RATIO: RangeInclusive<Db> = Db(0.0)..=Db(20.0);
/// Depths of an omni's dip over its axis accepted, below its peak.
pub const NULL_DEPTH: RangeInclusive<Db> = Db(3.0)..=Db(40.0);
/// Front-to-back ratios accepted.
pub const FRONT_TO_BACK: RangeInclusive<Db> = Db(3.0)..=Db(40.0);
/// How far below Kraus' directivity a helix may lie.
pub const LOSS: RangeInclusive<Db> = Db(0.0)..=Db(15.0);
/// Turns of a helix accepted. Kraus' formulas hold above three turns (from memory).
pub const TURNS: RangeInclusive<f64> = 3.0..=20.0;
/// Circumferences of a helix accepted, in wavelengths: the range of the axial mode (from memory, as Kraus gives it).
pub const CIRCUMFERENCE: RangeInclusive<f64> = 0.8..=1.15;
/// Pitch angles of a helix accepted. Kraus gives 12° to 14° (from memory); a little more holds his own example of 14.04°.
pub const PITCH: RangeInclusive<Degrees> = Degrees(12.0)..=Degrees(14.5);

/// Directivity of the half-wave dipole (closed form through the cosine integral; integrated again in the tests).
const HALF_WAVE_DIRECTIVITY: f64 = 1.640_922_376_984_585;
/// Directivity of the short dipole, exactly.
pub(super) const SHORT_DIPOLE_DIRECTIVITY: f64 = 1.5;

/// A number that an antenna model cannot be built with.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum AntennaError {
    /// See [`PEAK_GAIN`].
    #[error("a peak gain of {got} is outside {} to {}", PEAK_GAIN.start(), PEAK_GAIN.end())]
    PeakGain {
        /// What was given.
        got: Dbi,
    },
    /// See [`BEAMWIDTH`].
    #[error("a beamwidth of {got} is outside {} to {}", BEAMWIDTH.start(), BEAMWIDTH.end())]
    Beamwidth {
        /// What was given.
        got: Degrees,
    },
    /// See [`AXIAL_RATIO`].
    #[error("an axial ratio of {got} is outside {} to {}", AXIAL_RATIO.start(), AXIAL_RATIO.end())]
    AxialRatio {
        /// What was given.
        got: Db,
    },
    /// See [`NULL_DEPTH`].
    #[error("a null depth of {got} is outside {} to {}", NULL_DEPTH.start(), NULL_DEPTH.end())]
    NullDepth {
        /// What was given.
        got: Db,
    },
    /// See [`FRONT_TO_BACK`].
    #[error("a front-to-back ratio of {got} is outside {} to {}", FRONT_TO_BACK.start(), FRONT_TO_BACK.end())]
    FrontToBack {
        /// What was given.
        got: Db,
    },
    /// See [`LOSS`].
    #[error("an antenna loss of {got} is outside {} to {}", LOSS.start(), LOSS.end())]
    Loss {
        /// What was given.
        got: Db,
    },
    /// See [`TURNS`].
    #[error("{got} turns are outside {} to {}", TURNS.start(), TURNS.end())]
    Turns {
        /// What was given.
        got: f64,
    },
    /// See [`CIRCUMFERENCE`].
    #[error("a circumference of {got} wavelengths is outside {} to {}", CIRCUMFERENCE.start(), CIRCUMFERENCE.end())]
    Circumference {
        /// What was given, in wavelengths.
        got: f64,
    },
    /// See [`PITCH`].
    #[error("a pitch angle of {got} is outside {} to {}", PITCH.start(), PITCH.end())]
    Pitch {
        /// What was given.
        got: Degrees,
    },
    /// An isotropic radiator needs a state of polarization that is finite and not zero.
    #[error("the state of polarization of an isotropic radiator is zero or not finite")]
    State,
    /// A table is no pattern.
    #[error("the measured table has {}", .0.found())]
    Measured(#[from] MeasuredError),
}

/// A circular antenna that covers all round: vertical and horizontal components in quadrature on every side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CircularOmni {
    /// Hand of the wave, all round and at every elevation.
    pub hand: Hand,
    /// Gain on the horizon, both polarizations together. Also sets how flat the pattern is.
    pub peak_gain: Dbi,
    /// Axial ratio on the horizon; toward the axis it grows by about 3 dB.
    pub axial_ratio: Db,
    /// How far the gain over the axis lies below the peak.
    pub null_depth: Db,
}

/// A circular patch, or a panel of patches when the beam is narrower than one patch can make it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CircularPatch {
    /// Hand of the wave in front.
    pub hand: Hand,
    /// Gain straight ahead, both polarizations together.
    pub peak_gain: Dbi,
    /// Half-power beamwidth.
    pub beamwidth: Degrees,
    /// Axial ratio straight ahead; off the axis it grows by itself.
    pub axial_ratio: Db,
    /// Gain straight ahead over gain straight behind.
    pub front_to_back: Db,
}

/// A linear patch (vertical in its own frame), or a panel of them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LinearPatch {
    /// Gain straight ahead.
    pub peak_gain: Dbi,
    /// Half-power beamwidth of the mean of the two principal planes.
    pub beamwidth: Degrees,
    /// Gain straight ahead over gain straight behind.
    pub front_to_back: Db,
}

/// A helix in its axial mode.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AxialHelix {
    /// Hand of the winding, seen as a screw thread; the wave has the same.
    pub hand: Hand,
    /// How much it narrows the beam: from its winding, or as stated.
    pub size: HelixSize,
    /// Gain straight ahead over gain straight behind.
    pub front_to_back: Db,
}

/// What is known of a helix.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum HelixSize {
    /// Its winding; gain, beamwidth and axial ratio follow from Kraus' formulas.
    Wound {
        /// Number of turns.
        turns: f64,
        /// Circumference in wavelengths.
        circumference: f64,
        /// Pitch angle of the winding.
        pitch: Degrees,
        /// How far the gain lies below Kraus' directivity. 1 to 3 dB are usual (common practice, no source).
        loss: Db,
    },
    /// What its description says.
    Stated {
        /// Gain straight ahead, both polarizations together.
        peak_gain: Dbi,
        /// Half-power beamwidth.
        beamwidth: Degrees,
        /// Axial ratio straight ahead.
        axial_ratio: Db,
    },
}

/// Turn spacing in wavelengths, `C tan(pitch)`.
fn spacing(circumference: f64, pitch: Degrees) -> f64 {
    circumference * libm::tan(pitch.radians().0)
}

impl AxialHelix {
    /// Gain straight ahead: as stated, or Kraus' directivity less the loss.
    pub fn peak_gain(&self) -> Dbi {
        match self.size {
            HelixSize::Wound { turns, circumference, pitch, loss } => {
                let directivity = directive::kraus_directivity(circumference, spacing(circumference, pitch), turns);
                Dbi::from_ratio(directivity) - loss
            }
            HelixSize::Stated { peak_gain, .. } => peak_gain,
        }
    }

    /// Half-power beamwidth: as stated, or after Kraus.
    pub fn beamwidth(&self) -> Degrees {
        match self.size {
            HelixSize::Wound { turns, circumference, pitch, .. } => {
                directive::kraus_beamwidth(circumference, spacing(circumference, pitch), turns)
            }
            HelixSize::Stated { beamwidth, .. } => beamwidth,
        }
    }

    /// Axial ratio straight ahead: as stated, or after Kraus.
    pub fn axial_ratio(&self) -> Db {
        match self.size {
            HelixSize::Wound { turns, .. } => directive::kraus_axial_ratio(turns),
            HelixSize::Stated { axial_ratio, .. } => axial_ratio,
        }
    }
}

/// The kinds of antenna.
#[derive(Clone, Debug, PartialEq)]
pub enum AntennaModel {
    /// A radiator of 0 dBi and one state of polarization everywhere, for checks. The state is written with `x` = polar
    /// unit vector (downward on the horizon) and `y` = azimuthal unit vector; its length does not matter. No real
    /// antenna can do this.
    Isotropic(Jones),
    /// A centre-fed thin half-wave dipole along z.
    HalfWaveDipole {
        /// Gain across the wire; without loss 2.15 dBi ([`AntennaModel::half_wave_dipole`]).
        peak_gain: Dbi,
    },
    /// A short whip along z. Its counterpoise is the small body it sits on, so the pair is taken for a short dipole.
    ShortWhip {
        /// Gain across the whip; without loss 1.76 dBi ([`AntennaModel::short_whip`]).
        peak_gain: Dbi,
    },
    /// See [`CircularOmni`].
    CircularOmni(CircularOmni),
    /// See [`CircularPatch`].
    CircularPatch(CircularPatch),
    /// See [`LinearPatch`].
    LinearPatch(LinearPatch),
    /// See [`AxialHelix`].
    AxialHelix(AxialHelix),
    /// See [`MeasuredPattern`].
    Measured(MeasuredPattern),
}

impl AntennaModel {
    /// A half-wave dipole without loss: 2.1509 dBi.
    pub fn half_wave_dipole() -> Self {
        Self::HalfWaveDipole { peak_gain: Dbi::from_ratio(HALF_WAVE_DIRECTIVITY) }
    }

    /// A short whip without loss, taken for a short dipole: 1.7609 dBi.
    pub fn short_whip() -> Self {
        Self::ShortWhip { peak_gain: Dbi::from_ratio(SHORT_DIPOLE_DIRECTIVITY) }
    }

    /// Checks every number against its range.
    pub(super) fn check(&self) -> Result<(), AntennaError> {
        match self {
            Self::Isotropic(state) => {
                let power = state.power();
                if power.is_normal() { Ok(()) } else { Err(AntennaError::State) }
            }
            Self::HalfWaveDipole { peak_gain } | Self::ShortWhip { peak_gain } => check_peak_gain(*peak_gain),
            Self::CircularOmni(omni) => {
                check_peak_gain(omni.peak_gain)?;
                check_axial_ratio(omni.axial_ratio)?;
                if !NULL_DEPTH.contains(&omni.null_depth) {
                    return Err(AntennaError::NullDepth { got: omni.null_depth });
                }
                Ok(())
            }
            Self::CircularPatch(patch) => {
                check_peak_gain(patch.peak_gain)?;
                check_axial_ratio(patch.axial_ratio)?;
                check_beamwidth(patch.beamwidth)?;
                check_front_to_back(patch.front_to_back)
            }
            Self::LinearPatch(patch) => {
                check_peak_gain(patch.peak_gain)?;
                check_beamwidth(patch.beamwidth)?;
                check_front_to_back(patch.front_to_back)
            }
            Self::AxialHelix(helix) => {
                match helix.size {
                    HelixSize::Wound { turns, circumference, pitch, loss } => {
                        if !TURNS.contains(&turns) {
                            return Err(AntennaError::Turns { got: turns });
                        }
                        if !CIRCUMFERENCE.contains(&circumference) {
                            return Err(AntennaError::Circumference { got: circumference });
                        }
                        if !PITCH.contains(&pitch) {
                            return Err(AntennaError::Pitch { got: pitch });
                        }
                        if !LOSS.contains(&loss) {
                            return Err(AntennaError::Loss { got: loss });
                        }
                    }
                    HelixSize::Stated { peak_gain, beamwidth, axial_ratio } => {
                        check_peak_gain(peak_gain)?;
                        check_beamwidth(beamwidth)?;
                        check_axial_ratio(axial_ratio)?;
                    }
                }
                check_front_to_back(helix.front_to_back)
            }
            // A curve was checked when it was made.
            Self::Measured(_) => Ok(()),
        }
    }
}

fn check_peak_gain(got: Dbi) -> Result<(), AntennaError> {
    if PEAK_GAIN.contains(&got) { Ok(()) } else { Err(AntennaError::PeakGain { got }) }
}

fn check_axial_ratio(got: Db) -> Result<(), AntennaError> {
    if AXIAL_RATIO.contains(&got) { Ok(()) } else { Err(AntennaError::AxialRatio { got }) }
}

fn check_beamwidth(got: Degrees) -> Result<(), AntennaError> {
    if BEAMWIDTH.contains(&got) { Ok(()) } else { Err(AntennaError::Beamwidth { got }) }
}

fn check_front_to_back(got: Db) -> Result<(), AntennaError> {
    if FRONT_TO_BACK.contains(&got) { Ok(()) } else { Err(AntennaError::FrontToBack { got }) }
}
