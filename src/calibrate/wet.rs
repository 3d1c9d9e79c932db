//! What heads in water teach: how many of their stems do not drink.
//!
//! A head whose stem does not drink dries like one out of water. Many gone early in tubes and vases therefore tell of stems, and not
//! of dry hours, which they leave as they are.
//!
//! # Formula
//! Of `n` heads of delivery `l` as many have gone as a binomial number says, with the chance `a d + (1 - a) w`: `d` is the chance that a
//! head out of water would have gone by then, and `w`, that one which drinks has, follows from the forecast that was noted, whose
//! mean share gone is `a0 d + (1 - a0) w`. The share `a` stands at the normal `sqrt(1/2) (theta + lambda_l)` behind the catalogue's
//! points: half of their variance is ignorance of the flower, half lies between deliveries (judgement). Both are summed over a grid.

use super::evidence::placed;
use super::trial::Outcome;
use crate::flower::catalogue::{Flower, Quantity};
use crate::flower::learned::{Learned, Locked};
use crate::flower::spread::two_piece;
use crate::numerics::normal::cdf;
use std::f64::consts::FRAC_1_SQRT_2;

/// How many places of a normal are summed, and the step between them.
const PLACES: i32 = 80;
const STEP: f64 = 0.1;
/// The least chance that a head which drinks has gone: an accident, or a slip of the pen (judgement).
const SLIP: f64 = 0.002;

/// One count of heads in water.
struct Wet<'a> {
    lot: Option<&'a str>,
    gone: f64,
    well: f64,
    /// The share of stems that do not drink over that of the catalogue.
    kept: f64,
    /// The chance that a head out of water would have gone.
    dry: f64,
    /// The chance that a head which drinks has.
    drinking: f64,
}

/// Whether a count of heads in water teaches something: its hours are known, and so is what had been forecast.
pub fn teaches(outcome: &Outcome) -> bool {
    !outcome.method.is_dry() && outcome.worth.is_some() && !outcome.forecast.is_empty()
}

impl<'a> Wet<'a> {
    fn of(outcome: &'a Outcome, known: &Learned) -> Option<Wet<'a>> {
        let (hours, _) = outcome.worth.filter(|_| teaches(outcome))?;
        let place = placed(outcome.flower, &outcome.handling, hours);
        let known = known.handled(&outcome.handling.shifts(outcome.flower));
        let sd = known.spread.hypot(known.lot).hypot(known.head);
        let dry = cdf((place - known.middle) / sd);
        let kept = outcome.handling.conditioning.air_locks();
        let before = share(outcome.flower, 0.0, kept);
        let of = f64::from(outcome.of);
        let forecast = outcome.forecast.iter().sum::<f64>() / outcome.forecast.len() as f64;
        let gone = 1.0 - forecast / of;
        let drinking = ((gone - before * dry) / (1.0 - before)).clamp(SLIP, 1.0 - SLIP);
        let well = f64::from(outcome.presentable);
        Some(Wet { lot: outcome.lot.as_deref(), gone: of - well, well, kept, dry, drinking })
    }

    /// Logarithm of the chance of the count, if the share of stems that do not drink stands at a normal.
    fn log_chance(&self, flower: &Flower, z: f64) -> f64 {
        let locked = share(flower, z, self.kept);
        let gone = locked * self.dry + (1.0 - locked) * self.drinking;
        self.gone * gone.ln() + self.well * (1.0 - gone).ln()
    }
}

/// The share of stems that do not drink at a normal behind the catalogue's points.
fn share(flower: &Flower, z: f64, kept: f64) -> f64 {
    (two_piece(flower.parameter(Quantity::AirLockShare), z) * kept).min(0.5)
}

/// Places of a standard normal, each with the logarithm of its weight.
fn places() -> impl Iterator<Item = (f64, f64)> + Clone {
    (-PLACES / 2..=PLACES / 2).map(|i| STEP * f64::from(i)).map(|z| (z, -0.5 * z * z))
}

/// The logarithm of a sum of exponentials.
fn log_sum(logs: impl Iterator<Item = f64>) -> f64 {
    let logs: Vec<f64> = logs.collect();
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    top + logs.iter().map(|l| (l - top).exp()).sum::<f64>().ln()
}

/// What counts of heads in water teach of a flower whose dry hours are `known`.
pub fn locked<'a>(flower: &Flower, outcomes: impl Iterator<Item = &'a Outcome>, known: &Learned) -> Locked {
    let mut lots: Vec<Vec<Wet>> = Vec::new();
    for wet in outcomes.filter_map(|o| Wet::of(o, known)) {
        match lots.iter_mut().find(|lot| wet.lot.is_some() && lot[0].lot == wet.lot) {
            Some(lot) => lot.push(wet),
            None => lots.push(vec![wet]),
        }
    }
    if lots.is_empty() {
        return Locked::default();
    }
    let at = |theta: f64, lambda: f64| FRAC_1_SQRT_2 * (theta + lambda);
    let of_lot = |lot: &[Wet], theta: f64| {
        log_sum(places().map(|(lambda, weight)| {
            weight + lot.iter().map(|w| w.log_chance(flower, at(theta, lambda))).sum::<f64>()
        }))
    };
    let logs: Vec<(f64, f64)> = places()
        .map(|(theta, weight)| (theta, weight + lots.iter().map(|lot| of_lot(lot, theta)).sum::<f64>()))
        .collect();
    let all = log_sum(logs.iter().map(|l| l.1));
    let mean =
        |value: &dyn Fn(f64) -> f64| logs.iter().map(|(z, l)| (l - all).exp() * value(*z)).sum::<f64>();
    let theta = mean(&|z| z);
    let left = mean(&|z| (z - theta).powi(2));
    Locked {
        middle: FRAC_1_SQRT_2 * theta,
        spread: (0.5 + 0.5 * left).sqrt(),
        events: lots.iter().map(|lot| lot.len() as u32).sum(),
    }
}
