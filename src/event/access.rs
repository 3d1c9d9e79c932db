//! When people may set up, and whether the pieces keep to it.

use super::model::{Event, Piece};
use super::pieces::Written;
use super::section::Section;
use crate::error::Problem;
use crate::units::Moment;
use std::ops::Range;

/// Refuses a piece that is not placed in some access window, or that ends or moves before it is placed.
pub fn placed_in_time(written: &Written, piece: &Piece, event: &Event) {
    if event.access.is_empty() {
        return; // told already
    }
    match event.setup_windows(piece).first() {
        Some((first, _)) => {
            outlasts(&written.section, piece, event, *first);
            let moves = written.moves.iter().zip(&piece.moves);
            moves.for_each(|(place, (at, _))| {
                moves_after(&written.section, place, piece, event, (*at, *first))
            });
        }
        None => never_placed(&written.section, piece, event),
    }
}

fn never_placed(section: &Section, piece: &Piece, event: &Event) {
    let (key, help) = match piece.placed {
        Some((from, to)) if from > to => ("placed_from", "swap placed_from and placed_to, or name the day"),
        Some((from, _)) if from.is_finite() => {
            ("placed_from", "widen placed_from and placed_to, or add an [[access]]")
        }
        _ => ("placed_to", "give a later placed_to, or add an [[access]]"),
    };
    let access: Vec<String> = event
        .access
        .iter()
        .map(|(a, b)| format!("{} to {}", event.moment(*a), event.moment(b.min(event.doors))))
        .collect();
    let problem =
        Problem::new(format!("\"{}\" is never placed: there is no access within its own times", piece.name))
            .expected(format!("times that meet the access, which is {}", access.join(" and ")))
            .help(help);
    section.source.wrong(section.place_of(key), problem);
}

/// Refuses a piece that must look good until an hour before which it is not placed.
fn outlasts(section: &Section, piece: &Piece, event: &Event, first: f64) {
    if piece.until > first {
        return;
    }
    let problem = Problem::new(format!(
        "\"{}\" must look good until {}, but is not placed before {}",
        piece.name,
        event.moment(piece.until),
        event.moment(first)
    ));
    let help = next_day(event, "until", piece.until)
        .unwrap_or_else(|| "give a later `until`, or an earlier [[access]]".to_string());
    section
        .source
        .wrong(section.place_of("until"), problem.expected("a time after the piece is placed").help(help));
}

/// Refuses a move at an hour before which the piece is not placed.
fn moves_after(
    section: &Section,
    place: &Range<usize>,
    piece: &Piece,
    event: &Event,
    (at, first): (f64, f64),
) {
    if at > first {
        return;
    }
    let problem = Problem::new(format!(
        "\"{}\" moves at {}, but is not placed before {}",
        piece.name,
        event.moment(at),
        event.moment(first)
    ));
    let help = next_day(event, "at", at)
        .unwrap_or_else(|| "give the move a later time, or set up in the space it moves to".to_string());
    section.source.wrong(place.clone(), problem.expected("a time after the piece is placed").help(help));
}

/// The advice to put a time on the next day, where it is on the event's own day.
fn next_day(event: &Event, key: &str, hours: f64) -> Option<String> {
    (0.0..24.0)
        .contains(&hours)
        .then(|| format!("{key} = \"next day {}\" if that is after midnight", event.moment(hours).clock()))
}

/// When people may set up: windows in rising order, none of which begins after the doors open.
pub fn access(root: &Section, doors: Moment) -> Vec<(f64, f64)> {
    let sections = root.required_sections(
        "access",
        "[[access]]",
        "a section with from and to: when you may set up",
        "from = \"09:00\" and to = \"15:30\"",
    );
    let mut windows: Vec<(f64, f64)> = Vec::new();
    for section in sections {
        let from = section.required_moment("from", "from when you may set up", "\"09:00\"");
        let to = section.required_moment("to", "until when you may set up", "\"15:30\"");
        section.finish();
        let (Some(from), Some(to)) = (from, to) else {
            continue;
        };
        let (a, b) = (from.value.hours, to.value.hours);
        let wrong = |span: &Range<usize>, message: String, expected: &str, help: String| {
            root.source.wrong(span.clone(), Problem::new(message).expected(expected).help(help));
        };
        if b < a {
            wrong(
                &to.span,
                format!("this access ends at {}, before it begins at {}", to.value, from.value),
                "an end after the beginning; plain clock times are those of the event's own day",
                format!(
                    "swap the two, or from = \"day before {}\" if it begins the evening before",
                    from.value.clock()
                ),
            );
        } else if let Some((_, last)) = windows.last().filter(|w| a < w.1) {
            wrong(
                &from.span,
                format!(
                    "this access begins at {}, before the one above it ends at {}",
                    from.value,
                    Moment { hours: *last, ..from.value }
                ),
                "access times in rising order that do not overlap",
                "sort the [[access]] entries by time, or make one of two that overlap".to_string(),
            );
        } else if a > doors.hours && doors.hours < 12.0 && a < doors.hours + 12.0 {
            // 5:30 for half past five in the afternoon.
            let after_noon = Moment { hours: doors.hours + 12.0, ..doors };
            wrong(
                &root.section("event").place_of("doors"),
                format!("the doors open at {doors}, before the access that begins at {}", from.value),
                "doors that open after there was time to set up",
                format!("doors = \"{after_noon}\" if it is in the afternoon"),
            );
        } else if a > doors.hours {
            wrong(
                &from.span,
                format!("this access begins at {}, after the doors open at {doors}", from.value),
                "a time to set up before the doors open",
                format!(
                    "from = \"day before {}\" if it is the day before, or later doors",
                    from.value.clock()
                ),
            );
        } else {
            windows.push((a, b));
        }
    }
    windows
}
