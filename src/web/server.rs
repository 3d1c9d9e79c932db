//! The server: its connections, and the requests that it answers.

use super::connections::connections;
use super::folder::Folder;
use super::guard::{self, LONGEST};
use super::keys::Keys;
use super::state::AppState;
use super::{ask, file, home, notes, papers, past, phone, readings, slide, told, why};
use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use std::sync::atomic::AtomicU64;
use std::sync::{Arc, Mutex};

/// Answers requests on `listener` until `until` is ready, and then those that have already arrived. `first` is the event that
/// the first page shows.
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
    connections(listener, pages, |_| true, until).await;
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
        phone: Mutex::new(None),
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
        .route("/keep", post(readings::keep).layer(DefaultBodyLimit::max(readings::MOST)))
        .route("/why", get(why::show))
        .route("/know", post(file::know))
        .route("/slide", get(slide::slide))
        .route("/paper", get(papers::paper))
        .route("/days", get(papers::days))
        .route("/phone", post(phone::start))
        .route("/phone-stop", post(phone::stop))
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
