//! A day that nobody knows yet: `weather`, a record of it, or `normals`; and `forecast`, once there is one.

use super::section::{Found, Section};
use super::site::{Met, Site, SpaceClimate};
use crate::climate::Climate;
use crate::climate::weather::normals::Normals;
use crate::climate::weather::possible::{Around, LONGEST_LEAD, PossibleDays, forecast, near};
use crate::climate::weather::{Clock, Weather};
use crate::error::{Problem, reason};
use crate::units::{Scale, Temperature};

/// Keys that go with either.
pub const WITH_DAYS: [&str; 2] = ["forecast", "forecast_days"];
/// No clock is further ahead of another, h.
const MOST_AHEAD: f64 = 26.0;
/// Nearer to the equator clocks are hardly ever put forward, degrees (judgement).
const CLOCKS_CHANGE_BEYOND: f64 = 30.0;

/// The days of a record of weather; `None` where something is wrong, the problems remembered.
pub fn recorded(section: &Section, name: &str, file: Found<String>, site: &Site) -> Option<SpaceClimate> {
    let said = section.text("clock_ahead").map(|found| hours_ahead(section, found));
    let text = (site.load)(&file.value)
        .map_err(|e| {
            let problem =
                Problem::new(format!("the weather \"{}\" cannot be read: {}", file.value, reason(&e)))
                    .expected("an EPW or TMY3 file, or a CSV of hours")
                    .help("give its name as seen from the folder of this file");
            section.source.wrong(file.span.clone(), problem);
        })
        .ok()?;
    let weather = Weather::read(&file.value, &text)
        .map_err(|e| section.source.problems.borrow_mut().extend(e.problems))
        .ok()?;
    let mut assumptions = Vec::new();
    // Where the place and its time zone are known, so is how far its clock is ahead of the world's.
    let of_the_world = site.sky.place.map(|(_, midnight)| {
        let epoch = jiff::civil::date(1970, 1, 1);
        (site.sky.date.duration_since(epoch).as_secs_f64() - midnight) / 3600.0
    });
    let known = match (weather.clock, of_the_world, weather.zone) {
        (Clock::World, Some(ahead), _) => Some(ahead),
        (Clock::Standard, Some(ahead), Some(zone)) => Some(ahead - zone),
        _ => None,
    };
    let ahead = match (said, weather.clock) {
        (Some(said), _) => said?,
        (None, _) if known.is_some() => known.unwrap_or_default(),
        (None, Clock::World) => {
            let problem = Problem::new(format!("\"{}\" is kept by the world's clock", file.value))
                .expected("how far a clock at the venue is ahead of it on the day, in hours")
                .help("below `weather`, clock_ahead = \"2 h\" for a summer in the middle of Europe");
            section.source.wrong(file.span.clone(), problem);
            return None;
        }
        (None, Clock::Standard) => {
            let latitude = weather.latitude.unwrap_or(site.sky.latitude_deg);
            let in_summer = (4..=10).contains(&site.sky.date.month()) == (latitude >= 0.0);
            let forward = in_summer && latitude.abs() > CLOCKS_CHANGE_BEYOND;
            let is = if forward { "one hour" } else { "no hour" };
            assumptions.push(format!(
                "\"{name}\": its weather is in standard time, and clocks are {is} ahead of that on the day: say clock_ahead = \"{}\" if not",
                if forward { "0 h" } else { "1 h" }
            ));
            if forward { 1.0 } else { 0.0 }
        }
        (None, Clock::Unsaid) => {
            assumptions.push(format!(
                "\"{name}\": the hours of its weather are those of a clock at the venue: say clock_ahead = \"1 h\" if that is an hour ahead"
            ));
            0.0
        }
    };
    let around = Around { date: site.sky.date, span: site.span, ahead, pressure: site.pressure };
    let Some(days) = near(&weather, &around) else {
        let problem =
            Problem::new(format!("\"{}\" has no whole day within ten of {}", file.value, site.sky.date))
                .expected("a record that holds the season of the event")
                .help("take a record of whole years, or give normals = \"low 14 C, high 26 C\"");
        section.source.wrong(file.span.clone(), problem);
        return None;
    };
    told(section, name, days, None, assumptions)
}

/// How many hours a clock is ahead, or behind if below 0; `None` where that cannot be read.
fn hours_ahead(section: &Section, Found { value, span }: Found<String>) -> Option<f64> {
    let number = value.trim().trim_end_matches(|c: char| c.is_alphabetic()).trim().parse::<f64>().ok();
    let read = number.filter(|hours| hours.abs() <= MOST_AHEAD);
    if read.is_none() {
        let problem = Problem::new(format!("`clock_ahead` cannot be {value:?}"))
            .expected("hours, such as 1 h for summer time against standard time; 0 h if clocks are the same, below 0 if behind");
        section.source.wrong(span, problem.help("clock_ahead = \"1 h\""));
    }
    read
}

/// The days of typed normals; `None` where something is wrong, the problems remembered.
pub fn normal(section: &Section, name: &str, text: Found<String>, site: &Site) -> Option<SpaceClimate> {
    let normals = Normals::read(&text.value)
        .map_err(|problem| section.source.wrong(text.span.clone(), problem))
        .ok()?;
    told(section, name, normals.days(site.pressure), Some(normals.scale), Vec::new())
}

/// The days, narrowed by a forecast where there is one, as the climate of a space.
fn told(
    section: &Section,
    name: &str,
    days: PossibleDays,
    scale: Option<Scale>,
    mut assumptions: Vec<String>,
) -> Option<SpaceClimate> {
    let high = section.quantity::<Temperature>("forecast");
    let ahead = section.text("forecast_days");
    let days = match (high, ahead) {
        (None, None) => days,
        (Some(high), Some(Found { value, span })) => {
            let Ok(lead) =
                value.trim().trim_end_matches("days").trim_end_matches("day").trim().parse::<u32>()
            else {
                let problem = Problem::new(format!("`forecast_days` cannot be {value:?}"));
                section.source.wrong(
                    span,
                    problem
                        .expected("how many days ahead it was made: 0 on the day itself")
                        .help("forecast_days = 3"),
                );
                return None;
            };
            forecast(days, high.value.celsius, lead.min(LONGEST_LEAD + 1))
        }
        (high, _) => {
            let (has, lacks) =
                if high.is_some() { ("forecast", "forecast_days") } else { ("forecast_days", "forecast") };
            let problem = Problem::new(format!("`{has}` needs `{lacks}` beside it"));
            let problem = problem.expected("the high that is forecast, and how many days ahead that was");
            section
                .source
                .wrong(section.place_of(has), problem.help("forecast = \"31 C\" and forecast_days = 3"));
            return None;
        }
    };
    assumptions.extend(days.remarks.iter().map(|remark| format!("\"{name}\": {remark}")));
    let met = days
        .days
        .iter()
        .map(|day| Met { name: day.name.clone(), year: day.year, high_c: day.high_c })
        .collect();
    let climates = days.days.into_iter().map(|day| day.climate).collect();
    let climate = Climate::one_of(climates).expect("there are days");
    let mut read = SpaceClimate::new(climate, days.from, scale);
    (read.assumptions, read.met) = (assumptions, met);
    Some(read)
}
