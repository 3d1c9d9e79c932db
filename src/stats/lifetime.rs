//! Laws of lifetimes, fitted to ends that are exact, open, or between two looks.

use super::survival::Ending;
use crate::numerics::normal;
use nalgebra::{DMatrix, DVector};
use std::f64::consts::PI;

/// The law of `(ln T - mu) / sigma`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Law {
    /// Smallest extreme value: `T` is Weibull with shape `1 / sigma` and scale `exp mu`.
    Weibull,
    /// Normal: `T` is lognormal.
    Lognormal,
    /// Logistic: `T` is log-logistic with shape `1 / sigma`.
    LogLogistic,
}

impl Law {
    /// Share below `z`.
    fn below(self, z: f64) -> f64 {
        match self {
            Law::Weibull => -(-z.exp()).exp_m1(),
            Law::Lognormal | Law::LogLogistic => self.above(-z),
        }
    }

    /// Share above `z`.
    fn above(self, z: f64) -> f64 {
        match self {
            Law::Weibull => (-z.exp()).exp(),
            Law::Lognormal => normal::upper_tail(z),
            Law::LogLogistic => 1.0 / (1.0 + z.exp()),
        }
    }

    /// Logarithm of the density, with its first two derivatives.
    fn log_density(self, z: f64) -> [f64; 3] {
        match self {
            Law::Weibull => [z - z.exp(), 1.0 - z.exp(), -z.exp()],
            Law::Lognormal => [-0.5 * (z * z + (2.0 * PI).ln()), -z, -1.0],
            Law::LogLogistic => {
                let (above, below) = (self.above(z), self.below(z));
                [above.ln() + below.ln(), above - below, -2.0 * above * below]
            }
        }
    }

    /// The point below which a share `p` lies.
    fn quantile(self, p: f64) -> f64 {
        match self {
            Law::Weibull => (-(-p).ln_1p()).ln(),
            Law::Lognormal => normal::quantile(p),
            Law::LogLogistic => (p / (1.0 - p)).ln(),
        }
    }
}

/// A lifetime with a law of location and scale on the logarithm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lifetime {
    /// Its law.
    pub law: Law,
    /// Location of `ln T`.
    pub mu: f64,
    /// Scale of `ln T`.
    pub sigma: f64,
}

impl Lifetime {
    fn z(&self, time: f64) -> f64 {
        (time.ln() - self.mu) / self.sigma
    }

    /// Share still presentable at a time.
    ///
    /// ```
    /// use headwater::stats::lifetime::{Law, Lifetime};
    /// let stems = Lifetime { law: Law::Weibull, mu: 10f64.ln(), sigma: 0.25 };
    /// assert!((stems.survival(stems.quantile(0.1)) - 0.9).abs() < 1e-12);
    /// ```
    pub fn survival(&self, time: f64) -> f64 {
        self.law.above(self.z(time))
    }

    /// The time by which a share `p` has ended.
    pub fn quantile(&self, p: f64) -> f64 {
        (self.mu + self.sigma * self.law.quantile(p)).exp()
    }
}

/// A law fitted by maximum likelihood: `ln T = mu + slopes . x + sigma z`.
#[derive(Debug, Clone)]
pub struct Fit {
    law: Law,
    /// `mu`, then a slope for each circumstance.
    pub coefficients: Vec<f64>,
    /// Scale of `ln T`.
    pub sigma: f64,
    /// Covariance of the coefficients and of `ln sigma`, in this order: the inverse of the observed information.
    pub covariance: DMatrix<f64>,
    /// Logarithm of the likelihood, that of the times and not of their logarithms.
    pub log_likelihood: f64,
}

impl Fit {
    /// Fits a law to heads that lived in some circumstances, as many numbers for each.
    ///
    /// `None` where the notes do not hold a best fit: no ends, all alike, or circumstances that say the same.
    ///
    /// # Formula
    /// In `1/sigma` and `beta/sigma` the logarithm of the likelihood is concave for all these laws, because their
    /// densities are log-concave; damped Newton steps therefore lead to the one maximum from anywhere.
    ///
    /// # Source
    /// Burridge (1981) for the concavity; Meeker & Escobar (1998), chapter 8, for the likelihood, both from memory.
    ///
    /// # Examples
    /// ```
    /// use headwater::stats::lifetime::{Fit, Law};
    /// use headwater::stats::survival::Ending;
    /// let notes = [
    ///     Ending::between(0.0, 4.0).times(2.0),
    ///     Ending::between(4.0, 8.0).times(5.0),
    ///     Ending::later_than(8.0).times(3.0),
    /// ];
    /// let fit = Fit::to(Law::Weibull, &notes).unwrap();
    /// assert!((5.0..8.0).contains(&fit.at(&[]).quantile(0.5)));
    /// ```
    pub fn of(law: Law, heads: &[(Ending, Vec<f64>)]) -> Option<Fit> {
        let cases: Vec<Case> = heads.iter().map(|(e, x)| Case::new(e, x)).collect();
        let weight: f64 = cases.iter().map(|c| c.count).sum();
        let mean = |f: &dyn Fn(f64) -> f64| {
            cases.iter().filter_map(|c| Some(c.count * f(c.by.or(c.after)?))).sum::<f64>() / weight
        };
        let centre = mean(&|y| y);
        let spread = mean(&|y| (y - centre).powi(2)).sqrt().max(1e-3);
        let ends: Vec<Ends> = cases.iter().map(|c| Ends::of(c)).collect();
        let mut start = DVector::zeros(ends.first()?.size());
        let last = start.len() - 1;
        (start[0], start[last]) = (centre / spread, 1.0 / spread);
        let top = climb(law, &ends, start)?;

        let theta = top.at[last];
        let mut to_fit = DMatrix::identity(last + 1, last + 1) * theta;
        to_fit.set_column(last, &-&top.at);
        let covariance = (to_fit.transpose() * -top.curvature * &to_fit).try_inverse()?;
        let coefficients = top.at.iter().take(last).map(|d| d / theta).collect();
        let log_likelihood = top.value - log_times(&cases);
        Some(Fit { law, coefficients, sigma: 1.0 / theta, covariance, log_likelihood })
    }

    /// [`Fit::of`] heads that lived alike.
    pub fn to(law: Law, ends: &[Ending]) -> Option<Fit> {
        Fit::of(law, &ends.iter().map(|e| (*e, Vec::new())).collect::<Vec<_>>())
    }

    /// The lifetime in some circumstances.
    pub fn at(&self, x: &[f64]) -> Lifetime {
        let slopes = self.coefficients[1..].iter().zip(x).map(|(b, x)| b * x);
        Lifetime { law: self.law, mu: self.coefficients[0] + slopes.sum::<f64>(), sigma: self.sigma }
    }

    /// Standard error of the `i`-th coefficient; the one after the last is `ln sigma`.
    pub fn standard_error(&self, i: usize) -> f64 {
        self.covariance[(i, i)].sqrt()
    }

    /// Akaike's information criterion.
    pub fn aic(&self) -> f64 {
        2.0 * (self.coefficients.len() as f64 + 1.0 - self.log_likelihood)
    }

    /// Limits of a quantile by the delta method on its logarithm.
    pub fn quantile_limits(&self, p: f64, x: &[f64], level: f64) -> (f64, f64) {
        let slope = self.sigma * self.law.quantile(p);
        let terms: Vec<f64> = std::iter::once(1.0).chain(x.iter().copied()).chain([slope]).collect();
        let gradient = DVector::from_vec(terms);
        let reach =
            normal::quantile(0.5 + 0.5 * level) * gradient.dot(&(&self.covariance * &gradient)).sqrt();
        let middle = self.at(x).quantile(p);
        (middle * (-reach).exp(), middle * reach.exp())
    }
}

/// The logarithms of a head's two times, where they are finite, and its circumstances.
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

/// What the likelihood of the times falls short of that of their logarithms.
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

/// A likelihood at a point: logarithm, gradient and curvature.
struct Top {
    at: DVector<f64>,
    value: f64,
    slope: DVector<f64>,
    curvature: DMatrix<f64>,
}

/// The logarithm of the likelihood of `ln T` with its derivatives. A standardised end is the value of its form.
fn likelihood(law: Law, ends: &[Ends], at: DVector<f64>) -> Top {
    let n = at.len();
    let theta = at[n - 1];
    let (mut value, mut slope, mut curvature) = (0.0, DVector::zeros(n), DMatrix::zeros(n, n));
    for end in ends {
        let z = |form: &DVector<f64>| form.dot(&at);
        match (&end.low, &end.high) {
            (Some(form), _) if end.exact => {
                let [log, first, second] = law.log_density(z(form));
                value += end.count * (log + theta.ln());
                slope.axpy(end.count * first, form, 1.0);
                slope[n - 1] += end.count / theta;
                curvature.ger(end.count * second, form, form, 1.0);
                curvature[(n - 1, n - 1)] -= end.count / theta.powi(2);
            }
            (low, high) => {
                let mass = match (low.as_ref().map(z), high.as_ref().map(z)) {
                    (None, None) => 1.0,
                    (None, Some(b)) => law.below(b),
                    (Some(a), None) => law.above(a),
                    (Some(a), Some(b)) if a > 0.0 => law.above(a) - law.above(b),
                    (Some(a), Some(b)) => law.below(b) - law.below(a),
                };
                value += end.count * mass.ln();
                let mut gradient: DVector<f64> = DVector::zeros(n);
                for (form, sign) in [(low, -1.0), (high, 1.0)] {
                    if let Some(form) = form {
                        let [log, first, _] = law.log_density(z(form));
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
fn climb(law: Law, ends: &[Ends], start: DVector<f64>) -> Option<Top> {
    let mut here = likelihood(law, ends, start);
    for _ in 0..100 {
        let step = (-&here.curvature).cholesky()?.solve(&here.slope);
        let gain = here.slope.dot(&step);
        let next = |size: f64| {
            let at = &here.at + &step * size;
            (at[at.len() - 1] > 0.0).then(|| likelihood(law, ends, at))
        };
        if gain < 1e-10 {
            // So near the top, the next step is exact to rounding.
            return next(1.0);
        }
        let up = |top: &Top| top.value > here.value;
        here = (0..40).find_map(|halvings| next(0.5f64.powi(halvings)).filter(up))?;
    }
    None
}
