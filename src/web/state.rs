//! The state that the server keeps between requests, and how requests take turns.

use super::drawn::Drawn;
use super::folder::Folder;
use super::keys::Keys;
use super::lock::lock;
use crate::decide::plan::Plan;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use std::sync::atomic::AtomicU64;
use std::sync::{Arc, Mutex};

/// The plan that was made last.
pub struct Planned {
    /// The number by which the page asks for parts of the plan.
    pub number: u64,
    /// The plan that was made.
    pub plan: Plan,
    /// The lots sampled for its sliders.
    pub drawn: Drawn,
}

/// The state of the server.
pub struct AppState {
    /// The folder that the page works in.
    pub folder: Box<dyn Folder>,
    /// The keys of the page.
    pub keys: Keys,
    /// The port on which the server listens.
    pub port: u16,
    /// The name of the event file that is open.
    pub name: Mutex<String>,
    /// The plan that was made last.
    pub planned: Mutex<Option<Arc<Planned>>>,
    /// How many plans were made so far.
    pub plans: AtomicU64,
    /// Held while a plan, answer or paper is made: one at a time, since each uses all cores.
    pub busy: Mutex<()>,
    /// Held while a file is saved: one at a time, also in a folder without locks.
    pub saving: Mutex<()>,
}

/// The state as requests receive it.
pub type Shared = State<Arc<AppState>>;

/// Runs work that computes or waits for the disk on another thread than the one that answers.
pub async fn aside<T: Send + 'static>(
    work: impl FnOnce() -> T + Send + 'static,
) -> std::result::Result<T, Response> {
    tokio::task::spawn_blocking(work).await.map_err(|_| {
        let text = "The program failed at this; the file on the disk is as it was. Please report what you had written.";
        (StatusCode::INTERNAL_SERVER_ERROR, text).into_response()
    })
}

/// Runs work that uses all cores, one piece at a time, and skips it if the request was dropped meanwhile.
pub async fn alone<T: Send + 'static>(
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

/// An answer, or the one that says why there is none.
pub type Answer = std::result::Result<Response, Response>;

/// The plan with a number; `None` unless it is still the last one.
pub fn planned(app: &AppState, number: u64) -> Option<Arc<Planned>> {
    lock(&app.planned).clone().filter(|p| p.number == number)
}

/// The answer to a request for an earlier plan.
pub fn stale() -> Response {
    let text = "This belongs to an earlier plan. Go back to the page and press Plan again.";
    (StatusCode::CONFLICT, text).into_response()
}
