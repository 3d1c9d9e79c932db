//! A space worked out from its building, its doors and its guests: `[space.building]` and `[[space.guests]]`.
//!
//! The climate given for such a space is that of the air outside.

use super::cooling;
use super::read::{Found, Section};
use super::spaces::{Read, Venue};
use crate::climate::balance::{ACTIVITIES, AIRING, Building, FABRICS, Fabric, Load, indoors};
use crate::climate::{Air, Climate, ClimateError};
use crate::error::Problem;
use crate::units::{AirChanges, Area, Length, Moment, RoomVolume, Share, Temperature, short};

/// Height taken for a hall of which only the volume is known, m (judgement).
const HEIGHT: f64 = 4.0;
/// Heights that a room may have, m.
const HEIGHTS: std::ops::RangeInclusive<f64> = 2.0..=60.0;

/// Fresh air that each guest gets at least, unless the file says how air gets in while they are there, m3 h-1: 8 litres a second, as
/// rules for ventilation ask (common practice, from memory): nobody keeps the doors shut on a crowd for long.
const FOR_EACH_GUEST: f64 = 28.8;

/// How fast air is let in, and how it moves about the flowers.
#[derive(Debug, Clone)]
struct Airing {
    per_hour: f64,
    speed: f64,
    words: String,
    /// Said in words, not as a number.
    loose: bool,
}

/// Some people, from when to when.
struct Guests {
    from: f64,
    to: f64,
    people: f64,
    sensible: f64,
    latent: f64,
    candles: f64,
    airing: Option<Airing>,
}

/// A building as it was read.
pub struct Plan {
    building: Building,
    words: String,
    airing: Airing,
    cooled_to: Option<f64>,
    heated_to: Option<f64>,
    guests: Vec<Guests>,
    height_assumed: bool,
}

/// Reads the building and the guests of a space. `Ok(None)` where there is no building; `Err` where it is wrong, the
/// problems remembered.
pub fn plan(section: &Section) -> Result<Option<Plan>, ()> {
    let before = section.source.problems.borrow().len();
    let own = section.section("building");
    let guests: Vec<Option<Guests>> = section.sections("guests").iter().map(guests).collect();
    if !own.is_present() {
        return if section.source.problems.borrow().len() > before { Err(()) } else { Ok(None) };
    }
    let words: Vec<(&str, &Fabric)> = FABRICS.iter().map(|f| (f.words, f)).collect();
    if !own.has("built") {
        own.missing("built", "what its walls are", "\"timber\"   # or canvas, glass, stone, insulated");
    }
    let fabric = own.option("built", &words);
    let sun = sun_in(&own);
    let airing = airing(&own).unwrap_or_else(|| named(&AIRING[0]));
    let cooled = own.quantity::<Temperature>("cooling");
    let heated = own.quantity::<Temperature>("heating");
    if let (Some(cooled), Some(heated)) = (&cooled, &heated)
        && heated.value.celsius > cooled.value.celsius
    {
        let problem = Problem::new(format!("heating to {} fights cooling to {}", heated.value, cooled.value))
            .expected("heating that stops below where cooling starts")
            .help("swap heating and cooling");
        section.source.wrong(heated.span.clone(), problem);
    }
    let size = size(&own);
    own.finish();
    if section.source.problems.borrow().len() > before {
        return Err(());
    }
    // What is missing has been remembered by `finish`.
    let (Some(fabric), Some(size)) = (fabric, size) else { return Err(()) };
    Ok(Some(Plan {
        building: Building::new(fabric, size.floor, size.height, sun),
        words: format!("{}, {}", fabric.words, size.words),
        airing,
        cooled_to: cooled.map(|c| c.value.celsius),
        heated_to: heated.map(|h| h.value.celsius),
        guests: guests.into_iter().flatten().collect(),
        height_assumed: size.assumed,
    }))
}

struct Size {
    floor: f64,
    height: f64,
    words: String,
    assumed: bool,
}

/// Floor and height out of two of volume, floor area and height.
fn size(own: &Section) -> Option<Size> {
    let floor = own.quantity::<Area>("floor_area");
    let volume = own.quantity::<RoomVolume>("volume");
    let height = own.quantity::<Length>("height");
    let written = |key: &'static str| own.text(key).map_or(String::new(), |f| f.value);
    if own.has("floor_area") && own.has("volume") && own.has("height") {
        let problem = Problem::new("floor area, height and volume are one too many")
            .expected("two of the three")
            .help("take volume out");
        own.source.wrong(own.place_of("volume"), problem);
        return None;
    }
    if !own.has("volume") {
        for (key, what, example) in [
            ("floor_area", "the floor, in m2 or sq ft", "\"200 m2\""),
            ("height", "the mean height of the room, in m or ft", "\"5 m\""),
        ] {
            if !own.has(key) {
                own.missing(key, what, example);
            }
        }
    }
    let (floor, height, words, assumed) = match (floor, volume, height) {
        (Some(floor), None, Some(height)) => (
            floor.value.square_metres,
            height.value.metres,
            format!("{} by {}", written("floor_area"), written("height")),
            false,
        ),
        (None, Some(volume), height) => {
            let assumed = height.is_none();
            let height = height.map_or(HEIGHT, |h| h.value.metres);
            (volume.value.cubic_metres / height, height, written("volume"), assumed)
        }
        (Some(floor), Some(volume), None) => (
            floor.value.square_metres,
            volume.value.cubic_metres / floor.value.square_metres,
            written("volume"),
            false,
        ),
        _ => return None, // missing or wrong: told already
    };
    if !HEIGHTS.contains(&height) {
        let key = if own.has("height") { "height" } else { "volume" };
        let problem = Problem::new(format!("a room {} m high is not a room for guests", short(height)))
            .expected(format!("a mean height from {} to {} m", HEIGHTS.start(), HEIGHTS.end()))
            .help("give floor_area and height of the room itself, such as \"200 m2\" and \"5 m\"");
        own.source.wrong(own.place_of(key), problem);
        return None;
    }
    Some(Size { floor, height, words, assumed })
}

/// The share of the sunshine on the roof that comes in, where it is given.
fn sun_in(own: &Section) -> Option<f64> {
    let found = own.text("sun_in")?;
    if ["none", "0", "0 %"].contains(&found.value.trim()) {
        return Some(0.0);
    }
    own.quantity::<Share>("sun_in").map(|s| s.value.percent / 100.0)
}

fn named((words, per_hour, speed): &(&str, f64, f64)) -> Airing {
    Airing { per_hour: *per_hour, speed: *speed, words: words.to_string(), loose: true }
}

/// How air gets in: words, or air changes an hour.
fn airing(own: &Section) -> Option<Airing> {
    let Found { value, span } = own.text("air")?;
    let wanted = value.trim().to_lowercase();
    if let Some(found) = AIRING.iter().find(|(words, ..)| *words == wanted) {
        return Some(named(found));
    }
    match value.parse::<AirChanges>() {
        Ok(changes) => Some(Airing {
            per_hour: changes.per_hour,
            speed: Air::STILL,
            words: format!("{} air changes an hour", short(changes.per_hour)),
            loose: false,
        }),
        Err(e) => {
            let words: Vec<&str> = AIRING.iter().map(|(words, ..)| *words).collect();
            let near = crate::error::nearest(&wanted, words.iter().copied()).unwrap_or(words[0]);
            let problem = Problem::new(format!("`air` cannot be {value:?}"))
                .expected(format!("{}, or {}", words.join(", "), e.expected))
                .help(format!("air = \"{near}\""));
            own.source.wrong(span, problem);
            None
        }
    }
}

/// A whole number of people or candles.
fn number(own: &Section, key: &'static str) -> Option<f64> {
    let Found { value, span } = own.text(key)?;
    match value.trim().parse::<u32>() {
        Ok(n) if n <= 20_000 => Some(f64::from(n)),
        _ => {
            let problem = Problem::new(format!("`{key}` cannot be {value:?}"))
                .expected("a whole number, at most 20000")
                .help(format!("{key} = 120"));
            own.source.wrong(span, problem);
            None
        }
    }
}

/// One `[[space.guests]]`.
fn guests(own: &Section) -> Option<Guests> {
    let from = own.required::<Moment>("from", "when these guests come", "\"17:00\"");
    let to = own.required::<Moment>("to", "when these guests leave", "\"23:00\"");
    let people = if own.has("people") {
        number(own, "people")
    } else {
        own.missing("people", "how many guests there are", "120");
        None
    };
    let words: Vec<(&str, (f64, f64))> = ACTIVITIES.iter().map(|(words, s, l)| (*words, (*s, *l))).collect();
    let (sensible, latent) = own.option("doing", &words).unwrap_or(words[0].1);
    let candles = number(own, "candles").unwrap_or(0.0);
    let airing = airing(own);
    own.finish();
    let (from, to) = (from?, to?);
    if to.value.hours <= from.value.hours {
        let problem = Problem::new(format!("these guests leave at {}, not after {}", to.value, from.value))
            .expected("an end after the beginning; plain clock times are those of the event's own day")
            .help(format!("to = \"next day {}\" if that is after midnight", to.value.clock()));
        own.source.wrong(to.span, problem);
        return None;
    }
    Some(Guests {
        from: from.value.hours,
        to: to.value.hours,
        people: people?,
        sensible,
        latent,
        candles,
        airing,
    })
}

impl Plan {
    /// Whether cooling holds a set point in it.
    pub fn is_cooled(&self) -> bool {
        self.cooled_to.is_some()
    }

    /// The guests there at an hour.
    fn there(&self, hour: f64) -> impl Iterator<Item = &Guests> {
        self.guests.iter().filter(move |g| (g.from..g.to).contains(&hour))
    }

    /// The people there at an hour.
    fn people(&self, hour: f64) -> f64 {
        self.there(hour).map(|g| g.people).sum()
    }

    /// How air gets in at an hour: as the last of the guests there say, or as the building does.
    fn airing_at(&self, hour: f64) -> &Airing {
        self.there(hour).filter_map(|g| g.airing.as_ref()).last().unwrap_or(&self.airing)
    }

    /// Air changes an hour, which are enough for the guests unless the file says how many there are while they are there.
    fn air_changes(&self, hour: f64) -> f64 {
        let airing = self.airing_at(hour);
        let said = !airing.loose || self.there(hour).any(|g| g.airing.is_some());
        let needed = if said { 0.0 } else { self.people(hour) * FOR_EACH_GUEST / self.building.volume };
        airing.per_hour.max(needed)
    }

    /// The most people there at once, and whether some of them have the doors opened for fresh air.
    fn crowd(&self) -> (f64, bool) {
        let hours = || self.guests.iter().map(|g| g.from);
        let most = hours().map(|hour| self.people(hour)).fold(0.0, f64::max);
        (most, hours().any(|hour| self.air_changes(hour) > self.airing_at(hour).per_hour))
    }

    /// The air inside, the climate outside given.
    pub fn inside(&self, outside: Read, cooling: Option<cooling::Hours>, name: &str, venue: &Venue) -> Read {
        let Read { climate: outdoors, from, mut assumptions, scale } = outside;
        let outdoors = outdoors.hourly();
        let load = |hour: f64| {
            let start = Load {
                cooled_to: self.cooled_to.filter(|_| !cooling.is_some_and(|c| c.is_off(hour))),
                heated_to: self.heated_to,
                ..Load::empty(outdoors.at(hour), self.air_changes(hour))
            };
            self.there(hour).fold(start, |load, g| Load {
                candles: load.candles + g.candles,
                ..load.with_people(g.people, g.sensible, g.latent)
            })
        };
        // A day more than the event's own, because a piece may have to last into the next morning.
        let (first, last) = (venue.span.0.floor(), venue.span.1.ceil() + 24.0);
        let climate = Climate::over(indoors(&self.building, first, last, load), ClimateError::BALANCED)
            .expect("quarters of an hour rise")
            .map(|hour, air| Air { speed: self.airing_at(hour).speed, ..air });
        let (most, need_air) = self.crowd();
        if need_air {
            assumptions.push(format!(
                "\"{name}\": fresh air of 8 litres a second for each guest: add `air` to [[space.guests]] if not"
            ));
        }
        let crowd = match most {
            0.0 => "nobody in it".to_string(),
            people => format!("up to {people:.0} guests"),
        };
        if self.cooled_to.is_some() || self.heated_to.is_some() {
            assumptions.push(format!("\"{name}\": its cooling and heating are strong enough for the day"));
        }
        if self.height_assumed {
            assumptions.push(format!("\"{name}\": {HEIGHT} m high: add `height` to [space.building]"));
        }
        assumptions.push(format!(
            "\"{name}\": its air is worked out from walls, doors, sun and guests, a rough balance: a reading is better"
        ));
        let from = format!("worked out: {}, {}, {crowd}; outside {from}", self.words, self.airing.words);
        Read { climate, from, assumptions, scale }
    }
}
