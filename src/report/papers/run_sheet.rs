//! The run sheet: who does which work, and when.

use crate::report::advice;
use crate::report::cautions;
use crate::report::clock::{clock, day_and_clock, nearest_five};
use crate::report::document::{Block, Document, Table};
use crate::report::eve;
use crate::report::facts::{Facts, OrderFacts};
use crate::report::money;
use crate::report::sections;
use crate::report::words::{called, capital, heading, listed, treatment_name};
use crate::units::Span;

/// The run sheet for the planner and the crew.
pub fn run_sheet(facts: &Facts) -> Document {
    let title = format!("Run sheet: {}", facts.event.name);
    let mut blocks = vec![Block::Title(title.clone())];
    blocks.extend(heading(facts.event, facts.hotter).into_iter().take(1).map(Block::Text));
    let eve = eve::for_crew(facts);
    if !eve.is_empty() {
        blocks.push(Block::Ticks(eve));
    }
    blocks.push(Block::Heading("Before".to_string()));
    blocks.push(Block::Ticks(before(facts)));
    blocks.push(Block::Heading("On site".to_string()));
    blocks.extend(sections::calls(facts));
    blocks.push(Block::Table(orders(facts)));
    blocks.push(Block::Points(notes(facts)));
    let tired = tired(facts);
    if !tired.is_empty() {
        blocks.push(Block::Heading("At the last look".to_string()));
        blocks.push(Block::Points(tired));
    }
    for person in &facts.people {
        blocks.push(Block::Heading(sections::day(facts.event, person)));
        blocks.push(Block::Ticks(sections::assignments(facts, person)));
    }
    let later = later(facts);
    if !later.is_empty() {
        blocks.push(Block::Heading("Later, by the venue".to_string()));
        blocks.push(Block::Ticks(later));
    }
    let counted = counted(facts);
    if !counted.is_empty() {
        blocks.push(Block::Heading("Count in at the end".to_string()));
        blocks.push(Block::Ticks(counted));
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

/// How to place each flower.
fn notes(facts: &Facts) -> Vec<String> {
    let mut notes: Vec<String> = Vec::new();
    for order in facts.orders.iter().filter(|o| !o.flower().placing_note().is_empty()) {
        let note = format!("{}: {}", capital(&order.called()), order.flower().placing_note());
        if !notes.contains(&note) {
            notes.push(note);
        }
    }
    notes
}

/// Which tired heads a tube still saves, and for how long: flowers of which the same holds share a line.
fn tired(facts: &Facts) -> Vec<String> {
    let mut lines: Vec<(String, Vec<String>)> = Vec::new();
    for order in facts.orders.iter().filter(|o| o.repairs > 0 && !o.is_foliage()) {
        let (what, name) = (advice::soft_heads(order), order.called());
        match lines.iter_mut().find(|(known, _)| *known == what) {
            Some((_, names)) if names.contains(&name) => {}
            Some((_, names)) => names.push(name),
            None => lines.push((what, vec![name])),
        }
    }
    lines.iter().map(|(what, names)| format!("{}: {what}", capital(&listed(names)))).collect()
}

/// What is done before anybody is on site: flowers into water, the van loaded, the drive.
fn before(facts: &Facts) -> Vec<String> {
    let event = facts.event;
    let mut lines: Vec<String> = Vec::new();
    let mut days: Vec<(u8, Vec<String>)> = Vec::new();
    for line in &facts.bill.lines {
        let name = format!("{} {}", line.stems + line.left_over, called(&line.sort));
        let at = line.sort.flower.days_before().1;
        match days.iter_mut().find(|(days, _)| *days == at) {
            Some((_, names)) => names.push(name),
            None => days.push((at, vec![name])),
        }
    }
    days.sort_by_key(|(days, _)| std::cmp::Reverse(*days));
    for (before, names) in days {
        let date = event.date.saturating_sub(jiff::Span::new().days(i64::from(before)));
        lines.push(format!(
            "By {}: recut and into water {}: {}",
            date.strftime("%A %-d %B"),
            // Two days are a night and a day to spare; what comes earlier comes in bud.
            if before > 2 { "to open" } else { "overnight" },
            names.join(", ")
        ));
    }
    // A box for each flower of a piece, numbered as they come out: what is set last goes in first.
    let from = |order: &OrderFacts| order.placed.map_or(order.window.0, |placed| placed.0);
    let mut set: Vec<&OrderFacts> = facts.orders.iter().collect();
    set.sort_by(|a, b| from(a).total_cmp(&from(b)));
    let box_of = |(n, order): (usize, &&OrderFacts)| {
        format!("box {}: {} {} for the {}", n + 1, order.heads, order.called(), order.piece.name)
    };
    let boxes: Vec<String> = set.iter().enumerate().rev().map(box_of).collect();
    lines.push(format!("Into the van, in this order, so that box 1 comes out first: {}", boxes.join("; ")));
    let mut things: Vec<String> = facts.bill.things.iter().map(money::thing).collect();
    things.push("tools, pins, cloths, the papers".to_string());
    lines.push(format!("At the door of the van: {}", things.join("; ")));
    let mut starts: Vec<(f64, Vec<usize>)> = Vec::new();
    for person in &facts.people {
        match starts.iter_mut().find(|(from, _)| *from == person.from) {
            Some((_, numbers)) => numbers.push(person.number),
            None => starts.push((person.from, vec![person.number])),
        }
    }
    for (from, numbers) in starts {
        let numbers: Vec<String> = numbers.iter().map(ToString::to_string).collect();
        let s = if numbers.len() == 1 { "" } else { "s" };
        lines.push(format!(
            "{}: person{s} {} leave{} ({} of drive)",
            day_and_clock(event, from - event.travel.drive),
            numbers.join(", "),
            if numbers.len() == 1 { "s" } else { "" },
            Span { hours: event.travel.drive }
        ));
    }
    lines
}

/// What has to come back.
fn counted(facts: &Facts) -> Vec<String> {
    facts.bill.things.iter().map(money::thing).collect()
}

/// What the venue's people do after the crew has left, in order of time.
fn later(facts: &Facts) -> Vec<String> {
    let event = facts.event;
    let mut later: Vec<(f64, String)> = Vec::new();
    for piece in event.pieces.iter().filter(|p| p.moved_by_venue) {
        for (at, to) in &piece.moves {
            later.push((*at, format!("move the {} to the {}", piece.name, event.spaces[*to].name)));
        }
    }
    later.sort_by(|a, b| a.0.total_cmp(&b.0));
    later.into_iter().map(|(at, what)| format!("{}: {what}", clock(event, nearest_five(at)))).collect()
}
