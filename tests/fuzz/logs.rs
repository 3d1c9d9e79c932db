//! Records of loggers.

use crate::run::{fuzz, refused};
use crate::spoil::{Corpus, Form};
use crate::texts;
use headwater::climate::logger::{Asked, DayOrder};
use headwater::climate::record::Record;
use headwater::climate::{Air, Climate};
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// The logs that events and notebooks may name.
static LOGS: LazyLock<BTreeMap<String, String>> =
    LazyLock::new(|| texts("tests/wrong-events", ".csv").into_iter().collect());

static WEATHER: LazyLock<String> = LazyLock::new(|| {
    let hour = |i: u32| format!("2023-08-14 {:02}:00,{},55\n", 3 * i, 14 + i);
    (0..8).map(hour).fold("time,temperature C,humidity %\n".to_string(), |text, hour| text + &hour)
});

/// Fetches one of them, or a day of weather.
pub fn load(name: &str) -> std::io::Result<String> {
    if name == "weather.csv" {
        return Ok(WEATHER.clone());
    }
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
    // Half of them as if the florist had been asked.
    let asked = Asked { column: Some("Temp 2 C".to_string()), dates: Some(DayOrder::DayFirst) };
    let asked = if text.len().is_multiple_of(2) { asked } else { Asked::default() };
    let record = match Record::read_as("log.csv", text, &asked) {
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
    // As loggers write them.
    let mut own = [
        "Plot Title: barn\nSerial 12345\n\n#,\"Date Time, GMT+02:00\",\"Temp, \u{b0}C\",\"RH, %\"\n"
            .to_string(),
        "Datum;Uhrzeit;Temperatur [\u{b0}C];rel. Feuchte [%]\n".to_string(),
        "Date\tTime\tTemperature(F)\tHumidity(%RH)\n".to_string(),
        "Index,Timestamp,Dew point C,Temp C,RH %,Host connected\n".to_string(),
        "time,Temp 1 C,RH 1,Temp 2 C,RH 2\n".to_string(),
    ];
    for i in 0..6 {
        let (day, hour) = (14 + (21 + i) / 24, (21 + i) % 24);
        let (twelve, half) = ((hour + 11) % 12 + 1, if hour < 12 { "AM" } else { "PM" });
        own[0] += &format!("{i},08/{day}/27 {twelve}:45:00 {half},23.5,50\n");
        own[1] += &format!("{day}.08.2027;{hour:02}:45:00;23,5;50,0\n");
        own[2] += &format!("8/{day}/2027\t{twelve}:45 {half}\t74.3\t50\n");
        own[3] += &format!("{i},2027/08/{day} {hour:02}:45,12,23.5,50,\n");
        own[4] += &format!("2027-08-{day} {hour:02}:45,20,50,30,40\n");
    }
    (0..4).for_each(|_| corpus.extend(own.iter().cloned()));
    for minutes in [30, 60, 60] {
        corpus.push(log("time,temperature C,humidity %", ',', 26 * 60 / minutes, minutes, ["", ""]));
    }
    corpus.extend(texts("tests/found", ".log").into_iter().map(|t| t.1));
    fuzz("record", 4000, &Corpus::new(corpus, Form::Cells), read);
}
