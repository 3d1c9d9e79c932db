//! The first page: three doors, and the events of the folder.

use super::draft::Draft;
use super::folder::plain_name;
use super::layout::{Page, encoded, event_page, problems, whole};
use super::lock::lock;
use super::state::{Answer, AppState, Shared, aside};
use crate::error::{Error, Problem, Result};
use crate::event::{EXAMPLES, HABITS_FILE};
use axum::Form;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Redirect, Response};
use maud::{Markup, html};

/// What a new event begins from.
#[derive(serde::Deserialize)]
pub struct Begun {
    /// What it is to be called.
    #[serde(default)]
    name: String,
    /// The example to begin from, if any.
    #[serde(default)]
    example: String,
    /// The event of the folder to copy, if any.
    #[serde(default)]
    copy: String,
}

/// Shows the first page.
pub async fn show(State(app): Shared) -> Answer {
    aside(move || match listed(&app) {
        Ok(all) => Html(page(&all, None).into_string()).into_response(),
        Err(error) => wrong(&app, &error),
    })
    .await
}

/// The page that says what is wrong.
fn wrong(app: &AppState, error: &Error) -> Response {
    let all = listed(app).unwrap_or_default();
    (StatusCode::UNPROCESSABLE_ENTITY, Html(page(&all, Some(error)).into_string())).into_response()
}

/// An event of the folder.
struct Listed {
    file: String,
    name: String,
    date: String,
}

/// The events of the folder, the latest first.
fn listed(app: &AppState) -> Result<Vec<Listed>> {
    let mut all = Vec::new();
    for file in app.folder.names()? {
        let text = app.folder.text(&file).ok().flatten().unwrap_or_default();
        let draft = Draft::read(&text);
        let get = |path: &str| draft.as_ref().map_or(String::new(), |d| d.get(path));
        let name = Some(get("event.name")).filter(|n| !n.trim().is_empty());
        let date = get("event.date");
        all.push(Listed {
            name: name.unwrap_or_else(|| file.trim_end_matches(".toml").to_string()),
            file,
            date,
        });
    }
    all.sort_by(|a, b| b.date.cmp(&a.date).then(a.name.cmp(&b.name)));
    Ok(all)
}

/// Begins an event: a new one, an example or a copy.
pub async fn begin(State(app): Shared, Form(begun): Form<Begun>) -> Answer {
    aside(move || match begin_one(&app, &begun) {
        Ok(file) => Redirect::to(&event_page(&file)).into_response(),
        Err(error) => wrong(&app, &error),
    })
    .await
}

/// Writes the event that was asked for, and returns the name of its file.
fn begin_one(app: &AppState, begun: &Begun) -> Result<String> {
    let (stem, text) = if !begun.copy.is_empty() {
        plain_name(&begun.copy)?;
        let gone = || Problem::new(format!("{} is no longer there", begun.copy));
        let text = app.folder.text(&begun.copy)?.ok_or_else(gone)?;
        let unread = || Problem::new(format!("{} cannot be read, so it cannot be copied", begun.copy));
        let mut draft = Draft::read(&text).ok_or_else(unread)?;
        // Another year is another day.
        draft.take_out("event.date");
        (format!("{} copy", begun.copy.trim_end_matches(".toml")), draft.text())
    } else if let Some((stem, _, text)) = EXAMPLES.iter().find(|e| e.0 == begun.example) {
        ((*stem).to_string(), (*text).to_string())
    } else {
        let name = begun.name.trim();
        let mut draft = Draft::read("").ok_or_else(|| Problem::new("an empty file cannot be read"))?;
        draft.set("event.name", if name.is_empty() { "A new event" } else { name });
        (stem_of(name), draft.text())
    };
    let _one = lock(&app.saving);
    let names = std::iter::once(format!("{stem}.toml")).chain((2..1000).map(|n| format!("{stem} {n}.toml")));
    for file in names.filter(|file| !file.eq_ignore_ascii_case(HABITS_FILE)) {
        plain_name(&file)?;
        // Another program may be about to take the same name.
        let _held = app.folder.hold(&file)?;
        if app.folder.text(&file).is_ok_and(|there| there.is_none()) {
            app.folder.save(&file, &text)?;
            return Ok(file);
        }
    }
    Err(Problem::new("there are too many events of that name").into())
}

/// The name of a file for an event: its own, as far as a file may have it.
fn stem_of(name: &str) -> String {
    let plain: String = name.chars().filter(|c| c.is_alphanumeric() || " -_".contains(*c)).take(60).collect();
    let plain = plain.split_whitespace().collect::<Vec<_>>().join(" ");
    if plain.is_empty() { "event".to_string() } else { plain }
}

/// The first page.
fn page(all: &[Listed], error: Option<&Error>) -> Markup {
    let body = html! {
        main.wrap #doors tabindex="-1" {
            h1 { "Which flowers stand dry, which want water, and when to set them." }
            @if let Some(error) = error { div role="alert" { (problems(error, "")) } }
            div.doors {
                section.door aria-labelledby="door-plan" {
                    h2 #door-plan { "Plan an event" }
                    p { "Say the day, the rooms and the pieces; see at once what lasts." }
                    form.row method="post" action="begin" {
                        label for="new-name" { "What is it called?" }
                        input #new-name name="name" type="text" maxlength="80" autocomplete="off" placeholder="Orchard lunch";
                        button.main type="submit" { "New event" }
                    }
                    details.more {
                        summary { "From an example" }
                        @for (id, words, _) in EXAMPLES {
                            form method="post" action="begin" {
                                input type="hidden" name="example" value=(id);
                                button type="submit" { (words) }
                            }
                        }
                        p.small { "People, places and days of the examples are invented." }
                    }
                }
                section.door aria-labelledby="door-ask" {
                    h2 #door-ask { "Ask about one flower" }
                    p { "A room and some hours: dry, tube or vase?" }
                    p { a.button href="ask" { "Ask" } }
                }
                section.door aria-labelledby="door-trials" {
                    h2 #door-trials { "My trials" }
                    p { "Ten heads on a table and a clock make the answer yours." }
                    p { a.button href="trials" { "Start or look" } }
                }
            }
            p { a href=(event_page(HABITS_FILE)) { "My habits" } ": prices, minutes, stock and your name, once for all events." }
            h2 { "My events" }
            @if all.is_empty() { p { "None here yet." } }
            ul.events {
                @for listed in all {
                    li data-verdict=(encoded(&listed.file)) {
                        a href=(event_page(&listed.file)) { (listed.name) }
                        span { @if listed.date.is_empty() { "no day yet" } @else { (day(&listed.date)) } }
                        span.told role="status" {}
                        form method="post" action="begin" {
                            input type="hidden" name="copy" value=(listed.file);
                            button type="submit" aria-label={ "Copy " (listed.name) " for another day" } { "Copy" }
                        }
                    }
                }
            }
        }
    };
    whole(&Page { file: None, name: "", title: "Events", main: "doors", script: "home.js" }, &body)
}

/// A day of the calendar as it is said; as it is written if it is none.
fn day(date: &str) -> String {
    date.parse::<jiff::civil::Date>().map_or(date.to_string(), |d| d.strftime("%a %-d %B %Y").to_string())
}
