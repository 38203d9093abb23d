//! Scripts of the built page without what only people read. Trunk's own tool for that does not get through them.

use std::fs;
use std::path::Path;

/// Takes comments that fill a line, empty lines and indentation out of every script of the folder.
///
/// # Errors
/// A sentence when a file cannot be read or written.
pub fn slim(dist: &Path) -> Result<(), String> {
    let at = |path: &Path, error: std::io::Error| format!("{}: {error}", path.display());
    for entry in fs::read_dir(dist).map_err(|error| at(dist, error))? {
        let path = entry.map_err(|error| at(dist, error))?.path();
        if path.extension().is_some_and(|extension| extension == "js") {
            let script = fs::read_to_string(&path).map_err(|error| at(&path, error))?;
            fs::write(&path, slimmed(&script)).map_err(|error| at(&path, error))?;
        }
    }
    Ok(())
}

/// One script. A text that runs over several lines would lose its indentation; there is none in ours nor in what
/// wasm-bindgen writes, and the browser tests run what comes out of this.
fn slimmed(script: &str) -> String {
    let told = |line: &&str| !line.is_empty() && !line.starts_with("//");
    script.lines().map(str::trim).filter(told).flat_map(|line| [line, "\n"]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_people_read_stays_at_home_and_nothing_else() {
        let script = "// one\n\n  // two\n  const a = \"//  b\"; // three\n    a;\n";
        assert_eq!(slimmed(script), "const a = \"//  b\"; // three\na;\n");
    }
}
