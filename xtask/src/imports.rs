//! Short names for what a program takes from its script: the tool's own carry a digest each, which no packing makes small.

/// The number of the section of imports, and the kind of an imported function (WebAssembly core specification 2.0, 5.5.5 and 5.4.1).
const IMPORTS: u8 = 2;
const FUNCTION: u8 = 0;

/// A script and its program with short names for the functions that one hands to the other; as they were where anything is not as
/// expected.
pub fn shorten(script: String, program: Vec<u8>) -> (String, Vec<u8>) {
    match shortened(&script, &program) {
        Some(short) => short,
        None => (script, program),
    }
}

fn shortened(script: &str, program: &[u8]) -> Option<(String, Vec<u8>)> {
    let (head, mut rest) = program.split_at_checked(8)?;
    let (mut script, mut short) = (script.to_owned(), head.to_vec());
    while let Some((&section, after)) = rest.split_first() {
        let (length, after) = number(after)?;
        let (body, after) = after.split_at_checked(length)?;
        rest = after;
        let renamed = if section == IMPORTS { Some(renamed(body, &mut script)?) } else { None };
        let body = renamed.as_deref().unwrap_or(body);
        short.push(section);
        write(&mut short, body.len());
        short.extend_from_slice(body);
    }
    Some((script, short))
}

/// The section of imports with short names, which the script gets as well.
fn renamed(section: &[u8], script: &mut String) -> Option<Vec<u8>> {
    let (count, mut rest) = number(section)?;
    let mut written = Vec::new();
    write(&mut written, count);
    for index in 0..count {
        let (module, after) = text(rest)?;
        let (name, after) = text(after)?;
        let (&FUNCTION, after) = after.split_first()? else { return None };
        let (kind, after) = number(after)?;
        rest = after;
        let named = format!("\n{name}: ");
        let (short, new) = (format!("i{index}"), format!("\ni{index}: "));
        if script.matches(&named).count() != 1 {
            return None;
        }
        *script = script.replace(&named, &new);
        for part in [module, &short] {
            write(&mut written, part.len());
            written.extend_from_slice(part.as_bytes());
        }
        written.push(FUNCTION);
        write(&mut written, kind);
    }
    rest.is_empty().then_some(written)
}

/// A number in LEB128, and what follows it.
fn number(bytes: &[u8]) -> Option<(usize, &[u8])> {
    let mut value = 0;
    for (place, &byte) in bytes.iter().enumerate().take(5) {
        value |= usize::from(byte & 0x7f) << (7 * place);
        if byte < 0x80 {
            return Some((value, &bytes[place + 1..]));
        }
    }
    None
}

fn text(bytes: &[u8]) -> Option<(&str, &[u8])> {
    let (length, after) = number(bytes)?;
    let (text, after) = after.split_at_checked(length)?;
    Some((std::str::from_utf8(text).ok()?, after))
}

fn write(to: &mut Vec<u8>, mut value: usize) {
    while value >= 0x80 {
        to.push((value & 0x7f) as u8 | 0x80);
        value >>= 7;
    }
    to.push(value as u8);
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEAD: &[u8] = b"\0asm\x01\0\0\0";

    #[test]
    fn names_are_short_in_both_and_the_rest_stays() {
        let program = [HEAD, b"\x02\x0f\x01\x01m\x08__wbg_ab\x00\x83\x01", b"\x0a\x02\x01\x7f"].concat();
        let script = "const import0 = {\n__wbg_ab: function(arg0) {\n},\n};\n__wbg_abc();\n";
        let (script, short) = shorten(script.to_owned(), program);
        assert_eq!(script, "const import0 = {\ni0: function(arg0) {\n},\n};\n__wbg_abc();\n");
        assert_eq!(short, [HEAD, b"\x02\x09\x01\x01m\x02i0\x00\x83\x01", b"\x0a\x02\x01\x7f"].concat());
    }

    #[test]
    fn what_is_not_as_expected_stays_as_it_is() {
        let program = [HEAD, b"\x02\x0e\x01\x01m\x08__wbg_ab\x00\x03"].concat();
        for script in ["nothing of it", "\n__wbg_ab: 1\n__wbg_ab: 2"] {
            assert_eq!(shorten(script.to_owned(), program.clone()), (script.to_owned(), program.clone()));
        }
        let broken = [HEAD, b"\x02\x7f\x01"].concat();
        assert_eq!(shorten(String::new(), broken.clone()).1, broken);
    }
}
