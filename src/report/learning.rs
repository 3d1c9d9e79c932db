//! What a notebook teaches about a flower, in words.

use super::words::{capital, short_name, small};
use crate::climate::Air;
use crate::decide::middle::Middle;
use crate::flower::catalogue::{Flower, Quantity};
use crate::flower::learned::{Bears, Learned};
use crate::flower::spread::two_piece;
use crate::flower::treatment::{Conditioning, Handling};
use crate::numerics::elementary::ln;
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
            counted(events, "count"),
            short(share(0.0))
        )
    })
}

/// What weighed tubes and vases taught of how much heads drink; nothing where none were weighed.
pub fn drinks(flower: &Flower, known: &Learned) -> Vec<String> {
    let told = [("head", false), ("stem with its leaves on", true)].into_iter().filter_map(|(what, leaves_on)| {
        let trials = known.drinks[usize::from(leaves_on)].trials;
        let grams = |learned: Option<Learned>| {
            let handling = Handling { leaves_on, learned, ..Handling::default() };
            short(24.0 * Middle::of(flower, &handling).drinks(&Air::reference()))
        };
        (trials > 0).then(|| {
            format!(
                "In water a {what} drinks about {} g a day in an ordinary room, by {} of yours; the catalogue says {}",
                grams(Some(*known)),
                counted(trials, "weighing"),
                grams(None)
            )
        })
    });
    told.collect()
}

/// What trials of heads that were handled like this taught of what that costs or gains; nothing where none were tried.
///
/// # Formula
/// The catalogue's factor to the power `1 + x`, at the middle of `x` and 1.645 standard deviations to either side.
pub fn bears(flower: &Flower, known: &Learned, handling: &Handling) -> Vec<String> {
    let names =
        [handling.conditioning.words(), handling.stage.words(), "with leaves on", handling.lying.words()];
    let before = Bears::default().covariance;
    let told =
        handling.factors().map(ln).into_iter().zip(names).enumerate().filter_map(|(way, (factor, name))| {
            let (middle, variance) = (known.bears.middle[way], known.bears.covariance[way][way]);
            let times = |z: f64| format!("{:.2}", (factor * (1.0 + middle + z * variance.sqrt())).exp());
            let (low, high) = if factor < 0.0 { (1.645, -1.645) } else { (-1.645, 1.645) };
            (factor != 0.0 && variance != before[way][way]).then(|| {
                format!(
                    "{}, {} lasts {} times as long ({} to {}), by your trials; the catalogue says {:.2}",
                    capital(name),
                    short_name(flower.name()),
                    times(0.0),
                    times(low),
                    times(high),
                    factor.exp()
                )
            })
        });
    told.collect()
}

/// A number of things in words, such as "one trial" or "two trials".
fn counted(n: u32, what: &str) -> String {
    if n == 1 { format!("one {what}") } else { format!("{} {what}s", small(n)) }
}

/// How many trials and past events something was learned from.
pub fn from_notes(known: &Learned) -> String {
    let parts = [(known.trials, "trial"), (known.events, "past event")];
    let told: Vec<String> =
        parts.into_iter().filter(|(n, _)| *n > 0).map(|(n, what)| counted(n, what)).collect();
    told.join(" and ")
}

/// What was learned of heads handled like this besides their dry hours.
fn besides(flower: &Flower, known: &Learned, handling: &Handling) -> Vec<String> {
    let mut told: Vec<String> = stems(flower, known).into_iter().collect();
    told.extend(drinks(flower, known));
    told.extend(bears(flower, known, handling));
    told
}

/// The sentence in a plan: the dry hours believed of a flower, and those of the catalogue.
pub fn sentence(flower: &Flower, known: &Learned, handling: &Handling) -> String {
    let (now, table) = (next(known, flower), next(&Learned::nothing(flower), flower));
    let rest: String = besides(flower, known, handling).iter().map(|told| format!(". {told}")).collect();
    if known.trials + known.events == 0 && !rest.is_empty() {
        return format!("{} dry hours in an ordinary room by the catalogue{rest}", range(&now));
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
        "After your {}, {whose} {} dry in an ordinary room; the catalogue says {}{rest}",
        from_notes(known),
        range(&now),
        range(&table)
    )
}
