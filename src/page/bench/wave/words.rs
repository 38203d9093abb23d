//! The drawn wave in words, for those who read rather than look, and for those who do not see it.

use crate::format::{decibels, fixed};
use crate::rf::polarization::{Ellipse, Hand};
use crate::rf::wave::{Meeting, Wave};
use crate::units::Db;

/// Below this level, against a direct wave that is wholly taken, nothing is left to speak of: 60 dB down.
const NOTHING: Db = Db(-60.0);

/// The letter that marks a hand: R, L, or a dash for a line.
pub fn letter(ellipse: Option<&Ellipse>) -> &'static str {
    match ellipse.and_then(|ellipse| ellipse.hand) {
        Some(Hand::Right) => "R",
        Some(Hand::Left) => "L",
        None => "–",
    }
}

/// An ellipse: "right hand, axial ratio 3.0 dB, long axis 30° from level".
pub fn ellipse(ellipse: Option<&Ellipse>) -> String {
    let Some(ellipse) = ellipse else { return "nothing".to_owned() };
    // An axis has two ends: at -90° it stands as it does at 90°, and one axis has one name.
    let whole = ellipse.tilt.0.round();
    let tilt = fixed(if whole <= -90.0 { whole + 180.0 } else { whole }, 0);
    match ellipse.hand {
        None => format!("a line, {tilt}° from level"),
        Some(hand) if ellipse.axial_ratio.0 < 0.05 => format!("{hand} hand, a circle"),
        Some(hand) => {
            format!("{hand} hand, axial ratio {}, long axis {tilt}° from level", decibels(ellipse.axial_ratio.0))
        }
    }
}

/// A level against the whole wave: "97.7 % of it (−0.1 dB)".
fn share(power: f64) -> String {
    let level = Db::from_ratio(power);
    if level < NOTHING {
        return "nothing of it".to_owned();
    }
    format!("{}\u{a0}% of it ({})", fixed(100.0 * power, 1), decibels(level.0))
}

/// What goes on in a meeting, a sentence a line.
pub fn sentences(meeting: &Meeting, receiver: &Ellipse) -> Vec<String> {
    let direct = &meeting.direct;
    let own = |wave: &Wave| wave.ellipse();
    let mut sentences = vec![
        format!("The sender’s wave: {}.", ellipse(own(&direct.wave).as_ref())),
        format!("The receiver’s antenna is made for: {}.", ellipse(Some(receiver))),
        format!("Of the direct wave the receiver takes {}.", share(direct.taken.total().norm_sqr())),
    ];
    if let Some(bounce) = &meeting.bounce {
        let turned = match bounce.is_turned_over() {
            Some(true) => "turned over",
            Some(false) => "not turned over",
            None => "without a hand",
        };
        let arriving = bounce.arrival.wave.field.iter().map(|value| value.norm_sqr()).sum::<f64>();
        sentences.push(format!(
            "The bounce comes back {turned}: {}, {} weaker than the direct wave.",
            ellipse(own(&bounce.arrival.wave).as_ref()),
            decibels(-Db::from_ratio(arriving).0)
        ));
        sentences.push(format!("Of the bounce the receiver takes {}.", {
            share(bounce.arrival.taken.total().norm_sqr() / arriving.max(f64::MIN_POSITIVE))
        }));
        let [least, most] = meeting.range();
        let least = if least < NOTHING { "nothing".to_owned() } else { decibels(least.0) };
        sentences.push(format!(
            "Together they bring between {least} and {} of the whole direct wave: moved by a few centimetres, the antennas go from one to the other.",
            decibels(most.0)
        ));
    }
    sentences
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rf::reflection::Coefficients;
    use crate::rf::wave::meet;
    use crate::units::Degrees;

    #[test]
    fn a_meeting_is_told_with_hands_and_decibels() {
        let (right, left) = (Ellipse::circular(Hand::Right), Ellipse::circular(Hand::Left));
        let upright = Ellipse::linear(Degrees(90.0));
        let said = sentences(&meet(&right, &upright, 6.0, None), &upright);
        assert_eq!(said[0], "The sender’s wave: right hand, a circle.");
        assert_eq!(said[1], "The receiver’s antenna is made for: a line, 90° from level.");
        assert_eq!(said[2], "Of the direct wave the receiver takes 50.0\u{a0}% of it (−3.0\u{a0}dB).");
        assert!(sentences(&meet(&right, &left, 6.0, None), &left)[2].ends_with("takes nothing of it."));
        let wall = Some((Degrees(60.0), Coefficients::CONDUCTOR));
        let said = sentences(&meet(&right, &left, 6.0, wall), &left);
        // The longer way alone: twice as long at 60°.
        assert_eq!(
            said[3],
            "The bounce comes back turned over: left hand, a circle, 6.0\u{a0}dB weaker than the direct wave."
        );
        assert_eq!(said[4], "Of the bounce the receiver takes 100.0\u{a0}% of it (0.0\u{a0}dB).");
        assert!(said[5].contains("between −6.0\u{a0}dB and −6.0\u{a0}dB"), "{}", said[5]);
    }

    #[test]
    fn every_hand_has_a_letter_of_its_own() {
        let ellipses = [Ellipse::circular(Hand::Right), Ellipse::circular(Hand::Left), Ellipse::linear(Degrees(0.0))];
        assert_eq!(ellipses.map(|ellipse| letter(Some(&ellipse))), ["R", "L", "–"]);
        assert_eq!((letter(None), ellipse(None).as_str()), ("–", "nothing"));
        let ellipse = ellipse(Some(&Ellipse::new(Hand::Left, Db(3.0), Degrees(-30.0)).unwrap()));
        assert_eq!(ellipse, "left hand, axial ratio 3.0\u{a0}dB, long axis −30° from level");
    }

    #[test]
    fn an_upright_axis_is_called_the_same_from_either_side() {
        for tilt in [-90.0, -89.6, 89.6, 90.0] {
            assert_eq!(ellipse(Some(&Ellipse::linear(Degrees(tilt)))), "a line, 90° from level");
        }
        assert_eq!(ellipse(Some(&Ellipse::linear(Degrees(-89.4)))), "a line, −89° from level");
    }
}
