//! The climate of one space: typed, in plain words, outdoors, from a logger, or worked out for a building.

use super::building::{self, Plan};
use super::cooling;
use super::hours::{read_hour, typed};
use super::log::logged;
use super::section::{Found, Section};
use super::site::{Site, SpaceClimate};
use super::weather::{WITH_DAYS, normal, recorded};
use crate::climate::room::Room;
use crate::climate::{Air, Climate, ClimateError, outdoor_day};
use crate::error::Problem;
use crate::units::{AirSpeed, Humidity, Scale, Sunshine, Temperature, Warming};

/// The keys under which a space may give its climate.
const KINDS: [&str; 8] = ["room", "low", "high", "log", "hour", "temperature", "weather", "normals"];

/// Reads the climate of one `[[space]]`; `None` where it is wrong, the problems remembered.
pub fn climate(section: &Section, name: &str, site: &Site) -> Option<SpaceClimate> {
    let outdoors = section.flag("outdoors");
    let speed = section.quantity::<AirSpeed>("air_speed").map(|s| s.value.metres_per_second);
    let sun = sunshine(section);
    let error = section.quantity::<Warming>("give_or_take").map(|w| w.value.kelvin);
    let cooling = cooling::hours(section, name);
    let building = building::plan(section);
    let mut read = given(section, name, site)?;
    let building = building.ok()?;
    if !fits_building(section, name, building.as_ref(), cooling.is_some()) {
        return None;
    }
    if let Some(sun) = &sun {
        read.climate = sun.on(&read.climate, section.has("weather"), site);
    } else if section.has("weather") && building.is_none() && !read.met.is_empty() {
        read.assumptions.push(format!(
            "\"{name}\": the sun of the day shines on the flowers all day: sun = \"half\" or \"shade\" if not"
        ));
    }
    if let Some(building) = building {
        if sun.is_none() && (0..24).all(|h| read.climate.at(f64::from(h)).sun == 0.0) {
            let clear = |hour: f64| site.sky.clear(hour);
            read.climate = read.climate.hourly().map(|hour, air| Air { sun: clear(hour), ..air });
            read.assumptions.push(format!(
                "\"{name}\": the sun shines on its roof all day: sun = \"half\" or \"shade\" if not"
            ));
        }
        read = building.inside(read, cooling, name, site);
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

/// Whether guests, the hours of cooling and the climate given fit the building, or go without one.
fn fits_building(section: &Section, name: &str, building: Option<&Plan>, cooling_has_hours: bool) -> bool {
    let Some(building) = building else {
        let guests = section.sections("guests");
        if let Some(first) = guests.first() {
            let problem = Problem::new(format!("the guests of \"{name}\" change nothing: its air is given"))
                .expected("[[space.guests]] only with [space.building], whose air is worked out")
                .help(
                    "add [space.building] and under it built, floor_area and height, or take the guests out",
                );
            section.source.wrong(first.span.clone(), problem);
        }
        return guests.is_empty();
    };
    if cooling_has_hours && !building.is_cooled() {
        let problem = Problem::new(format!("nothing cools \"{name}\", and its cooling has hours"))
            .expected("`cooling` in [space.building]: the temperature that it is set to")
            .help("add cooling = \"22 C\" to [space.building], or take cooling_off and cooling_on out");
        section.source.wrong(section.place_of("cooling_off"), problem);
        return false;
    }
    is_outside(section)
}

/// The one climate that a space gives, before the sun on it and the like.
fn given(section: &Section, name: &str, site: &Site) -> Option<SpaceClimate> {
    let hours = section.sections("hour");
    let (weather, normals) = (section.text("weather"), section.text("normals"));
    let log = section.text("log");
    let room = section.text("room");
    let (low, high) = (section.quantity::<Temperature>("low"), section.quantity::<Temperature>("high"));
    let humidity = section.quantity::<Humidity>("humidity");
    let same = section.quantity::<Temperature>("temperature");
    for (key, read) in [("low", &low), ("high", &high), ("temperature", &same)] {
        if let Some(read) = read {
            frost_in_summer(section, key, read, site);
        }
    }
    let moisture_elsewhere = section.has("moisture_of"); // read by the caller, once all spaces are known
    let day = low.is_some() || high.is_some();
    let given = [
        !hours.is_empty(),
        log.is_some(),
        room.is_some(),
        day,
        same.is_some(),
        weather.is_some(),
        normals.is_some(),
    ];
    const WITH_LOG: [&str; 3] = ["log_day", "log_column", "log_dates"];
    for key in WITH_LOG.into_iter().chain(WITH_DAYS).chain(["clock_ahead"]) {
        section.has(key); // known with or without a log, or a record of weather
    }
    let count = given.iter().filter(|g| **g).count();
    if count != 1 {
        not_one(section, name, count, &hours);
        return None;
    }
    if !day && same.is_none() {
        unused(section, name, "humidity", "low and high, or with temperature");
    }
    if log.is_none() {
        for key in WITH_LOG {
            unused(section, name, key, "log");
        }
    }
    if weather.is_none() && normals.is_none() {
        WITH_DAYS.into_iter().for_each(|key| unused(section, name, key, "weather or normals"));
    }
    if weather.is_none() {
        unused(section, name, "clock_ahead", "weather");
    }
    if let Some(file) = weather {
        return recorded(section, name, file, site);
    }
    if let Some(text) = normals {
        return normal(section, name, text, site);
    }
    if let Some(room) = room {
        return in_words(section, room, site);
    }
    if let Some(log) = log {
        return logged(section, name, log, site);
    }
    if !hours.is_empty() {
        return typed(section, name, &hours, site, moisture_elsewhere);
    }
    if humidity.is_none() && !section.has("humidity") {
        let when = if day { "in the afternoon" } else { "at all hours" };
        section.missing("humidity", &format!("the relative humidity {when}"), "\"55 %\"");
    }
    let humidity = humidity.map(|h| h.value);
    match same {
        Some(same) => Some(constant(same.value, humidity?, site)),
        None => a_day(section, low, high, humidity, site),
    }
}

/// At most this warm, degrees Celsius, a temperature written in Fahrenheit is doubted in summer.
const FROST: f64 = 2.0;

/// Asks about a frost in the warm half of the year that was written in Fahrenheit: 24 F for 24 C.
fn frost_in_summer(section: &Section, key: &str, read: &Found<Temperature>, site: &Site) {
    let is_warm_half = (4..=9).contains(&site.sky.date.month()) == (site.sky.latitude_deg >= 0.0);
    let written = read.value;
    if written.scale == Scale::Celsius || written.celsius > FROST || !is_warm_half {
        return;
    }
    let celsius = Temperature::from_celsius(written.celsius);
    let number = Temperature::from_celsius(written.celsius * 1.8 + 32.0);
    let problem = Problem::new(format!(
        "`{key}` is {written}, which is {celsius}: frost, in the warm half of the year"
    ))
    .expected("a temperature of the season")
    .help(format!("{key} = \"{number}\" for a mild one, or {key} = \"{celsius}\" for frost"));
    section.source.wrong(read.span.clone(), problem);
}

/// Refuses a space with no climate, or with several. A misspelt or wrong value is a problem told already.
fn not_one(section: &Section, name: &str, count: usize, hours: &[Section]) {
    for hour in hours {
        read_hour(hour, true); // for its own problems
    }
    let told = section.misspells(&KINDS) || KINDS.into_iter().any(|key| section.has(key));
    if count == 0 && told {
        return;
    }
    let how_many = if count == 0 { "none".to_string() } else { count.to_string() };
    let help = match count {
        0 if section.has("building") => {
            "add low = \"14 C\", high = \"26 C\" and humidity = \"50 %\": the day outside"
        }
        0 => "add room = \"warm barn\"",
        _ => "keep the one you trust most, and take the others out",
    };
    let problem = Problem::new(format!("the space \"{name}\" needs one climate, and has {how_many}"))
        .expected("one of: room (plain words), temperature and humidity (at all hours), low/high/humidity (a day), [[space.hour]] (typed), log (a CSV), weather (a record of years) or normals (typed)")
        .help(help);
    section.source.wrong(section.span.clone(), problem);
}

/// A room in plain words.
fn in_words(section: &Section, Found { value, span }: Found<String>, site: &Site) -> Option<SpaceClimate> {
    let room = Room::find(&value).map_err(|p| section.source.wrong(span, p)).ok()?;
    let daylight = |hour: f64| site.sky.share(hour);
    let from = format!("{}: from the words, {}", room.words, room.known_from());
    Some(SpaceClimate::new(room.climate(site.pressure, daylight), from, None))
}

/// Refuses a key that changes nothing, because the climate is given under another.
fn unused(section: &Section, name: &str, key: &'static str, with: &str) {
    if section.has(key) {
        let problem = Problem::new(format!("`{key}` changes nothing in the space \"{name}\""))
            .expected(format!("`{key}` only together with {with}"))
            .help(format!("take {key} out, or give the climate with {with}"));
        section.source.wrong(section.place_of(key), problem);
    }
}

/// The same air at all hours.
fn constant(temperature: Temperature, humidity: Humidity, site: &Site) -> SpaceClimate {
    let rh = humidity.percent / 100.0;
    let air = Air { pressure: site.pressure, ..Air::still(temperature.celsius, rh) };
    let climate = Climate::constant(air, ClimateError::TYPED);
    SpaceClimate::new(climate, format!("typed, {temperature} at all hours"), Some(temperature.scale))
}

/// A day from its low, its high and its humidity in the afternoon.
fn a_day(
    section: &Section,
    low: Option<Found<Temperature>>,
    high: Option<Found<Temperature>>,
    humidity: Option<Humidity>,
    site: &Site,
) -> Option<SpaceClimate> {
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
    let climate = outdoor_day(low_c, high_c, humidity.percent / 100.0, 0.5, site.pressure, |_| 0.0);
    let from = format!("a day of {} to {}, {humidity} in the afternoon", low.value, high.value);
    Some(SpaceClimate::new(climate, from, Some(high.value.scale)))
}

/// Whether a space with a building gives the air outside it, and nothing that makes sense only without one.
fn is_outside(section: &Section) -> bool {
    let before = section.source.count();
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
    section.source.count() == before
}

/// The sunshine on a space.
enum Sunlight {
    /// This share of what the sky gives.
    Share(f64),
    /// The same at all hours, W/m2.
    Constant(f64),
}

impl Sunlight {
    /// A climate in this sunshine: a share of its own where that was measured, or else of that of a clear sky.
    fn on(&self, climate: &Climate, is_measured: bool, site: &Site) -> Climate {
        let sky = site.sky;
        let clear = move |hour: f64| sky.clear(hour);
        match *self {
            Sunlight::Constant(sun) => climate.hourly().map(|_, air| Air { sun, ..air }),
            Sunlight::Share(share) if is_measured => {
                climate.map(|_, air| Air { sun: share * air.sun, ..air })
            }
            Sunlight::Share(share) => {
                climate.hourly().map(|hour, air| Air { sun: share * clear(hour), ..air })
            }
        }
    }
}

/// Sunshine in words or in W/m2.
fn sunshine(section: &Section) -> Option<Sunlight> {
    let Found { value, span } = section.text("sun")?;
    match value.trim().to_lowercase().as_str() {
        "shade" | "none" | "0" => Some(Sunlight::Share(0.0)),
        "full" | "full sun" => Some(Sunlight::Share(1.0)),
        "half" | "half sun" | "dappled" | "part" => Some(Sunlight::Share(0.5)),
        other => match other.parse::<Sunshine>() {
            Ok(sun) => Some(Sunlight::Constant(sun.watts_per_square_metre)),
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
