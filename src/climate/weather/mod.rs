//! Records of weather, and the days that an event may meet: typical years as EPW or TMY3, years of hours as CSV, or typed
//! normals.
//!
//! A record holds hours by their own date, in the order of the file. Years of the months of a typical year differ, so days are
//! told by month and day; hour 24 belongs to the date that it ends.

mod columns;
mod epw;
pub mod normals;
pub mod possible;
mod reading;
mod tmy3;

pub use reading::{Clock, Reading};

use crate::error::{Place, Problem, Result};
use jiff::civil::Date;
use reading::Read;
use std::collections::{BTreeMap, BTreeSet};

/// Readings may be missing for so many hours: a straight line stands for them (judgement).
const LONGEST_GAP: f64 = 3.0;

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
