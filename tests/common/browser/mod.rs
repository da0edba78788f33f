//! A headless Chromium that a test drives as a person does, through its chromedriver.
//!
//! Sources: W3C WebDriver (the commands), RFC 9112 (HTTP/1.1). A client of our own: what a test
//! needs of it is a dozen commands on a loopback connection.
//!
//! ```no_run
//! let Some(browser) = Browser::open() else { return };   // said where it is absent
//! browser.size(1024, 768);
//! browser.go(&url);
//! browser.until("document.body.dataset.screen === 'welcome'");
//! browser.click("button.main");
//! browser.keys("\u{e007}");
//! browser.run("return document.title", json!([]));
//! browser.picture(Path::new("welcome.png"));
//! ```
#![allow(dead_code, reason = "every test crate uses a part of it")]

mod axe;
pub mod hands;
mod wire;

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use serde_json::{Value, json};

/// What was waited for comes within this time, or the test fails.
pub const PATIENCE: Duration = Duration::from_secs(60);
/// It is looked for this often.
const LOOK: Duration = Duration::from_millis(40);

/// A browser with a profile of its own; it ends with this.
pub struct Browser {
    driver: Child,
    port: u16,
    /// `/session/…`
    session: String,
    _profile: tempfile::TempDir,
}

impl Browser {
    /// Opens one; `None`, and said so, where chromedriver or Chromium is absent, which fails under
    /// CI.
    pub fn open() -> Option<Browser> {
        // It wants one port free in both families of addresses, and ends where another driver was
        // quicker.
        let mut started = (0..5).filter_map(|_| driver());
        let Some((driver, port)) = started.next() else {
            absent("chromedriver is absent or says no port");
            return None;
        };
        let profile = tempfile::tempdir().unwrap();
        let mut browser = Browser {
            driver,
            port,
            session: String::new(),
            _profile: profile,
        };
        let arguments = [
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--hide-scrollbars",
            &format!("--user-data-dir={}", browser._profile.path().display()),
        ];
        let wanted = json!({ "capabilities": { "alwaysMatch": {
            "browserName": "chrome",
            "goog:chromeOptions": { "args": arguments },
            "goog:loggingPrefs": { "performance": "ALL", "browser": "ALL" },
        } } });
        match wire::ask(port, "POST", "/session", &wanted) {
            Ok(made) => {
                let id = made["sessionId"].as_str().unwrap();
                browser.session = format!("/session/{id}");
                Some(browser)
            }
            Err(said) if said.contains("cannot find") => {
                absent("chromium is absent");
                None
            }
            Err(said) => panic!("no browser: {said}"),
        }
    }

    /// A command of the session; what it gives, or what is the matter.
    pub fn tried(&self, method: &str, path: &str, body: &Value) -> Result<Value, String> {
        wire::ask(self.port, method, &format!("{}{path}", self.session), body)
    }

    fn ask(&self, method: &str, path: &str, body: &Value) -> Value {
        self.tried(method, path, body)
            .unwrap_or_else(|said| panic!("{method} {path} {body}: {said}"))
    }

    fn post(&self, path: &str, body: Value) -> Value {
        self.ask("POST", path, &body)
    }

    /// A command of the DevTools protocol.
    pub fn devtools(&self, command: &str, has: Value) -> Value {
        self.post(
            "/goog/cdp/execute",
            json!({ "cmd": command, "params": has }),
        )
    }

    /// Goes to an address.
    pub fn go(&self, url: &str) {
        self.post("/url", json!({ "url": url }));
    }

    /// Loads the page again.
    pub fn reload(&self) {
        self.post("/refresh", json!({}));
    }

    /// The window's inner size from now on, CSS pixels.
    pub fn size(&self, width_px: u32, height_px: u32) {
        let has = json!({
            "width": width_px, "height": height_px, "deviceScaleFactor": 1, "mobile": false,
        });
        self.devtools("Emulation.setDeviceMetricsOverride", has);
    }

    /// Runs a script's body; gives what it returns.
    pub fn run(&self, script: &str, arguments: Value) -> Value {
        let body = json!({ "script": script, "args": arguments });
        self.post("/execute/sync", body)
    }

    /// Runs a script's body that calls its last argument with what is given back.
    pub fn run_async(&self, script: &str, arguments: Value) -> Value {
        let body = json!({ "script": script, "args": arguments });
        self.post("/execute/async", body)
    }

    /// What an expression is now.
    pub fn is(&self, expression: &str) -> Value {
        self.run(&format!("return ({expression})"), json!([]))
    }

    /// What an expression is as soon as it is something; fails where that takes too long.
    pub fn until(&self, expression: &str) -> Value {
        self.within(PATIENCE, expression).unwrap_or_else(|| {
            let seen = self.is("document.body.innerText");
            panic!("waited in vain for {expression}\non the screen: {seen}")
        })
    }

    /// What an expression is as soon as it is something; `None` where that takes too long.
    pub fn within(&self, patience: Duration, expression: &str) -> Option<Value> {
        let until = Instant::now() + patience;
        loop {
            let value = self.is(expression);
            if value != Value::Null && value != json!(false) && value != json!("") {
                return Some(value);
            }
            if Instant::now() >= until {
                return None;
            }
            std::thread::sleep(LOOK);
        }
    }

    /// Opens another tab with that address and drives it from now on; gives its handle.
    pub fn tab(&self, url: &str) -> String {
        let made = self.devtools("Target.createTarget", json!({ "url": url }));
        // What the protocol names a target, the driver names a window.
        let handle = made["targetId"].as_str().unwrap().to_owned();
        self.to_tab(&handle);
        handle
    }

    /// The handle of the tab that is driven.
    pub fn this_tab(&self) -> String {
        let handle = self.ask("GET", "/window", &Value::Null);
        handle.as_str().unwrap().to_owned()
    }

    /// The handles of all tabs.
    pub fn tabs(&self) -> Vec<String> {
        let handles = self.ask("GET", "/window/handles", &Value::Null);
        let text = |handle: &Value| handle.as_str().unwrap().to_owned();
        handles.as_array().unwrap().iter().map(text).collect()
    }

    /// Drives that tab from now on.
    pub fn to_tab(&self, handle: &str) {
        self.post("/window", json!({ "handle": handle }));
    }

    /// Closes the tab that is driven.
    pub fn close_tab(&self) {
        self.ask("DELETE", "/window", &Value::Null);
    }

    /// Writes a picture of what the window shows.
    pub fn picture(&self, path: &Path) {
        let made = self.devtools("Page.captureScreenshot", json!({ "format": "png" }));
        let bytes = wire::base64(made["data"].as_str().unwrap());
        if let Some(folder) = path.parent() {
            std::fs::create_dir_all(folder).unwrap();
        }
        std::fs::write(path, bytes).unwrap();
    }

    /// Entries of a log since it was last taken: `performance` or `browser`.
    pub fn log(&self, kind: &str) -> Vec<Value> {
        let taken = self.post("/se/log", json!({ "type": kind }));
        taken.as_array().cloned().unwrap_or_default()
    }

    /// Addresses of all that pages asked for since this was last taken; the browser's own first page
    /// is none.
    pub fn requests(&self) -> Vec<String> {
        let message = |entry: &Value| -> Option<Value> {
            serde_json::from_str::<Value>(entry["message"].as_str()?)
                .ok()
                .map(|mut whole| whole["message"].take())
        };
        self.log("performance")
            .iter()
            .filter_map(message)
            .filter(|message| {
                let page = message["params"]["documentURL"].as_str();
                !page.is_some_and(|page| page.starts_with("chrome"))
            })
            .filter_map(|message| {
                let url = match message["method"].as_str()? {
                    "Network.requestWillBeSent" => &message["params"]["request"]["url"],
                    "Network.webSocketCreated" => &message["params"]["url"],
                    _ => return None,
                };
                url.as_str().map(str::to_owned)
            })
            .collect()
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        if !self.session.is_empty() {
            let _ = self.tried("DELETE", "", &Value::Null);
        }
        let _ = self.driver.kill();
        let _ = self.driver.wait();
    }
}

/// Says that something is not checked; fails under CI.
pub fn absent(what: &str) {
    assert_ne!(std::env::var("CI").as_deref(), Ok("true"), "{what}");
    println!("not checked: {what}");
}

/// A driver and where it listens, which it says in its second line; `None` where there is none or it
/// ended.
fn driver() -> Option<(Child, u16)> {
    let mut driver = Command::new("chromedriver")
        .arg("--port=0")
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .ok()?;
    let mut out = BufReader::new(driver.stdout.take()?);
    let mut line = String::new();
    while out.read_line(&mut line).ok()? > 0 {
        if let Some((_, port)) = line.split_once("successfully on port ") {
            let port = port.trim().trim_end_matches('.').parse().ok()?;
            // What it says later must not fill the pipe.
            std::thread::spawn(move || std::io::copy(&mut out, &mut std::io::sink()));
            return Some((driver, port));
        }
        line.clear();
    }
    let _ = driver.wait();
    None
}
