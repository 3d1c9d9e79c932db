//! What the notes of one flower teach: a posterior of what is not known of it, of its deliveries, and of its heads.
//!
//! # Formula
//! In standard normals, an entry of delivery `l` sees heads at `b_l + e t + delta + s z`, with
//! `b_l = sqrt(I) theta + sqrt(L) e^u lambda_l` and `s = sqrt(H) e^v`; `I`, `L` and `H` are the shares of ignorance, lots
//! and heads. Before any note, `theta`, `lambda` and the place `phi` of the loss at flagging are standard normal, `u` and
//! `v` normal with a standard deviation of 0.25 (judgement), and `t`, an entry's own error, follows Student's law with
//! four degrees of freedom, so that one wrong trial is not believed against three others. `t` and `lambda` are integrated
//! out on a grid; what is left are four or five numbers. The top of their posterior is found by damped Newton steps, then
//! draws about it are weighted by the true density, the weights' tail smoothed and judged, and the law of the draws moved
//! where it fits badly.

use super::evidence::{Evidence, log_rate, log_sd};
use crate::elementary::normal;
use crate::flower::catalogue::{Flower, Quantity};
use crate::flower::learned::{Flagging, Learned};
use crate::flower::population::{Shares, two_piece};
use crate::simulate::random::Key;
use crate::stats::Band;
use crate::stats::pareto::smooth;
use crate::stats::scores::pit_normal;
use nalgebra::{DMatrix, DVector};
use rand_distr::{ChiSquared, Distribution};

/// Prior standard deviation of the logarithms of the spreads between heads and between lots (judgement).
const SPREAD_SD: f64 = 0.25;
/// Prior standard deviation of the logarithm of what a treatment does to dry hours (judgement).
const TREATED_SD: f64 = 0.5;
/// Draws from the posterior.
const DRAWS: usize = 1000;
/// Degrees of freedom of the law that they are drawn from.
const DRAW_DF: f64 = 7.0;
/// How often that law is moved to fit better.
const ROUNDS: usize = 4;
/// Places of deliveries, in standard normals: from minus to plus this, in steps of that.
const REACH: f64 = 5.0;
const STEP: f64 = 0.05;
const PLACES: usize = 201;
/// Logarithms of the heads' spread at which likelihoods are tabled, in prior standard deviations.
const SPREADS: [f64; 7] = [-3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0];

const THETA: usize = 0;
const HEADS: usize = 1;
const LOTS: usize = 2;
const FLAGGING: usize = 3;
const TREATED: usize = 4;
/// How many numbers are left once deliveries are integrated out.
const SIZE: usize = 5;

type Place = [f64; SIZE];

/// The `i`-th place of a delivery.
fn place(i: usize) -> f64 {
    STEP * i as f64 - REACH
}

/// One entry: the logarithm of its counts' likelihood by spread of heads and place of its delivery, its own error
/// integrated out, and what its weights say.
#[derive(Debug, Clone)]
struct Entry<'a> {
    evidence: &'a Evidence,
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
struct Model<'a> {
    flower: &'a Flower,
    shares: Shares,
    side: f64,
    /// Deliveries by their name, none where an entry names none, each with its entries.
    lots: Vec<(Option<String>, Vec<Entry<'a>>)>,
}

impl<'a> Model<'a> {
    fn new(flower: &'a Flower, evidence: &'a [Evidence]) -> Self {
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

    fn entries(&self) -> impl Iterator<Item = &Entry<'a>> {
        self.lots.iter().flat_map(|(_, entries)| entries)
    }

    fn lot_sd(&self, x: &Place) -> f64 {
        self.shares.lot.sqrt() * x[LOTS].exp()
    }

    /// Where the middle head of a middle delivery stands.
    fn typical(&self, x: &Place) -> f64 {
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

    fn log_density(&self, x: &Place) -> f64 {
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
    fn drawn(&self, x: &Place, entries: &[Entry], u: f64) -> f64 {
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
    fn top(&self) -> (DVector<f64>, DMatrix<f64>) {
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
    let p = pit_normal(-z.abs()).max(1e-300);
    let c = (4.0 * p * (1.0 - p)).sqrt().min(1.0);
    (2.0 * ((c.acos() / 3.0).cos() / c - 1.0).max(0.0).sqrt()).copysign(z)
}

/// The root of a matrix, its diagonal raised until it has one.
fn safe(matrix: DMatrix<f64>) -> nalgebra::Cholesky<f64, nalgebra::Dyn> {
    let n = matrix.nrows();
    let mut ridge = 0.0;
    loop {
        if let Some(root) = (&matrix + DMatrix::identity(n, n) * ridge).cholesky() {
            return root;
        }
        ridge = if ridge == 0.0 { 1e-6 } else { 10.0 * ridge };
    }
}

/// What is known of a flower after its notes.
#[derive(Debug, Clone)]
pub struct Posterior<'a> {
    model: Model<'a>,
    draws: Vec<Place>,
    /// For each draw, the standing of a delivery not yet seen, and even chances for one that was.
    next: Vec<f64>,
    weights: Vec<f64>,
    /// Shape of the weights' tail: small is good.
    pub tail: f64,
    /// How many equally weighted draws they are worth.
    pub effective: f64,
}

/// The largest tail shape at which weights of `draws` draws are trusted.
///
/// # Source
/// Vehtari, Simpson, Gelman, Yao & Gabry (2024): `min(1 - 1/log10 S, 0.7)`, from memory.
pub fn largest_tail(draws: usize) -> f64 {
    (1.0 - 1.0 / (draws as f64).log10()).min(0.7)
}

impl<'a> Posterior<'a> {
    /// Learns from the entries on one flower; without any, what the trade's table says.
    pub fn of(flower: &'a Flower, evidence: &'a [Evidence]) -> Posterior<'a> {
        let model = Model::new(flower, evidence);
        let key = Key::named(1, flower.id());
        let normals: Vec<Vec<f64>> =
            key.table(SIZE + 1, DRAWS).into_iter().map(|row| row.into_iter().map(normal).collect()).collect();
        let mut generator = key.generator(7);
        let law = ChiSquared::new(DRAW_DF).expect("the degrees of freedom are positive");
        let stretch: Vec<f64> = (0..DRAWS).map(|_| (DRAW_DF / law.sample(&mut generator)).sqrt()).collect();
        let next: Vec<f64> = normals.iter().map(|z| z[SIZE]).collect();
        let (mut centre, mut covariance) = model.top();
        let mut best: Option<Posterior> = None;
        for _ in 0..ROUNDS {
            let root = safe(covariance).l();
            let (mut draws, mut logs) = (Vec::with_capacity(DRAWS), Vec::with_capacity(DRAWS));
            for (z, s) in normals.iter().zip(&stretch) {
                let moved = &centre + *s * (&root * DVector::from_column_slice(&z[..SIZE]));
                let x: Place = std::array::from_fn(|i| moved[i]);
                let far = s * s * z[..SIZE].iter().map(|v| v * v).sum::<f64>();
                logs.push(model.log_density(&x) + 0.5 * (DRAW_DF + SIZE as f64) * (far / DRAW_DF).ln_1p());
                draws.push(x);
            }
            let smoothed = smooth(&logs);
            let found = Posterior {
                model: model.clone(),
                draws,
                next: next.clone(),
                tail: smoothed.k,
                effective: smoothed.effective,
                weights: smoothed.weights,
            };
            (centre, covariance) = found.moments();
            if best.as_ref().is_none_or(|b| found.tail < b.tail) {
                best = Some(found);
            }
            if best.as_ref().is_some_and(|b| b.tail < 0.5) {
                break;
            }
        }
        best.expect("there is at least one round")
    }

    /// Mean and covariance of the parameters.
    fn moments(&self) -> (DVector<f64>, DMatrix<f64>) {
        let centre = DVector::from_fn(SIZE, |i, _| self.mean(|x| x[i]));
        let covariance =
            DMatrix::from_fn(SIZE, SIZE, |i, j| self.mean(|x| (x[i] - centre[i]) * (x[j] - centre[j])));
        (centre, covariance)
    }

    /// Whether the sampling can be trusted.
    pub fn trusted(&self) -> bool {
        self.tail < largest_tail(self.draws.len())
    }

    fn mean(&self, value: impl Fn(&Place) -> f64) -> f64 {
        self.draws.iter().zip(&self.weights).map(|(x, w)| w * value(x)).sum()
    }

    /// The median with its 90 % range of one value a draw.
    fn band(&self, values: impl Iterator<Item = f64>) -> Band {
        let mut values: Vec<(f64, f64)> = values.zip(self.weights.iter().copied()).collect();
        values.sort_by(|a, b| a.0.total_cmp(&b.0));
        let at = |p: f64| {
            let mut sum = 0.0;
            let reached = |(_, w): &&(f64, f64)| {
                sum += w;
                sum >= p
            };
            values.iter().find(reached).map_or(f64::NAN, |v| v.0)
        };
        Band { p05: at(0.05), p50: at(0.5), p95: at(0.95) }
    }

    fn hours_at(&self, z: f64) -> f64 {
        two_piece(self.model.flower.parameter(Quantity::DryHours), z)
    }

    /// Where the middle head stands in each draw: of a delivery in the notes, or of the middle one.
    fn places(&self, lot: Option<&str>) -> (Vec<f64>, bool) {
        let known = lot.and_then(|name| self.model.lots.iter().find(|(l, _)| l.as_deref() == Some(name)));
        let places = self.draws.iter().zip(&self.next).map(|(x, z)| match known {
            Some((_, entries)) => self.model.drawn(x, entries, pit_normal(*z)),
            None => self.model.typical(x),
        });
        (places.collect(), known.is_some())
    }

    /// Dry hours of the middle head of the middle delivery.
    pub fn typical_hours(&self) -> Band {
        self.band(self.draws.iter().map(|x| self.hours_at(self.model.typical(x))))
    }

    /// Dry hours of the middle head of the next delivery.
    pub fn next_hours(&self) -> Band {
        let next = self.draws.iter().zip(&self.next);
        self.band(next.map(|(x, z)| self.hours_at(self.model.typical(x) + self.model.lot_sd(x) * z)))
    }

    /// Dry hours of the middle head of a delivery in the notes.
    pub fn lot_hours(&self, name: &str) -> Option<Band> {
        let (places, known) = self.places(Some(name));
        known.then(|| self.band(places.into_iter().map(|z| self.hours_at(z))))
    }

    /// By what factor treated heads last longer than plain ones.
    pub fn treated_factor(&self) -> Band {
        self.band(self.draws.iter().map(|x| (x[TREATED] * self.model.side).exp()))
    }

    /// The chance that treated heads last longer than plain ones.
    pub fn treated_better(&self) -> f64 {
        self.mean(|x| f64::from(u8::from(x[TREATED] > 0.0)))
    }

    /// What it teaches a plan; of a delivery, where it is among the notes.
    pub fn learned(&self, lot: Option<&str>) -> Learned {
        let model = &self.model;
        let (places, known) = self.places(lot);
        let over = |value: &dyn Fn(&Place, f64) -> f64| -> f64 {
            self.draws.iter().zip(&places).zip(&self.weights).map(|((x, p), w)| w * value(x, *p)).sum()
        };
        let middle = over(&|_, p| p);
        let spread = over(&|_, p| (p - middle).powi(2)).sqrt();
        let flagging = over(&|x, _| x[FLAGGING]);
        let on_dry = over(&|x, p| (p - middle) * (x[FLAGGING] - flagging)) / spread;
        let rest = over(&|x, _| (x[FLAGGING] - flagging).powi(2)) - on_dry * on_dry;
        let count = |event: bool| model.entries().filter(|e| e.evidence.event == event).count() as u32;
        Learned {
            middle,
            spread,
            lot: if known { 0.0 } else { over(&|x, _| model.lot_sd(x).powi(2)).sqrt() },
            head: over(&|x, _| model.shares.head * (2.0 * x[HEADS]).exp()).sqrt(),
            flagging: Flagging { middle: flagging, on_dry, spread: rest.max(0.0).sqrt() },
            trials: count(false),
            events: count(true),
            of_this_lot: known,
        }
    }

    /// The chance that the middle head of the middle delivery holds no longer than some dry hours.
    pub fn typical_below(&self, hours: f64) -> f64 {
        self.mean(|x| f64::from(u8::from(self.hours_at(self.model.typical(x)) <= hours)))
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
            assert!((p - pit_normal(z)).abs() < 1e-9, "{z}: {p}");
        }
    }
}
