//! The server of `headwater open`, spoken to over a plain socket: whom it answers, what it writes, and that it shows the plan.
//!
//! What an answer must look like is that of RFC 9110 (2022) and RFC 9112 (2022).

use headwater::error::{Problem, Result};
use headwater::event::{Event, TEMPLATE};
use headwater::web::{Folder, Keys, LONGEST, plain_name, serve};
use std::io::{Read, Write};
use std::net::TcpStream;
use std::sync::{Arc, Mutex};

/// A folder in memory, and how often it was asked for anything.
#[derive(Clone, Default)]
struct Memory(Arc<Mutex<std::collections::BTreeMap<String, String>>>);

impl Folder for Memory {
    fn text(&self, name: &str) -> Result<Option<String>> {
        if name.starts_with("unread") {
            return Err(Problem::new(format!("{name} is not a text file")).into());
        }
        Ok(self.0.lock().unwrap().get(name).cloned())
    }
    fn event(&self, name: &str, text: &str) -> Result<Event> {
        Event::read(name, text, &|_| Err(std::io::ErrorKind::NotFound.into()))
    }
    fn hold(&self, _: &str) -> Result<Box<dyn Send>> {
        Ok(Box::new(()))
    }
    fn save(&self, name: &str, text: &str) -> Result<()> {
        if name.starts_with("full") {
            return Err(Problem::new("the disk is full").into());
        }
        self.0.lock().unwrap().insert(name.to_string(), text.to_string());
        Ok(())
    }
    fn keep(&self, name: &str, bytes: &[u8]) -> Result<()> {
        let text = String::from_utf8_lossy(bytes).into_owned();
        match self.0.lock().unwrap().entry(name.to_string()).or_insert_with(|| text.clone()) == &text {
            true => Ok(()),
            false => Err(Problem::new(format!("{name} is there already, and is left as it is")).into()),
        }
    }
    fn names(&self) -> Result<Vec<String>> {
        Ok(self.0.lock().unwrap().keys().filter(|n| n.ends_with(".toml")).cloned().collect())
    }
    fn notebook(&self, _: Option<&str>) -> Result<(String, Option<String>)> {
        Ok(("trials.csv".to_string(), self.text("trials.csv")?))
    }
    fn log(&self, _: &str) -> std::io::Result<String> {
        Err(std::io::ErrorKind::NotFound.into())
    }
    fn random(&self) -> Result<[u8; 32]> {
        Ok(std::array::from_fn(|i| 3 * i as u8))
    }
    fn address(&self) -> Option<std::net::IpAddr> {
        Some(std::net::Ipv4Addr::LOCALHOST.into())
    }
    fn stamp(&self) -> String {
        "20270101T000000Z".to_string()
    }
    fn note(&self, name: &str, change: &mut dyn FnMut(Option<String>) -> Result<String>) -> Result<()> {
        let new = change(self.text(name)?)?;
        self.save(name, &new)
    }
}

/// A server on a port of its own, and a browser that knows it.
struct Server {
    port: u16,
    key: String,
    /// What the addresses of a browser that was let in begin with.
    base: String,
    folder: Memory,
}

struct Answer {
    status: u16,
    head: String,
    body: String,
}

impl Answer {
    fn header(&self, name: &str) -> Option<&str> {
        self.head
            .lines()
            .find_map(|l| l.split_once(": ").filter(|(n, _)| n.eq_ignore_ascii_case(name)).map(|p| p.1))
    }

    /// What stands in the body between two words, or nothing.
    fn part(&self, before: &str, after: &str) -> &str {
        self.body.split_once(before).and_then(|(_, rest)| rest.split_once(after)).map_or("", |p| p.0)
    }
}

impl Server {
    /// Started, and not yet known by any browser.
    fn fresh() -> Server {
        let folder = Memory::default();
        folder.save("supper.toml", TEMPLATE).unwrap();
        let (tell, told) = std::sync::mpsc::channel();
        let given = folder.clone();
        std::thread::spawn(move || {
            let system = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
            system.block_on(async {
                let listener = tokio::net::TcpListener::bind(("127.0.0.1", 0)).await.unwrap();
                let keys = Keys::new(std::array::from_fn(|i| i as u8));
                let port = listener.local_addr().unwrap().port();
                tell.send((port, keys.address(port))).unwrap();
                serve(listener, Box::new(given), Some("supper.toml".into()), keys, std::future::pending())
                    .await
                    .unwrap();
            });
        });
        let (port, address) = told.recv().unwrap();
        let key = address.split_once("/?").unwrap().1.to_string();
        Server { port, key, base: String::new(), folder }
    }

    fn start() -> Server {
        let mut server = Server::fresh();
        server.enter();
        server
    }

    /// Trades the first key for the one that addresses begin with.
    fn enter(&mut self) {
        let answer = self.get(&format!("/?{}", self.key));
        let to = answer.header("location").unwrap();
        assert_eq!((answer.status, answer.header("set-cookie")), (303, None));
        let (base, page) = to.rsplit_once('/').unwrap();
        assert!(page.starts_with("event?file="), "{to}");
        self.base = base.to_string();
    }

    /// Sends bytes as they are, and reads until the server closes.
    fn raw(&self, bytes: &[u8]) -> Answer {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        // A server that turns a long body away may close before it is all sent.
        let _ = stream.write_all(bytes);
        let mut told = Vec::new();
        let _ = stream.read_to_end(&mut told);
        let text = String::from_utf8_lossy(&told);
        let (head, body) = text.split_once("\r\n\r\n").expect("an answer has a head");
        let status = head.split(' ').nth(1).unwrap().parse().unwrap();
        Answer { status, head: head.to_string(), body: body.to_string() }
    }

    fn ask(&self, line: &str, host: &str, more: &str, body: &str) -> Answer {
        self.raw(
            format!(
                "{line} HTTP/1.1\r\nHost: {host}\r\n{more}Content-Length: {}\r\nConnection: close\r\n\r\n{body}",
                body.len()
            )
            .as_bytes(),
        )
    }

    fn host(&self) -> String {
        format!("127.0.0.1:{}", self.port)
    }

    fn get(&self, path: &str) -> Answer {
        self.ask(&format!("GET {}{path}", self.base), &self.host(), "", "")
    }

    fn post(&self, path: &str, body: &str) -> Answer {
        let origin = format!("Origin: http://{}\r\n", self.host());
        self.ask(&format!("POST {}{path}", self.base), &self.host(), &origin, body)
    }
}

#[test]
fn only_the_browser_with_the_key_is_answered() {
    let server = Server::fresh();
    for path in [
        "/",
        "/page.js",
        "/flowers?q=rose",
        "/paper?plan=1&name=client.html",
        "/nothing",
        "/?key=0000",
        "/?key=",
    ] {
        let answer = server.get(path);
        assert_eq!(answer.status, 403, "{path}");
        assert!(!answer.body.contains("textarea"));
    }
    assert_eq!(server.post("/save?file=a.toml", "x").status, 403);
    let known = server.get(&format!("/?{}", server.key));
    assert_eq!(known.status, 303);
    // Good once: whoever finds it in a log later has nothing.
    assert_eq!(server.get(&format!("/?{}", server.key)).status, 403);
    let mut forged = server;
    for base in ["/00", "/", "//", "/0102030405060708090a0b0c0d0e0f10"] {
        forged.base = base.to_string();
        assert_eq!(forged.get("/").status, 403, "{base}");
    }
    assert_eq!(forged.folder.0.lock().unwrap().len(), 1);
}

#[test]
fn other_hosts_and_other_origins_are_turned_away() {
    let server = Server::start();
    let (port, own) = (server.port, server.host());
    for host in
        ["evil.example".to_string(), format!("evil.example:{port}"), "127.0.0.1".to_string(), String::new()]
    {
        assert_eq!(server.ask(&format!("GET {}/", server.base), &host, "", "").status, 421, "{host:?}");
    }
    assert_eq!(
        server.ask(&format!("GET {}/", server.base), &format!("localhost:{port}"), "", "").status,
        200
    );
    for origin in ["http://evil.example", "null", "https://127.0.0.1", "http://127.0.0.1:1"] {
        let more = format!("Origin: {origin}\r\n");
        assert_eq!(
            server.ask(&format!("POST {}/save?file=a.toml", server.base), &own, &more, "x").status,
            403,
            "{origin}"
        );
        assert_eq!(server.ask(&format!("GET {}/", server.base), &own, &more, "").status, 403, "{origin}");
    }
    // A write says where it comes from, or is none.
    assert_eq!(server.ask(&format!("POST {}/save?file=a.toml", server.base), &own, "", "x").status, 403);
    let twice = format!("Origin: http://{own}\r\nOrigin: http://evil.example\r\n");
    assert_eq!(server.ask(&format!("POST {}/save?file=a.toml", server.base), &own, &twice, "x").status, 403);
    assert_eq!(server.folder.0.lock().unwrap().len(), 1);
}

#[test]
fn every_answer_is_dressed_and_nothing_comes_from_elsewhere() {
    let server = Server::start();
    for answer in [
        server.get("/event?file=supper.toml"),
        server.get("/nothing"),
        server.ask("GET /", "evil.example", "", ""),
    ] {
        let policy = answer.header("content-security-policy").unwrap();
        assert!(policy.contains("default-src 'none'") && !policy.contains("unsafe"), "{policy}");
        assert_eq!(answer.header("x-content-type-options"), Some("nosniff"));
        assert!(answer.header("access-control-allow-origin").is_none());
    }
    for path in ["/", "/event?file=supper.toml", "/ask?flower=dahlia&room=warm+barn&hours=6", "/trials"] {
        // The name of the language that pictures are written in is no address that is asked for.
        let page = server.get(path).body.replace("http://www.w3.org/2000/svg", "");
        assert_eq!(page.matches("<h1").count(), 1, "{path}");
        for word in ["http:", "https:", "style=", "onclick", "<style", "href=\"/", "src=\"/"] {
            assert!(!page.contains(word), "{path}: {word}");
        }
    }
    assert!(server.get("/").body.contains("A supper in August"));
}

#[test]
fn a_name_is_a_plain_file_name() {
    let server = Server::start();
    let tricks = [
        "../x.toml",
        "%2e%2e%2fx.toml",
        "%2Fetc%2Fx.toml",
        "/x.toml",
        "a/b.toml",
        "a%5Cb.toml",
        "x.toml%00",
        "x%00.toml",
        ".toml",
        ".x.toml",
        "x",
        "x.txt",
        "C:x.toml",
        "x%0A.toml",
        "",
        "%FF.toml",
    ];
    for name in tricks {
        let answer = server.post(&format!("/save?file={name}"), "x = 1");
        assert!([400, 422].contains(&answer.status), "{name}: {}", answer.status);
    }
    assert_eq!(server.folder.0.lock().unwrap().len(), 1);
    assert!(plain_name("harvest supper, June.toml").is_ok() && plain_name("dîner.toml").is_ok());
    let full = server.post("/save?file=full.toml", "x");
    assert!(full.status == 422 && full.body.contains("the disk is full"));
}

#[test]
fn what_is_too_long_or_not_text_or_not_offered_is_refused() {
    let server = Server::start();
    assert_eq!(server.post("/save?file=a.toml", &"x".repeat(LONGEST + 1)).status, 413);
    // The same in pieces, with no length told beforehand.
    let pieces = format!("{:x}\r\n{}\r\n0\r\n\r\n", LONGEST + 1, "x".repeat(LONGEST + 1));
    let head = format!(
        "POST {1}/save?file=a.toml HTTP/1.1\r\nHost: {0}\r\nOrigin: http://{0}\r\nTransfer-Encoding: chunked\r\n\
         Connection: close\r\n\r\n",
        server.host(),
        server.base
    );
    assert_eq!(server.raw((head.clone() + &pieces).as_bytes()).status, 413);
    let mut bytes = head.replace("Transfer-Encoding: chunked", "Content-Length: 2").into_bytes();
    bytes.extend([0xff, 0xfe]);
    assert_eq!(server.raw(&bytes).status, 400);
    assert_eq!(server.get("/save?file=a.toml").status, 405);
    assert_eq!(server.post("/", "").status, 405);
    assert_eq!(server.post("/slide", "").status, 405);
    assert_eq!(server.get("/nothing").status, 404);
    assert_eq!(server.folder.0.lock().unwrap().len(), 1);
    assert_eq!(server.post("/save?file=a.toml", &"x".repeat(LONGEST)).status, 200);
}

#[test]
fn a_file_changed_elsewhere_is_not_written_over() {
    let server = Server::start();
    let save = |was: &str, text: &str| server.post(&format!("/save?file=supper.toml&was={was}"), text);
    let there = || server.folder.text("supper.toml").unwrap().unwrap();
    let read = server.get("/event?file=supper.toml").part("data-was=\"&quot;", "&quot;").to_string();
    let first = save(&format!("%22{read}%22"), "first = 1");
    assert_eq!(first.status, 200);
    // A second window still holds what was there before; so does one that never read the file.
    for was in [format!("%22{read}%22"), String::new()] {
        let second = save(&was, "second = 2");
        assert!(second.status == 409 && second.body.contains("changed elsewhere"), "{}", second.body);
        assert_eq!(there(), "first = 1");
    }
    // The first window goes on from what it wrote, as often as it likes.
    let held = first.header("etag").unwrap().replace('"', "%22");
    let again = save(&held, "first = 3");
    assert_eq!(again.status, 200);
    // Nothing is lost where both say the same, or where the file has gone.
    assert_eq!(save(&held, "first = 3").status, 200);
    server.folder.0.lock().unwrap().clear();
    assert_eq!(save(&held, "first = 4").status, 200);
    assert_eq!(there(), "first = 4");
    // An editor may have left something that is no text, or the folder may be gone: that is told, too.
    assert_eq!(server.post("/save?file=unread.toml", "x").status, 422);
}

#[test]
fn what_is_saved_is_read_back_to_the_letter() {
    let server = Server::start();
    let text = "\n# é & <b> \"</textarea>\"\n\n[event]\n";
    assert_eq!(server.post("/save?file=new%20one.toml", text).status, 200);
    assert_eq!(server.folder.text("new one.toml").unwrap().as_deref(), Some(text));
    let page = server.get("/event?file=new%20one.toml").body;
    // HTML drops one line break after the tag; the page puts one there to be dropped.
    let shown = page.split_once("\"wrong\">\n").unwrap().1.split_once("</textarea>").unwrap().0;
    let back = shown.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&");
    assert_eq!(back, text);
}

#[test]
fn mistakes_are_told_with_their_line_and_escaped() {
    let server = Server::start();
    let text = TEMPLATE.replace("\"dahlia\"", "\"<script>alert(1)</script>\"");
    let line = text.lines().position(|l| l.contains("<script>")).unwrap() + 1;
    let answer = server.post("/check?file=supper.toml", &text);
    assert_eq!(answer.status, 422);
    assert!(answer.body.contains(&format!("data-line=\"{line}\"")), "{}", answer.body);
    assert!(answer.body.contains("&lt;script&gt;") && !answer.body.contains("<script"));
    assert_eq!(server.post("/check?file=supper.toml", TEMPLATE).status, 204);
}

#[test]
fn the_plan_its_sliders_and_its_papers() {
    let server = Server::start();
    let text = TEMPLATE
        .replace("A supper in August", "<img src=x>")
        .replace("\"long table\"", "\"<script>1</script>\"")
        .replace("dinner =", "\"<i>\" =");
    let plan = planned(&server, "supper.toml", &text);
    let page = server.get("/event?file=supper.toml").body;
    for word in ["<script>", "<img", "<i>", "style=", "onload"] {
        assert!(!plan.contains(word) && !page.contains(word), "{word}");
    }
    assert!(page.contains("&lt;img src=x&gt;") && page.contains("&lt;script&gt;"));
    for word in
        ["Who and when", "To buy", "Other ways", "<svg", "not before", "client.pdf", "role=\"slider\""]
    {
        assert!(plan.contains(word), "{word}");
    }
    let why = server.get("/why?file=supper.toml&piece=0&flower=1").body;
    assert!(
        why.contains("usual delivery") && why.contains("I know better") && !why.contains("<script>"),
        "{why}"
    );
    assert_eq!(server.get("/why?file=supper.toml&piece=0&flower=99").status, 422);
    let slid = |warmer: f64, at: u32, treatment: u32| {
        let answer =
            server.get(&format!("/slide?plan=1&order=1&warmer={warmer}&at={at}&treatment={treatment}"));
        assert_eq!(answer.status, 200, "{}", answer.body);
        serde_json::from_str::<serde_json::Value>(&answer.body).unwrap()
    };
    // Dahlias tucked dry the day before are gone, in bud vases they are not, and heat makes no flower last longer.
    let of_24 = |told: &serde_json::Value| {
        let text = told["text"].as_str().unwrap().to_string();
        match text.split_once("about ") {
            Some((_, rest)) => rest.split(' ').next().unwrap().parse::<u32>().unwrap(),
            None if text.contains("hardly one") => 0,
            None => 24,
        }
    };
    let (dry, hot) = (slid(0.0, 9, 0), slid(8.0, 9, 0));
    assert!(of_24(&slid(0.0, 0, 0)) < 5, "{}", slid(0.0, 0, 0));
    assert!(of_24(&slid(0.0, 0, 3)) > 20 || of_24(&slid(0.0, 0, 2)) > 20);
    assert!(of_24(&hot) <= of_24(&dry));
    assert!(hot["warmer"] == "8 C warmer" && dry["svg"].as_str().unwrap().starts_with("<svg"));
    for wrong in [
        "warmer=9&at=0&treatment=0",
        "warmer=NaN&at=0&treatment=0",
        "warmer=0&at=999&treatment=0",
        "warmer=0&at=0&treatment=99",
    ] {
        assert_eq!(server.get(&format!("/slide?plan=1&order=1&{wrong}")).status, 422, "{wrong}");
    }
    assert_eq!(server.get("/slide?plan=1&order=99&warmer=0&at=0&treatment=0").status, 422);
    assert_eq!(server.get("/slide?plan=7&order=1&warmer=0&at=0&treatment=0").status, 409);
    assert_eq!(server.get("/slide?plan=1").status, 400);
    for paper in ["client", "run-sheet", "buying"] {
        let page = server.get(&format!("/paper?plan=1&name={paper}.html"));
        assert!(page.status == 200 && page.body.contains("paper.css") && !page.body.contains("<style"));
        assert!(!page.body.contains("<script") && !page.body.contains("<img"));
        let printed = server.get(&format!("/paper?plan=1&name={paper}.pdf"));
        assert_eq!(printed.header("content-type"), Some("application/pdf"));
        assert!(printed.body.starts_with("%PDF-"));
    }
    assert_eq!(server.get("/paper?plan=1&name=other.html").status, 404);
    assert_eq!(server.get("/paper?plan=1&name=client.exe").status, 404);
}

/// Saves a text, plans it in full, and returns what is shown of the plan.
fn planned(server: &Server, file: &str, text: &str) -> String {
    let was = server.get(&format!("/event?file={file}")).part("data-was=\"&quot;", "&quot;").to_string();
    let saved = server.post(&format!("/save?file={file}&was=%22{was}%22"), text);
    assert_eq!(saved.status, 200, "{}", saved.body);
    let was = saved.header("etag").unwrap().replace('"', "%22");
    let answer = server.post(&format!("/plan?file={file}&was={was}"), "");
    assert_eq!(answer.status, 200, "{}", answer.body);
    let parts: serde_json::Value = serde_json::from_str(&answer.body).unwrap();
    format!("{}{}", parts["bar"].as_str().unwrap(), parts["below"].as_str().unwrap())
}

#[test]
fn flowers_are_found_by_any_of_their_names() {
    let server = Server::start();
    let found = server.get("/flowers?q=dahl").body;
    assert!(found.contains("Ball dahlia") && found.contains("dahlia-ball"), "{found}");
    assert!(server.get("/flowers?q=%3Cb%3E").body.contains("None known by that name"));
    let blue = server.get("/flowers?q=blue%20spike%20in%20june").body;
    assert!(blue.contains("delphinium") && !blue.contains("standard rose"), "{blue}");
    let alike = server.get("/flowers?q=like%20hydrangea&on=2027-08-14").body;
    assert!(alike.contains("data-edit") && !alike.contains("flower=hydrangea&amp;"), "{alike}");
    assert_eq!(server.get("/flowers?q=").body, "");
}

/// The program itself in a folder of its own, ended with the test.
struct Program(std::process::Child);

impl Drop for Program {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// The program itself, opened on `race.toml` in a folder, and a browser that knows it.
fn opened(folder: &std::path::Path) -> (Program, Server) {
    let mut child = std::process::Command::new(env!("CARGO_BIN_EXE_headwater"))
        .args(["open", "race.toml"])
        .current_dir(folder)
        .stdout(std::process::Stdio::piped())
        .spawn()
        .unwrap();
    let mut told = std::io::BufReader::new(child.stdout.take().unwrap());
    let program = Program(child);
    let mut line = String::new();
    while !line.contains("http://127.0.0.1:") {
        line.clear();
        assert!(std::io::BufRead::read_line(&mut told, &mut line).unwrap() > 0, "no address was told");
    }
    let (host, key) = line.trim().strip_prefix("http://").unwrap().split_once("/?").unwrap();
    let port = host.rsplit_once(':').unwrap().1.parse().unwrap();
    let mut server = Server { port, key: key.to_string(), base: String::new(), folder: Memory::default() };
    server.enter();
    (program, server)
}

/// Each client reads the page, adds a line to what it read, and saves; whatever was saved must still be there in the end.
#[test]
fn two_programs_that_save_one_event_lose_nothing() {
    let root = tempfile::tempdir().unwrap();
    std::fs::write(root.path().join("race.toml"), "lines = 0\n").unwrap();
    // A program that was killed while it wrote left this; nobody holds it any more.
    std::fs::write(root.path().join("race.toml.lock"), "").unwrap();
    let programs = [opened(root.path()), opened(root.path())];
    let saved = std::sync::atomic::AtomicUsize::new(0);
    std::thread::scope(|scope| {
        for client in 0..6 {
            let (server, saved) = (&programs[client % 2].1, &saved);
            scope.spawn(move || {
                for turn in 0..40 {
                    let page = server.get("/event?file=race.toml");
                    let was = page.part("data-was=\"&quot;", "&quot;");
                    let area = page.part("<textarea", "</textarea>");
                    let text =
                        area.split_once(">\n").unwrap().1.to_string() + &format!("c{client} = {turn}\n");
                    let answer = server.post(&format!("/save?file=race.toml&was=%22{was}%22"), &text);
                    assert!([200, 409].contains(&answer.status), "{}", answer.body);
                    saved.fetch_add(usize::from(answer.status == 200), std::sync::atomic::Ordering::Relaxed);
                }
            });
        }
    });
    let lines = std::fs::read_to_string(root.path().join("race.toml")).unwrap().lines().count() - 1;
    let saved = saved.into_inner();
    assert!(lines == saved && saved > 0, "{lines} lines of {saved} that were saved");
    assert_eq!(std::fs::read_dir(root.path()).unwrap().count(), 1, "nothing else is left lying about");
}

#[test]
fn two_saves_at_once_leave_one_whole_file_and_nothing_outside_is_read() {
    let root = tempfile::tempdir().unwrap();
    let folder = root.path().join("inside");
    std::fs::create_dir(&folder).unwrap();
    std::fs::write(root.path().join("outside.csv"), "time,temperature,humidity\n").unwrap();
    let (_program, server) = opened(&folder);
    assert!(server.get("/event?file=race.toml").body.contains("A new event"));
    let texts = ["a", "b"].map(|c| c.repeat(200_000));
    std::thread::scope(|scope| {
        for text in &texts {
            let server = &server;
            scope.spawn(move || {
                for _ in 0..20 {
                    let was =
                        server.get("/event?file=race.toml").part("data-was=\"&quot;", "&quot;").to_string();
                    let answer = server.post(&format!("/save?file=race.toml&was=%22{was}%22"), text);
                    assert!([200, 409].contains(&answer.status), "{}", answer.body);
                }
            });
        }
        for _ in 0..200 {
            if let Ok(there) = std::fs::read_to_string(folder.join("race.toml")) {
                assert!(texts.contains(&there), "a file half written, of {} bytes", there.len());
            }
        }
    });
    assert!(texts.contains(&std::fs::read_to_string(folder.join("race.toml")).unwrap()));
    assert_eq!(std::fs::read_dir(&folder).unwrap().count(), 1, "nothing else is left lying about");
    let reaching = TEMPLATE.replace("room = \"warm barn\"", "log = \"../outside.csv\"");
    let answer = server.post("/check?file=race.toml", &reaching);
    assert!(answer.status == 422 && answer.body.contains("outside the folder"), "{}", answer.body);
    let reaching = TEMPLATE.replace("[event]\n", "[event]\nnotebook = \"../outside.csv\"\n");
    let answer = server.post("/check?file=race.toml", &reaching);
    assert!(answer.status == 422 && answer.body.contains("outside the folder"), "{}", answer.body);
}

/// A form as a browser posts it.
fn form(server: &Server, path: &str, fields: &[(&str, &str)]) -> Answer {
    let plain = |text: &str| -> String {
        text.bytes()
            .map(|b| if b.is_ascii_alphanumeric() { (b as char).to_string() } else { format!("%{b:02X}") })
            .collect()
    };
    let body: Vec<String> = fields.iter().map(|(name, value)| format!("{name}={}", plain(value))).collect();
    let more =
        format!("Origin: http://{}\r\nContent-Type: application/x-www-form-urlencoded\r\n", server.host());
    server.ask(&format!("POST {}{path}", server.base), &server.host(), &more, &body.join("&"))
}

const BEGIN: [(&str, &str); 6] = [
    ("flower", "ball dahlia"),
    ("date", "2027-06-13"),
    ("at", "09:00"),
    ("heads", "10"),
    ("air", "22 C 48 %"),
    ("lot", "<i>Fen</i>, \"June\""),
];

#[test]
fn the_notebook_of_the_page_is_that_of_the_terminal() {
    use headwater::calibrate::notebook::Notebook;
    let server = Server::start();
    assert!(server.get("/trials").body.contains("No trial yet"));
    let begun = form(&server, "/trial-start", &BEGIN);
    assert_eq!((begun.status, begun.header("location")), (303, Some("trials?done=noted#trial-1")));
    for (after, good) in [("2 h", "9"), ("4 h", "4")] {
        let look = [("trial", "1"), ("after", after), ("presentable", good), ("wilted", "0")];
        assert_eq!(form(&server, "/trial-look", &look).status, 303);
    }
    let text = || server.folder.text("trials.csv").unwrap().unwrap();
    let notes = Notebook::read("trials.csv", &text(), &|_| unreachable!("no log")).unwrap();
    let trial = &notes.trials[0];
    assert_eq!((trial.flower.id(), trial.heads, trial.lot.as_deref()), ("dahlia-ball", 10, Some(BEGIN[5].1)));
    let seen: Vec<_> = trial.looks.iter().map(|l| (l.at, l.presentable)).collect();
    assert_eq!(seen, [(11.0, Some(9)), (13.0, Some(4))]);
    let page = server.get("/trials").body;
    assert!(page.contains("&lt;i&gt;Fen&lt;/i&gt;") && !page.contains("<i>Fen"));
    assert!(page.contains("the look of 13:00 at trial 1"), "{page}");
    assert!(server.get("/learned?flower=dahlia").body.contains("After your one trial"));
    assert!(server.get("/protocol.pdf").body.starts_with("%PDF-"));

    // Taken out only if it is still the last.
    let before = text();
    let last = before.lines().last().unwrap().to_string();
    let other = form(&server, "/trial-undo", &[("entry", before.lines().nth(1).unwrap())]);
    assert!(other.status == 422 && other.body.contains("another one by now"), "{}", other.body);
    assert_eq!(text(), before);
    assert_eq!(form(&server, "/trial-undo", &[("entry", &last)]).status, 303);
    assert_eq!(text() + &last + "\n", before);
    // A second press, or the page loaded anew, takes nothing else.
    assert_eq!(form(&server, "/trial-undo", &[("entry", &last)]).status, 422);
}

#[test]
fn how_an_event_went_is_noted_scored_and_compared_on_the_page() {
    let server = Server::start();
    let page = server.get("/past?file=supper.toml").body;
    assert!(page.contains("name=\"good-1\"") && page.contains("How did it go?"), "{page}");
    for (fields, why) in [
        (&[("good-1", "99"), ("set-1", "14:30")][..], "cannot be read"),
        (&[("good-1", "9"), ("set-1", "late")], "cannot be read"),
        (&[("good-1", "9"), ("set-1", "next day 14:30")], "after their last hour"),
        (&[("good-1", "")], "nothing is filled in"),
    ] {
        let wrong = form(&server, "/past-note?file=supper.toml", fields);
        assert!(wrong.status == 422 && wrong.body.contains(why), "{}", wrong.body);
        assert_eq!(server.folder.text("trials.csv").unwrap(), None);
    }
    let told = [
        ("good-0", "38"),
        ("set-0", "day before 18:00"),
        ("good-1", "20"),
        ("set-1", "14:30"),
        ("good-2", ""),
    ];
    let noted = form(&server, "/past-note?file=supper.toml", &told);
    assert_eq!((noted.status, noted.header("location")), (303, Some("trials?file=supper.toml&done=noted")));
    let notes = server.folder.text("trials.csv").unwrap().unwrap();
    assert_eq!(notes.lines().filter(|l| l.starts_with("event,")).count(), 2, "{notes}");
    assert!(server.get("/score?file=supper.toml").body.contains("Held in the 90 % range"));
    assert!(server.get("/next?file=supper.toml").body.contains("Ten heads, looked at every hour"));
    assert_eq!(server.get("/next").status, 422);
    assert_eq!(form(&server, "/trial-start", &BEGIN).status, 303);
    let one = server.get("/compare?first=3&second=3");
    assert!(one.status == 422 && !one.body.contains("headwater trial"), "{}", one.body);
}

#[test]
fn a_note_that_cannot_be_read_is_not_written_and_comes_back_filled_in() {
    let server = Server::start();
    let wrong = |field: usize, value: &'static str| {
        let mut fields = BEGIN;
        fields[field].1 = value;
        let answer = form(&server, "/trial-start", &fields);
        assert_eq!(answer.status, 422, "{value}");
        assert!(
            answer.body.contains("role=\"alert\"") && answer.body.contains("&lt;i&gt;Fen"),
            "{}",
            answer.body
        );
        answer.body
    };
    assert!(wrong(0, "hidrangea").contains("hydrangea"));
    assert!(wrong(0, "").contains("no flower is named"));
    assert!(wrong(1, "soon").contains("2027-06-13"));
    assert!(wrong(2, "").contains("still empty"));
    assert!(wrong(3, "many").contains("number of things"));
    assert!(wrong(4, "nice").contains("nice"));
    assert_eq!(server.folder.text("trials.csv").unwrap(), None);
    assert_eq!(form(&server, "/trial-start", &BEGIN).status, 303);
    let book = server.folder.text("trials.csv").unwrap();
    let look = |fields: &[(&str, &str)]| {
        let answer = form(&server, "/trial-look", fields);
        assert_eq!(answer.status, 422, "{fields:?}");
        assert_eq!(server.folder.text("trials.csv").unwrap(), book);
        answer.body
    };
    look(&[("trial", "1"), ("at", "12:00"), ("presentable", "11")]);
    look(&[("trial", "1"), ("at", "08:00"), ("presentable", "9")]);
    look(&[("trial", "1"), ("at", "12:00")]);
    look(&[("trial", "1"), ("presentable", "9")]);
    assert!(look(&[("trial", "7"), ("at", "12:00"), ("presentable", "9")]).contains("no trial 7"));
    // Another site cannot note anything.
    let more = "Origin: http://evil.example\r\nContent-Type: application/x-www-form-urlencoded\r\n";
    assert_eq!(
        server.ask(&format!("POST {}/trial-undo", server.base), &server.host(), more, "entry=x").status,
        403
    );
    let more = "Origin: null\r\nContent-Type: application/x-www-form-urlencoded\r\n";
    assert_eq!(
        server.ask(&format!("POST {}/trial-undo", server.base), &server.host(), more, "entry=x").status,
        403
    );
}

#[test]
fn papers_are_of_the_event_as_it_stands_and_of_no_other() {
    let server = Server::start();
    server.folder.save("other.toml", &TEMPLATE.replace("A supper in August", "Another one")).unwrap();
    planned(&server, "supper.toml", &TEMPLATE.replace("heads = 24", "heads = 23"));
    planned(&server, "other.toml", &TEMPLATE.replace("A supper in August", "Another one at last"));
    // Two windows on two events: each has its own papers.
    assert!(server.get("/paper?plan=1&name=client.html").body.contains("A supper in August"));
    assert!(server.get("/paper?plan=2&name=client.html").body.contains("Another one at last"));
    // A change that is not planned yet leaves no paper; once it is taken back, the paper is that of the event again.
    let was = server.get("/event?file=supper.toml").part("data-was=\"&quot;", "&quot;").to_string();
    let edited =
        form(&server, &format!("/edit?file=supper.toml&was=%22{was}%22"), &[("set:event.end", "23:30")]);
    assert_eq!(edited.status, 200, "{}", edited.body);
    for path in
        ["/paper?plan=1&name=client.html", "/days?plan=1", "/slide?plan=1&order=1&warmer=0&at=0&treatment=0"]
    {
        assert_eq!(server.get(path).status, 409, "{path}");
    }
    let was = edited.header("etag").unwrap().replace('"', "%22");
    assert_eq!(server.post(&format!("/undo?file=supper.toml&was={was}"), "").status, 200);
    assert_eq!(server.get("/paper?plan=1&name=client.html").status, 200);
    // What the notebook teaches since then makes a plan old, too.
    assert_eq!(server.post("/plan?file=supper.toml&was=%2200%22", "").status, 409);
}

#[test]
fn an_event_is_edited_in_place_and_every_edit_is_taken_back() {
    let server = Server::start();
    let there = || server.folder.text("supper.toml").unwrap().unwrap();
    let mut was = server.get("/event?file=supper.toml").part("data-was=\"&quot;", "&quot;").to_string();
    was = format!("%22{was}%22");
    let edits: [&[(&str, &str)]; 5] = [
        &[("set:event.name", "<b>\"Orchard\"</b>\n[x]")],
        &[("add:piece", ""), ("set:piece.%2B.name", "bowl"), ("set:piece.%2B.space", "barn")],
        &[("copy:piece.0", "")],
        &[("as:piece.0.flower.1.heads", "stems")],
        &[("out:piece.0", "")],
    ];
    let mut before = Vec::new();
    for edit in edits {
        before.push(there());
        let answer = form(&server, &format!("/edit?file=supper.toml&was={was}"), edit);
        assert_eq!(answer.status, 200, "{}", answer.body);
        was = answer.header("etag").unwrap().replace('"', "%22");
        assert_ne!(before.last().unwrap(), &there());
    }
    assert!(there().contains("# A headwater event."), "comments stay");
    for text in before.iter().rev() {
        let answer = server.post(&format!("/undo?file=supper.toml&was={was}"), "");
        assert_eq!(answer.status, 200, "{}", answer.body);
        was = answer.header("etag").unwrap().replace('"', "%22");
        assert_eq!(&there(), text);
    }
    assert_eq!(server.post(&format!("/undo?file=supper.toml&was={was}"), "").status, 409, "nothing is left");
    // Where the file already is as it was before, taking that back takes nothing else.
    for name in ["One", "Two"] {
        let answer = form(&server, &format!("/edit?file=supper.toml&was={was}"), &[("set:event.name", name)]);
        was = answer.header("etag").unwrap().replace('"', "%22");
    }
    let one = TEMPLATE.replacen("A supper in August", "One", 1);
    server.folder.save("supper.toml", &one).unwrap();
    for text in [&one, TEMPLATE] {
        let answer = server.post(&format!("/undo?file=supper.toml&was={was}"), "");
        assert_eq!((answer.status, there().as_str()), (200, text), "{}", answer.body);
        was = answer.header("etag").unwrap().replace('"', "%22");
    }
    assert_eq!(there(), TEMPLATE);
    // An edit of a text that the page has not seen changes nothing, and neither does one that is none.
    assert_eq!(form(&server, "/edit?file=supper.toml&was=%2200%22", &[("set:event.name", "x")]).status, 409);
    for what in ["set", "set:", "set:a b", "rm:event", "set:event.\u{e9}", "as:piece.0.flower.0.heads"] {
        assert_eq!(
            form(&server, &format!("/edit?file=supper.toml&was={was}"), &[(what, "a.b")]).status,
            422,
            "{what}"
        );
    }
    assert_eq!(there(), TEMPLATE);
}

#[test]
fn an_event_begins_from_nothing_from_an_example_or_from_another() {
    let server = Server::start();
    for (fields, file) in [
        (("name", "Orchard lunch / 3 <b>"), "Orchard lunch 3 b.toml"),
        (("name", "../x"), "x.toml"),
        (("name", ""), "event.toml"),
        (("name", ""), "event 2.toml"),
        (("example", "night-before"), "night-before.toml"),
        (("copy", "supper.toml"), "supper copy.toml"),
        // That name is taken by what holds for every event.
        (("name", "habits"), "habits 2.toml"),
        (("name", "Habits"), "Habits 2.toml"),
    ] {
        let begun = form(&server, "/begin", &[fields]);
        let to = format!("event?file={}", file.replace(' ', "%20"));
        assert_eq!((begun.status, begun.header("location")), (303, Some(to.as_str())), "{}", begun.body);
        assert!(server.folder.text(file).unwrap().is_some());
    }
    assert!(!server.folder.text("supper copy.toml").unwrap().unwrap().contains("date = "));
    for wrong in ["nothing.toml", "../supper.toml", "trials.csv"] {
        assert_eq!(form(&server, "/begin", &[("copy", wrong)]).status, 422, "{wrong}");
    }
    let list = server.get("/").body;
    assert!(list.contains("Orchard lunch / 3 &lt;b&gt;") && list.contains("no day yet"), "{list}");
    assert!(server.get("/verdict?file=event.toml").body.contains("Not complete yet"));
    assert!(server.get("/verdict?file=supper.toml").body.contains("<svg"));
}

/// The link for a phone: a private address, a code that is good once, reading and ticking, and nothing else.
#[test]
fn a_phone_is_let_in_by_a_code_to_read_and_tick_alone() {
    let server = Server::start();
    let told = form(&server, "/phone?file=supper.toml", &[]);
    assert_eq!(told.status, 200, "{}", told.body);
    let port: u16 = told.part("http://127.0.0.1:", "<").parse().unwrap();
    let code = told.part("<b id=\"code\">", "<").to_string();
    assert!(code.len() == 6 && port != server.port, "{}", told.body);
    let mut phone = Server { port, key: String::new(), base: String::new(), folder: server.folder.clone() };
    // No key of the laptop opens anything here, and nothing of the laptop is here.
    assert!(phone.get("/").body.contains("The code that the laptop shows"));
    for path in
        [format!("{}/", server.base), format!("{}/event?file=supper.toml", server.base), "/00/".to_string()]
    {
        assert!([403, 404].contains(&phone.get(&path).status), "{path}");
    }
    for host in ["evil.example", "127.0.0.1", "localhost"] {
        assert_eq!(phone.ask("GET /", host, "", "").status, 421, "{host}");
    }
    assert_eq!(
        phone.ask("POST /pair", &phone.host(), "Origin: http://evil.example\r\n", "code=1").status,
        403
    );
    assert_eq!(phone.ask("POST /pair", &phone.host(), "", "code=1").status, 403);
    let wrong = if code == "000000" { "000001" } else { "000000" };
    assert_eq!(form(&phone, "/pair", &[("code", wrong)]).status, 403);
    let paired = form(&phone, "/pair", &[("code", &code)]);
    assert_eq!(paired.status, 303);
    let base = paired.header("location").unwrap().trim_end_matches('/').to_string();
    // Good once; the address that the phone has goes on, also after a reload.
    assert_eq!(form(&phone, "/pair", &[("code", &code)]).status, 403);
    phone.base = base;
    let before = server.folder.0.lock().unwrap().clone();
    for _ in 0..2 {
        let day = phone.get("/");
        assert!(
            day.status == 200 && day.body.contains("A supper in August") && day.body.contains("Person 1"),
            "{}",
            day.body
        );
    }
    let line = phone.get("/").part("name=\"line\" value=\"", "\"").to_string();
    assert_eq!(form(&phone, "/tick", &[("line", &line)]).status, 303);
    assert_eq!(phone.get("/").body.matches("\u{2713} done").count(), 1);
    // What is changed on the laptop is not done, and what is as it was still is.
    let earlier = server.folder.text("supper.toml").unwrap().unwrap();
    let sooner = earlier.replacen("doors = \"17:00\"", "doors = \"16:00\"", 1);
    assert_ne!(earlier, sooner);
    server.folder.save("supper.toml", &sooner).unwrap();
    assert_eq!(phone.get("/").body.matches("\u{2713} done").count(), 0);
    server.folder.save("supper.toml", &earlier).unwrap();
    assert_eq!(phone.get("/").body.matches("\u{2713} done").count(), 1);
    assert_eq!(form(&phone, "/tick", &[("line", &line)]).status, 303);
    assert_eq!(phone.get("/").body.matches("\u{2713} done").count(), 0);
    for path in [
        "/edit?file=supper.toml&was=",
        "/save?file=supper.toml",
        "/begin",
        "/trial-start",
        "/phone?file=supper.toml",
    ] {
        assert!([404, 405].contains(&form(&phone, path, &[("name", "x")]).status), "{path}");
    }
    assert_eq!(*server.folder.0.lock().unwrap(), before, "nothing is written");
    for header in ["content-security-policy", "x-content-type-options", "referrer-policy"] {
        assert!(phone.get("/").header(header).is_some(), "{header}");
    }
    // Five wrong codes close the way in.
    let told = form(&server, "/phone?file=supper.toml", &[]);
    let port: u16 = told.part("http://127.0.0.1:", "<").parse().unwrap();
    let other = Server { port, key: String::new(), base: String::new(), folder: server.folder.clone() };
    for _ in 0..5 {
        assert_eq!(form(&other, "/pair", &[("code", wrong)]).status, 403);
    }
    assert_eq!(form(&other, "/pair", &[("code", &code)]).status, 403);
    // Closed, it is gone, and so was the first one when the second was opened.
    assert_eq!(form(&server, "/phone-stop?file=supper.toml", &[]).status, 303);
    std::thread::sleep(std::time::Duration::from_millis(300));
    for port in [other.port, phone.port] {
        assert!(TcpStream::connect(("127.0.0.1", port)).is_err(), "{port}");
    }
}

#[test]
fn habits_are_a_form_and_count_for_every_event() {
    let server = Server::start();
    let page = server.get("/event?file=habits.toml").body;
    assert!(page.contains("My habits") && page.contains("Kept for every event"), "{page}");
    let edits = [
        ("set:crew.hourly", "EUR 31"),
        ("add:tubes", ""),
        ("set:tubes.%2B.volume", "10 ml"),
        ("set:prices.rose", "EUR 2"),
    ];
    let edited = form(&server, "/edit?file=habits.toml&was=", &edits);
    assert_eq!(edited.status, 200, "{}", edited.body);
    let text = server.folder.text("habits.toml").unwrap().unwrap();
    assert!(text.contains("hourly = \"EUR 31\"") && text.contains("rose = \"EUR 2\""), "{text}");
    let was = edited.header("etag").unwrap().replace('"', "%22");
    let wrong = form(&server, &format!("/edit?file=habits.toml&was={was}"), &[("set:crew.hourly", "much")]);
    assert!(wrong.status == 200 && wrong.body.contains("Wage cannot be"), "{}", wrong.body);
}

/// No key of the file, no heading of it and no command of the terminal is a word of the page.
#[test]
fn what_is_wrong_is_said_at_its_field_in_words_of_the_page() {
    let server = Server::start();
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/wrong-events");
    let mut shown = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let Ok(text) = std::fs::read_to_string(&path) else { continue };
        server.folder.save("wrong.toml", &text).unwrap();
        let page = server.get("/event?file=wrong.toml");
        assert_eq!(page.status, 200, "{}", path.display());
        for told in page.body.split("class=\"wrong\"").skip(1).filter_map(|rest| rest.split_once("</p>")) {
            // A piece of the file that is quoted back is hers.
            let plain: String = told.0.split("&quot;").step_by(2).collect::<String>();
            let words = plain.split_once('>').map_or("", |p| p.1).split("<button").next().unwrap();
            if told.0.contains("cannot be read as it stands") {
                continue;
            }
            for word in ["`", "[[", "headwater", " = "] {
                assert!(!words.contains(word), "{}: {word} in {words}", path.display());
            }
            shown += 1;
        }
    }
    assert!(shown > 100, "{shown}");
}

#[test]
fn papers_are_kept_as_files() {
    let server = Server::start();
    planned(&server, "supper.toml", &TEMPLATE.replace("A supper in August", "Another one"));
    for (name, kind, begins) in [
        ("run-sheet.csv", "text/csv", "person,"),
        ("run-sheet.ics", "text/calendar", "BEGIN:VCALENDAR"),
        ("buying.csv", "text/csv", ""),
        ("take-along.html", "text/html", "<!DOCTYPE html>"),
    ] {
        let answer = server.get(&format!("/paper?plan=1&name={name}"));
        assert!(answer.header("content-type").unwrap().starts_with(kind), "{name}");
        assert!(answer.header("content-disposition").unwrap().starts_with("attachment"), "{name}");
        assert!(answer.body.starts_with(begins), "{name}: {}", &answer.body[..40.min(answer.body.len())]);
    }
    let letter = server.get("/paper?plan=1&name=client.pdf&page=letter").body;
    assert!(letter.contains("612") && letter.starts_with("%PDF-"));
    let days = server.get("/days?plan=1").body;
    assert!(days.contains("<svg") && days.contains("hotter"), "{days}");
    assert_eq!(server.get("/days?plan=9").status, 409);
}

#[test]
fn a_loggers_file_is_kept_beside_the_event_and_none_is_written_over() {
    let server = Server::start();
    let kept = |name: &str, text: &str| server.post(&format!("/keep?name={name}"), text).status;
    assert_eq!(kept("barn.csv", "time,C,%\n10:00,21,45\n"), 204);
    assert_eq!(kept("barn.csv", "time,C,%\n10:00,21,45\n"), 204, "the same once more");
    assert_eq!(kept("barn.csv", "time,C,%\n10:00,31,45\n"), 422);
    assert!(server.folder.text("barn.csv").unwrap().unwrap().contains("21,45"));
    for name in ["..%2Fbarn.csv", "supper.toml", ".csv", "a%2Fb.csv", "%1B.csv"] {
        assert_eq!(kept(name, "x"), 422, "{name}");
    }
    // A summer of every five minutes is longer than any event.
    let summer = "2027-06-01 10:00,21,45\n".repeat(2 * LONGEST / 23);
    assert_eq!(kept("summer.csv", &summer), 204);
    assert_eq!(kept("years.csv", &"x".repeat((8 << 20) + 1)), 413);
}

/// A day may be written in words in the file; a browser's field for days knows one writing alone, and would send the day back
/// as none.
#[test]
fn a_day_in_words_is_shown_as_the_browser_reads_days() {
    let server = Server::start();
    for (written, shown) in [("\"14 August 2027\"", "2027-08-14"), ("2027-08-14", "2027-08-14")] {
        let file = TEMPLATE.replacen("date = 2027-08-14", &format!("date = {written}"), 1);
        server.folder.save("words.toml", &file).unwrap();
        let page = server.get("/event?file=words.toml").body;
        assert!(page.contains(&format!("type=\"date\" value=\"{shown}\"")), "{written}");
    }
}

/// The scripts are plain scripts: of two functions of one name the later one would be called for both.
#[test]
fn no_script_of_the_page_says_one_name_twice() {
    for (file, script) in [
        ("page.js", include_str!("../src/web/page.js")),
        ("home.js", include_str!("../src/web/home.js")),
        ("why.js", include_str!("../src/web/why.js")),
        ("trials.js", include_str!("../src/web/trials.js")),
        ("take_along.js", include_str!("../src/report/render/take_along.js")),
    ] {
        let mut names: Vec<&str> = script
            .lines()
            .filter_map(|line| line.strip_prefix("async ").unwrap_or(line).strip_prefix("function "))
            .filter_map(|rest| rest.split('(').next())
            .collect();
        let all = names.len();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), all, "{file}");
    }
    assert!(include_str!("../src/web/page.js").contains("\nasync function keepReadings("));
}
