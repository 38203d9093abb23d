//! A plan carried in an address: `#view=desk&plan=…`.
//!
//! The value of `plan` is a letter that names the form, then the plan's text without spaces, packed
//! ([`pack`]: raw deflate with [`WORDS`] as its preset dictionary) and written in URL-safe letters (`letters`). Only the
//! part of an address behind `#` is used, which browsers do not send to any host.

mod letters;
mod pack;
mod unpack;

pub use unpack::UnpackError;

use super::check::quoted;
use super::document::Plan;
use super::limits;
use super::load::{self, LoadError};

/// Names the form of the value: raw deflate with [`WORDS`]. Other words, or another packing, need another letter.
const FORM: char = '1';

/// What plans are likely to say, known to both sides. It is a part of the form: links that people have kept rest on every
/// byte of it. The usual numbers of kit stand in it too; a plan of familiar parts gets a link of a third of the length.
const WORDS: &[u8] = include_bytes!("plan_link/words.txt");

/// Why a plan and a link do not come together.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PlanLinkError {
    /// More characters than [`limits::LINK_CHARACTERS`].
    #[error("a plan link of {characters} characters is too long: allowed are at most {}", limits::LINK_CHARACTERS)]
    TooLong {
        /// How many it has, or would have.
        characters: usize,
    },
    /// The value begins with another letter than [`FORM`], or is empty.
    #[error("the plan link is of a form that this build does not know; a newer build may read it")]
    OtherForm,
    /// A character that no plan link has.
    #[error(
        "the plan link holds the character {}, which no plan link has; perhaps more was copied than the link",
        quoted(found.encode_utf8(&mut [0; 4]))
    )]
    Character {
        /// The first such character.
        found: char,
    },
    /// The letters unpack to no text.
    #[error("the plan link cannot be read: {0}")]
    Packed(#[from] UnpackError),
    /// There is a text, and it is no plan. It stays with whoever asked.
    #[error("the plan link holds no plan that can be used: {reason}")]
    Plan {
        /// Why.
        reason: LoadError,
        /// The text.
        text: String,
    },
}

/// The value of `plan` for a plan; a plan with problems is written too, but [`read`] refuses it.
///
/// # Errors
/// [`PlanLinkError::TooLong`]; such a plan travels as a file.
pub fn write(plan: &Plan) -> Result<String, PlanLinkError> {
    let mut value = letters::written(&pack::packed(load::compact(plan).as_bytes(), WORDS));
    value.insert(0, FORM);
    if value.len() > limits::LINK_CHARACTERS {
        return Err(PlanLinkError::TooLong { characters: value.len() });
    }
    Ok(value)
}

/// The plan that a value of `plan` carries, free of problems.
///
/// # Errors
/// The first reason, in the order of [`PlanLinkError`]'s kinds.
pub fn read(value: &str) -> Result<Plan, PlanLinkError> {
    if value.len() > limits::LINK_CHARACTERS {
        return Err(PlanLinkError::TooLong { characters: value.chars().count() });
    }
    let packed = value.strip_prefix(FORM).ok_or(PlanLinkError::OtherForm)?;
    let bytes = letters::read(packed).map_err(|found| PlanLinkError::Character { found })?;
    let text = unpack::unpacked(&bytes, WORDS, limits::TEXT_BYTES)?;
    let text = String::from_utf8(text).map_err(|_| UnpackError::Damaged)?;
    load::load(&text).map_err(|reason| PlanLinkError::Plan { reason, text })
}

/// Any text packed as a plan is, without its words.
pub fn packed_text(text: &str) -> String {
    letters::written(&pack::packed(text.as_bytes(), &[]))
}

/// A text that was packed by [`packed_text`] and has at most so many bytes; `None` for anything else.
pub fn unpacked_text(value: &str, most: usize) -> Option<String> {
    let text = unpack::unpacked(&letters::read(value).ok()?, &[], most).ok()?;
    String::from_utf8(text).ok()
}

/// The value of `key` in the part of an address behind `#`, or in that part alone: `#view=desk&plan=…`.
pub fn carried<'a>(address: &'a str, key: &str) -> Option<&'a str> {
    address.split(['#', '&']).find_map(|pair| pair.strip_prefix(key)?.strip_prefix('='))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::demo;

    #[test]
    fn the_demo_comes_back_from_a_short_link() {
        let value = write(&demo()).unwrap();
        assert_eq!(read(&value), Ok(demo()));
        assert!(value.len() < 1300, "{}", value.len());
    }

    #[test]
    fn a_link_that_people_have_kept_is_still_read() {
        // Written when the form was made. If this fails, links that stand in old messages are dead: a change of the words or
        // of the packing needs another form beside this one.
        let kept = include_str!("plan_link/kept.txt").trim();
        assert_eq!(read(kept).map(|plan| plan.name), Ok("A kept link".to_owned()));
    }

    #[test]
    fn a_value_stands_behind_its_key_wherever_that_is() {
        for address in ["#view=desk&plan=1abc", "#plan=1abc", "plan=1abc&view=desk", "https://a.example/#b/#plan=1abc"]
        {
            assert_eq!(carried(address, "plan"), Some("1abc"), "{address}");
        }
        for address in ["", "#", "#plan", "#view=plan", "#aplan=1abc", "https://a.example/?plan=1abc"] {
            assert_eq!(carried(address, "plan"), None, "{address}");
        }
    }

    #[test]
    fn what_is_wrong_with_a_link_is_said() {
        let value = write(&demo()).unwrap();
        let said = |value: &str| read(value).unwrap_err().to_string();
        assert_eq!(read(""), Err(PlanLinkError::OtherForm));
        assert_eq!(read("2abc"), Err(PlanLinkError::OtherForm));
        assert_eq!(read(&format!("{value}.")), Err(PlanLinkError::Character { found: '.' }));
        assert_eq!(read(&value[..value.len() / 2]), Err(UnpackError::CutShort.into()));
        assert_eq!(read(&format!("{value}{value}")), Err(UnpackError::Damaged.into()));
        assert!(said(&"x".repeat(limits::LINK_CHARACTERS + 1)).contains("at most 64000"));
        let newer = load::compact(&demo()).replace("\"version\":1", "\"version\":99");
        let value = format!("1{}", letters::written(&pack::packed(newer.as_bytes(), WORDS)));
        let Err(PlanLinkError::Plan { reason, text }) = read(&value) else { panic!("a newer version was read") };
        assert_eq!((reason, text), (LoadError::OtherVersion { version: 99 }, newer));
    }

    #[test]
    fn a_bomb_is_refused() {
        // A thousand zeros for every byte: the link is within its limit, what it unpacks to is not.
        let packed = pack::packed(&vec![b'0'; 2 * limits::TEXT_BYTES], WORDS);
        let value = format!("1{}", letters::written(&packed));
        assert!(value.len() < limits::LINK_CHARACTERS, "{}", value.len());
        assert_eq!(read(&value), Err(UnpackError::TooLarge { most: limits::TEXT_BYTES }.into()));
    }
}
