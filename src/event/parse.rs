//! From the text of an event file to an [`Event`].

use super::access::{access, placed_in_time};
use super::clocks;
use super::faults::in_words;
use super::heading::{Heading, heading, marks, target};
use super::means::{Purse, means};
use super::model::{Event, Piece, Space, Travel};
use super::pieces::{ParseContext, pieces};
use super::section::{Section, Source};
use super::site::Site;
use super::spaces::{in_the_shade, spaces};
use super::travel::{drive, travel};
use crate::error::{Error, Result};
use crate::units::{Length, Moment, Scale};
use std::cell::RefCell;

/// Latitude assumed for the sun where the event names none, degrees.
const LATITUDE: f64 = 45.0;
/// A file that is not TOML at all is wrong everywhere: these many places are enough to see it.
const MOST_FAULTS: usize = 10;

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
        let text = text.strip_prefix('\u{feff}').unwrap_or(text); // some editors begin a file with this mark
        let source = Source { file, text, problems: RefCell::default() };
        let (table, faults) = toml::de::DeTable::parse_recoverable(text);
        let event = if faults.is_empty() {
            event(&Section::file(&source, table.get_ref()), load)
        } else {
            for fault in faults.iter().take(MOST_FAULTS) {
                let span = fault.span().unwrap_or(0..0);
                let problem = in_words(fault.message(), text.get(span.clone()).unwrap_or_default());
                source.wrong(span, problem);
            }
            None
        };
        let mut problems = source.problems.into_inner();
        problems
            .sort_by_key(|p| p.place.as_ref().map_or((false, 0, 0), |p| (p.file != file, p.line, p.column)));
        match event {
            Some(event) if problems.is_empty() => Ok(event),
            _ => Err(Error { problems }),
        }
    }
}

fn event(root: &Section, load: Load) -> Option<Event> {
    let mut assumptions = Vec::new();
    let heading = heading(root);
    // Where a time is wrong or missing there can be no event, but the rest of the file is still read for its problems.
    let doors = heading.doors.unwrap_or(Moment::at(f64::INFINITY));
    let end = heading.end.unwrap_or(Moment::at(24.0));
    let (target_share, assurance) = target(root);
    let mut purse = Purse::new();
    let mut means = means(root, &mut purse, doors.hours, &mut assumptions);
    let marks = marks(root);
    let Places { access, access_is_sound, mut spaces, names, scale, travel, wait } =
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
    for piece in &mut pieces {
        piece.wait = wait.unwrap_or_else(|| in_the_shade(piece.space, &mut spaces, &mut assumptions));
    }
    root.finish();
    means.currency = purse.currency();
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
        scale: scale.unwrap_or_else(|| usual_scale(&pieces)),
        pieces,
        target_share,
        assurance,
        means,
        clock: heading.clock,
        notebook: heading.notebook,
        assumptions,
    };
    event.assumptions.extend(clocks::caution(event.date, event.span(), heading.latitude));
    if access_is_sound {
        event.assumptions.extend(chores_left_out(&event));
        let pieces = written.iter().zip(&event.pieces);
        pieces.for_each(|(written, piece)| placed_in_time(written, piece, &event));
    }
    Some(event)
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
    let site = Site {
        pressure: heading.pressure,
        date: heading.date.unwrap_or(jiff::civil::date(2027, 6, 21)),
        latitude: heading.latitude.unwrap_or(LATITUDE),
        span: (first - drive, end.hours),
        load,
    };
    let (mut spaces, scale) = spaces(root, &site, assumptions);
    if heading.latitude.is_none() && spaces.iter().any(|s| s.climate.at(13.0).sun > 0.0) {
        assumptions.push(format!(
            "the sun is that of latitude {LATITUDE} with noon at 13:00: add `latitude` to [event]"
        ));
    }
    let names: Vec<String> = spaces.iter().map(|s| s.name.clone()).collect();
    let (travel, wait) = travel(&journey, drive, &mut spaces, &names, &site);
    if !journey.is_present() {
        assumptions
            .push("flowers come out of a cool store, half an hour in a cool van, all in water".to_string());
    }
    Places { access, access_is_sound, spaces, names, scale, travel, wait }
}

/// How temperatures are shown where the file writes none: who measures in feet thinks in Fahrenheit.
fn usual_scale(pieces: &[Piece]) -> Scale {
    let in_feet = pieces.iter().any(|p| p.length.as_ref().is_some_and(Length::in_feet));
    if in_feet { Scale::Fahrenheit } else { Scale::Celsius }
}

/// What to tell of chores that fall outside the access.
fn chores_left_out(event: &Event) -> Vec<String> {
    let left_out = event.means.chores.iter().filter(|c| !event.has_access_within(c.window));
    left_out
        .map(|c| {
            format!(
                "\"{}\" falls outside the time you may set up and is not in the crew's day: change its times or the access",
                c.name
            )
        })
        .collect()
}
