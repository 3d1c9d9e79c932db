//! Requests for the papers of the last plan, as pages and as files.

use super::shown;
use super::state::{Answer, Shared, alone, aside, planned, stale};
use crate::report::document::Document;
use crate::report::facts::Facts;
use crate::report::papers::paper as named;
use crate::report::render::pdf::Sheet;
use crate::report::render::{calendar, csv, html, message, pdf, take_along};
use axum::extract::{Query, State};
use axum::http::{StatusCode, header};
use axum::response::{Html, IntoResponse, Response};
use std::sync::Arc;

/// The paper that is wanted: the plan that it belongs to, the name of its file, and the sheet for a PDF.
#[derive(serde::Deserialize)]
pub struct On {
    plan: u64,
    name: String,
    #[serde(default)]
    page: String,
}

/// The plan that a part belongs to.
#[derive(serde::Deserialize)]
pub struct Part {
    plan: u64,
}

impl On {
    fn sheet(&self) -> Sheet {
        if self.page == "letter" { Sheet::Letter } else { Sheet::A4 }
    }
}

/// The paper with a file name such as `client.pdf`, if its event still is as it was planned.
pub async fn paper(State(app): Shared, Query(on): Query<On>) -> Answer {
    let asked = Arc::clone(&app);
    let planned = aside(move || planned(&asked, on.plan)).await?.ok_or_else(stale)?;
    let (stamp, name) = (app.folder.stamp(), on.name.clone());
    alone(app, move || {
        let facts = Facts::of(&planned.plan);
        match name.split_once('.') {
            _ if name == "take-along.html" => {
                kept("text/html; charset=utf-8", &name, take_along::page(&facts).into_bytes())
            }
            _ if name == "client.txt" => match named(&facts, "client") {
                Some(client) => kept("text/plain; charset=utf-8", &name, message::text(&client).into_bytes()),
                None => missing(),
            },
            _ if name == "run-sheet.csv" => kept("text/csv; charset=utf-8", &name, csv::run_sheet(&facts)),
            _ if name == "run-sheet.ics" => {
                kept("text/calendar; charset=utf-8", &name, calendar::run_sheet(&facts, &stamp))
            }
            _ if name == "buying.csv" => kept("text/csv; charset=utf-8", &name, csv::buying(&facts)),
            Some((paper, form @ ("html" | "pdf"))) => match named(&facts, paper) {
                Some(document) => shown(&document, form, &name, on.sheet()),
                None => missing(),
            },
            _ => missing(),
        }
    })
    .await
}

/// The last plan in other scenarios, as a part of the page.
pub async fn days(State(app): Shared, Query(part): Query<Part>) -> Answer {
    let asked = Arc::clone(&app);
    let planned = aside(move || planned(&asked, part.plan)).await?.ok_or_else(stale)?;
    alone(app, move || Html(shown::days(&Facts::of(&planned.plan)).into_string()).into_response()).await
}

fn missing() -> Response {
    (StatusCode::NOT_FOUND, "There is no such paper.").into_response()
}

fn shown(document: &Document, form: &str, name: &str, sheet: Sheet) -> Response {
    if form == "pdf" {
        let named = format!("inline; filename=\"{name}\"");
        let kind = "application/pdf".to_string();
        return (
            [(header::CONTENT_TYPE, kind), (header::CONTENT_DISPOSITION, named)],
            pdf::pdf(document, sheet),
        )
            .into_response();
    }
    Html(html::linked(document, "paper.css")).into_response()
}

/// The answer with a file to download.
fn kept(kind: &'static str, name: &str, bytes: Vec<u8>) -> Response {
    let named = format!("attachment; filename=\"{name}\"");
    ([(header::CONTENT_TYPE, kind.to_string()), (header::CONTENT_DISPOSITION, named)], bytes).into_response()
}
