//! Which inputs drive the answer, and so what a florist should measure first.
//!
//! The answer is the time to flagging of a single tucked head in an air that does not change. All inputs that are not
//! known for sure vary at once, and the variance of the logarithm of that time is divided among them.

use crate::climate::room::Room;
use crate::climate::{Air, ClimateError};
use crate::flower::catalogue::{Catalogue, Flower, Quantity};
use crate::flower::population::{LOT_TRAITS, Lot, LotTrait};
use crate::flower::treatment::{Conditioning, Handling};
use crate::numerics::normal;
use crate::numerics::random::Key;
use crate::physics::transpiration::{Skin, water_loss};
use crate::stats::sensitivity::{Estimate, sobol};

/// The flowers asked about: a tough one, a middling one, a delicate one.
const FLOWERS: [&str; 3] = ["rose", "dahlia-ball", "hydrangea-fresh"];
/// The rooms asked about, in the afternoon.
const ROOMS: [&str; 3] = ["cooled ballroom", "barn with no cooling in August", "outdoor full sun"];
/// Sunshine on flowers that stand in the sun, W/m2: hazy to full (judgement).
const SUN: (f64, f64) = (300.0, 900.0);
/// Air speed indoors and outdoors, m/s (judgement: shut-up to draughty, sheltered to breezy).
const SPEED: [(f64, f64); 2] = [(0.05, 0.3), (0.3, 2.0)];
/// Rows of the sample. Each is evaluated once for every input, and twice more.
const SAMPLES: usize = 8192;

/// An input that varies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Input {
    /// What is not known of the flower's dry hours.
    Ignorance,
    /// How this delivery's dry hours differ from those of others.
    Delivery,
    /// How the dry hours of one head differ from those of another.
    Chance,
    /// The temperature of the air.
    Temperature,
    /// The relative humidity of the air.
    Humidity,
    /// How much more skin leaks when it is warm.
    SkinQ10,
    /// Air speed at the flowers.
    Speed,
    /// Share of the petals that meets the air.
    Exposed,
    /// How full of water conditioning left the heads.
    Fullness,
    /// Sunshine on the flowers.
    Sun,
}

use Input::*;

/// All inputs; the last only where the sun shines.
const INPUTS: [Input; 10] =
    [Ignorance, Delivery, Chance, Temperature, Humidity, SkinQ10, Speed, Exposed, Fullness, Sun];

/// What a florist can measure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measurement {
    /// The dry hours of a few heads of the delivery, in known air.
    DryHours,
    /// The air temperature where the flowers will be.
    Temperature,
    /// The relative humidity where the flowers will be.
    Humidity,
    /// The air speed at the flowers.
    Speed,
    /// How full the heads are when they leave the bucket.
    Fullness,
    /// How strong the sun on the flowers is.
    Sun,
}

impl Input {
    /// The measurement that makes it known, where there is one. A trial of a delivery tells its dry hours, whether the
    /// flower is known or not.
    pub fn measured_by(self) -> Option<Measurement> {
        match self {
            Ignorance | Delivery => Some(Measurement::DryHours),
            Temperature => Some(Measurement::Temperature),
            Humidity => Some(Measurement::Humidity),
            Speed => Some(Measurement::Speed),
            Fullness => Some(Measurement::Fullness),
            Sun => Some(Measurement::Sun),
            Chance | SkinQ10 | Exposed => None,
        }
    }
}

/// One input's part in the answer.
#[derive(Debug, Clone, Copy)]
pub struct Driver {
    /// The input that varies.
    pub input: Input,
    /// The share of the variance that would go if it were known.
    pub share: Estimate,
    /// The share of the variance that would stay if all else were known.
    pub total: Estimate,
}

/// What drives the answer for one flower in one room.
#[derive(Debug, Clone)]
pub struct Influence {
    /// The room in plain words.
    pub room: &'static str,
    /// The id of the flower.
    pub flower: &'static str,
    /// Typical hours to flagging.
    pub hours: f64,
    /// Nine of ten heads lie within this factor of them, either way.
    pub factor: f64,
    /// The part of every input.
    pub drivers: Vec<Driver>,
}

/// Divides the variance for each room and flower. The same seed gives the same bits.
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
    let shares = sobol(inputs.len(), SAMPLES, key, |draws| log_hours(flower, air, room.error(), draws));
    let drivers = inputs.iter().zip(shares.first.iter().zip(&shares.total));
    Influence {
        room: &room.words,
        flower: flower.id(),
        hours: shares.mean.value.exp(),
        factor: (normal::quantile(0.95) * shares.variance.value.sqrt()).exp(),
        drivers: drivers
            .map(|(input, (share, total))| Driver { input: *input, share: *share, total: *total })
            .collect(),
    }
}

/// The logarithm of a head's hours to flagging, from one even draw for each input.
///
/// # Formula
/// `start H / D`: hours it begins with, over how fast it dries in this air.
fn log_hours(flower: &Flower, air: Air, error: ClimateError, draws: &[f64]) -> f64 {
    let u = |input: Input| draws.get(input as usize).copied().unwrap_or(0.5);
    let between = |(low, high): (f64, f64), input: Input| low + (high - low) * u(input);
    let handling = Handling::default();
    let mut traits = [0.5; LOT_TRAITS];
    traits[LotTrait::Ignorance as usize] = u(Ignorance);
    traits[LotTrait::Lot as usize] = u(Delivery);
    traits[LotTrait::SkinQ10 as usize] = u(SkinQ10);
    let lot = Lot::new(flower, &handling, &traits);

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

/// The share of the variance that each measurement would explain, on average over some rooms and flowers, the most telling
/// first.
pub fn measurements(influences: &[Influence]) -> Vec<(Measurement, f64)> {
    let mut explained: Vec<(Measurement, f64)> = Vec::new();
    for driver in influences.iter().flat_map(|i| &i.drivers) {
        let Some(what) = driver.input.measured_by() else { continue };
        let share = driver.share.value.max(0.0) / influences.len() as f64;
        match explained.iter_mut().find(|(known, _)| *known == what) {
            Some((_, sum)) => *sum += share,
            None => explained.push((what, share)),
        }
    }
    explained.sort_by(|a, b| b.1.total_cmp(&a.1));
    explained
}

/// The share of the variance that is chance between heads, on average: no measurement takes it away.
pub fn chance(influences: &[Influence]) -> f64 {
    let share = |i: &Influence| i.drivers[Chance as usize].share.value;
    influences.iter().map(share).sum::<f64>() / influences.len() as f64
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
        assert!((log_hours(rose, still, ClimateError::GUESSED, &draws).exp() / expected - 1.0).abs() < 1e-9);
    }

    #[test]
    fn the_flowers_own_hours_come_first_everywhere() {
        let influences = influences(1);
        assert_eq!(influences.len(), ROOMS.len() * FLOWERS.len());
        for influence in &influences {
            let shares: f64 = influence.drivers.iter().map(|d| d.share.value).sum();
            assert!((0.95..1.03).contains(&shares), "{}: {shares}", influence.flower);
            let first = measurements(std::slice::from_ref(influence))[0].0;
            assert_eq!(first, Measurement::DryHours, "{}", influence.room);
        }
    }
}
