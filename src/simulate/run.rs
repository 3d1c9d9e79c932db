//! All lots, placings and treatments of one flower.

use super::journey::{Course, Drive, Grid, Leg, Supply, drive};
use super::kernel::{Fate, Start, State};
use super::random::Key;
use crate::climate::{Air, Climate};
use crate::flower::catalogue::Flower;
use crate::flower::population::{Heads, LOT_TRAITS, Lot, LotTrait, align};
use crate::flower::treatment::{Handling, TUBE_USABLE, Treatment, Way};
use crate::physics::transpiration::Skin;
use rayon::prelude::*;

/// Lots simulated unless another number is asked for.
pub const LOTS: usize = 320;

/// One flower, the spaces it may be in, and the clock.
#[derive(Debug, Clone, Copy)]
pub struct Job<'a> {
    /// The flower.
    pub flower: &'a Flower,
    /// How it arrives and is set.
    pub handling: Handling,
    /// The spaces that legs name by their index.
    pub spaces: &'a [Climate],
    /// Which of the spaces its journeys touch.
    pub touched: &'a [usize],
    /// The clock.
    pub grid: Grid,
    /// The seed.
    pub seed: u64,
    /// How many lots.
    pub lots: usize,
}

/// One placing: the way there, and the way on.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Placing {
    /// Legs before it is placed.
    pub before: Vec<Leg>,
    /// Legs once it is placed; the treatment gives their supply.
    pub after: Vec<Leg>,
    /// Steps at which tubes are filled up.
    pub refills: Vec<usize>,
    /// The step at which fresh-mass loss is asked.
    pub ask: usize,
}

/// The lots of a job, drawn, with what every space does to them.
pub struct Lots<'a> {
    job: Job<'a>,
    drawn: Vec<Drawn>,
}

struct Drawn {
    as_it_is: (Lot, Heads),
    /// The same lot with what we do not know of the flower at its median.
    if_known: (Lot, Heads),
    drives: Vec<Drive>,
}

/// The draws of a flower's lots, in rising order of what decides most: their luck in dry hours.
pub fn draws(flower: &Flower, handling: &Handling, seed: u64, lots: usize) -> Vec<[f64; LOT_TRAITS]> {
    let mut draws = Key::named(seed, flower.id()).lots(lots);
    let luck = LotTrait::Ignorance as usize;
    draws.sort_by(|a, b| a[luck].total_cmp(&b[luck]));
    draws.iter_mut().for_each(|d| align(flower, handling, d));
    draws
}

/// Whether what we do not know of the flower takes its part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Knowledge {
    /// It does: this is what can be promised today.
    AsItIs,
    /// It is taken at its median, to show what trials could teach.
    Perfect,
}

impl<'a> Lots<'a> {
    /// Draws the lots of a job. Draws depend on seed, flower and lot alone, so that treatments and placings are
    /// compared on the same heads, and the number of threads changes nothing.
    pub fn new(job: Job<'a>) -> Self {
        let key = Key::named(job.seed, job.flower.id());
        let skin = Skin { nested: job.handling.nested, ..job.flower.skin() };
        let mut airs: Vec<Vec<Air>> = vec![Vec::new(); job.spaces.len()];
        let mut errors: Vec<Vec<[f64; 2]>> = vec![Vec::new(); job.spaces.len()];
        for &s in job.touched {
            airs[s] = (0..job.grid.steps).map(|n| job.spaces[s].at(job.grid.hour(n as f64 + 0.5))).collect();
            // One venue has one error of climate for all its flowers: its stream does not depend on the flower.
            errors[s] = Key { seed: job.seed, stream: s as u32 }.climate(job.lots);
        }
        let drawn = draws(job.flower, &job.handling, job.seed, job.lots)
            .into_par_iter()
            .enumerate()
            .map(|(i, mut draws)| {
                let head_draws = key.heads(i);
                let drawn = |draws: &[f64; LOT_TRAITS]| {
                    let lot = Lot::new(job.flower, &job.handling, draws);
                    (lot, Heads::new(job.flower, &job.handling, &lot, &head_draws))
                };
                let as_it_is = drawn(&draws);
                let mut drives = vec![Drive::new(); job.spaces.len()];
                for &s in job.touched {
                    drives[s] =
                        drive(&airs[s], job.spaces[s].error, &skin, &as_it_is.0, &job.grid, errors[s][i]);
                }
                for t in [LotTrait::Ignorance, LotTrait::FlaggingIgnorance, LotTrait::LifeIgnorance] {
                    draws[t as usize] = 0.5;
                }
                Drawn { as_it_is, if_known: drawn(&draws), drives }
            })
            .collect();
        Lots { job, drawn }
    }

    /// Lives every lot through every placing and way, and reduces the fates of each lot's heads at once.
    ///
    /// The result is indexed by lot (in the order of [`draws`]), placing and way. Leaking tubes and stems that do
    /// not drink are not drawn head by head: every head is lived both ways, and the fates weighted, which removes that
    /// noise.
    pub fn live<R: Send>(
        &self,
        knowledge: Knowledge,
        placings: &[Placing],
        ways: &[Way],
        reduce: impl Fn(usize, &[Fate]) -> R + Sync,
    ) -> Vec<Vec<Vec<R>>> {
        self.drawn
            .par_iter()
            .map(|drawn| {
                let (lot, heads) = match knowledge {
                    Knowledge::AsItIs => &drawn.as_it_is,
                    Knowledge::Perfect => &drawn.if_known,
                };
                placings
                    .iter()
                    .enumerate()
                    .map(|(p, placing)| {
                        self.placed(placing, lot, heads, &drawn.drives, ways)
                            .iter()
                            .map(|fates| reduce(p, fates))
                            .collect()
                    })
                    .collect()
            })
            .collect()
    }

    /// The fates of one lot's heads after one placing, by way.
    fn placed(
        &self,
        placing: &Placing,
        lot: &Lot,
        heads: &Heads,
        drives: &[Drive],
        ways: &[Way],
    ) -> Vec<Vec<Fate>> {
        let job = &self.job;
        let start = Start {
            at: placing.before.iter().chain(&placing.after).next().map_or(0, |l| l.from),
            placed: placing.after.first().map_or(0, |l| l.from),
            ask: placing.ask,
        };
        let mut way = Course::new(drives, lot, &job.grid);
        let mut placed = State::new(heads, &job.grid, &start);
        placed.advance(&way.steps(&placing.before, &[]));
        let lived = |supply: Supply, tube_ml: f64| {
            let legs: Vec<Leg> = placing.after.iter().map(|leg| Leg { supply, ..*leg }).collect();
            let steps = way.clone().steps(&legs, &placing.refills);
            let mut state = placed.clone();
            state.fill_tubes(tube_ml * TUBE_USABLE);
            match supply {
                Supply::Dry => state.stay_dry(&steps),
                Supply::Ample | Supply::Tube => state.advance(&steps),
            }
            state.fates()
        };
        let dry = lived(Supply::Dry, 0.0);
        let both = |supply: Supply, tube_ml: f64, failing: f64| mixed(lived(supply, tube_ml), &dry, failing);
        ways.iter()
            .map(|way| match way.treatment {
                Treatment::Tucked | Treatment::Wired => dry.clone(),
                Treatment::WaterTube => {
                    let fails = 1.0 - (1.0 - lot.leak_share) * (1.0 - lot.air_lock_share);
                    both(Supply::Tube, way.tube_ml, fails)
                }
                Treatment::BudVase => both(Supply::Ample, 0.0, lot.air_lock_share),
            })
            .collect()
    }
}

/// Heads in water, a share of which does not get any and goes the way of the dry ones.
fn mixed(in_water: Vec<Fate>, dry: &[Fate], failing: f64) -> Vec<Fate> {
    let works = in_water.into_iter().map(|f| Fate { weight: 1.0 - failing, ..f });
    let fails = dry.iter().map(|f| Fate { weight: failing, cause: f.cause.after_failed_supply(), ..*f });
    works.chain(fails).collect()
}

/// The share of heads still presentable at some hours.
///
/// # Formula
/// One minus the distribution of the times at which heads end, linear between them: the `i`-th of `n` heads that weigh
/// alike stands at `(i - 1/2)/n`. A few dozen heads then give a smooth curve. Heads that weigh differently (those whose
/// tubes work, and those whose tubes leak) have each their own, so that a head that lives longer never lowers the
/// share; for the same reason a head that ends beyond what was simulated counts as the limit for an ever later one.
///
/// # Examples
/// ```
/// use headwater::simulate::{kernel::{Cause, Fate}, run::presentable};
/// let fate = |flagging| Fate { weight: 1.0, flagging, wilted: 9.0, cause: Cause::Drying, empty: 9.0, loss: 0.1 };
/// let shares = presentable(&[fate(3.0), fate(1.0)], &[0.5, 2.0, 3.5], |f| f.flagging);
/// assert_eq!(shares, [1.0, 0.5, 0.0]);
/// ```
pub fn presentable(fates: &[Fate], hours: &[f64], ends: impl Fn(&Fate) -> f64) -> Vec<f64> {
    let total: f64 = fates.iter().map(|f| f.weight).sum();
    let mut shares = vec![0.0; hours.len()];
    for alike in fates.chunk_by(|a, b| a.weight == b.weight) {
        let mut times: Vec<f64> = alike.iter().map(&ends).collect();
        times.sort_unstable_by(f64::total_cmp);
        for (share, hour) in shares.iter_mut().zip(hours) {
            let ended = times.partition_point(|t| t <= hour);
            let gone = match (ended, times.get(ended)) {
                (0, _) => 0.0,
                (n, None) => n as f64,
                (n, Some(next)) => n as f64 - 0.5 + (hour - times[n - 1]) / (next - times[n - 1]),
            };
            *share += alike[0].weight * (times.len() as f64 - gone) / total;
        }
    }
    shares.iter().map(|share| share.clamp(0.0, 1.0)).collect()
}
