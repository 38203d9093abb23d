//! The project's chores: `cargo xtask serve | test | lint | bench | dist | pictures`.

mod imports;
mod index;
mod layers;
mod offline;
mod page;
mod paths;
mod server;
mod size;
mod slim;
mod standard;
mod steps;
mod tools;
mod views;

use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode};

use steps::Steps;
use tools::{Tools, cargo};

const USAGE: &str = "cargo xtask serve   build the page and serve it on a loopback address
cargo xtask test    everything that has to hold before a change goes in
cargo xtask lint    format, layers and clippy, for native and wasm
cargo xtask bench   the promises that are measured, native and wasm
cargo xtask dist    build the page as a folder for any web host, and weigh it
cargo xtask pictures   build the page and take the pictures of docs/pictures anew";

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let outcome = match words.iter().map(String::as_str).collect::<Vec<_>>()[..] {
        ["serve"] => serve(),
        ["test"] => return test(),
        ["lint"] => return lint(),
        ["bench"] => bench(),
        ["dist"] => dist(),
        ["pictures"] => pictures(),
        ["help" | "--help" | "-h"] => {
            println!("{USAGE}");
            Ok(())
        }
        _ => {
            eprintln!("{USAGE}");
            return ExitCode::from(2);
        }
    };
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(sentence) => {
            eprintln!("xtask: {sentence}");
            ExitCode::FAILURE
        }
    }
}

/// The repository's root.
fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("xtask lies in the repository").to_owned()
}

/// The folder of the page for a web host.
fn dist_folder() -> PathBuf {
    root().join("dist")
}

fn serve() -> Result<(), String> {
    let tools = Tools::for_work()?;
    println!("Building the page: two minutes the first time, seconds when little has changed.");
    server::serve(&tools)
}

fn lint() -> ExitCode {
    let mut steps = Steps::default();
    lint_steps(&mut steps, &Tools::for_work());
    steps.close()
}

fn lint_steps(steps: &mut Steps, tools: &Result<Tools, String>) {
    steps.run("format", cargo("fmt").args(["--all", "--check"]));
    steps.check("layers", || layers::check(&root().join("src")));
    let deny = ["--", "-D", "warnings"];
    // What drives a browser is left out of the rest by Cargo.toml, so it is named.
    steps.run(
        "clippy, native",
        cargo("clippy")
            .args(["--locked", "--workspace", "--all-targets", "--test", "browser", "--test", "pictures"])
            .args(deny),
    );
    match tools {
        Ok(tools) if tools.wasm_by_rustup() => {
            let target = [
                "--target",
                tools::WASM,
                "--package",
                "lapmargin-world",
                "--package",
                "lapmargin",
                "--package",
                "lapmargin-page",
            ];
            let others = views::OTHERS.map(|view| format!("--bin=lapmargin-{view}"));
            let mut clippy = cargo("clippy");
            clippy.arg("--locked").args(target).args(["--lib", "--bin=lapmargin-page"]).args(others);
            steps.run("clippy, wasm", clippy.args(deny));
        }
        Ok(_) => steps.skip("clippy, wasm", "Debian's compiler has no clippy for it"),
        Err(why) => steps.skip("clippy, wasm", why),
    }
}

fn test() -> ExitCode {
    let mut steps = Steps::default();
    let tools = steps.obtain("tools", Tools::for_a_host);
    lint_steps(&mut steps, &tools);
    steps.tests("tests, native", cargo("test").args(["--locked", "--workspace", "--tests", "--no-fail-fast"]));
    steps.tests(
        "tests in the documentation",
        cargo("test").args(["--locked", "--workspace", "--doc", "--no-fail-fast"]),
    );
    let built = match &tools {
        Ok(tools) => steps.obtain("page", || page::build(tools)).ok(),
        Err(why) => {
            steps.skip("page", why);
            None
        }
    };
    if let Some(page) = built {
        steps.check("folder of the page", || page::write(&page, &dist_folder()));
        let lean = tools.as_ref().is_ok_and(Tools::is_lean);
        steps.check("size of the page", || size::weigh(&page, lean));
        steps.check("no folder of this machine in the page", || paths::check(&page));
        // Where this fails, the tests themselves say what is missing and count as skipped.
        for ensure in [tools::ensure_browser, tools::ensure_second_browser, tools::ensure_rules] {
            if let Err(why) = ensure() {
                println!("{why}");
            }
        }
        steps.unsteady_tests("tests in a browser", &mut browser_tests(&[]), browser_tests);
    } else {
        steps.skip("tests in a browser", "the page was not built");
    }
    steps.close()
}

/// The tests in a browser: those of these names, or all.
fn browser_tests(names: &[String]) -> Command {
    let mut tests = cargo("test");
    // A failure says where it is; the way there leads through the harness alone.
    tests.env("RUST_BACKTRACE", "0").args(["--locked", "--test", "browser", "--", "--show-output"]);
    if !names.is_empty() {
        tests.arg("--exact").args(names);
    }
    tests
}

fn bench() -> Result<(), String> {
    // What is measured is what is published.
    let page = page::build(&Tools::for_a_host()?)?;
    page::write(&page, &dist_folder())?;
    tools::ensure_browser()?;
    tools::must(cargo("bench").arg("--locked"))?;
    println!();
    // Figures, not a gate: `test` and `dist` are the ones that refuse a heavy page.
    size::print(&page);
    Ok(())
}

fn dist() -> Result<(), String> {
    let tools = Tools::for_a_host()?;
    let page = page::build(&tools)?;
    page::write(&page, &dist_folder())?;
    size::weigh(&page, tools.is_lean())?;
    paths::check(&page)?;
    println!("\nThe folder dist/ can be put on any web host, under any path.");
    Ok(())
}

fn pictures() -> Result<(), String> {
    let page = page::build(&Tools::for_a_host()?)?;
    page::write(&page, &dist_folder())?;
    tools::ensure_browser()?;
    tools::must(cargo("test").args(["--quiet", "--locked", "--test", "pictures"]))
}

/// `program`, run from the repository's root and never asking anything.
fn command(program: impl AsRef<std::ffi::OsStr>) -> Command {
    let mut command = Command::new(program);
    command.current_dir(root()).stdin(std::process::Stdio::null());
    command
}
