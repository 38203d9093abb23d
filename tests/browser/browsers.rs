//! Which browsers the page is opened in, and how each is started and driven.

use std::env;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use thirtyfour::common::capabilities::firefox::FirefoxPreferences;
use thirtyfour::prelude::*;
use thirtyfour::{ChromiumLikeCapabilities, LoggingPrefsLogLevel};

/// How long a driver may take to close its browser.
const CLOSING: Duration = Duration::from_secs(20);

/// A browser with an engine of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Browser {
    /// All tests run in it; it tells what the page asked for and what its console says.
    Chromium,
    /// A second engine, for what a page may get wrong in one and right in another.
    Firefox,
}

impl Browser {
    /// The browser's program and its driver's, or what is missing.
    pub fn programs(self) -> Result<(PathBuf, PathBuf), &'static str> {
        let (browsers, driver): (&[&str], &str) = match self {
            Self::Chromium => (&["chromium", "chromium-browser", "google-chrome", "chrome"], "chromedriver"),
            Self::Firefox => (&["firefox-esr", "firefox"], "geckodriver"),
        };
        match (find(browsers), find(&[driver])) {
            (Some(browser), Some(driver)) => Ok((browser, driver)),
            (None, _) if self == Self::Chromium => Err("Chromium"),
            (None, _) => Err("Firefox"),
            (_, None) if self == Self::Chromium => Err("chromedriver"),
            (_, None) => Err("geckodriver"),
        }
    }

    /// What a session is asked for.
    fn wishes(self, program: &Path) -> Capabilities {
        let program = program.to_string_lossy();
        match self {
            Self::Chromium => {
                let mut wishes = DesiredCapabilities::chrome();
                wishes.set_binary(&program).expect("a path is a string");
                for flag in [
                    "--headless",
                    // Root has no sandbox, and the only page opened is our own, on loopback.
                    "--no-sandbox",
                    "--disable-gpu",
                    "--disable-quic",
                    "--disable-dev-shm-usage",
                    "--no-first-run",
                    "--disable-background-networking",
                    "--disable-component-update",
                    "--disable-sync",
                    "--force-color-profile=srgb",
                    "--lang=en",
                ] {
                    wishes.add_arg(flag).expect("a flag is a string");
                }
                for log in ["browser", "performance"] {
                    wishes.set_logging_prefs(log, LoggingPrefsLogLevel::All).expect("a level is a string");
                }
                wishes.into()
            }
            Self::Firefox => {
                let mut wishes = DesiredCapabilities::firefox();
                wishes.set_firefox_binary(&program).expect("a path is a string");
                wishes.add_arg("-headless").expect("a flag is a string");
                let mut preferences = FirefoxPreferences::new();
                for (name, value) in [("ui.systemUsesDarkTheme", 0), ("ui.prefersReducedMotion", 0)] {
                    preferences.set(name, value).expect("a preference is a number");
                }
                preferences.set("intl.accept_languages", "en").expect("a preference is a text");
                wishes.set_preferences(preferences).expect("preferences are JSON");
                wishes.into()
            }
        }
    }
}

/// A program of the search path, or of the folder in which the chores keep tools of their own.
fn find(names: &[&str]) -> Option<PathBuf> {
    let own = Path::new(env!("CARGO_MANIFEST_DIR")).join(".tools/bin");
    let path = env::var_os("PATH").unwrap_or_default();
    let folders: Vec<_> = [own].into_iter().chain(env::split_paths(&path)).collect();
    names.iter().flat_map(|name| folders.iter().map(move |folder| folder.join(name))).find(|file| file.is_file())
}

/// A browser with a fresh profile, and the program through which it is driven. Dropping it closes both.
pub struct Driven {
    /// Where commands go.
    pub driver: WebDriver,
    program: DriverProgram,
}

/// A driver that listens on a loopback port.
struct DriverProgram {
    process: Child,
    port: u16,
}

impl Driven {
    /// Starts a browser by its driver.
    pub async fn start(browser: Browser, (program, driver): &(PathBuf, PathBuf)) -> Self {
        let listening = DriverProgram::start(driver);
        let address = format!("http://127.0.0.1:{}", listening.port);
        let driver = WebDriver::new(address, browser.wishes(program)).await.expect("the browser starts");
        Self { driver, program: listening }
    }
}

impl Drop for Driven {
    fn drop(&mut self) {
        // Nothing here can wait for a future, and the library's own way of closing without one takes two minutes. So the
        // session is closed by a plain request, and the library told to leave it alone. If that fails, ending the driver
        // is all that is left to do.
        let request = format!(
            "DELETE /session/{} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nConnection: close\r\n\r\n",
            self.driver.session_id(),
            self.program.port
        );
        if let Ok(mut connection) = TcpStream::connect(("127.0.0.1", self.program.port)) {
            let _ = connection.set_read_timeout(Some(CLOSING));
            let _ = connection.write_all(request.as_bytes());
            let _ = connection.read(&mut [0; 256]);
        }
        let _ = self.driver.clone().leak();
    }
}

impl Drop for DriverProgram {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

impl DriverProgram {
    /// Starts it. Several start at the same time, and now and then two choose the same port: the loser ends at once and is
    /// started again.
    fn start(program: &Path) -> Self {
        (0..5)
            .find_map(|_| Self::try_start(program))
            .expect("the driver listens on a port, at the fifth start at the latest")
    }

    /// Starts it on a port of its own choosing, which it prints; `None` if it ends without one.
    fn try_start(program: &Path) -> Option<Self> {
        let mut process = Command::new(program)
            .arg("--port=0")
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("the driver starts");
        let mut lines = BufReader::new(process.stdout.take().expect("its output is piped")).lines();
        let port = lines.by_ref().map_while(Result::ok).find_map(|line| port_in(&line));
        let Some(port) = port else {
            let _ = process.wait();
            return None;
        };
        // Whatever else it prints must go somewhere, or it would stop at a full pipe.
        std::thread::spawn(move || lines.for_each(drop));
        Some(Self { process, port })
    }
}

/// The port, if this is the line in which a driver tells it.
fn port_in(line: &str) -> Option<u16> {
    let told = ["started successfully on port ", "Listening on 127.0.0.1:"];
    let port = told.iter().find_map(|told| Some(line.split_once(told)?.1))?;
    port.trim().trim_end_matches('.').parse().ok()
}
