//! What a notebook teaches about dry hours, in words.

use super::words::small;
use crate::flower::catalogue::Flower;
use crate::flower::learned::Learned;
use crate::stats::Band;
use crate::units::short;

/// Hours as a number without a unit: whole from 20 on, else with few digits.
pub fn number(hours: f64) -> String {
    if hours >= 20.0 { format!("{hours:.0}") } else { short(hours) }
}

/// Hours with their 90 % range.
pub fn range(band: &Band) -> String {
    format!("{} h ({} to {} h)", number(band.p50), number(band.p05), number(band.p95))
}

/// The 90 % range of the dry hours of the median head of the next delivery, h.
pub fn next(known: &Learned, flower: &Flower) -> Band {
    let at = |z: f64| known.hours(flower, z);
    Band { p05: at(-1.644_854), p50: at(0.0), p95: at(1.644_854) }
}

/// How many trials and past events something was learned from.
pub fn from_notes(known: &Learned) -> String {
    let n = |n: u32, what: &str| match n {
        0 => None,
        1 => Some(format!("one {what}")),
        n => Some(format!("{} {what}s", small(n))),
    };
    let parts: Vec<String> =
        [n(known.trials, "trial"), n(known.events, "past event")].into_iter().flatten().collect();
    parts.join(" and ")
}

/// The sentence in a plan: the dry hours believed of a flower, and those of the catalogue.
pub fn sentence(flower: &Flower, known: &Learned) -> String {
    let (now, table) = (next(known, flower), next(&Learned::nothing(flower), flower));
    if known.trials + known.events == 0 {
        return format!(
            "{} dry hours in an ordinary room by the catalogue, its range as wide as your past forecasts say",
            range(&now)
        );
    }
    let whose =
        if known.of_this_lot { "this delivery holds" } else { "the middle head of your next delivery holds" };
    format!(
        "After your {}, {whose} {} dry in an ordinary room; the catalogue says {}",
        from_notes(known),
        range(&now),
        range(&table)
    )
}
