//! The prediction of each published outcome, from its published conditions.

use super::experiments::Experiment;
use super::naive::{self, variation};
use super::petals::{PETAL_1, PETAL_2, petal, petals, slowing};
use crate::climate::air::saturation_vapour_pressure;
use crate::climate::{Air, Climate, ClimateError};
use crate::flower::catalogue::{Catalogue, Flower, Quantity};
use crate::flower::loss::{CLOSED_AT, LossCurve, WATER_SHARE};
use crate::flower::population::{Heads, LOT_TRAITS, Lot, LotTrait};
use crate::flower::spread::two_piece;
use crate::flower::treatment::{Handling, Method, Stage, Treatment};
use crate::numerics::normal::quantile as normal;
use crate::numerics::random::Key;
use crate::physics::leaf::in_series;
use crate::simulate::journey::Placing;
use crate::simulate::journey::{Grid, Leg, Supply};
use crate::simulate::outcome::HeadOutcome;
use crate::simulate::run::{Job, Knowledge, LOTS, Lots, draws};
use crate::stats::Band;

/// The longest time for which heads in water are followed, h.
const LONGEST: f64 = 90.0 * 24.0;
/// The longest time for which florets out of water are followed, h.
const SOLD: f64 = 120.0;

/// What the program predicts of an outcome.
pub struct Prediction {
    /// Equally likely values; a single one where the model has no spread to offer.
    pub draws: Vec<f64>,
    /// Whether they are means of stems, or differences of such.
    pub of_means: bool,
    /// The part of the program that made them.
    pub model: Model,
    /// The forecast of someone who knows neither flower nor air, where there is one.
    pub naive: Option<Vec<f64>>,
}

/// The part of the program that makes a prediction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Model {
    /// The drying clock, and the mass lost by it.
    Drying,
    /// The drying clock until the first softening.
    Softness,
    /// The drying clock until plainly limp.
    Limpness,
    /// Ageing of stems in water.
    VaseLife,
    /// Days of ageing, in store or in water.
    Ageing,
    /// The conductance and mass of other petals.
    Petal,
    /// The conductance that dry hours imply.
    Skin,
    /// How loss slows, in the logged air, with the scatter of weighings.
    SlowingLoss,
    /// What the film of a sealed pack lets out.
    Pack,
    /// Stems that block against stems that do not.
    Blocking,
    /// How leaves close their stomata.
    Stomata,
    /// How lots and stems differ.
    Spread,
    /// What stage does to life.
    Stage,
}

impl Prediction {
    fn new(model: Model, draws: Vec<f64>) -> Prediction {
        Prediction { draws, of_means: false, model, naive: None }
    }

    fn of_means(model: Model, draws: Vec<f64>) -> Prediction {
        Prediction { of_means: true, ..Prediction::new(model, draws) }
    }

    fn against(self, naive: Vec<f64>) -> Prediction {
        Prediction { naive: Some(naive), ..self }
    }
}

/// Predicts a published outcome from its conditions; `None` where the program does not model it.
pub fn predict(experiment: &Experiment, seed: u64) -> Option<Prediction> {
    let trial = Trial { experiment, seed, handling: Handling::default() };
    let leafy = Trial { handling: Handling { leaves_on: true, ..trial.handling }, ..trial };
    let dry = |hours: f64| Prediction::of_means(Model::Drying, trial.lost(hours)).against(naive::lost(hours));
    let packed = |days: f64| {
        let naive = naive::lost(24.0 * days).iter().map(|lost| (lost / WATER_SHARE).min(100.0)).collect();
        Prediction::new(Model::Pack, trial.packed(days)).against(naive)
    };
    let life = || {
        let naive = naive::life(experiment);
        Prediction::of_means(Model::VaseLife, trial.life(trial.flower())).against(naive)
    };
    let stored = |days: f64| Prediction::of_means(Model::Ageing, trial.stored(days));
    Some(match experiment.id.as_str() {
        "W1-petal-1" => Prediction::new(Model::Petal, petal(PETAL_1, seed)).against(naive::petal(99.0)),
        "W1-petal-2" => Prediction::new(Model::Petal, petal(PETAL_2, seed)).against(naive::petal(80.0)),
        "W1-line-1" => {
            Prediction::new(Model::SlowingLoss, slowing(&PETAL_1, (1.0, 30.0), (70.0, 100.0), 14.5, seed))
        }
        "W1-line-2" => {
            Prediction::new(Model::SlowingLoss, slowing(&PETAL_2, (0.0, 30.0), (50.0, 80.0), 26.9, seed))
        }
        "W1-ten" => Prediction::new(Model::Petal, petals(10, seed)),
        "G-carnation" | "G-cosmos" => Prediction::new(Model::Skin, trial.conductance()),
        "W2-good" => Prediction::new(Model::Stomata, vec![leaf(0.834)]),
        "W2-bad" => Prediction::new(Model::Stomata, vec![leaf(0.704)]),
        "W4-dry" => dry(36.0),
        "W4-cold" => dry(240.0),
        "D-bridal-pink" => Prediction::of_means(Model::Drying, leafy.lost(72.0)).against(naive::lost(72.0)),
        "W8-rose" => packed(3.0),
        "W8-chrysanthemum" => packed(6.0),
        "W16-uptake" => Prediction::new(Model::Drying, uptake(trial.flower())),
        "W18-ratio" => {
            Prediction::of_means(Model::Blocking, trial.unblocked(|never, at_last| never / at_last))
        }
        "A1-0" | "A1-7.5" | "A1-12.5" | "A8-rose" | "S-raktagandha-4" => stored(5.0),
        "A9-dahlia-cold" | "A9-lupin" => stored(7.0),
        "S-raktagandha-8" => stored(2.0),
        id if id.starts_with("H-") => {
            Prediction::of_means(Model::Ageing, trial.share_stored(experiment.stored_days()))
        }
        "P-mercedes" => stored(1.0),
        "P-topaz" => stored(3.0),
        "P-hartman" => stored(6.0),
        "A4" => Prediction::new(Model::Spread, trial.cultivars(38)),
        "A5-cv" => Prediction::new(Model::Spread, trial.spread()),
        "A6" => Prediction::new(
            Model::Ageing,
            trial.lots().map(|lot| lot.ageing.pace(32.0) / lot.ageing.pace(24.0)).collect(),
        ),
        "A12-stock" | "A12-gypsophila" | "A12-gerbera" | "A12-tulip" => {
            Prediction::of_means(Model::Blocking, trial.unblocked(|never, at_last| never - at_last))
        }
        "W16-life" | "W18-23" | "A9-poppy" | "A9-rudbeckia" | "A16-tulip" => life(),
        "V-rose-8" => Prediction::of_means(Model::VaseLife, trial.of_lots(8, middle_of_range))
            .against(naive::life(experiment)),
        "V-rose-dutch" => Prediction::of_means(Model::VaseLife, trial.of_lots(32, middle_of_range))
            .against(naive::life(experiment)),
        "V-roses" => {
            let means = trial.of_lots(9, |lives| mean(lives.iter().copied()));
            Prediction::of_means(Model::VaseLife, means).against(naive::life(experiment))
        }
        "V-zinnia" | "V-zinnia-warm" => {
            let cost = trial.pace(experiment.air_in_store()).into_iter().map(|pace| 2.0 * pace);
            let left = trial.life(trial.flower()).into_iter().zip(cost).map(|(life, cost)| life - cost);
            Prediction::of_means(Model::VaseLife, left.collect()).against(naive::life(experiment))
        }
        id if id.starts_with("V-") => life(),
        "D-tuberose" | "D-gerbera" | "D-marigold" => {
            Prediction::of_means(Model::Limpness, trial.limp()).against(naive::limp())
        }
        "D-rose-stems" => Prediction::of_means(Model::Limpness, leafy.limp()).against(naive::limp()),
        "D-orchid" => Prediction::of_means(Model::Softness, trial.soft()).against(naive::soft()),
        "A16-dendrobium" => {
            Prediction::new(Model::Stage, vec![Stage::Blown.life_factor() / Stage::Tight.life_factor()])
        }
        "A16-antique" => {
            let fresh = trial.life(flower("hydrangea-fresh"));
            let more = trial.life(trial.flower()).into_iter().zip(fresh).map(|(a, f)| a - f);
            Prediction::of_means(Model::VaseLife, more.collect())
        }
        "S1-plants" => Prediction::new(Model::Spread, vec![plants(trial.flower(), seed)]),
        _ => return None,
    })
}

fn flower(id: &str) -> &'static Flower {
    Catalogue::shipped().find(id).expect("experiments name flowers of the catalogue")
}

fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, n) = values.fold((0.0, 0.0), |(sum, n), v| (sum + v, n + 1.0));
    sum / n
}

/// An experiment as the program simulates it: lots of a flower in its air, of each of which as many stems are seen as the
/// paper had.
#[derive(Clone, Copy)]
struct Trial<'e> {
    experiment: &'e Experiment,
    seed: u64,
    handling: Handling,
}

impl Trial<'_> {
    fn flower(&self) -> &'static Flower {
        flower(self.experiment.flower.as_deref().expect("an experiment on heads names its flower"))
    }

    fn error(&self) -> ClimateError {
        self.experiment.air_known.map_or(ClimateError::NONE, |known| known.error())
    }

    fn air_c(&self) -> f64 {
        self.experiment.air_c.expect("an experiment on heads has a temperature")
    }

    fn air(&self) -> Air {
        let humidity = self.experiment.humidity.expect("an experiment on drying has a humidity");
        Air::still(self.air_c(), humidity / 100.0)
    }

    /// The lots that [`Lots`] simulates, in its order.
    fn lots(&self) -> impl Iterator<Item = Lot> {
        let (flower, handling) = (self.flower(), self.handling);
        draws(flower, &handling, self.seed, LOTS).into_iter().map(move |d| Lot::new(flower, &handling, &d))
    }

    /// The heads of a lot.
    fn heads(&self, number: usize, lot: &Lot) -> Heads {
        let key = Key::named(self.seed, self.flower().id());
        Heads::new(self.flower(), &self.handling, lot, &key.columns(number))
    }

    /// How much warmer the air was for each lot than the paper says, K, as [`Lots`] draws it.
    fn warmer_by(&self) -> impl Iterator<Item = f64> {
        let kelvin = self.error().kelvin;
        Key { seed: self.seed, stream: 0 }.rows(LOTS).into_iter().map(move |[t, _]| kelvin * normal(t))
    }

    /// The outcomes of the heads of each lot of a flower that goes into a climate at hour 0. Of heads in water only those
    /// that drink count: stems that never do are weeded out of a vase-life trial on its first day.
    fn simulated(
        &self,
        flower: &Flower,
        handling: Handling,
        climate: Climate,
        method: Method,
        ask: f64,
    ) -> Vec<Vec<HeadOutcome>> {
        let climates = [climate];
        let (hours, step) = if method.is_dry() { (ask, ask / 120.0) } else { (LONGEST, 0.5) };
        let grid = Grid::covering(0.0, hours, step);
        let job =
            Job { flower, handling, spaces: &climates, touched: &[0], grid, seed: self.seed, lots: LOTS };
        let placing = Placing {
            after: vec![Leg { space: 0, from: 0, to: grid.steps, supply: Supply::Dry }],
            ask: grid.index(ask),
            ..Placing::default()
        };
        let drank = |outcomes: &[HeadOutcome]| outcomes.iter().filter(|f| f.weight > 0.5).copied().collect();
        let case = (placing, Treatment::new(method, 10.0));
        Lots::new(job)
            .and_then(|lots| lots.simulate(Knowledge::AsItIs, &[case], |_, outcomes| drank(outcomes)))
            .expect("an experiment in air that can be")
            .into_iter()
            .map(|mut lot| lot.remove(0))
            .collect()
    }

    /// A mean over the stems of each lot.
    fn means(&self, lots: &[Vec<HeadOutcome>], of: impl Fn(&HeadOutcome) -> f64) -> Vec<f64> {
        lots.iter().map(|lot| mean(lot.iter().take(self.experiment.stems()).map(&of))).collect()
    }

    fn held_dry(&self, hours: f64) -> Vec<Vec<HeadOutcome>> {
        let climate = Climate::constant(self.air(), self.error());
        self.simulated(self.flower(), self.handling, climate, Method::Tucked, hours)
    }

    /// Percent of fresh mass lost after some hours out of water.
    fn lost(&self, hours: f64) -> Vec<f64> {
        self.means(&self.held_dry(hours), |f| 100.0 * f.loss)
    }

    /// Hours out of water until plainly limp.
    fn limp(&self) -> Vec<f64> {
        self.means(&self.held_dry(SOLD), |f| f.wilted.min(SOLD))
    }

    /// Hours out of water until the first softening.
    fn soft(&self) -> Vec<f64> {
        self.means(&self.held_dry(SOLD), |f| f.flagging.min(SOLD))
    }

    /// The conductance of petals that the dry hours of each lot imply, mmol m-2 s-1.
    fn conductance(&self) -> Vec<f64> {
        let flower = self.flower();
        let in_the_middle = 1000.0 * flower.skin().conductance * flower.median(Quantity::DryHours);
        self.lots().map(|lot| in_the_middle / lot.dry_hours(flower, &self.handling, 0.0)).collect()
    }

    /// Days in a vase.
    fn life(&self, flower: &Flower) -> Vec<f64> {
        let climate = Climate::constant(self.air(), self.error());
        let lots = self.simulated(flower, Handling::default(), climate, Method::BudVase, 24.0);
        self.means(&lots, |f| f.flagging.min(LONGEST) / 24.0)
    }

    /// A figure of the days in a vase of some lots together, over many such sets.
    ///
    /// Ignorance of the flower is one and the same for the lots of a set: a set differs from the next by it, and lots of a
    /// set by what differs between lots.
    fn of_lots(&self, n: usize, figure: impl Fn(&[f64]) -> f64) -> Vec<f64> {
        let life = |ignorance: f64, draws: [f64; LOT_TRAITS]| {
            let mut draws = draws;
            draws[LotTrait::LifeIgnorance as usize] = ignorance;
            Lot::new(self.flower(), &Handling::default(), &draws).life_days
        };
        // What blockage and warmth make of a life is the same for all lots, to the middle of them.
        let days = Band::of(&self.life(self.flower())).expect("lots live").p50;
        let lots: Vec<f64> = self.lots().map(|lot| lot.life_days).collect();
        let scale = days / Band::of(&lots).expect("lots live").p50;
        let key = Key::named(self.seed, "sets");
        let sets = key.table(1, LOTS).into_iter().zip(0u64..);
        sets.map(|(u, set)| {
            let lots = Key::named(self.seed + 1 + set, self.flower().id()).rows(n);
            let lives: Vec<f64> = lots.into_iter().map(|draws| scale * life(u[0], draws)).collect();
            figure(&lives)
        })
        .collect()
    }

    /// Days of life at 20 C that a day at `c` degrees costs, for each lot.
    fn pace(&self, c: f64) -> Vec<f64> {
        self.lots().zip(self.warmer_by()).map(|(lot, kelvin)| lot.ageing.pace(c + kelvin)).collect()
    }

    /// Days of life that some days in store cost: the mean life of stems not stored less that of others which were.
    fn stored(&self, days: f64) -> Vec<f64> {
        let n = self.experiment.stems();
        let one = |(number, (lot, pace)): (usize, (Lot, f64))| {
            let life = self.heads(number, &lot).life_days;
            mean(life[..n].iter().copied()) - mean(life[n..2 * n].iter().map(|l| l - days * pace))
        };
        self.lots().zip(self.pace(self.air_c())).enumerate().map(one).collect()
    }

    /// The share of the mean life that some days in store cost.
    fn share_stored(&self, days: f64) -> Vec<f64> {
        let n = self.experiment.stems();
        let one = |(number, (lot, pace)): (usize, (Lot, f64))| {
            days * pace / mean(self.heads(number, &lot).life_days[..n].iter().copied())
        };
        self.lots().zip(self.pace(self.air_c())).enumerate().map(one).collect()
    }

    /// Compares the days in a vase of stems that never block with those of other stems of the lot, which block at last.
    fn unblocked(&self, beside: impl Fn(f64, f64) -> f64) -> Vec<f64> {
        let n = self.experiment.stems();
        let at_last = self.life(self.flower());
        let never = self.lots().zip(self.pace(self.air_c())).enumerate();
        let never = never.map(|(number, (lot, pace))| {
            mean(self.heads(number, &lot).life_days[n..2 * n].iter().map(|days| days / pace))
        });
        never.zip(at_last).map(|(never, at_last)| beside(never, at_last)).collect()
    }

    /// Water that a bunch loses through its skins, g kg-1 d-1 Pa-1, from its dry hours.
    fn skins(&self) -> f64 {
        let flower = self.flower();
        let lost = 1000.0 * flower.loss_curve().clock(flower.median(Quantity::FlaggingLoss));
        lost * 24.0 / flower.median(Quantity::DryHours) / Air::reference().vapour_pressure_deficit()
    }

    /// Percent of its moisture that a bunch loses in a sealed pack: whatever leaves it leaves through the film.
    ///
    /// # Formula
    /// `g (e_s - e_room) t / w`, skins and film in series in `g`: vapour pressures of living tissue and of the room
    /// outside, water per fresh mass.
    ///
    /// # Source
    /// Conservation of mass. Films pass 4 to 20 g m-2 d-1 at 38 C and 90 %, bunches show 0.4 to 1.5 m2 kg-1 of film
    /// (5 to 95 %, both from memory); the room is as warm as the pack, at 50 %, guessed. Films pass less when cooler,
    /// which is left out, and so are leaks of the seal.
    fn packed(&self, days: f64) -> Vec<f64> {
        let between =
            |low: f64, high: f64, u: f64| low * (high / low).powf(0.5 + normal(u) / (2.0 * normal(0.95)));
        let tested_at = 0.9 * saturation_vapour_pressure(38.0);
        let rows = Key::named(self.seed, "pack").table(4, 4 * LOTS);
        let loss = |u: Vec<f64>| {
            let film = between(4.0, 20.0, u[0]) / tested_at * between(0.4, 1.5, u[1]);
            let room = Air::still(self.air_c() + self.error().kelvin * normal(u[3]), 0.5);
            let room = room.shifted(0.0, ClimateError::GUESSED.rh * normal(u[2]));
            let grams = in_series(self.skins(), film) * room.vapour_pressure_deficit() * days;
            100.0 * grams / (1000.0 * WATER_SHARE)
        };
        rows.into_iter().map(loss).collect()
    }

    /// Longest over shortest mean life among `n` unknown cultivars, for many draws of them.
    fn cultivars(&self, n: usize) -> Vec<f64> {
        let lives: Vec<f64> = (0..40)
            .flat_map(|i| Key::named(self.seed + i, self.flower().id()).rows(LOTS))
            .map(|draws| Lot::new(self.flower(), &Handling::default(), &draws).life_days)
            .collect();
        let range = |c: &[f64]| {
            c.iter().copied().fold(0.0, f64::max) / c.iter().copied().fold(f64::INFINITY, f64::min)
        };
        lives.chunks_exact(n).map(range).collect()
    }

    /// Coefficient of variation of the lives of single stems of many known cultivars, over many draws.
    fn spread(&self) -> Vec<f64> {
        let handling = Handling { cultivar_known: true, ..Handling::default() };
        let once = |seed| {
            let climate = Climate::constant(self.air(), ClimateError::NONE);
            let lots =
                Trial { seed, ..*self }.simulated(self.flower(), handling, climate, Method::BudVase, 24.0);
            variation(&lots.concat().iter().map(|f| f.flagging).collect::<Vec<_>>())
        };
        (0..8).map(|i| once(self.seed + i)).collect()
    }
}

/// The loss curve of a leaf in the middle of those measured.
const CLOSING: LossCurve = LossCurve::Closing(CLOSED_AT[1]);

/// Relative water content after 560 min of a leaf that stood at `content` after 138 min.
fn leaf(content: f64) -> f64 {
    let clock = CLOSING.clock((1.0 - content) * WATER_SHARE) * 560.0 / 138.0;
    1.0 - CLOSING.loss(clock) / WATER_SHARE
}

/// Water that a head in water drinks in a day of the reference air, g: as much as it loses.
fn uptake(flower: &Flower) -> Vec<f64> {
    let clock = flower.loss_curve().clock(flower.median(Quantity::FlaggingLoss));
    let a_day = 24.0 * clock / flower.median(Quantity::DryHours);
    let mass = |i: usize| two_piece(flower.parameter(Quantity::FreshMass), normal((i as f64 + 0.5) / 100.0));
    (0..100).map(|i| mass(i) * a_day).collect()
}

/// Coefficient of variation of life between lots of a known cultivar, without the ignorance about it.
fn plants(flower: &Flower, seed: u64) -> f64 {
    let handling = Handling { cultivar_known: true, ..Handling::default() };
    let draws = Key::named(seed, "plants").rows(LOTS);
    let lives: Vec<f64> = draws
        .into_iter()
        .map(|mut d| {
            d[LotTrait::LifeIgnorance as usize] = 0.5;
            Lot::new(flower, &handling, &d).life_days
        })
        .collect();
    variation(&lives)
}

/// The middle of the range of some lives.
fn middle_of_range(lives: &[f64]) -> f64 {
    let [low, high] = lives.iter().fold([f64::INFINITY, 0.0], |[a, b], l| [l.min(a), l.max(b)]);
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn films_let_out_far_less_than_skins_so_that_their_dimensions_do_not_matter() {
        for experiment in crate::validate::experiments().iter().filter(|e| e.id.starts_with("W8-")) {
            let trial = Trial { experiment, seed: 1, handling: Handling::default() };
            let bare = 100.0 * trial.skins() * Air::still(trial.air_c(), 0.5).vapour_pressure_deficit()
                / (1000.0 * WATER_SHARE);
            let packed = Band::of(&trial.packed(1.0)).expect("a prediction has draws");
            assert!(packed.p50 < bare / 50.0 && packed.p95 < bare / 15.0, "{packed:?}, {bare}");
        }
    }
}
