//! Requests for the notebook of trials. Notes go into the same file as from the terminal, and as safely.

use super::folder::plain_name;
use super::forms::{Book, Look, Shown, Start};
use super::layout::with_event;
use super::state::{Answer, AppState, Shared, alone, aside};
use super::trials;
use crate::calibrate::notebook::{Notebook, When, begun, last_entry, looked, without_last};
use crate::error::{Error, Problem, Result};
use crate::flower::catalogue::Catalogue;
use crate::flower::treatment::Lying;
use crate::report::learned_words;
use crate::report::lesson::Lesson;
use crate::report::protocol;
use crate::report::render::{html, pdf};
use crate::units::{Moment, Span};
use axum::Form;
use axum::extract::{Query, State};
use axum::http::{StatusCode, header};
use axum::response::{Html, IntoResponse, Redirect, Response};
use maud::Markup;
use std::str::FromStr;
use std::sync::Arc;

/// The event whose notebook it is, if any, and what was just done, as the address of the page says it.
#[derive(serde::Deserialize)]
pub struct Whose {
    #[serde(default)]
    file: Option<String>,
    #[serde(default)]
    done: String,
    /// The flower to begin a trial of.
    #[serde(default)]
    flower: String,
}

/// The last entry as the page showed it, to be taken out.
#[derive(serde::Deserialize)]
pub struct Undo {
    entry: String,
}

/// The name and the text of the notebook of an event, or of the folder where none is named.
///
/// # Errors
/// If it cannot be read.
pub fn notebook(app: &AppState, file: Option<&str>) -> Result<(String, Option<String>)> {
    file.map_or(Ok(()), plain_name)?;
    app.folder.notebook(file)
}

/// Reads the notebook of an event, or of the folder where none is named.
///
/// # Errors
/// If it cannot be read.
pub fn book(app: &AppState, file: Option<&str>) -> Result<Book> {
    let (name, text) = notebook(app, file)?;
    let Some(text) = text else {
        return Ok(Book { name, notes: Notebook::default(), last: None });
    };
    let notes = Notebook::read(&name, &text, &|log| app.folder.log(log))?;
    let last = last_entry(&name, &text)?
        .as_ref()
        .map(learned_words::last_entry)
        .zip(without_last(&name, &text)?.map(|(_, taken)| taken));
    Ok(Book { name, notes, last })
}

/// The answer with the page of the notebook.
fn page(app: &AppState, file: Option<&str>, shown: &Shown) -> Response {
    let code = if shown.wrong.is_some() { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
    match book(app, file) {
        Ok(book) => (code, Html(trials::page(file, &book, shown).into_string())).into_response(),
        Err(error) => {
            let page = trials::unreadable(file, &error);
            (StatusCode::UNPROCESSABLE_ENTITY, Html(page.into_string())).into_response()
        }
    }
}

/// Shows the page of the notebook.
pub async fn show(State(app): Shared, Query(whose): Query<Whose>) -> Answer {
    let done = match whose.done.as_str() {
        "noted" => "Noted.",
        "undone" => "Taken out again.",
        _ => "",
    };
    let start = Start { flower: whose.flower, ..Start::default() };
    aside(move || page(&app, whose.file.as_deref(), &Shown { done, start, ..Shown::default() })).await
}

/// Reads a value of a form; if it cannot be read, adds a problem and returns `None`.
fn read<T: FromStr<Err = crate::units::UnitError>>(
    what: &str,
    text: &str,
    problems: &mut Vec<Problem>,
) -> Option<T> {
    let wrong = |e: crate::units::UnitError| {
        let message = match text.trim() {
            "" => format!("\"{what}\" is still empty"),
            text => format!("\"{what}\" cannot be {text:?}"),
        };
        problems.push(Problem::new(message).expected(e.expected).help(e.help));
    };
    text.parse().map_err(wrong).ok()
}

/// The answer after something was done: back to the page, at an anchor.
pub fn done(file: Option<&str>, what: &str, place: &str) -> Response {
    let page = with_event("trials", file);
    let more = if page.contains('?') { '&' } else { '?' };
    Redirect::to(&format!("{page}{more}done={what}{place}")).into_response()
}

/// Begins a trial from its form.
pub async fn start(State(app): Shared, Query(whose): Query<Whose>, Form(start): Form<Start>) -> Answer {
    let file = whose.file;
    aside(move || match begin(&app, file.as_deref(), &start) {
        Ok(number) => done(file.as_deref(), "noted", &format!("#trial-{number}")),
        Err(error) => page(&app, file.as_deref(), &Shown { wrong: Some(error), start, ..Shown::default() }),
    })
    .await
}

/// Writes the start of a trial into the notebook, and returns its number.
fn begin(app: &AppState, file: Option<&str>, form: &Start) -> Result<u32> {
    let mut problems = Vec::new();
    let flower = match form.flower.trim() {
        "" => Err(Problem::new("no flower is named").expected("a flower of the catalogue").help("dahlia")),
        name => Catalogue::shipped().find(name),
    };
    let flower = flower.map_err(|p| problems.push(p)).ok();
    let at = read::<Moment>("Out of the water at", &form.at, &mut problems);
    let (Some(flower), Some(at), true) = (flower, at, problems.is_empty()) else {
        return Err(Error { problems });
    };
    let said = [
        ("date", form.date.as_str()),
        ("lot", &form.lot),
        ("heads", &form.heads),
        ("conditioning", &form.conditioning),
        ("stage", &form.stage),
        ("leaves", if form.leaves.is_empty() { "off" } else { "on" }),
        ("lying", if form.lying == Lying::default().words() { "" } else { &form.lying }),
        ("treated", &form.treated),
        ("air", &form.air),
        ("weight", &form.weight),
        ("note", &form.note),
    ];
    let (name, _) = notebook(app, file)?;
    let mut begun_as = 0;
    app.folder.note(&name, &mut |text| {
        let (text, number) =
            begun(&name, text.as_deref(), (flower, at.hours), &said, &|log| app.folder.log(log))?;
        begun_as = number;
        Ok(text)
    })?;
    Ok(begun_as)
}

/// Notes a look from its form.
pub async fn look(State(app): Shared, Query(whose): Query<Whose>, Form(look): Form<Look>) -> Answer {
    let file = whose.file;
    aside(move || match note(&app, file.as_deref(), &look) {
        Ok(()) => done(file.as_deref(), "noted", &format!("#trial-{}", look.trial)),
        Err(error) => page(&app, file.as_deref(), &Shown { wrong: Some(error), look, ..Shown::default() }),
    })
    .await
}

/// Writes a look into the notebook.
fn note(app: &AppState, file: Option<&str>, form: &Look) -> Result<()> {
    let mut problems = Vec::new();
    let when = match form.after.trim() {
        "" => read::<Moment>("Looked at", &form.at, &mut problems).map(|m| When::At(m.hours)),
        after => read::<Span>("Hours after the start", after, &mut problems).map(|s| When::After(s.hours)),
    };
    let Some(when) = when else { return Err(Error { problems }) };
    let said = [
        ("heads", form.heads.as_str()),
        ("air", &form.air),
        ("presentable", &form.presentable),
        ("wilted", &form.wilted),
        ("weight", &form.weight),
        ("drunk", &form.drunk),
        ("note", &form.note),
    ];
    let (name, _) = notebook(app, file)?;
    app.folder.note(&name, &mut |text| {
        let load = |log: &str| app.folder.log(log);
        Ok(looked(&name, text.as_deref(), (Some(form.trial), when), &said, &load)?.0)
    })
}

/// Takes the last entry out, if it is still the one that the page showed.
pub async fn undo(
    State(app): Shared,
    Query(whose): Query<Whose>,
    Form(Undo { entry }): Form<Undo>,
) -> Answer {
    let file = whose.file;
    aside(move || match take_out(&app, file.as_deref(), &entry) {
        Ok(()) => done(file.as_deref(), "undone", ""),
        Err(error) => page(&app, file.as_deref(), &Shown { wrong: Some(error), ..Shown::default() }),
    })
    .await
}

/// Takes the last entry out of the notebook if it equals `entry`.
fn take_out(app: &AppState, file: Option<&str>, entry: &str) -> Result<()> {
    let (name, _) = notebook(app, file)?;
    app.folder.note(&name, &mut |text| {
        let gone =
            || Problem::new("the last entry of the notebook is another one by now, so nothing was taken out");
        // A form sends every line break as two characters.
        let same = |a: &str| a.lines().eq(entry.trim().lines());
        match without_last(&name, &text.unwrap_or_default())? {
            Some((rest, taken)) if same(&taken) => Ok(rest),
            _ => Err(gone().help("look at it below, and try again").into()),
        }
    })
}

/// Shows what the notebook teaches about a flower.
pub async fn learned(State(app): Shared, Query(whose): Query<Whose>) -> Answer {
    let asked = Arc::clone(&app);
    alone(app, move || {
        let file = whose.file.as_deref();
        match lesson(&asked, file, &whose.flower) {
            Ok(page) => Html(page.into_string()).into_response(),
            Err(error) => {
                let page = trials::unreadable(file, &error);
                (StatusCode::UNPROCESSABLE_ENTITY, Html(page.into_string())).into_response()
            }
        }
    })
    .await
}

/// The page on what the notebook teaches about a flower.
fn lesson(app: &AppState, file: Option<&str>, flower: &str) -> Result<Markup> {
    let book = book(app, file)?;
    let flower = Catalogue::shipped().find(flower)?;
    let evidence = book.notes.evidence(flower);
    if evidence.is_empty() {
        let problem = Problem::new(format!("there is no look at plain heads of {} yet", flower.name()));
        return Err(problem.help("note a look at one of its trials").into());
    }
    let lesson = Lesson::of(&book.notes, flower, &evidence);
    Ok(trials::learned(file, flower, &lesson.lines(), &lesson.picture().svg()))
}

/// The protocol of a trial and its form, as a page or as PDF.
pub async fn protocol(form: &'static str) -> Answer {
    aside(move || match form {
        "protocol.pdf" => {
            ([(header::CONTENT_TYPE, "application/pdf")], pdf::pdf(&protocol::document(), pdf::Sheet::A4))
                .into_response()
        }
        "protocol.html" => Html(html::linked(&protocol::document(), "paper.css")).into_response(),
        _ => (StatusCode::NOT_FOUND, "There is no such paper.").into_response(),
    })
    .await
}
