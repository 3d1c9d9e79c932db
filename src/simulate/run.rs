//! The Monte Carlo simulation of one flower: its sampled lots, in every placing and treatment asked for.

use super::journey::{ForcingSeries, Grid, Leg, Placing, StepBuilder, Supply, forcing_series};
use super::kernel::{DryingState, Schedule};
use super::outcome::{EndPoint, HeadOutcome};
use super::search::{LotSums, Placed, Routes, Water, WetCurves};
use crate::climate::Climate;
use crate::climate::series::ClimateSeries;
use crate::error::{Problem, Result};
use crate::flower::catalogue::Flower;
use crate::flower::population::{HEAD_TRAITS, HEADS, Heads, LOT_TRAITS, Lot, LotTrait, align};
use crate::flower::treatment::{Handling, Method, TUBE_USABLE, Treatment, VESSEL_USABLE};
use crate::numerics::dispatch::widest;
use crate::numerics::random::Key;
use crate::physics::transpiration::Skin;
use rayon::prelude::*;

/// Number of lots simulated unless another is asked for.
pub const LOTS: usize = 320;

/// What is not known of a flower, and trials could tell.
const UNKNOWN: [LotTrait; 7] = [
    LotTrait::Ignorance,
    LotTrait::FlaggingIgnorance,
    LotTrait::LifeIgnorance,
    LotTrait::Conditioning,
    LotTrait::Stage,
    LotTrait::Leaves,
    LotTrait::Shelter,
];

/// The stream of random numbers by which lots meet days.
const DAYS_STREAM: u32 = u32::MAX - 1;

/// What to sample: a flower, its handling, the spaces it may be in, the time grid, and how many lots.
#[derive(Debug, Clone, Copy)]
pub struct Job<'f, 'a> {
    /// The flower or foliage.
    pub flower: &'f Flower,
    /// How it was prepared and is used.
    pub handling: Handling,
    /// The climates of the spaces that legs name by their index.
    pub spaces: &'a [Climate],
    /// Indices of the spaces that its journeys go through; no others may appear in a leg.
    pub touched: &'a [usize],
    /// The time grid of the simulation.
    pub grid: Grid,
    /// The seed of all random numbers.
    pub seed: u64,
    /// Number of lots, at least 1.
    pub lots: usize,
}

impl Job<'_, '_> {
    /// Refuses what cannot be sampled.
    fn check(&self, first: usize) -> Result<()> {
        let refuse = |what: String, expected: &str| Err(Problem::new(what).expected(expected).into());
        if self.lots == 0 {
            return refuse("no lots are to be simulated".to_string(), "at least one lot");
        }
        let Grid { start, step, steps } = self.grid;
        if !(start.is_finite() && step.is_finite() && step > 0.0 && first < steps) {
            return refuse(
                format!("a grid of {steps} steps of {step} h from {start} h, of which {first} are left out"),
                "at least one step of more than 0 h",
            );
        }
        if self.handling.own_dry_hours.is_some_and(|hours| !(hours > 0.0 && hours.is_finite())) {
            return refuse("dry hours that are not above 0".to_string(), "hours above 0");
        }
        for &space in self.touched {
            let Some(climate) = self.spaces.get(space) else {
                return refuse(format!("space {space} has no climate"), "the index of one of the spaces");
            };
            if !climate.is_possible() {
                return refuse(
                    format!(
                        "the air of space {space} has a temperature, moisture, pressure, speed or sunshine that none has"
                    ),
                    "numbers within physical limits",
                );
            }
        }
        Ok(())
    }
}

/// One thing to simulate: where heads go and when, and how they are placed.
pub type Case = (Placing, Treatment);

/// Every treatment at every placing, placing by placing.
pub fn cases(placings: &[Placing], treatments: &[Treatment]) -> Vec<Case> {
    placings
        .iter()
        .flat_map(|placing| treatments.iter().map(|treatment| (placing.clone(), *treatment)))
        .collect()
}

/// The sampled lots of a job, with the forcing of every space on them.
pub struct Lots<'a> {
    flower: &'a Flower,
    handling: Handling,
    grid: Grid,
    /// The first step that legs may begin at, and the spaces that they may name.
    first: usize,
    touched: Vec<usize>,
    sampled: Vec<SampledLot>,
}

struct SampledLot {
    draws: [f64; LOT_TRAITS],
    head_draws: [[f64; HEADS]; HEAD_TRAITS],
    lot: Lot,
    heads: Heads,
    forcings: Vec<ForcingSeries>,
}

/// The uniform numbers behind a flower's lots, one for each [`LotTrait`], in rising order of the part of dry hours that lots
/// and ignorance share, which decides most.
pub fn draws(flower: &Flower, handling: &Handling, seed: u64, lots: usize) -> Vec<[f64; LOT_TRAITS]> {
    let mut draws = Key::named(seed, flower.id()).rows(lots);
    let luck = LotTrait::Ignorance as usize;
    draws.sort_by(|a, b| a[luck].total_cmp(&b[luck]));
    draws.iter_mut().for_each(|d| align(flower, handling, d));
    draws
}

/// The number of the day, of so many, that each lot meets: each as often as any other.
pub fn days_met(seed: u64, lots: usize, days: usize) -> Vec<usize> {
    let even = Key { seed, stream: DAYS_STREAM }.rows::<1>(lots);
    even.into_iter().map(|[u]| ((u * days as f64) as usize).min(days.saturating_sub(1))).collect()
}

/// The heads of a lot, computed several at a time.
pub(super) fn sampled_heads(
    flower: &Flower,
    handling: &Handling,
    lot: &Lot,
    draws: &[[f64; HEADS]; HEAD_TRAITS],
) -> Heads {
    widest(
        #[inline(always)]
        || Heads::new(flower, handling, lot, draws),
    )
}

/// Whether what is not known of a flower counts as uncertain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Knowledge {
    /// It does: what can be promised today.
    AsItIs,
    /// It is taken as known and at its median, to show what trials could gain.
    Perfect,
}

impl<'a> Lots<'a> {
    /// Samples the lots of a job. The random numbers depend on seed, flower and lot alone, so treatments and placings are
    /// compared on the same heads, and the number of threads changes nothing.
    ///
    /// # Errors
    /// If the job has no lots, no time steps, a space that is not there, or numbers that no air and no flower can have.
    pub fn new(job: Job<'a, '_>) -> Result<Self> {
        Lots::since(job, 0)
    }

    /// [`Lots::new`] for journeys none of which begins before the step `first`.
    ///
    /// # Errors
    /// As [`Lots::new`], and if `first` is not a step of the grid.
    pub fn since(job: Job<'a, '_>, first: usize) -> Result<Self> {
        job.check(first)?;
        let key = Key::named(job.seed, job.flower.id());
        let bare = job.flower.skin();
        let mut series: Vec<Vec<ClimateSeries>> = vec![Vec::new(); job.spaces.len()];
        let mut errors: Vec<Vec<[f64; 2]>> = vec![Vec::new(); job.spaces.len()];
        for &s in job.touched {
            let on = |climate: &Climate| {
                let instants = (first..job.grid.steps).map(|n| climate.at(job.grid.hour(n as f64 + 0.5)));
                ClimateSeries { first, ..instants.collect() }
            };
            series[s] = match job.spaces[s].days() {
                [] => vec![on(&job.spaces[s])],
                days => days.par_iter().map(on).collect(),
            };
            // One venue has one error of climate for all its flowers: its stream does not depend on the flower.
            errors[s] = Key { seed: job.seed, stream: job.spaces[s].error_of(s) as u32 }.rows(job.lots);
        }
        let days = series.iter().map(Vec::len).max().unwrap_or(0);
        let met = days_met(job.seed, job.lots, days);
        let sampled = draws(job.flower, &job.handling, job.seed, job.lots)
            .into_par_iter()
            .enumerate()
            .map(|(number, draws)| {
                let lot = Lot::new(job.flower, &job.handling, &draws);
                let head_draws = key.columns(number);
                let heads = sampled_heads(job.flower, &job.handling, &lot, &head_draws);
                let skin = Skin { shelter: lot.shelter, ..bare };
                let mut forcings = vec![ForcingSeries::default(); job.spaces.len()];
                for &s in job.touched {
                    // All flowers of an event meet the same day, and all its spaces.
                    let day = met.get(number).copied().unwrap_or(0);
                    forcings[s] = forcing_series(
                        &series[s][day.min(series[s].len() - 1)],
                        job.spaces[s].error,
                        &skin,
                        &lot,
                        &job.grid,
                        errors[s][number],
                    );
                }
                SampledLot { draws, head_draws, lot, heads, forcings }
            })
            .collect();
        Ok(Lots {
            flower: job.flower,
            handling: job.handling,
            grid: job.grid,
            first,
            touched: job.touched.to_vec(),
            sampled,
        })
    }

    /// The time grid of the job.
    pub fn grid(&self) -> &Grid {
        &self.grid
    }

    /// Simulates every lot in every case. `reduce` is given the number of the case and the outcomes of a lot's heads, which
    /// are not kept.
    ///
    /// The result is indexed by lot (in the order of [`draws`]) and case. Tubes that leak and stems that do not drink are not
    /// sampled: every head in water is simulated with and without water, and the outcomes are weighted, which removes the
    /// noise of rare events.
    ///
    /// # Errors
    /// If a leg names a space that the job does not touch, goes through steps that are not on its grid, or does not begin
    /// where the one before it ends.
    pub fn simulate<R: Send>(
        &self,
        knowledge: Knowledge,
        cases: &[Case],
        reduce: impl Fn(usize, &[HeadOutcome]) -> R + Sync,
    ) -> Result<Vec<Vec<R>>> {
        let simulated = |placed: &Placed, first: usize, treatments: &[Water]| -> Vec<R> {
            let dry = placed.outcomes(Water::None);
            let one = |(i, water): (usize, &Water)| match water {
                Water::None => reduce(first + i, &dry),
                water => {
                    let failing = failing(placed.lot(), *water);
                    reduce(first + i, &mixed(&placed.outcomes(*water), &dry, failing))
                }
            };
            treatments.iter().enumerate().map(one).collect()
        };
        self.for_each_placing(knowledge, cases, &simulated)
    }

    /// The share of each lot's heads that have not reached an end-point at the step that each placing asks about, by lot and
    /// case: [`presentable`](super::outcome::presentable) of the outcomes, from the few that decide it.
    ///
    /// # Errors
    /// As [`Lots::simulate`].
    pub fn shares(&self, knowledge: Knowledge, cases: &[Case], end_point: EndPoint) -> Result<Vec<Vec<f64>>> {
        let shares = |placed: &Placed, _: usize, treatments: &[Water]| -> Vec<f64> {
            let dry = placed.share(Water::None, end_point);
            let one = |water: &Water| match water {
                Water::None => dry,
                water => {
                    let fails = failing(placed.lot(), *water);
                    (1.0 - fails) * placed.share(*water, end_point) + fails * dry
                }
            };
            treatments.iter().map(one).collect()
        };
        self.for_each_placing(knowledge, cases, &shares)
    }

    /// Places every lot in every case and collects the results of `each`, by lot and case. Consecutive cases of the same
    /// placing are placed once: `each` is given the number of the first and the water of all of them.
    fn for_each_placing<R: Send>(
        &self,
        knowledge: Knowledge,
        cases: &[Case],
        each: &(impl Fn(&Placed, usize, &[Water]) -> Vec<R> + Sync),
    ) -> Result<Vec<Vec<R>>> {
        self.check(cases)?;
        let mut first = 0;
        let groups: Vec<(usize, &Placing, Vec<Water>)> = cases
            .chunk_by(|a, b| a.0 == b.0)
            .map(|alike| {
                first += alike.len();
                (first - alike.len(), &alike[0].0, alike.iter().map(|case| water(case.1)).collect())
            })
            .collect();
        let routes = Routes::new(groups.iter().map(|g| g.1));
        let all = |lot: &Lot, heads: &Heads, forcings: &[ForcingSeries]| -> Vec<R> {
            let sums = LotSums::new(lot, heads, forcings, &self.grid, &routes);
            let mut curves = WetCurves::default();
            let mut all = Vec::with_capacity(cases.len());
            for (number, (first, placing, waters)) in groups.iter().enumerate() {
                let placed = Placed::new(&sums, number, placing);
                let drinks = waters.iter().any(|w| *w != Water::None);
                let placed = if drinks { placed.with_water(&mut curves) } else { placed };
                all.extend(each(&placed, *first, waters));
            }
            all
        };
        let by_lot = self.sampled.par_iter().map(|sampled| match knowledge {
            Knowledge::AsItIs => all(&sampled.lot, &sampled.heads, &sampled.forcings),
            Knowledge::Perfect => {
                let (lot, heads) = self.if_known(sampled);
                all(&lot, &heads, &sampled.forcings)
            }
        });
        Ok(by_lot.collect())
    }

    /// Refuses cases whose legs leave the spaces or the grid, or are not end to end.
    fn check(&self, cases: &[Case]) -> Result<()> {
        for (placing, _) in cases {
            let mut at = None;
            for leg in placing.before.iter().chain(&placing.after) {
                if leg.from < leg.to && !self.touched.contains(&leg.space) {
                    return Err(Problem::new(format!("a leg names space {}", leg.space))
                        .expected(format!("one of the spaces that the job touches: {:?}", self.touched))
                        .into());
                }
                let on_grid = self.first <= leg.from && leg.from <= leg.to && leg.to <= self.grid.steps;
                if !on_grid || at.is_some_and(|at| at != leg.from) {
                    return Err(Problem::new(format!("a leg goes from step {} to {}", leg.from, leg.to))
                        .expected(format!(
                            "legs end to end between steps {} and {}",
                            at.unwrap_or(self.first),
                            self.grid.steps
                        ))
                        .into());
                }
                at = Some(leg.to);
            }
        }
        Ok(())
    }

    /// The same lot with what is not known of the flower at its median.
    fn if_known(&self, sampled: &SampledLot) -> (Lot, Heads) {
        let mut draws = sampled.draws;
        for t in UNKNOWN {
            draws[t as usize] = 0.5;
        }
        let lot = Lot::new(self.flower, &self.handling, &draws);
        let heads = sampled_heads(self.flower, &self.handling, &lot, &sampled.head_draws);
        (lot, heads)
    }

    /// The outcomes of each lot's heads by the reference integrator, by lot and case: what [`Lots::simulate`] gives to its
    /// `reduce`, computed step by step.
    ///
    /// # Errors
    /// As [`Lots::simulate`].
    pub fn stepped(&self, cases: &[Case]) -> Result<Vec<Vec<Vec<HeadOutcome>>>> {
        self.check(cases)?;
        let lot = |sampled: &SampledLot| cases.iter().map(|case| self.stepped_once(case, sampled)).collect();
        Ok(self.sampled.par_iter().map(lot).collect())
    }

    fn stepped_once(&self, (placing, treatment): &Case, sampled: &SampledLot) -> Vec<HeadOutcome> {
        let SampledLot { lot, heads, forcings, .. } = sampled;
        let start = Schedule {
            start: placing.before.iter().chain(&placing.after).next().map_or(0, |l| l.from),
            placed: placing.after.first().map_or(0, |l| l.from),
            ask: placing.ask,
        };
        let mut course = StepBuilder::new(forcings, lot, &self.grid);
        let mut placed = DryingState::new(heads, &self.grid, &start).with_start_deficit(lot.start_deficit);
        placed.advance(&course.steps(&placing.before, &[]));
        placed.leave_the_bucket();
        let simulated = |water: Water| {
            let (supply, grams) = match water {
                Water::None => (Supply::Dry, 0.0),
                Water::Ample => (Supply::Ample, 0.0),
                Water::Tube(grams) | Water::Shared(grams) => (Supply::Tube, grams),
            };
            let legs: Vec<Leg> = placing.after.iter().map(|leg| Leg { supply, ..*leg }).collect();
            let steps = course.clone().steps(&legs, &placing.refills);
            let mut state = placed.clone();
            match water {
                Water::Shared(grams) => state.fill_vessel(grams),
                _ => state.fill_tubes(grams),
            }
            state.advance(&steps);
            state.outcomes()
        };
        let dry = simulated(Water::None);
        match water(*treatment) {
            Water::None => dry,
            water => mixed(&simulated(water), &dry, failing(lot, water)),
        }
    }
}

/// The water that a treatment gives to a head.
pub(super) fn water(treatment: Treatment) -> Water {
    match treatment.method {
        Method::Tucked | Method::Wired => Water::None,
        Method::WaterTube => Water::Tube(treatment.tube_ml * TUBE_USABLE),
        Method::BudVase => Water::Ample,
        Method::Vessel => Water::Shared(treatment.tube_ml * VESSEL_USABLE),
    }
}

/// The share of a lot's heads that get no water although they should: tubes that leak, stems that do not drink.
pub(super) fn failing(lot: &Lot, water: Water) -> f64 {
    match water {
        Water::None => 0.0,
        Water::Ample | Water::Shared(_) => lot.air_lock_share,
        Water::Tube(_) => 1.0 - (1.0 - lot.leak_share) * (1.0 - lot.air_lock_share),
    }
}

/// Outcomes of heads in water, a share `failing` of which get none and end as the dry ones do.
fn mixed(in_water: &[HeadOutcome], dry: &[HeadOutcome], failing: f64) -> Vec<HeadOutcome> {
    let works = in_water.iter().map(|f| HeadOutcome { weight: 1.0 - failing, ..*f });
    let fails =
        dry.iter().map(|f| HeadOutcome { weight: failing, cause: f.cause.after_failed_supply(), ..*f });
    works.chain(fails).collect()
}
