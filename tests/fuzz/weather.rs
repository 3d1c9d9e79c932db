//! Records of weather as typical years or as years of hours, and lines of normals.

use crate::logs::sane;
use crate::run::{fuzz, refused};
use crate::spoil::{Corpus, Form};
use crate::texts;
use headwater::climate::weather::Weather;
use headwater::climate::weather::normals::Normals;
use headwater::climate::weather::possible::{Around, PossibleDays, forecast, near};

/// The days of a season are days, before and after a forecast.
fn days(all: PossibleDays) {
    for day in all.days.iter().take(2).chain(all.days.last()) {
        assert!(day.high_c.is_finite() && !day.name.is_empty());
        sane(&day.climate);
    }
    let told = forecast(all, 25.0, 3);
    assert!(!told.days.is_empty());
    told.days.first().into_iter().for_each(|day| sane(&day.climate));
}

/// Whether it is read, and then as weather.
pub fn read(text: &str) -> bool {
    let weather = match Weather::read("weather.csv", text) {
        Ok(weather) => weather,
        Err(error) => return refused(&error),
    };
    for reading in weather.days.iter().flat_map(|day| &day.readings) {
        assert!((0.0..=24.0).contains(&reading.hour), "{reading:?}");
        assert!((-70.0..=70.0).contains(&reading.temperature_c), "{reading:?}");
        assert!(reading.dew_point_c <= reading.temperature_c && reading.dew_point_c >= -90.0, "{reading:?}");
        assert!(reading.sun.is_none_or(|sun| (0.0..=2000.0).contains(&sun)), "{reading:?}");
        assert!(reading.wind.is_none_or(|wind| (0.0..=60.0).contains(&wind)), "{reading:?}");
    }
    assert!(!weather.is_typical() || weather.is_one_year());
    let date = weather.days.first().expect("a day").date;
    let around = Around { date, span: (8.0, 26.0), ahead: 1.0, pressure: 101_325.0 };
    days(near(&weather, &around).expect("its own day is near"));
    true
}

/// Whether a line of normals is read, and then as days.
pub fn normals(text: &str) -> bool {
    match Normals::read(text) {
        Ok(normals) => {
            // One in a few, since it takes far longer than reading.
            if text.len().is_multiple_of(16) {
                days(normals.days(101_325.0));
            }
            true
        }
        Err(problem) => refused(&problem.into()),
    }
}

/// Every third hour of so many days, from the third: what a line says of month, day, hour and a temperature.
fn hours(number: i32, line: impl Fn(i32, i32, f64) -> String) -> String {
    let each = |i: i32| (14 + i / 8, 3 * (i % 8) + 3);
    (0..8 * number).map(|i| line(each(i).0, each(i).1, 14.0 + f64::from(i % 8)) + "\n").collect()
}

/// A typical year of so many days.
fn epw(number: i32) -> String {
    "LOCATION,Meadow,-,-,none,000000,51.0,-1.0,0.0,70.0\nDESIGN CONDITIONS,0\nTYPICAL/EXTREME PERIODS,0\n\
     GROUND TEMPERATURES,0\nHOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0\nCOMMENTS 1,invented\nCOMMENTS 2,\n\
     DATA PERIODS,1,1,Data,Sunday,1/1,12/31\n"
        .to_string()
        + &hours(number, |day, hour, t| {
            format!(
                "2003,8,{day},{hour},60,flags,{t:.1},9.5,55,101325,0,0,300,{},0,0,0,0,0,0,180,2.5,0,0,20,77777,9,999999999,0,0,0,0,0,0,0",
                10 * hour
            )
        })
}

fn tmy3(number: i32) -> String {
    "000000,\"MEADOW\",XX,-6.0,30.0,-90.0,33\n\
     Date (MM/DD/YYYY),Time (HH:MM),GHI (W/m^2),Dry-bulb (C),Dew-point (C),RHum (%),Wspd (m/s)\n"
        .to_string()
        + &hours(number, |day, hour, t| format!("08/{day}/1999,{hour:02}:00,{},{t:.1},9.5,55,2.5", 10 * hour))
}

/// Years of hours, as services write them.
fn columns(number: i32) -> [String; 6] {
    let on = |header: &str, line: &dyn Fn(i32, i32, f64) -> String| {
        format!("{header}\n") + &hours(number, |day, hour, t| line(day, hour - 1, t))
    };
    [
        on("time,temperature C,humidity %,wind m/s,sun W/m2", &|d, h, t| {
            format!("2023-08-{d} {h:02}:00,{t:.1},55,2.5,300")
        }),
        on("station: meadow\n\nvalid,tmpf,dwpf,sknt", &|d, h, t| {
            format!("2023-08-{d} {h:02}:53,{:.1},50.0,6", 1.8 * t + 32.0)
        }),
        on("Year,Month,Day,Hour,air temperature (\u{b0}C),relative humidity (%)", &|d, h, t| {
            format!("2023,8,{d},{h},{t:.1},55")
        }),
        on("date;hour;temperature;dew point", &|d, h, t| format!("202308{d};{h:02};{t:.1};9.5")),
        on("timestamp,temp (F),rh,wind (km/h)", &|d, h, t| {
            format!("2023/08/{d} {h:02}:00 UTC,{:.1},55,11", 1.8 * t + 32.0)
        }),
        on("datetime,temperature_2m (\u{b0}C),dew_point_2m (\u{b0}C)", &|d, h, t| {
            format!("2023-08-{d}T{h:02}:00Z,{t:.1},-999")
        }),
    ]
}

fn found() -> impl Iterator<Item = String> {
    texts("tests/found", ".weather").into_iter().map(|t| t.1)
}

#[test]
fn typical_years_are_read_or_refused() {
    let corpus = [1, 1, 2].iter().flat_map(|n| [epw(*n), tmy3(*n)]).chain(found()).collect();
    fuzz("typical", 4000, &Corpus::new(corpus, Form::Rows), read);
}

#[test]
fn years_of_hours_are_read_or_refused() {
    let corpus = [1, 1, 2].iter().flat_map(|n| columns(*n)).chain(found()).collect();
    fuzz("hours", 4000, &Corpus::new(corpus, Form::Cells), read);
}

#[test]
fn normals_are_read_or_refused() {
    let corpus = [
        "low 14 C, high 26 C; one day in ten above 31 C; middling",
        "low 57F, high 79F",
        "night 9, day 19; dry",
        "high 26 C, low 14 C, dew point 12 C",
        "low -3 C, high 2 C, muggy",
        "lows 14 C; highs 88 F; one in ten above 95 F",
    ];
    fuzz("normals", 4000, &Corpus::new(corpus.map(str::to_string).to_vec(), Form::Words), normals);
}
