//! A document as plain text for a message: no layout, no picture, one line for each thing that is said.

use crate::report::document::{Block, Document, Table};

/// The document as text for a message, which a telephone wraps as it likes.
///
/// ```
/// use headwater::report::document::{Block, Document};
/// let blocks = vec![Block::Title("We set them on Saturday.".to_string()), Block::Heading("We need".to_string()),
///     Block::Ticks(vec!["Shade".to_string()])];
/// let document = Document { title: "Flowers".to_string(), blocks };
/// assert_eq!(headwater::report::render::message::text(&document), "We set them on Saturday.\n\nWe need\n- Shade\n");
/// ```
pub fn text(document: &Document) -> String {
    document.blocks.iter().map(said).collect()
}

/// One block, with its line breaks.
fn said(block: &Block) -> String {
    let lines = |all: &[String]| all.iter().map(|line| format!("- {line}\n")).collect();
    match block {
        Block::Title(text) | Block::Text(text) | Block::Small(text) => format!("{text}\n"),
        Block::Heading(text) | Block::Subheading(text) => format!("\n{text}\n"),
        Block::Points(all) | Block::Ticks(all) => lines(all),
        Block::Table(table) => rows(table),
        // What is drawn, ruled or signed is not for a message.
        Block::Picture(..) | Block::Form(..) | Block::Sign(_) | Block::Rule | Block::NewSheet => {
            String::new()
        }
    }
}

/// The rows of a table, a line each: what it is of, and what is said of it.
fn rows(table: &Table) -> String {
    let line = |row: &Vec<String>| format!("- {}\n", row.join(": "));
    table.rows.iter().map(line).collect()
}
