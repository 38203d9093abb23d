//! The page's programs: a visit loads the planner's, or another one if its address asks for it, and never two.

/// The views with a program of their own besides the planner, as `src/page/start.js` lists them.
pub const OTHERS: [&str; 2] = ["bench", "sheet"];

/// What the planner's program is called, in the address of the start as in its package.
const PLANNER: &str = "page";

/// The programs by the word that the start's address has for each; the planner's is the first.
pub fn all() -> impl Iterator<Item = &'static str> {
    [PLANNER].into_iter().chain(OTHERS)
}

/// What Cargo calls a program.
pub fn program(view: &str) -> String {
    format!("lapmargin-{view}")
}

/// What a visit loads of the built page if it is for this view.
pub fn loads(view: &str, file: &str) -> bool {
    let is_program = file.ends_with(".js") || file.ends_with("_bg.wasm");
    let of = all().find(|view| is_program && file.starts_with(&format!("{}-", program(view))));
    of.is_none_or(|of| of == view)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_file_is_for_one_view_or_for_all() {
        let loaded = |file: &str| all().filter(|view| loads(view, file)).collect::<Vec<_>>();
        assert_eq!(loaded("lapmargin-page-12.js"), ["page"]);
        assert_eq!(loaded("lapmargin-bench-12_bg.wasm"), ["bench"]);
        assert_eq!(loaded("lapmargin.webmanifest").len(), 3);
        assert_eq!(loaded("start.js").len(), 3);
    }

    #[test]
    fn the_start_knows_the_same_views() {
        let source = crate::page::read("src/page/start.js").unwrap();
        let list = OTHERS.map(|view| format!("\"{view}\"")).join(", ");
        assert!(source.contains(&format!("const PROGRAMS = [{list}];")));
        assert!(source.contains(&format!("names.get(asked ?? \"{PLANNER}\")")));
    }
}
