//! The posterior density of what is not known about a flower, its deliveries and its heads, given its notes.
//!
//! # Formula
//! In standard normals, an entry of delivery `l` sees heads at `b_l + e t + delta + s z`, with
//! `b_l = I theta + L e^u lambda_l` and `s = H e^v`; `I`, `L` and `H` are the standard deviations of ignorance, lots and
//! heads before any trial, `e` is the entry's standard error, and `delta` the effect of a treatment. The priors of `theta`, `lambda` and
//! of the place `phi` of the loss at flagging are standard normal; those of `u` and `v` are normal with a standard deviation
//! of 0.25 (judgement). The entry's own error `t` follows Student's t distribution with four degrees of freedom, so that one
//! wrong trial is not believed against three others. `t` and `lambda` are integrated out on a grid, which leaves four
//! numbers, or five with a treatment. Where entries tell of heads that were handled otherwise than usual, their factors `l x` are
//! added, one number each (`flower::learned::Bears`).

use super::evidence::{Evidence, log_rate};
use super::laplace;
use crate::flower::catalogue::{Flower, Quantity};
use crate::flower::learned::{BEARS_SD, Learned, WAYS};
use crate::numerics::normal;
use nalgebra::{DMatrix, DVector};

/// Prior standard deviation of the logarithms of the spreads between heads and between lots (judgement).
const SPREAD_SD: f64 = 0.25;
/// Prior standard deviation of the logarithm of the factor by which a treatment changes dry hours (judgement).
const TREATED_SD: f64 = 0.5;
/// The grid of places of deliveries reaches from minus this to plus this, in standard normals.
const REACH: f64 = 5.0;
/// The step of that grid.
const STEP: f64 = 0.05;
/// The number of places on it.
const PLACES: usize = 201;
/// Logarithms of the spread of heads at which likelihoods are tabulated, in prior standard deviations.
const SPREADS: [f64; 7] = [-3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0];

/// Index of `theta`: the place of the median delivery.
const THETA: usize = 0;
/// Index of `v`: the logarithm of the factor on the spread of heads.
pub const HEADS: usize = 1;
/// Index of `u`: the logarithm of the factor on the spread of lots.
const LOTS: usize = 2;
/// Index of `phi`: the place of the loss at flagging.
pub const FLAGGING: usize = 3;
/// Index of `delta`: the effect of a treatment, where one is compared.
pub const TREATED: usize = 4;
/// Index of the first `x`: how far a factor of handling lies from the catalogue's.
pub const BEARS: usize = 5;
/// How many numbers are left once deliveries are integrated out.
pub const SIZE: usize = BEARS + WAYS;

/// A point in the space of what is not known, by the indices above.
pub type Place = [f64; SIZE];

/// The `i`-th place on the grid of deliveries.
fn place(i: usize) -> f64 {
    STEP * i as f64 - REACH
}

/// One entry, with the logarithm of the likelihood of its counts tabulated by the spread of heads and the place of its
/// delivery; its own error is integrated out.
#[derive(Debug, Clone)]
pub struct Entry<'a> {
    /// What the entry says.
    pub evidence: &'a Evidence,
    table: Vec<[f64; PLACES]>,
}

impl<'a> Entry<'a> {
    fn new(evidence: &'a Evidence, head_sd: f64) -> Self {
        // Student's t distribution at even steps of the standard normal behind it.
        let errors: Vec<(f64, f64)> = (-8..=8)
            .map(|i| 0.5 * f64::from(i))
            .map(|z| {
                (evidence.error * heavy(z), 0.5 * (-0.5 * z * z).exp() / (2.0 * std::f64::consts::PI).sqrt())
            })
            .collect();
        let table = SPREADS
            .iter()
            .map(|v| {
                let spread = head_sd * (v * SPREAD_SD).exp();
                let logs: [f64; PLACES] = std::array::from_fn(|i| evidence.counted(place(i), spread));
                let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
                let bare = logs.map(|l| (l - top).exp());
                std::array::from_fn(|i| {
                    let blurred: f64 = errors.iter().map(|(e, w)| w * between(&bare, place(i) + e)).sum();
                    top + blurred.max(1e-300).ln()
                })
            })
            .collect();
        Entry { evidence, table }
    }
}

/// A tabulated value at a place, interpolated linearly; beyond the grid it is the value at its end.
fn between(table: &[f64; PLACES], at: f64) -> f64 {
    let far = ((at + REACH) / STEP).clamp(0.0, (PLACES - 1) as f64);
    let i = (far as usize).min(PLACES - 2);
    table[i] + (far - i as f64) * (table[i + 1] - table[i])
}

/// The notes on one flower and the density that they lead to.
#[derive(Debug, Clone)]
pub struct Model<'a> {
    /// The flower that they are about.
    pub flower: &'a Flower,
    /// What the catalogue says of the flower.
    pub before: Learned,
    /// The standard deviation of the logarithm of dry hours.
    pub side: f64,
    /// The numbers that entries tell of; the others stay as they were.
    pub free: Vec<usize>,
    /// The deliveries, each with its name and its entries; an entry that names no delivery has one of its own.
    pub lots: Vec<(Option<String>, Vec<Entry<'a>>)>,
}

impl<'a> Model<'a> {
    /// Sets up the model of the notes on a flower.
    pub fn new(flower: &'a Flower, evidence: &'a [Evidence]) -> Self {
        let before = Learned::nothing(flower);
        let mut lots: Vec<(Option<String>, Vec<Entry>)> = Vec::new();
        for e in evidence {
            let entry = Entry::new(e, before.head);
            match lots.iter_mut().find(|(name, _)| name.is_some() && *name == e.lot) {
                Some((_, entries)) => entries.push(entry),
                None => lots.push((e.lot.clone(), vec![entry])),
            }
        }
        let told = |way: usize| evidence.iter().any(|e| e.handled[way] != 0.0);
        let free = (0..BEARS).chain((0..WAYS).filter(|way| told(*way)).map(|way| BEARS + way)).collect();
        Model { flower, before, side: flower.parameter(Quantity::DryHours).ln_sd(), free, lots }
    }

    /// The entries of all deliveries.
    pub fn entries(&self) -> impl Iterator<Item = &Entry<'a>> {
        self.lots.iter().flat_map(|(_, entries)| entries)
    }

    /// Standard deviation between deliveries, in standard normals.
    pub fn lot_sd(&self, x: &Place) -> f64 {
        self.before.lot * x[LOTS].exp()
    }

    /// The place of the median head of the median delivery, in standard normals.
    pub fn typical(&self, x: &Place) -> f64 {
        self.before.spread * x[THETA]
    }

    /// How far the heads of an entry lie from plain ones of their delivery, in standard normals, for what was done to them and for how
    /// they were handled beyond what the catalogue says of that.
    fn moved(&self, x: &Place, evidence: &Evidence) -> f64 {
        let treated = if evidence.treated { x[TREATED] } else { 0.0 };
        treated + evidence.handled.iter().zip(&x[BEARS..]).map(|(l, x)| l * x).sum::<f64>()
    }

    /// Prior standard deviation of the number with index `i`.
    fn prior(&self, i: usize) -> f64 {
        match i {
            HEADS | LOTS => SPREAD_SD,
            TREATED => TREATED_SD / self.side,
            BEARS.. => BEARS_SD,
            _ => 1.0,
        }
    }

    /// The logarithm of the unscaled density of a delivery's place given the rest: the index of the first place on the grid,
    /// and the values from there on.
    fn delivery(&self, x: &Place, entries: &[Entry]) -> (usize, Vec<f64>) {
        let (middle, sd) = (self.typical(x), self.lot_sd(x));
        let index = |at: f64| ((at + REACH) / STEP).clamp(0.0, (PLACES - 1) as f64) as usize;
        let (first, last) = (index(middle - 5.0 * sd), index(middle + 5.0 * sd));
        let scaled = (x[HEADS] / SPREAD_SD - SPREADS[0]).clamp(0.0, (SPREADS.len() - 1) as f64 - 1e-9);
        let (j, w) = (scaled as usize, scaled.fract());
        let mut logs: Vec<f64> =
            (first..=last).map(|i| -0.5 * ((place(i) - middle) / sd).powi(2) - sd.ln()).collect();
        for Entry { evidence, table } in entries {
            let moved = self.moved(x, evidence);
            for (log, i) in logs.iter_mut().zip(first..) {
                let at = |row: &[f64; PLACES]| {
                    if moved == 0.0 { row[i] } else { between(row, place(i) + moved) }
                };
                *log += (1.0 - w) * at(&table[j]) + w * at(&table[j + 1]);
            }
            if let Some(weighed) = evidence.weighed {
                let error = weighed.error.hypot(evidence.error * self.side);
                for (log, i) in logs.iter_mut().zip(first..) {
                    let expected = log_rate(self.flower, place(i) + moved, x[FLAGGING]) - weighed.handling;
                    *log -= 0.5 * ((weighed.log_rate - expected) / error).powi(2);
                }
            }
        }
        (first, logs)
    }

    /// A point of the numbers that are free, among all.
    pub fn whole(&self, free: &[f64]) -> Place {
        let mut whole = [0.0; SIZE];
        self.free.iter().zip(free).for_each(|(i, x)| whole[*i] = *x);
        whole
    }

    /// The logarithm of the unscaled density at a point.
    pub fn log_density(&self, x: &Place) -> f64 {
        let prior: f64 = x.iter().enumerate().map(|(i, v)| -0.5 * (v / self.prior(i)).powi(2)).sum();
        let notes: f64 = self
            .lots
            .iter()
            .map(|(_, entries)| {
                let (_, logs) = self.delivery(x, entries);
                let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
                top + (STEP * logs.iter().map(|l| (l - top).exp()).sum::<f64>()).ln()
            })
            .sum();
        prior + notes
    }

    /// The quantile `u` of a delivery's place given the rest.
    pub fn drawn(&self, x: &Place, entries: &[Entry], u: f64) -> f64 {
        let (first, logs) = self.delivery(x, entries);
        let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let total: f64 = logs.iter().map(|l| (l - top).exp()).sum();
        let mut sum = 0.0;
        for (k, l) in logs.iter().enumerate() {
            let mass = (l - top).exp() / total;
            if sum + mass >= u {
                return place(first + k) + STEP * ((u - sum) / mass - 0.5);
            }
            sum += mass;
        }
        place(first + logs.len() - 1)
    }

    /// The mode of the density and the covariance of the normal approximation there.
    pub fn mode(&self) -> (DVector<f64>, DMatrix<f64>) {
        let scales: Vec<f64> = self.free.iter().map(|i| self.prior(*i)).collect();
        laplace::mode(&|x| self.log_density(&self.whole(x)), &scales, vec![0.0; scales.len()])
    }
}

/// The quantile of Student's t distribution with four degrees of freedom at the probability that the standard normal has
/// below `z`. It turns a standard normal into a trial's own error, so that the posterior stays close to normal.
///
/// # Formula
/// With `p` the smaller tail and `c = sqrt(4 p (1 - p))`: `2 sqrt(cos(arccos(c) / 3) / c - 1)`.
///
/// # Source
/// The quantile of that distribution in closed form (Shaw 2006), from memory; checked against statrs.
fn heavy(z: f64) -> f64 {
    let p = normal::upper_tail(z.abs()).max(1e-300);
    let c = (4.0 * p * (1.0 - p)).sqrt().min(1.0);
    (2.0 * ((c.acos() / 3.0).cos() / c - 1.0).max(0.0).sqrt()).copysign(z)
}

#[cfg(test)]
mod tests {
    use super::*;
    use statrs::distribution::{ContinuousCDF, StudentsT};

    #[test]
    fn a_trials_own_error_follows_students_t_distribution() {
        let students_t = StudentsT::new(0.0, 1.0, 4.0).unwrap();
        for z in [-3.0, -1.0, -0.2, 0.5, 2.5] {
            let p = students_t.cdf(heavy(z));
            assert!((p - normal::upper_tail(-z)).abs() < 1e-9, "{z}: {p}");
        }
    }
}
