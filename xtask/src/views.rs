//! The page's programs beside the planner's: a visit loads one of them, namely the one that its address asks for.
//!
//! Trunk puts a hash into the names of the planner's files alone. Here the others get one too, so that no browser mixes
//! files of two versions, and the page is told what they are called now.

use std::fs;
use std::path::Path;

/// The views with a program of their own, as `src/page/start.js` lists them.
pub const OTHERS: [&str; 2] = ["bench", "sheet"];

/// The page's start as Trunk writes it.
const START: &str = "start.js?";

/// Renames the programs' files in the built folder and writes their names into its page.
///
/// # Errors
/// A sentence when a file is missing or cannot be written, or the page starts in another way.
pub fn name(dist: &Path) -> Result<(), String> {
    let at = |path: &Path, error: std::io::Error| format!("{}: {error}", path.display());
    let page = dist.join("index.html");
    let mut html = fs::read_to_string(&page).map_err(|error| at(&page, error))?;
    for view in OTHERS {
        let files = ["_bg.wasm", ".js"].map(|end| (dist.join(format!("lapmargin-{view}{end}")), end));
        let mut all = Vec::new();
        for (file, _) in &files {
            all.extend(fs::read(file).map_err(|error| at(file, error))?);
        }
        let name = format!("lapmargin-{view}-{}", &super::offline::hash(&all)[..16]);
        for (file, end) in files {
            fs::rename(&file, dist.join(format!("{name}{end}"))).map_err(|error| at(&file, error))?;
        }
        html = told(&html, view, &name).ok_or_else(|| format!("{}: there is no {START}", page.display()))?;
    }
    fs::write(&page, html).map_err(|error| at(&page, error))
}

/// The page with the name of a view's files in the address of its start.
fn told(html: &str, view: &str, name: &str) -> Option<String> {
    let (before, after) = html.split_once(START)?;
    Some(format!("{before}{START}{view}={name}&amp;{after}"))
}

/// Whether a file of the built folder is for one view only, and which; `None` for what every visit loads. The planner's
/// is `"desk"`.
pub fn of_file(name: &str) -> Option<&'static str> {
    let program = name.strip_prefix("lapmargin-")?;
    let is_program = program.ends_with(".js") || program.ends_with("_bg.wasm");
    is_program.then(|| OTHERS.into_iter().find(|view| program.starts_with(view)).unwrap_or("desk"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_page_is_told_what_its_programs_are_called() {
        let html = "<script src=\"./start.js?page=lapmargin-page-1.js&amp;wasm=lapmargin-page-1_bg.wasm\"></script>";
        let expected = "<script src=\"./start.js?bench=lapmargin-bench-2&amp;page=lapmargin-page-1.js&amp;wasm=lapmargin-page-1_bg.wasm\"></script>";
        assert_eq!(told(html, "bench", "lapmargin-bench-2").as_deref(), Some(expected));
        assert_eq!(told("<p>", "bench", "lapmargin-bench-2"), None);
    }

    #[test]
    fn every_file_is_for_one_view_or_for_all() {
        assert_eq!(of_file("lapmargin-page-12.js"), Some("desk"));
        assert_eq!(of_file("lapmargin-bench-12_bg.wasm"), Some("bench"));
        assert_eq!(of_file("lapmargin.webmanifest"), None);
        assert_eq!(of_file("start.js"), None);
    }

    #[test]
    fn the_start_knows_the_same_views() {
        let source = fs::read_to_string(crate::root().join("src/page/start.js")).unwrap();
        let list = OTHERS.map(|view| format!("\"{view}\"")).join(", ");
        assert!(source.contains(&format!("const PROGRAMS = [{list}];")));
    }
}
