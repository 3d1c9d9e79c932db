//! Requests for an event file: shown, edited in place, saved as a text, taken back, planned.

use super::draft::Draft;
use super::drawn::Drawn;
use super::edit::apply;
use super::folder::plain_name;
use super::lock::lock;
use super::page::{self, Now};
use super::state::{Answer, AppState, PLANS, Planned, Shared, alone, aside, mark, mark_of, stale};
use super::{habits, layout, pieces, shown};
use crate::decide::plan::{Settings, look, plan};
use crate::error::{Error, Problem, Result};
use crate::event::{Event, HABITS_FILE};
use crate::report::facts::Facts;
use axum::Form;
use axum::Json;
use axum::extract::{Query, State};
use axum::http::{StatusCode, header};
use axum::response::{Html, IntoResponse, Redirect, Response};
use std::sync::Arc;
use std::sync::atomic::Ordering;

/// How many deliveries a quick plan simulates: at most, at least, and over all orders together.
const QUICK: (usize, usize, usize) = (32, 12, 320);
/// How many deliveries a whole plan simulates over all orders together, as the memory of a small computer holds them: for up to
/// 75 orders they are as many as in the terminal.
const WHOLE: usize = 24_000;
/// How many earlier texts of a file are kept for undo, and how many bytes of them.
const EARLIER: (usize, usize) = (200, 4 << 20);
/// How many events' verdicts are kept.
const VERDICTS: usize = 200;

/// The event file of a request.
#[derive(serde::Deserialize)]
pub struct Named {
    file: String,
}

/// The event file of a request that depends on its text.
#[derive(serde::Deserialize)]
pub struct Held {
    file: String,
    /// The mark of the text that the page believes the file to hold; empty if it believes that there is no file.
    #[serde(default)]
    was: String,
    /// Whether a quick look will do.
    #[serde(default)]
    quick: bool,
}

/// The words of a search for flowers, the piece that they are for, and the day of the event.
#[derive(serde::Deserialize)]
pub struct Wanted {
    #[serde(default)]
    on: String,
    #[serde(default)]
    q: String,
    #[serde(default)]
    piece: String,
}

/// The answer that lists all problems of an error.
fn wrong(error: &Error, file: &str) -> Response {
    (StatusCode::UNPROCESSABLE_ENTITY, Html(layout::problems(error, file).into_string())).into_response()
}

/// The state of an event as the page shows it.
fn now(app: &AppState, file: &str, text: &str) -> Now {
    let undo = lock(&app.earlier).get(file).is_some_and(|all| !all.is_empty());
    let read = if file == HABITS_FILE { habits::read(file, text) } else { app.folder.event(file, text) };
    Now::of(file, text, read, undo)
}

/// Shows the page of an event.
pub async fn show(State(app): Shared, Query(named): Query<Named>) -> Answer {
    aside(move || match plain_name(&named.file).and_then(|()| app.folder.text(&named.file)) {
        Ok(text) => {
            let was = text.as_deref().map(mark).unwrap_or_default();
            let now = now(&app, &named.file, &text.unwrap_or_default());
            Html(page::page(&named.file, &was, &now).into_string()).into_response()
        }
        Err(error) => wrong(&error, &named.file),
    })
    .await
}

/// Changes an event by edits of the page, and shows it as it stands then.
pub async fn edit(
    State(app): Shared,
    Query(held): Query<Held>,
    Form(edits): Form<Vec<(String, String)>>,
) -> Answer {
    aside(move || {
        write(&app, &held, Earlier::Kept, &|there| {
            let unread = || Problem::new("the file cannot be read, so nothing can be changed but its text");
            let mut draft = Draft::read(there).ok_or_else(unread)?;
            apply(&mut draft, &edits)?;
            Ok(draft.text())
        })
    })
    .await
}

/// Saves a text. A file is overwritten only if the page knew its content, since another window or an editor may have
/// changed it.
pub async fn save(State(app): Shared, Query(held): Query<Held>, text: String) -> Answer {
    aside(move || write(&app, &held, Earlier::Kept, &|_| Ok(text.clone()))).await
}

/// Takes the last change of an event back.
pub async fn undo(State(app): Shared, Query(held): Query<Held>) -> Answer {
    aside(move || {
        let Some(before) = lock(&app.earlier).get_mut(&held.file).and_then(Vec::pop) else {
            return (StatusCode::CONFLICT, "There is nothing to take back.").into_response();
        };
        // What was taken back is not itself to be taken back.
        let answer = write(&app, &held, Earlier::Forgotten, &|_| Ok(before.clone()));
        if !answer.status().is_success() {
            lock(&app.earlier).entry(held.file).or_default().push(before);
        }
        answer
    })
    .await
}

/// Whether the text that was there before is kept, so that a change can be taken back.
#[derive(PartialEq)]
enum Earlier {
    Kept,
    Forgotten,
}

/// Writes what `change` makes of the text of a file, and answers with the event as it stands then.
fn write(app: &AppState, held: &Held, earlier: Earlier, change: &dyn Fn(&str) -> Result<String>) -> Response {
    // Nobody may write between the look at the file and the writing.
    let _one = lock(&app.saving);
    let file = &held.file;
    let locked = match plain_name(file).and_then(|()| app.folder.hold(file)) {
        Ok(locked) => locked,
        Err(error) => return wrong(&error, file),
    };
    let there = match app.folder.text(file) {
        Ok(there) => there,
        Err(error) => return wrong(&error, file),
    };
    let text = match change(there.as_deref().unwrap_or_default()) {
        Ok(text) => text,
        Err(error) => return wrong(&error, file),
    };
    if let Some(there) = &there
        && *there != text
        && mark(there) != held.was
    {
        return (StatusCode::CONFLICT, taken(file)).into_response();
    }
    if there.as_ref() != Some(&text) {
        if let Err(error) = app.folder.save(file, &text) {
            return wrong(&error, file);
        }
        if earlier == Earlier::Kept {
            remember(app, file, there.unwrap_or_default());
        }
    }
    drop(locked);
    ([(header::ETAG, mark(&text))], Json(now(app, file, &text))).into_response()
}

/// Keeps an earlier text of a file for undo.
fn remember(app: &AppState, file: &str, text: String) {
    let mut earlier = lock(&app.earlier);
    let all = earlier.entry(file.to_string()).or_default();
    all.push(text);
    while all.len() > EARLIER.0 || all.iter().map(String::len).sum::<usize>() > EARLIER.1 && all.len() > 1 {
        all.remove(0);
    }
}

/// The message when saving would overwrite what the page has not seen.
fn taken(file: &str) -> String {
    format!(
        "Not saved: {file} was changed elsewhere since this page read it, and is as it was left there. Load the page anew to \
         see it; what you typed last is still in its field."
    )
}

/// Plans an event as it stands, and keeps the plan for the requests that follow.
pub async fn make(State(app): Shared, Query(held): Query<Held>) -> Answer {
    alone(Arc::clone(&app), move || {
        let text = match plain_name(&held.file).and_then(|()| app.folder.text(&held.file)) {
            Ok(text) => text.unwrap_or_default(),
            Err(error) => return wrong(&error, &held.file),
        };
        if mark(&text) != held.was {
            return (StatusCode::CONFLICT, taken(&held.file)).into_response();
        }
        let event = match app.folder.event(&held.file, &text) {
            Ok(event) => event,
            Err(error) => return wrong(&error, &held.file),
        };
        let of = mark_of(&event);
        let planned = match keep(&app, &held.file, event, of, held.quick) {
            Ok(planned) => planned,
            Err(error) => return wrong(&error, &held.file),
        };
        match Draft::read(&text) {
            Some(draft) => Json(shown::parts(&planned, &draft, held.quick)).into_response(),
            None => stale(),
        }
    })
    .await
}

/// Plans an event with the mark `of`, and keeps the plan.
///
/// # Errors
/// If it cannot be planned.
fn keep(app: &AppState, file: &str, event: Event, of: u64, quick: bool) -> Result<Arc<Planned>> {
    // An earlier plan goes first: two plans of two hundred flowers would be more than a small computer holds.
    lock(&app.plans).retain(|p| p.file != file);
    let settings = settings(&event, quick);
    let plan = if quick { look(event, settings) } else { plan(event, settings) }?;
    let number = app.made.fetch_add(1, Ordering::Relaxed) + 1;
    let planned = Arc::new(Planned { number, file: file.to_string(), of, plan, drawn: Drawn::default() });
    let mut plans = lock(&app.plans);
    plans.insert(0, Arc::clone(&planned));
    plans.truncate(PLANS);
    Ok(planned)
}

/// The whole plan of an event as it stands: the one that is kept, or else one made now.
///
/// # Errors
/// If the event cannot be read or planned.
pub fn planned_now(app: &AppState, file: &str) -> Result<Arc<Planned>> {
    plain_name(file)?;
    let event = app.folder.event(file, &app.folder.text(file)?.unwrap_or_default())?;
    let of = mark_of(&event);
    let settings = settings(&event, false);
    let whole = |p: &&Arc<Planned>| p.file == file && p.of == of && p.plan.settings == settings;
    let kept = lock(&app.plans).iter().find(whole).cloned();
    kept.map_or_else(|| keep(app, file, event, of, false), Ok)
}

/// What a florist knows better of a flower: its hours dry.
#[derive(serde::Deserialize)]
pub struct Known {
    hours: String,
}

/// The flower that something is known of.
#[derive(serde::Deserialize)]
pub struct Flower {
    piece: usize,
    flower: usize,
}

/// Takes a florist's own hours dry of a flower into the event, and goes back to the flower.
pub async fn know(
    State(app): Shared,
    Query(held): Query<Held>,
    Query(Flower { piece, flower }): Query<Flower>,
    Form(known): Form<Known>,
) -> Answer {
    aside(move || {
        let path = format!("set:piece.{piece}.flower.{flower}.dry_hours");
        let answer = write(&app, &held, Earlier::Kept, &|there| {
            let unread = || Problem::new("the file cannot be read, so nothing can be changed but its text");
            let mut draft = Draft::read(there).ok_or_else(unread)?;
            apply(&mut draft, &[(path.clone(), known.hours.clone())])?;
            // What cannot be read is told at once, and not written.
            app.folder.event(&held.file, &draft.text())?;
            Ok(draft.text())
        });
        if !answer.status().is_success() {
            return answer;
        }
        let to = format!("{}&piece={piece}&flower={flower}", layout::with_event("why", Some(&held.file)));
        Redirect::to(&to).into_response()
    })
    .await
}

/// The settings of a plan of an event, or of a quick look at one.
fn settings(event: &Event, quick: bool) -> Settings {
    let all = Settings::default();
    let orders = event.orders().count().max(1);
    let lots = match quick {
        true => (QUICK.2 / orders).clamp(QUICK.1, QUICK.0),
        false => (WHOLE / orders).min(all.lots),
    };
    Settings { lots, ..all }
}

/// Says in a line whether an event lasts, by a quick look; remembered for as long as the event is the same.
pub async fn verdict(State(app): Shared, Query(named): Query<Named>) -> Answer {
    alone(Arc::clone(&app), move || {
        let text = plain_name(&named.file).and_then(|()| app.folder.text(&named.file));
        let event = match text.and_then(|text| app.folder.event(&named.file, &text.unwrap_or_default())) {
            Ok(event) => event,
            Err(error) => return Html(shown::incomplete(&error).into_string()).into_response(),
        };
        let of = mark_of(&event);
        if let Some(told) = lock(&app.verdicts).get(&of) {
            return Html(told.clone()).into_response();
        }
        let quick = settings(&event, true);
        let told = match look(event, quick) {
            Ok(plan) => shown::verdict(&Facts::of(&plan)).into_string(),
            Err(error) => return wrong(&error, &named.file),
        };
        let mut verdicts = lock(&app.verdicts);
        if verdicts.len() > VERDICTS {
            verdicts.clear();
        }
        verdicts.insert(of, told.clone());
        Html(told).into_response()
    })
    .await
}

/// Checks a text, and lists its problems.
pub async fn check(State(app): Shared, Query(named): Query<Named>, text: String) -> Answer {
    aside(move || match plain_name(&named.file).and_then(|()| app.folder.event(&named.file, &text)) {
        Ok(_) => StatusCode::NO_CONTENT.into_response(),
        Err(error) => wrong(&error, &named.file),
    })
    .await
}

/// Lists the flowers that match some words.
pub async fn flowers(Query(wanted): Query<Wanted>) -> Html<String> {
    /// The month in which most events are, where the day is not known yet.
    const USUAL: i8 = 6;
    let month = wanted.on.parse::<jiff::civil::Date>().map_or(USUAL, jiff::civil::Date::month);
    Html(pieces::found(&wanted.q, &wanted.piece, month).into_string())
}
