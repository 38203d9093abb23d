//! How large the built page is on the wire.

use std::fs;
use std::io::Write;
use std::path::Path;

use flate2::Compression;
use flate2::write::GzEncoder;

/// The most the page may weigh when a web host compresses it, in kB of 1000 bytes: a phone in a field opens it.
const LIMIT_KB: f64 = 450.0;

/// Prints the size of every file in the folder, raw and gzip, and their totals; refuses a page that is too heavy.
///
/// # Errors
/// A sentence when the folder cannot be read or the total is above the limit.
pub fn weigh(dist: &Path) -> Result<(), String> {
    let packed = print(dist)?;
    if packed > LIMIT_KB {
        return Err(format!("the page weighs {packed:.1} kB; at most {LIMIT_KB} kB are allowed"));
    }
    Ok(())
}

/// Prints the same and whether the total stays within its bound; returns the total, gzip, in kB.
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
    let total = |pick: fn(&(String, usize, usize)) -> usize| kb(files.iter().map(pick).sum());
    let (raw, packed) = (total(|file| file.1), total(|file| file.2));
    let verdict = if packed > LIMIT_KB { "does not hold" } else { "holds" };
    println!("{raw:10.1} {packed:10.1}  total; bound {LIMIT_KB} kB gzip: {verdict}");
    Ok(packed)
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
