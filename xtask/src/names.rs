//! Short names for what a script of the page lends its program.
//!
//! wasm-bindgen gives each function that the program borrows a long name that ends in sixteen digits of a checksum, and
//! both files carry all of them: noise, which no compression takes away.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use super::program;

/// Shortens the names in both files of every program of the built folder, and leaves out what of them no browser runs.
///
/// # Errors
/// A sentence when a file cannot be read or written, or is not what wasm-bindgen writes.
pub fn shorten(dist: &Path) -> Result<(), String> {
    let at = |path: &Path, error: std::io::Error| format!("{}: {error}", path.display());
    let paths: Vec<PathBuf> = fs::read_dir(dist)
        .and_then(|entries| entries.map(|entry| entry.map(|entry| entry.path())).collect())
        .map_err(|error| at(dist, error))?;
    let programs = paths.iter().filter(|path| path.extension().is_some_and(|extension| extension == "wasm"));
    for wasm in programs {
        let js = PathBuf::from(wasm.to_string_lossy().replace("_bg.wasm", ".js"));
        let bytes = fs::read(wasm).map_err(|error| at(wasm, error))?;
        let script = fs::read_to_string(&js).map_err(|error| at(&js, error))?;
        let (script, names) = shortened(&script);
        let slim = program::slimmed(&bytes, &names).map_err(|why| format!("{}: {why}", wasm.display()))?;
        fs::write(wasm, slim).map_err(|error| at(wasm, error))?;
        fs::write(&js, script).map_err(|error| at(&js, error))?;
    }
    Ok(())
}

/// The script with numbered functions, and the number that each of them has got. A lent function begins a line:
/// `__wbg_name: function(...`.
fn shortened(script: &str) -> (String, BTreeMap<String, String>) {
    let mut names = BTreeMap::new();
    let mut text = String::with_capacity(script.len());
    for line in script.lines() {
        match line.split_once(": function(") {
            Some((name, rest)) if name.trim_start().starts_with("__wb") => {
                let short = format!("i{}", names.len());
                text.extend([&short, ": function(", rest]);
                names.insert(name.trim_start().to_owned(), short);
            }
            _ => text.push_str(line),
        }
        text.push('\n');
    }
    (text, names)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lent_functions_are_numbered_and_nothing_else_is_touched() {
        let script = "const import0 = {\n  __wbg_new_00ff: function() {\n__wbindgen_cast_01: function(arg0) {\nname: function(x) {\n};\n";
        let (short, names) = shortened(script);
        assert_eq!(short, "const import0 = {\ni0: function() {\ni1: function(arg0) {\nname: function(x) {\n};\n");
        let named: Vec<(&str, &str)> = names.iter().map(|(name, short)| (name.as_str(), short.as_str())).collect();
        assert_eq!(named, [("__wbg_new_00ff", "i0"), ("__wbindgen_cast_01", "i1")]);
    }
}
