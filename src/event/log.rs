//! A climate from a logger's CSV: `log` and `log_day`.

use super::section::{Found, Section};
use super::site::{Site, SpaceClimate};
use crate::climate::Air;
use crate::climate::logger::{Asked, DayOrder};
use crate::climate::record::Record;
use crate::error::{Problem, reason};
use jiff::civil::Date;

/// Reads the log and chooses its day; `None` where it is wrong, the problems remembered.
pub fn logged(section: &Section, name: &str, log: Found<String>, site: &Site) -> Option<SpaceClimate> {
    let asked = section.text("log_day");
    let order = [("day first", DayOrder::DayFirst), ("month first", DayOrder::MonthFirst)];
    let said = Asked {
        column: section.text("log_column").map(|f| f.value),
        dates: section.option("log_dates", &order),
    };
    let record = record(section, &log, &said, site)?;
    let day = day(section, &record, &log, asked, site.sky.date)?;
    if !record.covers(day, 0.0, 24.0) {
        let problem = Problem::new(format!("the log \"{}\" does not hold all of {day}", log.value))
            .expected("a day that the log holds from midnight to midnight")
            .help(match record.last_whole_day() {
                Some(day) => format!("log_day = {day}"),
                None => MORE.to_string(),
            });
        section.source.wrong(section.place_of("log_day"), problem);
        return None;
    }
    let climate = record
        .climate(day, site.span.0, site.span.1, site.pressure, Air::STILL, false)
        .expect("the log holds the day");
    let mut read = SpaceClimate::new(climate, format!("logger, {day}"), Some(record.scale));
    if day != site.sky.date {
        read.assumptions.push(format!("\"{name}\": the logged {day} stands for the day of the event"));
    }
    Some(read)
}

/// What to do where a log holds no whole day.
const MORE: &str = "export more of the log, or type the climate with [[space.hour]]";

fn record(section: &Section, log: &Found<String>, said: &Asked, site: &Site) -> Option<Record> {
    let text = (site.load)(&log.value)
        .map_err(|e| {
            let problem = Problem::new(format!("the log \"{}\" cannot be read: {}", log.value, reason(&e)))
                .expected("a logger's CSV")
                .help("give its name as seen from the folder of this file");
            section.source.wrong(log.span.clone(), problem);
        })
        .ok()?;
    Record::read_as(&log.value, &text, said)
        .map_err(|e| section.source.problems.borrow_mut().extend(e.problems))
        .ok()
}

/// The day of the log that stands for the event: the one asked for, the event's own, or the last whole one.
fn day(
    section: &Section,
    record: &Record,
    log: &Found<String>,
    asked: Option<Found<String>>,
    own: Date,
) -> Option<Date> {
    if let Some(Found { value, span }) = asked {
        let day = value.parse().ok();
        if day.is_none() {
            let problem = Problem::new(format!("{value:?} is not a day of the calendar"))
                .expected("year-month-day, one of the days of the log")
                .help(match record.last_whole_day() {
                    Some(day) => format!("log_day = {day}"),
                    None => "take log_day out".to_string(),
                });
            section.source.wrong(span, problem);
        }
        return day;
    }
    let day = if record.covers(own, 0.0, 24.0) { Some(own) } else { record.last_whole_day() };
    if day.is_none() {
        let problem = Problem::new(format!("the log \"{}\" holds no whole day", log.value))
            .expected("readings for at least one day, midnight to midnight")
            .help(MORE);
        section.source.wrong(log.span.clone(), problem);
    }
    day
}
