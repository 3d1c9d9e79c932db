//! The lives of the heads of a lot without stepping each of them: a search in running sums that they share.
//!
//! A head's way to flagging is linear in its rate `r`: out of water `d(v/r) = D dt`, in water `d(v/r) = D dt - S (v/r) dt`.
//! So all heads of a lot that have water alike go one way `x = v/r`, and each flags when `x` first reaches its own `1/r`.
//! Nor does what they drink set them apart: a tube is empty when the sum of what `x` drinks reaches its water over `r` and
//! the head's size. Only then does a head go its own way, which is again a sum: that of the dry. The way before placing
//! is the same for all placing times but for where it stops, and so is the air after it.

mod lines;
mod placed;
mod routes;
mod share;

pub use placed::{Placed, Wet};
pub use routes::Routes;

use super::journey::{Drive, Grid, Pull, Stems, Supply};
use super::kernel::EndPoint;
use super::run::Placing;
use crate::flower::population::{HEADS, Heads, Lot};

/// What a head drinks from once it is placed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Water {
    /// Nothing.
    None,
    /// A vase: ample.
    Ample,
    /// A tube with so much usable water, g.
    Tube(f64),
}

/// The way there, at the beginnings of its steps and its end.
struct There {
    first: usize,
    way: Vec<f64>,
    peak: Vec<f64>,
    age: Vec<f64>,
    heat: Vec<f64>,
    in_water: Vec<f64>,
}

/// Running sums over the way on, at the beginnings of its steps and its end.
struct On {
    first: usize,
    drying: Vec<f64>,
    /// The way of a head in water from its beginning, while stems drink freely.
    wet: Vec<f64>,
    age_wet: Vec<f64>,
    age_dry: Vec<f64>,
    heat: Vec<f64>,
}

/// The heads of one lot, ready to be placed.
pub struct Lives<'a> {
    lot: &'a Lot,
    heads: &'a Heads,
    grid: Grid,
    stems: Stems,
    /// How far `x` goes until a head flags, and until it is plainly wilted.
    flagging: [f64; HEADS],
    wilted: [f64; HEADS],
    /// How much of what `x` drinks a gram of water is for a head.
    per_gram: [f64; HEADS],
    /// What is left of a deficit after so many steps in water, while stems drink freely.
    left: Vec<f64>,
    there: Vec<There>,
    on: Vec<On>,
    routes: &'a Routes,
}

impl<'a> Lives<'a> {
    /// Sums up what the routes do to a lot.
    pub fn new(lot: &'a Lot, heads: &'a Heads, drives: &[Drive], grid: &Grid, routes: &'a Routes) -> Self {
        let stems = Stems::new(lot, grid);
        let (decay, gain) = stems.fresh();
        let there = routes.before.iter().map(|route| {
            let [mut ways, mut peaks, mut ages, mut heats, mut in_waters] =
                std::array::from_fn(|_| vec![0.0; route.steps.len() + 1]);
            let (mut way, mut peak, mut age, mut heat, mut in_water) = (0.0, 0.0_f64, 0.0, 0.0, 0.0);
            for (n, (space, supply)) in (1..).zip(&route.steps) {
                let pull = drives[*space].at(route.first + n - 1);
                // Tubes are given with placing: until then there are none.
                match supply {
                    Supply::Ample => {
                        in_water += pull.age_wet;
                        let (decay, gain) = stems.drink(in_water);
                        way = way * decay + pull.drying * gain;
                        age += pull.age_wet;
                    }
                    Supply::Dry | Supply::Tube => {
                        way += pull.drying;
                        age += pull.age_dry;
                    }
                }
                heat += pull.heat;
                peak = peak.max(way);
                (ways[n], peaks[n], ages[n], heats[n], in_waters[n]) = (way, peak, age, heat, in_water);
            }
            There { first: route.first, way: ways, peak: peaks, age: ages, heat: heats, in_water: in_waters }
        });
        let on = routes.after.iter().map(|route| {
            let [mut drying, mut wet, mut age_wet, mut age_dry, mut heat] =
                std::array::from_fn(|_| vec![0.0; route.steps.len() + 1]);
            // Sums side by side, none of which waits for another.
            let mut sum = Pull::NONE;
            let mut way = 0.0;
            for (n, (space, _)) in (1..).zip(&route.steps) {
                let pull = drives[*space].at(route.first + n - 1);
                sum.drying += pull.drying;
                sum.age_wet += pull.age_wet;
                sum.age_dry += pull.age_dry;
                sum.heat += pull.heat;
                way = way * decay + pull.drying * gain;
                (drying[n], age_wet[n], age_dry[n], heat[n]) =
                    (sum.drying, sum.age_wet, sum.age_dry, sum.heat);
                wet[n] = way;
            }
            On { first: route.first, drying, wet, age_wet, age_dry, heat }
        });
        let on: Vec<On> = on.collect();
        let longest = on.iter().map(|on| on.wet.len()).max().unwrap_or(0);
        let mut left = vec![1.0; longest];
        for n in 1..longest {
            left[n] = left[n - 1] * decay;
        }
        let flagging = heads.rate.map(|rate| 1.0 / rate);
        let wilted = std::array::from_fn(|h| heads.wilted_at[h] * flagging[h]);
        let per_gram = std::array::from_fn(|h| flagging[h] / (heads.flagging_clock[h] * heads.mass[h]));
        Lives {
            lot,
            heads,
            grid: *grid,
            stems,
            flagging,
            wilted,
            per_gram,
            left,
            there: there.collect(),
            on,
            routes,
        }
    }

    /// The lot placed the way of the placing of that number.
    pub fn placed(&self, number: usize, placing: &Placing) -> Placed<'_> {
        let (there, on, at) = self.routes.of[number];
        let (there, on) = (&self.there[there], &self.on[on]);
        let gone = placing.before.last().map_or(0, |l| l.to - there.first);
        let now = at - on.first;
        let mut refills: Vec<usize> = placing
            .refills
            .iter()
            .filter(|r| **r > at)
            .map(|r| r - on.first)
            .filter(|r| *r < on.drying.len() - 1)
            .collect();
        refills.sort_unstable();
        refills.dedup();
        Placed { lives: self, there, on, gone, now, refills, ask: placing.ask, wet: None }
    }

    /// The limits of the heads on their way: what `x` must reach.
    fn limits(&self, end_point: EndPoint) -> &[f64; HEADS] {
        match end_point {
            EndPoint::Flagging => &self.flagging,
            EndPoint::Wilted => &self.wilted,
        }
    }
}
