//! Records of weather, and the days that an event may meet: typical years as EPW or TMY3, years of hours as CSV, or typed
//! normals.
//!
//! A record holds hours by their own date, in the order of the file. Years of the months of a typical year differ, so days are
//! told by month and day; hour 24 belongs to the date that it ends.

mod columns;
mod epw;
pub mod normals;
pub mod possible;
mod tmy3;

use crate::error::{Place, Problem, Result};
use crate::numerics::elementary::ln;
use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet};

/// A wrong file is often wrong on every line: this many problems are enough to see it.
const MOST_PROBLEMS: usize = 20;
/// Readings may be missing for so many hours: a straight line stands for them (judgement).
const LONGEST_GAP: f64 = 3.0;

/// The weather at one time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// The hour of its date, 0 to 24, by the clock of the file.
    pub hour: f64,
    /// Temperature of the air, C.
    pub temperature_c: f64,
    /// Dew point, C.
    pub dew_point_c: f64,
    /// Mean sunshine on a level surface in the hour before, W/m2, where the file has it.
    pub sun: Option<f64>,
    /// Wind at ten metres, m/s, where the file has it.
    pub wind: Option<f64>,
}

/// By which clock a record is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Clock {
    /// Standard time all year, which clocks that are put forward in summer do not show.
    Standard,
    /// The world's clock.
    World,
    /// What the file does not say: taken to be the clock of the venue.
    Unsaid,
}

/// One day of a record.
#[derive(Debug, Clone, PartialEq)]
pub struct Day {
    /// Its date.
    pub date: Date,
    /// Its readings, by rising hour.
    pub readings: Vec<Reading>,
}

/// A record of weather.
#[derive(Debug, Clone, PartialEq)]
pub struct Weather {
    /// What kind of file it came from, and the place that it names.
    pub from: String,
    /// Its clock.
    pub clock: Clock,
    /// Latitude, degrees, where the file says.
    pub latitude: Option<f64>,
    /// How far its standard time is ahead of the world's clock, h, where the file says.
    pub zone: Option<f64>,
    /// Its days, by month and day and then by year.
    pub days: Vec<Day>,
    /// What to know of what was read.
    pub remarks: Vec<String>,
}

/// What a format makes of its file: readings by date, each in the order of the file.
struct Read {
    from: String,
    clock: Clock,
    latitude: Option<f64>,
    zone: Option<f64>,
    rows: Vec<(Date, Reading)>,
    remarks: Vec<String>,
    /// How many rows had no temperature or no moisture.
    missing: usize,
}

impl Weather {
    /// Reads a file, of whichever kind it is.
    ///
    /// # Errors
    /// Every line that cannot be read, with what was expected there; a file in which nothing can be told.
    pub fn read(file: &str, text: &str) -> Result<Weather> {
        let mut first = text.lines();
        let (one, two) = (first.next().unwrap_or(""), first.next().unwrap_or(""));
        let read = if one.trim_start_matches('\u{feff}').to_uppercase().starts_with("LOCATION,") {
            epw::read(file, text)?
        } else if two.contains("Date (MM/DD/YYYY)") {
            tmy3::read(file, text)?
        } else {
            columns::read(file, text)?
        };
        Weather::of(read).ok_or_else(|| {
            let line = text.lines().next().unwrap_or("");
            Problem::new(format!("\"{file}\" holds no day of weather"))
                .at(Place::on(file, 1, line, 0..line.len()))
                .expected("readings through at least one day, no more than three hours apart")
                .help("an EPW or TMY3 file, or a CSV with the columns time, temperature C, humidity %")
                .into()
        })
    }

    /// The whole days of what was read; `None` if there are none.
    fn of(mut read: Read) -> Option<Weather> {
        let mut by_date: BTreeMap<(i8, i8, i16), Vec<Reading>> = BTreeMap::new();
        for (date, reading) in std::mem::take(&mut read.rows) {
            by_date.entry((date.month(), date.day(), date.year())).or_default().push(reading);
        }
        let all = by_date.len();
        let days: Vec<Day> = by_date
            .into_iter()
            .filter_map(|((month, day, year), mut readings)| {
                readings.sort_by(|a, b| a.hour.total_cmp(&b.hour));
                // Where the clock went back, an hour is there twice.
                readings.dedup_by(|a, b| a.hour == b.hour);
                is_whole(&readings).then_some(Day { date: jiff::civil::date(year, month, day), readings })
            })
            .collect();
        let mut remarks = std::mem::take(&mut read.remarks);
        if days.len() < all {
            remarks.push(format!(
                "days are drawn from {} of {all}: of the others more than three hours are missing",
                days.len()
            ));
        } else if read.missing > 0 {
            remarks.push(format!("{} missing hours were filled in from those beside them", read.missing));
        }
        let Read { from, clock, latitude, zone, .. } = read;
        (!days.is_empty()).then_some(Weather { from, clock, latitude, zone, days, remarks })
    }

    /// Whether every day of the calendar is there once at most: a typical year, or one real one.
    pub fn is_one_year(&self) -> bool {
        let calendar: BTreeSet<(i8, i8)> = self.days.iter().map(|d| (d.date.month(), d.date.day())).collect();
        calendar.len() == self.days.len()
    }

    /// Whether its months come from several years, as those of a typical year do.
    pub fn is_typical(&self) -> bool {
        let years: BTreeSet<i16> = self.days.iter().map(|d| d.date.year()).collect();
        self.is_one_year() && years.len() > 2
    }
}

/// Whether readings cover a day, with no more than [`LONGEST_GAP`] missing at a time.
fn is_whole(readings: &[Reading]) -> bool {
    let hours = || readings.iter().map(|r| r.hour);
    let apart = LONGEST_GAP + 1.0;
    hours().next().is_some_and(|h| h <= apart)
        && hours().next_back().is_some_and(|h| h >= 24.0 - apart)
        && readings.windows(2).all(|w| w[1].hour - w[0].hour <= apart + 1e-9)
}

/// The dew point of air from its temperature, C, and relative humidity, a share: the Magnus form.
///
/// # Source
/// Alduchov & Eskridge (1996), equation 21: `e_s = 6.1094 exp(17.625 T / (T + 243.04))` hPa, within 0.4 % from -40 to 50 C.
fn dew_point(temperature_c: f64, rh: f64) -> f64 {
    let x = ln(rh.max(0.005)) + 17.625 * temperature_c / (temperature_c + 243.04);
    243.04 * x / (17.625 - x)
}

/// A number in a cell, or the problem with it: what it is called, its range and the code from which on it is missing.
fn number(
    cell: Option<&str>,
    what: &str,
    (least, most): (f64, f64),
    is_missing: impl Fn(f64) -> bool,
) -> std::result::Result<Option<f64>, Problem> {
    let text = cell.unwrap_or("").trim();
    let wrong = || {
        Problem::new(format!("{text:?} is not {what}")).expected(format!("a number from {least} to {most}"))
    };
    let n: f64 = text.parse().map_err(|_| wrong().help("leave the line out, or write a number"))?;
    match n {
        _ if is_missing(n) => Ok(None),
        _ if (least..=most).contains(&n) => Ok(Some(n)),
        _ => Err(wrong().help("mend the line, or leave it out: up to three hours are filled in")),
    }
}

/// The moisture of a row as a dew point, from either of the two: at most the temperature.
fn moisture(temperature_c: f64, dew_point_c: Option<f64>, rh_percent: Option<f64>) -> Option<f64> {
    let from_humidity = || rh_percent.map(|rh| dew_point(temperature_c, (rh / 100.0).min(1.0)));
    dew_point_c.or_else(from_humidity).map(|dew| dew.min(temperature_c))
}

/// The place of a whole line.
fn place(file: &str, number: usize, line: &str) -> Place {
    Place::on(file, number, line, 0..line.len())
}
