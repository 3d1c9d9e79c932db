//! Nights in which clocks change.
//!
//! All times of an event are those of one clock, that of its own day. The file does not say whether clocks change where the
//! event is, so the florist is told if a night in which they usually do lies between its times.

use jiff::civil::{Date, Weekday};

/// A night in which clocks change: month, which Sunday of it (-1 for the last), whether they go forward, whether this is
/// north of the equator, and where.
type Change = (i8, i8, bool, bool, &'static str);

/// Europe: Directive 2000/84/EC. North America: Energy Policy Act of 2005, section 110. The others from memory. Some
/// countries and states there do not change their clocks, and laws change.
const CHANGES: [Change; 7] = [
    (3, -1, true, true, "most of Europe"),
    (10, -1, false, true, "most of Europe"),
    (3, 2, true, true, "most of North America"),
    (11, 1, false, true, "most of North America"),
    (4, 1, false, false, "New Zealand and the south-east of Australia"),
    (9, -1, true, false, "New Zealand"),
    (10, 1, true, false, "the south-east of Australia"),
];
/// The hour of such a Sunday by which the clocks have changed at the latest.
const BY: f64 = 3.0;

/// What to tell of the first such night between two hours on the clock of a day; `None` where there is none.
pub fn caution(date: Date, (from, to): (f64, f64), latitude: Option<f64>) -> Option<String> {
    let days = |hours: f64| (hours / 24.0).floor() as i64;
    (days(from)..=days(to)).find_map(|day| {
        let sunday = date.checked_add(jiff::Span::new().days(day)).ok()?;
        let hour = 24.0 * day as f64 + BY;
        (from < hour && hour < to).then_some(())?;
        let (.., forward, _, place) = CHANGES.iter().find(|(month, which, _, north, _)| {
            latitude.is_none_or(|l| (l >= 0.0) == *north)
                && sunday.month() == *month
                && sunday.nth_weekday_of_month(*which, Weekday::Sunday).is_ok_and(|d| d == sunday)
        })?;
        let turned = if *forward { "forward" } else { "back" };
        // The event's day has the clock from after the change, or the one from before it.
        let (side, shift) = match (hour < 24.0, *forward) {
            (true, true) => ("before", "later (19:00 for 18:00)"),
            (true, false) => ("before", "earlier (17:00 for 18:00)"),
            (false, true) => ("after", "earlier (01:00 for 02:00)"),
            (false, false) => ("after", "later (03:00 for 02:00)"),
        };
        Some(format!(
            "clocks go {turned} an hour in the night to Sunday {sunday} in {place}: if they do where the event is, all hours \
             across that night are one off. Then write each time {side} it an hour {shift}, \
             and read the plan's times {side} it so"
        ))
    })
}
