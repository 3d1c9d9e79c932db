//! The readings of a data logger, read from CSV, as a climate.

use super::logger::{self, Asked, MOST_PROBLEMS, Reading};
use super::{Air, Climate, ClimateError, air::saturation_vapour_pressure};
use crate::error::{Error, Place, Problem, Result};
use crate::units::Scale;
use jiff::civil::{Date, DateTime};

/// Readings may be this far apart before the record counts as having a gap, in hours.
const LONGEST_GAP: f64 = 1.0;
/// A climate keeps the readings this long before and after the hours that it is made for, h.
const AROUND: f64 = 7.0 * 24.0;

/// The readings of a data logger in rising order of time, without a gap, by the clock of the venue.
///
/// In a night in which the clock is changed the record has a gap or a doubled hour, and is refused. An offset written after
/// a time is taken as that of the venue's clock, and ignored.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    readings: Vec<Reading>,
    /// The scale in which its temperatures were written.
    pub scale: Scale,
}

impl Record {
    /// Reads CSV: a line that names the columns, then a time, a temperature and a relative humidity on each line, in
    /// rising order of time, no more than an hour apart.
    ///
    /// Temperatures are in C unless the column's name or the value says F.
    ///
    /// # Errors
    /// Every line that cannot be read, a gap, or times out of order, with file and line.
    pub fn read(file: &str, text: &str) -> Result<Record> {
        Record::read_as(file, text, &Asked::default())
    }

    /// Reads CSV of which the florist says what it does not tell by itself.
    ///
    /// # Errors
    /// As [`Record::read`].
    pub fn read_as(file: &str, text: &str, asked: &Asked) -> Result<Record> {
        let read = logger::lines(file, text, asked)?;
        let place = |line: usize| {
            let text = text.lines().nth(line.saturating_sub(1)).unwrap_or("");
            Place::on(file, line, text, 0..text.len())
        };
        let mut readings: Vec<Reading> = Vec::new();
        let (mut problems, mut gaps) = (Vec::new(), Vec::new());
        // After a line that cannot be read, or one out of order, a gap is not a problem of its own.
        let (mut after_bad, mut in_order) = (false, true);
        for (line, reading) in read.lines {
            if problems.len() >= MOST_PROBLEMS {
                break;
            }
            let reading = match reading {
                Ok(reading) => reading,
                Err(problem) => {
                    after_bad = true;
                    problems.push(problem);
                    continue;
                }
            };
            let hours = readings.last().map_or(LONGEST_GAP, |last| hours_between(last.time, reading.time));
            if let Some(last) = readings.last()
                && hours <= 0.0
            {
                in_order = false;
                problems.push(
                    Problem::new(format!("this time is not after the one before it, {}", last.time))
                        .at(place(line))
                        .expected("times in rising order")
                        .help("sort the log by time; where the clocks went back in that night, take the doubled hour out"),
                );
                continue;
            }
            if hours > LONGEST_GAP && !after_bad && gaps.len() < MOST_PROBLEMS {
                gaps.push(
                    Problem::new(format!("the log has a gap of {} before this line", crate::units::Span { hours }))
                        .at(place(line))
                        .expected("readings no more than an hour apart")
                        .help(
                            "fill the gap with readings you trust, where the clocks went forward too, or cut the log before or \
                             after it",
                        ),
                );
            }
            after_bad = false;
            readings.push(reading);
        }
        if in_order {
            problems.append(&mut gaps);
            problems.sort_by_key(|p: &Problem| p.place.as_ref().map(|place| place.line));
            problems.truncate(MOST_PROBLEMS);
        }
        if problems.is_empty() && readings.len() < 2 {
            problems.push(
                Problem::new(format!("the log has {} readings", readings.len()))
                    .at(place(read.header))
                    .expected("at least two readings")
                    .help("export the log again with its readings"),
            );
        }
        if problems.is_empty() { Ok(Record { readings, scale: read.scale }) } else { Err(Error { problems }) }
    }

    /// The last day that the record covers from midnight to midnight, within the longest gap that is allowed.
    pub fn last_whole_day(&self) -> Option<Date> {
        let last = self.readings.last()?.time.date();
        (0..400)
            .scan(last, |day, _| {
                let today = *day;
                *day = day.yesterday().ok()?;
                Some(today)
            })
            .take_while(|day| *day >= self.readings[0].time.date())
            .find(|day| self.covers(*day, 0.0, 24.0))
    }

    /// Whether the record covers the hours `from` to `to` counted from midnight of `day`.
    pub fn covers(&self, day: Date, from: f64, to: f64) -> bool {
        let hour = |r: &Reading| hours_between(day.to_datetime(jiff::civil::Time::midnight()), r.time);
        self.readings.first().is_some_and(|r| hour(r) <= from + LONGEST_GAP)
            && self.readings.last().is_some_and(|r| hour(r) >= to - LONGEST_GAP)
    }

    /// The record's climate with `day` of the record standing for the day of the event.
    ///
    /// Where the record does not cover the hours `from` to `to` of the event's clock, its one `day` repeats. Of a long record
    /// the days around those hours are kept.
    ///
    /// # Errors
    /// If the record holds no reading of that day.
    pub fn climate(
        &self,
        day: Date,
        from: f64,
        to: f64,
        pressure: f64,
        speed: f64,
        outdoors: bool,
    ) -> Result<Climate> {
        let midnight = day.to_datetime(jiff::civil::Time::midnight());
        let hour = |r: &Reading| hours_between(midnight, r.time);
        let whole = self.covers(day, from, to);
        let first = if whole { from - AROUND } else { 0.0 };
        let inside = |r: &Reading| if whole { hour(r) <= to + AROUND } else { hour(r) < 24.0 };
        // Times rise, so only the readings that are kept need to be looked at.
        let later = &self.readings[self.readings.partition_point(|r| hour(r) < first)..];
        let knots: Vec<(f64, Air)> = later
            .iter()
            .take_while(|r| inside(r))
            .map(|r| {
                let air = Air {
                    temperature_c: r.temperature_c,
                    vapour_pressure: r.rh * saturation_vapour_pressure(r.temperature_c),
                    pressure,
                    speed,
                    sun: 0.0,
                    outdoors,
                };
                (hour(r), air)
            })
            .collect();
        if whole {
            Climate::over(knots, ClimateError::LOGGED)
        } else {
            Climate::daily(knots, ClimateError::LOGGED)
        }
    }
}

fn hours_between(a: DateTime, b: DateTime) -> f64 {
    b.duration_since(a).as_secs_f64() / 3600.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn log(rows: &str) -> String {
        format!("Time,Temp (F),RH %\n{rows}")
    }

    #[test]
    fn a_log_in_fahrenheit_is_read() {
        let record =
            Record::read("l.csv", &log("2027-08-07 14:00,86,50\n2027-08-07 14:30,84.2,55\n")).unwrap();
        assert!((record.readings[0].temperature_c - 30.0).abs() < 1e-9);
        let day = jiff::civil::date(2027, 8, 7);
        let climate = record.climate(day, 14.0, 14.5, Air::SEA_LEVEL, 0.1, false).unwrap();
        assert!((climate.at(14.25).temperature_c - 29.5).abs() < 1e-9);
    }

    #[test]
    fn a_gap_and_a_bad_line_are_both_named() {
        let error = Record::read(
            "l.csv",
            &log("2027-08-07 14:00,86,50\n2027-08-07 14:30,x,50\n2027-08-07 15:00,80,50\n2027-08-07 20:00,80,50\n"),
        )
        .unwrap_err();
        let text = error.to_string();
        assert!(text.contains("line 3") && text.contains("\"x\" is not a temperature"), "{text}");
        assert!(text.contains("line 5") && text.contains("gap of 5 h"), "{text}");
    }
}
