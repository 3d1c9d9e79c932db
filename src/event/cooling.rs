//! Cooling by the clock: `cooling_off` and `cooling_on`.

use super::section::Section;
use crate::climate::room::Room;
use crate::climate::{Air, Climate, air::saturation_vapour_pressure};
use crate::error::Problem;
use crate::units::Moment;

/// When the cooling of a space stops and starts, by the clock of every day.
#[derive(Debug, Clone, Copy)]
pub struct Hours {
    off: f64,
    on: f64,
}

impl Hours {
    /// How long it is off each night, h.
    fn night(&self) -> f64 {
        (self.on - self.off).rem_euclid(24.0)
    }

    /// Whether the cooling is off at an hour.
    pub fn is_off(&self, hour: f64) -> bool {
        (hour - self.off).rem_euclid(24.0) < self.night()
    }
}

/// Reads the two times; `None` where both are absent, or one of them, which is remembered as a problem.
pub fn hours(section: &Section, name: &str) -> Option<Hours> {
    match (section.quantity::<Moment>("cooling_off"), section.quantity::<Moment>("cooling_on")) {
        (None, None) => None,
        (Some(off), Some(on)) => Some(Hours { off: off.value.hours, on: on.value.hours }),
        (off, on) => {
            let missing =
                if on.is_none() { "add cooling_on = \"09:00\"" } else { "add cooling_off = \"23:00\"" };
            let span = off.or(on).map_or(section.span.clone(), |f| f.span);
            let problem =
                Problem::new(format!("the cooling of \"{name}\" needs both a time off and a time on"))
                    .expected("both, or neither for a room whose cooling stays on")
                    .help(missing);
            section.source.wrong(span, problem);
            None
        }
    }
}

/// Whether the file implies that a machine cools the space.
pub fn is_cooled(section: &Section) -> bool {
    let words = section.text("room").map_or(String::new(), |f| f.value.to_lowercase());
    let room = Room::find(&words).is_ok_and(|r| r.words.starts_with("cooled"));
    room || section.has("cooling_off") || section.section("building").has("cooling")
}

/// The climate of a cooled room whose cooling is switched off by the clock: it then drifts to 25 C and 62 % within three
/// hours, and comes back within one (estimate from memory).
pub fn drifting(
    climate: Climate,
    hours: Hours,
    section: &Section,
    name: &str,
    assumptions: &mut Vec<String>,
) -> Climate {
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
    climate.each_day(|day| drifted(day, hours))
}

/// One day of it.
fn drifted(climate: &Climate, hours: Hours) -> Climate {
    let night = hours.night();
    let knots = (0..48)
        .map(|half| {
            let hour = f64::from(half) / 2.0;
            let cooled = climate.at(hour);
            let since_on = (hour - hours.on).rem_euclid(24.0);
            let drift = if hours.is_off(hour) {
                ((hour - hours.off).rem_euclid(24.0) / 3.0).min(1.0)
            } else {
                (night / 3.0).min(1.0) * (1.0 - since_on).max(0.0)
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
    Climate::daily(knots, climate.error).expect("hours of a day rise")
}
