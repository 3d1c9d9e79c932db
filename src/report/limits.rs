//! Where dry stops being enough, in words: a sentence or two for a flower.

use super::document::{Block, Document, Table};
use super::words::{capital, short_name, small, times};
use crate::decide::hours::METHODS;
use crate::decide::limits::{DRIER, GOOD, LONGEST, Limits, MOISTER, need};
use crate::flower::treatment::Method;
use crate::simulate::outcome::EndPoint;
use crate::units::{Scale, Span, Temperature, short};

/// The hours that a sentence may name, the longest first.
const NAMED: [f64; 11] = [24.0, 18.0, 12.0, 9.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.0, 0.5];
/// The temperatures that a sentence names are at least so far apart, K.
const APART: f64 = 2.0;
/// Rooms are hardly ever cooler than this while flowers stand in them, C (judgement).
pub const COOLEST: f64 = 14.0;
/// Nor hotter than this, C, and a warm one has about this (judgement).
const HOTTEST: f64 = 35.0;
const WARM: f64 = 25.0;

/// A temperature as the florist writes it.
pub fn degrees(celsius: f64, scale: Scale) -> String {
    Temperature::from_celsius(celsius).shown_in(scale).to_string()
}

/// Hours in words: "three hours".
fn hours_words(hours: f64) -> String {
    match hours {
        0.5 => "half an hour".to_string(),
        1.0 => "one hour".to_string(),
        24.0 => "a day".to_string(),
        n => format!("{} hours", small(n as u32)),
    }
}

/// Hours as a chart gives them: rounded down to a half, so that nothing is promised that does not hold.
///
/// ```
/// use headwater::report::limits::rounded;
/// assert_eq!(rounded(5.9), "5½");
/// assert_eq!([rounded(0.7), rounded(0.3), rounded(24.0)], ["½", "0", "24+"]);
/// ```
pub fn rounded(hours: f64) -> String {
    let halves = (2.0 * hours + 1e-9).floor() as u32;
    match (halves / 2, halves % 2) {
        _ if hours >= LONGEST => format!("{LONGEST:.0}+"),
        (0, 1) => "½".to_string(),
        (n @ 1..=9, 1) => format!("{n}½"),
        (n, _) => n.to_string(),
    }
}

/// What each of [`METHODS`] is called, the tube with its size.
pub fn method_name(method: Method, tube_ml: f64) -> String {
    match method {
        Method::WaterTube => format!("{} ml tube", short(tube_ml)),
        other => other.words().to_string(),
    }
}

/// How long dry will do: "dry for three hours up to 22 C, two hours up to 26 C; above, water".
pub fn dry_sentence(limits: &Limits, scale: Scale) -> String {
    let mut named: Vec<(f64, f64)> = Vec::new();
    for hours in NAMED {
        let Some(c) = limits.up_to(Method::Tucked, hours) else { continue };
        if c >= COOLEST && named.last().is_none_or(|(_, before)| c - before >= APART) {
            named.push((hours, c));
        }
        // Nothing shorter says more.
        if c >= HOTTEST {
            break;
        }
    }
    match spread(&named)[..] {
        [] => "never dry: water from the start".to_string(),
        [(hours, c)] if c >= HOTTEST => {
            format!("dry for {} at any temperature of a room", hours_words(hours))
        }
        ref all => {
            let words: Vec<String> = all.iter().map(|n| up_to(*n, scale)).collect();
            format!("dry for {}; above, water", words.join(", "))
        }
    }
}

fn up_to((hours, c): (f64, f64), scale: Scale) -> String {
    format!("{} up to {}", hours_words(hours), degrees(c, scale))
}

/// Of many named hours the first, the last, and the one nearest to a usual warm room.
fn spread(named: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let [first, between @ .., last] = named else { return named.to_vec() };
    let usual = between.iter().min_by(|a, b| (a.1 - WARM).abs().total_cmp(&(b.1 - WARM).abs()));
    [Some(first), usual, Some(last)].into_iter().flatten().copied().collect()
}

/// What it takes for so many hours: "For 6 h: dry up to 18 C, a 10 ml tube up to 27 C, a bud vase up to 35 C".
pub fn need_sentence(limits: &Limits, until: Span, scale: Scale) -> String {
    let mut parts = Vec::new();
    let mut reached = f64::NEG_INFINITY;
    for method in METHODS {
        let Some(c) = limits.up_to(method, until.hours) else { continue };
        if c <= reached {
            continue;
        }
        reached = c;
        let name = match method {
            Method::Tucked => "dry".to_string(),
            other => format!("a {}", method_name(other, limits.asked.tube_ml)),
        };
        let all = limits.always(method, until.hours);
        parts.push(if all && parts.is_empty() {
            format!("{name} will do up to {}", degrees(c, scale))
        } else {
            format!("{name} up to {}", degrees(c, scale))
        });
        if all {
            return format!("For {until}: {}.", parts.join(", "));
        }
    }
    match parts.is_empty() {
        true => format!("For {until}: not even a vase keeps them at any of these temperatures."),
        false => format!("For {until}: {}; above that, nothing.", parts.join(", ")),
    }
}

/// What drier and moister air does to dry hours.
pub fn humidity_sentence(limits: &Limits, scale: Scale) -> String {
    let (drier, moister) = limits.as_if;
    let warmth = |kelvin: f64| match scale {
        Scale::Celsius => format!("{:.0} C", kelvin.abs()),
        Scale::Fahrenheit => format!("{:.0} F", kelvin.abs() * 1.8),
    };
    let percent = |by: f64| format!("{:.0} %", 100.0 * (limits.humidity + by).clamp(0.01, 1.0));
    format!(
        "In drier air, {}, take the room to be {} warmer than it is; in moister, {}, {} cooler.",
        percent(DRIER),
        warmth(drier),
        percent(MOISTER),
        warmth(moister)
    )
}

/// What the hours count, in a sentence.
pub fn counts_sentence(limits: &Limits) -> String {
    let until = match limits.asked.end_point() {
        EndPoint::Flagging => "to the first softening",
        EndPoint::Wilted => "until limp",
    };
    format!(
        "Hours {until} in {:.0} % humidity, still air and shade; {} deliveries have {} of their heads good so long.",
        100.0 * limits.humidity,
        times(limits.asked.sure),
        times(GOOD).replace(" in ", " of "),
    )
}

/// A flower's name at the head of its own answer.
pub fn heading(limits: &Limits) -> String {
    capital(&short_name(limits.asked.flower.name()))
}

/// The answer for one flower: its sentences and the hours by temperature.
pub fn answer(limits: &Limits, until: Span, scale: Scale) -> Document {
    let name = heading(limits);
    let tube = limits.asked.tube_ml;
    let mut head = vec![">room".to_string()];
    head.extend(METHODS.iter().map(|m| format!(">{}, h", method_name(*m, tube))));
    head.push(format!("for {until}"));
    let row = |(c, hours): (&f64, &[f64; METHODS.len()])| {
        let mut row = vec![degrees(*c, scale)];
        row.extend(hours.iter().map(|h| rounded(*h)));
        row.push(
            need(hours, until.hours).map_or("nothing will do".to_string(), |m| method_name(METHODS[m], tube)),
        );
        row
    };
    let every = if scale == Scale::Celsius { 2 } else { 3 };
    let shown =
        limits.temperatures.iter().zip(&limits.hours).filter(|(c, _)| **c >= COOLEST - 1e-9).step_by(every);
    Document {
        title: name.clone(),
        blocks: vec![
            Block::Subheading(format!("{name}: {}", dry_sentence(limits, scale))),
            Block::Text(need_sentence(limits, until, scale)),
            Block::Text(humidity_sentence(limits, scale)),
            Block::Table(Table { head, rows: shown.map(row).collect(), keys: 0 }),
            Block::Small(counts_sentence(limits)),
        ],
    }
}
