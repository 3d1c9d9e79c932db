//! What the page of the notebook is filled in with and shows.

use crate::calibrate::notebook::Notebook;
use crate::error::Error;

/// The form that begins a trial, as it was filled in.
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
    pub treated: String,
    pub weight: String,
    pub note: String,
}

/// The form that notes a look, as it was filled in.
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
    pub air: String,
    pub note: String,
}

/// What the page shows besides the notebook: what was filled in, and what is wrong with it.
#[derive(Default)]
pub struct Shown {
    /// What was done, in words.
    pub done: &'static str,
    /// What is wrong.
    pub wrong: Option<Error>,
    /// The form that begins a trial.
    pub start: Start,
    /// The form that notes a look.
    pub look: Look,
}

/// The notebook's file name, its text and its notes.
pub struct Book {
    /// The file's name.
    pub name: String,
    /// Its notes.
    pub notes: Notebook,
    /// Its last entry in words, and as it stands.
    pub last: Option<(String, String)>,
}
