//! A link as a short text, to be carried in an address: what differs from the usual link, and nothing else.
//!
//! `1~d:35~ta:2~tk:helix`: a form number, then `key:value` pairs. Numbers are written so that they come back bit for bit;
//! words are spelt as in a plan; measured tables are packed as plans in an address are. The usual link ([`PairLink::default`]) is a part of the form: once texts are out in the
//! world, another usual link needs another form number.

use serde::Serialize;
use serde::de::DeserializeOwned;

use super::number::PairNumber;
use super::{PairError, PairLink, PairObstacle, PairObstacleKind, Side};
use crate::packing::{packed_text, unpacked_text};
use crate::plan::document::{MeasuredNumbers, Picture, ReceiverNoise};
use crate::plan::presets::DIGITAL_FREEZE_S;

/// The number of the form that is written, and the only one that is read.
pub const FORM: &str = "1";

/// Most characters of a text: every number at its longest takes about 1500, and each of two tables at its longest 35 000.
pub const MOST_CHARACTERS: usize = 72_000;

/// Most bytes of a table as it is packed: rows of three numbers at their longest.
const TABLE_BYTES: usize = 27_000;

/// Keys of measured tables.
const TABLES: [(&str, Side); 2] = [("tm", Side::Transmitter), ("rm", Side::Receiver)];

const BETWEEN: char = '~';

/// The word for what there is not.
const NONE: &str = "none";

/// Keys of what is told in words.
const WORDS: [&str; 11] = ["tk", "tw", "tf", "rk", "rw", "rf", "g", "e", "o", "om", "q"];

/// Why a text is no link.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum TextError {
    /// It is too long for any link.
    #[error("a link of {got} characters is longer than {MOST_CHARACTERS}")]
    Long {
        /// How many there are.
        got: usize,
    },
    /// It is written in a form that this page does not read.
    #[error("the link has the form \"{got}\"; this page reads form {FORM}")]
    Form {
        /// What stands in the form's place.
        got: String,
    },
    /// It holds something that no link has.
    #[error("\"{got}\" is no part of a link")]
    Part {
        /// What stands there.
        got: String,
    },
    /// It says the same thing twice.
    #[error("\"{key}\" stands there twice")]
    Twice {
        /// Its key.
        key: String,
    },
    /// A number cannot be read.
    #[error("\"{got}\" is no number for {}", .field.name())]
    Number {
        /// Which number.
        field: PairNumber,
        /// What stands there.
        got: String,
    },
    /// A table cannot be unpacked, or holds something else than numbers.
    #[error("the measured table of the {}'s antenna cannot be read", .side.word())]
    Table {
        /// Whose.
        side: Side,
    },
    /// What it says makes no link.
    #[error(transparent)]
    Link(#[from] PairError),
}

/// A link as a text.
pub fn write(link: &PairLink) -> String {
    let usual = PairLink::default();
    let mut text = FORM.to_owned();
    let mut say = |key: &str, value: &str| {
        text.push(BETWEEN);
        text.push_str(key);
        text.push(':');
        text.push_str(value);
    };
    for key in WORDS {
        let word = word_of(link, key);
        if word != word_of(&usual, key) {
            say(key, &word);
        }
    }
    // The numbers of an obstacle and of another picture are told against the usual obstacle and picture.
    let mut beside = usual.clone();
    for key in WORDS {
        // Words that were just written can be read.
        let _ = put_word(&mut beside, key, &word_of(link, key));
    }
    for &field in PairNumber::ALL {
        let value = field.get(link);
        if value != field.get(&beside) {
            say(field.key(), &value.map_or_else(|| NONE.to_owned(), |value| value.to_string()));
        }
    }
    for (key, side) in TABLES {
        if let Some(table) = &link.end(side).antenna.table {
            say(key, &packed_text(&table_text(table)));
        }
    }
    text
}

/// The link of a text.
///
/// # Errors
/// [`TextError`]; a link that comes back keeps every range.
pub fn read(text: &str) -> Result<PairLink, TextError> {
    let got = text.len();
    if got > MOST_CHARACTERS {
        return Err(TextError::Long { got });
    }
    let mut parts = text.split(BETWEEN);
    let form = parts.next().unwrap_or_default();
    if form != FORM {
        return Err(TextError::Form { got: form.chars().take(12).collect() });
    }
    let mut pairs: Vec<(&str, &str)> = Vec::new();
    for part in parts {
        let no_part = || TextError::Part { got: part.chars().take(40).collect() };
        let (key, value) = part.split_once(':').ok_or_else(no_part)?;
        if pairs.iter().any(|(known, _)| *known == key) {
            return Err(TextError::Twice { key: key.chars().take(12).collect() });
        }
        pairs.push((key, value));
    }
    let mut link = PairLink::default();
    // Words first, in their order: they say which parts and numbers there are.
    for key in WORDS {
        let Some(&(_, value)) = pairs.iter().find(|(known, _)| *known == key) else { continue };
        if put_word(&mut link, key, value).is_none() {
            return Err(TextError::Part { got: format!("{key}:{value}").chars().take(40).collect() });
        }
    }
    for (key, side) in TABLES {
        let Some(place) = pairs.iter().position(|(known, _)| *known == key) else { continue };
        let (_, value) = pairs.swap_remove(place);
        let table = unpacked_text(value, TABLE_BYTES).and_then(|text| table_of(&text));
        let table = table.ok_or(TextError::Table { side })?;
        link.end_mut(side).antenna.table = Some(table);
    }
    for &(key, value) in pairs.iter().filter(|(key, _)| !WORDS.contains(key)) {
        let no_part = || TextError::Part { got: format!("{key}:{value}").chars().take(40).collect() };
        let field = PairNumber::of_key(key).ok_or_else(no_part)?;
        let number = match value {
            NONE => None,
            _ => Some(value.parse().map_err(|_| TextError::Number { field, got: value.chars().take(40).collect() })?),
        };
        field.set(&mut link, number)?;
    }
    link.check()?;
    Ok(link)
}

/// A table as text: numbers with commas between, rows with semicolons.
fn table_text(table: &[MeasuredNumbers]) -> String {
    let row = |row: &MeasuredNumbers| row.map(|number| number.to_string()).join(",");
    table.iter().map(row).collect::<Vec<_>>().join(";")
}

/// The table of a text; `None` where anything but three numbers stands in a row. What they are, [`PairLink::check`] asks.
fn table_of(text: &str) -> Option<Vec<MeasuredNumbers>> {
    let row = |row: &str| {
        let numbers: Option<Vec<f64>> = row.split(',').map(|number| number.parse().ok()).collect();
        numbers?.try_into().ok()
    };
    text.split(';').map(row).collect()
}

/// The word of a plan for a choice: `circular_omni`.
fn word(value: &impl Serialize) -> String {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::String(word)) => word,
        _ => String::new(),
    }
}

fn choice<T: DeserializeOwned>(word: &str) -> Option<T> {
    serde_json::from_value(serde_json::Value::String(word.to_owned())).ok()
}

fn word_or_none<T: Serialize>(value: Option<T>) -> String {
    value.map_or_else(|| NONE.to_owned(), |value| word(&value))
}

fn choice_or_none<T: DeserializeOwned>(word: &str) -> Option<Option<T>> {
    if word == NONE { Some(None) } else { choice(word).map(Some) }
}

fn obstacle_word(kind: PairObstacleKind) -> &'static str {
    match kind {
        PairObstacleKind::Wall => "wall",
        PairObstacleKind::Block => "block",
        PairObstacleKind::Tree => "tree",
    }
}

/// What a link says under a key of [`WORDS`].
fn word_of(link: &PairLink, key: &str) -> String {
    let end = if key.starts_with('t') { &link.transmitter } else { &link.receiver };
    match key {
        "tk" | "rk" => word(&end.antenna.kind),
        "tw" | "rw" => word(&end.antenna.hand),
        "tf" | "rf" => word(&end.feed.line),
        "g" => word_or_none(link.ground),
        "e" => word_or_none(link.surroundings),
        "o" => link.obstacle.as_ref().map_or(NONE, |obstacle| obstacle_word(obstacle.kind)).to_owned(),
        "om" => word(&link.obstacle.as_ref().map_or(PairObstacle::default().material, |obstacle| obstacle.material)),
        _ => {
            let picture = if matches!(link.picture, Picture::Digital { .. }) { "digital" } else { "analogue" };
            let stated = if matches!(link.noise, ReceiverNoise::Sensitivity { .. }) { "-stated" } else { "" };
            format!("{picture}{stated}")
        }
    }
}

/// Puts a word into a link; `None` when it is no word for that.
fn put_word(link: &mut PairLink, key: &str, word: &str) -> Option<()> {
    let is_transmitter = key.starts_with('t');
    match key {
        "tk" | "rk" | "tw" | "rw" | "tf" | "rf" => {
            let end = if is_transmitter { &mut link.transmitter } else { &mut link.receiver };
            match &key[1..] {
                "k" => end.antenna.kind = choice(word)?,
                "w" => end.antenna.hand = choice(word)?,
                _ => end.feed.line = choice(word)?,
            }
        }
        "g" => link.ground = choice_or_none(word)?,
        "e" => link.surroundings = choice_or_none(word)?,
        "o" if word == NONE => link.obstacle = None,
        "o" => {
            let kind = *PairObstacleKind::ALL.iter().find(|kind| obstacle_word(**kind) == word)?;
            link.obstacle.get_or_insert_with(PairObstacle::default).kind = kind;
        }
        "om" => {
            let material = choice(word)?;
            if let Some(obstacle) = &mut link.obstacle {
                obstacle.material = material;
            }
        }
        _ => {
            let (picture, is_stated) = word.strip_suffix("-stated").map_or((word, false), |picture| (picture, true));
            match picture {
                "analogue" => {
                    if let Picture::Digital { bandwidth_hz, required_cn_db, .. } = link.picture {
                        link.picture = Picture::Analogue { bandwidth_hz, required_cn_db };
                    }
                }
                "digital" => PairNumber::Freeze.set(link, Some(DIGITAL_FREEZE_S.value)).ok()?,
                _ => return None,
            }
            link.noise = if is_stated {
                ReceiverNoise::Sensitivity { level_dbm: crate::plan::presets::SENSITIVITY_DBM.value }
            } else {
                ReceiverNoise::NoiseFigure { noise_figure_db: None }
            };
        }
    }
    Some(())
}
