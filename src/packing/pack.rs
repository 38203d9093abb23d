//! Text packed small: deflate, with words that both sides know beforehand.
//!
//! Source: RFC 1951. The known words stand before the text as if they had just been written, like the preset dictionary of
//! RFC 1950, section 2.2; so a text of familiar words shrinks to references. Only the fixed codes of section 3.2.6 are used:
//! the texts are short, and codes of their own would gain a tenth (measured on the demo plan).

/// How far back a reference may reach.
const WINDOW: usize = 32_768;
/// The longest reference.
const LONGEST: usize = 258;
/// The shortest reference.
const SHORTEST: usize = 3;
/// How many earlier places with the same beginning are tried; more hardly shortens anything.
const TRIES: usize = 200;
/// Number of codes of lengths.
pub const LENGTHS: usize = 29;
/// Number of codes of distances.
pub const DISTANCES: usize = 30;
/// The code that ends a block.
pub const END: usize = 256;

/// Smallest length of the code at `index` from 0, and its number of further bits (RFC 1951, section 3.2.5).
pub const fn length(index: usize) -> (usize, u32) {
    match index {
        0..8 => (SHORTEST + index, 0),
        28 => (LONGEST, 0),
        _ => (SHORTEST + ((4 + index % 4) << (index / 4 - 1)), index as u32 / 4 - 1),
    }
}

/// The same of a distance.
pub const fn distance(index: usize) -> (usize, u32) {
    match index {
        0..4 => (1 + index, 0),
        _ => (1 + ((2 + index % 2) << (index / 2 - 1)), index as u32 / 2 - 1),
    }
}

/// Packs a text that is likely to hold some of the words.
pub fn packed(text: &[u8], words: &[u8]) -> Vec<u8> {
    let all = [words, text].concat();
    let mut places = Places { all: &all, last: vec![NOWHERE; 1 << HASH_BITS], before: vec![NOWHERE; all.len()] };
    (0..words.len()).for_each(|at| places.note(at));
    let mut out = Bits { bytes: Vec::new(), held: 0, count: 0 };
    // The only block is the last one, of the fixed codes.
    out.number(0b011, 3);
    let mut at = words.len();
    while at < all.len() {
        let (long, back) = places.earlier(at);
        places.note(at);
        // A longer reference that begins one byte later is worth that byte.
        if long == 0 || places.earlier(at + 1).0 > long {
            out.fixed(usize::from(all[at]));
            at += 1;
            continue;
        }
        let index = last_below(LENGTHS, length, long);
        out.fixed(END + 1 + index);
        out.number((long - length(index).0) as u32, length(index).1);
        let index = last_below(DISTANCES, distance, back);
        out.code(index as u32, 5);
        out.number((back - distance(index).0) as u32, distance(index).1);
        (at + 1..at + long).for_each(|at| places.note(at));
        at += long;
    }
    out.fixed(END);
    // Fills the last byte.
    out.number(0, 7);
    out.bytes
}

/// The last code whose smallest value is not above the value.
fn last_below(codes: usize, of: fn(usize) -> (usize, u32), value: usize) -> usize {
    (0..codes).rev().find(|index| of(*index).0 <= value).expect("the first code stands for the smallest value there is")
}

/// Where the same three bytes stood before.
struct Places<'a> {
    all: &'a [u8],
    /// The last place of each hash.
    last: Vec<u32>,
    /// The place before each place, of the same hash.
    before: Vec<u32>,
}

/// No place. Texts are much shorter.
const NOWHERE: u32 = u32::MAX;
const HASH_BITS: u32 = 15;

impl Places<'_> {
    fn hash(&self, at: usize) -> Option<usize> {
        let [one, two, three] = *self.all.get(at..at + SHORTEST)? else { return None };
        let held = u32::from_le_bytes([one, two, three, 0]);
        Some((held.wrapping_mul(0x9e37_79b1) >> (32 - HASH_BITS)) as usize)
    }

    fn note(&mut self, at: usize) {
        if let Some(hash) = self.hash(at) {
            self.before[at] = std::mem::replace(&mut self.last[hash], at as u32);
        }
    }

    /// The longest run of bytes before `at` that is repeated there, and how far back it begins; (0, 0) if there is none.
    fn earlier(&self, at: usize) -> (usize, usize) {
        let Some(hash) = self.hash(at) else { return (0, 0) };
        let most = LONGEST.min(self.all.len() - at);
        let (mut best, mut place) = ((0, 0), self.last[hash]);
        for _ in 0..TRIES {
            let from = place as usize;
            if place == NOWHERE || at - from > WINDOW {
                break;
            }
            let long = (0..most).take_while(|ahead| self.all[from + ahead] == self.all[at + ahead]).count();
            if long >= SHORTEST && long > best.0 {
                best = (long, at - from);
            }
            place = self.before[from];
        }
        best
    }
}

/// Bits on their way into bytes, the lowest of a byte first.
struct Bits {
    bytes: Vec<u8>,
    held: u32,
    count: u32,
}

impl Bits {
    /// A number, its lowest bit first.
    fn number(&mut self, value: u32, bits: u32) {
        self.held |= value << self.count;
        self.count += bits;
        while self.count >= 8 {
            self.bytes.push(self.held as u8);
            self.held >>= 8;
            self.count -= 8;
        }
    }

    /// A code, its highest bit first.
    fn code(&mut self, value: u32, bits: u32) {
        self.number(value.reverse_bits() >> (32 - bits), bits);
    }

    /// A literal byte, the end of the block or a length, in the fixed code (RFC 1951, section 3.2.6).
    fn fixed(&mut self, symbol: usize) {
        let value = symbol as u32;
        match symbol {
            0..144 => self.code(0x30 + value, 8),
            144..256 => self.code(0x190 + value - 144, 9),
            256..280 => self.code(value - 256, 7),
            _ => self.code(0xc0 + value - 280, 8),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_and_distances_are_those_of_the_standard() {
        // RFC 1951, section 3.2.5: first length or distance of some codes, and extra bits.
        for (code, first, bits) in
            [(257, 3, 0), (264, 10, 0), (265, 11, 1), (269, 19, 2), (276, 59, 3), (284, 227, 5), (285, 258, 0)]
        {
            assert_eq!(length(code - 257), (first, bits), "{code}");
        }
        for (code, first, bits) in [(0, 1, 0), (3, 4, 0), (4, 5, 1), (11, 49, 4), (18, 513, 8), (29, 24_577, 13)] {
            assert_eq!(distance(code), (first, bits), "{code}");
        }
    }
}
