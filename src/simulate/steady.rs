//! How long heads last in air that does not change, in closed form: what the [`search`](super::search) finds in steps, so
//! much faster that a thousand airs can be asked about at once.

use super::outcome::{EndPoint, share_left};
use super::run::{draws, failing, sampled_heads, water};
use super::search::Water;
use crate::climate::Air;
use crate::error::{Problem, Result};
use crate::flower::catalogue::Flower;
use crate::flower::population::{HEADS, Heads, Lot};
use crate::flower::treatment::{Handling, Treatment};
use crate::numerics::dispatch::widest;
use crate::numerics::elementary::ln;
use crate::numerics::random::Key;
use crate::physics::ageing::heat_injury_rate;
use crate::physics::transpiration::{Loss, Skin, reference_flux, water_loss_against};
use rayon::prelude::*;

/// The least share of heads that can be asked for. Before more of them are lost to age alone, no stem begins to block, so
/// that what a stem takes up is known in closed form.
pub const LEAST_SHARE: f64 = 0.85;

/// The sampled lots of a flower, to be put into air that does not change.
pub struct SteadyLots {
    lots: Vec<SteadyLot>,
}

struct SteadyLot {
    lot: Lot,
    heads: Heads,
    /// Its skin, sheltered by what lies around its heads.
    skin: Skin,
    /// [`reference_flux`] of its skin.
    reference: f64,
    /// The deficit at which each head flags, and that at which it is plainly wilted, h of the reference air.
    flagging: [f64; HEADS],
    wilted: [f64; HEADS],
    /// What a gram of water is worth to each head, and a gram of shared water, h of the reference air.
    per_gram: [f64; HEADS],
    shared_per_gram: f64,
}

/// What some air does to a lot in an hour.
struct Rates {
    /// Drying, h of the reference air.
    drying: f64,
    /// Ageing, in water and out of it, days at 20 C.
    ageing: f64,
    /// Dose of heat injury.
    heat: f64,
}

impl SteadyLots {
    /// The lots behind a seed: the same as those of [`Lots`](super::run::Lots).
    pub fn new(flower: &Flower, handling: &Handling, seed: u64, lots: usize) -> SteadyLots {
        let key = Key::named(seed, flower.id());
        let bare = flower.skin();
        let lots = draws(flower, handling, seed, lots).into_par_iter().enumerate().map(|(number, draws)| {
            let lot = Lot::new(flower, handling, &draws);
            let heads = sampled_heads(flower, handling, &lot, &key.columns(number));
            let per_gram: [f64; HEADS] =
                std::array::from_fn(|h| 1.0 / (heads.rate[h] * heads.flagging_clock[h] * heads.mass[h]));
            SteadyLot {
                reference: reference_flux(&bare, lot.skin_q10),
                skin: Skin { shelter: lot.shelter, ..bare },
                flagging: heads.rate.map(|rate| 1.0 / rate),
                wilted: std::array::from_fn(|h| heads.wilted_at[h] / heads.rate[h]),
                shared_per_gram: HEADS as f64 / per_gram.iter().map(|hours| 1.0 / hours).sum::<f64>(),
                per_gram,
                lot,
                heads,
            }
        });
        SteadyLots { lots: lots.collect() }
    }

    /// How long a share of the heads of each lot lasts, h from being placed and at most `longest`; by air, then by
    /// treatment, then by lot in rising order of the hours.
    ///
    /// # Formula
    /// With `u` the deficit, `u0` that with which heads begin, and `F` its limit in hours of the reference air, `D` the drying rate, `S` the rate of uptake and
    /// `G` the water of a tube in the same hours:
    /// ```text
    /// out of water   u = u0 + D t                                 ends at (F - u0) / D
    /// in a vase      u = D/S + (u0 - D/S) exp(-S t)               ends at -ln(1 - (F - u0) / (D/S - u0)) / S, or never
    /// in a tube      u = u0 + D t - G once it is empty            ends at the earlier of that of a vase and (F - u0 + G) / D
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
                let course = lot.course(air, end_point);
                let dry = sorted(widest(
                    #[inline(always)]
                    || course.dry(),
                ));
                for (water, hours) in waters.iter().zip(&mut by_water) {
                    let fails = failing(&lot.lot, *water);
                    let in_water = match water {
                        Water::None => dry,
                        water => {
                            let ends = widest(
                                #[inline(always)]
                                || course.wet(*water),
                            );
                            // Most stand in water for longer than is asked.
                            if 1.0 - fails >= share && ends.iter().all(|end| *end > longest) {
                                hours.push(longest);
                                continue;
                            }
                            sorted(ends)
                        }
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

/// A lot in some air, up to an end-point.
struct Course<'a> {
    lot: &'a SteadyLot,
    rates: Rates,
    /// The deficit at which each head ends, h of the reference air.
    limits: [f64; HEADS],
    /// When each head would end by drying if it were never short of water, h.
    never_short: [f64; HEADS],
}

impl SteadyLot {
    fn course(&self, air: &Air, end_point: EndPoint) -> Course<'_> {
        let Loss { relative: drying, sealed_c, .. } =
            water_loss_against(self.reference, air, &self.skin, self.lot.skin_q10);
        let rates = Rates {
            drying,
            ageing: self.lot.ageing.pace(sealed_c) / 24.0,
            heat: heat_injury_rate(sealed_c, self.lot.harmless_c),
        };
        let limits = match end_point {
            EndPoint::Flagging => self.flagging,
            EndPoint::Wilted => self.wilted,
        };
        let (uptake, start) = (self.lot.refill_per_hour, self.lot.start_deficit);
        // Where drying and uptake balance, less what the heads begin with.
        let rises = drying / uptake - start;
        let never_short = limits.map(|limit| match (limit - start) / rises {
            reached if rises > 0.0 && reached < 1.0 => (-ln(1.0 - reached) / uptake).max(0.0),
            _ if limit <= start => 0.0,
            _ => f64::INFINITY,
        });
        Course { lot: self, rates, limits, never_short }
    }
}

impl Course<'_> {
    /// When each head ends out of water, h from being placed.
    #[inline(always)]
    fn dry(&self) -> [f64; HEADS] {
        let (heads, Rates { drying, ageing, heat }) = (&self.lot.heads, &self.rates);
        let end = |h: usize| {
            let left = (self.limits[h] - self.lot.lot.start_deficit).max(0.0);
            (left / drying).min(heads.life_days[h] / ageing).min(heads.heat_limit[h] / heat)
        };
        std::array::from_fn(end)
    }

    /// When each head ends in water, h from being placed.
    #[inline(always)]
    fn wet(&self, water: Water) -> [f64; HEADS] {
        let Rates { drying, ageing, heat } = self.rates;
        let heads = &self.lot.heads;
        std::array::from_fn(|h| {
            // The hours of the reference air that its water is worth.
            let worth = match water {
                Water::None => 0.0,
                Water::Ample => f64::INFINITY,
                Water::Tube(grams) => grams * self.lot.per_gram[h],
                Water::Shared(grams) => grams * self.lot.shared_per_gram,
            };
            let left = (self.limits[h] - self.lot.lot.start_deficit).max(0.0);
            let dried = self.never_short[h].min((left + worth) / drying);
            let aged = heads.life_days[h] / ageing;
            dried.min(aged).min(heads.heat_limit[h] / heat)
        })
    }
}

fn sorted(mut ends: [f64; HEADS]) -> [f64; HEADS] {
    ends.sort_unstable_by(f64::total_cmp);
    ends
}

/// The last hour, at most `longest`, at which at least a share is left of two kinds of heads with their weights, each with
/// the hours at which they end in rising order. The share is that of [`presentable`](super::outcome::presentable): linear
/// between the ends of heads, so that it is enough to find the two between which it falls below.
fn lasting(share: f64, longest: f64, a: Kind, b: Kind) -> f64 {
    let enough = |hour: f64| left(a, hour, hour) + left(b, hour, hour) >= share - 1e-12;
    if enough(longest) {
        return longest;
    }
    let (mut good, mut bad) = (0.0, longest);
    for (ends, weight) in [a, b] {
        if weight > 0.0 {
            let first_bad = ends.partition_point(|end| *end < bad && (*end <= good || enough(*end)));
            good = ends[..first_bad].last().map_or(good, |end| end.max(good));
            bad = ends.get(first_bad).map_or(bad, |end| end.min(bad));
        }
    }
    let at = |hour: f64| left(a, good, hour) + left(b, good, hour);
    let (from, to) = (at(good), at(bad));
    if to >= share || from <= to {
        bad
    } else {
        good + (bad - good) * ((from - share) / (from - to)).clamp(0.0, 1.0)
    }
}

/// Heads of one kind: the hours at which they end, in rising order, and their weight.
type Kind<'a> = (&'a [f64; HEADS], f64);

/// The weighted share of heads left at an hour before which none ends that has not by `since`.
fn left((ends, weight): Kind, since: f64, hour: f64) -> f64 {
    if weight == 0.0 {
        return 0.0;
    }
    let ended = ends.partition_point(|end| *end <= since);
    let last = if ended == 0 { f64::NEG_INFINITY } else { ends[ended - 1] };
    let next = ends.get(ended).copied().unwrap_or(f64::INFINITY);
    weight * share_left(HEADS, ended, last, next, hour)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flower::catalogue::Catalogue;

    /// In ample water `u' = D - S u`, from what heads begin with: stepped through by the midpoint, a hundredth of an hour at a time.
    #[test]
    fn in_a_vase_heads_end_where_their_deficit_first_reaches_its_limit() {
        let dahlia = Catalogue::shipped().find("dahlia").unwrap();
        let mut lots = SteadyLots::new(dahlia, &Handling::default(), 5, 8).lots;
        let (mut ended, mut lasted, mut begun) = (0, 0, 0);
        for (number, lot) in lots.iter_mut().enumerate() {
            let middle = sorted(lot.flagging)[HEADS / 2];
            lot.lot.start_deficit = middle * [0.0, 0.3, 0.9, 1.0][number % 4];
            let air =
                Air { sun: 600.0, speed: 1.0, ..Air::indoors(26.0 + 2.0 * number as f64, 0.3).unwrap() };
            let course = lot.course(&air, EndPoint::Flagging);
            let (drying, uptake) = (course.rates.drying, lot.lot.refill_per_hour);
            let step = 0.01;
            for (limit, never_short) in lot.flagging.iter().zip(course.never_short) {
                let mut deficit = lot.lot.start_deficit;
                let pace = |deficit: f64| drying - uptake * deficit;
                let mut reached = (deficit >= *limit).then_some(0.0);
                for n in 0..10_000 {
                    if reached.is_some() {
                        break;
                    }
                    deficit += step * pace(deficit + 0.5 * step * pace(deficit));
                    reached = (deficit >= *limit).then_some((n + 1) as f64 * step);
                }
                match reached {
                    Some(hours) => {
                        assert!((never_short - hours).abs() <= 2.0 * step, "{never_short} {hours}")
                    }
                    // Within a hundred hours.
                    None => assert!(never_short > 95.0, "{never_short}"),
                }
                ended += usize::from(reached.is_some_and(|hours| hours > 0.0));
                begun += usize::from(reached == Some(0.0));
                lasted += usize::from(reached.is_none());
            }
        }
        assert!(ended > 20 && lasted > 20 && begun > 20, "{ended} {lasted} {begun}");
    }

    /// Held against halving, on the share that is left at an hour.
    #[test]
    fn a_share_lasts_until_it_falls_below() {
        let ends = |first: f64, ratio: f64| {
            sorted(std::array::from_fn(|i| first * ratio.powi((7 * i % HEADS) as i32)))
        };
        for (first, ratio) in [(2.0, 1.06), (0.5, 1.15), (9.0, 1.0)] {
            let (a, b) = (ends(first, ratio), ends(0.7 * first, 1.04));
            for (weight, share, longest) in
                [(1.0, 0.9, 48.0), (0.8, 0.75, 48.0), (0.6, 0.5, 48.0), (0.9, 0.85, 1.5), (0.0, 0.9, 48.0)]
            {
                let found = lasting(share, longest, (&a, weight), (&b, 1.0 - weight));
                let enough = |hour: f64| {
                    left((&a, weight), hour, hour) + left((&b, 1.0 - weight), hour, hour) >= share
                };
                let (mut good, mut bad) = (0.0, longest);
                for _ in 0..60 {
                    let middle = 0.5 * (good + bad);
                    *(if enough(middle) { &mut good } else { &mut bad }) = middle;
                }
                let known = if enough(longest) { longest } else { good };
                assert!(
                    (found - known).abs() < 1e-6,
                    "{first}, {ratio}, {weight}, {share}: {found}, {known}"
                );
            }
        }
    }
}
