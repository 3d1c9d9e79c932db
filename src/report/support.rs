//! What stands behind a flower's dry hours, in words: the trade's memory, and who speaks of it in public.

use crate::flower::catalogue::Flower;
use crate::flower::statements::{Statement, statements};
use crate::flower::support::LEVEL_SD;
use crate::units::short;

/// Half a line: how many independent groups speak of a flower, and how well its hours are known.
///
/// ```
/// use headwater::flower::catalogue::Catalogue;
/// use headwater::report::support::behind;
/// let told = |id: &str| behind(Catalogue::shipped().find(id).unwrap());
/// assert_eq!(told("hydrangea"), "13 independent sources and the trade's memory place it within a factor of 1.7");
/// assert_eq!(told("cosmos"), "common practice, no source, from memory");
/// ```
pub fn behind(flower: &Flower) -> String {
    let support = flower.support();
    let sources = match support.groups {
        0 => return "common practice, no source, from memory".to_string(),
        1 => "one source".to_string(),
        n => format!("{n} independent sources"),
    };
    // Nine in ten, as everywhere.
    format!(
        "{sources} and the trade's memory place it within a factor of {:.1}",
        (1.644_854 * support.said_ln_sd).exp()
    )
}

/// Half a line: what water loss says beside the hours that are said, and which of the two ends a head; `None` where no petal like
/// its own was measured.
///
/// ```
/// use headwater::flower::catalogue::Catalogue;
/// use headwater::report::support::beside_water;
/// let told = |id: &str| beside_water(Catalogue::shipped().find(id).unwrap());
/// assert!(told("hydrangea").unwrap().contains("something else ends it first"));
/// assert!(told("anthurium").is_none());
/// ```
pub fn beside_water(flower: &Flower) -> Option<String> {
    let (support, water) = (flower.support(), flower.by_water()?.hours());
    let by_water = support.by_water?;
    let narrower = support.ln_sd < support.said_ln_sd.hypot(LEVEL_SD);
    let ends = match (10.0 * by_water).round() as u32 {
        0 => "its stem gives way first".to_string(),
        n @ 1..=4 => format!("something else ends it first, more likely than not ({} in 10)", 10 - n),
        n @ 5..=9 => format!("water loss is what ends it, more likely than not ({n} in 10)"),
        _ => "water loss is what ends it".to_string(),
    };
    Some(format!(
        "{} h is said, and water loss at the conductance published for petals gives {} h; {ends}, and both together leave {} unknown",
        short(support.said_hours),
        short(water[1]),
        if narrower { "less" } else { "more" }
    ))
}

/// Every statement about a flower, a line each, with its address.
pub fn said(flower: &Flower) -> Vec<String> {
    let about = statements().iter().filter(|s| s.is_about(flower));
    about.map(line).collect()
}

/// A statement: what it says, of what, who says it and where.
fn line(s: &Statement) -> String {
    let hours = match (s.low_h, s.high_h) {
        (Some(low), Some(high)) if low == high => format!("{} h", short(low)),
        (Some(low), Some(high)) => format!("{} to {} h", short(low), short(high)),
        (Some(low), None) => format!("at least {} h", short(low)),
        (None, Some(high)) => format!("up to {} h", short(high)),
        (None, None) => format!("{:?}", s.rank).to_lowercase(),
    };
    let left_out = if s.used() { String::new() } else { format!("; not counted: {}", s.left_out) };
    format!(
        "{}: {}, {hours}; {}; {}; {} ({}): {}{left_out}",
        s.id, s.said_of, s.words, s.conditions, s.kind, s.group, s.address
    )
}
