//! From text to plan and back.
//!
//! A text is taken apart in the order in which it can go wrong: its size, its brackets, what it says it is, its fields,
//! its values. An error holds the reason alone; the text stays with whoever has it, so that nothing a person wrote is
//! lost because it did not load.

use serde::Deserialize;
use serde::de::DeserializeOwned;

use super::check::{self, PlanProblem, quoted};
use super::document::{FORMAT, Plan, VERSION};
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
    /// Not JSON.
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
    #[error("the text is not a plan: its `format` is {found}, a plan's is \"{FORMAT}\"")]
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

/// The plan that a text holds, free of problems. A byte order mark in front is skipped, as some editors write one.
///
/// # Errors
/// The first reason, in the order of [`LoadError`]'s kinds; all problems of the values together.
pub fn load(text: &str) -> Result<Plan, LoadError> {
    if text.len() > limits::TEXT_BYTES {
        return Err(LoadError::TooLong { bytes: text.len() });
    }
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    depth(text)?;
    let header: Header = parse(text).map_err(Refusal::told)?;
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
    let plan: Plan = parse(text).map_err(Refusal::told_of_a_field)?;
    let problems = check::problems(&plan);
    if problems.is_empty() { Ok(plan) } else { Err(LoadError::Problems(problems)) }
}

/// The plan as text: indented JSON, every number such that it comes back bit for bit.
///
/// What [`load`] accepts it gives back unchanged. A plan with problems is written too, so that unfinished work can be
/// kept; numbers that JSON does not have (NaN, infinities) become `null`.
pub fn save(plan: &Plan) -> String {
    let compact =
        serde_json::to_string(plan).expect("plain data with text as keys, written to memory, has no way to fail");
    let mut text = json_text::in_lines(&compact);
    text.push('\n');
    text
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

/// Reads a whole text; an error carries its place.
fn parse<T: DeserializeOwned>(text: &str) -> Result<T, Refusal> {
    serde_json::from_str(text).map_err(|error| Refusal::new(text, &error))
}

/// What the parser says, with its place.
struct Refusal {
    path: String,
    line: usize,
    column: usize,
    reason: String,
    is_json: bool,
}

impl Refusal {
    fn new(text: &str, error: &serde_json::Error) -> Self {
        // The library ends its messages with the place, which has fields of its own here.
        let message = error.to_string();
        let reason = message.rfind(" at line ").map_or(message.as_str(), |end| &message[..end]);
        // A column is the number of bytes read in its line. Where a value was expected, the byte after it was looked at
        // and is counted too; a list that begins there was not entered.
        let before: usize = text.split_inclusive('\n').take(error.line().saturating_sub(1)).map(str::len).sum();
        let read = text.as_bytes().get(..before + error.column()).unwrap_or(text.as_bytes());
        let read = if reason == "expected value" { read.strip_suffix(b"[").unwrap_or(read) } else { read };
        let next = text.as_bytes()[read.len()..].iter().find(|byte| !byte.is_ascii_whitespace());
        let at_a_key = next == Some(&b':');
        let closed = read.trim_ascii_end().strip_suffix(b"}").map(<[u8]>::trim_ascii_end);
        let behind_an_object = closed.is_some_and(|inside| inside.last() != Some(&b'{'));
        let read = json_text::path_at(text, read.len());
        // These are noticed inside a whole, but it is the whole that is wrong; so is a kind that is written as a key, and a
        // second field behind the one that names a kind.
        let of_the_whole = reason.starts_with("duplicate field")
            || reason == "trailing characters"
            || (reason.starts_with("unknown variant") && at_a_key)
            || (reason == "expected value" && behind_an_object && next == Some(&b','));
        let path = if of_the_whole { json_text::holder(&read) } else { &read };
        let path = if path.is_empty() { "the document" } else { path };
        Self {
            path: path.to_owned(),
            line: error.line(),
            column: error.column(),
            reason: reason.to_owned(),
            is_json: error.is_data(),
        }
    }

    fn told(self) -> LoadError {
        let Self { path, line, column, reason, is_json } = self;
        if is_json {
            LoadError::Field { path, line, column, reason }
        } else {
            LoadError::NotJson { line, column, reason }
        }
    }

    /// For a text that is known to be JSON. The parser complains of its grammar all the same where a second key follows
    /// the kind of something, as only one may stand there.
    fn told_of_a_field(self) -> LoadError {
        let Self { path, line, column, reason, is_json } = self;
        let reason = match reason.as_str() {
            "expected value" if !is_json => "exactly one kind may stand here".to_owned(),
            _ => reason,
        };
        LoadError::Field { path, line, column, reason }
    }
}
