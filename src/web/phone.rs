//! The link for a phone: off unless it is asked for, on a private address of this computer only, for reading and ticking.
//!
//! The phone is let in by a code that the laptop shows. It is good once, for a short time and a few tries; the phone then
//! keeps an address with a key in it. Nothing that it can ask for changes an event.

use super::connections::connections;
use super::file::planned_now;
use super::guard::{HEADERS, one};
use super::keys::{same, word};
use super::layout::{Page, whole, with_event};
use super::lock::lock;
use super::state::{Answer, AppState, Shared, alone, mark};
use crate::error::{Error, Problem, Result, reason};
use crate::report::facts::Facts;
use crate::report::render::html;
use crate::report::sections;
use crate::report::words::capital;
use axum::extract::{DefaultBodyLimit, Form, Path, Query, Request, State};
use axum::http::{HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{Html, IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use maud::{Markup, html};
use std::collections::BTreeSet;
use std::net::{IpAddr, SocketAddr};
use std::sync::{Arc, Mutex, Weak};
use std::time::Duration;
use tokio::sync::oneshot;

/// How long a code is good.
const GOOD_FOR: Duration = Duration::from_secs(300);
/// How often a wrong code may be tried.
const TRIES: u32 = 5;
/// The most bytes that a phone may send.
const LONGEST: usize = 1024;
/// The most lines that can be ticked.
const MOST_TICKS: usize = 10_000;

/// A link that is open. It closes when it is dropped.
pub struct Link {
    /// The event that it shows.
    file: String,
    /// Where it listens.
    address: SocketAddr,
    /// The code; `None` once it was used or is too old.
    code: Mutex<Option<Code>>,
    /// The key that the phone's address has.
    key: String,
    /// What was ticked: the marks of a person's lines, so that what is changed is not taken for done.
    ticked: Mutex<BTreeSet<String>>,
    _open: oneshot::Sender<()>,
}

/// The code that lets a phone in.
struct Code {
    word: String,
    tries_left: u32,
}

/// The event whose link is meant.
#[derive(serde::Deserialize)]
pub struct Whose {
    file: String,
}

/// The code as it was typed.
#[derive(serde::Deserialize)]
pub struct Typed {
    code: String,
}

/// What is ticked or taken back: the mark of a line of a person's day.
#[derive(serde::Deserialize)]
pub struct Tick {
    line: String,
}

/// Whether an address is one of this computer or of the network that it is in, and not of the world.
fn is_private(ip: IpAddr) -> bool {
    match ip {
        IpAddr::V4(ip) => ip.is_private() || ip.is_link_local() || ip.is_loopback(),
        IpAddr::V6(_) => false,
    }
}

/// Opens a link for an event, in the place of any other, and shows its address and code.
pub async fn start(State(app): Shared, Query(whose): Query<Whose>) -> Answer {
    let opened = open(&app, &whose.file).await;
    let (code, body) = match opened {
        Ok((link, code)) => (StatusCode::OK, told(&link, &code)),
        Err(error) => (StatusCode::UNPROCESSABLE_ENTITY, refused(&error)),
    };
    let body = html! {
        main.wrap #phone tabindex="-1" {
            h1 { "A link for this phone" }
            (body)
            p { a.button href=(with_event("event", Some(&whose.file))) { "Back to the event" } }
        }
    };
    let page = Page { file: Some(&whose.file), name: "", title: "Phone", main: "phone", script: "" };
    Ok((code, Html(whole(&page, &body).into_string())).into_response())
}

/// Why there is no link.
fn refused(error: &Error) -> Markup {
    html! {
        @for problem in &error.problems {
            p.wrong { (capital(&problem.message)) "." @if let Some(help) = &problem.help { " " (capital(help)) "." } }
        }
    }
}

/// Closes the link.
pub async fn stop(State(app): Shared, Query(whose): Query<Whose>) -> Answer {
    drop(lock(&app.phone).take());
    Ok(Redirect::to(&with_event("event", Some(&whose.file))).into_response())
}

async fn open(app: &Arc<AppState>, file: &str) -> Result<(Arc<Link>, String)> {
    super::folder::plain_name(file)?;
    let none = || {
        Problem::new("this computer is in no private network").help("join the phone's network, and try again")
    };
    let ip = app.folder.address().filter(|ip| is_private(*ip)).ok_or_else(none)?;
    let bytes = app.folder.random()?;
    let failed =
        |e: std::io::Error| Error::from(Problem::new(format!("no link can be opened: {}", reason(&e))));
    let listener = tokio::net::TcpListener::bind((ip, 0)).await.map_err(failed)?;
    let address = listener.local_addr().map_err(failed)?;
    let number = bytes[..8].iter().fold(0_u64, |n, b| n << 8 | u64::from(*b));
    let code = format!("{:06}", number % 1_000_000);
    let (tell, told) = oneshot::channel::<()>();
    let link = Arc::new(Link {
        file: file.to_string(),
        address,
        code: Mutex::new(Some(Code { word: code.clone(), tries_left: TRIES })),
        key: word(&bytes[16..]),
        ticked: Mutex::default(),
        _open: tell,
    });
    let pages = pages(Arc::clone(app), &link);
    tokio::spawn(expire(Arc::downgrade(&link), GOOD_FOR));
    // The program ends the link with itself, and the page with a button.
    tokio::spawn(connections(listener, pages, is_private, async { drop(told.await) }));
    let kept: Arc<dyn std::any::Any + Send + Sync> = link.clone();
    *lock(&app.phone) = Some(kept);
    Ok((link, code))
}

/// Takes the code back after a time, if the link is still open.
async fn expire(link: Weak<Link>, after: Duration) {
    tokio::time::sleep(after).await;
    if let Some(link) = link.upgrade() {
        *lock(&link.code) = None;
    }
}

/// What the laptop shows of a link.
fn told(link: &Link, code: &str) -> Markup {
    html! {
        p { "In the same network, open on the phone:" }
        p { b { "http://" (link.address) } }
        p { "and type the code" }
        p { b #code { (code) } }
        p {
            "The code is good once, for five minutes. The phone can read who does what when, and tick it off; it can change nothing of \
             the event. Whoever shares the network could read along: close the link when you are done."
        }
        form method="post" action=(with_event("phone-stop", Some(&link.file))) { button type="submit" { "Close the link" } }
    }
}

/// The state of the phone's pages: the program's own, and the link while it is open.
#[derive(Clone)]
struct Phone {
    app: Arc<AppState>,
    link: Weak<Link>,
    address: SocketAddr,
}

fn pages(app: Arc<AppState>, link: &Arc<Link>) -> axum::Router {
    let phone = Phone { app, link: Arc::downgrade(link), address: link.address };
    axum::Router::new()
        .route("/", get(ask))
        .route(
            "/phone.css",
            get(|| async { ([(header::CONTENT_TYPE, "text/css; charset=utf-8")], include_str!("page.css")) }),
        )
        .route("/pair", post(pair))
        .route("/{key}/", get(day))
        .route("/{key}/tick", post(tick))
        .fallback(|| async { (StatusCode::NOT_FOUND, "There is no such page.") })
        .layer(DefaultBodyLimit::max(LONGEST))
        .layer(axum::middleware::from_fn_with_state(phone.clone(), guard))
        .with_state(phone)
}

/// Rejects requests to other addresses and from other pages, and adds the headers of every answer.
async fn guard(State(phone): State<Phone>, request: Request, next: Next) -> Response {
    let here = phone.address.to_string();
    let headers = request.headers();
    let reads = [Method::GET, Method::HEAD].contains(request.method());
    let own = one(headers, &header::ORIGIN).is_some_and(|o| o.strip_prefix("http://") == Some(here.as_str()));
    let mut answer = if one(headers, &header::HOST) != Some(here.as_str()) {
        (StatusCode::MISDIRECTED_REQUEST, "This address is not served here.").into_response()
    } else if !(own || reads && !headers.contains_key(header::ORIGIN)) {
        (StatusCode::FORBIDDEN, "Only the page itself may ask for that.").into_response()
    } else {
        next.run(request).await
    };
    for (name, value) in HEADERS {
        answer.headers_mut().insert(name, HeaderValue::from_static(value));
    }
    answer
}

/// The answer to whoever has no key, or to all once the link is closed.
fn no() -> Response {
    (StatusCode::FORBIDDEN, "This link is closed, or is for another phone.").into_response()
}

/// A page for a phone.
fn page(title: &str, body: &Markup) -> Response {
    let dress = html! { link rel="stylesheet" href="/phone.css"; };
    Html(html::whole(title, &dress, &html! { main.wrap { h1 { (title) } (body) } }).into_string())
        .into_response()
}

/// Asks for the code.
async fn ask() -> Response {
    page("headwater", &form(""))
}

fn form(wrong: &str) -> Markup {
    html! {
        @if !wrong.is_empty() { p role="alert" { (wrong) } }
        form method="post" action="pair" {
            p { label for="code" { "The code that the laptop shows" } }
            p { input #code name="code" type="text" inputmode="numeric" autocomplete="one-time-code" maxlength="6" required; }
            p { button type="submit" { "Show the day" } }
        }
    }
}

/// Trades the code for the address that the phone keeps.
async fn pair(State(phone): State<Phone>, Form(typed): Form<Typed>) -> Response {
    let Some(link) = phone.link.upgrade() else { return no() };
    match is_right(&mut lock(&link.code), typed.code.trim()) {
        None => no(),
        Some(true) => Redirect::to(&format!("/{}/", link.key)).into_response(),
        Some(false) => {
            (StatusCode::FORBIDDEN, page("headwater", &form("That is not the code."))).into_response()
        }
    }
}

/// Whether a word is the code, which is no longer valid afterwards; `None` if there is no valid code any more.
fn is_right(code: &mut Option<Code>, typed: &str) -> Option<bool> {
    let valid = code.as_mut().filter(|code| code.tries_left > 0)?;
    valid.tries_left -= 1;
    let right = same(&valid.word, typed);
    if right {
        *code = None;
    }
    Some(right)
}

/// The link, for whoever has its key.
fn known(phone: &Phone, key: &str) -> Option<Arc<Link>> {
    phone.link.upgrade().filter(|link| same(&link.key, key))
}

/// Who does what when, with what is done.
async fn day(State(phone): State<Phone>, Path(key): Path<String>) -> Answer {
    let link = known(&phone, &key).ok_or_else(no)?;
    let app = Arc::clone(&phone.app);
    alone(Arc::clone(&app), move || match planned_now(&app, &link.file) {
        Ok(planned) => {
            let facts = Facts::of(&planned.plan);
            let ticked = lock(&link.ticked).clone();
            let body = html! {
                @for (p, person) in facts.people.iter().enumerate() {
                    h2 { (sections::day(facts.event, person)) }
                    @for line in sections::assignments(&facts, person) {
                        @let of = mark(&format!("{p} {line}")).replace('"', "");
                        @let is_done = ticked.contains(&of);
                        form method="post" action="tick" {
                            input type="hidden" name="line" value=(of);
                            p { button type="submit" aria-pressed=(is_done) { @if is_done { "\u{2713} done" } @else { "tick" } } " " (line) }
                        }
                    }
                }
            };
            page(&facts.event.name, &body)
        }
        Err(_) => (StatusCode::CONFLICT, "The event is being changed on the laptop. Try again soon.").into_response(),
    })
    .await
}

/// Ticks a line off, or takes that back.
async fn tick(State(phone): State<Phone>, Path(key): Path<String>, Form(tick): Form<Tick>) -> Answer {
    let link = known(&phone, &key).ok_or_else(no)?;
    let mut ticked = lock(&link.ticked);
    if !ticked.remove(&tick.line) && ticked.len() < MOST_TICKS {
        ticked.insert(tick.line);
    }
    Ok(Redirect::to(&format!("/{key}/")).into_response())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn link() -> Arc<Link> {
        Arc::new(Link {
            file: "supper.toml".to_string(),
            address: ([127, 0, 0, 1], 8080).into(),
            code: Mutex::new(Some(Code { word: "012345".to_string(), tries_left: TRIES })),
            key: "00".to_string(),
            ticked: Mutex::default(),
            _open: oneshot::channel().0,
        })
    }

    fn try_it(link: &Link, typed: &str) -> Option<bool> {
        is_right(&mut lock(&link.code), typed)
    }

    #[test]
    fn a_code_is_good_for_its_time_and_once() {
        let system = tokio::runtime::Builder::new_current_thread().enable_time().build().expect("a runtime");
        let (old, used) = (link(), link());
        system.block_on(async {
            let expiring = tokio::spawn(expire(Arc::downgrade(&old), Duration::from_millis(20)));
            tokio::task::yield_now().await;
            assert_eq!(try_it(&old, "543210"), Some(false), "in time it is still asked for");
            expiring.await.expect("it ends");
            // Too late, the right code is not told from a wrong one.
            assert_eq!((try_it(&old, "012345"), try_it(&old, "543210")), (None, None));
            // A link that was closed before has nothing to take back.
            expire(Arc::downgrade(&link()), Duration::ZERO).await;
        });
        assert_eq!((try_it(&used, "012345"), try_it(&used, "012345")), (Some(true), None));
        // What the laptop tells.
        assert!(told(&used, "012345").into_string().contains("five minutes") && GOOD_FOR.as_secs() == 5 * 60);
    }

    #[test]
    fn a_code_may_be_tried_five_times() {
        let tried = link();
        for _ in 0..4 {
            assert_eq!(try_it(&tried, "12345"), Some(false));
        }
        assert_eq!(try_it(&tried, "012345"), Some(true), "the fifth is in time");
        let tried = link();
        for _ in 0..5 {
            assert_eq!(try_it(&tried, ""), Some(false));
        }
        assert_eq!(try_it(&tried, "012345"), None);
    }
}
