//! Times of an event's clock, as they are said, tabulated and exchanged.

use crate::event::Event;

/// A time in running text: the day is named where it is not the event's own.
pub fn clock(event: &Event, hours: f64) -> String {
    let moment = event.moment(hours);
    match moment.day_and_minute().0 {
        0 => moment.clock(),
        -1 => format!("{} the day before", moment.clock()),
        1 => format!("{} that night", moment.clock()),
        _ => moment.to_string(),
    }
}

/// A clock time, with its weekday where setting up begins on another day than the event's own.
pub fn day_and_clock(event: &Event, hours: f64) -> String {
    let moment = event.moment(hours);
    let (day, _) = moment.day_and_minute();
    let date = event.date.saturating_add(jiff::Span::new().days(day));
    let several = event.access.iter().any(|w| w.0 < 0.0);
    let weekday = if several || day != 0 { format!("{} ", date.strftime("%a")) } else { String::new() };
    format!("{weekday}{}", moment.clock())
}

/// To the nearest five minutes, which are as fine as anybody works to.
pub fn nearest_five(hours: f64) -> f64 {
    (hours * 12.0).round() / 12.0
}

/// A time as ISO 8601 (2019) writes a local one.
pub fn iso(event: &Event, hours: f64) -> String {
    let (day, minute) = event.moment(hours).day_and_minute();
    let date = event.date.saturating_add(jiff::Span::new().days(day));
    format!("{date}T{:02}:{:02}", minute / 60, minute % 60)
}
