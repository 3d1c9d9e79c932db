//! From the text of an event file to an [`Event`].

use super::faults::in_words;
use super::means::{Purse, means};
use super::pieces::{ParseContext, piece};
use super::read::{Found, Section, Source};
use super::spaces::{self, Venue};
use super::times::{access, placed_in_time};
use super::{Event, MOST_ORDERS, MOST_SPACES, Piece, Space, Travel, find_space};
use super::{clocks, cooling};
use crate::climate::air::{pressure_at_altitude, saturation_vapour_pressure};
use crate::climate::{Air, Climate};
use crate::error::{Error, Problem, Result};
use crate::units::{Altitude, ClockStyle, Length, Moment, Scale, Share, Span};
use std::cell::RefCell;

/// Latitude assumed for the sun where the event names none, degrees.
const LATITUDE: f64 = 45.0;
/// A file that is not TOML at all is wrong everywhere: some places are enough to see it.
const MOST_FAULTS: usize = 10;

pub fn event(file: &str, text: &str, load: &dyn Fn(&str) -> std::io::Result<String>) -> Result<Event> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text); // some editors begin a file with this mark
    let source = Source { file, text, problems: RefCell::default() };
    let (table, faults) = toml::de::DeTable::parse_recoverable(text);
    let event = if faults.is_empty() {
        read(&Section::file(&source, table.get_ref()), load)
    } else {
        for fault in faults.iter().take(MOST_FAULTS) {
            let problem =
                in_words(fault.message(), text.get(fault.span().unwrap_or(0..0)).unwrap_or_default());
            source.wrong(fault.span().unwrap_or(0..0), problem);
        }
        None
    };
    let mut problems = source.problems.into_inner();
    problems.sort_by_key(|p| p.place.as_ref().map_or((false, 0, 0), |p| (p.file != file, p.line, p.column)));
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
        root.missing_section(
            "event",
            "[event]",
            "a section with name, date, doors and end",
            "name = \"Harvest supper\"",
        );
    }
    let name = head.required_text("name", "what you call this event", "\"Harvest supper\"");
    let place = head.text("place").map(|f| f.value);
    let date = head.required_text("date", "its day: year-month-day", "2027-08-14").and_then(
        |Found { value, span }| match value.parse() {
            Ok(date) => Some(date),
            Err(_) => {
                let problem = Problem::new(format!("{value:?} is not a day of the calendar"))
                    .expected("year-month-day")
                    .help("date = 2027-08-14");
                source.wrong(span, problem);
                None
            }
        },
    );
    let pressure = head
        .quantity::<Altitude>("altitude")
        .map_or(Air::SEA_LEVEL, |a| pressure_at_altitude(a.value.metres));
    let latitude = head.text("latitude").and_then(|Found { value, span }| match value.parse::<f64>() {
        Ok(degrees) if degrees.abs() <= 90.0 => Some(degrees),
        _ => {
            let problem = Problem::new(format!("{value:?} is not a latitude"))
                .expected("degrees from -90 to 90, south of the equator below 0, with no letter")
                .help("latitude = 51.5");
            source.wrong(span, problem);
            None
        }
    });
    let doors = head.required::<Moment>("doors", "the time by which everything must stand", "\"16:00\"");
    let end = head.required::<Moment>("end", "when it is over", "\"23:30\"");
    let notebook = head.text("notebook").map(|f| f.value);
    head.finish();
    let clock = doors.as_ref().map_or(ClockStyle::default(), |d| d.value.style);
    if let (Some(doors), Some(end)) = (&doors, &end)
        && end.value.hours <= doors.value.hours
    {
        let problem = Problem::new(format!(
            "the event ends at {}, not after its doors open at {}",
            end.value, doors.value
        ))
        .expected("an end later than the doors; plain clock times are those of the event's own day")
        .help(format!("end = \"next day {}\" if it ends after midnight", end.value.clock()));
        source.wrong(end.span.clone(), problem);
    }
    // Where a time is wrong or missing the event cannot be, but the rest of the file is still read for its problems.
    let clocks = doors.is_some() && end.is_some();
    let doors_at = doors.map_or(Moment::at(f64::INFINITY), |d| d.value);
    let end_at = end.map_or(Moment::at(24.0), |e| e.value);

    let target = root.section("target");
    let share = target.quantity::<Share>("presentable").map_or(0.95, |s| s.value.percent / 100.0);
    let assurance = target.quantity::<Share>("assurance").map_or(0.90, |s| s.value.percent / 100.0);
    target.finish();

    let mut purse = Purse::new();
    let mut means = means(root, &mut purse, doors_at.hours, &mut assumptions);

    let mut marks = Vec::new();
    for (mark, Found { value, span }) in root.section("marks").entries("a clock time in quotes", "18:30") {
        match value.parse::<Moment>() {
            Ok(at) => marks.push((mark, at.hours)),
            Err(e) => source.wrong(
                span,
                Problem::new(format!("the mark `{mark}` cannot be {value:?}"))
                    .expected(e.expected)
                    .help(e.help),
            ),
        }
    }
    marks.sort_by(|a, b| a.1.total_cmp(&b.1));

    let before = source.problems.borrow().len();
    let access = access(root, doors_at);
    let access_reads = source.problems.borrow().len() == before;
    let first = access.iter().map(|w| w.0).fold(doors_at.hours.min(24.0), f64::min);
    let travel_section = root.section("travel");
    let drive = travel_section.quantity::<Span>("drive").map_or(0.5, |s| s.value.hours);

    let venue = Venue {
        pressure,
        date: date.unwrap_or(jiff::civil::date(2027, 6, 21)),
        latitude: latitude.unwrap_or(LATITUDE),
        span: (first - drive, end_at.hours),
        load,
    };
    let (mut spaces, scale) = read_spaces(root, &venue, &mut assumptions);
    if latitude.is_none() && spaces.iter().any(|s| s.climate.at(13.0).sun > 0.0) {
        assumptions.push(format!(
            "the sun is that of latitude {LATITUDE} with noon at 13:00: add `latitude` to [event]"
        ));
    }
    let names: Vec<String> = spaces.iter().map(|s| s.name.clone()).collect();
    let wait = travel_section.text("wait").and_then(|Found { value, span }| {
        find_space(&value, &names).map_err(|p| source.wrong_if(span, p)).ok()
    });
    let travel = travel(&travel_section, drive, &mut spaces, &names, &venue);
    if !travel_section.is_present() {
        assumptions
            .push("flowers come out of a cool store, half an hour in a cool van, all in water".to_string());
    }

    let mut pieces: Vec<Piece> = Vec::new();
    let sections = root.required_sections(
        "piece",
        "[[piece]]",
        "a section for each thing you make",
        "name = \"long table\"",
    );
    let mut of_piece = Vec::new();
    let mut context = ParseContext {
        spaces: &names,
        means: &means,
        purse: &mut purse,
        end: end_at,
        taken: Vec::new(),
        assumptions: &mut assumptions,
    };
    for section in &sections {
        if let Some((piece, moves)) = piece(section, &mut context) {
            pieces.push(piece);
            of_piece.push((section, moves));
        }
    }
    let flowers: usize = pieces.iter().map(|p| p.orders.len()).sum();
    if flowers > MOST_ORDERS {
        let problem =
            Problem::new(format!("{flowers} flowers in all the pieces are more than can be planned at once"))
                .expected(format!("at most {MOST_ORDERS} [[piece.flower]] sections in one file"))
                .help("make one piece of those that are alike: ten tables as one, with the heads of all ten");
        source.wrong(sections[0].span.clone(), problem);
    }
    for piece in &mut pieces {
        piece.wait = wait.unwrap_or_else(|| in_the_shade(piece.space, &mut spaces, &mut assumptions));
    }
    root.finish();
    means.currency = purse.currency();
    if !(clocks && date.is_some()) {
        return None;
    }
    // Who writes no temperature but measures in feet thinks in Fahrenheit.
    let in_feet = pieces.iter().any(|p| p.length.as_ref().is_some_and(Length::in_feet));
    let scale = scale.unwrap_or(if in_feet { Scale::Fahrenheit } else { Scale::Celsius });
    let mut event = Event {
        name: name?.value,
        place,
        date: venue.date,
        doors: doors_at.hours,
        end: end_at.hours,
        marks,
        access,
        travel: travel?,
        spaces,
        pieces,
        target_share: share,
        assurance,
        means,
        clock,
        scale,
        notebook,
        assumptions,
    };
    event.assumptions.extend(clocks::caution(event.date, event.span(), latitude));
    if access_reads {
        let left_out = event.means.chores.iter().filter(|c| !event.someone_on_site(c.window)).map(|c| {
            format!(
                "\"{}\" falls outside the time you may set up and is not in the crew's day: change its times or the access",
                c.name
            )
        });
        let left_out: Vec<String> = left_out.collect();
        event.assumptions.extend(left_out);
        for ((section, moves), piece) in of_piece.into_iter().zip(&event.pieces) {
            placed_in_time(section, &moves, piece, &event);
        }
    }
    Some(event)
}

/// The space with its sun taken away, where it has any: nobody leaves buckets in the sun.
fn in_the_shade(space: usize, spaces: &mut Vec<Space>, assumptions: &mut Vec<String>) -> usize {
    if (0..24).all(|h| spaces[space].climate.at(f64::from(h)).sun == 0.0) {
        return space;
    }
    let name = format!("shade of the {}", spaces[space].name);
    if let Some(shade) = spaces.iter().position(|s| s.name == name) {
        return shade;
    }
    assumptions
        .push(format!("flowers wait in the {name} until they are placed: else give `wait` in [travel]"));
    let climate = spaces[space].climate.map(|_, air| Air { sun: 0.0, ..air });
    spaces.push(Space { name, climate, from: "the same air without the sun".to_string(), cooled: false });
    spaces.len() - 1
}

fn read_spaces(root: &Section, venue: &Venue, assumptions: &mut Vec<String>) -> (Vec<Space>, Option<Scale>) {
    let mut spaces: Vec<Space> = Vec::new();
    let mut scale = None;
    let mut moistures = Vec::new();
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
        return (Vec::new(), None);
    }
    for section in sections {
        // A space whose name is missing still has a climate to read for its problems.
        let name = section
            .required_text("name", "what you call this space", "\"barn\"")
            .unwrap_or(Found { value: String::new(), span: section.span.clone() });
        if !name.value.is_empty() && spaces.iter().any(|s| s.name == name.value) {
            let problem = Problem::new(format!("two spaces are called \"{}\"", name.value))
                .expected("a name of its own for each space")
                .help(format!("name = \"{} {}\"", name.value, spaces.len() + 1));
            root.source.wrong(name.span.clone(), problem);
        }
        let read = spaces::climate(&section, &name.value, venue);
        if let Some(other) = section.text("moisture_of") {
            moistures.push((spaces.len(), other));
        }
        let cooled = section.flag("cooled").unwrap_or_else(|| cooling::is_cooled(&section));
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
        spaces.push(Space { name: name.value, climate: read.climate, from: read.from, cooled });
    }
    for (i, Found { value, span }) in moistures {
        let names: Vec<String> = spaces.iter().map(|s| s.name.clone()).collect();
        match find_space(&value, &names) {
            Ok(j) => {
                // Air let in from outside keeps its moisture content when it is heated or cooled.
                let other = spaces[j].climate.clone();
                spaces[i].climate = spaces[i].climate.hourly().map(|hour, air| Air {
                    vapour_pressure: other
                        .at(hour)
                        .vapour_pressure
                        .min(saturation_vapour_pressure(air.temperature_c)),
                    ..air
                });
                spaces[i].from.push_str(&format!(", moisture of {value}"));
            }
            Err(problem) => root.source.wrong_if(span, problem),
        }
    }
    (spaces, scale)
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
                    cooled: false,
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
    let van_in_water = section.flag("van_in_water").unwrap_or(true);
    let wait_in_water = section.flag("wait_in_water").unwrap_or(true);
    section.finish();
    Some(Travel { store: store?, van: van?, drive, van_in_water, wait_in_water })
}
