//! Typical years as EPW: eight lines of header, then a line for every hour.
//!
//! # Source
//! EnergyPlus, Auxiliary Programs, "EnergyPlus Weather File (EPW) Data Dictionary": fields, units, ranges and codes for what
//! is missing.

use super::reading::{Clock, Read, Reading, Rows, moisture, number, place};
use crate::error::{Problem, Result};
use jiff::civil::Date;

/// The first words of the lines of the header.
const HEADERS: [&str; 8] = [
    "LOCATION",
    "DESIGN CONDITIONS",
    "TYPICAL/EXTREME PERIODS",
    "GROUND TEMPERATURES",
    "HOLIDAYS/DAYLIGHT SAVING",
    "COMMENTS 1",
    "COMMENTS 2",
    "DATA PERIODS",
];
/// A row goes on at least to the wind.
const FIELDS: usize = 22;

pub fn read(file: &str, text: &str) -> Result<Read> {
    let mut rows = Rows::of(file);
    let (mut from, mut latitude, mut zone, mut no_sun) = ("an EPW file".to_string(), None, None, 0);
    let mut disagree = 0;
    for (n, line) in (1..).zip(text.lines()) {
        let upper = line.trim_start_matches('\u{feff}').to_uppercase();
        if line.trim().is_empty() {
            continue;
        }
        if let Some(header) = HEADERS.iter().find(|h| upper.starts_with(**h)) {
            let cells: Vec<&str> = line.split(',').map(str::trim).collect();
            if *header == "LOCATION" {
                let city = cells.get(1).filter(|c| !c.is_empty());
                from = city.map_or(from, |city| format!("an EPW file of {city}"));
                latitude = cells.get(6).and_then(|c| c.parse().ok());
                zone = cells.get(8).and_then(|c| c.parse().ok());
            }
            let per_hour = cells.get(2).and_then(|c| c.parse::<u32>().ok());
            if *header == "DATA PERIODS" && per_hour.is_some_and(|records| records != 1) {
                let problem = Problem::new("the file has several records an hour").at(place(file, n, line));
                let problem = problem.expected("one record an hour, as weather years are published");
                return Err(problem.help("take the hourly file of the same place").into());
            }
            continue;
        }
        let mut counted = |(date, reading, sunless, off)| {
            no_sun += usize::from(sunless);
            disagree += usize::from(off);
            (date, reading)
        };
        if !rows.take((n, line), row(line).map(|read| read.map(&mut counted))) {
            break;
        }
    }
    let (rows, missing) = rows.all()?;
    let mut remarks = Vec::new();
    if no_sun > 0 {
        remarks.push(format!("{no_sun} hours have no sunshine in the file, and count as without sun"));
    }
    if disagree > 0 {
        remarks.push(format!("dew point and humidity disagree by more than five points in {disagree} hours: the dew point counts"));
    }
    Ok(Read { from, clock: Clock::Standard, latitude, zone, rows, remarks, missing })
}

/// One row: its date and reading, whether sunshine is missing, and whether its moistures disagree; `None` where temperature
/// or moisture are missing.
fn row(line: &str) -> std::result::Result<Option<(Date, Reading, bool, bool)>, Problem> {
    let cells: Vec<&str> = line.split(',').collect();
    if cells.len() < FIELDS {
        let problem = Problem::new(format!("this line has {} fields", cells.len()));
        return Err(problem
            .expected("35 fields: year, month, day, hour, minute, flags, temperature ...")
            .help("save the file again as it came: an editor may have cut it"));
    }
    let at = |i: usize, what: &str, least: f64, most: f64| {
        number(cells.get(i).copied(), what, (least, most), |_| false).map(Option::unwrap_or_default)
    };
    let (year, month, day) =
        (at(0, "a year", 1800.0, 2200.0)?, at(1, "a month", 1.0, 12.0)?, at(2, "a day", 1.0, 31.0)?);
    let hour = at(3, "an hour of the day", 1.0, 24.0)?;
    let date = Date::new(year as i16, month as i8, day as i8).map_err(|_| {
        Problem::new(format!("{day} {month} {year} is no day of the calendar"))
            .expected("year, month and day")
            .help("mend the date, or leave the line out")
    })?;
    let measured = |i: usize, what: &str, range: (f64, f64), missing: f64| {
        number(cells.get(i).copied(), what, range, |n| n >= missing)
    };
    let temperature = measured(6, "a temperature in C", (-70.0, 70.0), 99.9)?;
    let dew = measured(7, "a dew point in C", (-70.0, 70.0), 99.9)?;
    let rh = measured(8, "a relative humidity in %", (0.0, 110.0), 999.0)?;
    let sun = measured(13, "sunshine in Wh/m2", (0.0, 2000.0), 9999.0)?;
    let wind = measured(21, "a wind in m/s", (0.0, 60.0), 999.0)?;
    let Some(temperature_c) = temperature else { return Ok(None) };
    let Some(dew_point_c) = moisture(temperature_c, dew, rh) else { return Ok(None) };
    let by_humidity = moisture(temperature_c, None, rh);
    let share =
        |dew: f64| (17.625 * dew / (dew + 243.04) - 17.625 * temperature_c / (temperature_c + 243.04)).exp();
    let off =
        dew.is_some() && by_humidity.is_some_and(|other| (share(other) - share(dew_point_c)).abs() > 0.055);
    Ok(Some((date, Reading { hour, temperature_c, dew_point_c, sun, wind }, sun.is_none(), off)))
}
