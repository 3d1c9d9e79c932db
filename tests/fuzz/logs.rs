//! Records of loggers.

use crate::run::{fuzz, refused};
use crate::spoil::{Corpus, Form};
use crate::texts;
use headwater::climate::record::Record;
use headwater::climate::{Air, Climate};
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// The logs that events and notebooks may name.
static LOGS: LazyLock<BTreeMap<String, String>> =
    LazyLock::new(|| texts("tests/wrong-events", ".csv").into_iter().collect());

/// Fetches one of them.
pub fn load(name: &str) -> std::io::Result<String> {
    LOGS.get(name).cloned().ok_or_else(|| std::io::ErrorKind::NotFound.into())
}

/// Air that is air, at all hours.
pub fn sane(climate: &Climate) {
    for hour in (-66..=100).step_by(11) {
        let air = climate.at(f64::from(hour));
        assert!((-80.0..=120.0).contains(&air.temperature_c), "{air:?}");
        assert!(air.vapour_pressure > 0.0 && air.relative_humidity() <= 1.0 + 1e-9, "{air:?}");
        assert!(air.pressure > 30_000.0 && air.speed >= 0.0 && (0.0..=2000.0).contains(&air.sun), "{air:?}");
    }
}

/// Whether it is read, and then as air.
pub fn read(text: &str) -> bool {
    let record = match Record::read("log.csv", text) {
        Ok(record) => record,
        Err(error) => return refused(&error),
    };
    if let Some(day) = record.last_whole_day() {
        for (from, to) in [(0.0, 24.0), (-30.0, 40.0), (10.0, 10.5)] {
            sane(&record.climate(day, from, to, Air::SEA_LEVEL, 0.1, false).expect("a day of the log"));
        }
    }
    true
}

/// A log of so many readings, the first at midnight.
fn log(header: &str, delimiter: char, readings: usize, minutes: usize, units: [&str; 2]) -> String {
    let mut text = format!("{header}\n");
    for i in 0..readings {
        let (hour, minute) = (i * minutes / 60, i * minutes % 60);
        let (day, hour) = (7 + hour / 24, hour % 24);
        let temperature = 10.0 + 0.37 * (i % 40) as f64;
        let humidity = 80 - i % 50;
        let cells = [
            format!("2027-08-{day:02} {hour:02}:{minute:02}"),
            format!("{temperature:.1}{}", units[0]),
            format!("{humidity}{}", units[1]),
        ];
        text += &(cells.join(&delimiter.to_string()) + "\n");
    }
    text
}

#[test]
fn logs_are_read_or_refused() {
    let mut corpus: Vec<String> = LOGS.values().cloned().collect();
    corpus.push(
        "Humidity,Time stamp,Temp\n45,2027/08/07 00:10,21 C\n55 %,2027-08-07T00:40:30,70F\n".to_string(),
    );
    for readings in [2, 2, 3, 3, 4, 5, 6, 8, 10] {
        for minutes in [10, 30, 60] {
            corpus.push(log("time,temperature C,humidity %", ',', readings, minutes, ["", ""]));
            corpus.push(log("timestamp;air temp (F);rh", ';', readings, minutes, [" F", " %"]));
            corpus.push(log("date,celsius,relative humidity,note", ',', readings, minutes, [" C", " %,"]));
        }
    }
    for minutes in [30, 60, 60] {
        corpus.push(log("time,temperature C,humidity %", ',', 26 * 60 / minutes, minutes, ["", ""]));
    }
    corpus.extend(texts("tests/found", ".log").into_iter().map(|t| t.1));
    fuzz("record", 4000, &Corpus::new(corpus, Form::Cells), read);
}
