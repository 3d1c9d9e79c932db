//! Parametric distributions of lifetimes, fitted to ends that are exact, censored, or known to lie between two looks.
//!
//! For the pages of trials: a fitted distribution beside the Kaplan-Meier curve.

use super::survival::Ending;
use crate::numerics::normal;
use nalgebra::{DMatrix, DVector};
use std::f64::consts::PI;

/// The distribution of `(ln T - mu) / sigma`, for a lifetime `T`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Distribution {
    /// Smallest extreme value: `T` is Weibull with shape `1 / sigma` and scale `exp mu`.
    Weibull,
    /// Normal: `T` is lognormal.
    Lognormal,
    /// Logistic: `T` is log-logistic with shape `1 / sigma`.
    LogLogistic,
}

impl Distribution {
    /// The probability below `z`.
    fn below(self, z: f64) -> f64 {
        match self {
            Distribution::Weibull => -(-z.exp()).exp_m1(),
            Distribution::Lognormal | Distribution::LogLogistic => self.above(-z),
        }
    }

    /// The probability above `z`.
    fn above(self, z: f64) -> f64 {
        match self {
            Distribution::Weibull => (-z.exp()).exp(),
            Distribution::Lognormal => normal::upper_tail(z),
            Distribution::LogLogistic => 1.0 / (1.0 + z.exp()),
        }
    }

    /// The logarithm of the density, with its first two derivatives.
    fn log_density(self, z: f64) -> [f64; 3] {
        match self {
            Distribution::Weibull => [z - z.exp(), 1.0 - z.exp(), -z.exp()],
            Distribution::Lognormal => [-0.5 * (z * z + (2.0 * PI).ln()), -z, -1.0],
            Distribution::LogLogistic => {
                let (above, below) = (self.above(z), self.below(z));
                [above.ln() + below.ln(), above - below, -2.0 * above * below]
            }
        }
    }

    /// The point below which a share `p` lies.
    fn quantile(self, p: f64) -> f64 {
        match self {
            Distribution::Weibull => (-(-p).ln_1p()).ln(),
            Distribution::Lognormal => normal::quantile(p),
            Distribution::LogLogistic => (p / (1.0 - p)).ln(),
        }
    }
}

/// A distribution of lifetimes, with location and scale on the logarithm of time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lifetime {
    /// The distribution of the standardised logarithm.
    pub distribution: Distribution,
    /// Location of `ln T`.
    pub mu: f64,
    /// Scale of `ln T`.
    pub sigma: f64,
}

impl Lifetime {
    fn z(&self, time: f64) -> f64 {
        (time.ln() - self.mu) / self.sigma
    }

    /// The share still presentable at a time above 0.
    ///
    /// ```
    /// use headwater::stats::lifetime::{Distribution, Lifetime};
    /// let stems = Lifetime { distribution: Distribution::Weibull, mu: 10f64.ln(), sigma: 0.25 };
    /// assert!((stems.survival(stems.quantile(0.1)) - 0.9).abs() < 1e-12);
    /// ```
    pub fn survival(&self, time: f64) -> f64 {
        self.distribution.above(self.z(time))
    }

    /// The time by which a share `p`, strictly between 0 and 1, has ended.
    pub fn quantile(&self, p: f64) -> f64 {
        (self.mu + self.sigma * self.distribution.quantile(p)).exp()
    }
}

/// A distribution fitted by maximum likelihood: `ln T = mu + slopes . x + sigma z`, with covariates `x`.
#[derive(Debug, Clone)]
pub struct Fit {
    distribution: Distribution,
    /// `mu`, then a slope for each covariate.
    pub coefficients: Vec<f64>,
    /// Scale of `ln T`.
    pub sigma: f64,
    /// Covariance of the coefficients and of `ln sigma`, in this order: the inverse of the observed information.
    pub covariance: DMatrix<f64>,
    /// Logarithm of the likelihood of the times (not of their logarithms).
    pub log_likelihood: f64,
}

impl Fit {
    /// Fits a distribution to ends, each with its covariates, the same number of them for all.
    ///
    /// `None` where the likelihood has no single maximum: without ends, with all ends at the same time, or with covariates
    /// that depend on each other.
    ///
    /// # Formula
    /// In `1/sigma` and `beta/sigma` the logarithm of the likelihood is concave for all these distributions, because their
    /// densities are log-concave. Damped Newton steps therefore lead to the one maximum from anywhere.
    ///
    /// # Source
    /// Burridge (1981) for the concavity; Meeker & Escobar (1998), chapter 8, for the likelihood, both from memory.
    ///
    /// # Examples
    /// ```
    /// use headwater::stats::lifetime::{Fit, Distribution};
    /// use headwater::stats::survival::Ending;
    /// let notes = [
    ///     Ending::between(0.0, 4.0).times(2.0),
    ///     Ending::between(4.0, 8.0).times(5.0),
    ///     Ending::later_than(8.0).times(3.0),
    /// ];
    /// let fit = Fit::to(Distribution::Weibull, &notes).unwrap();
    /// assert!((5.0..8.0).contains(&fit.at(&[]).quantile(0.5)));
    /// ```
    pub fn of(distribution: Distribution, heads: &[(Ending, Vec<f64>)]) -> Option<Fit> {
        let cases: Vec<Case> = heads.iter().map(|(e, x)| Case::new(e, x)).collect();
        let weight: f64 = cases.iter().map(|c| c.count).sum();
        let mean = |f: &dyn Fn(f64) -> f64| {
            cases.iter().filter_map(|c| Some(c.count * f(c.by.or(c.after)?))).sum::<f64>() / weight
        };
        let centre = mean(&|y| y);
        let spread = mean(&|y| (y - centre).powi(2)).sqrt().max(1e-3);
        let ends: Vec<Ends> = cases.iter().map(Ends::of).collect();
        let mut start = DVector::zeros(ends.first()?.size());
        let last = start.len() - 1;
        (start[0], start[last]) = (centre / spread, 1.0 / spread);
        let top = climb(distribution, &ends, start)?;

        let theta = top.at[last];
        let mut to_fit = DMatrix::identity(last + 1, last + 1) * theta;
        to_fit.set_column(last, &-&top.at);
        let covariance = (to_fit.transpose() * -top.curvature * &to_fit).try_inverse()?;
        let coefficients = top.at.iter().take(last).map(|d| d / theta).collect();
        let log_likelihood = top.value - log_times(&cases);
        Some(Fit { distribution, coefficients, sigma: 1.0 / theta, covariance, log_likelihood })
    }

    /// [`Fit::of`] for ends without covariates.
    pub fn to(distribution: Distribution, ends: &[Ending]) -> Option<Fit> {
        Fit::of(distribution, &ends.iter().map(|e| (*e, Vec::new())).collect::<Vec<_>>())
    }

    /// The distribution of lifetimes at some covariates.
    pub fn at(&self, x: &[f64]) -> Lifetime {
        let slopes = self.coefficients[1..].iter().zip(x).map(|(b, x)| b * x);
        Lifetime {
            distribution: self.distribution,
            mu: self.coefficients[0] + slopes.sum::<f64>(),
            sigma: self.sigma,
        }
    }

    /// Standard error of the `i`-th coefficient, or of `ln sigma` for the `i` after the last.
    ///
    /// # Panics
    /// If `i` is greater than the number of coefficients.
    pub fn standard_error(&self, i: usize) -> f64 {
        self.covariance[(i, i)].sqrt()
    }

    /// Akaike's information criterion: twice the number of parameters less twice the log likelihood.
    pub fn aic(&self) -> f64 {
        2.0 * (self.coefficients.len() as f64 + 1.0 - self.log_likelihood)
    }

    /// Confidence limits of the `p` quantile at covariates `x`, by the delta method on its logarithm.
    pub fn quantile_limits(&self, p: f64, x: &[f64], level: f64) -> (f64, f64) {
        let slope = self.sigma * self.distribution.quantile(p);
        let terms: Vec<f64> = std::iter::once(1.0).chain(x.iter().copied()).chain([slope]).collect();
        let gradient = DVector::from_vec(terms);
        let reach =
            normal::quantile(0.5 + 0.5 * level) * gradient.dot(&(&self.covariance * &gradient)).sqrt();
        let middle = self.at(x).quantile(p);
        (middle * (-reach).exp(), middle * reach.exp())
    }
}

/// The logarithms of an end's two times, where they are finite, and its covariates.
#[derive(Debug, Clone)]
struct Case {
    after: Option<f64>,
    by: Option<f64>,
    exact: bool,
    count: f64,
    x: Vec<f64>,
}

impl Case {
    fn new(end: &Ending, x: &[f64]) -> Case {
        let log = |t: f64| Some(t.ln()).filter(|y| y.is_finite());
        Case {
            after: log(end.after),
            by: log(end.by),
            exact: end.is_exact(),
            count: end.count,
            x: x.to_vec(),
        }
    }
}

/// What is subtracted from the log likelihood of the logarithms to get that of the times.
fn log_times(cases: &[Case]) -> f64 {
    cases.iter().filter(|c| c.exact).filter_map(|c| Some(c.count * c.by?)).sum()
}

/// The two ends of a case as linear forms in the parameters, the last of which is `1/sigma`.
struct Ends {
    low: Option<DVector<f64>>,
    high: Option<DVector<f64>>,
    exact: bool,
    count: f64,
}

impl Ends {
    fn of(case: &Case) -> Ends {
        let form = |y: f64| {
            DVector::from_vec(std::iter::once(-1.0).chain(case.x.iter().map(|x| -x)).chain([y]).collect())
        };
        Ends { low: case.after.map(form), high: case.by.map(form), exact: case.exact, count: case.count }
    }

    fn size(&self) -> usize {
        self.low.as_ref().or(self.high.as_ref()).map_or(0, DVector::len)
    }
}

/// The log likelihood at a point, with its gradient and its second derivatives.
struct Top {
    at: DVector<f64>,
    value: f64,
    slope: DVector<f64>,
    curvature: DMatrix<f64>,
}

/// The log likelihood of `ln T` with its derivatives. The standardised time of an end is the value of its linear form.
fn likelihood(distribution: Distribution, ends: &[Ends], at: DVector<f64>) -> Top {
    let n = at.len();
    let theta = at[n - 1];
    let (mut value, mut slope, mut curvature) = (0.0, DVector::zeros(n), DMatrix::zeros(n, n));
    for end in ends {
        let z = |form: &DVector<f64>| form.dot(&at);
        match (&end.low, &end.high) {
            (Some(form), _) if end.exact => {
                let [log, first, second] = distribution.log_density(z(form));
                value += end.count * (log + theta.ln());
                slope.axpy(end.count * first, form, 1.0);
                slope[n - 1] += end.count / theta;
                curvature.ger(end.count * second, form, form, 1.0);
                curvature[(n - 1, n - 1)] -= end.count / theta.powi(2);
            }
            (low, high) => {
                let mass = match (low.as_ref().map(z), high.as_ref().map(z)) {
                    (None, None) => 1.0,
                    (None, Some(b)) => distribution.below(b),
                    (Some(a), None) => distribution.above(a),
                    (Some(a), Some(b)) if a > 0.0 => distribution.above(a) - distribution.above(b),
                    (Some(a), Some(b)) => distribution.below(b) - distribution.below(a),
                };
                value += end.count * mass.ln();
                let mut gradient: DVector<f64> = DVector::zeros(n);
                for (form, sign) in [(low, -1.0), (high, 1.0)] {
                    if let Some(form) = form {
                        let [log, first, _] = distribution.log_density(z(form));
                        let density = sign * log.exp() / mass;
                        gradient.axpy(density, form, 1.0);
                        curvature.ger(end.count * density * first, form, form, 1.0);
                    }
                }
                slope.axpy(end.count, &gradient, 1.0);
                curvature.ger(-end.count, &gradient, &gradient, 1.0);
            }
        }
    }
    Top { at, value, slope, curvature }
}

/// The maximum of the likelihood, by Newton steps halved until they lead up.
fn climb(distribution: Distribution, ends: &[Ends], start: DVector<f64>) -> Option<Top> {
    let mut here = likelihood(distribution, ends, start);
    for _ in 0..100 {
        let step = (-&here.curvature).cholesky()?.solve(&here.slope);
        let gain = here.slope.dot(&step);
        let next = |size: f64| {
            let at = &here.at + &step * size;
            (at[at.len() - 1] > 0.0).then(|| likelihood(distribution, ends, at))
        };
        if gain < 1e-10 {
            // This close to the maximum, one more step is exact to rounding.
            return next(1.0);
        }
        let up = |top: &Top| top.value > here.value;
        here = (0..40).find_map(|halvings| next(0.5f64.powi(halvings)).filter(up))?;
    }
    None
}
