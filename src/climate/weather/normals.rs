//! Days of a season from a line of normals: "low 14, high 26; one day in ten above 31; middling".

use super::possible::{DEW_WITH_HEAT, PossibleDay, PossibleDays, even_normals};
use crate::climate::air::saturation_vapour_pressure;
use crate::climate::{Air, Climate};
use crate::error::Problem;
use crate::units::{Scale, Temperature};

/// How many days stand for the season, and how many of them for a year.
const DAYS: usize = 100;
const YEARS: usize = 10;
/// The standard normal that one in ten exceeds.
const ONE_IN_TEN: f64 = 1.281_552;
/// How far the highs of a summer differ where nothing is said, as a standard deviation, K (computed: cool and temperate
/// places 3.3 to 4.8, Mediterranean ones 3).
const USUAL_SD: f64 = 4.0;
/// How far the low moves with the high (judgement: correlations of 0.2 to 0.7 at 25 places).
const LOW_WITH_HIGH: f64 = 0.5;
/// What is left of the spread of dew points, as a standard deviation, K (computed: 2.5 to 3.8 at 15 places).
const DEW_SD: f64 = 2.5;
/// Air out of doors, m/s (judgement).
const SPEED: f64 = 0.5;
/// How far the dew point lies below the low, K, by word (computed: six weather years gave 0.3 to 0.6, 2.8 to
/// 4.1 and 5.9).
const MOISTURE: [(&str, f64); 3] = [("muggy", 0.5), ("middling", 3.0), ("dry", 5.0)];

/// What a line of normals says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Normals {
    /// The mean low and the mean high, C.
    low_c: f64,
    high_c: f64,
    /// What one day in ten exceeds, C, where it is said.
    one_in_ten_c: Option<f64>,
    /// The dew point, C, and whether it was said.
    dew_c: f64,
    moisture_is_said: bool,
    /// How its temperatures are written.
    pub scale: Scale,
}

impl Normals {
    /// Reads a line.
    ///
    /// # Errors
    /// A part that says none of these, a low or a high that is missing, and temperatures out of order.
    ///
    /// ```
    /// use headwater::climate::weather::normals::Normals;
    /// assert!(Normals::read("low 14 C, high 26 C; one day in ten above 31 C; middling").is_ok());
    /// assert!(Normals::read("low 57F, high 79F").is_ok());
    /// assert!(Normals::read("high 26 C").unwrap_err().message.contains("low"));
    /// ```
    pub fn read(text: &str) -> Result<Normals, Problem> {
        const EXAMPLE: &str = "\"low 14 C, high 26 C; one day in ten above 31 C; middling\"";
        let (mut low, mut high, mut tenth, mut dew, mut word) = (None, None, None, None, None);
        for part in text.split([',', ';']).map(str::trim).filter(|p| !p.is_empty()) {
            let lower = part.to_lowercase();
            if let Some(found) = MOISTURE.iter().find(|(word, _)| *word == lower) {
                word = Some(found.1);
                continue;
            }
            let digit = lower.find(|c: char| c.is_ascii_digit() || c == '-');
            let (said, number) = lower.split_at(digit.unwrap_or(lower.len()));
            let said = said.trim();
            let slot = match said {
                "low" | "lows" | "night" => &mut low,
                "high" | "highs" | "day" => &mut high,
                "one day in ten above" | "one day in ten over" | "one in ten above" => &mut tenth,
                "dew point" | "dew" => &mut dew,
                _ => {
                    let problem = Problem::new(format!("{part:?} says nothing that is known of normals"));
                    return Err(problem
                        .expected(
                            "low, high, one day in ten above, dew point, or one of dry, middling, muggy",
                        )
                        .help(EXAMPLE));
                }
            };
            let read: Temperature = number.trim().parse().map_err(|e: crate::units::UnitError| {
                Problem::new(format!("{part:?} holds no temperature")).expected(e.expected).help(e.help)
            })?;
            *slot = Some(read);
        }
        let missing = |what: &str| {
            Problem::new(format!("the {what} is missing")).expected("at least a low and a high").help(EXAMPLE)
        };
        let (low, high) = (low.ok_or_else(|| missing("low"))?, high.ok_or_else(|| missing("high"))?);
        let tops = tenth.map_or(f64::INFINITY, |t| t.celsius);
        if low.celsius > high.celsius || high.celsius >= tops {
            let problem = Problem::new(format!("{text:?} goes down where it should go up"));
            return Err(problem
                .expected("a low below the high, and the high below what one day in ten exceeds")
                .help(EXAMPLE));
        }
        let below = word.unwrap_or(MOISTURE[MOISTURE.len() - 1].1);
        Ok(Normals {
            low_c: low.celsius,
            high_c: high.celsius,
            one_in_ten_c: tenth.map(|t| t.celsius),
            dew_c: dew.map_or(low.celsius - below, |d| d.celsius),
            moisture_is_said: word.is_some() || dew.is_some(),
            scale: high.scale,
        })
    }

    /// The days of the season, on any clock, at an air pressure in Pa.
    pub fn days(&self, pressure: f64) -> PossibleDays {
        let sd = self.one_in_ten_c.map_or(USUAL_SD, |tenth| (tenth - self.high_c) / ONE_IN_TEN);
        let z = even_normals(DAYS);
        let days = (0..DAYS).map(|i| {
            let warmer = sd * z[i];
            let (high_c, low_c) = (self.high_c + warmer, self.low_c + LOW_WITH_HIGH * warmer);
            // Another order of the same numbers, so that hot days are as often moist as they are.
            let dew = self.dew_c + DEW_WITH_HEAT * warmer + DEW_SD * z[(37 * i + 11) % DAYS];
            let air = |c: f64| Air {
                temperature_c: c,
                vapour_pressure: saturation_vapour_pressure(dew.min(c)),
                pressure,
                speed: SPEED,
                sun: 0.0,
                outdoors: true,
            };
            let climate = Climate::between(air(low_c.min(high_c)), air(high_c), |_| 0.0);
            PossibleDay { name: format!("a day of {high_c:.0} C"), year: (i % YEARS) as i32, high_c, climate }
        });
        let mut remarks = Vec::new();
        if self.one_in_ten_c.is_none() {
            remarks.push(format!("highs of the season differ by {USUAL_SD} C: add \"one day in ten above ...\" to the normals if you know"));
        }
        if !self.moisture_is_said {
            remarks.push(
                "the air is taken to be dry, to be safe: add dry, middling or muggy to the normals"
                    .to_string(),
            );
        }
        PossibleDays { from: format!("normals, {DAYS} days"), days: days.collect(), remarks }
    }
}
