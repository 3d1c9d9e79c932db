//! The climates of an event's spaces: typed, in plain words, outdoors, or from a logger.

use super::read::{Found, Section};
use crate::climate::record::Record;
use crate::climate::room::Room;
use crate::climate::{Air, Climate, ClimateError, air::saturation_vapour_pressure, outdoor_day, sun};
use crate::error::Problem;
use crate::units::{AirSpeed, Humidity, Moment, Scale, Sunshine, Temperature, Warming};

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

/// Reads the climate of one `[[space]]`; `None` where it is wrong, the problems remembered.
pub fn climate(section: &Section, name: &str, venue: &Venue) -> Option<Read> {
    let outdoors = section.flag("outdoors");
    let speed = section.quantity::<AirSpeed>("air_speed").map(|s| s.value.metres_per_second);
    let sun = sunshine(section, venue);
    let error = section.quantity::<Warming>("give_or_take").map(|w| w.value.kelvin);
    let cooling = (section.quantity::<Moment>("cooling_off"), section.quantity::<Moment>("cooling_on"));
    let hours = section.sections("hour");
    let log = section.text("log");
    let log_day = section.text("log_day");
    let room = section.text("room");
    let (low, high) = (section.quantity::<Temperature>("low"), section.quantity::<Temperature>("high"));
    let humidity = section.quantity::<Humidity>("humidity");
    let same = section.quantity::<Temperature>("temperature");
    let moisture_elsewhere = section.has("moisture_of"); // read by the caller, once all spaces are known
    let given =
        [!hours.is_empty(), log.is_some(), room.is_some(), low.is_some() || high.is_some(), same.is_some()];
    let count = given.iter().filter(|g| **g).count();
    if count != 1 {
        for hour in &hours {
            read_hour(hour, true); // for its own problems
        }
        // A misspelt or wrong value is a problem already told.
        let told = section.misspells(&["room", "low", "high", "log", "hour", "temperature"])
            || ["room", "low", "high", "log", "hour", "temperature"].into_iter().any(|key| section.has(key));
        if count > 1 || !told {
            let problem = Problem::new(format!("the space \"{name}\" needs one climate, and has {}", if count == 0 { "none".to_string() } else { count.to_string() }))
                .expected("one of: room (plain words), temperature and humidity (at all hours), low/high/humidity (a day), [[space.hour]] (typed), log (a CSV)")
                .help(if count == 0 { "add room = \"warm barn\"" } else { "keep the one you trust most, and take the others out" });
            section.source.wrong(section.span.clone(), problem);
        }
        return None;
    }
    let unused = |key: &'static str, with: &str| {
        if section.has(key) {
            let problem = Problem::new(format!("`{key}` changes nothing in the space \"{name}\""))
                .expected(format!("`{key}` only together with {with}"))
                .help(format!("take {key} out, or give the climate with {with}"));
            section.source.wrong(section.place_of(key), problem);
        }
    };
    if !given[3] && !given[4] {
        unused("humidity", "low and high, or with temperature");
    }
    if !given[1] {
        unused("log_day", "log");
    }
    let mut assumptions = Vec::new();
    let mut scale = None;
    let (mut climate, from) = if let Some(Found { value, span }) = room {
        let room = Room::find(&value).map_err(|p| section.source.wrong(span, p)).ok()?;
        let daylight = |hour: f64| sun::clear_sky_share(venue.date, venue.latitude, hour);
        (
            room.climate(venue.pressure, daylight),
            format!("{}: estimate from the words, from memory", room.words),
        )
    } else if let Some(Found { value, span }) = log {
        let text = match (venue.load)(&value) {
            Ok(text) => text,
            Err(e) => {
                let problem =
                    Problem::new(format!("the log \"{value}\" cannot be read: {}", crate::error::reason(&e)))
                        .expected("a logger's CSV, as plain text in UTF-8")
                        .help("give its name as seen from the folder of this file");
                section.source.wrong(span, problem);
                return None;
            }
        };
        let record = match Record::read(&value, &text) {
            Ok(record) => record,
            Err(e) => {
                section.source.problems.borrow_mut().extend(e.problems);
                return None;
            }
        };
        scale = Some(record.scale);
        let day = match log_day {
            Some(Found { value, span }) => match value.parse() {
                Ok(day) => day,
                Err(_) => {
                    let problem = Problem::new(format!("{value:?} is not a day of the calendar"))
                        .expected("year-month-day, one of the days of the log")
                        .help(match record.last_whole_day() {
                            Some(day) => format!("log_day = {day}"),
                            None => "take log_day out".to_string(),
                        });
                    section.source.wrong(span, problem);
                    return None;
                }
            },
            None if record.covers(venue.date, 0.0, 24.0) => venue.date,
            None => match record.last_whole_day() {
                Some(day) => day,
                None => {
                    let problem = Problem::new(format!("the log \"{value}\" holds no whole day"))
                        .expected("readings for at least one day, midnight to midnight")
                        .help("export more of the log, or type the climate with [[space.hour]]");
                    section.source.wrong(span, problem);
                    return None;
                }
            },
        };
        if !record.covers(day, 0.0, 24.0) {
            let problem = Problem::new(format!("the log \"{value}\" does not hold all of {day}"))
                .expected("a day that the log holds from midnight to midnight")
                .help(match record.last_whole_day() {
                    Some(day) => format!("log_day = {day}"),
                    None => "export more of the log, or type the climate with [[space.hour]]".to_string(),
                });
            section.source.wrong(section.place_of("log_day"), problem);
            return None;
        }
        if day != venue.date {
            assumptions.push(format!("\"{name}\": the logged {day} stands for the day of the event"));
        }
        let climate = record.climate(day, venue.span.0, venue.span.1, venue.pressure, Air::STILL, false);
        (climate, format!("logger, {day}"))
    } else if !hours.is_empty() {
        (typed(section, name, &hours, venue, &mut scale, moisture_elsewhere)?, "typed".to_string())
    } else if let Some(same) = same {
        let Some(humidity) = humidity else {
            if !section.has("humidity") {
                section.missing("humidity", "\"50 %\"");
            }
            return None;
        };
        scale = Some(same.value.scale);
        let rh = humidity.value.percent / 100.0;
        let air = Air { pressure: venue.pressure, ..Air::indoors(same.value.celsius, rh) };
        (Climate::constant(air, ClimateError::TYPED), format!("typed, {} at all hours", same.value))
    } else {
        let (Some(low), Some(high)) = (low, high) else {
            for (key, example) in [("low", "\"14 C\""), ("high", "\"26 C\"")] {
                if !section.has(key) {
                    section.missing(key, example);
                }
            }
            return None;
        };
        let Some(humidity) = humidity else {
            if !section.has("humidity") {
                section.missing("humidity", "\"55 %\"   # relative humidity in the afternoon");
            }
            return None;
        };
        if low.value.celsius > high.value.celsius {
            let problem =
                Problem::new(format!("the low of {} is above the high of {}", low.value, high.value))
                    .expected("the coolest and the warmest of the day")
                    .help("swap low and high");
            section.source.wrong(low.span, problem);
            return None;
        }
        scale = Some(high.value.scale);
        let day = outdoor_day(
            low.value.celsius,
            high.value.celsius,
            humidity.value.percent / 100.0,
            0.5,
            venue.pressure,
            |_| 0.0,
        );
        (day, format!("a day of {} to {}, {} in the afternoon", low.value, high.value, humidity.value))
    };
    if let Some(sun) = sun {
        climate = climate.hourly().map(|hour, air| Air { sun: sun(hour), ..air });
    }
    if let Some(speed) = speed {
        climate = climate.map(|_, air| Air { speed, ..air });
    }
    if let Some(outdoors) = outdoors {
        climate = climate.map(|_, air| Air { outdoors, ..air });
    }
    climate = with_cooling(climate, cooling, section, name, &mut assumptions);
    if let Some(kelvin) = error {
        climate.error.kelvin = kelvin.abs();
    }
    Some(Read { climate, from, assumptions, scale })
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

/// One `[[space.hour]]` as it was read.
struct Hour {
    at: Option<Found<Moment>>,
    temperature: Option<Found<Temperature>>,
    dew_point: Option<Found<Temperature>>,
    humidity: Option<Found<Humidity>>,
    speed: Option<Found<AirSpeed>>,
    sun: Option<Found<Sunshine>>,
}

fn read_hour(hour: &Section, moisture_elsewhere: bool) -> Hour {
    let at = hour.required::<Moment>("at", "\"15:00\"");
    let temperature = hour.required::<Temperature>("temperature", "\"24 C\"");
    let dew_point = hour.quantity::<Temperature>("dew_point");
    let humidity = match hour.has("dew_point") || moisture_elsewhere {
        true => hour.quantity::<Humidity>("humidity"),
        false => hour.required::<Humidity>("humidity", "\"50 %\""),
    };
    if hour.has("dew_point") && hour.has("humidity") {
        let problem = Problem::new("this hour has both a dew point and a humidity")
            .expected("one of the two")
            .help("take the humidity out, or the dew point");
        hour.source.wrong(hour.place_of("humidity"), problem);
    }
    let speed = hour.quantity::<AirSpeed>("air_speed");
    let sun = hour.quantity::<Sunshine>("sun");
    hour.finish();
    Hour { at, temperature, dew_point, humidity, speed, sun }
}

/// A climate typed at clock times.
fn typed(
    section: &Section,
    name: &str,
    hours: &[Section],
    venue: &Venue,
    scale: &mut Option<Scale>,
    moisture_elsewhere: bool,
) -> Option<Climate> {
    let mut knots: Vec<(f64, Air)> = Vec::new();
    let mut sound = true;
    for hour in hours {
        let Hour { at, temperature, dew_point, humidity, speed, sun } = read_hour(hour, moisture_elsewhere);
        let (Some(at), Some(temperature)) = (at, temperature) else {
            sound = false;
            continue;
        };
        if humidity.is_none() && dew_point.is_none() && !moisture_elsewhere {
            sound = false;
            continue;
        }
        scale.get_or_insert(temperature.value.scale);
        if knots.last().is_some_and(|(last, _)| *last >= at.value.hours) {
            let problem = Problem::new(format!("{} does not come after the time before it", at.value))
                .expected(format!("the times of \"{name}\" in rising order"))
                .help("sort the [[space.hour]] entries, or write \"next day\" before a time after midnight");
            section.source.wrong(at.span, problem);
            sound = false;
            continue;
        }
        let saturated = saturation_vapour_pressure(temperature.value.celsius);
        let vapour_pressure = match (dew_point, humidity) {
            (Some(dew), _) if dew.value.celsius > temperature.value.celsius => {
                let problem = Problem::new(format!(
                    "a dew point of {} is above the air's {}",
                    dew.value, temperature.value
                ))
                .expected("a dew point at or below the air temperature")
                .help(format!("swap the two, or dew_point = \"{}\" for saturated air", temperature.value));
                section.source.wrong(dew.span, problem);
                sound = false;
                continue;
            }
            (Some(dew), _) => saturation_vapour_pressure(dew.value.celsius),
            (None, Some(humidity)) => humidity.value.percent / 100.0 * saturated,
            (None, None) => 0.5 * saturated, // replaced by that of `moisture_of`
        };
        let air = Air {
            temperature_c: temperature.value.celsius,
            vapour_pressure,
            pressure: venue.pressure,
            speed: speed.map_or(Air::STILL, |s| s.value.metres_per_second),
            sun: sun.map_or(0.0, |s| s.value.watts_per_square_metre),
            outdoors: false,
        };
        knots.push((at.value.hours, air));
    }
    if !sound || knots.is_empty() {
        return None;
    }
    // Plain clock times mean every day; a "day before" or "next day" among them means these days alone.
    let every_day = knots.iter().all(|(h, _)| (0.0..24.0).contains(h));
    Some(if every_day {
        Climate::daily(knots, ClimateError::TYPED)
    } else {
        Climate::over(knots, ClimateError::TYPED)
    })
}

/// What becomes of a cooled room when its cooling is switched off: it drifts to 25 C and 62 % within three hours
/// (estimate from memory).
fn with_cooling(
    climate: Climate,
    cooling: (Option<Found<Moment>>, Option<Found<Moment>>),
    section: &Section,
    name: &str,
    assumptions: &mut Vec<String>,
) -> Climate {
    let (off, on) = match cooling {
        (None, None) => return climate,
        (Some(off), Some(on)) => (off.value.hours, on.value.hours),
        (off, on) => {
            let missing =
                if on.is_none() { "add cooling_on = \"09:00\"" } else { "add cooling_off = \"23:00\"" };
            let span = off.or(on).map_or(section.span.clone(), |f| f.span);
            let problem =
                Problem::new(format!("the cooling of \"{name}\" needs both a time off and a time on"))
                    .expected("both, or neither for a room whose cooling stays on")
                    .help(missing);
            section.source.wrong(span, problem);
            return climate;
        }
    };
    if !climate.repeats() {
        let problem =
            Problem::new(format!("\"{name}\" has its air by the day, and its cooling by the clock"))
                .expected("`cooling_off` and `cooling_on` only with air that is the same every day")
                .help("take cooling_off and cooling_on out: the readings hold it already");
        section.source.wrong(section.place_of("cooling_off"), problem);
        return climate;
    }
    assumptions.push(format!(
        "\"{name}\": with its cooling off it drifts to 25 C and 62 % within three hours (estimate, from memory)"
    ));
    let night_length = (on - off).rem_euclid(24.0);
    let knots = (0..48)
        .map(|half| {
            let hour = f64::from(half) / 2.0;
            let cooled = climate.at(hour);
            let since_off = (hour - off).rem_euclid(24.0);
            let since_on = (hour - on).rem_euclid(24.0);
            let drift = if since_off < night_length {
                (since_off / 3.0).min(1.0)
            } else {
                (night_length / 3.0).min(1.0) * (1.0 - since_on).max(0.0)
            };
            let warm = Air {
                temperature_c: 25.0,
                vapour_pressure: 0.62 * saturation_vapour_pressure(25.0),
                ..cooled
            };
            let mix = |a: f64, b: f64| a + drift * (b - a);
            let air = Air {
                temperature_c: mix(cooled.temperature_c, warm.temperature_c),
                vapour_pressure: mix(cooled.vapour_pressure, warm.vapour_pressure),
                ..cooled
            };
            (hour, air)
        })
        .collect();
    Climate::daily(knots, climate.error)
}
