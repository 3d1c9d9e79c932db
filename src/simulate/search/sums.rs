//! What the routes of some placings do to one lot, summed up once.

use super::routes::Routes;
use crate::flower::population::{HEADS, Heads, Lot};
use crate::simulate::journey::{Drive, Grid, Pull, Stems, Supply};
use crate::simulate::outcome::EndPoint;

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
pub(super) struct There {
    pub(super) first: usize,
    pub(super) way: Vec<f64>,
    pub(super) peak: Vec<f64>,
    pub(super) age: Vec<f64>,
    pub(super) heat: Vec<f64>,
    pub(super) in_water: Vec<f64>,
}

/// Running sums over the way on, at the beginnings of its steps and its end.
pub(super) struct On {
    pub(super) first: usize,
    pub(super) drying: Vec<f64>,
    /// The way of a head in water from its beginning, while stems drink freely.
    pub(super) wet: Vec<f64>,
    pub(super) age_wet: Vec<f64>,
    pub(super) age_dry: Vec<f64>,
    pub(super) heat: Vec<f64>,
}

/// The heads of one lot, ready to be placed.
pub struct Lives<'a> {
    pub(super) lot: &'a Lot,
    pub(super) heads: &'a Heads,
    pub(super) grid: Grid,
    pub(super) stems: Stems,
    /// How far `x` goes until a head flags, and until it is plainly wilted.
    pub(super) flagging: [f64; HEADS],
    pub(super) wilted: [f64; HEADS],
    /// How much of what `x` drinks a gram of water is for a head.
    pub(super) per_gram: [f64; HEADS],
    /// What is left of a deficit after so many steps in water, while stems drink freely.
    pub(super) left: Vec<f64>,
    pub(super) there: Vec<There>,
    pub(super) on: Vec<On>,
    pub(super) routes: &'a Routes,
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

    /// The limits of the heads on their way: what `x` must reach.
    pub(super) fn limits(&self, end_point: EndPoint) -> &[f64; HEADS] {
        match end_point {
            EndPoint::Flagging => &self.flagging,
            EndPoint::Wilted => &self.wilted,
        }
    }
}
