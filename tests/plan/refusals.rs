//! What the sentence about any refused text has to say: where, what stands there, and what may or what to do. Told from the
//! text itself, by ways that the loader does not go.

use std::collections::BTreeSet;

use lapmargin::plan::document::{FORMAT, VERSION};
use lapmargin::plan::limits;
use lapmargin::plan::load::LoadError;
use lapmargin::plan::plan_link::PlanLinkError;
use proptest::prelude::*;
use serde_json::Value;

use super::{dotted, pointers};

/// What a plan may hold instead, as the sentences about its fields and values say it.
const ALLOWED: [&str; 12] = [
    "must be ",
    "minimum ",
    "maximum ",
    " is written ",
    " is needed, not ",
    " is used twice",
    " is expected",
    ", known are ",
    "missing field `",
    "duplicate field `",
    " is out of range",
    "exactly one kind may stand here",
];

/// Says which part is missing where the sentence lacks one.
fn names(said: &str, parts: &[&str]) -> Result<(), TestCaseError> {
    for part in parts {
        prop_assert!(!part.is_empty() && said.contains(part), "{part:?} is missing in {said:?}");
    }
    Ok(())
}

/// Whether the line, and the place in it, are in the text; both count from 1, and a place may be the end.
fn is_in(text: &str, line: usize, column: usize) -> bool {
    let lines: Vec<&str> = text.split('\n').collect();
    line >= 1 && lines.get(line - 1).is_some_and(|found| column <= found.len() + 1)
}

/// The paths of all that a text holds.
fn paths(text: &str) -> BTreeSet<String> {
    let mut found = Vec::new();
    if let Ok(document) = serde_json::from_str::<Value>(text) {
        pointers(&document, "", &mut found);
    }
    found.iter().map(|pointer| dotted(pointer)).collect()
}

/// The sentence about a text that is no plan.
pub fn of_a_plan(text: &str, error: &LoadError) -> Result<(), TestCaseError> {
    let said = error.to_string();
    let json = text.strip_prefix('\u{feff}').unwrap_or(text);
    let document = serde_json::from_str::<Value>(json);
    match error {
        LoadError::TooLong { bytes } => {
            prop_assert_eq!(*bytes, text.len());
            names(&said, &[&bytes.to_string(), &limits::TEXT_BYTES.to_string()])
        }
        LoadError::TooDeep { line } => {
            prop_assert!(is_in(text, *line, 0), "{}", said);
            names(&said, &[&format!("line {line}:"), &limits::TEXT_DEPTH.to_string()])
        }
        LoadError::Empty => {
            prop_assert_eq!(json.trim(), "");
            names(&said, &["empty"])
        }
        LoadError::NotAPlan => {
            prop_assert!(json.trim().starts_with(|first| first != '{'), "{:?} and {}", text, said);
            names(&said, &["not a plan file"])
        }
        LoadError::NotJson { line, column, reason } => {
            prop_assert!(document.is_err() && is_in(text, *line, *column), "{}", said);
            names(&said, &[&format!("line {line}, column {column}:"), "not JSON", reason])
        }
        LoadError::OtherFormat { found } => {
            if let Ok(document) = document {
                prop_assert_ne!(document["format"].as_str(), Some(FORMAT));
            }
            names(&said, &["`format`", found, FORMAT])
        }
        LoadError::OtherVersion { version } => {
            if let Ok(document) = document {
                prop_assert_eq!(document["version"].as_u64(), Some(*version));
            }
            names(&said, &[&format!("version {version},"), &format!("to {VERSION};")])
        }
        LoadError::Field { path, line, column, reason } => {
            // A number that is too large for every type of number ends the library's own reading.
            let is_there = path == "the document" || document.is_err() || paths(json).contains(path);
            prop_assert!(is_there && is_in(text, *line, *column), "{}", said);
            prop_assert!(said.starts_with(path.as_str()), "{}", said);
            names(&said, &[&format!("(line {line}, column {column})"), reason])?;
            prop_assert!(ALLOWED.iter().any(|allowed| reason.contains(allowed)), "{}", said);
            Ok(())
        }
        LoadError::Problems(problems) => {
            let first = problems.first().map(ToString::to_string).unwrap_or_default();
            let more = problems.len() - 1;
            names(&said, &[&first, if more > 0 { "more problem" } else { ")" }])?;
            for problem in problems {
                let said = problem.to_string();
                // Rows are counted over all tables together.
                let is_there = problem.path == "antennas.table" || paths(json).contains(&problem.path);
                prop_assert!(is_there && said.ends_with(&format!("({})", problem.path)), "{}", said);
                prop_assert!(ALLOWED.iter().any(|allowed| problem.said.contains(allowed)), "{}", said);
            }
            Ok(())
        }
    }
}

/// The sentence about a value of an address that is no plan link.
pub fn of_a_link(value: &str, error: &PlanLinkError) -> Result<(), TestCaseError> {
    let said = error.to_string();
    match error {
        PlanLinkError::TooLong { characters } => {
            prop_assert_eq!(*characters, value.chars().count());
            names(&said, &[&characters.to_string(), &limits::LINK_CHARACTERS.to_string()])
        }
        PlanLinkError::OtherForm => {
            prop_assert!(!value.starts_with(['1', '2']), "{:?} and {}", value, said);
            names(&said, &["not a plan link", "newer version"])
        }
        PlanLinkError::Character { found } => {
            let is_letter = |letter: char| letter.is_ascii_alphanumeric() || "-_".contains(letter);
            prop_assert_eq!(value.chars().find(|letter| !is_letter(*letter)), Some(*found));
            let shown = |shown: String| said.contains(&format!("the character \"{shown}\""));
            let marked = ["\"", "\\"].contains(&found.to_string().as_str());
            let is_named = if marked { shown(format!("\\{found}")) } else { shown(found.to_string()) };
            prop_assert!(is_named || shown(found.escape_unicode().to_string()), "{:?} and {}", found, said);
            Ok(())
        }
        PlanLinkError::Damaged => {
            prop_assert!(value.starts_with('2'), "only this form carries a check value: {:?}", value);
            names(&said, &["damaged", "copy the whole link again"])
        }
        PlanLinkError::Packed(reason) => {
            prop_assert!(value.starts_with('1'), "what carries a check value unpacks: {:?}", value);
            names(&said, &["cannot be read", &reason.to_string()])
        }
        PlanLinkError::Plan { reason, text } => {
            names(&said, &["holds no plan", &reason.to_string()])?;
            of_a_plan(text, reason)
        }
    }
}
