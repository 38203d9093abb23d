//! JSON as text, set out in lines.
//!
//! It reads a text once, byte by byte, and looks at nothing but its marks and strings. That costs the page a fraction of a
//! second writer.

/// How many bytes the string has with which a text begins, both quotes included; `None` if it does not end.
fn string_length(text: &[u8]) -> Option<usize> {
    let mut escaped = false;
    for (place, byte) in text.iter().enumerate().skip(1) {
        match byte {
            _ if escaped => escaped = false,
            b'\\' => escaped = true,
            b'"' => return Some(place + 1),
            _ => {}
        }
    }
    None
}

/// JSON without any white space between its marks, set out in lines that are indented by one space per bracket.
pub fn in_lines(compact: &str) -> String {
    let mut text = String::with_capacity(2 * compact.len());
    let mut depth = 0;
    let mut place = 0;
    let bytes = compact.as_bytes();
    while place < bytes.len() {
        let length = match bytes[place] {
            b'"' => string_length(&bytes[place..]).unwrap_or(bytes.len() - place),
            // An empty list or object stays in one piece.
            b'{' | b'[' if matches!(bytes.get(place + 1), Some(b'}' | b']')) => 2,
            b'}' | b']' => {
                depth -= 1;
                new_line(&mut text, depth);
                1
            }
            // Outside strings JSON is ASCII.
            _ => 1,
        };
        let piece = &compact[place..place + length];
        text.push_str(piece);
        match piece {
            "{" | "[" => {
                depth += 1;
                new_line(&mut text, depth);
            }
            "," => new_line(&mut text, depth),
            ":" => text.push(' '),
            _ => {}
        }
        place += length;
    }
    text
}

fn new_line(text: &mut String, depth: usize) {
    text.push('\n');
    text.extend(std::iter::repeat_n(' ', depth));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_set_out_as_the_library_sets_them_out() {
        for compact in [
            r#"{"a":[1,{"b \"{[,:":"ü,]}"},[[],{},3.5e-7]],"c":null,"d":[true]}"#,
            "[]",
            "{}",
            "1",
            r#""x\\""#,
            "[[[]]]",
        ] {
            let value: serde_json::Value = serde_json::from_str(compact).unwrap();
            let mut expected = Vec::new();
            let indent = serde_json::ser::PrettyFormatter::with_indent(b" ");
            let mut serializer = serde_json::Serializer::with_formatter(&mut expected, indent);
            serde::Serialize::serialize(&value, &mut serializer).unwrap();
            assert_eq!(in_lines(&serde_json::to_string(&value).unwrap()).as_bytes(), expected, "{compact}");
        }
    }
}
