//! Nights in which clocks change.
//!
//! Where the file names the time zone, hours are counted as they pass ([`turn`]). Where it does not, all times of an event
//! are those of one clock, that of its own day, and the florist is told if a night in which clocks usually change lies
//! between its times.

use crate::error::Problem;
use crate::units::{Moment, Turn};
use jiff::civil::{Date, Weekday};
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};

/// Within so many days of the event a change of the clocks matters.
const NEAR: f64 = 8.0;

/// The Unix instant, s, of hour 0 of an event on a day: the midnight that begins it, by the clock of its noon.
pub fn midnight(zone: &TimeZone, date: Date) -> Option<f64> {
    Some(noon(zone, date)?.as_second() as f64 - 12.0 * 3600.0)
}

fn noon(zone: &TimeZone, date: Date) -> Option<Timestamp> {
    zone.to_timestamp(date.at(12, 0, 0, 0)).ok()
}

/// The change of the clocks nearest to an event, if one is near. Time zones are those of the IANA database that is compiled in.
pub fn turn(zone: &TimeZone, date: Date) -> Option<Turn> {
    let noon = noon(zone, date)?;
    let hours = |offset: jiff::tz::Offset| f64::from(offset.seconds()) / 3600.0;
    let usual = hours(zone.to_offset(noon));
    let before = zone.preceding(noon).next();
    let before = before.and_then(|change| {
        let at = change.timestamp();
        Some((at, zone.to_offset(at.checked_sub(SignedDuration::from_secs(1)).ok()?)))
    });
    let after = zone.following(noon).next().map(|change| (change.timestamp(), change.offset()));
    let turns = [before, after].into_iter().flatten().map(|(at, offset)| Turn {
        at: 12.0 + at.duration_since(noon).as_secs_f64() / 3600.0,
        by: hours(offset) - usual,
    });
    turns
        .filter(|turn| turn.by != 0.0 && (turn.at - 12.0).abs() <= 24.0 * NEAR)
        .min_by(|a, b| (a.at - 12.0).abs().total_cmp(&(b.at - 12.0).abs()))
}

/// A time as it was read off the clock, in the hours that pass.
///
/// # Errors
/// If the clock leaps over it.
pub fn passed(read: Moment, turn: Option<Turn>) -> Result<Moment, Problem> {
    read.read_on(turn).ok_or_else(|| {
        let an_hour_on = Moment { hours: read.hours + 1.0, ..read };
        Problem::new(format!("clocks go forward that night, and never show {read}"))
            .expected("a time that the clock shows")
            .help(format!("{:?} for the same moment", an_hour_on.to_string()))
    })
}

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
