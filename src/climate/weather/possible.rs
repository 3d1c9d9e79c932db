//! The days that an event may meet: of a record those near its date, narrowed by a forecast where there is one.

use super::reading::{Reading, dew_point};
use super::{Day, Weather};
use crate::climate::air::saturation_vapour_pressure;
use crate::climate::{Air, Climate, ClimateError};
use crate::numerics::normal;
use jiff::civil::Date;
use std::collections::BTreeMap;

/// Days so near to the date are taken to be like it.
pub const WITHIN_DAYS: i32 = 10;
/// How far typical years are shifted as a whole, as a standard deviation, K. Of the days of one typical year 5.9 % are above
/// what 10 % truly are; with this it is 9.4 % (computed from daily maxima of 16 places).
pub const BETWEEN_YEARS_K: f64 = 2.0;
/// Into how many shifts that is divided.
const SHIFTS: usize = 5;
/// The dew point moves by so much for each kelvin of the day (judgement: 0.23 to 0.43 at 15 lowland places of Europe).
pub const DEW_WITH_HEAT: f64 = 0.3;
/// The wind at two metres over that at ten (source: Allen et al. 1998 (FAO-56), equation 47, over short grass).
const NEAR_THE_GROUND: f64 = 0.748;
/// Out of doors air is never stiller, m/s; and where a record has no wind (judgement).
const STILLEST: f64 = 0.3;
const NO_WIND: f64 = 0.5;
/// A forecast of more days than this says no more than the season.
pub const LONGEST_LEAD: u32 = 10;
/// The error of a forecast of the day's high over the spread of the season, by days ahead. Judgement: our own line through published
/// points: 119 British stations (same day), Oklahoma City (12 to 24 hours), Melbourne (days 4 to 7), 15 cities of the United
/// States (no better than the season from day 9 to 11); it is none of them.
const FORECAST_RATIO: [f64; 11] = [0.28, 0.40, 0.46, 0.53, 0.60, 0.66, 0.71, 0.76, 0.83, 0.90, 0.96];
/// From so many days ahead a forecast is drawn towards the season.
const DRAWN_FROM: u32 = 5;

/// One day that an event may meet.
#[derive(Debug, Clone, PartialEq)]
pub struct PossibleDay {
    /// What it is called: its date, or its place among the days of the season.
    pub name: String,
    /// Which days came together: those of one year are no independent witnesses.
    pub year: i32,
    /// The warmest of the day, C.
    pub high_c: f64,
    /// Its air, on the clock of the event.
    pub climate: Climate,
}

/// The days that an event may meet, all as likely.
#[derive(Debug, Clone, PartialEq)]
pub struct PossibleDays {
    /// Where they come from, in words.
    pub from: String,
    /// The days.
    pub days: Vec<PossibleDay>,
    /// What to know of them.
    pub remarks: Vec<String>,
}

/// The event that days are looked for.
#[derive(Debug, Clone, Copy)]
pub struct Around {
    /// Its date.
    pub date: Date,
    /// From the first to the last hour of interest, on its clock.
    pub span: (f64, f64),
    /// How far its clock is ahead of that of the record, h.
    pub ahead: f64,
    /// Air pressure, Pa.
    pub pressure: f64,
}

/// The days of a record within [`WITHIN_DAYS`] of the date of an event, in any year; those of a single year shifted as well by
/// what years differ. `None` if there are none.
pub fn near(weather: &Weather, around: &Around) -> Option<PossibleDays> {
    let by_date: BTreeMap<Date, &Day> = weather.days.iter().map(|day| (day.date, day)).collect();
    let close: Vec<&Day> =
        weather.days.iter().filter(|d| apart(d.date, around.date) <= WITHIN_DAYS).collect();
    let one_year = weather.is_one_year();
    let mut remarks = weather.remarks.clone();
    let mut days: Vec<PossibleDay> = Vec::new();
    for day in &close {
        let knots = knots(day, &by_date, around);
        let climate = Climate::over(knots, ClimateError::TYPED).ok()?;
        let name = day.date.strftime(if one_year { "%-d %b" } else { "%-d %b %Y" }).to_string();
        days.push(PossibleDay { name, year: i32::from(day.date.year()), high_c: high(&climate), climate });
    }
    if days.is_empty() {
        return None;
    }
    if one_year {
        remarks.push(format!(
            "one year is too even, so each of its days is met {SHIFTS} times, warmer or cooler by what years differ: {BETWEEN_YEARS_K} C (an assumption)"
        ));
        days = (0..SHIFTS).flat_map(|i| days.iter().map(move |day| between_years(day, i))).collect();
    }
    // The coolest first, so that lots which meet them in turn meet all of their heat.
    days.sort_by(|a, b| a.high_c.total_cmp(&b.high_c));
    let years = days.iter().map(|d| d.year).collect::<std::collections::BTreeSet<_>>().len();
    let what = if one_year { "one year".to_string() } else { format!("{years} years") };
    let from = format!("{}, {} days within {WITHIN_DAYS} of the date, of {what}", weather.from, close.len());
    Some(PossibleDays { from, days, remarks })
}

/// The standard normals in the middles of `n` equal parts, stretched to a variance of 1.
pub fn even_normals(n: usize) -> Vec<f64> {
    let z: Vec<f64> = (0..n).map(|i| normal::quantile((i as f64 + 0.5) / n as f64)).collect();
    let sd = (z.iter().map(|z| z * z).sum::<f64>() / n as f64).sqrt();
    z.into_iter().map(|z| if sd > 0.0 { z / sd } else { 0.0 }).collect()
}

/// A day of a typical year in the `i`-th of some warmer and cooler years.
fn between_years(day: &PossibleDay, i: usize) -> PossibleDay {
    let kelvin = BETWEEN_YEARS_K * even_normals(SHIFTS)[i];
    let name = match kelvin {
        k if k > 0.05 => format!("{} in a year {k:.1} C warmer", day.name),
        k if k < -0.05 => format!("{} in a year {:.1} C cooler", day.name, -k),
        _ => day.name.clone(),
    };
    PossibleDay { name, year: i as i32, ..warmed(day, kelvin) }
}

/// The same day warmer as a whole, its dew point with it as on warmer days.
pub fn warmed(day: &PossibleDay, kelvin: f64) -> PossibleDay {
    let climate = day.climate.map(|_, air| {
        let dew = dew_point(air.temperature_c, air.relative_humidity()) + DEW_WITH_HEAT * kelvin;
        let temperature_c = air.temperature_c + kelvin;
        Air { temperature_c, vapour_pressure: saturation_vapour_pressure(dew.min(temperature_c)), ..air }
    });
    PossibleDay { high_c: day.high_c + kelvin, climate, name: day.name.clone(), year: day.year }
}

/// The error of a forecast made so many days ahead over the spread of the season; 1 beyond [`LONGEST_LEAD`].
pub fn forecast_ratio(lead: u32) -> f64 {
    FORECAST_RATIO.get(lead as usize).copied().unwrap_or(1.0)
}

/// Narrows days by a forecast of the high made so many days ahead: their spread about it is that of the season times the
/// error of such forecasts. A forecast of more than [`LONGEST_LEAD`] days changes nothing.
///
/// # Formula
/// ```text
/// high = f + r (high - m)     m the mean of the season, r the ratio by lead
/// f    = the forecast, from five days ahead on drawn towards the season: m + (forecast - m) sqrt(1 - r^2)
/// ```
pub fn forecast(all: PossibleDays, high_c: f64, lead: u32) -> PossibleDays {
    let Some(ratio) = FORECAST_RATIO.get(lead as usize).copied() else {
        let mut all = all;
        all.remarks.push(
            "a forecast for a day so far ahead says no more than the season, and is left out".to_string(),
        );
        return all;
    };
    let mean = all.days.iter().map(|d| d.high_c).sum::<f64>() / all.days.len() as f64;
    let drawn = if lead >= DRAWN_FROM { (1.0 - ratio * ratio).sqrt() } else { 1.0 };
    let middle = mean + drawn * (high_c - mean);
    let days =
        all.days.iter().map(|day| warmed(day, middle + ratio * (day.high_c - mean) - day.high_c)).collect();
    let mut remarks = all.remarks;
    remarks.push(format!(
        "forecasts {lead} days ahead err by {:.0} % of the spread of the season (our line through published points)",
        100.0 * ratio
    ));
    PossibleDays { from: all.from, days, remarks }
}

/// How many days lie between two dates of the calendar, whatever their years.
fn apart(a: Date, b: Date) -> i32 {
    // The days of a leap year, so that 29 February has its place.
    let place = |d: Date| i32::from(jiff::civil::date(2000, d.month(), d.day()).day_of_year());
    let between = (place(a) - place(b)).abs();
    between.min(366 - between)
}

/// The warmest between ten in the morning and eight in the evening of the day itself, C.
fn high(climate: &Climate) -> f64 {
    (10..=20).map(|h| climate.at(f64::from(h)).temperature_c).fold(f64::NEG_INFINITY, f64::max)
}

/// The air of a day and of those around it, on the clock of the event. Where the record does not go on, as where the months of
/// a typical year are joined, the last day that does is repeated.
fn knots(day: &Day, by_date: &BTreeMap<Date, &Day>, around: &Around) -> Vec<(f64, Air)> {
    let days_off = |hours: f64| (hours / 24.0).floor() as i64;
    let (first, last) = (days_off(around.span.0) - 1, days_off(around.span.1) + 1);
    let beside = |by: i64| {
        let step = -by.signum();
        (0..=by.abs())
            .map(|back| by + back * step)
            .find_map(|offset| {
                by_date.get(&day.date.checked_add(jiff::Span::new().days(offset)).ok()?).copied()
            })
            .unwrap_or(day)
    };
    let mut readings: Vec<(f64, Reading)> = Vec::new();
    for by in first.min(0)..=last.max(0) {
        for reading in &beside(by).readings {
            let hour = 24.0 * by as f64 + reading.hour + around.ahead;
            // Hour 24 of one day and hour 0 of the next are the same.
            if readings.last().is_none_or(|(before, _)| hour > before + 1e-6) {
                readings.push((hour, *reading));
            }
        }
    }
    let sun_after = |i: usize| readings.get(i + 1).and_then(|(_, r)| r.sun);
    (0..readings.len())
        .map(|i| {
            let (hour, reading) = readings[i];
            // Sunshine is that of the hour before, temperature that of the moment.
            let sun = match (reading.sun, sun_after(i)) {
                (Some(before), Some(after)) => 0.5 * (before + after),
                (before, after) => before.or(after).unwrap_or(0.0),
            };
            let air = Air {
                temperature_c: reading.temperature_c,
                vapour_pressure: saturation_vapour_pressure(reading.dew_point_c.min(reading.temperature_c)),
                pressure: around.pressure,
                speed: reading.wind.map_or(NO_WIND, |wind| (NEAR_THE_GROUND * wind).max(STILLEST)),
                sun,
                outdoors: true,
            };
            (hour, air)
        })
        .collect()
}
