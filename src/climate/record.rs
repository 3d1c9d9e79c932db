//! The readings of a data logger, read from CSV, as a climate.

use super::{Air, Climate, ClimateError, air::saturation_vapour_pressure};
use crate::error::{CSV_END, Error, Place, Problem, Result, nearest, unclosed_quote};
use crate::units::{Humidity, Scale, Temperature};
use jiff::civil::{Date, DateTime};
use std::io::Read;

/// Readings may be this far apart before the record counts as having a gap, in hours.
const LONGEST_GAP: f64 = 1.0;
/// A climate keeps the readings this long before and after the hours that it is made for, h.
const AROUND: f64 = 7.0 * 24.0;
/// A wrong log is often wrong on every line: this many problems are enough to see it.
const MOST_PROBLEMS: usize = 20;

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

#[derive(Debug, Clone, Copy, PartialEq)]
struct Reading {
    time: DateTime,
    temperature_c: f64,
    rh: f64,
}

/// The indices of the three columns.
struct Columns {
    time: usize,
    temperature: usize,
    humidity: usize,
    scale: Scale,
}

impl Columns {
    fn find(header: &csv::StringRecord) -> std::result::Result<Columns, Vec<Problem>> {
        let names: Vec<String> = header.iter().map(|h| h.trim().to_lowercase()).collect();
        let find = |starts: &[&str]| names.iter().position(|n| starts.iter().any(|s| n.starts_with(s)));
        let column = |starts: &[&str], what: &str| {
            find(starts).ok_or_else(|| {
                let near = names.iter().find(|n| nearest(n, starts.iter().copied()).is_some());
                let hint = near.map_or(String::new(), |n| format!(" (rename \"{n}\"?)"));
                Problem::new(format!("the first line names no column for the {what}"))
                    .expected("a first line such as: time,temperature C,humidity %")
                    .help(format!("call a column \"{}\"{hint}", starts[0]))
            })
        };
        let time = column(&["time", "date", "timestamp"], "time");
        let temperature =
            column(&["temperature", "temp", "air temp", "celsius", "fahrenheit"], "temperature");
        let humidity =
            column(&["humidity", "rh", "relative humidity", "relative_humidity", "hum"], "humidity");
        let (time, temperature, humidity) = match (time, temperature, humidity) {
            (Ok(time), Ok(temperature), Ok(humidity)) => (time, temperature, humidity),
            (a, b, c) => return Err([a, b, c].into_iter().filter_map(std::result::Result::err).collect()),
        };
        let name = names[temperature].replace(['(', ')', '[', ']', '°', '_', '/'], " ");
        let fahrenheit = name.split_whitespace().any(|w| w == "f" || w == "fahrenheit" || w == "degf");
        Ok(Columns {
            time,
            temperature,
            humidity,
            scale: if fahrenheit { Scale::Fahrenheit } else { Scale::Celsius },
        })
    }
}

impl Record {
    /// Reads CSV: a first line that names the columns, then a time, a temperature and a relative humidity on each line, in
    /// rising order of time, no more than an hour apart.
    ///
    /// Temperatures are in C unless the column's name or the value says F.
    ///
    /// # Errors
    /// Every line that cannot be read, a gap, or times out of order, with file and line.
    pub fn read(file: &str, text: &str) -> Result<Record> {
        let delimiter = if text.lines().next().is_some_and(|l| l.contains(';')) { b';' } else { b',' };
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(delimiter)
            .flexible(true)
            .trim(csv::Trim::All)
            .from_reader(text.as_bytes().chain(CSV_END.as_bytes()));
        let line_place = |line: usize| {
            let text = text.lines().nth(line.saturating_sub(1)).unwrap_or("");
            Place::on(file, line, text, 0..text.len())
        };
        let unreadable = |e: csv::Error| {
            let line = e.position().map_or(1, |p| p.line() as usize);
            Problem::new("this line cannot be read as CSV")
                .at(line_place(line))
                .help("save the log again as CSV in UTF-8")
        };
        let header = reader.headers().map_err(unreadable)?.clone();
        let columns = Columns::find(&header).map_err(|problems| Error {
            problems: problems.into_iter().map(|p| p.at(line_place(1))).collect(),
        })?;
        let mut readings: Vec<Reading> = Vec::new();
        let (mut problems, mut gaps) = (Vec::new(), Vec::new());
        // After a line that cannot be read, or one out of order, a gap is not a problem of its own.
        let (mut after_bad, mut in_order) = (false, true);
        for row in reader.records() {
            if problems.len() >= MOST_PROBLEMS {
                break;
            }
            let row = row.map_err(unreadable)?;
            let line = row.position().map_or(1, |p| p.line() as usize);
            if row.iter().eq([CSV_END.trim()]) {
                break;
            }
            if row.iter().any(|cell| cell.contains(CSV_END)) {
                problems.push(unclosed_quote().at(line_place(line)));
                break;
            }
            match reading(&row, &columns) {
                Err(_) if looks_fahrenheit(&row, &columns) => {
                    let read = row.get(columns.temperature).unwrap_or("").trim();
                    let problem =
                        Problem::new(format!("the temperatures look like Fahrenheit, such as {read}"))
                            .at(line_place(line))
                            .expected("the unit in the name of the column, where it is not C")
                            .help("call the column \"temperature F\"");
                    return Err(problem.into());
                }
                Err(problem) => {
                    after_bad = true;
                    problems.push(problem.at(line_place(line)));
                }
                Ok(reading) => {
                    if let Some(last) = readings.last() {
                        let hours = hours_between(last.time, reading.time);
                        if hours <= 0.0 {
                            in_order = false;
                            problems.push(
                                Problem::new(format!(
                                    "this time is not after the one before it, {}",
                                    last.time
                                ))
                                .at(line_place(line))
                                .expected("times in rising order")
                                .help("sort the log by time; where the clocks went back in that night, take the doubled hour out"),
                            );
                            continue;
                        }
                        if hours > LONGEST_GAP && !after_bad && gaps.len() < MOST_PROBLEMS {
                            gaps.push(
                                Problem::new(format!(
                                    "the log has a gap of {} before this line",
                                    crate::units::Span { hours }
                                ))
                                .at(line_place(line))
                                .expected("readings no more than an hour apart")
                                .help(
                                    "fill the gap with readings you trust, where the clocks went forward too, or cut the \
                                     log before or after it",
                                ),
                            );
                        }
                    }
                    after_bad = false;
                    readings.push(reading);
                }
            }
        }
        if in_order {
            problems.append(&mut gaps);
            problems.sort_by_key(|p: &Problem| p.place.as_ref().map(|place| place.line));
            problems.truncate(MOST_PROBLEMS);
        }
        if problems.is_empty() && readings.len() < 2 {
            problems.push(
                Problem::new(format!("the log has {} readings", readings.len()))
                    .at(line_place(1))
                    .expected("at least two readings")
                    .help("export the log again with its readings"),
            );
        }
        if problems.is_empty() {
            Ok(Record { readings, scale: columns.scale })
        } else {
            Err(Error { problems })
        }
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

/// Whether a line's temperature is a bare number too high for Celsius and likely in Fahrenheit.
fn looks_fahrenheit(row: &csv::StringRecord, columns: &Columns) -> bool {
    let number = row.get(columns.temperature).and_then(|t| t.trim().parse::<f64>().ok());
    columns.scale == Scale::Celsius && number.is_some_and(|n| n > 45.0 && n <= 140.0)
}

fn reading(row: &csv::StringRecord, columns: &Columns) -> std::result::Result<Reading, Problem> {
    let cell = |i: usize| row.get(i).unwrap_or("").trim();
    let time = cell(columns.time).replace('/', "-");
    let time: DateTime = time.parse().map_err(|_| {
        let read = cell(columns.time);
        if read.ends_with(['Z', 'z']) {
            return Problem::new(format!("\"{read}\" is a time of the world's clock, not of the venue's"))
                .expected("the time that a clock at the venue shows")
                .help("export the log in local time, or write it like 2027-08-07 14:30");
        }
        Problem::new(format!("\"{read}\" is not a date and time that can be read"))
            .expected("a date and a time, year first")
            .help("write it like 2027-08-07 14:30")
    })?;
    let temperature_text = cell(columns.temperature);
    let with_unit = match columns.scale {
        Scale::Fahrenheit if !temperature_text.to_lowercase().ends_with(['f', 'c']) => {
            format!("{temperature_text} F")
        }
        _ => temperature_text.to_string(),
    };
    let temperature: Temperature = with_unit.parse().map_err(|e: crate::units::UnitError| {
        Problem::new(format!("\"{temperature_text}\" is not a temperature")).expected(e.expected).help(e.help)
    })?;
    let humidity: Humidity = cell(columns.humidity).parse().map_err(|e: crate::units::UnitError| {
        Problem::new(format!("\"{}\" is not a relative humidity", cell(columns.humidity)))
            .expected(e.expected)
            .help(e.help)
    })?;
    Ok(Reading { time, temperature_c: temperature.celsius, rh: humidity.percent / 100.0 })
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
