//! From the text of an event file to an [`Event`].

use super::read::{Found, Section, Source};
use super::spaces::{self, Venue};
use super::{Criterion, Event, Near, Order, Piece, Space, Travel, no_such};
use crate::climate::air::{pressure_at_altitude, saturation_vapour_pressure};
use crate::climate::{Air, Climate};
use crate::error::{Error, Problem, Result};
use crate::flower::catalogue::{Catalogue, Kind};
use crate::flower::treatment::{Conditioning, Handling, Stage, Treatment};
use crate::units::{Altitude, ClockStyle, Length, Moment, Share, Span, Volume};
use std::cell::RefCell;

/// Latitude assumed for the sun where the event names none, degrees.
const LATITUDE: f64 = 45.0;

pub fn event(file: &str, text: &str, load: &dyn Fn(&str) -> std::io::Result<String>) -> Result<Event> {
    let source = Source { file, text, problems: RefCell::default() };
    let parsed = toml::de::DeTable::parse(text);
    let event = match &parsed {
        Ok(table) => read(&Section::new(&source, "the file", Some(table.get_ref()), 0..0), load),
        Err(e) => {
            let message = e.message().lines().next().unwrap_or("this is not TOML").to_string();
            let problem = Problem::new(format!("the file cannot be read here: {message}"))
                .expected("lines such as name = \"value\" under headings such as [event] or [[piece]]")
                .help("compare with a fresh template: headwater new");
            source.wrong(e.span().unwrap_or(0..0), problem);
            None
        }
    };
    let mut problems = source.problems.into_inner();
    problems.sort_by_key(|p| p.place.as_ref().map_or((false, 0), |p| (p.file != file, p.line)));
    match event {
        Some(event) if problems.is_empty() => Ok(event),
        _ => Err(Error { problems }),
    }
}

fn read(root: &Section, load: &dyn Fn(&str) -> std::io::Result<String>) -> Option<Event> {
    let source = root.source;
    let mut assumptions = Vec::new();
    let head = root.section("event");
    if !head.is_present() {
        root.missing("[event]", "a section with name, date, doors and end");
    }
    let name = head.required_text("name", "\"Harvest supper\"");
    let place = head.text("place").map(|f| f.value);
    let date =
        head.required_text("date", "2027-08-14").and_then(|Found { value, span }| match value.parse() {
            Ok(date) => Some(date),
            Err(_) => {
                let problem = Problem::new(format!("{value:?} is not a day of the calendar"))
                    .expected("year-month-day")
                    .help("date = 2027-08-14");
                source.wrong(span, problem);
                None
            }
        });
    let pressure = head
        .quantity::<Altitude>("altitude")
        .map_or(Air::SEA_LEVEL, |a| pressure_at_altitude(a.value.metres));
    let latitude = head.text("latitude").and_then(|Found { value, span }| match value.parse::<f64>() {
        Ok(degrees) if degrees.abs() <= 90.0 => Some(degrees),
        _ => {
            source.wrong(span, Problem::new(format!("{value:?} is not a latitude")).help("latitude = 51.5"));
            None
        }
    });
    let doors = head.required::<Moment>("doors", "\"16:00\"");
    let end = head.required::<Moment>("end", "\"23:30\"");
    head.finish();
    let clock = doors.as_ref().map_or(ClockStyle::default(), |d| d.value.style);
    let (doors, end) = (doors?, end?);
    if end.value.hours <= doors.value.hours {
        let problem = Problem::new(format!(
            "the event ends at {}, before its doors open at {}",
            end.value, doors.value
        ))
        .help(format!("end = \"next day {}\" if it ends after midnight", end.value.clock()));
        source.wrong(end.span, problem);
    }

    let target = root.section("target");
    let share = target.quantity::<Share>("presentable").map_or(0.95, |s| s.value.percent / 100.0);
    let assurance = target.quantity::<Share>("assurance").map_or(0.90, |s| s.value.percent / 100.0);
    target.finish();

    let crew = root.section("crew");
    let people = match crew.text("people") {
        None => {
            assumptions.push("two people place things: add [crew] people".to_string());
            2
        }
        Some(Found { value, span }) => match value.parse::<u32>() {
            Ok(people) if (1..=500).contains(&people) => people,
            _ => {
                source.wrong(
                    span,
                    Problem::new(format!("`people` cannot be {value}"))
                        .expected("how many people place things")
                        .help("people = 2"),
                );
                2
            }
        },
    };
    crew.finish();

    let mut marks = Vec::new();
    for (mark, Found { value, span }) in root.section("marks").entries() {
        match value.parse::<Moment>() {
            Ok(at) => marks.push((mark, at.hours)),
            Err(e) => source.wrong(
                span,
                Problem::new(format!("{value:?} is not a time")).expected(e.expected).help(e.help),
            ),
        }
    }
    marks.sort_by(|a, b| a.1.total_cmp(&b.1));

    let access = access(root, doors.value);
    let first = access.iter().map(|w| w.0).fold(doors.value.hours, f64::min);
    let travel_section = root.section("travel");
    let drive = travel_section.quantity::<Span>("drive").map_or(0.5, |s| s.value.hours);

    let venue = Venue {
        pressure,
        date: date?,
        latitude: latitude.unwrap_or(LATITUDE),
        span: (first - drive, end.value.hours),
        load,
    };
    let (mut spaces, scale) = read_spaces(root, &venue, &mut assumptions);
    if latitude.is_none() && spaces.iter().any(|s| s.climate.at(13.0).sun > 0.0) {
        assumptions.push(format!(
            "the sun is that of latitude {LATITUDE} with noon at 13:00: add `latitude` to [event]"
        ));
    }
    let names: Vec<String> = spaces.iter().map(|s| s.name.clone()).collect();
    let travel = travel(&travel_section, drive, &mut spaces, &names, &venue)?;
    if !travel_section.is_present() {
        assumptions
            .push("flowers come out of a cool store, half an hour in a cool van, all in water".to_string());
    }

    let kit = root.section("tubes");
    let tube_ml = kit.quantity::<Volume>("volume").map_or(10.0, |v| v.value.millilitres);
    kit.finish();
    let mut pieces: Vec<Piece> = Vec::new();
    let sections = root.sections("piece");
    if sections.is_empty() {
        root.missing("[[piece]]", "a section for each thing you make");
    }
    for section in &sections {
        if let Some(piece) = piece(section, &names, tube_ml, end.value) {
            if pieces.iter().any(|p| p.name == piece.name) {
                let problem = Problem::new(format!("two pieces are called \"{}\"", piece.name))
                    .help("give each its own name");
                source.wrong(section.span.clone(), problem);
            }
            pieces.push(piece);
        }
    }
    root.finish();
    let event = Event {
        name: name?.value,
        place,
        date: venue.date,
        doors: doors.value.hours,
        end: end.value.hours,
        marks,
        access,
        travel,
        spaces,
        pieces,
        target_share: share,
        assurance,
        people,
        clock,
        scale,
        assumptions,
    };
    for (section, piece) in sections.iter().zip(&event.pieces) {
        placed_in_time(section, piece, &event);
    }
    Some(event)
}

/// A piece must be placed in some access window, and look good until some time after that.
fn placed_in_time(section: &Section, piece: &Piece, event: &Event) {
    let windows = event.windows(piece);
    if windows.is_empty() && !event.access.is_empty() {
        let problem = Problem::new(format!(
            "\"{}\" is never placed: no access before the doors fits its times",
            piece.name
        ))
        .expected(format!("a time to place it up to {}", event.moment(event.doors)))
        .help("widen `placed_from` and `placed_to`, or add an [[access]]");
        section.source.wrong(section.span.clone(), problem);
    }
    if windows.last().is_some_and(|w| piece.until <= w.0) {
        let problem = Problem::new(format!(
            "\"{}\" must look good until {}, before it can be placed",
            piece.name,
            event.moment(piece.until)
        ))
        .help("give a later `until`, or an earlier [[access]]");
        section.source.wrong(section.span.clone(), problem);
    }
}

fn access(root: &Section, doors: Moment) -> Vec<(f64, f64)> {
    let sections = root.sections("access");
    if sections.is_empty() {
        root.missing("[[access]]", "a section with from and to: when you may set up");
    }
    let mut windows: Vec<(f64, f64)> = Vec::new();
    for section in sections {
        let from = section.required::<Moment>("from", "\"09:00\"");
        let to = section.required::<Moment>("to", "\"15:30\"");
        section.finish();
        let (Some(from), Some(to)) = (from, to) else {
            continue;
        };
        let (a, b) = (from.value.hours, to.value.hours);
        let wrong = |message: String, help: &str| {
            let problem = Problem::new(message).expected("access times in rising order").help(help);
            root.source.wrong(to.span.clone(), problem);
        };
        if b < a {
            wrong(
                format!("this access ends at {}, before it begins at {}", to.value, from.value),
                "swap the two, or name the day",
            );
        } else if windows.last().is_some_and(|w| a < w.1) {
            wrong(
                format!("this access begins at {}, before the one above it ends", from.value),
                "sort the [[access]] entries by time",
            );
        } else if a > doors.hours {
            wrong(
                format!("this access begins at {}, after the doors open at {doors}", from.value),
                "correct the access or the doors",
            );
        } else if a < -24.0 * 7.0 {
            wrong("this access begins more than a week before".to_string(), "correct the day");
        } else {
            windows.push((a, b));
        }
    }
    windows
}

fn read_spaces(
    root: &Section,
    venue: &Venue,
    assumptions: &mut Vec<String>,
) -> (Vec<Space>, crate::units::Scale) {
    let mut spaces: Vec<Space> = Vec::new();
    let mut scale = None;
    let mut moistures = Vec::new();
    for section in root.sections("space") {
        let Some(name) = section.required_text("name", "\"barn\"") else {
            continue;
        };
        if spaces.iter().any(|s| s.name == name.value) {
            let problem = Problem::new(format!("two spaces are called \"{}\"", name.value))
                .help("give each its own name");
            root.source.wrong(name.span.clone(), problem);
        }
        section.flag("outdoors");
        let read = spaces::climate(&section, &name.value, venue);
        if let Some(other) = section.text("moisture_of") {
            moistures.push((spaces.len(), other));
        }
        section.finish();
        // A space whose climate is wrong still has its name, so that pieces in it raise no second problem.
        let read = read.unwrap_or_else(|| spaces::Read {
            climate: Climate::constant(Air::reference(), crate::climate::ClimateError::TYPED),
            from: String::new(),
            assumptions: Vec::new(),
            scale: None,
        });
        scale = scale.or(read.scale);
        assumptions.extend(read.assumptions);
        spaces.push(Space { name: name.value, climate: read.climate, from: read.from });
    }
    for (i, Found { value, span }) in moistures {
        match spaces.iter().position(|s| s.name == value) {
            Some(j) => {
                // Air let in from outside keeps its moisture content when it is heated or cooled.
                let other = spaces[j].climate.clone();
                spaces[i].climate = spaces[i].climate.map(|hour, air| Air {
                    vapour_pressure: other
                        .at(hour)
                        .vapour_pressure
                        .min(saturation_vapour_pressure(air.temperature_c)),
                    ..air
                });
                spaces[i].from.push_str(&format!(", moisture of {value}"));
            }
            None => {
                let names: Vec<String> = spaces.iter().map(|s| s.name.clone()).collect();
                root.source.wrong(span, no_such("space", &value, &names));
            }
        }
    }
    (spaces, scale.unwrap_or_default())
}

fn travel(
    section: &Section,
    drive: f64,
    spaces: &mut Vec<Space>,
    names: &[String],
    venue: &Venue,
) -> Option<Travel> {
    let mut space = |key: &'static str, usual: &str| -> Option<usize> {
        let found = section.text(key).unwrap_or(Found { value: usual.to_string(), span: 0..0 });
        if let Some(i) = names.iter().position(|n| *n == found.value) {
            return Some(i);
        }
        match crate::climate::room::Room::find(&found.value) {
            Ok(room) => {
                let climate = room.climate(venue.pressure, |_| 1.0);
                spaces.push(Space {
                    name: room.words.clone(),
                    climate,
                    from: format!("{}: estimate, from memory", room.words),
                });
                Some(spaces.len() - 1)
            }
            Err(problem) => {
                section.source.wrong(found.span, problem);
                None
            }
        }
    };
    let (store, van) = (space("store", "cool store"), space("van", "van"));
    let wait = section.text("wait").and_then(|Found { value, span }| {
        let found = names.iter().position(|n| *n == value);
        if found.is_none() {
            section.source.wrong(span, no_such("space", &value, names));
        }
        found
    });
    let van_in_water = section.flag("van_in_water").unwrap_or(true);
    let wait_in_water = section.flag("wait_in_water").unwrap_or(true);
    section.finish();
    Some(Travel { store: store?, van: van?, drive, van_in_water, wait, wait_in_water })
}

fn piece(section: &Section, spaces: &[String], tube_ml: f64, end: Moment) -> Option<Piece> {
    let source = section.source;
    let find_space = |found: Found<String>| {
        let i = spaces.iter().position(|s| *s == found.value);
        if i.is_none() {
            source.wrong(found.span, no_such("space", &found.value, spaces));
        }
        i
    };
    let name = section.required_text("name", "\"long table\"");
    let space = section.required_text("space", "\"barn\"").and_then(find_space);
    let until = section.quantity::<Moment>("until").map_or(end.hours, |m| m.value.hours);
    let counts = section
        .choice("counts", &[("flagging", Criterion::Flagging), ("wilted", Criterion::Wilted)])
        .unwrap_or(Criterion::Flagging);
    let from = section.quantity::<Moment>("placed_from").map(|m| m.value.hours);
    let to = section.quantity::<Moment>("placed_to").map(|m| m.value.hours);
    let placed = (from.is_some() || to.is_some())
        .then(|| (from.unwrap_or(f64::NEG_INFINITY), to.unwrap_or(f64::INFINITY)));
    let length = section.quantity::<Length>("length").map(|l| l.value);
    let near = section.texts("near").into_iter().filter_map(|f| near(section, f)).collect();
    let mut moves: Vec<(f64, usize)> = Vec::new();
    for step in section.sections("move") {
        let at = step.required::<Moment>("at", "\"17:00\"");
        let to = step.required_text("to", "\"hall\"").and_then(find_space);
        step.finish();
        if let (Some(at), Some(to)) = (at, to) {
            if moves.last().is_some_and(|(last, _)| *last >= at.value.hours) {
                let problem =
                    Problem::new(format!("this move at {} does not come after the one before it", at.value))
                        .help("sort the moves by time");
                source.wrong(at.span, problem);
            }
            moves.push((at.value.hours, to));
        }
    }
    let mut orders = Vec::new();
    let flowers = section.sections("flower");
    if flowers.is_empty() {
        section.missing("[[piece.flower]]", "a section for each flower in it");
    }
    for flower in &flowers {
        orders.extend(order(flower, tube_ml));
    }
    section.finish();
    if orders.len() < flowers.len() {
        return None;
    }
    Some(Piece { name: name?.value, space: space?, moves, until, counts, placed, length, near, orders })
}

fn near(section: &Section, found: Found<String>) -> Option<Near> {
    const WORDS: [(&str, Near); 9] = [
        ("food", Near::Food),
        ("cake", Near::Food),
        ("pets", Near::Pets),
        ("cat", Near::Pets),
        ("children", Near::Children),
        ("candles", Near::Flame),
        ("flame", Near::Flame),
        ("overhead", Near::Overhead),
        ("ladder", Near::Overhead),
    ];
    let wanted = found.value.to_lowercase();
    let near = WORDS.iter().find(|(w, _)| *w == wanted).map(|(_, n)| *n);
    if near.is_none() {
        let all: Vec<&str> = WORDS.iter().map(|(w, _)| *w).collect();
        let problem = Problem::new(format!("`near` cannot be {:?}", found.value))
            .expected(format!("any of: {}", all.join(", ")))
            .help("near = [\"cake\", \"candles\"]");
        section.source.wrong(found.span, problem);
    }
    near
}

fn order(section: &Section, tube_ml: f64) -> Option<Order> {
    let source = section.source;
    let flower = section.required_text("flower", "\"dahlia\"").and_then(|Found { value, span }| {
        Catalogue::shipped().find(&value).map_err(|p| source.wrong(span, p)).ok()
    });
    let heads =
        section.required_text("heads", "40").and_then(|Found { value, span }| match value.parse::<u32>() {
            Ok(heads) if (1..=100_000).contains(&heads) => Some(heads),
            _ => {
                let problem = Problem::new(format!("`heads` cannot be {value}"))
                    .expected("a whole number of heads")
                    .help("heads = 40");
                source.wrong(span, problem);
                None
            }
        });
    let words = |all: &'static [&'static [&'static str]]| all.iter().map(|w| w[0]).collect::<Vec<_>>();
    let chosen = |key: &'static str, all: Vec<&str>| -> Option<String> {
        let Found { value, span } = section.text(key)?;
        let problem = Problem::new(format!("`{key}` cannot be {value:?}"))
            .expected(format!("one of: {}", all.join(", ")))
            .help(format!(
                "{key} = \"{}\"",
                crate::error::nearest(&value, all.iter().copied()).unwrap_or(all[0])
            ));
        let known = match key {
            "conditioning" => Conditioning::from_words(&value).is_some(),
            _ => Stage::from_words(&value).is_some(),
        };
        if !known {
            source.wrong(span, problem);
        }
        Some(value)
    };
    let conditioning =
        chosen("conditioning", words(Conditioning::WORDS)).and_then(|w| Conditioning::from_words(&w));
    let stage = chosen("stage", words(Stage::WORDS)).and_then(|w| Stage::from_words(&w));
    let handling = Handling {
        conditioning: conditioning.unwrap_or_default(),
        stage: stage.unwrap_or_default(),
        leaves_on: section.choice("leaves", &[("off", false), ("on", true)]).unwrap_or(false),
        cultivar_known: section.flag("cultivar_known").unwrap_or(false),
        nested: section.flag("nested").unwrap_or(false),
    };
    let mut treatments = Vec::new();
    for Found { value, span } in section.texts("treatments") {
        match value.parse::<Treatment>() {
            Ok(treatment) => treatments.push(treatment),
            Err(near) => {
                let problem = Problem::new(format!("{value:?} is not a treatment"))
                    .expected("tucked, wired, water tube or bud vase")
                    .help(format!("\"{near}\""));
                source.wrong(span, problem);
            }
        }
    }
    treatments.sort_unstable();
    treatments.dedup();
    if treatments.is_empty() {
        treatments = match flower.map(|f| f.kind()) {
            Some(Kind::Foliage) => vec![Treatment::Tucked, Treatment::WaterTube],
            _ => vec![Treatment::Tucked, Treatment::WaterTube, Treatment::BudVase],
        };
    }
    let refills = section.quantities::<Moment>("refill").into_iter().map(|m| m.value.hours).collect();
    let tube_ml = section.quantity::<Volume>("tube").map_or(tube_ml, |v| v.value.millilitres);
    section.finish();
    Some(Order { flower: flower?, heads: heads?, handling, treatments, refills, tube_ml })
}
