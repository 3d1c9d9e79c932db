//! The flags that describe air, by a room or by numbers.

use super::flags::option;
use crate::climate::Air;
use crate::climate::air::{pressure_at_altitude, saturation_vapour_pressure};
use crate::climate::room::Room;
use crate::error::Problem;
use crate::units::{AirSpeed, Altitude, Humidity, Scale, Sunshine, Temperature};

/// The least air speed assumed in the sun if none is given, m/s: outdoors air is never still.
const OUTDOOR_SPEED: f64 = 0.5;
/// An air, in words or numbers.
#[derive(Debug, Clone, clap::Args)]
pub struct AirFlags {
    /// Plain words for a room, such as "warm barn"; `headwater rooms` lists them.
    #[arg(long, value_name = "WORDS", conflicts_with_all = ["temperature", "humidity", "dew_point"])]
    pub room: Option<String>,
    /// Air temperature, such as 22C or 72F.
    #[arg(long, short, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub temperature: Option<String>,
    /// Relative humidity in percent.
    #[arg(long, value_name = "PERCENT", conflicts_with = "dew_point")]
    pub humidity: Option<String>,
    /// Dew point instead of the humidity, such as 12C.
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub dew_point: Option<String>,
    /// Air speed in m/s [default: 0.1, still; 0.5 in the sun].
    #[arg(long, value_name = "SPEED")]
    pub air_speed: Option<String>,
    /// Sunshine on a level surface: full, half, or in W/m2, of which full summer sun is about 800 [default: 0, shade].
    #[arg(long, value_name = "W/m2")]
    pub sun: Option<String>,
    /// Height above the sea, such as 120m [default: 0].
    #[arg(long, value_name = "HEIGHT", allow_hyphen_values = true)]
    pub altitude: Option<String>,
}

impl AirFlags {
    /// Whether any of the flags is given.
    pub fn is_given(&self) -> bool {
        let AirFlags { room, temperature, humidity, dew_point, air_speed, sun, altitude } = self;
        [room, temperature, humidity, dew_point, air_speed, sun, altitude].iter().any(|flag| flag.is_some())
    }

    /// The air, the scale to show it in, and the room that it comes from, if any. If the flags make no air, adds a
    /// problem and returns `None`.
    pub fn read(&self, problems: &mut Vec<Problem>) -> Option<(Air, Scale, Option<&'static Room>)> {
        let temperature = option::<Temperature>("temperature", self.temperature.as_deref(), problems);
        let humidity = option::<Humidity>("humidity", self.humidity.as_deref(), problems);
        let dew_point = option::<Temperature>("dew-point", self.dew_point.as_deref(), problems);
        let speed = option::<AirSpeed>("air-speed", self.air_speed.as_deref(), problems);
        // At noon in summer, as an event takes these words (judgement).
        let sun = self.sun.as_deref().map(|words| match words.trim() {
            "full" | "full sun" => "800",
            "half" | "half sun" => "400",
            "shade" => "0",
            other => other,
        });
        let sunshine = option::<Sunshine>("sun", sun, problems);
        let altitude = option::<Altitude>("altitude", self.altitude.as_deref(), problems);
        let pressure = altitude.map_or(Air::SEA_LEVEL, |a| pressure_at_altitude(a.metres));
        let scale = temperature.map_or(Scale::Celsius, |t| t.scale);
        let mut room = None;
        let base = if let Some(words) = &self.room {
            match Room::find(words) {
                Ok(found) => {
                    room = Some(found);
                    found.afternoon(pressure)
                }
                Err(problem) => {
                    problems.push(problem);
                    return None;
                }
            }
        } else {
            if self.temperature.is_none() {
                let problem = Problem::new("no air is given")
                    .expected("a room in words, or a temperature and a humidity");
                problems.push(problem.help("--room \"warm barn\", or --temperature 24C --humidity 50"));
                return None;
            }
            if self.humidity.is_none() && self.dew_point.is_none() {
                let problem =
                    Problem::new("the humidity is missing").expected("a relative humidity or a dew point");
                problems
                    .push(problem.help("--humidity 50, or --dew-point 12C; an ordinary room has about 45"));
                return None;
            }
            let temperature = temperature?;
            let saturated = saturation_vapour_pressure(temperature.celsius);
            let vapour_pressure = match (humidity, dew_point) {
                (Some(h), _) => h.percent / 100.0 * saturated,
                (None, Some(dew)) if dew.celsius > temperature.celsius => {
                    let problem =
                        Problem::new(format!("a dew point of {dew} is above the air's {temperature}"));
                    problems.push(
                        problem.expected("a dew point at or below the air temperature").help("swap the two?"),
                    );
                    return None;
                }
                (None, Some(dew)) => saturation_vapour_pressure(dew.celsius),
                (None, None) => return None,
            };
            Air {
                temperature_c: temperature.celsius,
                vapour_pressure,
                pressure,
                speed: Air::STILL,
                sun: 0.0,
                outdoors: false,
            }
        };
        let sun = sunshine.map_or(base.sun, |s| s.watts_per_square_metre);
        let in_sun = sunshine.is_some_and(|s| s.watts_per_square_metre > 0.0);
        let still = if in_sun { base.speed.max(OUTDOOR_SPEED) } else { base.speed };
        let speed = speed.map_or(still, |s| s.metres_per_second);
        Some((Air { sun, speed, outdoors: base.outdoors || (in_sun && room.is_none()), ..base }, scale, room))
    }
}
