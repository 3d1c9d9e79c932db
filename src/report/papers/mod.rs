//! The papers of an event: the client's page, the venue's, the run sheet, drawings for new hands, and the buying list.

mod buying;
mod client;
mod first_time;
mod needs;
mod run_sheet;
mod venue;

use super::document::Document;
use super::facts::Facts;

pub use run_sheet::run_sheet;

/// The papers: the name of each file and the title of its paper.
pub const PAPERS: [(&str, &str); 5] = [
    ("client", "For the client"),
    ("venue", "For the venue"),
    ("run-sheet", "Run sheet"),
    ("first-time", "For new hands"),
    ("buying", "Buying list"),
];

/// The paper with a name in [`PAPERS`]; `None` for any other.
pub fn paper(facts: &Facts, name: &str) -> Option<Document> {
    match name {
        "client" => Some(client::client(facts)),
        "venue" => Some(venue::venue(facts)),
        "run-sheet" => Some(run_sheet(facts)),
        "first-time" => Some(first_time::first_time(facts)),
        "buying" => Some(buying::buying(facts)),
        _ => None,
    }
}
