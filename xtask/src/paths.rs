//! Where the page was built does not show in it: panics name files, and a published page must not name the folders, the
//! user or the registry mirror of whoever built it.

use std::env;
use std::fs;
use std::path::PathBuf;

use crate::page::Files;
use crate::root;

/// Between the flags in `CARGO_ENCODED_RUSTFLAGS`, so that folders may have spaces in their names.
const SEPARATOR: &str = "\u{1f}";

/// The value of `CARGO_ENCODED_RUSTFLAGS` for the page: the flags that are set already, those of this build, and for each
/// folder with sources the name that stands in for it.
pub fn flags(own: impl IntoIterator<Item = String>) -> String {
    let set = env::var("CARGO_ENCODED_RUSTFLAGS").unwrap_or_else(|_| {
        let plain = env::var("RUSTFLAGS").unwrap_or_default();
        plain.split_whitespace().collect::<Vec<_>>().join(SEPARATOR)
    });
    let registries = cargo_home().and_then(|home| fs::read_dir(home.join("registry/src")).ok());
    let crates = registries.into_iter().flatten().filter_map(|entry| Some((entry.ok()?.path(), "crates")));
    let renamed =
        crates.chain([(root(), ".")]).map(|(folder, name)| format!("--remap-path-prefix={}={name}", folder.display()));
    Some(set).filter(|set| !set.is_empty()).into_iter().chain(own).chain(renamed).collect::<Vec<_>>().join(SEPARATOR)
}

/// Refuses a built page that names a folder of this machine.
///
/// # Errors
/// A sentence with the file and the folder.
pub fn check(page: &Files) -> Result<(), String> {
    // A home of one letter, such as the root folder of a container, would be found everywhere.
    let folders = [Some(root()), cargo_home(), env::home_dir()].into_iter().flatten();
    let folders: Vec<String> =
        folders.map(|folder| folder.display().to_string()).filter(|folder| folder.len() > 1).collect();
    for (name, bytes) in page {
        if let Some(folder) = named(bytes, &folders) {
            return Err(format!("{name} names the folder {folder}"));
        }
    }
    Ok(())
}

/// The first of the folders below which something is named in a file.
fn named<'a>(bytes: &[u8], folders: &'a [String]) -> Option<&'a str> {
    let below = |folder: &str| format!("{folder}/").into_bytes();
    let found = folders.iter().find(|folder| {
        let below = below(folder);
        bytes.windows(below.len()).any(|window| window == below)
    });
    found.map(String::as_str)
}

/// Where Cargo keeps what it fetched and installed.
pub fn cargo_home() -> Option<PathBuf> {
    env::var_os("CARGO_HOME").map(PathBuf::from).or_else(|| Some(env::home_dir()?.join(".cargo")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_named_folder_is_found() {
        let folders = ["/home/someone".to_owned(), "/srv/build".to_owned()];
        assert_eq!(named(b"\0\x01/srv/build/src/main.rs\xff", &folders), Some("/srv/build"));
        assert_eq!(named(b"/home/someone-else/src, ./src/main.rs", &folders), None);
        assert_eq!(named(b"", &folders), None);
    }

    #[test]
    fn the_project_gets_a_name_that_says_nothing() {
        let flag = format!("--remap-path-prefix={}=.", root().display());
        assert!(flags([]).split(SEPARATOR).any(|set| set == flag));
    }
}
