//! Bytes as letters that an address carries unchanged: base64 with the URL-safe alphabet and without padding.
//!
//! Source: RFC 4648, section 5; its test vectors of section 10 are checked below.

/// The letters in the order of their values.
const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";

/// The bytes as letters, four for every three bytes.
pub fn written(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for group in bytes.chunks(3) {
        let held = group.iter().fold(0, |held, byte| (held << 8) | u32::from(*byte)) << (8 * (3 - group.len()));
        for place in 0..=group.len() {
            text.push(char::from(LETTERS[(held >> (18 - 6 * place)) as usize & 63]));
        }
    }
    text
}

/// The bytes that the letters stand for; bits that fill no byte are dropped.
///
/// # Errors
/// The first character that is none of the letters.
pub fn read(text: &str) -> Result<Vec<u8>, char> {
    let mut bytes = Vec::with_capacity(text.len() / 4 * 3 + 2);
    let (mut held, mut count) = (0_u32, 0);
    for letter in text.chars() {
        let value = LETTERS.iter().position(|known| char::from(*known) == letter).ok_or(letter)?;
        // What has left to the left was written out before.
        held = (held << 6) | value as u32;
        count += 6;
        if count >= 8 {
            count -= 8;
            bytes.push((held >> count) as u8);
        }
    }
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_vectors_of_the_standard_hold_both_ways() {
        // RFC 4648, section 10, without the padding; the last two use the letters that differ from plain base64.
        let vectors: [(&[u8], &str); 9] = [
            (b"", ""),
            (b"f", "Zg"),
            (b"fo", "Zm8"),
            (b"foo", "Zm9v"),
            (b"foob", "Zm9vYg"),
            (b"fooba", "Zm9vYmE"),
            (b"foobar", "Zm9vYmFy"),
            (&[0xff, 0xef, 0xbe], "_---"),
            (&[0xfb, 0xff], "-_8"),
        ];
        for (bytes, text) in vectors {
            assert_eq!(written(bytes), text);
            assert_eq!(read(text).as_deref(), Ok(bytes));
        }
    }

    #[test]
    fn a_letter_of_another_alphabet_is_named() {
        assert_eq!(read("Zm9v+g"), Err('+'));
        assert_eq!(read("Zg=="), Err('='));
        assert_eq!(read("Zü"), Err('ü'));
    }
}
