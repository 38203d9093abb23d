//! A visit to the built page: a host, a browser with a fresh profile, and what both noticed.

use std::env;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use serde_json::{Value, json};
use thirtyfour::error::{WebDriverResult, no_such_element};
use thirtyfour::prelude::*;
use thirtyfour::{Key, TypingData};

use crate::browsers::{Browser, Driven};
use crate::static_host;

/// How long a page may take to show what a test waits for; generous, since a shared machine may be slow.
pub const PATIENCE: Duration = Duration::from_secs(20);

/// How long the driver itself looks for an element that is not there yet. What must not be there is counted by a script
/// (`Visit::count`, `Visit::gone`), which does not wait.
const LOOKING: Duration = Duration::from_secs(10);

/// Between two looks at what is waited for.
const BETWEEN_LOOKS: Duration = Duration::from_millis(20);

/// One browser on one page. Dropping it closes both, also when a test fails.
pub struct Visit {
    /// The browser.
    pub driver: WebDriver,
    /// `http://127.0.0.1:port`
    pub origin: String,
    /// What hands out the page.
    pub host: static_host::Host,
    browser: Browser,
    _driven: Driven,
}

/// Opens the built page; `tail` is what follows its address, such as `#view=...`.
///
/// `None`, with a line that says so, where there is no browser, no driver or no built page. `cargo xtask test` counts
/// these lines.
pub async fn open(tail: &str) -> Option<Visit> {
    open_from(dist(), tail).await
}

/// The folder of the built page.
pub fn dist() -> PathBuf {
    env::var_os("LAPMARGIN_DIST").map_or_else(|| Path::new(env!("CARGO_MANIFEST_DIR")).join("dist"), PathBuf::from)
}

/// The same with the page in another folder.
pub async fn open_from(dist: PathBuf, tail: &str) -> Option<Visit> {
    open_in(Browser::Chromium, dist, tail).await
}

/// The same in a browser of one's choice.
#[allow(clippy::print_stdout, reason = "how a test says that it was skipped")]
pub async fn open_in(browser: Browser, dist: PathBuf, tail: &str) -> Option<Visit> {
    let programs = match browser.programs() {
        Ok(programs) if dist.join("index.html").is_file() => programs,
        Ok(_) => {
            println!("SKIPPED for want of a built page (`cargo xtask dist`)");
            return None;
        }
        Err(missing) => {
            println!("SKIPPED for want of {missing}");
            return None;
        }
    };
    let host = static_host::serve(dist).expect("a loopback port is free");
    let driven = Driven::start(browser, &programs).await;
    let driver = driven.driver.clone();
    driver.set_implicit_wait_timeout(LOOKING).await.expect("a driver can wait");
    let visit = Visit { driver, origin: format!("http://{}", host.address), host, browser, _driven: driven };
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

    /// Loads the page anew.
    pub async fn reload(&self) {
        if self.browser == Browser::Chromium {
            return self.driver.refresh().await.expect("the page is loaded again");
        }
        // Its driver goes past the service worker, which a person's reload does not.
        self.script("window.isOld = true; location.reload()").await;
        self.script_when("return !window.isOld && document.readyState === 'complete'", |is_new| *is_new == true).await;
    }

    /// Makes the page so many CSS pixels large; below 600 across it is a phone.
    pub async fn view(&self, width: u32, height: u32) {
        self.view_enlarged(width, height, 1).await;
    }

    /// The same with each CSS pixel so many dots wide: what a browser makes of its window when a person enlarges the page.
    pub async fn view_enlarged(&self, width: u32, height: u32, dots: u32) {
        if self.browser == Browser::Firefox {
            // It has no such command; its window does, with the bars of the browser in it.
            let bars = "return [outerWidth - innerWidth, outerHeight - innerHeight]";
            let bars = self.driver.execute(bars, Vec::new()).await.expect("the script runs");
            let [across, down] = bars.convert::<[u32; 2]>().expect("two numbers");
            self.driver.set_window_rect(0, 0, width + across, height + down).await.expect("a window has a size");
            return;
        }
        let phone = width < 600;
        let size = json!({"width": width, "height": height, "deviceScaleFactor": dots, "mobile": phone});
        self.send("Emulation.setDeviceMetricsOverride", size).await;
        self.send("Emulation.setTouchEmulationEnabled", json!({ "enabled": phone })).await;
    }

    /// Tells the page what the user prefers, such as `("prefers-color-scheme", "dark")`.
    pub async fn prefer(&self, feature: &str, value: &str) {
        let features = json!({"features": [{"name": feature, "value": value}]});
        self.send("Emulation.setEmulatedMedia", features).await;
    }

    /// Sends the browser a command of its own protocol and returns the answer.
    pub async fn send(&self, command: &str, parameters: Value) -> Value {
        self.driver.cdp().send_raw(command, parameters).await.expect("the browser knows this command")
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
            tokio::time::sleep(BETWEEN_LOOKS).await;
        }
        panic!("`{css}` still says: {seen}\nthe console says: {:#?}", self.console_errors().await);
    }

    /// Waits for a script whose answer satisfies `holds`; fails with the last answer.
    pub async fn script_when(&self, script: &str, holds: impl Fn(&Value) -> bool) {
        let start = Instant::now();
        let mut seen = Value::Null;
        while start.elapsed() < PATIENCE {
            if let Ok(answer) = self.driver.execute(script, Vec::new()).await {
                if holds(answer.json()) {
                    return;
                }
                seen = answer.json().clone();
            }
            tokio::time::sleep(BETWEEN_LOOKS).await;
        }
        panic!("`{script}` still gives: {seen}\nthe console says: {:#?}", self.console_errors().await);
    }

    /// Waits for an attribute that satisfies `holds` and returns it; fails with the last one seen.
    pub async fn attribute_when(&self, css: &str, name: &str, holds: impl Fn(&str) -> bool) -> String {
        let start = Instant::now();
        let mut seen = String::from("no such element");
        while start.elapsed() < PATIENCE {
            if let Ok(element) = self.driver.find(By::Css(css)).await
                && let Ok(Some(value)) = element.attr(name).await
            {
                if holds(&value) {
                    return value;
                }
                seen = value;
            }
            tokio::time::sleep(BETWEEN_LOOKS).await;
        }
        panic!("`{name}` of `{css}` is still: {seen}\nthe console says: {:#?}", self.console_errors().await);
    }

    /// What a script gives.
    pub async fn script(&self, text: &str) -> Value {
        let answer = self.driver.execute(text, Vec::new()).await;
        answer.unwrap_or_else(|error| panic!("`{text}` fails: {error}")).json().clone()
    }

    /// Whether an element matches at this moment. To look for it by the driver would wait for it.
    pub async fn has(&self, css: &str) -> bool {
        self.count(css).await > 0
    }

    /// How many elements match at this moment.
    pub async fn count(&self, css: &str) -> u64 {
        self.script(&counting(css)).await.as_u64().expect("a length is a number")
    }

    /// Waits until no element matches.
    pub async fn gone(&self, css: &str) {
        self.script_when(&counting(css), |count| *count == 0).await;
    }

    /// The first element that matches, once there is one.
    pub async fn find(&self, css: &str) -> WebElement {
        self.driver.find(By::Css(css)).await.unwrap_or_else(|_| panic!("there is no {css}"))
    }

    /// Clicks an element once it is there and nothing lies over it. Where the page moved it away between looking and
    /// pressing, so that the press went past it, it is clicked again.
    pub async fn click(&self, css: &str) {
        self.click_on(By::Css(css)).await;
    }

    /// The same for an element that is found in another way.
    pub async fn click_on(&self, by: By) {
        // A choice of a list is no place to press on, and after a click that leads elsewhere the mark is gone.
        let watch = "const it = arguments[0]; window.pressed = it.tagName === 'OPTION';
            it.addEventListener('pointerdown', () => { window.pressed = true; }, { once: true, capture: true });";
        self.insist(&by, async |element| {
            element.scroll_into_view().await?;
            self.driver.execute(watch, vec![element.to_json()?]).await?;
            element.click().await?;
            let missed = self.driver.execute("return window.pressed === false", Vec::new()).await;
            match missed {
                Ok(missed) if *missed.json() == true => Err(no_such_element("the click went past it".to_owned())),
                _ => Ok(()),
            }
        })
        .await;
    }

    /// Opens a page of the planner's panel: `kit`, `link`, `yard` or `rules`.
    pub async fn page(&self, name: &str) {
        let tab = format!("#page-{name}-tab");
        self.click(&tab).await;
        self.attribute_when(&tab, "aria-selected", |chosen| chosen == "true").await;
    }

    /// Unfolds what the head of the planner folds away where it has no room for it.
    pub async fn menu(&self) {
        let folded = "const menu = document.getElementById('menu');
            return menu?.checkVisibility() === true && menu.ariaExpanded !== 'true'";
        if self.script(folded).await == Value::Bool(true) {
            self.click("#menu").await;
            self.attribute_when("#menu", "aria-expanded", |open| open == "true").await;
        }
    }

    /// Waits until laps are simulated for every entry; nothing comes by itself any more after that. Only the chosen one's are in
    /// sight.
    pub async fn flown(&self) {
        let flown = "const entries = [...document.querySelectorAll('.verdict')];
            return entries.length > 0 && entries.every(entry => entry.textContent.includes('simulated lap'))";
        self.script_when(flown, |flown| *flown == true).await;
    }

    /// Waits until an element stays where it is, from one frame to the next but one.
    pub async fn rests(&self, css: &str) {
        let look = format!(
            "const place = () => JSON.stringify(document.querySelector({})?.getBoundingClientRect() ?? null);
            const before = place();
            return new Promise(done => requestAnimationFrame(() => requestAnimationFrame(() =>
                done(before !== 'null' && place() === before))))",
            json!(css)
        );
        self.script_when(&look, |rests| *rests == true).await;
    }

    /// Types keys with the focus on an element.
    pub async fn press(&self, css: &str, keys: impl Into<TypingData>) {
        self.focus(css).await;
        self.driver.action_chain().send_keys(keys).perform().await.expect("keys can be pressed");
    }

    /// Types keys while another is held down.
    pub async fn press_with(&self, css: &str, held: Key, keys: impl Into<TypingData>) {
        self.focus(css).await;
        let chain = self.driver.action_chain().key_down(held.clone()).send_keys(keys).key_up(held);
        chain.perform().await.expect("keys can be pressed");
    }

    /// Replaces what stands in a field, key by key; Enter or leaving it is the caller's.
    pub async fn type_over(&self, css: &str, text: &str) {
        self.press_with(css, Key::Control, "a").await;
        self.press(css, text).await;
    }

    /// Takes one of several choices, by keyboard; `place` counts from nought.
    pub async fn choose(&self, name: &str, place: usize) {
        let options = self.driver.find_all(By::Css(format!("input[name='{name}']"))).await.expect("choices");
        let option = options.get(place).unwrap_or_else(|| panic!("{name} has no choice {place}"));
        option.send_keys(" ").await.expect("it takes keys");
    }

    /// Gives the focus to an element once it is there and takes it.
    pub async fn focus(&self, css: &str) {
        let focus = format!(
            "const it = document.querySelector({}); it?.focus(); return it !== null && it === document.activeElement",
            json!(css)
        );
        self.script_when(&focus, |has_focus| *has_focus == true).await;
    }

    /// Does something with an element until it comes off: the page may be replacing it just then, or still be moving.
    async fn insist(&self, by: &By, act: impl AsyncFn(WebElement) -> WebDriverResult<()>) {
        let start = Instant::now();
        loop {
            let done = match self.driver.find(by.clone()).await {
                Ok(element) => act(element).await,
                Err(error) => Err(error),
            };
            let Err(error) = done else { return };
            if start.elapsed() > PATIENCE {
                panic!("{by:?}: {error}\nthe console says: {:#?}", self.console_errors().await);
            }
            tokio::time::sleep(BETWEEN_LOOKS).await;
        }
    }

    /// What the console has complained about since this was last asked: errors, warnings, anything the policy blocked.
    /// Firefox does not tell, and then nothing is known.
    pub async fn console_errors(&self) -> Vec<String> {
        if self.browser == Browser::Firefox {
            return Vec::new();
        }
        let entries = self.driver.get_log("browser").await.expect("the console is recorded");
        let complaints = entries.into_iter().filter(|entry| ["SEVERE", "WARNING"].contains(&entry.level.as_str()));
        complaints.map(|entry| format!("{}: {}", entry.level, entry.message)).collect()
    }

    /// The addresses the browser has asked for since this was last asked. Firefox does not tell, and then there are none.
    pub async fn requests(&self) -> Vec<String> {
        if self.browser == Browser::Firefox {
            return Vec::new();
        }
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

    /// Keeps a picture of the page under the build folder, to be looked at.
    pub async fn shot(&self, name: &str) -> PathBuf {
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR"));
        std::fs::create_dir_all(folder).expect("the folder for pictures can be made");
        let file = folder.join(format!("{name}.png"));
        self.driver.screenshot(&file).await.expect("the page can be photographed");
        file
    }
}

/// A script that counts what matches.
fn counting(css: &str) -> String {
    format!("return document.querySelectorAll({}).length", json!(css))
}
