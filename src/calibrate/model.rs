//! The posterior of what is not known of a flower, of its deliveries, and of its heads, given its notes.
//!
//! # Formula
//! In standard normals, an entry of delivery `l` sees heads at `b_l + e t + delta + s z`, with
//! `b_l = sqrt(I) theta + sqrt(L) e^u lambda_l` and `s = sqrt(H) e^v`; `I`, `L` and `H` are the shares of ignorance, lots
//! and heads. Before any note, `theta`, `lambda` and the place `phi` of the loss at flagging are standard normal, `u` and
//! `v` normal with a standard deviation of 0.25 (judgement), and `t`, an entry's own error, follows Student's law with
//! four degrees of freedom, so that one wrong trial is not believed against three others. `t` and `lambda` are integrated
//! out on a grid; what is left are four or five numbers.

use super::evidence::{Evidence, log_rate, log_sd};
use crate::flower::catalogue::{Flower, Quantity};
use crate::flower::spread::Shares;
use crate::numerics::normal;
use nalgebra::{DMatrix, DVector};

/// Prior standard deviation of the logarithms of the spreads between heads and between lots (judgement).
const SPREAD_SD: f64 = 0.25;
/// Prior standard deviation of the logarithm of what a treatment does to dry hours (judgement).
const TREATED_SD: f64 = 0.5;
/// Places of deliveries, in standard normals: from minus to plus this, in steps of that.
const REACH: f64 = 5.0;
const STEP: f64 = 0.05;
const PLACES: usize = 201;
/// Logarithms of the heads' spread at which likelihoods are tabled, in prior standard deviations.
const SPREADS: [f64; 7] = [-3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0];

const THETA: usize = 0;
/// The logarithm of how much wider heads spread.
pub const HEADS: usize = 1;
const LOTS: usize = 2;
/// The place of the loss at flagging.
pub const FLAGGING: usize = 3;
/// What a treatment adds, where one is compared.
pub const TREATED: usize = 4;
/// How many numbers are left once deliveries are integrated out.
pub const SIZE: usize = 5;

/// What is not known, number by number.
pub type Place = [f64; SIZE];

/// The `i`-th place of a delivery.
fn place(i: usize) -> f64 {
    STEP * i as f64 - REACH
}

/// One entry: the logarithm of its counts' likelihood by spread of heads and place of its delivery, its own error
/// integrated out, and what its weights say.
#[derive(Debug, Clone)]
pub struct Entry<'a> {
    /// What was noted.
    pub evidence: &'a Evidence,
    table: Vec<[f64; PLACES]>,
}

impl<'a> Entry<'a> {
    fn new(evidence: &'a Evidence, head_sd: f64) -> Self {
        // Student's law at even steps of the standard normal behind it.
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

/// A tabled value between places, straight from one to the next; beyond the last as at the last.
fn between(table: &[f64; PLACES], at: f64) -> f64 {
    let far = ((at + REACH) / STEP).clamp(0.0, (PLACES - 1) as f64);
    let i = (far as usize).min(PLACES - 2);
    table[i] + (far - i as f64) * (table[i + 1] - table[i])
}

/// The notes of one flower, and how they hang together.
#[derive(Debug, Clone)]
pub struct Model<'a> {
    /// The flower.
    pub flower: &'a Flower,
    /// Ignorance, lots and heads by the trade's table.
    pub shares: Shares,
    /// The logarithm of dry hours in one standard normal.
    pub side: f64,
    /// Deliveries by their name, none where an entry names none, each with its entries.
    pub lots: Vec<(Option<String>, Vec<Entry<'a>>)>,
}

impl<'a> Model<'a> {
    /// The model of a flower's notes.
    pub fn new(flower: &'a Flower, evidence: &'a [Evidence]) -> Self {
        let shares = Shares::of(flower.confidence());
        let mut lots: Vec<(Option<String>, Vec<Entry>)> = Vec::new();
        for e in evidence {
            let entry = Entry::new(e, shares.head.sqrt());
            match lots.iter_mut().find(|(name, _)| name.is_some() && *name == e.lot) {
                Some((_, entries)) => entries.push(entry),
                None => lots.push((e.lot.clone(), vec![entry])),
            }
        }
        Model { flower, shares, side: log_sd(flower.parameter(Quantity::DryHours)), lots }
    }

    /// All entries.
    pub fn entries(&self) -> impl Iterator<Item = &Entry<'a>> {
        self.lots.iter().flat_map(|(_, entries)| entries)
    }

    /// How far deliveries stand apart.
    pub fn lot_sd(&self, x: &Place) -> f64 {
        self.shares.lot.sqrt() * x[LOTS].exp()
    }

    /// Where the middle head of a middle delivery stands.
    pub fn typical(&self, x: &Place) -> f64 {
        self.shares.ignorance.sqrt() * x[THETA]
    }

    /// Prior standard deviations.
    fn prior(&self, i: usize) -> f64 {
        match i {
            HEADS | LOTS => SPREAD_SD,
            TREATED => TREATED_SD / self.side,
            _ => 1.0,
        }
    }

    /// The density of a delivery's place given the rest, unscaled: its first grid place, and the values from there.
    fn delivery(&self, x: &Place, entries: &[Entry]) -> (usize, Vec<f64>) {
        let (middle, sd) = (self.typical(x), self.lot_sd(x));
        let index = |at: f64| ((at + REACH) / STEP).clamp(0.0, (PLACES - 1) as f64) as usize;
        let (first, last) = (index(middle - 5.0 * sd), index(middle + 5.0 * sd));
        let scaled = (x[HEADS] / SPREAD_SD - SPREADS[0]).clamp(0.0, (SPREADS.len() - 1) as f64 - 1e-9);
        let (j, w) = (scaled as usize, scaled.fract());
        let mut logs: Vec<f64> =
            (first..=last).map(|i| -0.5 * ((place(i) - middle) / sd).powi(2) - sd.ln()).collect();
        for Entry { evidence, table } in entries {
            let treated = if evidence.treated { x[TREATED] } else { 0.0 };
            for (log, i) in logs.iter_mut().zip(first..) {
                let at = |row: &[f64; PLACES]| {
                    if treated == 0.0 { row[i] } else { between(row, place(i) + treated) }
                };
                *log += (1.0 - w) * at(&table[j]) + w * at(&table[j + 1]);
            }
            if let Some(weighed) = evidence.weighed {
                let error = weighed.error.hypot(evidence.error * self.side);
                for (log, i) in logs.iter_mut().zip(first..) {
                    let expected = log_rate(self.flower, place(i) + treated, x[FLAGGING]) - weighed.handling;
                    *log -= 0.5 * ((weighed.log_rate - expected) / error).powi(2);
                }
            }
        }
        (first, logs)
    }

    /// The logarithm of the density at a place, unscaled.
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

    /// The place of a delivery, at `u` of its distribution given the rest.
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

    /// Gradient and negated curvature of the log density, by central differences.
    fn slopes(&self, x: &Place) -> (DVector<f64>, DMatrix<f64>) {
        let h: Place = std::array::from_fn(|i| 0.02 * self.prior(i));
        let at = |steps: &[(usize, f64)]| {
            let mut moved = *x;
            steps.iter().for_each(|(i, s)| moved[*i] += s * h[*i]);
            self.log_density(&moved)
        };
        let middle = at(&[]);
        let sides: [[f64; 2]; SIZE] = std::array::from_fn(|i| [at(&[(i, -1.0)]), at(&[(i, 1.0)])]);
        let gradient = DVector::from_fn(SIZE, |i, _| (sides[i][1] - sides[i][0]) / (2.0 * h[i]));
        let mut bend = DMatrix::zeros(SIZE, SIZE);
        for i in 0..SIZE {
            bend[(i, i)] = (2.0 * middle - sides[i][0] - sides[i][1]) / (h[i] * h[i]);
            for j in 0..i {
                let both = at(&[(i, 1.0), (j, 1.0)]) + at(&[(i, -1.0), (j, -1.0)]);
                let alone: f64 = sides[i].iter().chain(&sides[j]).sum();
                bend[(i, j)] = (alone - both - 2.0 * middle) / (2.0 * h[i] * h[j]);
                bend[(j, i)] = bend[(i, j)];
            }
        }
        (gradient, bend)
    }

    /// The top of the density, and the covariance about it.
    pub fn top(&self) -> (DVector<f64>, DMatrix<f64>) {
        let mut x = [0.0; SIZE];
        let mut height = self.log_density(&x);
        for _ in 0..50 {
            let (gradient, bend) = self.slopes(&x);
            let step = safe(bend).solve(&gradient);
            let better = (0..20).map(|k| 0.5f64.powi(k)).find_map(|share| {
                let next: Place = std::array::from_fn(|i| x[i] + share * step[i]);
                let there = self.log_density(&next);
                (there > height).then_some((next, there))
            });
            let Some((next, there)) = better else { break };
            let gain = there - height;
            (x, height) = (next, there);
            if gain < 1e-6 {
                break;
            }
        }
        (DVector::from_column_slice(&x), safe(self.slopes(&x).1).inverse())
    }
}

/// Student's law with four degrees of freedom at the place where the standard normal has `z`: a trial's own error is
/// drawn so, and the posterior is close to normal all the same.
///
/// # Formula
/// With `p` the smaller tail and `c = sqrt(4 p (1 - p))`: `2 sqrt(cos(arccos(c) / 3) / c - 1)`.
///
/// # Source
/// The quantile of that law in closed form (Shaw 2006), from memory; checked against statrs.
fn heavy(z: f64) -> f64 {
    let p = normal::upper_tail(z.abs()).max(1e-300);
    let c = (4.0 * p * (1.0 - p)).sqrt().min(1.0);
    (2.0 * ((c.acos() / 3.0).cos() / c - 1.0).max(0.0).sqrt()).copysign(z)
}

/// The root of a matrix, its diagonal raised until it has one.
pub fn safe(matrix: DMatrix<f64>) -> nalgebra::Cholesky<f64, nalgebra::Dyn> {
    let n = matrix.nrows();
    let mut ridge = 0.0;
    loop {
        if let Some(root) = (&matrix + DMatrix::identity(n, n) * ridge).cholesky() {
            return root;
        }
        ridge = if ridge == 0.0 { 1e-6 } else { 10.0 * ridge };
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use statrs::distribution::{ContinuousCDF, StudentsT};

    #[test]
    fn a_trials_own_error_follows_students_law() {
        let law = StudentsT::new(0.0, 1.0, 4.0).unwrap();
        for z in [-3.0, -1.0, -0.2, 0.5, 2.5] {
            let p = law.cdf(heavy(z));
            assert!((p - normal::upper_tail(-z)).abs() < 1e-9, "{z}: {p}");
        }
    }
}
