//! A climate from a logger's CSV: `log` and `log_day`.

use super::read::{Found, Section};
use super::spaces::{Read, Venue};
use crate::climate::Air;
use crate::climate::record::Record;
use crate::error::Problem;

/// Reads the log and chooses its day; `None` where it is wrong, the problems remembered.
pub fn logged(section: &Section, name: &str, log: Found<String>, venue: &Venue) -> Option<Read> {
    let Found { value, span } = log;
    let log_day = section.text("log_day");
    let mut assumptions = Vec::new();
    let text = match (venue.load)(&value) {
        Ok(text) => text,
        Err(e) => {
            let problem =
                Problem::new(format!("the log \"{value}\" cannot be read: {}", crate::error::reason(&e)))
                    .expected("a logger's CSV, as plain text in UTF-8")
                    .help("give its name as seen from the folder of this file");
            section.source.wrong(span, problem);
            return None;
        }
    };
    let record = match Record::read(&value, &text) {
        Ok(record) => record,
        Err(e) => {
            section.source.problems.borrow_mut().extend(e.problems);
            return None;
        }
    };
    let day = match log_day {
        Some(Found { value, span }) => match value.parse() {
            Ok(day) => day,
            Err(_) => {
                let problem = Problem::new(format!("{value:?} is not a day of the calendar"))
                    .expected("year-month-day, one of the days of the log")
                    .help(match record.last_whole_day() {
                        Some(day) => format!("log_day = {day}"),
                        None => "take log_day out".to_string(),
                    });
                section.source.wrong(span, problem);
                return None;
            }
        },
        None if record.covers(venue.date, 0.0, 24.0) => venue.date,
        None => match record.last_whole_day() {
            Some(day) => day,
            None => {
                let problem = Problem::new(format!("the log \"{value}\" holds no whole day"))
                    .expected("readings for at least one day, midnight to midnight")
                    .help("export more of the log, or type the climate with [[space.hour]]");
                section.source.wrong(span, problem);
                return None;
            }
        },
    };
    if !record.covers(day, 0.0, 24.0) {
        let problem = Problem::new(format!("the log \"{value}\" does not hold all of {day}"))
            .expected("a day that the log holds from midnight to midnight")
            .help(match record.last_whole_day() {
                Some(day) => format!("log_day = {day}"),
                None => "export more of the log, or type the climate with [[space.hour]]".to_string(),
            });
        section.source.wrong(section.place_of("log_day"), problem);
        return None;
    }
    if day != venue.date {
        assumptions.push(format!("\"{name}\": the logged {day} stands for the day of the event"));
    }
    let climate = record
        .climate(day, venue.span.0, venue.span.1, venue.pressure, Air::STILL, false)
        .expect("the log holds the day");
    Some(Read { climate, from: format!("logger, {day}"), assumptions, scale: Some(record.scale) })
}
