//! The forms of the notebook's page, and what the page shows.

use crate::calibrate::notebook::Notebook;
use crate::error::Error;

/// The form to begin a trial, as it was filled in.
#[derive(Default, Clone, serde::Deserialize)]
#[serde(default)]
#[allow(missing_docs, reason = "the fields are named as in the notebook")]
pub struct Start {
    pub flower: String,
    pub date: String,
    pub at: String,
    pub heads: String,
    pub air: String,
    pub lot: String,
    pub conditioning: String,
    pub stage: String,
    pub leaves: String,
    pub lying: String,
    pub treated: String,
    pub weight: String,
    pub note: String,
}

/// The form to note a look, as it was filled in.
#[derive(Default, Clone, serde::Deserialize)]
#[serde(default)]
#[allow(missing_docs, reason = "the fields are named as in the notebook")]
pub struct Look {
    pub trial: u32,
    pub at: String,
    pub after: String,
    pub presentable: String,
    pub wilted: String,
    pub heads: String,
    pub weight: String,
    pub drunk: String,
    pub air: String,
    pub note: String,
}

/// What the page shows besides the notebook: forms as filled in, and what is wrong with them.
#[derive(Default)]
pub struct Shown {
    /// What was just done, in words; empty if nothing was.
    pub done: &'static str,
    /// The error to show, if any.
    pub wrong: Option<Error>,
    /// The form to begin a trial.
    pub start: Start,
    /// The form to note a look.
    pub look: Look,
}

/// The notebook that the page shows.
pub struct Book {
    /// The name of its file.
    pub name: String,
    /// The notes that it holds.
    pub notes: Notebook,
    /// Its last entry in words and as it stands in the file, if it has one.
    pub last: Option<(String, String)>,
}
