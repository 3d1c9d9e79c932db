//! Requests for the event file: shown, checked, planned and saved.

use super::drawn::Drawn;
use super::folder::plain_name;
use super::lock::lock;
use super::state::{Answer, Planned, Shared, alone, aside};
use super::{page, shown};
use crate::decide::plan::Settings;
use crate::decide::plan::plan;
use crate::error::Error;
use crate::report::facts::Facts;
use axum::extract::{Query, State};
use axum::http::{StatusCode, header};
use axum::response::{Html, IntoResponse, Response};
use std::hash::{Hash, Hasher};
use std::sync::Arc;
use std::sync::atomic::Ordering;

/// The file that the sent text belongs to.
#[derive(serde::Deserialize)]
pub struct Named {
    name: String,
}

/// The event file to open, if the page asks for another one.
#[derive(serde::Deserialize)]
pub struct Opened {
    file: Option<String>,
}

/// The file to save.
#[derive(serde::Deserialize)]
pub struct Saved {
    name: String,
    /// The mark of the text that the page believes the file to hold; empty if it believes that there is no file.
    #[serde(default)]
    was: String,
}

/// The words of a search for flowers.
#[derive(serde::Deserialize)]
pub struct Wanted {
    #[serde(default)]
    q: String,
}

/// The answer that lists all problems of an error.
fn wrong(error: &Error) -> Response {
    (StatusCode::UNPROCESSABLE_ENTITY, Html(page::problems(error).into_string())).into_response()
}

/// Shows the page with its event file, or with another one of the folder.
pub async fn home(State(app): Shared, Query(opened): Query<Opened>) -> Answer {
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

/// Checks a text, and lists its problems.
pub async fn check(State(app): Shared, Query(named): Query<Named>, text: String) -> Answer {
    aside(move || match plain_name(&named.name).and_then(|()| app.folder.event(&named.name, &text)) {
        Ok(event) => Html(page::reads_well(&event).into_string()).into_response(),
        Err(error) => wrong(&error),
    })
    .await
}

/// Plans the event in a text, and keeps the plan for the requests that follow.
pub async fn make(State(app): Shared, Query(named): Query<Named>, text: String) -> Answer {
    alone(Arc::clone(&app), move || {
        let event = plain_name(&named.name).and_then(|()| app.folder.event(&named.name, &text));
        let plan = match event.and_then(|event| plan(event, Settings::default())) {
            Ok(plan) => plan,
            Err(error) => return wrong(&error),
        };
        let number = app.plans.fetch_add(1, Ordering::Relaxed) + 1;
        let planned = Arc::new(Planned { number, plan, drawn: Drawn::default() });
        *lock(&app.planned) = Some(Arc::clone(&planned));
        Html(shown::plan(number, &Facts::of(&planned.plan)).into_string()).into_response()
    })
    .await
}

/// Saves a text. A file is overwritten only if the page knew its content, since another window or an editor may have
/// changed it.
pub async fn save(State(app): Shared, Query(Saved { name, was }): Query<Saved>, text: String) -> Answer {
    aside(move || {
        // Nobody may write between the look at the file and the writing.
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

/// A mark that tells texts apart while the program runs.
fn mark(text: &str) -> String {
    let mut hasher = std::hash::DefaultHasher::new();
    text.hash(&mut hasher);
    format!("\"{:016x}\"", hasher.finish())
}

/// The message when saving would overwrite what the page has not seen.
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

/// Lists the flowers that match some words.
pub async fn flowers(Query(wanted): Query<Wanted>) -> Html<String> {
    Html(page::flowers(&wanted.q).into_string())
}
