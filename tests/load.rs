//! The page under load and under attack, as the program itself serves it: many clients at once, clients that dawdle, paths
//! and heads made to trick it. Everything goes to the loopback address of this computer.
#![cfg(unix)]

#[path = "common/page.rs"]
mod page;

use headwater::event::TEMPLATE;
use page::Page;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::time::{Duration, Instant};

/// Clients at once.
const CLIENTS: usize = 200;
/// More memory than this and something is kept that should not be, MB.
const MOST_MEMORY: usize = 400;

/// The template's supper in a folder of its own, served.
fn supper() -> (Page, tempfile::TempDir) {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("supper.toml"), TEMPLATE).unwrap();
    (Page::open(folder.path(), "supper.toml"), folder)
}

/// Seconds of load: three, or as many as `HEADWATER_LOAD` says.
fn seconds() -> u64 {
    std::env::var("HEADWATER_LOAD").ok().and_then(|s| s.parse().ok()).unwrap_or(3)
}

#[test]
fn two_hundred_clients_at_once_are_all_answered() {
    let (mut page, _folder) = supper();
    let was = page.was();
    assert_eq!(page.post(&format!("/plan?file=supper.toml&was={was}"), "").status, 200);
    let (until, answered, over) =
        (Instant::now() + Duration::from_secs(seconds()), AtomicUsize::new(0), AtomicBool::new(false));
    std::thread::scope(|scope| {
        for client in 0..CLIENTS {
            let (page, answered, over) = (&page, &answered, &over);
            scope.spawn(move || {
                let (mine, mut was) = (format!("client-{client}.toml"), String::new());
                for turn in client.. {
                    let (answer, expected) = match turn % 8 {
                        0 => (page.get("/"), 200),
                        1 => (page.get("/flowers?q=dah"), 200),
                        2 => (page.post("/check?file=supper.toml", TEMPLATE), 204),
                        3 => (page.post("/check?file=supper.toml", "[event]\nnmae = 1\n"), 422),
                        4 => {
                            let saved = page
                                .post(&format!("/save?file={mine}&was={was}"), &format!("turn = {turn}\n"));
                            let mark =
                                saved.text.lines().find_map(|l| l.strip_prefix("etag: ")).unwrap_or_default();
                            was = mark.replace('"', "%22");
                            (saved, 200)
                        }
                        // What keeps every core busy is asked for by one in ten.
                        5 if client % 10 == 0 => {
                            (page.get("/slide?plan=1&order=1&warmer=3&at=2&treatment=0"), 200)
                        }
                        6 if client % 10 == 0 => (page.get("/paper?plan=1&name=client.pdf"), 200),
                        _ => (page.get("/nothing"), 404),
                    };
                    assert_eq!(
                        answer.status,
                        expected,
                        "client {client}, turn {}: {}",
                        turn % 8,
                        answer.text
                    );
                    answered.fetch_add(1, Ordering::Relaxed);
                    if Instant::now() > until || over.load(Ordering::Relaxed) {
                        break;
                    }
                }
            });
        }
    });
    over.store(true, Ordering::Relaxed);
    let memory = page.memory();
    println!("{} answers to {CLIENTS} clients, at most {memory:?} MB", answered.into_inner());
    assert!(memory.is_none_or(|mb| mb < MOST_MEMORY), "{memory:?} MB");
    page.interrupt();
    assert!(page.ended(), "it ends when it is told to");
}

/// Whoever asks for plan after plan and goes away has none of them made.
#[test]
fn plans_that_nobody_waits_for_are_not_made() {
    let (page, _folder) = supper();
    let was = page.was();
    let head = format!(
        "POST {1}/plan?file=supper.toml&was={was} HTTP/1.1\r\nHost: 127.0.0.1:{0}\r\nOrigin: http://127.0.0.1:{0}\r\n\
         Content-Length: 0\r\n\r\n",
        page.port, page.base,
    );
    for _ in 0..CLIENTS {
        page.connected().write_all(head.as_bytes()).unwrap();
    }
    let answer = page.post(&format!("/plan?file=supper.toml&was={was}"), "");
    assert_eq!(answer.status, 200, "{}", answer.text);
    // Plans are numbered as they are made.
    let number: usize =
        answer.text.split_once("data-plan=\\\"").unwrap().1.split('\\').next().unwrap().parse().unwrap();
    assert!(number < CLIENTS / 2, "{number} plans were made");
}

#[test]
fn clients_that_dawdle_are_sent_away_and_hold_nobody_up() {
    let (mut page, _folder) = supper();
    let mut slow: Vec<TcpStream> = (0..CLIENTS)
        .map(|i| {
            let mut stream = page.connected();
            // Nothing at all, half a line, half a head.
            stream
                .write_all(["", "GET / HT", "GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX: "][i % 3].as_bytes())
                .unwrap();
            stream
        })
        .collect();
    assert_eq!(page.get("/").status, 200);
    // One goes on dawdling, a byte at a time, which gains it nothing.
    let mut dawdler = slow.pop().unwrap();
    std::thread::scope(|scope| {
        scope.spawn(move || {
            while dawdler.write_all(b"x").is_ok() {
                std::thread::sleep(Duration::from_millis(200));
            }
        });
        for mut stream in slow {
            let mut told = Vec::new();
            let closed = stream.read_to_end(&mut told);
            assert!(closed.is_ok() || closed.is_err_and(|e| e.kind() == std::io::ErrorKind::ConnectionReset));
            let told = String::from_utf8_lossy(&told);
            assert!(told.is_empty() || told.starts_with("HTTP/1.1 4"), "{told}");
        }
    });
    // Nor do they hold up the end.
    let mut half = page.connected();
    half.write_all(b"GET / HTTP/1.1\r\nHost: ").unwrap();
    assert_eq!(page.get("/").status, 200);
    page.interrupt();
    assert!(page.ended(), "it ends though a request is half sent");
}

#[test]
fn connections_that_say_nothing_make_room_for_those_that_ask() {
    let (page, _folder) = supper();
    let held: Vec<TcpStream> = (0..2 * headwater::web::MOST_CONNECTIONS).map(|_| page.connected()).collect();
    for _ in 0..20 {
        assert_eq!(page.get("/").status, 200, "she is not locked out");
    }
    drop(held);
    assert_eq!(page.get("/").status, 200);
}

#[test]
fn tricks_with_paths_methods_and_heads_get_nowhere() {
    let (page, folder) = supper();
    std::fs::write(folder.path().join("secret.txt"), "a secret").unwrap();
    for path in [
        "/../secret.txt",
        "/..%2fsecret.txt",
        "/%2e%2e/secret.txt",
        "/.%00/secret.txt",
        "//secret.txt",
        "/secret.txt",
        "/paper?plan=1&name=..%2f..%2fsecret.txt",
        "/paper?plan=..%2f1&name=client.html",
        "/paper?plan=1&name=client.html%00.pdf",
        "/page.css/../secret.txt",
        "/page.css%2f..%2fsecret.txt",
        "/\\secret.txt",
        "/paper?plan=18446744073709551616&name=client.html",
        "/event?file=..%2fsecret.txt",
        "/event?file=secret.txt",
        "/slide?plan=1&order=99999999999999999999&warmer=0&at=0&treatment=0",
        "/slide?plan=1&order=0&warmer=inf&at=0&treatment=0",
    ] {
        let answer = page.get(path);
        assert!([400, 404, 409, 421, 422].contains(&answer.status), "{path}: {}", answer.text);
        assert!(!answer.text.contains("a secret"), "{path}");
    }
    for method in ["TRACE", "OPTIONS", "PUT", "DELETE", "PATCH", "CONNECT", "BREW", "get"] {
        let answer = page.ask(&format!("{method} {}/ HTTP/1.1", page.base), "", "");
        assert!([400, 403, 405].contains(&answer.status), "{method}: {}", answer.text);
    }
    let host = format!("Host: 127.0.0.1:{}\r\n", page.port);
    let base = &page.base;
    for (what, bytes) in [
        ("a head without end", format!("GET {base}/ HTTP/1.1\r\n{host}X: {}\r\n\r\n", "x".repeat(2_000_000))),
        ("heads without end", format!("GET {base}/ HTTP/1.1\r\n{host}{}\r\n", "X: y\r\n".repeat(20_000))),
        ("a path without end", format!("GET {base}/{} HTTP/1.1\r\n{host}\r\n", "x".repeat(2_000_000))),
        ("two hosts", format!("GET {base}/ HTTP/1.1\r\n{host}Host: evil.example\r\n\r\n")),
        ("no host", "GET / HTTP/1.1\r\n\r\n".to_string()),
        ("an old protocol", format!("GET {base}/ HTTP/1.0\r\n\r\n")),
        (
            "two lengths",
            format!(
                "POST {base}/check?file=a.toml HTTP/1.1\r\n{host}Content-Length: 1\r\nContent-Length: 2\r\n\r\nab"
            ),
        ),
        ("a length below nothing", format!("POST {base}/check HTTP/1.1\r\n{host}Content-Length: -1\r\n\r\n")),
        ("no protocol", "\0\u{1}\u{2}\r\n\r\n".to_string()),
        ("another protocol", "PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n".to_string()),
        ("a broken piece", {
            let origin = format!("Origin: http://127.0.0.1:{}\r\n", page.port);
            format!(
                "POST {base}/check?file=a.toml HTTP/1.1\r\n{host}{origin}Transfer-Encoding: chunked\r\n\r\nffffffffffffffffff\r\n"
            )
        }),
    ] {
        let answer = page.raw(bytes.as_bytes());
        assert!(answer.status == 0 || (400..500).contains(&answer.status), "{what}: {}", answer.text);
    }
    assert_eq!(page.get("/").status, 200, "it is still there");
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 2);
    assert!(page.memory().is_none_or(|mb| mb < MOST_MEMORY));
}
