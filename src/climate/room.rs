//! Kinds of room in plain words, and the air that they stand for.

use super::{Air, Climate, ClimateError};
use crate::climate::air::saturation_vapour_pressure;
use crate::error::{Problem, nearest};
use std::sync::LazyLock;

/// A kind of room: its air in the afternoon and before dawn.
///
/// The middle of measured rooms where there is a record of such rooms, and an estimate from memory for the others; shown as
/// what it is, and meant to be replaced by a reading.
#[derive(Debug, Clone, serde::Deserialize)]
pub struct Room {
    /// The plain words for it.
    pub words: String,
    aliases: String,
    /// Temperature in the afternoon, C.
    pub day_c: f64,
    /// Afternoon relative humidity, %.
    pub day_rh: f64,
    /// Temperature before dawn, C.
    pub night_c: f64,
    /// Relative humidity before dawn, %.
    pub night_rh: f64,
    /// Air speed past the flowers, m/s.
    pub air_speed: f64,
    /// Sunshine on the flowers at noon, W/m2.
    pub sun: f64,
    outdoors: String,
    sd_k: f64,
    sd_rh: f64,
    /// What kind of knowledge the figures are: "measured" or "from memory".
    pub tag: String,
    /// What to know about it.
    pub note: String,
}

static ROOMS: LazyLock<Vec<Room>> = LazyLock::new(|| {
    csv::Reader::from_reader(include_str!("../../reference-data/rooms.csv").as_bytes())
        .deserialize()
        .collect::<Result<_, _>>()
        .expect("the shipped table of rooms reads")
});

impl Room {
    /// Every kind of room that is known.
    pub fn all() -> &'static [Room] {
        &ROOMS
    }

    /// The room meant by some plain words.
    ///
    /// # Errors
    /// If no room is known by these words: the problem names the nearest.
    ///
    /// ```
    /// use headwater::climate::room::Room;
    /// assert_eq!(Room::find("warm barn").unwrap().words, "barn with no cooling in August");
    /// assert!(Room::find("balroom").unwrap_err().help.unwrap().contains("ballroom"));
    /// ```
    pub fn find(words: &str) -> Result<&'static Room, Problem> {
        let plain = |words: &str| words.trim().to_lowercase().replace('-', " ");
        let wanted = plain(words);
        let names = |room: &'static Room| room.aliases().chain([room.words.as_str()]);
        if let Some(room) = ROOMS.iter().find(|room| names(room).any(|n| plain(n) == wanted)) {
            return Ok(room);
        }
        let help = match nearest(&wanted, ROOMS.iter().flat_map(names)) {
            Some(near) => format!("\"{near}\"; `headwater rooms` lists them all"),
            None => "`headwater rooms` lists the words, or give the temperature and humidity".to_string(),
        };
        Err(Problem::new(format!("\"{words}\" is not a kind of room known here"))
            .expected("plain words for a room, such as \"warm barn\" or \"cooled ballroom\"")
            .help(help))
    }

    /// Other words for it.
    pub fn aliases(&self) -> impl Iterator<Item = &str> {
        self.aliases.split(';')
    }

    /// Whether it is out of doors.
    pub fn is_outdoors(&self) -> bool {
        self.outdoors == "yes"
    }

    /// Whether its air is the middle of rooms that were measured.
    pub fn is_measured(&self) -> bool {
        self.tag == "measured"
    }

    /// Where its figures are from, in words.
    pub fn known_from(&self) -> &'static str {
        if self.is_measured() { "the middle of measured rooms" } else { "estimated from memory" }
    }

    /// How far a room of these words may be from its figures.
    ///
    /// # Formula
    /// Of measured rooms, temperature has the standard deviation of the middle nine tenths, `(q95 - q05) / 3.29`. Humidity
    /// has what then gives the vapour pressure deficit its own, as rooms that are warmer hold more water, too:
    /// `sd_rh = sqrt(sd_d^2 - (sd_k de_s/dT)^2) / e_s`.
    ///
    /// # Source
    /// Quantiles: `reference-data/open/indoor-climate.csv`. For the other rooms judgement: a table of rooms at events is
    /// not in print.
    pub fn error(&self) -> ClimateError {
        ClimateError { kelvin: self.sd_k, rh: self.sd_rh / 100.0 }
    }

    fn air(&self, temperature_c: f64, rh_percent: f64, sun: f64, pressure: f64) -> Air {
        Air {
            temperature_c,
            vapour_pressure: rh_percent / 100.0 * saturation_vapour_pressure(temperature_c),
            pressure,
            speed: self.air_speed,
            sun,
            outdoors: self.is_outdoors(),
        }
    }

    /// Its air in the afternoon, with the sunshine of noon, at an air pressure in Pa.
    pub fn afternoon(&self, pressure: f64) -> Air {
        self.air(self.day_c, self.day_rh, self.sun, pressure)
    }

    /// Its climate: warmest at 15:00, coolest at 05:00, with vapour pressure following temperature. `pressure` is in Pa.
    ///
    /// `sun` gives the share of the room's noon sunshine at an hour of the day.
    pub fn climate(&self, pressure: f64, sun: impl Fn(f64) -> f64) -> Climate {
        let night = self.air(self.night_c, self.night_rh, 0.0, pressure);
        let day = self.air(self.day_c, self.day_rh, 0.0, pressure);
        let error = self.error();
        Climate { error, ..Climate::between(night, day, |hour| self.sun * sun(hour)) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_words_mean_two_rooms_and_all_are_marked() {
        let mut seen = std::collections::BTreeSet::new();
        for room in Room::all() {
            assert!(room.is_measured() || room.tag == "from memory", "{}", room.words);
            assert!(!room.is_measured() || room.note.contains("(licina-2018)"), "{}", room.words);
            for name in room.aliases().chain([room.words.as_str()]) {
                assert!(seen.insert(name.to_string()), "two rooms are called {name}");
            }
        }
    }

    #[derive(serde::Deserialize)]
    struct Quantiles {
        level: String,
        #[serde(rename = "air_C_p05")]
        low_c: f64,
        #[serde(rename = "air_C_p50")]
        middle_c: f64,
        #[serde(rename = "air_C_p95")]
        high_c: f64,
        #[serde(rename = "rh_pct_p50")]
        middle_rh: f64,
        #[serde(rename = "vpd_kPa_p05")]
        low_kpa: f64,
        #[serde(rename = "vpd_kPa_p95")]
        high_kpa: f64,
    }

    // Földváry Ličina V and others 2018, Building and Environment 142:502-512: quantiles over an open record of occupied
    // rooms, computed for this project.
    #[test]
    fn measured_rooms_are_those_of_the_record_of_indoor_climates() {
        let record = include_str!("../../reference-data/open/indoor-climate.csv");
        let rows: Vec<Quantiles> = csv::Reader::from_reader(record.as_bytes())
            .deserialize()
            .collect::<std::result::Result<_, _>>()
            .expect("the record reads");
        let measured: Vec<&Room> = Room::all().iter().filter(|room| room.is_measured()).collect();
        assert_eq!(measured.len(), 2);
        for (words, level) in
            [("cooled ballroom", "air conditioned"), ("heated hall in winter", "air conditioned / winter")]
        {
            let room = measured.iter().find(|room| room.words == words).expect("a measured room");
            let row = rows.iter().find(|row| row.level == level).expect("a group of the record");
            let close = |shown: f64, exact: f64, half: f64| {
                assert!((shown - exact).abs() <= half, "{words}: {shown}, of the record {exact}")
            };
            let range = |low: f64, high: f64| (high - low) / (2.0 * crate::numerics::normal::quantile(0.95));
            let sd_k = range(row.low_c, row.high_c);
            let saturated = saturation_vapour_pressure;
            let slope = (saturated(row.middle_c + 0.5) - saturated(row.middle_c - 0.5)) * sd_k;
            let deficit = 1000.0 * range(row.low_kpa, row.high_kpa);
            let sd_rh = (deficit.powi(2) - slope.powi(2)).sqrt() / saturated(row.middle_c);
            close(room.day_c, row.middle_c, 0.051);
            close(room.day_rh, row.middle_rh, 0.51);
            close(room.error().kelvin, sd_k, 0.06);
            close(room.error().rh, sd_rh, 0.006);
        }
    }

    #[test]
    fn a_barns_night_is_kinder_than_its_afternoon() {
        let barn = Room::find("warm barn").unwrap().climate(Air::SEA_LEVEL, |_| 0.0);
        assert!(barn.at(27.0).vapour_pressure_deficit() < 0.3 * barn.at(15.0).vapour_pressure_deficit());
    }
}
