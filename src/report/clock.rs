//! Times on an event's clock, as text for sentences, tables and other programs.

use crate::event::Event;

/// A time for a sentence. The day is named unless it is that of the event.
pub fn clock(event: &Event, hours: f64) -> String {
    let moment = event.moment(hours);
    match moment.day_and_minute().0 {
        0 => moment.clock(),
        -1 => format!("{} the day before", moment.clock()),
        1 => format!("{} that night", moment.clock()),
        _ => moment.to_string(),
    }
}

/// A time for a table. The weekday is named if it is not that of the event, or if access begins on an earlier day.
pub fn day_and_clock(event: &Event, hours: f64) -> String {
    let moment = event.moment(hours);
    let (day, _) = moment.day_and_minute();
    let date = event.date.saturating_add(jiff::Span::new().days(day));
    let several = event.access.iter().any(|w| w.0 < 0.0);
    let weekday = if several || day != 0 { format!("{} ", date.strftime("%a")) } else { String::new() };
    format!("{weekday}{}", moment.clock())
}

/// Hours rounded to the nearest five minutes, the precision to which people work.
pub fn nearest_five(hours: f64) -> f64 {
    (hours * 12.0).round() / 12.0
}

/// A time as a local date and time of ISO 8601 (2019), such as `2027-08-14T17:00`.
pub fn iso(event: &Event, hours: f64) -> String {
    let (day, minute) = event.moment(hours).day_and_minute();
    let date = event.date.saturating_add(jiff::Span::new().days(day));
    format!("{date}T{:02}:{:02}", minute / 60, minute % 60)
}
