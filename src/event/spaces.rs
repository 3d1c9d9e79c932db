//! All `[[space]]` sections of an event file: their names, their climates, and moisture taken from one another.

use super::climate::climate;
use super::cooling;
use super::model::Space;
use super::section::{Found, Section, Source};
use super::site::{Met, Site, SpaceClimate};
use crate::climate::air::saturation_vapour_pressure;
use crate::climate::{Air, Climate, ClimateError};
use crate::error::{Problem, nearest};
use crate::units::Scale;

/// At most this many spaces: every piece is looked for in all of them.
pub const MOST_SPACES: usize = 200;

/// Reads the spaces, how temperatures are written in the first that has any, and the days that the event may meet.
pub fn spaces(
    root: &Section,
    site: &Site,
    assumptions: &mut Vec<String>,
) -> (Vec<Space>, Option<Scale>, Vec<Met>) {
    let sections = root.required_sections(
        "space",
        "[[space]]",
        "a section for each place where flowers stand",
        "name = \"barn\" and room = \"warm barn\"",
    );
    if let Some(first) = sections.get(MOST_SPACES) {
        let problem = Problem::new(format!("{} spaces are more than can be planned at once", sections.len()))
            .expected(format!("at most {MOST_SPACES} [[space]] sections in one file"))
            .help("make one space of those that have the same air");
        root.source.wrong(first.span.clone(), problem);
        return (Vec::new(), None, Vec::new());
    }
    let mut spaces: Vec<Space> = Vec::new();
    let mut scale = None;
    let mut moistures = Vec::new();
    let mut met: Vec<Met> = Vec::new();
    for section in sections {
        let name = name(&section, &spaces);
        let read = climate(&section, &name, site);
        if let Some(other) = section.text("moisture_of") {
            moistures.push((spaces.len(), other));
        }
        let cooled = section.flag("cooled").unwrap_or_else(|| cooling::is_cooled(&section));
        section.finish();
        // A space whose climate is wrong still has its name, so that pieces in it raise no second problem.
        let read = read.unwrap_or_else(|| {
            SpaceClimate::new(Climate::constant(Air::reference(), ClimateError::TYPED), String::new(), None)
        });
        scale = scale.or(read.scale);
        if !read.met.is_empty() {
            if !met.is_empty() && met != read.met {
                let problem = Problem::new(format!("\"{name}\" has other days than the spaces above it"))
                    .expected("the same `weather` or `normals` in all spaces that have any: one event meets one day")
                    .help("copy those lines of the first such space");
                let key = if section.has("weather") { "weather" } else { "normals" };
                section.source.wrong(section.place_of(key), problem);
            }
            met = read.met;
        }
        assumptions.extend(read.assumptions);
        spaces.push(Space { name, climate: read.climate, from: read.from, cooled, outside: read.outside });
    }
    for (i, other) in moistures {
        share_moisture(root.source, &mut spaces, i, other);
    }
    (spaces, scale, met)
}

/// The name of a space; empty where it is missing, since the space still has a climate to read for its problems.
fn name(section: &Section, spaces: &[Space]) -> String {
    let Some(Found { value, span }) = section.required_text("name", "what you call this space", "\"barn\"")
    else {
        return String::new();
    };
    if spaces.iter().any(|s| s.name == value) {
        let problem = Problem::new(format!("two spaces are called \"{value}\""))
            .expected("a name of its own for each space")
            .help(format!("name = \"{value} {}\"", spaces.len() + 1));
        section.source.wrong(span, problem);
    }
    value
}

/// Gives a space the moisture of another: air let in from there keeps its moisture when it is heated or cooled.
fn share_moisture(source: &Source, spaces: &mut [Space], i: usize, other: Found<String>) {
    let names: Vec<String> = spaces.iter().map(|s| s.name.clone()).collect();
    let name = other.value.clone();
    let Some(j) = find_space(source, other, &names) else { return };
    let moistened = |own: &Climate, other: &Climate| {
        own.hourly().map(|hour, air| Air {
            vapour_pressure: other
                .at(hour)
                .vapour_pressure
                .min(saturation_vapour_pressure(air.temperature_c)),
            ..air
        })
    };
    spaces[i].climate = spaces[i].climate.by_the_day_of(&spaces[j].climate, moistened);
    spaces[i].from.push_str(&format!(", moisture of {name}"));
}

/// The index of the space of that name; `None` if there is none, which is remembered as a problem unless spaces or
/// their names are missing altogether: that is told already.
pub fn find_space(source: &Source, Found { value, span }: Found<String>, names: &[String]) -> Option<usize> {
    let found = names.iter().position(|n| *n == value);
    if found.is_none() && !names.iter().all(String::is_empty) {
        let help = match nearest(&value, names.iter().map(String::as_str)) {
            Some(near) => format!("\"{near}\""),
            None => format!("add a [[space]] with name = \"{value}\""),
        };
        let problem = Problem::new(format!("there is no space called \"{value}\""));
        source.wrong(
            span,
            problem.expected(format!("the name of a [[space]]: {}", names.join(", "))).help(help),
        );
    }
    found
}

/// The space with its sun taken away, added where it has any: nobody leaves buckets in the sun.
pub fn in_the_shade(space: usize, spaces: &mut Vec<Space>, assumptions: &mut Vec<String>) -> usize {
    if (0..24).all(|h| spaces[space].climate.at(f64::from(h)).sun == 0.0) {
        return space;
    }
    let name = format!("shade of the {}", spaces[space].name);
    if let Some(shade) = spaces.iter().position(|s| s.name == name) {
        return shade;
    }
    assumptions
        .push(format!("flowers wait in the {name} until they are placed: else give `wait` in [travel]"));
    let climate = spaces[space].climate.map(|_, air| Air { sun: 0.0, ..air }).off_like(space);
    spaces.push(Space {
        name,
        climate,
        from: "the same air without the sun".to_string(),
        cooled: false,
        outside: None,
    });
    spaces.len() - 1
}
