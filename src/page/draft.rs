//! Text that is being typed over a value: it stays as it is until it is a good number or the value changes elsewhere.

use super::format::{DisplayUnits, FieldProblem, Measure};
use crate::plan::limits::Range;

/// Text typed over a value of the plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Draft {
    /// The text as typed.
    pub text: String,
    /// The value it is typed over.
    pub over: Option<f64>,
    /// The units in which it is typed.
    pub units: DisplayUnits,
}

impl Draft {
    /// Whether the draft is still about this value: an undo, another plan or another unit makes it void.
    pub fn holds(&self, value: Option<f64>, units: DisplayUnits) -> bool {
        self.over == value && self.units == units
    }

    /// What the text says; an empty field is "I don't know" where the value is optional.
    ///
    /// # Errors
    /// What is wrong with the text.
    pub fn read(
        &self,
        measure: Measure,
        range: Range,
        units: DisplayUnits,
        optional: bool,
    ) -> Result<Option<f64>, FieldProblem> {
        if optional && self.text.trim().is_empty() {
            return Ok(None);
        }
        measure.read(&self.text, range, units).map(Some)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const RANGE: Range = Range { min: 0.0, max: 10.0, unit: "dB" };

    fn draft(text: &str) -> Draft {
        Draft { text: text.to_owned(), over: Some(3.0), units: DisplayUnits::default() }
    }

    #[test]
    fn a_draft_is_void_once_the_value_changed_elsewhere() {
        let units = DisplayUnits::default();
        assert!(draft("x").holds(Some(3.0), units));
        assert!(!draft("x").holds(Some(4.0), units));
        assert!(!draft("x").holds(None, units));
    }

    #[test]
    fn an_empty_field_is_unknown_only_where_that_is_an_answer() {
        let units = DisplayUnits::default();
        let read = |text: &str, optional| draft(text).read(Measure::Ratio, RANGE, units, optional);
        assert_eq!(read("  ", true), Ok(None));
        assert_eq!(read("", false), Err(FieldProblem::Empty));
        assert_eq!(read("2,5", true), Ok(Some(2.5)));
        assert!(matches!(read("11", true), Err(FieldProblem::OutOfRange { .. })));
    }
}
