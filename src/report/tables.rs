//! The run sheet and the buying list for other programs: comma-separated values and a calendar.

use super::work::{self, nearest_five};
use super::{Report, iso};
use crate::decide::plan::Plan;

/// The run sheet, a row a stint.
pub fn run_sheet(plan: &Plan) -> Vec<u8> {
    let mut rows = vec![["person", "from", "to", "what"].map(String::from).to_vec()];
    for (i, person) in plan.rota.people.iter().enumerate() {
        for assignment in &person.assignments {
            rows.push(vec![
                (i + 1).to_string(),
                iso(&plan.event, nearest_five(assignment.from)),
                iso(&plan.event, nearest_five(assignment.to)),
                work::what(plan, assignment),
            ]);
        }
    }
    csv(&rows)
}

/// The buying list, a row a flower or thing.
pub fn buying(plan: &Plan, report: &Report) -> Vec<u8> {
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
    ];
    let mut rows = vec![head.map(String::from).to_vec()];
    for l in &report.buy {
        let numbers = [
            l.in_pieces,
            l.spares,
            l.repairs,
            l.breakage,
            l.stems,
            l.stems_per_bunch,
            l.bunches,
            l.left_over,
        ];
        let mut row = vec![l.what.clone()];
        row.extend(numbers.map(|n| n.to_string()));
        row.push(format!("{:.2}", l.cost));
        rows.push(row);
    }
    for thing in &plan.bill.things {
        let what = match thing.tube_ml > 0.0 {
            true => format!("{} of {} ml", thing.method, crate::units::short(thing.tube_ml)),
            false => thing.method.to_string(),
        };
        let mut row = vec![what, thing.number.to_string()];
        row.extend((0..7).map(|_| String::new()));
        row.push(format!("{:.2}", thing.cost));
        rows.push(row);
    }
    csv(&rows)
}

fn csv(rows: &[Vec<String>]) -> Vec<u8> {
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    for row in rows {
        writer.write_record(row).expect("rows of one length into memory");
    }
    writer.into_inner().expect("memory does not fail")
}

/// The run sheet as a calendar, each stint an entry in the venue's own time.
///
/// # Source
/// RFC 5545 (2009): content lines folded at 75 octets (3.1), text escaped (3.3.11), times without a zone (3.3.5, form 1).
pub fn calendar(plan: &Plan, stamp: &str) -> Vec<u8> {
    let event = &plan.event;
    let mut out = String::new();
    let mut line = |text: &str| {
        let mut column = 0;
        for c in text.chars() {
            if column + c.len_utf8() > 75 {
                out.push_str("\r\n ");
                column = 1;
            }
            out.push(c);
            column += c.len_utf8();
        }
        out.push_str("\r\n");
    };
    let time = |hours: f64| format!("{}00", iso(event, nearest_five(hours)).replace(['-', ':'], ""));
    line("BEGIN:VCALENDAR");
    line("VERSION:2.0");
    line("PRODID:-//headwater//run sheet//EN");
    let mut entry = |number: String, from: f64, to: f64, what: &str| {
        line("BEGIN:VEVENT");
        line(&format!("UID:{number}-{}@headwater.invalid", event.date));
        line(&format!("DTSTAMP:{stamp}"));
        line(&format!("DTSTART:{}", time(from)));
        line(&format!("DTEND:{}", time(to)));
        line(&format!("SUMMARY:{}", escaped(what)));
        if let Some(place) = &event.place {
            line(&format!("LOCATION:{}", escaped(place)));
        }
        line("END:VEVENT");
    };
    for (i, person) in plan.rota.people.iter().enumerate() {
        let assignments = person.assignments.iter().filter(|s| nearest_five(s.from) < nearest_five(s.to));
        for (s, assignment) in assignments.enumerate() {
            let what = format!("Person {}: {}", i + 1, work::what(plan, assignment));
            entry(format!("{}-{}", i + 1, s + 1), assignment.from, assignment.to, &what);
        }
    }
    for (p, piece) in event.pieces.iter().enumerate() {
        for (m, (at, to)) in piece.moves.iter().enumerate() {
            let what = format!("Move the {} to the {}", piece.name, event.spaces[*to].name);
            entry(format!("move-{}-{}", p + 1, m + 1), *at, at + 0.25, &what);
        }
    }
    entry("doors".to_string(), event.doors, event.doors + 1.0 / 12.0, "Doors open");
    line("END:VCALENDAR");
    out.into_bytes()
}

fn escaped(text: &str) -> String {
    text.replace('\\', "\\\\").replace(';', "\\;").replace(',', "\\,").replace('\n', "\\n")
}
