//! One order to the wholesaler across events: by the day on which flowers must be there, in whole bunches, with what each
//! event takes of them.

use super::document::{Block, Document, Table};
use super::facts::Facts;
use super::words::{called, capital};
use crate::decide::bill::Line;
use jiff::civil::Date;

/// A flower of the order, with the stems that each event takes.
struct Row<'a> {
    by: Date,
    name: String,
    line: &'a Line,
    takes: Vec<u32>,
}

/// The order for some events, which are in the order of their days.
pub fn combined(events: &[Facts]) -> Document {
    let mut rows: Vec<Row> = Vec::new();
    for (e, facts) in events.iter().enumerate() {
        for line in &facts.bill.lines {
            let days = line.sort.flower.days_before().1;
            let by = facts.event.date.saturating_sub(jiff::Span::new().days(i64::from(days)));
            let name = called(&line.sort);
            let known = rows.iter().position(|r| r.by == by && r.name == name);
            let row = known.unwrap_or_else(|| {
                rows.push(Row { by, name, line, takes: vec![0; events.len()] });
                rows.len() - 1
            });
            rows[row].takes[e] += line.stems;
        }
    }
    rows.sort_by(|a, b| (a.by, &a.name).cmp(&(b.by, &b.name)));
    let mut blocks = vec![Block::Title("One order".to_string())];
    let names = events.iter().enumerate();
    let names = names
        .map(|(i, f)| format!("{}: {}, {}", letter(i), f.event.name, f.event.date.strftime("%a %-d %B")));
    blocks.push(Block::Points(names.collect()));
    for day in rows.chunk_by(|a, b| a.by == b.by) {
        blocks.push(Block::Heading(format!("To be there by {}", day[0].by.strftime("%A %-d %B %Y"))));
        let mut head: Vec<String> =
            ["flower", ">bunches", ">stems needed", ">stems over"].map(String::from).to_vec();
        head.extend((0..events.len()).map(|i| format!(">{}", letter(i))));
        let row = |row: &Row| {
            let stems: u32 = row.takes.iter().sum();
            let size = row.line.sort.flower.stems_per_bunch();
            let bunches = stems.div_ceil(size);
            let mut cells = vec![capital(&row.name), format!("{bunches} of {size}")];
            cells.extend([stems, bunches * size - stems].map(|n| n.to_string()));
            cells.extend(row.takes.iter().map(|n| if *n == 0 { String::new() } else { n.to_string() }));
            cells
        };
        blocks.push(Block::Table(Table { head, rows: day.iter().map(row).collect(), keys: 1 }));
    }
    let conditioning = "The day leaves time to stand overnight and to open: lilies a week and more, gladioli and ranunculus up \
                        to five days, garden roses five (growers' and sellers' pages, see reference-data), the others two \
                        days (common practice, no source).";
    blocks.push(Block::Small(conditioning.to_string()));
    Document { title: "One order".to_string(), blocks }
}

/// The letter of an event: A, B and so on; numbers beyond Z.
fn letter(i: usize) -> String {
    match u8::try_from(i) {
        Ok(i) if i < 26 => char::from(b'A' + i).to_string(),
        _ => (i + 1).to_string(),
    }
}
