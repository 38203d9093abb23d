//! A check value of 24 bits: four letters of an address.
//!
//! Source: RFC 9580 (OpenPGP), section 6.1, which calls it CRC-24. Every run of damaged bits that is no longer than the check
//! value changes it (a property of cyclic codes), so a letter that is wrong, or two that changed places, never pass; of any
//! other damage one in 16.8 million does.

/// How many bytes a check value has.
pub const BYTES: usize = 3;

const INITIAL: u32 = 0x00b7_04ce;
const GENERATOR: u32 = 0x0186_4cfb;

/// The check value of some bytes, highest byte first.
pub fn value(bytes: &[u8]) -> [u8; BYTES] {
    let mut held = INITIAL;
    for byte in bytes {
        held ^= u32::from(*byte) << 16;
        for _ in 0..8 {
            held <<= 1;
            if held & 0x0100_0000 != 0 {
                held ^= GENERATOR;
            }
        }
    }
    let [_, high, middle, low] = held.to_be_bytes();
    [high, middle, low]
}

/// The bytes with their check value behind them.
pub fn signed(mut bytes: Vec<u8>) -> Vec<u8> {
    bytes.extend(value(&bytes));
    bytes
}

/// The bytes without the check value behind them; `None` where it is not theirs.
pub fn verified(bytes: &[u8]) -> Option<&[u8]> {
    let (bytes, check) = bytes.split_last_chunk::<BYTES>()?;
    (value(bytes) == *check).then_some(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_usual_digits_have_their_value() {
        // "123456789" gives 21CF02 (from memory: the check value under which this code is listed); nothing gives the
        // initial value, by the code of the RFC.
        assert_eq!(value(b"123456789"), [0x21, 0xcf, 0x02]);
        assert_eq!(value(b""), [0xb7, 0x04, 0xce]);
    }

    #[test]
    fn no_run_of_damage_up_to_three_bytes_passes() {
        let whole = signed(b"a plan of an invented yard".to_vec());
        assert_eq!(verified(&whole), Some(&b"a plan of an invented yard"[..]));
        for from in 0..8 * whole.len() {
            // Runs that begin and end with a damaged bit, of every length; the bits between by a fixed pattern.
            for long in 1..=24_usize.min(8 * whole.len() - from) {
                let mut damaged = whole.clone();
                for bit in (0..long).filter(|bit| *bit == 0 || bit + 1 == long || (from * 31 + bit * 17) % 5 < 2) {
                    let bit = from + bit;
                    damaged[bit / 8] ^= 0x80 >> (bit % 8);
                }
                assert_eq!(verified(&damaged), None, "{long} bits from {from}");
            }
        }
        assert_eq!(verified(b""), None);
        assert_eq!(verified(&whole[..2]), None);
    }
}
