//! The prediction of each published outcome, from its published conditions.

use crate::climate::air::WATER_MOLAR_MASS;
use crate::climate::{Air, Climate, ClimateError};
use crate::elementary::normal;
use crate::flower::catalogue::{Catalogue, Flower, Quantity};
use crate::flower::loss::{CLOSED_AT, LossCurve, WATER_SHARE};
use crate::flower::population::{HEADS, Lot, LotTrait};
use crate::flower::treatment::{Handling, Stage, Treatment, Way};
use crate::physics::transpiration::{Skin, water_loss};
use crate::simulate::journey::{Grid, Leg, Supply};
use crate::simulate::kernel::Fate;
use crate::simulate::random::Key;
use crate::simulate::run::{Job, Knowledge, LOTS, Lots, Placing};
use crate::stats::Band;

/// How long heads in water are followed, h.
const LONGEST: f64 = 90.0 * 24.0;

/// The prediction of an outcome by its id, where the program makes one.
pub fn predict(id: &str, seed: u64) -> Option<Band> {
    let constant = |c: f64, rh: f64| Climate::constant(Air::indoors(c, rh), ClimateError::NONE);
    let lost = |flower: &str, climate: Climate, hours: f64| {
        let fates = lived(flower, Handling::default(), climate, hours, Treatment::Tucked, seed);
        band(fates.iter().map(|f| 100.0 * f.loss).collect())
    };
    let life = |flower: &str, climate: Climate| {
        let fates = lived(flower, Handling::default(), climate, 24.0, Treatment::BudVase, seed);
        // Stems that never drank are weeded out of a vase-life trial on its first day; a trial tells the mean of the rest.
        let drank: Vec<f64> =
            fates.iter().filter(|f| f.weight > 0.5).map(|f| f.flagging.min(LONGEST) / 24.0).collect();
        band(drank.chunks(HEADS).map(|lot| lot.iter().sum::<f64>() / HEADS as f64).collect())
    };
    Some(match id {
        "W1-petal-1" => petal(Air::indoors(22.7, 0.485), 99.0, seed),
        "W1-petal-2" => petal(Air::indoors(21.5, 0.515), 80.0, seed),
        "W1-line-1" => slowing((1.0, 30.0), (70.0, 100.0), 14.5),
        "W1-line-2" => slowing((0.0, 30.0), (50.0, 80.0), 26.9),
        "W2-good" => about(leaf(0.834)),
        "W2-bad" => about(leaf(0.704)),
        "W4-dry" => lost("rose", constant(22.0, 0.65), 36.0),
        "W4-cold" => lost("rose", constant(2.0, 0.95), 240.0),
        "W8-rose" => lost("rose", constant(23.0, 0.95), 72.0),
        "W8-chrysanthemum" => lost("chrysanthemum-disbud", constant(23.0, 0.95), 144.0),
        "W16-uptake" => uptake("hydrangea-fresh"),
        "W16-life" => life("hydrangea-fresh", constant(21.0, 0.50)),
        "W18-23" => life("rose", constant(23.0, 0.60)),
        "A1-0" | "A8-rose" => stored(0.0, 5.0, Supply::Dry, seed),
        "A1-7.5" => stored(7.5, 5.0, Supply::Dry, seed),
        "A1-12.5" => stored(12.5, 5.0, Supply::Ample, seed),
        "A9-dahlia-cold" => stored(1.0, 7.0, Supply::Dry, seed),
        "A4" => cultivars(38, seed),
        "A5-cv" => spread("carnation", true, seed),
        "A6" => warmer(seed),
        "A9-poppy" => life("iceland-poppy", constant(20.0, 0.60)),
        "A16-tulip" => life("tulip", constant(23.5, 0.60)),
        "V-rose-8" => life("rose", constant(20.0, 0.50)),
        "V-rose-sonia" | "V-rose-delilah" | "V-rose-jinny" | "V-rose-spring" | "V-rose-winter" => {
            life("rose", constant(21.0, 0.50))
        }
        "V-carnation-sim" | "V-carnation-miracle" => life("carnation", constant(23.0, 0.70)),
        "V-lisianthus" => life("lisianthus", constant(20.0, 0.50)),
        "V-narcissus" => life("narcissus", constant(21.0, 0.50)),
        "V-zinnia" => {
            let (fresh, cost) =
                (life("zinnia", constant(21.0, 0.50)), stored(1.0, 2.0, Supply::Dry, seed).p50);
            Band { p05: fresh.p05 - cost, p50: fresh.p50 - cost, p95: fresh.p95 - cost }
        }
        "V-gerbera" => life("gerbera-large", constant(4.0, 0.90)),
        "D-tuberose" => {
            let climate = constant(25.5, 0.52);
            let fates = lived("tuberose", Handling::default(), climate, 120.0, Treatment::Tucked, seed);
            band(fates.iter().map(|f| f.wilted.min(120.0)).collect())
        }
        "A16-dendrobium" => exactly(Stage::Blown.life_factor() / Stage::Tight.life_factor()),
        "A16-antique" => {
            let (fresh, antique) = (
                life("hydrangea-fresh", constant(21.0, 0.50)),
                life("hydrangea-antique", constant(21.0, 0.50)),
            );
            Band { p05: antique.p05 - fresh.p95, p50: antique.p50 - fresh.p50, p95: antique.p95 - fresh.p05 }
        }
        "S1-plants" => exactly(plants(seed)),
        _ => return None,
    })
}

fn flower(id: &str) -> &'static Flower {
    Catalogue::shipped().find(id).expect("experiments name flowers of the catalogue")
}

fn band(values: Vec<f64>) -> Band {
    Band::of(&values)
}

fn exactly(value: f64) -> Band {
    Band { p05: value, p50: value, p95: value }
}

/// A prediction that the model makes without a spread: 10 % either way counts as agreement.
fn about(value: f64) -> Band {
    Band { p05: 0.9 * value, p50: value, p95: 1.1 * value }
}

/// The fates of all heads of all lots of a flower that goes into a climate at hour 0.
fn lived(
    id: &str,
    handling: Handling,
    climate: Climate,
    ask: f64,
    treatment: Treatment,
    seed: u64,
) -> Vec<Fate> {
    let climates = [climate];
    let hours = if treatment.is_dry() { ask } else { LONGEST };
    let step = if treatment.is_dry() { ask / 120.0 } else { 0.5 };
    let grid = Grid::covering(0.0, hours, step);
    let job = Job { flower: flower(id), handling, spaces: &climates, touched: &[0], grid, seed, lots: LOTS };
    let placing = Placing {
        after: vec![Leg { space: 0, from: 0, to: grid.steps, supply: Supply::Dry }],
        ask: grid.index(ask),
        ..Placing::default()
    };
    Lots::new(job)
        .live(Knowledge::AsItIs, &[(placing, Way::new(treatment, 10.0))], |_, fates| fates.to_vec())
        .into_iter()
        .flat_map(|mut lot| lot.remove(0))
        .collect()
}

/// Late over early rate of loss of a passive petal in an even air, between minutes of an `early` and a `late` stretch,
/// the last of them ending at a loss in percent.
fn slowing(early: (f64, f64), late: (f64, f64), lost: f64) -> Band {
    let pace = LossCurve::Passive.clock(lost / 100.0) / late.1;
    let at = |minute: f64| LossCurve::Passive.loss(pace * minute);
    let rate = |(a, b): (f64, f64)| (at(b) - at(a)) / (b - a);
    about(rate(late) / rate(early))
}

/// A detached petal after some minutes: its conductance drawn about that of other petals of its species.
fn petal(air: Air, minutes: f64, seed: u64) -> Band {
    let losses = Key::named(seed, "petal").climate(4 * LOTS).into_iter().map(|[a, b]| {
        let conductance = 0.0075 * (1.8f64.ln() * normal(a)).exp();
        let mass_per_area = 91.0 + (141.0 - 91.0) * b;
        let skin = Skin { conductance, exposed_share: 1.0, nested: false };
        let grams = water_loss(&air, &skin, 1.2).flux * 1000.0 * WATER_MOLAR_MASS * minutes * 60.0;
        100.0 * LossCurve::Passive.loss(grams / mass_per_area)
    });
    band(losses.collect())
}

/// Leaves in the middle of those measured.
const CLOSING: LossCurve = LossCurve::Closing(CLOSED_AT[1]);

/// Relative water content after 560 min of a leaf that stood at `content` after 138 min.
fn leaf(content: f64) -> f64 {
    let clock = CLOSING.clock((1.0 - content) * WATER_SHARE) * 560.0 / 138.0;
    1.0 - CLOSING.loss(clock) / WATER_SHARE
}

/// Water that a head in water drinks a day in the reference air, g: its loss, all made good.
fn uptake(id: &str) -> Band {
    let flower = flower(id);
    let clock = flower.loss_curve().clock(flower.median(Quantity::FlaggingLoss));
    let mass = flower.parameter(Quantity::FreshMass);
    let a_day = 24.0 * clock / flower.median(Quantity::DryHours);
    Band { p05: mass.low * a_day, p50: mass.value * a_day, p95: mass.high * a_day }
}

/// Days of life at 20 C that some days at a temperature cost.
fn stored(c: f64, days: f64, supply: Supply, seed: u64) -> Band {
    band(
        lots("snapdragon", seed)
            .map(|lot| {
                days * match supply {
                    Supply::Dry => lot.ageing.out_of_water(c),
                    _ => lot.ageing.in_water(c),
                }
            })
            .collect(),
    )
}

/// Ageing at 32 C over that at 24 C.
fn warmer(seed: u64) -> Band {
    band(lots("carnation", seed).map(|lot| lot.ageing.in_water(32.0) / lot.ageing.in_water(24.0)).collect())
}

/// Longest over shortest mean life among some unknown cultivars, over many draws of them.
fn cultivars(n: usize, seed: u64) -> Band {
    let lives: Vec<f64> =
        (0..40).flat_map(|i| lots("rose", seed + i).map(|l| l.life_days).collect::<Vec<_>>()).collect();
    band(
        lives
            .chunks_exact(n)
            .map(|c| c.iter().copied().fold(0.0, f64::max) / c.iter().copied().fold(f64::INFINITY, f64::min))
            .collect(),
    )
}

/// Coefficient of variation of the lives of single stems of many known cultivars, over many draws.
fn spread(id: &str, cultivar_known: bool, seed: u64) -> Band {
    let handling = Handling { cultivar_known, ..Handling::default() };
    let climate = || Climate::constant(Air::indoors(20.0, 0.60), ClimateError::NONE);
    band(
        (0..8)
            .map(|i| {
                let fates = lived(id, handling, climate(), 24.0, Treatment::BudVase, seed + i);
                variation(&fates.iter().filter(|f| f.weight > 0.5).map(|f| f.flagging).collect::<Vec<_>>())
            })
            .collect(),
    )
}

/// Coefficient of variation between lots of a known cultivar, what is not known of it left out.
fn plants(seed: u64) -> f64 {
    let handling = Handling { cultivar_known: true, ..Handling::default() };
    let draws = Key::named(seed, "plants").lots(LOTS);
    let lives: Vec<f64> = draws
        .into_iter()
        .map(|mut d| {
            d[LotTrait::LifeIgnorance as usize] = 0.5;
            Lot::new(flower("rose"), &handling, &d).life_days
        })
        .collect();
    variation(&lives)
}

pub fn variation(values: &[f64]) -> f64 {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt() / mean
}

fn lots(id: &str, seed: u64) -> impl Iterator<Item = Lot> {
    let flower = flower(id);
    Key::named(seed, id)
        .lots(LOTS)
        .into_iter()
        .map(move |draws| Lot::new(flower, &Handling::default(), &draws))
}
