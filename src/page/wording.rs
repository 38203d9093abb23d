//! Verdicts, causes and kinds of kit in the page's words: each enum becomes words in one place.

use crate::format;
use crate::link::report::{Cause, EntryReport, Stretch, Verdict};
pub use crate::link::safety::gate_words as gate;
use crate::link::sheet::cause_words;
use crate::plan::document::{AntennaKind, Gate, Picture, Plan, StatedHand};
use crate::rf::fading::Surroundings;
use crate::rf::feed::FeedLine;
use crate::rf::polarization::Hand;

/// The word of a verdict as part of a class name; the same three words, kept apart from what people read.
pub fn verdict_class(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Clear => "is-clear",
        Verdict::Thin => "is-thin",
        Verdict::Short => "is-short",
    }
}

/// A hand, or linear.
pub fn hand(hand: Option<Hand>) -> &'static str {
    match hand {
        Some(Hand::Right) => "right hand",
        Some(Hand::Left) => "left hand",
        None => "linear",
    }
}

/// A hand as far as it is known, under a label that says "hand".
pub fn stated_hand(hand: StatedHand) -> &'static str {
    match hand {
        StatedHand::Right => "right",
        StatedHand::Left => "left",
        StatedHand::Unknown => "not marked",
    }
}

/// A kind of antenna.
pub fn antenna_kind(kind: AntennaKind) -> &'static str {
    match kind {
        AntennaKind::Dipole => "dipole (linear)",
        AntennaKind::Whip => "short whip (linear)",
        AntennaKind::CircularOmni => "circular omni",
        AntennaKind::CircularPatch => "circular patch",
        AntennaKind::LinearPatch => "linear patch",
        AntennaKind::Helix => "helix (circular)",
    }
}

/// A class of surroundings.
pub fn surroundings(class: Surroundings) -> &'static str {
    match class {
        Surroundings::OpenField => "open field",
        Surroundings::Village => "village or edge of town",
        Surroundings::StreetOrSquare => "street or square",
        Surroundings::TallBlocks => "between tall blocks",
        Surroundings::Hall => "hall or large room",
        Surroundings::MetalHall => "works hall with much metal",
    }
}

/// A feed line: size first, the trade's designation in brackets where it has one.
pub fn feed_line(line: FeedLine) -> &'static str {
    match line {
        FeedLine::Micro081 => "micro-coax, 0.81 mm",
        FeedLine::Micro113 => "micro-coax, 1.13 mm",
        FeedLine::Micro137 => "micro-coax, 1.37 mm",
        FeedLine::Rg178 => "coax, 1.8 mm (RG178)",
        FeedLine::Rg316 => "coax, 2.5 mm (RG316)",
        FeedLine::DoubleShield28 => "double-shield coax, 2.8 mm",
        FeedLine::Rg405 => "semi-rigid, 2.2 mm (RG405)",
        FeedLine::Rg402 => "semi-rigid, 3.6 mm (RG402)",
    }
}

/// A kind of picture.
pub fn picture(picture: &Picture) -> &'static str {
    match picture {
        Picture::Analogue { .. } => "analogue",
        Picture::Digital { .. } => "digital",
    }
}

/// A text with its first letter changed: a capital at the start of a sentence, a small letter within one.
pub fn with_first(text: &str, change: fn(&char) -> char) -> String {
    let mut letters = text.chars();
    letters.next().iter().map(change).chain(letters).collect()
}

/// Between which gates a stretch lies.
pub fn between(gates: &[Gate], stretch: &Stretch) -> String {
    if stretch.after_gate == stretch.before_gate {
        format!("near {}", gate(gates, stretch.after_gate))
    } else {
        format!("between {} and {}", gate(gates, stretch.after_gate), gate(gates, stretch.before_gate))
    }
}

/// The cause of the weakest stretch, and what there is to gain: "people are in the way (fixing it gains 3.1 dB)". Nobody
/// mends a distance, so that is compared with the lap's middle one.
pub fn cause_with_gain(entry: &EntryReport, plan: &Plan) -> String {
    let words = cause_words(&entry.cause, plan);
    match entry.cause_gain_db {
        gain if gain.abs() < 0.05 => words,
        gain if entry.cause == Cause::Range => format!("{words}; {} at mid-lap distance", format::decibel_change(gain)),
        gain if gain < 0.0 => words,
        gain => format!("{words} (fixing it gains {})", format::decibels(gain)),
    }
}

/// The weakest stretch and why, as a sentence.
pub fn worst_stretch(entry: &EntryReport, plan: &Plan, units: format::DisplayUnits) -> String {
    format!(
        "Weakest {} ({}): {}.",
        between(&plan.course.gates, &entry.worst),
        format::length(entry.worst.length_m, units),
        cause_with_gain(entry, plan),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn gates() -> Vec<Gate> {
        ["Gate 1", "Fountain", " "]
            .iter()
            .enumerate()
            .map(|(index, name)| Gate {
                id: format!("g{index}"),
                name: (*name).to_owned(),
                x_m: 0.0,
                y_m: 0.0,
                height_m: 1.5,
                heading_deg: 0.0,
                frame: None,
            })
            .collect()
    }

    #[test]
    fn a_gate_is_named_unless_its_name_is_its_number() {
        let gates = gates();
        assert_eq!(gate(&gates, 0), "gate 1");
        assert_eq!(gate(&gates, 1), "gate 2 (Fountain)");
        assert_eq!(gate(&gates, 2), "gate 3");
        assert_eq!(gate(&gates, 9), "gate 10");
    }

    #[test]
    fn a_stretch_round_one_gate_is_near_it() {
        let stretch = |after_gate, before_gate| Stretch {
            start_m: 0.0,
            length_m: 2.0,
            after_gate,
            before_gate,
            worst_sample: 0,
            lost: 0.5,
        };
        assert_eq!(between(&gates(), &stretch(1, 1)), "near gate 2 (Fountain)");
        assert_eq!(between(&gates(), &stretch(2, 0)), "between gate 3 and gate 1");
    }
}
