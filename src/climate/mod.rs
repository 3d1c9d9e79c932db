//! The air around a flower at one instant ([`Air`]) and over time ([`Climate`]), and where it is known from: words
//! ([`room`]), a logger ([`record`]), the sun ([`sun`]), or a building and its guests ([`balance`]).

pub mod air;
pub mod balance;
pub mod logger;
pub mod record;
pub mod room;
pub mod series;
pub mod sun;
pub mod weather;

use crate::error::{Problem, Result};
use air::{relative_humidity, saturation_vapour_pressure};
use rayon::prelude::*;

/// The air around a flower at one instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// Temperature of the air, C.
    pub temperature_c: f64,
    /// Vapour pressure of the air, Pa.
    pub vapour_pressure: f64,
    /// Pressure of the air, Pa.
    pub pressure: f64,
    /// Air speed past the flower, m/s.
    pub speed: f64,
    /// Sunshine on a level surface, W/m2.
    pub sun: f64,
    /// Whether it is out of doors, where the wind is gusty.
    pub outdoors: bool,
}

impl Air {
    /// The air in which a flower's dry hours are stated: 21 C, 45 % relative humidity, still, shaded, at sea level.
    pub const REFERENCE_TEMPERATURE_C: f64 = 21.0;
    /// Relative humidity of the reference air, as a share: see [`Air::REFERENCE_TEMPERATURE_C`].
    pub const REFERENCE_RH: f64 = 0.45;
    /// Still room air moves at about 0.1 m/s: 0.09 m/s is the middle of 28,375 readings in air-conditioned rooms
    /// (`reference-data/open/indoor-climate.csv`).
    pub const STILL: f64 = 0.1;
    /// Sea-level pressure of the standard atmosphere, Pa.
    pub const SEA_LEVEL: f64 = 101_325.0;

    /// Shaded, still, indoor air at sea level, from its temperature in C and its relative humidity as a share from 0 to 1.
    ///
    /// # Errors
    /// If the temperature is not from -40 to 60 C, or the relative humidity not from 0 to 1.
    ///
    /// ```
    /// use headwater::climate::Air;
    /// let air = Air::indoors(21.0, 0.45)?;
    /// assert!((air.vapour_pressure_deficit() - 1370.0).abs() < 10.0);
    /// assert!(Air::indoors(21.0, 45.0).is_err(), "45 % is 0.45");
    /// # Ok::<(), headwater::error::Error>(())
    /// ```
    pub fn indoors(temperature_c: f64, rh: f64) -> Result<Air> {
        if !(-40.0..=60.0).contains(&temperature_c) {
            let problem = Problem::new(format!("{temperature_c} C is not the temperature of a room"))
                .expected("a temperature in C from -40 to 60")
                .help("72 F is 22.2 C, and 295 K is 21.9 C");
            return Err(problem.into());
        }
        if !(0.0..=1.0).contains(&rh) {
            let problem = Problem::new(format!("{rh} is not a relative humidity"))
                .expected("a share from 0 to 1")
                .help("45 % is 0.45");
            return Err(problem.into());
        }
        Ok(Air::still(temperature_c, rh))
    }

    /// [`Air::indoors`] of values that were checked where they were read.
    pub(crate) fn still(temperature_c: f64, rh: f64) -> Air {
        Air {
            temperature_c,
            vapour_pressure: rh * saturation_vapour_pressure(temperature_c),
            pressure: Air::SEA_LEVEL,
            speed: Air::STILL,
            sun: 0.0,
            outdoors: false,
        }
    }

    /// The reference air: 21 C, 45 % relative humidity, still, shaded, at sea level.
    pub fn reference() -> Air {
        Air::still(Air::REFERENCE_TEMPERATURE_C, Air::REFERENCE_RH)
    }

    /// Whether every quantity is a number that air can have.
    pub(crate) fn is_possible(&self) -> bool {
        let Air { temperature_c, vapour_pressure, pressure, speed, sun, .. } = *self;
        let positive = |x: f64| x > 0.0 && x.is_finite();
        let not_negative = |x: f64| x >= 0.0 && x.is_finite();
        (-100.0..=200.0).contains(&temperature_c)
            && not_negative(vapour_pressure)
            && positive(pressure)
            && not_negative(speed)
            && not_negative(sun)
    }

    /// Relative humidity, as a share from 0 to 1.
    pub fn relative_humidity(&self) -> f64 {
        relative_humidity(self.temperature_c, self.vapour_pressure)
    }

    /// Vapour pressure deficit of the air, Pa.
    pub fn vapour_pressure_deficit(&self) -> f64 {
        saturation_vapour_pressure(self.temperature_c) - self.vapour_pressure
    }

    /// The same air warmed by `kelvin` at the same moisture content, its relative humidity then raised by `rh`.
    ///
    /// This keeps the two errors of a forecast apart: a room that is hotter than thought holds the same water, so its air is
    /// drier relative to saturation.
    #[inline(always)]
    pub fn shifted(self, kelvin: f64, rh: f64) -> Air {
        let temperature_c = self.temperature_c + kelvin;
        let saturation = saturation_vapour_pressure(temperature_c);
        let vapour_pressure = (self.vapour_pressure + rh * saturation).max(0.01 * saturation).min(saturation);
        Air { temperature_c, vapour_pressure, ..self }
    }
}

/// The uncertainty of a climate: standard deviations of one error in temperature and one in humidity for a whole event.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ClimateError {
    /// Standard deviation of temperature, K.
    pub kelvin: f64,
    /// Standard deviation of relative humidity, as a share.
    pub rh: f64,
}

impl ClimateError {
    /// None: the user asks about exactly this air.
    pub const NONE: ClimateError = ClimateError { kelvin: 0.0, rh: 0.0 };
    /// Typed at clock times by someone who knows the venue (judgement).
    pub const TYPED: ClimateError = ClimateError { kelvin: 1.0, rh: 0.05 };
    /// Read from a logger on an earlier, similar day (judgement).
    pub const LOGGED: ClimateError = ClimateError { kelvin: 1.0, rh: 0.04 };
    /// A forecast's low and high, or air that was assumed (judgement).
    pub const GUESSED: ClimateError = ClimateError { kelvin: 1.5, rh: 0.06 };
    /// Computed from the building and its guests: the error of the forecast, and as much again for the balance (judgement).
    pub const BALANCED: ClimateError = ClimateError { kelvin: 2.1, rh: 0.085 };
}

/// The air of one space over time, with its uncertainty. It always holds air for at least one hour.
#[derive(Debug, Clone, PartialEq)]
pub struct Climate {
    knots: Vec<(f64, Air)>,
    daily: bool,
    /// How uncertain it is.
    pub error: ClimateError,
    off_like: Option<usize>,
    /// The days of which an event meets one, the coolest first; none where its day is given.
    days: Vec<Climate>,
}

impl Climate {
    /// The same air at every hour.
    pub fn constant(air: Air, error: ClimateError) -> Climate {
        Climate { knots: vec![(0.0, air)], daily: false, error, off_like: None, days: Vec::new() }
    }

    /// Air at some hours of one day, which repeats every day. `knots` are hours of the day in rising order, each with its air.
    ///
    /// # Errors
    /// If there are no knots, or their hours do not rise from 0 to at most 24.
    pub fn daily(knots: Vec<(f64, Air)>, error: ClimateError) -> Result<Climate> {
        let within = knots.iter().all(|(hour, _)| (0.0..=24.0).contains(hour));
        Ok(Climate {
            knots: rising(knots, within, "from 0 to 24")?,
            daily: true,
            error,
            off_like: None,
            days: Vec::new(),
        })
    }

    /// Air at some hours of the event's clock, in rising order; before the first and after the last it does not change.
    ///
    /// # Errors
    /// If there are no knots, or their hours do not rise.
    pub fn over(knots: Vec<(f64, Air)>, error: ClimateError) -> Result<Climate> {
        let within = knots.iter().all(|(hour, _)| hour.is_finite());
        Ok(Climate {
            knots: rising(knots, within, "of the event's clock")?,
            daily: false,
            error,
            off_like: None,
            days: Vec::new(),
        })
    }

    /// A day that repeats, between the air of its coolest and that of its warmest hour, in temperature and vapour pressure.
    /// What exceeds saturation falls as dew. `sun` gives the sunshine at an hour of the day, W/m2.
    pub fn between(coolest: Air, warmest: Air, sun: impl Fn(f64) -> f64) -> Climate {
        let knots = (0..24).map(f64::from).map(|hour| {
            let w = share_of_daily_high(hour);
            let mix = |cool: f64, warm: f64| cool + w * (warm - cool);
            let temperature_c = mix(coolest.temperature_c, warmest.temperature_c);
            let vapour_pressure = mix(coolest.vapour_pressure, warmest.vapour_pressure)
                .min(saturation_vapour_pressure(temperature_c));
            (hour, Air { temperature_c, vapour_pressure, sun: sun(hour), ..warmest })
        });
        Climate {
            knots: knots.collect(),
            daily: true,
            error: ClimateError::GUESSED,
            off_like: None,
            days: Vec::new(),
        }
    }

    /// The air at `hour` of the event's clock: linear between the given times in temperature and vapour pressure,
    /// because moisture mixes and relative humidity does not.
    pub fn at(&self, hour: f64) -> Air {
        let knots = &self.knots;
        let hour = if self.daily { hour.rem_euclid(24.0) } else { hour };
        let next = knots.partition_point(|(h, _)| *h <= hour);
        let (first, last) = (knots[0], knots[knots.len() - 1]);
        let (before, after) = match (next, self.daily) {
            (0, true) => ((last.0 - 24.0, last.1), first),
            (0, false) => return first.1,
            (n, true) if n == knots.len() => (last, (first.0 + 24.0, first.1)),
            (n, false) if n == knots.len() => return last.1,
            (n, _) => (knots[n - 1], knots[n]),
        };
        let width = after.0 - before.0;
        let w = if width > 0.0 { (hour - before.0) / width } else { 0.0 };
        let mix = |a: f64, b: f64| a + w * (b - a);
        let (a, b) = (before.1, after.1);
        let temperature_c = mix(a.temperature_c, b.temperature_c);
        Air {
            temperature_c,
            vapour_pressure: mix(a.vapour_pressure, b.vapour_pressure)
                .min(saturation_vapour_pressure(temperature_c)),
            pressure: a.pressure,
            speed: mix(a.speed, b.speed),
            sun: mix(a.sun, b.sun),
            outdoors: a.outdoors,
        }
    }

    /// One of these days, all as likely. Told as a single climate it is the middle one.
    ///
    /// # Errors
    /// If there are no days.
    pub fn one_of(days: Vec<Climate>) -> Result<Climate> {
        let Some(middle) = days.get(days.len() / 2).cloned() else {
            return Err(Problem::new("no day to choose from").expected("at least one day").into());
        };
        Ok(Climate { days, ..middle })
    }

    /// The days of which one is met; none where its day is given.
    pub fn days(&self) -> &[Climate] {
        &self.days
    }

    /// The climate on one of the days; itself where its day is given.
    pub fn on_day(&self, day: usize) -> &Climate {
        self.days.get(day).unwrap_or(self)
    }

    /// Only some of its days, by their numbers.
    pub fn only(&self, days: &[usize]) -> Climate {
        let kept: Vec<Climate> = days.iter().filter_map(|d| self.days.get(*d).cloned()).collect();
        Climate::one_of(kept).unwrap_or_else(|_| self.clone())
    }

    /// The same change made to each of its days.
    fn with_days(&self, changed: Climate, change: impl Fn(&Climate) -> Climate) -> Climate {
        Climate { days: self.days.iter().map(change).collect(), ..changed }
    }

    /// A change of the climate of a single day, made to it and to each of its days.
    pub fn each_day(&self, change: impl Fn(&Climate) -> Climate + Sync) -> Climate {
        let days = self.days.par_iter().map(&change).collect();
        Climate { days, ..change(&self.told()) }
    }

    /// A change by another climate, made on each of the other's days to this one as it is on that day.
    pub fn by_the_day_of(&self, other: &Climate, change: impl Fn(&Climate, &Climate) -> Climate) -> Climate {
        let days = other.days.iter().enumerate().map(|(d, other)| change(self.on_day(d), other));
        Climate::one_of(days.collect()).unwrap_or_else(|_| change(self, other))
    }

    /// What it is told as, without its days.
    fn told(&self) -> Climate {
        let Climate { knots, daily, error, off_like, .. } = self;
        Climate { knots: knots.clone(), daily: *daily, error: *error, off_like: *off_like, days: Vec::new() }
    }

    /// The same climate, off by as much as that of another space: it is the same air, told once.
    pub fn off_like(self, space: usize) -> Climate {
        Climate { off_like: Some(space), ..self }
    }

    /// The number of the space by whose error it is off, if it is space number `own`.
    pub fn error_of(&self, own: usize) -> usize {
        self.off_like.unwrap_or(own)
    }

    /// Whether its air and its errors are numbers that air can have.
    pub(crate) fn is_possible(&self) -> bool {
        let ClimateError { kelvin, rh } = self.error;
        let sd = |x: f64| x >= 0.0 && x.is_finite();
        sd(kelvin)
            && sd(rh)
            && self.knots.iter().all(|(_, air)| air.is_possible())
            && self.days.iter().all(Climate::is_possible)
    }

    /// Whether every day is the same.
    pub fn repeats(&self) -> bool {
        self.daily || self.knots.len() == 1
    }

    /// The same climate with a knot at every hour, for changes that depend on the hour.
    pub fn hourly(&self) -> Climate {
        let (first, last) = (self.knots[0].0, self.knots[self.knots.len() - 1].0);
        let hours: Vec<f64> = if self.repeats() {
            (0..24).map(f64::from).collect()
        } else {
            (first.ceil() as i64..=last.floor() as i64).map(|h| h as f64).collect()
        };
        let mut knots = if self.knots.len() == 1 { Vec::new() } else { self.knots.clone() };
        knots.extend(hours.into_iter().map(|h| (h, self.at(h))));
        knots.sort_by(|a, b| a.0.total_cmp(&b.0));
        knots.dedup_by(|a, b| a.0 == b.0);
        self.with_days(Climate { knots, daily: self.repeats(), ..self.told() }, Climate::hourly)
    }

    /// The same climate between two hours of the event's clock, with a knot every half hour, so that a change can begin at an
    /// hour of one day.
    pub fn from_to(&self, from: f64, to: f64) -> Climate {
        let n = ((to - from) * 2.0).ceil().max(1.0) as usize;
        let hours = (0..=n).map(|i| from + i as f64 / 2.0);
        let knots = hours.map(|h| (h, self.at(h))).collect();
        self.with_days(Climate { knots, daily: false, ..self.told() }, |day| day.from_to(from, to))
    }

    /// The same climate with `change` applied to the hour and air of every knot.
    pub fn map(&self, change: impl Fn(f64, Air) -> Air) -> Climate {
        let mapped = |one: &Climate| Climate {
            knots: one.knots.iter().map(|(h, air)| (*h, change(*h, *air))).collect(),
            ..one.told()
        };
        self.with_days(mapped(self), mapped)
    }
}

/// The knots of a climate, where there are any, their hours rise, and they are `within` the hours that are `wanted`.
fn rising(knots: Vec<(f64, Air)>, within: bool, wanted: &str) -> Result<Vec<(f64, Air)>> {
    if !knots.is_empty() && within && knots.windows(2).all(|w| w[0].0 < w[1].0) {
        return Ok(knots);
    }
    let what = if knots.is_empty() { "a climate without air" } else { "a climate whose hours do not rise" };
    Err(Problem::new(what).expected(format!("air at one hour or more, in rising order, {wanted}")).into())
}

/// The temperature at an hour of a day with its low at 05:00 and its high at 15:00: 0 at the low, 1 at the high.
///
/// Two half cosines, so that the warm-up takes ten hours and the cooling fourteen (common practice, no source).
pub fn share_of_daily_high(hour: f64) -> f64 {
    let since_low = (hour - 5.0).rem_euclid(24.0);
    let phase = if since_low < 10.0 { since_low / 10.0 } else { 1.0 + (since_low - 10.0) / 14.0 };
    0.5 - 0.5 * libm::cos(std::f64::consts::PI * phase)
}

/// An outdoor day that repeats, from its low and high, C, and its relative humidity in the afternoon, a share.
///
/// The moisture content is that of the afternoon all day, less what falls as dew when the night is colder than that.
/// `speed` is the air speed, m/s, `pressure` in Pa, and `sun` gives the sunshine at an hour of the day, W/m2.
pub fn outdoor_day(
    low_c: f64,
    high_c: f64,
    afternoon_rh: f64,
    speed: f64,
    pressure: f64,
    sun: impl Fn(f64) -> f64,
) -> Climate {
    let vapour_pressure = afternoon_rh * saturation_vapour_pressure(high_c);
    let air = |temperature_c: f64| Air {
        temperature_c,
        vapour_pressure,
        pressure,
        speed,
        sun: 0.0,
        outdoors: true,
    };
    Climate::between(air(low_c), air(high_c), sun)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_wraps_at_midnight_and_hits_its_low_and_high() {
        let day = outdoor_day(12.0, 26.0, 0.5, 0.5, Air::SEA_LEVEL, |_| 0.0);
        assert!((day.at(5.0).temperature_c - 12.0).abs() < 1e-9);
        assert!((day.at(-9.0).temperature_c - 26.0).abs() < 1e-9);
        assert!((day.at(24.0).temperature_c - day.at(0.0).temperature_c).abs() < 1e-9);
        assert!(day.at(23.5).temperature_c > day.at(24.5).temperature_c);
    }

    #[test]
    fn warmer_at_the_same_moisture_is_drier() {
        let air = Air::indoors(20.0, 0.6).unwrap();
        let warm = air.shifted(5.0, 0.0);
        assert_eq!(warm.vapour_pressure, air.vapour_pressure);
        assert!(warm.relative_humidity() < air.relative_humidity());
        assert!(warm.vapour_pressure_deficit() > air.vapour_pressure_deficit());
    }

    #[test]
    fn air_that_cannot_be_is_refused() {
        for (temperature_c, rh) in
            [(29.0, 55.0), (21.0, -0.1), (f64::NAN, 0.5), (21.0, f64::NAN), (295.0, 0.5)]
        {
            assert!(Air::indoors(temperature_c, rh).is_err(), "{temperature_c} C, {rh}");
        }
        assert!(Air::indoors(21.0, 55.0).unwrap_err().to_string().contains("45 % is 0.45"));
        assert!(Air::indoors(f64::INFINITY, 0.5).unwrap_err().to_string().contains("from -40 to 60"));
    }

    #[test]
    fn climates_without_air_or_with_hours_out_of_order_are_refused() {
        let air = Air::reference();
        for hours in [vec![], vec![1.0, 1.0], vec![2.0, 1.0], vec![f64::NAN]] {
            let knots: Vec<_> = hours.iter().map(|hour| (*hour, air)).collect();
            assert!(Climate::over(knots.clone(), ClimateError::NONE).is_err(), "{hours:?}");
            assert!(Climate::daily(knots, ClimateError::NONE).is_err(), "{hours:?}");
        }
        assert!(Climate::daily(vec![(25.0, air)], ClimateError::NONE).is_err());
        assert!(Climate::over(vec![(25.0, air)], ClimateError::NONE).is_ok());
    }
}
