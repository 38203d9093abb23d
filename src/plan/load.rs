//! From text to plan and back.
//!
//! A text is taken apart in the order in which it can go wrong: its size, its brackets, what it says it is, its fields,
//! its values. An error holds the reason alone; the text stays with whoever has it, so that nothing a person wrote is
//! lost because it did not load.

use serde::Deserialize;

use super::check::{self, PlanProblem, quoted};
use super::document::{FORMAT, Plan, VERSION};
use super::reader::{self, Refusal};
use super::{json_text, limits};

/// Why a text is not a plan that can be used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LoadError {
    /// More bytes than [`limits::TEXT_BYTES`].
    #[error("the text has {bytes} bytes: allowed are at most {}", limits::TEXT_BYTES)]
    TooLong {
        /// How many it has.
        bytes: usize,
    },
    /// Brackets nest deeper than [`limits::TEXT_DEPTH`].
    #[error("line {line}: brackets are nested more than {} deep", limits::TEXT_DEPTH)]
    TooDeep {
        /// Where, counted from 1.
        line: usize,
    },
    /// Nothing but spaces.
    #[error("the file is empty")]
    Empty,
    /// No JSON object from its first letter on.
    #[error("this is not a plan file")]
    NotAPlan,
    /// An object that breaks off or breaks JSON's rules.
    #[error("line {line}, column {column}: the text is not JSON ({reason})")]
    NotJson {
        /// Where, counted from 1.
        line: usize,
        /// Where, counted from 1.
        column: usize,
        /// What is wrong there.
        reason: String,
    },
    /// JSON, but of another format.
    #[error("this is not a plan file: its `format` is {found}, a plan's is \"{FORMAT}\"")]
    OtherFormat {
        /// What it calls itself, in words.
        found: String,
    },
    /// A version that this build cannot read.
    #[error("the plan has version {version}, and this build reads versions 1 to {VERSION}; a newer build may read it")]
    OtherVersion {
        /// The version it states.
        version: u64,
    },
    /// A field that is unknown, missing, doubled or of the wrong type.
    #[error("{path} (line {line}, column {column}): {reason}")]
    Field {
        /// The path of the field, or of what holds it.
        path: String,
        /// Where, counted from 1.
        line: usize,
        /// Where, counted from 1.
        column: usize,
        /// What is wrong there.
        reason: String,
    },
    /// Everything is there, but some of it cannot be. The list has at least one item.
    #[error("{}{}", .0.first().map(ToString::to_string).unwrap_or_default(), more(.0.len()))]
    Problems(Vec<PlanProblem>),
}

fn more(count: usize) -> String {
    match count {
        0 | 1 => String::new(),
        2 => " (and 1 more problem)".to_owned(),
        _ => format!(" (and {} more problems)", count - 1),
    }
}

/// What a stored document says about itself. It is read before anything else, and everything else is skipped.
#[derive(Deserialize)]
struct Header {
    format: Option<String>,
    version: Option<u64>,
}

/// The plan that a text holds, free of problems. A byte order mark in front is skipped, as some editors write one. Its
/// version becomes the lowest that holds it.
///
/// # Errors
/// The first reason, in the order of [`LoadError`]'s kinds; all problems of the values together.
pub fn load(text: &str) -> Result<Plan, LoadError> {
    if text.len() > limits::TEXT_BYTES {
        return Err(LoadError::TooLong { bytes: text.len() });
    }
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    match text.trim_start().bytes().next() {
        None => return Err(LoadError::Empty),
        Some(b'{') => depth(text)?,
        Some(_) => return Err(LoadError::NotAPlan),
    }
    let header: Header = reader::read(text).map_err(refused)?;
    match header.format.as_deref() {
        Some(FORMAT) => {}
        Some(other) => return Err(LoadError::OtherFormat { found: quoted(other) }),
        None => return Err(LoadError::OtherFormat { found: "missing".to_owned() }),
    }
    match header.version {
        // A missing version is a missing field; parsing the whole says so with its place.
        None => {}
        Some(version) if (1..=u64::from(VERSION)).contains(&version) => {}
        Some(version) => return Err(LoadError::OtherVersion { version }),
    }
    // The header was read past everything else, so by now the text is JSON, and what follows is a matter of fields.
    let mut plan: Plan = reader::read(text).map_err(|refusal| refused(Refusal { is_grammar: false, ..refusal }))?;
    let problems = check::problems(&plan);
    plan.version = plan.lowest_version();
    if problems.is_empty() { Ok(plan) } else { Err(LoadError::Problems(problems)) }
}

/// The plan of a text that [`compact`] wrote just now, read once and taken at its word: what came from outside belongs to
/// [`load`].
///
/// # Errors
/// The first value that is not what a plan has there.
pub fn reread(text: &str) -> Result<Plan, LoadError> {
    reader::read(text).map_err(refused)
}

/// The plan as text: indented JSON, every number such that it comes back bit for bit.
///
/// What [`load`] has read it gives back unchanged. A plan with problems is written too, so that unfinished work can be
/// kept; numbers that JSON does not have (NaN, infinities) become `null`.
pub fn save(plan: &Plan) -> String {
    let mut text = json_text::in_lines(&compact(plan));
    text.push('\n');
    text
}

/// The same without spaces and line breaks, for where room is scarce.
pub fn compact(plan: &Plan) -> String {
    serde_json::to_string(plan).expect("plain data with text as keys, written to memory, has no way to fail")
}

/// Refuses brackets that nest too deep, before a parser follows them.
fn depth(text: &str) -> Result<(), LoadError> {
    let (mut depth, mut line, mut in_string, mut escaped) = (0_usize, 1, false, false);
    for byte in text.bytes() {
        match byte {
            b'\n' => line += 1,
            _ if escaped => escaped = false,
            b'\\' => escaped = in_string,
            b'"' => in_string = !in_string,
            b'{' | b'[' if !in_string => depth += 1,
            b'}' | b']' if !in_string => depth = depth.saturating_sub(1),
            _ => {}
        }
        if depth > limits::TEXT_DEPTH {
            return Err(LoadError::TooDeep { line });
        }
    }
    Ok(())
}

/// Where and why reading stopped, in the words of a plan.
fn refused(refusal: Refusal) -> LoadError {
    let Refusal { path, line, column, reason, is_grammar } = refusal;
    if is_grammar {
        return LoadError::NotJson { line, column, reason };
    }
    let path = if path.is_empty() { "the document".to_owned() } else { path };
    LoadError::Field { path, line, column, reason }
}
