//! The state that the server keeps between requests, and how requests take turns.

use super::drawn::Drawn;
use super::folder::Folder;
use super::keys::Keys;
use super::lock::lock;
use crate::decide::plan::Plan;
use crate::event::Event;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use std::any::Any;
use std::collections::HashMap;
use std::hash::{Hash, Hasher};
use std::sync::atomic::AtomicU64;
use std::sync::{Arc, Mutex};

/// How many plans are kept: those of the events looked at last, each first in a quick look.
pub const PLANS: usize = 3;

/// A plan that was made.
pub struct Planned {
    /// The number by which the page asks for parts of the plan.
    pub number: u64,
    /// The file of its event.
    pub file: String,
    /// The mark of the event that was planned, with its logs and what its notebook teaches.
    pub of: u64,
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
    /// The event that the first page shows; the list of all if there is none.
    pub first: Option<String>,
    /// The plans that were made last, the latest first.
    pub plans: Mutex<Vec<Arc<Planned>>>,
    /// How many plans were made so far.
    pub made: AtomicU64,
    /// Held while a plan, answer or paper is made: one at a time, since each uses all cores.
    pub busy: Mutex<()>,
    /// Held while a file is saved: one at a time, also in a folder without locks.
    pub saving: Mutex<()>,
    /// Earlier texts of each file, the latest last, for undo.
    pub earlier: Mutex<HashMap<String, Vec<String>>>,
    /// Whether each event lasts, by its mark, as the list of events says it.
    pub verdicts: Mutex<HashMap<u64, String>>,
    /// The link for a phone, which closes when it is dropped.
    pub phone: Mutex<Option<Arc<dyn Any + Send + Sync>>>,
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

/// A mark that tells texts apart while the program runs.
pub fn mark(text: &str) -> String {
    let mut hasher = std::hash::DefaultHasher::new();
    text.hash(&mut hasher);
    format!("\"{:016x}\"", hasher.finish())
}

/// A mark that tells events apart, with everything that was read for them: logs, and what a notebook teaches.
pub fn mark_of(event: &Event) -> u64 {
    let mut hasher = std::hash::DefaultHasher::new();
    format!("{event:?}").hash(&mut hasher);
    hasher.finish()
}

/// The plan with a number; `None` unless its event still is as it was planned.
pub fn planned(app: &AppState, number: u64) -> Option<Arc<Planned>> {
    let found = lock(&app.plans).iter().find(|p| p.number == number).cloned();
    let same = |planned: &Arc<Planned>| {
        let text = app.folder.text(&planned.file).ok().flatten();
        let event = text.and_then(|text| app.folder.event(&planned.file, &text).ok());
        event.is_some_and(|event| mark_of(&event) == planned.of)
    };
    found.filter(same)
}

/// The answer to a request for an earlier plan.
pub fn stale() -> Response {
    let text =
        "This belongs to an earlier state of the event. Go back to the event: it is planned again there.";
    (StatusCode::CONFLICT, text).into_response()
}
