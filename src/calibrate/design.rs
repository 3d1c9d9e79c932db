//! Which trial would help a coming event most: the value of what it would tell.
//!
//! # Formula
//! An option costs its work at the wage, its tubes or vases, and an amount for every head past its best at the piece's
//! hour. A trial of ten heads would leave less unknown. It is worth the expected cost of the best option now, less the
//! expected cost of the best option after the trial, averaged over its possible results. With `T` the standard deviation of
//! what is unknown and `m` that of the error with which ten heads measure it, the result has a standard deviation of
//! `T^2/sqrt(T^2 + m^2)` and leaves one of `T m/sqrt(T^2 + m^2)`.

use super::evidence::worth;
use super::trial::READ_HERE;
use crate::climate::{Air, Climate, ClimateError};
use crate::decide::offers::{minutes_a_head, price};
use crate::decide::options::Scene;
use crate::decide::placing::times;
use crate::event::{Event, Order, Piece};
use crate::flower::catalogue::{Flower, Quantity};
use crate::flower::learned::Learned;
use crate::flower::population::LotTrait;
use crate::flower::treatment::Lying;
use crate::numerics::normal;
use crate::simulate::run::{Knowledge, LOTS, cases, draws};

/// How many heads a trial has.
pub const HEADS: f64 = 10.0;
/// The cost of a head past its best, in hours at the wage, unless the florist says otherwise (judgement).
pub const LOST_HEAD_HOURS: f64 = 0.5;
/// The number of possible results over which a trial is averaged.
const RESULTS: usize = 21;

/// Which heads a trial is of, and where it is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// Any earlier delivery, in the kitchen.
    EarlierInTheKitchen,
    /// Any earlier delivery, in air like that of the event.
    EarlierInSuchAir,
    /// Ten heads of the very delivery, in the kitchen.
    ItselfInTheKitchen,
    /// Ten heads of the very delivery, in air like that of the event.
    ItselfInSuchAir,
}

impl Kind {
    /// Every kind of trial.
    pub const ALL: [Kind; 4] =
        [Kind::EarlierInTheKitchen, Kind::EarlierInSuchAir, Kind::ItselfInTheKitchen, Kind::ItselfInSuchAir];

    /// Whether it is of the very delivery.
    fn itself(self) -> bool {
        matches!(self, Kind::ItselfInTheKitchen | Kind::ItselfInSuchAir)
    }

    /// Whether it is done in air like that of the event.
    fn such_air(self) -> bool {
        matches!(self, Kind::EarlierInSuchAir | Kind::ItselfInSuchAir)
    }
}

/// What a trial is worth to an event.
#[derive(Debug, Clone, serde::Serialize)]
pub struct Value {
    /// The id of the flower.
    pub flower: String,
    /// The name of the flower.
    pub name: String,
    /// The kind of trial.
    pub kind: Kind,
    /// What it is expected to save, in the event's money.
    pub saves: f64,
    /// What it would save if it measured without error: no trial of the kind saves more.
    pub saves_at_most: f64,
    /// The median and the 95 % point of dry hours as they are known now, h: how long the trial may take.
    pub hours: [f64; 2],
}

/// What each kind of trial of each flower is worth to an event, the best first. `lost_head` is the cost of a head past its
/// best, in the event's money.
pub fn values(event: &Event, lost_head: f64, seed: u64) -> Vec<Value> {
    let mut found: Vec<Value> = Vec::new();
    for piece in &event.pieces {
        for order in &piece.orders {
            let known = order.handling.learned.unwrap_or(Learned::nothing(order.flower));
            if order.handling.own_dry_hours.is_some() || known.of_this_lot {
                continue; // measured already
            }
            let cost = costs(event, piece, order, lost_head, seed);
            let stands: Vec<[f64; 2]> = draws(order.flower, &order.handling, seed, LOTS)
                .iter()
                .map(|d| [LotTrait::Ignorance, LotTrait::Lot].map(|t| normal::quantile(d[t as usize])))
                .collect();
            let transfer = transfer(event, piece, order.flower);
            for kind in Kind::ALL {
                let unknown =
                    |z: &[f64; 2]| known.spread * z[0] + if kind.itself() { known.lot * z[1] } else { 0.0 };
                let places: Vec<f64> = stands.iter().map(unknown).collect();
                let total = if kind.itself() { known.spread.hypot(known.lot) } else { known.spread };
                let elsewhere = if kind.such_air() { 0.0 } else { transfer };
                let other = if kind.itself() { 0.0 } else { known.lot };
                let misses = [known.head / HEADS.sqrt(), reading(order.flower), elsewhere, other];
                let miss = misses.iter().map(|m| m * m).sum::<f64>().sqrt();
                let (saved, at_most) =
                    (saved(&cost, &places, total, miss), saved(&cost, &places, total, 0.05 * total));
                let (id, name) = (order.flower.id(), order.flower.name());
                match found.iter_mut().find(|v| v.flower == id && v.kind == kind) {
                    Some(value) => {
                        value.saves += saved;
                        value.saves_at_most += at_most;
                    }
                    None => found.push(Value {
                        flower: id.to_string(),
                        name: name.to_string(),
                        kind,
                        saves: saved,
                        saves_at_most: at_most,
                        hours: [known.hours(order.flower, 0.0), known.hours(order.flower, 1.645)],
                    }),
                }
            }
        }
    }
    found.sort_by(|a, b| b.saves.total_cmp(&a.saves));
    found
}

/// The cost of every option in every lot: by option, then lot.
fn costs(event: &Event, piece: &Piece, order: &Order, lost_head: f64, seed: u64) -> Vec<Vec<f64>> {
    let spaces: Vec<Climate> = event.spaces.iter().map(|s| s.climate.clone()).collect();
    let scene = Scene::new(event, (piece, order), &spaces, (seed, LOTS));
    let placings: Vec<_> = times(event, piece).into_iter().map(|at| scene.journey(at, 0.0, None)).collect();
    let treatments = order.treatments();
    let shares = scene.shares(Knowledge::AsItIs, &cases(&placings, &treatments));
    let mut costs = Vec::new();
    for p in 0..placings.len() {
        for (w, treatment) in treatments.iter().enumerate() {
            let hours = minutes_a_head(event, piece, treatment.method) / 60.0 * (1.0 + event.means.slack);
            let head = hours * event.means.hourly + price(event, piece, *treatment);
            let cost = |share: f64| f64::from(order.heads) * (head + lost_head * (1.0 - share));
            costs.push(shares.iter().map(|lot| cost(lot[p * treatments.len() + w])).collect());
        }
    }
    costs
}

/// The expected saving from measuring the lots' `places`, whose standard deviation is `total`, with an error of `miss`.
fn saved(costs: &[Vec<f64>], places: &[f64], total: f64, miss: f64) -> f64 {
    let best = |weights: &[f64]| {
        let sum: f64 = weights.iter().sum();
        let mean = |c: &Vec<f64>| c.iter().zip(weights).map(|(c, w)| c * w).sum::<f64>() / sum;
        costs.iter().map(mean).fold(f64::INFINITY, f64::min)
    };
    let told = total.hypot(miss);
    let (spread, left) = (total * total / told, total * miss / told);
    // Lots near a result weigh more; over all results they weigh the same.
    let rows: Vec<Vec<f64>> = (0..RESULTS)
        .map(|j| {
            let said = spread * normal::quantile((j as f64 + 0.5) / RESULTS as f64);
            let weight = |x: &f64| (-0.5 * ((x - said) / left).powi(2)).exp();
            places.iter().map(weight).collect()
        })
        .collect();
    let sums: Vec<f64> = (0..places.len()).map(|i| rows.iter().map(|r| r[i]).sum()).collect();
    let (mut then, mut mass) = (0.0, 0.0);
    for row in &rows {
        let weights: Vec<f64> = row.iter().zip(&sums).map(|(w, s)| w / s.max(1e-300)).collect();
        let share: f64 = weights.iter().sum();
        then += share * best(&weights);
        mass += share;
    }
    (best(&vec![1.0; places.len()]) - then / mass).max(0.0)
}

/// The standard deviation that a thermometer-hygrometer beside the trial leaves in dry hours, in standard normals.
fn reading(flower: &Flower) -> f64 {
    let kitchen = Climate::constant(Air::reference(), READ_HERE);
    worth((flower, Lying::OnTop), &kitchen, 0.0, 1.0).1 / flower.parameter(Quantity::DryHours).ln_sd()
}

/// The standard deviation of the step from the reference air to that of a piece, in standard normals.
fn transfer(event: &Event, piece: &Piece, flower: &Flower) -> f64 {
    let mut climate = event.spaces[piece.space].climate.clone();
    climate.error = ClimateError::NONE;
    let from = event.doors.min(piece.until - 1.0);
    worth((flower, Lying::OnTop), &climate, from, piece.until).1
        / flower.parameter(Quantity::DryHours).ln_sd()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flower::treatment::Method;

    /// Where one way costs the lot's place and the other nothing, perfect knowledge is worth the unit normal loss at zero,
    /// `1/sqrt(2 pi) = 0.39894` (closed form), times the standard deviation; a result that is off by `m` is worth that of the
    /// part that it tells, `T/sqrt(T^2 + m^2)`.
    #[test]
    fn a_trial_is_worth_the_unit_normal_loss_of_what_it_tells() {
        let n = 4000;
        for total in [1.0, 3.0] {
            let places: Vec<f64> =
                (0..n).map(|i| total * normal::quantile((f64::from(i) + 0.5) / f64::from(n))).collect();
            let costs = vec![places.iter().map(|z| 100.0 + 10.0 * z).collect(), vec![100.0; places.len()]];
            for miss in [0.1, 0.5, 1.0, 3.0] {
                let told = saved(&costs, &places, total, miss * total);
                let known = 3.9894 * total / (1.0 + miss * miss).sqrt();
                assert!((told - known).abs() < 0.03 * known, "{total}, {miss}: {told}, {known}");
            }
            // Where one way is better whatever comes, nothing is worth knowing.
            let sure = vec![costs[0].clone(), vec![0.0; places.len()]];
            assert!(saved(&sure, &places, total, 0.1) < 1e-9);
        }
    }

    /// Where lost heads cost nothing, 40 heads cost their minutes with a quarter of slack at the wage, and what they stand in.
    #[test]
    fn an_option_costs_its_work_and_what_it_stands_in() {
        let event = crate::event::invented(
            "[crew]\nhourly = \"EUR 24\"\nslack = \"25 %\"\n[vases]\nprice = \"EUR 0.90\"\n\
             [[access]]\nfrom = \"15:00\"\nto = \"15:30\"\n",
            "[[piece.flower]]\nflower = \"rose\"\nheads = 40\ntreatments = [\"tucked\", \"bud vase\"]\n",
        );
        let (_, piece, order) = event.orders().next().unwrap();
        let minutes = |method: Method| minutes_a_head(&event, piece, method);
        let found = costs(&event, piece, order, 0.0, 1);
        let known = [
            40.0 * minutes(Method::Tucked) / 60.0 * 1.25 * 24.0,
            40.0 * (minutes(Method::BudVase) / 60.0 * 1.25 * 24.0 + 0.9),
        ];
        for (costs, known) in found.iter().zip(known) {
            assert!(costs.iter().all(|cost| (cost - known).abs() < 1e-9), "{} {known}", costs[0]);
        }
        // Whoever loses every head pays for every head.
        let dear = costs(&event, piece, order, 1000.0, 1);
        assert!(dear[0].iter().zip(&found[0]).all(|(a, b)| (0.0..=40_000.0).contains(&(a - b))));
        assert!(dear[0].iter().any(|a| a - found[0][0] > 1000.0));
    }

    /// A household thermometer-hygrometer leaves some hours in ten open, and of no flower none.
    #[test]
    fn a_reading_leaves_something_open() {
        for flower in crate::flower::catalogue::Catalogue::shipped().all() {
            let sd = reading(flower) * flower.parameter(Quantity::DryHours).ln_sd();
            assert!((0.03..0.15).contains(&sd), "{}: {sd}", flower.id());
        }
    }

    #[test]
    fn a_trial_of_the_delivery_and_one_in_such_air_are_told_apart() {
        assert_eq!(Kind::ALL.map(Kind::itself), [false, false, true, true]);
        assert_eq!(Kind::ALL.map(Kind::such_air), [false, true, false, true]);
    }
}
