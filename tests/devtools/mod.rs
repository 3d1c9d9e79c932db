//! A headless browser, driven by its debugging protocol: the Chrome DevTools Protocol 1.3, over a socket of RFC 6455 (2011).

use crate::common::missing;
use serde_json::{Value, json};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};
use tempfile::TempDir;
use tungstenite::{Message, WebSocket};

/// Nothing in a test takes longer than this.
const PATIENCE: Duration = Duration::from_secs(120);

/// A browser with one page, ended with the test.
pub struct Browser {
    child: Child,
    _profile: TempDir,
    socket: WebSocket<TcpStream>,
    session: Option<String>,
    calls: u64,
    /// What pages complained of: errors, warnings, and what was refused.
    pub complaints: Vec<String>,
}

impl Drop for Browser {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// The command of a browser that is installed here.
fn installed() -> Option<String> {
    let named = std::env::var("CHROMIUM").ok();
    let usual = ["chromium", "chromium-browser", "google-chrome"].map(String::from);
    let answers = |name: &String| {
        Command::new(name).arg("--version").stdout(Stdio::null()).stderr(Stdio::null()).status().is_ok()
    };
    named.into_iter().chain(usual).find(answers)
}

impl Browser {
    /// A fresh one; none where none is installed and checks may be left out.
    pub fn start() -> Option<Browser> {
        let Some(command) = installed() else {
            missing("no Chromium was found; name one in CHROMIUM");
            return None;
        };
        let profile = TempDir::new().unwrap();
        let child = Command::new(command)
            .args([
                "--headless",
                "--no-sandbox",
                "--disable-gpu",
                "--disable-dev-shm-usage",
                "--no-first-run",
            ])
            .args(["--remote-debugging-port=0", "about:blank"])
            .arg(format!("--user-data-dir={}", profile.path().display()))
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        // It writes where it listens into its profile: the port, then the path.
        let told = profile.path().join("DevToolsActivePort");
        let began = Instant::now();
        let (port, path) = loop {
            let text = std::fs::read_to_string(&told).unwrap_or_default();
            if let Some((port, path)) = text.trim().split_once('\n') {
                break (port.parse::<u16>().unwrap(), path.to_string());
            }
            assert!(began.elapsed() < PATIENCE, "the browser does not start");
            std::thread::sleep(Duration::from_millis(50));
        };
        let stream = TcpStream::connect(("127.0.0.1", port)).unwrap();
        stream.set_read_timeout(Some(PATIENCE)).unwrap();
        let address = format!("ws://127.0.0.1:{port}{path}");
        let (socket, _) = tungstenite::client(address, stream).unwrap();
        let (session, calls, complaints) = (None, 0, Vec::new());
        let mut browser = Browser { child, _profile: profile, socket, session, calls, complaints };
        let target = browser.call("Target.createTarget", json!({ "url": "about:blank" }));
        let attach = json!({ "targetId": target["targetId"], "flatten": true });
        browser.session =
            browser.call("Target.attachToTarget", attach)["sessionId"].as_str().map(String::from);
        for domain in ["Page", "Runtime", "Log"] {
            browser.call(&format!("{domain}.enable"), json!({}));
        }
        Some(browser)
    }

    /// Asks the browser for something; what happens meanwhile is remembered.
    pub fn call(&mut self, method: &str, given: Value) -> Value {
        self.calls += 1;
        let mut asked = json!({ "id": self.calls, "method": method, "params": given });
        if let Some(session) = &self.session {
            asked["sessionId"] = json!(session);
        }
        self.socket.send(Message::text(asked.to_string())).unwrap();
        loop {
            let message = self.socket.read().unwrap_or_else(|e| panic!("{method}: {e}"));
            let Message::Text(text) = message else { continue };
            let told: Value = serde_json::from_str(&text).unwrap();
            if told["id"] == json!(self.calls) {
                assert!(told["error"].is_null(), "{method}: {}", told["error"]);
                return told["result"].clone();
            }
            self.remember(&told);
        }
    }

    fn remember(&mut self, told: &Value) {
        let given = &told["params"];
        match told["method"].as_str().unwrap_or_default() {
            "Runtime.exceptionThrown" => self.complaints.push(given["exceptionDetails"].to_string()),
            "Runtime.consoleAPICalled" if given["type"] == "error" || given["type"] == "warning" => {
                self.complaints.push(given["args"].to_string());
            }
            "Log.entryAdded" if given["entry"]["level"] == "error" => {
                self.complaints.push(given["entry"].to_string());
            }
            // Leaving a page with unsaved changes is meant here.
            "Page.javascriptDialogOpening" => {
                self.calls += 1;
                let id = self.calls;
                let yes = json!({ "id": id, "method": "Page.handleJavaScriptDialog", "params": { "accept": true },
                    "sessionId": self.session });
                self.socket.send(Message::text(yes.to_string())).unwrap();
            }
            _ => {}
        }
    }

    /// What an expression of the page comes to, waited for where it is a promise.
    pub fn eval(&mut self, script: &str) -> Value {
        let asked =
            json!({ "expression": script, "awaitPromise": true, "returnByValue": true, "userGesture": true });
        let told = self.call("Runtime.evaluate", asked);
        assert!(told["exceptionDetails"].is_null(), "{script}: {}", told["exceptionDetails"]);
        told["result"]["value"].clone()
    }

    /// An expression that is text.
    pub fn text(&mut self, script: &str) -> String {
        self.eval(script).as_str().unwrap_or_default().to_string()
    }

    /// Waits until an expression is true of a whole page: while one is coming there may be nothing to ask, or half of it.
    pub fn until(&mut self, script: &str) {
        let began = Instant::now();
        let whole = format!("document.readyState == 'complete' && ({script})");
        while self.eval(&format!("(() => {{ try {{ return !!({whole}); }} catch {{ return false; }} }})()"))
            != json!(true)
        {
            assert!(
                began.elapsed() < PATIENCE,
                "never came: {script}\n{}",
                self.text("document.body.innerText")
            );
            std::thread::sleep(Duration::from_millis(50));
        }
    }

    /// Opens an address, and waits until it is all there.
    pub fn open(&mut self, address: &str) {
        self.call("Page.navigate", json!({ "url": address }));
        self.until(&format!(
            "location.href != 'about:blank' && document.readyState == 'complete' && {}",
            true
        ));
    }

    /// A window of so many pixels, in the light or in the dark.
    pub fn window(&mut self, width: u32, height: u32, scheme: &str) {
        let size = json!({ "width": width, "height": height, "deviceScaleFactor": 1, "mobile": false });
        self.call("Emulation.setDeviceMetricsOverride", size);
        let features = json!([{ "name": "prefers-color-scheme", "value": scheme }]);
        self.call("Emulation.setEmulatedMedia", json!({ "features": features }));
    }

    /// Presses a key, with Ctrl or not.
    pub fn press(&mut self, key: &str, ctrl: bool) {
        let (code, text) = match key {
            "Tab" => (9, ""),
            "Enter" => (13, "\r"),
            "ArrowRight" => (39, ""),
            "ArrowLeft" => (37, ""),
            "Escape" => (27, ""),
            "Delete" => (46, ""),
            " " => (32, " "),
            // The code of a sign is that of another key, such as an arrow.
            sign if !sign.starts_with(|c: char| c.is_ascii_alphanumeric()) => (0, sign),
            letter => (letter.to_uppercase().bytes().next().map_or(0, i64::from), letter),
        };
        let mut down = json!({ "type": "keyDown", "key": key, "windowsVirtualKeyCode": code,
            "modifiers": if ctrl { 2 } else { 0 } });
        if ctrl {
            down["commands"] = if key == "a" { json!(["selectAll"]) } else { json!([]) };
        } else if !text.is_empty() {
            down["text"] = json!(text);
        }
        self.call("Input.dispatchKeyEvent", down);
        self.call(
            "Input.dispatchKeyEvent",
            json!({ "type": "keyUp", "key": key, "windowsVirtualKeyCode": code }),
        );
    }

    /// Presses the mouse, or taps, at a place of the window.
    pub fn tap(&mut self, x: f64, y: f64, touch: bool) {
        if touch {
            self.call(
                "Input.dispatchTouchEvent",
                json!({ "type": "touchStart", "touchPoints": [{ "x": x, "y": y }] }),
            );
            self.call("Input.dispatchTouchEvent", json!({ "type": "touchEnd", "touchPoints": [] }));
            return;
        }
        for kind in ["mousePressed", "mouseReleased"] {
            self.call(
                "Input.dispatchMouseEvent",
                json!({ "type": kind, "x": x, "y": y, "button": "left", "clickCount": 1 }),
            );
        }
    }

    /// Types a text, key by key.
    pub fn write(&mut self, text: &str) {
        for letter in text.chars() {
            match letter {
                '\n' => self.press("Enter", false),
                other => self.press(&other.to_string(), false),
            }
        }
    }

    /// Goes on with Tab until the element of that selector has the focus, which must show.
    pub fn tab_to(&mut self, selector: &str) {
        self.tabs_to(selector);
    }

    /// [`Browser::tab_to`], and how often the key was pressed.
    pub fn tabs_to(&mut self, selector: &str) -> u32 {
        for pressed in 1..=400 {
            self.press("Tab", false);
            if self.eval(&format!("document.activeElement?.matches({selector:?})")) == json!(true) {
                let shown = self.eval("getComputedStyle(document.activeElement).outlineStyle != 'none'");
                assert_eq!(shown, json!(true), "the focus on {selector} does not show");
                return pressed;
            }
        }
        panic!("no way to {selector} with the Tab key");
    }

    /// How many sheets the page takes on paper.
    pub fn printed_sheets(&mut self) -> u64 {
        let told = self.call("Page.printToPDF", json!({ "printBackground": false }));
        let data = told["data"].as_str().unwrap();
        self.eval(&format!("(atob({data:?}).match(/\\/Type\\s*\\/Page\\b/g) || []).length")).as_u64().unwrap()
    }
}
