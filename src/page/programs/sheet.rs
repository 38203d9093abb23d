//! The sheet's browser entry: a program of its own, loaded when the page's address asks for the sheet.

#[cfg(target_arch = "wasm32")]
fn main() {
    console_error_panic_hook::set_once();
    lapmargin_page::sheet::start();
}

#[cfg(not(target_arch = "wasm32"))]
fn main() {
    eprintln!("lapmargin-sheet runs in a browser: `cargo xtask serve` builds and serves it.");
}
