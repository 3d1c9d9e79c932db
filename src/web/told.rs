//! What the notebook says by itself: how good forecasts were, one trial against another, which trial to do next.

use super::layout::{Page, problems, whole, with_event};
use super::notes::book;
use super::state::{Answer, AppState, Shared, alone};
use crate::calibrate::compare::compare;
use crate::calibrate::design::{LOST_HEAD_HOURS, values};
use crate::error::{Problem, Result};
use crate::report::comparison::{self, sides};
use crate::report::document::Line;
use crate::report::next_trial;
use crate::report::scores::Scores;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Response};
use maud::{Markup, html};
use std::sync::Arc;

/// The event whose notebook it is, if any, and the trials to compare.
#[derive(serde::Deserialize)]
pub struct Asked {
    file: Option<String>,
    #[serde(default)]
    first: String,
    #[serde(default)]
    second: String,
}

/// How good the forecasts of the notebook were.
pub async fn score(State(app): Shared, Query(asked): Query<Asked>) -> Answer {
    answered(app, asked, "How good were the forecasts?", |app, asked| {
        let notes = book(app, asked.file.as_deref())?.notes;
        let none = || {
            Problem::new("the notebook holds no forecast yet")
                .help("note a trial with its looks, or how an event went")
        };
        Ok(Scores::of(&notes).ok_or_else(none)?.lines())
    })
    .await
}

/// One trial, or some, against others.
pub async fn compared(State(app): Shared, Query(asked): Query<Asked>) -> Answer {
    answered(app, asked, "One against the other", |app, asked| {
        let notes = book(app, asked.file.as_deref())?.notes;
        let (first, second) = sides(&notes, &asked.first, &asked.second)?;
        let found = compare(first[0].flower, &first, &second);
        Ok(comparison::told(&first, &second, &found))
    })
    .await
}

/// Which trial would help an event most.
pub async fn next(State(app): Shared, Query(asked): Query<Asked>) -> Answer {
    answered(app, asked, "Which trial next?", |app, asked| {
        let none = || Problem::new("no event is named").help("open an event, and ask from there");
        let file = asked.file.as_deref().ok_or_else(none)?;
        super::folder::plain_name(file)?;
        let event = app.folder.event(file, &app.folder.text(file)?.unwrap_or_default())?;
        let lost = LOST_HEAD_HOURS * event.means.hourly;
        let mut lines = next_trial::told(&event, &values(&event, lost, 1));
        lines.push(Line::new(format!("{}.", next_trial::counted(&event, lost))));
        Ok(lines)
    })
    .await
}

/// The answer with a page of lines under a title, or of what is wrong.
async fn answered(
    app: Arc<AppState>,
    asked: Asked,
    title: &'static str,
    lines: fn(&AppState, &Asked) -> Result<Vec<Line>>,
) -> Answer {
    alone(Arc::clone(&app), move || match lines(&app, &asked) {
        Ok(lines) => page(&asked, title, StatusCode::OK, &listed(&lines)),
        Err(mut error) => {
            // Nobody types a command here.
            error
                .problems
                .iter_mut()
                .for_each(|p| p.help = p.help.take().filter(|help| !help.contains("headwater ")));
            page(&asked, title, StatusCode::UNPROCESSABLE_ENTITY, &problems(&error, ""))
        }
    })
    .await
}

fn page(asked: &Asked, title: &'static str, code: StatusCode, told: &Markup) -> Response {
    let file = asked.file.as_deref();
    let body = html! {
        main.wrap #told tabindex="-1" {
            h1 { (title) }
            (told)
            p { a.button href=(with_event("trials", file)) { "Back to my trials" } }
        }
    };
    let page = Page { file, name: "", title: "Trials", main: "told", script: "" };
    (code, Html(whole(&page, &body).into_string())).into_response()
}

/// Lines as paragraphs, those that are set in as lists.
fn listed(lines: &[Line]) -> Markup {
    html! {
        @for part in lines.chunk_by(|a, b| (a.indent > 0) == (b.indent > 0)) {
            @if part[0].indent > 0 {
                ul { @for line in part { li { (line.text.trim_start_matches("- ")) } } }
            } @else {
                @for line in part.iter().filter(|l| !l.text.is_empty()) { p { (line.text) } }
            }
        }
    }
}
