//! The papers of an event: a page for the client, the run sheet for the crew, the buying list.

mod buying;
mod client;
mod run_sheet;

use super::document::Document;
use super::facts::Facts;

pub use run_sheet::run_sheet;

/// The papers by the names of their files, and what they are.
pub const PAPERS: [(&str, &str); 3] =
    [("client", "For the client"), ("run-sheet", "Run sheet"), ("buying", "Buying list")];

/// The paper of that name.
pub fn paper(facts: &Facts, name: &str) -> Option<Document> {
    match name {
        "client" => Some(client::client(facts)),
        "run-sheet" => Some(run_sheet(facts)),
        "buying" => Some(buying::buying(facts)),
        _ => None,
    }
}
