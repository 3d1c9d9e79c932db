//! What every format of weather is read into, and what it is read with.

use crate::error::{Error, Place, Problem, Result};
use crate::numerics::elementary::ln;
use jiff::civil::Date;

/// A wrong file is often wrong on every line: this many problems are enough to see it.
const MOST_PROBLEMS: usize = 20;

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

/// What a format makes of its file: readings by date, each in the order of the file.
pub struct Read {
    /// What kind of file it was, and of what place.
    pub from: String,
    /// Its clock.
    pub clock: Clock,
    /// Latitude, degrees, where the file says.
    pub latitude: Option<f64>,
    /// How far its standard time is ahead of the world's clock, h, where the file says.
    pub zone: Option<f64>,
    /// Dates and readings, in the order of the file.
    pub rows: Vec<(Date, Reading)>,
    /// What to know of what was read.
    pub remarks: Vec<String>,
    /// How many rows had no temperature or no moisture.
    pub missing: usize,
}

/// The rows of a file as they are read, and what is wrong with it so far.
pub struct Rows<'a> {
    file: &'a str,
    good: Vec<(Date, Reading)>,
    missing: usize,
    problems: Vec<Problem>,
}

impl<'a> Rows<'a> {
    /// A file of which no row is read yet.
    pub fn of(file: &'a str) -> Self {
        Rows { file, good: Vec::new(), missing: 0, problems: Vec::new() }
    }

    /// Takes in what a line came to: a row, `None` where temperature or moisture are missing, or what is wrong with it. Returns
    /// whether to read on; once enough is wrong that is not worth while.
    pub fn take(
        &mut self,
        (number, line): (usize, &str),
        read: std::result::Result<Option<(Date, Reading)>, Problem>,
    ) -> bool {
        match read {
            Ok(Some(row)) => self.good.push(row),
            Ok(None) => self.missing += 1,
            Err(problem) => self.problems.push(problem.at(place(self.file, number, line))),
        }
        self.problems.len() < MOST_PROBLEMS
    }

    /// The rows, and how many lacked temperature or moisture.
    ///
    /// # Errors
    /// Everything that was wrong.
    pub fn all(self) -> Result<(Vec<(Date, Reading)>, usize)> {
        if self.problems.is_empty() {
            Ok((self.good, self.missing))
        } else {
            Err(Error { problems: self.problems })
        }
    }
}

/// The dew point of air from its temperature, C, and relative humidity, a share: the Magnus form.
///
/// # Source
/// Alduchov & Eskridge (1996), equation 21: `e_s = 6.1094 exp(17.625 T / (T + 243.04))` hPa, within 0.4 % from -40 to 50 C.
pub fn dew_point(temperature_c: f64, rh: f64) -> f64 {
    let x = ln(rh.max(0.005)) + 17.625 * temperature_c / (temperature_c + 243.04);
    243.04 * x / (17.625 - x)
}

/// A number in a cell, or the problem with it: what it is called, its range and the code from which on it is missing.
pub fn number(
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
pub fn moisture(temperature_c: f64, dew_point_c: Option<f64>, rh_percent: Option<f64>) -> Option<f64> {
    let from_humidity = || rh_percent.map(|rh| dew_point(temperature_c, (rh / 100.0).min(1.0)));
    dew_point_c.or_else(from_humidity).map(|dew| dew.min(temperature_c))
}

/// The place of a whole line.
pub fn place(file: &str, number: usize, line: &str) -> Place {
    Place::on(file, number, line, 0..line.len())
}
