//! The browser entry. The same program runs twice: in the window it shows the page, in the worker it computes.

#[cfg(target_arch = "wasm32")]
use lapmargin_page::{App, address, kept, measure, worker};

#[cfg(target_arch = "wasm32")]
fn main() {
    console_error_panic_hook::set_once();
    let Some(window) = web_sys::window() else { return worker::start() };
    let fragment = window.location().hash().unwrap_or_default();
    match address::PageView::of(&fragment) {
        address::PageView::Desk => kept::open::<App>(()),
        address::PageView::Measure => kept::open::<measure::MeasureSheet>(()),
    }
}

#[cfg(not(target_arch = "wasm32"))]
fn main() {
    eprintln!("lapmargin-page runs in a browser: `cargo xtask serve` builds and serves it.");
}
