//! The server: its connections, and the requests that it answers.

use super::folder::Folder;
use super::guard::{self, LONGEST};
use super::keys::Keys;
use super::state::AppState;
use super::{ask, file, home, notes, papers, past, slide, told, why};
use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use hyper::server::conn::http1;
use hyper::service::{Service, service_fn};
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::server::graceful::GracefulShutdown;
use hyper_util::service::TowerToHyperService;
use std::collections::VecDeque;
use std::future::poll_fn;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Mutex};
use std::task::Poll;
use std::time::Duration;

/// The most connections at one time.
pub const MOST_CONNECTIONS: usize = 256;
/// The longest that the head of a request may take to arrive.
pub const HEAD_WITHIN: Duration = Duration::from_secs(10);

/// A connection that is open, and whether it has asked for anything.
struct Open {
    task: tokio::task::JoinHandle<()>,
    heard: Arc<AtomicBool>,
}

/// Answers requests on `listener` until `until` is ready, and then those that have already arrived.
///
/// A browser needs only a few connections. Beyond [`MOST_CONNECTIONS`] a new one takes the place of the oldest that has
/// asked for nothing yet, and is closed where there is none. Those without the head of a request within [`HEAD_WITHIN`]
/// are closed, too, so that a silent or slow client delays neither others nor the end.
///
/// # Errors
/// If the listener has no local address.
pub async fn serve(
    listener: tokio::net::TcpListener,
    folder: Box<dyn Folder>,
    first: Option<String>,
    keys: Keys,
    until: impl Future<Output = ()> + Send + 'static,
) -> std::io::Result<()> {
    let pages = pages(listener.local_addr()?.port(), folder, first, keys);
    let mut http = http1::Builder::new();
    http.timer(TokioTimer::new()).header_read_timeout(HEAD_WITHIN);
    let ending = GracefulShutdown::new();
    let mut until = std::pin::pin!(until);
    let mut open: VecDeque<Open> = VecDeque::new();
    loop {
        let next = poll_fn(|cx| match until.as_mut().poll(cx) {
            Poll::Ready(()) => Poll::Ready(None),
            Poll::Pending => listener.poll_accept(cx).map(Some),
        });
        match next.await {
            None => break,
            Some(Ok((stream, _))) => {
                open.retain(|connection| !connection.task.is_finished());
                if open.len() >= MOST_CONNECTIONS {
                    let silent = open.iter().position(|connection| !connection.heard.load(Ordering::Relaxed));
                    let Some(silent) = silent.and_then(|i| open.remove(i)) else { continue };
                    silent.task.abort();
                }
                let heard = Arc::new(AtomicBool::new(false));
                let (pages, says) = (TowerToHyperService::new(pages.clone()), Arc::clone(&heard));
                let answers = service_fn(move |request| {
                    says.store(true, Ordering::Relaxed);
                    pages.call(request)
                });
                let connection = ending.watch(http.serve_connection(TokioIo::new(stream), answers));
                // A connection that breaks off needs no action here.
                let task = tokio::spawn(async { drop(connection.await) });
                open.push_back(Open { task, heard });
            }
            // Usually there are no file handles left; some become free again.
            Some(Err(_)) => tokio::time::sleep(Duration::from_millis(100)).await,
        }
    }
    let _ = tokio::time::timeout(HEAD_WITHIN, ending.shutdown()).await;
    Ok(())
}

/// The routes of the server, for requests to a port. `first` is the event that the first page shows.
pub fn pages(port: u16, folder: Box<dyn Folder>, first: Option<String>, keys: Keys) -> Router {
    let app = Arc::new(AppState {
        folder,
        keys,
        port,
        first,
        plans: Mutex::new(Vec::new()),
        made: AtomicU64::new(0),
        busy: Mutex::new(()),
        saving: Mutex::new(()),
        earlier: Mutex::default(),
        verdicts: Mutex::default(),
    });
    let script =
        |text: &'static str| get(move || async move { asset("text/javascript; charset=utf-8", text) });
    let style = |text: &'static str| get(move || async move { asset("text/css; charset=utf-8", text) });
    let inside = Router::new()
        .route("/", get(home::show))
        .route("/begin", post(home::begin))
        .route("/verdict", get(file::verdict))
        .route("/page.css", style(include_str!("page.css")))
        .route("/paper.css", style(crate::report::render::html::STYLE))
        .route("/home.js", script(include_str!("home.js")))
        .route("/page.js", script(include_str!("page.js")))
        .route("/why.js", script(include_str!("why.js")))
        .route("/trials.js", script(include_str!("trials.js")))
        .route("/event", get(file::show))
        .route("/edit", post(file::edit))
        .route("/undo", post(file::undo))
        .route("/check", post(file::check))
        .route("/plan", post(file::make))
        .route("/save", post(file::save))
        .route("/flowers", get(file::flowers))
        .route("/why", get(why::show))
        .route("/know", post(file::know))
        .route("/slide", get(slide::slide))
        .route("/paper", get(papers::paper))
        .route("/days", get(papers::days))
        .route("/ask", get(ask::show))
        .route("/trials", get(notes::show))
        .route("/trial-start", post(notes::start))
        .route("/trial-look", post(notes::look))
        .route("/trial-undo", post(notes::undo))
        .route("/score", get(told::score))
        .route("/compare", get(told::compared))
        .route("/next", get(told::next))
        .route("/past", get(past::show))
        .route("/past-note", post(past::note))
        .route("/learned", get(notes::learned))
        .route("/protocol.html", get(|| notes::protocol("protocol.html")))
        .route("/protocol.pdf", get(|| notes::protocol("protocol.pdf")))
        .fallback(|| async { (StatusCode::NOT_FOUND, "There is no such page.") })
        .layer(DefaultBodyLimit::max(LONGEST))
        .with_state(Arc::clone(&app));
    // The guard takes the key off the address before a route is looked for.
    Router::new().fallback_service(inside).layer(axum::middleware::from_fn_with_state(app, guard::guard))
}

fn asset(kind: &'static str, text: &'static str) -> Response {
    ([(header::CONTENT_TYPE, kind)], text).into_response()
}
