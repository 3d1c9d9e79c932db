//! A climate typed at clock times: `[[space.hour]]`.

use super::section::{Found, Section};
use super::site::{Site, SpaceClimate};
use crate::climate::{Air, Climate, ClimateError, air::saturation_vapour_pressure};
use crate::error::Problem;
use crate::units::{AirSpeed, Humidity, Moment, Sunshine, Temperature};

/// One `[[space.hour]]` as it was read; nothing where a value is absent or wrong.
pub struct Hour {
    at: Option<Found<Moment>>,
    temperature: Option<Found<Temperature>>,
    dew_point: Option<Found<Temperature>>,
    humidity: Option<Found<Humidity>>,
    speed: Option<Found<AirSpeed>>,
    sun: Option<Found<Sunshine>>,
}

/// Reads one hour, for its air or only for its problems.
pub fn read_hour(hour: &Section, moisture_elsewhere: bool) -> Hour {
    let at = hour.required::<Moment>("at", "the clock time of this reading", "\"15:00\"");
    let temperature =
        hour.required::<Temperature>("temperature", "the temperature of the air then, in C or F", "\"24 C\"");
    let dew_point = hour.quantity::<Temperature>("dew_point");
    let humidity = match hour.has("dew_point") || moisture_elsewhere {
        true => hour.quantity::<Humidity>("humidity"),
        false => {
            hour.required::<Humidity>("humidity", "the relative humidity then, or `dew_point`", "\"50 %\"")
        }
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

/// A climate typed at clock times; `moisture_elsewhere` where another space gives the moisture. `None` where any hour is
/// wrong, the problems remembered.
pub fn typed(
    section: &Section,
    name: &str,
    hours: &[Section],
    site: &Site,
    moisture_elsewhere: bool,
) -> Option<SpaceClimate> {
    let mut scale = None;
    let mut knots: Vec<(f64, Air)> = Vec::new();
    let mut sound = true;
    let hours: Vec<Hour> = hours.iter().map(|hour| read_hour(hour, moisture_elsewhere)).collect();
    // Plain clock times mean every day; a "day before" or "next day" among them means these days alone.
    let mut times = hours.iter().filter_map(|hour| hour.at.as_ref());
    let every_day = times.all(|at| (0.0..24.0).contains(&at.value.hours));
    for hour in hours {
        let on_these_days = |at: &Found<Moment>| section.source.on_the_clock(at.value, at.span.clone());
        let at = if every_day { hour.at.clone() } else { hour.at.as_ref().and_then(on_these_days) };
        if let (Some(at), Some(temperature)) = (&at, &hour.temperature)
            && (hour.humidity.is_some() || hour.dew_point.is_some() || moisture_elsewhere)
        {
            scale.get_or_insert(temperature.value.scale);
            let last = knots.last().map(|(last, _)| *last);
            let air = comes_after(section, name, at, last)
                .then(|| vapour_pressure(section, temperature.value, &hour))
                .flatten()
                .map(|vapour_pressure| hour.air(temperature.value, vapour_pressure, site));
            sound &= air.is_some();
            knots.extend(air.map(|air| (at.value.hours, air)));
        } else {
            sound = false;
        }
    }
    if !sound || knots.is_empty() {
        return None;
    }
    let climate = match every_day {
        true => Climate::daily(knots, ClimateError::TYPED),
        false => Climate::over(knots, ClimateError::TYPED),
    }
    .expect("hours were checked to rise");
    Some(SpaceClimate::new(climate, "typed".to_string(), scale))
}

/// Whether a time comes after the one before it; if not, that is remembered as a problem.
fn comes_after(section: &Section, name: &str, at: &Found<Moment>, last: Option<f64>) -> bool {
    let rises = last.is_none_or(|last| last < at.value.hours);
    if !rises {
        let problem = Problem::new(format!("{} does not come after the time before it", at.value))
            .expected(format!("the times of \"{name}\" in rising order"))
            .help("sort the [[space.hour]] entries, or write \"next day\" before a time after midnight");
        section.source.wrong(at.span.clone(), problem);
    }
    rises
}

/// The vapour pressure of an hour, Pa, from its dew point or its humidity; `None` where the dew point is above the
/// temperature, which is remembered as a problem.
fn vapour_pressure(section: &Section, temperature: Temperature, hour: &Hour) -> Option<f64> {
    let saturated = saturation_vapour_pressure(temperature.celsius);
    match (&hour.dew_point, &hour.humidity) {
        (Some(dew), _) if dew.value.celsius > temperature.celsius => {
            let problem =
                Problem::new(format!("a dew point of {} is above the air's {temperature}", dew.value))
                    .expected("a dew point at or below the air temperature")
                    .help(format!("swap the two, or dew_point = \"{temperature}\" for saturated air"));
            section.source.wrong(dew.span.clone(), problem);
            None
        }
        (Some(dew), _) => Some(saturation_vapour_pressure(dew.value.celsius)),
        (None, Some(humidity)) => Some(humidity.value.percent / 100.0 * saturated),
        (None, None) => Some(0.5 * saturated), // replaced by that of `moisture_of`
    }
}

impl Hour {
    fn air(&self, temperature: Temperature, vapour_pressure: f64, site: &Site) -> Air {
        Air {
            temperature_c: temperature.celsius,
            vapour_pressure,
            pressure: site.pressure,
            speed: self.speed.as_ref().map_or(Air::STILL, |s| s.value.metres_per_second),
            sun: self.sun.as_ref().map_or(0.0, |s| s.value.watts_per_square_metre),
            outdoors: false,
        }
    }
}
