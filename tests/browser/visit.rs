//! A visit to the built page: a host, a browser with a fresh profile, and what both noticed.

use std::env;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use serde_json::{Value, json};
use thirtyfour::prelude::*;
use thirtyfour::{ChromiumLikeCapabilities, LoggingPrefsLogLevel};

use crate::static_host;

/// How long a page may take to show what a test waits for; generous, since a shared machine may be slow.
const PATIENCE: Duration = Duration::from_secs(20);

/// One browser on one page. Dropping it closes both, also when a test fails.
pub struct Visit {
    /// The browser.
    pub driver: WebDriver,
    /// `http://127.0.0.1:port`
    pub origin: String,
    chromedriver: Chromedriver,
}

/// The program through which the browser is driven, and the loopback port it listens on.
struct Chromedriver {
    process: Child,
    port: u16,
}

impl Drop for Visit {
    fn drop(&mut self) {
        // Nothing here can wait for a future, and the driver's own way of closing without one takes two minutes. So the
        // session is closed by a plain request, and the driver told to leave it alone. If that fails, ending
        // chromedriver is all that is left to do.
        let request = format!(
            "DELETE /session/{} HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n",
            self.driver.session_id()
        );
        if let Ok(mut connection) = TcpStream::connect(("127.0.0.1", self.chromedriver.port)) {
            let _ = connection.set_read_timeout(Some(PATIENCE));
            let _ = connection.write_all(request.as_bytes());
            let _ = connection.read(&mut [0; 256]);
        }
        let _ = self.driver.clone().leak();
    }
}

impl Drop for Chromedriver {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

/// Opens the built page; `tail` is what follows its address, such as `#view=...`.
///
/// `None`, with a line that says so, where there is no browser, no driver or no built page. `cargo xtask test` counts
/// these lines.
pub async fn open(tail: &str) -> Option<Visit> {
    let dist =
        env::var_os("LAPMARGIN_DIST").map_or_else(|| Path::new(env!("CARGO_MANIFEST_DIR")).join("dist"), PathBuf::from);
    let chromium = on_path(&["chromium", "chromium-browser", "google-chrome", "chrome"]);
    let chromedriver = on_path(&["chromedriver"]);
    let missing = if !dist.join("index.html").is_file() {
        "a built page (`cargo xtask dist`)"
    } else if chromium.is_none() {
        "Chromium"
    } else {
        "chromedriver"
    };
    #[allow(clippy::print_stdout, reason = "how a test says that it was skipped")]
    let (Some(chromium), Some(chromedriver), true) = (chromium, chromedriver, dist.join("index.html").is_file()) else {
        println!("SKIPPED for want of {missing}");
        return None;
    };

    let host = static_host::serve(dist).expect("a loopback port is free");
    let chromedriver = Chromedriver::start(&chromedriver);
    let mut wishes = DesiredCapabilities::chrome();
    wishes.set_binary(&chromium.to_string_lossy()).expect("a path is a string");
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
    let driver =
        WebDriver::new(format!("http://127.0.0.1:{}", chromedriver.port), wishes).await.expect("the browser starts");
    let visit = Visit { driver, origin: format!("http://{host}"), chromedriver };
    visit.view(1440, 900).await;
    visit.go(tail).await;
    Some(visit)
}

impl Visit {
    /// Goes to the page, or back to it.
    pub async fn go(&self, tail: &str) {
        let address = format!("{}{}{tail}", self.origin, static_host::FOLDER);
        self.driver.goto(address).await.expect("the page opens");
    }

    /// Makes the page so many CSS pixels large; below 600 across it is a phone.
    pub async fn view(&self, width: u32, height: u32) {
        let phone = width < 600;
        let size = json!({"width": width, "height": height, "deviceScaleFactor": 1, "mobile": phone});
        self.send("Emulation.setDeviceMetricsOverride", size).await;
        self.send("Emulation.setTouchEmulationEnabled", json!({ "enabled": phone })).await;
    }

    /// Tells the page what the user prefers, such as `("prefers-color-scheme", "dark")`.
    pub async fn prefer(&self, feature: &str, value: &str) {
        let features = json!({"features": [{"name": feature, "value": value}]});
        self.send("Emulation.setEmulatedMedia", features).await;
    }

    async fn send(&self, command: &str, parameters: Value) {
        self.driver.cdp().send_raw(command, parameters).await.expect("the browser knows this command");
    }

    /// Waits for an element whose text satisfies `holds` and returns the text; fails with the last text seen.
    pub async fn text_when(&self, css: &str, holds: impl Fn(&str) -> bool) -> String {
        let start = Instant::now();
        let mut seen = String::from("no such element");
        while start.elapsed() < PATIENCE {
            // An element may be replaced between finding and reading it; that is not yet a text.
            if let Ok(element) = self.driver.find(By::Css(css)).await
                && let Ok(text) = element.text().await
            {
                if holds(&text) {
                    return text;
                }
                seen = text;
            }
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
        panic!("`{css}` still says: {seen}\nthe console says: {:#?}", self.console_errors().await);
    }

    /// What the console has complained about since this was last asked: errors, warnings, anything the policy blocked.
    pub async fn console_errors(&self) -> Vec<String> {
        let entries = self.driver.get_log("browser").await.expect("the console is recorded");
        let complaints = entries.into_iter().filter(|entry| ["SEVERE", "WARNING"].contains(&entry.level.as_str()));
        complaints.map(|entry| format!("{}: {}", entry.level, entry.message)).collect()
    }

    /// The addresses the browser has asked for since this was last asked.
    pub async fn requests(&self) -> Vec<String> {
        let entries = self.driver.get_log("performance").await.expect("the network is recorded");
        let events =
            entries.iter().map(|entry| serde_json::from_str::<Value>(&entry.message).expect("an event is JSON"));
        events
            .filter(|event| event["message"]["method"] == "Network.requestWillBeSent")
            .map(|event| {
                event["message"]["params"]["request"]["url"].as_str().expect("a request has an address").to_owned()
            })
            .collect()
    }

    /// Those of `requests` that leave the page's own host.
    pub fn foreign(&self, requests: &[String]) -> Vec<String> {
        let own = |address: &&String| {
            address.starts_with(&format!("{}/", self.origin))
                || address.starts_with("data:")
                || address.starts_with("blob:")
        };
        requests.iter().filter(|address| !own(address)).cloned().collect()
    }

    /// Keeps a picture of the page as `docs/pictures/{name}.png` when `LAPMARGIN_PICTURES` is set, so that ordinary test
    /// runs leave the repository alone; otherwise under the build folder.
    pub async fn picture(&self, name: &str) -> PathBuf {
        let folder = match env::var_os("LAPMARGIN_PICTURES") {
            Some(_) => Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/pictures"),
            None => PathBuf::from(env!("CARGO_TARGET_TMPDIR")),
        };
        std::fs::create_dir_all(&folder).expect("the folder for pictures can be made");
        let file = folder.join(format!("{name}.png"));
        self.driver.screenshot(&file).await.expect("the page can be photographed");
        file
    }
}

fn on_path(names: &[&str]) -> Option<PathBuf> {
    let folders: Vec<_> = env::split_paths(&env::var_os("PATH")?).collect();
    names.iter().flat_map(|name| folders.iter().map(move |folder| folder.join(name))).find(|file| file.is_file())
}

impl Chromedriver {
    /// Starts it. Several start at the same time, and now and then two choose the same port: the loser ends at once and is
    /// started again.
    fn start(program: &Path) -> Self {
        (0..5)
            .find_map(|_| Self::try_start(program))
            .expect("chromedriver listens on a port, at the fifth start at the latest")
    }

    /// Starts it on a port of its own choosing, which it prints; `None` if it ends without one.
    fn try_start(program: &Path) -> Option<Self> {
        let mut process = Command::new(program)
            .arg("--port=0")
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("chromedriver starts");
        let mut lines = BufReader::new(process.stdout.take().expect("its output is piped")).lines();
        let port = lines
            .by_ref()
            .map_while(Result::ok)
            .find_map(|line| line.split_once("started successfully on port ")?.1.trim_end_matches('.').parse().ok());
        let Some(port) = port else {
            let _ = process.wait();
            return None;
        };
        // Whatever else it prints must go somewhere, or it would stop at a full pipe.
        std::thread::spawn(move || lines.for_each(drop));
        Some(Self { process, port })
    }
}
