//! Where and when an event is: the sun of its place by the clock of its time zone, and nights in which clocks change.

mod common;

use headwater::climate::sun::Sky;
use headwater::event::{Event, TEMPLATE};
use headwater::report::clock::iso;
use jiff::civil::date;

/// The template on a day, with lines added to [event], set up the evening before.
fn around(day: &str, lines: &str) -> String {
    TEMPLATE.replace("2027-08-14", day).replace("[event]\n", &format!("[event]\n{lines}\n"))
}

fn read(text: &str) -> Event {
    Event::read("supper.toml", text, &|name| Err(std::io::Error::other(name))).expect("an event")
}

fn problem(text: &str) -> String {
    Event::read("supper.toml", text, &|name| Err(std::io::Error::other(name)))
        .expect_err("a problem")
        .to_string()
}

/// Directive 2000/84/EC, articles 2 and 3: at 01:00 universal time on the last Sunday of March and of October. Energy Policy
/// Act of 2005, section 110, with 15 U.S.C. 260a: at two by the local clock on the second Sunday of March and the first of
/// November. Standard Time Act 1987 (New South Wales), section 4: daylight saving begins at two of standard time on the first
/// Sunday of October.
#[test]
fn hours_pass_across_a_change_of_clocks_as_the_law_says() {
    for (zone, day, passed) in [
        ("Europe/Berlin", "2026-10-25", 25.0),
        ("Europe/London", "2027-03-28", 23.0),
        ("America/New_York", "2026-11-01", 25.0),
        ("America/Los_Angeles", "2027-03-14", 23.0),
        ("Australia/Sydney", "2027-10-03", 23.0),
        // No summer time in Queensland and Arizona; the change of Europe is none of theirs.
        ("Australia/Brisbane", "2027-10-03", 24.0),
        ("America/Phoenix", "2027-03-14", 24.0),
        ("America/New_York", "2026-10-25", 24.0),
    ] {
        let event = read(&around(day, &format!("time_zone = \"{zone}\"")));
        // From 17:00 of the evening before to the doors at 17:00.
        assert_eq!(event.doors - event.access[0].0, passed, "{zone}, {day}");
        let written = iso(&event, event.access[0].0);
        assert!(written.ends_with("T17:00"), "{zone}, {day}: {written}");
        assert_eq!(iso(&event, event.doors), format!("{day}T17:00"));
        let told = event.assumptions.iter().any(|a| a.contains("clocks go"));
        assert!(!told, "nothing is left to write otherwise: {:?}", event.assumptions);
    }
}

#[test]
fn the_night_after_an_event_has_the_hours_that_pass() {
    let text =
        around("2026-10-24", "time_zone = \"Europe/Berlin\"").replace("\"23:00\"", "\"next day 04:00\"");
    let event = read(&text);
    assert_eq!(event.end - event.doors, 12.0);
    assert_eq!(event.moment(event.end).to_string(), "next day 04:00");
    // An hour that the clock shows twice is its first.
    let twice = read(&text.replace("next day 04:00", "next day 02:30"));
    assert_eq!(twice.end - twice.doors, 9.5);
}

#[test]
fn a_time_that_the_clock_leaps_over_is_told_and_what_to_type_works() {
    let text =
        around("2027-03-27", "time_zone = \"Europe/Berlin\"").replace("\"23:00\"", "\"next day 02:30\"");
    let told = problem(&text);
    assert!(told.contains("never show next day 02:30") && told.contains("\"next day 03:30\""), "{told}");
    let event = read(&text.replace("next day 02:30", "next day 03:30"));
    assert_eq!(event.end - event.doors, 9.5);
}

/// So it is in the hours of a climate, two of which would else be one.
#[test]
fn a_reading_at_a_time_that_the_clock_leaps_over_is_told() {
    let hours = |middle: &str| {
        let hour = |at: &str| {
            format!("[[space.hour]]\nat = \"{at}\"\ntemperature = \"20 C\"\nhumidity = \"50 %\"\n")
        };
        let hours = ["day before 18:00", "00:30", middle].map(hour).concat();
        around("2027-03-28", "time_zone = \"Europe/London\"").replacen(
            "[[piece]]",
            &format!("[[space]]\nname = \"hall\"\n{hours}[[piece]]"),
            1,
        )
    };
    let told = problem(&hours("01:30"));
    assert!(told.contains("never show 01:30") && told.contains("\"02:30\""), "{told}");
    assert!(read(&hours("02:30")).spaces.iter().any(|space| space.name == "hall"));
    // Hours of every day are hours of no night in particular.
    read(&hours("01:30").replace("day before 18:00", "00:10"));
}

#[test]
fn a_place_that_is_wrong_is_told_with_what_to_type() {
    let told = problem(&around("2027-08-14", "time_zone = \"London\""));
    assert!(told.contains("time_zone = \"Europe/London\""), "{told}");
    let told = problem(&around("2027-08-14", "longitude = 181"));
    assert!(told.contains("-180 to 180"), "{told}");
    // 122 west, written without its sign.
    let far = "latitude = 47.6\nlongitude = 122.3\ntime_zone = \"America/Los_Angeles\"";
    assert!(problem(&around("2027-08-14", far)).contains("sign of the longitude"));
    read(&around("2027-08-14", &far.replace("122.3", "-122.3")));
}

/// Seville, 5.99 W, is 24.0 min behind Greenwich, and on 21 June the sun is 1.8 min behind the mean sun (equation of time,
/// Meeus 1998, chapter 28, table from memory), so by summer time, two hours ahead of Greenwich, it is highest at 14:25.8;
/// in Brisbane, 153.03 E, ten hours ahead, at 11:49.7. Haurwitz's clear sky on the elevations of those hours.
#[test]
fn the_sun_goes_by_the_clock_of_its_place() {
    let midnight = |text: &str| text.parse::<jiff::Timestamp>().expect("an instant").as_second() as f64;
    let at = |latitude_deg: f64, longitude: f64, midnight: f64| Sky {
        date: date(2027, 6, 21),
        latitude_deg,
        place: Some((longitude, midnight)),
    };
    let seville = at(37.39, -5.99, midnight("2027-06-21T00:00+02"));
    let brisbane = at(-27.47, 153.03, midnight("2027-06-21T00:00+10"));
    assert!((seville.noon() - (14.0 + 25.8 / 60.0)).abs() < 0.02, "{}", seville.noon());
    assert!((brisbane.noon() - (11.0 + 49.7 / 60.0)).abs() < 0.02, "{}", brisbane.noon());
    // Same height as many hours before noon as after it.
    for sky in [seville, brisbane] {
        assert!((sky.clear(sky.noon() - 3.0) / sky.clear(sky.noon() + 3.0) - 1.0).abs() < 0.01);
        assert_eq!(sky.share(sky.noon()), 1.0);
    }
    // At five in the afternoon the usual noon at one takes it to be lower than it is in the west of its zone, and higher in the east.
    let usual = |sky: Sky| Sky { place: None, ..sky }.clear(17.0);
    assert!(
        seville.clear(17.0) > 1.3 * usual(seville) && 5.0 * brisbane.clear(17.0) < usual(brisbane).max(50.0)
    );
}

#[test]
fn what_is_assumed_of_the_sun_is_said_and_ends_once_it_is_given() {
    let sunny = |lines: &str| {
        let text = around("2027-07-10", lines);
        let mut event = text.clone();
        event.push_str("\n[[space]]\nname = \"the lawn\"\nlow = \"14 C\"\nhigh = \"26 C\"\nhumidity = \"50 %\"\nsun = \"full\"\n");
        let event = read(&event);
        let told = event.assumptions.iter().find(|a| a.starts_with("the sun")).cloned();
        let lawn = event.spaces.iter().find(|s| s.name == "the lawn").expect("the lawn").climate.at(17.0).sun;
        (told.unwrap_or_default(), lawn)
    };
    let (nothing, _) = sunny("");
    assert!(
        nothing.contains("latitude 45") && nothing.contains("13:00") && nothing.contains("time_zone"),
        "{nothing}"
    );
    let (latitude, guessed) = sunny("latitude = 37.4");
    assert!(!latitude.contains("latitude 45") && latitude.contains("13:00"), "{latitude}");
    let (all, known) = sunny("latitude = 37.4\nlongitude = -6\ntime_zone = \"Europe/Madrid\"");
    assert!(all.is_empty() && known > 1.2 * guessed, "{all}: {known} for {guessed}");
}
