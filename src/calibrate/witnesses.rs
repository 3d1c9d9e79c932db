//! What two witnesses say together of a flower's dry hours: what is said of them, and how fast petals lose water.
//!
//! Water loss is an upper bound: whatever else gives way, a neck, a stem, a thin floret, does so before it. Which comes first is
//! published of few flowers; of the others the witnesses themselves decide.
//!
//! # Formula
//! In logarithms, hours `h ~ N(said, sd^2 + LEVEL_SD^2)` and hours of water loss `m = c - r`, with the loss `c` that softens petals
//! and the loss `r` in an hour, both normal ([`ByWater`]). With chance `p` water loss comes first, `h = m`; otherwise
//! `h = m - d`, `d` being half-normal with the deviation `EARLIER`. Given `h` the place of `m` is a normal cut off below `h`, so
//! that all but `h` is known in closed form; over `h` the midpoint rule sums.
//!
//! # Source
//! The reasons stand in reference-data/README.md, "Two witnesses of dry hours".

use crate::flower::catalogue::{ByWater, Flower};
use crate::flower::support::LEVEL_SD;
use crate::numerics::normal::cdf;

/// How much earlier than water loss another end comes, as the deviation of a half-normal logarithm (judgement).
const EARLIER: f64 = 1.0;
/// How many places of `h` are summed, and how many deviations they reach to either side.
const PLACES: usize = 400;
const REACH: f64 = 6.0;

/// What both witnesses say.
#[derive(Debug, Clone, Copy)]
pub struct Together {
    /// The chance that water loss is what ends a head first.
    pub by_water: f64,
    /// Mean of the logarithm of dry hours.
    pub ln_hours: f64,
    /// Standard deviation of it.
    pub hours_sd: f64,
    /// Mean of the logarithm of the loss by then, on the drying clock.
    pub ln_loss: f64,
    /// Standard deviation of it, that of the loss which softens petals left out.
    pub loss_sd: f64,
}

/// The chance, before either witness is heard, that water loss ends a head first.
fn chance_of_water(flower: &Flower) -> f64 {
    match flower.id() {
        // Their necks bend at the water potential of 6.4 % lost, and 10 % is critical (`leaves-draw`, `mokhtari-reid-1995`).
        "rose" | "rose-spray" | "rose-garden" => 1.0,
        // The stem bends below the head (`lehmann-2019`).
        "gerbera-large" | "gerbera-mini" => 0.0,
        // Not published: even odds (judgement).
        _ => 0.5,
    }
}

/// What both witnesses say of a flower, given the mean and the deviation of the logarithm of its hours by what is said, the level
/// left out; `None` where water loss bears no witness.
pub fn together(flower: &Flower, said: (f64, f64)) -> Option<Together> {
    flower.by_water().map(|water| heard(water, (said.0, said.1.hypot(LEVEL_SD)), chance_of_water(flower)))
}

/// The density of a normal number.
fn density(x: f64, mean: f64, sd: f64) -> f64 {
    let z = (x - mean) / sd;
    (-0.5 * z * z).exp() / (sd * (2.0 * std::f64::consts::PI).sqrt())
}

fn heard(water: ByWater, (said, said_sd): (f64, f64), chance: f64) -> Together {
    let water_sd = water.loss_sd.hypot(water.rate_sd);
    let wide = water_sd.hypot(EARLIER);
    let step = 2.0 * REACH * said_sd / PLACES as f64;
    // Weights by what comes first, then sums of `h`, `h^2`, the loss and its square.
    let (mut first, mut all, mut sums) = (0.0, 0.0, [0.0; 4]);
    for i in 0..PLACES {
        let h = said + (i as f64 + 0.5) * step - REACH * said_sd;
        let apart = h - water.ln_hours;
        let weight = density(h, said, said_sd);
        let by_water = weight * chance * density(apart, 0.0, water_sd);
        // Given `h` and another end, `m` is normal about this middle, and above `h`.
        let (middle, sd) = (water.ln_hours + apart * (water_sd / wide).powi(2), water_sd * EARLIER / wide);
        let above = cdf((middle - h) / sd).max(1e-300);
        let earlier = weight * (1.0 - chance) * 2.0 * density(apart, 0.0, wide) * above;
        let cut = (h - middle) / sd;
        let hazard = density(cut, 0.0, 1.0) / above;
        let (mean, variance) =
            (middle + sd * hazard, (sd * sd * (1.0 + cut * hazard - hazard * hazard)).max(0.0));
        let share = (water.rate_sd / water_sd).powi(2);
        // The loss is that in an hour, as far as `m` tells of it, times the hours; here beside that which softens petals.
        let lost = apart - share * (mean - water.ln_hours);
        let lost_variance = share * water.loss_sd.powi(2) + share * share * variance;
        first += by_water;
        all += by_water + earlier;
        sums[0] += (by_water + earlier) * h;
        sums[1] += (by_water + earlier) * h * h;
        sums[2] += earlier * lost;
        sums[3] += earlier * (lost * lost + lost_variance);
    }
    let [h, h2, loss, loss2] = sums.map(|sum| sum / all);
    Together {
        by_water: first / all,
        ln_hours: h,
        hours_sd: (h2 - h * h).sqrt(),
        ln_loss: water.ln_loss + loss.min(0.0),
        loss_sd: (loss2 - loss * loss).max(0.0).sqrt(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const WATER: ByWater = ByWater { ln_hours: 2.0, ln_loss: -2.25, loss_sd: 0.35, rate_sd: 0.6 };

    /// Where water loss is sure to come first, two normal witnesses weigh by their precision (any text on Bayesian statistics).
    #[test]
    fn two_witnesses_of_one_end_weigh_by_their_precision() {
        let found = heard(WATER, (1.0, 0.5), 1.0);
        let (a, b) = (1.0 / 0.25, 1.0 / (0.35f64.powi(2) + 0.36));
        assert!((found.ln_hours - (a + 2.0 * b) / (a + b)).abs() < 1e-6, "{found:?}");
        assert!((found.hours_sd - (1.0 / (a + b)).sqrt()).abs() < 1e-6, "{found:?}");
        assert!((found.by_water - 1.0).abs() < 1e-12 && found.ln_loss == WATER.ln_loss, "{found:?}");
    }

    #[test]
    fn agreement_leaves_less_unknown_than_disagreement() {
        let said = |hours| heard(WATER, (hours, 0.5), 0.5);
        let (agree, apart) = (said(2.0), said(0.3));
        assert!(agree.hours_sd < 0.47 && agree.hours_sd < apart.hours_sd, "{agree:?} {apart:?}");
        assert!(agree.by_water > 0.5 && apart.by_water < 0.4, "{agree:?} {apart:?}");
        // What ends early has lost less, and what is known of it is less.
        assert!(apart.ln_loss < agree.ln_loss - 0.5 && apart.loss_sd > agree.loss_sd, "{agree:?} {apart:?}");
    }

    /// Another end comes before that by water, never after.
    #[test]
    fn an_end_before_that_by_water_is_told_from_hours_alone() {
        let found = heard(WATER, (1.0, 0.5), 0.0);
        assert!(found.by_water == 0.0 && (0.8..1.1).contains(&found.ln_hours), "{found:?}");
        let bound = heard(WATER, (3.5, 0.5), 0.0);
        assert!(bound.ln_hours < 3.2, "{bound:?}");
    }

    /// Against a plain count of a million draws: simulation, and no formula in common.
    #[test]
    fn sums_agree_with_a_simulation() {
        use crate::numerics::normal::quantile;
        use crate::numerics::random::Key;
        let key = Key::named(1, "witnesses");
        let draws = key.table(4, 1_000_000);
        let (said, sd) = (1.0, 0.4);
        let (mut weights, mut sums) = (0.0, [0.0; 4]);
        for [c, r, d, coin] in draws.iter().map(|row| [row[0], row[1], row[2], row[3]]) {
            let c = WATER.ln_loss + WATER.loss_sd * quantile(c);
            let r = WATER.ln_loss - WATER.ln_hours + WATER.rate_sd * quantile(r);
            let water = coin < 0.5;
            let h = if water { c - r } else { c - r - EARLIER * quantile(d).abs() };
            let weight = density(h, said, sd);
            let lost = if water { WATER.ln_loss } else { h + r };
            weights += weight;
            let of = [f64::from(u8::from(water)), h, h * h, lost];
            sums.iter_mut().zip(of).for_each(|(sum, value)| *sum += weight * value);
        }
        let [water, h, h2, lost] = sums.map(|sum| sum / weights);
        let found = heard(WATER, (said, sd), 0.5);
        assert!((found.by_water - water).abs() < 0.005, "{found:?} {water}");
        assert!((found.ln_hours - h).abs() < 0.005, "{found:?} {h}");
        assert!((found.hours_sd - (h2 - h * h).sqrt()).abs() < 0.005, "{found:?}");
        assert!((found.ln_loss - lost).abs() < 0.01, "{found:?} {lost}");
    }
}
