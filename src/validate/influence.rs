//! Which inputs drive the answer, and so what a florist should measure first.
//!
//! The answer is the time to flagging of a single tucked head in an air that does not change. Everything that is not
//! known for sure is let vary at once, and the variance of the logarithm of that time is divided among the inputs.

use crate::climate::room::Room;
use crate::climate::{Air, ClimateError};
use crate::flower::catalogue::{Catalogue, Flower, Quantity};
use crate::flower::population::{LOT_TRAITS, Lot, LotTrait};
use crate::flower::treatment::{Conditioning, Handling};
use crate::numerics::normal;
use crate::numerics::random::Key;
use crate::physics::transpiration::{Skin, water_loss};
use crate::stats::sensitivity::{Estimate, sobol};
use std::fmt::Write;

/// Flowers that are asked about: a tough one, a middling one, a delicate one.
const FLOWERS: [&str; 3] = ["rose", "dahlia-ball", "hydrangea-fresh"];
/// Rooms that are asked about, in their afternoon.
const ROOMS: [&str; 3] = ["cooled ballroom", "barn with no cooling in August", "outdoor full sun"];
/// Sunshine on flowers that stand in the sun, W/m2: hazy to full (judgement).
const SUN: (f64, f64) = (300.0, 900.0);
/// Air speed indoors and outdoors, m/s (judgement: shut-up to draughty, sheltered to breezy).
const SPEED: [(f64, f64); 2] = [(0.05, 0.3), (0.3, 2.0)];
/// Rows of the sample, each lived as often as there are inputs, and twice more.
const SAMPLES: usize = 8192;

/// An input that varies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Input {
    Unknown,
    Delivery,
    Chance,
    Temperature,
    Humidity,
    SkinQ10,
    Speed,
    Exposed,
    Fullness,
    Sun,
}

use Input::*;

/// All of them; the last only where the sun shines.
const INPUTS: [Input; 10] =
    [Unknown, Delivery, Chance, Temperature, Humidity, SkinQ10, Speed, Exposed, Fullness, Sun];

impl Input {
    fn words(self) -> &'static str {
        match self {
            Unknown => "dry hours: what we do not know",
            Delivery => "dry hours: this delivery",
            Chance => "dry hours: chance between heads",
            Temperature => "air temperature",
            Humidity => "relative humidity",
            SkinQ10 => "how skin leaks more when warm",
            Speed => "air speed",
            Exposed => "share of petals meeting the air",
            Fullness => "conditioning",
            Sun => "sunshine",
        }
    }

    /// What a florist can measure to know it. One trial of a delivery tells its hours, known flower or not.
    fn measure(self) -> Option<&'static str> {
        match self {
            Unknown | Delivery => Some("the dry hours of a few heads of this delivery, in known air"),
            Temperature => Some("the air temperature where the flowers will be"),
            Humidity => Some("the relative humidity where the flowers will be"),
            Speed => Some("the air speed at the flowers"),
            Fullness => Some("how full the heads are when they leave the bucket"),
            Sun => Some("how strong the sun on the flowers is"),
            Chance | SkinQ10 | Exposed => None,
        }
    }
}

/// One input's part in the answer.
#[derive(Debug, Clone, Copy, serde::Serialize)]
pub struct Driver {
    /// The input, in plain words.
    pub input: &'static str,
    /// What to measure to know it.
    pub measure: Option<&'static str>,
    /// The share of the variance that would go if it were known.
    pub share: Estimate,
    /// The share of the variance that would stay if all else were known.
    pub total: Estimate,
}

/// What drives the answer for one flower in one room.
#[derive(Debug, Clone, serde::Serialize)]
pub struct Influence {
    /// The room.
    pub room: &'static str,
    /// The id of the flower.
    pub flower: &'static str,
    /// Typical hours to flagging.
    pub hours: f64,
    /// Nine of ten heads lie within this factor of them, either way.
    pub factor: f64,
    /// The inputs.
    pub drivers: Vec<Driver>,
}

/// The division of the variance for each room and flower.
pub fn influences(seed: u64) -> Vec<Influence> {
    let find = |id: &str| Catalogue::shipped().find(id).expect("these flowers are in the catalogue");
    let pairs = ROOMS.iter().flat_map(|room| FLOWERS.iter().map(move |flower| (*room, *flower)));
    pairs
        .map(|(room, flower)| influence(Room::find(room).expect("these rooms are known"), find(flower), seed))
        .collect()
}

fn influence(room: &'static Room, flower: &'static Flower, seed: u64) -> Influence {
    let air = room.afternoon(Air::SEA_LEVEL);
    let inputs = if air.sun > 0.0 { &INPUTS[..] } else { &INPUTS[..INPUTS.len() - 1] };
    let key = Key::named(seed, flower.id());
    let shares = sobol(inputs.len(), SAMPLES, key, |draws| log_hours(flower, air, draws));
    let drivers = inputs.iter().zip(shares.first.iter().zip(&shares.total));
    Influence {
        room: &room.words,
        flower: flower.id(),
        hours: shares.mean.value.exp(),
        factor: (normal::quantile(0.95) * shares.variance.value.sqrt()).exp(),
        drivers: drivers
            .map(|(input, (share, total))| Driver {
                input: input.words(),
                measure: input.measure(),
                share: *share,
                total: *total,
            })
            .collect(),
    }
}

/// The logarithm of a head's hours to flagging, from one even draw for each input.
///
/// # Formula
/// `start H / D`: hours it begins with, over how fast it dries in this air.
fn log_hours(flower: &Flower, air: Air, draws: &[f64]) -> f64 {
    let u = |input: Input| draws.get(input as usize).copied().unwrap_or(0.5);
    let between = |(low, high): (f64, f64), input: Input| low + (high - low) * u(input);
    let handling = Handling::default();
    let mut traits = [0.5; LOT_TRAITS];
    traits[LotTrait::Ignorance as usize] = u(Unknown);
    traits[LotTrait::Lot as usize] = u(Delivery);
    traits[LotTrait::SkinQ10 as usize] = u(SkinQ10);
    let lot = Lot::new(flower, &handling, &traits);

    let error = ClimateError::GUESSED;
    let air = air
        .shifted(error.kelvin * normal::quantile(u(Temperature)), error.rh * normal::quantile(u(Humidity)));
    let sun = if air.sun > 0.0 { between(SUN, Sun) } else { 0.0 };
    let air = Air { speed: between(SPEED[usize::from(air.outdoors)], Speed), sun, ..air };
    let exposed = flower.parameter(Quantity::ExposedShare);
    let skin = Skin { exposed_share: between((exposed.low, exposed.high), Exposed), ..flower.skin() };

    let full = Conditioning::Overnight.start();
    let start = between((Conditioning::FewHours.start(), full), Fullness);
    let hours = lot.dry_hours(flower, &handling, normal::quantile(u(Chance)));
    (start * hours / water_loss(&air, &skin, lot.skin_q10).relative).ln()
}

/// What each measurement would explain, on average over some rooms and flowers, the most telling first.
fn measurements(influences: &[&Influence]) -> Vec<(&'static str, f64)> {
    let mut explained: Vec<(&'static str, f64)> = Vec::new();
    for driver in influences.iter().flat_map(|i| &i.drivers) {
        let Some(what) = driver.measure else { continue };
        let share = driver.share.value.max(0.0) / influences.len() as f64;
        match explained.iter_mut().find(|(known, _)| *known == what) {
            Some((_, sum)) => *sum += share,
            None => explained.push((what, share)),
        }
    }
    explained.sort_by(|a, b| b.1.total_cmp(&a.1));
    explained
}

/// The tables and what they say.
pub fn text(influences: &[Influence]) -> String {
    let mut out = String::from("WHAT DRIVES THE ANSWER\n");
    let mut line = |text: &str| writeln!(out, "{text}").expect("a string takes any text");
    line("Hours to flagging of one tucked head: percent of the variance of their logarithm");
    line("that each input explains alone, and in all, with its part in others.");
    for room in influences.chunk_by(|a, b| a.room == b.room) {
        let cells = |f: &dyn Fn(&Influence) -> String| room.iter().map(f).collect::<String>();
        line("");
        line(&room[0].room.to_uppercase());
        line(&format!("{:32}{}", "", cells(&|i| format!("{:>16}", i.flower))));
        line(&format!("{:32}{}", "", cells(&|_| format!("{:>11}{:>5}", "alone", "all"))));
        for (n, driver) in room[0].drivers.iter().enumerate() {
            let percent = |e: Estimate| (100.0 * e.value.max(0.0)).round();
            let cell = |i: &Influence| {
                format!("{:>11}{:>5}", percent(i.drivers[n].share), percent(i.drivers[n].total))
            };
            line(&format!("{:32}{}", driver.input, cells(&cell)));
        }
        line(&format!("{:32}{}", "typical hours", cells(&|i| format!("{:>16.1}", i.hours))));
        let factor = |i: &Influence| format!("{:>16}", format!("x or / {:.1}", i.factor));
        line(&format!("{:32}{}", "nine of ten heads within", cells(&factor)));
        line(&advice(&measurements(&room.iter().collect::<Vec<_>>())));
    }
    let all: Vec<&Influence> = influences.iter().collect();
    let chance = all.iter().map(|i| i.drivers[Chance as usize].share.value).sum::<f64>() / all.len() as f64;
    line("");
    line("IN ALL");
    line(&advice(&measurements(&all)));
    line(&format!("Chance between heads is {:.0} %: no measuring takes it away.", 100.0 * chance));
    line("Conditioning counts for little here because it is at least a few hours in water;");
    line("heads straight from the box start with half of their hours.");
    out
}

fn advice(measurements: &[(&str, f64)]) -> String {
    let [first, second, ..] = measurements else { unreachable!("more than two inputs can be measured") };
    let item = |(what, share): &(&str, f64)| format!("{what}: {:.0} %", 100.0 * share);
    format!("Measure first {}\n    and then {}", item(first), item(second))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn in_the_middle_of_everything_a_head_lasts_its_dry_hours() {
        let rose = Catalogue::shipped().find("rose").unwrap();
        let still = Air { speed: 0.1, ..Air::reference() };
        // The fifth of the span of speeds at which the air is still.
        let mut draws = [0.5; INPUTS.len()];
        draws[Speed as usize] = 0.2;
        let expected = rose.median(Quantity::DryHours) * 0.925;
        assert!((log_hours(rose, still, &draws).exp() / expected - 1.0).abs() < 1e-9);
    }

    #[test]
    fn the_flowers_own_hours_come_first_everywhere() {
        for influence in influences(1) {
            let shares: f64 = influence.drivers.iter().map(|d| d.share.value).sum();
            assert!((0.95..1.03).contains(&shares), "{}: {shares}", influence.flower);
            assert!(measurements(&[&influence])[0].0.contains("dry hours"), "{}", influence.room);
        }
    }
}
