//! The buying list as a paper.

use crate::report::document::{Block, Document};
use crate::report::facts::Facts;
use crate::report::sections;
use crate::report::words::capital;

/// The buying list of an event.
pub fn buying(facts: &Facts) -> Document {
    let title = format!("To buy: {}", facts.event.name);
    let mut blocks = vec![Block::Title(title.clone())];
    blocks.extend(sections::buying(facts));
    blocks.extend(facts.event.assumptions.iter().map(|a| Block::Small(capital(a))));
    Document { title, blocks }
}
