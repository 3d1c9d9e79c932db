//! Records of weather and the days that an event may meet.

use headwater::climate::weather::normals::Normals;
use headwater::climate::weather::possible::{
    Around, PossibleDays, WITHIN_DAYS, even_normals, forecast, near,
};
use headwater::climate::weather::{Clock, Day, Reading, Weather};
use headwater::climate::{Air, air::saturation_vapour_pressure};
use headwater::event::{Event, TEMPLATE};
use std::collections::BTreeMap;
use std::fmt::Write;
use std::path::PathBuf;

/// A weather year of our own: hot afternoons that depend on the day, from a year for each month. Numbers are invented.
fn typical_year() -> String {
    let mut text = String::from(
        "LOCATION,Nowhere,-,XXX,invented,000000,45.0,9.0,1.0,120.0\r\nDESIGN CONDITIONS,0\r\nTYPICAL/EXTREME PERIODS,0\r\n\
         GROUND TEMPERATURES,0\r\nHOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0\r\nCOMMENTS 1,\"invented, all of it\"\r\nCOMMENTS 2,\r\n\
         DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31\r\n",
    );
    for month in 1..=12 {
        let year = 1980 + month * 2 + 1;
        let days = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31][month - 1];
        for day in 1..=days {
            for hour in 1..=24 {
                let t = temperature(month, day, hour);
                let sun = if (8..=18).contains(&hour) { 500 } else { 0 };
                writeln!(
                    text,
                    "{year},{month},{day},{hour},60,flags,{t:.1},{:.1},999,101325,0,0,300,{sun},0,0,0,0,0,0,180,4.0,5,5,20,7,9,9,9,0,0,0,0,0,0\r",
                    t - 10.0
                )
                .unwrap();
            }
        }
    }
    text
}

fn temperature(month: usize, day: usize, hour: usize) -> f64 {
    let season = 10.0 - 12.0 * (month as f64 * std::f64::consts::PI / 6.0).cos();
    season
        + f64::from((day * 7 % 11) as u32)
        + 5.0 * ((hour as f64 - 15.0) * std::f64::consts::PI / 12.0).cos()
}

fn around(date: &str) -> Around {
    Around { date: date.parse().unwrap(), span: (-6.0, 26.0), ahead: 1.0, pressure: Air::SEA_LEVEL }
}

fn days(text: &str, date: &str) -> PossibleDays {
    near(&Weather::read("w", text).unwrap(), &around(date)).unwrap()
}

#[test]
fn hour_24_stays_on_its_date_and_a_typical_year_is_known() {
    let weather = Weather::read("w.epw", &typical_year()).unwrap();
    assert_eq!((weather.days.len(), weather.clock, weather.latitude), (365, Clock::Standard, Some(45.0)));
    assert!(weather.is_typical() && weather.from.contains("Nowhere"));
    let day = weather.days.iter().find(|d| (d.date.month(), d.date.day()) == (7, 31)).unwrap();
    let hours: Vec<f64> = day.readings.iter().map(|r| r.hour).collect();
    assert_eq!((hours.len(), hours[0], hours[23]), (24, 1.0, 24.0));
    assert!((day.readings[23].temperature_c - temperature(7, 31, 24)).abs() < 0.051);
}

#[test]
fn days_are_those_within_ten_of_the_date_and_an_hour_ahead_in_summer() {
    let found = days(&typical_year(), "2027-08-07");
    assert_eq!(found.days.len(), 21 * 5, "21 days, each in five years");
    let day = found.days.iter().find(|d| d.name == "7 Aug").unwrap();
    // The file's 15:00 is 16:00 of a clock that was put forward.
    assert!((day.climate.at(16.0).temperature_c - temperature(8, 7, 15)).abs() < 0.051);
    // The night before is that of the day before, of the same month.
    assert!((day.climate.at(-3.0).temperature_c - temperature(8, 6, 20)).abs() < 0.051);
    // Where months of two years are joined a day stands for its own night.
    let first = days(&typical_year(), "2027-08-01");
    let first = first.days.iter().find(|d| d.name == "1 Aug").unwrap();
    assert!((first.climate.at(-3.0).temperature_c - temperature(8, 1, 20)).abs() < 0.051);
    // Wind at ten metres is slower near the ground, and the sun is there.
    let noon = day.climate.at(13.0);
    assert!((noon.speed - 0.748 * 4.0).abs() < 1e-9 && noon.sun == 500.0 && noon.outdoors);
    // 29 February has its neighbours, too.
    assert_eq!(days(&typical_year(), "2028-02-29").days.len(), 20 * 5);
}

#[test]
fn one_year_is_widened_by_two_degrees() {
    let found = days(&typical_year(), "2027-08-07");
    let spread = |highs: &[f64]| {
        let mean = highs.iter().sum::<f64>() / highs.len() as f64;
        highs.iter().map(|h| (h - mean).powi(2)).sum::<f64>() / highs.len() as f64
    };
    let all: Vec<f64> = found.days.iter().map(|d| d.high_c).collect();
    let plain: Vec<f64> = found.days.iter().filter(|d| !d.name.contains("year")).map(|d| d.high_c).collect();
    assert_eq!(plain.len(), 21);
    assert!((spread(&all) - spread(&plain) - 4.0).abs() < 0.02, "{} {}", spread(&all), spread(&plain));
    assert!(all.windows(2).all(|w| w[0] <= w[1]), "the coolest first");
    let z = even_normals(5);
    assert!((z.iter().map(|z| z * z).sum::<f64>() / 5.0 - 1.0).abs() < 1e-12);
    assert!(found.remarks.iter().any(|r| r.contains("2 C (an assumption)")), "{:?}", found.remarks);
}

/// Years of hours as CSV, in July and August.
fn years(range: std::ops::Range<i32>, header: &str, row: impl Fn(i32, i32, i32, i32) -> String) -> String {
    let mut text = format!("station 1234\n\n{header}\n");
    for year in range {
        for (month, days) in [(7, 31), (8, 31)] {
            for day in 1..=days {
                for hour in 0..24 {
                    text.push_str(&row(year, month, day, hour));
                    text.push('\n');
                }
            }
        }
    }
    text
}

#[test]
fn hours_of_many_years_are_read_as_services_write_them() {
    let t = |hour: i32| 20.0 + f64::from(hour) / 4.0;
    let metric = years(
        2001..2021,
        "time,temperature_2m (\u{b0}C),relative_humidity_2m (%),wind_speed_10m (km/h)",
        |y, m, d, h| format!("{y}-{m:02}-{d:02}T{h:02}:00,{:.2},50,18", t(h)),
    );
    let airport = years(2001..2021, "valid,tmpf,dwpf,sknt", |y, m, d, h| {
        format!("{y}-{m:02}-{d:02} {h:02}:00,{:.3},50,9.7192", t(h) * 1.8 + 32.0)
    });
    let parts = years(2001..2021, "year;month;day;hour;temp C;dewp C;wind m/s", |y, m, d, h| {
        format!("{y};{m};{d};{h};{};10,0;5", format!("{:.2}", t(h)).replace('.', ","))
    });
    for text in [metric, airport, parts] {
        let weather = Weather::read("w.csv", &text).unwrap_or_else(|e| panic!("{e}"));
        assert!(!weather.is_one_year() && weather.clock == Clock::Unsaid);
        let found = near(&weather, &Around { ahead: 0.0, ..around("2027-08-07") }).unwrap();
        assert_eq!(found.days.len(), 20 * 21);
        let air = found.days[0].climate.at(16.0);
        assert!((air.temperature_c - 24.0).abs() < 0.01 && (air.speed - 0.748 * 5.0).abs() < 0.01, "{air:?}");
    }
}

#[test]
fn what_is_missing_is_filled_or_left_out_and_told() {
    let with_holes = years(2001..2003, "time,temperature C,humidity %", |y, m, d, h| {
        let t = match (d, h) {
            (5, 10..=12) => "NA".to_string(),
            (6, 10..=15) => String::new(),
            _ => "22".to_string(),
        };
        format!("{y}-{m:02}-{d:02} {h:02}:00,{t},50")
    });
    let weather = Weather::read("w.csv", &with_holes).unwrap();
    assert_eq!(weather.days.len(), 2 * 60, "a day with six hours missing is left out in each month");
    assert!(weather.remarks[0].contains("120 of 124"), "{:?}", weather.remarks);
}

#[test]
fn every_fault_is_told_with_its_line() {
    let told = |text: &str| Weather::read("w", text).unwrap_err().to_string();
    let epw = typical_year();
    let broken = epw.replacen("1983,1,1,3,60,flags,", "1983,1,1,3,60,flags,x", 1);
    assert!(
        told(&broken).contains("line 11") && told(&broken).contains("is not a temperature in C"),
        "{}",
        told(&broken)
    );
    let short = epw.replacen("1983,1,1,4,60,flags", "1983,1,1,4\n1983,1,1,4,60,flags", 1);
    assert!(told(&short).contains("line 12") && told(&short).contains("fields"), "{}", told(&short));
    let often = epw.replace("DATA PERIODS,1,1", "DATA PERIODS,1,4");
    assert!(told(&often).contains("several records an hour"));
    let csv = "time,temperature,humidity %\n2001-08-01 10:00,85,50\n";
    assert!(told(csv).contains("looks like Fahrenheit") && told(csv).contains("line 2"));
    assert!(told("a,b\n1,2\n").contains("no line names a column"));
    assert!(told("time,temperature C\n2001-08-01 10:00,20\n").contains("moisture"));
    let tmy3 = "1,\"X\",NC,-5,36,-80,273\nDate (MM/DD/YYYY),Time (HH:MM),GHI (W/m^2),Dry-bulb (C),Dew-point (C),RHum (%),Wspd (m/s)\n01/01/1988,25:00,0,1,0,90,2\n";
    assert!(told(tmy3).contains("line 3") && told(tmy3).contains("24:00"), "{}", told(tmy3));
}

#[test]
fn normals_have_the_mean_the_tail_and_the_moisture_that_are_typed() {
    let found =
        Normals::read("low 14 C, high 26 C; one day in ten above 31 C; muggy").unwrap().days(Air::SEA_LEVEL);
    let highs: Vec<f64> = found.days.iter().map(|d| d.high_c).collect();
    let mean = highs.iter().sum::<f64>() / highs.len() as f64;
    let above = highs.iter().filter(|h| **h > 31.0).count();
    assert!((mean - 26.0).abs() < 1e-6 && (9..=11).contains(&above), "{mean} {above}");
    // Dry is what is assumed, and drier air is what is safe to assume.
    let assumed = Normals::read("low 14, high 26").unwrap().days(Air::SEA_LEVEL);
    let moisture = |d: &PossibleDays| d.days[50].climate.at(15.0).vapour_pressure;
    assert!(moisture(&assumed) < moisture(&found));
    assert_eq!(assumed.remarks.len(), 2, "{:?}", assumed.remarks);
    let hot = found.days.last().unwrap();
    assert!(
        hot.climate.at(15.0).vapour_pressure
            <= saturation_vapour_pressure(hot.climate.at(15.0).temperature_c)
    );
}

#[test]
fn a_forecast_narrows_the_days_as_the_day_comes_near() {
    let season = || {
        Normals::read("low 14 C, high 26 C; one day in ten above 31 C; muggy").unwrap().days(Air::SEA_LEVEL)
    };
    let moments = |d: &PossibleDays| {
        let n = d.days.len() as f64;
        let mean = d.days.iter().map(|d| d.high_c).sum::<f64>() / n;
        (mean, (d.days.iter().map(|d| (d.high_c - mean).powi(2)).sum::<f64>() / n).sqrt())
    };
    let (_, sd) = moments(&season());
    for (lead, ratio) in [(1, 0.40), (7, 0.76)] {
        let (mean, narrow) = moments(&forecast(season(), 32.0, lead));
        assert!((narrow / sd - ratio).abs() < 1e-6, "{lead}: {narrow} of {sd}");
        let drawn = if lead >= 5 { 26.0 + 6.0 * (1.0 - ratio * ratio).sqrt() } else { 32.0 };
        assert!((mean - drawn).abs() < 1e-6, "{lead}: {mean}");
    }
    assert_eq!(moments(&forecast(season(), 32.0, 11)).1, sd, "beyond ten days only the season counts");
}

/// The template with the air of its first space given in another way.
fn event_with(air: &str) -> String {
    let begin = TEMPLATE.find("[[space]]").expect("a space");
    let rest = &TEMPLATE[begin..];
    let name = rest.lines().find(|l| l.starts_with("name")).expect("a name");
    let end = rest[2..].find("\n[").map_or(rest.len(), |i| i + 2);
    format!("{}[[space]]\n{name}\n{air}\n{}", &TEMPLATE[..begin], &rest[end..])
}

#[test]
fn an_event_meets_the_days_of_its_weather() {
    let epw = typical_year();
    let read = |air: &str| {
        Event::read("e.toml", &event_with(air), &|name| {
            if name == "nowhere.epw" { Ok(epw.clone()) } else { Err(std::io::Error::other(name.to_string())) }
        })
    };
    let event = read("weather = \"nowhere.epw\"\nsun = \"shade\"").unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(event.met.len(), event.spaces[0].climate.days().len());
    assert!(event.met.len() >= 100);
    assert!(event.spaces[0].climate.days().iter().all(|d| d.at(14.0).sun == 0.0));
    assert!(event.assumptions.iter().any(|a| a.contains("clock_ahead")), "{:?}", event.assumptions);
    let hour = |air: &str| read(air).unwrap().spaces[0].climate.days()[50].at(18.0).temperature_c;
    let same = hour("weather = \"nowhere.epw\"\nclock_ahead = \"0 h\"");
    assert!(same != hour("weather = \"nowhere.epw\"\nclock_ahead = \"2 h\""));
    let normal = read("normals = \"low 14 C, high 26 C; one day in ten above 31 C; middling\"").unwrap();
    assert_eq!(normal.met.len(), 100);
    let barn = read("normals = \"low 14 C, high 26 C\"\n[space.building]\nbuilt = \"timber\"\nfloor_area = \"200 m2\"\nheight = \"6 m\"").unwrap();
    let inside = &barn.spaces[0].climate;
    assert_eq!(inside.days().len(), 100);
    let high = |d: usize| inside.on_day(d).at(16.0).temperature_c;
    assert!(high(0) < high(50) && high(50) < high(99), "a hot day is hot inside");
    for (air, what) in [
        ("weather = \"none.epw\"", "cannot be read"),
        ("normals = \"high 26 C\"", "the low is missing"),
        ("normals = \"low 14, high 26\"\nforecast = \"31 C\"", "forecast_days"),
        ("weather = \"nowhere.epw\"\nclock_ahead = \"noon\"", "hours, such as 1 h"),
        ("room = \"warm barn\"\nforecast = \"31 C\"", "changes nothing"),
    ] {
        let error = read(air).unwrap_err().to_string();
        assert!(error.contains(what), "{error}");
    }
}

/// Values of real files by another reader, pvlib 0.16.1 (BSD-3), whose package has the TMY3 files; diyepw 1.3.1 (BSD-2) has
/// the EPW files. `HEADWATER_WEATHER` names a folder with those files; what is not there is not compared.
#[test]
fn real_files_read_as_another_reader_reads_them() {
    let Some(folder) = std::env::var_os("HEADWATER_WEATHER").map(PathBuf::from) else {
        eprintln!(
            "skipped: HEADWATER_WEATHER names no folder with the files of reference-data/checks/weather.csv"
        );
        return;
    };
    let mut read: BTreeMap<String, Option<Weather>> = BTreeMap::new();
    let mut compared = 0;
    for row in csv::Reader::from_path("reference-data/checks/weather.csv").unwrap().records() {
        let row = row.unwrap();
        let weather = read.entry(row[0].to_string()).or_insert_with(|| {
            let bytes = std::fs::read(folder.join(&row[0])).ok().filter(|_| !row[0].ends_with(".tm2"))?;
            let text: String = bytes.iter().map(|b| char::from(*b)).collect();
            Some(Weather::read(&row[0], &text).unwrap_or_else(|e| panic!("{e}")))
        });
        let Some(weather) = weather else { continue };
        let quantity = |r: &Reading| match &row[5] {
            "dry_bulb" => Some(r.temperature_c),
            "dew_point" => Some(r.dew_point_c),
            "ghi" => r.sun,
            "wind_speed" => r.wind,
            _ => None,
        };
        let date = |d: &Day| format!("{:02}/{:02}/{}", d.date.month(), d.date.day(), d.date.year());
        let of_month = |d: &&Day| format!("{:02}", d.date.month()) == row[3];
        let max = |d: &Day| d.readings.iter().filter_map(quantity).fold(f64::NEG_INFINITY, f64::max);
        let min = |d: &Day| d.readings.iter().filter_map(quantity).fold(f64::INFINITY, f64::min);
        let mean = |all: Vec<f64>| all.iter().sum::<f64>() / all.len() as f64;
        let day = weather.days.iter().find(|d| date(d) == row[3]);
        let found = match &row[2] {
            "hour" => day.and_then(|d| quantity(d.readings.iter().find(|r| r.hour.to_string() == row[4])?)),
            "day_max" => day.map(max),
            "day_min" => day.map(min),
            "month_mean" => Some(mean(
                weather
                    .days
                    .iter()
                    .filter(of_month)
                    .flat_map(|d| d.readings.iter().filter_map(quantity))
                    .collect(),
            )),
            "month_mean_daily_max" => Some(mean(weather.days.iter().filter(of_month).map(max).collect())),
            "month_mean_daily_min" => Some(mean(weather.days.iter().filter(of_month).map(min).collect())),
            "year_sum" => {
                Some(weather.days.iter().flat_map(|d| d.readings.iter().filter_map(quantity)).sum())
            }
            _ => None,
        };
        let Some(found) = found.filter(|f| f.is_finite()) else { continue };
        let wanted: f64 = row[6].parse().unwrap();
        assert!((found - wanted).abs() < 1e-3 * wanted.abs().max(1.0), "{row:?}: {found}");
        compared += 1;
    }
    println!("{compared} values compared, within {WITHIN_DAYS} days of no date");
    assert!(compared > 20, "{compared} values");
}
