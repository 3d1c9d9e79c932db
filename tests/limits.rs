//! What is large, rare or strange, and yet allowed: done right, or refused in clear words.

mod common;

use headwater::calibrate::notebook::Notebook;
use headwater::climate::Air;
use headwater::climate::record::Record;
use headwater::decide::plan::{Settings, plan};
use headwater::error::Error;
use headwater::event::{Event, MOST_ORDERS, MOST_SPACES, TEMPLATE};
use headwater::report::facts::Facts;
use headwater::report::render::{calendar, json, terminal};
use headwater::report::sections;
use jiff::civil::{Date, date};
use std::cell::Cell;
use std::fmt::Write;

fn read(text: &str, log: &str) -> Result<Event, Error> {
    Event::read("event.toml", text, &|_| Ok(log.to_string()))
}

/// An event of so many pieces with a flower each.
fn of_pieces(n: usize) -> String {
    let mut text = TEMPLATE[..TEMPLATE.find("[[piece]]").expect("a piece")].to_string();
    for i in 0..n {
        write!(text, "[[piece]]\nname = \"table {i}\"\nspace = \"barn\"\n[[piece.flower]]\nflower = \"dahlia\"\nheads = 9\n")
            .expect("text grows");
    }
    text
}

#[test]
fn ten_thousand_pieces_are_refused_with_a_way_out() {
    let error = read(&of_pieces(10_000), "").expect_err("too many").to_string();
    assert!(
        error.contains("10000 flowers") && error.contains("alike") && error.matches("problem:").count() == 1,
        "{error}"
    );
    assert!(read(&of_pieces(MOST_ORDERS), "").is_ok());
    assert!(read(&of_pieces(MOST_ORDERS + 1), "").is_err());
}

/// Whatever a long file is full of, it is refused in about the time that it takes to read: a reader whose time grew with the
/// square of the length would be at this for hours.
#[test]
fn long_files_full_of_one_mistake_are_refused() {
    let long = |line: &dyn Fn(usize) -> String| -> String {
        let mut text = String::new();
        for i in 0.. {
            text += &line(i);
            if text.len() > headwater::web::LONGEST {
                break;
            }
        }
        text
    };
    let head = of_pieces(0);
    for (what, body) in [
        ("unknown keys", long(&|i| format!("k{i} = 1\n"))),
        ("unknown sections", long(&|i| format!("[s{i}]\n"))),
        ("spaces", long(&|i| format!("[[space]]\nname = \"s{i}\"\n"))),
        ("pieces in no space", long(&|i| format!("[[piece]]\nspace = \"s{i}\"\n"))),
        ("unknown flowers", long(&|i| format!("[[piece]]\n[[piece.flower]]\nflower = \"f{i}\"\n"))),
        ("one line", format!("[[piece]]\nnear = [{}]\n", long(&|i| format!("\"w{i}\", ")))),
        ("access", long(&|_| "[[access]]\nfrom = \"10:00\"\nto = \"9:00\"\n".to_string())),
        ("marks", format!("[marks]\n{}", long(&|i| format!("m{i} = \"25:00\"\n")))),
        ("brackets", long(&|_| "[".to_string())),
        ("tables in tables", format!("a = {}", long(&|_| "{a=".to_string()))),
        ("dots", long(&|_| "a.".to_string())),
        ("quotes", long(&|_| "\"".to_string())),
        ("backslashes", format!("a = \"{}", long(&|_| "\\".to_string()))),
        ("no lines", long(&|_| "\r".to_string())),
    ] {
        let error = took(what, || read(&(head.clone() + &body), "")).expect_err(what).to_string();
        assert!(error.len() < 100_000, "{what}: {} bytes", error.len());
    }
    let spaces = |n: usize| {
        head.clone()
            + &(0..n)
                .map(|i| format!("[[space]]\nname = \"s{i}\"\nroom = \"warm barn\"\n"))
                .collect::<String>()
    };
    assert!(read(&spaces(MOST_SPACES), "").expect_err("a space more").to_string().contains("201 spaces"));
    for (what, body) in [
        ("lines of nothing", long(&|_| "x\n".to_string())),
        ("quotes", long(&|_| "\"\n".to_string())),
        ("one line", long(&|_| "2027-08-07 10:00,".to_string())),
        ("one time", long(&|_| "2027-08-07 10:00,20,50\n".to_string())),
    ] {
        took(what, || Record::read("log.csv", &format!("time,temperature,humidity\n{body}")))
            .expect_err(what);
    }
    let columns = "entry,trial,date,at,flower,heads,air,weight\n";
    for (what, reads, body) in [
        ("trials", true, long(&|i| format!("start,{},2027-06-13,09:00,rose,10,21 C 45 %,\n", i + 1))),
        (
            "trials of one number",
            false,
            long(&|_| "start,1,2027-06-13,09:00,rose,10,21 C 45 %,\n".to_string()),
        ),
        (
            "looks that count nothing",
            true,
            "start,1,2027-06-13,09:00,rose,10,21 C 45 %,\n".to_string()
                + &long(&|i| {
                    format!(
                        "look,1,,{} days later {:02}:{:02},,,,{} g\n",
                        2 + i / 1440,
                        i / 60 % 24,
                        i % 60,
                        i + 1
                    )
                }),
        ),
        ("columns", false, long(&|_| "start,".to_string())),
    ] {
        let text = format!("{columns}{body}");
        let read = took(what, || Notebook::read("trials.csv", &text, &|_| unreachable!("it names no log")));
        assert_eq!(read.is_ok(), reads, "{what}");
    }
}

#[test]
fn a_log_that_many_trials_name_is_read_once() {
    let log = readings(date(2027, 6, 1), 30, 15);
    let mut text = "entry,trial,date,at,flower,heads,air,presentable\n".to_string();
    for i in 1..=300 {
        let day = 1 + i % 28;
        write!(text, "start,{i},2027-06-{day:02},09:00,rose,10,summer.csv,\nlook,{i},,12:00,,,,7\n")
            .expect("text grows");
    }
    let fetched = Cell::new(0);
    let load = |name: &str| {
        assert_eq!(name, "summer.csv");
        fetched.set(fetched.get() + 1);
        Ok(log.clone())
    };
    let notes =
        took("300 trials of one log", || Notebook::read("trials.csv", &text, &load)).expect("it reads");
    assert_eq!((fetched.get(), notes.trials.len()), (1, 300));
    // A second log is another, and one that is not there is asked for once.
    fetched.set(0);
    let missing = |_: &str| {
        fetched.set(fetched.get() + 1);
        Err(std::io::Error::from(std::io::ErrorKind::NotFound))
    };
    let two = text.replacen("summer.csv", "other.csv", 1);
    let error = Notebook::read("trials.csv", &two, &missing).expect_err("there is no log");
    assert_eq!((fetched.get(), error.problems.len()), (2, 20)); // problems end at twenty
}

/// What came of some work; how long it took is printed, for whoever looks.
fn took<R>(what: &str, work: impl FnOnce() -> R) -> R {
    let start = std::time::Instant::now();
    let result = work();
    println!("{what}: {:.1?}", start.elapsed());
    result
}

#[test]
fn thirty_tables_are_planned() {
    let plan =
        plan(read(&of_pieces(30), "").expect("an event"), Settings { lots: 32, ..Settings::default() })
            .expect("a plan");
    assert_eq!(plan.event.pieces.len(), 30);
    assert!(plan.orders.iter().all(|f| f.count.p50 <= f64::from(f.heads)));
}

/// Readings every so many minutes from a midnight on, one for each minute of the clock that `shown` lets through.
fn readings(from: Date, days: i32, minutes: i32) -> String {
    let mut text = "time,temperature C,humidity %\n".to_string();
    let start = from.to_datetime(jiff::civil::Time::midnight());
    for i in 0..days * 24 * 60 / minutes {
        let time = start.checked_add(jiff::Span::new().minutes(i64::from(i * minutes))).expect("a time");
        // A day's warmth, and a little more each day, so that one day is told from another.
        let warm = 15.0
            + 8.0 * (f64::from(time.hour()) / 24.0 * std::f64::consts::TAU).sin()
            + f64::from(i * minutes / 1440) * 0.01;
        writeln!(text, "{} {:02}:{:02},{warm:.3},55", time.date(), time.hour(), time.minute())
            .expect("text grows");
    }
    text
}

#[test]
fn three_years_of_readings_every_five_minutes_are_read() {
    let log = readings(date(2025, 1, 1), 3 * 365, 5);
    assert_eq!(log.lines().count(), 1 + 3 * 365 * 288);
    let record = Record::read("log.csv", &log).expect("a log");
    assert_eq!(record.last_whole_day(), Some(date(2027, 12, 31)));
    let day = date(2026, 6, 21);
    let climate = record.climate(day, -8.0, 30.0, Air::SEA_LEVEL, 0.1, false).unwrap();
    let since = f64::from(365 + 171);
    for (hour, wave) in [(6.0, 8.0), (12.0, 0.0), (18.0, -8.0)] {
        let expected = 15.0 + wave + since * 0.01;
        assert!((climate.at(hour).temperature_c - expected).abs() < 1e-6, "{hour}: {:?}", climate.at(hour));
    }
    // Of all that, what is kept is the days around the event.
    assert!(format!("{climate:?}").matches("temperature_c").count() < 20 * 288);
    let text = TEMPLATE.replace("room = \"warm barn\"", "log = \"log.csv\"\nlog_day = 2026-06-21");
    let event = read(&text, &log).expect("an event");
    assert!((event.spaces[0].climate.at(12.0).temperature_c - 15.0 - since * 0.01).abs() < 1e-6);
}

/// Every reading too far from the last: as many problems as help, and not one for each of thousands of lines.
#[test]
fn a_log_with_ten_thousand_gaps_is_refused_once() {
    let log = readings(date(2025, 1, 1), 3 * 365, 120);
    let error = Record::read("log.csv", &log).expect_err("gaps");
    assert!(error.problems.len() <= 20 && error.to_string().contains("gap of 2 h"), "{error}");
}

/// The nights in which clocks are put forward and back in central Europe in 2027 (Directive 2000/84/EC: the last Sundays of
/// March and October, at 01:00 world time).
#[test]
fn nights_in_which_the_clock_changes_are_refused_in_clear_words() {
    let day = |d: Date| readings(d, 1, 30);
    let spring: String =
        day(date(2027, 3, 28)).lines().filter(|l| !l.contains(" 02:")).map(|l| format!("{l}\n")).collect();
    let error = Record::read("log.csv", &spring).expect_err("a gap").to_string();
    assert!(error.contains("gap of 1 h 30 min") && error.contains("clocks went forward"), "{error}");
    let autumn = day(date(2027, 10, 31))
        .replace("2027-10-31 03:00", "2027-10-31 02:00,14,55\n2027-10-31 02:30,14,55\n2027-10-31 03:00");
    let error = Record::read("log.csv", &autumn).expect_err("a doubled hour").to_string();
    assert!(error.contains("not after the one before") && error.contains("clocks went back"), "{error}");
    // With the doubled hour out, the rest is read.
    assert!(Record::read("log.csv", &day(date(2027, 10, 31))).is_ok());
}

/// An event around a night in which clocks change (Directive 2000/84/EC; in North America the Energy Policy Act of 2005,
/// section 110: the second Sunday of March and the first of November) is planned, and told what to write. With it written so,
/// the hours between set-up and event are those that pass by a clock of no summer time, as jiff's offsets count them.
#[test]
fn an_event_around_a_change_of_clocks_is_told_what_to_write() {
    let told = |day: &str, from: &str, end: &str, latitude: &str| {
        let text = TEMPLATE
            .replace("2027-08-14", day)
            .replace(
                "from = \"day before 17:00\"\nto = \"day before 20:00\"\n\n[[access]]\nfrom = \"10:00\"",
                &format!("from = \"{from}\""),
            )
            .replace("end = \"23:00\"", &format!("end = \"{end}\""))
            .replace("[event]\n", &format!("[event]\n{latitude}\n"));
        let event = read(&text, "").expect("an event");
        event.assumptions.into_iter().filter(|a| a.contains("clocks go")).collect::<Vec<_>>()
    };
    for (day, turned, side, shift) in [
        ("2026-10-25", "back", "before", "earlier"),
        ("2027-03-28", "forward", "before", "later"),
        ("2026-11-01", "back", "before", "earlier"),
        ("2027-03-14", "forward", "before", "later"),
    ] {
        let lines = told(day, "day before 18:00", "23:00", "");
        assert!(
            lines.len() == 1
                && lines[0].contains(&format!("clocks go {turned} an hour in the night to Sunday {day}"))
                && lines[0].contains(&format!("each time {side} it an hour {shift}")),
            "{day}: {lines:?}"
        );
        // The day itself and the night before the night are as they are; so is that night in the other half of the world.
        assert!(told(day, "09:00", "23:00", "").is_empty());
        assert!(told(day, "day before 18:00", "23:00", "latitude = -35").is_empty());
    }
    let lines = told("2026-10-24", "09:00", "next day 04:00", "latitude = 52");
    assert!(lines.len() == 1 && lines[0].contains("each time after it an hour later"), "{lines:?}");
    assert!(told("2026-10-24", "09:00", "next day 01:30", "").is_empty());
    assert!(told("2027-08-14", "day before 18:00", "next day 04:00", "").is_empty());
    // Central Europe on 2026-10-25: set up at 18:00 in summer time (+02), doors at 17:00 in winter time (+01).
    let at = |text: &str| text.parse::<jiff::Timestamp>().expect("an instant");
    let passed = at("2026-10-25T17:00+01").duration_since(at("2026-10-24T18:00+02")).as_secs_f64() / 3600.0;
    let text = TEMPLATE
        .replace("2027-08-14", "2026-10-25")
        .replace("from = \"09:00\"", "from = \"day before 17:00\"");
    let event = read(&text, "").expect("an event");
    assert_eq!(event.doors - event.access[0].0, passed);
}

#[test]
fn times_of_other_clocks_are_refused_and_offsets_left_out() {
    let log = readings(date(2027, 8, 7), 1, 30);
    let world = log.replace(":00,", ":00:00Z,").replace(":30,", ":30:00Z,");
    let error = Record::read("log.csv", &world).expect_err("world time").to_string();
    assert!(error.contains("world's clock") && error.contains("local time"), "{error}");
    // The venue's own clock with its offset written after it is the venue's own clock.
    let offset = log.replace(":00,", ":00:00+02:00,").replace(":30,", ":30:00+02:00,");
    assert_eq!(
        Record::read("log.csv", &offset).expect("a log"),
        Record::read("log.csv", &log).expect("a log")
    );
}

/// The second put in at the end of 2016 (IERS Bulletin C 52), as a logger with seconds may write it.
#[test]
fn a_leap_second_is_no_trouble() {
    let log = "time,temperature C,humidity %\n2016-12-31 23:30:00,20,50\n2016-12-31 23:59:60,20,50\n2017-01-01 00:00:00,20,50\n";
    assert!(Record::read("log.csv", log).is_ok());
}

#[test]
fn harsh_air_that_may_be_written_is_planned() {
    for (air, altitude) in [
        ("temperature = \"-20 C\"\nhumidity = 1", "4500 m"),
        ("temperature = \"60 C\"\nhumidity = 1", "-400 m"),
        ("temperature = \"60 C\"\nhumidity = 100", "4500 m"),
        ("temperature = \"-20 C\"\nhumidity = 100\nair_speed = \"30 m/s\"", "0 m"),
        ("low = \"-20 C\"\nhigh = \"60 C\"\nhumidity = 1\nsun = \"1400\"", "4500 m"),
    ] {
        let text = TEMPLATE
            .replace("room = \"warm barn\"", air)
            .replace("# altitude = \"120 m\"", &format!("altitude = \"{altitude}\""));
        let plan = plan(common::event(&text), Settings { lots: 32, ..Settings::default() }).expect("a plan");
        let told = terminal::text(&sections::plan(&Facts::of(&plan)), 96);
        assert!(
            !told.contains("NaN") && plan.orders.iter().all(|f| f.count.p95 <= f64::from(f.heads)),
            "{told}"
        );
    }
}

#[test]
fn a_party_past_midnight_is_planned_on_the_days_it_takes() {
    let text = TEMPLATE
        .replace("end = \"23:00\"", "end = \"next day 03:00\"")
        .replace("doors = \"17:00\"", "doors = \"23:30\"")
        .replace("to = \"16:30\"", "to = \"23:00\"")
        .replace("until = \"22:00\"", "until = \"next day 02:30\"");
    let plan = plan(common::event(&text), Settings { lots: 32, ..Settings::default() }).expect("a plan");
    assert_eq!(plan.event.end, 27.0);
    assert!(plan.event.pieces.iter().any(|p| p.until > 24.0));
    let told = terminal::text(&sections::plan(&Facts::of(&plan)), 96);
    assert!(told.contains("end at 03:00 that night"), "{told}");
    let calendar =
        String::from_utf8(calendar::run_sheet(&Facts::of(&plan), "20270101T000000Z")).expect("text");
    assert!(calendar.contains("20270814T"), "{calendar}");
    // Without "next day" the end would lie before the doors, and that is told.
    let error =
        read(&text.replace("next day 03:00", "03:00"), "").expect_err("an end before the doors").to_string();
    assert!(error.contains("next day 03:00"), "{error}");
}

/// Days at the ends of the calendar that can be written.
#[test]
fn days_at_the_ends_of_the_calendar_are_planned_or_refused() {
    let mut planned = Vec::new();
    for day in ["-9999-01-01", "0000-01-01", "9999-12-31", "2028-02-29", "1900-01-01"] {
        let text = TEMPLATE.replace("2027-08-14", day).replace("end = \"23:00\"", "end = \"next day 02:00\"");
        match read(&text, "") {
            Ok(event) => {
                let plan = plan(event, Settings { lots: 32, ..Settings::default() }).expect("a plan");
                let facts = Facts::of(&plan);
                let told: serde_json::Value = serde_json::from_str(&json::plan(&facts)).expect("JSON");
                assert_eq!(told["date"], plan.event.date.to_string());
                let calendar =
                    String::from_utf8(calendar::run_sheet(&facts, "20270101T000000Z")).expect("text");
                assert!(calendar.contains("BEGIN:VEVENT"), "{calendar}");
                planned.push(day);
            }
            Err(error) => assert!(error.to_string().contains("date"), "{error}"),
        }
    }
    assert!(planned.contains(&"2028-02-29") && planned.contains(&"1900-01-01"), "{planned:?}");
}
