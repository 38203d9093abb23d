//! What the chores need besides Rust itself: found where it is installed, else installed.
//!
//! What the browser tests need is pinned in `tests/browser`; no number stands here.

use std::env;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use crate::page::read;
use crate::{command, root};

/// The page's compilation target.
pub const WASM: &str = "wasm32-unknown-unknown";

/// Cargo, with a subcommand.
pub fn cargo(subcommand: &str) -> Command {
    let mut cargo = command(env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    cargo.arg(subcommand);
    cargo
}

/// Runs a command that has to succeed.
pub fn must(command: &mut Command) -> Result<(), String> {
    let shown = format!("{command:?}");
    match command.status() {
        Ok(status) if status.success() => Ok(()),
        Ok(status) => Err(format!("{shown}: {status}")),
        Err(error) => Err(format!("{shown}: {error}")),
    }
}

/// What compiles the page, and how: always the same steps, whatever it is for.
pub struct Tools {
    wasm: Wasm,
    profile: Profile,
    lean: bool,
}

/// Who compiles for wasm.
#[derive(PartialEq)]
enum Wasm {
    /// The toolchain that also compiles natively.
    Rustup,
    /// Debian's packages, where rustup may not download.
    Debian,
}

/// What the page is compiled for.
#[derive(Clone, Copy, PartialEq)]
enum Profile {
    /// For whoever works on it: built soon, and panics say where.
    Work,
    /// For a web host: as small as can be.
    Host,
}

impl Tools {
    /// Finds or installs what builds the page to work on it.
    pub fn for_work() -> Result<Self, String> {
        Ok(Self { wasm: wasm_target()?, profile: Profile::Work, lean: false })
    }

    /// Finds or installs what builds the page for a web host.
    pub fn for_a_host() -> Result<Self, String> {
        let wasm = wasm_target()?;
        let lean = wasm == Wasm::Rustup && crate::standard::can_be_compiled();
        if !lean {
            println!("The page is linked with the standard library as it is shipped: some 25 kB more on the wire.");
        }
        Ok(Self { wasm, profile: Profile::Host, lean })
    }

    /// Whether the page is for a web host.
    pub fn for_host(&self) -> bool {
        self.profile == Profile::Host
    }

    /// Whether wasm is compiled by the toolchain that also compiles natively.
    pub fn wasm_by_rustup(&self) -> bool {
        self.wasm == Wasm::Rustup
    }

    /// Whether the page has a standard library compiled for it; where it has not, it weighs more.
    pub fn is_lean(&self) -> bool {
        self.lean
    }

    /// Compiles the page's programs; the folder where they lie.
    pub fn compile(&self) -> Result<PathBuf, String> {
        // As `Cargo.toml` calls them.
        let profile = match self.profile {
            Profile::Work => "work",
            Profile::Host => "web",
        };
        let mut target = env::var_os("CARGO_TARGET_DIR").map_or_else(|| root().join("target"), |own| root().join(own));
        let mut build = cargo("build");
        build.args(["--locked", "--package", "lapmargin-page", "--bins", "--target", WASM, "--profile", profile]);
        build.env("CARGO_ENCODED_RUSTFLAGS", crate::paths::flags([])).env_remove("RUSTFLAGS");
        if self.lean {
            crate::standard::compile_with(&mut build);
            // Apart from what other chores build for wasm, which would otherwise be built anew each time.
            target.push("page");
        }
        if self.wasm == Wasm::Debian {
            build
                .arg("--offline")
                .env("RUSTC", "/usr/bin/rustc")
                // Debian ships the standard library as source for wasm; building it is still an unstable option.
                .env("RUSTC_BOOTSTRAP", "1")
                .env("CARGO_UNSTABLE_BUILD_STD", "std,panic_abort")
                .env("CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_LINKER", "wasm-ld-22");
            target.push("debian");
        }
        must(build.env("CARGO_TARGET_DIR", &target))?;
        Ok(target.join(WASM).join(profile))
    }
}

fn wasm_target() -> Result<Wasm, String> {
    let installed = || {
        let asked = command("rustc").args(["--print", "target-libdir", "--target", WASM]).output();
        asked.is_ok_and(|answer| Path::new(String::from_utf8_lossy(&answer.stdout).trim()).is_dir())
    };
    if installed() {
        return Ok(Wasm::Rustup);
    }
    println!("Adding the target {WASM} to the toolchain: a download of about 20 MB.");
    if must(command("rustup").args(["target", "add", WASM])).is_ok() && installed() {
        return Ok(Wasm::Rustup);
    }
    let packages = ["rustc-web", "rust-web-src", "lld-22"];
    println!("rustup cannot add it here; trying Debian's {}.", packages.join(", "));
    if !on_path("wasm-ld-22") || !Path::new("/usr/bin/rustc").is_file() {
        debian_install(&packages).map_err(|why| format!("nothing here compiles for {WASM}: {why}"))?;
    }
    // The build itself then stays off the network.
    must(&mut cargo("fetch"))?;
    Ok(Wasm::Debian)
}

/// The folder that holds the program in exactly this version.
fn tool(package: &str, program: &str, version: &str, patience: &str) -> Result<PathBuf, String> {
    let own = root().join(".tools");
    let has = |folder: &Path| {
        let file = folder.join(format!("{program}{}", env::consts::EXE_SUFFIX));
        let asked = Command::new(file).arg("--version").stdin(Stdio::null()).env_remove("NO_COLOR").output();
        asked.is_ok_and(|answer| String::from_utf8_lossy(&answer.stdout).split_whitespace().nth(1) == Some(version))
    };
    let path = env::var_os("PATH").unwrap_or_default();
    let mut folders = [own.join("bin")]
        .into_iter()
        .chain(env::split_paths(&path))
        .chain(crate::paths::cargo_home().map(|home| home.join("bin")));
    if let Some(folder) = folders.find(|folder| has(folder)) {
        return Ok(folder);
    }
    println!("Installing {package} {version} into .tools, once: {patience}.");
    must(cargo("install").args(["--locked", package, "--version", version, "--root"]).arg(&own))?;
    Ok(own.join("bin"))
}

/// Makes sure that Chromium and its driver are there; says what is missing where they cannot be installed.
pub fn ensure_browser() -> Result<(), String> {
    let browser = ["chromium", "chromium-browser", "google-chrome", "chrome"].into_iter().any(on_path);
    match (browser, on_path("chromedriver")) {
        (true, true) => Ok(()),
        (browser, driver) => {
            let missing = match (browser, driver) {
                (false, false) => "Chromium and chromedriver are missing",
                (false, _) => "Chromium is missing",
                _ => "chromedriver is missing",
            };
            println!("{missing}; installing Debian's packages.");
            debian_install(&["chromium", "chromium-driver"]).map_err(|why| format!("{missing}: {why}"))
        }
    }
}

/// Makes sure of Firefox and its driver, the second browser of the tests.
pub fn ensure_second_browser() -> Result<(), String> {
    if !["firefox-esr", "firefox"].into_iter().any(on_path) {
        println!("Firefox is missing; installing Debian's package.");
        debian_install(&["firefox-esr"]).map_err(|why| format!("Firefox is missing: {why}"))?;
    }
    let text = read("tests/browser/Browsers.toml")?;
    let pin = text.lines().find_map(|line| line.strip_prefix("geckodriver = \""));
    let version = pin.ok_or("tests/browser/Browsers.toml names no geckodriver")?.trim_end_matches('"');
    tool("geckodriver", "geckodriver", version, "about three minutes on two cores").map(drop)
}

/// Makes sure of the rules of accessibility that the browser tests bring into the page.
pub fn ensure_rules() -> Result<(), String> {
    let folder = root().join("tests/browser");
    let lock = read("tests/browser/package-lock.json")?;
    let locked = lock.split("\"node_modules/axe-core\"").nth(1).and_then(version_in);
    let locked = locked.ok_or("tests/browser/package-lock.json names no axe-core")?;
    let installed = fs::read_to_string(folder.join("node_modules/axe-core/package.json")).unwrap_or_default();
    if version_in(&installed) == Some(locked) {
        return Ok(());
    }
    if !on_path("npm") {
        return Err(format!("axe-core {locked} is missing, and there is no npm to fetch it"));
    }
    println!("Fetching axe-core {locked} into tests/browser, once: some 3 MB.");
    must(command("npm").args(["ci", "--ignore-scripts", "--no-audit", "--no-fund"]).current_dir(folder))
}

/// The first version in a package's description.
fn version_in(description: &str) -> Option<&str> {
    description.split("\"version\": \"").nth(1)?.split('"').next()
}

fn debian_install(packages: &[&str]) -> Result<(), String> {
    let by_hand = format!("install {} and try again", packages.join(", "));
    if !Path::new("/etc/debian_version").exists() {
        return Err(format!("this is not a Debian machine; {by_hand}"));
    }
    let who = command("id").arg("-u").output().map_err(|error| format!("id: {error}"))?;
    if who.stdout.trim_ascii() != b"0" {
        return Err(format!("only root can install Debian's packages; {by_hand}"));
    }
    let apt = |words: &[&str]| must(command("apt-get").arg("-qq").args(words).env("DEBIAN_FRONTEND", "noninteractive"));
    apt(&["update"])?;
    apt(&[&["install", "--yes", "--no-install-recommends"], packages].concat())
}

fn on_path(program: &str) -> bool {
    env::split_paths(&env::var_os("PATH").unwrap_or_default())
        .any(|folder| folder.join(format!("{program}{}", env::consts::EXE_SUFFIX)).is_file())
}
