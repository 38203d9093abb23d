//! The project's chores: `cargo xtask serve | test | lint | bench | dist`.

mod layers;
mod likeness;
mod names;
mod offline;
mod paths;
mod program;
mod scripts;
mod sheets;
mod size;
mod standard;
mod steps;
mod tools;
mod views;

use std::net::{Ipv4Addr, TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode};
use std::time::Duration;

use steps::Steps;
use tools::{Tools, cargo};

const USAGE: &str = "cargo xtask serve   build the page and serve it on a loopback address
cargo xtask test    everything that has to hold before a change goes in
cargo xtask lint    format, layers and clippy, for native and wasm
cargo xtask bench   the promises that are measured, native and wasm
cargo xtask dist    build the page as a folder for any web host, and weigh it";

/// Where `serve` listens if nobody else does.
const PORT: u16 = 8080;

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let outcome = match words.iter().map(String::as_str).collect::<Vec<_>>()[..] {
        ["serve"] => serve(),
        ["test"] => return test(),
        ["lint"] => return lint(),
        ["bench"] => bench(),
        ["dist"] => dist(),
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

fn serve() -> Result<(), String> {
    let tools = Tools::gather()?;
    let port = free_port()?;
    println!("Building the page: about a minute the first time, seconds when little has changed.");
    let mut trunk = tools.trunk("serve");
    let mut trunk = trunk.arg("--port").arg(port.to_string()).spawn().map_err(|error| format!("trunk: {error}"))?;
    // Trunk opens the port once the first build is done.
    while TcpStream::connect((Ipv4Addr::LOCALHOST, port)).is_err() {
        if let Some(status) = trunk.try_wait().map_err(|error| format!("trunk: {error}"))? {
            return Err(format!("trunk gave up: {status}"));
        }
        std::thread::sleep(Duration::from_millis(100));
    }
    println!("\nLapmargin is at http://127.0.0.1:{port}/ and rebuilt whenever a file changes. Ctrl-C stops it.\n");
    let status = trunk.wait().map_err(|error| format!("trunk: {error}"))?;
    if status.success() { Ok(()) } else { Err(format!("trunk: {status}")) }
}

fn free_port() -> Result<u16, String> {
    let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, PORT))
        .or_else(|_| TcpListener::bind((Ipv4Addr::LOCALHOST, 0)))
        .map_err(|error| format!("no loopback port is free: {error}"))?;
    Ok(listener.local_addr().map_err(|error| error.to_string())?.port())
}

fn lint() -> ExitCode {
    let mut steps = Steps::default();
    lint_steps(&mut steps, &Tools::gather());
    steps.close()
}

fn lint_steps(steps: &mut Steps, tools: &Result<Tools, String>) {
    steps.run("format", cargo("fmt").args(["--all", "--check"]));
    steps.check("layers", || layers::check(&root().join("src")));
    let deny = ["--", "-D", "warnings"];
    // The browser tests are left out of the rest by Cargo.toml, so they are named.
    steps.run(
        "clippy, native",
        cargo("clippy").args(["--locked", "--workspace", "--all-targets", "--test", "browser"]).args(deny),
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
    let tools = steps.obtain("tools", Tools::gather);
    lint_steps(&mut steps, &tools);
    steps.tests("tests, native", cargo("test").args(["--locked", "--workspace", "--tests", "--no-fail-fast"]));
    steps.tests(
        "tests in the documentation",
        cargo("test").args(["--locked", "--workspace", "--doc", "--no-fail-fast"]),
    );
    let built = match &tools {
        Ok(tools) => steps.run("page", &mut tools.build()),
        Err(why) => {
            steps.skip("page", why);
            false
        }
    };
    if built {
        steps.check("list of the page's files", list_files);
        let lean = tools.as_ref().is_ok_and(Tools::is_lean);
        steps.check("size of the page", || size::weigh(&root().join("dist"), lean));
        steps.check("no folder of this machine in the page", || paths::check(&root().join("dist")));
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
    tools::must(&mut Tools::gather()?.build())?;
    // What is measured is what is published.
    list_files()?;
    tools::ensure_browser()?;
    tools::must(cargo("bench").arg("--locked"))?;
    println!();
    // Figures, not a gate: `test` and `dist` are the ones that refuse a heavy page.
    size::print(&root().join("dist")).map(drop)
}

fn dist() -> Result<(), String> {
    let tools = Tools::gather()?;
    tools::must(&mut tools.build())?;
    list_files()?;
    size::weigh(&root().join("dist"), tools.is_lean())?;
    paths::check(&root().join("dist"))?;
    println!("\nThe folder dist/ can be put on any web host, under any path.");
    Ok(())
}

/// Brings the built page into the form in which it travels, and lists it for use without a network.
fn list_files() -> Result<(), String> {
    let dist = root().join("dist");
    scripts::slim(&dist)?;
    names::shorten(&dist)?;
    views::name(&dist)?;
    sheets::join(&dist)?;
    offline::list(&dist)
}

/// `program`, run from the repository's root and never asking anything.
fn command(program: impl AsRef<std::ffi::OsStr>) -> Command {
    let mut command = Command::new(program);
    command.current_dir(root()).stdin(std::process::Stdio::null());
    command
}
