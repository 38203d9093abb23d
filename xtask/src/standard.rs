//! The standard library in the published page: compiled with it, for size, and a panic is a trap instead of a text.
//!
//! The one that comes with a toolchain is compiled for speed and carries a sentence, a file and a line for every place
//! that could panic: more than 20 kB of the page, gzip. No panic is left in the page that a person could read anyway: a worker
//! that breaks off is started again, whatever it broke off with. While the page is worked on (`serve`) panics keep their texts.
//!
//! Rust calls both options unstable, hence `RUSTC_BOOTSTRAP`; a compiler that does not know them builds the page without.

use std::process::{Command, Stdio};

use crate::{command, tools};

/// Options of the compiler, see the list of unstable ones in rustc's own book. What only `{:?}` prints is not in the page: nothing
/// that a person reads may be written by it.
const FLAGS: [&str; 5] =
    ["-Zunstable-options", "-Cpanic=immediate-abort", "-Zlocation-detail=none", "-Zfmt-debug=none", "-Zinline-mir=no"];

/// Whether this toolchain can compile its standard library for the page; fetches the library's source if need be.
pub fn can_be_compiled() -> bool {
    let known = command("rustc")
        .args(FLAGS)
        .args(["--target", tools::WASM, "--print", "cfg"])
        .env("RUSTC_BOOTSTRAP", "1")
        .stderr(Stdio::null())
        .stdout(Stdio::null())
        .status();
    if !known.is_ok_and(|status| status.success()) {
        return false;
    }
    if !has_source() {
        println!("Adding the source of Rust's standard library to the toolchain: a download of about 3 MB.");
        let _ = tools::must(command("rustup").args(["component", "add", "rust-src"]));
    }
    has_source()
}

/// Makes a build of the page compile its standard library.
pub fn compile_with(build: &mut Command) {
    let flags = FLAGS.map(str::to_owned).into_iter();
    build
        .env("CARGO_ENCODED_RUSTFLAGS", crate::paths::flags(flags))
        .env("RUSTC_BOOTSTRAP", "1")
        .env("CARGO_UNSTABLE_BUILD_STD", "std,panic_abort")
        .env("CARGO_UNSTABLE_BUILD_STD_FEATURES", "optimize_for_size");
}

fn has_source() -> bool {
    let asked = command("rustc").args(["--print", "sysroot"]).output();
    asked.is_ok_and(|answer| {
        let sysroot = String::from_utf8_lossy(&answer.stdout).trim().to_owned();
        std::path::Path::new(&sysroot).join("lib/rustlib/src/rust/library/std/Cargo.toml").is_file()
    })
}
