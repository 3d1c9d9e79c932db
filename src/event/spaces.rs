//! The climates of an event's spaces: typed, in plain words, outdoors, from a logger, or worked out for a building.

use super::logged::logged;
use super::read::{Found, Section};
use super::typed::{read_hour, typed};
use super::{building, cooling};
use crate::climate::room::Room;
use crate::climate::{Air, Climate, ClimateError, outdoor_day, sun};
use crate::error::Problem;
use crate::units::{AirSpeed, Humidity, Scale, Sunshine, Temperature, Warming};

/// What a space's climate may depend on.
pub struct Venue<'a> {
    pub pressure: f64,
    pub date: jiff::civil::Date,
    pub latitude: f64,
    pub span: (f64, f64),
    pub load: &'a dyn Fn(&str) -> std::io::Result<String>,
}

/// A climate, and what to tell of it.
pub struct Read {
    pub climate: Climate,
    pub from: String,
    pub assumptions: Vec<String>,
    pub scale: Option<Scale>,
}

/// The ways of giving a climate, by their keys.
const KINDS: [&str; 6] = ["room", "low", "high", "log", "hour", "temperature"];

/// Reads the climate of one `[[space]]`; `None` where it is wrong, the problems remembered.
pub fn climate(section: &Section, name: &str, venue: &Venue) -> Option<Read> {
    let outdoors = section.flag("outdoors");
    let speed = section.quantity::<AirSpeed>("air_speed").map(|s| s.value.metres_per_second);
    let sun = sunshine(section, venue);
    let error = section.quantity::<Warming>("give_or_take").map(|w| w.value.kelvin);
    let cooling = cooling::hours(section, name);
    let building = building::plan(section);
    let mut read = given(section, name, venue)?;
    let building = building.ok()?;
    let guests = section.sections("guests");
    if let (None, Some(first)) = (&building, guests.first()) {
        let problem = Problem::new(format!("the guests of \"{name}\" change nothing: its air is given"))
            .expected("[[space.guests]] only with [space.building], whose air is worked out")
            .help("add [space.building] and under it built, floor_area and height, or take the guests out");
        section.source.wrong(first.span.clone(), problem);
        return None;
    }
    if let (Some(building), Some(_)) = (&building, cooling)
        && !building.is_cooled()
    {
        let problem = Problem::new(format!("nothing cools \"{name}\", and its cooling has hours"))
            .expected("`cooling` in [space.building]: the temperature that it is set to")
            .help("add cooling = \"22 C\" to [space.building], or take cooling_off and cooling_on out");
        section.source.wrong(section.place_of("cooling_off"), problem);
        return None;
    }
    if building.is_some() && !outside(section) {
        return None;
    }
    if let Some(sun) = &sun {
        read.climate = read.climate.hourly().map(|hour, air| Air { sun: sun(hour), ..air });
    }
    if let Some(building) = building {
        if sun.is_none() && (0..24).all(|h| read.climate.at(f64::from(h)).sun == 0.0) {
            let clear = |hour: f64| sun::clear_sky_at(venue.date, venue.latitude, hour);
            read.climate = read.climate.hourly().map(|hour, air| Air { sun: clear(hour), ..air });
            read.assumptions.push(format!(
                "\"{name}\": the sun shines on its roof all day: sun = \"half\" or \"shade\" if not"
            ));
        }
        read = building.inside(read, cooling, name, venue);
    } else if let Some(hours) = cooling {
        read.climate = cooling::drifting(read.climate, hours, section, name, &mut read.assumptions);
    }
    if let Some(speed) = speed {
        read.climate = read.climate.map(|_, air| Air { speed, ..air });
    }
    if let Some(outdoors) = outdoors {
        read.climate = read.climate.map(|_, air| Air { outdoors, ..air });
    }
    if let Some(kelvin) = error {
        read.climate.error.kelvin = kelvin.abs();
    }
    Some(read)
}

/// The one climate that a space gives, before the sun on it and the like.
fn given(section: &Section, name: &str, venue: &Venue) -> Option<Read> {
    let hours = section.sections("hour");
    let log = section.text("log");
    let room = section.text("room");
    let (low, high) = (section.quantity::<Temperature>("low"), section.quantity::<Temperature>("high"));
    let humidity = section.quantity::<Humidity>("humidity");
    let same = section.quantity::<Temperature>("temperature");
    let moisture_elsewhere = section.has("moisture_of"); // read by the caller, once all spaces are known
    let day = low.is_some() || high.is_some();
    let given = [!hours.is_empty(), log.is_some(), room.is_some(), day, same.is_some()];
    let count = given.iter().filter(|g| **g).count();
    section.has("log_day"); // known with or without a log
    if count != 1 {
        for hour in &hours {
            read_hour(hour, true); // for its own problems
        }
        // A misspelt or wrong value is a problem already told.
        let told = section.misspells(&KINDS) || KINDS.into_iter().any(|key| section.has(key));
        if count > 1 || !told {
            section.source.wrong(section.span.clone(), not_one(section, name, count));
        }
        return None;
    }
    if !given[3] && !given[4] {
        unused(section, name, "humidity", "low and high, or with temperature");
    }
    if !given[1] {
        unused(section, name, "log_day", "log");
    }
    if let Some(Found { value, span }) = room {
        let room = Room::find(&value).map_err(|p| section.source.wrong(span, p)).ok()?;
        let daylight = |hour: f64| sun::clear_sky_share(venue.date, venue.latitude, hour);
        return Some(Read {
            climate: room.climate(venue.pressure, daylight),
            from: format!("{}: estimate from the words, from memory", room.words),
            assumptions: Vec::new(),
            scale: None,
        });
    }
    if let Some(log) = log {
        return logged(section, name, log, venue);
    }
    if !hours.is_empty() {
        return typed(section, name, &hours, venue, moisture_elsewhere);
    }
    if humidity.is_none() && !section.has("humidity") {
        let when = if day { "in the afternoon" } else { "at all hours" };
        section.missing("humidity", &format!("the relative humidity {when}"), "\"55 %\"");
    }
    let humidity = humidity.map(|h| h.value);
    match same {
        Some(same) => constant(same.value, humidity?, venue),
        None => a_day(section, low, high, humidity, venue),
    }
}

/// A space with no climate, or with several.
fn not_one(section: &Section, name: &str, count: usize) -> Problem {
    let how_many = if count == 0 { "none".to_string() } else { count.to_string() };
    let help = match count {
        0 if section.has("building") => {
            "add low = \"14 C\", high = \"26 C\" and humidity = \"50 %\": the day outside"
        }
        0 => "add room = \"warm barn\"",
        _ => "keep the one you trust most, and take the others out",
    };
    Problem::new(format!("the space \"{name}\" needs one climate, and has {how_many}"))
        .expected("one of: room (plain words), temperature and humidity (at all hours), low/high/humidity (a day), [[space.hour]] (typed), log (a CSV)")
        .help(help)
}

/// A key that does nothing here.
fn unused(section: &Section, name: &str, key: &'static str, with: &str) {
    if section.has(key) {
        let problem = Problem::new(format!("`{key}` changes nothing in the space \"{name}\""))
            .expected(format!("`{key}` only together with {with}"))
            .help(format!("take {key} out, or give the climate with {with}"));
        section.source.wrong(section.place_of(key), problem);
    }
}

/// The same air at all hours.
fn constant(temperature: Temperature, humidity: Humidity, venue: &Venue) -> Option<Read> {
    let rh = humidity.percent / 100.0;
    let air = Air { pressure: venue.pressure, ..Air::still(temperature.celsius, rh) };
    Some(Read {
        climate: Climate::constant(air, ClimateError::TYPED),
        from: format!("typed, {temperature} at all hours"),
        assumptions: Vec::new(),
        scale: Some(temperature.scale),
    })
}

/// A day from its low, its high and its humidity in the afternoon.
fn a_day(
    section: &Section,
    low: Option<Found<Temperature>>,
    high: Option<Found<Temperature>>,
    humidity: Option<Humidity>,
    venue: &Venue,
) -> Option<Read> {
    let (Some(low), Some(high)) = (low, high) else {
        for (key, what, example) in [
            ("low", "the coolest of the day, in C or F", "\"14 C\""),
            ("high", "the warmest of the day, in C or F", "\"26 C\""),
        ] {
            if !section.has(key) {
                section.missing(key, what, example);
            }
        }
        return None;
    };
    let humidity = humidity?;
    let (low_c, high_c) = (low.value.celsius, high.value.celsius);
    if low_c > high_c {
        let problem = Problem::new(format!("the low of {} is above the high of {}", low.value, high.value))
            .expected("the coolest and the warmest of the day")
            .help("swap low and high");
        section.source.wrong(low.span, problem);
        return None;
    }
    Some(Read {
        climate: outdoor_day(low_c, high_c, humidity.percent / 100.0, 0.5, venue.pressure, |_| 0.0),
        from: format!("a day of {} to {}, {humidity} in the afternoon", low.value, high.value),
        assumptions: Vec::new(),
        scale: Some(high.value.scale),
    })
}

/// Whether a space with a building gives the air outside it, and nothing that only makes sense without one.
fn outside(section: &Section) -> bool {
    let before = section.source.problems.borrow().len();
    if let Some(Found { value, span }) = section.text("room")
        && Room::find(&value).is_ok_and(|room| !room.is_outdoors())
    {
        let problem = Problem::new(format!("\"{value}\" is not the air outside a building"))
            .expected(
                "with [space.building]: low, high and humidity of the day outside, a log, or an outdoor room",
            )
            .help("room = \"outdoor shade\"");
        section.source.wrong(span, problem);
    }
    for key in ["outdoors", "moisture_of"] {
        if section.has(key) {
            let problem = Problem::new(format!("`{key}` goes against [space.building]"))
                .expected("the one or the other: the air of a building is worked out from the air outside")
                .help(format!("take {key} out"));
            section.source.wrong(section.place_of(key), problem);
        }
    }
    section.source.problems.borrow().len() == before
}

/// Sunshine by the hour of the day.
fn sunshine(section: &Section, venue: &Venue) -> Option<Box<dyn Fn(f64) -> f64>> {
    let Found { value, span } = section.text("sun")?;
    let (date, latitude) = (venue.date, venue.latitude);
    let clear = move |hour: f64| sun::clear_sky_at(date, latitude, hour);
    match value.trim().to_lowercase().as_str() {
        "shade" | "none" | "0" => Some(Box::new(|_| 0.0)),
        "full" | "full sun" => Some(Box::new(clear)),
        "half" | "dappled" | "part" => Some(Box::new(move |hour| 0.5 * clear(hour))),
        other => match other.parse::<Sunshine>() {
            Ok(sun) => Some(Box::new(move |_| sun.watts_per_square_metre)),
            Err(e) => {
                let problem = Problem::new(format!("`sun` cannot be {value:?}"))
                    .expected(format!("shade, half, full, or {}", e.expected))
                    .help("sun = \"shade\"");
                section.source.wrong(span, problem);
                None
            }
        },
    }
}
