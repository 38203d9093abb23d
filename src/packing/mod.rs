//! Text made small and written in letters that an address carries unchanged; knows no plan.
//!
//! - `pack`, `unpack`: deflate, with words that both sides know beforehand
//! - `letters`: bytes as URL-safe letters
//! - [`check`](mod@check): a check value, so that damage is noticed

pub mod check;
pub(crate) mod letters;
pub(crate) mod pack;
pub(crate) mod unpack;

pub use unpack::UnpackError;

/// Any text, packed.
pub fn packed_text(text: &str) -> String {
    letters::written(&pack::packed(text.as_bytes(), &[]))
}

/// A text that was packed by [`packed_text`] and has at most so many bytes; `None` for anything else.
pub fn unpacked_text(value: &str, most: usize) -> Option<String> {
    let text = unpack::unpacked(&letters::read(value).ok()?, &[], most).ok()?;
    String::from_utf8(text).ok()
}
