//! The stages of the ladder in plain words, each with the formula behind it and where the formula comes from.

use crate::link::report::Term;

/// Why a stage is what it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Why {
    /// The formula, in the letters of its source.
    pub formula: &'static str,
    /// What the letters mean and what the formula leaves out.
    pub meaning: &'static str,
    /// Standard and section, or that there is none.
    pub source: &'static str,
}

/// All stages in the order of the ladder.
pub const STAGES: [Term; 13] = [
    Term::Power,
    Term::TransmitFeed,
    Term::TransmitAntenna,
    Term::OwnFrame,
    Term::FreeSpace,
    Term::Obstruction,
    Term::People,
    Term::Polarization,
    Term::ReceiveAntenna,
    Term::OwnHead,
    Term::ReceiveFeed,
    Term::OtherPaths,
    Term::Threshold,
];

/// A stage in one or two words, for the narrow columns of the drawn ladder.
pub fn short_name(term: Term) -> &'static str {
    match term {
        Term::Power => "power",
        Term::TransmitFeed | Term::ReceiveFeed => "feed",
        Term::TransmitAntenna | Term::ReceiveAntenna => "antenna",
        Term::OwnFrame => "frame",
        Term::FreeSpace => "distance",
        Term::Obstruction => "obstacles",
        Term::People => "people",
        Term::Polarization => "hand",
        Term::OwnHead => "head",
        Term::OtherPaths => "bounces",
        Term::Threshold => "margin",
    }
}

/// Formula and source of a stage.
pub fn why(term: Term) -> Why {
    match term {
        Term::Power => Why {
            formula: "P[dBm] = 10 log₁₀(P / 1 mW)",
            meaning: "Conducted power as stated for the transmitter; small transmitters are commonly off by a decibel \
                      either way.",
            source: "Definition of the decibel; the tolerance is common practice, no source.",
        },
        Term::TransmitFeed | Term::ReceiveFeed => Why {
            formula: "L = (k₁√f + k₂f) · length + loss per pair of connectors",
            meaning: "f in GHz; k₁ and k₂ belong to the cable. Skin effect grows with √f, the dielectric's loss with f.",
            source: "Fitted to cable data sheets, partly extrapolated to 5.8 GHz; loss of a connector: common practice, \
                     no source.",
        },
        Term::TransmitAntenna => Why {
            formula: "G(θ, φ) = |F(θ, φ)|²",
            meaning: "F is the complex vector pattern of the antenna, turned as the aircraft leans; both polarizations \
                      together, so that a wrong hand shows in its own stage.",
            source: "Closed-form patterns (half-wave dipole, short dipole, two crossed cavity modes, axial-mode helix); \
                     kit values that nobody stated are typical ones, common practice, no source.",
        },
        Term::OwnFrame => Why {
            formula: "L = stated loss within the cone below the antenna's foot, else 0 dB",
            meaning: "Carbon plates, battery and camera shadow what lies beneath the antenna; 6 dB unless stated.",
            source: "Common practice, no source.",
        },
        Term::FreeSpace => Why {
            formula: "L = 20 log₁₀(4πd / λ)",
            meaning: "d is the length of the direct path, λ the wavelength: twice as far costs 6 dB.",
            source: "ITU-R P.525-5 (11/2024), eq. 5.",
        },
        Term::Obstruction => Why {
            formula: "J(ν) = −20 log₁₀(½ √((1 − C − S)² + (C − S)²)),  ν = h √(2/λ · (1/d₁ + 1/d₂))",
            meaning: "C and S are the Fresnel integrals of ν, h the height of the edge above the ray. A wall is a \
                      rectangular screen, a building two edges in a row; what goes through the wall and through foliage \
                      (γ dB for each metre) is added as power.",
            source: "ITU-R P.526-16 (11/2025), sections 4.1, 4.3 and 5.2; walls: ITU-R P.2040-4; foliage: ITU-R P.833, \
                     annex 1, section 2.1; canopies: common practice, no source.",
        },
        Term::People => Why {
            formula: "L = −20 log₁₀(1 − (F_h1 + F_h2)(F_w1 + F_w2)) for each person",
            meaning: "Each person is a screen 0.3 m wide and 1.7 m high, turned to the ray. The crowd is drawn many times \
                      from a fixed seed, and outage is averaged, not decibels.",
            source: "3GPP TR 38.901, section 7.6.4.2, eq. 7.6-29 and 7.6-30.",
        },
        Term::Polarization => Why {
            formula: "p = ½ + (4 s₁s₂ + (s₁² − 1)(s₂² − 1) cos 2Δτ) / (2 (s₁² + 1)(s₂² + 1))",
            meaning: "s is the axial ratio, positive for a right hand and negative for a left hand; Δτ the tilt between \
                      the two ellipses. Nobody knows the tilt of a circular antenna, so this is the mean over all tilts.",
            source: "Hands as in IEEE Std 145; the closed form is checked against the dot product of the field vectors.",
        },
        Term::ReceiveAntenna => Why {
            formula: "G(θ, φ) = |F(θ, φ)|²",
            meaning: "F is the complex vector pattern in the direction from which the direct path arrives, turned by the \
                      seat's facing and the port's aim.",
            source: "Closed-form patterns, as for the antenna on the aircraft.",
        },
        Term::OwnHead => Why {
            formula: "0 dB up to 95° off the facing, rising to 12 dB at 140° and beyond",
            meaning: "Pilots turn their heads little; behind the head the goggles hear through it.",
            source: "Common practice, no source.",
        },
        Term::OtherPaths => Why {
            formula: "P = Σ|aᵢ|² + 2 Re Σ aᵢaⱼ* e^(−sᵢⱼ²/2) + diffuse",
            meaning: "aᵢ is the amplitude of a path; s says how far the line that is really flown blurs the phase between \
                      two paths. Diffuse is the scatter that no one drew, by the class of the surroundings.",
            source: "Bounces: Fresnel coefficients of ITU-R P.2040-4, of small faces in part as ITU-R P.526-16, section \
                     5.2, has it for openings; diffuse: K and cross-polarization ratio of 3GPP TR 38.901, table 7.5-6, \
                     behind buildings table 7.4.1-1.",
        },
        Term::Threshold => Why {
            formula: "threshold = −174 dBm/Hz + 10 log₁₀ B + noise figure + C/N",
            meaning: "Thermal noise at 290 K in the bandwidth B, plus what the receiver adds, plus the carrier-to-noise \
                      ratio that the picture needs; or the sensitivity that was typed in. Margin is the level less this.",
            source: "Thermal noise kT₀B; carrier-to-noise ratio of 10 dB for analogue pictures: common practice, no \
                     source.",
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_stage_says_what_it_is_and_where_its_formula_comes_from() {
        for term in STAGES {
            assert!(!short_name(term).is_empty());
            let why = why(term);
            assert!(why.meaning.ends_with('.') && why.source.ends_with('.'), "{term:?}");
            // A source is a standard, a definition, or the admission that there is none.
            let words = ["ITU-R", "3GPP", "IEEE", "Definition", "common practice", "Common practice", "Closed-form"];
            assert!(words.iter().any(|word| why.source.contains(word)), "{term:?}");
        }
    }
}
