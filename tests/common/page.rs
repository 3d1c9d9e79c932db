//! The page as the program serves it, spoken to over a plain socket; for tests and for benches.
#![allow(dead_code, reason = "each file uses its own part")]

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// No answer takes longer, and nothing is waited for longer: a guard against hanging, not a measure of speed.
const LONGEST: Duration = Duration::from_secs(150);

/// The program serving a folder, ended when it is dropped.
pub struct Page {
    child: Child,
    pub port: u16,
    /// What the addresses of a browser that was let in begin with.
    pub base: String,
    file: String,
}

impl Drop for Page {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

pub struct Answer {
    /// 0 is no answer at all.
    pub status: u16,
    pub text: String,
}

impl Page {
    /// Serves an event in its folder.
    pub fn open(folder: &Path, file: &str) -> Page {
        let mut child = Command::new(env!("CARGO_BIN_EXE_headwater"))
            .args(["open", file])
            .current_dir(folder)
            .env("BROWSER", "true")
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let told = BufReader::new(child.stdout.take().unwrap());
        let line = told.lines().map(Result::unwrap).find(|l| l.contains("http://127.0.0.1:")).unwrap();
        let (host, key) = line.trim().strip_prefix("http://").unwrap().split_once('/').unwrap();
        let port = host.rsplit_once(':').unwrap().1.parse().unwrap();
        let mut page = Page { child, port, base: String::new(), file: file.to_string() };
        let entered = page.ask(&format!("GET /{key} HTTP/1.1"), "", "");
        let to = entered.text.lines().find_map(|l| l.strip_prefix("location: ")).unwrap();
        page.base = to.rsplit_once('/').unwrap().0.to_string();
        page
    }

    pub fn connected(&self) -> TcpStream {
        let stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        stream.set_read_timeout(Some(LONGEST)).unwrap();
        stream
    }

    /// Sends bytes as they are and reads to the end.
    pub fn raw(&self, bytes: &[u8]) -> Answer {
        let mut stream = self.connected();
        let _ = stream.write_all(bytes);
        let mut told = Vec::new();
        let _ = stream.read_to_end(&mut told);
        let text = String::from_utf8_lossy(&told).into_owned();
        Answer { status: text.split(' ').nth(1).and_then(|s| s.parse().ok()).unwrap_or(0), text }
    }

    pub fn ask(&self, line: &str, more: &str, body: &str) -> Answer {
        let head = format!(
            "{line}\r\nHost: 127.0.0.1:{}\r\n{more}Content-Length: {}\r\nConnection: close\r\n\r\n",
            self.port,
            body.len()
        );
        self.raw((head + body).as_bytes())
    }

    pub fn get(&self, path: &str) -> Answer {
        self.ask(&format!("GET {}{path} HTTP/1.1", self.base), "", "")
    }

    pub fn post(&self, path: &str, body: &str) -> Answer {
        let origin = format!("Origin: http://127.0.0.1:{}\r\n", self.port);
        self.ask(&format!("POST {}{path} HTTP/1.1", self.base), &origin, body)
    }

    /// The mark of the event's text, as an address has it.
    pub fn was(&self) -> String {
        let page = self.get(&format!("/event?file={}", self.file)).text;
        let mark = page.split_once("data-was=\"&quot;").unwrap().1.split('&').next().unwrap().to_string();
        format!("%22{mark}%22")
    }

    /// The most memory it ever had, MB, where the system tells.
    pub fn memory(&self) -> Option<usize> {
        most_memory(&self.child)
    }

    /// Whether it ended by itself.
    pub fn ended(&mut self) -> bool {
        let start = Instant::now();
        while start.elapsed() < LONGEST {
            if let Some(status) = self.child.try_wait().unwrap() {
                return status.success();
            }
            std::thread::sleep(Duration::from_millis(50));
        }
        false
    }

    /// Stops it as Ctrl+C does.
    pub fn interrupt(&self) {
        assert!(
            Command::new("kill").args(["-INT", &self.child.id().to_string()]).status().unwrap().success()
        );
    }
}

/// The most memory that a program has had so far, MB, where the system tells.
pub fn most_memory(child: &Child) -> Option<usize> {
    let status = std::fs::read_to_string(format!("/proc/{}/status", child.id())).ok()?;
    let line = status.lines().find_map(|l| l.strip_prefix("VmHWM:"))?;
    Some(line.trim().split(' ').next()?.parse::<usize>().ok()? / 1024)
}
