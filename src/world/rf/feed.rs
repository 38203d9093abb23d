//! The way between a connector and an antenna: cable, plugs, mismatch.

use serde::{Deserialize, Serialize};

use crate::units::{Db, Hertz, Metres};

/// A kind of coaxial cable, by its designation in the trade.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FeedLine {
    /// RG178: 1.8 mm, PTFE.
    Rg178,
    /// RG316: 2.5 mm, PTFE.
    Rg316,
    /// 2.8 mm with a double shield, the "100" class.
    DoubleShield28,
    /// RG405: semi-rigid, 2.2 mm (.086 inch).
    Rg405,
    /// RG402: semi-rigid, 3.6 mm (.141 inch).
    Rg402,
    /// Micro-coax of 1.37 mm.
    Micro137,
    /// Micro-coax of 1.13 mm.
    Micro113,
    /// Micro-coax of 0.81 mm.
    Micro081,
}

/// How far the numbers of a cable can be trusted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FeedBasis {
    /// Fitted to datasheet points that reach 5.8 GHz and beyond.
    Datasheet,
    /// Fitted to datasheet points up to 3 GHz and extended by the law of skin effect and dielectric loss.
    ExtendedDatasheet,
    /// Estimated from the cable's size; no datasheet was read. At 5.8 GHz good for about a fifth of the loss.
    Estimate,
}

impl FeedLine {
    /// Every kind, thick ones last.
    pub const ALL: [FeedLine; 8] = [
        FeedLine::Micro081,
        FeedLine::Micro113,
        FeedLine::Micro137,
        FeedLine::Rg178,
        FeedLine::Rg316,
        FeedLine::DoubleShield28,
        FeedLine::Rg405,
        FeedLine::Rg402,
    ];

    /// Loss per metre is `k1 √f + k2 f`, f in GHz: skin effect and dielectric.
    ///
    /// Fits to datasheet points; the micro-coax rows are fits to estimates ([`FeedLine::basis`]).
    fn coefficients(self) -> (f64, f64) {
        match self {
            FeedLine::Rg178 => (1.4137, 0.1732),
            FeedLine::Rg316 => (0.7731, 0.0969),
            FeedLine::DoubleShield28 => (0.7356, 0.0572),
            FeedLine::Rg405 => (0.6771, 0.0464),
            FeedLine::Rg402 => (0.3591, 0.0344),
            FeedLine::Micro137 => (1.28, 0.12),
            FeedLine::Micro113 => (1.83, 0.10),
            FeedLine::Micro081 => (2.75, 0.06),
        }
    }

    /// Where the numbers come from.
    pub fn basis(self) -> FeedBasis {
        match self {
            FeedLine::Rg178 | FeedLine::Rg316 => FeedBasis::ExtendedDatasheet,
            FeedLine::DoubleShield28 | FeedLine::Rg405 | FeedLine::Rg402 => FeedBasis::Datasheet,
            FeedLine::Micro137 | FeedLine::Micro113 | FeedLine::Micro081 => FeedBasis::Estimate,
        }
    }

    /// Loss of one metre, in decibels. `frequency` is zero or more.
    pub fn loss_per_metre(self, frequency: Hertz) -> Db {
        let (skin, dielectric) = self.coefficients();
        let gigahertz = frequency.0 / 1e9;
        Db(skin * gigahertz.sqrt() + dielectric * gigahertz)
    }

    /// Loss of a run of this cable; `length` is zero or more.
    pub fn loss(self, length: Metres, frequency: Hertz) -> Db {
        self.loss_per_metre(frequency) * length.0
    }
}

/// Loss of one mated pair of screwed miniature connectors (the SMA kind): 0.1 dB at 5.8 GHz, growing with the root of
/// the frequency. Common practice, no source.
pub fn connector_pair_loss(frequency: Hertz) -> Db {
    Db(0.1 * (frequency.0 / 5.8e9).sqrt())
}

/// A standing-wave ratio that cannot be.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("a standing-wave ratio of {got} is not possible: it is 1 for a perfect match and more for any other")]
pub struct StandingWaveError {
    /// What was given.
    pub got: f64,
}

/// Power that a mismatch sends back, as a loss: `-10 log10(1 - ((s-1)/(s+1))²)`.
///
/// # Errors
/// [`StandingWaveError`] when the ratio is below 1, infinite or not a number.
pub fn mismatch_loss(standing_wave_ratio: f64) -> Result<Db, StandingWaveError> {
    if !(standing_wave_ratio >= 1.0 && standing_wave_ratio.is_finite()) {
        return Err(StandingWaveError { got: standing_wave_ratio });
    }
    let reflection = (standing_wave_ratio - 1.0) / (standing_wave_ratio + 1.0);
    Ok(Db(-10.0 * libm::log10(1.0 - reflection * reflection) + 0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Loss per metre in dB at 0.868, 2.44 and 5.8 GHz. The first five rows: fits to datasheet points. The micro-coax
    /// rows are estimates (from memory, and by skin effect), so they are held to a tenth only.
    const TABLE: [(FeedLine, [f64; 3], f64); 8] = [
        (FeedLine::Rg178, [1.467, 2.631, 4.41], 0.005),
        (FeedLine::Rg316, [0.804, 1.444, 2.42], 0.01),
        (FeedLine::DoubleShield28, [0.735, 1.289, 2.10], 0.005),
        (FeedLine::Rg405, [0.671, 1.171, 1.90], 0.005),
        (FeedLine::Rg402, [0.364, 0.645, 1.06], 0.006),
        (FeedLine::Micro113, [1.8, 3.2, 5.0], 0.12),
        (FeedLine::Micro137, [1.3, 2.2, 3.8], 0.12),
        (FeedLine::Micro081, [2.62, 4.6, 7.0], 0.4),
    ];

    #[test]
    fn every_cable_loses_what_its_table_says() {
        assert_eq!(TABLE.len(), FeedLine::ALL.len());
        for (line, losses, tolerance) in TABLE {
            for (gigahertz, expected) in [0.868, 2.44, 5.8].into_iter().zip(losses) {
                let got = line.loss_per_metre(Hertz(gigahertz * 1e9)).0;
                assert!((got - expected).abs() <= tolerance, "{line:?} {gigahertz}: {got} {expected}");
            }
        }
        // Datasheet points themselves: 2.968 and 1.630 dB/m at 3 GHz.
        assert!((FeedLine::Rg178.loss_per_metre(Hertz(3e9)).0 - 2.968).abs() < 0.002);
        assert!((FeedLine::Rg316.loss_per_metre(Hertz(3e9)).0 - 1.630).abs() < 0.002);
    }

    #[test]
    fn a_run_loses_by_its_length() {
        let frequency = Hertz(5.8e9);
        assert_eq!(FeedLine::Rg178.loss(Metres(0.0), frequency), Db(0.0));
        let (half, whole) =
            (FeedLine::Rg178.loss(Metres(0.5), frequency), FeedLine::Rg178.loss(Metres(1.0), frequency));
        assert!((whole.0 - 2.0 * half.0).abs() < 1e-12);
    }

    #[test]
    fn mismatch_costs_what_the_formula_gives() {
        // Computed: 1.5 -> 0.177 dB, 2 -> 0.512 dB, 3 -> 1.249 dB.
        for (ratio, expected) in [(1.0, 0.0), (1.5, 0.177), (2.0, 0.512), (3.0, 1.249)] {
            assert!((mismatch_loss(ratio).unwrap().0 - expected).abs() < 0.000_6);
        }
        for impossible in [0.99, 0.0, f64::NAN, f64::INFINITY] {
            assert!(mismatch_loss(impossible).is_err());
        }
    }
}
