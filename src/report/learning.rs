//! What a notebook teaches about dry hours, in words.

use super::words::small;
use crate::flower::catalogue::{Flower, Quantity};
use crate::flower::learned::Learned;
use crate::flower::spread::two_piece;
use crate::flower::treatment::Conditioning;
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

/// What heads in water taught of stems that do not drink; `None` where no event tells of them.
pub fn stems(flower: &Flower, known: &Learned) -> Option<String> {
    let events = known.locked.events;
    let share = |z: f64| {
        let conditioned = Conditioning::default().air_locks();
        100.0 * conditioned * two_piece(flower.parameter(Quantity::AirLockShare), z)
    };
    (events > 0).then(|| {
        format!(
            "Of 100 stems in water about {} do not drink, by {} of yours in tubes or vases; the catalogue says {}",
            short(share(known.locked.middle)),
            if events == 1 { "one count".to_string() } else { format!("{} counts", small(events)) },
            short(share(0.0))
        )
    })
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
    let stems = stems(flower, known).map_or(String::new(), |told| format!(". {told}"));
    if known.trials + known.events == 0 && known.locked.events > 0 {
        return format!("{} dry hours in an ordinary room by the catalogue{stems}", range(&now));
    }
    if known.trials + known.events == 0 {
        return format!(
            "{} dry hours in an ordinary room by the catalogue, its range as wide as your past forecasts say",
            range(&now)
        );
    }
    let whose =
        if known.of_this_lot { "this delivery holds" } else { "the middle head of your next delivery holds" };
    format!(
        "After your {}, {whose} {} dry in an ordinary room; the catalogue says {}{stems}",
        from_notes(known),
        range(&now),
        range(&table)
    )
}
