//! The way back from packed bytes to a text, by a stranger's hand perhaps: it may not take more memory than was allowed.
//!
//! Source: RFC 1951. Every kind of block is read, so that other programs may pack too.

use super::pack::{DISTANCES, END, LENGTHS, distance, length};

/// Why bytes cannot be unpacked.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum UnpackError {
    /// They end before the packed text does.
    #[error("it ends too early; a part of it is missing")]
    CutShort,
    /// They are nothing that packing makes, or something stands behind the packed text.
    #[error("it is damaged")]
    Damaged,
    /// The text is longer than was allowed.
    #[error("it unpacks to more than {most} bytes")]
    TooLarge {
        /// How many were allowed.
        most: usize,
    },
}

/// Unpacks to a text of `most` bytes at the most; `words` are what the packing side knew too.
///
/// # Errors
/// [`UnpackError`].
pub fn unpacked(bytes: &[u8], words: &[u8], most: usize) -> Result<Vec<u8>, UnpackError> {
    let mut bits = Bits { bytes: bytes.iter(), held: 0, count: 0 };
    let mut text = Text { bytes: words.to_vec(), words: words.len(), most };
    loop {
        let is_last = bits.number(1)? == 1;
        match bits.number(2)? {
            0 => {
                // The rest of the byte means nothing.
                (bits.held, bits.count) = (0, 0);
                let (count, check) = (bits.number(16)?, bits.number(16)?);
                if count ^ check != 0xffff {
                    return Err(UnpackError::Damaged);
                }
                for _ in 0..count {
                    text.push(bits.number(8)? as u8)?;
                }
            }
            1 => {
                let mut literals = [8; 288];
                literals[144..256].fill(9);
                literals[256..280].fill(7);
                block(&mut bits, &mut text, &Code::new(&literals)?, &Code::new(&[5; 32])?)?;
            }
            2 => {
                let (literals, distances) = own_codes(&mut bits)?;
                block(&mut bits, &mut text, &literals, &distances)?;
            }
            _ => return Err(UnpackError::Damaged),
        }
        if is_last {
            break;
        }
    }
    if bits.bytes.next().is_some() {
        return Err(UnpackError::Damaged);
    }
    text.bytes.drain(..words.len());
    Ok(text.bytes)
}

/// What has been unpacked, behind the words.
struct Text {
    bytes: Vec<u8>,
    words: usize,
    most: usize,
}

impl Text {
    fn push(&mut self, byte: u8) -> Result<(), UnpackError> {
        if self.bytes.len() - self.words >= self.most {
            return Err(UnpackError::TooLarge { most: self.most });
        }
        self.bytes.push(byte);
        Ok(())
    }
}

/// The rest of a block of codes.
fn block(bits: &mut Bits, text: &mut Text, literals: &Code, distances: &Code) -> Result<(), UnpackError> {
    loop {
        let symbol = bits.symbol(literals)?;
        if symbol < END {
            text.push(symbol as u8)?;
            continue;
        }
        if symbol == END {
            return Ok(());
        }
        let long = bits.value(symbol - END - 1, LENGTHS, length)?;
        let index = bits.symbol(distances)?;
        let back = bits.value(index, DISTANCES, distance)?;
        for _ in 0..long {
            let from = text.bytes.len().checked_sub(back).ok_or(UnpackError::Damaged)?;
            text.push(text.bytes[from])?;
        }
    }
}

/// The codes that a block states for itself (RFC 1951, section 3.2.7).
fn own_codes(bits: &mut Bits) -> Result<(Code, Code), UnpackError> {
    const ORDER: [usize; 19] = [16, 17, 18, 0, 8, 7, 9, 6, 10, 5, 11, 4, 12, 3, 13, 2, 14, 1, 15];
    let literals = 257 + bits.number(5)? as usize;
    let count = literals + 1 + bits.number(5)? as usize;
    let stated = 4 + bits.number(4)? as usize;
    let mut lengths = [0; 19];
    for place in &ORDER[..stated] {
        lengths[*place] = bits.number(3)? as u8;
    }
    let code = Code::new(&lengths)?;
    let mut lengths = Vec::with_capacity(count);
    while lengths.len() < count {
        let (value, times) = match bits.symbol(&code)? {
            16 => (*lengths.last().ok_or(UnpackError::Damaged)?, 3 + bits.number(2)?),
            17 => (0, 3 + bits.number(3)?),
            18 => (0, 11 + bits.number(7)?),
            value => (value as u8, 1),
        };
        lengths.resize(lengths.len() + times as usize, value);
    }
    if lengths.len() > count {
        return Err(UnpackError::Damaged);
    }
    Ok((Code::new(&lengths[..literals])?, Code::new(&lengths[literals..])?))
}

/// A prefix code: how many symbols have each length, and the symbols in the order of their codes (section 3.2.2).
struct Code {
    counts: [usize; 16],
    symbols: Vec<u16>,
}

impl Code {
    /// The code of these lengths; 0 stands for a symbol that does not occur. A code may have gaps: reading one is damage.
    fn new(lengths: &[u8]) -> Result<Self, UnpackError> {
        let mut counts = [0; 16];
        let mut symbols = Vec::with_capacity(lengths.len());
        let mut free = 1_usize;
        for long in 1..16 {
            let before = symbols.len();
            symbols.extend((0..lengths.len()).filter(|symbol| lengths[*symbol] == long).map(|symbol| symbol as u16));
            counts[usize::from(long)] = symbols.len() - before;
            free = (2 * free).checked_sub(symbols.len() - before).ok_or(UnpackError::Damaged)?;
        }
        Ok(Self { counts, symbols })
    }
}

/// Bits from bytes, the lowest of a byte first.
struct Bits<'a> {
    bytes: std::slice::Iter<'a, u8>,
    held: u32,
    count: u32,
}

impl Bits<'_> {
    /// A number of at most 16 bits, its lowest bit first.
    fn number(&mut self, bits: u32) -> Result<u32, UnpackError> {
        while self.count < bits {
            self.held |= u32::from(*self.bytes.next().ok_or(UnpackError::CutShort)?) << self.count;
            self.count += 8;
        }
        let value = self.held & ((1 << bits) - 1);
        self.held >>= bits;
        self.count -= bits;
        Ok(value)
    }

    /// The next symbol of a code, whose bits come highest first.
    fn symbol(&mut self, code: &Code) -> Result<usize, UnpackError> {
        // Codes of one length are consecutive numbers, and those of the next length go on behind them.
        let (mut value, mut first, mut before) = (0, 0, 0);
        for count in &code.counts[1..] {
            value |= self.number(1)? as usize;
            if value < first + count {
                return Ok(usize::from(code.symbols[before + value - first]));
            }
            before += count;
            first = (first + count) << 1;
            value <<= 1;
        }
        Err(UnpackError::Damaged)
    }

    /// A length or distance: the smallest of its code and what its further bits add.
    fn value(&mut self, index: usize, codes: usize, of: fn(usize) -> (usize, u32)) -> Result<usize, UnpackError> {
        if index >= codes {
            return Err(UnpackError::Damaged);
        }
        let (least, further) = of(index);
        Ok(least + self.number(further)? as usize)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::packing::pack;
    use crate::plan::plan_link::WORDS;
    use crate::plan::{demo, load};
    use miniz_oxide::inflate::core::inflate_flags::TINFL_FLAG_USING_NON_WRAPPING_OUTPUT_BUF as WHOLE;
    use miniz_oxide::inflate::core::{DecompressorOxide, decompress};
    use miniz_oxide::{deflate, inflate::TINFLStatus};
    use proptest::collection::vec;
    use proptest::prelude::*;

    /// What an independent program makes of our bytes.
    fn unpacked_by_others(bytes: &[u8], words: &[u8], most: usize) -> Vec<u8> {
        let mut out = words.to_vec();
        out.resize(words.len() + most, 0);
        let (status, _, count) = decompress(&mut DecompressorOxide::new(), bytes, &mut out, words.len(), WHOLE);
        assert_eq!(status, TINFLStatus::Done);
        out[words.len()..][..count].to_vec()
    }

    /// Texts that repeat themselves, the words and every byte.
    fn text() -> impl Strategy<Value = Vec<u8>> {
        let piece = prop_oneof![
            vec(any::<u8>(), 0..40),
            (any::<u8>(), 1_usize..700).prop_map(|(byte, times)| vec![byte; times]),
            (0..WORDS.len(), 0_usize..300).prop_map(|(at, long)| WORDS[at..][..long.min(WORDS.len() - at)].to_vec()),
        ];
        (vec(piece, 0..12), 1_usize..4).prop_map(|(pieces, times)| pieces.concat().repeat(times))
    }

    #[test]
    fn every_kind_of_block_of_another_program_is_read() {
        let text = load::save(&demo()).repeat(4).into_bytes();
        // Level 0 stores, level 1 uses the fixed codes for short texts, the others state codes of their own.
        let mut kinds = Vec::new();
        for (level, part) in [(0, &text[..]), (1, b"a short text"), (6, &text), (10, &text)] {
            let bytes = deflate::compress_to_vec(part, level);
            kinds.push(bytes[0] >> 1 & 3);
            assert_eq!(unpacked(&bytes, b"", part.len()).as_deref(), Ok(part), "level {level}");
            assert_eq!(unpacked(&bytes, b"", part.len() - 1), Err(UnpackError::TooLarge { most: part.len() - 1 }));
        }
        kinds.sort_unstable();
        kinds.dedup();
        assert_eq!(kinds, [0, 1, 2]);
    }

    #[test]
    fn whatever_is_cut_off_is_missed_and_whatever_follows_is_noticed() {
        let bytes = pack::packed(load::save(&demo()).as_bytes(), WORDS);
        for end in 0..bytes.len() {
            assert_eq!(unpacked(&bytes[..end], WORDS, 1 << 20), Err(UnpackError::CutShort), "{end}");
        }
        assert_eq!(unpacked(&[&bytes[..], b"x"].concat(), WORDS, 1 << 20), Err(UnpackError::Damaged));
    }

    #[test]
    fn a_reference_to_before_the_beginning_is_damage() {
        // The fixed block of "abc" three times over, whose reference needs the three bytes before it.
        let bytes = pack::packed(b"abcabc", b"abcabc");
        assert_eq!(unpacked(&bytes, b"abcabc", 6).as_deref(), Ok(&b"abcabc"[..]));
        assert_eq!(unpacked(&bytes, b"", 6), Err(UnpackError::Damaged));
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn what_is_packed_comes_back_here_and_elsewhere(text in text()) {
            let bytes = pack::packed(&text, WORDS);
            prop_assert_eq!(&unpacked_by_others(&bytes, WORDS, text.len()), &text);
            prop_assert_eq!(unpacked(&bytes, WORDS, text.len()), Ok(text));
        }

        #[test]
        fn what_others_pack_is_read(text in text(), level in 0_u8..=10) {
            prop_assert_eq!(unpacked(&deflate::compress_to_vec(&text, level), WORDS, text.len()), Ok(text));
        }

        #[test]
        fn no_bytes_make_it_panic_or_take_more_than_allowed(
            bytes in prop_oneof![
                vec(any::<u8>(), 0..200),
                (text(), 0_u8..=10, vec((any::<prop::sample::Index>(), any::<u8>()), 1..4)).prop_map(|(text, level, damage)| {
                    let mut bytes = deflate::compress_to_vec(&text, level);
                    for (at, byte) in damage {
                        let at = at.index(bytes.len());
                        bytes[at] ^= byte;
                    }
                    bytes
                }),
            ],
            most in 0_usize..2000,
        ) {
            if let Ok(text) = unpacked(&bytes, WORDS, most) {
                prop_assert!(text.len() <= most);
            }
        }
    }
}
