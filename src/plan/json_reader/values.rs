//! What stands in a text by itself: numbers, words, strings, lists. Every number comes back bit for bit.

use super::{Reader, Stored, Wrong, value};

/// A string without quotes and escapes.
pub(super) fn plain(quoted: &str) -> Result<String, Wrong> {
    unescaped(&quoted[1..quoted.len() - 1]).ok_or_else(|| value("half of a surrogate pair in a string".to_owned()))
}

/// What stands between the quotes of a string, without escapes; `None` where an escape makes no letter.
pub(in crate::plan) fn unescaped(between: &str) -> Option<String> {
    let mut text = String::new();
    let mut rest = between;
    while let Some(place) = rest.find('\\') {
        text.push_str(&rest[..place]);
        let escape = &rest[place + 1..];
        let (letter, length) = match escape.chars().next()? {
            'u' => unit(escape, 0)?,
            letter => match letter {
                'n' => ('\n', 1),
                't' => ('\t', 1),
                'r' => ('\r', 1),
                'b' => ('\u{8}', 1),
                'f' => ('\u{c}', 1),
                other => (other, other.len_utf8()),
            },
        };
        text.push(letter);
        rest = &escape[length..];
    }
    text.push_str(rest);
    Some(text)
}

/// The letter of `u` with four digits, or of two of them with a backslash between (RFC 8259, section 7), and how long
/// that is. `high` is the first half of a pair, or zero.
fn unit(escape: &str, high: u32) -> Option<(char, usize)> {
    let unit = u32::from_str_radix(escape.strip_prefix('u')?.get(..4)?, 16).ok()?;
    match unit {
        0xd800..0xdc00 if high == 0 => {
            let (letter, length) = self::unit(escape[5..].strip_prefix('\\')?, unit)?;
            Some((letter, 6 + length))
        }
        0xdc00..0xe000 if high > 0 => Some((char::from_u32(0x1_0000 + ((high - 0xd800) << 10) + unit - 0xdc00)?, 5)),
        _ if high == 0 => Some((char::from_u32(unit)?, 5)),
        _ => None,
    }
}

impl Stored for f64 {
    fn read(reader: &mut Reader<'_>) -> Result<Self, Wrong> {
        let number = reader.written_number()?;
        // As a number by itself, and not as a type: for that the library has words about everything else it could be.
        let read = number.parse::<serde_json::Number>().ok().and_then(|number| number.as_f64());
        read.ok_or_else(|| value(format!("number {number} is out of range")))
    }
}

impl Stored for u64 {
    fn read(reader: &mut Reader<'_>) -> Result<Self, Wrong> {
        let number = reader.written_number()?;
        number.parse().map_err(|_| value(format!("number {number} stands where a whole one from 0 on is expected")))
    }
}

impl Stored for u32 {
    fn read(reader: &mut Reader<'_>) -> Result<Self, Wrong> {
        let number = u64::read(reader)?;
        Self::try_from(number).map_err(|_| value(format!("number {number} is more than {}", Self::MAX)))
    }
}

impl Stored for u8 {
    fn read(reader: &mut Reader<'_>) -> Result<Self, Wrong> {
        let number = u64::read(reader)?;
        Self::try_from(number).map_err(|_| value(format!("number {number} is more than {}", Self::MAX)))
    }
}

impl Stored for bool {
    fn read(reader: &mut Reader<'_>) -> Result<Self, Wrong> {
        match reader.takes_word("true") {
            true => Ok(true),
            false if reader.takes_word("false") => Ok(false),
            false => Err(reader.unexpected("true or false")),
        }
    }
}

impl Stored for String {
    fn read(reader: &mut Reader<'_>) -> Result<Self, Wrong> {
        if reader.next() != Some(b'"') {
            return Err(reader.unexpected("text"));
        }
        let quoted = reader.string()?;
        plain(quoted)
    }
}

impl<T: Stored> Stored for Option<T> {
    fn read(reader: &mut Reader<'_>) -> Result<Self, Wrong> {
        if reader.takes_word("null") { Ok(None) } else { T::read(reader).map(Some) }
    }

    fn absent() -> Option<Self> {
        Some(None)
    }
}

impl<T: Stored> Stored for Vec<T> {
    fn read(reader: &mut Reader<'_>) -> Result<Self, Wrong> {
        if reader.next() != Some(b'[') {
            return Err(reader.unexpected("a list"));
        }
        let mut items = Vec::new();
        let mut is_first = true;
        while reader.goes_on(b'[', b']', &mut is_first)? {
            items.push(T::read(reader)?);
        }
        Ok(items)
    }
}

/// So many numbers.
impl<const COUNT: usize> Stored for [f64; COUNT] {
    fn read(reader: &mut Reader<'_>) -> Result<Self, Wrong> {
        let items = Vec::<f64>::read(reader)?;
        let count = items.len();
        items.try_into().map_err(|_| value(format!("a list of {count} stands where one of {COUNT} is expected")))
    }
}
