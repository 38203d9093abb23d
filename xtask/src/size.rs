//! How large the built page is on the wire.

use std::fs;
use std::io::Write;
use std::path::Path;

use flate2::Compression;
use flate2::write::GzEncoder;

use crate::views;

/// The most that a visit to one view may load when a web host compresses it, in kB of 1000 bytes: a phone in a field opens it.
const LIMIT_KB: f64 = 450.0;

/// Prints the size of every file in the folder, raw and gzip, and what a visit to each view loads; refuses a view that is
/// too heavy, if the page is one for a web host, `lean` ([`crate::standard`]).
///
/// # Errors
/// A sentence when the folder cannot be read or a view is above the limit.
pub fn weigh(dist: &Path, lean: bool) -> Result<(), String> {
    let packed = print(dist)?;
    if lean && packed > LIMIT_KB {
        return Err(format!("a view of the page weighs {packed:.1} kB; at most {LIMIT_KB} kB are allowed"));
    }
    Ok(())
}

/// Prints the same and whether every view stays within the bound; returns the heaviest, gzip, in kB.
///
/// # Errors
/// A sentence when the folder cannot be read.
pub fn print(dist: &Path) -> Result<f64, String> {
    let mut files = Vec::new();
    collect(dist, &mut files).map_err(|error| format!("{}: {error}", dist.display()))?;
    files.sort_by(|(_, _, one), (_, _, other)| other.cmp(one));
    let kb = |bytes: usize| bytes as f64 / 1000.0;
    println!("{:>10} {:>10}", "raw kB", "gzip kB");
    for (name, raw, packed) in &files {
        println!("{:10.1} {:10.1}  {name}", kb(*raw), kb(*packed));
    }
    let mut heaviest = 0.0_f64;
    for view in std::iter::once("desk").chain(views::OTHERS) {
        let loaded = files.iter().filter(|(name, ..)| views::of_file(name).is_none_or(|of| of == view));
        let (raw, packed) = loaded.fold((0, 0), |sum, file| (sum.0 + file.1, sum.1 + file.2));
        let verdict = if kb(packed) > LIMIT_KB { "does not hold" } else { "holds" };
        println!("{:10.1} {:10.1}  loaded by #view={view}; bound {LIMIT_KB} kB gzip: {verdict}", kb(raw), kb(packed));
        heaviest = heaviest.max(kb(packed));
    }
    Ok(heaviest)
}

/// Name, raw and packed size of every file below the folder.
fn collect(folder: &Path, files: &mut Vec<(String, usize, usize)>) -> std::io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        if entry.file_type()?.is_dir() {
            collect(&entry.path(), files)?;
        } else {
            let bytes = fs::read(entry.path())?;
            let mut packer = GzEncoder::new(Vec::new(), Compression::best());
            packer.write_all(&bytes)?;
            files.push((entry.file_name().to_string_lossy().into_owned(), bytes.len(), packer.finish()?.len()));
        }
    }
    Ok(())
}
