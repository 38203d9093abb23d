//! The plan's mark: eight letters by which a sheet and a plan's file are known to belong together.

/// How the mark is made, for the foot of the sheet.
pub const HOW: &str = "CRC-32 of the saved plan’s file";

/// The mark of a plan, from the text of its file ([`crate::plan::save`]): its CRC-32 in two groups of hexadecimal digits.
/// It tells versions of a plan apart; it proves nothing about who wrote one.
pub fn mark(text: &str) -> String {
    let check = crc32(text.as_bytes());
    format!("{:04x} {:04x}", check >> 16, check & 0xffff)
}

/// The cyclic redundancy check that PNG and many archives use, so that other tools can make the mark, too.
///
/// Source: ISO/IEC 15948 (PNG), clause 5.5: polynomial of degree 32, bits in reverse, begun and ended with all ones.
fn crc32(bytes: &[u8]) -> u32 {
    const POLYNOMIAL: u32 = 0xedb8_8320;
    let mut check = u32::MAX;
    for byte in bytes {
        check ^= u32::from(*byte);
        for _ in 0..8 {
            check = if check & 1 == 1 { (check >> 1) ^ POLYNOMIAL } else { check >> 1 };
        }
    }
    !check
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan;

    #[test]
    fn the_check_is_the_one_that_other_tools_make() {
        // Python's zlib.crc32 of the same bytes; the first is also the check value that catalogues of such sums list.
        assert_eq!(crc32(b"123456789"), 0xcbf4_3926);
        assert_eq!(crc32(b""), 0);
        assert_eq!(crc32("Wörter\n".as_bytes()), 0xdf28_2f0d);
    }

    #[test]
    fn a_changed_plan_has_another_mark() {
        let (mut changed, demo) = (plan::demo(), plan::demo());
        changed.course.gates[2].x_m += 0.01;
        assert_ne!(mark(&plan::save(&changed)), mark(&plan::save(&demo)));
        assert_eq!(mark(&plan::save(&demo)).len(), 9);
    }
}
