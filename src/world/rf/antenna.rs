//! Antennas as complex vector patterns.
//!
//! An [`Antenna`] answers one question fast: which field does it radiate into a direction ([`Antenna::field`])? Squared,
//! the field is the power gain; as a vector it carries the polarization. Everything else here is derived from it.
//!
//! Antenna frame (see [`crate::rf`]): z is the axis of dipoles, whips and omnis; patches and helices look along +x, with
//! z up. The hand of a circular antenna is that of the wave it radiates at its best; receiving, it hears that hand.

mod directive;
mod measured;
mod model;
mod revolution;
mod sphere;

pub use directive::{kraus_axial_ratio, kraus_beamwidth, kraus_directivity};
pub use measured::{
    AHEAD_REACH, HELD_RAMP, MEASURED_ANGLE, MEASURED_AXIAL_RATIO, MEASURED_GAIN, MEASURED_PEAK, MEASURED_ROWS,
    MEASURED_STEP, MeasuredAxis, MeasuredColumn, MeasuredCut, MeasuredError, MeasuredPattern, MeasuredRow,
    SIDES_WINDOW, SideDifference, TIP_REACH,
};
pub use model::{
    AXIAL_RATIO, AntennaError, AntennaModel, AxialHelix, BEAMWIDTH, CIRCUMFERENCE, CircularOmni, CircularPatch,
    FRONT_TO_BACK, HelixSize, LOSS, LinearPatch, NULL_DEPTH, PEAK_GAIN, PITCH, TURNS,
};
pub use sphere::PartialGains;

use directive::Beam;
use num_complex::Complex64;
use revolution::Omni;
use sphere::SphereMeans;

use super::polarization::{Hand, Jones};
use super::{ComplexVec3, Vec3};
use crate::units::{Db, Dbi, Degrees, Radians};

/// A gain this much above the pattern's directivity is put down to rounding of the given numbers, not remarked upon.
const GAIN_GRACE: f64 = 1.012;
/// The same of a measured pattern, 1 dB: gains are hardly ever measured better (common practice, no source).
const MEASURED_GRACE: f64 = 1.26;

/// The radiating shape, with everything that does not depend on the direction worked out.
#[derive(Clone, Debug, PartialEq)]
enum Shape {
    Isotropic(Jones),
    HalfWaveDipole {
        amplitude: f64,
    },
    ShortWhip {
        amplitude: f64,
    },
    Omni(Omni),
    Beam(Beam),
    /// `sign` is that of the hand.
    Measured {
        cut: MeasuredCut,
        sign: Option<f64>,
    },
}

/// Something about an antenna that the user should know beside the numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum AntennaCaveat {
    /// The nominal gain is more than a lossless antenna of this pattern could have: gain, beamwidth, front-to-back ratio
    /// or null depth is too good. The nominal gain is used all the same.
    GainExceedsDirectivity {
        /// The nominal peak gain.
        gain: Dbi,
        /// The directivity of the pattern, integrated over the sphere.
        directivity: Dbi,
    },
    /// A whip's counterpoise is the body it sits on, which nobody described: the pattern is that of a short dipole.
    CounterpoiseUnknown,
    /// A table does not reach all round; beyond its end its least gain stands in.
    HeldBeyond {
        /// The last angle that was measured.
        angle: Degrees,
        /// Whether the gap lies behind that angle, or before it.
        behind: bool,
        /// What holds there.
        gain: Dbi,
    },
}

impl std::fmt::Display for AntennaCaveat {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::GainExceedsDirectivity { gain, directivity } => write!(
                formatter,
                "a gain of {gain:.1} is more than a pattern of this shape can have: without any loss it reaches {directivity:.1}"
            ),
            Self::CounterpoiseUnknown => {
                formatter.write_str("the body under a whip shapes its pattern; a short dipole stands in for both")
            }
            Self::HeldBeyond { angle, behind, gain } => write!(
                formatter,
                "nobody measured {} {}°: {gain:.1} is taken there, the least of the table",
                if *behind { "beyond" } else { "below" },
                angle.0
            ),
        }
    }
}

/// An antenna: a model with checked numbers, ready to be asked for its field.
#[derive(Clone, Debug, PartialEq)]
pub struct Antenna {
    model: AntennaModel,
    shape: Shape,
    peak_gain: f64,
    means: SphereMeans,
}

impl Antenna {
    /// Builds the antenna of a model.
    ///
    /// It integrates the pattern over the sphere once, for efficiency, caveats and [`Antenna::mean_partial_gains`]; that
    /// takes well under 0.1 ms.
    ///
    /// # Errors
    /// [`AntennaError`] naming the first number outside its range. Not-a-number is outside every range.
    pub fn new(model: AntennaModel) -> Result<Self, AntennaError> {
        model.check()?;
        let (shape, peak_gain) = match &model {
            AntennaModel::Isotropic(state) => {
                let scale = 1.0 / state.power().sqrt();
                (Shape::Isotropic(Jones { x: state.x * scale, y: state.y * scale }), 1.0)
            }
            AntennaModel::HalfWaveDipole { peak_gain } => {
                (Shape::HalfWaveDipole { amplitude: peak_gain.db().amplitude() }, peak_gain.ratio())
            }
            AntennaModel::ShortWhip { peak_gain } => {
                (Shape::ShortWhip { amplitude: peak_gain.db().amplitude() }, peak_gain.ratio())
            }
            AntennaModel::CircularOmni(omni) => (Shape::Omni(Omni::new(omni)), omni.peak_gain.ratio()),
            AntennaModel::CircularPatch(patch) => (Shape::Beam(Beam::circular_patch(patch)), patch.peak_gain.ratio()),
            AntennaModel::LinearPatch(patch) => (Shape::Beam(Beam::linear_patch(patch)), patch.peak_gain.ratio()),
            AntennaModel::AxialHelix(helix) => (Shape::Beam(Beam::helix(helix)), helix.peak_gain().ratio()),
            AntennaModel::Measured(MeasuredPattern { hand, cut }) => {
                (Shape::Measured { cut: cut.clone(), sign: hand.map(Hand::sign) }, cut.peak().1.ratio())
            }
        };
        // One call of either integral, whatever asks for it: each is compiled anew for every pattern that it is given.
        let parts = |direction: &Vec3| shape.parts(direction);
        let means = match &shape {
            Shape::ShortWhip { amplitude } => SphereMeans::of_short_dipole(amplitude * amplitude),
            Shape::Measured { cut, sign: Some(_) } => SphereMeans::of_unknown_tilt(cut.mean_gain()),
            _ if shape.looks_ahead() => SphereMeans::of_beam(parts),
            _ => SphereMeans::of_revolution(parts),
        };
        let means = match &shape {
            Shape::Measured { cut, sign: None } => means.with_efficiency(cut.mean_gain()),
            _ => means,
        };
        Ok(Self { model, shape, peak_gain, means })
    }

    /// The axis of the pattern in the antenna frame: x for one that looks ahead, z for any other.
    pub fn axis(&self) -> Vec3 {
        if self.shape.looks_ahead() { Vec3::x() } else { Vec3::z() }
    }

    /// The model with its numbers as given.
    pub fn model(&self) -> &AntennaModel {
        &self.model
    }

    /// The field radiated into a unit direction of the antenna frame.
    ///
    /// It is transversal, and the sum of its squared components is the power gain. Where a pattern has a null or an axis
    /// the value is the limit from the side of the x-z plane; it is never NaN for a unit vector.
    pub fn field(&self, direction: &Vec3) -> ComplexVec3 {
        let (real, imaginary) = self.shape.parts(direction);
        ComplexVec3::new(
            Complex64::new(real.x, imaginary.x),
            Complex64::new(real.y, imaginary.y),
            Complex64::new(real.z, imaginary.z),
        )
    }

    /// Power gain into a unit direction, both polarizations together, as a ratio.
    pub fn gain(&self, direction: &Vec3) -> f64 {
        let (real, imaginary) = self.shape.parts(direction);
        real.norm_squared() + imaginary.norm_squared()
    }

    /// Gain in the best direction, both polarizations together: what counts for EIRP.
    pub fn peak_gain(&self) -> Dbi {
        Dbi::from_ratio(self.peak_gain)
    }

    /// Directivity of the pattern: peak gain over mean gain.
    pub fn directivity(&self) -> Dbi {
        Dbi::from_ratio(self.peak_gain / self.means.efficiency())
    }

    /// Mean power gain over the sphere: the radiation efficiency. More than 1 is impossible and shows that the nominal
    /// numbers do not fit together ([`AntennaCaveat::GainExceedsDirectivity`]).
    pub fn efficiency(&self) -> f64 {
        self.means.efficiency()
    }

    /// The hand in the main direction; `None` for a linear antenna.
    pub fn hand(&self) -> Option<Hand> {
        match &self.model {
            AntennaModel::Isotropic(state) => state.ellipse().and_then(|ellipse| ellipse.hand),
            AntennaModel::HalfWaveDipole { .. } | AntennaModel::ShortWhip { .. } | AntennaModel::LinearPatch(_) => None,
            AntennaModel::CircularOmni(omni) => Some(omni.hand),
            AntennaModel::CircularPatch(patch) => Some(patch.hand),
            AntennaModel::AxialHelix(helix) => Some(helix.hand),
            AntennaModel::Measured(measured) => measured.hand,
        }
    }

    /// Nominal axial ratio in the main direction; `None` for a linear antenna, which is another kind and not an extreme
    /// of this one.
    pub fn axial_ratio(&self) -> Option<Db> {
        match &self.model {
            AntennaModel::Isotropic(state) => {
                state.ellipse().filter(|ellipse| ellipse.hand.is_some()).map(|ellipse| ellipse.axial_ratio)
            }
            AntennaModel::HalfWaveDipole { .. } | AntennaModel::ShortWhip { .. } | AntennaModel::LinearPatch(_) => None,
            AntennaModel::CircularOmni(omni) => Some(omni.axial_ratio),
            AntennaModel::CircularPatch(patch) => Some(patch.axial_ratio),
            AntennaModel::AxialHelix(helix) => Some(helix.axial_ratio()),
            AntennaModel::Measured(MeasuredPattern { hand, cut }) => hand.map(|_| cut.at(cut.peak().0).1),
        }
    }

    /// Whether the tilt of the antenna's ellipse is unknown, as for every real circular antenna: nobody knows how its
    /// ellipse sits in its case. The pattern has to put it somewhere; whoever couples two antennas averages it out
    /// (the mean over both tilts is the sum over the hands, [`super::polarization::split_hands`]).
    pub fn tilt_is_unknown(&self) -> bool {
        match &self.model {
            AntennaModel::CircularOmni(_) | AntennaModel::CircularPatch(_) | AntennaModel::AxialHelix(_) => true,
            AntennaModel::Measured(measured) => measured.hand.is_some(),
            _ => false,
        }
    }

    /// The same antenna with the other winding, where it has a hand: the gain into every direction stays, the hands
    /// change places. A linear antenna comes back as it was.
    pub fn with_hand(&self, hand: Hand) -> Self {
        let mut turned = self.clone();
        if self.hand().is_none_or(|own| own == hand) {
            return turned;
        }
        match &mut turned.model {
            AntennaModel::Isotropic(state) => *state = Jones { x: state.x.conj(), y: state.y.conj() },
            AntennaModel::CircularOmni(omni) => omni.hand = hand,
            AntennaModel::CircularPatch(patch) => patch.hand = hand,
            AntennaModel::AxialHelix(helix) => helix.hand = hand,
            AntennaModel::Measured(measured) => measured.hand = Some(hand),
            AntennaModel::HalfWaveDipole { .. } | AntennaModel::ShortWhip { .. } | AntennaModel::LinearPatch(_) => {}
        }
        match &mut turned.shape {
            Shape::Isotropic(state) => *state = Jones { x: state.x.conj(), y: state.y.conj() },
            Shape::Omni(omni) => omni.turn_hand(),
            Shape::Beam(beam) => beam.turn_hand(),
            Shape::Measured { sign, .. } => *sign = Some(hand.sign()),
            Shape::HalfWaveDipole { .. } | Shape::ShortWhip { .. } => {}
        }
        turned
    }

    /// What does not fit together or is not known about this antenna; empty when there is nothing to say.
    pub fn caveats(&self) -> Vec<AntennaCaveat> {
        let mut caveats = Vec::new();
        let measured = match &self.model {
            AntennaModel::Measured(measured) => Some(measured),
            _ => None,
        };
        if self.efficiency() > if measured.is_some() { MEASURED_GRACE } else { GAIN_GRACE } {
            caveats.push(AntennaCaveat::GainExceedsDirectivity {
                gain: self.peak_gain(),
                directivity: self.directivity(),
            });
        }
        if matches!(self.model, AntennaModel::ShortWhip { .. }) {
            caveats.push(AntennaCaveat::CounterpoiseUnknown);
        }
        if let Some(MeasuredPattern { cut, .. }) = measured {
            let ((from, to), gain) = (cut.reach(), cut.least_gain());
            // An antenna that looks ahead keeps its first row up to its look.
            if from.0 > 0.0 && cut.axis() == MeasuredAxis::Tip {
                caveats.push(AntennaCaveat::HeldBeyond { angle: from, behind: false, gain });
            }
            if to.0 < 180.0 {
                caveats.push(AntennaCaveat::HeldBeyond { angle: to, behind: true, gain });
            }
        }
        caveats
    }

    /// Mean power gains over the sphere in the world's vertical and horizontal components, with the antenna's z axis
    /// tilted from the vertical by `tilt`; for an antenna that looks along x, by raising or lowering its beam.
    ///
    /// This is what an antenna takes from scatter that comes alike from everywhere. The two add up to
    /// [`Antenna::efficiency`]. Exact for the short whip; otherwise a polynomial in the squared cosine of the tilt,
    /// within 0.005 of the integral for dipoles and omnis, within 0.02 for beams (worst for a narrow panel that looks
    /// almost straight up). Of a measured circular antenna it is the mean over the tilt of its ellipse, which is unknown:
    /// half and half. Of a measured linear one, whose curve has corners, the parts are as near as 16 rings see it.
    pub fn mean_partial_gains(&self, tilt: Radians) -> PartialGains {
        let (sine, cosine) = libm::sincos(tilt.0);
        self.means.partial_gains(&Vec3::new(sine, 0.0, cosine))
    }

    /// As [`Antenna::mean_partial_gains`], for any attitude: `up` is the world's unit vertical in the antenna frame.
    pub fn mean_partial_gains_under(&self, up: &Vec3) -> PartialGains {
        self.means.partial_gains(up)
    }
}

impl Shape {
    /// Whether it looks along x instead of standing along z.
    fn looks_ahead(&self) -> bool {
        match self {
            Shape::Beam(_) => true,
            Shape::Measured { cut, .. } => cut.axis() == MeasuredAxis::Ahead,
            _ => false,
        }
    }

    /// Real and imaginary part of the field, as two real vectors.
    fn parts(&self, direction: &Vec3) -> (Vec3, Vec3) {
        match self {
            Shape::Isotropic(state) => revolution::isotropic(state, direction),
            Shape::HalfWaveDipole { amplitude } => (revolution::half_wave_dipole(*amplitude, direction), Vec3::zeros()),
            Shape::ShortWhip { amplitude } => (revolution::short_dipole(*amplitude, direction), Vec3::zeros()),
            Shape::Omni(omni) => omni.parts(direction),
            Shape::Beam(beam) => beam.parts(direction),
            Shape::Measured { cut, sign } => cut.parts(*sign, direction),
        }
    }
}

#[cfg(test)]
mod tests;
