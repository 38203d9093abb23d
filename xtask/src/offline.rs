//! Tells the built page which files it consists of, so that a browser can keep exactly these for use without a network.
//!
//! A browser takes a version only when it has every file of the list, and changes to it only when no other tab uses the
//! one before. `serve` leaves the list empty: then nothing is kept, and the worker takes itself and what an earlier
//! build left on that address out of the browser, at the second reload at the latest.

use std::fmt::Write;

use sha2::{Digest, Sha256};

use crate::page::Files;

/// The file that keeps the others; it is not among them.
const KEEPER: &str = "offline.js";
/// What stands in it while the list is empty, and the word that the version's name takes the place of.
const EMPTY: &str = "const FILES = {};";
const VERSION: &str = "VERSION";
/// Letters of a digest that travel: 128 bits tell a file that is not of this version, and come with every page.
const LETTERS: usize = 32;

/// Writes the name and the beginning of the SHA-256 of every file of the page into its `offline.js`.
///
/// # Errors
/// A sentence when its `offline.js` has no empty list.
pub fn list(page: &mut Files) -> Result<(), String> {
    let others = page.iter().filter(|(name, _)| *name != KEEPER);
    let files: Vec<_> = others.map(|(name, bytes)| (name.clone(), hash(bytes)[..LETTERS].to_owned())).collect();
    let text = page.get(KEEPER).map(|bytes| String::from_utf8_lossy(bytes));
    let text =
        text.and_then(|text| filled(&text, &files)).ok_or_else(|| format!("{KEEPER} has no empty list to fill"))?;
    page.insert(KEEPER.to_owned(), text.into_bytes());
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
        let source = crate::page::read("src/page/offline.js").unwrap();
        let mut page = Files::from([(KEEPER.into(), source.into_bytes()), ("a.js".into(), b"abc".to_vec())]);
        list(&mut page).unwrap();
        let text = String::from_utf8(page[KEEPER].clone()).unwrap();
        assert!(text.contains("  \"a.js\": \"ba7816bf8f01cfea414140de5dae2223\",\n};"), "{text}");
        assert!(!text.contains(VERSION));
        list(&mut page).unwrap_err();
    }
}
