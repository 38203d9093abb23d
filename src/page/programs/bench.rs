//! The bench's browser entry: a program of its own, loaded when the page's address asks for the bench.

#[cfg(target_arch = "wasm32")]
fn main() {
    console_error_panic_hook::set_once();
    lapmargin_page::bench::start();
}

#[cfg(not(target_arch = "wasm32"))]
fn main() {
    eprintln!("lapmargin-bench runs in a browser: `cargo xtask serve` builds and serves it.");
}
