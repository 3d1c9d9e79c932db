//! What the notes on one flower teach: weighted draws from the posterior that `model` describes.
//!
//! Draws from a multivariate t distribution about the mode are weighted by the true density (importance sampling). The tail
//! of the weights is smoothed and judged; where it is too heavy, the distribution is moved to fit better.

use super::evidence::Evidence;
use super::laplace::safe;
use super::model::{BEARS, FLAGGING, HEADS, Model, Place, TREATED};
use crate::flower::catalogue::{Flower, Quantity};
use crate::flower::learned::{Bears, Flagging, Learned, Locked};
use crate::flower::spread::two_piece;
use crate::numerics::normal;
use crate::numerics::random::Key;
use crate::stats::Band;
use crate::stats::pareto::smooth;
use nalgebra::{DMatrix, DVector};
use rand_distr::{ChiSquared, Distribution};

/// How many draws are taken from the posterior.
const DRAWS: usize = 1000;
/// Degrees of freedom of the t distribution that they are drawn from.
const DRAW_DF: f64 = 7.0;
/// The most often that this distribution is moved to fit better.
const ROUNDS: usize = 4;

/// What is known of a flower after its notes.
#[derive(Debug, Clone)]
pub struct Posterior<'a> {
    model: Model<'a>,
    draws: Vec<Place>,
    /// For each draw a standard normal: the place of a delivery not yet seen, and a quantile for one that was.
    next: Vec<f64>,
    weights: Vec<f64>,
    /// Shape of the tail of the weights; the smaller the better.
    pub tail: f64,
    /// How many equally weighted draws they are worth.
    pub effective: f64,
}

/// The largest tail shape at which the weights of so many draws are trusted.
///
/// # Source
/// Vehtari, Simpson, Gelman, Yao & Gabry (2024): `min(1 - 1/log10 S, 0.7)`, from memory.
pub fn largest_tail(draws: usize) -> f64 {
    (1.0 - 1.0 / (draws as f64).log10()).min(0.7)
}

impl<'a> Posterior<'a> {
    /// Learns from the entries on one flower; without any, the posterior is what the trade's table says.
    pub fn of(flower: &'a Flower, evidence: &'a [Evidence]) -> Posterior<'a> {
        let model = Model::new(flower, evidence);
        let key = Key::named(1, flower.id());
        let size = model.free.len();
        // The last column is for the next delivery.
        let normals: Vec<Vec<f64>> = key
            .table(size + 1, DRAWS)
            .into_iter()
            .map(|row| row.into_iter().map(normal::quantile).collect())
            .collect();
        let mut generator = key.generator(7);
        let chi_squared = ChiSquared::new(DRAW_DF).expect("the degrees of freedom are positive");
        let stretch: Vec<f64> =
            (0..DRAWS).map(|_| (DRAW_DF / chi_squared.sample(&mut generator)).sqrt()).collect();
        let next: Vec<f64> = normals.iter().map(|z| z[size]).collect();
        let (mut centre, mut covariance) = model.mode();
        let mut best: Option<Posterior> = None;
        for _ in 0..ROUNDS {
            let root = safe(covariance).l();
            let (mut draws, mut logs) = (Vec::with_capacity(DRAWS), Vec::with_capacity(DRAWS));
            for (z, s) in normals.iter().zip(&stretch) {
                let moved = &centre + *s * (&root * DVector::from_column_slice(&z[..size]));
                let x = model.whole(moved.as_slice());
                let far = s * s * z[..size].iter().map(|v| v * v).sum::<f64>();
                logs.push(model.log_density(&x) + 0.5 * (DRAW_DF + size as f64) * (far / DRAW_DF).ln_1p());
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

    /// Mean and covariance of what is not known and free.
    fn moments(&self) -> (DVector<f64>, DMatrix<f64>) {
        let free = &self.model.free;
        let centre = DVector::from_fn(free.len(), |i, _| self.mean(|x| x[free[i]]));
        let off = |x: &Place, i: usize| x[free[i]] - centre[i];
        let covariance =
            DMatrix::from_fn(free.len(), free.len(), |i, j| self.mean(|x| off(x, i) * off(x, j)));
        (centre, covariance)
    }

    /// Whether the weights are even enough to be trusted.
    pub fn trusted(&self) -> bool {
        self.tail < largest_tail(self.draws.len())
    }

    fn mean(&self, value: impl Fn(&Place) -> f64) -> f64 {
        self.draws.iter().zip(&self.weights).map(|(x, w)| w * value(x)).sum()
    }

    /// The median with its 90 % range of a value of each draw.
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

    /// The place of the median head in each draw, of a delivery in the notes, or else of the median delivery; and whether
    /// the delivery is in the notes.
    fn places(&self, lot: Option<&str>) -> (Vec<f64>, bool) {
        let known = lot.and_then(|name| self.model.lots.iter().find(|(l, _)| l.as_deref() == Some(name)));
        let places = self.draws.iter().zip(&self.next).map(|(x, z)| match known {
            Some((_, entries)) => self.model.drawn(x, entries, normal::upper_tail(-*z)),
            None => self.model.typical(x),
        });
        (places.collect(), known.is_some())
    }

    /// Dry hours of the median head of the median delivery.
    pub fn typical_hours(&self) -> Band {
        self.band(self.draws.iter().map(|x| self.hours_at(self.model.typical(x))))
    }

    /// Dry hours of the median head of the next delivery.
    pub fn next_hours(&self) -> Band {
        let next = self.draws.iter().zip(&self.next);
        self.band(next.map(|(x, z)| self.hours_at(self.model.typical(x) + self.model.lot_sd(x) * z)))
    }

    /// Dry hours of the median head of a delivery in the notes; `None` where it is not there.
    pub fn lot_hours(&self, name: &str) -> Option<Band> {
        let (places, known) = self.places(Some(name));
        known.then(|| self.band(places.into_iter().map(|z| self.hours_at(z))))
    }

    /// The factor by which treated heads last longer than plain ones.
    pub fn treated_factor(&self) -> Band {
        self.band(self.draws.iter().map(|x| (x[TREATED] * self.model.side).exp()))
    }

    /// The chance that treated heads last longer than plain ones.
    pub fn treated_better(&self) -> f64 {
        self.mean(|x| f64::from(u8::from(x[TREATED] > 0.0)))
    }

    /// What it teaches a plan, about a delivery where that is among the notes.
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
        // What no entry tells of stays as the catalogue has it.
        let mut bears = Bears::default();
        let told: Vec<usize> = model.free.iter().filter_map(|i| i.checked_sub(BEARS)).collect();
        for &a in &told {
            bears.middle[a] = over(&|x, _| x[BEARS + a]);
        }
        for &a in &told {
            let off = |x: &Place, a: usize| x[BEARS + a] - bears.middle[a];
            bears.with_place[a] = over(&|x, p| off(x, a) * (p - middle));
            for &b in &told {
                bears.covariance[a][b] = over(&|x, _| off(x, a) * off(x, b));
            }
        }
        let count = |event: bool| model.entries().filter(|e| e.evidence.event == event).count() as u32;
        Learned {
            middle,
            spread,
            lot: if known { 0.0 } else { over(&|x, _| model.lot_sd(x).powi(2)).sqrt() },
            head: over(&|x, _| (model.before.head * x[HEADS].exp()).powi(2)).sqrt(),
            flagging: Flagging { middle: flagging, on_dry, spread: rest.max(0.0).sqrt() },
            locked: Locked::default(),
            bears,
            drinks: Default::default(),
            trials: count(false),
            events: count(true),
            of_this_lot: known,
        }
    }

    /// The chance that the median head of the median delivery has at most so many dry hours.
    pub fn typical_below(&self, hours: f64) -> f64 {
        self.mean(|x| f64::from(u8::from(self.hours_at(self.model.typical(x)) <= hours)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calibrate::notebook::Notebook;
    use crate::flower::catalogue::Catalogue;

    /// Sums over the weighted draws, written out: means, variances, and the part of the softening that goes with the place.
    #[test]
    fn what_is_learned_are_the_moments_of_the_draws() {
        let text = include_str!("../../reference-data/demo/notebook.csv");
        let notes = Notebook::read("notes.csv", text, &|_| Err(std::io::Error::other("no log"))).unwrap();
        let dahlia = Catalogue::shipped().find("dahlia").unwrap();
        let evidence = notes.evidence(dahlia);
        let posterior = Posterior::of(dahlia, &evidence);
        let learned = posterior.learned(None);
        let draws = || posterior.draws.iter().zip(&posterior.weights);
        let mean = |value: &dyn Fn(&Place) -> f64| draws().map(|(x, w)| w * value(x)).sum::<f64>();
        let place = |x: &Place| posterior.model.typical(x);
        let (middle, soft) = (mean(&place), mean(&|x| x[FLAGGING]));
        let variance = mean(&|x| place(x).powi(2)) - middle * middle;
        let together = mean(&|x| place(x) * x[FLAGGING]) - middle * soft;
        let of_soft = mean(&|x| x[FLAGGING] * x[FLAGGING]) - soft * soft;
        let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{a} {b}");
        near(mean(&|_| 1.0), 1.0);
        near(learned.middle, middle);
        near(learned.spread.powi(2), variance);
        near(learned.flagging.middle, soft);
        near(learned.flagging.on_dry * variance.sqrt(), together);
        near(learned.flagging.on_dry.powi(2) + learned.flagging.spread.powi(2), of_soft);
        near(learned.lot.powi(2), mean(&|x| posterior.model.lot_sd(x).powi(2)));
        assert!(!learned.of_this_lot && together.abs() > 1e-6);
        for hours in [1.0, 3.0, 5.0, 9.0] {
            let below = mean(&|x| f64::from(u8::from(posterior.hours_at(place(x)) <= hours)));
            near(posterior.typical_below(hours), below);
        }
        let band = posterior.typical_hours();
        assert!(posterior.typical_below(band.p50) >= 0.5 && posterior.typical_below(band.p50 - 1e-6) < 0.5);
        assert!(posterior.typical_below(band.p05) >= 0.05 && posterior.typical_below(band.p95 - 1e-6) < 0.95);
    }

    /// By hand from the formula: 1 - 1/2, 1 - 1/3, and no more than 0.7.
    #[test]
    fn fewer_draws_allow_a_lighter_tail() {
        for (draws, most) in [(100, 0.5), (1000, 2.0 / 3.0), (1_000_000, 0.7)] {
            assert!((largest_tail(draws) - most).abs() < 1e-12, "{draws}");
        }
    }
}
