//! What a head goes through, step by step: cool store, van, hall, place, move.

use crate::climate::ClimateError;
use crate::climate::series::ClimateSeries;
use crate::flower::population::Lot;
use crate::numerics::dispatch::widest;
use crate::numerics::elementary::{exp, exp_m1};
use crate::numerics::normal;
use crate::physics::ageing::heat_injury_rate;
use crate::physics::transpiration::{Skin, reference_flux, water_losses};

/// Equal steps of the event's clock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grid {
    /// Hour at which the first step begins.
    pub start: f64,
    /// Length of a step, h.
    pub step: f64,
    /// How many steps.
    pub steps: usize,
}

impl Grid {
    /// Steps of `step` hours that cover `from` to `to`.
    pub fn covering(from: f64, to: f64, step: f64) -> Grid {
        Grid { start: from, step, steps: ((to - from) / step).ceil() as usize }
    }

    /// Its first hour and its last.
    pub fn span(&self) -> (f64, f64) {
        (self.start, self.hour(self.steps as f64))
    }

    /// The step that begins nearest to an hour.
    pub fn index(&self, hour: f64) -> usize {
        (((hour - self.start) / self.step).round().max(0.0) as usize).min(self.steps)
    }

    /// The hour at a (broken) number of steps from the start.
    pub fn hour(&self, steps: f64) -> f64 {
        self.start + steps * self.step
    }
}

/// Where a head gets its water.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Supply {
    /// Nowhere.
    Dry,
    /// A bucket or vase: ample.
    Ample,
    /// A tube, while it lasts.
    Tube,
}

/// A stretch of a journey in one space.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leg {
    /// Which space.
    pub space: usize,
    /// First step.
    pub from: usize,
    /// Step after the last.
    pub to: usize,
    /// Water on the way.
    pub supply: Supply,
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

/// What a space does to the heads of a lot in one step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pull {
    /// Hours of the reference air that the step is worth in drying.
    pub drying: f64,
    /// Days of ageing at 20 C, in water.
    pub age_wet: f64,
    /// Days of ageing at 20 C, out of water.
    pub age_dry: f64,
    /// Dose of heat.
    pub heat: f64,
}

impl Pull {
    /// Nothing at all.
    pub const NONE: Pull = Pull { drying: 0.0, age_wet: 0.0, age_dry: 0.0, heat: 0.0 };
}

/// What a space does to one lot of one flower, step by step, whether or not it is there: the columns of [`Pull`]. An even
/// climate has one row for all steps.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Drive {
    /// The step of the first row.
    first: usize,
    rows: usize,
    /// One after the other: drying, age in water, age out of it, and heat where it is ever hot.
    columns: Vec<f64>,
}

impl Drive {
    /// What it does in a step.
    #[inline]
    pub fn at(&self, step: usize) -> Pull {
        let n = if self.rows == 1 { 0 } else { step - self.first };
        Pull {
            drying: self.columns[n],
            age_wet: self.columns[n + self.rows],
            age_dry: self.columns[n + 2 * self.rows],
            heat: self.columns.get(n + 3 * self.rows).copied().unwrap_or(0.0),
        }
    }
}

/// One step of a course.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// What the space does.
    pub pull: Pull,
    /// Water.
    pub supply: Supply,
    /// The share of its deficit that the stem drinks in the step, if there is water.
    pub back: f64,
    /// What it drinks of the step's drying.
    pub spared: f64,
    /// Whether the tube is filled up as the step begins.
    pub refill: bool,
}

impl Step {
    /// A step in which nothing happens.
    pub const NOTHING: Step =
        Step { pull: Pull::NONE, supply: Supply::Dry, back: 0.0, spared: 0.0, refill: false };
}

/// The drive of a space on a lot. `series` is the air in the middle of each step, `draws` the uniform draws behind the
/// error of that climate.
pub fn drive(
    series: &ClimateSeries,
    error: ClimateError,
    skin: &Skin,
    lot: &Lot,
    grid: &Grid,
    draws: [f64; 2],
) -> Drive {
    let shift = (error.kelvin * normal::quantile(draws[0]), error.rh * normal::quantile(draws[1]));
    let reference = reference_flux(skin, lot.skin_q10);
    let n = series.len();
    let mut columns = vec![0.0; 4 * n];
    widest(
        #[inline(always)]
        || {
            // As slices of one length, or each place would be checked by itself.
            let (drying, others) = columns.split_at_mut(n);
            let (age_wet, others) = others.split_at_mut(n);
            let (age_dry, heat) = others.split_at_mut(n);
            water_losses((series, shift), reference, skin, lot.skin_q10, drying, heat);
            for n in 0..n {
                let t = heat[n];
                drying[n] *= grid.step;
                age_wet[n] = lot.ageing.in_water(t) * grid.step / 24.0;
                age_dry[n] = age_wet[n] * lot.ageing.quickened(t);
                heat[n] = heat_injury_rate(t, lot.harmless_c) * grid.step;
            }
        },
    );
    // Most rooms are never hot.
    if columns[3 * n..].iter().all(|heat| *heat == 0.0) {
        columns.truncate(3 * n);
        columns.shrink_to_fit();
    }
    Drive { first: series.first, rows: n, columns }
}

/// Share of the lot's vase life after which its stems begin to block (judgement: near day 3 of the 5.2 days that
/// 'Sonia' roses lived in plain water, later in clean water).
const BLOCKAGE_STARTS: f64 = 0.75;
/// Share of the lot's vase life in which a blocking stem loses two thirds of its conductance (judgement).
const BLOCKAGE_PACE: f64 = 0.25;

/// How the stems of a lot drink over a step, by how long they have stood in water.
#[derive(Debug, Clone, Copy)]
pub struct Stems {
    /// Exponent of a fresh stem's refill over one step.
    exponent: f64,
    fresh: (f64, f64),
    /// Days at 20 C in water after which they begin to block, and in which they then lose two thirds.
    block: (f64, f64),
}

impl Stems {
    /// The freshly cut stems of a lot.
    pub fn new(lot: &Lot, grid: &Grid) -> Stems {
        let exponent = -lot.refill_per_hour * grid.step;
        let block = (BLOCKAGE_STARTS * lot.life_days, BLOCKAGE_PACE * lot.life_days);
        Stems { exponent, fresh: response(exponent), block }
    }

    /// [`Stems::drink`] of stems that do not block.
    pub fn fresh(&self) -> (f64, f64) {
        self.fresh
    }

    /// Days at 20 C in water after which they begin to block.
    pub fn free_for(&self) -> f64 {
        self.block.0
    }

    /// What is left of a deficit after a step, and what a step's demand adds to it, after so many days at 20 C in water.
    #[inline]
    pub fn drink(&self, in_water: f64) -> (f64, f64) {
        let beyond = in_water - self.block.0;
        if beyond > 0.0 {
            response(self.exponent * exp(-(beyond / self.block.1).min(50.0)))
        } else {
            self.fresh
        }
    }
}

fn response(exponent: f64) -> (f64, f64) {
    (exp(exponent), exp_m1(exponent) / exponent)
}

/// Lays the drives of spaces end to end for one lot, and remembers how long its stems have stood in water.
#[derive(Debug, Clone)]
pub struct Course<'a> {
    drives: &'a [Drive],
    stems: Stems,
    /// Days at 20 C spent in water.
    in_water: f64,
}

impl<'a> Course<'a> {
    /// The course of a lot whose stems are freshly cut.
    pub fn new(drives: &'a [Drive], lot: &Lot, grid: &Grid) -> Self {
        Course { drives, stems: Stems::new(lot, grid), in_water: 0.0 }
    }

    /// The steps along some legs, with what the stem supplies. `refills` are steps at which tubes are filled up.
    pub fn steps(&mut self, legs: &[Leg], refills: &[usize]) -> Vec<Step> {
        let mut steps = Vec::with_capacity(legs.iter().map(|l| l.to - l.from).sum());
        for leg in legs {
            for n in leg.from..leg.to {
                let pull = self.drives[leg.space].at(n);
                let mut step = Step { pull, supply: leg.supply, ..Step::NOTHING };
                if leg.supply != Supply::Dry {
                    self.in_water += pull.age_wet;
                    let (decay, gain) = self.stems.drink(self.in_water);
                    (step.back, step.spared) = (1.0 - decay, pull.drying - pull.drying * gain);
                    step.refill = leg.supply == Supply::Tube && refills.contains(&n);
                }
                steps.push(step);
            }
        }
        steps
    }
}
