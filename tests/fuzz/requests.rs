//! Requests to the page: by hand to what answers them, and as bytes through a socket.

use crate::events;
use crate::logs::load;
use crate::run::fuzz;
use crate::spoil::{Corpus, Form};
use crate::texts;
use axum::Router;
use axum::body::Body;
use axum::http::{HeaderMap, HeaderValue, Method, Request, header};
use headwater::error::Result;
use headwater::event::Event;
use headwater::web::{Folder, Keys, LONGEST as LONGEST_BODY, pages, serve};
use std::io::{Read, Write};
use std::net::TcpStream;
use std::sync::LazyLock;
use std::time::Duration;
use tower::ServiceExt;

const PORT: u16 = 8123;
/// A plan made of it takes no time to speak of.
pub const SUPPER: &str = "[event]\nname = \"Supper\"\ndate = 2027-08-14\ndoors = \"16:00\"\nend = \"18:00\"\n\
[[access]]\nfrom = \"14:00\"\nto = \"15:00\"\n[[space]]\nname = \"barn\"\nroom = \"warm barn\"\n\
[[piece]]\nname = \"table\"\nspace = \"barn\"\n[[piece.flower]]\nflower = \"rose\"\nheads = 4\ntreatments = [\"tucked\"]\n";
const TRIALS: &str = "entry,trial,date,at,flower,heads,air,presentable\n\
start,1,2027-06-13,09:00,rose,10,21 C 45 %,\nlook,1,,12:00,,,,7\n";

/// A folder that keeps nothing.
struct Nowhere;

impl Folder for Nowhere {
    fn text(&self, name: &str) -> Result<Option<String>> {
        Ok((name == "supper.toml").then(|| SUPPER.to_string()))
    }
    fn event(&self, name: &str, text: &str) -> Result<Event> {
        Event::read(name, text, &load)
    }
    fn hold(&self, _: &str) -> Result<Box<dyn Send>> {
        Ok(Box::new(()))
    }
    fn save(&self, name: &str, _: &str) -> Result<()> {
        assert!(
            !name.contains(['/', '\\', '\0']) && !name.starts_with('.') && name.ends_with(".toml"),
            "{name:?}"
        );
        Ok(())
    }
    fn keep(&self, name: &str, _: &[u8]) -> Result<()> {
        assert!(!name.contains(['/', '\\', '\0']) && !name.starts_with('.'), "{name:?}");
        Ok(())
    }
    fn names(&self) -> Result<Vec<String>> {
        Ok(vec!["supper.toml".to_string()])
    }
    fn notebook(&self, _: Option<&str>) -> Result<(String, Option<String>)> {
        Ok(("trials.csv".to_string(), Some(TRIALS.to_string())))
    }
    fn log(&self, _: &str) -> std::io::Result<String> {
        Err(std::io::ErrorKind::NotFound.into())
    }
    fn random(&self) -> Result<[u8; 32]> {
        Ok(std::array::from_fn(|i| 3 * i as u8))
    }
    fn address(&self) -> Option<std::net::IpAddr> {
        None
    }
    fn stamp(&self) -> String {
        "20270101T000000Z".to_string()
    }
    fn note(&self, _: &str, change: &mut dyn FnMut(Option<String>) -> Result<String>) -> Result<()> {
        change(Some(TRIALS.to_string())).map(drop)
    }
}

/// What answers, and the key that its addresses begin with.
struct Site {
    pages: Router,
    key: String,
}

thread_local! {
    static SYSTEM: tokio::runtime::Runtime =
        tokio::runtime::Builder::new_current_thread().enable_time().build().expect("a runtime");
}

fn answered(pages: &Router, request: Request<Body>) -> (u16, HeaderMap, Vec<u8>) {
    SYSTEM.with(|system| {
        system.block_on(async {
            let answer = pages.clone().oneshot(request).await.expect("an answer");
            let (head, body) = answer.into_parts();
            let body = axum::body::to_bytes(body, 64 << 20).await.expect("a body of bounded size");
            (head.status.as_u16(), head.headers, body.to_vec())
        })
    })
}

/// The path of the address that lets a browser in, and the key that addresses begin with from then on.
fn keys(port: u16) -> (Keys, String, String) {
    let keys = Keys::new(std::array::from_fn(|i| i as u8));
    let path = keys.address(port).split_once(&format!("127.0.0.1:{port}")).expect("an address").1.to_string();
    let kept: String = (16..32).map(|byte| format!("{byte:02x}")).collect();
    (keys, path, kept)
}

/// A site that knows a browser and has made one plan.
static SITE: LazyLock<Site> = LazyLock::new(|| {
    let (keys, path, key) = keys(PORT);
    let pages = pages(PORT, Box::new(Nowhere), Some("supper.toml".into()), keys);
    let host = format!("127.0.0.1:{PORT}");
    let enter = Request::get(path).header(header::HOST, &host).body(Body::empty()).expect("a request");
    let (status, head, _) = answered(&pages, enter);
    assert!(status == 303 && head[header::LOCATION].as_bytes().starts_with(format!("/{key}/").as_bytes()));
    // The page of a flower makes the plan that papers and sliders are then asked of.
    let plan = Request::get(format!("/{key}/why?file=supper.toml&piece=0&flower=0"))
        .header(header::HOST, &host)
        .body(Body::empty())
        .expect("a request");
    assert_eq!(answered(&pages, plan).0, 200);
    Site { pages, key }
});

/// Statuses that some request deserves.
const STATUSES: &[u16] = &[200, 204, 303, 400, 403, 404, 405, 408, 409, 413, 415, 421, 422];

/// Those of a request that was served.
const SERVED: &[u16] = &[200, 204, 303];

/// A request's text with what only the site knows put in for the words in capitals.
fn own(text: &str, port: u16, key: &str) -> String {
    text.replace("KEY", key).replace("HOST", &format!("127.0.0.1:{port}"))
}

/// Whether a request is served. The text is a line with method and path, heads to the first empty line, then the body.
pub fn answer(text: &str) -> bool {
    let text = own(text, PORT, &SITE.key);
    let (head, body) = text.split_once("\n\n").unwrap_or((&text, ""));
    let mut lines = head.lines();
    let Some((method, path)) = lines.next().and_then(|l| l.split_once(' ')) else { return false };
    let Ok(method) = Method::from_bytes(method.as_bytes()) else { return false };
    let mut request = Request::builder().method(method).uri(path);
    for (name, value) in lines.filter_map(|l| l.split_once(": ")) {
        if let Ok(value) = HeaderValue::from_bytes(value.as_bytes()) {
            request = request.header(name, value);
        }
    }
    // What is no request at all is not ours to answer.
    let Ok(request) = request.body(Body::from(body.to_string())) else { return false };
    let (status, head, told) = answered(&SITE.pages, request);
    assert!(STATUSES.contains(&status), "{status}");
    assert!(
        head.contains_key(header::CONTENT_SECURITY_POLICY)
            && !head.contains_key("access-control-allow-origin")
    );
    assert!(told.len() < 8 * LONGEST_BODY, "{} bytes", told.len());
    let html = head.get(header::CONTENT_TYPE).is_some_and(|t| t.as_bytes().starts_with(b"text/html"));
    if html {
        let told = String::from_utf8(told).expect("text");
        assert!(told.matches("<script").count() <= 1 && !told.contains("<script>"), "a script in a page");
    }
    SERVED.contains(&status)
}

/// What a browser asks for; `often` so many times for once that something is drawn or simulated anew.
fn corpus(often: usize) -> Corpus {
    let heads = "Host: HOST\nOrigin: http://HOST";
    let get = |path: &str| format!("GET /KEY{path}\n{heads}\n\n");
    let mut quick: Vec<String> = [
        "/",
        "/?key=00",
        "/event?file=supper.toml",
        "/event?file=b%20c.toml",
        "/verdict?file=supper.toml",
        "/ask",
        "/why?file=supper.toml&piece=9&flower=0",
        "/home.js",
        "/page.css",
        "/page.js",
        "/favicon.ico",
        "/flowers?q=dah",
        "/flowers?q=%3Cb%3E&q=2",
        "/slide?plan=1&order=1&warmer=3&at=2&treatment=0",
        "/slide?plan=77&order=0&warmer=-8&at=0&treatment=1",
        "/paper?plan=1&name=other.html",
        "/paper?plan=77&name=client.html&page=letter",
        "/days?plan=77",
        "/trials",
        "/trials?done=noted&file=supper.toml",
        "/learned?flower=dahlia",
        "/nothing",
        "/paper.css",
        "/why.js",
        "/trials.js",
    ]
    .map(get)
    .to_vec();
    for path in [
        "/check?file=supper.toml",
        "/check?file=d%C3%AEner.toml",
        "/save?file=a.toml",
        "/save?file=b%20c.toml&was=%2200%22",
        "/plan?file=supper.toml&was=%2200%22&quick=true",
    ] {
        let (start, _) = SUPPER.split_at(100);
        quick.push(format!("POST /KEY{path}\n{heads}\n\n{start}"));
        quick.push(format!("POST /KEY{path}\n{heads}\n\n[event]\nname = \"x\"\n"));
    }
    for (path, form) in [
        (
            "/trial-start",
            "flower=dahlia&date=2027-06-13&at=09%3A00&heads=10&air=21+C+45+%25&lot=&leaves=&weight=",
        ),
        ("/trial-look", "trial=1&at=14%3A00&after=&presentable=5&wilted=&heads=&weight=&air=&note=x"),
        ("/begin", "name=Orchard+lunch&example=&copy="),
        ("/begin", "copy=supper.toml"),
        ("/edit?file=a.toml&was=", "add%3Apiece=&set%3Apiece.%2B.name=bowl&copy%3Apiece.0=&out%3Apiece.1="),
        ("/edit?file=supper.toml&was=%2200%22", "as%3Apiece.0.flower.0.heads=stems"),
        ("/know?file=supper.toml&was=&piece=0&flower=0", "hours=3+h"),
        ("/undo?file=supper.toml&was=", ""),
        ("/phone?file=supper.toml", ""),
        ("/phone-stop?file=supper.toml", ""),
        ("/keep?name=barn.csv", "time,temperature C,humidity %\n2027-08-14 12:00,21,50\n"),
        ("/past-note?file=supper.toml", "piece.0.0=3&left.0.0=4&note=x"),
        ("/trial-look", "trial=1&after=6h&presentable=5&air=22+C+40+%25"),
        ("/trial-undo", "entry=look%2C1%2C%2C12%3A00%2C%2C%2C%2C7"),
    ] {
        quick.push(format!(
            "POST /KEY{path}\n{heads}\nContent-Type: application/x-www-form-urlencoded\n\n{form}"
        ));
    }
    quick.push(format!("HEAD /KEY/\n{heads}\n\n"));
    quick.push(format!("OPTIONS /KEY/save\n{heads}\n\n"));
    quick.extend(texts("tests/found", ".http").into_iter().map(|t| t.1));
    let mut all: Vec<String> = std::iter::repeat_n(quick, often).flatten().collect();
    all.extend(
        [
            "/slide?plan=1&order=0&warmer=3&at=0&treatment=0",
            "/paper?plan=1&name=buying.html",
            "/paper?plan=1&name=client.html",
            "/paper?plan=1&name=run-sheet.pdf",
            "/paper?plan=1&name=run-sheet.ics",
            "/protocol.html",
            "/score",
            "/compare?first=tucked&second=water+tube",
            "/next",
            "/past?file=supper.toml",
        ]
        .map(get),
    );
    Corpus::new(all, Form::Lines(&[':', '?']))
}

#[test]
fn requests_are_answered_or_refused() {
    // The plan that it begins with is no input's time.
    LazyLock::force(&SITE);
    fuzz("web", 2000, &corpus(300), answer);
}

/// The same as bytes, heads and all, to the server itself on the loopback address.
#[test]
fn bytes_on_the_socket_are_answered_or_refused() {
    let (told, port) = std::sync::mpsc::channel();
    let (stop, stopped) = tokio::sync::oneshot::channel::<()>();
    let server = std::thread::spawn(move || {
        let system = tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime");
        system.block_on(async {
            let listener = tokio::net::TcpListener::bind(("127.0.0.1", 0)).await.expect("a port");
            let port = listener.local_addr().expect("an address").port();
            told.send(port).expect("somebody waits");
            let until = async { drop(stopped.await) };
            serve(listener, Box::new(Nowhere), Some("supper.toml".into()), keys(port).0, until).await
        })
    });
    let port = port.recv().expect("a port");
    let key = keys(port).2;
    let ask = |text: &str| -> bool {
        let text = own(text, port, &key);
        let (head, body) = text.split_once("\n\n").unwrap_or((&text, ""));
        let line = head.replacen('\n', " HTTP/1.1\n", 1).replace('\n', "\r\n");
        let bytes = format!("{line}\r\nContent-Length: {}\r\nConnection: close\r\n\r\n{body}", body.len());
        let mut stream = TcpStream::connect(("127.0.0.1", port)).expect("a connection");
        stream.set_read_timeout(Some(Duration::from_secs(15))).expect("a limit");
        let _ = stream.write_all(bytes.as_bytes());
        let mut answer = Vec::new();
        let read = stream.read_to_end(&mut answer);
        assert!(read.is_ok() || read.is_err_and(|e| e.kind() == std::io::ErrorKind::ConnectionReset));
        let status = String::from_utf8_lossy(&answer).split(' ').nth(1).and_then(|s| s.parse().ok());
        // Nothing at all is what bytes get that are no request; what is not HTTP gets a plain refusal.
        assert!(status.is_none_or(|s| STATUSES.contains(&s) || [414, 431].contains(&s)), "{status:?}");
        status.is_some_and(|s| SERVED.contains(&s))
    };
    fuzz("socket", 300, &corpus(60), ask);
    stop.send(()).expect("the server is still there");
    server.join().expect("no panic").expect("no error");
}

#[test]
fn the_supper_is_an_event() {
    assert!(events::read(SUPPER));
}
