//! Holds the arrows between the folders of `src/`: page -> advice -> link -> plan -> {course, site} -> rf -> units; and that
//! the modules of `link` lie in layers, without a circle.
//!
//! It reads the source as text, without comments and strings, and looks at every path that begins with `crate::`. That is
//! enough to catch a slip; it does not stop anyone who wants to get round it.

use std::collections::{BTreeMap, BTreeSet};
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
/// A line for each arrow that points up, and one for a circle in `link`.
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
    let arrows = arrows_within(&src.join("link"), "link").map_err(|error| format!("src/link: {error}"))?;
    slips.extend(circle(&arrows).map(|circle| format!("link's modules use each other in a circle: {circle}")));
    if slips.is_empty() { Ok(()) } else { Err(slips.join("\n")) }
}

/// Which modules of a layer each of its modules uses, tests apart. A folder belongs to the module of its name.
fn arrows_within(folder: &Path, layer: &str) -> std::io::Result<BTreeMap<String, BTreeSet<String>>> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        let module = path.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
        if path.is_dir() {
            let inner = fs::read_dir(&path)?.collect::<Result<Vec<_>, _>>()?;
            files.extend(inner.into_iter().map(|entry| (module.clone(), entry.path(), false)));
        } else if module != "mod" {
            files.push((module, path, true));
        }
    }
    let modules: BTreeSet<String> = files.iter().map(|(module, ..)| module.clone()).collect();
    let mut arrows = BTreeMap::new();
    for (module, path, is_top) in files {
        if path.extension().is_none_or(|extension| extension != "rs") || path.ends_with("tests.rs") {
            continue;
        }
        let used = used_within(&fs::read_to_string(path)?, layer, is_top);
        let used = used.into_iter().filter(|name| *name != module && modules.contains(name));
        arrows.entry(module.clone()).or_insert_with(BTreeSet::new).extend(used);
    }
    Ok(arrows)
}

/// The modules of its own layer that a file names, its tests apart.
fn used_within(source: &str, layer: &str, is_top: bool) -> Vec<String> {
    let code = bare(source);
    let code = code.split("#[cfg(test)]\nmod tests {").next().unwrap_or_default();
    let mut names = used_after(code, &format!("crate::{layer}::"));
    if is_top {
        names.extend(used_after(code, "super::"));
    }
    // What a layer offers by itself is said where it comes from.
    names.iter_mut().filter(|name| *name == "Evaluator").for_each(|name| "evaluator".clone_into(name));
    names
}

/// A circle of arrows in words, if there is one.
fn circle(arrows: &BTreeMap<String, BTreeSet<String>>) -> Option<String> {
    let mut left = arrows.clone();
    // Whoever uses nobody that is left is no part of a circle.
    while let Some(free) =
        left.iter().find(|(_, used)| used.iter().all(|name| !left.contains_key(name))).map(|(module, _)| module.clone())
    {
        left.remove(&free);
    }
    // Everyone left uses someone left: following them comes round.
    let mut way = vec![left.keys().next()?];
    loop {
        let next = left[way[way.len() - 1]].iter().find(|name| left.contains_key(*name))?;
        if let Some(begins) = way.iter().position(|name| *name == next) {
            let names: Vec<&str> = way[begins..].iter().chain([&next]).map(|name| name.as_str()).collect();
            return Some(names.join(" -> "));
        }
        way.push(next);
    }
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
    used_after(code, "crate::")
}

/// The first names after a beginning of a path, also where several stand in braces.
fn used_after(code: &str, beginning: &str) -> Vec<String> {
    let mut names = Vec::new();
    for (at, found) in code.match_indices(beginning) {
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
    fn a_circle_is_found_and_a_fork_that_joins_is_none() {
        let arrows = |list: &[(&str, &str)]| {
            let mut arrows: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
            for (from, to) in list {
                arrows.entry((*to).to_owned()).or_default();
                arrows.entry((*from).to_owned()).or_default().insert((*to).to_owned());
            }
            arrows
        };
        assert_eq!(circle(&arrows(&[("a", "b"), ("a", "c"), ("b", "d"), ("c", "d")])), None);
        let found = circle(&arrows(&[("a", "b"), ("b", "c"), ("c", "d"), ("d", "b")]));
        assert_eq!(found.as_deref(), Some("b -> c -> d -> b"));
    }

    #[test]
    fn links_own_arrows_are_seen_in_files_and_folders() {
        let link = Path::new(env!("CARGO_MANIFEST_DIR")).join("../src/link");
        let arrows = arrows_within(&link, "link").expect("it can be read");
        assert!(arrows["evaluator"].contains("report") && arrows["sheet"].contains("evaluator"));
        // Only a file in the folder of `pair` uses the last one.
        assert!(arrows["receiver"].contains("outage") && arrows["pair"].contains("stages"));
        assert_eq!(circle(&arrows), None);
    }

    #[test]
    fn a_layers_own_modules_are_read_without_its_tests() {
        let code = "use super::{hear::Heard, kit};\nuse crate::link::lap;\n/// [`super::map`]\n\
                    #[cfg(test)]\nmod tests {\n    use crate::link::Evaluator;\n}\n";
        assert_eq!(used_within(code, "link", true), ["lap", "hear", "kit"]);
        assert_eq!(used_within(code, "link", false), ["lap"]);
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
