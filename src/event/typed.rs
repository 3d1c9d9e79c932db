//! A climate typed at clock times: `[[space.hour]]`.

use super::read::{Found, Section};
use super::spaces::{Read, Venue};
use crate::climate::{Air, Climate, ClimateError, air::saturation_vapour_pressure};
use crate::error::Problem;
use crate::units::{AirSpeed, Humidity, Moment, Sunshine, Temperature};

/// One `[[space.hour]]` as it was read.
pub struct Hour {
    at: Option<Found<Moment>>,
    temperature: Option<Found<Temperature>>,
    dew_point: Option<Found<Temperature>>,
    humidity: Option<Found<Humidity>>,
    speed: Option<Found<AirSpeed>>,
    sun: Option<Found<Sunshine>>,
}

/// Reads one hour, for its air or for its problems alone.
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

/// A climate typed at clock times; `moisture_elsewhere` where another space gives the moisture.
pub fn typed(
    section: &Section,
    name: &str,
    hours: &[Section],
    venue: &Venue,
    moisture_elsewhere: bool,
) -> Option<Read> {
    let mut scale = None;
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
    let climate = match every_day {
        true => Climate::daily(knots, ClimateError::TYPED),
        false => Climate::over(knots, ClimateError::TYPED),
    }
    .expect("hours were checked to rise");
    Some(Read { climate, from: "typed".to_string(), assumptions: Vec::new(), scale })
}
