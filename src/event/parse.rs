//! From the text of an event file to an [`Event`].

use super::access::{access, placed_in_time};
use super::as_meant::{Meant, as_meant, told_once};
use super::clocks;
use super::habits::{HABITS_FILE, Habits, Over, florist};
use super::heading::{Heading, heading, marks, target};
use super::means::{Guessed, Means, Purse, Stems, means};
use super::model::{Event, Piece, Space, Travel, Vessel};
use super::pieces::{ParseContext, pieces};
use super::section::{Section, Source};
use super::site::{Met, Site};
use super::spaces::{in_the_shade, spaces};
use super::tent::raise;
use super::travel::{drive, travel};
use super::vessels::too_few;
use crate::climate::sun::Sky;
use crate::error::{Error, Problem, Result};
use crate::flower::boxes::Boxes;
use crate::flower::catalogue::Flower;
use crate::units::{Length, Moment, Scale};
use std::collections::BTreeMap;
use toml::de::DeTable;

/// Latitude assumed for the sun where the event names none, degrees.
const LATITUDE: f64 = 45.0;
/// Hours at which the sun is highest by some clock or other: half past ten to half past three (from memory: the ends are Greenland's and western
/// China's, and an hour of summer time is left to spare).
const NOONS: std::ops::RangeInclusive<f64> = 10.5..=15.5;

type Load<'a> = &'a dyn Fn(&str) -> std::io::Result<String>;

impl Event {
    /// Reads an event file. `load` fetches a logger's file by the name that the event file gives it.
    ///
    /// # Errors
    /// Every problem in the file, each with its line, what was expected there and what to type.
    ///
    /// # Examples
    /// ```
    /// use headwater::event::{Event, TEMPLATE};
    /// # fn main() -> Result<(), Box<dyn std::error::Error>> {
    /// let event = Event::read("supper.toml", TEMPLATE, &|name| Err(std::io::Error::other(name)))?;
    /// assert!(event.doors < event.end && !event.pieces.is_empty());
    /// # Ok(())
    /// # }
    /// ```
    pub fn read(file: &str, text: &str, load: &dyn Fn(&str) -> std::io::Result<String>) -> Result<Event> {
        Event::read_with(file, text, None, load)
    }

    /// Reads an event file; what it does not say of people, prices and material is taken from the florist's habits.
    ///
    /// # Errors
    /// Every problem in the two files, each with its line, what was expected there and what to type.
    pub fn read_with(
        file: &str,
        text: &str,
        habits: Option<Habits>,
        load: &dyn Fn(&str) -> std::io::Result<String>,
    ) -> Result<Event> {
        let habits = habits.unwrap_or(Habits { file: HABITS_FILE, text: "" });
        let (own, usual) = (meant(file, text), meant(habits.file, habits.text));
        let readable = own.readable && usual.readable;
        let (source, usual_source) = (Source::new(file, &own.text), Source::new(habits.file, &usual.text));
        let event = match (DeTable::parse(&own.text), DeTable::parse(&usual.text)) {
            (Ok(own), Ok(habits)) if readable => event(
                &Section::file(&source, own.get_ref()),
                &Section::file(&usual_source, habits.get_ref()),
                load,
            ),
            _ => None,
        };
        let mut problems = told_once(own.problems, file, source.problems.into_inner());
        problems.extend(told_once(usual.problems, habits.file, usual_source.problems.into_inner()));
        problems
            .sort_by_key(|p| p.place.as_ref().map_or((false, 0, 0), |p| (p.file != file, p.line, p.column)));
        match event {
            Some(event) if problems.is_empty() => Ok(event),
            _ => Err(Error { problems }),
        }
    }
}

/// The text of a file as it was meant.
fn meant<'a>(file: &str, text: &'a str) -> Meant<'a> {
    as_meant(file, text.strip_prefix('\u{feff}').unwrap_or(text)) // some editors begin a file with this mark
}

fn event(root: &Section, habits: &Section, load: Load) -> Option<Event> {
    let mut assumptions = Vec::new();
    let (florist, usual_temperatures) = florist(root, habits);
    let heading = heading(root);
    habits.source.turn.set(root.source.turn.get());
    // Where a time is wrong or missing there can be no event, but the rest of the file is still read for its problems.
    let doors = heading.doors.unwrap_or(Moment::at(f64::INFINITY));
    let end = heading.end.unwrap_or(Moment::at(24.0));
    let marks = marks(root, &heading);
    let (target_share, assurance) = target(&Over::new(root, habits, "target"));
    let mut purse = Purse::new();
    let mut means = means(root, habits, &mut purse, doors.hours, &mut assumptions);
    let Places { access, access_is_sound, mut spaces, names, scale, met, travel, wait } =
        places(root, &heading, (doors, end), load, &mut assumptions);
    let context = ParseContext {
        spaces: &names,
        means: &means,
        purse: &mut purse,
        end,
        taken: Vec::new(),
        assumptions: &mut assumptions,
    };
    let (mut pieces, written) = pieces(root, context);
    let boxes = travel.as_ref().map_or_else(Boxes::default, |t| t.boxes);
    for (piece, written) in pieces.iter_mut().zip(&written) {
        piece.orders.iter_mut().for_each(|o| o.handling.boxes = boxes);
        piece.wait = wait.unwrap_or_else(|| in_the_shade(piece.space, &mut spaces, &mut assumptions));
        if let Some(height) = &written.height {
            assumptions.extend(raise(piece, height, &mut spaces));
        }
    }
    root.finish();
    habits.finish();
    means.currency = purse.currency();
    means.guessed.stems = price(&mut pieces, &means.prices);
    assumptions.extend(guesses(&means));
    let vessels: Vec<&Vessel> = pieces.iter().filter_map(|p| p.vessel.as_ref()).collect();
    assumptions.extend(too_few(&vessels, &means));
    let mut event = Event {
        name: heading.name?,
        place: heading.place,
        date: heading.date?,
        doors: heading.doors?.hours,
        end: heading.end?.hours,
        marks,
        access,
        travel: travel?,
        spaces,
        met,
        scale: scale.or(usual_temperatures).unwrap_or_else(|| usual_scale(&pieces)),
        pieces,
        target_share,
        assurance,
        means,
        clock: heading.clock,
        turn: root.source.turn.get(),
        notebook: heading.notebook,
        way: heading.way,
        taught: BTreeMap::new(),
        florist,
        assumptions,
    };
    if heading.zone.is_none() {
        event.assumptions.extend(clocks::caution(event.date, event.span(), heading.latitude));
    }
    if access_is_sound {
        event.assumptions.extend(chores_left_out(&event));
        let pieces = written.iter().zip(&event.pieces);
        pieces.for_each(|(written, piece)| placed_in_time(written, piece, &event));
    }
    Some(event)
}

/// Prices the stems that the florist has not priced, from the prices that she gives: a standard rose costs the geometric
/// mean of what they make it.
fn price(pieces: &mut [Piece], usual: &[(&'static Flower, f64)]) -> Stems {
    let orders = || pieces.iter().flat_map(|p| &p.orders);
    let own = orders().filter_map(|o| Some((o.flower, o.price.own?)));
    let roses: Vec<f64> = own
        .chain(usual.iter().copied())
        .filter(|(_, price)| *price > 0.0)
        .map(|(flower, price)| price / flower.relative_price())
        .collect();
    if orders().all(|o| o.price.own.is_some()) {
        return Stems::Given;
    }
    if roses.is_empty() {
        return Stems::Guessed;
    }
    let rose = (roses.iter().map(|r| r.ln()).sum::<f64>() / roses.len() as f64).exp();
    pieces.iter_mut().flat_map(|p| &mut p.orders).for_each(|o| o.price.rose = rose);
    Stems::Scaled
}

/// What to tell of prices that are guesses, in one line.
fn guesses(means: &Means) -> Option<String> {
    let Guessed { wage, tubes, vases, stems } = means.guessed;
    if means.guessed.everything() {
        return Some(
            "no price is known, so ways are compared by hours and things: put yours into habits.toml, which \
             `headwater habits` begins"
                .to_string(),
        );
    }
    let what =
        [(wage, "the wage"), (stems == Stems::Guessed, "stems"), (tubes, "tubes"), (vases, "bud vases")];
    let guessed: Vec<&str> = what.iter().filter(|w| w.0).map(|w| w.1).collect();
    let mut told = Vec::new();
    if !guessed.is_empty() {
        told.push(format!("the prices of these are guesses from memory, marked ~: {}", guessed.join(", ")));
    }
    if stems == Stems::Scaled {
        told.push("stems without a price of yours are scaled from those with one, marked ~".to_string());
    }
    (!told.is_empty()).then(|| format!("{}; put yours into habits.toml", told.join("; ")))
}

/// When and where flowers are until they are placed, as it was read.
struct Places {
    access: Vec<(f64, f64)>,
    /// Whether nothing in the access was wrong.
    access_is_sound: bool,
    spaces: Vec<Space>,
    /// The names of the spaces in the file; `spaces` goes on with those of the journey.
    names: Vec<String>,
    scale: Option<Scale>,
    /// The days that the event may meet; none where its day is given.
    met: Vec<Met>,
    travel: Option<Travel>,
    /// The space in which flowers wait, where the file names one.
    wait: Option<usize>,
}

/// Reads `[[access]]`, `[[space]]` and `[travel]`.
fn places(
    root: &Section,
    heading: &Heading,
    (doors, end): (Moment, Moment),
    load: Load,
    assumptions: &mut Vec<String>,
) -> Places {
    let before = root.source.count();
    let access = access(root, doors);
    let access_is_sound = root.source.count() == before;
    let first = access.iter().map(|w| w.0).fold(doors.hours.min(24.0), f64::min);
    let journey = root.section("travel");
    let drive = drive(&journey);
    // An end before the doors is refused; what else is wrong is told in the same run.
    let start = first - drive;
    let span = (start, end.hours.max(start));
    let site = Site { pressure: heading.pressure, sky: sky(root, heading), span, load };
    let (mut spaces, scale, met) = spaces(root, &site, assumptions);
    if spaces.iter().any(|s| s.climate.at(Sky::USUAL_NOON).sun > 0.0) {
        assumptions.extend(sun_assumed(heading));
    }
    let names: Vec<String> = spaces.iter().map(|s| s.name.clone()).collect();
    let (travel, wait) = travel(&journey, drive, &mut spaces, &names, &site);
    if !journey.is_present() {
        assumptions
            .push("flowers come out of a cool store, half an hour in a cool van, all in water".to_string());
    }
    Places { access, access_is_sound, spaces, names, scale, met, travel, wait }
}

/// The sun over the event, as far as the file says where that is.
fn sky(root: &Section, heading: &Heading) -> Sky {
    let date = heading.date.unwrap_or(jiff::civil::date(2027, 6, 21));
    let midnight = heading.zone.as_ref().and_then(|zone| clocks::midnight(zone, date));
    let latitude_deg = heading.latitude.unwrap_or(LATITUDE);
    let sky = Sky { date, latitude_deg, place: heading.longitude.zip(midnight) };
    let noon = sky.noon().rem_euclid(24.0);
    if !NOONS.contains(&noon) {
        let head = root.section("event");
        let problem =
            Problem::new(format!("there the sun is highest at {} by this time zone", Moment::at(noon)))
                .expected(
                    "degrees east of Greenwich, below 0 west of it, and the time zone of the same place",
                )
                .help("look at the sign of the longitude, and at the name of the time zone");
        head.source.wrong(head.place_of("longitude"), problem);
    }
    sky
}

/// What to tell of the sun where the file does not say enough of the place.
fn sun_assumed(heading: &Heading) -> Option<String> {
    let noon = "is highest at 13:00 by the clock";
    let missing = [
        (heading.latitude.is_none(), "`latitude`"),
        (heading.longitude.is_none(), "`longitude`"),
        (heading.zone.is_none(), "`time_zone`"),
    ];
    let missing: Vec<&str> = missing.iter().filter(|m| m.0).map(|m| m.1).collect();
    let assumed = match (heading.latitude, missing.len()) {
        (_, 0) => return None,
        (None, 1) => format!("is that of latitude {LATITUDE}"),
        (None, _) => format!("is that of latitude {LATITUDE} and {noon}"),
        (Some(_), _) => noon.to_string(),
    };
    Some(format!("the sun {assumed}: add {} to [event]", missing.join(", ")))
}

/// How temperatures are shown where the file writes none: who measures in feet thinks in Fahrenheit.
fn usual_scale(pieces: &[Piece]) -> Scale {
    let in_feet = pieces.iter().any(|p| p.length.as_ref().is_some_and(Length::in_feet));
    if in_feet { Scale::Fahrenheit } else { Scale::Celsius }
}

/// What to tell of chores that fall outside the access.
fn chores_left_out(event: &Event) -> Vec<String> {
    let before_doors = |window: (f64, f64)| window.0 < event.doors - 1e-9;
    let left_out =
        event.means.chores.iter().filter(|c| before_doors(c.window) && !event.has_access_within(c.window));
    left_out
        .map(|c| {
            format!(
                "\"{}\" falls outside the time you may set up and is not in the crew's day: change its times or the access",
                c.name
            )
        })
        .collect()
}
