//! The papers of the last plan, as pages and for the printer.

use super::{Answer, Shared, alone, planned, stale};
use crate::report::document::Document;
use crate::report::papers::paper as named;
use crate::report::{html, pdf};
use axum::extract::{Path, State};
use axum::http::{StatusCode, header};
use axum::response::{Html, IntoResponse, Response};

/// A paper by its name and form, such as `client.pdf`.
pub async fn paper(State(desk): Shared, Path((number, name)): Path<(u64, String)>) -> Answer {
    let Some(planned) = planned(&desk, number) else {
        return Ok(stale());
    };
    alone(desk, move || match name.split_once('.') {
        Some((paper, form @ ("html" | "pdf"))) => match named(&planned.plan, &planned.report, paper) {
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
