//! Reads single cells as a florist, or a spreadsheet, may write them.

use super::book::Load;
use crate::climate::Air;
use crate::climate::air::saturation_vapour_pressure;
use crate::climate::record::Record;
use crate::climate::room::Room;
use crate::error::{Problem, nearest, reason};
use crate::units::{Humidity, Moment, Temperature, UnitError};
use jiff::civil::Date;
use std::rc::Rc;
use std::str::FromStr;

/// What a cell says of the air.
pub enum AirCell {
    /// A temperature and a humidity.
    Reading(Air),
    /// A room in plain words.
    Room(&'static Room),
    /// A logger's file, by its name.
    Log(String, Rc<Record>),
}

/// Fetches the readings of a log by its name; many trials may name the same one.
pub type Logs<'a> = &'a dyn Fn(&str) -> std::result::Result<Rc<Record>, Problem>;

/// Reads the log of a name.
///
/// # Errors
/// If it cannot be read. Of its problems only the first is told: `headwater check` of an event lists them all.
pub fn log(name: &str, load: Load) -> std::result::Result<Rc<Record>, Problem> {
    let text = load(name).map_err(|e| {
        Problem::new(format!("the log \"{name}\" cannot be read: {}", reason(&e)))
            .expected("a logger's CSV, as plain text")
            .help("give its name as seen from the folder of the notebook")
    })?;
    Record::read(name, &text).map(Rc::new).map_err(|e| e.problems.into_iter().next().unwrap_or_default())
}

/// Reads an air from one cell: `21 C 45 %`, plain words for a room, or the name of a logger's CSV.
///
/// # Errors
/// What is wrong with it, and how to write it.
pub fn air(words: &str, logs: Logs) -> std::result::Result<AirCell, Problem> {
    if words.to_lowercase().ends_with(".csv") {
        return logs(words).map(|record| AirCell::Log(words.to_string(), record));
    }
    if !words.contains(|c: char| c.is_ascii_digit()) {
        return Room::find(words).map(AirCell::Room);
    }
    reading(words).map(AirCell::Reading)
}

/// Reads a temperature and a humidity from one text.
///
/// # Errors
/// What is wrong with it, and how to write it.
pub fn reading(words: &str) -> std::result::Result<Air, Problem> {
    let cuts = words
        .char_indices()
        .filter(|(_, c)| c.is_whitespace() || matches!(c, ',' | ';' | '/'))
        .map(|(i, _)| i);
    let pair = cuts.rev().find_map(|cut| {
        let clean = |part: &str| {
            part.trim_matches(|c: char| c.is_whitespace() || matches!(c, ',' | ';' | '/')).to_string()
        };
        let temperature: Temperature = clean(&words[..cut]).parse().ok()?;
        let humidity: Humidity = clean(&words[cut..]).parse().ok()?;
        Some((temperature, humidity))
    });
    let Some((temperature, humidity)) = pair else {
        return Err(Problem::new(format!("{words:?} is not an air that can be read"))
            .expected("a temperature with its unit and a relative humidity, or plain words for a room, or a logger's CSV")
            .help("write it like 21 C 45 % or 70F 45%"));
    };
    let saturated = saturation_vapour_pressure(temperature.celsius);
    Ok(Air {
        temperature_c: temperature.celsius,
        vapour_pressure: humidity.percent / 100.0 * saturated,
        ..Air::still(temperature.celsius, 0.5)
    })
}

/// A reader of whole numbers within a range.
pub fn count(least: u32, most: u32) -> impl Fn(&str) -> std::result::Result<u32, Problem> {
    move |text| match text.parse::<u32>() {
        Ok(n) if (least..=most).contains(&n) => Ok(n),
        _ => Err(Problem::new(format!("{text:?} is not a number of things"))
            .expected(format!("a whole number from {least} to {most}"))
            .help("count again")),
    }
}

/// A reader of numbers that are not below the least; the decimal sign may be a comma.
pub fn number_from(least: f64) -> impl Fn(&str) -> std::result::Result<f64, Problem> {
    move |text| match text.replace(',', ".").parse::<f64>() {
        Ok(n) if n >= least && n.is_finite() => Ok(n),
        _ => Err(Problem::new(format!("{text:?} is not a number"))
            .expected(format!("a number from {least}"))
            .help("leave it as it was written")),
    }
}

/// Reads a weight, g, as it stands on a scale: in g, kg or oz.
///
/// # Errors
/// If it is not a weight above 0 and below 100 kg.
pub fn weight(text: &str) -> std::result::Result<f64, Problem> {
    let lower = text.trim().to_lowercase().replace(',', ".");
    let units = [("kg", 1000.0), ("oz", 28.349_523_125), ("g", 1.0), ("", 1.0)];
    let (unit, factor) = *units.iter().find(|(u, _)| lower.ends_with(u)).expect("the last fits all");
    match lower.strip_suffix(unit).map(|n| n.trim().parse::<f64>()) {
        Some(Ok(n)) if n > 0.0 && n * factor < 100_000.0 => Ok(n * factor),
        _ => Err(Problem::new(format!("{text:?} is not a weight"))
            .expected("what all the heads weigh together")
            .help("write it like 142.5 g or 5 oz")),
    }
}

/// Reads a clock time, h from midnight; a spreadsheet may have added seconds, which are dropped.
///
/// # Errors
/// If it is not a clock time.
pub fn clock(text: &str) -> std::result::Result<f64, Problem> {
    let seconds = text.matches(':').count() == 2;
    let short = match text.rfind(':') {
        Some(at) if seconds => format!(
            "{}{}",
            &text[..at],
            text[at..].trim_start_matches(|c: char| c == ':' || c.is_ascii_digit())
        ),
        _ => text.to_string(),
    };
    let wrong = |e: UnitError| {
        Problem::new(format!("{text:?} is not a clock time")).expected(e.expected).help(e.help)
    };
    Moment::from_str(&short).map(|m| m.hours).map_err(wrong)
}

/// Reads a day of the calendar.
///
/// # Errors
/// If it is not written as year-month-day.
pub fn day(text: &str) -> std::result::Result<Date, Problem> {
    text.parse().map_err(|_| {
        Problem::new(format!("{text:?} is not a day of the calendar"))
            .expected("year-month-day")
            .help("write it like 2027-06-13; in a spreadsheet, make the column text")
    })
}

/// What a word stands for, out of a table whose rows each begin with the word that is shown.
///
/// # Errors
/// If nothing was found for it.
pub fn words<T>(found: Option<T>, read: &str, all: &[&[&str]]) -> std::result::Result<T, Problem> {
    let firsts: Vec<&str> = all.iter().map(|w| w[0]).collect();
    found.ok_or_else(|| {
        let near = nearest(read, all.iter().flat_map(|w| w.iter().copied()));
        let meant = all.iter().find(|w| near.is_some_and(|near| w.contains(&near)));
        Problem::new(format!("{read:?} is not known here"))
            .expected(format!("one of: {}", firsts.join(", ")))
            .help(meant.map_or(firsts[0], |w| w[0]))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_spreadsheet_adds_to_a_time_is_dropped() {
        let read = |text: &str| clock(text).unwrap();
        assert_eq!(
            [read("9:30"), read("9:30:59"), read("9:30:00 pm"), read("21:30:00")],
            [9.5, 9.5, 21.5, 21.5]
        );
        assert!(clock("half past").is_err() && clock("9:30:00:00").is_err());
    }

    #[test]
    fn air_is_read_in_either_scale() {
        let saturated = saturation_vapour_pressure(21.0);
        for words in ["21 C 45 %", "21C, 45%", "69.8 F / 45 %"] {
            let air = reading(words).unwrap();
            assert!((air.temperature_c - 21.0).abs() < 1e-9, "{words}: {air:?}");
            assert!((air.vapour_pressure - 0.45 * saturated).abs() < 1e-6, "{words}: {air:?}");
        }
        assert!(reading("21 C").is_err() && reading("45 %").is_err());
    }

    #[test]
    fn numbers_and_weights_have_their_limits() {
        assert!(
            count(2, 5)("2").is_ok_and(|n| n == 2) && count(2, 5)("5").is_ok() && count(2, 5)("6").is_err()
        );
        assert!(number_from(1.5)("1,5").is_ok_and(|n| n == 1.5) && number_from(1.5)("1.4").is_err());
        assert!(number_from(0.0)("inf").is_err());
        for (text, grams) in [("142.5 g", 142.5), ("0,5 kg", 500.0), ("5 oz", 141.747_615_625), ("80", 80.0)]
        {
            assert!((weight(text).unwrap() - grams).abs() < 1e-9, "{text}");
        }
        assert!(weight("0 g").is_err() && weight("100 kg").is_err() && weight("99.9 kg").is_ok());
    }
}
