//! What the server keeps between requests, and how requests take turns.

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

/// A plan as it was last made.
pub struct Planned {
    /// The number of the plan: the page asks for its parts by it.
    pub number: u64,
    /// The plan itself.
    pub plan: Plan,
    /// What was simulated for its sliders.
    pub drawn: Drawn,
}

/// What the server knows.
pub struct AppState {
    /// The folder that is worked in.
    pub folder: Box<dyn Folder>,
    /// The keys of the page.
    pub keys: Keys,
    /// The port that is listened on.
    pub port: u16,
    /// The name of the event file.
    pub name: Mutex<String>,
    /// The plan that was last made.
    pub planned: Mutex<Option<Arc<Planned>>>,
    /// How many plans were made.
    pub plans: AtomicU64,
    /// One plan, answer or paper at a time: each uses every core there is.
    pub busy: Mutex<()>,
    /// One save at a time, also in a folder that knows no locks.
    pub saving: Mutex<()>,
}

/// The state as a request is handed it.
pub type Shared = State<Arc<AppState>>;

/// Runs what computes or waits for the disk away from the thread that answers.
pub async fn aside<T: Send + 'static>(
    work: impl FnOnce() -> T + Send + 'static,
) -> std::result::Result<T, Response> {
    tokio::task::spawn_blocking(work).await.map_err(|_| {
        let text = "The program failed at this; the file on the disk is as it was. Please report what you had written.";
        (StatusCode::INTERNAL_SERVER_ERROR, text).into_response()
    })
}

/// Runs what keeps every core busy: one thing at a time, and not at all once nobody waits for it.
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

/// An answer, or one that says why there is none.
pub type Answer = std::result::Result<Response, Response>;

/// The plan of that number, where it is still the last one made.
pub fn planned(app: &AppState, number: u64) -> Option<Arc<Planned>> {
    lock(&app.planned).clone().filter(|p| p.number == number)
}

/// What is told where it is not.
pub fn stale() -> Response {
    let text = "This belongs to an earlier plan. Go back to the page and press Plan again.";
    (StatusCode::CONFLICT, text).into_response()
}
