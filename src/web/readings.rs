//! A logger's file that was chosen or dropped on the page: it is kept beside the event.

use super::folder::readings_name;
use super::layout::problems;
use super::state::{Answer, Shared, aside};
use axum::body::Bytes;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse};

/// The longest file of readings that the page takes, bytes: a year of every five minutes.
pub const MOST: usize = 8 << 20;

/// The name under which readings are kept.
#[derive(serde::Deserialize)]
pub struct Readings {
    name: String,
}

/// Keeps a logger's file beside the event, so that a room can name it.
pub async fn keep(State(app): Shared, Query(readings): Query<Readings>, bytes: Bytes) -> Answer {
    aside(move || {
        match readings_name(&readings.name).and_then(|()| app.folder.keep(&readings.name, &bytes)) {
            Ok(()) => StatusCode::NO_CONTENT.into_response(),
            Err(error) => {
                let told = problems(&error, &readings.name).into_string();
                (StatusCode::UNPROCESSABLE_ENTITY, Html(told)).into_response()
            }
        }
    })
    .await
}
