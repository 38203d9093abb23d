//! The browser entry. The same program runs twice: in the window it shows the page, in the worker it computes.

#[cfg(target_arch = "wasm32")]
fn main() {
    console_error_panic_hook::set_once();
    if web_sys::window().is_some() {
        yew::Renderer::<lapmargin::page::App>::new().render();
    } else {
        lapmargin::page::worker::start();
    }
}

#[cfg(not(target_arch = "wasm32"))]
fn main() {
    eprintln!("lapmargin-page runs in a browser: `cargo xtask serve` builds and serves it.");
}
