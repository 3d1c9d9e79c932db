//! Texts spoilt at random, by the thousand: whatever is written, the program reads it or refuses it, and never breaks.
//!
//! Each input is a text of the corpus (the demo, the wrong events, what was found before) with a few mutations drawn from a
//! counter, so that every input has a number and can be made again. A run in passing takes a few thousand of each kind;
//! `HEADWATER_FUZZ=1000000 cargo test --release --test fuzz -- --nocapture --test-threads 1` takes as many as it says. Then
//! a watch ends the program with the input that takes longer than [`LONGEST`]. What breaks is written beside the tests'
//! other temporary files, and belongs into `tests/found/` once it is mended.

use axum::body::Body;
use axum::http::{HeaderValue, Method, Request, header};
use headwater::calibrate::notebook::{Notebook, with_entry, without_last};
use headwater::climate::Climate;
use headwater::climate::record::Record;
use headwater::error::{Error, Problem, Result};
use headwater::event::{Event, TEMPLATE};
use headwater::simulate::random::Key;
use headwater::units::*;
use headwater::web::{Folder, Keys, LONGEST as LONGEST_BODY, pages};
use rand::RngExt;
use rand::seq::IndexedRandom;
use std::collections::BTreeMap;
use std::fmt::Display;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::str::FromStr;
use std::sync::atomic::{AtomicBool, AtomicU32, AtomicUsize, Ordering};
use std::sync::{LazyLock, Mutex};
use std::time::{Duration, Instant};
use tower::ServiceExt;

/// No input takes longer than this.
const LONGEST: Duration = Duration::from_secs(20);
/// Inputs are cut to this many bytes.
const MOST_BYTES: usize = 32 * 1024;
/// More memory than this, MB, and something grows without bound.
const MOST_MEMORY: usize = 1024;

fn folder(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(name)
}

/// The texts of a folder whose names end so, by name.
fn texts(name: &str, ending: &str) -> Vec<(String, String)> {
    let Ok(entries) = std::fs::read_dir(folder(name)) else { return Vec::new() };
    let mut paths: Vec<PathBuf> = entries.map(|e| e.expect("an entry").path()).collect();
    paths.sort();
    let named = |p: PathBuf| {
        let name = p.file_name()?.to_str()?.to_string();
        name.ends_with(ending)
            .then(|| (name, String::from_utf8_lossy(&std::fs::read(&p).expect("a file")).into_owned()))
    };
    paths.into_iter().filter_map(named).collect()
}

/// The logs that events and notebooks may name.
static LOGS: LazyLock<BTreeMap<String, String>> =
    LazyLock::new(|| texts("tests/wrong-events", ".csv").into_iter().collect());

fn load(name: &str) -> std::io::Result<String> {
    LOGS.get(name).cloned().ok_or_else(|| std::io::ErrorKind::NotFound.into())
}

/// Words that mean something somewhere.
const WORDS: &[&str] = &[
    "[event]",
    "[[space]]",
    "[[piece]]",
    "[[piece.flower]]",
    "[[piece.move]]",
    "[[access]]",
    "[crew]",
    "[[tubes]]",
    "[[chore]]",
    "[space.building]",
    "[[space.guests]]",
    "[[space.hour]]",
    "[travel]",
    "[target]",
    "[marks]",
    " = ",
    "\"",
    "\"\"\"",
    "'''",
    "#",
    "\n",
    "\r\n",
    "\t",
    "{",
    "}",
    "[",
    "]",
    ",",
    ";",
    "\u{feff}",
    "\u{0}",
    "é",
    "𝄞",
    "−",
    "°",
    "½",
    "NaN",
    "nan",
    "inf",
    "-inf",
    "1e308",
    "1e-308",
    "-0",
    "0",
    "-1",
    "1",
    "99999999999999999999",
    "4294967296",
    "65536",
    "0x7f",
    "1_000",
    "1,000",
    "24:00",
    "00:00",
    "12:60",
    "23:59:60",
    "day before 18:00",
    "next day 00:30",
    "3 days before 18:00",
    "7 days later 24:00",
    "noon",
    "midnight",
    "12 am",
    "4 pm",
    "2027-02-29",
    "2028-02-29",
    "-9999-01-01",
    "9999-12-31",
    "2027-08-14T14:30",
    "2027-08-14 14:30Z",
    "2027-10-31 02:30+02:00",
    "22 C",
    "72 F",
    "-20 C",
    "60 C",
    "140F",
    "100 %",
    "1 %",
    "0.5",
    "4500 m",
    "-400 m",
    "60 days",
    "1h 30",
    "£1.20",
    "1.20 EUR",
    "kr",
    "dahlia",
    "hydrangea",
    "ruscus",
    "wired",
    "water tube",
    "bud vase",
    "warm barn",
    "full sun",
    "cool store",
    "true",
    "false",
    "start",
    "look",
    "event",
    "undo",
    "afternoon.csv",
    "gap.csv",
    "whole-day.csv",
    "../x.csv",
    "<script>",
    "&amp;",
    "%00",
    "%2e%2e%2f",
    "\\",
    "..",
];

/// A text of the corpus, spoilt a few times.
fn spoilt(corpus: &[String], generator: &mut impl rand::Rng) -> String {
    let mut text = corpus.choose(generator).expect("a corpus").clone().into_bytes();
    for _ in 0..*[1, 1, 1, 2, 2, 3, 5].choose(generator).expect("a number") {
        let at = generator.random_range(0..=text.len());
        let to = (at + generator.random_range(0..40)).min(text.len());
        let lines: Vec<usize> =
            text.iter().enumerate().filter(|(_, b)| **b == b'\n').map(|(i, _)| i + 1).collect();
        let line = |generator: &mut _| lines.choose(generator).copied().unwrap_or(0);
        match generator.random_range(0..10) {
            0 => {
                text.splice(at..to, []);
            }
            1 | 2 => {
                let word = WORDS.choose(generator).expect("words");
                text.splice(at..at, word.bytes());
            }
            3 => {
                let word = WORDS.choose(generator).expect("words");
                text.splice(at..to, word.bytes());
            }
            4 => {
                let again = text[at..to].to_vec();
                text.splice(at..at, again.repeat(generator.random_range(1..30)));
            }
            5 => {
                // A line, or a few, elsewhere.
                let (from, into) = (line(generator), line(generator));
                let end = lines.iter().copied().find(|l| *l > from).unwrap_or(text.len());
                let moved = text[from..end].to_vec();
                text.splice(into..into, moved);
            }
            6 => {
                // A value given another's.
                if let Some(equals) = text[at..].iter().position(|b| *b == b'=' || *b == b',') {
                    let from = at + equals + 1;
                    let end = text[from..]
                        .iter()
                        .position(|b| *b == b'\n' || *b == b',')
                        .map_or(text.len(), |n| from + n);
                    let word = WORDS.choose(generator).expect("words");
                    let quoted =
                        if generator.random_bool(0.5) { format!(" \"{word}\"") } else { format!(" {word}") };
                    text.splice(from..end, quoted.bytes());
                }
            }
            7 => {
                if let Some(byte) = text.get_mut(at) {
                    *byte = generator.random_range(0..=255);
                }
            }
            8 => {
                let other = corpus.choose(generator).expect("a corpus").as_bytes();
                let from = generator.random_range(0..=other.len());
                text.splice(at..to, other[from..(from + 200).min(other.len())].iter().copied());
            }
            _ => text.truncate(to.max(1)),
        }
        text.truncate(MOST_BYTES);
    }
    String::from_utf8_lossy(&text).into_owned()
}

/// The most memory this program ever had, MB, where the system tells.
fn memory() -> Option<usize> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|l| l.strip_prefix("VmHWM:"))?;
    Some(line.trim().split(' ').next()?.parse::<usize>().ok()? / 1024)
}

/// Holds `test` against so many spoilt texts; `test` says whether a text was taken.
fn fuzz(name: &str, usual: u32, corpus: &[String], test: impl Fn(&str) -> bool + Sync) {
    let asked = std::env::var("HEADWATER_FUZZ").ok().map(|n| n.replace('_', "").parse().expect("a count"));
    let count: u32 = asked.unwrap_or(usual);
    let key = Key::named(1, name);
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    // Threads of their own: what is tested shares out work among those of the program.
    let begun: Vec<Mutex<Option<(Instant, String)>>> = (0..threads).map(|_| Mutex::default()).collect();
    let next = AtomicU32::new(0);
    let (over, taken, broken) = (AtomicBool::new(false), AtomicUsize::new(0), Mutex::new(Vec::new()));
    let start = Instant::now();
    let work = &|slot: &Mutex<Option<(Instant, String)>>| {
        while let Some(number) = Some(next.fetch_add(1, Ordering::Relaxed)).filter(|n| *n < count) {
            let text = spoilt(corpus, &mut key.generator(number));
            if asked.is_some() {
                *slot.lock().expect("a slot") = Some((Instant::now(), text.clone()));
            }
            match catch_unwind(AssertUnwindSafe(|| test(&text))) {
                Ok(fine) => {
                    taken.fetch_add(usize::from(fine), Ordering::Relaxed);
                }
                Err(_) => {
                    broken.lock().expect("a list").push((number, keep(name, &number.to_string(), &text)))
                }
            }
            if asked.is_some() {
                *slot.lock().expect("a slot") = None;
            }
        }
    };
    std::thread::scope(|scope| {
        if asked.is_some() {
            scope.spawn(|| {
                while !over.load(Ordering::Relaxed) {
                    std::thread::sleep(Duration::from_millis(200));
                    for slot in &begun {
                        if let Some((since, text)) = &*slot.lock().expect("a slot")
                            && since.elapsed() > LONGEST
                        {
                            let path = keep(name, "hangs", text);
                            eprintln!("{name}: more than {LONGEST:?} for {}", path.display());
                            std::process::exit(1);
                        }
                    }
                }
            });
        }
        let workers: Vec<_> = begun.iter().map(|slot| scope.spawn(move || work(slot))).collect();
        workers.into_iter().for_each(|w| w.join().expect("a worker"));
        over.store(true, Ordering::Relaxed);
    });
    let (taken, broken) = (taken.into_inner(), broken.into_inner().expect("a list"));
    println!(
        "{name}: {count} inputs, {taken} taken, {} broke, {:.0?}, at most {:?} MB",
        broken.len(),
        start.elapsed(),
        memory()
    );
    assert!(broken.is_empty(), "{name} breaks on {:?}", &broken[..broken.len().min(5)]);
    assert!(memory().is_none_or(|mb| mb < MOST_MEMORY), "{:?} MB", memory());
    // A corpus of nothing but refusals would test the first line of a reader.
    assert!(taken > count as usize / 200 && taken < count as usize, "{taken} of {count} are taken");
}

/// Puts a text where it can be looked at.
fn keep(name: &str, what: &str, text: &str) -> PathBuf {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("{name}-{what}"));
    let _ = std::fs::write(&path, text);
    path
}

/// A refusal says something, in bounded length and without characters that move the cursor.
fn refused(error: &Error) {
    let shown = error.to_string();
    assert!(!error.problems.is_empty() && shown.len() > 10);
    // A problem may quote what it read once as a whole, twice as it is shown.
    assert!(shown.len() < 60 * 2000 + 4 * MOST_BYTES, "{} bytes", shown.len());
    assert!(!shown.contains(|c: char| c.is_control() && c != '\n' && c != '\t'), "{shown:?}");
    for place in error.problems.iter().filter_map(|p| p.place.as_ref()) {
        assert!(place.line >= 1 && place.column >= 1 && place.width >= 1 && place.lead < 1 << 16);
    }
}

/// Air that is air, at all hours.
fn sane(climate: &Climate) {
    for hour in (-200..=200).step_by(5) {
        let air = climate.at(f64::from(hour));
        assert!((-80.0..=120.0).contains(&air.temperature_c), "{air:?}");
        assert!(air.vapour_pressure > 0.0 && air.relative_humidity() <= 1.0 + 1e-9, "{air:?}");
        assert!(air.pressure > 30_000.0 && air.speed >= 0.0 && (0.0..=2000.0).contains(&air.sun), "{air:?}");
    }
}

fn event(text: &str) -> bool {
    match Event::read("event.toml", text, &load) {
        Ok(event) => {
            let (from, to) = event.span();
            assert!(from.is_finite() && to.is_finite() && to - from < 24.0 * 100.0);
            event.spaces.iter().for_each(|s| sane(&s.climate));
            assert!(!event.access.is_empty() && event.pieces.iter().all(|p| !p.orders.is_empty()));
            let orders = || event.pieces.iter().flat_map(|p| &p.orders);
            assert!(orders().all(|o| o.heads >= 1 && !o.ways().is_empty() && o.stem_price().is_finite()));
            let slots = headwater::decide::tasks::slots(&event);
            assert!(slots.iter().all(|s| s.from < s.to));
            assert!(headwater::report::words::heading(&event, 0.0).len() > 1);
            true
        }
        Err(error) => {
            refused(&error);
            false
        }
    }
}

fn record(text: &str) -> bool {
    match Record::read("log.csv", text) {
        Ok(record) => {
            if let Some(day) = record.last_whole_day() {
                for (from, to) in [(0.0, 24.0), (-30.0, 40.0), (10.0, 10.5)] {
                    sane(&record.climate(day, from, to, headwater::climate::Air::SEA_LEVEL, 0.1, false));
                }
            }
            true
        }
        Err(error) => {
            refused(&error);
            false
        }
    }
}

fn notebook(text: &str) -> bool {
    let entry = [("entry", "look".to_string()), ("trial", "1".to_string()), ("at", "12:00".to_string())];
    if let Ok(longer) = with_entry("trials.csv", Some(text), &entry)
        && let Ok(back) = without_last("trials.csv", &longer)
    {
        assert!(back.is_some(), "what was put in can be taken out");
    }
    match Notebook::read("trials.csv", text, &load) {
        Ok(notes) => {
            assert!(notes.next_number() >= 1);
            for trial in &notes.trials {
                sane(&trial.climate);
                for look in &trial.looks {
                    assert!(look.at.is_finite() && look.weight_g.is_none_or(f64::is_finite));
                }
                let _ = trial.endings();
            }
            true
        }
        Err(error) => {
            refused(&error);
            false
        }
    }
}

/// A quantity that was read is a number, and what it shows is read as the same again, to the digits shown.
fn quantity<T: FromStr<Err = UnitError> + Display>(text: &str, value: impl Fn(&T) -> f64) -> bool {
    match text.parse::<T>() {
        Ok(read) => {
            let (number, shown) = (value(&read), read.to_string());
            assert!(number.is_finite() && number.abs() <= 1e6, "{text:?}: {number}");
            assert!(
                shown.len() <= text.len() + 40 && !shown.contains("NaN") && !shown.contains("-0 "),
                "{shown:?}"
            );
            true
        }
        Err(error) => {
            assert!(!error.expected.is_empty() && !error.help.is_empty());
            false
        }
    }
}

fn quantities(text: &str) -> bool {
    let warming = match text.parse::<Warming>() {
        Ok(w) => w.kelvin.abs() <= 30.0,
        Err(_) => false,
    };
    [
        quantity::<Temperature>(text, |t| t.celsius),
        quantity::<Humidity>(text, |q| q.percent),
        quantity::<AirSpeed>(text, |q| q.metres_per_second),
        quantity::<Sunshine>(text, |q| q.watts_per_square_metre),
        quantity::<Altitude>(text, |q| q.metres),
        quantity::<Volume>(text, |q| q.millilitres),
        quantity::<Allowance>(text, |q| q.percent),
        quantity::<Area>(text, |q| q.square_metres),
        quantity::<RoomVolume>(text, |q| q.cubic_metres),
        quantity::<AirChanges>(text, |q| q.per_hour),
        quantity::<Share>(text, |q| q.percent),
        quantity::<Length>(text, |l| l.metres),
        quantity::<Span>(text, |s| s.hours),
        quantity::<Moment>(text, |m| m.hours),
        quantity::<Money>(text, |m| m.amount),
        warming,
    ]
    .contains(&true)
}

/// A folder that keeps nothing and plans nothing, so that no input takes more than reading it.
struct Nowhere;

impl Folder for Nowhere {
    fn text(&self, name: &str) -> Result<Option<String>> {
        Ok((name == "supper.toml").then(|| TEMPLATE.to_string()))
    }
    fn event(&self, name: &str, text: &str) -> Result<Event> {
        let event = Event::read(name, text, &load)?;
        // Plans are made of what is known not to take long.
        if text == TEMPLATE {
            Ok(event)
        } else {
            Err(Problem::new("it reads well, and is not planned here").into())
        }
    }
    fn save(&self, name: &str, _: &str) -> Result<()> {
        assert!(
            !name.contains(['/', '\\', '\0']) && !name.starts_with('.') && name.ends_with(".toml"),
            "{name:?}"
        );
        Ok(())
    }
    fn names(&self) -> Result<Vec<String>> {
        Ok(vec!["supper.toml".to_string()])
    }
    fn notebook(&self, _: &str) -> Result<(String, Option<String>)> {
        Ok(("trials.csv".to_string(), None))
    }
    fn log(&self, _: &str) -> std::io::Result<String> {
        Err(std::io::ErrorKind::NotFound.into())
    }
    fn stamp(&self) -> String {
        "20270101T000000Z".to_string()
    }
    fn note(&self, _: &str, change: &mut dyn FnMut(Option<String>) -> Result<String>) -> Result<()> {
        change(None).map(drop)
    }
}

const PORT: u16 = 8123;

/// What answers, and the cookie of the browser it knows.
struct Site {
    pages: axum::Router,
    cookie: String,
}

fn answered(pages: &axum::Router, request: Request<Body>) -> (u16, axum::http::HeaderMap, Vec<u8>) {
    let system = tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime");
    system.block_on(async {
        let answer = pages.clone().oneshot(request).await.expect("an answer");
        let (head, body) = answer.into_parts();
        let body = axum::body::to_bytes(body, 64 << 20).await.expect("a body of bounded size");
        (head.status.as_u16(), head.headers, body.to_vec())
    })
}

/// A site that knows a browser and has made one plan.
static SITE: LazyLock<Site> = LazyLock::new(|| {
    let keys = Keys::new(std::array::from_fn(|i| i as u8));
    let address = keys.address(PORT);
    let pages = pages(PORT, Box::new(Nowhere), "supper.toml".into(), keys);
    let host = format!("127.0.0.1:{PORT}");
    let (_, path) = address.split_once(&host).expect("an address");
    let enter = Request::get(path).header(header::HOST, &host).body(Body::empty()).expect("a request");
    let (status, head, _) = answered(&pages, enter);
    assert_eq!(status, 303);
    let cookie =
        head[header::SET_COOKIE].to_str().expect("text").split(';').next().expect("a cookie").to_string();
    let plan = Request::post("/plan?name=supper.toml")
        .header(header::HOST, &host)
        .header(header::ORIGIN, format!("http://{host}"))
        .header(header::COOKIE, &cookie)
        .body(Body::from(TEMPLATE))
        .expect("a request");
    assert_eq!(answered(&pages, plan).0, 200);
    Site { pages, cookie }
});

/// The text is the request: a line with method and path, heads to the first empty line, then the body. The site's own
/// cookie, host and origin take the place of words in capitals.
fn web(text: &str) -> bool {
    let own = text
        .replace("COOKIE", &SITE.cookie)
        .replace("HOST", &format!("127.0.0.1:{PORT}"))
        .replace("TEMPLATE", TEMPLATE);
    let (head, body) = own.split_once("\n\n").unwrap_or((&own, ""));
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
    assert!(
        status != 500 && [200, 204, 303, 400, 403, 404, 405, 408, 409, 413, 415, 421, 422].contains(&status),
        "{status}"
    );
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
    status == 200
}

fn requests() -> Vec<String> {
    let heads = "Host: HOST\nOrigin: http://HOST\nCookie: COOKIE";
    let mut all: Vec<String> = [
        "GET /",
        "GET /?key=00",
        "GET /page.css",
        "GET /page.js",
        "GET /favicon.ico",
        "GET /flowers?q=dah",
        "GET /flowers?q=%3Cb%3E&q=2",
        "GET /slide?plan=1&piece=0&flower=1&warmer=3&at=2&way=0",
        "GET /slide?plan=1&piece=0&flower=0&warmer=-8&at=0&way=1",
        "GET /papers/1/buying.html",
        "GET /papers/1/client.html",
        "GET /papers/1/run-sheet.pdf",
        "GET /papers/2/other.html",
        "HEAD /",
        "OPTIONS /save",
    ]
    .iter()
    .map(|line| format!("{line}\n{heads}"))
    .collect();
    for path in [
        "/check?name=supper.toml",
        "/check?name=d%C3%AEner.toml",
        "/save?name=a.toml",
        "/save?name=b%20c.toml&was=%2200%22",
        "/plan?name=supper.toml",
    ] {
        all.push(format!("POST {path}\n{heads}\n\nTEMPLAT E\n[event]\nname = \"x\"\n"));
        all.push(format!("POST {path}\n{heads}\nContent-Length: 5\n\n{}", &TEMPLATE[..800]));
    }
    all.extend(texts("tests/found", ".http").into_iter().map(|t| t.1));
    all
}

#[test]
fn events_are_read_or_refused() {
    let demo = texts("reference-data/demo", ".toml").into_iter();
    let found = texts("tests/found", ".toml");
    let corpus: Vec<String> = demo
        .clone()
        .chain(demo)
        .chain(texts("tests/wrong-events", ".toml"))
        .chain(found)
        .map(|t| t.1)
        .collect();
    fuzz("event", 4000, &corpus, event);
}

#[test]
fn logs_are_read_or_refused() {
    let mut corpus: Vec<String> =
        LOGS.values().chain(std::iter::repeat_n(&LOGS["whole-day.csv"], 10)).cloned().collect();
    corpus.extend(texts("tests/found", ".log").into_iter().map(|t| t.1));
    fuzz("record", 4000, &corpus, record);
}

#[test]
fn notebooks_are_read_or_refused() {
    let demo = texts("reference-data/demo", ".csv").into_iter().chain(texts("tests/found", ".notes"));
    let mut corpus: Vec<String> = demo.map(|t| t.1).collect();
    corpus.push(
        "entry,trial,date,at,flower,heads,air,presentable\nstart,1,2027-06-13,09:00,dahlia,10,21 C 45 %,\n\
         look,1,,12:00,,,,7\nlook,1,,14:00,,,,2\nstart,2,2027-06-14,09:00,rose,12,warm barn,\nlook,2,,21:00,,,,0\n"
            .to_string(),
    );
    fuzz("notebook", 4000, &corpus, notebook);
}

#[test]
fn quantities_are_read_or_refused() {
    let corpus: Vec<String> = [
        "22 C",
        "72.5°F",
        "-3 celsius",
        "65 %",
        "45",
        "3 mph",
        "0.1 m/s",
        "800 W/m2",
        "120 m",
        "400 ft",
        "10 ml",
        "0.5 oz",
        "2 l",
        "25 %",
        "200 m2",
        "2000 sq ft",
        "35000 cu ft",
        "4 an hour",
        "12 m",
        "36 in",
        "6'",
        "6h",
        "1h 30",
        "2 days 3 h",
        "45 min",
        "18:30",
        "6:30 pm",
        "day before 18:00",
        "3 days later 07:15",
        "midnight",
        "£1.20",
        "1.20 EUR",
        "12 kr",
        "−5 K",
    ]
    .map(str::to_string)
    .to_vec();
    fuzz("quantity", 20_000, &corpus, quantities);
}

#[test]
fn requests_are_answered_or_refused() {
    // The plan that it begins with is no input's time.
    LazyLock::force(&SITE);
    fuzz("web", 500, &requests(), web);
}

#[test]
fn every_case_found_before_stays_mended() {
    for (ending, test) in [
        (".toml", event as fn(&str) -> bool),
        (".log", record),
        (".notes", notebook),
        (".quantity", quantities),
        (".http", web),
    ] {
        for (name, text) in texts("tests/found", ending) {
            assert!(catch_unwind(|| test(&text)).is_ok(), "{name} breaks");
        }
    }
}
