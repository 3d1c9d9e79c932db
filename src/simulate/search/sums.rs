//! Running sums of what the routes of a flower do to one lot, shared by its heads, treatments and placing times.

use super::routes::Routes;
use crate::flower::population::{HEADS, Heads, Lot};
use crate::simulate::journey::{Forcing, ForcingSeries, Grid, Stems, Supply};
use crate::simulate::outcome::EndPoint;

/// The water that a head is given when it is placed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Water {
    /// None: it lies dry.
    None,
    /// As much as it demands, from a vase.
    Ample,
    /// A tube with this much usable water, g.
    Tube(f64),
    /// A share of a vessel, of which every head of the lot drinks, with this much usable water for each of them, g.
    Shared(f64),
}

/// Running sums before placement, at the beginnings of steps and at the end.
pub(super) struct BeforeSums {
    /// The first step, counted on the event's grid.
    pub(super) first: usize,
    /// Deficit of a head, h of the reference air, and its highest value so far.
    pub(super) deficit: Vec<f64>,
    pub(super) peak: Vec<f64>,
    pub(super) age: Vec<f64>,
    pub(super) heat: Vec<f64>,
    /// Days at 20 C spent in water.
    pub(super) in_water: Vec<f64>,
}

/// Running sums after placement, at the beginnings of steps and at the end.
pub(super) struct AfterSums {
    /// The first step, counted on the event's grid.
    pub(super) first: usize,
    pub(super) drying: Vec<f64>,
    /// The most that it rises in a step.
    pub(super) steepest: f64,
    /// Deficit of a head that is in water from the first step, while stems drink freely.
    pub(super) wet_deficit: Vec<f64>,
    pub(super) age: Vec<f64>,
    pub(super) heat: Vec<f64>,
}

/// One lot with its running sums, ready to be placed.
///
/// Deficits and amounts of water are in h of the reference air, ages in days at 20 C.
pub struct LotSums<'a> {
    pub(super) lot: &'a Lot,
    pub(super) heads: &'a Heads,
    pub(super) grid: Grid,
    pub(super) stems: Stems,
    /// The deficit at which each head flags, is plainly wilted, and is taken off the table.
    pub(super) flagging: [f64; HEADS],
    pub(super) wilted: [f64; HEADS],
    pub(super) past_use: [f64; HEADS],
    /// What a gram of water is worth to each head, h of the reference air.
    pub(super) per_gram: [f64; HEADS],
    /// The same for water that all heads drink of, for each head's share.
    pub(super) shared_per_gram: f64,
    /// The share of a deficit that remains after so many steps in water, while stems drink freely.
    pub(super) remaining: Vec<f64>,
    pub(super) before: Vec<BeforeSums>,
    pub(super) after: Vec<AfterSums>,
    pub(super) routes: &'a Routes,
}

impl<'a> LotSums<'a> {
    /// Sums the forcing of a lot along the routes. `forcings` holds that of every space which the routes go through.
    pub fn new(
        lot: &'a Lot,
        heads: &'a Heads,
        forcings: &[ForcingSeries],
        grid: &Grid,
        routes: &'a Routes,
    ) -> Self {
        let stems = Stems::new(lot, grid);
        let (decay, gain) = stems.fresh();
        let before = routes.before.iter().map(|route| {
            let [mut deficits, mut peaks, mut ages, mut heats, mut in_waters] =
                std::array::from_fn(|_| vec![0.0; route.steps.len() + 1]);
            let (mut deficit, mut peak, mut age, mut heat, mut in_water) = (0.0, 0.0_f64, 0.0, 0.0, 0.0);
            for (n, (space, supply)) in (1..).zip(&route.steps) {
                let forcing = forcings[*space].at(route.first + n - 1);
                // Heads get their tubes when they are placed.
                match supply {
                    Supply::Ample => {
                        in_water += forcing.age;
                        let (decay, gain) = stems.drink(in_water);
                        deficit = deficit * decay + forcing.drying * gain;
                    }
                    Supply::Dry | Supply::Tube => {
                        deficit += forcing.drying;
                    }
                    Supply::Boxed => deficit += forcing.drying * lot.boxed,
                }
                age += forcing.age;
                heat += forcing.heat;
                peak = peak.max(deficit);
                (deficits[n], peaks[n], ages[n], heats[n], in_waters[n]) =
                    (deficit, peak, age, heat, in_water);
            }
            // What they lack from the start no bucket makes good.
            deficits.iter_mut().chain(&mut peaks).for_each(|deficit| *deficit += lot.start_deficit);
            BeforeSums {
                first: route.first,
                deficit: deficits,
                peak: peaks,
                age: ages,
                heat: heats,
                in_water: in_waters,
            }
        });
        let after = routes.after.iter().map(|route| {
            let [mut drying, mut wet_deficit, mut age, mut heat] =
                std::array::from_fn(|_| vec![0.0; route.steps.len() + 1]);
            // Independent sums side by side, so that none waits for another.
            let mut sum = Forcing::NONE;
            let (mut deficit, mut steepest) = (0.0, 0.0_f64);
            for (n, (space, _)) in (1..).zip(&route.steps) {
                let forcing = forcings[*space].at(route.first + n - 1);
                sum.drying += forcing.drying;
                sum.age += forcing.age;
                sum.heat += forcing.heat;
                steepest = steepest.max(forcing.drying);
                deficit = deficit * decay + forcing.drying * gain;
                (drying[n], age[n], heat[n]) = (sum.drying, sum.age, sum.heat);
                wet_deficit[n] = deficit;
            }
            AfterSums { first: route.first, drying, steepest, wet_deficit, age, heat }
        });
        let after: Vec<AfterSums> = after.collect();
        let longest = after.iter().map(|after| after.wet_deficit.len()).max().unwrap_or(0);
        let mut remaining = vec![1.0; longest];
        for n in 1..longest {
            remaining[n] = remaining[n - 1] * decay;
        }
        let flagging = heads.rate.map(|rate| 1.0 / rate);
        let wilted = std::array::from_fn(|h| heads.wilted_at[h] * flagging[h]);
        let past_use = std::array::from_fn(|h| heads.past_use_at[h] * flagging[h]);
        let per_gram: [f64; HEADS] =
            std::array::from_fn(|h| flagging[h] / (heads.flagging_clock[h] * heads.mass[h]));
        let shared_per_gram = HEADS as f64 / per_gram.iter().map(|hours| 1.0 / hours).sum::<f64>();
        LotSums {
            lot,
            heads,
            grid: *grid,
            stems,
            flagging,
            wilted,
            past_use,
            per_gram,
            shared_per_gram,
            remaining,
            before: before.collect(),
            after,
            routes,
        }
    }

    /// The deficit at which each head reaches an end-point.
    pub(super) fn limits(&self, end_point: EndPoint) -> &[f64; HEADS] {
        match end_point {
            EndPoint::Flagging => &self.flagging,
            EndPoint::Wilted => &self.wilted,
        }
    }
}
