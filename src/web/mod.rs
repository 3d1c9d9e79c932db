//! An event in a browser on the same computer: its file, its plan, and what would come of other ways.
//!
//! The server listens on the loopback address alone and answers one browser: the one that was handed the key. It touches
//! no files but through the [`Folder`] it is given. Pages are written here, whole; one small script fetches parts of them.

mod guard;
mod notes;
mod page;
mod papers;
mod shown;
mod slide;
mod trials;

use crate::decide::plan::{Plan, Settings, plan};
use crate::error::{Error, Problem, Result};
use crate::event::Event;
use crate::report::Report;
use axum::Router;
use axum::extract::{DefaultBodyLimit, Query, State};
use axum::http::{StatusCode, header};
use axum::response::{Html, IntoResponse, Response};
use axum::routing::{get, post};
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::server::graceful::GracefulShutdown;
use hyper_util::service::TowerToHyperService;
use std::future::poll_fn;
use std::hash::{Hash, Hasher};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::task::Poll;
use std::time::Duration;

pub use guard::Keys;

/// No event is longer than this, bytes.
pub const LONGEST: usize = 256 * 1024;
/// No more connections than this at a time.
pub const MOST_CONNECTIONS: usize = 256;
/// The head of a request is there within this time.
pub const HEAD_WITHIN: Duration = Duration::from_secs(10);

/// The one folder that is worked in.
pub trait Folder: Send + Sync {
    /// The text of a file, or nothing where there is none.
    ///
    /// # Errors
    /// When it is there and cannot be read.
    fn text(&self, name: &str) -> Result<Option<String>>;
    /// The event in a text that is, or is to be, the file of that name; logs and notebook lie beside it.
    ///
    /// # Errors
    /// Every problem in the text.
    fn event(&self, name: &str, text: &str) -> Result<Event>;
    /// Keeps everybody else, other programs too, from writing a file, until what is returned is dropped.
    ///
    /// # Errors
    /// When somebody else keeps it too long.
    fn hold(&self, name: &str) -> Result<Box<dyn Send>>;
    /// Writes a file, whole or not at all.
    ///
    /// # Errors
    /// When it cannot be written.
    fn save(&self, name: &str, text: &str) -> Result<()>;
    /// The names of the event files.
    ///
    /// # Errors
    /// When the folder cannot be read.
    fn names(&self) -> Result<Vec<String>>;
    /// The name and the text of the notebook that the event file of that name goes by; no text where there is none yet.
    ///
    /// # Errors
    /// When it is there and cannot be read, or the event does not tell which it is.
    fn notebook(&self, event: &str) -> Result<(String, Option<String>)>;
    /// A logger's file that the notebook names.
    ///
    /// # Errors
    /// When it cannot be read.
    fn log(&self, name: &str) -> std::io::Result<String>;
    /// The time now, as a calendar writes it in UTC.
    fn stamp(&self) -> String;
    /// Changes the notebook of that name: `change` makes the new text of the old one. One writer at a time; whole or not at
    /// all.
    ///
    /// # Errors
    /// Those of `change`, and when it cannot be written.
    fn note(&self, name: &str, change: &mut dyn FnMut(Option<String>) -> Result<String>) -> Result<()>;
}

/// A plan as it was last made.
struct Planned {
    number: u64,
    plan: Plan,
    report: Report,
    drawn: slide::Drawn,
}

/// What the server knows.
struct AppState {
    folder: Box<dyn Folder>,
    keys: Keys,
    port: u16,
    name: Mutex<String>,
    planned: Mutex<Option<Arc<Planned>>>,
    plans: AtomicU64,
    /// One plan, answer or paper at a time: each uses every core there is.
    busy: Mutex<()>,
    /// One save at a time, also in a folder that knows no locks.
    saving: Mutex<()>,
}

type Shared = State<Arc<AppState>>;

/// A lock is held for a look or a change in one go, so that a panic elsewhere leaves nothing half done.
fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Answers on `listener` until `until` comes to pass, and what was asked by then.
///
/// One browser needs a few connections. More than [`MOST_CONNECTIONS`] are closed at once, and so is one whose request has
/// not begun to make sense within [`HEAD_WITHIN`]: whoever dawdles holds nobody up, least of all the end.
///
/// # Errors
/// When the system takes the listener away.
pub async fn serve(
    listener: tokio::net::TcpListener,
    folder: Box<dyn Folder>,
    name: String,
    keys: Keys,
    until: impl Future<Output = ()> + Send + 'static,
) -> std::io::Result<()> {
    let pages = pages(listener.local_addr()?.port(), folder, name, keys);
    let mut http = http1::Builder::new();
    http.timer(TokioTimer::new()).header_read_timeout(HEAD_WITHIN);
    let ending = GracefulShutdown::new();
    let mut until = std::pin::pin!(until);
    loop {
        let next = poll_fn(|cx| match until.as_mut().poll(cx) {
            Poll::Ready(()) => Poll::Ready(None),
            Poll::Pending => listener.poll_accept(cx).map(Some),
        });
        match next.await {
            None => break,
            Some(Ok((stream, _))) if ending.count() < MOST_CONNECTIONS => {
                let pages = TowerToHyperService::new(pages.clone());
                let connection = ending.watch(http.serve_connection(TokioIo::new(stream), pages));
                // A connection that breaks off is the browser's affair.
                tokio::spawn(async { drop(connection.await) });
            }
            Some(Ok(_)) => {}
            // Out of handles for files, as a rule: some come back.
            Some(Err(_)) => tokio::time::sleep(Duration::from_millis(100)).await,
        }
    }
    let _ = tokio::time::timeout(HEAD_WITHIN, ending.shutdown()).await;
    Ok(())
}

/// All that is answered on a port, and how.
pub fn pages(port: u16, folder: Box<dyn Folder>, name: String, keys: Keys) -> Router {
    let app = Arc::new(AppState {
        folder,
        keys,
        port,
        name: Mutex::new(name),
        planned: Mutex::new(None),
        plans: AtomicU64::new(0),
        busy: Mutex::new(()),
        saving: Mutex::new(()),
    });
    Router::new()
        .route("/", get(home))
        .route("/page.css", get(|| async { asset("text/css; charset=utf-8", include_str!("page.css")) }))
        .route("/page.js", get(|| async { asset("text/javascript; charset=utf-8", include_str!("page.js")) }))
        .route(
            "/trials.js",
            get(|| async { asset("text/javascript; charset=utf-8", include_str!("trials.js")) }),
        )
        .route("/paper.css", get(|| async { asset("text/css; charset=utf-8", crate::report::html::STYLE) }))
        .route("/favicon.ico", get(|| async { StatusCode::NO_CONTENT }))
        .route("/check", post(check))
        .route("/plan", post(make))
        .route("/save", post(save))
        .route("/flowers", get(flowers))
        .route("/slide", get(slide::slide))
        .route("/papers/{number}/{paper}", get(papers::paper))
        .route("/days/{number}", get(papers::days))
        .route("/trials", get(notes::show))
        .route("/trials/start", post(notes::start))
        .route("/trials/look", post(notes::look))
        .route("/trials/undo", post(notes::undo))
        .route("/trials/learned", get(notes::learned))
        .route("/trials/{paper}", get(notes::protocol))
        .fallback(|| async { (StatusCode::NOT_FOUND, "There is no such page.") })
        .layer(DefaultBodyLimit::max(LONGEST))
        .layer(axum::middleware::from_fn_with_state(Arc::clone(&app), guard::guard))
        .with_state(app)
}

fn asset(kind: &'static str, text: &'static str) -> Response {
    ([(header::CONTENT_TYPE, kind)], text).into_response()
}

#[derive(serde::Deserialize)]
struct Named {
    name: String,
}

#[derive(serde::Deserialize)]
struct Opened {
    file: Option<String>,
}

#[derive(serde::Deserialize)]
struct Saved {
    name: String,
    /// The mark of the text that the page took this file to hold; nothing where it took it not to be there.
    #[serde(default)]
    was: String,
}

#[derive(serde::Deserialize)]
struct Wanted {
    #[serde(default)]
    q: String,
}

/// Whether a name is that of a file in the folder itself.
///
/// # Errors
/// When it is anything else: the problem says what a name looks like.
pub fn plain_name(name: &str) -> Result<()> {
    let letter = |c: char| c.is_alphanumeric() || " -_.,()'".contains(c);
    let plain = name.chars().all(letter) && !name.starts_with(['.', ' ']) && name.chars().count() <= 100;
    if plain && name.len() > ".toml".len() && name.ends_with(".toml") {
        return Ok(());
    }
    Err(Problem::new(format!("\"{name}\" is not a name for an event file here"))
        .expected("a plain file name that ends in .toml, with no folder")
        .help("supper.toml")
        .into())
}

/// Runs what computes or waits for the disk away from the thread that answers.
async fn aside<T: Send + 'static>(
    work: impl FnOnce() -> T + Send + 'static,
) -> std::result::Result<T, Response> {
    tokio::task::spawn_blocking(work).await.map_err(|_| {
        let text = "The program failed at this; the file on the disk is as it was. Please report what you had written.";
        (StatusCode::INTERNAL_SERVER_ERROR, text).into_response()
    })
}

/// Runs what keeps every core busy: one thing at a time, and not at all once nobody waits for it.
async fn alone<T: Send + 'static>(
    app: Arc<AppState>,
    work: impl FnOnce() -> T + Send + 'static,
) -> std::result::Result<T, Response> {
    // Dropped with the request.
    let waiting = Arc::new(());
    let awaited = Arc::downgrade(&waiting);
    let begun = aside(move || {
        let _one = lock(&app.busy);
        (awaited.strong_count() > 0).then(work)
    });
    begun.await?.ok_or_else(stale)
}

type Answer = std::result::Result<Response, Response>;

/// The problems, each with a way to its line.
fn wrong(error: &Error) -> Response {
    (StatusCode::UNPROCESSABLE_ENTITY, Html(page::problems(error).into_string())).into_response()
}

async fn home(State(app): Shared, Query(opened): Query<Opened>) -> Answer {
    aside(move || {
        let others = app.folder.names().unwrap_or_default();
        if let Some(file) = opened.file.filter(|f| others.contains(f)) {
            *lock(&app.name) = file;
        }
        let name = lock(&app.name).clone();
        match app.folder.text(&name) {
            Ok(text) => {
                let was = text.as_deref().map(mark).unwrap_or_default();
                Html(page::page(&name, text.as_deref(), &was, &others).into_string()).into_response()
            }
            Err(error) => wrong(&error),
        }
    })
    .await
}

async fn check(State(app): Shared, Query(named): Query<Named>, text: String) -> Answer {
    aside(move || match plain_name(&named.name).and_then(|()| app.folder.event(&named.name, &text)) {
        Ok(event) => Html(page::reads_well(&event).into_string()).into_response(),
        Err(error) => wrong(&error),
    })
    .await
}

async fn make(State(app): Shared, Query(named): Query<Named>, text: String) -> Answer {
    alone(Arc::clone(&app), move || {
        let event = match plain_name(&named.name).and_then(|()| app.folder.event(&named.name, &text)) {
            Ok(event) => event,
            Err(error) => return wrong(&error),
        };
        let plan = plan(event, Settings::default());
        let report = Report::of(&plan);
        let number = app.plans.fetch_add(1, Ordering::Relaxed) + 1;
        let planned = Arc::new(Planned { number, plan, report, drawn: slide::Drawn::default() });
        *lock(&app.planned) = Some(Arc::clone(&planned));
        match shown::plan(number, &planned.plan, &planned.report) {
            Ok(shown) => Html(shown.into_string()).into_response(),
            Err(e) => wrong(&Problem::new(format!("the curves cannot be drawn: {e}")).into()),
        }
    })
    .await
}

/// A file is not written over unless the page knew what is in it: another window or an editor may have changed it.
async fn save(State(app): Shared, Query(Saved { name, was }): Query<Saved>, text: String) -> Answer {
    aside(move || {
        // It looks before it writes, and nobody may write in between.
        let _one = lock(&app.saving);
        let held = match plain_name(&name).and_then(|()| app.folder.hold(&name)) {
            Ok(held) => held,
            Err(error) => return wrong(&error),
        };
        match app.folder.text(&name) {
            Ok(Some(there)) if there != text && mark(&there) != was => {
                return (StatusCode::CONFLICT, taken(&name, &was)).into_response();
            }
            Ok(_) => {}
            Err(error) => return wrong(&error),
        }
        if let Err(error) = app.folder.save(&name, &text) {
            return wrong(&error);
        }
        drop(held);
        lock(&app.name).clone_from(&name);
        ([(header::ETAG, mark(&text))], format!("Saved as {name}.")).into_response()
    })
    .await
}

/// Tells texts apart, for as long as the program runs.
fn mark(text: &str) -> String {
    let mut hasher = std::hash::DefaultHasher::new();
    text.hash(&mut hasher);
    format!("\"{:016x}\"", hasher.finish())
}

/// What is told when a save would write over what the page has not seen.
fn taken(name: &str, was: &str) -> String {
    if was.is_empty() {
        return format!(
            "Not saved: {name} is there already, and is as it was. Save this under another name."
        );
    }
    format!(
        "Not saved: {name} was changed elsewhere since this page read it, and is as it was left there. Save this under \
         another name, then load the page anew to see what is in {name}."
    )
}

async fn flowers(Query(wanted): Query<Wanted>) -> Html<String> {
    Html(page::flowers(&wanted.q).into_string())
}

/// The plan of that number, where it is still the last one made.
fn planned(app: &AppState, number: u64) -> Option<Arc<Planned>> {
    lock(&app.planned).clone().filter(|p| p.number == number)
}

/// What is told where it is not.
fn stale() -> Response {
    let text = "This belongs to an earlier plan. Go back to the page and press Plan again.";
    (StatusCode::CONFLICT, text).into_response()
}
