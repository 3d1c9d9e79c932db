//! The papers of the last plan, as pages and for the printer.

use super::{Answer, Planned, Shared, aside, planned, stale};
use crate::decide::whatif::outcomes;
use crate::report::document::Document;
use crate::report::whatif::Day;
use crate::report::{html, papers, pdf};
use axum::extract::{Path, State};
use axum::http::{StatusCode, header};
use axum::response::{Html, IntoResponse, Response};

/// Their names, and what they are.
pub const PAPERS: [(&str, &str); 3] =
    [("client", "For the client"), ("run-sheet", "Run sheet"), ("buying", "Buying list")];

/// A paper by its name and form, such as `client.pdf`.
pub async fn paper(State(desk): Shared, Path((number, name)): Path<(u64, String)>) -> Answer {
    let Some(planned) = planned(&desk, number) else {
        return Ok(stale());
    };
    aside(move || match name.split_once('.') {
        Some((paper, form @ ("html" | "pdf"))) => match document(&planned, paper) {
            Some(document) => shown(&document, form, &name),
            None => missing(),
        },
        _ => missing(),
    })
    .await
}

fn missing() -> Response {
    (StatusCode::NOT_FOUND, "There is no such paper.").into_response()
}

fn document(planned: &Planned, paper: &str) -> Option<Document> {
    let (plan, report) = (&planned.plan, &planned.report);
    match paper {
        "client" => {
            let days = papers::days_told(plan).into_iter();
            let days: Vec<Day> = days.map(|twist| Day { twist, outcomes: outcomes(plan, twist) }).collect();
            Some(papers::brief(plan, report, &days))
        }
        "run-sheet" => Some(papers::run_sheet(plan, report)),
        "buying" => Some(papers::buying(plan, report)),
        _ => None,
    }
}

fn shown(document: &Document, form: &str, name: &str) -> Response {
    if form == "pdf" {
        let named = format!("inline; filename=\"{name}\"");
        let kind = "application/pdf".to_string();
        return ([(header::CONTENT_TYPE, kind), (header::CONTENT_DISPOSITION, named)], pdf::pdf(document))
            .into_response();
    }
    match html::linked(document, "/paper.css") {
        Ok(page) => Html(page).into_response(),
        Err(e) => {
            (StatusCode::INTERNAL_SERVER_ERROR, format!("The paper cannot be drawn: {e}")).into_response()
        }
    }
}
