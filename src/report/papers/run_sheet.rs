//! The run sheet: who does which work, and when.

use crate::report::cautions;
use crate::report::clock::{clock, day_and_clock, nearest_five};
use crate::report::document::{Block, Document, Table};
use crate::report::facts::{Facts, OrderFacts};
use crate::report::sections;
use crate::report::words::{heading, treatment_name};
use crate::units::Span;

/// The run sheet for the planner and the crew.
pub fn run_sheet(facts: &Facts) -> Document {
    let title = format!("Run sheet: {}", facts.event.name);
    let mut blocks = vec![Block::Title(title.clone())];
    blocks.extend(heading(facts.event, facts.hotter).into_iter().take(1).map(Block::Text));
    blocks.extend(sections::calls(facts));
    blocks.push(Block::Table(orders(facts)));
    for person in &facts.people {
        blocks.push(Block::Heading(sections::day(facts.event, person)));
        blocks.push(Block::Ticks(sections::assignments(facts, person)));
    }
    let later = later(facts);
    if !later.is_empty() {
        blocks.push(Block::Heading("Later".to_string()));
        blocks.push(Block::Ticks(later));
    }
    blocks.push(Block::Heading("Take care".to_string()));
    blocks.push(Block::Points(cautions::of(facts)));
    Document { title, blocks }
}

/// The orders, with treatment, times, and how long boxes may wait dry.
fn orders(facts: &Facts) -> Table {
    let row = |order: &OrderFacts| {
        vec![
            order.piece.name.clone(),
            format!("{} {}", order.heads, order.called()),
            treatment_name(order.treatment()),
            day_and_clock(facts.event, order.window.0),
            facts.event.moment(order.window.1).clock(),
            match order.dry_wait {
                Some(wait) if wait.hours == 0.0 => "not at all".to_string(),
                Some(wait) => Span { hours: wait.hours }.to_string(),
                None => "no".to_string(),
            },
        ]
    };
    let head = ["piece", "flowers", "how", "not before", "not after", "boxes may wait dry"];
    Table::new(&head, facts.orders.iter().map(row).collect())
}

/// What happens after the crew has left, in order of time: moves, and tubes that run empty.
fn later(facts: &Facts) -> Vec<String> {
    let event = facts.event;
    let mut later: Vec<(f64, String)> = Vec::new();
    for (piece, orders) in facts.pieces() {
        for (at, to) in &piece.moves {
            later.push((*at, format!("move the {} to the {}", piece.name, event.spaces[*to].name)));
        }
        for order in orders {
            let empty = order.tube_empty.as_ref().and_then(|q| q.p05);
            if let Some(at) = empty.filter(|t| *t < piece.until && *t > event.doors) {
                let name = order.called();
                later.push((at, format!("first tubes of the {name} in the {} run empty", piece.name)));
            }
        }
    }
    later.sort_by(|a, b| a.0.total_cmp(&b.0));
    later.into_iter().map(|(at, what)| format!("{}: {what}", clock(event, nearest_five(at)))).collect()
}
