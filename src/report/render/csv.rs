//! The run sheet and the buying list as comma-separated values, for other programs.

use crate::decide::bill::{Line, Thing};
use crate::event::Event;
use crate::report::clock::iso;
use crate::report::crew;
use crate::report::facts::Facts;
use crate::report::money::{is_own, kind, of_thing, shown};
use crate::report::words::called;

/// The run sheet in CSV, a row for each assignment.
pub fn run_sheet(facts: &Facts) -> Vec<u8> {
    let mut rows =
        vec![["person", "from", "to", "what", "day", "clock_from", "clock_to"].map(String::from).to_vec()];
    let clock = |hours: f64| facts.event.moment(hours).clock();
    for person in &facts.people {
        for assignment in &person.assignments {
            rows.push(vec![
                person.number.to_string(),
                iso(facts.event, assignment.from),
                iso(facts.event, assignment.to),
                crew::work(facts, assignment),
                iso(facts.event, assignment.from).split('T').next().unwrap_or_default().to_string(),
                clock(assignment.from),
                clock(assignment.to),
            ]);
        }
    }
    csv(&rows)
}

/// The buying list in CSV, a row for each flower, then for tubes and vases.
pub fn buying(facts: &Facts) -> Vec<u8> {
    let head = [
        "what",
        "in_pieces",
        "spares",
        "last_look",
        "breakage",
        "stems",
        "stems_per_bunch",
        "bunches",
        "left_over",
        "cost",
        "price",
    ];
    let mut rows = vec![head.map(String::from).to_vec()];
    rows.extend(facts.bill.lines.iter().map(|line| flower(facts.event, line)));
    rows.extend(facts.bill.things.iter().map(|thing| self::thing(facts.event, thing)));
    csv(&rows)
}

fn flower(event: &Event, line: &Line) -> Vec<String> {
    let numbers = [
        line.heads,
        line.spares,
        line.repairs,
        line.breakage,
        line.stems,
        line.sort.flower.stems_per_bunch(),
        line.bunches,
        line.left_over,
    ];
    let mut row = vec![called(&line.sort)];
    row.extend(numbers.map(|n| n.to_string()));
    let is_known = shown(event, line.cost(), line.own_price).is_some();
    row.extend(money(is_known, line.cost(), line.own_price));
    row
}

fn thing(event: &Event, thing: &Thing) -> Vec<String> {
    let mut row = vec![kind(thing, ""), thing.number.to_string()];
    row.extend((0..7).map(|_| String::new()));
    row.extend(money(of_thing(event, thing).is_some(), thing.cost, is_own(event, thing)));
    row
}

/// A cost, and whether its price is the florist's own; neither where nothing is known of it, as on the other papers.
fn money(is_known: bool, cost: f64, own: bool) -> [String; 2] {
    match is_known {
        true => [format!("{cost:.2}"), if own { "own" } else { "guessed" }.to_string()],
        false => Default::default(),
    }
}

/// A cell that no spreadsheet takes for a formula: one that begins like a formula begins with an apostrophe instead.
fn plain(cell: &str) -> String {
    let formula = cell.starts_with(['=', '+', '-', '@', '\t', '\r']) && cell.parse::<f64>().is_err();
    if formula { format!("'{cell}") } else { cell.to_string() }
}

fn csv(rows: &[Vec<String>]) -> Vec<u8> {
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    for row in rows {
        writer.write_record(row.iter().map(|cell| plain(cell))).expect("rows of one length into memory");
    }
    writer.into_inner().expect("memory does not fail")
}
