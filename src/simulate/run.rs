//! All lots, placings and treatments of one flower.

use super::journey::{Course, Drive, Grid, Leg, Placing, Supply, drive};
use super::kernel::{Start, State};
use super::outcome::{EndPoint, HeadOutcome};
use super::search::{Lives, Placed, Routes, Water, Wet};
use crate::climate::Climate;
use crate::climate::series::ClimateSeries;
use crate::flower::catalogue::Flower;
use crate::flower::population::{HEAD_TRAITS, HEADS, Heads, LOT_TRAITS, Lot, LotTrait, align};
use crate::flower::treatment::{Handling, Method, TUBE_USABLE, Treatment};
use crate::numerics::dispatch::widest;
use crate::numerics::random::Key;
use crate::physics::transpiration::Skin;
use rayon::prelude::*;

/// Lots simulated unless another number is asked for.
pub const LOTS: usize = 320;

/// One flower, the spaces it may be in, and the clock.
#[derive(Debug, Clone, Copy)]
pub struct Job<'f, 'a> {
    /// The flower.
    pub flower: &'f Flower,
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

/// Something to be lived through: where heads go and when, and what is done with them.
pub type Case = (Placing, Treatment);

/// Every way at every placing: placing by placing.
pub fn cases(placings: &[Placing], treatments: &[Treatment]) -> Vec<Case> {
    placings
        .iter()
        .flat_map(|placing| treatments.iter().map(|treatment| (placing.clone(), *treatment)))
        .collect()
}

/// The lots of a job, drawn, with what every space does to them.
pub struct Lots<'a> {
    flower: &'a Flower,
    handling: Handling,
    grid: Grid,
    drawn: Vec<Drawn>,
}

struct Drawn {
    draws: [f64; LOT_TRAITS],
    head_draws: [[f64; HEADS]; HEAD_TRAITS],
    lot: Lot,
    heads: Heads,
    drives: Vec<Drive>,
}

/// The draws of a flower's lots, in rising order of what decides most: their luck in dry hours.
pub fn draws(flower: &Flower, handling: &Handling, seed: u64, lots: usize) -> Vec<[f64; LOT_TRAITS]> {
    let mut draws = Key::named(seed, flower.id()).rows(lots);
    let luck = LotTrait::Ignorance as usize;
    draws.sort_by(|a, b| a[luck].total_cmp(&b[luck]));
    draws.iter_mut().for_each(|d| align(flower, handling, d));
    draws
}

/// The heads of a lot, several drawn at a time.
fn heads(flower: &Flower, handling: &Handling, lot: &Lot, draws: &[[f64; HEADS]; HEAD_TRAITS]) -> Heads {
    widest(
        #[inline(always)]
        || Heads::new(flower, handling, lot, draws),
    )
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
    pub fn new(job: Job<'a, '_>) -> Self {
        Lots::since(job, 0)
    }

    /// [`Lots::new`] for journeys none of which begins before a step.
    pub fn since(job: Job<'a, '_>, first: usize) -> Self {
        let key = Key::named(job.seed, job.flower.id());
        let skin = Skin { nested: job.handling.nested, ..job.flower.skin() };
        let mut series: Vec<ClimateSeries> = vec![ClimateSeries::default(); job.spaces.len()];
        let mut errors: Vec<Vec<[f64; 2]>> = vec![Vec::new(); job.spaces.len()];
        for &s in job.touched {
            let instants = (first..job.grid.steps).map(|n| job.spaces[s].at(job.grid.hour(n as f64 + 0.5)));
            series[s] = ClimateSeries { first, ..instants.collect() };
            // One venue has one error of climate for all its flowers: its stream does not depend on the flower.
            errors[s] = Key { seed: job.seed, stream: s as u32 }.rows(job.lots);
        }
        let drawn = draws(job.flower, &job.handling, job.seed, job.lots)
            .into_par_iter()
            .enumerate()
            .map(|(number, draws)| {
                let lot = Lot::new(job.flower, &job.handling, &draws);
                let head_draws = key.columns(number);
                let heads = heads(job.flower, &job.handling, &lot, &head_draws);
                let mut drives = vec![Drive::default(); job.spaces.len()];
                for &s in job.touched {
                    drives[s] =
                        drive(&series[s], job.spaces[s].error, &skin, &lot, &job.grid, errors[s][number]);
                }
                Drawn { draws, head_draws, lot, heads, drives }
            })
            .collect();
        Lots { flower: job.flower, handling: job.handling, grid: job.grid, drawn }
    }

    /// The clock.
    pub fn grid(&self) -> &Grid {
        &self.grid
    }

    /// Lives every lot through every case, and reduces the fates of each lot's heads at once.
    ///
    /// The result is indexed by lot (in the order of [`draws`]) and case. Leaking tubes and stems that do not drink are
    /// not drawn head by head: every head is lived both ways, and the fates weighted, which removes that noise.
    pub fn live<R: Send>(
        &self,
        knowledge: Knowledge,
        cases: &[Case],
        reduce: impl Fn(usize, &[HeadOutcome]) -> R + Sync,
    ) -> Vec<Vec<R>> {
        let lived = |placed: &Placed, first: usize, treatments: &[Water]| -> Vec<R> {
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
        self.placed(knowledge, cases, &lived)
    }

    /// The share of each lot's heads that have not come to a mark at the hours the placings ask about, by lot and case:
    /// [`presentable`](super::outcome::presentable) of the fates, without working all of them out.
    pub fn shares(&self, knowledge: Knowledge, cases: &[Case], end_point: EndPoint) -> Vec<Vec<f64>> {
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
        self.placed(knowledge, cases, &shares)
    }

    /// What comes of every lot in every case. Cases of one placing that follow each other are placed once, and `each` is
    /// told the number of the first of them.
    fn placed<R: Send>(
        &self,
        knowledge: Knowledge,
        cases: &[Case],
        each: &(impl Fn(&Placed, usize, &[Water]) -> Vec<R> + Sync),
    ) -> Vec<Vec<R>> {
        let mut first = 0;
        let groups: Vec<(usize, &Placing, Vec<Water>)> = cases
            .chunk_by(|a, b| a.0 == b.0)
            .map(|alike| {
                first += alike.len();
                (first - alike.len(), &alike[0].0, alike.iter().map(|case| water(case.1)).collect())
            })
            .collect();
        let routes = Routes::new(groups.iter().map(|g| g.1));
        let all = |lot: &Lot, heads: &Heads, drives: &[Drive]| -> Vec<R> {
            let lives = Lives::new(lot, heads, drives, &self.grid, &routes);
            let mut room = Wet::default();
            let mut all = Vec::with_capacity(cases.len());
            for (number, (first, placing, waters)) in groups.iter().enumerate() {
                let placed = Placed::new(&lives, number, placing);
                let drinks = waters.iter().any(|w| *w != Water::None);
                let placed = if drinks { placed.with_water(&mut room) } else { placed };
                all.extend(each(&placed, *first, waters));
            }
            all
        };
        self.drawn
            .par_iter()
            .map(|drawn| match knowledge {
                Knowledge::AsItIs => all(&drawn.lot, &drawn.heads, &drawn.drives),
                Knowledge::Perfect => {
                    let (lot, heads) = self.if_known(drawn);
                    all(&lot, &heads, &drawn.drives)
                }
            })
            .collect()
    }

    /// The same lot with what we do not know of the flower at its median.
    fn if_known(&self, drawn: &Drawn) -> (Lot, Heads) {
        let mut draws = drawn.draws;
        for t in [LotTrait::Ignorance, LotTrait::FlaggingIgnorance, LotTrait::LifeIgnorance] {
            draws[t as usize] = 0.5;
        }
        let lot = Lot::new(self.flower, &self.handling, &draws);
        let heads = heads(self.flower, &self.handling, &lot, &drawn.head_draws);
        (lot, heads)
    }

    /// The fates of each lot's heads by the plain route, step by step, by lot and case: what [`Lots::live`] hands to its
    /// reduction.
    pub fn stepped(&self, cases: &[Case]) -> Vec<Vec<Vec<HeadOutcome>>> {
        let lot = |drawn: &Drawn| cases.iter().map(|case| self.stepped_once(case, drawn)).collect();
        self.drawn.par_iter().map(lot).collect()
    }

    fn stepped_once(&self, (placing, treatment): &Case, drawn: &Drawn) -> Vec<HeadOutcome> {
        let Drawn { lot, heads, drives, .. } = drawn;
        let start = Start {
            at: placing.before.iter().chain(&placing.after).next().map_or(0, |l| l.from),
            placed: placing.after.first().map_or(0, |l| l.from),
            ask: placing.ask,
        };
        let mut course = Course::new(drives, lot, &self.grid);
        let mut placed = State::new(heads, &self.grid, &start);
        placed.advance(&course.steps(&placing.before, &[]));
        let lived = |water: Water| {
            let (supply, grams) = match water {
                Water::None => (Supply::Dry, 0.0),
                Water::Ample => (Supply::Ample, 0.0),
                Water::Tube(grams) => (Supply::Tube, grams),
            };
            let legs: Vec<Leg> = placing.after.iter().map(|leg| Leg { supply, ..*leg }).collect();
            let steps = course.clone().steps(&legs, &placing.refills);
            let mut state = placed.clone();
            state.fill_tubes(grams);
            state.advance(&steps);
            state.outcomes()
        };
        let dry = lived(Water::None);
        match water(*treatment) {
            Water::None => dry,
            water => mixed(&lived(water), &dry, failing(lot, water)),
        }
    }
}

/// What a way gives to drink.
fn water(treatment: Treatment) -> Water {
    match treatment.method {
        Method::Tucked | Method::Wired => Water::None,
        Method::WaterTube => Water::Tube(treatment.tube_ml * TUBE_USABLE),
        Method::BudVase => Water::Ample,
    }
}

/// The share of heads of a lot that get no water though they should: tubes that leak, stems that do not drink.
fn failing(lot: &Lot, water: Water) -> f64 {
    match water {
        Water::None => 0.0,
        Water::Ample => lot.air_lock_share,
        Water::Tube(_) => 1.0 - (1.0 - lot.leak_share) * (1.0 - lot.air_lock_share),
    }
}

/// Heads in water, a share of which does not get any and goes the way of the dry ones.
fn mixed(in_water: &[HeadOutcome], dry: &[HeadOutcome], failing: f64) -> Vec<HeadOutcome> {
    let works = in_water.iter().map(|f| HeadOutcome { weight: 1.0 - failing, ..*f });
    let fails =
        dry.iter().map(|f| HeadOutcome { weight: failing, cause: f.cause.after_failed_supply(), ..*f });
    works.chain(fails).collect()
}
