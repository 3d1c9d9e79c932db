//! When people may set up, and whether the pieces keep to it.

use super::read::Section;
use super::{Event, Piece};
use crate::error::Problem;
use crate::units::Moment;
use std::ops::Range;

/// A piece must be placed in some access window, look good until some time after that, and move after that.
pub fn placed_in_time(section: &Section, moves: &[Range<usize>], piece: &Piece, event: &Event) {
    let windows = event.allowed(piece);
    let moment = |hours: f64| event.moment(hours).to_string();
    let next_day = |key: &str, hours: f64| {
        format!("{key} = \"next day {}\" if that is after midnight", event.moment(hours).clock())
    };
    let (Some(first), false) = (windows.first(), event.access.is_empty()) else {
        if !event.access.is_empty() {
            let (key, help) = match piece.placed {
                Some((from, to)) if from > to => {
                    ("placed_from", "swap placed_from and placed_to, or name the day")
                }
                Some((from, _)) if from.is_finite() => {
                    ("placed_from", "widen placed_from and placed_to, or add an [[access]]")
                }
                _ => ("placed_to", "give a later placed_to, or add an [[access]]"),
            };
            let access: Vec<String> = event
                .access
                .iter()
                .map(|(a, b)| format!("{} to {}", moment(*a), moment(b.min(event.doors))))
                .collect();
            let problem = Problem::new(format!(
                "\"{}\" is never placed: there is no access within its own times",
                piece.name
            ))
            .expected(format!("times that meet the access, which is {}", access.join(" and ")))
            .help(help);
            section.source.wrong(section.place_of(key), problem);
        }
        return;
    };
    if piece.until <= first.0 {
        let problem = Problem::new(format!(
            "\"{}\" must look good until {}, but is not placed before {}",
            piece.name,
            moment(piece.until),
            moment(first.0)
        ));
        let help = if (0.0..24.0).contains(&piece.until) {
            next_day("until", piece.until)
        } else {
            "give a later `until`, or an earlier [[access]]".to_string()
        };
        section.source.wrong(
            section.place_of("until"),
            problem.expected("a time after the piece is placed").help(help),
        );
    }
    for (step, (at, _)) in moves.iter().zip(&piece.moves) {
        if *at <= first.0 {
            let problem = Problem::new(format!(
                "\"{}\" moves at {}, but is not placed before {}",
                piece.name,
                moment(*at),
                moment(first.0)
            ));
            let help = if (0.0..24.0).contains(at) {
                next_day("at", *at)
            } else {
                "give the move a later time, or set up in the space it moves to".to_string()
            };
            section
                .source
                .wrong(step.clone(), problem.expected("a time after the piece is placed").help(help));
        }
    }
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
        let from = section.required::<Moment>("from", "from when you may set up", "\"09:00\"");
        let to = section.required::<Moment>("to", "until when you may set up", "\"15:30\"");
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
                    Moment::at(*last).shown_as(from.value.style)
                ),
                "access times in rising order that do not overlap",
                "sort the [[access]] entries by time, or make one of two that overlap".to_string(),
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
