//! Holds forecasts against what happened: for every trial one from the notes before it, for every event the one made then.

use super::evidence::Evidence;
use super::fit::Posterior;
use super::notebook::Notebook;
use super::trial::Trial;
use crate::flower::catalogue::{Flower, Quantity};
use crate::flower::learned::Learned;
use crate::flower::spread::two_piece_z;
use crate::flower::treatment::Method;
use crate::numerics::normal;
use crate::numerics::random::Key;
use crate::stats::Band;
use crate::stats::scores::{crps, kolmogorov};
use rand_distr::{Binomial, Distribution};

/// How many members a forecast has.
const MEMBERS: usize = 400;
/// The prior belief that ranges are as wide as they should be counts as so many forecasts (judgement).
const BELIEF: f64 = 10.0;
/// Ranges are not rescaled on fewer forecasts than this (judgement).
pub const ENOUGH: usize = 5;
/// Ranges are not narrowed on fewer forecasts than this: a range that holds is worth more than a narrow one (judgement).
pub const ENOUGH_TO_NARROW: usize = 20;

/// One forecast beside what happened.
#[derive(Debug, Clone, serde::Serialize)]
pub struct Scored {
    /// Its number in the notebook.
    pub number: u32,
    /// The name of the flower.
    pub flower: String,
    /// Whether it was at an event.
    pub event: bool,
    /// How many heads were counted.
    pub of: u32,
    /// How many were presentable.
    pub observed: u32,
    /// How many had been forecast to be.
    pub forecast: Band,
    /// The probability integral transform: where the outcome fell in the forecast, 0 to 1.
    pub pit: f64,
    /// Continuous ranked probability score of the forecast, heads.
    pub crps_heads: f64,
    /// The same score of the trade's table, read as it stands whatever the air.
    pub crps_heads_of_the_table: f64,
    /// The forecast chance that at least half are presentable.
    pub chance_of_half: f64,
    /// The same chance by the trade's table.
    pub chance_of_half_of_the_table: f64,
}

impl Scored {
    fn of(
        number: u32,
        flower: &Flower,
        event: bool,
        counts: (u32, u32),
        forecast: &[f64],
        table: &[f64],
    ) -> Scored {
        let (observed, of) = counts;
        let (y, half) = (f64::from(observed), 0.5 * f64::from(of));
        let n = forecast.len() as f64;
        let share = |members: &[f64], hit: &dyn Fn(f64) -> bool| {
            members.iter().filter(|m| hit(**m)).count() as f64 / members.len() as f64
        };
        // Counts come in steps: the middle of the step counts, kept away from 0 and 1.
        let pit = 0.5 * (share(forecast, &|m| m < y) + share(forecast, &|m| m <= y));
        Scored {
            number,
            flower: flower.name().to_string(),
            event,
            of,
            observed,
            forecast: Band::of(forecast).expect("a forecast has members"),
            pit: pit.clamp(0.5 / n, 1.0 - 0.5 / n),
            crps_heads: crps(forecast, y, true),
            crps_heads_of_the_table: crps(table, y, true),
            chance_of_half: share(forecast, &|m| m >= half),
            chance_of_half_of_the_table: share(table, &|m| m >= half),
        }
    }

    /// Whether at least half were presentable.
    pub fn half(&self) -> bool {
        2 * self.observed >= self.of
    }
}

/// Scores every forecast that can be scored: of each trial from the notes before it, and of each event as it was made.
pub fn scored(notes: &Notebook) -> Vec<Scored> {
    let mut all: Vec<Scored> = notes.trials.iter().filter_map(|t| trial(notes, t)).collect();
    for o in notes.outcomes.iter().filter(|o| o.forecast.len() > 1) {
        let table = by_table(o.flower, o.method, o.hours, o.of, Key::named(2, o.flower.id()));
        all.push(Scored::of(o.number, o.flower, true, (o.presentable, o.of), &o.forecast, &table));
    }
    all
}

/// Scores a trial against a forecast from the notes on its flower before it, at the look whose outcome was the least
/// certain.
fn trial(notes: &Notebook, trial: &Trial) -> Option<Scored> {
    let flower = trial.flower;
    if !trial.treated.is_empty() {
        return None;
    }
    let this = Evidence::of(trial).filter(|e| !e.cells.is_empty())?;
    let began = |t: &Trial| (t.date, t.start);
    let before: Vec<Evidence> = notes
        .trials
        .iter()
        .filter(|t| t.flower.id() == flower.id() && t.treated.is_empty() && began(t) < began(trial))
        .filter_map(Evidence::of)
        .chain(
            notes
                .outcomes
                .iter()
                .filter(|o| o.flower.id() == flower.id() && o.date < trial.date)
                .filter_map(Evidence::of_outcome),
        )
        .collect();
    let known =
        Posterior::of(flower, &before).learned(trial.lot.as_deref()).handled(&trial.handling.shifts(flower));
    let key = Key::named(3, &format!("{} {}", flower.id(), trial.number));
    let places = places(&known, this.error, key);
    let head = known.head.hypot(this.extra);
    // Each cell ends with a look.
    let counted: f64 = this.cells.iter().map(|c| c.count).sum();
    let look = this
        .cells
        .iter()
        .filter(|c| c.by.is_finite())
        .map(|c| {
            let share = |a: f64| normal::upper_tail((this.place(c.by, a) - a) / head) * c.aged[1];
            let expected = places.iter().map(|a| share(*a)).sum::<f64>() / places.len() as f64;
            (c, places.iter().map(|a| share(*a)).collect::<Vec<f64>>(), (expected - 0.5).abs())
        })
        .min_by(|a, b| a.2.total_cmp(&b.2))?;
    // Heads taken away before the look do not count at it.
    let gone: f64 =
        this.cells.iter().filter(|c| c.by.is_infinite() && c.after < look.0.by).map(|c| c.count).sum();
    let ended: f64 = this.cells.iter().filter(|c| c.by <= look.0.by).map(|c| c.count).sum();
    let of = (counted - gone) as u32;
    let hours =
        trial.endings().iter().zip(&this.cells).find(|(_, c)| c.by == look.0.by).map_or(0.0, |(e, _)| e.by);
    let forecast = drawn(&look.1, of, key);
    let table = by_table(flower, Method::Tucked, hours, of, key);
    Some(Scored::of(trial.number, flower, false, (of - ended as u32, of), &forecast, &table))
}

/// Where the median head of a delivery may lie as a trial sees it, in standard normals, one value for each member.
fn places(known: &Learned, error: f64, key: Key) -> Vec<f64> {
    key.table(3, MEMBERS)
        .iter()
        .map(|u| {
            known.middle
                + known.spread * normal::quantile(u[0])
                + known.lot * normal::quantile(u[1])
                + error * normal::quantile(u[2])
        })
        .collect()
}

/// A count for each share, drawn from a binomial distribution.
fn drawn(shares: &[f64], of: u32, key: Key) -> Vec<f64> {
    let mut generator = key.generator(1);
    let count = |p: f64| Binomial::new(u64::from(of), p.clamp(0.0, 1.0)).expect("a share is a probability");
    shares.iter().map(|p| count(*p).sample(&mut generator) as f64).collect()
}

/// The forecast of somebody who reads the hours off the trade's table and knows nothing of air, delivery or notes.
fn by_table(flower: &Flower, method: Method, hours: f64, of: u32, key: Key) -> Vec<f64> {
    let (quantity, at) = match method.is_dry() {
        true => (Quantity::DryHours, hours),
        false => (Quantity::VaseDays, hours / 24.0),
    };
    let known = Learned::nothing(flower);
    let w = two_piece_z(flower.parameter(quantity), at.max(1e-6));
    let shares: Vec<f64> =
        places(&known, 0.0, key).iter().map(|a| normal::upper_tail((w - a) / known.head)).collect();
    drawn(&shares, of, key)
}

/// How wide ranges are beside how wide they should be.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Spread {
    /// How many forecasts were scored.
    pub forecasts: usize,
    /// How many of them held the outcome in their 90 % range.
    pub inside_90: usize,
    /// How many of them held it in their 50 % range.
    pub inside_50: usize,
    /// The chance of ranks at least so uneven if forecasts are calibrated (Kolmogorov-Smirnov).
    pub p_value: f64,
    /// The factor by which ranges are to be widened: above 1 where they were too narrow.
    pub factor: f64,
}

/// Judges the width of ranges by the ranks of the outcomes in their forecasts.
///
/// # Formula
/// With the ranks as standard normals `z`, the factor is `sqrt((10 + sum z^2) / (10 + n))`: it starts at 1 with the weight
/// of ten calibrated forecasts, and moves as outcomes come in.
pub fn spread(scored: &[Scored]) -> Spread {
    let n = scored.len();
    let squares: f64 = scored.iter().map(|s| normal::quantile(s.pit).powi(2)).sum();
    let mut ranks: Vec<f64> = scored.iter().map(|s| s.pit).collect();
    ranks.sort_by(f64::total_cmp);
    let distance = |i: usize, r: f64| ((i + 1) as f64 / n as f64 - r).max(r - i as f64 / n as f64);
    let farthest = ranks.iter().enumerate().map(|(i, r)| distance(i, *r)).fold(0.0, f64::max);
    let inside = |tail: f64| ranks.iter().filter(|r| (tail..=1.0 - tail).contains(*r)).count();
    Spread {
        forecasts: n,
        inside_90: inside(0.05),
        inside_50: inside(0.25),
        p_value: if n == 0 { 1.0 } else { 1.0 - kolmogorov(n, farthest) },
        factor: match ((BELIEF + squares) / (BELIEF + n as f64)).sqrt() {
            factor if n >= ENOUGH_TO_NARROW || (n >= ENOUGH && factor > 1.0) => factor,
            _ => 1.0,
        },
    }
}

/// Judges the width of the ranges that a notebook's forecasts gave; see [`spread`].
pub fn spread_factor(notes: &Notebook) -> Spread {
    spread(&scored(notes))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flower::catalogue::Catalogue;

    fn of_ranks(pits: &[f64]) -> Spread {
        let flower = &Catalogue::shipped().all()[0];
        let one = Scored::of(1, flower, false, (3, 10), &[1.0, 2.0, 3.0, 4.0], &[5.0, 6.0]);
        spread(&pits.iter().map(|pit| Scored { pit: *pit, ..one.clone() }).collect::<Vec<_>>())
    }

    /// Half of the members lie below 3 and three quarters do not lie above it; the score is the energy form by hand:
    /// the mean distance 4/4, less half of the mean distance of two members, which differ, 5/3.
    #[test]
    fn a_forecast_is_scored_as_by_hand() {
        let flower = &Catalogue::shipped().all()[0];
        let scored = Scored::of(7, flower, true, (3, 6), &[1.0, 2.0, 3.0, 4.0], &[2.0, 2.0]);
        assert!((scored.pit - 0.625).abs() < 1e-12, "{}", scored.pit);
        assert!((scored.crps_heads - (1.0 - 0.5 * 5.0 / 3.0)).abs() < 1e-12, "{}", scored.crps_heads);
        assert!((scored.crps_heads_of_the_table - 1.0).abs() < 1e-12);
        // Three of six are half of them, which two of the members reach, and none of the table's.
        assert_eq!((scored.chance_of_half, scored.chance_of_half_of_the_table), (0.5, 0.0));
        assert!(scored.half() && !Scored { observed: 2, ..scored.clone() }.half());
        // What no member foresaw is kept half a member away from certainty.
        let outside = |seen| Scored::of(7, flower, true, (seen, 6), &[1.0, 2.0, 3.0, 4.0], &[2.0]).pit;
        assert_eq!([outside(0), outside(6)], [0.125, 0.875]);
    }

    /// Half of the heads are left at the table's own hours out of water, and at its days in a vase; far before, all; far
    /// after, none.
    #[test]
    fn the_table_is_read_in_hours_and_in_days() {
        let flower = Catalogue::shipped().find("dahlia").unwrap();
        let mean = |method: Method, hours: f64| -> f64 {
            let counts = by_table(flower, method, hours, 40, Key::named(9, "table"));
            counts.iter().sum::<f64>() / counts.len() as f64
        };
        for (method, hours) in [
            (Method::Tucked, flower.parameter(Quantity::DryHours).value),
            (Method::BudVase, 24.0 * flower.parameter(Quantity::VaseDays).value),
        ] {
            let [before, there, after] = [0.1, 1.0, 10.0].map(|part| mean(method, part * hours));
            assert!((there - 20.0).abs() < 2.0, "{method:?}: {there}");
            assert!(before > 39.0 && after < 1.0, "{method:?}: {before}, {after}");
        }
    }

    /// With ranks at 2.5 and 97.5 %, `z^2 = 3.8415` (chi-squared table, one degree of freedom, 5 %).
    #[test]
    fn ranges_are_widened_by_the_formula_and_narrowed_late() {
        let ends = |n: usize| of_ranks(&[0.025, 0.975].repeat(n / 2));
        for n in [6, 10, 40] {
            let told = ends(n);
            let expected = ((10.0 + 3.841_459 * n as f64) / (10.0 + n as f64)).sqrt();
            assert!((told.factor - expected).abs() < 1e-6, "{n}: {told:?}");
            assert_eq!((told.forecasts, told.inside_90, told.inside_50), (n, 0, 0));
        }
        assert_eq!(ends(4).factor, 1.0, "too few to say");
        let middle = |n: usize| of_ranks(&vec![0.5; n]);
        assert_eq!((middle(19).factor, middle(19).inside_50), (1.0, 19));
        assert!((middle(20).factor - (10.0f64 / 30.0).sqrt()).abs() < 1e-12);
        let inner = of_ranks(&[0.05, 0.25, 0.75, 0.95, 0.04, 0.2]);
        assert_eq!((inner.inside_90, inner.inside_50), (5, 2));
    }

    /// The 5 % point of the distance for ten forecasts is 0.409 (Kolmogorov-Smirnov tables, such as Massey 1951).
    #[test]
    fn uneven_ranks_are_improbable() {
        let even: Vec<f64> = (0..10).map(|i| (f64::from(i) + 0.5) / 10.0).collect();
        assert!(of_ranks(&even).p_value > 0.999);
        // The same ranks drawn together until the farthest is 0.409 off, at either end.
        for towards in [0.0, 1.0] {
            let moved = |r: &f64| r + (towards - r) * (0.409 - 0.05) / 0.95;
            let told = of_ranks(&even.iter().map(moved).collect::<Vec<f64>>());
            assert!((told.p_value - 0.05).abs() < 0.002, "{told:?}");
        }
        assert_eq!(of_ranks(&[]).p_value, 1.0);
    }
}
