//! Plain words: counts of heads rather than percentages, and no term that a client would have to ask about.

use super::clock::clock;
use crate::event::{Criterion, Event, Piece, Sort, Space};
use crate::flower::treatment::{Method, Treatment};
use crate::stats::Band;
use crate::units::{Scale, short};

/// A flower's name as people say it: "dahlia, ball/pompon" becomes "ball dahlia".
///
/// ```
/// use headwater::report::words::short_name;
/// assert_eq!(short_name("eucalyptus, silver dollar"), "silver dollar eucalyptus");
/// assert_eq!(short_name("hydrangea, mature/antique stage"), "mature hydrangea");
/// assert_eq!(short_name("conifer (cedar, pine, spruce)"), "conifer");
/// assert_eq!(short_name("Italian (soft) ruscus"), "Italian ruscus");
/// assert_eq!(short_name("standard rose"), "standard rose");
/// ```
pub fn short_name(name: &str) -> String {
    // Words in brackets are left out.
    let name = match name.split_once(" (").and_then(|(before, rest)| Some((before, rest.split_once(')')?.1)))
    {
        Some((before, after)) => format!("{before}{after}"),
        None => name.to_string(),
    };
    match name.split_once(", ") {
        Some((noun, kind)) => {
            let kind = kind.split(['/', ',']).next().unwrap_or(kind);
            let kind = kind.split(" and ").next().unwrap_or(kind);
            let kind = kind.split(" or ").next().unwrap_or(kind).trim_end_matches(" stage");
            format!("{kind} {noun}")
        }
        None => name,
    }
}

/// The name of a flower in a sentence: the florist's own, or else the short name of the catalogue, with its colour.
pub fn called(sort: &Sort) -> String {
    match (&sort.own_name, &sort.colour) {
        (Some(own), _) => own.clone(),
        (None, Some(colour)) => format!("{colour} {}", short_name(sort.flower.name())),
        (None, None) => short_name(sort.flower.name()),
    }
}

/// Some names, with "and" before the last.
///
/// ```
/// use headwater::report::words::listed;
/// let names = ["roses", "dahlias", "lisianthus"].map(String::from);
/// assert_eq!(listed(&names), "roses, dahlias and lisianthus");
/// assert_eq!(listed(&names[..1]), "roses");
/// ```
pub fn listed(names: &[String]) -> String {
    match names {
        [all @ .., before, last] => {
            all.iter().map(|n| format!("{n}, ")).collect::<String>() + before + " and " + last
        }
        [one] => one.clone(),
        [] => String::new(),
    }
}

/// A number, in words up to twelve.
pub fn small(n: u32) -> String {
    const WORDS: [&str; 13] = [
        "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
        "twelve",
    ];
    WORDS.get(n as usize).map_or_else(|| n.to_string(), |w| (*w).to_string())
}

/// A chance as a frequency that anybody can picture.
///
/// ```
/// use headwater::report::words::times;
/// assert_eq!(times(0.91), "9 in 10");
/// assert_eq!([times(0.999), times(0.96), times(0.02)], ["always", "19 in 20", "hardly ever"]);
/// ```
pub fn times(chance: f64) -> String {
    match chance {
        _ if chance >= 0.985 => "always".to_string(),
        _ if chance >= 0.945 => "19 in 20".to_string(),
        _ if chance < 0.05 => "hardly ever".to_string(),
        _ => format!("{:.0} in 10", (10.0 * chance).floor().max(1.0)),
    }
}

/// A chance at the end of a sentence: [`times`], told as times.
pub fn how_often(chance: f64) -> String {
    match times(chance).as_str() {
        often @ ("always" | "hardly ever") => often.to_string(),
        odds => odds.replace(" in ", " times in "),
    }
}

/// Names that stay as they are after a number.
const ALWAYS_ONE: [&str; 9] =
    ["gypsophila", "statice", "limonium", "astilbe", "lavender", "solidago", "heather", "stock", "breath"];

/// The name of a flower or foliage to follow a number.
///
/// ```
/// use headwater::report::words::several;
/// assert_eq!([several("ball dahlia"), several("lily"), several("lisianthus")], ["ball dahlias", "lilies", "lisianthus"]);
/// ```
pub fn several(name: &str) -> String {
    let last = name.split(' ').next_back().unwrap_or_default();
    match last {
        _ if ALWAYS_ONE.contains(&last) || last.ends_with(['s', 'x', 'z', 'h', ')']) => name.to_string(),
        _ if last.ends_with('y') && !last.ends_with("ey") => format!("{}ies", &name[..name.len() - 1]),
        _ => format!("{name}s"),
    }
}

/// A number of heads in words.
pub fn heads(n: u32) -> String {
    if n == 1 { "1 head".to_string() } else { format!("{n} heads") }
}

/// The text with a capital first letter.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// The lines below an event's name: place, times and target.
pub fn heading(event: &Event, hotter: f64) -> Vec<String> {
    let day = event.date.strftime("%A %-d %B %Y");
    let place = event.place.as_ref().map_or(String::new(), |p| format!("{p}, "));
    let doors = event.moment(event.doors).clock();
    let mut lines = vec![
        format!("{place}{day}. Doors at {doors}, end at {}.", clock(event, event.end)),
        format!(
            "Wanted: {:.0} of 100 heads still good at each piece's hour, whatever the delivery, {:.0} times in 100.",
            100.0 * event.target_share,
            100.0 * event.assurance
        ),
    ];
    if hotter != 0.0 {
        lines.push(self::hotter(event, hotter));
    }
    lines
}

/// Where a piece stands, and where it is moved to and when.
pub fn path(event: &Event, piece: &Piece) -> String {
    let mut text = event.spaces[piece.space].name.clone();
    for (at, space) in &piece.moves {
        text.push_str(&format!(", from {} {}", clock(event, *at), event.spaces[*space].name));
    }
    text
}

/// What a head is called that no longer counts.
pub fn gone(counts: Criterion) -> &'static str {
    match counts {
        Criterion::Flagging => "past their best",
        Criterion::Wilted => "limp",
    }
}

/// What a head is called that still counts.
pub fn kept(counts: Criterion) -> &'static str {
    match counts {
        Criterion::Flagging => "still fresh to look at",
        Criterion::Wilted => "still standing up",
    }
}

/// A space, its air at the hours that matter, and the source of its climate.
pub fn space(event: &Event, space: &Space) -> String {
    let sun = space.climate.at(15.0).sun;
    let clock = event.moment(15.0).clock();
    let sunny = if sun > 0.0 { format!(", sun of {sun:.0} W/m2 at {clock}") } else { String::new() };
    format!("{}{sunny} ({})", air(event, space), space.from)
}

/// A space and its air at 05:00, at 15:00 and, if it does not repeat daily, at the warmest hour of the event.
fn air(event: &Event, space: &Space) -> String {
    let at = |hour: f64| {
        let air = space.climate.at(hour);
        let temperature = match event.scale {
            Scale::Celsius => format!("{:.0} C", air.temperature_c),
            Scale::Fahrenheit => format!("{:.0} F", air.temperature_c * 1.8 + 32.0),
        };
        format!("{temperature} and {:.0} %", 100.0 * air.relative_humidity())
    };
    let (night, afternoon) = (at(5.0), at(15.0));
    let clock = |hour: f64| event.moment(hour).clock();
    let air = if night == afternoon {
        format!("{afternoon} at all hours")
    } else {
        // With guests inside, the warmest hour may come after the afternoon.
        let hours = (0..).map(|n| event.doors + 0.25 * f64::from(n)).take_while(|h| *h <= event.end);
        let warmest = hours.max_by(|a, b| {
            let celsius = |h: &f64| space.climate.at(*h).temperature_c;
            celsius(a).total_cmp(&celsius(b))
        });
        let crowded = match warmest {
            Some(hour) if !space.climate.repeats() => format!("{} at {}, ", at(hour), clock(hour)),
            _ => String::new(),
        };
        format!("{crowded}{afternoon} at {}, {night} at {}", clock(15.0), clock(5.0))
    };
    format!("{}: {air}", capital(&space.name))
}

/// The size of a temperature difference in the event's scale.
pub fn degrees(event: &Event, kelvin: f64) -> String {
    match event.scale {
        Scale::Celsius => format!("{} C", short(kelvin.abs())),
        Scale::Fahrenheit => format!("{} F", short(kelvin.abs() * 1.8)),
    }
}

/// The line that says how much hotter or cooler the plan assumes it to be, K.
pub fn hotter(event: &Event, kelvin: f64) -> String {
    let by = degrees(event, kelvin);
    let towards = if kelvin > 0.0 { "hotter" } else { "cooler" };
    format!(
        "WHAT IF it were {by} {towards} than the file says, with the same moisture in the air, everywhere but in the cool store"
    )
}

/// A count of `heads` with its range.
pub fn count(count: &Band, heads: u32) -> String {
    match (count.p05 == count.p95, count.p50) {
        (true, 0.0) => format!("hardly one of {heads}"),
        (true, n) if n < f64::from(heads) => format!("about {n} of {heads}"),
        (true, _) if heads == 1 => "the one".to_string(),
        (true, _) => format!("practically all {heads}"),
        _ => format!("about {} of {heads} (nine times out of ten {} to {})", count.p50, count.p05, count.p95),
    }
}

/// The range of a count for a table, to follow its median, with `to` between its ends; empty if the ends are equal.
pub fn range(count: &Band, to: &str) -> String {
    match count.p05 == count.p95 {
        true => String::new(),
        false => format!(" ({}{to}{})", count.p05, count.p95),
    }
}

/// The name of a treatment, with the size of its tube.
pub fn treatment_name(treatment: Treatment) -> String {
    match treatment.method {
        Method::WaterTube => format!("{} ml tube", short(treatment.tube_ml)),
        other => other.words().to_string(),
    }
}

/// The title of a picture of one order.
pub fn title(piece: &str, flower: &str, heads: u32) -> String {
    format!("{}: {flower}, {}", capital(piece), self::heads(heads))
}
