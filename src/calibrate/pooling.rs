//! What public statements and the trade's memory say together of each flower's dry hours.
//!
//! # Formula
//! A statement of group `g` names a time `y = theta + b_g + e` in logarithms of hours, `theta` being the mean over the flowers
//! that it is about. With `m` and `s` the logarithms of the trade's median and its spread (10 to 90 %):
//! `theta_f ~ N(m_f, s_f^2)`, `b_g ~ N(0, sd_g^2)`, `e ~ N(0, sigma^2)`. Hours between two limits are seen as an interval, one
//! limit as a bound, one figure as an interval from a divided to a multiplied `FIGURE`; a rank lies below `c1`, between `c1`
//! and `c2`, or above `c2`. Priors: `ln sd_g` and `ln sigma ~ N(ln 0.5, 0.5^2)`, `ln c1 ~ N(ln 3, 0.7^2)`,
//! `ln ln(c2/c1) ~ N(ln 0.7, 0.6^2)` (all judgement). A factor above 1 on `s_f` was tried: the statements weigh for it less the
//! larger it is, so that there is none.
//!
//! Given the four numbers at the end the density is log-concave; its mode is found by Newton's method and the rest is taken
//! as normal about it (Laplace approximation). The four have their own mode and covariance; what they leave unknown of a
//! flower is added to first order. Statements leave the end-point open, so the level that all flowers share is not theirs to
//! tell: it stays the trade's, and [`LEVEL_SD`](crate::flower::support::LEVEL_SD) is added where hours are claimed.

use super::laplace::{self, safe};
use crate::flower::catalogue::{Catalogue, Flower};
use crate::flower::statements::{Rank, Statement, groups, statements};
use crate::numerics::normal::{Z90, cdf};
use nalgebra::{DMatrix, DVector};
use std::cell::RefCell;

/// One figure of hours is taken as true within this factor (judgement).
const FIGURE: f64 = 1.25;
/// How many numbers are shared by all statements.
const SHARED: usize = 4;
/// Step of the numeric derivatives by the shared numbers.
const STEP: f64 = 0.05;

/// The numbers that all statements share: `ln sd_g`, `ln sigma`, `ln c1`, `ln ln(c2/c1)`.
type Shared = [f64; SHARED];

/// The means and standard deviations of the priors of [`Shared`].
const PRIORS: [(f64, f64); SHARED] = [
    (-std::f64::consts::LN_2, 0.5),
    (-std::f64::consts::LN_2, 0.5),
    (1.098_612_288_668_109_8, 0.7),
    (-0.356_674_943_938_732_4, 0.6),
];

/// What one statement says of the logarithm of hours.
#[derive(Debug, Clone, Copy)]
enum Saying {
    /// It lies between two limits, either of which may be infinite.
    Between(f64, f64),
    /// It is poor, moderate or good.
    Ranked(Rank),
}

impl Saying {
    fn of(statement: &Statement) -> Saying {
        match (statement.low_h, statement.high_h) {
            (Some(low), Some(high)) if low == high => {
                Saying::Between((low / FIGURE).ln(), (high * FIGURE).ln())
            }
            (None, None) => Saying::Ranked(statement.rank),
            (low, high) => {
                Saying::Between(low.map_or(f64::NEG_INFINITY, f64::ln), high.map_or(f64::INFINITY, f64::ln))
            }
        }
    }

    /// Its limits in logarithms of hours.
    fn limits(self, shared: &Shared) -> (f64, f64) {
        let (c1, c2) = (shared[2], shared[2] + shared[3].exp());
        match self {
            Saying::Between(low, high) => (low, high),
            Saying::Ranked(Rank::Poor) => (f64::NEG_INFINITY, c1),
            Saying::Ranked(Rank::Moderate) => (c1, c2),
            Saying::Ranked(Rank::Good) => (c2, f64::INFINITY),
        }
    }
}

/// The logarithm of the chance that a normal number lies between two limits, with its first and second derivatives by the
/// mean.
fn log_chance((low, high): (f64, f64), mean: f64, sd: f64) -> [f64; 3] {
    let (a, b) = ((low - mean) / sd, (high - mean) / sd);
    let density = |z: f64| (-0.5 * z * z).exp() / (2.0 * std::f64::consts::PI).sqrt();
    let slope = |z: f64| if z.is_finite() { z * density(z) } else { 0.0 };
    let between = if a > 0.0 { cdf(-a) - cdf(-b) } else { cdf(b) - cdf(a) };
    let chance = between.max(1e-300);
    let first = (density(a) - density(b)) / (sd * chance);
    [chance.ln(), first, (slope(a) - slope(b)) / (sd * sd * chance) - first * first]
}

/// A statement by the numbers of its flowers and its group.
#[derive(Debug, Clone)]
struct Said {
    flowers: Vec<usize>,
    group: usize,
    saying: Saying,
}

/// The trade's memory of a flower: the logarithm of its median and the standard deviation of that.
fn memory(flower: &Flower) -> (f64, f64) {
    let trade = flower.trade_hours();
    (trade.value.ln(), trade.ln_sd())
}

/// Statements, the flowers they are about and the groups they come from.
#[derive(Debug, Clone)]
pub struct Pool {
    flowers: Vec<&'static Flower>,
    memories: Vec<(f64, f64)>,
    groups: usize,
    said: Vec<Said>,
}

/// What the pool knows for given shared numbers: the mode in units of the priors, and the covariance about it.
struct Given {
    place: DVector<f64>,
    covariance: DMatrix<f64>,
}

/// What is known of the dry hours of the flowers after all statements.
#[derive(Debug, Clone)]
pub struct Pooled {
    pool: Pool,
    /// The mode of the shared numbers.
    pub shared: Shared,
    /// Mean of the logarithm of dry hours, by flower of the pool.
    means: DVector<f64>,
    /// Covariance of it.
    covariance: DMatrix<f64>,
}

impl Pool {
    /// The statements that count, all but those of a group.
    pub fn without(group: Option<&str>) -> Pool {
        let used = || statements().iter().filter(|s| s.used());
        let flowers: Vec<&Flower> =
            Catalogue::shipped().all().iter().filter(|f| used().any(|s| s.is_about(f))).collect();
        let groups = groups();
        let number = |id: &str| flowers.iter().position(|f| f.id() == id);
        let said = used().filter(|s| Some(s.group.as_str()) != group).map(|s| Said {
            flowers: s.flowers().filter_map(number).collect(),
            group: groups.iter().position(|g| *g == s.group).expect("every group was listed"),
            saying: Saying::of(s),
        });
        Pool {
            said: said.collect(),
            memories: flowers.iter().map(|f| memory(f)).collect(),
            groups: groups.len(),
            flowers,
        }
    }

    /// How the logarithm of the time that a statement names follows the standard normals behind flowers and groups.
    fn row(&self, said: &Said, shared: &Shared) -> Vec<(usize, f64)> {
        let (between, each) = (shared[0].exp(), 1.0 / said.flowers.len() as f64);
        let flowers = said.flowers.iter().map(|f| (*f, each * self.memories[*f].1));
        flowers.chain([(self.flowers.len() + said.group, between)]).collect()
    }

    /// The trade's mean over the flowers of a statement.
    fn remembered(&self, said: &Said) -> f64 {
        said.flowers.iter().map(|f| self.memories[*f].0).sum::<f64>() / said.flowers.len() as f64
    }

    /// The mode given the shared numbers, and the logarithm of what the statements weigh for these (Laplace approximation).
    fn given(&self, shared: &Shared, start: &DVector<f64>) -> (Given, f64) {
        let n = self.flowers.len() + self.groups;
        let rows: Vec<_> = self
            .said
            .iter()
            .map(|s| (self.row(s, shared), self.remembered(s), s.saying.limits(shared)))
            .collect();
        let noise = shared[1].exp();
        let height = |x: &DVector<f64>| {
            let chance = |(row, mean, limits): &(Vec<(usize, f64)>, f64, (f64, f64))| {
                log_chance(*limits, mean + row.iter().map(|(i, c)| c * x[*i]).sum::<f64>(), noise)[0]
            };
            rows.iter().map(chance).sum::<f64>() - 0.5 * x.norm_squared()
        };
        let bent = |x: &DVector<f64>| {
            let (mut gradient, mut bend) = (-x.clone(), DMatrix::identity(n, n));
            for (row, mean, limits) in &rows {
                let at = mean + row.iter().map(|(i, c)| c * x[*i]).sum::<f64>();
                let [_, first, second] = log_chance(*limits, at, noise);
                for (i, a) in row {
                    gradient[*i] += first * a;
                    row.iter().for_each(|(j, b)| bend[(*i, *j)] -= second * a * b);
                }
            }
            (gradient, safe(bend))
        };
        let (mut x, mut at) = (start.clone(), height(start));
        for _ in 0..50 {
            let (gradient, root) = bent(&x);
            let step = root.solve(&gradient);
            let better = (0..20).map(|k| &x + &step * 0.5f64.powi(k)).map(|next| (height(&next), next));
            let Some((higher, next)) = better.into_iter().find(|(h, _)| *h > at) else { break };
            let gain = higher - at;
            (x, at) = (next, higher);
            if gain < 1e-10 {
                break;
            }
        }
        let root = bent(&x).1;
        let weight = at - root.l_dirty().diagonal().iter().map(|d| d.ln()).sum::<f64>();
        (Given { place: x, covariance: root.inverse() }, weight)
    }

    /// Means of the logarithms of dry hours given the shared numbers, and their covariance.
    fn hours(&self, given: &Given) -> (DVector<f64>, DMatrix<f64>) {
        let (n, memory) = (self.flowers.len(), &self.memories);
        let means = DVector::from_fn(n, |f, _| memory[f].0 + memory[f].1 * given.place[f]);
        (means, DMatrix::from_fn(n, n, |i, j| memory[i].1 * memory[j].1 * given.covariance[(i, j)]))
    }

    /// Learns from the statements.
    pub fn learned(self) -> Pooled {
        // Each search begins where the last one ended.
        let warm = RefCell::new(DVector::zeros(self.flowers.len() + self.groups));
        let density = |shared: &Shared| {
            let (given, weight) = self.given(shared, &warm.borrow());
            *warm.borrow_mut() = given.place;
            weight
                + (0..SHARED).map(|i| -0.5 * ((shared[i] - PRIORS[i].0) / PRIORS[i].1).powi(2)).sum::<f64>()
        };
        let density = |x: &[f64]| density(&std::array::from_fn(|i| x[i]));
        let (mode, unknown) = laplace::mode(&density, &PRIORS.map(|p| p.1), PRIORS.map(|p| p.0).to_vec());
        let shared: Shared = std::array::from_fn(|i| mode[i]);
        let at = |shared: &Shared| self.hours(&self.given(shared, &warm.borrow()).0);
        let (means, mut covariance) = at(&shared);
        let mut slopes = DMatrix::zeros(means.len(), SHARED);
        for i in 0..SHARED {
            let moved = |by: f64| at(&std::array::from_fn(|j| shared[j] + if i == j { by } else { 0.0 })).0;
            slopes.set_column(i, &((moved(STEP) - moved(-STEP)) / (2.0 * STEP)));
        }
        covariance += &slopes * unknown * slopes.transpose();
        Pooled { shared, means, covariance, pool: self }
    }
}

/// A forecast of what a group not heard so far would say, in logarithms of hours.
#[derive(Debug, Clone, Copy)]
pub struct Forecast {
    mean: f64,
    sd: f64,
    limits: (f64, f64),
}

impl Forecast {
    /// The logarithm of the chance of what was said.
    pub fn score(&self) -> f64 {
        log_chance(self.limits, self.mean, self.sd)[0]
    }

    /// Whether the middle of the hours that were said lies in the 80 % range; `None` where they have no two limits.
    pub fn holds(&self) -> Option<bool> {
        let middle = 0.5 * (self.limits.0 + self.limits.1);
        middle.is_finite().then(|| (middle - self.mean).abs() <= Z90 * self.sd)
    }
}

/// Forecasts of a statement by somebody who knows more or less.
#[derive(Debug, Clone, Copy)]
pub struct Forecasts {
    /// By the statements of other groups and the trade's memory.
    pub pooled: Forecast,
    /// By the trade's memory, and how statements differ.
    pub trade: Forecast,
    /// By what flowers have in common, and how statements differ.
    pub unknown_flower: Forecast,
    /// By the trade's 10 and 90 % points as they are printed.
    pub printed: Forecast,
}

impl Pooled {
    /// The mean and standard deviation of the logarithm of a flower's dry hours; the trade's memory where nobody else speaks
    /// of it.
    pub fn middle(&self, flower: &Flower) -> (f64, f64) {
        match self.pool.flowers.iter().position(|f| f.id() == flower.id()) {
            Some(at) => (self.means[at], self.covariance[(at, at)].sqrt()),
            None => memory(flower),
        }
    }

    /// How far groups and statements of one group stand apart, as standard deviations of the logarithm of hours.
    pub fn apart(&self) -> [f64; 2] {
        [self.shared[0].exp(), self.shared[1].exp()]
    }

    /// Forecasts of a statement that counts.
    pub fn forecasts(&self, statement: &Statement) -> Forecasts {
        let about: Vec<usize> =
            (0..self.pool.flowers.len()).filter(|i| statement.is_about(self.pool.flowers[*i])).collect();
        let n = about.len() as f64;
        let noise = self.apart().map(|sd| sd * sd).iter().sum::<f64>();
        let limits = Saying::of(statement).limits(&self.shared);
        let by = |mean: f64, variance: f64| Forecast { mean, sd: variance.sqrt(), limits };
        let sum = |value: &dyn Fn(usize) -> f64| about.iter().map(|i| value(*i)).sum::<f64>();
        let memories = &self.pool.memories;
        let (middle, spread) = (sum(&|i| memories[i].0) / n, sum(&|i| memories[i].1.powi(2)) / (n * n));
        let known = sum(&|i| sum(&|j| self.covariance[(i, j)])) / (n * n);
        let all = memories.iter().map(|m| m.0).sum::<f64>() / memories.len() as f64;
        let other = memories.iter().map(|m| (m.0 - all).powi(2)).sum::<f64>() / (memories.len() - 1) as f64;
        Forecasts {
            pooled: by(sum(&|i| self.means[i]) / n, known + noise),
            trade: by(middle, spread + noise),
            unknown_flower: by(all, other + noise),
            printed: by(middle, (sum(&|i| memories[i].1) / n).powi(2)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand, for two flowers and a third beside them: a statement about both is about their mean, whose variance is that of
    /// the sum over four; a group that is new stands apart by both deviations.
    #[test]
    fn a_forecast_is_of_the_mean_of_its_flowers() {
        let about = |s: &&Statement| s.used() && s.flowers().count() == 2 && s.low_h.zip(s.high_h).is_some();
        let statement = statements().iter().find(about).expect("a statement about two flowers");
        let catalogue = Catalogue::shipped().all();
        let mut flowers: Vec<&Flower> = catalogue.iter().filter(|f| statement.is_about(f)).collect();
        flowers.insert(1, catalogue.iter().find(|f| !statement.is_about(f)).unwrap());
        let pool =
            Pool { flowers, memories: vec![(1.0, 0.4), (5.0, 0.9), (3.0, 0.8)], groups: 0, said: Vec::new() };
        let covariance = DMatrix::from_row_slice(3, 3, &[0.04, 0.5, 0.01, 0.5, 0.7, 0.3, 0.01, 0.3, 0.16]);
        let means = DVector::from_row_slice(&[1.2, 9.0, 2.2]);
        let shared = [0.3_f64.ln(), 0.4_f64.ln(), 1.0, 0.0];
        let pooled = Pooled { pool, shared, means, covariance };
        let noise = 0.09 + 0.16;
        let found = pooled.forecasts(statement);
        let near = |found: Forecast, mean: f64, variance: f64| {
            assert!((found.mean - mean).abs() < 1e-12, "{} {mean}", found.mean);
            assert!((found.sd - variance.sqrt()).abs() < 1e-12, "{} {variance}", found.sd);
        };
        near(found.pooled, 1.7, (0.04 + 0.16 + 2.0 * 0.01) / 4.0 + noise);
        near(found.trade, 2.0, (0.16 + 0.64) / 4.0 + noise);
        near(found.printed, 2.0, 0.36);
        near(found.unknown_flower, 3.0, 4.0 + noise);
    }

    const SHARED_HERE: [f64; 4] =
        [-0.916_290_731_874_155, -1.203_972_804_325_936, 1.1, -0.356_674_943_938_732_4];

    /// Two flowers of which two groups speak; what stands apart by 0.4 and 0.3 (logarithms -0.916 and -1.204), and ranks that end
    /// at 1.1 and, 0.7 beyond, at 1.8.
    fn small() -> Pool {
        let said = |flowers: &[usize], group: usize, saying: Saying| Said {
            flowers: flowers.to_vec(),
            group,
            saying,
        };
        Pool {
            flowers: Catalogue::shipped().all().iter().take(2).collect(),
            memories: vec![(1.6, 0.5), (2.0, 0.7)],
            groups: 2,
            said: vec![
                said(&[0, 1], 0, Saying::Between(0.5, 1.2)),
                said(&[0], 1, Saying::Ranked(Rank::Poor)),
                said(&[1], 1, Saying::Ranked(Rank::Moderate)),
                said(&[1], 0, Saying::Between(1.5, f64::INFINITY)),
                said(&[0], 0, Saying::Ranked(Rank::Good)),
            ],
        }
    }

    /// The density written out as the formula has it, and its mode and curvature by differences.
    #[test]
    fn given_the_shared_numbers_the_pool_is_normal_about_its_mode() {
        let density = |x: &[f64]| {
            let (theta, apart) = ([1.6 + 0.5 * x[0], 2.0 + 0.7 * x[1]], [0.4 * x[2], 0.4 * x[3]]);
            let below = |limit: f64, at: f64| cdf((limit - at) / 0.3);
            let between = |low: f64, high: f64, at: f64| (below(high, at) - below(low, at)).ln();
            between(0.5, 1.2, 0.5 * (theta[0] + theta[1]) + apart[0])
                + below(1.1, theta[0] + apart[1]).ln()
                + between(1.1, 1.8, theta[1] + apart[1])
                + (1.0 - below(1.5, theta[1] + apart[0])).ln()
                + (1.0 - below(1.8, theta[0] + apart[0])).ln()
                - 0.5 * x.iter().map(|x| x * x).sum::<f64>()
        };
        let (mode, covariance) = laplace::mode(&density, &[1.0; 4], vec![0.5; 4]);
        let pool = small();
        let (given, weight) = pool.given(&SHARED_HERE, &DVector::zeros(4));
        assert!((&given.place - &mode).norm() < 2e-3, "{} {mode}", given.place);
        assert!((&given.covariance - &covariance).norm() < 5e-3, "{} {covariance}", given.covariance);
        let known = density(mode.as_slice()) + 0.5 * covariance.determinant().ln();
        assert!((weight - known).abs() < 2e-3, "{weight} {known}");
        let (means, spread) = pool.hours(&given);
        assert!((means[0] - (1.6 + 0.5 * given.place[0])).abs() < 1e-12);
        assert!((means[1] - (2.0 + 0.7 * given.place[1])).abs() < 1e-12);
        assert!((spread[(0, 0)] - 0.25 * given.covariance[(0, 0)]).abs() < 1e-12);
        assert!((spread[(1, 0)] - 0.35 * given.covariance[(0, 1)]).abs() < 1e-12);
    }

    /// The shared numbers at their mode, and what they leave unknown of the flowers to first order.
    #[test]
    fn what_all_statements_share_is_learned_with_them() {
        let pool = small();
        let start = DVector::zeros(4);
        let density = |x: &[f64]| {
            let prior =
                x.iter().zip(PRIORS).map(|(x, (mean, sd))| -0.5 * ((x - mean) / sd).powi(2)).sum::<f64>();
            pool.given(&std::array::from_fn(|i| x[i]), &start).1 + prior
        };
        let (mode, unknown) = laplace::mode(&density, &PRIORS.map(|p| p.1), PRIORS.map(|p| p.0).to_vec());
        let learned = pool.clone().learned();
        let at = |moved: &dyn Fn(usize) -> f64| {
            pool.hours(&pool.given(&std::array::from_fn(|i| mode[i] + moved(i)), &start).0)
        };
        let (means, mut spread) = at(&|_| 0.0);
        let slopes: Vec<DVector<f64>> = (0..SHARED)
            .map(|i| {
                let [below, above] = [-0.01, 0.01].map(|by| at(&|j| if i == j { by } else { 0.0 }).0);
                (above - below) / 0.02
            })
            .collect();
        for (i, j) in (0..SHARED).flat_map(|i| (0..SHARED).map(move |j| (i, j))) {
            spread += &slopes[i] * slopes[j].transpose() * unknown[(i, j)];
        }
        assert!(
            learned.shared.iter().zip(mode.iter()).all(|(a, b)| (a - b).abs() < 1e-3),
            "{:?} {mode}",
            learned.shared
        );
        assert!(
            (&learned.means - means).norm() < 1e-3 && (&learned.covariance - &spread).norm() < 2e-3,
            "{spread}"
        );
        let [groups, each] = learned.apart();
        assert!((groups.ln() - mode[0]).abs() < 1e-3 && (each.ln() - mode[1]).abs() < 1e-3);
        let catalogue = Catalogue::shipped().all();
        let (mean, sd) = learned.middle(&catalogue[1]);
        assert!(
            (mean - learned.means[1]).abs() < 1e-12 && (sd * sd - learned.covariance[(1, 1)]).abs() < 1e-12
        );
        let (mean, sd) = learned.middle(&catalogue[2]);
        assert_eq!((mean, sd), memory(&catalogue[2]));
    }

    /// One figure is true within a quarter; limits are limits; who names no hours has ranked.
    #[test]
    fn what_was_said_has_its_limits() {
        let mut seen = [0; 4];
        for statement in statements().iter().filter(|s| s.used()) {
            let (low, high) = Saying::of(statement).limits(&SHARED_HERE);
            let near = |a: f64, b: f64| a == b || (a - b).abs() < 1e-12;
            let ln = |hours: Option<f64>, none: f64| hours.map_or(none, f64::ln);
            let known = match (statement.low_h, statement.high_h) {
                (Some(a), Some(b)) if a == b => (0, (0.8 * a).ln(), (1.25 * a).ln()),
                (None, None) => match statement.rank {
                    Rank::Poor => (1, f64::NEG_INFINITY, 1.1),
                    Rank::Moderate => (2, 1.1, 1.8),
                    Rank::Good => (2, 1.8, f64::INFINITY),
                },
                (a, b) => (3, ln(a, f64::NEG_INFINITY), ln(b, f64::INFINITY)),
            };
            seen[known.0] += 1;
            assert!(near(low, known.1) && near(high, known.2), "{}: {low} {high} {known:?}", statement.id);
        }
        assert!(seen.iter().all(|n| *n > 0), "{seen:?}");
    }

    /// A forecast holds what lies within 1.2816 deviations (eight of ten of a normal distribution).
    #[test]
    fn a_forecast_holds_the_middle_of_what_was_said() {
        let of = |low: f64, high: f64| Forecast { mean: 2.0, sd: 0.5, limits: (low, high) };
        assert_eq!([of(2.3, 2.9).holds(), of(2.5, 2.9).holds()], [Some(true), Some(false)]);
        assert_eq!([of(1.1, 1.7).holds(), of(1.1, 1.5).holds()], [Some(true), Some(false)]);
        assert_eq!(of(1.0, f64::INFINITY).holds(), None);
        assert!((of(2.0, f64::INFINITY).score() - 0.5_f64.ln()).abs() < 1e-12);
    }

    /// The derivatives of the chance of an interval, against differences.
    #[test]
    fn the_chance_of_an_interval_bends_as_it_is_said_to() {
        for limits in [(0.5, 1.4), (f64::NEG_INFINITY, 1.0), (1.0, f64::INFINITY), (-3.0, -2.0)] {
            for (mean, sd) in [(0.0, 0.5), (1.1, 0.8), (2.0, 0.7)] {
                let at = |mean: f64| log_chance(limits, mean, sd);
                let [chance, first, second] = at(mean);
                let [below, above] = [at(mean - 1e-4), at(mean + 1e-4)];
                assert!((first - (above[0] - below[0]) / 2e-4).abs() < 1e-5 * (1.0 + first.abs()));
                assert!((second - (above[1] - below[1]) / 2e-4).abs() < 1e-5 * (1.0 + second.abs()));
                let known = cdf((limits.1 - mean) / sd) - cdf((limits.0 - mean) / sd);
                assert!((chance.exp() - known).abs() < 1e-12);
            }
        }
    }
}
