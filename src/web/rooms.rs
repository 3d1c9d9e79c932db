//! The card of the rooms: each with its air, in plain words or in any other way that the file can say it.

use super::sheet::{Sheet, button, edits, free_name, id, out};
use crate::climate::room::Room;
use crate::event::Event;
use crate::report::words::{capital, space};
use maud::{Markup, html};

/// The ways to say the air of a room, each with the keys that it takes.
const WAYS: [(&str, &[(&str, &str)]); 6] = [
    ("in plain words", &[("room", "warm barn")]),
    (
        "as a day outside",
        &[("low", "14 C"), ("high", "24 C"), ("humidity", "50 %"), ("sun", "half"), ("outdoors", "true")],
    ),
    ("the same at all hours", &[("temperature", "21 C"), ("humidity", "45 %")]),
    ("from a logger's file", &[("log", "logger.csv")]),
    ("as days like those of a record of weather", &[("weather", "town.epw")]),
    (
        "as days that are normal then",
        &[("normals", "low 14 C, high 26 C; one day in ten above 31 C; middling"), ("outdoors", "true")],
    ),
];
/// All keys that say the air of a room.
const AIR: [&str; 17] = [
    "room",
    "low",
    "high",
    "humidity",
    "sun",
    "outdoors",
    "temperature",
    "dew_point",
    "log",
    "log_day",
    "log_column",
    "log_dates",
    "weather",
    "clock_ahead",
    "normals",
    "forecast",
    "forecast_days",
];
/// Rooms that are no place for a piece.
const NOT_FOR_PIECES: [&str; 2] = ["cool store", "van"];

/// All rooms in a line; `said` is how many of the event's spaces the file names.
pub fn in_a_line(event: &Event, said: usize) -> String {
    let all: Vec<String> = event.spaces.iter().take(said).map(|s| space(event, s)).collect();
    let short = all.iter().map(|line| line.split(" (").next().unwrap_or(line).to_string());
    short.collect::<Vec<_>>().join(". ") + "."
}

/// The body of the card.
pub fn rooms(sheet: &Sheet) -> Markup {
    let all = sheet.draft.each("space");
    html! {
        @for path in &all { (room(sheet, path)) }
        details.more open[all.is_empty()] #more-rooms {
            summary { @if all.is_empty() { "What is the room like?" } @else { "Add another room" } }
            ul.tiles {
                @for room in Room::all().iter().filter(|r| !NOT_FOR_PIECES.iter().any(|n| r.words.starts_with(n) || r.words.contains("van"))) {
                    li {
                        button type="button" data-edit=(edits(&[
                            ("add:space", ""),
                            ("set:space.+.name", &free_name(sheet, &all, short_name(room))),
                            ("set:space.+.room", &room.words),
                        ])) {
                            b { (capital(&room.words)) }
                            span { (format!("{:.0} C, {} %", room.day_c, room.day_rh)) }
                        }
                    }
                }
            }
            p.small { "Afternoon temperature and humidity, measured or from memory: a reading of your own is better." }
        }
    }
}

/// A short name for a room.
fn short_name(room: &Room) -> &str {
    let short = room.aliases().find(|alias| !alias.contains(' '));
    short.or(room.aliases().next()).unwrap_or(&room.words)
}

/// One room.
fn room(sheet: &Sheet, path: &str) -> Markup {
    let of = |key: &str| format!("{path}.{key}");
    let has = |key: &str| sheet.draft.has(&of(key));
    let way = if has("room") {
        0
    } else if has("low") || has("high") {
        1
    } else if has("temperature") {
        2
    } else if has("weather") {
        4
    } else if has("normals") {
        5
    } else {
        3
    };
    let typed = sheet.draft.each(&of("hour"));
    let name = sheet.draft.get(&of("name"));
    html! {
        section.part aria-label=(name) {
            p.sen {
                "The " (sheet.text(&of("name"), "What you call the room", 12, "barn"))
                @if typed.is_empty() {
                    @match way {
                        0 => { " is like a " (sheet.listed(&of("room"), "What the room is like", 24, "rooms"))}
                        1 => {
                            " goes from " (sheet.text(&of("low"), "Coolest of the day", 5, "14 C")) " to "
                            (sheet.text(&of("high"), "Warmest of the day", 5, "26 C")) ", "
                            (sheet.text(&of("humidity"), "Humidity in the afternoon", 5, "50 %")) " in the afternoon, in "
                            (sheet.choice(&of("sun"), "Sun", &[("shade", "shade"), ("half", "half sun"), ("full", "full sun")])) ", "
                            (sheet.choice(&of("outdoors"), "Outdoors", &[("false", "indoors"), ("true", "outdoors")]))
                        }
                        2 => {
                            " has " (sheet.text(&of("temperature"), "Temperature", 5, "21 C")) " and "
                            (sheet.text(&of("humidity"), "Humidity", 5, "45 %")) " at all hours."
                        }
                        4 => {
                            " has a day like those in the file " (sheet.text(&of("weather"), "Record of weather", 16, "town.epw"))
                            ", clocks " (sheet.text(&of("clock_ahead"), "Clock ahead of the record", 5, "1 h")) " ahead"
                            (forecast(sheet, &of))
                        }
                        5 => {
                            " has a day of " (sheet.text(&of("normals"), "What is normal", 40, "low 14 C, high 26 C; one day in ten above 31 C; middling"))
                            (forecast(sheet, &of))
                        }
                        _ => {
                            " is as in the logger's file " (sheet.text(&of("log"), "Logger's file", 16, "barn.csv"))
                            " " input.unseen id={ (id(&of("log"))) "-file" } type="file" accept=".csv,text/csv" data-log=(of("log"));
                            label.button for={ (id(&of("log"))) "-file" } { "Choose or drop it here" }
                            ", its day " (sheet.day(&of("log_day"), "Day of the logger's file"))
                            ", its temperatures " (sheet.text(&of("log_column"), "Column of temperatures", 12, "Probe"))
                            ", its dates " (sheet.text(&of("log_dates"), "Order of day and month", 11, "day first"))
                        }
                    }
                }
                " " (out(path, &format!("the room {name}")))
            }
            @for hour in &typed {
                @let at = |key: &str| format!("{hour}.{key}");
                p.sen {
                    "At " (sheet.time(&at("at"), "Time of the reading", "15:00")) " it has "
                    (sheet.text(&at("temperature"), "Temperature then", 5, "24 C")) " and "
                    (sheet.text(&at("humidity"), "Humidity then", 5, "50 %")) " " (out(hour, "this reading"))
                }
                (sheet.told(&[hour, &at("at"), &at("temperature"), &at("humidity"), &at("dew_point")]))
            }
            @let keys: Vec<String> = AIR.iter().chain(&["name", "moisture_of", "cooling_off", "cooling_on", "give_or_take"])
                .map(|k| of(k)).collect();
            (sheet.told(&std::iter::once(path).chain(keys.iter().map(String::as_str)).collect::<Vec<_>>()))
            @if sheet.draft.has(&of("building")) { (building(sheet, path)) }
            details.more id={ "ways-" (path.replace('.', "-")) } {
                summary { "Say it another way" }
                p.row {
                    @for (i, (words, keys)) in WAYS.iter().enumerate() {
                        @if i != way || !typed.is_empty() {
                            @let gone: Vec<String> = AIR.iter().chain(&["hour"]).map(|k| format!("out:{}", of(k))).collect();
                            @let new: Vec<(String, &str)> = keys.iter().map(|(k, v)| (format!("set:{}", of(k)), *v)).collect();
                            @let all: Vec<(&str, &str)> = gone.iter().map(|g| (g.as_str(), ""))
                                .chain(new.iter().map(|(k, v)| (k.as_str(), *v))).collect();
                            (button(words, &all, &of(keys[0].0)))
                        }
                    }
                    @if !sheet.draft.has(&of("building")) {
                        (button("worked out from the building and its guests", &[
                            (&format!("set:{}", of("building.built")), "timber"),
                            (&format!("set:{}", of("building.floor_area")), "200 m2"),
                            (&format!("set:{}", of("building.height")), "5 m"),
                            (&format!("set:{}", of("building.air")), "doors open"),
                        ], &of("building.floor_area")))
                    }
                }
            }
        }
    }
}

/// The forecast for a room whose day is not known yet.
fn forecast(sheet: &Sheet, of: &impl Fn(&str) -> String) -> Markup {
    html! {
        "; forecast is " (sheet.text(&of("forecast"), "High that is forecast", 5, "not yet"))
        ", " (sheet.text(&of("forecast_days"), "Days ahead of the forecast", 3, "3")) " days ahead"
    }
}

/// The building of a room and its guests.
fn building(sheet: &Sheet, path: &str) -> Markup {
    let of = |key: &str| format!("{path}.building.{key}");
    let airs = [
        ("doors shut", "doors shut"),
        ("doors open", "doors open"),
        ("fans", "fans"),
        ("sides up", "sides up"),
    ];
    html! {
        p.sen {
            "That is the air outside. The building is "
            (sheet.choice(&of("built"), "How it is built", &[
                ("timber", "timber"), ("canvas", "canvas"), ("glass", "glass"), ("stone", "stone"), ("insulated", "insulated"),
            ]))
            ", " (sheet.text(&of("floor_area"), "Floor", 7, "200 m2")) " and "
            (sheet.text(&of("height"), "Height", 5, "5 m")) " high, with "
            (sheet.choice(&of("air"), "How air gets in", &airs))
            ", cooled to " (sheet.text(&of("cooling"), "Cooled to", 5, "not")) " "
            (out(&format!("{path}.building"), "the building"))
        }
        (sheet.told(&[&format!("{path}.building"), &of("built"), &of("floor_area"), &of("height"), &of("air"), &of("cooling"), &of("volume"), &of("heating"), &of("sun_in")]))
        @let guests = format!("{path}.guests");
        @for some in sheet.draft.each(&guests) {
            @let of = |key: &str| format!("{some}.{key}");
            p.sen {
                (sheet.number(&of("people"), "How many guests")) " guests from " (sheet.time(&of("from"), "Guests from", "16:00"))
                " to " (sheet.time(&of("to"), "Guests until", "23:00")) ", "
                (sheet.choice(&of("doing"), "What they do", &[("seated", "seated"), ("standing", "standing"), ("dancing", "dancing")]))
                " " (out(&some, "these guests"))
            }
            (sheet.told(&[&some, &of("people"), &of("from"), &of("to"), &of("doing"), &of("candles"), &of("air")]))
        }
        @let (doors, end) = (sheet.draft.get("event.doors"), sheet.draft.get("event.end"));
        p.row {
            (button("Add guests", &[
                (&format!("add:{guests}"), ""), (&format!("set:{guests}.+.from"), &doors), (&format!("set:{guests}.+.to"), &end),
                (&format!("set:{guests}.+.people"), "100"),
            ], &format!("{guests}.{}.people", sheet.draft.count(&guests))))
        }
    }
}
