//! Years of hours as CSV, as weather services give them: columns by their names, with the units that these say.

use super::reading::{Clock, Read, Reading, Rows, moisture, number, place};
use crate::error::{Problem, Result};
use jiff::civil::{Date, DateTime};

/// The header stands within these many lines: what comes before says whose data they are.
const MOST_BEFORE: usize = 60;
/// What stands for no value.
const NOTHING: [&str; 8] = ["", "na", "nan", "null", "m", "-999", "-9999", "-"];
/// A temperature without a unit that is above this is in Fahrenheit, C.
const HOTTEST_C: f64 = 55.0;

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Moment,
    Date,
    Clock,
    Year,
    Month,
    DayOfMonth,
    Temperature,
    DewPoint,
    Humidity,
    Wind,
    Sun,
}

/// Names of columns that are known, without their units.
const NAMES: [(Kind, &[&str]); 11] = [
    (
        Kind::Moment,
        &["time", "datetime", "date time", "timestamp", "valid", "ob time", "time hour", "date/time"],
    ),
    (Kind::Date, &["date", "yyyymmdd"]),
    (Kind::Clock, &["hour", "hh", "clock"]),
    (Kind::Year, &["year"]),
    (Kind::Month, &["month"]),
    (Kind::DayOfMonth, &["day"]),
    (
        Kind::Temperature,
        &["temperature", "temp", "tmp", "tmpf", "tmpc", "air temperature", "dry bulb", "t air", "tc"],
    ),
    (
        Kind::DewPoint,
        &["dew point", "dewpoint", "dew", "dewp", "dwpf", "dwpc", "dwpt", "dewpoint temperature", "tdc"],
    ),
    (Kind::Humidity, &["relative humidity", "relativehumidity", "humidity", "humid", "relh", "rh", "rhum"]),
    (Kind::Wind, &["wind speed", "windspeed", "wind", "wspd", "sknt", "ffkmh"]),
    (
        Kind::Sun,
        &["shortwave radiation", "global horizontal irradiance", "ghi", "solar radiation", "sunshine", "sun"],
    ),
];

/// A column: what it holds, and how its numbers become SI units.
#[derive(Debug, Clone, Copy)]
struct Column {
    at: usize,
    kind: Kind,
    /// What is taken away, and by what the rest is multiplied.
    scale: (f64, f64),
    /// Whether its name says its unit.
    unit_is_said: bool,
}

impl Column {
    fn of(at: usize, name: &str) -> Option<Column> {
        let lower = name.trim().trim_matches('"').to_lowercase().replace('\u{b0}', "");
        let (plain, bracketed) = match lower.find(['(', '[']) {
            Some(i) => {
                (lower[..i].to_string(), lower[i + 1..].trim_end_matches([')', ']']).trim().to_string())
            }
            None => (lower.clone(), String::new()),
        };
        let mut words: Vec<&str> = plain.split(['_', ' ', '-']).filter(|w| !w.is_empty()).collect();
        // "2 m" and "10 m" say how high it is measured.
        words.retain(|w| !(w.ends_with('m') && w[..w.len() - 1].parse::<u32>().is_ok()));
        let mut unit = bracketed;
        let units = [
            "c",
            "f",
            "celsius",
            "fahrenheit",
            "degc",
            "degf",
            "%",
            "percent",
            "mph",
            "kmh",
            "km/h",
            "m/s",
            "ms",
            "knots",
            "kn",
            "kt",
            "w/m2",
            "w/m²",
        ];
        if words.len() > 1 && unit.is_empty() && words.last().is_some_and(|w| units.contains(w)) {
            unit = words.pop().unwrap_or_default().to_string();
        }
        let plain = words.join(" ");
        let (kind, _) = NAMES.iter().find(|(_, names)| names.contains(&plain.as_str()))?;
        let unit = match (plain.as_str(), unit.as_str()) {
            ("tmpf" | "dwpf", "") => "f",
            ("tmpc" | "dwpc" | "tc" | "tdc", "") => "c",
            ("sknt", "") => "kn",
            ("ffkmh", "") => "km/h",
            (_, unit) => unit,
        };
        let scale = match (kind, unit) {
            (Kind::Temperature | Kind::DewPoint, "f" | "fahrenheit" | "degf") => Some((32.0, 1.0 / 1.8)),
            (Kind::Temperature | Kind::DewPoint, "c" | "celsius" | "degc") => Some((0.0, 1.0)),
            (Kind::Wind, "m/s" | "ms") => Some((0.0, 1.0)),
            (Kind::Wind, "km/h" | "kmh") => Some((0.0, 1.0 / 3.6)),
            (Kind::Wind, "mph") => Some((0.0, 0.447_04)),
            (Kind::Wind, "kn" | "kt" | "knots") => Some((0.0, 1852.0 / 3600.0)),
            (Kind::Wind | Kind::Temperature | Kind::DewPoint, _) => None,
            _ => Some((0.0, 1.0)),
        };
        Some(Column { at, kind: *kind, scale: scale.unwrap_or((0.0, 1.0)), unit_is_said: scale.is_some() })
    }
}

pub fn read(file: &str, text: &str) -> Result<Read> {
    let separator = |line: &str| {
        let count = |c: char| line.matches(c).count();
        [';', '\t', ','].into_iter().max_by_key(|c| (count(*c), *c == ',')).unwrap_or(',')
    };
    let columns_of = |line: &str| -> Vec<Column> {
        line.split(separator(line)).enumerate().filter_map(|(i, name)| Column::of(i, name)).collect()
    };
    let has = |columns: &[Column], kind: Kind| columns.iter().any(|c| c.kind == kind);
    let header = text.lines().take(MOST_BEFORE).position(|line| {
        let columns = columns_of(line);
        let timed = [Kind::Moment, Kind::Date, Kind::Year].iter().any(|k| has(&columns, *k));
        has(&columns, Kind::Temperature) && timed
    });
    let Some(header) = header else {
        let line = text.lines().next().unwrap_or("");
        let problem = Problem::new("no line names a column for the time and one for the temperature");
        let problem = problem.at(place(file, 1, line)).expected(
            "an EPW or a TMY3 file, or a line above the hours such as: time,temperature C,humidity %,wind m/s",
        );
        return Err(problem.help("name the columns so").into());
    };
    let head = text.lines().nth(header).unwrap_or("");
    let (delimiter, columns) = (separator(head), columns_of(head));
    if !has(&columns, Kind::DewPoint) && !has(&columns, Kind::Humidity) {
        let problem =
            Problem::new("no column holds the moisture of the air").at(place(file, header + 1, head));
        return Err(problem
            .expected("a dew point or a relative humidity")
            .help("call the column \"humidity %\"")
            .into());
    }
    let of = |kind: Kind| columns.iter().find(|c| c.kind == kind).copied();
    let mut remarks = Vec::new();
    let wind = of(Kind::Wind).filter(|column| {
        if !column.unit_is_said {
            remarks.push(
                "the wind is left out, since its column says no unit: call it \"wind m/s\"".to_string(),
            );
        }
        column.unit_is_said
    });
    let (mut rows, mut world) = (Rows::of(file), false);
    for (n, line) in (1..).zip(text.lines()).skip(header + 1).filter(|(_, line)| !line.trim().is_empty()) {
        let cells: Vec<String> =
            line.split(delimiter).map(|c| c.trim().trim_matches('"').to_string()).collect();
        // With another separator a comma in a number is a decimal one.
        let cells: Vec<String> =
            cells.into_iter().map(|c| if delimiter == ',' { c } else { c.replace(',', ".") }).collect();
        let mut told = |(date, reading, zulu)| {
            world |= zulu;
            (date, reading)
        };
        if !rows.take((n, line), row(&cells, &of, wind).map(|read| read.map(&mut told))) {
            break;
        }
    }
    let (rows, missing) = rows.all()?;
    let from = format!("the hours of \"{file}\"");
    let clock = if world { Clock::World } else { Clock::Unsaid };
    Ok(Read { from, clock, latitude: None, zone: None, rows, remarks, missing })
}

/// One row: its date and reading, and whether its time is one of the world's clock; `None` where temperature or moisture are
/// missing.
fn row(
    cells: &[String],
    of: &impl Fn(Kind) -> Option<Column>,
    wind: Option<Column>,
) -> std::result::Result<Option<(Date, Reading, bool)>, Problem> {
    let cell = |column: Option<Column>| column.and_then(|c| cells.get(c.at)).map_or("", String::as_str);
    let is_nothing = |text: &str| NOTHING.contains(&text.to_lowercase().as_str());
    let (date, hour, world) = when(&|kind| cell(of(kind)).to_string(), &|kind| of(kind).is_some())?;
    let measured = |column: Option<Column>, what: &str, range: (f64, f64)| match column {
        None => Ok(None),
        Some(_) if is_nothing(cell(column)) => Ok(None),
        Some(c) => {
            let si = |n: f64| (n - c.scale.0) * c.scale.1;
            let raw = number(Some(cell(column)), what, (f64::MIN, f64::MAX), |_| false)?;
            let Some(value) = raw.map(si) else { return Ok(None) };
            if matches!(c.kind, Kind::Temperature | Kind::DewPoint) && !c.unit_is_said && value > HOTTEST_C {
                let problem = Problem::new(format!("{} looks like Fahrenheit", cell(column)));
                return Err(problem
                    .expected("the unit in the name of the column, where it is not C")
                    .help("call the column \"temperature F\""));
            }
            if !(range.0..=range.1).contains(&value) {
                let problem = Problem::new(format!("{:?} is not {what}", cell(column)));
                return Err(problem
                    .expected(format!("a number from {} to {}", range.0, range.1))
                    .help("mend the line, or leave it out: up to three hours are filled in"));
            }
            Ok(Some(value))
        }
    };
    let temperature = measured(of(Kind::Temperature), "a temperature in C", (-70.0, 70.0))?;
    let dew = measured(of(Kind::DewPoint), "a dew point in C", (-90.0, 70.0))?;
    let rh = measured(of(Kind::Humidity), "a relative humidity in %", (0.0, 110.0))?;
    let wind = measured(wind, "a wind in m/s", (0.0, 60.0))?;
    let sun = measured(of(Kind::Sun), "sunshine in W/m2", (-10.0, 2000.0))?.map(|sun| sun.max(0.0));
    let Some(temperature_c) = temperature else { return Ok(None) };
    let Some(dew_point_c) = moisture(temperature_c, dew, rh) else { return Ok(None) };
    Ok(Some((date, Reading { hour, temperature_c, dew_point_c, sun, wind }, world)))
}

/// The date and hour of a row, and whether it is one of the world's clock.
fn when(
    cell: &dyn Fn(Kind) -> String,
    has: &dyn Fn(Kind) -> bool,
) -> std::result::Result<(Date, f64, bool), Problem> {
    let wrong = |text: &str| {
        Problem::new(format!("{text:?} is not a date and time that can be read"))
            .expected("year-month-day and the hour")
            .help("write it like 2023-08-14 15:00")
    };
    // Parts in columns of their own are the clock of the place, where another column may be the world's.
    if [Kind::Year, Kind::Month, Kind::DayOfMonth, Kind::Clock].iter().all(|k| has(*k)) {
        let parts = [Kind::Year, Kind::Month, Kind::DayOfMonth, Kind::Clock].map(cell);
        let number = |text: &str| text.parse::<i16>().ok();
        let read = || {
            let [year, month, day, hour] =
                [number(&parts[0])?, number(&parts[1])?, number(&parts[2])?, number(&parts[3])?];
            let date = Date::new(year, month.try_into().ok()?, day.try_into().ok()?).ok()?;
            (0..=24).contains(&hour).then_some((date, f64::from(hour), false))
        };
        return read().ok_or_else(|| wrong(&parts.join(" ")));
    }
    let text = if has(Kind::Moment) {
        cell(Kind::Moment)
    } else {
        format!("{} {}", cell(Kind::Date), cell(Kind::Clock))
    };
    let text = text.trim();
    let world =
        text.ends_with(['Z', 'z']) || text.ends_with("+00:00") || text.to_uppercase().ends_with("UTC");
    let bare = text.trim_end_matches(['Z', 'z']).trim_end_matches("UTC").trim();
    // An offset is that of the clock on the wall, and says nothing more.
    let bare = match bare.rfind(['+', '-']) {
        Some(i) if i > 10 && bare[..i].contains(':') => bare[..i].trim(),
        _ => bare,
    };
    let digits = bare.replace(['-', ' ', 'T'], "");
    let compact = || {
        let all_digits = matches!(digits.len(), 9 | 10 | 12) && digits.bytes().all(|b| b.is_ascii_digit());
        let at = |range: std::ops::Range<usize>| digits.get(range)?.parse::<i16>().ok();
        let date = Date::new(at(0..4)?, at(4..6)?.try_into().ok()?, at(6..8)?.try_into().ok()?).ok()?;
        let hour = at(8..digits.len().min(10))?;
        let minute = if digits.len() == 12 { at(10..12)? } else { 0 };
        (all_digits && (0..=24).contains(&hour) && (0..60).contains(&minute))
            .then_some((date, f64::from(hour) + f64::from(minute) / 60.0))
    };
    if let Ok(time) = bare.replace('/', "-").parse::<DateTime>() {
        let hour = f64::from(time.hour()) + f64::from(time.minute()) / 60.0;
        return Ok((time.date(), hour, world));
    }
    let (date, hour) = compact().ok_or_else(|| wrong(text))?;
    Ok((date, hour, world))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_time_without_signs_has_whole_minutes_of_an_hour() {
        let read =
            |text: &str| when(&|_| text.to_string(), &|kind| kind == Kind::Moment).map(|(_, hour, _)| hour);
        assert_eq!(read("202308141530"), Ok(15.5));
        assert_eq!([read("2023081415"), read("20230814 9")], [Ok(15.0), Ok(9.0)]);
        for wrong in ["202308141575", "20230814153", "202308142530"] {
            assert!(read(wrong).is_err(), "{wrong}");
        }
    }
}
