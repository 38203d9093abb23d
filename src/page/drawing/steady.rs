//! While a part is held, nothing above the drawing changes its height: the drawing would move away under the finger.

use gloo::utils::{document, window};
use wasm_bindgen::JsCast;
use web_sys::{Element, HtmlElement};

/// What stands above the drawing where there is one column.
const ABOVE: &str = ".desk-verdicts";

/// Keeps its height from [`hold`](Steady::hold) to [`let_go`](Steady::let_go).
#[derive(Default)]
pub struct Steady {
    kept: Option<HtmlElement>,
}

impl Steady {
    /// Keeps the height that it has now.
    pub fn hold() -> Self {
        let kept =
            document().query_selector(ABOVE).ok().flatten().and_then(|found| found.dyn_into::<HtmlElement>().ok());
        if let Some(above) = &kept {
            let height = format!("{}px", above.get_bounding_client_rect().height());
            // A style that the browser does not take leaves the height free, which is a nuisance but no error.
            let _ = above.style().set_property("height", &height);
            let _ = above.style().set_property("overflow", "hidden");
        }
        Self { kept }
    }

    /// Lets the height go, and the page scroll along, so that the drawing stays where it is in the window.
    pub fn let_go(self, drawing: Option<&Element>) {
        let Some(above) = self.kept else { return };
        let top = || drawing.map_or(0.0, |drawing| drawing.get_bounding_client_rect().top());
        let before = top();
        for name in ["height", "overflow"] {
            let _ = above.style().remove_property(name);
        }
        let by = top() - before;
        if by != 0.0 {
            window().scroll_by_with_x_and_y(0.0, by);
        }
    }
}
