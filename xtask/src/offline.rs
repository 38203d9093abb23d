//! Tells the built page which files it consists of, so that a browser can keep exactly these for use without a network.
//!
//! A browser takes a version only when it has every file of the list, and changes to it only when no other tab uses the
//! one before. `serve` leaves the list empty: then nothing is kept, and the worker takes itself and what an earlier
//! build left on that address out of the browser, at the second reload at the latest.

use std::fmt::Write;
use std::fs;
use std::path::Path;

use sha2::{Digest, Sha256};

/// The file that keeps the others; it is not among them.
const KEEPER: &str = "offline.js";
/// What stands in it while the list is empty, and the word that the version's name takes the place of.
const EMPTY: &str = "const FILES = {};";
const VERSION: &str = "VERSION";
/// Letters of a digest that travel: 128 bits tell a file that is not of this version, and come with every page.
const LETTERS: usize = 32;

/// Writes the name and the beginning of the SHA-256 of every file of the folder into its `offline.js`.
///
/// # Errors
/// A sentence when the folder cannot be read or its `offline.js` has no empty list.
pub fn list(dist: &Path) -> Result<(), String> {
    let at = |path: &Path, error: std::io::Error| format!("{}: {error}", path.display());
    let mut files = Vec::new();
    for entry in fs::read_dir(dist).map_err(|error| at(dist, error))? {
        let path = entry.map_err(|error| at(dist, error))?.path();
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        if path.is_dir() {
            return Err(format!("{}: folders inside the page are not kept for use without a network", path.display()));
        }
        if name != KEEPER {
            let hash = hash(&fs::read(&path).map_err(|error| at(&path, error))?);
            files.push((name, hash[..LETTERS].to_owned()));
        }
    }
    files.sort();
    let keeper = dist.join(KEEPER);
    let text = fs::read_to_string(&keeper).map_err(|error| at(&keeper, error))?;
    let text = filled(&text, &files).ok_or_else(|| format!("{} has no empty list to fill", keeper.display()))?;
    fs::write(&keeper, text).map_err(|error| at(&keeper, error))?;
    println!("{} files are listed in {KEEPER}", files.len());
    Ok(())
}

/// The text with the list in it, or `None` where it has no empty one.
fn filled(text: &str, files: &[(String, String)]) -> Option<String> {
    let (before, after) = text.split_once(EMPTY)?;
    let items: Vec<String> = files.iter().map(|(name, hash)| format!("  \"{name}\": \"{hash}\",\n")).collect();
    let list = items.concat();
    let version = &hash(list.as_bytes())[..16];
    Some(format!("{before}const FILES = {{\n{list}}};{}", after.replacen(VERSION, version, 1)))
}

/// The SHA-256 of a file, in hexadecimal letters.
pub fn hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_is_filled_in_once() {
        // FIPS 180-4's example of SHA-256: the digest of "abc".
        let abc = hash(b"abc");
        assert_eq!(abc, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
        let text = format!("// first\n{EMPTY}\nconst STORE = \"{VERSION}\";\n");
        let one = filled(&text, &[("index.html".into(), abc.clone())]).unwrap();
        assert!(one.contains(&format!("\"index.html\": \"{abc}\"")), "{one}");
        assert_eq!(filled(&one, &[]), None);
        let other = filled(&text, &[("index.html".into(), hash(b"abd"))]).unwrap();
        let version = |text: &str| text.lines().last().map(str::to_owned);
        assert_ne!(version(&one), version(&other), "every version has a name of its own");
    }

    #[test]
    fn the_page_has_the_list_that_is_filled() {
        let source = fs::read_to_string(crate::root().join("src/page/offline.js")).unwrap();
        assert!(filled(&source, &[]).is_some_and(|text| !text.contains(VERSION)));
    }
}
