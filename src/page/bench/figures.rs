//! Every figure of a link beside its budget, with formula and source.

use crate::format::{self, DisplayUnits, Measure, fixed, signed};
use crate::link::pair::hearing::{EndReport, PairReport};
use crate::link::report::Term;
use crate::site::Way;
use crate::wording;

/// A figure.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// Its id on the page.
    pub id: &'static str,
    /// What it is.
    pub name: &'static str,
    /// Its value with unit.
    pub value: String,
    /// Formula and, where letters need words, their meaning; empty where there is none.
    pub formula: &'static str,
    /// Where the formula comes from.
    pub source: &'static str,
}

/// A stage of the budget as the bench calls it: nothing flies here.
pub fn step_name(term: Term) -> &'static str {
    match term {
        Term::Power => "Power at the transmitter’s connector",
        Term::TransmitFeed => "Feed line of the transmitter",
        Term::TransmitAntenna => "Transmitter’s antenna toward the receiver",
        Term::OwnFrame => "Frame below the transmitter’s antenna",
        Term::FreeSpace => "Free-space basic transmission loss",
        Term::Obstruction => "Obstacle in the direct path",
        Term::People => "People in the direct path",
        Term::Polarization => "Polarization efficiency",
        Term::ReceiveAntenna => "Receiver’s antenna toward the transmitter",
        Term::OwnHead => "Head of the wearer",
        Term::ReceiveFeed => "Feed line of the receiver",
        Term::OtherPaths => "Bounces and scatter",
        Term::Threshold => "Level that the picture needs",
    }
}

/// Id of a stage's row.
pub fn step_id(term: Term) -> &'static str {
    match term {
        Term::Power => "step-power",
        Term::TransmitFeed => "step-transmit-feed",
        Term::TransmitAntenna => "step-transmit-antenna",
        Term::OwnFrame => "step-frame",
        Term::FreeSpace => "step-free-space",
        Term::Obstruction => "step-obstacle",
        Term::People => "step-people",
        Term::Polarization => "step-polarization",
        Term::ReceiveAntenna => "step-receive-antenna",
        Term::OwnHead => "step-head",
        Term::ReceiveFeed => "step-receive-feed",
        Term::OtherPaths => "step-others",
        Term::Threshold => "step-threshold",
    }
}

/// Whether a stage is shown although it costs nothing: a bench has no people, and mostly neither frame nor head.
pub fn is_always_shown(term: Term) -> bool {
    !matches!(term, Term::People | Term::OwnFrame | Term::OwnHead)
}

/// A reason of the planner in the words of the bench: its transmitter is an aircraft.
pub fn reason(text: &str) -> String {
    let text = text.replace("The aircraft's own frame", "The frame").replace("on the aircraft", "at the transmitter");
    text.replace("aircraft", "transmitter").replace(" -", " −").replace('\'', "’")
}

/// Where a wave takes its hand from, in words: "right hand, axial ratio 2.0 dB".
pub fn wave_words(end: &EndReport) -> String {
    let Some(ellipse) = end.ellipse else { return "nothing: the other end stands in a null".to_owned() };
    match ellipse.hand {
        None => format!("linear, {}° from level", fixed(ellipse.tilt.0, 0)),
        hand => format!("{}, axial ratio {}", wording::hand(hand), format::decibels(ellipse.axial_ratio.0)),
    }
}

fn way_words(way: Way) -> &'static str {
    match way {
        Way::Clear => "the line is free",
        Way::Over => "most goes over it",
        Way::Round => "most goes round it",
        Way::Through => "most goes through it",
    }
}

const RICE: &str =
    "The Rice distribution with the Marcum function Q₁ (from memory, checked against an independent library).";
const ANTENNA: &str = "Hands as in IEEE Std 145.";
const FRESNEL: &str = "ITU-R P.526-16 (11/2025), section 2, eq. 2.";

/// The figures of a link, in the order of the signal.
pub fn figures(report: &PairReport, units: DisplayUnits) -> Vec<Figure> {
    let figure = |id, name, value, formula, source| Figure { id, name, value, formula, source };
    let explained = &report.explanation;
    let mut figures = vec![
        figure(
            "figure-eirp",
            "Radiated power (EIRP)",
            format::power(report.eirp.0, units),
            "EIRP = conducted power − feed loss + peak gain",
            "Definition, ITU Radio Regulations No. 1.161. Whether it is allowed, local rules decide.",
        ),
        figure(
            "figure-length",
            "Length of the direct path; wavelength",
            format!("{}; {} mm", format::short_length(report.length.0, units), fixed(report.wavelength.0 * 1e3, 2)),
            "λ = c / f",
            "Definition; c = 299 792 458 m/s.",
        ),
        figure(
            "figure-free-space",
            "Free-space basic transmission loss",
            format::decibels(report.free_space_loss.0),
            "L = 20 log₁₀(4πd / λ)",
            "ITU-R P.525-5 (11/2024), eq. 5.",
        ),
        figure(
            "figure-sent",
            "Wave that sets out",
            wave_words(&report.transmitter),
            "r = (|E_R| + |E_L|) / ||E_R| − |E_L||",
            ANTENNA,
        ),
        figure(
            "figure-taken",
            "Wave that the receiver’s antenna takes best",
            wave_words(&report.receiver),
            "r = (|E_R| + |E_L|) / ||E_R| − |E_L||",
            ANTENNA,
        ),
        figure(
            "figure-polarization",
            "Polarization efficiency",
            format::decibel_change(report.polarization.0),
            "p = ½ + (4 s₁s₂ + (s₁² − 1)(s₂² − 1) cos 2Δτ) / (2 (s₁² + 1)(s₂² + 1)), mean over unknown tilts",
            "Closed form of two ellipses; hands as in IEEE Std 145.",
        ),
    ];
    if let Some((least, most)) = explained.tilt_spread_db {
        figures.push(figure(
            "figure-spread",
            "the same over all tilts, worst to best",
            format!("{} to {}", signed(least, 1), format::decibel_change(most)),
            "cos 2Δτ from −1 to 1: nobody knows the tilt of a circular antenna’s ellipse",
            "Closed form of two ellipses; hands as in IEEE Std 145.",
        ));
    }
    if let Some(obstacle) = &report.obstacle {
        figures.push(figure(
            "figure-obstacle",
            "Loss by the obstacle",
            format!("{}; {}", format::decibels(obstacle.loss.0), way_words(obstacle.way)),
            "screen: 1 − aperture; block: two edges in a row; what goes through is added as power",
            "ITU-R P.526-16 (11/2025), sections 4.3 and 5.2; walls: ITU-R P.2040-4; foliage: ITU-R P.833.",
        ));
        if let (Some(radius), Some(clearance)) = (obstacle.fresnel_radius, obstacle.clearance) {
            figures.push(figure(
                "figure-clearance",
                "First Fresnel radius there; clearance in radii",
                format!("{}; {}", format::short_length(radius.0, units), signed(clearance, 2)),
                "F₁ = √(λ d₁ d₂ / (d₁ + d₂)); 0.6 of it should be free",
                FRESNEL,
            ));
        }
        if let (Some(nu), Some(loss)) = (obstacle.nu, obstacle.edge_loss) {
            figures.push(figure(
                "figure-edge",
                "One endless edge of its height: ν; loss",
                format!("{}; {}", signed(nu, 3), format::decibels(loss.0)),
                "ν = h √(2/λ · (1/d₁ + 1/d₂)); J(ν) = −20 log₁₀(½ √((1 − C − S)² + (C − S)²))",
                "ITU-R P.526-16 (11/2025), eq. 26 and 30.",
            ));
        }
    }
    figures.push(figure(
        "figure-k",
        "K-factor (steady over scattered signal)",
        format::decibels(explained.k_db),
        "K = |Σ γᵢaᵢ|² / (mean power − |Σ γᵢaᵢ|²), γᵢ = exp(−sᵢ²/2) against the strongest path",
        "Diffuse power by the K of 3GPP TR 38.901, table 7.5-6, for these surroundings; open field: common practice, no source.",
    ));
    if let (Some(noise), Some(ratio)) = (report.noise, report.carrier_to_noise) {
        figures.push(figure(
            "figure-noise",
            "Noise of the receiver; carrier over noise",
            format!("{}; {}", format::level(noise.0), format::decibels(ratio.0)),
            "N = −174 dBm/Hz + 10 log₁₀ B + noise figure",
            "Thermal noise kT₀B at 290 K.",
        ));
    }
    figures.push(figure(
        "figure-outage",
        "Outage by fading",
        Measure::Share.text(explained.outage, units),
        "P = 1 − Q₁(√2K, √(2 (1 + K) / M)), M the margin as a ratio",
        RICE,
    ));
    figures.push(figure(
        "figure-fades",
        "Fades below threshold (estimate)",
        format::fades(explained.fades_per_s, explained.fade_length_s),
        "N = √(2π (K + 1)) f_m ρ exp(−K − (K + 1) ρ²) I₀(2ρ √(K (K + 1)))",
        "Rice’s formula (from memory, checked against a simulation); a direct path with Doppler of its own has 1.2 to 2 times as many.",
    ));
    figures
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::stages::STAGES;
    use crate::link::pair::{PairLink, PairObstacle, hearing};

    #[test]
    fn every_figure_has_a_source_and_every_stage_a_name() {
        let link = PairLink { obstacle: Some(PairObstacle::default()), ..PairLink::default() };
        let figures = figures(&hearing::hear(&link).unwrap(), DisplayUnits::default());
        assert!(figures.len() > 12);
        for figure in &figures {
            assert!(
                figure.source.ends_with('.') && !figure.value.is_empty() && !figure.formula.is_empty(),
                "{figure:?}"
            );
            assert_eq!(figures.iter().filter(|other| other.id == figure.id).count(), 1);
        }
        for term in STAGES {
            assert!(!step_name(term).contains("aircraft") && step_id(term).starts_with("step-"));
        }
        for line in hearing::hear(&link).unwrap().explanation.budget {
            assert!(!reason(&line.reason).contains("aircraft"), "{}", line.reason);
        }
    }
}
