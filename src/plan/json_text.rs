//! JSON as text: which value a place of it belongs to, and how it is set out in lines.
//!
//! Both read a text once, byte by byte, and look at nothing but its marks and strings. That costs the page a fraction of
//! a parser that remembers its way, and of a writer for each layout.

use super::json_reader;

/// Something with brackets that is not closed yet.
enum Open<'a> {
    List {
        index: usize,
    },
    /// The key is what stands between the quotes, absent until it is complete.
    Object {
        key: Option<&'a str>,
        awaits_key: bool,
    },
}

/// The path of the value that is being read where a JSON text is cut off after `offset` bytes, such as
/// `seats[2].height_m`; empty for the document itself.
///
/// Right behind a value, or a key, it is the path of that one; behind a comma of an object, of the object.
pub fn path_at(text: &str, offset: usize) -> String {
    let mut path = String::new();
    for open in open_at(text, offset) {
        match open {
            Open::List { index } => path.push_str(&format!("[{index}]")),
            Open::Object { key: None, .. } => {}
            Open::Object { key: Some(key), .. } => {
                if !path.is_empty() {
                    path.push('.');
                }
                // A key that is no string after all is shown as it stands.
                path.push_str(json_reader::unescaped(key).as_deref().unwrap_or(key));
            }
        }
    }
    path
}

/// The path of the object or list that holds the value at a path.
pub fn holder(path: &str) -> &str {
    &path[..path.rfind(['.', '[']).unwrap_or(0)]
}

fn open_at(text: &str, offset: usize) -> Vec<Open<'_>> {
    let end = offset.min(text.len());
    let mut open = Vec::new();
    let mut place = 0;
    while place < end {
        match (text.as_bytes()[place], open.last_mut()) {
            (b'"', holder) => {
                let Some(length) = string_length(&text.as_bytes()[place..end]) else { break };
                if let Some(Open::Object { key, awaits_key: awaits_key @ true }) = holder {
                    *key = Some(&text[place + 1..place + length - 1]);
                    *awaits_key = false;
                }
                place += length - 1;
            }
            (b'{', _) => open.push(Open::Object { key: None, awaits_key: true }),
            (b'[', _) => open.push(Open::List { index: 0 }),
            (b'}' | b']', _) => drop(open.pop()),
            (b',', Some(Open::List { index })) => *index += 1,
            (b',', Some(Open::Object { key, awaits_key })) => (*key, *awaits_key) = (None, true),
            _ => {}
        }
        place += 1;
    }
    open
}

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
    fn a_place_belongs_to_the_value_that_is_read_there() {
        let text = r#" {"a": [1, {"b \"{[": "x,]}", "c": 2}, [[], 3]], "d\u0065": null}"#;
        for (until, path) in [
            (" ", ""),
            (" {", ""),
            (r#" {"a"#, ""),
            (r#" {"a""#, "a"),
            ("[1", "a[0]"),
            ("[1,", "a[1]"),
            (r#"{"b"#, "a[1]"),
            ("x,]", "a[1].b \"{["),
            (r#"}","#, "a[1]"),
            (r#""c": 2"#, "a[1].c"),
            (r#""c": 2}"#, "a[1]"),
            ("[[]", "a[2][0]"),
            ("[[], 3", "a[2][1]"),
            (" 3]]", "a"),
            (" 3]],", ""),
            ("null", "de"),
            ("null}", ""),
        ] {
            let offset = text.find(until).expect("a part of the text") + until.len();
            assert_eq!(path_at(text, offset), path, "after {until}");
        }
        assert_eq!(path_at("{\"a\":", 99), "a", "a place behind the end is the end");
    }

    #[test]
    fn what_holds_a_value_is_named_by_the_path_before_it() {
        for (path, whole) in [("a.b[2].c", "a.b[2]"), ("a.b[2]", "a.b"), ("a", ""), ("", "")] {
            assert_eq!(holder(path), whole);
        }
    }

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
