//! Typical years as TMY3: a line for the station, a line of column names, then a line for every hour.
//!
//! # Source
//! Wilcox & Marion (2008), Users Manual for TMY3 Data Sets, NREL/TP-581-43156: columns by name, hours that end at their
//! stamp, local standard time all year.

use super::reading::{Clock, Read, Reading, Rows, moisture, number, place};
use crate::error::{Problem, Result};
use jiff::civil::Date;

/// What is missing is below this.
const MISSING: f64 = -9000.0;
/// The columns that are read, by the beginning of their names; the last two may be missing.
const NAMES: [&str; 7] =
    ["Date (", "Time (", "Dry-bulb (C)", "Dew-point (C)", "RHum (%)", "GHI (W/m^2)", "Wspd (m/s)"];

pub fn read(file: &str, text: &str) -> Result<Read> {
    let mut lines = (1..).zip(text.lines());
    let (_, station) = lines.next().unwrap_or((1, ""));
    let station: Vec<&str> = station.split(',').map(|c| c.trim().trim_matches('"')).collect();
    let from = station.get(1).map_or("a TMY3 file".to_string(), |name| format!("a TMY3 file of {name}"));
    let [zone, latitude] = [3, 4].map(|i| station.get(i).and_then(|c| c.parse().ok()));
    let (number_of_header, header) = lines.next().unwrap_or((2, ""));
    let names: Vec<&str> = header.split(',').map(str::trim).collect();
    let columns = NAMES.map(|wanted| names.iter().position(|n| n.starts_with(wanted)));
    let lacking = NAMES.iter().zip(&columns).take(5).find(|(_, column)| column.is_none());
    if let Some((name, _)) = lacking {
        let problem =
            Problem::new(format!("no column is called \"{name}\"")).at(place(file, number_of_header, header));
        return Err(problem
            .expected("the column names of a TMY3 file")
            .help("save the file again as it came")
            .into());
    }
    let mut rows = Rows::of(file);
    for (n, line) in lines.filter(|(_, line)| !line.trim().is_empty()) {
        if !rows.take((n, line), row(line, &columns)) {
            break;
        }
    }
    let (rows, missing) = rows.all()?;
    Ok(Read { from, clock: Clock::Standard, latitude, zone, rows, remarks: Vec::new(), missing })
}

fn row(line: &str, columns: &[Option<usize>; 7]) -> std::result::Result<Option<(Date, Reading)>, Problem> {
    let cells: Vec<&str> = line.split(',').map(str::trim).collect();
    let cell = |i: usize| columns[i].and_then(|c| cells.get(c).copied());
    let (date_text, time_text) = (cell(0).unwrap_or(""), cell(1).unwrap_or(""));
    let numbers: Vec<i16> = date_text.split('/').filter_map(|part| part.parse().ok()).collect();
    let date = match numbers[..] {
        [month, day, year] => {
            month.try_into().ok().zip(day.try_into().ok()).and_then(|(m, d)| Date::new(year, m, d).ok())
        }
        _ => None,
    };
    let date = date.ok_or_else(|| {
        Problem::new(format!("{date_text:?} is no day of the calendar"))
            .expected("month/day/year")
            .help("mend the date, or leave the line out")
    })?;
    // 24:00 ends the same date; a clock that knows no 24 would move it to the next.
    let hour =
        time_text.split_once(':').and_then(|(hour, minutes)| Some((hour.parse::<u8>().ok()?, minutes)));
    let hour =
        hour.filter(|(hour, minutes)| (1..=24).contains(hour) && *minutes == "00").ok_or_else(|| {
            Problem::new(format!("{time_text:?} is no hour of this file"))
                .expected("from 01:00 to 24:00")
                .help("mend the time, or leave the line out")
        })?;
    let measured = |i: usize, what: &str, range: (f64, f64)| match cell(i) {
        None if i >= 5 => Ok(None),
        found => number(found, what, range, |n| n <= MISSING),
    };
    let temperature = measured(2, "a temperature in C", (-70.0, 70.0))?;
    let dew = measured(3, "a dew point in C", (-70.0, 70.0))?;
    let rh = measured(4, "a relative humidity in %", (0.0, 110.0))?;
    let (sun, wind) =
        (measured(5, "sunshine in W/m2", (0.0, 2000.0))?, measured(6, "a wind in m/s", (0.0, 60.0))?);
    let Some(temperature_c) = temperature else { return Ok(None) };
    let Some(dew_point_c) = moisture(temperature_c, dew, rh) else { return Ok(None) };
    let reading = Reading { hour: f64::from(hour.0), temperature_c, dew_point_c, sun, wind };
    Ok(Some((date, reading)))
}
