//! A space worked out from its building, its doors and its guests: `[space.building]` and `[[space.guests]]`.
//!
//! The climate given for such a space is that of the air outside.

use super::cooling;
use super::section::{Found, Section};
use super::site::{Site, SpaceClimate};
use crate::climate::balance::{ACTIVITIES, AIRING, Building, CANVAS, FABRICS, Fabric, Load, indoors};
use crate::climate::{Air, Climate, ClimateError};
use crate::error::Problem;
use crate::units::{AirChanges, Area, Length, RoomVolume, Share, Temperature, short};

/// Height taken for a hall of which only the volume is known, m (judgement).
const HEIGHT: f64 = 4.0;
/// Heights that a room may have, m.
const HEIGHTS: std::ops::RangeInclusive<f64> = 2.0..=60.0;

/// Fresh air for each guest, m3 h-1, where the file does not say how air gets in while guests are there: 8 litres a second, as
/// rules for ventilation ask (common practice, from memory). Nobody keeps the doors shut on a crowd for long.
const FRESH_AIR_A_GUEST: f64 = 28.8;

/// How fast fresh air comes in, and how fast air moves about the flowers.
#[derive(Debug, Clone)]
struct Ventilation {
    /// Air changes an hour.
    per_hour: f64,
    /// Air speed at the flowers, m/s.
    speed: f64,
    words: String,
    /// Whether it was given in words rather than as a number.
    in_words: bool,
}

/// A group of guests, from when to when they are there.
struct Guests {
    from: f64,
    to: f64,
    people: f64,
    /// Heat that each gives off, W.
    sensible: f64,
    /// Heat in the moisture that each gives off, W.
    latent: f64,
    candles: f64,
    /// How air gets in while they are there, where the file says.
    ventilation: Option<Ventilation>,
}

/// A building as it was read.
pub struct Plan {
    building: Building,
    is_tent: bool,
    words: String,
    ventilation: Ventilation,
    /// Set point of its cooling, C.
    cooled_to: Option<f64>,
    /// Set point of its heating, C.
    heated_to: Option<f64>,
    guests: Vec<Guests>,
    height_assumed: bool,
}

/// Reads the building and the guests of a space. `Ok(None)` where there is no building; `Err` where it is wrong, the
/// problems remembered.
pub fn plan(section: &Section) -> Result<Option<Plan>, ()> {
    let before = section.source.count();
    let own = section.section("building");
    let guests: Vec<Option<Guests>> = section.sections("guests").iter().map(guests).collect();
    if !own.is_present() {
        return if section.source.count() > before { Err(()) } else { Ok(None) };
    }
    let words: Vec<(&str, &Fabric)> = FABRICS.iter().map(|f| (f.words, f)).collect();
    if !own.has("built") {
        own.missing("built", "what its walls are", "\"timber\"   # or canvas, glass, stone, insulated");
    }
    let fabric = own.option("built", &words);
    let sun = sun_in(&own);
    let ventilation = ventilation(&own).unwrap_or_else(|| named(&AIRING[0]));
    let cooled = own.quantity::<Temperature>("cooling");
    let heated = own.quantity::<Temperature>("heating");
    if let (Some(cooled), Some(heated)) = (&cooled, &heated) {
        heated_below_cooled(&own, heated, cooled);
    }
    let size = size(&own);
    own.finish();
    if section.source.count() > before {
        return Err(());
    }
    // What is missing has been remembered by `finish`.
    let (Some(fabric), Some(size)) = (fabric, size) else { return Err(()) };
    Ok(Some(Plan {
        building: Building::new(fabric, size.floor, size.height, sun),
        is_tent: fabric.words == CANVAS,
        words: format!("{}, {}", fabric.words, size.words),
        ventilation,
        cooled_to: cooled.map(|c| c.value.celsius),
        heated_to: heated.map(|h| h.value.celsius),
        guests: guests.into_iter().flatten().collect(),
        height_assumed: size.assumed,
    }))
}

fn heated_below_cooled(own: &Section, heated: &Found<Temperature>, cooled: &Found<Temperature>) {
    if heated.value.celsius <= cooled.value.celsius {
        return;
    }
    let problem = Problem::new(format!("heating to {} fights cooling to {}", heated.value, cooled.value))
        .expected("heating that stops below where cooling starts")
        .help("swap heating and cooling");
    own.source.wrong(heated.span.clone(), problem);
}

/// The size of a room.
struct Size {
    /// Floor area, m2.
    floor: f64,
    /// Mean height, m.
    height: f64,
    words: String,
    /// Whether the height was assumed.
    assumed: bool,
}

/// The size of a building from two of floor area, height and volume, or from its volume alone.
fn size(own: &Section) -> Option<Size> {
    let size = size_from(own);
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
    let size = size?;
    if !HEIGHTS.contains(&size.height) {
        let key = if own.has("height") { "height" } else { "volume" };
        let problem = Problem::new(format!("a room {} m high is not a room for guests", short(size.height)))
            .expected(format!("a mean height from {} to {} m", HEIGHTS.start(), HEIGHTS.end()))
            .help("give floor_area and height of the room itself, such as \"200 m2\" and \"5 m\"");
        own.source.wrong(own.place_of(key), problem);
        return None;
    }
    Some(size)
}

/// The size of a building from what is given; `None` where something is missing or wrong, which was told already.
fn size_from(own: &Section) -> Option<Size> {
    let floor = own.quantity::<Area>("floor_area").map(|f| f.value.square_metres);
    let volume = own.quantity::<RoomVolume>("volume").map(|v| v.value.cubic_metres);
    let height = own.quantity::<Length>("height").map(|h| h.value.metres);
    let written = |key: &'static str| own.text(key).map_or(String::new(), |f| f.value);
    let (floor, height, words) = match (floor, volume, height) {
        (Some(floor), None, Some(height)) => {
            (floor, height, format!("{} by {}", written("floor_area"), written("height")))
        }
        (None, Some(volume), height) => {
            let height = height.unwrap_or(HEIGHT);
            (volume / height, height, written("volume"))
        }
        (Some(floor), Some(volume), None) => (floor, volume / floor, written("volume")),
        _ => return None,
    };
    let assumed = !own.has("height") && !own.has("floor_area");
    Some(Size { floor, height, words, assumed })
}

/// The share of the sunshine on the roof that comes in, 0 to 1, where the file gives it.
fn sun_in(own: &Section) -> Option<f64> {
    let found = own.text("sun_in")?;
    if ["none", "0", "0 %"].contains(&found.value.trim()) {
        return Some(0.0);
    }
    own.quantity::<Share>("sun_in").map(|s| s.value.percent / 100.0)
}

/// Ventilation by its words in the table.
fn named((words, per_hour, speed): &(&str, f64, f64)) -> Ventilation {
    Ventilation { per_hour: *per_hour, speed: *speed, words: words.to_string(), in_words: true }
}

/// How air gets in, in words or as air changes an hour.
fn ventilation(own: &Section) -> Option<Ventilation> {
    let Found { value, span } = own.text("air")?;
    let wanted = value.trim().to_lowercase();
    if let Some(found) = AIRING.iter().find(|(words, ..)| *words == wanted) {
        return Some(named(found));
    }
    match value.parse::<AirChanges>() {
        Ok(changes) => Some(Ventilation {
            per_hour: changes.per_hour,
            speed: Air::STILL,
            words: format!("{} air changes an hour", short(changes.per_hour)),
            in_words: false,
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

/// Reads one group of guests.
fn guests(own: &Section) -> Option<Guests> {
    let from = own.required_moment("from", "when these guests come", "\"17:00\"");
    let to = own.required_moment("to", "when these guests leave", "\"23:00\"");
    let people = if own.has("people") {
        number(own, "people")
    } else {
        own.missing("people", "how many guests there are", "120");
        None
    };
    let words: Vec<(&str, (f64, f64))> = ACTIVITIES.iter().map(|(words, s, l)| (*words, (*s, *l))).collect();
    let (sensible, latent) = own.option("doing", &words).unwrap_or(words[0].1);
    let candles = number(own, "candles").unwrap_or(0.0);
    let ventilation = ventilation(own);
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
        ventilation,
    })
}

impl Plan {
    /// Whether cooling holds a set point in it.
    pub fn is_cooled(&self) -> bool {
        self.cooled_to.is_some()
    }

    /// The groups of guests present at an hour.
    fn present(&self, hour: f64) -> impl Iterator<Item = &Guests> {
        self.guests.iter().filter(move |g| (g.from..g.to).contains(&hour))
    }

    /// How many people are present at an hour.
    fn people(&self, hour: f64) -> f64 {
        self.present(hour).map(|g| g.people).sum()
    }

    /// The ventilation at an hour: that of the last group present which has one, or the building's own.
    fn ventilation_at(&self, hour: f64) -> &Ventilation {
        self.present(hour).filter_map(|g| g.ventilation.as_ref()).last().unwrap_or(&self.ventilation)
    }

    /// Air changes an hour: enough for the guests, unless the file gives a number or the ventilation while they are
    /// present.
    fn air_changes(&self, hour: f64) -> f64 {
        let ventilation = self.ventilation_at(hour);
        let given = !ventilation.in_words || self.present(hour).any(|g| g.ventilation.is_some());
        let needed = if given { 0.0 } else { self.people(hour) * FRESH_AIR_A_GUEST / self.building.volume };
        ventilation.per_hour.max(needed)
    }

    /// The most people present at once, and whether the doors are ever opened to give them fresh air.
    fn crowd(&self) -> (f64, bool) {
        let hours = || self.guests.iter().map(|g| g.from);
        let most = hours().map(|hour| self.people(hour)).fold(0.0, f64::max);
        (most, hours().any(|hour| self.air_changes(hour) > self.ventilation_at(hour).per_hour))
    }

    /// The air inside, from the air `outside`.
    pub fn inside(
        &self,
        outside: SpaceClimate,
        cooling: Option<cooling::Hours>,
        name: &str,
        site: &Site,
    ) -> SpaceClimate {
        // A day more than the event's own, because a piece may have to last into the next morning.
        let (first, last) = (site.span.0.floor(), site.span.1.ceil() + 24.0);
        let climate = outside.climate.each_day(|outdoors| {
            let outdoors = outdoors.hourly();
            let load = |hour: f64| {
                let start = Load {
                    cooled_to: self.cooled_to.filter(|_| !cooling.is_some_and(|c| c.is_off(hour))),
                    heated_to: self.heated_to,
                    ..Load::empty(outdoors.at(hour), self.air_changes(hour))
                };
                self.present(hour).fold(start, |load, g| Load {
                    candles: load.candles + g.candles,
                    ..load.with_people(g.people, g.sensible, g.latent)
                })
            };
            Climate::over(indoors(&self.building, first, last, load), ClimateError::BALANCED)
                .expect("quarters of an hour rise")
                .map(|hour, air| Air { speed: self.ventilation_at(hour).speed, ..air })
        });
        let crowd = match self.crowd().0 {
            0.0 => "nobody in it".to_string(),
            people => format!("up to {people:.0} guests"),
        };
        let from = format!(
            "worked out: {}, {}, {crowd}; outside {}",
            self.words, self.ventilation.words, outside.from
        );
        let assumptions = [outside.assumptions, self.assumptions(name)].concat();
        SpaceClimate {
            climate,
            from,
            assumptions,
            scale: outside.scale,
            met: outside.met,
            outside: self.is_tent.then_some(outside.climate),
        }
    }

    /// What working out the air inside takes for granted.
    fn assumptions(&self, name: &str) -> Vec<String> {
        let (_, need_air) = self.crowd();
        let machines = self.cooled_to.is_some() || self.heated_to.is_some();
        let all = [
            need_air.then(|| {
                "fresh air of 8 litres a second for each guest: add `air` to [[space.guests]] if not".to_string()
            }),
            machines.then(|| "its cooling and heating are strong enough for the day".to_string()),
            self.height_assumed.then(|| format!("{HEIGHT} m high: add `height` to [space.building]")),
            Some(
                "its air is worked out from walls, doors, sun and guests, a rough balance: a reading is better"
                    .to_string(),
            ),
        ];
        all.into_iter().flatten().map(|words| format!("\"{name}\": {words}")).collect()
    }
}
