//! A measured table in words: what came of a file, and what the table says.

use crate::format::{decibels, fixed};
use crate::plan::antenna_csv::{self, Mistakes};
use crate::plan::check::quoted;
use crate::plan::document::{AntennaKind, AntennaKit, MeasuredNumbers, StatedHand};
use crate::plan::presets::{has_hand, measured_rows, resolve_antenna};
use crate::rf::antenna::{MeasuredCut, SIDES_WINDOW, SideDifference};
use crate::rf::polarization::Hand;
use crate::units::Db;

/// What came of a file.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// Whether the antenna has the table now.
    pub is_taken: bool,
    /// A sentence.
    pub said: String,
    /// What there is to say point by point: notes on a table, mistakes by line.
    pub points: Vec<String>,
}

impl Outcome {
    /// What came of a file's text, and the rows if it is a table. `text` may be a sentence on why there is none.
    pub fn of(name: &str, text: Result<String, String>, kind: AntennaKind) -> (Self, Option<Vec<MeasuredNumbers>>) {
        match text.map(|text| antenna_csv::read(&text, kind)) {
            Err(why) => (Self::refused(name, vec![why]), None),
            Ok(Err(mistakes)) => (Self::of_mistakes(name, &mistakes), None),
            Ok(Ok(table)) => {
                let said = format!("Read {} rows from {}.", table.rows.len(), quoted(name));
                let points = table.notes.iter().map(ToString::to_string).collect();
                (Self { is_taken: true, said, points }, Some(table.rows))
            }
        }
    }

    /// A file that is not even read.
    pub fn too_large(name: &str, bytes: f64) -> Self {
        Self::of_mistakes(name, &Mistakes::too_large(bytes as usize))
    }

    /// A browser that does not save the example.
    pub fn unsaved(why: String) -> Self {
        Self { is_taken: false, said: why, points: Vec::new() }
    }

    fn of_mistakes(name: &str, mistakes: &Mistakes) -> Self {
        let mut points: Vec<String> = mistakes.mistakes.iter().map(ToString::to_string).collect();
        if mistakes.more > 0 {
            points.push(format!("and {} more", mistakes.more));
        }
        Self::refused(name, points)
    }

    fn refused(name: &str, points: Vec<String>) -> Self {
        Self { is_taken: false, said: format!("{} was not taken; the antenna stays as it was.", quoted(name)), points }
    }
}

/// An antenna with a smaller axial ratio than this in its beam is not linear: the other component has a hundredth of the power.
const LINEAR_FROM: Db = Db(20.0);

/// What a table says of an antenna, point by point.
pub fn facts(antenna: &AntennaKit, rows: &[MeasuredNumbers], cut: &MeasuredCut) -> Vec<String> {
    let degrees = |angle: f64| format!("{}°", angle.to_string().replace('-', "−"));
    let angles = rows.iter().map(|row| row[0]);
    let (least, most) =
        angles.fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), angle| (least.min(angle), most.max(angle)));
    let (at, peak) = cut.peak();
    let mut facts = vec![
        format!("{} rows from {} to {}", rows.len(), degrees(least), degrees(most)),
        format!(
            "Best gain {} dBi at {}, axial ratio {} there",
            fixed(peak.0, 1),
            degrees(at.0),
            decibels(cut.at(at).1.0)
        ),
    ];
    let hand = if antenna.hand == StatedHand::Left { Hand::Left } else { Hand::Right };
    if let Ok(resolved) = resolve_antenna(antenna, hand) {
        let efficiency = resolved.antenna.efficiency();
        facts.push(format!(
            "Mean gain over the sphere {} ({} % of the power that goes in)",
            decibels(Db::from_ratio(efficiency).0),
            fixed(100.0 * efficiency, 0)
        ));
        facts.extend(resolved.antenna.caveats().iter().map(|caveat| capital(&caveat.to_string())));
    }
    if let Ok(Some(SideDifference { greatest, at })) = MeasuredCut::sides(&measured_rows(rows)) {
        facts.push(format!(
            "The two sides were measured up to {} apart where it is within {} of its best (at {}); the mean of their powers is used",
            decibels(greatest.0),
            decibels(SIDES_WINDOW.0),
            degrees(at.0)
        ));
    }
    let axial_ratio = cut.least_axial_ratio_of_the_beam();
    if !has_hand(antenna.kind) && axial_ratio < LINEAR_FROM {
        facts.push(format!(
            "An axial ratio of {} is not linear; a hand is not computed for this kind",
            decibels(axial_ratio.0)
        ));
    }
    facts
}

/// A sentence with a capital letter in front.
fn capital(sentence: &str) -> String {
    let mut letters = sentence.chars();
    letters.next().map_or_else(String::new, |first| format!("{}{}", first.to_ascii_uppercase(), letters.as_str()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::antenna_csv::EXAMPLE;
    use crate::plan::limits;

    #[test]
    fn the_example_is_taken_and_put_into_words() {
        let kind = AntennaKind::CircularPatch;
        let (outcome, rows) = Outcome::of("yard.csv", Ok(EXAMPLE.to_owned()), kind);
        assert!(outcome.is_taken && outcome.points.is_empty());
        assert_eq!(outcome.said, "Read 37 rows from \"yard.csv\".");
        let rows = rows.unwrap();
        let antenna = AntennaKit { table: Some(rows.clone()), ..AntennaKit::of_kind(kind, StatedHand::Left) };
        let cut = crate::plan::presets::measured_cut(kind, &rows).unwrap();
        let facts = facts(&antenna, &rows, &cut);
        assert_eq!(facts[0], "37 rows from −180° to 180°");
        assert!(
            facts[1].starts_with("Best gain 7.4\u{a0}dBi at 0°") || facts[1].starts_with("Best gain 7.4 dBi at 0°"),
            "{facts:?}"
        );
        // What is no linear antenna is said to be none.
        let dipole = |ratio: f64| {
            let rows = [[0.0, -12.0, ratio], [90.0, 2.0, ratio], [180.0, -12.0, ratio]];
            let antenna = AntennaKit {
                table: Some(rows.to_vec()),
                ..AntennaKit::of_kind(AntennaKind::Dipole, StatedHand::Right)
            };
            let cut = crate::plan::presets::measured_cut(AntennaKind::Dipole, &rows).unwrap();
            super::facts(&antenna, &rows, &cut)
        };
        assert_eq!((dipole(20.0).len(), dipole(12.0).len()), (3, 4));
        assert!(dipole(12.0)[3].contains("is not linear"));
        assert!(facts[2].contains('%') && facts[3].starts_with("The two sides were measured up to 0.9"), "{facts:?}");
    }

    #[test]
    fn what_is_no_table_is_refused_point_by_point() {
        let kind = AntennaKind::Helix;
        let text = "angle_deg,gain_dbi,axial_ratio_db\n0,x,1\n1,y,2\n";
        let (outcome, rows) = Outcome::of("a.csv", Ok(text.to_owned()), kind);
        assert!(!outcome.is_taken && rows.is_none() && outcome.said.contains("was not taken"));
        assert!(outcome.points[0].starts_with("line 2, gain_dbi: \"x\"") && outcome.points.len() == 2, "{outcome:?}");
        let many = format!("angle_deg,gain_dbi,axial_ratio_db\n{}", "x,0,1\n".repeat(25));
        assert_eq!(Outcome::of("a.csv", Ok(many), kind).0.points.last().map(String::as_str), Some("and 5 more"));
        let large = Outcome::too_large("a.csv", limits::ANTENNA_CSV_BYTES as f64 + 1.0);
        assert_eq!(large.points, ["a file of 200001 bytes; must be at most 200000"]);
        let (unread, _) = Outcome::of("a.csv", Err("the browser could not read it".into()), kind);
        assert_eq!(unread.points, ["the browser could not read it"]);
    }
}
