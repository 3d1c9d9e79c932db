//! How long heads last in air that does not change, in closed form: what the [`search`](super::search) finds in steps, so
//! much faster that a thousand airs can be asked about at once.

use super::outcome::EndPoint;
use super::run::{draws, failing, sampled_heads, water};
use super::search::Water;
use crate::climate::Air;
use crate::error::{Problem, Result};
use crate::flower::catalogue::Flower;
use crate::flower::population::{HEADS, Heads, Lot};
use crate::flower::treatment::{Handling, Treatment};
use crate::numerics::elementary::{exp_m1, ln};
use crate::numerics::random::Key;
use crate::physics::ageing::heat_injury_rate;
use crate::physics::transpiration::{Loss, Skin, reference_flux, water_loss_against};
use rayon::prelude::*;

/// The least share of heads that can be asked for. Before more of them are lost to age alone, no stem begins to block, so
/// that what a stem takes up is known in closed form.
pub const LEAST_SHARE: f64 = 0.85;
/// Halvings of the time that is looked for.
const HALVINGS: usize = 24;

/// The sampled lots of a flower, to be put into air that does not change.
pub struct SteadyLots {
    skin: Skin,
    lots: Vec<SteadyLot>,
}

struct SteadyLot {
    lot: Lot,
    heads: Heads,
    /// [`reference_flux`] of its skin.
    reference: f64,
}

/// What some air does to a lot in an hour.
struct Rates {
    /// Drying, h of the reference air.
    drying: f64,
    /// Ageing in water and out of it, days at 20 C.
    ageing: (f64, f64),
    /// Dose of heat injury.
    heat: f64,
}

impl SteadyLots {
    /// The lots behind a seed: the same as those of [`Lots`](super::run::Lots).
    pub fn new(flower: &Flower, handling: &Handling, seed: u64, lots: usize) -> SteadyLots {
        let key = Key::named(seed, flower.id());
        let skin = Skin { nested: handling.nested, ..flower.skin() };
        let lots = draws(flower, handling, seed, lots).into_par_iter().enumerate().map(|(number, draws)| {
            let lot = Lot::new(flower, handling, &draws);
            let heads = sampled_heads(flower, handling, &lot, &key.columns(number));
            SteadyLot { reference: reference_flux(&skin, lot.skin_q10), lot, heads }
        });
        SteadyLots { skin, lots: lots.collect() }
    }

    /// How long a share of the heads of each lot lasts, h from being placed and at most `longest`; by air, then by
    /// treatment, then by lot in rising order of the hours.
    ///
    /// # Formula
    /// With `u` the deficit and `F` its limit in hours of the reference air, `D` the drying rate, `S` the rate of uptake and
    /// `G` the water of a tube in the same hours:
    /// ```text
    /// out of water   u = D t                        ends at F / D
    /// in a vase      u = D (1 - exp(-S t)) / S      ends at -ln(1 - S F / D) / S, or never
    /// in a tube      u = D t - G once it is empty   ends at the earlier of that of a vase and (F + G) / D
    /// ```
    /// or when its age or its dose of heat reaches the head's limit, if that is earlier.
    ///
    /// # Errors
    /// If the share is not from [`LEAST_SHARE`] to 1, or an air is none that there can be.
    pub fn hours(
        &self,
        airs: &[Air],
        treatments: &[Treatment],
        (share, end_point): (f64, EndPoint),
        longest: f64,
    ) -> Result<Vec<Vec<Vec<f64>>>> {
        if !(LEAST_SHARE..=1.0).contains(&share) {
            let problem = Problem::new(format!("a share of {share} cannot be asked about"));
            return Err(problem.expected(format!("a share of heads from {LEAST_SHARE} to 1")).into());
        }
        if let Some(air) = airs.iter().find(|air| !air.is_possible()) {
            return Err(Problem::new(format!("{air:?} is no air"))
                .expected("numbers within physical limits")
                .into());
        }
        let waters: Vec<Water> = treatments.iter().map(|t| water(*t)).collect();
        let of_air = |air: &Air| -> Vec<Vec<f64>> {
            let mut by_water = vec![Vec::with_capacity(self.lots.len()); waters.len()];
            for lot in &self.lots {
                let rates = lot.rates(air, &self.skin);
                let dry = sorted(lot.ends(Water::None, &rates, end_point, longest));
                for (water, hours) in waters.iter().zip(&mut by_water) {
                    let fails = failing(&lot.lot, *water);
                    let in_water = match water {
                        Water::None => dry,
                        water => sorted(lot.ends(*water, &rates, end_point, longest)),
                    };
                    hours.push(lasting(share, longest, (&in_water, 1.0 - fails), (&dry, fails)));
                }
            }
            by_water.iter_mut().for_each(|hours| hours.sort_unstable_by(f64::total_cmp));
            by_water
        };
        Ok(airs.par_iter().map(of_air).collect())
    }
}

impl SteadyLot {
    fn rates(&self, air: &Air, skin: &Skin) -> Rates {
        let Loss { relative, sealed_c, .. } =
            water_loss_against(self.reference, air, skin, self.lot.skin_q10);
        let in_water = self.lot.ageing.in_water(sealed_c);
        Rates {
            drying: relative,
            ageing: (in_water / 24.0, in_water * self.lot.ageing.quickened(sealed_c) / 24.0),
            heat: heat_injury_rate(sealed_c, self.lot.harmless_c),
        }
    }

    /// When each head ends, h from being placed; only hours before `longest` are exact.
    fn ends(&self, water: Water, rates: &Rates, end_point: EndPoint, longest: f64) -> [f64; HEADS] {
        let Rates { drying, ageing: (wet, dry), heat } = *rates;
        let (heads, uptake) = (&self.heads, self.lot.refill_per_hour);
        let shared = HEADS as f64
            / (0..HEADS).map(|h| heads.rate[h] * heads.flagging_clock[h] * heads.mass[h]).sum::<f64>();
        std::array::from_fn(|h| {
            let soft = 1.0 / heads.rate[h];
            let limit = match end_point {
                EndPoint::Flagging => soft,
                EndPoint::Wilted => heads.wilted_at[h] * soft,
            };
            let never_empty = || {
                let reached = uptake * limit / drying;
                if reached < 1.0 { -ln(1.0 - reached) / uptake } else { f64::INFINITY }
            };
            // The hours of the reference air that its water is worth.
            let worth = match water {
                Water::None => 0.0,
                Water::Ample => f64::INFINITY,
                Water::Tube(grams) => grams * soft / (heads.flagging_clock[h] * heads.mass[h]),
                Water::Shared(grams) => grams * shared,
            };
            let dried = match water {
                Water::None => limit / drying,
                _ => never_empty().min((limit + worth) / drying),
            };
            // An empty tube lets its head age as one out of water does. When it is empty matters only to heads that
            // age might end first.
            let life = heads.life_days[h];
            let aged = match water {
                Water::None => life / dry,
                Water::Ample => life / wet,
                Water::Tube(_) | Water::Shared(_) if life / dry >= dried.min(longest) => f64::INFINITY,
                Water::Tube(_) | Water::Shared(_) => {
                    let empty = emptied(worth, drying, uptake);
                    if life <= wet * empty { life / wet } else { empty + (life - wet * empty) / dry }
                }
            };
            dried.min(aged).min(heads.heat_limit[h] / heat)
        })
    }
}

/// When a head has drunk water worth so many hours of the reference air, h: `D t - u(t) = G`, by halving, between `G / D`
/// and what a vase that is never short gives.
fn emptied(worth: f64, drying: f64, uptake: f64) -> f64 {
    let drunk = |t: f64| drying * t + drying * exp_m1(-uptake * t) / uptake;
    let (mut early, mut late) = (worth / drying, worth / drying + 1.0 / uptake);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (early + late);
        if drunk(middle) < worth { early = middle } else { late = middle }
    }
    0.5 * (early + late)
}

fn sorted(mut ends: [f64; HEADS]) -> [f64; HEADS] {
    ends.sort_unstable_by(f64::total_cmp);
    ends
}

/// The last hour, at most `longest`, at which at least a share is left of two kinds of heads with their weights, each with
/// the hours at which they end in rising order. The share is that of [`presentable`](super::outcome::presentable).
fn lasting(share: f64, longest: f64, a: (&[f64; HEADS], f64), b: (&[f64; HEADS], f64)) -> f64 {
    let left = |(ends, weight): (&[f64; HEADS], f64), hour: f64| {
        if weight == 0.0 { 0.0 } else { weight * super::outcome::share_of_sorted(ends, hour) }
    };
    let lasts = |hour: f64| left(a, hour) + left(b, hour) >= share - 1e-12;
    if lasts(longest) {
        return longest;
    }
    let (mut good, mut bad) = (0.0, longest);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (good + bad);
        if lasts(middle) { good = middle } else { bad = middle }
    }
    good
}
