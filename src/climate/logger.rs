//! A logger's CSV as it comes: lines before the header, date and time apart, the month or the day first, decimal commas.
//!
//! Nothing is guessed that changes the answer: of two temperatures, or of days that can be read in two ways, the florist is
//! asked which.

use crate::error::{CSV_END, Error, Place, Problem, Result, csv_line, nearest, unclosed_quote};
use crate::units::{Humidity, Scale, Temperature, UnitError};
use jiff::civil::{Date, DateTime, Time};
use std::io::Read;

/// A wrong log is often wrong on every line: this many problems are enough to see it.
pub const MOST_PROBLEMS: usize = 20;
/// The header stands within these many lines: what comes before it says whose logger it is.
const MOST_BEFORE: usize = 60;

/// What the florist says about a log that can be read in several ways.
#[derive(Debug, Clone, Default)]
pub struct Asked {
    /// The name of the column of temperatures, where there are several.
    pub column: Option<String>,
    /// The order of day and month, where the log does not tell.
    pub dates: Option<DayOrder>,
}

/// Which comes first in a date with its year last.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DayOrder {
    /// 14/08/2027.
    DayFirst,
    /// 08/14/2027.
    MonthFirst,
}

/// One line of a log.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// When, by the clock of the venue.
    pub time: DateTime,
    /// Degrees Celsius.
    pub temperature_c: f64,
    /// Relative humidity, 0 to 1.
    pub rh: f64,
}

/// A line that was read, or what is wrong with it; with its number, from 1.
pub type Line = (usize, std::result::Result<Reading, Problem>);

/// The lines of a log with what could be read of them.
pub struct Lines {
    /// In the order of the file.
    pub lines: Vec<Line>,
    /// The scale in which temperatures were written.
    pub scale: Scale,
    /// The number of the line that names the columns, from 1.
    pub header: usize,
}

/// Where the time, the temperature and the humidity stand.
struct Columns {
    /// The column of times, or of dates and then of times.
    time: (usize, Option<usize>),
    temperature: usize,
    humidity: usize,
    scale: Scale,
}

/// Reads the lines of a log.
///
/// # Errors
/// A header that names no time, temperature or humidity, or several temperatures; a file that is no CSV; temperatures that
/// look like Fahrenheit; days that can be read in two ways.
pub fn lines(file: &str, text: &str, asked: &Asked) -> Result<Lines> {
    let place = |line: usize| {
        let text = text.lines().nth(line.saturating_sub(1)).unwrap_or("");
        Place::on(file, line, text, 0..text.len())
    };
    let (before, delimiter) = header_line(text);
    let start = text.split_inclusive('\n').take(before).map(str::len).sum();
    let body = &text[start..];
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(delimiter)
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(body.as_bytes().chain(CSV_END.as_bytes()));
    let number = |position: Option<&csv::Position>| before + csv_line(body, position);
    let unreadable = |e: csv::Error| {
        Problem::new("this line cannot be read as CSV")
            .at(place(number(e.position())))
            .help("save the log again as CSV in UTF-8")
    };
    let names = reader.headers().map_err(unreadable)?.clone();
    let columns = Columns::find(&names, asked).map_err(|problems| Error {
        problems: problems.into_iter().map(|p| p.at(place(before + 1))).collect(),
    })?;
    let (mut rows, mut lines) = (Vec::new(), Vec::new());
    for row in reader.records() {
        let row = row.map_err(unreadable)?;
        let line = number(row.position());
        if row.iter().eq([CSV_END.trim()]) {
            break;
        }
        if row.iter().any(|cell| cell.contains(CSV_END)) {
            lines.push((line, Err(unclosed_quote().at(place(line)))));
            break;
        }
        // A logger notes in such lines that it was started, or read.
        let empty = |i: usize| row.get(i).is_none_or(|cell| cell.trim().is_empty());
        if empty(columns.temperature) && empty(columns.humidity) && !rows.is_empty() {
            continue;
        }
        rows.push((line, row));
    }
    let order = day_order(&rows, &columns, asked).map_err(|p| p.at(place(before + 2)))?;
    let mut wrong = 0;
    for (line, row) in &rows {
        if looks_fahrenheit(row, &columns) {
            let read = row.get(columns.temperature).unwrap_or("").trim();
            let problem = Problem::new(format!("the temperatures look like Fahrenheit, such as {read}"))
                .at(place(*line))
                .expected("the unit in the name of the column, where it is not C")
                .help("call the column \"temperature F\"");
            return Err(problem.into());
        }
        let read = reading(row, &columns, order).map_err(|p| p.at(place(*line)));
        wrong += usize::from(read.is_err());
        lines.push((*line, read));
        if wrong >= MOST_PROBLEMS {
            break;
        }
    }
    lines.sort_by_key(|(line, _)| *line);
    Ok(Lines { lines, scale: columns.scale, header: before + 1 })
}

/// How many lines stand before the header, and what separates its columns.
fn header_line(text: &str) -> (usize, u8) {
    let separator = |line: &str| {
        let count = |c: char| line.matches(c).count();
        [';', '\t', ','].into_iter().max_by_key(|c| (count(*c), *c == ',')).unwrap_or(',')
    };
    let names = |line: &str| -> Vec<String> {
        line.split(separator(line)).map(|cell| cell.trim().trim_matches('"').to_string()).collect()
    };
    let is_header = |line: &str| {
        let names = names(line);
        let has = |kind: Kind| names.iter().any(|n| Kind::of(n) == Some(kind));
        has(Kind::Temperature) && (has(Kind::Time) || has(Kind::Date) || has(Kind::Humidity))
    };
    let at = text.lines().take(MOST_BEFORE).position(is_header).unwrap_or(0);
    (at, text.lines().nth(at).map_or(b',', |line| separator(line) as u8))
}

/// What a column holds, by its name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Time,
    Date,
    Temperature,
    Humidity,
}

impl Kind {
    fn of(name: &str) -> Option<Kind> {
        let lower = name.to_lowercase();
        let words: Vec<&str> =
            lower.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).collect();
        let any = |starts: &[&str]| words.iter().any(|w| starts.iter().any(|s| w.starts_with(s)));
        let other = [
            "dew", "wet", "index", "feels", "elapsed", "zone", "alarm", "battery", "max", "min", "high",
            "low",
        ];
        if other.iter().any(|o| words.contains(o)) {
            return None;
        }
        let is_rh = words.contains(&"rh") || any(&["humid", "hum", "feucht"]);
        if is_rh {
            Some(Kind::Humidity)
        } else if any(&["temp", "celsius", "fahrenheit"]) {
            Some(Kind::Temperature)
        } else if any(&["timestamp", "datetime"]) || any(&["date"]) && any(&["time"]) {
            Some(Kind::Time)
        } else if any(&["date", "datum", "day"]) {
            Some(Kind::Date)
        } else if any(&["time", "zeit", "uhrzeit"]) {
            Some(Kind::Time)
        } else {
            None
        }
    }

    /// What to call such a column.
    fn word(self) -> &'static str {
        match self {
            Kind::Time | Kind::Date => "time",
            Kind::Temperature => "temperature",
            Kind::Humidity => "humidity",
        }
    }
}

impl Columns {
    fn find(header: &csv::StringRecord, asked: &Asked) -> std::result::Result<Columns, Vec<Problem>> {
        let names: Vec<&str> = header.iter().map(str::trim).collect();
        let of = |kind: Kind| -> Vec<usize> {
            (0..names.len()).filter(|i| Kind::of(names[*i]) == Some(kind)).collect()
        };
        let missing = |kind: Kind| {
            let words = ["time", "temperature", "humidity"].map(|w| (w == kind.word()).then_some(w));
            let near = names.iter().find(|n| nearest(n, words.into_iter().flatten()).is_some());
            let hint = near.map_or(String::new(), |n| format!(" (rename \"{n}\"?)"));
            Problem::new(format!("no line names a column for the {}", kind.word()))
                .expected("a line above the readings such as: time,temperature C,humidity %")
                .help(format!("call a column \"{}\"{hint}", kind.word()))
        };
        let time = match (of(Kind::Time).first(), of(Kind::Date).first()) {
            (Some(time), Some(date))
                if Kind::of(names[*time]) == Some(Kind::Time) && is_plain_time(names[*time]) =>
            {
                Ok((*date, Some(*time)))
            }
            (Some(time), _) => Ok((*time, None)),
            (None, Some(date)) => Ok((*date, None)),
            (None, None) => Err(missing(Kind::Time)),
        };
        let temperature = match (of(Kind::Temperature).as_slice(), &asked.column) {
            ([], _) => Err(missing(Kind::Temperature)),
            ([one], _) => Ok(*one),
            (several, Some(name)) => {
                let named = |i: &&usize| names[**i].to_lowercase() == name.trim().to_lowercase();
                several.iter().find(named).copied().ok_or_else(|| which(several, &names))
            }
            (several, None) => Err(which(several, &names)),
        };
        let humidity = match (of(Kind::Humidity).as_slice(), &temperature) {
            ([], _) => Err(missing(Kind::Humidity)),
            ([one], _) => Ok(*one),
            // Each probe has its own: the one beside its temperature.
            (several, Ok(temperature)) => {
                let after = several.iter().find(|i| *i > temperature);
                Ok(*after.unwrap_or(&several[0]))
            }
            (several, Err(_)) => Ok(several[0]),
        };
        let (time, temperature, humidity) = match (time, temperature, humidity) {
            (Ok(time), Ok(temperature), Ok(humidity)) => (time, temperature, humidity),
            (a, b, c) => return Err([a.err(), b.err(), c.err()].into_iter().flatten().collect()),
        };
        let name = names[temperature].to_lowercase().replace(|c: char| !c.is_alphanumeric(), " ");
        let fahrenheit = name.split_whitespace().any(|w| w == "f" || w == "fahrenheit" || w == "degf");
        let scale = if fahrenheit { Scale::Fahrenheit } else { Scale::Celsius };
        Ok(Columns { time, temperature, humidity, scale })
    }
}

/// Whether a column holds a time without its day: where it is one of both, its name says so.
fn is_plain_time(name: &str) -> bool {
    let lower = name.to_lowercase();
    !lower.contains("stamp") && !lower.contains("date")
}

/// Asks which of several temperatures is meant.
fn which(several: &[usize], names: &[&str]) -> Problem {
    let all: Vec<&str> = several.iter().map(|i| names[*i]).collect();
    Problem::new(format!("the log has {} temperatures", all.len()))
        .expected(format!("which of them is the air where the flowers stand: {}", all.join("; ")))
        .help(format!(
            "below `log` in the event, log_column = \"{}\"; or take the others out of the log",
            all[0]
        ))
}

/// The time of a row as it is written.
fn time_text(row: &csv::StringRecord, columns: &Columns) -> String {
    let cell = |i: usize| row.get(i).unwrap_or("").trim();
    match columns.time.1 {
        Some(time) => format!("{} {}", cell(columns.time.0), cell(time)),
        None => cell(columns.time.0).to_string(),
    }
}

/// The three numbers of a date that does not begin with its year, and what follows them; `None` for any other.
fn year_last(text: &str) -> Option<([i16; 3], &str)> {
    let ends = text.find([' ', 'T']).unwrap_or(text.len());
    let numbers: Vec<i16> = text[..ends]
        .trim_end_matches(',')
        .split(['/', '.', '-'])
        .map(str::parse)
        .collect::<std::result::Result<_, _>>()
        .ok()?;
    let [a, b, year] = numbers[..] else { return None };
    let year = if (0..100).contains(&year) { 2000 + year } else { year };
    (a <= 31 && b <= 31).then_some(([a, b, year], &text[ends..]))
}

/// The order of day and month in which all dates of a log can be read: as the florist says, as a number above twelve shows,
/// or as one of the two makes times that follow one another.
fn day_order(
    rows: &[(usize, csv::StringRecord)],
    columns: &Columns,
    asked: &Asked,
) -> std::result::Result<DayOrder, Problem> {
    let texts: Vec<String> = rows.iter().map(|(_, row)| time_text(row, columns)).collect();
    let dates: Vec<([i16; 3], &str)> = texts.iter().filter_map(|text| year_last(text)).collect();
    if dates.is_empty() || asked.dates.is_some() {
        return Ok(asked.dates.unwrap_or(DayOrder::DayFirst));
    }
    let orders = [DayOrder::DayFirst, DayOrder::MonthFirst];
    let fits = |order: &DayOrder| {
        let read: Vec<Option<DateTime>> = texts.iter().map(|text| time(text, *order)).collect();
        // Days read the wrong way round jump by a month.
        let follow = |pair: &[Option<DateTime>]| match pair {
            [Some(a), Some(b)] => (b.duration_since(*a).as_secs_f64()).abs() < 7.0 * 86_400.0,
            _ => true,
        };
        dates.iter().all(|(numbers, _)| date(*numbers, *order).is_some()) && read.windows(2).all(follow)
    };
    let fit: Vec<DayOrder> = orders.into_iter().filter(fits).collect();
    let same = dates.iter().all(|([a, b, _], _)| a == b);
    match fit[..] {
        [order] => Ok(order),
        [order, _] if same => Ok(order),
        // Neither: each line says what is wrong with it.
        [] => Ok(DayOrder::DayFirst),
        _ => {
            let ([a, b, year], _) = dates[0];
            let read = |order: DayOrder| {
                date([a, b, year], order).map_or(String::new(), |d| d.strftime("%-d %B").to_string())
            };
            let (first, second) = (read(DayOrder::DayFirst), read(DayOrder::MonthFirst));
            Err(Problem::new(format!("\"{}\" may be {first} or {second}", texts[0]))
                .expected("which comes first in its dates, the day or the month")
                .help(format!(
                    "below `log` in the event, log_dates = \"day first\" for {first}, or log_dates = \"month first\" for {second}"
                )))
        }
    }
}

fn date([a, b, year]: [i16; 3], order: DayOrder) -> Option<Date> {
    let (day, month) = match order {
        DayOrder::DayFirst => (a, b),
        DayOrder::MonthFirst => (b, a),
    };
    Date::new(year, month.try_into().ok()?, day.try_into().ok()?).ok()
}

/// A date and a time: the year first in any way that is a standard, or last, with the clock of 24 or of 12 hours.
fn time(text: &str, order: DayOrder) -> Option<DateTime> {
    if let Ok(time) = text.replace('/', "-").parse() {
        return Some(time);
    }
    let (date, rest) = match year_last(text) {
        Some((numbers, rest)) => (date(numbers, order)?, rest),
        None => {
            let ends = text.find([' ', 'T'])?;
            (text[..ends].replace(['/', '.'], "-").parse().ok()?, &text[ends..])
        }
    };
    let rest = rest.trim_start_matches([',', ' ', 'T']).to_lowercase().replace('.', "");
    let (clock, half) = match (rest.strip_suffix("pm"), rest.strip_suffix("am")) {
        (Some(clock), _) => (clock.trim(), Some(12)),
        (_, Some(clock)) => (clock.trim(), Some(0)),
        _ => (rest.as_str(), None),
    };
    let parts: Vec<i8> = clock.split(':').map(str::parse).collect::<std::result::Result<_, _>>().ok()?;
    let (hour, minute, second) = match parts[..] {
        [hour, minute] => (hour, minute, 0),
        [hour, minute, second] => (hour, minute, second),
        _ => return None,
    };
    let hour = match half {
        Some(_) if !(1..=12).contains(&hour) => return None,
        Some(half) => hour % 12 + half,
        None => hour,
    };
    Some(date.to_datetime(Time::new(hour, minute, second, 0).ok()?))
}

/// Whether a line's temperature is a bare number too high for Celsius and likely in Fahrenheit.
fn looks_fahrenheit(row: &csv::StringRecord, columns: &Columns) -> bool {
    let number = row.get(columns.temperature).and_then(|t| t.trim().replace(',', ".").parse::<f64>().ok());
    columns.scale == Scale::Celsius && number.is_some_and(|n| n > 45.0 && n <= 140.0)
}

fn reading(
    row: &csv::StringRecord,
    columns: &Columns,
    order: DayOrder,
) -> std::result::Result<Reading, Problem> {
    let cell = |i: usize| row.get(i).unwrap_or("").trim();
    // Within a cell a comma can only be a decimal one.
    let number = |i: usize| cell(i).replace(',', ".");
    let read = time_text(row, columns);
    let time = time(&read, order).ok_or_else(|| {
        if read.ends_with(['Z', 'z']) {
            return Problem::new(format!("\"{read}\" is a time of the world's clock, not of the venue's"))
                .expected("the time that a clock at the venue shows")
                .help("export the log in local time, or write it like 2027-08-07 14:30");
        }
        Problem::new(format!("\"{read}\" is not a date and time that can be read"))
            .expected("a date and a time")
            .help("write it like 2027-08-07 14:30")
    })?;
    let temperature_text = number(columns.temperature);
    let with_unit = match columns.scale {
        Scale::Fahrenheit if !temperature_text.to_lowercase().ends_with(['f', 'c']) => {
            format!("{temperature_text} F")
        }
        _ => temperature_text,
    };
    let wrong = |i: usize, what: &str, e: UnitError| {
        Problem::new(format!("\"{}\" is not a {what}", cell(i))).expected(e.expected).help(e.help)
    };
    let temperature: Temperature =
        with_unit.parse().map_err(|e| wrong(columns.temperature, "temperature", e))?;
    let humidity: Humidity =
        number(columns.humidity).parse().map_err(|e| wrong(columns.humidity, "relative humidity", e))?;
    Ok(Reading { time, temperature_c: temperature.celsius, rh: humidity.percent / 100.0 })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Vec<(String, f64, f64)> {
        let lines = lines("l.csv", text, &Asked::default()).unwrap_or_else(|e| panic!("{e}"));
        let reading = |line: Line| line.1.unwrap_or_else(|p| panic!("{p}"));
        let shown = |r: Reading| (r.time.to_string(), (r.temperature_c * 10.0).round() / 10.0, r.rh);
        lines.lines.into_iter().map(|line| shown(reading(line))).collect()
    }

    #[test]
    fn a_logger_may_say_it_in_many_ways() {
        let told =
            [("2027-08-14T23:45:00".to_string(), 23.5, 0.5), ("2027-08-15T00:15:00".to_string(), 23.4, 0.51)];
        for text in [
            "time,temperature C,humidity %\n2027-08-14 23:45,23.5,50\n2027-08-15 00:15,23.4,51\n",
            "Plot Title: barn\r\nSerial 12345\r\n\r\n#,\"Date Time, GMT+02:00\",\"Temp, \u{b0}C\",\"RH, %\"\r\n1,08/14/27 11:45:00 PM,23.5,50\r\n2,08/15/27 12:15:00 AM,23.4,51\r\n",
            "Datum;Uhrzeit;Temperatur [\u{b0}C];rel. Feuchte [%]\n14.08.2027;23:45:00;23,5;50,0\n15.08.2027;00:15:00;23,4;51,0\n",
            "Date\tTime\tTemperature(F)\tHumidity(%RH)\n8/14/2027\t11:45 p.m.\t74.3\t50\n8/15/2027\t12:15 a.m.\t74.12\t51\n",
            "Index,Timestamp,Dew point C,Temp C,RH %,Host connected\n1,2027/08/14 23:45,12,23.5,50,\n,2027/08/15 00:00,,,,yes\n2,2027/08/15 00:15,12,23.4,51,\n",
        ] {
            assert_eq!(read(text), told, "{text}");
        }
    }

    #[test]
    fn what_can_be_read_in_two_ways_is_asked() {
        let two = "time,Temp 1 C,RH 1,Temp 2 C,RH 2\n2027-08-14 12:00,20,50,30,40\n";
        let error = lines("l.csv", two, &Asked::default()).err().expect("two temperatures").to_string();
        assert!(error.contains("Temp 1 C; Temp 2 C") && error.contains("log_column"), "{error}");
        let asked = Asked { column: Some("temp 2 c".to_string()), ..Asked::default() };
        let second = lines("l.csv", two, &asked).unwrap().lines.remove(0).1.unwrap();
        assert_eq!((second.temperature_c, second.rh), (30.0, 0.4));

        let day = "time,temp,rh\n08/07/2027 12:00,20,50\n08/07/2027 12:30,20,50\n";
        let error = lines("l.csv", day, &Asked::default()).err().expect("two days").to_string();
        assert!(
            error.contains("8 July or 7 August") || error.contains("8 July") && error.contains("7 August"),
            "{error}"
        );
        let asked = Asked { dates: Some(DayOrder::MonthFirst), ..Asked::default() };
        let first = lines("l.csv", day, &asked).unwrap().lines.remove(0).1.unwrap();
        assert_eq!(first.time.to_string(), "2027-08-07T12:00:00");
        // Past midnight only one way goes on.
        let night = "time,temp,rh\n08/07/2027 23:30,20,50\n09/07/2027 00:30,20,50\n";
        assert_eq!(read(night)[0].0, "2027-07-08T23:30:00");
    }
}
