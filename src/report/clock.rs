//! Times on an event's clock, as text for sentences, tables and other programs.

use crate::event::Event;
use crate::units::short;

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

/// How long something lasts, as a person would say it: in minutes, hours or days.
///
/// ```
/// use headwater::report::clock::spoken;
/// assert_eq!([0.75, 3.24, 10.8, 100.0].map(spoken), ["45 min", "3.2 h", "11 h", "4.2 days"]);
/// ```
pub fn spoken(hours: f64) -> String {
    match hours {
        h if h < 1.0 => format!("{:.0} min", h * 60.0),
        h if h < 10.0 => format!("{} h", short(h)),
        h if h < 72.0 => format!("{h:.0} h"),
        h => format!("{} days", short(h / 24.0)),
    }
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
