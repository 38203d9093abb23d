//! How large the built page is on the wire.

use std::io::Write;

use flate2::Compression;
use flate2::write::GzEncoder;

use crate::page::Files;
use crate::views;

/// The most that a visit may load when a web host compresses it, in kB of 1000 bytes: a phone in a field opens it. The
/// planner comes first, and what else a visit may ask for is lighter.
fn limit_kb(view: &str) -> f64 {
    if views::OTHERS.contains(&view) { 450.0 } else { 600.0 }
}

/// What is refused: the planner is over its promise since it holds the desk's pages, pilots and safety (`docs/promises.md`), and may
/// get no heavier until it is light again.
fn refused_kb(view: &str) -> f64 {
    if views::OTHERS.contains(&view) { limit_kb(view) } else { 612.0 }
}

/// Prints the size of every file of the page, raw and gzip, and what a visit to each view loads; refuses a view that is too
/// heavy, if the page has a standard library compiled for it, `lean` ([`crate::standard`]).
///
/// # Errors
/// A sentence when a view is above its bound.
pub fn weigh(page: &Files, lean: bool) -> Result<(), String> {
    match print(page) {
        Some(heavy) if lean => Err(format!("the page weighs more than it may: {heavy}")),
        _ => Ok(()),
    }
}

/// Prints the same and whether every view stays within its bound; returns those that are refused.
pub fn print(page: &Files) -> Option<String> {
    let mut files: Vec<_> = page.iter().map(|(name, bytes)| (name, bytes.len(), packed(bytes))).collect();
    files.sort_by_key(|(_, _, packed)| std::cmp::Reverse(*packed));
    let kb = |bytes: usize| bytes as f64 / 1000.0;
    println!("{:>10} {:>10}", "raw kB", "gzip kB");
    for (name, raw, packed) in &files {
        println!("{:10.1} {:10.1}  {name}", kb(*raw), kb(*packed));
    }
    let mut heavy = Vec::new();
    for view in views::all() {
        let loaded = files.iter().filter(|(name, ..)| views::loads(view, name));
        let (raw, packed) = loaded.fold((0, 0), |sum, file| (sum.0 + file.1, sum.1 + file.2));
        let limit = limit_kb(view);
        let holds = kb(packed) <= limit;
        let verdict = if holds { "holds" } else { "does not hold" };
        println!("{:10.1} {:10.1}  loaded by {view}; bound {limit} kB gzip: {verdict}", kb(raw), kb(packed));
        if kb(packed) > refused_kb(view) {
            heavy.push(format!("{view} loads {:.1} kB of {limit}", kb(packed)));
        }
    }
    (!heavy.is_empty()).then(|| heavy.join(", "))
}

/// How many bytes a file has when it is packed as tightly as gzip can.
fn packed(bytes: &[u8]) -> usize {
    let mut packer = GzEncoder::new(Vec::new(), Compression::best());
    packer.write_all(bytes).and_then(|()| packer.finish()).expect("memory takes what is written").len()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_view_above_its_bound_is_refused_where_the_page_is_lean() {
        // Noise does not pack: 500 kB are too much for the bench and not for the planner.
        let mut state = 1_u32;
        let mut noise = || {
            state ^= state << 13;
            state ^= state >> 17;
            state ^= state << 5;
            state as u8
        };
        let noise: Vec<u8> = (0..500_000).map(|_| noise()).collect();
        weigh(&Files::from([("lapmargin-page-1_bg.wasm".into(), noise.clone())]), true).unwrap();
        let heavy = Files::from([("lapmargin-bench-1_bg.wasm".into(), noise)]);
        assert!(weigh(&heavy, true).unwrap_err().contains("bench"));
        weigh(&heavy, false).unwrap();
    }
}
