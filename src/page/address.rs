//! What the part of the page's address behind `#` says: which view, and perhaps a plan.

use crate::plan::plan_link;

/// What the page can open as.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum PageView {
    /// The planner.
    #[default]
    Desk,
    /// The times that this device takes, see [`crate::measure`].
    Measure,
}

/// The word of the sheet to print, a program of its own, in an address.
const SHEET: &str = "sheet";

impl PageView {
    /// All views.
    pub const ALL: [PageView; 2] = [PageView::Desk, PageView::Measure];

    /// Its word in an address.
    pub fn word(self) -> &'static str {
        match self {
            Self::Desk => "desk",
            Self::Measure => "measure",
        }
    }

    /// The view that an address names; the desk where it names none that is known.
    pub fn of(fragment: &str) -> Self {
        let word = plan_link::carried(fragment, "view");
        Self::ALL.into_iter().find(|view| Some(view.word()) == word).unwrap_or_default()
    }
}

/// The address that opens the page at `base` with a plan on the desk; `carried` is [`plan_link::write`]'s value.
pub fn with_plan(base: &str, carried: &str) -> String {
    format!("{base}#view={}&plan={carried}", PageView::Desk.word())
}

/// Characters of an address that the sheet shows as a QR code: with more its modules would be too many, or too small, for a
/// phone to tell apart on paper (common practice, no source).
pub const CODE_CHARACTERS: usize = 700;

/// The page's address without what stands behind `#`.
#[cfg(target_arch = "wasm32")]
pub fn base() -> String {
    let address = web_sys::window().and_then(|window| window.location().href().ok()).unwrap_or_default();
    address.split('#').next().unwrap_or_default().to_owned()
}

/// The part of an address that opens the sheet to print, with a plan or with the one last on the desk.
pub fn of_sheet(carried: Option<&str>) -> String {
    let plan = carried.map_or_else(String::new, |value| format!("&plan={value}"));
    format!("#view={SHEET}{plan}")
}

/// Whether a plan in this address is for the desk: it is unless the address names the sheet, which is another program.
pub fn is_for_desk(fragment: &str) -> bool {
    plan_link::carried(fragment, "view") != Some(SHEET)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::demo;

    #[test]
    fn an_address_names_a_view_and_carries_a_plan() {
        for view in PageView::ALL {
            assert_eq!(PageView::of(&format!("#view={}", view.word())), view);
        }
        for none in ["", "#", "#verdicts-heading", "#view=lunch"] {
            assert_eq!(PageView::of(none), PageView::Desk);
        }
        let address = with_plan("https://races.example/spring/", &plan_link::write(&demo()).unwrap());
        assert_eq!(PageView::of(&address), PageView::Desk);
        assert_eq!(plan_link::carried(&address, "plan").map(plan_link::read), Some(Ok(demo())));
    }

    #[test]
    fn the_sheet_has_an_address_that_the_desk_leaves_alone() {
        assert_eq!(of_sheet(None), "#view=sheet");
        let address = of_sheet(Some("1abc"));
        assert_eq!(plan_link::carried(&address, "plan"), Some("1abc"));
        assert!(!is_for_desk(&address) && is_for_desk("#view=desk&plan=1abc") && is_for_desk("#plan=1abc"));
    }
}
