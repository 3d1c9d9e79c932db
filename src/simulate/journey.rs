//! Where heads are at each step, and what the air there does to a lot: the forcing of the simulation.

use crate::climate::ClimateError;
use crate::climate::series::ClimateSeries;
use crate::flower::population::Lot;
use crate::numerics::dispatch::widest;
use crate::numerics::elementary::{exp, exp_m1};
use crate::numerics::normal;
use crate::physics::ageing::heat_injury_rate;
use crate::physics::transpiration::{Skin, reference_flux, water_losses};

/// Equal time steps on the event's clock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grid {
    /// Hour of the event's clock at which the first step begins.
    pub start: f64,
    /// Length of a step, h.
    pub step: f64,
    /// The number of steps.
    pub steps: usize,
}

impl Grid {
    /// The fewest steps of `step` hours that cover the hours `from` to `to`.
    pub fn covering(from: f64, to: f64, step: f64) -> Grid {
        Grid { start: from, step, steps: ((to - from) / step).ceil() as usize }
    }

    /// The hours at which the first step begins and the last ends.
    pub fn span(&self) -> (f64, f64) {
        (self.start, self.hour(self.steps as f64))
    }

    /// The step that begins nearest to an hour, from 0 to the number of steps.
    pub fn index(&self, hour: f64) -> usize {
        (((hour - self.start) / self.step).round().max(0.0) as usize).min(self.steps)
    }

    /// The hour at a number of steps from the start, which may be fractional.
    pub fn hour(&self, steps: f64) -> f64 {
        self.start + steps * self.step
    }
}

/// The supply of water to a head.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Supply {
    /// None: it is out of water.
    Dry,
    /// None: it lies in a box, whose air it moistens.
    Boxed,
    /// A bucket or vase, which gives as much as the stem can take up.
    Ample,
    /// A water tube, until it is empty.
    Tube,
}

/// Part of a journey in one space, the steps `from..to`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leg {
    /// The index of the space.
    pub space: usize,
    /// The first step of the leg.
    pub from: usize,
    /// The step after the last.
    pub to: usize,
    /// The supply of water.
    pub supply: Supply,
}

/// The journey of the heads of a piece that are placed at one time.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Placing {
    /// Legs before placement, end to end.
    pub before: Vec<Leg>,
    /// Legs after placement, end to end. Their supply of water is that of the treatment, whatever they say.
    pub after: Vec<Leg>,
    /// Steps at which tubes are filled up.
    pub refills: Vec<usize>,
    /// The step at whose beginning shares and losses of fresh mass are wanted.
    pub ask: usize,
}

/// What the air of a space does to the heads of a lot in one step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Forcing {
    /// Drying, as hours of the reference air.
    pub drying: f64,
    /// Ageing, days at 20 C.
    pub age: f64,
    /// Dose of heat injury.
    pub heat: f64,
}

impl Forcing {
    /// No forcing at all.
    pub const NONE: Forcing = Forcing { drying: 0.0, age: 0.0, heat: 0.0 };
}

/// The [`Forcing`] of a space on one lot at every step, whether or not the lot is there.
///
/// It is kept by columns, and a constant climate has one row for all steps.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ForcingSeries {
    /// The grid step of the first row.
    first: usize,
    rows: usize,
    /// Columns end to end: drying, ageing, and heat unless it is 0 throughout.
    columns: Vec<f64>,
}

impl ForcingSeries {
    /// The forcing in a step of the grid, which must be one that the series covers.
    #[inline]
    pub fn at(&self, step: usize) -> Forcing {
        let n = if self.rows == 1 { 0 } else { step - self.first };
        Forcing {
            drying: self.columns[n],
            age: self.columns[n + self.rows],
            heat: self.columns.get(n + 2 * self.rows).copied().unwrap_or(0.0),
        }
    }
}

/// One time step of a journey.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// The forcing of the space.
    pub forcing: Forcing,
    /// The supply of water.
    pub supply: Supply,
    /// The share of its deficit that the stem takes up in the step, if there is water.
    pub recovery: f64,
    /// What it takes up of the step's own drying, h of the reference air.
    pub covered: f64,
    /// Whether tubes are filled up as the step begins.
    pub refill: bool,
}

impl Step {
    /// A step out of water without any forcing.
    pub const NOTHING: Step =
        Step { forcing: Forcing::NONE, supply: Supply::Dry, recovery: 0.0, covered: 0.0, refill: false };
}

/// The forcing of a space on a lot.
///
/// `series` is the air in the middle of each step. The whole of it is shifted by one error in temperature and one in
/// humidity, normal with the standard deviations in `error`; `draws` are the two uniform numbers, each strictly between 0
/// and 1, behind them.
pub fn forcing_series(
    series: &ClimateSeries,
    error: ClimateError,
    skin: &Skin,
    lot: &Lot,
    grid: &Grid,
    draws: [f64; 2],
) -> ForcingSeries {
    let shift = (error.kelvin * normal::quantile(draws[0]), error.rh * normal::quantile(draws[1]));
    let reference = reference_flux(skin, lot.skin_q10);
    let n = series.len();
    let mut columns = vec![0.0; 3 * n];
    widest(
        #[inline(always)]
        || {
            // As slices of one length, or each place would be checked by itself.
            let (drying, others) = columns.split_at_mut(n);
            let (age, heat) = others.split_at_mut(n);
            water_losses((series, shift), reference, skin, lot.skin_q10, drying, heat);
            for n in 0..n {
                let t = heat[n];
                drying[n] *= grid.step;
                age[n] = lot.ageing.pace(t) * grid.step / 24.0;
                heat[n] = heat_injury_rate(t, lot.harmless_c) * grid.step;
            }
        },
    );
    // Most rooms are never hot.
    if columns[2 * n..].iter().all(|heat| *heat == 0.0) {
        columns.truncate(2 * n);
        columns.shrink_to_fit();
    }
    ForcingSeries { first: series.first, rows: n, columns }
}

/// Share of the lot's vase life after which its stems begin to block (judgement: near day 3 of the 5.2 days that
/// 'Sonia' roses lasted in plain water, later in clean water).
const BLOCKAGE_STARTS: f64 = 0.75;
/// Share of the lot's vase life in which a blocking stem loses two thirds of its conductance (judgement).
const BLOCKAGE_PACE: f64 = 0.25;

/// How much the stems of a lot take up in a step, by how long they have stood in water.
#[derive(Debug, Clone, Copy)]
pub struct Stems {
    /// Minus the refill rate of a fresh stem times the length of a step.
    exponent: f64,
    /// Response of a fresh stem.
    fresh: (f64, f64),
    /// Days at 20 C in water after which they begin to block, and in which they then lose two thirds of their conductance.
    block: (f64, f64),
}

impl Stems {
    /// The freshly cut stems of a lot.
    pub fn new(lot: &Lot, grid: &Grid) -> Stems {
        let exponent = -lot.refill_per_hour * grid.step;
        let block = (BLOCKAGE_STARTS * lot.life_days, BLOCKAGE_PACE * lot.life_days);
        Stems { exponent, fresh: response(exponent), block }
    }

    /// [`Stems::drink`] before stems begin to block.
    pub fn fresh(&self) -> (f64, f64) {
        self.fresh
    }

    /// Days at 20 C in water after which they begin to block.
    pub fn free_for(&self) -> f64 {
        self.block.0
    }

    /// The share of a deficit that remains after a step, and the share of the step's drying that is added to it, after
    /// `in_water` days at 20 C in water.
    ///
    /// # Formula
    /// The solution of `du/dt = D - S u` over a step: `exp(-S dt)` and `(1 - exp(-S dt)) / (S dt)`, with `S` falling
    /// exponentially once stems block.
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

/// `exp(x)` and `(exp(x) - 1) / x`.
fn response(exponent: f64) -> (f64, f64) {
    (exp(exponent), exp_m1(exponent) / exponent)
}

/// Turns legs into the steps of one lot. It remembers how long the stems have stood in water.
#[derive(Debug, Clone)]
pub struct StepBuilder<'a> {
    forcings: &'a [ForcingSeries],
    stems: Stems,
    /// The share of a room's drying that reaches heads in boxes.
    boxed: f64,
    /// Days at 20 C spent in water.
    in_water: f64,
}

impl<'a> StepBuilder<'a> {
    /// A builder for a lot whose stems are freshly cut. `forcings` are by space.
    pub fn new(forcings: &'a [ForcingSeries], lot: &Lot, grid: &Grid) -> Self {
        StepBuilder { forcings, stems: Stems::new(lot, grid), boxed: lot.boxed, in_water: 0.0 }
    }

    /// The steps along some legs. `refills` are the steps of the grid at which tubes are filled up.
    ///
    /// # Panics
    /// If a leg names a space without forcing, or steps that its forcing does not cover.
    pub fn steps(&mut self, legs: &[Leg], refills: &[usize]) -> Vec<Step> {
        let mut steps = Vec::with_capacity(legs.iter().map(|l| l.to - l.from).sum());
        for leg in legs {
            for n in leg.from..leg.to {
                let forcing = self.forcings[leg.space].at(n);
                let mut step = Step { forcing, supply: leg.supply, ..Step::NOTHING };
                if leg.supply == Supply::Boxed {
                    step.forcing.drying *= self.boxed;
                    step.supply = Supply::Dry;
                } else if leg.supply != Supply::Dry {
                    self.in_water += forcing.age;
                    let (decay, gain) = self.stems.drink(self.in_water);
                    (step.recovery, step.covered) = (1.0 - decay, forcing.drying - forcing.drying * gain);
                    step.refill = leg.supply == Supply::Tube && refills.contains(&n);
                }
                steps.push(step);
            }
        }
        steps
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flower::catalogue::Catalogue;
    use crate::flower::population::LOT_TRAITS;
    use crate::flower::treatment::Handling;

    /// In steady air of 44 C for two hours in eight steps, by the formulas of one hour: drying and ageing are in proportion to time, and
    /// the dose of heat too.
    #[test]
    fn a_course_holds_what_its_hours_hold() {
        let rose = Catalogue::shipped().find("rose").unwrap();
        let lot = Lot::new(rose, &Handling::default(), &[0.5; LOT_TRAITS]);
        let air = crate::climate::Air::indoors(44.0, 0.2).unwrap();
        let sum = |step: f64, steps: usize| {
            let grid = Grid::covering(0.0, step * steps as f64, step);
            let series: ClimateSeries = std::iter::repeat_n(air, steps).collect();
            let course = forcing_series(&series, ClimateError::NONE, &rose.skin(), &lot, &grid, [0.5; 2]);
            (0..steps)
                .map(|n| course.at(n))
                .fold([0.0; 3], |sum, f| [sum[0] + f.drying, sum[1] + f.age, sum[2] + f.heat])
        };
        let (quarters, whole) = (sum(0.25, 8), sum(2.0, 1));
        for (a, b) in quarters.iter().zip(whole) {
            assert!(*a > 0.0 && (a / b - 1.0).abs() < 1e-9, "{quarters:?} {whole:?}");
        }
        // Ageing goes by the temperature a petal would have without evaporation: that of the air, in the shade.
        assert!((whole[1] - lot.ageing.pace(44.0) * 2.0 / 24.0).abs() < 1e-6, "{whole:?}");
        assert!((whole[2] - heat_injury_rate(44.0, lot.harmless_c) * 2.0).abs() < 1e-6, "{whole:?}");
    }

    /// By hand: a pace of it after they begin to block, stems conduct a third (`1/e`) as much.
    #[test]
    fn blocked_stems_take_up_less() {
        let rose = Catalogue::shipped().find("rose").unwrap();
        let lot = Lot::new(rose, &Handling::default(), &[0.5; LOT_TRAITS]);
        let stems = Stems::new(&lot, &Grid::covering(0.0, 24.0, 0.25));
        let (starts, pace) = (BLOCKAGE_STARTS * lot.life_days, BLOCKAGE_PACE * lot.life_days);
        assert_eq!((stems.drink(starts), stems.free_for()), (stems.fresh(), starts));
        let conducts = -0.25 * lot.refill_per_hour;
        for (paces, share) in [(1.0, (-1.0f64).exp()), (2.0, (-2.0f64).exp())] {
            let (decay, gain) = stems.drink(starts + paces * pace);
            let exponent = conducts * share;
            assert!((decay - exponent.exp()).abs() < 1e-12, "{paces}: {decay}");
            assert!((gain - exponent.exp_m1() / exponent).abs() < 1e-12, "{paces}: {gain}");
        }
    }
}
