//! Holds the arrows between the folders of `src/`: page -> advice -> link -> plan -> {course, site} -> rf -> units.
//!
//! It reads the source as text, without comments and strings, and looks at every path that begins with `crate::`. That is
//! enough to catch a slip; it does not stop anyone who wants to get round it.

use std::fs;
use std::path::Path;

/// Each layer with its height. A layer may use itself and whatever is lower; `course` and `site` do not know each other.
const LAYERS: [(&str, u8); 8] =
    [("units", 0), ("rf", 1), ("course", 2), ("site", 2), ("plan", 3), ("link", 4), ("advice", 5), ("page", 6)];

/// What only `page` may name: browsers, clocks and random numbers that nobody can repeat.
const PAGE_ONLY: [&str; 12] = [
    "web_sys",
    "js_sys",
    "wasm_bindgen",
    "wasm_bindgen_futures",
    "yew",
    "gloo",
    "console_error_panic_hook",
    "Instant",
    "SystemTime",
    "thread_rng",
    "OsRng",
    "target_arch",
];

/// Checks every file of the layers.
///
/// # Errors
/// A line for each arrow that points up.
pub fn check(src: &Path) -> Result<(), String> {
    let mut slips = Vec::new();
    for (layer, _) in LAYERS {
        let file = format!("{layer}.rs");
        for path in [src.join(layer), src.join("world").join(layer), src.join("world").join(file)] {
            if path.exists() {
                visit(&path, layer, &mut slips).map_err(|error| format!("{}: {error}", path.display()))?;
            }
        }
    }
    if slips.is_empty() { Ok(()) } else { Err(slips.join("\n")) }
}

fn visit(path: &Path, layer: &str, slips: &mut Vec<String>) -> std::io::Result<()> {
    if path.is_dir() {
        for entry in fs::read_dir(path)? {
            visit(&entry?.path(), layer, slips)?;
        }
    } else if path.extension().is_some_and(|extension| extension == "rs") {
        let found = slips_in(&fs::read_to_string(path)?, layer);
        slips.extend(found.into_iter().map(|slip| format!("{}: {slip}", path.display())));
    }
    Ok(())
}

/// The arrows in one file of a layer that point up.
fn slips_in(source: &str, layer: &str) -> Vec<String> {
    let height = |name: &str| LAYERS.iter().find(|(layer, _)| *layer == name).map(|(_, height)| *height);
    let own = height(layer).expect("only files of the layers are read");
    let code = bare(source);
    let mut slips = Vec::new();
    for name in used(&code) {
        if name != layer && height(&name).is_some_and(|height| height >= own) {
            slips.push(format!("{layer} uses {name}, which is not below it"));
        }
    }
    if layer != "page" {
        let words: Vec<&str> = code.split(|letter: char| !letter.is_alphanumeric() && letter != '_').collect();
        let named = PAGE_ONLY.iter().filter(|name| words.contains(name));
        slips.extend(named.map(|name| format!("{layer} names {name}, which belongs to page")));
    }
    slips.sort();
    slips.dedup();
    slips
}

/// The first names after `crate::`, also where several stand in braces.
fn used(code: &str) -> Vec<String> {
    let mut names = Vec::new();
    for (at, found) in code.match_indices("crate::") {
        let rest = code[at + found.len()..].trim_start();
        let Some(list) = rest.strip_prefix('{') else {
            names.push(word(rest));
            continue;
        };
        let mut depth = 0;
        for part in list.split_inclusive(['{', '}', ',']) {
            if depth == 0 {
                names.push(word(part.trim_start()));
            }
            match part.chars().last() {
                Some('{') => depth += 1,
                Some('}') if depth == 0 => break,
                Some('}') => depth -= 1,
                _ => {}
            }
        }
    }
    names
}

fn word(text: &str) -> String {
    text.chars().take_while(|letter| letter.is_alphanumeric() || *letter == '_').collect()
}

/// The source without comments and the insides of strings.
fn bare(source: &str) -> String {
    let mut code = String::with_capacity(source.len());
    let mut rest = source;
    while let Some(letter) = rest.chars().next() {
        let skipped = if rest.starts_with("//") {
            rest.find('\n').unwrap_or(rest.len())
        } else if rest.starts_with("/*") {
            rest.find("*/").map_or(rest.len(), |end| end + 2)
        } else if let Some(end) = raw_string(rest) {
            end
        } else if letter == '"' {
            string(rest)
        } else if rest.starts_with("'\"'") || rest.starts_with("'\\") {
            // A quotation mark or an escape as a character.
            2 + rest[2..].find('\'').map_or(0, |end| end + 1)
        } else {
            code.push(letter);
            letter.len_utf8()
        };
        rest = &rest[skipped..];
    }
    code
}

/// The length of the string that `text` begins with.
fn string(text: &str) -> usize {
    let mut escaped = false;
    for (at, letter) in text.char_indices().skip(1) {
        match letter {
            _ if escaped => escaped = false,
            '\\' => escaped = true,
            '"' => return at + 1,
            _ => {}
        }
    }
    text.len()
}

/// The length of the raw string that `text` begins with, if it does.
fn raw_string(text: &str) -> Option<usize> {
    let hashes = text.strip_prefix('r')?;
    let marks = &hashes[..hashes.len() - hashes.trim_start_matches('#').len()];
    let inside = hashes[marks.len()..].strip_prefix('"')?;
    let begin = text.len() - inside.len();
    let end = format!("\"{marks}");
    Some(inside.find(&end).map_or(text.len(), |at| begin + at + end.len()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn arrows_down_are_fine() {
        for (layer, code) in [
            ("link", "use crate::{plan::{document::Plan, edit}, rf::phasor, units::Db};"),
            ("site", "use crate::rf::Vec3; fn f() -> crate::units::Db { crate::site::loss() }"),
            ("page", "use web_sys::Window; use crate::link::report::Report;"),
        ] {
            assert_eq!(slips_in(code, layer), [""; 0], "{code}");
        }
    }

    #[test]
    fn arrows_up_and_sideways_are_found() {
        for (layer, code, named) in [
            ("rf", "use crate::plan::document::Plan;", "plan"),
            ("rf", "use crate::{units::{Db, Dbm}, link};", "link"),
            ("course", "fn f(site: &crate::site::Site) {}", "site"),
            ("link", "fn f() { let start = std::time::Instant::now(); }", "Instant"),
            ("plan", "let s = 'a'; let t = '\"'; use crate::page::format;", "page"),
        ] {
            let slips = slips_in(code, layer);
            assert!(slips.len() == 1 && slips[0].contains(named), "{code}: {slips:?}");
        }
    }

    #[test]
    fn words_are_not_arrows() {
        let code = r##"
            //! See [`crate::plan`]. /* crate::link */
            /* use crate::page; */
            const A: &str = "crate::page \" web_sys";
            const B: &str = r#"crate::page "yew" "#;
        "##;
        assert_eq!(slips_in(code, "rf"), [""; 0]);
    }
}
