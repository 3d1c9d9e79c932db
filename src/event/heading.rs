//! `[event]`, `[target]` and `[marks]`: what the event is, when it is, and how good the flowers must be.

use super::clocks;
use super::habits::Over;
use super::section::{Found, Section};
use super::way::{Way, way};
use crate::climate::Air;
use crate::climate::air::pressure_at_altitude;
use crate::error::{Problem, nearest};
use crate::units::{Altitude, ClockStyle, Moment, Share};
use jiff::civil::Date;
use jiff::tz::{TimeZone, db};

/// What `[event]` says; nothing where a value is missing or wrong.
pub struct Heading {
    pub name: Option<String>,
    pub place: Option<String>,
    pub date: Option<Date>,
    /// Air pressure at the altitude of the event, Pa.
    pub pressure: f64,
    pub latitude: Option<f64>,
    pub longitude: Option<f64>,
    /// The time zone, with its summer time.
    pub zone: Option<TimeZone>,
    pub doors: Option<Moment>,
    pub end: Option<Moment>,
    pub clock: ClockStyle,
    pub notebook: Option<String>,
    pub way: Way,
}

/// Reads the `[event]` section.
pub fn heading(root: &Section) -> Heading {
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
    let date = date(&head);
    root.source.date.set(date);
    let pressure = head
        .quantity::<Altitude>("altitude")
        .map_or(Air::SEA_LEVEL, |a| pressure_at_altitude(a.value.metres));
    let latitude = degrees(&head, "latitude", (90.0, "south of the equator", "51.5"));
    let longitude = degrees(&head, "longitude", (180.0, "west of Greenwich", "-0.1"));
    let zone = zone(&head);
    root.source.turn.set(date.zip(zone.as_ref()).and_then(|(date, zone)| clocks::turn(zone, date)));
    let doors = head.required_moment("doors", "the time by which everything must stand", "\"16:00\"");
    let end = head.required_moment("end", "when it is over", "\"23:30\"");
    let notebook = head.text("notebook").map(|f| f.value);
    let way = way(&head);
    head.finish();
    if let (Some(doors), Some(end)) = (&doors, &end) {
        ends_after_doors(&head, doors, end);
    }
    Heading {
        name: name.map(|f| f.value),
        place,
        date,
        pressure,
        latitude,
        longitude,
        zone,
        clock: doors.as_ref().map_or(ClockStyle::default(), |d| d.value.style),
        doors: doors.map(|d| d.value),
        end: end.map(|e| e.value),
        notebook,
        way,
    }
}

fn date(head: &Section) -> Option<Date> {
    let Found { value, span } = head.required_text("date", "its day: year-month-day", "2027-08-14")?;
    let date = day(&value);
    if date.is_none() {
        let problem =
            Problem::new(format!("{value:?} is not a day of the calendar")).expected("year-month-day");
        head.source.wrong(span, problem.help(days_meant(&value)));
    }
    date
}

/// A day of the calendar as it may be written; `None` if it is none, or may be two.
///
/// ```
/// use headwater::event::day;
/// assert_eq!(day("Sat, Aug 14th, 2027"), day("2027-08-14"));
/// assert_eq!(day("08/14/2027"), None);
/// ```
pub fn day(text: &str) -> Option<Date> {
    text.trim().parse().ok().or_else(|| with_month_in_words(text))
}

/// A day whose month is a word and whose year is there: 14 August 2027, Sat, Aug 14th, 2027.
fn with_month_in_words(text: &str) -> Option<Date> {
    let text = text.to_lowercase();
    let words: Vec<&str> =
        text.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty() && *w != "of").collect();
    let ordinal = |w: &str| {
        ["st", "nd", "rd", "th"].iter().find_map(|end| w.strip_suffix(end)).unwrap_or(w).parse().ok()
    };
    let month = |w: &&str| {
        let is = |month: i8| {
            let name = Date::constant(2000, month, 1).strftime("%B").to_string().to_lowercase();
            w.len() >= 3 && name.starts_with(*w)
        };
        (1..=12).find(|month| is(*month))
    };
    let months: Vec<i8> = words.iter().filter_map(month).collect();
    let numbers: Vec<i16> = words.iter().filter_map(|w| ordinal(w)).collect();
    let (&[month], &[day, year]) = (months.as_slice(), numbers.as_slice()) else { return None };
    Date::new(year, month, day.try_into().ok()?).ok().filter(|_| year > 1900)
}

/// What to type for a day written in another order: both days that it may mean, or an example.
fn days_meant(text: &str) -> String {
    let numbers: Vec<i16> = text.split(['/', '.', '-', ' ']).filter_map(|n| n.parse().ok()).collect();
    let written = |year: i16, month: i16, day: i16| {
        let date = Date::new(year, month.try_into().ok()?, day.try_into().ok()?).ok()?;
        Some(format!("date = {date} for {}", date.strftime("%-d %B")))
    };
    // 14.08.27: a year of two figures comes last.
    let century = if text.contains('-') { 0 } else { 2000 };
    let meant: Vec<String> = match numbers[..] {
        [a, b, year] if year > 99 || (century > 0 && year > 12) => {
            let year = if year > 99 { year } else { century + year };
            let mut days: Vec<String> =
                [written(year, b, a), written(year, a, b)].into_iter().flatten().collect();
            days.dedup();
            days
        }
        [year, a, b] if year > 99 => written(year, b, a).into_iter().collect(),
        _ => Vec::new(),
    };
    match meant.is_empty() {
        true => "date = 2027-08-14".to_string(),
        false => meant.join(", or "),
    }
}

/// A latitude or a longitude: at most how large, what is below 0, and an example.
fn degrees(head: &Section, key: &'static str, (most, below, example): (f64, &str, &str)) -> Option<f64> {
    let Found { value, span } = head.text(key)?;
    let read = value.parse().ok().filter(|degrees: &f64| degrees.abs() <= most);
    if read.is_none() {
        let problem = Problem::new(format!("{value:?} is not a {key}"))
            .expected(format!("degrees from -{most} to {most}, {below} below 0, with no letter"))
            .help(format!("{key} = {example}"));
        head.source.wrong(span, problem);
    }
    read
}

fn zone(head: &Section) -> Option<TimeZone> {
    let Found { value, span } = head.text("time_zone")?;
    let zone = db().get(value.trim()).ok();
    if zone.is_none() {
        let names: Vec<String> = db().available().map(|name| name.to_string()).collect();
        // London for Europe/London.
        let city = value.trim().replace(' ', "_").to_lowercase();
        let whole = names.iter().find(|name| name.to_lowercase().rsplit('/').next() == Some(&city));
        let near = whole.map(String::as_str).or_else(|| nearest(&value, names.iter().map(String::as_str)));
        let problem = Problem::new(format!("{value:?} is not a time zone known here"))
            .expected("its name in the time zone database, continent and city: its summer time is then known")
            .help(format!("time_zone = \"{}\"", near.unwrap_or("Europe/London")));
        head.source.wrong(span, problem);
    }
    zone
}

fn ends_after_doors(head: &Section, doors: &Found<Moment>, end: &Found<Moment>) {
    if end.value.hours > doors.value.hours {
        return;
    }
    let problem =
        Problem::new(format!("the event ends at {}, not after its doors open at {}", end.value, doors.value))
            .expected("an end later than the doors; plain clock times are those of the event's own day")
            .help(format!("end = \"next day {}\" if it ends after midnight", end.value.clock()));
    head.source.wrong(end.span.clone(), problem);
}

/// Reads `[target]`: the share of heads that should be presentable, and the probability of reaching it, 0 to 1.
pub(super) fn target(target: &Over) -> (f64, f64) {
    let share = |key: &'static str, usual: f64| {
        target.of(key).quantity::<Share>(key).map_or(usual, |s| s.value.percent / 100.0)
    };
    let (share, assurance) = (share("presentable", 0.95), share("assurance", 0.90));
    target.finish();
    (share, assurance)
}

/// Reads `[marks]`: hours with their names, in rising order. The doors and the end are names of hours, too.
pub fn marks(root: &Section, heading: &Heading) -> Vec<(String, f64)> {
    let mut marks = Vec::new();
    for (mark, Found { value, span }) in root.section("marks").entries("a clock time in quotes", "18:30") {
        match root.source.plain_time(&value).parse::<Moment>() {
            Ok(at) => marks.extend(root.source.on_the_clock(at, span).map(|at| (mark, at.value.hours))),
            Err(e) => root.source.wrong(
                span,
                Problem::new(format!("the mark `{mark}` cannot be {value:?}"))
                    .expected(e.expected)
                    .help(e.help),
            ),
        }
    }
    marks.sort_by(|a, b| a.1.total_cmp(&b.1));
    let known = [("doors", heading.doors), ("end", heading.end)];
    let known = known.into_iter().filter_map(|(name, at)| Some((name.to_string(), at?.hours)));
    root.source.marks.replace(marks.iter().cloned().chain(known).collect());
    marks
}
