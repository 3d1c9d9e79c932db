//! Kinds of room in plain words, and the air that they stand for.

use super::{Air, Climate};
use crate::climate::air::saturation_vapour_pressure;
use crate::error::{Problem, nearest};
use std::sync::LazyLock;

/// A kind of room: its air in the afternoon and before dawn.
///
/// Every figure is an estimate from memory, shown as such, and meant to be replaced by a reading.
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
    /// What kind of knowledge the figures are.
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
        Climate::between(night, day, |hour| self.sun * sun(hour))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_words_mean_two_rooms_and_all_are_marked() {
        let mut seen = std::collections::BTreeSet::new();
        for room in Room::all() {
            assert_eq!(room.tag, "from memory", "{}", room.words);
            for name in room.aliases().chain([room.words.as_str()]) {
                assert!(seen.insert(name.to_string()), "two rooms are called {name}");
            }
        }
    }

    #[test]
    fn a_barns_night_is_kinder_than_its_afternoon() {
        let barn = Room::find("warm barn").unwrap().climate(Air::SEA_LEVEL, |_| 0.0);
        assert!(barn.at(27.0).vapour_pressure_deficit() < 0.3 * barn.at(15.0).vapour_pressure_deficit());
    }
}
