//! The venue's page: who is on site when, and what is asked of the venue.

use super::needs::{moves, needs};
use crate::event::{Near, Piece};
use crate::report::document::{Block, Document, Table};
use crate::report::facts::Facts;
use crate::report::words::path;

/// The venue's page of an event.
pub fn venue(facts: &Facts) -> Document {
    let event = facts.event;
    let title = format!("For the venue: {}", event.name);
    let mut blocks = vec![Block::Title(title.clone())];
    let florist: Vec<String> =
        [&event.florist.name, &event.florist.telephone].into_iter().flatten().cloned().collect();
    let from =
        if florist.is_empty() { String::new() } else { format!(" Flowers by {}.", florist.join(", ")) };
    let place = event.place.as_ref().map_or(String::new(), |p| format!("{p}, "));
    blocks.push(Block::Text(format!(
        "{place}{}. Guests from {}.{from}",
        event.date.strftime("%A %-d %B %Y"),
        event.moment(event.doors).clock()
    )));
    blocks.push(Block::Heading("What we ask of you".to_string()));
    blocks.push(Block::Ticks(needs(facts).into_iter().chain(moves(facts)).collect()));
    blocks.push(Block::Heading("What will stand where".to_string()));
    let row = |piece: &Piece| {
        let count = if piece.count > 1 { format!("{} ", piece.count) } else { String::new() };
        vec![format!("{count}{}", piece.name), path(event, piece), event.moment(piece.until).clock()]
    };
    let rows = event.pieces.iter().map(row).collect();
    blocks.push(Block::Table(Table::new(&["", "where", "until"], rows)));
    blocks.push(Block::Heading("Flame, ladders, water, power".to_string()));
    let near = |what: Near| event.pieces.iter().any(|p| p.near.contains(&what));
    let mut care = vec![
        "Greens dry and burn: no open flame on or near them. Your rules and the fire authority's decide.".to_string(),
        "Water stands in tubes, vases and buckets: keep it away from sockets and cables; we bring no electric tools \
         unless we tell you."
            .to_string(),
        "Exits and their signs stay clear.".to_string(),
    ];
    if near(Near::Overhead) {
        care.push(
            "We work on ladders, with one to hold each; tell us what your house asks for that.".to_string(),
        );
    }
    if near(Near::Food) {
        care.push(
            "Some of it stands near food: florists' flowers are not for eating and touch no plate."
                .to_string(),
        );
    }
    blocks.push(Block::Points(care));
    blocks.push(Block::Sign(["Venue, date", "Florist, date"].map(String::from).to_vec()));
    Document { title, blocks }
}
