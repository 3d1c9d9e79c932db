//! The server: its connections, and the requests that it answers.

use super::folder::Folder;
use super::guard::{self, LONGEST};
use super::keys::Keys;
use super::state::AppState;
use super::{file, notes, papers, slide};
use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::server::graceful::GracefulShutdown;
use hyper_util::service::TowerToHyperService;
use std::future::poll_fn;
use std::sync::atomic::AtomicU64;
use std::sync::{Arc, Mutex};
use std::task::Poll;
use std::time::Duration;

/// The most connections at one time.
pub const MOST_CONNECTIONS: usize = 256;
/// The longest that the head of a request may take to arrive.
pub const HEAD_WITHIN: Duration = Duration::from_secs(10);

/// Answers requests on `listener` until `until` is ready, and then those that have already arrived.
///
/// A browser needs only a few connections. Those beyond [`MOST_CONNECTIONS`] are closed at once, and so are those
/// without the head of a request within [`HEAD_WITHIN`], so that a slow client delays neither others nor the end.
///
/// # Errors
/// If the listener has no local address.
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
                // A connection that breaks off needs no action here.
                tokio::spawn(async { drop(connection.await) });
            }
            Some(Ok(_)) => {}
            // Usually there are no file handles left; some become free again.
            Some(Err(_)) => tokio::time::sleep(Duration::from_millis(100)).await,
        }
    }
    let _ = tokio::time::timeout(HEAD_WITHIN, ending.shutdown()).await;
    Ok(())
}

/// The routes of the server, for requests to a port.
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
        .route("/", get(file::home))
        .route("/page.css", get(|| async { asset("text/css; charset=utf-8", include_str!("page.css")) }))
        .route("/page.js", get(|| async { asset("text/javascript; charset=utf-8", include_str!("page.js")) }))
        .route(
            "/trials.js",
            get(|| async { asset("text/javascript; charset=utf-8", include_str!("trials.js")) }),
        )
        .route(
            "/paper.css",
            get(|| async { asset("text/css; charset=utf-8", crate::report::render::html::STYLE) }),
        )
        .route("/favicon.ico", get(|| async { StatusCode::NO_CONTENT }))
        .route("/check", post(file::check))
        .route("/plan", post(file::make))
        .route("/save", post(file::save))
        .route("/flowers", get(file::flowers))
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
