//! The run sheet as a calendar file.

use super::mark::mark;
use crate::event::Event;
use crate::report::clock::{iso, nearest_five};
use crate::report::crew;
use crate::report::facts::Facts;

/// The run sheet as a calendar in the venue's own time: an entry for each assignment, each move and the doors. `stamp`
/// is the time of writing in UTC, such as `20270814T170000Z`.
///
/// # Source
/// RFC 5545 (2009): content lines folded at 75 octets (3.1), text escaped (3.3.11), times without a zone (3.3.5, form 1).
pub fn run_sheet(facts: &Facts, stamp: &str) -> Vec<u8> {
    of(facts, None, stamp)
}

/// The day of one person as a calendar, by the person's number; as [`run_sheet`].
pub fn of_person(facts: &Facts, number: usize, stamp: &str) -> Vec<u8> {
    of(facts, Some(number), stamp)
}

/// What tells an event from all others, so that no two entries in the world have one name: a hash of what it is called,
/// where and when it is.
pub(super) fn identifier(event: &Event) -> String {
    let text = format!("{}|{}|{}", event.name, event.place.as_deref().unwrap_or_default(), event.date);
    format!("{}-{:016x}", event.date, mark(text.bytes()))
}

fn of(facts: &Facts, only: Option<usize>, stamp: &str) -> Vec<u8> {
    let event = facts.event;
    let event_id = identifier(event);
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
        line(&format!("UID:{number}-{event_id}@headwater.invalid"));
        line(&format!("DTSTAMP:{stamp}"));
        line(&format!("DTSTART:{}", time(from)));
        line(&format!("DTEND:{}", time(to)));
        line(&format!("SUMMARY:{}", escaped(what)));
        if let Some(place) = &event.place {
            line(&format!("LOCATION:{}", escaped(place)));
        }
        line("END:VEVENT");
    };
    for (p, person) in facts.people.iter().enumerate() {
        if only.is_some_and(|number| number != person.number) {
            continue;
        }
        for (n, assignment) in person.assignments.iter().enumerate() {
            let what = format!("Person {}: {}", person.number, crew::work(facts, assignment));
            entry(format!("{}-{}", p + 1, n + 1), assignment.from, assignment.to, &what);
        }
    }
    for (p, piece) in event.pieces.iter().enumerate().filter(|_| only.is_none()) {
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
